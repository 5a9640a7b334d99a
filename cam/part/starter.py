"""A commented part file to begin from: the template's values, each key with what its declaration says it is for."""

from __future__ import annotations

import re
from pathlib import Path
from textwrap import wrap
from typing import Any

from cam.ground.keys import Node
from cam.ground.schema import node_at, said_of
from cam.part.schema import KEPT, part_schema

MOST_NAME = 200
WIDE, MOST_BESIDE, MOST_WIDE = 38, 72, 120
"""The column at which the words on a key stand, that beyond which they stand below it, and the width of a line."""
_ESCAPES = {"\\": "\\\\", '"': '\\"'}
_HEAD = re.compile(r"(?:# )?\[\[?([a-z_.]+)\]")
_ROW = re.compile(r"(?:# )?([a-z_]+) = [^#]+(#?)")


def starter_text(name: str, shop: str = "") -> str:
    """Return the starter part file with a name of its own.

    Args:
        name: the name of the part; any text. An empty one becomes "new part", several lines become one, and what is
            beyond 200 characters is left out, as the reader takes no more.
        shop: the shop file as seen from the part file's folder; "" keeps the template's.

    Returns:
        TOML that `read_part` takes as it stands. Its first line tells an editor where the schema is, so that the editor
        completes and checks the keys.
    """
    template = (Path(__file__).resolve().parents[2] / "templates" / "new-part.toml").read_text(encoding="utf-8")
    if shop:
        template = template.replace('shop = "samples/shop.toml"', f'shop = "{toml_text(shop)}"', 1)
    text = template.replace("NAME", toml_text(" ".join(name.split())[:MOST_NAME].strip() or "new part"), 1)
    return f"#:schema {KEPT.as_uri()}\n{_explained(text)}"


def _explained(template: str) -> str:
    """Return the template with every key explained where it first stands, and below its table the keys not shown."""
    schema, place = part_schema(), ""
    told: set[tuple[str, str]] = set()
    lines: list[str] = []
    rows = False
    for line in [*template.splitlines(), ""]:
        head, row = _HEAD.match(line), _ROW.fullmatch(line) or _ROW.match(line)
        keys = node_at(schema, place)["properties"]
        if row:
            lines += _told_row(line, row, place, keys, told)
            rows = True
            continue
        if rows and (head or not line):
            lines += _others(keys, place, told)
            rows = False
        place = head[1] if head else place
        lines.append(line)
    return "\n".join(lines)


def _told_row(line: str, row: re.Match[str], place: str, keys: Node, told: set[tuple[str, str]]) -> list[str]:
    """Return a line with the words on its key where that is new and has none in the template."""
    key = row[1]
    new = key in keys and (place, key) not in told
    told.add((place, key))
    return _row(line, said_of(keys[key])) if new and not row[2] else [line]


def _row(line: str, words: str) -> list[str]:
    """Return a line of the file with the words on its key beside it, and below where they are long."""
    mark = "# " if line.startswith("#") else ""
    margin = f"{mark}{'':{WIDE - len(mark)}}# "
    first = max(len(line) + 2, WIDE)
    rows = wrap(words, MOST_WIDE - first - 2) if first < MOST_BESIDE else []
    rest = wrap(" ".join(rows[1:]) if rows else words, MOST_WIDE - WIDE - 2)
    return [f"{line:<{first}}# {rows[0]}" if rows else line, *(margin + row for row in rest)]


def _others(keys: Node, place: str, told: set[tuple[str, str]]) -> list[str]:
    """Return comments on the keys of a table that the template does not show; each is said once."""
    found = [key for key, node in keys.items() if (place, key) not in told and not _is_table(node)]
    told |= {(place, key) for key in found}
    lines: list[str] = []
    for key in found:
        first, *more = wrap(f"{key}: {said_of(keys[key])}", MOST_WIDE - 6)
        lines += [f"#     {first}", *(f"#         {row}" for row in wrap(" ".join(more), MOST_WIDE - 10))]
    return lines


def _is_table(node: Node) -> bool:
    return "properties" in node or "properties" in node.get("items", {})


def toml_text(text: str) -> str:
    """Return a text as it stands between a TOML string's quotes; what UTF-8 cannot hold becomes a question mark."""
    plain = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(_ESCAPES.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in plain)


def toml_value(value: Any) -> str:
    """Return a value as it stands in a TOML file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list):
        return f"[{', '.join(toml_value(one) for one in value)}]"
    if isinstance(value, dict):
        keys = (k if re.fullmatch(r"[A-Za-z0-9_-]+", k) else f'"{k}"' for k in value)
        return "{ " + ", ".join(f"{k} = {toml_value(v)}" for k, v in zip(keys, value.values(), strict=True)) + " }"
    return f'"{toml_text(str(value))}"'
