"""What spindle and slides can drive: cuts are made lighter until they do, and refused where that does not help."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.ground.problem import Problem, problem
from cam.part.model import Part
from cam.plan.bench import Bench
from cam.plan.cutting import (
    FEED_SHARE,
    FORCE_BAND,
    can_drive,
    choose_speed,
    clip_feed,
    cutting_power,
    power_limit,
    surface_speed,
    tool_force,
    torque,
)
from cam.plan.model import Operation, Pass
from cam.plan.work import highest_between
from cam.shop.model import Lathe, Shop

SURE = 1 + 1e-9
"""A margin for rounding: a cut that was made just as heavy as can be driven is not refused."""
AROUND = 3.0
"""The seconds that a roughing layer takes beside its cut and the way back along Z; near enough for choosing a depth."""
LEAST_CUTS = 3
"""The lightest roughing, in times of the tool's least cut; common practice, no source."""
SHARES = (1.0, 0.85, 0.7, 0.6, 0.5, 0.4, 0.3)
"""The shares of the fastest suitable speed that are tried for the heaviest roughing on a lathe without belts."""


def lighten(bench: Bench, depth: float) -> float:
    """Lower the depth of a roughing layer, mm per side, until spindle and slide drive it, even at the band's end.

    A weak motor drives a thin layer fast or a thick one slowly: of the speeds that there are, the one at which most is
    taken off in a time is used, with coming in and going back counted.
    """
    tool, shop = bench.rough_tool, bench.shop
    feed = clip_feed(shop, float(tool.rough_feed))
    stock = bench.setting.stock
    wide = 2 * highest_between(stock, bench.setting.limit_z, bench.setting.stock_end_z)
    length = bench.setting.stock_end_z - bench.setting.turned[-1].far
    found = []
    for rpm in _speeds_tried(bench, wide):
        driven = _drivable_depth(bench, depth, feed, wide, surface_speed(wide, rpm))
        if driven >= depth:
            return depth
        seconds = 60 * length / (feed * rpm) + 60 * length / float(shop.lathe.control.rapid) + AROUND
        found.append((seconds / driven, driven))
    return min(found)[1]


def _speeds_tried(bench: Bench, diameter: float) -> list[float]:
    """Return the spindle speeds to try for roughing a diameter, rev/min, the fastest that suits first."""
    best = choose_speed(bench.shop, bench.material, bench.rough_tool, diameter).rpm
    spindle = bench.shop.lathe.spindle
    if spindle.positions:
        rpms = [float(s.rpm) for s in spindle.positions if SHARES[-1] * best <= s.rpm <= best]
    else:
        rpms = [max(share * best, spindle.slowest) for share in SHARES]
    return sorted(rpms, reverse=True)


def _drivable_depth(bench: Bench, depth: float, feed: float, diameter: float, speed: float) -> float:
    """Lower the depth, mm per side, until motor and slide drive it at a diameter in mm and a speed in m/min."""
    tool, lathe = bench.rough_tool, bench.shop.lathe
    most = 60 * power_limit(lathe) / speed
    if lathe.slide_force:
        most = min(most, lathe.slide_force / FEED_SHARE)
    if lathe.spindle.torque:
        most = min(most, lathe.spindle.torque / torque(1.0, diameter))
    least = min(LEAST_CUTS * float(tool.minimum_cut), depth)
    while depth > least and (1 + FORCE_BAND) * tool_force(bench.material, tool, depth, feed) > most:
        depth = max(0.97 * depth, least)
    return depth


def lighten_facing(bench: Bench, depth: float, diameter: float) -> float:
    """Lower the depth of a facing cut, mm, until the spindle, at its slowest, and the slide drive it."""
    tool = bench.finish_tool
    feed = clip_feed(bench.shop, float(tool.finish_feed))
    while depth > 2 * tool.minimum_cut and not can_drive(
        bench.shop, tool_force(bench.material, tool, depth, feed), diameter
    ):
        depth = max(0.9 * depth, 2 * float(tool.minimum_cut))
    return depth


def check_drive(part: Part, shop: Shop, number: int, operations: Sequence[Operation]) -> list[Problem]:
    """Report the first pass of a setting that asks more than the lathe can drive; nothing if there is none."""
    lathe = shop.lathe
    for cut in (p for o in operations for p in o.passes):
        power, push = (1 + FORCE_BAND) * cut.power, (1 + FORCE_BAND) * FEED_SHARE * cut.force
        if power > SURE * power_limit(lathe):
            return [_too_much(part, number, cut, *_power_words(lathe, cut))]
        turn = torque((1 + FORCE_BAND) * cut.force, 1000 * cut.surface_speed / (math.pi * cut.rpm))
        if lathe.spindle.torque and turn > SURE * lathe.spindle.torque:
            given = f"about {turn / (1 + FORCE_BAND):.2f} N m, {turn:.2f} N m at worst, from {cut.force:.0f} N"
            return [_too_much(part, number, cut, given, f"{lathe.spindle.torque:.2f} N m at the spindle")]
        if lathe.slide_force and push > SURE * lathe.slide_force:
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
    what = f'pass {cut.number} of setting {number} on "{cut.sections[0]}" asks more than the lathe can drive'
    fix = (
        "a finer feed, a lighter deepest cut or a narrower tool in the shop file; slower speeds and half the feed "
        "were tried"
    )
    return problem(part.stock.where, what, given, allowed, fix)


def drive_words(lathe: Lathe, cut: Pass) -> str:
    """Say the force and power of a pass with their band, against what the lathe has."""
    low, high = 1 - FORCE_BAND, 1 + FORCE_BAND
    power = cutting_power(cut.force, cut.surface_speed)
    return (
        f"{cut.force:.0f} N ({low * cut.force:.0f} to {high * cut.force:.0f}), {power:.0f} W "
        f"({low * power:.0f} to {high * power:.0f}) of {power_limit(lathe):.0f} W at the cut"
    )
