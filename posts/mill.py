"""Turns a mill's moves into program text in one dialect, through that dialect's template for the mill."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from types import SimpleNamespace
from typing import Any

from jinja2 import TemplateError

from cam.ground.frozen import Row
from cam.ground.problem import Problem, ProblemError
from cam.ground.units import MM_PER_INCH
from cam.ground.version import VERSION
from cam.mill.cycles import expand
from cam.mill.model import (
    INDEX_WORDS,
    Cycle,
    Feed,
    Index,
    Move,
    Rapid,
    Reading,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
    UseTool,
    index_comment,
)
from cam.part.model import Part
from cam.setting.milled import Cutter
from cam.shop.mill import Mill
from cam.shop.model import Shop
from posts.control import ControlWords, context_of, words_of
from posts.dialect import Dialect
from posts.environment import find_template
from posts.program import LineNumbers, bad_template, check_text
from posts.shown import fit
from posts.wording import number, plain


class MillStep(Row):
    """One thing that the program says.

    Attributes:
        kind: "line", "rapid", "cycle", "turn", "pass", "tool", "speed", "spindle off", "stop" or "end".
        words: X, Y, Z, A, R and Q as printed. code: G word of a cycle. feed, speed: as printed, or "".
        number, name: for a pass. cutter: for "tool" and "pass". shown: what the operator is shown at a stop. lines: its
            comments.
        up: for "pass", what a hand has turned to the top, "flat 1 up: the work stands at 0 deg"; or "".
        touch: for "pass", what a tool that is set anew touches there; or "".
    """

    kind: str
    words: str = ""
    code: str = ""
    feed: str = ""
    speed: str = ""
    number: int = 0
    name: str = ""
    cutter: Cutter | None = None
    shown: str = ""
    lines: tuple[str, ...] = ()
    up: str = ""
    touch: str = ""


def emit_mill(
    moves: Sequence[Move], *, title: str, notes: Sequence[str], part: Part, shop: Shop, mill: Mill, dialect: Dialect,
    cycles: bool = True,
) -> str:  # fmt: skip
    """Write the program of one job of the mill: plain ASCII, every line ended by a line feed.

    Args:
        title: what it makes. notes: how it is set up, one sentence each, for the head of the program.
        cycles: False writes every drilling cycle long-hand.
    Raises:
        ProblemError: the dialect cannot say something; nothing is written then.
    """
    words = words_of(mill.facts, dialect, mill.where, [m.cutter.number for m in moves if isinstance(m, UseTool)])
    steps = _MillWriter(dialect, mill, words, cycles=cycles).steps_of(moves)
    numbers = LineNumbers(dialect, max((s.number for s in steps), default=1))
    tools = list({s.cutter.number: s.cutter for s in steps if s.kind == "tool" and s.cutter}.values())
    context: dict[str, Any] = {
        "version": VERSION, "title": title, "notes": notes, "part": part, "shop": shop, "mill": mill,
        "dialect": dialect, "d": SimpleNamespace(**{name: fact.value for name, fact in dialect.facts.items()}),
        "units": mill.units, "steps": steps, "tools": tools, "line": numbers.next, "restart": numbers.restart,
        "number_of": numbers.first, "passes": max((s.number for s in steps), default=0), **context_of(words),
    }  # fmt: skip
    folder = None if dialect.built_in else dialect.path.parent
    try:
        text = find_template(dialect.text("MILL_TEMPLATE"), folder).render(context)
    except TemplateError as error:
        raise ProblemError([bad_template(dialect, error, "MILL_TEMPLATE")]) from error
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        if dialect.built_in:
            raise
        raise ProblemError([bad_template(dialect, error, "MILL_TEMPLATE")]) from error
    check_text(text, dialect, "MILL_TEMPLATE")
    return text


SHOWN = {
    "prove height": "prove Z by a rule, before it moves",
    "prove rotary axis": "prove A: did it turn the right way?",
    "prove": "prove Z in air: try the gap",
    "measure": "measure",
    "centre": "set X and Y, and Z of the tool",
    "correct": "correct Z by the mean of pairs",
    "tap": "tap by hand, the spindle off",
}
"""The words that a stop shows, by what it is for."""


def _readings(readings: Sequence[Reading], size: Callable[[float], str]) -> str:
    """Say what is measured, and how much it should be: "flat 1 to round 4.748 now"."""
    if not readings:
        return ""
    name = readings[0].name if len(readings) == 1 else "across all pairs"
    return f"{name} {size(readings[0].expected)} now"


class _MillWriter:
    """Writes what the machine does at each step, in words already printed."""

    def __init__(self, dialect: Dialect, mill: Mill, words: ControlWords, *, cycles: bool) -> None:
        self.dialect, self.mill, self.control, self.cycles = dialect, mill, words, cycles
        self.scale = 1.0 if mill.units == "mm" else 1.0 / MM_PER_INCH
        unit = "MM" if mill.units == "mm" else "INCH"
        self.decimals = dialect.count(f"DECIMALS_{unit}")
        self.feed_decimals = dialect.count(f"FEED_DECIMALS_{unit}")
        self.cutter: Cutter | None = None
        self.speed = ""
        self.passes = 0
        self.up = ""

    def steps_of(self, moves: Sequence[Move]) -> list[MillStep]:
        """Return every step, in order."""
        return [step for move in moves for step in self.take(move)]

    def refuse(self, what: str, *, given: str = "", allowed: str = "", fix: str = "") -> ProblemError:
        """Make a problem of the mill's dialect."""
        return ProblemError([Problem(where=self.mill.where, what=f"{self.dialect.name} {what}", given=given,
                                     allowed=allowed, fix=fix)])  # fmt: skip

    def word(self, letter: str, value: float) -> str:
        """Return a length with its letter, as printed."""
        if not math.isfinite(value):
            raise self.refuse("is to say a place that is no number")
        return f"{letter}{number(value * self.scale, self.decimals)}"

    def feed_word(self, feed: float) -> str:
        """Return the F word, which is always said."""
        text = number(feed * self.scale, self.feed_decimals)
        if not float(text) > 0:
            raise self.refuse("prints this feed as zero", given=f"{feed:g} mm/min", fix="give a greater feed")
        return f"F{text}"

    def take(self, move: Move) -> Iterable[MillStep]:  # noqa: PLR0911 - one return a kind of move
        """Return the steps of one move."""
        if isinstance(move, Rapid):
            return [MillStep("rapid", words=self.word(move.axis.upper(), move.to))]
        if isinstance(move, Feed):
            words = " ".join(self.word(a, v) for a, v in (("X", move.x), ("Y", move.y), ("Z", move.z)))
            return [MillStep("line", words=words, feed=self.feed_word(move.feed))]
        if isinstance(move, StartPass):
            self.passes += 1
            return [MillStep("pass", number=self.passes, name=move.name, cutter=self.cutter, speed=self.speed,
                             up=self.up, touch=move.touch)]  # fmt: skip
        if isinstance(move, Index):
            return [self.index(move)]
        if isinstance(move, Stop):
            return [self.stop(move)]
        if isinstance(move, Cycle):
            return self.cycle(move)
        if isinstance(move, UseTool):
            return [self.use_tool(move)]
        if isinstance(move, TurnSpindle):
            self.speed = number(move.rpm, 0)
            return [MillStep("speed", speed=self.speed)]
        if isinstance(move, StopSpindle):
            return [MillStep("spindle off")]
        return [MillStep("end")]

    def use_tool(self, move: UseTool) -> MillStep:
        """Make the step of a tool, with its Z on whatever it can be set on."""
        cutter = move.cutter
        most = self.dialect.count("TOOL_MOST")
        if cutter.number > most:
            raise self.refuse("has no such tool", given=f"tool {cutter.number}", allowed=f"1 to {most}")
        self.cutter = cutter
        touch = (f"its Z is {move.touch}.",) if move.touch else ()
        return MillStep("tool", cutter=cutter, shown=self.control.mount(cutter.number, cutter.name), lines=touch)

    def index(self, move: Index) -> MillStep:
        """Make a stop that says the angle, or the rotary axis' word alone on its line."""
        if move.by_hand:
            shown = f"{index_comment(move.angle)}, {move.what} on top"
            degrees = index_comment(move.angle).removeprefix(INDEX_WORDS)
            self.up = f"{move.what} up, the work stands at{degrees}"
            narrow = len(index_comment(move.angle)) > self.control.width  # then the angle stands in the words alone
            turn = index_comment(move.angle) if narrow else "turn the work"
            lines = (f"{turn}: {move.what} to the top.",)
            return MillStep("stop", shown=self.shown(shown), lines=lines)
        letter = self.dialect.text("ROTARY_LETTER")
        if not letter:
            raise self.refuse("has no word for a rotary axis", fix="say another way in square_by")
        return MillStep("turn", words=f"{letter}{number(move.angle, 4)}", name=move.what)

    def stop(self, move: Stop) -> MillStep:
        """Make a stop: what to do and what to read; long words are in the summary too."""
        lines = list(move.lines)
        for r in move.readings:
            limits = "" if r.least == r.most else f", {self.size(r.least)} to {self.size(r.most)} allowed"
            lines.append(f"{r.name}: {self.size(r.expected)} expected{limits}")
        shown = self.shown(_readings(move.readings, self.size) or SHOWN.get(move.reason, move.reason))
        return MillStep("stop", shown=shown, lines=tuple(lines))

    def shown(self, words: str) -> str:
        """Return one line, no longer than the control shows."""
        return fit(self.control.width, plain(words))

    def size(self, value: float) -> str:
        """Return a size in program units, as fine as can be measured."""
        return number(value * self.scale, 3 if self.scale == 1.0 else 4)

    def cycle(self, move: Cycle) -> list[MillStep]:
        """Make the steps of a cycle where the dialect has it, else of its moves."""
        code = self.dialect.text({"drill": "CYCLE_DRILL", "peck": "CYCLE_PECK", "tap": "CYCLE_TAP"}[move.kind])
        if move.kind == "tap" and not code:
            fix = "say tap_cycle = false in the shop file: it is tapped by hand"
            raise self.refuse("has no cycle for a tap", fix=fix)
        if not code or (not self.cycles and move.kind != "tap"):
            return [step for m in expand(move) for step in self.take(m)]
        places = (("X", move.x), ("Y", move.y), ("Z", move.bottom), ("R", move.retract))
        words = " ".join(self.word(letter, v) for letter, v in places)
        if move.kind == "peck":
            words += f" {self.word('Q', move.step)}"
        return [MillStep("cycle", code=code, words=words, feed=self.feed_word(move.feed))]
