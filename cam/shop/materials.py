"""The material table: built-in rows, and the user's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from tomllib import loads
from typing import Any

from cam.ground.material_names import find_material, fold
from cam.ground.source import Table
from cam.ground.units import CUTTING_SPEED, MM_PER_FOOT, STRESS
from cam.shop.model import Material

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
    return Material(
        name=table.text("name", example="silver steel"),
        speed={tool: _read_range(table.table(tool.lower())) for tool in TOOL_MATERIALS},
        kc11=table.quantity("kc11", STRESS, over=True, example="2150 N/mm2"),
        mc=table.number("mc", least=0.0, most=0.9),
        modulus=table.quantity("modulus", STRESS, over=True, example="210 GPa"),
        source=table.text("source", most=400, example="where the figures come from"),
        density=table.number("density", least=0.5, most=25.0, default=0.0),
        expansion=1e-6 * table.number("expansion", least=0.0, most=100.0, default=0.0),
    )


def _read_range(table: Table) -> tuple[float, float]:
    least = table.quantity("least", CUTTING_SPEED, over=True, example="21 m/min")
    most = table.quantity("most", CUTTING_SPEED, over=True, example="38 m/min")
    if least > most:
        table.note("least", f"the least speed in {table.title} is above the most", fix="write the slower one as least")
    return float(least), float(most)


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
        name=name,
        speed={tool: _widest([_metres(row) for row in rows[f"speed {tool}"]]) for tool in TOOL_MATERIALS},
        kc11=force["kc11"],
        mc=force["mc"],
        modulus=bulk["modulus"],
        source="; ".join(f"{figure}: {source} ({standing})" for figure, standing, source in said),
        density=bulk["density"],
        expansion=1e-6 * bulk["expansion"],
        spread=(force["range"][0], force["range"][1]),
        standings=said,
    )


def _widest(ranges: list[tuple[float, float]]) -> tuple[float, float]:
    """Return the range from the least of several ranges to the most."""
    return min(least for least, _ in ranges), max(most for _, most in ranges)


def _metres(row: dict[str, Any]) -> tuple[float, float]:
    """Return a range of cutting speeds, m/min."""
    ratio = MM_PER_FOOT / 1000 if row["unit"] == "ft/min" else 1.0
    least, most = row["range"]
    return ratio * least, ratio * most
