"""Motions in air: heights that read well, and none that leads nowhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Literal

from cam.moves.model import ChangeTool, Cycle, Feed, Move, Rapid, StartPass

Unit = Literal["mm", "in"]
STEP = {"mm": 0.05, "in": 0.0254}
"""The step to which a place in air is rounded up, mm: nobody wants tenths of a micrometre where nothing is cut."""


def settable(value: float, unit: Unit) -> float:
    """Return the next round place at or beyond value, mm; unit: as the part is written."""
    return round(math.ceil(value / STEP[unit] - 1e-9) * STEP[unit], 4)


def without_idle(moves: Iterable[Move]) -> Iterator[Move]:
    """Yield the moves, less rapids to where the tool stands: unknown at a tool change and where a pass begins."""
    at: dict[str, float] = {}
    for move in moves:
        if isinstance(move, StartPass | ChangeTool):
            at = {}
        elif isinstance(move, Feed):
            at = {"x": move.x, "y": move.y, "z": move.z}
        elif isinstance(move, Cycle):
            at = {"x": move.x, "y": move.y, "z": move.retract}
        elif isinstance(move, Rapid):
            if at.get(move.axis) == move.to:
                continue
            at[move.axis] = move.to
        yield move
