"""The surfaces that a tool leaves or passes over: the round of its nose, and what its edges cut beside it."""

from __future__ import annotations

import math

from cam.geometry.path import Point
from cam.plan.model import Pass
from cam.shop.model import Tool
from posts.pages.standing import Standing

NOSE_PIECES, COARSELY = 16, 3
"""The number of straight pieces that stand for the round that a nose leaves; and where many overlap, in a fillet."""


def under_row(tip: Point, high: float, cut: Pass) -> list[Point]:
    """Return the surface under the tool after a straight row, in rising Z: the round of its nose, then its cylinder.

    Args:
        tip: the tool's point at its stop. high: Z up to which it takes metal off, mm.
    """
    plunge, nose = cut.shape == "plunge", float(cut.tool.nose_radius)
    nose = min(nose, (high - tip.z) / 2) if plunge else nose
    if cut.tool.kind == "grooving" or cut.tool.hand == "left" or nose <= 0:
        return [tip, Point(high, tip.x)]
    if plunge:
        return plunged(tip, nose, NOSE_PIECES)
    return [*plunged(tip, nose, NOSE_PIECES)[: NOSE_PIECES + 1], Point(max(high, tip.z) + nose, tip.x)]


def cut_trailing(metal: Standing, tool: Tool, z: float, leaves: float) -> None:
    """Take off the metal that the trailing edge of a knife cuts, fed straight in at Z z to a diameter, mm."""
    metal.cut_under(trailing_edge(tool, z, leaves))


def trailing_edge(tool: Tool, z: float, leaves: float) -> list[Point]:
    """Return the two ends of the trailing edge of a knife at Z z that leaves a diameter, mm; none of another tool."""
    if tool.kind != "turning" or not tool.included:
        return []
    angle = math.radians(tool.trailing)
    begin, reach = z + float(tool.nose_radius) * (1 + math.tan(angle / 2)), float(tool.edge) * math.cos(angle)
    return [Point(begin, leaves / 2), Point(begin + reach, leaves / 2 + reach * math.tan(angle))]


def plunged(tip: Point, nose: float, pieces: int) -> list[Point]:
    """Return the round of a nose fed straight in to a place, in rising Z, each quarter in so many pieces."""
    angles = [math.pi / 2 * (k / pieces - 1) for k in range(2 * pieces + 1)]
    return [Point(tip.z + nose + nose * math.sin(a), tip.x + nose - nose * math.cos(a)) for a in angles]


def left_by(low: Point, high: Point, tool: Tool, *, square: bool = True) -> list[Point]:
    """The surface that a tool leaves, its point going along a line: places in rising Z, X a radius, mm.

    From the line's end nearer to the headstock to where the nose touches its other end, then up the nose's own round,
    and from there along the trailing edge of a right-hand tool whose edges are known.

    Args:
        square: take the round as cut out to its foot, as that of a row's stop is where faces are square.
    """
    nose, growth = float(tool.nose_radius), (high.x - low.x) / (high.z - low.z)
    slant = math.hypot(1.0, growth)
    middle = high.z - nose if tool.hand == "left" else high.z + nose
    first = math.asin(growth / slant)
    trails = tool.included and tool.hand != "left"
    last = max(first, math.radians(tool.trailing)) if trails else math.pi / 2
    angles = [first + (last - first) * k / NOSE_PIECES for k in range(NOSE_PIECES + 1)]
    round_ = [Point(middle + nose * math.sin(a), high.x + nose * (1 - math.cos(a))) for a in angles]
    start = Point(low.z, round_[0].x + growth * (low.z - round_[0].z))
    reach, end = float(tool.edge) if trails else 0.0, round_[-1]
    behind = [Point(end.z + reach * math.cos(last), end.x + reach * math.sin(last))] if trails else []
    if square:
        foot = min(round_, key=lambda p: p.x)
        round_ = [*round_[: round_.index(foot) + 1], Point(end.z, foot.x), end]
    return [start, *(round_ if nose > 0 else [high]), *behind]


def rounded_by(low: Point, high: Point, tool: Tool) -> list[Point]:
    """The same surface as left_by with its round, and with that which a right-hand nose leaves at the headstock end."""
    nose, rest = float(tool.nose_radius), left_by(low, high, tool, square=False)
    if nose <= 0 or tool.hand == "left":
        return rest
    span = math.pi / 2 + math.atan((high.x - low.x) / (high.z - low.z))
    piece = math.pi / 2 / NOSE_PIECES  # as of a nose fed straight in, so that the two can be held together
    angles = [*(piece * k - math.pi / 2 for k in range(math.ceil(span / piece - 1e-9))), span - math.pi / 2]
    return [*(Point(low.z + nose * (1 + math.sin(a)), low.x + nose * (1 - math.cos(a))) for a in angles), *rest[1:]]


def x_at(a: Point, b: Point, z: float) -> float:
    """Return the X at a Z of the line through two places, mm."""
    return a.x if a.z == b.z else a.x + (b.x - a.x) * (z - a.z) / (b.z - a.z)
