"""The whole job: a part file and a shop file in; judged programs, summary, picture and record out.

The program text is what runs, so the text is what is judged: every program is read back by the standard's
own rules, compared with the moves that it was to say, and simulated. Setting 2 starts from what setting 1's
program left, not from what it should have left. Nothing is written here and nothing is printed.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from cam.frozen import frozen
from cam.problem import Problem, ProblemError, Where

if TYPE_CHECKING:
    from cam.geometry.path import Chain
    from cam.measure.records import Records
    from cam.moves.model import Move
    from cam.part.model import Part
    from cam.plan.model import Plan, SettingPlan
    from cam.rs274.model import Program, Rules
    from cam.setting.model import Setting
    from cam.shop.model import Shop
    from cam.simulate.model import Approach, Finding, Simulation
    from cam.simulate.sizes import Size
    from posts.dialect import Dialect

MOST_BYTES = 10_000_000
"""Size of the largest program text that is read."""

MENDS = {
    "contact": ("nothing touched", "move this motion away, or use a slimmer tool, a half centre, or more spare length"),
    "rapid in metal": ("rapids only in air", "make it a feed move, or go round the metal: X out first, X in last"),
    "gouge": ("no metal cut below the finished outline", "correct the word that goes too deep"),
    "leftover": ("no metal left above the finished outline", "correct the word that stays out, or add a pass"),
}
"""Kind of finding -> what would be right, and what to do."""

Tell = Callable[[str], None]
"""Is told each step as it begins, for a progress display."""


class RefusedError(ProblemError):
    """The files are right and the part can be held, but it may not be cut so; `draw_given` shows why."""


def _tell_nobody(step: str) -> None:
    """Keep quiet."""


@frozen
class Work:
    """One setting, from the plan to the judgement on its program.

    Attributes:
        planned: the setting's plan. moves: what the program was to say.
        file: name of the program's file, "setting-1.ngc". text: of the program.
        program: read back from the text. simulation: of what was read back.
        problems: why this program may not be cut; empty where it may.
    """

    planned: SettingPlan
    moves: tuple[Move, ...]
    file: str
    text: str
    program: Program
    simulation: Simulation
    problems: tuple[Problem, ...]

    @property
    def setting(self) -> Setting:
        """Who is held how."""
        return self.planned.setting


@frozen
class Job:
    """A whole job, judged.

    Attributes:
        dialect: of the programs. works: one for each setting, in order.
    """

    part: Part
    shop: Shop
    plan: Plan
    dialect: Dialect
    works: tuple[Work, ...]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Why nothing may be cut; empty where all may."""
        return tuple(p for work in self.works for p in work.problems)

    @property
    def closest(self) -> tuple[Work, Approach] | None:
        """The closest approach of the whole job to anything, and where; None if nothing moves."""
        return _nearest([(w, w.simulation.closest) for w in self.works])

    @property
    def closest_fixed(self) -> tuple[Work, Approach] | None:
        """The closest to anything but the work: centre, carrier, chuck, headstock; None if there is no such thing."""
        return _nearest([(w, w.simulation.closest_fixed) for w in self.works])

    def require_pass(self) -> None:
        """Raise what stands against cutting.

        Raises:
            RefusedError: every program's problems at once.
        """
        if self.problems:
            raise RefusedError(self.problems)


@frozen
class Verdict:
    """The judgement on one program text.

    Attributes:
        setting: that it was judged in, on stock (None: the setting's own).
        path: of the text. problems: why it may not be cut; empty where it may.
    """

    part: Part
    shop: Shop
    setting: Setting
    stock: Chain | None
    path: str
    program: Program
    simulation: Simulation
    problems: tuple[Problem, ...]


def _nearest(pairs: list[tuple[Work, Approach | None]]) -> tuple[Work, Approach] | None:
    found = [(work, approach) for work, approach in pairs if approach is not None]
    return min(found, key=lambda pair: pair[1].distance, default=None)


def read_given(part_path: str, shop_path: str | None = None) -> tuple[Part, Shop]:
    """Read the part file, and the shop file that it or the caller names.

    Args:
        part_path: of the part file.
        shop_path: of the shop file; None takes the part file's own word, relative to the part file.
    Raises:
        ProblemError: every problem of both files at once.
    """
    from cam.part import read_part
    from cam.shop import read_shop

    problems: list[Problem] = []
    part = shop = None
    try:
        part = read_part(part_path, read_log(part_path))
    except ProblemError as found:
        problems += found.problems
    if shop_path is None and part is not None:
        if part.shop:
            shop_path = str(Path(part_path).parent / part.shop)
        else:
            problems.append(_no_shop(part_path))
    if shop_path is not None:
        try:
            shop = read_shop(shop_path)
        except ProblemError as found:
            problems += found.problems
    if part is None or shop is None or problems:
        raise ProblemError(problems)
    return fit_to_shop(part, shop), shop


def fit_to_shop(part: Part, shop: Shop) -> Part:
    """The part with the corners that this shop's tools will leave taken into its lengths.

    Raises:
        ProblemError: no length is left for a section.
    """
    if part.measured is None:
        return part
    from cam.measure.whole import with_noses

    return with_noses(part, [float(t.nose_radius) for t in shop.tools if t.kind == "turning" and t.hand == "right"])


def read_log(part_path: str) -> Records | None:
    """What was recorded of a part; None where nothing was.

    Raises:
        ProblemError: the log cannot be read.
    """
    if not os.path.lexists(os.path.splitext(part_path)[0] + ".log"):  # noqa: PTH122 - a name that Path cannot take
        return None
    from cam.measure.records import read_records

    return read_records(part_path)


def make_job(
    part_path: str, shop_path: str | None = None, *, dialect: str | None = None, tell: Tell = _tell_nobody
) -> Job:
    """Plan the part, write each setting's program as text, read that back and judge it.

    Args:
        part_path: of the part file.
        shop_path: of the shop file; None takes the part file's own word.
        dialect: of the programs; None takes the shop file's.
        tell: is told each step as it begins.
    Returns:
        The job; what was found against a program is in its problems and is not raised.
    Raises:
        ProblemError: a file is wrong, or the part cannot be held.
        RefusedError: no plan can be made.
        MisreadError: a program does not say what was planned; our own fault.
    """
    from cam.plan import plan_job
    from cam.setting import settle

    tell("reading the part and the shop")
    part, shop = read_given(part_path, shop_path)
    chosen = choose_dialect(dialect, shop)
    tell("planning")
    try:
        plan = plan_job(part, shop)
    except ProblemError as found:
        settle(part, shop)  # raises the same where the part cannot even be held
        raise RefusedError(found.problems) from found
    return judge_plan(plan, chosen, tell=tell)


def judge_plan(plan: Plan, dialect: Dialect, *, tell: Tell = _tell_nobody) -> Job:
    """Write each setting's program as text, read that back and judge it.

    Raises:
        ProblemError: the dialect cannot say something that is planned.
        MisreadError: a program does not say what was planned; our own fault.
    """
    works: list[Work] = []
    for planned in plan.settings:
        works.append(_work(plan, planned, dialect, works[-1] if works else None, tell))
    return Job(part=plan.part, shop=plan.shop, plan=plan, dialect=dialect, works=tuple(works))


def choose_dialect(name: str | None, shop: Shop) -> Dialect:
    """The dialect of a name, or where that is None the shop's own.

    Raises:
        ProblemError: there is no such dialect, or its file is wrong.
    """
    from posts.dialect import load_dialect

    if name is not None:
        return load_dialect(name, where=Where(path="--dialect"))
    return load_dialect(shop.lathe.control.dialect, where=Where(path=shop.path, line=shop.lathe.where.line))


def _work(plan: Plan, planned: SettingPlan, dialect: Dialect, before: Work | None, tell: Tell) -> Work:
    """Write one setting's program, read it back, compare, and simulate it."""
    from cam.moves import make_moves
    from cam.reread import check_said
    from cam.rs274 import read_program
    from cam.simulate import simulate
    from posts.program import emit_program

    setting, control = planned.setting, plan.shop.lathe.control
    file = f"setting-{setting.number}.ngc"
    tell(f"writing the program of setting {setting.number}")
    moves = make_moves(planned, plan.shop)
    text = emit_program(
        moves, plan=plan, setting_plan=planned, dialect=dialect, units=control.units, x_words=control.x_words
    )
    tell(f"reading the program of setting {setting.number} back")
    program = read_program(text, rules_of(dialect, plan.shop), file)
    if not program.problems:
        check_said(moves, program, dialect, control, file)
    tell(f"simulating setting {setting.number}")
    stock = None
    if before is not None and not _really_cut(plan.part):
        stock = move_outline(before.simulation.result, before.setting, setting)
    simulation = simulate(program, setting, plan.shop, stock=stock, require_proof=True)
    problems = (*program.problems, *describe_findings(simulation.findings, text, file))
    return Work(
        planned=planned,
        moves=moves,
        file=file,
        text=text,
        program=program,
        simulation=simulation,
        problems=tuple(problems),
    )


def _really_cut(part: Part) -> bool:
    """Whether sizes are recorded as they were really cut: then the work is that, and not what the text would leave."""
    if part.measured is None:
        return False
    from cam.measure.whole import measured_of

    measured = measured_of(part)
    return measured is not None and bool(measured.actuals or measured.stops)


def rules_of(dialect: Dialect, shop: Shop) -> Rules:
    """How a text of this dialect is read for this shop's control."""
    from cam.rs274.model import Rules

    eia = dialect.text("STANDARD") == "EIA-274-D"
    return Rules(standard="EIA-274-D" if eia else "NISTIR 6556", x_words=shop.lathe.control.x_words)


def move_outline(chain: Chain, old: Setting, new: Setting) -> Chain:
    """An outline in one setting's axes, given in another's: from the tailstock end to the headstock again.

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


def judge_program(
    program_path: str, part_path: str, number: int, shop_path: str | None = None, *, dialect: str | None = None
) -> Verdict:
    """Judge any program text, also one edited by hand, against one setting of a part.

    Args:
        program_path: of the text.
        part_path: of the part file.
        shop_path: of the shop file; None takes the part file's own word.
        number: of the setting.
        dialect: that the text is written in; None takes the shop file's.
    Returns:
        What was found; problems in the text are in it and not raised.
    Raises:
        ProblemError: a file cannot be read, a wrong part or shop, no such setting or dialect.
    """
    from cam.rs274 import read_program
    from cam.setting import settle
    from cam.simulate import simulate

    text = read_text(program_path)
    part, shop = read_given(part_path, shop_path)
    settings = {s.number: s for s in settle(part, shop)}
    if number not in settings:
        raise ProblemError([no_such_setting(part, number, list(settings))])
    program = read_program(text, rules_of(choose_dialect(dialect, shop), shop), program_path)
    stock = _left_before(part, settings, number)
    simulation = simulate(program, settings[number], shop, stock=stock)
    problems = (*program.problems, *describe_findings(simulation.findings, text, program_path))
    return Verdict(
        part=part,
        shop=shop,
        setting=settings[number],
        stock=stock,
        path=program_path,
        program=program,
        simulation=simulation,
        problems=problems,
    )


def judge_lost_motion(verdict: Verdict, lost_motion: str) -> tuple[Size, ...]:
    """The sizes that a program would really cut on slides with lost motion.

    Args:
        lost_motion: of both slides, with its unit; "shop" takes each slide's own from the shop file.
    Raises:
        ProblemError: that is no length.
    """
    from cam.simulate.sizes import cut_sizes
    from cam.units import LENGTH, QuantityError, parse

    lathe = verdict.shop.lathe
    x, z = float(lathe.x.lost_motion), float(lathe.z.lost_motion)
    if lost_motion != "shop":
        try:
            x = z = parse(lost_motion, LENGTH, least=0.0, most=5.0)
        except QuantityError as error:
            where = Where(path="--lost-motion")
            problem = Problem(where=where, what=str(error), given=lost_motion, allowed="shop, or a length")
            raise ProblemError([problem]) from error
    return cut_sizes(verdict.program, verdict.setting, verdict.shop, x, z, stock=verdict.stock)


def _left_before(part: Part, settings: dict[int, Setting], number: int) -> Chain | None:
    """The deepest that the setting before may have cut, in the axes of this one; None for the first setting.

    No more can be asked of a program judged by itself: metal that its forerunner may have left is not its to meet.
    None too where sizes are recorded as really cut: then the setting's own stock is what there is.
    """
    before = settings.get(number - 1) if not _really_cut(part) else None
    return None if before is None else move_outline(before.least, before, settings[number])


def job_files(job: Job) -> dict[str, bytes]:
    """Every file that the job writes but the record: name -> content.

    Raises:
        RefusedError: a program may not be cut, so there is nothing to write.
    """
    job.require_pass()
    files = {work.file: work.text.encode() for work in job.works}
    files["summary.txt"] = write_job_summary(job).encode()
    files["plot.svg"] = draw_job(job).encode()
    return files


def write_job_summary(job: Job) -> str:
    """The cutting summary, plain text.

    Raises:
        RefusedError: a program may not be cut.
    """
    from posts.summary import write_summary

    job.require_pass()
    nearest = [(w.setting.number, w.simulation.closest_fixed or w.simulation.closest) for w in job.works]
    return write_summary(job.plan, closest={n: say_approach(a, job.part.unit) for n, a in nearest if a is not None})


def say_approach(approach: Approach, unit: str) -> str:
    """How near, and what to what: "0.350 mm, tool 1 nose to the centre cone"."""
    from cam.units import show_length

    distance = show_length(approach.distance, unit, 4 if unit == "in" else 3)
    return f"{distance}, tool {approach.tool} {approach.body} to the {approach.obstacle}"


def draw_job(job: Job) -> str:
    """The picture, SVG; of a job with problems too, with what was hit marked."""
    from cam.picture import draw_plot

    return draw_plot(job.plan, tuple(w.simulation for w in job.works), tuple(w.program for w in job.works))


def draw_given(
    part_path: str, shop_path: str | None = None, *, tell: Tell = _tell_nobody
) -> tuple[str, tuple[Problem, ...]]:
    """Draw a part's job, also one that is refused: then as it would have been, with what it hits marked.

    Returns:
        SVG text, and why the job may not be cut (empty where it may).
    Raises:
        ProblemError: a file is wrong, or the part cannot even be held.
    """
    from cam.plan import plan_job
    from cam.plan.blind import plan_blindly

    part, shop = read_given(part_path, shop_path)
    dialect = choose_dialect(None, shop)
    try:
        job = judge_plan(plan_job(part, shop), dialect, tell=tell)
    except ProblemError as refused:
        return _draw_refused(plan_blindly(part, shop), dialect, tell), refused.problems
    return draw_job(job), job.problems


def _draw_refused(plan: Plan, dialect: Dialect, tell: Tell) -> str:
    from cam.picture import draw_plot

    try:
        return draw_job(judge_plan(plan, dialect, tell=tell))
    except ProblemError:  # the dialect cannot say it: there is no text to judge
        return draw_plot(plan, (), ())


def picture_bytes(svg: str, path: str) -> bytes:
    """The picture in the form that a file's name asks for.

    Raises:
        ProblemError: a name that ends in neither .svg, .png nor .pdf.
    """
    kind = Path(path).suffix.lower()
    if kind == ".svg":
        return svg.encode()
    if kind not in (".png", ".pdf"):
        raise ProblemError(
            [
                Problem(
                    where=Where(path=path),
                    what="does not say what kind of picture it is to be",
                    given=kind or "no ending",
                    allowed=".svg, .png or .pdf",
                )
            ]
        )
    from cam.picture import convert_plot

    return convert_plot(svg, "png" if kind == ".png" else "pdf")


def read_text(path: str) -> str:
    """A program's text as it stands in the file, line ends and all.

    Raises:
        ProblemError: it is not there, too large, or not text.
    """
    where = Where(path=path)
    try:
        with Path(path).open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as fault:
        raise ProblemError([Problem(where=where, what="cannot be read", given=fault.strerror or str(fault))]) from fault
    if len(data) > MOST_BYTES:
        what = "is too large to be a program"
        raise ProblemError([Problem(where=where, what=what, allowed=f"up to {MOST_BYTES // 1_000_000} MB")])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        problem = Problem(
            where=Where(path=path, line=line),
            what="is not text",
            given=f"byte {data[fault.start]:#04x}",
            allowed="plain ASCII, or UTF-8 in comments",
        )
        raise ProblemError([problem]) from fault


def describe_findings(findings: tuple[Finding, ...], text: str, path: str) -> list[Problem]:
    """What a simulation found, as problems of the program text: its line as given."""
    lines = text.splitlines()
    problems = []
    for finding in findings:
        given = lines[finding.line - 1].strip() if 0 < finding.line <= len(lines) else ""
        allowed, mend = MENDS.get(finding.kind, ("", ""))
        where = Where(path=path, line=finding.line)
        problems.append(Problem(where=where, what=finding.what, given=given, allowed=allowed, mend=mend))
    return problems


def no_such_setting(part: Part, number: int, there_are: list[int]) -> Problem:
    """A setting was asked for that the part does not have, or not yet."""
    if part.waits and number == 2:
        return wait_for(part)
    return Problem(
        where=Where(path=part.path),
        what="the part has no such setting",
        given=f"--setting {number}",
        allowed=" or ".join(str(n) for n in there_are),
    )


def wait_for(part: Part) -> Problem:
    """Setting 2 cannot be planned yet: what to measure, and how to give it."""
    from cam.measure.whole import measured_of

    measured = measured_of(part)
    assert measured is not None
    wanted = [m for m in measured.measurements if m.name in part.waits]
    sections = ", ".join(f'"{s.name}"' for s in part.sections if s.length != s.length)
    return Problem(
        where=wanted[0].where,
        what="setting 2 cannot be planned yet: it waits for a measurement",
        given=f"{' and '.join(chr(34) + m.name + chr(34) for m in wanted)}; by it come the faces of {sections}",
        allowed="; ".join(f"{m.name}: {m.taken_with}" for m in wanted),
        mend="; ".join(f'endshake record {part.path} "{m.name}" "... mm"' for m in wanted) + ", then make again",
    )


def _no_shop(part_path: str) -> Problem:
    return Problem(
        where=Where(path=part_path),
        what="no shop file is named",
        allowed='shop = "shop.toml" in the part file, above its first table; relative to the part file',
        mend="write that line, or say --shop FILE",
    )
