"""Writes the JSON Schemas of part and shop files from the keys that are declared: `python -m tests.schemas`."""

from __future__ import annotations

import json
from typing import Any

from cam.ground.keys import Node
from cam.part import schema as part
from cam.shop import schema as shop

KEPT = {part.KEPT: part.part_schema, shop.KEPT: shop.shop_schema}
"""Where each schema is kept -> what makes it."""


def schema_text(schema: Node) -> str:
    """Return a schema as it is kept: a line for each key, and one where a table begins and ends."""
    return _lines(schema, "\n") + "\n"


def _lines(node: Any, at: str) -> str:
    """Return the text of a node; at is the line end and margin of the keys in it."""
    if not isinstance(node, dict) or not any(_has_keys(value) for value in node.values()):
        return json.dumps(node, ensure_ascii=False)
    deeper, parts = f"{at} ", []
    for key, value in node.items():
        if key in ("properties", "$defs"):
            rows = (f"{deeper}{json.dumps(name)}: {_lines(one, deeper)}" for name, one in value.items())
            parts.append(f"{json.dumps(key)}: {{{','.join(rows)}}}")
        else:
            parts.append(f"{json.dumps(key)}: {_lines(value, at)}")
    return f"{{{', '.join(parts)}}}"


def _has_keys(node: Any) -> bool:
    """Whether a node is a table's keys, or has such in it."""
    return isinstance(node, dict) and (
        "description" in next(iter(node.values()), ()) or any(map(_has_keys, node.values()))
    )


def main() -> None:
    """Write them."""
    for path, make in KEPT.items():
        path.write_text(schema_text(make()), encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
