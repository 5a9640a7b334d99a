"""How near a tool comes to everything solid about the work: centre, tailstock, carrier, headstock.

Body and obstacle touch exactly when the programmed point lies in the obstacle grown by the reflected body
(configuration space), so each pair is one convex polygon and each move a line or an arc beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeVar

from cam.geometry.convex import minkowski, reflect, separation
from cam.geometry.path import Arc, Line, Point, Polygon
from cam.ground.frozen import Row
from cam.setting.model import Obstacle
from cam.shop.tool_shape import Body

_P = TypeVar("_P", Line, Arc)

_Edge = tuple[float, float, float, float, float, float, float, float]
"""Outward normal (z, x), its offset, start (z, x), direction (z, x), length."""

Box = tuple[float, float, float, float]


class Pair(Row):
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


class Near(Row):
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
    """The closest approach to a set of pairs, move after move.

    What was nearest to the last move in the same direction is tried first, and a line that was run before (safe
    radius, start of a pass) is not worked out again.
    """

    __slots__ = ("_groups", "_hints", "_known")

    def __init__(self, pairs: list[Pair]) -> None:
        """Watch pairs; those toward the tailstock and those toward the headstock are passed over together."""
        middle = sum(p.box[0] + p.box[2] for p in pairs) / max(len(pairs), 1)
        sides = [p for p in pairs if p.box[0] + p.box[2] > middle], [p for p in pairs if p.box[0] + p.box[2] <= middle]
        self._groups = [(around([p.box for p in side]), side) for side in sides if side]
        self._hints = dict.fromkeys(range(4), pairs[0]) if pairs else {}
        self._known: dict[tuple[Point, Point], Near] = {}

    def nearest(self, path: Line | Arc, box: Box) -> Near | None:
        """The nearest pair to a path of the programmed point; None if there are no pairs.

        Args:
            box: of the path.
        """
        (z0, x0), (z1, x1) = ends = path.start, path.end
        if not self._hints:
            return None
        if isinstance(path, Arc):
            return self._nearest(path, box, _from_any, 0)
        near = self._known.get(ends)
        if near is None:
            way = 0 if z1 < z0 else 1 if z1 > z0 else 2 if x1 < x0 else 3
            near = self._known[ends] = self._nearest(path, box, _from_line, way)
        return near

    def _nearest(self, path: _P, box: Box, measure: Callable[[Pair, _P, float], Near | None], way: int) -> Near:
        hint = self._hints[way]
        found = measure(hint, path, math.inf)
        assert found is not None  # anything is nearer than infinity
        best = found[0]
        low, least, high, most = box
        for around, pairs in self._groups:
            if around[0] - high >= best or low - around[2] >= best or around[1] - most >= best:
                continue
            for pair in pairs:
                z0, x0, z1, x1 = pair[0]
                dz = z0 - high if z0 > high else low - z1
                dx = x0 - most if x0 > most else least - x1
                if dz >= best or dx >= best or (dz > 0.0 and dx > 0.0 and dz * dz + dx * dx >= best * best):
                    continue
                if pair is not hint:
                    near = measure(pair, path, best)
                    if near is not None:
                        best, found = near[0], near
        self._hints[way] = found.pair
        return found


def around(boxes: list[Box]) -> Box:
    """The least box about some boxes."""
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def _from_any(pair: Pair, path: Line | Arc, best: float) -> Near | None:
    distance, tip, foot = separation(pair.grown, path)
    return Near(distance - pair.round, pair, tip, foot) if distance - pair.round < best else None


def _from_line(pair: Pair, path: Line, best: float) -> Near | None:
    """The same for a line, at once where an edge of grown faces an end of it; None if no nearer than best.

    The greatest distance of the whole line beyond any one edge is never more than the true distance, and is
    equal to it where that end's foot lies on that edge. Otherwise a corner is nearest: of grown, or an end of
    the line that some other edge faces.
    """
    (z0, x0), (z1, x1) = path.start, path.end
    if z0 != z1 and x0 != x1:
        return _from_any(pair, path, best)
    low, high = (z0, z1) if z0 < z1 else (z1, z0)
    least, most = (x0, x1) if x0 < x1 else (x1, x0)
    beyond, facing = -math.inf, pair[1][0]
    for edge in pair[1]:
        nz, nx, c, _, _, _, _, _ = edge
        away = nz * (low if nz > 0.0 else high) + nx * (least if nx > 0.0 else most) - c
        if away > beyond:
            beyond, facing = away, edge
    if beyond - pair.round >= best:
        return None
    if beyond <= 0.0:
        return _from_any(pair, path, best)
    nz, nx, _, z, x, tz, tx, size = facing
    tip = Point(low if nz > 0.0 else high, least if nx > 0.0 else most)
    along = (tip[0] - z) * tz + (tip[1] - x) * tx
    if 0.0 <= along <= size:
        return Near(beyond - pair.round, pair, tip, Point(z + along * tz, x + along * tx))
    return _from_corners(pair, path, best)


def _from_corners(pair: Pair, path: Line, best: float) -> Near | None:
    """The same for a line along Z or X that does not meet grown.

    Of the line's ends only the one nearer to an edge can be nearest to it: where its foot lies off the edge, a
    corner is nearer than the other end.
    """
    (z0, x0), (z1, x1) = path.start, path.end
    low, high = (z0, z1) if z0 < z1 else (z1, z0)
    least, most = (x0, x1) if x0 < x1 else (x1, x0)
    square, tip, foot = math.inf, (z0, x0), (z0, x0)
    for _, _, _, z, x, _, _, _ in pair.edges:
        on_z = low if z < low else high if z > high else z
        on_x = least if x < least else most if x > most else x
        away = (z - on_z) * (z - on_z) + (x - on_x) * (x - on_x)
        if away < square:
            square, tip, foot = away, (on_z, on_x), (z, x)
    distance = math.sqrt(square)
    for nz, nx, c, z, x, tz, tx, size in pair.edges:
        end_z, end_x = low if nz > 0.0 else high, least if nx > 0.0 else most
        away = nz * end_z + nx * end_x - c
        if 0.0 < away < distance:
            along = (end_z - z) * tz + (end_x - x) * tx
            if 0.0 <= along <= size:
                distance, tip, foot = away, (end_z, end_x), (z + along * tz, x + along * tx)
    if distance - pair.round >= best:
        return None
    return Near(distance - pair.round, pair, Point(*tip), Point(*foot))


def nearest_points(near: Near) -> tuple[Point, Point]:
    """The pair of points at a closest approach: on the tool, on the obstacle (setting axes)."""
    (tz, tx), (fz, fx) = near.tip, near.foot
    dz, dx = fz - tz, fx - tx
    size = math.hypot(dz, dx)
    dz, dx = (dz / size, dx / size) if size else _inward(near)
    side = 1.0 if near.distance + near.pair.round >= 0.0 else -1.0
    p, p_low, p_high = _farthest(near.pair.body.polygon, side * dz, side * dx)
    q, q_low, q_high = _farthest(near.pair.obstacle.polygon, -side * dz, -side * dx)
    r = side * near.pair.round
    if p_low == p_high:  # a corner of the tool: the foot says where the obstacle is
        q = Point(p[0] + fz, p[1] + fx)
    elif q_low != q_high:  # edge along edge: the middle of where both are
        shift = side * (dz * fx - dx * fz)
        middle = 0.5 * (max(q_low, -p_high - shift) + min(q_high, -p_low - shift))
        along = middle - side * (-dz * q[1] + dx * q[0])
        q = Point(q[0] + along * side * dx, q[1] - along * side * dz)
    return Point(q[0] - fz + tz + r * dz, q[1] - fx + tx + r * dx), q


def _inward(near: Near) -> tuple[float, float]:
    """Against the outward normal of the edge of grown that a point lies on."""
    z, x = near.foot
    edge = min(near.pair.edges, key=lambda e: abs(e[0] * z + e[1] * x - e[2]))
    return -edge[0], -edge[1]


def _farthest(polygon: Polygon, dz: float, dx: float) -> tuple[Point, float, float]:
    """A corner that lies furthest in a direction, and how far all such corners reach across it."""
    most, best = -math.inf, polygon[0]
    low = high = 0.0
    for p in polygon:
        far, across = p[0] * dz + p[1] * dx, p[1] * dz - p[0] * dx
        if far > most + 1e-9:
            most, best, low, high = far, p, across, across
        elif far > most - 1e-9:
            low, high = min(low, across), max(high, across)
    return best, low, high
