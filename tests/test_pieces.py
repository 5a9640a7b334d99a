"""Several of a kind: what is read off the assembly is common, sizes of each workpiece are its own and never mix."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from cam.job import read_given
from cam.job.given import files_of
from cam.lengths.journal import read_journal
from cam.part.model import Part
from cam.plan import Pass, plan_job
from tests.test_cli import good, refused, run

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


def part_of(piece: str) -> Part:
    return read_given(DRUM, piece=piece)[0]


def planned(piece: str) -> list[tuple[Pass, ...]]:
    """Every pass of a piece; its programs say what stands here."""
    return [setting.passes for setting in plan_job(*read_given(DRUM, piece=piece)).settings]


@pytest.mark.slow
def test_two_pieces_interleaved_come_out_as_each_does_alone(bench: Path) -> None:
    plain = planned("")
    alone = {}
    for piece, sizes in SIZES.items():
        for name, value in sizes:
            good("record", DRUM, name, value, "--piece", piece)
        alone[piece] = planned(piece)
    assert plain != alone["1"] != alone["two"]
    Path(ONE).unlink()
    Path(TWO).unlink()
    for (name, first), (other, second) in zip(*SIZES.values(), strict=True):
        good("record", DRUM, other, second, "--piece", "two")
        good("record", DRUM, name, first, "--piece", "1")
    assert {piece: planned(piece) for piece in SIZES} == alone
    assert planned("") == plain
    good("record", DRUM, "--withdraw", "1", "--piece", "two")
    assert planned("1") == alone["1"]
    assert planned("two") != alone["two"]
    assert [e.name for e in read_journal(COMMON).entries] == ["between plates"]


def test_what_is_read_off_the_assembly_is_common_to_all_pieces(bench: Path) -> None:
    good("record", DRUM, "between plates", "46.30 mm", "--piece", "two")
    for piece in ("", "1", "two", "three"):
        measured = part_of(piece).measured
        assert next(m for m in measured.measurements if m.name == "between plates").mean == pytest.approx(46.3)
    assert not Path(ONE).exists()
    assert not Path(TWO).exists()


def test_sizes_in_the_common_log_are_of_no_piece(bench: Path) -> None:
    good("record", DRUM, "front pivot diameter", "5.98 mm")
    assert part_of("1").measured.actuals == ()
    assert len(part_of("").measured.actuals) == 1


@pytest.mark.slow
def test_pages_programs_and_record_carry_the_pieces_name(bench: Path) -> None:
    good("record", DRUM, *SIZES["1"][0], "--piece", "1")
    good("make", DRUM, "--piece", "1", "--out", "one")
    for name in ("setting-1.ngc", "setting-2.ngc", "square.ngc", "summary.txt", "plot.svg", "plan.json"):
        assert "piece 1, orrery drum arbor" in " ".join(Path("one", name).read_text().lower().split()), name
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
    assert "piece two, orrery drum arbor" in out
    assert "33.44 mm" in out
    assert "33.56 mm" not in out
    assert out.index("common to all pieces") < out.index("46.22 mm")
    assert "pieces that have a log: 1, two" in good("history", DRUM)


def test_history_of_a_piece_shows_all_that_became_of_what_is_common(bench: Path) -> None:
    for line in ("1", "2", "3"):
        good("record", DRUM, "--withdraw", line)
    common = good("history", DRUM, "--piece", "two").partition("common to all pieces")[2]
    marks = [re.split(r"  +", row)[-1] for row in common.splitlines() if re.match(r"\d", row)]
    assert marks == ["withdrawn by line 2", "withdraws line 1", "withdrawn by line 4", "withdraws line 3"]


def test_a_message_that_rests_on_a_pieces_record_names_its_log_and_piece(bench: Path) -> None:
    good("record", DRUM, "front seat length", "14 mm", "--piece", "two", "--sure")
    err = run("check", DRUM, "--piece", "two").err
    assert f"{TWO}:1" in err
    assert f"endshake record {DRUM} --withdraw 1 --piece two" in err
    part_of("1")
    good("record", DRUM, "--withdraw", "1", "--piece", "two")
    part_of("two")


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


@pytest.mark.slow
def test_a_batch_has_the_page_that_sets_the_shop_up_once_and_all_others_by_piece(bench: Path) -> None:
    """Nothing is recorded of either yet: all pages are alike but for the name, and what is read is written on each."""
    text = good("summary", DRUM, "--piece", "1", "--piece", "Two").replace("\f", "\n")
    titles = re.findall(r"^(.*): (.*?)(?:, continued)? +page ", text, re.MULTILINE)
    found = list(dict.fromkeys(titles))
    bench_pages = [name for name, title in found if title == "FIRST, ON THE BENCH"]
    assert bench_pages == ["PIECES 1, TWO, ORRERY DRUM ARBOR"]
    of_one, of_two = ([t for name, t in found if name == f"PIECE {p}, ORRERY DRUM ARBOR"] for p in ("1", "TWO"))
    assert of_one == of_two
    assert [t for t in of_one if t.startswith("SETTING")] == ["SETTING 1 of 2, A END", "SETTING 2 of 2, B END"]
    good("summary", DRUM, "--piece", "1", "--piece", "two", "--print", "batch.html", "--paper", "A4")
    printed = Path("batch.html").read_text()
    assert printed.count("FIRST, ON THE BENCH</h1>") <= 1
    assert "piece two, orrery drum arbor" in printed


@pytest.mark.slow
def test_why_and_compare_are_of_one_piece(bench: Path) -> None:
    """The last cut of the back seat is corrected by what its stop read, of each piece by its own."""
    for (name, first), (other, second) in zip(*SIZES.values(), strict=True):
        good("record", DRUM, other, second, "--piece", "two")
        good("record", DRUM, name, first, "--piece", "1")
    told = {piece: good("why", DRUM, "--piece", piece, "--every") for piece in SIZES}
    assert told["1"] != told["two"] != good("why", DRUM, "--every")
    assert all("7.98 mm diameter, X said for" in " ".join(words.split()) for words in told.values())
    for piece in SIZES:
        good("make", DRUM, "--piece", piece, "--out", piece)
        assert good("compare", piece, DRUM, "--piece", piece).startswith("alike: ")
    both = good("compare", DRUM, DRUM, "--piece", "1", "--piece", "two")
    assert "back seat: X said for" in both
    assert "finish back seat: diameter" not in both  # either comes out at the same
    assert f"A  {DRUM}, piece 1\nB  {DRUM}, piece two\n" in both
    assert both.splitlines()[2:] == good("compare", "1", "two").splitlines()[2:]
    programs = ("1/setting-2.ngc", "two/setting-2.ngc")
    assert "A  1/setting-2.ngc, piece 1" in good(
        "compare", *programs, "--part", DRUM, "--setting", "2", "--piece", "1", "--piece", "two"
    )
    answer = refused("compare", "1", DRUM, "--piece", "two")
    assert "1/plan.json: is of another workpiece than --piece says" in answer.err
    assert run("compare", DRUM, DRUM, *("--piece", "1") * 3).status == 2
    assert "this is no name for a piece" in refused("compare", DRUM, DRUM, "--piece", "../x").err
    assert "this is no name for a piece" in refused("watch", DRUM, "--piece", "../x").err


def test_watch_looks_at_the_log_of_its_piece(bench: Path) -> None:
    names = {piece: {file.name for file in files_of(DRUM, None, piece)} for piece in ("", *SIZES)}
    assert names[""] == {"orrery-drum-arbor.toml", "orrery-drum-arbor.log", "shop.toml"}
    assert names["1"] - names[""] == {Path(ONE).name}
    assert names["two"] - names[""] == {Path(TWO).name}


def test_a_piece_of_which_nothing_is_recorded_is_told_where_others_are(bench: Path) -> None:
    good("record", DRUM, *SIZES["two"][0], "--piece", "two")
    assert "the first record" not in good("record", DRUM, *SIZES["two"][1], "--piece", "two")
    answer = run("make", DRUM, "--piece", "tow", "--out", "tow")
    assert answer.status == 0
    assert "nothing is recorded of this piece" in answer.err
    assert "recorded: two" in answer.err
    assert "the first record of piece tow; there are records of two" in good(
        "record", DRUM, *SIZES["two"][0], "--piece", "tow"
    )


@pytest.mark.slow
def test_what_was_made_of_another_piece_is_not_replaced_unsaid(bench: Path) -> None:
    good("make", DRUM, "--piece", "one", "--out", "arbor")
    before = Path("arbor/summary.txt").read_bytes()
    answer = run("make", DRUM, "--piece", "two", "--out", "arbor")
    assert answer.status == 1
    assert "piece one, orrery drum arbor" in answer.err
    assert Path("arbor/summary.txt").read_bytes() == before
    good("make", DRUM, "--piece", "two", "--out", "arbor", "--replace")
