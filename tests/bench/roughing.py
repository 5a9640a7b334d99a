"""Roughing time of random stepped profiles, compared with a time that none can beat."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, pi
from statistics import median
from typing import NamedTuple

import pytest

from cam.moves import make_moves
from cam.moves.model import Feed, Move, Rapid, StartPass
from cam.plan import Pass, SettingPlan, plan_job
from cam.shop.model import Shop
from tests.specimens import LATHE, RANGE, part_from, shop_from

SEED = 5
COUNT = 100
SLIDE = 'reading = "readout"\ndivision = "0.01 mm"\nbacklash = "0.02 mm"\ncounts = "up"\n'
SHOP = LATHE.format(
    post="front", rapid_clearance=0.5, contact=0.1, x_slide=SLIDE + 'habit = "diameter"', z_slide=SLIDE,
    control="stepper", dialect="eia274d", x_words="diameter", units="mm", encoder="true", css="true",
    speeds=RANGE.replace("2500", "30000"), shape="D", tool_material="HSS", nose=0.1, deepest=0.75,
    rubs=40, drives=30000, chucks=30000,
)  # fmt: skip
SOFT = """
[[material]]
name = "wax that cuts like {speed} m/min"
hss = {{ least = "{speed} m/min", most = "{speed} m/min" }}
carbide = {{ least = "{speed} m/min", most = "{speed} m/min" }}
kc11 = "1 N/mm2"
mc = 0.2
modulus = "210 GPa"
source = "so soft that nothing springs: every layer may be as deep as the tool takes"
"""
SPEEDS = (27, 38, 88)
"""Cutting speeds of silver steel, mild steel and brass with HSS, near enough, m/min."""
PART = """
name = "stepped profile"
corners = "fillet up to 0.2 mm"
edges = "sharp"
finish = "turn"
[stock]
material = "{material}"
diameter = "{stock:.2f} mm"
length = "200 mm"
[holding]
method = "chuck"
chuck = "small chuck"
free_end = "A"
stick_out = "{out:.1f} mm"
facing = "0.5 mm"
"""


class Ratio(NamedTuple):
    """One profile: roughing time as a share of the bound, and the thinnest layer as a share of the tool's least cut."""

    time: float
    thinnest: float


def random_profile(draw: random.Random) -> str:
    """Return a part of two to seven steps, 3 to 28 mm in diameter, each 4 to 20 mm long."""
    count = draw.randint(2, 7)
    diameter = draw.uniform(3, 8)
    rows = []
    for k in range(count):
        length = draw.uniform(4, 20)
        rows.append(f'[[section]]\nname = "{k}"\nrole = "plain"\ndiameter = "{diameter:.2f} mm"\n'
                    f'length = "{length:.1f} mm"\n')  # fmt: skip
        diameter += draw.uniform(0.6, 5) if k < count - 1 else 0.0
    stock = diameter + draw.uniform(0.5, 3)
    rows.append(f'[[section]]\nname = "head"\nrole = "plain"\ndiameter = "{stock:.2f} mm"\nlength = "40 mm"\n'
                'finish = "as stock"\n')  # fmt: skip
    head = PART.format(material=f"wax that cuts like {draw.choice(SPEEDS)} m/min", stock=stock, out=150)
    return head + "\n".join(rows)


def measure_all(seed: int = SEED, count: int = COUNT) -> list[Ratio]:
    """Measure every profile of a seed; those that roughing leaves alone are left out."""
    draw = random.Random(seed)
    shop = shop_from(SHOP + "".join(SOFT.format(speed=v) for v in SPEEDS))
    return [measure_one(random_profile(draw), shop) for _ in range(count)]


def measure_one(text: str, shop: Shop) -> Ratio:
    """Compare our time, from the moves themselves without stops, with the bound from the profile."""
    part = part_from(text)
    plan = plan_job(part, shop).settings[0]
    alone = replace(plan, operations=tuple(o for o in plan.operations if o.name == "rough the profile"))
    speed = shop.materials[part.stock.material].speed["HSS"][1] * 1000 / 60
    profile = Profile.of(alone)
    least = float(alone.passes[0].tool.minimum_cut)
    ours = sum(_seconds(make_moves(alone, shop), shop, speed, alone))
    return Ratio(ours / profile.bound(shop, speed), profile.thinnest(alone.passes) / least)


class Profile(NamedTuple):
    """What is roughed: radius of the metal and of every step, and the steps' lengths, mm; from the free end."""

    top: float
    steps: tuple[tuple[float, float], ...]
    deepest: float
    feed: float

    @classmethod
    def of(cls, plan: SettingPlan) -> Profile:
        """Return the profile as roughing is to leave it: finished, with the allowances that the last layer shows."""
        turned = plan.setting.turned
        last = min(plan.passes, key=lambda p: p.x)
        side = last.x - turned[0].radius_near
        face = min(last.z_to - t.far for t in turned if last.z_to > t.far - 1e-6)
        top = max(max(p.start.x, p.end.x) for p in plan.setting.stock)
        steps = [(t.radius_near + side, t.near - t.far - face) for t in turned]
        return cls(top, tuple(steps), float(last.tool.deepest_cut), last.feed)

    def bound(self, shop: Shop, speed: float) -> float:
        """Return the bound, s: ceil((top - r) / deepest) layers on a step of radius r, no less than full depths allow.

        Surface speed is held, so a length at a radius takes time in proportion to both. Each layer comes in by its
        depth and goes back over its length, rapidly, at the least; the last need not go back.
        """
        rapid = float(shop.lathe.control.rapid) / 60
        total = (self.top - min(r for r, _ in self.steps)) / rapid
        counts = [ceil((self.top - r) / self.deepest - 1e-6) for r, _ in self.steps]
        for (radius, length), count in zip(self.steps, counts, strict=True):
            for k in range(1, count + 1):
                level = max(radius, self.top - k * self.deepest)
                total += length * (2 * pi * level / (speed * self.feed) + (k < max(counts)) / rapid)
        return total

    def thinnest(self, passes: Sequence[Pass]) -> float:
        """The thinnest layer that these passes take off any step, mm."""
        standing, near, found = [self.top] * len(self.steps), 0.0, [self.deepest]
        middles = []
        for _, length in self.steps:
            middles.append(near - length / 2)
            near -= length
        for cut in passes:
            for k, z in enumerate(middles):
                if cut.z_to < z < cut.z_from:
                    found.append(standing[k] - cut.x)
                    standing[k] = cut.x
        assert standing == pytest.approx([radius for radius, _ in self.steps])
        return min(found)


def _seconds(moves: tuple[Move, ...], shop: Shop, speed: float, plan: SettingPlan) -> Iterator[float]:
    """Return the seconds of each move from the first pass' approach to the last one's retreat, surface speed held."""
    rapid = float(shop.lathe.control.rapid) / 60
    (z, x), begun = plan.passes[0].approach[0], False
    for move in moves:
        begun = begun or isinstance(move, StartPass)
        before = (z, x)
        if not begun:
            continue
        if isinstance(move, Rapid):
            z, x = (move.to, x) if move.axis == "z" else (z, move.to)
            if x == plan.park.x:
                return
            yield math.dist(before, (z, x)) / rapid
        elif isinstance(move, Feed):
            z, x = move.z, move.x
            yield math.dist(before, (z, x)) * 2 * pi * (before[1] + x) / 2 / (speed * move.feed)


def show_ratios(ratios: list[Ratio]) -> str:
    """Show the median, nine in ten, the worst, and the thinnest layer."""
    times = sorted(r.time for r in ratios)
    nine = times[ceil(0.9 * len(times)) - 1]
    return (
        f"roughing of {len(ratios)} random profiles over the lower bound: median {median(times):.3f} (<= 1.06), "
        f"nine in ten {nine:.3f} (<= 1.10), worst {times[-1]:.3f} (<= 1.20); thinnest layer "
        f"{min(r.thinnest for r in ratios):.2f} of the tool's least cut (>= 1)"
    )
