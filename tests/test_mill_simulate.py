"""The judge of mill programs: each fault, put into a good program's text, is found and said; and it knows no plan."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.judge.driven import Drive, check_drive
from cam.judge.mill import radius_at, section_outline, simulate_mill
from cam.judge.mill_metal import AIR, Sweep, add_sweep, floor_of, floor_under, standing_over
from cam.judge.mill_result import Face
from cam.judge.milled import extremes
from cam.mill.plan_square import plan_square
from cam.rs274 import read_program
from cam.rs274.model import Rules
from cam.setting.milled import LEVEL, MillWork, Solid, bar, block, tipped
from cam.setting.solids import gap, nearest
from tests.mill_case import END_MILL, NGC, TASK, judge, read, text_of

PLAN = plan_square(TASK)
TEXT = text_of(PLAN.moves)


def kinds(text: str, **more) -> set[str]:
    program = read(text)
    assert program.problems == ()
    cutters = more.pop("cutters", [END_MILL])
    work = more.pop("work", PLAN.work)
    return {f.kind for f in simulate_mill(program, work, cutters, tolerance=0.001, **more).findings}


def test_a_good_program_has_no_finding():
    assert kinds(TEXT, clearance=0.5) == set()


@pytest.mark.parametrize("place", [-0.9, 0.9])
def test_a_valley_beside_an_end_is_found(place):
    """Of the places looked at the end is lowest, and the valley lies a tenth further in."""
    assert extremes(lambda y: (y - place) ** 2, 1.0, []) == pytest.approx((0.0, 1.9**2), abs=1e-5)


# One fault each -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mode", "feed", "found"), [(94, 600, []), (94, 1000, ["feed"]), (95, 1, []), (95, 2, ["feed"])]
)
def test_a_feed_beyond_what_the_slides_go_is_found_by_the_minute_and_by_the_turn(mode, feed, found):
    """At 500 rev/min, slides of 600 mm/min."""
    drive = Drive(slowest=200, fastest=2000, rapid=600, speeds={})
    motion = read_program("G21 G17 G90 G40 G80 G94\nT1 M6\nS500 M3\nG1 X1 F9\nM2\n", NGC).motions[-2]
    assert motion.kind == "line"
    assert [kind for kind, _ in check_drive(motion._replace(feed_mode=mode, feed=feed), drive)] == found


def test_the_faults_are_put_where_they_are_meant():
    assert TEXT.count("Z1.8391") > 8
    assert "Z1.7771" in TEXT


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        ("Z1.8391", "Z1.8341", "gouge"),  # the shoulder end of every finished flat 5 um too low
        ("Z1.7771", "Z1.7821", "uncut"),
        ("G0 Y-6.1000\nG0 Z2.2991", "G0 Y0.0000\nG0 Z2.2991", "rapid in metal"),
        ("G0 Z2.2991", "G1 Z2.2991 F50.", "fine"),
        ("S2500 M3\n(flat 1, layer 1", "(flat 1, layer 1", "spindle off"),
        ("(TURN THE WORK TO 180 DEG)", "(TURN THE WORK TO 175 DEG)", "gouge"),
        ("M5\n(The spindle stands", "(The spindle stands", "spindle on"),
        ("G0 X3.1000\nG0 Y-6.1000", "G0 X2.5000\nG0 Y-6.1000", "gouge"),
        ("G1 X3.1000 Y1.8952 Z2.2991", "G1 X2.9000 Y1.8952 Z2.2991", "gouge"),
        ("T1 M6", "T3 M6", "unknown tool"),
        ("G54", "G55", "tool offset"),
        ("G0 X3.1000\nG0 Y-6.1000", "G0 X3.1000 Z7.6\nG0 Y-6.1000", "diagonal rapid"),
    ],
)
def test_each_fault_is_found(old, new, kind):
    assert old in TEXT
    found = kinds(TEXT.replace(old, new))
    assert found == set() if kind == "fine" else kind in found


def test_a_plunge_and_a_cut_too_deep_are_found():
    down = TEXT.replace("G0 Y-6.1000\nG0 Z2.2991", "G0 Y0.\nG1 Z2.2991 F20.")
    assert "plunge" in kinds(down)
    assert "too deep" in kinds(TEXT, cutters=[replace(END_MILL, deepest_cut=0.2)])
    assert "too deep" in kinds(TEXT, cutters=[replace(END_MILL, flutes=0.3)])


def test_holder_and_nut_are_found():
    text = str(kinds(TEXT, cutters=[replace(END_MILL, stick_out=6.0, holder_diameter=60.0)]))
    assert "contact" in text
    near = replace(PLAN.work, fixtures=(bar("nut", -40.0, -0.3, 32.0),))
    assert kinds(TEXT, work=near, clearance=0.5) == {"too near"}
    assert "contact" in kinds(TEXT, work=replace(PLAN.work, fixtures=(bar("nut", -40.0, 0.5, 32.0),)))


def test_jaws_stay_level_and_are_struck():
    jaws = Solid("jaw", 0.0, 20.0, -30.0, -8.0, 3.0, tilts=False)
    assert "contact" in kinds(TEXT, work=replace(PLAN.work, fixtures=(jaws,)))
    assert kinds(TEXT, work=replace(PLAN.work, fixtures=(jaws._replace(right=-9.2),))) == set()


def test_the_work_turned_under_the_cutter_is_found():
    """With the cutter down off the tip nothing is touched; over the work and as low, all of it would be."""
    off_tip = TEXT.replace("(TURN THE WORK TO 180", "G0 X45.5000\nG0 Z2.0\n(TURN THE WORK TO 180")
    assert off_tip != TEXT
    assert kinds(off_tip) == set()
    over = off_tip.replace("G0 X45.5000\nG0 Z2.0", "G0 X14.0000\nG0 Z2.0")
    assert "turned in the cutter" in kinds(over)


def test_a_flat_left_out_and_one_cut_twice_at_a_wrong_angle():
    text = TEXT.replace("(TURN THE WORK TO 270 DEG)", "(TURN THE WORK TO 225 DEG)")
    found = simulate_mill(read(text), PLAN.work, [END_MILL])
    said = " ".join(f.what for f in found.findings)
    assert "flat 4 has" in said
    assert "of metal left" in said
    assert "turned to 225 degrees" in said


def test_arcs_are_not_judged_and_cuts_from_nowhere_are_found():
    head = "G21\nG17 G90 G94 G54\nT1 M6\nS900 M3\n"
    assert "not checked" in kinds(head + "G0 X0 Y0 Z9\nG2 X1 Y1 I0 J1 F60\nM5\nM2\n")
    assert "unknown place" in kinds(head + "G1 X3 F60\nM5\nM2\n")


def test_a_broken_text_is_judged_up_to_its_fault_and_never_passes():
    program = read(TEXT.replace("G1 X15.5000", "G1 QX15.5000", 1))
    assert program.problems
    found = simulate_mill(program, PLAN.work, [END_MILL])
    assert "unreadable" in {f.kind for f in found.findings}


def test_times_and_travel():
    found = judge(PLAN)
    assert found.cutting_time == pytest.approx(200, abs=1)
    assert found.lowest[1] == pytest.approx(-6.1)
    assert found.highest[0] == pytest.approx(45.5)
    slow = judge(PLAN, drive=Drive(slowest=200, fastest=2000, rapid=500, speeds={}))
    assert slow.air_time == pytest.approx(2 * found.air_time)


def test_an_empty_program_leaves_everything():
    found = simulate_mill(read("G21\nM2\n"), PLAN.work, [END_MILL])
    assert not found.ok
    assert found.closest is None
    assert found.uncut > 0.7


# Reading ------------------------------------------------------------------------------------------------------

HEAD = "G21\nG17 G90 G94 G54\nT1 M6\n"


def turns(body: str, rules: Rules = NGC):
    return read_program(HEAD + body + "M2\n", rules, "p.ngc")


@pytest.mark.parametrize("line", ["G0 A90.", "A90 G0", "N10 G00 A+90.0", "g 0 a 9 0", "G0 A90 (flat 2)", "G0A.9E2"])
def test_rotary_lines_are_read(line):
    found = turns(f"{line}\n")
    if "E" in line:
        assert found.problems  # there is no exponent in the standard
        return
    assert found.problems == ()
    assert [(t.angle, t.by_hand) for t in found.turns] == [(90.0, False)]


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("G0 X1 A90\n", "together with something else"),
        ("G1 A90 F10\n", "together with something else"),
        ("A90\n", "together with something else"),
        ("G0 A#1\n", "together with something else"),
        ("G0 Z5\nG0 A90\nX5\n", "no motion word"),
        ("G91\nG0 A90\n", "without G91"),
        ("G0 A99999\n", "cannot be meant"),
        ("(TURN THE WORK TO 90 DEG)\nG0 X1\n", "no stop follows"),
        ("(TURN THE WORK TO 90 DEG)\n(TURN THE WORK TO 80 DEG)\nM0\n", "two angles"),
    ],
)
def test_turns_that_are_not(body, says):
    found = turns(body)
    assert says in " ".join(p.what for p in found.problems)
    assert all(p.where.path == "p.ngc" for p in found.problems)


def test_words_in_a_message_and_on_the_stops_own_line():
    assert [t.angle for t in turns("(MSG, Turn the work to 45.5 deg)\nM0\n").turns] == [45.5]
    assert [t.angle for t in turns("M0 (TURN THE WORK TO 45 DEG)\n").turns] == [45.0]
    assert turns("M2\nG0 A90\n").turns == ()


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 200), st.sampled_from("GXYZAMF0123.-( )\n"))))
def test_no_damage_to_a_text_breaks_the_reader_or_the_judge(damage):
    text = list(TEXT[:1500])
    for at, sign in damage:
        text[at * 7 % len(text)] = sign
    program = read("".join(text))
    found = simulate_mill(program, PLAN.work, [END_MILL])
    assert found.findings


# Geometry -----------------------------------------------------------------------------------------------------

places = st.floats(-5, 5)


@given(places, places, places, places, st.floats(-2, 2), st.floats(-2, 2), places, places)
def test_the_floor_is_the_least_height_along_the_way(x0, y0, x1, y1, z0, z1, x, y):
    """Against trying a thousand places of the cutter."""
    sweep = Sweep(x0, y0, z0, x1, y1, z1, 1.5, 1)
    tried = AIR
    for k in range(1001):
        t = k / 1000
        if math.hypot(x - x0 - (x1 - x0) * t, y - y0 - (y1 - y0) * t) <= 1.5:
            tried = min(tried, z0 + (z1 - z0) * t)
    exact = floor_under(sweep, x, y)
    assert exact <= tried + 1e-9
    if tried < AIR:
        assert exact == pytest.approx(tried, abs=0.01 + abs(z1 - z0) * 0.003)


@given(places, places, st.floats(-1, 1), st.floats(-1, 1))
def test_dropping_covered_cuts_changes_nothing(x, y, low, lower):
    sweeps: list[Sweep] = []
    cuts = [Sweep(0, 0, z, 4, 0, z - 0.1, 1.0, k) for k, z in enumerate((0.5, low, lower))]
    for cut in cuts:
        add_sweep(sweeps, cut)
    assert floor_of(sweeps, x, y) == floor_of(cuts, x, y)


@given(st.floats(-8, 8), st.floats(-8, 8), st.floats(-4, 8), st.floats(0.5, 3), st.booleans())
def test_a_gap_is_never_said_to_be_wider_than_it_is(x, y, z, radius, is_round):
    """Against points of the solid's upper surface and of the tool's end and side."""
    solid = bar("nut", -3.0, 2.0, 6.0) if is_round else Solid("jaw", -3.0, 2.0, -2.0, 3.0, 1.5)
    said = gap(x, y, z, radius, solid, LEVEL)
    tried = math.inf
    for i in range(21):
        px = solid.start + (solid.end - solid.start) * i / 20
        for j in range(41):
            py = solid.left + (solid.right - solid.left) * j / 40
            top = math.sqrt(max(solid.top**2 - py**2, 0.0)) if is_round else solid.top
            off = max(math.hypot(px - x, py - y) - radius, 0.0)
            tried = min(tried, math.hypot(off, max(z - top, 0.0)))
    assert said <= tried + 1e-9
    if solid.start <= x <= solid.end and said > 0:
        assert said == pytest.approx(tried, abs=0.2)  # beside it the distance is exact, and the trying coarse


@given(st.floats(-20, 20), st.floats(-6, 6), st.floats(0.0, 0.02), st.floats(-5, 5))
def test_the_frame_turns_about_its_point(x, z, slope, about):
    frame = tipped(slope, about)
    there = frame.to_machine(x, z)
    assert math.dist(there, (about, 0.0)) == pytest.approx(math.dist((x, z), (about, 0.0)), abs=1e-9)
    level = there[1] - frame.to_machine(x - 1.0, z)[1]
    assert level == pytest.approx(math.sin(math.atan(slope)), abs=1e-9)
    assert frame.to_machine(about, 0.0) == pytest.approx((about, 0.0))


def test_a_pass_between_two_places_that_are_clear_is_found():
    post = Solid("post", 4.0, 6.0, -1.0, 1.0, 5.0)
    near = nearest(END_MILL, (0.0, 0.0, 2.0), (10.0, 0.0, 2.0), [post], (), LEVEL)
    assert near.distance < 0
    assert near.obstacle == "post"
    beside = nearest(END_MILL, (-10.0, 5.0, 2.0), (20.0, 5.0, 2.0), [post], (), LEVEL)
    assert beside.distance == pytest.approx(1.0)


def test_metal_in_the_way_is_seen_on_a_tipped_work_too():
    work = MillWork(sections=(bar("bar", 0.0, 20.0, 6.0),), fixtures=(), frame=tipped(0.01, 0.0))
    over = Sweep(5.0, 0.0, 3.04, 5.0, 0.0, 3.04, 0.5, 1)
    assert standing_over(over, [], work).depth == pytest.approx(3 + 0.01 * 5.5 - 3.04, abs=2e-3)
    assert standing_over(over._replace(z0=3.2, z1=3.2), [], work).depth == 0.0


def test_extremes_between_the_places_looked_at():
    low, high = extremes(lambda y: (y - 0.3) ** 2, 1.0, [])
    assert low == pytest.approx(0.0, abs=1e-6)
    assert high == pytest.approx(1.69)


# How near, and the outline across --------------------------------------------------------------------------------


@given(
    st.tuples(st.floats(-30, 60), st.floats(-15, 15), st.floats(-8, 25)),
    st.tuples(st.floats(-30, 60), st.floats(-15, 15), st.floats(-8, 25)),
    st.floats(0, 0.2),
    st.booleans(),
)
def test_what_is_far_by_its_outline_is_never_the_nearest(
    start: tuple[float, float, float], end: tuple[float, float, float], slope: float, is_round: bool
) -> None:
    """Nothing on the way comes nearer to any solid than the nearest that is found, a few nm of narrowing down apart."""
    frame = tipped(slope, 0.0)
    solids = [
        bar("nut", -20.0, -6.0, 25.0) if is_round else block("block", -45.0, -20.0, 30.0),
        bar("collar", -6.0, 8.0, 9.0),
        Solid("jaws", -60.0, -30.0, -40.0, 40.0, 3.0, tilts=False),
    ]
    found = nearest(END_MILL, start, end, solids, (), frame).distance
    for k in range(41):
        x, y, z = (a + (b - a) * k / 40 for a, b in zip(start, end, strict=True))
        for height, radius in END_MILL.steps:
            assert min(gap(x, y, z + height, radius, s, frame) for s in solids) >= found - 1e-5


def ring_at(faces: tuple[Face, ...], work: MillWork, count: int) -> shapely.Polygon:
    radii = [(radius_at(faces, work, 6.0, 360 * k / count), math.tau * k / count) for k in range(count)]
    return shapely.Polygon([(r * math.sin(turn), r * math.cos(turn)) for r, turn in radii])


@given(st.lists(st.tuples(st.floats(-3, 3), st.floats(1.0, 3.9), st.sampled_from((0.0, 77.0, 180.0))), max_size=4))
@settings(max_examples=25)
def test_the_outline_across_is_as_good_as_one_of_many_more_rays(cuts: list[tuple[float, float, float]]) -> None:
    work = MillWork(sections=(bar("blank", 0.0, 12.0, 8.0),), fixtures=())
    faces = tuple(
        Face(angle, tuple(Sweep(-9.0, y, z, 20.0, y, z, 2.0, 1) for y, z, turn in cuts if turn == angle))
        for angle in sorted({turn for *_, turn in cuts})
    )
    ours = shapely.Polygon(section_outline(faces, work, 6.0))
    assert ours.symmetric_difference(ring_at(faces, work, 7200)).area < 0.03  # of 50 mm2


def test_a_strip_between_two_paths_shows_however_narrow() -> None:
    work = MillWork(sections=(bar("blank", 0.0, 12.0, 8.0),), fixtures=())
    paths = tuple(Sweep(-9.0, y, 2.0, 20.0, y, 2.0, 2.0, 1) for y in (-1.9, 2.11))
    radii = [math.hypot(*corner) for corner in section_outline((Face(30.0, paths),), work, 6.0)]
    turned = [math.degrees(math.atan2(*corner)) for corner in section_outline((Face(30.0, paths),), work, 6.0)]
    assert max(r for r, turn in zip(radii, turned, strict=True) if 25 < turn < 40) == pytest.approx(4.0)
