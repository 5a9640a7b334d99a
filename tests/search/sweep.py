"""What motions leave of the work: a sweep of its own, exact for straight pieces, on slides with backlash or without.

A tool's underside is a convex curve over z, here in closed form: a nose and the edge behind it, or a blade with two
rounded corners. Where it goes along a straight piece, the lowest that any point of it comes to at a z is where its
slope is that of the piece, or the nearest place to it that the piece brings there: the curve is convex.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tests.search.reader import Motion

Array = npt.NDArray[np.float64]
NOTHING = 1e-9
CHORD = 0.02
"""Longest straight piece that stands for an arc, mm; it is off by a quarter of a micrometre on a nose of 0.2 mm."""


@dataclass(frozen=True)
class Tool:
    """A tool's underside, from its programmed point toward the tailstock.

    Attributes:
        nose: radius, mm. trailing: angle of the edge behind it to the axis, degrees; or 90 for a blade.
        reach: how far along z the underside goes, mm. flat: width of a blade between its corners, mm; 0 for a knife.
    """

    nose: float
    trailing: float
    reach: float
    flat: float = 0.0

    def height(self, u: Array) -> Array:
        """Return the height of the underside above the programmed point at u, mm."""
        r = self.nose
        first = r - np.sqrt(np.maximum(r * r - (np.minimum(u, r) - r) ** 2, 0.0))
        v = np.maximum(u - r - self.flat, 0.0)
        if self.flat:
            return np.where(u < r, first, r - np.sqrt(np.maximum(r * r - np.minimum(v, r) ** 2, 0.0)))
        angle = math.radians(self.trailing)
        bend = r * math.sin(angle)
        arc = r - np.sqrt(np.maximum(r * r - np.minimum(v, bend) ** 2, 0.0))
        return np.where(u < r, first, arc + np.maximum(v - bend, 0.0) * math.tan(angle))

    def lowest(self, slope: float) -> tuple[float, float]:
        """Return where height - slope * u is least, as a range of u, mm."""
        r = self.nose
        along = r + r * slope / math.hypot(1.0, slope)
        if slope < -1e-12:
            return along, along
        if self.flat:
            return (r if slope <= 1e-12 else along + self.flat, along + self.flat)
        if slope >= math.tan(math.radians(self.trailing)) - 1e-12:
            return self.reach, self.reach
        return along, along


@dataclass(frozen=True)
class Piece:
    """A straight way of the tool's point, mm. rapid: whether it may take nothing off, as with the spindle standing."""

    za: float
    xa: float
    zb: float
    xb: float
    tool: int
    rapid: bool
    line: int


class Slide:
    """One slide behind its screw by up to its backlash, on the low side: inward, or toward the headstock."""

    def __init__(self, backlash: float, *, loose: bool) -> None:
        self.size, self.behind = backlash, backlash if loose else 0.0

    def turn(self, change: float) -> None:
        """Move the screw by this much."""
        self.behind = min(max(self.behind + change, 0.0), self.size)

    def breaks(self, change: float) -> float:
        """Return the share of a move of the screw after which the slide goes with it; 1 where it never does."""
        room = self.size - self.behind if change > 0 else self.behind
        return min(room / abs(change), 1.0) if change else 1.0


def pieces_of(motions: list[Motion], x: float, z: float, *, loose: bool) -> list[Piece]:
    """Return the ways that slides with backlash x and z, mm, really go; loose: where they stand at first."""
    slides = Slide(x, loose=loose), Slide(z, loose=loose)
    return [p for m in motions if not math.isnan(sum(m.start) + sum(m.end)) for p in _carried(m, *slides)]


def _carried(motion: Motion, x: Slide, z: Slide) -> Iterator[Piece]:
    for (za, xa), (zb, xb) in _chords(motion):
        shares = sorted({0.0, x.breaks(xb - xa), z.breaks(zb - za), 1.0})
        before = (za - z.behind, xa - x.behind)
        for low, high in pairwise(shares):
            x.turn((xb - xa) * (high - low))
            z.turn((zb - za) * (high - low))
            after = (za + (zb - za) * high - z.behind, xa + (xb - xa) * high - x.behind)
            if math.dist(after, before) > NOTHING:
                yield Piece(*before, *after, motion.tool, motion.kind == "rapid" or not motion.speed, motion.line)
            before = after


def _chords(motion: Motion) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    if motion.kind != "arc":
        yield motion.start, motion.end
        return
    (cz, cx), (z0, x0), (z1, x1) = motion.centre, motion.start, motion.end
    first, last = math.atan2(x0 - cx, z0 - cz), math.atan2(x1 - cx, z1 - cz)
    sweep = (last - first) % (2 * math.pi) if motion.turn > 0 else -((first - last) % (2 * math.pi))
    radius = math.dist(motion.start, motion.centre)
    count = max(math.ceil(abs(sweep) * radius / CHORD), 1)
    before = motion.start
    for k in range(1, count + 1):
        angle = first + sweep * k / count
        at = (cz + radius * math.cos(angle), cx + radius * math.sin(angle)) if k < count else motion.end
        yield before, at
        before = at


def lowest_at(piece: Piece, tool: Tool, zs: Array) -> Array:
    """Return the least radius that a tool on a piece comes to at each z, mm; infinite where it does not come."""
    if piece.za == piece.zb:
        u = zs - piece.za
        inside = (u >= 0) & (u <= tool.reach)
        return np.where(inside, min(piece.xa, piece.xb) + tool.height(np.clip(u, 0.0, tool.reach)), np.inf)
    slope = (piece.xb - piece.xa) / (piece.zb - piece.za)
    low, high = sorted((piece.za, piece.zb))
    least, most = np.maximum(zs - high, 0.0), np.minimum(zs - low, tool.reach)
    first, last = tool.lowest(slope)
    u = np.where(most < first, most, np.where(least > last, least, np.clip(first, least, most)))
    found = piece.xa + slope * (zs - u - piece.za) + tool.height(np.clip(u, 0.0, tool.reach))
    return np.where(least <= most, found, np.inf)


def left_by(pieces: list[Piece], tools: dict[int, Tool], zs: Array) -> Array:
    """Return the least radius that all of the pieces come to at each z, mm; infinite where none comes."""
    return np.min([np.full(len(zs), np.inf), *(way.lowest(zs) for way in ways_of(pieces, tools))], axis=0)


def ways_of(pieces: list[Piece], tools: dict[int, Tool]) -> list[Ways]:
    """Return the ways of each tool separately."""
    return [Ways([p for p in pieces if p.tool == n], tools[n]) for n in sorted({p.tool for p in pieces})]


class Ways:
    """Every way of one tool, as arrays, one row for each: it finds for all at once what lowest_at finds for one."""

    def __init__(self, pieces: list[Piece], tool: Tool) -> None:
        rows = np.array([(p.za, p.xa, p.zb, p.xb) for p in pieces])
        self.tool, level = tool, rows[:, 0] != rows[:, 2]
        self.upright, self.along = rows[~level], rows[level]
        za, xa, zb, xb = self.along.T
        self.slope = (xb - xa) / (zb - za)
        lowest = [tool.lowest(float(slope)) for slope in self.slope]
        self.first, self.last = np.array(lowest).reshape(-1, 2).T

    def lowest(self, zs: Array) -> Array:
        """Return the least radius of all at each z, mm; infinite where none comes.

        Long arrays are taken in pieces, the shorter the more ways there are: only those near a piece are looked at.
        """
        size = max(64, 8192 // (len(self.along) + len(self.upright)))
        parts = [zs[k : k + size] for k in range(0, len(zs), size)]
        return np.concatenate([np.minimum(self._upright(p), self._along(p)) for p in parts]) if parts else zs

    def _upright(self, zs: Array) -> Array:
        rows = self.upright
        near = (rows[:, 0] <= zs.max()) & (rows[:, 0] + self.tool.reach >= zs.min())
        if not near.any():
            return np.full(len(zs), np.inf)
        u = zs[None, :] - rows[near, 0:1]
        inside = (u >= 0) & (u <= self.tool.reach)
        at = np.minimum(rows[near, 1:2], rows[near, 3:4]) + self.tool.height(np.clip(u, 0.0, self.tool.reach))
        return np.min(np.where(inside, at, np.inf), axis=0)

    def _along(self, zs: Array) -> Array:
        rows, reach = self.along, self.tool.reach
        lows, highs = np.minimum(rows[:, 0], rows[:, 2]), np.maximum(rows[:, 0], rows[:, 2])
        near = (lows <= zs.max()) & (highs + reach >= zs.min())
        if not near.any():
            return np.full(len(zs), np.inf)
        za, xa, low, high, slope, first, last = (
            a[near][:, None] for a in (rows[:, 0], rows[:, 1], lows, highs, self.slope, self.first, self.last)
        )
        least, most = np.maximum(zs - high, 0.0), np.minimum(zs - low, reach)
        u = np.where(most < first, most, np.where(least > last, least, np.clip(first, least, most)))
        found = xa + slope * (zs - u - za) + self.tool.height(np.clip(u, 0.0, reach))
        return np.min(np.where(least <= most, found, np.inf), axis=0)
