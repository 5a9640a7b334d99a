"""Edges and fillets that a page cuts place by place: between its places no more may stand than its row says."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from cam.geometry.path import Arc, Chain, Line, Point, flatten
from cam.problem import Problem, Where
from cam.setting.cone import lean
from cam.setting.model import Setting, Turned
from cam.setting.profiles import draw_most
from cam.sheet.limits import said_turned
from cam.sheet.model import PointsRow, Sheet
from cam.sheet.standing import THIN, Around
from cam.simulate.envelope import Metal, height, lower

SAGITTA = 2e-4
"""By how much the straight pieces that stand for a round may stray from it, mm."""
SPARE = 0.012
"""A ridge may be higher than its row says by this, mm: dials round, and the writer looks at it at places alone. Where a
place of a row is lost, what stands there is four times as high."""
SPOTS = 16
"""Places of a chamfer that are looked at."""


def check_ridges(sheet: Sheet, setting: Setting, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Rows of points after which more stands on their edge or in their corner than they say.

    Args:
        around: the metal before and after each row, by its line.
    """
    if not math.isnan(setting.parted_z):
        return
    turned = said_turned(setting)
    most = draw_most(lean(turned, setting.cone), setting.fullest, setting.limit_z, setting.hollow)
    zones = dict.fromkeys(z for t in turned for z in rounded(t))
    rows = [(r, around[r.line]) for r in sheet.rows if isinstance(r, PointsRow) and r.line in around]
    for low, high in zones:
        last = next(((r, here) for r, here in reversed(rows) if _cuts_at(here, 0.5 * (low + high))), None)
        if last is None or last[0].way != "in and out":
            continue
        row, metal = last[0], Metal(last[1].after)
        if any(_stands(metal, p, n, row.ridge + SPARE) for p, n in _spots(most, low, high)):
            told = f"ridges of {row.ridge:.3f} mm at most" if row.ridge else "no ridges"
            what = f"leaves more than it says between its places, which is {told}"
            where = Where(path=sheet.path, line=row.line)
            yield Problem(where=where, what=what, given=f"{row.number}  {row.what}", fix="the places of its points")


def _cuts_at(here: Around, z: float) -> bool:
    """Whether a row takes anything off at a Z."""
    return any(z0 <= z <= z1 and height(old, z) - height(new, z) > THIN
               for z0, z1, old, new in lower(here.before, here.after)[1])  # fmt: skip


def rounded(turned: Turned) -> Iterator[tuple[float, float]]:
    """Z of the edges and corners of a section, from and to."""
    if turned.edge is not None:
        yield turned.near - turned.edge.size, turned.near
    if turned.far_edge is not None:
        yield turned.far - turned.far_edge.size, turned.far
    if turned.corner is not None and turned.corner.kind == "fillet":
        yield turned.far, turned.far + turned.corner.radius


def _stands(metal: Metal, at: Point, normal: Point, over: float) -> bool:
    """Whether metal stands on a place of a surface, higher than so much square to it, mm."""
    z, x = at.z + over * normal.z, at.x + over * normal.x
    return metal.at(z) > x and metal.at(z, before=True) > x


def _spots(chain: Chain, low: float, high: float) -> Iterator[tuple[Point, Point]]:
    """Places on the slants and rounds of an outline between two Z, with the way out of the metal there."""
    for piece in chain:
        along, across = piece.end.z - piece.start.z, piece.end.x - piece.start.x
        inside = low - THIN <= min(piece.start.z, piece.end.z) and max(piece.start.z, piece.end.z) <= high + THIN
        if not inside or (isinstance(piece, Line) and min(abs(along), abs(across)) < THIN):
            continue
        for p in _places(piece):
            yield p, _out(piece, p, Point(across, -along))


def _places(piece: Line | Arc) -> Iterable[Point]:
    if isinstance(piece, Arc):
        return [Point((a.z + b.z) / 2, (a.x + b.x) / 2) for a, b in pairwise(flatten(piece, SAGITTA))]
    ends = piece.start, piece.end
    return [Point(*(a + (b - a) * (k + 0.5) / SPOTS for a, b in zip(*ends, strict=True))) for k in range(SPOTS)]


def _out(piece: Line | Arc, at: Point, chord: Point) -> Point:
    """The unit vector out of the metal at a place of a piece; chord: the way out of its chord."""
    way = chord
    if isinstance(piece, Arc):
        way = Point(at.z - piece.centre.z, at.x - piece.centre.x)
        if way.z * chord.z + way.x * chord.x < 0.0:
            way = Point(-way.z, -way.x)
    size = math.hypot(*way)
    return Point(way.z / size, way.x / size)
