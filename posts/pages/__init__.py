"""Lengths as the notebook shows them; all other pages: posts.pages.figures."""

from __future__ import annotations

from cam.part.model import Part, Section
from cam.units import MM_PER_INCH
from posts.pages.figures import units_written
from posts.pages.lists import listed
from posts.wording import number

__all__ = ["SAME", "Ruler", "limits_of", "listed"]

SAME = 0.0005
"""Places nearer than this are one, mm."""


class Ruler:
    """Lengths as the page shows them.

    Attributes:
        unit: "mm" or "in", as the part file mostly writes.
        mixed: whether the part file writes both mm and inches, so that what is measured is said in both.
    """

    def __init__(self, part: Part) -> None:
        self.unit = part.unit
        self.per = MM_PER_INCH if part.unit == "in" else 1.0
        self.fine = 4 if part.unit == "in" else 3
        self.mixed = len(units_written(part)) > 1

    def size(self, mm: float, least: int | None = None) -> str:
        """A length as fine as a micrometer reads it: 3 decimals of a mm, 4 of an inch, zeros cut to 2 or 3."""
        return number(mm / self.per, self.fine, self.fine - 1 if least is None else least)

    def both(self, mm: float) -> str:
        """The same, with the other unit's figure behind it for who writes both."""
        if not self.mixed:
            return self.size(mm)
        other = f"{number(mm / MM_PER_INCH, 4, 3)} in" if self.unit == "mm" else f"{number(mm, 3, 2)} mm"
        return f"{self.size(mm)} [{other}]"

    def about(self, mm: float) -> str:
        """A length that need not be exact."""
        return number(mm / self.per, 2 if self.unit == "in" else 1, 0)

    def limits(self, least: float, most: float) -> str:
        """Limits, rounded inward where they do not fall on a decimal."""
        step = self.per * 10.0**-self.fine
        low = -(-round(least / step, 6) // 1) * step
        high = round(most / step, 6) // 1 * step
        if high < low:
            low, high = least, most
        return f"{self.size(low)} to {self.size(high)}"


def limits_of(section: Section, ruler: Ruler) -> str:
    """Limits of a section's diameter; "" where there are none or it tapers."""
    if section.tolerance is None or section.diameter_a != section.diameter_b:
        return ""
    size = section.diameter_a
    return ruler.limits(size + section.tolerance.lower, size + section.tolerance.upper)
