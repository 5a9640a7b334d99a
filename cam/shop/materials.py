"""The material table: built-in rows, and the user's own."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from tomllib import loads
from typing import Any

from cam.shop.model import Material
from cam.source import Table
from cam.units import CUTTING_SPEED, STRESS

BUILT_IN = Path(__file__).with_name("materials.toml")
TOOL_MATERIALS = ("HSS", "carbide")


def read_material(table: Table) -> Material:
    """One row; problems are noted in the table."""
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
        table.note("least", f"the least speed in {table.title} is above the most", mend="write the slower one as least")
    return float(least), float(most)


@lru_cache(maxsize=1)
def built_in_materials() -> dict[str, Material]:
    """The table that comes with the program, by name."""
    data = loads(BUILT_IN.read_text(encoding="utf-8"))
    rows: dict[str, dict[str, dict[str, Any]]] = {}
    for row in data["speed"]:
        rows.setdefault(row["material"], {})[f"speed {row['tool']}"] = row
    for kind in ("force", "bulk"):
        for row in data[kind]:
            rows[row["material"]][kind] = row
    return {name: _built_in(name, row) for name, row in rows.items()}


def _built_in(name: str, rows: dict[str, dict[str, Any]]) -> Material:
    force, bulk = rows["force"], rows["bulk"]
    return Material(
        name=name,
        speed={tool: _metres(rows[f"speed {tool}"]) for tool in TOOL_MATERIALS},
        kc11=force["kc11"],
        mc=force["mc"],
        modulus=bulk["modulus"],
        source="; ".join(f"{figure}: {row['source']} ({row['standing']})" for figure, row in rows.items()),
        density=bulk["density"],
        expansion=1e-6 * bulk["expansion"],
        spread=(force["range"][0], force["range"][1]),
        standings=tuple((figure, row["standing"], row["source"]) for figure, row in rows.items()),
    )


def _metres(row: dict[str, Any]) -> tuple[float, float]:
    """A range of cutting speeds, m/min."""
    ratio = 0.3048 if row["unit"] == "ft/min" else 1.0
    least, most = row["range"]
    return ratio * least, ratio * most
