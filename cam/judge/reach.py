"""Places that no slide of the machine reaches, as roughly as shop file and work tell: a point or a digit is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from cam.judge.model import Finding
from cam.judge.report import find, mm
from cam.rs274.model import MOVING, Motion
from cam.setting.milled import MillWork
from cam.setting.model import Setting
from cam.shop.model import Lathe

PAST_SWING = 25.0
"""How far beyond its swing, or beyond what the proof of X asks for, a cross slide may still bring a tool, mm.
Common practice, no source."""
BESIDE_WORK = 250.0
"""How far beyond the work and all that holds it a mill may still bring a tool, mm. Common practice, no source."""
Bounds = tuple[str, float, float]
"""Letter of an axis, and the least and the greatest place that its slide reaches, mm."""


def check_lathe_reach(motions: Iterable[Motion], setting: Setting, lathe: Lathe) -> Iterator[Finding]:
    """Check that X goes no further from the axis than the lathe swings, and Z no further than its centres stand apart.

    The proof of X stands at more than twice the radius of the work, so that it stays clear if it is halved.
    """
    out = max(float(lathe.swing) / 2, 2 * setting.stock_radius) + PAST_SWING
    along = float(lathe.between_centres)
    yield from _beyond(motions, (("X", -out, out), ("Z", -along, along)), "this lathe")


def check_mill_reach(motions: Iterable[Motion], work: MillWork) -> Iterator[Finding]:
    """Check that no slide goes further than a small mill's beyond the work and what holds it."""
    solids = (*work.sections, *work.fixtures)
    start, end = min(s.start for s in solids), max(s.end for s in solids)
    side = max(max(-s.left, s.right) for s in solids) + BESIDE_WORK
    bounds = (
        ("X", start - BESIDE_WORK, end + BESIDE_WORK), ("Y", -side, side),
        ("Z", -work.highest - BESIDE_WORK, work.highest + BESIDE_WORK),
    )  # fmt: skip
    yield from _beyond(motions, bounds, "this mill")


def _beyond(motions: Iterable[Motion], bounds: Sequence[Bounds], machine: str) -> Iterator[Finding]:
    """Yield the first motion of a line that leads beyond what its slide reaches; one that stays there is not told."""
    told = set[tuple[int, str]]()
    for motion in (m for m in motions if m.kind in MOVING and m.system):
        for bound in bounds:
            there, limit = _past(motion, bound)
            if not math.isnan(limit) and (motion.line, bound[0]) not in told:
                told.add((motion.line, bound[0]))
                how = "radius" if bound[0] == "X" and machine == "this lathe" else bound[0]
                what = f"goes further than {machine} does, to {how} {mm(there)}; about {mm(limit, 0)} is the most"
                yield find(motion.line, "beyond travel", what, tool=motion.tool)


def _past(motion: Motion, bound: Bounds) -> tuple[float, float]:
    """Return where a motion leads on an axis, and the bound that is beyond, mm; nan for none, and where it stays."""
    letter, least, most = bound
    here, there = (getattr(place, letter.lower()) for place in (motion.start, motion.end))
    if there == here:
        return there, math.nan
    return there, least if there < least else most if there > most else math.nan  # nor is what is not said beyond
