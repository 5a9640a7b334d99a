"""What must never slip: each test here is for one slip that no other test noticed, found by changing the code."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Polygon

from cam.geometry.path import Line, Point
from cam.job import make_job
from cam.judge.contact import find_pairs, nearest_points, nearest_to
from cam.judge.envelope import Metal, from_chain
from cam.judge.run import _Run
from cam.judge.sweep import along_arc, find_underside
from cam.lengths.limits import _fix
from cam.plan.allowance import settle_allowance
from cam.plan.job import _check_grip_on_cone
from cam.rs274 import read_program
from cam.rs274.model import Rules
from cam.setting.model import Obstacle
from cam.shop.tool_shape import tool_bodies
from tests.simulate_case import chain
from tests.specimens import SAMPLES, drum_arbor, turning_tool

NGC = Rules(standard="NISTIR 6556", x_words="radius")
EIA = Rules(standard="EIA-274-D", x_words="radius")
HEAD = "G21 G18 G90 G94 G40 G80 G49 G54\n"


@pytest.mark.parametrize("sample", ["orrery-drum-arbor", "moon-carriage-spindle", "crank-pin", "drum-hook"])
def test_half_of_the_proof_stays_clear_of_the_work(sample: str) -> None:
    """A control that takes radius for diameter stands half way in; callipers must find it there in air."""
    job = make_job(str(SAMPLES / f"{sample}.toml"))
    for work in job.works:
        bar = max(max(s.start.x, s.end.x) for s in work.setting.stock)
        first = next(m for m in work.program.motions if m.kind == "rapid")
        assert first.end.x == pytest.approx(work.planned.proof_diameter / 2)
        assert first.end.x / 2 > bar


def test_a_tool_change_stops_the_spindle() -> None:
    """NISTIR 6556, 3.6.3: M6 ends with the spindle stopped, so a cut after it must start it again."""
    program = read_program(HEAD + "T1 M6\nS600 M3\nG0 X9 Z1\nT2 M6\nG1 X8 F9\nM2\n", NGC)
    tool, cut = (next(m for m in program.motions[3:] if m.kind == kind) for kind in ("tool", "line"))
    assert tool.spindle == cut.spindle == 0
    assert cut.rpm == 600


def test_a_tool_change_that_leaves_it_to_the_machine_is_taken_to_stop_the_spindle() -> None:
    """EIA-274-D, from memory: M06 may or may not shut off the spindle, so a cut after it must start it again."""
    head = "%\nG71\nG18 G90 G94 G40 G80\nT0101\nG97 S600 M3\nG0 X9.0\nG0 Z1.0\nG1 Z0.0 F9.0\n"
    for words, turns in (("M6", 0), ("M6 M3", 1), ("T0101 M6", 0), ("M8", 1)):
        program = read_program(f"{head}{words}\nG1 Z-1.0\nM2\n%\n", EIA)
        assert program.problems == ()
        assert [m.spindle for m in program.motions if m.kind == "line"] == [1, turns]


@given(st.floats(0.001, 0.3))
def test_two_last_cuts_are_above_the_spring_by_a_fifth(spring: float) -> None:
    part, shop = drum_arbor()
    allowance = settle_allowance(part, shop.lathe, shop.tools[0], spring)
    assert 2 * allowance.cut >= 1.2 * spring - 1e-9
    assert allowance.cut >= 1.5 * shop.tools[0].minimum_cut - 1e-9


def plan(number: int, *, ramp: bool, grip: str) -> SimpleNamespace:
    return SimpleNamespace(ramp=ramp, setting=SimpleNamespace(number=number, grip=grip, grips_extra="extra" in grip))


def test_no_carrier_grips_a_cone() -> None:
    part, _ = drum_arbor()
    extra = "the extra length beyond the square"
    for ramp, grip, count in ((True, extra, 1), (False, extra, 0), (True, "the drum body", 0)):
        plans = [plan(1, ramp=ramp, grip="stock"), plan(2, ramp=False, grip=grip)]
        found = _check_grip_on_cone(part, plans)
        assert len(found) == count
        assert all("setting 2 would grip extra length that setting 1 leaves as a cone" in p.what for p in found)
    assert _check_grip_on_cone(part, [plan(1, ramp=True, grip=extra)]) == []


@pytest.mark.parametrize(("shake", "by"), [(0.5, "0.300"), (0.05, "0.150"), (-0.1, "0.300")])
def test_a_length_must_change_by_what_it_is_off_its_aim(shake: float, by: str) -> None:
    span = SimpleNamespace(shake=SimpleNamespace(least=0.1, aim=0.2, most=0.3))
    said = SimpleNamespace(show="{:.3f}".format, between="{:.1f} to {:.1f}".format)
    words = _fix(span, shake, 0.0, (), 0.0, said)
    assert words.endswith(f"the length must change by {by}")


def test_the_depth_of_a_left_hand_cut_is_looked_for_on_its_own_side() -> None:
    """The point of a left-hand tool is on the tailstock side: its nose's lowest place lies toward the headstock."""
    stock = chain((0, 0), (0, 5), (-20.6, 5), (-20.6, 8), (-30, 8), (-30, 0))
    run = SimpleNamespace(metal=Metal(from_chain(stock)))
    left = turning_tool(number=3, hand="left")
    assert float(left.nose_radius) == 0.2
    depth = _Run._depth(run, left, Line(Point(-20.5, 7.0), Point(-19.2, 7.0)))  # type: ignore[arg-type]
    assert depth == pytest.approx(1.0)
    right = turning_tool(number=1)
    assert _Run._depth(run, right, Line(Point(-20.5, 7.0), Point(-19.2, 7.0))) == 0.0  # type: ignore[arg-type]


def test_after_g49_the_length_counts_no_more() -> None:
    """NISTIR 6556, 3.5.11: G49 takes the offset off; where Z then is, the text must say anew."""
    text = HEAD + "T1 M6\nG10 L2 P1 X0 Z10\nG43 H1\nG0 X9\nG0 Z5\nG49\nG0 X8\nG0 Z7\nG0 X7\nG53 G0 Z20\nM2\n"
    program = read_program(text, NGC)
    assert program.problems == ()
    moves = {m.line: m for m in program.motions if m.kind == "rapid"}
    assert (moves[6].offset, moves[8].offset) == (1, 0)
    assert math.isnan(moves[8].start.z)
    assert moves[10].start.z == 7
    assert moves[11].start.z == pytest.approx(17)  # 7 in the work's coordinates, the origin at 10, no length


@pytest.mark.parametrize(("turn", "word"), [(1, "G3"), (-1, "G2")])
@pytest.mark.parametrize(("dz", "dx"), [(1, 1), (-1, 1), (1, -1), (-1, -1)])
def test_an_arc_in_zx_turns_from_z_to_x(turn: int, word: str, dz: int, dx: int) -> None:
    """NISTIR 6556, 4.3.6.3, and ISO 841's right-hand rule: in G18 Z is the first axis, so G3 turns from Z toward X."""
    start = (0.0, 5.0)
    side = turn  # the centre lies to the left of the way for G3
    cz, cx = (start[0] + dz / 2 - side * dx / 2, start[1] + dx / 2 + side * dz / 2)
    head = HEAD + "T1 M6\nG0 X5 Z0\n"
    by_centre = f"{word} X{start[1] + dx} Z{start[0] + dz} I{cx - start[1]} K{cz - start[0]} F9\nM2\n"
    by_radius = f"{word} X{start[1] + dx} Z{start[0] + dz} R1 F9\nM2\n"
    for code in (by_centre, by_radius):
        program = read_program(head + code, NGC)
        assert program.problems == ()
        arc = next(m for m in program.motions if m.kind == "arc")
        assert (arc.turn, arc.plane) == (turn, 18)
        assert (arc.centre.z, arc.centre.x) == pytest.approx((cz, cx))


coordinates = st.floats(-12, 12).map(lambda v: round(v, 2))


@given(coordinates, coordinates, coordinates, coordinates)
def test_a_distance_is_negative_inside_and_positive_outside(z0: float, x0: float, z1: float, x1: float) -> None:
    """Against a geometry library: how near a tool's bodies come to a block on a straight way, or how deep in it."""
    tool = turning_tool(number=1)
    block = Obstacle(name="block", polygon=(Point(-3, 0), Point(2, 0), Point(2, 4), Point(-3, 4)))
    bodies = tool_bodies(tool)
    path = Line(Point(z0, x0), Point(z1, x1))
    (near,) = nearest_to(find_pairs(bodies, [block]), [path])
    solid = Polygon([(p.z, p.x) for p in block.polygon])
    swept = [
        MultiPoint([(p.z + z, p.x + x) for p in b.polygon for z, x in ((z0, x0), (z1, x1))]).convex_hull.buffer(b.round)
        for b in bodies
    ]
    far = min(shapely.distance(s, solid) for s in swept)
    if far > 1e-2:
        assert near.distance == pytest.approx(far, abs=1e-2)  # a buffer is a polygon
    elif max(shapely.area(shapely.intersection(s, solid)) for s in swept) > 1e-2:
        assert near.distance < 0
    on_tool, on_block = nearest_points(near)
    assert math.dist(on_tool, on_block) == pytest.approx(abs(near.distance), abs=1e-6)


@pytest.mark.parametrize("rules", [NGC, EIA])
def test_a_line_may_be_as_long_as_its_limit_and_no_longer(rules: Rules) -> None:
    """NISTIR 6556, 3.3: 256 characters."""
    units = "G21" if rules is NGC else "G71"
    for length, problems in ((256, 0), (257, 1)):
        filler = "(" + "A" * (length - 5) + ")"
        text = f"%\n{units}{filler}\nM2\n%\n"
        assert len(text.split("\n")[1]) == length
        assert len(read_program(text, rules).problems) == problems


@pytest.mark.parametrize("rules", [NGC, EIA])
def test_beside_a_line_too_long_one_at_the_limit_stands(rules: Rules) -> None:
    rows = ["(" + "A" * (length - 2) + ")" for length in (256, 257)]
    units = "G21" if rules is NGC else "G71"
    (problem,) = read_program("\n".join(["%", units, *rows, "M2", "%", ""]), rules).problems
    assert (problem.where.line, problem.given) == (4, "257 characters")


def test_a_quarter_turn_of_the_tool_leaves_its_arc_on_the_right_side() -> None:
    """A convex corner and a concave one, cut by the same points with G2 and G3."""
    body = tool_bodies(turning_tool(number=1))[0]
    under = find_underside(body.polygon, body.round)
    start, end = Point(0.0, 5.0), Point(-1.0, 6.0)
    left = {}
    for turn, centre in ((1, Point(-1.0, 5.0)), (-1, Point(0.0, 6.0))):
        metal = Metal(from_chain(chain((2, 0), (2, 8), (-3, 8), (-3, 0))))
        for sweep in along_arc(under, start, end, centre, turn, 0):
            metal.cut(sweep)
        left[turn] = metal.at(-0.3 + 0.2)
    assert left[1] > left[-1] + 0.05  # from Z toward X round (-1, 5) the tool bulges outward
