"""Points, lines and arcs in the half-section plane: z along the axis, x the radius, both mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple


class Point(NamedTuple):
    """A place in the half-section.

    Attributes:
        z: along the axis, mm; + toward the tailstock in a setting, away from the A face in a part.
        x: distance from the axis, mm (a radius).
    """

    z: float
    x: float


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece from start to end."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular piece, at most one full turn.

    Attributes:
        start, end: both on the circle; equal for a full circle.
        centre: of the circle.
        turn: +1 counter-clockwise drawn with z to the right and x up (G3 in G18 by NISTIR 6556
            4.3.6.3), -1 clockwise (G2).
    """

    start: Point
    end: Point
    centre: Point
    turn: int

    @property
    def radius(self) -> float:
        """Distance from centre to start, mm."""
        return math.hypot(self.start.z - self.centre.z, self.start.x - self.centre.x)


Segment = Line | Arc
Chain = tuple[Segment, ...]
Polygon = tuple[Point, ...]
"""A convex polygon's corners, counter-clockwise with z right and x up, first corner not repeated."""
