"""The bench notebook: all that is wanted for a job, the order of work from bar to plates, a place for each reading.

Everything that the pages of the summary ask for is taken from those pages, so that nothing is missing here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Any

from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PRINTED
from cam.lengths.chain import span_total
from cam.lengths.figures import LengthFigures
from cam.lengths.hole_page import hole_steps
from cam.lengths.records import EXPECTED
from cam.lengths.solved import length_limits
from cam.part.features import BEARING_ROLES
from cam.part.model import Section
from cam.part.screw import best_wire
from cam.part.spans import Measurement, Span
from cam.plan.model import Plan, SettingPlan
from posts.layout import WIDTH
from posts.pages.after import counted_from, cut_off, edges_left, faced_back, made_length, to_record
from posts.pages.bench import EMERY, HOW
from posts.pages.blocks import BLANK, Ask, Block, Caution, Fact, FigureTable, Head, MeasureBlock, Page, PageKind, Words
from posts.pages.figures import instruments, limits_of
from posts.pages.foot import foot_of
from posts.pages.job import figures_of
from posts.pages.lists import sentence
from posts.pages.rows import ask_line
from posts.pages.script import blocks_of
from posts.pages.text import write_pages
from posts.screw_pages import work_after
from posts.wording import plain

WITHIN = "within"
RANGE = {"mm": 25.0, "in": 25.4}
"""The step in range from one micrometer to the next, mm: 25 mm or 1 in. Common practice, no source."""


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
        self.turning = {page.number: page for page in _of_kind(pages, "setting")}
        self.bench = _of_kind(pages, "bench")[0]
        self.by_hand = under(self.bench, "BY HAND, BEFORE SETTING 1")
        self.mill, self.screw = _of_kind(pages, "square", "cross hole"), _of_kind(pages, "thread", "hook")
        self.chain = chain = self.part.measured
        self.measurements = chain.measurements if chain is not None else ()
        self.plans = chain.plans if chain is not None else ()
        self.spans = chain.spans if chain is not None else ()
        first, *later = [p.setting for p in plan.settings]
        self.counted_from = counted_from(self.part, first, later[0] if later else None, self.figures)
        self.to_record = {t.of for t in to_record(self.part, first, later[0] if later else None)}
        self.limited = length_limits(self.part)
        kept = chain.records if chain is not None else ()
        self.records = {(r.target.what, r.target.of): plain(r.text.partition(EXPECTED)[0]) for r in kept}
        """What was recorded, as it was typed, by what it is and what it is of."""

    # What is wanted

    def wanted(self) -> Iterator[Block]:
        """Yield the tools, gauges and packing for the whole job, to be ticked off."""
        for block in blocks_of("notebook", part_of_book="wanted", **self.context()):
            yield replace(block, mark="[ ]") if isinstance(block, Words) and block.mark else block

    def context(self) -> dict[str, Any]:
        """Return what the template uses."""
        return {
            "book": self, "part": self.part, "figures": self.figures, "under": under, "best_wire": best_wire,
            "limits_of": limits_of, "how": HOW, "emery": EMERY, "hole_steps": hole_steps,
            "lengths": LengthFigures(self.part.unit), "cut_off": cut_off(self.plan, self.figures),
            "edges_left": edges_left(self.part), "faced_back": faced_back(self.part),
            "made_length": made_length(self.plan), "after_turning": work_after(self.plan) if self.screw else (),
            "bearings": any(s.role in BEARING_ROLES for s in self.part.sections), **instruments(self.figures),
        }  # fmt: skip

    @property
    def unit(self) -> str:
        """Return the unit in words."""
        return "inches" if self.figures.unit == "in" else "mm"

    def micrometers(self) -> list[str]:
        """Return the ranges of the micrometers that take every diameter, and every span over its shoulders."""
        spans = (self.over(s.first, s.last) for s in self.spans)
        sizes = [*(s.thickest for s in self.part.sections), *self.stops("diameter"), *spans]
        step = RANGE[self.figures.unit]
        tops = sorted({max(math.ceil(size / step - 1e-9), 1) for size in sizes if not math.isnan(size)})
        return [f"{self.figures.about((k - 1) * step)} to {self.figures.about(k * step)}" for k in tops]

    @property
    def longest(self) -> float:
        """Return the greatest length that is measured from one face to another, mm; zero for none."""
        ends = (p.setting.end_z for p in self.plan.settings[1:])
        lengths = [float(s.length) for s in self.part.sections if not math.isnan(s.length)]
        return max([*self.stops("length"), *map(abs, ends), *lengths], default=0.0)

    def stops(self, kind: str) -> Iterator[float]:
        """Yield what every measurement of a kind at a stop of the lathe aims at and expects, mm."""
        cuts = (cut for planned in self.plan.settings for cut in planned.passes)
        found = (m for cut in cuts for m in cut.measure if m.kind == kind)
        return (abs(size) for m in found for size in (m.target, m.expected))

    # Order of work

    def order(self) -> Iterator[Block]:
        """Yield every step, with its cautions but those that still stand in sight at the step before."""
        words = "Tick what is done. Cautions stand at their step; machines' manuals, local rules and qualified people "
        yield Words(words=f"{words}go before this page.", mark="")
        number, before, now = 0, set[str](), set[str]()
        for block in blocks_of("notebook", part_of_book="order", **self.context()):
            if isinstance(block, Words):
                number, before, now = number + 1, now, set()
                yield replace(block, mark=f"[ ] {number:2}.")
            elif isinstance(block, Caution):
                now.add(block.words)
                if block.words not in before:
                    yield replace(block, words=sentence(block.words))

    @property
    def later(self) -> bool:
        """Whether pivots are finished only when the mill, or a square cut otherwise, is done with the part."""
        return self.part.goes_back and any((self.mill, *(s.role == "square blank" for s in self.part.sections)))

    def reading_of(self, m: Measurement) -> str:
        """Return a measurement as it was read, or its blank."""
        value = self.records.get(("measurement", m.name), "")
        if value:
            return f"is {value}"
        along = "".join(
            f"; {'plus' if a.sign > 0 else 'less'} {a.name}: {', '.join(r.text for r in a.readings) or BLANK}"
            for a in m.along
        )
        if m.readings:
            return f"is {', '.join(r.text for r in m.readings)}{along}"
        return f"three times, seated anew: {BLANK} {BLANK} {BLANK}{along}"

    def turned_to(self, s: Section) -> float:
        """Return a section's diameter as turning aims at it, less what is left for the rest of its route, mm."""
        turned = (t for planned in self.plan.settings for t in planned.setting.turned if t.section.name == s.name)
        aims = [2 * t.end_radius - s.finish.on_diameter for t in turned]
        return aims[-1] if aims else s.diameter_a + (s.tolerance.middle if s.tolerance is not None else 0.0)

    # Measured

    def measured(self) -> Iterator[Block]:
        """Yield everything that is measured: tables, and lines that have their own blanks."""
        yield Words(
            words="Write every reading down; what was recorded stands here. endshake record keeps one.", mark=""
        )
        number = 1
        for when, group in groupby(self.items(), key=lambda item: item[0]):
            own = [item for _, item in group]
            numbered = list(enumerate((item for item in own if isinstance(item, ToMeasure)), start=number))
            number += len(numbered)
            yield Head(words=when.upper())
            yield from _asked(numbered)
            yield from (item for item in own if isinstance(item, MeasureBlock))

    def items(self) -> Iterator[tuple[str, ToMeasure | MeasureBlock]]:
        """Yield everything to measure, and when, in the order of the work."""
        yield from ((e.when, e) for e in self.before_entries())
        for planned in self.plan.settings:
            when = f"setting {planned.setting.number}"
            yield from ((when, e) for e in self.setting_entries(planned))
            yield from ((when, self.read(m)) for m in measures_of(self.turning[planned.setting.number]))
        for page in (*self.mill, *self.screw):
            yield from ((page.title, ToMeasure(page.title, words, value=WITHIN)) for words in blanks_of(page))
            yield from ((page.title, m) for m in measures_of(page))
        yield from (("finished", item) for item in self.finished_items())
        yield from ((e.when, e) for e in self.fit_entries())

    def before_entries(self) -> Iterator[ToMeasure]:
        """Yield what is measured before turning: on the assembly, and on the bar."""
        for m in self.measurements:
            count = f", mean of {len(m.readings)}" if len(m.readings) > 1 else ""
            plus = ", with all that is plus or less" * bool(m.along)
            known = f"{self.figures.fine(m.distance)}{count}{plus}" if m.taken else ""
            yield ToMeasure("off the assembly", m.name, "", plain(m.uncertainty.text), known)
        yield ToMeasure("the bar", "diameter", self.figures.size(self.part.stock.diameter))
        if any(BLANK in words for words in self.by_hand):
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

    def finished_items(self) -> Iterator[ToMeasure | MeasureBlock]:
        """Yield the measures of each finished section, and of each span."""
        when = "finished"
        for s in self.part.sections:
            if not s.as_stock and not s.is_taper:
                yield self.finished_diameter(s)
            yield from self.length_entries(s, when)
        for span in self.spans:
            value = self.records.get(("span", span.name), "")
            what, limits = f"between the shoulders of {plain(span.name)}", self.span_limits(span)
            yield ToMeasure(when, what, self.span_length(span.first, span.last), limits, value)

    def finished_diameter(self, s: Section) -> MeasureBlock:
        """Return the measure of a section's diameter once all is done."""
        least, most = "", ""
        expected = float(s.diameter_a)
        if s.tolerance is not None:
            least, most = self.figures.limits(s.diameter_a + s.tolerance.lower, s.diameter_a + s.tolerance.upper)
            expected = self.turned_to(s)
        return MeasureBlock(
            of="diameter", name=plain(s.name), expected=self.figures.size(expected), least=least, most=most,
            last=True, over="at root and tip", value=self.records.get(("diameter", s.name), ""),
        )  # fmt: skip

    def length_entries(self, section: Section, when: str) -> Iterator[ToMeasure]:
        """Yield a section's length, and its shoulder where one was recorded, or is before setting 2."""
        name, length, limits = plain(section.name), "to be measured", ""
        if found := self.limited.get(section.name):
            length = self.figures.place(found.drawn)
            limits = " to ".join(self.figures.limits_along(found.least, found.most))
        elif not math.isnan(section.length):
            length = self.figures.place(section.length)
        yield ToMeasure(when, f"length of {name}", length, limits, self.records.get(("length", section.name), ""))
        if ("shoulder", section.name) in self.records or section.name in self.to_record:
            value = self.records.get(("shoulder", section.name), "")
            yield ToMeasure(when, f"shoulder of {name}, from the finished end", "", "", value)

    def span_limits(self, span: Span) -> str:
        """Return the limits of the length between the shoulders of a span, as shown; "" for none, or none yet."""
        assert self.chain is not None
        wanted = span_total(span, self.chain.measurement(span), self.chain.stand_offs[span.name])
        if wanted is None or span.tolerance is None:
            return ""
        return " to ".join(self.figures.limits_along(wanted + span.tolerance.lower, wanted + span.tolerance.upper))

    def span_length(self, first: str, last: str) -> str:
        """Return the length between the shoulders of a span, as shown."""
        total = self.over(first, last)
        return "to be measured" if math.isnan(total) else self.figures.place(total)

    def over(self, first: str, last: str) -> float:
        """Return the length over a run of sections, mm; nan until it is measured."""
        names = [s.name for s in self.part.sections]
        run = self.part.sections[names.index(first) : names.index(last) + 1]
        return run[-1].end - run[0].start

    def fit_entries(self) -> Iterator[ToMeasure]:
        """Yield the measures of the fit: holes, side shake, end shake."""
        when, size = "in the plates", self.figures.fine
        for plan in self.plans:
            name, freedom = plain(plan.hole.name), plan.side_shake
            for side, value in (("inside", plan.inside), ("outside", plan.outside)):
                yield ToMeasure(when, f"{name}, hole at the {side}", size(value))
            limits = f"{size(freedom.least)} to {size(freedom.most)}"
            yield ToMeasure(when, f"{name}, side shake", size(freedom.likely), limits)
        for span in self.spans:
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
            read = sum(record.readings) / count if count else record.value
            mean = f"; mean of {count}: {self.figures.fine(read)}" if count > 1 else ""
            whole = f"; in all {self.figures.fine(record.value)}" if abs(read - record.value) > AS_PRINTED else ""
            yield Words(words=f"{record.name}: {plain(record.text)}{mean}{whole}")
        log = self.chain.log
        words = f"from {log.files}, {log.digest[:8]}; endshake history prints all of it, with who and when."
        yield Words(words=words, mark="")


def _of_kind(pages: Pages, *kinds: PageKind) -> list[Page]:
    return [page for page in pages if page.kind in kinds]


def _asked(numbered: Sequence[tuple[int, ToMeasure]]) -> Iterator[Block]:
    """Yield the table of what is measured, then what has its own blank, each with its number."""
    rows = [(f"{n}. {e.what}", e.wanted, e.limits, e.value or BLANK) for n, e in numbered if e.value != WITHIN]
    if rows:
        yield FigureTable(heads=("what", "wanted", "limits", "is"), align="lrll", rows=tuple(rows))
    yield from (Words(words=e.what, mark=f"{n}.") for n, e in numbered if e.value == WITHIN)
