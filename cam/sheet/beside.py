"""What a page of the mill says beside its rows, held against the work: sizes across flats with their limits."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cam.ground.figures import inward
from cam.ground.units import decimals_of
from cam.setting.milled import MillWork
from cam.setting.square import across_at
from cam.sheet.dials import FIGURE, UNITS, Unit, figure_of

SIZES = re.compile(rf"(?P<at>{FIGURE}) +(?P<milled>{FIGURE}) +(?P<low>{FIGURE}) to (?P<high>{FIGURE})(?:[ :].*)?")
"""The size of a square at a station, as milled, and its limits."""
SUMMED = 1e-6
"""How far a figure may be off what others give, beyond half of its last digit, mm: sums of floats."""


def sizes_wrong(said: re.Match[str], work: MillWork, crown: float, unit: Unit) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with the size across flats at a station, and with a limit that lies outside those asked.

    Args:
        crown: allowed plus and minus on a ramped flat, mm.
    Returns:
        what, and what is right.
    """
    if work.square is None:
        return
    at, milled, low, high = (figure_of(text, unit) for text in said.groups())
    groove = max((-s.start for s in work.sections if s.start <= work.wall < min(s.end, 0.0)), default=0.0)
    size, spare = across_at(work.square, at.value - groove), SUMMED + 2 * work.square.slope * at.half
    if not -spare - milled.half <= milled.value - size <= 2 * crown + spare + milled.half:
        yield "is not what is milled there", f"{size / UNITS[unit]:.4f}"
    least, most = inward(size + work.limits[0], size + work.limits[1], unit, decimals_of(unit))
    if low.value < least - spare or high.value > most + spare:
        yield "allows a flat past its limits", f"{least / UNITS[unit]:.4f} to {most / UNITS[unit]:.4f}"
