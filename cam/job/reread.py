"""A program text, read back, must say exactly the moves that it was written from.

The reader knows nothing of the post and the post nothing of the reader, so a slip of either shows here.
Places are compared as printed: rounded to the digits of the text, they must be the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from cam.ground.units import MM_PER_INCH
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
    StopSpindle,
    TurnSpindle,
)
from cam.rs274.model import Rules

if TYPE_CHECKING:
    from cam.rs274.model import Motion, Program
    from cam.shop.machine import Facts
    from cam.shop.model import Control
    from posts.dialect import Dialect

def rules_for(dialect: Dialect, facts: Facts, x_words: Literal["radius", "diameter"] = "radius", *,
              units: Literal["mm", "in"] = "mm") -> Rules:  # fmt: skip
    """Return how a text of this dialect is read for a control with these facts."""
    return Rules(
        standard=dialect.text("STANDARD"),
        x_words=x_words,
        units=units,
        stands=facts.stands,
        other=facts.leave_out,
        by_stop=facts.tool_change == "stop",
        one_zero=facts.tool_zeros == "one",
        comment_width=facts.comment_width,
        once=facts.tool_word == "tool",
    )


MOTIONS = ("rapid", "line", "arc", "thread")
TINY_ARC = 4
"""Chord, in last digits, up to which an arc may be printed as a line; after rounding no arc is left of it."""


class MisreadError(RuntimeError):
    """A program that we wrote does not say what was planned: this is our own fault, never the user's."""


@dataclass(slots=True, kw_only=True)
class Said:
    """One motion that the program must say, with the state in which it must happen.

    Attributes:
        kind: one of MOTIONS, or "end". x, z: destination, mm and radius; NaN where not said yet.
        centre: (x, z) of an arc. turn: sense of an arc. feed: mm/rev; 0 for a rapid;
            mm/min where the spindle stands.
        tool: its number. rpm: 0 where the spindle stands. surface_speed: m/min or None.
        stops: number of stops before it. changes: number of tool changes before it, each of which may stop too.
    """

    kind: str
    x: float
    z: float
    centre: tuple[float, float] | None
    turn: int
    feed: float
    tool: int
    rpm: float
    surface_speed: float | None
    stops: int
    changes: int


class Grid:
    """The digits of a text: how values stand in it once rounded."""

    def __init__(self, dialect: Dialect, control: Control) -> None:
        inch = control.units == "in"
        unit = "INCH" if inch else "MM"
        self.scale = 1.0 / MM_PER_INCH if inch else 1.0
        self.factor = 2 if control.x_words == "diameter" else 1
        self.decimals = dialect.count(f"DECIMALS_{unit}")
        self.digit = 10.0**-self.decimals / self.scale
        """The last digit, mm."""
        self.feed = 0.5 * 10.0 ** -dialect.count(f"FEED_DECIMALS_{unit}") / self.scale
        """Half of the last digit of a feed per minute, mm/min."""
        self.feed_turn = 0.5 * 10.0 ** -dialect.count(f"REVOLUTION_DECIMALS_{unit}") / self.scale
        """Half of the last digit of a feed per revolution, mm/rev."""
        self.printed: dict[float, str] = {}

    def place(self, x: float, z: float) -> tuple[str, str]:
        """Return X and Z words as printed, from a radius and a Z in mm; "" where not known."""
        return self._print(x * self.factor), self._print(z)

    def _print(self, value: float) -> str:
        text = self.printed.get(value)
        if text is None:
            text = "" if math.isnan(value) else f"{value * self.scale:.{self.decimals}f}"
            text = text if text.strip("-0.") else text.lstrip("-")
            self.printed[value] = text
        return text


def check_said(moves: Sequence[Move], program: Program, dialect: Dialect, control: Control, path: str) -> None:
    """Compare a program, as read back, with the moves that it was written from, to the last printed digit.

    Motions that move nothing once rounded are left out on both sides. Stops must stand where they were
    planned; a tool change may stop once more.

    Args:
        moves: planned.
        program: read from the text; without problems.
        dialect, control: say how many digits the text holds.
        path: path of the text, for the message.
    Raises:
        MisreadError: at the first difference, naming line and move.
    """
    grid = Grid(dialect, control)
    wanted, found = list(say(moves, grid)), list(_read(program.motions, grid))
    for number, (want, (have, stops)) in enumerate(zip(wanted, found, strict=False), start=1):
        wrong = "; ".join(_differences(want, have, stops, grid))
        if wrong:
            raise MisreadError(f"{path}:{have.line}: motion {number} should be {want}, but the text says {wrong}")
    if len(wanted) != len(found):
        raise MisreadError(f"{path}: {len(found)} motions, where {len(wanted)} were planned")


def say(moves: Sequence[Move], grid: Grid) -> Iterator[Said]:
    """Return the motions of a list of moves that move something once rounded, and the end, each with its state."""
    x = z = math.nan
    tool, rpm, surface, stops, changes = 0, 0.0, None, 0, 0
    for move in moves:
        before, kind, centre, turn, feed = grid.place(x, z), "", None, 0, 0.0
        match move:
            case ChangeTool():  # in its own work system or offset: places must be said anew
                x = z = math.nan
                tool, changes = move.tool.number, changes + 1
            case TurnSpindle():
                rpm, surface = move.rpm, move.surface_speed
            case StopSpindle():
                rpm, surface = 0.0, None
            case Pause():
                stops += 1
            case Rapid():
                kind = "rapid"
                x, z = (move.to, z) if move.axis == "x" else (x, move.to)
            case Feed():
                kind, x, z, feed = "line", move.x, move.z, move.feed
            case FeedArc() | AirArc():
                kind, x, z, feed = "arc", move.x, move.z, move.feed
                centre, turn = (move.centre_x, move.centre_z), move.turn
            case FeedThread():
                kind, z, feed = "thread", move.z, move.lead
            case EndProgram():
                kind = "end"
        if kind == "end" or (kind and grid.place(x, z) != before):
            yield Said(
                kind=kind, x=x, z=z, centre=centre, turn=turn, feed=feed, tool=tool, rpm=rpm,
                surface_speed=surface, stops=stops, changes=changes,
            )  # fmt: skip
            stops = changes = 0


def _read(motions: Sequence[Motion], grid: Grid) -> Iterator[tuple[Motion, int]]:
    """Return the motions of a text that move something once rounded, and the end, each with the stops before it."""
    stops = 0
    for motion in motions:
        stops += motion.kind == "stop"
        moved = grid.place(motion.start.x, motion.start.z) != grid.place(motion.end.x, motion.end.z)
        if motion.kind == "end" or (motion.kind in MOTIONS and moved):
            yield motion, stops
            stops = 0


def _differences(want: Said, have: Motion, stops: int, grid: Grid) -> Iterator[str]:
    """Return every way in which a motion is not what was to be said."""
    if not want.stops <= stops <= want.stops + want.changes:
        yield f"{stops} stops before it"
    if want.kind == "end" or have.kind == "end":
        if want.kind != have.kind:
            yield f"a {have.kind}"
        return
    if grid.place(want.x, want.z) != grid.place(have.end.x, have.end.z):
        yield f"X {have.end.x} Z {have.end.z}"
    tiny = (want.kind, have.kind) == ("arc", "line") and _chord(have) <= TINY_ARC * grid.digit
    if want.kind != have.kind and not tiny:
        yield f"a {have.kind}"
    if want.centre is not None and have.centre is not None:
        yield from _centre_off(want, have, grid)
    yield from _state_off(want, have)
    if want.kind != "rapid":
        yield from _feed_off(want, have, grid)


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
    if have.spindle != (1 if want.rpm else 0) or (want.rpm and not _near(want.rpm, have.rpm, 0.5)):
        yield f"spindle {have.spindle} at {have.rpm} rev/min"
    if want.rpm and not _near(want.surface_speed, have.surface_speed, 0.05):
        yield f"surface speed {have.surface_speed} m/min"


def _feed_off(want: Said, have: Motion, grid: Grid) -> Iterator[str]:
    per_minute = have.feed_mode == 94
    feed, most = (want.feed * (want.rpm or 1.0), grid.feed) if per_minute else (want.feed, grid.feed_turn)
    if not _near(feed, have.feed, most):
        yield f"feed {have.feed} in mode G{have.feed_mode}, where {feed} is meant"


def _chord(motion: Motion) -> float:
    return math.hypot(motion.end.x - motion.start.x, motion.end.z - motion.start.z)


def _near(want: float | None, have: float | None, most: float) -> bool:
    """Tell whether two numbers are equal but for rounding by most (and the last bits of a float)."""
    if want is None or have is None:
        return want is have
    return abs(want - have) <= most * (1 + 1e-6) + 1e-9
