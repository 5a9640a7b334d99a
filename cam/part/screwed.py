"""What is threaded on a part, and the hook that one of its threads carries, as written."""

from __future__ import annotations

import math
from typing import Literal

from cam.ground import keys
from cam.ground.frozen import frozen
from cam.ground.keys import declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.ground.units import ANGLE
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


@declared
class HookAsked:
    """What a [hook] table asks for: the head of a screw, filed to a hook once it is home; mm, degrees.

    The hole's depth is nan for one that goes through.
    """

    section: str = keys.text("The head.", "head")
    spring_thickness: Quantity = keys.length("Of the strip.", "0.4 mm", over=True, most=5.0)
    spring_width: Quantity = keys.length("Of the strip.", "8 mm", over=True, most=100.0)
    eye: Quantity = keys.length("Width of the hole in the spring's inner end, across the strip.", "3 mm", over=True,
                                most=50.0)  # fmt: skip
    clearance: Quantity = keys.length(
        "By which the hook's nose stands higher over the body than the spring is thick.", "0.05 mm", most=1.0
    )
    lean: float = keys.quantity(ANGLE, "Of the holding face over the strip, from square to that.", "8 deg", most=20.0,
                                plain=True)  # fmt: skip
    pull: Turn = keys.choice("The way the arbor turns to wind, seen from its A end.", Turn)
    body: Quantity = keys.length("Diameter of the arbor that it is screwed into.", "14 mm", over=True, most=500.0)
    flat: Quantity = keys.length("Depth of the flat round the hole, on which the head seats.", "0.3 mm", most=10.0)
    through_body = keys.flag("Whether the hole goes through the body; left out, it does not.", default=False,
                             key="through")  # fmt: skip
    hole_depth: Quantity = keys.length(
        "Of full thread from the top of the round, where the hole does not go through.", "7 mm", over=True, most=200.0,
        needed=False,
    )  # fmt: skip
    locked_by: Lock = keys.choice("What keeps the screw from turning.", Lock)
    where: Where
    __rules__ = ({
        "if": {"required": ["through"], "properties": {"through": {"const": True}}},
        "then": keys.lacks("hole_depth"), "else": keys.needs("hole_depth"),
    },)  # fmt: skip

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
