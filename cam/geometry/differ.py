"""Where two outlines in half-section differ, along the axis."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

from cam.geometry.path import Arc, Chain, Segment

SEEN = 1e-3
"""Radii that differ by more than this are said to differ, and so are shoulders that stand so far apart, mm."""
SHARES = 24
"""Places looked at between two corners of the outlines; in between, both are one line or arc each."""
NOTHING = 1e-9


class Zone(NamedTuple):
    """A stretch where the second outline stands higher, or lower, than the first.

    Attributes:
        start, end: z, mm.
        most: greatest difference of the radii there, the second less the first, mm; its sign is that of them all.
        at: a place where it is as great, or nearly: the middle where that will do.
        radii: of the first and the second there, mm.
        faces: z of the square face that stands in one place on the first and in another on the second; None where
            the stretch is no face that has moved.
    """

    start: float
    end: float
    most: float
    at: float
    radii: tuple[float, float]
    faces: tuple[float, float] | None


def find_zones(one: Chain, other: Chain) -> tuple[Zone, ...]:
    """Every stretch where radii differ by more than 1 um, from the A end to the B end.

    Args:
        one, other: upper outlines from the axis to the axis, z never falling; () for no metal.
    """
    marks = sorted({p.z for chain in (one, other) for piece in chain for p in (piece.start, piece.end)})
    pieces: list[tuple[float, float, Callable[[float], float]]] = []
    for low, high in pairwise(marks):
        if high - low > NOTHING:
            a, b = (_between(chain, low, high) for chain in (one, other))
            pieces.append((low, high, lambda z, a=a, b=b: radius_on(b, z) - radius_on(a, z)))  # type: ignore[misc]
    spans: list[tuple[float, float, float, float]] = []
    for low, high, differs in pieces:
        for start, end, most, at in _stretches(low, high, differs):
            last = spans[-1] if spans else None
            if last is not None and start - last[1] < SEEN and (last[2] > 0) == (most > 0):
                top = max((last[2:], (most, at)), key=lambda row: abs(row[0]))
                spans[-1] = (last[0], end, *top)
            else:
                spans.append((start, end, most, at))
    return tuple(_zone(one, other, *span) for span in spans if span[1] - span[0] > SEEN)


def _zone(one: Chain, other: Chain, start: float, end: float, most: float, at: float) -> Zone:
    middle = (start + end) / 2
    if abs(radius_at(other, middle) - radius_at(one, middle)) > 0.9 * abs(most):
        at = middle
    faces = [_faces(chain, start, end) for chain in (one, other)]
    moved = None
    if all(len(found) == 1 for found in faces) and abs(faces[1][0] - faces[0][0]) > SEEN:
        moved = (faces[0][0], faces[1][0])
    return Zone(start, end, most, at, (radius_at(one, at), radius_at(other, at)), moved)


def _faces(chain: Chain, start: float, end: float) -> list[float]:
    """Z of every square face within a stretch, its ends counted in."""
    return sorted(
        {
            round(piece.start.z, 9)
            for piece in chain
            if abs(piece.end.z - piece.start.z) <= NOTHING and start - 1e-6 <= piece.start.z <= end + 1e-6
        }
    )


def _between(chain: Chain, low: float, high: float) -> Segment | None:
    """The piece over an interval that no corner divides; None where there is no metal."""
    middle = (low + high) / 2
    for piece in chain:
        a, b = sorted((piece.start.z, piece.end.z))
        if a <= middle <= b and b - a > NOTHING:
            return piece
    return None


def radius_on(piece: Segment | None, z: float) -> float:
    """Radius of a piece at z, mm; 0 for no piece."""
    if piece is None:
        return 0.0
    (z0, x0), (z1, x1) = piece.start, piece.end
    if not isinstance(piece, Arc):
        return x0 + (x1 - x0) * (z - z0) / (z1 - z0)
    reach = math.sqrt(max(piece.radius**2 - (z - piece.centre.z) ** 2, 0.0))
    above = (x0 + x1) / 2 >= piece.centre.x
    return piece.centre.x + (reach if above else -reach)


def radius_at(chain: Chain, z: float) -> float:
    """Radius of an outline at z, mm; 0 beyond its ends."""
    for piece in chain:
        a, b = sorted((piece.start.z, piece.end.z))
        if a <= z <= b and b - a > NOTHING:
            return radius_on(piece, z)
    return 0.0


def _stretches(low: float, high: float, differs: Callable[[float], float]) -> list[tuple[float, float, float, float]]:
    """(start, end, most, at) of every part of an interval where the difference is seen."""
    # ends of an interval are looked at from just inside: a face there belongs to both of its sides
    inset = min(1e-9, (high - low) / 4)
    places = [low + inset, *(low + (high - low) * k / SHARES for k in range(1, SHARES)), high - inset]
    values = [differs(z) for z in places]
    found: list[tuple[float, float, float, float]] = []
    start: float | None = None
    top = (0.0, 0.0)
    for k, (z, value) in enumerate(zip(places, values, strict=True)):
        seen = abs(value) > SEEN
        if seen and start is None:
            start, top = (low if k == 0 else _crossing(places[k - 1], z, differs)), (value, z)
        elif seen and abs(value) > abs(top[0]):
            top = value, z
        elif not seen and start is not None:
            found.append((start, _crossing(z, places[k - 1], differs), *top))
            start = None
    if start is not None:
        found.append((start, high, *top))
    return found


def _crossing(unseen: float, seen: float, differs: Callable[[float], float]) -> float:
    """Where the difference begins to be seen, to 0.1 um."""
    while abs(seen - unseen) > 1e-4:
        middle = (unseen + seen) / 2
        if abs(differs(middle)) > SEEN:
            seen = middle
        else:
            unseen = middle
    return seen
