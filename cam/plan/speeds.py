"""Belt positions for a whole setting: few changes, as each costs the operator a stop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from cam.ground.problem import Problem, ProblemError, problem
from cam.plan.cutting import choose_speed, cutting_power, surface_speed
from cam.plan.model import Operation, Pass
from cam.setting.fastest import SpeedLimit, speed_limits
from cam.setting.model import Setting
from cam.shop.model import Material, Shop, Speed

BELT_CHANGE = 60.0
"""What moving a belt costs, seconds: park, stop, move it, start again. Common practice, no source."""
SLOWEST_SHARE = 0.3
FINISH_SHARE = 0.5
PART_OFF_SHARE = 0.5
"""To save a change a pass may run slower than suits it best, down to this share; the last two cuts less so. Parting
off runs at no more than half of it.
Common practice, no source."""


def slowed(shop: Shop, setting: Setting) -> Shop:
    """Return the shop with only the spindle speeds that everything holding the work in a setting allows.

    Raises:
        ProblemError: even the slowest speed is too fast.
    """
    limit = next(iter(speed_limits(setting)), None)
    if limit is None:
        return shop
    spindle = shop.lathe.spindle
    if spindle.slowest > limit.rpm:
        raise ProblemError([_too_fast(setting, spindle.slowest, limit)])
    kept = tuple(s for s in spindle.positions if s.rpm <= limit.rpm)
    fastest = float(kept[-1].rpm) if kept else min(spindle.fastest, float(math.floor(limit.rpm)))
    fastest = max(fastest, spindle.slowest)
    spindle = replace(spindle, positions=kept, fastest=fastest)
    return replace(shop, lathe=replace(shop.lathe, spindle=spindle))


def _too_fast(setting: Setting, slowest: float, limit: SpeedLimit) -> Problem:
    other = {
        "dead centre": "hold that end by a revolving centre, or in a smaller centre hole",
        "half centre": "hold that end by a revolving centre, or in a smaller centre hole",
    }.get(limit.kind, f"hold the work by another {limit.kind}")
    what = f"the slowest spindle speed is too fast for what holds the work in setting {setting.number}"
    fix = f"{other}, or turn on a lathe that turns slower"
    return problem(limit.where, what, f"{slowest:g} rev/min", limit.words, fix)


def name_rulers(
    operations: Sequence[Operation], shop: Shop, setting: Setting, material: Material
) -> tuple[Operation, ...]:
    """Return the operations with what ruled the speed of each pass, where that is what holds the work.

    A pass is ruled where material, tool and motor would have had it turn faster than the least of the limits.
    """
    limit = next(iter(speed_limits(setting)), None)
    if limit is None:
        return tuple(operations)

    def named(cut: Pass) -> Pass:
        free = choose_speed(shop, material, cut.tool, _diameter(cut), cut.force).rpm
        return replace(cut, ruled_by=limit.thing) if free > limit.rpm and cut.kind != "thread" else cut

    return tuple(replace(o, passes=tuple(named(p) for p in o.passes)) for o in operations)


def say_ruler(operations: Sequence[Operation], setting: Setting) -> tuple[str, ...]:
    """Say what held passes back, and how many; nothing where tool, material or motor ruled every one."""
    ruled = sum(bool(p.ruled_by) for o in operations for p in o.passes)
    if not ruled:
        return ()
    return (
        f"what holds the work rules the speed of {ruled} pass{'es' * (ruled > 1)}: {speed_limits(setting)[0].words}",
    )


def settle_speeds(operations: Sequence[Operation], shop: Shop, material: Material) -> tuple[Operation, ...]:
    """Return the operations with every pass at a belt position, chosen over the setting for the least time.

    Time is cutting time plus BELT_CHANGE for each change; no pass runs faster than its material and tool
    allow. Exact, by dynamic programming over passes and positions. A lathe without belt positions keeps the
    speed that each pass was given.
    """
    positions = shop.lathe.spindle.positions
    passes = [p for o in operations for p in o.passes]
    if not positions or not passes:
        return tuple(operations)
    chosen = _cheapest([_costs(p, shop, material, positions) for p in passes])
    renewed = iter([_at(p, positions[k]) for p, k in zip(passes, chosen, strict=True)])
    return tuple(replace(o, passes=tuple(next(renewed) for _ in o.passes)) for o in operations)


def path_length(cut: Pass) -> float:
    """Return the length of the cutting path, mm; arcs by their chord, which is near enough for choosing a speed."""
    return sum(math.dist(s.start, s.end) for s in cut.path)


def _diameter(cut: Pass) -> float:
    return cut.surface_speed * 1000 / (math.pi * cut.rpm)


def _costs(cut: Pass, shop: Shop, material: Material, positions: Sequence[Speed]) -> dict[int, float]:
    """Return the seconds of cutting at each position that suits a pass."""
    if cut.kind == "thread":  # in step with the spindle: its speed was chosen with the room before it
        return {k: 0.0 for k, s in enumerate(positions) if s.name == cut.speed_name}
    best = choose_speed(shop, material, cut.tool, _diameter(cut), cut.force).rpm
    length = path_length(cut)
    if cut.kind == "part off":
        return {max((k for k, s in enumerate(positions) if s.rpm <= PART_OFF_SHARE * best), default=0): 0.0}
    least = best * (FINISH_SHARE if cut.kind in ("semi-finish", "finish") else SLOWEST_SHARE)
    return {k: 60 * length / (cut.feed * s.rpm) for k, s in enumerate(positions) if least <= s.rpm <= best}


def _cheapest(costs: Sequence[dict[int, float]]) -> list[int]:
    """Choose the position for each pass for the least total time; of equal ones the slower speed."""
    total = dict(costs[0])
    came: list[dict[int, int]] = []
    for row in costs[1:]:
        step: dict[int, int] = {}
        new: dict[int, float] = {}
        for k, seconds in row.items():
            before = min(total, key=lambda j: (total[j] + (BELT_CHANGE if j != k else 0.0), j))
            step[k] = before
            new[k] = total[before] + (BELT_CHANGE if before != k else 0.0) + seconds
        came.append(step)
        total = new
    chosen = [min(total, key=lambda j: (total[j], j))]
    for step in reversed(came):
        chosen.append(step[chosen[-1]])
    return chosen[::-1]


def _at(cut: Pass, speed: Speed) -> Pass:
    rpm = float(speed.rpm)
    surface = surface_speed(_diameter(cut), rpm)
    power = cutting_power(cut.force, surface)
    return replace(cut, rpm=rpm, speed_name=speed.name, surface_speed=surface, power=power)
