"""The nose offset: the parallel curve of an open chain of lines and arcs, in closed form.

Where a round nose of radius r runs along a contour, its centre runs on the contour's parallel curve at
distance r. Lines stay lines, and arcs stay arcs about the same centre.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Literal

from cam.geometry.meet import clearance, meetings
from cam.geometry.path import Arc, Chain, Line, Point, Segment, bounds, box_gap, length, shift
from cam.ground.problem import RangeError
from cam.ground.tolerances import ROUNDING

SHORT = 1e-5
"""A joining arc shorter than this, mm, becomes its chord: in print its ends might fall together and
be read as a full circle. The chord strays by SHORT**2 / (8 radius): 0.25 nm for a nose of 0.05 mm.
"""


def offset_chain(chain: Chain, radius: float, side: int, corners: Literal["round", "none"] = "round") -> Chain:
    """Return the curve at distance radius beside an open chain.

    Args:
        chain: connected lines and arcs, none of them a full circle.
        radius: mm; >= 0.
        side: +1 to the left of the direction of travel (z right, x up), -1 to the right. For a contour
            followed toward the headstock with the metal below, the tool is on the right.
        corners: what happens at an outside corner: "round" joins with an arc about the corner, "none"
            leaves a gap, for a caller who runs in and out there.

    Returns:
        The offset pieces in order; inside corners are trimmed to where the neighbours meet. An arc
        whose radius equals the offset shrinks to a point and is left out.

    Raises:
        RangeError: a piece has no room (a fillet tighter than the nose, or a step or groove too narrow for the
            nose), and the message names it; the radius is negative; or the chain is not connected.
    """
    if radius < 0.0:
        raise RangeError(f"the offset must not be negative, not {radius}")
    for k, (one, two) in enumerate(pairwise(chain)):
        if math.dist(one.end, two.start) > ROUNDING:
            raise RangeError(f"{_name(chain, k)} does not reach {_name(chain, k + 1)}")
    if radius == 0.0:
        return chain
    pieces = [(k, moved) for k in range(len(chain)) if (moved := _beside(chain, k, radius, side)) is not None]
    joined = _join(chain, pieces, radius, side, corners)
    _check_room(chain, joined, radius)
    return tuple(piece for _, piece in joined)


def to_tip(chain: Chain, dz: float, dx: float) -> Chain:
    """Return the path of the programmed point, which stands at (dz, dx) from the nose centre, whose path is chain.

    For a right-hand turning tool of nose radius r, both are -r.
    """
    return shift(chain, dz, dx)


def _name(chain: Chain, k: int) -> str:
    piece = chain[k]
    kind = "line" if isinstance(piece, Line) else f"arc of radius {piece.radius:.4f}"
    (z0, x0), (z1, x1) = piece.start, piece.end
    return f"piece {k + 1} ({kind} from Z{z0:.4f} X{x0:.4f} to Z{z1:.4f} X{x1:.4f})"


def _beside(chain: Chain, k: int, radius: float, side: int) -> Segment | None:
    """Return piece k moved sideways, or None for one that shrinks to a point."""
    piece = chain[k]
    if isinstance(piece, Line):
        size = length(piece)
        if size == 0.0:
            return None
        dz = -side * radius * (piece.end.x - piece.start.x) / size
        dx = side * radius * (piece.end.z - piece.start.z) / size
        (z0, x0), (z1, x1) = piece.start, piece.end
        return Line(Point(z0 + dz, x0 + dx), Point(z1 + dz, x1 + dx))
    old, (cz, cx) = piece.radius, piece.centre
    new = old - side * piece.turn * radius
    if new < -ROUNDING:
        raise RangeError(f"{_name(chain, k)} is tighter than the radius {radius:.4f} that must follow it")
    if new <= ROUNDING:
        return None
    (z0, x0), (z1, x1), share = piece.start, piece.end, new / old
    start = Point(cz + (z0 - cz) * share, cx + (x0 - cx) * share)
    return Arc(start, Point(cz + (z1 - cz) * share, cx + (x1 - cx) * share), piece.centre, piece.turn)


_Numbered = tuple[int, Segment]


def _join(chain: Chain, pieces: list[_Numbered], radius: float, side: int, corners: str) -> list[_Numbered]:
    """Make the moved pieces follow one another; a joining arc carries the number of the piece before it."""
    joined: list[_Numbered] = []
    for k, piece in pieces:
        if not joined:
            joined.append((k, piece))
            continue
        before, last = joined[-1]
        gap = math.dist(last.end, piece.start)
        if gap <= ROUNDING:
            joined.append((k, _from(piece, last.end)))
            continue
        corner = chain[before].end
        if math.dist(corner, chain[k].start) <= ROUNDING and _opens(last, piece, side):
            if corners == "round":
                arc = Arc(last.end, piece.start, corner, -side)
                joined.append((before, arc if gap > SHORT else Line(last.end, piece.start)))
            joined.append((k, piece))
            continue
        meeting = _meeting(last, piece)
        if meeting is None:
            raise RangeError(f"{_name(chain, before)} and {_name(chain, k)} leave no room for the radius {radius:.4f}")
        joined[-1] = (before, _to(last, meeting))
        joined.append((k, _from(piece, meeting)))
    return joined


def _opens(last: Segment, piece: Segment, side: int) -> bool:
    """Whether the chain turns away from the side there, so that the moved pieces part.

    Where it turns straight back, a spike opens, but a cusp between two arcs, whose moved pieces meet, does not.
    """
    (az, ax), (bz, bx) = _heading(last, at_end=True), _heading(piece, at_end=False)
    cross, dot = az * bx - ax * bz, az * bz + ax * bx
    if abs(cross) < 1e-12 and dot < 0.0:
        return _meeting(last, piece) is None
    return side * cross < 0.0


def _heading(segment: Segment, *, at_end: bool) -> tuple[float, float]:
    """Return the unit direction of travel at the start or at the end."""
    if isinstance(segment, Line):
        dz, dx = segment.end.z - segment.start.z, segment.end.x - segment.start.x
    else:
        at = segment.end if at_end else segment.start
        dz, dx = -segment.turn * (at.x - segment.centre.x), segment.turn * (at.z - segment.centre.z)
    size = math.hypot(dz, dx)
    return dz / size, dx / size


def _meeting(last: Segment, piece: Segment) -> Point | None:
    """Return where two moved neighbours cross; of two places, the one that cuts away least."""
    found = meetings(last, piece)
    return min(found, key=lambda p: math.dist(p, last.end) + math.dist(p, piece.start), default=None)


def _to(segment: Segment, end: Point) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.start, end)
    return Arc(segment.start, end, segment.centre, segment.turn)


def _from(segment: Segment, start: Point) -> Segment:
    if isinstance(segment, Line):
        return Line(start, segment.end)
    return Arc(start, segment.end, segment.centre, segment.turn)


def _check_room(chain: Chain, joined: list[_Numbered], radius: float) -> None:
    """Check that every piece of the result keeps the radius from every piece of the chain.

    A piece that runs past a distant part of the chain does not.
    """
    near = [bounds(piece) for piece in chain]
    for number, piece in joined:
        box = bounds(piece)
        for k, other in enumerate(chain):
            if box_gap(box, near[k]) >= radius - ROUNDING or _keeps_anyway(chain, number, k):
                continue
            if clearance(piece, other) < radius - 2.0 * ROUNDING:
                run_into = f"the radius {radius:.4f} would run into {_name(chain, k)}"
                raise RangeError(f"{_name(chain, number)} cannot be followed: {run_into}")


def _keeps_anyway(chain: Chain, number: int, other: int) -> bool:
    """Tell whether a piece keeps the radius by construction: from its own one, and between straight neighbours."""
    pair = (chain[number], chain[other])
    return number == other or (abs(number - other) == 1 and all(isinstance(piece, Line) for piece in pair))
