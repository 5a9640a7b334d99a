"""What is threaded on a part, and the hook that one of its threads carries, as written."""

from __future__ import annotations

import math
from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.threads import Thread

ThreadBy = Literal["die", "single point"]
Lock = Literal["shoulder", "bottom", "peening"]
Turn = Literal["clockwise", "anticlockwise"]


@frozen
class Screwed:
    """A thread on a section of the part.

    Attributes:
        section: its name. thread: of the tables. by: how it is cut.
        threaded: length of full thread from the free end, mm.
        depth: of the thread below the shank as aimed at, mm.
        derived: what the file left out, and what it was taken from, a clause each.
    """

    section: str
    thread: Thread
    threaded: Quantity
    by: ThreadBy
    depth: float
    derived: tuple[str, ...]
    where: Where


@frozen
class HookAsked:
    """A [hook]: the head of a screw, filed to a hook once it is home.

    Attributes:
        section: the head. spring_thickness, spring_width: of the strip, mm.
        eye: width of the hole in its inner end, across the strip, mm.
        clearance: left between the strip and the hook's nose, mm.
        lean: of the holding face over the strip, degrees from square to that.
        pull: the way the arbor turns to wind, seen from that arbor's A end.
        body: diameter that it is screwed into, mm. flat: depth of the flat that its head seats on, mm.
        hole_depth: of full thread from the top of the round, mm; nan for a hole that goes through.
        locked_by: what keeps it from turning.
    """

    section: str
    spring_thickness: Quantity
    spring_width: Quantity
    eye: Quantity
    clearance: Quantity
    lean: float
    pull: Turn
    body: Quantity
    flat: Quantity
    hole_depth: Quantity
    locked_by: Lock
    where: Where

    @property
    def deep(self) -> float:
        """Length of full thread in the hole, from the flat on, mm."""
        return float(self.body - self.flat if self.through else self.hole_depth - self.flat)

    @property
    def through(self) -> bool:
        """Whether its hole goes through the body."""
        return math.isnan(self.hole_depth)


@frozen
class Screwing:
    """All that is threaded on a part, and the hook."""

    threads: tuple[Screwed, ...]
    hook: HookAsked | None
