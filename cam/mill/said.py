"""A mill's program read back, held against the moves that it was to say: only our own slips can differ."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from cam.mill.cycles import expand
from cam.mill.model import Cycle, Feed, Index, Move, Rapid, UseTool
from cam.mill.read import MillProgram

Place = tuple[float, float, float]
NOWHERE: Place = (math.nan, math.nan, math.nan)


def long_hand(moves: Iterable[Move]) -> Iterator[Move]:
    """The moves with every drill and peck cycle as what it stands for."""
    for move in moves:
        if isinstance(move, Cycle) and move.kind != "tap":
            yield from expand(move)
        else:
            yield move


def planned_places(moves: Iterable[Move]) -> list[tuple[str, Place]]:
    """(kind, end) of every motion, those without way left out; a tap goes in and out.

    nan stands for an axis that has not been said since the tool was changed: the new one has a zero of its own.
    """
    at, found = NOWHERE, []

    def go(kind: str, to: Place) -> None:
        nonlocal at
        if not _same(at, to, 0.0):
            found.append((kind, to))
        at = to

    for move in long_hand(moves):
        if isinstance(move, Rapid):
            go("rapid", tuple(move.to if a == move.axis else v for a, v in zip("xyz", at, strict=True)))  # type: ignore[arg-type]
        elif isinstance(move, Feed):
            go("line", (move.x, move.y, move.z))
        elif isinstance(move, Cycle):
            go("line", (move.x, move.y, move.bottom))
            go("line", (move.x, move.y, move.retract))
        elif isinstance(move, UseTool):
            at = NOWHERE
    return found


def first_slip(moves: Sequence[Move], program: MillProgram, digit: float) -> str:
    """What the text first says otherwise than planned, in words; "" where it says all of it.

    Args:
        digit: the last that is printed, mm.
    """
    said = [
        (m.kind, m.end, m.line)
        for m in program.program.motions
        if m.kind in ("rapid", "line") and not _same(m.start, m.end, 0.0)
    ]
    planned = planned_places(moves)
    for (kind, place), (found, end, line) in zip(planned, said, strict=False):
        if kind != found or not _same(place, end, 0.6 * digit + 1e-9):
            return f"line {line} says {found} to {_words(end)}, planned was {kind} to {_words(place)}"
    if len(planned) != len(said):
        return f"{len(said)} motions are said, {len(planned)} were planned"
    turns = [m.angle for m in moves if isinstance(m, Index)]
    if [round(t.angle, 3) for t in program.turns] != [round(a, 3) for a in turns]:
        return f"the work is turned to {[t.angle for t in program.turns]}, planned was {turns}"
    return ""


def _same(a: Sequence[float], b: Sequence[float], within: float) -> bool:
    return all((math.isnan(x) and math.isnan(y)) or abs(x - y) <= within for x, y in zip(a, b, strict=True))


def _words(place: Sequence[float]) -> str:
    return " ".join(f"{axis}{value:.4f}" for axis, value in zip("XYZ", place, strict=True))
