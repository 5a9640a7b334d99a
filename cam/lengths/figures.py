"""How lengths are written in the sentences of the measuring chain, in the unit that the part mostly uses."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.ground.units import decimals_of, show_fine, show_length


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

    def coarse(self, value: float) -> str:
        """Show a length, mm, to one decimal less than `show` does."""
        return show_length(value, self.unit, decimals_of(self.unit) - 1)

    def short(self, value: float) -> str:
        """Show a length, mm, as it is mostly written, without zeros at its end."""
        return show_fine(value, self.unit, trim=True)

    def between(self, low: float, high: float, word: str = "to") -> str:
        """Show two lengths, mm, with the unit once, or one alone where they are the same."""
        return self.show(low) if abs(high - low) < ROUNDING else f"{self.bare(low)} {word} {self.show(high)}"


MM = LengthFigures()
