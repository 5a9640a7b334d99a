"""The judgement on programs written by hand, one fault at a time."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.geometry.path import Line, Point
from cam.ground.problem import Problem
from cam.judge import simulate
from cam.part.features import Edge
from cam.rs274.model import Program
from cam.shop.tool_shape import tool_bodies
from tests.simulate_case import (
    NOSE,
    OBSTACLES,
    SETTING,
    SHOP,
    WHERE,
    Writer,
    box,
    chain,
    cone,
    found,
    good,
    judge,
    make_setting,
    make_shop,
    only,
    slide,
    stepped,
    turned,
)
from tests.specimens import HERE, grooving_tool, outline, turning_tool

# --- a good program -----------------------------------------------------------------------------------------------


def test_a_good_program_is_ok_and_leaves_exactly_the_part():
    s = judge(good(), stops=True)
    assert s.findings == ()
    assert s.ok
    assert [type(p) for p in s.result] == [type(p) for p in stepped(NOSE)]
    for ours, wanted in zip(s.result, stepped(NOSE), strict=True):
        assert math.dist(ours.start, wanted.start) < 1e-7
        assert math.dist(ours.end, wanted.end) < 1e-7
    assert s.gouge == 0
    assert s.uncut == 0
    assert (s.lowest, s.highest) == (Point(-16, 4), Point(0.5, 20))


def test_every_motion_that_moves_has_its_approach_with_its_line():
    w = good()
    s = judge(w)
    moving = [m.line for m in w.motions if m.kind in ("rapid", "line") and m.start != m.end]
    assert [a.line for a in s.approaches] == moving[1:]  # the first says nothing of Z
    assert s.closest == min(s.approaches, key=lambda a: a.distance)
    assert 0 < s.closest.distance == pytest.approx(0.5)
    assert s.closest_fixed.obstacle == "centre cone"
    assert s.closest_fixed.distance > s.closest.distance
    assert all(math.dist(a.on_tool, a.on_obstacle) == pytest.approx(a.distance) for a in s.approaches)


def test_times_are_length_over_feed_and_rapids_by_the_longer_axis():
    w = Writer()
    w.begin()
    w.rapid(x=7.5)
    w.cut(z=-10.0, feed=21)
    w.cut(x=9.0, feed=60)
    s = judge(w)
    assert s.cutting_time == pytest.approx(60 * (10.5 / 21 + 1.5 / 60))
    assert s.air_time == pytest.approx(60 * 12.5 / 800)


def test_feeding_in_air_counts_as_air_and_a_dwell_too():
    w = Writer()
    w.begin()
    w.cut(x=12.0, feed=60)
    w._add("dwell", w.at, seconds=2.5)
    s = judge(w)
    assert s.cutting_time == 0
    assert s.air_time == pytest.approx(8.0 + 2.5)


def test_a_program_that_does_nothing_leaves_all_the_metal():
    s = simulate(Program(motions=(), problems=(), lines=0, comments=()), SETTING, SHOP)
    assert s.closest is None
    assert s.result == SETTING.stock
    assert {'"pivot"', '"seat"'} <= {f.what.split(" on ")[1].split(",")[0] for f in found(s, "uncut")}
    assert s.uncut == pytest.approx(4.0)


def test_other_metal_than_the_settings_can_be_given():
    thin = chain((0, 0), (0, 7), (-60, 7), (-60, 0))
    s = judge(good(), stock=thin)
    assert s.result[-2] == Line(Point(-16, 7), Point(-60, 7))


def test_a_text_that_breaks_a_rule_is_never_ok():
    problem = Problem(where=replace(WHERE, line=7), what="no such code")
    program = replace(good().program(), problems=(problem,))
    assert only(simulate(program, SETTING, SHOP), "unreadable").line == 7


# --- the metal ----------------------------------------------------------------------------------------------------


def test_a_shoulder_too_deep_is_a_gouge_of_that_depth_with_its_line():
    w = good()
    w.rapid(z=-5.0)
    w.rapid(x=4.4)
    w.cut(x=4.0)
    line = w.cut(z=-6.1)
    w.cut(x=5.3)
    w.rapid(x=20)
    s = judge(w)
    f = found(s, "gouge")[0]
    assert (f.line, f.amount) == (line, pytest.approx(0.1, abs=1e-6))
    assert 'the shoulder at the headstock end of "pivot"' in f.what
    assert s.gouge == pytest.approx(0.1, abs=1e-6)


def test_a_diameter_too_small_is_a_gouge_measured_square_to_it():
    w = good()
    w.rapid(z=-8)
    w.rapid(x=5.5)
    w.cut(x=4.993)
    line = w.cut(z=-12)
    w.cut(x=6)
    f = found(judge(w), "gouge")[-1]
    assert (f.line, f.amount) == (line, pytest.approx(0.007, abs=1e-9))
    assert 'into "seat"' in f.what
    assert "7 um" in f.what


def test_a_gouge_on_a_slope_is_measured_square_to_the_slope():
    """0.05 mm too low on a 30 degree cone is 0.05 cos 30."""
    tan = math.tan(math.radians(30))
    least = chain((0, 0), (0, 3), (-5, 3 + 5 * tan), (-60, 8), (-60, 0))
    setting = make_setting(least=least, most=least, turned=(turned("cone", 0, -5, 4, 4, corner=None),))
    w = Writer(rpm=600)
    w.begin()
    r = NOSE
    down = 0.05 - r / math.cos(math.radians(30)) + r
    w.rapid(x=9)
    w.cut(z=-4)
    w.cut(x=3 - (-4 + r) * tan - down)
    line = w.cut(x=3 - (1 + r) * tan - down, z=1.0)
    slope = next(f for f in found(judge(w, setting), "gouge") if f.line == line)
    assert slope.amount == pytest.approx(0.05 * math.cos(math.radians(30)), abs=2e-6)


def test_within_a_micrometre_there_is_nothing_to_find():
    w = good()
    w.rapid(z=-5.0)
    w.rapid(x=4.4)
    w.cut(x=3.9991)
    w.cut(z=-6.0009)
    w.cut(x=5.3)
    s = judge(w)
    assert s.findings == ()
    assert s.gouge == pytest.approx(0.0009, abs=1e-9)


def test_what_is_left_standing_names_the_section_or_the_shoulder():
    w = Writer()
    w.begin()
    for x in (7.3, 6.6, 5.9, 5.2):
        w.level(x, -15.95, 8.2)
    w.level(4.6, -6, 5.3)
    w.level(5.0, -15.95, 8.2, start=-5.3)
    w.level(4.01, -6, 5.3)
    s = judge(w)
    pivot, seat = found(s, "uncut")
    assert pivot.line == seat.line == 0
    assert pivot.amount == pytest.approx(0.01, abs=1e-9)
    assert 'on "pivot"' in pivot.what
    assert seat.amount == pytest.approx(0.05, abs=1e-6)
    assert 'the shoulder at the headstock end of "seat"' in seat.what
    assert s.uncut == seat.amount


def test_a_fillet_larger_than_allowed_is_left_uncut():
    shop = make_shop(tools=(turning_tool(number=1, nose_radius=0.4),))
    s = judge(good(), shop=shop)
    uncut_faults = found(s, "uncut")
    corner = (0.4 - 0.25) * (math.sqrt(2) - 1)
    assert uncut_faults[0].amount == pytest.approx(corner, rel=0.02)


@pytest.mark.parametrize(
    "thin", [((0, 4.9), (-10, 4.9)), ((0, 8), (-6, 8), (-6, 4.9), (-16, 4.9))], ids=["on two sections", "all of one"]
)
def test_stock_that_is_too_small_is_nobodys_line(thin):
    s = judge(good(), stock=chain((0, 0), *thin, (thin[-1][0], 8), (-60, 8), (-60, 0)))
    f = only(s, "gouge")
    assert f.line == 0
    assert "already" in f.what


def test_what_the_setting_before_made_is_not_this_ones():
    """Its face, short by what a program rounds, joined a cut as deep as one may be: 100 um were said to be missing."""
    piece = turned("body", 0, -6 - 1e-15, 4, 4, far_kind="open", corner=None)
    least = chain((0, 0), (0, 4), (-6, 4), (-6, 3.7), (-6.2, 3.5), (-60, 3.5), (-60, 0))
    left = chain((0, 0), (0, 5), (-6 + 8e-5, 5), (-6 + 8e-5, 3.5), (-60, 3.5), (-60, 0))
    setting = make_setting(turned=(piece,), stock=least, least=least, most=least, obstacles=())
    w = Writer()
    w.begin()
    w.level(3.9999, -6.5, 5)
    assert not [f.what for f in judge(w, setting=setting, stock=left).findings if f.kind == "gouge"]


@pytest.mark.parametrize(("z", "kind"), [(-6.5, "rapid in metal"), (-5.9, None)])
def test_a_rapid_into_metal_is_found_and_one_that_stops_short_is_not(z, kind):
    w = good()
    w.rapid(z=1.0)
    w.rapid(x=4.1)
    line = w.rapid(z=z)
    w.rapid(x=20)
    s = judge(w)
    if kind is None:
        assert s.ok
    else:
        f = found(s, kind)[0]
        assert f.line == line
        assert f.amount == pytest.approx(0.5, abs=0.03)  # the fillet counts in


@pytest.mark.parametrize(("over", "lags"), [(-20.0, True), (-10.0, False)])
def test_a_rapid_into_metal_where_the_slide_lags_is_found(over, lags):
    """It comes in 0.03 beside the shoulder, and the slide that came from the headstock is 0.05 behind."""
    w = good()
    w.rapid(x=20)
    w.rapid(z=over)
    w.rapid(z=-15.97)
    line = w.rapid(x=6)
    w.rapid(x=20)
    s = judge(w)
    assert s.ok is not lags
    for f in found(s, "rapid in metal") if lags else ():
        assert f.line == line
        assert f.amount == pytest.approx(0.02, abs=1e-3)
        assert "as a slide lags" in f.what


def test_a_rapid_through_the_pivot_says_how_deep():
    w = good()
    w.rapid(z=-3)
    line = w.rapid(x=3.5)
    f = found(judge(w), "rapid in metal")[0]
    assert f.line == line
    assert f.amount == pytest.approx(0.5, abs=1e-9)
    assert "500" in f.what or "0.500 mm" in f.what


def test_the_depth_of_cut_is_held_against_the_tool():
    w = Writer()
    w.begin()
    line = w.level(7.0, -15.9, 8.2)
    f = found(judge(w), "too deep")[0]
    assert (f.line, f.amount) == (line, pytest.approx(1.0))
    w = Writer()
    w.begin()
    w.level(7.25, -15.9, 8.2)
    assert not [f for f in judge(w).findings if f.kind == "too deep"]


def test_facing_a_free_end_leaves_no_pip():
    setting = make_setting(stock_end_z=0.6, face_end=True, obstacles=OBSTACLES[4:],
                           stock=chain((0.6, 0), (0.6, 8), (-60, 8), (-60, 0)))  # fmt: skip
    w = Writer()
    w.rapid(x=20)
    w.stop()
    w.rapid(z=2)
    w.spin()
    w.rapid(z=0)
    w.rapid(x=8.5)
    face = w.cut(x=-NOSE)
    w.cut(z=0.1)
    w.rapid(x=20)
    good_w = good(w)
    s = judge(good_w, setting)
    assert s.ok
    assert s.result[0] == Line(Point(0, 0), Point(0, 4))
    short = replace_motion(good_w, face, x=0.0)
    left = found(judge(short, setting), "uncut")[0]
    assert "the end" in left.what
    assert judge(replace_motion(good_w, face, x=-0.4), setting).findings[0].kind == "outside limits"


def replace_motion(writer: Writer, line: int, **change: float) -> Writer:
    """The same program with the end of one motion moved, and the start of the next."""
    copy = Writer()
    copy.motions = list(writer.motions)
    m = copy.motions[line - 1]
    copy.motions[line - 1] = m._replace(end=m.end._replace(**change))
    after = copy.motions[line]
    copy.motions[line] = after._replace(start=after.start._replace(**change))
    copy.at = writer.at
    return copy


def test_drawing_the_tool_back_along_the_work_is_found():
    w = Writer()
    w.begin()
    w.rapid(x=7.5)
    w.cut(z=-10.0)
    line = w.rapid(z=0.5)
    f = found(judge(w), "rubbing")[0]
    assert f.line == line
    w = Writer()
    w.begin()
    w.rapid(x=7.5)
    w.cut(z=-10.0)
    w.cut(x=7.51)
    w.rapid(z=0.5)
    assert not [f for f in judge(w).findings if f.kind == "rubbing"]


# --- shoulders and backlash ------------------------------------------------------------------------------------


def test_a_shoulder_that_is_not_faced_leaves_what_the_leaning_edge_left():
    w = good()
    last = len(w.motions) - 2  # the facing motion of the pivot's shoulder
    assert w.motions[last].kind == "line"
    w.motions[last] = w.motions[last]._replace(kind="rapid")
    s = judge(w)
    f = found(s, "unfaced shoulder")[0]
    height = 1.0 - NOSE
    assert f.amount == pytest.approx((height - 0.004) * math.tan(math.radians(3)), abs=1e-4)
    assert f.line == last  # the cut along Z that made the shoulder
    assert [g.line for g in found(s, "rapid in metal")] == [last + 1]


def test_a_tool_with_an_upright_edge_needs_no_facing():
    shop = make_shop(tools=(turning_tool(number=1, approach=90.0),))
    w = good()
    last = len(w.motions) - 2
    w.motions[last] = w.motions[last]._replace(kind="rapid")
    assert judge(w, shop=shop).ok


def test_a_diameter_must_be_left_after_x_moved_inward_by_the_backlash():
    w = good()
    w.rapid(z=-8)
    w.rapid(x=5.5)
    w.rapid(x=5.53)
    w.rapid(x=5.5)
    w.cut(x=4.9999)
    w.cut(x=5.02)
    w.cut(x=4.9995)
    line = w.cut(z=-12)
    s = judge(w)
    plunge, f = found(s, "backlash")
    assert (plunge.line, f.line) == (line - 1, line)
    assert '"seat"' in f.what
    assert "inward only 0.02" in f.what
    assert judge(w, shop=make_shop(x=slide(0.02))).ok


def test_a_contour_cut_outward_is_backlash_on_the_taper():
    tan = math.tan(math.radians(2))
    least = chain((0, 0), (0, 6), (-10, 6 + 10 * tan), (-60, 8), (-60, 0))
    taper = replace(turned("taper", 0, -10, 6, 6, corner=None, far_kind="open"), radius_far=6 + 10 * tan)
    setting = make_setting(least=least, most=least, turned=(taper,))
    shift = NOSE * (math.cos(math.radians(2)) - 1), NOSE * (math.sin(math.radians(2)) - 1)

    def tip(z: float) -> tuple[float, float]:
        return 6 - z * tan + shift[0], z + shift[1]

    w = Writer()
    w.begin()
    w.rapid(x=8.5)
    w.cut(x=tip(0.5)[0])
    w.cut(z=tip(0.5)[1])
    line = w.cut(x=tip(-9.9)[0], z=tip(-9.9)[1])
    f = found(judge(w, setting), "backlash")[0]
    assert f.line == line
    assert "outward" in f.what
    w = Writer()
    w.begin()
    w.rapid(x=9)
    w.rapid(z=tip(-9.9)[1])
    w.cut(x=tip(-9.9)[0])
    w.cut(x=tip(0.5)[0], z=tip(0.5)[1])
    assert not [f for f in judge(w, setting).findings if f.kind == "backlash"]


def test_a_face_must_be_cut_after_z_moved_headward_by_the_backlash():
    w = good()
    w.rapid(z=-5.9)
    w.rapid(x=5.5)
    w.rapid(z=-5.97)
    w.rapid(z=-5.96)
    w.cut(z=-6.0)
    line = w.cut(x=4.2)
    s = judge(w)
    f = only(s, "backlash")
    assert f.line == line
    assert "Z has moved toward the headstock only 0.040 mm" in f.what
    assert judge(w, shop=make_shop(z=slide(0.04))).ok


def test_a_chamfer_cut_inward_is_right_and_cut_outward_is_not():
    edge = Edge(kind="chamfer", size=0.3, text="chamfer 0.3 mm", where=HERE)
    part = (turned("pivot", 0, -6, 4, 5, edge=edge), SETTING.turned[1])
    least, most = (chamfered(stepped(fillet)) for fillet in (0, 0.25))
    setting = make_setting(turned=part, least=least, most=most)
    shift = NOSE * (math.sqrt(0.5) - 1)

    def tip(u: float) -> dict[str, float]:
        return {"x": 4 + u + shift, "z": -0.3 - u + shift}

    for play in (0.05, 0.0):  # told further by what Z stays behind on its way to the tailstock, or not
        inward = good()
        inward.rapid(z=tip(0.2)["z"] - 0.05)
        inward.rapid(z=tip(0.2)["z"] + play)
        inward.rapid(x=5)
        inward.cut(x=tip(0.2)["x"])
        line = inward.cut(x=tip(-0.45)["x"], z=tip(-0.45)["z"] + play)
        if play:
            assert judge(inward, setting).ok
            continue
        findings = judge(inward, setting).findings
        assert {(f.kind, f.line) for f in findings} == {("gouge", line)}
        assert all(f.amount == pytest.approx(0.05 * math.sqrt(0.5), abs=1e-6) for f in findings)
        assert all("as the slides' backlash carries it out" in f.what for f in findings)
        assert judge(inward, setting, shop=make_shop(z=slide(0.0))).ok
    outward = good()
    outward.rapid(z=tip(-0.45)["z"])
    outward.rapid(x=5)
    outward.cut(x=tip(-0.45)["x"])
    line = outward.cut(**tip(0.2))
    assert only(judge(outward, setting), "backlash").line == line


def chamfered(outline_wanted):
    """The same with a chamfer of 0.3 mm at the end of the pivot."""
    cylinder = outline_wanted[1]
    return (*chain((0, 0), (0, 3.7), (-0.3, 4)), Line(Point(-0.3, 4), cylinder.end), *outline_wanted[2:])


def test_a_undercut_is_cut_by_the_grooving_tool_in_its_own_system():
    corner = replace(SETTING.turned[1].corner, kind="undercut", radius=0.0, width=1.0, depth=0.2)
    part = (SETTING.turned[0], turned("seat", -6, -16, 5, 8, corner=corner))
    least = chain((0, 0), (0, 4), (-6, 4), (-6, 5), (-15, 5), (-15, 4.8), (-16, 4.8), (-16, 8), (-60, 8), (-60, 0))
    groove = chain((-6, 5), (-15, 5), (-15, 4.9), (-15.1, 4.8), (-15.9, 4.8), (-16, 4.9), (-16, 8), (-60, 8), (-60, 0))
    most = (*stepped(0.25)[:3], *chain((-6, 4.25), (-6, 5)), *groove)
    setting = make_setting(turned=part, least=least, most=most)
    w = good()
    w.spin(0)
    w.set(tool=2, system=2)
    w.at = w.at._replace(x=math.nan, z=math.nan)
    w.rapid(x=20)
    w.rapid(z=-15)
    w.spin()
    w.rapid(x=5.5)
    w.cut(z=-16, feed=12)
    w.cut(x=4.8, feed=12)
    w.cut(x=5.5, feed=12)
    s = judge(w, setting)
    assert s.ok, s.findings
    assert not [f for f in judge(w).findings if f.kind != "gouge"]


# --- contact ------------------------------------------------------------------------------------------------------


def test_a_start_two_millimetres_off_the_end_runs_into_the_cone():
    w = Writer()
    w.begin()
    w.rapid(z=2.0)
    line = w.rapid(x=2.0)
    f = found(judge(w), "contact")[0]
    assert f.line == line
    assert f.obstacle == "centre cone"
    a = math.radians(30)  # the nose disk is deepest along the cone's normal
    assert f.amount == pytest.approx(NOSE - (2 + NOSE - 1) * math.cos(a) + (2 + NOSE) * math.sin(a), abs=1e-9)
    assert "into the centre cone" in f.what


def test_too_near_is_found_below_the_clearance_and_not_at_it():
    block = box("block", 5, 9, 0, 60)
    setting = make_setting(obstacles=(block,))
    bare = make_shop(tools=(turning_tool(number=1),))
    reach = max(p.z for p in core(turning_tool(number=1))) + NOSE
    for gap, clear in ((0.1001, True), (0.0999, True), (0.0998, False), (-0.25, False)):  # inches round by 0.13 um
        w = Writer()
        w.rapid(x=20)
        w.stop()
        w.rapid(z=5 - gap - reach)
        s = judge(w, setting, bare)
        assert s.closest.distance == pytest.approx(gap, abs=1e-9)
        contacts = [f for f in s.findings if f.kind == "contact"]
        assert bool(contacts) is not clear
        if contacts:
            assert contacts[0].amount == pytest.approx(max(-gap, 0), abs=1e-9)
            assert ("must stay clear" in contacts[0].what) is (gap > 0)


def core(tool):
    return tool_bodies(tool)[0].polygon


def test_a_holder_in_the_work_is_found():
    ahead = outline("clumsy head", (-3, 0.5), (-1, 0.5), (-1, 25), (-3, 25))
    shop = make_shop(tools=(turning_tool(number=1, outlines=(ahead,)),))
    for x, hits in ((7.6, False), (7.3, True)):
        w = Writer()
        w.begin()
        line = w.level(x, -10, 8.2)
        contacts = [f for f in judge(w, shop=shop).findings if f.kind == "contact"]
        assert bool(contacts) is hits
    assert (contacts[0].line, contacts[0].obstacle) == (line - 1, "work")
    assert contacts[0].amount == pytest.approx(0.2)
    assert "clumsy head" in contacts[0].what


def test_a_holder_beside_the_work_counts_as_an_approach():
    head = outline("head", (0.5, 0.3), (5, 0.3), (5, 25), (0.5, 25))
    shop = make_shop(tools=(turning_tool(number=1, outlines=(head,)),))
    w = Writer()
    w.begin()
    w.rapid(x=8.5)
    w.cut(x=7.5)
    line = w.cut(z=-10)
    s = judge(w, shop=shop)
    near = next(a for a in s.approaches if a.line == line)
    assert (near.obstacle, near.body, near.distance) == ("work", "head", pytest.approx(0.3))


def test_retreating_from_a_cut_is_no_approach_to_the_work():
    w = Writer()
    w.begin()
    w.rapid(x=8)
    w.cut(x=7.5)
    w.cut(z=-10)
    line = w.rapid(x=12)
    s = judge(w)
    assert next(a for a in s.approaches if a.line == line).obstacle != "work"


def test_a_rapid_that_ends_on_the_metal_comes_within_nothing_of_it():
    w = Writer()
    w.begin()
    w.rapid(z=-3)
    line = w.rapid(x=8)
    s = judge(w)
    assert s.closest.line == line
    assert s.closest.distance == pytest.approx(0, abs=1e-12)
    assert not [f for f in s.findings if f.kind == "rapid in metal"]


@pytest.mark.parametrize("short", [0.0, 1e-5, 2e-4])
def test_at_the_end_of_the_bar_nothing_stands_beside_a_rapid_out(short):
    """The arc of a round on it, as its digits put it, left a film of 7 nm: 9 um were said to be in the way."""
    w = Writer()
    w.begin()
    w.rapid(z=-0.5)
    w.rapid(x=8.5)
    w.cut(x=8.0)
    w.arc(7.5, 0.0, (-0.5 - short, 7.5), -1)
    w.rapid(x=20)
    assert not [f.what for f in judge(w).findings if f.kind == "rapid in metal"]


# --- laws ---------------------------------------------------------------------------------------------------------


@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3))
@settings(max_examples=25, deadline=None)
def test_gouge_is_what_was_put_in(radial, axial):
    """A pivot cut too small and a shoulder too deep, by any amounts: the greater is the gouge.

    Where both are larger than the nose, its arc reaches further still from the sharp corner wanted.
    """
    w = good()
    w.rapid(z=-1.0)
    w.rapid(x=4.4)
    w.cut(x=4.0 - radial)
    w.cut(z=-6.0 - axial)
    w.cut(x=5.3)
    s = judge(w)
    corner = math.hypot(radial - NOSE, axial - NOSE) + NOSE if min(radial, axial) > NOSE else 0.0
    assert s.gouge == pytest.approx(max(radial, axial, corner), abs=2e-6)
    assert bool([f for f in s.findings if f.kind == "gouge"]) is (s.gouge > 1e-3)


@given(st.floats(1.5, 7.0), st.floats(0.05, 5.0))
@settings(max_examples=25, deadline=None)
def test_the_cone_is_as_far_as_geometry_says(x, z):
    """The nose disk's distance to a 60 degree cone whose side passes (0, 1): by the line's normal."""
    setting = make_setting(obstacles=(cone(0, 2, 60),))
    bare = make_shop(tools=(turning_tool(number=1, shape="R", included=0.0, approach=90.0, edge=1.0),))
    w = Writer()
    w.rapid(x=40)
    w.rapid(z=z)
    w.cut(x=x)
    s = judge(w, setting, bare)
    a = math.radians(30)
    expected = (x + NOSE - 1) * math.cos(a) - (z + NOSE) * math.sin(a) - NOSE
    if expected > 0:
        assert s.closest_fixed.distance == pytest.approx(expected, abs=1e-9)
    else:
        assert s.closest_fixed.distance <= 1e-9


def test_a_left_hand_tool_is_the_mirror_image():
    left = make_shop(tools=(turning_tool(number=1, hand="left"),), z=slide(0.0))
    w = Writer()
    w.begin()
    w.rapid(z=-30)
    w.rapid(x=8)
    w.cut(x=7.5)
    w.cut(z=-20)
    w.cut(x=8.5)
    s = judge(w, shop=left)
    floor = next(p for p in s.result if isinstance(p, Line) and p.start.x == p.end.x == 7.5)
    assert (floor.start.z, floor.end.z) == (pytest.approx(-20.2), pytest.approx(-30.2))


def test_a_grooving_tools_width_and_corners_are_cut():
    shop = make_shop(tools=(grooving_tool(number=1, width=2.0, nose_radius=0.3),))
    w = Writer(rpm=320, feed=6)
    w.begin()
    w.rapid(z=-30)
    w.rapid(x=8.2)
    w.cut(x=7)
    s = judge(w, shop=shop)
    floor = next(p for p in s.result if isinstance(p, Line) and p.start.x == p.end.x == 7)
    assert (floor.start.z, floor.end.z) == (pytest.approx(-28.3), pytest.approx(-29.7))
    arcs = [p for p in s.result if not isinstance(p, Line)]
    assert [a.radius for a in arcs] == [pytest.approx(0.3)] * 2
