"""The mill's share of a job: square and cross holes planned, written, read back and judged by their text.

It is the same way as for a setting: the text is what runs, so the text is what is judged. Imported only for parts that
the mill works on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from cam.frozen import frozen
from cam.mill.model import Cutter, MillWork, Move
from cam.mill.plan_hole import HolePlan, HoleTask, plan_cross_hole
from cam.mill.plan_square import SquarePlan, SquareTask, plan_square
from cam.mill.read import MillProgram, read_mill_program
from cam.mill.result import MillSimulation
from cam.mill.said import first_slip
from cam.mill.setting_up import setting_up
from cam.mill.settle import HoleJob, MillJobs, SquareJob, as_cutter, settle_mill
from cam.mill.simulate import TOLERANCE, simulate_mill
from cam.problem import Problem, ProblemError, Where
from cam.reread import MisreadError
from cam.rs274.model import Rules
from cam.shop.mill import Mill, milling_of

if TYPE_CHECKING:
    from cam.part.model import Part
    from cam.shop.model import Shop
    from posts.dialect import Dialect

Tell = Callable[[str], None]

SQUARE, HOLE = "square", "cross-hole"
"""Names of the mill's jobs, as the command line and the files have them; further holes are cross-hole-2 and so on."""

MENDS = {
    "contact": ("nothing touched", "move this motion away, or let the work stand out farther"),
    "too near": ("the mill's contact_clearance kept", "move this motion away"),
    "rapid in metal": ("rapids only in air", "make it a feed move, or go over the work"),
    "gouge": ("no metal cut below the wanted form", "correct the word that goes too deep"),
    "leftover": ("no metal left above the wanted form", "correct the word that stays out, or add a pass"),
}
"""Kind of finding -> what would be right, and what to do."""

ALWAYS_ALLOWED = 0.0005
"""What a face may lie above or below the wanted one beside a ramp's crown, mm."""


@frozen
class MillProgramJob:
    """One program of the mill, from the plan to the judgement.

    Attributes:
        name: "square" or "cross-hole". file: "square.ngc". title: what it makes, in words.
        asked: the square or the hole as asked. task: as it was planned. plan: what came of it.
        notes: how it is set up. text, program, simulation: written, read back, judged.
        problems: why it may not be cut.
    """

    name: str
    file: str
    title: str
    asked: SquareJob | HoleJob
    task: SquareTask | HoleTask
    plan: SquarePlan | HolePlan
    notes: tuple[str, ...]
    text: str
    program: MillProgram
    simulation: MillSimulation
    problems: tuple[Problem, ...]


@frozen
class MillJob:
    """All that the mill does to a part, cross holes first: a small tap breaks before most work has gone into the part.

    Attributes:
        dialect: of its programs. waits: what cannot be planned before a measurement is recorded.
    """

    mill: Mill
    dialect: Dialect
    works: tuple[MillProgramJob, ...]
    waits: tuple[str, ...]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Why it may not be cut."""
        return tuple(p for work in self.works for p in work.problems)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Worth knowing."""
        return tuple(sorted({w for work in self.works for w in work.plan.warnings}))


def check_mill(part: Part, shop: Shop) -> list[Problem]:
    """What stands against the mill's share of a part, planned but not written."""
    try:
        jobs = settle_mill(part, shop)
        if jobs is not None:
            _plans(jobs)
    except ProblemError as found:
        return list(found.problems)
    return []


def make_mill_job(part: Part, shop: Shop, *, dialect: str | None, tell: Tell) -> MillJob | None:
    """Plan, write, read back and judge; None for a part that the mill does not work on.

    Args:
        dialect: of the programs; None takes the shop file's.
        tell: is told each step as it begins.
    Raises:
        ProblemError: it cannot be made so, or the dialect cannot say it.
        MisreadError: a program does not say what was planned; our own fault.
    """
    from posts.dialect import load_dialect  # noqa: PLC0415 - what is planned is checked first

    jobs = settle_mill(part, shop)
    if jobs is None:
        return None
    mill = milling_of(shop).mill
    assert mill is not None
    tell("planning the mill's work")
    plans = _plans(jobs)
    where = Where(path="--dialect") if dialect else Where(path=shop.path, line=mill.where.line)
    chosen = load_dialect(dialect or mill.dialect, where=where)
    works = []
    for name, asked, task, plan in plans:
        tell(f"writing, reading and judging the program {name}")
        works.append(_work(part, shop, mill, chosen, name, asked, task, plan))
    return MillJob(mill=mill, dialect=chosen, works=tuple(works), waits=jobs.waits)


Planned = tuple[str, SquareJob | HoleJob, SquareTask | HoleTask, SquarePlan | HolePlan]


def _plans(jobs: MillJobs) -> list[Planned]:
    """Every plan, cross holes first.

    Raises:
        ProblemError: everything that cannot be planned, at once.
    """
    plans: list[Planned] = []
    wrong: list[Problem] = []
    for number, hole in enumerate(jobs.holes, 1):
        name = HOLE if number == 1 else f"{HOLE}-{number}"
        try:
            plans.append((name, hole, hole.task, plan_cross_hole(hole.task)))
        except ProblemError as found:
            wrong += found.problems
    if jobs.square is not None:
        try:
            plans.append((SQUARE, jobs.square, *_square_plan(jobs.square)))
        except ProblemError as found:
            wrong += found.problems
    if wrong:
        raise ProblemError(wrong)
    return plans


def _square_plan(job: SquareJob) -> tuple[SquareTask, SquarePlan]:
    """The plan with the largest end mill that has room; where none has, what the largest one meets.

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


def _work(
    part: Part, shop: Shop, mill: Mill, dialect: Dialect, name: str, asked: SquareJob | HoleJob,
    task: SquareTask | HoleTask, plan: SquarePlan | HolePlan,
) -> MillProgramJob:  # fmt: skip
    """Write one program, read it back, compare, and judge it."""
    from posts.mill import emit_mill  # noqa: PLC0415 - what is planned is checked first

    title, notes = _title(asked, plan), _notes(task, plan, mill)
    text = emit_mill(plan.moves, title=title, notes=notes, part=part, shop=shop, mill=mill, dialect=dialect)
    file = f"{name}.ngc"
    program, simulation, problems = judge_text(text, file, plan, shop, dialect)
    if not program.problems:
        unit = "MM" if mill.units == "mm" else "INCH"
        digit = 10.0 ** -dialect.count(f"DECIMALS_{unit}") * (1.0 if mill.units == "mm" else 25.4)
        if slip := first_slip(plan.moves, program, digit):
            raise MisreadError(f"{file}: {slip}")
    return MillProgramJob(
        name=name, file=file, title=title, asked=asked, task=task, plan=plan, notes=notes, text=text, program=program,
        simulation=simulation, problems=problems,
    )  # fmt: skip


def judge_text(
    text: str, path: str, plan: SquarePlan | HolePlan, shop: Shop, dialect: Dialect
) -> tuple[MillProgram, MillSimulation, tuple[Problem, ...]]:
    """Read a text and judge it against what is wanted of the work; of the plan only that is used, not its moves."""
    found = milling_of(shop)
    assert found.mill is not None
    standard = "EIA-274-D" if dialect.text("STANDARD") == "EIA-274-D" else "NISTIR 6556"
    program = read_mill_program(text, Rules(standard=standard, x_words="radius"), path)  # type: ignore[arg-type]
    crown = plan.crown if isinstance(plan, SquarePlan) else 0.0
    simulation = simulate_mill(
        program, plan.work, cutters_of(shop), clearance=float(found.mill.contact_clearance) - 1e-6,
        tolerance=crown + ALWAYS_ALLOWED if crown else TOLERANCE, rapid=float(found.mill.rapid),
    )  # fmt: skip
    lines = text.splitlines()
    problems = list(program.problems)
    for f in simulation.findings:
        given = lines[f.line - 1].strip() if 0 < f.line <= len(lines) else ""
        allowed, mend = MENDS.get(f.kind, ("", ""))
        problems.append(
            Problem(where=Where(path=path, line=f.line), what=f.what, given=given, allowed=allowed, mend=mend)
        )
    return program, simulation, tuple(problems)


def cutters_of(shop: Shop) -> tuple[Cutter, ...]:
    """Every cutter of the shop file."""
    return tuple(as_cutter(c) for c in milling_of(shop).cutters)


def work_of(plan: SquarePlan | HolePlan) -> tuple[MillWork, tuple[Move, ...]]:
    """What a plan's program is judged against, and its moves."""
    return plan.work, plan.moves


def _title(asked: SquareJob | HoleJob, plan: SquarePlan | HolePlan) -> str:
    if isinstance(asked, SquareJob):
        assert isinstance(plan, SquarePlan)
        return f"the {plan.milled.name} on {asked.asked.section}"
    return f"{asked.asked.name} in {asked.asked.section}, X nought at {asked.shoulder}"


def _notes(task: SquareTask | HoleTask, plan: SquarePlan | HolePlan, mill: Mill) -> tuple[str, ...]:
    if isinstance(task, SquareTask):
        assert isinstance(plan, SquarePlan)
        return setting_up(task, plan, mill.units)
    return ("X, Y and Z are set at the first stop, which says how.",)
