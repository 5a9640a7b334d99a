"""The mill's slides as the page counts them: each from a zero that the page names, in this machine's own divisions.

X runs along the work, Y across, Z upright; a travel is the cutter's: toward the tip, away from the operator, downward.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from cam.shop.model import Slide
from posts.dials import decimals_for, dial_setting, turns_wanted, z_at
from posts.pages import Ruler, division_words, turns_words
from posts.wording import number

Axis = Literal["x", "y", "z"]
UP: dict[Axis, str] = {
    "x": "toward the tip of the work, to your right",
    "y": "as the cutter goes away from you",
    "z": "as the cutter goes down",
}
"""What a number that counts up rises with."""


class Counter:
    """One slide, counted from a zero.

    Attributes:
        axis: which. slide: None where the shop file does not describe it. turns: that its zero is called, so that no
            reading on the page is below nothing.
    """

    def __init__(self, axis: Axis, slide: Slide | None, travels: Iterable[float], ruler: Ruler) -> None:
        self.axis, self.slide, self.ruler = axis, slide, ruler
        self.turns = turns_wanted(slide, travels) if slide is not None else 0

    @property
    def read(self) -> bool:
        """Whether there is a dial or a readout to set."""
        return self.slide is not None and self.slide.reading != "none"

    def text(self, travel: float) -> str:
        """The reading at a travel from zero, "0+23"; "" where there is nothing to read."""
        return dial_setting(self.slide, travel, self.turns).text if self.slide is not None else ""

    def landed(self, travel: float) -> float:
        """The travel that the reading really is, mm; the travel itself where there is nothing to read."""
        if self.slide is None or not self.read:
            return travel
        return -z_at(self.slide, dial_setting(self.slide, travel, self.turns), self.turns)

    def at(self, travel: float) -> str:
        """A travel without its sign, with its reading: "19.91 (dial 0+45)"."""
        return f"{self.figure(abs(travel))}{self.shown(travel)}"

    def shown(self, travel: float) -> str:
        """A reading to stand behind its figure: " (dial 0+45)"; "" where there is nothing to read."""
        return f" ({self.kind} {self.text(travel)})" if self.read else ""

    def figure(self, travel: float) -> str:
        """A travel as fine as can be set, at least to a hundredth of a mm or a thou."""
        least = 2 if self.ruler.unit == "mm" else 3
        digits = decimals_for(self.slide, self.ruler.unit) if self.slide is not None else least + 1
        return number(travel / self.ruler.per, max(digits, least), least)

    @property
    def kind(self) -> str:
        """What it is read on: "dial" or "readout"; "" for neither."""
        return self.slide.reading if self.slide is not None and self.read else ""

    @property
    def zero(self) -> str:
        """What to set at its zero: "0", or "0 (called 13 turns)"."""
        return f"0 (called {turns_words(self.turns)})" if self.turns else "0"

    @property
    def half_lost(self) -> str:
        """What to go on by when a middle is found between touches from both sides; "" where nothing is lost."""
        if self.slide is None or not self.slide.backlash > 0:
            return ""
        half = self.ruler.size(self.slide.backlash / 2)
        return f" Come to it the same way as to the first touch, and go on by {half}, half the backlash."

    def words(self) -> str:
        """How it reads, for the list of dials."""
        if self.slide is None:
            return "not described in the shop file: count the figures on it by its own marks"
        if not self.read:
            return "no dial: use stops and slips by the figures"
        rises = "rises" if self.slide.counts == "up" else "falls"
        lost = self.ruler.size(float(self.slide.backlash))
        return f"{division_words(self.slide, '')}; the number {rises} {UP[self.axis]}; backlash {lost}."
