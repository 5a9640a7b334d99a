"""The material table: built-in rows, and the user's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from tomllib import loads
from typing import Any

from cam.ground.keys import read_as
from cam.ground.material_names import find_material, fold
from cam.ground.source import Table
from cam.ground.units import MM_PER_FOOT
from cam.shop.model import Material, SpeedRange

BUILT_IN = Path(__file__).with_name("materials.toml")
TOOL_MATERIALS = ("HSS", "carbide")


class Materials(Mapping[str, Material]):
    """Rows by name, found by any usual name; of several rows with one name, the last counts."""

    def __init__(self, rows: Iterable[Material]) -> None:
        self._rows = {row.name: row for row in {fold(row.name): row for row in rows}.values()}

    def __getitem__(self, name: str) -> Material:
        row = self._rows.get(name)
        if row is not None:
            return row
        found = find_material(name, self._rows)
        if found is None:
            raise KeyError(name)
        return self._rows[found]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)


def read_material(table: Table) -> Material:
    """Read one row; problems are noted in the table."""
    return read_as(table, Material, speed={tool: _read_range(table.table(tool.lower())) for tool in TOOL_MATERIALS})


def _read_range(table: Table) -> tuple[float, float]:
    speed = read_as(table, SpeedRange)
    if speed.least > speed.most:
        table.note("least", f"the least speed in {table.title} is above the most", fix="write the slower one as least")
    return float(speed.least), float(speed.most)


@lru_cache(maxsize=1)
def built_in_materials() -> dict[str, Material]:
    """Return the table that comes with the program, by name."""
    data = loads(BUILT_IN.read_text(encoding="utf-8"))
    rows: dict[str, dict[str, list[dict[str, Any]]]] = {}
    for kind in ("speed", "force", "bulk"):
        for row in data[kind]:
            figure = f"speed {row['tool']}" if kind == "speed" else kind
            rows.setdefault(row["material"], {}).setdefault(figure, []).append(row)
    return {name: _built_in(name, own) for name, own in rows.items()}


def _built_in(name: str, rows: dict[str, list[dict[str, Any]]]) -> Material:
    (force,), (bulk,) = rows["force"], rows["bulk"]
    said = tuple((figure, row["standing"], row["source"]) for figure, own in rows.items() for row in own)
    return Material(
        name=name, speed={tool: _widest([_metres(row) for row in rows[f"speed {tool}"]]) for tool in TOOL_MATERIALS},
        kc11=force["kc11"], mc=force["mc"], modulus=bulk["modulus"],
        source="; ".join(f"{figure}: {source} ({standing})" for figure, standing, source in said),
        density=bulk["density"], expansion=1e-6 * bulk["expansion"], spread=(force["range"][0], force["range"][1]),
        standings=said,
    )  # fmt: skip


def _widest(ranges: list[tuple[float, float]]) -> tuple[float, float]:
    """Return the range from the least of several ranges to the most."""
    return min(least for least, _ in ranges), max(most for _, most in ranges)


def _metres(row: dict[str, Any]) -> tuple[float, float]:
    """Return a range of cutting speeds, m/min."""
    ratio = MM_PER_FOOT / 1000 if row["unit"] == "ft/min" else 1.0
    least, most = row["range"]
    return ratio * least, ratio * most
