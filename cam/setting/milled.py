"""What is milled, with what and how held, as data.

Lengths mm, angles degrees. Axes: x along the work, zero at a named shoulder and rising toward the free end (the
tip); z upward, zero on the work's axis; y across, so that x, y, z are right-handed. Seen from the tip looking at
the body y points to the right. Indexing angles turn the work counter-clockwise as seen from the tip (ISO 841's
positive sense about +X, taken for the work), so what stands clockwise of flat 1 by an angle comes to the top at it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Where
from cam.ground.units import show_number
from cam.setting.square import Square

Way = Literal["tipped block", "level block", "rotary"]
WAYS: tuple[Way, ...] = ("tipped block", "level block", "rotary")
CutterKind = Literal["end mill", "spot drill", "drill", "tap"]


def points(name: str, angle: float) -> str:
    """Say how a cross hole stands with flat 1 on top: "hook hole points 90 deg clockwise of straight up"."""
    return f"{name} points {f'{show_number(angle, 2, trim=True)} deg clockwise of ' if angle else ''}straight up"


class Frame(Row):
    """How the work's axis lies in the machine: level, or with its tip raised about a point of the axis.

    Attributes:
        cos, sin: cosine and sine of the angle by which the tip is raised. about: x of the point that keeps its place.
    """

    cos: float
    sin: float
    about: float

    def to_machine(self, x: float, z: float) -> tuple[float, float]:
        """Return machine X and Z of a place of the work with its flat on top; Y is the same."""
        along = x - self.about
        return self.about + along * self.cos - z * self.sin, along * self.sin + z * self.cos


LEVEL = Frame(1.0, 0.0, 0.0)


def tipped(slope: float, about: float) -> Frame:
    """Return the frame of a block tipped to a slope (tangent) about a point of the axis."""
    size = math.hypot(1.0, slope)
    return Frame(1.0 / size, slope / size, about)


class Solid(Row):
    """A piece of the work or of what holds it; whatever lies under its top counts as solid too.

    Attributes:
        start, end: x of its ends. left, right: y of its sides. top: z of its top; for a round one the radius.
        round: whether it is a bar about the work's axis. tilts: whether it tips with the work; else it stays level
            (jaws of a vice).
    """

    name: str
    start: float
    end: float
    left: float
    right: float
    top: float
    round: bool = False
    tilts: bool = True


def bar(name: str, start: float, end: float, diameter: float) -> Solid:
    """Make a round length about the work's axis: a section of the work, or a collet's nut."""
    return Solid(name, start, end, -diameter / 2, diameter / 2, diameter / 2, round=True)


def block(name: str, start: float, end: float, size: float) -> Solid:
    """Make a square block about the work's axis, lying on a side."""
    return Solid(name, start, end, -size / 2, size / 2, size / 2)


def solids_at(solids: Iterable[Solid], x: float) -> list[Solid]:
    """Return those of some solids that x meets, in their order."""
    return [s for s in solids if s.start <= x <= s.end]


@frozen
class CrossHole:
    """A hole square to the axis, as the mill is to leave it.

    Attributes:
        name: "hook hole".
        x: x of its centre. angle: clockwise from the middle of flat 1, seen from the tip.
        diameter: diameter of the drill. depth: from the top of the round to where the full diameter ends; a through
            hole's is the body's diameter.
        through: whether it comes out on the other side.
        flat_depth: depth of a small flat for the drill to start on, below the top of the round; 0 for none.
        flat_size: length of that flat along x.
        spotted: whether the shop has a spot drill to lead the drill.
        where: the line that gave it.
    """

    name: str
    x: float
    angle: float
    diameter: float
    depth: float
    through: bool
    flat_depth: float
    flat_size: float
    where: Where
    spotted: bool = False


@frozen
class MillWork:
    """The work as it stands in the mill, and what is wanted of it: all that a program is judged against.

    Attributes:
        sections: round lengths of the work outside the collet, from the collet on.
        fixtures: nut, block, jaws.
        frame: how the axis lies.
        square: as the mill is to leave it; None for none. wall: x where its flats end; they run from there to the tip.
        limits: least and greatest size across those flats, less the size aimed at, mm.
        holes: as the mill is to leave them.
        under: z of whatever lies below the work where a drill comes out; minus infinity for none.
        lined_up: name of each cross hole that is there before the square, and its angle: where flat 1 stands to it.
    """

    sections: tuple[Solid, ...]
    fixtures: tuple[Solid, ...]
    frame: Frame = LEVEL
    square: Square | None = None
    wall: float = 0.0
    limits: tuple[float, float] = (0.0, 0.0)
    holes: tuple[CrossHole, ...] = ()
    under: float = -math.inf
    lined_up: tuple[tuple[str, float], ...] = ()

    @property
    def top(self) -> float:
        """Return the greatest radius of the work outside the collet, mm."""
        return max(s.top for s in self.sections)

    @property
    def highest(self) -> float:
        """Return the greatest height of the work and of all that holds it, as it lies in the machine, mm."""
        solids = (*self.sections, *self.fixtures)
        ends = [(s, x) for s in solids for x in (s.start, s.end)]
        return max(self.frame.to_machine(x, s.top)[1] if s.tilts else s.top for s, x in ends)

    def section_at(self, x: float) -> Solid | None:
        """Return the section at x, the one toward the tip where two meet; None off the work."""
        return next(reversed(solids_at(self.sections, x)), None)
