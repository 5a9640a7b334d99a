"""The bench notebook: all that is wanted for a job, the order of work from bar to plates, a place for each reading.

Everything that the pages of the summary ask for is taken from those pages, so that nothing is missing here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PRINTED
from cam.lengths.figures import LengthFigures
from cam.lengths.hole_page import hole_steps
from cam.lengths.records import EXPECTED
from cam.part.features import BEARING_ROLES
from cam.part.model import Section
from cam.part.screw import best_wire
from cam.plan.model import Measure as Wanted
from cam.plan.model import Plan, SettingPlan
from posts.layout import WIDTH
from posts.pages.after import cut_off, made_length
from posts.pages.bench import BEFORE, EMERY, HOW, READY
from posts.pages.blocks import BLANK, Ask, Block, Caution, Fact, FigureTable, Head, MeasureBlock, Page, Words
from posts.pages.figures import between
from posts.pages.foot import foot_of
from posts.pages.job import figures_of
from posts.pages.lists import listed, sentence
from posts.pages.rows import ask_line
from posts.pages.text import write_pages
from posts.screw_pages import work_after
from posts.wording import plain

if TYPE_CHECKING:
    pass

WITHIN = "within"
ON_MILL = ", ON THE MILL"
RANGE = {"mm": 25.0, "in": 25.4}
"""The step in range from one micrometer to the next, mm: 25 mm or 1 in. Common practice, no source."""
FIT = (
    "with a mainspring in the frame, let it down under control before the plates are parted, and see that it is",
    "never force a plate home: a shoulder that is too long bends a pivot before it is felt",
)


class ToMeasure(Row):
    """One thing to measure.

    Attributes:
        when: at which point of the work. what: what is measured. wanted, limits: as shown, "" where there are none.
        value: as recorded, "" where it is not; WITHIN where what is measured has its own blank.
    """

    when: str
    what: str
    wanted: str = ""
    limits: str = ""
    value: str = ""


Step = tuple[str, Sequence[str]]
"""One step: what to do, and its cautions."""
Pages = Sequence[Page]
"""Every page of the job; see posts.pages.job.job_pages."""


def notebook_pages(plan: Plan, pages: Pages) -> list[Page]:
    """The bench notebook as pages of blocks."""
    book = _Book(plan, pages)
    found = [
        ("NOTEBOOK, WHAT IS WANTED", book.wanted()),
        ("NOTEBOOK, ORDER OF WORK", book.order()),
        ("NOTEBOOK, MEASURED", book.measured()),
        ("NOTEBOOK, RECORDED", book.recorded()),
    ]
    made = [(title, tuple(blocks)) for title, blocks in found]
    name, foot = plain(plan.part.name), foot_of(plan)
    return [Page(kind="notebook", title=title, part=name, blocks=blocks, foot=foot) for title, blocks in made if blocks]


def write_notebook(plan: Plan, pages: Pages, *, width: int = WIDTH) -> str:
    """The bench notebook as plain text, ASCII, pages separated by form feeds; width: columns."""
    return write_pages(notebook_pages(plan, pages), plan.part, figures_of(plan), width)


def under(page: Page, head: str) -> list[str]:
    """Return the sentences of a page under a head, or of a fact with that label; none where there is neither."""
    found: list[str] = []
    inside = False
    for block in page.blocks:
        if isinstance(block, Head):
            inside = block.words == head
        elif (inside and isinstance(block, Words)) or (isinstance(block, Fact) and block.label == head):
            found.append(block.words)
    return found


def blanks_of(page: Page) -> list[str]:
    """Return a line for each blank of a page but its MEASURE lines; a table's row gives each figure after its head."""
    return [line for block in page.blocks for line in _lines_of(block) if BLANK in line]


def measures_of(page: Page) -> list[MeasureBlock]:
    """Return the measures among a page's rows, without their corrections."""
    return [replace(block, over="", under="") for block in page.blocks if isinstance(block, MeasureBlock)]


def _lines_of(block: Block) -> list[str]:
    if isinstance(block, Ask):
        return [ask_line(block)]
    if isinstance(block, Words):
        return [block.words]
    if isinstance(block, FigureTable):
        return ["; ".join(f"{h} {c}".strip() for h, c in zip(block.heads, row, strict=True) if c) for row in block.rows]
    return []


class _Book:
    """Gathers what the notebook says."""

    def __init__(self, plan: Plan, pages: Pages) -> None:
        self.plan, self.part, self.shop = plan, plan.part, plan.shop
        self.figures = figures_of(plan)
        self.turning = {page.number: page for page in pages if page.kind == "setting"}
        self.bench = next(page for page in pages if page.kind == "bench")
        self.mill = [page for page in pages if page.kind in ("square", "cross hole")]
        self.screw = [page for page in pages if page.kind in ("thread", "hook")]
        self.chain = self.part.measured
        self.records: Mapping[tuple[str, str], str] = self.find_records()

    def find_records(self) -> dict[tuple[str, str], str]:
        """Find what was recorded, as it was typed, by what it is and what it is of."""
        if self.chain is None:
            return {}
        return {(r.target.what, r.target.of): plain(r.text.partition(EXPECTED)[0]) for r in self.chain.records}

    # What is wanted

    def wanted(self) -> Iterator[Block]:
        """Yield the tools, gauges and packing for the whole job."""
        yield Words(words=f"Sizes in {self.unit} where no unit is written.", mark="")
        yield Words(words=f"made by {BLANK * 2}  date {BLANK}  for {BLANK * 2}", mark="")
        yield Words(words=f"which of several {BLANK}  marked A at {BLANK}  photographs {BLANK}", mark="")
        yield from _ticked("BAR, LATHE AND FINISHING", under(self.bench, READY))
        yield from _ticked("TO MEASURE WITH", self.gauges())
        if self.chain is not None and self.chain.plans:
            yield from _ticked("HOLES IN THE PLATES", self.hole_tools())
        for page in self.mill:
            yield from _ticked(f"MILL, {page.title.removesuffix(ON_MILL)}", under(page, READY))
        if self.screw:
            yield from _ticked("THE SCREW", self.screw_tools())
        own = "glasses; a brush and a hook for swarf; a cover for the carrier; the machines' own manuals"
        yield from _ticked("FOR YOURSELF", [own])

    @property
    def unit(self) -> str:
        """Return the unit in words."""
        return "inches" if self.figures.unit == "in" else "mm"

    def gauges(self) -> Iterator[str]:
        """Yield the measuring instruments, by the sizes that they are to read."""
        sizes = {"diameter": 0.0, "length": 0.0}
        for m in self.stops():
            sizes[m.kind] = max(sizes[m.kind], abs(m.target))
        for s in self.part.sections:
            sizes["diameter"] = max(sizes["diameter"], s.thickest)
        step = RANGE[self.figures.unit]
        ends = [self.figures.about(k * step) for k in range(_count(sizes["diameter"], step) + 1)]
        names = [f"{low} to {high}" for low, high in pairwise(ends)]
        yield f"micrometer{'s' if len(names) > 1 else ''}, {listed(names)}; try the zero on its setting piece or a slip"
        if sizes["length"]:
            yield f"depth gauge or depth micrometer, to {self.figures.place(sizes['length'])}"
        if self.shop.lathe.z.reading == "none":
            yield "slips (gauge blocks) for the carriage stop"
        yield "callipers, to prove X in air and for the bar"
        for taken in self.chain.measurements if self.chain is not None else ():
            yield f"for {taken.name}: {taken.taken_with}"

    def stops(self) -> Iterator[Wanted]:
        """Yield every measurement at a stop of the lathe."""
        for planned in self.plan.settings:
            for cut in planned.passes:
                yield from cut.measure

    def hole_tools(self) -> Iterator[str]:
        """Yield the drills, broaches and reamers for the holes."""
        assert self.chain is not None
        drills = {plan.drill.name: None for plan in self.chain.plans if plan.drill is not None}
        if drills:
            yield f"drills: {listed(drills)}"
        opened = [plan for plan in self.chain.plans if plan.hole.use == "open"]
        for plan in opened:
            kind = "broach" if plan.hole.opened_by == "broach" else "reamer"
            yield f"{kind} for {plan.hole.name}: {self.figures.fine(plan.opened)}, in a firm handle"
        if any(plan.hole.smoothing > 0 for plan in opened):
            yield "round smoothing broach, oil"
        yield "tool to break the edges of holes, a block to clamp the plate on"

    def screw_tools(self) -> Iterator[str]:
        """Yield the tools for thread, head and hook."""
        screwing = self.part.screwed
        assert screwing is not None
        for s in screwing.threads:
            name = s.thread.name
            tool = f"die {name} and its sliding holder" if s.by == "die" else f"what {name} is cut with by {s.by}"
            yield f"{tool}, cutting oil, a brush"
            wires = self.figures.fine(best_wire(s.thread))
            yield f"to measure {name}: three wires of {wires}, or the tapped hole that it goes into"
            yield f"a stub of brass tapped {name}, to face the head in"
        if self.part.holding.part_off != "blade":
            yield "saw, and a bit of wood to hold the part from below"
        if screwing.hook is not None:
            yield "for the hook: file with a safe edge and a handle, spanner, the spring's own end"

    # Order of work

    def order(self) -> Iterator[Block]:
        """Yield every step, with its cautions."""
        words = "Tick what is done. Cautions stand at their step; machines' manuals, local rules and qualified people "
        yield Words(words=f"{words}go before this page.", mark="")
        before: Sequence[str] = ()
        for number, (step, cautions) in enumerate(self.steps(), start=1):
            yield Words(words=step, mark=f"[ ] {number:2}.")
            yield from (Caution(words=sentence(words)) for words in cautions if words not in before)
            before = cautions  # still in sight at the next step

    def steps(self) -> Iterator[Step]:
        """Yield the steps from the bar to the plates."""
        for m in self.chain.measurements if self.chain is not None else ():
            if not m.after:
                yield f'Measure "{m.name}": {m.taken_with}; {self.reading_of(m.name)}.', ()
        for n, step in enumerate(under(self.bench, BEFORE)):
            yield step, () if n else ("glasses; a hand stays on the chuck key until the key is out of the chuck",)
        for planned in self.plan.settings:
            yield from self.setting_steps(planned)
            if not self.later:
                yield from self.finishing([t.section for t in planned.setting.turned])
        yield from self.screw_steps()
        yield from self.waiting_steps()
        for page in self.mill:
            name = page.title.removesuffix(ON_MILL).lower()
            words = f"On the mill: {name}, by its page of the summary. Measure as it says."
            yield (
                words,
                ("glasses; no gloves; a cutter is sharp at rest too", "spindle standing before a hand goes near"),
            )
        if self.later:
            yield from self.finishing(self.part.sections)
        yield from self.hole_steps()
        yield from self.last_cuts()
        when = " before any pivot meets its hole" if any(s.role in BEARING_ROLES for s in self.part.sections) else ""
        yield f"Wash off grit and oil{when}. Measure all that is finished.", ()
        yield from self.fitting()
        yield "Write down what came out, and what you would do otherwise next time: ________________________", ()

    @property
    def later(self) -> bool:
        """Whether pivots are finished only when the mill, or a square cut otherwise, is done with the part."""
        return bool(self.mill) or any(s.role == "square blank" for s in self.part.sections)

    def screw_steps(self) -> Iterator[Step]:
        """Yield the steps of a screw: thread, parting from the bar, hook."""
        if not self.screw:
            return
        care = {
            "THE THREAD": "a die is turned by hand, motor unplugged; its edges and the burr cut: no rag, no fingers",
            "OFF THE BAR": "never saw into turning work",
        }
        for what, title in work_after(self.plan):
            caution = care.get(title, "a tight handle on the file; work clamped, never held in the hand")
            yield f"{what[0].upper()}{what[1:]}: by its page, {title}.", (caution,)

    def last_cuts(self) -> Iterator[Step]:
        """Yield the steps that cut off extra length when nothing else is left to do."""
        if self.part.holding.method != "between centres" and not self.screw:
            length = self.figures.place(made_length(self.plan))
            yield f"Saw or part it off, {length} from the finished end, and dress that end.", ()
        for words in cut_off(self.plan, self.figures):
            yield f"{words[0].upper()}{words[1:]}.", ("hold it where nothing is finished, or in soft jaws",)

    def setting_steps(self, planned: SettingPlan) -> Iterator[Step]:
        """Yield the steps of turning in one setting."""
        setting, number = planned.setting, planned.setting.number
        held = f"carrier on {setting.grip}" if setting.carrier is not None else f"held: {setting.grip}"
        stops = sum(bool(cut.measure) for cut in planned.passes)
        cautions = ["spindle off: turn the work one full turn by hand at both ends of the carriage's travel"]
        if setting.carrier is not None:
            cautions.append("carrier covered; sleeves and hair away; never reach over it")
        cautions.append("swarf with brush or hook, spindle stopped; measure with the spindle stopped")
        turned = "Turn end for end; wipe centres and holes. " if number > 1 else ""
        words = (
            f"{turned}Setting {number}, the {setting.end} end, {held}: {len(planned.passes)} passes, {stops} stops to "
        )
        yield f"{words}measure, by its page of the summary.", cautions
        if number > 1:
            yield f"Before the first cut of it: {setting.datum_words}", ()

    def waiting_steps(self) -> Iterator[Step]:
        """Yield what can be measured only after a setting, and what is made again from it."""
        for m in self.chain.measurements if self.chain is not None else ():
            if m.after:
                yield (
                    f'After setting {m.after}: measure "{m.name}": {m.taken_with}; {self.reading_of(m.name)}.',
                    FIT[:1],
                )
        if self.part.to_be_measured:
            words = f"Record {listed(self.part.to_be_measured)}, make again, and print this anew:"
            yield f"{words} setting 2 is planned then. It comes before all that follows.", ()

    def reading_of(self, name: str) -> str:
        """Return a measurement as it was read, or its blank."""
        value = self.records.get(("measurement", name), "")
        if value:
            return f"is {value}"
        m = next(m for m in self.chain.measurements if m.name == name) if self.chain is not None else None
        along = [
            f"; {'plus' if a.sign > 0 else 'less'} {a.name}: {', '.join(r.text for r in a.readings) or BLANK}"
            for a in (m.along if m is not None else ())
        ]
        if m is not None and m.readings:
            return f"is {', '.join(r.text for r in m.readings)}{''.join(along)}"
        return f"three times, seated anew: {BLANK} {BLANK} {BLANK}{''.join(along)}"

    @property
    def finished(self) -> dict[str, float]:
        """Return each section's diameter as turning aims at it, less what is left for the rest of its route, mm."""
        turned = [t for planned in self.plan.settings for t in planned.setting.turned]
        return {t.section.name: 2 * t.end_radius - t.section.finish.on_diameter for t in turned}

    def finishing(self, sections: Sequence[Section]) -> Iterator[Step]:
        """Yield the steps of filing, stoning and burnishing."""
        for s in sections:
            route = s.finish.route[1:]
            if not route:
                continue
            middle = s.diameter_a + (s.tolerance.middle if s.tolerance is not None else 0.0)
            size = self.figures.size(self.finished.get(s.name, middle))
            limits = f" ({self.limits_of(s)})" if self.limits_of(s) else ""
            left = self.figures.fine(s.finish.on_diameter)
            cautions = [HOW[step] for step in route if step in HOW]
            words = f'Finish "{plain(s.name)}": {listed(route)} to {size}{limits}, {left} being left for it.'
            yield words, [*cautions, EMERY] if {"file", "stone"} & set(route) else cautions

    def hole_steps(self) -> Iterator[Step]:
        """Yield the steps that open the holes to the finished pivots."""
        if self.chain is None or not self.chain.plans:
            return
        for plan in self.chain.plans:
            for step in hole_steps(plan, self.chain.pivots[plan.hole.name], LengthFigures(self.part.unit))[:-1]:
                yield f'Hole "{plan.hole.name}": {step.text}.', step.cautions

    def fitting(self) -> Iterator[Step]:
        """Yield the steps of fitting the part in the plates."""
        if self.chain is None:
            return
        for plan in self.chain.plans:
            low, high = (self.figures.fine(v) for v in (plan.side_shake.least, plan.side_shake.most))
            words = f'Try "{plan.hole.section}" dry in "{plan.hole.name}": side shake {low} to {high}, is {BLANK}.'
            yield words, FIT[:1]
        for span in self.chain.spans:
            shake = [self.figures.fine(v) for v in (span.shake.least, span.shake.most, span.shake.aim)]
            words = f'Fit it: end shake of "{span.name}" {shake[0]} to {shake[1]}, {shake[2]} aimed at, is {BLANK}.'
            if span.fitting_allowance > 0:
                words += " Face the late shoulder back between the same centres by what is missing, lightly."
            yield words, FIT

    # Measured

    def measured(self) -> Iterator[Block]:
        """Yield everything that is measured: tables, and lines that have their own blanks."""
        yield Words(
            words="Write every reading down; what was recorded stands here. endshake record keeps one.", mark=""
        )
        number = 0
        for when, group in groupby(self.items(), key=lambda item: item[0]):
            yield Head(words=when.upper())
            own = [item for _, item in group]
            entries = [item for item in own if isinstance(item, ToMeasure)]
            numbered = list(enumerate(entries, start=number + 1))
            number += len(entries)
            rows = [(f"{n}. {e.what}", e.wanted, e.limits, e.value or BLANK) for n, e in numbered if e.value != WITHIN]
            if rows:
                yield FigureTable(heads=("what", "wanted", "limits", "is"), align="lrll", rows=tuple(rows))
            yield from (Words(words=e.what, mark=f"{n}.") for n, e in numbered if e.value == WITHIN)
            yield from (item for item in own if isinstance(item, MeasureBlock))

    def entries(self) -> Iterator[ToMeasure]:
        """Yield everything to measure but the MEASURE lines of a page, in the order of the work."""
        yield from (item for _, item in self.items() if isinstance(item, ToMeasure))

    def items(self) -> Iterator[tuple[str, ToMeasure | MeasureBlock]]:
        """Yield everything to measure, and when, in the order of the work."""
        yield from ((e.when, e) for e in self.before_entries())
        for planned in self.plan.settings:
            when = f"setting {planned.setting.number}"
            yield from ((when, e) for e in self.setting_entries(planned))
            yield from ((when, self.read(m)) for m in measures_of(self.turning[planned.setting.number]))
        for page in self.mill:
            when = f"{page.title.removesuffix(ON_MILL)}{ON_MILL}"
            yield from ((when, ToMeasure(when, words, value=WITHIN)) for words in blanks_of(page))
            yield from ((when, m) for m in measures_of(page))
        for page in self.screw:
            yield from ((page.title, ToMeasure(page.title, words, value=WITHIN)) for words in blanks_of(page))
            yield from ((page.title, m) for m in measures_of(page))
        yield from (("finished", item) for item in self.finished_items())
        yield from ((e.when, e) for e in self.fit_entries())

    def before_entries(self) -> Iterator[ToMeasure]:
        """Yield what is measured before turning: on the assembly, and on the bar."""
        for m in self.chain.measurements if self.chain is not None else ():
            count = f", mean of {len(m.readings)}" if len(m.readings) > 1 else ""
            plus = ", with all that is plus or less" * bool(m.along)
            known = f"{self.figures.fine(m.distance)}{count}{plus}" if m.taken else ""
            yield ToMeasure("off the assembly", m.name, "", plain(m.uncertainty.text), known)
        yield ToMeasure("the bar", "diameter", self.figures.size(self.part.stock.diameter))
        if any(BLANK in words for words in under(self.bench, BEFORE)):
            first = self.plan.settings[0].setting
            yield ToMeasure("the bar", "over both faced ends", self.figures.place(first.end_z - first.head_z))

    def setting_entries(self, planned: SettingPlan) -> Iterator[ToMeasure]:
        """Yield what is measured before a setting is turned."""
        setting = planned.setting
        if setting.number > 1 and abs(setting.end_z) > AS_PRINTED:
            what = f"from Z zero to the faced {setting.end} end"
            yield ToMeasure(f"setting {setting.number}", what, self.figures.place(setting.end_z))

    def read(self, measure: MeasureBlock) -> MeasureBlock:
        """Return a measure with the value that was recorded for it."""
        value = next((text for (what, of), text in self.records.items() if f"{of} {what}" == measure.record), "")
        return replace(measure, value=value)

    def limits_of(self, section: Section) -> str:
        """Return the limits of a section's diameter; "" where there are none or it tapers."""
        if section.tolerance is None or section.diameter_a != section.diameter_b:
            return ""
        size = section.diameter_a
        return between(self.figures, size + section.tolerance.lower, size + section.tolerance.upper)

    def finished_items(self) -> Iterator[ToMeasure | MeasureBlock]:
        """Yield the measures of each finished section, and of each span."""
        when = "finished"
        for s in self.part.sections:
            if not s.as_stock and s.diameter_a == s.diameter_b:
                yield self.finished_diameter(s)
            yield from self.length_entries(s, when)
        for span in self.chain.spans if self.chain is not None else ():
            value = self.records.get(("span", span.name), "")
            what = f"between the shoulders of {plain(span.name)}"
            yield ToMeasure(when, what, self.span_length(span.first, span.last), "", value)

    def finished_diameter(self, s: Section) -> MeasureBlock:
        """Return the measure of a section's diameter once all is done."""
        least, most = "", ""
        if s.tolerance is not None:
            least, most = self.figures.limits(s.diameter_a + s.tolerance.lower, s.diameter_a + s.tolerance.upper)
        return MeasureBlock(
            of="diameter", name=plain(s.name), expected=self.figures.size(s.diameter_a), least=least, most=most,
            last=True, over="at root and tip", value=self.records.get(("diameter", s.name), ""),
        )  # fmt: skip

    def length_entries(self, section: Section, when: str) -> Iterator[ToMeasure]:
        """Yield a section's length, and its shoulder where one was recorded."""
        name, length, t = plain(section.name), "to be measured", section.length_tolerance
        limits = ""
        if not math.isnan(section.length):
            length = self.figures.place(section.length)
            if t is not None:
                limits = " to ".join(self.figures.limits_along(section.length + t.lower, section.length + t.upper))
        yield ToMeasure(when, f"length of {name}", length, limits, self.records.get(("length", section.name), ""))
        if ("shoulder", section.name) in self.records:
            value = self.records["shoulder", section.name]
            yield ToMeasure(when, f"shoulder of {name}, from the finished end", "", "", value)

    def span_length(self, first: str, last: str) -> str:
        """Return the length between the shoulders of a span, as shown."""
        names = [s.name for s in self.part.sections]
        run = self.part.sections[names.index(first) : names.index(last) + 1]
        total = run[-1].end - run[0].start
        return "to be measured" if math.isnan(total) else self.figures.place(total)

    def fit_entries(self) -> Iterator[ToMeasure]:
        """Yield the measures of the fit: holes, side shake, end shake."""
        when, size = "in the plates", self.figures.fine
        for plan in self.chain.plans if self.chain is not None else ():
            name, freedom = plain(plan.hole.name), plan.side_shake
            for side, value in (("inside", plan.inside), ("outside", plan.outside)):
                yield ToMeasure(when, f"{name}, hole at the {side}", size(value))
            limits = f"{size(freedom.least)} to {size(freedom.most)}"
            yield ToMeasure(when, f"{name}, side shake", size(freedom.likely), limits)
        for span in self.chain.spans if self.chain is not None else ():
            shake = span.shake
            limits = f"{size(shake.least)} to {size(shake.most)}"
            yield ToMeasure(when, f"end shake of {plain(span.name)}", size(shake.aim), limits)

    # Recorded

    def recorded(self) -> Iterator[Block]:
        """Yield the readings of the log that are used."""
        if self.chain is None or self.chain.log is None:
            return
        for record in self.chain.records:
            count = len(record.readings)
            mean = f"; mean of {count}: {self.figures.fine(record.value)}" if count > 1 else ""
            yield Words(words=f"{record.name}: {plain(record.text)}{mean}")
        log = self.chain.log
        words = f"from {log.files}, {log.digest[:8]}; endshake history prints all of it, with who and when."
        yield Words(words=words, mark="")


def _ticked(head: str, lines: Iterable[str]) -> Iterator[Block]:
    """Yield a list to tick off, under its head."""
    yield Head(words=head)
    yield from (Words(words=words, mark="[ ]") for words in lines)


def _count(most: float, step: float) -> int:
    """Return how many micrometers it takes to reach a size."""
    return max(math.ceil(most / step - 1e-9), 1)
