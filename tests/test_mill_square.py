"""The tapered square by itself: sizes against hand sums, corners, the bearing, the key, tapers as written."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import RangeError, Where
from cam.ground.units import QuantityError
from cam.part.taper import parse_taper, taper_of_sizes
from cam.setting.square import (
    Square,
    across_at,
    as_milled,
    check_key,
    check_square,
    corner_diameter_at,
    depth_at,
    fit_key,
    flat_width_at,
    largest_that_passes,
    readings_at,
    round_to,
    warn_of_loose_key,
    whole_limit,
)

HERE = Where(path="arbor.toml", line=40)
PLAIN = Square(
    flats=4, across=3.5, station=0.0, slope=0.004, length=12.0, blank=5.2, corners="whole", broken=0.0, where=HERE
)

tapers = st.floats(0.0, 0.02)


@st.composite
def squares(draw, corners=("whole", "broken", "round")):
    """Squares that can be cut, with all kinds of corners."""
    flats = draw(st.sampled_from((4, 6, 8)))
    blank = draw(st.floats(2.0, 12.0))
    kind = draw(st.sampled_from(corners))
    limit = whole_limit(blank, flats)
    least, most = (0.7 * limit, limit) if kind != "round" else (limit + 1e-6, limit + 0.9 * (blank - limit))
    across = draw(st.floats(least, most))
    length = draw(st.floats(2.0, 20.0))
    slope = min(draw(tapers), 0.1 * across / length)
    broken = 0.2 * across * math.tan(math.pi / flats) if kind == "broken" else 0.0
    return Square(
        flats=flats, across=across, station=0.0, slope=slope, length=length, blank=blank, corners=kind, broken=broken,
        where=HERE,
    )  # fmt: skip


# Published and by hand ----------------------------------------------------------------------------------------

# Largest square from a round, D / sqrt 2; by Pythagoras, to the fourth decimal.
WHOLE = [(3, 2.1213), (4, 2.8284), (5, 3.5355), (6, 4.2426), (8, 5.6569), (10, 7.0711)]


@pytest.mark.parametrize(("diameter", "across"), WHOLE)
def test_a_square_is_at_most_0707_of_the_round(diameter, across):
    assert whole_limit(diameter, 4) == pytest.approx(across, abs=5e-5)


def test_a_hexagon_is_at_most_0866_of_the_round():
    assert whole_limit(10, 6) == pytest.approx(8.6603, abs=5e-5)  # cos 30


def test_sizes_by_hand():
    """3.5 at the shoulder, 0.004 a side over 12 mm: 3.5 - 0.096 at the tip; depth (5.2 - 3.5) / 2."""
    assert across_at(PLAIN, 12.0) == pytest.approx(3.404)
    assert depth_at(PLAIN, 0.0) == pytest.approx(0.85)
    assert corner_diameter_at(PLAIN, 0.0) == pytest.approx(3.5 * math.sqrt(2))
    assert flat_width_at(PLAIN, 0.0) == pytest.approx(3.5)


def test_a_flat_on_a_small_round_is_a_chord():
    """Across 4 from round 5: the chord is sqrt(25 - 16) = 3, and the corners stay 5 mm round."""
    square = replace(PLAIN, across=4.0, blank=5.0, corners="round", slope=0.0)
    assert flat_width_at(square, 3.0) == pytest.approx(3.0)
    assert corner_diameter_at(square, 3.0) == pytest.approx(5.0)


def test_a_broken_corner_by_hand():
    """4 mm square, legs of 0.5: the flat keeps 1.5 to each side of its middle, so 2 * sqrt(2^2 + 1.5^2) = 5."""
    square = replace(PLAIN, across=4.0, blank=6.0, corners="broken", broken=0.5, slope=0.0)
    assert corner_diameter_at(square, 1.0) == pytest.approx(5.0)
    assert largest_that_passes(square, 5.0) == pytest.approx(4.0)


def test_readings_by_hand():
    """Over one flat and the round opposite (D + a) / 2; 0.1 left on each flat makes a 0.2 larger."""
    found = readings_at(PLAIN, 0.0, left=0.1)
    assert found.over_flats == pytest.approx(3.7)
    assert found.flat_and_round == pytest.approx((5.2 + 3.7) / 2)
    assert found.over_corners == pytest.approx(5.2)  # 3.7 * 1.414 = 5.233: still the round
    assert readings_at(PLAIN, 0.0).over_corners == pytest.approx(4.9497, abs=5e-5)


# Tapers as written --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("0.004 in/in per side", 0.004),
        ("4 thou/in per side", 0.004),
        ("0.008 in/in included", 0.004),
        ("0.1 mm/12 mm per side", 0.1 / 12),
        ("1:50 included", 0.01),
        ("1 in 50 per side", 0.02),
        ("1 deg per side", math.tan(math.radians(1))),
        ("1 deg included", math.tan(math.radians(0.5))),
        ("0 deg per side", 0.0),
        ("0.25 in/ft included", 0.25 / 24),
    ],
)
def test_tapers_are_read(text, slope):
    taper = parse_taper(text)
    assert taper.slope == pytest.approx(slope)
    assert taper.text == text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1 deg", "per side or included"),
        ("0.004 in/in", "per side or included"),
        ("45 deg per side", "no winding square has this taper"),
        ("1:0 included", "divides by nothing"),
        ("steep per side", "cannot be read"),
        ("4 per side", "no unit"),
        (4, "in quotes"),
    ],
)
def test_tapers_that_are_not(text, says):
    with pytest.raises(QuantityError, match=says):
        parse_taper(text)


def test_the_taper_between_two_sizes():
    """4.00 to 3.80 in 12 mm: atan(0.1 / 12) = 0.4775 degrees a side; by the definition of the tangent."""
    assert taper_of_sizes(4.0, 3.8, 12.0).slope == pytest.approx(math.tan(math.radians(0.4775)), abs=1e-6)
    with pytest.raises(RangeError):
        taper_of_sizes(3.8, 4.0, 12.0)


# Refusals -----------------------------------------------------------------------------------------------------


def what(square, bearing=None):
    return " | ".join(str(p) for p in check_square(square, bearing))


def test_a_good_square_has_no_problem():
    assert check_square(PLAIN, 6.0) == []


def test_a_square_too_large_for_its_bearing_names_the_largest_that_passes():
    text = what(replace(PLAIN, across=4.3, blank=6.2), bearing=6.02)
    assert "does not pass its own bearing" in text
    assert "at most 4.256 mm across flats at 0 mm" in text  # 6.02 / sqrt 2 = 4.2568
    assert "less than 6.02 mm" in text


def test_the_largest_that_passes_does_and_a_hair_more_does_not():
    square = replace(PLAIN, blank=6.2, station=8.0)
    most = largest_that_passes(square, 6.02)
    assert check_square(replace(square, across=most - 1e-6), 6.02) == []
    assert "bearing" in what(replace(square, across=most + 1e-6), 6.02)


def test_a_round_that_passes_lets_any_flats_pass():
    square = replace(PLAIN, across=4.5, corners="round")
    assert check_square(square, 6.02) == []
    assert largest_that_passes(square, 6.02) == pytest.approx(5.2)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"flats": 5}, "even"),
        ({"flats": 2}, "even"),
        ({"station": 13.0}, "off the square"),
        ({"slope": -0.01}, "tip must come out the smaller"),
        ({"slope": 0.15, "length": 12.0}, "leaves nothing"),
        ({"across": 5.3}, "no smaller than the round"),
        ({"across": 3.8}, "at most 0.707 of the round: 3.676 mm"),
        ({"across": 9.2, "blank": 10.0, "flats": 6}, "at most 0.866 of the round: 8.66 mm"),
        ({"corners": "broken"}, "no size"),
        ({"corners": "broken", "broken": 1.8}, "nothing of the flats"),
        ({"length": 0.0}, "no length"),
        ({"corners": "round"}, "corners of the square cannot be round: the flats leave nothing of the round"),
        ({"corners": "round"}, "more than 0.707 of the round: 3.677 mm there"),
        ({"corners": "round"}, 'say corners = "whole" or "broken", or turn the round to less than 4.949 mm'),
        ({"corners": "round", "across": 8.6, "blank": 10.0, "flats": 6}, "more than 0.866 of the round: 8.661 mm"),
    ],
)
def test_squares_that_cannot_be(change, says):
    assert says in what(replace(PLAIN, **change))


@pytest.mark.parametrize(
    ("off", "right"),
    [(0.01, {"round"}), (0.0, {"whole", "broken"}), (-0.01, {"whole", "broken"})],
)
def test_corners_are_round_where_something_is_left_of_the_blank_and_else_they_are_not(off, right):
    """5.2 over the corners where faces meet: of a round of 5.2 they leave a line, of one larger nothing."""
    square = replace(PLAIN, across=5.2 / math.sqrt(2) + off, slope=0.0)
    kinds = {"round": {}, "whole": {}, "broken": {"broken": 0.001}}
    found = {kind for kind, more in kinds.items() if check_square(replace(square, corners=kind, **more)) == []}
    assert found == right


def test_on_a_taper_the_round_stays_as_far_as_the_flats_leave_it():
    """Faces meet at 5.2 where they are 3.677 across: 3.7 at the shoulder less 0.008 a mm is that at 2.88."""
    square = replace(PLAIN, across=3.7, corners="round")
    assert check_square(square) == []
    assert round_to(square) == pytest.approx((3.7 - 5.2 / math.sqrt(2)) / 0.008)
    assert round_to(replace(square, across=4.5)) == 12.0
    assert round_to(replace(square, across=3.6)) == 0.0


# The key ------------------------------------------------------------------------------------------------------


def test_a_key_wedges_where_the_square_is_its_size():
    """3.44 at 3.5 - 0.008 x: x = 7.5, so the key covers 12 - 7.5 = 4.5 mm, too little."""
    fit = fit_key(PLAIN, 3.44)
    assert (fit.covered, fit.stopped_by) == (pytest.approx(4.5), "flats")
    assert fit.tip_play == pytest.approx(0.036)
    assert "the key stops too soon" in str(check_key(PLAIN, 3.44, None, HERE)[0])


def test_a_larger_key_goes_to_the_shoulder_and_has_play_there():
    fit = fit_key(PLAIN, 3.52)
    assert (fit.covered, fit.stopped_by, fit.seat_play) == (12.0, "shoulder", pytest.approx(0.02))
    assert check_key(PLAIN, 3.52, None, HERE) == []


def test_a_key_too_small_and_a_key_with_tight_corners():
    assert "does not go onto" in str(check_key(PLAIN, 3.4, None, HERE)[0])
    fit = fit_key(PLAIN, 3.6, corners=4.9)  # whole corners are 4.9 across where flats are 3.4648
    assert fit.stopped_by == "corners"
    assert fit.covered == pytest.approx(12 - (3.5 - 4.9 / math.sqrt(2)) / 0.008)
    assert "leave the corners rounder" in str(check_key(PLAIN, 3.6, 4.8, HERE)[0])


def test_a_key_that_does_not_turn_its_square_is_refused_and_a_loose_one_warned_of():
    """At the shoulder PLAIN is 3.5 across flats and 3.5 sqrt(2) = 4.950 over its corners; half-way is 4.225."""
    over = 3.5 * math.sqrt(2)
    for key, hold in ((3.5, 1), (3.52, (over - 3.52) / (over - 3.5)), (4.225, 0.5), (over, 0), (9, -2.79)):
        fit = fit_key(PLAIN, key)
        assert (fit.corners, fit.hold) == (pytest.approx(over), pytest.approx(hold, abs=0.01))
    for key, refused, warned in ((4.22, 0, 0), (4.23, 0, 1), (over - 1e-3, 0, 1), (over, 1, 0), (9.0, 1, 0)):
        assert (len(check_key(PLAIN, key, None, HERE)), len(warn_of_loose_key(PLAIN, key, HERE))) == (refused, warned)
    assert "slips round on the square and does not turn it" in str(check_key(PLAIN, 9.0, None, HERE)[0])
    assert "9 mm, on 3.5 mm across flats and 4.95 mm over corners" in str(check_key(PLAIN, 9.0, None, HERE)[0])
    assert "at most 4.224 mm" in warn_of_loose_key(PLAIN, 4.5, HERE)[0].allowed


@given(squares())
def test_the_named_remedy_of_a_key_helps(square):
    key = across_at(square, square.length) + 0.3 * (square.across - across_at(square, square.length))
    for problem in check_key(square, key, None, HERE):
        size = float(problem.fix.split("at most ")[1].split(" mm")[0])
        assert check_key(replace(square, across=size), key, None, HERE) == []


# Laws ---------------------------------------------------------------------------------------------------------


@given(squares())
def test_a_square_made_to_be_cut_has_no_problem_and_shrinks_toward_its_tip(square):
    assert check_square(replace(square, across=square.across * (1 - 1e-9))) == []  # on the limit itself a hair counts
    places = [k * square.length / 10 for k in range(11)]
    sizes = [across_at(square, x) for x in places]
    corners = [corner_diameter_at(square, x) for x in places]
    assert sizes == sorted(sizes, reverse=True)
    assert all(a >= b - 1e-12 for a, b in pairwise(corners))
    assert all(a < c <= square.blank for a, c in zip(sizes, corners, strict=True))


@given(squares(), st.floats(0.5, 1.3))
def test_what_passes_is_judged_by_the_corners(square, share):
    bearing = share * corner_diameter_at(square, 0.0)
    passes = not [p for p in check_square(square, bearing) if "bearing" in p.what]
    assert passes == (corner_diameter_at(square, 0.0) < bearing - 1e-9)


@given(squares(corners=("round",)), st.floats(0.0, 0.2))
def test_the_mill_leaves_what_file_and_stone_take(square, allowance):
    assert across_at(as_milled(square, allowance), 1.0) == pytest.approx(across_at(square, 1.0) + allowance)


def test_allowances_are_not_negative():
    with pytest.raises(RangeError):
        as_milled(PLAIN, -0.1)
