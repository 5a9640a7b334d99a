"""Every span with what is to be expected of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cam.ground.frozen import Row
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.ground.units import show_number
from cam.lengths.chain import is_cut, net
from cam.lengths.figures import LengthFigures
from cam.lengths.limits import (
    Contributor,
    RunVerdict,
    SpanLimits,
    cut_error,
    judge_length,
    predict_span,
    shoulder_errors,
)
from cam.lengths.solved import Measured, Solved, own_limits
from cam.part.features import End
from cam.part.spans import Measurement, Span, StandOff


class SpanReport(Row):
    """A span and what is to be expected of it.

    Attributes:
        span: the span.
        measured: its measurement.
        stand_offs: those of its corners.
        limits: what is predicted; None while the measurement or a length is to be measured.
        verdict: what to do with a run whose length is recorded; None before.
    """

    span: Span
    measured: Measurement
    stand_offs: tuple[StandOff, StandOff]
    limits: SpanLimits | None
    verdict: RunVerdict | None


def report_spans(part: Solved, second: End) -> tuple[SpanReport, ...]:
    """Return every span with its limits, in the file's order.

    Args:
        part: the finished part, as read.
        second: the end that is turned second.
    """
    measured = part.measured
    if measured is None:
        return ()
    return tuple(_report(part, measured, span, second) for span in measured.spans)


def _report(part: Solved, measured: Measured, span: Span, second: End) -> SpanReport:
    taken, offs = measured.measurement(span), measured.stand_offs[span.name]
    length = measured.chain.total(span.first, span.last)
    if not taken.taken or length is None:
        return SpanReport(span, taken, offs, None, None)
    finished = any(e.name == span.name and e.kind == "span" for e, _ in measured.chain.finished)
    errors = _errors(part, measured, span, finished=finished)
    limits = predict_span(span, taken, length, offs, errors, part.stock.material, second, LengthFigures(part.unit))
    late = span.faces([s.name for s in part.sections])[(span.late or second) == "B"]
    if late in measured.cut_faces:  # whatever is still on it is in its record
        limits = replace(limits, cut_length=length)
    return SpanReport(span, taken, offs, limits, judge_length(limits, LengthFigures(part.unit)) if finished else None)


DOUBT = "spans in doubt"
"""The kind of warnings of spans that may not come out as wanted."""
ENOUGH = 0.9
"""How likely it should at least be that the end shake comes out as wanted. Common practice, no source."""


def doubt_of(report: SpanReport, said: LengthFigures) -> Iterator[Problem]:
    """Warn of a span not cut yet that binds when its errors fall together, or that may well miss what is wanted."""
    limits, name = report.limits, report.span.name
    if limits is None or report.verdict is not None:
        return
    fitted = report.span.fitting_allowance > 0  # what is long is then faced back until it runs free
    binds = limits.worst[0] < -ROUNDING and not fitted
    astray = limits.chance.above if fitted else 1 - limits.chance.inside
    if not binds and astray <= 1 - ENOUGH:
        return
    what = f'span "{name}" may bind' if binds else f'span "{name}" may well not come out with the end shake wanted'
    given = (
        f"{said.show(limits.shake)} predicted, {said.between(*limits.worst)} in the worst case; "
        f"within what is wanted: {show_chance(limits.chance.inside)}"
    )
    allowed = (
        f"{said.between(report.span.shake.least, report.span.shake.most)}, over zero in the worst case too, and at "
        f"least {100 * ENOUGH:.0f} % likely (common practice, no source)"
    )
    yield problem(report.span.where, what, given, allowed, limits.fix, DOUBT)


MEANT = 0.0005
"""A probability that is nearer to 0 or 1 than this is said to be "practically" so."""


def show_chance(share: float) -> str:
    """Show a probability in words and figures."""
    if share > 1 - MEANT:
        return "practically certain, over 99.9 %"
    if share < MEANT:
        return "practically none, under 0.1 %"
    return f"{show_number(100 * share, 1)} %"


def _errors(part: Solved, measured: Measured, span: Span, *, finished: bool) -> tuple[Contributor, ...]:
    """Return the errors of the length between a span's shoulders: of cutting what is not cut, of measuring what is."""
    chain = measured.chain
    run = chain.run(span.first, span.last)
    errors: tuple[Contributor, ...] = ()
    if not finished:
        recorded = {s.name for s in run if is_cut(s.terms) and not any(t.equation.kind == "planned" for t in s.terms)}
        own = own_limits(part)
        errors = shoulder_errors(span, [(s.name, own.get(s.name)) for s in run if s.name not in recorded])
    whole = chain.terms(span.first, span.last)
    terms = whole if is_cut(whole) else net(s for s in run if is_cut(s.terms))
    return errors + tuple(cut_error(t.equation.name, t.equation.doubt) for t in terms if t.equation.kind == "actual")
