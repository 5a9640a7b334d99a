"""Belt positions for a whole setting: few changes, as each costs the operator a stop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from cam.plan.cutting import choose_speed, cutting_power, surface_speed
from cam.plan.model import Operation, Pass
from cam.shop.model import Material, Shop, Speed

BELT_CHANGE = 60.0
"""What moving a belt costs, seconds: park, stop, move it, start again. Common practice, no source."""
SLOWEST_SHARE = 0.3
FINISH_SHARE = 0.5
PART_OFF_SHARE = 0.5
"""To save a change a pass may run slower than suits it best, down to this share; the last two cuts less so. Parted
off is at no more than half of it.
Common practice, no source."""


def settle_speeds(operations: Sequence[Operation], shop: Shop, material: Material) -> tuple[Operation, ...]:
    """The operations with every pass at a belt position, chosen over the whole setting for the least time.

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
    """Length of the cutting path, mm; arcs by their chord, which is near enough for choosing a speed."""
    return sum(math.dist(s.start, s.end) for s in cut.path)


def _diameter(cut: Pass) -> float:
    return cut.surface_speed * 1000 / (math.pi * cut.rpm)


def _costs(cut: Pass, shop: Shop, material: Material, positions: Sequence[Speed]) -> dict[int, float]:
    """Seconds of cutting for each position that suits a pass."""
    if cut.kind == "thread":  # in step with the spindle: its speed was chosen with the room before it
        return {k: 0.0 for k, s in enumerate(positions) if s.name == cut.speed_name}
    best = choose_speed(shop, material, cut.tool, _diameter(cut), cut.force).rpm
    length = path_length(cut)
    if cut.kind == "part off":
        slow = [k for k, s in enumerate(positions) if s.rpm <= PART_OFF_SHARE * best] or [0]
        return {slow[-1]: 0.0}
    least = best * (FINISH_SHARE if cut.kind in ("semi-finish", "finish") else SLOWEST_SHARE)
    fit = {k: s.rpm for k, s in enumerate(positions) if least <= s.rpm <= best}
    return {k: 60 * length / (cut.feed * rpm) for k, rpm in fit.items()}


def _cheapest(costs: Sequence[dict[int, float]]) -> list[int]:
    """The position for each pass, least total time; of equal ones the slower speed."""
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
