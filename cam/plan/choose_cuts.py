"""Finishing that suits the stiffness: number, depth and feed of a run's last cuts, from how much the work springs.

A slender part springs away from the tool more at one place than at another, so it comes out fat there. Only the
difference counts: spring that is the same all along is taken up on the dial after the stop to measure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import takewhile

from cam.ground.figures import estimated
from cam.ground.problem import Problem
from cam.ground.tolerances import ROUNDING
from cam.part.details import at_least, at_most
from cam.part.model import Part
from cam.plan.allowance import ZERO_OUT, radius_step, round_up
from cam.plan.bench import Bench
from cam.plan.choose import section_where
from cam.plan.contour import Run
from cam.plan.cuts import Cuts
from cam.plan.cutting import FORCE_BAND, RADIAL_SHARE, can_drive, clip_feed, tool_force
from cam.plan.measures import diameter_limits
from cam.plan.model import Operation
from cam.plan.work import turn_down
from cam.setting.words import say

SHARE = 0.25
"""The share of the limits on a diameter that the spring of the work may use up; common practice (a tenth to a third of
a tolerance goes to any one cause), no source."""
FEEDS = (1.0, 0.75, 0.5)
"""The shares of the tool's finishing feed that are tried. Thinner chips only rub; common practice, no source."""
MOST_CUTS = 5
SPOTS = 8
"""The number of places along a run at which the spring is compared, both ends among them."""


def choose_cuts(bench: Bench, run: Run) -> Cuts:
    """Choose the quickest finishing of a run, in its turn, at which spring uses no more than SHARE of its limits.

    Where no cut of the tool does that, the lightest one is chosen, and its error is above its goal. Cuts that are
    deeper than the tool takes are left out, and those that spindle and slide cannot drive, unless none would remain:
    of those that are too deep the least is then chosen, and `check_last_cuts` refuses it.
    """
    extra = bench.extra[bench.runs.index(run)]
    tried = _try_cuts(bench, run, extra)
    takes = max(float(bench.finish_tool.deepest_cut), min(c.deepest for c in tried))
    taken = [c for c in tried if c.deepest <= takes + ROUNDING]
    driven = [c for c in taken if can_drive(bench.shop, c.force / RADIAL_SHARE, 2 * run.far_radius)] or taken
    good = [c for c in driven if c.error <= c.goal]
    chosen = min(good, key=lambda c: c.count / c.feed) if good else min(driven, key=lambda c: c.error)
    chosen = replace(chosen, too_deep=taken[0] is not tried[0], too_strong=driven[0] is not taken[0])
    bench.chosen.append(chosen)
    return chosen


def _try_cuts(bench: Bench, run: Run, extra: float) -> list[Cuts]:
    """Return what every number of cuts at every feed would leave of a run; extra: as for _ways_to_share."""
    tool, side = bench.finish_tool, bench.allowance.side
    low, high = diameter_limits(run)
    limits = high - low if low > 0 and math.isfinite(high) else math.inf
    spot, most, least = spring_along(bench, run)
    found: list[Cuts] = []
    for count, depth in _ways_to_share(bench, extra):
        for share in FEEDS:
            feed = clip_feed(bench.shop, share * float(tool.finish_feed))
            force = RADIAL_SHARE * tool_force(bench.material, tool, depth, feed)
            error = 2 * force * (most - least)
            own = Cuts(
                names=run.names, count=count, first=side - (count - 1) * depth,
                deepest=max(side - (count - 1) * depth + extra, depth), depth=depth, feed=feed, error=error,
                plain=found[0].error if found else error, goal=SHARE * limits, limits=limits, spot=spot, spring=most,
                least_spring=least, force=force,
            )  # fmt: skip
            found.append(own)
    return found


def _ways_to_share(bench: Bench, extra: float) -> list[tuple[int, float]]:
    """Return the numbers of cuts that are tried and the depth of the last two, mm per side; two cuts come first.

    Where less than the allowance stands on the run, they share what stands, so that none of them passes over it in air.

    Args:
        extra: by how much more than the allowance roughing left on the run, mm per side; negative for less.
    """
    tool, side, step = bench.finish_tool, bench.allowance.side, radius_step(bench.shop.lathe)
    stands, least = side + min(extra, 0.0), float(tool.minimum_cut)
    two = side / 2
    if stands - two < least - ROUNDING:  # the first would rub, or pass in air
        two = min(two, max(math.floor(stands / 2 / step + ROUNDING) * step, round_up(least, step)))
    most = max(MOST_CUTS, math.ceil((side + max(extra, 0.0)) / float(tool.deepest_cut)) + 1)
    even = [(n, math.floor(stands / n / step + ROUNDING) * step) for n in range(3, most + 1)]
    return [(2, two), *takewhile(lambda pair: pair[1] >= least - ROUNDING, even)]


def check_last_cuts(part: Part, bench: Bench) -> Iterator[Problem]:
    """Refuse a finishing tool whose least and deepest cut leave no number of last cuts that it takes.

    Where the deepest is twice the least, and some steps of the dial more, only what stands on a taper is too deep.
    """
    tool = bench.finish_tool
    deep = [cuts for cuts in bench.chosen if cuts.deepest > float(tool.deepest_cut) + ROUNDING]
    if deep:
        worst = max(deep, key=lambda cuts: cuts.deepest)
        least, steps = float(tool.minimum_cut), 4 * radius_step(bench.shop.lathe)
        need = at_least(max(worst.deepest, 2 * least + steps), part)
        keen = (float(tool.deepest_cut) - steps) / 2
        keener = f'; or, with a keener tool, minimum_cut = "{at_most(keen, part)}" or less' if 0 < keen < least else ""
        yield Problem(
            where=tool.deepest_cut.where,
            what=f'no number of last cuts along "{" and ".join(worst.names)}" suits "{tool.name}": each is deeper than '
            "it takes, or lighter than it cuts cleanly",
            given=f"minimum_cut {say(tool.minimum_cut, part)}, deepest_cut {say(tool.deepest_cut, part)}",
            allowed=f"with this minimum_cut, a deepest_cut of {need} or more",
            fix=f'write deepest_cut = "{need}", if the tool takes it{keener}',
        )


def check_face_cuts(part: Part, bench: Bench, faced: Operation | None) -> Iterator[Problem]:
    """Refuse a finishing tool that does not take a cut on a face; faced: what faces an end, if anything does."""
    tool, own = bench.finish_tool, bench.allowance.face_cut
    shoulders = [own for run in bench.runs if run.shoulder > run.far_radius + ROUNDING]
    ends = [cut.depth for cut in (faced.passes if faced else ()) if cut.kind == "face"]
    depth = max([*shoulders, *ends], default=0.0)
    if depth > float(tool.deepest_cut) + ROUNDING:
        need = at_least(depth, part)
        yield Problem(
            where=tool.deepest_cut.where,
            what=f'"{tool.name}" does not take a cut on a face as deep as its Z zero and its least cut ask for',
            given=f"{need} a cut: a Z zero may be {say(ZERO_OUT, part)} out until that is measured, minimum_cut is "
            f"{say(tool.minimum_cut, part)}, and Z is set by {say(bench.shop.lathe.z.division, part)}",
            allowed=f"deepest_cut, {say(tool.deepest_cut, part)}, or less",
            fix=f'write deepest_cut = "{need}", if the tool takes it, or give a stouter tool',
        )


def spring_along(bench: Bench, run: Run) -> tuple[float, float, float]:
    """Find where a run springs most under the last cut, and its greatest and least spring, mm for each N radial.

    The work is taken as it will be then, with the run itself already at its size.
    """
    work = turn_down(bench.work, run.far, run.near, 2 * max(run.radius, run.far_radius))
    spots = [run.far + (run.near - run.far) * k / (SPOTS - 1) for k in range(SPOTS)]
    springs = [bench.spring(z, 1 / RADIAL_SHARE, work) for z in spots]
    most = max(springs)
    return spots[springs.index(most)], most, min(springs)


def _explain_lighter(part: Part, bench: Bench, cuts: Cuts) -> str:
    """Explain why a run is cut lighter than the tool would: for its spring, or for what the tool takes or is driven."""
    name, tool = " and ".join(cuts.names), bench.finish_tool
    way = f"{cuts.count} cuts, the last two of {say(cuts.depth, part)} per side at {say(cuts.feed, part)} a turn"
    if cuts.plain <= cuts.goal:
        left = say(cuts.deepest + (cuts.count - 1) * cuts.depth, part)
        deep = f'roughing left {left}, and "{tool.name}" takes {say(tool.deepest_cut, part)} at once'
        strong = "spindle and slide can drive no more at once"
        reasons = [words for words, so in ((deep, cuts.too_deep), (strong, cuts.too_strong)) if so]
        return f'"{name}" is finished in {way}: {"; ".join(reasons)}'
    return (
        f'"{name}" is finished lighter, in {way}: it springs {1000 * cuts.spring:.2f} um for each N at one place and '
        f"{1000 * cuts.least_spring:.2f} at another, so two cuts of {say(bench.allowance.cut, part)} would leave "
        f"{estimated(cuts.plain)} of difference in its diameter, where {estimated(cuts.goal)} are a quarter of its "
        f"limits; this leaves {estimated(cuts.error)} (estimated, {FORCE_BAND:.0%} either way)"
    )


def explain_cuts(part: Part, bench: Bench) -> Iterator[str]:
    """Explain how runs are finished: each that is cut lighter than the tool would, then the worst of the rest."""
    lighter = [c for c in bench.chosen if c.count > 2 or c.feed < clip_feed(bench.shop, bench.finish_tool.finish_feed)]
    yield from (_explain_lighter(part, bench, cuts) for cuts in lighter)
    rest = [c for c in bench.chosen if c not in lighter and math.isfinite(c.goal)]
    if rest:
        worst = max(rest, key=lambda c: c.error / c.goal)
        others = "the others are" if lighter else "all is"
        yield (
            f'{others} stiff enough for two equal last cuts: the worst, "{" and ".join(worst.names)}", will differ by '
            f"{estimated(worst.error)} along its length, where {estimated(worst.goal)} are a quarter of its limits"
        )


def warn_of_fat_middle(part: Part, bench: Bench) -> Iterator[Problem]:
    """Warn of runs that no cut of this tool leaves straight enough."""
    for cuts in bench.chosen:
        if cuts.error <= cuts.goal:
            continue
        name = " and ".join(cuts.names)
        held = bench.setting.method == "between centres"
        shape = "fat in the middle" if held else "fat toward its free end"
        need = cuts.goal / (2 * (cuts.spring - cuts.least_spring))
        yield Problem(
            where=section_where(part, cuts.names[0]),
            what=f'"{name}" will come out {shape} by about {estimated(cuts.error)} on its diameter '
            f"({estimated(cuts.error * (1 - FORCE_BAND))} to {estimated(cuts.error * (1 + FORCE_BAND))})",
            given=f"{cuts.count} cuts, the last two {say(cuts.depth, part)} per side at {say(cuts.feed, part)} a turn: "
            f"about {cuts.force:.1f} N against work that springs {1000 * cuts.spring:.1f} um for each N",
            allowed=f"{estimated(cuts.goal)}, a quarter of its limits of {estimated(cuts.limits)}",
            fix=f"a steady beside the cut; or a keener tool: {need:.1f} N radial or less would do; or limits of "
            f"{estimated(cuts.error / SHARE)}; or leave it for the file and stone, which take off the fat place",
        )
