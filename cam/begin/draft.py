"""A part file in the making, and its text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.source.table import OPEN
from cam.part.starter import toml_value

THIS = Where(path="this answer")
"""Where a problem is while no file is written yet, so that its lines would say nothing."""
WIDE = 36
"""The column at which comments begin."""

Keys = dict[str, Any]
"""The keys of one table: texts, and true or false. None leaves the key out."""


@frozen
class FileDraft:
    """What is to stand in a part file.

    Attributes:
        head: name, shop, and what is said once for all sections.
        stock, holding: as in the part file.
        ends: "end_a", "end_b" -> keys; none in a collet or chuck.
        sections: in order from the A end; a table inside one (square) is a dict.
        cross_holes: one for each.
        remarks: (table, key) -> what is said beside it: what may stand where it is open; at the head (""), always.
        drawing: name of the drawing from which it comes; "" for none.
    """

    head: Keys
    stock: Keys
    holding: Keys
    ends: Mapping[str, Keys]
    sections: tuple[Keys, ...]
    cross_holes: tuple[Keys, ...]
    remarks: Mapping[tuple[str, str], str]
    drawing: str = ""


def draft_text(draft: FileDraft, schema: str) -> str:
    """Return the text of the part file, TOML.

    Args:
        schema: where the JSON Schema is, for an editor: relative to the part file, or a URI.
    """
    lines = [f"#:schema {schema}"]
    if draft.drawing:
        lines.append(f"# Sections from the drawing {_one_line(draft.drawing)}. Give them names of your own.")
    if any(OPEN in keys.values() for keys in _tables(draft)):
        lines.append('# A "?" is still to be said; endshake check lists every one.')
    lines += _rows(draft, "", draft.head)
    lines += ["", "[stock]", *_rows(draft, "stock", draft.stock)]
    lines += ["", "[holding]", *_rows(draft, "holding", draft.holding)]
    for end, keys in draft.ends.items():
        lines += ["", f"[holding.{end}]", *_rows(draft, "end", keys)]
    for section in draft.sections:
        lines += ["", "[[section]]", *_rows(draft, "section", section)]
        lines += [row for key, inner in section.items() if isinstance(inner, dict)
                  for row in ("", f"[section.{key}]", *_rows(draft, key, inner))]  # fmt: skip
    for hole in draft.cross_holes:
        lines += ["", "[[cross_hole]]", *_rows(draft, "cross_hole", hole)]
    return "\n".join(lines) + "\n"


def open_keys(draft: FileDraft) -> dict[str, int]:
    """Return key -> the number of tables in which it is still to be said, in the order of the file."""
    found: dict[str, int] = {}
    for keys in _tables(draft):
        for key, value in keys.items():
            if value == OPEN:
                found[key] = found.get(key, 0) + 1
    return found


def _tables(draft: FileDraft) -> Iterator[Keys]:
    yield from (draft.head, draft.stock, draft.holding, *draft.ends.values(), *draft.sections, *draft.cross_holes)


def _rows(draft: FileDraft, table: str, keys: Keys) -> list[str]:
    rows = []
    for key, value in keys.items():
        if value is None or isinstance(value, dict):
            continue
        row = f"{key} = {toml_value(value)}"
        remark = draft.remarks.get((table, key), "") if value == OPEN or not table else ""
        rows.append(f"{row:<{WIDE - 1}} # {_one_line(remark)}" if remark else row)
    return rows


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)
