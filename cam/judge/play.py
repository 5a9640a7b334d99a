"""What a program would really cut on slides with backlash.

A screw with play B moves its slide only once the play is taken up. Inward and toward the headstock, the loaded
ways, the slide stands where the program says: tools are touched off so. The other way it stays behind by up to B,
which leaves it that much further in, or toward the headstock. In between it stands still while the screw turns.

So each axis is a play operator: the slide's place is the last one, brought within B of what the program says.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from cam.geometry.path import Arc, Line, Point
from cam.ground.frozen import Row
from cam.ground.tolerances import EXACT
from cam.judge.travel import turning_points
from cam.rs274.model import MOVING, Motion, Position

SHORT = 1e-3
"""A shorter piece of an arc, mm, goes straight: rounded to a program's last digit, an arc may pass its turning point,
and what is left beyond it is no whole circle."""


class Play(Row):
    """Backlash of the slides, mm; loose: whether both stand behind by it, as after a move the other way."""

    x: float
    z: float
    loose: bool = False


class _Slide:
    """One axis: the slide follows the screw, up to size behind it on the low side."""

    def __init__(self, size: float, *, loose: bool) -> None:
        self.size = size
        self.behind = size if loose else 0.0  # how far the slide stands below the screw

    def shift(self, change: float) -> float:
        """How far the slide moves when the screw moves by change, mm."""
        behind = min(max(self.behind + change, 0.0), self.size)
        moved = change - (behind - self.behind)
        self.behind = behind
        return moved

    def still(self, change: float) -> float:
        """How much of a move of the screw passes before the slide begins to move, mm."""
        room = self.size - self.behind if change > 0 else self.behind
        return min(abs(change), room)


class Slides:
    """Both slides of the lathe, motion after motion.

    Args:
        play: their backlash, and where they stand before the program.
    """

    def __init__(self, play: Play) -> None:
        self.x, self.z = _Slide(play.x, loose=play.loose), _Slide(play.z, loose=play.loose)

    def carry_out(self, motion: Motion) -> Iterator[Motion]:
        """Return what the slides do while the screws make a motion; a stop comes back as it is."""
        if motion.kind not in MOVING:
            yield motion
        elif motion.top_slide:
            yield motion._replace(start=self._behind(motion.start), end=self._behind(motion.end))
        elif not _is_known(motion):
            yield _partly_known(motion, self.x, self.z)
        elif motion.kind == "arc" or not self._goes_straight(motion):
            yield from _one(motion, self.x, self.z)
        else:
            yield from self._straight(motion)

    def _behind(self, place: Position) -> Position:
        """Return where the tool is while the slides stand and the top slide carries it."""
        return Position(place.x - self.x.behind, place.y, place.z - self.z.behind)

    def _goes_straight(self, motion: Motion) -> bool:
        """Tell whether the slides go straight where the screws do: along one axis, or with no play left to take up."""
        if motion.top_slide:
            return False
        dx, dz = motion.end.x - motion.start.x, motion.end.z - motion.start.z
        return dx == 0.0 or dz == 0.0 or (self.x.still(dx) == 0.0 and self.z.still(dz) == 0.0)

    def _straight(self, motion: Motion) -> Iterator[Motion]:
        (z0, x0), (z1, x1) = self._ends(motion)
        start, end = Position(x0, motion.start.y, z0), Position(x1, motion.end.y, z1)
        if start != end:
            yield motion._replace(start=start, end=end)

    def _ends(self, motion: Motion) -> tuple[Point, Point]:
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        start = Point(sz - self.z.behind, sx - self.x.behind)
        self.x.shift(ex - sx)
        self.z.shift(ez - sz)
        return start, Point(ez - self.z.behind, ex - self.x.behind)

    def paths(self, motion: Motion) -> Iterator[Line | Arc]:
        """Return the ways that the slides go while the screws make a motion, as far as they are known."""
        if motion.kind in ("rapid", "line", "thread") and _is_known(motion) and self._goes_straight(motion):
            start, end = self._ends(motion)
            if start != end:
                yield Line(start, end)
            return
        yield from (path_of(done) for done in self.carry_out(motion) if _is_known(done))


def _is_known(motion: Motion) -> bool:
    return not math.isnan(motion.start.x + motion.start.z + motion.end.x + motion.end.z)


def _partly_known(motion: Motion, x: _Slide, z: _Slide) -> Motion:
    """Move each known axis by its own play, in a motion of which not all places are known."""
    (sx, sy, sz), (ex, ey, ez) = motion.start, motion.end
    before = (x.behind, z.behind)
    for slide, change in ((x, ex - sx), (z, ez - sz)):
        if not math.isnan(change):
            slide.shift(change)
    return motion._replace(
        start=Position(sx - before[0], sy, sz - before[1]), end=Position(ex - x.behind, ey, ez - z.behind)
    )


def _one(motion: Motion, x: _Slide, z: _Slide) -> Iterator[Motion]:
    """Cut the motion where a slide turns back or begins to move; each piece is a line, or the arc shifted."""
    path = path_of(motion)
    ends = turning_points(path)
    for start, end in pairwise(ends):
        for a, b in _pieces(path, start, end, x, z):
            yield from _piece(motion, path, a, b, x, z)


def path_of(motion: Motion) -> Line | Arc:
    """Return the way of a motion whose places are all known; a helix or an arc in another plane is taken as a line."""
    start, end = Point(motion.start.z, motion.start.x), Point(motion.end.z, motion.end.x)
    if motion.kind == "arc" and motion.plane == 18 and motion.centre is not None:
        return Arc(start, end, Point(motion.centre.z, motion.centre.x), motion.turn)
    return Line(start, end)


def _pieces(path: Line | Arc, start: Point, end: Point, x: _Slide, z: _Slide) -> list[tuple[Point, Point]]:
    """Cut a stretch along which neither axis turns back where either slide begins to move."""
    cuts = []
    for axis, slide in ((1, x), (0, z)):
        change = end[axis] - start[axis]
        still = slide.still(change)
        if 0.0 < still < abs(change) - EXACT:
            cuts.append(_at(path, start, end, axis, start[axis] + math.copysign(still, change)))
    order = sorted(cuts, key=lambda p: abs(p.z - start.z) + abs(p.x - start.x))
    return [(a, b) for a, b in pairwise([start, *order, end]) if a != b]


def _at(path: Line | Arc, start: Point, end: Point, axis: int, value: float) -> Point:
    """Return the place on a path between two others where an axis, 0 for Z or 1 for X, has a value, mm."""
    other = 1 - axis
    if isinstance(path, Line):
        across = start[other] + (end[other] - start[other]) * (value - start[axis]) / (end[axis] - start[axis])
    else:
        reach = math.sqrt(max(path.radius**2 - (value - path.centre[axis]) ** 2, 0.0))
        low, high = sorted((start[other], end[other]))
        both = (path.centre[other] - reach, path.centre[other] + reach)
        across = min(both, key=lambda v: max(low - v, v - high))
    return Point(across, value) if axis else Point(value, across)


def _piece(motion: Motion, path: Line | Arc, start: Point, end: Point, x: _Slide, z: _Slide) -> Iterator[Motion]:
    """Return what the slides do while the screws go from start to end, each either following or standing still."""
    before = Point(start.z - z.behind, start.x - x.behind)
    dx, dz = x.shift(end.x - start.x), z.shift(end.z - start.z)
    y = motion.end.y
    begin, finish = Position(before.x, y, before.z), Position(before.x + dx, y, before.z + dz)
    follows = abs(dx - (end.x - start.x)) < EXACT and abs(dz - (end.z - start.z)) < EXACT
    if isinstance(path, Arc) and follows and math.dist((dz, dx), (0.0, 0.0)) > SHORT:
        centre = Position(path.centre.x - x.behind, y, path.centre.z - z.behind)
        yield motion._replace(start=begin, end=finish, centre=centre)
    elif begin != finish:
        kind = "line" if motion.kind == "arc" else motion.kind
        yield motion._replace(kind=kind, start=begin, end=finish, centre=None, turn=0)
