"""The mill's part of a shop file: [mill] and [[cutter]]."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import get_args

from cam.ground.keys import read_as
from cam.ground.problem import Problem
from cam.ground.source import Table
from cam.shop.checks import divides_evenly
from cam.shop.control import MILL_SENSES, read_facts
from cam.shop.machine import Slide
from cam.shop.mill import NO_MILLING, HoldingBlock, Mill, Milling, ShopCutter, SquareBy
from cam.shop.slides import read_slide


def read_milling(root: Table) -> Milling:
    """Read [mill] and [[cutter]]; problems are noted in the tables."""
    if not any([root.has("mill"), root.has("cutter")]):
        return NO_MILLING
    mill = _read_mill(root.table("mill")) if root.has("mill") else None
    tables = root.tables("cutter", fewest=0)
    cutters = tuple(read_as(table, ShopCutter) for table in tables)
    root.problems.extend(_check_cutters(cutters))
    return Milling(mill=mill, cutters=cutters)


def _read_mill(table: Table) -> Mill:
    square_by = table.choice("square_by", get_args(SquareBy))
    block = _read_block(table.table("block", why="what holds the work must be known"), square_by)
    axes = {axis: _read_axis(table, axis) for axis in "xyz"}
    mill = read_as(table, Mill, square_by=square_by, block=block, facts=read_facts(table, MILL_SENSES), **axes)
    if mill.slowest > mill.fastest:
        table.note("slowest", "the slowest speed is above the fastest", fix="change them round")
    if mill.shim_distance >= block.length:
        table.note("shim_distance", "the shim does not lie under the block", allowed=f"less than {block.length.text}")
    return mill


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
    return read_as(table, HoldingBlock, sides=sides)


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
