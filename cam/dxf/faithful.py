"""How far the recognised sections stray from the outline as it is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.dxf.order import Strokes
from cam.dxf.sections import Detail, Found
from cam.geometry.path import Point, nearest_on, point_at
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.features import Corner, Edge, Finish
from cam.part.model import Section
from cam.setting.finished import trace

SHARES = 8
"""How many places are looked at along each drawn stroke."""

_NOWHERE = Where(path="")


def strays(found: Sequence[Found], chain: Strokes) -> tuple[float, Point]:
    """Return the greatest distance of any place in the drawing from the outline that its sections give.

    Returns:
        The distance, mm, and where: z from the A face, x the radius.
    """
    outline = trace(_sections(found))
    places = [point_at(stroke.piece, n / SHARES) for stroke in chain for n in range(SHARES + 1)]
    off = ((min(math.dist(nearest_on(piece, place), place) for piece in outline), place) for place in places)
    return max(off, key=lambda pair: pair[0])


def _sections(found: Sequence[Found]) -> list[Section]:
    """Return the sections as a part has them, without role, finish or limits."""
    sections, at = [], 0.0
    for one in found:
        sections.append(
            Section(
                name=one.name,
                role="plain",
                start=at,
                end=at + one.length,
                length=_size(one.length),
                length_tolerance=None,
                diameter_a=_size(one.diameter_a),
                diameter_b=_size(one.diameter_b),
                tolerance=None,
                edge_a=_edge(one.edge_a),
                edge_b=_edge(one.edge_b),
                corner_a=_corner(one.corner_a),
                corner_b=_corner(one.corner_b),
                finish=Finish(route=("turn",), on_diameter=0.0, on_face=0.0, text="", where=_NOWHERE),
                bearing=None,
                where=_NOWHERE,
            )
        )
        at += one.length
    return sections


def _size(value: float) -> Quantity:
    return Quantity(value, "", _NOWHERE)


def _edge(detail: Detail) -> Edge | None:
    kind, size, _ = detail
    if kind == "chamfer":
        return Edge(kind="chamfer", size=size, text="", where=_NOWHERE)
    return Edge(kind="radius", size=size, text="", where=_NOWHERE) if kind == "radius" else None


def _corner(detail: Detail) -> Corner | None:
    kind, size, depth = detail
    if kind == "undercut":
        return Corner(kind="undercut", radius=0.0, width=size, depth=depth, text="", where=_NOWHERE)
    if not kind.startswith("fillet"):
        return None
    return Corner(kind="fillet", radius=size, width=0.0, depth=0.0, text="", where=_NOWHERE)
