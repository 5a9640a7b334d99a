"""The hole in which a pivot runs: what to drill, how to open it, and what the pivot then bears on.

Holes are fitted to pivots, not pivots to holes (common practice, no source): the hole is drilled under size and
opened, by a broach whose cutting edges taper, or a parallel reamer, until the finished pivot has its side shake.
A broach leaves a slightly conical hole: the pivot has its side shake at the narrow end and bears only near it.

Distances along the hole count from the inside face of the plate, where the shoulder is, toward the outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from cam.ground.drills import Drill, drills_by_size
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, problem, refusal
from cam.ground.tolerances import ROUNDING
from cam.ground.units import QuantityError
from cam.lengths.figures import MM, LengthFigures
from cam.lengths.stand_off import Range, edge_needed, seat_ring
from cam.part.details import at_most
from cam.part.features import Edge
from cam.part.fits import Fit, read_fit
from cam.part.spans import Hole

LEAST_CONTACT = 0.5
"""The share of the hole's wall that should carry; a warning is given below it. Common practice, no source."""

LEAST_RING = 0.2
"""The narrowest ring of shoulder on plate, mm, that needs no warning. Common practice, no source."""


class Pivot(Row):
    """The pivot or journal that runs in a hole.

    Attributes:
        name: name of its section.
        nominal: the diameter from which a fit's symbol counts, mm.
        diameter: finished diameter, mm: within limits, or exactly as measured.
        length: from its shoulder to its end, mm.
        end: how much of that a chamfer or radius at the end takes, mm.
        corner: radius of the fillet under its shoulder, mm; zero for none or an undercut.
        shoulder: least diameter of the shoulder, mm.
        shoulder_edge: edge of the shoulder; None for a sharp one.
    """

    name: str
    nominal: float
    diameter: Range
    length: float
    end: float
    corner: float
    shoulder: float
    shoulder_edge: Edge | None


@frozen
class HolePlan:
    """How a hole is made, and what it is like afterwards.

    Attributes:
        hole: as in the part file.
        drill: the drill to be used before opening; None for none.
        inside, outside: diameters of the finished hole at the two ends of its wall, mm (between its broken edges).
        narrow: least diameter, mm.
        opened: the diameter that the broach or reamer leaves there, before the smoothing pass, mm.
        wall: length of the hole between its broken edges, mm.
        contact: the length of the wall on which the pivot truly bears, mm.
        side_shake: side shake on the diameter at the narrow place, mm.
        travel: how far in the broach moves to open the hole by 0.01 mm on the diameter, mm; zero for none.
        edge_needed: chamfer on the inside with which the shoulder seats, mm; zero for none.
        ring: width of the ring on which the shoulder meets the plate, mm.
        warnings: sorted.
    """

    hole: Hole
    drill: Drill | None
    inside: float
    outside: float
    narrow: float
    opened: float
    wall: float
    contact: float
    side_shake: Range
    travel: float
    edge_needed: float
    ring: float
    warnings: tuple[Problem, ...]

    @property
    def entry(self) -> float:
        """Return the diameter where the broach goes in, mm; for a hole opened from both faces, that of both."""
        return self.outside if self.hole.side == "outside" else self.inside

    @property
    def exit(self) -> float:
        """Return the diameter where the broach comes out, mm."""
        return self.inside if self.hole.side == "outside" else self.outside


def choose_drill(most: float, drills: Sequence[Drill]) -> Drill | None:
    """Return the largest drill of at most this diameter, mm, or None if all are larger."""
    return max((d for d in drills if d.diameter <= most + ROUNDING), key=lambda d: d.diameter, default=None)


def plan_hole(hole: Hole, pivot: Pivot, drills: Sequence[Drill] | None = None, said: LengthFigures = MM) -> HolePlan:
    """Plan the hole in which a pivot runs.

    Args:
        drills: the drills that there are; None for all that are commonly sold.

    Raises:
        ProblemError: the hole cannot be made so, or does not suit the pivot; everything at once.
    """
    problems = [*check_hole(hole, said), *check_pivot(hole, pivot, said)]
    if problems:
        raise ProblemError(problems)
    narrow = finished_diameter(hole, pivot)
    wall = wall_length(hole)
    inside, outside = _ends(hole, narrow, wall)
    opening = hole.use == "open"
    opened = narrow - hole.smoothing if opening else narrow
    drill = _drill(hole, opened, drills if drills is not None else drills_by_size(), said) if opening else None
    plan = HolePlan(
        hole=hole, drill=drill, inside=inside, outside=outside, narrow=narrow, opened=opened, wall=wall,
        contact=contact_length(hole, pivot), side_shake=_side_shake(hole, pivot, narrow),
        travel=0.01 / hole.taper if opening and hole.taper > 0 else 0.0,
        edge_needed=edge_needed(pivot.corner, (inside - pivot.diameter.most) / 2),
        ring=seat_ring(inside, hole.edge_inside, pivot.shoulder, pivot.shoulder_edge), warnings=(),
    )  # fmt: skip
    return replace(plan, warnings=tuple(sorted(_warnings(plan, pivot, said))))


# Sums -----------------------------------------------------------------------------------------------------


def finished_diameter(hole: Hole, pivot: Pivot) -> float:
    """Return the least diameter of the finished hole, mm: as it is, by the aimed side shake, or the fit's middle."""
    if hole.use == "as it is" and hole.now is not None:
        return float(hole.now)
    if hole.side_shake is not None:
        return pivot.diameter.likely + hole.side_shake.aim
    limits = read_fit(hole.fit, pivot.nominal).hole
    return pivot.nominal + (limits.lower + limits.upper) / 2


def wall_length(hole: Hole) -> float:
    """Return the hole's length between its broken edges, mm; a 45 degree chamfer and a radius each take their size."""
    return hole.plate - hole.edge_inside.size - hole.edge_outside.size


def contact_length(hole: Hole, pivot: Pivot) -> float:
    """Return the length on which a parallel pivot, pressed to one side, truly bears, mm.

    In a hole that tapers by t on the diameter, the gap on the loaded side is t / 2 per mm from the narrow
    end; the hole carries as far as that is at most its carrying gap. Only the length on which the pivot is round and
    parallel counts: not the fillet, nor the broken end.

    Source: exact, by similar triangles; which gap still carries is the user's judgement.
    """
    low, high = float(hole.edge_inside.size), hole.plate - hole.edge_outside.size
    if hole.use == "open" and hole.taper > 0:
        reach = 2 * hole.carrying_gap / hole.taper
        if hole.side == "inside":
            low = max(low, high - reach)
        elif hole.side == "outside":
            high = min(high, low + reach)
        else:
            middle = (low + high) / 2
            low, high = max(low, middle - reach), min(high, middle + reach)
    return max(min(high, pivot.length - pivot.end) - max(low, pivot.corner), 0.0)


def _ends(hole: Hole, narrow: float, wall: float) -> tuple[float, float]:
    """Return the diameters at the inside and the outside end of the wall, mm."""
    more = hole.taper * wall if hole.use == "open" else 0.0
    return {
        "inside": (narrow + more, narrow),
        "outside": (narrow, narrow + more),
        "both": (narrow + more / 2, narrow + more / 2),
    }[hole.side]


def _side_shake(hole: Hole, pivot: Pivot, narrow: float) -> Range:
    if hole.use == "as it is":
        return Range(*(narrow - d for d in reversed(pivot.diameter)))
    if hole.side_shake is not None:
        return Range(*hole.side_shake.three)
    limits = read_fit(hole.fit, pivot.nominal).hole
    sizes = Range(pivot.nominal + limits.lower, narrow, pivot.nominal + limits.upper)
    return Range(*(size - d for size, d in zip(sizes, reversed(pivot.diameter), strict=True)))


def _drill(hole: Hole, opened: float, drills: Sequence[Drill], said: LengthFigures) -> Drill | None:
    """Return the largest drill that leaves enough for the opening; None where the hole is already as wide."""
    drill = choose_drill(opened - hole.drill_under, drills)
    if hole.now is not None and (drill is None or drill.diameter <= hole.now + ROUNDING):
        return None
    if drill is None:
        what = f'no drill is small enough for hole "{hole.name}"'
        given = f"the smallest is {min(drills, key=lambda d: d.diameter).name}" if drills else "there is none"
        allowed = f"at most {at_most(opened - hole.drill_under, said)}"
        raise refusal(hole.where, what, given=given, allowed=allowed)
    return drill


# Checks ---------------------------------------------------------------------------------------------------


def check_hole(hole: Hole, said: LengthFigures = MM) -> Iterable[Problem]:
    """Report what is wrong with a hole by itself."""

    def problem(what: str, **words: str) -> Problem:
        return Problem(where=hole.where, what=f'hole "{hole.name}" {what}', **words)

    if hole.use == "as it is" and hole.now is None:
        yield problem("is to be used as it is, but its size is not given", fix='say now = "..."', lacks="now")
    opening = hole.use == "open"
    if opening and (hole.side_shake is None) == (not hole.fit):
        given, lacks = ("side_shake and fit", "") if hole.fit else ("neither side_shake nor fit", "side_shake")
        fix = "give the side shake (least, aim, most), or a fit by its symbols"
        yield problem("is to be opened, but to which size is not clear", given=given, fix=fix, lacks=lacks)
    if opening and (hole.opened_by == "broach") != (hole.taper > 0):
        given = f"{hole.opened_by}, taper {hole.taper:g} on the diameter"
        yield problem(
            "is opened by a tool whose taper is not clear",
            given=given,
            fix="a broach needs its taper, a reamer has none",
            lacks="taper" if hole.opened_by == "broach" else "",
        )
    if wall_length(hole) <= 0:
        yield problem(
            "has no wall left between its broken edges",
            given=f"plate {said.show(hole.plate)}, both edges {said.show(hole.plate - wall_length(hole))}",
            fix="break the edges less",
        )


def check_pivot(hole: Hole, pivot: Pivot, said: LengthFigures = MM) -> Iterable[Problem]:
    """Report what is wrong between a hole and its pivot; nothing where `check_hole` finds fault already."""
    if any(True for _ in check_hole(hole)):
        return
    if hole.fit:
        try:
            fit = read_fit(hole.fit, pivot.nominal)
        except QuantityError as error:
            words = {"given": hole.fit, "allowed": error.allowed, "fix": error.fix}
            yield Problem(where=hole.where, what=f'hole "{hole.name}": {error.what}', **words)
            return
        yield from _check_fit(hole, pivot, fit, said)
    yield from _check_side_shake(hole, pivot, said)
    ring = seat_ring(finished_diameter(hole, pivot), hole.edge_inside, pivot.shoulder, pivot.shoulder_edge)
    if ring <= 0:
        what = f'the shoulder of "{pivot.name}" finds no plate to run against at hole "{hole.name}"'
        given = f"shoulder {said.show(pivot.shoulder)}, hole {said.show(finished_diameter(hole, pivot))}, edges broken"
        yield problem(hole.where, what, given, fix="break the edges less, or make the shoulder larger")


def _check_fit(hole: Hole, pivot: Pivot, fit: Fit, said: LengthFigures) -> Iterable[Problem]:
    """Report where a pivot is outside the limits of its fit, and where a broach leaves a hole outside them."""
    shaft = pivot.nominal + fit.shaft.lower, pivot.nominal + fit.shaft.upper
    if pivot.diameter.least < shaft[0] - ROUNDING or pivot.diameter.most > shaft[1] + ROUNDING:
        what = f'"{pivot.name}" is not within {fit.shaft.symbol}, which hole "{hole.name}" names'
        fix = "change the pivot's tolerance, or give the side shake instead"
        yield problem(
            hole.where, what, said.between(pivot.diameter.least, pivot.diameter.most), said.between(*shaft), fix
        )
    more = hole.taper * wall_length(hole) / (2 if hole.side == "both" else 1)
    if hole.use == "open" and more > (fit.hole.upper - fit.hole.lower) / 2 + ROUNDING:
        what = f'a broach cannot hold {fit.hole.symbol} in hole "{hole.name}": it is conical'
        given = f"{said.show(more)} wider at its wide end than the middle of the limits"
        allowed = f"at most {at_most((fit.hole.upper - fit.hole.lower) / 2, said)}"
        yield problem(hole.where, what, given, allowed, "use a reamer, or give the side shake instead")


def _check_side_shake(hole: Hole, pivot: Pivot, said: LengthFigures) -> Iterable[Problem]:
    if hole.now is None:
        return
    if hole.use == "as it is":
        yield from _check_as_it_is(hole, pivot, float(hole.now), said)
        return
    most = finished_diameter(hole, pivot) - hole.smoothing
    if hole.side_shake is not None:
        most -= pivot.diameter.likely - pivot.diameter.least
    if hole.use == "open" and hole.now > most + ROUNDING:
        what = f'hole "{hole.name}" is too large already to be opened to "{pivot.name}"'
        given = f"{said.show(hole.now)}; the pivot may be as thin as {said.show(pivot.diameter.least)}"
        fix = "use it as it is if that side shake will do; otherwise bush it, or make the pivot thicker"
        yield problem(hole.where, what, given, f"at most {at_most(most, said)} before the smoothing pass", fix)


def _check_as_it_is(hole: Hole, pivot: Pivot, now: float, said: LengthFigures) -> Iterable[Problem]:
    """Report a side shake that is not the one wanted in a hole that stays as it is, now mm."""
    shake, asked = _side_shake(hole, pivot, now), hole.side_shake
    wanted = (float(asked.least), float(asked.most)) if asked is not None else (0.0, math.inf)
    if shake.least < wanted[0] - ROUNDING or shake.most > wanted[1] + ROUNDING or shake.least <= 0:
        what = f'"{pivot.name}" does not suit hole "{hole.name}" as it is'
        given = f"side shake {said.between(shake.least, shake.most)} on the diameter"
        allowed = said.between(*wanted) if math.isfinite(wanted[1]) else "some side shake"
        yield problem(hole.where, what, given, allowed, "change the pivot, or open or bush the hole")


def _warnings(plan: HolePlan, pivot: Pivot, said: LengthFigures) -> Iterable[Problem]:
    hole = plan.hole
    broken = float(hole.edge_inside.size)
    if plan.edge_needed > broken + ROUNDING:
        what = f'the shoulder of "{pivot.name}" will not seat on the plate of hole "{hole.name}"'
        given = f"fillet {said.show(pivot.corner)}, edge of the hole broken by {said.show(broken)}"
        fix = "break the inside edge more, or turn an undercut; what it stands off is lost from the end shake"
        yield problem(hole.where, what, given, f"at least {said.at_least(plan.edge_needed)}", fix)
    if plan.contact < LEAST_CONTACT * plan.wall:
        what = f'"{pivot.name}" will bear on little of hole "{hole.name}"'
        given = f"{said.show(plan.contact)} of {said.show(plan.wall)}"
        fix = "a reamer, a broach of less taper, or opening from both sides makes it bear on more"
        yield problem(hole.where, what, given, f"{said.show(LEAST_CONTACT * plan.wall)} or more", fix)
    if pivot.length - pivot.end < hole.plate - hole.edge_outside.size - ROUNDING:
        given = f"parallel for {said.show(pivot.length - pivot.end)} from its shoulder"
        allowed = f"{said.show(hole.plate - hole.edge_outside.size)} and the end shake"
        fix = "make it longer; otherwise it wears a step into the hole"
        yield problem(hole.where, f'"{pivot.name}" ends inside hole "{hole.name}"', given, allowed, fix)
    if plan.ring < LEAST_RING:
        what = f'the shoulder of "{pivot.name}" meets the plate of hole "{hole.name}" on a narrow ring'
        fix = "break the edges less, or make the shoulder larger"
        yield problem(hole.where, what, said.show(plan.ring), f"{said.show(LEAST_RING)} or more", fix)
