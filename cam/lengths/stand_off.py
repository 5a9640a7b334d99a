"""How far the round corner under a shoulder keeps it off the plate.

A tool nose leaves a fillet. The edge of the hole runs up on it before the shoulder meets the plate, unless the
edge is broken enough, the hole is wide enough, or an undercut takes the fillet away. What the corner stands off is
lost from the end shake.

All of it is for a pivot in the middle of its hole. If the pivot is pressed to one side, the clearance there is zero,
and a sharp edge then rides up at the very start of the fillet: by up to its whole radius.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cam.ground.frozen import Row
from cam.ground.problem import Problem, RangeError
from cam.ground.tolerances import ROUNDING
from cam.lengths.figures import MM, LengthFigures
from cam.part.features import Corner, Edge
from cam.part.spans import Span, StandOff

MOST_SHARE = 1 / 3
"""The share of the end shake that stand-off may take before a warning is given. Common practice, no source."""


NONE = StandOff(0.0, 0.0, 0.0, "none")


class Range(Row):
    """A size that is known only within limits, mm; least <= likely <= most."""

    least: float
    likely: float
    most: float


def exactly(size: float) -> Range:
    """Return the range of a size that is known, mm."""
    return Range(size, size, size)


def sharp_stand_off(radius: float, clearance: float) -> float:
    """Return how far a fillet keeps its shoulder off a plate whose hole has a sharp edge, mm.

    The fillet's circle passes the edge where radius - x = sqrt(radius**2 - (radius - clearance)**2).

    Args:
        radius: of the fillet, mm; >= 0.
        clearance: between pivot and hole, on the radius, mm; >= 0. From radius on there is no stand-off.

    Raises:
        RangeError: an argument is negative.

    Source: exact, by Pythagoras.
    """
    if radius < 0 or clearance < 0:
        raise RangeError(f"fillet {radius} mm, clearance {clearance} mm: neither may be negative")
    if clearance >= radius:
        return 0.0
    return radius - math.sqrt(clearance * (2 * radius - clearance))  # the same, without its loss of figures


def stand_off(radius: float, clearance: float, edge: Edge) -> float:
    """Return how far a fillet keeps its shoulder off a plate, mm; the edge of the hole may be broken.

    A 45 degree chamfer meets the hollow of the fillet with one of its two corners: the inner one, the chamfer's
    size deeper in the hole, or the outer one, that much farther from the pivot. A rounded edge of radius e lies
    in a fillet of radius r as a sharp one lies in a fillet of radius r - e.

    Args: as for `sharp_stand_off`; edge: that of the hole, on the shoulder's side.

    Source: exact: the fillet's circle is convex, so what lies between two points within it is within it.
    """
    if edge.kind == "radius":
        return sharp_stand_off(max(radius - edge.size, 0.0), clearance) if edge.size < radius else 0.0
    size = edge.size if edge.kind == "chamfer" else 0.0
    inner = sharp_stand_off(radius, clearance) - size
    return max(inner, sharp_stand_off(radius, clearance + size), 0.0)


def edge_needed(radius: float, clearance: float) -> float:
    """Return the least chamfer leg, or radius, on the hole's edge that seats the shoulder, mm: radius - clearance."""
    return max(radius - clearance, 0.0)


def derive_stand_off(
    corner: Corner | None, clearance: Range, edge: Edge, *, nose: Range | None = None, said: LengthFigures = MM
) -> StandOff:
    """Return the stand-off of the corner at one end of a span.

    Args:
        corner: as in the part file; None where the section has no corner there.
        clearance: between pivot and hole, on the radius, mm; least >= 0.
        edge: that of the hole, on the shoulder's side.
        nose: radius of the tool nose that cuts the corner, for a corner of kind "nose"; None if it is not known
            yet: it may then be anything up to the corner's radius, and the whole radius is taken as likely.

    Raises:
        RangeError: the clearance is negative, so that the pivot does not go in.
    """
    if corner is None:
        return NONE
    if corner.kind == "undercut":
        return StandOff(0.0, 0.0, 0.0, "none: an undercut takes the corner away")
    radius = exactly(corner.radius)
    if corner.kind == "nose":
        radius = nose or Range(0.0, corner.radius, corner.radius)
    found = StandOff(
        stand_off(radius.least, clearance.most, edge),
        stand_off(radius.likely, clearance.likely, edge),
        stand_off(radius.most, clearance.least, edge),
        "",
    )
    return found._replace(reason=_reason(found, radius, clearance, edge, said))


def seat_ring(hole: float, edge_hole: Edge, shoulder: float, edge_shoulder: Edge | None) -> float:
    """Return the width of the flat ring on which a shoulder meets its plate, mm; zero or less if it goes through.

    Args:
        hole, shoulder: diameters, mm.
        edge_hole: on the shoulder's side.
        edge_shoulder: that of the shoulder.
    """
    broken = edge_hole.size + (edge_shoulder.size if edge_shoulder else 0.0)
    return (shoulder - hole) / 2 - broken


CORNERS = "corners of a span"
"""The kind of the warning below, by which it is found and made anew when tools are known."""


def check_stand_off(span: Span, at_a: StandOff, at_b: StandOff, said: LengthFigures = MM) -> Iterable[Problem]:
    """Warn where the corners take more than a third of the end shake."""
    taken = at_a.most + at_b.most
    share = taken / span.shake.aim if span.shake.aim > 0 else math.inf
    if taken > ROUNDING and share > MOST_SHARE:
        yield Problem(
            where=span.where,
            what=f'the corners of span "{span.name}" stand its shoulders off by more than a third of the end shake',
            given=f"up to {said.show(taken)} of {said.show(span.shake.aim)}; "
            f"at the A side {at_a.reason}; at the B side {at_b.reason}",
            allowed=f"up to {said.show(span.shake.aim * MOST_SHARE)} together",
            fix="break the edge of the hole as said, or turn an undercut beside the shoulder; the length already "
            "allows for what is likely, but with the pivot pressed to one side of its hole it may be more",
            kind=CORNERS,
        )


def _reason(found: StandOff, radius: Range, clearance: Range, edge: Edge, said: LengthFigures) -> str:
    hole = "a sharp edge" if edge.kind == "sharp" else f"a {said.short(edge.size)} {edge.kind}"
    sizes = f"fillet {said.show(radius.likely)}, clearance {said.show(clearance.likely)} on the radius"
    facts = f"{sizes}, {hole} on the hole"
    if found.most < ROUNDING:
        return f"none: {facts}"
    needed = said.at_least(edge_needed(radius.most, clearance.least))
    return f"{said.show(found.likely)}: {facts}; a chamfer of {needed} on the hole would let the shoulder seat"
