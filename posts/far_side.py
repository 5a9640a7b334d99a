"""The check of X in air at a stop: what callipers must read from the parked tip to the far side of the work."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cam.plan.model import Pass, SettingPlan
from cam.plan.work import highest_between

LEAST_LENGTH = 1.0
"""The least width of a place that callipers can be laid on, mm."""
INTO = 2.0
"""How far from the end of a bar its size is measured, mm."""


def _along(name: str, passes: Sequence[Pass]) -> list[Pass]:
    """Return those of the passes that take metal off the length of a section."""
    return [p for p in passes if name in p.sections and p.kind not in ("face", "edge")]


def beside_end(plan: SettingPlan, done: int) -> tuple[str, float] | None:
    """Return the name and radius, mm, of what stands at the end after so many passes; None if callipers find none."""
    setting, end = plan.setting, plan.setting.end_z
    bar = highest_between(setting.stock, end - INTO, end)
    first = max(setting.turned, key=lambda t: t.near)
    cuts = _along(first.section.name, plan.passes[:done])
    if not cuts or first.near < end - LEAST_LENGTH:
        return "the bar", bar
    left = [p.x + p.deeper + p.cone_off for p in cuts if p.shape == "straight"]
    short = first.near - first.far < LEAST_LENGTH
    return None if not left or plan.ramp or first.is_taper or short else (first.section.name, min(bar, *left))


def far_side(plan: SettingPlan, done: int, length: Callable[[float], str], callipers: Callable[[float], str]) -> str:
    """Say at a stop after so many passes "from the tip to the far side of the bar, 16.0 there, is 27.0", or nothing.

    Args:
        length, callipers: how the program prints lengths, from mm; and how what callipers read.
    """
    found = beside_end(plan, done)
    if found is None:
        return ""
    name, radius = found
    reads = callipers(plan.park.x + radius)
    return f"from the tip to the far side of {name}, {length(2 * radius)} there, is {reads} by callipers"
