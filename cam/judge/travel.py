"""Which way each slide moved last and how far, for its backlash.

A slide with play stands where its screw says only after it has moved in the loaded direction by at least the
play: X inward, Z toward the headstock. So for both a running sum is kept, set back by every move the other
way, and read before each motion.
"""

from __future__ import annotations

import math
from itertools import pairwise

from cam.geometry.path import Arc, Line, Point, spans
from cam.ground.frozen import Row

MOVED = 5e-4
"""A slide that moves less than this, mm, stands still: an arc rounded to a program's last digit may pass its turning
point by a fraction of a micrometre, which no screw follows."""


class TakeUp(Row):
    """How far X has moved inward, and Z toward the headstock, since each last moved the other way, mm."""

    inward: float
    headward: float


FRESH = TakeUp(0.0, 0.0)
"""The state in which nothing is known of the slides."""


def turning_points(path: Line | Arc) -> list[Point]:
    """Return start, end, and between them the places where an arc's X or Z turns back, in order."""
    if isinstance(path, Line):
        return [path.start, path.end]
    (cz, cx), r = path.centre, path.radius
    extremes = [Point(cz + r, cx), Point(cz, cx + r), Point(cz - r, cx), Point(cz, cx - r)]
    first = math.atan2(path.start.x - cx, path.start.z - cz)

    def turned(p: Point) -> float:
        return (path.turn * (math.atan2(p.x - cx, p.z - cz) - first)) % (2.0 * math.pi)

    return [path.start, *sorted((p for p in extremes if spans(path, p)), key=turned), path.end]


def after(before: TakeUp, path: Line | Arc) -> TakeUp:
    """Return the sums after a motion."""
    inward, headward = before
    for here, there in pairwise(turning_points(path)):
        inward, headward = _moved(inward, there[1] - here[1]), _moved(headward, there[0] - here[0])
    return TakeUp(inward, headward)


def _moved(taken: float, change: float) -> float:
    """Return the sum of one slide after it has moved by change, mm: negative is in the loaded direction."""
    return 0.0 if change > MOVED else taken - change if change < 0.0 else taken


def goes_outward(path: Line | Arc) -> bool:
    """Tell whether X moves outward anywhere on the motion."""
    points = turning_points(path)
    return any(b[1] - a[1] > MOVED for a, b in pairwise(points))
