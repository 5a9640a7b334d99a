"""The one rule, for pages, messages and pictures, of how a length is rounded and with how many decimals it is printed.

The number of decimals follows the unit and what has to be told apart: 2 of a mm and 3 of an inch, and one more where
a size, a limit or a step of the dial does not fall on those, or where limits stand closer than two of them. Nobody
measures more finely here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, decimals_of, show_number

Unit = Literal["mm", "in"]
COARSE = {"mm": 2, "in": 3}
"""The decimals that every size has, by unit."""
LEAST = 0.001
"""A length, mm, below which nobody in a small shop can measure."""


def decimals_for(unit: Unit, sizes: Iterable[float], widths: Iterable[float] = ()) -> int:
    """Return the number of decimals that prints all these sizes exactly, and their limits apart.

    Args:
        sizes: nominal sizes, limits and steps of a dial, mm.
        widths: the widths of pairs of limits, mm.
    """
    step = per(unit) * 10.0 ** -COARSE[unit]
    if any(width < 2 * step - 1e-9 for width in widths):
        return decimals_of(unit)
    return COARSE[unit] if all(_whole(size / step) for size in sizes) else decimals_of(unit)


def per(unit: str) -> float:
    """Return how many mm one of the unit is."""
    return MM_PER_INCH if unit == "in" else 1.0


def show_inward(least: float, most: float, unit: Unit, decimals: int) -> tuple[str, str]:
    """Show both limits (mm) in figures, rounded inward."""
    low, high = (v / per(unit) for v in inward(least, most, unit, decimals))
    return show_number(low, decimals), show_number(high, decimals)


def inward(least: float, most: float, unit: Unit, decimals: int) -> tuple[float, float]:
    """Return both limits, mm, rounded inward where they do not fall on a decimal of the unit.

    Where nothing would be left between them they are rounded to the nearest.
    """
    digit = 10.0**-decimals * per(unit)
    low, high = math.ceil(least / digit - 1e-6), math.floor(most / digit + 1e-6)
    if low > high:
        low, high = round(least / digit), round(most / digit)
    return low * digit, high * digit


def _whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-6


def say_small(mm: float) -> str:
    """Say a small length, mm, in words, in whole micrometres up to a tenth of a millimetre: "nothing", "7 um"."""
    if abs(mm) < LEAST:
        return "nothing"
    return f"{show_number(1000 * mm, 0)} um" if abs(mm) < 0.1 else f"{show_number(mm, 3)} mm"


def estimated(amount: float) -> str:
    """Say a small length, mm, in micrometres, as finely as an estimate deserves."""
    return f"{show_number(1000 * amount, 1 if amount < 0.01 else 0)} um"


def say_metal(gouge: float, uncut: float) -> str:
    """Say how the metal that was cut compares with the metal wanted, mm: "nothing too deep or uncut, within 1 um"."""
    if max(gouge, uncut) < LEAST:
        return "nothing too deep or uncut, within 1 um"
    return f"{say_small(gouge)} too deep, {say_small(uncut)} uncut"


class Figures(Row):
    """How the pages of a job print lengths.

    Attributes:
        unit: the unit of every figure.
        x: decimals of diameters.
        z: decimals of places and lengths along the axis.
    """

    unit: Unit
    x: int
    z: int

    def size(self, diameter: float) -> str:
        """Show a diameter that is given in mm."""
        return show_number(diameter / per(self.unit), self.x)

    def place(self, z: float) -> str:
        """Show a place or a length along the axis that is given in mm, with its sign."""
        return show_number(z / per(self.unit), self.z)

    def limits(self, least: float, most: float) -> tuple[str, str]:
        """Show the limits of a diameter, mm, rounded inward."""
        return show_inward(least, most, self.unit, self.x)

    def limits_along(self, least: float, most: float) -> tuple[str, str]:
        """Show the limits of a length, mm, rounded inward."""
        return show_inward(least, most, self.unit, self.z)

    def inside(self, least: float, most: float, *, along: bool = False) -> tuple[float, float]:
        """Return limits as they are printed, mm: those of a diameter, or those along the axis."""
        return inward(least, most, self.unit, self.z if along else self.x)

    def digit(self, *, along: bool = False) -> float:
        """Return what one in the last decimal of a diameter, or of a place along the axis, is worth, mm."""
        return float(10.0 ** -(self.z if along else self.x) * per(self.unit))

    def about(self, mm: float) -> str:
        """Show a length, mm, that need not be exact."""
        return show_number(mm / per(self.unit), 2 if self.unit == "in" else 1, trim=True)

    def fine(self, mm: float) -> str:
        """Show a small length, mm, as finely as a micrometer reads, without zeros at its end: a nose, an edge."""
        return show_number(mm / per(self.unit), decimals_of(self.unit), trim=True)

    def feed(self, per_turn: float) -> str:
        """Show a feed per revolution, given in mm, with its unit."""
        if self.unit == "in":
            return f"{show_number(1000 * per_turn / MM_PER_INCH, 1, trim=True)} thou a turn"
        return f"{show_number(per_turn, 3, trim=True)} mm a turn"
