"""Threads by a single-point tool, in step with the spindle: passes of equal area from one start into an undercut."""

from __future__ import annotations

import math

from cam.geometry.path import Line, Point
from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, RangeError, problem, refusal
from cam.ground.tolerances import ROUNDING
from cam.part.screw import (
    MOST_PASSES,
    best_wire,
    infeed,
    over_wires,
    pitch_diameter_at,
    start_room,
    tip_radius,
    widest_nose,
)
from cam.plan.allowance import radius_step
from cam.plan.bench import Bench
from cam.plan.cutting import RADIAL_SHARE, cutting_power, spindle_speed, surface_speed
from cam.plan.model import Measure, Operation, Pass
from cam.setting.model import ThreadWanted
from cam.setting.words import at_least, at_most, say
from cam.shop.model import Material, Shop, Threading, Tool

SPRINGS = 1
"""How many more passes at full depth, in which the work springs back into the tool. Common practice, no source."""
COARSE = 1 / 3
"""The greatest share of the limits, on the radius, that a dial's step may be; common practice, no source."""
BESIDE = 0.1
"""The distance kept between the blade and the shoulder where a thread runs off, mm; common practice, no source."""
CAUTIONS = (
    "The slide runs by itself in step with the spindle, and neither feed hold nor a slower feed stops it there: hand "
    "on the stop.",
    "Never change the spindle's speed between these passes: they would no longer fall in one groove.",
)


@frozen
class Turns:
    """How fast the spindle turns for a thread; name: name of the belt position, or ""."""

    rpm: float
    name: str


def cut_threads(bench: Bench) -> Operation | None:
    """Make the passes of every thread that the program cuts here; None if there are none.

    Raises:
        ProblemError: there is no tool, speed or room for one.
    """
    threads = bench.setting.threads
    if not threads:
        return None
    return Operation(name="cut the thread", passes=tuple(p for t in threads for p in _cut_one(bench, t)))


def _cut_one(bench: Bench, wanted: ThreadWanted) -> list[Pass]:
    threading = bench.shop.lathe.threading
    assert threading is not None
    tool = choose_tool(bench.shop, wanted)
    turns = choose_turns(bench.shop, bench.material, wanted, threading, tool)
    nose, thread = float(tool.nose_radius), wanted.thread
    tip = tip_radius(thread, (wanted.least + wanted.most) / 2, nose)
    slowing = (thread.pitch * turns.rpm / 60) ** 2 / (2 * threading.acceleration)
    depths = pass_depths(bench.shop, wanted, tool, tip)
    end = run_off(bench, wanted, tool, wanted.shank - depths[-1], slowing)
    lost, half = float(bench.shop.lathe.z.backlash), float(tool.width) / 2
    room = start_room(thread.pitch, turns.rpm, threading.acceleration, lost)
    start = wanted.near + max(room, half + bench.gap)
    made = []
    before = 0.0
    for number, depth in enumerate(depths, start=1):
        place = (Point(start, wanted.shank - depth), Point(end, wanted.shank - depth))
        coming = depths[number] if number < len(depths) else depth
        stop = number == len(depths) or (depth < depths[-1] == coming)
        now = pitch_diameter_at(thread, wanted.shank - depth, nose)
        measure = _measure(wanted, now, depths[-1] - depth) if stop else ()
        made.append(_make_pass(bench, wanted, tool, turns, place, before, measure=measure))
        before = depth
    return made


def _make_pass(
    bench: Bench, wanted: ThreadWanted, tool: Tool, turns: Turns, place: tuple[Point, Point], before: float,
    *, measure: tuple[Measure, ...],
) -> Pass:  # fmt: skip
    """Make one pass; before: depth of the pass before it, mm."""
    start, end = place
    depth = wanted.shank - start.x
    force = thread_force(bench.material, wanted, before, depth)
    bench.count += 1
    return Pass(
        number=bench.count,
        kind="thread",
        sections=(wanted.section,),
        tool=tool,
        diameter=2 * start.x,
        depth=depth - before,
        rpm=turns.rpm,
        speed_name=turns.name,
        surface_speed=surface_speed(2 * wanted.shank, turns.rpm),
        css=False,
        feed=wanted.thread.pitch,
        approach=(Point(start.z, bench.safe_x), start),
        feed_from=2,
        path=(Line(start, end),),
        leave=(Point(end.z, bench.safe_x),),
        deflection=bench.spring((wanted.near + wanted.far) / 2, force / RADIAL_SHARE),
        force=force,
        measure=measure,
        cautions=CAUTIONS if before == 0.0 else (),
        power=cutting_power(force, surface_speed(2 * wanted.shank, turns.rpm)),
    )


def thread_force(material: Material, wanted: ThreadWanted, before: float, depth: float) -> float:
    """Estimate the main force of a pass from depth before to depth, N: Kienzle's law over both flanks' chip.

    The area is that of the vee between the two depths; the thickness is the step square to a flank.
    """
    half = math.radians(wanted.thread.angle / 2)
    step = max(depth - before, 0.005)  # a spring pass rubs off a few micrometres
    area = (depth * depth - (depth - step) ** 2) * math.tan(half)
    return float(material.kc11 * area * (step * math.sin(half)) ** -material.mc)


def choose_tool(shop: Shop, wanted: ThreadWanted) -> Tool:
    """Choose the shop's tool for this thread: of its angle, right-hand, and of those whose nose fits the roundest.

    Raises:
        ProblemError: there is none.
    """
    thread, most = wanted.thread, widest_nose(wanted.thread)
    tools = [t for t in shop.tools if t.kind == "threading"]
    fine = [t for t in tools if t.nose_radius <= most + 1e-6 and abs(t.included - thread.angle) <= 0.1]
    if fit := [t for t in fine if t.hand == "right"]:
        return max(fit, key=lambda t: (float(t.nose_radius), -t.number))
    have = (f'tool {t.number} "{t.name}": {t.included:g} deg, nose {t.nose_radius.text}' for t in tools)
    raise refusal(
        wanted.where,
        f"no tool of the shop cuts the thread {thread.name}",
        given="; ".join(have) or "the shop file has no tool of kind threading",
        allowed=f"a right-hand one of {thread.angle:g} deg, its nose at most {at_most(most, wanted)}",
        fix='add it to the shop file, or cut the thread by die: thread_by = "die"',
    )


def choose_turns(shop: Shop, material: Material, wanted: ThreadWanted, threading: Threading, tool: Tool) -> Turns:
    """Choose the fastest spindle speed that threading, material and the slide's rapid allow.

    Raises:
        ProblemError: even the slowest speed is too fast.
    """
    rapid = float(shop.lathe.control.rapid) / wanted.thread.pitch
    suits = spindle_speed(2 * wanted.shank, material.speed[tool.material][1])
    most = min(threading.fastest, rapid)
    spindle = shop.lathe.spindle
    if spindle.positions:
        allowed = [s for s in spindle.positions if s.rpm <= most + ROUNDING]
        good = [s for s in allowed if s.rpm <= suits] or allowed[:1]
        if good:
            return Turns(rpm=float(good[-1].rpm), name=good[-1].name)
    elif spindle.slowest <= most + ROUNDING:
        return Turns(rpm=float(math.floor(max(min(most, suits, spindle.fastest), spindle.slowest))), name="")
    raise refusal(
        wanted.where,
        "the slowest spindle speed is too fast for a thread on this lathe",
        given=f"{spindle.slowest:.0f} rev/min",
        allowed=f"at most {most:.0f} rev/min: [lathe.threading] fastest, and the slide's rapid over the pitch",
        fix='thread by die (thread_by = "die"), or by hand',
    )


def pass_depths(shop: Shop, wanted: ThreadWanted, tool: Tool, tip: float) -> tuple[float, ...]:
    """Return the depth of every pass below the shank, mm: equal areas, at radii that the X dial can be set to.

    Radii are rounded outward, the last to the nearest, unless the dial's step is more than a third of the limits.

    Raises:
        ProblemError: the tool's first cut would make far too many passes.
    """
    step = radius_step(shop.lathe)
    try:
        deep = infeed(wanted.shank - tip, float(tool.deepest_cut), float(tool.minimum_cut), SPRINGS)
    except RangeError as fault:
        raise ProblemError([_too_fine(wanted, tool, str(fault))]) from fault
    if not 0 < step <= (wanted.most - wanted.least) / 2 * COARSE:
        return deep
    full = wanted.shank - round(tip / step) * step
    found: list[float] = []
    for depth in deep[: len(deep) - SPRINGS - 1]:
        rounded = wanted.shank - math.ceil((wanted.shank - depth) / step - ROUNDING) * step
        if rounded > (found[-1] if found else 0.0) + ROUNDING and rounded < full - ROUNDING:
            found.append(rounded)
    return (*found, *(full,) * (1 + SPRINGS))


def _too_fine(wanted: ThreadWanted, tool: Tool, fault: str) -> Problem:
    what = f"{wanted.thread.name} would take far too many passes with tool {tool.number}"
    given = f"deepest_cut = {tool.deepest_cut.text}: {fault}"
    fix = f'give "{tool.name}" a deeper first cut in the shop file, or cut the thread by die: thread_by = "die"'
    return problem(wanted.where, what, given, f"at most {MOST_PASSES} passes", fix)


def by_hand(shop: Shop, wanted: ThreadWanted) -> tuple[Tool, tuple[float, ...]]:
    """Return the tool and the depths of a thread that is cut by hand with change wheels.

    Raises:
        ProblemError: there is no tool for it.
    """
    tool = choose_tool(shop, wanted)
    tip = tip_radius(wanted.thread, (wanted.least + wanted.most) / 2, float(tool.nose_radius))
    return tool, pass_depths(shop, wanted, tool, tip)


def check_by_hand(bench: Bench) -> None:
    """Check that the threads cut by hand have a tool, and room for it to run off.

    Raises:
        ProblemError: a thread has no tool or no room.
    """
    for wanted in bench.setting.hand_threads:
        tool, depths = by_hand(bench.shop, wanted)
        run_off(bench, wanted, tool, wanted.shank - depths[-1], 0.0)


def run_off(bench: Bench, wanted: ThreadWanted, tool: Tool, tip: float, slowing: float) -> float:
    """Return the Z at which the tool stops: over the undercut, clear of the shoulder, the vee past the full thread.

    Args:
        tip: radius that the tool reaches, mm. slowing: the way that the slide needs to slow down, mm.

    Raises:
        ProblemError: the undercut is too narrow or too shallow for this tool, or the tool does not reach far enough in.
    """
    section = wanted.section
    part_of = next(t for t in bench.setting.turned if t.section.name == section)
    assert part_of.corner is not None
    clear = max(BESIDE, float(bench.shop.lathe.contact_clearance))
    need = float(tool.width) / 2 + clear
    sharp = tip_radius(wanted.thread, wanted.least, 0.0)
    more = max(slowing, (wanted.shank - sharp) * math.tan(math.radians(tool.included / 2)))
    floor = part_of.radius_far - part_of.corner.depth
    reach = part_of.far_radius - tip
    found = []
    if wanted.far - wanted.shoulder < need + more - ROUNDING:
        what = f'tool {tool.number} has no room to run off behind the thread of "{section}"'
        given = f"{say(wanted.far - wanted.shoulder, wanted)} between full thread and shoulder ({part_of.corner.text})"
        allowed = (
            f"at least {at_least(need + more, wanted)}: half the blade of {tool.width.text}, {say(clear, wanted)} "
            f"clear, and {say(more, wanted)} for the vee's own width and for the slide to slow down"
        )
        fix = "widen the undercut, shorten the thread, or use a narrower threading tool"
        found.append(problem(wanted.where, what, given, allowed, fix))
    if tip < floor - ROUNDING:
        what = f'the undercut of "{section}" is not as deep as tool {tool.number} cuts the thread'
        given = (
            f"undercut down to {say(2 * floor, wanted)} diameter, thread to {say(2 * tip, wanted)} with nose "
            f"{tool.nose_radius.text}"
        )
        fix = "deepen the undercut, or use a threading tool with a rounder nose"
        allowed = f"at least {at_least(part_of.radius_far - tip, wanted)} deep"
        found.append(problem(wanted.where, what, given, allowed, fix))
    if reach > tool.edge + ROUNDING:
        what = f'tool {tool.number} does not reach down beside the shoulder of "{section}"'
        fix = "use a threading tool that reaches further"
        allowed = f"at least {at_least(reach, wanted)}"
        found.append(problem(wanted.where, what, f"edge = {tool.edge.text}", allowed, fix))
    if found:
        raise ProblemError(found)
    return wanted.shoulder + need


def _measure(wanted: ThreadWanted, now: float, left: float) -> tuple[Measure, ...]:
    """Make the measure over wires before or after the passes at full depth.

    Args:
        now: pitch diameter that the passes leave, at depths that the dial can be set to, mm. left: what the passes at
            full depth still cut, mm of radius.
    """
    wire, middle = best_wire(wanted.thread), (wanted.least + wanted.most) / 2
    sizes = (wanted.least, middle, wanted.most, now)
    least, aim, most, expected = (over_wires(wanted.thread, size, wire) for size in sizes)
    return (
        Measure(
            what=f"{wanted.thread.name} of {wanted.section} over three wires of {wire:.3f} mm",
            over=f"three wires of {wire:.3f} mm",
            kind="diameter",
            target=aim,
            least=least,
            most=most,
            expected=expected,
            cut_left=left,
            sections=(wanted.section,),
            when="before last cut" if left else "after last cut",
        ),
    )


def explain_threads(bench: Bench) -> tuple[str, ...]:
    """Explain for the page how the threads' passes were worked out, a sentence each."""
    return tuple(_explain_one(bench, wanted) for wanted in bench.setting.threads)


def _explain_one(bench: Bench, wanted: ThreadWanted) -> str:
    threading = bench.shop.lathe.threading
    assert threading is not None
    thread = wanted.thread
    tool = choose_tool(bench.shop, wanted)
    turns = choose_turns(bench.shop, bench.material, wanted, threading, tool)
    lost = float(bench.shop.lathe.z.backlash)
    room = start_room(thread.pitch, turns.rpm, threading.acceleration, lost)
    return (
        f"{thread.name} takes passes of equal chip area and {SPRINGS} more at the full depth; to be in step at "
        f"{turns.rpm:.0f} rev/min the slide needs {say(room, wanted)} before it: v^2 / (2 a) and its backlash, at "
        "least two pitches"
    )
