"""The closest approach of each motion: to what holds the work, and to the work itself."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from cam.geometry.path import Arc, Box, Line, Point, bounds, flatten
from cam.ground.frozen import Row
from cam.judge.clearance import Gap, Side, find_gap, find_tip, sides_of
from cam.judge.contact import Near, nearest_points
from cam.judge.envelope import Metal, Removed, height
from cam.judge.model import Approach, Finding
from cam.judge.report import find, micrometres, mm, place
from cam.judge.sweep import Underside, along, find_underside
from cam.rs274.model import Motion
from cam.setting.model import Setting
from cam.shop.model import Shop, Tool
from cam.shop.tool_shape import Body, tool_bodies

INTO = 1e-6
"""Tool and metal that overlap by less than this, mm, only touch."""
FILM = 1.5e-4
"""A text in inches rounds by less than this, mm: no rapid is held to metal so thin beside a face, and no gap to it."""
CHORD = 1e-4
"""Beside the work, an arc is followed by chords within this, mm, for the distance only; removal keeps the arc."""


class SolidBody(Row):
    """One body of a tool with its underside and the sides of its core."""

    body: Body
    under: Underside
    sides: tuple[Side, ...]


class ToolShape(Row):
    """A tool, its cutting body and its others, and the box of all: least z and x, greatest z and x, mm."""

    tool: Tool
    nose: SolidBody
    others: tuple[SolidBody, ...]
    box: Box


class Hit(Row):
    """Overlap of a body and the metal.

    Attributes:
        amount: the lesser of depth and width, mm: what is thin either way is rounding.
        z, x: the place where it is deepest.
        depth: greatest radial depth, mm. width: length of the whole stretch along Z, mm.
    """

    amount: float
    z: float
    x: float
    depth: float
    width: float

    def along(self, path: Line | Arc) -> float:
        """How far a motion runs in, mm: radially if it goes straight in or out, along Z if along, else the lesser."""
        if path.start[0] == path.end[0]:
            return self.depth
        return self.width if path.start[1] == path.end[1] else self.amount


NO_HIT = Hit(0.0, 0.0, 0.0, 0.0, 0.0)


def worst_hit(removed: Iterable[Removed]) -> Hit:
    """Return the worst of some stretches of overlap; adjacent ones count as one; amount 0 where there are none."""
    worst = deepest = NO_HIT
    start, end = math.inf, -math.inf
    for z0, z1, old, new in sorted(removed):
        if z0 > end + 1e-9:
            start, deepest = z0, NO_HIT
        lowest = min(max(new[3], z0), z1) if new[2] else 0.5 * (z0 + z1)
        for z in (z0, lowest, z1):
            x = height(new, z)
            depth = height(old, z) - max(x, 0.0)
            if depth > deepest.depth:
                deepest = Hit(depth, z, x, depth, 0.0)
        end = z1
        amount = min(deepest.depth, end - start)
        if amount > worst.amount:
            worst = Hit(amount, deepest.z, deepest.x, deepest.depth, end - start)
    return worst


class Beside(Row):
    """A body beside the work: signed distance, mm; the body; a stretch of path; the nearest points, or the overlap."""

    distance: float
    solid: SolidBody
    start: Point
    end: Point
    gap: Gap


class KnownMove(Row):
    """A motion of a tool of the shop on a path that is known.

    Attributes:
        number: of the motion. box: bounds of the path. near: the nearest to anything but the work; None for none.
    """

    number: int
    motion: Motion
    shape: ToolShape
    path: Line | Arc
    box: Box
    near: Near | None


class Surroundings:
    """What is solid about the work, the shapes of the tools that move in it, and the contacts found so far.

    Attributes:
        look: work further away than this is not near, mm: twice what rapids keep clear.
    """

    def __init__(self, setting: Setting, shop: Shop) -> None:
        """Begin with nothing moved yet."""
        self.clearance = float(shop.lathe.contact_clearance)
        self.look = 2.0 * float(shop.lathe.rapid_clearance)
        self.findings: list[Finding] = []
        self._shapes: dict[int, ToolShape] = {}
        self._fixed: tuple[Motion, Near] | None = None

    @property
    def fixed(self) -> Approach | None:
        """The nearest approach so far to anything but the work."""
        return None if self._fixed is None else _to_obstacle(*self._fixed)

    def shape(self, tool: Tool) -> ToolShape:
        """Return the tool's shape, worked out once."""
        shape = self._shapes.get(tool.number)
        if shape is None:
            bodies = tool_bodies(tool)
            nose, *others = (SolidBody(b, find_underside(b.polygon, b.round), sides_of(b.polygon)) for b in bodies)
            box = _around([nose.under.box, *(s.under.box for s in others)])
            shape = self._shapes[tool.number] = ToolShape(tool, nose, tuple(others), box)
        return shape

    def beside_work(self, move: KnownMove, metal: Metal) -> bool:
        """Tell whether the tool may come near the work anywhere on a move."""
        return _may_reach(metal, move.shape.box, move.box, self.look)

    def approach(self, move: KnownMove, metal: Metal | None, nose_hit: Hit | None = None) -> Approach | None:
        """Return the nearest that a move comes to anything solid; note a finding where that is too near.

        Args:
            metal: the work after the move; None where the work is not near.
            nose_hit: how far the nose of a rapid runs into the metal; None for a feed motion, whose nose cuts.
        """
        motion, near, best, found = move.motion, move.near, self.look, None
        if near is not None:
            best = min(near.distance, best)
            self._keep_fixed(motion, near)
        if metal is not None:
            found = self._nearest_of_work(move, metal, best, nose_hit)
        if found is not None:
            return _to_work(motion, found)
        return None if near is None else _to_obstacle(motion, near)

    def _keep_fixed(self, motion: Motion, near: Near) -> None:
        """Keep the nearest approach to anything but the work, and note a finding where that is too near."""
        if near.distance < self.clearance - FILM:
            self._too_near(motion, near)
        if self._fixed is None or near.distance < self._fixed[1].distance:
            self._fixed = (motion, near)

    def _nearest_of_work(self, move: KnownMove, metal: Metal, best: float, nose_hit: Hit | None) -> Beside | None:
        """Return what comes nearest to the work, if nearer than best; a rapid straight outward only leaves it."""
        found: Beside | None = None
        if nose_hit is None or move.box[0] != move.box[2] or move.path.end[1] < move.path.start[1]:
            for solid in move.shape.others:
                found = self._beside_work(move, solid, metal, best) or found
                best = best if found is None else found.distance
        if nose_hit is not None:
            found = _nose_beside_work(move, metal, best, nose_hit) or found
        return found

    def _too_near(self, motion: Motion, near: Near) -> None:
        body, obstacle, distance = near.pair.body.name, near.pair.obstacle.name, near.distance
        least = f"{mm(self.clearance)} must stay clear"
        what = f"the {body} comes within {micrometres(distance)} of the {obstacle}; {least}"
        if distance < 0.0:
            what = f"the {body} runs {micrometres(-distance)} into the {obstacle}"
        at, amount = nearest_points(near)[1], max(-distance, 0.0)
        self.findings.append(
            find(motion.line, "contact", what, amount=amount, at=at, tip=near.tip, obstacle=obstacle, tool=motion.tool)
        )

    def _beside_work(self, move: KnownMove, solid: SolidBody, metal: Metal, best: float) -> Beside | None:
        """Return a holder's outline beside the work, if nearer than best; note a finding where it runs into it."""
        path, motion = move.path, move.motion
        if not _may_reach(metal, solid.under.box, move.box, max(best, 0.0)):
            return None
        hit = worst_hit(along(Metal.overlap, metal, solid.under, path, move.box, 0))
        if hit.amount <= INTO:
            return find_beside(solid, path, metal, best)
        amount, at = hit.amount, (hit.z, hit.x)
        what = f"the {solid.body.name} runs {micrometres(amount)} into the work at {place(*at)}"
        self.findings.append(
            find(motion.line, "contact", what, amount=amount, at=at, tip=path.end, obstacle="work", tool=motion.tool)
        )
        return _inside(solid, path, hit, amount) if -amount < best else None


def _around(boxes: list[Box]) -> Box:
    """Return the least box about some boxes."""
    lows, highs = [b[:2] for b in boxes], [b[2:] for b in boxes]
    return *map(min, zip(*lows, strict=True)), *map(max, zip(*highs, strict=True))


def _may_reach(metal: Metal, own: Box, box: Box, near: float) -> bool:
    """Tell whether a body in a box of its own may come so near the metal, mm, anywhere in a box of places."""
    return metal.reaches(box[0] + own[0] - near, box[2] + own[2] + near, box[1] + own[1] - near)


def _inside(solid: SolidBody, path: Line | Arc, hit: Hit, amount: float) -> Beside:
    at = (hit.z, hit.x)
    return Beside(-amount, solid, path.end, path.end, Gap(0.0, at, at))


def find_beside(solid: SolidBody, path: Line | Arc, metal: Metal, best: float) -> Beside | None:
    """Return how near a body that does not overlap the work comes to it; None if not below best, mm."""
    if isinstance(path, Arc):
        places = flatten(path, CHORD)
    elif path.start[0] == path.end[0] and path.end[1] < path.start[1]:
        places = [path.end, path.end]  # straight inward nothing comes nearer before the end
    else:
        places = [path.start, path.end]
    found: Beside | None = None
    for start, end in pairwise(places):
        gap = find_gap(metal, solid.sides, solid.body.round, start, end, best)
        if gap is not None:
            best = gap.distance
            found = Beside(best, solid, start, end, gap)
    return found


def _nose_beside_work(move: KnownMove, metal: Metal, best: float, hit: Hit) -> Beside | None:
    """Return how near the nose of a rapid comes to the work, if nearer than best and it does not only leave it."""
    nose, path = move.shape.nose, move.path
    if hit.amount > INTO:
        return _inside(nose, path, hit, hit.along(path)) if -hit.along(path) < best else None
    (z0, x0), (z1, x1) = path.start, path.end
    best = max(best, 0.0)
    if (z0 == z1 and x1 >= x0) or not _may_reach(metal, nose.under.box, move.box, best):
        return None
    found = find_beside(nose, path, metal, best)
    leaves = Line(path.start, path.start)
    if found is None or (z0 != z1 and find_beside(nose, leaves, metal, found.distance + 1e-9) is not None):
        return None
    return found


def rubbed_length(nose: SolidBody, path: Line | Arc, metal: Metal) -> float:
    """Return the length along Z over which the nose slides on the metal, mm, beyond its own width."""
    if isinstance(path, Arc) or path.start[0] == path.end[0]:
        return 0.0
    lowered = Line(*(Point(p[0], p[1] - 2.0 * INTO) for p in (path.start, path.end)))
    widths = [r[1] - r[0] for r in along(Metal.overlap, metal, nose.under, lowered, bounds(lowered), 0)]
    return max(max(widths, default=0.0) - 2.0 * nose.body.round, 0.0)


def _to_obstacle(motion: Motion, near: Near) -> Approach:
    on_tool, on_obstacle = nearest_points(near)
    distance, pair, tip, _ = near
    return Approach(motion.line, distance, pair.obstacle.name, pair.body.name, tip, on_tool, on_obstacle, motion.tool)


def _to_work(motion: Motion, found: Beside) -> Approach:
    body, gap = found.solid.body, found.gap
    on_work = Point(*gap.on_work)
    tip = find_tip(found.solid.sides, found.start, found.end, gap)
    on_tool = _toward(gap.on_core, on_work, body.round)
    return Approach(motion.line, found.distance, "work", body.name, tip, on_tool, on_work, motion.tool)


def _toward(a: tuple[float, float], b: tuple[float, float], far: float) -> Point:
    """Return the point on the way from a to b that lies `far` from a, mm."""
    size = math.hypot(b[0] - a[0], b[1] - a[1])
    share = far / size if size else 0.0
    return Point(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
