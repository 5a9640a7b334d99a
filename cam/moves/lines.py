"""Arcs as short straight lines, for controls that have no arcs or are not trusted with their sense."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.geometry.path import Arc, Chain, Line, Point, Segment, sweep_angle

FINEST = math.radians(1.0)
"""The least angle by which a line turns, whatever the height: below it the program only grows."""


def lines_for(path: Chain, height: float) -> Chain:
    """Return the path with each arc as lines, never on its finished side and nowhere further off than height, mm."""
    return tuple(piece for one in path for piece in _lines_of(one, height))


def _lines_of(piece: Segment, height: float) -> Iterator[Segment]:
    if isinstance(piece, Line):
        yield piece
        return
    here = piece.start
    for point in (*_corners(piece, height), piece.end):
        yield Line(here, point)
        here = point


def _corners(arc: Arc, height: float) -> Iterator[Point]:
    """Yield where the lines meet: outside an arc whose centre lies in the metal, and on it where that lies in air.

    A path that goes toward the headstock has the metal on its left, drawn with z to the right and x up; one that
    comes back has it on its right.
    """
    radius, sweep = arc.radius, sweep_angle(arc)
    round_metal = (arc.turn > 0) == (arc.end.z < arc.start.z)
    share = radius / (radius + height) if round_metal else max(1.0 - height / radius, 0.0)
    count = max(math.ceil(sweep / max(2 * math.acos(share), FINEST) - 1e-9), 1)
    step = arc.turn * sweep / count
    begin = math.atan2(arc.start.x - arc.centre.x, arc.start.z - arc.centre.z)
    out, first, points = (1 / math.cos(step / 2), 0.5, count) if round_metal else (1.0, 1.0, count - 1)
    for k in range(points):
        angle = begin + (first + k) * step
        yield Point(arc.centre.z + radius * out * math.cos(angle), arc.centre.x + radius * out * math.sin(angle))
