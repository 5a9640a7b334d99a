"""The closest approach of each motion: to what holds the work, and to the work itself."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from cam.geometry.path import Arc, Line, Point, flatten
from cam.rs274.model import Motion
from cam.setting.model import Setting
from cam.shop.model import Shop, Tool
from cam.shop.tool_shape import Body, tool_bodies
from cam.simulate.clearance import find_gap, find_tip
from cam.simulate.contact import Box, Near, Watch, find_pairs, nearest_points
from cam.simulate.envelope import Metal, Removed, height
from cam.simulate.model import Approach, Finding
from cam.simulate.report import find, micrometres, place
from cam.simulate.sweep import Underside, along_arc, along_line, find_underside

INTO = 1e-6
"""Overlap of tool and metal by less, mm, is touching."""

CHORD = 1e-4
"""Beside the work, arcs are followed by chords within this, mm, for the distance only; removal keeps them arcs."""

FAR = 1e4
"""Nothing on a lathe is further apart, mm."""


class Solid(NamedTuple):
    """One body of a tool with its underside."""

    body: Body
    under: Underside


class Shape(NamedTuple):
    """A tool as the simulation needs it: its cutting body, its other bodies, and its watch over the obstacles."""

    nose: Solid
    others: tuple[Solid, ...]
    watch: Watch | None


class Hit(NamedTuple):
    """Overlap of a body and the metal: how much, mm (the lesser of its height and its width), and where."""

    amount: float
    z: float
    x: float


def worst_hit(removed: Iterable[Removed]) -> Hit:
    """The worst of some stretches of overlap; those side by side count as one; amount 0 where there are none."""
    worst = Hit(0.0, 0.0, 0.0)
    start, end, deepest = math.inf, -math.inf, Hit(0.0, 0.0, 0.0)
    for z0, z1, old, new in sorted(removed):
        if z0 > end + 1e-9:
            start, deepest = z0, Hit(0.0, 0.0, 0.0)
        for z in (z0, 0.5 * (z0 + z1), z1):
            x = height(new, z)
            depth = height(old, z) - max(x, 0.0)
            if depth > deepest.amount:
                deepest = Hit(depth, z, x)
        end = z1
        amount = min(deepest.amount, end - start)
        if amount > worst.amount:
            worst = Hit(amount, deepest.z, deepest.x)
    return worst


class Surroundings:
    """What is solid about the work, and the shapes of the tools that move in it.

    Attributes:
        outermost: greatest radius of anything solid but the work, mm.
        findings: contacts so far.
        fixed: the closest approach so far to anything but the work.
    """

    def __init__(self, setting: Setting, shop: Shop) -> None:
        """Nothing has moved yet."""
        self.obstacles = setting.obstacles
        self.clearance = float(shop.lathe.contact_clearance)
        self.outermost = max((p.x for o in setting.obstacles for p in o.polygon), default=0.0)
        self.findings: list[Finding] = []
        self.fixed: Approach | None = None
        self._shapes: dict[int, Shape] = {}

    def shape(self, tool: Tool) -> Shape:
        """The tool's shape, grown once about every obstacle."""
        shape = self._shapes.get(tool.number)
        if shape is None:
            bodies = tool_bodies(tool)
            nose, *others = (Solid(b, find_underside(b.polygon, b.round)) for b in bodies)
            pairs = find_pairs(bodies, self.obstacles)
            shape = self._shapes[tool.number] = Shape(nose, tuple(others), Watch(pairs) if pairs else None)
        return shape

    def approach(
        self, motion: Motion, shape: Shape, path: Line | Arc, box: Box, metal: Metal, nose_hit: Hit | None = None
    ) -> Approach | None:
        """The nearest that a motion comes to anything solid; a finding where that is too near.

        Args:
            box: of the path.
            metal: after the motion.
            nose_hit: of a rapid, how far the nose runs into the metal; None for a feed motion, whose nose cuts.
        """
        found: Approach | None = None
        near = shape.watch.nearest(path, box, FAR) if shape.watch is not None else None
        if near is not None:
            found = self._beside_obstacle(motion, near)
            self.fixed = _least(self.fixed, found)
        for solid in shape.others:
            found = self._beside_work(motion, solid, path, metal, found)
        if nose_hit is not None:
            if nose_hit.amount > INTO:
                found = _least(found, _overlap(motion, shape.nose, path, nose_hit))
            else:
                found = _least(found, _nose_beside_work(motion, shape.nose, path, metal, found))
        return found

    def _beside_obstacle(self, motion: Motion, near: Near) -> Approach:
        on_tool, on_obstacle = nearest_points(near)
        body, obstacle, distance = near.pair.body.name, near.pair.obstacle.name, near.distance
        if distance < self.clearance - 1e-9:
            least = f"{self.clearance:.3f} mm must stay clear"
            what = f"the {body} comes within {micrometres(distance)} of the {obstacle}; {least}"
            if distance < 0.0:
                what = f"the {body} runs {micrometres(-distance)} into the {obstacle}"
            amount = max(-distance, 0.0)
            self.findings.append(
                find(motion.line, "contact", what, amount=amount, at=on_obstacle, tip=near.tip, obstacle=obstacle,
                     tool=motion.tool)
            )  # fmt: skip
        return Approach(line=motion.line, distance=distance, obstacle=obstacle, body=body, tip=near.tip,
                        on_tool=on_tool, on_obstacle=on_obstacle, tool=motion.tool)  # fmt: skip

    def _beside_work(
        self, motion: Motion, solid: Solid, path: Line | Arc, metal: Metal, found: Approach | None
    ) -> Approach | None:
        """The nearer of found and a holder's outline beside the work."""
        hit = worst_hit(_overlaps(solid.under, path, metal))
        if hit.amount > INTO:
            what = f"the {solid.body.name} runs {micrometres(hit.amount)} into the work at {place(hit.z, hit.x)}"
            self.findings.append(
                find(motion.line, "contact", what, amount=hit.amount, at=(hit.z, hit.x), tip=path.end, obstacle="work",
                     tool=motion.tool)
            )  # fmt: skip
            return _least(found, _overlap(motion, solid, path, hit))
        return _least(found, _gap(motion, solid, path, metal, FAR if found is None else found.distance))


def _overlaps(under: Underside, path: Line | Arc, metal: Metal) -> list[Removed]:
    """Where a body on its way lies below the metal's surface."""
    z0, z1 = path.start[0], path.end[0]
    if isinstance(path, Arc):
        sweeps = along_arc(under, path.start, path.end, path.centre, path.turn, 0)
        return [r for sweep in sweeps for r in metal.overlap(sweep)]
    low = min(path.start[1], path.end[1]) + under.box[1]
    if metal.top(min(z0, z1) + under.box[0], max(z0, z1) + under.box[2]) <= low:
        return []
    return metal.overlap(along_line(under, path.start, path.end, 0), low)


def _least(a: Approach | None, b: Approach | None) -> Approach | None:
    if a is None or b is None:
        return a or b
    return b if b.distance < a.distance else a


def _overlap(motion: Motion, solid: Solid, path: Line | Arc, hit: Hit) -> Approach:
    at = Point(hit.z, hit.x)
    return Approach(line=motion.line, distance=-hit.amount, obstacle="work", body=solid.body.name, tip=path.end,
                    on_tool=at, on_obstacle=at, tool=motion.tool)  # fmt: skip


def _gap(motion: Motion, solid: Solid, path: Line | Arc, metal: Metal, best: float) -> Approach | None:
    """Approach to the work of a body that does not overlap it; None if not below best, mm."""
    body, box = solid.body, solid.under.box
    places = [path.start, path.end] if isinstance(path, Line) else flatten(path, CHORD)
    found: Approach | None = None
    for start, end in pairwise(places):
        gap = find_gap(metal, body.polygon, body.round, box, start, end, best)
        if gap is not None:
            best = gap.distance
            tip = find_tip(body.polygon, start, end, gap)
            on_tool = _toward(gap.on_core, gap.on_work, body.round)
            found = Approach(line=motion.line, distance=best, obstacle="work", body=body.name, tip=tip,
                             on_tool=on_tool, on_obstacle=Point(*gap.on_work), tool=motion.tool)  # fmt: skip
    return found


def _toward(a: tuple[float, float], b: tuple[float, float], far: float) -> Point:
    """The point on the way from a to b that lies far from a, mm."""
    size = math.hypot(b[0] - a[0], b[1] - a[1])
    share = far / size if size else 0.0
    return Point(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def _nose_beside_work(
    motion: Motion, nose: Solid, path: Line | Arc, metal: Metal, found: Approach | None
) -> Approach | None:
    """On a rapid, how near the nose comes to the work that it does not only leave."""
    best = FAR if found is None else found.distance
    gap = _gap(motion, nose, path, metal, best)
    if gap is None:
        return None
    still = Line(path.start, path.start)
    return gap if _gap(motion, nose, still, metal, gap.distance + 1e-9) is None else None
