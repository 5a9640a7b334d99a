"""Reads a slide of lathe or mill from its table, and refuses keys that a choice rules out."""

from __future__ import annotations

from typing import Any, Literal

from cam.ground.keys import read_as
from cam.ground.source import Table
from cam.shop.machine import READINGS, Slide


def read_slide(table: Table, *, across: bool) -> Slide:
    """Read the X slide (across) or the Z slide; only X has a habit, and only a dial has a turn."""
    reading = table.choice("reading", READINGS)
    counts: Literal["up", "down"] = table.choice("counts", ("up", "down"), default="up" if reading == "none" else None)
    said: dict[str, Any] = {} if across else {"habit": "radius"}
    return read_as(table, Slide, reading=reading, counts=counts, **said)


def refuse(table: Table, keys: tuple[str, ...], choice: str, options: tuple[str, ...], why: str) -> None:
    """Refuse keys that do not go with what was chosen; if the choice could not be read, say nothing of them."""
    chosen = table.raw(choice)
    if chosen not in options:
        table.known(*keys)
        return
    for key in keys:
        table.refuse(key, f'{why}, and {choice} is "{chosen}"', fix="leave it out")
