"""How near a tool comes to the work and to what holds it.

Tool and solids are convex, so along a straight move the distance between them is a convex function of the way: its
least value is found by narrowing down. The distances are never greater than the true ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache

from cam.ground.frozen import Row
from cam.setting.milled import Frame, Solid
from cam.shop.mill import Cutter

Place = tuple[float, float, float]

STEPS = 40
NEXT = 1e-4
"""The share of the way over which it is seen whether a distance rises from an end."""


class SolidGap(Row):
    """The distance between part of a tool and a solid.

    Attributes:
        distance: mm; negative is overlap. body: "cutter", "shank" or "holder". obstacle: the solid's name.
        at: the tool's programmed point then, machine axes.
    """

    distance: float
    body: str
    obstacle: str
    at: Place


FAR = SolidGap(math.inf, "", "", (0.0, 0.0, 0.0))


def gap(x: float, y: float, z: float, radius: float, solid: Solid, frame: Frame) -> float:
    """Return the distance of an upright cylinder (end at z, endless upward) from a solid, mm; negative is overlap."""
    start, end, height = _ends_at(solid, frame, x, radius, z)
    beside = max(start - x, x - end, 0.0)
    if not solid.round:
        plan = math.hypot(beside, max(solid.left - y, y - solid.right, 0.0)) - radius
        above = height - solid.top
        if above >= 0.0:
            return math.hypot(max(plan, 0.0), above)
        return plan if plan >= 0.0 else max(plan, above)
    if beside < radius:
        chord = math.sqrt(radius * radius - beside * beside)
        off = math.hypot(max(abs(y) - chord, 0.0), max(height, 0.0)) - solid.top
        if off < 0.0:
            return max(off, beside - radius)
    return max(_apart(beside, abs(y), max(height, 0.0), radius, solid.top), 0.0)


def _apart(beside: float, aside: float, above: float, radius: float, size: float) -> float:
    """Return the distance of an upright cylinder from a bar's end or side beside it, mm: the greater of two bounds.

    One bound takes the cylinder's reach along and across separately, exact beside the bar; the other takes it as round
    every way, exact where the cylinder's end lies below the bar's axis.
    """
    by_axes = math.hypot(max(beside - radius, 0.0), max(math.hypot(max(aside - radius, 0.0), above) - size, 0.0))
    return max(by_axes, math.hypot(beside, max(math.hypot(aside, above) - size, 0.0)) - radius)


def _ends_at(solid: Solid, frame: Frame, x: float, radius: float, z: float) -> tuple[float, float, float]:
    """Return the solid's ends at the height of the tool's end, and that height over the solid's axis, machine axes."""
    if not (solid.tilts and frame.sin):
        return solid.start, solid.end, z
    reach = max(solid.top, 0.0)
    slope = frame.sin / frame.cos
    height = z - slope * (min(x + radius, frame.about + (solid.end - frame.about) * frame.cos) - frame.about)
    at = min(max(height, -reach), reach)
    return frame.to_machine(solid.start, at)[0], frame.to_machine(solid.end, at)[0], height


@lru_cache(maxsize=256)
def reach_of(solid: Solid, frame: Frame) -> tuple[float, float, float]:
    """Return the least and greatest X that `gap` takes the solid to reach, and its greatest Z, machine axes, mm."""
    if not (solid.tilts and frame.sin):
        return solid.start, solid.end, solid.top
    if frame.sin < 0.0:  # with its tip lowered, a way that is never planned: left to `gap`
        return -math.inf, math.inf, math.inf
    size = max(solid.top, 0.0)
    ends = [frame.to_machine(x, side * size)[0] for x in (solid.start, solid.end) for side in (-1, 1)]
    return min(ends), max(ends), (solid.end - frame.about) * frame.sin + solid.top


def nearest(
    cutter: Cutter, start: Place, end: Place, fixtures: Iterable[Solid], sections: Iterable[Solid], frame: Frame,
    best: SolidGap = FAR,
) -> SolidGap:  # fmt: skip
    """Find the least distance of a straight move: every body to the fixtures, shank and holder to the work's sections.

    Args:
        sections: sections of the work; what the cutter's edges do to these is a cut, not a contact.
        best: nothing farther than this is of interest.
    """
    bodies = [(name, *step) for name, step in zip(("cutter", "shank", "holder"), cutter.steps, strict=True)]
    behind = [(n, h, r) for n, h, r in bodies[1:] if r > cutter.radius or n == "holder"]
    for solid in fixtures:
        best = _nearest_to(solid, bodies, start, end, frame, best)
    for solid in sections:
        best = _nearest_to(solid, behind, start, end, frame, best)
    return best


def _nearest_to(
    solid: Solid, bodies: Iterable[tuple[str, float, float]], start: Place, end: Place, frame: Frame, best: SolidGap
) -> SolidGap:
    """Find the least distance of bodies (name, height, radius) to one solid, or best where none comes nearer."""
    low, high, top = reach_of(solid, frame)
    beside, above = max(low - max(start[0], end[0]), min(start[0], end[0]) - high), min(start[2], end[2]) - top
    length = math.dist(start, end)
    for body in bodies:
        name, height, radius = body
        away = math.hypot(max(beside - radius, 0.0), max(above + height, 0.0))
        if away and away >= best.distance:  # so far by their outlines alone
            continue
        first = gap(start[0], start[1], start[2] + height, radius, solid, frame)
        if first < best.distance:
            best = SolidGap(first, name, solid.name, start)
        if length == 0.0:
            continue
        last = gap(end[0], end[1], end[2] + height, radius, solid, frame)
        if last < best.distance:
            best = SolidGap(last, name, solid.name, end)
        if (first + last - length) / 2 < best.distance:
            best = _narrow(start, end, (*body, solid), frame, best)
    return best


def _narrow(start: Place, end: Place, job: tuple[str, float, float, Solid], frame: Frame, best: SolidGap) -> SolidGap:
    """Narrow down the least distance between the ends of a move."""
    name, height, radius, solid = job

    def at(t: float) -> Place:
        return (
            start[0] + (end[0] - start[0]) * t,
            start[1] + (end[1] - start[1]) * t,
            start[2] + (end[2] - start[2]) * t,
        )

    def distance(t: float) -> float:
        x, y, z = at(t)
        return gap(x, y, z + height, radius, solid, frame)

    if distance(NEXT) >= distance(0.0) or distance(1.0 - NEXT) >= distance(1.0):
        return best  # convex, so least at that end, which has been looked at
    low, high = 0.0, 1.0
    for _ in range(STEPS):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, b) if distance(a) <= distance(b) else (a, high)
    t = (low + high) / 2
    found = distance(t)
    return SolidGap(found, name, solid.name, at(t)) if found < best.distance else best


def milling_force(kc11: float, mc: float, depth: float, feed_per_tooth: float, teeth: int) -> float:
    """Estimate the greatest force of an end mill cutting its whole width, N; good to 50 % at chips so thin.

    Kienzle: kc1.1 * b * h^(1 - mc), b the depth and h the feed per tooth where the chip is thickest, for every tooth
    in the cut at once, half of them. All of it is taken to bend the work.
    """
    return kc11 * depth * math.pow(feed_per_tooth, 1 - mc) * max(1.0, teeth / 2)
