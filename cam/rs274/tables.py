"""The words of both standards, as data.

NISTIR 6556: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, NISTIR 6556, 2000:
modal groups from Table 4, codes from Tables 5 and 7, letters from Table 1. Standing: published.

EIA-274-D: EIA-274-D (1979) and its sister ISO 6983-1; the words are from memory of both, the limit on the spindle
by G92 S and the dwell by F are DIN 66025 practice (from memory), group numbers are those of NISTIR 6556 and
14 (G96, G97) of our own.

Codes are kept in tenths, so that G38.2 is 382 and G1 is 10. Group 0 holds what is not modal.
"""

from __future__ import annotations

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

THREAD = 330
CYCLES = frozenset((810, 820, 830, 840, 850, 860, 870, 880, 890))
ARCS = frozenset((20, 30))
AXIS_TAKERS = frozenset((100, 280, 300, 920))
"""Codes of group 0 that take the axis words of their line (NISTIR 6556, 3.3.5): G10, G28, G30, G92."""

NGC_G = {
    MOTION: (0, 10, 20, 30, 382, 800, *sorted(CYCLES)),
    PLANE: (170, 180, 190),
    DISTANCE: (900, 910),
    FEED_MODE: (930, 940),
    UNITS: (200, 210),
    COMPENSATION: (400, 410, 420),
    LENGTH_OFFSET: (430, 490),
    RETRACT: (980, 990),
    SYSTEM: (540, 550, 560, 570, 580, 590, 591, 592, 593),
    PATH_CONTROL: (610, 611, 640),
    0: (40, 100, 280, 300, 530, 920, 921, 922, 923),
}
NGC_M = {STOPPING: (0, 1, 2, 30, 60), TOOL_CHANGE: (6,), SPINDLE: (3, 4, 5), COOLANT: (7, 8, 9), OVERRIDES: (48, 49)}

EIA_G = {
    MOTION: (0, 10, 20, 30, 330, 800, *sorted(CYCLES)),
    PLANE: (170, 180, 190),
    DISTANCE: (900, 910),
    FEED_MODE: (940, 950),
    UNITS: (700, 710),
    COMPENSATION: (400, 410, 420),
    SPEED_MODE: (960, 970),
    0: (40, 920),
}
EIA_M = {STOPPING: (0, 1, 2, 30), TOOL_CHANGE: (6,), SPINDLE: (3, 4, 5), COOLANT: (7, 8, 9)}

EIA_INSTEAD = {
    200: "G70 is inch in EIA-274-D",
    210: "G71 is millimetres in EIA-274-D",
    280: "write the place to go to with G0",
    300: "write the place to go to with G0",
    430: "tool offsets are digits of the T word",
    490: "T0100 takes the offset of tool 1 off",
    930: "write feeds with G94 or G95",
    980: "cycles return to R",
    990: "cycles return to R",
    **dict.fromkeys((530, 540, 550, 560, 570, 580, 590, 591, 592, 593), "offsets are digits of the T word (T0101)"),
}
NGC_INSTEAD = {
    330: "no thread cutting in NISTIR 6556",
    700: "G20 is inch in NISTIR 6556",
    710: "G21 is millimetres in NISTIR 6556",
    950: "no feed per revolution in NISTIR 6556: write mm/min with G94",
    960: "no constant surface speed in NISTIR 6556: write S in rev/min",
    970: "S is always rev/min in NISTIR 6556",
}


POINTED = frozenset("FIJKQRXYZ")
"""Letters whose numbers need a decimal point in EIA-274-D texts: without one, a control may count steps
(common practice, no source; controls differ)."""


class Dialect:
    """What one standard's language holds.

    Attributes:
        name: of the standard, as in Rules.
        letters: that may begin a word, G, M and N left out.
        g, m: value of the word -> (code, group); G codes in tenths.
        instead: G code of the other standard -> what is written here.
        language: the fuller language of NISTIR 6556: small letters, parameters and expressions.
        pointed: letters whose numbers need a decimal point.
    """

    __slots__ = ("g", "instead", "language", "letters", "m", "name", "pointed")

    def __init__(
        self, name: str, letters: str, g: dict[int, tuple[int, ...]], m: dict[int, tuple[int, ...]], language: bool
    ) -> None:
        self.name = name
        self.letters = frozenset(letters)
        self.g = {code / 10: (code, group) for group, codes in g.items() for code in codes}
        self.m = {float(code): (code, group) for group, codes in m.items() for code in codes}
        self.language = language
        self.instead = NGC_INSTEAD if language else EIA_INSTEAD
        self.pointed = frozenset() if language else POINTED


NGC = Dialect("NISTIR 6556", "DFHIJKLPQRSTXYZ", NGC_G, NGC_M, True)
EIA = Dialect("EIA-274-D", "FIJKQRSTXYZ", EIA_G, EIA_M, False)


def name_of(code: int) -> str:
    """G word as it is written: 10 gives "G1", 382 gives "G38.2"."""
    return f"G{code // 10}" if code % 10 == 0 else f"G{code / 10}"
