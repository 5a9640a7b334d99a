"""How lengths are written in the sentences of the measuring chain, in the unit that the part mostly uses."""

from __future__ import annotations

import math
from typing import Literal

from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH, decimals_of, show_fine, show_length


class LengthFigures(Row):
    """How lengths are said.

    Attributes:
        unit: "mm", to 3 decimals, or "in", to 4.
    """

    unit: Literal["mm", "in"] = "mm"

    def show(self, value: float) -> str:
        """Show a length, mm, with its unit."""
        return show_fine(value, self.unit)

    def bare(self, value: float) -> str:
        """Show a length, mm, without its unit, for pages that say it once."""
        return self.show(value).removesuffix(f" {self.unit}")

    def at_least(self, value: float) -> str:
        """Show the next length, mm, to one decimal less than `show` does, that is not smaller."""
        decimals = decimals_of(self.unit) - 1
        step = 10**-decimals * (MM_PER_INCH if self.unit == "in" else 1.0)
        return show_length(math.ceil(value / step - ROUNDING) * step, self.unit, decimals)

    def short(self, value: float) -> str:
        """Show a length, mm, as it is mostly written, without zeros at its end."""
        return show_fine(value, self.unit, trim=True)

    def between(self, low: float, high: float, word: str = "to") -> str:
        """Show two lengths, mm, with the unit once, or one alone where they are the same."""
        return self.show(low) if abs(high - low) < ROUNDING else f"{self.bare(low)} {word} {self.show(high)}"


MM = LengthFigures()
