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
from cam.part.features import size_of
from cam.plan.measures import reach_beside
from cam.plan.model import Measure, Pass, SettingPlan
from cam.plan.work import highest_between
from cam.shop.model import Lathe

SLIP_MM, SLIP_INCH = 0.2, 0.008
"""A leaf that every set of feelers has, thicker than a zero is believed to move unseen. Common practice, no source."""
TOLD_MM, TOLD_INCH = 0.01, 0.0004
"""How much a gap must differ to be told by leaves, one of which drags and the next hangs loose. Common practice, no
source."""
LEAVES, SURE = (1.0, 0.75, 0.5, 0.25), 0.75
"""Thinner leaves as shares of the slip, for X at a low shoulder: 0.15, 0.1, 0.05 mm; and the one from which on nothing
need have shown first that X stands."""
SLANT = 0.6
"""The steepest slope of a taper on which a slip is tried: on a steeper one it shows too little of how X moved."""
THICKER = tuple(k / 4 for k in range(4, 41))
"""Thicker leaves as shares of the slip, for a face outside a fillet: 0.2 to 2 mm by 0.05, several leaves together."""
LAID_ON = 0.05
"""How far a face must reach past the nose for a slip to meet it, mm of radius."""


def slip_of(lathe: Lathe) -> float:
    """Return the thickness of the slip that is tried, mm: a usual leaf in the control's unit."""
    return SLIP_INCH * MM_PER_INCH if lathe.control.units == "in" else SLIP_MM


class Try(Row):
    """One place of the programmed point, and how far it stands off each thing that was measured, mm.

    Attributes:
        slope: growth of the radius for each mm toward the headstock where a taper is tried; its gap is square to it.
        alone: whether Z is not told by it, though a shoulder was measured.
    """

    place: Point
    measured: tuple[Measure, ...]
    gaps: tuple[float, ...]
    slope: float = 0.0
    alone: bool = False


class _Stop(Row):
    """The stop before a last cut, and what was cut before it.

    Attributes:
        measured: what was measured there and is cut once more.
        last: the pass before it. along: the last that went along its section; None where none did.
        room: radius of the point up to which the nose meets the shoulder that the last pass left, mm.
        middle: Z of the middle of what was measured, if that cut ran out beyond the end of its section, or a taper's
            last cut has gone lower; else nan.
        passed: the last cuts along cylinders that were made before.
        near: Z of the near end of what was measured, beside its edge; the nose's lowest point stays inside of it.
        bar: radius of what stood there before the setting, mm: over a thinner one a cut passes in air.
    """

    measured: tuple[Measure, ...]
    last: Pass
    along: Pass | None
    room: float
    middle: float
    passed: tuple[Pass, ...]
    near: float
    bar: float

    def stands(self, z: float, x: float) -> float:
        """Return the radius of the point on the metal at z, mm, where a cut went at x: last cut or bar may be lower."""
        return min([x, self.bar, *(p.x + p.deeper for p in self.passed if p.z_to <= z <= p.z_from)])

    @property
    def round(self) -> tuple[Measure, ...]:
        """Return the diameters that were measured."""
        return tuple(m for m in self.measured if m.kind == "diameter")

    @property
    def shoulder(self) -> tuple[Measure, ...]:
        """Return the shoulder that was measured."""
        return tuple(m for m in self.measured if m.kind == "length")

    @property
    def faced(self) -> bool:
        """Whether a plunge left the shoulder that was measured."""
        return bool(self.shoulder) and self.last.shape == "plunge"


def tried_before(plan: SettingPlan, cut: Pass, slip: float) -> Iterator[Try]:
    """Yield each place at which a slip is tried before a pass, in order; only a last cut that was measured for has any.

    The last of them tells both X and Z: for a low shoulder X has a thinner slip there, if need be after a thick one has
    shown that X stands; beside a fillet or a taper, where a plunge left the face, both have thicker ones where needed.
    It does not where a fillet is very large, nor for Z where a shoulder is lower than the nose, or for X on a steep
    taper.
    """
    before = [p for p in plan.passes if p.number < cut.number]
    measured = tuple(m for m in before[-1].measure if m.cut_left) if before else ()
    if not measured or cut.kind == "thread":  # over crests a slip tells nothing of the flanks
        return
    stop = _stop_after(plan, before, measured)
    corner = _at_corner(stop, slip)
    if corner is not None:
        yield corner
        return
    yield from _at_face(stop, slip)
    yield from _over_section(stop, slip)


def _stop_after(plan: SettingPlan, before: Sequence[Pass], measured: tuple[Measure, ...]) -> _Stop:
    """Return the stop behind some passes, at which that was measured."""
    along = _along(before)
    passed = tuple(p for p in before if p.kind == "finish" and p.shape == "straight")
    own = next(t for t in plan.setting.turned if t.section.name == measured[0].sections[0])
    near = own.near - own.extra_length - size_of(own.edge)
    bar = highest_between(plan.setting.stock, own.far, own.near)
    only = along if all(m.kind == "diameter" for m in measured) else None
    middle = _middle(plan, along, measured[0], _passed_lower(before, only) if only is not None else math.nan)
    return _Stop(measured, before[-1], along, _highest(plan, before), middle, passed, near, bar)


def _at_corner(stop: _Stop, slip: float) -> Try | None:
    """Return where the tip stands off both section and face, where a plunge left that; None where it cannot."""
    if stop.along is None or not stop.faced or not stop.round:
        return None
    both = _in_corner(stop, stop.last, stop.along, slip)
    if both is None:
        return None
    (thick, wide), (on, slope) = both
    z = stop.last.z_to + wide
    place = Point(z, round(stop.stands(z, on) + thick * math.hypot(1.0, slope), 3))
    return Try(place, (*stop.round, *stop.shoulder), (thick, wide), slope)


def _at_face(stop: _Stop, slip: float) -> Iterator[Try]:
    """Yield where the tip stands a slip off a face that a plunge left, if that is high enough."""
    last = stop.last
    if stop.faced and stop.room >= last.x + slip * math.tan(math.radians(last.tool.trailing)):
        yield Try(Point(last.z_to + slip, stop.room), stop.shoulder, (slip,))


def _over_section(stop: _Stop, slip: float) -> Iterator[Try]:
    """Yield where the tip stands over a section: a slip off it, then nearer where a low shoulder is met as well."""
    last, along = stop.last, stop.along
    over = _over(stop, along, slip) if stop.round and along is not None else None
    if over is None:
        return
    on, slope = over
    gap = _low_gap(stop, slip) if last is along and last.shape == "straight" else 0.0
    if gap < SURE * slip:
        yield Try(on, stop.round, (slip,), slope, alone=bool(stop.shoulder) and not gap)
    if gap:
        yield Try(Point(on.z, on.x - slip + gap), (*stop.round, *stop.shoulder), (gap, slip))


def _low_gap(stop: _Stop, slip: float) -> float:
    """Return the widest gap over a section at which the tip still meets the shoulder at its end, mm; zero for none."""
    leaves = LEAVES if stop.shoulder else ()
    return next((leaf * slip for leaf in leaves if stop.last.x + leaf * slip <= stop.room), 0.0)


def _in_corner(
    stop: _Stop, faced: Pass, along: Pass, slip: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return the least gaps over a section and before its face at which the tip meets both, if there are any, mm.

    Args:
        stop: the stop before. faced: the plunge that left the face. along: the cut along the section.

    Returns:
        The gaps, and the radius of the point on its way along the section there with the slope of that.
    """
    lowest = faced.x + slip * math.tan(math.radians(faced.tool.trailing))  # over what the plunge left behind it
    for wide in THICKER:
        # as the text says it too, which the slide lags behind: before that stands what roughing left in the corner
        on, slope = _on_way(along, faced.z_to + wide * slip, slip / 2 + along.z_told)
        if faced.z_to + wide * slip + _touched(along, slope) > stop.near + AS_GIVEN:
            return None  # past the end of a short section
        for thick in THICKER:
            if lowest <= on + thick * slip * math.hypot(1.0, slope) <= stop.room:
                return (thick * slip, wide * slip), (on, slope)
    return None


def _on_way(along: Pass, z: float, room: float) -> tuple[float, float]:
    """Return the radius of the programmed point where it passes z along a section, mm, and its slope.

    The radius is nan beyond that way or nearer its end than a tool may have moved, room mm, and on a steep taper.
    """
    if along.shape == "straight":
        return (along.x if z >= along.z_to + room - AS_GIVEN else math.nan), 0.0
    (z0, x0), (z1, x1) = along.path[-1].start, along.path[-1].end
    slope = (x1 - x0) / (z0 - z1) if z1 != z0 else math.inf
    z += along.z_told
    inside = min(z0, z1) + room - AS_GIVEN <= z <= max(z0, z1)
    return (x0 + slope * (z0 - z) if abs(slope) <= SLANT and inside else math.nan), slope


def _along(before: Sequence[Pass]) -> Pass | None:
    """Return the last of the passes of the last one's kind and sections that goes along, not straight in."""
    own = (before[-1].kind, before[-1].sections)
    return next((p for p in reversed(before) if (p.kind, p.sections) == own and p.shape != "plunge"), None)


def _passed_lower(before: Sequence[Pass], along: Pass) -> float:
    """Return Z up to which the last cut of a taper behind has gone lower than a cut along a section, mm; nan for none.

    It runs on over the end of that, and past its own end its tool's trailing edge leaves a slope.
    """
    ends = ((p, p.path[-1].end) for p in before if p.kind == "finish" and p.shape == "points")
    found = [end.z + reach_beside(p.tool, along.x - end.x) for p, end in ends if end.x < along.x - AS_GIVEN]
    return max((z for z in found if z > along.z_to), default=math.nan)


def _middle(plan: SettingPlan, along: Pass | None, measured: Measure, lower: float) -> float:
    """Return Z of the middle of what was measured, if the cut along it ran out beyond its section's end; else nan, mm.

    Over the place where it ended a slip would lie on nothing; nor on what it left where a taper's last cut has run on
    over that.

    Args:
        lower: Z up to which that has gone lower, mm; nan where it has not.
    """
    by_name = {t.section.name: t for t in plan.setting.turned}
    if along is None or (along.z_to > by_name[along.sections[-1]].far - AS_GIVEN and math.isnan(lower)):
        return math.nan
    own = by_name[measured.sections[-1]]
    middle = (own.near - own.extra_length + own.far) / 2
    return middle if math.isnan(lower) else max(middle, lower)


def _over(stop: _Stop, along: Pass, slip: float) -> tuple[Point, float] | None:
    """Return where the tip stands a slip off what a cut along a section left: at its end, or a taper's middle.

    With it the slope there.
    """
    if along.shape == "straight":
        z = along.z_to + slip if math.isnan(stop.middle) else stop.middle
        if z + float(along.tool.nose_radius) > stop.near + AS_GIVEN:  # the section is too short for a slip
            return None
        return Point(z, stop.stands(z, along.x) + slip), 0.0
    (z0, _), (z1, _) = along.path[-1].start, along.path[-1].end
    slope = _on_way(along, z1, 0.0)[1]
    middle = (z0 + z1) / 2 - along.z_told
    past = max(middle + _touched(along, slope) - stop.near, 0.0)  # the cut runs on past the end of a short one
    z = middle - past
    on, _ = _on_way(along, z, slip if past else 0.0)
    return None if math.isnan(on) else (Point(z, stop.stands(z, on) + slip * math.hypot(1.0, slope)), slope)


def _touched(along: Pass, slope: float) -> float:
    """Return how far from the point's Z, toward the tailstock, a nose is nearest to what such a cut left, mm."""
    return float(along.tool.nose_radius) * (1 - math.sin(math.atan(slope)))


def _highest(plan: SettingPlan, before: Sequence[Pass]) -> float:
    """Return the radius of the point up to which the nose meets the shoulder that the last pass left, mm.

    Its edge may be cut already, below which that is.
    """
    cut = before[-1]
    past = next(t for t in plan.setting.turned if t.section.name == cut.sections[-1])
    beyond = plan.setting.beyond(past)
    edge = past.far_edge
    if beyond is not None and any(p.kind == "edge" and beyond.section.name in p.sections for p in before):
        edge = beyond.edge
    return past.far_radius - size_of(edge) - float(cut.tool.nose_radius) - LAID_ON
