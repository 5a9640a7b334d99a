"""Whether a damaged program of the mill does harm, by heights on a grid of its own and words: not by the judge."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from cam.job.milling import cutters_of, judge_text
from cam.job.model import Job
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import hole_work
from cam.mill.plan_square import SquareTask, square_work
from cam.setting.milled import MillWork
from tests.damages.lathe import MATTERS, same_stops, stops_of
from tests.search.reader import UNITS_SET

GRID = 0.05
"""Distance between the places at which heights are looked at, mm."""
WORD = re.compile(r"([A-Z])([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
FASTER, SLOWER = 1.65, 0.4
"""Shares of the good speed beyond which a cut does harm: tables of one material differ by less."""
NEEDED = ({"G90"}, {"G40"}, {"G80"}, {"G17"}, {"G20", "G21", "G70", "G71"})
KNOWN = {0, 1, 17, 18, 19, 20, 21, 40, 49, 54, 55, 56, 57, 70, 71, 80, 81, 83, 90, 91, 94, 95, 97, 99}


NOTHING = -99.0
"""Height of a place where there is no work, mm."""
Way = tuple[slice, slice, np.ndarray]
"""Where a cut comes, along the work and across, and how low."""
ABOVE: Way = (slice(0), slice(0), np.zeros((0, 0), np.float32))


TURNS = {"M5": 0, "M3": 1, "M4": -1}


class StrangeError(Exception):
    """A word that the programs of the mill do not hold, or one that is missing."""


@dataclass
class Cut:
    """One way of the tool, machine axes, mm; feed is mm/min, 0 for a rapid."""

    start: tuple[float, float, float]
    end: tuple[float, float, float]
    angle: float
    feed: float
    speed: float
    tool: int
    line: int


@dataclass
class Machine:
    """What has been said so far."""

    at: list[float] = field(default_factory=lambda: [math.nan] * 3)
    angle: float = 0.0
    motion: int = -1
    scale: float = 1.0
    feed: float = math.nan
    speed: float = 0.0
    turning: int = 0
    by_minute: bool = False
    tool: int = 0
    waiting: int = 0
    said: set[str] = field(default_factory=set)
    cuts: list[Cut] = field(default_factory=list)
    hand: float = math.nan
    plane: int = 0
    at_once: bool = False
    steps: bool = False


def read(lines: list[str]) -> list[Cut]:
    """Return every way that a text goes; cycles go straight down and back.

    Raises:
        StrangeError: the text holds something that no good program of the mill holds.
    """
    m = Machine(at_once=lines[0] == "%")
    if told := UNITS_SET.search(re.sub(r"\)\s*\(", " ", "\n".join(lines))):  # then a stop names the tool, too
        m.said, m.scale = {"G21"}, 25.4 if told[1].upper() == "INCHES" else 1.0
    for number, row in enumerate(lines, 1):
        if told and (mounted := re.search(r"MOUNT TOOL ([0-9]+)", row, re.I)):
            m.waiting = int(mounted[1])
            change(m)
        for angle in re.findall(r"TURN THE WORK TO ([0-9.]+) DEG", row.upper()):
            m.hand = float(angle)
        bare = re.sub(r"\([^)]*\)", "", row).strip(" %")
        found = WORD.findall(bare)
        if re.sub(r"\s", "", "".join(a + b for a, b in found)) != re.sub(r"\s", "", bare):
            raise StrangeError("a word that is no word")
        if bare and take(m, [(a, b) for a, b in found if a != "N"], number):
            return m.cuts
    raise StrangeError("no end")


def take(m: Machine, words: list[tuple[str, str]], number: int) -> bool:
    """Do one line; tell whether the program ends."""
    codes = [f"{a}{float(b):g}" for a, b in words if a in "GM"]
    values = {a: float(b) for a, b in words if a not in "GM"}
    m.said |= set(codes)
    say(m, codes)
    if "T" in values:
        tool = int(values["T"])
        m.waiting = tool // 100 if m.at_once and tool >= 100 else tool
        if m.at_once or "M6" in codes:
            change(m)
    elif "M6" in codes:
        change(m)
    m.feed = values["F"] * m.scale if "F" in values else m.feed
    m.speed = values.get("S", m.speed)
    m.turning = next((way for code, way in TURNS.items() if code in codes), m.turning)
    if "A" in values:
        m.angle = values["A"] % 360
    if set(values) & set("XYZ"):
        go(m, values, number)
    if "M0" in codes:
        m.turning = 0
        m.angle = m.hand % 360 if not math.isnan(m.hand) else m.angle
        m.hand = math.nan
    return bool({"M2", "M30"} & set(codes))


def say(m: Machine, codes: list[str]) -> None:
    """Take the modes of a line."""
    for code in codes:
        if code[0] == "G" and float(code[1:]) not in KNOWN:
            raise StrangeError(code)
        if code in ("G20", "G70"):
            m.scale = 25.4
        elif code in ("G21", "G71"):
            m.scale = 1.0
        elif code in ("G0", "G1", "G80", "G81", "G83"):
            m.motion = int(code[1:])
        elif code in ("G94", "G95"):
            m.by_minute = code == "G94"
        elif code in ("G90", "G91"):
            m.steps = code == "G91"
        elif code in ("G17", "G18", "G19"):
            m.plane = int(code[1:])


def change(m: Machine) -> None:
    """Bring a tool into use, with a zero of its own."""
    if m.waiting != m.tool:
        m.at, m.turning = [math.nan] * 3, 0
    m.tool = m.waiting


def go(m: Machine, values: dict[str, float], number: int) -> None:
    """Move, or do a cycle."""
    if any(not group & m.said for group in NEEDED) or m.motion in (-1, 80) or not m.tool or m.steps:
        raise StrangeError("something is not said")
    to = [values[a] * m.scale if a in values else v for a, v in zip("XYZ", m.at, strict=True)]
    ways = [(to, m.motion == 0)]
    if m.motion in (81, 83):
        if "R" not in values or m.plane != 17:
            raise StrangeError("no R, or another plane")
        top = values["R"] * m.scale
        ways = [([*to[:2], m.at[2]], True), ([*to[:2], top], True), (to, False), ([*to[:2], top], False)]
    if m.motion and not m.by_minute:
        raise StrangeError("a feed that is not by the minute")
    for end, rapid in ways:
        speed = m.speed * m.turning
        m.cuts.append(Cut(tuple(m.at), tuple(end), m.angle, 0.0 if rapid else m.feed, speed, m.tool, number))
        m.at = list(end)


@dataclass
class MillCase:
    """One work of the mill."""

    name: str
    job: Job
    made: MillWorkDone

    @property
    def lines(self) -> list[str]:
        return self.made.text.splitlines()

    def found(self, lines: list[str]) -> bool:
        """Tell whether the judge says anything about the program."""
        assert self.job.mill is not None
        material = self.job.shop.materials[self.job.part.stock.material]
        text = "\n".join(lines) + "\n"
        _, simulation, problems = judge_text(
            text, "damaged.ngc", self.made.task, self.job.shop, self.job.mill.dialect, material
        )
        return bool(problems or simulation.warnings)

    @cached_property
    def work(self) -> MillWork:
        task = self.made.task
        return square_work(task) if isinstance(task, SquareTask) else hole_work(task)

    @cached_property
    def radii(self) -> dict[int, float]:
        return {c.number: c.radius for c in cutters_of(self.job.shop)}

    @cached_property
    def rises(self) -> dict[int, float]:
        """Return how steeply the end of each tool rises from its middle: 0 for an end mill, the cone of a drill."""
        angles = {c.number: c.point_angle for c in cutters_of(self.job.shop)}
        return {n: 1 / math.tan(math.radians(a / 2)) if a else 0.0 for n, a in angles.items()}

    @cached_property
    def good(self) -> Milled:
        return self.run(self.lines)

    def run(self, lines: list[str]) -> Milled:
        """Cut with a text."""
        cuts = read(lines)
        floors: dict[float, np.ndarray] = {}
        taking, deep = [], 0.0
        for cut in cuts:
            if cut.tool not in self.radii:
                raise StrangeError("no such tool")
            if any(map(math.isnan, (*cut.start, *cut.end))):
                continue
            if cut.angle not in floors:
                floors[cut.angle] = self.round.copy()
            taken = lower(floors[cut.angle], self.way_of(cut))
            if taken > MATTERS:
                taking.append(cut)
                deep = max(deep, taken if not cut.feed else 0.0)
        return Milled(cuts, floors, taking, deep, *stops_of(lines))

    @cached_property
    def grid(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the places at which heights are looked at, along the work and across."""
        sections, top = self.work.sections, self.work.top
        xs = np.arange(min(s.start for s in sections), max(s.end for s in sections), GRID)
        return xs, np.arange(-top, top, GRID)

    @cached_property
    def round(self) -> np.ndarray:
        """Return the height of the work as turned, at every place."""
        xs, ys = self.grid
        radius = np.zeros_like(xs)
        for s in self.work.sections:
            radius = np.where((xs >= s.start) & (xs <= s.end), s.top, radius)
        squared = radius[:, None] ** 2 - ys[None, :] ** 2
        return np.where(squared > 0, np.sqrt(np.maximum(squared, 0)), NOTHING).astype(np.float32)

    @cached_property
    def ways(self) -> dict[tuple, Way]:
        return {}

    def way_of(self, cut: Cut) -> Way:
        """Return where a cut comes and how low; cuts of the good program, shared by the damaged ones, are kept."""
        if min(cut.start[2], cut.end[2]) >= self.work.top:
            return ABOVE
        key = (cut.start, cut.end, cut.tool)
        if key in self.ways:
            return self.ways[key]
        way = sweep(*self.grid, cut, self.radii[cut.tool], self.rises[cut.tool])
        if "good" not in self.__dict__:
            self.ways[key] = way
        return way

    def harm(self, lines: list[str]) -> bool:
        """Tell whether the damage changes metal, touches something, or takes a stop, speed, feed or mode away."""
        good = self.good
        try:
            bad = self.run(lines)
        except (StrangeError, KeyError, ValueError, OverflowError):
            return True
        lines_of = [{c.line for c in one.taking} for one in (good, bad)]
        if not same_stops(good.stops, bad.stops, *lines_of) or bad.running or bad.deep > MATTERS:
            return True
        angles = set(good.floors) | set(bad.floors)
        for angle in angles:
            if angle not in good.floors or angle not in bad.floors:
                if any(c.angle == angle for c in (*good.taking, *bad.taking)):
                    return True
            elif differ(good.floors[angle], bad.floors[angle]):
                return True
        return self.other_state(bad) or self.touches(bad.cuts)

    def other_state(self, bad: Milled) -> bool:
        """Tell whether a cut is made at another speed, or at a feed far from the cutter's."""
        speeds = {c.line: c.speed for c in self.good.taking}
        feeds = {c.line: c.feed for c in self.good.taking}
        for c in bad.taking:
            was, fed = speeds.get(c.line, 0.0), feeds.get(c.line, 0.0)
            if not c.speed > 0 or (was and not SLOWER < c.speed / was < FASTER):
                return True
            if not c.feed > 0 or (fed and not 0.15 < c.feed / fed < 1.3):
                return True
        return False

    def touches(self, cuts: list[Cut]) -> bool:
        """Tell whether the cutter's cylinder meets what holds the work, on a way that the good program does not go."""
        known = {(c.start, c.end, c.tool) for c in self.good.cuts}
        for c in cuts:
            if (c.start, c.end, c.tool) in known or any(map(math.isnan, (*c.start, *c.end))):
                continue
            r, low = self.radii[c.tool], min(c.start[2], c.end[2])
            for f in self.work.fixtures:
                if low < f.top and min(c.start[0], c.end[0]) - r < f.end and max(c.start[0], c.end[0]) + r > f.start:
                    near = min(abs(y) for y in (c.start[1], c.end[1])) if c.start[1] * c.end[1] > 0 else 0.0
                    if near < max(f.right, -f.left) * (0.7 if f.round else 1.0):
                        return True
        return False


@dataclass
class Milled:
    """What a text does: its ways, the heights left at every angle, the ways that took metal, how deep rapids went."""

    cuts: list[Cut]
    floors: dict[float, np.ndarray]
    taking: list[Cut]
    deep: float
    stops: list[int]
    running: bool


def differ(one: np.ndarray, other: np.ndarray) -> bool:
    """Tell whether heights differ by more than MATTERS over more than one line of the grid, either way."""
    far = np.abs(one - other) > MATTERS
    return bool(np.any(far[:-1, :-1] & far[1:, :-1] & far[:-1, 1:] & far[1:, 1:]))


def sweep(xs: np.ndarray, ys: np.ndarray, cut: Cut, radius: float, rise: float) -> Way:
    """Return how low a cutter comes on its way, and where.

    Args:
        rise: rise of its end from the middle, mm for each mm; such a tool goes straight down.
    """
    (x0, y0, z0), (x1, y1, z1) = cut.start, cut.end
    i = np.nonzero((xs > min(x0, x1) - radius) & (xs < max(x0, x1) + radius))[0]
    j = np.nonzero((ys > min(y0, y1) - radius) & (ys < max(y0, y1) + radius))[0]
    if not (len(i) and len(j)):
        return ABOVE
    gx, gy = xs[i[0] : i[-1] + 1, None] - x0, ys[None, j[0] : j[-1] + 1] - y0
    dx, dy = x1 - x0, y1 - y0
    length = dx * dx + dy * dy
    share = np.clip((gx * dx + gy * dy) / length, 0.0, 1.0) if length else np.zeros_like(gx + gy)
    away = (gx - share * dx) ** 2 + (gy - share * dy) ** 2
    half = radius / math.sqrt(length) if length else 0.0
    low = np.minimum(z0 + (z1 - z0) * np.clip(share - half, 0, 1), z0 + (z1 - z0) * np.clip(share + half, 0, 1))
    low = np.minimum(low, min(z0, z1)) if not length else low
    low = np.where(away < radius * radius, low + rise * np.sqrt(away), np.inf)
    return slice(i[0], i[-1] + 1), slice(j[0], j[-1] + 1), np.maximum(low, NOTHING + 1).astype(np.float32)


def lower(floor: np.ndarray, way: Way) -> float:
    """Lower the heights to a way; return the deepest that it took off, mm."""
    along, across, low = way
    part = floor[along, across]
    taken = float(np.max(part - low, initial=0.0))
    np.minimum(part, low, out=part)
    return taken
