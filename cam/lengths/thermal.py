"""Lengths and temperature: every length of the part is given for 20 degrees Celsius.

Source: ISO 1, Geometrical product specifications: standard reference temperature.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path

from cam.ground.frozen import Row
from cam.ground.material_names import find_material
from cam.part.spans import Measurement

REFERENCE = 20.0
"""The reference temperature, degrees Celsius. Source: ISO 1."""


class Expansion(Row):
    """How much a material grows when it is warmed.

    Attributes:
        rate: per kelvin.
        doubt: plus-minus limit of the rate, per kelvin.
    """

    rate: float
    doubt: float


@lru_cache(maxsize=1)
def expansion_table() -> dict[str, Expansion]:
    """Return material -> expansion; see expansion.toml for standing and source of each row."""
    rows = tomllib.loads(Path(__file__).with_name("expansion.toml").read_text(encoding="utf-8"))["material"]
    return {
        name: Expansion(row["rate"] * 1e-6, row["doubt"] * 1e-6)
        for row in rows
        for name in (row["name"], *row.get("also", ()))
    }


def expansion_of(material: str) -> Expansion:
    """Return how much a material grows, by any usual name.

    Raises:
        KeyError: it is not in the table; a reader of files says so first.
    """
    found = find_expansion(material)
    if found is None:
        raise KeyError(material)
    return found


def find_expansion(material: str) -> Expansion | None:
    """Find a material's expansion as `expansion_of` does; None if it is not in the table."""
    table = expansion_table()
    name = find_material(material, table)
    return None if name is None else table[name]


def growth(length: float, rate: float, warmer: float) -> float:
    """Return how much longer a length becomes, mm: length * rate * warmer.

    Args:
        length: mm, cold.
        rate: per kelvin.
        warmer: kelvin; negative for colder.

    Source: definition of the coefficient of linear expansion.
    """
    return length * rate * warmer


def to_reference(length: float, rate: float, temperature: float) -> float:
    """Return what a length measured at a temperature (degrees Celsius) is at 20 degrees Celsius, mm."""
    return length / (1 + rate * (temperature - REFERENCE))


def at_reference(measured: Measurement) -> float:
    """Return the distance that was measured, brought to 20 degrees Celsius where its temperature is given, mm.

    Raises:
        ValueError: it has not been taken.
        KeyError: its material is not in the table.
    """
    if measured.temperature is None:
        return measured.distance
    return to_reference(measured.distance, expansion_of(measured.material).rate, measured.temperature.value)
