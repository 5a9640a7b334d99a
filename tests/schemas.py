"""Writes the JSON Schemas of part and shop files from the keys that are declared: `python -m tests.schemas`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cam.ground.schema import schema_text
from cam.part import schema as part
from cam.shop import schema as shop

KEPT = {part.KEPT: part.part_schema, shop.KEPT: shop.shop_schema}
"""Where each schema is kept -> what makes it."""


def keys_in(node: dict[str, Any], place: str = "") -> dict[str, set[str]]:
    """Return the keys of a table and of all tables in it, by place, "lathe.x"."""
    found = {place: set(node["properties"])}
    for key, value in node["properties"].items():
        whole = next((one for one in (value, *value.get("oneOf", ())) if "items" in one or "properties" in one), {})
        table = whole.get("items", whole)
        if "properties" in table:
            found |= keys_in(table, f"{place}.{key}".lstrip("."))
    return found


def described(node: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every key of a table and of all tables in it, with its node."""
    for key, value in node.get("properties", {}).items():
        yield key, value
        for inner in (value, value.get("items", {}), *(one.get("items", {}) for one in value.get("oneOf", ()))):
            yield from described(inner)


def main() -> None:
    """Write them."""
    for path, make in KEPT.items():
        path.write_text(schema_text(make()), encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
