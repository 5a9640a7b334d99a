"""What is milled on a part: its square and its cross holes, as written."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.taper import Corners, Taper
from cam.part.threads import Thread

LEADS = {"taper": 8.0, "second": 4.0, "bottoming": 2.0}
"""The number of threads that a tap's chamfer takes up. Source: ISO 8830 has such classes; these lengths from memory."""


@frozen
class Hold:
    """What the collet grips: a section, and how much of its length, mm, from its end away from the tip."""

    section: str
    length: Quantity


@frozen
class SquareAsked:
    """What a [section.square] table asks for.

    Attributes:
        section: the name of its section.
        flats, corners, broken: as in cam.setting.square.Square.
        across, station, taper: the size across flats at a station, the station's distance from the shoulder, mm, and
            the taper.
        limits: the least and the greatest size across flats as milled, less the size aimed at, mm.
        allowance: what is left on the size across flats for file and stone, mm.
        flats_end: where the flats end, from the shoulder, mm.
        key: size across flats of the key's hole, mm; nan where none is given.
        hold: how the part is held in the mill.
    """

    section: str
    flats: int
    across: float
    station: float
    taper: Taper
    corners: Corners
    broken: float
    limits: tuple[float, float]
    allowance: float
    flats_end: float
    key: float
    hold: Hold
    where: Where


@frozen
class HoleAsked:
    """What a [[cross_hole]] table asks for.

    Attributes:
        name, section: as written.
        shoulder, face: the section, and which of its faces, from which distance is measured, mm.
        angle: from flat 1, degrees; nan where any will do.
        thread: the thread in the hole; None for a plain hole.
        diameter: of a plain hole, mm; nan for a threaded one.
        through, depth: whether the hole goes through, and its depth, mm; the depth is then nan.
        lead, chips, flat_depth: as in cam.mill.plan_hole.HoleTask.
    """

    name: str
    section: str
    shoulder: str
    face: Literal["A", "B"]
    distance: Quantity
    angle: float
    thread: Thread | None
    diameter: float
    through: bool
    depth: float
    lead: str
    chips: float
    flat_depth: float
    hold: Hold
    where: Where


@frozen
class Milled:
    """Everything that is milled on a part."""

    square: SquareAsked | None
    holes: tuple[HoleAsked, ...]
