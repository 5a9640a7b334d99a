"""Where a taper is measured: at its thin end, or nearer to its large one where no anvil reaches that yet."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.ground.frozen import Row
from cam.ground.tolerances import AS_GIVEN, ROUNDING
from cam.ground.units import MM_PER_INCH
from cam.part.details import LEAST_LAND
from cam.part.features import reach_along, size_of
from cam.plan.bench import Bench
from cam.plan.contour import Run, nose_shift
from cam.plan.reach import taper_reach
from cam.setting.model import Setting, Turned

NARROW = 1.0
"""Of a section that is plain for less than this, mm, the broad anvils of a common micrometer find the corner beside it
instead: it takes blade anvils. Common practice, no source."""
ANVIL, BLADE = 6.35, 1.0
"""How much of the work anvils lie along, mm: those of a common micrometer, and blades, which are 0.75 wide, laid on by
eye. Common practice, no source."""
LOWER = 0.01
"""How much lower than a place on a taper what anvils lie over is to be, mm of radius. Common practice, no source."""
FELT = 0.002
"""How high metal may stand over a slope beside what is measured and hold no anvil off, mm. Common practice, no source.
"""
SHORT = 0.1
"""The steps in which a centre's cone is reckoned, mm."""
STEP = {"mm": 0.1, "in": 0.005 * MM_PER_INCH}
"""A place that is the end of nothing is a multiple of this, mm, by the unit of the part."""


class Station(Row):
    """The place at which a diameter is measured.

    Attributes:
        further: how far from a taper's thin end, toward its large one, mm; zero on a cylinder, whose cuts come in over
            what stands before it.
        blades: whether it takes blade anvils.
    """

    further: float
    blades: bool


def is_narrow(turned: Turned) -> bool:
    """Tell whether a section, cylinder or taper, is plain for too short between edge and corner for common anvils."""
    near = turned.near - turned.extra_length - size_of(turned.edge)
    return near - turned.far - reach_along(turned.corner) < NARROW - AS_GIVEN


def station_of(bench: Bench, run: Run) -> Station | None:
    """Find where a run's diameter is measured: on a taper as near to its thin end as anvils find nothing higher.

    They lie with one edge on the place and over what is thinner otherwise; the place is one for both last cuts. None
    where there is no such place, as where what is left on its face for the last cut leaves nothing of it plain.
    """
    narrow = any(map(is_narrow, run.members))
    if run.slope <= 0:
        return Station(0.0, narrow or _is_held_off(bench, run))
    thin, steep = run.near - run.members[0].extra_length, math.tan(run.slope)
    begins, walls = _beside(bench, run)
    room = _room(bench, run)
    if room < -ROUNDING:
        return None
    level = run.radius + (run.near - thin) * steep
    if begins >= thin - ROUNDING and all(r <= level or a >= thin + (ANVIL, BLADE)[narrow] for a, r in walls):
        return Station(0.0, narrow)
    for wide in (ANVIL, BLADE)[narrow:]:
        clear = [min((r + LOWER - level) / steep, thin + wide - a) for a, r in walls]
        back, step = max([thin - begins, *clear]), STEP[bench.unit]
        at = math.floor((thin - back) / step + ROUNDING) * step if back > ROUNDING else thin
        if thin - at <= room:
            return Station(thin - at, wide == BLADE)
    return None


def _is_held_off(bench: Bench, run: Run) -> bool:
    """Tell whether a centre beside a cylinder holds common anvils off it, as far in as its corner lets them lie."""
    corner = max(reach_along(run.corner), float(bench.finish_tool.nose_radius))
    ends = run.far + bench.allowance.face_cut + corner + ANVIL
    return any(a < ends and r > run.radius + ROUNDING for a, r in _centre_beside(bench.setting))


def _room(bench: Bench, run: Run) -> float:
    """Return how far from its thin end a taper may be measured, mm: some of it stays plain there before its corner.

    On its shoulder stands what is left for the last cut. It is negative where that and the corner leave nothing plain.
    """
    corner = max(reach_along(run.corner), float(bench.finish_tool.nose_radius))
    face = bench.allowance.face_cut if run.shoulder > run.far_radius else 0.0
    return run.near - run.members[0].extra_length - run.far - face - corner - LEAST_LAND


def _beside(bench: Bench, run: Run) -> tuple[float, list[tuple[float, float]]]:
    """Return the Z from which a taper's cut leaves its slope, and what stands before that: from which Z, how high, mm.

    Before it lies the nose's round, which is lower at first; a hand may stop half a division nearer than the program,
    which is felt on a steep taper.
    """
    nose, index = float(bench.finish_tool.nose_radius), bench.runs.index(run)
    high, half = taper_reach(bench, index), float(bench.shop.lathe.z.division) / 2
    up = high + nose * (1 + math.sin(run.slope)) - half
    begins = high - nose_shift(math.sin(run.slope), math.cos(run.slope), nose).z
    if half**2 / (2 * nose * math.cos(run.slope) ** 3) > FELT:  # how high the round stands over the slope there
        begins -= half
    end = bench.setting.end_z - ROUNDING if bench.setting.face_end else math.inf  # what lay beyond is faced off
    metal = [(max(a, up), d / 2) for a, b, d in bench.work if b > up + ROUNDING and a < end]
    return begins, [*metal, *_centre_beside(bench.setting)]


def _centre_beside(setting: Setting) -> Iterator[tuple[float, float]]:
    """Yield what of the centre stands past the end, in short steps: from which Z, how high, mm."""
    centre, hole = setting.tail_centre, setting.hole
    if centre is None or hole is None:
        return
    steep, widest = math.tan(math.radians(float(centre.cone_angle) / 2)), float(centre.point_diameter) / 2
    for k in range(math.ceil(ANVIL / SHORT)):
        yield setting.end_z + k * SHORT, min(hole.mouth / 2 + (k + 1) * SHORT * steep, widest)
