"""The underside of what a tool body sweeps along a move, as pieces of the envelope.

A body is a convex core with a rounding (see cam.shop.tool_shape). Along a line the swept set is convex too:
the start, the end, and a line that touches both. Along an arc every corner of the core draws an arc, so its
disk draws concentric ones, and every edge reaches furthest where the path runs parallel to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from cam.geometry.path import Arc, Box, Line, Point, Polygon
from cam.ground.frozen import Row
from cam.judge.envelope import Metal, Piece, Removed

Edge = tuple[float, float, float]
"""An edge's slope dx/dz, and its unit normal (z, x) that points down."""


class Underside(Row):
    """The lower corners of a convex core, from its least z to its greatest, and its rounding.

    Attributes:
        corners: (z, x) relative to the programmed point, mm.
        edges: the edges between the corners; slopes rise.
        round: the rounding, mm.
        box: least z, least x, greatest z, greatest x of the whole body, rounding included, mm.
    """

    corners: tuple[tuple[float, float], ...]
    edges: tuple[Edge, ...]
    round: float
    box: tuple[float, float, float, float]


def edge_of_slope(slope: float) -> Edge:
    """Return an edge of a slope, with its downward normal."""
    size = math.sqrt(1.0 + slope * slope)
    return slope, slope / size, -1.0 / size


def find_underside(polygon: Polygon, round_: float) -> Underside:
    """Return the underside of a convex polygon (a point or two points will do) with a rounding, mm."""
    corners: list[tuple[float, float]] = []
    for z, x in sorted(polygon):
        if corners and z - corners[-1][0] < 1e-12:
            continue  # straight above
        while len(corners) > 1 and _bulges_up(corners[-2], corners[-1], (z, x)):
            corners.pop()
        corners.append((z, x))
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(corners)]
    zs, xs = zip(*polygon, strict=True)
    box = (min(zs) - round_, min(xs) - round_, max(zs) + round_, max(xs) + round_)
    return Underside(tuple(corners), tuple(edge_of_slope(s) for s in slopes), round_, box)


def _bulges_up(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) <= (b[1] - a[1]) * (c[0] - a[0])


def along(
    act: Callable[[Metal, Sequence[Piece], float], list[Removed]], metal: Metal, under: Underside, path: Line | Arc,
    box: Box, source: int,
) -> list[Removed]:  # fmt: skip
    """Cut the metal with a body on its way (act: Metal.cut), or find their overlap (Metal.overlap); box: its path's."""
    own = under.box
    low = box[1] + own[1]
    if not metal.reaches(box[0] + own[0], box[2] + own[2], low):
        return []
    if isinstance(path, Line):
        return act(metal, along_line(under, path.start, path.end, source), low)
    sweeps = along_arc(under, path.start, path.end, path.centre, path.turn, source)
    return [r for sweep in sweeps for r in act(metal, sweep, -math.inf)]


def along_line(under: Underside, start: Point, end: Point, source: int) -> list[Piece]:
    """Return the underside of the body swept from start to end (of the programmed point); equal points: at rest."""
    (z0, x0), (z1, x1) = (start, end) if start[0] <= end[0] else (end, start)
    dz = z1 - z0
    edges = under.edges
    if dz == 0.0:
        low = min(x0, x1)
        corners = [(z0 + z, low + x) for z, x in under.corners]
    else:
        path = edge_of_slope((x1 - x0) / dz)
        k = 0
        while k < len(edges) and edges[k][0] < path[0]:
            k += 1
        corners = [(z0 + z, x0 + x) for z, x in under.corners[: k + 1]]
        corners += [(z1 + z, x1 + x) for z, x in under.corners[k:]]
        edges = (*edges[:k], path, *edges[k:])
    return _rounded(corners, edges, under.round, source)


def _rounded(corners: list[tuple[float, float]], edges: tuple[Edge, ...], r: float, source: int) -> list[Piece]:
    """Return arcs about the corners and lines between them, r below the corners' own chain."""
    pieces: list[Piece] = []
    here = corners[0][0] - r
    for (z, x), (slope, nz, nx), (after, _) in zip(corners, edges, corners[1:], strict=False):
        out = r * nz
        if z + out > here:
            pieces.append((here, z + out, -1, z, x, r, source))
            here = z + out
        if after + out > here:
            pieces.append((here, after + out, 0, z + out, x + r * nx, slope, source))
            here = after + out
    z, x = corners[-1]
    if z + r > here:
        pieces.append((here, z + r, -1, z, x, r, source))
    return pieces


def along_arc(under: Underside, start: Point, end: Point, centre: Point, turn: int, source: int) -> list[list[Piece]]:
    """Return undersides whose least is that of the body swept along an arc (of the programmed point).

    Args:
        turn: +1 counter-clockwise with z right and x up; equal start and end are a full circle.
    """
    if turn < 0:
        start, end = end, start
    cz, cx = centre
    radius = 0.5 * (math.hypot(start[0] - cz, start[1] - cx) + math.hypot(end[0] - cz, end[1] - cx))
    first = math.atan2(start[1] - cx, start[0] - cz)
    last = math.atan2(end[1] - cx, end[0] - cz)
    if last <= first:
        last += 2.0 * math.pi
    ways = [(sign * nz, sign * nx) for _, nz, nx in under.edges for sign in (1.0, -1.0)]
    places = [Point(cz + nz * radius, cx + nx * radius) for nz, nx in ways if _passes(math.atan2(nx, nz), first, last)]
    found = [along_line(under, p, p, source) for p in (start, end, *places)]
    return found + [
        [(cz + z + z0, cz + z + z1, bend, cz + z, cx + x, r, source)]
        for z0, z1, bend, r in _halves(first, last, radius, under.round)
        for z, x in under.corners
    ]


def _passes(angle: float, first: float, last: float) -> bool:
    """Tell whether a turn from one angle to another, up to a full one, passes a third, radians."""
    return first < angle < last or first < angle + 2.0 * math.pi < last


def _halves(first: float, last: float, radius: float, round_: float) -> Iterator[tuple[float, float, int, float]]:
    """Yield the upper and lower halves of what a disk sweeps underneath along an arc: z from and to, bend, radius."""
    for half in range(-1, 4):
        low, high = max(first, half * math.pi), min(last, (half + 1) * math.pi)
        bend = -1 if half % 2 else 1
        r = radius - bend * round_
        z0, z1 = sorted((r * math.cos(low), r * math.cos(high)))
        if high > low and r > 0.0 and z1 > z0:
            yield z0, z1, bend, r
