"""The judgement on a mill's program as data."""

from __future__ import annotations

from cam.ground.frozen import Row, frozen
from cam.judge.mill_metal import Sweep
from cam.setting.solids import SolidGap

Place = tuple[float, float, float]


class MillFinding(Row):
    """A fault that was found in a program or its result.

    Attributes:
        line: line of the program text; 0 where it is about the result as a whole.
        kind: "contact", "too near", "rapid in metal", "plunge", "too deep", "gouge", "uncut", "spindle off",
            "spindle on", "turned in the cutter", "diagonal rapid", "not checked", "unknown tool", "tool offset",
            "dragged drill", "hole", "tap", "unreadable", "unknown place", "never said", "datum moved", "speed", "feed",
            "tool change", "no proof"; for warnings "stop left out", "not measured", "steps".
        what: a sentence with numbers. amount: mm; 0 where it has no size.
        at: machine place, or None. obstacle: name of what is hit, or "". tool: number of the tool in use.
    """

    line: int
    kind: str
    what: str
    amount: float
    at: Place | None
    obstacle: str
    tool: int


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
class MillSimulation:
    """The judgement on one program.

    Attributes:
        findings: sorted by line; empty means that it may be cut. warnings: what may be intended.
        faces, bores: what can still be seen, for pictures and for section_outline.
        flats, across: at every station looked at.
        gouge, uncut: greatest, mm; 0 if none.
        closest: the least distance to anything that holds the work, and of shank and holder to the work; None for a
            program that does not move.
        closest_line: where that was.
        cutting_time, air_time: seconds; stops are not counted.
        lowest, highest: least and greatest X, Y and Z of the programmed point.
    """

    findings: tuple[MillFinding, ...]
    faces: tuple[Face, ...]
    bores: tuple[Bore, ...]
    flats: tuple[FlatResult, ...]
    across: tuple[Across, ...]
    gouge: float
    uncut: float
    closest: SolidGap | None
    closest_line: int
    cutting_time: float
    air_time: float
    lowest: Place
    highest: Place
    warnings: tuple[MillFinding, ...] = ()

    @property
    def ok(self) -> bool:
        """Tell whether nothing was found."""
        return not self.findings
