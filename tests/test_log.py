"""The log forgives: what was typed wrong is refused, or withdrawn and replaced, whatever state the job is in."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from cam.measure.journal import append_record, read_journal
from tests.test_cli import Answer, run

ROOT = Path(__file__).parent.parent
DRUM = "samples/orrery-drum-arbor.toml"
LOG = "samples/orrery-drum-arbor.log"
PLATES = "between plates"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and nothing recorded."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.log"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def good(*words: str) -> str:
    answer = run(*words)
    assert (answer.status, answer.err) == (0, "")
    return answer.out


def refused(*words: str) -> Answer:
    answer = run(*words)
    assert (answer.status, answer.out) == (1, "")
    return answer


def kept(name: str, value: str, kind: str = "measurement") -> None:
    """A record as an earlier version, or a person who said that it is so, has left it."""
    append_record(LOG, kind=kind, name=name, value=value)


def standing() -> list[tuple[str, str]]:
    return [(e.name, e.value) for e in read_journal(LOG).standing]


# Withdrawn, whatever state the job is in ---------------------------------------------------------------------


def break_part_file() -> None:
    Path(DRUM).write_text(Path(DRUM).read_text().replace('diameter = "16 mm"', 'diameter = "much"', 1))


def damage_part_file() -> None:
    Path(DRUM).write_text("[[[ no TOML")


def remove_part_file() -> None:
    Path(DRUM).unlink()


def remove_shop() -> None:
    Path("samples/shop.toml").unlink()


def tear_log() -> None:
    with Path(LOG).open("a") as file:
        file.write('{"n": 2, "time"')


STATES = (break_part_file, damage_part_file, remove_part_file, remove_shop, tear_log, lambda: None)


@pytest.mark.parametrize("spoil", STATES)
@pytest.mark.parametrize("value", ["462.2 mm", "4.622 mm", "46.22 mm"])
def test_a_record_is_withdrawn_whatever_state_the_job_is_in(bench: Path, spoil, value: str) -> None:
    kept(PLATES, value)
    before = Path(LOG).read_bytes()
    spoil()
    spoilt = Path(LOG).read_bytes()
    out = good("record", DRUM, "--withdraw", "1")
    assert f'withdrew line 1, "{PLATES}" {value}' in out
    assert f'nothing stands for "{PLATES}" now' in out
    assert Path(LOG).read_bytes().startswith(spoilt)
    assert spoilt.startswith(before)
    assert standing() == []


def test_a_job_that_a_record_made_impossible_goes_on_as_if_it_had_never_been(bench: Path) -> None:
    good("record", DRUM, PLATES, "46.22 mm")
    before = good("program", DRUM, "--setting", "2")
    kept(PLATES, "462.2 mm")
    refused("check", DRUM)
    assert "line 1 stands again: 46.22 mm" in good("record", DRUM, "--withdraw", "2")
    assert good("program", DRUM, "--setting", "2") == before
    assert "line 2 stands again" in good("record", DRUM, "--withdraw", "3")
    assert "line 1 stands again" in good("record", DRUM, "--withdraw", "4")
    assert good("program", DRUM, "--setting", "2") == before


def test_history_shows_what_was_withdrawn_and_by_what(bench: Path) -> None:
    kept(PLATES, "46.2 mm")
    kept(PLATES, "462.2 mm")
    kept("front pivot diameter", "5.99 mm", "actual")
    good("record", DRUM, "--withdraw", "2")
    good("record", DRUM, PLATES, "46.22 mm")
    rows = good("history", DRUM).splitlines()[3:]
    marks = [re.split(r"  +", row)[4:] for row in rows]
    assert marks == [
        ["value"], ["46.2 mm", "superseded by line 5"], ["462.2 mm", "withdrawn by line 4"], ["5.99 mm"],
        ["withdrawn", "withdraws line 2"], ["46.22 mm"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "what", "more"),
    [
        ("9", "there is no record on this line of the log", "line 1, 2"),
        ("1", "withdrawn already", f"endshake record {DRUM} --withdraw 2"),
    ],
)
def test_a_line_that_cannot_be_withdrawn_is_refused_and_leaves_no_trace(bench: Path, line, what, more) -> None:
    kept(PLATES, "46.2 mm")
    if line == "1":
        good("record", DRUM, "--withdraw", "1")
    else:
        kept("front pivot diameter", "5.99 mm", "actual")
    before = Path(LOG).read_bytes()
    answer = refused("record", DRUM, "--withdraw", line)
    assert what in answer.err
    assert more in answer.err
    assert LOG in answer.err
    assert Path(LOG).read_bytes() == before


def test_a_part_without_a_log_has_nothing_to_withdraw(bench: Path) -> None:
    assert "nothing is recorded beside this part file" in refused("record", DRUM, "--withdraw", "1").err
    assert not Path(LOG).exists()


@pytest.mark.parametrize(
    "words",
    [
        ("--withdraw", "1", PLATES, "46 mm"), ("--withdraw", "1", "--zero"), ("--withdraw", "0"), ("--withdraw", "x"),
        ("--withdraw",), (), (PLATES,),
    ],
)  # fmt: skip
def test_a_command_line_that_says_two_things_or_none_is_a_wrong_one(bench: Path, words) -> None:
    kept(PLATES, "46.2 mm")
    assert run("record", DRUM, *words).status == 2
    assert standing() == [(PLATES, "46.2 mm")]


# Replaced, whatever state the job is in ------------------------------------------------------------------------


@pytest.mark.parametrize("value", ["462.2 mm", "4.622 mm", "39.75 mm"])
def test_a_record_that_makes_the_job_impossible_is_replaced_by_the_right_one(bench: Path, value: str) -> None:
    kept(PLATES, value)
    refused("check", DRUM)
    good("record", DRUM, PLATES, "46.22 mm")
    assert standing() == [(PLATES, "46.22 mm")]
    assert run("check", DRUM).status == 0


def test_one_of_two_records_that_both_make_the_job_impossible_is_replaced(bench: Path) -> None:
    kept(PLATES, "462.2 mm")
    kept("front seat length", "70 mm", "actual")
    good("record", DRUM, PLATES, "46.22 mm")
    good("record", DRUM, "front seat length", "7.5 mm")
    assert run("check", DRUM).status == 0


@pytest.mark.parametrize("spoil", [break_part_file, damage_part_file, remove_part_file])
def test_a_record_is_replaced_though_the_part_cannot_be_read_and_that_is_said(bench: Path, spoil) -> None:
    kept(PLATES, "462.2 mm")
    spoil()
    assert "not checked against the part" in good("record", DRUM, PLATES, "46.22 mm")
    assert standing() == [(PLATES, "46.22 mm")]
    assert "has no unit" in refused("record", DRUM, PLATES, "46.22").err
    refused("record", DRUM, "front seat length", "7.5 mm")
    assert standing() == [(PLATES, "46.22 mm")]


def test_what_a_stop_read_is_replaced_though_the_shop_is_missing(bench: Path) -> None:
    good("record", DRUM, "front pivot stop diameter", "6.1 mm")
    was = standing()[0][1]
    remove_shop()
    good("record", DRUM, "front pivot stop diameter", "6.09 mm", "--zero")
    assert standing() == [("front pivot stop diameter", was.replace("6.1", "6.09", 1) + ", the control set")]


# Every message that comes from a record names its line ------------------------------------------------------------


@pytest.mark.parametrize(
    "records",
    [
        ((PLATES, "462.2 mm", "measurement"),),
        ((PLATES, "4.622 mm", "measurement"),),
        ((PLATES, "39.75 mm", "measurement"),),
        ((PLATES, "39.9 mm", "measurement"),),
        ((PLATES, "46.22 mm", "measurement"), ("front seat length", "9.2 mm, sure", "actual")),
        ((PLATES, "46.22 mm", "measurement"), ("frame span", "45.5 mm", "actual")),
        ((PLATES, "46.22 mm", "measurement"), ("back seat stop diameter", "7.9 mm, expected 8.04 mm", "stop reading")),
        ((PLATES, "46.22 mm", "measurement"), ("front seat length", "much", "actual")),
        ((PLATES, "46.22 mm", "measurement"), ("no such thing", "7 mm", "actual")),
    ],
)
def test_what_comes_from_a_record_names_its_line_and_how_it_is_withdrawn(bench: Path, records) -> None:
    for name, value, kind in records:
        kept(name, value, kind)
    answer = run("check", DRUM)
    line = len(records)
    assert answer.err
    for told in re.split(r"\n(?=\S)", answer.err.strip()):
        if not re.fullmatch(r"\d+ problems?", told):
            assert f"{LOG}:{line}" in told
            assert f"endshake record {DRUM} --withdraw {line}" in told
