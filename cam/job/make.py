"""Make judged programs from a part and a shop.

The program text is what runs, so the text is what is judged: every program is read back by the standard's
own rules, compared with the moves that it was to say, and simulated. Setting 2 starts from what setting 1's
program left, not from what it should have left. Nothing is written here and nothing is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from cam.ground.frozen import Row
from cam.ground.problem import Problem, ProblemError, blame_us
from cam.job.dialects import fit_lathe, reading_back
from cam.job.given import choose_dialect, read_given
from cam.job.mill import add_mill, check_mill, plan_mill
from cam.job.model import Job, RefusedError, Work

if TYPE_CHECKING:
    from cam.geometry.path import Chain
    from cam.ground.source import Source
    from cam.lengths.solved import Solved
    from cam.plan.model import Plan, SettingPlan
    from cam.rs274.model import Rules
    from cam.setting.model import Setting
    from cam.shop.model import Shop
    from posts.dialect import Dialect


Tell = Callable[[str], None]
"""A function that is told each step as it begins, for a progress display."""


def tell_nobody(step: str) -> None:
    """Say nothing."""


def make_job(
    part_path: str, shop_path: str | None = None, *, dialect: str | None = None, mill_dialect: str | None = None,
    piece: str = "", tell: Tell = tell_nobody,
) -> Job:  # fmt: skip
    """Plan the part, write each program of the lathe and of the mill as text, read it back and judge it.

    Args:
        part_path: path of the part file.
        shop_path: path of the shop file; None takes the one that the part file names.
        dialect, mill_dialect: of the lathe's and the mill's programs; None takes the shop file's.
        piece: name of one of several workpieces; "" for one alone.
        tell: is told each step as it begins.
    Returns:
        The job. What was found against a program is in its problems and is not raised.
    Raises:
        ProblemError: a file is wrong, or the part cannot be held.
        RefusedError: no plan can be made.
        MisreadError: a program does not say what was planned; our own fault.
    """
    tell("reading the part and the shop")
    return _make(*read_given(part_path, shop_path, piece), dialect, mill_dialect, tell)


def make_said(source: Source, shop: Shop, *, tell: Tell = tell_nobody) -> Job:
    """Make the job of a part file that is not written yet, as make_job makes one.

    Args:
        source: its text. shop: the shop that it is for.
    """
    from cam.lengths.solve import solve
    from cam.part.read import asked_of

    return _make(solve(asked_of(source), shop.noses), shop, None, None, tell)


def _make(part: Solved, shop: Shop, dialect: str | None, mill_dialect: str | None, tell: Tell) -> Job:
    from cam.lengths.behind import tell_records
    from cam.plan import plan_job
    from cam.setting import settle

    chosen = choose_dialect(dialect, shop)
    tell("planning")
    try:
        plan = plan_job(part, shop)
    except ProblemError as found:
        settle(part, shop)  # raises the same where the part cannot even be held
        raise RefusedError((*tell_records(part, found.problems), *check_mill(part, shop))) from found
    planned = plan_mill(part, shop)
    return add_mill(judge_plan(plan, chosen, tell=tell), planned, mill_dialect, tell)


class Tried(Row):
    """A job as far as it could be made, so that a refused job can still be drawn.

    Attributes:
        job: None where the lathe's share cannot be planned or said.
        problems: all that stands against it. mill: those of them for which the mill's share is missing.
    """

    part: Solved
    shop: Shop
    dialect: Dialect
    job: Job | None
    problems: tuple[Problem, ...]
    mill: tuple[Problem, ...] = ()


def try_job(part_path: str, shop_path: str | None, tell: Tell, piece: str = "") -> Tried:
    """Make a job as far as it goes; what refuses it is kept and not raised.

    Raises:
        ProblemError: a file is wrong.
    """
    from cam.lengths.behind import tell_records
    from cam.plan import plan_job

    part, shop = read_given(part_path, shop_path, piece)
    dialect = choose_dialect(None, shop)
    tell("planning")
    try:
        job = judge_plan(plan_job(part, shop), dialect, tell=tell)
    except ProblemError as refused:
        return Tried(part, shop, dialect, None, (*tell_records(part, refused.problems), *check_mill(part, shop)))
    try:
        job = add_mill(job, plan_mill(part, shop), None, tell)
    except ProblemError as refused:
        return Tried(part, shop, dialect, job, (*job.problems, *refused.problems), refused.problems)
    return Tried(part, shop, dialect, job, job.problems)


def judge_plan(plan: Plan, dialect: Dialect, *, tell: Tell = tell_nobody) -> Job:
    """Write each setting's program as text, read it back and judge it.

    Raises:
        ProblemError: the dialect cannot say something that is planned.
        MisreadError: a program does not say what was planned; our own fault.
    """
    plan = replace(plan, shop=fit_lathe(plan.shop, dialect))
    works: list[Work] = []
    for planned in plan.settings:
        works.append(_work(plan, planned, dialect, works[-1] if works else None, tell))
    return Job(part=plan.part, shop=plan.shop, plan=plan, dialect=dialect, works=tuple(works))


def _work(plan: Plan, planned: SettingPlan, dialect: Dialect, before: Work | None, tell: Tell) -> Work:
    """Write one setting's program, read it back, compare it and simulate it."""
    from cam.job.reread import check_said, form_of
    from cam.judge import simulate
    from cam.judge.fixes import describe_findings
    from cam.moves import make_moves
    from cam.rs274 import read_program
    from posts.program import emit_program

    setting, control = planned.setting, plan.shop.lathe.control
    file = f"setting-{setting.number}.ngc"
    tell(f"writing out setting {setting.number}")
    moves = make_moves(planned, plan.shop)
    text = emit_program(
        moves, plan=plan, setting_plan=planned, dialect=dialect, units=control.units, x_words=control.x_words
    )
    tell(f"reading setting {setting.number} back")
    program = read_program(text, rules_of(dialect, plan.shop), file)
    with reading_back(dialect, text, program.problems, "TEMPLATE"):
        if not program.problems:
            check_said(moves, program, form_of(dialect, plan.shop.lathe), file)
    tell(f"simulating setting {setting.number}")
    stock = stock_after(before, setting, plan.part)
    material = plan.shop.materials[plan.part.stock.material]
    simulation = simulate(program, setting, plan.shop, stock=stock, material=material, stops=True)
    found = (*program.problems, *describe_findings(simulation.findings, text, file))
    problems = tuple(_blame(setting, plan.part, found))
    # of a text of ours: nobody forgot the slip; and by hand there is no text that anybody reads
    worth = (replace(f, kind=f.kind.replace("not tried", "no room to try")) for f in simulation.warnings)
    warnings = () if plan.shop.lathe.by_hand else tuple(describe_findings(worth, text, file))
    return Work(
        planned=planned, moves=moves, file=file, text=text, program=program, simulation=simulation, problems=problems,
        warnings=warnings,
    )  # fmt: skip


def _blame(setting: Setting, part: Solved, problems: Iterable[Problem]) -> Iterable[Problem]:
    """Return the problems of a program that we wrote: our fault, unless records move last cuts away from the plan."""
    from cam.lengths.behind import rest_on

    measured = part.measured
    if measured is None or not setting.corrections:
        return blame_us(problems)
    moved = {c.along or c.section for c in setting.corrections}
    stops = [s for s in measured.stops if s.target.of in moved]
    again = "measure again; where it reads so again a zero is off: withdraw these and record it with --zero"
    return (rest_on(replace(p, fix=again), part.path, stops) for p in problems)


def stock_after(before: Work | None, setting: Setting, part: Solved) -> Chain | None:
    """Return the metal that a setting starts from: what the text before left; None if it is the setting's own stock."""
    if before is None or really_cut(part):
        return None
    return move_outline(before.simulation.result, before.setting, setting)


def really_cut(part: Solved) -> bool:
    """Tell whether sizes are recorded as really cut: then the work is that, and not what the text would leave."""
    measured = part.measured
    return measured is not None and bool(measured.actuals or measured.stops)


def rules_of(dialect: Dialect, shop: Shop) -> Rules:
    """Return how a text of this dialect is read for this shop's control."""
    from cam.job.reread import rules_for

    return rules_for(dialect, shop.lathe.control)


def move_outline(chain: Chain, old: Setting, new: Setting) -> Chain:
    """Move an outline from one setting's axes to another's: from the tailstock end to the headstock again.

    Where the part is turned end for end, the mirror turns each arc round and the reversal turns it back.
    """
    from cam.geometry.path import Arc, Line, Point

    def move(point: Point) -> Point:
        return Point(new.to_setting(old.to_part(point.z)), point.x)

    reversed_ends = old.sign != new.sign
    moved: list[Line | Arc] = []
    for piece in reversed(chain) if reversed_ends else chain:
        ends = (piece.end, piece.start) if reversed_ends else (piece.start, piece.end)
        start, end = (move(p) for p in ends)
        if isinstance(piece, Arc):
            moved.append(Arc(start, end, move(piece.centre), piece.turn))
        else:
            moved.append(Line(start, end))
    return tuple(moved)
