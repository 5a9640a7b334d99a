"""The mill's slides as the page counts them: each from a zero that the page names, in this machine's own divisions.

X runs along the work, Y across, Z upright; a travel is the cutter's: toward the tip, away from the operator, downward.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from cam.ground.figures import Figures, per
from cam.shop.machine import Slide
from posts.dials import decimals_for, divisions_of
from posts.pages.blocks import Dial
from posts.pages.measures import division_words
from posts.pages.readings import SlideReading, SlideScale
from posts.wording import number

Axis = Literal["X", "Y", "Z"]
UP: dict[Axis, str] = {"X": "toward the tip", "Y": "away from you", "Z": "going down"}
"""The travel with which a number that counts up rises."""


class Counter:
    """One slide, counted from a zero.

    Attributes:
        axis: which one. slide: None where the shop file does not describe it. scale: its readings; None where there is
            neither dial nor readout.
    """

    def __init__(self, axis: Axis, slide: Slide | None, travels: Iterable[float], figures: Figures) -> None:
        self.axis, self.slide, self.figures = axis, slide, figures
        self.scale: SlideScale | None = None
        if slide is not None and slide.reading != "none":
            marks = SlideScale(slide, 0.0, (), across=False)
            self.scale = SlideScale(slide, 0.0, [marks.mark(-t, "near").at for t in travels], across=False)

    @property
    def read(self) -> bool:
        """Tell whether there is a dial or a readout to set."""
        return self.scale is not None

    def text(self, travel: float, *, last: bool = False) -> str:
        """Return the reading at a travel from zero, "0+23"; the signed figure where there is nothing to read.

        Args:
            last: whether it is a last cut's, for which half a division is set by eye, as on the lathe.
        """
        return self._reading(self.scale, travel, last).text if self.scale else self.figure(travel)

    def landed(self, travel: float, *, last: bool = False) -> float:
        """Return the travel that the reading really gives, mm; that of the figure where there is nothing to read."""
        if self.scale:
            return -self._reading(self.scale, travel, last).at
        return float(self.figure(travel)) * per(self.figures.unit)

    def _reading(self, scale: SlideScale, travel: float, last: bool) -> SlideReading:
        """Return the nearest mark to a travel that is rounded to a nanometre, so that a sum and its parts are alike."""
        return (scale.finest if last else scale.mark)(-round(travel, 6), "near")

    def figure(self, travel: float) -> str:
        """Return a travel as fine as can be set, at least to a hundredth of a mm or a thou."""
        unit = self.figures.unit
        least = 2 if unit == "mm" else 3
        digits = decimals_for(self.slide, unit) if self.slide is not None and self.read else least + 1
        return number(travel / per(unit), max(digits, least), least)

    def zero(self, place: float) -> str:
        """Return a place in the program's axes at which a slide is set to zero, mm, as the page has it."""
        at, digits = place / per(self.figures.unit), 5 if self.figures.unit == "in" else 4
        return number(at, digits - (abs(at - round(at, digits - 1)) < 2 * 0.1**digits), 2)

    @property
    def kind(self) -> str:
        """Return what it is read on: "dial" or "reads"; "" for neither."""
        if self.slide is None or not self.read:
            return ""
        return "dial" if self.slide.reading == "dial" else "reads"

    def at(self, travel: float) -> str:
        """Return a reading after the name of its slide: "X dial 0+45"."""
        return f"{self.axis} {self.kind} {self.text(travel)}" if self.read else f"{self.axis} {self.text(travel)}"

    def dial(self, zero: float, how: str) -> Dial:
        """Say how the slide is read, for the page and its reader.

        Args:
            zero: the place in the program's axes at which it is set, mm. how: how that is done, the words after "Set it
                to 4+00".
        """
        known, place, slide = self.text(0.0), self.zero(zero), self.slide
        how = f"Set it to {known} {how}"
        if slide is None or not self.read:
            words = f"{self.axis} FIGURES  rises {UP[self.axis]}; {known} is {self.axis} {place}"
            return Dial(axis=self.axis, reading="none", words=words, how=(how,))
        rises = "rises" if slide.counts == "up" else "falls"
        division = division_words(slide, self.figures.unit)
        if slide.reading == "readout":
            way = f"{rises} {UP[self.axis]}"
            words = f"{self.axis} READS  a step is {division}, {way}; {known} is {self.axis} {place}"
            return Dial(axis=self.axis, reading="readout", words=words, how=(how,))
        words = (
            f"{self.axis} DIAL  a division is {division}, {divisions_of(slide)} a turn, {rises} {UP[self.axis]}; "
            f"{known} is {self.axis} {place}"
        )
        return Dial(axis=self.axis, reading="dial", words=words, how=(how,))

    @property
    def half_lost(self) -> str:
        """Say how far to go on when a middle is found between touches from both sides; "" where nothing is lost."""
        if self.slide is None or not self.slide.backlash > 0:
            return ""
        half = self.figures.fine(self.slide.backlash / 2)
        return f", come to as at the first touch, and on by {half} (half the backlash)"
