"""Twist drills, by the names under which they are sold."""

from __future__ import annotations

import math
from functools import lru_cache

from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, drill_size


class Drill(Row):
    """A drill as sold.

    Attributes:
        series: "mm", "number", "letter" or "fraction".
        name: as sold: "5.9 mm", "No. 30", "letter F", "3/16 in".
        diameter: mm.
    """

    series: str
    name: str
    diameter: float


@lru_cache(maxsize=1)
def drills() -> tuple[Drill, ...]:
    """Return every drill that is commonly sold, series by series, each from the smallest.

    Source: ISO 235 for the metric steps (from memory: by 0.05 mm to 3, by 0.1 mm to 14); number and letter drills
    as in ASME B94.11M, as cam.ground.units knows them; fractions by 64ths to 1/2 in.
    """
    found = list(metric_drills())
    for series, names in (
        ("number", [f"No. {n}" for n in range(80, 0, -1)]),
        ("letter", [f"letter {chr(n)}" for n in range(ord("A"), ord("Z") + 1)]),
    ):
        found += [Drill(series, name, size) for name in names if (size := drill_size(name)) is not None]
    for n in range(1, 33):
        shared = math.gcd(n, 64)
        found.append(Drill("fraction", f"{n // shared}/{64 // shared} in", n * MM_PER_INCH / 64))
    return tuple(found)


@lru_cache(maxsize=1)
def metric_drills() -> tuple[Drill, ...]:
    """Return the metric drills that are commonly sold, from the smallest. Source: see `drills`."""
    found = [Drill("mm", f"{n / 100:g} mm", n / 100) for n in range(30, 300, 5)]
    return (*found, *(Drill("mm", f"{n / 10:g} mm", n / 10) for n in range(30, 141)))


@lru_cache(maxsize=1)
def drills_by_size() -> tuple[Drill, ...]:
    """Return every drill that is commonly sold, all series together, from the smallest."""
    return tuple(sorted(drills(), key=lambda d: (d.diameter, d.name)))
