"""How one run is finished: how many cuts, how deep, at what feed, and what that leaves."""

from __future__ import annotations

import math

from cam.ground.frozen import frozen


@frozen
class Cuts:
    """The finishing of one run: its last two cuts are equal, with a stop to measure between them.

    Attributes:
        names: names of the run's sections.
        count: number of cuts, 2 or more. first: depth of those before the last two together, with what is uneven, mm
            per side. deepest: the deepest of them, with all that roughing left over the allowance, mm per side.
        depth: depth of each of the last two cuts, mm per side.
        feed: mm/rev.
        error: how much the diameter will differ along the length, mm.
        plain: the same error with two cuts at the tool's own feed.
        goal: the greatest error allowed, mm; infinite without limits on the diameter.
        limits: width of the limits on the diameter, mm; infinite without.
        spot: Z at which it springs most, mm. spring: its spring there, mm for each N; least_spring: its spring where
            that is least.
        force: radial force of the last cut, N.
        too_deep: two cuts would be deeper than the tool takes.
        too_strong: as few cuts as the tool takes, at its own feed, are more than spindle and slide can drive.
    """

    names: tuple[str, ...] = ()
    count: int = 2
    first: float = 0.0
    deepest: float = 0.0
    depth: float = 0.0
    feed: float = 0.0
    error: float = 0.0
    plain: float = 0.0
    goal: float = math.inf
    limits: float = math.inf
    spot: float = 0.0
    spring: float = 0.0
    least_spring: float = 0.0
    force: float = 0.0
    too_deep: bool = False
    too_strong: bool = False
