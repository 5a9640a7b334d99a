"""Stops to measure: what is aimed at, what may be, and what to do otherwise."""

from __future__ import annotations

from collections.abc import Iterator

from cam.part.model import Part
from cam.plan.bench import Bench
from cam.plan.contour import Run
from cam.plan.model import Measure
from cam.setting.words import quoted, say

TAKE_IT = "set {} to what you measured and go on. {}"
TOO_SMALL = {
    "pivot": "note it: its hole is opened to fit, if the pivot is parallel and round",
    "journal": "note it: its hole is opened to fit, if the journal is parallel and round",
    "seat": "note it: scrap, unless what sits on it can be made to fit",
    "square blank": "note it: the square's corners come out rounder",
}
"""What a section turned too small means; common practice, no source. Any other: see NOTE_IT."""
NOTE_IT = "note it: scrap, if the limit matters there"


def diameter_limits(run: Run) -> tuple[float, float]:
    """Least and greatest diameter that turning may leave, mm: the strictest of the run's sections.

    Zero and infinity where the part file gives no limits.
    """
    least, most = 0.0, float("inf")
    for t in run.members:
        if t.section.tolerance is not None:
            nominal = min(t.section.diameter_a, t.section.diameter_b) + t.section.finish.on_diameter
            least = max(least, nominal + t.section.tolerance.lower)
            most = min(most, nominal + t.section.tolerance.upper)
    return least, most


def explain_limits(part: Part, bench: Bench) -> Iterator[str]:
    """Where the limits at the stops come from, of sizes that the part file gives none."""
    sizes = [name for run in bench.runs if diameter_limits(run) == (0.0, float("inf")) for name in run.names]
    if sizes:
        yield (
            f"no limits are given for the diameter of {quoted(sizes)}: the stops take what a last cut takes off a "
            f"side, {say(bench.cuts.depth, part)}, either way"
        )
    bare = [r for r in bench.runs if r.shoulder > r.far_radius and r.members[-1].section.length_tolerance is None]
    if bare:
        yield (
            f"no limits are given for the shoulder past {quoted(r.names[-1] for r in bare)}: the stops take one "
            f"division of the Z slide, {say(float(bench.shop.lathe.z.division), part)}, either way"
        )


def measure_semi_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """The stop between the last two cuts."""
    stop = _diameter(bench, run, bench.cuts.depth, (TAKE_IT.format("X", "Below limits: scrap"),) * 2)
    if run.shoulder <= run.far_radius:
        return (stop,)
    return stop, _shoulder(bench, run, bench.allowance.face_cut)


def measure_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """The stop after the last cut; lengths too, as nothing is cut there again."""
    section = run.members[0].section
    then = ", ".join(section.finish.route[1:])
    again = "the same pass again, X set to what you measured"
    over = f"a little more to {then}; if it is too much for that, {again}" if then else again
    stop = _diameter(bench, run, 0.0, (over, TOO_SMALL.get(section.role, NOTE_IT)))
    if run.shoulder <= run.far_radius:
        return (stop,)
    return stop, _shoulder(bench, run, 0.0)


def _diameter(bench: Bench, run: Run, left: float, advice: tuple[str, str]) -> Measure:
    target = 2 * (min(run.radius, run.far_radius) + run.cone_off)
    least, most = diameter_limits(run)
    return Measure(
        what=f"diameter of {' and '.join(run.names)}",
        kind="diameter",
        target=target,
        least=least if least > 0 else target - bench.cuts.depth,
        most=most if most < float("inf") else target + bench.cuts.depth,
        expected=target + 2 * left,
        if_over=advice[0],
        if_under=advice[1],
        cut_left=left,
        sections=run.names,
        when="before last cut" if left else "after last cut",
        given=(least, most) != (0.0, float("inf")),
    )


def _shoulder(bench: Bench, run: Run, left: float) -> Measure:
    """A shoulder's distance from Z zero, always positive; facing makes it longer where Z is negative.

    Its limits are those of the section's length, else one division of the Z dial either way.
    """
    section = run.members[-1].section
    target, longer = abs(run.far), run.far < 0
    step = float(bench.shop.lathe.z.division)
    tolerance = section.length_tolerance
    lower, upper = (tolerance.lower, tolerance.upper) if tolerance is not None else (-step, step)
    both = TAKE_IT.format("Z", "Past limits: stop")
    more = both if left else "face it again, Z set to what you measured"
    past = both if left else "note it: stop, plan again"
    return Measure(
        what=f"Z zero to shoulder past {run.names[-1]}",
        kind="length",
        target=target,
        least=target + lower,
        most=target + upper,
        expected=target - left if longer else target + left,
        if_over=past if longer else more,
        if_under=more if longer else past,
        cut_left=left,
        sections=run.names[-1:],
        when="before last cut" if left else "after last cut",
        scrap="over" if longer else "under",
        given=tolerance is not None,
    )
