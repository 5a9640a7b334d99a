"""The sheet: mm of the setting to mm of paper, path data, hatching, and how much room a text takes.

Paper coordinates are mm from the left and from the top; every panel is one A4 sheet, lying. The SVG's own unit
is a hundredth of that, so that every number in it is whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from cam.geometry.path import Arc, Chain, Line, Point, Segment, flatten, sweep_angle
from cam.ground.frozen import Row
from cam.ground.problem import RangeError

WIDTH, HEIGHT = 297, 210

SCALES = (
    0.1, 0.2, 0.25, 0.5, 0.75, 1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50,
)  # fmt: skip
"""Drawing scales that are used, paper to work."""


HATCHES: dict[str, tuple[float, int]] = {"work": (2.2, 1), "solid": (3.2, -1)}
"""Each style's spacing of its hatching, mm, and whether that rises (+1) or falls (-1) to the right."""


class Rect(Row):
    """A rectangle of paper."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.top + self.height

    def meets(self, other: Rect) -> bool:
        """Tell whether the two have any paper in common."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def grown(self, by: float) -> Rect:
        """Return the rectangle with so much more on every side, mm."""
        return Rect(self.left - by, self.top - by, self.width + 2 * by, self.height + 2 * by)


def paper(value: float) -> str:
    """Return a length on paper, mm, in the SVG's unit: a whole number, without exponent or a zero with a sign.

    Raises:
        RangeError: not a finite number.
    """
    try:
        return str(round(value * 100.0))
    except (ValueError, OverflowError) as fault:
        raise RangeError(f"cannot draw at {value!r}") from fault


def scale_at_most(wanted: float) -> float:
    """Return the greatest scale in use that is no greater than wanted; the least one if all are."""
    return max((s for s in SCALES if s <= wanted + 1e-9), default=SCALES[0])


class View(Row):
    """A window of the setting's half-section on the paper.

    Attributes:
        frame: place on the paper.
        scale: mm of paper per mm of work.
        left_z: the Z at the frame's left edge.
        axis_y: the paper's y of the spindle axis.
    """

    frame: Rect
    scale: float
    left_z: float
    axis_y: float

    def across(self, z: float) -> float:
        """The paper's x of a Z."""
        return self.frame.left + (z - self.left_z) * self.scale

    def down(self, x: float) -> float:
        """The paper's y of an X."""
        return self.axis_y - x * self.scale

    def place(self, point: Point) -> tuple[float, float]:
        """Return a point of the half-section as a place on the paper."""
        return self.across(point[0]), self.down(point[1])

    @property
    def right_z(self) -> float:
        """The Z at the frame's right edge."""
        return self.left_z + self.frame.width / self.scale

    @property
    def top_x(self) -> float:
        """The X at the frame's upper edge."""
        return (self.axis_y - self.frame.top) / self.scale

    @property
    def bottom_x(self) -> float:
        """The X at the frame's lower edge."""
        return (self.axis_y - self.frame.bottom) / self.scale

    def sees(self, low: Point, high: Point) -> bool:
        """Tell whether any of a box of the half-section lies in the frame."""
        return low.z <= self.right_z and high.z >= self.left_z and low.x <= self.top_x and high.x >= self.bottom_x

    def draw(self, chain: Iterable[Segment], *, close: bool = False) -> str:
        """Return path data of segments; where one does not begin at the last one's end the pen is lifted."""
        parts: list[str] = []
        at, (z0, x0, per_mm) = None, self._grid()
        try:
            for piece in chain:
                start, end = piece.start, piece.end
                if start != at:
                    parts.append(f"M{round((start[0] - z0) * per_mm)} {round((x0 - start[1]) * per_mm)}")
                if isinstance(piece, Arc):
                    parts.append(arc_data(piece, paper(piece.radius * self.scale), self._pair))
                else:
                    parts.append(f"L{round((end[0] - z0) * per_mm)} {round((x0 - end[1]) * per_mm)}")
                at = end
        except (ValueError, OverflowError) as fault:
            raise RangeError("a path leads to a place that is no number") from fault
        return "".join(parts) + ("Z" if close and parts else "")

    def axis(self) -> str:
        """Return path data of the axis, from side to side."""
        return self.draw(straight((self.left_z, 0), (self.right_z, 0)))

    def datum(self) -> str:
        """Return path data of the line at Z 0, from top to bottom."""
        return self.draw(straight((0, self.bottom_x), (0, self.top_x)))

    def _grid(self) -> tuple[float, float, float]:
        """Return Z and X of the paper's left upper corner, and the SVG's units per mm of work."""
        return self.left_z - self.frame.left / self.scale, self.axis_y / self.scale, self.scale * 100.0

    def _pair(self, point: Point) -> str:
        return f"{paper(self.across(point[0]))} {paper(self.down(point[1]))}"

    def outline(self, chain: Chain) -> list[tuple[float, float]]:
        """Return corners on the paper of a chain that is closed by a line from its end to its start if need be.

        Arcs become chords that stray no more than 0.03 mm of paper.
        """
        corners = [self.place(chain[0].start)]
        for piece in chain:
            corners += [self.place(p) for p in flatten(piece, 0.03 / self.scale)[1:]]
        return corners


def view_about(frame: Rect, scale: float, at: Point) -> View:
    """Return a window with a place in its middle."""
    return View(frame, scale, at.z - frame.width / 2 / scale, frame.top + frame.height / 2 + at.x * scale)


def arc_data(arc: Arc, radius: str, pair: Callable[[Point], str]) -> str:
    """Return path data of an arc, which turns alike on screen and in half-section; sweep flag 0 is counter-clockwise.

    Args:
        radius: as it is written. pair: writes a place.
    """
    sweep = sweep_angle(arc)
    if sweep > 2.0 * math.pi - 1e-6:  # SVG has no full circle
        far = Point(2 * arc.centre.z - arc.start.z, 2 * arc.centre.x - arc.start.x)
        halves = (Arc(arc.start, far, arc.centre, arc.turn), Arc(far, arc.end, arc.centre, arc.turn))
        return "".join(arc_data(half, radius, pair) for half in halves)
    return f"A{radius} {radius} 0 {int(sweep > math.pi)} {0 if arc.turn > 0 else 1} {pair(arc.end)}"


def hatch(outline: Sequence[tuple[float, float]], spacing: float, rise: int, within: Rect) -> str:
    """Return path data of slanting lines that fill an outline.

    Args:
        outline: corners on the paper, closed by itself; need not be convex.
        spacing: between the lines, mm, measured upright.
        rise: +1 for lines that rise to the right, -1 for lines that fall.
        within: what lies outside it is left out.
    """
    corners = [y + rise * x for x in (within.left, within.right) for y in (within.top, within.bottom)]
    lowest, highest = math.ceil(min(corners) / spacing), math.floor(max(corners) / spacing) + 1
    crossings: dict[int, list[float]] = {}
    a, b = outline[-1]
    level_a = (b + rise * a) / spacing  # a hatch line is y + rise x = spacing k
    for c, d in outline:
        level_c = (d + rise * c) / spacing
        first, last = (level_a, level_c) if level_a < level_c else (level_c, level_a)
        for k in range(max(math.ceil(first), lowest), min(math.ceil(last), highest)):
            share = (k - level_a) / (level_c - level_a)
            crossings.setdefault(k, []).append(a + share * (c - a))
        a, b, level_a = c, d, level_c
    parts = []
    for k, xs in sorted(crossings.items()):
        xs.sort()
        level = spacing * k
        if rise > 0:
            left, right = max(within.left, level - within.bottom), min(within.right, level - within.top)
        else:
            left, right = max(within.left, within.top - level), min(within.right, within.bottom - level)
        for start, end in zip(xs[::2], xs[1::2], strict=False):
            x0, x1 = max(start, left), min(end, right)
            if x0 < x1:
                y0, y1 = level - rise * x0, level - rise * x1
                parts.append(f"M{round(x0 * 100)} {round(y0 * 100)}L{round(x1 * 100)} {round(y1 * 100)}")
    return "".join(parts)


def straight(*corners: tuple[float, float]) -> Chain:
    """Return lines through corners (z, x)."""
    points = [Point(*c) for c in corners]
    return tuple(Line(a, b) for a, b in pairwise(points))
