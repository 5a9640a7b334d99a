"""How near a tool comes to everything solid about the work: centre, tailstock, carrier, headstock.

Body and obstacle touch exactly when the programmed point lies in the obstacle grown by the reflected body
(configuration space), so each pair is one convex polygon and each move a line or an arc beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from cam.geometry.convex import minkowski, reflect, separation
from cam.geometry.path import Arc, Line, Point, Polygon
from cam.setting.model import Obstacle
from cam.shop.tool_shape import Body

_Edge = tuple[float, float, float, float, float, float, float, float]
"""Outward normal (z, x), its offset, start (z, x), direction (z, x), length."""

Box = tuple[float, float, float, float]


class Pair(NamedTuple):
    """One body of the tool and one obstacle.

    Attributes:
        box: of grown, and the rounding about it: least z, least x, greatest z, greatest x, mm.
        edges: of grown.
        round: of the body, mm.
        grown: the obstacle grown by the reflected core.
        body, obstacle: as given.
    """

    box: Box
    edges: tuple[_Edge, ...]
    round: float
    grown: Polygon
    body: Body
    obstacle: Obstacle


class Near(NamedTuple):
    """A closest approach: signed distance, mm; the pair; the programmed point then; grown's nearest point."""

    distance: float
    pair: Pair
    tip: Point
    foot: Point


def find_pairs(bodies: Iterable[Body], obstacles: Iterable[Obstacle]) -> list[Pair]:
    """Every body with every obstacle."""
    pairs = []
    for body in bodies:
        mirror, r = reflect(body.polygon), body.round
        for obstacle in obstacles:
            grown = minkowski(obstacle.polygon, mirror)
            zs, xs = zip(*grown, strict=True)
            box = (min(zs) - r, min(xs) - r, max(zs) + r, max(xs) + r)
            pairs.append(Pair(box, _edges(grown), r, grown, body, obstacle))
    return pairs


def _edges(polygon: Polygon) -> tuple[_Edge, ...]:
    edges = []
    for i, (z1, x1) in enumerate(polygon):
        z0, x0 = polygon[i - 1]
        size = math.hypot(z1 - z0, x1 - x0)
        tz, tx = (z1 - z0) / size, (x1 - x0) / size
        edges.append((tx, -tz, tx * z0 - tz * x0, z0, x0, tz, tx, size))
    return tuple(edges)


class Watch:
    """The closest approach to a set of pairs, move after move; what was nearest last is tried first."""

    __slots__ = ("box", "pairs")

    def __init__(self, pairs: list[Pair]) -> None:
        """Watch pairs; at least one."""
        self.pairs = pairs
        boxes = [p.box for p in pairs]
        self.box: Box = (
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )

    def nearest(self, path: Line | Arc, box: Box, best: float) -> Near | None:
        """The nearest pair to a path of the programmed point; None if none is nearer than best, mm.

        Args:
            box: of the path.
        """
        found, first = None, 0
        low, least, high, most = box
        for k, pair in enumerate(self.pairs):
            z0, x0, z1, x1 = pair.box
            dz = z0 - high if z0 > high else low - z1
            dx = x0 - most if x0 > most else least - x1
            if dz >= best or dx >= best or (dz > 0.0 and dx > 0.0 and dz * dz + dx * dx >= best * best):
                continue
            near = _from_line(pair, path, best) if isinstance(path, Line) else _from_any(pair, path, best)
            if near is not None:
                best, found, first = near.distance, near, k
        if first:
            self.pairs.insert(0, self.pairs.pop(first))
        return found


def _from_any(pair: Pair, path: Line | Arc, best: float) -> Near | None:
    distance, tip, foot = separation(pair.grown, path)
    return Near(distance - pair.round, pair, tip, foot) if distance - pair.round < best else None


def _from_line(pair: Pair, path: Line, best: float) -> Near | None:
    """The same for a line, at once where an edge of grown faces an end of it; None if no nearer than best.

    The greatest distance of the whole line beyond any one edge is never more than the true distance, and is
    equal to it where that end's foot lies on that edge.
    """
    (z0, x0), (z1, x1) = path.start, path.end
    beyond, facing, at_start = -math.inf, None, True
    for edge in pair.edges:
        a = edge[0] * z0 + edge[1] * x0 - edge[2]
        b = edge[0] * z1 + edge[1] * x1 - edge[2]
        if a <= b:
            if a > beyond:
                beyond, facing, at_start = a, edge, True
        elif b > beyond:
            beyond, facing, at_start = b, edge, False
    if beyond - pair.round >= best:
        return None
    if facing is not None and beyond > 0.0:
        tip = path.start if at_start else path.end
        _, _, _, z, x, tz, tx, size = facing
        along = (tip[0] - z) * tz + (tip[1] - x) * tx
        if 0.0 <= along <= size:
            return Near(beyond - pair.round, pair, tip, Point(z + along * tz, x + along * tx))
    return _from_any(pair, path, best)


def nearest_points(near: Near) -> tuple[Point, Point]:
    """The pair of points at a closest approach: on the tool, on the obstacle (setting axes)."""
    (tz, tx), (fz, fx) = near.tip, near.foot
    dz, dx = fz - tz, fx - tx
    size = math.hypot(dz, dx)
    if size == 0.0:
        dz, dx = _inward(near)
    else:
        dz, dx = dz / size, dx / size
    side = 1.0 if near.distance + near.pair.round >= 0.0 else -1.0
    core = _farthest(near.pair.body.polygon, side * dz, side * dx)
    solid = _farthest(near.pair.obstacle.polygon, -side * dz, -side * dx)
    low = max(_along(solid[0], dz, dx), _along(core[0], dz, dx) + dz * fx - dx * fz)
    high = min(_along(solid[1], dz, dx), _along(core[1], dz, dx) + dz * fx - dx * fz)
    middle = 0.5 * (low + high)
    q = _at(solid, middle, dz, dx)
    r = side * near.pair.round
    return Point(q[0] - fz + tz + r * dz, q[1] - fx + tx + r * dx), q


def _inward(near: Near) -> tuple[float, float]:
    """Against the outward normal of the edge of grown that a point lies on."""
    z, x = near.foot
    edge = min(near.pair.edges, key=lambda e: abs(e[0] * z + e[1] * x - e[2]))
    return -edge[0], -edge[1]


def _along(p: Point, dz: float, dx: float) -> float:
    """Position across the direction (dz, dx), counter-clockwise."""
    return dz * p[1] - dx * p[0]


def _farthest(polygon: Polygon, dz: float, dx: float) -> tuple[Point, Point]:
    """The corner, or the two corners of the edge, that lie furthest in a direction, in order across it."""
    most = max(p[0] * dz + p[1] * dx for p in polygon)
    ends = [p for p in polygon if p[0] * dz + p[1] * dx > most - 1e-9]
    return min(ends, key=lambda p: _along(p, dz, dx)), max(ends, key=lambda p: _along(p, dz, dx))


def _at(ends: tuple[Point, Point], where: float, dz: float, dx: float) -> Point:
    a, b = _along(ends[0], dz, dx), _along(ends[1], dz, dx)
    t = 0.0 if b - a < 1e-12 else min(max((where - a) / (b - a), 0.0), 1.0)
    return Point(ends[0][0] + t * (ends[1][0] - ends[0][0]), ends[0][1] + t * (ends[1][1] - ends[0][1]))
