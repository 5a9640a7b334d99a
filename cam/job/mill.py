"""The mill's share of a job. Nothing of the mill is imported for a part that the mill does not work on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING

from cam.ground.problem import Problem, ProblemError, Where, problem, refusal
from cam.job.dialects import fit_mill
from cam.job.explain import contradictions, explain, other_dialect, warn_of_ends
from cam.job.given import read_given, read_text, wait_for
from cam.job.model import Job, MillRefusedError, MillVerdict, RefusedError
from cam.part.features import BEARING_ROLES

DONE = {"file": "filed", "stone": "stoned", "burnish": "burnished"}
"""The steps after turning, each with the word for a surface that it has been done to."""

if TYPE_CHECKING:
    from cam.job.milling import PlannedMill
    from cam.lengths.solved import Solved
    from cam.mill.done import MillWorkDone
    from cam.mill.plan_hole import HoleTask
    from cam.mill.plan_square import SquareTask
    from cam.sheet.mill import MillSheetVerdict
    from cam.shop.model import Shop


def plan_mill(part: Solved, shop: Shop) -> PlannedMill | None:
    """Plan the mill's share; None for a part without one.

    Raises:
        RefusedError: everything that stands against it.
    """
    if part.milled is None:
        return None
    from cam.job import milling
    from cam.lengths.behind import tell_records

    try:
        return milling.plan_mill(part, shop)
    except ProblemError as found:
        raise MillRefusedError(tell_records(part, found.problems)) from found


def check_mill(part: Solved, shop: Shop) -> tuple[Problem, ...]:
    """Find what stands against the mill's share, where something else is refused already."""
    try:
        plan_mill(part, shop)
    except RefusedError as found:
        return found.problems
    return ()


def add_mill(job: Job, planned: PlannedMill | None, dialect: str | None, tell: Callable[[str], None]) -> Job:
    """Return the job with the mill's programs written, read back and judged.

    Raises:
        ProblemError: the dialect cannot say something that is planned.
        MisreadError: a program does not say what was planned; our own fault.
    """
    if planned is None:
        return job
    from cam.job.milling import write_mill

    return replace(job, mill=write_mill(planned, job.part, job.shop, dialect=dialect, tell=tell))


def judge_mill_program(
    program_path: str, part_path: str, name: str, shop_path: str | None = None, *, dialect: str | None = None,
    from_pass: int | None = None, piece: str = "",
) -> MillVerdict:  # fmt: skip
    """Judge any program for the mill, also one edited by hand, against one milling operation of a part.

    Args:
        program_path: path of the text.
        part_path: path of the part file.
        name: name of the milling operation, "square".
        shop_path: path of the shop file; None takes the one that the part file names.
        dialect: dialect of the text; None takes the shop file's. piece: name of one of several workpieces.
        from_pass: pass at which it is begun, with everything before it done; None judges the whole.
    Returns:
        What was found. Problems in the text are part of it and are not raised.
    Raises:
        ProblemError: a file cannot be read, part or shop is wrong, or there is no such work or dialect.
    """
    text = read_text(program_path)
    part, shop = read_given(part_path, shop_path, piece)
    if part.milled is None:
        raise ProblemError([no_such_work(part, name, [], ())])
    from cam.job.milling import choose_mill_dialect, judge_text, tasks_of
    from cam.job.reread import rules_for
    from cam.judge.fixes import OF_MILL, describe_findings
    from cam.mill.settle import settle_mill
    from cam.rs274.begin import begin_at
    from cam.sheet.mill import is_mill_sheet

    jobs, mill = settle_mill(part, shop), shop.milling.mill
    assert jobs is not None
    assert mill is not None
    tasks = tasks_of(jobs)
    if name not in tasks:
        raise ProblemError([no_such_work(part, name, list(tasks), jobs.unplanned)])
    if is_mill_sheet(text):
        if from_pass is not None:
            raise refusal(program_path, "a page is begun at any row", given="--from-pass", allowed="a program")
        return _judge_page(text, program_path, part, shop, name, tasks[name])
    chosen = choose_mill_dialect(dialect, mill, shop)
    material = shop.materials[part.stock.material]
    mill = fit_mill(mill, chosen)
    rules = rules_for(chosen, mill)
    begun = None if from_pass is None else begin_at(text, rules, program_path, from_pass)
    program, simulation, found = judge_text(text, program_path, tasks[name], shop, chosen, material, begun)
    strange = other_dialect(text, program_path, program.standard)
    problems = explain(found, contradictions(text, program_path), program.problems) if strange is None else (strange,)
    warnings = explain(describe_findings(simulation.warnings, text, program_path, OF_MILL)) if strange is None else ()
    return MillVerdict(
        part=part, shop=shop, name=name, path=program_path, program=program, simulation=simulation, problems=problems,
        warnings=(*warn_of_ends(text, program_path, mill.facts), *warnings), begun=begun,
    )  # fmt: skip


def _judge_page(
    text: str, path: str, part: Solved, shop: Shop, name: str, task: SquareTask | HoleTask
) -> MillVerdict:  # fmt: skip
    """Judge a page of the mill that someone may have edited."""
    found = judge_mill_page(text, path, part, shop, task)
    return MillVerdict(
        part=part, shop=shop, name=name, path=path, program=found.program, simulation=found.simulation,
        problems=found.problems,
    )  # fmt: skip


def judge_mill_page(
    text: str, path: str, part: Solved, shop: Shop, task: SquareTask | HoleTask
) -> MillSheetVerdict:  # fmt: skip
    """Judge the page of one milling operation by its printed text.

    Args:
        text: plain, or of the print form. path: path of the file, for reports.
    """
    from cam.job.milling import cutters_of, drive_of
    from cam.mill.plan_hole import HoleTask, hole_work
    from cam.mill.plan_square import square_work
    from cam.sheet.mill import judge_mill_sheet

    mill = shop.milling.mill
    assert mill is not None
    work = hole_work(task) if isinstance(task, HoleTask) else square_work(task)
    name = task.name if isinstance(task, HoleTask) else f"the {task.square.name}"
    drive = drive_of(shop, shop.materials[part.stock.material])
    return judge_mill_sheet(text, work, mill, cutters_of(shop), name=name, path=path, unit=part.unit, drive=drive)


def judge_mill_pages(job: Job, text: str, path: str) -> tuple[Problem, ...]:
    """Find what stands against every page of the mill in a text that was written for a job."""
    found = (judge_mill_page(text, path, job.part, job.shop, work.task) for work in job.milled)
    return tuple(p for verdict in found for p in verdict.problems)


def measured_on_mill(job: Job, text: str, path: str) -> dict[str, tuple[str, ...]]:
    """Return what each milling operation's page measures, by the title of the page."""
    if job.mill is None:
        return {}
    from posts.pages.mill_sheet import name_of
    from posts.wording import plain

    found = {}
    for work in job.milled:
        verdict = judge_mill_page(text, path, job.part, job.shop, work.task)
        found[f"{plain(name_of(work)).upper()}, ON THE MILL"] = verdict.measured
    return found


def no_such_work(part: Solved, name: str, there_are: list[str], unplanned: tuple[str, ...]) -> Problem:
    """Report that a milling operation was asked for that the part does not have, or not yet."""
    if unplanned and part.to_be_measured:
        wait = wait_for(part)
        return replace(wait, what=f"the milling of {' and '.join(unplanned)} cannot be planned yet")
    allowed = " or ".join(there_are) or "nothing: it has neither [section.square] nor [[cross_hole]]"
    return problem(Where(path=part.path), "there is no such milling operation on this part", f"--mill {name}", allowed)


def after_setting(job: Job, work: MillWorkDone) -> int:
    """Return the last setting that must be done before a milling operation, 0 for none; 2 if that is not planned yet.

    All that is gripped and all that the cutter passes over must be turned, and a carrier must not grip what is milled.
    What comes off before has the centre hole in it, or the bar that every setting holds.
    """
    if job.part.off_before_mill:
        return job.plan.count
    needs, milled = set(work.asked.needs), work.asked.asked.section
    there = {s.name for s in job.part.sections if s.as_stock}
    waiting, last = {"A", "B"} if job.part.to_be_measured else set[str](), 0
    for own in job.works:
        setting, turned = own.setting, {t.section.name for t in own.setting.turned}
        if needs & turned or job.part.holding.grip_at(setting.end) == milled:
            last = setting.number
        there |= turned
        waiting.discard(setting.end)
    later = not needs <= there or milled in map(job.part.holding.grip_at, waiting)
    return len(job.works) + 1 if later else last


def say_when(job: Job, work: MillWorkDone) -> str:
    """Say where in the job a milling operation belongs."""
    number = after_setting(job, work)
    words = f"after setting {number}" if number else "before setting 1"
    if off := job.part.off_before_mill:
        words += f", once {off}"
    fine = {s.name: s.finish.route for s in job.part.sections if s.role in BEARING_ROLES and len(s.finish.route) > 1}
    return f"{words}, {_beside_fine(fine, off)}" if fine else words


def _beside_fine(fine: dict[str, tuple[str, ...]], off: str) -> str:
    """Say how the milling stands to the finishing of the bearing surfaces, given with their routes."""
    names, one = " and ".join(fine), len(fine) == 1
    if off:
        return f"{names} finished: no knock must meet {'it' if one else 'them'}"
    done = " or ".join(DONE[step] for step in DONE if step in chain(*fine.values()))
    return f"before {names} {'is' if one else 'are'} {done}"
