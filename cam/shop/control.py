"""What runs the slides, as the shop file says it: the control, and what it was seen to do."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from cam.quantity import Quantity
from cam.shop.model import Control, Slide
from cam.source import Table
from cam.units import RATE, is_inch

STANDING = ("G17", "G18", "G20", "G21", "G40", "G49", "G54", "G70", "G71", "G80", "G90", "G94", "G95", "G97")
"""Words whose state a control may be known to begin in: what a text must otherwise say for itself."""
CONTROL_KEYS = ("dialect", "x_words", "rapid", "units", "stands", "proved", "arcs", "arc_height", "leave_out",
                "message_width", "line_ends", "tool_word")  # fmt: skip
"""What only a control has."""
OTHERWISE = ("G20", "G21", "G70", "G71", "G90", "G94")
"""Words that are cycles or the like to some lathe controls (common practice, no source)."""
WIDTH, LEAST_WIDTH, MOST_WIDTH = 40, 24, 72
"""Characters of a display: where the shop file does not say (common practice, no source), and least and most."""
HAND_RAPID = 250.0
"""How fast slides are wound by hand, mm/min: two turns a second of a screw of 2 mm; common practice, no source."""
TOOL_WORDS: tuple[Literal["pass", "tool"], ...] = ("pass", "tool")
LEAST_HEIGHT, MOST_HEIGHT = 0.001, 0.02
"""That lines in place of an arc may leave standing, mm: finer only makes a text long, coarser can be felt."""


def read_control(table: Table, x: Slide) -> Control:
    """What runs the slides; by hand there is no control to ask, and the text that is judged follows from the X dial."""
    kind: Literal["stepper", "hand"] = table.choice("kind", ("stepper", "hand"))
    if table.raw("kind") == "hand":
        for key in CONTROL_KEYS:
            table.refuse(key, f"a lathe worked by hand has no control, so no {key}", fix="leave it out")
        rapid = Quantity(HAND_RAPID, "", table.where)
        units: Literal["mm", "in"] = "in" if is_inch(x.division.text) else "mm"
        return Control(kind="hand", dialect="rs274ngc", x_words="radius", rapid=rapid, units=units)
    arcs: Literal["arcs", "lines"] = table.choice("arcs", ("arcs", "lines"), default="arcs")
    stands = read_stands(table)
    return Control(
        kind=kind,
        dialect=table.text("dialect", example="rs274ngc"),
        x_words=table.choice("x_words", ("radius", "diameter")),
        rapid=table.quantity("rapid", RATE, over=True, example="800 mm/min"),
        units=table.choice("units", ("mm", "in")),
        stands=stands,
        leave_out=_read_leave_out(table, stands),
        message_width=table.integer("message_width", least=LEAST_WIDTH, most=MOST_WIDTH, default=WIDTH),
        line_ends=table.choice("line_ends", ("LF", "CRLF"), default="LF"),
        tool_word=table.choice("tool_word", TOOL_WORDS) if table.has("tool_word") else "",
        proved=read_proved(table, ("arcs",)),
        arcs=arcs,
        arc_height=_read_arc_height(table, arcs),
    )


def _read_leave_out(table: Table, stands: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    """Words that mean something else to the control; what they would say must be known to stand."""
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


def _read_arc_height(table: Table, arcs: str) -> float:
    """What lines in place of arcs may leave standing, mm; 0 for arcs."""
    if arcs == "lines":
        return float(table.length("arc_height", least=LEAST_HEIGHT, most=MOST_HEIGHT, example="0.002 mm"))
    table.refuse("arc_height", "arc_height is what lines leave standing, and arcs are said as arcs", fix="leave it out")
    return 0.0


def read_stands(table: Table) -> tuple[tuple[str, str], ...]:
    """What the control is known to stand in when a program begins, each word with the date on which that was seen."""
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


def read_proved(table: Table, senses: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Senses that were seen to be as they are meant, each with the date; what is not named is proved every time."""
    if not table.has("proved"):
        return ()
    own = table.table("proved", why=f'for example proved = {{ "{senses[0]}" = "2026-05-02" }}')
    own.known(*senses)
    return tuple((sense, _date(own, sense)) for sense in senses if own.has(sense))


def _date(table: Table, key: str) -> str:
    """A date as ISO 8601 writes it, in quotes or without."""
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
