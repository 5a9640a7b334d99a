"""Several of a kind: what is read off the assembly is common, sizes of each workpiece are its own and never mix."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from cam.job import make_job
from cam.measure.journal import read_journal
from cam.measure.whole import measured_of
from tests.test_cli import Answer, run

ROOT = Path(__file__).parent.parent
DRUM = "samples/orrery-drum-arbor.toml"
COMMON, ONE, TWO = (f"samples/orrery-drum-arbor{end}.log" for end in ("", ".piece-1", ".piece-two"))
SIZES = {
    piece: list(zip(("front seat shoulder", "front pivot diameter", "back seat stop diameter"), values, strict=True))
    for piece, values in (("1", ("33.56 mm", "5.98 mm", "8.07 mm")), ("two", ("33.44 mm", "5.97 mm", "8.02 mm")))
}
"""Piece -> what is recorded of it, in order."""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and the frame measured."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.log"))
    monkeypatch.chdir(tmp_path)
    good("record", DRUM, "between plates", "46.22 mm", "--piece", "1")
    return tmp_path


def good(*words: str) -> str:
    answer = run(*words)
    assert (answer.status, answer.err) == (0, "")
    return answer.out


def refused(*words: str) -> Answer:
    answer = run(*words)
    assert (answer.status, answer.out) == (1, "")
    return answer


def made(piece: str) -> list[tuple[str, str]]:
    """Every program of a piece, its own name in the heads apart."""
    job = make_job(DRUM, piece=piece)
    assert job.problems == ()
    works = [*job.works, *(job.mill.works if job.mill is not None else ())]
    return [(w.file, re.sub(r"^\(.*\)$", "", w.text, flags=re.MULTILINE)) for w in works]


def test_two_pieces_interleaved_come_out_as_each_does_alone(bench: Path) -> None:
    plain = made("")
    alone = {}
    for piece, sizes in SIZES.items():
        for name, value in sizes:
            good("record", DRUM, name, value, "--piece", piece)
        alone[piece] = made(piece)
    assert plain != alone["1"] != alone["two"]
    Path(ONE).unlink()
    Path(TWO).unlink()
    for (name, first), (other, second) in zip(*SIZES.values(), strict=True):
        good("record", DRUM, other, second, "--piece", "two")
        good("record", DRUM, name, first, "--piece", "1")
    assert {piece: made(piece) for piece in SIZES} == alone
    assert made("") == plain
    good("record", DRUM, "--withdraw", "1", "--piece", "two")
    assert made("1") == alone["1"]
    assert made("two") != alone["two"]
    assert [e.name for e in read_journal(COMMON).entries] == ["between plates"]


def test_what_is_read_off_the_assembly_is_common_to_all_pieces(bench: Path) -> None:
    good("record", DRUM, "between plates", "46.30 mm", "--piece", "two")
    for piece in ("", "1", "two", "three"):
        measured = measured_of(make_job(DRUM, piece=piece).part)
        assert next(m for m in measured.measurements if m.name == "between plates").mean == pytest.approx(46.3)
    assert not Path(ONE).exists()
    assert not Path(TWO).exists()


def test_sizes_in_the_common_log_are_of_no_piece(bench: Path) -> None:
    good("record", DRUM, "front pivot diameter", "5.98 mm")
    assert measured_of(make_job(DRUM, piece="1").part).actuals == ()
    assert len(measured_of(make_job(DRUM).part).actuals) == 1


def test_pages_programs_and_record_carry_the_pieces_name(bench: Path) -> None:
    good("record", DRUM, *SIZES["1"][0], "--piece", "1")
    good("make", DRUM, "--piece", "1", "--out", "one")
    for name in ("setting-1.ngc", "setting-2.ngc", "square.ngc", "summary.txt", "plot.svg", "plan.json"):
        assert "orrery drum arbor, piece 1" in " ".join(Path("one", name).read_text().lower().split()), name
    pages = Path("one/summary.txt").read_text().split("\f")
    assert all("PIECE 1" in page for page in pages if page.strip())
    assert good("simulate", "one/setting-2.ngc", "--part", DRUM, "--setting", "2", "--piece", "1")


def test_a_size_without_its_piece_is_refused_once_there_are_several(bench: Path) -> None:
    good("record", DRUM, *SIZES["1"][0], "--piece", "1")
    answer = refused("record", DRUM, *SIZES["1"][0])
    assert "say which, --piece and its name" in answer.err
    assert "pieces that have a log: 1" in answer.err
    assert re.match(r"samples/orrery-drum-arbor\.toml:[0-9]+: ", answer.err)
    good("record", DRUM, "between plates", "46.23 mm")


def test_history_shows_one_piece_and_what_is_common(bench: Path) -> None:
    for piece, sizes in SIZES.items():
        good("record", DRUM, *sizes[0], "--piece", piece)
    out = good("history", DRUM, "--piece", "two")
    assert "orrery drum arbor, piece two" in out
    assert "33.44 mm" in out
    assert "33.56 mm" not in out
    assert out.index("common to all pieces") < out.index("46.22 mm")
    assert "pieces that have a log: 1, two" in good("history", DRUM)


def test_a_message_that_rests_on_a_pieces_record_names_its_log_and_piece(bench: Path) -> None:
    good("record", DRUM, "front seat length", "14 mm", "--piece", "two", "--sure")
    err = run("check", DRUM, "--piece", "two").err
    assert f"{TWO}:1" in err
    assert f"endshake record {DRUM} --withdraw 1 --piece two" in err
    assert run("check", DRUM, "--piece", "1").status == 0
    good("record", DRUM, "--withdraw", "1", "--piece", "two")
    assert run("check", DRUM, "--piece", "two").status == 0


@pytest.mark.parametrize("name", ["a/b", "..", "a b", "é", "-1", "x" * 21, "nul\x00", "a\nb"])
def test_a_piece_whose_name_no_file_can_have_is_refused(bench: Path, name: str) -> None:
    before = sorted(Path("samples").iterdir())
    for words in (("record", DRUM, "front pivot diameter", "5.98 mm"), ("check", DRUM), ("history", DRUM)):
        assert "this is no name for a piece" in refused(*words, "--piece", name).err
    assert sorted(Path("samples").iterdir()) == before


def test_capitals_name_the_same_piece_as_small_letters(bench: Path) -> None:
    good("record", DRUM, *SIZES["1"][0], "--piece", "Two")
    assert Path(TWO).exists()
    assert "piece two" in good("history", DRUM, "--piece", "TWO")


def test_a_part_file_of_the_name_of_a_pieces_log_keeps_its_own(bench: Path) -> None:
    shutil.copy(DRUM, TWO.replace(".log", ".toml"))
    answer = refused("record", DRUM, *SIZES["two"][0], "--piece", "two")
    assert "another part file's" in answer.err
