"""How near a tool comes to everything solid about the work: centre, tailstock, carrier, headstock.

Body and obstacle touch exactly when the programmed point lies in the obstacle grown by the reflected body
(configuration space), so each pair is one convex polygon and each move a line or an arc beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from cam.geometry.convex import minkowski, reflect, separations
from cam.geometry.path import Line, Point, Polygon, Segment, nearest_on
from cam.ground.frozen import Row
from cam.setting.model import Obstacle
from cam.shop.model import Tool
from cam.shop.tool_shape import Body, tool_bodies


class Pair(Row):
    """One body of the tool, one obstacle, and the obstacle grown by the body's reflected core."""

    body: Body
    obstacle: Obstacle
    grown: Polygon


class Near(Row):
    """A closest approach: signed distance, mm; the pair; the programmed point there; the nearest point of `grown`."""

    distance: float
    pair: Pair
    tip: Point
    foot: Point


def find_pairs(bodies: Iterable[Body], obstacles: Sequence[Obstacle]) -> list[Pair]:
    """Pair every body with every obstacle."""
    mirrors = [(body, reflect(body.polygon)) for body in bodies]
    return [Pair(body, o, minkowski(o.polygon, mirror)) for body, mirror in mirrors for o in obstacles]


def nearest_to(pairs: Sequence[Pair], paths: Sequence[Segment]) -> list[Near]:
    """Return the nearest pair for each path of the programmed point; of equally near places that of most Z, then X."""
    ways = [Line(*sorted(p, reverse=True)) if isinstance(p, Line) else p for p in paths]
    found = separations([p.grown for p in pairs], [p.body.round for p in pairs], ways)
    return [Near(near.distance, pairs[near.which], near.on_path, near.on_polygon) for near in found]


def find_nearest(
    tools: Iterable[Tool], obstacles: Sequence[Obstacle], paths: Mapping[int, tuple[int, Segment]]
) -> dict[int, Near]:
    """Return the nearest pair to every path of a program, by motion; paths: the tool's number and the path."""
    found: dict[int, Near] = {}
    for tool in tools if obstacles else ():
        mine = {number: path for number, (used, path) in paths.items() if used == tool.number}
        if mine:
            nears = nearest_to(find_pairs(tool_bodies(tool), obstacles), list(mine.values()))
            found |= zip(mine, nears, strict=True)
    return found


def nearest_points(near: Near) -> tuple[Point, Point]:
    """Return the two points of a closest approach: on the tool and on the obstacle (setting axes)."""
    (tz, tx), (fz, fx) = near.tip, near.foot
    dz, dx = fz - tz, fx - tx
    size = math.hypot(dz, dx)
    dz, dx = (dz / size, dx / size) if size else _inward(near)
    side = 1.0 if near.distance + near.pair.body.round >= 0.0 else -1.0
    p, p_low, p_high = _farthest(near.pair.body.polygon, side * dz, side * dx)
    q, q_low, q_high = _farthest(near.pair.obstacle.polygon, -side * dz, -side * dx)
    r = side * near.pair.body.round
    if p_low == p_high:  # a corner of the tool: the foot says where the obstacle is
        q = Point(p[0] + fz, p[1] + fx)
    elif q_low != q_high:  # edge along edge: the middle of where both are
        shift = side * (dz * fx - dx * fz)
        middle = 0.5 * (max(q_low, -p_high - shift) + min(q_high, -p_low - shift))
        along = middle - side * (-dz * q[1] + dx * q[0])
        q = Point(q[0] + along * side * dx, q[1] - along * side * dz)
    return Point(q[0] - fz + tz + r * dz, q[1] - fx + tx + r * dx), q


def _inward(near: Near) -> tuple[float, float]:
    """Return the direction against the outward normal of the edge of `grown` that a point lies on."""
    grown = near.pair.grown
    sides = [Line(a, b) for a, b in zip(grown, grown[1:] + grown[:1], strict=True)]
    (z0, x0), (z1, x1) = min(sides, key=lambda side: math.dist(nearest_on(side, near.foot), near.foot))
    size = math.hypot(z1 - z0, x1 - x0)
    return (x0 - x1) / size, (z1 - z0) / size


def _farthest(polygon: Polygon, dz: float, dx: float) -> tuple[Point, float, float]:
    """Return a corner that lies furthest in a direction, and how far all such corners reach across it, mm."""
    most, best = -math.inf, polygon[0]
    low = high = 0.0
    for p in polygon:
        far, across = p[0] * dz + p[1] * dx, p[1] * dz - p[0] * dx
        if far > most + 1e-9:
            most, best, low, high = far, p, across, across
        elif far > most - 1e-9:
            low, high = min(low, across), max(high, across)
    return best, low, high
