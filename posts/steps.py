"""Turns moves into steps: the same motions as numbers that a dialect prints, with everything modal worked out.

A step holds the figures as they will stand in the text. Every refusal happens here: whatever a dialect cannot say is
named, and no text is made.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

from cam.ground.frozen import Row
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.units import MM_PER_FOOT, MM_PER_INCH
from cam.moves.model import (
    AirArc,
    ChangeTool,
    EndProgram,
    Feed,
    FeedArc,
    FeedThread,
    Move,
    Pause,
    Rapid,
    StartPass,
    StopSpindle,
    TurnSpindle,
)
from cam.plan.model import Pass
from cam.shop.model import Spindle, Tool
from posts.dialect import Dialect
from posts.wording import number

Kind = Literal["line", "rapid", "arc", "thread", "pass", "tool", "speed", "spindle off", "stop", "end"]


class Step(NamedTuple):
    """One thing that the program says.

    Attributes:
        kind: what it says.
        x, z: words to be said, as printed; "" where that axis is not said.
        i, k: for an arc, the way from its start to its centre, as printed.
        lead: for a thread, as printed.
        turn: for an arc, +1 counter-clockwise (G3), -1 clockwise. minute: whether it is fed per minute, as in air.
        feed: as printed; "" where it is in force already.
        speed: S word, as printed. surface: whether it is a surface speed. limit: S of its limit, or "".
        cut: for "pass", the pass; for "stop", the pass before it.
        tool: for "tool" and "pass". halt: for "tool", whether the program must stop for it; for "pass", whether its
            tool is only mounted after it. touch: for "tool" and "pass", what still stands that a zero can be set on.
        stops: for "pass", why it stops before it turns or moves: "belt", "spindle on" ...
        pause: for "stop".
    """

    kind: Kind
    x: str = ""
    z: str = ""
    i: str = ""
    k: str = ""
    lead: str = ""
    turn: int = 0
    minute: bool = False
    feed: str = ""
    speed: str = ""
    surface: bool = False
    limit: str = ""
    cut: Pass | None = None
    tool: Tool | None = None
    halt: bool = False
    touch: str = ""
    stops: tuple[str, ...] = ()
    pause: Pause | None = None


class NumberForm(Row):
    """How numbers are printed.

    Attributes:
        scale: program units in a millimetre.
        x_factor: 2 where X words are diameters, else 1.
        decimals: decimals of X, Z, I and K. feed_decimals: decimals of F.
        per_revolution: whether F is feed per revolution.
        tolerance: how much an arc's start and end radius may differ, program units.
    """

    scale: float
    x_factor: int
    decimals: int
    feed_decimals: int
    per_revolution: bool
    tolerance: float


def choose_form(dialect: Dialect, units: Literal["mm", "in"], x_words: str, spindle: Spindle) -> NumberForm:
    """Choose how this dialect prints numbers in these units for this spindle."""
    unit = "MM" if units == "mm" else "INCH"
    per_revolution = bool(dialect.text("FEED_PER_REVOLUTION")) and spindle.feeds_per_revolution
    feed = "REVOLUTION_DECIMALS_" if per_revolution else "FEED_DECIMALS_"
    return NumberForm(
        scale=1.0 if units == "mm" else 1.0 / MM_PER_INCH,
        x_factor=2 if x_words == "diameter" else 1,
        decimals=dialect.count(f"DECIMALS_{unit}"),
        feed_decimals=dialect.count(feed + unit),
        per_revolution=per_revolution,
        tolerance=dialect.number(f"ARC_TOLERANCE_{unit}"),
    )


def steps_of(
    moves: Sequence[Move], *, dialect: Dialect, form: NumberForm, where: Where,
    lines: Mapping[str, Where] | None = None, all_stop: bool = False,
) -> list[Step]:  # fmt: skip
    """Return every step of a program, in order.

    Args:
        where: the line that problems name. lines: name of a section -> its line, named instead in passes on it.
        all_stop: whether the program stops for the first tool too.
    Raises:
        ProblemError: the dialect cannot say a move, or the moves are no program; the move is named.
    """
    writer = _Writer(dialect, form, where, lines or {})
    writer.all_stop = all_stop
    for index, move in enumerate(moves):
        writer.index, writer.move = index, move
        writer.take(move)
    if not writer.steps or writer.steps[-1].kind != "end":
        raise writer.refuse("the moves do not end the program")
    return writer.steps


class _Writer:
    """Writes the steps, holding the state of the machine at each, in words already printed."""

    def __init__(self, dialect: Dialect, form: NumberForm, where: Where, lines: Mapping[str, Where]) -> None:
        self.dialect, self.form, self.where, self.lines = dialect, form, where, lines
        self.steps: list[Step] = []
        self.index = 0
        self.move: Move | None = None
        self.cut: Pass | None = None
        self.tool: Tool | None = None
        self.x = self.z = ""
        """The X and Z words last said in this pass."""
        self.feed = ""
        self.turning: TurnSpindle | None = None
        self.spinning = False
        self.spoken = False
        """Whether the speed has been said since the pass began."""
        self.all_stop = False
        self.begun = -1
        """The index among the steps at which the last pass begins."""
        self.owed = False
        """Whether a stop has turned the spindle off, so that it must run again before the next motion."""

    def refuse(self, what: str, *, allowed: str = "", fix: str = "") -> ProblemError:
        """Make a problem that names the move in hand."""
        given = f"move {self.index + 1}, {name_move(self.move)}"
        where = self.where
        if self.cut:
            where = next((self.lines[name] for name in self.cut.sections if name in self.lines), where)
            given += f", in pass {self.cut.number} ({self.cut.kind}, {', '.join(self.cut.sections)})"
        return ProblemError([Problem(where=where, what=what, given=given, allowed=allowed, fix=fix)])

    def take(self, move: Move) -> None:
        """Add the steps of one move."""
        if isinstance(move, Feed):
            self.line(move)
        elif isinstance(move, Rapid):
            self.rapid(move)
        elif isinstance(move, FeedArc):
            self.arc(move)
        elif isinstance(move, AirArc):
            self.air_arc(move)
        elif isinstance(move, FeedThread):
            self.thread(move)
        elif isinstance(move, StartPass):
            self.start_pass(move)
        elif isinstance(move, TurnSpindle):
            self.turn_spindle(move)
        elif isinstance(move, StopSpindle):
            self.stop_spindle()
        elif isinstance(move, Pause):
            self.pause(move)
        elif isinstance(move, ChangeTool):
            self.change_tool(move.tool, move.touch)
        else:
            self.stop_spindle()
            self.steps.append(Step("end"))

    # Numbers

    def word(self, value: float) -> str:
        """Return a length as printed."""
        if not math.isfinite(value):
            raise self.refuse("a place that is no number")
        return number(value * self.form.scale, self.form.decimals)

    def x_word(self, radius: float) -> str:
        """Return the X word of a radius in mm as this program says it."""
        return self.word(radius * self.form.x_factor)

    def feed_word(self, feed: float) -> str:
        """Return the F word of a feed in mm/rev; "" where it is in force already."""
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
        text = number(feed * per * self.form.scale, self.form.feed_decimals)
        if not float(text) > 0:
            raise self.refuse(
                "a feed that this dialect prints as zero",
                allowed=f"at least {10.0**-self.form.feed_decimals:g} as printed",
                fix="give the tool a greater feed in the shop file",
            )
        if text == self.feed:
            return ""
        self.feed = text
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
        if move.axis == "x":
            self.x = self.x_word(move.to)
            self.steps.append(Step("rapid", x=self.x))
        else:
            self.z = self.word(move.to)
            self.steps.append(Step("rapid", z=self.z))

    def ready_to_cut(self) -> None:
        """Make ready for a cut: X and Z must have been said since the pass began, so that it may start again there."""
        self.ready()
        if not (self.x and self.z):
            raise self.refuse("a cut before X and Z have both been said in this pass")

    def line(self, move: Feed) -> None:
        """Add a straight cut: the words that change, or Z where no printed figure does."""
        self.ready_to_cut()
        x, z = self.x_word(move.x), self.word(move.z)
        only_x = x != self.x and z == self.z
        feed = self.feed_word(move.feed)
        self.steps.append(Step("line", x="" if x == self.x else x, z="" if only_x else z, feed=feed))
        self.x, self.z = x, z

    def arc(self, move: FeedArc) -> None:
        """Add an arc about its centre; one too short for the printed figures becomes a line or nothing."""
        self.ready_to_cut()
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
        feed = self.feed_word(move.feed)
        self.steps.append(Step("arc", x=x, z=z, i=i, k=k, turn=move.turn, feed=feed))
        self.x, self.z = x, z

    def air_arc(self, move: AirArc) -> None:
        """Add an arc in air with the spindle off; it is fed per minute, as a feed per revolution would stand still."""
        self.ready_to_cut()
        x, z = self.x_word(move.x), self.word(move.z)
        factor = self.form.x_factor
        i = number(move.centre_x * self.form.scale - float(self.x) / factor, self.form.decimals)
        k = number(move.centre_z * self.form.scale - float(self.z), self.form.decimals)
        unit = "MM" if self.form.scale == 1.0 else "INCH"
        feed = number(move.feed * self.form.scale, self.dialect.count(f"FEED_DECIMALS_{unit}"))
        self.steps.append(Step("arc", x=x, z=z, i=i, k=k, turn=move.turn, minute=True, feed=feed))
        self.x, self.z, self.feed = x, z, ""

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
        unit = "MM" if self.form.scale == 1.0 else "INCH"
        lead = number(move.lead * self.form.scale, self.dialect.count(f"REVOLUTION_DECIMALS_{unit}"))
        self.z = self.word(move.z)
        self.steps.append(Step("thread", z=self.z, lead=lead))

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

    def stop_spindle(self) -> None:
        """Stop the spindle, unless it stands already."""
        if self.spinning:
            self.steps.append(Step("spindle off"))
        self.spinning = self.owed = False

    def pause(self, move: Pause) -> None:
        """Stop the program, the spindle first; if that ran, it must start again for what follows."""
        if (last := self.steps[self.begun]).kind == "pass" and not self.x:
            self.steps[self.begun] = last._replace(stops=(*last.stops, move.reason))
        ran = self.spinning or self.owed
        self.stop_spindle()
        self.owed = ran
        self.steps.append(Step("stop", pause=move, cut=self.cut))

    def change_tool(self, tool: Tool, touch: str = "") -> None:
        """Bring a tool into use; the program stops for it, but not for the first."""
        most = self.dialect.count("TOOL_MOST")
        if not 1 <= tool.number <= most:
            raise self.refuse(
                f"tool number {tool.number}, which {self.dialect.name} cannot say",
                allowed=f"1 to {most}",
                fix="give the tool another number in the shop file",
            )
        self.stop_spindle()
        self.steps.append(Step("tool", tool=tool, halt=self.all_stop or self.tool is not None, touch=touch))
        self.tool = tool
        self.feed = ""

    def start_pass(self, move: StartPass) -> None:
        """Make all that is modal due again, so that the program may be started again here."""
        cut, changes = move.cut, move.changes
        self.cut = cut
        if self.tool is None:
            self.change_tool(cut.tool)
        elif self.tool.number != cut.tool.number and not changes:
            raise self.refuse(f"a pass with tool {cut.tool.number} while tool {self.tool.number} is in the post")
        self.feed = self.x = self.z = ""
        self.spoken = False
        self.begun = len(self.steps)
        self.steps.append(Step("pass", cut=cut, tool=cut.tool, halt=changes, touch=move.touch))


def _sweep(start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], turn: int) -> float:
    """Return the angle through which an arc turns, radians, 0 to 2 pi; places are (z, x)."""
    a = math.atan2(start[1] - centre[1], start[0] - centre[0])
    b = math.atan2(end[1] - centre[1], end[0] - centre[0])
    return ((b - a) * turn) % (2 * math.pi)


def name_move(move: Move | None) -> str:
    """Say a move in words, for a report; lengths in mm, X a radius."""
    if isinstance(move, FeedArc | AirArc):
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
    return f"stop to {move.reason}" if isinstance(move, Pause) else names.get(type(move), "none")
