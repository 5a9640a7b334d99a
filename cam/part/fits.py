"""Limits of size by their symbols: "H7", "f7", "H7/g6".

Source: ISO 286-1 (limits and fits), tables of standard tolerances and fundamental deviations; the figures and
their standing are in iso286.toml.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from cam.ground.frozen import Row
from cam.ground.units import QuantityError

MOST_SIZE = 120.0
"""The largest nominal size in the table, mm."""

_SYMBOL = r"([A-Za-z]{1,2})[ \t]*([0-9]{1,2})"


class SizeLimits(Row):
    """The limits that a symbol gives at a nominal size.

    Attributes:
        symbol: for example "H7".
        lower, upper: offsets from the nominal size, mm.
    """

    symbol: str
    lower: float
    upper: float

    @property
    def is_hole(self) -> bool:
        """Whether a symbol is that of a hole: holes have capital letters, shafts small ones."""
        return self.symbol[0].isupper()


class Fit(Row):
    """A hole and a shaft that have one nominal size.

    Attributes:
        hole, shaft: their limits.
        least, most: clearance on the diameter, mm; negative where they grip.
    """

    hole: SizeLimits
    shaft: SizeLimits

    @property
    def least(self) -> float:
        """Return the smallest hole less the largest shaft, mm."""
        return self.hole.lower - self.shaft.upper

    @property
    def most(self) -> float:
        """Return the largest hole less the smallest shaft, mm."""
        return self.hole.upper - self.shaft.lower


def size_limits(symbol: str, nominal: float) -> SizeLimits:
    """Return the limits that a symbol gives at a nominal size.

    Args:
        symbol: for example "H7" or "js6".
        nominal: mm; over 0, up to MOST_SIZE. A size at the end of a step of the table belongs to that step.

    Raises:
        QuantityError: the letter or grade is unknown, or the size is beyond the table.
    """
    found = re.fullmatch(_SYMBOL, symbol.strip())
    table = _table()
    letters = sorted({*table["clearance"], *table["grip"], "js"})
    allowed = (
        f"holes {', '.join(sorted({*(k.upper() for k in table['clearance']), 'JS'}))}, "
        f"shafts {', '.join(letters)}, grades {', '.join(table['grades'])}"
    )
    if not found:
        raise QuantityError("this is no symbol of limits of size", allowed, 'for example "H7"')
    letter, grade = found[1], found[2]
    if not (letter.isupper() or letter.islower()) or not _known(letter, table) or grade not in table["grades"]:
        raise QuantityError(f"the limits of {letter}{grade} are not in the table", allowed, "give limits of size")
    if not 0 < nominal <= table["steps"][-1]:
        raise QuantityError("this nominal size is beyond the table", f"up to {MOST_SIZE:g} mm", "give limits of size")
    step = next(at for at, size in enumerate(table["steps"]) if nominal <= size)
    lower, upper = _offsets(letter, int(grade), step, table)
    return SizeLimits(f"{letter}{grade}", lower / 1000, upper / 1000)


def read_fit(text: str, nominal: float) -> Fit:
    """Return the limits of a fit, "H7/f7", at a nominal size, mm.

    Raises:
        QuantityError: these are not the symbols of a hole and a shaft, or they are not in the table.
    """
    hole, stroke, shaft = text.partition("/")
    if not stroke:
        raise QuantityError("a fit names a hole and a shaft", 'two symbols and a stroke, for example "H7/f7"')
    fit = Fit(size_limits(hole, nominal), size_limits(shaft, nominal))
    if not fit.hole.is_hole or fit.shaft.is_hole:
        raise QuantityError("a fit names the hole first, in capitals, then the shaft", 'for example "H7/f7"')
    return fit


def _known(letter: str, table: dict[str, Any]) -> bool:
    """Whether the table has the letter; holes that grip follow rules of their own (ISO 286-1) and are not in it."""
    small = letter.lower()
    return small == "js" or small in table["clearance"] or (letter.islower() and small in table["grip"])


def _offsets(letter: str, grade: int, step: int, table: dict[str, Any]) -> tuple[float, float]:
    """Return the lower and the upper offset, micrometres."""
    width, small = table["grades"][str(grade)][step], letter.lower()
    if small == "js":
        return -width / 2, width / 2
    if small in table["clearance"]:
        upper = table["clearance"][small][step]
        return (-upper, width - upper) if letter.isupper() else (upper - width, upper)
    lower = table["grip"][small][step]
    if small == "k" and not 4 <= grade <= 7:
        lower = 0
    return lower, lower + width


@lru_cache(maxsize=1)
def _table() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("iso286.toml").read_text(encoding="utf-8"))
