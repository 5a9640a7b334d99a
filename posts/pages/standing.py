"""The metal that stands after each row of a page: diameters along Z, as the slides really leave them."""

from __future__ import annotations

from bisect import bisect, bisect_left
from collections.abc import Iterator, Sequence
from itertools import islice, pairwise
from operator import attrgetter

from cam.geometry.path import Chain, Point, flatten
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_GIVEN
from cam.setting.model import Setting

SAGITTA = 0.005
"""How far the straight pieces that stand for an arc may stray from it, mm."""


class StandingStretch(Row):
    """A stretch of metal from z low to high, with its diameter at each end, mm."""

    low: float
    high: float
    at_low: float
    at_high: float

    def at(self, z: float) -> float:
        """Return the diameter at z, mm."""
        share = (z - self.low) / (self.high - self.low)
        return self.at_low + share * (self.at_high - self.at_low)

    def part(self, low: float, high: float) -> StandingStretch:
        """Return the piece between two z that lie in the stretch."""
        if self.at_low == self.at_high:
            return StandingStretch(low, high, self.at_low, self.at_high)
        return StandingStretch(low, high, self.at(low), self.at(high))


_LOW, _HIGH = attrgetter("low"), attrgetter("high")


class Standing:
    """The outline of the metal that stands, cut down row by row."""

    def __init__(self, setting: Setting) -> None:
        """Begin with the metal before the setting."""
        self.pieces = sorted(_pieces(setting.stock))

    def greatest(self, low: float, high: float) -> float:
        """Return the greatest diameter that stands between two z, mm; 0 where nothing does."""
        return max((max(p.at_low, p.at_high) for p in self._within(low, high)), default=0.0)

    def rise(self, z: float, diameter: float) -> float:
        """Return the first Z from z toward the headstock where more than a diameter stands, mm; z if there is none."""
        for p in reversed(self.pieces):
            if p.low < z - AS_GIVEN and (top := min(p.high, z)) and max(p.at(top), p.at_low) > diameter:
                rising = (top - p.low) * (diameter - p.at(top)) / ((p.at_low - p.at(top)) or 1.0)
                return top if p.at(top) > diameter else top - rising
        return z

    def cut(self, low: float, high: float, at_low: float, at_high: float | None = None) -> None:
        """Take off all that stands above a cylinder, or a cone, between two z; diameters in mm."""
        wanted = StandingStretch(low, high, at_low, at_low if at_high is None else at_high)
        met = slice(bisect(self.pieces, low, key=_HIGH), bisect_left(self.pieces, high, key=_LOW))
        left = [outer for p in self.pieces[met] for outer in _outside(p, low, high)]
        self.pieces[met] = sorted([*left, *(piece for p in self._within(low, high) for piece in _lower(p, wanted))])

    def above(self, underside: Sequence[Point], more: float) -> float:
        """Return the greatest diameter that stands more than so much above a line of places, mm; 0 where none does.

        Args:
            underside: the places, as for cut_under. more: on the radius, mm.
        """
        found = 0.0
        for a, b in pairwise(underside):
            line = StandingStretch(a.z, b.z, 2 * a.x, 2 * b.x)
            for p in self._within(a.z, b.z):
                ends = [(p.at(z) - line.at(z), p.at(z)) for z in (p.low, p.high)]
                (under, lower), (over, upper) = sorted(ends)
                if over > 2 * more:
                    meets = lower + (upper - lower) * max(-under, 0.0) / ((over - under) or 1.0)  # where it rises out
                    found = max(found, upper, meets)
        return found

    def cut_under(self, underside: Sequence[Point]) -> None:
        """Take off all that stands above a line of places in rising Z, X a radius, mm."""
        for a, b in pairwise(underside):
            self.cut(a.z, b.z, 2 * a.x, 2 * b.x)

    def face(self, z: float) -> None:
        """Take off everything on the tailstock side of z."""
        self.pieces = [outer for p in self.pieces for outer in _outside(p, z, float("inf"))]

    def _within(self, low: float, high: float) -> Iterator[StandingStretch]:
        """Yield what stands between two z, piece by piece; pieces lie in order and none over another."""
        for p in islice(self.pieces, bisect(self.pieces, low, key=_HIGH), None):
            if p.low >= high:
                return
            start, stop = max(p.low, low), min(p.high, high)
            if stop - start > AS_GIVEN:
                yield p.part(start, stop)


def _outside(p: StandingStretch, low: float, high: float) -> Iterator[StandingStretch]:
    """Yield the parts of a piece that lie below low and above high."""
    if min(p.high, low) - p.low > AS_GIVEN:
        yield p.part(p.low, min(p.high, low))
    if p.high - max(p.low, high) > AS_GIVEN:
        yield p.part(max(p.low, high), p.high)


def _lower(p: StandingStretch, wanted: StandingStretch) -> Iterator[StandingStretch]:
    """Yield the lower of two outlines over a piece, broken where they cross."""
    wanted = wanted.part(p.low, p.high)
    ends = (p.at_low - wanted.at_low, p.at_high - wanted.at_high)
    first, last = (0.0 if abs(gap) < AS_GIVEN else gap for gap in ends)
    if first * last >= 0:
        yield wanted if first + last > 0 else p
        return
    z = p.low + (p.high - p.low) * first / (first - last)
    for low, high in ((p.low, z), (z, p.high)):
        if high - low > AS_GIVEN:
            yield from _lower(p.part(low, high), wanted.part(low, high))


def _pieces(chain: Chain) -> Iterator[StandingStretch]:
    for segment in chain:
        places = flatten(segment, SAGITTA)
        for a, b in pairwise(places):
            low, high = sorted((a, b))
            if high.z - low.z > AS_GIVEN:
                yield StandingStretch(low.z, high.z, 2 * low.x, 2 * high.x)
