"""Stops to measure: what is aimed at and what is allowed; the page says what is done otherwise, for its own dials."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from cam.ground.problem import Problem
from cam.ground.tolerances import AS_GIVEN, ROUNDING
from cam.part.details import LEAST_LAND
from cam.part.features import BEARING_ROLES, fillet_of, size_of
from cam.part.model import Part, Section
from cam.plan.bench import Bench
from cam.plan.contour import Run
from cam.plan.model import Measure
from cam.plan.reach import passed_over, taper_reach
from cam.plan.rough import full_fillet, tooth_before
from cam.plan.stations import Station, station_of
from cam.plan.work import highest_between
from cam.setting.model import limits_of
from cam.setting.shoulders import long_enough
from cam.setting.words import at_least, quoted, say
from cam.shop.machine import GAUGED, bare_length
from cam.shop.model import Tool


def diameter_limits(run: Run) -> tuple[float, float]:
    """Return the least and greatest diameter that turning may leave, mm: the strictest of the run's sections.

    They are zero and infinity where the part file gives no limits.
    """
    return limits_of(run.members) or (0.0, math.inf)


LOWER = 0.02
"""A taper that stands lower by this, mm of radius, stands much lower. Common practice, no source."""
LEAST_RING = 0.1
"""A face lower than this, mm, cannot be measured before its fillet is cut. Common practice, no source."""
FACE_EDGE = 0.05
"""How far below its edge a shoulder's face is measured, mm; of a low one a quarter of it. Common practice."""
IN_ROUND = 0.005
"""A shoulder is measured where the round that the nose left before it is no thicker than this, mm: it is read as part
of the face. Common practice, no source."""
TWICE = (*BEARING_ROLES, "seat")
NEVER = ("square blank", "undercut")


def times_measured(run: Run) -> int:
    """Return how often a run's diameter is measured while it is turned: the most that any of its sections asks for.

    It is twice, before and after the last cut, where something runs or sits on it; once, before the last cut, for a
    body or a plain section; never for a blank, or where file or mill takes the size away again.
    """
    return max(_times(t.section) for t in run.members)


def _times(section: Section) -> int:
    if section.role in NEVER or "file" in section.finish.route:
        return 0
    return 2 if section.role in TWICE else 1


def shoulder_measured(bench: Bench, run: Run) -> int:
    """Return how often a run's shoulder is measured: twice where limits on a length, or a span, ask for its place.

    Else it is once, before the last cut, where the diameter is measured at all.
    """
    if _ring(bench, run) <= LEAST_RING or _rounded(bench, run, _height(bench, run)) > IN_ROUND:
        return 0
    last = run.members[-1]
    if last.spare is not None or last.section.name in bench.setting.spanned:
        return 2
    return min(times_measured(run), 1)


def explain_limits(part: Part, bench: Bench) -> Iterator[str]:
    """Explain where the limits at the stops come from for sizes to which the part file gives none."""
    yield from _explain_diameters(part, bench)
    yield from _explain_shoulders(part, bench)


def _explain_diameters(part: Part, bench: Bench) -> Iterator[str]:
    bare = {r.names for r in bench.runs if diameter_limits(r) == (0.0, float("inf")) and times_measured(r)}
    alike: dict[float, list[str]] = {}
    for cuts in reversed(bench.chosen):
        if cuts.names in bare:
            alike.setdefault(cuts.depth, []).extend(cuts.names)
    for depth, names in alike.items():
        yield (
            f"no limits are given for the diameter of {quoted(names)}: the stops take what a last cut takes off a "
            f"side, {say(depth, part)}, either way"
        )


def _explain_shoulders(part: Part, bench: Bench) -> Iterator[str]:
    bare = [r for r in bench.runs if shoulder_measured(bench, r) and r.members[-1].spare is None]
    if bare:
        slide = bench.shop.lathe.z
        what = "one division of the Z slide" if slide.division >= GAUGED else "what a depth gauge tells apart"
        yield (
            f"no limits are given for the shoulder past {quoted(r.names[-1] for r in bare)}: the stops take {what}, "
            f"{say(bare_length(slide), part)}, either way"
        )


def measure_semi_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """Make the measures of the stop between the last two cuts."""
    found = []
    station = station_of(bench, run) if times_measured(run) and not _in_air(bench, run) else None
    if station is not None:
        found.append(_diameter(bench, run, _left(bench, run, station), station))
    if shoulder_measured(bench, run) and _face_stands(bench, run):
        found.append(_shoulder(bench, run, bench.allowance.face_cut))
    return tuple(found)


def _in_air(bench: Bench, run: Run) -> bool:
    """Tell whether the cut before the last takes nothing off a run, so that its size then tells nothing of X."""
    return _is_cut(bench, run) or is_bar(bench, run) or _is_sloped(bench, run)


def _is_cut(bench: Bench, run: Run) -> bool:
    """Tell whether the last cut of a run behind, as thick as this one past a groove, has brought it to size already."""
    behind = bench.runs[bench.runs.index(run) + 1 :]
    return run.slope == 0 and any(r.slope == 0 and abs(r.radius - run.radius) <= ROUNDING for r in behind)


def _is_sloped(bench: Bench, run: Run) -> bool:
    """Tell whether the last cut of a taper behind, of the size of a short run, has left that sloped all along.

    It comes in over the run, and its tool's trailing edge leaves a slope there.
    """
    index, tool, first = bench.runs.index(run) + 1, bench.finish_tool, run.members[0]
    if run.slope or index == len(bench.runs) or bench.runs[index].slope <= 0:
        return False
    begins = taper_reach(bench, index)
    tip = bench.runs[index].tip_radius(begins, float(tool.nose_radius))
    plain = run.near - first.extra_length - size_of(first.edge) - LEAST_LAND
    return tip + left_beside(tool, plain - begins) < run.radius + bench.cuts.depth - ROUNDING


def is_bar(bench: Bench, run: Run) -> bool:
    """Tell whether the bar is no thicker than what the cut before the last leaves of a run."""
    return highest_between(bench.setting.stock, run.far, run.near) <= run.radius + bench.cuts.depth + ROUNDING


def _left(bench: Bench, run: Run, station: Station) -> float:
    """Return how much stands on a run, where it is measured, for its last cut, mm per side.

    It is less than that cut's depth where the last cut of a section behind has passed over it already.
    """
    first = run.members[0]  # over extra length its taper goes on
    radius = run.radius + first.end_radius - first.radius_near + station.further * math.tan(run.slope)
    behind = (passed - radius for passed in passed_over(bench, bench.runs.index(run)))
    return min([bench.cuts.depth, *(by for by in behind if by > ROUNDING)])


def _face_stands(bench: Bench, run: Run) -> bool:
    """Tell whether the face left for a last cut stands where it is measured: above what is left on the section.

    It does so outside the nose's round, and above the tooth that its exact fillet's cuts take off, as roughing or the
    plunge down the face left it; where a taper lies beyond, that is not to stand much lower so far before it.
    """
    if run.shoulder - max(tooth_before(bench, run), _beside_plunge(bench, run)) <= LEAST_RING:
        return False
    face_cut = bench.allowance.face_cut
    rounded = _rounded(bench, run, _height(bench, run) - bench.cuts.depth + face_cut * math.tan(run.slope))
    beyond = next((r.slope for r in bench.runs if abs(r.near - run.far) < AS_GIVEN), 0.0)
    return rounded <= IN_ROUND and (face_cut + rounded) * math.tan(max(beyond, 0.0)) <= LOWER


def _beside_plunge(bench: Bench, run: Run) -> float:
    """Return the radius up to which a plunge down the face above an exact fillet leaves metal before it, mm, or 0.

    It stands up to where the cut along the run has come, or roughing did.
    """
    full = full_fillet(bench, run)
    if full is None:
        return 0.0
    face_cut = bench.allowance.face_cut
    along = min(bench.allowance.face - face_cut, full.start.z - run.far)
    return full.end.x + bench.cuts.depth + left_beside(bench.finish_tool, along)


def left_beside(tool: Tool, along: float) -> float:
    """Return how high above the point of a tool fed straight in metal is left, so far from it along Z, mm.

    Its nose leaves its round, and then the trailing edge a slope; a round insert leaves all past its width.
    """
    nose, angle = float(tool.nose_radius), math.radians(tool.trailing if tool.included else 90.0)
    if along >= nose * (1 + math.sin(angle)):
        return (along - nose * (1 + math.tan(angle / 2))) * math.tan(angle)
    return nose - math.sqrt(nose**2 - max(along - nose, 0.0) ** 2)


def reach_beside(tool: Tool, height: float) -> float:
    """Return how far along Z from its point a tool fed straight in leaves metal lower than a height, mm, at most."""
    angle = math.radians(tool.trailing if tool.included else 90.0)
    return height / math.tan(angle) + float(tool.nose_radius) * (1 + math.tan(angle / 2))


def _height(bench: Bench, run: Run) -> float:
    """Return how far above its finished section a shoulder is measured, mm."""
    return run.shoulder - edge_past(bench, run) - min(FACE_EDGE, _ring(bench, run) / 4) - run.far_radius


def _rounded(bench: Bench, run: Run, height: float) -> float:
    """Return how thick the round that the finishing tool leaves before a face is so high above its section, mm.

    Beside a taper that rises to its face the round begins lower than the surface would meet that.
    """
    nose = float(bench.finish_tool.nose_radius)
    return round_at(nose, height + nose * (1 + math.tan(run.slope) - 1 / math.cos(run.slope)))


def round_at(nose: float, height: float) -> float:
    """Return how far before a face the round that a nose leaves in its corner is so high above its foot, mm."""
    return nose - math.sqrt(nose**2 - (nose - min(max(height, 0.0), nose)) ** 2)


def check_long_enough(part: Part, bench: Bench) -> Iterator[Problem]:
    """Check that a diameter measured before its last cut is long enough then, beside the round that the nose left.

    A taper need not be measured, but some of it is to stand beside an exact fillet, which is cut last.
    """
    nose = float(bench.finish_tool.nose_radius)
    for run in bench.runs:
        fillet = fillet_of(run.corner)
        if run.shoulder <= run.far_radius or not (fillet if run.slope else times_measured(run)):
            continue
        need = max(fillet, nose) + bench.allowance.face_cut + LEAST_LAND
        lacking, section = need - (run.near - run.far), run.members[-1].section
        if lacking > AS_GIVEN:
            yield Problem(
                where=section.where,
                what=f'section "{section.name}" is too short '
                + ("for what stands in its corner" if run.slope else "to be measured")
                + " before its last cut",
                given=f"{say(section.length, part)} long; {say(bench.allowance.face_cut, part)} is left on its face for"
                f" the last cut, and its corner reaches {say(max(fillet, nose), part)}",
                allowed=f"at least {at_least(long_enough(section, lacking), part)} of length",
                fix="make the section longer, its fillet smaller, or use a tool with a smaller nose",
            )


def _ring(bench: Bench, run: Run) -> float:
    """Return the height of a shoulder's face outside its exact fillet, which is cut last, and below its edge, mm."""
    return run.shoulder - run.far_radius - fillet_of(run.corner) - edge_past(bench, run)


def edge_past(bench: Bench, run: Run) -> float:
    """Return the size of the edge at the top of a run's shoulder, mm; 0 where it is sharp."""
    edge = run.far_edge or next((r.edge for r in bench.runs if abs(r.near - run.far) < AS_GIVEN), None)
    return size_of(edge)


def measure_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """Make the measures of the stop after the last cut; lengths too, as nothing is cut there again."""
    found = []
    times = times_measured(run)
    if (times > 1 or (times and _in_air(bench, run))) and (station := station_of(bench, run)) is not None:
        found.append(_diameter(bench, run, 0.0, station))
    if shoulder_measured(bench, run) > 1:
        found.append(_shoulder(bench, run, 0.0))
    return tuple(found)


def _diameter(bench: Bench, run: Run, left: float, station: Station) -> Measure:
    first = run.members[0]  # over extra length its taper goes on
    wider = 2 * station.further * math.tan(run.slope)
    target = 2 * (min(run.radius + first.end_radius - first.radius_near, run.far_radius) + run.cone_off) + wider
    least, most = diameter_limits(run)
    corrected = bench.setting.correction_of(run.names)
    more = 2 * corrected.radius if left and corrected.along else 0.0
    return Measure(
        what=f"diameter of {' and '.join(run.names)}",
        kind="diameter",
        target=target,
        least=least + wider if least > 0 else target - bench.cuts.depth,
        most=most + wider if most < float("inf") else target + bench.cuts.depth,
        expected=target + 2 * left + more,
        cut_left=left,
        sections=run.names,
        when="before last cut" if left else "after last cut",
        given=(least, most) != (0.0, float("inf")),
        further=station.further,
        blades=station.blades,
    )


def _shoulder(bench: Bench, run: Run, left: float) -> Measure:
    """Make the measure of a shoulder's distance from Z zero, always positive; facing lengthens it where Z is negative.

    Its limits are those of the lengths that it ends, else one division of the Z dial, or what a gauge tells apart.
    """
    last = run.members[-1]
    target, longer = abs(run.far), run.far < 0
    step = bare_length(bench.shop.lathe.z)
    least, most = replace(last, far=run.far).far_limits or (target - step, target + step)
    return Measure(
        what=f"Z zero to shoulder past {run.names[-1]}",
        kind="length",
        target=target,
        least=least,
        most=most,
        expected=target - left if longer else target + left,
        cut_left=left,
        sections=run.names[-1:],
        when="before last cut" if left else "after last cut",
        scrap="over" if longer else "under",
        given=last.spare is not None,
    )
