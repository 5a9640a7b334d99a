"""What stands on one section of a part: its role, its limits, its corners and edges, and how it is finished."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where

Role = Literal["pivot", "journal", "seat", "body", "square blank", "undercut", "plain"]
ROLES: tuple[Role, ...] = ("pivot", "journal", "seat", "body", "square blank", "undercut", "plain")
BEARING_ROLES: tuple[Role, ...] = ("pivot", "journal")
"""Roles of sections that run in a hole: a carrier's screw never goes on a finished pivot, nor bare on a journal."""

End = Literal["A", "B"]
ROUTES = ("as stock", "turn", "file", "stone", "burnish")
"""The steps of a finish route, in the only order in which they can be done."""


@frozen
class Tolerance:
    """Limits as offsets from the nominal size.

    Attributes:
        lower, upper: mm, lower <= upper; on diameter for a diameter.
        text: as written, "+0 / -0.012 mm".
        where: the line that gave it.
    """

    lower: float
    upper: float
    text: str
    where: Where

    @property
    def middle(self) -> float:
        """Return the offset of the middle of the limits, mm."""
        return (self.lower + self.upper) / 2


@frozen
class Corner:
    """The inner corner where a section meets a larger neighbour.

    Attributes:
        kind: "nose" - whatever the tool nose leaves, up to radius; "fillet" - an arc of exactly
            this radius; "undercut" - a groove beside the shoulder.
        radius: mm; zero for an undercut.
        width, depth: of the undercut, mm (depth is per side, below the section's surface); otherwise zero.
        text: as written, "fillet up to 0.2 mm".
        where: the line that gave it.
    """

    kind: Literal["nose", "fillet", "undercut"]
    radius: float
    width: float
    depth: float
    text: str
    where: Where


@frozen
class Edge:
    """The outer edge of a section's end.

    Attributes:
        kind: "sharp", "chamfer" (45 degrees; size is the length of each leg) or "radius" (size is that radius).
        size: mm; zero for a sharp edge.
        text: as written, "chamfer 0.3 mm".
        where: the line that gave it.
    """

    kind: Literal["sharp", "chamfer", "radius"]
    size: float
    text: str
    where: Where


@frozen
class Finish:
    """How a section gets its last surface, and what turning leaves for that.

    Attributes:
        route: steps from ROUTES in order; ("as stock",) means that the section is not turned at all.
        on_diameter: what turning leaves on the diameter, mm; >= 0.
        on_face: what turning leaves on the shoulder face that the section stands on, mm; >= 0.
        text, where: as written.
    """

    route: tuple[str, ...]
    on_diameter: float
    on_face: float
    text: str
    where: Where
