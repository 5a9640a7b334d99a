"""A flat face at a slope: the crown that a flat end mill leaves on a ramp, and three ways of setting the slope.

A flat end mill of radius r that follows a ramp of slope s cuts, at y from its path, s * sqrt(r^2 - y^2) too low: the
rim of its end that lies ahead on the low side is lower than its middle. Raised by r * s, one pass leaves the flat
crowned, right in the middle and high at its edges. Source: exact, by Pythagoras; a solid agrees (see the tests).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.tolerances import EXACT

MOST_PASSES = 99
OVERLAP = 0.9
"""The share of the cutter's diameter by which side-by-side passes may step, whatever the crown allows."""


class Ramp(Row):
    """Passes side by side along a ramp: the y of each path, rising, and how far above the face they run, mm.

    Attributes:
        crown: half the height between the flat's highest and lowest line, mm: it lies within plus and minus this.
    """

    across: tuple[float, ...]
    lift: float
    crown: float


class Tip(Row):
    """A block tipped by a shim.

    Attributes:
        shim: thickness, mm. spacing: from the edge that the block stands on to the shim's near edge, mm.
        slope: the slope per side that it gives. raised: which end of the block stands on the shim.
    """

    shim: float
    spacing: float
    slope: float
    raised: str


RAISED = "the end toward the tip of the square"
"""The face falls toward the tip, so that end goes up until the face lies level. Raising the other end makes the tip
the larger end: a frequent mix-up (common practice, no source)."""


def reaches(across: Sequence[float], half_width: float, radius: float) -> tuple[float, float]:
    """Return the least and greatest reach over a flat of half_width to each side of the axis, mm.

    The reach at y is sqrt(r^2 - d^2), d the distance to the nearest path: the deepest cut counts.

    Raises:
        RangeError: the cutter does not cover the flat.
    """
    paths = sorted(across)
    if not paths or radius <= 0 or half_width < 0:
        raise RangeError("no passes, no cutter or no flat")
    places = [-half_width, half_width, *((a + b) / 2 for a, b in pairwise(paths))]
    places += paths
    gaps = [min(abs(y - p) for p in paths) for y in places if abs(y) <= half_width + EXACT]
    if max(gaps) > radius:
        raise RangeError(f"a cutter of radius {radius} mm leaves part of a flat {2 * half_width} mm wide uncut")
    return math.sqrt(radius**2 - max(gaps) ** 2), math.sqrt(radius**2 - min(gaps) ** 2)


def crown(across: Sequence[float], half_width: float, radius: float, slope: float) -> tuple[float, float]:
    """Return the lift that shares the error out evenly, and the error that is left (plus and minus), mm."""
    least, most = reaches(across, half_width, radius)
    return slope * (most + least) / 2, slope * (most - least) / 2


def spread(half_width: float, count: int) -> tuple[float, ...]:
    """Spread so many paths evenly, each in the middle of its strip, mm: this gives the least crown for their number."""
    if count < 1:
        raise RangeError("at least one pass")
    return tuple(half_width * ((2 * k + 1) / count - 1) + 0.0 for k in range(count))


def plan_ramp(slope: float, radius: float, half_width: float, tolerance: float) -> Ramp:
    """Plan as few passes as keep the flat within plus and minus tolerance, mm; RangeError where 99 are not enough."""
    if tolerance <= 0 or radius <= 0 or half_width <= 0 or slope < 0:
        raise RangeError("a ramp needs a cutter, a flat, a tolerance above zero and no negative slope")
    for count in range(max(1, math.ceil(half_width / (radius * OVERLAP))), MOST_PASSES + 1):
        across = spread(half_width, count)
        lift, left = crown(across, half_width, radius, slope)
        if left <= tolerance:
            return Ramp(across, lift, left)
    raise RangeError(f"{MOST_PASSES} passes do not bring the flat within {tolerance} mm")


def tip_block(slope: float, spacing: float, leaf: float) -> Tip:
    """Choose the shim, of leaves that there are, that tips a block to a slope per side, and its place from the edge.

    Args:
        spacing: from the bottom edge that the block stands on to the near edge of the shim at most, mm.
        leaf: step in which shims come, mm; a shim that would be thinner than a step stays as worked out.

    Common practice, no source: 0.004 in to the inch a side is 0.229 degrees, 0.012 in under a block of 3 in.
    """
    if spacing <= 0 or slope < 0 or leaf <= 0:
        raise RangeError("a block stands on an edge and a shim of leaves some distance apart")
    shim = math.floor(spacing * slope / leaf + EXACT) * leaf
    return Tip(shim, shim / slope, slope, RAISED) if shim else Tip(spacing * slope, spacing, slope, RAISED)


def flat_angle(flat: int, flats: int) -> float:
    """Return the angle that brings a flat (counted from 1) to the top, degrees; the A word of a rotary axis."""
    if not 1 <= flat <= flats:
        raise RangeError(f"there is no flat {flat} of {flats}")
    return 360.0 * (flat - 1) / flats


def flats_in_pairs(flats: int) -> tuple[tuple[int, int], ...]:
    """Return the order of cutting: each flat with its opposite, so that a pair can be measured: (1, 3), (2, 4)."""
    return tuple((k, k + flats // 2) for k in range(1, flats // 2 + 1))
