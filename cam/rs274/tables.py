"""The words of the standards, each a data file in the folder `standards` beside this.

Codes are kept in tenths, so that G38.2 is 382 and G1 is 10. Group numbers are those of NISTIR 6556, Table 4, and 14
(G96, G97) of our own; group 0 holds what is not modal.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

STANDARDS = Path(__file__).parent / "standards"
MOTION, PLANE, DISTANCE, FEED_MODE, UNITS = 1, 2, 3, 5, 6
COMPENSATION, LENGTH_OFFSET, RETRACT, SYSTEM, PATH_CONTROL, SPEED_MODE = 7, 8, 10, 12, 13, 14
STOPPING, TOOL_CHANGE, SPINDLE, COOLANT, OVERRIDES = 4, 6, 7, 8, 9
GROUP_NAMES = {
    0: "what is done once",
    MOTION: "motion",
    PLANE: "plane",
    DISTANCE: "absolute or incremental",
    FEED_MODE: "feed mode",
    UNITS: "units",
    COMPENSATION: "radius compensation",
    LENGTH_OFFSET: "tool length offset",
    RETRACT: "return level of cycles",
    SYSTEM: "work system",
    PATH_CONTROL: "path control",
    SPEED_MODE: "speed mode",
}
M_GROUP_NAMES = {
    STOPPING: "stop",
    TOOL_CHANGE: "tool change",
    SPINDLE: "spindle",
    COOLANT: "coolant",
    OVERRIDES: "overrides",
}
G_GROUPS = {name: group for group, name in GROUP_NAMES.items()}
M_GROUPS = {name: group for group, name in M_GROUP_NAMES.items()}
THREAD = 330
CYCLES = frozenset((810, 820, 830, 840, 850, 860, 870, 880, 890))
ARCS = frozenset((20, 30))
AXIS_TAKERS = frozenset((100, 280, 300, 920))
"""Codes of group 0 that take the axis words of their line (NISTIR 6556, 3.3.5): G10, G28, G30, G92."""


class Standard:
    """What one standard's language holds, and how its words act; a data file in `standards` states it all.

    Attributes:
        name: "NISTIR 6556". letters: the letters that may begin a word, G, M and N left out.
        g, m: value of the word -> (code, group); G codes in tenths. groups: the groups of its G words.
        instead: G code of another standard -> what is written here.
        pointed: letters whose numbers need a decimal point, as a control may count steps without one.
        small_letters: whether small letters are read as capitals. expressions: whether there are parameters and
            expressions.
        arcs_by_radius: whether R says an arc. dwell: letter of a dwell's seconds; "" where there is none.
        modes_first: whether units and speed mode act before F and S of their line.
        offset_digits: whether T brings a tool and its offset into use; else T chooses, M6 calls.
        stop_stops_spindle: whether M0 and M1 do. compensation_plane: the only plane of G41 and G42; 0 for any.
        at_start: groups whose state a control has when it begins, so that a text may leave it unsaid.
        mark_first: whether % must open the program. mark_last: whether a % that does must have a fellow.
        mark_ends: whether that fellow stands for M2. not_followed: cycles that the reader does not follow, in tenths.
        speed_modes: whether G96 and G97 are there; else S is rev/min always.
        inch, metric: words of the units; "" where it has none, so that the control itself is set to one.
    """

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.name: str = data["name"]
        self.letters, self.pointed = frozenset(data["letters"]), frozenset(data["pointed"])
        self.small_letters: bool = data["small_letters"]
        self.expressions: bool = data["expressions"]
        self.arcs_by_radius: bool = data["arcs_by_radius"]
        self.dwell: str = data["dwell"]
        self.modes_first: bool = data["modes_first"]
        self.offset_digits: bool = data["offset_digits"]
        self.stop_stops_spindle: bool = data["stop_stops_spindle"]
        self.compensation_plane: int = data["compensation_plane"]
        self.at_start = frozenset(G_GROUPS[name] for name in data["at_start"])
        self.mark_first: bool = data["mark_first"]
        self.mark_last: bool = data["mark_last"]
        self.mark_ends: bool = data["mark_ends"]
        self.g, self.m = _codes(data["g"], G_GROUPS, 10), _codes(data["m"], M_GROUPS, 1)
        self.groups = frozenset(group for _, group in self.g.values())
        self.instead = {tenths(float(word[1:])): words for word, words in data["instead"].items()}
        self.not_followed = frozenset(map(tenths, data["not_followed"]))
        self.speed_modes = SPEED_MODE in self.groups
        units = [name_of(code) for code, group in self.g.values() if group == UNITS]
        self.inch, self.metric = units or ("", "")

    @property
    def cycles(self) -> list[str]:
        """Return the cycles that it has and the reader follows, "G81"."""
        return [name_of(code) for code, _ in self.g.values() if code in CYCLES - self.not_followed]


def tenths(value: float) -> int:
    """Return the code of a G word: 38.2 gives 382."""
    return round(value * 10)


def _codes(table: Mapping[str, Any], groups: Mapping[str, int], parts: int) -> dict[float, tuple[int, int]]:
    """Return value -> (code, group) of the words of a table; parts: of a word in one of its codes."""
    codes = [(round(value * parts), groups[name]) for name, values in table.items() for value in values]
    return {code / parts: (code, group) for code, group in codes}


@cache
def find_standard(name: str) -> Standard:
    """Return the standard of a name; raise LookupError where there is none."""
    file = STANDARDS / ("".join(c for c in name.lower() if c.isalnum()) + ".toml")
    if not file.is_file():
        raise LookupError(f"no standard {name!r}")
    return Standard(tomllib.loads(file.read_text(encoding="utf-8")))


@cache
def standard_names() -> tuple[str, ...]:
    """Return the names of all standards that the reader knows, sorted."""
    texts = [file.read_text(encoding="utf-8") for file in STANDARDS.glob("*.toml")]
    return tuple(sorted(tomllib.loads(text)["name"] for text in texts))


def name_of(code: int) -> str:
    """Return a G word as it is written: 10 gives "G1", 382 gives "G38.2"."""
    return f"G{code // 10}" if code % 10 == 0 else f"G{code / 10}"
