"""The plan of a whole job: settings, tools, operations, passes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from cam.geometry.path import Arc, Point, Segment, flatten
from cam.ground.problem import Problem, ProblemError, problem
from cam.ground.tolerances import AS_DRAWN, AS_PROGRAMMED
from cam.lengths.solved import Solved
from cam.plan.allowance import settle_allowance
from cam.plan.arc_proof import check_arc_room
from cam.plan.bench import Bench
from cam.plan.choose import (
    check_edges_clear,
    check_grooves_take_nose,
    check_hollows_clear,
    choose_grooving,
    choose_turning,
    section_where,
)
from cam.plan.choose_cuts import check_face_cuts, check_last_cuts, explain_cuts, warn_of_fat_middle
from cam.plan.contour import Run, find_runs
from cam.plan.cutting import choose_speed, clip_feed, ridge_height, tool_force
from cam.plan.details import break_edges, cut_grooves, face_end
from cam.plan.drive import check_drive
from cam.plan.finish import correct_run, finish_sections
from cam.plan.into_work import check_grooves_clear, check_out_of_work
from cam.plan.measures import check_long_enough, explain_limits
from cam.plan.model import Operation, Pass, Plan, SettingPlan
from cam.plan.order import settle_order
from cam.plan.parting import part_off
from cam.plan.room import find_room
from cam.plan.rough import choose_depth, explain_depth, layer_starts, rough_bound, rough_profile, worst_spring
from cam.plan.speeds import name_rulers, say_ruler, slowed
from cam.plan.threads import check_by_hand, cut_threads, explain_threads
from cam.plan.times import count_belts, pass_seconds, say_times, time_of
from cam.plan.warn_size import tell_cone, warn_of_cone, warn_of_long_bar, warn_of_warmth
from cam.plan.work import cylinders, highest_between
from cam.setting import settle
from cam.setting.assemble import stand_out
from cam.setting.model import NOT_CORRECTED, Correction, Setting
from cam.setting.words import say
from cam.shop.model import Shop, Tool

PROOF_STEP = {"mm": 1.0, "in": 1.27}
"""The proof diameter is a whole number of these steps, mm, so that callipers read a plain figure in either unit."""


def plan_job(part: Solved, shop: Shop) -> Plan:
    """Plan every setting of a part.

    Raises:
        ProblemError: something cannot be held, reached or cut; the problems of all settings at once.
    """
    plans: list[SettingPlan] = []
    problems: list[Problem] = []
    for setting in settle(part, shop):
        try:
            plans.append(plan_setting(part, shop, setting))
        except ProblemError as error:
            problems.extend(error.problems)
    problems += _check_grip_on_cone(part, plans)
    if problems:
        raise ProblemError(problems)
    warnings = tuple(sorted({*part.warnings, *(w for p in plans for w in _warnings(part, shop, p))}))
    return Plan(part=part, shop=shop, settings=tuple(plans), warnings=warnings)


def plan_setting(part: Solved, shop: Shop, setting: Setting) -> SettingPlan:
    """Plan one setting.

    Raises:
        ProblemError: no tool fits or has room, or something stands in the way of a pass.
    """
    unlimited, shop = shop, slowed(shop, setting)
    bench = _set_up(part, shop, setting)
    grooving = choose_grooving(shop, part, setting, bench.runs)
    _find_rooms(bench, grooving)
    problems = [
        *check_edges_clear(part, setting, bench.runs, bench.finish_tool),
        *check_hollows_clear(part, setting, bench.finish_tool),
        *check_grooves_take_nose(shop, part, bench.runs, bench.finish_tool, bench.z_play),
        *check_long_enough(part, bench),
    ]
    if problems:
        raise ProblemError(problems)
    faced, rough = face_end(bench), Operation(name="rough the profile", passes=tuple(rough_profile(bench)))
    finishing = finish_sections(bench)
    if too_deep := [*check_last_cuts(part, bench), *check_face_cuts(part, bench, faced)]:
        raise ProblemError(too_deep)
    groove_runs = bench.runs  # a grooving tool is set on what the last cuts have left
    bench.runs = tuple(_said(bench))
    edges = break_edges(bench)
    ended = [cut_grooves(bench, groove_runs, grooving), _cut_threads(bench)]
    if setting.slot is not None:
        ended.append(_part_off(part, bench, setting.slot.z))
    done = settle_order([faced, rough], finishing, edges, ended, bench)
    done = name_rulers(done, unlimited, setting, bench.material)
    cuts = [p for o in done for p in o.passes]
    _require_clear(part, bench, cuts, done)
    park_x = proof_radius(bench)
    park_z = min([bench.start_off_end(bench.finish_tool, bench.safe_x), *layer_starts(bench)])
    if no_room := check_arc_room(part, shop, setting, cuts, Point(park_z, park_x)):
        raise ProblemError(no_room)
    planned = SettingPlan(
        setting=setting,
        operations=done,
        safe_x=bench.safe_x,
        park=Point(park_z, park_x),
        proof_diameter=2 * park_x,
        proof_z=park_z,
        ramp=bench.ramp(bench.finish_tool) is not None or bench.ramp(bench.rough_tool) is not None,
        reasons=(*_reasons(part, bench), *say_ruler(done, setting)),
        warnings=(
            *warn_of_fat_middle(part, bench),
            *warn_of_cone(part, shop, setting),
            *warn_of_warmth(part, shop, setting),
            *warn_of_long_bar(part, setting),
        ),
        rough_bound=rough_bound(bench),
        rough_freely=sum(pass_seconds(p, shop.lathe) for p in rough.passes),
        belts_freely=count_belts(rough.passes),
    )
    words = say_times(time_of(planned, shop.lathe))
    return replace(planned, reasons=(*planned.reasons, words)) if words else planned


def _require_clear(part: Solved, bench: Bench, cuts: list[Pass], operations: Sequence[Operation]) -> None:
    """Refuse passes in whose way something stands, or that the lathe cannot drive.

    Raises:
        ProblemError: everything that was found.
    """
    found = [p for c in cuts for p in _check_clear(part, bench, c)]
    found += next((blocked for c in cuts if (blocked := check_out_of_work(part, bench, c))), [])
    found += [p for c in cuts for p in check_grooves_clear(part, bench, c)]
    found += check_drive(part, bench.shop, bench.setting.number, operations)
    if found:
        raise ProblemError(found)


def _part_off(part: Solved, bench: Bench, face: float) -> Operation:
    """Make the last pass, which parts off by the blade at Z face."""
    found = part_off(part, bench, face)
    _find_rooms(bench, [found.passes[0].tool])
    return found


def _find_rooms(bench: Bench, tools: Iterable[Tool]) -> None:
    """Find the room of tools that do more than turn."""
    for tool in tools:
        bench.rooms.setdefault(tool.number, find_room(bench.setting, tool, float(bench.shop.lathe.contact_clearance)))


def _cut_threads(bench: Bench) -> Operation | None:
    """Make the passes of the threads that the program cuts; None if there are none."""
    if not bench.setting.threads and not bench.setting.hand_threads:
        return None
    check_by_hand(bench)
    found = cut_threads(bench)
    _find_rooms(bench, [cut.tool for cut in found.passes] if found is not None else [])
    return found


def _said(bench: Bench) -> Iterator[Run]:
    """Yield the runs as the program must say them from here on, where gauging stops read otherwise than planned."""
    before = 0.0
    for run in bench.runs:
        own = bench.setting.correction_of(run.names)
        corrected = correct_run(run, own.radius, own.face)
        near = replace(corrected, near=run.near - before, radius=corrected.radius + before * math.tan(run.slope))
        yield near if before else corrected
        before = own.face


def _reasons(part: Solved, bench: Bench) -> tuple[str, ...]:
    tool = bench.finish_tool
    feed, nose = clip_feed(bench.shop, float(tool.finish_feed)), float(tool.nose_radius)
    found = [
        bench.allowance.reason,
        *tell_cone(part, bench.setting),
        *explain_depth(part, bench),
        *explain_cuts(part, bench),
        *explain_limits(part, bench),
        *(explain_threads(bench) if bench.setting.threads else ()),
    ]
    if feed <= 2 * nose:
        ridge = 1000 * ridge_height(feed, nose)
        found.append(
            f"a finishing feed of {say(feed, part)} a turn with a {say(nose, part)} nose leaves ridges of "
            f"{ridge:.1f} um in theory"
        )
    return tuple(found)


def _set_up(part: Solved, shop: Shop, setting: Setting) -> Bench:
    runs = find_runs(part, setting)
    tools = choose_turning(shop, part, setting, runs)
    top = highest_between(setting.stock, setting.limit_z, setting.stock_end_z)
    bench = Bench(
        shop=shop,
        setting=setting,
        material=shop.materials[part.stock.material],
        runs=runs,
        rough_tool=tools.rough,
        finish_tool=tools.finish,
        rooms=tools.rooms,
        ways=tools.ways,
        safe_x=top + float(shop.lathe.rapid_clearance) + float(shop.lathe.x.backlash),
        work=cylinders(setting.stock),
        unit=part.unit,
    )
    spring = _rough_spring(bench)
    bench.allowance = settle_allowance(part, shop.lathe, tools.finish, spring)
    return bench


def _rough_spring(bench: Bench) -> float:
    """Return the greatest spring of the work under a roughing cut, mm per side."""
    depth = choose_depth(bench)
    return worst_spring(bench, tool_force(bench.material, bench.rough_tool, depth, float(bench.rough_tool.rough_feed)))


def proof_radius(bench: Bench) -> float:
    """Return the radius of the first motion, in air, mm.

    It is more than twice the metal's, so that a control which takes radii for diameters (or the other way)
    still stands clear, half way in or as far again out, and callipers show which it is.
    """
    step = PROOF_STEP[bench.shop.lathe.control.units]
    return math.ceil((2 * bench.safe_x + 1.0) / step) * step


def _check_grip_on_cone(part: Solved, plans: list[SettingPlan]) -> list[Problem]:
    """Report a carrier on extra length over which the tool came in down a ramp: that is a cone, which none grips."""
    if len(plans) < 2 or not plans[0].ramp or not plans[1].setting.grips_extra:
        return []
    what = f"setting {plans[1].setting.number} would grip extra length that setting 1 leaves as a cone"
    given = f"{plans[1].setting.grip}; beside that centre the tool comes in down a ramp"
    fix = "name another section to grip, or give the tool room at that end: half centre or smaller centre hole"
    return [problem(part.holding.where, what, given, "a cylinder under the carrier", fix)]


def _check_clear(part: Solved, bench: Bench, cut: Pass) -> list[Problem]:
    """Report whatever on the headstock side stands in the way of the pass, the tool where it really goes."""
    room, off = bench.rooms[cut.tool.number], _off(bench, cut)
    lowest: dict[float, float] = {}
    for said in (*cut.approach, *(p for s in cut.path for p in _lowest_along(s))):
        point = Point(said.z + off.face, said.x + off.radius)
        lowest[point.z] = min(point.x, lowest.get(point.z, point.x))
    short = {Point(z, x): room.nearest(x).z - z for z, x in sorted(lowest.items())}
    point = max(short, key=lambda p: short[p])
    if short[point] <= 0:
        return []
    limit = room.nearest(point.x)
    return [
        Problem(
            where=section_where(part, cut.sections[-1]),
            what=(
                f'pass {cut.number} of setting {bench.setting.number} on "{cut.sections[-1]}" brings the '
                f"{limit.body} {say(short[point], part)} too near the {limit.obstacle}"
            ),
            given=f"tool at Z {say(point.z, part)}, diameter {say(2 * point.x, part)}",
            allowed=f"Z {say(limit.z, part)} or more, {bench.shop.lathe.contact_clearance.text} kept clear",
            fix=f"{stand_out(part, short[point] + AS_PROGRAMMED)}, or take a smaller chuck"
            if bench.setting.chuck is not None
            else "longer stock at that end, a narrower or smaller carrier, or a grip further back",
        )
    ]


def _lowest_along(piece: Segment) -> Iterator[Point]:
    """Yield places of which each is as near to headstock and axis as any of a short stretch of a path."""
    points = flatten(piece, AS_DRAWN)
    yield from (points[0], points[-1])
    if isinstance(piece, Arc):
        yield from (Point(min(a.z, b.z), min(a.x, b.x)) for a, b in pairwise(points))


def _off(bench: Bench, cut: Pass) -> Correction:
    """Return how far off a stop has shown the tool of a corrected pass to be; nothing for any other pass."""
    corrected = cut.tool.kind == "turning" and cut.kind in ("finish", "edge", "fillet")
    return bench.setting.correction_of(cut.sections) if corrected else NOT_CORRECTED


def _warnings(part: Solved, shop: Shop, plan: SettingPlan) -> list[Problem]:
    material = shop.materials[part.stock.material]
    found: list[Problem] = list(plan.warnings)
    for cut in plan.passes:
        turning = choose_speed(shop, material, cut.tool, max(cut.diameter, 0.1))
        if turning.over and cut.kind == "rough":
            what = f"setting {plan.setting.number} pass {cut.number} runs faster than {part.stock.material} likes"
            given = f"{cut.surface_speed:.0f} m/min, the slowest speed there is"
            allowed = f"up to {material.speed[cut.tool.material][1]:.0f} m/min ({cut.tool.material})"
            fix = "take lighter cuts with plenty of oil, and watch the edge"
            found.append(problem(part.stock.where, what, given, allowed, fix))
            break
    return found
