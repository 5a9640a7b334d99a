"""Lengths, times and lists in the user's own terms."""

from __future__ import annotations

from collections.abc import Iterable

from cam.ground.units import round_down, round_up, show_length
from cam.part.model import Part


def say(value: float, part: Part) -> str:
    """Say a length, mm, in the unit that the part file mostly uses: "44.5 mm", "1.752 in"."""
    return show_length(value, part.unit, 4 if part.unit == "in" else 3, trim=True)


def at_least(value: float, part: Part) -> str:
    """Say a least length in the same way, rounded up, so that a size written from it is large enough."""
    return say(round_up(value, part.unit), part)


def at_most(value: float, part: Part) -> str:
    """Say a greatest length in the same way, rounded down."""
    return say(round_down(value, part.unit), part)


def quoted(names: Iterable[str]) -> str:
    """Return names in quotes, with "and" before the last."""
    *before, last = [f'"{name}"' for name in names] or ['""']
    return f"{', '.join(before)} and {last}" if before else last


def say_time(seconds: float) -> str:
    """Say a time, s, as a person does: "4 min 10 s"."""
    whole = round(seconds)
    hours, minutes = divmod(whole // 60, 60)
    words = ((hours, "h"), (minutes, "min"), (whole % 60, "s"))
    return " ".join(f"{n} {unit}" for n, unit in words if n) or "0 s"
