"""The crown of a flat end mill on a ramp, the tipped block, and sine bars: formulas against print and search."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.mill.ramp import (
    crown,
    cut_too_low,
    flat_angle,
    flats_in_pairs,
    included_angle,
    plan_ramp,
    shim_to_hand,
    sine_angle,
    sine_stack,
    spread,
    start_short,
    taper_per_length,
    tip_block,
    tip_by,
)
from cam.problem import RangeError

# The ramp: r 3 mm, slope 0.005. The depths follow from Pythagoras by hand; the same figures were found by slicing a
# solid, see test_mill_solid.py.

# (y, cut too low there in um): 15 in the middle, 5 * sqrt(9 - y^2) beside it
TOO_LOW = [(0.0, 15.0), (1.0, 14.142), (2.0, 11.180), (2.5, 8.292)]


@pytest.mark.parametrize(("y", "low"), TOO_LOW)
def test_a_ramp_cuts_too_low(y, low):
    assert 1000 * cut_too_low(0.005, 3.0, y) == pytest.approx(low, abs=0.001)


# (paths across, lift um, error plus and minus um) over a flat 5 mm wide
CROWNS = [
    ((0.0,), 11.65, 3.35),
    ((-1.5, 0.0, 1.5), 14.57, 0.43),
    ((-2.0, -1.0, 0.0, 1.0, 2.0), 14.90, 0.10),
]


@pytest.mark.parametrize(("across", "lift", "left"), CROWNS)
def test_the_lift_shares_the_crown_out(across, lift, left):
    found = crown(across, 2.5, 3.0, 0.005)
    assert [1000 * v for v in found] == pytest.approx([lift, left], abs=0.005)


def test_three_passes_bring_it_within_half_a_micrometre():
    found = plan_ramp(0.005, 3.0, 2.5, 0.0005)
    assert len(found.across) == 3
    assert found.crown < 0.0003  # spread evenly they do better than the passes 1.5 mm apart above
    assert found.overrun == 3.0


def test_a_path_that_starts_at_the_end_face_leaves_the_low_end_high():
    """12.5 um at 0.5 mm inside, 5 at 2 mm: 5 * (3 - x); none where it starts the cutter's radius before."""
    assert 1000 * start_short(0.005, 3.0, 0.0, 0.5) == pytest.approx(12.5)
    assert 1000 * start_short(0.005, 3.0, 0.0, 2.0) == pytest.approx(5.0)
    assert start_short(0.005, 3.0, 3.0, 0.0) == 0.0


flats = st.floats(0.2, 4.0)
radii = st.floats(0.5, 6.0)
slopes = st.floats(0.0, 0.03)


@given(slopes, radii, flats, st.floats(0.0002, 0.005))
def test_no_place_of_the_flat_is_off_by_more_than_is_said(slope, radius, half, tolerance):
    found = plan_ramp(slope, radius, half, tolerance)
    errors = []
    for k in range(201):
        y = half * (k / 100 - 1)
        errors.append(found.lift - slope * math.sqrt(radius**2 - min(abs(y - p) for p in found.across) ** 2))
    assert max(map(abs, errors)) <= found.crown + 1e-12 <= tolerance + 2e-12
    assert max(errors) == pytest.approx(-min(errors), abs=slope * radius * 1e-3 + 1e-12)


@given(slopes.filter(lambda s: s > 1e-4), radii, flats, st.integers(2, 6))
def test_fewer_passes_never_leave_less_and_no_other_spread_is_better(slope, radius, half, count):
    radius = max(radius, 1.01 * half)
    errors = [crown(spread(half, k), half, radius, slope)[1] for k in range(1, count + 1)]
    assert all(a >= b for a, b in pairwise(errors))
    moved = [p * 1.05 for p in spread(half, count)]
    assert crown(moved, half, radius, slope)[1] >= errors[-1] - 1e-12


def test_ramps_that_cannot_be():
    for bad in ((0.005, 3.0, 2.5, 0.0), (0.005, 0.0, 2.5, 0.001), (-0.005, 3.0, 2.5, 0.001)):
        with pytest.raises(RangeError):
            plan_ramp(*bad)
    with pytest.raises(RangeError, match="uncut"):
        crown((0.0,), 3.5, 3.0, 0.005)
    with pytest.raises(RangeError):
        spread(1.0, 0)
    with pytest.raises(RangeError):
        cut_too_low(0.005, 3.0, 3.1)


# The tipped block ---------------------------------------------------------------------------------------------


def test_the_shop_rule_of_four_thou_to_the_inch():
    """Common practice, no source: about 0.004 in to the inch a side, 0.229 degrees; 0.012 in under a block of 3 in."""
    tip = tip_block(0.004, 3 * 25.4)
    assert tip.shim / 25.4 == pytest.approx(0.012)
    assert math.degrees(math.atan(tip.slope)) == pytest.approx(0.229, abs=5e-4)
    assert "toward the tip" in tip.raised


def test_a_shim_under_one_end_of_a_parallel():
    """4.00 to 3.80 mm in 12 mm, 60 mm between edge and shim: 60 * 0.1 / 12 = 0.5 mm, by proportion."""
    assert tip_block(0.1 / 12, 60.0).shim == pytest.approx(0.5)
    assert tip_by(0.5, 60.0).slope == pytest.approx(0.1 / 12)


def test_one_degree_over_fifty_millimetres():
    assert tip_block(math.tan(math.radians(1)), 50.0).shim == pytest.approx(0.873, abs=5e-4)


def test_shims_are_taken_from_what_there_is():
    assert shim_to_hand(0.305, [0.05, 0.1, 0.2, 0.25]) == (0.25, 0.05)
    assert shim_to_hand(0.2, [0.1, 0.2]) == (0.2,)
    assert shim_to_hand(0.5, [0.1, 0.2], most=1) == (0.2,)
    for bad in (lambda: shim_to_hand(0.1, []), lambda: tip_block(0.004, 0.0), lambda: tip_by(-0.1, 3.0)):
        with pytest.raises(RangeError):
            bad()


# Sine bars and tapers -----------------------------------------------------------------------------------------

# Worked examples in print: bar, angle, stack, decimals printed.
SINE_BARS = [
    # Higher Precision, "How is the necessary gauge block height calculated when using sine bars and sine plates"
    (5.0, 27.0, 2.270, 3),
    # Shop Dawg, "Sine bar": 5 in, 18 degrees
    (5.0, 18.0, 1.545, 3),
]


@pytest.mark.parametrize(("length", "angle", "stack", "digits"), SINE_BARS)
def test_sine_bars_in_print(length, angle, stack, digits):
    assert round(sine_stack(length, angle), digits) == stack
    assert sine_angle(length, stack) == pytest.approx(angle, abs=0.01)


def test_a_sine_bar_the_other_way():
    """A 60 mm bar on 28.55 mm of slips: a textbook exercise printed without its answer; asin(28.55 / 60)."""
    assert sine_angle(60.0, 28.55) == pytest.approx(28.414, abs=5e-4)
    assert sine_stack(5.0, 30.0) == pytest.approx(2.5)
    with pytest.raises(RangeError):
        sine_angle(5.0, 5.1)


# Included angle in degrees, taper per inch and per foot. The table of tapers and angles in a handbook of 1902 has
# these but for two misprints (4 degrees as 0.07984, 15 degrees as 0.28330); values here follow from 2 tan(A / 2).
TAPERS = [
    (1, 0.01745, 0.20944), (2, 0.03491, 0.41892), (3, 0.05237, 0.62844), (4, 0.06984, 0.83810), (5, 0.08732, 1.04786),
    (10, 0.17498, 2.09976), (15, 0.26330, 3.15960), (20, 0.35265, 4.23184), (45, 0.82843, 9.94112),
]  # fmt: skip


@pytest.mark.parametrize(("angle", "per_inch", "per_foot"), TAPERS)
def test_tapers_per_inch_and_per_foot(angle, per_inch, per_foot):
    assert taper_per_length(angle) == pytest.approx(per_inch, abs=6e-6)
    assert 12 * taper_per_length(angle) == pytest.approx(per_foot, abs=6e-5)


def test_pin_tapers():
    """1:50 (metric taper pins) is 1.1459 degrees, 1/4 in per foot (inch taper pins) 1.1936 (from memory)."""
    assert included_angle(1 / 50) == pytest.approx(1.1459, abs=5e-5)
    assert included_angle(0.25 / 12) == pytest.approx(1.1936, abs=5e-5)


def test_a_slide_set_over_by_a_worked_example():
    """80 mm to 50 mm in 80 mm: half the included angle is 10 degrees 37 minutes (a university workshop sheet)."""
    assert included_angle(30 / 80) / 2 == pytest.approx(10 + 37 / 60, abs=0.01)


@given(st.floats(0.0, 120.0))
def test_angle_and_taper_undo_each_other(angle):
    assert included_angle(taper_per_length(angle)) == pytest.approx(angle)


# Indexing -----------------------------------------------------------------------------------------------------


def test_flats_are_cut_in_opposite_pairs():
    assert flats_in_pairs(4) == ((1, 3), (2, 4))
    assert flats_in_pairs(6) == ((1, 4), (2, 5), (3, 6))
    assert [flat_angle(k, 4) for k in (1, 2, 3, 4)] == [0.0, 90.0, 180.0, 270.0]
    with pytest.raises(RangeError):
        flat_angle(5, 4)
