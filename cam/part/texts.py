"""The short texts of a part file: corners, edges, finish routes, and soft metal under a carrier."""

from __future__ import annotations

import re
from collections.abc import Sequence

from cam.ground.keys import read_key
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.source.table import NAN, closest, did_you_mean
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import LENGTH, QuantityError, is_inch, parse, round_down, show_known, show_length
from cam.part.features import ROUTES, Corner, Edge, Finish, Tolerance

CORNERS = "fillet up to 0.2 mm, fillet 0.2 mm, or undercut 1 mm wide 0.2 mm deep"
EDGES = "sharp, chamfer 0.2 mm, or radius 0.4 mm"
MOST_FOR = {"file": 0.5, "stone": 0.25, "burnish": 0.1}
"""The most metal left for handwork, mm, by the first step that takes it off; more must be in the wrong unit. Common
practice, no source: it leaves 0.1 for a file, 0.03 for a stone and 0.01 for a burnisher.
"""
TOOLS = {"file": "a file", "stone": "a stone", "burnish": "a burnisher"}
LARGEST_DETAIL = 20.0
"""The radius or leg, mm, beyond which a corner or edge must be in the wrong unit."""


def read_corner(table: Table, key: str) -> Corner:
    """Read the text of an inner corner; radius, width and depth are nan where it cannot be read."""
    text = " ".join(table.text(key, example="fillet up to 0.2 mm").split())
    kind = "nose"
    radius, width, depth = NAN, NAN, NAN
    try:
        if undercut := re.fullmatch(r"undercut (.+) wide,? (.+) deep", text, re.I):
            kind, radius = "undercut", 0.0
            width, depth = _detail(undercut[1]), _detail(undercut[2])
        elif fillet := re.fullmatch(r"fillet (up to )?(.+)", text, re.I):
            kind = "nose" if fillet[1] else "fillet"
            radius, width, depth = _detail(fillet[2]), 0.0, 0.0
        elif text:
            table.note(
                key,
                f"{key}: this corner cannot be read",
                allowed=table.example(CORNERS),
                fix="a turned inner corner is never sharp: say the largest harmless fillet, or have an undercut"
                if "sharp" in text.lower()
                else "",
            )
    except QuantityError as error:
        table.note_error(error, key)
    where = table.where_of(key)
    if kind == "undercut":
        return Corner(kind="undercut", radius=radius, width=width, depth=depth, text=text, where=where)
    return Corner(
        kind="nose" if kind == "nose" else "fillet", radius=radius, width=width, depth=depth, text=text, where=where
    )


def read_edge(table: Table, key: str) -> Edge:
    """Read the text of an outer edge; the size is nan where it cannot be read."""
    text = " ".join(table.text(key, example="chamfer 0.2 mm").split())
    where = table.where_of(key)
    if text.lower() == "sharp":
        return Edge(kind="sharp", size=0.0, text=text, where=where)
    found = re.fullmatch(r"(chamfer|radius) (.+)", text, re.I)
    size = NAN
    if found:
        try:
            size = _detail(re.sub(r" ?(x|at) ?45 ?(°|deg)$", "", found[2]))
        except QuantityError as error:
            table.note_error(error, key)
    elif text:
        table.note(key, f"{key}: this edge cannot be read", allowed=table.example(EDGES))
    rounded = found is not None and found[1].lower() == "radius"
    return Edge(kind="radius" if rounded else "chamfer", size=size, text=text, where=where)


def _detail(text: str) -> float:
    return parse(text, LENGTH, least=0.0, over=True, most=LARGEST_DETAIL)


def read_finish(table: Table) -> Finish:
    """Read the keys finish, on_diameter and on_face of a table; sizes are nan where they cannot be read."""
    text = table.text("finish", example="turn")
    route = tuple(step.strip().lower() for step in text.split(",")) if text else ()
    if text:
        _check_route(table, route)
    if len(route) > 1:
        on_diameter = _left(table, "on_diameter", "0.03 mm", route[1:])
        on_face = _left(table, "on_face", "0 mm", route[1:])
    else:
        on_diameter, on_face = (_nothing_left(table, key) for key in ("on_diameter", "on_face"))
    return Finish(
        route=route or ("turn",), on_diameter=on_diameter, on_face=on_face, text=text, where=table.where_of("finish")
    )


def _check_route(table: Table, route: tuple[str, ...]) -> None:
    allowed = '"as stock"; or "turn", and after it any of file, stone, burnish in that order'
    strange = [step for step in route if step not in ROUTES]
    if strange:
        meant = closest(strange[0], ROUTES)
        table.note(
            "finish", f'there is no step of finishing called "{strange[0]}"', allowed=allowed, fix=did_you_mean(meant)
        )
        return
    places = [ROUTES.index(step) for step in route]
    if places != sorted(set(places)) or (route != ("as stock",) and (route[0] != "turn" or "as stock" in route)):
        table.note("finish", "these steps cannot be done in this order", allowed=allowed)


def _left(table: Table, key: str, example: str, steps: Sequence[str]) -> float:
    if not table.has(key):
        why = f"what turning leaves for {steps[0]} must be said, if only as 0 mm"
        table.missing(key, f'"{example}"', why=table.example(why))
        return NAN
    left = float(read_key(table, Finish, key))
    if steps[0] in MOST_FOR:
        check_left(table, key, left, MOST_FOR[steps[0]], " and ".join(TOOLS[s] for s in steps if s in TOOLS))
    return left


def check_left(table: Table, key: str, left: float, most: float, by: str) -> None:
    """Check that metal left for handwork, mm, is no more than that can take off; by: what takes it off, in words."""
    if not left > most + AS_GIVEN:
        return
    text = str(table.raw(key))
    number = re.match(r"\s*([0-9]*\.?[0-9]+)\s*in", text)
    meant = float(number[1]) if number and float(number[1]) <= most else left / 10
    unit = "mm" if number or not is_inch(text) else "in"
    fix = f'did you mean "{show_length(meant, unit, 4, trim=True)}"?' if meant <= most else "turn it closer to size"
    own = table.source.unit
    allowed = f"at most {show_known(round_down(most, own), own)} (common practice, no source)"
    table.note(key, f"{key} is more than {by} can take off", allowed=allowed, fix=fix)


def _nothing_left(table: Table, key: str) -> float:
    if not table.has(key):
        return 0.0
    left: float = read_key(table, Finish, key)
    if left > 0:
        table.note(
            key,
            f"{key} leaves metal, and no step after turning takes it off",
            allowed=table.example("0 mm, or a finish that goes on after turn"),
            fix='add the step that takes it off: finish = "turn, stone"',
        )
    return left


def read_tolerance(table: Table, key: str) -> Tolerance | None:
    """Read limits of size; None where none are written, nan where they cannot be read."""
    if not table.has(key):
        return None
    lower, upper = table.limits(key)
    return Tolerance(lower=lower, upper=upper, text=str(table.raw(key)), where=table.where_of(key))


def read_protection(table: Table, key: str) -> Quantity:
    """Read the soft metal under a carrier's screw ("0.5 mm copper"): a thickness, and words if wanted; zero if none."""
    if not table.has(key):
        return Quantity(0.0, "", table.where)
    text = table.text(key, example="0.5 mm copper")
    where = table.where_of(key)
    found = re.fullmatch(
        r"(\S*[0-9]\S*(?: [0-9]+/[0-9]+\S*)?(?: (?:mm|um|µm|in|inch|thou|mil)\b)?)(?: [A-Za-z ,-]+)?", text.strip()
    )
    if not text:
        return Quantity(NAN, "", where)
    try:
        return Quantity(parse(found[1] if found else text, LENGTH, least=0.0, most=5.0), text, where)
    except QuantityError as error:
        table.note_error(error, key)
        return Quantity(NAN, text, where)
