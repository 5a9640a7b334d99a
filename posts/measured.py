"""Pages of the cutting summary for what was measured: spans with their limits, holes for pivots, what comes next."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import PurePath

from cam.measure.figures import Figures
from cam.measure.hole_page import SPRING, hole_steps
from cam.measure.model import Measurement, Span
from cam.measure.thermal import REFERENCE, at_reference
from cam.measure.whole import Measured, SpanReport, measured_of, report_spans
from cam.part.model import End, Part
from cam.plan.model import Plan
from cam.setting.measured import second_end
from posts.layout import item
from posts.wording import plain

UNITS = {"mm": "mm", "in": "inches"}
MEANT = 0.0005
"""A probability nearer to 0 or 1 than this is said as "practically"."""


def measured_pages(plan: Plan) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Title and text of each page that goes before the settings, and after them; none where nothing was measured."""
    measured = measured_of(plan.part)
    if measured is None:
        return [], []
    name = plain(plan.part.name).upper()
    before, after, said = [], [], Figures(plan.part.unit)
    if measured.spans:
        lines = list(
            _spans(plan.part, measured, Figures(plan.part.unit), second_end([p.setting for p in plan.settings]))
        )
        before.append((f"{name}: SPANS, WHERE THE LENGTHS COME FROM", "\n".join(lines)))
    if measured.holes:
        after.append((f"{name}: HOLES FOR THE PIVOTS, ON THE BENCH", "\n".join(_holes(measured, said))))
    if plan.part.to_be_measured:
        after.append((f"{name}: MEASURE NEXT", "\n".join(_next(plan.part, measured))))
    return before, after


# Log ------------------------------------------------------------------------------------------------------


def log_lines(part: Part) -> list[str]:
    """What of the log was used, for the head of the first page; nothing where there is none."""
    measured = measured_of(part) if part.measured is not None else None
    if measured is None or measured.log is None:
        return []
    log = measured.log
    used = "; ".join(f"{r.name} {r.text}" for r in measured.records) or "nothing"
    words = f"{PurePath(log.path).name}, sha256 {log.digest[:16]}; used of it: {used}"
    return [item(words, "log        ", 0)]


# Spans ----------------------------------------------------------------------------------------------------


def _spans(part: Part, measured: Measured, said: Figures, second: End) -> Iterator[str]:
    yield item(
        f"All figures of this page are {UNITS[said.unit]}. What is long can be faced back; what is short is scrap.",
        "",
        0,
    )
    for report in report_spans(part, second):
        yield ""
        yield f"{plain(report.span.name).upper()}"
        yield item(f'from the A face of "{report.span.first}" to the B face of "{report.span.last}"', "")
        yield from _distance(report.measured, said)
        if report.limits is None:
            yield item(f"TO BE MEASURED: planned once {_name(report.measured)} is recorded; nothing is assumed")
            yield from _wanted(report.span, said)
            continue
        yield from _sum(report, said)
        yield ""
        yield from _wanted(report.span, said)
        yield from _predicted(report, said)
        yield from _temperatures(report)
    warnings = [w for w in part.warnings if w.what.startswith("the corners of span")]
    for w in warnings:
        yield item(f"WARNING: {w.what}: {w.given}; {w.fix}")
    if measured.chain.expected:
        yield ""
        for name, value in sorted(measured.chain.expected.items()):
            yield item(f'"{name}" is only a check: everything else fixes that run already, at {said.bare(value)}')


def _name(measurement: Measurement) -> str:
    return f'"{measurement.name}"'


def _distance(m: Measurement, said: Figures) -> Iterator[str]:
    """The measured distance with its readings."""
    doubt = m.uncertainty.text if m.uncertainty.stated == "limit" else f"standard uncertainty {m.uncertainty.text}"
    if not m.taken:
        yield item(f"{_name(m)}: still to be measured, {doubt}; {m.taken_with}")
        return
    readings = ", ".join(said.bare(r) for r in m.readings)
    mean = f"; mean {said.bare(m.mean)}, spread {said.bare(m.spread)}" if len(m.readings) > 1 else ""
    logged = " (from the log)" if m.readings[0].where.path != m.where.path else ""
    yield item(f"{_name(m)}: {readings}{mean}{logged}; {doubt}; {m.taken_with}")


def _sum(report: SpanReport, said: Figures) -> Iterator[str]:
    """The length, written out line by line."""
    span, m, limits = report.span, report.measured, report.limits
    assert limits is not None
    warm = "" if m.temperature is None else f", brought to {REFERENCE:g} degC"
    rows = [("", at_reference(m), f'measured, "{m.name}"{warm}'), ("-", float(span.shake.aim), "end shake aimed at")]
    for side, off in zip("AB", report.stand_offs, strict=True):
        rows.append(("-", off.likely, f"stand-off of the corner at the {side} side: {off.reason or 'none'}"))
    rows += [("-", float(p.thickness), f'loose: "{p.name}", {p.uncertainty.text}') for p in span.loose]
    for sign, value, words in rows:
        yield item(words, f"   {sign:1} {said.bare(value):>9}  ", 0)
    wanted = math.fsum([at_reference(m), *(-v for s, v, _ in rows if s)])
    yield f"   = {said.bare(wanted):>9}  length between the shoulders"
    if abs(limits.length - wanted) > 5e-4:
        yield f"     {said.bare(limits.length):>9}  as recorded or as the other lengths leave it"
    if span.fitting_allowance > 0:
        yield f"   + {said.bare(span.fitting_allowance):>9}  fitting allowance, on the late shoulder"
        yield f"   = {said.bare(limits.cut_length):>9}  as cut"


def _wanted(span: Span, said: Figures) -> Iterator[str]:
    shake = span.shake
    yield item(
        f"end shake wanted: {said.bare(shake.least)} to {said.bare(shake.most)}, {said.bare(shake.aim)} aimed at"
    )


def _predicted(report: SpanReport, said: Figures) -> Iterator[str]:
    limits = report.limits
    assert limits is not None
    worst, rss = (f"{said.bare(low)} to {said.bare(high)}" for low, high in (limits.worst, limits.rss))
    yield item(f"end shake predicted: {said.bare(limits.shake)}; worst case {worst}; root-sum-square {rss}")
    yield item(f"probability that it lies within what is wanted: {show_chance(limits.chance.inside)}; {limits.model}")
    yield item(f"what matters: {limits.fix}")
    if report.verdict is not None:
        yield item(f"AS CUT: {report.verdict.text}")
        return
    yield item(f"which way: {limits.direction}")
    if report.span.fitting_allowance > 0:
        yield item(
            "at the fitting: try the part in its place, measure the end shake, then face the late shoulder back "
            "between the same centres by what is missing, a light cut at a time; the pivot beside it must not be "
            "touched"
        )


def show_chance(share: float) -> str:
    """A probability in words and figures."""
    if share > 1 - MEANT:
        return "practically certain, over 99.9 %"
    if share < MEANT:
        return "practically none, under 0.1 %"
    return f"{100 * share:.1f} %"


def _temperatures(report: SpanReport) -> Iterator[str]:
    span, m = report.span, report.measured
    found = []
    if m.temperature is not None:
        found.append(f"{m.material} measured at {m.temperature.text}")
    if span.part_temperature is not None:
        found.append(f"part at {span.part_temperature.text} when its shoulders are measured")
    if span.in_use is not None:
        found.append(f"in use from {span.in_use[0]:g} to {span.in_use[1]:g} degC")
    if found:
        yield item(f"temperatures, all lengths being meant at {REFERENCE:g} degC: {'; '.join(found)}")
    else:
        yield item("temperatures: none given; let frame and part come to one temperature before either is measured")


# Holes ----------------------------------------------------------------------------------------------------


def _holes(measured: Measured, said: Figures) -> Iterator[str]:
    yield item(f"All figures of this page are {UNITS[said.unit]}. Pivots first, holes to fit them; trial last.", "", 0)
    for plan in measured.plans:
        hole, pivot = plan.hole, measured.pivots[plan.hole.name]
        yield ""
        now = f"{said.bare(hole.now)} now" if hole.now is not None else "none yet"
        yield item(
            f'HOLE "{hole.name}" for "{hole.section}": plate {said.bare(hole.plate)}, hole {now}, {hole.use}', "", 0
        )
        for number, step in enumerate(hole_steps(plan, pivot, said), start=1):
            yield item(step.text, f"{number}. ")
            yield from (item(f"! {caution}", "", 4) for caution in step.cautions)
        if hole.use == "open" and hole.opened_by == "broach" and hole.side != "both":
            far = "outside" if hole.side == "inside" else "inside"
            sizes = f"{said.bare(plan.entry)} at the {hole.side}, where it went in, {said.bare(plan.exit)} at the {far}"
        else:
            sizes = f"{said.bare(plan.inside)} at the inside, {said.bare(plan.outside)} at the outside"
        yield item(
            f"finished: {sizes}; the pivot truly bears on {said.bare(plan.contact)} of a wall of {said.bare(plan.wall)}"
            f"; the shoulder meets the plate on a ring {said.bare(plan.ring)} wide"
        )
        if hole.use == "open":
            yield item(
                f'the diameter of "{pivot.name}" may float within its limits, since this hole is opened to fit it; its '
                "parallelism may not: a pivot thicker at one end binds there and bears nowhere else"
            )
        for w in plan.warnings:
            yield item(f"WARNING: {w.what}: {w.given}; right would be {w.allowed}; {w.fix}")


# What comes next ------------------------------------------------------------------------------------------


def next_steps(part: Part) -> list[str]:
    """What to measure before setting 2 can be planned, a sentence each; nothing where nothing is to be measured."""
    measured = measured_of(part) if part.to_be_measured else None
    if measured is None:
        return []
    found = []
    for m in measured.measurements:
        if m.name in part.to_be_measured:
            doubt = m.uncertainty.text or "as well as you can"
            found.append(f'measure "{m.name}", to {doubt}: {m.taken_with}; then record it:')
            found.append(f'endshake record {part.path} "{m.name}" "... mm"')
    return found


def _next(part: Part, measured: Measured) -> Iterator[str]:
    waiting = " and ".join(f'"{s.name}"' for s in part.sections if math.isnan(s.length))
    head = f"Setting 2 is not planned yet: the faces of {waiting} wait for what follows. Nothing of it is assumed."
    yield item(head, "", 0)
    yield ""
    steps = [
        "Finish setting 1, take the part out, take off every burr, wash it, and let it cool.",
        "Measure what was turned; where a shoulder is not where it should be, record it too, by the name of its "
        'section, for example "front seat shoulder". Setting 2 is then planned from what is there.',
        *(
            f'Measure "{m.name}": {m.taken_with}. Take it three times, seating the instrument anew: ________ ________ '
            "________"
            for m in measured.measurements
            if m.name in part.to_be_measured
        ),
        *(
            f'endshake record {PurePath(part.path).name} "{m.name}" "...; ...; ... mm"'
            for m in measured.measurements
            if m.name in part.to_be_measured
        ),
        "Make again: the program of setting 1 stays as it was, that of setting 2 is added.",
    ]
    for number, step in enumerate(steps, start=1):
        yield item(step, f"{number}. ")
    yield from (item(caution) for caution in SPRING)
