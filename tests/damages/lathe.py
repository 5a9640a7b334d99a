"""Whether a damaged program of the lathe does harm, by second reader and sweep of the search, not by the judge."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from cam.geometry.path import flatten
from cam.job import Work, move_outline, rules_of
from cam.job.explain import explain
from cam.job.model import Job
from cam.judge import simulate
from cam.judge.fixes import describe_findings
from cam.judge.sizes import cut_sizes
from cam.rs274 import read_program
from cam.shop.tool_shape import tool_bodies
from tests.search.reader import Motion, UnreadableError, read
from tests.search.sweep import Tool, left_by, pieces_of

STEP = 0.005
"""Distance between the places at which the work is looked at, mm."""
MATTERS = 0.01
"""Metal that lies differently by more than this, mm, on a radius or along Z, is a changed part."""
SAME_SPEED = 0.05
FEED_SHARE = 1.6
Floats = np.ndarray


@dataclass
class LatheCase:
    """One setting's program, and the means to judge it and to see whether it does harm."""

    name: str
    job: Job
    number: int

    @property
    def work(self) -> Work:
        return self.job.works[self.number]

    @property
    def lines(self) -> list[str]:
        return self.work.text.splitlines()

    @cached_property
    def stock(self):
        if not self.number:
            return None
        before = self.job.works[self.number - 1].setting
        return move_outline(before.least, before, self.work.setting)

    def found(self, lines: list[str]) -> bool:
        """Tell whether the judge says anything about the program that it does not say of the good one."""
        return bool(self.told(lines) - self.always)

    @cached_property
    def always(self) -> Counter[str]:
        """Return what is said of the good program: a dialect without a word to wait is warned of at each start."""
        return self.told(self.lines)

    def told(self, lines: list[str]) -> Counter[str]:
        """Return what the judge says about a program, and how often."""
        job, setting = self.job, self.work.setting
        text = "\n".join(lines) + "\n"
        program = read_program(text, rules_of(job.dialect, job.shop), "damaged.ngc")
        material = job.shop.materials[job.part.stock.material]
        judged = simulate(program, setting, job.shop, stock=self.stock, material=material, stops=True, limits=True)
        told = explain((*program.problems, *describe_findings(judged.findings, text, "damaged.ngc")))
        said = Counter(w.kind for w in judged.warnings)
        said.update("problem" for _ in told)
        x, z = (float(slide.backlash) for slide in (job.shop.lathe.x, job.shop.lathe.z))
        sizes = cut_sizes(program, setting, job.shop, x, z, stock=self.stock)
        said.update("size" for s in sizes if max(abs(s.least), abs(s.most)) > 1e-3)
        return said

    # What it does, by other means

    @cached_property
    def tools(self) -> dict[int, Tool]:
        made = {}
        for t in self.job.shop.tools:
            nose, edge = float(t.nose_radius), float(t.edge)
            if t.kind == "grooving":
                made[t.number] = Tool(nose, 90.0, float(t.width), float(t.width) - 2 * nose)
            else:
                made[t.number] = Tool(nose, t.trailing, edge * math.cos(math.radians(t.trailing)))
        return made

    @cached_property
    def zs(self) -> Floats:
        setting = self.work.setting
        return np.arange(setting.head_z + STEP / 2, setting.stock_end_z, STEP)

    @cached_property
    def start(self) -> Floats:
        """Return the radius of the stock at each place."""
        chain = self.stock or self.work.setting.stock
        points = [p for s in chain for p in flatten(s, 1e-4)]
        order = sorted({(p.z, p.x) for p in points})
        return np.interp(self.zs, [z for z, _ in order], [x for _, x in order])

    @cached_property
    def good(self) -> Outcome:
        return self.run(self.lines)

    @cached_property
    def obstacles(self) -> shapely.Geometry:
        return shapely.union_all([Polygon([(p.z, p.x) for p in o.polygon]) for o in self.work.setting.obstacles])

    def run(self, lines: list[str]) -> Outcome:
        """Cut with a text.

        Raises:
            UnreadableError, KeyError, ValueError: the second reader does not accept it.
        """
        ends = next((k for k, row in enumerate(lines, 1) if {"M2", "M30"} & set(row.split())), len(lines))
        program = read(re.sub(r"(?<=[0-9])\.(?![0-9])", ".0", "\n".join(without_idle(lines[:ends]))))
        if not program.ended:
            raise UnreadableError("no end")
        left, deep, cuts = self.start.copy(), 0.0, []
        for motion in program.motions:
            if motion.tool not in self.tools:
                raise UnreadableError("no such tool")
            first, way = self.way_of(motion)
            there = left[first : first + len(way)]
            taken = float(np.max(there - way, initial=0.0))
            if motion.kind == "rapid":
                deep = max(deep, taken)
            elif taken > MATTERS:
                cuts.append(motion)
            np.minimum(there, way, out=there)
        return Outcome(program.motions, left, deep, cuts, *stops_of(lines))

    def way_of(self, motion: Motion) -> tuple[int, Floats]:
        """Return what one motion leaves, and the first of zs that it comes to; damaged programs share most of them."""
        key = (motion.kind, motion.start, motion.end, motion.centre, motion.turn, motion.tool)
        if key not in self.ways:
            way = left_by(pieces_of([motion], 0.0, 0.0, loose=False), self.tools, self.zs)
            there = np.flatnonzero(np.isfinite(way))
            self.ways[key] = (int(there[0]), way[there[0] : there[-1] + 1]) if len(there) else (0, way[:0])
        return self.ways[key]

    @cached_property
    def ways(self) -> dict[tuple, tuple[int, Floats]]:
        return {}

    def harm(self, lines: list[str]) -> bool:
        """Tell whether the damage changes metal, touches something, or takes a stop, speed, feed or mode away."""
        good = self.good
        try:
            bad = self.run(lines)
        except (UnreadableError, KeyError, ValueError, ZeroDivisionError, OverflowError):
            return True
        lines_of = [{m.line for m in one.cuts} for one in (good, bad)]
        if not same_stops(good.stops, bad.stops, *lines_of) or bad.running:
            return True
        return bad.deep > MATTERS or changed(good.left, bad.left) or self.other_state(bad) or self.touches(bad.motions)

    def other_state(self, bad: Outcome) -> bool:
        """Tell whether a cut is made at another speed, or at a feed that the tool or the lathe is not for."""
        speeds = {m.line: m.speed for m in self.good.motions}
        tools = {t.number: t for t in self.job.shop.tools}
        for m in bad.cuts:
            was = speeds.get(m.line, 0.0)
            if not m.speed or (was and abs(m.speed / was - 1) > SAME_SPEED):
                return True
            coarse = FEED_SHARE * float(tools[m.tool].rough_feed)
            most, least = self.job.shop.lathe.most_feed, self.job.shop.lathe.least_feed
            before = next((g.feed for g in self.good.cuts if g.line == m.line), 0.0)
            if math.isnan(m.feed) or m.feed > max(1.1 * before, coarse) or m.feed > 1.1 * most or m.feed < 0.5 * least:
                return True
        return False

    def touches(self, motions: list[Motion]) -> bool:
        """Tell whether a tool's body meets what holds the work, on a way that the good program does not go."""
        known = {(m.start, m.end, m.tool) for m in self.good.motions}
        bodies = {t.number: [b.polygon for b in tool_bodies(t)] for t in self.job.shop.tools}
        for m in motions:
            if (m.start, m.end, m.tool) in known or any(map(math.isnan, (*m.start, *m.end))):
                continue
            for polygon in bodies[m.tool]:
                places = [(p.z + z, p.x + x) for p in polygon for z, x in (m.start, m.end)]
                if MultiPoint(places).convex_hull.intersects(self.obstacles):
                    return True
        return False


@dataclass
class Outcome:
    """What a text does: its motions, the work left, how deep rapids went, the cuts that took metal, its stops.

    Attributes:
        stops: their lines. running: whether the spindle runs at any of them.
    """

    motions: list[Motion]
    left: Floats
    deep: float
    cuts: list[Motion]
    stops: list[int]
    running: bool


def without_idle(lines: list[str]) -> list[str]:
    """Return the lines without words that the second reader does not take where they do nothing.

    These are G17 and G19 where G18 is said again before the next arc; the units once more beside a place; in NISTIR
        6556 a tool that is only chosen.
    """
    kept, matters = list(lines), False
    for k in range(len(lines) - 1, -1, -1):
        words = [] if lines[k].startswith("(") else lines[k].split()
        matters = (matters or bool({"G2", "G3"} & set(words))) and "G18" not in words
        if not matters and {"G17", "G19"} & set(words):
            kept[k] = " ".join(w for w in words if w not in ("G17", "G19"))
    tape = lines[0].strip() == "%"
    for k, row in enumerate(kept):
        words = [] if row.startswith("(") else row.split()
        if any(w[0] in "XZ" for w in words):
            kept[k] = " ".join(w for w in words if w not in ("G21", "G71"))
        elif not tape and words and "M6" not in words:
            kept[k] = " ".join(w for w in words if w[0] != "T")
    return kept


def stops_of(lines: list[str]) -> tuple[list[int], bool]:
    """Return the line of each M0, and whether the spindle runs at any of them, by words alone, as far as the end."""
    found, turning, running = [], False, False
    for number, row in enumerate(lines, 1):
        words = [] if row.startswith("(") else row.split()
        turning = turning or bool({"M3", "M4"} & set(words))
        turning = turning and not {"M5", "M6"} & set(words)
        if "M0" in words:
            found.append(number)
            running = running or turning
        if {"M2", "M30"} & set(words):  # the end stops the spindle, in both standards (NIST 3.6.1; ISO from memory)
            break
    return found, running


def same_stops(good: list[int], bad: list[int], good_cuts: set[int], bad_cuts: set[int]) -> bool:
    """Tell whether no stop is missing between the same cuts: of the lines that cut before and after the damage."""
    both = good_cuts & bad_cuts
    one, other = ([sum(line < stop for line in both) for stop in stops] for stops in (good, bad))
    return not Counter(one) - Counter(other)


def changed(one: Floats, other: Floats) -> bool:
    """Tell whether two outlines differ by more than MATTERS, over more than MATTERS along Z."""
    differs = np.abs(one - other) > MATTERS
    return bool(np.any(differs[:-2] & differs[1:-1] & differs[2:]))
