"""The first page: the part, what to have ready, what is done before the lathe, how every row is cut, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from cam.ground.figures import Figures
from cam.ground.problem import Problem
from cam.ground.quantity import Quantity
from cam.lengths.solved import Solved
from cam.part.model import Section
from cam.plan.model import Plan, SettingPlan
from cam.setting.model import CentreHole, Setting
from posts.pages.after import cut_off
from posts.pages.blocks import Block, FigureTable, Page, Words
from posts.pages.figures import limits_of, written
from posts.pages.foot import foot_of, in_both
from posts.pages.script import blocks_of
from posts.pages.setting import tools_of
from posts.screw_pages import then_words, things_wanted
from posts.wording import plain

UNMEASURED = "to be measured"
"""The text that stands for a length still to be measured."""
READY, BEFORE = "HAVE READY", "BY HAND, BEFORE SETTING 1"
"""The heads under which the notebook finds what is wanted, and what is done first."""
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
    part, lathe, holes = plan.part, plan.shop.lathe, holes_of(plan.settings)
    settings = [planned.setting for planned in plan.settings]
    numbers = {s.name: n for n, s in enumerate(part.sections, start=1)}
    log = part.measured.log if part.measured is not None else None
    used = "; ".join(f"{r.name} {r.text}" for r in part.measured.records) if part.measured is not None else ""
    blocks = blocks_of(
        "bench", {"part": _part(part, figures)}, part=part, lathe=lathe, figures=figures, units=UNITS[figures.unit],
        log=log, used=used or "nothing", as_written=lambda v, show: written(v, show(v), figures.unit),
        tools=tools_of(plan.settings), holes=holes, things=_things(settings, figures), first=settings[0],
        drilled=[_hole(holes.get(end), figures) for end in "AB"], faced=settings[0].end_z - settings[0].head_z,
        greased=any(s.tail_centre and s.tail_centre.kind != "revolving" for s in settings), finishing=_steps(part),
        settings=settings, numbers={s.number: [numbers[t.section.name] for t in s.turned] for s in settings},
        milled=milled, unplanned=unplanned, cut_off=cut_off(plan, figures), how=HOW, emery=EMERY, in_line=IN_LINE,
        for_screw=things_wanted(plan, figures) if part.screwed is not None else (),
        then_screw=then_words(plan) if part.screwed is not None else (),
        later={step for s in part.sections for step in s.finish.route[1:]}, warnings=list(map(_warning, plan.warnings)),
        **_rows(plan),
    )  # fmt: skip
    name = plain(part.name)
    return Page(kind="bench", title="FIRST, ON THE BENCH", part=name, blocks=in_both(blocks), foot=foot_of(plan))


def _part(part: Solved, figures: Figures) -> Iterator[Block]:
    """Yield the finished part, section by section, and any size that the user wrote otherwise than it is printed."""
    rows, said = [], []
    for n, s in enumerate(part.sections, start=1):
        sizes = (s.diameter_a,) if s.diameter_a == s.diameter_b else (s.diameter_a, s.diameter_b)
        diameter = " / ".join(figures.size(d) for d in sizes)
        known = not math.isnan(s.length)
        length = figures.place(s.length) if known else UNMEASURED
        name = plain(s.name)
        rows.append((str(n), name, diameter, limits_of(s, figures), length, _lies(s, figures)))
        own = [_text(d, figures.size(d), figures.unit, "diameter") for d in sizes]
        own += [_text(s.length, length, figures.unit, "long")] if known else []
        said += [f"{name} {', '.join(words)}" for words in [[w for w in own if w]] if words]
    heads = ("", "section", "diameter", "limits", "length", "from the A end")
    yield FigureTable(heads=heads, align="rlrlrl", rows=tuple(rows))
    if said:
        yield Words(words=f"As written: {'; '.join(said)}.", mark="")


def _text(value: Quantity, figure: str, unit: str, what: str) -> str:
    own = written(value, figure, unit)
    return f"{own.strip(' ()')} {what}" if own else ""


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


def _rows(plan: Plan) -> dict[str, Any]:
    """Return what decides which words on how a row is cut are wanted."""
    lathe, mill = plan.shop.lathe, plan.shop.milling.mill
    cuts = [cut for planned in plan.settings for cut in planned.passes]
    turned = [t for planned in plan.settings for t in planned.setting.turned]
    milled = (mill.x, mill.y, mill.z) if plan.part.milled is not None and mill is not None else ()
    return {
        "shapes": {cut.shape for cut in cuts},
        "facing": any(cut.kind == "face" and cut.x < 0 for cut in cuts),
        "tapers": any(t.radius_near != t.radius_far for t in turned),
        "dials": any(slide is not None and slide.reading == "dial" for slide in (lathe.x, lathe.z, *milled)),
        "stops": any(m.cut_left for cut in cuts for m in cut.measure),
        "long": any(t.near - t.far >= LONG_ENOUGH for t in turned),
    }


def _warning(w: Problem) -> str:
    """Say what is worth knowing before the work begins."""
    given = f": {w.given}" if w.given else ""
    allowed = f"; right would be {w.allowed}" if w.allowed else ""
    return plain(f"{w.what}{given}{allowed}{f'; {w.fix}' if w.fix else ''}")
