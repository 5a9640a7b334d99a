"""Where a cut beside a centre may begin, by eye or by dial."""

from __future__ import annotations

import math

from cam.geometry.convex import minkowski, reflect, separations
from cam.geometry.path import Line, Point
from cam.ground.tolerances import AS_PRINTED
from cam.setting.model import Setting
from cam.shop.model import Lathe, Tool
from cam.shop.tool_shape import tool_bodies

BY_EYE = 0.25
"""How far off a carriage that is set by eye may start, mm; common practice, no source."""
SPARE = 0.02
"""The distance kept from touching beyond that, mm, and by which the play of a slide is taken up further."""
DRAWN_IN = 0.01
"""The steps in which a start by eye is drawn in, mm."""
NEARER = 0.1
"""How much nearer than planned a cut may begin beside a centre, mm, beyond Z's backlash, where X lands further in."""


def drawn_in(lathe: Lathe, step: float) -> list[float]:
    """Return by how much nearer to the headstock than planned a cut may begin beside a centre, step by step, mm."""
    return [k * step for k in range(math.ceil((NEARER + float(lathe.z.backlash)) / step) + 2)]


def is_clear(setting: Setting, lathe: Lathe, tool: Tool, at: Point) -> bool:
    """Tell whether a tool that is set to a place by dial comes to it clear of what stands beyond the end."""
    return clear_on_way(setting, lathe, tool, at.z, at.x) > float(lathe.contact_clearance) + AS_PRINTED


def start_by_eye(setting: Setting, lathe: Lathe, tool: Tool, z: float, x: float) -> float:
    """Return Z, from z toward the headstock, where a cut begins by eye, mm: X, landed deeper, is nearer to the cone."""
    nearer, wanted = (z - k * DRAWN_IN for k in range(20)), float(lathe.contact_clearance) + AS_PRINTED
    return next((at for at in nearer if clearance(setting, tool, Point(at, x)) > wanted), z)


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
