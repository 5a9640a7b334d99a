"""Outlines of a few pieces, one cut by another, and how near small bodies come to them: each a figure to work out.

A piece is (z from, z to, bend, z and x of a point of it or of its centre, slope or radius, what left it).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import product

from cam.geometry.path import Point
from cam.judge.clearance import find_gap, find_tip, outline_distance, sides_of
from cam.judge.envelope import (
    Metal,
    Piece,
    crest,
    crossings,
    lower,
    split_at,
    trough,
    without_loose_end,
    without_slivers,
)
from tests.told.programs import figure

LEVEL: Piece = (-4.0, 0.0, 0, -4.0, 2.0, 0.0, 1)
RISING: Piece = (-4.0, 0.0, 0, -4.0, 1.0, 0.5, 2)
FALLING: Piece = (-4.0, 0.0, 0, -4.0, 3.0, -0.5, 3)
HILL: Piece = (-4.0, 0.0, 1, -2.0, 0.5, 2.5, 4)
HOLLOW: Piece = (-4.0, 0.0, -1, -2.0, 4.0, 2.5, 5)
FLAT_HILL: Piece = (-4.0, 0.0, 1, -3.0, -3.0, 5.0, 6)
BALL: Piece = (-2.0, 0.0, 1, -2.0, 0.0, 2.5, 7)
PIECES = {
    "level": LEVEL,
    "rising": RISING,
    "falling": FALLING,
    "hill": HILL,
    "hollow": HOLLOW,
    "flat hill": FLAT_HILL,
    "ball": BALL,
}


def moved(piece: Piece, z: float, x: float = 0.0) -> Piece:
    """Return a piece moved along both axes."""
    z0, z1, bend, p, q, r, source = piece
    return (z0 + z, z1 + z, bend, p + z, q + x, r, source)


OUTLINES: dict[str, list[Piece]] = {
    **{name: [piece] for name, piece in PIECES.items()},
    "steps": [LEVEL, moved(LEVEL, 4.0, 1.0), moved(LEVEL, 8.0, -1.0), (8.0, 9.0, 0, 8.0, 0.0, 0.0, 7)],
    "hill and hollow": [HILL, moved(HOLLOW, 4.0, 0.5), moved(FALLING, 8.0)],
    "slopes": [RISING, moved(FALLING, 4.0), moved(FALLING, 8.0, -1.0)],
}
CORES = {
    "point": (Point(0.0, 0.0),),
    "edge": (Point(0.0, 0.0), Point(1.0, 2.0)),
    "wedge": (Point(0.0, 0.0), Point(2.0, 1.0), Point(0.5, 3.0)),
}
WAYS = (
    ((-6.0, 5.0), (-6.0, 5.0)),
    ((-6.0, 4.5), (3.0, 4.5)),
    ((2.5, 6.0), (2.5, 3.6)),
    ((-5.0, 5.5), (1.0, 4.0)),
    ((9.5, 1.0), (9.5, 4.0)),
    ((11.0, 4.5), (6.0, 4.0)),
    ((-2.0, 3.5), (-2.0, 3.5)),
)


def told(piece: Piece) -> str:
    """Return a piece in a few figures."""
    return f"{figure(piece[0])}..{figure(piece[1])} of {piece[6]}"


def cuts() -> Iterator[str]:
    """Yield what is left of each outline where another is cut into it, higher or lower, and what is taken off."""
    for (name, old), (other, new), (z, x) in product(
        OUTLINES.items(), PIECES.items(), ((0.0, 0.0), (1.5, 0.3), (-1.0, -0.4), (4.0, 0.0))
    ):
        out, removed = lower(old, [moved(new, z, x)])
        gone = "; ".join(f"{figure(a)}..{figure(b)}: {o[6]} to {n[6]}" for a, b, o, n in removed)
        yield f"{name} by {other} at {z:g}, {x:g}: {'; '.join(map(told, out))} | {gone}"
    for (name, one), (other, two) in product(PIECES.items(), repeat=2):
        met = " ".join(map(figure, crossings(one, moved(two, 0.5, 0.2))))
        yield f"{name} and {other} meet at {met or '-'}"


def heights() -> Iterator[str]:
    """Yield the heights of each outline at and between places on and off it, and its halves."""
    for name, pieces in OUTLINES.items():
        metal = Metal(pieces)
        yield f"# {name}: tops {' '.join(map(figure, metal.tops))}, end {figure(metal.end)}"
        for z in (-5.0, -4.0, -3.25, -2.0, 0.0, 1.0, 4.0, 8.0, 8.5, 9.0, 10.0):
            halves = " | ".join("; ".join(map(told, half)) for half in split_at(pieces, z))
            yield f"  at {z:g}: {figure(metal.at(z))} before {figure(metal.at(z, before=True))}; {halves}"
        for z0, z1 in ((-9.0, -4.0), (-5.0, -3.5), (-3.0, -1.0), (-1.0, 0.0), (0.0, 0.5), (-1.0, 5.0), (8.0, 12.0)):
            high = [metal.reaches(z0, z1, low) for low in (1.0, 2.0, 3.0)]
            told_heights = f"top {figure(metal.top(z0, z1))}, highest {figure(metal.highest(z0, z1))}"
            yield f"  {z0:g} to {z1:g}: {metal.window(z0, z1)}, {told_heights}, above 1, 2, 3 {high}"
            for low in (-9.0, 2.0, 3.0):
                yield f"    cut at 1.5 from {low:g}: {len(metal.overlap([(z0, z1, 0, z0, 1.5, 0.0, 9)], low))}"
        yield from (f"  {z0:g} to {z1:g}: {figure(crest(p, z0, z1))}, {figure(trough(p, z0, z1))}" for p in pieces[:1]
                    for z0, z1 in ((-4.0, 0.0), (-4.0, -3.5), (-1.0, 0.0)))  # fmt: skip
        film = [
            *pieces,
            (pieces[-1][1], pieces[-1][1] + 4e-4, 0, 0.0, 6.0, 0.0, 8),
            moved(LEVEL, pieces[-1][1] + 4.0004),
        ]
        axis = [*pieces, (pieces[-1][1], pieces[-1][1] + 1.0, 0, 0.0, -0.5, 0.0, 8), moved(LEVEL, pieces[-1][1] + 5.0)]
        yield f"  less slivers {'; '.join(map(told, without_slivers(film)))}"
        yield f"  less a loose end {'; '.join(map(told, without_loose_end(axis)))}"


def gaps() -> Iterator[str]:
    """Yield how near small bodies come to each outline on their ways past it, where, and at which place of the way."""
    for name, pieces in OUTLINES.items():
        metal = Metal(pieces)
        for (core, polygon), (start, end), (round_, best) in product(CORES.items(), WAYS, ((0.0, 50.0), (0.25, 2.0))):
            sides = sides_of(polygon)
            found = find_gap(metal, sides, round_, Point(*start), Point(*end), best)
            if found is None:
                yield f"{name}, {core} {start} to {end}, {round_}: none"
                continue
            tip = find_tip(sides, Point(*start), Point(*end), found)
            places = " ".join(f"{figure(z)}/{figure(x)}" for z, x in (found.on_core, found.on_work, tip))
            yield f"{name}, {core} {start} to {end}, {round_}: {figure(found.distance)} at {places}"
        for z, x, best in product((-5.0, -3.0, -1.5, 0.5, 6.0, 9.5), (0.5, 2.0, 4.0), (9.0, 0.6)):
            gap = outline_distance(metal, z, x, best)
            shown = f"{figure(gap.distance)} at {figure(gap.on_work[0])}/{figure(gap.on_work[1])}" if gap else "none"
            yield f"{name} from {z:g}/{x:g} within {best:g}: {shown}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"metal cuts": cuts, "metal heights": heights, "metal gaps": gaps}
