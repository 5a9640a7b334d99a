"""A program text, read back, must say exactly the moves that it was written from.

The reader knows nothing of the post and the post nothing of the reader, so a slip of either shows here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cam.moves.model import (
    ChangeTool,
    Feed,
    FeedArc,
    Finish,
    Move,
    Pause,
    Rapid,
    StopSpindle,
    TurnSpindle,
)

if TYPE_CHECKING:
    from cam.rs274.model import Motion, Program
    from cam.shop.model import Control
    from posts.dialect import Dialect

MM_PER_INCH = 25.4
EVENTS = ("rapid", "line", "arc", "stop", "end")
"""Kinds of motion that a move stands behind, one to one; tool and spindle are compared as state."""


class MisreadError(RuntimeError):
    """A program that we wrote does not say what was planned: our own fault, never the user's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One thing that the program must say, with the state that it must happen in.

    Attributes:
        kind: one of EVENTS. x, z: where to, radius and mm. centre: (x, z) of an arc. turn: of an arc.
        feed: mm/rev, 0 for a rapid. tool: number. rpm: 0 where the spindle stands still.
        surface_speed: m/min or None.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Digits:
    """Half of the last digit that the text can hold, in inside units.

    Attributes:
        x, z: mm; x of the radius. feed_minute: mm/min. feed_turn: mm/rev.
    """

    x: float
    z: float
    feed_minute: float
    feed_turn: float


def check_said(
    moves: Sequence[Move], program: Program, dialect: Dialect, control: Control, path: str
) -> None:
    """Compare a program, as read back, with the moves that it was written from, to the last printed digit.

    Args:
        moves: planned.
        program: read from the text; without problems.
        dialect, control: say how many digits the text holds.
        path: of the text, for the message.
    Raises:
        MisreadError: at the first difference, naming line and move.
    """
    digits = digits_of(dialect, control)
    wanted = list(say(moves))
    found = [m for m in program.motions if m.kind in EVENTS]
    for number, (want, have) in enumerate(zip(wanted, found, strict=False), start=1):
        wrong = "; ".join(_differences(want, have, digits))
        if wrong:
            raise MisreadError(f"{path}:{have.line}: event {number} should be {want}, but the text says {wrong}")
    if len(wanted) != len(found):
        raise MisreadError(f"{path}: {len(found)} motions and stops, where {len(wanted)} were planned")


def digits_of(dialect: Dialect, control: Control) -> Digits:
    """Half of the last printed digit of each kind of word."""
    inch = control.units == "in"
    unit, suffix = (MM_PER_INCH, "INCH") if inch else (1.0, "MM")
    half = {k: 0.5 * unit * 10.0 ** -dialect.count(f"{k}DECIMALS_{suffix}") for k in ("", "FEED_", "REVOLUTION_")}
    x = half[""] / 2 if control.x_words == "diameter" else half[""]
    return Digits(x=x, z=half[""], feed_minute=half["FEED_"], feed_turn=half["REVOLUTION_"])


def say(moves: Sequence[Move]) -> Iterator[Said]:
    """The motions and stops of a list of moves, each with the state it happens in."""
    x = z = math.nan
    tool, rpm, surface = 0, 0.0, None
    for move in moves:
        kind, centre, turn, feed = "", None, 0, 0.0
        match move:
            case ChangeTool():
                tool = move.tool.number
            case TurnSpindle():
                rpm, surface = move.rpm, move.surface_speed
            case StopSpindle():
                rpm, surface = 0.0, None
            case Rapid():
                kind, x, z = "rapid", move.x, move.z
            case Feed():
                kind, x, z, feed = "line", move.x, move.z, move.feed
            case FeedArc():
                kind, x, z, feed = "arc", move.x, move.z, move.feed
                centre, turn = (move.centre_x, move.centre_z), move.turn
            case Pause():
                kind = "stop"
            case Finish():
                kind = "end"
        if kind:
            yield Said(
                kind=kind, x=x, z=z, centre=centre, turn=turn, feed=feed, tool=tool, rpm=rpm, surface_speed=surface
            )


def _differences(want: Said, have: Motion, digits: Digits) -> Iterator[str]:
    """Every way in which a motion is not what was to be said."""
    if want.kind != have.kind:
        yield f"a {have.kind}"
        return
    if want.kind in ("stop", "end"):
        return
    yield from _off("X", want.x, have.end.x, digits.x)
    yield from _off("Z", want.z, have.end.z, digits.z)
    if want.centre is not None:
        centre = have.centre
        if centre is None or want.turn != have.turn:
            yield f"an arc with centre {centre} and turn {have.turn}"
        else:  # I and K are printed from the start as printed: two roundings, and I is always a radius
            yield from _off("centre X", want.centre[0], centre.x, digits.x + digits.z)
            yield from _off("centre Z", want.centre[1], centre.z, 2 * digits.z)
    if want.tool != have.tool:
        yield f"tool {have.tool}"
    turning = 1 if want.rpm else 0
    if have.spindle != turning or (turning and abs(have.rpm - want.rpm) > 0.5):
        yield f"spindle {have.spindle} at {have.rpm} rev/min"
    if want.surface_speed != have.surface_speed and not _near(want.surface_speed, have.surface_speed, 0.5):
        yield f"surface speed {have.surface_speed} m/min"
    if want.kind != "rapid":
        yield from _feed_off(want, have, digits)


def _feed_off(want: Said, have: Motion, digits: Digits) -> Iterator[str]:
    per_minute = have.feed_mode == 94
    feed, most = (want.feed * want.rpm, digits.feed_minute) if per_minute else (want.feed, digits.feed_turn)
    if not _near(feed, have.feed, most):
        yield f"feed {have.feed} in mode G{have.feed_mode}, where {feed} is meant"


def _off(name: str, want: float, have: float, most: float) -> Iterator[str]:
    if not math.isnan(have) and not _near(want, have, most):
        yield f"{name} {have}"


def _near(want: float | None, have: float | None, most: float) -> bool:
    """Whether two numbers are equal but for rounding by most (and the last bits of a float)."""
    if want is None or have is None:
        return want is have
    return abs(want - have) <= most * (1 + 1e-6) + 1e-9
