"""A drilling cycle as the moves that it stands for, for dialects without cycles and to be seen.

Source: NISTIR 6556, 3.5.16: G81, G83 and G84 with the tool at or above R, ending at R (G99).
"""

from __future__ import annotations

from cam.ground.problem import RangeError
from cam.mill.model import Cycle, Feed, Rapid

BACK_OFF = 0.254
"""How far above the last bottom a peck stops on its way back down at rapid, mm: 0.010 in in the report's own program
text (from memory)."""


def expand(cycle: Cycle) -> tuple[Rapid | Feed, ...]:
    """Return the moves of a drill or peck cycle, from anywhere above its retract level and straight over its place.

    Raises:
        RangeError: it is a tap cycle, which needs the spindle to turn in step and back, or its levels are out of order.
    """
    if cycle.kind == "tap":
        raise RangeError("a tap cycle cannot be written as plain moves: the spindle must turn in step with the feed")
    if cycle.bottom > cycle.retract or (cycle.kind == "peck" and cycle.step <= 0):
        raise RangeError("a cycle goes down, and a peck has a step")
    x, y, top = cycle.x, cycle.y, cycle.retract
    moves: list[Rapid | Feed] = [Rapid(axis="z", to=top)]
    if cycle.kind == "peck":
        depth = top - cycle.step
        while depth > cycle.bottom:
            moves.append(Feed(x=x, y=y, z=depth, feed=cycle.feed))
            moves.append(Rapid(axis="z", to=top))
            moves.append(Rapid(axis="z", to=min(depth + BACK_OFF, top)))
            depth -= cycle.step
    return (*moves, Feed(x=x, y=y, z=cycle.bottom, feed=cycle.feed), Rapid(axis="z", to=top))
