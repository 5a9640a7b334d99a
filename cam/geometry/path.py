"""Points, lines and arcs in the half-section plane: z along the axis, x the radius, both mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.tolerances import ROUNDING


class Point(Row):
    """A place in the half-section.

    Attributes:
        z: along the axis, mm; + toward the tailstock in a setting, away from the A face in a part.
        x: distance from the axis, mm (a radius).
    """

    z: float
    x: float


class Line(Row):
    """A straight piece from start to end."""

    start: Point
    end: Point


class Arc(Row):
    """A circular piece, at most one full turn.

    Attributes:
        start, end: both on the circle; equal for a full circle.
        centre: of the circle.
        turn: +1 counter-clockwise drawn with z to the right and x up (G3 in G18 by NISTIR 6556
            4.3.6.3), -1 clockwise (G2).
    """

    start: Point
    end: Point
    centre: Point
    turn: int

    @property
    def radius(self) -> float:
        """Return the distance from centre to start, mm."""
        return math.hypot(self.start.z - self.centre.z, self.start.x - self.centre.x)


Segment = Line | Arc
Chain = tuple[Segment, ...]
Polygon = tuple[Point, ...]
"""The corners of a convex polygon, counter-clockwise with z right and x up, the first corner not repeated."""

Box = tuple[float, float, float, float]
"""A box: least z, least x, greatest z, greatest x, mm."""

TURN = 2.0 * math.pi


def sweep_angle(arc: Arc) -> float:
    """Return the angle from start to end in the sense of turn, radians.

    A full circle (start == end) gives 2 pi. Ends that differ but lie on one ray from the centre, which
    no exact arc has, give zero.
    """
    if arc.start == arc.end:
        return TURN
    az, ax = arc.start.z - arc.centre.z, arc.start.x - arc.centre.x
    bz, bx = arc.end.z - arc.centre.z, arc.end.x - arc.centre.x
    angle = arc.turn * math.atan2(az * bx - ax * bz, az * bz + ax * bx)
    return angle + TURN if angle < 0.0 else angle


def spans(arc: Arc, point: Point) -> bool:
    """Whether the ray from the arc's centre through point meets the arc; its ends count."""
    if arc.start == arc.end:
        return True
    cz, cx = arc.centre
    az, ax = arc.start.z - cz, arc.start.x - cx
    bz, bx = arc.end.z - cz, arc.end.x - cx
    if arc.turn < 0:
        az, ax, bz, bx = bz, bx, az, ax
    pz, px = point[0] - cz, point[1] - cx
    after_start = az * px - ax * pz >= 0.0
    before_end = pz * bx - px * bz >= 0.0
    whole = az * bx - ax * bz
    if whole < 0.0:
        return after_start or before_end
    if whole == 0.0 and az * bz + ax * bx > 0.0:
        return after_start and before_end and az * pz + ax * px > 0.0
    return after_start and before_end


def length(segment: Segment) -> float:
    """Return the length along the segment, mm."""
    if isinstance(segment, Line):
        return math.hypot(segment.end.z - segment.start.z, segment.end.x - segment.start.x)
    return segment.radius * sweep_angle(segment)


def reverse(segment: Segment) -> Segment:
    """Return the same piece, run from its end to its start."""
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.end, segment.start, segment.centre, -segment.turn)


def point_at(segment: Segment, fraction: float) -> Point:
    """Return the point at a fraction of the length from the start; 0 and 1 give the very start and end."""
    if fraction == 0.0:
        return segment.start
    if fraction == 1.0:
        return segment.end
    if isinstance(segment, Line):
        (z, x), (end_z, end_x) = segment.start, segment.end
        return Point(z + fraction * (end_z - z), x + fraction * (end_x - x))
    return _turned(segment, fraction * sweep_angle(segment))


def _turned(arc: Arc, angle: float) -> Point:
    """Return the point of the arc's circle at angle (radians, in the sense of turn) from its start."""
    c, s = math.cos(angle), arc.turn * math.sin(angle)
    z, x = arc.start.z - arc.centre.z, arc.start.x - arc.centre.x
    return Point(arc.centre.z + c * z - s * x, arc.centre.x + s * z + c * x)


def ends_of(path: Iterable[Segment]) -> Iterator[Point]:
    """Yield both ends of every piece of a path."""
    for piece in path:
        yield from (piece.start, piece.end)


def bounds(thing: Segment | Chain | Polygon) -> Box:
    """Return the least box around a segment, a chain or a polygon; it is exact for arcs.

    Raises:
        RangeError: an empty chain or polygon.
    """
    if isinstance(thing, Line):
        (z0, x0), (z1, x1) = thing.start, thing.end
        if z0 > z1:
            z0, z1 = z1, z0
        return (z0, x0, z1, x1) if x0 <= x1 else (z0, x1, z1, x0)
    if isinstance(thing, Arc):
        return _arc_bounds(thing)
    if not thing:
        raise RangeError("an empty chain has no bounds")
    if isinstance(thing[0], Point):
        zs, xs = zip(*thing, strict=True)
        return (min(zs), min(xs), max(zs), max(xs))
    z0s, x0s, z1s, x1s = zip(*map(bounds, thing), strict=True)
    return (min(z0s), min(x0s), max(z1s), max(x1s))


def _arc_bounds(arc: Arc) -> Box:
    (cz, cx), r = arc.centre, arc.radius
    zs, xs = [arc.start.z, arc.end.z], [arc.start.x, arc.end.x]
    for end, values, at in ((cz - r, zs, Point(cz - r, cx)), (cz + r, zs, Point(cz + r, cx)),
                            (cx - r, xs, Point(cz, cx - r)), (cx + r, xs, Point(cz, cx + r))):  # fmt: skip
        if spans(arc, at):
            values.append(end)
    return (min(zs), min(xs), max(zs), max(xs))


def box_gap(a: Box, b: Box) -> float:
    """Return the distance between two boxes, mm; zero where they overlap. What lies in them is no nearer than that."""
    dz = max(b[0] - a[2], a[0] - b[2], 0.0)
    dx = max(b[1] - a[3], a[1] - b[3], 0.0)
    return math.hypot(dz, dx) if dz and dx else dz + dx


def mirror_z(chain: Chain) -> Chain:
    """Return the chain with every z negated, in the same order; arcs turn the other way."""
    return tuple(
        Line(_flip(s.start), _flip(s.end))
        if isinstance(s, Line)
        else Arc(_flip(s.start), _flip(s.end), _flip(s.centre), -s.turn)
        for s in chain
    )


def _flip(point: Point) -> Point:
    return Point(-point.z, point.x)


def shift(chain: Chain, dz: float, dx: float) -> Chain:
    """Return the chain moved by (dz, dx), mm."""

    def moved(p: Point) -> Point:
        return Point(p.z + dz, p.x + dx)

    return tuple(
        Line(moved(s.start), moved(s.end))
        if isinstance(s, Line)
        else Arc(moved(s.start), moved(s.end), moved(s.centre), s.turn)
        for s in chain
    )


def flatten(segment: Segment, sagitta: float) -> list[Point]:
    """Return points on the segment, ends included, whose chords stray from it by at most sagitta, mm.

    Raises:
        RangeError: sagitta is not above zero.
    """
    if sagitta <= 0.0:
        raise RangeError(f"sagitta must be above 0, not {sagitta}")
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    r, sweep = segment.radius, sweep_angle(segment)
    step = 2.0 * math.acos(max(1.0 - sagitta / r, 0.0)) if r > 0.0 else TURN
    count = max(1 if sweep < math.pi else 3, math.ceil(sweep / step - 1e-9))
    between = [_turned(segment, sweep * i / count) for i in range(1, count)]
    return [segment.start, *between, segment.end]


def nearest_on(segment: Segment, point: Point) -> Point:
    """Return the point of the segment nearest to point; from the centre of an arc all are, and its start is given."""
    if isinstance(segment, Line):
        (z, x), (end_z, end_x) = segment.start, segment.end
        dz, dx = end_z - z, end_x - x
        square = dz * dz + dx * dx
        along = (point[0] - z) * dz + (point[1] - x) * dx
        if along <= 0.0:
            return segment.start
        if along >= square:
            return segment.end
        return Point(z + dz * along / square, x + dx * along / square)
    (cz, cx), r = segment.centre, segment.radius
    far = math.hypot(point[0] - cz, point[1] - cx)
    if far > 0.0 and spans(segment, point):
        return Point(cz + (point[0] - cz) * r / far, cx + (point[1] - cx) * r / far)
    if far == 0.0:
        return segment.start
    to_start = math.hypot(point[0] - segment.start.z, point[1] - segment.start.x)
    to_end = math.hypot(point[0] - segment.end.z, point[1] - segment.end.x)
    return segment.start if to_start <= to_end else segment.end


def share_on(path: Segment, tip: Point) -> float:
    """Return where the place nearest to tip lies on a path, as a share of the path's length."""
    place = nearest_on(path, tip)
    if isinstance(path, Line):
        far = math.dist(path.start, path.end)
        return math.dist(path.start, place) / far if far else 1.0
    whole = sweep_angle(path)
    if math.dist(place, path.start) < ROUNDING:
        return 0.0  # and not once round
    return sweep_angle(Arc(path.start, place, path.centre, path.turn)) / whole
