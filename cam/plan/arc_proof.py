"""The half circle in air that shows a person the sense of arcs: how large it can be, and where it has no room."""

from __future__ import annotations

from collections.abc import Sequence

from cam.geometry.path import Arc, Point
from cam.ground.problem import Problem, problem
from cam.part.model import Part
from cam.plan.model import Pass
from cam.plan.room import find_room
from cam.setting.model import Setting
from cam.setting.words import at_least, say
from cam.shop.model import Control, Shop

ARC_RADIUS = 3.0
"""The radius of the half circle in air, mm: large enough to be seen, and nearer to nothing than the proof of X."""
LEAST_RADIUS = 1.01
"""The least radius of the half circle, mm: a person cannot see the sense of a smaller one."""
SPARE = 0.01
"""A margin beyond the clearance, mm, so that rounding to a program's digits cannot use the clearance up."""


def must_prove_arcs(passes: Sequence[Pass], control: Control) -> bool:
    """Tell whether a program has arcs, on a control that has not been seen to take them as they are meant."""
    if control.kind == "hand" or control.facts.arcs == "lines" or control.facts.proves("arcs"):
        return False
    return any(isinstance(piece, Arc) for cut in passes for piece in cut.path)


def arc_radius(setting: Setting, shop: Shop, first: Pass, park: Point) -> float:
    """Return the radius of the half circle in air, mm; it swings toward the headstock from where the tool is parked.

    Args:
        first: the first pass, whose tool is in the post. park: where that tool is parked.
    """
    room = find_room(setting, first.tool, float(shop.lathe.contact_clearance))
    return min(ARC_RADIUS, (park.z - room.nearest(park.x).z) / 2 - SPARE)


def check_arc_room(part: Part, shop: Shop, setting: Setting, passes: Sequence[Pass], park: Point) -> list[Problem]:
    """Report a half circle that has no room: very short work beside a chuck leaves none."""
    if not must_prove_arcs(passes, shop.lathe.control):
        return []
    radius = arc_radius(setting, shop, passes[0], park)
    if radius >= LEAST_RADIUS:
        return []
    limit = find_room(setting, passes[0].tool, float(shop.lathe.contact_clearance)).nearest(park.x)
    need = 2 * (LEAST_RADIUS + SPARE)
    longer = f"let the stock stand out {at_least(2 * (LEAST_RADIUS - radius), part)} more"
    further = "longer stock at that end, or a grip further back"
    what = "there is no room to prove the sense of arcs by a half circle in air before anything is cut"
    given = f"setting {setting.number}: {say(park.z - limit.z, part)} from the parked tool to the {limit.obstacle}"
    fix = (
        f"{longer if setting.chuck is not None else further}; or write in the shop file's [lathe.control] "
        'arcs = "lines" with an arc_height, or proved = { "arcs" = "the date on which that was seen" }'
    )
    return [problem(part.holding.where, what, given, f"at least {at_least(need, part)}", fix)]
