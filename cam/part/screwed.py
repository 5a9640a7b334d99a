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
        section: its name.
        thread: a thread of the tables.
        by: how it is cut.
        threaded: length of full thread from the free end, mm.
        depth: depth of the thread below the shank that is aimed at, mm.
        derived: what the file left out and what it was derived from, a clause for each.
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
    """What a [hook] table asks for: the head of a screw, filed to a hook once it is home.

    Attributes:
        section: the head.
        spring_thickness, spring_width: of the strip, mm.
        eye: width of the hole in its inner end, across the strip, mm.
        clearance: what is left between the strip and the hook's nose, mm.
        lean: how far the holding face leans over the strip, degrees from square to it.
        pull: the way in which the arbor turns to wind, seen from that arbor's A end.
        body: diameter of the body into which it is screwed, mm.
        flat: depth of the flat on which its head seats, mm.
        hole_depth: depth of full thread from the top of the round, mm; nan for a hole that goes through.
        locked_by: what keeps the screw from turning.
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
        """Return the length of full thread in the hole, from the flat on, mm."""
        return float(self.body - self.flat if self.through else self.hole_depth - self.flat)

    @property
    def through(self) -> bool:
        """Whether its hole goes through the body."""
        return math.isnan(self.hole_depth)


@frozen
class Screwing:
    """Everything that is threaded on a part, and the hook."""

    threads: tuple[Screwed, ...]
    hook: HookAsked | None
