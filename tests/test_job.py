"""The whole way for every sample: file to plan to text, text back to motions, motions to metal."""

from __future__ import annotations

import dataclasses
import json
import math
import re
import warnings
from functools import lru_cache
from itertools import pairwise

import pytest

import cam
import cam.job
from cam.geometry.path import Arc, Chain, Line, Point
from cam.ground.problem import ProblemError
from cam.job import Job, draw_job, job_files, make_job, move_outline, rules_of
from cam.job.record import job_record
from cam.job.reread import MisreadError, check_said, form_of
from cam.judge.fixes import describe_findings
from cam.judge.model import Finding
from cam.rs274 import read_program
from posts.dialect import dialect_names
from tests.specimens import SAMPLES, some

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from pygcode import Line as PyGCodeLine

GOOD = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin", "drum-hook")
REFUSED = ("too-near-the-centre", "contradictory-arbor", "square-too-large")
DIALECTS = dialect_names()


@lru_cache
def job_of(sample: str, dialect: str = "rs274ngc") -> Job:
    return make_job(str(SAMPLES / f"{sample}.toml"), dialect=dialect)


def test_every_sample_is_looked_at() -> None:
    assert {*GOOD, *REFUSED, "shop"} == {p.stem for p in SAMPLES.glob("*.toml")}


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("sample", GOOD)
def test_every_program_is_judged_clear(sample: str, dialect: str) -> None:
    job = job_of(sample, dialect)
    assert job.problems == ()
    for work in job.works:
        simulation = work.simulation
        assert simulation.gouge <= 0.001, work.file
        assert simulation.uncut <= 0.001, work.file
        assert simulation.closest is not None
        assert simulation.closest.distance > 0
        assert simulation.cutting_time > 0


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("sample", GOOD)
def test_every_program_reads_back_as_planned_to_the_last_digit(sample: str, dialect: str) -> None:
    job = job_of(sample, dialect)
    for work in job.works:
        program = read_program(work.text, rules_of(job.dialect, job.shop), work.file)
        assert program.problems == ()
        check_said(work.moves, program, form_of(job.dialect, job.shop.lathe), work.file)


@pytest.mark.told
@pytest.mark.slow
@pytest.mark.parametrize("sample", some(GOOD, "crank-pin"))
def test_a_slip_of_one_digit_in_any_word_is_found(sample: str) -> None:
    """Every word of every motion, raised by its last digit, one at a time."""
    job = job_of(sample)
    work, control = job.works[0], job.shop.lathe.control
    lines = work.text.splitlines(keepends=True)
    found = 0
    for index, line in enumerate(lines):
        if line.startswith(("(", "%")):
            continue
        for word in re.finditer(r"(?<=[XZIKF])-?\d+\.\d+", line.partition("(")[0]):
            digits = job.dialect.count("FEED_DECIMALS_MM" if line[word.start() - 1] == "F" else "DECIMALS_MM")
            digits += 0 if control.units == "mm" else 1 + (line[word.start() - 1] == "F")
            other = f"{float(word[0]) + 10.0**-digits:.{digits}f}"
            damaged = "".join([*lines[:index], line[: word.start()] + other + line[word.end() :], *lines[index + 1 :]])
            program = read_program(damaged, rules_of(job.dialect, job.shop), work.file)
            if program.problems:  # an arc whose radii no longer agree
                found += 1
                continue
            with pytest.raises(MisreadError):
                check_said(work.moves, program, form_of(job.dialect, job.shop.lathe), work.file)
            found += 1
    assert found > 100


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("sample", GOOD)
def test_a_general_purpose_reader_finds_the_same_end_points(sample: str, dialect: str) -> None:
    """pygcode, a general-purpose G-code parser, word by word; X and Z are modal under G90 until the tool changes."""
    job = job_of(sample, dialect)
    factor = 0.5 if job.shop.lathe.control.x_words == "diameter" else 1.0
    unit = 25.4 if job.shop.lathe.control.units == "in" else 1.0
    for work in job.works:
        ends, at, tool = [], {"X": math.nan, "Z": math.nan}, ""
        for text in work.text.splitlines():
            if text.strip() in ("%", ""):
                continue
            block = PyGCodeLine(text).block.words
            changed = [word.value for word in block if word.letter == "T" and word.value != tool]
            if changed:
                tool = changed[0]
                at = {"X": math.nan, "Z": math.nan}
            words = [word for word in block if word.letter in at]
            at |= {w.letter: float(w.value) for w in words}
            if words:
                ends.append((at["X"] * factor * unit, at["Z"] * unit))
        ours = [(m.end.x, m.end.z) for m in work.program.motions if m.kind in ("rapid", "line", "arc")]
        assert len(ours) == len(ends)
        for one, other in zip(ours, ends, strict=True):  # a stop that sets zeros anew is unknown to ours alone
            known = [k for k in (0, 1) if not (math.isnan(one[k]) and job.shop.lathe.control.facts.tool_zeros == "one")]
            assert [one[k] for k in known] == pytest.approx([other[k] for k in known], abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("sample", ["orrery-drum-arbor", "drum-hook"])  # of either kind of page and program
def test_the_same_input_gives_the_same_bytes(sample: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def whole(path: str) -> dict[str, bytes]:
        job = make_job(path)
        return {**job_files(job), "plan.json": json.dumps(job_record(job)).encode()}

    absolute = whole(str(SAMPLES / f"{sample}.toml"))
    monkeypatch.chdir(SAMPLES)
    relative = whole(f"{sample}.toml")
    assert absolute == relative
    for name, data in relative.items():
        assert str(SAMPLES).encode() not in data, name


@pytest.mark.parametrize("sample", GOOD)
def test_the_record_is_plain_json_of_numbers_that_exist(sample: str) -> None:
    job = job_of(sample)
    record = json.loads(json.dumps(job_record(job), allow_nan=False))
    assert record["format_version"] == 1
    assert [s["name"] for s in record["part"]["sections"]] == [s.name for s in job.part.sections]
    assert len(record["settings"]) == len(job.works)
    for kept, work in zip(record["settings"], job.works, strict=True):
        assert sum(len(o["passes"]) for o in kept["operations"]) == len(work.planned.passes)
        assert kept["checked"]["findings"] == []


def test_the_second_setting_starts_from_what_the_first_program_left() -> None:
    job = job_of("orrery-drum-arbor")
    first, second = job.works
    assert first.setting.sign != second.setting.sign
    moved = move_outline(first.simulation.result, first.setting, second.setting)
    assert moved[0].start.z > moved[-1].end.z
    assert moved[0].start.x == moved[-1].end.x == pytest.approx(0.0, abs=1e-9)
    for one, other in pairwise(moved):
        assert one.end == pytest.approx(other.start, abs=1e-9)
    length = math.fsum(_length(s) for s in moved)
    assert length == pytest.approx(math.fsum(_length(s) for s in first.simulation.result), abs=1e-9)
    back = move_outline(moved, second.setting, first.setting)
    for one, other in zip(back, first.simulation.result, strict=True):
        assert one.start == pytest.approx(other.start, abs=1e-9)
        assert getattr(one, "turn", 0) == getattr(other, "turn", 0)


def _length(piece: Line | Arc) -> float:
    if isinstance(piece, Line):
        return math.dist(piece.start, piece.end)
    angles = [math.atan2(p.x - piece.centre.x, p.z - piece.centre.z) for p in (piece.start, piece.end)]
    return piece.radius * (piece.turn * (angles[1] - angles[0]) % (2 * math.pi))


def test_an_outline_turned_end_for_end_keeps_a_hollow_hollow() -> None:
    """A quarter arc about (0, 1) from (-1, 1) down to (0, 0): seen from the other end it is the same curve."""
    first, second = job_of("orrery-drum-arbor").works
    chain: Chain = (Arc(Point(-1.0, 1.0), Point(0.0, 0.0), Point(0.0, 1.0), 1),)
    (moved,) = move_outline(chain, first.setting, second.setting)
    assert isinstance(moved, Arc)
    assert moved.radius == pytest.approx(1.0)
    assert _length(moved) == pytest.approx(math.pi / 2)


def test_a_part_too_near_the_centre_is_refused_with_reason_and_numbers() -> None:
    with pytest.raises(ProblemError) as refused:
        make_job(str(SAMPLES / "too-near-the-centre.toml")).require_pass()
    text = str(refused.value)
    assert re.search(r"centre", text)
    assert re.search(r"\d+\.\d+ mm", text)
    assert re.search(r"half centre|smaller centre hole|extra length", text)


def test_a_program_that_fails_writes_nothing_but_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    job = job_of("crank-pin")
    work = job.works[0]
    line = next(m.line for m in work.program.motions if m.kind == "line")
    finding = Finding(
        line=line, kind="contact", what="the nose runs into the collet", amount=0.2, at=None, tip=None,
        obstacle="collet", tool=1,
    )  # fmt: skip
    problems = tuple(describe_findings((finding,), work.text, work.file))
    simulation = dataclasses.replace(work.simulation, findings=(finding,))
    failed = dataclasses.replace(work, simulation=simulation, problems=tuple(problems))
    bad = dataclasses.replace(job, works=(failed,))
    with pytest.raises(ProblemError) as refused:
        job_files(bad)
    (problem,) = refused.value.problems
    assert (problem.where.path, problem.where.line) == ("setting-1.ngc", line)
    assert problem.given == work.text.splitlines()[line - 1].strip()
    assert problem.fix
    assert "<svg" in draw_job(bad)


def test_a_post_that_slips_is_our_own_fault_and_no_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    import posts.program  # noqa: PLC0415

    real = posts.program.emit_program

    def slip(*args: object, **more: object) -> str:
        text = real(*args, **more)  # type: ignore[arg-type]
        return re.sub(r"(?m)^(G1 .*?)Z", r"\1Z-", text, count=1).replace("Z--", "Z")

    monkeypatch.setattr(posts.program, "emit_program", slip)
    with pytest.raises(MisreadError, match=r"setting-1\.ngc:\d+"):
        make_job(str(SAMPLES / "crank-pin.toml"))


def test_the_documented_names_are_there() -> None:
    for name in cam.__all__:
        assert getattr(cam, name) is not None
    assert set(cam.__all__) <= set(dir(cam))
    with pytest.raises(AttributeError):
        cam.no_such_name
