"""Moves: what slides, spindle and a person do, of lathe and mill alike, with not one RS-274 word.

Places are mm, always of the tool's programmed point: on a lathe X is a radius and Z is in the setting's axes, on the
mill X runs along the work, Y across it and Z up. Angles are degrees. A feed is mm/rev unless it is by the minute.
"""

from __future__ import annotations

from typing import Literal

from cam.geometry.path import Point
from cam.ground.frozen import Row, frozen
from cam.ground.problem import RangeError
from cam.plan.model import Measure, Pass
from cam.shop.mill import Cutter
from cam.shop.model import Tool


@frozen
class StartPass:
    """A pass begins here and the program may be started again here; full modal state is due.

    Attributes:
        name: what it does: "finish, front pivot", "flat 1, layer 2 of 3".
        cut: the pass of a lathe; None on the mill.
        changes: whether its tool is mounted next, before anything moves.
        touch: as in ChangeTool.
    """

    name: str
    cut: Pass | None = None
    changes: bool = False
    touch: str = ""


@frozen
class ChangeTool:
    """Stop, change to this tool; the tool is parked and the spindle is off.

    Attributes:
        touch: what a tool can be set on that was not set before, with the figure: what is finished and still stands, or
            for the mill "8 mm on the round"; "" for nothing.
    """

    tool: Tool | Cutter
    touch: str = ""


@frozen
class TurnSpindle:
    """Set the speed and start the spindle forward.

    Attributes:
        rpm: rev/min; with surface_speed it is the limit that must not be passed.
        surface_speed: m/min held constant, or None.
        speed_name: belt position to set by hand before, or "".
    """

    rpm: float
    surface_speed: float | None = None
    speed_name: str = ""


@frozen
class StopSpindle:
    """Stop the spindle."""


@frozen
class Rapid:
    """A move of one axis to a place, as fast as the machine goes. The other axes keep their place.

    Only the moving axis' word is written. It is written even where the tool is there already, because a
    restart comes from the parked place: every pass begins with X to its own clear radius, then Z to its start.

    Attributes:
        axis: the one that moves.
        to: where, mm; a radius for a lathe's X.
    """

    axis: Literal["x", "y", "z"]
    to: float


@frozen
class Feed:
    """A straight cut, or a careful approach.

    Attributes:
        x, z, y: where to; a lathe has no Y slide.
        feed: mm/rev, or mm/min where minute says so.
    """

    x: float
    z: float
    feed: float
    y: float = 0.0
    minute: bool = False


@frozen
class FeedArc:
    """An arc to (x, z) about (centre_x, centre_z), turn as in cam.geometry.path.Arc.

    Attributes:
        feed: mm/rev; mm/min where minute says so, as in air, where the spindle stands and a person sees how the control
            takes the sense of arcs.
    """

    x: float
    z: float
    centre_x: float
    centre_z: float
    turn: int
    feed: float
    minute: bool = False


@frozen
class FeedThread:
    """A straight cut along Z to z in step with the spindle, lead mm per turn."""

    z: float
    lead: float


@frozen
class Cycle:
    """A hole along z: a drill, peck or tap cycle, or the moves that it stands for.

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
class Index:
    """Turn the work to an angle: by hand at a stop, or by the rotary axis' A word.

    Attributes:
        angle: degrees, counted from flat 1 on top. by_hand: a stop with words is due.
        what: what comes to the top, "flat 3". counts: from what the angle counts, a sentence, where a hand turns it.
        shown: what is shown then; "" for what comes to the top.
    """

    angle: float
    by_hand: bool
    what: str
    counts: str = "Angles count from flat 1 on top, counter-clockwise as seen from the tip."
    shown: str = ""


class Reading(Row):
    """A measurement at a stop of the mill.

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
    """Stop until the operator goes on. The spindle stands still.

    Attributes:
        reason: on a lathe "prove" (X), "prove Z", "arc next", "arc seen", "thread next", "thread seen" (a pass in air
            in step with the spindle), "tool set" (another tool is proved),
            "measure", "belt", "spindle on", "spindle off" (switched by hand), "warm" (the tailstock is set again),
            "try" (a slip is tried before a last cut) or "hand"; on the mill "prove height", "prove rotary axis",
            "prove", "measure", "centre", "correct" or "tap". (ChangeTool stops by itself.)
        lines: what to do, one plain sentence each.
        measure: for "measure": the measurements; for "try": those that the tip stands a slip away from.
        readings: what is measured on the mill.
        face: for "thread seen", and "measure" before the last passes of a thread: the face that its tool's side
            touches, and Z there.
        arc: for "arc next" and "arc seen": the arc in air.
        place, gaps: for "try": where the tip stands, and how far off each of these, mm. slope: growth of the radius for
            each mm toward the headstock where a taper is tried.
    """

    reason: str
    lines: tuple[str, ...]
    measure: tuple[Measure, ...] = ()
    readings: tuple[Reading, ...] = ()
    arc: FeedArc | None = None
    place: Point | None = None
    gaps: tuple[float, ...] = ()
    slope: float = 0.0
    face: tuple[str, ...] = ()


@frozen
class EndProgram:
    """The program ends; the tool is parked and the spindle is off."""


Move = (
    StartPass | ChangeTool | TurnSpindle | StopSpindle
    | Rapid | Feed | FeedArc | FeedThread | Cycle | Index | Stop | EndProgram
)  # fmt: skip


BACK_OFF = 0.254
"""How far above the last bottom a peck stops on its way back down at rapid, mm: 0.010 in in the report's own program
text (from memory)."""


def expand(cycle: Cycle) -> tuple[Rapid | Feed, ...]:
    """Return the moves of a drill or peck cycle, from anywhere above its retract level and straight over its place.

    Source: NISTIR 6556, 3.5.16: G81, G83 and G84 with the tool at or above R, ending at R (G99).

    Raises:
        RangeError: it is a tap cycle, which needs the spindle to turn in step and back, or its levels are out of order.
    """
    if cycle.kind == "tap":
        raise RangeError("a tap cycle cannot be written as plain moves: the spindle must turn in step with the feed")
    if cycle.bottom > cycle.retract or (cycle.kind == "peck" and cycle.step <= 0):
        raise RangeError("a cycle goes down, and a peck has a step")
    x, y, top = cycle.x, cycle.y, cycle.retract
    moves: list[Rapid | Feed] = [Rapid(axis="z", to=top)]
    if cycle.kind == "peck":
        depth = top - cycle.step
        while depth > cycle.bottom:
            moves.append(Feed(x=x, y=y, z=depth, feed=cycle.feed, minute=True))
            moves.append(Rapid(axis="z", to=top))
            moves.append(Rapid(axis="z", to=min(depth + BACK_OFF, top)))
            depth -= cycle.step
    return (*moves, Feed(x=x, y=y, z=cycle.bottom, feed=cycle.feed, minute=True), Rapid(axis="z", to=top))
