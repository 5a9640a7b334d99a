"""Where a slip is tried before a last cut: what was measured at the stop before shows whether X and Z still stand.

Between the stop and the cut a tool can be knocked, a slide pushed, a number set wrong. Callipers to the far side show
three hundredths of that, and nothing of Z; a slip between the tip and what was just measured shows a hundredth of both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.geometry.path import Point
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import MM_PER_INCH
from cam.plan.model import Measure, Pass, SettingPlan
from cam.shop.model import Lathe

SLIP_MM, SLIP_INCH = 0.2, 0.008
"""A leaf that every set of feelers has, thicker than a zero is believed to move unseen. Common practice, no source."""
TOLD_MM, TOLD_INCH = 0.01, 0.0004
"""How much a gap must differ to be told by leaves, one of which drags and the next hangs loose. Common practice, no
source."""
LEAVES, SURE = (1.0, 0.75, 0.5, 0.25), 0.75
"""Thinner leaves as shares of the slip, for X at a low shoulder: 0.15, 0.1, 0.05 mm; and the one from which on nothing
need have shown first that X stands."""
SLANT = 0.2
"""The steepest slope of a taper on which a slip is tried: it shows less than X moves, by the cosine of the slope."""
LAID_ON = 0.05
"""How far a face must reach past the nose for a slip to meet it, mm of radius."""


def slip_of(lathe: Lathe) -> float:
    """Return the thickness of the slip that is tried, mm: a usual leaf in the control's unit."""
    return SLIP_INCH * MM_PER_INCH if lathe.control.units == "in" else SLIP_MM


class Try(Row):
    """One place of the programmed point, and how far it stands off each thing that was measured, mm."""

    place: Point
    measured: tuple[Measure, ...]
    gaps: tuple[float, ...]


def tried_before(plan: SettingPlan, cut: Pass, slip: float) -> Iterator[Try]:
    """Yield each place at which a slip is tried before a pass, in order; only a last cut that was measured for has any.

    The last of them tells both X and Z: for a low shoulder X has a thinner slip there, if need be after a thick one has
    shown that X stands. It does not where a large fillet or a taper lies between, nor for Z where a shoulder is lower
    than the nose, or where the trailing edge would stand in what a plunge left behind it.
    """
    before = [p for p in plan.passes if p.number < cut.number]
    measured = tuple(m for m in before[-1].measure if m.cut_left) if before else ()
    if not measured or cut.kind == "thread":  # over crests a slip tells nothing of the flanks
        return
    last, along = before[-1], _along(before)
    round_, shoulder = (tuple(m for m in measured if m.kind == kind) for kind in ("diameter", "length"))
    room = _highest(plan, before)
    if shoulder and last.shape == "plunge" and room >= last.x + slip * math.tan(math.radians(last.tool.trailing)):
        yield Try(Point(last.z_to + slip, room), shoulder, (slip,))
    on = _over(along, slip) if round_ and along is not None else None
    if on is None:
        return
    leaves = LEAVES if shoulder and last is along and last.shape == "straight" else ()
    gap = next((share * slip for share in leaves if last.x + share * slip <= room), 0.0)
    if gap < SURE * slip:
        yield Try(on, round_, (slip,))
    if gap:
        yield Try(Point(on.z, last.x + gap), (*round_, *shoulder), (gap, slip))


def _along(before: Sequence[Pass]) -> Pass | None:
    """Return the last of the passes of the last one's kind and sections that goes along, not straight in."""
    own = (before[-1].kind, before[-1].sections)
    return next((p for p in reversed(before) if (p.kind, p.sections) == own and p.shape != "plunge"), None)


def _over(along: Pass, slip: float) -> Point | None:
    """Return where the tip stands a slip off what a cut along a section left: at its end, or a taper's middle."""
    if along.shape == "straight":
        return Point(along.z_to + slip, along.x + slip)
    (z0, x0), (z1, x1) = along.path[-1].start, along.path[-1].end
    if abs(x1 - x0) > SLANT * abs(z1 - z0):
        return None
    return Point((z0 + z1) / 2 - along.z_told, (x0 + x1) / 2 + slip)


def _highest(plan: SettingPlan, before: Sequence[Pass]) -> float:
    """Return the radius of the point up to which the nose meets the shoulder that the last pass left, mm.

    Its edge may be cut already, below which that is.
    """
    cut = before[-1]
    past = next(t for t in plan.setting.turned if t.section.name == cut.sections[-1])
    beyond = next((t for t in plan.setting.turned if abs(t.near - past.far) < AS_GIVEN), None)
    edge = past.far_edge
    if beyond is not None and any(p.kind == "edge" and beyond.section.name in p.sections for p in before):
        edge = beyond.edge
    top = past.far_radius - (float(edge.size) if edge is not None else 0.0)
    return top - float(cut.tool.nose_radius) - LAID_ON
