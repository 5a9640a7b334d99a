"""What stands on one section of a part: its role, its limits, its corners and edges, and how it is finished."""

from __future__ import annotations

from typing import Literal, get_args

from cam.ground import keys
from cam.ground.frozen import frozen
from cam.ground.keys import declared
from cam.ground.problem import Where

Role = Literal["pivot", "journal", "seat", "body", "square blank", "undercut", "plain"]
ROLES: tuple[Role, ...] = get_args(Role)
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


def undercut_at(corner: Corner | None) -> Corner | None:
    """Return a corner that is an undercut; None for any other, and for none."""
    return corner if corner is not None and corner.kind == "undercut" else None


def fillet_of(corner: Corner | None) -> float:
    """Return the radius of a corner that is an exact fillet, mm; zero for any other, and for none."""
    return corner.radius if corner is not None and corner.kind == "fillet" else 0.0


def reach_along(corner: Corner | None) -> float:
    """Return how far a corner reaches from its shoulder along the section, mm; zero for none."""
    return max(corner.radius, corner.width) if corner is not None else 0.0


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


def size_of(edge: Edge | None) -> float:
    """Return the size of an outer edge, mm; zero for a sharp one, and for none."""
    return edge.size if edge is not None else 0.0


MOST_LEFT = 1.0
"""The metal left for hand finishing, mm, beyond which the unit must be wrong; common practice leaves 0.005 to 0.1."""


@declared
class Finish:
    """How a section gets its last surface, and what turning leaves for that, mm.

    Attributes:
        route: steps from ROUTES in order; ("as stock",) means that the section is not turned at all.
        text, where: as written.
    """

    route: tuple[str, ...] = keys.own(
        "As stock; or turn, and after it any of file, stone, burnish in that order.", {"$ref": "#/$defs/finish"},
        needed=False, key="finish",
    )  # fmt: skip
    on_diameter: float = keys.length(
        "Left on the diameter by turning, for the steps after it; needed if there are any.", "0.03 mm", most=MOST_LEFT,
        plain=True, needed=False,
    )  # fmt: skip
    on_face: float = keys.length(
        "Left by turning on the face of the shoulder that the section stands on; needed if steps follow turning.",
        "0 mm",
        most=MOST_LEFT, plain=True, needed=False,
    )  # fmt: skip
    text: str
    where: Where
