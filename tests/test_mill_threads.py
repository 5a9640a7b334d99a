"""Threads against printed tables, each named beside it; drills, percent, and the screw's own cutting by laws."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.drills import drills
from cam.ground.problem import RangeError
from cam.ground.units import QuantityError
from cam.part.screw import change_wheels, infeed, shank_of, start_room
from cam.part.threads import (
    all_threads,
    chart_percent,
    find_thread,
    hole_for,
    nearest_drills,
    percent_of_thread,
    usual_drill,
)

names = st.sampled_from([t.name for t in all_threads()])

# Published ----------------------------------------------------------------------------------------------------

# ISO 724, basic dimensions: size, pitch diameter d2 = D2, minor diameter D1, mm; printed to 3 decimals (the values
# of M1, M1.2 and M3.5 from memory). Tap drills: ISO 2306 coarse, as in metric thread and pitch charts.
ISO_724 = [
    ("M1", 0.838, 0.729, 0.75), ("M1.2", 1.038, 0.929, 0.95), ("M1.6", 1.373, 1.221, 1.25), ("M2", 1.740, 1.567, 1.6),
    ("M2.5", 2.208, 2.013, 2.05), ("M3", 2.675, 2.459, 2.5), ("M3.5", 3.110, 2.850, 2.9), ("M4", 3.545, 3.242, 3.3),
    ("M5", 4.480, 4.134, 4.2), ("M6", 5.350, 4.917, 5.0), ("M8", 7.188, 6.647, 6.8), ("M10", 9.026, 8.376, 8.5),
]  # fmt: skip


@pytest.mark.parametrize(("size", "pitch_diameter", "minor", "drill"), ISO_724)
def test_iso_basic_diameters(size, pitch_diameter, minor, drill):
    thread = find_thread(size)
    assert thread.pitch_diameter == pytest.approx(pitch_diameter, abs=6e-4)
    assert thread.minor == pytest.approx(minor, abs=6e-4)
    printed = usual_drill(thread)
    assert printed is not None
    assert printed.drill.diameter == pytest.approx(drill)


# BS 93 as printed in public BA tables: number, diameter, pitch, mm. Drills of 4 to 10 BA from a fastener supplier's
# table; of 0 to 3 from memory.
BS_93 = [
    (0, 6.0, 1.0, 5.1), (1, 5.3, 0.9, 4.5), (2, 4.7, 0.81, 4.0), (3, 4.1, 0.73, 3.4), (4, 3.6, 0.66, 3.0),
    (5, 3.2, 0.59, 2.65), (6, 2.8, 0.53, 2.3), (7, 2.5, 0.48, 2.05), (8, 2.2, 0.43, 1.8), (9, 1.9, 0.39, 1.55),
    (10, 1.7, 0.35, 1.4),
]  # fmt: skip


@pytest.mark.parametrize(("number", "diameter", "pitch", "drill"), BS_93)
def test_ba_sizes(number, diameter, pitch, drill):
    thread = find_thread(f"{number} BA")
    assert (thread.diameter, thread.pitch) == (diameter, pitch)
    printed = usual_drill(thread)
    assert printed is not None
    assert printed.drill.diameter == pytest.approx(drill)


@pytest.mark.parametrize("number", range(17))
def test_ba_sizes_follow_their_law(number):
    """BS 93: pitch 0.9^n mm, diameter 6 pitch^1.2 mm, both rounded."""
    thread, pitch = find_thread(f"BA {number}"), 0.9**number
    assert thread.pitch == pytest.approx(pitch, abs=0.0051)
    assert thread.diameter == pytest.approx(6 * pitch**1.2, abs=0.051)


def test_ba_cores():
    """0 BA 4.8 mm, 4 BA 2.81 mm (from memory): 1.2 P less than the diameter."""
    assert find_thread("0 BA").root == pytest.approx(4.8)
    assert find_thread("4 BA").root == pytest.approx(2.81, abs=0.003)


# Machinery's Handbook, 31st edition, p. 2155, minimum minor diameter of the nut, in; the last ones by ASME B1.1's
# D - 1.0825 / n.
UNIFIED = [
    ("0-80", 0.0465), ("1-64", 0.0561), ("1-72", 0.0580), ("2-56", 0.0667), ("2-64", 0.0691), ("3-48", 0.0764),
    ("3-56", 0.0797), ("4-40", 0.0849), ("5-40", 0.0979), ("6-32", 0.1042), ("8-32", 0.1302), ("10-24", 0.1449),
    ("10-32", 0.1562),
]  # fmt: skip


@pytest.mark.parametrize(("size", "minor"), UNIFIED)
def test_unified_minor_diameters(size, minor):
    assert find_thread(size).minor / 25.4 == pytest.approx(minor, abs=6e-5)


def test_unified_numbers_follow_their_law():
    """ASME B1.1: 0.060 in and 0.013 in more for every number."""
    for thread in all_threads():
        size = thread.name.split("-")[0]
        if thread.series in ("UNC", "UNF") and "/" not in size:
            assert thread.diameter / 25.4 == pytest.approx(0.060 + 0.013 * int(size))


# Usual drills of unified sizes (from memory), and that they leave between half and nearly all of the thread.
def test_usual_drills_leave_a_thread():
    shown = {t.name.split()[0]: t.usual_drill for t in all_threads() if t.series in ("UNC", "UNF")}
    assert {n: shown[n] for n in ("0-80", "2-56", "4-40", "6-32", "8-32", "10-24", "10-32")} == {
        "0-80": "3/64 in", "2-56": "No. 50", "4-40": "No. 43", "6-32": "No. 36", "8-32": "No. 29", "10-24": "No. 25",
        "10-32": "No. 21",
    }  # fmt: skip
    for thread in all_threads():
        if found := usual_drill(thread):
            assert 60 < found.percent <= 101, thread.name


def test_percent_says_of_what():
    """M3 from 2.5 mm: 0.5 / 0.5413 = 92.4 % of 5/8 H, and 0.5 / 0.6495 = 77.0 % of 3/4 H."""
    thread = find_thread("M3")
    assert percent_of_thread(thread, 2.5) == pytest.approx(92.4, abs=0.05)
    assert chart_percent(thread, 2.5) == pytest.approx(77.0, abs=0.05)
    assert "5/8 H" in thread.basis
    assert "ISO 68-1" in thread.basis
    assert "0.6 P" in find_thread("4 BA").basis
    assert chart_percent(find_thread("4 BA"), 3.0) is None


# Shanks: ISO 965-1 class 6g and ASME B1.1 class 2A as tabulated (from memory), rounded there.
@pytest.mark.parametrize(("size", "least", "most"), [("M2", 1.886, 1.981), ("M3", 2.874, 2.980), ("M4", 3.838, 3.978),
                                                     ("M6", 5.794, 5.974)])  # fmt: skip
def test_metric_shanks(size, least, most):
    assert shank_of(find_thread(size))[:2] == pytest.approx((least, most), abs=1e-9)


@pytest.mark.parametrize(("size", "least", "most"), [("4-40", 0.1061, 0.1112), ("10-32", 0.1831, 0.1891)])
def test_unified_shanks(size, least, most):
    assert [v / 25.4 for v in shank_of(find_thread(size))[:2]] == pytest.approx([least, most], abs=1e-4)


# Names --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M3", "M3 x 0.5"), ("m3x0.5", "M3 x 0.5"), ("M3 x 0.35", "M3 x 0.35"), (" M 3 X 0.50 mm", "M3 x 0.5"),
        ("4BA", "4 BA"), ("BA 4", "4 BA"), ("No. 4 BA", "4 BA"), ("4-40", "4-40 UNC"), ("#4-48 unf", "4-48 UNF"),
        ("No. 10-32", "10-32 UNF"), ("1/4-20", "1/4-20 UNC"),
    ],
)  # fmt: skip
def test_names_are_understood(text, name):
    assert find_thread(text).name == name


@pytest.mark.parametrize("text", ["M3.7", "M", "17 BA", "4-41", "M3 x 0.6", "", "thread", 3, "M1.2.3", "M3 x ."])
def test_names_that_are_none(text):
    with pytest.raises(QuantityError) as caught:
        find_thread(text)
    assert caught.value.allowed


def test_a_near_name_is_offered():
    with pytest.raises(QuantityError) as caught:
        find_thread("4-41 UNC")
    assert "4-40 UNC" in caught.value.fix


@given(names)
def test_every_name_finds_its_thread(name):
    assert find_thread(name).name == name


@given(st.text(max_size=20))
def test_no_text_breaks_the_reader_of_names(text):
    with suppress(QuantityError):
        assert find_thread(text).diameter > 0


# Drills -------------------------------------------------------------------------------------------------------


def test_drills_are_in_order_without_gaps():
    for series, least, most in (("mm", 0.3, 14.0), ("number", 0.3429, 5.7912), ("letter", 5.9436, 10.4902),
                                ("fraction", 0.396875, 12.7)):  # fmt: skip
        sizes = [d.diameter for d in drills() if d.series == series]
        assert sizes == sorted(sizes)
        assert (sizes[0], sizes[-1]) == pytest.approx((least, most)), series


def test_the_nearest_drills_of_m4_at_65_percent():
    """4 - 0.65 * 0.7578 = 3.507: 3.5 and 3.6 mm, No. 29 (0.136 in) and No. 28 (0.1405), 1/8 and 9/64 in."""
    found = nearest_drills(find_thread("M4"), 65)
    assert [t.drill.name for t in found] == ["3.5 mm", "3.6 mm", "No. 29", "No. 28", "1/8 in", "9/64 in"]
    assert round(found[0].percent, 1) == 66.0


@given(names, st.floats(1, 100))
def test_percent_and_hole_undo_each_other_and_drills_lie_about_the_hole(name, percent):
    thread = find_thread(name)
    assert percent_of_thread(thread, hole_for(thread, percent)) == pytest.approx(percent)
    wanted = hole_for(thread, percent)
    for found in nearest_drills(thread, percent):
        low, high = sorted((wanted, found.drill.diameter))
        sizes = [d.diameter for d in drills() if d.series == found.drill.series]
        assert not [size for size in sizes if low + 1e-9 < size < high - 1e-9]
    with pytest.raises(RangeError):
        hole_for(thread, 0)


# Cutting the screw --------------------------------------------------------------------------------------------


def test_infeed_by_hand():
    """0.4 deep, 0.2 first: (0.4 / 0.2)^2 = 4 passes at 0.4 sqrt(k / 4), and one without infeed."""
    assert infeed(0.4, 0.2, 0.01, springs=1) == pytest.approx((0.2, 0.28284, 0.34641, 0.4, 0.4), abs=1e-5)


@given(st.floats(0.05, 0.4), st.floats(0.03, 0.3), st.floats(0.1, 1.0), st.integers(0, 3))
def test_passes_reach_full_depth_within_what_the_tool_takes(depth, first, share, springs):
    least = share * first
    passes = infeed(depth, first, least, springs)
    steps = [b - a for a, b in pairwise((0.0, *passes))]
    assert passes[-1] == depth
    assert passes[0] <= first + 1e-9
    cutting = steps[: len(steps) - springs]
    assert all(s == 0 for s in steps[len(cutting) :])
    assert max(cutting) <= first + 1e-9
    assert min(cutting) >= min(least / 2, depth) - 1e-9
    if first >= 2 * least:
        assert min(cutting) >= min(least, depth) - 1e-9


@given(st.floats(0.1, 0.6), st.floats(0.05, 0.2))
def test_equal_areas_where_the_tool_allows(depth, first):
    passes = (0.0, *infeed(depth, first, 1e-6))
    areas = [b * b - a * a for a, b in pairwise(passes)]
    assert max(areas) == pytest.approx(min(areas), rel=1e-6)


def test_room_to_start_by_hand():
    """0.5 mm at 300 rpm is 2.5 mm/s: 6.25 / (2 * 10) = 0.3125 mm and 0.05 of backlash, less than two pitches."""
    assert start_room(0.5, 300, 10.0, 0.05) == pytest.approx(1.0)
    assert start_room(0.5, 300, 1.0, 0.05) == pytest.approx(3.175)


def test_change_wheels_by_hand():
    """1.5 mm leadscrew: 0.5 is 20 / 60; 0.7 from 8 to the inch needs 127, for which 80 / 63 stands."""
    found = change_wheels(0.5, 1.5, [20, 30, 40, 60])
    assert found is not None
    assert (found.drivers, found.driven, found.error) == ((20,), (60,), pytest.approx(0))
    inch = change_wheels(0.7, 3.175, [20, 28, 30, 40, 50, 63, 80, 100])
    assert inch is not None
    assert (inch.drivers, inch.driven) == ((28, 63), (80, 100))
    assert inch.pitch == pytest.approx(0.7 * (1 + inch.error))
    assert inch.error == pytest.approx(28 * 63 / 8000 * 127 / 28 - 1)
    assert change_wheels(0.7, 3.175, [20, 60]) is None


@pytest.mark.parametrize(
    "bad",
    [
        lambda: infeed(0.0, 0.1, 0.01),
        lambda: infeed(0.3, 0.01, 0.02),
        lambda: infeed(10.0, 0.1, 0.01),
        lambda: start_room(0.5, 0, 1, 0),
    ],
)
def test_threads_that_cannot_be_cut(bad):
    with pytest.raises(RangeError):
        bad()
