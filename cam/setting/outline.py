"""The outline of the metal in half-section: chains from the tailstock end to the headstock end.

A chain starts and ends on the axis, its z never rises, and it has one x at every z except on square faces.
"""

from __future__ import annotations

import math

from cam.geometry.path import Arc, Chain, Line, Point, Segment, mirror_z, reverse, shift, spans
from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.part.features import Edge

LEAST_BEND = 1e-6
"""The least difference of slope between a chamfer and the surface to which it runs."""


class Pen:
    """Draws a chain piece by piece; pieces of no length are left out."""

    def __init__(self, z: float, x: float) -> None:
        self.at = Point(z, x)
        self.pieces: list[Segment] = []

    def line(self, z: float, x: float) -> None:
        """Draw straight to (z, x); a face that is off square by rounding is made square where it ends."""
        if 0 < abs(z - self.at.z) <= ROUNDING and self.pieces and self.pieces[-1].start.z > z + ROUNDING:
            self.at = Point(z, self.at.x)
            self.pieces[-1] = self.pieces[-1]._replace(end=self.at)
        end = Point(z, x)
        if math.dist(self.at, end) > ROUNDING:
            self.pieces.append(Line(self.at, end))
            self.at = end

    def arc(self, end: Point, centre: Point, turn: int) -> None:
        """Draw along a circle to end."""
        if math.dist(self.at, end) > ROUNDING:
            self.pieces.append(Arc(self.at, end, centre, turn))
            self.at = end

    def follow(self, pieces: Chain) -> None:
        """Draw straight to where pieces start, and along them."""
        self.line(*pieces[0].start)
        self.run(pieces)

    def run(self, pieces: Chain) -> None:
        """Draw pieces that start where the pen is."""
        for piece in pieces:
            if isinstance(piece, Line):
                self.line(*piece.end)
            else:
                self.arc(piece.end, piece.centre, piece.turn)


class Surface(Row):
    """The surface of a section where it is met from the tailstock.

    Attributes:
        radius: mm.
        growth: growth of the radius per mm toward the headstock; zero on a cylinder.
    """

    radius: float
    growth: float


def edge_pieces(z: float, surface: Surface, edge: Edge) -> Chain:
    """Return an outer edge from the face at z to the surface behind it.

    A chamfer of size s starts on the face, s below the sharp corner, and runs at 45 degrees to the surface; a
    radius of size s is the arc of radius s that touches both. A chamfer that meets no surface, because that is as steep
    as itself, is drawn so long that it is found longer than its section.
    """
    size, (radius, m) = edge.size, surface
    if edge.kind == "chamfer":
        along = size / max(1 - m, LEAST_BEND)
        return (Line(Point(z, radius - size), Point(z - along, radius + m * along)),)
    slant = math.hypot(1, m)
    centre = Point(z - size, radius - size * (slant - m))
    start, end = Point(z, centre.x), Point(centre.z + size * m / slant, centre.x + size / slant)
    return (Arc(start, end, centre, 1),)


def corner_arc(z: float, surface: Surface, radius: float) -> Arc:
    """Return the fillet of this radius from the surface to the face that rises from it at z.

    surface.radius is the one at z itself, in the sharp corner.
    """
    slant = math.hypot(1, surface.growth)
    centre = Point(z + radius, surface.radius + radius * (slant - surface.growth))
    start = Point(centre.z - radius * surface.growth / slant, centre.x - radius / slant)
    return Arc(start, Point(z, centre.x), centre, -1)


def outline_radius(chain: Chain, z: float) -> float:
    """Return the radius of the outline at z, mm; the greatest on a square face; zero beyond its ends."""
    return max((x for piece in chain for x in _radii_at(piece, z)), default=0.0)


def surface_behind(chain: Chain, z: float) -> Surface:
    """Return the surface that begins at z and goes on toward the headstock; its radius is zero beyond the end."""
    for piece in chain:
        (z0, x0), (z1, x1) = piece.start, piece.end
        if z1 >= z - ROUNDING:
            continue
        if isinstance(piece, Line):
            growth = (x1 - x0) / (z0 - z1)
            return Surface(x0 + growth * (z0 - z), growth)
        return Surface(x0 if z0 <= z + ROUNDING else max(_radii_at(piece, z)), 0.0)
    return Surface(0.0, 0.0)


def behind(chain: Chain, z: float) -> Chain:
    """Return the part of a chain from z toward the headstock, without a face that stands at z itself."""
    found: list[Segment] = []
    for piece in chain:
        z0, z1 = piece.start.z, piece.end.z
        if z1 >= z - ROUNDING and (z0 > z + ROUNDING or abs(z0 - z1) <= ROUNDING) and not found:
            continue  # ends at z or before, or is a face at z
        if z0 > z + ROUNDING:
            at = Point(z, max(_radii_at(piece, z)))
            found.append(
                Line(at, piece.end) if isinstance(piece, Line) else Arc(at, piece.end, piece.centre, piece.turn)
            )
        else:
            found.append(piece)
    return tuple(found)


def _radii_at(piece: Segment, z: float) -> list[float]:
    (z0, x0), (z1, x1) = piece.start, piece.end
    if not min(z0, z1) - ROUNDING <= z <= max(z0, z1) + ROUNDING:
        return []
    if isinstance(piece, Line):
        if abs(z1 - z0) <= ROUNDING:
            return [x0, x1]
        return [x0 + (x1 - x0) * (z - z0) / (z1 - z0)]
    centre, r = piece.centre, piece.radius
    reach = math.sqrt(max(r * r - (z - centre.z) ** 2, 0.0))
    both = (Point(z, centre.x - reach), Point(z, centre.x + reach))
    ends = [p.x for p in (piece.start, piece.end) if abs(p.z - z) <= ROUNDING]
    return ends + [p.x for p in both if spans(piece, p)]


def turn_round(chain: Chain, offset: float) -> Chain:
    """Return the same metal seen from the other end: z becomes offset - z."""
    return tuple(reverse(piece) for piece in reversed(shift(mirror_z(chain), offset, 0.0)))


def cylinder(front: float, back: float, radius: float) -> Chain:
    """Return a plain bar from front (tailstock side) to back."""
    pen = Pen(front, 0.0)
    pen.line(front, radius)
    pen.line(back, radius)
    pen.line(back, 0.0)
    return tuple(pen.pieces)
