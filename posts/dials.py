"""What the marks of a dial or readout are: their unit, what they count, how many a turn has, how finely they read."""

from __future__ import annotations

import math

from cam.ground.units import MM_PER_INCH
from cam.shop.machine import Slide

INCH_WORDS = ("in", "inch", "inches", '"', "thou", "mil", "ft")
FACTORS = {"diameter": 2, "depth on diameter": 2, "radius": 1}
"""The units that a dial counts while the slide itself moves by one."""
LEAST_PILE = 5.0
"""The slips that stay between carriage and stop at its deepest, mm, so that every pile can be built; no source."""


def is_inch(slide: Slide) -> bool:
    """Tell whether the slide's divisions are inches."""
    unit = slide.division.text.lower().lstrip("0123456789 ./-+")
    return unit in INCH_WORDS


def decimals_for(slide: Slide, unit: str, *, coarse: int = 2) -> int:
    """Return how many decimals, in mm or in, are as fine as the dial and no finer; coarse (mm) where there is no dial.

    A division of 0.025 needs three, as every other one falls on a half.

    Args:
        unit: "mm" or "in".
    """
    if slide.reading == "none" or not slide.division > 0:
        return coarse + 1 if unit == "in" else coarse
    step = slide.division / (MM_PER_INCH if unit == "in" else 1.0)
    decimals = max(math.ceil(-math.log10(step) - 1e-9), 0)
    whole = [abs(step * 10**d - round(step * 10**d)) < 1e-6 for d in (decimals, decimals + 1)]
    return decimals + 1 if whole == [False, True] else decimals


def exact_decimals(step: float) -> int:
    """Return how many decimals say every multiple of a step in full, up to 6; the step is in the unit that is shown."""
    return next((d for d in range(6) if abs(step * 10**d - round(step * 10**d)) < 1e-6), 6)


def counts_size(slide: Slide) -> bool:
    """Tell whether an X dial shows the size itself, which falls as the tool goes in, so that its zero is the axis."""
    return slide.counts == "down" and slide.habit in ("diameter", "radius")


def divisions_of(slide: Slide) -> int:
    """Return the divisions in one turn of a dial; 1 where there are no turns."""
    return max(round(slide.turn / slide.division), 1) if slide.reading == "dial" else 1
