"""Threads on the model's lathe: a vee for a tool, the grooves that its passes leave, and three wires laid in them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cam.shop.model import Tool as ShopTool
from tests.search.sweep import Array

FINE = 0.002
"""How finely a groove is looked at along its pitch, mm."""


@dataclass(frozen=True)
class Vee:
    """A threading tool's underside as the sweep takes it, from its headstock side: its point is in the middle.

    Attributes:
        nose: radius, mm. half: of the angle between its flanks, radians. reach: how wide its blade is, mm.
    """

    nose: float
    half: float
    reach: float

    @classmethod
    def of(cls, tool: ShopTool) -> Vee:
        """Return the underside of a shop's tool."""
        return cls(float(tool.nose_radius), math.radians(tool.included / 2), float(tool.width))

    def over(self, off: Array) -> Array:
        """Return how high the underside is above the point, mm, at distances along z from it."""
        d, r = np.abs(off), self.nose
        bend = r * math.cos(self.half)
        round_ = r - np.sqrt(np.maximum(r * r - np.minimum(d, bend) ** 2, 0.0))
        return np.where(d <= bend, round_, r - r / math.sin(self.half) + d / math.tan(self.half))

    def height(self, u: Array) -> Array:
        """Return the height of the underside at u from its headstock side, mm."""
        return self.over(u - self.reach / 2)

    def lowest(self, slope: float) -> tuple[float, float]:
        """Return where height - slope * u is least, as a range of u, mm."""
        steep = 1 / math.tan(self.half)
        if abs(slope) >= steep:
            return (self.reach, self.reach) if slope > 0 else (0.0, 0.0)
        at = self.reach / 2 + self.nose * slope / math.hypot(1.0, slope)
        return at, at

    def side(self, height: float) -> float:
        """Return how far its side stands from its point where it meets something so high above that, mm."""
        return min((height - self.nose + self.nose / math.sin(self.half)) * math.tan(self.half), self.reach / 2)


@dataclass(frozen=True)
class Groove:
    """What a pass in step leaves: mm. start: where along z it begins to count its turns. end: where it ends."""

    start: float
    end: float
    x: float
    lead: float
    tool: Vee


def over_wires(grooves: Sequence[Groove], shank: float, wire: float) -> float:
    """Return the measure over three wires in all grooves of one lead, mm: a wire lies as low as it can.

    Args:
        shank: radius of the crests, mm. wire: diameter, mm.
    """
    lead, size = grooves[0].lead, wire / 2
    zs = np.arange(-lead, lead, FINE)
    left = np.full(len(zs), shank)
    for g in grooves:
        off = (zs - g.start + lead / 2) % lead - lead / 2
        left = np.minimum(left, g.x + g.tool.over(off))

    def lie(at: Array) -> Array:
        near = (zs >= at[0] - size - FINE) & (zs <= at[-1] + size + FINE)
        apart = at[:, None] - zs[None, near]
        on = np.where(np.abs(apart) <= size, left[near] + np.sqrt(np.maximum(size**2 - apart**2, 0.0)), -np.inf)
        return on.max(axis=1)

    middles = np.arange(-lead / 2, lead / 2, FINE)
    wide = np.array_split(middles, math.ceil(lead / wire))  # each as wide as a wire
    rests = np.concatenate([lie(at) for at in wide])
    lowest = float(middles[rests.argmin()])
    return 2 * (float(lie(np.linspace(lowest - FINE, lowest + FINE, 41)).min()) + size)
