"""What the pages of the mill have in common: when the work is done, how it is held, its cautions and warnings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.ground.units import show_length
from cam.mill.settle import HoleJob
from posts.pages.blocks import BLANK, Block, Caution, Fact, Words
from posts.pages.lists import listed
from posts.wording import number, plain

if TYPE_CHECKING:
    from cam.lengths.solved import Solved
    from cam.mill.done import MillDone, MillWorkDone

WELL_GRIPPED = 1.5
"""The length that a collet should grip, in diameters. Common practice, no source."""
COME = "Every reading is come to as its zero was, Z downward. Lock what does not move."
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


def when_blocks(sheet: MillSheet) -> Iterator[Block]:
    """Say where in the job the work belongs, and what must not be done before it."""
    words = sheet.when or "after turning"
    more = ": no knock must meet a finished pivot" if "before" in words else ""
    said = [f"{words[0].upper()}{words[1:]}{more}; what goes into the collet is turned and free of burrs."]
    names = [w.name for w in sheet.job.works]
    if before := [plain(name_of(w)) for w in sheet.job.works[: names.index(sheet.work.name)]]:
        said.append(f"After {listed(before)}.")
    yield Fact(label="WHEN", words=" ".join(said))
    if sheet.part.to_be_measured and "setting 2" in sheet.when:
        yield Caution(words="Setting 2 is not planned yet, see MEASURE NEXT: do not cut this before it is made.")
        return
    ends = (("A", sheet.part.holding.end_a), ("B", sheet.part.holding.end_b))
    section = sheet.work.asked.asked.section
    for end in (end for end, held in ends if held is not None and held.grip == section):
        words = f"Never sooner: the carrier grips the round of {plain(section)} while the {end} end is turned."
        yield Caution(words=words)


def held_words(sheet: MillSheet) -> str:
    """Say what the collet grips, and what stands out of it."""
    asked, mill, figures = sheet.work.asked, sheet.job.mill, sheet.figures
    hold, sections = asked.asked.hold, sheet.work.task.sections
    diameter = 2 * sections[0].top if sections[0].name == hold.section else asked.held
    bears = min(float(hold.length), float(mill.block.grip_length))
    away = "B" if asked.tip == "A" else "A"
    weak = ""
    if bears < WELL_GRIPPED * diameter - 1e-9:
        weak = f" ({number(bears / diameter, 2)} diameters; 1.5 hold a cut, common practice: cut lightly, or grip more)"
    borne = f", borne on {figures.place(bears)}{weak}" if weak or bears < float(hold.length) - 1e-9 else ""
    return (
        f"{plain(mill.block.name)}, collet on {plain(hold.section)}, {figures.size(diameter)} round, "
        f"{figures.place(hold.length)} of it in behind the nut's face from its end toward the {away} end{borne}; "
        f"{figures.place(sections[-1].end - sections[0].start)} stands out, tip to your "
        "right. Nut tight; never on a pivot."
    )


def clear_words(sheet: MillSheet) -> str:
    """Say how close the program comes to what it must not touch; "" where nothing moves."""
    simulation = sheet.work.simulation
    if simulation.closest is None:
        return ""
    near = simulation.closest
    distance = show_length(near.distance, sheet.figures.unit, sheet.figures.z)
    met = f"{near.body} to {plain(near.obstacle)}, line {simulation.closest_line}"
    return f"Closest by {sheet.work.file}: {distance}, {met}."


def warnings_of(sheet: MillSheet) -> Iterator[Words]:
    """Yield what was worth a warning when the work was planned."""
    for w in sheet.work.plan.warnings:
        parts = [w.what, *([f"{w.given}"] if w.given else []), *([w.fix] if w.fix else [])]
        yield Words(words=f"WARNING: {plain('; '.join(parts))}", mark="!")


def blanks(count: int, sign: str) -> str:
    """Return so many places to write in, with a sign between them."""
    return f" {sign} ".join([BLANK] * count)

