"""The page of a program's stops, for a control that keeps comments to itself: every stop, by its own N word."""

from __future__ import annotations

import re
from itertools import accumulate

import pytest

from cam.job import Job, make_job, print_job_summary, write_job_summary
from cam.rs274 import read_program
from cam.rs274.halts import stops_told
from cam.rs274.model import Rules
from posts.dialect import dialect_names, load_dialect
from posts.program import LineNumbers
from posts.steps import Step
from tests.specimens import SAMPLES

SILENT = [name for name in dialect_names() if not load_dialect(name).flag("COMMENTS_SHOWN")]


def arbor(dialect: str) -> Job:
    return make_job(str(SAMPLES / "orrery-drum-arbor.toml"), dialect=dialect, mill_dialect=dialect)


@pytest.mark.parametrize("dialect", SILENT)
def test_every_stop_is_on_its_programs_page_by_the_n_word_of_its_line(dialect: str) -> None:
    job = arbor(dialect)
    assert job.mill is not None
    text, html = write_job_summary(job), print_job_summary(job, "A4")
    for work in (*job.works, *job.mill.works):
        own = "".join(page for page in text.split("\f") if f"STOPS OF {work.file.upper()}" in page.partition("\n")[0])
        stops = re.findall(r"^(N\d+) M0$", work.text, re.M)
        assert stops
        again, _, own_stops = own.partition("AT THE STOPS")
        assert re.findall(r"^(N\d+) +\w", own_stops, re.M) == stops
        told = re.findall(r"^(N\d+) +(?:TO (N\d+) - )?BEGUN HERE", again, re.M)
        assert told[0][0] == "N100"
        passes = [int(n) for n in re.findall(r"^\(---- PASS (\d+) OF", work.text, re.M)]
        spans = [range(int(a[1:]) // 100, int((b or a)[1:]) // 100 + 1) for a, b in told]
        assert [n for span in spans for n in span] == passes, work.file
        flat = " ".join(own.replace("\n - ", " ").split())
        assert "THE CONTROL MUST BE SET TO MILLIMETRES BEFORE IT STARTS" in flat
        assert "SHA256" not in flat
        assert f"STOPS OF {work.file.upper()}" in html
    assert " ".join(text.split()).count("STOP, AND PROVE Z BY A RULE") == 2


def test_a_control_that_shows_its_comments_has_no_such_page() -> None:
    assert "STOPS OF" not in write_job_summary(arbor("eia274d"))


def test_a_stop_without_a_number_of_its_own_is_named_by_the_one_before() -> None:
    text = "%\nN1 G18 G90 G40 G80 G94\n(STOP, ONE)\nM0\n(STOP, TWO)\n(.. ON TWO LINES)\n(AND MORE)\nN3 M0\nM30\n%\n"
    program = read_program(text, Rules(standard="EIA-274-D", x_words="radius"))
    assert stops_told(text, program) == [("behind N1", ("STOP, ONE",)), ("N3", ("STOP, TWO ON TWO LINES", "AND MORE"))]


def test_numbers_that_would_not_reach_are_kept_for_the_stops() -> None:
    """Over 98 passes leave each of them ten numbers: the lines before a stop leave one for it."""
    steps = [
        Step(kind) for kind in ("line", "stop", "pass", *["line"] * 12, "stop", *["line"] * 3, "stop", "pass", "line")
    ]
    numbers, found = LineNumbers(load_dialect("isongc"), 200, steps), []
    for cut, step in zip(accumulate(s.kind == "pass" for s in steps), steps, strict=True):
        found.append(numbers.restart(cut) if step.kind == "pass" else numbers.next(stop=step.kind == "stop"))
    said = [word.strip() for word in found]
    assert said[:3] == ["N1", "N2", "N10"]
    assert said[3:19] == [*(f"N{n}" for n in range(11, 18)), *[""] * 5, "N18", "", "", ""]
    assert said[19:] == ["N19", "N20", "N21"]
