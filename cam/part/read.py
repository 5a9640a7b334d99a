"""Reads from a part file what it asks for: tables become the model, and all problems are given at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from os import PathLike
from typing import Any, Literal

from cam.ground.frozen import Row
from cam.ground.keys import keys_in, read_as, read_key
from cam.ground.letters import known_by
from cam.ground.problem import Problem
from cam.ground.quantity import Quantity
from cam.ground.source import Source, Table, read_source
from cam.ground.source.table import NAN
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import is_inch, show_known
from cam.part.details import LEAST_FALL
from cam.part.features import Corner, Edge, Finish, Tolerance
from cam.part.model import ENDS, METHODS, Asked, EndHolding, Holding, Part, Section
from cam.part.read_milled import read_milled
from cam.part.read_screwed import read_screwing, settle_threads
from cam.part.read_spans import MEASURING, SOLVED, read_measuring, read_symbol
from cam.part.texts import read_corner, read_edge, read_finish, read_tolerance


def read_asked(path: str | PathLike[str]) -> Asked:
    """Read a part file; its lengths are solved by cam.lengths.

    Args:
        path: a TOML file in the form of part.schema.json.

    Raises:
        ProblemError: it cannot be read as TOML. All else that is wrong with it stands in what is returned.
    """
    return asked_of(read_source(path))


def asked_of(source: Source) -> Asked:
    """Read what a part file asks for, as read_asked does, from a text that is already in hand."""
    problems: list[Problem] = []
    root = Table(source, problems)
    part = _read(root)
    measuring = None if part is None else read_measuring(root, part.sections)
    if problems:
        measuring = None
    root.close()
    return Asked(part=part, measuring=measuring, problems=tuple(problems))


def _read(root: Table) -> Part | None:
    """Return the part, with stand-ins for whatever is wrong; None if it has no section."""
    name, shop, stock = (read_key(root, Part, key) for key in ("name", "shop", "stock"))
    held = root.table("holding", why="how it is held decides everything")
    holding = _read_holding(held)
    tables = root.tables("section")
    _check_names(tables)
    _settle_likes(tables)
    unit = _mostly(tables)
    threads = settle_threads(root, tables, holding, unit)
    spans = bool([key for key in MEASURING if root.has(key)]) and bool(root.values.get("span"))
    lengths = _given_lengths(tables) if spans else _solve_lengths(root, tables, unit)
    sections = _read_sections(root, tables, lengths, holding)
    if not sections:
        return None
    part = Part(
        name=name, sections=sections, stock=stock, holding=holding, path=root.source.path, digest=root.source.digest,
        shop=shop, unit=unit, milled=read_milled(root, tables),
    )  # fmt: skip
    if threads is not None:
        part = replace(part, screwed=read_screwing(root, tables, threads, part, held))
    return part


def _mostly(tables: Sequence[Table]) -> Literal["mm", "in"]:
    """Return the unit in which most diameters and lengths of the sections are written."""
    keys = ("diameter", "diameter_a", "diameter_b", "length")
    texts = [value for table in tables for key in keys if isinstance(value := table.values.get(key), str)]
    inches = sum(is_inch(text) for text in texts)
    return "in" if 2 * inches > len(texts) else "mm"


# Stock and holding ------------------------------------------------------------------------------------


def _read_holding(table: Table) -> Holding:
    method = read_key(table, Holding, "method")
    nothing = Quantity(0.0, "", table.where)
    if table.raw("method") not in METHODS:  # without it nothing more can be said
        table.known(*keys_in(Holding))
        nan = Quantity(NAN, "", table.where)
        said: dict[str, Any] = dict.fromkeys(("first", "end_a", "end_b"))
        said |= {"chuck": "", "stick_out": nan, "facing": nan, "part_off": ""}
    elif method == "between centres":
        for key in ("chuck", "free_end", "stick_out", "facing"):
            what = f"{key} has no meaning between centres"
            table.refuse(key, what, fix='leave it out, or write method = "collet"')
        table.refuse(
            "part_off",
            "nothing is parted off between centres: the work closes on the blade and is thrown out",
            fix="leave it out; extra length is sawn off after turning, with the work out of its centres",
        )
        said = {"chuck": "", "stick_out": nothing, "facing": nothing, "part_off": ""}
    else:
        said = _read_chuck(table, method, nothing)
    return read_as(table, Holding, method=method, **said)


def _read_chuck(table: Table, method: str, nothing: Quantity) -> dict[str, Any]:
    """Read which end stands free in a collet or chuck, and refuse what belongs between centres."""
    table.refuse("first", f"first has no meaning in a {method}", fix="leave it out; free_end says which end is turned")
    for key in ("end_a", "end_b"):
        table.refuse(key, f"{key} has no meaning in a {method}: no centre holds the free end", fix="leave it out")
    choice = read_key(table, Holding, "free_end")
    free = choice if table.raw("free_end") in ENDS else None
    end = EndHolding(
        centre_hole="", extra_length=nothing, tail_centre="", carrier="", grip="", protection=nothing, where=table.where
    )
    return {"first": free, "end_a": end if free == "A" else None, "end_b": end if free == "B" else None}


# Names and likes --------------------------------------------------------------------------------------


def _check_names(tables: Sequence[Table]) -> None:
    lines: dict[str, int] = {}
    alike: dict[str, str] = {}
    for table in tables:
        name = read_key(table, Section, "name")
        if name == "stock":
            what = 'no section can be called "stock": a grip of that name means the bar'
            table.note("name", what, fix="call it otherwise")
        elif name and not (printed := known_by(name)):
            what = "this name has no letter or figure that a program or a page can print"
            table.note("name", what, fix="give it one of Latin letters or figures")
        elif name and name not in lines and printed in alike:
            what = f'two sections have names that programs print alike: "{alike[printed]}" and "{name}"'
            table.note("name", what, fix="give each its own name")
        else:
            table.check_name(name, "section", lines)
            alike.setdefault(known_by(name), name)


def _settle_likes(tables: Sequence[Table]) -> None:
    """Give every section that has the key like whatever it does not write itself."""
    by_name = {str(table.values.get("name")): table for table in reversed(tables)}
    settled: list[Table] = []

    def settle(table: Table, trail: tuple[Table, ...]) -> None:
        if table in settled:
            return
        if table in trail:
            names = " -> ".join(str(t.values.get("name")) for t in (*trail[trail.index(table) :], table))
            settled.extend(trail)
            table.note("like", f"these sections are like one another in a circle: {names}", fix="write one of them out")
            return
        if table.has("like"):
            name = read_key(table, Section, "like")
            model = by_name.get(name)
            if model is None and name:
                table.unknown("like", "section", by_name)
            if model is not None:
                settle(model, (*trail, table))
                if table not in settled:
                    table.inherit(model, leave=_not_taken(table))
        settled.append(table)

    for table in tables:
        settle(table, ())


def _not_taken(table: Table) -> set[str]:
    """Return the keys that are not inherited, because keys that the section writes itself take their place."""
    leave = {"name", "like"}
    if table.written("diameter"):
        leave |= {"diameter_a", "diameter_b"}
    if table.written("diameter_a") or table.written("diameter_b"):
        leave |= {"diameter"}
    if table.written("finish"):
        leave |= {"on_diameter", "on_face"}
    return leave


# Lengths ----------------------------------------------------------------------------------------------


def _solve_lengths(root: Table, tables: Sequence[Table], unit: Literal["mm", "in"]) -> list[Quantity]:
    """Return the length of every section; one that is left out gets what the others leave of the whole."""
    lengths = _given_lengths(tables)
    left_out = [table for table in tables if not table.has("length")]
    if root.has("length"):
        given = [(str(t.values.get("name")), at) for t, at in zip(tables, lengths, strict=True) if t.has("length")]
        solved = _solve_length(root, left_out, given, unit)
    else:
        solved = NAN
        for table in left_out:
            table.missing("length", '"6 mm"', why="one section may lack it, if the top of the file gives the whole")
    said = "" if math.isnan(solved) else f"{show_known(solved, unit)} {SOLVED}"
    return [at if t.has("length") else Quantity(solved, said, t.where) for t, at in zip(tables, lengths, strict=True)]


def _solve_length(
    root: Table, left_out: Sequence[Table], given: Sequence[tuple[str, Quantity]], unit: Literal["mm", "in"]
) -> float:
    """Return what the whole leaves for the one section that has no length, mm; nan where there is none.

    It refuses two or more left out, a whole that is not the sum, or one too short for it.

    Args:
        given: name and length of the others.
    """
    total = read_key(root, Part, "whole")
    known = math.fsum(length for _, length in given)
    members = ", ".join(f"{name} {length.text}" for name, length in given)
    if len(left_out) > 1:
        names = ", ".join(f'"{table.values.get("name")}" (line {table.where.line})' for table in left_out)
        what = f"{len(left_out)} sections have no length, and the whole gives only one: {names}"
        root.note("length", what, fix="write the others")
    elif left_out and total - known <= AS_GIVEN:
        short = show_known(AS_GIVEN + known - total, unit)
        root.note(
            "length",
            f'nothing is left for section "{left_out[0].values.get("name")}"',
            allowed=f"more than {show_known(known, unit)}: {members}",
            fix=f"the others are {short} too long together, or the whole is too short",
        )
    elif left_out:
        return float(total - known)
    elif abs(known - total) > AS_GIVEN:
        root.note(
            "length",
            f"the sections together are {show_known(known, unit)} long, "
            f"and the part is said to be {show_known(total, unit)}",
            allowed=f"{show_known(known, unit)}: {members}",
            fix="fix one of the lengths, or leave one out to have it solved",
        )
    return NAN


def _given_lengths(tables: Sequence[Table]) -> list[Quantity]:
    """Return every section's length as written; it is nan and has no text where it is left out."""
    return [
        read_key(table, Section, "length") if table.has("length") else Quantity(NAN, "", table.where)
        for table in tables
    ]


# Sections ---------------------------------------------------------------------------------------------


class _Whole(Row):
    """What is said once for the whole part; None where it is not said."""

    corners: Corner | None
    edges: Edge | None
    finish: Finish | None


def _read_whole(root: Table) -> _Whole:
    finish = read_finish(root) if root.has("finish") else None
    if finish is None:
        for key in ("on_diameter", "on_face"):
            root.refuse(key, f"{key} goes with a finish, and there is none at the top of the file")
    return _Whole(
        corners=read_corner(root, "corners") if root.has("corners") else None,
        edges=read_edge(root, "edges") if root.has("edges") else None,
        finish=finish,
    )


def _read_sections(
    root: Table, tables: Sequence[Table], lengths: Sequence[Quantity], holding: Holding
) -> tuple[Section, ...]:
    whole = _read_whole(root)
    sizes = [_read_diameters(table) for table in tables]
    sections = []
    for at, table in enumerate(tables):
        before = sizes[at - 1][1] if at else 0.0
        after = sizes[at + 1][0] if at + 1 < len(tables) else 0.0
        held = _held_side(holding, at, len(tables))
        corner_a, edge_a = _read_side(table, "a", (sizes[at][0], before), whole, held=held == "a")
        corner_b, edge_b = _read_side(table, "b", (sizes[at][1], after), whole, held=held == "b")
        role = read_key(table, Section, "role")
        sections.append(
            read_as(
                table,
                Section,
                name=str(table.values.get("name", "")),
                role=role,
                start=math.fsum(lengths[:at]),
                end=math.fsum(lengths[: at + 1]),
                length=lengths[at],
                length_tolerance=read_tolerance(table, "length_tolerance"),
                diameter_a=sizes[at][0],
                diameter_b=sizes[at][1],
                tolerance=_read_tolerance(table, sizes[at]),
                edge_a=edge_a,
                edge_b=edge_b,
                corner_a=corner_a,
                corner_b=corner_b,
                finish=_settle_finish(table, whole),
                bearing=_read_bearing(table, role),
            )
        )
    return tuple(sections)


def _read_tolerance(table: Table, sizes: tuple[Quantity, Quantity]) -> Tolerance | None:
    """Read the limits of the diameter, "+0 / -0.02 mm", or their ISO 286 symbol, "h7"."""
    text = table.raw("tolerance")
    if not isinstance(text, str) or not text.strip().isalnum() or text.strip()[-1].isalpha():
        return read_tolerance(table, "tolerance")
    where = table.where_of("tolerance")
    failed = Tolerance(lower=NAN, upper=NAN, text=text, where=where)
    if sizes[0] == sizes[1]:
        return table.parsed("tolerance", lambda symbol: read_symbol(symbol, float(sizes[0]), where), failed)
    table.note("tolerance", "a taper has no one size that a symbol could count from", fix="give limits of size")
    return failed


def _read_diameters(table: Table) -> tuple[Quantity, Quantity]:
    """Read the diameters at the A end and at the B end, mm."""
    sizes = [table.has(key) for key in ("diameter", "diameter_a", "diameter_b")]
    if table.has("thread") and not any(sizes):
        return Quantity(NAN, "", table.where), Quantity(NAN, "", table.where)  # the thread's fault is noted already
    if not table.has("diameter_a") and not table.has("diameter_b"):
        size = read_key(table, Section, "diameter")
        return size, size
    table.refuse(
        "diameter",
        "diameter goes with neither diameter_a nor diameter_b",
        fix="a taper has the two, a cylinder the one",
    )
    size_a, size_b = (read_key(table, Section, key) for key in ("diameter_a", "diameter_b"))
    fix = f'write diameter = "{size_a.text}" in place of the two'
    if abs(size_a - size_b) <= AS_GIVEN:
        table.note("diameter_b", "this taper has the same diameter at both ends", fix=fix)
    elif abs(size_a - size_b) < LEAST_FALL - AS_GIVEN:
        what = "this taper falls by less over its length than anybody could turn or measure"
        given, least = f"{size_a.text} to {size_b.text}", show_known(LEAST_FALL, table.source.unit)
        table.note("diameter_b", what, given=given, allowed=f"sizes at least {least} apart", fix=fix)
    return size_a, size_b


def _settle_finish(table: Table, whole: _Whole) -> Finish:
    if table.has("finish"):
        return read_finish(table)
    for key in ("on_diameter", "on_face"):
        table.refuse(key, f"{key} goes with a finish, and this section has none of its own")
    if whole.finish is not None:
        return whole.finish
    table.missing("finish", '"turn"', why="it must be said, here or once at the top of the file")
    return Finish(route=("turn",), on_diameter=NAN, on_face=NAN, text="", where=table.where)


def _read_bearing(table: Table, role: str) -> Quantity | None:
    if role != "square blank":
        table.refuse("bearing", f"only a square blank has to pass a bearing, and this is a {role}", fix="leave it out")
        return None
    if not table.needs("bearing", '"6.02 mm"', why="a square that cannot pass its bearing cannot be assembled"):
        return None
    bearing: Quantity = read_key(table, Section, "bearing")
    return bearing


def _held_side(holding: Holding, at: int, count: int) -> str:
    """Return the side of a section that, as the part's other end, is inside the collet or chuck; "" for none."""
    if holding.method == "between centres" or holding.first is None:
        return ""
    if holding.first == "A":
        return "b" if at == count - 1 else ""
    return "a" if at == 0 else ""


def _read_side(
    table: Table, side: str, sizes: tuple[float, float], whole: _Whole, *, held: bool
) -> tuple[Corner | None, Edge | None]:
    """Read the inner corner or the outer edge at one end of a section, whichever belongs there.

    Args:
        side: "a" or "b".
        sizes: the diameter at this end, and that of the neighbour there, mm; zero for no neighbour.
        held: whether this is the part's end inside a collet or chuck.
    """
    corner_key, edge_key = f"corner_{side}", f"edge_{side}"
    corner = read_corner(table, corner_key) if table.has(corner_key) else whole.corners
    edge = read_edge(table, edge_key) if table.has(edge_key) else whole.edges
    own, other = sizes
    if math.isnan(own) or math.isnan(other):
        return None, None
    end = f'the {side.upper()} end of section "{table.values.get("name")}"'
    if other > own + AS_GIVEN:
        why = "what the tool may leave in a corner must be said, here or once as corners at the top of the file"
        _miss(table, corner_key, corner, '"fillet up to 0.2 mm"', why)
    else:
        corner = None
        _refuse_place(table, corner_key, f"{end} has no larger neighbour", "write it where the shoulder is")
    if held:
        edge = Edge(kind="sharp", size=0.0, text="not turned", where=table.where)
        _refuse_place(table, edge_key, f"{end} is held and not turned", "leave it out")
    elif other < own - AS_GIVEN:
        why = "it must be said how the edge is broken, here or once as edges at the top of the file"
        _miss(table, edge_key, edge, '"chamfer 0.2 mm"', why)
    else:
        edge = None
        _refuse_place(table, edge_key, f"{end} has no outer edge", "write it at the end that stands free")
    return corner, edge


def _miss(table: Table, key: str, found: object, example: str, why: str) -> None:
    """Note a corner or edge that must be said and was not found."""
    if found is None:
        table.missing(key, example, why=why)


def _refuse_place(table: Table, key: str, reason: str, fix: str) -> None:
    """Note a corner or edge that has no place; one that came with like may belong to the other end instead."""
    if key not in table.values:
        return
    kind, _, side = key.partition("_")
    what = f"{reason}, so {key} has no place"
    if table.written(key):
        table.note(key, what, fix=fix)
        return
    other = f"{kind}_{'b' if side == 'a' else 'a'}"
    if not table.written(other):
        what = f'{what}; it came with like = "{table.values.get("like")}"'
        table.problems.append(
            Problem(
                where=table.where_of("like"),
                what=what,
                given=table.given(key),
                fix=f"write {other} here as you want it",
            )
        )
