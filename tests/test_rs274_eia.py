"""Program text read by the rules of EIA-274-D and ISO 6983-1.

Neither standard is at hand: their words are from memory, and each rule's standing is told in the reader's docstrings.
What is held here is that the reader keeps to those rules, and gives for one path the motions that NISTIR 6556 text
gives.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from cam.ground.problem import Problem
from cam.rs274 import Motion, Position, Program, Rules, read_program
from tests.test_rs274 import good as good_ngc

RADIUS = Rules(standard="EIA-274-D", x_words="radius")
DIAMETER = Rules(standard="EIA-274-D", x_words="diameter")
START = ("%", "N1 G71", "N2 G18 G90 G95 G40 G80", "N3 G97")


def read(*lines: str, rules: Rules = DIAMETER, start: tuple[str, ...] = START) -> Program:
    return read_program("\n".join((*start, *lines, "N9999 M30", "%", "")), rules)


def good(*lines: str, rules: Rules = DIAMETER, start: tuple[str, ...] = START) -> tuple[Motion, ...]:
    program = read(*lines, rules=rules, start=start)
    assert not program.problems, "\n".join(str(p) for p in program.problems)
    assert program.motions[-1].kind == "end"
    return program.motions[:-1]


def bad(*lines: str, rules: Rules = DIAMETER, start: tuple[str, ...] = START) -> Problem:
    program = read(*lines, rules=rules, start=start)
    assert len(program.problems) == 1, program.problems
    return program.problems[0]


def centre_of(motion: Motion) -> tuple[float, float] | None:
    return motion.centre and (motion.centre.x, motion.centre.z)


def test_a_shoulder_in_words_of_the_standard() -> None:
    tool, spindle, rapid_x, rapid_z, line, arc = good(
        "N10 T0101", "N20 G97 S800 M03", "N30 G00 X8.0", "N40 Z2.0", "N50 G01 Z-9.0 F0.05",
        "N60 G02 X10.0 Z-10.0 I1.0 K0.0",
    )  # fmt: skip
    assert (tool.kind, tool.tool, tool.offset) == ("tool", 1, 1)
    assert (spindle.kind, spindle.spindle, spindle.rpm, spindle.surface_speed) == ("spindle", 1, 800, None)
    assert (rapid_x.end.x, rapid_z.end.z) == (4, 2)
    assert (line.feed, line.feed_mode, line.plane) == (0.05, 95, 18)
    assert (arc.turn, arc.end.x, arc.end.z) == (-1, 5, -10)
    assert arc.centre is not None
    assert (arc.centre.x, arc.centre.z) == (5, -9)


@pytest.mark.parametrize("word", ["G71", "G70", "G18", "G90", "G95", "G94", "G97"])
def test_a_word_that_stands_is_as_good_as_said(word: str) -> None:
    """Every mode of every motion is the same where the head says, with its date, what the control stands in."""
    held, lines = {"G70": "G71", "G94": "G95"}.get(word, word), ("G0 X8. Z2.", "G1 Z-9. F0.05", "G2 X10. Z-10. I1. K0.")
    said = tuple(row.replace(held, word) for row in START)
    silent = tuple(row.replace(word, "").rstrip() for row in said)
    work = ("N10 T0101", "N20 S800 M3", *lines)
    stands = replace(DIAMETER, stands=((word, "2026-05-02"),))
    head = (f"(control: {word} stands at the start, 2026-05-02)",)
    first, *rest = silent
    motions = good(*work, rules=stands, start=(first, *head, *rest))
    assert [m._replace(line=0) for m in motions] == [m._replace(line=0) for m in good(*work, start=said)]
    assert read(*work, start=silent).problems


def test_the_same_path_in_both_standards() -> None:
    lines = ("G0 X{} Z0.", "G3 X{} Z-1. K-1. F1.", "G1 Z-9.", "G2 X{} Z-10. I1.", "G91 G1 X{} Z-0.5", "G90 G0 X{}")
    radii = (4.0, 5.0, 0, 6.0, 0.25, 9.0)
    ngc = good_ngc("G18", *(text.format(r) for text, r in zip(lines, radii, strict=True)))
    for rules, factor in ((RADIUS, 1), (DIAMETER, 2)):
        eia = good("G94", *(text.format(factor * r) for text, r in zip(lines, radii, strict=True)), rules=rules)
        assert [(m.kind, m.end.x, m.end.z, m.turn) for m in eia] == [(m.kind, m.end.x, m.end.z, m.turn) for m in ngc]
        assert [centre_of(m) for m in eia] == [centre_of(m) for m in ngc]


def test_x_words_are_diameters_and_i_words_radii() -> None:
    # common practice, no source
    absolute = good("G0 X8. Z0.", "G3 X10. Z-1. I0. K-1. F0.1")[-1]
    stepped = good("G0 X8. Z0.", "G91 G3 X2. Z-1. I0. K-1. F0.1")[-1]
    assert (absolute.end.x, absolute.centre) == (5, stepped.centre)
    assert stepped.end.x == 5


def test_inches_by_g70() -> None:
    line = good("G0 X1. Z0.", "G1 Z-1. F0.002", start=("%", "G70", "G18 G90 G95"))[-1]
    assert (line.end.x, line.end.z) == (12.7, -25.4)
    assert line.feed == pytest.approx(0.0508)


def test_surface_speed_with_its_limit() -> None:
    # G92 S as the limit: DIN 66025 practice, from memory
    (spindle,) = good("G92 S2000", "G96 S60 M3")
    assert (spindle.rpm, spindle.surface_speed, spindle.spindle) == (2000, 60, 1)
    _, fixed = good("G92 S2000", "G96 S60 M3", "G97 S800")
    assert (fixed.rpm, fixed.surface_speed, fixed.spindle) == (800, None, 1)
    (feet,) = good("G92 S2000", "G96 S200 M4", start=("%", "G70"))
    assert feet.surface_speed == pytest.approx(60.96)
    assert feet.spindle == -1


def test_a_later_limit_is_told_while_the_surface_speed_is_held() -> None:
    motions = good("G92 S2000", "G96 S60 M3", "G92 S1500")
    assert [m.rpm for m in motions] == [2000, 1500]


@pytest.mark.parametrize(
    ("word", "tool", "offset"), [("T1", 1, 0), ("T01", 1, 0), ("T0101", 1, 1), ("T0203", 2, 3), ("T1200", 12, 0)]
)
def test_tool_words(word: str, tool: int, offset: int) -> None:
    # two digits of tool, two of offset: common practice, no source
    (motion,) = good(word)
    assert (motion.kind, motion.tool, motion.offset) == ("tool", tool, offset)


def test_a_new_offset_leaves_the_place_unknown_and_the_same_one_does_not() -> None:
    motions = good("T0101", "G0 X10. Z5.", "T0101", "X12.", "T0202", "X14.", "Z1.", "T0200", "X3.")
    moved = [m for m in motions if m.kind == "rapid"]
    assert (moved[1].start.x, moved[1].start.z) == (5, 5)
    assert math.isnan(moved[2].start.x)
    assert math.isnan(moved[2].end.z)
    assert (moved[3].end.x, moved[3].end.z) == (7, 1)
    assert (moved[4].offset, math.isnan(moved[4].start.x)) == (0, True)


def test_m6_beside_t_is_one_change() -> None:
    assert [m.kind for m in good("T0101 M06", "M06")] == ["tool", "tool"]


def test_g92_with_axis_words_says_where_the_tool_stands() -> None:
    motions = good("G92 X40. Z5.", "G0 X20.", "G92 X30.", "X20.")
    assert [m.start.x for m in motions] == [20, 10]
    assert motions[0].start.z == 5
    assert motions[1].end.x == 5  # X20. is 5 further in than where X30. was stated


def test_a_dwell_by_f() -> None:
    # DIN 66025 practice, from memory; F of a dwell is no feed
    dwell, line = good("G0 X1.", "F0.1", "G04 F1.5", "G1 X2.")[1:]
    assert (dwell.kind, dwell.seconds) == ("dwell", 1.5)
    assert line.feed == 0.1


def test_stops_put_the_spindle_off() -> None:
    # from memory of EIA-274-D's definition of M00
    assert [m.spindle for m in good("G97 S100 M3", "M0", "G0 X1.")] == [1, 1, 0]
    assert good("G97 S100 M3", "M1", "G0 X1.")[-1].spindle == 0


def test_units_act_before_f_on_their_line() -> None:
    # common practice, no source: the contrary of NISTIR 6556
    assert good("G0 X1.", "G70 F1. G1 X1.")[-1].feed == 25.4


def test_a_new_feed_mode_asks_for_a_new_feed() -> None:
    assert "before any feed" in bad("G1 X1. F0.1", "G94 X2.").what
    assert good("G1 X1. F0.1", "G95 X2.")[-1].feed == 0.1


def test_drilling_along_the_spindle() -> None:
    motions = good("G17", "G0 X0. Z5.", "G81 X0. Z-3. R1. F0.05", "G80")
    assert [(m.kind, m.end.z) for m in motions] == [("rapid", 5), ("rapid", 1), ("line", -3), ("rapid", 1)]
    pecks = good("G17", "G0 X0. Z5.", "G83 X0. Z-3. R1. Q1.5 F0.05")
    assert [m.end.z for m in pecks if m.kind == "line"] == [-0.5, -2, -3]
    slow = good("G17", "G0 X0. Z5.", "G85 X0. Z-3. R1. F0.05")
    assert [(m.kind, m.end.z) for m in slow[2:]] == [("line", -3), ("line", 1)]


def test_percent_signs_and_what_follows() -> None:
    program = read_program("%\nN1 G71\nM30\n%\nrubbish\n", RADIUS)
    assert not program.problems
    assert not read_program("%\nM30\n", RADIUS).problems
    assert [p.what for p in read_program("G71\nM30\n", RADIUS).problems] == ["the program does not begin with %"]
    assert [p.what for p in read_program("%\nG71\n%\n", RADIUS).problems] == ["the program has no end"]
    assert read_program("%\n(DRUM ARBOR)\nM30\n", RADIUS).comments == ((2, "DRUM ARBOR"),)


PAIRS = [
    # what is said, bad line, column, neighbour
    ("no such G word in EIA-274-D", "G20", 1, "G70"),
    ("no such G word in EIA-274-D", "G21", 1, "G71"),
    ("no such G word in EIA-274-D", "G54", 1, "T0101"),
    ("no such G word in EIA-274-D", "G53 G0 X1.", 1, "G0 X1."),
    ("no such G word in EIA-274-D", "G43", 1, "T0202"),
    ("no such G word in EIA-274-D", "G93", 1, "G94"),
    ("no such G word in EIA-274-D", "G98", 1, "G80"),
    ("no such G word in EIA-274-D", "G28", 1, "G0 X1."),
    ("no such G word in EIA-274-D", "G38.2 Z1.", 1, "G0 Z1."),
    ("no such M word in EIA-274-D", "M48", 1, "M8"),
    ("no such M word in EIA-274-D", "M60", 1, "M0"),
    ("no such letter in EIA-274-D", "G0 U1.", 4, "G0 X1."),
    ("no such letter in EIA-274-D", "G4 P1.", 4, "G4 F1."),
    ("no such letter in EIA-274-D", "T1 D1", 4, "T0101"),
    ("no such letter in EIA-274-D", "H1", 1, "T0101"),
    ("no such letter in EIA-274-D", "L2", 1, "N2"),
    ("no such letter in EIA-274-D", "O100", 1, "N100"),
    ("capitals only", "G0 x1.", 4, "G0 X1."),
    ("nothing can begin with this", "#1=5", 1, "(#1=5)"),
    ("nothing can begin with this", ":10", 1, "N10"),
    ("a number is missing after a letter", "G0 X[1.+2.]", 4, "G0 X3."),
    ("has no comments after a semicolon", "G0 X1. ;X2.", 8, "G0 X1. (;X2.)"),
    ("no decimal point", "G0 X10", 4, "G0 X10."),
    ("no decimal point", "G0 Z-5", 4, "G0 Z0"),
    ("no decimal point", "F1", 1, "F1.0"),
    ("a letter is given twice", "G0 X1. X1.", 8, "G0 X1. Z1."),
    ("two G words of one modal group", "G96 G97 S10", 5, "G97 S10"),
    ("two G words of one modal group", "G70 G71", 5, "G71"),
    ("there is no such tool word", "T101", 1, "T0101"),
    ("there is no such tool word", "T00101", 1, "T0101"),
    ("there is no such tool word", "T1.", 1, "T1"),
    ("there is no such tool word", "T-1", 1, "T1"),
    ("M6 stands before any T", "M6", 1, "T1 M6"),
    ("I stands on a line where nothing takes it", "G0 X1. I1.", 8, "G0 X1."),
    ("K stands on a line where nothing takes it", "G1 X1. K1. F0.1", 8, "G1 X1. F0.1"),
    ("a thread stands where the spindle is stopped", "G33 Z-10. K1.", 1, "G1 Z-10. F1."),
    ("radius compensation is not followed", "G41", 1, "G40"),
    ("radius compensation is not followed", "G17 G42", 5, "G17 G40"),
    ("a feed move stands before any feed", "G1 X1.", 1, "G1 X1. F0.1"),
    ("a dwell has no time", "G4", 1, "G4 F0.5"),
    ("a dwell is negative", "G4 F-1.", 4, "G4 F1."),
    ("a dwell has an axis word", "G4 X1.", 4, "G4 F1."),
    ("G92 names no axis", "G92", 1, "G92 S100"),
    ("G92 has S and axis words", "G92 S100 X1.", 5, "G92 X1."),
    ("the spindle turns and no speed is given", "M3", 1, "S100 M3"),
    ("the spindle turns and no speed is given", "G96 M3", 5, "G96 S60 M3"),
    ("a spindle speed is negative", "S-100", 1, "S100"),
]


@pytest.mark.parametrize(("what", "wrong", "column", "right"), PAIRS, ids=[p[1] for p in PAIRS])
def test_each_rule_and_its_neighbour(what: str, wrong: str, column: int, right: str) -> None:
    problem = bad(wrong)
    assert what in problem.what
    assert (problem.where.line, problem.where.column) == (len(START) + 1, column)
    good(right)


THREADS = [
    ("a thread has no lead", "G33 Z-10.", 1),
    ("the lead of a thread is not above zero", "G33 Z-10. K0", 11),
    ("the lead of a thread is not above zero", "G33 Z-10. K-1.", 11),
    ("I stands on a line where nothing takes it", "G33 Z-10. K1. I1.", 15),
    ("a tapered thread is not followed", "G33 X7. Z-10. K1.", 5),
    ("a thread names no Z", "G33 X6. K1.", 1),
    ("no decimal point", "G33 Z-10. K1", 11),
    ("a thread stands under G96", "G96 S60 G33 Z-10. K1.", 9),
    ("G33 names no axis", "G33 K1.", 1),
    ("two G words of one modal group", "G1 G33 Z-10. K1.", 4),
]


@pytest.mark.parametrize(("what", "wrong", "column"), THREADS, ids=[p[1] for p in THREADS])
def test_each_rule_of_a_thread_and_its_neighbour(what: str, wrong: str, column: int) -> None:
    before = ("S100 M3", "G0 X6. Z2.")
    problem = bad(*before, wrong)
    assert what in problem.what
    assert (problem.where.line, problem.where.column) == (len(START) + 3, column)
    good(*before, "G33 Z-10. K1.")


def test_a_datum_that_only_a_thread_has_used_may_not_move_by_an_unknown_amount() -> None:
    before = ("S100 M3", "G0 X6.", "G33 Z-10. K1.")
    problem = bad(*before, "T0202", "G92 Z5.")
    assert problem.what == "G92 moves the datum of Z by an amount that the text does not tell"
    good("S100 M3", "G0 X6.", "T0202", "G92 Z5.")
    good(*before, "G92 Z5.")


def test_a_thread_in_step_with_the_spindle() -> None:
    """K is the lead in units of the text; it is the feed of that motion alone, whatever feed is in force."""
    motions = good("F0.1 S100 M3", "G0 X6. Z2.", "G33 Z-10. K0.5", "Z-11. K0.5", "G1 X8.")
    thread, again, out = [m for m in motions if m.kind in ("thread", "line")]
    assert (thread.kind, thread.feed, thread.feed_mode) == ("thread", 0.5, 95)
    assert (thread.end.x, thread.end.z) == (3.0, -10.0)
    assert (again.kind, again.feed, again.end.z) == ("thread", 0.5, -11.0)
    assert (out.kind, out.feed, out.feed_mode) == ("line", 0.1, 95)
    inches = good("G70", "S100 M3", "G0 X0.2 Z0.1", "G33 Z-0.5 K0.025")
    assert next(m for m in inches if m.kind == "thread").feed == pytest.approx(0.635)


def test_a_thread_is_not_in_the_other_standard() -> None:
    problem = read_program("G21\nG33 Z-1 K1\nM2\n", Rules(standard="NISTIR 6556", x_words="radius")).problems[0]
    assert problem.what == "there is no such G word in NISTIR 6556"
    assert problem.fix == "no thread cutting in NISTIR 6556"


def test_the_word_of_the_other_standard_is_named() -> None:
    assert bad("G21").fix == "G71 is millimetres in EIA-274-D"
    assert "T0101" in bad("G54").fix


AFTER_A_MOVE = [
    ("EIA-274-D has no arcs by R", "G2 X10. R2.", 9, "G2 X10. I0.5"),
    ("not equally far", "G2 X10. I0.6", 1, "G2 X10. I0.5"),
    ("this cycle is not followed", "G17 G84 X8. Z-3. R1.", 5, "G17 G85 X8. Z-3. R1."),
    ("this cycle is not followed", "G17 G82 X8. Z-3. R1.", 5, "G17 G81 X8. Z-3. R1."),
    ("a step of Y under G91 begins", "G91 G1 Y1.", 8, "G91 G1 Z1."),
    ("G80 has cancelled motion", "G80 X1.", 5, "G0 X1."),
]


@pytest.mark.parametrize(("what", "wrong", "column", "right"), AFTER_A_MOVE, ids=[p[1] for p in AFTER_A_MOVE])
def test_each_rule_after_a_move(what: str, wrong: str, column: int, right: str) -> None:
    problem = bad("G0 X8. Z0. F0.1", wrong)
    assert what in problem.what
    assert (problem.where.line, problem.where.column) == (len(START) + 2, column)
    good("G0 X8. Z0. F0.1", right)


UNSAID = [
    # what a control of this standard holds at the start is its maker's choice, so the text must say it
    ("a length stands before the units", ("G90 G0 X1.",), ("G71", "G90 G0 X1.")),
    ("an axis word stands before G90 or G91", ("G71 G0 X1.",), ("G71 G90 G0 X1.",)),
    ("F stands before G94 or G95", ("G71 F1.",), ("G71 G95 F1.",)),
    ("S stands before G96 or G97", ("G71 S100",), ("G71 G97 S100",)),
    ("a feed move stands before the feed mode", ("G71 G90 G1 X1.",), ("G71 G90 G95 G1 X1. F1.",)),
    ("axis words stand before any motion word", ("G71 G90 X1.",), ("G71 G90 G0 X1.",)),
    (
        "an arc stands before the plane is said",
        ("G71 G90 G95", "G0 X2. Z0. F1.", "G2 X4. I0.5"),
        ("G71 G90 G95", "G0 X2. Z0. F1.", "G18 G2 X4. I0.5"),
    ),
]


@pytest.mark.parametrize(("what", "wrong", "right"), UNSAID, ids=[u[0] for u in UNSAID])
def test_what_the_text_must_say(what: str, wrong: tuple[str, ...], right: tuple[str, ...]) -> None:
    assert what in bad(*wrong, start=("%",)).what
    good(*right, start=("%",))


def test_a_place_is_told_in_radius_whatever_x_words_are() -> None:
    first, second = (good("G0 X8. Z1.", rules=rules)[-1].end for rules in (RADIUS, DIAMETER))
    assert isinstance(first, Position)
    assert (first.x, second.x) == (8, 4)
