"""A new part from flags, from answers at a terminal, from a drawing: what is written makes, and nothing is assumed."""

from __future__ import annotations

import contextlib
import os
import pty
import re
import select
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.begin.answers import SaidOfPart
from cam.begin.ask_part import ask_part
from cam.begin.form import FormQuestion
from cam.shop import read_shop
from tests.specimens import some
from tests.test_cli import run

ROOT = Path(__file__).parent.parent
SHOP = str(ROOT / "samples" / "shop.toml")
CENTRES = ("--holding", "between centres", "--tail-centre", "dead centre", "--extra-length", "0 mm")
COLLET = ("--holding", "collet", "--free-end", "A", "--stick-out", "17 mm", "--facing", "0.5 mm")
COMMON = ("--shop", SHOP, "--corners", "fillet up to 0.2 mm", "--edges", "chamfer 0.2 mm")
ARBOR = (
    *("--section", "front pivot, pivot, 5 mm, 7 mm, -0.01 / -0.03 mm", "--section", "wheel seat, seat, 8 mm, 9 mm, h7"),
    *("--section", "body, body, 10 mm, 26 mm", "--section", "arm seat, seat, 8 mm, 11 mm"),
    *("--section", "back pivot, pivot, 5 mm, 7 mm, edge_b radius 0.3 mm"),
    *("--material", "silver steel", "--stock-diameter", "12 mm", "--stock-length", "62 mm"),
)
PIN = (
    *("--section", "handle, pivot, 3 mm, 5 mm", "--section", "seat, seat, 5 mm, 8 mm"),
    *("--section", "head, plain, 6 mm, 20 mm, finish as stock"),
    *("--material", "brass", "--stock-diameter", "6 mm", "--stock-length", "36 mm"),
)
WHOLE = (*COMMON, *CENTRES, *ARBOR, "--finish", "turn")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def read(name: str = "new.toml") -> dict[str, object]:
    return tomllib.loads(Path(name).read_text(encoding="utf-8"))


# Flags ------------------------------------------------------------------------------------------------

MATRIX = {
    "between centres": (*CENTRES, *ARBOR, "--finish", "turn"),
    "burnished pivots": (*CENTRES, *ARBOR, "--finish", "turn", "--bearing-finish", "turn then stone then burnish",
                         "--leave", "0.03 mm", "--leave-face", "0 mm"),
    "all filed": (*CENTRES, *ARBOR, "--finish", "turn then file", "--leave", "0.05 mm", "--leave-face", "0.01 mm"),
    "limits of all": (*CENTRES, *ARBOR, "--finish", "turn", "--tolerance", "±0.02 mm"),
    "collet": (*COLLET, *PIN, "--finish", "turn"),
    "bare mm": (*CENTRES, "--units", "mm", *(w if "0." in w else w.replace(" mm", "") for w in ARBOR),
                "--finish", "turn"),
    "bare edges": (*CENTRES, "--units", "mm", *ARBOR, "--finish", "turn", "--edges", "chamfer 0.2", "--corners",
                   "fillet up to 0.2"),
    "bare undercuts": (*CENTRES, "--units", "mm", "--finish", "turn",
                     *(w.replace("h7", "h7, corner_b undercut 1 wide 0.2 deep") for w in ARBOR)),
    "a rest": (*CENTRES, *(w.replace("26 mm", "rest") for w in ARBOR), "--length", "60 mm", "--finish", "turn"),
    "a taper": (*CENTRES, *(w.replace("seat, 8 mm, 9 mm, h7", "plain, 8 mm to 8.6 mm, 9 mm") for w in ARBOR),
                "--finish", "turn"),
    "a screw": (
        *("--holding", "collet", "--free-end", "A", "--stick-out", "18 mm", "--facing", "0.5 mm", "--part-off", "saw"),
        *("--section", "shank, plain, thread M3, 4 mm, thread_by die, corner_b undercut 1 mm wide 0.4 mm deep"),
        *("--section", "head, plain, 4 mm, 2.5 mm", "--finish", "turn", "--material", "silver steel"),
        *("--stock-diameter", "6 mm", "--stock-length", "45 mm")),
    "a section's own finish": (
        *CENTRES, *(w.replace("h7", "h7, finish turn then stone, on_diameter 0.02 mm, on_face 0 mm") for w in ARBOR),
        "--finish", "turn"),
}  # fmt: skip


def common_of(name: str) -> tuple[str, ...]:
    """Return what every part is asked for with, but for what its own flags say."""
    pairs = zip(COMMON[::2], COMMON[1::2], strict=True)
    return tuple(word for flag, value in pairs if flag not in MATRIX[name] for word in (flag, value))


@pytest.mark.parametrize("name", some(MATRIX, "collet", "a taper", "a section's own finish"))
def test_what_flags_say_makes_at_once(name: str, here: Path) -> None:
    answer = run("new", "new.toml", *common_of(name), *MATRIX[name])
    assert answer.status == 0, answer.err
    assert "it makes: closest " in answer.out
    assert "next: endshake make new.toml --out build/new" in answer.out
    made = run("make", "new.toml", "--out", "build/new")
    assert made.status == 0, made.err


def test_inches_and_a_shop_beside_the_part(here: Path) -> None:
    words = [w.replace("12 mm", "1/2 in").replace("62 mm", "2 1/2 in") for w in ARBOR]
    rest = [w for w in COMMON if w not in ("--shop", SHOP)]
    answer = run("new", "samples/new.toml", *rest, *CENTRES, *words, "--finish", "turn")
    assert answer.status == 0, answer.err
    assert read("samples/new.toml")["shop"] == "shop.toml"
    assert "samples/shop.toml is the shop file: it lies beside the part" in answer.out
    assert 'called "new", after the file' in answer.out
    assert read("samples/new.toml")["stock"] == {"material": "silver steel", "diameter": "1/2 in", "length": "2 1/2 in"}


@given(
    pivot=st.integers(25, 50), step=st.integers(12, 30), body=st.integers(100, 400), length=st.integers(40, 120),
    back=st.integers(30, 60),
)  # fmt: skip
@settings(max_examples=5, deadline=None)
def test_any_plain_arbor_that_is_begun_makes(pivot: int, step: int, body: int, length: int, back: int) -> None:
    """Tenths of mm: a pivot from 2.5 mm, a body 2.4 mm to 6 mm thicker, and another seat behind it."""
    thick = max(pivot, back) + 2 * step
    with tempfile.TemporaryDirectory() as folder:
        file = str(Path(folder) / "new.toml")
        answer = run(
            "new", file, *COMMON, "--units", "mm", "--holding", "between centres", "--tail-centre", "half centre",
            "--extra-length", "6", "--material", "brass", "--finish", "turn", "--stock-diameter", str(thick / 10 + 1),
            "--stock-length", str((length + body + 80) / 10 + 14),
            "--section", f"front, pivot, {pivot / 10}, {length / 10}",
            "--section", f"body, body, {thick / 10}, {body / 10}",
            "--section", f"back, seat, {back / 10}, 8",
        )  # fmt: skip
        assert answer.status == 0, answer.err
        assert run("make", file, "--out", str(Path(folder) / "build")).status == 0


def test_what_is_lacking_is_refused_all_at_once_by_flag(here: Path) -> None:
    answer = run("new", "new.toml", "--shop", SHOP, "--holding", "collet")
    assert answer.status == 1
    for flag in ("material", "section", "stock-diameter", "stock-length", "free-end", "stick-out", "facing"):
        assert f"--{flag}: must be said: " in answer.err
    assert "7 problems" in answer.err
    assert not Path("new.toml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--holding", "magnet"), "--holding: there is no holding of that name"),
        (("--material", "silver stel"), 'did you mean "silver steel"?'),
        (("--stock-diameter", "12"), "--stock-diameter: stock diameter: "),
        (("--units", "furlong"), "--units: bare numbers are in mm or in"),
        (
            ("--holding", "collet", "--section", "shank, plain, thread M3, 4 mm, thread_by die"),
            "--part-off: must be said: how the screw comes off its bar",
        ),
        (("--finish", "turn then polish"), 'no step of finishing called "polish"'),
        (("--section", "front pivot, pivot, 5 mm"), "this section is not said in full"),
        (("--section", "front pivot, pivit, 5 mm, 6 mm"), 'there is no role "pivit"'),
        (("--section", "front pivot, pivot, 5, 6 mm"), "diameter of front pivot: "),
        (("--section", "front pivot, pivot, 5 mm, 6 mm, colour red"), '"colour red" says nothing that is known here'),
        (("--section", "x, pivot, 5 mm, 6 mm, edge_a sharp, edge_a sharp"), "edge_a is said twice"),
        (("--square", "across 3.6 mm, at 10 mm"), "--square: must be said: its taper"),
        (
            ("--cross-hole", "name hook, through yes, thread M3"),
            'must be said: the section that it is in, of cross hole "hook"',
        ),
        (("--cross-hole", "name hook, thread M3"), "must be said: lead of the last tap"),
        (("--section", "tail, square blank, 5 mm, 9 mm"), 'the hole that it must pass through, of "tail"'),
        (("--square", "across 3.6, sideways 3"), '"sideways 3" says nothing that is known here'),
    ],
)
def test_a_wrong_answer_is_a_problem_of_its_flag(words: tuple[str, ...], said: str, here: Path) -> None:
    answer = run("new", "new.toml", "--shop", SHOP, *words)
    assert answer.status == 1
    assert said in answer.err
    assert not Path("new.toml").exists()


@pytest.mark.parametrize(
    ("words", "flags"),
    [((*CENTRES, "--chuck", "6 mm collet", "--stick-out", "9 mm", "--free-end", "A"), "chuck stick-out free-end"),
     ((*COLLET, "--tail-centre", "dead centre", "--extra-length", "1 mm"), "tail-centre extra-length"),
     ((*CENTRES, "--layer", "outline"), "layer"),
     (("--from-dxf", "pin.dxf", "--edges", "chamfer 0.2 mm", "--stick-out", "9 mm", "--extra-length", "1 mm"),
      "edges stick-out extra-length"),
     ((*ARBOR, "--finish", "turn", "--leave", "0.03 mm", "--leave-face", "0 mm"), "leave leave-face"),
     (("--section", "a, seat, 5 mm, 6 mm", "--bearing-finish", "turn, stone"), "bearing-finish"),
     (("--commented", "--material", "brass", "--section", "a, seat, 5 mm, 6 mm", "--from-dxf", "pin.dxf"),
      "material section from-dxf")],
)  # fmt: skip
def test_what_would_not_count_is_refused_all_at_once(words: tuple[str, ...], flags: str, here: Path) -> None:
    answer = run("new", "new.toml", "--shop", SHOP, *words)
    assert answer.status == 1
    assert sorted(re.findall(r"--(\S+): this would not count: ", answer.told)) == sorted(flags.split())
    assert not Path("new.toml").exists()


@pytest.mark.parametrize(
    "words",
    [(*ARBOR, "--finish", "turn", "--bearing-finish", "turn, stone", "--leave", "0.03 mm", "--leave-face", "0 mm"),
     ("--section", "a, pivot, 5 mm, 6 mm, finish turn then stone", "--leave", "0.03 mm"), ("--leave", "0.03 mm"),
     ("--section", "a, pivot, 5 mm, 6 mm", "--leave", "0.03 mm")],
)  # fmt: skip
def test_what_counts_or_may_yet_count_is_not_refused_as_if_it_did_not(words: tuple[str, ...], here: Path) -> None:
    assert "would not count" not in run("new", "new.toml", "--shop", SHOP, *words).told


def test_the_commented_file_is_called_as_was_said(here: Path) -> None:
    assert run("new", "new.toml", "--commented", "--name", "winding arbor").status == 0
    assert read("new.toml")["name"] == "winding arbor"


def test_a_part_that_may_not_be_cut_is_kept_and_said_to_be_refused(here: Path) -> None:
    words = [w.replace("12 mm", "10 mm") if w == "12 mm" else w for w in WHOLE]
    answer = run("new", "new.toml", *words)
    assert answer.status == 1
    assert "the stock is too thin" in answer.err
    assert "new.toml does not make yet" in answer.out
    assert read()["stock"]["diameter"] == "10 mm"  # type: ignore[index]


def test_a_file_that_is_there_is_kept(here: Path) -> None:
    Path("new.toml").write_text("mine")
    answer = run("new", "new.toml", *WHOLE)
    assert (answer.status, Path("new.toml").read_text()) == (1, "mine")
    assert "is there already" in answer.err


def test_a_dash_prints_it(here: Path) -> None:
    answer = run("new", "-", *WHOLE)
    assert answer.status == 0
    assert tomllib.loads(answer.out)["name"] == "my arbor"


def test_without_flags_and_terminal_the_commented_file_is_written(here: Path) -> None:
    assert run("new", "one.toml").status == 0
    assert run("new", "two.toml", "--commented").status == 0
    assert "# A part file to start from" in Path("one.toml").read_text()
    assert Path("one.toml").read_text().replace('name = "one"', 'name = "two"') == Path("two.toml").read_text()


def test_the_commented_file_names_the_shop_that_lies_beside_it_or_was_said(here: Path) -> None:
    first = run("new", "samples/one.toml", "--commented")
    assert (read("samples/one.toml")["shop"], first.out) == (
        "shop.toml", "samples/one.toml: written; next: endshake check samples/one.toml\n"
    )  # fmt: skip
    assert run("new", "two.toml", "--commented", "--shop", "samples/shop.toml").status == 0
    assert read("two.toml")["shop"] == "samples/shop.toml"
    Path("lone").mkdir()
    answer = run("new", "lone/three.toml", "--commented")
    assert "name your shop file in it in place of samples/shop.toml, then endshake check" in answer.out


def test_end_shake_is_never_written_for_you(here: Path) -> None:
    run("new", "new.toml", *WHOLE)
    assert "shake" not in Path("new.toml").read_text()


SQUARE = (
    "across 4.2 mm, at 10 mm, taper 0.3 deg included, corners round, tolerance ±0.01 mm, allowance 0.02 mm, "
    "flats_end 0.1 mm, grip body, grip_length 21 mm"
)
HOLE = (
    "name hook hole, section body, face A, distance 8 mm, angle 0 deg, thread M3, depth 5 mm, lead bottoming, "
    "chips 0.5 mm, flat_depth 0.3 mm, grip body, grip_length 12 mm"
)
DRUM = (
    *("--section", "square, square blank, 5.2 mm, 20 mm, +0 / -0.05 mm, bearing 6.02 mm"),
    *("--section", "front pivot, pivot, 6 mm, 6 mm, -0.01 / -0.03 mm", "--section", "front seat, seat, 8 mm, 7.5 mm"),
    *("--section", "body, body, 14 mm, 32 mm", "--section", "back seat, seat, 8 mm, 6.5 mm"),
    *("--section", "back pivot, pivot, 4 mm, 6 mm, -0.01 / -0.03 mm", "--finish", "turn"),
    *("--material", "silver steel", "--stock-diameter", "16 mm", "--stock-length", "82 mm"),
)  # fmt: skip


@pytest.mark.slow
def test_a_square_and_a_cross_hole_make_at_once(here: Path) -> None:
    answer = run("new", "new.toml", *COMMON, *CENTRES, *DRUM, "--square", SQUARE, "--cross-hole", HOLE)
    assert answer.status == 0, answer.err
    assert run("make", "new.toml", "--out", "build").status == 0
    assert {"square.ngc", "cross-hole.ngc"} <= {p.name for p in Path("build").iterdir()}


def test_a_square_without_a_blank_is_refused(here: Path) -> None:
    answer = run("new", "new.toml", *WHOLE, "--square", SQUARE)
    assert answer.status == 1
    assert "a square wants one section of the role square blank" in answer.err


# At a terminal ----------------------------------------------------------------------------------------


PATIENCE = 120
"""Seconds without a sign after which a run waits for an answer that it does not get; only a fault comes to that."""


def converse(*words: str, answers: list[str]) -> tuple[int, str]:
    """The command with a terminal of its own, answered line by line; its text without the breaks of lines."""
    control, terminal = pty.openpty()
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb"}
    process = subprocess.Popen(
        [sys.executable, "-m", "cam", *words], stdin=terminal, stdout=terminal, stderr=terminal, env=env
    )
    os.close(terminal)
    os.write(control, "".join(f"{line}\n" for line in answers).encode())
    text = b""
    while select.select([control], [], [], PATIENCE)[0]:
        try:
            piece = os.read(control, 10_000)
        except OSError:  # the other side is closed
            break
        if not piece:
            break
        text += piece
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(timeout=PATIENCE)
    process.kill()  # it may be waiting for an answer that it does not get
    status = process.wait()
    os.close(control)
    return status, " ".join(text.decode(errors="replace").split())


def test_a_terminal_is_asked_and_asked_again(here: Path) -> None:
    status, text = converse(
        "new",
        "new.toml",
        answers=[
            "mm", "nowhere.toml", "samples/shop.toml", "unobtainium", "brass", "collet", "handle, pivot, 3, 5",
            "seat, sit, 5, 8", "seat, seat, 5, 8", "head, plain, 6, 20, finish as stock", "", "", "fillet up to 0.2 mm",
            "chamfer 0.2 mm", "turn", "6", "36", "A", "17", "0.5",
        ],
    )  # fmt: skip
    assert status == 0, text
    assert 'there is no role "sit"' in text
    assert "ROLE is pivot, journal, seat, body, square blank, undercut or plain; limits may follow" in text
    assert "there is no material of that name" in text
    assert "nowhere.toml: " in text
    assert "at least 6.1 mm, or that of a section left as stock" in text
    assert "6 mm collet holds it: the only collet of the shop file" in text
    assert "it makes: closest " in text
    assert read()["holding"]["chuck"] == "6 mm collet"  # type: ignore[index]


def asked(*answers: str, shop: str = SHOP, **said: str | tuple[str, ...]) -> FormQuestion:
    """The question that is put after some answers, where these things were said before."""
    asking = ask_part("new.toml", SaidOfPart(name="new", shop=shop, **said), read_shop(shop))  # type: ignore[arg-type]
    ask = next(asking)
    for answer in answers:
        ask = asking.send(answer)
    return ask


BAR = {"unit": "mm", "material": "brass", "holding": "between centres", "tail_centre": "dead centre"}
PLAIN = {**BAR, "corners": "fillet up to 0.2 mm", "edges": "sharp", "finish": "turn"}
LENGTHS = ("front, pivot, 5, 7", "body, body, 10, measured", "back, pivot, 4, 7")


@pytest.mark.parametrize(
    ("section", "what"),
    [
        ("front, pivot, 5, 6, +0.01 / +0.01", "no room between these limits"),
        ("front, pivot, 5, 6, edge_a chamfer 3", "the step is 2.5 mm high"),
        ("front, pivot, 5, 6, corner_b 4 1/4", "this corner cannot be read"),
        ("front, pivot, 5, 6, h77", "not in the table"),
        ("front, pivot, 5, 6, bearing 5.02", "only a square blank"),
        ("front, pivot, 5, 5,5", 'did you mean "5.5"?'),
        ("front, pivot, 5, 6,5, -0.01 / -0.03", 'did you mean "6.5"?'),
        ("front, pivot, 500.1, 6", "too large"),
    ],
)
def test_a_section_that_cannot_be_is_refused_at_its_question(section: str, what: str) -> None:
    ask = asked(section, **BAR)
    assert ask.words == "section 1"
    assert what in "\n".join(map(str, ask.problems))
    assert all(str(problem).startswith("this answer: ") for problem in ask.problems)


def test_what_comes_after_a_section_may_still_make_it_good() -> None:
    after = ("neck, undercut, 4, 1", "body, body, 10, 20, edge_b chamfer 0.3", "back, pivot, 4, 7")
    for count in range(len(after) + 1):
        ask = asked("front, pivot, 5, 7, corner_b fillet up to 0.1", *after[:count], **BAR)
        assert (ask.words, ask.problems) == (f"section {count + 2}", ())


@pytest.mark.parametrize(
    ("answers", "what"),
    [
        (("101",), "does not swing over the cross slide"),
        (("10",), "at least 10.1 mm"),
        (("12", "13"), "a bar of more than 14 mm"),
        (("12", "40", "14"), "a bar of more than 42 mm"),
    ],
)
def test_a_bar_that_cannot_be_is_refused_at_its_question(answers: tuple[str, ...], what: str) -> None:
    shop = read_shop(SHOP)
    assert shop.lathe.swing_over_slide < 101
    ask = asked(*answers, sections=LENGTHS, **PLAIN)
    assert what in "\n".join(map(str, ask.problems))


def test_the_hint_of_a_bar_is_taken_as_its_answer() -> None:
    finish = {**PLAIN, "finish": "turn then stone", "leave": "0.03", "leave_face": "0"}
    sections = ("front, pivot, 5, 7", "body, body, 10, 20, +0.02 / -0.01", "back, pivot, 4, 7")
    ask = asked(sections=sections, **finish)
    assert ask.hint.startswith("at least 10.15 mm")
    assert asked("10.15", sections=sections, **finish).problems == ()
    assert asked("10.149", sections=sections, **finish).problems
    assert "and what is measured" in asked("12", sections=LENGTHS, **PLAIN).hint


BLANK = ("square, square blank, 5.2, 20, +0 / -0.05, bearing 6.02", "front, pivot, 6, 6", "body, body, 14, 32")


@pytest.mark.parametrize(
    ("square", "hole", "answer", "what"),
    [
        ("across 4.2", "", "140", 'more than the length of "square"'),
        (SQUARE.replace(", grip_length 21 mm", ""), "", "210", 'more than the length of "body"'),
        (SQUARE, "name hook, section body, face A", "80", 'more than the length of "body"'),
        (SQUARE, "name hook, section body, face A, distance 8, angle any", "14", 'more than the diameter of "body"'),
        (SQUARE, "name hook, section body, face A, distance 8, angle any, diameter 2", "50", "less than 14 mm"),
    ],
)
def test_a_size_that_its_section_does_not_have_is_refused_at_its_question(
    square: str, hole: str, answer: str, what: str
) -> None:
    before = asked(sections=BLANK, square=square, cross_holes=(hole,) if hole else (), **PLAIN)
    ask = asked(answer, sections=BLANK, square=square, cross_holes=(hole,) if hole else (), **PLAIN)
    assert ask.words == before.words
    assert what in "\n".join(map(str, ask.problems))


@pytest.mark.parametrize("typed", ["centers", "Between Centers", "between centre", "centres"])
def test_the_trade_s_words_are_taken(typed: str) -> None:
    assert "NAME, ROLE" in asked(typed, **{**BAR, "holding": "", "tail_centre": ""}).words


def test_a_material_that_may_be_two_is_asked_for_by_its_number() -> None:
    ask = asked("aluminum", **{**BAR, "material": ""})
    assert ask.problems[0].fix == "say which: 2011 aluminium or 6082 aluminium"
    assert asked("en1a", **{**BAR, "material": ""}).words.startswith("the sections")


def test_a_name_is_told_as_it_was_given(here: Path) -> None:
    text = Path("samples/shop.toml").read_text()
    chuck = text[text.index("[[chuck]]") :].partition("\n\n")[0]
    Path("samples/shop.toml").write_text(f"{text}\n{chuck.replace('6 mm', '2 mm')}\n")
    said = {**BAR, "unit": "in", "holding": "collet", "corners": "fillet up to 0.2 mm", "edges": "sharp"}
    said |= {"finish": "turn", "stock_diameter": "6 mm", "stock_length": "36 mm"}
    ask = asked(shop="samples/shop.toml", sections=("a, plain, 4 mm, 5 mm",), **said)
    assert ask.hint == "6 mm collet, 2 mm collet"


@pytest.mark.slow
def test_what_does_not_make_is_said_before_it_is_written_and_back_changes_it(here: Path) -> None:
    sections = ("front, pivot, 5 mm, 8 mm", "body, body, 10 mm, 28 mm", "back, pivot, 4 mm, 8 mm")
    words = [*COMMON, *CENTRES[:4], *ARBOR[10:], *(w for s in sections for w in ("--section", s))]
    words += ["--finish", "turn", "--units", "mm"]
    status, text = converse("new", "new.toml", *words, answers=["0", "back", "6"])
    assert status == 0, text
    assert "so it does not make; back to change an answer, or Enter to write it as it stands" in " ".join(text.split())
    assert read()["holding"]["end_a"]["extra_length"] == "6 mm"  # type: ignore[index]
    status, text = converse("new", "other.toml", *words, answers=["0", ""])
    assert status == 1
    assert "other.toml does not make yet" in text


@pytest.mark.slow
def test_back_goes_from_what_was_measured_to_the_sections_and_to_the_first_question(here: Path) -> None:
    words = [w for w in WHOLE if "," not in w and w != "--section"]
    status, text = converse(
        "new", "new.toml", *words,
        answers=[
            "feet", "mm", "front, pivot, 5, 6", "body, body, 10, measured", "", "back", "arm, seat, 8, 8", "", "",
            "between plates", "frame", "nobody", *["back"] * 9,
            "millimetres", "front, pivot, 5, 12", "front, pivot, 5, 12", "body, body, 10, measured",
            "back, pivot, 5, 12", "", "", "between plates", "back", "back", "back", "back", "back, pivot, 4, 12", "",
            "", "between plates", "frame", "body", "body", "28.22", "±0.02", "gauge", "0.1", "0.2", "0.3", "±0.02",
            "0", "0", "",
        ],
    )  # fmt: skip
    assert status == 0, text
    assert text.count("this is not one of the answers") == 2  # feet, and a section called nobody
    assert 'there is a section called "front" already' in text
    assert [(s["diameter"], s.get("length")) for s in read()["section"]] == [  # type: ignore[attr-defined]
        ("5 mm", "12 mm"), ("10 mm", None), ("4 mm", "12 mm"),
    ]  # fmt: skip
    assert "it makes: closest " in text


@pytest.mark.slow
def test_a_screw_is_asked_whether_its_head_is_a_hook(here: Path) -> None:
    words = [*COMMON, "--units", "mm", *MATRIX["a screw"]]
    status, text = converse(
        "new", "new.toml", *words,
        answers=["yes", "head", "0.4", "8", "3", "0.05", "8", "clockwise", "14", "0.3", "5", "shoulder"],
    )  # fmt: skip
    assert status == 0, text
    assert "it makes: closest " in text
    assert read()["hook"]["lean"] == "8 deg"  # type: ignore[index]


def test_only_what_flags_leave_open_is_asked(here: Path) -> None:
    words = [w for w in WHOLE if w not in ("--material", "silver steel")]
    status, text = converse("new", "new.toml", *words, answers=["", "silver steel"])
    assert status == 0, text
    assert text.count("what the bar is made of") == 1
    assert "how the part is held" not in text


def test_an_end_of_the_answers_writes_nothing(here: Path) -> None:
    status, _ = converse("new", "new.toml", "--shop", SHOP, answers=["mm", "\x04"])
    assert status == 1
    assert not Path("new.toml").exists()


# From a drawing ---------------------------------------------------------------------------------------


def test_a_drawing_leaves_open_what_it_does_not_say(here: Path) -> None:
    assert run("dxf", "samples/crank-pin.toml", "--out", "pin.dxf").status == 0
    answer = run("new", "new.toml", "--from-dxf", "pin.dxf", "--shop", "samples/shop.toml")
    assert answer.status == 0, answer.err
    assert (
        'still to be said, marked "?": finish, material, diameter, length, method, role (3), tolerance (3)'
        in answer.out
    )
    assert "drawn in mm, as its header says" in answer.out
    checked = run("check", "new.toml")
    assert checked.status == 1
    for key, count in {"role": 3, "tolerance": 3, "material": 1, "method": 1, "finish": 1, "diameter": 1}.items():
        assert checked.err.count(f": {key} is still to be said\n") == count


def test_a_drawing_and_flags_make_at_once(here: Path) -> None:
    run("dxf", "samples/crank-pin.toml", "--out", "pin.dxf")
    answer = run(
        "new", "new.toml", "--from-dxf", "pin.dxf", "--shop", "samples/shop.toml", *COLLET, "--material", "brass",
        "--stock-diameter", "6 mm", "--stock-length", "36 mm", "--finish", "turn", "--tolerance", "±0.02 mm",
        "--section", "pivot, pivot", "--section", "seat, seat, tolerance h7",
        "--section", "head, plain, finish as stock",
    )  # fmt: skip
    assert answer.status == 0, answer.err
    assert "it makes" in answer.out
    sections = read()["section"]
    assert [s["name"] for s in sections] == ["pivot", "seat", "head"]  # type: ignore[attr-defined]
    assert [s.get("tolerance") for s in sections] == ["±0.02 mm", "h7", None]  # type: ignore[attr-defined]


def test_names_for_more_sections_than_are_drawn_are_refused_with_what_is(here: Path) -> None:
    run("dxf", "samples/crank-pin.toml", "--out", "pin.dxf")
    answer = run("new", "new.toml", "--from-dxf", "pin.dxf", "--section", "pivot, pivot")
    assert answer.status == 1
    assert "the drawing has 3 sections, and 1 are named" in answer.err
    assert "3 mm long 5 mm; 5 mm long 8 mm; 6 mm long 20 mm" in answer.err
    assert not Path("new.toml").exists()


def test_a_drawing_is_not_overwritten(here: Path) -> None:
    Path("pin.dxf").write_text("mine")
    assert run("dxf", "samples/crank-pin.toml", "--out", "pin.dxf").status == 1
    assert run("dxf", "samples/crank-pin.toml", "--out", "pin.dxf", "--replace").status == 0
