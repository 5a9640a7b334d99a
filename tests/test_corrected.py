"""What a stop's reading corrects, and what not: a later tool is set on the work as it is, a turning one goes on."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cam.job import Job, make_job, move_outline, rules_of
from cam.job.outputs import write_job_summary
from cam.judge import simulate
from cam.judge.model import Finding
from cam.rs274 import read_program
from tests.specimens import SAMPLES
from tests.test_cli import run

PART = "orrery-drum-arbor.toml"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the drum arbor, whose span is recorded, so that both settings are planned."""
    for name in (PART, "shop.toml"):
        (tmp_path / name).write_text((SAMPLES / name).read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    record("between plates", "46.22 mm")
    return tmp_path


def record(*words: str) -> None:
    answer = run("record", PART, *words)
    assert (answer.status, answer.err) == (0, ""), answer.err


def groove_of(job: Job) -> list[tuple[float, float]]:
    """Return where the grooving tool stands at its deepest: Z and X, mm."""
    motions = [m for m in job.works[1].program.motions if m.tool == 2 and m.kind == "line"]
    lowest = min(m.end.x for m in motions)
    return sorted({(m.end.z, m.end.x) for m in motions if m.end.x == lowest})


def judged(job: Job, text: str) -> tuple[Finding, ...]:
    """Return what is found of a text in place of setting 2's program."""
    program = read_program(text, rules_of(job.dialect, job.shop), "setting-2.ngc")
    setting, first = job.works[1].setting, job.works[0]
    stock = move_outline(first.simulation.result, first.setting, setting)
    return simulate(program, setting, job.shop, stock=stock, stops=True).findings


def test_an_undercut_is_cut_where_the_corrected_shoulder_really_stands(bench: Path) -> None:
    """Its tool is set on that shoulder and that seat: 0.06 and 0.04 that another tool was off are none of its own."""
    before = groove_of(make_job(PART))
    record("back seat stop shoulder", "32.18 mm")
    record("back seat stop diameter", "8.08 mm")
    job = make_job(PART)
    assert job.problems == ()
    assert groove_of(job) == before == [(32.0, pytest.approx(before[0][1]))]
    text = job.works[1].text
    assert "G1 Z31.94" in text  # the last cut of the seat, by the tool that was off
    page = re.sub(r"\n {8,}", " ", write_job_summary(job, 80))
    assert re.findall(r"touch it on .*?shoulder past back seat: Z (\d\+\d\d)", page) == ["7+00"]
    assert re.findall(r"undercut back seat.*\n1 point.*?: (\S+)", page) == ["7+00"]


def test_an_undercut_cut_as_far_off_as_another_tool_was_is_found(bench: Path) -> None:
    record("back seat stop shoulder", "32.18 mm")
    job = make_job(PART)
    lines = job.works[1].text.splitlines()
    at = next(n for n, line in enumerate(lines) if "UNDERCUT TOOL" in line)
    wrong = [*lines[:at], *(line.replace("Z32.0 ", "Z31.94 ") for line in lines[at:])]
    assert wrong != lines
    found = judged(job, "\n".join(wrong) + "\n")
    assert any("into the shoulder" in f.what and "back seat" in f.what for f in found), [f.what for f in found]


def test_a_turning_tool_set_anew_reads_what_it_read_when_it_cut(bench: Path) -> None:
    """Its corrected passes still to come are off by as much, so set true it would cut them too deep."""
    record("back seat stop shoulder", "32.18 mm")
    record("back seat stop diameter", "8.08 mm")
    job = make_job(PART)
    anew = [re.sub(r"\W+", " ", line) for line in re.findall(r"\(or set anew:.*\n(?:\(\.\..*\n)*", job.works[1].text)]
    own = [line for line in anew if "on back seat diameter 7 98" in line]
    assert own
    assert all("X 3 97 on back seat" in line for line in own)  # half of 7.98, less the 0.02 a side that it stands off
    assert all("Z 31 94 on the shoulder past back seat" in line for line in own if "shoulder past back seat" in line)
    assert judged(job, job.works[1].text) == ()
    found = judged(job, job.works[1].text.replace("X 3.97 on back seat", "X 3.99 on back seat"))
    assert any("has X set to 3.99 on a diameter of 7.98" in f.what for f in found)
