"""A measurement as a sum: readings, plus and less what was measured along with them, each with its own uncertainty."""

from __future__ import annotations

import math
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.ground.units import QuantityError
from cam.job import read_given
from cam.lengths.journal import read_journal, split_readings
from cam.lengths.limits import _measuring
from cam.lengths.span_report import report_spans
from cam.lengths.sums import read_sum, split_sum
from cam.part.model import Part
from cam.part.spans import THREE, Along, Measurement, Uncertainty
from tests.test_cli import run
from tests.test_one_unit import in_inches

ROOT = Path(__file__).parent.parent
DRUM = "samples/orrery-drum-arbor.toml"
LOG = "samples/orrery-drum-arbor.log"
DEPTH = "inside of the drum"
HERE = Where(path="here", line=1)

SUM = 'readings = ["36.21 mm", "36.20 mm", "36.19 mm"]   # or value = "36.20 mm"\n'
WHOLE = 'readings = ["32.21 mm", "32.20 mm", "32.19 mm"]\n'
ITEM = """
[[measurement.less]]                # measured along with it, and taken off; [[measurement.plus]] is added
name = "spigot of the cap"
value = "4.00 mm"
uncertainty = "\N{PLUS-MINUS SIGN}0.01 mm"
"""
SPIGOT = re.sub(" +#.*", "", ITEM)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and nothing recorded."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.log"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def write(readings: str, items: str) -> None:
    text = (ROOT / DRUM).read_text()
    assert SUM in text
    assert ITEM in text
    Path(DRUM).write_text(text.replace(SUM, readings).replace(ITEM, items))


def good(*words: str) -> str:
    answer = run(*words)
    assert (answer.status, answer.err) == (0, "")
    return answer.out


def refused(*words: str) -> str:
    answer = run(*words)
    assert (answer.status, answer.out) == (1, "")
    return answer.told


def part() -> Part:
    return read_given(DRUM)[0]


def drum() -> Measurement:
    return next(m for m in part().measured.measurements if m.name == DEPTH)


# In the part file ---------------------------------------------------------------------------------------------


def test_a_sum_is_its_readings_plus_and_less_what_goes_with_them(bench: Path) -> None:
    """36.20 - 4.00 = 32.20, in the sample; the spigot's error comes to that of the readings."""
    whole = part()
    m = next(m for m in whole.measured.measurements if m.name == DEPTH)
    assert (m.mean, m.distance) == (pytest.approx(36.2), pytest.approx(32.2))
    assert m.half == pytest.approx(0.03)
    assert whole.sections[3].length == pytest.approx(32.0)
    report = next(r for r in report_spans(whole, "B") if r.span.name == "drum inside")
    names = [c.name for c in report.limits.contributors]
    assert 'measuring "spigot of the cap"' in names
    write(WHOLE, "")
    alone = next(r for r in report_spans(part(), "B") if r.span.name == "drum inside")
    wider = report.limits.worst[1] - alone.limits.worst[1]
    assert wider == pytest.approx(0.01)
    rss = [(r.limits.rss[1] - r.limits.shake) ** 2 for r in (report, alone)]
    assert rss[0] - rss[1] == pytest.approx(0.01**2)


def test_the_page_writes_the_sum_out_line_by_line_with_its_uncertainty(bench: Path) -> None:
    text = good("summary", DRUM)
    page = " ".join(text[text.index("DRUM INSIDE") : text.index("FRAME")].split())
    spread = THREE * 1.32 * 0.01 / math.sqrt(3)  # three readings 0.01 apart, JCGM 100:2008 table G.2 for 2 degrees
    rss, worst = math.hypot(0.02, 0.01, spread), 0.03 + spread
    assert (
        '36.200 read, +/-0.02 mm - 4.000 less "spigot of the cap", +/-0.01 mm '
        f'= 32.200 "{DEPTH}", +/-{rss:.3f} root-sum-square, +/-{worst:.3f} in the worst case '
        "- 0.200 end shake aimed at = 32.000 length between the shoulders"
    ) in page


PLUS = SPIGOT.replace(".less", ".plus")
ROD = SPIGOT.replace("spigot of the cap", "rod").replace("4.00", "8")
SLIP = PLUS.replace("spigot of the cap", "slip").replace("4.00", "2")


@pytest.mark.parametrize(
    ("readings", "items", "distance"),
    [
        ('value = "28.2 mm"\n', PLUS, 32.2),
        ('value = "26.2 mm"\n', PLUS + SLIP, 32.2),
        ('value = "38.2 mm"\n', SLIP + ROD, 32.2),
        (SUM, SPIGOT.replace('value = "4.00 mm"', 'readings = ["3.99 mm", "4.01 mm"]'), 32.2),
        ('value = "1.42520 in"\n', SPIGOT.replace("4.00 mm", "0.15748 in"), 32.2001),
    ],
)  # fmt: skip
def test_sums_of_every_kind_come_to_what_plain_arithmetic_says(bench: Path, readings, items, distance) -> None:
    write(readings, items)
    assert drum().distance == pytest.approx(distance, abs=1e-4)


@pytest.mark.parametrize(
    ("items", "what"),
    [
        (SPIGOT.replace('value = "4.00 mm"\n', ""), "has no value"),
        (SPIGOT.replace('name = "spigot of the cap"\n', ""), "has no name"),
        (SPIGOT.replace('uncertainty = "\N{PLUS-MINUS SIGN}0.01 mm"', ""), "has no uncertainty"),
        (SPIGOT.replace("4.00 mm", "4.00"), "has no unit"),
        (SPIGOT.replace("4.00 mm", "-4.00 mm"), "may not be negative"),
        (SPIGOT.replace("4.00 mm", "40.0 mm"), "nothing is left of"),
        (SPIGOT + SPIGOT, "has a name that cannot be used"),
        (SPIGOT.replace("spigot of the cap", "cap less spigot"), "has a name that cannot be used"),
        (SPIGOT.replace("spigot of the cap", "spigot: new"), "has a name that cannot be used"),
        (SPIGOT.replace('value = "4.00 mm"', 'value = "4.00 mm"\nreadings = ["4 mm"]'), "by value and by readings"),
        (SPIGOT.replace(".less", ".minus"), "minus"),
    ],
)
def test_a_sum_that_cannot_be_meant_is_refused_by_its_line(bench: Path, items: str, what: str) -> None:
    write(SUM, items)
    err = refused("check", DRUM)
    assert what in err
    assert f"{DRUM}:1" in err


# At the bench -------------------------------------------------------------------------------------------------


def test_readings_alone_keep_what_the_part_file_takes_off(bench: Path) -> None:
    out = good("record", DRUM, DEPTH, "36.23; 36.24; 36.22 mm")
    assert "mean of 3 readings 36.23 mm; in all 32.23 mm" in out
    assert drum().distance == pytest.approx(32.23)


def test_what_is_typed_with_the_readings_stands_in_place_of_the_part_files(bench: Path) -> None:
    good("record", DRUM, DEPTH, "36.23 mm, less spigot of the cap: 4.01; 4.02 mm +- 0.005 mm")
    m = drum()
    assert m.distance == pytest.approx(36.23 - 4.015)
    assert m.half == pytest.approx(0.025)
    assert 'less "spigot of the cap", mean of 2, +/-0.005 mm' in " ".join(good("summary", DRUM).split())
    assert "less spigot of the cap: 4.01; 4.02 mm" in good("history", DRUM)


def test_a_measurement_without_a_sum_takes_one_at_the_bench(bench: Path) -> None:
    good("record", DRUM, "between plates", "36.22 mm, plus slip: 10.000 mm +- 0.001 mm")
    assert part().sections[4].length == pytest.approx(6.5)
    assert '+ 10.000 plus "slip"' in " ".join(good("summary", DRUM).split())


def test_a_finished_size_may_be_read_over_a_slip_too(bench: Path) -> None:
    good("record", DRUM, "between plates", "46.22 mm")
    good("record", DRUM, "front seat shoulder", "43.56 mm ± 0.01 mm, less slip: 10 mm ± 0.001 mm")
    (actual,) = part().measured.actuals
    assert (actual.value, actual.whole_half) == (pytest.approx(33.56), pytest.approx(0.011))


def test_what_is_to_be_measured_along_with_it_is_asked_for(bench: Path) -> None:
    text = (ROOT / DRUM).read_text()
    mark = 'all pillars home"\n'
    assert mark in text
    slip = SPIGOT.replace("spigot of the cap", "slip").replace('value = "4.00 mm"\n', "")
    Path(DRUM).write_text(text.replace(mark, mark + slip))
    asked = f'endshake record {DRUM} "between plates" "... mm, less slip: ... mm"'
    assert asked in " ".join(good("check", DRUM).split())
    assert asked in refused("program", DRUM, "--setting", "2")
    assert 'Measure "slip" with it' in " ".join(good("summary", DRUM).split())
    err = refused("record", DRUM, "between plates", "56.22 mm")
    assert '"slip" is to be measured along with it' in err
    assert "less slip: ... mm" in err
    good("record", DRUM, "between plates", "56.22 mm, less slip: 10 mm")
    assert part().sections[4].length == pytest.approx(6.5)


def test_what_is_measured_next_is_said_in_the_unit_and_by_the_names_of_the_part(bench: Path) -> None:
    mark = 'all pillars home"\n'
    slip = SPIGOT.replace("spigot of the cap", "slip").replace('value = "4.00 mm"\n', "")
    text = (ROOT / DRUM).read_text().replace("front seat", "wheel seat").replace(mark, f"{mark}{slip}{ROD}")
    Path(DRUM).write_text(in_inches(text))
    told = " ".join(good("summary", DRUM).split())
    page = told[told.rindex("MEASURE NEXT") :]
    assert 'for example "wheel seat shoulder"' in page
    assert '"rod", 0.315 in, is measured along with it' in page
    assert '"between plates" "...; ...; ... in, less slip: ...; ...; ... in"' in page
    assert not re.search(r"[0-9.] mm\b", page)
    assert '"... in, less slip: ... in"' in " ".join(good("check", DRUM).split())
    assert "less slip: ... in" in refused("record", DRUM, "between plates", "1.9 in")


@pytest.mark.parametrize(
    ("value", "what"),
    [
        ("36.2 mm, less spigot: 4.00 mm", 'did you mean "spigot of the cap"?'),
        ("36.2 mm, plus spigot of the cap: 4.00 mm", "is less in the part file"),
        ("36.2 mm, less spigot of the cap: 4.00", "has no unit"),
        ("36.2 mm, less 4.00 mm", "has no name, or no size"),
        ("36.2 - 4.00 mm", 'for a sum write "36.21 mm, less spigot'),
        ("36.2 mm - 4.00 mm", 'for a sum write "36.21 mm, less spigot'),
        ("36.2 mm, less spigot of the cap: 4 mm, less spigot of the cap: 4 mm", "is given twice"),
        ("36.2 mm, less spigot of the cap: 40 mm", "nothing is left of"),
        ("0.05 in, less spigot of the cap: 0.1 in", '" = -0.05 in'),
        ("36.2, less spigot of the cap: 4 mm", "has no unit"),
        ("32.2 mm", 'is "spigot of the cap" reckoned in already? record what was read, 36.2 mm'),
        ("40.2 mm, less spigot of the cap: 4.00 mm", "4 mm more"),
    ],
)
def test_what_is_mistyped_in_a_sum_is_one_problem_and_leaves_no_trace(bench: Path, value: str, what: str) -> None:
    err = refused("record", DRUM, DEPTH, value)
    assert what in err
    assert err.endswith("\n1 problem\n")
    assert not Path(LOG).exists()


def test_something_new_plus_or_less_says_how_surely_it_was_measured(bench: Path) -> None:
    err = refused("record", DRUM, "between plates", "36.22 mm plus slip 10 mm")
    assert 'how far "slip" may be out is not said' in err
    good("record", DRUM, "between plates", "36.22 mm plus slip 10 mm ± 0.001 mm")
    assert read_journal(LOG).standing[0].value == "36.22 mm plus slip 10 mm ± 0.001 mm"


NAMES = st.text("abc xyz-'", min_size=1, max_size=12).map(str.strip).filter(bool)
SIZES = st.integers(1, 99_999).map(lambda n: n / 1000)


@given(SIZES, st.lists(st.tuples(st.sampled_from([1, -1]), NAMES, SIZES), max_size=4, unique_by=lambda i: i[1]))
def test_what_is_written_as_a_sum_is_read_back_as_it_was_meant(reading, items) -> None:
    text = f"{reading} mm" + "".join(
        f", {'plus' if sign > 0 else 'less'} {name}: {size} mm ± 0.01 mm" for sign, name, size in items
    )
    plain, typed = split_sum(text)
    assert plain == f"{reading} mm"
    along = read_sum(typed, (), split_readings, HERE)
    assert [(a.sign, a.name, a.mean, a.uncertainty.half) for a in along] == [(s, n, v, 0.01) for s, n, v in items]


@given(st.text("0123456789. mplusesabc:=;,±-", max_size=60))
def test_any_text_at_all_is_a_sum_or_a_problem(text: str) -> None:
    try:
        plain, typed = split_sum(text)
        read_sum(typed, (), split_readings, HERE)
    except QuantityError:
        pass
    else:
        assert text.startswith(plain)


def test_each_part_of_a_sum_brings_its_own_error(bench: Path) -> None:
    sure = Uncertainty(0.01, "limit", "", HERE)
    item = Along(
        sign=-1, name="cap", readings=(Quantity(4.0, "", HERE), Quantity(4.02, "", HERE)), uncertainty=sure, where=HERE
    )
    kinds = [(c.name, c.kind) for c in _measuring(replace(drum(), along=(item,)))]
    assert ('measuring "cap"', "measuring") in kinds
    assert ('spread of the 2 readings of "cap"', "readings") in kinds
