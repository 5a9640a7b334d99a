"""Pages for what was measured: where the lengths come from, holes for the pivots, what is measured next."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from pathlib import PurePath

from cam.ground.figures import Figures, Unit
from cam.ground.problem import Problem
from cam.lengths.figures import LengthFigures as Said
from cam.lengths.hole_page import SPRING, hole_steps
from cam.lengths.holes import HolePlan, Pivot
from cam.lengths.limits import taken_words
from cam.lengths.probability import root_sum_square, worst_case
from cam.lengths.records import targets
from cam.lengths.solved import Solved
from cam.lengths.span_report import SpanReport, doubt_of, report_spans, show_chance
from cam.lengths.sums import how_to_record, word_of
from cam.lengths.thermal import REFERENCE, at_reference
from cam.part.spans import THREE, Along, Measurement, Span, Uncertainty, standard_of_mean
from cam.plan.model import Plan
from cam.setting.measured import second_end
from posts.pages.after import counted_from, faced_back, record_name, shoulders_of
from posts.pages.bench import UNITS
from posts.pages.blocks import BLANK, Block, Caution, FigureTable, Head, Page, PageKind, Words
from posts.pages.foot import foot_of
from posts.pages.lists import listed, sentence
from posts.wording import plain


def span_pages(plan: Plan, figures: Figures) -> list[Page]:
    """Make the page of the spans; none where nothing was measured."""
    measured = plan.part.measured
    if measured is None or not measured.spans:
        return []
    said = Said(figures.unit)
    blocks: list[Block] = [Words(words=_all(figures.unit), mark="")]
    for report in report_spans(plan.part, second_end([p.setting for p in plan.settings])):
        blocks += _span(report, said, faced_back(plan.part))
    first, *later = [p.setting for p in plan.settings]
    if words := counted_from(plan.part, first, later[0] if later else None, figures):
        blocks.append(Caution(words=plain(sentence(words))))
    for name, value in sorted(measured.chain.expected.items()):
        words = f'"{name}" is only a check: everything else fixes that run already, at {said.bare(value)}.'
        blocks.append(Words(words=plain(words)))
    return [_page(plan, "spans", "SPANS, WHERE THE LENGTHS COME FROM", blocks)]


def _page(plan: Plan, kind: PageKind, title: str, blocks: Iterable[Block]) -> Page:
    return Page(kind=kind, title=title, part=plain(plan.part.name), blocks=tuple(blocks), foot=foot_of(plan))


def _all(unit: Unit) -> str:
    return f"All figures of this page are {UNITS[unit]}."


# Spans


def _span(report: SpanReport, said: Said, back: str) -> Iterator[Block]:
    """Yield one span: what was measured, the length written out, the end shake; back: how it is held at the fitting."""
    span = report.span
    yield Head(words=plain(span.name).upper())
    yield Words(
        words=plain(
            f'From the A face of "{span.first}" to the B face of "{span.last}". {_taken(report.measured, said)}'
        ),
        mark="",
    )
    if report.limits is None:
        yield Words(words=f"TO BE MEASURED: planned once {_name(report.measured)} is recorded; nothing is assumed.")
        yield Words(words=sentence(_wanted(span, said)))
        return
    yield FigureTable(heads=("", "", ""), align="rrl", rows=tuple(_sum(report, said)))
    yield from (_warned(w) for w in doubt_of(report, said))
    yield from (Words(words=plain(sentence(words))) for words in (_wanted(span, said), *_predicted(report, said, back)))


def _warned(w: Problem) -> Caution:
    """Return a warning as a caution of a page."""
    return Caution(words=plain(sentence(f"{w.what}: {w.given}; right would be {w.allowed}; {w.fix}")))


def _name(measurement: Measurement) -> str:
    return plain(f'"{measurement.name}"')


def _taken(m: Measurement, said: Said) -> str:
    """Say the measured distance with its readings, in a sentence."""
    doubt = _doubt(m.uncertainty)
    warm = "" if m.temperature is None else f", {m.material} at {m.temperature.text}"
    if not m.taken:
        return f"{_name(m)}: still to be measured, {doubt}; {m.taken_with}"
    readings = ", ".join(said.bare(r) for r in m.readings)
    mean = f"; mean {said.bare(m.mean)}" if len(m.readings) > 1 else ""
    where = m.readings[0].where
    logged = f" (from line {where.line} of the log)" if where.path != m.where.path else ""
    return f"{_name(m)}: {readings}{mean}{logged}; {doubt}{warm}; {m.taken_with}"


def _doubt(uncertainty: Uncertainty) -> str:
    """Say how far something may be out, as it was stated."""
    return uncertainty.text if uncertainty.stated == "limit" else f"standard uncertainty {uncertainty.text}"


def _along(m: Measurement, said: Said) -> Iterator[tuple[str, float, str]]:
    """Yield the readings, what is added to and taken from them, and the result; nothing for readings alone."""
    if not m.along:
        return
    yield "", m.mean, f"read, {_doubt(m.uncertainty)}"
    for item in m.along:
        count = f", mean of {len(item.readings)}" if len(item.readings) > 1 else ""
        words = f'{word_of(item)} "{item.name}"{count}, {_doubt(item.uncertainty)}'
        yield "+" if item.sign > 0 else "-", item.mean, words
    halves = [m.uncertainty.half, *(a.uncertainty.half for a in m.along)]
    halves += [THREE * s for s in (m.standard_of_mean, *(standard_of_mean(a.readings) for a in m.along)) if s > 0]
    rss, worst = (said.bare(f(halves)) for f in (root_sum_square, worst_case))
    yield "=", m.distance, f'"{m.name}", ±{rss} root-sum-square, ±{worst} in the worst case'


def _sum(report: SpanReport, said: Said) -> Iterator[tuple[str, str, str]]:
    """Yield the length written out line by line."""
    span, m, limits = report.span, report.measured, report.limits
    assert limits is not None
    warm = "" if m.temperature is None else f", brought to {REFERENCE:g} degC"
    for sign, value, words in _along(m, said):
        yield sign, said.bare(value), plain(words)
    if warm or not m.along:
        yield "", said.bare(at_reference(m)), plain(f'measured, "{m.name}"{warm}')
    less = list(_taken_off(report))
    for value, words in less:
        yield "-", said.bare(value), plain(words)
    wanted = math.fsum([at_reference(m), *(-value for value, _ in less)])
    yield "=", said.bare(wanted), "length between the shoulders"
    if abs(limits.length - wanted) > 5e-4:
        yield "", said.bare(limits.length), "as recorded or as the other lengths leave it"
    if limits.cut_length > limits.length:
        yield "+", said.bare(span.fitting_allowance), "fitting allowance, on the late shoulder"
        yield "=", said.bare(limits.cut_length), "as cut"


def _taken_off(report: SpanReport) -> Iterator[tuple[float, str]]:
    """Yield what is taken off the measured distance, mm, each with its words: end shake, stand-offs, loose parts."""
    yield float(report.span.shake.aim), "end shake aimed at"
    for side, off in zip("AB", report.stand_offs, strict=True):
        if off.likely:
            yield off.likely, f"stand-off of the corner at the {side} side: {off.reason or 'none'}"
    for loose in report.span.loose:
        yield float(loose.thickness), f'loose: "{loose.name}", {loose.uncertainty.text}'


def _wanted(span: Span, said: Said) -> str:
    shake = span.shake
    return f"end shake wanted: {said.bare(shake.least)} to {said.bare(shake.most)}, {said.bare(shake.aim)} aimed at"


def _predicted(report: SpanReport, said: Said, back: str) -> Iterator[str]:
    """Say what the end shake will be, or is."""
    limits = report.limits
    assert limits is not None
    worst, rss = (f"{said.bare(low)} to {said.bare(high)}" for low, high in (limits.worst, limits.rss))
    yield (
        f"end shake predicted: {said.bare(limits.shake)}; worst case {worst}; root-sum-square {rss}; within what is "
        f"wanted: {show_chance(limits.chance.inside)}"
    )
    if report.verdict is not None:
        yield f"AS CUT: {report.verdict.text}"
        return
    if limits.takes_read:
        yield taken_words(said)
    yield f"what matters: {limits.fix}"
    if report.span.fitting_allowance > 0 and limits.cut_length == limits.length:
        still = said.bare(max(limits.length - limits.wanted, 0.0))
        yield f"the late shoulder is recorded: {still} is still to come off it"
    else:
        yield f"which way: {limits.direction}"
    if report.span.fitting_allowance > 0:
        yield (
            "at the fitting: try the part in its place, measure the end shake, then face the late shoulder back "
            f"{back} by what is missing, a light cut at a time; the pivot beside it is not touched"
        )
    if report.span.part_temperature is not None:
        yield f"part at {report.span.part_temperature.text} when its shoulders are measured"
    if report.measured.temperature is None and report.span.part_temperature is None:
        yield "let frame and part come to one temperature before either is measured"


# Holes


def hole_pages(plan: Plan, figures: Figures) -> list[Page]:
    """Make the page of the holes for the pivots; none where none is asked for."""
    measured = plan.part.measured
    if measured is None or not measured.holes:
        return []
    said = Said(figures.unit)
    blocks: list[Block] = [Words(words=f"{_all(figures.unit)} Pivots first, holes to fit them; trial last.", mark="")]
    cautioned: set[str] = set()
    for hole in measured.plans:
        blocks += _hole(hole, measured.pivots[hole.hole.name], said, cautioned)
    return [_page(plan, "holes", "HOLES FOR THE PIVOTS, ON THE BENCH", blocks)]


def _hole(plan: HolePlan, pivot: Pivot, said: Said, cautioned: set[str]) -> Iterator[Block]:
    """Yield one hole; a caution stands where it first belongs on the page.

    Args:
        cautioned: cautions that the page already has; those of this hole are added.
    """
    hole = plan.hole
    now = f"{said.bare(hole.now)} now" if hole.now is not None else "none yet"
    plate = said.bare(hole.plate)
    yield Head(words=plain(f'HOLE "{hole.name}" for "{hole.section}": plate {plate}, hole {now}, {hole.use}'))
    for number, step in enumerate(hole_steps(plan, pivot, said), start=1):
        yield from (Caution(words=plain(sentence(words))) for words in step.cautions if words not in cautioned)
        yield Words(words=plain(sentence(step.text)), mark=f"{number}.")
        cautioned |= {*step.cautions}
    sizes = f"{said.bare(plan.inside)} at the inside, {said.bare(plan.outside)} at the outside"
    yield Words(words=f"Finished: {sizes}; the shoulder meets the plate on a ring {said.bare(plan.ring)} wide.")
    yield from map(_warned, plan.warnings)


# What comes next


def next_pages(plan: Plan) -> list[Page]:
    """Make the page of what is measured before setting 2 can be planned; none where nothing is to be measured."""
    return [_page(plan, "next", "MEASURE NEXT", _next(plan))] if plan.part.waiting else []


def _going_along(m: Measurement, a: Along, said: Said) -> str:
    """Say what is done with what is measured along with a distance: measured too, or left in the reading."""
    if not a.readings:
        return f'Measure "{plain(a.name)}" with it, {a.uncertainty.text}; it is {word_of(a)} that: {BLANK}'
    return (
        f'Write {_name(m)} down as it reads: "{plain(a.name)}", {said.short(a.mean)}, is '
        f"measured along with it, and is {'added' if a.sign > 0 else 'subtracted'} when it is recorded."
    )


def _recorded_too(plan: Plan) -> str:
    """Say that a shoulder that is out of place is recorded, with one of setting 1 for an example; "" without any."""
    known = targets(plan.part.sections, (), ())
    shoulders = [name for name in shoulders_of(plan.settings[0].setting) if f"{name} shoulder" in known]
    if not shoulders:
        return ""
    stoned = any(t.section.finish.on_face for planned in plan.settings for t in planned.setting.turned)
    adds = ", with what is still to come off its face added" if stoned else ""
    out = "where a shoulder is not where it should be, record it too, by the name of its section"
    return f"; {out}, for example {record_name(shoulders[-1])}{adds}"


def _next(plan: Plan) -> Iterator[Block]:
    part, made = plan.part, "page" if plan.shop.lathe.by_hand else "program"
    open_ended = listed(f'"{s.name}"' for s in part.sections if math.isnan(s.length))
    head = f"Setting 2 is not planned yet: the faces of {open_ended} depend on what follows. Nothing of it is assumed."
    yield Words(words=plain(head), mark="")
    steps = [
        "Finish setting 1, take the part out, take off every burr, wash it, and let it cool.",
        f"Measure what was turned{_recorded_too(plan)}. Setting 2 is then planned from what is there.",
    ]
    steps += [
        f"Measure {_name(m)}: {m.taken_with}. Take it three times, seating the instrument anew: {BLANK} {BLANK} {BLANK}"
        for m in part.waiting
    ]
    steps += [_going_along(m, a, Said(part.unit)) for m in part.waiting for a in m.along]
    steps += [plain(how_to_record(PurePath(part.path).name, part, m, times=3)) for m in part.waiting]
    steps.append(f"Make again: the {made} of setting 1 stays as it was, that of setting 2 is added.")
    for number, step in enumerate(steps, start=1):
        yield Words(words=plain(step), mark=f"{number}.")
    yield from (Caution(words=sentence(words)) for words in SPRING)


def next_steps(part: Solved) -> list[str]:
    """Return what to measure before setting 2 can be planned, a sentence each; none where nothing is to be measured."""
    found = []
    for m in part.waiting:
        doubt = m.uncertainty.text or "as well as you can"
        found.append(f'measure "{m.name}", to {doubt}: {m.taken_with}; then record it:')
        found.append(how_to_record(part.path, part, m))
    return found
