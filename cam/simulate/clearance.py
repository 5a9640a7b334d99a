"""How near a tool's body comes to the metal as it is now: exact, over straight moves."""

from __future__ import annotations

import math
from typing import NamedTuple

from cam.geometry.convex import minkowski
from cam.geometry.path import Point, Polygon
from cam.simulate.envelope import SAME, Metal, Piece, height

Place = tuple[float, float]
Box = tuple[float, float, float, float]


class Gap(NamedTuple):
    """Distance, mm; the nearest point of the body's swept core, and of the metal."""

    distance: float
    on_core: Place
    on_work: Place


def find_gap(metal: Metal, core: Polygon, round_: float, box: Box, start: Point, end: Point, best: float) -> Gap | None:
    """Distance between the metal and a convex body moved straight from start to end; None if not below best, mm.

    Body and metal must not overlap (see Metal.overlap).

    Args:
        core: relative to the programmed point; round_: about it, mm.
        box: of core and rounding: least z, least x, greatest z, greatest x, mm.
        start, end: of the programmed point.
    """
    z0, z1 = min(start[0], end[0]) + box[0], max(start[0], end[0]) + box[2]
    low = min(start[1], end[1]) + box[1]
    i, j = metal.window(z0 - best, z1 + best)
    if i == j or max(metal.tops[i:j]) <= low - best:
        return None
    sides = _sides(minkowski(core, (start, end)))
    found: Gap | None = None
    best += round_
    near = sorted((_box_gap(metal, k, z0, z1, low), k) for k in range(i, j) if metal.tops[k] > 0.0)
    for apart, k in near:
        if apart + round_ >= best:
            break
        for gap in _to_piece(sides, metal, k):
            if gap[0] < best:
                best, found = gap[0], gap
    return found and Gap(found[0] - round_, found[1], found[2])


def _box_gap(metal: Metal, k: int, z0: float, z1: float, low: float) -> float:
    """What separates a box above low, between z0 and z1, from the k-th piece at least, mm."""
    piece = metal.pieces[k]
    dz = max(piece[0] - z1, z0 - piece[1], 0.0)
    dx = max(low - metal.tops[k], 0.0)
    return math.hypot(dz, dx) if dz and dx else dz + dx


_Side = tuple[float, float, float, float, float]
"""A side of the swept core: start (z, x), step (z, x), square of its length."""


def _sides(polygon: Polygon) -> list[_Side]:
    sides = []
    for i, (z1, x1) in enumerate(polygon):
        z0, x0 = polygon[i - 1]
        dz, dx = z1 - z0, x1 - x0
        sides.append((z0, x0, dz, dx, dz * dz + dx * dx))
    return sides


def _to_piece(sides: list[_Side], metal: Metal, k: int) -> list[Gap]:
    """Gaps to the k-th piece of the metal and to the faces at its ends; the least is the distance."""
    piece = metal.pieces[k]
    z0, z1 = piece[0], piece[1]
    left, right = height(piece, z0), height(piece, z1)
    gaps = [_from_place(sides, z0, left), _from_place(sides, z1, right)]
    before = height(metal.pieces[k - 1], z0) if k else 0.0
    after = height(metal.pieces[k + 1], z1) if k + 1 < len(metal.pieces) else 0.0
    for z, top, foot in ((z0, left, before), (z1, right, after)):
        if top - foot > SAME:
            gaps += [_to_face(side, z, foot, top) for side in sides]
    if piece[2]:
        gaps += [gap for side in sides for gap in _to_arc(side, piece)]
    else:
        gaps += [_to_line(side, z0, left, z1, right) for side in sides]
    return gaps


def _from_place(sides: list[_Side], z: float, x: float) -> Gap:
    """From a place on the metal to the nearest side."""
    best = (math.inf, 0.0, 0.0)
    for z0, x0, dz, dx, square in sides:
        t = ((z - z0) * dz + (x - x0) * dx) / square if square else 0.0
        t = 0.0 if t < 0.0 else min(t, 1.0)
        pz, px = z0 + t * dz, x0 + t * dx
        away = (pz - z) * (pz - z) + (px - x) * (px - x)
        if away < best[0]:
            best = (away, pz, px)
    return Gap(math.sqrt(best[0]), (best[1], best[2]), (z, x))


def _to_face(side: _Side, z: float, foot: float, top: float) -> Gap:
    """From a side's start to a square face at z."""
    x = min(max(side[1], foot), top)
    return Gap(math.hypot(side[0] - z, side[1] - x), (side[0], side[1]), (z, x))


def _to_line(side: _Side, z0: float, x0: float, z1: float, x1: float) -> Gap:
    """From a side's start to a line of the metal."""
    dz, dx = z1 - z0, x1 - x0
    t = ((side[0] - z0) * dz + (side[1] - x0) * dx) / (dz * dz + dx * dx)
    t = 0.0 if t < 0.0 else min(t, 1.0)
    z, x = z0 + t * dz, x0 + t * dx
    return Gap(math.hypot(side[0] - z, side[1] - x), (side[0], side[1]), (z, x))


def _to_arc(side: _Side, piece: Piece) -> list[Gap]:
    """From a side to an arc of the metal, along rays from the arc's centre."""
    _, _, bend, p, q, r, _ = piece
    z0, x0, dz, dx, square = side
    places = [(z0, x0)]
    if bend > 0 and square:
        t = ((p - z0) * dz + (q - x0) * dx) / square
        if 0.0 < t < 1.0:
            places.append((z0 + t * dz, x0 + t * dx))
    gaps = []
    for z, x in places:
        away = math.hypot(z - p, x - q)
        if away > 0.0 and (x - q) * bend > 0.0:
            foot = p + (z - p) * r / away
            if piece[0] < foot < piece[1]:
                gaps.append(Gap(abs(away - r), (z, x), (foot, q + (x - q) * r / away)))
    return gaps


def find_tip(core: Polygon, start: Point, end: Point, gap: Gap) -> Point:
    """A place of the programmed point on its way at which the swept core's nearest point is the core's own."""
    dz, dx = end[0] - start[0], end[1] - start[1]
    if dz == 0.0 and dx == 0.0:
        return start
    z, x = gap.on_core[0] - start[0], gap.on_core[1] - start[1]
    best, least = 0.0, math.inf
    for side in _sides(core) if len(core) > 1 else [(*core[0], 0.0, 0.0, 0.0)]:
        t, away = _between(side, z, x, dz, dx)
        if away < least - 1e-9:
            best, least = t, away
    return Point(start[0] + best * dz, start[1] + best * dx)


def _between(side: _Side, z: float, x: float, dz: float, dx: float) -> tuple[float, float]:
    """Share of the way at which a side of the core comes nearest to (z, x), and how near."""
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
