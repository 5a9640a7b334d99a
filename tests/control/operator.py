"""An operator who does exactly what a program's stops say, and sees what callipers and a rule let him."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from cam.setting.model import Setting, Turned
from tests.control.machine import AlarmError, Lathe, Stop, join
from tests.control.thread import Vee, over_wires
from tests.search.sweep import Array

CALLIPERS = 0.02
"""How finely callipers from the tip to the far side of a bar are read, mm; common practice, no source."""
RULE = 0.25
"""How finely a rule beside the end face is read, mm; common practice, no source."""
NOTHING = 0.002
"""A reading that differs by no more than this, mm, is as expected: nobody sees it."""
ANVIL, BLADE = 6.35, 0.75
"""How wide his micrometer's anvils and his blade anvils are, mm; common practice, no source."""
SHORT = 0.2
"""Nobody measures across a cylinder no longer than this, mm."""
FULLER = 0.05
"""How much further out than its fillet he feels for a face, mm, where what is left for the fillet's own cut stands; and
how far below its edge."""
LEVEL = 1e-3
"""The slope of a surface that a slip is laid on as on a cylinder; a step of one is far steeper."""
SQUARE = 0.006
"""How far a face may lean between two places on it, mm, that he takes for square."""
ITEM = re.compile(
    r"(DIAMETER OF|Z ZERO TO SHOULDER PAST|\S.*? OF(?= .* OVER THREE WIRES)) (.+?) - (\S+) EXPECTED NOW"
    r"(?:, (\S+) TO (\S+) ALLOWED)?"
)
WIRES = re.compile(r"(.+) OVER THREE WIRES OF (\S+) MM")
LIMITS = re.compile(r"THE LAST CUT AIMS AT (\S+), (\S+) TO (\S+) ALLOWED")
SET = re.compile(r"([XZ]) READS (\S+) HERE, SET IT (UP|DOWN) BY (HALF OF )?WHAT IT IS (OVER|UNDER)")

FAR_SIDE = re.compile(r"FROM THE TIP TO THE FAR SIDE OF (.+), (\S+) THERE, IS (\S+) BY CALLIPERS")
TOUCH = re.compile(
    r"BRING IT BY HAND TO THE (?:SHOULDER PAST (.+)|END FACE(?:, SIDE ON AND ITS TIP AT X 0)?), THE SPINDLE.* Z MUST "
    r"SHOW (\S+), OR (\S+) OFF AT MOST"
)
LATE = re.compile(
    r"(?:IF ITS ZERO WAS NOT SET BEFORE THE START -|SET X AND Z FOR THIS ONE,) X (\S+) ON (.+), DIAMETER ([\d.]+)"
    r"(?:, Z (\S+) ON THE (?:SHOULDER PAST (.+?)|END FACE(?:, SIDE ON AND ITS TIP AT X 0)?))?\."
)
TAPER = "IS A TAPER - MEASURED AT (?:ITS THIN END, )?Z"
MOVED = re.compile(r"OVER (\S+) OUT, X HAS MOVED")
READS = re.compile(r"LOOK AT THE DISPLAY ONCE MORE - X READS (\S+), OR WHAT YOU SET IT TO")
BARE = re.compile(r"HARDLY CUT WHERE (\S+) OR (MORE|LESS) IS READ - .* BEGIN AGAIN AT (N\d+)")

LEFT = re.compile(r"METAL LEFT WHERE (MORE|LESS) THAN (\S+) IS READ - (.*), END THE PROGRAM, AND BEGIN AGAIN AT (N\d+)")


TRIED = re.compile(
    r"^(THE SHOULDER PAST )?(.+?) IS (\S+?)(?:, (PLUS|LESS) (?:(HALF|\S+) OF )?WHAT IT READ OVER (\S+), AS .*)?$"
)
TELLS = re.compile(r"OFF BY (\S+) OR MORE, X OR Z HAS MOVED\. X READS (\S+) HERE AND Z (\S+)\. .*BEGIN AGAIN AT (N\d+)")
TIMES = re.compile(r"DOWN BY WHAT IS TIGHT, X BY (?:(TWICE) |(\S+) TIMES )?THAT(?: LESS (\S+) OF WHAT Z IS WIDE)?\.")
SLOPES = re.compile(
    r"X - (?:TO|FROM) WHAT .+? IS OVER (ADD|TAKE) (\S+) OF WHAT THE SHOULDER IS OVER, THEN CORRECT BY THAT"
)
FEEL = 0.005
"""How finely the gap that a slip just passes is felt, mm: leaves go by hundredths, and one drags or hangs loose. Common
practice, no source."""


class ToldError(Exception):
    """He was told something that made him end the program."""


@dataclass
class Operator:
    """An operator at the lathe.

    Attributes:
        lathe: that he works at. paused: whether its control takes a number while it stands; otherwise he ends the
            program and begins again at the N line that the stop says. residual: his error when he touches off, mm.
        failed: whether the current failed and the program was begun again.
        meant: what he meant to set X to at this stop; None where he set nothing.
        late: numbers of tools whose zeros are set only where the program stops for them.
        bump: what happens to the lathe behind his back at each stop, by its number from 0, before he lays callipers on.
        sees: a reading that differs by no more, mm, is as expected to him.
        read: what he measured: its name, the size, and whether the stop called that outside limits.
    """

    lathe: Lathe
    paused: bool = True
    residual: float = 0.0
    sees: float = NOTHING
    late: frozenset[int] = frozenset()
    bump: Callable[[int, Lathe], None] = lambda _, __: None
    read: list[tuple[str, float, bool]] = field(default_factory=list)
    set_by: list[str] = field(default_factory=list)
    again: str = ""
    words: str = ""
    failed: bool = False
    meant: float | None = None

    def work(self, label: str = "") -> str:
        """Do the whole program, or from an N line on; return "" or what made him end it."""
        at, count = 0, 0
        if label:
            self.failed, at = True, self.begin_at(label)
        else:
            self.make_ready()
        try:
            for _ in range(100):
                again = ""
                for stop in self.lathe.run(at):
                    again = self.answer(stop)
                    self.bump(count, self.lathe)
                    again = self.look(stop) or again
                    count += 1
                    if again:
                        break
                if not again:
                    return ""
                at = self.begin_at(again)
        except (ToldError, AlarmError) as told:
            return str(told)
        raise AssertionError("begun again a hundred times")

    def make_ready(self) -> None:
        """Take the tool by hand to where the head says before the first start, X coming in to it."""
        self.take_off()
        said = re.search(r"BEFORE THE VERY FIRST START - .*? ABOUT X (\S+) Z", self.all_words)
        assert said is not None, "not told where the tool stands before the first start"
        factor = self._said_scale / (2 if "X WORDS ARE DIAMETER" in self.all_words else 1)
        self.lathe.stand(self.lathe.z, float(said[1]) * factor)
        self.lathe.slides[0].behind = 0.0

    def take_off(self) -> None:
        """Take the tool by hand to where it stands at every stop: X out, then Z."""
        proof = re.search(r"DIAMETER (\S+) LEAVES", self.all_words)
        beside = re.search(r"THE TIP STANDS (\S+) (MM|IN) (OUTSIDE|INSIDE)", self.all_words)
        scale = self._said_scale
        if self.lathe.page:
            assert "THE CONTROL MUST BE SET TO" in self.all_words, "not told what units the control must stand in"
            self.lathe.scale = scale
        assert proof is not None
        off = float(beside[1]) * scale * (1 if beside[3] == "OUTSIDE" else -1) if beside else 0.5
        self.lathe.stand(self.lathe.setting.stock_end_z + off, float(proof[1]) * scale / 2)
        if not self.lathe.post:
            first = re.search(r"\bT0?(\d)(?:\d\d)?\b", re.sub(r"\([^)]*\)", "", "\n".join(self.lathe.lines)))
            first = first or re.search(r"MOUNT TOOL (\d)", self.all_words)
            assert first is not None
            self.lathe.post = int(first[1])

    @property
    def _said_scale(self) -> float:
        """Return how many mm the program's unit is, by its head; the control learns it from the words."""
        return 25.4 if "UNITS - INCHES" in self.all_words else 1.0

    @property
    def all_words(self) -> str:
        """Return every comment of the program, or its page where none is shown."""
        if self.lathe.page:
            return "\n".join([*self.lathe.page.head, *(row for told in self.lathe.page.stops.values() for row in told)])
        return join(re.findall(r"\(([^)]*)\)", "\n".join(self.lathe.lines)))

    def begin_at(self, label: str) -> int:
        """End the program, make all ready as its head says, and return the line to begin at."""
        self.lathe.forget()
        self.take_off()
        line = self.lathe.line_of(label)
        rows, at = [], line
        while at and "----" not in (rows[-1] if rows else ""):
            at -= 1
            rows.append(self.lathe.lines[at])
        told = self.lathe.page.begun_at(label) if self.lathe.page else ""
        if belt := re.search(r"ON ([A-Z]\d+)\)", " ".join(rows).upper()) or re.search(r"BELT ON (\w+)", told):
            self.lathe.belt = belt[1]
        if tool := re.search(r"TOOL (\d) IN THE POST", told):
            self.lathe.post = self.lathe.tool = int(tool[1])
        ahead = " ".join(re.sub(r"\([^)]*\)", "", row) for row in self.lathe.lines[line : line + 6])
        if tool := re.search(r"\bT0?(\d)(?:\d\d)?\b", ahead):
            self.lathe.post = int(tool[1])
        return line

    def answer(self, stop: Stop) -> str:
        """Do what a stop says; return the N line to begin again at, or "" to go on."""
        self.meant = None
        shown = stop.shown.upper().removeprefix("- ").removeprefix("MSG, ")
        if "PROVE X" in shown:
            return self._prove_x(stop)
        if "PROVE Z" in shown:
            return self._prove_z(stop)
        if any(words in shown for words in ("ARC NEXT", "SWUNG", "THREAD IN AIR NEXT", "WENT IN STEP")):
            self._watch(stop, shown)
            return ""
        if "START THE SPINDLE" in shown:
            self.lathe.spinning = True
        if belt := re.search(r"SET THE BELT TO (\w+)", shown):
            self.lathe.belt = belt[1]
            return ""
        if tool := re.search(r"MOUNT TOOL (\d)", shown):
            was, self.lathe.post = self.lathe.tool, int(tool[1])
            self.lathe.tool = self.lathe.post if self.lathe.page else was
            shared = "ALL TOOLS SHARE ONE ZERO" in stop.words and was not in (0, self.lathe.post)
            if shared or self.lathe.post in self.late:
                self._set_late(stop)
                self.late -= {self.lathe.post}  # begun again, it was set before that start
            return ""
        if "STOP TO MEASURE" in stop.words:
            return self._measure(stop)
        return ""

    # The proofs in air

    def _watch(self, stop: Stop, shown: str) -> None:
        """Look whether an arc swung to the headstock, and a thread's pass in air took as long as was said."""
        if "SWUNG" in shown and self.lathe.swung > -1.0:
            raise ToldError("the arc swung the other way")
        if "WENT IN STEP" in shown:
            said = re.search(r"IN SOME (\S+) S,", stop.words)
            assert said is not None, "not told how long a pass in air takes"
            if not 0.5 < self.lathe.took / float(said[1]) < 2.0:
                raise ToldError("the thread in air took another time: its lead is taken otherwise")

    def _prove_x(self, stop: Stop) -> str:
        if shows := re.search(r"DISPLAY SHOWS Z NEAR (\S+) NOW", stop.words):
            z = self.lathe.reading("Z")
            if abs(z - float(shows[1])) > abs(z + float(shows[1])):
                raise ToldError("the display shows Z with the other sign, before Z moves")
        said = re.search(r"TO THE FAR SIDE OF THE BAR IS (\S+?)\.?(?:\n|$)", stop.words)
        bar = re.search(r"BAR OF (\S+?)\. ", stop.words)
        other = re.search(r"IF IT IS (\S+) INSTEAD, (.*?) - STOP HERE", stop.words)
        assert said, "not told what callipers must read"
        assert bar, "not told what bar is meant"
        assert other, "not told what a wrong sense of X would read"
        scale = self.lathe.scale
        seen = self.lathe.tip / scale + float(bar[1]) / 2
        if abs(seen - float(said[1])) * scale <= CALLIPERS:
            return ""
        if abs(seen - float(other[1])) * scale <= 10 * CALLIPERS:
            raise ToldError(other[2].lower())
        true = self.lathe.x / scale * (2 if self.lathe.senses.diameters else 1)
        self.lathe.set_to("X", true - self.residual / scale)
        self.set_by.append("X touched off again")
        return ""

    def _prove_z(self, stop: Stop) -> str:
        said = re.search(r"THE TIP STANDS (\S+) (?:MM|IN) (OUTSIDE|INSIDE) THE END", stop.words)
        assert said is not None
        seen = (self.lathe.z - self.lathe.setting.stock_end_z) * (1 if said[2] == "OUTSIDE" else -1)
        if abs(seen - float(said[1]) * self.lathe.scale) > RULE:
            raise ToldError("Z is zero on another face, or counts the other way")
        return ""

    def look(self, stop: Stop) -> str:
        """Lay callipers on before going on, where a stop says so; return the N line to begin at, or "" to go on."""
        self._touch_z(stop)
        self._read_again(stop)
        if "TRY A SLIP" in stop.words:
            return self._try(stop)
        found, most = FAR_SIDE.search(stop.words), MOVED.search(self.all_words)
        if not found:
            return ""
        assert most, "not told how far out X may be"
        lathe, scale = self.lathe, self.lathe.scale
        into = min(1.0, (lathe.setting.turned[0].near - lathe.setting.turned[0].far) / 2)
        work = self._radii(min(lathe.setting.turned[0].near, lathe.setting.stock_end_z) - into)
        most_off = 0.003 / scale + 0.5 * 10.0 ** -len(found[3].partition(".")[2])  # callipers show no more digits
        seen, play = lathe.tip + work, lathe.slides[0].size
        wanted = lathe.reading("X") * scale / (2 if lathe.senses.diameters else 1) - play + work
        assert abs(float(found[3]) - float(found[2]) / 2 - self.parked + play / scale) < most_off, "stands elsewhere"
        if abs(seen - wanted) <= float(most[1]) * scale:
            return ""
        self.lathe.set_to("X", lathe.x / scale * (2 if lathe.senses.diameters else 1) - self.residual / scale)
        self.set_by.append("X touched off again")
        return "" if self.paused else self._not_cut_yet(stop)

    def _read_again(self, stop: Stop) -> None:
        """Look at the display once more where a stop says so, and key X again where it shows another number."""
        found = READS.search(stop.words)
        if not found:
            return
        wanted = float(found[1]) if self.meant is None else self.meant
        if abs(self.lathe.reading("X") - wanted) * self.lathe.scale > NOTHING:
            self.lathe.set_to("X", wanted)
            self.set_by.append(f"X {wanted} keyed again")

    def _try(self, stop: Stop) -> str:
        """Feel the gaps that a stop names, and correct what is a hundredth or more out."""
        lathe, changed = self.lathe, False
        tells = TELLS.search(stop.words)
        assert tells is not None, "not told what is otherwise"
        for axis, shown in (("X", tells[2]), ("Z", tells[3])):  # as he looks at the display last
            if abs(lathe.reading(axis) - float(shown)) * lathe.scale > NOTHING:
                lathe.set_to(axis, float(shown))
                self.set_by.append(f"{axis} {shown} keyed again")
                changed = True
        rows = [row for row in stop.words.split("\n") if TRIED.match(row)]
        assert rows, "not told what to try"
        offs = {}
        for found in filter(None, map(TRIED.match, rows)):
            off = round((self._gap(found) - self._wanted(found)) / FEEL) * FEEL
            offs["Z" if found[1] else "X"] = off
        for axis, off in offs.items():
            if abs(off) < float(tells[1]) * lathe.scale - FEEL / 2 or self._made(stop, axis, off):
                continue
            by, times = off, TIMES.search(stop.words)
            if axis == "X" and times:
                by *= 2.0 if times[1] else float(times[2] or 1.0)
                by -= float(times[3] or 0.0) * offs.get("Z", 0.0)
            lathe.set_to(axis, lathe.reading(axis) + by / lathe.scale)
            self.set_by.append(f"{axis} {by / lathe.scale:+.3f} by a slip")
            changed = True
        return tells[4] if changed and not self.paused else ""

    def _made(self, stop: Stop, axis: str, off: float) -> bool:
        """Tell whether a gap is as wide as the stop says it is where this cut was made before the current failed."""
        said = re.search(rf"BEGUN AGAIN HERE AFTER THIS CUT WAS MADE,.*?{axis} IS (\S+) WIDE", stop.words)
        assert said is not None, "not told what it is where the cut was made"
        return self.failed and abs(off - float(said[1]) * self.lathe.scale) <= FEEL

    def _wanted(self, found: re.Match[str]) -> float:
        """Return the gap that a row of a stop asks for after what was read, mm."""
        shoulder, name, slip, sense, share, expected = found.groups()
        scale = self.lathe.scale
        if not sense:
            return float(slip) * scale
        what = f"Z ZERO TO SHOULDER PAST {name}" if shoulder else f"DIAMETER OF {name}"
        read = next((size for said, size, _ in reversed(self.read) if said.split(" AND ")[0] == what), None)
        over = read - float(expected) * scale if read is not None else 0.0
        part = 1.0 if not share else 0.5 if share == "HALF" else float(share)
        return float(slip) * scale + over * part * (1 if sense == "PLUS" else -1)

    def _gap(self, found: re.Match[str]) -> float:
        """Return the gap between the tip and what a row names, mm."""
        lathe, (shoulder, name, slip) = self.lathe, found.groups()[:3]
        nose = float(next(t.nose_radius for t in lathe.shop.tools if t.number == lathe.tool))
        if not shoulder:
            sides = [self._radii(lathe.z + nose + k) for k in (-0.02, 0.0, 0.02)]
            slope = min((sides[0] - sides[1], sides[1] - sides[2]), key=abs) / 0.02  # an end close by is no taper
            if abs(slope) > LEVEL:  # square to the surface, which a taper's is not to the axis
                return (lathe.x + nose - self._radii(lathe.z + nose)) / math.hypot(1.0, slope) - nose
            zs = np.linspace(lathe.z + 0.3 * nose, lathe.z + 1.7 * nose, 41)  # it lies under the nose, not beside it
            off = np.hypot(zs - lathe.z - nose, lathe.metal.exactly(zs, lathe.tools) - lathe.x - nose)
            return float(off.min()) - nose
        at = lathe.z - float(slip) * lathe.scale
        # one that was pushed out stands higher, and of one that was pushed in the edge above the nose does as well
        levels = (lathe.x + nose + up for up in (0.0, -0.05, -0.1, -0.15, 0.05, 0.1, 0.15))
        face = next((z for z in (self._face(at, level) for level in levels) if z is not None), None)
        assert face is not None, f"no slip can be laid on the shoulder past {name}"
        return lathe.z - face

    def _set_late(self, stop: Stop) -> None:
        """Set the zero of the tool just mounted on what the stop says; where it names no shoulder, as the head says."""
        lathe, scale = self.lathe, self.lathe.scale
        zero = lathe.zeros[lathe.post]
        found = LATE.search(stop.words)
        if found is None:
            zero[:] = [self.residual, self.residual]
            return
        t = self._named(found[2])
        shown = float(found[1]) * scale / (2 if lathe.senses.diameters else 1)
        plain = self._diameter(t) if t.radius_near == t.radius_far else None  # not in its undercut
        stands = self._radii((t.near + t.far) / 2) if plain is None else plain / 2
        zero[:] = [self.residual, stands - shown + self.residual]
        if found[4]:
            zero[0] = self._touched(found[5]) - float(found[4]) * scale * lathe.senses.z + self.residual

    def _touched(self, name: str | None) -> float:
        """Return where a tool's point truly stands as it touches a shoulder, or the end face: a vee by its side, mm."""
        if name is not None:
            t = self._named(name)
            face = self._face(t.far, self._level(t))
            assert face is not None, f"no shoulder stands past {name}"
            return face
        vee, setting = self.lathe.tools[self.lathe.post], self.lathe.setting
        levels = np.arange(0.1, setting.turned[0].radius_near, 0.01)
        faces = zip(levels, self._faces(setting.end_z, levels), strict=True)
        side = vee.side if isinstance(vee, Vee) else lambda _: 0.0
        return max(face + side(level) for level, face in faces if face is not None)

    def _touch_z(self, stop: Stop) -> None:
        """Bring another tool to a shoulder, where its stop says so, and set Z where that shows a difference."""
        found = TOUCH.search(stop.words)
        if not found:
            return
        scale = self.lathe.scale
        face = self._touched(found[1])
        shown = (face - self.lathe.zeros[self.lathe.tool][0]) / scale * self.lathe.senses.z
        if abs(shown - float(found[2])) > float(found[3]):
            self.lathe.zeros[self.lathe.tool][0] = face - float(found[2]) * scale * self.lathe.senses.z + self.residual
            self.set_by.append("Z touched off again")

    @property
    def parked(self) -> float:
        """The radius at which the tool stands at every stop, as the head says it, in the program's unit."""
        said = re.search(r"X OUTWARD UNTIL IT READS (\S+), THEN Z", self.all_words)
        assert said is not None
        return float(said[1]) / (2 if "X WORDS ARE DIAMETER" in self.all_words else 1)

    def _not_cut_yet(self, stop: Stop) -> str:
        """Return the N line of the pass that follows a stop to measure, or that holds any other stop."""
        rows = self.lathe.lines
        begins = [k for k, row in enumerate(rows) if row.upper().startswith("(---- PASS")]
        if "STOP TO MEASURE" in stop.words:
            at = next((k for k in begins if k >= stop.line), None)
            assert at is not None, "no pass is left"
        else:
            at = max([k for k in begins if k < stop.line] or begins[:1])
        return next(row.split()[0] for row in rows[at:] if row.startswith("N"))

    # Measuring

    def _measure(self, stop: Stop) -> str:
        """Measure each size that a stop names, and set the numbers that it says to set."""
        rows = stop.words.split("\n")
        changed, bare = False, ""
        self.again, self.words = "", stop.words
        for k, row in enumerate(rows):
            if found := ITEM.search(row):
                before = len(self.read)
                changed = self._one(found, rows[k + 1 : k + 3]) or changed
                if len(self.read) > before:
                    bare = bare or self._bare(rows[k + 1 : k + 4])
        if bare or self.again:
            return bare or self.again
        again = re.search(r"IF THIS CONTROL TAKES NO OFFSET.*BEGIN AGAIN AT (N\d+)", stop.words)
        if changed and not self.paused:
            assert again is not None, "told of no line to begin again at"
            return again[1]
        return ""

    def _one(self, found: re.Match[str], after: list[str]) -> bool:
        """Measure one size, compare it with its limits, and set what is said; return True where a number was set."""
        what, name, expected, low, high = found.groups()
        scale = self.lathe.scale
        diameter = what != "Z ZERO TO SHOULDER PAST"
        limits = LIMITS.search(after[0]) if after else None
        if limits:
            _, low, high = limits.groups()
        size = self.size_of(what, name.split(" AND ")[0 if diameter else -1])
        if size is None:
            return False
        over = size / scale - float(expected)
        unseen = 1e-9 + (self.sees - NOTHING) / scale
        out = low is not None and not float(low) - unseen <= round(size / scale, 4) <= float(high) + unseen
        if limits:
            way = SET.search(after[1])
            assert way is not None, f"no number to set: {after[1]}"
            assert abs(self.lathe.reading(way[1]) - float(way[2])) < 0.0006, "the control shows another figure"
            gone = size / scale < float(low) - unseen if diameter else self._past(way[3], size / scale, low, high)
            self.read.append((f"{what} {name}", size, gone))
            if gone:
                raise ToldError(f"{name.lower()}: {size:.3f}, past its limits before the last cut")
            return self._set(way, over + self._of_shoulder() if diameter else over)
        left = LEFT.search(after[0]) if after else None
        assert left is not None, "not told what to do where metal is left"
        beyond = size / scale > float(left[2]) if left[1] == "MORE" else size / scale < float(left[2])
        if out and beyond:
            way = SET.search(left[3])
            assert way is not None
            self.again = left[4]
            return self._set(way, over)
        self.read.append((f"{what} {name}", size, out))
        return False

    def _bare(self, after: list[str]) -> str:
        """Return where to begin again because the cut took hardly anything; "" where it did."""
        for row in after:
            if found := BARE.search(row):
                size, limit = self.read[-1][1] / self.lathe.scale, float(found[1])
                if size >= limit if found[2] == "MORE" else size <= limit:
                    return found[3]
        return ""

    def _of_shoulder(self) -> float:
        """Return what a stop at a steep taper adds to what its diameter is over, in the program's unit."""
        found = SLOPES.search(self.words)
        shoulder = next((i for i in ITEM.finditer(self.words) if i[1] != "DIAMETER OF"), None)
        if found is None or shoulder is None:
            return 0.0
        size = self.size_of(shoulder[1], shoulder[2].split(" AND ")[-1])
        over = size / self.lathe.scale - float(shoulder[3]) if size is not None else 0.0
        return over * float(found[2]) * (1 if found[1] == "ADD" else -1)

    def _past(self, way: str, size: float, low: str, high: str) -> bool:
        return size > float(high) + 1e-9 if way == "DOWN" else size < float(low) - 1e-9

    def _set(self, way: re.Match[str], over: float) -> bool:
        if abs(over) * self.lathe.scale <= self.sees:
            return False
        here = float(way[2])
        by = over * (0.5 if way[4] else 1.0) * (1 if way[3] == "UP" else -1) * (1 if way[5] == "OVER" else -1)
        self.lathe.set_to(way[1], here + by)
        self.set_by.append(f"{way[1]} {by:+.3f}")
        self.meant = here + by if way[1] == "X" else self.meant
        return True

    def size_of(self, what: str, name: str) -> float | None:
        """Return a size of the work as it truly is, mm; None where nobody could measure it so."""
        if wires := WIRES.fullmatch(name):
            t = self._named(wires[1])
            grooves = [g for g in self.lathe.metal.grooves if g.end <= t.near]
            return over_wires(grooves, t.radius_near, float(wires[2])) if grooves else None
        t = self._named(name)
        if what == "DIAMETER OF":
            return self._diameter(t)
        return self._shoulder(t)

    def _diameter(self, t: Turned) -> float | None:
        """Return the diameter midway between corner and edge, of a taper where a stop says; None where nothing is.

        Where a round of the nose stands there, he goes on to where none does.
        """
        corner = max(t.corner.radius if t.corner.kind == "fillet" else 0.0, t.corner.width) if t.corner else 0.0
        low, high = t.far + corner, t.near - t.extra_length - (t.edge.size if t.edge is not None else 0.0)
        if high - low < SHORT:
            return None
        if t.radius_near == t.radius_far:
            along = np.arange((low + high) / 2, t.near, FULLER / 2)  # extra length too, where it is turned as well
            radii = self.lathe.metal.exactly(along, self.lathe.tools)
            level = radii[:-1][np.abs(np.diff(radii)) < NOTHING / 2]  # the crest of a tooth is level too
            return 2 * float(level.min() if level.size else radii[0])
        slope = (t.radius_near - t.radius_far) / (t.near - t.far)
        name = re.escape(t.section.name.upper())
        said = re.search(rf"\b{name} {TAPER} (-?[\d.]+)\.\n", self.all_words)
        assert said, "not told at which end of a taper"
        thin = float(said[1]) * self.lathe.scale + (self._end() if self.lathe.setting.face_end else 0.0)
        near = t.near - t.extra_length  # its edge may be cut, or stand yet
        begin, end = (min(thin, near), low) if slope < 0 else (max(thin, low), near)
        along = np.arange(begin, end, math.copysign(FULLER / 2, slope))
        radii = self.lathe.metal.exactly(along, self.lathe.tools)
        on = np.abs(np.diff(radii) - slope * np.diff(along)) < NOTHING / 2  # not on an edge or a round of the nose
        k = int(np.argmax(on))
        here = float(radii[k] - slope * (along[k] - thin))
        blades = re.search(rf"\b{name} TAKES BLADE ANVILS", self.all_words)
        return 2 * max(here, self._beside(thin, BLADE if blades else ANVIL))

    def _beside(self, z: float, wide: float) -> float:
        """Return the greatest radius that anvils so wide find which have one edge on a place of a taper, mm."""
        return float(self.lathe.metal.exactly(np.arange(z + FULLER, z + wide, FULLER), self.lathe.tools).max())

    def _end(self) -> float:
        """How far a free end is truly faced from where it should be, mm."""
        setting = self.lathe.setting
        zero = self._end_face()
        return (zero if zero is not None else setting.end_z) - setting.end_z

    def _named(self, name: str) -> Turned:
        t = next((t for t in self.lathe.setting.turned if plain(t.section.name) == plain(name)), None)
        assert t is not None, f"no section is called {name}"
        return t

    def _shoulder(self, t: Turned) -> float | None:
        """Return the distance from Z zero to a shoulder; None where the shoulder is too low."""
        nose, round_ = self._corner(t)
        setting = self.lathe.setting
        if t.far_radius - t.radius_far - round_ < nose + 0.01:
            return None
        face = self._face(t.far, self._level(t))
        zero = self._end_face() if setting.face_end else 0.0
        return None if face is None or zero is None else abs(face - zero)

    def _end_face(self) -> float | None:
        """Return where the free end's face stands, within its edge; None where there is none."""
        first = self.lathe.setting.turned[0]
        return self._face(self.lathe.setting.end_z, (first.radius_near - (first.edge.size if first.edge else 0.0)) / 2)

    def _corner(self, t: Turned) -> tuple[float, float]:
        """Return the greatest nose, and how far up a shoulder its corner goes, mm."""
        nose = max(float(tool.nose_radius) for tool in self.lathe.shop.tools if tool.kind == "turning")
        return nose, t.corner.radius + FULLER if t.corner is not None and t.corner.kind == "fillet" else nose

    def _level(self, t: Turned) -> float:
        """Return a radius on a shoulder's square face: near its rim, or below its edge where that is cut already.

        Further in what is left for a fillet's own cut may stand as a tooth.
        """
        low, edge, rim = t.radius_far + self._corner(t)[1], t.far_edge, self._radii(t.far - 0.4)
        edge = edge or next((n.edge for n in self.lathe.setting.turned if abs(n.near - t.far) < FULLER), None)
        broken = edge is not None and self._radii(t.far - 0.03) < rim - 0.02
        ring = t.far_radius - t.radius_far - (edge.size if edge is not None else 0.0)
        first = min(FULLER, ring / 4)  # of a low one a quarter of its height below the rim
        for level in (rim - first * k for k in (0.5, 1, 2, 3, 4, 6, 8) if not broken):
            faces = [self._face(t.far, at) for at in (level, level + first / 2)]
            if None not in faces and abs(faces[0] - faces[1]) < SQUARE and level > t.radius_far:  # type: ignore[operator]
                return level
        top = t.far_radius - (edge.size if edge is not None else 0.0)
        return max(top - (3 if edge is not None else 1) * FULLER, (low + top) / 2)

    def _face(self, z: float, radius: float) -> float | None:
        return next(self._faces(z, [radius]))

    def _faces(self, z: float, radii: Iterable[float]) -> Iterator[float | None]:
        """Find where, near z, the work rises through each radius on the way to the headstock, mm, first roughly."""

        @cache
        def felt(low: float, high: float, step: float) -> tuple[Array, Array]:
            zs = np.arange(low, high, step)
            return zs, self.lathe.metal.exactly(zs, self.lathe.tools)

        for radius in radii:
            rough = _rise(*felt(z - 0.4, z + 0.4, 0.02), radius)
            yield None if rough is None else _rise(*felt(rough - 0.0005, rough + 0.021, 0.0005), radius)

    def _radii(self, z: float) -> float:
        return float(self.lathe.metal.exactly(np.array([z]), self.lathe.tools)[0])


def _rise(zs: Array, radii: Array, radius: float) -> float | None:
    above = radii >= radius
    rises = np.nonzero(above[:-1] & ~above[1:])[0]
    return float(zs[rises[-1]]) if len(rises) else None


def plain(name: str) -> str:
    """Return a name in the one form that two texts may have."""
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def out_of(setting: Setting, sizes: dict[str, float], limits: dict[str, tuple[float, float]]) -> list[str]:
    """Return the sizes that lie outside their limits."""
    return [
        f"{name}: {size:.3f}, {limits[name][0]:.3f} to {limits[name][1]:.3f} allowed"
        for name, size in sizes.items()
        if not limits[name][0] - 0.002 <= size <= limits[name][1] + 0.002
    ]
