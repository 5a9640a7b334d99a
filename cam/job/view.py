"""The page that steps through a job, also one that is refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from cam.ground.problem import Problem, ProblemError, Where
from cam.job.make import Tell, judge_plan, stock_after, tell_nobody, try_job
from cam.job.mill import say_when

if TYPE_CHECKING:
    from cam.job.model import Job, Work
    from cam.judge.model import Moment
    from cam.lengths.solved import Solved
    from cam.picture.page_turning import Shown
    from cam.plan.choose import WayOut
    from cam.plan.model import Plan
    from cam.shop.model import Shop
    from posts.dialect import Dialect

MOST_PAGE = 5_000_000
"""The most characters of a page; a longer one is refused."""


def view_given(
    part_path: str, shop_path: str | None = None, *, piece: str = "", tell: Tell = tell_nobody
) -> tuple[str, tuple[Problem, ...]]:
    """Make the page of a part's job; a refused one is shown as it would have been, open at what it hits.

    Returns:
        HTML text, and why the job may not be cut (empty where it may).
    Raises:
        ProblemError: a file is wrong, or the part cannot even be held.
    """
    tried = try_job(part_path, shop_path, tell, piece)
    if tried.job is None:
        return _refused_page(tried.part, tried.shop, tried.dialect, tried.problems, tell), tried.problems
    return view_job(tried.job, tried.mill), tried.problems


def view_job(job: Job, refused: Sequence[Problem] = ()) -> str:
    """Make the page of a job, HTML; also of one with problems.

    Args:
        refused: why the mill's share could not be planned.
    """
    return _page(job.plan, _shown(job), (*job.problems, *refused), [*_mill_views(job), *_refused_square(job, refused)])


def _refused_square(job: Job, refused: Sequence[Problem]) -> list[dict[str, Any]]:
    """Return the square that some of the problems are about, as it was asked for; empty where there is none."""
    from cam.job.outputs import refused_square

    square = refused_square(job, refused) if refused else None
    if square is None:
        return []
    from cam.picture.page_refused import refused_data

    return [refused_data(square)]


def _page(plan: Plan, shown: list[Shown], problems: tuple[Problem, ...], mill: Sequence[dict[str, Any]] = ()) -> str:
    from cam.picture.page import draw_page
    from cam.picture.page_turning import turning_data

    page = draw_page(plan.part, [*(turning_data(s, plan.part, plan.shop) for s in shown), *mill], problems)
    if len(page) > MOST_PAGE:
        blocks = sum(len(s.program.motions) for s in shown if s.program)
        raise ProblemError([_too_long(plan.part.path, blocks, len(page))])
    return page


def _too_long(path: str, blocks: int, size: int) -> Problem:
    """Return the refusal of a page that no phone would open."""
    return Problem(
        where=Where(path=path), what="the programs are too long to be stepped through block by block",
        given=f"{blocks} blocks of the lathe, {size / 1e6:.1f} MB", allowed=f"a page of {MOST_PAGE / 1e6:.0f} MB",
        fix="endshake plot draws it; endshake simulate checks the programs, line by line",
    )  # fmt: skip


def _mill_views(job: Job) -> list[dict[str, Any]]:
    """Return what the mill does to the part, program by program; nothing of the mill is loaded for a part without."""
    if job.mill is None:
        return []
    from cam.picture.page_mill import mill_data

    return [mill_data(work, work.text, job.mill.mill, say_when(job, work)) for work in job.mill.works]


def _shown(job: Job) -> list[Shown]:
    from cam.picture.page_turning import Shown

    return [
        Shown(
            planned=work.planned,
            key=str(work.setting.number),
            title=f"setting {work.setting.number}",
            file=f"setting {work.setting.number}: no program, only what was checked"
            if job.shop.lathe.by_hand
            else work.file,
            text=work.text,
            program=work.program,
            simulation=work.simulation,
            moments=_watch(job, work, job.works[k - 1] if k else None),
        )
        for k, work in enumerate(job.works)
    ]


def _watch(job: Job, work: Work, before: Work | None) -> list[Moment]:
    """Return the work after every motion of a program."""
    from cam.judge import simulate

    moments: list[Moment] = []
    stock = stock_after(before, work.setting, job.part)
    simulate(work.program, work.setting, job.shop, stock=stock, watch=moments.append)
    return moments


# ---- what is refused ---------------------------------------------------------------------------------


def _refused_page(part: Solved, shop: Shop, dialect: Dialect, problems: tuple[Problem, ...], tell: Tell) -> str:
    """Return the plan as it would have been, and the setting as each way out leaves it."""
    from cam.plan.blind import find_ways_out, plan_blindly

    plan = plan_blindly(part, shop)
    shown = _shown_blindly(plan, dialect, tell)
    for k, way in enumerate(find_ways_out(part, shop), start=1):
        tell(f"trying {way.words}")
        shown += _shown_after(way, k, shop, dialect)
    return _page(plan, shown, problems)


def _shown_blindly(plan: Plan, dialect: Dialect, tell: Tell) -> list[Shown]:
    from cam.picture.page_turning import Shown

    note = "As it would have been cut, had nothing stood in the way. It is not to be cut."
    try:
        shown = _shown(judge_plan(plan, dialect, tell=tell))
    except ProblemError:  # the dialect cannot say it: there is no text to judge
        numbers = [p.setting.number for p in plan.settings]
        shown = [
            Shown(planned=p, key=str(n), title=f"setting {n}") for n, p in zip(numbers, plan.settings, strict=True)
        ]
    return [s._replace(note=note) for s in shown]


def _shown_after(way: WayOut, count: int, shop: Shop, dialect: Dialect) -> list[Shown]:
    """Return the setting once a way out is taken; nothing where the part then fails because of something else."""
    from cam.plan import plan_job

    if way.part is None:
        return []
    try:
        job = judge_plan(plan_job(way.part, shop), dialect)
    except ProblemError:
        return []
    if job.problems:
        return []
    shown = next(s for s in _shown(job) if s.planned.setting.end == way.end)
    number = shown.planned.setting.number
    changed = way.words.rpartition(" (")[0].rstrip(",")
    note = f"Setting {number} with {changed}: found clear. The part file still says otherwise."
    return [shown._replace(key=f"{number}-way-{count}", note=note, fixes=way.words, file=f"{shown.file}, changed so")]
