"""Makes the draft of a part file from what was said, and from a drawing if there is one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cam.begin.answers import SaidOfPart
from cam.begin.draft import THIS, FileDraft, Keys, draft_text
from cam.begin.phrases import join_steps, read_hole, read_section, read_square, with_unit, with_units
from cam.dxf.faithful import strays
from cam.dxf.order import put_in_order
from cam.dxf.read import read_sketch
from cam.dxf.sections import find_sections
from cam.ground.problem import Problem, ProblemError, refusal
from cam.ground.source import parse_source
from cam.ground.source.table import OPEN
from cam.ground.units import MM_PER_INCH
from cam.lengths import part_of
from cam.part.features import BEARING_ROLES, ROLES
from cam.shop.model import Shop

if TYPE_CHECKING:
    from cam.dxf.read import Unit
    from cam.dxf.sections import Detail, Found

FAITHFUL = 1e-4
"""How far the sections may stray from the drawing without a note, mm."""
DIGITS = {"mm": 7, "in": 9}
"""How many decimals of a drawing's numbers are kept: they keep it to under 0.1 nm, so that the part is the drawing."""


def compose(said: SaidOfPart, shop: Shop | None, shop_path: str) -> tuple[FileDraft, tuple[str, ...]]:
    """Draft the part file.

    Args:
        said: every question answered; with a drawing, what is not said is left open.
        shop: None where no shop file is named, as a drawing allows.
        shop_path: path of the shop file as the part file is to name it; "" for none.

    Returns:
        The draft, and what was derived or left out, one sentence each.

    Raises:
        ProblemError: the drawing cannot be used, or does not agree with what was said.
    """
    notes: list[str] = []
    unit = said.unit
    if said.drawing:
        sections, unit = _drawn_sections(said, notes)
    else:
        sections = [read_section(text, unit, drawn=False)[0] for text in said.sections]
    _finish_bearings(said, sections)
    if said.square:
        _place_square(said, sections)
    holding, ends = _hold(said, shop, notes)
    draft = FileDraft(
        head=_head(said, shop_path, sections),
        stock={
            "material": said.material or OPEN,
            "diameter": _length(said, said.stock_diameter),
            "length": _length(said, said.stock_length),
        },
        holding=holding, ends=ends, sections=tuple(sections),
        cross_holes=tuple(read_hole(text, said.unit)[0] for text in said.cross_holes), remarks=REMARKS,
        drawing=Path(said.drawing).name if said.drawing else "",
    )  # fmt: skip
    return draft, tuple(notes)


REMARKS = {
    ("", "shop"): "the shop file; the path is taken from this file's own folder",
    ("", "corners"): "every inner corner, unless a section says otherwise",
    ("", "edges"): "every outer edge, unless a section says otherwise",
    ("", "finish"): "every section, unless it says otherwise",
    ("stock", "material"): "a row of the material table",
    ("stock", "diameter"): "of the bar as bought",
    ("stock", "length"): "as sawn",
    ("holding", "method"): "between centres, collet, or chuck",
    ("end", "tail_centre"): "a centre of the shop file",
    ("end", "extra_length"): "beyond the finished end, cut off after turning",
    ("section", "role"): ", ".join(ROLES),
    ("section", "tolerance"): "or left out, where the size is aimed at as it stands",
    ("section", "corner_a"): "drawn sharp; what may the tool leave? fillet up to ..., undercut ...",
    ("section", "corner_b"): "drawn sharp; what may the tool leave? fillet up to ..., undercut ...",
}
"""What may be said where something is open, and what a key means."""


def _head(said: SaidOfPart, shop_path: str, sections: list[Keys]) -> Keys:
    return {
        "name": said.name,
        "shop": shop_path or OPEN,
        "length": with_unit(said.length, said.unit) or None,
        "corners": with_units(said.corners, said.unit) or None,
        "edges": with_units(said.edges, said.unit) or None if not said.drawing else None,
        "finish": join_steps(said.finish) or (OPEN if any("finish" not in s for s in sections) else None),
        **_left(said, join_steps(said.finish)),
    }


def _length(said: SaidOfPart, text: str) -> str:
    """Return a length as the file has it; open where it was not said."""
    return with_unit(text, said.unit) or OPEN


def _left(said: SaidOfPart, finish: str) -> Keys:
    """Return what turning leaves for the rest of a finish; nothing where it is the last step."""
    if len(finish.split(", ")) < 2:
        return {}
    return {"on_diameter": _length(said, said.leave), "on_face": _length(said, said.leave_face)}


def _finish_bearings(said: SaidOfPart, sections: list[Keys]) -> None:
    """Write finish and what turning leaves, where a section or its role asks for more than the whole part does."""
    for keys in sections:
        if said.bearing_finish and keys["role"] in BEARING_ROLES and "finish" not in keys:
            keys["finish"] = join_steps(said.bearing_finish)
        for key, value in _left(said, str(keys.get("finish", ""))).items():
            keys.setdefault(key, value)
        if keys.get("finish", said.finish) == "as stock":
            if keys.get("tolerance") == OPEN:  # bar as bought can hold no limits
                del keys["tolerance"]
        elif said.tolerance and keys.get("tolerance", OPEN) == OPEN:
            keys["tolerance"] = with_unit(said.tolerance, said.unit)


def _place_square(said: SaidOfPart, sections: list[Keys]) -> None:
    blanks = [keys for keys in sections if keys["role"] == "square blank"]
    if len(blanks) != 1:
        given = ", ".join(f"{keys['name']} is a {keys['role']}" for keys in sections)
        what = "a square wants one section of the role square blank"
        raise refusal("--square", what, given=given)
    blanks[0]["square"] = read_square(said.square, said.unit)[0]


def _hold(said: SaidOfPart, shop: Shop | None, notes: list[str]) -> tuple[Keys, dict[str, Keys]]:
    if said.holding in ("collet", "chuck"):
        fitting = [c.name for c in shop.chucks if c.kind == said.holding] if shop is not None else []
        return {
            "method": said.holding,
            "chuck": _only(said.chuck, fitting, f"holds it: the only {said.holding}", notes),
            "free_end": said.free_end or OPEN,
            "stick_out": _length(said, said.stick_out),
            "facing": _length(said, said.facing),
            "part_off": said.part_off or None,
        }, {}
    if said.holding != "between centres":
        return {"method": OPEN}, {}
    centres = [c.name for c in shop.centres] if shop is not None else []
    end: Keys = {
        "tail_centre": _only(said.tail_centre, centres, "stands at the tailstock: the only one", notes),
        "extra_length": _length(said, said.extra_length),
    }
    notes.append("carrier and what it grips are chosen by rule, and the summary says which")
    return {"method": said.holding}, {"end_a": dict(end), "end_b": dict(end)}


def _only(said: str, names: Sequence[str], what: str, notes: list[str]) -> str:
    """Return what was said, or else the only one of the shop file, which is noted; open where neither is there."""
    if said or len(names) != 1:
        return said or OPEN
    notes.append(f"{names[0]} {what} of the shop file")
    return names[0]


def breaks_part(before: SaidOfPart, after: SaidOfPart, shop: Shop | None) -> list[Problem]:
    """Report what an answer makes wrong with the part that was not wrong before; what is still open does not count."""
    old, new = (_wrong(said, shop) for said in (before, after))
    return sorted(new - old)


def _wrong(said: SaidOfPart, shop: Shop | None) -> frozenset[Problem]:
    try:
        part_of(parse_source(draft_text(compose(said, shop, "")[0], "").encode(), "this"))
    except ProblemError as found:
        return frozenset(
            replace(p, where=THIS, allowed=re.sub(r", line [0-9]+\b", "", p.allowed))
            for p in found.problems
            if not p.lacks
        )
    return frozenset()


# From a drawing ---------------------------------------------------------------------------------------


def _drawn_sections(said: SaidOfPart, notes: list[str]) -> tuple[list[Keys], str]:
    units: dict[str, Unit] = {"mm": "mm", "in": "in"}
    sketch = read_sketch(said.drawing, units=units.get(said.unit), layer=said.layer or None)
    chain, closed = put_in_order(sketch)
    notes += [*sketch.notes, *closed]
    found = find_sections(sketch, chain)
    distance, place = strays(found, chain)
    if distance > FAITHFUL:
        there = f"z {_number(place.z, sketch.unit)}, radius {_number(place.x, sketch.unit)}"
        notes.append(f"the sections stray from the drawing by up to {_number(distance, sketch.unit)}, at {there}")
    given = [read_section(text, said.unit, drawn=True)[0] for text in said.sections]
    if given and len(given) != len(found):
        what = f"the drawing has {len(found)} sections, and {len(given)} are named"
        there = "; ".join(f"{_size(f, sketch.unit)} long {_number(f.length, sketch.unit)}" for f in found)
        raise refusal("--section", what, given=f"in order: {there}")
    rows = [_drawn(f, sketch.unit, said) for f in found]
    _mark_held(said, rows)
    for at, keys in enumerate(given):
        rows[at] |= keys
    return rows, sketch.unit


def _size(found: Found, unit: str) -> str:
    sizes = [_number(size, unit) for size in (found.diameter_a, found.diameter_b)]
    return sizes[0] if sizes[0] == sizes[1] else " to ".join(sizes)


def _drawn(found: Found, unit: str, said: SaidOfPart) -> Keys:
    size_a, size_b = (_number(size, unit) for size in (found.diameter_a, found.diameter_b))
    sizes: dict[str, Any] = {"diameter": size_a} if size_a == size_b else {"diameter_a": size_a, "diameter_b": size_b}
    return {
        "name": found.name,
        "role": OPEN,
        **sizes,
        "tolerance": OPEN,
        "length": _number(found.length, unit),
        "edge_a": _detail(found.edge_a, unit),
        "edge_b": _detail(found.edge_b, unit),
        "corner_a": _corner(found.corner_a, unit, said),
        "corner_b": _corner(found.corner_b, unit, said),
    }


def _mark_held(said: SaidOfPart, rows: list[Keys]) -> None:
    """Leave out the edge of the end inside a collet or chuck, which is not turned and has none of its own."""
    if said.holding in ("collet", "chuck") and said.free_end in ("A", "B"):
        row, key = (rows[-1], "edge_b") if said.free_end == "A" else (rows[0], "edge_a")
        row[key] = None


def _corner(detail: Detail, unit: str, said: SaidOfPart) -> str | None:
    """Return a corner's text; one drawn sharp cannot be turned: what was said of corners applies, or it stays open."""
    if detail[0] == "sharp":
        return None if said.corners else OPEN
    return _detail(detail, unit)


def _detail(detail: Detail, unit: str) -> str | None:
    """Return a corner or edge in the part file's words, or None where there is none."""
    kind, size, depth = detail
    if kind == "undercut":
        return f"undercut {_number(size, unit)} wide {_number(depth, unit)} deep"
    if kind == "sharp":
        return kind
    return f"{kind} {_number(size, unit)}" if kind else None


def _number(value: float, unit: str) -> str:
    """Write a length with as many decimals as the drawing can mean."""
    size = value / MM_PER_INCH if unit == "in" else value
    return f"{f'{size:.{DIGITS[unit]}f}'.rstrip('0').rstrip('.')} {unit}"
