"""How near a tool's body comes to the metal as it is now: exact, over straight moves.

Both are solid: the body is a convex core moved along a line, with a rounding about it; the metal is what lies
below its outline. Their distance is the least from a corner of the one to a side of the other.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence

from cam.geometry.path import Point, Polygon
from cam.ground.frozen import Row
from cam.ground.tolerances import ONE_HEIGHT
from cam.judge.envelope import Metal, Piece, height

Place = tuple[float, float]
Side = tuple[float, float, float, float, float]
"""A side of a core: start (z, x), step (z, x), square of its length; a bare point has one side of no length."""


class Gap(Row):
    """A distance, mm; the nearest point of the body's swept core, and that of the metal."""

    distance: float
    on_core: Place
    on_work: Place


def sides_of(polygon: Polygon) -> tuple[Side, ...]:
    """The sides of a convex polygon, counter-clockwise; a point or two points will do."""
    sides = []
    for i, (z1, x1) in enumerate(polygon):
        z0, x0 = polygon[i - 1]
        dz, dx = z1 - z0, x1 - x0
        sides.append((z0, x0, dz, dx, dz * dz + dx * dx))
    return tuple(sides)


def _swept(sides: Sequence[Side], start: Point, end: Point) -> list[Side]:
    """Return the sides of the core moved from start to end: its own at one of the two places, and the way between."""
    sz, sx = start
    dz, dx = end[0] - sz, end[1] - sx
    if dz == 0.0 and dx == 0.0:
        return [(z + sz, x + sx, ez, ex, square) for z, x, ez, ex, square in sides]
    swept = []
    _, _, ez, ex, _ = sides[-1]
    ahead = ex * dz > ez * dx
    for z, x, ez, ex, square in sides:
        was, ahead = ahead, ex * dz > ez * dx
        z, x = z + sz, x + sx  # noqa: PLW2901 - the core's place at the start
        if was is not ahead or not square:
            swept.append((z, x, dz, dx, dz * dz + dx * dx) if ahead else (z + dz, x + dx, -dz, -dx, dz * dz + dx * dx))
        swept.append((z + dz, x + dx, ez, ex, square) if ahead else (z, x, ez, ex, square))
    return swept


def find_gap(metal: Metal, sides: Sequence[Side], round_: float, start: Point, end: Point, best: float) -> Gap | None:
    """Return the distance of the metal from a convex body moved straight from start to end; None if not below best, mm.

    Body and metal must not overlap (see Metal.overlap).

    Args:
        sides: sides of the core, relative to the programmed point.
            round_: the rounding about the core, mm.
        start, end: places of the programmed point.
    """
    swept = _swept(sides, start, end)
    zs, xs, *_ = zip(*swept, strict=True)
    z0, z1, low = min(zs), max(zs), min(xs)
    best += round_
    i, j = metal.window(z0 - best, z1 + best)
    found: Gap | None = None
    for k in range(i, j):
        piece, top = metal.pieces[k], metal.tops[k]
        dz = piece[0] - z1 if piece[0] > z1 else z0 - piece[1]
        dx = low - top
        if top <= 0.0 or dz >= best or dx >= best or (dz > 0.0 and dx > 0.0 and dz * dz + dx * dx >= best * best):
            continue
        gap = _to_piece(swept, metal, k, best)
        if gap is not None:
            best, found = gap[0], Gap(gap[0] - round_, gap[1], gap[2])
    return found


def _to_piece(sides: list[Side], metal: Metal, k: int, best: float) -> Gap | None:
    """Return the least gap, if below best, to the k-th piece of the metal and to the faces at its ends."""
    piece = metal.pieces[k]
    z0, z1 = piece[0], piece[1]
    left, right = height(piece, z0), height(piece, z1)
    before = height(metal.pieces[k - 1], z0) if k else 0.0
    after = height(metal.pieces[k + 1], z1) if k + 1 < len(metal.pieces) else 0.0
    gaps: list[Gap | None] = []
    if before < left + ONE_HEIGHT:
        gaps.append(_from_place(sides, z0, left, best))
    if after < right + ONE_HEIGHT:
        gaps.append(_from_place(sides, z1, right, best))
    if piece[2]:
        gaps += [_to_face(sides, z0, left), _to_face(sides, z1, right), *_to_arc(sides, piece)]
    elif piece[5]:
        gaps += [_to_face(sides, z0, left), _to_face(sides, z1, right), _to_line(sides, z0, left, z1, right)]
    else:
        gaps.append(_to_ring(sides, z0, z1, left))
    return min((g for g in gaps if g is not None and g[0] < best), default=None)


def _from_place(sides: list[Side], z: float, x: float, best: float) -> Gap | None:
    """Return the gap from a corner of the metal to the nearest side of the core, if below best."""
    least, on_z, on_x = best * best, math.inf, 0.0
    for z0, x0, dz, dx, square in sides:
        pz, px = z0 - z, x0 - x
        t = -(pz * dz + px * dx)
        if t > 0.0:
            t = t / square if t < square else 1.0
            pz, px = pz + t * dz, px + t * dx
        away = pz * pz + px * px
        if away < least:
            least, on_z, on_x = away, pz, px
    return None if math.isinf(on_z) else Gap(math.sqrt(least), (z + on_z, x + on_x), (z, x))


def _to_ring(sides: list[Side], z0: float, z1: float, top: float) -> Gap:
    """Return the gap from the nearest corner of the core to metal of one radius between two z."""
    least, at = math.inf, sides[0]
    for side in sides:
        z, x = side[0], side[1]
        dz = z0 - z if z < z0 else z - z1 if z > z1 else 0.0
        dx = x - top if x > top else 0.0
        away = dz * dz + dx * dx
        if away < least:
            least, at = away, side
    z, x = at[0], at[1]
    return Gap(math.sqrt(least), (z, x), (min(max(z, z0), z1), min(x, top)))


def _to_face(sides: list[Side], z: float, top: float) -> Gap:
    """Return the gap from the nearest corner of the core to the metal's face at z, up to top."""
    side = min(sides, key=lambda s: math.hypot(s[0] - z, max(s[1] - top, 0.0)))
    return Gap(math.hypot(side[0] - z, max(side[1] - top, 0.0)), (side[0], side[1]), (z, min(side[1], top)))


def _to_line(sides: list[Side], z0: float, x0: float, z1: float, x1: float) -> Gap:
    """Return the gap from the nearest corner of the core to a slope of the metal."""
    dz, dx = z1 - z0, x1 - x0
    best: Gap | None = None
    for side in sides:
        t = ((side[0] - z0) * dz + (side[1] - x0) * dx) / (dz * dz + dx * dx)
        t = 0.0 if t < 0.0 else min(t, 1.0)
        z, x = z0 + t * dz, x0 + t * dx
        gap = Gap(math.hypot(side[0] - z, side[1] - x), (side[0], side[1]), (z, x))
        best = gap if best is None or gap[0] < best[0] else best
    assert best is not None
    return best


def _to_arc(sides: list[Side], piece: Piece) -> list[Gap]:
    """Return the gaps from corners and sides of the core to an arc of the metal, along rays from the arc's centre."""
    _, _, bend, p, q, r, _ = piece
    gaps = []
    for z0, x0, dz, dx, square in sides:
        places = [(z0, x0)]
        if bend > 0 and square:
            t = ((p - z0) * dz + (q - x0) * dx) / square
            if 0.0 < t < 1.0:
                places.append((z0 + t * dz, x0 + t * dx))
        for z, x in places:
            away = math.hypot(z - p, x - q)
            if away > 0.0 and (x - q) * bend > 0.0:
                foot = p + (z - p) * r / away
                if piece[0] < foot < piece[1]:
                    gaps.append(Gap(abs(away - r), (z, x), (foot, q + (x - q) * r / away)))
    return gaps


def outline_distance(outline: Metal, z: float, x: float, best: float) -> Gap | None:
    """Return the distance of a place from an outline, above or below it, if less than best, mm."""
    pieces, found = outline.pieces, None
    middle = max(bisect_right(outline.starts, z) - 1, 0)
    for way in (range(middle, -1, -1), range(middle + 1, len(pieces))):  # outward, while it may be nearer
        for k in way:
            if pieces[k][0] - z > best or z - pieces[k][1] > best:
                break
            on = min(_feet(pieces, k, z, x), key=lambda foot: math.hypot(z - foot[0], x - foot[1]))
            away = math.hypot(z - on[0], x - on[1])
            if away < best or (away == best and found and k < middle):
                best, found = away, on
    return found and Gap(best, (z, x), found)


def _feet(pieces: Sequence[Piece], k: int, z: float, x: float) -> list[Place]:
    """Return the places nearest to (z, x) on a piece of an outline and on the faces at its ends."""
    piece = pieces[k]
    z0, z1, _, p, q, r, _ = piece
    left, right = height(piece, z0), height(piece, z1)
    feet = []
    if not piece[2]:
        foot = min(max(p + (z - p + (x - q) * r) / (1.0 + r * r), z0), z1)
        feet.append((foot, q + r * (foot - p)))
    elif (x - q) * piece[2] > 0.0:
        away = math.hypot(z - p, x - q)
        foot = p + (z - p) * r / away
        if z0 < foot < z1:
            feet.append((foot, q + (x - q) * r / away))
    before = height(pieces[k - 1], z0) if k else 0.0
    after = right if k + 1 < len(pieces) else 0.0
    for at, a, b in ((z0, before, left), (z1, right, after)):
        feet.append((at, min(max(x, min(a, b)), max(a, b))))
    return feet


def find_tip(sides: Sequence[Side], start: Point, end: Point, gap: Gap) -> Point:
    """Return a place of the programmed point on its way where the swept core's nearest point is the core's own."""
    dz, dx = end[0] - start[0], end[1] - start[1]
    if dz * dz + dx * dx == 0.0:
        return start
    z, x = gap.on_core[0] - start[0], gap.on_core[1] - start[1]
    best, least = 0.0, math.inf
    for side in sides:
        t, away = _between(side, z, x, dz, dx)
        if away < least - 1e-9:
            best, least = t, away
    return Point(start[0] + best * dz, start[1] + best * dx)


def _between(side: Side, z: float, x: float, dz: float, dx: float) -> tuple[float, float]:
    """Return the share of the way at which a side of the core comes nearest to (z, x), and how near it comes, mm."""
    best, least = 0.0, math.inf
    ends = [(side[0], side[1]), (side[0] + side[2], side[1] + side[3])]
    cross = dz * side[3] - dx * side[2]
    shares = [((z - a) * dz + (x - b) * dx) / (dz * dz + dx * dx) for a, b in ends]
    if abs(cross) > 1e-12:
        shares.append(((z - side[0]) * side[3] - (x - side[1]) * side[2]) / cross)
    for share in shares:
        t = min(max(share, 0.0), 1.0)
        pz, px = z - t * dz - side[0], x - t * dx - side[1]
        along = min(max((pz * side[2] + px * side[3]) / side[4], 0.0), 1.0) if side[4] else 0.0
        away = math.hypot(pz - along * side[2], px - along * side[3])
        if away < least - 1e-9:
            best, least = t, away
    return best, least
