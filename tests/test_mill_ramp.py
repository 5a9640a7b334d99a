"""The crown of a flat end mill on a ramp and the tipped block: formulas against print and search."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import RangeError
from cam.mill.ramp import (
    crown,
    flat_angle,
    flats_in_pairs,
    plan_ramp,
    spread,
    tip_block,
)

# The ramp: r 3 mm, slope 0.005. The depths follow from Pythagoras by hand; the same figures were found by slicing a
# solid, see test_mill_solid.py.

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


# The tipped block ---------------------------------------------------------------------------------------------


def test_the_shop_rule_of_four_thou_to_the_inch():
    """Common practice, no source: about 0.004 in to the inch a side, 0.229 degrees; 0.012 in under a block of 3 in."""
    tip = tip_block(0.004, 3 * 25.4, 0.0254)
    assert tip.shim / 25.4 == pytest.approx(0.012)
    assert math.degrees(math.atan(tip.slope)) == pytest.approx(0.229, abs=5e-4)
    assert "toward the tip" in tip.raised


def test_a_shim_under_one_end_of_a_parallel():
    """4.00 to 3.80 mm in 12 mm, 60 mm between edge and shim: 60 * 0.1 / 12 = 0.5 mm, by proportion."""
    assert tip_block(0.1 / 12, 60.0, 0.01).shim == pytest.approx(0.5)
    with pytest.raises(RangeError):
        tip_block(0.004, 0.0, 0.01)


def test_one_degree_over_fifty_millimetres():
    assert tip_block(math.tan(math.radians(1)), 50.0, 1e-6).shim == pytest.approx(0.873, abs=5e-4)


def test_a_shim_is_of_leaves_that_there_are():
    """Feeler leaves and shim stock come in hundredths: common practice, no source. The taper stays as asked."""
    tip = tip_block(math.tan(math.radians(0.15)), 50.0, 0.01)
    assert tip.shim == pytest.approx(0.13, abs=1e-12)
    assert tip.spacing == pytest.approx(0.13 / math.tan(math.radians(0.15)))
    assert 46 < tip.spacing < 50
    assert tip_block(0.0001, 50.0, 0.01).shim == pytest.approx(0.005)
    assert tip_block(0.0, 50.0, 0.01).shim == 0


# Indexing -----------------------------------------------------------------------------------------------------


def test_flats_are_cut_in_opposite_pairs():
    assert flats_in_pairs(4) == ((1, 3), (2, 4))
    assert flats_in_pairs(6) == ((1, 4), (2, 5), (3, 6))
    assert [flat_angle(k, 4) for k in (1, 2, 3, 4)] == [0.0, 90.0, 180.0, 270.0]
    with pytest.raises(RangeError):
        flat_angle(5, 4)
