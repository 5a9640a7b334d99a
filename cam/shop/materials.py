"""The material table: built-in rows, and the user's own."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from cam.problem import Problem
from cam.shop.model import Material
from cam.source import Table, read_source
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
    problems: list[Problem] = []
    root = Table(read_source(str(BUILT_IN)), problems)
    rows = [read_material(table) for table in root.tables("material")]
    assert not problems, problems
    return {row.name: row for row in rows}
