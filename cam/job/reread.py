"""A program text, read back, must say exactly the moves that it was written from; on the lathe and on the mill.

The reader knows nothing of the post and the post nothing of the reader, so a slip of either shows here.
Places are compared as printed: rounded to the digits of the text, they must be the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from cam.ground.units import show_number
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
    Stop,
    StopSpindle,
    TurnSpindle,
    expand,
)
from cam.rs274.model import MOVING, Position, Rules
from cam.shop.mill import Mill
from posts.steps import choose_form

if TYPE_CHECKING:
    from cam.rs274.model import Motion, Program
    from cam.shop.model import Control, Lathe
    from posts.dialect import Dialect
    from posts.steps import NumberForm

NOWHERE = Position(math.nan, math.nan, math.nan)
TINY_ARC = 4
"""Chord, in last digits, up to which an arc may be printed as a line; after rounding no arc is left of it."""
COUNTED = 0.6
"""The share of a last digit by which a place within a cycle may differ, as the reader counts it from rounded words."""


class MisreadError(RuntimeError):
    """A program that we wrote does not say what was planned: this is our own fault, never the user's."""


@dataclass(slots=True, kw_only=True)
class Said:
    """One motion that the program must say, with the state in which it must happen.

    Attributes:
        kind: one of MOVING, or "end". place: destination, mm, X a radius on a lathe; NaN where not said yet.
        centre: (x, z) of an arc. turn: sense of an arc. feed: mm/rev, or mm/min where minute says so; 0 for a rapid.
        tool: its number. rpm: 0 where the spindle stands, below 0 where it turns back, as a tap is drawn out.
        surface_speed: m/min or None. turns: the angles to which the work is turned before it, in order.
        stops: number of stops before it. changes: number of tool changes before it, each of which may stop too.
        counted: whether it is within a cycle.
    """

    kind: str
    place: Position
    centre: tuple[float, float] | None = None
    turn: int = 0
    feed: float = 0.0
    minute: bool = False
    tool: int = 0
    rpm: float = 0.0
    surface_speed: float | None = None
    turns: tuple[float, ...] = ()
    stops: int = 0
    changes: int = 0
    counted: bool = False


class Grid:
    """The digits of a text: how values stand in it once rounded.

    Attributes:
        digit: the last of a place, mm. feed, feed_turn: half of the last of a feed, mm/min and mm/rev.
    """

    def __init__(self, form: NumberForm) -> None:
        self.form, self.digit = form, form.digit
        self.feed, self.feed_turn = (0.5 * 10.0**-n / form.scale for n in (form.minute_decimals, form.lead_decimals))
        self.printed: dict[float, str] = {}

    def place(self, at: Sequence[float]) -> tuple[str, ...]:
        """Return X, Z and, on the mill, Y words as printed, from mm and X as a radius; "" where not known."""
        x, y, z = at
        words = self._print(x * self.form.x_factor), self._print(z)
        return (*words, self._print(y)) if self.form.across else words

    def _print(self, value: float) -> str:
        text = self.printed.get(value)
        if text is None:
            text = "" if math.isnan(value) else show_number(value * self.form.scale, self.form.decimals)
            self.printed[value] = text
        return text


def check_said(moves: Sequence[Move], program: Program, form: NumberForm, path: str) -> None:
    """Compare a program, as read back, with the moves that it was written from, to the last printed digit.

    Motions that move nothing once rounded are left out on both sides. Stops must stand where they were
    planned; a tool change may stop once more. The work must have been turned to the same angle.

    Args:
        moves: planned.
        program: read from the text; without problems.
        form: how many digits the text holds.
        path: path of the text, for the message.
    Raises:
        MisreadError: at the first difference, naming line and move.
    """
    grid = Grid(form)
    wanted, found = list(say(moves, grid)), list(_read(program, grid))
    for number, (want, (have, stops, turns)) in enumerate(zip(wanted, found, strict=False), start=1):
        wrong = "; ".join(_differences(want, have, stops, turns, grid))
        if wrong:
            raise MisreadError(f"{path}:{have.line}: motion {number} should be {want}, but the text says {wrong}")
    if len(wanted) != len(found):
        raise MisreadError(f"{path}: {len(found)} motions, where {len(wanted)} were planned")


def say(moves: Iterable[Move], grid: Grid) -> Iterator[Said]:
    """Return the motions of a list of moves that move something once rounded, and the end, each with its state."""
    state = Said(kind="", place=NOWHERE)
    for move in moves:
        _keep(move, state)
        for own in _motions_of(move, state):
            before, own.counted = grid.place(state.place), isinstance(move, Cycle)
            state.place = own.place
            if own.kind == "end" or grid.place(own.place) != before:
                yield own
                state.stops, state.changes, state.turns = 0, 0, ()


def _keep(move: Move, now: Said) -> None:
    """Keep in the state of the machine what a move does beside moving the tool."""
    match move:
        case ChangeTool():  # in its own work system or offset: places must be said anew
            now.place, now.tool, now.changes = NOWHERE, move.tool.number, now.changes + 1
        case TurnSpindle():
            now.rpm, now.surface_speed = move.rpm, move.surface_speed
        case StopSpindle():
            now.rpm, now.surface_speed = 0.0, None
        case Index():
            now.turns, now.stops = (*now.turns, move.angle), now.stops + move.by_hand
        case Stop():
            now.stops += 1


def _motions_of(move: Move, now: Said) -> Iterator[Said]:
    """Yield the motions of one move."""
    x, y, z = now.place
    match move:
        case Rapid():
            yield replace(now, kind="rapid", place=now.place._replace(**{move.axis: move.to}))
        case Feed():
            yield replace(now, kind="line", place=Position(move.x, move.y, move.z), feed=move.feed, minute=move.minute)
        case FeedArc():
            centre, turn = (move.centre_x, move.centre_z), move.turn
            place = Position(move.x, y, move.z)
            yield replace(now, kind="arc", place=place, centre=centre, turn=turn, feed=move.feed, minute=move.minute)
        case FeedThread():
            yield replace(now, kind="thread", place=Position(x, y, move.z), feed=move.lead)
        case Cycle() if move.kind == "tap":
            for z, rpm in ((move.bottom, now.rpm), (move.retract, -now.rpm)):
                yield replace(now, kind="line", place=Position(move.x, move.y, z), feed=move.feed, minute=True, rpm=rpm)
        case Cycle():
            for each in expand(move):
                yield from _motions_of(each, now)
        case EndProgram():
            yield replace(now, kind="end")


def _read(program: Program, grid: Grid) -> Iterator[tuple[Motion, int, tuple[float, ...]]]:
    """Yield the motions of a text that move something once rounded, and the end, with stops and turns before each."""
    stops, after = 0, 0
    for motion in program.motions:
        stops += motion.kind == "stop"
        moved = grid.place(motion.start) != grid.place(motion.end)
        if motion.kind == "end" or (motion.kind in MOVING and moved):
            yield motion, stops, tuple(t.angle for t in program.turns if after < t.line <= motion.line)
            stops, after = 0, motion.line


def _differences(want: Said, have: Motion, stops: int, turns: tuple[float, ...], grid: Grid) -> Iterator[str]:
    """Return every way in which a motion, or the end, is not what was to be said."""
    if not want.stops <= stops <= want.stops + want.changes:
        yield f"{stops} stops before it"
    if [round(a, 3) for a in want.turns] != [round(a, 3) for a in turns]:
        yield f"the work turned to {turns}"
    if "end" not in (want.kind, have.kind):
        yield from _motion_off(want, have, grid)
    elif want.kind != have.kind:
        yield f"a {have.kind}"


def _motion_off(want: Said, have: Motion, grid: Grid) -> Iterator[str]:
    if grid.place(want.place) != grid.place(have.end) and not (want.counted and _beside(want.place, have.end, grid)):
        yield f"X {have.end.x} Y {have.end.y} Z {have.end.z}"
    chord = math.hypot(have.end.x - have.start.x, have.end.z - have.start.z)
    tiny = (want.kind, have.kind) == ("arc", "line") and chord <= TINY_ARC * grid.digit
    if want.kind != have.kind and not tiny:
        yield f"a {have.kind}"
    if want.centre is not None and have.centre is not None:
        yield from _centre_off(want, have, grid)
    yield from _state_off(want, have)
    if want.kind != "rapid":
        yield from _feed_off(want, have, grid)


def _beside(want: Position, have: Position, grid: Grid) -> bool:
    """Tell whether two places differ by no more than what a reader's counting from rounded words does."""
    return all(_near(a, b, COUNTED * grid.digit) for a, b in zip(want, have, strict=True))


def _centre_off(want: Said, have: Motion, grid: Grid) -> Iterator[str]:
    """Check the centre: I and K are printed from the printed start, so it is off by their rounding alone."""
    assert want.centre is not None
    assert have.centre is not None
    if want.turn != have.turn:
        yield f"turn {have.turn}"
    half = grid.digit / 2
    if not (_near(want.centre[0], have.centre.x, half) and _near(want.centre[1], have.centre.z, half)):
        yield f"centre X {have.centre.x} Z {have.centre.z}"


def _state_off(want: Said, have: Motion) -> Iterator[str]:
    if want.tool != have.tool:
        yield f"tool {have.tool}"
    sense = (want.rpm > 0) - (want.rpm < 0)
    if have.spindle != sense or (sense and not _near(abs(want.rpm), have.rpm, 0.5)):
        yield f"spindle {have.spindle} at {have.rpm} rev/min"
    if sense and not _near(want.surface_speed, have.surface_speed, 0.05):
        yield f"surface speed {have.surface_speed} m/min"


def _feed_off(want: Said, have: Motion, grid: Grid) -> Iterator[str]:
    per_minute = have.feed_mode == 94
    feed = want.feed if want.minute or not per_minute else want.feed * (want.rpm or 1.0)
    most = grid.feed if per_minute else grid.feed_turn
    if (want.minute and not per_minute) or not _near(feed, have.feed, most):
        yield f"feed {have.feed} in mode G{have.feed_mode}, where {feed} is meant"


def _near(want: float | None, have: float | None, most: float) -> bool:
    """Tell whether two numbers are equal but for rounding by most (and the last bits of a float)."""
    if want is None or have is None:
        return want is have
    return abs(want - have) <= most * (1 + 1e-6) + 1e-9


def rules_for(dialect: Dialect, machine: Control | Mill) -> Rules:
    """Return how a text of this dialect is read for a lathe's control or a mill."""
    facts, mill = machine.facts, isinstance(machine, Mill)
    return Rules(
        standard=dialect.text("STANDARD"), x_words="radius" if isinstance(machine, Mill) else machine.x_words,
        units=machine.units, stands=facts.stands, other=facts.leave_out, by_stop=facts.tool_change == "stop",
        one_zero=facts.tool_zeros == "one", comment_width=facts.comment_width, once=facts.tool_word == "tool",
        turns=mill,
    )  # fmt: skip


def form_of(dialect: Dialect, machine: Lathe | Mill) -> NumberForm:
    """Return how numbers are printed in the programs of a lathe or a mill."""
    if isinstance(machine, Mill):
        return choose_form(dialect, machine.units, across=True)
    per_revolution = machine.spindle.feeds_per_revolution
    return choose_form(dialect, machine.control.units, machine.control.x_words, per_revolution=per_revolution)
