"""What a part is: its sections in order from the A end, its stock, and how it is held."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, Where
from cam.ground.quantity import Quantity
from cam.part.features import Corner, Edge, End, Finish, Role, Tolerance
from cam.part.milled import Milled
from cam.part.screwed import Screwing
from cam.part.spans import Measuring

Method = Literal["between centres", "collet", "chuck"]
METHODS: tuple[Method, ...] = ("between centres", "collet", "chuck")
PartOff = Literal["", "saw", "blade"]


@frozen
class Section:
    """One length of the part, between two faces; z counts from the finished A face.

    Attributes:
        name: as in the part file; unique in the part.
        role: what the section is for.
        start, end: distance from the A face, mm; start < end. Solved, or summed from the lengths.
        length: as given (or solved), mm; nan while it is to be measured.
        length_tolerance: limits of the length; None where the file gives none.
        diameter_a, diameter_b: finished diameter at its A end and its B end, mm; equal unless tapered.
        tolerance: limits of the diameter; None where the file gives none.
        edge_a, edge_b: the outer edge at each end; None where the neighbour is not smaller.
        corner_a, corner_b: the inner corner at each end; None where the neighbour is not larger.
        finish: its route and allowances.
        bearing: diameter of the hole through which the section must pass, mm; None if not given. Only
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
        """Return the larger of the two end diameters, mm."""
        return max(self.diameter_a, self.diameter_b)

    @property
    def as_stock(self) -> bool:
        """Whether the section is left as bought."""
        return self.finish.route == ("as stock",)


@frozen
class Stock:
    """The bar from which the part is made.

    Attributes:
        material: its name, which is that of a row of the material table.
        diameter: mm.
        length: as sawn, mm; between centres, both ends are faced before they are centre-drilled.
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
            written; "" means that it is chosen by rule (the part file gives none).
        extra_length: length beyond the finished end that is cut off last, mm; >= 0.
        tail_centre: name of a centre in the shop file; "" for a free end.
        carrier: name of a carrier in the shop file; "" means the smallest one that grips.
        grip: the section that the carrier grips, or "stock"; "" means that it is chosen by rule.
        protection: thickness of the soft metal under the carrier's screw, mm; zero for none.
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
        first: the end turned first; None means that it is chosen (weakest last). For a collet or chuck: the free end.
        end_a, end_b: how it is held while that end is turned. For a collet or chuck, only the free end's is there.
        chuck: name of a collet or chuck in the shop file; "" between centres.
        stick_out: from the front of the collet or chuck to the finished free end, mm; zero between centres.
        facing: length of the metal beyond the finished free end that is faced off first, mm (key "facing" in
            [holding]); > 0 for a collet or chuck with a free end, otherwise zero.
        part_off: how the part comes off its bar: by hand with a saw, or by the program with a blade; "" if not given.
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
    """A whole part as its file asks for it.

    Attributes:
        name: as written; free text, may hold anything.
        sections: in order from the A end.
        stock, holding: as above.
        path: the part file, as the user named it.
        digest: SHA-256 of the file's bytes, hexadecimal.
        shop: path of the shop file as the part file names it (relative to the part file); "" if it names none.
        unit: "mm" or "in": the unit that the user mostly writes; only for showing.
        milled: what is milled on it; None for nothing.
        screwed: what is threaded on it, and its hook; None for neither.
        piece: name of the workpiece, if it is one of several of a kind; otherwise "". The part's name has it too.
    """

    name: str
    sections: tuple[Section, ...]
    stock: Stock
    holding: Holding
    path: str
    digest: str
    shop: str
    unit: Literal["mm", "in"]
    milled: Milled | None = None
    screwed: Screwing | None = None
    piece: str = ""

    @property
    def length(self) -> float:
        """Return the length from the finished A face to the finished B face, mm."""
        return self.sections[-1].end

    @property
    def thickest(self) -> int:
        """Return the index of the thickest section (the first, if several are equal)."""
        sizes = [s.thickest for s in self.sections]
        return sizes.index(max(sizes))


@frozen
class Asked:
    """What a part file asks for, before its lengths are solved.

    Attributes:
        part: the part, with stand-ins for whatever is wrong, and nan for each length that a span is to give; None where
            the file has no section.
        measuring: what the file measures; None where something is wrong, so that no length can be solved.
        problems: everything that was found wrong in the file.
    """

    part: Part | None
    measuring: Measuring | None
    problems: tuple[Problem, ...]
