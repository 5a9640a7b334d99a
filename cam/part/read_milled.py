"""The tables of a part file that ask for milling: [section.square] and [[cross_hole]]."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.ground.keys import read_as, read_key
from cam.ground.problem import RangeError, repeats
from cam.ground.source import Table
from cam.ground.units import ANGLE
from cam.part.milled import NAN, Hold, HoleAsked, Milled, SquareAsked
from cam.part.model import Section
from cam.part.taper import Taper, parse_taper, taper_of_sizes
from cam.part.texts import MOST_FOR, check_left, read_tolerance
from cam.part.threads import find_thread


def read_milled(root: Table, sections: Sequence[Table]) -> Milled | None:
    """Read the tables and note problems in them; return None where nothing is milled."""
    squares = [t for t in sections if t.has("square")]
    if not root.has("cross_hole") and not squares:
        return None
    names = [str(t.values.get("name", "")) for t in sections]
    for extra in squares[1:]:
        extra.note("square", "a part has one square here", fix="mill the second one from a part file of its own")
    read = [_read_square(t.table("square"), str(t.values.get("name", "")), names, t) for t in squares]
    tables = root.tables("cross_hole", fewest=0)
    holes = tuple(_read_hole(t, names) for t in tables)
    _check_hole_names(tables, holes)
    return Milled(square=next(iter(read), None), holes=holes)


def _check_hole_names(tables: Sequence[Table], holes: Sequence[HoleAsked]) -> None:
    for (table, hole), (_, first) in repeats(zip(tables, holes, strict=True), lambda row: row[1].name):
        given = f'name = "{hole.name}", also on line {first.where.line}'
        table.note("name", "two cross holes have this name", given=given, fix="give each its own")


def _check_blank(table: Table) -> None:
    """Check that a section with a square is a blank, and no taper."""
    if table.values.get("role") != "square blank":
        table.note("square", "only a section of role square blank has a square",
                   given=f'role = "{table.raw("role")}"',
                   fix='write role = "square blank", or leave the square out')  # fmt: skip
    elif table.has("diameter_a") or table.has("diameter_b"):
        what = "a square is cut from a cylinder, and this blank is a taper"
        table.note("square", what, fix="give it one diameter")


def _read_hold(table: Table, names: Sequence[str]) -> Hold:
    return read_as(table, Hold, section=_read_name(table, "grip", names))


def _read_name(table: Table, key: str, names: Sequence[str], default: str | None = None) -> str:
    name = table.text(key, example="drum body", default=default)
    if table.has(key) and name and name not in names:
        table.unknown(key, "section", names)
    return name


def _read_square(table: Table, section: str, names: Sequence[str], owner: Table) -> SquareAsked:
    _check_blank(owner)
    across, station, taper = _read_sizes(table, owner)
    corners = read_key(table, SquareAsked, "corners")
    broken = 0.0
    if corners == "broken" and table.raw("corners") == "broken":
        broken = read_key(table, SquareAsked, "broken")
    else:
        table.refuse("broken", 'broken goes with corners = "broken"', fix="leave it out")
    limits = read_tolerance(table, "tolerance")
    if limits is None and not table.has("tolerance"):
        table.missing("tolerance", '"±0.01 mm"', why="the size across flats is measured against it")
    allowance = read_key(table, SquareAsked, "allowance")
    check_left(table, "allowance", allowance, MOST_FOR["file"], "a file and a stone")
    flats = read_key(table, SquareAsked, "flats")
    if flats % 2:
        what = "opposite flats are measured against each other, so their number is even"
        table.note("flats", what, allowed="4, 6, 8, 10 or 12")
    return read_as(
        table, SquareAsked, section=section, flats=flats, across=across, station=station, taper=taper, corners=corners,
        broken=broken, limits=(NAN, NAN) if limits is None else (limits.lower, limits.upper),
        allowance=allowance, hold=_read_hold(table, names),
    )  # fmt: skip


def _read_sizes(table: Table, owner: Table) -> tuple[float, float, Taper]:
    """Read the size at a station and the taper, or the sizes at shoulder and tip, with the length of the section.

    For the latter, the station is the middle of the length: at the shoulder itself there is no flat to measure on.
    """
    two = ("across_at_shoulder", "across_at_tip")
    if not any(map(table.has, two)):
        across, station = (read_key(table, SquareAsked, key) for key in ("across", "station"))
        taper, why = Taper(NAN, ""), 'it must be said per side or included; "0 deg per side" is none'
        if table.needs("taper", '"0.3 deg included"', why=why):
            taper = table.parsed("taper", parse_taper, taper)
        return across, station, taper
    for key in ("across", "at", "taper"):
        table.refuse(key, f"{key} does not go with sizes at shoulder and tip", fix="write the one or the other")
    large, small = (read_key(table, SquareAsked, key) for key in two)
    length = read_key(owner, Section, "length") if owner.has("length") else NAN
    if math.isnan(length):
        what = "two sizes say a taper only over a length that is written"
        table.note("across_at_tip", what, fix="write the section's length")
        return large, 0.0, Taper(NAN, "")
    try:
        return (large + small) / 2, length / 2, taper_of_sizes(large, small, float(length))
    except RangeError:
        if not math.isnan(large + small):
            table.note("across_at_tip", "the tip must come out the smaller end", fix="change the two round")
        return large, 0.0, Taper(NAN, "")


def _read_hole(table: Table, names: Sequence[str]) -> HoleAsked:
    section = _read_name(table, "section", names)
    tapped, through = table.has("thread"), read_key(table, HoleAsked, "through")
    diameter = depth = NAN
    if tapped:
        table.refuse("diameter", "diameter does not go with a thread, whose drill is chosen", fix="leave it out")
    elif table.needs("diameter", '"3 mm"', why='a plain hole has it; a tapped one has thread = "M3"'):
        diameter = read_key(table, HoleAsked, "diameter")
    if through:
        table.refuse("depth", "a hole that goes through has no depth", fix="leave it out")
    else:
        depth = read_key(table, HoleAsked, "depth")
    blind = ("lead", "chips") if not tapped else ("chips",) if through else ()
    for key in blind:
        table.refuse(key, f"{key} goes with a blind thread", fix="leave it out")
    return read_as(
        table, HoleAsked, section=section, shoulder=_read_name(table, "shoulder", names, default=section),
        angle=_read_angle(table), thread=table.parsed("thread", find_thread, None) if tapped else None,
        diameter=diameter, through=through, depth=depth,
        lead=read_key(table, HoleAsked, "lead") if tapped else "second",
        chips=read_key(table, HoleAsked, "chips") if not blind else 0.0, hold=_read_hold(table, names),
    )  # fmt: skip


def _read_angle(table: Table) -> float:
    if table.raw("angle") == "any":
        return NAN
    return float(table.quantity("angle", ANGLE, least=0.0, most=360.0, example="0 deg"))
