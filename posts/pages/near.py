"""Whether a cut beside a centre may be started by eye."""

from __future__ import annotations

import math

from cam.geometry.convex import minkowski, reflect, separations
from cam.geometry.path import Line, Point
from cam.setting.model import Setting
from cam.shop.model import Lathe, Tool
from cam.shop.tool_shape import tool_bodies

BY_EYE = 0.25
"""How far off a carriage that is set by eye may start, mm; common practice, no source."""
SPARE = 0.02
"""The distance kept from touching beyond that, mm, and by which the play of a slide is taken up further."""


def eye_may_touch(setting: Setting, lathe: Lathe, tool: Tool, z: float, x: float) -> bool:
    """Tell whether a tool that starts by eye at Z z and is wound in to radius x, mm, may touch what holds the work."""
    return clear_on_way(setting, lathe, tool, z + BY_EYE, x) < SPARE


def clear_on_way(setting: Setting, lathe: Lathe, tool: Tool, z: float, x: float) -> float:
    """Return the least distance of a tool that comes to Z z and in to radius x from what stands beyond the end, mm.

    X is clear of the bar while Z comes from the tailstock side, from further out than its backlash.
    """
    out = setting.stock_radius + float(lathe.rapid_clearance) + float(lathe.x.backlash) + SPARE
    come_from = z + float(lathe.z.backlash) + SPARE
    return clearance(setting, tool, Point(z, x), Point(come_from, out))


def clearance(setting: Setting, tool: Tool, *places: Point) -> float:
    """Return the least distance of a tool at some places from what stands beyond the work's end, mm."""
    beyond = [o.polygon for o in setting.obstacles if max(p.z for p in o.polygon) > setting.end_z]
    mirrors = [(reflect(body.polygon), body.round) for body in tool_bodies(tool)]
    pairs = [(minkowski(p, mirror), round_) for p in beyond for mirror, round_ in mirrors]
    if not pairs:
        return math.inf
    grown, rounds = zip(*pairs, strict=True)
    return min(near.distance for near in separations(grown, rounds, [Line(p, p) for p in places]))
