"""Writes the JSON Schemas of part and shop files from the keys that are declared: `python -m tests.schemas`."""

from __future__ import annotations

from cam.ground.schema import schema_text
from cam.part import schema as part
from cam.shop import schema as shop

KEPT = {part.KEPT: part.part_schema, shop.KEPT: shop.shop_schema}
"""Where each schema is kept -> what makes it."""


def main() -> None:
    """Write them."""
    for path, make in KEPT.items():
        path.write_text(schema_text(make()), encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
