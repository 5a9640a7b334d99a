"""The JSON Schema of a shop file."""

from __future__ import annotations

from pathlib import Path

from cam.ground.keys import Node
from cam.ground.schema import schema_of
from cam.shop.model import Shop

KEPT = Path(__file__).resolve().with_name("shop.schema.json")
"""Where it is kept for editors; `python -m tests.schemas` writes it."""


def shop_schema() -> Node:
    """Return the schema, from the keys that are declared."""
    about = "The lathe, its centres, carriers, chucks and tools, the mill, and materials of one's own."
    return schema_of(Shop, "Shop file", f"{about} Every quantity is text with its unit.", {})
