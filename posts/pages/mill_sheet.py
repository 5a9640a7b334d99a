"""What the pages of the mill have in common: when the work is done, how it is held, its cautions and warnings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from cam.ground.figures import Figures, inward, per
from cam.ground.frozen import Row
from cam.ground.units import decimals_of, gauge_decimals, show_length
from cam.mill.settle import HoleJob
from posts.pages.blocks import BLANK, Block, Words
from posts.pages.script import blocks_of
from posts.wording import number, plain

if TYPE_CHECKING:
    from cam.lengths.solved import Solved
    from cam.mill.done import MillDone, MillWorkDone

WELL_GRIPPED = 1.5
"""The length that a collet should grip, in diameters. Common practice, no source."""
COME = "Come to every reading as to its zero, Z downward. Lock what does not move."
"""The words on settings that stand once on a page, at the first slide."""


class MillSheet(Row):
    """What one page of the mill is made from.

    Attributes:
        part, figures: the part, and how lengths are shown. job: all of the mill's work. work: the piece of work on this
            page.
        when: where in the job it belongs, "after setting 2, before the pivots are stoned".
    """

    part: Solved
    figures: Figures
    job: MillDone
    work: MillWorkDone
    when: str


def name_of(work: MillWorkDone) -> str:
    """Return what a page calls a piece of work: "hook hole", "the square"."""
    if isinstance(work.asked, HoleJob):
        return work.asked.asked.name
    return f"the {work.plan.milled.name}"  # type: ignore[union-attr]


class MillPage:
    """What the pages of a square and of a cross hole have in common."""

    template = ""

    def __init__(self, sheet: MillSheet) -> None:
        self.sheet, self.figures, self.mill = sheet, sheet.figures, sheet.job.mill
        self.given = sheet.work.asked

    def blocks(self) -> Iterator[Block]:
        """Yield the blocks in the order in which they are needed."""
        work, own = self.sheet.work, {"warnings": self.warnings(), **self.own_blocks()}
        return blocks_of(
            self.template, own, page=self, part=self.sheet.part, figures=self.figures, mill=self.mill, task=work.task,
            plan=work.plan, asked=work.asked.asked,
        )  # fmt: skip

    def own_blocks(self) -> dict[str, Iterable[Block]]:
        """Return the blocks that are no sentences, by their names in the template."""
        raise NotImplementedError

    def fine(self, mm: float) -> str:
        """Return a size as fine as a micrometer reads, with no fewer decimals than the pages have."""
        return number(mm / per(self.figures.unit), decimals_of(self.figures.unit), self.figures.x)

    def limits(self, least: float, most: float) -> str:
        """Say limits, mm, in words, as fine as the size that is aimed at and rounded inward: "4.502 to 4.522"."""
        unit = self.figures.unit
        return " to ".join(map(self.fine, inward(least, most, unit, decimals_of(unit))))

    def set_up(self, mm: float, *, along: bool = False) -> str:
        """Return a length that is set up on the mill, in the mill's unit, which is named where the page has another.

        Args:
            along: whether it is one along the axis, set by a rule.
        """
        if self.mill.units == self.figures.unit:
            return self.figures.place(mm) if along else self.fine(mm)
        unit = self.mill.units
        return show_length(mm, unit, gauge_decimals(unit) if along else decimals_of(unit), trim=True)

    @property
    def earlier(self) -> list[str]:
        """Return what the mill does before this work, by name."""
        names = [w.name for w in self.sheet.job.works]
        return [plain(name_of(w)) for w in self.sheet.job.works[: names.index(self.sheet.work.name)]]

    @property
    def waits(self) -> bool:
        """Tell whether the work waits for a setting that is not planned yet."""
        return bool(self.sheet.part.to_be_measured) and "setting 2" in self.sheet.when

    @property
    def gripped_ends(self) -> list[str]:
        """Return the ends that are turned while the carrier grips what is milled here."""
        holding, section = self.sheet.part.holding, self.given.asked.section
        ends = (("A", holding.end_a), ("B", holding.end_b))
        return [end for end, held in ends if held is not None and held.grip == section and not self.waits]

    @property
    def away(self) -> str:
        """Return the end that lies in the collet."""
        return "B" if self.given.tip == "A" else "A"

    @property
    def gripped(self) -> float:
        """Return the diameter on which the collet grips, mm."""
        first = self.sheet.work.task.sections[0]
        return 2 * first.top if first.name == self.given.asked.hold.section else self.given.held

    def borne(self) -> str:
        """Say on what length the collet bears, where that is less than what is in it or than holds a cut."""
        length = float(self.given.asked.hold.length)
        bears = min(length, float(self.mill.block.grip_length))
        diameters, weak = bears / self.gripped, ""
        if bears < WELL_GRIPPED * self.gripped - 1e-9:
            weak = f" ({number(diameters, 2)} diameters; 1.5 hold a cut, common practice: cut lightly, or grip more)"
        return f", borne on {self.figures.place(bears)}{weak}" if weak or bears < length - 1e-9 else ""

    @property
    def jaws(self) -> str:
        """Say how deep the jaws' tops lie; "" where nobody has measured that."""
        below = self.mill.jaws_below
        return "" if math.isnan(below) else f", jaws' tops {self.figures.place(below)} below the work's axis"

    def closest(self) -> str:
        """Say how close the program comes to what it must not touch; "" where nothing moves."""
        near = self.sheet.work.simulation.closest
        if near is None:
            return ""
        distance = show_length(near.distance, self.figures.unit, self.figures.z)
        line = self.sheet.work.simulation.closest_line
        return f"Closest by {self.sheet.work.file}: {distance}, {near.body} to {plain(near.obstacle)}, line {line}."

    def warnings(self) -> Iterator[Words]:
        """Yield what was worth a warning when the work was planned."""
        for w in self.sheet.work.plan.warnings:
            yield Words(words=f"WARNING: {plain('; '.join(filter(None, (w.what, w.given, w.fix))))}", mark="!")


def blanks(count: int, sign: str) -> str:
    """Return so many places to write in, with a sign between them."""
    return f" {sign} ".join([BLANK] * count)
