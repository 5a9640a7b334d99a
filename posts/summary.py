"""The cutting summary: what to do at the bench and the lathe, for someone standing there with oily hands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cam.plan.model import Pass, Plan, SettingPlan
from cam.setting.model import CentreHole, Setting
from cam.version import VERSION
from posts.environment import find_template
from posts.layout import BREAK, END, HEAD, WIDTH, paginate, table
from posts.pages import Ruler, listed, section_rows, tools_of, written
from posts.pages.figures import figures_for
from posts.pages.setting import Said, setting_page
from posts.pages.text import section_of
from posts.wording import plain

if TYPE_CHECKING:
    from cam.mill.done import MillDone

BEGIN = "\f"

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
    """The cutting summary as plain text, ASCII, pages of A4 length separated by form feeds.

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
    """Title and text of each section of the summary, ready to be broken into pages; see posts.layout."""
    ruler = Ruler(plan.part, plan.shop.lathe)
    near = closest or {}
    milled = milled_of(plan, mill)
    figures = figures_for(plan.part, plan.shop.lathe)
    pages = [
        setting_page(plan, n, figures, Said(near.get(p.setting.number, ""), milled))
        for n, p in enumerate(plan.settings)
    ]
    numbers = {s.name: n for n, s in enumerate(plan.part.sections, start=1)}
    context = _bench(plan, ruler, width) | {
        "milled": milled, "mill_unplanned": mill.unplanned if mill is not None else (),
        "begin": BEGIN, "break": BREAK, "head": HEAD, "end": END, "listed": listed, "ruler": ruler,
        "plan": plan, "part": plan.part, "shop": plan.shop, "version": VERSION,
        "settings": [(p.setting, [numbers[t.section.name] for t in p.setting.turned]) for p in plan.settings],
        "stepper": plan.shop.lathe.control.kind == "stepper",
    }  # fmt: skip
    text = find_template("summary.txt.j2").render(context)
    sections = [(title, body) for title, _, body in (piece.partition("\n") for piece in text.split(BEGIN)[1:])]
    sections += [section_of(page, plan.part, figures, width) for page in pages]
    if mill is not None:
        from posts.mill_pages import mill_pages  # noqa: PLC0415 - only for parts that the mill works on

        sections += mill_pages(plan.part, mill, ruler, when or {}, width)
    if plan.part.measured is not None:
        from posts.measured import measured_pages  # noqa: PLC0415 - only for parts that measure something

        before, after = measured_pages(plan)
        sections = [sections[0], *before, *sections[1:], *after]
    if plan.part.screwed is not None:
        from posts.screw_pages import screw_pages  # noqa: PLC0415 - only for parts with a thread

        sections += screw_pages(plan, ruler, width)
    return sections


def milled_of(plan: Plan, mill: MillDone | None) -> list[str]:
    """What is still to be milled when the turning is done, in order, by name; without a mill the blanks for squares."""
    if mill is None:
        return [s.name for s in plan.part.sections if s.role == "square blank"]
    from posts.mill_sheet import name_of  # noqa: PLC0415 - only for parts that the mill works on

    return [*(name_of(work) for work in mill.works), *mill.unplanned]


def _bench(plan: Plan, ruler: Ruler, width: int) -> dict[str, Any]:
    """What the first page says."""
    part = plan.part
    plans = plan.settings
    first = plans[0].setting
    between = first.chuck is None
    ends = ("A", "B")
    holes = _holes(plans)
    rows = section_rows(part, ruler)
    cells = [[str(r.number), plain(r.section.name), r.diameter, r.limits, r.length, r.place] for r in rows]
    lines = table(cells, ("", "section", "diameter", "limits", "length", "from the A end"), right="rlrlrl", width=width)
    return {
        "sections": [(line, row.text) for line, row in zip(lines[1:], rows, strict=True)],
        "section_head": lines[0],
        "tools": tools_of(plans),
        "holes": holes,
        "ends": ends,
        "drills": sorted({h.designation for h in holes.values()}),
        "held": _things(plans, ruler),
        "screw_things": _screw_things(plan, ruler),
        "dead_centre": any(p.setting.tail_centre and p.setting.tail_centre.kind != "revolving" for p in plans),
        "steps": sorted({_tool_for(step) for s in part.sections for step in s.finish.route[1:]}),
        "between": between,
        "faced": first.end_z - first.head_z,
        "as_written": lambda q: f" ({written(q, ruler)})" if written(q, ruler) else "",
        "hole_words": lambda end: _hole_words(holes.get(end), ruler),
        "cut_off": [*_cut_off(plan, ruler), *_screw_words(plan)],
        "log": _log(plan),
        "to_be_measured": plan.part.to_be_measured,
    }


def _log(plan: Plan) -> list[str]:
    """The log that was read, and how much of it was used."""
    if plan.part.measured is None:
        return []
    from posts.measured import log_lines  # noqa: PLC0415 - only for parts that measure something

    return log_lines(plan.part)


def _tool_for(step: str) -> str:
    return {"file": "smooth file with a handle", "stone": "fine slip stone", "burnish": "burnisher"}.get(step, step)


def _holes(plans: Sequence[SettingPlan]) -> dict[str, CentreHole]:
    """The centre hole in each end, by the end's letter."""
    holes: dict[str, CentreHole] = {}
    for planned in plans:
        setting = planned.setting
        other = "A" if setting.end == "B" else "B"
        for end, hole in ((setting.end, setting.hole), (other, setting.head_hole)):
            if hole is not None:
                holes.setdefault(end, hole)
    return holes


def _hole_words(hole: CentreHole | None, ruler: Ruler) -> str:
    if hole is None:
        return "No centre hole in this end."
    inch = f" ({ruler.size(hole.mouth)} in)" if ruler.unit == "in" else ""
    return (
        f"Centre hole ISO 6411 - {hole.designation}: pilot {hole.pilot:g} mm, at least {hole.depth:g} mm deep in all, "
        f"until the mouth is {hole.mouth:g} mm{inch} across and no larger ({hole.reason})."
    )


def _things(plans: Sequence[SettingPlan], ruler: Ruler) -> list[str]:
    """Centres, carriers, chucks and packing."""
    found: list[str] = []
    for setting in (p.setting for p in plans):
        found += [thing.name for thing in (setting.tail_centre, setting.carrier, setting.chuck) if thing is not None]
        if setting.protection:
            found.append(f"soft copper or aluminium {ruler.about(setting.protection)} thick")
    return list(dict.fromkeys(found))


def _cut_off(plan: Plan, ruler: Ruler) -> list[str]:
    """Extra lengths, which come off when all work between centres is done."""
    holding = plan.part.holding
    spares = [
        f"{ruler.size(end.extra_length)} at the {name} end"
        for name, end in (("A", holding.end_a), ("B", holding.end_b))
        if end is not None and end.extra_length > 0
    ]
    if not spares or holding.method != "between centres":
        return []
    return [
        f"last of all, saw or part off the extra length, {listed(spares)}, centre holes and all, and dress to "
        f"{ruler.size(plan.part.length)} over both ends; no work between centres after that"
    ]


def _screw_things(plan: Plan, ruler: Ruler) -> list[str]:
    """What a screw wants to have ready, a line each."""
    if plan.part.screwed is None:
        return []
    from posts.screw_pages import things_wanted  # noqa: PLC0415 - only for parts with a thread

    return things_wanted(plan, ruler)


def _screw_words(plan: Plan) -> list[str]:
    """What a screw has done to it after turning, a line each."""
    if plan.part.screwed is None:
        return []
    from posts.screw_pages import then_words  # noqa: PLC0415 - only for parts with a thread

    return then_words(plan)


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
    for words in _cut_off(plan, ruler):
        yield words[0].upper() + words[1:] + "."
    yield "Wash off grit and oil before any pivot meets its hole."
