"""A mill's control with senses and zeros of its own, the square and the holes on it, and an operator who does as told.

Like the lathe's model it shares nothing with writer and reader. Of a flat it knows the height above the axis at the
station where it is measured, of a hole the place and how deep each tool went; of a square's tilt only that the
round rises toward its tip and the shoulder leans back.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tests.control.machine import WORD, AlarmError, join
from tests.control.operator import ToldError
from tests.control.silent import StopsPage

SLIP = 0.05
"""How finely a gap is tried by a slip, mm; common practice, no source."""
RULE = 0.5
"""How finely a rule from a tool's end down to the work is read, mm; common practice, no source."""
BY_EYE = 1.0
"""How near a tool is brought over a face by eye, mm; common practice, no source."""
SEEN = 0.005
"""The least difference that is corrected, mm."""
IN_METAL = 0.02
ENTERED = re.compile(r"(?<=\bG)5(\d)\b|(?<=OFFSET )(\d\d)\b")
"""A work system, G54 of tool 1, or an offset, 01 of tool 1, that a stop names."""
ANEW = re.compile(
    r"OR SET ANEW - (?:AT X \S+ )?Z (\S+) ON FLAT (\d+)"
    r"(?: AS IT STANDS, (AND HALF OF WHAT ITS PAIR READ|LESS WHAT WAS MISSING))?"
)
GIVEN = re.compile(r"(FLAT (\d+) TO ROUND|ACROSS FLATS (\d+) AND (\d+)) - (\S+) EXPECTED(?:, (\S+) TO (\S+) ALLOWED)?")


@dataclass
class Mill:
    """A control and the work on it, in true places, mm.

    Attributes:
        round_: radius of the work. station: X at which flats are measured. radii: of the tools. shoulder: whether X
            zero is a shoulder that the cutter must not cut.
        lean: slope of the work in a tipped block, its tip up. sides: how many flats its drawing shows: the next one is
            that part of a turn on.
        up: sense of Z, 1 or -1. turns: sense of the work's turning, 1 or -1. zeros: by tool, how far it truly stands
            from where the control takes it to be, X, Y, Z.
        page: what the summary says of each stop, for a control that shows no words: see tests.control.machine.Lathe.
    """

    text: str
    round_: float
    station: float
    radii: dict[int, float]
    shoulder: bool
    lean: float = 0.0
    sides: int = 4
    up: int = 1
    turns: int = 1
    zeros: dict[int, list[float]] = field(default_factory=dict)
    flats: dict[float, float] = field(default_factory=dict)
    stood: dict[float, float] = field(default_factory=dict)
    holes: dict[int, tuple[float, float, float]] = field(default_factory=dict)
    spoilt: list[str] = field(default_factory=list)
    page: StopsPage | None = None

    def __post_init__(self) -> None:
        self.lines = self.text.splitlines()
        for number in self.radii:
            self.zeros.setdefault(number, [0.0, 0.0, 0.0])
        said = join(self.page.head if self.page else re.findall(r"\(([^)]*)\)", self.text))
        self.scale = 25.4 if "CONTROL MUST BE SET TO INCHES" in said else 1.0
        self.tool, self.post, self.turn, self.spinning = 0, 0, 0.0, False
        self.said = [math.nan, math.nan, math.nan]

    def true(self, axis: int) -> float:
        """Return where the tool truly stands along an axis."""
        return self.said[axis] * self.scale * (self.up if axis == 2 else 1) + self.zeros[self.tool][axis]

    def run(self, line: int = 0) -> Iterator[tuple[str, str]]:
        """Return every stop from a line on: its words and the line shown."""
        words: list[str] = []
        motion = 0
        for number in range(line, len(self.lines)):
            row = self.lines[number]
            words += re.findall(r"\(([^)]*)\)", row)
            bare = re.sub(r"\([^)]*\)", "", row).strip().strip("%")
            if not bare:
                continue
            found = [(a, float(b)) for a, b in WORD.findall(bare)]
            codes, stops = {int(b) for a, b in found if a == "G"}, {int(b) for a, b in found if a == "M"}
            values = {a: b for a, b in found if a not in "GMN"}
            motion = next((c for c in codes if c in (0, 1, 81, 82, 83, 84)), 0 if 80 in codes else motion)
            self.scale = 25.4 if codes & {20, 70} else 1.0 if codes & {21, 71} else self.scale
            self._state(values, stops)
            if "A" in values:
                self.turn = self.turns * values["A"] % 360
            if {"X", "Y", "Z"} & set(values):
                self._move(motion, values, number + 1)
            if stops & {2, 30}:
                return
            if 0 in stops:
                if self.page is not None:
                    words = self.page.stops[row.split(maxsplit=1)[0]]
                yield join(words), words[-1].upper() if words else ""
            words = []

    def _state(self, values: dict[str, float], stops: set[int]) -> None:
        if "T" in values:
            self.tool = int(values["T"]) // (100 if values["T"] >= 100 else 1)
        if 3 in stops:
            self.spinning = True
        if stops & {0, 2, 5, 30}:
            self.spinning = False

    def _move(self, motion: int, values: dict[str, float], line: int) -> None:
        if self.page is not None:
            self.tool = self.post
        if self.post != self.tool:
            raise AlarmError(f"line {line}: tool {self.tool} is called, {self.post} is in the spindle")
        before = [self.true(k) for k in range(3)]
        for k, letter in enumerate("XYZ"):
            if letter in values:
                self.said[k] = values[letter]
        x, y, z = (self.true(k) for k in range(3))
        radius = self.radii[self.tool]
        if motion >= 81:
            self.holes[self.tool] = (x, y, z)
            self.said[2] = values["R"]
            return
        if motion == 1 and before[:2] == [x, y] and z < before[2]:  # a drill that is fed without a cycle
            self.holes[self.tool] = (x, y, min(z, self.holes.get(self.tool, (x, y, z))[2]))
            return
        low, high = sorted((before[0], x))
        over = not math.isnan(before[1]) and min(abs(before[1]), abs(y)) < radius + self.round_ / 2
        top = self.flats.get(self.turn, self.round_)
        if not over or math.isnan(low):
            return
        if low - radius <= self.station <= high + radius:
            self._flat(before, (x, y, z), top)
        if z > top - IN_METAL:
            return
        self._spoil(line, before, (x, y, z), top, motion)

    def _flat(self, start: Sequence[float], end: Sequence[float], top: float) -> None:
        """Take from the flat on top what a move over the station takes off there."""
        self.flats[self.turn] = min(top, _lowest(start, end, self.station, self.radii[self.tool]))
        self.stood[self.turn] = min(self.stood.get(self.turn, top), _lowest(start, end, self.station, 0.0))

    def _spoil(self, line: int, before: Sequence[float], end: Sequence[float], top: float, motion: int) -> None:
        """Note what a move in the work spoils."""
        z, low, radius = end[2], min(before[0], end[0]), self.radii[self.tool]
        if motion == 0 and min(before[2], z) < top - IN_METAL and before[:2] != list(end[:2]):
            self.spoilt.append(f"line {line}: a rapid {top - z:.3f} mm into the work")
        if not self.spinning:
            self.spoilt.append(f"line {line}: a cut with the spindle still")
        if self.shoulder and low - radius < -z * self.lean - IN_METAL / 2:
            self.spoilt.append(f"line {line}: the cutter {radius - low - z * self.lean:.3f} mm in the shoulder")


def _lowest(start: Sequence[float], end: Sequence[float], station: float, radius: float) -> float:
    """Return the lowest that a cutter's end comes on a straight way while it covers the station, mm."""
    (x0, _, z0), (x1, _, z1) = start, end
    if x0 == x1:
        return min(z0, z1)
    shares = [min(max((station + off - x0) / (x1 - x0), 0.0), 1.0) for off in (-radius, radius)]
    return min(z0 + share * (z1 - z0) for share in shares)


@dataclass
class Miller:
    """An operator at the mill.

    Attributes:
        late: whether tools are set only at their stops. forgets: a tool into whose zero he does not enter X and Y.
        read: sizes outside their limits. sets: what he has set since the program began, as he was told.
        missing: on each first flat, to the round, mm. written: what each pair read over, mm.
        counted: of these, those of which both flats were cut since Z was last set.
        whole: whether Z stands as it did when the first flat was cut of the pair that is being cut.
        anew: how far out he is when he sets a tool on the round where the program is begun again, mm, and half of that
            on a flat, by a slip; 0 where he does not.
    """

    mill: Mill
    residual: float = 0.0
    late: bool = False
    forgets: int = 0
    anew: float = 0.0
    read: list[str] = field(default_factory=list)
    sets: list[str] = field(default_factory=list)
    missing: dict[str, float] = field(default_factory=dict)
    written: list[float] = field(default_factory=list)
    counted: list[float] = field(default_factory=list)
    whole: bool = True
    again: bool = False

    def work(self, label: str = "") -> str:
        """Do the whole program, or from an N line; return "" or what made him end it."""
        try:
            line = self.begin_at(label) if label else 0
            for _ in range(9):
                self.again = False
                for words, shown in self.mill.run(line):
                    self.answer(words, shown)
                    if self.again:
                        break
                if not self.again:
                    return ""
                line = 0
        except (ToldError, AlarmError) as told:
            return str(told)
        raise AssertionError("begun anew nine times")

    def begin_at(self, label: str) -> int:
        """Set everything as the line below an N line says."""
        mill = self.mill
        line = next(k for k, row in enumerate(mill.lines) if re.match(rf"{label}\b", row))
        words = join([c for row in mill.lines[line : line + 6] for c in re.findall(r"\(([^)]*)\)", row)])
        if mill.page is not None:
            words = mill.page.begun_at(label)
        if tool := re.search(r"TOOL (\d) IN THE SPINDLE", words):
            mill.post = mill.tool = int(tool[1])
        if turn := re.search(r"STANDS AT (\S+) DEG", words):
            mill.turn = mill.turns * float(turn[1]) % 360
        if self.anew:
            self._set_z(self.anew - mill.zeros[mill.post][2])
            if touch := ANEW.search(words):
                less = self.missing[touch[2]] if "LESS" in (touch[3] or "") else 0.0
                less -= self.written[-1] / 2 if "HALF" in (touch[3] or "") else 0.0
                stands = mill.stood[self._turn_of(touch[2])] - (float(touch[1]) * mill.scale - less)
                self._set_z(stands + self.anew / 2 - self.anew)
        return line

    def answer(self, words: str, shown: str) -> None:
        """Do what a stop says."""
        mill = self.mill
        if turn := re.search(r"TURN THE WORK TO (\S+) DEG", shown):
            mill.turn = mill.turns * float(turn[1]) % 360
        elif tool := re.search(r"MOUNT TOOL (\d)", shown):
            self._mount(int(tool[1]), words)
        elif "SET X AND Y" in shown and self.late:
            self._enter(words)
        elif "PROVE A" in shown:
            if mill.turn > 180:
                raise ToldError("the rotary axis turned the other way")
        elif "PROVE Z BY A RULE" in shown:
            self._prove(words)
        elif "TRY THE GAP" in shown:
            self._gap(words)
        elif "CORRECT Z" in shown:
            way = self._way(words)
            assert "COUNT ONLY PAIRS OF WHICH BOTH FLATS WERE CUT SINCE Z WAS LAST SET" in words
            over = sum(self.counted) / max(len(self.counted), 1)
            if abs(over) > SEEN:
                self.sets.append(f"Z by the mean of the pairs, {over:+.3f}")
                self._set_z(-way * over / 2)
        for found in GIVEN.finditer(words):
            self._measure(found, words)

    def _set_z(self, by: float) -> None:
        """Set the Z zero of the tool in the spindle, which from here on cuts otherwise than before."""
        self.mill.zeros[self.mill.post][2] += by
        self.whole = False
        self.counted.clear()

    def _turn_of(self, flat: str) -> float:
        """Return how far the work is turned with a flat on top, degrees: he counts them round from the first."""
        return 360.0 / self.mill.sides * (int(flat) - 1) * self.mill.turns % 360

    def _way(self, words: str) -> int:
        """Return which way Z is set at a stop for what is over, +1 up; what it is told to read there must be so."""
        said = re.search(r"Z READS (\S+) HERE - SET IT (UP|DOWN) BY (HALF OF WHAT THE MEAN|WHAT IS MISSING)", words)
        assert said, "not told which way Z is set"
        mill = self.mill
        assert abs((mill.true(2) - mill.zeros[mill.tool][2]) / mill.scale - float(said[1])) < 0.001, "Z reads otherwise"
        return (1 if said[2] == "UP" else -1) * (1 if "HALF" in said[3] else -1)

    def _mount(self, number: int, words: str) -> None:
        """Put a tool in, and set of its zero what is said there."""
        mill, late = self.mill, self.late
        mill.post = number
        mill.tool = number if mill.page else mill.tool
        if late or "SET NOW" in words:
            mill.zeros[number][2] = self.residual
        if late and "X AND Y" in words and self.forgets != number:
            mill.zeros[number][:2] = [0.0, 0.0]

    def _prove(self, words: str) -> None:
        """Look at the display before anything moves, with rule and eye."""
        x, y, z = self.mill.zeros[self.mill.tool]
        if self.mill.up < 0:
            raise ToldError("the display shows Z with the other sign, before it moves")
        if abs(z) > RULE:
            raise ToldError("a rule shows Z on another face, before it moves")
        if "MUST SHOW X" in words and max(abs(x), abs(y)) > BY_EYE:
            raise ToldError("the display shows X or Y of another place, before it moves")

    def _enter(self, words: str) -> None:
        """Enter X and Y where a stop says: in the zeros that it names, or in the one that all share."""
        named = {int(system or 4 + int(offset) - 1) - 3 for system, offset in ENTERED.findall(words)}
        for tool, zero in self.mill.zeros.items():
            if tool != self.forgets and tool in (named or self.mill.zeros):
                zero[:2] = [0.0, 0.0]

    def _gap(self, words: str) -> None:
        said = re.search(r"STANDS (\S+) (MM|IN) ABOVE THE TOP OF THE ROUND", words)
        assert said is not None
        gap = float(said[1]) * (25.4 if said[2] == "IN" else 1.0)
        mill = self.mill
        if abs(mill.true(2) - mill.round_ - mill.lean * (mill.true(0) - mill.station) - gap) > SLIP - 1e-9:
            self.sets.append(f"Z of tool {mill.tool}, by the gap")
            mill.zeros[mill.tool][2] = self.residual
            self.again = True

    def _measure(self, found: re.Match[str], words: str) -> None:
        mill, scale = self.mill, self.mill.scale
        flats = [mill.flats.get(self._turn_of(n), mill.round_) for n in found.groups()[1:4] if n]
        over = sum(flats) + (mill.round_ if found[2] else 0.0) - float(found[5]) * scale
        if found[2]:
            self.whole, self.missing[found[2]] = True, 0.0
            if over < -SEEN:
                self.missing[found[2]] = -over
                self.sets.append(f"Z by what is missing at {found[1].lower()}, {over:+.3f}")
                self._set_z(-self._way(words) * over)
        elif found[6]:
            size = sum(flats) / scale
            if not float(found[6]) - 1e-4 <= size <= float(found[7]) + 1e-4:
                self.read.append(f"{found[1].lower()} {size:.3f}")
        else:
            self.written.append(over)
            self.counted += [over] if self.whole else []
            self.whole = True
