"""Exact factors to the inside unit of each kind, numerator and denominator, by `python -m tests.ratios`."""

from __future__ import annotations

RATIOS: dict[str, dict[str, tuple[int, int]]] = {
    "length": {
        "mm": (1, 1),
        "cm": (10, 1),
        "m": (1000, 1),
        "um": (1, 1000),
        "µm": (1, 1000),
        "in": (127, 5),
        "inch": (127, 5),
        '"': (127, 5),
        "thou": (127, 5000),
        "mil": (127, 5000),
        "ft": (1524, 5),
    },
    "angle": {
        "deg": (1, 1),
        "°": (1, 1),
        "rad": (
            1800000000000000000000000000000000000000000000000000,
            31415926535897932384626433832795028841971693993751,
        ),
        "'": (1, 60),
        "arcmin": (1, 60),
        "min": (1, 60),
    },
    "feed per revolution": {
        "mm/rev": (1, 1),
        "um/rev": (1, 1000),
        "µm/rev": (1, 1000),
        "in/rev": (127, 5),
        "thou/rev": (127, 5000),
    },
    "rotational speed": {"rpm": (1, 1), "rev/min": (1, 1), "1/min": (1, 1), "rev/s": (60, 1)},
    "power": {"W": (1, 1), "kW": (1000, 1), "hp": (37284993579113511, 50000000000000)},
    "feed rate": {"mm/min": (1, 1), "m/min": (1000, 1), "mm/s": (60, 1), "in/min": (127, 5), "ft/min": (1524, 5)},
    "cutting speed": {"m/min": (1, 1), "m/s": (60, 1), "ft/min": (381, 1250)},
    "stress": {"N/mm2": (1, 1), "MPa": (1, 1), "GPa": (1000, 1)},
    "force": {"N": (1, 1), "kN": (1000, 1), "kgf": (196133, 20000), "lbf": (8896443230521, 2000000000000)},
    "torque": {
        "N m": (1, 1),
        "Nm": (1, 1),
        "lbf in": (1129848290276167, 10000000000000000),
        "lbf ft": (3389544870828501, 2500000000000000),
    },
    "acceleration": {"mm/s2": (1, 1), "mm/s²": (1, 1), "m/s2": (1000, 1), "in/s2": (127, 5), "in/s²": (127, 5)},
    "difference of temperature": {"K": (1, 1)},
    "time": {"s": (1, 1), "ms": (1, 1000)},
}
