"""What the ends of a span stand against: the pivots in their holes, and how far corners keep the shoulders off."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from cam.ground.frozen import Row
from cam.ground.problem import Problem, problem, refusal
from cam.ground.tolerances import ROUNDING
from cam.lengths.figures import LengthFigures
from cam.lengths.holes import HolePlan, Pivot
from cam.lengths.limits import check_temperatures, check_tolerances
from cam.lengths.records import Actual
from cam.lengths.stand_off import NONE, Range, derive_stand_off, exactly
from cam.part.features import BEARING_ROLES, Corner, Edge
from cam.part.model import Part, Section
from cam.part.spans import Hole, Measurement, Span, StandOff


def pivot_of(part: Part, hole: Hole, records: Iterable[Actual]) -> Pivot:
    """Return the pivot or journal that runs in a hole, with the shoulder on which it stands.

    Raises:
        ProblemError: the section runs in no hole, or stands on no shoulder.
    """
    section = next(s for s in part.sections if s.name == hole.section)
    if section.role not in BEARING_ROLES:
        given = f'"{section.name}" is a {section.role}'
        what, allowed = f'hole "{hole.name}" is for a section that runs in no hole', " or ".join(BEARING_ROLES)
        raise refusal(hole.where, what, given=given, allowed=allowed)
    for side, corner, tip in (("A", section.corner_a, section.edge_b), ("B", section.corner_b, section.edge_a)):
        wall = _beside(part, section.name, side)
        if wall is not None and wall.section.thickest > section.thickest:
            return Pivot(
                name=section.name, nominal=float(section.diameter_a), diameter=_finished(section, records),
                length=float(section.length), end=tip.size if tip is not None else 0.0,
                corner=corner.radius if corner is not None else 0.0, shoulder=wall.diameter + wall.section.lower,
                shoulder_edge=wall.edge,
            )  # fmt: skip
    what = f'hole "{hole.name}" is for "{section.name}", which stands on no shoulder'
    raise refusal(hole.where, what, fix="name a pivot or journal with a larger neighbour")


class _Beside(Row):
    """A neighbour of a section or a span; its diameter, corner and edge at the side where it touches."""

    section: Section
    diameter: float
    corner: Corner | None
    edge: Edge | None


def _beside(part: Part, name: str, side: str) -> _Beside | None:
    """Return the section beyond one side of another; None at the end of the part."""
    at = [s.name for s in part.sections].index(name) + (1 if side == "B" else -1)
    if not 0 <= at < len(part.sections):
        return None
    s = part.sections[at]
    if side == "A":
        return _Beside(s, float(s.diameter_b), s.corner_b, s.edge_b)
    return _Beside(s, float(s.diameter_a), s.corner_a, s.edge_a)


def _finished(section: Section, records: Iterable[Actual]) -> Range:
    """Return the diameter of a finished section, mm: as recorded, if that is not over its limits; else its limits.

    What is over them is not finished yet; what is under them has its hole made to it.
    """
    nominal, limits = float(section.diameter_a), section.tolerance
    low, high = (nominal + limits.lower, nominal + limits.upper) if limits else (nominal, nominal)
    for record in records:
        own = record.target.what == "diameter" and record.target.of == section.name
        if own and (limits is None or record.value <= high + ROUNDING):
            return exactly(record.value)
    return Range(low, (low + high) / 2, high)


def stand_offs(
    part: Part, span: Span, plans: Iterable[HolePlan], noses: Collection[float] = ()
) -> tuple[tuple[StandOff, StandOff], list[Problem]]:
    """Return how far the corners at both ends of a span keep its shoulders off, mm; zero at an end of the part.

    Args:
        noses: nose radii of the tools that there are, mm; none where they are not known.
    """
    found, problems = [], list[Problem]()
    by_name = {p.hole.name: p for p in plans}
    for side, given, name, hole in (
        ("A", span.stand_off_a, span.first, span.hole_a),
        ("B", span.stand_off_b, span.last, span.hole_b),
    ):
        beside, plan = _beside(part, name, side), by_name.get(hole)
        off = NONE
        if beside is not None and given is not None:
            off = given
        elif beside is not None and plan is not None:
            if plan.hole.section != beside.section.name:
                problems.append(_wrong_hole(span, side, plan.hole, beside.section))
            off = _derived(plan, beside.corner, noses, LengthFigures(part.unit))
        elif beside is not None and not hole:
            problems += _check_given(span, side, beside, part.unit)
        found.append(off)
    return (found[0], found[1]), problems


def _derived(plan: HolePlan, corner: Corner | None, noses: Collection[float], said: LengthFigures) -> StandOff:
    """Return how far a corner keeps its shoulder off the plate that a hole is in, mm."""
    more = plan.inside - plan.narrow
    clearance = Range(*(max((shake + more) / 2, 0.0) for shake in plan.side_shake))
    return derive_stand_off(corner, clearance, plan.hole.edge_inside, nose=_nose(corner, noses), said=said)


def _nose(corner: Corner | None, noses: Collection[float]) -> Range | None:
    """Return the radius of the nose that will cut a corner, mm, as far as tools leave it open, likely the largest."""
    fitting = [r for r in noses if corner is not None and r <= corner.radius + ROUNDING]
    return Range(min(fitting), max(fitting), max(fitting)) if fitting else None


def _wrong_hole(span: Span, side: str, hole: Hole, neighbour: Section) -> Problem:
    what = f'hole_{side.lower()} of span "{span.name}" is not the hole that runs there'
    allowed = f'the hole of "{neighbour.name}", beside that shoulder'
    return problem(span.where, what, f'hole "{hole.name}", which is for "{hole.section}"', allowed)


def _check_given(span: Span, side: str, beside: _Beside, unit: str) -> Iterator[Problem]:
    """Check that nothing keeps the shoulder off where a span says neither how far nor at which hole."""
    low, corner = side.lower(), beside.corner
    if corner is None or corner.kind == "undercut":
        return
    what = f'span "{span.name}" does not say how far the corner at its {side} side keeps the shoulder off'
    allowed = f'hole_{low} = the name of a [[hole]], or stand_off_{low} = "0 {unit}"'
    fix = f'where the edge of the hole is broken wider than the corner, write stand_off_{low} = "0 {unit}"'
    given = f'"{beside.section.name}" has a {corner.text} there'
    yield Problem(where=span.where, what=what, given=given, allowed=allowed, fix=fix, lacks=f"hole_{low}")


def check_span(part: Part, span: Span, measurement: Measurement) -> Iterable[Problem]:
    """Check that a span runs from shoulder to shoulder, and that its limits and temperatures are given."""
    first, last = span.faces([s.name for s in part.sections])
    run = part.sections[first:last]
    for section, side, own in ((run[0], "A", run[0].diameter_a), (run[-1], "B", run[-1].diameter_b)):
        beside = _beside(part, section.name, side)
        if beside is not None and beside.diameter >= own:
            yield Problem(
                where=span.where,
                what=f'span "{span.name}" does not {"begin" if side == "A" else "end"} at a shoulder',
                given=f'the {side} face of "{section.name}": "{beside.section.name}" beside it is no smaller',
                allowed="a face that can run against something: the neighbour there is smaller, or there is none",
                fix="name the section whose shoulder it is",
            )
    yield from check_tolerances(span, [(s.name, s.length_tolerance) for s in run], part.unit)
    yield from check_temperatures(span, measurement, part.stock.material)
    ends = {"A": first == 0, "B": last == len(part.sections)}
    if span.fitting_allowance > 0 and span.late is not None and ends[span.late]:
        what = f'the late shoulder of span "{span.name}" is the end of the part, which no setting cuts again'
        fix = "leave fitting_allowance out, or write the other end as late"
        yield Problem(where=span.fitting_allowance.where, what=what, fix=fix)
