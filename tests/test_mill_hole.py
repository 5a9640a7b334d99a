"""The cross hole: what it leaves of the body, how deep, its program with cycles and long-hand, and its judge."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError, RangeError
from cam.judge.mill import simulate_mill
from cam.lengths.figures import MM
from cam.mill.cross_hole import check_cross_hole, depths_of_blind, edge_distances, engagement, net_section
from cam.mill.plan_hole import HoleTask, plan_cross_hole
from cam.moves.model import ChangeTool, Cycle, EndProgram, Index, Rapid, Stop, TurnSpindle, expand
from cam.part.milled import LEADS
from cam.part.threads import find_thread
from cam.setting.milled import CrossHole, bar
from tests.mill_case import END_MILL, FIXTURES, HERE, read, text_of

M3 = find_thread("M3")
SMALL_MILL = replace(END_MILL, number=1, name="4 mm end mill", diameter=4.0, shank_diameter=6.0, flutes=8.0)
SPOT = replace(
    END_MILL, number=2, name="spot drill", kind="spot drill", diameter=6.0, point_angle=90.0, deepest_cut=0.0
)
DRILL = replace(
    END_MILL, number=3, name="2.6 mm drill", kind="drill", diameter=2.6, shank_diameter=2.6, flutes=30.0,
    stick_out=40.0, point_angle=118.0,
)  # fmt: skip
TAP = replace(
    END_MILL,
    number=4,
    name="M3 tap",
    kind="tap",
    diameter=3.0,
    shank_diameter=3.0,
    flutes=12.0,
    stick_out=40.0,
    pitch=0.5,
)
THIN_TAP = replace(TAP, shank_diameter=2.2)
"""Its shank follows into the hole of 2.6 mm."""
TOOLS = [SMALL_MILL, SPOT, DRILL, TAP]

SECTIONS = (
    bar("back seat", -30.0, -20.0, 8.0),
    bar("drum body", -20.0, 12.0, 14.0),
    bar("front seat", 12.0, 20.0, 8.0),
)
FREE = tuple(s._replace(start=s.start - 20, end=s.end - 20) for s in FIXTURES)
TASK = HoleTask(
    name="hook hole", x=-4.0, angle=45.0, through=False, wanted=6.0, thread=M3, lead="bottoming", chips=0.5,
    counts="Any way up will do.",
    flat=(SMALL_MILL, 0.2), spot=SPOT, drill=DRILL, tap=None, rpm={1: 2000.0, 2: 2000.0, 3: 1500.0, 4: 300.0},
    feed={1: 80.0, 2: 60.0, 3: 60.0, 4: 150.0}, step=1.0, by_hand=True, sections=SECTIONS, fixtures=FREE, under=-20.0,
    rapid_clearance=0.5, contact_clearance=0.5, unit="mm", where=HERE,
)  # fmt: skip


def judged(plan, text=None, tools=TOOLS):
    program = read(text_of(plan.moves) if text is None else text)
    assert program.problems == ()
    return simulate_mill(program, plan.work, tools, clearance=0.5)


# Where tools are touched ---------------------------------------------------------------------------------------

LINE = re.compile(r"at X (-?[\d.]+)")


def touched(plan):
    """What every tool's stop says of where it is touched."""
    return [m.touch for m in plan.moves if isinstance(m, ChangeTool)]


@pytest.mark.parametrize(
    ("change", "x"),
    [
        ({}, -1.5),  # -4 and half of the flat's 4 mm and 0.5
        ({"flat": None}, -2.4),  # 0.8 of half of 2.6 and 0.5: -2.46, at the next tenth toward the tip
        ({"flat": None, "tap": TAP}, -0.7),  # half of 2.6, half of the tap's 3, and 0.5
        ({"x": 9.6}, 7.1),  # 12.1 is off the body: away from the tip
        ({"full": (-20.0, -1.2)}, -6.5),  # an edge there
    ],
)
def test_tools_are_touched_beside_all_that_is_cut(change, x):
    plan = plan_cross_hole(replace(TASK, **change))
    assert plan.touch_x == pytest.approx(x)
    assert all(float(LINE.search(t)[1]) == pytest.approx(x) for t in touched(plan))
    assert all(t.startswith("7 mm on the round") and t.endswith("beside what is cut") for t in touched(plan))


def test_a_tool_alone_is_touched_where_it_drills():
    plan = plan_cross_hole(replace(TASK, flat=None, spot=None))
    assert plan.touch_x == TASK.x
    assert touched(plan) == ["7 mm on the round"]


def test_without_room_beside_the_hole_a_slip_bridges_it():
    plan = plan_cross_hole(replace(TASK, full=(-6.6, -1.4)))
    assert math.isnan(plan.touch_x)
    assert all("slip, laid along the round over what is cut" in t for t in touched(plan))


def test_a_hole_of_any_angle_turns_nothing_and_another_says_what_its_angle_counts_from():
    assert not any(isinstance(m, Index) for m in plan_cross_hole(replace(TASK, counts="", angle=0.0)).moves)
    turns = [m for m in plan_cross_hole(TASK).moves if isinstance(m, Index)]
    assert [(t.angle, t.what, t.counts) for t in turns] == [(45.0, "place of hook hole", TASK.counts)]


# Sums ---------------------------------------------------------------------------------------------------------


def test_a_hole_right_through_by_closed_form():
    """Body 10, hole 3: the strip within 1.5 of the middle, by the formula for a segment of a circle."""
    strip = 2 * (1.5 * math.sqrt(25 - 2.25) + 25 * math.asin(0.3))
    found = net_section(10.0, 3.0)
    assert found.area == pytest.approx(1 - strip / (math.pi * 25), rel=1e-9)
    assert found.wall == pytest.approx(3.5)


def test_the_stiffness_left_by_integration_in_the_other_direction():
    """Strips laid the other way, twenty thousand of them: the same second moments."""
    radius, half, count = 5.0, 1.5, 20_000
    upright = level = 0.0
    for k in range(count):
        z = -radius + (k + 0.5) * 2 * radius / count
        wide = math.sqrt(radius**2 - z * z)
        if wide > half:
            upright += 2 * (wide - half) * z * z * 2 * radius / count
            level += 2 * (wide**3 - half**3) / 3 * 2 * radius / count
    whole = math.pi * radius**4 / 4
    assert net_section(10.0, 3.0).stiffness == pytest.approx(min(upright, level) / whole, rel=1e-4)


@given(st.floats(4, 20), st.floats(0.1, 0.9), st.floats(0.05, 0.999))
def test_a_blind_hole_takes_less_than_a_through_one(body, share, deep):
    size = share * body
    through, blind = net_section(body, size), net_section(body, size, deep * body)
    assert 0 < through.area <= blind.area + 1e-9 <= 1.000001
    assert blind.wall <= body * (1 - deep) + 1e-9
    assert net_section(body, size, body).area == pytest.approx(through.area, rel=1e-6)


def test_depths_by_hand():
    """6 mm of M3, bottoming tap: 2 * 0.5 more for its lead, 0.5 for chips; the drill's point is 0.781 long."""
    found = depths_of_blind(M3, 2.6, 118.0, 6.0, "bottoming", 0.5)
    assert found == pytest.approx((6.0, 7.0, 7.5, 7.5 + 1.3 / math.tan(math.radians(59))))
    assert engagement(M3, 6.0) == (6.0, 2.0, 12.0)
    assert set(LEADS) == {"taper", "second", "bottoming"}


HOLE = CrossHole(
    name="hook hole",
    x=-4.0,
    angle=0.0,
    diameter=2.6,
    depth=7.5,
    through=False,
    flat_depth=0.0,
    flat_size=0.0,
    where=HERE,
)


def test_edge_distances_by_hand():
    assert edge_distances(HOLE, 3.0, -20.0, 12.0) == pytest.approx((14.5, 14.5))


@pytest.mark.parametrize(
    ("change", "body", "wrong", "warned"),
    [
        ({}, 14.0, "", ""),
        ({}, 2.9, "as wide as the body", ""),
        ({"depth": 15.0}, 14.0, "does not end inside", ""),
        ({"x": 11.0}, 14.0, "runs over the end", ""),
        ({"x": 10.2}, 14.0, "", "beside the shoulder"),
        ({"through": True}, 4.5, "", "takes much of the body"),
        ({"depth": 13.8}, 14.0, "", "thin wall"),
    ],
)
def test_holes_that_cannot_be_and_weak_ones(change, body, wrong, warned):
    problems, warnings = check_cross_hole(replace(HOLE, **change), M3, body, -20.0, 12.0, HERE, MM)
    assert wrong in " ".join(map(str, problems))
    assert bool(problems) == bool(wrong)
    assert warned in " ".join(map(str, warnings))
    assert bool(warnings) == bool(warned)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: net_section(3.0, 3.0),
        lambda: net_section(10.0, 3.0, 11.0),
        lambda: depths_of_blind(M3, 2.6, 118.0, 0.0, "taper", 0.0),
        lambda: depths_of_blind(M3, 2.6, 118.0, 5.0, "blunt", 0.0),
        lambda: expand(Cycle(kind="tap", x=0, y=0, retract=1, bottom=0, step=0, feed=1)),
        lambda: expand(Cycle(kind="peck", x=0, y=0, retract=1, bottom=0, step=0, feed=1)),
    ],
)
def test_numbers_out_of_bounds(bad):
    with pytest.raises(RangeError):
        bad()


# Cycles and long-hand -----------------------------------------------------------------------------------------


def motions(text: str) -> list[tuple]:
    """What moves, with the feed of cuts, places to the nanometre; going nowhere is no motion."""
    found = []
    for m in read(text).motions:
        start, end = ([round(v, 6) + 0.0 for v in p] for p in (m.start, m.end))
        if m.kind in ("rapid", "line") and str(start) != str(end):
            found.append((m.kind, str(start), str(end), m.feed if m.kind == "line" else None, m.rpm, m.spindle))
    return found


@given(
    st.sampled_from(("drill", "peck")), st.integers(-200, 0), st.integers(1, 40), st.integers(3, 80), st.integers(-9, 9)
)
def test_every_cycle_and_its_long_hand_are_the_same_motions(kind, bottom, above, step, x):
    """As read by the standard's own rules (NISTIR 6556, 3.5.16)."""
    cycle = Cycle(
        kind=kind, x=float(x), y=0.0, retract=above / 10, bottom=bottom / 10, step=step / 10 if kind == "peck" else 0.0,
        feed=60.0,
    )  # fmt: skip
    before = [ChangeTool(tool=DRILL), Rapid(axis="z", to=9.0), TurnSpindle(rpm=900.0)]
    over = [Rapid(axis="x", to=float(x)), Rapid(axis="y", to=0.0)]
    moves = [*before, *over, cycle, Rapid(axis="z", to=9.0), EndProgram()]
    assert motions(text_of(moves)) == motions(text_of(moves, cycles=False))


@pytest.mark.parametrize(
    "change", [{}, {"step": 0.0}, {"through": True}, {"flat": None}, {"spot": None}, {"thread": None}]
)
def test_the_whole_program_is_the_same_either_way(change):
    plan = plan_cross_hole(replace(TASK, **change))
    assert motions(text_of(plan.moves)) == motions(text_of(plan.moves, cycles=False))


def test_the_reports_own_cycle_example():
    """NISTIR 6556, 3.5.16.2, example 1: at (1, 2, 3) G90 G81 G98 X4 Y5 Z1.5 R2.8; its list of moves."""
    text = "G21\nG17 G90 G94\nT1 M6\nS900 M3\nG0 X1 Y2 Z3\nG98 G81 X4 Y5 Z1.5 R2.8 F60\nG80\nM2\n"
    ends = [tuple(m.end) for m in read(text).motions if m.kind in ("rapid", "line")][1:]
    assert ends == [(4, 5, 3), (4, 5, 2.8), (4, 5, 1.5), (4, 5, 3)]


# Programs judged ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tap", [None, THIN_TAP])
@pytest.mark.parametrize("through", [False, True])
@pytest.mark.parametrize("by_hand", [False, True])
def test_a_planned_hole_is_right(tap, through, by_hand):
    plan = plan_cross_hole(replace(TASK, tap=tap, through=through, by_hand=by_hand))
    for cycles in (True, False):
        found = judged(plan, text_of(plan.moves, cycles), [SMALL_MILL, SPOT, DRILL, THIN_TAP])
        assert found.findings == ()
    stops = [m for m in plan.moves if isinstance(m, Stop)]
    tools = sum(isinstance(m, ChangeTool) for m in plan.moves)
    axis = [] if by_hand else ["prove rotary axis"]
    assert [s.reason for s in stops] == [*axis, "centre", *["prove height", "prove"] * tools, *["tap"] * (tap is None)]
    assert plan.percent is not None
    assert plan.percent.percent == pytest.approx(0.4 / M3.full * 100)


@settings(max_examples=25, deadline=None)
@given(st.floats(-15, 8), st.floats(0, 359), st.floats(3, 8), st.sampled_from((0.0, 0.4, 1.0)), st.booleans())
def test_random_holes_are_where_they_should_be(x, angle, wanted, step, through):
    plan = plan_cross_hole(
        replace(TASK, x=x, angle=round(angle, 3), wanted=wanted, step=step, through=through, tap=THIN_TAP)
    )
    assert judged(plan, tools=[SMALL_MILL, SPOT, DRILL, THIN_TAP]).findings == ()


def test_a_tap_cycle_feeds_its_pitch_for_every_turn():
    """NISTIR 6556, 3.5.16.5: 2 threads to the millimetre and F150 need S300."""
    text = text_of(plan_cross_hole(replace(TASK, tap=TAP)).moves)
    assert "G84" in text
    assert "F150.00" in text
    assert "S300 M3" in text


PLAN = plan_cross_hole(replace(TASK, tap=TAP))
TEXT = text_of(PLAN.moves)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("X-4.0000", "X-4.0500", "is not drilled"),
        ("(TURN THE WORK TO 45 DEG)", "(TURN THE WORK TO 40 DEG)", "is not drilled"),
        ("G83 X-4.0000 Y0.0000 Z-1.2811", "G83 X-4.0000 Y0.0000 Z-2.2811", "too deep"),
        ("G83 X-4.0000 Y0.0000 Z-1.2811", "G83 X-4.0000 Y0.0000 Z-1.0811", "too soon"),
        ("Z-1.2811", "Z-25.", "lies below the work"),
        ("F150.00", "F140.00", "pitch for every turn"),
        ("G84 X-4.0000 Y0.0000 Z0.0000", "G84 X-4.0000 Y0.0000 Z-0.8000", "beyond the hole's full diameter"),
        ("T3 M6\nG56", "T3 M6\nG57", "neither its own work system"),
        ("G0 Y-9.5000\nG0 Z6.8000", "G0 Y-9.5000\nG0 Z6.2000", "too deep at X"),
        ("R7.5000 Q1.0000", "R6.5000 Q1.0000", "a rapid goes through metal"),
    ],
)
def test_faults_of_a_hole_are_found(old, new, says):
    assert old in TEXT
    assert says in " | ".join(f.what for f in judged(PLAN, TEXT.replace(old, new)).findings)


def test_a_drill_dragged_and_a_tap_before_its_drill():
    after = TEXT.index("T3 M6")
    dragged = TEXT[:after] + "T3 M6\nG56\nS900 M3\nG0 Z9.\nG0 X-4.\nG0 Y-9.\nG0 Z5.\nG1 Y9. F50.\nM5\nM2\n"
    assert "dragged drill" in {f.kind for f in judged(PLAN, dragged).findings}
    tapped = TEXT[:after] + TEXT[TEXT.index("T4 M6") :]
    assert "is not drilled" in " ".join(f.what for f in judged(PLAN, tapped).findings)
    late = tapped.replace("M2\n", "") + TEXT[after : TEXT.index("T4 M6")] + "M2\n"
    assert "before the drill" in " ".join(f.what for f in judged(PLAN, late).findings)


@pytest.mark.parametrize(
    ("tool", "says"),
    [
        (replace(SPOT, flutes=0.7), "spot drill goes 1.040 mm into the hole, and reaches 0.700 mm"),
        (replace(DRILL, flutes=8.0), "2.6 mm drill goes 8.081 mm into the hole, and reaches 8.000 mm"),
        (replace(TAP, flutes=6.5), "M3 tap goes 6.800 mm into the hole, and reaches 6.500 mm"),
        (replace(THIN_TAP, shank_diameter=2.6, flutes=6.5), "M3 tap goes 6.800 mm into the hole, and reaches 6.500 mm"),
    ],
)
def test_a_program_that_takes_a_tool_in_past_its_edges_is_found(tool, says):
    """6 mm of M3 below the round, on a flat of 0.2: the drill's point ends at 8.281, the tap at 7."""
    found = judged(PLAN, tools=[tool if tool.number == t.number else t for t in TOOLS]).findings
    assert says in " | ".join(f.what for f in found)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"x": 99.0}, "off the work"),
        ({"x": 12.5}, "runs over the end"),
        ({"wanted": 13.0}, "does not end inside the body"),
        ({"wanted": 0.0}, "no depth"),
        ({"drill": SPOT}, "is no drill"),
        ({"drill": replace(DRILL, diameter=2.0, shank_diameter=2.0)}, "not the tapping drill"),
        ({"tap": replace(TAP, pitch=0.35)}, "does not cut M3"),
        ({"thread": None, "tap": TAP}, "a tap and no thread"),
        ({"lead": "long"}, "no such tap"),
        ({"rpm": {1: 1.0}}, "no speed"),
        ({"through": True, "under": -7.2}, "what lies below the work"),
        ({"drill": replace(DRILL, stick_out=8.5, flutes=8.4)}, "does not clear"),
        ({"drill": replace(DRILL, flutes=7.8)}, "2.6 mm drill does not reach"),
        ({"spot": replace(SPOT, flutes=0.7)}, "spot drill does not reach"),
        ({"flat": (replace(SMALL_MILL, flutes=0.1), 0.2)}, "4 mm end mill does not reach"),
        ({"through": True, "tap": TAP}, "M3 tap does not reach"),
        ({"through": True, "hand_tap": TAP}, "M3 tap does not reach"),
        ({"hand_tap": replace(TAP, pitch=0.35)}, "does not cut M3"),
        ({"through": True, "tap": THIN_TAP, "under": -7.9}, "what lies below the work"),
        ({"through": True, "hand_tap": THIN_TAP, "lead": "taper", "under": -10.9}, "what lies below the work"),
        ({"through": True, "lead": "taper", "under": -10.9}, "the M3 x 0.5 tap comes out into what lies below"),
    ],
)
def test_holes_that_cannot_be_made_so(change, says):
    with pytest.raises(ProblemError, match=says):
        plan_cross_hole(replace(TASK, **change))
