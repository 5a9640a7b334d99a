"""What a page of the mill may cut otherwise than was planned, because its readings are whole divisions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cam.judge.mill_result import MillSimulation
from cam.judge.model import Finding
from cam.judge.report import TOLERANCE
from cam.setting.milled import MillWork
from cam.shop.mill import Cutter

STOPS = ("no proof", "tool change", "not lined up")
"""Kinds of findings that ask for a stop of a program; a hand stops whenever it wants to."""


def longer(work: MillWork, by: float) -> MillWork:
    """Return the work with flats longer by `by` mm than is wanted: a rounded X may make them so, or shorter."""
    holes = tuple(replace(h, flat_size=max(h.flat_size + 2 * by, 0.0)) for h in work.holes)
    return replace(work, wall=work.wall - by, holes=holes)


def beyond_rounding(
    long: MillSimulation, short: MillSimulation, step: float, cutters: Sequence[Cutter]
) -> list[Finding]:
    """Return what is wrong with the work of flats as long, and left uncut of those as short, as X may make them."""
    deepest = {c.number: min(c.deepest_cut, c.flutes) for c in cutters}
    findings = [f for cut in (long, short) for f in cut.findings if (f.kind == "uncut") is (cut is short)]
    return [f for f in findings if not _allowed(f, step, deepest)]


def _allowed(finding: Finding, step: float, deepest: dict[int, float]) -> bool:
    """Tell whether a finding is no more than the dial's own rounding."""
    if finding.kind in STOPS:
        return True
    if finding.kind == "too deep":
        return finding.amount <= deepest.get(finding.tool, 0.0) + step + 2 * TOLERANCE
    return finding.kind in ("hole", "tap") and 0.0 < finding.amount <= step / 2 + TOLERANCE
