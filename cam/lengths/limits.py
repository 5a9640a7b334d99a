"""The end shake that a span will really have: prediction, worst case, chance, and what would improve it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import AS_GIVEN, ROUNDING
from cam.ground.units import in_unit
from cam.lengths.chain import span_total
from cam.lengths.figures import MM, LengthFigures
from cam.lengths.probability import MODEL, Chance, chance_of, root_sum_square, worst_case
from cam.lengths.records import READ
from cam.lengths.thermal import REFERENCE, at_reference, expansion_of, expansion_table, find_expansion, growth
from cam.part.features import End, Tolerance
from cam.part.spans import THREE, Measurement, Span, StandOff, Uncertainty, standard_of_mean

Kind = Literal["measuring", "as read", "readings", "shoulder", "stand-off", "loose part", "temperature", "in use"]

LEAST_BETTER = 0.002
"""The plus-minus error, mm, below which no one is asked to measure or cut. Common practice, no source."""


class Contributor(Row):
    """One cause that makes the end shake differ from the sum of the lengths.

    Attributes:
        name: in words.
        kind: decides what would help against it; "as read" is measuring by a record that says nothing of its error.
        middle: how much it moves the end shake on average, mm.
        half: worst error about that middle, plus-minus mm.
        standard: one standard deviation, mm.
        normal: whether the error is normal (half is then three standard deviations) or even between limits.
        readings: how many readings it comes from; zero where that says nothing.
    """

    name: str
    kind: Kind
    middle: float
    half: float
    standard: float
    normal: bool
    readings: int = 0


@frozen
class SpanLimits:
    """What is to be expected of a span.

    Attributes:
        span: the span.
        length: between its shoulders once finished, mm.
        shake: predicted end shake, mm.
        worst: least and greatest end shake, with every error at its worst, mm.
        rss: the same by root-sum-square, mm.
        chance: the chances of lying below, within and above the wanted limits, by MODEL.
        model: the model in words.
        contributors: the causes, the one with the largest share first.
        shares: the share of each in the squared standard deviation of the whole; they sum to 1, or all are zero.
        fix: what would help, a sentence with numbers.
        direction: which way to err and what to do, a sentence with numbers.
        wanted: length that gives the end shake aimed at, mm.
        cut_length: between the shoulders as first cut, with the fitting allowance on it, mm; once the late shoulder is
            recorded, the length as it is.
    """

    span: Span
    length: float
    shake: float
    worst: tuple[float, float]
    rss: tuple[float, float]
    chance: Chance
    model: str
    contributors: tuple[Contributor, ...]
    shares: tuple[float, ...]
    fix: str
    direction: str
    wanted: float
    cut_length: float

    @property
    def near(self) -> bool:
        """Whether the predicted end shake, as first cut or as it is to be, lies within what is wanted."""
        left, shake = float(self.span.fitting_allowance), self.span.shake
        return shake.least - left - ROUNDING <= self.shake <= shake.most + ROUNDING

    @property
    def takes_read(self) -> bool:
        """Whether something is recorded without its plus-minus, for which READ is taken."""
        return any(c.kind == "as read" for c in self.contributors)

    @property
    def safe(self) -> bool:
        """Whether even the worst case lies within what is wanted."""
        return self.worst[0] >= self.span.shake.least - ROUNDING and self.worst[1] <= self.span.shake.most + ROUNDING


class RunVerdict(Row):
    """What to do with a run that has been cut.

    Attributes:
        state: "right", "long" (it is to be faced back), or "short" (scrap, unless a washer saves it).
        amount: how much to face back, or how thick a washer to add, for the aimed end shake, mm.
        least, most: the amounts that just give an end shake within limits, mm.
        text: the verdict in words and numbers.
    """

    state: Literal["right", "long", "short"]
    amount: float
    least: float
    most: float
    text: str


def predict_span(
    span: Span,
    measured: Measurement,
    length: float,
    stand_offs: tuple[StandOff, StandOff],
    shoulders: Sequence[Contributor],
    part_material: str,
    second: End = "B",
    said: LengthFigures = MM,
) -> SpanLimits:
    """Predict the end shake of a span.

    Args:
        span, measured: the span and its measurement, which must have been taken.
        length: between the shoulders, solved or as cut, mm.
        stand_offs: those of the corners at the A and the B side.
        shoulders: errors of that length, from `shoulder_errors` or `cut_error`.
        part_material: a row of the table of expansion; read only where temperatures are given.
        second: the end that is turned second, whose shoulder is the late one unless the span names another.
        said: how lengths are said.

    Raises:
        ValueError: the measurement has not been taken.
        KeyError: a material is not in the table (see `check_temperatures`).
    """
    causes = [*_measuring(measured), *shoulders, *_corners(stand_offs), *_loose(span)]
    causes += _temperatures(span, measured, length, part_material)
    taken = [length, *(s.likely for s in stand_offs), *(part.thickness for part in span.loose)]
    shake = math.fsum([at_reference(measured), *(-x for x in taken), *(c.middle for c in causes)])
    total = math.fsum(c.standard**2 for c in causes)
    causes.sort(key=lambda c: (-c.standard, c.name))
    halves = [c.half for c in causes]
    worst, rss = worst_case(halves), root_sum_square(halves)
    return SpanLimits(
        span=span, length=length, shake=shake, worst=(shake - worst, shake + worst), rss=(shake - rss, shake + rss),
        chance=_chance(shake, tuple(causes), float(span.shake.least), float(span.shake.most)), model=MODEL,
        contributors=tuple(causes), shares=tuple(c.standard**2 / total if total > 0 else 0.0 for c in causes),
        fix=_fix(span, shake, worst, causes, total, said),
        direction=_direction(span, shake, length, span.late or second, said),
        wanted=span_total(span, measured, stand_offs) or math.nan, cut_length=length + span.fitting_allowance,
    )  # fmt: skip


@lru_cache(maxsize=64)
def _chance(shake: float, causes: tuple[Contributor, ...], least: float, most: float) -> Chance:
    """Return what `chance_of` gives, kept from the first call: summary, record and answer all ask for it."""
    evens = [c.half for c in causes if not c.normal]
    normal = math.sqrt(math.fsum(c.standard**2 for c in causes if c.normal))
    return chance_of(shake, evens, normal, least, most)


# Contributors ---------------------------------------------------------------------------------------------


def shoulder_errors(span: Span, run: Sequence[tuple[str, Tolerance | None]]) -> tuple[Contributor, ...]:
    """Return the errors of a length yet to be cut, from the tolerance of the span or of the sections of its run.

    Args:
        run: name and length tolerance of each section; read only where the span has no tolerance of its own.

    Returns:
        One for the span, or one for each section that has a tolerance; see `check_tolerances` for those that have none.
    """
    if span.tolerance is not None:
        return (_shoulder("the shoulders as turned", span.tolerance),)
    return tuple(_shoulder(f'length of "{name}" as turned', tolerance) for name, tolerance in run if tolerance)


def cut_error(name: str, half: float) -> Contributor:
    """Return the error of a length that has been cut and recorded.

    Args:
        half: how far it may be out as recorded, plus-minus mm; zero for one that says nothing: READ is taken.
    """
    kind: Kind = "measuring" if half else "as read"
    return _even(f'measuring "{name}" as cut', kind, 0.0, half or READ)


def check_tolerances(span: Span, run: Sequence[tuple[str, Tolerance | None]], unit: str) -> Iterable[Problem]:
    """Check that the length of every span has a tolerance, without which it cannot be predicted."""
    bare = ", ".join(f'"{name}"' for name, tolerance in run if tolerance is None)
    if span.tolerance is None and bare:
        what = f'nothing says how well the shoulders of span "{span.name}" will be placed'
        fix = in_unit('give the span a tolerance, for example tolerance = "±0.02 mm"', unit)
        given = f"no tolerance, and no length_tolerance of {bare}"
        yield Problem(where=span.where, what=what, given=given, fix=fix, lacks="tolerance")


def check_temperatures(span: Span, measured: Measurement, part_material: str) -> Iterable[Problem]:
    """Check that the materials are known where temperatures are given."""
    frame = measured.temperature is not None or span.in_use is not None
    part = span.part_temperature is not None or span.in_use is not None
    wanted = [(measured.material, f'what "{measured.name}" was measured on', measured.where)] if frame else []
    wanted += [(part_material, "the part", span.where)] if part else []
    for material, of, where in wanted:
        if find_expansion(material) is None:
            what = f"a temperature is given, but how much {of} grows is not known"
            given = f'material "{material}"' if material else "no material"
            fix = "name one of these materials, or leave the temperatures out"
            yield problem(where, what, given, ", ".join(sorted(expansion_table())), fix)


def _stated(name: str, kind: Kind, uncertainty: Uncertainty) -> Contributor:
    normal = uncertainty.stated == "standard"
    return Contributor(name, kind, 0.0, uncertainty.half, uncertainty.standard, normal)


def _even(name: str, kind: Kind, middle: float, half: float) -> Contributor:
    return Contributor(name, kind, middle, half, half / math.sqrt(3), False)


def _measuring(measured: Measurement) -> Iterable[Contributor]:
    yield _stated(f'measuring "{measured.name}"', "measuring", measured.uncertainty)
    standard, count = measured.standard_of_mean, len(measured.readings)
    if standard > 0:
        name = f'spread of the {count} readings of "{measured.name}"'
        yield Contributor(name, "readings", 0.0, THREE * standard, standard, True, count)
    for item in measured.along:
        yield _stated(f'measuring "{item.name}"', "measuring", item.uncertainty)
        standard, count = standard_of_mean(item.readings), len(item.readings)
        if standard > 0:
            name = f'spread of the {count} readings of "{item.name}"'
            yield Contributor(name, "readings", 0.0, THREE * standard, standard, True, count)


def _shoulder(name: str, tolerance: Tolerance) -> Contributor:
    return _even(name, "shoulder", -tolerance.middle, (tolerance.upper - tolerance.lower) / 2)


def _corners(stand_offs: tuple[StandOff, StandOff]) -> Iterable[Contributor]:
    for side, found in zip("AB", stand_offs, strict=True):
        middle, half = (found.least + found.most) / 2, (found.most - found.least) / 2
        if half > ROUNDING or abs(middle - found.likely) > ROUNDING:
            yield _even(f"the corner at the {side} side", "stand-off", found.likely - middle, half)


def _loose(span: Span) -> Iterable[Contributor]:
    for part in span.loose:
        yield _stated(f'thickness of "{part.name}"', "loose part", part.uncertainty)


def _temperatures(span: Span, measured: Measurement, length: float, material: str) -> Iterable[Contributor]:
    if measured.temperature is not None:
        frame, t = expansion_of(measured.material), measured.temperature
        half = growth(measured.distance, frame.rate, t.within)
        yield _even(f'the temperature at which "{measured.name}" was measured', "temperature", 0.0, half)
        half = growth(measured.distance, frame.doubt, abs(t.value - REFERENCE))
        yield _even(f'how much the {measured.material} of "{measured.name}" grows', "temperature", 0.0, half)
    if span.part_temperature is not None:
        part, t = expansion_of(material), span.part_temperature
        shrinks = growth(length, part.rate, t.value - REFERENCE)
        half = growth(length, part.rate, t.within)
        yield _even("the part's temperature when its shoulders are measured", "temperature", shrinks, half)
        half = growth(length, part.doubt, abs(t.value - REFERENCE))
        yield _even(f"how much the part's {material} grows", "temperature", 0.0, half)
    if span.in_use is not None:
        yield from _in_use(span.in_use, measured, length, material)


def _in_use(in_use: tuple[float, float], measured: Measurement, length: float, material: str) -> Iterable[Contributor]:
    frame, part = expansion_of(measured.material), expansion_of(material)
    rates = measured.distance * frame.rate - length * part.rate
    doubts = measured.distance * frame.doubt + length * part.doubt
    cold, warm = (rates * (t - REFERENCE) for t in in_use)
    yield _even("warmth and cold in use", "in use", (cold + warm) / 2, abs(warm - cold) / 2)
    half = doubts * max(abs(t - REFERENCE) for t in in_use)
    yield _even("how much frame and part differ in growing", "in use", 0.0, half)


# Sentences ------------------------------------------------------------------------------------------------


def _fix(
    span: Span, shake: float, worst: float, causes: Sequence[Contributor], total: float, said: LengthFigures
) -> str:
    """Say which error dominates and what would help, by the worst case against the wanted limits."""
    show, between = said.show, said.between
    least, most = span.shake.least, span.shake.most
    if not least - ROUNDING <= shake <= most + ROUNDING:
        return (
            f"the prediction itself, {show(shake)}, lies outside {between(least, most)}: "
            f"the length must change by {show(abs(shake - span.shake.aim))}"
        )
    if total <= 0:
        return "no error is stated that would move it"
    first = causes[0]
    lead = f"{first.name} brings {100 * first.standard**2 / total:.0f} % of the spread"
    room = min(shake - least, most - shake)
    if worst <= room + ROUNDING:
        return f"{lead}; the worst case lies within the limits, so nothing needs to be better"
    needed = room - (worst - first.half)
    if needed >= LEAST_BETTER:
        return f"{lead}: {_better(first, needed, said)}, then even the worst case lies within {between(least, most)}"
    others = " and ".join(c.name for c in causes[1:2])
    rest = worst - first.half
    without = f"even without it the worst case would be {between(shake - rest, shake + rest)}"
    return f"{lead}, but {without}; {others} must be better too, or wider limits of end shake be allowed"


def _better(cause: Contributor, needed: float, said: LengthFigures) -> str:
    """Say how to bring one error down to plus-minus needed, mm."""
    show = said.show
    now = f"instead of ±{show(cause.half)}"
    if cause.kind == "readings":
        more = max(math.ceil(cause.readings * (cause.half / needed) ** 2), cause.readings + 1)
        return f"take {more} readings instead of {cause.readings}, or seat the instrument better each time"
    if cause.kind == "stand-off":
        return "break the edge of the hole until the shoulder seats, or turn an undercut, and it is gone"
    if cause.kind == "temperature":
        return f"let frame and part come to {REFERENCE:g} degC before measuring, known to ±{show(needed)} {now}"
    if cause.kind == "in use":
        return "allow wider limits of end shake for it, or make the part of what the frame is made of"
    if cause.kind == "shoulder":
        return f"hold that to ±{show(needed)} {now}"
    return f"measure it to ±{show(needed)} {now}"


def _direction(span: Span, shake: float, length: float, late: End, said: LengthFigures) -> str:
    show = said.show
    allowance = float(span.fitting_allowance)
    if allowance <= 0:
        return (
            f"leave it full: the shoulder toward the {late} end is cut last; what is long can be faced back, "
            f"what is short is scrap or needs a washer; no fitting allowance is declared"
        )
    left = shake - allowance
    tight = (
        f"with {show(left)} end shake"
        if left > 0
        else f"{show(-left)} too long to run free: do not force the frame shut"
    )
    return (
        f"leave it full: the shoulder toward the {late} end {show(allowance)} long ({show(length + allowance)} "
        f"between the shoulders, {tight}), try it in place, then face back to {show(length)}; "
        f"what is short is scrap or needs a washer"
    )


def taken_words(said: LengthFigures) -> str:
    """Say what is taken for the plus-minus of a record that has none."""
    return f"±{said.short(READ)} taken for what is recorded without its own"


def judge_length(limits: SpanLimits, said: LengthFigures = MM) -> RunVerdict:
    """Say what to do with a run that has been cut, predicted with its length as it really is."""
    show, between = said.show, said.between
    wanted = limits.span.shake
    name = f'span "{limits.span.name}"'
    doubt = f"; measuring leaves {between(*limits.worst)} possible"
    if limits.takes_read:
        doubt += f", {taken_words(said)}"
    if limits.shake > wanted.most + ROUNDING:
        amount, least, most = (limits.shake - x for x in (wanted.aim, wanted.most, wanted.least))
        text = (
            f"{name} is too short: {show(limits.shake)} end shake, {show(least)} more than the most allowed; scrap, "
            f"unless a washer of {show(amount)} ({between(least, most)}) is put between shoulder and plate{doubt}"
        )
        return RunVerdict("short", amount, least, most, text)
    if limits.shake < wanted.least - ROUNDING:
        amount, least, most = (x - limits.shake for x in (wanted.aim, wanted.least, wanted.most))
        text = (
            f"{name} is long: {show(limits.shake)} end shake; face the late shoulder back by {show(amount)} "
            f"({between(least, most)}), trying it in place{doubt}"
        )
        return RunVerdict("long", amount, least, most, text)
    text = f"{name} is right: {show(limits.shake)} end shake, wanted {between(wanted.least, wanted.most)}{doubt}"
    return RunVerdict("right", 0.0, 0.0, 0.0, text + _past_as_turned(limits, said))


def _past_as_turned(limits: SpanLimits, said: LengthFigures) -> str:
    """Say that a length whose end shake is right is past the limits to which it was to be turned; "" if it is not."""
    show, tolerance, over = said.show, limits.span.tolerance, limits.length - limits.wanted
    if tolerance is None:
        return ""
    least, most = limits.wanted + tolerance.lower, limits.wanted + tolerance.upper
    if limits.length < least - AS_GIVEN:
        return f"; its length, {show(limits.length)}, is under its least, {show(least)}"
    if limits.length > most + AS_GIVEN:
        back = f"faced back by {show(over)} the late shoulder gives {show(limits.span.shake.aim)} end shake"
        return f"; its length, {show(limits.length)}, is over its most, {show(most)}: {back}"
    return ""
