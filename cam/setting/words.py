"""Lengths, times and lists in the user's own terms."""

from __future__ import annotations

from collections.abc import Iterable

from cam.part.details import InUnit, at_least, at_most, say
from cam.shop.machine import Slide

__all__ = ["InUnit", "at_least", "at_most", "between_marks", "quoted", "say", "say_time"]

BY_HAND = {
    "dial": "by hand, its row gives the nearest mark or half division within them, the half set by eye",
    "readout": "by hand, its row gives the nearest reading within them",
    "none": "by hand, its row gives the nearest setting within them",
}
"""What a sheet's row does, by how a slide is read, where what is aimed at lies between two settings of the slide."""


def between_marks(slide: Slide, name: str, apart: str) -> str:
    """Say that something is aimed between two settings of a slide, X or Z by name, and where a hand sets it."""
    why = f"between two settings of the {name} slide ({apart}) so as to stay well within the limits"
    return f"{why}; {BY_HAND[slide.reading]}"


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
