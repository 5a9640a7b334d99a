"""The way in at the tailstock end: straight in off the end where there is room, else down a ramp over extra length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from operator import itemgetter

from cam.geometry.path import Point
from cam.ground.frozen import frozen
from cam.plan.contour import Run
from cam.plan.room import Room, least_z
from cam.setting.apart import HALF
from cam.setting.model import Setting
from cam.shop.model import Tool

LEAST_GAP = 0.05
"""The least distance off the end's face at which the tool comes in, mm, beyond Z's backlash: the slide stands so much
nearer where it came from the headstock. Common practice, no source."""
RAMP_EASE = 2.0
"""A ramp is this much flatter than the tool's trailing edge, degrees, so that the edge does not rub."""


@frozen
class SlantIn:
    """A slanting way in over a stub of extra length: the tip is at z when at radius x, further out the higher.

    Attributes:
        z, x: where it ends, at the smallest radius, mm. tan: tangent of its angle to the axis.
    """

    z: float
    x: float
    tan: float

    def z_at(self, x: float) -> float:
        """Return the Z of the ramp at radius x, mm."""
        return self.z + (x - self.x) / self.tan


@frozen
class WayIn:
    """How a tool gets in at the end.

    Attributes:
        short: how much room is lacking, mm; 0 or less is enough.
        x: radius at which it is lacking, mm. against: what against what, in words.
        ramp: None for straight in.
    """

    short: float
    x: float
    against: str
    ramp: SlantIn | None


def smallest_tip(runs: tuple[Run, ...], tool: Tool, *, edges: bool) -> float:
    """Return the least radius that the tip must reach at the tailstock end, mm; with edges, for the end's edge too."""
    first = runs[0]
    nose = float(tool.nose_radius)
    least = first.radius
    if edges and first.edge is not None and first.edge.kind != "sharp":
        size = first.edge.size
        least -= size + nose if first.edge.kind == "radius" else size + 0.3 * nose + nose * (1 - HALF) + 0.05
    return least


def find_way_in(
    setting: Setting, runs: tuple[Run, ...], tool: Tool, room: Room, extra: float, told: Sequence[Point], *, off: float
) -> WayIn:
    """Find the way in for a tool; straight in is preferred.

    Args:
        extra: length beyond the finished end, mm. told: other places that the point must reach beside the centre.
        off: how far off the end's face it must come in, mm.
    """
    starts = [Point(setting.stock_end_z + off, smallest_tip(runs, tool, edges=edges)) for edges in (False, True)]
    found = []
    for z, x in (*starts, *told):
        limit = room.furthest(x)
        found.append(WayIn(short=z - limit.z, x=x, against=f"the {limit.body} against the {limit.obstacle}", ramp=None))
    worst = max(found, key=lambda w: w.short)
    if worst.short <= 0 or extra <= 0:
        return worst
    ramped = _ramp_in(setting, runs, tool, room, extra)
    return ramped if ramped is not None and ramped.short < worst.short else worst


def _ramp_in(setting: Setting, runs: tuple[Run, ...], tool: Tool, room: Room, extra: float) -> WayIn | None:
    angle = tool.trailing - RAMP_EASE
    if angle <= 1 or angle >= 80:
        return None
    tan = math.tan(math.radians(angle))
    x = runs[0].radius
    reached = ((w, c) for w in room.tail for c in (x, *(p.x for p in w.polygon if p.x > x)))
    z, tightest = min(((least_z(w.polygon, c) - (c - x) / tan, w) for w, c in reached), key=itemgetter(0))
    needed = setting.end_z - extra + float(tool.nose_radius) + LEAST_GAP
    z = min(z, setting.end_z)
    against = f"the {tightest.body} against the {tightest.obstacle}"
    return WayIn(short=needed - z, x=x, against=against, ramp=SlantIn(z=z, x=x, tan=tan))
