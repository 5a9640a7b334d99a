"""A second reader of program text, small and independent: what the words of a block say, in both dialects.

It shares nothing with the reader that judges, and knows only what the programs of the search may hold: any other word
is refused, so that nothing is passed over.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

KNOWN_G = {0, 1, 2, 3, 4, 18, 20, 21, 40, 49, 54, 55, 56, 57, 58, 59, 70, 71, 80, 90, 92, 94, 95, 96, 97}


class UnreadableError(Exception):
    """A word that no program of the search should hold, or one that is used before what it depends on was said."""


@dataclass
class Motion:
    """One motion of the programmed point, mm and radius.

    Attributes:
        kind: "rapid", "line" or "arc". start, end: (z, x); nan where not said yet. centre, turn: of an arc; turn is 1
            from Z to X. tool: number. feed: mm/rev, 0 for a rapid. speed: rev/min, 0 where the spindle stands.
            surface: m/min where that is held, else 0. line: line of the text, from 1. stops: how many M0 came before.
    """

    kind: str
    start: tuple[float, float]
    end: tuple[float, float]
    tool: int
    feed: float
    speed: float
    line: int
    centre: tuple[float, float] = (math.nan, math.nan)
    turn: int = 0
    surface: float = 0.0
    stops: int = 0


@dataclass
class Program:
    """What a text says: its motions, and its comments in one string, with continued lines joined."""

    motions: list[Motion]
    comments: str
    inch: bool
    diameters: bool
    ended: bool


class _State:
    """What has been said so far."""

    def __init__(self) -> None:
        self.said: set[str] = set()
        self.scale, self.factor = 1.0, 1.0
        self.z = self.x = math.nan
        self.motion = -1
        self.feed = math.nan
        self.per_revolution = False
        self.speed, self.surface, self.limit = 0.0, 0.0, math.inf
        self.spinning = False
        self.tool, self.waiting = 0, 0
        self.stops = 0
        self.ended = False


UNITS_SET = re.compile(r"NO WORD OF THIS PROGRAM SAYS THE UNITS\W+THE CONTROL MUST BE SET TO\W+(\w+)", re.I)


@lru_cache(maxsize=16)
def read(text: str) -> Program:
    """Read a whole program.

    Raises:
        UnreadableError: with the line named.
    """
    comments = " ".join(re.findall(r"\(([^)]*)\)", text))
    comments = re.sub(r"\s+", " ", comments)
    state, motions = _State(), []
    state.factor = 0.5 if re.search(r"X WORDS ARE DIAMETER", comments, re.I) else 1.0
    told = UNITS_SET.search(comments)
    if told:  # nor do words call tools or zeros: a stop names the tool, and its zero is set there
        state.said |= {"units", "work"}
        state.scale = 25.4 if told[1].upper() == "INCHES" else 1.0
    for number, row in enumerate(text.splitlines(), start=1):
        if told and (mounted := re.search(r"MOUNT TOOL ([0-9]+)", row, re.I)):
            state.tool = int(mounted[1])
        bare = re.sub(r"\([^)]*\)", "", row).strip()
        if bare in ("", "%"):
            continue
        if state.ended:
            raise UnreadableError(f"line {number}: a block after the end")
        try:
            motions += _block(state, _words(bare), number)
        except UnreadableError as fault:
            raise UnreadableError(f"line {number}: {fault}: {row}") from fault
    return Program(motions, comments, state.scale != 1.0, state.factor != 1.0, state.ended)


def _words(bare: str) -> list[tuple[str, float]]:
    found = re.findall(r"([A-Z])\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))", bare)
    if re.sub(r"\s", "", "".join(a + b for a, b in found)) != re.sub(r"\s", "", bare):
        raise UnreadableError("a word that is no word")
    return [(letter, float(value)) for letter, value in found]


def _block(state: _State, words: list[tuple[str, float]], number: int) -> list[Motion]:
    """Take the modes first, then the tool, speed and feed, then the motion, then stops: the order of both standards."""
    codes = [int(value) for letter, value in words if letter == "G"]
    if codes == [4]:  # a wait; its time is P or F, and F is no feed there
        if [letter for letter, _ in words if letter not in "GN"] not in (["P"], ["F"]):
            raise UnreadableError("a wait without its time")
        return []
    if any(v != int(v) for letter, v in words if letter == "G") or not set(codes) <= KNOWN_G:
        raise UnreadableError("a G word that is not known here")
    values = {letter: value for letter, value in words if letter not in "GMN"}
    if codes == [4]:  # a wait: its seconds are no feed, and it may say nothing else
        if set(values) not in ({"P"}, {"F"}) or any(letter == "M" for letter, _ in words):
            raise UnreadableError("a wait that says more than its time")
        return []
    if 4 in codes or set(values) - set("XZIKFSTRN"):
        raise UnreadableError("a letter that is not known here")
    stops = [int(value) for letter, value in words if letter == "M"]
    if "F" in values and ({20, 21, 70, 71} & set(codes)):
        raise UnreadableError("feed beside a word of units")
    _modes(state, codes, values)
    _tool(state, values, stops)
    _speed_and_feed(state, codes, values, stops)
    found = []
    if "X" in values or "Z" in values:
        found.append(_motion(state, codes, values, number))
    if 0 in stops:
        state.stops += 1
        state.spinning = state.spinning and 5 not in stops
    if {2, 30} & set(stops):
        state.ended = True
    return found


def _modes(state: _State, codes: list[int], values: dict[str, float]) -> None:
    for code in codes:
        if code in (20, 70):
            state.scale = 25.4
        elif code in (21, 71):
            state.scale = 1.0
        elif code in (94, 95):
            state.per_revolution = code == 95
        elif code in (0, 1, 2, 3):
            state.motion = code
        if code == 92 and set(values) != {"S"}:
            raise UnreadableError("G92 that moves a zero")
        state.said.add("units" if code in (20, 21, 70, 71) else "work" if 54 <= code <= 59 else str(code))


def _tool(state: _State, values: dict[str, float], stops: list[int]) -> None:
    if "T" in values:
        chosen = int(values["T"])
        if chosen >= 100:  # tool digits, then offset digits: in use at once
            if chosen // 100 != chosen % 100:
                raise UnreadableError("a tool with another's offset")
            state.tool = chosen // 100
            state.said.add("work")
        else:
            state.waiting = chosen
    if 6 in stops:
        state.tool = state.waiting
        state.spinning = False


def _speed_and_feed(state: _State, codes: list[int], values: dict[str, float], stops: list[int]) -> None:
    if "S" in values and 92 in codes:
        state.limit = values["S"]
    elif "S" in values:
        held = 96 in codes
        state.surface = values["S"] * (1.0 if state.scale == 1.0 else 0.3048) if held else 0.0
        state.speed = math.inf if held else values["S"]
    if "F" in values:
        state.feed = values["F"] * state.scale
    if 3 in stops:
        state.spinning = True
    if 5 in stops:
        state.spinning = False


def _motion(state: _State, codes: list[int], values: dict[str, float], number: int) -> Motion:
    missing = {"units", "18", "90", "40", "80", "work"} - state.said
    if missing or not {"94", "95"} & state.said:
        raise UnreadableError(f"a motion before {sorted(missing) or 'feed mode'} is said")
    if state.motion < 0 or state.tool == 0:
        raise UnreadableError("a motion without its kind or its tool")
    start = (state.z, state.x)
    if "X" in values:
        state.x = values["X"] * state.scale * state.factor
    if "Z" in values:
        state.z = values["Z"] * state.scale
    end, speed = (state.z, state.x), state.speed if state.spinning else 0.0
    if state.motion == 0:
        return Motion("rapid", start, end, state.tool, 0.0, speed, number, stops=state.stops)
    rate = state.feed if state.per_revolution else state.feed / speed if speed else math.nan
    motion = Motion("line", start, end, state.tool, rate, speed, number, surface=state.surface, stops=state.stops)
    if state.motion in (2, 3):
        motion.kind, motion.turn = "arc", 1 if state.motion == 3 else -1
        motion.centre = (start[0] + values["K"] * state.scale, start[1] + values["I"] * state.scale)
        radii = [math.dist(motion.centre, p) for p in (start, end)]
        if abs(radii[0] - radii[1]) > 0.002:
            raise UnreadableError(f"an arc whose ends are {radii[0]:.5f} and {radii[1]:.5f} from its centre")
    return motion
