"""`python -m tests.ratios`: write the table of exact factors, cam/ground/ratios.py, by pint's registry."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from pathlib import Path

from cam.ground.units import KINDS, Kind, registry

TABLE = Path(__file__).parent.parent / "cam" / "ground" / "ratios.py"
HEAD = '''"""Exact factors to the inside unit of each kind, numerator and denominator, by `python -m tests.ratios`."""

from __future__ import annotations

RATIOS: dict[str, dict[str, tuple[int, int]]] = {
'''


def factor(unit: str, kind: Kind) -> Fraction:
    """Return a unit as it is written, in the kind's inside unit, exactly."""
    units = registry()
    spelt = units.parse_units(kind.written[unit] or unit)
    size = units.Quantity(Fraction(1), spelt).to(units.parse_units(kind.inside)).magnitude
    assert isinstance(size, Fraction)
    return size


def ratios() -> dict[str, dict[str, tuple[int, int]]]:
    """Return every factor by kind and unit, numerator and denominator, by the registry."""
    return {kind.name: {unit: factor(unit, kind).as_integer_ratio() for unit in kind.written} for kind in KINDS}


def table() -> str:
    """Return the text of the table, as ruff lays it out."""
    rows = [f"    {name!r}: {of!r},\n" for name, of in ratios().items()]
    command = [sys.executable, "-m", "ruff", "format", "-", "--stdin-filename", str(TABLE)]
    text = f"{HEAD}{''.join(rows)}}}\n"
    return subprocess.run(command, input=text, capture_output=True, check=True, text=True).stdout


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8")
