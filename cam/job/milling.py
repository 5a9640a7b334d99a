"""The mill's share of a job: square and cross holes planned, written, read back and judged by their text.

It is the same way as for a setting: the text is what runs, so the text is what is judged. Imported only for parts that
the mill works on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from cam.ground.frozen import frozen, widened
from cam.ground.problem import Problem, ProblemError, Where, blame_us
from cam.job.dialects import check_dialect, fit_mill, reading_back
from cam.job.reread import check_said, form_of, rules_for
from cam.judge.driven import Drive
from cam.judge.fixes import OF_MILL, describe_findings
from cam.judge.mill import simulate_mill
from cam.judge.mill_result import MillSimulation
from cam.judge.report import TOLERANCE
from cam.mill.done import MillDone, MillWorkDone, PlannedMilling
from cam.mill.plan_hole import HoleTask, hole_work, plan_cross_hole
from cam.mill.plan_square import SquarePlan, SquareTask, plan_square, square_work
from cam.mill.setting_up import setting_up, setting_up_hole
from cam.mill.settle import HoleJob, MillJobs, SquareJob, as_cutter, settle_mill
from cam.moves.model import ChangeTool
from cam.rs274.model import Program
from cam.rs274.read import read_program
from cam.shop.mill import Cutter, Mill

if TYPE_CHECKING:
    from cam.lengths.solved import Solved
    from cam.rs274.begin import Begun
    from cam.shop.model import Material, Shop
    from posts.dialect import Dialect

Tell = Callable[[str], None]

SQUARE, HOLE = "square", "cross-hole"
"""Names of the milling operations, as the command line and the files have them. Further holes are cross-hole-2 and so
on, by their place in the part file, so that a name stays though another hole is not planned yet."""

ALWAYS_ALLOWED = 0.0005
"""How far a face may lie above or below the wanted one beside a ramp's crown, mm."""


@frozen
class MillJob(MillDone):
    """All that the mill does to a part; dialect: of its programs."""

    dialect: Dialect

    @property
    def tool_changes(self) -> int:
        """How often a tool is changed within the programs, the first one of each not counted."""
        return sum(max(sum(isinstance(m, ChangeTool) for m in w.plan.moves) - 1, 0) for w in self.works)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Why the mill's share may not be cut."""
        return tuple(p for work in self.works for p in work.problems)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """What is worth knowing before it is cut."""
        planned = {w for work in self.works for w in work.plan.warnings}
        judged = (describe_findings(w.simulation.warnings, w.text, w.file, OF_MILL) for w in self.works)
        return tuple(sorted(planned.union(*judged)))


@frozen
class PlannedMill:
    """The mill's share of a part, planned and not yet written."""

    mill: Mill
    plans: tuple[PlannedMilling, ...]
    unplanned: tuple[str, ...]


def plan_mill(part: Solved, shop: Shop) -> PlannedMill | None:
    """Plan all that the mill does; None for a part that it does not work on.

    Raises:
        ProblemError: everything that cannot be planned, at once.
    """
    jobs, mill = settle_mill(part, shop), shop.milling.mill
    if jobs is None or mill is None:
        return None
    plans: list[PlannedMilling] = []
    wrong: list[Problem] = []
    for name, job in _named(jobs):
        try:
            task, plan = _square_plan(job) if isinstance(job, SquareJob) else (job.task, plan_cross_hole(job.task))
            plans.append(PlannedMilling(name=name, asked=job, task=task, plan=plan))
        except ProblemError as found:
            wrong += found.problems
    if wrong:
        raise ProblemError(sorted(set(wrong)))
    return PlannedMill(mill=mill, plans=tuple(plans), unplanned=jobs.unplanned)


def _named(jobs: MillJobs) -> Iterator[tuple[str, SquareJob | HoleJob]]:
    """Return every work with its name, in the order in which the works are cut."""
    for hole in jobs.holes:
        yield HOLE if hole.number == 1 else f"{HOLE}-{hole.number}", hole
    if jobs.square is not None:
        yield SQUARE, jobs.square


def tasks_of(jobs: MillJobs) -> dict[str, SquareTask | HoleTask]:
    """Return what a text of each name is judged against."""
    return {name: job.tasks[0] if isinstance(job, SquareJob) else job.task for name, job in _named(jobs)}


def write_mill(planned: PlannedMill, part: Solved, shop: Shop, *, dialect: str | None, tell: Tell) -> MillJob:
    """Write, read back and judge every program.

    Args:
        dialect: of the programs; None takes the shop file's.
        tell: is told each step as it begins.
    Raises:
        ProblemError: the dialect cannot say something that is planned.
        MisreadError: a program does not say what was planned; our own fault.
    """
    chosen = choose_mill_dialect(dialect, planned.mill, shop)
    mill, works = fit_mill(planned.mill, chosen), []
    for own in planned.plans:
        tell(f"writing, reading and checking the program {own.name}")
        works.append(_work(part, shop, mill, chosen, own))
    return MillJob(mill=mill, dialect=chosen, works=tuple(works), unplanned=planned.unplanned)


def choose_mill_dialect(name: str | None, mill: Mill, shop: Shop, option: str = "--dialect") -> Dialect:
    """Return the dialect of a name, or the mill's own where that is None. option: the flag that named it.

    Raises:
        ProblemError: there is no such dialect, or its file is wrong.
    """
    from posts.dialect import load_dialect

    where = Where(path=option) if name else Where(path=shop.path, line=mill.where.line)
    return check_dialect(load_dialect(name or mill.dialect, where=where))


def _square_plan(job: SquareJob) -> tuple[SquareTask, SquarePlan]:
    """Return the plan with the largest end mill that has room; where none has, what the largest one meets.

    Raises:
        ProblemError: no end mill will do.
    """
    refused: ProblemError | None = None
    for task in job.tasks:
        try:
            return task, plan_square(task)
        except ProblemError as found:
            refused = refused or found
    assert refused is not None
    raise refused


def _work(part: Solved, shop: Shop, mill: Mill, dialect: Dialect, own: PlannedMilling) -> MillWorkDone:
    """Write one program, read it back, compare, and judge it."""
    from posts.control import ControlWords
    from posts.mill import emit_mill
    from posts.program import tools_of

    entered = ControlWords(mill.facts, dialect).entered(tools_of(own.plan.moves))
    title, notes = _title(own), (*_notes(own, mill, part), entered)
    text = emit_mill(own.plan.moves, title=title, notes=notes, part=part, shop=shop, mill=mill, dialect=dialect)
    file = f"{own.name}.ngc"
    program, simulation, problems = judge_text(text, file, own.task, shop, dialect, shop.materials[part.stock.material])
    with reading_back(dialect, text, program.problems, "MILL_TEMPLATE"):
        if not program.problems:
            check_said(own.plan.moves, program, form_of(dialect, mill), file)
    done = {"text": text, "program": program, "simulation": simulation, "problems": blame_us(problems)}
    return widened(own, MillWorkDone, file=file, title=title, notes=notes, entered=entered, **done)


def judge_text(
    text: str,
    path: str,
    task: SquareTask | HoleTask,
    shop: Shop,
    dialect: Dialect,
    material: Material | None = None,
    begun: Begun | None = None,
) -> tuple[Program, MillSimulation, tuple[Problem, ...]]:
    """Read a text and judge it against what is wanted of the work, which follows from the files alone.

    Args:
        material: material of the work, for its cutting speeds; None checks none.
        begun: the text as it is begun at a pass; None reads the whole.
    """
    mill = shop.milling.mill
    assert mill is not None
    mill = fit_mill(mill, dialect)
    program = read_program(text, rules_for(dialect, mill), path) if begun is None else begun.program
    work = square_work(task) if isinstance(task, SquareTask) else hole_work(task)
    crown = task.crown if isinstance(task, SquareTask) and task.way != "tipped block" else 0.0
    simulation = simulate_mill(
        program, work, cutters_of(shop), clearance=float(mill.contact_clearance) - 1e-6,
        tolerance=crown + ALWAYS_ALLOWED if crown else TOLERANCE,
        drive=drive_of(shop, material), facts=mill.facts, begun=begun,
    )  # fmt: skip
    found = (f for f in simulation.findings if f.kind != "unreadable")  # the reader has told that
    return program, simulation, (*program.problems, *describe_findings(found, text, path, OF_MILL))


def drive_of(shop: Shop, material: Material | None) -> Drive:
    """Return what turns and feeds the cutters of this shop."""
    own = shop.milling
    assert own.mill is not None
    speeds = {} if material is None else {c.number: material.speed[c.material][1] for c in own.cutters}
    return Drive(float(own.mill.slowest), float(own.mill.fastest), float(own.mill.rapid), speeds)


def cutters_of(shop: Shop) -> tuple[Cutter, ...]:
    """Every cutter of the shop file."""
    return tuple(as_cutter(c) for c in shop.milling.cutters)


def _title(own: PlannedMilling) -> str:
    if isinstance(own.asked, SquareJob):
        assert isinstance(own.plan, SquarePlan)
        return f"the {own.plan.milled.name} on {own.asked.asked.section}, X zero at its shoulder"
    return f"{own.asked.asked.name} in {own.asked.asked.section}, X zero at {own.asked.shoulder}"


def _notes(own: PlannedMilling, mill: Mill, part: Solved) -> tuple[str, ...]:
    off = part.off_before_mill
    tip = f"The tip is the {own.asked.tip} end of the part{f', once {off}' if off else ''}."
    if isinstance(own.task, SquareTask):
        assert isinstance(own.plan, SquarePlan)
        return (tip, *setting_up(own.task, own.plan, mill.units))
    assert isinstance(own.asked, HoleJob)
    return (tip, *setting_up_hole(own.task, own.asked.asked.hold.section, own.asked.shoulder, mill.units))
