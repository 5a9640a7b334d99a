"""Roughing: levels over the whole profile, clipped where it stands in the way."""

from __future__ import annotations

import math

from cam.geometry.path import Line, Point
from cam.plan.allowance import FINE, ROUGHING_SPRING, radius_step
from cam.plan.bench import CLEAR, Bench, through
from cam.plan.contour import Run, fillet_tip
from cam.plan.cutting import cutting_force
from cam.plan.model import Pass
from cam.plan.work import highest_between, turn_down

TURNING_CAUTION = (
    "Before the spindle is started: turn it one full revolution by hand with the tool at each end of its travel."
)


def choose_depth(bench: Bench, radii: list[float], top: float) -> float:
    """Depth of a roughing layer, mm per side, a settable step.

    The deepest that the tool takes and at which the thinnest state of the work springs no more than
    ROUGHING_SPRING; then, with as many layers, the depth that leaves no thin last layer on any step.

    Args:
        radii: the rough radius of each run, mm. top: outermost metal, mm.
    """
    tool = bench.rough_tool
    step = radius_step(bench.shop.lathe)
    depth = float(tool.deepest_cut)
    spring = worst_spring(bench, cutting_force(bench.material, depth, float(tool.rough_feed)))
    if spring > ROUGHING_SPRING:
        depth = max(depth * ROUGHING_SPRING / spring, 3 * float(tool.minimum_cut))
    depth = max(math.floor(depth / step + FINE) * step, step)
    layers = math.ceil((top - min(radii)) / depth - FINE)
    least = math.ceil((top - min(radii)) / max(layers, 1) / step - FINE) * step
    tries = [least + k * step for k in range(round((depth - least) / step) + 1)] or [depth]
    return max(tries, key=lambda d: (_thinnest(radii, top, d) >= float(tool.minimum_cut), _thinnest(radii, top, d), d))


def worst_spring(bench: Bench, force: float) -> float:
    """Greatest spring of the work under a cutting force once everything here is roughed to size, mm per side."""
    work = bench.work
    for run in bench.runs:
        work = turn_down(work, run.far, run.near, 2 * max(run.radius, run.far_radius))
    spots = [z for run in bench.runs for z in (run.near, (run.near + run.far) / 2, run.far)]
    return max(bench.spring(z, force, work) for z in spots)


def _thinnest(radii: list[float], top: float, depth: float) -> float:
    """Thinnest remainder that layers of one depth leave for the last on any step, mm."""
    rests = [(top - r) - math.floor((top - r) / depth + FINE) * depth for r in radii if top - r > FINE]
    return min((rest if rest > 1e-6 else depth for rest in rests), default=depth)


def rough_profile(bench: Bench) -> list[Pass]:
    """Roughing passes over the whole profile, down to the allowance everywhere."""
    side = bench.allowance.side
    runs = bench.runs
    zone_low = bench.open_end(runs[-1], bench.rough_tool) if runs[-1].open else runs[-1].far
    top = highest_between(bench.setting.stock, zone_low + 1e-6, bench.setting.stock_end_z)
    radii = [min(r.radius, r.far_radius) + side for r in runs]
    depth = choose_depth(bench, radii, top)
    passes: list[Pass] = []
    above = top
    while above > min(radii) + FINE:
        level = max(above - depth, min(radii))
        points = level_path(bench, level, above)
        if points:
            passes.append(_rough_pass(bench, points, level, above))
        above = level
    return passes


def level_path(bench: Bench, level: float, above: float) -> tuple[list[Point], tuple[str, ...]] | None:
    """Points of the programmed tip for one layer from radius above down to level, and the sections it touches.

    None where nothing is left to cut in the layer.
    """
    tool, allowance = bench.rough_tool, bench.allowance
    start = bench.start_off_end(tool, level)
    points = [Point(start, level)]
    names: list[str] = []
    rest = 0.0
    for run in bench.runs:
        surface = run.radius + allowance.side
        if surface >= above - FINE:
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
    grow = 2 * float(bench.shop.lathe.x.lost_motion)
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


def _rough_pass(bench: Bench, found: tuple[list[Point], tuple[str, ...]], level: float, above: float) -> Pass:
    points, names = found
    tool = bench.rough_tool
    approach, feed_from, ramp = bench.off_end(tool, level, above)
    path: tuple[Line, ...] = through(*ramp, *points)
    return bench.make_pass(
        "rough",
        tool,
        names,
        approach,
        path,
        diameter=2 * level,
        depth=above - level,
        feed=float(tool.rough_feed),
        speed_diameter=2 * above,
        feed_from=feed_from,
        cautions=(TURNING_CAUTION,) if bench.count == 0 else (),
    )
