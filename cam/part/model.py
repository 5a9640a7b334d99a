"""What a part is: its sections in order from the A end, its stock, and how it is held."""

from __future__ import annotations

from typing import Any, Literal, get_args

from cam.ground import keys
from cam.ground.frozen import frozen
from cam.ground.keys import declared
from cam.ground.problem import Problem, Where
from cam.ground.quantity import Quantity
from cam.part.features import Corner, Edge, End, Finish, Role, Tolerance
from cam.part.milled import THREAD, HoleAsked, Milled, SquareAsked
from cam.part.screwed import HookAsked, Screwed, Screwing, ThreadBy
from cam.part.spans import Hole, Measurement, Measuring, Span
from cam.part.texts import read_protection

Method = Literal["between centres", "collet", "chuck"]
METHODS: tuple[Method, ...] = get_args(Method)
PartOff = Literal["", "saw", "blade"]
CORNER, EDGE, LIMITS = ({"$ref": f"#/$defs/{name}"} for name in ("corner", "edge", "limits"))
ENDS: tuple[End, ...] = get_args(End)


def _edge(end: str) -> Any:
    return keys.own(
        f"The outer edge at its {end} end, where its neighbour is smaller.", EDGE, needed=False, default=None
    )


def _corner(end: str) -> Any:
    about = f"The inner corner at its {end} end, where its neighbour is larger."
    return keys.own(about, CORNER, needed=False, default=None)


@declared
class Section:
    """One length of the part, between two faces; z counts from the finished A face; mm.

    Attributes:
        start, end: distance from the A face; start < end. Solved, or summed from the lengths.
        length: as given (or solved); nan while it is to be measured.
        diameter_a, diameter_b: equal unless tapered.
        edge_a, edge_b, corner_a, corner_b: None where the neighbour there asks for none.
        where: the part-file line where its table begins.
    """

    name: str = keys.text("Unique in the part; stock is taken.", "front pivot", most=60)
    like = keys.text("Name of another section; what is not written here is taken from it.", "front pivot", needed=False)
    role: Role = keys.choice(
        "What the section is for. A pivot stands on a shoulder and is never gripped; a journal only with protection; a "
        "square blank passes its bearing; an undercut is a groove between larger sections.",
        Role, american=False, needed=False,
    )  # fmt: skip
    diameter = keys.length("Finished.", over=True, most=500.0, needed=False)
    diameter_a: Quantity = keys.length(
        "Of a tapered section: finished, at its A end.", over=True, most=500.0, needed=False
    )
    diameter_b: Quantity = keys.length(
        "Of a tapered section: finished, at its B end.", over=True, most=500.0, needed=False
    )
    tolerance: Tolerance | None = keys.own(
        "Limits of the diameter, or their symbol of ISO 286.",
        {"anyOf": [LIMITS, {"type": "string", "pattern": r"^\s*[a-z]{1,2}\s*[0-9]{1,2}\s*$"}]}, "+0 / -0.02 mm", "h7",
        needed=False,
    )  # fmt: skip
    length: Quantity = keys.length(
        "Between its faces. One section may leave it out if the whole part's length is given; with spans, as many as "
        "these fix.", over=True, needed=False,
    )  # fmt: skip
    length_tolerance: Tolerance | None = keys.own("Limits of the length.", LIMITS, needed=False)
    edge_a: Edge | None = _edge("A")
    edge_b: Edge | None = _edge("B")
    corner_a: Corner | None = _corner("A")
    corner_b: Corner | None = _corner("B")
    finish: Finish = keys.within(Finish)
    bearing: Quantity | None = keys.length(
        "Of a square blank: diameter of the hole that it must pass through.",
        "6.02 mm",
        over=True,
        most=500.0,
        needed=False,
    )
    square = keys.table_of(
        SquareAsked, "Of a square blank at an end of the part: the flats that are milled on it.", needed=False
    )
    thread = keys.own(
        "Of a section at the free end: ISO metric, BA, UNC or UNF. Diameter and limits come from it, if they are "
        "left out.",
        THREAD, "M3", "4 BA", "No. 4-40 UNC", needed=False,
    )  # fmt: skip
    thread_by = keys.choice(
        "How it is cut: a die held by the tailstock, or a single-point tool.", ThreadBy, needed=False
    )
    threaded_length = keys.length(
        "Of full thread from the free end. Left out, it runs to the undercut, or two pitches short of the shoulder.",
        "6 mm", over=True, most=200.0, needed=False,
    )  # fmt: skip
    start: float
    end: float
    where: Where
    __rules__ = (
        {"properties": {"name": {"not": {"const": "stock"}}}},
        {"if": keys.needs("like"), "else": {
            **keys.needs("role"),
            **keys.one_of(("diameter",), ("diameter_a", "diameter_b"), ("thread",), shared=("thread",)),
        }},
    )  # fmt: skip

    @property
    def thickest(self) -> float:
        """Return the larger of the two end diameters, mm."""
        return max(self.diameter_a, self.diameter_b)

    @property
    def lower(self) -> float:
        """Return the lower limit of its diameter as an offset, mm; zero without limits."""
        return self.tolerance.lower if self.tolerance is not None else 0.0

    @property
    def turned_limits(self) -> tuple[float, float] | None:
        """Return the limits of its diameter as turned, mm, at the thin end of a taper; None for none."""
        if self.tolerance is None:
            return None
        nominal = min(self.diameter_a, self.diameter_b) + self.finish.on_diameter
        return nominal + self.tolerance.lower, nominal + self.tolerance.upper

    @property
    def is_taper(self) -> bool:
        """Whether its two end diameters differ."""
        return self.diameter_a != self.diameter_b

    @property
    def as_stock(self) -> bool:
        """Whether the section is left as bought."""
        return self.finish.route == ("as stock",)


@declared
class Stock:
    """The bar from which the part is made; mm."""

    material: str = keys.text("A row of the material table; the shop file may add rows.", "silver steel")
    diameter: Quantity = keys.length("Of the bar as bought.", "16 mm", over=True, most=500.0)
    length: Quantity = keys.length("As sawn: at least the part, the extra length at its ends, and what is faced off.",
                                   "82 mm", over=True, most=3000.0)  # fmt: skip
    where: Where


@declared
class EndHolding:
    """How the part is held while one end is turned (that end is at the tailstock, or free); mm.

    Attributes:
        tail_centre: "" for a free end.
        centre_hole, carrier, grip: "" where it is chosen by rule.
        protection: zero for none.
    """

    tail_centre: str = keys.text("The tailstock centre: its name in the shop file.", "dead centre")
    centre_hole: str = keys.text(
        "The hole in this end as ISO 6411 designates it. Left out, it is chosen by the smallest section there.",
        "A 1/2.12", "A 0.5/1.06", most=60, default="",
    )  # fmt: skip
    extra_length: Quantity = keys.length(
        "Length beyond the finished end that is cut off after turning; 0 mm if the centre hole stays in the part.",
        "0 mm", "5 mm",
        most=500.0,
    )  # fmt: skip
    carrier: str = keys.text(
        "The carrier at the other end: its name in the shop file. Left out, the smallest that grips.", default=""
    )
    grip: str = keys.text(
        "What the carrier grips: stock, or the name of a section that is turned already. Left out, it is chosen.",
        default="",
    )  # fmt: skip
    protection: Quantity = keys.own(
        "Soft metal under the carrier's screw: its thickness, and words if you like.", LIMITS, "0.5 mm copper",
        needed=False, read=read_protection,
    )  # fmt: skip
    where: Where


@declared
class Holding:
    """How the part is held; mm.

    Attributes:
        method: between centres (both ends are turned, reversing), or collet or chuck (one end).
        first: None means that it is chosen (weakest last). For a collet or chuck: the free end.
        end_a, end_b: how it is held while that end is turned. For a collet or chuck, only the free end's is there.
        chuck: "" between centres. stick_out, facing: zero between centres.
        part_off: "" if not given.
    """

    method: Method = keys.choice(
        "Between centres both ends are turned, the part reversed between; in a collet or chuck only the free end.",
        Method,
    )
    first: End | None = keys.choice(
        "Between centres: the end that is turned first. Left out, the weaker end comes last.", End, absent=None
    )
    end_a: EndHolding | None = keys.table_of(
        EndHolding, "Between centres: while the A end is turned, at the tailstock.", needed=False,
        why="it says how the A end is held while it is turned",
    )  # fmt: skip
    end_b: EndHolding | None = keys.table_of(
        EndHolding, "Between centres: while the B end is turned, at the tailstock.", needed=False,
        why="it says how the B end is held while it is turned",
    )  # fmt: skip
    chuck: str = keys.text("Collet or chuck: its name in the shop file.", "6 mm collet", needed=False)
    free_end = keys.choice("Collet or chuck: the end that stands out and is turned.", End, needed=False)
    stick_out: Quantity = keys.length("Collet or chuck: from its front to the finished free end.", "25 mm", over=True,
                                      most=500.0, needed=False)  # fmt: skip
    facing: Quantity = keys.length(
        "Collet or chuck: what stands beyond the finished free end and is faced off first.", "0.5 mm", over=True,
        most=50.0, needed=False,
    )  # fmt: skip
    part_off: PartOff = keys.choice(
        "Collet or chuck: how the part comes off its bar, by hand with a saw or by the program with a blade; needed "
        "with "
        "a thread.", ("saw", "blade"), default="", absent="",
    )  # fmt: skip
    where: Where
    __rules__ = (
        keys.when(
            "method", ("between centres",),
            keys.needs("end_a", "end_b") | keys.lacks("chuck", "free_end", "stick_out", "facing", "part_off"),
            keys.needs("chuck", "free_end", "stick_out", "facing") | keys.lacks("first", "end_a", "end_b"),
        ),
    )  # fmt: skip

    def at(self, end: str) -> EndHolding | None:
        """Return how the part is held while an end, "A" or "B", is turned; None where that is not said."""
        return self.end_a if end == "A" else self.end_b

    def grip_at(self, end: str) -> str:
        """Return what the carrier grips while an end is turned; "" where that is not said."""
        held = self.at(end)
        return held.grip if held is not None else ""

    def extra_at(self, end: str) -> float:
        """Return the extra length at an end, mm, which is cut off after turning."""
        held = self.at(end)
        return float(held.extra_length) if held is not None else 0.0

    @property
    def has_extra(self) -> bool:
        """Whether extra length comes off an end after turning, with the centre hole in it."""
        return self.extra_at("A") > 0 or self.extra_at("B") > 0

    @property
    def keeps_centres(self) -> bool:
        """Whether both centre holes stay in the finished part, so that it can always go back between its centres."""
        return self.method == "between centres" and not self.has_extra


@declared
class Part:
    """A whole part as its file asks for it.

    Attributes:
        name: free text, may hold anything.
        sections: in order from the A end.
        path: the part file, as the user named it.
        digest: SHA-256 of the file's bytes, hexadecimal.
        shop: "" if the part file names none.
        unit: "mm" or "in": the unit that the user mostly writes; only for showing.
        milled: what is milled on it; None for nothing.
        screwed: what is threaded on it, and its hook; None for neither.
        piece: name of the workpiece, if it is one of several of a kind; otherwise "". The part's name has it too.
    """

    name: str = keys.text("What the part is called. Free text; it goes into summaries and comments.", "drum arbor")
    shop: str = keys.text(
        "The shop file: machines, centres, carriers, tools. Its path is taken from this file's own folder.",
        "shop.toml",
        most=1000, default="",
    )  # fmt: skip
    whole = keys.length(
        "Of the whole finished part. If it is given, one section may leave its own length out and takes what the "
        "others "
        "leave; with spans, as many as these fix.", over=True, most=3000.0, needed=False, key="length",
    )  # fmt: skip
    corners = keys.own(
        "Every inner corner, unless a section says otherwise (corner_a, corner_b).", CORNER, needed=False
    )
    edges = keys.own("Every outer edge, unless a section says otherwise (edge_a, edge_b).", EDGE, needed=False)
    finish = keys.within(Finish, said={
        "finish": "How every section gets its surface, unless a section says otherwise.",
        "on_diameter": "Left on the diameter by turning, for the steps after it. Goes with the finish beside it.",
        "on_face": "Left by turning on the face of the shoulder that a section stands on. Goes with the finish "
        "beside it.",
    })  # fmt: skip
    stock: Stock = keys.table_of(Stock, "The bar the part is made from.", why="the bar it is made from must be known")
    holding: Holding = keys.table_of(Holding, "How the part is held while it is turned.")
    sections: tuple[Section, ...] = keys.tables_of(
        Section, "One length of the part between two faces. The first begins at the A end.", fewest=1, key="section"
    )
    measurement = keys.tables_of(Measurement, "A distance taken off the real assembly, or still to be taken.")
    span = keys.tables_of(
        Span,
        "A run of sections whose length comes from a measurement: measured distance less end shake, corner stand-off "
        "and loose parts.",
    )  # fmt: skip
    hole = keys.tables_of(Hole, "The hole in a plate that a pivot or journal runs in.")
    cross_hole = keys.tables_of(HoleAsked, "A hole square to the axis, plain or tapped, made on the mill.")
    hook = keys.table_of(
        HookAsked, "The head of a screw, filed to a hook for a spring once the screw is home.", needed=False
    )
    path: str
    digest: str
    unit: Literal["mm", "in"]
    milled: Milled | None = None
    screwed: Screwing | None = None
    piece: str = ""

    @property
    def threads(self) -> tuple[Screwed, ...]:
        """Return the threads that are cut on it."""
        return self.screwed.threads if self.screwed is not None else ()

    @property
    def off_before_mill(self) -> str:
        """What must be off before the mill takes it, a clause; "" where it keeps its centre holes."""
        if self.holding.has_extra:
            return "the extra length is off"
        return "" if self.holding.keeps_centres else "it is off its bar"

    @property
    def goes_back(self) -> bool:
        """Whether it is finished once it is milled, back between its centres."""
        return self.holding.keeps_centres or (self.holding.method == "between centres" and self.milled is None)

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
