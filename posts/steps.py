"""Turns moves into steps: the same motions as numbers that a dialect prints, with everything modal worked out.

A step holds the figures as they will stand in the text. Every refusal happens here: whatever a dialect cannot say is
named, and no text is made. Lathe and mill go the same way; what they say differently stands in their Speech.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal, NamedTuple

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.units import MM_PER_FOOT, MM_PER_INCH
from cam.moves.model import (
    ChangeTool,
    Cycle,
    EndProgram,
    Feed,
    FeedArc,
    FeedThread,
    Index,
    Move,
    Rapid,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
    expand,
)
from cam.plan.model import Pass
from cam.shop.mill import Cutter
from cam.shop.model import Tool
from posts.control import ControlWords
from posts.dialect import Dialect
from posts.wording import INDEX_WORDS, index_comment, number

Kind = Literal["line", "rapid", "arc", "thread", "cycle", "turn", "pass", "tool", "speed", "spindle off", "stop", "end"]


class Step(NamedTuple):
    """One thing that the program says.

    Attributes:
        kind: what it says.
        words: every axis word, R, Q and F of a motion, as printed and in order; without its G word.
        code: the G word of a cycle.
        x, z: words to be said, as printed; "" where that axis is not said.
        turn: for an arc, +1 counter-clockwise (G3), -1 clockwise. minute: whether it is fed per minute, as in air.
        speed: S word, as printed. surface: whether it is a surface speed. limit: S of its limit, or "".
        number, name: of a pass. cut: for "pass", the pass of a lathe; for "stop", the pass before it.
        tool: for "tool" and "pass". halt: for "tool", whether the program must stop for it; for "pass", whether its
            tool is only mounted after it. touch: for "tool" and "pass", what still stands that a zero can be set on.
        up: for "pass", what a hand has turned to the top, "flat 1 up, the work stands at 0 DEG"; or "".
        stops: for "pass", why it stops before it turns or moves: "belt", "spindle on" ...
        pause: for "stop". shown: what the operator is shown there, or where a tool is mounted. lines: its comments.
    """

    kind: Kind
    words: str = ""
    code: str = ""
    x: str = ""
    z: str = ""
    turn: int = 0
    minute: bool = False
    speed: str = ""
    surface: bool = False
    limit: str = ""
    number: int = 0
    name: str = ""
    cut: Pass | None = None
    tool: Tool | Cutter | None = None
    halt: bool = False
    touch: str = ""
    up: str = ""
    stops: tuple[str, ...] = ()
    pause: Stop | None = None
    shown: str = ""
    lines: tuple[str, ...] = ()


class NumberForm(Row):
    """How numbers are printed.

    Attributes:
        scale: program units in a millimetre.
        x_factor: 2 where X words are diameters, else 1.
        decimals: decimals of X, Y, Z, I, K, R and Q. feed_decimals: decimals of F. minute_decimals: of F per minute.
        lead_decimals: decimals of a thread's lead.
        per_revolution: whether F is feed per revolution.
        tolerance: how much an arc's start and end radius may differ, program units.
        across: whether there is a third slide, Y: every word of a cut is said then, and every tool mounted at a stop.
    """

    scale: float
    x_factor: int
    decimals: int
    feed_decimals: int
    minute_decimals: int
    lead_decimals: int
    per_revolution: bool
    tolerance: float
    across: bool = False

    @property
    def unit(self) -> Literal["mm", "in"]:
        """Return the unit of lengths in the program."""
        return "mm" if self.scale == 1.0 else "in"

    @property
    def digit(self) -> float:
        """Return the last digit of a length, mm."""
        return 10.0**-self.decimals / self.scale


def choose_form(
    dialect: Dialect, units: Literal["mm", "in"], x_words: str = "radius", *, per_revolution: bool = False,
    across: bool = False,
) -> NumberForm:  # fmt: skip
    """Choose how this dialect prints numbers in these units.

    Args:
        per_revolution: whether the machine can feed so; it does where the dialect has a word for it.
    """
    unit = "MM" if units == "mm" else "INCH"
    per_revolution = per_revolution and bool(dialect.text("FEED_PER_REVOLUTION"))
    minute, turn = (dialect.count(f"{per}_DECIMALS_{unit}") for per in ("FEED", "REVOLUTION"))
    return NumberForm(
        scale=1.0 if units == "mm" else 1.0 / MM_PER_INCH, x_factor=2 if x_words == "diameter" else 1,
        decimals=dialect.count(f"DECIMALS_{unit}"), feed_decimals=turn if per_revolution else minute,
        minute_decimals=minute, lead_decimals=turn, per_revolution=per_revolution,
        tolerance=dialect.number(f"ARC_TOLERANCE_{unit}"), across=across,
    )  # fmt: skip


@frozen
class Speech:
    """What a machine's programs say in their own way.

    Attributes:
        dialect, form, control: as every template has them. where: the line that problems name.
        lines: name of a section -> its line, named instead in passes on it.
        cycles: whether drilling cycles are said as such where the dialect has them.
        shown: what the operator is shown at a stop. said: the comments of a stop.
    """

    dialect: Dialect
    form: NumberForm
    control: ControlWords
    where: Where
    shown: Callable[[Stop], str]
    said: Callable[[Stop], tuple[str, ...]] = lambda stop: stop.lines
    lines: Mapping[str, Where]
    cycles: bool = True


def steps_of(moves: Sequence[Move], speech: Speech) -> list[Step]:
    """Return every step of a program, in order.

    Raises:
        ProblemError: the dialect cannot say a move, or the moves are no program; the move is named.
    """
    writer = _Writer(speech)
    for index, move in enumerate(moves):
        writer.index, writer.move = index, move
        writer.take(move)
    if not writer.steps or writer.steps[-1].kind != "end":
        raise writer.refuse("the moves do not end the program")
    return writer.steps


class _Writer:
    """Writes the steps, holding the state of the machine at each, in words already printed."""

    def __init__(self, speech: Speech) -> None:
        self.speech, self.dialect, self.form = speech, speech.dialect, speech.form
        self.steps: list[Step] = []
        self.index = 0
        self.move: Move | None = None
        self.cut: Pass | None = None
        self.passes = 0
        self.tool: Tool | Cutter | None = None
        self.x = self.z = ""
        """The X and Z words last said in this pass."""
        self.feed = ""
        self.turning: TurnSpindle | None = None
        self.spinning = False
        self.spoken = False
        """Whether the speed has been said since the pass began."""
        self.begun = -1
        """The index among the steps at which the last pass begins."""
        self.owed = False
        """Whether a stop has turned the spindle off, so that it must run again before the next motion."""
        self.up = ""

    def refuse(self, what: str, *, allowed: str = "", fix: str = "") -> ProblemError:
        """Make a problem that names the move in hand, but for one that the problem names already."""
        named = isinstance(self.move, Cycle | Index)
        given = "" if named else f"move {self.index + 1}, {name_move(self.move)}"
        where = self.speech.where
        if self.cut:
            where = next((self.speech.lines[n] for n in self.cut.sections if n in self.speech.lines), where)
            given += f", in pass {self.cut.number} ({self.cut.kind}, {', '.join(self.cut.sections)})"
        return ProblemError([Problem(where=where, what=what, given=given, allowed=allowed, fix=fix)])

    def take(self, move: Move) -> None:
        """Add the steps of one move."""
        ways: dict[type, Callable[[Any], None]] = {
            Feed: self.line, Rapid: self.rapid, FeedArc: self.arc, FeedThread: self.thread, Cycle: self.cycle,
            Index: self.turn_work, StartPass: self.start_pass, TurnSpindle: self.turn_spindle, Stop: self.stop,
            StopSpindle: lambda _: self.stop_spindle(), EndProgram: self.end,
            ChangeTool: lambda change: self.change_tool(change.tool, change.touch),
        }  # fmt: skip
        ways[type(move)](move)

    # Numbers

    def word(self, value: float) -> str:
        """Return a length as printed."""
        if not math.isfinite(value):
            raise self.refuse("a place that is no number")
        return number(value * self.form.scale, self.form.decimals)

    def x_word(self, radius: float) -> str:
        """Return the X word of a radius in mm as this program says it."""
        return self.word(radius * self.form.x_factor)

    def feed_word(self, feed: float, *, minute: bool = False) -> str:
        """Return the F word of a feed in mm/rev; "" where it is in force already. By the minute it is always said."""
        if minute:
            self.feed = ""
            return self.fed(feed, self.form.minute_decimals)
        if not self.spinning or self.turning is None:
            raise self.refuse("a cut before the spindle is started")
        per = 1.0
        if not self.form.per_revolution:
            if self.turning.surface_speed is not None:
                raise self.refuse(
                    "constant surface speed with feed per minute, which would change the chip with every diameter",
                    fix="set constant_surface_speed to false in the shop file, or feeds_per_revolution to true",
                )
            per = self.turning.rpm
        text = self.fed(feed * per, self.form.feed_decimals)
        if text == self.feed:
            return ""
        self.feed = text
        return text

    def fed(self, feed: float, decimals: int) -> str:
        """Return a feed as printed, which is never zero."""
        text = number(feed * self.form.scale, decimals)
        if not float(text) > 0:
            raise self.refuse(
                "a feed that this dialect prints as zero",
                allowed=f"at least {10.0**-decimals:g} as printed",
                fix="give the tool a greater feed in the shop file",
            )
        return text

    # Motions

    def ready(self) -> None:
        """Make ready for a motion: a tool must be in use; say the spindle anew where a stop or a pass asks for it."""
        if self.tool is None:
            raise self.refuse("a motion before any tool is in use")
        if self.turning and (self.owed or (self.spinning and not self.spoken)):
            self.say_speed(self.turning)

    def rapid(self, move: Rapid) -> None:
        """Add a rapid of one axis alone, said even where the tool stands there already."""
        self.ready()
        word = self.x_word(move.to) if move.axis == "x" else self.word(move.to)
        x, z = (word if move.axis == axis else "" for axis in "xz")
        self.x, self.z = x or self.x, z or self.z
        self.steps.append(Step("rapid", words=move.axis.upper() + word, x=x, z=z))

    def ready_to_cut(self) -> None:
        """Make ready for a cut: X and Z must have been said since the pass began, so that it may start again there."""
        self.ready()
        if not (self.x and self.z):
            raise self.refuse("a cut before X and Z have both been said in this pass")

    def line(self, move: Feed) -> None:
        """Add a straight cut: every word where Y is one of them; else those that change, or Z where none does."""
        self.ready_to_cut()
        x, y, z = self.x_word(move.x), self.word(move.y), self.word(move.z)
        feed = self.feed_word(move.feed, minute=move.minute)
        if self.form.across:
            said = [("X", x), ("Y", y), ("Z", z)]
        else:
            said = [("X", "" if x == self.x else x), ("Z", "" if x != self.x and z == self.z else z)]
        self.add("line", [*said, ("F", feed)])
        self.x, self.z = x, z

    def add(self, kind: Kind, said: Sequence[tuple[str, str]], **more: Any) -> None:
        """Add a motion, with those of its words that are said."""
        by_letter = {letter: word for letter, word in said if word}
        words = " ".join(letter + word for letter, word in by_letter.items())
        x, z = by_letter.get("X", ""), by_letter.get("Z", "")
        self.steps.append(Step(kind, words=words, x=x, z=z, **more))

    def arc(self, move: FeedArc) -> None:
        """Add an arc about its centre; one too short for the printed figures becomes a line or nothing."""
        self.ready_to_cut()
        if move.minute:
            self.air_arc(move)
            return
        x, z = self.x_word(move.x), self.word(move.z)
        scale, factor = self.form.scale, self.form.x_factor
        start = (float(self.z), float(self.x) / factor)
        end = (float(z), float(x) / factor)
        centre = (move.centre_z * scale, move.centre_x * scale)
        i, k = number(centre[1] - start[1], self.form.decimals), number(centre[0] - start[0], self.form.decimals)
        printed = (start[0] + float(k), start[1] + float(i))
        wanted, said = _sweep(start, end, centre, move.turn), _sweep(start, end, printed, move.turn)
        if (x == self.x and z == self.z) or (i == k == "0.0") or abs(wanted - said) > math.pi:
            self.line(Feed(x=move.x, z=move.z, feed=move.feed))
            return
        miss = abs(math.dist(start, printed) - math.dist(end, printed))
        if miss > self.form.tolerance:
            raise self.refuse(
                f"an arc whose start and end are not equally far from its centre: {miss:.4f} apart as printed",
                allowed=f"at most {self.form.tolerance:g}",
            )
        words = [("X", x), ("Z", z), ("I", i), ("K", k), ("F", self.feed_word(move.feed))]
        self.add("arc", words, turn=move.turn)
        self.x, self.z = x, z

    def air_arc(self, move: FeedArc) -> None:
        """Add an arc in air with the spindle off; it is fed per minute, as a feed per revolution would stand still."""
        x, z = self.x_word(move.x), self.word(move.z)
        factor = self.form.x_factor
        i = number(move.centre_x * self.form.scale - float(self.x) / factor, self.form.decimals)
        k = number(move.centre_z * self.form.scale - float(self.z), self.form.decimals)
        words = [("X", x), ("Z", z), ("I", i), ("K", k), ("F", self.feed_word(move.feed, minute=True))]
        self.add("arc", words, turn=move.turn, minute=True)
        self.x, self.z = x, z

    def thread(self, move: FeedThread) -> None:
        """Add a straight cut along Z in step with the spindle; X keeps its place."""
        self.ready_to_cut()
        if not self.dialect.text("THREAD"):
            raise self.refuse(
                f"{self.dialect.name} cannot say a move in step with the spindle: a thread of lead {move.lead:g} mm",
                allowed="a dialect that has it, where control and spindle can (endshake dialects)",
                fix='cut it by die (thread_by = "die"), or by hand: by = "change wheels" in [lathe.threading]',
            )
        if not self.spinning or self.turning is None or self.turning.surface_speed is not None:
            raise self.refuse("a thread without a spindle that turns at one speed")
        self.z = self.word(move.z)
        lead = number(move.lead * self.form.scale, self.form.lead_decimals)
        self.add("thread", [("Z", self.z), (self.dialect.text("THREAD_LEAD"), lead)])

    def cycle(self, move: Cycle) -> None:
        """Add a cycle where the dialect has it, else its moves."""
        code = self.dialect.text({"drill": "CYCLE_DRILL", "peck": "CYCLE_PECK", "tap": "CYCLE_TAP"}[move.kind])
        if move.kind == "tap" and not code:
            fix = "say tap_cycle = false in the shop file: it is tapped by hand"
            raise self.refuse(f"{self.dialect.name} has no cycle for a tap", fix=fix)
        if not code or (not self.speech.cycles and move.kind != "tap"):
            for each in expand(move):
                self.take(each)
            return
        self.ready_to_cut()
        places = (("X", self.x_word(move.x)), ("Y", self.word(move.y)), ("Z", self.word(move.bottom)))
        levels = ("R", self.word(move.retract)), ("Q", self.word(move.step) if move.kind == "peck" else "")
        self.add("cycle", [*places, *levels, ("F", self.feed_word(move.feed, minute=True))], code=code)

    # Spindle, tools, stops

    def turn_spindle(self, move: TurnSpindle) -> None:
        """Say the speed and start the spindle, unless it runs so already."""
        if not (self.spinning and self.spoken and move == self.turning):
            self.say_speed(move)

    def say_speed(self, move: TurnSpindle) -> None:
        """Say the speed and start the spindle."""
        if not move.rpm > 0:
            raise self.refuse("a spindle speed that is not above nothing", allowed="a speed that the shop file has")
        surface = move.surface_speed
        if surface is not None and not self.dialect.text("SPEED_SURFACE"):
            raise self.refuse(
                f"{self.dialect.name} cannot say constant surface speed, {surface:g} m/min, nor feed per revolution",
                allowed="a speed in rev/min for each pass",
                fix="set constant_surface_speed to false in the shop file, or choose a dialect that has it",
            )
        limit = number(move.rpm, 0)
        speed = limit
        if surface is not None:
            speed = number(surface * 1000 / MM_PER_FOOT if self.form.scale != 1.0 else surface, 1)
        held = surface is not None
        self.steps.append(Step("speed", speed=speed, surface=held, limit=limit if held else ""))
        if move != self.turning:
            self.feed = ""
        self.turning, self.spinning, self.spoken, self.owed = move, True, True, False

    def stop_spindle(self, *, always: bool = False) -> None:
        """Stop the spindle, unless it stands already."""
        if self.spinning or always:
            self.steps.append(Step("spindle off"))
        self.spinning = self.owed = False

    def end(self, _: EndProgram) -> None:
        """End the program, the spindle stopped first."""
        self.stop_spindle()
        self.steps.append(Step("end"))

    def stop(self, move: Stop) -> None:
        """Stop the program, the spindle first; if that ran, it must start again for what follows."""
        if self.begun >= 0 and not self.x:
            begun = self.steps[self.begun]
            self.steps[self.begun] = begun._replace(stops=(*begun.stops, move.reason))
        ran = self.spinning or self.owed
        self.stop_spindle()
        self.owed = ran
        shown, lines = self.speech.shown(move), self.speech.said(move)
        self.steps.append(Step("stop", pause=move, cut=self.cut, shown=shown, lines=lines))

    def turn_work(self, move: Index) -> None:
        """Add a stop that says the angle, or the rotary axis' word alone on its line."""
        if move.by_hand:
            degrees = index_comment(move.angle)
            self.up = f"{move.what} up, the work stands at{degrees.removeprefix(INDEX_WORDS)}"
            narrow = len(degrees) > self.speech.control.width  # then the angle stands in the words alone
            lines = (f"{degrees if narrow else 'turn the work'}: {move.what} to the top.", move.counts)
            self.stop(Stop(reason=f"{degrees}, {move.shown or f'{move.what} on top'}", lines=lines))
            return
        letter = self.dialect.text("ROTARY_LETTER")
        if not letter:
            raise self.refuse(f"{self.dialect.name} has no word for a rotary axis", fix="say another way in square_by")
        self.add("turn", [(letter, number(move.angle, 4))])

    def change_tool(self, tool: Tool | Cutter, touch: str = "") -> None:
        """Bring a tool into use; a lathe's program stops for it, but not for the first."""
        most = self.dialect.count("TOOL_MOST")
        if not 1 <= tool.number <= most:
            raise self.refuse(
                f"tool number {tool.number}, which {self.dialect.name} cannot say",
                allowed=f"1 to {most}",
                fix="give the tool another number in the shop file",
            )
        across, control = self.form.across, self.speech.control
        self.stop_spindle(always=across)
        halt, shown = across or control.by_stop or self.tool is not None, control.mount(tool.number, tool.name)
        self.steps.append(Step("tool", tool=tool, halt=halt, touch=touch, shown=shown))
        self.tool = tool
        self.feed = ""

    def start_pass(self, move: StartPass) -> None:
        """Make all that is modal due again, so that the program may be started again here."""
        cut, tool = move.cut, self.tool
        self.cut, self.passes = cut, self.passes + 1
        if cut is not None and tool is None:
            self.change_tool(cut.tool)
        elif cut is not None and tool is not None and tool.number != cut.tool.number and not move.changes:
            raise self.refuse(f"a pass with tool {cut.tool.number} while tool {tool.number} is in the post")
        self.feed = self.x = self.z = ""
        self.spoken = False
        self.begun = len(self.steps)
        self.steps.append(
            Step("pass", number=cut.number if cut else self.passes, name=move.name, cut=cut,
                 tool=cut.tool if cut else self.tool, halt=move.changes, touch=move.touch, up=self.up)
        )  # fmt: skip


def _sweep(start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], turn: int) -> float:
    """Return the angle through which an arc turns, radians, 0 to 2 pi; places are (z, x)."""
    a = math.atan2(start[1] - centre[1], start[0] - centre[0])
    b = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return ((b - a) * turn) % (2 * math.pi)


def name_move(move: Move | None) -> str:
    """Say a move in words, for a report; lengths in mm, X a radius."""
    if isinstance(move, FeedArc):
        return f"arc to X {move.x:.4f} Z {move.z:.4f} about X {move.centre_x:.4f} Z {move.centre_z:.4f} (mm, radius)"
    if isinstance(move, Rapid):
        return f"rapid to {move.axis.upper()} {move.to:.4f} (mm, radius)"
    if isinstance(move, Feed):
        return f"cut to X {move.x:.4f} Z {move.z:.4f} (mm, radius)"
    if isinstance(move, FeedThread):
        return f"thread to Z {move.z:.4f}, lead {move.lead:g} (mm)"
    if isinstance(move, TurnSpindle):
        return f"spindle at {move.rpm:g} rev/min"
    names = {StartPass: "start of a pass", ChangeTool: "tool change", StopSpindle: "spindle stop", EndProgram: "end"}
    return f"stop to {move.reason}" if isinstance(move, Stop) else names.get(type(move), "none")
