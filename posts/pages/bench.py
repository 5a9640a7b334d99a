"""The first page: the part, what to have ready, what is done before the lathe, how every row is cut, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.ground.figures import Figures
from cam.ground.quantity import Quantity
from cam.lengths.solved import Solved
from cam.part.model import Section
from cam.plan.model import Plan, SettingPlan
from cam.setting.model import CentreHole
from posts.pages.after import cut_off
from posts.pages.blocks import Block, Caution, FigureTable, Head, Page, Words
from posts.pages.figures import written
from posts.pages.foot import foot_of, in_both
from posts.pages.lists import listed
from posts.pages.setting import tools_of
from posts.screw_pages import then_words, things_wanted
from posts.wording import plain

UNMEASURED = "to be measured"
"""The text that stands for a length still to be measured."""
READY, BEFORE = "HAVE READY", "BY HAND, BEFORE SETTING 1"
"""The heads under which the notebook finds what is wanted, and what is done first."""
UNITS = {"mm": "mm", "in": "inches"}
CAUTIONS = (
    "Glasses on, always. No gloves, rings, ties, loose sleeves or loose hair near turning work.",
    "A hand stays on the chuck key until the key is out of the chuck.",
    "Swarf comes away with a brush or hook, the spindle stopped; never by hand. Measure only with the spindle stopped.",
    "Where the machine's manual, local rules or a qualified person say otherwise, they are right, this sheet is not.",
)
ROWS = (
    "Every tool at centre height, with little overhang: a rule lightly held between tip and bar stands upright.",
    'Z to "from Z", clear of the work. X in from outside to its reading. Feed toward the headstock to "to Z", and stop '
    "there. Then X straight out: that faces the shoulder. Only then Z back.",
)
"""The words on how a row is cut by hand; common practice, no source."""
CARRIER = "A carrier: its tail neither bottoms in the driver nor lifts the work."
SLOW = "Feed evenly: \"Z turn in 5 s\" is the Z handwheel once round in 5 seconds."
FACES = '"From Z" and "to Z" alike: Z to its reading, X straight in from outside, X out.'
PAST = 'Facing, X goes past the centre: "leaves" is below 0.'
HARDLY = (
    'Under what a MEASURE expects: correct the other way. Nearer to "was" than to "leaves", or a shoulder where it '
    "stood: that row hardly cut; correct, cut it again, measure. Knocked since? Touched, it stands at its row's "
    "readings."
)
"""The words on when a reading tells how far the tool is out and when it does not; the program's stops say the same.

Where a program tries a slip before a last cut, a hand touches the work with the tip."""
POINTS = "Points: Z to its reading, X in from outside to its own, out; then the next."
TAPER = (
    "Set over: the top slide swung by that angle, the tool at the first place, then the top slide alone to the last. A "
    "taper is measured at its thin end."
)
FROM_OUTSIDE = (
    "Come to X from outside and to Z from the tailstock side, always; passed it, a whole turn out and in again."
)
BY_PROGRAM = (
    "By program: the same passes. What is read before a last cut goes into the dial, or by endshake record "
    "into a program made again; never both."
)
TURNS = (
    "4+35 is 4 whole turns and 35 divisions, the dial showing 35; .5 is half a division, by eye. X +1: a division more "
    "than the row says."
)
TICKED = (
    'Tick every row when it is cut. Before a row the work measures what stands under "was"; what is thinner is done.',
    "Starting again: spindle off, tool out in X, then past the end. On a finished diameter X reads as its row says. "
    "All readings are from one zero.",
)


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
    blocks: list[Block] = [
        Words(words=f"Sizes in {UNITS[figures.unit]} where no unit is written.{_log(plan)}", mark=""),
        *_part(plan.part, figures),
        Head(words=READY),
        *(Words(words=words) for words in _ready(plan, figures, milled)),
        Head(words=BEFORE),
        *_before(plan, figures),
        Head(words="THEN"),
        *(Words(words=words) for words in _then(plan, figures, milled, unplanned)),
        Head(words="HOW EVERY ROW IS CUT"),
        *(Words(words=words) for words in _rows(plan)),
        *_finishing(plan),
        Head(words="TAKE CARE"),
        *(Caution(words=words, general=True) for words in CAUTIONS),
        *_warnings(plan),
    ]
    name = plain(plan.part.name)
    return Page(kind="bench", title="FIRST, ON THE BENCH", part=name, blocks=in_both(blocks), foot=foot_of(plan))


def _log(plan: Plan) -> str:
    """Say in a sentence which readings of the log were used."""
    measured = plan.part.measured
    if measured is None or measured.log is None:
        return ""
    used = "; ".join(f"{r.name} {r.text}" for r in measured.records) or "nothing"
    return plain(f" Of the log {measured.log.files} {measured.log.digest[:8]} is used: {used}.")


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


def limits_of(section: Section, figures: Figures) -> str:
    """Return the limits of a section's finished diameter; "" where there are none or it tapers."""
    if section.tolerance is None or section.diameter_a != section.diameter_b:
        return ""
    size = section.diameter_a
    return " to ".join(figures.limits(size + section.tolerance.lower, size + section.tolerance.upper))


def _lies(section: Section, figures: Figures) -> str:
    """Say where a section lies: "65.50 to 72.00"; only the known end where the other is still to be measured."""
    start, end = section.start, section.end
    if math.isnan(start):
        return UNMEASURED if math.isnan(end) else f"to {figures.place(end)}"
    return f"from {figures.place(start)}" if math.isnan(end) else f"{figures.place(start)} to {figures.place(end)}"


def _ready(plan: Plan, figures: Figures, milled: Sequence[str]) -> Iterator[str]:
    """Yield what to have ready, a line each."""
    part, lathe = plan.part, plan.shop.lathe
    bar = figures.size(part.stock.diameter)
    own = written(part.stock.diameter, bar, figures.unit)
    yield f"bar: {plain(part.stock.material)}, {bar} diameter{own}"
    for t in tools_of(plan.settings):
        nose = figures.fine(t.nose_radius)
        own = written(t.nose_radius, nose, figures.unit)
        wide = f", {figures.fine(t.width)} wide" if t.width else ""
        shape = f", {plain(t.text)}" if t.text else ""
        yield f"tool {t.number}: {plain(t.name)}, {t.material}, nose {nose}{own}{wide}{shape}"
    drills = sorted({h.designation for h in holes_of(plan.settings).values()})
    if drills:
        yield f"centre drills, ISO 866 form A: {listed(drills)}"
    yield plain(listed(_things(plan.settings, figures)))
    if part.screwed is not None:
        yield from things_wanted(plan, figures)
    slips = "slips or a depth gauge" if lathe.z.reading == "none" else "depth gauge"
    greased = any(p.setting.tail_centre and p.setting.tail_centre.kind != "revolving" for p in plan.settings)
    yield f"micrometer, callipers, {slips}, oil{', grease for the dead centre' if greased else ''}"
    steps = _steps(part)
    if steps:
        yield f"for finishing: {listed(steps)}"
    if milled and part.milled is not None:
        yield "for the mill: what its pages name"


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


def _things(plans: Sequence[SettingPlan], figures: Figures) -> list[str]:
    """Return the centres, carriers, chucks and packing that are needed."""
    found: list[str] = []
    for setting in (p.setting for p in plans):
        found += [thing.name for thing in (setting.tail_centre, setting.carrier, setting.chuck) if thing is not None]
        if setting.protection:
            found.append(f"soft copper or aluminium {figures.about(setting.protection)} thick")
    return list(dict.fromkeys(found))


def _before(plan: Plan, figures: Figures) -> Iterator[Block]:
    """Say what is done to the bar before the first setting."""
    part, first = plan.part, plan.settings[0].setting
    length = figures.place(part.stock.length)
    saw = f"{length}{written(part.stock.length, length, figures.unit)} off the bar"
    if first.chuck is not None:
        words = f"Saw {saw}. Take the burr off, so that it seats in the {first.chuck.kind}."
        yield Words(words=words, mark="1.")
        return
    faced = first.end_z - first.head_z
    over = "a little over " if part.stock.length - faced < 0.5 else ""
    holes = holes_of(plan.settings)
    yield Words(words=f"Saw {over}{saw}.", mark="1.")
    own, other = (_hole(holes.get(end), figures) for end in "AB")
    if own == other and "A" in holes:
        other = "Centre hole as in the A end."
    words = "In a chuck or collet, standing out no more than it must: face the end clean, mark it A."
    yield Words(words=f"{words} {own}", mark="2.")
    yield Words(
        words=f"Turn it round, face the other end until the bar is {figures.place(faced)} over both ends (is "
        f"________), mark it B. {other}",
        mark="3.",
    )
    yield Words(words="Clear both holes: a chip in a centre hole throws the work out.", mark="4.")


def _hole(hole: CentreHole | None, figures: Figures) -> str:
    if hole is None:
        return "No centre hole in this end."
    inch = f" ({figures.fine(hole.mouth)} in)" if figures.unit == "in" else ""
    return (
        f"Centre hole ISO 6411 - {hole.designation}: pilot {hole.pilot:g} mm, at least {hole.depth:g} mm deep in all, "
        f"until the mouth is {hole.mouth:g} mm{inch} across and no larger."
    )


def _then(plan: Plan, figures: Figures, milled: Sequence[str], unplanned: Sequence[str] | None) -> Iterator[str]:
    """Say in which order all the rest follows."""
    part = plan.part
    numbers = {s.name: n for n, s in enumerate(part.sections, start=1)}
    for setting in (p.setting for p in plan.settings):
        where = "at the tailstock" if setting.tail_centre else "standing free"
        own = listed(numbers[t.section.name] for t in setting.turned)
        yield f"setting {setting.number}: the {setting.end} end {where}, section{'s' * (len(setting.turned) > 1)} {own}"
    if part.to_be_measured:
        named = plain(listed(part.to_be_measured))
        yield f"to be measured before setting 2: {named} (MEASURE NEXT, the last page)"
    if milled and part.milled is not None:
        pages = "; each gets its page" if unplanned else ", in this order, by their pages"
        yield f"then on the mill: {plain(listed(milled))}{pages}"
        if unplanned:
            yield f"of these {plain(listed(unplanned))} cannot be planned before a length is measured"
        if _steps(part):
            yield "then back between the same centres: what file, stone and burnisher still do"
    elif milled:
        yield f"then the square on {plain(listed(milled))}, for which turning leaves the round"
    if cut_off(plan, figures):
        yield "last of all the extra lengths off, centre holes and all; no work between centres after that"
    if part.screwed is not None:
        yield from then_words(plan)
    if part.measured is not None and part.measured.holes:
        yield "then the plates' holes and the trial between them: HOLES FOR THE PIVOTS"


def _of_mill(plan: Plan) -> list[str]:
    """Say what the slides of the mill are read on, where the mill has work on this part."""
    mill = plan.shop.milling.mill
    if plan.part.milled is None or mill is None:
        return []
    return [slide.reading for slide in (mill.x, mill.y, mill.z) if slide is not None]


def _rows(plan: Plan) -> list[str]:
    """Say how a row is cut, once for all settings."""
    lathe = plan.shop.lathe
    settings = [planned.setting for planned in plan.settings]
    cuts = [cut for planned in plan.settings for cut in planned.passes]
    turned = [t for setting in settings for t in setting.turned]
    shapes = {cut.shape for cut in cuts}
    facing = any(cut.kind == "face" and cut.x < 0 for cut in cuts)
    said = {
        CARRIER: any(setting.carrier is not None for setting in settings),
        f"{FACES} {PAST}" if facing else FACES: "plunge" in shapes,
        POINTS: "points" in shapes,
        TAPER: any(t.radius_near != t.radius_far for t in turned),
        SLOW: lathe.z.reading == "dial",
        TURNS: "dial" in (lathe.x.reading, lathe.z.reading, *_of_mill(plan)),
        FROM_OUTSIDE: True,
        **dict.fromkeys(TICKED, True),
        HARDLY: any(m.cut_left for cut in cuts for m in cut.measure),
        IN_LINE: any(t.near - t.far >= LONG_ENOUGH for t in turned),
        BY_PROGRAM: lathe.control.kind == "stepper",
    }
    return [*ROWS, *(words for words, wanted in said.items() if wanted)]


def _finishing(plan: Plan) -> Iterator[Block]:
    """Say how file, stone and burnisher are used, with their cautions."""
    steps = {step for s in plan.part.sections for step in s.finish.route[1:]}
    if steps:
        yield Head(words="FILE, STONE, BURNISHER")
        yield from (Caution(words=HOW[step]) for step in ("file", "stone", "burnish") if step in steps)
    if steps & {"file", "stone"}:
        yield Caution(words=EMERY)


def _warnings(plan: Plan) -> Iterator[Block]:
    """Yield the warnings: what is worth knowing before the work begins."""
    if plan.warnings:
        yield Head(words="WORTH KNOWING")
    for w in plan.warnings:
        given = f": {w.given}" if w.given else ""
        allowed = f"; right would be {w.allowed}" if w.allowed else ""
        fix = f"; {w.fix}" if w.fix else ""
        yield Words(words=plain(f"{w.what}{given}{allowed}{fix}"))
