"""Program text: what it says when read back, what it refuses, and that no name can become code."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.figures import Figures, Unit
from cam.ground.problem import ProblemError, Where
from cam.moves.model import (
    ChangeTool,
    EndProgram,
    Feed,
    FeedArc,
    Move,
    Rapid,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
)
from cam.plan.job import plan_job
from cam.plan.model import Plan
from cam.rs274 import Motion, Program, Rules, read_program
from posts.control import ControlWords
from posts.dialect import dialect_names, load_dialect
from posts.pages.figures import instruments
from posts.program import emit_program
from posts.steps import Speech, choose_form, steps_of
from posts.wording import number as figure
from tests.plan_specimens import SAMPLE_NAMES, encoder_plan, moves_of, program_of, random_plans, sample_plan
from tests.specimens import arbor_text, one_in, part_from, sample

FORMS = [
    ("rs274ngc", "mm", "radius"), ("rs274ngc", "in", "radius"), ("eia274d", "mm", "radius"),
    ("eia274d", "in", "radius"), ("eia274d", "mm", "diameter"), ("eia274d", "in", "diameter"),
]  # fmt: skip
MOTIONS = ("rapid", "line", "arc")
SLOW = settings(
    deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def rules(dialect: str, x: str) -> Rules:
    return Rules(standard=load_dialect(dialect).text("STANDARD"), x_words=x)  # type: ignore[arg-type]


def read(text: str, dialect: str = "rs274ngc", x: str = "radius") -> Program:
    program = read_program(text, rules(dialect, x), "test.ngc")
    assert program.problems == ()
    return program


def planned(moves: tuple[Move, ...]) -> Iterator[tuple[str, float, float, Move]]:
    """Kind, X (radius) and Z of every motion of a plan; another tool has another zero, where nothing is known yet."""
    x = z = math.nan
    for move in moves:
        if isinstance(move, ChangeTool):
            x = z = math.nan
        elif isinstance(move, Rapid):
            x, z = (move.to, z) if move.axis == "x" else (x, move.to)
            yield "rapid", x, z, move
        elif isinstance(move, Feed | FeedArc):
            x, z = move.x, move.z
            yield ("line" if isinstance(move, Feed) else "arc"), x, z, move


def half_digit(dialect: str, units: str, x: str) -> tuple[float, float]:
    """Half of the last printed digit of X (as a radius) and of Z, mm."""
    inch = units == "in"
    half = (
        0.5 * 10.0 ** -load_dialect(dialect).count("DECIMALS_INCH" if inch else "DECIMALS_MM") * (25.4 if inch else 1)
    )
    return (half / 2 if x == "diameter" else half), half


def check_round_trip(plan: Plan, dialect: str, units: str, x: str) -> None:
    """Every motion of every setting, read back, is where it was planned to the last printed digit."""
    off_x, off_z = (1.0001 * d for d in half_digit(dialect, units, x))
    for number in range(1, len(plan.settings) + 1):
        program = read(program_of(plan, dialect, number=number, units=units, x=x), dialect, x)
        found = [m for m in program.motions if m.kind in MOTIONS]
        wanted = list(planned(moves_of(plan, number)))
        assert [k for k, *_ in wanted] == [m.kind for m in found]
        for (_, want_x, want_z, move), motion in zip(wanted, found, strict=True):
            assert abs(motion.end.x - want_x) <= off_x
            assert math.isnan(want_z) == math.isnan(motion.end.z)
            assert math.isnan(want_z) or abs(motion.end.z - want_z) <= off_z
            assert motion.plane == 18
            if isinstance(move, FeedArc):
                check_arc(move, motion, off_x, off_z)


def check_arc(move: FeedArc, motion: Motion, off_x: float, off_z: float) -> None:
    """NISTIR 6556 3.5.3.2: the arc's radius at start and end may differ by 0.002 mm at most."""
    assert motion.centre is not None
    assert motion.turn == move.turn
    ends = [math.hypot(p.z - motion.centre.z, p.x - motion.centre.x) for p in (motion.start, motion.end)]
    assert abs(ends[0] - ends[1]) <= 0.002
    assert abs(motion.centre.x - move.centre_x) <= off_x + off_z
    assert abs(motion.centre.z - move.centre_z) <= 2 * off_z


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize(("dialect", "units", "x"), FORMS)
def test_limits_at_a_stop_are_never_said_wider_than_they_are(name: str, dialect: str, units: str, x: str) -> None:
    plan, scale = sample_plan(name), 1.0 if units == "mm" else 25.4
    for number, planned in enumerate(plan.settings, start=1):
        text = re.sub(r"\)\n\((\.\. )?", " ", program_of(plan, dialect, number=number, units=units, x=x))
        said = re.findall(r"([\d.]+) to +([\d.]+) +allowed", text, re.I)
        stops = [m for cut in planned.passes for m in cut.measure]
        assert len(said) == len(stops)
        for (least, most), stop in zip(said, stops, strict=True):
            assert float(least) * scale >= stop.least - 1e-9
            assert float(most) * scale <= stop.most + 1e-9


@pytest.mark.parametrize("name", SAMPLE_NAMES)
@pytest.mark.parametrize(("dialect", "units", "x"), FORMS)
def test_a_program_read_back_is_the_plan_to_the_last_digit(name: str, dialect: str, units: str, x: str) -> None:
    check_round_trip(sample_plan(name), dialect, units, x)


@pytest.mark.parametrize("css", [True, False])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_feed_per_revolution_and_surface_speed_read_back(css: bool, units: str) -> None:
    plan = encoder_plan(css=css)
    check_round_trip(plan, "eia274d", units, "diameter")
    program = read(program_of(plan, "eia274d", units=units, x="diameter"), "eia274d", "diameter")
    moves = moves_of(plan)
    feeds = [m.feed for m in moves if isinstance(m, Feed | FeedArc)]
    cuts = [m for m in program.motions if m.kind in ("line", "arc") and m.spindle]
    assert {m.feed_mode for m in cuts} == {95}
    assert [m.feed for m in cuts] == pytest.approx(feeds, abs=1e-4)
    wanted: list[float | None] = []
    speed = None
    for move in moves:
        speed = move.surface_speed if isinstance(move, TurnSpindle) else speed
        wanted += [speed] if isinstance(move, Feed | FeedArc) else []
    assert [m.surface_speed for m in cuts] == (pytest.approx(wanted, abs=0.06) if css else [None] * len(cuts))
    assert max(m.rpm for m in cuts) <= 2500


@given(random_plans(), st.sampled_from(FORMS))
@SLOW
def test_random_plans_read_back_to_the_last_digit(plan: Plan, form: tuple[str, str, str]) -> None:
    held = plan.shop.lathe.spindle.constant_surface_speed
    check_round_trip(plan, *(("eia274d", *form[1:]) if held else form))


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_pygcode_reads_the_same_end_points(name: str, units: str) -> None:
    pygcode = pytest.importorskip("pygcode")
    plan = sample_plan(name)
    text = program_of(plan, units=units)
    ends: list[tuple[float | None, float | None]] = []
    x = z = None
    for line in text.splitlines():
        words = {w.letter: float(w.value) for w in pygcode.Line(line).block.words if w.letter in "XZ"}
        if words:
            x, z = words.get("X", x), words.get("Z", z)
            ends.append((x, z))
    scale = 25.4 if units == "in" else 1.0
    wanted = [(wx, wz) for _, wx, wz, _ in planned(moves_of(plan))]
    assert len(ends) == len(wanted)
    for (found_x, found_z), (want_x, want_z) in zip(ends, wanted, strict=True):
        assert found_x is not None
        assert found_x * scale == pytest.approx(want_x, abs=2e-4)
        assert (found_z is None) == math.isnan(want_z)
        assert found_z is None or found_z * scale == pytest.approx(want_z, abs=2e-4)


# The form of a program


@pytest.mark.parametrize(("dialect", "units", "x"), FORMS)
def test_the_text_is_short_plain_lines_and_always_the_same(dialect: str, units: str, x: str) -> None:
    plan = sample_plan("orrery-drum-arbor")
    text = program_of(plan, dialect, units=units, x=x)
    assert text == program_of(plan, dialect, units=units, x=x)
    assert text.isascii()
    assert text.endswith("\n")
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    assert all(line.isprintable() and line for line in lines)
    assert not any("e-" in line.lower() and not line.startswith("(") for line in lines)


def code(text: str) -> list[str]:
    """Lines that are no comments, without N words."""
    found = []
    for line in text.splitlines():
        if not line.startswith(("(", "%")):
            found.append(" ".join(w for w in line.split() if not w.startswith("N")))
    return found


def test_rs274ngc_states_all_that_the_report_leaves_open() -> None:
    # NISTIR 6556 Table 8: F is read before units on one line; 3.6.1: M2 leaves G17, so G18 is said.
    lines = code(program_of(sample_plan("orrery-drum-arbor")))
    assert lines[0] == "G21"
    assert {"G18", "G90", "G40", "G80", "G94"} <= set(lines[1].split())
    assert lines[-1] == "M2"
    for line in lines:
        if "X" in line or "Z" in line:
            assert line.split()[0] in ("G0", "G1", "G2", "G3")
            assert "G20" not in line
            assert "G21" not in line
    assert "G20" in code(program_of(sample_plan("orrery-drum-arbor"), units="in"))


def test_eia274d_has_offset_digits_numbers_and_tape_marks() -> None:
    text = program_of(sample_plan("orrery-drum-arbor"), "eia274d", number=2, x="diameter")
    lines = text.splitlines()
    assert lines[0] == lines[-1] == "%"
    assert {w for line in code(text) for w in line.split() if w.startswith("T")} == {"T0101", "T0202"}
    assert "G71" in code(text)
    assert "G70" in code(program_of(sample_plan("orrery-drum-arbor"), "eia274d", units="in"))
    numbered = [line for line in lines if not line.startswith(("(", "%"))]
    numbers = [int(line.split()[0][1:]) for line in numbered]
    assert numbers == sorted(set(numbers))
    assert code(text)[-1] == "M30"


def test_surface_speed_has_a_limit_before_it() -> None:
    lines = code(program_of(encoder_plan(), "eia274d", x="diameter"))
    held = [i for i, line in enumerate(lines) if line.startswith("G96 ")]
    limits = [f"G92 S{m.rpm:.0f}" for m in moves_of(encoder_plan()) if isinstance(m, TurnSpindle)]
    assert held
    assert [lines[i - 1] for i in held] == limits


def test_the_first_motion_is_x_alone_to_the_proof_diameter_and_a_stop() -> None:
    for dialect, _, x in FORMS:
        plan = sample_plan("orrery-drum-arbor")
        text = program_of(plan, dialect, x=x)
        first, stop, then = [m for m in read(text, dialect, x).motions if m.kind in (*MOTIONS, "stop")][:3]
        assert 2 * first.end.x == pytest.approx(plan.settings[0].proof_diameter)
        assert math.isnan(first.end.z)
        assert stop.kind == "stop"
        assert then.kind == "rapid"
        assert "PROVE" in text.upper()


def test_what_callipers_read_when_x_is_misread_is_said() -> None:
    plan = sample_plan("orrery-drum-arbor")
    proof, bar = plan.settings[0].proof_diameter, float(plan.part.stock.diameter)
    far = bar / 2 - float(plan.shop.lathe.x.backlash)  # X has come out to where it stands, its slide behind
    right = f"far side of the bar is {proof / 2 + far:.2f}"
    radius = program_of(plan).replace(")\n(  ", " ")
    assert right in radius
    assert f"if it is {proof / 4 + far:.2f} instead, the control takes X for a diameter" in radius
    diameter = program_of(plan, "eia274d", x="diameter").replace(")\n(  ", " ")
    assert right.upper() in diameter
    assert f"IF IT IS {proof + far:.2f} INSTEAD, THE CONTROL TAKES X FOR A RADIUS" in diameter


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_callipers_are_asked_for_no_more_digits_than_they_show(name: str, units: str) -> None:
    """0.01 mm, or a thou: common practice, no source. The crank pin's far side would be 10.555."""
    text = re.sub(r"\s*\)\s*\(\.?\.?\s*", " ", program_of(sample_plan(name), units=units))
    said = re.findall(r"is ([\d.]+) by callipers|far side of the bar is ([\d.]+)\.|if it is ([\d.]+) instead", text)
    figures = [figure.rstrip(".") for found in said for figure in found if figure]
    assert len(figures) > 3
    assert max(len(figure.partition(".")[2]) for figure in figures) == (2 if units == "mm" else 3)


@pytest.mark.parametrize(("x", "z", "unit", "shows", "depth"), [
    (2, 2, "mm", "", "depth gauge"), (3, 3, "mm", " that shows 0.001", "depth micrometer"),
    (3, 3, "in", "", "depth gauge"), (4, 4, "in", " that shows 0.0001", "depth micrometer"),
])  # fmt: skip
def test_what_measures_shows_the_digits_of_the_page(x: int, z: int, unit: Unit, shows: str, depth: str) -> None:
    assert instruments(Figures(unit, x, z)) == {"shows": shows, "depth": depth}


def test_the_header_says_what_must_be_known() -> None:
    plan = sample_plan("orrery-drum-arbor")
    text = program_of(plan, number=2).replace(")\n(  ", " ")
    for words in (
        plan.part.name, plan.part.digest, plan.shop.digest, "setting 2 of 2", "millimetres", "X words are RADIUS",
        plan.settings[1].setting.datum_words.split('"')[0], "imaginary sharp tip", "right-hand knife, nose radius 0.1",
        "work system G54", "work system G55", "backlash allowed for: X 0.04, Z 0.05", "travel used: X ",
    ):  # fmt: skip
        assert words in text
    motions = [m for m in read(program_of(plan, number=2)).motions if m.kind in MOTIONS]
    low, high = min(m.end.x for m in motions), max(m.end.x for m in motions)
    assert f"travel used: X {round(low, 3)} to {round(high, 3)}," in text


def test_the_spindle_never_turns_at_a_stop() -> None:
    for dialect, units, x in FORMS:
        for name in SAMPLE_NAMES:
            plan = sample_plan(name)
            program = read(program_of(plan, dialect, units=units, x=x), dialect, x)
            assert all(m.spindle == 0 for m in program.motions if m.kind == "stop")
            first = next(n for n, m in enumerate(program.motions) if m.spindle)
            feeding = [m for m in program.motions[first:] if m.kind in ("line", "arc")]
            assert all(m.spindle == 1 and m.rpm > 0 for m in feeding)


def restarts(text: str) -> list[int]:
    """Index of each line on which a pass begins."""
    lines = text.splitlines()
    starts = [f"N{100 * n}" for n in range(1, 100)]
    return [i for i, line in enumerate(lines) if line.split()[0] in starts]


@pytest.mark.parametrize(("dialect", "units", "x"), FORMS)
def test_every_pass_can_be_started_again_with_nothing_before_it(dialect: str, units: str, x: str) -> None:
    plan = sample_plan("orrery-drum-arbor")
    text = program_of(plan, dialect, units=units, x=x, number=2)
    starts = restarts(text)
    assert len(starts) == len(plan.settings[1].passes)
    whole = [m for m in read(text, dialect, x).motions if m.kind in MOTIONS]
    lines = text.splitlines()
    for start, cut in zip(starts, plan.settings[1].passes, strict=True):
        tail = "\n".join([*(["%"] if dialect == "eia274d" else []), *lines[start:], ""])
        again = [m for m in read(tail, dialect, x).motions if m.kind in MOTIONS]
        first, second = again[:2]
        assert first.kind == second.kind == "rapid"
        # From the park, which is off the end: X outside the metal that stands there, then Z.
        parked = plan.settings[1].park.x  # another tool is proved there first
        changed = cut.number > 1 and cut.tool is not plan.settings[1].passes[cut.number - 2].tool
        assert first.end.x == pytest.approx(parked if changed else cut.approach[0].x, abs=1e-3)
        assert cut.approach[0].x >= min(cut.diameter / 2 + cut.depth, plan.settings[1].safe_x)
        assert math.isnan(first.end.z)
        for new, old in zip(reversed(again), reversed(whole), strict=False):
            assert new.end == old.end or new is first
            assert (new.spindle, new.feed_mode, new.plane) == (old.spindle, old.feed_mode, old.plane)
            assert new.rpm == old.rpm or not new.spindle  # in air at the proof of a tool
            assert new.system == old.system
            assert new.kind == "rapid" or new.feed == old.feed


# Refusals


def said(moves: list[Move], dialect: str = "rs274ngc", **spindle: Any) -> list[Any]:
    plan = sample_plan("crank-pin")
    chosen = load_dialect(dialect)
    turning = replace(plan.shop.lathe.spindle, **spindle)
    form = choose_form(chosen, "mm", per_revolution=turning.feeds_per_revolution)
    control = ControlWords(plan.shop.lathe.control.facts, chosen)
    where = Where(path="part.toml")
    return steps_of(
        moves, Speech(dialect=chosen, form=form, control=control, where=where, lines={}, shown=lambda stop: stop.reason)
    )


def refusal(moves: list[Move], dialect: str = "rs274ngc", **spindle: Any) -> str:
    with pytest.raises(ProblemError) as caught:
        said(moves, dialect, **spindle)
    return str(caught.value)


def begun() -> list[Move]:
    """A good beginning: tool, place, spindle."""
    tool = sample_plan("crank-pin").settings[0].passes[0].tool
    speed = TurnSpindle(rpm=1000.0, surface_speed=None, speed_name="")
    return [ChangeTool(tool=tool), Rapid(axis="x", to=9.0), Rapid(axis="z", to=1.0), speed]


def test_rs274ngc_refuses_diameters_and_says_what_helps() -> None:
    with pytest.raises(ProblemError) as caught:
        program_of(sample_plan("orrery-drum-arbor"), x="diameter")
    assert "cannot say X as a diameter" in str(caught.value)
    assert "the first motion, rapid to X" in str(caught.value)
    assert "radius" in caught.value.problems[0].fix


def test_rs274ngc_refuses_surface_speed_naming_the_move() -> None:
    with pytest.raises(ProblemError) as caught:
        program_of(encoder_plan())
    (problem,) = caught.value.problems
    assert "cannot say constant surface speed" in problem.what
    assert "pass 1 (rough" in problem.given
    assert "constant_surface_speed" in problem.fix


def test_surface_speed_with_feed_per_minute_is_refused() -> None:
    held = TurnSpindle(rpm=1000.0, surface_speed=20.0, speed_name="")
    moves = [*begun()[:3], held, Feed(x=2.0, z=0.0, feed=0.05), StopSpindle(), EndProgram()]
    assert "feed per minute" in refusal(moves, "eia274d", feeds_per_revolution=False)
    assert said(moves, "eia274d", feeds_per_revolution=True)[-1].kind == "end"


REFUSED: list[tuple[str, list[Move], str]] = [
    ("a cut while the spindle stands", [*begun()[:3], Feed(x=1.0, z=0.0, feed=0.05)], "before the spindle is started"),
    ("a cut before Z is known", [*begun()[:2], begun()[3], Feed(x=1.0, z=0.0, feed=0.05)], "before X and Z have both"),
    ("a feed that rounds to nothing", [*begun(), Feed(x=1.0, z=0.0, feed=1e-6)], "prints as zero"),
    ("a place that is no number", [*begun(), Feed(x=math.nan, z=0.0, feed=0.05)], "no number"),
    ("an infinite rapid", [*begun(), Rapid(axis="x", to=math.inf)], "no number"),
    ("a motion without a tool", [Rapid(axis="x", to=9.0)], "before any tool"),
    ("a program without an end", begun(), "do not end"),
    ("a speed of nothing", [begun()[0], TurnSpindle(rpm=0.0, surface_speed=None, speed_name="")], "not above nothing"),
    (
        "an arc whose ends lie on two circles",
        [*begun(), Feed(x=2.0, z=0.0, feed=0.05),
         FeedArc(x=3.01, z=-1.0, centre_x=2.0, centre_z=-1.0, turn=1, feed=0.05)],
        "not equally far from its centre",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("moves", "words"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_what_is_no_program_is_refused(moves: list[Move], words: str) -> None:
    assert words in refusal(moves)


def test_a_tool_number_beyond_the_work_systems_is_refused() -> None:
    tool = replace(sample_plan("crank-pin").settings[0].passes[0].tool, number=10)
    assert "tool number 10" in refusal([ChangeTool(tool=tool)])
    assert said([ChangeTool(tool=tool), EndProgram()], "eia274d")[0].tool is tool


def test_a_pass_with_another_tool_than_the_one_in_the_post_is_refused() -> None:
    plan = sample_plan("orrery-drum-arbor").settings[1]
    groove = next(c for c in plan.passes if c.tool.number == 2)
    moves = [ChangeTool(tool=plan.passes[0].tool), StartPass(name="groove", cut=groove)]
    assert "while tool 1 is in the post" in refusal(moves)


def test_an_arc_too_short_for_the_printed_digits_never_becomes_a_full_circle() -> None:
    for size in (1e-6, 2e-5, 4.9e-5, 7e-5):
        arc = FeedArc(x=2.0 + size, z=-size, centre_x=2.0, centre_z=-size, turn=1, feed=0.05)
        steps = said([*begun(), Feed(x=2.0, z=0.0, feed=0.05), arc, EndProgram()])
        assert all(s.kind != "arc" or (s.x, s.z) != ("2.0", "0.0") for s in steps)


def test_a_stopped_spindle_is_started_again_before_the_next_motion() -> None:
    steps = said([*begun(), Stop(reason="measure", lines=("measure",)), Rapid(axis="x", to=8.0), EndProgram()])
    assert [s.kind for s in steps[3:]] == ["speed", "spindle off", "stop", "speed", "rapid", "spindle off", "end"]


# Names


HOSTILE = [
    "x) M3 S9000 (", "%", "a\nG0 X0", "a\rG0 X0", "MSG, go on", ") M2", "((", "\x00\x1b[2J", "Öl–Drehung ½ °", "日本",
    "N100 G0", "a\u2028G0 X0", "; G0", "a" * 5000,
]  # fmt: skip


def check_name_is_only_words(name: str, dialect: str) -> None:
    plain = sample_plan("crank-pin")
    plan = replace(plain, part=replace(plain.part, name=name, path=name))
    text = program_of(plan, dialect)
    program = read(text, dialect)
    assert list(map(repr, (strip(m) for m in program.motions))) == [
        repr(strip(m)) for m in read(program_of(plain, dialect), dialect).motions
    ]
    assert all(c in " -~\n" or " " <= c <= "~" for c in text)
    assert code(text) == code(program_of(plain, dialect))


def strip(motion: Motion) -> Motion:
    """A motion without its line, which a longer header moves."""
    return motion._replace(line=0)


@pytest.mark.parametrize("dialect", dialect_names())
@pytest.mark.parametrize("name", one_in(3, HOSTILE))
def test_a_hostile_name_stays_a_comment(name: str, dialect: str) -> None:
    check_name_is_only_words(name, dialect)


@given(st.text(max_size=60), st.sampled_from(dialect_names()))
@settings(deadline=None, max_examples=60)
def test_no_name_is_ever_code(name: str, dialect: str) -> None:
    check_name_is_only_words(name, dialect)


@given(st.text(max_size=40))
@settings(deadline=None, max_examples=25)
def test_no_tool_name_or_datum_is_ever_code(text: str) -> None:
    plan = sample_plan("crank-pin")
    moves = tuple(
        replace(m, tool=replace(m.tool, name=text)) if isinstance(m, ChangeTool) else m for m in moves_of(plan)
    )
    first = plan.settings[0]
    changed = replace(first, setting=replace(first.setting, datum_words=text))
    made = emit_program(
        moves, plan=plan, setting_plan=changed, dialect=load_dialect("rs274ngc"), units="mm", x_words="radius"
    )
    assert code(made) == code(program_of(plan))


def test_a_pass_that_faces_says_to_where_along_z_and_how_far_in() -> None:
    """A shoulder over an exact fillet has its own pass: "to diameter 7.98, cut 0.12 a side" is not what it does."""
    text = arbor_text()
    filleted = text.replace('name = "front seat"\n', 'name = "front seat"\ncorner_b = "fillet 0.3 mm"\n', 1)
    assert filleted != text
    arbor = plan_job(part_from(filleted), sample("orrery-drum-arbor")[1])
    kinds = set()
    for plan in (arbor, sample_plan("crank-pin")):
        passes = re.split(r"\(---- pass \d+ of \d+: ", program_of(plan))[1:]
        for cut, said in zip(plan.settings[0].passes, passes, strict=True):
            if cut.kind in ("face", "semi-finish", "finish") and cut.path[0].start.z == cut.path[0].end.z:
                z, x = cut.path[0].end.z, min(s.end.x for s in cut.path)
                inward = f"in to diameter {figure(2 * x, 3)}" if x > 0 else "in past the axis"
                assert f"(face to Z {figure(z, 3)}, {inward}, cut {figure(cut.depth, 3)}, " in said
                kinds.add(cut.kind)
            else:
                assert "(face to" not in said
    assert kinds == {"face", "semi-finish", "finish"}
