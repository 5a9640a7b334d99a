"""What runs the slides, as the shop file describes it: the control, and what it was seen to do."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from cam.ground.keys import keys_in, read_as
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.units import is_inch
from cam.shop.machine import OTHERWISE, STANDING, Facts, Slide
from cam.shop.model import Control

HAND_RAPID = 250.0
"""How fast slides are wound by hand, mm/min: two turns a second of a screw of 2 mm; common practice, no source."""
LATHE_SENSES, MILL_SENSES = ("arcs",), ("rotary axis",)
"""The senses that programs of each machine prove in air, for which a date may stand instead."""


def read_control(table: Table, x: Slide) -> Control:
    """Read what runs the slides. By hand there is no control; the program that is checked follows from the X dial."""
    kind: Literal["stepper", "hand"] = table.choice("kind", ("stepper", "hand"))
    if table.raw("kind") == "hand":
        for key in (*keys_in(Control), *keys_in(Facts)):
            if key != "kind":
                table.refuse(key, f"a lathe worked by hand has no control, so no {key}", fix="leave it out")
        rapid = Quantity(HAND_RAPID, "", table.where)
        units: Literal["mm", "in"] = "in" if is_inch(x.division.text) else "mm"
        return Control(kind="hand", dialect="rs274ngc", x_words="radius", rapid=rapid, units=units)
    return read_as(table, Control, kind=kind, facts=read_facts(table, LATHE_SENSES))


def read_facts(table: Table, senses: tuple[str, ...]) -> Facts:
    """Read what a control, of either machine, was seen to be and to do.

    Args:
        senses: the senses that programs of this machine prove in air.
    """
    stands = _read_stands(table)
    if "arcs" not in senses:
        table.refuse("arcs", "programs of the mill have straight moves alone", fix="leave it out")
    return read_as(
        table, Facts, stands=stands, leave_out=_read_leave_out(table, stands), proved=_read_proved(table, senses)
    )


def zero_of(facts: Facts, number: int) -> int:
    """Return the number of the work system, or the offset digits, with which a tool moves."""
    return number if facts.tool_zeros == "each" else 1


def _read_leave_out(table: Table, stands: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    """Read the words that mean something else to the control; what they would say must be known to stand."""
    words = table.raw("leave_out") if table.has("leave_out") else []
    if not isinstance(words, list) or any(word not in OTHERWISE for word in words):
        allowed = "a list of " + ", ".join(OTHERWISE)
        table.note("leave_out", "leave_out holds words that mean something else to this control", allowed=allowed)
        return ()
    dated = {word for word, _ in stands}
    for word in (w for w in words if w not in dated):
        what = f"{word} is left out of programs, and nothing says that the control stands so without it"
        table.note("leave_out", what, fix=f'write stands = {{ "{word}" = "the date on which that was seen" }}')
    return tuple(dict.fromkeys(words))


def _read_stands(table: Table) -> tuple[tuple[str, str], ...]:
    """Read what the control is known to stand in when a program begins: each word with the date when it was seen."""
    if not table.has("stands"):
        return ()
    own = table.table("stands", why='for example stands = { "G90" = "2026-05-02" }')
    own.known(*STANDING)
    found = [(word, _date(own, word)) for word in STANDING if own.has(word)]
    for kind in ({"G17", "G18"}, {"G20", "G21", "G70", "G71"}, {"G94", "G95"}):
        both = [word for word, _ in found if word in kind]
        if len(both) > 1:
            own.note(both[1], f"the control cannot stand in {both[0]} and in {both[1]}", fix="leave one out")
    return tuple(found)


def _read_proved(table: Table, senses: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Read the senses that were seen to be as meant, each with the date; those not named are proved every time."""
    if not table.has("proved"):
        return ()
    own = table.table("proved", why=f'for example proved = {{ "{senses[0]}" = "2026-05-02" }}')
    own.known(*senses)
    return tuple((sense, _date(own, sense)) for sense in senses if own.has(sense))


def _date(table: Table, key: str) -> str:
    """Read a date as ISO 8601 writes it, in quotes or without."""
    value = table.raw(key)
    text = value.isoformat() if isinstance(value, date) and not isinstance(value, datetime) else value
    try:
        return date.fromisoformat(text).isoformat() if isinstance(text, str) else _no_date(table, key)
    except ValueError:
        return _no_date(table, key)


def _no_date(table: Table, key: str) -> str:
    what = f"{key} is followed by the date on which the control was seen to stand in it"
    table.note(key, what, allowed=f'for example {key} = "2026-05-02"')
    return ""
