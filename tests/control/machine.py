"""A control with senses, offsets, belt and stops of its own, and the metal on its lathe.

It shares nothing with the program's writer or with the reader that judges: it takes blocks as the two standards have
them, each word as this control means it, and refuses what it was not told.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from cam.geometry.path import Arc, Chain, Line
from cam.setting.model import Setting
from cam.shop.model import Shop
from cam.shop.model import Tool as ShopTool
from tests.control.silent import StopsPage
from tests.control.thread import Groove, Vee
from tests.search.reader import Motion
from tests.search.sweep import Array, Piece, Slide, Tool, _carried, left_by, lowest_at

GRID = 0.05
BESIDE = 0.25
"""How far from a face, mm, only the face's own place is looked at."""
GENERAL = ((6.0, 0.025), (30.0, 0.05), (np.inf, 0.075))
"""Diameter up to, and how much less a radius may be where no limits are drawn, mm: ISO 2768-1, table 1, class f."""
BLANK = 0.05
"""The same for what the mill takes away, mm on the radius: nobody measures it, and the mill touches its round."""
ALLOWED = 0.004
"""How much metal a rapid may graze, or a cut lie below what is wanted, mm: rounding of the text, chords for arcs."""
DEEP = "below what is wanted"
WORD = re.compile(r"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))")


class AlarmError(Exception):
    """The control does not go on: it was not told what a word depends on, or does not know the word."""


@dataclass(frozen=True)
class Senses:
    """How a control takes words: X as diameters or radii; Z plus toward the tailstock, 1, or the headstock, -1; arcs
    as the standards have them, 1, or the other way, -1; leads of threads so many times as long as they are meant."""

    diameters: bool
    z: int = 1
    arcs: int = 1
    leads: float = 1.0


@dataclass(frozen=True)
class Stop:
    """Where a control stands still: all comments since the last block, what its display shows, and the line."""

    words: str
    shown: str
    line: int


@dataclass
class Metal:
    """The work: radii on a grid of z, every way that a tool went, and the most that any lies too low, mm."""

    zs: Array
    radii: Array
    least: Array
    stock: Chain
    crests: Array
    pieces: list[Piece] = field(default_factory=list)
    grooves: list[Groove] = field(default_factory=list)
    deepest: float = field(init=False)

    def __post_init__(self) -> None:
        self.deepest = float((self.least - self.radii).max())

    @cached_property
    def top(self) -> float:
        """The greatest radius that it ever had, mm."""
        return float(self.radii.max())

    @classmethod
    def of(cls, setting: Setting, least: Chain, faced: float = 0.0) -> Metal:
        """Return the work as it is put in.

        Args:
            least: the outline that no cut may go below. faced: how far the free end is truly faced from where Z is
                zero, mm: all lengths of a part that stands free count from there.
        """
        zs = np.arange(setting.head_z + GRID / 2, setting.stock_end_z, GRID)
        spared = _spared(setting, heights(least, zs - faced), zs)
        crests = np.any([(zs <= t.near) & (zs >= t.far) for t in setting.threads] or [zs > np.inf], axis=0)
        return cls(zs, heights(setting.stock, zs), spared, setting.stock, crests)

    def copy(self) -> Metal:
        """Return the work as it stands, to be cut by itself."""
        other = replace(self, radii=self.radii.copy(), pieces=list(self.pieces), grooves=list(self.grooves))
        other.deepest = self.deepest
        return other

    def thread(self, pieces: Sequence[Piece], groove: Groove) -> None:
        """Cut a groove: between crests it leaves them; beyond them it takes off all that it passes."""
        kept, count = self.radii.copy(), len(self.pieces)
        for piece in pieces:
            self.cut(piece, groove.tool)
        del self.pieces[count:]
        self.radii = np.where(self.crests, kept, self.radii)
        self.grooves.append(groove)

    def cut(self, piece: Piece, tool: Tool | Vee) -> float:
        """Move a tool along a piece; return the most that it takes off anywhere on the grid, mm."""
        if min(piece.xa, piece.xb) > self.top:
            return 0.0
        self.pieces.append(piece)
        low, high = sorted((piece.za, piece.zb))
        a, b = np.searchsorted(self.zs, (low, high + tool.reach))
        if a == b:
            return 0.0
        left = np.minimum(self.radii[a:b], np.maximum(lowest_at(piece, tool, self.zs[a:b]), 0.0))  # type: ignore[arg-type]
        took = float((self.radii[a:b] - left).max())
        self.radii[a:b] = left
        self.deepest = max(self.deepest, float((self.least[a:b] - left).max()))
        return took

    def exactly(self, zs: Array, tools: dict[int, Tool | Vee]) -> Array:
        """Return the radii at any z, not on the grid."""
        near = [p for p in self.pieces if min(p.za, p.zb) <= zs.max() and max(p.za, p.zb) + 12 >= zs.min()]
        return np.minimum(heights(self.stock, zs), left_by(near, tools, zs))  # type: ignore[arg-type]


def _spared(setting: Setting, least: Array, zs: Array) -> Array:
    """Return what is wanted, except beside faces, on edges and in corners, and where a cut may run out.

    Those have no limits here; shoulders are measured by themselves.
    """
    faces = [(t.near, BESIDE + (t.edge.size if t.edge else 0.0)) for t in setting.turned]
    faces += [(t.far, BESIDE + (t.far_edge.size if t.far_edge else 0.0)) for t in setting.turned]
    faces += [(t.far, BESIDE + max(t.corner.radius, t.corner.width)) for t in setting.turned if t.corner]
    faces += [(setting.end_z, BESIDE), (setting.limit_z, 2 * BESIDE)]
    least = least.copy()
    for t in setting.turned:
        inside_ = (zs <= t.near) & (zs >= t.far)
        if t.section.role == "square blank":
            least[inside_] -= BLANK
        elif t.section.tolerance is None:
            least[inside_] -= next(by for size, by in GENERAL if 2 * t.radius_near <= size)
    beside = np.any([np.abs(zs - z) < wide for z, wide in faces], axis=0)
    return np.where(beside | (zs > setting.end_z), 0.0, least)


def heights(chain: Chain, zs: Array) -> Array:
    """Return the greatest height of an outline at each z, mm; 0 where it does not come."""
    found = np.zeros(len(zs))
    for piece in chain:
        low, high = sorted((piece.start.z, piece.end.z))
        inside = (zs >= low) & (zs <= high)
        if high - low < 1e-9 or not inside.any():
            continue
        if isinstance(piece, Line):
            share = (zs[inside] - piece.start.z) / (piece.end.z - piece.start.z)
            at = piece.start.x + share * (piece.end.x - piece.start.x)
        else:
            at = _on_arc(piece, zs[inside])
        found[inside] = np.maximum(found[inside], at)
    return found


def _on_arc(arc: Arc, zs: Array) -> Array:
    bulge = np.sqrt(np.maximum(arc.radius**2 - (zs - arc.centre.z) ** 2, 0.0))
    return arc.centre.x + (bulge if (arc.start.x + arc.end.x) / 2 > arc.centre.x else -bulge)


def tool_of(tool: ShopTool) -> Tool | Vee:
    """Return a tool's underside for the sweep."""
    if tool.kind == "threading":
        return Vee.of(tool)
    nose = float(tool.nose_radius)
    if tool.kind == "grooving":
        return Tool(nose, 90.0, float(tool.width), float(tool.width) - 2 * nose)
    angle = tool.trailing
    along = nose + nose * math.sin(math.radians(angle)) + 0.8 * float(tool.edge) * math.cos(math.radians(angle))
    return Tool(nose, angle, along)


class Lathe:
    """A control, its slides and the work, in true places: mm, X a radius, in the setting's axes.

    Attributes:
        zeros: by tool: how far the tool truly stands from where the control takes it to be, Z and X, mm.
        swung: how far along Z the last arc went at its nearest to the headstock, from its start, mm.
        took: how long the last move in step with the spindle took, s.
        spoilt: what went wrong with metal or machine, in words; empty where nothing did.
        page: what the summary says of each stop, for a control that shows no words: it stands in units and zeros that
            are set at its panel, and takes any tool that is in its post.
    """

    def __init__(
        self, text: str, shop: Shop, setting: Setting, senses: Senses, metal: Metal, page: StopsPage | None = None
    ) -> None:  # fmt: skip
        self.lines, self.page = text.splitlines(), page
        self.shop, self.setting, self.senses, self.metal = shop, setting, senses, metal
        self.solids = [Solid.of(o.name, o.polygon) for o in setting.obstacles]
        self.tools: dict[int, Tool | Vee] = {t.number: tool_of(t) for t in shop.tools}
        self.slides = [Slide(float(s.backlash), loose=False) for s in (shop.lathe.x, shop.lathe.z)]
        self.zeros = {t.number: [0.0, 0.0] for t in shop.tools}
        self.belt, self.post = "", 0
        self.spoilt: list[str] = []
        self.z = self.x = math.nan
        self.swung = self.took = 0.0
        self.forget()

    def forget(self) -> None:
        """Lose what a control loses when it is ended, or when its current fails."""
        self.said: set[str] = {"unit", "zero"} if self.page else set()
        self.scale, self.motion, self.feed, self.speed = 1.0, -1, math.nan, math.nan
        self.spinning, self.tool, self.waiting = False, self.post if self.page else 0, 0

    @property
    def state(self) -> tuple[object, ...]:
        """Return all that what comes next depends on, but for the metal."""
        slides = tuple(slide.behind for slide in self.slides)
        zeros = tuple(tuple(zero) for zero in self.zeros.values())
        own = (self.z, self.x, self.belt, self.post, self.tool, self.waiting, self.spinning)
        modes = (self.scale, self.motion, self.feed, self.speed, frozenset(self.said))
        return (*own, *modes, slides, zeros)

    # What an operator does at the panel and by hand

    def stand(self, z: float, x: float) -> None:
        """Take the slides somewhere by hand: X out to it, so that its slide is behind, Z from the tailstock side."""
        self.z, self.x = z, x
        across, along = self.slides
        across.behind, along.behind = across.size, 0.0

    @property
    def tip(self) -> float:
        """Return the radius at which the tip truly stands, mm, which is what callipers find."""
        return self.x - self.slides[0].behind

    def reading(self, axis: str) -> float:
        """Return what the control shows of an axis, in the program's unit."""
        z, x = self.zeros[self.tool]
        if axis == "X":
            return (self.x - x) / self.scale * (2 if self.senses.diameters else 1)
        return (self.z - z) / self.scale * self.senses.z

    def set_to(self, axis: str, value: float) -> None:
        """Set an axis to read a value where it stands."""
        if axis == "X":
            self.zeros[self.tool][1] = self.x - value * self.scale * (0.5 if self.senses.diameters else 1)
        else:
            self.zeros[self.tool][0] = self.z - value * self.scale * self.senses.z

    def line_of(self, label: str) -> int:
        """Return the line that an N word stands on, counted from 0."""
        return next(k for k, row in enumerate(self.lines) if re.match(rf"\s*{label}\b", row))

    # Running

    def run(self, line: int = 0, until: int | None = None) -> Iterator[Stop]:
        """Return every stop from a line on; the lathe changes with them. It ends with the program, or before a line."""
        words: list[str] = []
        for number in range(line, len(self.lines) if until is None else until):
            row = self.lines[number]
            words += re.findall(r"\(([^)]*)\)", row)
            bare = re.sub(r"\([^)]*\)", "", row).strip().strip("%")
            if not bare:
                continue
            codes = self.block(bare, number + 1)
            if codes & {2, 30}:
                return
            if 0 in codes:
                yield self._stop(row, words, number + 1)
            words = []

    def _stop(self, row: str, words: Sequence[str], line: int) -> Stop:
        """Return a stop with what is shown, or with what stands on the page beside its N word."""
        if self.page is None:
            return Stop(join(words), words[-1] if words else "", line)
        told = self.page.stops[row.split(maxsplit=1)[0]]
        return Stop("\n".join(told), told[-1], line)

    def block(self, bare: str, line: int) -> set[int]:
        """Do one block; return its M words."""
        words = [(a, float(b)) for a, b in WORD.findall(bare)]
        if WORD.sub("", bare).strip():
            raise AlarmError(f"line {line}: {bare}")
        codes = {int(b) for a, b in words if a == "G"}
        stops = {int(b) for a, b in words if a == "M"}
        values = {a: b for a, b in words if a not in "GMN"}
        self._modes(codes, line)
        self._tool(values, stops)
        if "S" in values and 92 not in codes:
            self.speed = values["S"] if 96 not in codes else math.inf
        if "F" in values:
            self.feed = values["F"]
        if {"X", "Z"} & set(values):
            self._move(values, line)
        if 3 in stops:
            self.spinning = True
            self._belt_is_right(line)
        if {0, 2, 5, 30} & stops:
            self.spinning = False
        return stops

    def _modes(self, codes: set[int], line: int) -> None:
        groups = {20: "unit", 70: "unit", 21: "unit", 71: "unit", 18: "plane", 90: "absolute", 40: "no compensation",
                  80: "no cycle", 49: "no length", 94: "feed", 95: "feed"}  # fmt: skip
        for code in codes - {4, 92, 96, 97}:
            if code in (0, 1, 2, 3, 33):
                self.motion = code
            elif code in (20, 70, 21, 71):
                self.scale = 25.4 if code in (20, 70) else 1.0
            elif code not in {*groups, *range(54, 60)}:
                raise AlarmError(f"line {line}: G{code}")
            self.said.add("zero" if 54 <= code <= 59 else groups.get(code, ""))

    def _tool(self, values: dict[str, float], stops: set[int]) -> None:
        if "T" in values:
            number = int(values["T"])
            if number >= 100:
                self.tool = number // 100
                self.said.add("zero")
            else:
                self.waiting = number
                if self.post == number:  # it is in the post: the word alone changes nothing
                    self.tool = number
        if 6 in stops:
            self.tool = self.waiting

    def _belt_is_right(self, line: int) -> None:
        """Check that the speed said is what the belt gives."""
        found = next((p for p in self.shop.lathe.spindle.positions if p.name == self.belt), None)
        if self.shop.lathe.spindle.positions and (found is None or abs(float(found.rpm) - self.speed) > 0.5):
            belt = self.belt or "nothing known"
            self.spoilt.append(f"line {line}: the belt is on {belt}, {self.speed:g} rev/min said")

    def _move(self, values: dict[str, float], line: int) -> None:
        missing = {"unit", "plane", "absolute", "no compensation", "no cycle", "feed", "zero"} - self.said
        if self.page:
            self.tool = self.post
        if missing or self.motion < 0 or not self.tool:
            raise AlarmError(f"line {line}: a motion before {', '.join(sorted(missing)) or 'its tool'} is said")
        if self.post != self.tool:
            raise AlarmError(f"line {line}: tool {self.tool} is called, {self.post} is in the post")
        ez, ex = self.zeros[self.tool]
        start = (self.z, self.x)
        if "X" in values:
            self.x = values["X"] * self.scale * (0.5 if self.senses.diameters else 1) + ex
        if "Z" in values:
            self.z = values["Z"] * self.scale * self.senses.z + ez
        kind, speed = "rapid" if self.motion == 0 else "line", self.speed if self.spinning else 0.0
        motion = Motion(kind, start, (self.z, self.x), self.tool, 0.0, speed, line)
        if self.motion in (2, 3):
            k, i = values["K"] * self.scale * self.senses.z, values["I"] * self.scale
            motion.kind, motion.centre = "arc", (start[0] + k, start[1] + i)
            motion.turn = (1 if self.motion == 3 else -1) * self.senses.z * self.senses.arcs
        self._go(motion, self._lead(motion, values) if self.motion == 33 else 0.0)

    def _lead(self, motion: Motion, values: dict[str, float]) -> float:
        """Return the lead of a move in step with the spindle, mm, and note how long it takes."""
        if "K" not in values or not self.spinning:
            raise AlarmError(f"line {motion.line}: a thread without a lead, or with the spindle still")
        lead = values["K"] * self.scale * self.senses.leads
        self.took = 60 * abs(motion.end[0] - motion.start[0]) / lead / self.speed
        return lead

    def _go(self, motion: Motion, lead: float = 0.0) -> None:
        pieces = [] if math.isnan(sum(motion.start)) else list(_carried(motion, *self.slides))
        if isinstance(vee := self.tools[motion.tool], Vee):  # its point is in the middle
            pieces = [replace(p, za=p.za - vee.reach / 2, zb=p.zb - vee.reach / 2) for p in pieces]
            if lead:
                wanted = next(iter(self.setting.threads))
                if motion.end[1] < wanted.shank and abs(lead - wanted.thread.pitch) > ALLOWED:
                    self.spoilt.append(f"line {motion.line}: a lead of {lead:.3f} mm in {wanted.thread.name}")
                self.metal.thread(pieces, Groove(motion.start[0], motion.end[0], motion.end[1], lead, vee))
                pieces = []
        if motion.kind == "arc":
            self.swung = min(p.zb for p in pieces) - motion.start[0]
        before = self.metal.deepest
        for piece in pieces:
            took = self.metal.cut(piece, self.tools[motion.tool])
            if took > ALLOWED and piece.rapid:
                self.spoilt.append(f"line {motion.line}: a rapid {took:.3f} mm into metal")
            if took > ALLOWED and not piece.rapid and not self.spinning:
                self.spoilt.append(f"line {motion.line}: a cut with the spindle still")
            for solid in self.solids:
                if any(solid.holds(p) for p in ((piece.zb, piece.xb), _middle(piece))):
                    self.spoilt.append(f"line {motion.line}: the tip in the {solid.name}")
        if self.metal.deepest > max(before, ALLOWED):
            self.spoilt.append(f"line {motion.line}: {self.metal.deepest:.3f} mm {DEEP}")


def _middle(piece: Piece) -> tuple[float, float]:
    return (piece.za + piece.zb) / 2, (piece.xa + piece.xb) / 2


@dataclass(frozen=True)
class Solid:
    """Something solid that no tip may enter: a convex outline, and the box around it, low and high, mm."""

    name: str
    corners: tuple[tuple[float, float], ...]
    low: tuple[float, float]
    high: tuple[float, float]

    @classmethod
    def of(cls, name: str, corners: Sequence[tuple[float, float]]) -> Solid:
        """Return the solid of an outline."""
        (zs, xs) = zip(*corners, strict=True)
        return cls(name, tuple(corners), (min(zs), min(xs)), (max(zs), max(xs)))

    def holds(self, point: tuple[float, float]) -> bool:
        """Tell whether a point lies inside, by more than a thousandth."""
        (z, x), (low, high) = point, (self.low, self.high)
        if not (low[0] < z < high[0] and low[1] < x < high[1]):
            return False
        sides = []
        for a, b in zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True):
            size = math.dist(a, b)
            if size:
                sides.append(((b[0] - a[0]) * (x - a[1]) - (b[1] - a[1]) * (z - a[0])) / size)
        return all(s > 1e-3 for s in sides) or all(s < -1e-3 for s in sides)


def join(words: Sequence[str]) -> str:
    """Join comment lines into sentences, in capitals: a line that continues is put behind the one it continues."""
    rows: list[str] = []
    for row in words:
        if row.startswith(".. ") and rows:
            rows[-1] += f" {row[3:]}"
        else:
            rows.append(row.removeprefix("- ").removeprefix("MSG, "))
    return "\n".join(rows).upper().replace(": ", " - ")
