"""What the ends of a span stand against: the pivots in their holes, and how far corners keep the shoulders off."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from cam.ground.problem import Problem, ProblemError
from cam.ground.tolerances import ROUNDING
from cam.lengths.figures import LengthFigures
from cam.lengths.holes import HolePlan, Pivot
from cam.lengths.limits import check_temperatures, check_tolerances
from cam.lengths.records import Actual
from cam.lengths.stand_off import NONE, Range, derive_stand_off, exactly
from cam.part.features import BEARING_ROLES, Corner
from cam.part.model import Part, Section
from cam.part.spans import Hole, Measurement, Span, StandOff


def pivot_of(part: Part, hole: Hole, records: Iterable[Actual]) -> Pivot:
    """Return the pivot or journal that runs in a hole, with the shoulder on which it stands.

    Raises:
        ProblemError: the section runs in no hole, or stands on no shoulder.
    """
    section = next(s for s in part.sections if s.name == hole.section)
    at = part.sections.index(section)
    before = part.sections[at - 1] if at else None
    after = part.sections[at + 1] if at + 1 < len(part.sections) else None
    if section.role not in BEARING_ROLES:
        given = f'"{section.name}" is a {section.role}'
        what, allowed = f'hole "{hole.name}" is for a section that runs in no hole', " or ".join(BEARING_ROLES)
        raise ProblemError([Problem(where=hole.where, what=what, given=given, allowed=allowed)])
    sides = (
        (before, section.corner_a, section.edge_b, before.edge_b if before else None),
        (after, section.corner_b, section.edge_a, after.edge_a if after else None),
    )
    for wall, corner, tip, edge in sides:
        if wall is not None and wall.thickest > section.thickest:
            return Pivot(
                name=section.name,
                nominal=float(section.diameter_a),
                diameter=_finished(section, records),
                length=float(section.length),
                end=tip.size if tip is not None else 0.0,
                corner=corner.radius if corner is not None else 0.0,
                shoulder=(wall.diameter_b if wall is before else wall.diameter_a) + _least(wall),
                shoulder_edge=edge,
            )
    what = f'hole "{hole.name}" is for "{section.name}", which stands on no shoulder'
    raise ProblemError([Problem(where=hole.where, what=what, fix="name a pivot or journal with a larger neighbour")])


def _least(section: Section) -> float:
    """Return the lower limit of a section's diameter, as an offset, mm."""
    return section.tolerance.lower if section.tolerance is not None else 0.0


def _finished(section: Section, records: Iterable[Actual]) -> Range:
    """Return the diameter of a finished section, mm: as recorded, if that is within its limits; else its limits."""
    nominal, limits = float(section.diameter_a), section.tolerance
    low, high = (nominal + limits.lower, nominal + limits.upper) if limits else (nominal, nominal)
    for record in records:
        own = record.target.what == "diameter" and record.target.of == section.name
        if own and (limits is None or low - ROUNDING <= record.value <= high + ROUNDING):
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
    for side, given, name in (("A", span.stand_off_a, span.hole_a), ("B", span.stand_off_b, span.hole_b)):
        neighbour, corner = _beside(part, span, side)
        plan = by_name.get(name)
        off = NONE
        if neighbour is None:
            pass
        elif given is not None:
            off = given
        elif plan is not None:
            if plan.hole.section != neighbour.name:
                problems.append(_wrong_hole(span, side, plan.hole, neighbour))
            more = plan.inside - plan.narrow
            clearance = Range(*(max((shake + more) / 2, 0.0) for shake in plan.side_shake))
            off = derive_stand_off(
                corner, clearance, plan.hole.edge_inside, nose=_nose(corner, noses), said=LengthFigures(part.unit)
            )
        elif corner is not None and corner.kind != "undercut" and not name:
            problems.append(_no_stand_off(span, side, neighbour, corner))
        found.append(off)
    return (found[0], found[1]), problems


def _nose(corner: Corner | None, noses: Collection[float]) -> Range | None:
    """Return the radius of the nose that will cut a corner, mm, as far as tools leave it open, likely the largest."""
    fitting = [r for r in noses if corner is not None and r <= corner.radius + ROUNDING]
    return Range(min(fitting), max(fitting), max(fitting)) if fitting else None


def _beside(part: Part, span: Span, side: str) -> tuple[Section | None, Corner | None]:
    """Return the section beyond one end of a span, and the corner that it has there."""
    names = [s.name for s in part.sections]
    at = names.index(span.first) - 1 if side == "A" else names.index(span.last) + 1
    if not 0 <= at < len(names):
        return None, None
    section = part.sections[at]
    return section, section.corner_b if side == "A" else section.corner_a


def _wrong_hole(span: Span, side: str, hole: Hole, neighbour: Section) -> Problem:
    return Problem(
        where=span.where,
        what=f'hole_{side.lower()} of span "{span.name}" is not the hole that runs there',
        given=f'hole "{hole.name}", which is for "{hole.section}"',
        allowed=f'the hole of "{neighbour.name}", beside that shoulder',
    )


def _no_stand_off(span: Span, side: str, neighbour: Section, corner: Corner) -> Problem:
    low = side.lower()
    return Problem(
        where=span.where,
        what=f'span "{span.name}" does not say how far the corner at its {side} side keeps the shoulder off',
        given=f'"{neighbour.name}" has a {corner.text} there',
        allowed=f'hole_{low} = the name of a [[hole]], or stand_off_{low} = "0 mm"',
        fix=f'where the edge of the hole is broken wider than the corner, write stand_off_{low} = "0 mm"',
        lacks=f"hole_{low}",
    )


def check_span(part: Part, span: Span, measurement: Measurement | None) -> Iterable[Problem]:
    """Check that a span runs from shoulder to shoulder, and that its limits and temperatures are given."""
    names = [s.name for s in part.sections]
    first, last = (part.sections[names.index(n)] for n in (span.first, span.last))
    for section, side, own in ((first, "A", first.diameter_a), (last, "B", last.diameter_b)):
        neighbour, _ = _beside(part, span, side)
        facing = 0.0 if neighbour is None else float(neighbour.diameter_b if side == "A" else neighbour.diameter_a)
        if neighbour is not None and facing >= own:
            yield Problem(
                where=span.where,
                what=f'span "{span.name}" does not {"begin" if side == "A" else "end"} at a shoulder',
                given=f'the {side} face of "{section.name}": "{neighbour.name}" beside it is no smaller',
                allowed="a face that can run against something: the neighbour there is smaller, or there is none",
                fix="name the section whose shoulder it is",
            )
    run = part.sections[names.index(span.first) : names.index(span.last) + 1]
    yield from check_tolerances(span, [(s.name, s.length_tolerance) for s in run])
    if measurement is not None:
        yield from check_temperatures(span, measurement, part.stock.material)
    if span.fitting_allowance > 0 and span.late is not None and _beside(part, span, span.late)[0] is None:
        what = f'the late shoulder of span "{span.name}" is the end of the part, which no setting cuts again'
        fix = "leave fitting_allowance out, or write the other end as late"
        yield Problem(where=span.fitting_allowance.where, what=what, fix=fix)
