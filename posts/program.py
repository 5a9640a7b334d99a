"""Turns moves into program text in one dialect, through that dialect's template."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any, Literal

from jinja2 import TemplateError

from cam.ground.figures import inward
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.units import MM_PER_INCH, decimals_of, gauge_decimals
from cam.ground.version import VERSION
from cam.moves.model import ChangeTool, Feed, FeedArc, Move, Rapid, Stop
from cam.plan.model import Measure, Pass, Plan, SettingPlan
from cam.plan.tried import TOLD_INCH, TOLD_MM
from cam.setting.model import Correction, Setting
from cam.shop.model import Lathe
from posts.control import context_of, words_of
from posts.dialect import Dialect
from posts.environment import find_template
from posts.far_side import far_side
from posts.shown import STEEP, bare_at, blades_in, correct_at, gap_at, lengths_in, shown_at, tapers_in, uncut_at
from posts.steps import NumberForm, Speech, Step, choose_form, name_move, steps_of
from posts.wording import number, plain

ONCE = 0.02
"""Nobody sets X by so small a share more than once what a gap shows."""
BY_EYE = 0.5
"""How far off the place that is said for it a tool is left by hand, mm; common practice, no source."""


def emit_program(
    moves: Sequence[Move],
    *,
    plan: Plan,
    setting_plan: SettingPlan,
    dialect: Dialect,
    units: Literal["mm", "in"],
    x_words: Literal["radius", "diameter"],
) -> str:
    """Write the program of one setting: plain ASCII, every line ended by a line feed.

    Args:
        moves: the moves of this setting, radii in mm.
        units: units of the program text. x_words: whether X words are radii or diameters.
    Raises:
        ProblemError: the dialect cannot say something; the move is named, and nothing is written.
    """
    lathe = plan.shop.lathe
    if x_words not in dialect.texts("X_WORDS"):
        raise ProblemError([_no_such_x(moves, dialect, x_words, lathe.where)])
    form = choose_form(dialect, units, x_words, per_revolution=lathe.spindle.feeds_per_revolution)
    facts = lathe.control.facts
    words = words_of(facts, dialect, lathe.where, tools_of(moves))
    if form.per_revolution and dialect.text("FEED_PER_MINUTE") in facts.leave_out and _runs_in_air(moves):
        raise ProblemError([_no_feed_in_air(dialect, lathe)])
    length, proof = length_in(form), setting_plan.proof_diameter / 2
    speech = Speech(
        dialect=dialect, form=form, control=words, where=Where(path=plan.part.path),
        lines={section.name: section.where for section in plan.part.sections},
        shown=lambda stop: shown_at(stop, length, proof, words.width, [s.name for s in plan.part.sections]),
    )  # fmt: skip
    steps = steps_of(moves, speech)
    own = _context(plan, setting_plan, dialect, form, steps)
    about = {"part": plan.part, "shop": plan.shop, "units": units, "x_words": x_words}
    return write(speech, steps, "TEMPLATE", words="words.ngc.j2", **about, **own)


def write(speech: Speech, steps: Sequence[Step], fact: str, **own: Any) -> str:
    """Write the text of steps by the dialect's template; own: what this machine's words need besides.

    Args:
        fact: the fact that names the template.
    Raises:
        ProblemError: the template cannot be used, or writes what the dialect does not allow.
    """
    dialect, passes = speech.dialect, max((s.number for s in steps), default=0)
    numbers = LineNumbers(dialect, max(passes, 1), steps)
    tools = list({s.tool.number: s.tool for s in steps if s.kind == "tool" and s.tool}.values())
    context = {
        "version": VERSION, "dialect": dialect, "mill": None, "spin_up": "",
        "d": SimpleNamespace(**{name: fact.value for name, fact in dialect.facts.items()}),
        "steps": steps, "tools": tools, "passes": passes, "per_revolution": speech.form.per_revolution,
        "line": numbers.next, "restart": numbers.restart, "number_of": numbers.first,
    }  # fmt: skip
    folder = None if dialect.built_in else dialect.path.parent
    try:
        text = find_template(dialect.text(fact), folder).render(context | own | context_of(speech.control))
    except TemplateError as error:
        raise ProblemError([_bad_template(dialect, error, fact)]) from error
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        if dialect.built_in:
            raise
        raise ProblemError([_bad_template(dialect, error, fact)]) from error
    _check_text(text, dialect, fact)
    return text


def tools_of(moves: Sequence[Move]) -> list[int]:
    """Return the number of every tool that is brought into use, in order."""
    return [m.tool.number for m in moves if isinstance(m, ChangeTool)]


def length_in(form: NumberForm, decimals: Callable[[str], int] = decimals_of) -> Callable[[float], str]:
    """Return the function that says a length, mm, in program units, as fine as can be measured.

    Args:
        decimals: returns how many a unit has; gauge_decimals for what callipers show.
    """
    return lambda mm: number(mm * form.scale, decimals(form.unit))


def limits_in(form: NumberForm) -> Callable[[float, float], str]:
    """Return the function that says limits, mm, in program units, rounded inward as the pages' are."""
    length = length_in(form)
    return lambda least, most: " to ".join(map(length, inward(least, most, form.unit, decimals_of(form.unit))))


def _runs_in_air(moves: Sequence[Move]) -> bool:
    """Tell whether the sense of arcs is proved in air, which is fed per minute because the spindle stands still."""
    return any(isinstance(move, FeedArc) and move.minute for move in moves)


def _no_feed_in_air(dialect: Dialect, lathe: Lathe) -> Problem:
    word = dialect.text("FEED_PER_MINUTE")
    what = f"the sense of arcs cannot be proved in air: that needs feed per minute, {word}, as the spindle stands"
    fix = (
        'write proved = { "arcs" = "the date on which that was seen" }, or arcs = "lines", or feeds_per_revolution '
        "= false"
    )
    return problem(lathe.where, what, f"leave_out has {word}, and feeds are per revolution", fix=fix)


def _no_such_x(moves: Sequence[Move], dialect: Dialect, x_words: str, where: Where) -> Problem:
    first = next((m for m in moves if isinstance(m, Rapid | Feed | FeedArc)), None)
    move = f"the first motion, {name_move(first)}"
    what = f"{dialect.name} cannot say X as a {x_words}"
    fix = "let the control read X as a radius and say so in the shop file, or choose a dialect that has diameters"
    return problem(where, what, f'x_words = "{x_words}"; {move}', " or ".join(dialect.texts("X_WORDS")), fix)


def _bad_template(dialect: Dialect, error: Exception, template: str) -> Problem:
    """Make the problem of a template that cannot be used; template: the fact that names it."""
    line = getattr(error, "lineno", None) or 0
    what = "the dialect's template cannot be used"
    fix = "the templates that come with the tool show what a template may use"
    return problem(Where(path=dialect.text(template), line=line), what, f"{type(error).__name__}: {error}", fix=fix)


def _check_text(text: str, dialect: Dialect, template: str) -> None:
    """Refuse text that breaks the dialect's own rules on lines and characters; template: the fact that names it.

    Raises:
        ProblemError: each line that does is reported.
    """
    most = dialect.count("LINE_MOST")
    where = dialect.text(template)
    problems = [
        Problem(
            where=Where(path=where, line=n),
            what="the template wrote a line that the dialect does not allow",
            given=line[:60],
            allowed=f"at most {most} printable ASCII characters",
        )
        for n, line in enumerate(text.split("\n"), start=1)
        if len(line) > most or not line.isascii() or not line.isprintable()
    ]
    if problems:
        raise ProblemError(problems)


class LineNumbers:
    """N words: pass 12 begins at N1200, or N120 or N12 where the dialect's numbers do not reach so far.

    Where every line has one, those of a pass are kept for its stops when they would not reach, as stops go by them.
    """

    def __init__(self, dialect: Dialect, passes: int, steps: Sequence[Step] = ()) -> None:
        most = dialect.count("LINE_NUMBER_MOST")
        self.all = dialect.text("LINE_NUMBERS") == "every line"
        self.times = next((t for t in (100, 10, 1) if (passes + 1) * t <= most), 0)
        self.number = 0
        self.last = self.times - 1
        self.stops = [0]
        """How many stops still follow before the first pass, in the first pass and so on."""
        for step in steps:
            if step.kind == "pass":
                self.stops.append(0)
            self.stops[-1] += step.kind == "stop" or (step.kind == "tool" and step.halt)

    def first(self, cut: int) -> int:
        """Return the number of the line on which a pass begins."""
        return cut * self.times

    def next(self, *, stop: bool = False) -> str:
        """Return the N word of the next line of code and a space; "" where it has none."""
        self.stops[0] -= stop
        kept = 0 if stop else self.stops[0]
        if not self.all or self.last - self.number <= kept:
            return ""
        self.number += 1
        return f"N{self.number} "

    def restart(self, cut: int) -> str:
        """Return the N word of the line on which a pass begins, and a space."""
        self.stops = self.stops[1:] or [0]
        if not self.times:
            return ""
        self.number = self.first(cut)
        self.last = self.number + self.times - 1
        return f"N{self.number} "


def _context(
    plan: Plan, setting_plan: SettingPlan, dialect: Dialect, form: NumberForm, steps: Sequence[Step]
) -> dict[str, Any]:
    """Return what the words of a lathe's program use."""
    setting = setting_plan.setting
    decimals = decimals_of(form.unit)
    proof, spin_up = setting_plan.proof_diameter / 2, plan.shop.lathe.spindle.spin_up

    length, gauge, play = length_in(form), length_in(form, gauge_decimals), float(plan.shop.lathe.x.backlash)
    limits = limits_in(form)

    def callipers(mm: float) -> str:
        """Return what callipers read from the tip that came out to where X is said, its slide behind by its play."""
        return gauge(mm - play)

    def x(radius: float) -> str:
        """Return an X as this program says it, from a radius in mm."""
        return number(radius * form.scale * form.x_factor, decimals)

    return {
        "lathe": plan.shop.lathe,
        "setting_plan": setting_plan,
        "setting": setting,
        "settings": plan.count,
        "length": length,
        "limits": limits,
        **_measure_words(setting_plan, form, length, limits, step=10.0 ** -(decimals - 1) / form.scale),
        **_try_words(setting, form, length, TOLD_MM if form.scale == 1.0 else TOLD_INCH * MM_PER_INCH),
        "far_side": lambda done: plain(far_side(setting_plan, done, length, callipers)),
        "callipers": callipers,
        "x": x,
        "bar": setting.stock_radius,
        "proof": proof,
        "start": proof - play - BY_EYE,
        **_travel(steps, decimals),
        "spin_up": number(spin_up, 1) if spin_up and dialect.text("DWELL") else "",
        "number_as": lambda mm: number(mm * form.scale, form.decimals),
    }


def _travel(steps: Sequence[Step], decimals: int) -> dict[str, str]:
    """Return the least and greatest X and Z that are said; "" for none."""
    found = {}
    for axis in ("x", "z"):
        said = [float(word) for s in steps if (word := getattr(s, axis))]
        found[f"least_{axis}"], found[f"most_{axis}"] = (number(f(said), decimals) if said else "" for f in (min, max))
    return found


def _first_of(setting_plan: SettingPlan, cut: Pass) -> int:
    """Return the number of the first pass of a cut that is made in several, as a diameter and then its face."""
    first = cut.number
    kinds = ("finish", "fillet") if cut.kind == "fillet" else (cut.kind,)
    for before in reversed(setting_plan.passes[: cut.number - 1]):
        if before.kind not in kinds or before.sections != cut.sections:
            break
        first = before.number
    return first


def _measure_words(
    setting_plan: SettingPlan,
    form: NumberForm,
    length: Callable[[float], str],
    limits: Callable[[float, float], str],
    step: float,
) -> dict[str, Callable[[Any], Any]]:
    """Return the words of a stop to measure: what to set for a reading, and which readings ask for the cut again."""
    tapers = {t.section.name for t in setting_plan.setting.turned if t.is_taper}
    return {
        "may_record": lambda measures: not any(m.over or tapers.intersection(m.sections) for m in measures),
        "correction": lambda wanted: correct_at(wanted, setting_plan.park, length, form.x_factor, step=step),
        "bare": lambda wanted: bare_at(wanted, length),
        "tapers": lambda measures: [
            *blades_in(measures),
            *tapers_in(setting_plan.setting, measures, length),
            *lengths_in(setting_plan.setting, measures, limits),
        ],
        "uncut": lambda wanted: uncut_at(wanted, length),
        "first_of": lambda cut: _first_of(setting_plan, cut),
    }


def _try_words(setting: Setting, form: NumberForm, length: Callable[[float], str], step: float) -> dict[str, Any]:
    """Return the words of a stop to try a slip: the gap, and by how much X or Z may be out."""

    def own_of(wanted: Measure) -> Correction:
        return setting.correction_of(wanted.sections)

    def more(wanted: Measure) -> float:
        """Return how much more than planned the last cut takes, mm: what was read before it is in its program."""
        own = own_of(wanted)
        return own.radius if wanted.kind == "diameter" else own.face

    def made_so(wanted: Measure) -> bool:
        """Tell whether the pass that follows was made from what was read."""
        return bool(more(wanted)) and not (wanted.kind == "diameter" and own_of(wanted).along)

    def made(pause: Stop) -> str:
        """Say how much wider the gaps are once the last cut has been made, as it was corrected."""
        square = math.hypot(1.0, pause.slope)
        wide = {"X" if m.kind == "diameter" else "Z": m.cut_left + more(m) for m in pause.measure}
        return " and ".join(f"{k} is {length(v / square if k == 'X' else v)} wide" for k, v in wide.items())

    def times(pause: Stop) -> str:
        """Say how many times a gap X is set by, and what Z has in it; "" for once and nothing."""
        if not any(m.kind == "diameter" for m in pause.measure):
            return ""
        by = math.hypot(1.0, pause.slope) * form.x_factor
        said = "" if abs(by - 1) < ONCE else "twice that" if abs(by - 2) < ONCE else f"{by:.2f} times that"
        if pause.slope < STEEP or len(pause.measure) == 1:
            return said
        return f"{said or 'that'} less {pause.slope * form.x_factor:.2f} of what Z is wide"

    def gap(wanted: Measure, slip: float, slope: float) -> str:
        return gap_at(wanted, length, slip, as_made=made_so(wanted), step=step, slope=slope)

    def to_correct(measured: Sequence[Measure]) -> bool:
        """Tell whether a cut still follows that is not corrected yet."""
        return any(m.cut_left and not made_so(m) for m in measured)

    return {
        "gap": gap, "told": length(step), "made": made, "times": times, "corrected": made_so, "to_correct": to_correct,
    }  # fmt: skip
