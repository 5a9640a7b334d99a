"""Cutting a screw's thread: the diameter to turn, passes of equal area, room to start, and change wheels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, pairwise, product

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.tolerances import EXACT
from cam.ground.units import MM_PER_INCH
from cam.part.threads import Thread

START_PITCHES = 2
"""The least run-in before a thread, in pitches. Common practice, no source."""

MOST_PASSES = 200


class Shank(Row):
    """The limits of a diameter: of the plain shank on which a thread is cut, or of the thread's pitch diameter.

    Attributes:
        least, most: mm.
        standing: where the limits come from.
    """

    least: float
    most: float
    standing: str

    @property
    def aim(self) -> float:
        """Return the middle of the limits, mm."""
        return (self.least + self.most) / 2


class Wheels(Row):
    """A train of change wheels.

    Attributes:
        drivers, driven: numbers of teeth, from the spindle on; one of each, or two of each for a compound train.
        pitch: the pitch that it cuts, mm.
        error: relative to the pitch wanted.
    """

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    pitch: float
    error: float


def shank_of(thread: Thread) -> Shank:
    """Return the limits to which the shank is turned before a die or a single-point tool cuts the thread.

    ISO metric: class 6g of ISO 965-1, by its formulas, rounded as in its tables; Unified: class 2A by the formulas of
    ASME B1.1, which its tables round, for an engagement of one diameter. Both from memory. BA: 0.05 to 0.15 P under,
    common practice, no source.
    """
    d, p = thread.diameter, thread.pitch
    if thread.series == "BA":
        return Shank(d - 0.15 * p, d - 0.05 * p, "common practice, no source: 0.05 to 0.15 of the pitch under")
    if thread.series == "ISO metric":
        most = round(d - _metric_under(p), 3)
        width = _preferred(180 * math.pow(p, 2 / 3) - 3.15 / math.sqrt(p))
        return Shank(round(most - width, 3), most, "ISO 965-1 class 6g, as its tables round it (from memory)")
    most = d - 0.3 * _unified_width(thread)
    width = 0.06 * (p / MM_PER_INCH) ** (2 / 3) * MM_PER_INCH
    return Shank(most - width, most, "ASME B1.1 class 2A, by its formulas (from memory)")


METRIC_RANGES = (0.99, 1.4, 2.8, 5.6, 11.2)
"""The ends of the ranges of diameter in which ISO 965-1 keeps one tolerance, mm; from memory."""
METRIC_UNDER = {0.2: 17, 0.25: 18, 0.3: 18, 0.35: 19, 0.4: 19, 0.45: 20, 0.5: 20, 0.6: 21, 0.7: 22, 0.75: 22, 0.8: 24,
                1.0: 26, 1.25: 28, 1.5: 32, 1.75: 34, 2.0: 38}  # fmt: skip
"""Pitch, mm -> how far position g lies under the basic size, um. ISO 965-1, table 1, from memory; it is 15 + 11 P,
rounded there by hand so that the steps are even.
"""
R40 = (
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280, 300, 315, 335, 355,
    375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
)  # fmt: skip
"""The preferred numbers of the series R40 (ISO 3, published). ISO 965-1 rounds its tolerances to them, um, and those
below 100 to whole numbers (from memory).
"""
EVEN = {(2.8, 0.5): 75}
"""(beginning of a range, pitch) -> tolerance of the pitch diameter, um, where ISO 965-1 departs from that rounding so
that the steps are even; from memory.
"""


def _metric_under(pitch: float) -> float:
    """Return how far class g lies under the basic size, mm."""
    return METRIC_UNDER.get(pitch, round(15 + 11 * pitch)) / 1000


def _preferred(microns: float) -> float:
    """Return a tolerance, given in um, rounded to the nearest preferred number, mm."""
    numbers = [n * power for power in (0.01, 0.1, 1.0) for n in R40]
    return round(float(min(numbers, key=lambda n: abs(n - microns)))) / 1000


def pitch_limits(thread: Thread) -> Shank:
    """Return the limits of the screw's pitch diameter, mm.

    ISO metric: class 6g of ISO 965-1, by its formulas, rounded as in its tables; Unified: class 2A by the formulas of
    ASME B1.1, which its tables round; both from memory. BA: 0.05 to 0.15 P under the basic size, common practice, no
    source.
    """
    basic, (d, p) = thread.pitch_diameter, (thread.diameter, thread.pitch)
    shank = shank_of(thread)
    most = basic - (d - shank.most)
    if thread.series == "BA":
        return Shank(basic - 0.15 * p, most, shank.standing)
    if thread.series == "ISO metric":
        low, high = next(((a, b) for a, b in pairwise(METRIC_RANGES) if d <= b), METRIC_RANGES[-2:])
        even = EVEN.get((low, p))
        width = even / 1000 if even else _preferred(90 * math.pow(p, 0.4) * math.pow(low * high, 0.05))
        most = round(round(basic, 3) - _metric_under(p), 3)
        return Shank(round(most - width, 3), most, shank.standing)
    return Shank(most - _unified_width(thread), most, shank.standing)


def _unified_width(thread: Thread) -> float:
    """Return the class 2A tolerance of the pitch diameter for an engagement of one diameter, mm."""
    inches, lead = thread.diameter / MM_PER_INCH, thread.pitch / MM_PER_INCH
    width = 0.0015 * inches ** (1 / 3) + 0.0015 * math.sqrt(inches) + 0.015 * lead ** (2 / 3)
    return float(width * MM_PER_INCH)


def tip_radius(thread: Thread, pitch_diameter: float, nose: float) -> float:
    """Return the radius at which the tip of a rounded vee tool cuts a thread of this pitch diameter, mm. Exact.

    At the pitch diameter the groove is half a pitch wide, so the point of the sharp vee lies P / 4 / tan(angle / 2)
    below; a nose of radius r in it stands r / sin(angle / 2) - r above that point.
    """
    half = math.radians(thread.angle / 2)
    return pitch_diameter / 2 - thread.pitch / 4 / math.tan(half) + nose * (1 / math.sin(half) - 1)


def pitch_diameter_at(thread: Thread, tip: float, nose: float) -> float:
    """Return the pitch diameter that a rounded vee tool leaves whose tip is at radius tip, mm: tip_radius reversed."""
    return thread.pitch_diameter + 2 * (tip - tip_radius(thread, thread.pitch_diameter, nose))


def widest_nose(thread: Thread) -> float:
    """Return the nose radius, mm, that leaves the standard's own root; a rounder nose leaves flanks too near the nut.

    60 degrees: H / 6, 0.1443 P (ISO 68-1's design profile of the screw, from memory). BA: 0.1808 P; BS 93 has 2 P / 11.
    """
    half = math.radians(thread.angle / 2)
    sharp = thread.pitch_diameter / 2 - thread.pitch / 4 / math.tan(half)
    return (thread.root / 2 - sharp) / (1 / math.sin(half) - 1)


def best_wire(thread: Thread) -> float:
    """Return the diameter of wire that touches the flanks at the pitch diameter, mm: P / (2 cos(angle / 2)). Exact."""
    return thread.pitch / 2 / math.cos(math.radians(thread.angle / 2))


def over_wires(thread: Thread, pitch_diameter: float, wire: float) -> float:
    """Return what a micrometer reads over three wires in a thread of this pitch diameter, mm.

    E + W (1 + 1 / sin(angle / 2)) - P / 2 / tan(angle / 2); exact but for the helix, which adds less than 2 um here.
    """
    half = math.radians(thread.angle / 2)
    return pitch_diameter + wire * (1 + 1 / math.sin(half)) - thread.pitch / 2 / math.tan(half)


def infeed(depth: float, first: float, least: float, springs: int = 0) -> tuple[float, ...]:
    """Return the depths of a thread's passes, which take equal areas, mm below the shank; the last is at full depth.

    The chip of a vee tool grows as it goes in, so equal areas need depth k = depth * sqrt(k / n). Where that would take
    less than the tool can cut, the rest is taken in equal steps no smaller than that. Where no number of steps meets
    both bounds, none is deeper than first, and they are at least half of least.

    Args:
        first: the deepest that the first pass may be, mm.
        least: the smallest cut that the tool takes, mm.
        springs: number of passes at full depth at the end.
    Raises:
        RangeError: there is no depth, least is above first, or there are more than 200 passes.
    """
    if depth <= 0 or not 0 < least <= first or springs < 0:
        raise RangeError("a thread needs a depth, and a first cut no smaller than the tool's least")
    if depth <= first:
        return (depth,) * (1 + springs)
    count = math.ceil((depth / first) ** 2 - EXACT)
    if count > MOST_PASSES:
        raise RangeError(f"a first cut of {first} mm makes {count} passes")
    depths = _no_finer([depth * math.sqrt(k / count) for k in range(count + 1)], first, least)
    return (*depths[1:-1], *(depth,) * (1 + springs))


def _no_finer(depths: list[float], first: float, least: float) -> list[float]:
    """Return depths with equal steps from where they would be finer than least, none coarser than first, mm."""
    fine = next((k for k, (a, b) in enumerate(pairwise(depths)) if b - a < least), None)
    if fine is None:
        return depths
    if fine and depths[-1] - depths[fine] < least:  # too little for a pass of its own: shared with the one before
        fine -= 1
    rest = depths[-1] - depths[fine]
    steps = max(1, math.floor(rest / least + EXACT))
    if rest / steps > first + EXACT:
        steps = math.ceil(rest / first - EXACT)
    return depths[: fine + 1] + [depths[fine] + rest * k / steps for k in range(1, steps + 1)]


def start_room(pitch: float, rpm: float, acceleration: float, backlash: float) -> float:
    """Return how far before the thread the carriage must start to be in step, mm.

    That is the way to reach pitch * rpm from rest, v^2 / (2 a), and the backlash of the slide; at least two pitches.

    Args:
        acceleration: of the slide, mm/s2.
        backlash: of the slide, mm.
    """
    if pitch <= 0 or rpm <= 0 or acceleration <= 0 or backlash < 0:
        raise RangeError("pitch, speed and acceleration are above zero")
    speed = pitch * rpm / 60
    return max(speed**2 / (2 * acceleration) + backlash, START_PITCHES * pitch)


def change_wheels(pitch: float, leadscrew: float, wheels: Sequence[int], most_error: float = 1e-3) -> Wheels | None:
    """Return the train that comes nearest to a pitch; a simple one where it does as well as a compound one.

    Args:
        pitch, leadscrew: mm (a leadscrew of 8 to the inch: 3.175).
        wheels: the teeth of the wheels that there are; two alike stand twice.
        most_error: the greatest relative error; the result is None where no train comes as near.
    """
    ratio = pitch / leadscrew
    count = range(len(wheels))
    sets = [((k,), wheels[k]) for k in count], [((j, k), wheels[j] * wheels[k]) for j, k in combinations(count, 2)]
    found: list[tuple[float, int, tuple[int, ...], tuple[int, ...]]] = []
    for wheels_a_side in sets:
        for (drivers, top), (driven, bottom) in product(wheels_a_side, repeat=2):
            error = abs(top / bottom / ratio - 1)
            if error <= most_error and not {*drivers} & {*driven}:
                top_teeth, bottom_teeth = tuple(wheels[k] for k in drivers), tuple(wheels[k] for k in driven)
                found.append((round(error, 12), len(drivers), top_teeth, bottom_teeth))
    if not found:
        return None
    best = min(found)
    cut = leadscrew * math.prod(best[2]) / math.prod(best[3])
    return Wheels(best[2], best[3], cut, cut / pitch - 1)
