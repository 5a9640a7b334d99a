"""What a program's own state must be: tool, plane, spindle, speed, feed, limits, first motions."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.judge import simulate
from tests.simulate_case import SETTING, SHOP, Writer, found, good, judge, make_shop, only, quiet


def test_a_diagonal_rapid_is_found():
    w = good()
    line = w.rapid(x=21, z=1)
    assert only(judge(w), "diagonal rapid").line == line


@pytest.mark.parametrize(("spindle", "words"), [(0, "stopped"), (-1, "backward")])
def test_cutting_without_the_spindle_running_forward(spindle, words):
    w = Writer()
    w.begin()
    w.rapid(z=-3)
    w.rapid(x=8.2)
    w.set(spindle=spindle)
    w.cut(x=7.5)
    f = found(judge(w), "spindle off")[0]
    assert words in f.what
    assert f.line == w.line


def test_cutting_before_a_speed_is_set():
    w = Writer(rpm=0)
    w.begin()
    w.rapid(z=-3)
    w.rapid(x=8.2)
    w.cut(x=7.5)
    assert "speed" in found(judge(w), "spindle off")[0].what


@pytest.mark.parametrize("state", [{"feed": None}, {"feed": 0.0}, {"feed_mode": 0}])
def test_no_feed(state):
    w = Writer()
    w.begin()
    w.rapid(x=8.2)
    m = w.motions
    w.cut(x=8.1)
    m[-1] = m[-1]._replace(**state)
    assert only(quiet(judge(w)), "no feed").line == w.line


@pytest.mark.parametrize(("mode", "feed", "good_feed"), [(94, 120.0, False), (94, 5.0, False), (94, 90.0, True),
                                                        (95, 0.2, False), (95, 0.06, True), (93, 1000.0, False),
                                                        (93, 300.0, True)])  # fmt: skip
def test_feed_outside_the_lathes_range(mode, feed, good_feed):
    """600 rev/min, 0.01 to 0.15 mm/rev: 6 to 90 mm/min; 0.1 mm in 1/F minutes."""
    w = Writer(feed_mode=mode)
    w.begin()
    w.rapid(x=8.2)
    w.cut(x=8.1, feed=feed)
    s = quiet(judge(w))
    assert s.ok if good_feed else only(s, "feed").line == w.line


def test_a_speed_that_the_belt_does_not_give_is_said_once():
    w = good(Writer(rpm=900, feed=45))
    f = only(judge(w), "speed")
    assert "900" in f.what
    assert "B1 1000" in f.what
    assert judge(good(Writer(rpm=605, feed=30))).ok
    lathe = SHOP.lathe
    ranged = make_shop(spindle=replace(lathe.spindle, positions=(), slowest=100.0, fastest=950.0))
    assert judge(good(Writer(rpm=900, feed=45)), shop=ranged).ok
    assert only(judge(good(Writer(rpm=1000, feed=45)), shop=ranged), "speed")


def test_constant_surface_speed_only_where_the_lathe_can_hold_it():
    w = good(Writer(rpm=1000, surface_speed=15.0, feed_mode=95, feed=0.05))
    assert "constant surface speed" in only(judge(w), "speed").what
    able = make_shop(spindle=replace(SHOP.lathe.spindle, constant_surface_speed=True))
    assert judge(w, shop=able).ok


def test_an_arc_in_the_wrong_plane():
    w = Writer(plane=17)
    w.begin()
    w.rapid(x=9)
    line = w.arc(8.5, 0.0, (0.0, 9.0), 1)
    assert found(judge(w), "wrong plane")[0].line == line


def test_an_unknown_tool_and_no_tool_are_each_said_once():
    assert "tool 5" in found(judge(good(Writer(tool=5))), "unknown tool")[0].what
    s = judge(good(Writer(tool=0)))
    assert len(found(s, "unknown tool")) == 1
    assert "before any tool" in found(s, "unknown tool")[0].what


@pytest.mark.parametrize(
    ("standard", "system", "offset", "fine"),
    [
        ("NISTIR 6556", 1, 0, True),
        ("NISTIR 6556", 2, 0, False),
        ("NISTIR 6556", 2, 1, False),  # a length offset acts along Z alone: it does not stand in for the system
        ("EIA-274-D", 1, 1, True),
        ("EIA-274-D", 1, 2, False),
        ("EIA-274-D", 1, 0, False),
    ],
)
def test_a_tool_runs_in_its_own_system_or_with_its_own_offset(standard, system, offset, fine):
    w = good(Writer(system=system, offset=offset))
    s = simulate(w.program(standard), SETTING, SHOP)
    assert s.ok if fine else only(s, "tool offset")


def test_y_never_moves():
    w = good()
    w.motions[-1] = w.motions[-1]._replace(end=w.motions[-1].end._replace(y=3.0))
    assert only(judge(w), "Y motion").line == w.line


def test_the_tip_may_pass_the_axis_only_by_the_nose():
    w = Writer()
    w.begin()
    w.rapid(x=-0.2)
    assert not [f for f in judge(w).findings if f.kind == "outside limits"]
    w.rapid(x=-1)
    assert found(judge(w), "outside limits")[0].line == w.line


def test_feeding_past_the_settings_limit():
    w = Writer()
    w.begin()
    w.rapid(x=8.5)
    line = w.cut(z=-49.2)
    f = found(judge(w), "outside limits")[0]
    assert (f.line, f.amount) == (line, pytest.approx(0.2))


# --- first motions ------------------------------------------------------------------------------------------------


def test_the_proof_in_air_is_required_only_when_asked_for():
    w = Writer()
    w.rapid(x=20)
    w.rapid(z=0.5)
    w.spin()
    good(w)
    assert not [f for f in judge(w).findings if f.kind == "no proof"]
    assert found(judge(w, stops=True), "no proof")[0].line == 2


def test_a_spindle_that_turns_before_the_proof():
    w = Writer()
    w.spin()
    assert found(judge(good(w), stops=True), "no proof")[0].line == 1


def test_a_first_motion_of_z_is_no_proof_and_has_no_known_place():
    w = Writer()
    w.rapid(z=10)
    w.rapid(x=20)
    s = judge(w, stops=True)
    assert found(s, "no proof")[0].line == 1
    assert found(s, "unknown place")[0].line == 1


def test_x_and_z_together_from_an_unknown_place():
    w = Writer()
    w.rapid(x=20, z=1)
    assert found(judge(w), "unknown place")[0].line == 1


def test_the_first_z_motion_must_pass_over_the_work():
    w = Writer()
    w.rapid(x=7.9)
    w.stop()
    w.rapid(z=1)
    assert found(judge(w), "unknown place")[0].line == 3


def test_machine_coordinates_say_nothing_of_the_work():
    w = good()
    w.set(system=0)
    w.rapid(x=30)
    assert only(judge(w), "machine coordinates").line == w.line


def test_the_backlash_is_not_taken_up_over_a_tool_change():
    """What the slides did before another tool was touched off says nothing of where its tip stands: known again."""
    w = good()
    w.at = w.at._replace(x=math.nan, z=math.nan)
    w.rapid(x=20)
    w.rapid(z=-8)
    w.rapid(x=5.5)
    w.cut(x=5.0)
    w.cut(z=-12)
    w.cut(x=6)
    assert judge(w).ok


# --- anything at all ----------------------------------------------------------------------------------------------

number = st.integers(-300, 250).map(lambda n: n / 10)
states = st.fixed_dictionaries({}, optional={
    "plane": st.sampled_from([0, 17, 18, 19]), "feed_mode": st.sampled_from([0, 93, 94, 95]),
    "tool": st.integers(0, 3), "system": st.integers(0, 3), "rpm": st.sampled_from([0.0, 320.0, 777.0]),
    "spindle": st.sampled_from([-1, 0, 1]), "surface_speed": st.sampled_from([None, 20.0]),
})  # fmt: skip
steps = st.one_of(
    st.tuples(st.just("rapid"), number, number),
    st.tuples(st.just("cut"), number, number),
    st.tuples(st.just("x"), number, number),
    st.tuples(st.just("z"), number, number),
    st.tuples(st.just("arc"), st.floats(0.05, 6), st.floats(-7, 7)),
    st.tuples(st.just("set"), states, number),
    st.tuples(st.just("forget"), number, number),
    st.tuples(st.just("stop"), number, number),
)


def follow(steps_taken) -> Writer:
    w = Writer(spindle=1)
    for kind, a, b in steps_taken:
        if kind == "rapid":
            w.rapid(x=a, z=b)
        elif kind == "cut":
            w.cut(x=abs(a), z=b)
        elif kind == "x":
            w.rapid(x=a) if b < 0 else w.cut(x=a)
        elif kind == "z":
            w.rapid(z=a) if b < 0 else w.cut(z=a)
        elif kind == "arc" and not math.isnan(w.at.x + w.at.z):
            centre = (w.at.z + a, w.at.x)
            w.arc(centre[1] + a * math.sin(b), centre[0] - a * math.cos(b), centre, 1 if b > 0 else -1)
        elif kind == "set":
            w.set(**a)
        elif kind == "forget":
            w.at = w.at._replace(x=math.nan, z=math.nan)
        else:
            w.stop()
    return w


@given(st.lists(steps, max_size=12))
@settings(max_examples=60, deadline=None)
def test_any_program_gets_a_judgement(steps_taken):
    s = judge(follow(steps_taken), stops=True)
    assert list(s.findings) == sorted(s.findings, key=lambda f: (f.line, f.kind, f.what))
    assert s.closest == min(s.approaches, key=lambda a: a.distance, default=None)
    fixed = [a.distance for a in s.approaches if a.obstacle != "work"]
    assert s.closest_fixed is None or s.closest_fixed.distance <= min(fixed, default=math.inf)
    assert [a.line for a in s.approaches] == sorted(a.line for a in s.approaches)
    assert not s.result or (s.result[0].start.x == s.result[-1].end.x == 0)
    assert all(a.end == b.start for a, b in pairwise(s.result))
    assert all(math.isfinite(v) for f in s.findings for v in (f.amount, *(f.at or ()), *(f.tip or ())))
    assert s.gouge >= 0
    assert s.uncut >= 0
    assert s.cutting_time >= 0
    assert s.air_time >= 0


@given(st.lists(steps, max_size=10))
@settings(max_examples=25, deadline=None)
def test_judging_again_gives_the_same(steps_taken):
    w = follow(steps_taken)
    assert judge(w) == judge(w)
