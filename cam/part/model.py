"""What a part is: sections in order from the A end, stock, and how it is held."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, Where
from cam.ground.quantity import Quantity

Role = Literal["pivot", "journal", "seat", "body", "square blank", "undercut", "plain"]
ROLES: tuple[Role, ...] = ("pivot", "journal", "seat", "body", "square blank", "undercut", "plain")
BEARING_ROLES: tuple[Role, ...] = ("pivot", "journal")
"""Sections that run in a hole: a carrier's screw never goes on a finished pivot, nor bare on a journal."""

End = Literal["A", "B"]
Method = Literal["between centres", "collet", "chuck"]
METHODS: tuple[Method, ...] = ("between centres", "collet", "chuck")
PartOff = Literal["", "saw", "blade"]
ROUTES = ("as stock", "turn", "file", "stone", "burnish")
"""Steps of a finish route, in the only order they can be done."""


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
        """Offset of the middle of the limits, mm."""
        return (self.lower + self.upper) / 2


@frozen
class Corner:
    """The inner corner where a section meets a larger neighbour.

    Attributes:
        kind: "nose" - whatever the tool nose leaves, up to radius; "fillet" - an arc of exactly
            radius; "undercut" - a groove beside the shoulder.
        radius: mm; 0 for an undercut.
        width, depth: of the undercut, mm (depth is per side, below the section's surface); 0 otherwise.
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
        kind: "sharp", "chamfer" (45 degrees, size is each leg) or "radius" (size is that radius).
        size: mm; 0 for sharp.
        text: as written, "chamfer 0.3 mm".
        where: the line that gave it.
    """

    kind: Literal["sharp", "chamfer", "radius"]
    size: float
    text: str
    where: Where


@frozen
class Finish:
    """How a section gets its last surface and what turning leaves for that.

    Attributes:
        route: steps from ROUTES in order; ("as stock",) is not turned at all.
        on_diameter: left by turning on the diameter, mm; >= 0.
        on_face: left by turning on the shoulder face that the section stands on, mm; >= 0.
        text, where: as written.
    """

    route: tuple[str, ...]
    on_diameter: float
    on_face: float
    text: str
    where: Where


@frozen
class Section:
    """One length of the part between two faces. z counts from the finished A face.

    Attributes:
        name: as in the part file; unique in the part.
        role: what the section is for.
        start, end: mm from the A face; start < end. Solved, or summed from the lengths.
        length: as given (or solved), mm; nan while it is to be measured.
        length_tolerance: None where the file gives none.
        diameter_a, diameter_b: finished, at its A and B end, mm; equal unless tapered.
        tolerance: of the diameter; None where the file gives none.
        edge_a, edge_b: outer edge at each end; None where the neighbour is not smaller.
        corner_a, corner_b: inner corner at each end; None where the neighbour is not larger.
        finish: route and allowances.
        bearing: the hole that the section must pass through, mm diameter; None if not said. Only
            for a square blank.
        where: the part-file line where its table begins.
    """

    name: str
    role: Role
    start: float
    end: float
    length: Quantity
    length_tolerance: Tolerance | None
    diameter_a: Quantity
    diameter_b: Quantity
    tolerance: Tolerance | None
    edge_a: Edge | None
    edge_b: Edge | None
    corner_a: Corner | None
    corner_b: Corner | None
    finish: Finish
    bearing: Quantity | None
    where: Where

    @property
    def thickest(self) -> float:
        """Larger of the two end diameters, mm."""
        return max(self.diameter_a, self.diameter_b)

    @property
    def as_stock(self) -> bool:
        """Whether the section is left as bought."""
        return self.finish.route == ("as stock",)


@frozen
class Stock:
    """The bar the part is made from.

    Attributes:
        material: its name, a row of the material table.
        diameter: mm.
        length: as sawn, mm; between centres both ends are faced before they are centre-drilled.
        where: the table's line.
    """

    material: str
    diameter: Quantity
    length: Quantity
    where: Where


@frozen
class EndHolding:
    """How the part is held while one end is turned (that end is at the tailstock, or free).

    Attributes:
        centre_hole: ISO 6411 designation of the hole in the end being turned, "A 1/2.12", as
            written; "" means chosen by rule (part file silent).
        extra_length: length beyond the finished end that is cut off last, mm; >= 0.
        tail_centre: name of a centre in the shop file; "" for a free end.
        carrier: name of a carrier in the shop file; "" means the smallest that grips.
        grip: section that the carrier grips, or "stock"; "" means chosen by rule.
        protection: thickness of the soft metal under the carrier screw, mm; 0 for none.
        where: the table's line.
    """

    centre_hole: str
    extra_length: Quantity
    tail_centre: str
    carrier: str
    grip: str
    protection: Quantity
    where: Where


@frozen
class Holding:
    """How the part is held.

    Attributes:
        method: between centres (both ends are turned, reversing), or collet or chuck (one end).
        first: end turned first; None means chosen (weakest last). For a collet or chuck: the free end.
        end_a, end_b: while that end is turned. For a collet or chuck only the free end's is there.
        chuck: name of a collet or chuck in the shop file; "" between centres.
        stick_out: from the collet's or chuck's front to the finished free end, mm; 0 between centres.
        facing: metal that stands beyond the finished free end and is faced off first, mm (key "facing" in
            [holding]); > 0 for a collet or chuck with a free end, 0 otherwise.
        part_off: how the part comes off its bar: by hand with a saw, or by the program with a blade; "" if not said.
        where: the table's line.
    """

    method: Method
    first: End | None
    end_a: EndHolding | None
    end_b: EndHolding | None
    chuck: str
    stick_out: Quantity
    facing: Quantity
    where: Where
    part_off: PartOff = ""


@frozen
class Part:
    """A whole part as read and solved.

    Attributes:
        name: as written; free text, may hold anything.
        sections: in order from the A end.
        stock, holding: as above.
        path: the part file, as the user named it.
        digest: SHA-256 of the file's bytes, hexadecimal.
        shop: path of the shop file as the part file names it (relative to the part file); "" if it does not.
        unit: "mm" or "in", the unit the user mostly writes; only for showing.
        to_be_measured: measurements to be taken that a length rests on; it, and what follows from it, is nan.
        warnings: worth knowing of what was measured.
        measured: what the measuring chain knows; None for a part without spans, holes and log. Its type is
            cam.lengths.whole.Measured, which is made of what stands here: measured_of there gives it back.
        milled: what the mill makes of it; None for nothing. Its type is cam.part.milled.Milled; milled_of there
            gives it back.
        screwed: what is threaded on it, and its hook; None for nothing. Its type is cam.part.screwed.Screwing;
            screwing_of there gives it back.
        piece: name of the workpiece, one of several of a kind; "" where there is one alone. It stands in name too.
    """

    name: str
    sections: tuple[Section, ...]
    stock: Stock
    holding: Holding
    path: str
    digest: str
    shop: str
    unit: Literal["mm", "in"]
    to_be_measured: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()
    measured: object | None = None
    milled: object | None = None
    screwed: object | None = None
    piece: str = ""

    @property
    def length(self) -> float:
        """Length from the finished A face to the finished B face, mm."""
        return self.sections[-1].end

    @property
    def thickest(self) -> int:
        """Index of the thickest section (the first, if several are equal)."""
        sizes = [s.thickest for s in self.sections]
        return sizes.index(max(sizes))
