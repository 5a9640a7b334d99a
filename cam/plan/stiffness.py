"""How far the work springs under the tool: Euler-Bernoulli, piecewise exact, for the diameters at that time.

Ideal supports, no shear, rigid centres: a lower bound on what a real lathe gives.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.ground.problem import RangeError

Piece = tuple[float, float, float]
"""A piece of a bar: from z, to z (z rising), diameter, mm."""


def second_moment(diameter: float) -> float:
    """Return the second moment of area of a round bar, pi d^4 / 64, mm4 (diameter mm, > 0)."""
    return math.pi * diameter**4 / 64


def spring_between_centres(pieces: Sequence[Piece], at: float, force: float, modulus: float) -> float:
    """Return the deflection under the load of a stepped bar held on a centre at each end, mm.

    Args:
        pieces: contiguous, in rising z; the ends are the supports.
        at: z of the load, mm, within the pieces.
        force: radial, N.
        modulus: Young's modulus, N/mm2.
    Raises:
        RangeError: the load is not on the bar.
    Source: unit-load integral of M^2 / (E I); for a plain bar it gives F a^2 b^2 / (3 E I L).
    """
    low, high = pieces[0][0], pieces[-1][1]
    if not low <= at <= high:
        raise RangeError(f"the load at {at} mm is not between the centres at {low} and {high} mm")
    length = high - low
    total = 0.0
    for start, end, diameter in pieces:
        stiff = modulus * second_moment(diameter)
        left = min(end, at)
        if left > start:
            total += ((high - at) / length) ** 2 * ((left - low) ** 3 - (start - low) ** 3) / 3 / stiff
        right = max(start, at)
        if end > right:
            total += ((at - low) / length) ** 2 * ((high - right) ** 3 - (high - end) ** 3) / 3 / stiff
    return force * total


def spring_of_overhang(pieces: Sequence[Piece], at: float, force: float, modulus: float) -> float:
    """Return the deflection under the load of a stepped bar clamped at its first piece's start, mm.

    Args and errors as for spring_between_centres.
    Source: unit-load integral; for a plain bar F a^3 / (3 E I).
    """
    low, high = pieces[0][0], pieces[-1][1]
    if not low <= at <= high:
        raise RangeError(f"the load at {at} mm is not on the overhang from {low} to {high} mm")
    total = 0.0
    for start, end, diameter in pieces:
        if start < at:
            far, near = at - start, at - min(end, at)
            total += (far**3 - near**3) / 3 / (modulus * second_moment(diameter))
    return force * total
