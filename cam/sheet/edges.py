"""Edges and fillets that a page cuts place by place: between its places no more may stand than its row says."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from cam.geometry.path import Arc, Chain, Line, Point, flatten
from cam.ground.problem import Problem, problem_at
from cam.judge.envelope import Metal, from_chain, height, lower
from cam.setting.cone import lean
from cam.setting.model import Setting, Turned
from cam.setting.profiles import draw_least, draw_most, near_length
from cam.sheet.dials import say, say_between
from cam.sheet.limits import PRINTED, said_turned, step_on_diameter
from cam.sheet.model import PointsRow, Sheet
from cam.sheet.standing import THIN, Around, least_radius
from cam.shop.model import Shop, Tool

SAGITTA = 2e-4
"""How far the straight pieces that stand for a round may stray from it, mm."""
SPARE = 0.006
"""A ridge may be higher than its row says by this much, mm, and by what the X dial rounds: the writer looks at places
alone. Where a place of a row is lost, what stands there is four times as high."""
OFF = 0.006
"""A place may stand off its surface by this, mm, and by what the X dial rounds."""
DEEP = 0.004
"""A place may be inside its surface by this, mm."""
PAST_END = 0.5
"""How far past its end an edge is carried on straight for its first and last place, mm, besides the nose radius."""
PLACES = "the places of its points"
UNTOUCHED = 0.2
"""Share of its size over its middle from which a round or chamfer is uncut: half of the 0.41 or 0.71 that stands."""
SPOTS = 16
"""Number of places of a chamfer that are looked at."""


def check_edges(sheet: Sheet, setting: Setting, shop: Shop, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Find rows of points off their edge or corner, or after which more stands on it than they say."""
    turned = [replace(t, extra_length=0.0) for t in said_turned(setting)]  # as thick as the bar, it has no edge
    leant = lean(turned, setting.cone)
    outline = draw_most(leant, setting.fullest, setting.limit_z, setting.hollow)
    zones = [z for z in dict.fromkeys(z for t in turned for z in rounded(t)) if _slants(outline, *z)]
    turning, step = list(_with_tools(sheet, shop, "turning")), step_on_diameter(shop.lathe.x)
    rows = _rows_on_edges(sheet, around, {r.line for r, _ in turning})
    yield from _check_what_stands(sheet, outline, zones, around, SPARE + step / 4.0, rows)
    yield from _check_places(sheet, outline, zones, OFF + max(step, 2.0 * PRINTED) / 2.0, turning)
    grooving = _with_tools(sheet, shop, "grooving")
    as_they_are = [replace(t, extra_length=0.0) for t in setting.turned]  # such a tool is set on what is corrected
    floors = draw_least(lean(as_they_are, setting.cone), setting.fullest, setting.limit_z)  # its corners are sharp
    yield from _check_floors(sheet, floors, max(step, 2.0 * PRINTED), grooving)


Zones = Sequence[tuple[float, float]]
"""Where edges and corners are: Z from and to, mm."""


def _rows_on_edges(sheet: Sheet, around: Mapping[int, Around], turning: Container[int]) -> list[PointsRow]:
    """Return the rows of points set over or in and out; turning: the lines of those in and out, but for grooves."""
    points = [r for r in sheet.rows if isinstance(r, PointsRow)]
    return [r for r in points if r.line in around and (r.way == "set over" or r.line in turning)]


def _check_what_stands(
    sheet: Sheet, outline: Chain, zones: Zones, around: Mapping[int, Around], spare: float, rows: Sequence[PointsRow]
) -> Iterator[Problem]:  # fmt: skip
    """Find edges that no row cuts, and rows after which more stands than they say, by more than spare, mm."""
    for low, high in zones:
        middle = 0.5 * (low + high)
        row = next((r for r in reversed(rows) if _cuts(around[r.line], middle, middle)), None)
        if row is None:
            beside = high - low  # a row may do no more than break its corner
            cut = (r.ridge for r in rows if _cuts(around[r.line], low - beside, high + beside))
            ridge = max(cut, default=0.0)
            yield from _not_cut(sheet, outline, (low, high), around, ridge + spare)
        elif row.way == "in and out":
            last = _last_of(row, [r for r in rows if _cuts(around[r.line], low, high)])
            yield from _check_ridges(sheet, last, around, _spots(outline, low, high), spare)


def _last_of(row: PointsRow, rows: Sequence[PointsRow]) -> PointsRow:
    """Return the last of some rows on a row's edge, or itself: it may pass between what that one left of the middle."""
    return next((r for r in reversed(rows) if r.what == row.what and r.line > row.line), row)


def _check_ridges(
    sheet: Sheet, row: PointsRow, around: Mapping[int, Around], spots: Iterable[tuple[Point, Point]], spare: float
) -> Iterator[Problem]:  # fmt: skip
    """Find a row after which more stands between its places than it says, by more than it may besides, mm."""
    metal = Metal(around[row.line].after)
    if any(_stands(metal, at, normal, row.ridge + spare) for at, normal in spots):
        told = f"ridges of {say(row.ridge, sheet.unit)} at most" if row.ridge else "no ridges"
        yield sheet.problem(row, f"leaves more than it says between its places, which is {told}", fix=PLACES)


def _check_places(
    sheet: Sheet, outline: Chain, zones: Zones, most_off: float, turning: Sequence[tuple[PointsRow, Tool]]
) -> Iterator[Problem]:  # fmt: skip
    """Find the last row of each edge or corner that has a place farther off it than may be, mm, or inside it."""
    for row, tool in {row.what: (row, tool) for row, tool in turning}.values():
        wrong = [off for off in _off(row, tool, outline, zones) if not -DEEP <= off <= most_off]
        if wrong:
            off = f"{1000 * max(wrong, key=abs):.0f} um off its edge or corner"
            yield sheet.problem(row, f"has a place {off}", fix=PLACES)


def _check_floors(
    sheet: Sheet, outline: Chain, step: float, grooving: Iterable[tuple[PointsRow, Tool]]
) -> Iterator[Problem]:  # fmt: skip
    """Find undercuts with a place that is not as deep as their floor, or deeper, by more than the X dial rounds.

    Args:
        step: a division of X on the diameter, mm; the mark that leaves metal, or half of one nearest to the floor.
    """
    metal = Metal(from_chain(outline))
    for row, tool in grooving:
        for z, x in row.places:
            width = float(tool.width)
            floors = metal.at(z + width / 2.0), least_radius(metal, z, z + width)
            off = min((x / 2.0 - floor for floor in floors), key=abs)
            if not -step / 4.0 - DEEP <= off <= step / 2.0 + OFF:
                deep = f"{1000 * abs(off):.0f} um {'above' if off > 0.0 else 'below'}"
                yield sheet.problem(row, f"has a place {deep} the floor of its undercut", fix=PLACES)


def _not_cut(
    sheet: Sheet, outline: Chain, zone: tuple[float, float], around: Mapping[int, Around], over: float
) -> Iterator[Problem]:  # fmt: skip
    """Find an edge or corner whose middle no row cuts, where more stands than `over`, mm, or is left to a stone."""
    rows = [r for r in sheet.rows if r.line in around]
    if not rows or sheet.stoned:
        return
    metal, spots = Metal(around[rows[-1].line].after), list(_spots(outline, *zone))
    over = max(over, UNTOUCHED * (zone[1] - zone[0]))
    if spots and _stands(metal, *spots[len(spots) // 2], over):
        what = f"has no row for the edge or corner at Z {say_between(*zone, sheet.unit, 2)}"
        yield problem_at(sheet.path, rows[-1].line, what, fix="its row of points, or by stone")


def _with_tools(sheet: Sheet, shop: Shop, kind: str) -> Iterator[tuple[PointsRow, Tool]]:
    """Return every row of points in and out that a kind of tool makes, with that tool."""
    for row, tool, _, _ in sheet.cuts_with(shop.tools):
        if isinstance(row, PointsRow) and row.way == "in and out" and tool.kind == kind:
            yield row, tool


def _off(row: PointsRow, tool: Tool, outline: Chain, zones: Iterable[tuple[float, float]]) -> list[float]:
    """How far the nose stands off an outline at each place, mm, negative inside; at the ends straight on past it."""
    nose = float(tool.nose_radius)
    side = -nose if tool.hand == "left" else nose
    centres = [Point(z + side, x / 2.0 + nose) for z, x in row.places]
    onward = [line for low, high in zones for line in _onward(_slants(outline, low, high), nose)]
    off = [min(_apart(c, piece) for piece in outline) - nose for c in centres]
    for at in {0, len(off) - 1}:
        apart = [_apart(centres[at], line) - nose for line in onward]
        # a place may lie beyond the line of another edge
        past = min(apart, key=lambda one: (one < -DEEP, abs(one)), default=math.inf)
        off[at] = past if abs(past) < off[at] else off[at]
    return off


def _onward(edge: list[Line | Arc], nose: float) -> Iterator[Line]:
    """Return the lines that carry the pieces of an edge on past both of their ends, straight as they are there."""
    for piece in edge:
        for end, other in ((piece.start, piece.end), (piece.end, piece.start)):
            dz, dx = end.z - other.z, end.x - other.x
            if isinstance(piece, Arc):  # square to its radius, away from its other end
                dz, dx = piece.centre.x - end.x, end.z - piece.centre.z
                if dz * (end.z - other.z) + dx * (end.x - other.x) < 0.0:
                    dz, dx = -dz, -dx
            share = (PAST_END + nose) / (math.hypot(dz, dx) or 1.0)
            yield Line(end, Point(end.z + share * dz, end.x + share * dx))


def _apart(c: Point, piece: Line | Arc) -> float:
    """Distance from a place to a piece, mm."""
    ends = min(math.dist(c, piece.start), math.dist(c, piece.end))
    if isinstance(piece, Arc):
        away = math.dist(c, piece.centre) or 1.0
        on = Point(*(m + piece.radius * (p - m) / away for p, m in zip(c, piece.centre, strict=True)))
        reach = math.dist(piece.start, piece.end)  # a place within a quarter of a circle is no farther from its ends
        within = max(math.dist(on, piece.start), math.dist(on, piece.end)) <= reach
        return min(ends, abs(math.dist(c, piece.centre) - piece.radius)) if within else ends
    dz, dx = piece.end.z - piece.start.z, piece.end.x - piece.start.x
    share = ((c.z - piece.start.z) * dz + (c.x - piece.start.x) * dx) / (dz * dz + dx * dx)
    return math.dist(c, (piece.start.z + share * dz, piece.start.x + share * dx)) if 0.0 < share < 1.0 else ends


def _cuts(here: Around, low: float, high: float) -> bool:
    """Tell whether a row takes anything off between two Z."""
    return any(height(old, z) - height(new, z) > THIN for z0, z1, old, new in lower(here.before, here.after)[1]
               if z0 <= high and z1 >= low for z in (max(z0, low), min(z1, high)))  # fmt: skip


def rounded(turned: Turned) -> Iterator[tuple[float, float]]:
    """Return the Z ranges of the edges and corners of a section, from and to."""
    if turned.edge is not None:
        long = max(near_length(turned), turned.edge.size)  # on a steep taper it reaches further
        yield max(turned.near - long, turned.far), turned.near
    if turned.far_edge is not None:
        yield turned.far - turned.far_edge.size, turned.far
    if turned.corner is not None and turned.corner.kind == "fillet":
        yield turned.far, turned.far + turned.corner.radius


def _stands(metal: Metal, at: Point, normal: Point, over: float) -> bool:
    """Tell whether metal stands on a place of a surface, higher than `over` square to it, mm."""
    z, x = at.z + over * normal.z, at.x + over * normal.x
    return metal.at(z) > x and metal.at(z, before=True) > x


def _slants(chain: Chain, low: float, high: float) -> list[Line | Arc]:
    """Return the slants and rounds of an outline whose middle is between two Z: one of a taper ends beside them."""
    found = []
    for piece in chain:
        ends, across = sorted((piece.start.z, piece.end.z)), abs(piece.end.x - piece.start.x)
        straight = isinstance(piece, Line) and min(ends[1] - ends[0], across) < THIN
        if low - THIN <= sum(ends) / 2 <= high + THIN and ends[1] - ends[0] < 2 * (high - low) and not straight:
            found.append(piece)
    return found


def _spots(chain: Chain, low: float, high: float) -> Iterator[tuple[Point, Point]]:
    """Return places on the slants and rounds of an outline between two Z, with the way out of the metal there."""
    for piece in _slants(chain, low, high):
        along, across = piece.end.z - piece.start.z, piece.end.x - piece.start.x
        for p in _places(piece):
            yield p, _out(piece, p, Point(across, -along))


def _places(piece: Line | Arc) -> Iterable[Point]:
    if isinstance(piece, Arc):
        return [Point((a.z + b.z) / 2, (a.x + b.x) / 2) for a, b in pairwise(flatten(piece, SAGITTA))]
    ends = piece.start, piece.end
    return [Point(*(a + (b - a) * (k + 0.5) / SPOTS for a, b in zip(*ends, strict=True))) for k in range(SPOTS)]


def _out(piece: Line | Arc, at: Point, chord: Point) -> Point:
    """Return the unit vector out of the metal at a place of a piece; chord: the way out of its chord."""
    way = chord
    if isinstance(piece, Arc):
        way = Point(at.z - piece.centre.z, at.x - piece.centre.x)
        if way.z * chord.z + way.x * chord.x < 0.0:
            way = Point(-way.z, -way.x)
    size = math.hypot(*way)
    return Point(way.z / size, way.x / size)
