"""What a program never says is found on lathe and mill, but for dated facts of the control that its head repeats."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from cam.job import judge_mill_program, judge_program, make_job
from cam.rs274 import read_program
from cam.rs274.model import Rules
from tests.specimens import SAMPLES

PART = SAMPLES / "orrery-drum-arbor.toml"
LATHE, MILL = ("1",), ("square", "cross-hole")
NGC, EIA = "rs274ngc", "eia274d"

pytestmark = pytest.mark.usefixtures("files_read_once")


@cache
def programs(dialect: str) -> dict[str, str]:
    job = make_job(str(PART), dialect=dialect, mill_dialect=dialect)
    return {str(w.setting.number): w.text for w in job.works} | {w.name: w.text for w in job.mill.works}


def without(text: str, words: str) -> str:
    """The program with every such word taken out of its code."""
    word = re.compile(rf" ?\b(?:{words})\b(?![.\d])")
    lines = [row if row.startswith("(") else word.sub("", row) for row in text.split("\n")]
    return "\n".join(re.sub(r"^(N\d+) *$", "", row) for row in lines)


def judged(name: str, text: str, folder: Path, dialect: str, shop: Path | None = None) -> list[str]:
    """What is found."""
    file = folder / f"{name}.ngc"
    file.write_text(text)
    given = str(shop) if shop else None
    if name.isdigit():
        verdict = judge_program(str(file), str(PART), int(name), given, dialect=dialect)
    else:
        verdict = judge_mill_program(str(file), str(PART), name, given, dialect=dialect)
    return [p.what for p in verdict.problems]


@pytest.mark.parametrize("dialect", [NGC, EIA])
@pytest.mark.parametrize("name", [*LATHE, *MILL])
def test_programs_as_written_say_all(name: str, dialect: str, tmp_path: Path) -> None:
    assert judged(name, programs(dialect)[name], tmp_path, dialect) == []


@pytest.mark.parametrize("words", ["G90", "G94|G95", "G40", "G80", "G49", "G54|G55|G56|G57", "G17|G18", "G20|G21"])
@pytest.mark.parametrize("name", [*LATHE, *MILL])
def test_a_word_that_is_nowhere_is_found(name: str, words: str, tmp_path: Path) -> None:
    text = without(programs(NGC)[name], words)
    assert text != programs(NGC)[name]
    assert judged(name, text, tmp_path, NGC)


@pytest.mark.parametrize("words", ["G90", "G94|G95", "G40", "G80", "G17|G18", "G70|G71", "G97"])
@pytest.mark.parametrize("name", [*LATHE, *MILL])
def test_the_same_of_the_other_dialect(name: str, words: str, tmp_path: Path) -> None:
    text = without(programs(EIA)[name], words)
    assert text != programs(EIA)[name]
    assert judged(name, text, tmp_path, EIA)


STANDS = "(control: {} stands at the start, 2026-05-02)\n"


@pytest.mark.parametrize(("name", "words"), [("1", ("G90",)), ("1", ("G94", "G40", "G80")), ("square", ("G90", "G54"))])
def test_a_dated_fact_that_the_head_repeats_will_do(name: str, words: tuple[str, ...], tmp_path: Path) -> None:
    facts = ", ".join(f'"{word}" = "2026-05-02"' for word in words)
    shop = tmp_path / "shop.toml"
    text = (SAMPLES / "shop.toml").read_text()
    for line in ('rapid = "800 mm/min"\n', 'rapid = "600 mm/min"\n'):
        text = text.replace(line, f"{line}stands = {{ {facts} }}\n")
    shop.write_text(text)
    bare = without(programs(NGC)[name], "|".join(words))
    head = "".join(STANDS.format(word) for word in words)
    assert judged(name, head + bare, tmp_path, NGC, shop) == []
    assert judged(name, bare, tmp_path, NGC, shop), "the head must repeat it"
    assert judged(name, head.replace("05-02", "05-03") + bare, tmp_path, NGC, shop), "with its date"
    assert judged(name, head + bare, tmp_path, NGC), "and the shop file must say it"
    assert judged(name, bare.replace("G21\n", f"G21\n{head}", 1), tmp_path, NGC, shop), "before any code"


@pytest.mark.parametrize("dialect", [NGC, EIA])
def test_our_own_head_repeats_what_the_shop_file_says(dialect: str, tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    text = (SAMPLES / "shop.toml").read_text()
    for line in ('rapid = "800 mm/min"\n', 'rapid = "600 mm/min"\n'):
        text = text.replace(line, f'{line}stands = {{ "G90" = "2026-05-02", "G80" = "2026-05-03" }}\n')
    shop.write_text(text)
    job = make_job(str(PART), str(shop), dialect=dialect, mill_dialect=dialect)
    for work in (*job.works, *job.mill.works):
        name = str(work.setting.number) if hasattr(work, "setting") else work.name
        assert judged(name, without(work.text, "G90|G80"), tmp_path, dialect, shop) == []


def notes(text: str) -> list[tuple[int, str]]:
    program = read_program(text, Rules(standard="NISTIR 6556", x_words="radius"))
    return [(n.line, n.kind) for n in program.notes]


GOOD = "G21 G17 G90 G94 G40 G80 G49 G54\nT1 M6\n"


def test_notes_have_their_lines() -> None:
    assert notes(GOOD + "G0 X1\nM2\n") == []
    assert notes("G21\nG0 X1\nG17 G90 G94 G40 G80 G49 G54 T1 M6\nM2\n") == [(2, "never said")]
    assert notes("G21 G17 G90 G94 G40 G80 G49 G54\nT1\nG0 X1\nM2\n") == [(3, "not called")]
    assert notes(GOOD + "G92 X5\nG0 X1\nG92 X1\nG92 X3\nM2\n") == [(3, "datum moved"), (6, "datum moved")]
    assert notes(GOOD + "G10 L2 P1 X5\nG0 X1\nM2\n") == [(3, "datum moved")]
    assert notes(GOOD + "G0 X1\nG91\nG0 X1\nG90\nG0 X1\nM2\n") == [(4, "steps")]
    assert notes("G77 G90\nG0 X1\nM2\n") == [], "an unreadable line may have said it"


def test_machine_coordinates_under_steps_are_refused() -> None:
    program = read_program(GOOD + "G91\nG53 G0 X1\nM2\n", Rules(standard="NISTIR 6556", x_words="radius"))
    (problem,) = program.problems
    assert problem.where.line == 4
    assert problem.given == "G53 under G91"
    assert not read_program(GOOD + "G53 G0 X1\nM2\n", Rules(standard="NISTIR 6556", x_words="radius")).problems


@pytest.mark.parametrize("word", ["G92 X9.0", "G10 L2 P1 X1.0"])
@pytest.mark.parametrize("name", [*LATHE, *MILL])
def test_a_zero_moved_by_the_text_is_found(name: str, word: str, tmp_path: Path) -> None:
    text = re.sub(r"(?m)^(T1 M6\nG54)$", rf"\1\n{word}", programs(NGC)[name], count=1)
    assert text != programs(NGC)[name]
    assert any("the zero of X is moved by G" in what for what in judged(name, text, tmp_path, NGC))


@pytest.mark.parametrize("name", [*LATHE, *MILL])
def test_a_tool_that_is_only_chosen_is_named(name: str, tmp_path: Path) -> None:
    text = programs(NGC)[name].replace("T1 M6\n", "T1\n", 1)
    assert "no tool is called: T1 only chooses it, M6 is missing" in judged(name, text, tmp_path, NGC)
