"""Quantities as people write them: exact values, pint as the oracle, and refusals that help."""

from __future__ import annotations

import math
from contextlib import suppress
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import RangeError
from cam.ground.ratios import RATIOS
from cam.ground.units import (
    ANGLE,
    CUTTING_SPEED,
    FEED,
    FORCE,
    KELVIN,
    KINDS,
    LENGTH,
    POWER,
    RATE,
    SPEED,
    STRESS,
    TORQUE,
    Kind,
    QuantityError,
    check_bounds,
    is_inch,
    parse,
    parse_drill,
    parse_limits,
    show_length,
    show_number,
)
from tests.ratios import ratios

# International yard and pound agreement, 1959: 1 in = 25.4 mm exactly. So these are exact, to the last bit.
EXACT_LENGTHS = [
    ("6.35 mm", 6.35),
    ("6.35mm", 6.35),
    ("  6.35   mm ", 6.35),
    ("1/4 in", 6.35),
    ("1/4in", 6.35),
    ('1/4"', 6.35),
    ("0.25 in", 6.35),
    (".25 inch", 6.35),
    ("250 thou", 6.35),
    ("250 mil", 6.35),
    ("1 1/8 in", 28.575),
    ("1-1/8 in", 28.575),
    ("1⅛ in", 28.575),
    ('3/32"', 2.38125),
    ("3/32\u2033", 2.38125),
    ("1 ft", 304.8),
    ("0.125 ft", 38.1),
    ("2 cm", 20.0),
    ("0.02 m", 20.0),
    ("20000 um", 20.0),
    ("20000 µm", 20.0),
    ("20000 \u03bcm", 20.0),
    ("-12 mm", -12.0),
    ("\u221212 mm", -12.0),
    ("-1 1/2 in", -38.1),
    ("+5. mm", 5.0),
    ("6 MM", 6.0),
    ("1 IN", 25.4),
    ("2e-3 m", 2.0),
    ("2E1 mm", 20.0),
    ("0.01 furlong", 2011.68),
    ("2 inches", 50.8),
    ("7 millimetres", 7.0),
    ("3 yard", 2743.2),
]


@pytest.mark.parametrize(("text", "value"), EXACT_LENGTHS)
def test_lengths(text, value):
    assert parse(text, LENGTH) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize("texts", [("1/4 in", "6.35 mm", "250 thou", "0.635 cm", "0.00635 m"), ("3 thou", "0.0762 mm")])
def test_one_length_in_any_unit_is_one_float(texts):
    assert len({parse(text, LENGTH) for text in texts}) == 1


OTHERS = [
    (ANGLE, "60 deg", 60.0),
    (ANGLE, "60°", 60.0),
    (ANGLE, "30 min", 0.5),
    (ANGLE, "30'", 0.5),
    # compound slide, 80 to 50 in 80 mm: atan(30/160) = 10 deg 37', common workshop example
    (ANGLE, "10° 37'", 10.0 + 37.0 / 60.0),
    (ANGLE, "10 deg 37 min", 10.0 + 37.0 / 60.0),
    (ANGLE, "-1° 30'", -1.5),
    (ANGLE, "1 rad", 180.0 / math.pi),
    (FEED, "0.06 mm/rev", 0.06),
    (FEED, "0.002 in/rev", 0.0508),
    (FEED, "2 thou/rev", 0.0508),
    (FEED, "0.06 mm/turn", 0.06),
    (SPEED, "320 rpm", 320.0),
    (SPEED, "320 RPM", 320.0),
    (SPEED, "320 rev/min", 320.0),
    (SPEED, "320 1/min", 320.0),
    (SPEED, "5 rev/s", 300.0),
    (SPEED, "5 rps", 300.0),
    (POWER, "250 W", 250.0),
    (POWER, "0.25 kW", 250.0),
    (POWER, "1 hp", 745.69987158227022),  # 550 ft lbf/s, exact
    (POWER, "1/3 hp", 745.69987158227022 / 3),
    (RATE, "800 mm/min", 800.0),
    (RATE, "8 in/min", 203.2),
    (RATE, "10 mm/s", 600.0),
    (CUTTING_SPEED, "25 m/min", 25.0),
    (CUTTING_SPEED, "100 ft/min", 30.48),
    (STRESS, "210 GPa", 210_000.0),
    (STRESS, "2200 N/mm2", 2200.0),
    (STRESS, "2200 N/mm^2", 2200.0),
    (STRESS, "2200 N/mm**2", 2200.0),
    (FORCE, "1 lbf", 4.4482216152605),  # exact: the pound by 9.80665 m/s2
    (FORCE, "1 kgf", 9.80665),
    (KELVIN, "15 K", 15.0),
]


@pytest.mark.parametrize(("kind", "text", "value"), OTHERS)
def test_other_kinds(kind, text, value):
    assert parse(text, kind) == pytest.approx(value, rel=1e-14)


REFUSED = [  # kind, text, piece of what is said
    (LENGTH, "6", 'did you mean "6 mm" or "6 in"?'),
    (LENGTH, "1/4", 'did you mean "1/4 mm" or "1/4 in"?'),
    (LENGTH, 6, 'did you mean "6 mm" or "6 in"?'),
    (LENGTH, 0.8, 'did you mean "0.8 mm" or "0.8 in"?'),
    (LENGTH, 10**400, "has no unit"),
    (LENGTH, True, "text in quotes"),
    (LENGTH, None, "text in quotes"),
    (LENGTH, ["6 mm"], "text in quotes"),
    (LENGTH, math.nan, "a number that exists"),
    (LENGTH, math.inf, "a number that exists"),
    (LENGTH, "nan mm", "a number that exists"),
    (LENGTH, "-inf mm", "a number that exists"),
    (LENGTH, "Infinity mm", "a number that exists"),
    (LENGTH, "", "the text is empty"),
    (LENGTH, "  ", "the text is empty"),
    (LENGTH, "6 mm" + " " * 80, "too long"),
    (LENGTH, "9" * 50 + " mm", "cannot be meant"),
    (LENGTH, "1e300 mm", "cannot be meant"),
    (LENGTH, "1e999 mm", "cannot be meant"),
    (LENGTH, "10.1 m", "cannot be meant"),
    (LENGTH, "0.1 furlong", "cannot be meant"),
    (LENGTH, "1,5 mm", 'did you mean "1.5 mm"?'),
    (LENGTH, "1,500 mm", 'did you mean "1.500 mm" or "1500 mm"?'),
    (LENGTH, "0,090 in", 'did you mean "0.090 in"?'),
    (LENGTH, "1,500.5 mm", 'did you mean "1500.5 mm"?'),
    (LENGTH, "1/0 in", "divides by nothing"),
    (LENGTH, "6 mn", 'did you mean "6 mm"?'),
    (LENGTH, "6 kg", "kg does not measure a length"),
    (LENGTH, "6 rpm", "rpm measures a rotational speed, and a length is wanted here"),
    (LENGTH, "6 mm/rev", "measures a feed per revolution"),
    (LENGTH, "6 mm**2", "does not measure a length"),
    (LENGTH, "2**9 mm", "no unit of length"),
    (LENGTH, "1 mm**999999999", "no unit of length"),
    (LENGTH, "1 mm; import os", "no unit of length"),
    (LENGTH, "1 2 mm", "cannot be read"),
    (LENGTH, "6 - 3 mm", "cannot be read"),
    (LENGTH, "--6 mm", "cannot be read"),
    (LENGTH, "mm", "cannot be read"),
    (LENGTH, "٣ mm", "cannot be read"),
    (LENGTH, "6\x00mm", "cannot be printed"),
    (LENGTH, "6\nmm", "cannot be printed"),
    (LENGTH, "#30", "#30 is 0.1285 in, 3.264 mm"),
    (FEED, "0.1 mm", "mm measures a length, and a feed per revolution is wanted here"),
    (SPEED, "5 Hz", "does not measure a rotational speed"),
    (ANGLE, "50 percent", "does not measure an angle"),
    (ANGLE, "10° 60'", "60 minutes in a degree"),
    (ANGLE, "361 deg", "cannot be meant"),
    (CUTTING_SPEED, "20", 'did you mean "20 m/min" or "20 ft/min"?'),
]


@pytest.mark.parametrize(("kind", "text", "piece"), REFUSED, ids=[repr(row[1])[:30] for row in REFUSED])
def test_refused_with_help(kind, text, piece):
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    error = caught.value
    assert piece in "\n".join([error.what, error.allowed, error.fix])


def test_bounds_speak_the_users_unit():
    with pytest.raises(QuantityError, match="too large") as caught:
        parse("1 in", LENGTH, least=0.0, over=True, most=12.7)
    assert caught.value.allowed == "more than 0 in, at most 0.5 in"
    with pytest.raises(QuantityError, match="may not be negative"):
        parse("-1 mm", LENGTH, least=0.0)
    with pytest.raises(QuantityError, match="too small"):
        parse("0 mm", LENGTH, least=0.0, over=True)
    assert parse("0 mm", LENGTH, least=0.0) == 0.0
    assert str(parse("-0 mm", LENGTH, least=0.0)) == "0.0"
    check_bounds(1.0, "1 mm", LENGTH, least=1.0, most=1.0)


def test_every_factor_is_the_registrys() -> None:
    assert ratios() == RATIOS, "write it anew: python -m tests.ratios"


@pytest.mark.parametrize(
    ("kind", "unit", "ratio"),
    [  # exact: yard and pound agreement of 1959; SI brochure 9 (2019), standard gravity; 550 ft lbf/s
        (LENGTH, "in", Fraction("25.4")),
        (FORCE, "kgf", Fraction("9.80665")),
        (FORCE, "lbf", Fraction("0.45359237") * Fraction("9.80665")),
        (POWER, "hp", 550 * Fraction("0.3048") * Fraction("0.45359237") * Fraction("9.80665")),
        (TORQUE, "lbf in", Fraction("0.0254") * Fraction("0.45359237") * Fraction("9.80665")),
        (CUTTING_SPEED, "ft/min", Fraction("0.3048")),
        (ANGLE, "'", Fraction(1, 60)),
    ],
)
def test_the_factors_that_agreements_give(kind: Kind, unit: str, ratio: Fraction) -> None:
    assert Fraction(*kind.units[unit]) == ratio


@settings(deadline=None)
@given(st.integers(0, 40), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from([" ", "-"]))
def test_mixed_numbers_are_exact(whole, top, bottom, joint):
    text = f'{whole}{joint}{top}/{bottom}"'
    assert parse(text, LENGTH) == (whole * bottom + top) * 127 / (5 * bottom)


@settings(deadline=None)
@given(st.text(max_size=70), st.sampled_from(KINDS))
def test_any_text_is_a_finite_number_or_refused(text, kind):
    with suppress(QuantityError):
        assert abs(parse(text, kind)) <= kind.most


@settings(deadline=None)
@given(st.from_regex(r"[-+]?[0-9/. ]{1,8}[ ]?(mm|in|thou|rpm|e|\"|mm/rev|\*|°){0,3}", fullmatch=True))
def test_nearly_right_text_is_a_finite_number_or_refused(text):
    for kind in (LENGTH, ANGLE, FEED):
        with suppress(QuantityError):
            assert math.isfinite(parse(text, kind))
    with suppress(QuantityError):
        lower, upper = parse_limits(text)
        assert lower < upper


# ASME B94.11M, twist drills by number and letter; values that every drill gauge carries, from memory.
DRILLS = [
    ("No. 1", 0.2280),
    ("#7", 0.2010),
    ("No 21", 0.1590),
    ("number 25", 0.1495),
    ("#29", 0.1360),
    ("No. 30", 0.1285),
    ("#36", 0.1065),
    ("#43", 0.0890),
    ("#50", 0.0700),
    ("No. 60", 0.0400),
    ("#80", 0.0135),
    ("letter A", 0.234),
    ("letter F", 0.257),
    ("F drill", 0.257),
    ("f drill", 0.257),
    ("letter Q", 0.332),
    ("letter Z", 0.413),
    ("letter E", 0.25),
    ("3/32 in", 0.09375),
]


@pytest.mark.parametrize(("text", "inches"), DRILLS)
def test_drills(text, inches):
    assert parse_drill(text) == pytest.approx(inches * 25.4, rel=1e-15)


def test_drill_sizes_are_in_order():
    numbers = [parse_drill(f"#{n}") for n in range(1, 81)]
    letters = [parse_drill(f"letter {chr(n)}") for n in range(ord("A"), ord("Z") + 1)]
    assert numbers == sorted(numbers, reverse=True)
    assert letters == sorted(letters)
    assert len(set(numbers)) == 80
    assert len(set(letters)) == 26
    assert numbers[0] < letters[0]
    # the number sizes follow the old wire gauge: no two neighbours differ by more than 13 % (from memory, No. 55 to 56)
    assert all(a / b < 1.13 for a, b in pairwise(numbers))


@pytest.mark.parametrize("text", ["#0", "No. 81", "No. 999", "30", "letter", "-3 mm", "0 mm", ""])
def test_drills_refused(text):
    with pytest.raises(QuantityError):
        parse_drill(text)


LIMITS = [
    ("+0 / -0.012 mm", -0.012, 0.0),
    ("0 / -0.012 mm", -0.012, 0.0),
    ("+0/-0.012 mm", -0.012, 0.0),
    ("+0.02 -0.01 mm", -0.01, 0.02),
    ("+0.02/-0.01mm", -0.01, 0.02),
    ("+0.02 mm / -0.01 mm", -0.01, 0.02),
    ("±0.02 mm", -0.02, 0.02),
    ("+-0.02 mm", -0.02, 0.02),
    ("+/-0.02 mm", -0.02, 0.02),
    ("+/- 0.02 mm", -0.02, 0.02),
    ("-0.01 / -0.03 mm", -0.03, -0.01),
    ("-0.03 / -0.01 mm", -0.03, -0.01),
    ("+0 / -0.5 thou", -0.0127, 0.0),
    ("+0 -0.5 thou", -0.0127, 0.0),
    ("+0.1 0 mm", 0.0, 0.1),
    ("0 -0.1 mm", -0.1, 0.0),
    ("+1/64 / -0 in", 0.0, 0.396875),
    ("+1 thou / -0.01 mm", -0.01, 0.0254),
    ("\u22120.01 / \u22120.03 mm", -0.03, -0.01),
]


@pytest.mark.parametrize(("text", "lower", "upper"), LIMITS)
def test_limits(text, lower, upper):
    assert parse_limits(text) == pytest.approx((lower, upper), rel=1e-14)
    assert "-0.0" not in [str(offset) for offset in parse_limits(text)]


LIMITS_REFUSED = [
    ("+0 / -0.01", "no unit"),
    ("0.01 mm", "cannot be read"),
    ("+0.1 / 0.2 mm", "cannot be read"),
    ("+0 / -0 mm", "no room"),
    ("+0.1 / +0.1 mm", "no room"),
    ("±0 mm", "no room"),
    ("±10 mm", "cannot be meant"),
    ("±0.01 kg", "does not measure a length"),
    ("+0,1 / -0 mm", "decimals are written with a point"),
    ("h6", "cannot be read"),
    ("+0 / -1/0 in", "divides by nothing"),
    ("", "empty"),
    (0.02, "has no unit"),
    ("+nan / -0.1 mm", "cannot be read"),
]


@pytest.mark.parametrize(("text", "piece"), LIMITS_REFUSED)
def test_limits_refused(text, piece):
    with pytest.raises(QuantityError, match=piece):
        parse_limits(text)


def test_inches_are_told_from_millimetres():
    assert all(is_inch(text) for text in ["1/4 in", '3/32"', "4 thou", "2thou/rev", "No. 30", "letter F", "1 ft"])
    assert not any(is_inch(text) for text in ["6 mm", "1 mm/min", "60 deg", "0.5 m", "2 rev/min", "3 um"])


def test_shown_without_exponent_or_minus_nothing():
    assert show_length(6.35) == "6.350 mm"
    assert show_length(6.35, "in", 4) == "0.2500 in"
    assert show_length(6.35, "in", 4, trim=True) == "0.25 in"
    assert show_length(0.0127, "thou", 1) == "0.5 thou"
    assert show_length(-0.0000001) == "0.000 mm"
    assert show_number(-0.4, 0) == "0"
    assert show_number(100.0, 0, trim=True) == "100"
    assert show_number(-10.0, 2, trim=True) == "-10"
    assert show_number(1e15, 0) == "1000000000000000"
    for bad in (math.nan, math.inf):
        with pytest.raises(RangeError):
            show_length(bad)
    with pytest.raises(RangeError):
        show_length(1.0, "kg")


@settings(deadline=None)
@given(st.floats(-1e6, 1e6), st.integers(0, 9), st.sampled_from(["mm", "in", "thou"]), st.booleans())
def test_what_is_shown_is_read_back(value, digits, unit, trim):
    text = show_length(value, unit, digits, trim=trim)
    assert "e" not in text
    size = 10.0**-digits / 2 * {"mm": 1.0, "in": 25.4, "thou": 0.0254}[unit]
    if abs(value) < 9_000:
        assert parse(text, LENGTH) == pytest.approx(value, abs=size * 1.0001, rel=1e-12)
    assert not text.startswith("-") or text.strip("-0. mintho") != ""


@pytest.mark.parametrize(
    ("text", "least", "most", "fix"),
    [
        ("0.22 mm", 3, None, 'did you mean "0.22 in"?'),
        ("6 in", None, 20, 'did you mean "6 mm"?'),
        ("0.01 mm", 3, None, ""),
        ("0.5 mm", 3, 10, ""),
        ("1 in", 30, None, ""),
    ],
)
def test_a_size_out_of_bounds_that_fits_in_the_other_unit_is_asked_about(
    text: str, least: float | None, most: float | None, fix: str
) -> None:
    with pytest.raises(QuantityError) as found:
        parse(text, LENGTH, least=least, most=most)
    assert found.value.fix == fix
