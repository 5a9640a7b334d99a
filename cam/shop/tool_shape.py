"""The solid shape of a tool about its programmed point, as convex bodies.

All coordinates are relative to the programmed point, mm: z toward the tailstock, x away from the axis.
"""

from __future__ import annotations

import math

from cam.geometry.path import Point, Polygon
from cam.ground.frozen import frozen
from cam.shop.model import INCLUDED, Tool

_TURNS = {s: (INCLUDED[s], 180.0 - INCLUDED[s], 0.0) for s in "CDESV"} | {"W": (20.0, 100.0, 20.0, 100.0, 20.0)}
"""The change of direction after each edge but the last, round the insert from the trailing edge, degrees.
Rhombic inserts and the square have four edges; the trigon W has corners of 80 and 160 degrees in turn."""


@frozen
class Body:
    """One solid part of a tool: all points within `round` of a convex polygon.

    Attributes:
        name: "nose", or the outline's name in the shop file.
        polygon: convex, counter-clockwise, relative to the programmed point; may be a single point or two
            points (a round insert; a grooving tool whose whole end is one radius).
        round: mm; the nose radius for the cutting body, zero for the others.
        cuts: True for the body that may touch the work.
    """

    name: str
    polygon: Polygon
    round: float
    cuts: bool


def tool_bodies(tool: Tool) -> tuple[Body, ...]:
    """Return the tool's solid parts: the cutting body "nose" first, then each outline.

    A turning tool's core is the insert drawn in by its nose radius, so that core and nose disk together
    end where the trailing edge reaches the length `edge` from the corner of the two edges. Equal edges are
    assumed: the leading edge is as long. Insert shapes are closed as ISO 1832 draws them, a ground tool by
    the line between the ends of its edges; what lies behind belongs in an outline. A grooving tool is a
    slot `width` wide and `edge` high; a threading tool is a vee that goes over into a blade, `edge` high in all.
    Outlines stand as they were given, whatever the hand.
    """
    nose = Body(name="nose", polygon=_mirrored(_core(tool), tool), round=float(tool.nose_radius), cuts=True)
    others = (Body(name=o.name, polygon=o.polygon, round=0.0, cuts=False) for o in tool.outlines)
    return (nose, *others)


def half_width(tool: Tool, height: float) -> float:
    """Return how far the side of a threading tool stands from its point along z, mm, at a height above that.

    The flank touches the nose, so it rises by cot(included / 2) from r - r / sin(included / 2); the blade is no wider
    than its width. Source: exact.
    """
    nose, half = float(tool.nose_radius), math.radians(tool.included / 2)
    return min((height - nose + nose / math.sin(half)) * math.tan(half), float(tool.width) / 2)


def edge_left(tool: Tool) -> float:
    """Return the length of the core's edges, mm: what `edge` leaves after the nose and the rounding at its ends.

    The tangent from the corner of the two edges to the nose circle is r / tan(included / 2) long, and the disk
    reaches r past the core's far end. The result is not above zero for an edge that is no longer than its own nose.
    """
    if tool.kind == "grooving":
        return tool.edge - 2 * tool.nose_radius
    if tool.kind == "threading":
        return tool.edge - 2 * tool.nose_radius - _vee_height(tool)
    if tool.included <= 0:
        return 0.0
    return tool.edge - tool.nose_radius / math.tan(math.radians(tool.included) / 2) - tool.nose_radius


def _core(tool: Tool) -> Polygon:
    """Return the convex core of a right-hand tool, counter-clockwise."""
    r, size = float(tool.nose_radius), edge_left(tool)
    nose = Point(r, r)
    if tool.kind == "grooving":
        far = tool.width - r
        if far - r < 1e-9:
            return (nose, Point(r, r + size))
        return (nose, Point(far, r), Point(far, r + size), Point(r, r + size))
    if tool.kind == "threading":
        half = tool.width / 2 - r
        top, bottom = r + _vee_height(tool) + size, r + _vee_height(tool)
        return (Point(0.0, r), Point(half, bottom), Point(half, top), Point(-half, top), Point(-half, bottom))
    if tool.included <= 0:
        return (nose,)
    if tool.shape in _TURNS:
        return _walk(nose, size, tool.trailing, _TURNS[tool.shape])
    return (nose, _along(nose, size, tool.trailing), _along(nose, size, 180.0 - tool.approach))


def _vee_height(tool: Tool) -> float:
    """Return the height of a threading tool's core, mm: from the nose's centre to where vee and blade are as wide."""
    return float((tool.width / 2 - tool.nose_radius) / math.tan(math.radians(tool.included / 2)))


def _walk(start: Point, size: float, direction: float, turns: tuple[float, ...]) -> Polygon:
    """Return the corners met along equal edges, turning left after each; the last edge, back to start, is left out."""
    corners = [start]
    for turn in turns:
        corners.append(_along(corners[-1], size, direction))
        direction += turn
    return tuple(corners)


def _along(start: Point, size: float, direction: float) -> Point:
    angle = math.radians(direction)
    return Point(start.z + size * math.cos(angle), start.x + size * math.sin(angle))


def _mirrored(polygon: Polygon, tool: Tool) -> Polygon:
    if tool.hand == "right":
        return polygon
    return tuple(Point(-p.z, p.x) for p in reversed(polygon))
