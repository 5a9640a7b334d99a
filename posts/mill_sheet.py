"""What every page of the mill's work is made from: the work done, the hold, the slides. Words stand in templates."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

from cam.frozen import Row
from cam.mill.settle import HoleJob
from cam.setting.words import say_time
from cam.units import show_length
from posts.environment import find_template
from posts.layout import BREAK, END, HEAD, WIDTH
from posts.mill_dials import Counter
from posts.pages import Ruler, listed
from posts.wording import number

if TYPE_CHECKING:
    from cam.mill.done import MillDone, MillWorkDone
    from cam.mill.part_tables import Hold
    from cam.part.model import Part

BLANK = "________"


class Sheet(Row):
    """What one page is made from.

    Attributes:
        part, ruler: whose page, lengths as shown. job: all of the mill's work. work: this one.
        when: where in the job that belongs, "after setting 2, before the pivots are stoned". width: columns.
    """

    part: Part
    ruler: Ruler
    job: MillDone
    work: MillWorkDone
    when: str
    width: int = WIDTH


def name_of(work: MillWorkDone) -> str:
    """What a page calls a piece of work: "hook hole", "the square"."""
    if isinstance(work.asked, HoleJob):
        return work.asked.asked.name
    return f"the {work.plan.milled.name}"  # type: ignore[union-attr]


class Page:
    """The figures that each page of the mill's work has.

    Attributes:
        sheet, part, ruler, job: as given. mill: the machine. file: of the program.
    """

    template = ""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.part, self.ruler, self.job, self.mill = sheet.part, sheet.ruler, sheet.job, sheet.job.mill
        self.file = sheet.work.file
        self.size = sheet.ruler.size

    def text(self) -> str:
        """The page, to be broken into pages."""
        context = {"p": self, "blank": BLANK, "listed": listed, "break": BREAK, "head": HEAD, "end": END}
        return find_template(self.template).render(context)

    def told(self, mm: float) -> str:
        """A length as the program has it, its unit written where it is not the page's."""
        unit = self.mill.units
        text = number(mm / (25.4 if unit == "in" else 1.0), 4 if unit == "in" else 3, 2)
        return text if unit == self.ruler.unit else f"{text} {unit}"

    def small(self, mm: float) -> str:
        """A length that is less than a page shows otherwise."""
        return number(mm / self.ruler.per, 6 if self.ruler.unit == "in" else 5, 1)

    def ratio(self, value: float) -> str:
        """A number without unit, to two decimals."""
        return number(value, 2)

    # When

    @property
    def when(self) -> str:
        """Where in the job it belongs, as the beginning of a sentence."""
        words = self.sheet.when or "after turning"
        return words[0].upper() + words[1:]

    @property
    def between(self) -> bool:
        """Whether it is turned between centres."""
        return self.part.holding.method == "between centres"

    @property
    def waits(self) -> bool:
        """Whether it belongs after setting 2, which is not planned yet."""
        return bool(self.part.to_be_measured) and "setting 2" in self.sheet.when

    @property
    def carried(self) -> list[str]:
        """Ends that are turned while the carrier grips this section's round."""
        ends = (("A", self.part.holding.end_a), ("B", self.part.holding.end_b))
        section = self.sheet.work.asked.asked.section
        return [end for end, held in ends if held is not None and held.grip == section]

    @property
    def earlier(self) -> list[str]:
        """What the mill does before."""
        names = [w.name for w in self.job.works]
        return [name_of(w) for w in self.job.works[: names.index(self.sheet.work.name)]]

    # Hold

    @property
    def hold(self) -> Hold:
        """What the collet grips."""
        return self.sheet.work.asked.asked.hold

    @cached_property
    def held_diameter(self) -> float:
        """Of what the collet grips, as the mill gets it, mm."""
        first = self.sheet.work.task.sections[0]
        if first.name == self.hold.section:
            return 2 * first.top
        return self.sheet.work.asked.held

    @property
    def gripped(self) -> float:
        """Length that the collet bears on, mm."""
        return min(float(self.hold.length), float(self.mill.block.grip_length))

    @property
    def away(self) -> str:
        """The end of the part that goes into the collet."""
        return "B" if self.sheet.work.asked.tip == "A" else "A"

    @property
    def out(self) -> float:
        """How far the work stands out of the nut, mm."""
        sections = self.sheet.work.task.sections
        return sections[-1].end - sections[0].start

    @property
    def jaws(self) -> bool:
        """Whether the shop file describes a vice."""
        return not math.isnan(self.mill.jaws_below)

    # Dials, clearance, time

    @property
    def cutting(self) -> str:
        """How long the program cuts."""
        return say_time(self.sheet.work.simulation.cutting_time)

    @property
    def counters(self) -> tuple[Counter, ...]:
        """The slides, each counted from its zero."""
        raise NotImplementedError

    @property
    def any_dial(self) -> bool:
        """Whether any slide has a dial."""
        return any(c.kind == "dial" for c in self.counters)

    @property
    def closest(self) -> str:
        """The closest that the program comes to what it must not touch; "" where nothing moves."""
        near = self.sheet.work.simulation.closest
        if near is None:
            return ""
        distance = show_length(near.distance, self.ruler.unit, self.ruler.fine)
        return f"{distance}, {near.body} to {near.obstacle}, {self.file}:{self.sheet.work.simulation.closest_line}"
