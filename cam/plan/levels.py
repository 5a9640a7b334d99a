"""Levels of roughing for the least time, none of them leaving a layer thinner than the tool can cut.

Full-depth layers clipped at the profile take the least time, but leave films on steps that happen to lie just
under a level; dividing every step evenly leaves none but takes more layers. So the levels are moved, and only as
far as some step asks for it: exactly, by dynamic programming over the few places where a level can be best.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, inf, pi

from cam.frozen import Row

FINE = 1e-9
WRONG = 1e9
"""Seconds that a layer counts which is too thin, so that there is none unless the shape leaves no choice."""


class Step(Row):
    """A stretch of the profile as roughing is to leave it.

    Attributes:
        radius: mm; of a taper the smaller. length: along Z, mm. level: False for a taper, on which every layer
            ends in nothing.
    """

    radius: float
    length: float
    level: bool = True


class Pace(Row):
    """How fast a layer is cut.

    Attributes:
        speeds: (greatest radius, seconds for each mm along Z) in rising radius; the last holds beyond as well.
        held: surface speed is held, so that the time follows the radius cut: seconds for each mm at 1 mm radius;
            0 where a layer has one speed, by the radius of the metal that it meets.
        around: seconds for coming in, climbing out and going back, for each layer.
    """

    speeds: tuple[tuple[float, float], ...]
    held: float
    around: float

    def seconds(self, above: float) -> float:
        """For each mm along Z under metal of radius above."""
        return next((s for most, s in self.speeds if above <= most + FINE), self.speeds[-1][1])


def choose_levels(
    top: float, steps: Sequence[Step], deepest: float, thinnest: float, grid: float, pace: Pace
) -> tuple[float, ...]:
    """Radii of the layers, falling from below top to the smallest step, mm; empty where nothing is to be cut.

    No layer is deeper than deepest; none is thinner than thinnest on any level step, and the time is the least
    that can be, among levels on the grid counted from top and on the steps themselves.

    Args:
        top: outermost metal, mm radius. steps: the profile wanted.
        deepest, thinnest: of a layer, mm per side. grid: what the dial can set, mm of radius.
        pace: how fast.

    Exact: a level that is neither a full depth from another, nor on a step, nor a least cut above one, could
    go deeper at a gain. Where steps lie so that no such levels exist, those with the fewest thin layers.
    """
    wanted = sorted({s.radius for s in steps if s.radius < top - FINE})
    if not wanted:
        return ()
    edges = [r for r in wanted if any(s.level and s.radius == r for s in steps)]
    places = _places(top, wanted, edges, deepest, thinnest, grid)
    wrong = [WRONG * sum(r + FINE < p < r + thinnest - FINE for r in edges) for p in places]
    totals, came = [0.0], [0]
    work = _Work(steps, pace)
    for j in range(1, len(places)):
        level, least, best = places[j], inf, 0
        for i in range(j - 1, -1, -1):
            depth = places[i] - level
            if depth > deepest + FINE and least < inf:
                break
            extra = wrong[i] + WRONG * ((depth < thinnest - FINE) + 10 * (depth > deepest + FINE))
            total = totals[i] + extra + work.seconds(places[i], level)
            if total < least - FINE:
                least, best = total, i
        totals.append(least)
        came.append(best)
    found, j = [], len(places) - 1
    while j:
        found.append(places[j])
        j = came[j]
    return tuple(reversed(found))


class _Work:
    """Seconds of a layer, its parts kept."""

    def __init__(self, steps: Sequence[Step], pace: Pace) -> None:
        self.steps = sorted(steps)
        self.pace = pace
        self.under: dict[float, float] = {}

    def seconds(self, above: float, level: float) -> float:
        pace = self.pace
        if pace.held:
            turned = sum(s.length * max(s.radius, level) for s in self.steps if s.radius < above - FINE)
            return pace.around + pace.held * turned
        if above not in self.under:
            length = sum(s.length for s in self.steps if s.radius < above - FINE)
            self.under[above] = pace.around + length * pace.seconds(above)
        return self.under[above]


def _places(
    top: float, wanted: Sequence[float], edges: Sequence[float], deepest: float, thinnest: float, grid: float
) -> list[float]:
    """Where a level can be best, falling, from top to the least wanted."""

    def settable(x: float) -> float:
        """The next setting of the dial outward, counted from top."""
        return top - floor((top - x) / grid + FINE) * grid

    least = wanted[0]
    found = {top, *wanted}
    for base in (top, *wanted, *(settable(r + thinnest) for r in edges)):
        if base > top:
            continue
        found.add(base)
        first = -ceil((top - base) / deepest)
        for k in range(first, floor((base - least) / deepest) + 1):
            place = settable(base - k * deepest)
            if least < place < top:
                found.add(place)
    return sorted(_apart(found), reverse=True)


def _apart(values: set[float]) -> list[float]:
    """The values without those that are another but for rounding."""
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > FINE:
            kept.append(value)
    return kept


def least_seconds(
    top: float, steps: Sequence[Step], deepest: float, pace: Pace, rapid: float, work: float = 0.0
) -> float:
    """A time that no roughing of these steps can come below, s.

    A step of radius r under metal of radius top takes at least ceil((top - r) / deepest) layers, of which the k-th
    leaves no less than max(r, top - k deepest). Each layer comes in by its depth and goes back over its own length,
    rapidly; the last need not go back.

    Args:
        rapid: mm a second.
        work: seconds that the motor takes for a mm3 at least, which is at the full depth.
    """
    counts = [ceil((top - s.radius) / deepest - 1e-6) for s in steps]
    total = max([0.0, *(top - s.radius for s in steps)]) / rapid
    for step, count in zip(steps, counts, strict=True):
        levels = [max(step.radius, top - k * deepest) for k in range(1, count + 1)]
        cutting = sum(pace.held * x if pace.held else pace.seconds(max(x, 1e-3)) for x in levels)
        driven = work * pi * (top**2 - step.radius**2)
        back = (count - (count == max(counts))) / rapid
        total += step.length * (max(cutting, driven) + back)
    return total
