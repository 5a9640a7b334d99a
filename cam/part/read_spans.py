"""The tables of a part file that measure: [[measurement]], [[span]] and [[hole]]; spans.py shows their form."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from cam.ground.keys import read_as, read_key
from cam.ground.problem import Problem, Where, repeats
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.source.table import NAN, closest, did_you_mean
from cam.ground.units import LENGTH, QuantityError, parse, parse_limits
from cam.part.features import Edge, Tolerance
from cam.part.fits import size_limits
from cam.part.model import Part, Section
from cam.part.spans import (
    MOST_LENGTH,
    MOST_READINGS,
    MOST_UNCERTAINTY,
    Along,
    Doubt,
    Hole,
    Limits,
    LoosePart,
    Measurement,
    Measuring,
    Span,
    StandOff,
    Stated,
    Temperature,
    Uncertainty,
    added,
    mean_of,
)
from cam.part.texts import check_left, read_edge, read_tolerance

SOLVED = "(solved)"
"""The end of the text of a length that was left out, and that the others give."""
MEASURING = ("measurement", "span", "hole")
"""The tables that only the measuring chain reads."""
NAMED = {"from": "section", "to": "section", "measurement": "measurement", "hole_a": "hole", "hole_b": "hole"}
"""What each key of a span names."""
SIGNS = (("plus", 1), ("less", -1))
MOST_SMOOTHED = 0.1
"""The most, mm on the diameter, that a smoothing broach opens a hole. Common practice, no source: 0.005 is usual."""
JOINS = re.compile(r"\s*[,;]?\s+(plus|less|minus)\s+", re.IGNORECASE)
"""The words, as typed at the bench, that separate a reading from what is plus or less it."""


def read_measuring(root: Table, sections: Sequence[Section]) -> Measuring:
    """Read the measuring tables of a part file; problems are noted in the table.

    Args:
        root: the table of the whole part file.
        sections: those of the part, from the A end.
    """
    tables = {word: root.tables(word, fewest=0) for word in MEASURING}
    known = {"section": [s.name for s in sections], **{word: _read_names(rows, word) for word, rows in tables.items()}}
    spans = tables["span"]
    found = Measuring(
        measurements=tuple(map(_read_measurement, tables["measurement"])),
        spans=tuple(map(_read_span, spans)),
        holes=tuple(map(_read_hole, tables["hole"])),
        lengths=tuple(map(_written, sections)),
        total=read_key(root, Part, "whole") if root.has("length") and (spans or not root.problems) else None,
    )
    _check_named(tables, known)
    _check_used(tables["measurement"], {s.measurement for s in found.spans})
    return found


def _written(section: Section) -> Quantity | None:
    """Return the length of a section as it is written; None where it is left out."""
    text = section.length.text
    return None if not text or text.endswith(SOLVED) else section.length


def _check_named(tables: Mapping[str, Sequence[Table]], known: Mapping[str, Sequence[str]]) -> None:
    """Check that all that spans and holes name is there, no span runs backward and no section has two holes."""
    for table in tables["span"]:
        for key, word in NAMED.items():
            _check_known(table, key, word, known[word])
        _check_forward(table, known["section"])
    for table in tables["hole"]:
        _check_known(table, "section", "section", known["section"])
    named = [table for table in tables["hole"] if isinstance(table.values.get("section"), str)]
    for table, first in repeats(named, lambda table: table.values["section"]):
        given = f'section = "{table.values["section"]}", also on line {first.where_of("section").line}'
        table.note("section", "two holes are for this section", given=given, fix="leave one of them out")


def _read_names(tables: Sequence[Table], word: str) -> list[str]:
    """Read the names of the measurements, spans or holes, each of which has its own."""
    lines: dict[str, int] = {}
    for table in tables:
        table.check_name(table.text("name", most=60, example="between plates"), word, lines)
    return [str(table.values.get("name", "")) for table in tables]


def _check_used(measurements: Iterable[Table], used: set[str]) -> None:
    for table in measurements:
        name = str(table.values.get("name", ""))
        if name and name not in used:
            what = f'no span uses the measurement "{name}"'
            table.note("name", what, fix="leave it out, or write a span that does")


def _check_known(table: Table, key: str, word: str, known: Sequence[str]) -> None:
    name = table.values.get(key)
    if not isinstance(name, str) or not name.strip() or name in known:
        return
    allowed = ", ".join(f'"{n}"' for n in known) or f"there is no {word}"
    fix = did_you_mean(closest(name, known)) or f"write a [[{word}]] of that name, or name one of these"
    table.note(key, f'there is no {word} called "{name}"', allowed=allowed, fix=fix)


def _check_forward(table: Table, sections: Sequence[str]) -> None:
    first, last = table.values.get("from"), table.values.get("to")
    if first in sections and last in sections and sections.index(first) > sections.index(last):
        allowed = "from is the section nearer the A end"
        table.note("from", "this span runs backward", allowed=allowed, fix="exchange them")


# Quantities with their doubt ------------------------------------------------------------------------------


def read_uncertainty(table: Table, key: str = "uncertainty", *, needed: bool = True) -> Uncertainty:
    """Read a plus-minus limit ("±0.02 mm") under key; for uncertainty also one standard deviation under its own key."""
    standard = f"standard_{key}"
    if key == "uncertainty" and table.has(standard):
        table.refuse(key, f"{key} and {standard} say the same twice", fix="leave one of them out")
        amount = read_key(table, Doubt, standard)
        return Uncertainty(float(amount), "standard", amount.text, table.where_of(standard))
    if not table.needs(key, '"±0.02 mm"', why="how far it may be out must be said", default=None if needed else ""):
        return Uncertainty(NAN if needed else 0.0, "limit", "", table.where)
    lower, upper = table.limits(key)
    if abs(lower + upper) > 1e-9 or upper > MOST_UNCERTAINTY:
        allowed = table.example(f"up to ±{MOST_UNCERTAINTY:g} mm, for example ±0.02 mm")
        table.note(key, f"{key} is a plus-minus limit", allowed=allowed)
        upper = NAN
    stated: Stated = "limit"
    return Uncertainty(upper, stated, str(table.raw(key)), table.where_of(key))


def _read_limits(table: Table, key: str, why: str) -> Limits:
    limits = read_as(table.table(key, why=why), Limits)
    least, aim, most = limits.least, limits.aim, limits.most
    said = (("least", least), ("aim", aim), ("most", most))
    if least > aim or aim > most:
        table.note(
            key,
            f"the aim of {key} does not lie between its least and most",
            given=", ".join(f"{name} {size.text}" for name, size in said if size.text),
            allowed="least, then aim, then most, each at least as large as the one before",
        )
    elif least == most:
        what, allowed = f"nothing can be made to meet this {key}: its least and most are the same", "least under most"
        fix = "say between what limits it may come out"
        table.note(key, what, given=f"{least.text} to {most.text}", allowed=allowed, fix=fix)
    return limits


def _read_temperature(table: Table, key: str, *, doubt: bool = True, at: int | None = None) -> Temperature | None:
    if not table.has(key):
        return None
    inner = () if at is None else (at,)
    where = table.where_of(key, *inner)
    return table.parsed(key, lambda text: parse_temperature(text, where, doubt=doubt), None, *inner)


def _read_lengths(table: Table, key: str) -> tuple[Quantity, ...]:
    """Read a list of lengths, each with its unit; () where it cannot be read."""
    value = table.raw(key)
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_READINGS:
        allowed = table.example(f'1 to {MOST_READINGS}, for example ["45.02 mm", "45.04 mm", "45.03 mm"]')
        table.note(key, f"{key} is a list of lengths", allowed=allowed)
        return ()
    return tuple(table.quantity_in(key, LENGTH, at, least=0.0, over=True) for at in range(len(value)))


def _read_readings(table: Table, cls: type) -> tuple[Quantity, ...]:
    """Read what was measured once, as value, or several times, as readings; those that cannot be read are left out."""
    found = _read_lengths(table, "readings") if table.has("readings") else (read_key(table, cls, "value"),)
    return tuple(r for r in found if not math.isnan(r))


# Measurements ---------------------------------------------------------------------------------------------


def _read_measurement(table: Table) -> Measurement:
    after = _read_after(table) if table.has("to_be_measured") else 0
    readings = _read_taken(table, after)
    along = tuple(
        _read_along(inner, sign, waits=bool(after)) for key, sign in SIGNS for inner in table.tables(key, fewest=0)
    )
    _check_sum(table, readings, along)
    material = read_key(table, Measurement, "material")
    temperature = _read_temperature(table, "temperature")
    if temperature is not None and not material:
        table.missing("material", '"brass"', why="what was measured at that temperature grows by its material")
    return read_as(
        table, Measurement, name=str(table.values.get("name", "")), readings=readings, along=along, after=after,
        uncertainty=read_uncertainty(table), temperature=temperature, material=material,
    )  # fmt: skip


def _read_taken(table: Table, after: int) -> tuple[Quantity, ...]:
    """Read the readings of a measurement; there are none for one that is still to be taken."""
    written = [key for key in ("value", "readings") if table.has(key)]
    if len(written) == 1:
        return _read_readings(table, Measurement)
    if written or not after:
        given = f"it has {' and '.join(written)}" if written else "it has none of them"
        fix = "leave one of them out" if written else 'for one to come write to_be_measured = "after setting 1"'
        table.note("name", f"{table.title} is given by value, by readings, or to be measured", given=given, fix=fix)
    return ()


def _read_along(table: Table, sign: int, *, waits: bool) -> Along:
    """Read what was measured along with a distance; waits says that the distance, and so this too, may come later."""
    written = [key for key in ("value", "readings") if table.has(key)]
    readings: tuple[Quantity, ...] = ()
    if len(written) > 1:
        what = f"{table.title} is given by value and by readings"
        table.note("value", what, fix="leave one of them out")
    elif written or not waits:
        readings = _read_readings(table, Along)
    return read_as(table, Along, sign=sign, readings=readings, uncertainty=read_uncertainty(table))


def _check_sum(table: Table, readings: Sequence[Quantity], along: Sequence[Along]) -> None:
    """Check that the names can be told apart and typed after a reading, and that something is left of the distance."""
    if readings and all(a.readings for a in along) and mean_of(readings) + added(along) <= 0:
        what = f'nothing is left of "{table.values.get("name")}": what is less is more than what was read'
        table.note("name", what, given="", fix="check the readings, units, and which are plus and which less")
    names: set[str] = set()
    for item in along:
        strange = re.search("[:=;]", item.name) or JOINS.search(f" {item.name} ")
        if item.name in names or strange:
            what = f'what is plus or less "{table.values.get("name")}" has a name that cannot be used'
            allowed = "each its own, without colon, semicolon, equals sign, or the words plus, less, minus"
            table.problems.append(Problem(where=item.where, what=what, given=f'"{item.name}"', allowed=allowed))
        names.add(item.name)


def _read_after(table: Table) -> int:
    text = " ".join(table.text("to_be_measured", example="after setting 1").lower().split())
    if text not in ("", "after setting 1"):
        table.note(
            "to_be_measured",
            "this does not say when the measurement can be taken",
            allowed='"after setting 1": the second setting is planned from it, and there is no third',
        )
    return 1


# Spans ----------------------------------------------------------------------------------------------------


def _read_span(table: Table) -> Span:
    why = "end shake has no default: least, aim and most must be said"
    loose = table.tables("loose", fewest=0)
    for side in "ab":
        if table.has(f"stand_off_{side}"):
            what = f"hole_{side} and stand_off_{side} both say how far that corner stands off"
            table.refuse(f"hole_{side}", what, fix="leave one of them out")
    return read_as(
        table, Span, name=str(table.values.get("name", "")), shake=_read_limits(table, "end_shake", why),
        tolerance=read_tolerance(table, "tolerance"),
        loose=tuple(read_as(inner, LoosePart, uncertainty=read_uncertainty(inner)) for inner in loose),
        stand_off_a=_read_stand_off(table, "stand_off_a"), stand_off_b=_read_stand_off(table, "stand_off_b"),
        part_temperature=_read_temperature(table, "part_temperature"), in_use=_read_in_use(table),
    )  # fmt: skip


def _read_stand_off(table: Table, key: str) -> StandOff | None:
    if not table.has(key):
        table.refuse(f"{key}_uncertainty", f"{key}_uncertainty goes with a {key}", fix="leave it out")
        return None
    size = read_key(table, Span, key)
    half = read_uncertainty(table, f"{key}_uncertainty", needed=size > 0).half
    reason = f"{size.text}, as the part file says"
    return StandOff(max(size - half, 0.0) if half else float(size), float(size), size + half, reason)


def _read_in_use(table: Table) -> tuple[float, float] | None:
    if not table.has("in_use"):
        return None
    value = table.raw("in_use")
    if not isinstance(value, list) or len(value) != 2:
        table.note("in_use", "in_use is two temperatures, the coldest and the warmest", allowed='["5 degC", "30 degC"]')
        return None
    found = [_read_temperature(table, "in_use", doubt=False, at=at) for at in (0, 1)]
    cold, warm = (t.value if t is not None else NAN for t in found)
    if cold > warm:
        table.note("in_use", "the coldest of in_use is warmer than the warmest", fix="exchange them")
    return None if math.isnan(cold + warm) else (cold, warm)


# Holes ----------------------------------------------------------------------------------------------------


def _read_hole(table: Table) -> Hole:
    use = read_key(table, Hole, "use")
    opened_by = read_key(table, Hole, "opened_by") if use == "open" or table.has("opened_by") else "reamer"
    hole = read_as(
        table, Hole, name=str(table.values.get("name", "")), use=use,
        side_shake=_read_limits(table, "side_shake", "") if table.has("side_shake") else None, opened_by=opened_by,
        **_read_broach(table, used=use == "open" and opened_by == "broach"),
        edge_inside=_read_hole_edge(table, "edge_inside"), edge_outside=_read_hole_edge(table, "edge_outside"),
    )  # fmt: skip
    check_left(table, "smoothing", float(hole.smoothing), MOST_SMOOTHED, "a smoothing broach")
    return hole


def _read_broach(table: Table, *, used: bool) -> dict[str, Any]:
    """Read what a hole opened by a broach has, and refuse what belongs to one where none is used."""
    if not used:
        for key in ("taper", "carrying_gap"):
            table.refuse(key, f"{key} belongs to a broach, and this hole is not opened by one", fix="leave it out")
        side = read_key(table, Hole, "side") if table.has("side") else "inside"
        return {"taper": 0.0, "side": side, "carrying_gap": Quantity(0.0, "", table.where)}
    written = table.needs("taper", '"1:100"', why="a broach tapers, and the hole with it")
    return {
        "taper": table.parsed("taper", parse_taper, NAN) if written else NAN,
        "side": read_key(table, Hole, "side"),
        "carrying_gap": read_key(table, Hole, "carrying_gap"),
    }


def _read_hole_edge(table: Table, key: str) -> Edge:
    if not table.needs(key, '"chamfer 0.2 mm"', why="it decides whether the shoulder seats"):
        return Edge(kind="sharp", size=0.0, text="", where=table.where)
    return read_edge(table, key)


# Values typed at the bench --------------------------------------------------------------------------------


def parse_value(value: str, split: Callable[[str], tuple[str, ...]]) -> tuple[tuple[tuple[float, str], ...], float]:
    """Read the readings (mm, text) and the plus-minus limit, mm: "45.02; 45.03; 45.04 mm", "6.02 mm ± 0.005 mm".

    The limit may also be written with "+-" or "+/-"; it is nan where there is none.

    Raises:
        QuantityError: a reading or the limit cannot be read.
    """
    head, sign, tail = (re.sub(r"\+ ?/? ?-", "±", value) if "+" in value else value).partition("±")
    half = NAN
    if sign:
        half = parse_limits(f"±{tail.strip()}")[1]
        if head.rstrip()[-1:].isdigit():
            head = f"{head.rstrip()} {tail.strip().lstrip('-+0123456789./ ')}"
    texts = split(head)
    if not texts:
        raise QuantityError("there is no reading in it", 'for example "45.03 mm", or "45.02; 45.03; 45.04 mm"')
    return tuple((parse(text, LENGTH, least=0.0, over=True, most=MOST_LENGTH), text) for text in texts), half


def read_symbol(text: str, nominal: float, where: Where) -> Tolerance:
    """Read limits of size from their ISO 286 symbol, "h7".

    Raises:
        QuantityError: the symbol is not in the table, or is that of a hole.
    """
    limits = size_limits(text, nominal)
    if limits.is_hole:
        raise QuantityError(f"{limits.symbol} is the symbol of a hole", "a shaft's, in small letters: h7")
    return Tolerance(lower=limits.lower, upper=limits.upper, text=text, where=where)


# Tapers and temperatures -----------------------------------------------------------------------------------


_TAPER = r"1[ \t]*(?::|in)[ \t]*([0-9]+(?:\.[0-9]+)?)"


def parse_taper(text: object) -> float:
    """Read the taper of a broach on the diameter, "1:100" or "1 in 100", as 0.01.

    Broaches are from about 1:100 to 1:200 (from memory, no page read).

    Raises:
        QuantityError: the text is unreadable, or the taper is outside 1:20 to 1:1000.
    """
    found = re.fullmatch(_TAPER, text.strip()) if isinstance(text, str) else None
    if not found:
        raise QuantityError("this taper cannot be read", 'for example "1:100", on the diameter')
    if not 20 <= float(found[1]) <= 1000:
        raise QuantityError("no broach has this taper", "1:20 to 1:1000 on the diameter")
    return 1 / float(found[1])


_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
COLDEST, WARMEST = -40.0, 150.0
"""The temperatures that can be meant in a workshop or a clock, degrees Celsius."""
SCALES = {"C": (0.0, 1.0), "F": (32.0, 1.8)}
"""Where each scale has the zero of Celsius, and how many of its degrees one kelvin is; exact, by definition."""
_TEMPERATURE = rf"([-+]?{_NUMBER})(?:[ \t]*(?:±|\+/?-)[ \t]*({_NUMBER}))?[ \t]*(?:deg|°)?[ \t]*([CF])"


def parse_temperature(text: object, where: Where, *, doubt: bool = True) -> Temperature:
    """Read a temperature: "24 ± 1 degC", "75 +/- 2 °F".

    Args:
        text: what the file holds; anything but a string is refused.
        doubt: whether the plus-minus part must be there; if False it must not, and within is zero.

    Raises:
        QuantityError: the text is unreadable or lacks its limits, or the temperature cannot be meant.
    """
    example = '"24 ± 1 degC"' if doubt else '"24 degC"'
    plain = text.replace("\u2212", "-").strip() if isinstance(text, str) else ""
    found = re.fullmatch(_TEMPERATURE, plain)
    if not found:
        raise QuantityError("this temperature cannot be read", f"for example {example}")
    if doubt != bool(found[2]):
        said = "does not say how well it is known" if doubt else "is a bound, which has no plus-minus"
        raise QuantityError(
            f"this temperature {said}", f"for example {example}", "add its plus-minus limits" if doubt else ""
        )
    zero, degree = SCALES[found[3]]
    value, within = (float(found[1]) - zero) / degree, float(found[2] or 0) / degree
    if not COLDEST <= value <= WARMEST or within > WARMEST - COLDEST:
        raise QuantityError("this temperature cannot be meant", f"{COLDEST:g} degC to {WARMEST:g} degC")
    return Temperature(value, within, str(text), where)
