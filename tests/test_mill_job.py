"""The mill's share the whole way: files in, programs out, read back and judged; damaged ones found by line."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from functools import lru_cache
from itertools import groupby
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.job import RefusedError, job_files, make_job
from cam.job.mill import after_setting, say_when
from cam.job.milling import MillJob
from cam.job.record import job_record
from cam.job.reread import MisreadError, check_said
from cam.judge.mill import radius_at
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import HoleTask
from cam.mill.plan_square import SquarePlan
from cam.moves.model import Rapid
from cam.part.starter import starter_text
from cam.rs274.halts import plain
from cam.rs274.model import Program, Rules
from cam.rs274.read import read_program
from posts.dialect import dialect_names, load_dialect
from posts.mill import emit_mill
from posts.steps import choose_form
from tests.mill_case import make_mill_job
from tests.mill_parts import WAYS, MillCase, mill_cases
from tests.mill_variants import variant
from tests.specimens import SAMPLES, arbor_text, part_from, record_samples, shop_from
from tests.test_cli import run

DIALECTS = dialect_names()
ARBOR, SHOP = arbor_text(), (SAMPLES / "shop.toml").read_text(encoding="utf-8")
def changed(text: str, *edits: tuple[str, str]) -> str:
    """A text with words replaced, each of which must be there."""
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


@lru_cache(32)
def mill_job(part: str = ARBOR, shop: str = SHOP, dialect: str = "rs274ngc") -> MillJob:
    """The mill's share of a part from text."""
    job = make_mill_job(part_from(part), shop_from(shop), dialect)
    assert job is not None
    return job


def by_name(job: MillJob) -> dict[str, MillWorkDone]:
    return {work.name: work for work in job.works}


def read(text: str, dialect: str) -> Program:
    return read_program(text, Rules(standard=load_dialect(dialect).text("STANDARD"), x_words="radius", turns=True))


# The sample, whole ------------------------------------------------------------------------------------------


@lru_cache
def drum_arbor(dialect: str = "rs274ngc"):
    return make_job(str(SAMPLES / "orrery-drum-arbor.toml"), dialect=dialect, mill_dialect=dialect)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_the_sample_has_its_square_and_its_hole(dialect: str) -> None:
    """4.2 mm finished and 0.02 left: 4.22 at 10 mm; each side falls tan 0.15 degrees: 4.168 at the tip."""
    job = drum_arbor(dialect)
    assert job.problems == ()
    assert job.mill is not None
    assert [w.name for w in job.mill.works] == ["cross-hole", "square"]
    assert list(job_files(job))[:4] == ["setting-1.ngc", "setting-2.ngc", "cross-hole.ngc", "square.ngc"]
    square = by_name(job.mill)["square"]
    found = {round(a.x, 3): a.reading for a in square.simulation.across if a.flat == 1}
    assert found[max(found)] == pytest.approx(4.22 - 20 * math.tan(math.radians(0.15)), abs=2e-4)
    for x, reading in found.items():
        assert reading == pytest.approx(4.22 + 2 * math.tan(math.radians(0.15)) * (10 - x), abs=2e-4)
    for work in job.mill.works:
        assert work.simulation.ok
        assert work.simulation.closest is not None
        assert work.simulation.closest.distance >= 0.5
        assert read(work.text, dialect).problems == ()


def test_the_mill_comes_after_what_it_needs_and_before_the_pivots_are_stoned() -> None:
    job = drum_arbor()
    assert job.mill is not None
    for work in job.mill.works:
        assert after_setting(job, work) == 2
        assert say_when(job, work) == "after setting 2, before front pivot and back pivot are stoned or burnished"


def test_the_record_holds_the_mill_and_the_times() -> None:
    record = json.loads(json.dumps(job_record(drum_arbor()), allow_nan=False))
    hole, square = record["mill"]["works"]
    assert (hole["program"], square["program"]) == ("cross-hole.ngc", "square.ngc")
    assert hole["cross_hole"]["drill_mm"] == 2.6
    assert square["square"]["shim_mm"] == 0.13
    assert square["square"]["shim_distance_mm"] == pytest.approx(0.13 / math.tan(math.radians(0.15)), abs=1e-6)
    for work in (hole, square):
        assert work["checked"]["findings"] == []
        assert work["checked"]["cutting_s"] > 10
        assert work["checked"]["closest"]["distance_mm"] >= 0.5
        assert work["after_setting"] == 2


def test_check_and_make_say_the_mill(here: Path) -> None:
    answer = run("check", "samples/orrery-drum-arbor.toml")
    assert answer.status == 0
    for words in ("cross-hole.ngc: hook hole in drum body", "square.ngc: the square on winding square",
                  "after setting 2", "to the collet nut, square.ngc:"):  # fmt: skip
        assert words in answer.out
    data = run("make", "samples/orrery-drum-arbor.toml", "--out", "x", "--json").data
    assert [w["name"] for w in data["mill"]] == ["cross-hole", "square"]
    assert Path("x/square.ngc").read_text() == run("program", "samples/orrery-drum-arbor.toml", "--mill", "square").out


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working directory with the samples, and what they wait for recorded."""
    (tmp_path / "samples").mkdir()
    for path in SAMPLES.glob("*.toml"):
        (tmp_path / "samples" / path.name).write_bytes(path.read_bytes())
    record_samples(tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_square_too_large_is_refused_by_the_largest_that_passes(here: Path) -> None:
    """6.52 / sqrt(2) = 4.610 at the shoulder; 12 tan 0.15 degrees = 0.031 less at 6 mm: 4.578 and no more."""
    answer = run("make", "samples/square-too-large.toml", "--out", "x")
    assert (answer.status, answer.out) == (1, "")
    assert not Path("x").exists()
    assert "does not pass its own bearing" in answer.err
    assert "at most 4.578 mm across flats at 6 mm from the shoulder" in answer.err
    assert run("check", "samples/square-too-large.toml", "--json").data["ok"] is False
    text = Path("samples/square-too-large.toml").read_text()
    Path("samples/fixed.toml").write_text(changed(text, ('across = "4.8 mm"', 'across = "4.578 mm"')))
    assert run("check", "samples/fixed.toml").status == 0


def test_with_the_lathe_refused_the_mill_is_looked_at_too(here: Path) -> None:
    """All problems at once: no tool reaches beside the centre, and the square does not pass."""
    text = Path("samples/square-too-large.toml").read_text()
    part = changed(text, ('tail_centre = "dead centre"', 'tail_centre = "revolving centre"'),
                   ('tail_centre = "dead centre"', 'tail_centre = "revolving centre"'))  # fmt: skip
    Path("samples/both.toml").write_text(part.replace('diameter = "5 mm"', 'diameter = "2.4 mm"'))
    with pytest.raises(ProblemError) as refused:
        make_job("samples/both.toml")
    said = [p.what for p in refused.value.problems]
    assert isinstance(refused.value, RefusedError)
    assert len(said) > 1
    assert any("does not pass its own bearing" in what for what in said)


def test_a_loose_key_is_warned_of_and_one_that_slips_round_is_refused() -> None:
    """The square is 4.252 across flats at the shoulder, and round as its blank at the corners: 5.18."""
    (warned,) = mill_job(changed(ARBOR, ('key = "4.24 mm"', 'key = "4.8 mm"'))).warnings
    assert "the key bears on little of the square's corners" in str(warned)
    with pytest.raises(ProblemError, match="the key slips round on the square"):
        mill_job(changed(ARBOR, ('key = "4.24 mm"', 'key = "5.24 mm"')))


# What waits -------------------------------------------------------------------------------------------------

SECOND_HOLE = """
[[cross_hole]]
name = "oil hole"
section = "front seat"
shoulder = "back seat"
face = "B"
distance = "42.5 mm"
angle = "90 deg"
diameter = "2.6 mm"
through = true
flat_depth = "0 mm"
grip = "drum body"
grip_length = "12 mm"
"""


def test_a_hole_that_counts_on_a_pending_length_waits(here: Path) -> None:
    """The back seat's end comes from the frame, which is measured after setting 1."""
    path = Path("samples/orrery-drum-arbor.toml")
    path.write_text(changed(path.read_text(), ("\n[[cross_hole]]", SECOND_HOLE + "\n[[cross_hole]]")))
    Path("samples/orrery-drum-arbor.log").unlink()
    answer = run("check", str(path))
    assert answer.status == 0
    assert '"oil hole" cannot be planned yet' in answer.out
    assert "cross-hole-2.ngc: hook hole" in answer.out
    refused = run("program", str(path), "--mill", "cross-hole")
    assert refused.status == 1
    assert "endshake record" in refused.err
    assert run("program", str(path), "--mill", "cross-hole-2").status == 0
    record_samples(Path("samples"))
    answer = run("program", str(path), "--mill", "cross-hole")
    assert answer.status == 0
    assert "(- oil hole in front seat, X zero at the B face of back seat" in answer.out


@pytest.mark.parametrize(
    ("hole", "words"),
    [(("through = true", 'depth = "6.9 mm"'), ""),
     (("through = true", 'depth = "7.9 mm"'), "the drill's point comes out on the far side"),
     (("through = true", 'depth = "9 mm"'), "is blind and does not end inside the body"),
     (('flat_depth = "0 mm"', 'flat_depth = "3 mm"'), "takes too much of the body")],
)  # fmt: skip
def test_a_hole_that_waits_for_a_length_is_refused_before_it_for_what_does_not(
    here: Path, hole: tuple[str, str], words: str
) -> None:
    path = Path("samples/orrery-drum-arbor.toml")
    path.write_text(changed(path.read_text(), ("\n[[cross_hole]]", changed(SECOND_HOLE, hole) + "\n[[cross_hole]]")))
    Path("samples/orrery-drum-arbor.log").unlink()
    answer = run("check", str(path))
    assert (answer.status, '"oil hole" cannot be planned yet' in answer.out) == (bool(words), not words)
    assert words in answer.told


@pytest.mark.parametrize(
    ("edits", "words"),
    [((), ""),
     ((('corners = "round"', 'corners = "broken"\nbroken = "0.2 mm"'),), "the corners of the square cannot be broken"),
     ((('flats_end = "0.1 mm"', 'flats_end = "10.5 mm"'),), "the station lies where no flat is"),
     ((('key = "4.24 mm"', 'key = "4.15 mm"'),), "the key stops too soon")],
)  # fmt: skip
def test_a_square_that_waits_for_a_length_is_refused_before_it_for_what_does_not(
    here: Path, edits: tuple[tuple[str, str], ...], words: str
) -> None:
    """Held by the back seat, which ends where the frame is measured, it cannot be planned before setting 1 is cut."""
    path = Path("samples/orrery-drum-arbor.toml")
    held = ('grip = "drum body"                  # what', 'grip = "back seat"  # what'), ('"21 mm" ', '"5 mm" ')
    path.write_text(changed(path.read_text(), *held, *edits))
    Path("samples/orrery-drum-arbor.log").unlink()
    answer = run("check", str(path))
    if not words:
        assert (answer.status, "the square cannot be planned yet" in answer.out) == (0, True)
        return
    assert answer.status == 1
    assert words in answer.told


def test_a_recorded_diameter_is_what_the_mill_starts_from(here: Path) -> None:
    """The blank came out 5.16 for 5.18: Z is set on half of it; over flat and round it reads half as much less."""
    before = by_name(drum_arbor().mill)["square"].plan
    part = "samples/orrery-drum-arbor.toml"
    assert run("record", part, "winding square diameter", "5.16 mm").status == 0
    after = by_name(make_job(part).mill)["square"].plan
    assert isinstance(before, SquarePlan)
    assert isinstance(after, SquarePlan)
    assert before.milled.blank - after.milled.blank == pytest.approx(0.02)
    assert before.touch_off[1] - after.touch_off[1] == pytest.approx(0.01, abs=1e-6)


# Random files -----------------------------------------------------------------------------------------------


def check_case(case: MillCase, dialect: str, units: str) -> None:
    """All three ways, from files: clear, sizes by plain arithmetic at every station, one solid."""
    digit = choose_form(load_dialect(dialect), units).digit
    found = {}
    for way, shop in case.shops.items():
        job = mill_job(case.part, shop.replace("{units}", units), dialect)
        assert job.problems == (), way
        square, hole = by_name(job)["square"], by_name(job)["cross-hole"]
        for work in job.works:
            assert work.simulation.closest is not None
            assert work.simulation.closest.distance >= 0.3 - 1e-6
        crown = 0.0 if way == "tipped block" else case.crown
        stations = {a.x for a in square.simulation.across}
        assert min(stations) < case.wall + 0.01
        assert max(stations) > case.length - 0.01
        assert {a.flat for a in square.simulation.across} == set(range(1, case.flats // 2 + 1))
        for a in square.simulation.across:
            assert a.reading == pytest.approx(case.across_at(a.x), abs=2 * (crown + digit) + 1e-9)
        (drilled,) = [b for b in hole.simulation.bores if b.tool == 3]
        assert drilled.x == pytest.approx(case.hole_x, abs=digit)
        assert (drilled.tip < -7) is case.through
        found[way] = square
    for x in (case.wall + 0.2, (case.wall + case.length) / 2, case.length - 0.01):
        for ray in range(0, 360, 11):
            radii = [radius_at(w.simulation.faces, w.plan.work, x, ray) for w in found.values()]
            assert max(radii) - min(radii) < 0.001


PHASES = (Phase.reuse, Phase.generate)
"""A failing case is made smaller for minutes, and the smaller one tells no more."""

CASES = given(mill_cases(), st.sampled_from(DIALECTS), st.sampled_from(("mm", "in")))


@settings(max_examples=12, deadline=None, phases=PHASES)
@CASES
def test_random_files_come_out_right_in_all_three_ways(case: MillCase, dialect: str, units: str) -> None:
    check_case(case, dialect, units)


@pytest.mark.slow
@settings(max_examples=40, deadline=None, phases=PHASES)
@CASES
def test_many_random_files_come_out_right_in_all_three_ways(case: MillCase, dialect: str, units: str) -> None:
    check_case(case, dialect, units)


@pytest.mark.parametrize("dialect", DIALECTS)
def test_ways_differ_where_they_should(dialect: str) -> None:
    """By hand: a stop for every turn; by the axis: A words and none; a shim for a tipped block only."""
    works = {way: by_name(mill_job(shop=WAY_SHOPS[way], dialect=dialect))["square"] for way in WAYS}
    texts = {way: work.text for way, work in works.items()}
    turns = re.compile(r"TURN THE WORK TO (\d+) DEG")
    assert turns.findall(texts["tipped block"]) == ["0", "180", "90", "270", "0", "90", "180", "270"]
    assert turns.findall(texts["ramped"]) == turns.findall(texts["tipped block"])
    assert turns.findall(texts["rotary axis"]) == []
    words = [float(w) for w in re.findall(r"^(?:N\d+ )?G0 A([\d.]+)$", texts["rotary axis"], re.M)]
    assert [angle for angle, _ in groupby(words)] == [0, 30, 0, 180, 90, 270, 0, 90, 180, 270]  # 30: the proof
    blocks = re.split(r"pass \d+ of", texts["rotary axis"])[1:]
    assert all("G0 A" in block.split("G0 X")[0] for block in blocks)  # each pass can be begun from any angle
    said = {way: " ".join(work.notes) for way, work in works.items()}
    assert "Put a shim of" in said["tipped block"]
    assert "no shim" in said["ramped"]
    assert "shim of" not in said["rotary axis"]


WAY_SHOPS = {
    "tipped block": SHOP,
    "ramped": changed(SHOP, ('square_by = "tipped block"', 'square_by = "ramped"')),
    "rotary axis": changed(SHOP, ('square_by = "tipped block"', 'square_by = "rotary axis"')),
}


# Cycles -----------------------------------------------------------------------------------------------------


def motions(text: str, dialect: str) -> list[tuple[object, ...]]:
    """What moves, to the nanometre."""
    program = read(text, dialect)
    assert program.problems == ()
    return [
        (m.kind, *(None if v != v else round(v, 6) for v in m.end), m.feed if m.kind == "line" else None, m.tool)  # noqa: PLR0124 - nan
        for m in program.motions
        if m.kind in ("rapid", "line") and m.start != m.end
    ]


THROUGH = (('depth = "5 mm" ', "through = true #"), ('chips = "0.5 mm" ', "#"))
PLAIN = (('thread = "M3"', 'diameter = "2.6 mm"'), ('lead = "bottoming"', "#"), ('chips = "0.5 mm" ', "#"))


@pytest.mark.parametrize("edits", [(), THROUGH, PLAIN, (*PLAIN, ('depth = "5 mm"', 'depth = "2 mm"'))])
@pytest.mark.parametrize("dialect", [d for d in DIALECTS if load_dialect(d).text("CYCLE_DRILL")])
def test_every_cycle_says_the_same_as_its_long_hand(dialect: str, edits: tuple[tuple[str, str], ...]) -> None:
    tap = ('shank_diameter = "3.15 mm"', 'shank_diameter = "2.2 mm"')  # so that it reaches right through
    part, shop = changed(ARBOR, *edits), shop_from(changed(SHOP, tap))
    work = by_name(mill_job(part, changed(SHOP, tap), dialect=dialect))["cross-hole"]
    mill = shop.milling.mill
    assert mill is not None
    long = emit_mill(work.plan.moves, title=work.title, notes=work.notes, part=part_from(part), shop=shop, mill=mill,
                     dialect=load_dialect(dialect), cycles=False)  # fmt: skip
    assert re.search(r"\bG8[13]\b", work.text)
    assert not re.search(r"\bG8[13]\b", long)
    assert motions(work.text, dialect) == motions(long, dialect)


def test_a_tap_goes_in_by_cycle_only_where_the_spindle_follows() -> None:
    by_hand = by_name(mill_job())["cross-hole"].text
    assert "G84" not in by_hand
    assert "Tap M3 x 0.5 by hand to 6 mm" in by_hand
    shop = changed(SHOP, ("tap_cycle = false", "tap_cycle = true"))
    text = by_name(mill_job(shop=shop))["cross-hole"].text
    assert re.search(r"^G84 .* F150\.0$", text, re.M)
    with pytest.raises(ProblemError, match="eia274d has no cycle for a tap"):
        mill_job(shop=shop, dialect="eia274d")


@pytest.mark.parametrize(
    ("dialect", "own"), [("rs274ngc", "G54, G55 and G56"), ("eia274d", "offset 01, offset 02 and offset 03")]
)
def test_where_each_tool_has_its_own_zero_x_and_y_are_to_be_entered_in_all(dialect: str, own: str) -> None:
    works = by_name(mill_job(dialect=dialect))
    hole, square = comments(works["cross-hole"].text), comments(works["square"].text)
    first, second = own.replace(" and", ",").split(", ")[:2]
    assert plain(f"X and Y go into each of {own}, the same in all") in hole
    assert plain(f"Enter X and Y in each of {own}. Call each in turn") in hole
    assert hole.count(plain("must show X 0 mm and Y 0, within 1 mm")) == 3
    assert plain(f"if not set before, in {second}: X and Y as said above, its Z is 6.99 mm") in hole
    assert plain(f"X, Y and Z go into {first} before the start") in square


def test_of_one_zero_nothing_is_said_of_entering_it_for_each_tool() -> None:
    hole = comments(by_name(mill_job(dialect="isongc"))["cross-hole"].text)
    assert plain("X, Y and Z are one zero for all tools") in hole
    assert "EACH OF" not in hole


def comments(text: str) -> str:
    """The words of a text's comments, in capitals and without signs, as every dialect writes them."""
    return plain(" ".join(re.findall(r"\(([^)]*)\)", text)))


LONGER = (
    ('extra_length = "0 mm"                #', 'extra_length = "3 mm" #'),
    ('length = "82 mm"', 'length = "86 mm"'),
)  # fmt: skip
"""What gives the arbor extra length at the end of its square."""


def test_extra_length_is_off_before_the_mill_which_cuts_as_if_there_had_been_none() -> None:
    longer, own = mill_job(changed(ARBOR, *LONGER)), mill_job()
    assert "extra length" not in " ".join(map(str, longer.warnings))
    for cut, as_cut in zip(longer.works, own.works, strict=True):
        assert cut.plan.moves == as_cut.plan.moves
        assert plain("The tip is the A end of the part, once the extra length is off.") in comments(cut.text)
        assert "EXTRA LENGTH" not in comments(as_cut.text)


def test_where_extra_length_comes_off_all_settings_and_finishing_are_before_the_mill(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "arbor.toml").write_text(changed(ARBOR, *LONGER), encoding="utf-8")
    job = make_job(str(tmp_path / "arbor.toml"))
    assert job.mill is not None
    for work in job.mill.works:
        assert after_setting(job, work) == 2
        assert say_when(job, work) == (
            "after setting 2, once the extra length is off, front pivot and back pivot finished: "
            "no knock must meet them"
        )


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_mills_stop_says_what_z_reads_and_which_way_it_is_set(dialect: str) -> None:
    text = by_name(mill_job(dialect=dialect))["square"].text
    clear = re.findall(r"^(?:N\d+ )?G0 Z([\d.]+)\n(?:N\d+ )?G0 X", text, re.M)[-1]
    said = comments(text)
    assert plain(f"mean of the pairs. Z reads {clear} here: set it up by half of what the mean is over, as") in said
    assert plain("down by half of what it is under") in said
    assert plain(f"reads small, stop: Z reads {clear} here: set it down by what is missing before flat 3") in said
    assert "LOWER Z" not in said
    assert "RAISE Z" not in said


def test_a_part_in_inches_is_proved_in_the_unit_of_the_mills_program() -> None:
    part = part_from(ARBOR)
    job = make_mill_job(replace(part, unit="in"), shop_from(SHOP), "rs274ngc")
    assert "STANDS 5 MM ABOVE THE TOP OF THE ROUND" in comments(by_name(job)["square"].text)


def test_of_several_tools_the_one_that_reaches_is_taken() -> None:
    tap = SHOP[SHOP.index('name = "M3 tap"') - len("[[cutter]]\nnumber = 4\n"):].partition("\n\n")[0]
    long = tap.replace("number = 4", "number = 5").replace('name = "M3 tap"', 'name = "long M3 tap"')
    shop = changed(SHOP, ('flutes = "11 mm"', 'flutes = "5 mm"')) + f"\n{long}\n"
    for cycle in ("true", "false"):
        work = by_name(mill_job(shop=changed(shop, ("tap_cycle = false", f"tap_cycle = {cycle}"))))["cross-hole"]
        assert isinstance(work.task, HoleTask)
        assert {t.name for t in (work.task.tap, work.task.hand_tap) if t is not None} == {"long M3 tap"}


def test_a_motion_that_ends_where_it_began_once_printed_is_no_slip() -> None:
    """Files in inches give places that differ in the tenth digit."""
    job = mill_job().works[-1]
    moves = [m for move in job.plan.moves for m in (
        (move, replace(move, to=move.to + 2e-7)) if isinstance(move, Rapid) else (move,))]  # fmt: skip
    form = choose_form(load_dialect("rs274ngc"), "mm", across=True)
    assert len(moves) > len(job.plan.moves)
    check_said(moves, job.program, form, job.file)
    with pytest.raises(MisreadError):
        check_said(moves, job.program, form._replace(decimals=7), job.file)


@pytest.mark.parametrize("name", [pytest.param("square", marks=pytest.mark.slow), "cross-hole"])
@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_slip_of_one_digit_in_any_word_is_found(dialect: str, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last digit of every word by two, each by itself (by one may be a half rounded the other way)."""
    work = by_name(mill_job(shop=WAY_SHOPS["rotary axis"], dialect=dialect))[name]
    form = choose_form(load_dialect(dialect), "mm", across=True)
    lines = work.text.splitlines(keepends=True)
    found = 0
    for index, line in enumerate(lines):
        for word in re.finditer(r"(?<=[XYZRQFA])-?\d+\.\d+", "" if line.startswith("(") else line.partition("(")[0]):
            step = 0.01 if line[word.start() - 1] in "FA" else 0.0002
            other = f"{float(word[0]) + step:.4f}"
            damaged = "".join([*lines[:index], line[: word.start()] + other + line[word.end() :], *lines[index + 1 :]])
            program = read(damaged, dialect)
            assert program.problems == ()
            with pytest.raises(MisreadError):
                check_said(work.plan.moves, program, form, work.file)
            found += 1
    assert found > 15


# What is refused --------------------------------------------------------------------------------------------

# part edits, shop edits, what is said, what else the message holds
REFUSED: list[tuple[list[tuple[str, str]], list[tuple[str, str]], str, list[str]]] = [
    ([('flats = 4', 'flats = 6')], [], "cannot be turned from flat to flat", ["6 flats, 4 sides", "rotary axis"]),
    ([('angle = "0 deg"', 'angle = "30 deg"')], [], "does not lie at this angle", ["multiple of 90 deg", "any"]),
    ([('corners = "round" ', 'corners = "whole" ')], [], "corners of the square cannot be whole", ["0.707", "3.66"]),
    ([('across = "4.2 mm"', 'across = "3.6 mm"'), ('key', '#')], [], "corners of the square cannot be round",
     ["leave nothing of the round", 'say corners = "whole" or "broken"', "more than 0.707 of the round: 3.663 mm"]),
    ([('key = "4.24 mm"', 'key = "4.16 mm"')], [], "the key stops too soon", ["covers"]),
    ([('at = "10 mm"', 'at = "30 mm"'), ('key', '#')], [], "station lies off the square", ["20 mm (the tip)"]),
    ([('at = "10 mm"', 'at = "0 mm"')], [], "station lies where no flat is", ["at least 0.1 mm"]),
    ([('across = "4.2 mm"', 'across = "5.2 mm"'), ('key = "4.24 mm"', '#')], [], "no smaller than the round", []),
    ([('across = "4.2 mm"', 'across = "4.65 mm"'), ('allowance = "0.02 mm"', 'allowance = "0.49 mm"'), ('key', '#')],
     [], "do not reach into the round", []),
    ([('flats_end = "0.1 mm"', 'flats_end = "12 mm"'), ('at = "10 mm"', 'at = "15 mm"'), ('key', '#')], [],
     "so little of the square is left", ["12 mm from the shoulder"]),
    ([('grip = "drum body"', 'grip = "front pivot"')], [], "runs in a hole, and a collet would mark it", ["pivot"]),
    ([('grip = "drum body"', 'grip = "front seat"'), ('grip_length = "21 mm"', 'grip_length = "5 mm"')], [],
     '"drum body" does not go through the collet that grips "front seat"', ["13.98 mm", "7.98 mm"]),
    ([('grip_length = "21 mm"', 'grip_length = "40 mm"')], [], '"drum body" is not so long', ["at most 32 mm"]),
    ([], [('grip = ["3 mm", "16 mm"]', 'grip = ["3 mm", "12 mm"]')], "no collet of the collet block takes", ["13.98"]),
    ([], [('kind = "end mill" ', 'kind = "drill"\npoint_angle = "118 deg"\nfeed = "0.03 mm/rev" #'),
          ('teeth = 4', ''), ('minimum_cut = "0.02 mm"             # depth', '#'),
          ('deepest_cut = "0.3 mm"', '#'), ('feed_per_tooth = "0.01 mm"', '')], "no end mill for the square", []),
    ([], [('diameter = "2.6 mm" ', 'diameter = "2.9 mm" ')], "no tapping drill for M3", ["2.6 mm (74 %)", "No. 37"]),
    ([('distance = "8 mm"', 'distance = "40 mm"')], [], '"hook hole" does not lie in "drum body"', ["0 mm to 32 mm"]),
    ([('distance = "8 mm"', 'distance = "25 mm"')], [], '"hook hole" lies inside the collet', ["grip less"]),
    ([('section = "drum body"\nface', 'section = "winding square"\nface')], [], "goes into the square", []),
    ([('depth = "5 mm"', 'depth = "13 mm"')], [], "does not end inside the body", ["less than 13.98 mm"]),
    ([('depth = "5 mm"', 'depth = "12 mm"')], [], "the drill's point comes out on the far side", ["13.98 mm"]),
    ([('flat_depth = "0.3 mm"', 'flat_depth = "4 mm"')], [], "takes too much of the body", ["3.495 mm"]),
    ([('depth = "5 mm"', 'depth = "0.3 mm"')], [], "ends no deeper than the flat", ["more than 0.3 mm"]),
    ([('thread = "M3"', 'diameter = "5 mm"'), ('lead', '#'), ('chips', '#')], [], "has no drill for", ["2.6 mm drill"]),
    ([], [("tap_cycle = false", "tap_cycle = true"), ('thread = "M3"', 'thread = "M2.5"')], "no tap for M3", []),
    ([], [("tap_cycle = false", "tap_cycle = true"), ('thread = "M3"', 'thread = "M33"')], "there is no thread", []),
    ([*THROUGH], [], "M3 tap does not reach the far side of \"hook hole\"",
     ["14.68 mm", "shank_diameter below 2.6 mm", "[[cutter]]"]),
    ([], [('flutes = "11 mm"', 'flutes = "5 mm"')], "M3 tap does not reach the bottom of \"hook hole\"", ["5.7 mm"]),
    ([], [('flutes = "11 mm"', 'flutes = "5 mm"'), ("tap_cycle = false", "tap_cycle = true")], "M3 tap does not reach",
     ["5.7 mm"]),
    ([], [('flutes = "30 mm"', 'flutes = "6 mm"')], "2.6 mm drill does not reach", ["6.982 mm", "6 mm of edges"]),
    ([], [('thread = "M3"', 'thread = "M33"')], "there is no thread", []),
    ([], [('stick_out = "30 mm"', 'stick_out = "12 mm"'), ('holder_diameter = "24 mm"', 'holder_diameter = "60 mm"')],
     'holder does not clear "collet nut"', ["0.5 mm"]),
    ([], [('flutes = "12 mm"                    # length', 'flutes = "0.2 mm" # length')], "flats are deeper than", []),
    ([('across = "4.2 mm"', 'across = "5.0 mm"'), ('key', '#')],
     [('minimum_cut = "0.02 mm"             # depth', 'minimum_cut = "0.05 mm" #')], "nothing is cut at", ["0.08 mm"]),
    ([], [('square_by = "tipped block"', 'square_by = "ramped"'), ('crown = "0.0005 mm"', 'crown = "0.000000001 mm"')],
     "passes do not bring the flat within", ["crown"]),
]  # fmt: skip


@pytest.mark.parametrize(("part", "shop", "says", "holds"), REFUSED, ids=[row[2].replace(" ", "-") for row in REFUSED])
def test_what_cannot_be_made_is_refused_with_reason(
    part: list[tuple[str, str]], shop: list[tuple[str, str]], says: str, holds: list[str]
) -> None:
    with pytest.raises(ProblemError) as refused:
        mill_job(changed(ARBOR, *part), changed(SHOP, *shop))
    found = [str(p) for p in refused.value.problems if says in str(p)]
    assert found, str(refused.value)
    for words in holds:
        assert any(words in text for text in found), found
    for problem in refused.value.problems:
        assert problem.where.line > 0
        assert problem.given or problem.allowed or problem.fix


def test_what_the_starter_shows_of_the_mill_works_once_it_is_taken_in() -> None:
    """Its commented tables, put in: the blank first, the hole last."""
    text = starter_text("moon arm")
    whole, mill = text.split("# What the mill makes of it", 1)
    mill = mill.partition("# A screw, ")[0]
    rows = [re.sub(r"^# ?", "", row) for row in mill.splitlines() if row.startswith("# ")]
    tables = "\n".join(row for row in rows if re.match(r"\[|\w+ = ", row))
    blank, hole = tables.split("[[cross_hole]]")
    part = whole.replace('\n[[section]]\nname = "front pivot"', f'\n{blank}\n[[section]]\nname = "front pivot"', 1)
    part = part.replace('length = "62 mm"', 'length = "76 mm"').replace('edge_a = "radius 0.3 mm"', "", 1)
    part += "\n[[cross_hole]]" + hole
    job = mill_job(part)
    assert [w.name for w in job.works] == ["cross-hole", "square"]
    assert job.problems == ()


def test_cuts_keep_to_what_the_cutter_takes() -> None:
    """0.02 mm at most: the square and the small flat in many layers."""
    job = mill_job(shop=changed(SHOP, ('deepest_cut = "0.3 mm"', 'deepest_cut = "0.02 mm"')))
    assert job.problems == ()
    assert len(by_name(job)["square"].plan.layers) == 25  # (5.18 - 4.14) / 2 is 0.52, less the last 0.02


def test_a_shop_without_a_mill_is_asked_for_one() -> None:
    shop = SHOP[: SHOP.index("[mill]")]
    with pytest.raises(ProblemError, match="no mill to cut this with") as refused:
        mill_job(shop=shop)
    assert "[mill]" in refused.value.problems[0].fix


# The command line -------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_a_wrong_choice_of_program_is_a_wrong_command_line(here: Path) -> None:
    part = "samples/orrery-drum-arbor.toml"
    for words in ((), ("--setting", "1", "--mill", "square")):
        answer = run("program", part, *words)
        assert (answer.status, answer.out) == (2, "")
        assert "--mill NAME" in answer.err
    answer = run("simulate", "x.ngc", "--part", part, "--mill", "square", "--backlash", "shop")
    assert answer.status == 2
    answer = run("program", part, "--mill", "keyway")
    assert answer.status == 1
    assert "cross-hole or square" in answer.err
    answer = run("program", "samples/crank-pin.toml", "--mill", "square")
    assert "neither [section.square] nor [[cross_hole]]" in answer.err


# What an angle counts from -----------------------------------------------------------------------------------


HOLE_TABLE = ARBOR[ARBOR.index("[[cross_hole]]") : ARBOR.index("[[measurement]]")]


@pytest.mark.parametrize(("name", "points"), [("tipped", "straight up"), ("ramped", "straight up"),
                                              ("rotary", "30 deg clockwise of straight up")])  # fmt: skip
def test_a_square_is_lined_up_with_the_hole_before_it_is_cut(name: str, points: str) -> None:
    """In the head, and at the stop at which flat 1 is first on top: of the turn by hand, or of the proof."""
    _, _, job = variant(name)
    (text,) = [re.sub(r"\)\n\(\.\. ", " ", work.text) for work in job.works if work.name == "square"]
    head, rest = text.split("\nG21\n", 1)
    assert f"with flat 1 on top hook hole points {points}, seen from the tip." in head
    before = rest[: rest.index(f"hook hole points {points}, seen from the tip. If not, turn the work in its collet")]
    stop = "standing still.)\n" if name == "rotary" else "turn the work: flat 1 to the top.)\n"
    assert before.rstrip("- (").endswith(stop)
    assert "\nG1 " not in before


def second_hole(angle: str, first: str = "0 deg") -> dict[str, str]:
    """The words of each cross hole's program, of two, before the square is milled."""
    second = changed(HOLE_TABLE, ('"hook hole"', '"pin hole"'), ('"8 mm"', '"16 mm"'), ('"0 deg"', f'"{angle}"'))
    part = changed(ARBOR, ('angle = "0 deg"', f'angle = "{first}"'), ("[[measurement]]", f"{second}[[measurement]]"))
    works = by_name(mill_job(part))
    assert all(work.problems == () for work in works.values())
    return {name: re.sub(r"\)\n\(\.\. ", " ", work.text) for name, work in works.items()}


def test_a_first_hole_is_made_any_way_up_where_nothing_is_there_that_its_angle_counts_from() -> None:
    text = second_hole("90 deg")["cross-hole"]
    assert "turn the work: place of hook hole to the top" in text.lower()
    assert "nothing that its angle counts from is there yet. Flat 1 is lined up with it later." in text
    assert "count from flat 1" not in text


def test_a_second_hole_counts_from_the_first_and_not_from_a_flat_that_is_not_there() -> None:
    text = second_hole("90 deg")["cross-hole-2"]
    assert "Counter-clockwise as seen from the tip, it is turned 90 deg from hook hole on top." in text
    assert "count from flat 1" not in text
    assert "nothing that its angle counts from" in second_hole("90 deg", "any")["cross-hole-2"]


def test_a_hole_of_any_angle_is_not_turned_to_one() -> None:
    text = second_hole("any")["cross-hole-2"]
    assert "TURN THE WORK" not in text.upper()
    assert "The hole may point any way: any side of the block will do." in text
    assert "The hole may point any way" not in second_hole("90 deg")["cross-hole-2"]


def test_flats_still_count_from_flat_1() -> None:
    assert "Angles count from flat 1 on top" in second_hole("any")["square"]
