"""The mill, its collet block and vice, and its cutters."""

from __future__ import annotations

import math
from typing import Any, Literal

from cam.ground import keys
from cam.ground.frozen import frozen
from cam.ground.keys import Only, declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.ground.units import ANGLE, FEED, RATE, SPEED
from cam.shop.machine import NO_FACTS, Facts, Slide, senses

SquareBy = Literal["tipped block", "ramped", "rotary axis"]
CutterKind = Literal["end mill", "spot drill", "drill", "tap"]


@declared
class HoldingBlock:
    """What holds the work by a collet: a square block, or the spindle of the rotary axis; lengths in mm."""

    name: str = keys.text("For summaries and comments.", "collet block")
    length: Quantity = keys.length("Without the collet's nut.", "76 mm", over=True)
    across: Quantity = keys.length("Over two opposite sides; of a rotary axis, its diameter.", "38 mm", over=True)
    sides: int = keys.integer("That it can lie on; 0 for a rotary axis. Left out, 4.", least=0, most=12, needed=False)
    nose_diameter: Quantity = keys.length("Of the collet's nut.", "32 mm", over=True)
    nose_length: Quantity = keys.length("Of the collet's nut.", "16 mm", over=True)
    grip: tuple[Quantity, Quantity] = keys.pair("Least and greatest diameter that its collets take.")
    grip_length: Quantity = keys.length("Of the collet.", "24 mm", over=True)
    where: Where


@declared
class Vice:
    """The vice that the block lies in, mm, as the file says it."""

    jaws_below_axis: float = keys.length("From the work's axis down to the top of the jaws.", "8 mm", most=500.0,
                                         plain=True)  # fmt: skip
    jaws_beyond_block: float = keys.length(
        "How far the jaws reach beyond the block toward the tip; negative where the block stands out of them.", "-5 mm",
        least=None, plain=True,
    )  # fmt: skip
    width: float = keys.length("Of both jaws and what lies between, across the work.", "120 mm", over=True, plain=True)


def _dial(about: str, up: str) -> Any:
    """Declare one slide of the mill; up is when its numbers rise."""
    said = {"counts": f"up: the number rises as the cutter goes {up}."}
    return keys.table_of(Slide, about, without=("habit",), said=said, needed=False)


@declared
class Mill:
    """The mill. Its axes are named as in ISO 841: Z up along the spindle, X along the table, Y across it.

    Lengths in mm, speeds in rev/min and mm/min.

    Attributes:
        shim_distance: zero but for a tipped block.
        x, y, z: dials or readouts, for the page; None where none is described.
        jaws_below, jaws_beyond, jaws_width: those of the vice; nan where there is none.
    """

    name: str = keys.text("What the mill is called.", "small mill")
    dialect: str = keys.text("Of its programs; `endshake dialects` lists them.", "rs274ngc", "eia274d")
    units: Literal["mm", "in"] = keys.choice("Of its programs.", ("mm", "in"))
    rapid: Quantity = keys.quantity(RATE, "Greatest rapid rate, for the time estimate.", "600 mm/min", over=True)
    slowest: Quantity = keys.quantity(SPEED, "Slowest speed of the spindle.", "200 rpm", over=True)
    fastest: Quantity = keys.quantity(SPEED, "Fastest speed of the spindle.", "2500 rpm", over=True)
    square_by: SquareBy = keys.choice(
        "How a square gets its taper: a block tipped by a shim and turned by hand; a level block turned by hand, the "
        "program sloping; a rotary axis, A words.", SquareBy,
    )  # fmt: skip
    shim_distance: float = keys.length(
        "Tipped block: from the edge that it stands on to the shim; it lies under the block.", "50 mm", over=True,
        most=1000.0, plain=True, only=Only("square_by", ("tipped block",), ""),
    )  # fmt: skip
    crown: Quantity = keys.length(
        "Ramped, or by a rotary axis: that a flat may lie above and below its true face.",
        "0.0005 mm",
        over=True,
        most=0.1,
    )
    tap_cycle: bool = keys.flag("true only where the spindle turns in step with Z.")
    rapid_clearance: Quantity = keys.length("Kept between rapid moves and the work.", "0.5 mm", over=True, most=10.0,
                                            how="0.5 mm is common practice, no source.")  # fmt: skip
    contact_clearance: Quantity = keys.length(
        "The least that cutter and holder may come to nut, block and jaws.", "0.5 mm", over=True, most=10.0,
        how="0.1 mm is common practice, no source, and more on a mill.",
    )  # fmt: skip
    proved = senses({"rotary axis": "A was seen to turn the work counter-clockwise, seen from its tip"})
    facts: Facts = keys.within(Facts, without=("arcs", "arc_height"), default=NO_FACTS)
    x: Slide | None = _dial("The table's long way, for the page: numbers count up toward the tip of the work.",
                            "toward the tip of the work")  # fmt: skip
    y: Slide | None = _dial("The table's way across, for the page: numbers count up as the cutter goes away from the "
                            "operator.", "away from you")  # fmt: skip
    z: Slide | None = _dial("Upright, for the page: numbers count up as the cutter goes down.", "down")
    block: HoldingBlock = keys.table_of(HoldingBlock, "What holds the work by a collet: a square collet block, or the "
                                        "spindle of a rotary axis.")  # fmt: skip
    vice = keys.table_of(
        Vice, "That the block lies in; left out for a rotary axis, or where nothing of a vice is near.", default=None,
        into={"jaws_below_axis": "jaws_below", "jaws_beyond_block": "jaws_beyond", "width": "jaws_width"},
    )  # fmt: skip
    jaws_below: float
    jaws_beyond: float
    jaws_width: float
    where: Where


def _only(*kinds: CutterKind) -> Only:
    return Only("kind", kinds, "{key} has no meaning for this cutter, which is of kind {value}", unread="?")


_MILLS, _DRILLS, _CUTS = _only("end mill"), _only("drill", "spot drill"), _only("end mill", "spot drill", "drill")


@declared
class Cutter:
    """A tool for the mill's spindle: mm, degrees, mm/rev; zero or "" for what does not belong to its kind.

    Its programmed point is the middle of its end (a drill's point). Once it is settled (cam.mill.settle.as_cutter), a
    tap has the diameter and the pitch of its thread, and an end mill's feed is for each turn, all teeth together.
    """

    number: int = keys.integer("T word, 1 to 9; one cutter each.", least=1, most=9)
    name: str = keys.text("For summaries and comments.", "6 mm end mill")
    kind: CutterKind = keys.choice("What it is.", CutterKind)
    material: Literal["HSS", "carbide"] = keys.choice("Of its edges.", ("HSS", "carbide"))
    diameter: float = keys.drill("Of all but a tap: of its edges; a length, a drill's number or letter.",
                                 "6 mm", "No. 38", "letter F", plain=True, only=_CUTS)  # fmt: skip
    flutes: Quantity = keys.length("Length of its edges.", "12 mm", over=True, most=500.0)
    stick_out: Quantity = keys.length("From its end to the face of the holder.", "30 mm", over=True, most=500.0)
    shank_diameter: Quantity = keys.length("Of what follows the edges.", "6 mm", over=True, most=200.0)
    holder_diameter: Quantity = keys.length("Of the holder, nut and all.", "24 mm", over=True, most=500.0)
    teeth: int = keys.integer("End mill only.", least=1, most=20, only=_MILLS)
    minimum_cut: float = keys.length("End mill only: least depth along its axis that it cuts cleanly.", "0.02 mm",
                                     over=True, most=200.0, plain=True, only=_MILLS)  # fmt: skip
    deepest_cut: float = keys.length("End mill only: greatest depth along its axis at full width.", "0.5 mm",
                                     over=True, most=200.0, plain=True, only=_MILLS)  # fmt: skip
    feed_per_tooth: float = keys.length("End mill only.", "0.01 mm", over=True, most=200.0, plain=True, only=_MILLS)
    point_angle: float = keys.quantity(ANGLE, "Drill and spot drill: included angle of the point.", "118 deg",
                                       over=True, most=170.0, plain=True, only=_DRILLS)  # fmt: skip
    feed: float = keys.quantity(FEED, "Drill and spot drill.", "0.03 mm/rev", over=True, plain=True, only=_DRILLS)
    thread: str = keys.text("Tap only: ISO metric, BA, UNC or UNF.", "M3", only=_only("tap"))
    where: Where
    pitch: float = 0.0

    @property
    def radius(self) -> float:
        """Return half the cutting diameter, mm."""
        return self.diameter / 2

    @property
    def point_length(self) -> float:
        """Return the length of a drill's cone, mm."""
        return self.radius / math.tan(math.radians(self.point_angle) / 2) if self.point_angle else 0.0

    def reach(self, bore: float) -> float:
        """Return how deep it goes into a hole of that diameter, mm: its edges, and a tap's shank if that is thinner.

        Behind a drill's edges the chips do not come out, however thin its shank (common practice, no source).
        """
        return self.stick_out if self.kind == "tap" and self.shank_diameter < bore else self.flutes

    @property
    def steps(self) -> tuple[tuple[float, float], ...]:
        """Return pairs (height above its end, radius): from that height on, it has that radius."""
        return ((0.0, self.radius), (self.flutes, self.shank_diameter / 2), (self.stick_out, self.holder_diameter / 2))


@frozen
class Milling:
    """The mill and its cutters; mill is None for a shop file that has cutters only."""

    mill: Mill | None
    cutters: tuple[Cutter, ...]


NO_MILLING = Milling(mill=None, cutters=())
"""What a shop file gives that has neither mill nor cutters."""
