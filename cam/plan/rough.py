"""Roughing: levels over the whole profile, clipped where it stands in the way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from cam.geometry.path import Point
from cam.part.model import Part
from cam.plan.allowance import FINE, ROUGHING_SPRING, radius_step
from cam.plan.bench import CLEAR, Bench, through
from cam.plan.contour import Run, fillet_tip
from cam.plan.cutting import (
    FEED_SHARE,
    FORCE_BAND,
    choose_speed,
    clip_feed,
    driven_speed,
    power_limit,
    tool_force,
    torque,
)
from cam.plan.drive import LEAST_CUTS, lighten
from cam.plan.levels import Pace, Step, choose_levels, least_seconds
from cam.plan.model import Pass
from cam.plan.work import highest_between, turn_down
from cam.setting.words import say

OUT_FEED = 3.0
"""A layer's end is left straight outward at this many times the roughing feed: all that is cut there is the thin wedge
that a leaning leading edge left. Common practice (the slide is wound out by hand as quick), no source."""

NEARLY = 0.9
"""Depths are tried in small steps: what asks this share of the slide is the most that it pushes."""

TURNING_CAUTION = (
    "Before the spindle is started: turn it one full revolution by hand with the tool at each end of its travel."
)


def choose_depth(bench: Bench) -> float:
    """Greatest depth of a roughing layer, mm per side, a settable step.

    The deepest that the tool takes and at which the thinnest state of the work springs no more than
    ROUGHING_SPRING, and that spindle and slide can drive.
    """
    if not bench.rough_depth:
        step = radius_step(bench.shop.lathe)
        depth = lighten(bench, _depth_by_spring(bench))
        bench.rough_depth = max(math.floor(depth / step + FINE) * step, step)
    return bench.rough_depth


def _depth_by_spring(bench: Bench) -> float:
    tool = bench.rough_tool
    depth = float(tool.deepest_cut)
    spring = worst_spring(bench, tool_force(bench.material, tool, depth, float(tool.rough_feed)))
    if spring > ROUGHING_SPRING:
        depth = max(depth * ROUGHING_SPRING / spring, LEAST_CUTS * float(tool.minimum_cut))
    return depth


def explain_depth(part: Part, bench: Bench) -> Iterator[str]:
    """Why layers are shallower than the tool could take, where they are."""
    tool, most = bench.rough_tool, choose_depth(bench)
    step = radius_step(bench.shop.lathe)
    if most >= float(tool.deepest_cut) - step:
        return
    springs = _depth_by_spring(bench)
    if most < springs - step:
        force = tool_force(bench.material, tool, most, clip_feed(bench.shop, float(tool.rough_feed)))
        lathe = bench.shop.lathe
        wide = 2 * rough_top(bench)
        if lathe.spindle.torque and torque((1 + FORCE_BAND) * force, wide) > NEARLY * lathe.spindle.torque:
            why = f"the spindle turns with no more, {lathe.spindle.torque:.2f} N m"
        elif lathe.slide_force and (1 + FORCE_BAND) * FEED_SHARE * force > NEARLY * lathe.slide_force:
            why = f"the slide pushes no more, {lathe.slide_force:.0f} N"
        else:
            why = f"the motor drives no more, {power_limit(lathe):.0f} W at the cut"
        why += ", the force taken at the upper end of its band"
    else:
        why = f"under more the work would spring over {say(ROUGHING_SPRING, part)} at its weakest once roughed"
    yield (
        f"roughing layers are {say(most, part)} per side at most, where the tool could take "
        f"{say(tool.deepest_cut, part)}: {why}"
    )


def worst_spring(bench: Bench, force: float) -> float:
    """Greatest spring of the work under a cutting force once everything here is roughed to size, mm per side."""
    work = bench.work
    for run in bench.runs:
        work = turn_down(work, run.far, run.near, 2 * max(run.radius, run.far_radius))
    spots = [z for run in bench.runs for z in (run.near, (run.near + run.far) / 2, run.far)]
    return max(bench.spring(z, force, work) for z in spots)


def rough_profile(bench: Bench) -> list[Pass]:
    """Roughing passes over the whole profile, down to the allowance everywhere."""
    tool = bench.rough_tool
    top = rough_top(bench)
    levels = choose_levels(
        top,
        rough_steps(bench),
        choose_depth(bench),
        float(tool.minimum_cut),
        radius_step(bench.shop.lathe),
        rough_pace(bench, top),
    )
    passes: list[Pass] = []
    above = top
    for level in levels:
        points = level_path(bench, level, above)
        if points:
            passes.append(_rough_pass(bench, points, level, above, last=level == levels[-1]))
        above = level
    return passes


def rough_bound(bench: Bench) -> float:
    """Seconds that no roughing of this profile, to this allowance and at this depth, could come below.

    Nor can the motor take off metal faster than in layers of the full depth, which need the least force for their area.
    """
    top = rough_top(bench)
    thick = [max(r.radius, r.far_radius) + bench.allowance.side for r in bench.runs]  # of a taper its least metal
    steps = [s._replace(radius=r) for s, r in zip(rough_steps(bench), thick, strict=True) if r < top - FINE]
    rapid = float(bench.shop.lathe.control.rapid) / 60
    depth, feed = choose_depth(bench), clip_feed(bench.shop, float(bench.rough_tool.rough_feed))
    force = (1 + FORCE_BAND) * tool_force(bench.material, bench.rough_tool, depth, feed)
    work = force / (depth * feed) / (1000 * power_limit(bench.shop.lathe))
    return least_seconds(top, steps, depth, rough_pace(bench, top, driven=False), rapid, work)


def rough_top(bench: Bench) -> float:
    """Radius of the outermost metal that roughing meets, mm."""
    runs = bench.runs
    low = bench.open_end(runs[-1], bench.rough_tool) if runs[-1].open else runs[-1].far
    return highest_between(bench.setting.stock, low + 1e-6, bench.setting.stock_end_z)


def rough_steps(bench: Bench) -> list[Step]:
    """The runs as roughing is to leave them; the first begins at the end of the metal."""
    found = []
    for run in bench.runs:
        near = max(run.near, bench.metal_end) if run is bench.runs[0] else run.near
        far = bench.open_end(run, bench.rough_tool) if run.open else run.far + bench.allowance.face
        radius = min(run.radius, run.far_radius) + bench.allowance.side
        found.append(Step(radius, max(near - far, 0.0), level=run.radius == run.far_radius))
    return found


BINS = 24
"""Of radii, in each of which a spindle without belts is taken to have one speed."""


def rough_pace(bench: Bench, top: float, *, driven: bool = True) -> Pace:
    """How fast layers are cut here; driven: no faster than the motor drives the full depth."""
    shop, tool, material = bench.shop, bench.rough_tool, bench.material
    feed = clip_feed(shop, float(tool.rough_feed))
    spindle = shop.lathe.spindle
    force = tool_force(material, tool, choose_depth(bench), feed) if driven else 0.0
    able = driven_speed(shop.lathe, force) if driven else math.inf
    fastest = min(material.speed[tool.material][1], able)
    if spindle.constant_surface_speed and not spindle.positions:
        held = 60 * 2 * math.pi / (1000 * fastest * feed)
        speeds: tuple[tuple[float, float], ...] = ((top, held * top),)
    else:
        held = 0.0
        most = min(1.02 * material.speed[tool.material][1], able)
        bounds = [1000 * most / (2 * math.pi * s.rpm) for s in reversed(spindle.positions)]
        bounds = [b for b in bounds if b < top] or [top * k / BINS for k in range(1, BINS) if not spindle.positions]
        radii = [*bounds, top]
        met = radii if driven or spindle.positions else [0.5 * radii[0], *bounds]  # each as fast as its least radius
        rpms = [choose_speed(shop, material, tool, 2 * r, force).rpm for r in met]
        speeds = tuple((r, 60 / (feed * rpm)) for r, rpm in zip(radii, rpms, strict=True))
    climb = (float(tool.deepest_cut) + CLEAR) * feed / clip_feed(shop, OUT_FEED * feed) + 2 * CLEAR
    return Pace(speeds=speeds, held=held, around=climb * speeds[-1][1] + 60 * 2 / float(shop.lathe.control.rapid))


def level_path(bench: Bench, level: float, above: float) -> tuple[list[Point], tuple[str, ...]] | None:
    """Points of the programmed tip for one layer from radius above down to level, and the sections it touches.

    None where nothing is left to cut in the layer.
    """
    tool, allowance = bench.rough_tool, bench.allowance
    least = max(float(tool.minimum_cut) - FINE, FINE)
    points = [rough_begin(bench, level)]
    names: list[str] = []
    rest = 0.0
    for run in bench.runs:
        surface = run.radius + allowance.side
        if surface > above - least:
            break
        names.extend(run.names)
        _step_out(points, max(level, surface), rest)
        end = bench.open_end(run, tool) if run.open else run.far + allowance.face
        rest = max(0.0, _kept_for_fillet(bench, run) - (points[-1].x - run.far_radius - allowance.side))
        if _follow(points, run, end + rest, level, above, tool_nose=float(tool.nose_radius), side=allowance.side):
            rest = 0.0
            break
    if len(points) < 2:
        return None
    _step_out(points, above + CLEAR, rest)
    return points, tuple(names)


def _kept_for_fillet(bench: Bench, run: Run) -> float:
    """How far roughing keeps away from the sharp corner of an exact fillet, along both faces, mm."""
    grow = 2 * float(bench.shop.lathe.x.backlash)
    arc = fillet_tip(run, float(bench.rough_tool.nose_radius), grow)
    return arc.start.z - run.far if arc is not None else 0.0


def _step_out(points: list[Point], x: float, rest: float) -> None:
    """Outward to radius x: across a corner kept full at 45 degrees while rest mm last, then straight out."""
    last = points[-1]
    climb = min(rest, x - last.x)
    if climb > FINE:
        last = Point(last.z - climb, last.x + climb)
        points.append(last)
    if x > last.x + FINE:
        points.append(Point(last.z, x))


def _follow(
    points: list[Point], run: Run, end: float, level: float, above: float, *, tool_nose: float, side: float
) -> bool:
    """Carry the path along one run to z = end; True where it leaves the layer on a taper."""
    if run.far_radius == run.radius:
        flat = len(points) > 1 and points[-2].x == points[-1].x
        points[-1 if flat else len(points) :] = [Point(end, points[-1].x)]
        return False
    tan = math.tan(run.slope)
    reach = run.tip_radius(points[-1].z, tool_nose) + side
    if reach < level:
        z = points[-1].z - (level - reach) / tan
        if z <= end:
            points.append(Point(end, level))
            return False
        points.append(Point(z, level))
    at_end = run.tip_radius(end, tool_nose) + side
    if at_end > above:
        points.append(Point(end + (at_end - above) / tan, above))
        return True
    points.append(Point(end, max(at_end, level)))
    return False


def rough_begin(bench: Bench, level: float) -> Point:
    """Where a layer begins to be cut at its own feed: just off the metal."""
    start = bench.start_off_end(bench.rough_tool, level)
    if bench.ramp(bench.rough_tool) is None:
        start = min(rough_start(bench), bench.metal_end + CLEAR)
    return Point(start, level)


def rough_start(bench: Bench) -> float:
    """Z at which every layer comes in, mm: where there is room at the smallest radius there is room at all."""
    least = min(min(r.radius, r.far_radius) for r in bench.runs) + bench.allowance.side
    return bench.start_off_end(bench.rough_tool, least)


def layer_starts(bench: Bench) -> list[float]:
    """As rough_start; none where the tool comes in over extra length, which it does from the safe radius."""
    return [] if bench.ramp(bench.rough_tool) is not None else [rough_start(bench)]


def _come_and_go(
    bench: Bench, points: list[Point], level: float, above: float, *, last: bool
) -> tuple[tuple[Point, ...], int, tuple[Point, ...]]:
    """Approach, the index of its first point reached at feed, and the way back, for a layer that comes straight in.

    The way back is over what was cut and no higher than it must be. From the park a program may begin at any
    layer: X comes in where the layers come in, off the end, and only as far as the metal that stands there.
    """
    begin, start = points[0], rough_start(bench)
    over = above + bench.gap
    tight = start < bench.metal_end + bench.gap - FINE
    approach = [Point(start, over), Point(start, level)]
    if begin.z < start - FINE:
        approach.append(begin)
    end = points[-1]
    if last:
        return tuple(approach), 1 if tight else 2, (Point(end.z, bench.safe_x),)
    sloping = any(a.x != b.x and a.z != b.z for a, b in pairwise(points))
    highest = above if sloping else max([level, *(p.x for p in points if p.x < above - FINE)])
    clear = max(end.x, highest + bench.gap)
    back = (Point(end.z, clear), Point(start, clear))
    return tuple(approach), 1 if tight else 2, back if clear > end.x + FINE else back[1:]


def _rough_pass(
    bench: Bench, found: tuple[list[Point], tuple[str, ...]], level: float, above: float, *, last: bool
) -> Pass:
    points, names = found
    tool = bench.rough_tool
    ramp: tuple[Point, ...] = ()
    leave: tuple[Point, ...] = ()
    if bench.ramp(tool) is None:
        approach, feed_from, leave = _come_and_go(bench, points, level, above, last=last)
    else:
        approach, feed_from, ramp = bench.off_end(tool, level, above)
    return bench.make_pass(
        "rough",
        tool,
        names,
        approach,
        through(*ramp, *points),
        diameter=2 * level,
        depth=above - level,
        feed=float(tool.rough_feed),
        speed_diameter=2 * above,
        feed_from=feed_from,
        leave=leave,
        out_feed=clip_feed(bench.shop, OUT_FEED * float(tool.rough_feed)),
        cautions=(TURNING_CAUTION,) if bench.count == 0 else (),
    )
