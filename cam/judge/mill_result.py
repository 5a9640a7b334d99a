"""The judgement on a mill's program as data."""

from __future__ import annotations

from cam.ground.frozen import Row, frozen
from cam.judge.mill_metal import Sweep
from cam.judge.model import Judged
from cam.setting.solids import SolidGap

Place = tuple[float, float, float]


class FlatResult(Row):
    """The lowest and the highest line of a flat (counted from 1) at a station x, less the wanted height, mm."""

    flat: int
    x: float
    low: float
    high: float


class Across(Row):
    """What a micrometer reads over a flat's highest line and its opposite's at a station x, and what is wanted, mm."""

    flat: int
    x: float
    reading: float
    wanted: float


class Face(Row):
    """What was cut with the work at one angle: the sweeps that can still be seen, machine axes."""

    angle: float
    sweeps: tuple[Sweep, ...]


class Bore(Row):
    """How deep a tool went at a machine place, with the work at an angle: the least z of its end; line of the text."""

    angle: float
    x: float
    y: float
    tip: float
    tool: int
    line: int


@frozen
class MillSimulation(Judged):
    """The judgement on one program of the mill.

    Attributes:
        faces, bores: what can still be seen, for pictures and for section_outline.
        flats, across: at every station looked at.
        closest: the least distance to anything that holds the work, and of shank and holder to the work; None for a
            program that does not move.
        closest_line: where that was.
        lowest, highest: least and greatest X, Y and Z of the programmed point.
    """

    faces: tuple[Face, ...]
    bores: tuple[Bore, ...]
    flats: tuple[FlatResult, ...]
    across: tuple[Across, ...]
    closest: SolidGap | None
    closest_line: int
    lowest: Place
    highest: Place
