"""The first page: the part, what to have ready, what is done before the lathe, how every row is cut, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.geometry.path import Point
from cam.ground.figures import Figures
from cam.ground.quantity import Quantity
from cam.lengths.solved import Solved
from cam.part.model import Section
from cam.plan.model import Plan, SettingPlan
from cam.setting.model import CentreHole, Setting
from posts.pages.after import cut_off, holes_off
from posts.pages.blocks import Block, FigureTable, Page, Words
from posts.pages.figures import instruments, limits_of, written
from posts.pages.foot import foot_of, in_both
from posts.pages.near import SPARE, clearance
from posts.pages.script import blocks_of
from posts.pages.setting import tools_of
from posts.screw_pages import then_words, things_wanted
from posts.wording import plain

UNMEASURED = "to be measured"
"""The text that stands for a length still to be measured."""
UNITS = {"mm": "mm", "in": "inches"}
HOW = {
    "file": "File: smooth cut, safe edge to the shoulder, a tight handle. Keep clear of carrier and jaws: cover them, "
    "do not reach over them.",
    "stone": "Stone: fine slip, oil, never still. Measure root and tip: the tip no thicker.",
    "burnish": "Burnish: burnisher cross-grained on emery, oil. Laid flat on the pivot it shows at once whether it is "
    "a true cylinder.",
}
EMERY = "Emery, if any: on a stick or a block in the tool post. Never a strip held or wrapped by hand."
"""Source: SafeWork NSW (a state regulator), safety alert on emery cloth on metal-working lathes, by memory."""
LONG_ENOUGH = 12.0
"""A turned length, mm, that shows by its two ends whether the centres are in line; common practice, no source."""
IN_LINE = (
    "Long sections: measure both ends. Thicker at the headstock: tailstock away from the tool; thinner there: "
    "toward it; fat in the middle: lighter cuts."
)
"""Source: F. D. Jones, Turning and Boring (1914), on aligning centres for parallel turning; recalled."""


def bench_page(plan: Plan, figures: Figures, milled: Sequence[str], unplanned: Sequence[str] | None = None) -> Page:
    """Make the first page.

    Args:
        milled: what the mill does when turning is done, by name. unplanned: those that cannot be planned yet; None
            where nothing is planned for the mill.
    """
    part, settings = plan.part, [planned.setting for planned in plan.settings]
    numbers = {s.name: n for n, s in enumerate(part.sections, start=1)}
    holes = holes_of(plan.settings)
    blocks = blocks_of(
        "bench", {"part": _part(part, figures)}, plan=plan, part=part, lathe=plan.shop.lathe, figures=figures,
        units=UNITS[figures.unit], as_written=lambda v, show: written(v, show(v), figures.unit), settings=settings,
        tools=tools_of(plan.settings), holes=holes, things=_things(settings, figures), first=settings[0],
        drilled=[_hole(holes.get(end), figures) for end in "AB"], faced=settings[0].end_z - settings[0].head_z,
        cuts=[cut for planned in plan.settings for cut in planned.passes], milled=milled, unplanned=unplanned,
        cut_off=cut_off(plan, figures), holes_off=holes_off(plan), how=HOW, emery=EMERY,
        things_wanted=things_wanted, then_words=then_words, finishing=_steps(part),
        later={step for s in part.sections for step in s.finish.route[1:]},
        numbers_in=lambda setting: [numbers[t.section.name] for t in setting.turned], of_log=_log(part),
        in_line=IN_LINE if is_long(settings) else "", tapers=has_tapers(settings), dials=has_dials(plan),
        slips=plan.shop.lathe.by_hand and plan.shop.lathe.z.reading == "none",
        centre_near=turn_may_touch(plan), **instruments(figures),
        blades=_blades(plan), own_limits=_own_limits(plan),
    )  # fmt: skip
    name = plain(part.name)
    return Page(kind="bench", title="FIRST, ON THE BENCH", part=name, blocks=in_both(blocks), foot=foot_of(plan))


def _blades(plan: Plan) -> bool:
    """Tell whether anything that is measured while it is turned takes blade anvils."""
    return any(m.blades for p in plan.settings for c in p.passes for m in c.measure)


def _own_limits(plan: Plan) -> bool:
    """Tell whether limits of something that is measured are the sheet's own, as the part file gives none."""
    return any(not (m.given or m.over) for p in plan.settings for c in p.passes for m in c.measure)


def _log(part: Solved) -> str:
    """Say in a sentence which readings of the log were used."""
    measured = part.measured
    if measured is None or measured.log is None:
        return ""
    used = "; ".join(f"{r.name} {r.text}" for r in measured.records) or "nothing"
    return plain(f" Of the log {measured.log.files} {measured.log.digest[:8]} is used: {used}.")


def _part(part: Solved, figures: Figures) -> Iterator[Block]:
    """Yield the finished part, section by section, and any size that the user wrote otherwise than it is printed."""
    rows, said = [], []
    for n, s in enumerate(part.sections, start=1):
        sizes = dict.fromkeys((s.diameter_a, s.diameter_b))
        known, name = not math.isnan(s.length), plain(s.name)
        diameter = " / ".join(map(figures.size, sizes))
        length = figures.place(s.length) if known else UNMEASURED
        rows.append((str(n), name, diameter, limits_of(s, figures), length, _lies(s, figures)))
        own = [_text(d, figures.size(d), figures.unit, "diameter") for d in sizes]
        own.append(_text(s.length, length, figures.unit, "long") if known else "")
        if any(own):
            said.append(f"{name} {', '.join(filter(None, own))}")
    heads = ("", "section", "diameter", "limits", "length", "from the A end")
    yield FigureTable(heads=heads, align="rlrlrl", rows=tuple(rows))
    if said:
        yield Words(words=f"As written: {'; '.join(said)}.", mark="")


def _text(value: Quantity, figure: str, unit: str, what: str) -> str:
    own = written(value, figure, unit)
    return f"{own.removeprefix(' (').removesuffix(')')} {what}" if own else ""


def _lies(section: Section, figures: Figures) -> str:
    """Say where a section lies: "65.50 to 72.00"; only the known end where the other is still to be measured."""
    start, end = section.start, section.end
    if math.isnan(start):
        return UNMEASURED if math.isnan(end) else f"to {figures.place(end)}"
    return f"from {figures.place(start)}" if math.isnan(end) else f"{figures.place(start)} to {figures.place(end)}"


def _steps(part: Solved) -> list[str]:
    """Return the tools of the later steps."""
    names = {"file": "smooth file with a handle", "stone": "fine slip stone", "burnish": "burnisher"}
    return sorted({names.get(step, step) for s in part.sections for step in s.finish.route[1:]})


def holes_of(plans: Sequence[SettingPlan]) -> dict[str, CentreHole]:
    """Return the centre hole in each end, by the end's letter."""
    holes: dict[str, CentreHole] = {}
    for setting in (planned.setting for planned in plans):
        other = "A" if setting.end == "B" else "B"
        for end, hole in ((setting.end, setting.hole), (other, setting.head_hole)):
            if hole is not None:
                holes.setdefault(end, hole)
    return holes


def _things(settings: Sequence[Setting], figures: Figures) -> list[str]:
    """Return the centres, carriers, chucks and packing that are needed."""
    found: list[str] = []
    for setting in settings:
        found += [thing.name for thing in (setting.tail_centre, setting.carrier, setting.chuck) if thing is not None]
        if setting.protection:
            found.append(f"soft copper or aluminium {figures.about(setting.protection)} thick")
    return list(dict.fromkeys(found))


def _hole(hole: CentreHole | None, figures: Figures) -> str:
    if hole is None:
        return "No centre hole in this end."
    inch = f" ({figures.fine(hole.mouth)} in)" if figures.unit == "in" else ""
    return (
        f"Centre hole ISO 6411 - {hole.designation}: pilot {hole.pilot:g} mm, at least {hole.depth:g} mm deep in all, "
        f"until the mouth is {hole.mouth:g} mm{inch} across and no larger."
    )


def is_long(settings: Sequence[Setting]) -> bool:
    """Tell whether a turned length shows by its two ends whether the centres are in line."""
    return any(t.near - t.far >= LONG_ENOUGH for setting in settings for t in setting.turned)


def has_tapers(settings: Sequence[Setting]) -> bool:
    """Tell whether a section that is turned tapers."""
    return any(t.is_taper for setting in settings for t in setting.turned)


def turn_may_touch(plan: Plan) -> bool:
    """Tell whether a tool that goes back a whole turn of Z from where a row begins may touch a tailstock centre."""
    turn = float(plan.shop.lathe.z.turn)
    return turn > 0 and any(
        clearance(planned.setting, cut.tool, Point(cut.z_from + turn, cut.x)) < SPARE
        for planned in plan.settings
        if planned.setting.tail_centre is not None
        for cut in planned.passes
        if cut.shape != "plunge"
    )


def has_dials(plan: Plan) -> bool:
    """Tell whether a slide that is set for this part has a dial; those of the mill count where it has work on it."""
    lathe, mill = plan.shop.lathe, plan.shop.milling.mill
    milled = (mill.x, mill.y, mill.z) if plan.part.milled is not None and mill is not None else ()
    return any(slide is not None and slide.reading == "dial" for slide in (lathe.x, lathe.z, *milled))
