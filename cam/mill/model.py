"""What a mill does, as data without a word of program text; lengths mm, angles degrees, feeds mm/min."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.setting.milled import Cutter


@frozen
class UseTool:
    """Stop, and change to this tool by hand; the spindle is off and the tool parked.

    Attributes:
        touch: its Z on whatever it can be set on, in words: "8 mm on the round".
    """

    cutter: Cutter
    touch: str = ""


@frozen
class TurnSpindle:
    """Start the spindle forward at rev/min."""

    rpm: float


@frozen
class StopSpindle:
    """Stop the spindle."""


@frozen
class StartPass:
    """A pass begins here; the program may be started again here, so the full state is due.

    Attributes:
        name: "flat 1, layer 2". touch: what stands by then on which a tool's Z is set anew, with the figure; or "".
    """

    name: str
    touch: str = ""


@frozen
class Rapid:
    """A move of one axis to a place, as fast as the machine goes."""

    axis: Literal["x", "y", "z"]
    to: float


@frozen
class Feed:
    """A straight cut to (x, y, z) at feed mm/min."""

    x: float
    y: float
    z: float
    feed: float


@frozen
class Index:
    """Turn the work to an angle: by hand at a stop, or by the rotary axis' A word.

    Attributes:
        angle: degrees, counted from flat 1 on top. by_hand: a stop with words is due.
        what: what comes to the top, "flat 3".
    """

    angle: float
    by_hand: bool
    what: str


class Reading(Row):
    """A measurement at a stop.

    Attributes:
        name: "across flats 1 and 3". expected: mm.
        least, most: limits, mm; equal to expected where it is not yet to size.
        station: x at which it is taken, mm, or None where that does not matter.
    """

    name: str
    expected: float
    least: float
    most: float
    station: float | None


@frozen
class Stop:
    """Stop until the operator goes on; the spindle stands still.

    Attributes:
        reason: "prove height", "prove rotary axis", "prove", "measure", "centre", "tap" ...
        lines: what to do, one plain sentence each.
        readings: what to measure.
    """

    reason: str
    lines: tuple[str, ...]
    readings: tuple[Reading, ...] = ()


@frozen
class Cycle:
    """A hole along z: a drill, peck or tap cycle, or the moves that it stands for (cam.mill.cycles.expand).

    Attributes:
        kind: "drill" (G81), "peck" (G83) or "tap" (G84).
        x, y: place. retract: z just above the work; the cycle ends there. bottom: z of the tool's end at the bottom.
        step: step of a peck, mm; 0 otherwise. feed: mm/min; for a tap, pitch times rev/min.
    """

    kind: Literal["drill", "peck", "tap"]
    x: float
    y: float
    retract: float
    bottom: float
    step: float
    feed: float


@frozen
class End:
    """The program ends; the tool is parked and the spindle is off."""


Move = UseTool | TurnSpindle | StopSpindle | StartPass | Rapid | Feed | Index | Stop | Cycle | End


INDEX_WORDS = "TURN THE WORK TO"
"""An indexing stop in program text says so in a comment: "TURN THE WORK TO 180 DEG"; the judge reads it there."""


def index_comment(angle: float) -> str:
    """Return the comment that a hand-indexing stop must carry, "TURN THE WORK TO 180 DEG"."""
    return f"{INDEX_WORDS} {angle:.4f}".rstrip("0").rstrip(".") + " DEG"
