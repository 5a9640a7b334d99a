"""A commented part file to begin from."""

from __future__ import annotations

from pathlib import Path

from cam.part.schema import KEPT

MOST_NAME = 200
_ESCAPES = {"\\": "\\\\", '"': '\\"'}


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
    text = template.replace("NAME", toml_text(" ".join(name.split())[:MOST_NAME].strip() or "new part"), 1)
    if shop:
        text = text.replace('shop = "samples/shop.toml"', f'shop = "{toml_text(shop)}"', 1)
    return f"#:schema {KEPT.as_uri()}\n{text}"


def toml_text(text: str) -> str:
    """Return a text as it stands between a TOML string's quotes; what UTF-8 cannot hold becomes a question mark."""
    plain = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(_ESCAPES.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in plain)
