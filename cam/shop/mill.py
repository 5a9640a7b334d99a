"""The mill's part of a shop file: the mill, its collet block and vice, and the cutters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, Where
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.units import ANGLE, FEED, RATE, SPEED
from cam.shop.checks import divides_evenly
from cam.shop.control import MILL_SENSES, read_facts
from cam.shop.model import NO_FACTS, Facts, Shop, Slide
from cam.shop.read import read_slide

SquareBy = Literal["tipped block", "ramped", "rotary axis"]
SQUARE_BY: tuple[SquareBy, ...] = ("tipped block", "ramped", "rotary axis")
CutterKind = Literal["end mill", "spot drill", "drill", "tap"]
CUTTER_KINDS: tuple[CutterKind, ...] = ("end mill", "spot drill", "drill", "tap")
UNITS: tuple[Literal["mm", "in"], ...] = ("mm", "in")
MATERIALS: tuple[Literal["HSS", "carbide"], ...] = ("HSS", "carbide")
MOST_CUTTERS = 9


@frozen
class Block:
    """What holds the work by a collet: a square block, or the rotary axis' spindle.

    Attributes:
        name: of it. length, across: mm, without the nut. sides: that it can lie on; 0 for a rotary axis.
        nose_diameter, nose_length: of the collet's nut, mm.
        grip: least and greatest diameter. grip_length: of the collet, mm.
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
    """The mill. Its axes are named by ISO 841: Z up along the spindle, X the table's long way, Y across.

    Attributes:
        dialect, units: of its programs. rapid: mm/min. slowest, fastest: rev/min.
        square_by: how a square gets its taper. shim_distance: from the edge that a tipped block stands on to the
            shim, mm; 0 otherwise.
        crown: that a ramped flat may lie above and below the wanted face, mm.
        tap_cycle: whether the spindle turns in step with Z (an encoder).
        rapid_clearance, contact_clearance: mm.
        x, y, z: dials or readouts, for the page; None where none is described. Their numbers count up as the cutter
            goes toward the tip of the work (X), away from the operator (Y), down (Z).
        block: what holds the work. jaws_below, jaws_beyond: top of the vice's jaws below the work's axis, and how far
            they reach beyond the block toward the tip, mm; nan where there is no vice.
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
    block: Block
    jaws_below: float
    jaws_beyond: float
    jaws_width: float
    where: Where
    facts: Facts = NO_FACTS


@frozen
class ShopCutter:
    """A tool for the mill's spindle.

    Attributes:
        number, name, kind, material: as written. diameter: cutting, mm; 0 for a tap, which has its thread.
        flutes, stick_out, shank_diameter, holder_diameter: mm.
        teeth, minimum_cut, deepest_cut, feed_per_tooth: of an end mill; 0 otherwise.
        point_angle, feed: of a drill, degrees and mm/rev; 0 otherwise.
        thread: of a tap; "" otherwise.
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


def milling_of(shop: Shop) -> Milling:
    """The mill and the cutters of a shop, none where its file has none."""
    found = shop.milling
    return found if isinstance(found, Milling) else Milling(mill=None, cutters=())


def read_milling(root: Table) -> Milling:
    """Read [mill] and [[cutter]]; problems are noted in the tables."""
    mill = _read_mill(root.table("mill")) if root.has("mill") else None
    tables = root.tables("cutter", fewest=0)
    cutters = tuple(_read_cutter(table) for table in tables)
    root.problems.extend(_check_cutters(cutters))
    return Milling(mill=mill, cutters=cutters)


def _read_mill(table: Table) -> Mill:
    square_by = table.choice("square_by", SQUARE_BY)
    slowest = table.quantity("slowest", SPEED, over=True, example="200 rpm")
    fastest = table.quantity("fastest", SPEED, over=True, example="2500 rpm")
    if slowest > fastest:
        table.note("slowest", "the slowest speed is above the fastest", fix="change them round")
    spacing = 0.0
    if square_by == "tipped block":
        spacing = float(table.length("shim_distance", over=True, most=1000.0, example="50 mm"))
    elif table.has("shim_distance"):
        table.length("shim_distance", over=True, most=1000.0)
    block = _read_block(table.table("block", why="what holds the work must be known"), square_by)
    if spacing >= block.length:
        table.note("shim_distance", "the shim does not lie under the block", allowed=f"less than {block.length.text}")
    vice = table.table("vice") if table.has("vice") else None
    nan = float("nan")
    return Mill(
        name=table.text("name", example="small mill"),
        dialect=table.text("dialect", example="rs274ngc"),
        units=table.choice("units", UNITS),
        rapid=table.quantity("rapid", RATE, over=True, example="600 mm/min"),
        slowest=slowest,
        fastest=fastest,
        square_by=square_by,
        shim_distance=spacing,
        crown=table.length("crown", over=True, most=0.1, example="0.0005 mm"),
        tap_cycle=table.flag("tap_cycle"),
        rapid_clearance=table.length("rapid_clearance", over=True, most=10.0, example="0.5 mm"),
        contact_clearance=table.length("contact_clearance", over=True, most=10.0, example="0.5 mm"),
        x=_read_axis(table, "x"),
        y=_read_axis(table, "y"),
        z=_read_axis(table, "z"),
        block=block,
        jaws_below=nan if vice is None else float(vice.length("jaws_below_axis", most=500.0, example="8 mm")),
        jaws_beyond=nan if vice is None else float(vice.length("jaws_beyond_block", least=None, example="-5 mm")),
        jaws_width=nan if vice is None else float(vice.length("width", over=True, example="120 mm")),
        where=table.where,
        facts=read_facts(table, MILL_SENSES),
    )


def _read_axis(table: Table, axis: str) -> Slide | None:
    """One slide of the mill, where the file describes it."""
    if not table.has(axis):
        return None
    own = table.table(axis)
    slide = read_slide(own, across=False)
    if slide.reading == "dial" and not divides_evenly(slide):
        given = f'division = "{slide.division.text}", turn = "{slide.turn.text}"'
        what = f"a turn of the mill's {axis.upper()} dial is not a whole number of its divisions"
        own.note("turn", what, given=given, fix="give both in the dial's own measure")
    return slide


def _read_block(table: Table, square_by: SquareBy) -> Block:
    sides = table.integer("sides", least=0, most=12, default=4)
    if square_by != "rotary axis" and (sides < 4 or sides % 2):
        table.note("sides", "a block that is turned by hand lies on one of its sides", allowed="4, 6, 8 ...")
    return Block(
        name=table.text("name", example="collet block"),
        length=table.length("length", over=True, example="76 mm"),
        across=table.length("across", over=True, example="38 mm"),
        sides=sides,
        nose_diameter=table.length("nose_diameter", over=True, example="32 mm"),
        nose_length=table.length("nose_length", over=True, example="16 mm"),
        grip=table.pair("grip", over=True),
        grip_length=table.length("grip_length", over=True, example="24 mm"),
        where=table.where,
    )


OWN_KEYS: dict[str, tuple[str, ...]] = {
    "end mill": ("diameter", "teeth", "minimum_cut", "deepest_cut", "feed_per_tooth"),
    "spot drill": ("diameter", "point_angle", "feed"),
    "drill": ("diameter", "point_angle", "feed"),
    "tap": ("thread",),
}
"""Keys that belong to one kind of cutter."""


def _read_cutter(table: Table) -> ShopCutter:
    kind = table.choice("kind", CUTTER_KINDS)
    own = OWN_KEYS[kind] if table.raw("kind") in CUTTER_KINDS else ()
    for key in sorted({k for keys in OWN_KEYS.values() for k in keys} - set(own)):
        if own:
            table.refuse(key, f"{key} has no meaning for this cutter, which is of kind {kind}", fix="leave it out")
        else:
            table.known(key)

    def size(key: str, example: str) -> float:
        return float(table.length(key, over=True, most=200.0, example=example)) if key in own else 0.0

    return ShopCutter(
        number=table.integer("number", least=1, most=MOST_CUTTERS),
        name=table.text("name", example="6 mm end mill"),
        kind=kind,
        material=table.choice("material", MATERIALS),
        diameter=float(table.drill("diameter")) if "diameter" in own else 0.0,
        flutes=table.length("flutes", over=True, most=500.0, example="12 mm"),
        stick_out=table.length("stick_out", over=True, most=500.0, example="30 mm"),
        shank_diameter=table.length("shank_diameter", over=True, most=200.0, example="6 mm"),
        holder_diameter=table.length("holder_diameter", over=True, most=500.0, example="24 mm"),
        teeth=table.integer("teeth", least=1, most=20) if "teeth" in own else 0,
        minimum_cut=size("minimum_cut", "0.02 mm"),
        deepest_cut=size("deepest_cut", "0.5 mm"),
        feed_per_tooth=size("feed_per_tooth", "0.01 mm"),
        point_angle=(
            float(table.quantity("point_angle", ANGLE, over=True, most=170.0, example="118 deg"))
            if "point_angle" in own
            else 0.0
        ),
        feed=float(table.quantity("feed", FEED, over=True, example="0.03 mm/rev")) if "feed" in own else 0.0,
        thread=table.text("thread", example="M3") if "thread" in own else "",
        where=table.where,
    )


def _check_cutters(cutters: Sequence[ShopCutter]) -> Iterator[Problem]:
    lines: dict[int, int] = {}
    for cutter in cutters:
        if cutter.number in lines:
            what = f"two cutters have the number {cutter.number}"
            yield Problem(where=cutter.where, what=what, given=f"also on line {lines[cutter.number]}",
                          fix="give each its own")  # fmt: skip
        lines.setdefault(cutter.number, cutter.where.line)
        if cutter.stick_out < cutter.flutes:
            yield Problem(where=cutter.where, what=f'"{cutter.name}" sticks out less than its flutes are long',
                          given=cutter.stick_out.text, allowed=f"at least {cutter.flutes.text}")  # fmt: skip
        if cutter.kind == "end mill" and cutter.minimum_cut > cutter.deepest_cut:
            yield Problem(where=cutter.where, what=f'the least cut of "{cutter.name}" is above its deepest',
                          fix="change them round")  # fmt: skip
