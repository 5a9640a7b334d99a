"""Where to set a dial: travel of a slide in the terms of this machine's own dial or readout.

Every setting is rounded from the one zero, so that the errors of rounding never add up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_number
from cam.shop.machine import Slide

INCH_WORDS = ("in", "inch", "inches", '"', "thou", "mil", "ft")
FACTORS = {"diameter": 2, "depth on diameter": 2, "radius": 1}
"""The units that a dial counts while the slide itself moves by one."""
LEAST_PILE = 5.0
"""The slips that stay between carriage and stop at its deepest, mm, so that every pile can be built; no source."""


class DialReading(Row):
    """A dial or readout set as near as it can be to what is wanted.

    Attributes:
        steps: divisions, counted from where the number is zero.
        number: what the steps come to, in the dial's own measure, mm.
        text: "4+35" is 4 turns and 35 divisions, and the dial shows 35; a readout's number; "" where there is neither.
    """

    steps: int
    number: float
    text: str


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


def dial_setting(slide: Slide, travel: float, turns: int = 0) -> DialReading:
    """Find the reading nearest to a travel from zero.

    Args:
        slide: X or Z.
        travel: how far the slide itself moves, mm: inward (X) or toward the headstock (Z); negative the other way.
        turns: the turns that the dial counts at its zero, so that no reading is below zero; see turns_wanted.
    """
    if slide.reading == "none":
        return DialReading(0, 0.0, "")
    sign = 1 if slide.counts == "up" else -1
    division = float(slide.division)
    per_turn = divisions_of(slide)
    steps = round(sign * FACTORS[slide.habit] * travel / division) + turns * per_turn
    number = steps * division
    if slide.reading == "readout":
        inch = is_inch(slide)
        per = MM_PER_INCH if inch else 1.0
        text = show_number(number / per, exact_decimals(division / per))
        return DialReading(steps, number, text)
    return DialReading(steps, number, show_turns(steps, per_turn))


def show_turns(steps: int, per_turn: int) -> str:
    """Show divisions as whole turns and the rest, "4+35"; below the dial's zero, "0-05"."""
    whole, rest = divmod(abs(steps), per_turn)
    return f"{whole}{'-' if steps < 0 else '+'}{rest:0{len(str(per_turn - 1))}d}"


def turns_wanted(slide: Slide, travels: Iterable[float]) -> int:
    """Return the turns that a dial must count at its zero so that none of these travels reads below zero.

    A dial that counts against the travel shows the same number at its zero however many turns are counted there, so
    the divisions printed are always the divisions seen.
    """
    if slide.reading != "dial":
        return 0
    least = min((dial_setting(slide, t).steps for t in travels), default=0)
    return -(least // divisions_of(slide)) if least < 0 else 0


def z_at(slide: Slide, reading: DialReading, turns: int = 0) -> float:
    """Return the Z from the datum that a Z reading gives, mm; positive toward the tailstock."""
    return -_travel(slide, reading, turns)


def _travel(slide: Slide, reading: DialReading, turns: int) -> float:
    sign = 1 if slide.counts == "up" else -1
    steps = reading.steps - turns * divisions_of(slide)
    return sign * steps * slide.division / FACTORS[slide.habit]
