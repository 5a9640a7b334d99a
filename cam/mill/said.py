"""A mill's program, read back and compared with the moves that it was to say: only our own slips can differ."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from cam.ground.frozen import Row
from cam.mill.cycles import expand
from cam.mill.model import Cycle, Feed, Index, Move, Rapid, Stop, StopSpindle, TurnSpindle, UseTool
from cam.rs274.turns import MillProgram

Place = tuple[float, float, float]
NOWHERE: Place = (math.nan, math.nan, math.nan)


def long_hand(moves: Iterable[Move]) -> Iterator[Move]:
    """Return the moves with every drill and peck cycle as the moves that it stands for."""
    for move in moves:
        if isinstance(move, Cycle) and move.kind != "tap":
            yield from expand(move)
        else:
            yield move


class Said(Row):
    """One motion: its kind, its end, its feed and speed; nan where one is not said or does not matter."""

    kind: str
    end: Place
    feed: float
    rpm: float


class Digits(Row):
    """The last digit that is printed of a length, mm, and of a feed, mm/min; that of a speed is 1 rev/min."""

    length: float
    feed: float


def planned_places(moves: Iterable[Move], digit: float) -> tuple[list[Said], Counter[int], Counter[int]]:
    """Return motions (a tap goes in, and out turning back), less those of no length as printed; stops; tool changes.

    nan stands for an axis that has not been said since the tool was changed: the new one has a zero of its own. Stops
    and changes are counted by the number of motions before them.

    Args:
        digit: the last digit that is printed of a length, mm.
    """
    at, rpm = NOWHERE, 0.0
    found: list[Said] = []
    stops, changes = Counter[int](), Counter[int]()

    def go(kind: str, to: Place, feed: float = math.nan, turn: int = 1) -> None:
        nonlocal at
        if _printed(at, digit) != _printed(to, digit):
            found.append(Said(kind, to, feed, rpm * turn))
        at = to

    for move in long_hand(moves):
        if isinstance(move, Rapid):
            go("rapid", tuple(move.to if a == move.axis else v for a, v in zip("xyz", at, strict=True)))  # type: ignore[arg-type]
        elif isinstance(move, Feed):
            go("line", (move.x, move.y, move.z), move.feed)
        elif isinstance(move, Cycle):
            go("line", (move.x, move.y, move.bottom), move.feed)
            go("line", (move.x, move.y, move.retract), move.feed, -1)
        elif isinstance(move, UseTool):
            at = NOWHERE
            changes[len(found)] += 1
        elif isinstance(move, Stop) or (isinstance(move, Index) and move.by_hand):
            stops[len(found)] += 1
        elif isinstance(move, TurnSpindle):
            rpm = move.rpm
        elif isinstance(move, StopSpindle):
            rpm = 0.0
    return found, stops, changes


def first_slip(moves: Sequence[Move], program: MillProgram, digits: Digits) -> str:
    """Return what the text first says otherwise than planned, in words; "" where it says everything as planned."""
    said: list[tuple[Said, int]] = []
    halts = Counter[int]()
    for m in program.program.motions:
        if m.kind in ("rapid", "line") and not _same(m.start, m.end, 0.0):
            feed = m.feed or math.nan if m.kind == "line" else math.nan
            said.append((Said(m.kind, m.end, feed, m.rpm * m.spindle), m.line))
        halts[len(said)] += m.kind == "stop"
    planned, stops, changes = planned_places(moves, digits.length)
    for want, (have, line) in zip(planned, said, strict=False):
        if want.kind != have.kind or not _agree(want, have, digits):
            return f"line {line} says {_words(have)}, planned was {_words(want)}"
    if len(planned) != len(said):
        return f"{len(said)} motions are said, {len(planned)} were planned"
    for at, count in sorted(halts.items()):
        if not stops[at] <= count <= stops[at] + changes[at]:
            return f"{count} stops after motion {at}, planned were {stops[at]}, and one more for a change of tool"
    turns = [m.angle for m in moves if isinstance(m, Index)]
    if [round(t.angle, 3) for t in program.turns] != [round(a, 3) for a in turns]:
        return f"the work is turned to {[t.angle for t in program.turns]}, planned was {turns}"
    return ""


def _agree(want: Said, have: Said, digits: Digits) -> bool:
    """Tell whether place, feed and speed are the same to the last digit that is printed."""
    return (
        _same(want.end, have.end, 0.6 * digits.length + 1e-9)
        and _same((want.feed,), (have.feed,), 0.6 * digits.feed + 1e-9)
        and abs(want.rpm - have.rpm) <= 0.6
    )


def _printed(place: Place, digit: float) -> tuple[int | None, ...]:
    """Return a place as a whole number of last digits; None where it is not said."""
    return tuple(None if math.isnan(v) else round(v / digit) for v in place)


def _same(a: Sequence[float], b: Sequence[float], within: float) -> bool:
    return all((math.isnan(x) and math.isnan(y)) or abs(x - y) <= within for x, y in zip(a, b, strict=True))


def _words(said: Said) -> str:
    place = " ".join(f"{axis}{value:.4f}" for axis, value in zip("XYZ", said.end, strict=True))
    return f"{said.kind} to {place} F{said.feed:g} S{said.rpm:g}"
