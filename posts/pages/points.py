"""Edges, fillets, undercuts and tapers by two handles: places at which both slides are set, one after the other."""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from itertools import pairwise
from operator import itemgetter
from types import MappingProxyType

from cam.geometry.path import Arc, Chain, Line, Point, Segment, ends_of, flatten, length, shift
from cam.ground.figures import LEAST, Figures
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PRINTED
from cam.plan.model import Pass
from cam.setting.model import Setting, Turned
from cam.shop.model import Lathe, Tool
from posts.pages.near import drawn_in, is_clear
from posts.pages.readings import Scales, Side, SlideReading, SlideScale
from posts.pages.standing import Standing

RIDGE = 0.02
"""The height of metal that may stand between two places, mm, while there are no more than MOST; a slip stone takes it
off. Common practice, no source."""
MOST = 10
"""The most places that are worth setting for one edge; where more would be wanted, the metal between them is higher."""
HALF = 0.5
"""The most that may stand between places of what stood before, as a share: where more does, an edge is hardly cut."""
STONED, MANY = 0.2, 60
"""The metal between two places is never higher than this, mm, while there are no more places than so many."""
SAGITTA = 0.0005
"""How far the straight pieces that stand for an arc may stray from it, mm."""
NARROW = 0.1
"""The distance between the spots of a line at which the metal left is looked at, in radii of the nose."""
WORTH = 0.003
"""How much a row of points must take off, mm, to be worth setting: the metal before is known no better."""
FINEST = 0.001
"""How much must come off at a place, mm, to be worth setting it."""
BEHIND = 0.01
"""How far behind a shoulder the metal is looked at that its face reaches up to, mm."""
COARSE = 0.03
"""A division that changes the diameter by more than this, mm, is halved by eye for an edge."""

RIDGES = 0.005
"""A ridge between places that is higher than this, mm, is told, if only as one in the last digit."""


class Places(Row):
    """The places at which both slides are set.

    Attributes:
        places: (z, x) as read, toward the headstock. at: the same in mm, x a radius.
        ridge: height of the metal that stands between them, mm.
    """

    places: tuple[tuple[str, str], ...]
    at: tuple[Point, ...]
    ridge: float

    def ridges(self, figures: Figures) -> str:
        """Say how high the metal between places stands, "ridges 0.02"; "" for none."""
        ridge = figures.size(max(self.ridge, figures.digit() if self.ridge > RIDGES else 0.0))
        return f"ridges {ridge}" if float(ridge) > 0 else ""

    def slid(self, figures: Figures) -> str:
        """Say how far the top slide goes along its slope, rounded down: it stops no further than its last place."""
        digit = figures.digit(along=True)
        return figures.place(math.floor(math.dist(*self.at) / digit + 1e-6) * digit)


def _places(readings: Sequence[tuple[SlideReading, SlideReading]], ridge: float = 0.0) -> Places:
    """Return the places at readings of Z and X."""
    at = tuple(Point(z.at, x.at / 2) for z, x in readings)
    return Places(tuple((z.text, x.text) for z, x in readings), at, ridge)


def is_slant(piece: Segment) -> bool:
    """Tell whether both slides move at once on a piece."""
    along, across = abs(piece.end.z - piece.start.z), abs(piece.end.x - piece.start.x)
    return isinstance(piece, Arc) or min(along, across) > AS_PRINTED


def slants_of(cut: Pass) -> tuple[Segment, ...]:
    """Return the part of a path from its first slant to its last, at the places where the slide is wanted."""
    path = shift(cut.path, -cut.z_told, 0.0)
    at = [n for n, piece in enumerate(path) if is_slant(piece)]
    return tuple(path[at[0] : at[-1] + 1]) if at else ()


def slants_in(cut: Pass) -> bool:
    """Tell whether a cut along Z begins down a slope, as where it comes in beside a centre over extra length."""
    (z0, x0), (z1, x1) = cut.path[0].start, cut.path[0].end
    return z0 != z1 and x0 != x1


def in_and_out(
    cut: Pass, scales: Scales, standing: Standing, stops: Mapping[float, float] = MappingProxyType({})
) -> Places:
    """Find places for an edge or a fillet: Z on a mark, X in to the tool's path there or the next reading outside it.

    Both ends of the path first, then always where most is left, until it is RIDGE or less, and half of what stood, or
    there are MOST places; then halfway between the places about it, as beside a slim knife most is left right beside a
    place. None at all where the marks of the dials would take nothing off, or on an edge that is all for the stone.

    Args:
        stops: where Z landed at each shoulder, mm, by where the plan has it; an undercut goes no further.
    """
    path = slants_of(cut)
    if not path or cut.tool.kind == "grooving":
        return _plunges(cut, scales, standing, stops)
    search = _Search(cut, path, scales, standing)
    if cut.kind == "edge" and search.most <= RIDGE:
        return _places((), search.most)
    left = search.seek()
    if _worst(left) > STONED:  # the metal stands before the spot, where no place at the spot takes it off
        search = _Search(cut, path, scales, standing)
        search.spread()
        left = search.seek()
    taken = (stood - height for stood, (height, _) in zip(sorted(search.whole, reverse=True), left, strict=True))
    if not search.found or max(taken, default=0.0) < WORTH:
        return _places((), _worst(left))
    return _places(search.readings(), _worst(left))


def _worst(left: Sequence[tuple[float, float]]) -> float:
    """Return the height of the most metal that is left, mm; see _Search.left."""
    return left[0][0] if left else 0.0


class _Search:
    """The search for the places of one path.

    Attributes:
        low, high: Z of the path's ends, mm. whole: what stood above each spot of the wanted surface before, mm.
        most: the most of that.
        found: the readings of Z and X at each Z. passed: the heights between which a tool passes over each spot, mm.
    """

    def __init__(self, cut: Pass, path: Sequence[Segment], scales: Scales, standing: Standing) -> None:
        self.scales, self.standing, self.fillet = scales, standing, cut.kind == "fillet"
        self.nose, self.left_hand, self.flanks = float(cut.tool.nose_radius), cut.tool.hand == "left", _flanks(cut.tool)
        self.corners = [p for piece in path for p in flatten(piece, SAGITTA)]
        self.low, self.high = min(p.z for p in self.corners), max(p.z for p in self.corners)
        self.surface = list(_surface(path, self.nose, self.left_hand, standing))
        self.whole = [_thick(s, standing, self.left_hand) for s in self.surface]
        self.most = max(self.whole, default=0.0)
        self.found: dict[float, tuple[SlideReading, SlideReading]] = {}
        self.passed: list[list[tuple[float, float]]] = [[] for _ in self.surface]

    def seek(self) -> list[tuple[float, float]]:
        """Find the places one by one; return what they leave, see left."""
        self.add(self.mark(self.high))
        self.add(self.lowest())
        left, tried = self.left(), set(self.found)
        enough = min(RIDGE, HALF * self.most)
        while len(self.found) < (MANY if _worst(left) > STONED else MOST):
            wanted = [z for height, z in left if height > enough]
            if len(self.found) >= MOST:
                wanted = [*map(self.halfway, wanted), *wanted]
            new = next((z for z in map(self.mark, wanted) if z not in tried), None)
            if new is None:
                break
            tried.add(new)
            if self.add(new):
                left = self.left()
        return left

    def spread(self) -> None:
        """Add places all along the path, as far apart as the nose is wide, or as half of the places allow."""
        apart = max(2 * self.nose, 2 * (self.high - self.low) / MANY)
        for n in range(1, int((self.high - self.low) / apart) + 1):
            self.add(self.mark(self.high - n * apart))

    def readings(self) -> list[tuple[SlideReading, SlideReading]]:
        """Return Z and X of all places found, toward the headstock."""
        return [self.found[z] for z in sorted(self.found, reverse=True)]

    def mark(self, z: float) -> float:
        """Return the reading nearest to a Z that lies on the path; nan where the dial has none there."""
        scale = self.scales.z
        options = [scale.mark(z, "near"), scale.mark(z, "leave"), scale.mark(z - scale.step), scale.finest(z, "near")]
        return next((o.at for o in options if self.low - 1e-6 <= o.at <= self.high + 1e-6), math.nan)

    def lowest(self) -> float:
        """Return the reading nearest to the path's headstock end.

        It may be half a division where that end is the shoulder's place: a fillet as high as the marks let its face be.
        """
        top = self.scales.x.mark(2 * (max(p.x for p in self.corners) + self.nose)).at
        if not self.fillet or self.standing.greatest(self.low - BEHIND, self.low) > top + AS_PRINTED:
            return self.mark(self.low)
        return self.scales.z.finest(self.low, "leave").at

    def halfway(self, z: float) -> float:
        """Return the middle between the places on both sides of a Z, mm; itself where there is none on one side."""
        low = max((f for f in self.found if f <= z), default=z)
        high = min((f for f in self.found if f > z), default=z)
        return (low + high) / 2 if low < z < high else z

    def add(self, z: float) -> bool:
        """Add the place at a Z if the dial has it and the tool takes something off there; tell whether it was added."""
        if math.isnan(z):
            return False
        stands = self.standing.greatest(z - AS_PRINTED, z + 2 * self.nose + AS_PRINTED)
        across = next((x for x in self.across(z) if x.at < stands - AS_PRINTED), None)
        if across is None:
            return False
        self.found[z] = found = self.scales.z.finest(z, "near"), across
        way = -1.0 if self.left_hand else 1.0
        centre = Point(way * found[0].at + self.nose, across.at / 2 + self.nose)
        for s, passed in zip(self.surface, self.passed, strict=True):
            spot, normal = Point(way * s.at.z, s.at.x), Point(way * s.normal.z, s.normal.x)
            if (heights := _passed(spot, normal, centre, self.nose, self.flanks)) is not None:
                insort(passed, heights, key=itemgetter(1))
        return True

    def across(self, z: float) -> Iterator[SlideReading]:
        """Yield the readings of X at a Z on the path; at a fillet's face, which is steep, also one in on its head."""
        scale, steep = self.scales.x, self.fillet and z - self.low <= AS_PRINTED
        radii = (_path_at(self.corners, at) for at in ((z, z + FINEST) if steep else (z,)))
        for radius in (r for r in radii if not math.isnan(r)):
            yield scale.finest(2 * radius, "leave") if scale.step > COARSE else scale.mark(2 * radius)

    def left(self) -> list[tuple[float, float]]:
        """Return the heights of metal above the surface once the tool has been at all places, and the tool's Z, mm.

        The worst comes first. They are exact but for sampling, and no more than stood before. Metal outside a tool's
        trailing edge stands, though the tool has passed below it.
        """
        found = []
        for s, top, passed in zip(self.surface, self.whole, self.passed, strict=True):
            for low, high in reversed(passed):
                if high < top:
                    break
                top = min(top, low)  # noqa: PLW2901
            found.append((top, s.tool_z))
        return sorted(found, reverse=True)


def _path_at(corners: Sequence[Point], z: float) -> float:
    """Return the radius of a path at z, mm; the greatest where it stands upright there."""
    found = []
    for a, b in pairwise(corners):
        near, far = min(a.z, b.z), max(a.z, b.z)
        if near - 1e-6 <= z <= far + 1e-6:
            share = (z - a.z) / (b.z - a.z) if far - near > 1e-9 else 0.0
            found += [a.x + min(max(share, 0.0), 1.0) * (b.x - a.x)] if far - near > 1e-9 else [a.x, b.x]
    return max(found, default=math.nan)


def _plunges(cut: Pass, scales: Scales, standing: Standing, stops: Mapping[float, float]) -> Places:
    """Find the places of a tool that goes in at several Z, as a grooving tool does: its lowest, each reading once.

    Where the mark that leaves metal takes nothing off, X is set to the nearest mark or half mark; no place if that does
    not either.
    """
    lowest, zs = _bottom(shift(cut.path, -cut.z_told, 0.0))
    found = {z.text: z for z in (_beside(scales.z, z, stops) for z in zs)}
    low, end = min(z.at for z in found.values()), max(z.at for z in found.values()) + float(cut.tool.width)
    stood = standing.greatest((low + end) / 2, end)  # the thin end of a taper may stand no higher than its floor
    marks = (scales.x.mark(2 * lowest), scales.x.finest(2 * lowest, "near"))
    x = next((x for x in marks if x.at < stood - AS_PRINTED), None)
    return _places([(z, x) for z in found.values()] if x is not None else [])


def _bottom(path: Chain) -> tuple[float, list[float]]:
    """Return the least radius of a path's ends and corners, and every Z where it is as low, from the tailstock, mm."""
    ends = [*ends_of(path)]
    lowest = min(p.x for p in ends)
    return lowest, sorted({round(p.z, 6) for p in ends if p.x < lowest + AS_PRINTED}, reverse=True)


def _beside(scale: SlideScale, z: float, stops: Mapping[float, float]) -> SlideReading:
    """Return the mark nearest to a Z; at a shoulder, the mark or half mark nearest to where Z was stopped for it."""
    landed = next((at for wanted, at in stops.items() if abs(wanted - z) < AS_PRINTED), math.nan)
    return scale.mark(z, "near") if math.isnan(landed) else scale.finest(landed, "near")


class Spot(Row):
    """A point of the wanted surface: its place, its normal away from the metal, the metal over it, mm; the tool's Z."""

    at: Point
    normal: Point
    over: float
    tool_z: float


def _surface(path: Sequence[Segment], nose: float, left: bool, standing: Standing) -> Iterator[Spot]:
    """Yield the spots of the wanted surface, as far as metal stands on it."""
    side = -nose if left else nose
    for piece in path:
        for p, n in _with_normals(piece, nose):
            at = Point(p.z + side - nose * n.z, p.x + nose - nose * n.x)
            over = standing.greatest(at.z - AS_PRINTED, at.z + AS_PRINTED) / 2 - at.x
            if over > AS_PRINTED:
                yield Spot(at, n, over, p.z)


def _thick(s: Spot, standing: Standing, left: bool) -> float:
    """Return the metal above a spot along its normal, mm: up to the surface over it, or out to the face beside it."""
    way, low, high = -1.0 if left else 1.0, 0.0, s.over / s.normal.x if s.normal.x > AS_PRINTED else s.over
    while high - low > SAGITTA:
        along = (low + high) / 2
        z, x = s.at.z + way * abs(s.normal.z) * along, s.at.x + s.normal.x * along
        if standing.greatest(z - AS_PRINTED, z + AS_PRINTED) / 2 > x:
            low = along
        else:
            high = along
    return high


def _flanks(tool: Tool) -> tuple[Point, Point]:
    """Return the ways out of a right-hand tool square to its trailing and its leading edge, as it goes in along X.

    They are square to X where only the nose is known, and beside a leading edge that the nose goes before.
    """
    if not tool.included:
        return Point(1.0, 0.0), Point(-1.0, 0.0)
    trailing, lean = math.radians(tool.trailing), min(math.radians(float(tool.approach) - 90.0), 0.0)
    return Point(math.sin(trailing), -math.cos(trailing)), Point(-math.cos(lean), math.sin(lean))


def _passed(s: Point, n: Point, c: Point, r: float, flanks: tuple[Point, Point]) -> tuple[float, float] | None:
    """Return the heights over a point along its normal, from and to, between which one tool passes, mm; None if none.

    As it goes in, a tool passes all that is no farther than r from the wedge between its flanks, whose point is c.
    """
    at = Point(s.z - c.z, s.x - c.x)
    low, high = _between_flanks(at, n, r, flanks)
    along = at.z * n.z + at.x * n.x
    under = r * r - at.z * at.z - at.x * at.x + along * along
    half = math.sqrt(max(under, 0.0))
    if low <= high and _before_nose(at, n, low, flanks):
        low = max(low, -along - half) if under >= 0 and half - along >= low else math.inf
    if low <= high < math.inf and _before_nose(at, n, high, flanks):
        high = half - along
    return (low, high) if low <= high else None


def _between_flanks(at: Point, n: Point, r: float, flanks: tuple[Point, Point]) -> tuple[float, float]:
    """Return the heights, from and to, that lie no farther than r outside either flank; the first is higher if none."""
    low, high = 0.0, math.inf
    for f in flanks:
        off, toward = at.z * f.z + at.x * f.x - r, n.z * f.z + n.x * f.x
        if toward < -1e-9:
            low = max(low, off / -toward)
        elif toward > 1e-9:
            high = min(high, -off / toward)
        elif off > 0:
            return math.inf, 0.0
    return low, high


def _before_nose(at: Point, n: Point, height: float, flanks: tuple[Point, Point]) -> bool:
    """Tell whether the nose, and neither flank, is nearest to a place along a normal."""
    z, x = at.z + height * n.z, at.x + height * n.x
    trailing, leading = flanks
    return z * -trailing.x + x * trailing.z <= 0 and z * leading.x - x * leading.z <= 0


def _with_normals(piece: Segment, nose: float) -> Iterator[tuple[Point, Point]]:
    """Yield places along a piece with the direction away from the metal; faces look outward or toward the tailstock.

    They lie close enough together that the metal a nose leaves between two places is seen at its highest.
    """
    if isinstance(piece, Line):
        count = min(max(24, math.ceil(length(piece) / (NARROW * nose))), 150) if nose > 0 else 24
        dz, dx = piece.end.z - piece.start.z, piece.end.x - piece.start.x
        far = math.hypot(dz, dx)
        n = Point(-dx / far, dz / far) if dz > 0 or (dz == 0 and dx < 0) else Point(dx / far, -dz / far)
        for k in range(count + 1):
            yield Point(piece.start.z + dz * k / count, piece.start.x + dx * k / count), n
        return
    for p in flatten(piece, 1e-5):
        n = Point((p.z - piece.centre.z) / piece.radius, (p.x - piece.centre.x) / piece.radius)
        yield p, n if n.z + n.x > 0 else Point(-n.z, -n.x)


def room_thinner(tapered: Turned, turned: Sequence[Turned]) -> float:
    """Return how much thinner it may be made, mm, by its limits and those of a section that goes on at its size."""
    level = (t for t in turned if tapered.far_kind == "level" and t.near == tapered.far)
    thin = 2.0 * min(tapered.end_radius, tapered.radius_far)
    sizes = [(thin, tapered), *((2.0 * tapered.radius_far, t) for t in level)]
    limited = ((size, t.size_limits) for size, t in sizes)
    return min((size - limits[0] for size, limits in limited if limits is not None), default=math.inf)


def before_taper(tapered: Turned, turned: Sequence[Turned]) -> tuple[float, float]:
    """Return the radius of the section before a taper's near end, and the least diameter there, mm; see set_over."""
    before = next((t for t in turned if abs(t.far - tapered.near) < AS_PRINTED), None)
    if before is None:
        return 0.0, 0.0
    limits = before.section.turned_limits
    if limits is None or limits[0] > 2 * tapered.radius_near + AS_PRINTED:
        return before.radius_far, 0.0
    return before.radius_far, limits[0]


def _may_be(nearest: float, aim: float, room: float, least: float) -> bool:
    """Tell whether the reading nearest to an aim, mm of diameter, makes nothing too thin; see set_over."""
    return aim - nearest <= max(room - LEAST, 0.0) + AS_PRINTED and nearest >= least - AS_PRINTED


def taper_places(cut: Pass, scales: Scales, tapered: Turned, setting: Setting, lathe: Lathe) -> tuple[Places, float]:
    """Find the two places of a taper, the first at the first mark that is clear of a centre; and the angle, degrees."""
    (floor, least), room = before_taper(tapered, setting.turned), room_thinner(tapered, setting.turned)
    place = partial(set_over, cut, scales, last=cut.kind == "finish", floor=floor, room=room, least=least)
    for by in drawn_in(lathe, scales.z.step):
        found, angle = place(nearer=by)
        if found.at[0].z > found.at[1].z and is_clear(setting, lathe, cut.tool, found.at[0]):
            return found, angle
    return place()


def set_over(
    cut: Pass, scales: Scales, *, last: bool, floor: float = 0.0, room: float = math.inf,
    least: float = 0.0, nearer: float = 0.0,
) -> tuple[Places, float]:  # fmt: skip
    """Find two places between which the top slide, set over, carries the tool along a taper; and the angle, degrees.

    Args:
        last: whether this cut leaves the size, so that the nearest reading is taken on X, half a division too.
        floor: the radius of the section before its near end, into which no place of the taper may reach, mm.
        room, least: how much thinner the nearest reading may make it, and how thin at its first place, mm of diameter;
            else the one that leaves metal is taken.
        nearer: how much nearer to the headstock than planned it is begun, mm.
    """
    slant = max((piece for piece in slants_of(cut) if isinstance(piece, Line)), key=length)
    low, high = sorted((slant.start, slant.end))
    growth = (high.x - low.x) / (high.z - low.z)
    first = scales.z.mark(high.z - nearer, "near")
    if first.at > high.z + AS_PRINTED and high.x + growth * (first.at - high.z) < floor - AS_PRINTED:
        first = scales.z.mark(first.at - scales.z.step, "near")
    places = (first, scales.z.mark(low.z))
    aims = [2 * (low.x + growth * (z.at - low.z)) for z in places]
    nearest = scales.x.finest(aims[0], "near").at
    side: Side = "near" if last and _may_be(nearest, aims[0], room, least) else "leave"
    found = [(z, scales.x.finest(aim, side)) for z, aim in zip(places, aims, strict=True)]
    angle = math.degrees(math.atan(abs(growth)))
    (z0, x0), (z1, _) = found
    rise = math.tan(math.radians(round(angle, 2))) * (z1.at - z0.at)  # the slide goes where it is set over to
    at = (Point(z0.at, x0.at / 2), Point(z1.at, x0.at / 2 + math.copysign(rise, growth * (z1.at - z0.at))))
    return Places(tuple((z.text, x.text) for z, x in found), at, 0.0), angle
