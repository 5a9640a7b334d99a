"""Measured parts from end to end, as at the bench: make, measure, record, make again; and killed at any instant."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from functools import partial
from pathlib import Path

import pytest

from cam.geometry.path import Chain
from cam.job import Job, make_job, move_outline, read_given, rules_of
from cam.job.logbook import names_of
from cam.judge import simulate
from cam.lengths.journal import append_record, read_journal
from cam.rs274 import read_program
from cam.rs274.model import Motion
from tests.kept import forget
from tests.killed import run_killed, steps_of
from tests.specimens import SAMPLES, by_hand
from tests.test_cli import Answer, run

ROOT = Path(__file__).parent.parent
DRUM = "samples/orrery-drum-arbor.toml"
LOG = Path("samples/orrery-drum-arbor.log")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory of its own with the samples in it, and nothing recorded."""
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.log"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def make() -> Answer:
    answer = run("make", DRUM, "--out", "arbor", "--more")
    assert (answer.status, answer.err) == (0, "")
    return answer


def record(name: str, value: str) -> Answer:
    answer = run("record", DRUM, name, value)
    assert (answer.status, answer.err) == (0, "")
    return answer


def files() -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in Path("arbor").iterdir()}


def plan() -> dict:
    return json.loads(Path("arbor/plan.json").read_text())


def joined(text: str) -> str:
    return " ".join(text.split())


def motions(job: Job, number: int) -> list[Motion]:
    return [m for m in job.works[number - 1].program.motions if m.kind in ("rapid", "line", "arc")]


def faces(chain: Chain) -> list[float]:
    """Z of every square face of an outline that is higher than any edge or fillet."""
    return [p.start.z for p in chain if abs(p.start.z - p.end.z) < 1e-7 and abs(p.start.x - p.end.x) > 0.3]


# As a new user would --------------------------------------------------------------------------------------


def test_from_a_measurement_to_be_taken_to_the_right_spans(bench: Path) -> None:
    """Setting 1; three readings, and a shoulder that came out 0.06 mm deep; then setting 2, and both programs in order.

    By hand: the readings' mean is 46.24, so front seat, drum body and back seat are to be 46.02 together. With the
    drum body's shoulder at 33.56 for 33.5 the back seat ends at 38.46 - 0.06 from it.
    """
    part_file = Path(DRUM).read_bytes()
    answer = make()
    assert sorted(files()) == ["cross-hole.ngc", "plan.json", "plot.svg", "setting-1.ngc", "square.ngc", "summary.txt"]
    assert '"between plates" is to be measured before the rest' in answer.out
    assert "MEASURE NEXT" in Path("arbor/summary.txt").read_text()
    first = files()["setting-1.ngc"]

    record("between plates", "46.23; 46.24; 46.25 mm")
    make()
    planned = make_job(DRUM)
    record("front seat shoulder", "33.56 mm")
    answer = make()
    real = make_job(DRUM)
    assert "front seat shoulder 33.56 mm" in " ".join(answer.out.split())
    assert files()["setting-1.ngc"] == first
    assert Path(DRUM).read_bytes() == part_file

    moved = set()
    for was, now in zip(motions(planned, 2), motions(real, 2), strict=True):
        assert now.end.x == pytest.approx(was.end.x, abs=1e-9, nan_ok=True)
        if was.end.z == was.end.z:
            moved.add(round(now.end.z - was.end.z, 6))
    assert moved == {0.0, -0.06}

    text = first.decode()
    assert text.count("Z-33.5 ") == 1  # the last cut on the front seat ends in the shoulder, and is cut too deep
    cut = read_program(text.replace("Z-33.5 ", "Z-33.56 "), rules_of(real.dialect, real.shop), "setting-1.ngc")
    one = simulate(cut, real.works[0].setting, real.shop)
    assert one.gouge == pytest.approx(0.06, abs=1e-4)
    setting = real.works[1].setting
    stock = move_outline(one.result, real.works[0].setting, setting)
    two = simulate(real.works[1].program, setting, real.shop, stock=stock)
    at = sorted(setting.to_part(z) for z in faces(two.result))
    assert at == pytest.approx([0, 26, 33.56, 65.56, 72.02, 78], abs=2e-4)  # the square's shoulder is too low
    span = {s["name"]: s["predicted"] for s in plan()["measured"]["spans"]}
    assert span["frame"]["length_mm"] == pytest.approx(at[4] - at[1], abs=2e-4)
    assert span["drum inside"]["length_mm"] == pytest.approx(at[3] - at[2], abs=2e-4)
    assert span["frame"]["end_shake_mm"] == pytest.approx(0.22, abs=1e-6)


def test_a_span_that_may_bind_is_warned_of_by_make_in_the_record_and_on_its_page(bench: Path) -> None:
    part = Path(DRUM)
    aim = 'least = "0.12 mm", aim = "0.22 mm"'
    part.write_text(part.read_text("utf-8").replace(aim, 'least = "0 mm", aim = "0.01 mm"'), "utf-8")
    record("between plates", "46.22; 46.23; 46.21 mm")
    told = 'span "frame" may bind'
    assert told in run("make", DRUM, "--out", "arbor").err
    assert any(told in warning["what"] for warning in plan()["warnings"])
    page = " ".join(files()["summary.txt"].decode().split())
    assert f"! {told[0].upper()}{told[1:]}: 0.010 mm predicted, -0.0" in page


def test_setting_2_is_refused_until_the_measurement_is_given(bench: Path) -> None:
    make()
    for words in (
        ("program", DRUM, "--setting", "2"),
        ("simulate", "arbor/setting-1.ngc", "--part", DRUM, "--setting", "2"),
    ):
        answer = run(*words)
        assert (answer.status, answer.out) == (1, "")
        assert "setting 2 cannot be planned yet: it rests on a length that is to be measured" in answer.told
        assert 'endshake record samples/orrery-drum-arbor.toml "between plates"' in answer.told
        assert "inside micrometer beside the arbor's holes" in answer.told
    assert run("program", DRUM, "--setting", "1").status == 0
    record("between plates", "46.22 mm")
    assert run("program", DRUM, "--setting", "2").status == 0


def test_nothing_of_setting_2_is_invented(bench: Path) -> None:
    make()
    told = plan()
    assert [s["number"] for s in told["settings"]] == [1]
    back = told["part"]["sections"][4:]
    assert [s["length"]["mm"] for s in back] == [None, None]
    assert told["measured"]["to_be_measured"] == ["between plates"]
    assert [s["name"] for s in told["measured"]["spans"] if s["predicted"] is None] == ["frame"]
    assert "NaN" not in Path("arbor/plan.json").read_text()
    for name in ("summary.txt", "plot.svg", "setting-1.ngc"):
        assert not re.search(r"\bnan\b", Path(f"arbor/{name}").read_text(), re.I), name
    summary = Path("arbor/summary.txt").read_text()
    assert re.search(r"^ 5  back seat .* to be measured +from 65\.50$", summary, re.M)
    assert "SETTING 1 of 2" in summary
    data = run("make", DRUM, "--out", "arbor", "--json").data
    assert isinstance(data, dict)
    assert data["to_be_measured"] == ["between plates"]


@pytest.mark.slow
def test_the_same_log_gives_the_same_bytes_and_its_hash_is_kept(bench: Path) -> None:
    make()
    record("between plates", "46.22 mm")
    make()
    before = files()
    forget()
    assert "nothing was written" in make().out
    assert files() == before
    log = plan()["measured"]["log"]
    assert log["file"] == "orrery-drum-arbor.log"
    assert log["sha256"] == hashlib.sha256(LOG.read_bytes()).hexdigest()
    assert [u["name"] for u in log["used"]] == ["between plates"]
    assert "orrery-drum-arbor.log " + log["sha256"][:8] in before["summary.txt"].decode()


def test_a_corner_stands_off_by_the_nose_that_cuts_it(bench: Path) -> None:
    """Sharp-edged holes, fillets up to 0.2 mm, but the shop's only nose has 0.1 mm.

    By Pythagoras 0.1 - sqrt(0.1^2 - (0.1 - c)^2) at each end, c the clearance on the radius at the hole's inside; by
    so much the back seat is shorter.
    """
    path = Path(DRUM)
    path.write_text(path.read_text().replace('edge_inside = "chamfer 0.3 mm"', 'edge_inside = "sharp"'))
    record("between plates", "46.22 mm")
    part = make_job(DRUM).part
    measured = part.measured
    off = 0.0
    for plan in measured.plans:
        c = plan.side_shake.likely / 2 + (plan.inside - plan.narrow) / 2
        off += 0.1 - (0.1**2 - (0.1 - c) ** 2) ** 0.5
    assert off > 0.03
    assert part.sections[4].length == pytest.approx(6.5 - off, abs=1e-9)
    assert "stand-off of the corner at the A side: 0.0" in run("summary", DRUM).out


# Stops ------------------------------------------------------------------------------------------------------


def test_what_a_stop_read_is_answered_in_the_unit_that_it_was_typed_in(bench: Path) -> None:
    record("between plates", "46.22 mm")
    answer = record("back seat stop diameter", "0.3173 in; 0.3175 in")
    assert "expected 0.31654 in, mean of 2 readings 0.3174 in" in answer.out
    assert "expected 0.31654 in: 0.00086 in over; when finished 0.31378 in to 0.31496 in" in answer.out
    assert "is to take 0.00161 in a side" in answer.out
    assert "mm" not in answer.out
    again = make_job(DRUM)
    assert not again.problems


@pytest.mark.parametrize("read", ["8.07", pytest.param("8.01", marks=pytest.mark.slow)])
def test_the_last_cut_makes_up_for_what_the_stop_before_read(bench: Path, read: str) -> None:
    """8.04 was to be left: the last cut goes half of the difference deeper, or less deep; nothing before it moves."""
    record("between plates", "46.22 mm")
    planned = make_job(DRUM)
    answer = record("back seat stop diameter", f"{read} mm")
    assert "expected 8.0400 mm" in answer.out
    assert "corrected twice" in answer.out
    assert "this puts right the diameter of back seat alone" in answer.out
    make()
    real = make_job(DRUM)
    assert real.works[0].text == planned.works[0].text
    off = (float(read) - 8.04) / 2
    passes = {p.kind: p for p in real.works[1].planned.passes if p.sections == ("back seat",)}
    before = {p.kind: p for p in planned.works[1].planned.passes if p.sections == ("back seat",)}
    assert passes["finish"].diameter == pytest.approx(before["finish"].diameter - 2 * off)
    assert passes["semi-finish"] == before["semi-finish"]
    assert real.problems == ()
    assert "Corrected by the stop before" in " ".join(passes["finish"].cautions)
    # what is cut: the tool stands `off` further out than the program says, and the section keeps its size
    finish = [m for m in motions(real, 2) if m.kind == "line" and m.start.x == m.end.x]
    last = [m for m in finish if m.end.x == pytest.approx(3.99 - off, abs=1e-6)]
    assert last
    assert last[0].end.x + off == pytest.approx(3.99, abs=1e-6)


def test_a_shoulder_is_corrected_by_its_stop_too(bench: Path) -> None:
    record("between plates", "46.22 mm")
    planned = make_job(DRUM)
    record("back pivot stop shoulder", "38.56 mm")
    real = make_job(DRUM)
    assert real.problems == ()
    stops = {p.number: min(s.end.z for s in p.path) for p in planned.works[1].planned.passes}
    now = {p.number: min(s.end.z for s in p.path) for p in real.works[1].planned.passes}
    moved = {n: now[n] - stops[n] for n in stops if abs(now[n] - stops[n]) > 1e-9}
    kinds = {n: p.kind for p in planned.works[1].planned.passes for n in [p.number]}
    expected = 38.56 - next(
        m.expected for p in planned.works[1].planned.passes for m in p.measure
        if p.kind == "semi-finish" and p.sections == ("back pivot",) and m.kind == "length"
    )  # fmt: skip
    assert {kinds[n] for n in moved} == {"finish", "edge"}
    assert all(shift == pytest.approx(-expected) for shift in moved.values())


def test_a_shoulder_that_reads_too_far_is_left_to_its_page_which_knows_what_is_cut_after_it(bench: Path) -> None:
    record("between plates", "46.22 mm")
    answer = record("back pivot stop shoulder", "38.40 mm").out
    assert "measure again before anything is cut; if it is so, what the page says of a shoulder" in answer


def stop_shoulders(job: Job) -> list[tuple[str, float]]:
    """What each stop before a last cut expects from Z zero to the shoulder, by the name it is recorded under, mm."""
    cuts = [p for work in job.works for p in work.planned.passes if p.kind == "semi-finish"]
    return [(f"{p.sections[-1]} stop shoulder", m.expected) for p in cuts for m in p.measure if m.kind == "length"]


def check_corrected(part: str, name: str, value: float) -> None:
    """Make a part once a stop has read a value, mm: it may be cut, has its pages, and comes out as aimed."""
    answer = run("record", part, name, f"{value:.4f} mm")
    assert (answer.status, answer.err) == (0, ""), (part, name, value)
    answer = run("make", part, "--out", "corrected", "--replace")
    assert (answer.status, answer.err) == (0, ""), (part, name, value)
    for path in sorted(Path("corrected").glob("setting-*.ngc")):
        answer = run("simulate", str(path), "--part", part, "--setting", path.stem[-1])
        assert (answer.status, answer.err) == (0, ""), (part, name, value)
        assert "changed" not in answer.out, (part, name, value, answer.out)


@pytest.mark.slow
def test_an_edge_beyond_a_corrected_shoulder_is_cut_over_its_cylinder_not_over_what_setting_1_left(bench: Path) -> None:
    """Setting 1 left a cone just outside the last shoulder: read 0.03 under, the edge was drawn on it."""
    record("between plates", "46.22 mm")
    check_corrected(DRUM, "back seat stop shoulder", 32.09)


@pytest.mark.slow
def test_a_program_corrected_as_recorded_is_not_said_to_be_changed(bench: Path) -> None:
    check_corrected(DRUM, "front seat stop diameter", 8.07)


@pytest.mark.slow
@pytest.mark.parametrize("off", [0.03, -0.03])
@pytest.mark.parametrize("part", [DRUM, "samples/moon-carriage-spindle.toml", "samples/crank-pin.toml"])
def test_every_shoulder_of_the_samples_is_corrected_by_its_stop(bench: Path, part: str, off: float) -> None:
    log = Path(part).with_suffix(".log")
    if part == DRUM:
        record("between plates", "46.22 mm")
    begun = log.read_bytes() if log.exists() else b""
    found = stop_shoulders(make_job(part))
    assert found
    for name, expected in found:
        log.write_bytes(begun)
        check_corrected(part, name, expected + off)


@pytest.mark.slow
def test_a_program_judged_by_itself_is_judged_on_what_is_recorded_too(bench: Path) -> None:
    record("between plates", "46.22 mm")
    record("front seat shoulder", "33.56 mm")
    record("front pivot diameter", "5.98 mm")
    record("front seat stop diameter", "8.07 mm")
    record("back seat stop diameter", "8.02 mm")
    make()
    for number in ("1", "2"):
        answer = run("simulate", f"arbor/setting-{number}.ngc", "--part", DRUM, "--setting", number)
        assert (answer.status, answer.err) == (0, "")


def test_a_stop_that_leaves_nothing_for_the_last_cut_is_refused(bench: Path) -> None:
    record("between plates", "46.22 mm")
    record("back seat stop diameter", "0.313 in")
    answer = run("make", DRUM, "--out", "arbor")
    assert answer.status == 1
    assert "allowed  more than 0.3142 in" in answer.err  # in the unit that was read
    assert 'nothing is left for the last cut on "back seat"' in answer.err
    assert "orrery-drum-arbor.log:2" in answer.err
    record("back seat stop diameter", "8.03 mm")
    make()


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("back seat stop diameter", "8.07 mm", "At the stop X reads 19 mm:\nset it to 19.015 mm, the tool where"),
        pytest.param("back seat stop diameter", "8.02 mm",
                     "At the stop X reads 19 mm:\nset it to 18.99 mm, the tool where", marks=pytest.mark.slow),
        pytest.param("back pivot stop shoulder", "38.64 mm",
                     "At the stop Z reads 45.05 mm:\nset it to 45.07 mm, the tool where", marks=pytest.mark.slow),
        ("front seat stop shoulder", "33.35 mm", "Z reads 0.55 mm:\nset it to 0.58 mm, the tool where"),
    ],
)  # fmt: skip
def test_a_zero_that_is_off_is_a_number_to_set_and_changes_no_program(
    bench: Path, name: str, value: str, said: str
) -> None:
    """A diameter that reads 0.03 over stands 0.015 further out than this control, which takes radii, thinks."""
    record("between plates", "46.22 mm")
    before = make_job(DRUM)
    record(name, value)
    assert [w.text for w in make_job(DRUM).works] != [w.text for w in before.works]
    answer = run("record", DRUM, name, value, "--zero")
    assert (answer.status, answer.err) == (0, "")
    assert said in answer.out
    assert "end the program, set it, begin again" in answer.out
    after = make_job(DRUM)
    assert [w.text for w in after.works] == [w.text for w in before.works]  # it stands in place of the correction
    assert "the control set" in run("history", DRUM).out


def test_a_number_to_set_is_one_that_the_control_shows(bench: Path) -> None:
    """A program in inches parks at 0.75 in, not at 19 mm; 0.03 mm over on diameter is 0.00059 in of radius."""
    shop = Path("samples/shop.toml")
    shop.write_text(shop.read_text().replace('units = "mm"', 'units = "in"', 1))
    record("between plates", "46.22 mm")
    said = run("record", DRUM, "back seat stop diameter", "8.07 mm", "--zero").out
    assert "expected 8.04 mm: 0.03 mm over" in said
    assert "At the stop X reads 0.75 in:\nset it to 0.75059 in" in said


def test_a_last_cut_in_two_passes_is_begun_again_at_the_first(bench: Path) -> None:
    """A fillet larger than the nose: the diameter is cut, then the shoulder faced; both are to come at the stop."""
    part = Path(DRUM)
    part.write_text(part.read_text().replace('corners = "fillet up to 0.2 mm"', 'corners = "fillet 0.2 mm"'))
    passes = make_job(DRUM).works[0].planned.passes
    last = [p.number for p in passes if p.kind == "finish" and p.sections == ("front seat",)]
    assert len(last) == 2
    for name, value in (("front seat stop shoulder", "33.43 mm"), ("front seat stop diameter", "8.07 mm")):
        assert f"begin at pass {last[0]}, its N line" in record(name, value).out


def test_a_tool_set_late_is_told_the_size_that_stands_not_what_a_corrected_pass_says(bench: Path) -> None:
    record("between plates", "46.22 mm")
    record("back seat stop diameter", "8.07 mm")
    record("back seat stop shoulder", "32.06 mm")
    text = make_job(DRUM).works[1].text
    assert "inward on diameter" in text
    words = " ".join(text.replace(")\n(..", "").split())
    assert "X 3.99 on back seat, diameter 7.98, Z 32 on the shoulder past back seat" in words


def test_a_control_set_says_what_the_program_still_corrects(bench: Path) -> None:
    record("between plates", "46.22 mm")
    record("back pivot stop diameter", "4.11 mm")
    answer = run("record", DRUM, "back seat stop diameter", "8.07 mm", "--zero")
    assert 'still corrects what "back pivot stop diameter" read' in answer.out
    assert "still corrects" not in run("record", DRUM, "back pivot stop diameter", "4.11 mm", "--zero").out


def test_a_reading_for_the_notebook_alone_changes_nothing_and_withdraws_what_did(bench: Path) -> None:
    record("between plates", "46.22 mm")
    before = make_job(DRUM)
    record("back seat stop diameter", "8.07 mm")
    answer = run("record", DRUM, "back seat stop diameter", "8.07 mm", "--notebook")
    assert "no program is changed" in answer.out
    assert [w.text for w in make_job(DRUM).works] == [w.text for w in before.works]


def test_a_last_cut_that_is_made_thin_is_warned_of_and_says_its_true_size(bench: Path) -> None:
    """The shop's finishing knife cuts 0.02 mm a side at least; 8.00 read leaves 0.01 for 7.98."""
    record("between plates", "46.22 mm")
    answer = record("back seat stop diameter", "8.00 mm")
    assert "thinner than tool 1's least cut, 0.02 mm" in answer.out
    text = make_job(DRUM).works[1].text
    assert "(to diameter 7.98, X set 0.04 outward on diameter, 0.01 a side" in text
    assert "thinner than the tool's least cut and may rub" in text
    record("back seat stop diameter", "8.07 mm")
    text = make_job(DRUM).works[1].text
    assert "(to diameter 7.98, X set 0.03 inward on diameter, 0.045 a side" in text
    assert "may rub" not in text


@pytest.mark.parametrize("option", ["--zero", "--notebook"])
def test_what_a_reading_is_for_is_said_of_stops_alone(bench: Path, option: str) -> None:
    answer = run("record", DRUM, "between plates", "46.22 mm", option)
    assert (answer.status, answer.out) == (1, "")
    assert "is not what a stop reads" in answer.err
    assert not LOG.exists()
    assert run("record", DRUM, "back seat stop diameter", "8.07 mm", "--zero", "--notebook").status == 2


# Records ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "what"),
    [
        ("between plate", "46.2 mm", 'did you mean "between plates"?'),
        ("front seat sholder", "33.5 mm", 'did you mean "front seat shoulder"?'),
        ("front seat shoulder", "33.5", "unit"),
        ("front seat shoulder", "335 mm", "is far from what is wanted, 33.5 mm"),
        ("front pivot diameter", "6.02 in", "is the unit right? 6.02 mm would be likely"),
        ("between plates", "", "there is no reading"),
        ("between plates", "46.2 mm; 46.3 thumbs", "thumbs"),
        ("between plates", "46.2 mm ± much", "limits"),
        ("back seat stop diameter", "8.04 mm", "there is no gauging stop"),
        ("front seat stop diameter", "7.3 mm", "far from what"),
    ],
)
def test_what_cannot_be_recorded_is_one_problem_and_leaves_no_trace(
    bench: Path, name: str, value: str, what: str
) -> None:
    answer = run("record", DRUM, name, value)
    assert (answer.status, answer.out) == (1, "")
    assert what in answer.err
    assert answer.err.endswith("1 problem\n")
    assert not LOG.exists()


def test_on_a_lathe_worked_by_hand_the_slide_is_set_and_nothing_is_corrected(bench: Path) -> None:
    shop = Path("samples/shop.toml")
    shop.write_text(by_hand(shop.read_text()))
    record("between plates", "46.22 mm")
    before = make_job(DRUM)
    answer = record("back seat stop diameter", "8.07 mm").out
    assert "on the dial correct as the page says" in answer
    answer = record("back seat stop diameter", "8.10 mm").out
    assert "hardly cut: correct as the page says at this MEASURE, cut it again" in answer
    assert "go on" not in answer
    answer = record("back seat stop diameter", "7.93 mm").out
    assert "measure again before anything is cut; if it is so, what the page says of under 7.97 mm" in answer
    assert "go on" not in answer
    assert "--zero" not in answer
    assert "set the slide to what you measured" not in answer
    after = make_job(DRUM)
    assert [w.text for w in after.works] == [w.text for w in before.works]
    assert "or endshake record" not in run("summary", DRUM).out


def test_by_hand_a_reading_is_held_against_the_figures_of_its_page(bench: Path) -> None:
    """Dials in inches land beside a plan in mm; the page's own row says what stood and what it leaves."""
    shop = Path("samples/shop.toml")
    text = by_hand(shop.read_text()).replace('division = "0.02 mm"', 'division = "0.001 in"', 2)
    shop.write_text(text.replace('turn = "2 mm"', 'turn = "0.1 in"', 2))
    record("between plates", "46.22 mm")
    page = joined(run("summary", DRUM).out)
    stops = re.findall(r"MEASURE (shoulder past )?(back pivot|front seat): ([\d.]+) _+ \(then", page)
    assert len(stops) == 4
    for shoulder, name, figure in stops:
        what = f"{name} stop {'shoulder' if shoulder else 'diameter'}"
        assert f"expected {float(figure):g} mm: just as expected" in record(what, f"{figure} mm").out
    row = re.search(r"\d+ back pivot (\S+) (\S+)[-+. \d]*MEASURE", page)
    assert row is not None
    half = (float(row[1]) + float(row[2])) / 2
    assert "hardly cut" not in record("back pivot stop diameter", f"{half - 0.001:.3f} mm").out
    assert "hardly cut" in record("back pivot stop diameter", f"{half + 0.001:.3f} mm").out


def test_history_is_a_page_on_which_superseded_records_are_marked(bench: Path) -> None:
    assert "nothing is recorded yet" in run("history", DRUM).out
    record("between plates", "46.20 mm")
    record("front pivot diameter", "6.012 mm ± 0.002 mm")
    record("between plates", "46.22 mm")
    answer = run("history", DRUM)
    rows = answer.out.splitlines()
    assert rows[0].startswith("orrery drum arbor")
    assert re.search(r"^1 .*between plates +46\.20 mm +superseded by line 3$", answer.out, re.M)
    assert re.search(r"^2 .*front pivot diameter +6\.012 mm ± 0\.002 mm$", answer.out, re.M)
    assert re.search(r"^3 .*between plates +46\.22 mm$", answer.out, re.M)


def test_a_part_without_spans_has_a_log_too(bench: Path) -> None:
    before = run("program", "samples/crank-pin.toml", "--setting", "1").out
    section = make_job("samples/crank-pin.toml").part.sections[0]
    assert run("record", "samples/crank-pin.toml", f"{section.name} diameter", section.diameter_a.text).status == 0
    assert run("program", "samples/crank-pin.toml", "--setting", "1").out == before
    assert "log " in run("check", "samples/crank-pin.toml").out


def test_a_log_that_cannot_be_read_is_a_problem(bench: Path) -> None:
    LOG.mkdir()
    answer = run("check", DRUM)
    assert answer.status == 1
    assert "a log must be a plain file" in answer.err


def test_a_torn_line_is_warned_of_and_hides_nothing(bench: Path) -> None:
    record("between plates", "46.22 mm")
    with LOG.open("a") as file:
        file.write('{"n": 2, "time"')
    answer = run("check", DRUM)
    assert answer.status == 0
    assert "only half written" in answer.err
    record("front seat length", "7.5 mm")
    assert [e.name for e in read_journal(str(LOG)).entries] == ["between plates", "front seat length"]


# Killed -------------------------------------------------------------------------------------------------------


def whole_set(folder: Path) -> None:
    """Every file that the folder's record lists is there as it was written."""
    told = json.loads((folder / "plan.json").read_text())["files"]
    for name, digest in told.items():
        data = (folder / name).read_bytes()
        if name == "plan.json":
            data = data.replace(digest.encode(), b"0" * 64)
        assert hashlib.sha256(data).hexdigest() == digest, name


def kill_at(steps: list[tuple[int, bool]]) -> tuple[int, int]:
    """Run record and make by turns and kill each at every one of these steps; count the killed and the finished."""
    kept: list[str] = []
    killed = 0
    make()
    for turn, (at, soon) in enumerate(steps):
        value = f"46.{2000 + turn} mm"
        for work in (make, partial(record, "between plates", value)):
            if not run_killed(work, at=at, soon=soon):
                killed += 1
            elif work is not make:
                kept.append(value)
            entries = read_journal(str(LOG))
            assert len(entries.torn) <= killed
            assert set(kept) <= {e.value for e in entries.entries}  # what was acknowledged is there
            assert run("history", DRUM).status == 0
            whole_set(Path("arbor"))
    make()
    whole_set(Path("arbor"))
    return killed, len(kept)


@pytest.mark.slow
def test_killed_at_an_instant_log_and_folder_are_whole(bench: Path) -> None:
    kill_at([(2, False), (4, True)])


@pytest.mark.slow
def test_killed_at_every_instant_log_and_folder_are_whole(bench: Path) -> None:
    """At each step that either takes, just after each third of them, and beyond the last."""
    make()
    steps = steps_of(partial(record, "between plates", "46.2 mm")), steps_of(make)  # in this order: make has work to do
    most = max(steps)
    every = range(1, most + 3)
    killed, kept = kill_at([(at, soon) for at in every for soon in (False, True) if not soon or at % 3 == 0])
    assert killed > most
    assert kept > most // 2, (most, killed, kept)


def test_a_corrected_shoulder_is_made_pages_and_all_and_asks_for_nothing_twice(bench: Path) -> None:
    """The shoulder stands 0.03 further in than said: the last cut takes 0.09 where 0.12 was planned."""
    record("front seat stop shoulder", "33.41 mm")
    record("front seat stop diameter", "8.07 mm")
    make()
    words = " ".join(files()["setting-1.ngc"].decode().replace(")\n(..", "").split())
    before, after = words.split("(---- pass 14 of", 1)[1].split("(---- pass 16 of", 1)[0].split("(---- pass 15 of", 1)
    assert "to correct" not in before
    assert before.count("corrected by it: set nothing here") == 2
    assert "X is 0.045 wide and Z is 0.09 wide" in after
    assert "Z-33.47 " in after


@pytest.mark.parametrize(
    ("name", "value", "said", "not_said"),
    [
        ("front seat stop diameter", "8.02 mm", "is to take 0.02 mm a side", "thinner than"),
        ("front seat stop shoulder", "33.49 mm", "thinner than tool 1's least cut", "nothing is left"),
        ("front seat stop shoulder", "33.50 mm", "within its limits already", "withdraw"),
        ("front seat stop shoulder", "33.53 mm", "withdraw this record", "make again"),
        ("front pivot stop diameter", "5.98 mm", "record it with --zero", "make again"),
    ],
)
def test_what_a_reading_leaves_for_the_last_cut_is_said(
    bench: Path, name: str, value: str, said: str, not_said: str
) -> None:
    """The tool's least cut is 0.02 mm, the aim 7.98 and 33.50."""
    answer = record(name, value)
    assert said in answer.out
    assert not_said not in answer.out


def test_sections_turned_as_one_are_corrected_as_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shoulder belongs to the last of them, and the cut on all of them goes to where it is to stand."""
    seat = 'name = "arm seat"\nrole = "seat"\ndiameter = "5 mm"\ntolerance = "+0 / -0.03 mm"\nlength = "8 mm"\n'
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    assert seat in text
    half = seat.replace("8 mm", "4 mm")
    both = half.replace("arm seat", "arm front") + 'finish = "turn"\n\n[[section]]\n' + half
    (tmp_path / "pin.toml").write_text(text.replace(seat, both), encoding="utf-8")
    shutil.copy(SAMPLES / "shop.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    for name, value in (("arm seat stop shoulder", "12.91 mm"), ("arm seat stop diameter", "5.06 mm")):
        assert run("record", "pin.toml", name, value).status == 0
    answer = run("make", "pin.toml", "--out", "pin")
    assert (answer.status, answer.err) == (0, "")
    text = Path("pin/setting-1.ngc").read_text(encoding="utf-8")
    assert "\nG0 X2.48\nG1 Z-12.97 " in text
    assert "X is 0.04 wide and Z is 0.09 wide" in " ".join(text.replace(")\n(..", "").split())


@pytest.mark.parametrize(
    ("name", "value"), [("front pivot stop diameter", "6.00 mm"), ("back seat stop shoulder", "31.98 mm")]
)
def test_what_is_within_its_limits_before_the_last_cut_is_gone_over_and_not_cut(
    bench: Path, name: str, value: str
) -> None:
    """Limits 6.00 to 6.02 and 31.98 to 32.02, aims 6.01 and 32.00."""
    record("between plates", "46.22 mm")
    assert "within its limits already" in record(name, value).out
    make()


def test_a_reading_that_leaves_nothing_keeps_no_other_from_being_recorded(bench: Path) -> None:
    """Nor itself from being measured again, as it is told to be, and checked as before."""
    record("front pivot stop diameter", "5.98 mm")
    assert "make again and begin at pass 15" in record("front seat stop diameter", "8.06 mm").out
    assert "make again and begin at pass 17" in record("front pivot stop diameter", "6.08 mm").out


@pytest.mark.parametrize(
    ("name", "value", "limit"),
    [
        ("front pivot stop diameter", "6.115 mm", "less than 6.115 mm"),
        ("front pivot stop diameter", "6.47 mm", "less than 6.115 mm"),
        ("front seat stop shoulder", "33.29 mm", "more than 33.29 mm"),
    ],
)
def test_a_reading_of_what_stood_before_is_no_correction(bench: Path, name: str, value: str, limit: str) -> None:
    """The cut before took less than a quarter of its depth: its program says so, and to cut it again."""
    answer = run("record", DRUM, name, value, "--sure")
    assert answer.status == 1
    assert "hardly cut" in answer.err
    assert "--sure" not in answer.err
    assert limit in answer.err
    assert not LOG.exists()
    answer = run("record", DRUM, name, value, "--zero")
    assert answer.status == 0
    assert "begin again at pass 1" in answer.out
    assert "measure there anew" in answer.out


def test_a_program_spoilt_by_a_record_is_not_our_fault(bench: Path) -> None:
    value = "6.55 mm, expected 6.0700 mm, sure"
    append_record(str(LOG), kind="stop reading", name="front pivot stop diameter", value=value)
    answer = run("make", DRUM, "--out", "arbor")
    assert answer.status == 1
    assert "our fault" not in answer.err
    assert "record it with --zero" in " ".join(answer.err.split())
    assert "--withdraw 1" in answer.err


# Sizes of finished shoulders -----------------------------------------------------------------------------


def lengths_of() -> dict[str, float]:
    """The lengths of the sections as the plan has them, mm."""
    return {s["name"]: s["length"]["mm"] for s in plan()["part"]["sections"]}


def test_a_shoulder_of_setting_2_that_came_out_wrong_leaves_setting_1_where_it_is(bench: Path) -> None:
    """The back seat was cut 0.35 too far in: the drum, and no section of setting 1, is so much shorter."""
    record("between plates", "46.22 mm")
    answer = record("back seat shoulder", "12.85 mm")
    assert '"drum body" 31.65 mm long for 32 mm' in answer.out
    assert 'span "drum inside" comes to 0.550 mm end shake' in answer.out
    assert "measure and record the others too" in answer.out
    assert "make again" not in answer.out
    made = run("make", DRUM, "--out", "arbor")
    assert 'span "drum inside" comes to 0.550 mm end shake' in made.err
    assert (lengths_of()["front seat"], lengths_of()["drum body"]) == (7.5, 31.65)
    answer = record("front seat shoulder", "33.50 mm")
    assert "too short: 0.550 mm end shake" in answer.out


@pytest.mark.parametrize("names", [("front", "back"), ("back", "front")])
def test_both_finished_shoulders_say_how_a_span_came_out(bench: Path, names: tuple[str, str]) -> None:
    record("between plates", "46.22 mm")
    sizes = {"front": "33.50 mm", "back": "12.49 mm"}
    one, two = (record(f"{name} seat shoulder", sizes[name]) for name in names)
    assert "is right" not in one.out
    assert 'span "drum inside" is right: 0.190 mm end shake' in two.out
    make()
    assert lengths_of()["drum body"] == 32.01


def test_records_that_contradict_one_another_are_told(bench: Path) -> None:
    """Both shoulders leave 32.01 between them over a bar of 78; three readings and the bar explain 0.08 at most."""
    for name, size in (("between plates", "46.22 mm"), ("front seat shoulder", "33.50 mm")):
        record(name, size)
    record("back seat shoulder", "12.49 mm")
    assert "contradict" not in record("drum inside span", "31.94 mm").out
    answer = record("drum inside span", "31.92 mm")
    assert "contradict each other by 0.090 mm" in answer.out
    for line in (2, 3, 5):
        assert f"endshake record {DRUM} --withdraw {line}" in answer.out
    make_told = run("check", DRUM).err
    assert f"endshake record {DRUM} --withdraw 5" in " ".join(make_told.split())


def test_of_records_that_contradict_one_another_the_latest_counts(bench: Path) -> None:
    """The bar stands as it was faced, and what is read last and directly is not overruled by a sum of older ones."""
    for name, size in (
        ("between plates", "46.22 mm"), ("front pivot shoulder", "26.05 mm"), ("back seat shoulder", "12.40 mm"),
        ("frame span", "46.00 mm"), ("back pivot shoulder", "5.85 mm"), ("front seat shoulder", "33.70 mm"),
    ):  # fmt: skip
        answer = run("record", DRUM, name, size, "--sure")
        assert answer.status == 0
    assert 'span "drum inside" is right: 0.300 mm' in answer.out  # 78 - 12.40 - 33.70 = 31.90
    answer = run("record", DRUM, "drum inside span", "32.05 mm")
    assert 'span "drum inside" is right: 0.150 mm' in answer.out


def test_the_shoulder_that_is_cut_last_has_the_limits_of_its_span(bench: Path) -> None:
    """The B end first: what setting 1 cuts is made good in setting 2, in which it would be scrap."""
    text = Path(DRUM).read_text(encoding="utf-8")
    for old, new in (
        ('# first = "A"', 'first = "B"'),
        ('to_be_measured = "after setting 1"', 'value = "46.22 mm"'),
        ('grip = "stock"', 'grip = "drum body"'),
        ('carrier = "small carrier"\ngrip = "winding square"', 'carrier = "middle carrier"\ngrip = "stock"'),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    Path(DRUM).write_text(text, encoding="utf-8")
    answer = run("summary", DRUM)
    assert answer.status == 0, answer.err
    first, second = answer.out.split("SETTING 2 of 2", 1)
    assert "over 12.52: scrap" not in first
    last = re.search(r"shoulder past front seat: 32\.00 _+ \(31\.98 to 32\.02\);([^_]*)", " ".join(second.split()))
    assert last is not None
    assert "under 31.90: scrap" in last[1]


@pytest.mark.parametrize(
    ("size", "said"), [("8.03 mm", "over its most, 8 mm: 0.03 mm at least is to come off"), ("7.95 mm", "scrap")]
)
def test_a_finished_size_past_its_limits_is_told(bench: Path, size: str, said: str) -> None:
    assert said in record("front seat diameter", size).out


def test_a_shoulder_that_was_recorded_moves_the_other_end_alone(bench: Path) -> None:
    """Faces of setting 1 that nobody measured stay where they were to be cut, from its own end."""
    record("between plates", "46.22 mm")
    record("front pivot length", "6.05 mm")
    make()
    found = lengths_of()
    assert (found["front seat"], found["drum body"], found["back seat"]) == (7.45, 32.0, 6.55)


def test_a_size_under_its_least_is_warned_of_whenever_it_is_made(bench: Path) -> None:
    record("drum body diameter", "13.90 mm")
    assert '"drum body" is recorded under its least' in run("make", DRUM, "--out", "arbor").err


def test_shoulders_of_setting_1_that_a_span_rests_on_are_to_be_recorded_before_setting_2(bench: Path) -> None:
    """The limits of setting 2 count from them; once they are recorded nothing more is asked."""
    record("between plates", "46.22 mm")
    make()
    asked = 'endshake record "front pivot shoulder" and "front seat shoulder"; make again before setting 2'
    words = " ".join(files()["summary.txt"].decode().split())
    assert asked in words
    assert "Record: see SPANS." in words
    for name, value in (("front pivot shoulder", "26.00 mm"), ("front seat shoulder", "33.50 mm")):
        record(name, value)
    make()
    words = " ".join(files()["summary.txt"].decode().split())
    assert "make again before setting 2" not in words
    assert "Record: see SPANS." not in words


def test_a_shoulder_far_off_is_told_from_where_it_is_counted(bench: Path) -> None:
    record("between plates", "46.22 mm")
    answer = run("record", DRUM, "back seat shoulder", "40 mm")
    assert "counted from the finished end of the part, not from Z 0" in answer.err


# Limits of lengths that are recorded ---------------------------------------------------------------------------


def limit_length(section: str, length: str) -> None:
    """Give a section of the drum arbor limits of its length."""
    text = Path(DRUM).read_text(encoding="utf-8")
    head, name, tail = text.partition(f'name = "{section}"\n')
    assert f"length = {length}" in tail
    tail = tail.replace(f"length = {length}", f'length = {length}\nlength_tolerance = "±0.02 mm"', 1)
    Path(DRUM).write_text(head + name + tail, encoding="utf-8")


def test_limits_of_a_length_stay_about_what_is_drawn_when_it_is_recorded(bench: Path) -> None:
    limit_length("front seat", '"7.5 mm"')
    answer = record("front seat shoulder", "33.53 mm")
    assert '"front seat" comes to 7.530 mm long by what is recorded, over its most, 7.520 mm' in answer.out
    assert "measure and record its other shoulder too; if that is as planned, 0.010 mm at least" in answer.out
    assert '"front seat" comes to 7.530 mm' in run("check", DRUM).err
    booked = joined(run("notebook", DRUM).out)
    assert re.search(r"length of back seat to be measured _", booked)  # that of a span is between its shoulders
    assert re.search(r"between the shoulders of drum 32\.00 31\.98 to 32\.02 _+ inside", booked)
    assert re.search(r"length of front seat 7\.50 7\.48 to 7\.52 ", booked)
    assert "comes to" not in record("front pivot shoulder", "26.02 mm").out
    assert run("check", DRUM).err == ""
    answer = record("front pivot shoulder", "26.06 mm")
    assert '"front seat" comes to 7.470 mm long by what is recorded, under its least, 7.480 mm' in answer.out
    assert "other shoulder" not in answer.out


def test_the_worst_case_of_a_cut_span_has_the_doubts_of_the_records_that_give_it(bench: Path) -> None:
    """0.053 of the drum, and of each shoulder what was typed, or else a vernier's 0.02."""
    record("between plates", "46.22 mm")
    record("front seat shoulder", "33.50 mm ± 0.01 mm")
    answer = record("back seat shoulder", "12.49 mm ± 0.005 mm")
    assert "0.190 mm end shake, wanted 0.100 to 0.300 mm; measuring leaves 0.122 to 0.258 mm possible\n" in answer.out
    answer = record("back seat shoulder", "12.48 mm")
    assert "leaves 0.097 to 0.263 mm possible, ±0.02 mm taken for what is recorded without its own" in answer.out


def test_a_recorded_end_of_a_span_that_is_not_cut_through_is_doubted_too(bench: Path) -> None:
    """The late shoulder of the frame is put where the recorded front seat leaves it, so its doubts count."""
    record("between plates", "46.22 mm")
    make()

    def half(name: str) -> float:
        (found,) = (s for s in plan()["measured"]["spans"] if s["name"] == name)
        low, high = found["predicted"]["worst_case_mm"]
        return (high - low) / 2

    before = half("frame")
    record("front pivot shoulder", "26.00 mm ± 0.004 mm")
    record("front seat shoulder", "33.50 mm ± 0.003 mm")
    make()
    assert half("frame") == pytest.approx(before + 0.007)
    record("front pivot shoulder", "26.00 mm")
    make()
    assert half("frame") == pytest.approx(before + 0.023)
    assert "+/-0.02 mm taken for what is recorded without its own" in " ".join(run("summary", DRUM).out.split())


# Shoulders past a groove --------------------------------------------------------------------------------------

NECK = '''
[[section]]
name = "neck"
role = "undercut"
diameter = "7 mm"
length = "1.5 mm"
finish = "turn"
'''


def add_neck(section: str, *, after: bool) -> None:
    """Give the drum arbor a groove of its own beside a section."""
    text = Path(DRUM).read_text(encoding="utf-8")
    head, table, tail = text.partition(f'[[section]]\nname = "{section}"')
    own, end, rest = (table + tail).partition("\n[[section]]")
    own = re.sub("(?m)^(corner_a|edge_b) = .*\n", "", own) + ('edge_b = "sharp"\n' if after else 'edge_a = "sharp"\n')
    Path(DRUM).write_text(head + (own + NECK if after else f"{NECK}\n{own}") + end + rest, encoding="utf-8")


@pytest.mark.parametrize(
    ("section", "after", "size"), [("front seat", True, "35.01 mm"), ("back seat", False, "12.49 mm")]
)
def test_the_shoulder_past_a_groove_is_recorded_by_the_section_that_it_undercuts(
    bench: Path, section: str, after: bool, size: str
) -> None:
    add_neck(section, after=after)
    record("between plates", "46.22 mm")
    shown = [*names_of(read_given(DRUM)[0])]
    assert {f"{section} shoulder", f"{section} stop shoulder", "neck shoulder"} <= {*shown}
    answer = record(f"{section} shoulder", size)
    assert ('"neck" 1.51 mm long' if after else '"drum body" 32.01 mm long') in answer.out
    faces = {n: (t.start, t.end) for n, t in names_of(read_given(DRUM)[0]).items()}
    assert faces[f"{section} shoulder"] == faces["neck shoulder"]


def test_a_shoulder_recorded_under_another_name_is_not_asked_for_again(bench: Path) -> None:
    add_neck("front seat", after=True)
    record("between plates", "46.22 mm")
    asked = 'endshake record "front pivot shoulder" and "front seat shoulder"'
    assert asked in " ".join(run("summary", DRUM).out.split())
    for name, value in (("front pivot shoulder", "26.00 mm"), ("neck shoulder", "35.00 mm")):
        record(name, value)
    assert "make again before setting 2" not in " ".join(run("summary", DRUM).out.split())


# What turning leaves on a face --------------------------------------------------------------------------------


def test_a_recorded_length_counts_as_finished_on_pages_in_answers_and_in_setting_2(bench: Path) -> None:
    """The front pivot's shoulder is turned 25.98 from the end, and 0.02 is stoned off its face when all is turned."""
    text = Path(DRUM).read_text(encoding="utf-8")
    Path(DRUM).write_text(text.replace('on_face = "0 mm"', 'on_face = "0.02 mm"', 1), encoding="utf-8")
    assert '"front seat shoulder", with what is still to come off its face added' in joined(run("summary", DRUM).out)
    record("between plates", "46.22 mm")
    told = joined(run("summary", DRUM).out)
    assert "MEASURE shoulder past front pivot: 25.98" in told
    assert 'to "front pivot shoulder" add the 0.02 left on its face, unless that is off already' in told
    make()
    turned = plan()["settings"][1]["turned"]
    answer = record("front pivot shoulder", "25.98 mm")
    assert "with the 0.02 mm left on its faces still to come off, record 26 mm instead" in answer.out
    record("front pivot shoulder", "26.00 mm")
    record("front seat shoulder", "33.50 mm")
    make()
    assert plan()["settings"][1]["turned"] == turned
    assert "record 46 mm instead" in record("frame span", "46.02 mm").out
    assert "instead" not in record("drum inside span", "32.00 mm").out


# What is left for the fitting ---------------------------------------------------------------------------------


def leave_for_fitting() -> None:
    """Leave 0.05 on the late shoulder of the frame, which the back pivot stands on."""
    text = Path(DRUM).read_text(encoding="utf-8")
    text = text.replace("# fitting_allowance =", "fitting_allowance =").replace(
        'to_be_measured = "after setting 1"', 'value = "46.22 mm"'
    )
    Path(DRUM).write_text(text, encoding="utf-8")


@pytest.mark.parametrize(("left", "limits"), [(False, "38.48 to 38.52"), (True, "38.53 to 38.57")])
def test_a_late_shoulder_is_scrap_only_where_its_span_has_more_than_its_most_end_shake(
    bench: Path, left: bool, limits: str
) -> None:
    """Z 0 is 7.5 from the front seat's face: it is aimed 46 - 7.5 = 38.5 from there, and shakes 0.1 more at most."""
    leave_for_fitting()
    if not left:
        Path(DRUM).write_text(Path(DRUM).read_text().replace("fitting_allowance =", "# fitting_allowance ="))
    page = joined(run("summary", DRUM).out)
    last = re.findall(r"shoulder past back pivot: \S+ _+ \(([^)]*)\); over: [^;]*; (under .*? scrap) ", page)
    assert last[-1] == (limits, "under 38.40: scrap")


def test_no_allowance_is_added_to_a_length_that_is_recorded(bench: Path) -> None:
    leave_for_fitting()
    page = joined(run("summary", DRUM).out)
    assert "+ 0.050 fitting allowance, on the late shoulder = 46.050 as cut" in page
    assert "which way: leave it full" in page.lower()
    record("back pivot shoulder", "5.95 mm")
    page = joined(run("summary", DRUM).out)
    assert "fitting allowance, on the late shoulder" not in page
    assert "The late shoulder is recorded: 0.050 is still to come off it." in page
    answer = record("frame span", "46.05 mm ± 0.01 mm")
    assert 'span "frame" is right: 0.170 mm end shake' in answer.out
    assert "46.050 mm, is over its most, 46.020 mm: faced back by 0.050 mm" in answer.out
    assert "fitting allowance, on the late shoulder" not in run("summary", DRUM).out
    assert "under its least, 45.980 mm" in record("frame span", "45.95 mm").out
    assert "its length" not in record("frame span", "46.01 mm").out
