"""Whether an eye is good enough to start a cut by, beside a centre."""

from __future__ import annotations

import math

from cam.geometry.convex import minkowski, reflect, separations
from cam.geometry.path import Line, Point
from cam.setting.model import Setting
from cam.shop.model import Tool
from cam.shop.tool_shape import tool_bodies

BY_EYE = 0.25
"""How far from where it should a carriage may start that is set by eye, mm; common practice, no source."""
SPARE = 0.02
"""Kept from touching beside that, mm."""


def eye_may_touch(setting: Setting, tool: Tool, z: float, x: float) -> bool:
    """Whether a tool may touch what holds the work, started by eye at Z z and wound in to radius x, mm."""
    return clearance(setting, tool, z + BY_EYE, x) < SPARE


def clearance(setting: Setting, tool: Tool, z: float, x: float) -> float:
    """Least distance of a tool at a place, radius x, from what stands beyond the work's end, mm."""
    beyond = [o.polygon for o in setting.obstacles if max(p.z for p in o.polygon) > setting.end_z]
    pairs = [(minkowski(p, reflect(body.polygon)), body.round) for p in beyond for body in tool_bodies(tool)]
    if not pairs:
        return math.inf
    grown, rounds = zip(*pairs, strict=True)
    return separations(grown, rounds, [Line(Point(z, x), Point(z, x))])[0].distance
