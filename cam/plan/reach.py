"""How far a cut along a taper is carried on toward the tailstock."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.geometry.meet import meetings
from cam.geometry.path import Line, Point
from cam.ground.tolerances import ROUNDING
from cam.plan.bench import CLEAR, Bench
from cam.plan.contour import Run, fillet_tip, goes_on_as, joint_tip, nose_shift, takes_nose


def taper_reach(bench: Bench, index: int) -> float:
    """Return the Z up to which the slide may carry the programmed point along a taper toward the tailstock, mm."""
    run, nose = bench.runs[index], float(bench.finish_tool.nose_radius)
    off, behind = nose_shift(math.sin(run.slope), math.cos(run.slope), nose), bench.z_play
    high = min(_past_end(run, off, nose, bench.allowance.face), start_limit(bench, index, run.radius + off.x) - behind)
    lowest = run.tip_radius(high, nose)  # a taper goes on falling past its near end, toward the centre
    needed = run.near - run.members[0].extra_length + off.z  # extra length may be left as it is
    high = min(high, max(start_limit(bench, index, lowest) - behind, needed))
    if high < needed <= start_limit(bench, index, run.tip_radius(needed, nose)) - behind + ROUNDING:
        high = needed  # it stands higher there than where the extra length ends, and has more room
    return min(high, _before_what_stands(bench.runs[index - 1], run, nose, behind)) if index else high


def passed_over(bench: Bench, index: int) -> Iterator[float]:
    """Yield the radii of the sections behind a run whose last cuts pass over all of it, mm.

    A cylinder's comes in where there is room; a taper's goes outward, and ends a little past its thin end.
    """
    for at, behind in enumerate(bench.runs[index + 1 :], index + 1):
        if behind.slope <= 0 or taper_reach(bench, at) >= bench.runs[index].near - ROUNDING:
            yield behind.radius


def _past_end(run: Run, off: Point, nose: float, face: float) -> float:
    """Return the Z up to which a taper's cut is carried past its near end: until it is clear, or at the axis, mm.

    Args:
        face: how much roughing has left before its near end, of which no tooth is to stand, mm.
    """
    clear = run.near + max(nose - off.z, face - nose) + CLEAR
    return min(clear, max(run.tip_z(0.0, nose), run.near + off.z)) if run.slope > 0 else clear


def _before_what_stands(before: Run, run: Run, nose: float, play: float) -> float:
    """Return the Z up to which a taper's cut may be carried on over the section before it, mm; inf for any."""
    end, high = run.near + nose_shift(math.sin(run.slope), math.cos(run.slope), nose).z, math.inf
    if run.slope > 0 and before.shoulder > before.far_radius:
        high = max(run.tip_z(before.far_radius, nose), end)  # on, but never into what stands before it
        arc = fillet_tip(before, nose)
        way = Line(Point(end, run.tip_radius(end, nose)), Point(high, run.tip_radius(high, nose)))
        high = max((p.z for p in meetings(way, arc)), default=high) if arc is not None else high
    if goes_on_as(before, run) and run.slope > before.slope:
        into = end if takes_nose(before, run, nose, play) else joint_tip(before, run, nose)
        high = min(high, into)  # a hollow: no further than the nose touches both, or the whole taper over a groove
    return high


def start_limit(bench: Bench, index: int, x: float) -> float:
    """Return the greatest Z to which a cut toward the tailstock may run on past a run's near end, mm."""
    if index:
        return math.inf
    return bench.rooms[bench.finish_tool.number].furthest(x).z
