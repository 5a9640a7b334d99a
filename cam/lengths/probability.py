"""How likely a sum of errors is to lie between two limits.

The model: errors stated as plus-minus limits lie anywhere between them with equal chance, errors stated as a
standard uncertainty are normal, and all of them are independent. The chance is then that of the sum itself,
not of a normal curve laid over it: where the worst case lies within the limits the chance is one, and where
every error is normal it is the normal curve's.

Source of the model: JCGM 100:2008 (Guide to the expression of uncertainty in measurement), 4.3.7 for limits
of which no more is known; JCGM 101:2008, propagation of distributions, for the sum.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.tolerances import EXACT

MODEL = (
    "errors given as limits lie anywhere between them with equal chance, standard uncertainties are normal, "
    "all are independent (JCGM 100:2008, 4.3.7)"
)
CELLS = 600
"""The number of steps of the table over which a sum is taken; its error is below 0.0001 (tested against exact sums)."""

TAIL = 8.0
"""The number of standard deviations beyond which a normal error is not followed: the chance is below 1e-15."""


class Chance(Row):
    """The chances of lying below, between and above two limits; they sum to 1."""

    below: float
    inside: float
    above: float


def chance_of(mean: float, evens: Sequence[float], standard: float, least: float, most: float) -> Chance:
    """Return the chance that mean + errors lies between two limits.

    Args:
        mean: the mean of the value, mm.
        evens: half widths of the errors that are stated as limits, mm; each >= 0.
        standard: standard deviation of all normal errors together (root of the sum of their squares), mm; >= 0.
        least, most: limits, mm; least <= most.

    Raises:
        RangeError: a width is negative, or the limits run backward.
    """
    if standard < 0 or any(h < 0 for h in evens) or least > most:
        raise RangeError("widths are not negative, and the least limit is not above the most")
    widest_first = sorted((h for h in evens if h > EXACT), reverse=True)
    below, upto = (min(max(c, 0.0), 1.0) for c in _cumulative(widest_first, standard, least - mean, most - mean))
    upto = max(below, upto)  # rounding
    return Chance(below, upto - below, 1 - upto)


def normal_cumulative(deviate: float) -> float:
    """Return the chance that a normal error lies below so many standard deviations."""
    return math.erfc(-deviate / math.sqrt(2)) / 2


def worst_case(halves: Sequence[float]) -> float:
    """Return the sum of the half widths: all errors at their worst on one side."""
    return math.fsum(halves)


def root_sum_square(halves: Sequence[float]) -> float:
    """Return the root of the sum of the squares: errors that partly make up for each other."""
    return math.hypot(*halves)


def _cumulative(evens: Sequence[float], standard: float, *points: float) -> tuple[float, ...]:
    """Return the chances that the sum lies at or below each point; evens go from the widest to the narrowest."""
    if not evens:
        return tuple(_of_normal(x, standard) for x in points)
    reach = math.fsum(evens) + TAIL * standard
    if len(evens) == 1:
        return tuple(_of_widest(x, evens[0], standard) for x in points)
    step = 2 * reach / CELLS
    table = [_of_widest(-reach + step * i, evens[0], standard) for i in range(CELLS + 1)]
    for half in evens[1:]:
        table = _smear(table, step, half)
    return tuple(_look_up(table, (x + reach) / step) for x in points)


def _of_normal(x: float, standard: float) -> float:
    if standard <= EXACT:
        return float(x >= 0)
    return normal_cumulative(x / standard)


def _of_widest(x: float, half: float, standard: float) -> float:
    """Return the exact probability for one even error and the normal one."""
    if standard <= EXACT * half or standard <= EXACT:
        return min(max((x + half) / (2 * half), 0.0), 1.0)
    if abs(x) > half + TAIL * standard:
        return float(x > 0)
    high, low = (x + half) / standard, (x - half) / standard
    return min(max(standard * (_integral(high) - _integral(low)) / (2 * half), 0.0), 1.0)


def _integral(z: float) -> float:
    """Return the integral of the normal cumulative curve from minus infinity to z."""
    return z * normal_cumulative(z) + math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _smear(table: Sequence[float], step: float, half: float) -> list[float]:
    """Return a cumulative curve after one more even error: its mean over x - half to x + half.

    The curve is taken as straight between the points of the table, as zero before it and as 1 after it.
    """
    area = [0.0]
    for low, high in pairwise(table):
        area.append(area[-1] + (low + high) / 2)
    cells, width = len(table) - 1, half / step

    def upto(place: float) -> float:
        if place <= 0:
            return 0.0
        if place >= cells:
            return area[cells] + place - cells
        at = int(place)
        part = place - at
        return area[at] + part * (table[at] + part * (table[at + 1] - table[at]) / 2)

    return [(upto(i + width) - upto(i - width)) / (2 * width) for i in range(cells + 1)]


def _look_up(table: Sequence[float], place: float) -> float:
    if place <= 0:
        return 0.0
    if place >= len(table) - 1:
        return 1.0
    at = int(place)
    return table[at] + (place - at) * (table[at + 1] - table[at])
