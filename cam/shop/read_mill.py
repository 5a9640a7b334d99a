"""The mill's part of a shop file: [mill] and [[cutter]]."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from cam.ground.problem import Problem
from cam.ground.source import Table
from cam.ground.units import ANGLE, FEED, RATE, SPEED
from cam.shop.checks import divides_evenly
from cam.shop.control import MILL_SENSES, read_facts
from cam.shop.machine import Slide
from cam.shop.mill import NO_MILLING, CutterKind, HoldingBlock, Mill, Milling, ShopCutter, SquareBy
from cam.shop.slides import read_slide

SQUARE_BY: tuple[SquareBy, ...] = ("tipped block", "ramped", "rotary axis")
CUTTER_KINDS: tuple[CutterKind, ...] = ("end mill", "spot drill", "drill", "tap")
UNITS: tuple[Literal["mm", "in"], ...] = ("mm", "in")
MATERIALS: tuple[Literal["HSS", "carbide"], ...] = ("HSS", "carbide")
MOST_CUTTERS = 9


def read_milling(root: Table) -> Milling:
    """Read [mill] and [[cutter]]; problems are noted in the tables."""
    if not any([root.has("mill"), root.has("cutter")]):
        return NO_MILLING
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
    """Read one slide of the mill, if the file describes it."""
    if not table.has(axis):
        return None
    own = table.table(axis)
    slide = read_slide(own, across=False)
    if slide.reading == "dial" and not divides_evenly(slide):
        given = f'division = "{slide.division.text}", turn = "{slide.turn.text}"'
        what = f"a turn of the mill's {axis.upper()} dial is not a whole number of its divisions"
        own.note("turn", what, given=given, fix="give both in the dial's own measure")
    return slide


def _read_block(table: Table, square_by: SquareBy) -> HoldingBlock:
    sides = table.integer("sides", least=0, most=12, default=4)
    if square_by != "rotary axis" and (sides < 4 or sides % 2):
        table.note("sides", "a block that is turned by hand lies on one of its sides", allowed="4, 6, 8 ...")
    return HoldingBlock(
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
"""The keys that belong to one kind of cutter."""


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
