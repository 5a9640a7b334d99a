"""A printed sheet is read as a person at the handwheels reads it, and cut with; what is wrong on it is found."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.geometry.path import Arc, Chain, Line, Point
from cam.setting.model import Setting
from cam.sheet import hand_motions, is_sheet, judge_sheet, read_sheet
from cam.sheet.dials import ReadingError, read_scale
from cam.sheet.edges import _off
from cam.sheet.either_form import all_lines
from cam.sheet.limits import spare_of
from cam.sheet.model import BandRead, CutRead, Other, PointsRow, SheetVerdict
from cam.shop.machine import Slide
from cam.shop.model import Shop
from tests.sheet_case import ROWS, arbor_setting, as_print, slide, with_slides, write_sheet
from tests.specimens import drum_arbor, one_in, quantity, turning_tool

X_DIALS = {
    "diameter, rises": slide(),
    "diameter, falls": slide(counts="down"),
    "radius, rises": slide(habit="radius", division=0.01, turn=1.0),
    "radius, falls": slide(habit="radius", counts="down", division=0.01, turn=1.0),
    "depth, rises": slide(habit="depth on diameter"),
    "depth, falls": slide(habit="depth on diameter", counts="down"),
    "readout of diameter": slide(reading="readout", counts="down", division=0.01),
    "readout of radius": slide(reading="readout", habit="radius", counts="down", division=0.005),
    "readout of depth": slide(reading="readout", habit="depth on diameter", division=0.01),
    "readout from the bar": slide(reading="readout", division=0.01),
    "indicator": slide(reading="none", division=0.01),
    "backlash 0.3": slide(backlash=0.3),
    "no backlash": slide(backlash=0.0),
}
Z_OWN = drum_arbor()[1].lathe.z
Z_DIALS = {
    "dial, rises": Z_OWN,
    "dial, falls": replace(Z_OWN, counts="down"),
    "readout": replace(Z_OWN, reading="readout", division=quantity(0.01)),
    "slips": replace(Z_OWN, reading="none", division=quantity(0.01)),
    "backlash 0.3": replace(Z_OWN, backlash=quantity(0.3)),
}


@cache
def setting() -> Setting:
    return arbor_setting(with_slides())


def judge(text: str, shop: Shop | None = None) -> SheetVerdict:
    shop = shop or with_slides()
    return judge_sheet(text, setting(), shop, path="S.txt", material=shop.materials["silver steel"])


def sheet(x: Slide | None = None, z: Slide | None = None) -> str:
    return write_sheet(with_slides(x, z))


# Read and cut with ------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["hand", "stepper"])
@pytest.mark.parametrize(
    ("x", "z"),
    one_in(2, [*((x, "dial, rises") for x in X_DIALS), *(("diameter, rises", z) for z in Z_DIALS),
               ("indicator", "slips"), ("radius, falls", "dial, falls")]),
)  # fmt: skip
def test_a_sheet_comes_to_size_by_dials_of_every_kind(x: str, z: str, kind: str) -> None:
    shop = with_slides(X_DIALS[x], Z_DIALS[z], kind)
    found = judge(write_sheet(shop, numbers=kind == "stepper"), shop)
    assert found.problems == ()
    assert len(found.reached) == 7
    for size in found.reached:
        assert size.least - 1e-6 <= size.size <= size.most + 1e-6
        assert size.size == pytest.approx(size.wanted, abs=0.0101)


def test_the_print_form_is_read_as_the_text_is() -> None:
    text = sheet()
    plain, printed = (read_sheet(t, setting(), with_slides()) for t in (text, as_print(text)))
    assert printed.problems == ()
    assert [type(s) for s in printed.steps] == [type(s) for s in plain.steps]
    for a, b in zip(plain.rows, printed.rows, strict=True):
        assert replace(a, line=0) == replace(b, line=0)
    assert judge(as_print(text)).problems == ()


def test_a_row_becomes_what_a_careful_hand_does() -> None:
    shop = with_slides()
    read = read_sheet(sheet(), setting(), shop)
    motions = hand_motions(read, shop, setting()).motions
    row = read.rows[2]
    assert isinstance(row, CutRead)
    own = [m for m in motions if m.line == row.line]
    last_z = own[0].start.z
    for m in own:  # one slide at a time
        assert (m.start.x == m.end.x) != (m.start.z == m.end.z)
    feed = [m for m in own if m.kind == "line" and m.start.z != m.end.z]
    assert [(m.end.z, m.end.x) for m in feed] == [(-33.42, 6.5)]
    came = own[own.index(feed[0]) - 1]
    assert came.kind == "rapid"
    assert came.start.x - came.end.x > shop.lathe.x.backlash  # from outside, past the backlash
    toward = [m for m in own[: own.index(came)] if m.end.z < m.start.z]
    assert sum(m.start.z - m.end.z for m in toward) > shop.lathe.z.backlash  # from the tailstock side
    assert max(m.end.z for m in own) > min(last_z, feed[0].start.z)


def test_points_are_read_and_cut_in_and_out() -> None:
    read = read_sheet(sheet(), setting(), with_slides())
    points = [r for r in read.rows if isinstance(r, PointsRow)]
    assert [len(p.places) for p in points] == [6, 6, 6, 9]
    assert points[0].places[0] == pytest.approx((-33.5, 13.49))
    assert points[0].ridge == pytest.approx(0.0135)


def test_a_page_is_known_by_its_title() -> None:
    assert is_sheet(sheet())
    assert is_sheet(as_print(sheet()))
    assert not is_sheet("(setting 1 of 2, A end)\nG21\nM2\n")
    assert read_sheet("nothing", setting(), with_slides()).problems[0].what == "has no page of setting 1"


# What is wrong with a page ----------------------------------------------------------------------------


def without(text: str, start: str) -> str:
    lines = text.splitlines()
    kept = [line for line in lines if not line.startswith(start)]
    assert len(kept) == len(lines) - 1
    return "\n".join(kept)


FAULTS = [  # what stands there, what is put there, what is said
    ("4+01  -25.40", "3+01  -25.40", "X at 3+01 is not leaves 7.98"),
    ("8.08  7.98  4+01", "8.08  7.88  4+01", "X at 4+01 is not leaves 7.88"),
    ("8.08  7.98  4+01", "8.18  7.98  4+01", "says that 8.18 stands there, but 8.08 does"),
    ("4+99.5", "4+99.3", "X 4+99.3 is no reading of a dial"),
    ("4+99.5", "4+100", "X 4+100 cannot be read on a dial of 100 divisions a turn"),
    ("4+89", "4+9", "X 4+9 cannot be read on a dial of 100 divisions a turn"),
    ("-33.46  16+73", "-33.46  16+74", "Z at 16+74 is not Z -33.46"),
    ("[ ]  5  ", "[ ]  4  ", "row 4 stands there twice"),
    ("[ ]  5  ", "[ ]  6  ", "row 5 is missing before it"),
    ("[ ]  5  ", "[ ]  ", "is a row without its number"),
    ("belt A2, about 600 rpm", "belt A2, about 900 rpm", "belt A2, about 900 rpm, is no speed of this lathe"),
    ("belt A2, about", "belt C2, about", "belt C2, about 600 rpm, is no speed of this lathe"),
    ("feed 0.03 mm a turn", "feed 0.3 mm a turn", "feeds 0.3000 mm/rev; this lathe feeds from 0.010 to 0.150 mm/rev"),
    ("feed 0.06 mm a turn", "feed 0.06 mm a turn; Z turn in 2.5 s", "Z turned in 2.5 s, and not 3.33"),
    ("TOOL 1  right", "TOOL 7  right", "asks for tool 7, which the shop does not have"),
    ("seat: 8.08 ________", "seat: 8.18 ________", "expects 8.18 there, but the rows above leave 8.08"),
    ("past front seat: 33.50", "past front seat: 33.40", "expects 33.40 there, but the rows above leave 33.50"),
    ("(then 7.97 to 8.00)", "(then 7.97 to 8.10)", "has other limits than the part for diameter of front seat"),
    ("MEASURE  front seat: 8.08", "MEASURE  back seat: 8.08", "measures what is not turned here"),
    ("front seat: 8.08 ________", "front seat: 8.08", "does not say what is measured"),
    ("a division is 0.02 on", "a division is 0.01 on", "the X dial has another division in the shop file"),
    ("on the diameter, 100", "a side, 100", "the X dial counts otherwise in the shop file"),
    ("0.02, 100 a turn, rises", "0.02, 100 a turn, falls", "the Z dial counts the other way in the shop file"),
    ("100 a turn, rises going", "50 a turn, rises going", "the X dial has 100 divisions a turn in the shop file"),
    ("0+00 is diameter 16.00", "0+00 is diameter 15.00", "X at 0+75 is not leaves 14.50"),
    ("1 of 2, A END", "1 of 2, B END", "is the other end's page"),
    ("1 of 2, A END", "2 of 2, A END", "has no page of setting 1"),
    ("pass  cut  was", "pass  cut  before", "are no heads of a table of passes"),
    ("points, Z", "points: Z", "does not say what is set"),
    ("16+81 /", "19+81 /", 'into "drum body"'),
    ("10+00 / 5+24.5", "10+00 / 5+18.5", "um off its edge or corner"),
]  # fmt: skip
LATER = ("feeds 0.3", "Z turned in", 'into "drum', "row 5 is", "X at 0+75", "the other end's")
"""What shows only on a later line."""


@pytest.mark.parametrize(("old", "new", "said"), FAULTS, ids=[f"{a} to {b}" for a, b, _ in FAULTS])
def test_what_is_wrong_is_said_with_its_line(old: str, new: str, said: str) -> None:
    text = sheet()
    assert old in text
    bad = text.replace(old, new, 1)
    found = judge(bad)
    wrong = [p for p in found.problems if said in p.what]
    assert wrong, [str(p) for p in found.problems]
    changed = [at for at, (a, b) in enumerate(zip(text.splitlines(), bad.splitlines(), strict=True), 1) if a != b]
    assert wrong[0].where.line in (*changed, changed[0] - 1, 0) or said.startswith(LATER)


def test_a_row_lost_and_two_swapped_are_found() -> None:
    text = sheet()
    assert any("missing" in p.what for p in judge(without(text, "[ ]  9  ")).problems)
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("[ ]  4  "))
    lines[at], lines[at + 1] = lines[at + 1], lines[at]
    assert any(
        "row 5 is missing before it" in p.what or "out of order" in p.what for p in judge("\n".join(lines)).problems
    )


def test_a_last_row_lost_is_found_by_the_edge_that_nothing_cuts() -> None:
    text = sheet()
    begin = text.index("[ ] 23  ")
    end = text.index("\n\n", begin)
    assert "points" in text[begin:end]
    found = judge(text[:begin] + text[end:])
    assert "has no row for the edge or corner at Z -0.50 to 0.00 mm" in [p.what for p in found.problems]


def test_a_shoulder_with_limits_is_measured_before_its_last_cut_and_after_it() -> None:
    own = setting()
    turned = tuple(replace(t, spare=(0.02, 0.02)) if t.section.name == "front seat" else t for t in own.turned)
    lost = without(sheet(), "MEASURE  shoulder past front seat: 33.46")
    found = judge_sheet(lost, replace(own, turned=turned), with_slides(), path="S.txt")
    assert "does not measure shoulder past front seat before its last cut" in [p.what for p in found.problems]


def test_a_row_that_cuts_only_air_is_found() -> None:
    text = sheet()
    line = next(line for line in text.splitlines() if line.startswith("[ ] 11  "))
    air = line.replace("[ ] 11", "[ ] 12").replace("5.50  5.38  5+31", "5.38  5.40  5+30")
    twice = text.replace(line, f"{line}\n{air}")
    later = re.sub(r"(?m)^\[ \] (1[2-9]|2\d)(?=  (?!rough winding))", lambda m: f"[ ] {int(m[1]) + 1}", twice)
    later = re.sub(r"in (\d+), (\d+)", lambda m: f"in {int(m[1]) + 1}, {int(m[2]) + 1}", later)
    assert [p.what for p in judge(later).problems] == ["cuts only air: nothing stands there"]


def test_a_lost_tool_change_is_found() -> None:
    text = sheet().replace("TOOL 1  right-hand knife", "TOOL 2  undercut tool")
    assert any("fed straight in" in p.what for p in judge(text).problems)
    assert judge(sheet().replace("feed 0.03", "tool 2: undercut tool; feed 0.03")).problems


def test_a_lost_belt_is_found_where_it_is_too_fast() -> None:
    text = sheet().replace("belt A2, about 600 rpm", "belt B2, about 1800 rpm")
    assert any("m/min" in p.what for p in judge(text).problems)
    assert any("spindle" in p.what for p in judge(sheet().replace("belt A2, about 600 rpm; ", "")).problems)


def test_the_hand_that_follows_an_outward_step_as_straight_is_found_to_gouge() -> None:
    """The fault for which this reader was made: a body cut to the size of the seat before it."""
    text = sheet().replace("13.00  1+50  0.50  -33.42  16+71", "13.00  1+50  0.50  -66.10  33+05")
    assert any('into "drum body"' in p.what for p in judge(text).problems)


def test_a_start_by_eye_near_the_centre_is_found_and_one_by_dial_is_not() -> None:
    text = sheet().replace("  0.50  -", "  2.30  -")
    assert any("centre cone, where it is begun by eye 0.25 mm further" in p.what for p in judge(text).problems)
    z = next(line for line in text.splitlines() if line.startswith("Z DIAL"))
    assert judge(text.replace(z, f"{z}\nFROM BY DIAL  2.30: 1-15")).problems == ()


def test_a_start_by_dial_too_near_the_centre_is_refused_though_it_touches_nothing() -> None:
    """What is nearer than is allowed may be an eye's, but never that of a place which a hand sets by its dial."""
    text = sheet().replace("  0.50  -", "  2.40  -")
    z = next(line for line in text.splitlines() if line.startswith("Z DIAL"))
    (problem,) = judge(text.replace(z, f"{z}\nFROM BY DIAL  2.40: 1-20")).problems
    assert problem.what == "the nose comes within 62 um of the centre cone; 0.100 mm must stay clear"


def test_a_row_that_begins_in_the_metal_is_wound_in_slowly() -> None:
    text = sheet()
    row = next(line for line in text.splitlines() if re.search(r"  0\.50  -", line))
    inside = row.replace("  0.50  -", "  -0.50  -")
    assert any("rapids" in p.what for p in judge(text.replace(row, inside)).problems)
    slowly = f"-- X in as slowly as a cut: this row starts in the metal\n{inside}"
    assert not any("rapids" in p.what for p in judge(text.replace(row, slowly)).problems)


@pytest.mark.parametrize("way", ["along", "straight in", "points", "by hand"])
def test_only_the_next_row_is_wound_in_slowly(way: str) -> None:
    shop = with_slides()
    read = read_sheet(sheet(), setting(), shop)
    row = read.rows[2]
    assert isinstance(row, CutRead)
    before = {
        "along": row,
        "straight in": replace(row, start=row.stop),
        "points": PointsRow(line=1, number=1, what="edge", way="in and out", places=((row.z, row.x),)),
        "by hand": Other(line=1, number=1, what="edge", by="by stone"),
    }[way]
    slowly = BandRead(line=1, rpm=600.0, feed=0.06, tool=None, slowly=True)
    motions = hand_motions(replace(read, steps=(slowly, replace(before, line=1), row)), shop, setting()).motions
    assert next(m.kind for m in motions if m.line == row.line and m.end.x < m.start.x) == "rapid"
    if way == "along":
        assert next(m.kind for m in motions if m.line == 1 and m.end.x < m.start.x) == "line"


@pytest.mark.parametrize("start", ["0-05", "0-06"])
def test_the_dial_of_a_start_is_held_against_its_figure(start: str) -> None:
    text = sheet().replace("  0.50  -", "  0.10  -")
    z = next(line for line in text.splitlines() if line.startswith("Z DIAL"))
    told = text.replace(z, f"{z}\nFROM BY DIAL  0.10: {start}")
    problems = judge(told).problems
    assert (problems == ()) == (start == "0-05"), [str(p) for p in problems]


def test_a_division_coarser_than_the_limits_must_be_told() -> None:
    shop = with_slides(slide(reading="readout", division=0.08, counts="down"))
    text = write_sheet(shop)
    assert judge(text, shop).problems


def test_only_what_the_page_calls_coarse_may_be_left_a_reading_larger_and_none_smaller() -> None:
    """A readout's division of 0.08 on the diameter leaves 0.04 a side, half of a dial's 0.02; the limits of the front
    pivot leave 0.005, and under them no page may go.
    """
    lathe = with_slides(slide(reading="readout", division=0.08, counts="down")).lathe
    turned = next(t for t in setting().turned if t.section.name == "front pivot")
    strict = spare_of(setting(), turned, lathe, ("shoulder past front pivot",))
    told = spare_of(setting(), turned, lathe, ("front pivot",))
    assert (strict.under, strict.over) == pytest.approx((0.005, 0.005))
    assert (told.under, told.over) == pytest.approx((0.005, 0.04))
    by_dial = with_slides(slide(division=0.08)).lathe
    told = spare_of(setting(), turned, by_dial, ("front pivot",))
    assert (told.under, told.over) == pytest.approx((0.005, 0.02))
    free = replace(turned, section=replace(turned.section, tolerance=None))  # turned as one with one of close limits
    strict, told = (spare_of(setting(), free, lathe, coarse) for coarse in ((), ("front pivot",)))
    assert (strict.under, strict.over) == pytest.approx((0.02, 0.02))
    assert (told.under, told.over) == pytest.approx((0.02, 0.04))


@pytest.mark.parametrize(
    ("rows", "found"),
    [("15, 21", ""), ("15", "does not correct row 21 with it"), ("15, 21, 44", "is to correct row 44"),
     ("13, 15, 21", "is to correct row 13"), ("", "does not correct row 15, 21")],
)  # fmt: skip
def test_a_measure_names_the_rows_that_are_corrected_with_the_last_cut(rows: str, found: str) -> None:
    """The seat's diameter is cut by its last cut, row 15, and by its chamfer, row 21, which then stood off."""
    words = sheet().replace("(then 7.97 to 8.00); each 0.02 over: X +1 in 15, 21",
                            f"(then 7.97 to 8.00); each 0.02 over: X +1{f' in {rows}' if rows else ''}")  # fmt: skip
    problems = [p.what for p in judge(words).problems]
    assert len(problems) == bool(found)
    assert all(found in p for p in problems)


@pytest.mark.parametrize(("rows", "found"), [("15, 20", ""), ("20", "does not correct row 15 with it")])
def test_a_shoulders_measure_names_the_row_that_cuts_it_last(rows: str, found: str) -> None:
    bare = "shoulder past front seat: 33.46 ________"
    assert bare in sheet()
    words = sheet().replace(bare, f"{bare} (then 33.48 to 33.52); each 0.02 over: Z -1 in {rows}")
    assert [p.what for p in judge(words).problems] == ([found] if found else [])


@pytest.mark.parametrize(
    ("travel", "found"), [("10.01", ""), ("10.00", "10.01"), ("10.02", "10.01"), ("10", ""), ("11", "10")]
)
def test_the_travel_of_the_top_slide_is_held_against_its_places(travel: str, found: str) -> None:
    """From Z 0 to Z -10 at 2.86 degrees it goes 10 / cos 2.86 = 10.0125 along the slope; never further."""
    row = f"[ ] 24  taper\n     set over 2.86 degrees, from Z / X 0+00 / 4+00 to 5+00 / 3+50; top slide {travel}\n"
    problems = judge(sheet().replace("AFTER THE LAST PASS", f"{row}AFTER THE LAST PASS")).sheet.problems
    assert [p.allowed for p in problems] == ([found] if found else [])


def test_every_line_is_read_the_last_too() -> None:
    assert [(line.number, line.text) for line in all_lines("one\ntwo")] == [(1, "one"), (2, "two")]
    printed = all_lines("<div>\n<p>one</p>\n<p>two <b>three</b></p></div>")
    assert [(line.number, line.text) for line in printed] == [(2, "one"), (3, "two three")]


# Strict and safe --------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["X DIAL  a division is 1e9 on the diameter", "X DIAL", "X READS  the colour"])
def test_a_dial_that_is_not_told_is_no_dial(line: str) -> None:
    with pytest.raises(ReadingError):
        read_scale(line, slide(), "mm", ())


@given(st.text(max_size=400))
def test_any_text_at_all_is_read_without_harm(text: str) -> None:
    for whole in (text, f"X: SETTING 1 of 2, A END\n{text}", f"<p>{text}", sheet().replace("[ ]  4", text, 1)):
        read = read_sheet(whole, setting(), with_slides())
        assert read.lines >= 1


@pytest.mark.parametrize("text", ["<table>" * 50_000, "9" * 10**6, "X: SETTING 1 of 2, A END\n" + "[ ] 1  x\n" * 30_000,
                                  "X: SETTING 1 of 2, A END\nMEASURE  " + "a: " * 5_000])  # fmt: skip
def test_large_texts_are_read_quickly_or_refused(text: str) -> None:
    read_sheet(text, setting(), with_slides())
    read_sheet(f"<html>{text}", setting(), with_slides())


def test_all_faults_are_told_at_once() -> None:
    text = sheet().replace("4+01  -25.40", "3+01  -25.40").replace("4+89", "4+9").replace("belt A2", "belt Q")
    assert len(judge(text).problems) == 3


def test_rows_are_those_of_the_case() -> None:
    read = read_sheet(sheet(), setting(), with_slides())
    assert [(r.leaves.value, r.z) for r in read.rows if isinstance(r, CutRead)] == [
        pytest.approx((row.leaves, row.stop)) for row in ROWS
    ]
    assert Point(*read.rows[-1].places[-1]) == pytest.approx((-0.58, 5.24))  # type: ignore[union-attr]


FILLET_FACE_CHAMFER = (
    Line(Point(0.0, 2.3), Point(-2.75, 2.3)),
    Arc(Point(-2.75, 2.3), Point(-2.95, 2.5), Point(-2.75, 2.5), -1),
    Line(Point(-2.95, 2.5), Point(-2.95, 2.97)),
    Line(Point(-2.95, 2.97), Point(-3.28, 3.3)),
    Line(Point(-3.28, 3.3), Point(-7.0, 3.3)),
)
CHAMFER_OF_A_TAPER = (
    Line(Point(34.0, 2.2), Point(26.0, 2.2)),
    Line(Point(26.0, 2.2), Point(26.0, 3.0)),
    Line(Point(26.0, 3.0), Point(26.0 - 0.2 / (1 - 1 / 12), 3.0 + 0.2 / (1 - 1 / 12))),
    Line(Point(26.0 - 0.2 / (1 - 1 / 12), 3.0 + 0.2 / (1 - 1 / 12)), Point(14.0, 4.2)),
)


@pytest.mark.parametrize(
    ("outline", "zones", "nose", "place"),
    [
        (FILLET_FACE_CHAMFER, ((-2.95, -2.75), (-3.28, -2.95)), 0.03, (-2.98, 5.99)),
        (CHAMFER_OF_A_TAPER, ((25.8, 26.0),), 0.1, (26.04, 5.81)),
    ],
)
def test_a_first_place_past_a_chamfers_end_is_held_by_the_chamfer_carried_on(
    outline: Chain, zones: tuple[tuple[float, float], ...], nose: float, place: tuple[float, float]
) -> None:
    """Not by a fillet beside it carried on, nor by none, where the taper that it ends at makes it a little longer."""
    inward = (place[0] - 0.1, place[1] + 0.2)
    row = PointsRow(line=1, number=1, what="s", way="in and out", places=(place, inward))
    off, _ = _off(row, turning_tool(nose_radius=nose), outline, zones)
    centre = Point(place[0] + nose, place[1] / 2 + nose)
    lines = (p for p in outline if isinstance(p, Line))
    start = next(p.start for p in lines if p.end.z - p.start.z == pytest.approx(p.start.x - p.end.x))
    assert off == pytest.approx(((centre.z - start.z) + (centre.x - start.x)) / math.sqrt(2) - nose)
