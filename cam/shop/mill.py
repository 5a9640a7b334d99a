"""The mill, its collet block and vice, and its cutters."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.shop.machine import NO_FACTS, Facts, Slide

SquareBy = Literal["tipped block", "ramped", "rotary axis"]
CutterKind = Literal["end mill", "spot drill", "drill", "tap"]

@frozen
class HoldingBlock:
    """What holds the work by a collet: a square block, or the spindle of the rotary axis.

    Attributes:
        name: its name.
        length, across: mm, without the nut.
        sides: how many sides it can lie on; zero for a rotary axis.
        nose_diameter, nose_length: those of the collet's nut, mm.
        grip: the least and the greatest diameter that it grips, mm.
        grip_length: of the collet, mm.
        where: the table's line.
    """

    name: str
    length: Quantity
    across: Quantity
    sides: int
    nose_diameter: Quantity
    nose_length: Quantity
    grip: tuple[Quantity, Quantity]
    grip_length: Quantity
    where: Where


@frozen
class Mill:
    """The mill. Its axes are named as in ISO 841: Z up along the spindle, X along the table, Y across it.

    Attributes:
        dialect, units: those of its programs.
        rapid: mm/min.
        slowest, fastest: rev/min.
        square_by: how a square gets its taper.
        shim_distance: from the edge on which a tipped block stands to the shim, mm; otherwise zero.
        crown: how far a ramped flat may lie above and below the wanted face, mm.
        tap_cycle: whether the spindle turns in step with Z (an encoder).
        rapid_clearance, contact_clearance: mm.
        x, y, z: dials or readouts, for the page; None where none is described. Their numbers count up as the cutter
            goes toward the tip of the work (X), away from the operator (Y), and down (Z).
        block: what holds the work.
        jaws_below, jaws_beyond: how far the top of the vice's jaws lies below the work's axis, and how far the jaws
            reach beyond the block toward the tip, mm; nan where there is no vice.
        where: the table's line.
        facts: what its control was seen to be and to do.
    """

    name: str
    dialect: str
    units: Literal["mm", "in"]
    rapid: Quantity
    slowest: Quantity
    fastest: Quantity
    square_by: SquareBy
    shim_distance: float
    crown: Quantity
    tap_cycle: bool
    rapid_clearance: Quantity
    contact_clearance: Quantity
    x: Slide | None
    y: Slide | None
    z: Slide | None
    block: HoldingBlock
    jaws_below: float
    jaws_beyond: float
    jaws_width: float
    where: Where
    facts: Facts = NO_FACTS


@frozen
class ShopCutter:
    """A tool for the mill's spindle.

    Attributes:
        number, name, kind, material: as written.
        diameter: the diameter that it cuts, mm; zero for a tap, which has its thread.
        flutes, stick_out, shank_diameter, holder_diameter: mm.
        teeth, minimum_cut, deepest_cut, feed_per_tooth: of an end mill; otherwise zero.
        point_angle, feed: of a drill, degrees and mm/rev; otherwise zero.
        thread: of a tap; otherwise "".
    """

    number: int
    name: str
    kind: CutterKind
    material: Literal["HSS", "carbide"]
    diameter: float
    flutes: Quantity
    stick_out: Quantity
    shank_diameter: Quantity
    holder_diameter: Quantity
    teeth: int
    minimum_cut: float
    deepest_cut: float
    feed_per_tooth: float
    point_angle: float
    feed: float
    thread: str
    where: Where


@frozen
class Milling:
    """The mill and its cutters; mill is None for a shop file that has cutters only."""

    mill: Mill | None
    cutters: tuple[ShopCutter, ...]


NO_MILLING = Milling(mill=None, cutters=())
"""What a shop file gives that has neither mill nor cutters."""
