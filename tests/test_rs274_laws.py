"""Laws of the reader that hold for any text: round trips, order of words, damage, and agreement with another reader."""

from __future__ import annotations

import math
import random
import re
from itertools import pairwise
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.rs274 import Motion, Program, Rules, read_program
from tests.test_rs274 import NGC, START

EIA = Rules(standard="EIA-274-D", x_words="diameter")
EIA_START = "%\nG71\nG18 G90 G95 G40 G80\nT0101\nG97 S800 M3\n"
NGC_START = "G21\nG18 G90 G94 G40 G80 G49\nT1 M6\nS800 M3\n"
RPM = 800

TENTHS = st.integers(-200_000, 200_000)  # of a micrometre: what four decimals hold
OUT = st.integers(0, 200_000)


class Step(NamedTuple):
    """One motion of a made-up path, in tenths of a micrometre, X a radius."""

    kind: str
    x: int
    z: int
    i: int = 0
    k: int = 0
    turn: int = 1
    feed: int = 1


@st.composite
def arcs(draw: st.DrawFn) -> tuple[int, int, int, int, int, int]:
    """Start, way to the centre, and end of an arc, rounded to the last digit."""
    x, z, i, k = draw(OUT), draw(TENTHS), draw(st.integers(-50_000, 50_000)), draw(st.integers(10, 50_000))
    angle = draw(st.floats(0.01, 6.27)) + math.atan2(-i, -k)
    radius = math.hypot(i, k)
    return x, z, i, k, round(x + i + radius * math.sin(angle)), round(z + k + radius * math.cos(angle))


@st.composite
def paths(draw: st.DrawFn) -> list[Step]:
    """A path that begins with a rapid and goes on with anything."""
    steps = [Step("rapid", draw(OUT), draw(TENTHS))]
    for _ in range(draw(st.integers(0, 12))):
        kind = draw(st.sampled_from(("rapid", "line", "arc", "stop")))
        feed = draw(st.integers(1, 5000))
        if kind == "arc":
            x, z, i, k, end_x, end_z = draw(arcs())
            steps += [Step("rapid", x, z), Step("arc", end_x, end_z, i, k, draw(st.sampled_from((-1, 1))), feed)]
        elif kind == "stop":
            steps.append(Step("stop", steps[-1].x, steps[-1].z))
        else:
            steps.append(Step(kind, draw(OUT), draw(TENTHS), feed=feed))
    return steps


def word(letter: str, tenths: int) -> str:
    return f"{letter}{tenths / 10_000:.4f}"


def write(steps: list[Step], eia: bool) -> str:
    """The path in one standard's words: X a diameter and feed per revolution, or X a radius and feed per minute."""
    lines = []
    for step in steps:
        axes = f"{word('X', step.x * (2 if eia else 1))} {word('Z', step.z)}"
        feed = word("F", step.feed if eia else step.feed * RPM)
        if step.kind == "stop":
            lines.append("M0" + ("\nG97 S800 M3" if eia else ""))
        elif step.kind == "arc":
            lines.append(f"G{2 if step.turn < 0 else 3} {axes} {word('I', step.i)} {word('K', step.k)} {feed}")
        else:
            lines.append(f"G0 {axes}" if step.kind == "rapid" else f"G1 {axes} {feed}")
    return (EIA_START if eia else NGC_START) + "\n".join(lines) + "\nM30\n"


def clean(text: str, rules: Rules) -> list[Motion]:
    """Moves and stops of a text without problems."""
    program = read_program(text, rules)
    assert not program.problems, "\n".join(str(p) for p in program.problems)
    return [m for m in program.motions if m.kind in ("rapid", "line", "arc", "stop")]


def plain(motions: list[Motion]) -> list[tuple[object, ...]]:
    """What two dialects must agree on, to the last bit."""
    return [
        (m.kind, m.end.x, m.end.z, m.turn, m.centre and (m.centre.x, m.centre.z), m.spindle if m.kind != "stop" else 0)
        for m in motions
    ]


@given(paths())
def test_a_path_written_in_either_standard_reads_back_the_same(steps: list[Step]) -> None:
    ngc, eia = clean(write(steps, eia=False), NGC), clean(write(steps, eia=True), EIA)
    assert plain(ngc) == plain(eia)
    assert [m.kind for m in ngc] == [s.kind for s in steps]
    for motion, step in zip(ngc, steps, strict=True):
        assert (motion.end.x, motion.end.z) == (step.x / 10_000, step.z / 10_000)
    for per_minute, per_turn, step in zip(ngc, eia, steps, strict=True):
        if step.kind in ("line", "arc"):
            assert per_minute.feed == step.feed * RPM / 10_000
            assert per_turn.feed == step.feed / 10_000
        if step.kind == "arc":
            assert per_minute.turn == step.turn
            assert per_minute.centre is not None
            assert per_minute.centre.x == pytest.approx(per_minute.start.x + step.i / 10_000, abs=1e-12)
            assert per_minute.centre.z == pytest.approx(per_minute.start.z + step.k / 10_000, abs=1e-12)


@given(paths(), st.booleans(), st.randoms(use_true_random=False))
@settings(max_examples=50)
def test_the_order_of_words_on_a_line_does_not_matter(steps: list[Step], eia: bool, chance: random.Random) -> None:
    text, rules = write(steps, eia), EIA if eia else NGC
    lines = []
    for line in text.split("\n"):
        words = [*line.split(), "(note)"] if line and line != "%" else line.split()
        chance.shuffle(words)
        lines.append(" ".join(words))
    assert clean("\n".join(lines), rules) == clean(text, rules)


@given(paths(), st.booleans(), st.randoms(use_true_random=False))
@settings(max_examples=30)
def test_spaces_do_not_matter_nor_small_letters_in_ngc(steps: list[Step], eia: bool, chance: random.Random) -> None:
    text, rules = write(steps, eia), EIA if eia else NGC
    spaced = "".join(sign if sign == "\n" else chance.choice(("", "", " ", "\t")) + sign for sign in text)
    cased = spaced if eia else "".join(chance.choice((sign, sign.lower())) for sign in spaced)
    assert read_program(cased, rules).motions == read_program(text, rules).motions


@given(paths(), st.booleans(), st.integers(0, 99_989))
def test_line_numbers_and_empty_lines_do_not_matter(steps: list[Step], eia: bool, first: int) -> None:
    text, rules = write(steps, eia), EIA if eia else NGC
    head, *lines = text.split("\n")
    numbered = "\n".join([head, *(f"N{(first + i) % 99_999} {line}" if line else "" for i, line in enumerate(lines))])
    assert read_program(numbered, rules) == read_program(text, rules)
    spread = read_program(text.replace("\n", "\n\n"), rules)
    assert [m._replace(line=(m.line + 1) // 2) for m in spread.motions] == list(read_program(text, rules).motions)


@given(paths())
@settings(max_examples=50)
def test_g91_leads_to_the_same_places(steps: list[Step]) -> None:
    lines = ["G21 G18", f"G0 {word('X', steps[0].x)} {word('Z', steps[0].z)}", "G91"]
    for before, step in pairwise(steps):
        lines.append(f"G0 {word('X', step.x - before.x)} {word('Z', step.z - before.z)}")
    ends = [(m.end.x, m.end.z) for m in clean("\n".join([*lines, "M2"]), NGC)]
    for end, step in zip(ends, steps, strict=True):
        assert end == pytest.approx((step.x / 10_000, step.z / 10_000), abs=1e-9)


@given(paths())
@settings(max_examples=50)
def test_a_path_in_inches_is_the_same_path(steps: list[Step]) -> None:
    # printed in inches to nine decimals; an inch is 25.4 mm exactly
    def inches(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) / 25.4:.9f}"

    text = write(steps, eia=False)
    found = clean(re.sub(r"([XZIKF])(-?[0-9.]+)", inches, text.replace("G21", "G20")), NGC)
    for have, want in zip(found, clean(text, NGC), strict=True):
        assert (have.end.x, have.end.z) == pytest.approx((want.end.x, want.end.z), abs=1e-7)
        assert have.feed == want.feed or have.feed == pytest.approx(want.feed, rel=1e-4)


# Damage


RULES = st.sampled_from([NGC, EIA, Rules(standard="NISTIR 6556", x_words="diameter")])
WORDY = st.text(st.sampled_from("GMXYZIJKRFSTNPQLHDABCUEO0123456789.+-*/[]#=()% \t\n;SINATAMODexr,"), max_size=300)
LINES = st.lists(
    st.sampled_from([
        "G21", "G20", "G71", "G90", "G91", "G18", "G17", "G0X1Z2", "G1X3F5", "G2X5Z-1I1", "G3 X1 R2", "G92 X1", "G92.1",
        "G92.2", "G92.3", "G10L2P1X5", "G55", "G54", "G53G0X1", "G28X1", "G43H1", "G49", "G81Z1R2L2", "G83Z-9R2Q1",
        "G82R1Z0P1", "G80", "X#1", "#1=[3+4]", "G93", "G94", "G95", "G96S50M3", "G97S100", "T1M6", "T0101", "M0", "M1",
        "G41", "G98", "G99", "Y0", "X1", "Z3", "G4P1", "G4F1.", "M2", "%", "G38.2Z1F1", "G33Z1.K1.", "X1.Z2.", "F0",
        "G87X1Y1Z0R3I1J1K1", "M3", "/G0X9", "U1", "G0X1(a)",
    ]),
    max_size=25,
)  # fmt: skip


def check(program: Program) -> None:
    """What holds for any reading: motions before the first problem, problems in order with places, finite numbers."""
    first = min((p.where.line for p in program.problems if p.where.column), default=math.inf)
    assert all(m.line < first for m in program.motions)
    assert list(program.problems) == sorted(set(program.problems))
    for motion in program.motions:
        for value in (*motion.start, *motion.end, *(motion.centre or ())):
            assert math.isnan(value) or (math.isfinite(value) and (value or math.copysign(1, value) > 0))
        if motion.kind in ("line", "arc"):
            assert motion.feed is not None
            assert motion.feed > 0
    for problem in program.problems:
        assert problem.what
        assert 0 <= problem.where.line <= program.lines
        assert problem.where.path == "program"


@given(st.text(), RULES)
def test_any_text_gives_problems_or_motions(text: str, rules: Rules) -> None:
    check(read_program(text, rules))


@given(WORDY, RULES, st.booleans())
@settings(max_examples=200)
def test_any_text_of_words_gives_problems_or_motions(text: str, rules: Rules, switch: bool) -> None:
    check(read_program(text, rules, block_delete=switch))
    check(read_program(START + text, rules, block_delete=switch))
    check(read_program(EIA_START + text, rules, block_delete=switch))


@given(LINES, RULES)
@settings(max_examples=150)
def test_any_lines_give_problems_or_motions(lines: list[str], rules: Rules) -> None:
    for start in (START, EIA_START + "G0 X1. Z1.\n", ""):
        check(read_program(start + "\n".join(lines), rules))


@given(st.binary(max_size=200), RULES)
def test_binary_rubbish_gives_problems(data: bytes, rules: Rules) -> None:
    check(read_program(data.decode("latin-1"), rules))


@given(paths(), st.booleans(), st.data())
@settings(max_examples=100)
def test_damage_to_a_line_leaves_the_lines_before_it_as_they_were(
    steps: list[Step], eia: bool, data: st.DataObject
) -> None:
    text, rules = write(steps, eia), EIA if eia else NGC
    at = data.draw(st.integers(0, len(text) - 1))
    cut = data.draw(st.integers(0, 2))
    put = data.draw(st.text(st.sampled_from("GXZIKF0123.-(M[ \n"), max_size=2))
    damaged = text[:at] + put + text[at + cut :]
    program, whole = read_program(damaged, rules), read_program(text, rules)
    check(program)
    assert program.problems or program.motions[-1].kind == "end"
    line = text.count("\n", 0, at) + 1
    before = [m for m in whole.motions if m.line < line]
    assert list(program.motions[: len(before)]) == before


@pytest.mark.slow
def test_eight_thousand_damaged_programs() -> None:
    chance = random.Random(274)
    texts = []
    for seed in range(20):
        pick = random.Random(seed)
        steps = [Step("rapid", 50_000, 0)]
        for _ in range(20):
            x, z, i = pick.randrange(200_000), pick.randrange(-200_000, 0), pick.randrange(1, 50_000)
            steps += [Step("line", x, z, feed=500), Step("arc", x + i, z - i, i, 0, -1, 300)]
        texts += [(write(steps, eia), EIA if eia else NGC) for eia in (False, True)]
    for count in range(8_000):
        text, rules = texts[count % len(texts)]
        for _ in range(chance.randrange(1, 4)):
            at = chance.randrange(len(text))
            put = chance.choice(("", chance.choice("GXZIKFUNM0123456789.-+()[]#%/ \n")))
            text = text[:at] + put + text[at + chance.randrange(2) :]
        program = read_program(text, rules)
        check(program)
        assert program.problems or program.motions[-1].kind == "end"


# Another reader


PLAIN_WORDS = st.lists(
    st.tuples(st.sampled_from("XYZIJKF"), st.integers(-(10**6), 10**6)),
    min_size=1,
    max_size=7,
    unique_by=lambda w: w[0],
)


@given(PLAIN_WORDS, st.sampled_from(["", "G0", "G1", "G90", "G2"]))
def test_pygcode_finds_the_same_words_on_a_plain_line(words: list[tuple[str, int]], code: str) -> None:
    # pygcode, a general-purpose library, as a second reader of one subset: letters with plain numbers, one G word, no
    # parameters, expressions, comments or spaces within numbers, all of which it reads otherwise or not at all.
    pytest.importorskip("pygcode")
    from pygcode.words import text2words  # noqa: PLC0415 - only here, and slow to load

    from cam.rs274.tables import find_standard  # noqa: PLC0415
    from cam.rs274.words import read_block  # noqa: PLC0415

    line = " ".join([code, *(f"{letter}{value / 1000}" for letter, value in words)]).strip()
    block = read_block(line.replace(" ", ""), find_standard("NISTIR 6556"), {}, [])
    theirs = {w.letter: float(w.value) for w in text2words(line)}
    codes = [code / 10 for code in block.g.values()]
    assert dict(block.words) | ({"G": codes[0]} if codes else {}) == theirs


def test_pygcode_leads_to_the_same_places() -> None:
    # absolute G0 and G1 lines in mm in the plane that its model of a machine begins with
    pygcode = pytest.importorskip("pygcode")
    chance = random.Random(6)
    lines = [f"G{chance.choice('01')} X{chance.uniform(-9, 9):.4f} Z{chance.uniform(-9, 9):.4f}" for _ in range(50)]
    machine = pygcode.Machine()
    ends = []
    for line in ["G21", "G90", "F100", *lines]:
        machine.process_block(pygcode.Line(line).block)
        ends.append((machine.pos.X, machine.pos.Z))
    found = read_program("\n".join(["G21", "G90", "F100", *lines, "M2"]), NGC)
    assert not found.problems
    ours = [(m.end.x, m.end.z) for m in found.motions if m.kind in ("rapid", "line")]
    for have, want in zip(ours, ends[3:], strict=True):
        assert have == pytest.approx(want)
