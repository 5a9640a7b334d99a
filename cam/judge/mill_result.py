"""The judgement on a mill's program as data."""

from __future__ import annotations

from cam.ground.frozen import Row, frozen
from cam.judge.mill_metal import Sweep
from cam.judge.model import Judged
from cam.setting.solids import SolidGap

Place = tuple[float, float, float]


class FlatResult(Row):
    """One flat at one station.

    Attributes:
        flat: counted from 1. x: x of the station. low, high: its lowest and highest line less the wanted height, mm.
    """

    flat: int
    x: float
    low: float
    high: float


class Across(Row):
    """What a micrometer reads over two opposite flats.

    Attributes:
        flat: the first of the two. x: x of the station. reading, wanted: mm; it touches the highest lines.
    """

    flat: int
    x: float
    reading: float
    wanted: float


class Face(Row):
    """What was cut with the work at one angle: the sweeps that can still be seen, machine axes."""

    angle: float
    sweeps: tuple[Sweep, ...]


class Bore(Row):
    """How deep a drill or tap went at a place.

    Attributes:
        angle: angle of the work. x, y: machine place. tip: least z of the tool's end. tool: its number. line: line of
            the text.
    """

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
