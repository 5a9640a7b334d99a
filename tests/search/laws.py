"""Laws that every accepted job must keep, from the program text alone: sizes, shoulders, corners, rapids, speeds.

The part's outline is drawn here anew from its plain numbers: the lowest and the highest that its limits allow, with
what is left for stoning. Where each setting's zero lies is taken from the words in the text that the turner reads.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from tests.search.lengths import SHOULDER, broken, stood
from tests.search.reader import Program, read
from tests.search.spec import Corner, Edge, Part
from tests.search.sweep import Array, Piece, Tool, lowest_at, pieces_of, ways_of

Place = TypeVar("Place", float, Array)
"""One place along the axis, or many."""
FINE = 0.002
"""How far a radius may be off its band, or a shoulder off its place, mm: rounding of the text, chords for arcs."""
LEAST_STEP = 0.05
"""A shoulder lower than this on each side, mm, is lost."""
AIMED = 0.12
"""How far beside its drawn place a shoulder that limits move is looked for before a taper, mm."""
LEAST_BEND, CLEAR_BEND = 0.02, 0.1
"""How much more steeply one section must rise than its neighbour of its size for their meeting to be looked for; and
for its place to be known as finely as a shoulder's: a micrometre of radius then moves it by 10."""
NEAR = 0.03
"""How far from its face a taper is looked at for the height of a shoulder, mm."""
GENERAL = ((6.0, 0.05), (30.0, 0.1), (120.0, 0.15))
"""Size up to, and how far it may be off where no limits are drawn, mm: ISO 2768-1, class f."""
GRID = 0.05
BESIDE = 0.006


class BrokenLawError(Exception):
    """A law that a job breaks, in words."""


@dataclass(frozen=True)
class Shop:
    """What the search knows of the shop that it drew.

    Attributes:
        tools: by number. x, z: backlash, mm of slide. step: the least that X can be set by on diameter, mm.
            speeds: those that there are, rev/min; least and most where it is a range. feeds: least and most, mm/rev.
    """

    tools: dict[int, Tool]
    x: float
    z: float
    step: float
    speeds: tuple[float, ...]
    ranged: bool
    feeds: tuple[float, float]


@dataclass
class Setting:
    """One setting as its text says it: part z is zero + sense * Z."""

    program: Program
    end: str
    zero: float
    sense: int

    def to_part(self, pieces: list[Piece]) -> Callable[[Array], Array]:
        """Return setting Z of a part z, for an array."""
        return lambda zs: (zs - self.zero) * self.sense


# Where things are --------------------------------------------------------------------------------------


def settings_of(part: Part, texts: list[str]) -> list[Setting]:
    """Read every text, and find where its zero lies in the part."""
    found = []
    for text in texts:
        program = read(text)
        if not program.ended:
            raise BrokenLawError("a program has no end")
        end = re.search(r"the ([AB]) end is turned", program.comments, re.I)
        if end is None:
            raise BrokenLawError("a program does not say which end is turned")
        side = end[1].upper()
        sense = -1 if side == "A" else 1
        found.append(Setting(program, side, _zero(part, program.comments, side), sense))
    return found


def _zero(part: Part, comments: str, end: str) -> float:
    if re.search(r"Z zero is the finished free end", comments, re.I):
        return 0.0 if end == "A" else part.length
    if face := re.search(r"Z zero is the faced ([AB]) end", comments, re.I):
        return -part.extra["a"] if face[1].upper() == "A" else part.length + part.extra["b"]
    shoulder = re.search(SHOULDER, comments, re.I)
    if shoulder is None:
        raise BrokenLawError("a program does not say where Z zero is")
    at = part.index(shoulder[1])
    return part.face(at if shoulder[2].upper() == "A" else at + 1)


# The outline that is asked for -------------------------------------------------------------------------


class Wanted:
    """The lowest and the highest that the part may be turned to, at any z."""

    def __init__(self, part: Part, nose: float) -> None:
        self.part, self.nose = part, nose
        self.faces = part.faces()
        self.places = [part.face(i) for i in range(len(self.faces))]
        self.offsets = [self._offsets(i) for i in range(len(part.sections))]

    def at(self, z: float) -> int:
        """Return the section that a place lies in, by the faces as turned."""
        return next(i for i in range(len(self.part.sections)) if z <= self.places[i + 1] + 1e-12)

    def band(self, i: int, z: Place) -> tuple[Place, Place]:
        """Return the least and greatest radius of a section's surface carried on to z, or to many, mm."""
        size = self.part.sections[i].da + 2 * self.rise(i, "a") * (z - self.faces[i])
        vague = 2 * abs(self.rise(i, "a")) * max(self._vague(face) for face in (i, i + 1))
        low, high = self.offsets[i][0] - vague, self.offsets[i][1] + vague
        return (size + low) / 2, (size + high) / 2

    def _vague(self, face: int) -> float:
        """Return how far from where it is taken to be a meeting may be, mm, where it bends too little to show it."""
        if face not in self.part.vague:
            return 0.0
        bend = self.rise(face, "a") + self.rise(face - 1, "b")
        return self.part.vague[face] if abs(bend) <= LEAST_BEND else 0.0

    def _offsets(self, i: int) -> tuple[float, float]:
        """Return how far a section may be off nominal on diameter as turned: its limits, or the general ones."""
        s = self.part.sections[i]
        if s.as_stock:
            return 0.0, 0.0
        general = next(within for most, within in GENERAL if s.thickest <= most)
        low, high = s.limits or (-general, general)
        return low + s.on_diameter, high + s.on_diameter

    def rise(self, i: int, side: str) -> float:
        """Growth of a section's radius for each mm inward from its side."""
        s = self.part.sections[i]
        return (s.db - s.da) / 2 / (self.faces[i + 1] - self.faces[i]) * (1 if side == "a" else -1)

    def off(self, i: int, side: str, z: float) -> float:
        """Return the distance of z from the section's face at its side, mm."""
        return z - self.places[i] if side == "a" else self.places[i + 1] - z

    def limits(self, z: float) -> tuple[float, float]:
        """Return the least and greatest radius that may stand at z, mm."""
        i = self.at(z)
        low, high = self.band(i, z)
        for side in "ab":
            u, m = self.off(i, side, z), self.rise(i, side)
            edge, corner = self.part.edge(i, side), self.part.corner(i, side)
            low, high = low - _edge_cut(edge, m, u), high - _edge_cut(edge, m, u)
            if corner is not None and corner.kind == "undercut" and 0 <= u <= corner.width:
                low, high = self.band(i, self.places[i if side == "a" else i + 1])  # its floor is level in a taper too
            if corner is not None and not self.part.is_groove(i):
                less, more = _corner(corner, u, self.height(i, side), -m)
                low, high = low + less, high + more
        high += self._hollow(i, z)
        if self.part.is_groove(i) and min(self.off(i, side, z) for side in "ab") < self.reach(i, "a"):
            high += self.reach(i, "a")  # its inner corners may be as round as it is deep
        return low, high

    def bands(self, zs: Array) -> tuple[Array, Array]:
        """Return the same for many places, rising: those clear of edges and corners are reckoned at once."""
        lows, highs = np.empty(len(zs)), np.empty(len(zs))
        for i in range(len(self.part.sections)):
            first, last = np.searchsorted(zs, (self.places[i] + 1e-12, self.places[i + 1] + 1e-12), side="right")
            here = zs[first:last]
            lows[first:last], highs[first:last] = self.band(i, here)
            clear = (here - self.places[i] > self._far(i, "a")) & (self.places[i + 1] - here > self._far(i, "b"))
            for at in first + np.flatnonzero(~clear):
                lows[at], highs[at] = self.limits(float(zs[at]))
        return lows, highs

    def _far(self, i: int, side: str) -> float:
        """How far from a side nothing of its edge or corner is left for certain, mm."""
        reach = self.reach(i, side)
        if reach < 0:  # a chamfer on a taper that is as steep
            return math.inf
        return (2 if self.rise(i, side) else 1) * reach + FINE  # a fillet reaches further where the surface falls to it

    def _bend(self, i: int, side: str) -> float:
        """How much more steeply the neighbour at a side goes on at the same size, radians; zero or less for a ridge."""
        at = i - 1 if side == "a" else i + 1
        if not 0 <= at < len(self.part.sections) or self.part.beside(i, side) != self.part.size_at(i, side):
            return 0.0
        return math.atan(self.rise(i, side)) + math.atan(self.rise(at, "b" if side == "a" else "a"))

    def _hollow(self, i: int, z: float) -> float:
        """What a nose that touches both leaves above a section at z, where its neighbour goes on more steeply, mm."""
        return max(self._left_in_hollow(i, side, self.off(i, side, z)) for side in "ab")

    def _left_in_hollow(self, i: int, side: str, u: float) -> float:
        bend, r = self._bend(i, side), self.nose
        if bend <= 0 or u < 0:
            return 0.0
        own = math.atan(self.rise(i, side))
        if u >= r * math.tan(bend / 2) * math.cos(own):
            return 0.0
        middle = r * (1 / math.cos(bend - own) - 1 / math.cos(own)) / (math.tan(own) + math.tan(bend - own))
        up = math.tan(own) * middle + r / math.cos(own)
        return up - math.sqrt(max(r * r - (u - middle) ** 2, 0.0)) - math.tan(own) * u

    def height(self, i: int, side: str) -> float:
        """Height of the shoulder at a section's side, below the edge at its top, mm; the most that limits allow."""
        at, other = (i - 1, "b") if side == "a" else (i + 1, "a")
        face = self.places[i] if side == "a" else self.places[i + 1]
        return self.band(at, face)[1] - self.band(i, face)[0] - self.part.edge(at, other).size

    def reach(self, i: int, side: str) -> float:
        """How far along a section its edge or corner reaches from a side, mm."""
        m, edge, corner = self.rise(i, side), self.part.edge(i, side), self.part.corner(i, side)
        if self.part.is_groove(i):
            return min(c.radius for c in self.part.sections[i].corners.values())
        if edge.kind == "chamfer":
            return edge.size / (1 - m)
        if edge.kind == "radius":
            return edge.size * (1 - m / math.hypot(1, m))
        if corner is None:
            return max(self.nose * math.tan(self._bend(i, side) / 2), 0.0)
        return corner.width if corner.kind == "undercut" else corner.radius


def _edge_cut(edge: Edge, m: float, u: float) -> float:
    """How much lower than its surface an edge is at a distance from its face, mm; m: rise of the surface inward."""
    s = edge.size
    if edge.kind == "sharp" or u < 0:
        return 0.0
    if edge.kind == "chamfer":
        return max(s - u * (1 - m), 0.0)
    slant = math.hypot(1, m)
    if u >= s * (1 - m / slant):
        return 0.0
    return m * u + s * (slant - m) - math.sqrt(max(s * s - (s - u) ** 2, 0.0))


def _corner(corner: Corner, u: float, height: float, m: float) -> tuple[float, float]:
    """What a corner adds to the least and the greatest radius at a distance from the shoulder, mm.

    m: rise of the surface toward the shoulder. The fillet touches that surface and the face.
    """
    if u < 0:
        return 0.0, 0.0
    if corner.kind == "undercut":
        round_ = min(corner.depth, corner.width / 2)
        if u > corner.width:
            return 0.0, 0.0
        inside = round_ <= u <= corner.width - round_
        return -corner.depth, -corner.depth if inside else 0.0
    r = min(corner.radius, max(height, 0.0)) if corner.kind == "nose" else corner.radius
    slant = math.hypot(1.0, m)
    if u >= r * (1 - m / slant):
        return 0.0, 0.0
    stands = r * (slant - m) + m * u - math.sqrt(max(r * r - (r - u) ** 2, 0.0))
    return (stands if corner.kind == "fillet" else 0.0), stands


# The laws ----------------------------------------------------------------------------------------------


def hold(part: Part, shop: Shop, texts: list[str]) -> None:
    """Hold a job to every law.

    Raises:
        BrokenLawError: with the first that it breaks.
    """
    if any(s.length_limits is not None for s in part.sections):
        part = _stood(part, shop, texts)
    settings = settings_of(part, texts)
    for setting in settings:
        _speeds(setting.program, shop)
    done: list[list[Piece]] = []
    for loose in (False, True):
        cut = [(s, pieces_of(s.program.motions, shop.x, shop.z, loose=loose)) for s in settings]
        touching = [_touching(part, *one) for one in cut]
        if touching == done:  # the backlash was taken up in air
            break
        where = "with slides loose at first" if loose else "with slides held against their screws"
        _rapids(part, shop, cut, where)
        Finished(part, shop, cut, where).hold()
        done = touching


def _stood(part: Part, shop: Shop, texts: list[str]) -> Part:
    """Return the part with its faces where the programs leave them; the law of lengths is checked too.

    Raises:
        BrokenLawError: the law of lengths is broken.
    """
    end = len(part.sections)
    first = 0 if re.search("the A end is turned", settings_of(part, texts)[0].program.comments, re.I) else end
    known = {0, end} if len(texts) > 1 else {first}

    def find(part: Part, at: int) -> dict[int, float]:
        settings = settings_of(part, texts)[: at + 1]
        cut = [(s, pieces_of(s.program.motions, shop.x, shop.z, loose=False)) for s in settings]
        finished = Finished(part, shop, cut, "")
        found, met = finished.shoulders(up=settings[at].end == "A"), finished.meetings()
        known.update(found, (face for face, (_, bend) in met.items() if bend > CLEAR_BEND))
        return found | {face: place for face, (place, _) in met.items()}

    part = stood(part, [s.program.comments for s in settings_of(part, texts)], find)
    room = part.stock_length - part.length - sum(part.extra.values()) if part.method != "chuck" else 1.0
    if words := broken(part, known, room=room):
        raise BrokenLawError(words)
    return part


def _speeds(program: Program, shop: Shop) -> None:
    """Check that every cut turns at a speed that there is, and is fed at a feed that there is."""
    for m in program.motions:
        if m.kind == "rapid" or not m.speed:  # neither may take metal off
            continue
        if not m.surface and not _there_is(m.speed, shop):
            raise BrokenLawError(f"line {m.line} turns at {m.speed} rev/min, which there is not")
        if not m.feed > 0:
            raise BrokenLawError(f"line {m.line} has no feed")


def _there_is(speed: float, shop: Shop) -> bool:
    if shop.ranged:
        return shop.speeds[0] * 0.99 <= speed <= shop.speeds[-1] * 1.01
    return any(abs(speed - s) <= 1.0 for s in shop.speeds)


Cut = list[tuple[Setting, list[Piece]]]


def _blank(part: Part, zs: Array) -> Array:
    """Radius of the bar before anything is cut, mm."""
    low, high = _bar(part)
    return np.where((zs >= low) & (zs <= high), part.stock_diameter / 2, 0.0)


def _bar(part: Part) -> tuple[float, float]:
    """Return where the bar's ends stand before anything is cut, mm from the A end."""
    if part.method != "chuck":
        return -part.extra["a"], part.length + part.extra["b"]
    if part.free_end == "B":
        return part.length + part.facing - part.stock_length, part.length + part.facing
    return -part.facing, part.stock_length - part.facing


def _touching(part: Part, setting: Setting, pieces: list[Piece]) -> list[Piece]:
    """Return the ways on which a tool may come to the bar: inside of its diameter, and not beyond its end."""
    end = (_bar(part)[setting.end == "B"] - setting.zero) * setting.sense
    return [p for p in pieces if min(p.xa, p.xb) < part.stock_diameter / 2 and min(p.za, p.zb) < end]


def _rapids(part: Part, shop: Shop, cut: Cut, where: str) -> None:
    """Check that no rapid takes metal off."""
    ends = (-part.extra["a"] - 2.0, part.length + part.extra["b"] + 2.0)
    zs = np.arange(ends[0], ends[1], GRID)
    work = _blank(part, zs)
    top = part.stock_diameter / 2
    for setting, pieces in cut:
        way = slice(None, None, setting.sense)  # so that the setting's own Z rises
        own, places, here = ((zs - setting.zero) * setting.sense)[way], zs[way], work[way]
        for piece in (p for p in pieces if min(p.xa, p.xb) < top):
            tool = shop.tools[piece.tool]
            low, high = sorted((piece.za, piece.zb))
            near = slice(*np.searchsorted(own, (low - BESIDE, high + tool.reach + BESIDE)))
            after, before = lowest_at(piece, tool, own[near]), here[near]
            if piece.rapid and (depth := float(np.max(before - after, initial=0.0))) > FINE:
                at = float(places[near][int(np.argmax(before - after))])
                raise BrokenLawError(
                    f"setting with the {setting.end} end, line {piece.line}: a rapid, or a tool "
                    f"with the spindle standing, takes {1000 * depth:.1f} um off "
                    f"at {at:.2f} mm from the A end, {where}"
                )
            np.minimum(before, after, out=before)


class Finished:
    """The work when every program has been cut, and the laws on its sizes."""

    def __init__(self, part: Part, shop: Shop, cut: Cut, where: str) -> None:
        self.part, self.shop, self.where = part, shop, where
        self.ways = [(setting, ways_of(pieces, shop.tools)) for setting, pieces in cut]
        self.wanted = Wanted(part, shop.tools[1].nose)

    def radius(self, zs: Array) -> Array:
        """Return the radius of the work at each z, mm."""
        found = _blank(self.part, zs)
        for setting, ways in self.ways:
            own = (zs - setting.zero) * setting.sense
            for way in ways:
                found = np.minimum(found, way.lowest(own))
        return found

    def hold(self) -> None:
        """Hold what is left to every law.

        Raises:
            BrokenLawError: with the first that is broken.
        """
        self._outline()
        sizes = [self._size(i) for i in range(len(self.part.sections))]
        for i in range(1, len(self.part.sections)):
            if abs(self.part.size_at(i - 1, "b") - self.part.size_at(i, "a")) > 1e-9:
                self._shoulder(i, sizes)

    def _fail(self, text: str) -> None:
        raise BrokenLawError(f"{text}, {self.where}")

    def _outline(self) -> None:
        """Check that nothing is deeper than the limits allow, and nothing fuller, edges and corners included."""
        length = self.part.length
        zs = np.unique(np.concatenate([np.arange(BESIDE, length, GRID), *self._beside_faces()]))
        zs = zs[(zs > 0) & (zs < length)]
        zs = zs[np.min(np.abs(zs[:, None] - np.array(self.wanted.places)[None, :]), axis=1) >= BESIDE * 0.99]
        radii, (lows, highs) = self.radius(zs), self.wanted.bands(zs)
        out = (radii < lows - FINE) | (radii > highs + FINE)
        for z, r in zip(zs[out], radii[out], strict=True):
            low, high = self._beside(float(z))  # on a steep edge a micrometre along it is more across
            if not low - FINE <= r <= high + FINE:
                name = self.part.sections[self.wanted.at(float(z))].name
                self._fail(
                    f'"{name}" stands at diameter {2 * r:.4f} at {z:.3f} mm from the A end, where {2 * low:.4f} to '
                    f"{2 * high:.4f} is wanted"
                )

    def _beside_faces(self) -> Iterator[Array]:
        for place in self.wanted.places:
            for reach in (BESIDE, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5):
                yield np.array([place - reach, place + reach])

    def _beside(self, z: float) -> tuple[float, float]:
        """Return the least and most wanted within a micrometre of a place, of the section that it lies in."""
        at = self.wanted.at(z)
        bands = [self.wanted.limits(z + k * FINE / 2) for k in (-1, 0, 1) if self.wanted.at(z + k * FINE / 2) == at]
        return min(low for low, _ in bands), max(high for _, high in bands)

    def _plain(self, i: int) -> tuple[float, float]:
        """Return where a section has its own size: from edge to corner."""
        low = self.wanted.places[i] + self.wanted.reach(i, "a") + BESIDE
        return low, self.wanted.places[i + 1] - self.wanted.reach(i, "b") - BESIDE

    def _size(self, i: int) -> tuple[float, float]:
        """Return the radius of a section at its two ends, its surface carried on to the faces; a cylinder has one."""
        low, high = self._plain(i)
        s = self.part.sections[i]
        if high <= low:  # nothing of it is plain: the outline holds it
            ends = (self.wanted.band(i, self.wanted.places[i + k]) for k in (0, 1))
            return tuple(sum(band) / 2 for band in ends)  # type: ignore[return-value]
        zs = np.linspace(low, high, 7)
        found = self.radius(zs)
        if s.da == s.db:
            if float(np.ptp(found)) > FINE:
                self._fail(f'"{s.name}" is no cylinder: {2 * found.min():.4f} to {2 * found.max():.4f}')
            return float(found.mean()), float(found.mean())
        slope = self.wanted.rise(i, "a")
        return tuple(float(np.mean(found + slope * (self.wanted.places[i + k] - zs))) for k in (0, 1))  # type: ignore[return-value]

    def _shoulder(self, i: int, sizes: list[tuple[float, float]]) -> None:
        """Check that the face between two sections is there, and stands where it is wanted, faces as drawn."""
        part, place = self.part, self.wanted.places[i]
        names = f'"{part.sections[i - 1].name}" and "{part.sections[i].name}"'
        rise = sizes[i][0] - sizes[i - 1][1]
        drawn = part.size_at(i, "a") - part.size_at(i - 1, "b")
        if rise * drawn <= 0 or abs(rise) < LEAST_STEP - FINE / 2:
            self._fail(f"the shoulder between {names}, drawn {drawn / 2:+.3f} mm, is {rise:+.4f} mm high")
        thin, thick = (i - 1, i) if rise > 0 else (i, i - 1)
        sides = ("b", "a") if rise > 0 else ("a", "b")
        foot = self._foot(thin, sides[0])
        low = min(sizes[i - 1][1], sizes[i][0]) + max(foot, 0.0)
        high = max(sizes[i - 1][1], sizes[i][0]) - part.edge(thick, sides[1]).size
        high -= NEAR * max(-self.wanted.rise(thick, sides[1]), 0.0)  # of a taper beside its face
        for share in (0.25, 0.75) if high - low > 0.01 else ():
            found = self._where(i, low + (high - low) * share, up=rise > 0)
            if found is None or abs(found - place) > FINE:
                said = "nowhere" if found is None else f"at {found:.4f}"
                self._fail(f"the shoulder between {names} stands {said}, {place:.4f} mm from the A end wanted")

    def shoulders(self, *, up: bool) -> dict[int, float]:
        """Return where every shoulder that rises (up) or falls from the A end stands, mm from that end, by number."""
        found = {}
        for i in range(1, len(self.part.sections)):
            before, after = self.part.size_at(i - 1, "b"), self.part.size_at(i, "a")
            if abs(after - before) <= 1e-9 or (after > before) != up:
                continue
            thin, side = (i - 1, "b") if up else (i, "a")
            if self.part.is_groove(thin):
                beyond = self.part.size_at(thin - 1 if up else thin + 1, side)
                if beyond > max(before, after) + 1e-9:
                    continue  # it belongs to the other side
            by, place = math.inf, self._face(i, self.wanted.places[i], up=up)
            for _ in range(20):  # a taper is higher or lower at the face where that stands than where it is drawn
                if place is None or abs(place - by) < FINE / 10:
                    break
                by, place = place, self._face(i, place, up=up)
            if place is not None:
                found[i] = place
        return found

    def _face(self, i: int, by: float, *, up: bool) -> float | None:
        """Return where the face between two sections stands, felt for between them as they are where it may stand."""
        (thin, side), thick = ((i - 1, "b"), i) if up else ((i, "a"), i - 1)
        foot = self._foot(thin, side)
        low = self._stands(thin, by) + foot
        falls = max(-self.wanted.rise(thick, "a") * (1 if up else -1), 0.0)  # the further in its face stands, the lower
        high = self._stands(thick, by, land=True) - self.part.edge(thick, "a" if up else "b").size - AIMED * falls
        at, back = low + 0.7 * (high - low), 0.0
        if low > high:  # a steep taper, carried on to where its face does not stand
            at = high - 0.3 * LEAST_STEP
        elif high - low <= 0.01:  # none of it is square: on the round that the nose leaves
            at = low - foot + 0.7 * (high - low + foot)
            back = foot - math.sqrt(max(foot**2 - (low - at) ** 2, 0.0))
        place = self._where(i, at, up=up, beside=AIMED)
        return None if place is None else place + (back if up else -back)

    def meetings(self) -> dict[int, tuple[float, float]]:
        """Return where two sections of one size meet, mm from the A end, and how sharply, by the number of that face.

        No face shows it: it is where a taper's surface meets its neighbour's. Surfaces that are hardly steeper one than
        the other, or not turned yet, are left out.
        """
        found = {}
        for i in range(1, len(self.part.sections)):
            if self.part.size_at(i - 1, "b") != self.part.size_at(i, "a"):
                continue
            before, after = self._line(i - 1, i), self._line(i, i)
            if before is not None and after is not None and abs(bend := after[1] - before[1]) > LEAST_BEND:
                found[i] = self.part.face(i) + (before[0] - after[0]) / bend, abs(bend)
        return found

    def _line(self, i: int, face: int) -> tuple[float, float] | None:
        """Return a section's radius as it stands, carried on to a face, and how it rises; None if not yet as drawn."""
        low, high = self._plain(i)
        low, high = low - self._left_plain(i, "a"), high + self._left_plain(i, "b")
        beside = min(AIMED, (high - low) / 4)  # of a short section; beside its face it would rise otherwise
        low, high = low + beside, high - beside
        if high - low < NEAR:
            return None
        zs = np.array([low, (low + high) / 2, high])
        found = self.radius(zs)
        rise, drawn = float(found[2] - found[0]) / (high - low), self.wanted.rise(i, "a")
        straight = abs(found[0] + found[2] - 2 * found[1]) < FINE
        if not straight or abs(rise - drawn) > 0.2 * abs(drawn) + FINE:
            return None
        return float(found[1]) + rise * (self.part.face(face) - zs[1]), rise

    def _left_plain(self, i: int, side: str) -> float:
        """How much less of a section a corner takes up as the nose leaves it than it may, mm."""
        corner = self.part.corner(i, side)
        if corner is None or corner.kind != "nose" or self.part.is_groove(i):
            return 0.0
        return max(corner.radius - self.shop.tools[1].nose, 0.0)

    def _stands(self, i: int, z: float, *, land: bool = False) -> float:
        """Return the radius of a section's surface as it stands, carried on to z, mm; as wanted if nothing is plain.

        land: where it is short, it may stand beside where it is drawn, next to what is lower: its highest place.
        """
        low, high = self._plain(i)
        if high <= low:
            return sum(self.wanted.band(i, z)) / 2
        reach = min(high - low, 4 * AIMED)  # beside the face: a taper that limits make longer rises otherwise
        zs = np.linspace(low, low + reach, 7) if z < (low + high) / 2 else np.linspace(high - reach, high, 7)
        stands, rise = self.radius(zs), self.wanted.rise(i, "a")
        steps = np.diff(stands)
        own = float(np.median(steps)) / (reach / 6)  # its length may be made otherwise than drawn
        if np.sum(np.abs(steps - np.median(steps)) < FINE / 10) >= 4 and abs(own - rise) <= 0.2 * abs(rise):
            rise = own
        found = stands + rise * (z - zs)
        return float(np.max(found) if land and high - low < 2 * AIMED else np.median(found))

    def _foot(self, i: int, side: str) -> float:
        """How high a section's corner reaches up the face, mm."""
        corner = self.part.corner(i, side)
        if corner is None or corner.kind == "undercut":
            return 0.0
        round_ = corner.radius if corner.kind == "fillet" else self.shop.tools[2 if self.part.is_groove(i) else 1].nose
        m = -self.wanted.rise(i, side)  # it touches the face lower where the surface rises toward it
        return round_ * (math.hypot(1.0, m) - m)

    def _where(self, i: int, radius: float, *, up: bool, beside: float = NEAR) -> float | None:
        """Return where the outline passes a radius near the face between two sections, by halving; None if nowhere."""
        place, room = self.wanted.places[i], self._plain(i if up else i - 1)
        most = 0.2 if self.wanted.rise(i if up else i - 1, "a") == 0 else beside
        far = min(most, max(abs(sum(room) / 2 - place) if room[1] > room[0] else 0.0, BESIDE))  # past its edge
        if 0 < room[1] - room[0] < most:  # a short land may stand beside where it is drawn: its highest place
            zs = np.linspace(place, place + (most if up else -most), 41)
            far = max(float(abs(zs[int(np.argmax(self.radius(zs)))] - place)), BESIDE)
        low, high = place - (0.2 if up else far), place + (far if up else 0.2)
        ends = self.radius(np.array([low, high]))
        if not (ends[0] < radius < ends[1] if up else ends[1] < radius < ends[0]):
            return None
        for _ in range(3):
            zs = np.linspace(low, high, 41)
            above = self.radius(zs) > radius
            passed = above if up else ~above
            at = int(np.argmax(passed)) if passed.any() else len(zs) - 1  # at its very end it may be rounded away
            low, high = float(zs[max(at - 1, 0)]), float(zs[at])
        return (low + high) / 2
