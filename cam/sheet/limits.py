"""What a page's rows may leave: each size within its limits, or half a division of the dial beside its aim."""

from __future__ import annotations

import math
from collections.abc import Container, Sequence
from dataclasses import replace

from cam.geometry.path import Chain
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import show_number
from cam.part.features import Corner, Edge
from cam.setting.cone import cone_radius, lean
from cam.setting.corrections import correct_turned
from cam.setting.model import Setting, Turned
from cam.setting.outline import Pen, behind, outline_radius, surface_behind
from cam.setting.parting import cut_slot
from cam.setting.profiles import draw_least, draw_most, growth, near_length, with_rounds
from cam.sheet.dials import UNITS, Unit
from cam.sheet.model import Figure
from cam.shop.machine import Slide
from cam.shop.model import Lathe

ANGLE = math.radians(0.01)
"""The last digit of an angle to which a top slide is set over, degrees."""
CHAMFER, ROUND = math.sqrt(2.0), 1.0 / (math.sqrt(2.0) - 1.0)
"""Change of a chamfer's leg, and of a radius that touches two faces at right angles, that moves their middle by one."""
LEFT = 0.01
"""Faces and edges smaller than this, mm, do not count."""
PRINTED = 0.005
"""Half of the last digit on the page of a lathe that is set by figures alone, mm."""


class Spare(Row):
    """How far one section may be off its aim, mm, zero or more: its radius under and over, and its far face.

    Attributes:
        deep, short: of the face, toward the headstock and the tailstock.
        given: whether the diameter's limits are the part file's; given_z: whether the shoulder's are.
    """

    under: float
    over: float
    deep: float
    short: float
    given: bool
    given_z: bool


def show(mm: float, like: Figure, unit: Unit) -> str:
    """Show a length with the decimals of a figure of the page."""
    return show_number(mm / UNITS[unit], len(like.text.partition(".")[2]))


def within_inward(least: Figure, most: Figure, limits: tuple[float, float], margin: float) -> bool:
    """Tell whether printed limits are these, mm, or rounded inward by less than a digit; margin: for arithmetic."""
    inward = ((least, least.value - limits[0]), (most, limits[1] - most.value))
    return all(-margin <= off <= 2.0 * figure.half + margin for figure, off in inward)


def step_on_diameter(slide: Slide) -> float:
    """A division of the X slide on the diameter, mm."""
    return float(slide.division) * (2.0 if slide.habit == "radius" else 1.0)


def cone_spare(setting: Setting) -> float:
    """How much more a diameter may come out than X says, where a known cone is taken into account, mm."""
    places = (setting.end_z, setting.limit_z)
    return max(abs(2.0 * cone_radius(setting, z)) for z in places) if setting.cone else 0.0


def said_turned(setting: Setting) -> tuple[Turned, ...]:
    """Return the sections as the page must say them, with what was recorded at a measure taken into account."""
    return tuple(correct_turned(setting.turned, setting.corrections)) if setting.corrections else setting.turned


def aim_offset(setting: Setting, turned: Turned) -> float:
    """Return how much larger in diameter than its nominal size where it then ends a section is turned, mm."""
    section = turned.section
    near = section.diameter_a if setting.end == "A" else section.diameter_b
    return 2.0 * turned.end_radius - float(near) - turned.carried


def _full(slide: Slide, half: float) -> float:
    """Return how far two readings lie apart, mm: a dial is set to half a division, anything else to a whole one."""
    return half if slide.reading == "dial" else 2.0 * half


def spare_of(setting: Setting, turned: Turned, lathe: Lathe, coarse: Container[str]) -> Spare:
    """Return how far a section of `setting.turned` may be off.

    Args:
        coarse: what the page calls too fine for the dial: so much metal may be left as lies between two readings, half
            divisions of a dial or whole ones of anything else; none may be missing.
    """
    name, section = turned.section.name, turned.section
    half = max(step_on_diameter(lathe.x) / 4.0, PRINTED / 2.0 if lathe.x.reading == "none" else 0.0)
    half_z = max(float(lathe.z.division) / 2.0, PRINTED if lathe.z.reading == "none" else 0.0)
    under = over = half
    if section.tolerance is not None:
        offset, more = aim_offset(setting, turned), section.finish.on_diameter
        under = (offset - more - section.tolerance.lower) / 2.0
        over = (section.tolerance.upper + more - offset) / 2.0
    if name in coarse:
        over = max(over, _full(lathe.x, half))
    if turned.is_taper:
        more = abs(growth(turned)) * half_z + ANGLE * (turned.near - turned.far)
        under, over = under + more, over + more
    deep = short = half_z
    if turned.spare is not None:
        deep, short = turned.spare
        if f"shoulder past {name}" in coarse:
            short = max(short, _full(lathe.z, half_z))
    under, over, deep, short = (max(v, 0.0) for v in (under, over, deep, short))
    return Spare(under, over, deep, short, section.tolerance is not None, turned.spare is not None)


def loosen(setting: Setting, lathe: Lathe, coarse: Container[str], ridge: float) -> Setting:
    """Return the setting with outlines let out by what each size, and the ridge between two points, may be off."""
    spares = [spare_of(setting, t, lathe, coarse) for t in setting.turned]
    turned = said_turned(setting)
    end = float(lathe.z.division) / 2.0 if setting.face_end else 0.0
    edge = edge_spare(lathe)
    low = _shifted(turned, [(-s.under, -s.deep) for s in spares], -end, (edge, 0.0))
    high = _shifted(turned, [(s.over, s.short) for s in spares], end, (-edge, -ridge))
    limit = setting.limit_z - float(lathe.z.division) / 2.0
    least = draw_least(lean(low, setting.cone), setting.stock, limit)
    fullest = _drawn_out(setting.fullest, turned[-1], high[-1].far)
    most = draw_most(with_rounds(lean(high, setting.cone), turned), fullest, limit, setting.hollow)
    loose = replace(setting, limit_z=limit)
    least, most = cut_slot(loose, least, most, *_off_end(setting, spares[-1], lathe))
    return replace(loose, least=least, most=most)


def _off_end(setting: Setting, last: Spare, lathe: Lathe) -> tuple[float, float]:
    """Return how far a blade may part off toward the headstock and the tailstock, mm; last: of the last section."""
    slot, half = setting.slot, max(float(lathe.z.division) / 2.0, PRINTED if lathe.z.reading == "none" else 0.0)
    own = slot is not None and abs(setting.turned[-1].far - slot.z) < AS_GIVEN
    return (last.deep, last.short) if own else (half, half)


def _drawn_out(stock: Chain, last: Turned, far: float) -> Chain:
    """Return the stock with what is behind the last shoulder drawn out toward the tailstock, as far as it may stand."""
    if far <= last.far:
        return stock
    own, front = surface_behind(stock, last.far), outline_radius(stock, far)
    ring = far - last.far if last.far_edge is None else 0.0  # that a nose may have left before, at 45 degrees
    pen = Pen(*stock[0].start)
    pen.run(tuple(p for p in stock if p.end.z >= far))
    pen.line(far, front)
    pen.line(far, own.radius + own.growth * (last.far - far) + ring)
    pen.line(last.far, own.radius)
    pen.follow(behind(stock, last.far))
    return tuple(pen.pieces)


def edge_spare(lathe: Lathe) -> float:
    """How far an edge may be off, square to it, for half a division of either slide, mm."""
    return step_on_diameter(lathe.x) / 4.0 + float(lathe.z.division) / 2.0


def _shifted(
    turned: Sequence[Turned], by: Sequence[tuple[float, float]], end: float, edge: tuple[float, float]
) -> tuple[Turned, ...]:
    """Return sections with other radii, faces and edges.

    Args:
        by: each section's change of radius and of its far face, mm. end: change of the first one's near face, mm.
        edge: how far edges and corners are off for the dials, and for what points leave, square to the surface, mm;
            positive where metal may be missing.
    """
    found: list[Turned] = []
    before = end
    for at, (t, (radius, face)) in enumerate(zip(turned, by, strict=True)):
        own = face if t.far_kind == "shoulder" else 0.0
        after = by[at + 1][0] if at + 1 < len(turned) else 0.0
        height = t.far_radius + after - t.radius_far - radius
        own_corner = _corner(t.corner, edge, own, height) if t.far_kind == "shoulder" else t.corner
        own_radius, below = t.radius_near + radius, found[-1].radius_far if found else 0.0
        far_radius = t.far_radius + (after if t.far_kind == "shoulder" else radius)
        found.append(
            _fitted(replace(
                t, near=t.near + before, far=t.far + own, radius_near=own_radius, radius_far=t.radius_far + radius,
                far_radius=far_radius, corner=own_corner, edge=_resized(t.edge, sum(edge), own_radius - below),
                far_edge=_resized(t.far_edge, sum(edge), far_radius - t.radius_far - radius),
            ))
        )  # fmt: skip
        before = own
    return tuple(found)


def _fitted(turned: Turned) -> Turned:
    """Return a section whose edge and corner are let out no further than its length, its extra length left out."""
    room = turned.near - turned.extra_length - turned.far
    edge, corner = turned.edge, turned.corner
    if edge is not None and edge.kind != "sharp":
        along = near_length(turned)  # beside a taper it is less than the size, and goes by it
        turned = replace(turned, edge=replace(edge, size=max(edge.size * min(room / along, 1.0), LEFT)))
        room -= min(along, room)
    if corner is not None and corner.kind != "nose":
        room = max(room, LEFT)
        corner = replace(corner, radius=min(corner.radius, room), width=min(corner.width, room))
    return replace(turned, corner=corner)


def _resized(edge: Edge | None, by: float, height: float) -> Edge | None:
    """Return an edge drawn in square to it by `by`, mm, no larger than its face is high; None where none is left."""
    if edge is None or edge.kind == "sharp":
        return edge
    by *= CHAMFER if edge.kind == "chamfer" else ROUND
    size = min(edge.size + by, max(height - LEFT, edge.size))
    return replace(edge, size=size) if size > LEFT else None


def _corner(corner: Corner | None, edge: tuple[float, float], face: float, height: float) -> Corner | None:
    """Return an inner corner with the metal let out as edges are; see _shifted. A nose's radius stays as it is."""
    if corner is None or corner.kind == "nose":
        return corner
    if corner.kind == "fillet":
        radius = min(corner.radius - ROUND * sum(edge), max(height - LEFT, corner.radius))
        return replace(corner, radius=radius) if radius > LEFT else replace(corner, kind="nose", radius=corner.radius)
    width, depth = corner.width + edge[0] - face, corner.depth + edge[0]
    return replace(corner, width=max(width, LEFT), depth=max(depth, 0.0))
