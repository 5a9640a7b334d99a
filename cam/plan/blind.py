"""A refused plan as it would have been: for the picture, never for the machine."""

from __future__ import annotations

from dataclasses import replace

from cam.geometry.path import Point
from cam.ground.problem import ProblemError
from cam.lengths.solved import Solved
from cam.plan.choose import NoRoomError, WayOut
from cam.plan.job import plan_setting
from cam.plan.model import Plan, SettingPlan
from cam.setting import settle
from cam.setting.model import Setting
from cam.shop.model import Shop


def plan_blindly(part: Solved, shop: Shop) -> Plan:
    """Plan a part; a setting that cannot be planned otherwise is planned without regard to what stands in the way.

    What the planner refuses for want of room is planned as if centre, carrier and all the rest were not
    there. Judged with them in place, the programs then show where they would hit. A setting that cannot be planned
    even so has no passes.

    Raises:
        ProblemError: the part cannot even be held, so there is no setting to draw.
    """
    plans = tuple(_plan_setting(part, shop, setting) for setting in settle(part, shop))
    return Plan(part=part, shop=shop, settings=plans, warnings=())


def find_ways_out(part: Solved, shop: Shop) -> tuple[WayOut, ...]:
    """Find every single change that would give a tool room where none has any, in the order of the settings.

    Raises:
        ProblemError: the part cannot even be held.
    """
    found: list[WayOut] = []
    for setting in settle(part, shop):
        try:
            plan_setting(part, shop, setting)
        except NoRoomError as refused:
            found += refused.ways
        except ProblemError:
            continue
    return tuple(found)


def _plan_setting(part: Solved, shop: Shop, setting: Setting) -> SettingPlan:
    for seen in (setting, replace(setting, obstacles=())):
        try:
            return replace(plan_setting(part, shop, seen), setting=setting)
        except ProblemError:
            continue
    out = max(max(piece.start.x, piece.end.x) for piece in setting.stock)
    return SettingPlan(
        setting=setting,
        operations=(),
        safe_x=out,
        park=Point(setting.stock_end_z, 2 * out),
        proof_diameter=4 * out,
        proof_z=setting.stock_end_z,
    )
