"""Whether a typed reading is likely, beside what is wanted, what was read before, and its other readings.

A reading that differs from all of these by more than ten times the uncertainty is more often mistyped than true.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

from cam.ground.figures import Unit
from cam.ground.frozen import Row
from cam.ground.problem import Problem, Where, problem
from cam.ground.quantity import Quantity
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH, is_inch, show_length
from cam.lengths.records import READ, Actual, Target
from cam.lengths.solved import Solved
from cam.lengths.sums import split_sum
from cam.part.features import Tolerance
from cam.part.model import Section
from cam.part.spans import Along, Measurement, Span, added

TIMES = 10.0
"""How many times its uncertainty a reading may be off before the user is asked whether it is meant."""
ZERO = 0.05
"""The same at a gauging stop, mm: the zero was set by hand. Common practice, no source."""
LEAST = 0.001
"""The least uncertainty, mm, that a question assumes: a slip is exact, and two readings of it still differ."""

Ask = Callable[[float], bool]


class Likely(Row):
    """A size to which a reading may be expected to come near.

    Attributes:
        value: mm.
        room: how far a reading may be from it, mm.
        words: what it is, without its size.
        where: its line.
        logged: whether it is itself a record.
    """

    value: float
    room: float
    words: str
    where: Where
    logged: bool = False

    def takes(self, value: float) -> bool:
        """Whether a size, mm, is near enough."""
        return abs(value - self.value) <= self.room + ROUNDING


def likely_sizes(
    actual: Actual, part: Solved, measurement: Measurement | None, before: Actual | None
) -> tuple[Likely, ...]:
    """Return the sizes to which a reading may be expected to come near; none where nothing says.

    Args:
        actual: the record as typed.
        part: with all other records, and without this one.
        measurement: the one it belongs to, as the part file has it; None for what is no measurement.
        before: the record that it would replace; None if there is none.
    """
    target, found = actual.target, list[Likely]()
    half = _doubt(actual, measurement, before)
    if target.kind == "stop reading":
        room = TIMES * max(ZERO, half)
        return (Likely(actual.expected, room, "what the program should have left there", target.where),)
    if measurement is not None and measurement.taken:
        found.append(Likely(measurement.distance, TIMES * half, "what the part file says", measurement.where))
    if not math.isnan(target.about):
        left, limits = _left(part, target), _limits(part, target)
        found.append(Likely(target.about, TIMES * max(half, limits) + left, "what is wanted", target.where))
    if before is not None:
        found.append(Likely(before.value, TIMES * half, "what was read before", before.where, logged=True))
    return tuple(found)


def _doubt(actual: Actual, measurement: Measurement | None, before: Actual | None) -> float:
    """Return the worst error, plus-minus mm, of a record, of what it would replace, and of what the part file says."""
    halves = [READ if measurement is None else max(measurement.uncertainty.half, LEAST)]
    halves += [a.half for a in (actual, before) if a is not None and not math.isnan(a.half)]
    return max(halves) + math.fsum(a.uncertainty.half for a in actual.along)


def _run(part: Solved, target: Target) -> tuple[Section, ...]:
    """Return the sections over which a size of the part is measured."""
    if target.start >= 0:
        return part.sections[target.start : target.end]
    return tuple(s for s in part.sections if s.name == target.of)


def _limits(part: Solved, target: Target) -> float:
    """Return half the width of the limits that a size of the part has, mm; zero for none."""

    def half(limits: Tolerance | None) -> float:
        return 0.0 if limits is None else (limits.upper - limits.lower) / 2

    whole = next((s.tolerance for s in _spans(part) if target.what == "span" and s.name == target.of), None)
    run = _run(part, target) if whole is None else ()
    own = [half(s.tolerance if "diameter" in target.what else s.length_tolerance) for s in run]
    return math.fsum([half(whole), *own])


def _left(part: Solved, target: Target) -> float:
    """Return what may still be on a size when it is read, mm: for the stone, or for the fitting."""
    run = _run(part, target)
    if "diameter" in target.what:
        return max(float(s.finish.on_diameter) for s in run)
    fitting = max((float(s.fitting_allowance) for s in _spans(part)), default=0.0)
    return fitting + math.fsum(float(s.finish.on_face) for s in run)


def _spans(part: Solved) -> tuple[Span, ...]:
    measured = part.measured
    return () if measured is None else measured.spans


def check_readings(name: str, readings: Sequence[Quantity], text: str, half: float, where: Where) -> Iterator[Problem]:
    """Check that of several readings none is far from the others.

    Args:
        name: what was measured.
        text: all of them as typed.
        half: the uncertainty of one, mm.
        where: the place that a problem is told of.
    """
    values = [float(r) for r in readings]
    if len(values) < 2:
        return
    room = TIMES * max(half, LEAST)
    middles = [median(values[:at] + values[at + 1 :]) for at in range(len(values))]
    off = [abs(v - m) for v, m in zip(values, middles, strict=True)]
    at = max(range(len(values)), key=lambda i: (off[i], i))
    if off[at] <= room + ROUNDING:
        return
    say, middle = length_words(text), middles[at]
    slip = find_slip(values[at], readings[at].text, lambda value: abs(value - middle) <= room + ROUNDING)
    pair = len(values) == 2
    what = (
        f'the two readings of "{name}" are far apart'
        if pair
        else f'reading {at + 1} of "{name}" is far from the others'
    )
    given = f'"{text}"' if pair else f'"{readings[at].text}" among "{text}"'
    allowed = f"within {say(room)} of one another, ten times the uncertainty"
    yield problem(where, what, given, allowed, slip.partition("? ")[0] + "?" if pair and slip else slip)


def check_written(measurement: Measurement) -> Iterator[Problem]:
    """Check the readings that a part file has of a distance and of what goes along with it, by the rule of records."""
    all_of: tuple[Measurement | Along, ...] = (measurement, *measurement.along)
    for of in all_of:
        written = [r for r in of.readings if r.where.path == of.where.path]
        text = "; ".join(r.text for r in written)
        for found in check_readings(of.name, written, text, of.uncertainty.half, of.where):
            how = "measure again, or say by its uncertainty how far one may really be out"
            yield replace(found, where=written[0].where, fix=f"{found.fix}; {how}" if found.fix else how)


def check_likely(actual: Actual, likely: tuple[Likely, ...], how_to_withdraw: str) -> Iterator[Problem]:
    """Check that a reading is near something that makes it likely, if there is anything.

    Args:
        how_to_withdraw: what to do about an earlier record that is wrong; "" if there is none.
    """

    def fits(value: float) -> bool:
        return any(size.takes(value) for size in likely)

    if not likely or fits(actual.value):
        return
    near = min(likely, key=lambda size: abs(actual.value - size.value))
    say = length_words(actual.text)
    off = actual.value - near.value
    fix = find_meant(actual, fits)
    if actual.along and fits(actual.value - added(actual.along)):
        names = " and ".join(f'"{a.name}"' for a in actual.along)
        fix = f"is {names} reckoned in already? record what was read, {say(actual.value - 2 * added(actual.along))}"
    if actual.target.what == "shoulder":
        fix = f"{fix}; " * bool(fix) + "it is counted from the finished end of the part, not from Z 0 of its setting"
    yield Problem(
        where=near.where,
        what=f'"{actual.name}" is far from {near.words}, {say(near.value)}',
        given=f'"{actual.text}": {say(abs(off))} {"more" if off > 0 else "less"}',
        allowed=f"{say(max(near.value - near.room, 0.0))} to {say(near.value + near.room)}: "
        "ten times the uncertainty to either side",
        fix="; ".join(words for words in (fix, how_to_withdraw if near.logged else "") if words),
    )


# Slips of the hand ------------------------------------------------------------------------------------------


def find_meant(actual: Actual, fits: Ask, unit: Unit | None = None) -> str:
    """Return what was probably meant by a record, as find_slip does: by its readings alone, or by its whole sum."""
    along = added(actual.along)
    readings, _ = split_sum(actual.text)  # their unit may be another than that of what is plus or less
    of_readings = find_slip(actual.value - along, readings, lambda value: fits(value + along), unit)
    return of_readings or (find_slip(actual.value, actual.text, fits, unit) if actual.along else "")


def find_slip(value: float, text: str, fits: Ask, unit: Unit | None = None) -> str:
    """Return what was probably meant, as a question; "" where no slip explains the reading.

    Args:
        value: as typed, mm.
        text: as typed.
        fits: whether another value, mm, would be likely.
        unit: of the part: where a reading has another, that is asked first.
    """
    tries = _slips(value, text, unit)
    return next((f"{question} {say(meant)} would be likely" for meant, question, say in tries if fits(meant)), "")


def _slips(value: float, text: str, unit: Unit | None) -> Iterator[tuple[float, str, Callable[[float], str]]]:
    """Yield what may have been meant, mm, each with the question that asks it, and how it is said; see find_slip."""
    say, typed = length_words(text), "in" if is_inch(text) else "mm"
    other = value / MM_PER_INCH if typed == "in" else value * MM_PER_INCH
    of_unit = other, "is the unit right?", length_words("mm" if typed == "in" else "in")
    if unit not in (None, typed):
        yield of_unit
    for factor in (0.1, 10.0, 0.01, 100.0, 0.001, 1000.0):
        yield value * factor, "did the decimal point slip?", say
    yield of_unit
    for factor in (2.0, 0.5):
        yield value * factor, "is it radius or diameter, half or whole?", say
    for swapped in _exchanged(text):
        yield value * swapped, "are two digits exchanged?", say


def _exchanged(text: str) -> Iterator[float]:
    """Yield how many times as large the number in a text becomes with each two neighbouring digits exchanged."""
    number = re.fullmatch(r"\s*([0-9]+\.?[0-9]*|\.[0-9]+)\D*", text)
    if not number or not float(number[1]):
        return
    signs = number[1]
    places = [at for at, sign in enumerate(signs) if sign != "."]
    for at, after in pairwise(places):
        changed = list(signs)
        changed[at], changed[after] = changed[after], changed[at]
        yield float("".join(changed)) / float(signs)


def length_words(text: str) -> Callable[[float], str]:
    """Return how lengths, given in mm, are said in the unit that a text has."""
    unit, digits = ("in", 5) if is_inch(text) else ("mm", 4)
    return lambda mm: show_length(mm, unit, digits, trim=True)
