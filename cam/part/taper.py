"""The taper of a square, as it is written.

Half the wrong squares come from a taper of which nobody said whether it is per side or included (common practice,
no source), so a taper here says which.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.units import ANGLE, LENGTH, QuantityError, parse

Corners = Literal["whole", "broken", "round"]
CORNERS: tuple[Corners, ...] = ("whole", "broken", "round")

STEEPEST = 0.2
"""The greatest slope per side that can be meant; clock squares have 0.004 to 0.02 (from memory)."""


class Taper(Row):
    """How a square narrows toward its tip.

    Attributes:
        slope: tangent of the angle between one face and the axis, which is what each side loses per mm of length.
        text: as written, with its basis.
    """

    slope: float
    text: str


def parse_taper(text: object) -> Taper:
    """Read a taper that says its basis: "0.5 deg per side", "1 deg included", "0.003 in/in per side", "1:50 included".

    A ratio or a length per length is, per side, what one face falls; included, it is what the size across flats loses.

    Raises:
        QuantityError: the text is unreadable, or does not say the basis.
    """
    example = '"0.5 deg per side", "0.003 in/in per side" or "1:50 included"'
    if not isinstance(text, str):
        raise QuantityError("a taper in quotes is wanted here", example)
    found = re.fullmatch(r"(.*?)[ \t,]*\b(per side|a side|each side|included)", text.strip())
    if not found:
        raise QuantityError(
            "this taper does not say whether it is per side or included", example,
            'finish with "per side" (one face to the axis) or "included" (face to opposite face)',
        )  # fmt: skip
    amount, included = found[1], found[2] == "included"
    slope = _ratio_of(amount)
    if slope is None:
        angle = parse(amount, ANGLE, least=0.0)
        slope = math.tan(math.radians(min(angle / 2 if included else angle, 89.0)))
    elif included:
        slope /= 2
    if not 0 <= slope <= STEEPEST:
        raise QuantityError("no winding square has this taper", f"0 to {STEEPEST:g} of its length on each side")
    return Taper(slope, text.strip())


def _ratio_of(text: str) -> float | None:
    """Return the slope of "1:50", "1 in 50" or a length per length ("0.003 in/in", "3 thou/in"); None if neither."""
    ratio = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)[ \t]*(?::|in)[ \t]*([0-9]+(?:\.[0-9]+)?)", text)
    if ratio:
        if float(ratio[2]) == 0:
            raise QuantityError("this taper divides by nothing", '"1:50"')
        return float(ratio[1]) / float(ratio[2])
    length = re.fullmatch(r"(.+?[a-z\"])[ \t]*(?:/|[ \t]per)[ \t]*([0-9. /]*)[ \t]*([a-z\"]+)", text)
    if not length:
        return None
    over = parse(f"{length[2].strip() or '1'} {length[3]}", LENGTH, least=0.0, over=True)
    return parse(length[1], LENGTH, least=0.0) / over


def taper_of_sizes(large: float, small: float, length: float) -> Taper:
    """Return the taper of a square that goes from one size across flats to another over a length, mm.

    Raises:
        RangeError: the tip is not the smaller end, or the length is not above zero.
    """
    if not 0 < small <= large or length <= 0:
        raise RangeError(f"{large} mm at the shoulder to {small} mm at the tip in {length} mm is no taper of a square")
    return Taper((large - small) / (2 * length), f"{large:g} mm to {small:g} mm in {length:g} mm")
