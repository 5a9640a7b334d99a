"""Solves a part's lengths, once, from what its file asks for, the noses that cut its corners, and its log."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from os import PathLike

from cam.ground.drills import Drill, drills_by_size, metric_drills
from cam.ground.frozen import widened
from cam.ground.problem import Problem, ProblemError, problem
from cam.ground.source import Source
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import show_length
from cam.lengths.behind import rest_on, tell_records
from cam.lengths.chain import Chain, Member, is_cut
from cam.lengths.figures import LengthFigures
from cam.lengths.holes import HolePlan, Pivot, plan_hole
from cam.lengths.journal import how_to_withdraw
from cam.lengths.likely import check_written
from cam.lengths.records import Actual, Records, Target, find_target, read_actual, targets, with_limits
from cam.lengths.seats import check_span, pivot_of, stand_offs
from cam.lengths.solved import Limited, Measured, Solved, length_limits, place
from cam.lengths.span_report import DOUBT, doubt_of, report_spans
from cam.lengths.stand_off import CORNERS, check_stand_off
from cam.part import Asked, Part, asked_of, read_asked
from cam.part.checks import CHECKS
from cam.part.details import ask_units
from cam.part.features import End
from cam.part.model import Section
from cam.part.spans import Hole, Measurement, Measuring, Uncertainty


def read_part(path: str | PathLike[str], log: Records | None = None) -> Solved:
    """Read a part file, solve its lengths and check it by itself, whatever shop it will be cut in.

    Args:
        path: a TOML file in the form of part.schema.json.
        log: what was recorded of the part; None for nothing.

    Returns:
        The part; its sections in order from the A end, all sizes in mm.

    Raises:
        ProblemError: everything that is wrong with the file, at once.
    """
    return solve(read_asked(path), log=log)


def part_of(source: Source, log: Records | None = None) -> Solved:
    """Read a part, as `read_part` does, from a text that is already in hand.

    Raises:
        ProblemError: as for `read_part`.
    """
    return solve(asked_of(source), log=log)


def solve(asked: Asked, noses: Collection[float] = (), log: Records | None = None) -> Solved:
    """Solve the lengths of a part, plan its holes, and check it by itself.

    Args:
        asked: what its file asks for.
        noses: radii of the tool noses that there are, mm; a corner is cut by one no larger than it may be. Empty where
            the shop is not known: a corner may then come out with any.
        log: what was recorded of the part; None for nothing.

    Returns:
        The part; lengths that are to be measured, and what follows from them, are nan.

    Raises:
        ProblemError: everything that is wrong with the part, at once.
    """
    problems = list(asked.problems)
    if asked.part is None:
        raise ProblemError(problems)
    part = widened(asked.part, Solved)
    if asked.measuring is not None and not (log is None and asked.measuring.nothing):
        part, more = _take_measurements(part, asked.measuring, log)
        problems += more
    found = [problem for check in CHECKS for problem in check(part)]
    problems += tell_records(part, list(ask_units(part, found)))
    if problems:
        raise ProblemError(problems)
    return _with_doubts(_with_noses(part, noses))


def _take_measurements(part: Solved, tables: Measuring, log: Records | None) -> tuple[Solved, list[Problem]]:
    """Return the part with its lengths, nan where they are to be measured, and its holes; and all that is wrong."""
    records, warnings = _read_log(part.path, targets(part.sections, tables.measurements, tables.spans), log)
    warnings += _warn_of_thin(part, records)
    taken = tuple(_with_record(m, records) for m in tables.measurements)
    pivots, plans, problems = _plan_holes(part, tables.holes, records)
    offs = {}
    for span in tables.spans:
        offs[span.name], more = stand_offs(part, span, plans)
        problems += more
        problems += check_span(part, span, next(m for m in taken if m.name == span.measurement))
        warnings += check_stand_off(span, *offs[span.name], LengthFigures(part.unit))
    problems += [p for m in tables.measurements for p in check_written(m)]
    members = tuple(Member(s.name, length, s.where) for s, length in zip(part.sections, tables.lengths, strict=True))
    if problems:
        return part, problems
    measured = Measured(
        measurements=taken, spans=tables.spans, holes=tables.holes, members=members, total=tables.total,
        stand_offs=offs, pivots=pivots, plans=tuple(plans), records=records, log=log,
        chain=Chain(lengths=(), expected={}, finished=()), unit=part.unit,
        limits=tuple(s.length_tolerance for s in part.sections),
    )  # fmt: skip
    try:
        measured.solve(early=True)
        measured = replace(measured, chain=measured.solve())
    except ProblemError as found:
        return part, [*problems, *found.problems]
    whole = place(replace(part, measured=measured), measured, measured.chain)
    measured, more = _plan_holes_again(whole, measured)
    whole = replace(whole, measured=measured)
    more = tell_records(whole, [*more, *_warn_of_cut(whole, measured)])
    return replace(whole, warnings=tuple(sorted({*warnings, *more}))), problems


def _plan_holes(
    part: Solved, holes: Iterable[Hole], records: tuple[Actual, ...]
) -> tuple[dict[str, Pivot], list[HolePlan], list[Problem]]:
    """Return the pivot of each hole, its plan, and all that is wrong with them."""
    pivots, plans, problems = dict[str, Pivot](), list[HolePlan](), list[Problem]()
    for hole in holes:
        try:
            pivots[hole.name] = pivot = pivot_of(part, hole, records)
            plans.append(plan_hole(hole, pivot, _drills(part), LengthFigures(part.unit)))
        except ProblemError as found:
            own = [r for r in records if r.target.what == "diameter" and r.target.of == hole.section]
            problems += [rest_on(p, part.path, own) for p in found.problems]
    return pivots, plans, problems


CUT = "spans that are cut"
"""The kind of warnings of what was recorded as cut."""


def solve_cut(part: Solved, stay: Sequence[int]) -> Solved:
    """Return a part as it comes out by what is recorded as cut, with warnings of spans that will not be as wanted.

    Args:
        part: as `solve` returns it.
        stay: the faces that setting 1 cuts, in the order in which they come from its end; see `Measured.solve`.

    Raises:
        ProblemError: no length is left for a section.
    """
    measured = part.measured
    if measured is None:
        return part
    measured = replace(measured, chain=measured.solve(stay=stay))
    second: End = "A" if stay[0] else "B"
    whole = place(replace(part, measured=measured), measured, measured.chain, second)
    found = tell_records(whole, _warn_of_cut(whole, measured))
    whole = replace(whole, warnings=tuple(sorted({*(w for w in part.warnings if w.kind != CUT), *found})))
    return _with_doubts(whole)


def _with_doubts(part: Solved) -> Solved:
    """Return a part with warnings of the spans that may bind, or may well miss the end shake wanted."""
    told = {w.where for w in part.warnings if w.kind == CUT}
    reports = (r for r in report_spans(part, "B") if r.span.where not in told)
    found = (w for r in reports for w in doubt_of(r, LengthFigures(part.unit)))
    known = (w for w in part.warnings if w.kind != DOUBT)
    return replace(part, warnings=tuple(sorted({*known, *tell_records(part, list(found))})))


def _warn_of_cut(part: Solved, measured: Measured) -> Iterable[Problem]:
    """Warn of spans that came out too short or cannot be as wanted, lengths past limits, records that disagree."""
    said = LengthFigures(part.unit)
    for report in report_spans(part, "B"):
        if report.limits is None:
            continue
        shake, given = report.span.shake, f"recorded length {said.show(report.limits.length)}"
        allowed = f"{said.show(shake.least)} to {said.show(shake.most)} end shake"
        if report.verdict is not None and report.verdict.state == "short":
            fix = f"scrap, or write the washer as a [[span.loose]] of {said.show(report.verdict.amount)}"
            yield problem(report.span.where, report.verdict.text, given, allowed, fix, CUT)
        elif any(e.name == report.span.name for e, _ in measured.chain.missed) and not report.limits.near:
            what = f'span "{report.span.name}" comes to {said.show(report.limits.shake)} end shake by what is recorded'
            fix = f'measure and record the others too, or "{report.span.name} span" over both its shoulders'
            yield problem(report.span.where, what, f"{given}, what is not recorded as planned", allowed, fix, CUT)
    yield from _warn_of_lengths(part, measured)
    yield from (replace(p, kind=CUT) for p in measured.chain.apart)


def _warn_of_lengths(part: Solved, measured: Measured) -> Iterator[Problem]:
    """Warn of lengths between faces that are cut, one of them recorded at least, that are past limits of their own."""
    limited = length_limits(part)
    for section, solved in zip(part.sections, measured.chain.lengths, strict=True):
        if section.name in limited and solved.value is not None and is_cut(solved.terms):
            sure = not any(t.equation.kind == "planned" for t in solved.terms)
            yield from _past_limits(section, solved.value, limited[section.name], LengthFigures(part.unit), sure=sure)


def _past_limits(
    section: Section, value: float, limits: Limited, said: LengthFigures, *, sure: bool
) -> Iterator[Problem]:  # fmt: skip
    """Warn of a length that is past its limits. value: what it comes to, mm; sure: both its faces are recorded."""
    short = value < limits.least
    past = limits.least - value if short else value - limits.most
    if past <= AS_GIVEN:
        return
    end, fix = f"over its most, {said.show(limits.most)}", f"{said.show(past)} at least is to come off a face of it"
    if short:
        end, fix = f"under its least, {said.show(limits.least)}", "scrap, unless a face beyond it is cut further too"
    what = f'"{section.name}" comes to {said.show(value)} long by what is recorded, {end}'
    given = "" if sure else "its other shoulder as planned"
    if not sure:
        fix = f"measure and record its other shoulder too; if that is as planned, {fix}"
    yield problem(section.where, what, given, f"{said.bare(limits.least)} to {said.show(limits.most)}", fix, CUT)


def _warn_of_thin(part: Part, records: Iterable[Actual]) -> Iterator[Problem]:
    """Warn of finished sections that are recorded under their limits, as nothing brings those back."""
    said = LengthFigures(part.unit)
    for record in records:
        limited = with_limits(record, part.sections)
        if limited is not None and record.value < limited[1] - AS_GIVEN:
            section, least, _ = limited
            what, fix = f'"{section.name}" is recorded under its least', "scrap, unless its page says otherwise"
            yield problem(record.where, what, said.show(record.value), f"{said.show(least)} or more", fix)


def _with_noses(part: Solved, radii: Collection[float]) -> Solved:
    """Return the part with its corners as the tool noses that there are will leave them, and lengths to suit."""
    measured = part.measured
    if measured is None or not measured.spans:
        return part
    offs = {s.name: stand_offs(part, s, measured.plans, radii)[0] for s in measured.spans}
    if offs == measured.stand_offs:
        return part
    measured = replace(measured, stand_offs=offs)
    measured = replace(measured, chain=measured.solve())
    warnings = {w for w in part.warnings if w.kind != CORNERS}
    for span in measured.spans:
        warnings |= set(check_stand_off(span, *offs[span.name], LengthFigures(part.unit)))
    return place(replace(part, measured=measured, warnings=tuple(sorted(warnings))), measured, measured.chain)


def _read_log(part: str, names: dict[str, Target], log: Records | None) -> tuple[tuple[Actual, ...], list[Problem]]:
    """Return the records that stand, and report those that cannot be used."""
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
    """Return a measurement with the readings of the log, where it has any."""
    for record in records:
        if record.target.what == "measurement" and record.target.of == measurement.name:
            doubt = measurement.uncertainty
            if not math.isnan(record.half):
                doubt = Uncertainty(record.half, "limit", f"±{show_length(record.half)}", record.where)
            return replace(measurement, readings=record.readings, along=record.along, uncertainty=doubt)
    return measurement


def _plan_holes_again(part: Solved, measured: Measured) -> tuple[Measured, list[Problem]]:
    """Return the holes, planned with the lengths that are solved by now, and their warnings."""
    pivots = {h.name: pivot_of(part, h, measured.actuals) for h in measured.holes}
    plans = tuple(plan_hole(h, pivots[h.name], _drills(part), LengthFigures(part.unit)) for h in measured.holes)
    return replace(measured, pivots=pivots, plans=plans), [w for p in plans for w in p.warnings]


def _drills(part: Part) -> tuple[Drill, ...]:
    """Return the drills that the part's maker will have: metric ones; in inches also by number, letter and 64ths."""
    return metric_drills() if part.unit == "mm" else drills_by_size()
