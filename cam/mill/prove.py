"""What a mill's program does in air: each tool's Z proved and a rotary axis' sense, round heights, no idle moves."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from cam.ground.units import show_fine, show_number
from cam.moves.model import ChangeTool, Cycle, Feed, Index, Move, Rapid, StartPass, Stop
from cam.setting.milled import points

BY_EYE = 1.0
"""How near a tool high over the work is brought to a face and to the middle by eye, mm. Common practice, no source."""
SEEN = 30.0
"""The degrees that a rotary axis is turned in air: a person sees which way, and no flat looks like another after it."""


def prove_zero(high: float, top: float, over: str, face: tuple[str, float], unit: Unit) -> Stop:
    """Make a stop before a tool's first move, at which the display must agree with a rule on Z, by eye on X and Y.

    Args:
        high: Z of that move, mm. top: Z of what lies under the tool, mm. over: what that is, in words.
        face: a face of the work, in words, and its X, mm.
    """
    x, by_eye = (show_fine(mm, unit, trim=True) for mm in (round(face[1], 1), BY_EYE))
    shown, height = (show_fine(z, unit, trim=True) for z in (high, top))
    return Stop(
        reason="prove height",
        lines=(
            f"By hand: the tool above everything, over {over}. The display must show Z {shown} or more.",
            f"A rule from the tool's end down to {over} must show what the display shows, less {height}.",
            f"Then its middle over {face[0]} and over the middle of the round, by eye."
            f" The display must show X {x} and Y 0, within {by_eye}.",
            "If not, that is zero at another place or counts the other way: set it before anything moves.",
        ),
    )


def prove_axis(on_top: str) -> Iterator[Move]:
    """Turn the rotary axis a little and back in air, a stop between; on_top: what is on top before that, in words."""
    yield Index(angle=0.0, by_hand=False, what=on_top)
    yield Index(angle=SEEN, by_hand=False, what="the sense of the rotary axis")
    yield Stop(
        reason="prove rotary axis",
        lines=(
            f"The rotary axis has been turned {SEEN:g} degrees: counter-clockwise, as seen from the tip of the work.",
            "If it turned the other way, this control takes A otherwise: end the program here, nothing is cut yet.",
        ),
    )


def stands_to(holes: Sequence[tuple[str, float]]) -> tuple[str, ...]:
    """Say how each cross hole that is there must stand with flat 1 on top; holes: as in MillWork.lined_up."""
    again = "If not, turn the work in its collet, and begin anew."
    return tuple(f"{points(*hole)}, seen from the tip. {again}" for hole in holes)


def line_up(turn: Index, holes: Sequence[tuple[str, float]]) -> Index:
    """Return the turn that first brings flat 1 to the top, with words on how the cross holes stand then."""
    if not holes:
        return turn
    angle = show_number(holes[0][1], 2, trim=True)
    shown = f"hole {angle} deg cw" if holes[0][1] else "hole straight up"
    return replace(turn, counts=" ".join((*stands_to(holes), turn.counts)), shown=shown)


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
