"""Limits of size by symbol, against printed rows and against the library pressfit, every symbol and step."""

from __future__ import annotations

from itertools import pairwise

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.units import QuantityError
from cam.part.fits import MOST_SIZE, _table, read_fit, size_limits

# ISO 286-2, offsets in micrometres for nominal sizes to 3, over 3 to 6, over 6 to 10 mm. Column h also read in
# print ("tolerance table", precisemetal), H7/g6 at 10 mm too ("standards: fits", torqyx); the rest from memory.
ROWS = [
    ("H6", (0, 6), (0, 8), (0, 9)), ("H7", (0, 10), (0, 12), (0, 15)), ("H8", (0, 14), (0, 18), (0, 22)),
    ("h6", (-6, 0), (-8, 0), (-9, 0)), ("h7", (-10, 0), (-12, 0), (-15, 0)), ("g6", (-8, -2), (-12, -4), (-14, -5)),
    ("f7", (-16, -6), (-22, -10), (-28, -13)), ("e8", (-28, -14), (-38, -20), (-47, -25)),
]  # fmt: skip

# Play of fits in the same steps, micrometres, worked from those rows.
FITS = [
    ("H7/g6", (2, 18), (4, 24), (5, 29)), ("H7/f7", (6, 26), (10, 34), (13, 43)), ("H7/h6", (0, 16), (0, 20), (0, 24)),
]  # fmt: skip

SIZES = ((0.5, 3.0), (3.0001, 6.0), (6.0001, 10.0))  # a size of 3.000 belongs to the lower step


@pytest.mark.parametrize(("symbol", "offsets"), [(r[0], r[1:]) for r in ROWS])
def test_rows(symbol, offsets):
    for sizes, (lower, upper) in zip(SIZES, offsets, strict=True):
        for size in sizes:
            found = size_limits(symbol, size)
            assert (1000 * found.lower, 1000 * found.upper) == pytest.approx((lower, upper))


@pytest.mark.parametrize(("text", "plays"), [(r[0], r[1:]) for r in FITS])
def test_fits(text, plays):
    for sizes, play in zip(SIZES, plays, strict=True):
        for size in sizes:
            found = read_fit(text, size)
            assert (1000 * found.least, 1000 * found.most) == pytest.approx(play)


GRADES = [int(g) for g in _table()["grades"]]
SHAFTS = sorted([*_table()["clearance"], *_table()["grip"], "js"])
STEPS = [0.3, *(size + more for size in _table()["steps"] for more in (0, 0.001))][:-1]


@pytest.mark.parametrize("letter", SHAFTS)
def test_every_shaft_and_hole_h_against_pressfit(letter):
    for grade in GRADES:
        for size in STEPS:
            theirs = pressfit.fit(f"H{grade}/{letter}{grade}", size)
            ours = read_fit(f"H{grade}/{letter}{grade}", size)
            said = [1000 * x for x in (*ours.hole[1:], *ours.shaft[1:], ours.least, ours.most)]
            shaft = theirs.shaft_ei_um, theirs.shaft_es_um
            expected = (theirs.hole_ei_um, theirs.hole_es_um, *shaft, *theirs.clearance_um)
            assert said == pytest.approx(expected), (letter, grade, size)


@pytest.mark.parametrize("letter", [*_table()["clearance"], "js"])
def test_holes_mirror_shafts(letter):
    """ISO 286-1: the lower deviation of holes A to H is the shaft's upper one with its sign turned."""
    for grade in GRADES:
        hole, shaft = size_limits(f"{letter.upper()}{grade}", 8.0), size_limits(f"{letter}{grade}", 8.0)
        assert (hole.lower, hole.upper) == pytest.approx((-shaft.upper, -shaft.lower))
        assert hole.is_hole
        assert not shaft.is_hole


def test_tolerances_widen_with_grade_and_size():
    table = _table()["grades"]
    for row in table.values():
        assert all(a <= b for a, b in pairwise(row))
        assert len(row) == len(_table()["steps"])
    for a, b in pairwise(table.values()):
        assert all(x < y for x, y in zip(a, b, strict=True))
    assert _table()["steps"][-1] == MOST_SIZE


@given(st.sampled_from(SHAFTS), st.sampled_from(GRADES), st.floats(0.1, MOST_SIZE))
def test_limits_leave_just_the_grades_width(letter, grade, size):
    found = size_limits(f"{letter}{grade}", size)
    whole = size_limits(f"H{grade}", size)
    assert found.upper - found.lower == pytest.approx(whole.upper - whole.lower)
    assert found.upper > found.lower


@pytest.mark.parametrize("text", ["", "7", "H", "H4", "H12", "z6", "K7", "P7", "Hh7", "H7/f7", "jS6", "H 7 7"])
def test_other_symbols_are_refused(text):
    with pytest.raises(QuantityError):
        size_limits(text, 6.0)


@pytest.mark.parametrize("size", [0, -1, 120.1, float("nan"), float("inf")])
def test_sizes_beyond_the_table_are_refused(size):
    with pytest.raises(QuantityError):
        size_limits("H7", size)


@pytest.mark.parametrize("text", ["H7", "f7/H7", "H7/H7", "h7/h6", "H7/z6", "/", "H7/f7/g6"])
def test_other_texts_are_no_fit(text):
    with pytest.raises(QuantityError):
        read_fit(text, 6.0)
