"""A part with its spans: lengths solved, what is to be measured, and the part as it is to be cut in each setting.

One part has three faces here. The *finished* part, with every record taken in, is what the sheets show. What the
*first setting* cuts follows from what was known before it: a measurement taken after it counts as not taken even once
it is recorded, so that its program never changes after it was run. What the *second setting* cuts follows
from everything, the real faces that the first one left included.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from cam.ground.drills import Drill, drills_by_size, metric_drills
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError
from cam.ground.quantity import Quantity
from cam.ground.tolerances import ROUNDING
from cam.ground.units import show_length
from cam.lengths.behind import rest_on, tell_records
from cam.lengths.chain import Chain, Equation, Member, Solved, gather_equations, solve_chain
from cam.lengths.figures import Figures
from cam.lengths.holes import HolePlan, Pivot, plan_hole
from cam.lengths.journal import how_to_withdraw
from cam.lengths.limits import (
    Contributor,
    SpanLimits,
    Verdict,
    check_temperatures,
    check_tolerances,
    judge_length,
    length_errors,
    predict_span,
    shoulder_errors,
)
from cam.lengths.records import Actual, Records, Target, find_target, read_actual, targets
from cam.lengths.stand_off import CORNERS, NONE, Range, check_stand_off, derive_stand_off, exactly
from cam.part.features import BEARING_ROLES, Corner, End
from cam.part.model import Part, Section
from cam.part.read_spans import Tables
from cam.part.spans import Hole, Measurement, Span, StandOff, Uncertainty

NAN = math.nan


@frozen
class Measured:
    """What the chain knows of a part.

    Attributes:
        measurements: as they stand: the log's reading where it has one, else the part file's.
        spans, holes: as in the part file.
        members: sections with their given lengths. total: of the whole part, if given.
        stand_offs: of the corners at the A and B side of each span.
        pivots: of each hole. plans: of the holes, in the file's order.
        records: those of the log that stand and can be used, in its order.
        log: as read; None if there is none.
        chain: solved with everything that is known.
    """

    measurements: tuple[Measurement, ...]
    spans: tuple[Span, ...]
    holes: tuple[Hole, ...]
    members: tuple[Member, ...]
    total: Quantity | None
    stand_offs: dict[str, tuple[StandOff, StandOff]]
    pivots: dict[str, Pivot]
    plans: tuple[HolePlan, ...]
    records: tuple[Actual, ...]
    log: Records | None
    chain: Chain

    @property
    def actuals(self) -> tuple[Actual, ...]:
        """Records of finished sizes."""
        return tuple(r for r in self.records if r.target.kind == "actual")

    @property
    def stops(self) -> tuple[Actual, ...]:
        """Records of what gauging stops read by which last cuts are to be corrected."""
        return tuple(r for r in self.records if r.target.kind == "stop reading" and r.use == "last cut")

    @property
    def diameters(self) -> dict[str, float]:
        """Actual diameters, mm, by section."""
        return {a.target.of: a.value for a in self.actuals if a.target.what == "diameter"}

    @property
    def changes(self) -> bool:
        """Whether the second setting is planned from something that the first did not know."""
        return bool(self.actuals) or any(m.after for m in self.measurements)

    def measurement(self, span: Span) -> Measurement:
        """The measurement that a span rests on."""
        return next(m for m in self.measurements if m.name == span.measurement)

    def solve(self, *, early: bool = False, faces: Collection[int] | None = None) -> Chain:
        """Solve the chain anew.

        Args:
            early: as before the first setting: what is measured after it is to be measured, nothing is cut.
            faces: actual lengths count only between these; None for all.
        """
        taken = {m.name: replace(m, readings=()) if early and m.after else m for m in self.measurements}
        real = [] if early else [a for a in self.actuals if a.target.start >= 0]
        if faces is not None:
            real = [a for a in real if a.target.start in faces and a.target.end in faces]
        found = gather_equations(self.members, self.spans, taken, self.stand_offs, total=self.total)
        return solve_chain(self.members, (*(_equation(a) for a in real), *found))


def measured_of(part: Part) -> Measured | None:
    """What the chain knows of a part; None for a part without spans, holes and log."""
    found = part.measured
    assert found is None or isinstance(found, Measured)
    return found


def _equation(actual: Actual) -> Equation:
    target, half = actual.target, 0.0 if math.isnan(actual.half) else actual.whole_half
    return Equation("actual", actual.name, target.start, target.end, actual.value, "", half, actual.where, actual.where)


# Reading --------------------------------------------------------------------------------------------------


def settle_measured(
    part: Part, tables: Tables, given: tuple[Quantity | None, ...], total: Quantity | None, log: Records | None
) -> tuple[Part, list[Problem]]:
    """Solve a part's lengths and plan its holes.

    Args:
        part: with nan for every length that is not given. given: lengths as written. log: its records.

    Returns:
        The part with its lengths, nan where they are to be measured, and everything that is wrong.
    """
    sections, problems = part.sections, list[Problem]()
    names = targets(sections, tables.measurements, tables.spans)
    records, warnings = _read_log(part.path, names, log)
    taken = tuple(_with_record(m, records) for m in tables.measurements)
    pivots = {}
    plans = []
    for hole in tables.holes:
        try:
            pivots[hole.name] = pivot = _pivot_of(part, hole, records)
            plans.append(plan_hole(hole, pivot, _drills(part), Figures(part.unit)))
        except ProblemError as found:
            own = [r for r in records if r.target.what == "diameter" and r.target.of == hole.section]
            problems += [rest_on(p, part.path, own) for p in found.problems]
    offs = {}
    for span in tables.spans:
        offs[span.name], more = _stand_offs(part, span, plans)
        problems += more
        problems += _check_span(part, span, next((m for m in taken if m.name == span.measurement), None))
        warnings += check_stand_off(span, *offs[span.name], Figures(part.unit))
    members = tuple(Member(s.name, length, s.where) for s, length in zip(sections, given, strict=True))
    if problems:
        return part, problems
    measured = Measured(
        measurements=taken, spans=tables.spans, holes=tables.holes, members=members, total=total, stand_offs=offs,
        pivots=pivots, plans=tuple(plans), records=records, log=log,
        chain=Chain(lengths=(), expected={}, finished=()),
    )  # fmt: skip
    try:
        measured.solve(early=True)
        measured = replace(measured, chain=measured.solve())
    except ProblemError as found:
        return part, [*problems, *found.problems]
    whole = place(replace(part, measured=measured), measured, measured.chain)
    measured, more = _plan_holes_again(whole, measured)
    whole = replace(whole, measured=measured)
    more = tell_records(whole, measured, [*more, *_too_short(whole, measured)])
    return replace(whole, warnings=tuple(sorted({*warnings, *more}))), problems


def _too_short(part: Part, measured: Measured) -> Iterable[Problem]:
    """Spans that are cut, and came out too short."""
    if not measured.chain.finished:
        return
    for report in report_spans(part, "B"):
        if report.verdict is not None and report.verdict.state == "short" and report.limits is not None:
            shake, said = report.span.shake, Figures(part.unit)
            yield Problem(
                where=report.span.where,
                what=report.verdict.text,
                given=f"recorded length {said.show(report.limits.length)}",
                allowed=f"{said.show(shake.least)} to {said.show(shake.most)} end shake",
                fix=f"scrap, or write the washer as a [[span.loose]] of {said.show(report.verdict.amount)}",
            )


def with_noses(part: Part, radii: Iterable[float]) -> Part:
    """The part with its corners as the tool noses that there are will leave them, and its lengths anew.

    Args:
        radii: of the noses that may cut a corner, mm. A corner is cut by one no larger than it may be.

    Raises:
        ProblemError: no length is left for a section.
    """
    measured = measured_of(part)
    if measured is None or not measured.spans:
        return part
    offs = {s.name: _stand_offs(part, s, measured.plans, tuple(radii))[0] for s in measured.spans}
    if offs == measured.stand_offs:
        return part
    measured = replace(measured, stand_offs=offs)
    measured = replace(measured, chain=measured.solve())
    warnings = {w for w in part.warnings if w.kind != CORNERS}
    for span in measured.spans:
        warnings |= set(check_stand_off(span, *offs[span.name], Figures(part.unit)))
    return place(replace(part, measured=measured, warnings=tuple(sorted(warnings))), measured, measured.chain)


def _read_log(part: str, names: dict[str, Target], log: Records | None) -> tuple[tuple[Actual, ...], list[Problem]]:
    """The standing records, and what there is to say of those that cannot be used."""
    if log is None:
        return (), []
    found, warnings = [], list(log.warnings())
    for entry in log.standing:
        where = entry.where
        try:
            target = find_target(entry.name, names, where)
            found.append(read_actual(entry.name, entry.value, target, where))
        except ProblemError as error:
            how = how_to_withdraw(part, [where])
            warnings += [
                replace(p, what=f"this record is not used: {p.what}", fix=f"{p.fix}; {how}" if p.fix else how)
                for p in error.problems
            ]
    return tuple(found), warnings


def _with_record(measurement: Measurement, records: Iterable[Actual]) -> Measurement:
    """A measurement with the readings of the log, where it has any."""
    for record in records:
        if record.target.what == "measurement" and record.target.of == measurement.name:
            doubt = measurement.uncertainty
            if not math.isnan(record.half):
                doubt = Uncertainty(record.half, "limit", f"±{show_length(record.half)}", record.where)
            return replace(measurement, readings=record.readings, along=record.along, uncertainty=doubt)
    return measurement


def _plan_holes_again(part: Part, measured: Measured) -> tuple[Measured, list[Problem]]:
    """The holes with the lengths that are solved by now, and their warnings."""
    pivots = {h.name: _pivot_of(part, h, measured.actuals) for h in measured.holes}
    plans = tuple(plan_hole(h, pivots[h.name], _drills(part), Figures(part.unit)) for h in measured.holes)
    return replace(measured, pivots=pivots, plans=plans), [w for p in plans for w in p.warnings]


def _drills(part: Part) -> tuple[Drill, ...]:
    """The drills that the part's maker will have: metric ones; in inches also by number, letter and 64ths."""
    return metric_drills() if part.unit == "mm" else drills_by_size()


# Holes and corners ----------------------------------------------------------------------------------------


def _pivot_of(part: Part, hole: Hole, records: Iterable[Actual]) -> Pivot:
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
    """Lower limit of a section's diameter, as an offset, mm."""
    return section.tolerance.lower if section.tolerance is not None else 0.0


def _finished(section: Section, records: Iterable[Actual]) -> Range:
    """Diameter of a section once finished: as recorded, if that is within its limits; else its limits."""
    nominal, limits = float(section.diameter_a), section.tolerance
    low, high = (nominal + limits.lower, nominal + limits.upper) if limits else (nominal, nominal)
    for record in records:
        own = record.target.what == "diameter" and record.target.of == section.name
        if own and (limits is None or low - ROUNDING <= record.value <= high + ROUNDING):
            return exactly(record.value)
    return Range(low, (low + high) / 2, high)


def _stand_offs(
    part: Part, span: Span, plans: Iterable[HolePlan], noses: Collection[float] = ()
) -> tuple[tuple[StandOff, StandOff], list[Problem]]:
    """How far the corners at both ends of a span keep its shoulders off; nothing for an end of the part.

    Args:
        noses: radii of the tools that there are, mm; none where they are not known.
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
                corner, clearance, plan.hole.edge_inside, nose=_nose(corner, noses), said=Figures(part.unit)
            )
        elif corner is not None and corner.kind != "undercut" and not name:
            problems.append(_no_stand_off(span, side, neighbour, corner))
        found.append(off)
    return (found[0], found[1]), problems


def _nose(corner: Corner | None, noses: Collection[float]) -> Range | None:
    """Radius of the nose that will cut a corner, within what the tools leave open; the largest is taken as likely."""
    fitting = [r for r in noses if corner is not None and r <= corner.radius + ROUNDING]
    return Range(min(fitting), max(fitting), max(fitting)) if fitting else None


def _beside(part: Part, span: Span, side: str) -> tuple[Section | None, Corner | None]:
    """The section beyond one end of a span, and the corner that it has there."""
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


def _check_span(part: Part, span: Span, measurement: Measurement | None) -> Iterable[Problem]:
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


# The part in each setting ---------------------------------------------------------------------------------


def place(part: Part, measured: Measured, chain: Chain, shifts: Mapping[int, float] | None = None) -> Part:
    """The part with the lengths of a chain; nan where they are to be measured.

    Args:
        shifts: face -> how much further from the A end it is left, mm.
    """
    names = [s.name for s in chain.lengths]
    faces: list[float] = [0.0]
    for name in names:
        total = chain.total(names[0], name)
        faces.append(NAN if total is None else total)
    for face, shift in (shifts or {}).items():
        faces[face] += shift
    sections = tuple(
        replace(s, start=start, end=end, length=_length(part, member, solved, end - start))
        for s, start, end, member, solved in zip(
            part.sections, faces, faces[1:], measured.members, chain.lengths, strict=False
        )
    )
    return replace(part, sections=_with_limits(sections, measured.spans), to_be_measured=chain.to_be_measured)


def _with_limits(sections: tuple[Section, ...], spans: Iterable[Span]) -> tuple[Section, ...]:
    """The tolerance of a span as the limits of its late shoulder, which the section beyond it ends in."""
    names = [s.name for s in sections]
    limits = {}
    for span in spans:
        at = names.index(span.first) - 1 if span.late == "A" else names.index(span.last) + 1
        if span.tolerance is not None and 0 <= at < len(names):
            limits[names[at]] = span.tolerance
    return tuple(
        replace(s, length_tolerance=limits[s.name]) if s.length_tolerance is None and s.name in limits else s
        for s in sections
    )


def _length(part: Part, member: Member, solved: Solved, as_placed: float) -> Quantity:
    if member.length is not None and solved.value is not None and abs(solved.value - member.length) < ROUNDING:
        known = member.length
        return (
            known if math.isnan(as_placed) or abs(as_placed - known) < ROUNDING else _quantity(part, as_placed, member)
        )
    if solved.value is None:
        return Quantity(NAN, f"to be measured: {', '.join(solved.to_be_measured)}", member.where)
    value = solved.value if math.isnan(as_placed) else as_placed
    cut = len(solved.terms) == 1 and solved.terms[0].equation.kind == "actual"
    return _quantity(part, value, member, "as cut" if cut else "solved")


def _quantity(part: Part, value: float, member: Member, how: str = "with its allowance") -> Quantity:
    shown = show_length(value, part.unit, 4 if part.unit == "in" else 3, trim=True)
    return Quantity(value, f"{shown} ({how})", member.where)


def _allowances(part: Part, measured: Measured, second: End) -> dict[int, float]:
    """Face -> fitting allowance left on it; towards the end that it faces."""
    names = [s.name for s in part.sections]
    found: dict[int, float] = {}
    for span in measured.spans:
        late = span.late or second
        face = names.index(span.last) + 1 if late == "B" else names.index(span.first)
        if span.fitting_allowance > 0 and 0 < face < len(names):
            sign = 1 if late == "B" else -1
            size = max(float(span.fitting_allowance), abs(found.get(face, 0.0)))
            found[face] = sign * size
    return found


def first_view(part: Part, second: End) -> Part:
    """The part as the first setting is to cut it: by what was known before, fitting allowances left on.

    Args:
        second: the end that is turned second.
    """
    measured = measured_of(part)
    assert measured is not None
    chain = measured.solve(early=True) if measured.changes else measured.chain
    return place(part, measured, chain, _allowances(part, measured, second))


def second_view(part: Part, second: End, faces: Collection[int]) -> Part:
    """The part as the second setting is to cut it, from the faces that the first one really left.

    Args:
        faces: numbers of the faces that exist after the first setting; face 0 is the A end.

    Raises:
        ProblemError: no length is left for a section.
    """
    measured = measured_of(part)
    assert measured is not None
    return place(part, measured, measured.solve(faces=faces), _allowances(part, measured, second))


# Limits ---------------------------------------------------------------------------------------------------


class SpanReport(Row):
    """A span and what is to be expected of it.

    Attributes:
        span: the span. measured: its measurement. stand_offs: of its corners.
        limits: predicted; None while the measurement or a length is to be measured.
        verdict: on a run whose length is recorded; None before.
    """

    span: Span
    measured: Measurement
    stand_offs: tuple[StandOff, StandOff]
    limits: SpanLimits | None
    verdict: Verdict | None


def report_spans(part: Part, second: End) -> tuple[SpanReport, ...]:
    """Every span with its limits, in the file's order.

    Args:
        part: finished, as read. second: the end that is turned second.
    """
    measured = measured_of(part)
    if measured is None:
        return ()
    return tuple(_report(part, measured, span, second) for span in measured.spans)


def _report(part: Part, measured: Measured, span: Span, second: End) -> SpanReport:
    taken, offs = measured.measurement(span), measured.stand_offs[span.name]
    length = measured.chain.total(span.first, span.last)
    if not taken.taken or length is None:
        return SpanReport(span, taken, offs, None, None)
    names = [s.name for s in part.sections]
    first, last = names.index(span.first), names.index(span.last) + 1
    finished = any(e.name == span.name and e.kind == "span" for e, _ in measured.chain.finished)
    errors: tuple[Contributor, ...] = ()
    if not finished:
        errors = shoulder_errors(span, [(s.name, s.length_tolerance) for s in part.sections[first:last]])
    for actual in measured.actuals:
        inside = first <= actual.target.start and actual.target.end <= last
        if inside and not math.isnan(actual.half):
            doubt = Uncertainty(actual.whole_half, "limit", "", actual.where)
            errors += length_errors(actual.name, doubt)
    limits = predict_span(span, taken, length, offs, errors, part.stock.material, second, Figures(part.unit))
    return SpanReport(span, taken, offs, limits, judge_length(limits, Figures(part.unit)) if finished else None)
