"""Reads and checks a shop file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from operator import attrgetter
from os import PathLike
from typing import Any, Literal, get_args

from cam.geometry.convex import hull, is_convex
from cam.geometry.path import Point, Polygon
from cam.ground.keys import read_as, read_key
from cam.ground.material_names import fold
from cam.ground.problem import Problem, ProblemError, problem, repeats
from cam.ground.quantity import Quantity
from cam.ground.source import Source, Table, read_source
from cam.ground.units import QuantityError, show_length
from cam.part.threads import find_thread
from cam.shop.checks import divides_evenly, find_problems
from cam.shop.control import MILL_SENSES, read_control, read_facts
from cam.shop.machine import READINGS, Slide
from cam.shop.materials import Materials, built_in_materials, read_material
from cam.shop.mill import NO_MILLING, Cutter, HoldingBlock, Mill, Milling, SquareBy
from cam.shop.model import INCLUDED, MOST_TOOLS, TIP_ONLY, Cone, Lathe, Outline, Shop, Speed, Spindle, Tool, ToolKind

TOOL_KINDS: tuple[ToolKind, ...] = get_args(ToolKind)
MOST_CONE = 0.001
"""The steepest cone, diameter over length, that a plan corrects and not the tailstock; common practice, no source."""
OUTLINES = (
    "measure holder and post from the tip and write a [[tool.outline]] for each; or write "
    f'outline = "{TIP_ONLY}", and every least distance says that they were not checked'
)


def read_shop(path: str | PathLike[str]) -> Shop:
    """Read and check a shop file.

    Raises:
        ProblemError: everything that is wrong with the file, at once.
    """
    return shop_of(read_source(path))


def shop_of(source: Source) -> Shop:
    """Read and check a shop file, as `read_shop` does, from a text that is already read.

    Raises:
        ProblemError: as for `read_shop`.
    """
    problems: list[Problem] = []
    root = Table(source, problems)
    own = [read_material(table) for table in root.tables("material", fewest=0)]
    shop = read_as(
        root, Shop, lathe=_read_lathe(root.table("lathe")),
        tools=tuple(_read_tool(table) for table in root.tables("tool")),
        materials=Materials([*built_in_materials().values(), *own]), path=source.path, digest=source.digest,
        milling=read_milling(root), dies=_read_dies(root) if root.has("dies") else None,
    )  # fmt: skip
    root.close()
    problems.extend(_repeated(root.tables("material", fewest=0)))
    problems.extend(find_problems(shop))
    if problems:
        raise ProblemError(problems)
    return shop


def _read_dies(root: Table) -> tuple[str, ...]:
    """Read the names of the threads for which there are dies."""
    names = root.raw("dies")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        root.note("dies", "dies is a list of threads", allowed='for example dies = ["M3", "4 BA"]')
        return ()
    found = []
    for at, name in enumerate(names):
        try:
            found.append(find_thread(name).name)
        except QuantityError as error:
            root.note_error(error, "dies", at)
    return tuple(found)


def _repeated(rows: list[Table]) -> Iterator[Problem]:
    """Report a material row that names an earlier one of the same file."""
    named = (row for row in rows if isinstance(row.values.get("name"), str))
    for row, first in repeats(named, lambda row: fold(row.values["name"])):
        what = f'there are two materials called "{row.values["name"]}"'
        yield problem(row.where, what, f"also on line {first.where.line}", fix="rename one")


def _read_lathe(table: Table) -> Lathe:
    x = read_slide(table.table("x"), across=True)
    control = read_control(table.table("control"), x)
    cone, corrects = _read_cone(table.table("cone")) if table.has("cone") else (0.0, False)
    return read_as(
        table,
        Lathe,
        x=x,
        z=read_slide(table.table("z"), across=False),
        spindle=_read_spindle(table.table("spindle"), by_hand=control.kind == "hand"),
        control=control,
        cone=cone,
        corrects_cone=corrects,
    )


def _read_cone(table: Table) -> tuple[float, bool]:
    """Read how the diameter grows toward the tailstock, mm per mm, and whether the plan corrects it."""
    cone = read_as(table, Cone)
    corrects = cone.plan == "correct"
    if corrects and cone.difference > MOST_CONE * cone.over:
        allowed = f"at most {show_length(100 * MOST_CONE)} in 100 mm, to be corrected section by section"
        table.note("difference", "the lathe turns too steep a cone to correct", allowed=allowed, fix="set the "
                   'tailstock true first (endshake tailstock), or write plan = "warn"')  # fmt: skip
    return float(cone.difference / cone.over) * (1 if cone.larger_at == "tailstock" else -1), corrects


def _read_spindle(table: Table, *, by_hand: bool) -> Spindle:
    table.known("slowest", "fastest", "positions")
    rows = (read_as(row, Speed) for row in table.tables("positions", fewest=0))
    positions = tuple(sorted(rows, key=lambda speed: speed.rpm))
    said: dict[str, Any] = _range_of(table, positions)
    if by_hand:  # a hand waits by itself
        for key in ("feeds_per_revolution", "constant_surface_speed"):
            table.refuse(key, f"a lathe worked by hand has no control, so no {key}", fix="leave it out")
            said[key] = False
    spindle = read_as(table, Spindle, positions=positions, **said)
    return replace(spindle, spin_up=0.0, started="program") if by_hand else spindle


def _range_of(table: Table, positions: tuple[Speed, ...]) -> dict[str, float]:
    """Return the slowest and the fastest speed, where they are not read from keys of their own."""
    if "positions" in table.values:
        for key in ("slowest", "fastest"):
            table.refuse(key, "the positions already say which speeds there are", fix="leave it out")
        if table.values["positions"] == []:
            table.note("positions", "there are no belt positions", fix='write them, or slowest = "..." and fastest')
        ends = (positions[0].rpm, positions[-1].rpm) if positions else (0.0, 0.0)
        return {"slowest": float(ends[0]), "fastest": float(ends[1])}
    if {"slowest", "fastest"} & table.values.keys():
        return {}
    example = '[{ name = "A1", speed = "320 rpm" }, { name = "A2", speed = "600 rpm" }]'
    table.missing("positions", example, why="or slowest and fastest, for a range of speeds")
    return {"slowest": 0.0, "fastest": 0.0}


def _read_tool(table: Table) -> Tool:
    kind = table.choice("kind", TOOL_KINDS)
    turning = kind == "turning"
    nothing = Quantity(0.0, "", table.where)
    shape, included, text = _read_shape(table) if turning else ("", 0.0, "grooving tool")
    if kind == "threading":
        included, approach, width = _read_vee(table)
        text = f"threading tool, {included:g} deg"
    elif turning:
        refuse(table, ("width",), "kind", TOOL_KINDS, "only a grooving tool has a width")
        approach, width = _read_approach(table, shape), nothing
    else:
        keys = ("shape", "included", "approach")
        refuse(table, keys, "kind", TOOL_KINDS, "only a turning tool has shape, included angle and approach")
        approach, width = Quantity(90.0, "", table.where), read_key(table, Tool, "width")
    return read_as(
        table, Tool, number=_read_number(table), kind=kind, approach=approach, shape=shape, included=included,
        width=width, outlines=_read_outlines(table), text=text,
    )  # fmt: skip


def _read_vee(table: Table) -> tuple[float, Quantity, Quantity]:
    """Read the included angle of a threading tool's vee, its headstock flank to the feed, and its blade's width."""
    refuse(table, ("shape", "approach"), "kind", TOOL_KINDS, "a threading tool is said by its included angle")
    angle = read_key(table, Tool, "included")
    return angle, Quantity(90.0 - angle / 2, "", table.where), read_key(table, Tool, "width")


def _read_number(table: Table) -> int:
    """Read the T word; it is zero, which no other tool has, where it cannot be read."""
    number, written = table.integer("number", least=1, most=MOST_TOOLS), table.raw("number")
    return number if number == written else 0


def _read_approach(table: Table, shape: str) -> Quantity:
    """Read the approach angle, degrees; a round insert has no leading edge of its own, and 90 stands for it."""
    if shape == "R":
        table.refuse("approach", "a round insert has no leading edge, so no approach", fix="leave it out")
        return Quantity(90.0, "", table.where)
    approach: Quantity = read_key(table, Tool, "approach")
    return approach


def _read_shape(table: Table) -> tuple[str, float, str]:
    """Read the shape letter, the included angle in degrees, and how they were given."""
    table.known("shape", "included")
    letters = tuple(INCLUDED)
    if table.has("included"):
        table.refuse("shape", "shape and included both say how the tool's edges meet", fix="leave one out")
        included = read_key(table, Tool, "included")
        return "", included, f"ground: {included:g} deg"
    if not table.has("shape"):
        table.missing("shape", '"D"', why='an ISO 1832 letter, or included = "55 deg" for a ground tool')
        return "", 60.0, ""
    shape = table.choice("shape", letters)
    return shape, INCLUDED[shape], f"ISO 1832 shape {shape}"


def _read_outlines(table: Table) -> tuple[Outline, ...]:
    """Read the outlines of the tool's body; there are none only where the file says so."""
    given = table.raw("outline")
    if isinstance(given, list) and given:
        return tuple(_read_outline(row) for row in table.tables("outline", fewest=0))
    if given != TIP_ONLY and not table.absent:
        what = f"{table.title} has no outline, so its holder and post cannot be checked"
        said = "" if given is None else table.given("outline")
        lacks = "" if said else ".".join(map(str, (*table.path, "outline")))
        where = table.where_of("outline")
        table.problems.append(Problem(where=where, what=what, given=said, fix=OUTLINES, lacks=lacks))
    return ()


def _read_outline(table: Table) -> Outline:
    points = tuple(Point(float(z), float(x)) for z, x in table.points("points", fewest=3))
    outline = read_as(table, Outline, polygon=hull(points) if points else ())
    if points and not is_convex(points):
        what = f'the outline "{outline.name}" is not convex'
        fix = "split it into convex outlines that overlap, or leave out the corner that lies inside; " + _spare(points)
        table.note("points", what, allowed="corners in order round it, each turning the same way", fix=fix)
    return outline


def _spare(points: Polygon) -> str:
    """Say which corners do not stand out, counted from 1."""
    outer = set(hull(points))
    inside = [str(i + 1) for i, p in enumerate(points) if p not in outer]
    return f"corner {' and '.join(inside)} does not stand out" if inside else "its corners are not in order round it"


def read_milling(root: Table) -> Milling:
    """Read [mill] and [[cutter]]; problems are noted in the tables."""
    if not any([root.has("mill"), root.has("cutter")]):
        return NO_MILLING
    mill = _read_mill(root.table("mill")) if root.has("mill") else None
    tables = root.tables("cutter", fewest=0)
    cutters = tuple(read_as(table, Cutter) for table in tables)
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


def _check_cutters(cutters: Sequence[Cutter]) -> Iterator[Problem]:
    for cutter, first in repeats(cutters, attrgetter("number")):
        what, given = f"two cutters have the number {cutter.number}", f"also on line {first.where.line}"
        yield problem(cutter.where, what, given, fix="give each its own")
    for cutter in cutters:
        if cutter.stick_out < cutter.flutes:
            yield Problem(where=cutter.where, what=f'"{cutter.name}" sticks out less than its flutes are long',
                          given=cutter.stick_out.text, allowed=f"at least {cutter.flutes.text}")  # fmt: skip
        if cutter.kind == "end mill" and cutter.minimum_cut > cutter.deepest_cut:
            yield Problem(where=cutter.where, what=f'the least cut of "{cutter.name}" is above its deepest',
                          fix="change them round")  # fmt: skip


def read_slide(table: Table, *, across: bool) -> Slide:
    """Read the X slide (across) or the Z slide; only X has a habit, and only a dial has a turn."""
    reading = table.choice("reading", READINGS)
    counts: Literal["up", "down"] = table.choice("counts", ("up", "down"), default="up" if reading == "none" else None)
    said: dict[str, Any] = {} if across else {"habit": "radius"}
    return read_as(table, Slide, reading=reading, counts=counts, **said)


def refuse(table: Table, keys: tuple[str, ...], choice: str, options: tuple[str, ...], why: str) -> None:
    """Refuse keys that do not go with what was chosen; if the choice could not be read, say nothing of them."""
    chosen = table.raw(choice)
    if chosen not in options:
        table.known(*keys)
        return
    for key in keys:
        table.refuse(key, f'{why}, and {choice} is "{chosen}"', fix="leave it out")
