"""Reads a slide of lathe or mill from its table, and refuses keys that a choice rules out."""

from __future__ import annotations

from typing import Literal

from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.shop.machine import DialHabit, Slide

READINGS: tuple[Literal["dial", "readout", "none"], ...] = ("dial", "readout", "none")
HABITS: tuple[DialHabit, ...] = ("diameter", "depth on diameter", "radius")


def read_slide(table: Table, *, across: bool) -> Slide:
    """Read the X slide (across) or the Z slide; only X has a habit, and only a dial has a turn."""
    reading = table.choice("reading", READINGS)
    turn = Quantity(0.0, "", table.where)
    if reading == "dial":
        turn = table.length("turn", over=True, example="2 mm")
    else:
        refuse(table, ("turn",), "reading", READINGS, "only a dial has a turn")
    return Slide(
        reading=reading,
        habit=table.choice("habit", HABITS) if across else "radius",
        counts=table.choice("counts", ("up", "down"), default="up" if reading == "none" else None),
        division=table.length("division", over=True, most=5.0, example="0.02 mm"),
        turn=turn,
        backlash=table.length("backlash", most=5.0, example="0.04 mm"),
        where=table.where,
    )


def refuse(table: Table, keys: tuple[str, ...], choice: str, options: tuple[str, ...], why: str) -> None:
    """Refuse keys that do not go with what was chosen; if the choice could not be read, say nothing of them."""
    chosen = table.raw(choice)
    if chosen not in options:
        table.known(*keys)
        return
    for key in keys:
        table.refuse(key, f'{why}, and {choice} is "{chosen}"', fix="leave it out")
