"""Stops to measure: what is aimed at, what may be, and what to do otherwise."""

from __future__ import annotations

from cam.plan.bench import Bench
from cam.plan.contour import Run
from cam.plan.model import Measure


def diameter_limits(run: Run) -> tuple[float, float]:
    """Least and greatest diameter that turning may leave, mm: the strictest of the run's sections.

    Where the part file gives no limits, half the last cut either way would still clean up; the caller
    replaces the infinite limits by those.
    """
    least, most = 0.0, float("inf")
    for t in run.members:
        if t.section.tolerance is not None:
            nominal = min(t.section.diameter_a, t.section.diameter_b) + t.section.finish.on_diameter
            least = max(least, nominal + t.section.tolerance.lower)
            most = min(most, nominal + t.section.tolerance.upper)
    return least, most


def measure_semi_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """The stop between the last two cuts."""
    cut, face = bench.allowance.cut, bench.allowance.face_cut
    target = 2 * min(run.radius, run.far_radius)
    least, most = _limits(run, target, cut)
    expected = target + 2 * cut
    name = " and ".join(run.names)
    stops = [
        Measure(
            what=f"diameter of {name}",
            kind="diameter",
            target=target,
            least=least,
            most=most,
            expected=expected,
            if_over="set X to read the diameter measured; the last cut then takes the difference as well",
            if_under="set X to read the diameter measured; if that is below the least limit already, the part is scrap",
            cut_left=cut,
        )
    ]
    if run.shoulder > run.far_radius:
        stops.append(
            Measure(
                what=f"shoulder at the headstock end of {run.names[-1]}, from Z zero",
                kind="length",
                target=run.far,
                least=run.far,
                most=run.far + face,
                expected=run.far + face,
                if_over="set Z to read the length measured; the last cut then faces the difference as well",
                if_under="set Z to read the length measured; if the shoulder is past its place, stop and plan again",
                cut_left=face,
            )
        )
    return tuple(stops)


def measure_finish(bench: Bench, run: Run) -> tuple[Measure, ...]:
    """The stop after the last cut."""
    target = 2 * min(run.radius, run.far_radius)
    least, most = _limits(run, target, bench.allowance.cut)
    then = run.members[0].section.finish.route[1:]
    over = "take the same pass again with X set to read the diameter measured"
    if then:
        over = f"within the allowance it comes off at the bench ({', '.join(then)}); otherwise {over}"
    return (
        Measure(
            what=f"diameter of {' and '.join(run.names)}",
            kind="diameter",
            target=target,
            least=least,
            most=most,
            expected=target,
            if_over=over,
            if_under="write it down: open the hole to suit if it is a pivot, otherwise the part is scrap",
            cut_left=0.0,
        ),
    )


def _limits(run: Run, target: float, cut: float) -> tuple[float, float]:
    least, most = diameter_limits(run)
    return (least if least > 0 else target - cut, most if most < float("inf") else target + cut)
