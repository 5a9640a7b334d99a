"""The cutting summary: what to do at the bench and the lathe, for someone standing there with oily hands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from cam.plan.model import Pass, Plan
from cam.setting.model import Setting
from posts.layout import WIDTH, paginate
from posts.pages import Ruler, listed
from posts.pages.after import cut_off
from posts.pages.job import figures_of, job_pages, milled_of
from posts.pages.text import section_of

if TYPE_CHECKING:
    from cam.mill.done import MillDone

__all__ = ["milled_of", "summary_sections", "write_summary"]

HOW = {
    "file": "file: smooth cut, safe edge to the shoulder, a tight handle on the file. Keep clear of carrier and jaws: "
    "cover them, do not reach over them.",
    "stone": "stone: a fine slip and oil, never still. Measure at the root and at the tip; the tip may not be thicker.",
    "burnish": "burnish: burnisher cross-grained on emery, oil. Laid flat on the pivot it shows at once whether it is "
    "a true cylinder.",
}
IN_LINE = (
    "Measure it at both its ends too. Thicker toward the headstock: the tailstock must go away from the tool. Thinner "
    "there: toward it. Thickest in the middle: it springs, take lighter cuts."
)
"""Source: F. D. Jones, Turning and Boring (1914), on aligning centres for parallel turning; recalled."""
LONG_ENOUGH = 12.0
"""A turned length, mm, that shows by its two ends whether the centres are in line; common practice, no source."""
EMERY = "emery, if any: on a stick, or a block in the tool post. Never a strip held or wrapped by hand."
"""Source: SafeWork NSW (a state regulator), safety alert on emery cloth on metal-working lathes, by memory."""


def write_summary(
    plan: Plan, *, closest: Mapping[int, str] | None = None, width: int = WIDTH, mill: MillDone | None = None,
    when: Mapping[str, str] | None = None,
) -> str:  # fmt: skip
    """The cutting summary as plain text, ASCII, pages separated by form feeds.

    Args:
        closest: for each setting's number, the closest that its program comes to anything, in words.
        width: columns, LEAST_WIDTH to MOST_WIDTH; nothing is left out at any.
        mill: what the mill does to the part; None for nothing. when: by the names of its works, where each belongs.
    """
    return paginate(summary_sections(plan, closest=closest, width=width, mill=mill, when=when), width)


def summary_sections(
    plan: Plan, *, closest: Mapping[int, str] | None = None, width: int = WIDTH, mill: MillDone | None = None,
    when: Mapping[str, str] | None = None,
) -> list[tuple[str, str]]:  # fmt: skip
    """Title and text of each page of the summary, ready to be broken into pages of paper; see posts.layout."""
    pages = job_pages(plan, closest=closest, mill=mill, when=when, width=width)
    return [section_of(page, plan.part, figures_of(plan), width) for page in pages]


def reach(cut: Pass) -> float:
    """Length along the axis that a pass turns, mm."""
    ends = [z for piece in cut.path for z in (piece.start.z, piece.end.z)]
    return max(ends) - min(ends)


def held_words(setting: Setting, ruler: Ruler) -> list[tuple[str, str]]:
    """Who holds what, each with its label, the headstock first."""
    if setting.chuck is not None:
        out = ruler.size(setting.stock_end_z - setting.grip_near)
        inside = ruler.about(setting.chuck.grip_length)
        words = f"{setting.grip}, at least {inside} inside; the bar stands out {out} from its front."
        return [("HELD", words)]
    other = "A" if setting.end == "B" else "B"
    assert setting.carrier is not None
    packing = f", {_packing(setting, ruler)} under its screw" if setting.protection else ""
    rows = [
        (
            "LEFT",
            f"{other} end on the headstock centre, driven by the {setting.carrier.name} on {setting.grip} "
            f"({ruler.size(setting.grip_diameter)} diameter){packing}; the tail in the driver, neither bottoming nor "
            "lifting the work.",
        )
    ]
    if setting.tail_centre is not None:
        grease = "" if setting.tail_centre.kind == "revolving" else " Grease in the hole."
        flat = ", its flat toward the tool" if setting.tail_centre.kind == "half" else ""
        words = (
            f"{setting.end} end on the {setting.tail_centre.name}{flat}, just tight enough that nothing shakes "
            f"endways, barrel short and locked.{grease}"
        )
        rows.append(("RIGHT", words))
    return rows


def _packing(setting: Setting, ruler: Ruler) -> str:
    return f"{ruler.about(setting.protection)} of soft copper or aluminium, or a split brass sleeve,"


def later_when(plan: Plan, milled: Sequence[str]) -> str:
    """When file, stone and burnisher follow.

    Args:
        milled: what is cut before, as milled_of has it.
    """
    if milled:
        cut = f"{listed(milled)} {'are' if len(milled) > 1 else 'is'} cut"
        when = f"Leave that until {cut}, then do it with the work back between the same centres"
    elif plan.part.holding.method == "between centres":
        when = "Do that now, between the same centres"
    elif plan.part.holding.part_off == "blade":
        when = "Do that before the last pass parts it off, in the same hold"
    else:
        when = "Do that now, in the same hold"
    return f"{when}, at the slowest speed."


def how_words(steps: set[str]) -> list[str]:
    """How the later steps are done, with their cautions."""
    words = [HOW[step] for step in ("file", "stone", "burnish") if step in steps]
    return [*words, EMERY] if steps & {"file", "stone"} else words


def next_words(plan: Plan, index: int, ruler: Ruler, milled: Sequence[str]) -> Iterator[str]:
    """What follows this setting."""
    if index + 1 < len(plan.settings):
        then = plan.settings[index + 1].setting
        if then.carrier is not None:
            packing = f", with {_packing(then, ruler)} under its screw" if then.protection else ""
            yield (
                f"TURN END FOR END: {then.carrier.name} now on {then.grip}{packing}; the {then.end} end goes to the "
                "tailstock. Wipe both centres and both holes first."
            )
        return
    if plan.part.to_be_measured:
        yield f"STOP HERE: {listed(plan.part.to_be_measured)} is to be measured; see the last page, MEASURE NEXT."
        return
    if milled and plan.part.milled is not None:
        yield f"NOW THE MILL: {listed(milled)}, by the pages that follow."
    if plan.part.screwed is not None:
        from posts.screw_pages import next_words  # noqa: PLC0415 - only for parts with a thread

        yield next_words(plan)
    elif plan.part.holding.part_off == "blade":
        length = ruler.size(plan.part.length)
        yield f"The last pass has parted it off, {length} from the finished end: dress that end of its pip."
    elif plan.part.holding.part_off == "saw":
        length = ruler.size(plan.part.length)
        yield f"Saw it off last, a little more than {length} from the finished end, and dress that end to length."
    elif plan.part.holding.method != "between centres":
        yield f"Saw or part it off last, {ruler.size(plan.part.length)} from the finished end, and dress that end."
    for words in cut_off(plan, figures_of(plan)):
        yield words[0].upper() + words[1:] + "."
    yield "Wash off grit and oil before any pivot meets its hole."
