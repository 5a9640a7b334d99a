"""Squares planned, written, read back and judged: sizes at every station, the three ways alike, what is refused."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.judge.mill import radius_at, simulate_mill
from cam.judge.mill_metal import floor_of
from cam.mill.plan_square import plan_square
from cam.mill.setting_up import setting_up
from cam.moves.model import ChangeTool, Feed, Index, Rapid, StartPass, Stop, StopSpindle, TurnSpindle
from cam.plan.stiffness import spring_of_overhang
from cam.setting.milled import bar
from cam.setting.solids import milling_force
from cam.setting.square import Square, across_at, corner_whole_at
from tests.mill_case import ARBOR, END_MILL, FIXTURES, HERE, NGC, SQUARE, TASK, judge, read, task_for, text_of

WAYS = (("level block", 0.0), ("rotary", 0.0), ("tipped block", 60.0))


@st.composite
def tasks(draw):
    """Squares of all kinds, with cutters that can cut them."""
    flats = draw(st.sampled_from((4, 4, 4, 6, 8)))
    blank = draw(st.floats(3.0, 9.0))
    across = blank * math.cos(math.pi / flats) * draw(st.floats(0.8, 1.1))
    across = min(across, blank - 0.35)
    length = draw(st.floats(4.0, 16.0))
    slope = draw(st.floats(0.0, 0.01))
    square = Square(
        flats=flats, across=across, station=draw(st.floats(0.2, 1.0)) * length, slope=slope, length=length, blank=blank,
        corners="whole", broken=0.0, where=HERE,
    )  # fmt: skip
    if corner_whole_at(square, 0.0) > blank:
        square = replace(square, corners="round")
    diameter = draw(st.sampled_from((3.0, 6.0, 10.0)))
    cutter = replace(END_MILL, diameter=diameter, shank_diameter=diameter, deepest_cut=draw(st.floats(0.2, 1.0)))
    crown = draw(st.sampled_from((0.0003, 0.0005)))
    return task_for(square, cutter=cutter, wall=draw(st.floats(0.05, 1.0)), crown=crown, left=0.06, allowance=0.01)


def planned(task):
    """The plan, or None where the square cannot be cut so: its refusals are tested by themselves."""
    try:
        return plan_square(task)
    except ProblemError:
        return None


def judged(plan):
    program = read(text_of(plan.moves))
    assert program.problems == ()
    cutter = next(m.tool for m in plan.moves if isinstance(m, ChangeTool))
    return simulate_mill(program, plan.work, [cutter], tolerance=plan.crown + 0.0001, clearance=0.4)


# Laws ---------------------------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(tasks(), st.sampled_from(WAYS))
def test_random_squares_come_out_right_at_every_station(task, way):
    """Program text is written, read back and judged: within the crown and one printed digit, without contact."""
    plan = planned(replace(task, way=way[0], spacing=way[1]))
    if plan is None:
        return
    found = judged(plan)
    assert found.findings == ()
    assert found.closest is not None
    assert found.closest.distance > 0.4
    assert {f.flat for f in found.flats} == set(range(1, task.square.flats + 1))
    for flat in found.flats:
        assert -plan.crown - 0.0001 <= flat.low <= flat.high <= plan.crown + 0.0001


@settings(max_examples=8, deadline=None)
@given(tasks())
def test_the_three_ways_leave_the_same_solid_within_a_micrometre(task):
    plans = [planned(replace(task, way=way, spacing=spacing)) for way, spacing in WAYS]
    if None in plans:
        assert plans == [None] * 3
        return
    found = [judged(plan) for plan in plans]
    for x in (task.wall + 0.1, task.square.length / 2 + task.wall / 2, task.square.length - 0.01):
        for ray in range(0, 360, 7):
            radii = [radius_at(f.faces, p.work, x, ray) for f, p in zip(found, plans, strict=True)]
            assert max(radii) - min(radii) < 0.001


@settings(max_examples=40, deadline=None)
@given(tasks(), st.sampled_from(WAYS))
def test_z_moves_down_before_a_face_is_cut_and_never_up_in_it(task, way):
    """So that backlash of Z shows on no face."""
    plan = planned(replace(task, way=way[0], spacing=way[1]))
    if plan is None:
        return
    z, down = math.inf, False
    for move in plan.moves:
        if isinstance(move, Rapid) and move.axis == "z":
            down, z = move.to < z, move.to
        elif isinstance(move, Feed):
            assert down
            assert move.z <= z + 1e-12
            z = move.z


# One plan, looked at ------------------------------------------------------------------------------------------

PLAN = plan_square(TASK)


def stops(plan, reason):
    return [m for m in plan.moves if isinstance(m, Stop) and m.reason == reason]


def test_flats_are_cut_in_pairs_measured_and_finished_alike():
    names = [m.name for m in PLAN.moves if isinstance(m, StartPass)]
    order = [n.split(",")[0] for n in names]
    seen = [n for k, n in enumerate(order) if k == 0 or order[k - 1] != n]
    assert seen == ["flat 1", "flat 3", "flat 2", "flat 4", "flat 1", "flat 2", "flat 3", "flat 4"]
    assert "finish" in names[-1]
    assert "layer 1 of 2" in names[0]
    turned = [m.angle for m in PLAN.moves if isinstance(m, Index)]
    assert turned == [0, 180, 90, 270, 0, 90, 180, 270]


def test_a_cutter_that_is_set_anew_on_flat_1_has_that_turned_up_and_the_flat_in_hand_again():
    """Before: "Z .. on flat 1" at a pass begun with flat 3 up, where no flat 1 is to be touched."""
    passes = [m for m in PLAN.moves if isinstance(m, StartPass)]
    for m in passes:
        up = int(m.name.split(",")[0].removeprefix("flat "))
        touched = re.search(r"on flat (\d)", m.touch)
        back = touched is not None and int(touched[1]) != up
        assert ("turned up for that" in m.touch) is back
        assert m.touch.endswith(f", turned up for that, then flat {up} again") is back
        assert touched is not None or up == 1
    assert any("where it is finished" in m.touch for m in passes)


def test_readings_expected_by_hand():
    """Milled 3.62 at the station with 0.1 left a flat: 3.82 and the crown; over flat and round (5.2 + 3.82) / 2."""
    readings = [r for m in stops(PLAN, "measure") for r in m.readings]
    assert [r.name for r in readings[:4]] == [
        "flat 1 to round", "across flats 1 and 3", "flat 2 to round", "across flats 2 and 4"
    ]  # fmt: skip
    assert readings[0].expected == pytest.approx(4.51, abs=0.001)
    assert readings[1].expected == pytest.approx(3.82 + 2 * PLAN.crown)
    assert (readings[-1].least, readings[-1].most) == (pytest.approx(3.61), pytest.approx(3.63))
    assert readings[0].station == 6.0


def test_what_is_expected_at_a_stop_is_what_the_judge_measures_then():
    """The text up to the stop before the finish: both pairs read what the stop says."""
    text = text_of(PLAN.moves)
    before = text[: text.index("(flat 1, finish")] + "M5\nM2\n"
    found = judge(PLAN, before)
    expected = next(r.expected for m in stops(PLAN, "measure") for r in m.readings if r.name == "across flats 1 and 3")
    at = [a.reading for a in found.across if a.x == pytest.approx(6.05, abs=0.06)]
    assert len(at) == 2
    for reading in at:
        assert reading == pytest.approx(expected, abs=0.002)  # the station is 0.05 mm off: 0.5 um
    assert found.uncut == pytest.approx(0.1, abs=0.001)


def test_burrs_and_chips_are_spoken_of_at_every_measurement():
    for stop in stops(PLAN, "measure"):
        assert any("burr" in line for line in stop.lines)
        assert any("never with the fingers" in line for line in stop.lines)
    assert any("eye protection" in line for line in stops(PLAN, "prove")[0].lines)


def test_the_spindle_stands_whenever_the_program_stops():
    for plan in (PLAN, plan_square(replace(TASK, way="rotary"))):
        turning = False
        for move in plan.moves:
            turning = isinstance(move, TurnSpindle) or (turning and not isinstance(move, StopSpindle))
            if isinstance(move, Stop) or (isinstance(move, Index) and move.by_hand):
                assert not turning


def test_a_rotary_axis_needs_no_hand():
    plan = plan_square(replace(TASK, way="rotary"))
    assert not any(isinstance(m, Index) and m.by_hand for m in plan.moves)
    assert "G0 A90.0000" in text_of(plan.moves)
    assert "TURN THE WORK" not in text_of(plan.moves)


def test_a_tipped_block_says_its_shim_and_touches_off_where_the_round_stands_highest():
    """0.005 * 60 = 0.3 mm; the tip's top: 6 mm out at slope 0.005 and 2.6 up."""
    plan = plan_square(replace(TASK, way="tipped block", spacing=60.0))
    assert plan.tip is not None
    assert plan.tip.shim == pytest.approx(0.3)
    assert plan.touch_off[1] == pytest.approx(2.6 + 6 * 0.005, abs=1e-4)
    assert plan.ramp is None
    assert plan.crown == 0.0


def test_depths_by_hand_count_from_the_touch_off():
    """Touched at 2.63, finished at 1.81 over the axis: 0.82 below, 0.1 less before measuring, but for the tilt."""
    plan = plan_square(replace(TASK, way="tipped block", spacing=60.0))
    assert plan.depths_by_hand() == (
        (pytest.approx(0.46), pytest.approx(0.36, abs=1e-4)),
        (pytest.approx(0.1), pytest.approx(0.72, abs=1e-4)),
        (0.0, pytest.approx(0.82, abs=1e-4)),
    )
    assert PLAN.depths_by_hand() == ()


def test_the_page_says_how_to_set_up():
    """0.3 mm shim; X is 12 at the end face and 3 for the cutter; Z on top of the round is half of 5.2."""
    level = " ".join(setting_up(TASK, PLAN))
    assert "Set X to 15 mm" in level
    assert "Set Z to 2.6 mm with the cutter's end on the top of the round." in level
    assert "no shim" in level
    assert "3.62 mm across flats at 6 mm from the shoulder" in level
    tipped = replace(TASK, way="tipped block", spacing=60.0)
    said = " ".join(setting_up(tipped, plan_square(tipped), "in"))
    assert "a shim of 0.0118 in under the end toward the tip of the square" in said
    assert "eye protection" in said
    rotary = replace(TASK, way="rotary", unit="in", shown_unit="in")
    assert "rotary axis" in setting_up(rotary, plan_square(rotary))[1]
    assert "0.1969 in above the top" in stops(plan_square(rotary), "prove")[0].lines[0]


def test_no_ridge_stands_beside_a_flat_when_it_is_measured():
    """A large round, so that a flat is much wider while its neighbours are uncut, and a small cutter."""
    square = replace(SQUARE, across=4.9, blank=8.0)
    cutter = replace(END_MILL, diameter=3.0, shank_diameter=3.0)
    plan = plan_square(task_for(square, cutter=cutter, left=0.1))
    text = text_of(plan.moves)
    first = text[: text.index("(TURN THE WORK TO 180 DEG)")] + "M2\n"
    found = simulate_mill(read(first), plan.work, [cutter])
    top = across_at(plan.milled, 11.5) / 2 + 0.1 + plan.crown + 1e-4
    for k in range(-40, 41):
        y = k / 10
        floor = floor_of(found.faces[0].sweeps, 11.5, y)
        assert min(floor, math.sqrt(max(16 - y * y, 0.0))) <= top


def test_layers_are_even_and_no_deeper_than_the_cutter_takes():
    """(5.2 - 3.56) / 2 = 0.82 at the tip, less 0.1: two layers of 0.36 under a limit of 0.5."""
    assert PLAN.layers == (pytest.approx(0.46), pytest.approx(0.1))


def test_a_undercut_groove_lets_the_flats_run_out():
    groove = bar("undercut", -1.0, 0.0, 3.2)
    sections = (*ARBOR[:2], bar("front pivot", -6.0, -1.0, 6.0), groove, ARBOR[3])
    task = replace(TASK, sections=sections, wall=-0.5, groove=1.0)
    plan = plan_square(task)
    assert judge(plan).ok
    with pytest.raises(ProblemError, match="beyond the undercut groove"):
        plan_square(replace(task, wall=-1.2))
    shallow = (*sections[:3], bar("undercut", -1.0, 0.0, 4.5), ARBOR[3])
    with pytest.raises(ProblemError, match="shallower than the flats"):
        plan_square(replace(task, sections=shallow))


# Refusals and warnings ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"square": replace(SQUARE, across=4.4, blank=6.2), "bearing": 6.02}, "does not pass its own bearing"),
        ({"cutter": replace(END_MILL, kind="drill")}, "with an end mill"),
        ({"feed": 0.0}, "above zero"),
        ({"left": 0.9}, "nothing is cut at the station"),
        ({"left": 0.01}, "thinner than the cutter can take"),
        ({"cutter": replace(END_MILL, flutes=0.5)}, "deeper than the cutter's flutes"),
        ({"way": "tipped block"}, "distance from its edge to the shim"),
        ({"wall": 7.0}, "where no flat is"),
        ({"allowance": 1.7}, "do not reach into the round"),
        ({"cutter": replace(END_MILL, stick_out=6.0, holder_diameter=60.0)}, "the holder does not clear"),
        ({"fixtures": (*FIXTURES, bar("collet nut", -10.0, -0.2, 30.0))}, "the cutter does not clear"),
    ],
)
def test_squares_that_cannot_be_milled_so(change, says):
    with pytest.raises(ProblemError, match=says) as caught:
        plan_square(replace(TASK, **change))
    assert all(p.where == HERE or p.where.path == "arbor.toml" for p in caught.value.problems)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"gripped": 12.0}, "grips little"),
        ({"limits": (-0.0005, 0.0005)}, "bends under the finishing cut"),
        ({"wall": 0.0}, "runs on the finished face"),
    ],
)
def test_squares_that_may_go_wrong(change, says):
    warnings = plan_square(replace(TASK, **change)).warnings
    assert any(says in str(w) for w in warnings)
    assert not any(says in str(w) for w in PLAN.warnings)


# Sums ---------------------------------------------------------------------------------------------------------


def test_a_plain_overhang_bends_by_the_handbook_formula():
    """F L^3 / (3 E I): 20 N on 30 mm of 5 mm round, I = 30.680: 0.02794 mm (I from the table of rounds, pi d^4/64)."""
    bent = spring_of_overhang([(0.0, 30.0, 5.0)], 30.0, 20.0, 210_000.0)
    assert bent == pytest.approx(20 * 30**3 / (3 * 210_000 * 30.680), rel=1e-4)
    stepped = [(0.0, 15.0, 5.0), (15.0, 30.0, 5.0)]
    assert spring_of_overhang(stepped, 30.0, 20.0, 210_000.0) == pytest.approx(bent)
    squared = spring_of_overhang([stepped[0], (15.0, 30.0, 4.0)], 30.0, 20.0, 210_000.0)
    assert bent < squared < bent * (5 / 4) ** 4


def test_the_force_is_kienzles():
    """C45, 0.5 mm deep, chip 0.1: 2220 * 0.5 * 0.1^0.86 = 153.2 N a tooth (Kienzle; constants from memory)."""
    assert milling_force(2220.0, 0.14, 0.5, 0.1, 2) == pytest.approx(153.2, abs=0.1)
    assert milling_force(2220.0, 0.14, 0.5, 0.1, 4) == pytest.approx(306.4, abs=0.2)


def test_the_program_is_read_by_the_standard():
    program = read(text_of(PLAN.moves))
    assert NGC.standard == "NISTIR 6556"
    assert program.problems == ()
    assert [t.angle for t in program.turns] == [0, 180, 90, 270, 0, 90, 180, 270]
    assert all(t.by_hand for t in program.turns)


def test_sizes_are_those_of_the_milled_square():
    found = judge(PLAN)
    assert found.ok
    for a in found.across:
        assert a.wanted == pytest.approx(across_at(SQUARE, a.x) + 0.02)
        assert a.reading == pytest.approx(a.wanted, abs=0.001)
