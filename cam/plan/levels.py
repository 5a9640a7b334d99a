"""Levels of roughing: full depths from the bar inward, none of which leaves any size a film to take off.

A layer is cut by straight passes alone. The first goes from the end to the first shoulder that stands above its level;
then every size that lies between this level and the one above has a pass of its own, over its own length.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, cos, floor, inf, pi, sin, sqrt, tan

from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING

THIN = 1e-3
"""Metal that is thinner than this, mm, counts as none."""


class Cylinder(Row):
    """A cylinder of the profile as roughing is to leave it, with the tool's way along it.

    Attributes:
        names: names of its sections. radius: mm, rising from step to step toward the headstock.
        near, far: Z from which and to which the tool goes on it, near > far.
    """

    names: tuple[str, ...]
    radius: float
    near: float
    far: float


class Stretch(Row):
    """One straight pass of roughing: at radius level, under metal of radius above, from z_from to z_to.

    Attributes:
        names: names of the sections it touches.
        beside: whether it begins at a shoulder, beside what the pass before it cut, and not at the end.
    """

    names: tuple[str, ...]
    level: float
    above: float
    z_from: float
    z_to: float
    beside: bool


class Pace(Row):
    """How fast a layer is cut.

    Attributes:
        speeds: (greatest radius, seconds for each mm along Z) in rising radius; the last also holds beyond it.
        held: where surface speed is held, so that the time follows the radius cut: seconds for each mm at 1 mm radius;
            0 where a layer has one speed, by the radius of the metal that it meets.
    """

    speeds: tuple[tuple[float, float], ...]
    held: float

    def seconds(self, above: float) -> float:
        """Return the seconds for each mm along Z under metal of radius above."""
        return next((s for most, s in self.speeds if above <= most + ROUNDING), self.speeds[-1][1])


def choose_levels(
    top: float, radii: Sequence[float], deepest: float, thinnest: float, grid: float
) -> tuple[float, ...]:
    """Choose the radii of the layers, mm, falling from below top to the least of radii; empty if nothing is to be cut.

    Each is a full depth under the one before, or so much less that thinnest is left to take off on every size just
    under it. So no layer is thinner than that on any size, nor deeper than deepest.

    Args:
        top: outermost metal, mm radius. radii: the radii wanted; those within thinnest of top are not roughed.
        deepest, thinnest: bounds of a layer, mm per side. grid: what the dial can set, mm of radius.

    Where sizes stand so close, over so much of a full depth, that no such level is left, the layer is a full depth all
    the same; sizes just under it keep metal of less than thinnest, which their first finishing cut takes off.
    """
    levels: list[float] = []
    above, lowest = top, min(radii, default=inf)
    while lowest <= above - thinnest + ROUNDING:
        full = level = max(above - deepest, lowest)
        while films := [r for r in radii if level - thinnest + ROUNDING < r < level - ROUNDING]:
            level = top - floor((top - max(films) - thinnest) / grid + ROUNDING) * grid
        above = level if level <= above - thinnest + ROUNDING else full
        levels.append(above)
    return tuple(levels)


def choose_stretches(
    top: float, steps: Sequence[Cylinder], deepest: float, thinnest: float, grid: float
) -> Iterator[Stretch]:
    """Yield every pass of roughing, in order; see choose_levels.

    Args:
        steps: the profile wanted, from the end toward the headstock.
    """
    above = top
    for level in choose_levels(top, [s.radius for s in steps], deepest, thinnest, grid):
        under = [s for s in steps if s.radius <= level + ROUNDING]
        names = tuple(dict.fromkeys(n for s in under for n in s.names))
        yield Stretch(names, level, above, under[0].near, under[-1].far, beside=False)
        for step in steps[len(under) :]:
            if step.radius > above - thinnest + ROUNDING:
                break
            yield Stretch(step.names, step.radius, above, step.near, step.far, beside=True)
        above = level


def leave_out_idle(stretches: Sequence[Stretch], nose: float, lean: float) -> Iterator[Stretch]:
    """Yield the passes that take something off; a low step beside one that the nose has rounded already takes nothing.

    A pass beside another goes further toward the headstock, at a larger radius. What its nose and edge leave lies
    furthest from what the passes before it left at the top of the metal, so the two are compared there.

    Args:
        nose: radius, mm. lean: angle of the leading edge from square to the axis, radians; positive where it leans
            back.
    """
    done: list[Stretch] = []
    for cut in stretches:
        there = min((_reach(p, cut.above, nose, lean) for p in done if p.level < cut.above - ROUNDING), default=inf)
        if not cut.beside or _reach(cut, cut.above, nose, lean) < there - THIN:
            done.append(cut)
            yield cut


def _reach(cut: Stretch, top: float, nose: float, lean: float) -> float:
    """Return the Z down to which a pass has taken off the metal at radius top, mm."""
    high = top - cut.level
    tangent = nose * (1 + sin(lean))
    if high >= tangent:
        return cut.z_to + nose * (1 - cos(lean)) + (high - tangent) * tan(lean)
    return cut.z_to + nose - sqrt(nose**2 - (nose - high) ** 2)


def radius_left(top: float, radius: float, levels: Sequence[float], thinnest: float) -> float:
    """Return the radius that a size really has once these levels are cut, mm: its own, or more; see choose_levels."""
    above = top
    for level in (*levels, -inf):
        if radius > above - thinnest + ROUNDING:
            return above
        if radius > level + ROUNDING:
            return radius
        above = level
    return above


def least_seconds(
    top: float, steps: Sequence[Cylinder], deepest: float, pace: Pace, rapid: float, work: float = 0.0
) -> float:
    """Return a time that no roughing of these steps can come below, s.

    A step of radius r under metal of radius top takes at least ceil((top - r) / deepest) layers, of which the k-th
    leaves no less than max(r, top - k deepest). Each layer comes in by its depth and goes back over its own length,
    rapidly; the last need not go back.

    Args:
        rapid: mm a second.
        work: the least seconds that the motor takes for a mm3, which is at the full depth.
    """
    counts = [ceil((top - s.radius) / deepest - 1e-6) for s in steps]
    total = max([0.0, *(top - s.radius for s in steps)]) / rapid
    for step, count in zip(steps, counts, strict=True):
        levels = [max(step.radius, top - k * deepest) for k in range(1, count + 1)]
        cutting = sum(pace.held * x if pace.held else pace.seconds(max(x, 1e-3)) for x in levels)
        driven = work * pi * (top**2 - step.radius**2)
        back = (count - (count == max(counts))) / rapid
        total += (step.near - step.far) * (max(cutting, driven) + back)
    return total
