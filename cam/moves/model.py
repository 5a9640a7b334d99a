"""Moves: what the slides and the spindle do, with geometry and speeds and not one RS-274 word.

X is a radius in mm, Z in the setting's axes in mm, feeds in mm/rev, always of the tool's programmed point.
"""

from __future__ import annotations

from typing import Literal

from cam.geometry.path import Point
from cam.ground.frozen import frozen
from cam.plan.model import Measure, Pass
from cam.shop.model import Tool


@frozen
class StartPass:
    """A pass begins here and the program may be started again here; full modal state is due.

    Attributes:
        changes: whether its tool is mounted next, before anything moves.
        touch: as in ChangeTool.
    """

    cut: Pass
    changes: bool = False
    touch: str = ""


@frozen
class ChangeTool:
    """Stop, change to this tool; the tool is parked and the spindle is off.

    Attributes:
        touch: what is finished and still stands, to set its zero on if that was not done before; "" for nothing.
    """

    tool: Tool
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
    surface_speed: float | None
    speed_name: str


@frozen
class StopSpindle:
    """Stop the spindle."""


@frozen
class Rapid:
    """A move of one axis to a place, as fast as the machine goes. The other axis keeps its place.

    Only the moving axis' word is written. It is written even where the tool is there already, because a
    restart comes from the parked place: every pass begins with X to its own clear radius, then Z to its start.

    Attributes:
        axis: the one that moves.
        to: where, mm; a radius for X.
    """

    axis: Literal["x", "z"]
    to: float


@frozen
class Feed:
    """A straight cut, or a careful approach, to (x, z) at feed mm/rev."""

    x: float
    z: float
    feed: float


@frozen
class FeedArc:
    """An arc to (x, z) about (centre_x, centre_z), turn as in cam.geometry.path.Arc, at feed mm/rev."""

    x: float
    z: float
    centre_x: float
    centre_z: float
    turn: int
    feed: float


@frozen
class AirArc:
    """Half a circle in air, the spindle standing, by which a person sees how the control takes the sense of arcs.

    Attributes: x, z, centre_x, centre_z, turn: as in FeedArc. feed: mm/min.
    """

    x: float
    z: float
    centre_x: float
    centre_z: float
    turn: int
    feed: float


@frozen
class FeedThread:
    """A straight cut along Z to z in step with the spindle, lead mm per turn."""

    z: float
    lead: float


@frozen
class Pause:
    """Stop until the operator goes on. The spindle stands still.

    Attributes:
        reason: "prove" (X), "prove Z", "arc next", "arc seen", "tool set" (another tool is proved), "measure", "belt",
            "spindle on", "spindle off" (switched by hand), "warm" (the tailstock is set again), "try" (a slip is tried
            before a last cut) or "hand".
            (ChangeTool stops by itself.)
        lines: what to do, one plain sentence each.
        measure: for "measure": the measurements; for "try": those that the tip stands a slip away from.
        arc: for "arc next" and "arc seen": the arc in air.
        place, gaps: for "try": where the tip stands, and how far off each of these, mm.
    """

    reason: str
    lines: tuple[str, ...]
    measure: tuple[Measure, ...] = ()
    arc: AirArc | None = None
    place: Point | None = None
    gaps: tuple[float, ...] = ()


@frozen
class EndProgram:
    """The program ends; the tool is parked and the spindle is off."""


Move = (
    StartPass | ChangeTool | TurnSpindle | StopSpindle
    | Rapid | Feed | FeedArc | AirArc | FeedThread | Pause | EndProgram
)  # fmt: skip
