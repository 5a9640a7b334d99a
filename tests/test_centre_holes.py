"""Centre holes against printed tables, and the choice of one."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.setting.centre_holes import (
    GUIDE,
    TABLE,
    WIDEST_SHARE,
    choose_hole,
    designate,
    parse_designation,
    widest_mouth,
)

# Form A of ISO 866 / DIN 332-1 as a centre-hole table prints it: d1, d2, least depth t, mm.
PUBLISHED = [
    (1, 2.12, 1.9), (1.6, 3.35, 2.9), (2, 4.25, 3.7), (2.5, 5.3, 4.6), (3.15, 6.7, 5.9), (4, 8.5, 7.4),
    (6.3, 13.2, 11.5),
]  # fmt: skip

# "Techniques for machining of material", table of centre holes: finished diameter up to, d1, d2 and depth A, mm.
TRAINEES = [(4, 0.5, 1.5, 1.5), (6, 0.75, 2.0, 2.0), (10, 1, 2.5, 2.5), (25, 2, 5, 5), (63, 3, 8, 7)]


@pytest.mark.parametrize(("pilot", "mouth", "depth"), PUBLISHED)
def test_rows_are_as_printed(pilot, mouth, depth):
    row = next(r for r in TABLE if r.pilot == pilot)
    assert (row.mouth, row.depth, row.standing) == (mouth, depth, "published")


def test_rows_not_read_in_print_say_so():
    assert {r.pilot for r in TABLE if r.standing == "memory"} == {r.pilot for r in TABLE} - {p for p, _, _ in PUBLISHED}


def test_a_size_in_inches_is_shown_as_it_was_written_and_in_the_tables_own_unit():
    assert '"pivot" 0.25 in (6.35 mm): the largest' in choose_hole(6.35, "pivot", written="0.25 in").reason
    assert '"pivot" 6 mm: the largest' in choose_hole(6.0, "pivot", written="6 mm").reason


@pytest.mark.parametrize("row", TABLE, ids=designate)
def test_every_row_is_in_proportion_and_deep_enough_for_the_point(row):
    assert row.mouth / row.pilot == pytest.approx(2.12, abs=0.03)
    cone = row.mouth / 2 / math.tan(math.radians(30))  # to its point, which clears the bottom; depths are to 0.1
    assert row.depth > cone - 0.05


@pytest.mark.parametrize(("text", "sizes"), [
    ("A 1/2.12", (1, 2.12)), ("ISO 6411 - A 2.5/5.3", (2.5, 5.3)), ("ISO 6411-A 2.5/5.30", (2.5, 5.3)),
    ("a3.15/6.7", (3.15, 6.7)), ("ISO 6411 \N{EN DASH} A 4 / 8.5", (4, 8.5)),
])  # fmt: skip
def test_designations_are_read(text, sizes):
    row = parse_designation(text)
    assert (row.pilot, row.mouth) == sizes


@pytest.mark.parametrize(
    "text", ["", "A 1", "B 1/3.15", "A 1/3.35", "A 1/2.12 mm", "A 1.1/2.33", "R 1/2.12", "A -1/2.12"]
)
def test_other_texts_are_no_designation(text):
    assert parse_designation(text) is None


@pytest.mark.parametrize("row", TABLE, ids=designate)
def test_what_is_designated_is_read_back(row):
    assert parse_designation(designate(row)) is row
    assert parse_designation(f"ISO 6411 - {designate(row)}") is row


@pytest.mark.parametrize(("size", "pilot", "mouth", "depth"), TRAINEES)
def test_choice_agrees_with_the_trainees_table(size, pilot, mouth, depth):
    """Never larger than the older table's hole, and its drill the same or the ISO size beside it."""
    hole = choose_hole(float(size), "pivot")
    assert hole.mouth <= mouth
    assert 0.95 * pilot <= hole.pilot <= 1.3 * pilot
    assert hole.depth <= depth


def test_guide_is_the_trainees_table():
    assert tuple((size, mouth) for size, _, mouth, _ in TRAINEES) == GUIDE


@pytest.mark.parametrize(("diameter", "designation"), [
    (1.4, "A 0.5/1.06"), (2, "A 0.5/1.06"), (3, "A 0.63/1.32"), (5.2, "A 0.8/1.7"), (6, "A 0.8/1.7"), (6.1, "A 1/2.12"),
    (12, "A 2/4.25"), (30, "A 3.15/6.7"), (80, "A 3.15/6.7"),
])  # fmt: skip
def test_choice(diameter, designation):
    hole = choose_hole(diameter, "pivot")
    assert hole.designation == designation
    assert f'"pivot" {diameter:g} mm' in hole.reason
    assert "ISO 866" in hole.reason


@given(st.floats(0.2, 100.0))
def test_a_rim_is_always_left(diameter):
    hole = choose_hole(diameter, "end")
    if hole is None:
        assert diameter < 1.06 + 0.3
    else:
        assert hole.mouth <= max(WIDEST_SHARE * diameter, 1.06)
        assert hole.mouth <= widest_mouth(diameter)
