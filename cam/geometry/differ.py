"""Where two outlines in half-section differ, along the axis."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import groupby, pairwise

from cam.geometry.path import Arc, Chain, Segment
from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING

SEEN = 1e-3
"""Radii that differ by more than this, mm, are said to differ, and so are shoulders that stand so far apart."""
DETAIL = 1.0
"""The longest fillet or edge, mm, that is taken to have moved with its face."""
SHARES = 24
"""How many places are looked at between two corners of the outlines; in between, both are one line or arc each."""


class Zone(Row):
    """A stretch where the second outline stands higher, or lower, than the first.

    Attributes:
        start, end: z, mm.
        most: the greatest difference of the radii there, the second less the first, mm; all of them have its sign.
        at: z at which to look, mm: the middle, if they differ there, or else where they differ most.
        radii: the radii of the first and the second there, mm.
        faces: z of the square face, mm, where it stands on the first and where it stands on the second; None where
            the stretch is no face that has moved.
    """

    start: float
    end: float
    most: float
    at: float
    radii: tuple[float, float]
    faces: tuple[float, float] | None


def find_zones(one: Chain, other: Chain) -> tuple[Zone, ...]:
    """Return every stretch where radii differ by more than 1 um, from the A end to the B end.

    Args:
        one, other: upper outlines from the axis to the axis, z never falling; () for no metal.
    """
    spans = _joined(_spans(one, other), _goes_on)
    zones = [_zone(one, other, span) for span in _joined(spans, partial(_goes_with, one, other))]
    return tuple(zone for zone in zones if zone.end - zone.start > SEEN)


class _Span(Row):
    """A stretch in the making; first and last are the differences at its very ends, mm."""

    start: float
    end: float
    most: float
    at: float
    first: float
    last: float


def _spans(one: Chain, other: Chain) -> Iterator[_Span]:
    """Yield every stretch in which the difference is seen, cut up where a piece of either outline ends."""
    marks = sorted({p.z for piece in (*one, *other) for p in (piece.start, piece.end)})
    for low, high in pairwise(marks):
        if high - low > ROUNDING:
            a, b = (_piece_at(chain, (low + high) / 2) for chain in (one, other))
            yield from _stretches(low, high, partial(_difference, a, b))


def _touch(one: _Span, other: _Span) -> bool:
    return other.start - one.end < SEEN and (one.most > 0) == (other.most > 0)


def _goes_on(one: _Span, other: _Span) -> bool:
    """Whether a stretch goes on in the next without a step."""
    step = abs(other.first - one.last)
    return _touch(one, other) and step <= SEEN + 0.2 * max(abs(other.first), abs(one.last))


def _joined(spans: Iterable[_Span], belong: Callable[[_Span, _Span], bool]) -> list[_Span]:
    """Return the stretches, each joined with the one before where the two belong together."""
    kept: list[_Span] = []
    for span in spans:
        if kept and belong(kept[-1], span):
            one = kept.pop()
            top = max(one, span, key=lambda each: abs(each.most))
            span = _Span(one.start, span.end, top.most, top.at, one.first, span.last)  # noqa: PLW2901 - the longer one
        kept.append(span)
    return kept


def _goes_with(one: Chain, other: Chain, last: _Span, span: _Span) -> bool:
    """Whether one of two stretches is a moved face, and the other the fillet or edge that has moved with it."""
    return _touch(last, span) and (_rides(one, other, last, span) or _rides(one, other, span, last))


def _rides(one: Chain, other: Chain, face: _Span, detail: _Span) -> bool:
    """Whether a short stretch beside a moved face differs only because its fillet or edge went with it."""
    moved = _zone(one, other, face).faces is not None
    return moved and detail.end - detail.start <= DETAIL and abs(detail.most) <= abs(face.most)


def _zone(one: Chain, other: Chain, span: _Span) -> Zone:
    start, end, most, at = span[:4]
    middle = (start + end) / 2
    if abs(radius_at(other, middle) - radius_at(one, middle)) > SEEN:
        at = middle
    faces = [_faces(chain, start, end) for chain in (one, other)]
    moved = None
    if all(len(found) == 1 for found in faces) and abs(faces[1][0][0] - faces[0][0][0]) > SEEN:
        (z_one, low_one, high_one), (z_other, low_other, high_other) = faces[0][0], faces[1][0]
        if low_one < high_other and low_other < high_one:  # the steps of two different shoulders have nothing in common
            moved = (z_one, z_other)
    return Zone(start, end, most, at, (radius_at(one, at), radius_at(other, at)), moved)


def _faces(chain: Chain, start: float, end: float) -> list[tuple[float, float, float]]:
    """Return z of every square face within a stretch, ends included, with its least and its greatest radius, mm."""
    found: dict[float, list[float]] = {}
    for piece in chain:
        if abs(piece.end.z - piece.start.z) <= ROUNDING and start - 1e-6 <= piece.start.z <= end + 1e-6:
            found.setdefault(round(piece.start.z, 9), []).extend((piece.start.x, piece.end.x))
    return [(z, min(radii), max(radii)) for z, radii in sorted(found.items())]


def _piece_at(chain: Chain, z: float) -> Segment | None:
    """Return the piece over a place, or None where there is no metal."""
    for piece in chain:
        a, b = sorted((piece.start.z, piece.end.z))
        if a <= z <= b and b - a > ROUNDING:
            return piece
    return None


def _difference(one: Segment | None, other: Segment | None, z: float) -> float:
    return radius_on(other, z) - radius_on(one, z)


def radius_on(piece: Segment | None, z: float) -> float:
    """Return the radius of a piece at z, mm; zero for no piece."""
    if piece is None:
        return 0.0
    (z0, x0), (z1, x1) = piece.start, piece.end
    if not isinstance(piece, Arc):
        return x0 + (x1 - x0) * (z - z0) / (z1 - z0)
    reach = math.sqrt(max(piece.radius**2 - (z - piece.centre.z) ** 2, 0.0))
    above = (x0 + x1) / 2 >= piece.centre.x
    return piece.centre.x + (reach if above else -reach)


def radius_at(chain: Chain, z: float) -> float:
    """Return the radius of an outline at z, mm; zero beyond its ends."""
    return radius_on(_piece_at(chain, z), z)


def _stretches(low: float, high: float, differs: Callable[[float], float]) -> list[_Span]:
    """Return every part of an interval in which the difference is seen."""
    # ends of an interval are looked at from just inside: a face there belongs to both of its sides
    inset = min(1e-9, (high - low) / 4)
    places = [low + inset, *(low + (high - low) * k / SHARES for k in range(1, SHARES)), high - inset]
    values = [(differs(z), z) for z in places]
    found: list[_Span] = []
    for seen, group in groupby(range(len(places)), key=lambda k: abs(values[k][0]) > SEEN):
        at = list(group)
        if not seen:
            continue
        first, last = at[0], at[-1]
        start = low if first == 0 else _crossing(places[first - 1], places[first], differs)
        end = high if last == len(places) - 1 else _crossing(places[last + 1], places[last], differs)
        top = max((values[k] for k in at), key=lambda pair: abs(pair[0]))
        found.append(_Span(start, end, top[0], top[1], values[first][0], values[last][0]))
    return found


def _crossing(unseen: float, seen: float, differs: Callable[[float], float]) -> float:
    """Return where the difference begins to be seen, to 0.1 um."""
    while abs(seen - unseen) > 1e-4:
        middle = (unseen + seen) / 2
        if abs(differs(middle)) > SEEN:
            seen = middle
        else:
            unseen = middle
    return seen
