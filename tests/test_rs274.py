"""Program text read by NISTIR 6556's own rules, held against the report's own examples.

NIST stands for T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, NISTIR 6556, 2000.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise, product

import pytest

from cam.ground.problem import Problem
from cam.rs274 import Motion, Position, Program, Rules, read_program
from cam.rs274.expressions import read_value

NGC = Rules(standard="NISTIR 6556", x_words="radius")
START = "G21\nG17 G40 G49 G80 G90 G94\n"
"""Two lines that say all that a text must say of itself."""


def read(*lines: str, start: str = START, rules: Rules = NGC) -> Program:
    """Read lines after the usual start, with an end."""
    return read_program(start + "\n".join(lines) + "\nM2\n", rules)


def good(*lines: str, start: str = START, rules: Rules = NGC) -> tuple[Motion, ...]:
    """Motions of lines that must have no problem, but for the end."""
    program = read(*lines, start=start, rules=rules)
    assert not program.problems, "\n".join(str(p) for p in program.problems)
    assert program.motions[-1].kind == "end"
    return program.motions[:-1]


def bad(*lines: str, start: str = START, rules: Rules = NGC) -> Problem:
    """The only problem of lines that must have one."""
    program = read(*lines, start=start, rules=rules)
    assert len(program.problems) == 1, program.problems
    return program.problems[0]


def moves(*lines: str, start: str = START) -> list[tuple[str, float, float, float]]:
    """Kind and end of each motion."""
    return [(m.kind, *(round(v, 6) for v in m.end)) for m in good(*lines, start=start)]


def sweep(arc: Motion) -> float:
    """Degrees that an arc turns through, seen from the positive end of the third axis; a full circle is 360."""
    assert arc.centre is not None
    first, second = {17: (0, 1), 18: (2, 0), 19: (1, 2)}[arc.plane]
    angles = [math.atan2(p[second] - arc.centre[second], p[first] - arc.centre[first]) for p in (arc.start, arc.end)]
    turned = math.degrees(angles[1] - angles[0]) * arc.turn % 360
    return turned or 360.0


# Arcs


def test_table_10_gives_the_arc_by_r_that_the_report_prints() -> None:
    # NIST Table 10, printed to 4 decimals: centre (1.5000, 7.8476), turn -1, end z 0.5
    arc = good("G0 X3 Y1 Z0", "g2 x[6-[4*3/2]] r 7.01 z0.5 F100")[-1]
    assert arc.kind == "arc"
    assert arc.turn == -1
    assert arc.end == Position(0, 1, 0.5)
    assert arc.centre == pytest.approx((1.5, 7.8476, 0), abs=5e-5)
    assert sweep(arc) == pytest.approx(24.711, abs=5e-4)  # by Pythagoras from the same figures


def test_centre_form_of_3_5_3_2() -> None:
    arc = good("G0 X7 Y7 Z0", "G17 G2 x10 y16 i3 j4 z9 F100")[-1]
    assert arc.centre == Position(10, 11, 0)
    assert math.dist(arc.start[:2], arc.centre[:2]) == 5
    assert arc.end == Position(10, 16, 9)


def test_radius_form_of_3_5_3_1() -> None:
    arc = good("G0 X0 Y0 Z0", "G17 G2 x10 y15 r20 z5 F100")[-1]
    assert arc.centre is not None
    assert math.dist(arc.start[:2], arc.centre[:2]) == pytest.approx(20)
    assert math.dist(arc.end[:2], arc.centre[:2]) == pytest.approx(20)
    assert sweep(arc) < 180


def test_negative_r_turns_more_than_half_a_circle() -> None:
    short, long = (good("G0 X0 Y0", f"G3 X10 Y0 R{r} F100")[-1] for r in ("7", "-7"))
    assert sweep(short) < 180 < sweep(long)
    assert sweep(short) + sweep(long) == pytest.approx(360)  # the same circle mirrored in the chord
    assert short.centre is not None
    assert long.centre is not None
    assert short.centre.y == -long.centre.y > 0  # G3 going +X by the short way: the centre is on the left


def test_the_outside_contour_of_table_12() -> None:
    # NIST Appendix B, Table 12: all arcs have radius 1, that of N0080 about (-2, -1)
    motions = good(
        "G0 X1 Y5", "G1 X1 Y4 F100", "G3 X2 Y3 I1", "G2 X3 Y2 J-1", "G1 Y-1", "G2 X2 Y-2 I-1", "G1 X-2",
        "G2 X-2.6 Y-0.2 J1", "G1 X1.4 Y2.8", "G2 X2 Y3 I0.6 J-0.8",
    )  # fmt: skip
    arcs = [m for m in motions if m.kind == "arc"]
    assert len(arcs) == 5
    for arc in arcs:
        assert arc.centre is not None
        assert math.dist(arc.start[:2], arc.centre[:2]) == pytest.approx(1)
    assert arcs[3].centre is not None
    assert arcs[3].centre[:2] == (-2, -1)
    assert motions[-1].end[:2] == (2, 3)


@pytest.mark.parametrize(
    ("start", "line", "centre", "degrees"),
    [  # NIST Appendix C.1; angles by trigonometry from the report's figures
        ((16, 2.5), "g3 x13.5 y0 i-2.5", (13.5, 2.5), 270),
        ((32.5, 0), "g2 x32.5 j2.5", (32.5, 2.5), 360),
        ((64, 4), "g2 x69 r4", (66.5, 0.8775), 77.364),
        ((79.5, 0), "g2 j2.5 y5", (79.5, 2.5), 180),
    ],
)
def test_arcs_of_appendix_c_1(
    start: tuple[float, float], line: str, centre: tuple[float, float], degrees: float
) -> None:
    arc = good(f"G0 X{start[0]} Y{start[1]}", f"{line} F100")[-1]
    assert arc.centre is not None
    assert arc.centre[:2] == pytest.approx(centre, abs=5e-5)
    assert sweep(arc) == pytest.approx(degrees, abs=5e-4)


def test_in_g18_g3_turns_plus_z_toward_plus_x() -> None:
    # NIST 4.3.6.3: the plane's first axis is Z, then X, seen from +Y
    arc = good("G18", "G0 X0 Z1", "G3 X1 Z0 K-1 F100")[-1]
    assert arc.centre == (0, pytest.approx(math.nan, nan_ok=True), 0)
    assert arc.turn == 1
    assert sweep(arc) == pytest.approx(90)


@pytest.mark.parametrize(
    ("at", "line", "turn", "centre"),
    [  # turning toward the headstock: outside corner G3, inside fillet G2 (follows from NIST 4.3.6.3)
        ("X4 Z0", "G3 X5 Z-1 I0 K-1", 1, (4, -1)),
        ("X4 Z-9", "G2 X5 Z-10 I1 K0", -1, (5, -9)),
    ],
)
def test_corner_and_fillet_of_a_shoulder(at: str, line: str, turn: int, centre: tuple[float, float]) -> None:
    arc = good("G18", f"G0 {at}", f"{line} F100")[-1]
    assert arc.centre is not None
    assert (arc.centre.x, arc.centre.z) == centre
    assert arc.turn == turn
    assert sweep(arc) == pytest.approx(90)


def test_g19_is_the_plane_of_j_and_k() -> None:
    arc = good("G19", "G0 X1 Y1 Z0", "G3 X5 Y0 Z1 J-1 F100")[-1]
    assert arc.centre == Position(1, 0, 0)
    assert sweep(arc) == pytest.approx(90)
    assert arc.end.x == 5  # along as a helix


def test_offsets_of_the_centre_are_steps_whatever_g90_says() -> None:
    # NIST 3.5.17
    absolute = good("G0 X7 Y7", "G90 G2 X10 Y16 I3 J4 F100")[-1]
    stepped = good("G0 X7 Y7", "G91 G2 X3 Y9 I3 J4 F100")[-1]
    assert (absolute.end, absolute.centre) == (stepped.end, stepped.centre)


def test_radii_may_differ_by_two_thousandths_of_a_millimetre() -> None:
    # NIST 3.5.3.2: 0.002 mm, 0.0002 inch; the pair is ours: 0.00002 and 0.003 apart
    good("G0 X0 Y0", "G2 X20 Y0.02 I10 F100")
    problem = bad("G0 X0 Y0", "G2 X20.003 Y0 I10 F100")
    assert (problem.where.line, problem.where.column) == (4, 1)
    assert problem.given == "radius 10.0000 at the start, 10.0030 at the end"
    assert problem.allowed == "0.0020 apart at most"


def test_radii_may_differ_by_two_tenths_of_a_thou() -> None:
    good("G0 X0 Y0", "G2 X2.00019 Y0 I1 F10", start="G20\n")
    assert bad("G0 X0 Y0", "G2 X2.00021 Y0 I1 F10", start="G20\n").allowed == "0.0002 apart at most"


# Cycles


AT_123 = ("G0 X1 Y2 Z3", "F100")


def test_g81_absolute() -> None:
    # NIST 3.5.16.2, first example; its prose says that clear Z is 2.8, its list of moves ends at 3, which is right
    assert moves(*AT_123, "G90 G81 G98 X4 Y5 Z1.5 R2.8")[1:] == [
        ("rapid", 4, 5, 3), ("rapid", 4, 5, 2.8), ("line", 4, 5, 1.5), ("rapid", 4, 5, 3),
    ]  # fmt: skip


def test_g81_incremental_three_times() -> None:
    # NIST 3.5.16.2, second example
    wanted = [("rapid", 1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        wanted += [("rapid", x, y, 4.8), ("line", x, y, 4.2), ("rapid", x, y, 4.8)]
    assert moves(*AT_123, "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3")[1:] == wanted


def test_the_cycle_of_table_10() -> None:
    # NIST Table 10
    assert moves("G0 X30 Y1 Z-0.5", "F100", "g91 g81 x3 y2 z-0.8 r1.5 l2")[1:] == [
        ("rapid", 30, 1, 1), ("rapid", 33, 3, 1), ("line", 33, 3, 0.2), ("rapid", 33, 3, 1),
        ("rapid", 36, 5, 1), ("line", 36, 5, 0.2), ("rapid", 36, 5, 1),
    ]  # fmt: skip


def test_r_and_depth_hold_on_and_l_does_not() -> None:
    # NIST 3.5.16
    lines = ("G81 G99 X4 Y5 Z1.5 R2.8 L2", "X6")
    assert moves(*AT_123, *lines)[-3:] == [("rapid", 6, 5, 2.8), ("line", 6, 5, 1.5), ("rapid", 6, 5, 2.8)]


def test_g82_dwells_at_the_bottom() -> None:
    motions = good(*AT_123, "G82 G99 X4 Y5 Z1 R2 P1.5")[1:]
    assert [m.kind for m in motions] == ["rapid", "rapid", "line", "dwell", "rapid"]
    assert motions[3].seconds == 1.5


def test_g83_goes_in_by_steps_and_out_to_the_clear_level() -> None:
    # NIST 3.5.16.4; how far it backs off is from memory, so only that it stays above the last bottom is checked
    motions = good(*AT_123, "G83 G99 X4 Y5 Z0 R2 Q0.9")[3:]
    lines = [m.end.z for m in motions if m.kind == "line"]
    assert lines == pytest.approx([1.1, 0.2, 0.0])
    outs = [m.end.z for m in motions if m.kind == "rapid"]
    assert outs[0::2] == [2, 2, 2]
    for back, bottom in zip(outs[1::2], lines, strict=False):
        assert bottom < back < bottom + 0.5


def test_g84_turns_the_spindle_back_at_the_bottom() -> None:
    # NIST 3.5.16.5: 2 threads a millimetre at S300 want F150
    motions = good("G0 X1 Y2 Z3", "S300 M3 F150", "G84 G99 X4 Y5 Z0 R2")[2:]
    assert [(m.kind, m.spindle, m.end.z) for m in motions] == [
        ("rapid", 1, 3), ("rapid", 1, 2), ("line", 1, 0), ("spindle", -1, 0), ("line", -1, 2), ("spindle", 1, 2),
    ]  # fmt: skip
    assert motions[2].feed == motions[2].rpm / 2


@pytest.mark.parametrize(
    ("line", "kinds"),
    [  # NIST 3.5.16.6 to 3.5.16.9
        ("G85", ["line", "line"]),
        ("G86 P1", ["line", "dwell", "spindle", "rapid", "spindle"]),
        ("G88 P1", ["line", "dwell", "spindle", "stop", "spindle"]),
        ("G89 P1", ["line", "dwell", "line"]),
    ],
)
def test_boring_cycles(line: str, kinds: list[str]) -> None:
    motions = good("G0 X1 Y2 Z3", "S300 M4 F150", f"{line} G99 X4 Y5 Z0 R2", "G80")[4:]
    assert [m.kind for m in motions] == kinds
    assert motions[-1].spindle == -1
    assert motions[-1].end == Position(4, 5, 2)


def test_g87_bores_back() -> None:
    # NIST 3.5.16.8; the meaning of its words is from memory
    motions = good("G0 X1 Y2 Z3", "S300 M3 F150", "G87 G99 X4 Y5 Z0 R2 I-0.5 J0.25 K0.75")[2:]
    assert [(m.kind, m.spindle, *m.end) for m in motions] == [
        ("rapid", 1, 4, 5, 3), ("rapid", 1, 4, 5, 2), ("rapid", 1, 3.5, 5.25, 2), ("spindle", 0, 3.5, 5.25, 2),
        ("rapid", 0, 3.5, 5.25, 0), ("rapid", 0, 4, 5, 0), ("spindle", 1, 4, 5, 0), ("line", 1, 4, 5, 0.75),
        ("line", 1, 4, 5, 0), ("spindle", 0, 4, 5, 0), ("rapid", 0, 3.5, 5.25, 0), ("rapid", 0, 3.5, 5.25, 2),
        ("rapid", 0, 4, 5, 2), ("spindle", 1, 4, 5, 2),
    ]  # fmt: skip


@pytest.mark.parametrize(("plane", "axis", "others"), [(17, 2, "XY"), (18, 1, "XZ"), (19, 0, "YZ")])
def test_cycles_drill_square_to_the_plane(plane: int, axis: int, others: str) -> None:
    # NIST 3.5.16: Y in the XZ plane, X in the YZ plane
    words = f"{others[0]}4 {others[1]}5 {'XYZ'[axis]}-1 R1"
    feed = [m for m in good(f"G{plane}", "G0 X2 Y2 Z2", "F100", f"G81 G99 {words}") if m.kind == "line"]
    assert len(feed) == 1
    changed = [i for i in range(3) if feed[0].start[i] != feed[0].end[i]]
    assert changed == [axis]
    assert feed[0].end[axis] == -1


def test_a_cycle_on_a_lathe_leaves_y_alone() -> None:
    motions = good("G0 X0 Z5", "F100", "G81 G99 X0 Z-3 R1")
    assert [(m.kind, m.end.z) for m in motions] == [("rapid", 5), ("rapid", 1), ("line", -3), ("rapid", 1)]
    assert all(math.isnan(m.end.y) for m in motions)


# Expressions and parameters


@pytest.mark.parametrize(
    ("text", "value"),
    [  # NIST Appendix C.2: each line of the program states its own answer, to the digits given here
        ("[1 + 2 * 3 - 4 / 5]", 6.2),
        ("[15 MOD 4.0]", 3),
        ("[1 --3]", 4),
        ("[2 xor 2]", 0),
        ("[2 and 2]", 1),
        ("tan[60]", 1.7321),
        ("atan[1.7321]/[1.0]", 60),
        ("round[-0.499]", 0),
        ("round[-0.5001]", -1),
        ("fix[-0.499]", -1),
        ("fup[-0.499]", 0),
        ("exp[2.3026]", 10),
        ("sqrt[3**2 + 4**2]", 5),
        # NIST 3.3.2.3 and 3.3.2.4
        ("[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5),
        ("FIX[-2.8]", -3),
        ("FUP[-2.8]", -2),
        # by the rules of the same sections
        ("[2 ** 3 ** 2]", 64),
        ("[0 ** 0.5]", 0),
        ("[0.25 ** 0.5]", 0.5),
        ("[4 ** 0.5]", 2),
        ("[-7 MOD 4]", 1),
        ("[0 or 0.5]", 1),
        ("[1 + 1 and 0]", 0),
        ("[[1 + 2] * [3 - 5]]", -6),
        ("atan[-1]/[-1]", -135),
        ("acos[0.5]", 60),
        ("asin[-1]", -90),
        ("cos[60]", 0.5),
        ("sin[30]", 0.5),
        ("ln[1]", 0),
        ("abs[-3]", 3),
        ("round[2.5]", 3),
        ("+.5", 0.5),
        ("5.", 5),
        ("-0.25", -0.25),
    ],
)
def test_expressions(text: str, value: float) -> None:
    bare = text.replace(" ", "").upper()
    found, end = read_value(bare, 0, {})
    assert found == pytest.approx(value, abs=1e-3)
    assert end == len(bare)
    if abs(value) > 0:
        assert good(f"G0 X{text}")[-1].end.x == pytest.approx(value, abs=1e-3)


GROUPS = (("**",), ("*", "/", "MOD"), ("+", "-", "OR", "XOR", "AND"))
"""The groups of operators (NIST 3.3.2.3), the first worked out first, and within a group from the left."""
MEANT: dict[str, Callable[[float, float], float]] = {
    "**": lambda a, b: a**b, "*": lambda a, b: a * b, "/": lambda a, b: a / b, "MOD": lambda a, b: a % b,
    "+": lambda a, b: a + b, "-": lambda a, b: a - b,
    "OR": lambda a, b: float(bool(a) or bool(b)), "XOR": lambda a, b: float(bool(a) != bool(b)),
    "AND": lambda a, b: float(bool(a and b)),
}  # fmt: skip


def test_any_two_operators_are_worked_out_by_their_groups() -> None:
    group = {name: n for n, row in enumerate(GROUPS) for name in row}
    for first, second in product(group, repeat=2):
        f, s = MEANT[first], MEANT[second]
        for a, b, c in ((7.0, 3.0, 2.0), (0.0, 3.0, 0.5), (5.0, 1.0, 1.0)):
            meant = s(f(a, b), c) if group[first] <= group[second] else f(a, s(b, c))
            assert read_value(f"[{a:g}{first}{b:g}{second}{c:g}]", 0, {})[0] == pytest.approx(meant), (first, second)


def test_what_is_not_zero_is_true() -> None:
    for name, a, b in product(("OR", "XOR", "AND"), (-1, 0, 1, 2), (-1, 0, 1, 2)):
        assert read_value(f"[{a}{name}{b}]", 0, {})[0] == MEANT[name](a, b), (a, name, b)


def test_a_parameter_is_set_when_its_line_has_been_read() -> None:
    # NIST 3.3.3: with #3 = 15, the line "#3=6 G1 x#3" moves to 15 and leaves #3 = 6
    assert moves("#3=15", "F100", "#3=6 G1 x#3", "X#3")[-2:] == [
        ("line", 15, pytest.approx(math.nan, nan_ok=True), pytest.approx(math.nan, nan_ok=True)),
        ("line", 6, pytest.approx(math.nan, nan_ok=True), pytest.approx(math.nan, nan_ok=True)),
    ]


def test_parameters_of_parameters() -> None:
    # NIST 3.3.2.2: ##2 means the parameter whose number #2 holds; #1+2 is #1, then plus 2
    motions = good("#2=7 #7=3.5 #9=1", "#[3-1]=9", "G0 X##2 Y[#7+2] Z#[5+2]")
    assert motions[-1].end == Position(1, 5.5, 3.5)


# Modes, offsets, order


def test_inches_are_read_into_millimetres() -> None:
    motion = good("G0 X1 Z-0.5", "G1 Z-1 F4", start="G20\n")[-1]
    assert (motion.end.x, motion.end.z, motion.feed) == (25.4, -25.4, pytest.approx(101.6))


def test_f_is_set_before_the_units_of_its_line() -> None:
    # NIST Table 8: F is step 3, units step 12
    assert good("G20 F4", "G1 X1")[-1].feed == 4
    assert good("G20", "F4", "G1 X1")[-1].feed == pytest.approx(101.6)


def test_a_dwell_comes_before_the_motion_of_its_line() -> None:
    # NIST Table 8: G4 is step 10, motion step 20
    assert [m.kind for m in good("G1 Z-5 F100 G4 P1")] == ["dwell", "line"]


def test_tool_speed_and_start_on_one_line() -> None:
    # NIST Table 8: S, T, M6, M3; a tool change stops the spindle (3.6.3)
    tool, spindle = good("T2 M6 M3 S800")
    assert (tool.kind, tool.tool, tool.spindle, tool.rpm) == ("tool", 2, 0, 800)
    assert (spindle.kind, spindle.tool, spindle.spindle, spindle.rpm) == ("spindle", 2, 1, 800)


def test_a_stop_comes_after_the_motion_of_its_line() -> None:
    # NIST Table 8: M0 is step 21
    assert [m.kind for m in good("M0 G1 X1 F100")] == ["line", "stop"]


def test_a_whole_line_in_the_order_of_table_8() -> None:
    # NIST Table 8, with everything on one line that may stand there
    motions = good("M0 X1 G0 S800 T2 G90 G18 M8 M6 G98 G61 G55 G4 P1 G20 M3 F100 (note) #1=5 G94 G40 G49", "X#1")
    assert [m.kind for m in motions] == ["tool", "spindle", "dwell", "rapid", "stop", "rapid"]
    assert [m.plane for m in motions[:4]] == [17, 17, 17, 18]  # the plane is step 11, the dwell step 10
    assert [m.system for m in motions[:4]] == [1, 1, 1, 2]
    assert motions[0].feed == 100  # mm/min: F is step 3, the units step 12
    assert (motions[3].end.x, motions[5].end.x) == (25.4, 127)


def test_the_distance_mode_acts_on_its_own_line() -> None:
    # NIST Table 8: G91 is step 17, motion step 20
    assert good("G0 X4 Y0 Z0", "G91 X3")[-1].end.x == 7
    assert good("G0 X4 Y0 Z0", "G91 G92 X0", "G90 X1")[-1].end.x == 5  # G91 has no effect on G92 (3.5.18)


def test_g92_offsets_of_3_5_18() -> None:
    # X is 4 with no offset; G92 x7 gives -3 in #5211; then G92 x9 gives -5, as [7-9] + -3
    first, second = good("G0 X4", "G92 x7", "#1=#5211", "G0 X#1")
    assert second.end.x == -3 + -3  # programmed -3, and the datum lies 3 lower
    assert good("G0 X4", "G92 x7", "G92 x9", "#1=#5211", "G0 X#1")[-1].end.x == -5 + -5
    assert first.end == second.start


def test_a_shift_by_g92_keeps_places_on_the_work_in_one_frame() -> None:
    motions = good("G0 X10 Z5", "G92 X12", "X5", "G92.2", "X5", "G92.3", "X5", "G92.1", "X5")
    assert [m.end.x for m in motions] == [10, 3, 5, 3, 5]
    for before, after in pairwise(motions):
        assert before.end == after.start


def test_a_first_g92_says_where_the_tool_stands() -> None:
    motion = good("G92 X20 Z5", "G0 X10")[-1]
    assert (motion.start.x, motion.start.z, motion.end.x) == (20, 5, 10)


def test_a_change_of_work_system_leaves_the_place_unknown() -> None:
    first, second, third = good("G0 X10 Z5", "G55 G0 X8", "Z2")
    assert (first.system, second.system) == (1, 2)
    assert math.isnan(second.start.x)
    assert math.isnan(second.start.z)
    assert (second.end.x, third.end.x, third.end.z) == (8, 8, 2)
    assert math.isnan(second.end.z)


def test_origins_set_by_the_program_are_followed() -> None:
    # NIST 3.5.5: origins are machine coordinates
    motions = good("G10 L2 P1 X100 Y0 Z50", "G10 L2 P2 X90 Y0 Z60", "G0 X10 Y0 Z5", "G55 X0", "G53 X1 Z2", "X5")
    assert motions[1].start == Position(20, 0, -5)
    home = motions[2]
    assert (home.system, home.start, home.end) == (0, Position(90, 0, 55), Position(1, 0, 2))
    assert (motions[3].system, motions[3].start.x, motions[3].start.z) == (2, -89, -58)


def test_axis_words_may_stand_before_the_word_that_takes_them() -> None:
    assert good("X5 G92", "G0 X6")[-1].start.x == 5


@pytest.mark.parametrize("axis", "XYZ")
def test_a_datum_shift_that_nobody_knows_hides_its_own_axis_alone(axis: str) -> None:
    """After G53 to 1, 3, 4 of the machine an axis reads that less its origin, or nothing where G92 came before."""
    after = good("G10 L2 P1 X100 Y10 Z50", f"G92 {axis}5", "G53 G0 X1 Y3 Z4", "X2 Y2 Z2")[-1].start
    for name, place in zip("XYZ", (-99, -7, -46), strict=True):
        here = getattr(after, name.lower())
        assert math.isnan(here) if name == axis else here == place


@pytest.mark.parametrize(
    ("word", "system"),
    [("G54", 1), ("G55", 2), ("G56", 3), ("G57", 4), ("G58", 5), ("G59", 6), ("G59.1", 7), ("G59.2", 8), ("G59.3", 9)],
)
def test_nine_work_systems(word: str, system: int) -> None:
    assert good(f"{word} G0 X1")[-1].system == system


def test_machine_coordinates_are_unknown_where_the_text_does_not_tell() -> None:
    motions = good("G0 X10 Y0 Z5", "G53 G0 Z0", "X2")
    assert math.isnan(motions[1].start.z)
    assert motions[1].end.z == 0
    assert (motions[1].system, motions[2].system) == (0, 1)
    assert math.isnan(motions[2].start.z)
    assert motions[2].end.x == 2


def test_home_is_known_to_the_control_only() -> None:
    # NIST 3.5.8: by way of the programmed point
    first, second, third = good("G0 X10 Y0 Z5", "G28 X20")[0:3]
    assert (second.kind, second.end) == ("rapid", Position(20, 0, 5))
    assert all(math.isnan(v) for v in third.end)
    assert first.kind == "rapid"


def test_a_length_offset_leaves_z_unknown() -> None:
    motion = good("G0 X10 Y0 Z5", "G43 H3", "X2")[-1]
    assert motion.offset == 3
    assert (motion.start.x, math.isnan(motion.start.z)) == (10, True)
    assert good("G43 H3", "G0 X10 Z5", "G43 H3", "X2")[-1].start.z == 5  # the offset in force, said again


def test_inverse_time_wants_f_on_each_line() -> None:
    # NIST 3.5.19: F2 makes a move last half a minute
    motion = good("G93", "G1 X1 F2")[-1]
    assert (motion.feed_mode, motion.feed) == (93, 2)
    assert 60 / motion.feed == 30
    assert bad("G93", "G1 X1 F2", "X2").where.line == 5


def test_the_state_at_the_start_is_that_after_m2() -> None:
    # NIST 3.6.1: G54, G17, G90, G94; motion and units must be said
    motion = good("G0 X1", start="G21\n")[-1]
    assert (motion.system, motion.plane, motion.feed_mode) == (1, 17, 94)


def test_the_end_stops_the_spindle() -> None:
    # NIST 3.6.1
    assert read("S100 M3").motions[-1].spindle == 0


def test_a_turning_program_must_say_g18() -> None:
    problem = bad("G0 X4 Z-9", "G2 X5 Z-10 I1 K0 F100")
    assert problem.what == "K is no word of an arc in plane G17"
    assert (problem.where.line, problem.where.column) == (4, 15)


# Form


def test_spaces_and_case_count_for_nothing() -> None:
    # NIST 3.3: "g0x +0. 12 34y 7" means "g0 x+0.1234 y7"
    assert good("g0x +0. 12 34y 7") == good("g0 x+0.1234 y7") == good("G 0\tX0.1234Y7")
    assert good("g0 x+0.1234 y7")[0].end[:2] == (0.1234, 7)


def test_integers_may_miss_by_a_ten_thousandth() -> None:
    # NIST 3.3.2.1
    assert good("G0.00001 X1", "M0.99995 M8")[0].kind == "rapid"
    assert good("G[1+0.00001] X1 F5")[0].kind == "line"
    assert bad("M0.9998").where.line == 3
    assert bad("G0.001 X1").where.line == 3


def test_a_program_between_percent_signs_needs_no_m2() -> None:
    # NIST 3.1
    program = read_program("\n % \nG21 G0 X1\n%\nG99999 rubbish\n", NGC)
    assert not program.problems
    assert [m.kind for m in program.motions] == ["rapid"]
    assert program.lines == 5


def test_lines_behind_the_end_are_not_read() -> None:
    # NIST 3.1
    program = read_program("G21\nM2\nrubbish (no)\n", NGC)
    assert not program.problems
    assert program.comments == ()


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_end_by_cr_lf_or_both(end: str) -> None:
    program = read_program(end.join(["G21", "", "G0 X1", "M2", ""]), NGC)
    assert [(m.kind, m.line) for m in program.motions] == [("rapid", 3), ("end", 4)]
    assert program.lines == 4


def test_block_delete_passes_over_its_lines_while_the_switch_is_on() -> None:
    # NIST 3.3, 2.2
    text = "G21\n/ N20 G0 X1\n/!\nG0 X2\nM2\n"
    assert [m.line for m in read_program(text, NGC, block_delete=True).motions] == [4, 5]
    program = read_program(text, NGC)
    assert [m.line for m in program.motions] == [2]
    assert [p.where.line for p in program.problems] == [3]


def test_comments_are_kept_as_written() -> None:
    program = read_program("(Top  Slide)\nG21 (a) G0 X1 (MSG, Measure)\nM2\n", NGC)
    assert program.comments == ((1, "Top  Slide"), (2, "a"), (2, "MSG, Measure"))
    assert not program.problems


def test_no_position_is_a_negative_nought() -> None:
    # A programmed minus zero is zero: our own choice, so that what is equal prints equal.
    motions = good("G18", "G0 X-0.0 Y-0 Z-.0", "G1 X-0 F10", "G91 X-0 Z-0", "G90 G3 X-0 Z-0 K-1")
    for motion in motions:
        for value in (*motion.start, *motion.end, *(motion.centre or ())):
            assert math.isnan(value) or math.copysign(1, value) == 1 or value < 0


def test_nothing_commanded_is_lost() -> None:
    kinds = [m.kind for m in good("T1 M6", "S500 M3", "M8", "M48", "G61", "G64", "M1", "M60", "M5", "M9")]
    assert kinds == ["tool", "spindle", "optional stop", "stop", "spindle"]
