"""The predicted end shake: published stacks and chances, laws of the worst case, and drawing lots as oracle."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import RangeError
from cam.ground.units import QuantityError
from cam.lengths.chain import gather_equations, solve_chain
from cam.lengths.limits import (
    Contributor,
    SpanLimits,
    check_temperatures,
    check_tolerances,
    cut_error,
    judge_length,
    predict_span,
    shoulder_errors,
)
from cam.lengths.probability import chance_of, normal_cumulative, root_sum_square, worst_case
from cam.lengths.thermal import expansion_of, expansion_table, growth, to_reference
from cam.part.read_spans import parse_temperature
from cam.part.spans import SPREAD_FACTORS, Measurement, StandOff
from tests.measured import NO_STAND_OFF, limits, loose, measurement, members, span, tolerance, uncertainty
from tests.specimens import HERE, quantity

NONE = (NO_STAND_OFF, NO_STAND_OFF)

# Published --------------------------------------------------------------------------------------------------

# Plus-minus tolerances, worst case and root sum square as printed or worked from the printed problem.
STACKS = [
    # "Tolerance stackup worked example" (metricmech, an engineering notes site): 40 ±0.10, 25 ±0.05, 2 ±0.03,
    # 10 ±0.05 about a gap of 3; the problem is printed, the two results worked by hand.
    ((0.10, 0.05, 0.03, 0.05), 0.23, 0.1261),
    # "RSS tolerance analysis", two anonymous tutorial pages: ten parts of ±0.1, and ±0.20, 0.10, 0.15; as printed.
    ((0.1,) * 10, 1.0, 0.3162),
    ((0.20, 0.10, 0.15), 0.45, 0.2693),
]


@pytest.mark.parametrize(("halves", "worst", "rss"), STACKS)
def test_stacks(halves, worst, rss):
    assert worst_case(halves) == pytest.approx(worst, abs=1e-12)
    assert root_sum_square(halves) == pytest.approx(rss, abs=5e-5)


def test_the_worked_stack_through_a_span():
    """The four-part stack as a frame 77.0 ±0.10 apart: run 40 (±0.05) and washers 25, 2, 10 make a gap of zero;
    the errors of the printed stack are spread over measurement, shoulder and washers.
    """
    frame = span(
        "a", "a", shake=limits(-0.3, 0, 0.3), tolerance=tolerance(-0.05, 0.05), loose=(loose(2, 0.03), loose(35, 0.05))
    )
    taken = measurement(77.0, uncertainty=uncertainty(0.10))
    found = predict_span(frame, taken, 40.0, NONE, shoulder_errors(frame, ()), "")
    assert found.shake == pytest.approx(0.0, abs=1e-12)
    assert found.worst == pytest.approx((-0.23, 0.23), abs=1e-12)
    assert found.rss == pytest.approx((-0.1261, 0.1261), abs=5e-5)


def test_the_guides_own_example_of_a_root_sum_square():
    """JCGM 100:2008, example H.1, an end gauge of 50 mm: 25 nm of the standard, 9.7 nm of the comparison, 2.9 nm of
    the difference of expansion, 16.6 nm of the difference of temperature make 32 nm. The last is a limit of
    0.05 K on 50 mm that grows by 11.5e-6 /K. Figures from memory of the guide.
    """
    warmth = growth(50e6, 11.5e-6, 0.05 / math.sqrt(3))
    assert warmth == pytest.approx(16.6, abs=0.05)
    assert root_sum_square((25, 9.7, 2.9, warmth)) == pytest.approx(32, abs=0.5)
    assert uncertainty(0.05).standard == pytest.approx(0.05 / math.sqrt(3))


# Standard deviations either side, chance within in per cent: any table of the normal curve.
NORMAL = [(1, 68.269), (2, 95.450), (3, 99.730), (4, 99.9937)]


@pytest.mark.parametrize(("deviations", "per_cent"), NORMAL)
def test_the_normal_curve(deviations, per_cent):
    inside = chance_of(0.0, (), 1.0, -deviations, deviations).inside
    assert 100 * inside == pytest.approx(per_cent, abs=10 ** -(len(f"{per_cent}".split(".")[1])) * 0.51)


# mean, sigma, least, most; below, inside, above (None: not printed).
CONFORMING = [
    # A question of a tutoring site (tutorsglobe): 1.000 ±0.005 in, mean 1.002, sigma 0.002. Answers worked from
    # the normal table: z 1.5 and 3.5.
    (1.002, 0.002, 0.995, 1.005, 0.000233, 0.93296, 0.06681, 5e-6),
    # A question of a tutoring site (wizedu) with its printed answer: gear, 36 to 45, mean 39, sigma 2.5: 0.8767; and
    # with the mean in the middle 0.9282 (from a table to z 1.80; worked 0.92814).
    (39, 2.5, 36, 45, None, 0.8767, None, 5e-5),
    (40.5, 2.5, 36, 45, None, 0.92814, None, 5e-6),
    # "Many manufacturing problems involve the matching of machine parts" (solutioninn, a textbook's exercise):
    # shafts 22.000 ±0.010, mean 22.002, sigma 0.005, and sigma 0.004; worked from the normal table.
    (22.002, 0.005, 21.99, 22.0, None, 0.3364, None, 5e-5),
    (22.002, 0.005, 21.99, 22.01, None, 0.9370, None, 5e-5),
    (22.002, 0.004, 21.99, 22.0, None, 0.3072, None, 5e-5),
    (22.002, 0.004, 21.99, 22.01, None, 0.9759, None, 5e-5),
    # A statistics program's user guide, percentages outside of tolerance: z -2.2 and 1.8 leave 1.39 and 3.59 %.
    (0, 1, -2.2, 1.8, 0.0139, None, 0.0359, 5e-5),
]


@pytest.mark.parametrize(("mean", "sigma", "least", "most", "below", "inside", "above", "printed_to"), CONFORMING)
def test_chances_of_conforming(mean, sigma, least, most, below, inside, above, printed_to):
    found = chance_of(mean, (), sigma, least, most)
    for got, expected in zip(found, (below, inside, above), strict=True):
        assert expected is None or got == pytest.approx(expected, abs=printed_to)


@pytest.mark.parametrize(("sigma", "printed"), [(0.005, 22.0123), (0.004, 22.0102)])
def test_two_per_cent_lie_above(sigma, printed):
    """The same exercise: 2 % of the shafts lie above 22.0123, or 22.0102."""
    at_most, at_least = (chance_of(22.002, (), sigma, 0, printed + rounding).above for rounding in (5e-5, -5e-5))
    assert at_most <= 0.02 <= at_least


def test_100_mm_of_steel_20_degrees_warmer():
    """Derived from the definition, 11.5 millionths per kelvin: 0.023 mm."""
    assert growth(100, expansion_of("silver steel").rate, 20) == pytest.approx(0.023, abs=5e-7)
    assert to_reference(100.023, 11.5e-6, 40) == pytest.approx(100, abs=1e-5)


def test_expansion_stands_in_the_order_that_everybody_knows():
    rate = {name: row.rate for name, row in expansion_table().items()}
    order = ("cast iron", "mild steel", "stainless steel", "bronze", "brass", "aluminium")
    assert [rate[n] for n in order] == sorted(rate[n] for n in order)
    assert all(0 < row.doubt < 0.2 * row.rate for row in expansion_table().values())


@pytest.mark.parametrize(("freedom", "factor"), list(enumerate(SPREAD_FACTORS, 1)))
def test_the_factors_for_few_readings_hold_68_per_cent_of_students_t(freedom, factor):
    """JCGM 100:2008, table G.2, written down from memory: summed here over Student's density, to its two decimals."""
    scale = math.gamma((freedom + 1) / 2) / math.sqrt(freedom * math.pi) / math.gamma(freedom / 2)

    def held(t: float) -> float:
        cells = 2000
        density = [scale * (1 + (t * i / cells) ** 2 / freedom) ** (-(freedom + 1) / 2) for i in range(cells + 1)]
        simpson = density[0] + density[-1] + 4 * sum(density[1::2]) + 2 * sum(density[2:-1:2])
        return 2 * t / cells * simpson / 3

    assert held(factor - 0.005) <= 0.6827 <= held(factor + 0.005)


# Exact chances as oracle ------------------------------------------------------------------------------------


def exact_even(halves: list[float], x: float) -> float:
    """Chance that a sum of even errors lies below x: the volume of a cube below a plane, in exact fractions."""
    widths, count = [Fraction(h) for h in halves], len(halves)
    total = Fraction(0)
    for signs in product((1, -1), repeat=count):
        reached = Fraction(x) + sum(s * w for s, w in zip(signs, widths, strict=True))
        total += math.prod(signs) * max(reached, Fraction(0)) ** count
    return float(total / math.factorial(count) / math.prod(2 * w for w in widths))


WIDTHS = st.lists(st.floats(1e-4, 1.0), min_size=1, max_size=6)


@given(WIDTHS, st.floats(-1.2, 1.2))
def test_sums_of_even_errors_against_exact_fractions(halves, share):
    x = share * sum(halves)
    assert chance_of(0.0, halves, 0.0, x, x).below == pytest.approx(exact_even(halves, x), abs=1e-4)


@given(WIDTHS, st.floats(1e-6, 1.0), st.floats(-2, 2), st.floats(0, 2))
def test_chances_sum_to_one_and_are_symmetric(halves, standard, low, width):
    found = chance_of(0.0, halves, standard, low, low + width)
    mirrored = chance_of(0.0, halves, standard, -low - width, -low)
    assert sum(found) == pytest.approx(1, abs=1e-12)
    assert all(0 <= c <= 1 for c in found)
    assert found.below == pytest.approx(mirrored.above, abs=1e-9)


@given(st.floats(1e-4, 1.0), st.floats(1e-5, 1.0), st.floats(-2, 2))
def test_one_even_and_one_normal_error_by_a_fine_sum(half, standard, x):
    cells = 4000
    mean = sum(normal_cumulative((x - half + 2 * half * (i + 0.5) / cells) / standard) for i in range(cells)) / cells
    assert chance_of(0.0, [half], standard, x, x).below == pytest.approx(mean, abs=1e-3)


def test_impossible_widths_are_refused():
    for arguments in ((0, [-0.1], 0, 0, 1), (0, [], -1, 0, 1), (0, [], 1, 1, 0)):
        with pytest.raises(RangeError):
            chance_of(*arguments)


# Drawing lots -----------------------------------------------------------------------------------------------

DRAWS = 10_000


def orrery() -> tuple[SpanLimits, Measurement]:
    """A frame with everything that can be out: readings, limits, a standard uncertainty, warmth, corners, washers."""
    frame = span(
        "b", "d", shake=limits(0.13, 0.2, 0.27), tolerance=tolerance(-0.03, 0.01),
        loose=(loose(0.5, 0.015), loose(1.2, 0.004, "boss")), part_temperature=parse_temperature("35 ± 4 degC", HERE),
    )  # fmt: skip
    taken = measurement(
        45.02, 45.05, 45.03, 45.04, uncertainty=uncertainty(0.012, "standard"),
        temperature=parse_temperature("26 ± 3 degC", HERE), material="brass",
    )  # fmt: skip
    off = StandOff(0.0, 0.04, 0.06, ""), StandOff(0.01, 0.02, 0.03, "")
    parts = members(a=6.0, b=None, c=32.0, d=6.5)
    chain = solve_chain(parts, gather_equations(parts, [frame], {"between plates": taken}, {"frame": off}))
    length = chain.total("b", "d")
    assert length is not None
    return predict_span(frame, taken, length, off, shoulder_errors(frame, ()), "silver steel"), taken


def test_drawing_lots_agrees_with_the_printed_chance_within_its_sampling_error():
    """Each draw makes a true frame and a true part, and takes the end shake of these at 20 degrees."""
    found, taken = orrery()
    lots = random.Random(20)
    inside = short = 0
    lowest, highest = math.inf, -math.inf
    for _ in range(DRAWS):
        shown = taken.mean - lots.gauss(0, 0.012) - lots.gauss(0, taken.standard_of_mean)
        brass, steel = lots.uniform(18.0e-6, 21.0e-6), lots.uniform(10.5e-6, 12.5e-6)
        frame = shown / (1 + brass * (lots.uniform(23, 29) - 20))
        part = (found.length + lots.uniform(-0.03, 0.01)) / (1 + steel * (lots.uniform(31, 39) - 20))
        between = ((0.485, 0.515), (1.196, 1.204), (0, 0.06), (0.01, 0.03))
        taken_up = sum(lots.uniform(low, high) for low, high in between)
        shake = frame - part - taken_up
        inside += 0.13 <= shake <= 0.27
        short += shake > 0.27
        lowest, highest = min(lowest, shake), max(highest, shake)
    for counted, chance in ((inside, found.chance.inside), (short, found.chance.above)):
        sampling_error = math.sqrt(chance * (1 - chance) / DRAWS)
        assert counted / DRAWS == pytest.approx(chance, abs=3 * sampling_error)
    assert 0.5 < found.chance.inside < 0.95  # a case that could go wrong either way
    assert found.worst[0] < lowest
    assert highest < found.worst[1]


def test_everything_that_can_be_out_is_named_with_its_share():
    found, _ = orrery()
    kinds = [c.kind for c in found.contributors]
    assert {k: kinds.count(k) for k in kinds} == {
        "measuring": 1, "readings": 1, "shoulder": 1, "stand-off": 2, "loose part": 2, "temperature": 4,
    }  # fmt: skip
    assert sum(found.shares) == pytest.approx(1)
    assert list(found.shares) == sorted(found.shares, reverse=True)
    # aimed 0.2; shoulders cut 0.01 short on the average; the part 15 degrees warm is 0.0075 shorter cold;
    # the A corner is 0.01 nearer on the average than what is likely.
    assert found.shake == pytest.approx(0.2 + 0.01 + growth(found.length, 11.5e-6, 15) + 0.01, abs=1e-9)


# Laws -------------------------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(
    st.lists(st.floats(44.9, 45.1), min_size=1, max_size=5), st.floats(0, 0.05), st.floats(0, 0.05),
    st.lists(st.tuples(st.floats(0.1, 2.0), st.floats(0, 0.02)), max_size=3), st.sampled_from([-1, 1]),
)  # fmt: skip
def test_perturbing_one_measurement_by_its_uncertainty_stays_within_the_worst_case(readings, doubt, cut, washers, sign):
    parts = tuple(loose(t, h, f"w{i}") for i, (t, h) in enumerate(washers))
    frame = span("a", "a", tolerance=tolerance(-cut, cut + 1e-3), loose=parts)

    def shake(taken: Measurement, loose_parts=parts) -> SpanLimits:
        moved = span("a", "a", tolerance=frame.tolerance, loose=loose_parts)
        return predict_span(moved, taken, 40.0, NONE, shoulder_errors(moved, ()), "")

    def contained(value: float) -> bool:
        return before.worst[0] - 1e-9 <= value <= before.worst[1] + 1e-9

    taken = measurement(*readings, uncertainty=uncertainty(doubt))
    before = shake(taken)
    assert contained(before.rss[0])
    assert contained(before.rss[1])
    assert contained(shake(measurement(*(r + sign * doubt for r in readings), uncertainty=taken.uncertainty)).shake)
    for at, part in enumerate(parts):
        thicker = replace(part, thickness=quantity(part.thickness + sign * part.uncertainty.half))
        assert contained(shake(taken, (*parts[:at], thicker, *parts[at + 1 :])).shake)


@given(st.floats(0.001, 0.2), st.floats(0.001, 0.2))
def test_the_chance_is_one_just_where_the_worst_case_lies_within(doubt, cut):
    frame = span("a", "a", tolerance=tolerance(-cut, cut))
    found = predict_span(
        frame, measurement(45.0, uncertainty=uncertainty(doubt)), 44.8, NONE, shoulder_errors(frame, ()), ""
    )
    assert found.safe == (doubt + cut <= 0.1 + 1e-9)
    if found.safe:
        assert found.chance.inside == pytest.approx(1, abs=1e-9)
    elif doubt + cut > 0.11:
        assert found.chance.inside < 1


@given(st.floats(0.03, 0.2), st.floats(0.005, 0.08))
def test_what_is_said_to_help_does_help(doubt, cut):
    """Where the sentence asks for a better figure, that figure brings the worst case within the limits."""

    def predict(doubt: float, cut: float) -> SpanLimits:
        frame = span("a", "a", tolerance=tolerance(-cut, cut))
        taken = measurement(45.0, uncertainty=uncertainty(doubt))
        return predict_span(frame, taken, 44.8, NONE, shoulder_errors(frame, ()), "")

    found = predict(doubt, cut)
    if "to ±" not in found.fix:
        assert found.safe or max(doubt, cut) == found.contributors[0].half
        return
    better = float(found.fix.split("to ±")[1].split(" mm")[0]) - 0.0005  # as printed, to a thousandth
    assert predict(*((better, cut) if doubt >= cut else (doubt, better))).safe


# Sentences --------------------------------------------------------------------------------------------------


def test_which_dominates_and_what_would_fix_it():
    frame = span("a", "a", tolerance=tolerance(-0.02, 0.02))
    taken = measurement(45.0, uncertainty=uncertainty(0.1))
    found = predict_span(frame, taken, 44.8, NONE, shoulder_errors(frame, ()), "")
    assert found.fix == (
        'measuring "between plates" brings 96 % of the spread: measure it to ±0.080 mm instead of ±0.100 mm, '
        "then even the worst case lies within 0.100 to 0.300 mm"
    )


def test_readings_that_disagree_are_to_be_taken_more_often():
    taken = measurement(45.0, 45.06, uncertainty=uncertainty(0.01))
    found = predict_span(span("a", "a"), taken, 44.83, NONE, shoulder_errors(span("a", "a"), ()), "")
    assert 'spread of the 2 readings of "between plates" brings' in found.fix
    assert "take 12 readings instead of 2" in found.fix


def test_nothing_needs_mending_or_two_things_or_the_prediction():
    frame = span("a", "a")

    def fix(doubt: float, length: float = 44.8) -> str:
        taken = measurement(45.0, uncertainty=uncertainty(doubt))
        return predict_span(frame, taken, length, NONE, shoulder_errors(frame, ()), "").fix

    assert "nothing needs to be better" in fix(0.05)
    tight = span("a", "a", shake=limits(0.19, 0.2, 0.21))
    both = predict_span(tight, measurement(45.0), 44.8, NONE, shoulder_errors(tight, ()), "").fix
    assert "even without it the worst case would be 0.180 to 0.220 mm" in both
    assert "must be better too" in both
    assert fix(0.05, 44.6).startswith("the prediction itself, 0.400 mm, lies outside 0.100 to 0.300 mm")


def test_corners_and_warmth_say_their_own_cure():
    def fix(off: StandOff = NO_STAND_OFF, **changes) -> str:
        frame = span("a", "a", tolerance=tolerance(-0.01, 0.01), **changes)
        taken = measurement(45.0, material="brass", uncertainty=uncertainty(0.01))
        length, shoulders = 44.8 - off.likely, shoulder_errors(frame, ())
        return predict_span(frame, taken, length, (off, NO_STAND_OFF), shoulders, "silver steel").fix

    assert "break the edge of the hole until the shoulder seats" in fix(StandOff(0.0, 0.09, 0.18, ""))
    assert "make the part of what the frame is made of" in fix(in_use=(-40.0, 80.0), shake=limits(0.17, 0.2, 0.25))
    warm = fix(part_temperature=parse_temperature("20 ± 60 degC", HERE), shake=limits(0.17, 0.2, 0.23))
    assert "let frame and part come to 20 degC" in warm


def test_the_late_shoulder_is_aimed_long_by_the_fitting_allowance():
    frame = span("a", "a", fitting_allowance=quantity(0.05), late="A")
    found = predict_span(frame, measurement(45.0), 44.8, NONE, shoulder_errors(frame, ()), "")
    assert found.cut_length == pytest.approx(44.85)
    assert "leave it full: the shoulder toward the A end 0.050 mm long" in found.direction
    assert "(44.850 mm between the shoulders, with 0.150 mm end shake" in found.direction
    wide = span("a", "a", fitting_allowance=quantity(0.3))
    found = predict_span(wide, measurement(45.0), 44.8, NONE, shoulder_errors(wide, ()), "")
    assert "toward the B end" in found.direction
    assert "0.100 mm too long to run free: do not force the frame shut" in found.direction
    bare = predict_span(span("a", "a"), measurement(45.0), 44.8, NONE, (), "", "A")
    assert "leave it full: the shoulder toward the A end is cut last" in bare.direction


def test_a_part_in_use_between_cold_and_warm():
    """Brass 45 mm and steel 44.8 mm differ by 8.0 millionths per kelvin of 45 mm: 0.0056 mm over 15 degrees."""
    frame = span("a", "a", in_use=(5.0, 30.0))
    found = predict_span(frame, measurement(45.0, material="brass"), 44.8, NONE, (), "silver steel")
    (use,) = (c for c in found.contributors if c.name == "warmth and cold in use")
    rate = 45 * 19.5e-6 - 44.8 * 11.5e-6
    assert (use.middle, use.half) == pytest.approx((-2.5 * rate, 12.5 * rate))


# After cutting ----------------------------------------------------------------------------------------------


def judged(length: float):
    errors = (cut_error("a", 0.01),)
    return judge_length(predict_span(span("a", "a"), measurement(45.0), length, NONE, errors, ""))


def test_too_short_is_scrap_unless_a_washer_saves_it():
    verdict = judged(44.64)
    assert verdict[:4] == ("short", pytest.approx(0.16), pytest.approx(0.06), pytest.approx(0.26))
    assert "is too short: 0.360 mm end shake, 0.060 mm more than the most allowed" in verdict.text
    assert "scrap, unless a washer of 0.160 mm (0.060 to 0.260 mm)" in verdict.text
    assert "measuring leaves 0.330 to 0.390 mm possible" in verdict.text


def test_too_long_is_faced_back_and_right_is_right():
    assert judged(44.96)[:4] == ("long", pytest.approx(0.16), pytest.approx(0.06), pytest.approx(0.26))
    assert "face the late shoulder back by 0.160 mm (0.060 to 0.260 mm)" in judged(44.96).text
    assert judged(44.8).state == "right"
    for edge in (44.7, 44.9):
        assert judged(edge).state == "right"


@given(st.floats(44.0, 45.5))
def test_the_amount_named_always_gives_the_aimed_end_shake(length):
    verdict = judged(length)
    if verdict.state == "short":
        saved = span("a", "a", loose=(loose(max(verdict.amount, 1e-6), 0.0),))
        again = predict_span(saved, measurement(45.0), length, NONE, (), "")
    else:
        again = predict_span(span("a", "a"), measurement(45.0), length - verdict.amount, NONE, (), "")
    assert verdict.state == "right" or again.shake == pytest.approx(0.2, abs=1e-5)


# Refused ----------------------------------------------------------------------------------------------------


def test_sections_without_a_tolerance_are_asked_for():
    bare = span("a", "b", tolerance=None)
    (problem,) = check_tolerances(bare, [("a", tolerance(0, 0.1)), ("b", None)], "mm")
    assert 'no length_tolerance of "b"' in problem.given
    assert not list(check_tolerances(span("a", "b"), [("b", None)], "mm"))
    errors = shoulder_errors(bare, [("a", tolerance(-0.02, 0.06))])
    name, sizes = 'length of "a" as turned', (pytest.approx(-0.02), 0.04, pytest.approx(0.04 / math.sqrt(3)))
    assert errors == (Contributor(name, "shoulder", *sizes, False),)


def test_temperatures_need_materials():
    warm = measurement(45.0, temperature=parse_temperature("24 ± 1 degC", HERE), material="brsas")
    (problem,) = check_temperatures(span("a", "a"), warm, "")
    assert 'material "brsas"' in problem.given
    assert "brass" in problem.allowed
    both = list(check_temperatures(span("a", "a", in_use=(5.0, 30.0)), measurement(45.0), "wood"))
    assert len(both) == 2
    assert not list(check_temperatures(span("a", "a"), measurement(45.0), "wood"))


@pytest.mark.parametrize(("text", "value", "within"), [
    ("24 ± 1 degC", 24, 1), ("24.5 +/- 0.5 °C", 24.5, 0.5), ("75±2F", 23.8889, 1.1111), ("-5 +- 1 deg C", -5, 1),
])  # fmt: skip
def test_temperatures_are_read(text, value, within):
    found = parse_temperature(text, HERE)
    assert (found.value, found.within) == pytest.approx((value, within), abs=1e-4)
    assert found.text == text


@pytest.mark.parametrize(
    "text", ["24", "24 degC", "warm", 24, None, "24 ± 1 K", "400 ± 1 degC", "24 ± 999 degC", "", "24 ±1 mm"]
)
def test_other_texts_are_no_temperature(text):
    with pytest.raises(QuantityError):
        parse_temperature(text, HERE)


def test_a_bound_of_temperature_has_no_limits():
    assert parse_temperature("5 degC", HERE, doubt=False)[:2] == (5, 0)
    with pytest.raises(QuantityError):
        parse_temperature("5 ± 1 degC", HERE, doubt=False)
