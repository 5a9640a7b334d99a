"""Lengths and temperature: every length of the part is meant at 20 degrees Celsius.

Source: ISO 1, Geometrical product specifications: standard reference temperature.
"""

from __future__ import annotations

import re
from functools import lru_cache

from cam.ground.frozen import Row
from cam.ground.material_names import find_material
from cam.ground.problem import Where
from cam.ground.units import QuantityError
from cam.part.spans import Measurement, Temperature

REFERENCE = 20.0
"""Degrees Celsius. Source: ISO 1."""

COLDEST, WARMEST = -40.0, 150.0
"""Temperatures that can be meant in a workshop or a clock, degrees Celsius."""


class Expansion(Row):
    """How much a material grows.

    Attributes:
        rate: per kelvin. doubt: plus-minus limit of it, per kelvin.
    """

    rate: float
    doubt: float


@lru_cache(maxsize=1)
def expansion_table() -> dict[str, Expansion]:
    """Material -> expansion; see expansion.toml for standing and source of each row."""
    import tomllib  # noqa: PLC0415 - wanted only where a temperature is given
    from pathlib import Path  # noqa: PLC0415

    rows = tomllib.loads(Path(__file__).with_name("expansion.toml").read_text(encoding="utf-8"))["material"]
    return {
        name: Expansion(row["rate"] * 1e-6, row["doubt"] * 1e-6)
        for row in rows
        for name in (row["name"], *row.get("also", ()))
    }


def expansion_of(material: str) -> Expansion:
    """How much a material grows, by any usual name.

    Raises:
        KeyError: not in the table; a reader of files says so first.
    """
    found = find_expansion(material)
    if found is None:
        raise KeyError(material)
    return found


def find_expansion(material: str) -> Expansion | None:
    """Find a material's expansion as expansion_of does; None if it is not in the table."""
    table = expansion_table()
    name = find_material(material, table)
    return None if name is None else table[name]


def growth(length: float, rate: float, warmer: float) -> float:
    """How much longer a length becomes, mm: length * rate * warmer.

    Args:
        length: mm, cold. rate: per kelvin. warmer: kelvin, negative for colder.

    Source: definition of the coefficient of linear expansion.
    """
    return length * rate * warmer


def to_reference(length: float, rate: float, temperature: float) -> float:
    """What a length measured at a temperature (degrees Celsius) is at 20 degrees Celsius, mm."""
    return length / (1 + rate * (temperature - REFERENCE))


def at_reference(measured: Measurement) -> float:
    """The distance that was measured, brought to 20 degrees Celsius where its temperature is given, mm.

    Raises:
        ValueError: it has not been taken. KeyError: its material is not in the table.
    """
    if measured.temperature is None:
        return measured.distance
    return to_reference(measured.distance, expansion_of(measured.material).rate, measured.temperature.value)


_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_TEMPERATURE = rf"([-+]?{_NUMBER})(?:[ \t]*(?:±|\+/?-)[ \t]*({_NUMBER}))?[ \t]*(?:deg|°)?[ \t]*([CF])"


def parse_temperature(text: object, where: Where, *, doubt: bool = True) -> Temperature:
    """Read "24 ± 1 degC", "75 +/- 2 °F".

    Args:
        text: what the file holds; anything but a string is refused.
        doubt: whether the plus-minus part must be there; without, it must not, and within is 0.

    Raises:
        QuantityError: unreadable, without its limits, or a temperature that cannot be meant.
    """
    example = '"24 ± 1 degC"' if doubt else '"24 degC"'
    found = re.fullmatch(_TEMPERATURE, text.replace("\u2212", "-").strip()) if isinstance(text, str) else None
    if not found or not isinstance(text, str):
        raise QuantityError("this temperature cannot be read", f"for example {example}")
    if doubt and not found[2]:
        raise QuantityError(
            "this temperature does not say how well it is known", f"for example {example}", "add its plus-minus limits"
        )
    if found[2] and not doubt:
        raise QuantityError("this temperature is a bound, which has no plus-minus", f"for example {example}")
    value, within = float(found[1]), float(found[2] or 0)
    if found[3] == "F":
        value, within = (value - 32) / 1.8, within / 1.8  # exact: definition of the degree Fahrenheit
    if not COLDEST <= value <= WARMEST or within > WARMEST - COLDEST:
        raise QuantityError("this temperature cannot be meant", f"{COLDEST:g} degC to {WARMEST:g} degC")
    return Temperature(value, within, text, where)
