"""Arcs, NISTIR 6556, 3.5.3: centre form and radius form, in any plane, with the third axis along if it is named.

EIA-274-D texts have the centre form only; its tolerance is taken from NISTIR 6556 too, as EIA-274-D and ISO 6983-1
give none (from memory). I, J and K go from the start to the centre whatever G91 says (3.5.17), and are radii where
X words are diameters (common practice, no source).
"""

from __future__ import annotations

import math

from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH
from cam.rs274.fault import Fault, Unsaid
from cam.rs274.model import Position
from cam.rs274.moves import AXES, end_point, need_feed, unsaid_place
from cam.rs274.state import Machine
from cam.rs274.words import Block

PLANES = {17: (0, 1), 18: (2, 0), 19: (1, 2)}
"""Plane -> its first and second axis, as seen from the third's positive end: Z then X in G18 (4.3.6.3)."""
OFFSETS = "IJK"
TOLERANCE = 0.002  # mm, between the radii at start and end (3.5.3.2)
TOLERANCE_INCH = 0.0002
TINY = 1e-12  # share of the radius by which half a chord may pass it (from memory of the report's own code)


def arc(machine: Machine, block: Block, turn: int) -> None:
    """Run G2 (turn -1) or G3 (turn +1)."""
    if not machine.feed:
        need_feed(machine, block)
    first, second = plane_axes(machine, block)
    check_words(machine, block, first, second)
    end, start = end_point(machine, block), machine.at
    for axis in (first, second):
        if math.isnan(start[axis]) or math.isnan(end[axis]):
            raise unsaid_place(block, "an arc", axis, ", or choose the plane (G17, G18, G19)")
    form = radius_form if "R" in block.words else centre_form
    machine.move("arc", end, form(machine, block, end, turn), turn)


def plane_axes(machine: Machine, block: Block) -> tuple[int, int]:
    """Return the first and second axis of the plane, once the text has said it."""
    if not machine.plane:
        what = "an arc stands before the plane is said"
        raise Unsaid("plane", block.motion_at(), what, allowed="G17, G18 or G19 before", fix="write G18 for turning")
    return PLANES[machine.plane]


def check_words(machine: Machine, block: Block, first: int, second: int) -> None:
    """Check that an arc names an axis of its plane, and R or the way to its centre in that plane (3.5.3)."""
    words, third = block.words, 3 - first - second
    at, plane = block.motion_at(), f"plane G{machine.plane}"
    pair = f"{OFFSETS[first]} and {OFFSETS[second]}"
    if AXES[first] not in words and AXES[second] not in words:
        allowed = f"{AXES[first]} or {AXES[second]}"
        what = f"an arc in {plane} names neither of the plane's axes"
        raise Fault(at, what, "", allowed, "name the end, or choose the plane (G17, G18, G19)")
    if "R" in words:
        if not machine.standard.arcs_by_radius:
            what = f"{machine.standard.name} has no arcs by R"
            raise Fault(block.at["R"], what, block.word("R"), pair, "write the centre")
        for letter in OFFSETS:
            if letter in words:
                raise Fault(block.at[letter], "an arc has both R and a centre", block.word(letter), f"R or {pair}")
    elif OFFSETS[third] in words:
        letter = OFFSETS[third]
        what = f"{letter} is no word of an arc in {plane}"
        raise Fault(block.at[letter], what, block.word(letter), pair, "choose the plane (G17, G18, G19)")
    elif OFFSETS[first] not in words and OFFSETS[second] not in words:
        raise Fault(at, "an arc has no centre", "", pair, f"write {pair}: the way from the start to the centre")


def centre_form(machine: Machine, block: Block, end: Position, turn: int) -> Position:
    """Find the centre from I, J, K (3.5.3.2)."""
    first, second = PLANES[machine.plane]
    start = machine.at
    middle = list(start)
    for axis in (first, second):
        middle[axis] += block.words.get(OFFSETS[axis], 0.0) * machine.unit
    before = math.hypot(start[first] - middle[first], start[second] - middle[second])
    after = math.hypot(end[first] - middle[first], end[second] - middle[second])
    check_radii(machine, block, before, after)
    return Position(*middle)


def check_radii(machine: Machine, block: Block, before: float, after: float) -> None:
    """Check that start and end are equally far from the centre, within 0.002 mm or 0.0002 inch (3.5.3.2)."""
    unit = machine.unit
    tolerance = TOLERANCE if unit == 1.0 else TOLERANCE_INCH * MM_PER_INCH
    at = block.motion_at()
    if before == 0 or after == 0:
        raise Fault(at, "an arc has no radius", "", "a centre away from start and end")
    if abs(before - after) > tolerance + ROUNDING:
        what = "an arc's start and end are not equally far from its centre"
        given = f"radius {before / unit:.4f} at the start, {after / unit:.4f} at the end"
        raise Fault(at, what, given, f"{tolerance / unit:.4f} apart at most", "fix the end or the centre")


def radius_form(machine: Machine, block: Block, end: Position, turn: int) -> Position:
    """Find the centre from R (3.5.3.1): up to 180 degrees where R is positive, more where it is negative."""
    start = machine.at
    first, second = PLANES[machine.plane]
    radius = block.words["R"] * machine.unit
    along, across = end[first] - start[first], end[second] - start[second]
    half = math.hypot(along, across) / 2
    at = block.at["R"]
    if half == 0:
        raise Fault(at, "an arc by R ends where it begins", block.word("R"), fix="write its centre instead of R")
    if half > abs(radius) * (1 + TINY):
        what = "an arc's radius is too small to reach its end"
        raise Fault(at, what, block.word("R"), f"{half / machine.unit:.4f} or more")
    rise = math.sqrt(max(radius * radius - half * half, 0.0))
    side = turn if radius > 0 else -turn
    middle = list(start)
    middle[first] += along / 2 - side * rise * across / (2 * half)
    middle[second] += across / 2 + side * rise * along / (2 * half)
    return Position(*middle)
