"""Where two segments meet, and how near they come to each other."""

from __future__ import annotations

import math

from cam.geometry.path import Arc, Line, Point, Segment, nearest_on, spans
from cam.ground.tolerances import ROUNDING


def meetings(a: Segment, b: Segment) -> list[Point]:
    """Return the points that lie on both segments, to within ROUNDING; ends count. Segments that overlap give none."""
    if isinstance(a, Line):
        found = _line_line(a, b) if isinstance(b, Line) else _line_circle(a, b)
    else:
        found = _line_circle(b, a) if isinstance(b, Line) else _circle_circle(a, b)
    return [p for p in found if lies_on(a, p) and lies_on(b, p)]


def lies_on(segment: Segment, point: Point) -> bool:
    """Whether point is within ROUNDING of the segment."""
    near = nearest_on(segment, point)
    return math.hypot(point.z - near.z, point.x - near.x) <= ROUNDING


def _line_line(a: Line, b: Line) -> list[Point]:
    az, ax = a.end.z - a.start.z, a.end.x - a.start.x
    bz, bx = b.end.z - b.start.z, b.end.x - b.start.x
    cross = az * bx - ax * bz
    if abs(cross) <= 1e-14 * math.hypot(az, ax) * math.hypot(bz, bx):
        return []
    t = ((b.start.z - a.start.z) * bx - (b.start.x - a.start.x) * bz) / cross
    return [Point(a.start.z + t * az, a.start.x + t * ax)]


def _line_circle(line: Line, arc: Arc) -> list[Point]:
    """Return up to two points; a line that passes within ROUNDING of touching touches."""
    (cz, cx), r = arc.centre, arc.radius
    dz, dx = line.end.z - line.start.z, line.end.x - line.start.x
    size = math.hypot(dz, dx)
    if size == 0.0:
        return [line.start]
    dz, dx = dz / size, dx / size
    along = (cz - line.start.z) * dz + (cx - line.start.x) * dx
    foot = Point(line.start.z + along * dz, line.start.x + along * dx)
    away = math.hypot(foot.z - cz, foot.x - cx)
    if away > r + ROUNDING:
        return []
    half = math.sqrt(max(r * r - away * away, 0.0))
    if half == 0.0:
        return [foot]
    return [Point(foot.z + s * dz, foot.x + s * dx) for s in (-half, half)]


def _circle_circle(a: Arc, b: Arc) -> list[Point]:
    dz, dx = b.centre.z - a.centre.z, b.centre.x - a.centre.x
    d, p, q = math.hypot(dz, dx), a.radius, b.radius
    if d <= ROUNDING or d > p + q + ROUNDING or d < abs(p - q) - ROUNDING:
        return []
    dz, dx = dz / d, dx / d
    along = (d * d + p * p - q * q) / (2.0 * d)
    half = math.sqrt(max(p * p - along * along, 0.0))
    foot = Point(a.centre.z + along * dz, a.centre.x + along * dx)
    if half == 0.0:
        return [foot]
    return [Point(foot.z - s * dx, foot.x + s * dz) for s in (-half, half)]


def clearance(a: Segment, b: Segment) -> float:
    """Return the least distance between two segments, mm; zero where they meet."""
    if meetings(a, b):
        return 0.0
    pairs = [(a.start, nearest_on(b, a.start)), (a.end, nearest_on(b, a.end))]
    pairs += [(b.start, nearest_on(a, b.start)), (b.end, nearest_on(a, b.end))]
    best = min(math.hypot(p.z - q.z, p.x - q.x) for p, q in pairs)
    if isinstance(a, Line) and isinstance(b, Line):
        return best
    if isinstance(a, Arc) and isinstance(b, Arc):
        return min([best, *_between_circles(a, b)])
    line, arc = (a, b) if isinstance(a, Line) else (b, a)
    assert isinstance(arc, Arc)
    foot = nearest_on(line, arc.centre)
    away = math.hypot(foot.z - arc.centre.z, foot.x - arc.centre.x)
    return min(best, abs(away - arc.radius)) if away > 0.0 and spans(arc, foot) else best


def _between_circles(a: Arc, b: Arc) -> list[float]:
    """Return distances along the line of centres, mm, where both arcs have a point on it."""
    dz, dx = b.centre.z - a.centre.z, b.centre.x - a.centre.x
    d = math.hypot(dz, dx)
    if d == 0.0:
        return [abs(a.radius - b.radius)] if _share_a_ray(a, b) else []
    found = []
    for s in (1.0, -1.0):
        p = Point(a.centre.z + s * a.radius * dz / d, a.centre.x + s * a.radius * dx / d)
        for t in (1.0, -1.0):
            q = Point(b.centre.z + t * b.radius * dz / d, b.centre.x + t * b.radius * dx / d)
            if spans(a, p) and spans(b, q):
                found.append(math.hypot(p.z - q.z, p.x - q.x))
    return found


def _share_a_ray(a: Arc, b: Arc) -> bool:
    """Whether concentric arcs have points on one ray."""
    return spans(a, b.start) or spans(a, b.end) or spans(b, a.start) or spans(b, a.end)
