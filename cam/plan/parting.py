"""Parting the part off its bar by a blade, the last thing that a program does."""

from __future__ import annotations

from dataclasses import replace

from cam.geometry.path import Point
from cam.part.model import Part
from cam.plan.bench import CLEAR, Bench, Bite, Way, through
from cam.plan.cutting import choose_speed, clip_feed, cutting_power, surface_speed
from cam.plan.model import Operation
from cam.plan.work import highest_between
from cam.setting.parting import PAST_AXIS, parting_blades

SLOW = 0.5
"""A part is parted at no more than this share of the speed that suits the cut otherwise; common practice, no source."""
BITE = 1.5
"""The blade is drawn back to break its chip after so many of its widths; common practice, no source."""
BACK = 0.2
"""How far the blade is drawn back, mm."""
OUT_FEED = 3.0
"""The blade leaves the slot at this many times its feed."""
HANDWORK = "all handwork in this hold done, thread and burnishing too, a tray under the part, hands and rags clear"
CAUTIONS = (
    "Parting off is where a tool digs in and is torn out: blade on centre height and square, overhang short, slides "
    "snug, oil without a break. If it chatters or squeals: stop, never push on.",
    "The part falls: let a tray catch it, never a hand. Nobody reaches in before the spindle stands.",
)


def part_off(part: Part, bench: Bench, face: float) -> Operation:
    """Part off at Z face in one pass: in by bites past the axis, straight out again; the program stops before it."""
    setting = bench.setting
    tool = parting_blades(part, bench.shop)[0]
    z = face - float(tool.width)
    top = highest_between(setting.stock, z, face)
    level, bottom = top + bench.gap, -(PAST_AXIS + float(tool.nose_radius))
    aside = z + bench.gap + 2 * bench.z_play  # so that Z is held toward the headstock
    points = [Point(z, level)]
    x = top
    while x > bottom + BITE * float(tool.width):
        x -= BITE * float(tool.width)
        points += [Point(z, x), Point(z, x + BACK)]
    points += [Point(z, bottom), Point(z, level + CLEAR)]
    feed = clip_feed(bench.shop, float(tool.rough_feed))
    made = replace(
        bench.make_pass(
            "part off",
            tool,
            (part.sections[-1 if setting.end == "A" else 0].name,),
            Way(
                approach=(Point(aside, max(bench.safe_x, level + CLEAR)), Point(aside, level), Point(z, level)),
                path=through(*points),
                feed_from=2,
            ),
            Bite(diameter=0.0, depth=float(tool.width), feed=feed, speed_diameter=2 * top),
        ),
        cautions=CAUTIONS,
        out_feed=OUT_FEED * feed,
    )
    spindle = bench.shop.lathe.spindle
    best = choose_speed(bench.shop, bench.material, tool, 2 * top, made.force).rpm
    rpm = max(SLOW * best, spindle.slowest) if not spindle.positions else made.rpm
    surface = surface_speed(2 * top, rpm)
    made = replace(
        made, rpm=rpm, css=False, surface_speed=surface, power=cutting_power(made.force, surface), before=(HANDWORK,)
    )
    return Operation(name="part it off", passes=(made,))
