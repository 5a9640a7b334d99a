"""What a program text says, once read: motions in mm with X as a radius, each with its line."""

from __future__ import annotations

from typing import Literal, NamedTuple

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem
from cam.rs274.notes import Note

Kind = Literal["rapid", "line", "arc", "thread", "dwell", "stop", "optional stop", "tool", "spindle", "end"]
MOVING = frozenset(("rapid", "line", "arc", "thread"))
"""The kinds of motion that move the tool."""


class Position(Row):
    """A programmed position in the active system, mm, x a radius; NaN where it is not said, and never -0.0."""

    x: float
    y: float
    z: float


@frozen
class Rules:
    """Which standard's rules a text is read by.

    Attributes:
        standard: its name, "NISTIR 6556"; each is a data file in the folder `standards`.
        x_words: whether X words are radii or diameters (the control's own setting; no word of
            either standard says it). I words are radii always.
        units: units that the control is set to; asked only where the standard has no words for them.
        stands: (word, date) of each mode that this control is known to be in at the start. Each counts only where
            the head of the text repeats it: "G90 stands at the start, 2026-05-02".
        other: words that mean something else to this control, so that no text may say them, "G71".
        by_stop: whether tools are changed by stops whose words name them ("mount tool 2"), and no word calls one.
        one_zero: whether all tools share one zero, which is set anew at each change: every place is unknown after it.
        comment_width: characters of a comment between its brackets that this control takes; 0 for any.
        in_use: the tool that is in use when the text begins; 0 for none, as at the start of every program.
        once: whether a tool that is in use may not be called again.
        turns: whether the machine turns the work, by A words or by hand at stops, as a mill does.
    """

    standard: str
    x_words: Literal["radius", "diameter"]
    units: Literal["mm", "in"] = "mm"
    stands: tuple[tuple[str, str], ...] = ()
    other: tuple[str, ...] = ()
    by_stop: bool = False
    one_zero: bool = False
    comment_width: int = 0
    once: bool = False
    in_use: int = 0
    turns: bool = False


class Turn(Row):
    """A turn of the work to an angle, degrees, at a line: by hand at a stop that says so, or by an A word."""

    line: int
    angle: float
    by_hand: bool


class Motion(NamedTuple):
    """One thing that the program makes the machine do (a tuple, as a program has thousands).

    Attributes:
        kind: "rapid", "line", "arc", "thread" (straight along Z, in step with the spindle), "dwell", "stop" (M0),
            "optional stop", "tool" (a tool comes into use), "spindle" (a speed or direction is commanded) or "end".
        line: line of the text, counted from 1.
        start, end: equal for what does not move. start of the first motion is known as far as the program
            said it: axes not yet programmed are NaN. So are axes after a change of work system or of tool
            offset, until programmed again, and all axes at the end of a return to the home position (G28,
            G30). Where system is 0 both are machine coordinates, NaN where the program did not set the offset.
            While a G92 shift of known size is in force they are as if it were not, so that a place on the
            work keeps one name.
        centre: centre of an arc in its plane, as a Position (the third value repeats the start's); else None.
        turn: +1 for G3, -1 for G2; 0 otherwise.
        plane: 17, 18 or 19; 0 while an EIA-274-D text has not said.
        feed: mm/min, or mm/rev where feed_mode is 95; 1/min where 93; None if never set. For a thread its lead, mm.
        feed_mode: 93, 94 or 95; 0 while an EIA-274-D text has not said. 95 for a thread, whatever is in force.
        rpm: spindle speed as set (limit where surface_speed is given); 0 when never set.
        surface_speed: m/min under G96, else None.
        spindle: +1 forward (M3), -1 backward, 0 stopped.
        tool: number of the tool in use, 0 if none was called.
        offset: offset digits called with the tool (EIA-274-D), the H of a length offset in force (NISTIR 6556), or 0.
        system: 1 for G54 ... 9 for G59.3; 0 for machine coordinates (G53).
        seconds: length of a dwell; 0 otherwise.
        top_slide: whether the top slide carries the tool, set over to the line's angle, and the two slides stand.
            No program says that; a hand does it.
    """

    kind: Kind
    line: int
    start: Position
    end: Position
    centre: Position | None = None
    turn: int = 0
    plane: int = 17
    feed: float | None = None
    feed_mode: int = 94
    rpm: float = 0.0
    surface_speed: float | None = None
    spindle: int = 0
    tool: int = 0
    offset: int = 0
    system: int = 1
    seconds: float = 0.0
    top_slide: bool = False


@frozen
class Program:
    """A program text as read.

    Attributes:
        motions: its motions in order; where there are problems, up to the first.
        problems: every rule that the text breaks, with line and column; empty for a good one.
        lines: how many lines the text has.
        comments: (line, text) of every comment.
        standard: the standard by whose rules it was read.
        notes: what it leaves to the control, and what it does to its datum, by line.
        turns: turns of the work in the order of lines; a turn by hand has the line of its stop.
        unit: of its lengths, as it says last; mm where it says none.
    """

    motions: tuple[Motion, ...]
    problems: tuple[Problem, ...]
    lines: int
    comments: tuple[tuple[int, str], ...]
    standard: str = "NISTIR 6556"
    notes: tuple[Note, ...] = ()
    turns: tuple[Turn, ...] = ()
    unit: Literal["mm", "in"] = "mm"
