"""The JSON Schema of a part file."""

from __future__ import annotations

from pathlib import Path

from cam.ground.keys import Node
from cam.ground.schema import schema_of
from cam.part.model import Part

KEPT = Path(__file__).resolve().with_name("part.schema.json")
"""Where it is kept for editors; `python -m tests.schemas` writes it."""


def _said(pattern: str, *examples: str, least: int, most: int = 200) -> Node:
    """Return the form of a text of so many characters."""
    return {"type": "string", "minLength": least, "maxLength": most, "pattern": pattern, "examples": list(examples)}


def _any_case(*words: str) -> str:
    """Return a pattern of one of some words, in capitals or small."""
    return "|".join("".join(f"[{c.upper()}{c.lower()}]" if c.isalpha() else c for c in word) for word in words)


FORMS = {
    "corner": _said(rf"^\s*({_any_case('fillet', 'undercut')})\s", "fillet up to 0.2 mm", "fillet 0.5 mm",
                    "undercut 1 mm wide 0.2 mm deep", least=8),
    "edge": _said(rf"^\s*({_any_case('sharp')}\s*$|({_any_case('chamfer', 'radius')})\s)", "sharp", "chamfer 0.2 mm",
                  "radius 0.4 mm", least=5),
    "finish": _said(rf"^\s*({_any_case('as stock', 'turn')})", "turn", "as stock", "turn, stone, burnish",
                    "turn, file, stone, burnish", least=4),
    "uncertainty": _said(r'^\s*(±|\+\s*/\s*-).*[0-9].*[A-Za-zµμ"″”]\s*$', "±0.02 mm", "±1 thou", least=4, most=60),
    "temperature": _said(r"[0-9].*[CF]\s*$", "24 ± 1 degC", "75 +/- 2 °F", least=3, most=60),
}  # fmt: skip
"""The forms of values that part files alone have, by name."""


def part_schema() -> Node:
    """Return the schema, from the keys that are declared."""
    about = "A stepped arbor: its sections in order from the A end, the bar it is made from, and how it is held."
    return schema_of(Part, "Part file", f"{about} Every quantity is text with its unit.", FORMS)
