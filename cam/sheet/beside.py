"""What a page of the mill says beside its rows, held against it: sizes, and where slides are set and tools touched."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from cam.ground.figures import inward
from cam.ground.units import decimals_of
from cam.setting.milled import MillWork
from cam.setting.square import Square, across_at
from cam.sheet.dials import EITHER, FIGURE, UNITS, Unit, figure_of, say
from cam.shop.mill import Cutter

SIZES = re.compile(rf"(?P<at>{FIGURE}) +(?P<milled>{FIGURE}) +(?P<low>{FIGURE}) to (?P<high>{FIGURE})(?:[ :].*)?")
"""The size of a square at a station, as milled, and its limits."""
A_SIZE = "10.00  4.22  4.21 to 4.23: place, size, limits"
TOUCH = re.compile(
    rf"TOUCH +(?:at X (?:dial |reads )?(?P<x>{EITHER}),(?: Y (?:dial |reads )?(?P<y>{EITHER}),.*)?"
    r"|on a slip laid along the round\b.*)"
)
"""Where each tool of a hole is touched: beside all that is cut, or on a slip over it."""
SET = re.compile(rf"Set it to (?P<reads>{EITHER})\b.*")
"""To what reading a slide is set, below the line that says how it is read."""
SHIM = re.compile(rf"SHIM +(?P<shim>{FIGURE})(?: (?P<unit>in|mm))?, (?P<spacing>{FIGURE})(?: (?P=unit))? from\b.*")
SHIM_OFF = 1e-3
"""How far a shim's figures may be off through rounding, mm."""
SUMMED = 1e-6
"""How far a figure may be off what others give, beyond half of its last digit, mm: sums of floats."""


def angle_up(text: str, square: Square) -> float:
    """Return the angle that a row says is on top, degrees; nan where it says none."""
    turned = re.fullmatch(r"side (\d+) up|turned (\d+(?:\.\d+)?)", text)
    if turned is None:
        return math.nan
    return 360.0 * (int(turned[1]) - 1) / square.flats if turned[1] else float(turned[2])


def shim_wanted(said: re.Match[str], slope: float, unit: Unit) -> str:
    """Return the shim that gives a slope at what is said of it; "" where the one said does, to its last digit."""
    shim, spacing = figure_of(said["shim"], unit), figure_of(said["spacing"], unit)
    wanted = spacing.value * slope
    off = abs(shim.value - wanted) > max(SHIM_OFF, shim.half + spacing.half * slope)
    return f"{wanted / UNITS[unit]:.4f}, that far from the edge" if off else ""


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


def touch_wrong(
    touch: float | None, used: Sequence[tuple[Cutter, float]], work: MillWork, x: float, step: float, unit: Unit
) -> str:
    """Say what is wrong with the place where the last of a hole's tools is touched; "" where nothing is cut there.

    Args:
        touch: X of that place, mm; nan for a slip over what is cut, None where no line says it.
        used: every tool so far with the Z of its end at its lowest, mm. x: X of the hole's middle, mm.
        step: of the X slide, by which either may be off, mm. unit: in which it is said.
    """
    own = work.section_at(x)
    if own is None or len(used) < 2 or (touch is not None and math.isnan(touch)):
        return ""
    if touch is None:
        return "follows a cut, and no line TOUCH says where its tool is touched"
    there, last = work.section_at(touch), used[-1][0]
    if there is None or there.top != own.top:
        return "touches its tool off the round that the hole is in"
    flat = own.top - max((h.flat_depth for h in work.holes), default=0.0)
    cut = max(_half_cut(cutter, flat - z) for cutter, z in used[:-1])
    half = last.radius if last.kind in ("end mill", "tap") else 0.0
    if abs(touch - x) + step < cut + half:
        return f"touches its tool on what is cut, {say(cut, unit, 2)} to each side of the hole's middle"
    return ""


def _half_cut(cutter: Cutter, deep: float) -> float:
    """Return how far from a hole's middle a tool has cut that went so deep, mm."""
    if cutter.kind != "spot drill":
        return cutter.radius
    return min(cutter.radius, deep * cutter.radius / cutter.point_length)
