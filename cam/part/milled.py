"""What is milled on a part: its square and its cross holes, as written."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.taper import Corners, Taper
from cam.part.threads import Thread

LEADS = {"taper": 8.0, "second": 4.0, "bottoming": 2.0}
"""Threads that a tap's chamfer takes up. Source: ISO 8830 has such classes; these lengths from memory."""


@frozen
class Hold:
    """What the collet grips: a section, and how much of its length from its end away from the tip, mm."""

    section: str
    length: Quantity


@frozen
class SquareAsked:
    """A [section.square].

    Attributes:
        section: its section's name. flats, corners, broken: as in cam.mill.square.Square.
        across, station, taper: size across flats at a station from the shoulder, mm.
        limits: least and greatest size across flats as milled, less the size aimed at, mm.
        allowance: left on the size across flats for file and stone, mm.
        flats_end: from the shoulder, mm. key: across flats of the key's hole, mm; nan where none is said.
        hold: in the mill.
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
    """A [[cross_hole]].

    Attributes:
        name, section: as written. shoulder, face: the section and its face that distance counts from, mm.
        angle: from flat 1, degrees; nan where any will do. thread: None for a plain hole.
        diameter: of a plain hole, mm; nan with a thread. through, depth: mm, nan where it goes through.
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
    """All that is milled on a part."""

    square: SquareAsked | None
    holes: tuple[HoleAsked, ...]
