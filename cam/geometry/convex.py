"""Convex polygons: hulls, Minkowski sums, and how far a path stays from one.

A tool's solid part and an obstacle touch exactly when the tool's programmed point lies in the obstacle
grown by the reflected part, so one polygon a pair and a line or arc of the path answer for a whole
move (configuration space: T. Lozano-Perez, "Spatial planning: a configuration space approach", IEEE
Transactions on Computers C-32, 1983).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache

from cam.geometry.path import Arc, Line, Point, Polygon, Segment, spans
from cam.ground.problem import RangeError

FLAT = 1e-12
"""A corner that stands out by less than this, mm, is none."""

_Edge = tuple[float, float, float, float, float, float, float, float]
"""Outward unit normal (z, x), its offset, start (z, x), unit direction (z, x), length."""

Separation = tuple[float, Point, Point]
"""Signed distance mm, nearest point on the path, nearest point on the polygon."""


def hull(points: Iterable[Point]) -> Polygon:
    """The least convex polygon around points: counter-clockwise, no corner in a straight edge.

    Points on one line give their two ends, equal points a single one.

    Raises:
        RangeError: no points.
    """
    ordered = sorted(set(points))
    if not ordered:
        raise RangeError("no points, so no hull")
    if len(ordered) < 3:
        return tuple(Point(*p) for p in ordered)
    below, above = _half_hull(ordered), _half_hull(ordered[::-1])
    return tuple(Point(*p) for p in below[:-1] + above[:-1])


def _half_hull(ordered: list[Point]) -> list[Point]:
    """The chain of right-hand outer corners from the first point to the last (A. Andrew, 1979)."""
    chain: list[Point] = []
    for p in ordered:
        while len(chain) > 1 and not _stands_out(chain[-2], chain[-1], p):
            chain.pop()
        chain.append(p)
    return chain


def _stands_out(a: Point, b: Point, c: Point) -> bool:
    """Whether going a, b, c turns left and b lies off the chord."""
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return cross > FLAT * math.hypot(c[0] - a[0], c[1] - a[1])


def is_convex(polygon: Polygon) -> bool:
    """Whether the corners in their order, either way round, bound a convex area.

    Corners within a straight edge are allowed; polygons without area or that run round twice are not
    convex. `hull` gives the tidy counter-clockwise form.
    """
    if len(set(polygon)) < 3 or len(set(polygon)) != len(polygon):
        return False
    turned, signs = 0.0, set()
    for i, b in enumerate(polygon):
        a, c = polygon[i - 1], polygon[(i + 1) % len(polygon)]
        (uz, ux), (vz, vx) = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
        cross, dot = uz * vx - ux * vz, uz * vz + ux * vx
        if abs(cross) > FLAT * math.hypot(uz + vz, ux + vx):
            signs.add(cross > 0.0)
            turned += math.atan2(cross, dot)
        elif dot < 0.0:
            return False
    return len(signs) == 1 and abs(abs(turned) - 2.0 * math.pi) < 1e-6


def reflect(polygon: Polygon) -> Polygon:
    """Every corner negated (a half turn about the origin); stays counter-clockwise."""
    return tuple(Point(-z, -x) for z, x in polygon)


def minkowski(a: Polygon, b: Polygon) -> Polygon:
    """All sums of a point of a and a point of b: the edges of both in order of direction.

    Args:
        a: counter-clockwise and convex; a single point or two points will do.
        b: likewise.
    """
    a, b = _from_lowest(a), _from_lowest(b)
    corners, i, j = [], 0, 0
    while i < len(a) or j < len(b):
        p, q = a[i % len(a)], b[j % len(b)]
        corners.append(Point(p[0] + q[0], p[1] + q[1]))
        if i == len(a) or j == len(b):
            i, j = (i, j + 1) if i == len(a) else (i + 1, j)
            continue
        p1, q1 = a[(i + 1) % len(a)], b[(j + 1) % len(b)]
        cross = (p1[0] - p[0]) * (q1[1] - q[1]) - (p1[1] - p[1]) * (q1[0] - q[0])
        i, j = i + (cross >= 0.0), j + (cross <= 0.0)
    return _tidy(corners)


def _from_lowest(polygon: Polygon) -> Polygon:
    """The same corners, beginning with the lowest (of equals the leftmost)."""
    k = min(range(len(polygon)), key=lambda n: (polygon[n][1], polygon[n][0]))
    return polygon[k:] + polygon[:k]


def _tidy(corners: list[Point]) -> Polygon:
    """Without repeats and corners in straight edges; the first corner is kept where it is one."""
    if len(corners) < 3:
        return hull(corners)
    kept: list[Point] = []
    for p in [*corners, corners[0]]:
        while len(kept) > 1 and not _stands_out(kept[-2], kept[-1], p):
            kept.pop()
        kept.append(p)
    kept.pop()
    return tuple(kept) if len(kept) > 2 else hull(corners)


def contains(polygon: Polygon, point: Point) -> bool:
    """Whether point lies in the polygon; its boundary counts."""
    z, x = point
    previous_z, previous_x = polygon[-1]
    for corner_z, corner_x in polygon:
        if (corner_z - previous_z) * (x - previous_x) < (corner_x - previous_x) * (z - previous_z):
            return False
        previous_z, previous_x = corner_z, corner_x
    return True


@lru_cache(maxsize=1024)
def _edges(polygon: Polygon) -> tuple[_Edge, ...]:
    edges = []
    for i, (z0, x0) in enumerate(polygon):
        z1, x1 = polygon[(i + 1) % len(polygon)]
        size = math.hypot(z1 - z0, x1 - x0)
        if size > 0.0:
            tz, tx = (z1 - z0) / size, (x1 - x0) / size
            edges.append((tx, -tz, tx * z0 - tz * x0, z0, x0, tz, tx, size))
    if len(edges) < 3:
        raise RangeError("a polygon has at least three corners")
    return tuple(edges)


def separation(polygon: Polygon, segment: Segment) -> Separation:
    """How far a path stays from a convex polygon, or how deep it goes in.

    Args:
        polygon: counter-clockwise, convex, with an area.
        segment: line or arc; a line of no length is a point.

    Returns:
        Signed distance, the point of the path it holds for, and the nearest point of the polygon's
        boundary. Negative is the greatest depth that the path reaches inside. Of equally near points
        any one is given.

    Raises:
        RangeError: fewer than three corners.
    """
    edges = _edges(polygon)
    return _from_line(edges, segment) if isinstance(segment, Line) else _from_arc(edges, segment)


def _from_line(edges: tuple[_Edge, ...], line: Line) -> Separation:
    (z0, x0), (z1, x1) = line.start, line.end
    low, high, apart = 0.0, 1.0, False
    starts, ends = [], []
    for nz, nx, c, *_ in edges:
        a, b = nz * z0 + nx * x0 - c, nz * z1 + nx * x1 - c
        starts.append(a)
        ends.append(b)
        if a > 0.0:
            if b > 0.0:
                apart = True
            else:
                low = max(low, a / (a - b))
        elif b > 0.0:
            high = min(high, a / (a - b))
    if not apart and low <= high:
        return _deepest_on_line(edges, line, starts, ends, low, high)
    best = _from_corner(edges, line)
    for values, point in ((starts, line.start), (ends, line.end)):
        distance, foot = _from_point(edges, values, point)
        if distance < best[0]:
            best = (distance, point, foot)
    return best


def _from_point(edges: tuple[_Edge, ...], outside: list[float], point: Point) -> tuple[float, Point]:
    """Distance and nearest corner or foot for a point; infinite where it lies inside."""
    best, foot = math.inf, point
    for (_, _, _, z, x, tz, tx, size), away in zip(edges, outside, strict=True):
        if away <= 0.0:
            continue
        dz, dx = point[0] - z, point[1] - x
        along = dz * tz + dx * tx
        if 0.0 <= along <= size:
            return away, Point(z + along * tz, x + along * tx)
        if along > size:
            z, x = z + size * tz, x + size * tx  # noqa: PLW2901 - the edge's other corner
        distance = math.hypot(point[0] - z, point[1] - x)
        if distance < best:
            best, foot = distance, Point(z, x)
    return best, foot


def _from_corner(edges: tuple[_Edge, ...], line: Line) -> Separation:
    """Distance from the polygon's corner next to the line, where its foot lies between the line's ends."""
    (z0, x0), (z1, x1) = line.start, line.end
    dz, dx = z1 - z0, x1 - x0
    size = math.hypot(dz, dx)
    nothing = (math.inf, line.start, line.start)
    if size == 0.0:
        return nothing
    dz, dx = dz / size, dx / size
    heights = [dz * (e[4] - x0) - dx * (e[3] - z0) for e in edges]
    least, most = min(heights), max(heights)
    if least < 0.0 < most:
        return nothing
    corner = edges[heights.index(least if least >= 0.0 else most)]
    z, x = corner[3], corner[4]
    along = (z - z0) * dz + (x - x0) * dx
    if not 0.0 <= along <= size:
        return nothing
    return max(least, -most), Point(z0 + along * dz, x0 + along * dx), Point(z, x)


def _deepest_on_line(
    edges: tuple[_Edge, ...], line: Line, starts: list[float], ends: list[float], low: float, high: float
) -> Separation:
    """The greatest of the least of linear functions, found where a rising and a falling one meet."""
    lines = [(-a, a - b) for a, b in zip(starts, ends, strict=True)]  # depth below edge: first + second * t

    def least(t: float) -> tuple[float, float, int]:
        return min((first + slope * t, slope, k) for k, (first, slope) in enumerate(lines))

    left, right = least(low), least(high)
    t, found = low, left
    if right[0] > left[0]:
        t, found = high, right
    if left[1] > 0.0 > right[1]:
        rising, falling = left[2], right[2]
        for _ in lines:
            (a, p), (b, q) = lines[rising], lines[falling]
            t = min(max((b - a) / (p - q), low), high)
            found = least(t)
            if found[2] in (rising, falling) or found[1] == 0.0 or found[0] >= a + p * t - 1e-15:
                break
            rising, falling = (found[2], falling) if found[1] > 0.0 else (rising, found[2])
    (z0, x0), (z1, x1) = line.start, line.end
    depth = max(found[0], 0.0)
    at = Point(z0 + (z1 - z0) * t, x0 + (x1 - x0) * t)
    edge = edges[found[2]]
    return -depth, at, Point(at.z + edge[0] * depth, at.x + edge[1] * depth)


def _from_arc(edges: tuple[_Edge, ...], arc: Arc) -> Separation:
    (cz, cx), r = arc.centre, arc.radius
    best: Separation = (math.inf, arc.start, arc.start)
    for nz, nx, c, z, x, tz, tx, size in edges:
        away = nz * cz + nx * cx - c
        along = (cz - z) * tz + (cx - x) * tx
        if abs(away) < r:
            half = math.sqrt(r * r - away * away)
            for u in (along - half, along + half):
                if 0.0 <= u <= size and spans(arc, Point(z + u * tz, x + u * tx)):
                    return _deepest_on_arc(edges, arc)
        elif 0.0 <= along <= size and abs(away) - r < best[0]:
            best = _on_ray(arc, Point(cz - nz * away, cx - nx * away), best)
        if abs(math.hypot(z - cz, x - cx) - r) < best[0]:
            best = _on_ray(arc, Point(z, x), best)
    for point in (arc.start, arc.end):
        distance, foot = _from_point(edges, [e[0] * point.z + e[1] * point.x - e[2] for e in edges], point)
        if distance == math.inf:
            return _deepest_on_arc(edges, arc)
        if distance < best[0]:
            best = (distance, point, foot)
    return best


def _on_ray(arc: Arc, point: Point, best: Separation) -> Separation:
    """The pair of point and the arc's point on the same ray, if that ray meets the arc."""
    (cz, cx), r = arc.centre, arc.radius
    far = math.hypot(point.z - cz, point.x - cx)
    if far == 0.0 or not spans(arc, point):
        return best
    return abs(far - r), Point(cz + (point.z - cz) * r / far, cx + (point.x - cx) * r / far), point


def _deepest_on_arc(edges: tuple[_Edge, ...], arc: Arc) -> Separation:
    """The greatest of the least depths below the edges, by trying every place where it can be.

    With u the unit vector from the centre, the depth below edge k is -(h_k + r n_k.u). Its least over k
    is greatest at an end, opposite a normal, or where two edges are equally deep:
    (n_i - n_j).u = (h_j - h_i) / r.
    """
    cz, cx = arc.centre
    planes = [(nz, nx, nz * cz + nx * cx - c) for nz, nx, c, *_ in edges]
    best, at, nearest = 0.0, None, 0
    for point in _places(arc, planes):
        least, which = math.inf, 0
        for k, (nz, nx, h) in enumerate(planes):
            depth = -(h + nz * (point.z - cz) + nx * (point.x - cx))
            if depth < least:
                least, which = depth, k
                if at is not None and depth <= best:
                    break
        if at is None or least > best:
            best, at, nearest = least, point, which
    assert at is not None  # the arc's ends are always among the places
    if best <= 0.0:
        best, at, nearest = 0.0, *_crossing(edges, arc, at)
    nz, nx, _ = planes[nearest]
    return -best, at, Point(at.z + nz * best, at.x + nx * best)


def _places(arc: Arc, planes: list[tuple[float, float, float]]) -> list[Point]:
    """Ends of the arc, and the places of `_deepest_on_arc` that lie on it."""
    (cz, cx), r = arc.centre, arc.radius
    places = [Point(cz - r * nz, cx - r * nx) for nz, nx, _ in planes]
    for i, (az, ax, ah) in enumerate(planes):
        for bz, bx, bh in planes[:i]:
            wz, wx = az - bz, ax - bx
            size = math.hypot(wz, wx)
            if size * r == 0.0 or abs(bh - ah) > size * r:
                continue
            k = (bh - ah) / (size * r)
            across = math.sqrt(max(1.0 - k * k, 0.0))
            wz, wx = wz / size, wx / size
            for s in (across, -across):
                places.append(Point(cz + r * (k * wz - s * wx), cx + r * (k * wx + s * wz)))
    return [arc.start, arc.end, *(p for p in places if spans(arc, p))]


def _crossing(edges: tuple[_Edge, ...], arc: Arc, otherwise: Point) -> tuple[Point, int]:
    """A place where the arc meets an edge, for one that only touches the polygon."""
    (cz, cx), r = arc.centre, arc.radius
    for k, (nz, nx, c, z, x, tz, tx, size) in enumerate(edges):
        away = nz * cz + nx * cx - c
        along = (cz - z) * tz + (cx - x) * tx
        half = math.sqrt(max(r * r - away * away, 0.0))
        for u in (along - half, along + half):
            point = Point(z + u * tz, x + u * tx)
            if abs(away) <= r and 0.0 <= u <= size and spans(arc, point):
                return point, k
    return otherwise, 0
