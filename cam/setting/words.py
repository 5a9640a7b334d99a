"""Lengths, times and lists in the user's own terms."""

from __future__ import annotations

from collections.abc import Iterable

from cam.part.details import InUnit, at_least, at_most, say

__all__ = ["InUnit", "at_least", "at_most", "quoted", "say", "say_time"]


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
