"""Text with a unit is read as a number in the inside unit, and numbers are shown as text.

The usual forms of the trade ("6.35 mm", "1/4 in", '1-1/8"', "4 thou/rev") are read by one pattern and a table of
exact ratios that is written from pint's registry (`cam/ground/ratios.py`), so that 1/4 in, 250 thou and 6.35 mm are the
same float. Any other unit is left to the registry itself, which is imported only then (its import takes longer than a
run).

A number alone is never taken: the message says what it lacks and offers both likely readings.
"""

from __future__ import annotations

import math
import re
import tomllib
from difflib import get_close_matches
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.ratios import RATIOS

Ratio = tuple[int, int]
"""An exact factor to the inside unit, numerator and denominator."""

MOST_TEXT = 60
"""The length in characters of the longest text that is read as a quantity."""

MM_PER_INCH = RATIOS["length"]["in"][0] / RATIOS["length"]["in"][1]
MM_PER_FOOT = RATIOS["length"]["ft"][0] / RATIOS["length"]["ft"][1]

INCH = {"mm": "in", "mm/rev": "in/rev", "m/min": "ft/min", "mm/min": "in/min"}
"""Unit of an example -> unit of a bare number where the person thinks in inches."""


class QuantityError(ValueError):
    """A text that cannot be taken as the quantity that is wanted.

    Attributes:
        what, allowed, fix: as in `Problem`. inch: allowed and fix for a file in inches, where they are not those with
            their examples in inches.
    """

    def __init__(self, what: str, allowed: str = "", fix: str = "", inch: tuple[str, str] | None = None) -> None:
        super().__init__(what)
        self.what = what
        self.allowed = allowed
        self.fix = fix
        self.inch = inch

    def said_in(self, unit: str) -> tuple[str, str]:
        """Return what is allowed and the fix for a file that is mostly in this unit."""
        if unit == "in" and self.inch:
            return self.inch
        return in_unit(self.allowed, unit) if '"' in self.allowed else self.allowed, self.fix


class Kind(Row):
    """What is measured, and how it may be written.

    Attributes:
        name: for example "length".
        inside: the inside unit, as pint spells it too.
        most: the greatest size that is not nonsense, inside unit.
        examples: two ways to complete a bare number.
        written: unit as written -> as pint spells it, or "" where that is the same.
    """

    name: str
    inside: str
    most: float
    examples: tuple[str, str]
    written: dict[str, str]

    @property
    def units(self) -> dict[str, Ratio]:
        """Return unit as written -> exact ratio to the inside unit."""
        return RATIOS[self.name]


def _same(*units: str) -> dict[str, str]:
    return dict.fromkeys(units, "")


LENGTH = Kind(
    "length",
    "mm",
    10_000.0,
    ("mm", "in"),
    {**_same("mm", "cm", "m", "um", "µm", "in", "inch"), '"': "inch", **_same("thou", "mil", "ft")},
)
ANGLE = Kind(
    "angle",
    "deg",
    360.0,
    ("deg", "rad"),
    {**_same("deg"), "°": "deg", **_same("rad"), "'": "arcmin", **_same("arcmin"), "min": "arcmin"},
)
FEED = Kind(
    "feed per revolution",
    "mm/rev",
    100.0,
    ("mm/rev", "thou/rev"),
    _same("mm/rev", "um/rev", "µm/rev", "in/rev", "thou/rev"),
)
SPEED = Kind(
    "rotational speed",
    "rev/min",
    1_000_000.0,
    ("rpm", "rev/min"),
    {**_same("rpm", "rev/min"), "1/min": "rev/min", **_same("rev/s")},
)
POWER = Kind("power", "W", 1_000_000.0, ("W", "hp"), _same("W", "kW", "hp"))
RATE = Kind(
    "feed rate", "mm/min", 100_000.0, ("mm/min", "in/min"), _same("mm/min", "m/min", "mm/s", "in/min", "ft/min")
)
CUTTING_SPEED = Kind("cutting speed", "m/min", 10_000.0, ("m/min", "ft/min"), _same("m/min", "m/s", "ft/min"))
STRESS = Kind("stress", "N/mm**2", 1e7, ("N/mm2", "MPa"), {"N/mm2": "N/mm**2", **_same("MPa", "GPa")})
FORCE = Kind("force", "N", 1e6, ("N", "lbf"), _same("N", "kN", "kgf", "lbf"))
TORQUE = Kind(
    "torque", "N m", 1e5, ("N m", "lbf in"), {**_same("N m"), "Nm": "N m", **_same("lbf in"), "lbf ft": "lbf foot"}
)
ACCELERATION = Kind(
    "acceleration",
    "mm/s**2",
    1e6,
    ("mm/s2", "in/s2"),
    {"mm/s2": "mm/s**2", "mm/s²": "mm/s**2", "m/s2": "m/s**2", "in/s2": "in/s**2", "in/s²": "in/s**2"},
)
KELVIN = Kind("difference of temperature", "K", 300.0, ("K", "K"), _same("K"))
TIME = Kind("time", "s", 3600.0, ("s", "ms"), _same("s", "ms"))
KINDS = (LENGTH, ANGLE, FEED, SPEED, POWER, RATE, CUTTING_SPEED, STRESS, FORCE, TORQUE, ACCELERATION, KELVIN, TIME)

_PLAIN = str.maketrans(
    {
        "\u2212": "-", "\u2013": "-", "\u2033": '"', "\u201d": '"', "\u2032": "'", "\u2019": "'",
        "\u03bc": "µ", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u00ba": "°",
        "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    }
)  # fmt: skip
"""The typographers' forms of the signs that are read, each with its sign."""

_NUMBER = r"[0-9]+(?:[ \t]+|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+\.?[0-9]*|\.[0-9]+"
_QUANTITY = re.compile(
    rf"([+-]?)[ \t]*({_NUMBER})(?![0-9.,/]|[eE][-+]?[0-9])[ \t]*((?=1/[a-z])(?<=[ \t]).*|(?![-+0-9 \t]).*)", re.DOTALL
)


def parse(
    text: object, kind: Kind, *, least: float | None = None, over: bool = False, most: float | None = None
) -> float:
    """Read a quantity of the kind that is wanted.

    Args:
        text: what the file holds; anything but a string is refused with the reason.
        kind: one of KINDS.
        least: smallest value taken, inside unit; None for no bound.
        over: True if the value must be larger than least, not equal to it.
        most: largest value taken, inside unit; None for the most that the kind allows.

    Returns:
        The value in kind.inside, correctly rounded for the units of kind.units.

    Raises:
        QuantityError: with what is wrong, what is allowed and how to fix it.
    """
    plain = _checked_text(text, kind)
    value = _degrees_and_minutes(plain) if kind is ANGLE else None
    if value is None:
        value = _read(plain, kind)
    if not abs(value) <= kind.most:
        raise QuantityError(
            f"this {kind.name} cannot be meant",
            f"at most {show(kind.most, kind, inch=is_inch(plain))}",
            "check the number and its unit",
        )
    check_bounds(value, plain, kind, least=least, over=over, most=most)
    return value


def check_bounds(
    value: float, text: str, kind: Kind, *, least: float | None = None, over: bool = False, most: float | None = None
) -> None:
    """Refuse a value outside its bounds.

    Args: as for `parse`; text only tells in which unit the bounds are shown.

    Raises:
        QuantityError: too small or too large.
    """
    allowed = say_bounds(kind, least=least, over=over, most=most, inch=is_inch(text))
    if least is not None and (value < least or (over and value == least)):
        if value < 0 <= least:
            raise QuantityError(f"this {kind.name} may not be negative", allowed, "leave out the minus sign")
        raise QuantityError(f"this {kind.name} is too small", allowed, _other_unit(text, kind, least, most))
    if most is not None and value > most:
        raise QuantityError(f"this {kind.name} is too large", allowed, _other_unit(text, kind, least, most))


def say_bounds(
    kind: Kind, *, least: float | None = None, over: bool = False, most: float | None = None, inch: bool = False
) -> str:
    """Say between which bounds, as `parse` takes them, a quantity may lie: "more than 0 mm, at most 6 mm"."""
    low = "" if least is None else f"{'more than' if over else 'at least'} {show(least, kind, inch=inch)}"
    high = "" if most is None else f"at most {show(most, kind, inch=inch)}"
    return ", ".join(words for words in (low, high) if words)


def _other_unit(text: str, kind: Kind, least: float | None, most: float | None) -> str:
    """Ask whether the other unit was meant, where the same number in it lies within the bounds; otherwise return ""."""
    found = re.fullmatch(r"([0-9]*\.?[0-9]+) *(mm|in|inch|\"|W|hp)", text.strip())
    if kind not in (LENGTH, POWER) or not found:
        return ""
    unit = {"mm": "in", "W": "hp", "hp": "W"}.get(found[2], "mm")
    numerator, denominator = kind.units[unit]
    other = float(found[1]) * numerator / denominator
    inside = (least is None or other > least) and (most is None or other <= most)
    return f'did you mean "{found[1]} {unit}"?' if inside else ""


def parse_drill(text: object) -> float:
    """Read a drill's diameter, mm: a length, or "No. 30", "#30", "letter F", "F drill".

    Raises:
        QuantityError: there is no such size, or it is no length either.
    """
    plain = _checked_text(text, LENGTH, example="3.2 mm, No. 30 or letter F")
    size = drill_size(plain)
    return size if size is not None else parse(plain, LENGTH, least=0.0, over=True)


def drill_size(text: str) -> float | None:
    """Return the diameter of a number or letter drill, mm, or None if the text does not name one.

    Raises:
        QuantityError: it names a number that does not exist.

    Source: ASME B94.11M, see drills.toml.
    """
    number = re.fullmatch(r"(?:no\.?|number|#|drill)[ \t]*(?:no\.?)?[ \t]*([0-9]{1,3})(?:[ \t]*drill)?", text, re.I)
    letter = re.fullmatch(r"(?:letter|drill)[ \t]+([A-Z])|([A-Z])[ \t]+drill", text, re.I)
    if number:
        sizes = _drills()["number"]
        index = int(number[1]) - 1
        if not 0 <= index < len(sizes):
            raise QuantityError("there is no drill of that number", f"No. 1 to No. {len(sizes)}")
        return _inch_value(sizes[index])
    if letter:
        return _inch_value(_drills()["letter"][ord((letter[1] or letter[2]).upper()) - ord("A")])
    return None


def parse_limits(text: object) -> tuple[float, float]:
    """Read limits of size as offsets from the nominal size: "+0 / -0.012 mm", "±0.02 mm", "-0.5 -1 thou".

    Returns:
        (lower, upper), mm, lower < upper.

    Raises:
        QuantityError: not two signed offsets, no unit, or no room between them.
    """
    plain = _checked_text(text, LENGTH, example="+0 / -0.02 mm")
    number = r"([0-9]+/[0-9]+|[0-9]+\.?[0-9]*|\.[0-9]+)"
    both = re.fullmatch(rf"(?:±|\+[ \t]*/?[ \t]*-)[ \t]*{number}[ \t]*([^0-9]*)", plain)
    pair = re.fullmatch(
        rf"([+-]?)[ \t]*{number}[ \t]*([^-+0-9/,;]*?)[ \t]*(?:[/;,]|(?=[-+])|(?<=[ \t])(?=0))"
        rf"[ \t]*([+-]?)[ \t]*{number}[ \t]*([^0-9]*)",
        plain,
    )
    if both:
        size = _offset("+", both[1], both[2])
        offsets = (-size, size)
    elif pair:
        offsets = (_offset(pair[1], pair[2], pair[3] or pair[6]), _offset(pair[4], pair[5], pair[6]))
    else:
        raise _unreadable_limits(plain)
    lower, upper = (0.0 if offset == 0 else offset for offset in sorted(offsets))
    if not lower < upper:
        raise QuantityError("there is no room between these limits", "an upper limit above the lower one")
    if max(-lower, upper) > 5.0:
        allowed = f"offsets of at most {show(5.0, LENGTH, inch=is_inch(plain))}"
        raise QuantityError("limits this far apart cannot be meant", allowed, "check the unit")
    return lower, upper


def _offset(sign: str, number: str, unit: str) -> float:
    top, _ = _ratio(number)
    if not sign and top:
        raise _unreadable_limits(number)
    if not unit:
        raise QuantityError("these limits have no unit", 'for example "+0 / -0.02 mm"', "finish with mm, in or thou")
    return _read(f"{sign}{number} {unit}", LENGTH)


def _unreadable_limits(plain: str) -> QuantityError:
    _refuse_comma(plain)
    bare = re.match(r"[0-9.]", plain) is not None
    return QuantityError(
        "these limits cannot be read",
        'two offsets from nominal, each with its sign, and a unit: "+0 / -0.02 mm" or "±0.01 mm"',
        f'did you mean "±{plain}"?' if bare else "give each limit its sign and finish with the unit",
    )


def is_inch(text: str) -> bool:
    """Whether the text is written in inches, thou, feet, or an inch drill size."""
    pattern = r'(?<![a-z])(in|inch|inches|thou|mil|ft)\b|"|#|\bno\.?\s*[0-9]|letter|drill'
    return re.search(pattern, text, re.I) is not None


GRAINS = {"mm": 0.001, "in": 0.00254}
"""The last digit of a length as it is shown, mm, by unit."""

GRAIN_SLACK = 1e-4
"""The share of a last digit that is taken for rounding of floats."""


def show_length(value: float, unit: str = "mm", digits: int = 3, *, trim: bool = False) -> str:
    """Show a length as text, "6.350 mm": never with an exponent, never as minus zero.

    Args:
        value: mm.
        unit: "mm", "in" or "thou" (or any of the length units that are read).
        digits: decimals, 0 to 9.
        trim: leave out zeros at the end.

    Raises:
        RangeError: a value that is not a number, an unknown unit, or too many digits.
    """
    if unit not in LENGTH.units:
        raise RangeError(f"no such unit of length: {unit!r}")
    numerator, denominator = LENGTH.units[unit]
    return f"{show_number(value * denominator / numerator, digits, trim=trim)} {unit}"


def decimals_of(unit: str) -> int:
    """Return the decimals of the finest reading on a micrometer: a micrometre in mm, a tenth of a thou in inches."""
    return 4 if unit == "in" else 3


def gauge_decimals(unit: str) -> int:
    """Return the decimals that callipers and a depth gauge show: 0.01 mm, a thou. Common practice, no source."""
    return decimals_of(unit) - 1


def depth_instrument(decimals: int, unit: str) -> str:
    """Name what measures a shoulder's place to so many decimals of a unit."""
    return "depth gauge" if decimals <= gauge_decimals(unit) else "depth micrometer"


def show_fine(value: float, unit: str, *, trim: bool = False) -> str:
    """Show a length, mm, as text down to a micrometre or a tenth of a thou; see show_length."""
    return show_length(value, unit, decimals_of(unit), trim=trim)


def in_unit(text: str, unit: str) -> str:
    """Return a text with its examples, which are in mm, in inches of about that size where the unit is inches."""

    def inch(found: re.Match[str]) -> str:
        size = MM_PER_FOOT / 1000 if found[2] == "m/min" else MM_PER_INCH
        return f"{re.sub('[0-9.]+', lambda number: round_size(float(number[0]) / size), found[1])} {INCH[found[2]]}"

    def round_size(size: float) -> str:
        return f"{float(f'{size:.1g}' if size < 0.1 else f'{size:.2g}'):g}"

    several = r"(?<![\w.])([0-9.]+(?:(?: / |, | to )[-+]?[0-9.]+)*) (mm/rev|mm/min|m/min|mm)\b"
    return re.sub(several, inch, text) if unit == "in" else text


def show_slight(value: float, unit: str = "mm") -> str:
    """Show a length, mm, as text, to a millionth where it is below a micrometre."""
    return show_length(value, unit, 6 if abs(value) < 0.001 else decimals_of(unit))


def show_known(value: float, unit: str) -> str:
    """Show a length as finely as files are written; "unknown" stands for one that is not known yet."""
    return show_length(value, unit, 4, trim=True) if math.isfinite(value) else "unknown"


def round_up(value: float, unit: str = "mm") -> float:
    """Return the least length in whole micrometres, or ten-thousandths of an inch, that is not smaller, mm."""
    grain = GRAINS[unit]
    return math.ceil(value / grain - GRAIN_SLACK) * grain


def round_down(value: float, unit: str = "mm") -> float:
    """Return the greatest length in whole micrometres, or ten-thousandths of an inch, that is not larger, mm."""
    grain = GRAINS[unit]
    return math.floor(value / grain + GRAIN_SLACK) * grain


def show_number(value: float, digits: int = 3, *, trim: bool = False) -> str:
    """Show a number as text: never with an exponent, never as "-0.000".

    Raises:
        RangeError: nan, infinity, or digits outside 0 to 9.
    """
    if not math.isfinite(value) or not 0 <= digits <= 9:
        raise RangeError(f"cannot show {value!r} to {digits} decimals")
    text = f"{value:.{digits}f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def show(value: float, kind: Kind, *, inch: bool = False) -> str:
    """Show a bound as text in the kind's inside unit, or a length in inches if asked."""
    if kind is LENGTH:
        return show_fine(value, "in" if inch else "mm", trim=True)
    return f"{show_number(value, 4, trim=True)} {kind.inside}"


def _checked_text(text: object, kind: Kind, example: str = "") -> str:
    """Return the text in plain signs; refuse what is no text, empty, too long or not printable."""
    example = example or f"6 {kind.examples[0]}"
    if not isinstance(text, str):
        raise _no_text(text, kind, example)
    if len(text) > MOST_TEXT:
        raise QuantityError(f"this text is too long for {_a(kind)}", f'for example "{example}"')
    plain = text.translate(_PLAIN).strip()
    if not plain:
        raise QuantityError(f"{_a(kind)} is wanted here and the text is empty", f'for example "{example}"')
    if not plain.isprintable():
        raise QuantityError(f"this {kind.name} holds a character that cannot be printed", f'for example "{example}"')
    return plain


def _no_text(value: object, kind: Kind, example: str) -> QuantityError:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return QuantityError(f"{_a(kind)} is wanted here", f'text in quotes, for example "{example}"')
    if isinstance(value, float) and not math.isfinite(value):
        return _no_number(kind)
    return _bare(show_number(value, 9, trim=True) if abs(value) < 1e9 else "1", kind)


def _no_number(kind: Kind) -> QuantityError:
    return QuantityError(f"{_a(kind)} must be a number that exists", f'for example "6 {kind.examples[0]}"')


def _a(kind: Kind) -> str:
    return f"{'an' if kind.name[0] in 'aeiou' else 'a'} {kind.name}"


def _bare(number: str, kind: Kind) -> QuantityError:
    first, second = (f'"{number} {unit}"' for unit in kind.examples)
    what, inch = f"this {kind.name} has no unit", (f"for example {second}", f"did you mean {second} or {first}?")
    return QuantityError(what, f"for example {first}", f"did you mean {first} or {second}?", inch)


def _read(plain: str, kind: Kind) -> float:
    match = _QUANTITY.fullmatch(plain)
    if not match:
        return _read_rare(plain, kind)
    sign, number, unit = match[1], match[2], match[3].strip()
    top, bottom = _ratio(number)
    if unit in kind.units:
        numerator, denominator = kind.units[unit]
        value = top * numerator / (bottom * denominator)
    elif not unit:
        raise _bare(sign + number, kind)
    else:
        value = top / bottom * _rare_factor(unit, f"{sign}{number}", kind)
    return -value if sign == "-" and value else value


def _ratio(number: str) -> Ratio:
    """Read "1 1/8", "3/32" or "0.375" as an exact ratio of whole numbers."""
    if "/" in number:
        whole, _, fraction = number.replace("-", " ").replace("\t", " ").rpartition(" ")
        top, bottom = (int(n) for n in fraction.split("/"))
        if bottom == 0:
            raise QuantityError("this fraction divides by nothing", "a number above 0 below the line")
        return int(whole or "0") * bottom + top, bottom
    whole, _, decimals = number.partition(".")
    return int(whole + decimals), 10 ** len(decimals)


def _inch_value(inches: float) -> float:
    top, bottom = _ratio(f"{inches:.4f}")
    numerator, denominator = LENGTH.units["in"]
    return top * numerator / (bottom * denominator)


def _degrees_and_minutes(plain: str) -> float | None:
    """Read the degrees of "10° 37'"; None if the text is not written so."""
    match = re.fullmatch(r"([+-]?)[ \t]*([0-9]+)[ \t]*(?:°|deg)[ \t]*([0-9]+)[ \t]*(?:'|arcmin|min)", plain)
    if not match:
        return None
    if int(match[3]) >= 60:
        raise QuantityError("there are 60 minutes in a degree", "0' to 59'")
    size = (int(match[2]) * 60 + int(match[3])) / 60
    return -size if match[1] == "-" and size else size


def _read_rare(plain: str, kind: Kind) -> float:
    """Read what the usual pattern does not match: an exponent, or something to refuse helpfully."""
    exponent = re.fullmatch(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)[eE][+-]?[0-9]{1,3})[ \t]*([^0-9.,+-].*)?", plain)
    if exponent:
        if not exponent[2]:
            raise _bare(exponent[1], kind)
        unit = exponent[2].strip()
        if unit in kind.units:
            numerator, denominator = kind.units[unit]
            factor = numerator / denominator
        else:
            factor = _rare_factor(unit, exponent[1], kind)
        return float(exponent[1]) * factor
    _refuse_comma(plain)
    if re.match(r"[+-]?(nan|inf)", plain, re.IGNORECASE):
        raise _no_number(kind)
    size = drill_size(plain) if kind is LENGTH else None
    if size is not None:
        inch = show_length(size, "in", 4)
        said = f"{plain} is {inch}, {show_length(size, 'mm', 3)}", f'write "{inch}"'
        raise QuantityError("a drill size is no length here", *said, inch=said)
    raise QuantityError(
        f"this {kind.name} cannot be read",
        f'a number and its unit, for example "6 {kind.examples[0]}"' + (' or "1 1/8 in"' if kind is LENGTH else ""),
    )


def _refuse_comma(plain: str) -> None:
    match = re.search(r"[0-9],[0-9]", plain)
    if not match:
        return
    point = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", plain)
    whole = re.sub(r"(?<=[0-9]),(?=[0-9])", "", plain)
    thousands = re.search(r"(?<![0-9])[1-9][0-9]*,[0-9]{3}(?![0-9])", plain)
    if thousands and (plain.count(",") > 1 or "." in plain):
        meant = f'"{whole}"'
    else:
        meant = f'"{point}" or "{whole}"' if thousands else f'"{point}"'
    raise QuantityError("decimals are written with a point, not a comma", meant, f"did you mean {meant}?")


def _rare_factor(unit: str, number: str, kind: Kind) -> float:
    """Return the factor to the inside unit for a unit that is not in the kind's own table."""
    if len(unit) > 1 and unit.isupper() and unit.lower() in kind.units:
        numerator, denominator = kind.units[unit.lower()]
        return numerator / denominator
    for other in KINDS:
        if unit in other.units and other is not kind:
            raise _wrong_kind(number, unit, other, kind)
    powers_left_out = re.sub(r"(?:\*\*|\^)-?[1-3](?![0-9])", "", unit.removeprefix("1/"))
    if not re.fullmatch(r"[A-Za-zµ°Å][A-Za-zµ°_ */]*", powers_left_out):
        raise _unknown_unit(number, unit, kind)
    return _pint_factor(unit, number, kind)


def _wrong_kind(number: str, unit: str, found: Kind, kind: Kind) -> QuantityError:
    return QuantityError(
        f"{unit} measures {_a(found)}, and {_a(kind)} is wanted here", f'for example "{number} {kind.examples[0]}"'
    )


def _unknown_unit(number: str, unit: str, kind: Kind) -> QuantityError:
    units = list(kind.units)
    close = get_close_matches(unit.lower(), units, n=len(units), cutoff=0.5)
    close.sort(key=lambda name: (abs(len(name) - len(unit)), units.index(name)))
    fix = f'did you mean "{number} {close[0]}"?' if close else ""
    return QuantityError(f"there is no unit of {kind.name} called {unit!r}", ", ".join(units), fix)


def _pint_factor(unit: str, number: str, kind: Kind) -> float:
    units = registry()
    try:
        read = units.parse_units(unit)
    except Exception as error:  # pint raises many kinds, some of them plain AttributeError or TypeError
        raise _unknown_unit(number, unit, kind) from error
    try:
        return float(units.Quantity(1, read).to(units.parse_units(kind.inside)).magnitude)
    except Exception as error:
        raise QuantityError(
            f"{unit} does not measure {_a(kind)}", f'for example "{number} {kind.examples[0]}"'
        ) from error


@lru_cache(maxsize=1)
def registry() -> Any:
    """Return pint with its own definitions first and ours over them, in exact fractions."""
    import pint  # noqa: PLC0415 - takes longer than a whole run

    units: Any = pint.UnitRegistry(None, on_redefinition="ignore", non_int_type=Fraction)
    units.load_definitions(Path(pint.__file__).with_name("default_en.txt"))
    units.load_definitions(Path(__file__).with_name("units.txt"))
    return units


@lru_cache(maxsize=1)
def _drills() -> dict[str, list[float]]:
    return tomllib.loads(Path(__file__).with_name("drills.toml").read_text(encoding="utf-8"))
