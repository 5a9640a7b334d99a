"""What is wanted after a setting: the deepest outline that may be cut, and the fullest that may be left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from cam.geometry.meet import meetings
from cam.geometry.path import Arc, Chain, Line, Point
from cam.ground.frozen import widened
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.part.details import LEAST_LAND
from cam.part.features import size_of, undercut_at
from cam.part.model import Part
from cam.setting.assemble import nose_radii
from cam.setting.cone import lean
from cam.setting.model import Placed, Setting, Turned
from cam.setting.outline import Pen, Surface, behind, corner_arc, edge_pieces, surface_behind
from cam.setting.shoulders import long_enough
from cam.setting.words import at_least, say
from cam.shop.model import Shop


def with_outlines(
    placed: Placed, shop: Shop, turned: tuple[Turned, ...], limit_z: float, cone: float, **held: Any
) -> Setting:  # fmt: skip
    """Return a setting with its outlines drawn; held: its fields that are given neither here nor by where it lies."""
    leaned, hollow = lean(turned, cone), nose_radii(shop)[1]
    least = draw_least(leaned, placed.stock, limit_z)
    most = draw_most(leaned, placed.fullest, limit_z, hollow)
    return widened(placed, Setting, turned=turned, limit_z=limit_z, cone=cone, hollow=hollow, least=least, most=most,
                   **held)  # fmt: skip


def growth(turned: Turned) -> float:
    """Return the growth of the radius per mm toward the headstock; zero on a cylinder."""
    return (turned.radius_far - turned.radius_near) / (turned.near - turned.far)


def radius_at(turned: Turned, z: float) -> float:
    """Return the radius of a section's surface at z, or of that surface carried on, mm."""
    return turned.radius_far + growth(turned) * (turned.far - z)


def own_end_radius(turned: Turned) -> float:
    """Return the radius at a section's own headstock end, mm: before the wall of a groove that is a section itself."""
    if turned.corner is None or turned.corner in (turned.section.corner_a, turned.section.corner_b):
        return turned.radius_far
    return radius_at(turned, turned.far + turned.corner.width)


def draw_least(turned: Sequence[Turned], stock: Chain, limit_z: float) -> Chain:
    """Draw the deepest outline that may be cut: sharp inner corners, and the overrun beyond an open end."""
    return _draw(turned, stock, limit_z, full=False)


def draw_most(turned: Sequence[Turned], stock: Chain, limit_z: float, hollow: float) -> Chain:
    """Draw the fullest outline that may be left: allowed fillets, stock beyond an open end, extra length.

    Extra length is cut off after turning; a tool that comes in over it down a ramp leaves it as a cone.

    Args:
        hollow: the radius that may be left where a taper goes on from a less steep surface, mm.
    """
    return _draw(turned, stock, limit_z, full=True, extra_length=turned[0].extra_length, hollow=hollow)


def draw_left(
    turned: Sequence[Turned], stock: Chain, nose: float, hollow: float, *, extra_length: bool = False
) -> Chain:
    """Draw what can stand after the setting, if nothing stands above `most`: the next setting's stock.

    Beyond an open end the nose has cut away its own width: to finish the cylinder up to its end, the tool's
    point went at least nose mm past it, and what that leaves lies below a line at 45 degrees.

    Args:
        nose: least nose radius among the turning tools, mm.
        hollow: as for `draw_most`.
        extra_length: whether extra length is drawn as thick as it may be left, not as the section to which it belongs.
    """
    extra = turned[0].extra_length if extra_length else 0.0
    most = _draw(turned, stock, 0.0, full=True, extra_length=extra, hollow=hollow)
    last = turned[-1]
    height = surface_behind(stock, last.far).radius - last.radius_far
    if last.far_kind != "open" or height <= 0:
        return most
    rise = min(nose, height)
    pen = Pen(*most[0].start)
    pen.run(
        tuple(piece for piece in most if piece.end.z >= last.far - ROUNDING and piece.start.z > last.far + ROUNDING)
    )
    pen.line(last.far - rise, last.radius_far + rise)
    pen.follow(behind(most, last.far - rise))
    return tuple(pen.pieces)


def _draw(
    turned: Sequence[Turned], stock: Chain, limit_z: float, *, full: bool, extra_length: float = 0.0,
    hollow: float = 0.0,
) -> Chain:  # fmt: skip
    first = turned[0]
    pen = Pen(first.near, 0.0)
    if extra_length > 0:
        bar = surface_behind(stock, first.near).radius
        pen.line(first.near, bar)
        pen.line(first.near - extra_length, bar)
        pen.line(first.near - extra_length, radius_at(first, first.near - extra_length))
    for index, (t, height) in enumerate(zip(turned, face_heights(turned), strict=True)):
        if t.edge is not None:
            pen.follow(edge_pieces(t.near, Surface(t.radius_near, growth(t)), t.edge))
        elif pen.at.z > t.near - ROUNDING and (t is not first or extra_length == 0):  # not beyond it, out of a hollow
            pen.line(t.near, t.radius_near)
        if hollow > 0 and is_hollow(turned, index):
            _go_through_hollow(pen, t, turned[index + 1], min(hollow, hollow_room(turned, index)))
        else:
            _go_to_corner(pen, t, height, full=full)
    _go_on_beyond(pen, turned[-1], stock, limit_z, full=full)
    return tuple(pen.pieces)


def _go_on_beyond(pen: Pen, last: Turned, stock: Chain, limit_z: float, *, full: bool) -> None:
    """Draw what lies beyond the last section: its shoulder's edge, or how far the cut may run past an open end."""
    beyond = surface_behind(stock, last.far)
    if last.far_kind == "shoulder":
        if last.far_edge is not None:
            pen.follow(edge_pieces(last.far, beyond, last.far_edge))
    elif not full and beyond.radius > last.radius_far:
        pen.line(limit_z, last.radius_far)
    pen.follow(behind(stock, pen.at.z))


def face_heights(turned: Sequence[Turned]) -> list[float]:
    """Return the height of square face at each far end, below the edge at its top, mm; zero where no face rises."""
    edges = [t.edge for t in turned[1:]] + [turned[-1].far_edge]
    return [
        t.far_radius - t.radius_far - size_of(edge) if t.far_kind == "shoulder" else 0.0
        for t, edge in zip(turned, edges, strict=True)
    ]


def _go_to_corner(pen: Pen, t: Turned, height: float, *, full: bool) -> None:
    """Draw along the surface to the far end; the rest of a shoulder's face is left to what comes next."""
    corner = t.corner if t.far_kind == "shoulder" else None
    if corner is None or (corner.kind == "nose" and not full):
        pen.line(t.far, t.radius_far)
    elif corner.kind == "undercut":
        _go_through_undercut(pen, t, full=full)
    elif height <= 0.0:
        pen.line(t.far, t.radius_far)
    else:
        radius = min(corner.radius, height) if corner.kind == "nose" else corner.radius
        pen.follow(_up_to(corner_arc(t.far, Surface(t.radius_far, growth(t)), radius), t.radius_far + height))


def _up_to(arc: Arc, top: float) -> Chain:
    """Return a corner's arc as far as its face rises, to a radius top, mm: one let out may be lower than its round."""
    if arc.end.x <= top + ROUNDING:
        return (arc,)
    top = max(top, arc.start.x)
    end = Point(arc.centre.z - math.sqrt(arc.radius**2 - (arc.centre.x - top) ** 2), top)
    return arc._replace(end=end), Line(end, Point(arc.end.z, top))


def _go_through_hollow(pen: Pen, t: Turned, beyond: Turned, radius: float) -> None:
    """Draw along the surface into the next, steeper one: what a nose leaves there, touching both.

    Where that one is let out above it, they meet in a step, and of the round only what lies on the surface is drawn.
    """
    own, other = math.atan(growth(t)), math.atan(growth(beyond))
    along = radius * math.tan((other - own) / 2)
    start = Point(t.far + along * math.cos(own), t.radius_far - along * math.sin(own))
    end = Point(t.far - along * math.cos(other), t.radius_far + along * math.sin(other))
    centre = Point(start.z + radius * math.sin(own), start.x + radius * math.cos(own))
    foot = Point(t.far, centre.x - math.sqrt(radius**2 - (centre.z - t.far) ** 2))
    pen.line(*start)
    pen.arc(foot if beyond.radius_near > foot.x else end, centre, -1)


def is_hollow(turned: Sequence[Turned], index: int) -> bool:
    """Whether the next section goes on from this one at one size and more steeply."""
    if not 0 <= index < len(turned) - 1 or turned[index].far_kind != "level":
        return False
    return growth(turned[index + 1]) > growth(turned[index])


def hollow_room(turned: Sequence[Turned], index: int) -> float:
    """Return the greatest nose radius that touches both surfaces of a hollow beside their edges and corners, mm.

    It leaves a land of each at its own size, where that has an edge or a corner to end at.
    """
    t, beyond = turned[index], turned[index + 1]
    own, other = math.atan(growth(t)), math.atan(growth(beyond))
    before = t.near - t.far - near_length(t) - (LEAST_LAND if t.edge is not None else 0.0)
    before *= (0.5 if is_hollow(turned, index - 1) else 1.0) / math.cos(own)
    after = beyond.near - beyond.far - corner_length(beyond) - (LEAST_LAND if beyond.corner is not None else 0.0)
    after *= (0.5 if is_hollow(turned, index + 1) else 1.0) / math.cos(other)
    return max(min(before, after), 0.0) / math.tan((other - own) / 2)


def _go_through_undercut(pen: Pen, t: Turned, *, full: bool) -> None:
    """Draw into the groove beside the shoulder, to the end of its floor.

    The groove's inner corners may be left as round as its depth allows: nothing seats there.
    """
    assert t.corner is not None
    start = t.far + t.corner.width
    floor = t.radius_far - t.corner.depth
    pen.line(start, radius_at(t, start))
    if not full:
        pen.line(start, floor)
        pen.line(t.far, floor)
        return
    radius = undercut_radius(t)
    centre = Point(start - radius, floor + radius)
    pen.line(*_onto_groove(t, start, centre))
    pen.arc(Point(start - radius, floor), centre, -1)
    pen.line(t.far + radius, floor)
    pen.arc(Point(t.far, floor + radius), Point(t.far + radius, floor + radius), -1)


def _onto_groove(t: Turned, start: float, centre: Point) -> Point:
    """Return where a groove's round inner corner begins: at its wall, or where a taper below the round rises to it."""
    wall, floor = Point(start, centre.x), Point(centre.z, centre.x - (start - centre.z))
    if wall.x - radius_at(t, start) <= ROUNDING:
        return wall
    surface = Line(Point(start, radius_at(t, start)), Point(centre.z, radius_at(t, centre.z)))
    return next(iter(meetings(surface, Arc(wall, floor, centre, -1))), floor)


def undercut_radius(t: Turned) -> float:
    """Return the greatest radius that may be left in an undercut's inner corners, mm; its own one if it has one."""
    if t.corner is None:
        return 0.0
    return min(t.corner.depth, t.corner.width / 2, t.corner.radius or t.corner.depth)


def edge_length(arc_or_line: Chain) -> float:
    """Return how far along the axis an edge reaches, mm."""
    return arc_or_line[0].start.z - arc_or_line[-1].end.z


def check_edges_and_corners_fit(part: Part, turned: Sequence[Turned], nose: float) -> list[Problem]:
    """Check that near edge and far corner follow one another along each section and up each face.

    Args:
        nose: the least nose radius among the turning tools, mm; a face lower than that cannot be square.
    """
    found = []
    for t in turned:
        land = LEAST_LAND if t.corner is not None or t.edge is not None else 0.0
        along, length = near_length(t) + corner_length(t) + land, t.near - t.extra_length - t.far
        if along > length + ROUNDING:
            what = f'"{t.section.name}" is too short for its edge and its corner'
            given = f"{say(length, part)} long as turned; edge and corner take {say(along - land, part)}"
            given += f", and {say(land, part)} must be left at its size" if land else ""
            lacking = along - length
            allowed = f"at least {at_least(long_enough(t.section, lacking), part)} of length"
            fix = "make one of them smaller, or the section longer"
            found.append(problem(t.section.where, what, given, allowed, fix))
        found.extend(_undercut_problems(part, t))
    for index, height in enumerate(face_heights(turned)):
        found.extend(_face_problems(part, turned[index : index + 2], height, nose))
    return found


def _undercut_problems(part: Part, t: Turned) -> list[Problem]:
    """Check that an undercut at the thick end of a taper, as steep as that is turned, goes below its surface."""
    groove = undercut_at(t.corner)
    if t.far_kind != "shoulder" or groove is None:
        return []
    fall = growth(t) * groove.width
    if groove.depth >= fall - ROUNDING:
        return []
    what = f'the undercut of section "{t.section.name}" is shallower than its taper falls as turned'
    given = f"{groove.text}; over that width the taper falls {say(fall, part)} as turned"
    allowed = f"at least {at_least(fall, part)} deep"
    fix = "make it deeper or narrower, or put a fillet there"
    return [Problem(where=groove.where, what=what, given=given, allowed=allowed, fix=fix)]


def near_length(t: Turned) -> float:
    """Return how far along the axis the near edge reaches, mm; zero where there is none."""
    return edge_length(edge_pieces(t.near, Surface(t.radius_near, growth(t)), t.edge)) if t.edge is not None else 0.0


def corner_length(t: Turned) -> float:
    """Return how far along the axis the far corner reaches, mm; zero where there is none."""
    if t.corner is None or t.far_kind != "shoulder":
        return 0.0
    if t.corner.kind == "undercut":
        return t.corner.width
    arc = corner_arc(t.far, Surface(t.radius_far, growth(t)), t.corner.radius)
    return arc.start.z - t.far


def _face_problems(part: Part, pair: Sequence[Turned], height: float, nose: float) -> list[Problem]:
    """Check that the face at the first one's far end is high enough for the corner at its foot."""
    t = pair[0]
    need = _foot(t, nose)
    if t.far_kind != "shoulder" or height >= need - ROUNDING:
        return []
    edge, name = (pair[1].edge, f'"{pair[1].section.name}"') if len(pair) > 1 else (t.far_edge, "what follows it")
    what = f'the shoulder between "{t.section.name}" and {name} is too low for what is to be made on it'
    given = f"{say(height, part)} of square face left per side as turned"
    if edge is not None:
        given += f", below the {edge.text}"
    where = t.corner.where if t.corner is not None else t.section.where
    allowed = f"at least {at_least(need, part)}"
    fix = "make the edge or the fillet smaller, the step larger, or use a tool with a smaller nose"
    return [Problem(where=where, what=what, given=given, allowed=allowed, fix=fix)]


def _foot(t: Turned, nose: float) -> float:
    """Return how far up the face its foot reaches, mm: an exact fillet's radius, or what the nose leaves."""
    if t.corner is not None and t.corner.kind == "fillet":
        return corner_arc(t.far, Surface(t.radius_far, growth(t)), t.corner.radius).end.x - t.radius_far
    groove = undercut_at(t.corner)
    return nose if groove is None else -groove.depth


def with_rounds(high: Sequence[Turned], turned: Sequence[Turned]) -> list[Turned]:
    """Return sections let out, of which each corner of a nose is as round as it was, however low its face has become.

    Limits, or a correction, may let a step out lower than the nose, which leaves less of its round beside it, and no
    smaller round.
    """
    found = []
    for t, height, own in zip(high, face_heights(high), face_heights(turned), strict=True):
        corner = t.corner
        if corner is not None and corner.kind == "nose":
            corner = replace(corner, kind="fillet", radius=min(corner.radius, max(height, own)))
        found.append(replace(t, corner=corner))
    return found
