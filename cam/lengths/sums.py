"""A measurement as it is really taken: readings, plus or less what was measured along with them.

    36.21; 36.20; 36.19 mm, less spigot of the cap: 4.00 mm ± 0.01 mm, plus slip: 10 mm ± 0.001 mm

Each of these has its own name and its own uncertainty. What the part file names keeps its size until another is given.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence

from cam.ground.frozen import Row
from cam.ground.problem import Problem, Where, problem
from cam.ground.quantity import Quantity
from cam.ground.source.table import closest, did_you_mean
from cam.ground.units import QuantityError, is_inch, show_fine, show_length
from cam.part.model import Part
from cam.part.read_spans import JOINS, parse_value
from cam.part.spans import Along, Measurement, Uncertainty

EXAMPLE = '"36.21 mm, less spigot of the cap: 4.00 mm ± 0.01 mm"'

_WORDS = {"plus": 1, "less": -1, "minus": -1}
_NAMED = re.compile(r"(?P<name>[^:=]*[^:=\s])\s*[:=]\s*(?P<size>\S.*)|(?P<bare>.*?\S)\s+(?P<number>[-+]?\.?[0-9].*)")


class Typed(Row):
    """What was typed as plus or less; sign is 1 or -1, name and size are as typed."""

    sign: int
    name: str
    size: str


def split_sum(value: str) -> tuple[str, tuple[Typed, ...]]:
    """Split a value into its readings and what is plus or less them.

    Raises:
        QuantityError: something plus or less has no name or no size.
    """
    readings, *rest = JOINS.split(value)
    found = []
    for word, text in zip(rest[::2], rest[1::2], strict=True):
        named = _NAMED.fullmatch(text.strip())
        if not named:
            raise QuantityError(f'what is {word.lower()} here has no name, or no size: "{text}"', f"as in {EXAMPLE}")
        name, size = named["name"] or named["bare"], named["size"] or named["number"]
        found.append(Typed(_WORDS[word.lower()], name.strip(), size))
    return readings, tuple(found)


def with_reading(value: str, reading: float) -> str:
    """Return a value with one reading, mm, in place of its own; what is plus or less them stays as it was typed."""
    joined = JOINS.search(value)
    return f"{reading:.9f} mm{value[joined.start() :] if joined else ''}"


def read_sum(
    typed: Iterable[Typed], declared: Sequence[Along], split: Callable[[str], tuple[str, ...]], where: Where
) -> tuple[Along, ...]:
    """Return what is plus or less a reading: as typed, or otherwise as the part file has it.

    Args:
        declared: what the measurement has in the part file; if there is any, names and signs must agree with it.
        split: separates several readings.
        where: the line in which the typed text stands.

    Raises:
        QuantityError: one cannot be read, or one is to be measured and is not given.
    """
    found = {item.name: item for item in declared}
    given: set[str] = set()
    for item in typed:
        known = found.get(item.name)
        _check_name(item, known, declared, given)
        given.add(item.name)
        readings, half = parse_value(item.size, split)
        doubt = known.uncertainty if known is not None else None
        if not math.isnan(half):
            doubt = Uncertainty(half, "limit", f"±{show_length(half, trim=True)}", where)
        if doubt is None:
            what, allowed = f'how far "{item.name}" may be out is not said', f"its plus-minus after it, as in {EXAMPLE}"
            raise QuantityError(what, allowed)
        kept = tuple(Quantity(value, text, where) for value, text in readings)
        found[item.name] = Along(sign=item.sign, name=item.name, readings=kept, uncertainty=doubt, where=where)
    for one in found.values():
        if not one.readings:
            blank = f"... {'in' if is_inch(one.uncertainty.text) else 'mm'}"
            how = f"its size after the readings: {word_of(one)} {one.name}: {blank}"
            raise QuantityError(f'"{one.name}" is to be measured along with it', how)
    return tuple(found.values())


def _check_name(item: Typed, known: Along | None, declared: Sequence[Along], given: Iterable[str]) -> None:
    """Check that a name is one of the part file's, has its sign, and stands once.

    Raises:
        QuantityError: it is not so.
    """
    if item.name in given:
        raise QuantityError(f'"{item.name}" is given twice', "each name once")
    if known is None and declared:
        raise _unknown(item.name, [a.name for a in declared])
    if known is not None and known.sign != item.sign:
        word = word_of(known)
        raise QuantityError(f'"{item.name}" is {word} in the part file', f"{word} {item.name}: {item.size}")


def _unknown(name: str, names: Sequence[str]) -> QuantityError:
    """Return the refusal of a name that the part file has not among those of a measurement."""
    meant = next((n for n in names if name.lower() in n.lower()), "") or closest(name, names)
    fix = did_you_mean(meant) or "use one of these, or write another in the part file"
    return QuantityError(f'the part file has no "{name}" in this measurement', ", ".join(f'"{n}"' for n in names), fix)


def how_to_record(path: str, part: Part, measurement: Measurement, times: int = 1) -> str:
    """Return the command that records a measurement, with a blank for each size that is still to be measured.

    Args:
        path: of the part file, as it is typed.
        times: how often each is measured.
    """
    blank = f"{'; '.join(['...'] * times)} {part.unit}"
    items = [f", {word_of(a)} {a.name}: {blank}" for a in measurement.along if not a.readings]
    return f'endshake record {path} "{measurement.name}" "{blank}{"".join(items)}"'


def word_of(item: Along) -> str:
    """Say whether it is plus or less."""
    return "plus" if item.sign > 0 else "less"


def check_distance(name: str, distance: float, text: str, where: Where) -> Iterator[Problem]:
    """Check that something is left of a sum."""
    if distance <= 0:
        what = f'nothing is left of "{name}": what is less is more than what was read'
        fix = "check the readings, units, and which are plus and which less"
        left = show_fine(distance, "in" if is_inch(text) else "mm", trim=True)
        yield problem(where, what, f'"{text}" = {left}', "more than nothing", fix)
