"""How one run is finished: how many cuts, how deep, at what feed, and what that leaves."""

from __future__ import annotations

import math

from cam.ground.frozen import frozen


@frozen
class Cuts:
    """Finishing of one run. The last two cuts are equal and there is a stop to measure between them.

    Attributes:
        names: of the run's sections.
        count: of cuts, 2 or more. first: depth of those before the last two together with what is uneven, mm per side.
        depth: of each of the last cuts, mm per side.
        feed: mm/rev.
        error: by how much the diameter will differ along the length, mm.
        plain: the same for two cuts at the tool's own feed.
        goal: the most that it may, mm; infinite without limits on the diameter.
        limits: width of the limits on the diameter, mm; infinite without.
        spot: Z at which it springs most, mm. spring: there, mm for each N; least_spring: where it springs least.
        force: radial, of the last cut, N.
    """

    names: tuple[str, ...] = ()
    count: int = 2
    first: float = 0.0
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
