"""The log forgives: what was typed wrong is refused, or withdrawn and replaced, whatever state the job is in."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from cam.ground.problem import ProblemError
from cam.job import read_given
from cam.lengths.journal import append_record, read_journal
from cam.lengths.likely import find_slip
from tests.specimens import by_hand
from tests.test_cli import good, refused, run
from tests.test_one_unit import in_inches

ROOT = Path(__file__).parent.parent
DRUM = "samples/orrery-drum-arbor.toml"
LOG = "samples/orrery-drum-arbor.log"
PLATES = "between plates"
DEPTH = "inside of the drum"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and nothing recorded."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.log"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def kept(name: str, value: str, kind: str = "measurement") -> None:
    """A record as an earlier version, or a person who said that it is so, has left it."""
    append_record(LOG, kind=kind, name=name, value=value)


def told_of_part() -> str:
    """What is said when the part is read with its log."""
    try:
        return "".join(str(w) for w in read_given(DRUM)[0].warnings)
    except ProblemError as told:
        return str(told)


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
@pytest.mark.parametrize("value", ["462.2 mm", "46.22 mm"])
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
    assert what in answer.told
    assert more in answer.told
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


@pytest.mark.parametrize("value", ["462.2 mm", "39.75 mm"])
def test_a_record_that_makes_the_job_impossible_is_replaced_by_the_right_one(bench: Path, value: str) -> None:
    kept(PLATES, value)
    with pytest.raises(ProblemError):
        read_given(DRUM)
    good("record", DRUM, PLATES, "46.22 mm")
    assert standing() == [(PLATES, "46.22 mm")]
    assert read_given(DRUM)[0].to_be_measured == ()


def test_one_of_two_records_that_both_make_the_job_impossible_is_replaced(bench: Path) -> None:
    kept(PLATES, "462.2 mm")
    kept("front seat length", "70 mm", "actual")
    good("record", DRUM, PLATES, "46.22 mm")
    good("record", DRUM, "front seat length", "7.5 mm")
    assert read_given(DRUM)[0].to_be_measured == ()


@pytest.mark.parametrize("spoil", [break_part_file, damage_part_file, remove_part_file])
def test_a_record_is_replaced_though_the_part_cannot_be_read_and_that_is_said(bench: Path, spoil) -> None:
    kept(PLATES, "462.2 mm")
    spoil()
    assert "not checked against the part" in good("record", DRUM, PLATES, "46.22 mm")
    assert standing() == [(PLATES, "46.22 mm")]
    assert "has no unit" in refused("record", DRUM, PLATES, "46.22").err
    refused("record", DRUM, "front seat length", "7.5 mm")
    assert standing() == [(PLATES, "46.22 mm")]


def test_nothing_is_replaced_by_a_command_line_that_names_no_shop_file(bench: Path) -> None:
    kept(PLATES, "46.22 mm")
    assert "nosuch.toml" in refused("record", DRUM, PLATES, "462.2 mm", "--shop", "nosuch.toml").err
    assert standing() == [(PLATES, "46.22 mm")]


def test_what_a_stop_read_is_replaced_though_the_shop_is_missing(bench: Path) -> None:
    good("record", DRUM, "front pivot stop diameter", "6.1 mm")
    was = standing()[0][1]
    remove_shop()
    good("record", DRUM, "front pivot stop diameter", "6.09 mm", "--zero")
    assert standing() == [("front pivot stop diameter", was.replace("6.1", "6.09", 1) + ", the control set")]


# Refused, with what it would do -----------------------------------------------------------------------------------

MISTYPED = [
    # what is recorded before, what is typed, its problem, what it would do, what was meant
    ("", PLATES, "462.2 mm", "the part cannot be made: no length is left for", "-409.980 mm", "slip? 46.22 mm"),
    ("", PLATES, "4.622 mm", "the part cannot be made: no length is left for", "-35.098 mm", "slip? 46.22 mm"),
    ("", PLATES, "64.22 mm", "the part cannot be made: no length is left for", "-12.000 mm", "exchanged? 46.22 mm"),
    ("", PLATES, "46.22 in", "the part cannot be made: no length is left for", "mm", "unit right? 46.22 mm"),
    ("", PLATES, "1.81969 mm", "the part cannot be made: no length is left for", "mm", "unit right? 1.81969 in"),
    ("", PLATES, "39.9 mm", "too short for what is cut on it", "0.18 mm (solved) long", "measure again"),
    ("", PLATES, "46.22; 46.21; 64.23 mm", "reading 3 of", "with it: ", "exchanged? 46.23 mm"),
    ("", PLATES, "46.22; 462.2 mm", "the two readings of", "far apart", "decimal point slip?; measure"),
    ("46.22 mm", PLATES, "46.43 mm", "is far from what was read before, 46.22 mm", "0.21 mm more", "--withdraw 1"),
    ("46.22 mm", PLATES, "46.01 mm", '"back seat" 6.29 mm long for 6.5 mm', "0.21 mm less", "--withdraw 1"),
    ("46.22 mm", PLATES, "462.2 mm", "read before", "with it: no length is left for", "slip? 46.22 mm"),
    ("", DEPTH, "3.62 mm, less spigot of the cap: 0.4 mm", "says, 32.2 mm", '"drum body" 3.02 mm', "slip? 32.2 mm"),
    ("", DEPTH, "362.0 mm", "says, 32.2 mm", '"drum body" 357.8 mm long', "point slip? 36.2 mm"),
    ("46.22 mm", "front seat shoulder", "33.9 mm", "what is wanted, 33.5 mm", '"front seat" 7.9 mm long for 7.5', ""),
    ("46.22 mm", "front pivot diameter", "3 mm", "what is wanted, 6 mm", "3 mm less", "radius or diameter"),
    ("46.22 mm", "front pivot diameter", "0.2362 mm", "what is wanted", "less", "unit right? 0.2362 in"),
    ("46.22 mm", "frame span", "46.3 mm", "is far from what is wanted, 46 mm", "its end shake is negative", ""),
    ("46.22 mm", "front seat stop diameter", "0.804 mm", "the program should have left there", "less", "slip? 8.04 mm"),
]


@pytest.mark.parametrize("case", MISTYPED, ids=lambda c: " ".join(c[1:3]))
def test_what_is_not_likely_is_refused_with_what_it_would_do_and_kept_when_sure(bench: Path, case) -> None:
    before, name, value, *words = case
    if before:
        kept(PLATES, before)
    was = read_journal(LOG).entries
    answer = refused("record", DRUM, name, value)
    assert all(w in answer.told for w in words)
    assert re.match(r"samples/orrery-drum-arbor\.(toml|log):[0-9]+: ", answer.err)
    assert "if it is so, add --sure" in answer.told
    assert answer.err.endswith("\n1 problem\n")
    assert read_journal(LOG).entries == was
    good("record", DRUM, name, value, "--sure")
    assert dict(standing())[name].endswith(", sure")
    told = told_of_part()  # what was kept so is used, and where it spoils the part as easily withdrawn
    assert "not used" not in told
    assert not told or f"--withdraw {len(was) + 1}" in told
    good("record", DRUM, "--withdraw", str(len(was) + 1))
    assert read_journal(LOG).standing == was


@pytest.mark.parametrize(
    ("unit", "asked"), [("in", "is the unit right? 1.2 in"), ("mm", "did the decimal point slip? 12 mm")]
)
def test_a_unit_that_is_not_the_parts_is_asked_for_before_the_decimal_point(unit: str, asked: str) -> None:
    assert find_slip(1.2, "1.2 mm", lambda mm: 5.0 < mm < 40.0, unit) == f"{asked} would be likely"


FLANGE = '[[measurement.less]]\nname = "flange"\nvalue = "0.04 in"\nuncertainty = "±0.0004 in"\n\n'


@pytest.mark.parametrize(
    ("name", "value", "asked"),
    [
        (PLATES, "1.859; 1.8592; 1.8588 mm", "right? 1.859 in would be likely; measure"),
        (PLATES, "0.1859 in", "did the decimal point slip? 1.859 in would be likely; measure"),
        (PLATES, "47.22 in", "is the unit right? 47.22 mm would be likely; measure"),
        (PLATES, "1.859 mm, less flange: 0.05 in", "is the unit right? 1.859 in would be likely; measure"),
        ("front pivot diameter", "0.2338 in", "fix      measure again"),  # 0.2383 has room in its hole, but is too fat
    ],
)
def test_only_a_size_with_which_the_part_can_be_made_is_asked_for(bench: Path, name, value, asked) -> None:
    """A part in inches, of which a flange is measured along with its frame: what is less is taken off once."""
    text = in_inches(Path(DRUM).read_text())
    Path(DRUM).write_text(text.replace("[[span]]", f"{FLANGE}[[span]]", 1))
    answer = refused("record", DRUM, name, value)
    assert "the part cannot be made: " in answer.told
    assert asked in answer.told


@pytest.mark.parametrize(
    ("before", "name", "value"),
    [
        ("", PLATES, "46.22; 46.23; 46.21 mm"),
        ("46.22 mm", PLATES, "46.41 mm"),
        ("46.22 mm", PLATES, "46.9 mm ± 0.1 mm"),
        ("47.22 mm ± 0.2 mm", PLATES, "46.22 mm"),
        ("46.22 mm", "front seat shoulder", "33.56 mm"),
        ("46.22 mm", "front pivot diameter", "6.03 mm"),
        ("46.22 mm", "frame span", "46.2 mm"),
        ("46.22 mm", "front seat stop diameter", "8.08 mm"),
    ],
)
def test_what_a_person_really_reads_is_kept_and_says_what_it_changes(bench: Path, before, name, value) -> None:
    if before:
        kept(PLATES, before)
    out = good("record", DRUM, name, value, *(["--sure"] if name == PLATES else []))
    assert ", sure" not in dict(standing())[name]  # nothing had to be sure of
    if name == PLATES:
        assert '\nby it "back seat" ' in out


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("front seat stop diameter", "0.804 mm"), ("back seat stop shoulder", "16 mm"),
        ("back pivot stop shoulder", "1 mm"), ("drum body stop diameter", "0.001 mm"),
    ],
)  # fmt: skip
def test_what_a_stop_can_never_have_read_is_a_problem_and_no_traceback(bench: Path, name: str, value: str) -> None:
    kept(PLATES, "46.22 mm")
    good("record", DRUM, name, value, "--sure")
    answer = refused("check", DRUM)
    assert "nothing is left" in answer.err
    assert f"{LOG}:2" in answer.err
    assert "--withdraw 2" in answer.err


def test_a_mistyped_reading_over_what_stood_before_is_refused_however_sure(bench: Path) -> None:
    kept(PLATES, "46.22 mm")
    answer = refused("record", DRUM, "front seat stop diameter", "80.4 mm", "--sure")
    assert "slip? 8.04 mm" in answer.told
    assert "--sure" not in answer.told


MOON = "samples/moon-carriage-spindle.toml"
IN_MM = r"[0-9] mm\b"


@pytest.mark.parametrize(
    ("name", "value"),
    [("arm seat length", "2.5 in"), ("arm seat length", "0.4 in"), ("upper pivot shoulder", "0.14 in")],
)
def test_what_is_said_of_a_record_of_a_part_in_inches_is_in_inches(bench: Path, name: str, value: str) -> None:
    assert not re.search(IN_MM, refused("record", MOON, name, value).told)
    good("record", MOON, name, value, "--sure")
    answer = run("check", MOON)
    assert not re.search(IN_MM, answer.told)
    assert f"{MOON[:-5]}.log:1" in answer.told or f"{Path(MOON).stem}.log:1" in answer.out


def test_a_record_of_another_part_is_told_in_the_unit_that_was_typed(bench: Path) -> None:
    append_record(f"{MOON[:-5]}.log", kind="actual", name="arm seat length", value="2.5 in")
    told = run("check", MOON).told
    assert '"arm seat length" is far from what it should be' in told
    assert "allowed  0.2731 to 0.3519 in" in told
    assert not re.search(IN_MM, told)


def test_a_section_that_takes_what_the_others_leave_does_so_once_they_are_cut(bench: Path) -> None:
    assert '"spindle" 1.7425 in long for 1.75 in' in good("record", MOON, "arm seat length", "0.32 in")
    part = read_given(MOON)[0]
    assert part.length == pytest.approx(2.8125 * 25.4)
    assert [s.length.text for s in part.sections][1:3] == ["0.32 in (as cut)", "1.7425 in (solved)"]


def test_a_bar_that_is_too_short_by_a_record_names_its_line(bench: Path) -> None:
    good("record", "samples/crank-pin.toml", "arm seat length", "12 mm", "--sure")
    answer = refused("check", "samples/crank-pin.toml")
    assert "the stock is too short" in answer.err
    assert "samples/crank-pin.log:1" in answer.told


def test_of_one_setting_nothing_changes_and_by_hand_there_is_no_program(bench: Path) -> None:
    words = "there is one setting, and its {} stays as it is"
    name = "arm seat length"
    assert words.format("program") in good("record", "samples/crank-pin.toml", name, "8 mm")
    shop = Path("samples/shop.toml")
    shop.write_text(by_hand(shop.read_text()))
    assert words.format("page") in good("record", "samples/crank-pin.toml", name, "8.01 mm")


def test_what_a_stop_read_is_said_in_the_unit_that_was_read(bench: Path) -> None:
    good("record", MOON, "arm seat stop diameter", "3.22 mm")
    told = " ".join(good("summary", MOON, "--width", "240").split())
    assert "which read 3.22 mm for 3.2" in told


def test_a_section_called_diameter_is_told_on_which_side_its_shoulder_is_out(bench: Path) -> None:
    Path(DRUM).write_text(Path(DRUM).read_text().replace("front seat", "front diameter"))
    kept(PLATES, "46.22 mm")
    good("record", DRUM, "front diameter stop shoulder", "33.6 mm")
    assert "allowed  less than 33.5 mm" in run("check", DRUM).err


def test_check_names_the_line_of_every_record_that_it_uses(bench: Path) -> None:
    kept(PLATES, "46.22 mm")
    good("record", DRUM, "front pivot diameter", "5.98 mm", "--piece", "two")
    told = " ".join(good("check", DRUM, "--piece", "two").split())
    assert f"{PLATES} 46.22 mm (orrery-drum-arbor.log:1)" in told
    assert "front pivot diameter 5.98 mm (orrery-drum-arbor.piece-two.log:1)" in told


def test_a_value_typed_without_quotes_is_one_value(bench: Path) -> None:
    good("record", DRUM, PLATES, "46.22", "mm", "+-", "0.01", "mm")
    assert standing() == [(PLATES, "46.22 mm +- 0.01 mm")]


def test_what_is_read_again_as_before_needs_no_second_word(bench: Path) -> None:
    kept(PLATES, "46.22 mm")
    good("record", DRUM, "front seat shoulder", "33.9 mm", "--sure")
    good("record", DRUM, "front seat shoulder", "33.91 mm")


# Every message that comes from a record names its line ------------------------------------------------------------


@pytest.mark.parametrize(
    "records",
    [
        ((PLATES, "462.2 mm", "measurement"),),
        ((PLATES, "4.622 mm", "measurement"),),
        ((PLATES, "39.75 mm", "measurement"),),
        ((PLATES, "39.9 mm", "measurement"),),
        ((PLATES, "46.22 mm", "measurement"), ("front seat length", "14 mm, sure", "actual")),
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
    for told in re.split(r"\n(?=\S)", answer.told.strip()):
        if not re.fullmatch(r"\d+ problems?", told):
            assert f"{LOG}:{line}" in told
            assert f"endshake record {DRUM} --withdraw {line}" in told
