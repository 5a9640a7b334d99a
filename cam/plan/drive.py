"""What spindle and slides can drive: cuts are made lighter until they can, and refused where that does not help."""

from __future__ import annotations

from collections.abc import Sequence

from cam.part.model import Part
from cam.plan.bench import Bench
from cam.plan.cutting import FEED_SHARE, FORCE_BAND, SPINDLE_SHARE, choose_speed, clip_feed, cutting_power, tool_force
from cam.plan.model import Operation, Pass
from cam.plan.work import highest_between
from cam.problem import Problem
from cam.shop.model import Lathe, Shop


def power_limit(lathe: Lathe) -> float:
    """Power at the cut, W: of the motor, less what belts and bearings take.

    With belts the torque at the spindle rises as its speed falls, so that the power is the same at every position;
    for a range of speeds too it is taken to be. A motor that loses power at low speed needs a lower figure in the
    shop file.
    """
    return SPINDLE_SHARE * float(lathe.spindle.power)


def lighten(bench: Bench, depth: float) -> float:
    """The depth of a roughing layer, mm per side, made less until spindle and slide drive it even at the band's end."""
    tool, lathe = bench.rough_tool, bench.shop.lathe
    feed = clip_feed(bench.shop, float(tool.rough_feed))
    stock = bench.setting.stock
    top = highest_between(stock, bench.setting.limit_z, bench.setting.stock_end_z)
    speed = max(
        bench.material.speed[tool.material][1] * 1.02, choose_speed(bench.shop, bench.material, tool, 2 * top).surface
    )
    most = 60 * power_limit(lathe) / speed
    if lathe.slide_force:
        most = min(most, lathe.slide_force / FEED_SHARE)
    least = 3 * float(tool.minimum_cut)
    while depth > least and (1 + FORCE_BAND) * tool_force(bench.material, tool, depth, feed) > most:
        depth = max(0.9 * depth, least)
    return depth


def check_drive(part: Part, shop: Shop, number: int, operations: Sequence[Operation]) -> list[Problem]:
    """The first pass of a setting that asks more than the lathe can drive; none, if all can be."""
    lathe = shop.lathe
    for cut in (p for o in operations for p in o.passes):
        power, push = (1 + FORCE_BAND) * cut.power, (1 + FORCE_BAND) * FEED_SHARE * cut.force
        if power > power_limit(lathe):
            return [_too_much(part, number, cut, *_power_words(lathe, cut))]
        if lathe.slide_force and push > lathe.slide_force:
            given = f"about {FEED_SHARE * cut.force:.0f} N along the feed, {push:.0f} N at worst"
            return [_too_much(part, number, cut, given, f"{lathe.slide_force:.0f} N, the slide's drive")]
    return []


def _power_words(lathe: Lathe, cut: Pass) -> tuple[str, str]:
    limit = power_limit(lathe)
    able = limit * 9.5493 / cut.rpm
    given = (
        f"about {cut.power:.0f} W, {(1 + FORCE_BAND) * cut.power:.0f} W at worst, at {cut.surface_speed:.0f} m/min "
        f"and {cut.force:.0f} N"
    )
    return given, f"{limit:.0f} W at the cut from a motor of {lathe.spindle.power.text} ({able:.2f} N m at this speed)"


def _too_much(part: Part, number: int, cut: Pass, given: str, allowed: str) -> Problem:
    return Problem(
        where=part.stock.where,
        what=f'pass {cut.number} of setting {number} on "{cut.sections[0]}" asks more than the lathe can drive',
        given=given,
        allowed=allowed,
        mend="a lighter cut or finer feed in the tool's row of the shop file, a narrower tool, or a slower speed",
    )


def drive_words(lathe: Lathe, cut: Pass) -> str:
    """Force and power of a pass with their band, against what there is."""
    low, high = 1 - FORCE_BAND, 1 + FORCE_BAND
    power = cutting_power(cut.force, cut.surface_speed)
    return (
        f"{cut.force:.0f} N ({low * cut.force:.0f} to {high * cut.force:.0f}), {power:.0f} W "
        f"({low * power:.0f} to {high * power:.0f}) of {power_limit(lathe):.0f} W at the cut"
    )
