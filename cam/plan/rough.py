"""Roughing: straight passes from outside inward, each to one shoulder; tapers and full fillets as stairs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from cam.geometry.path import Arc, Point
from cam.ground.tolerances import ROUNDING
from cam.part.model import Part
from cam.plan.allowance import ROUGHING_SPRING, radius_step
from cam.plan.bench import CLEAR, Bench, Bite, Way, through
from cam.plan.contour import Run, fillet_tip
from cam.plan.cutting import FEED_SHARE, FORCE_BAND, choose_speed, clip_feed, power_limit, tool_force, torque
from cam.plan.drive import LEAST_CUTS, lighten
from cam.plan.levels import (
    Cylinder,
    Pace,
    Stretch,
    choose_levels,
    choose_stretches,
    least_seconds,
    leave_out_idle,
    radius_left,
)
from cam.plan.model import Pass
from cam.plan.reach import passed_over
from cam.plan.work import highest_between, turn_down
from cam.setting.words import say
from cam.shop.model import Tool

OUT_FEED = 3.0
"""A layer's end is left straight outward at this many times the roughing feed: only the thin wedge that a leaning
leading edge left is cut there. Common practice (the slide is wound out by hand as quickly), no source."""

STAIR = 0.5
"""A taper, and the corner of a fillet larger than the nose, are roughed as stairs no higher than this share of a layer,
so that no more stands above the allowance than a finishing tool takes at once. Common practice, no source."""

FULLER = 0.02
"""How much larger an exact fillet is left for its own pass, mm."""

NEARLY = 0.9
"""Depths are tried in small steps: what asks this share of spindle or slide counts as the most that it can do."""

TURNING_CAUTION = (
    "Before the spindle is started: turn it one full revolution by hand with the tool at each end of its travel."
)


def choose_depth(bench: Bench) -> float:
    """Choose the greatest depth of a roughing layer, mm per side, a step that can be set.

    It is the deepest that the tool takes, at which the thinnest state of the work springs no more than
    ROUGHING_SPRING, and that spindle and slide can drive.
    """
    if not bench.rough_depth:
        step = radius_step(bench.shop.lathe)
        depth = lighten(bench, _depth_by_spring(bench))
        bench.rough_depth = max(math.floor(depth / step + ROUNDING) * step, step)
    return bench.rough_depth


def _depth_by_spring(bench: Bench) -> float:
    tool = bench.rough_tool
    depth = float(tool.deepest_cut)
    spring = worst_spring(bench, tool_force(bench.material, tool, depth, float(tool.rough_feed)))
    if spring > ROUGHING_SPRING:
        depth = max(depth * ROUGHING_SPRING / spring, LEAST_CUTS * float(tool.minimum_cut))
    return depth


def explain_depth(part: Part, bench: Bench) -> Iterator[str]:
    """Explain why layers are shallower than the tool could take, where they are."""
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
    """Return the greatest spring of the work under a cutting force once all is roughed to size here, mm per side."""
    work = bench.work
    for run in bench.runs:
        work = turn_down(work, run.far, run.near, 2 * max(run.radius, run.far_radius))
    spots = [z for run in bench.runs for z in (run.near, (run.near + run.far) / 2, run.far)]
    return max(bench.spring(z, force, work) for z in spots)


def rough_profile(bench: Bench) -> list[Pass]:
    """Make the roughing passes over the complete profile, down to the allowance everywhere."""
    tool = bench.rough_tool
    lean = math.radians(float(tool.approach) - 90)
    found = list(leave_out_idle(list(choose_stretches(*_wanted(bench))), float(tool.nose_radius), lean))
    followed = [*(cut.beside for cut in found[1:]), False][: len(found)]
    last = len(found) - 1
    bench.extra = [_extra(bench, index) for index in range(len(bench.runs))]
    return [
        _rough_pass(bench, tool, cut, then_beside=then, last=k == last)
        for k, (cut, then) in enumerate(zip(found, followed, strict=True))
    ]


def _wanted(bench: Bench) -> tuple[float, list[Cylinder], float, float, float]:
    """Return top, steps, deepest, thinnest and grid, as choose_stretches takes them."""
    least, step = float(bench.rough_tool.minimum_cut), radius_step(bench.shop.lathe)
    return rough_top(bench), rough_steps(bench), choose_depth(bench), least, step


def _extra(bench: Bench, index: int) -> float:
    """Return how much more than the allowance stands on a run when it is finished, mm per side; negative for less.

    What lies behind it is finished before: over a run that stood higher, that cut has passed.
    """
    run = bench.runs[index]
    wanted = run.radius + bench.allowance.side
    tread = next((s.radius for s in rough_steps(bench) if s.names == run.names), wanted) if run.slope else wanted
    half = (run.far_radius - run.radius) / 2  # of a taper its middle counts, where a slip is tried
    higher = (radius - half for radius in passed_over(bench, index) if radius >= run.far_radius - ROUNDING)
    passed = [radius for radius in higher if radius > run.radius + ROUNDING]
    return min([_roughed(bench, tread), *passed]) - wanted


def _roughed(bench: Bench, radius: float) -> float:
    """Return the radius that roughing really leaves where it is to leave this one, mm."""
    top, steps, deepest, thinnest, grid = _wanted(bench)
    return radius_left(top, radius, choose_levels(top, [s.radius for s in steps], deepest, thinnest, grid), thinnest)


def tooth_before(bench: Bench, run: Run) -> float:
    """Return the radius up to which roughing leaves metal in the corner of a run's exact fillet, mm; 0 for none."""
    highest = max((radius for radius, _ in _corner_stairs(bench, run)), default=0.0)
    return _roughed(bench, highest) if highest else 0.0


def rough_bound(bench: Bench) -> float:
    """Return the seconds that no roughing of this profile, to this allowance and at this depth, could come below.

    The motor cannot take off metal faster than in layers of the full depth, which need the least force for their area.
    """
    top, steps, depth, thinnest, _ = _wanted(bench)
    steps = [s for s in steps if s.radius <= top - thinnest]
    rapid = float(bench.shop.lathe.control.rapid) / 60
    feed = clip_feed(bench.shop, float(bench.rough_tool.rough_feed))
    force = (1 + FORCE_BAND) * tool_force(bench.material, bench.rough_tool, depth, feed)
    work = force / (depth * feed) / (1000 * power_limit(bench.shop.lathe))
    return least_seconds(top, steps, depth, rough_pace(bench, top), rapid, work)


def rough_top(bench: Bench) -> float:
    """Return the radius of the outermost metal that roughing meets, mm."""
    runs = bench.runs
    low = bench.open_end(runs[-1], bench.rough_tool) if runs[-1].open else runs[-1].far
    return highest_between(bench.setting.stock, low + 1e-6, bench.setting.stock_end_z)


def rough_steps(bench: Bench) -> list[Cylinder]:
    """Return the runs as roughing is to leave them, as cylinders; the first begins where layers come in."""
    found: list[Cylinder] = []
    near = max(bench.runs[0].near, bench.setting.end_z)
    for run in bench.runs:
        for radius, far in (*_stairs(bench, run), *_corner_stairs(bench, run)):
            if far < near - ROUNDING:
                found.append(Cylinder(run.names, radius, near, far))
                near = far
    return found


def _stairs(bench: Bench, run: Run) -> Iterator[tuple[float, float]]:
    """Yield radius and end of each cylinder over a run, up to its corner: one, or those that just clear a taper."""
    side, nose = bench.allowance.side, float(bench.rough_tool.nose_radius)
    end = bench.open_end(run, bench.rough_tool) if run.open else run.far + bench.allowance.face
    corner = end + _kept_for_fillet(bench, run)
    growth = run.far_radius - run.radius
    count = math.ceil(growth / (STAIR * choose_depth(bench)) - ROUNDING) if run.slope else 1
    for k in range(1, count):
        rise = growth * k / count
        ends = run.tip_z(run.radius + rise, nose)
        yield run.radius + side + rise, max(ends, corner)  # a steep one's last stairs end at its shoulder
    yield run.far_radius + side, corner


def _corner_stairs(bench: Bench, run: Run) -> Iterator[tuple[float, float]]:
    """Yield the stairs in the corner of a fillet larger than the nose, kept full at 45 degrees; none otherwise."""
    kept = _kept_for_fillet(bench, run)
    count = math.ceil(kept / (STAIR * choose_depth(bench)) - ROUNDING)
    for k in range(1, count + 1):
        rise = kept * k / count
        yield run.far_radius + bench.allowance.side + rise, run.far + bench.allowance.face + kept - rise


def stair_beside(bench: Bench, run: Run, z: float) -> float:
    """Return the radius of the highest stair in the corner of a run's fillet that reaches to a Z, mm; 0 for none.

    A slide that comes to that Z from the headstock side stands so much nearer to the stair as it lags.
    """
    end = run.far + bench.allowance.face + _kept_for_fillet(bench, run)  # each begins where the one below it ends
    highest = 0.0
    for radius, far in _corner_stairs(bench, run):
        highest, end = (radius if end > z - CLEAR - bench.z_play else highest), far
    return highest


def _kept_for_fillet(bench: Bench, run: Run) -> float:
    """Return how far roughing keeps away from the sharp corner of an exact fillet, along both faces, mm.

    It is zero where that would be no more than the allowance, which is left over the fillet anyway, beyond the nose's
    round.
    """
    arc = fillet_tip(run, float(bench.rough_tool.nose_radius))
    kept = max(arc.start.z - run.far, 0.0) if arc is not None and run.shoulder > run.far_radius else 0.0
    return kept if kept > min(bench.allowance.side, bench.allowance.face) else 0.0


def full_fillet(bench: Bench, run: Run) -> Arc | None:
    """Return the tip's arc: cuts along the run end at its foot, those down its shoulder at its head; None without one.

    It is a little larger than the exact fillet's, so that the fillet's own pass runs out over both.
    """
    nose = float(bench.finish_tool.nose_radius)
    return fillet_tip(run, nose, FULLER) if fillet_tip(run, nose) is not None else None


BINS = 24
"""The number of bands of radius; in each a spindle without belts is taken to have one speed."""


def rough_pace(bench: Bench, top: float) -> Pace:
    """Return the fastest pace at which layers could be cut here, each as fast as its least radius allows."""
    shop, tool, material = bench.shop, bench.rough_tool, bench.material
    feed = clip_feed(shop, float(tool.rough_feed))
    spindle = shop.lathe.spindle
    fastest = material.speed[tool.material][1]
    if spindle.constant_surface_speed and not spindle.positions:
        held = 60 * 2 * math.pi / (1000 * fastest * feed)
        return Pace(speeds=((top, held * top),), held=held)
    if spindle.positions:
        reached = (1000 * 1.02 * fastest / (2 * math.pi * s.rpm) for s in reversed(spindle.positions))
        radii = met = [*(r for r in reached if r < top), top]
    else:
        radii = [top * k / BINS for k in range(1, BINS)] + [top]
        met = [0.5 * radii[0], *radii[:-1]]
    rpms = [choose_speed(shop, material, tool, 2 * r).rpm for r in met]
    return Pace(speeds=tuple((r, 60 / (feed * rpm)) for r, rpm in zip(radii, rpms, strict=True)), held=0.0)


def rough_start(bench: Bench) -> float:
    """Return the Z at which every layer comes in, mm: where there is room at the smallest radius, there is at all."""
    least = min(min(r.radius, r.far_radius) for r in bench.runs) + bench.allowance.side
    return bench.start_off_end(bench.rough_tool, least)


def layer_starts(bench: Bench) -> list[float]:
    """Return rough_start alone; none where the tool comes in over extra length, which it does from the safe radius."""
    return [] if bench.ramp(bench.rough_tool) is not None else [rough_start(bench)]


def _rough_pass(bench: Bench, tool: Tool, cut: Stretch, *, then_beside: bool, last: bool) -> Pass:
    """Make one straight pass, out at its shoulder over all the metal that stood there.

    Args:
        then_beside: whether the next pass begins where this one ends. last: whether it is the last of roughing.
    """
    level, out = cut.level, Point(cut.z_to, cut.above + CLEAR)
    over = cut.above + bench.gap + bench.x_play
    ramp: tuple[Point, ...] = ()
    if cut.beside:
        begin = Point(cut.z_from + CLEAR + bench.z_play, level)
        approach: tuple[Point, ...] = (Point(begin.z, over), begin)
        feed_from = 1
        if bench.ramp(tool) is not None:  # from the park X comes in over the stub of extra length
            approach, feed_from = (Point(begin.z, bench.safe_x), *approach), 2
    elif bench.ramp(tool) is not None:
        begin = Point(bench.start_off_end(tool, level), level)
        approach, feed_from, ramp = bench.off_end(tool, level, cut.above)
    else:
        begin = Point(min(rough_start(bench), bench.setting.end_z + CLEAR), level)
        approach, feed_from = _off_end(bench, begin, over)
    return replace(
        bench.make_pass(
            "rough",
            tool,
            cut.names,
            Way(
                approach=approach,
                path=through(*ramp, begin, Point(cut.z_to, level), out),
                feed_from=feed_from,
                leave=_way_back(bench, cut, out, over, then_beside=then_beside, last=last),
            ),
            Bite(
                diameter=2 * level, depth=cut.above - level, feed=float(tool.rough_feed), speed_diameter=2 * cut.above
            ),
        ),
        out_feed=clip_feed(bench.shop, OUT_FEED * float(tool.rough_feed)),
        cautions=(TURNING_CAUTION,) if bench.count == 1 else (),
    )


def _off_end(bench: Bench, begin: Point, over: float) -> tuple[tuple[Point, ...], int]:
    """Return the approach of a layer off the end, and the index of its first point reached at feed.

    From the park a program may begin at any layer: X comes in where the layers come in, off the end, and only as far
    as the metal that stands there.
    """
    start = rough_start(bench)
    tight = start < bench.setting.end_z + bench.gap + bench.z_play - ROUNDING
    approach = [Point(start, over), Point(start, begin.x)]
    if begin.z < start - ROUNDING:
        approach.append(begin)
    return tuple(approach), 1 if tight else 2


def _way_back(
    bench: Bench, cut: Stretch, out: Point, over: float, *, then_beside: bool, last: bool
) -> tuple[Point, ...]:
    """Return the way back, over what was cut and no higher than it must be; out first by more than the backlash."""
    if last or bench.ramp(bench.rough_tool) is not None:
        return (Point(out.z, bench.safe_x),)
    if then_beside:
        return (Point(out.z, over),)
    clear = max(out.x, cut.level + bench.gap + bench.x_play)
    back = (Point(out.z, clear), Point(rough_start(bench), clear))
    return back if clear > out.x + ROUNDING else back[1:]
