"""Materials by any usual name: trade names and the designations of standards, old and new, British, European, American.

Source: cam/ground/material_names.toml says where each name comes from; all from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from tomllib import loads


def fold(name: str) -> str:
    """Return a name without what does not matter in it: capitals, spaces, hyphens."""
    return "".join(name.casefold().replace("-", " ").split())


@lru_cache(maxsize=1)
def usual_names() -> Mapping[str, str]:
    """Return the table's name for each usual name, folded."""
    rows = loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
    return {fold(name): row["row"] for name, row in rows.items()}


def find_material(name: str, table: Iterable[str]) -> str | None:
    """Return the name of the table's row that has this usual name, or None where there is none.

    Args:
        name: as written.
        table: the names of its rows, which come before usual names of others.
    """
    rows = {fold(row): row for row in table}
    found = rows.get(fold(name))
    return found if found is not None else rows.get(fold(usual_names().get(fold(name), "")))
