"""What share of the damages that do harm is found: in settings' pages as text and in print, and in the mill's."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random
from typing import Any, Literal

from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.ground.problem import Problem
from cam.job.mill import judge_mill_page
from cam.mill.plan_hole import HoleTask
from cam.mill.plan_square import SquareTask
from cam.part.model import Part
from cam.setting.model import Setting
from cam.sheet import judge_sheet
from cam.sheet.mill import MillSheetVerdict
from cam.sheet.model import SheetVerdict
from cam.sheet.thread import judge_thread_pages
from posts.pages.blocks import Page
from posts.pages.figures import figures_for
from posts.pages.job import pages_of_mill
from posts.pages.paper import PAPERS
from posts.pages.print import print_pages
from posts.pages.setting import SettingKnown, setting_page
from posts.pages.text import write_pages
from posts.screw_pages import screw_pages
from tests.sheets.damages import LATHE, MILL, THREAD, Damage, Maker, damages_of
from tests.sheets.harm import does_harm, mill_does_harm, thread_does_harm
from tests.sheets.jobs import Written, draw_until, jobs, write_job
from tests.sheets.mills import MILL_JOBS, Milled, plan_milled
from tests.sheets.threads import SCREW_JOBS, Screw, plan_screw

Form = Literal["text", "print"]
What = Literal["lathe", "mill", "thread"]
Asked = tuple[bool, bool]
"""Whether a damage is found, and whether it does harm: by what a hand then does, not because it is found."""


class Shares(Row):
    """Damages by kind: how many were tried, did harm, and were found of those; found without harm; what was missed."""

    tried: Counter[str]
    harmful: Counter[str]
    found: Counter[str]
    told: Counter[str]
    missed: list[str]

    def take(self, damage: Damage, asked: Asked) -> None:
        """Count one damage."""
        found, harm = asked
        self.tried[damage.kind] += 1
        self.harmful[damage.kind] += harm
        self.found[damage.kind] += harm and found
        self.told[damage.kind] += found and not harm
        if harm and not found:
            self.missed.append(f"{damage.kind}: {damage.words}")

    @property
    def share(self) -> float:
        """Return the share found of those that do harm."""
        return sum(self.found.values()) / max(sum(self.harmful.values()), 1)

    def table(self) -> str:
        """Show the counts by kind."""
        lines = [f"{'damage':26} {'tried':>6} {'harmful':>8} {'found':>6} {'share':>8} {'found without harm':>20}"]
        counts = (self.tried, self.harmful, self.found, self.told)
        rows = [(k, *(c[k] for c in counts)) for k in self.tried]
        rows.append(("all", *(sum(c.values()) for c in counts)))
        lines += [f"{k:26} {t:6d} {h:8d} {f:6d} {f / h if h else 1.0:8.2%} {w:20d}" for k, t, h, f, w in rows]
        return "\n".join([*lines, *(f"  missed {words[:600]}" for words in self.missed[:40])])


class Case(Row):
    """A page that passes, and a function that says of it with other blocks: is anything found, does it do harm."""

    page: Page
    makers: dict[str, Maker]
    ask: Callable[[Page], Asked]


def render(page: Page, part: Part, figures: Figures, form: Form) -> str:
    """Render one page in one of its forms."""
    if form == "text":
        return write_pages([page], part, figures)
    return print_pages("page", [page], part, PAPERS["A4"], figures.size, figures.place)


def lathe_cases(job: Written, form: Form) -> Iterator[Case]:
    """Return the pages of a job's settings that pass."""
    figures = figures_for(job.part, job.shop.lathe)
    material = job.shop.materials.get(job.part.stock.material)
    for at, planned in enumerate(job.plan.settings):
        setting, page = planned.setting, setting_page(job.plan, at, figures, SettingKnown())

        def judge(own: Page, setting: Setting = setting) -> SheetVerdict:
            text = render(own, job.part, figures, form)
            return judge_sheet(text, setting, job.shop, unit=job.part.unit, material=material)

        whole = judge(page)

        def ask(own: Page, whole: SheetVerdict = whole, setting: Setting = setting) -> Asked:
            now = judge(own, setting)
            return bool(now.problems), does_harm(whole, now, setting, job.part, job.shop)

        if not whole.problems:
            yield Case(page, LATHE, ask)


def milled_cases(milled: Milled, form: Form) -> Iterator[Case]:
    """Return the pages of the mill that pass and are worked by hand."""
    part, shop, job = milled
    figures = figures_for(part, shop.lathe)
    for work, page in zip(job.works, pages_of_mill(part, job, figures, {}), strict=True):

        def judge(own: Page, task: SquareTask | HoleTask = work.task) -> MillSheetVerdict:
            return judge_mill_page(render(own, part, figures, form), "page", part, shop, task)

        whole = judge(page)

        def ask(own: Page, whole: MillSheetVerdict = whole, task: SquareTask | HoleTask = work.task) -> Asked:
            now = judge(own, task)
            return bool(now.problems), mill_does_harm(whole, now, part, shop)

        if not whole.problems and not whole.by_program:
            yield Case(page, MILL, ask)


def thread_cases(screw: Screw, form: Form) -> Iterator[Case]:
    """Return the pages of a screw, each damaged while the others stay as they are."""
    part, shop, plan = screw
    figures = figures_for(part, shop.lathe)
    pages = screw_pages(plan, figures)
    settings = [planned.setting for planned in plan.settings]

    def problems(own: Page, at: int) -> tuple[Problem, ...]:
        text = "".join(render(own if n == at else page, part, figures, "text") for n, page in enumerate(pages))
        if form == "print":
            put = [*pages[:at], own, *pages[at + 1 :]]
            text = print_pages("page", put, part, PAPERS["A4"], figures.size, figures.place)
        return judge_thread_pages(text, part, settings, shop, unit=part.unit)

    for at, page in enumerate(pages):

        def ask(own: Page, at: int = at, page: Page = page) -> Asked:
            now = problems(own, at)
            return bool(now), thread_does_harm(page.blocks, own.blocks, part.unit)

        if not problems(page, at):
            yield Case(page, THREAD, ask)


def cases_of(drawn: Any, what: What, form: Form) -> Iterator[Case]:
    """Return the pages of what was drawn; none where it is refused."""
    if what == "mill":
        milled = plan_milled(*drawn)
        return milled_cases(milled, form) if milled is not None else iter(())
    if what == "thread":
        screw = plan_screw(*drawn)
        return thread_cases(screw, form) if screw is not None else iter(())
    job = write_job(*drawn)
    return lathe_cases(job, form) if job is not None else iter(())


def damage_pages(
    count: int, number: int, *, form: Form = "text", what: What = "lathe", minutes: float = 60.0
) -> Shares:  # fmt: skip
    """Damage the pages of random jobs that pass, until so many damages that do harm have been tried."""
    shares = Shares(Counter(), Counter(), Counter(), Counter(), [])
    rng = Random(number)
    until = time.monotonic() + 60 * minutes

    def damage(cases: Iterator[Case]) -> None:
        for case in cases:
            for bad in damages_of(case.page.blocks, case.makers, rng):
                if sum(shares.harmful.values()) < count:
                    shares.take(bad, case.ask(replace(case.page, blocks=tuple(bad.blocks))))

    def take(drawn: Any) -> bool:
        damage(cases_of(drawn, what, form))
        return sum(shares.harmful.values()) < count and time.monotonic() < until

    drawn = {"lathe": jobs, "mill": lambda: MILL_JOBS, "thread": lambda: SCREW_JOBS}
    draw_until(drawn[what](), number, take)
    return shares
