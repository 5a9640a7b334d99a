"""Facts of a control in the shop file: what each does to the program; no combination ends in a traceback."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.job import judge_program, make_job
from cam.job.outputs import find_text, job_files
from cam.problem import ProblemError
from tests.specimens import SAMPLES

PART = SAMPLES / "crank-pin.toml"
DATE = "2026-05-02"
STANDING = "stands = { " + ", ".join(f'"{w}" = "{DATE}"' for w in ("G21", "G90", "G94")) + " }"
EIA = STANDING.replace("G21", "G71")


@cache
def job_of(facts: tuple[str, ...], folder: Path, dialect: str = "rs274ngc", spindle: str = ""):
    text = (SAMPLES / "shop.toml").read_text()
    text = text.replace("x_words = ", "\n".join([*facts, "x_words = "]), 1)
    if spindle:
        text = text.replace("feeds_per_revolution = false", spindle, 1)
    (folder / "shop.toml").write_text(text)
    return make_job(str(PART), str(folder / "shop.toml"), dialect=dialect)


def code_of(text: str) -> str:
    return "\n".join(row for row in text.split("\n") if not row.startswith("("))


@pytest.mark.parametrize(
    ("dialect", "stands", "unit"), [("rs274ngc", STANDING, "G21"), ("eia274d", EIA, "G71")]
)  # fmt: skip
def test_words_that_mean_something_else_are_left_out_and_refused(
    dialect: str, stands: str, unit: str, tmp_path: Path
) -> None:
    words = (unit, "G90", "G94")
    facts = (stands, "leave_out = [" + ", ".join(f'"{w}"' for w in words) + "]")
    job = job_of(facts, tmp_path, dialect)
    assert job.problems == ()
    text = job.works[0].text
    for word in words:
        assert not re.search(rf"\b{word}\b", code_of(text))
        assert f"{word} STANDS AT THE START, {DATE}" in text.upper()
        path = tmp_path / "1.ngc"
        path.write_text(text.replace("G40", f"{word} G40", 1))
        said = judge_program(str(path), str(PART), 1, str(tmp_path / "shop.toml"), dialect=dialect)
        assert any(f"says {word}, which means something else" in p.what for p in said.program.problems)


def test_a_word_left_out_that_nothing_says_of_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match="nothing says that the control stands so without it"):
        job_of(('leave_out = ["G90"]',), tmp_path)
    with pytest.raises(ProblemError, match="words that mean something else"):
        job_of(('leave_out = ["G33"]',), tmp_path)


def test_feed_in_air_that_the_control_has_no_word_for_is_refused_in_words(tmp_path: Path) -> None:
    facts = (EIA, 'leave_out = ["G94"]')
    with pytest.raises(ProblemError, match="the sense of arcs cannot be proved in air"):
        job_of(facts, tmp_path, "eia274d", "feeds_per_revolution = true")
    known = (*facts, f'proved = {{ "arcs" = "{DATE}" }}')
    assert job_of(known, tmp_path, "eia274d", "feeds_per_revolution = true").problems == ()


@pytest.mark.parametrize("width", [24, 32, 60])
def test_the_line_shown_is_as_wide_as_the_display(width: int, tmp_path: Path) -> None:
    text = job_of((f"message_width = {width}",), tmp_path).works[0].text
    assert max(map(len, re.findall(r"^\(MSG, (.*)\)$", text, re.M))) <= width


def test_line_ends_are_those_of_the_control(tmp_path: Path) -> None:
    job = job_of(('line_ends = "CRLF"',), tmp_path)
    (file,) = (data for name, data in job_files(job).items() if name.endswith(".ngc"))
    assert file.count(b"\r\n") == file.count(b"\n") > 100
    assert find_text(job, 1, None).encode() == file
    (tmp_path / "1.ngc").write_bytes(file)
    assert judge_program(str(tmp_path / "1.ngc"), str(PART), 1, str(tmp_path / "shop.toml")).problems == ()
    assert b"\r" not in job_files(job_of((), tmp_path))["setting-1.ngc"]


@pytest.mark.parametrize(("dialect", "word"), [("rs274ngc", "T1 M6"), ("eia274d", "T0101")])
def test_a_tool_is_called_at_every_pass_or_once(dialect: str, word: str, tmp_path: Path) -> None:
    job = job_of(('tool_word = "pass"',), tmp_path, dialect)
    assert job.problems == ()
    assert code_of(job.works[0].text).count(word) == 1 + len(job.works[0].planned.passes)
    once = job_of(('tool_word = "tool"',), tmp_path, dialect)
    assert once.problems == ()
    assert code_of(once.works[0].text).count("T") == 1


CHOICES = st.tuples(
    st.sampled_from(["", 'arcs = "lines"\narc_height = "0.004 mm"', f'proved = {{ "arcs" = "{DATE}" }}']),
    st.sets(st.sampled_from(["G20", "G21", "G70", "G71", "G90", "G94"])),
    st.sets(st.sampled_from(["G21", "G71", "G90", "G94", "G18", "G97"])),
    st.sampled_from(["", "message_width = 24", "message_width = 72"]),
    st.sampled_from(["", 'line_ends = "CRLF"']),
    st.sampled_from(["", 'tool_word = "pass"', 'tool_word = "tool"']),
)


@given(
    CHOICES, st.sampled_from(["rs274ngc", "eia274d"]), st.booleans(), st.sampled_from(["", 'started = "switch"\n']),
    st.sampled_from(["radius", "diameter"]),
)  # fmt: skip
@settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))
def test_no_combination_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, chosen, dialect: str, follows: bool, switch: str, x: str
) -> None:
    """Each gives a program that passes, or is refused in words that are the user's to mend."""
    arcs, out, stands, *rest = chosen
    facts = [arcs, "leave_out = [" + ", ".join(f'"{w}"' for w in sorted(out)) + "]", *rest]
    facts.append("stands = { " + ", ".join(f'"{w}" = "{DATE}"' for w in sorted(stands)) + " }")
    text = (SAMPLES / "shop.toml").read_text().replace('x_words = "radius"', f'x_words = "{x}"')
    text = text.replace("x_words = ", "\n".join([*(f for f in facts if f), "x_words = "]), 1)
    text = text.replace("feeds_per_revolution = false", f"{switch}feeds_per_revolution = {str(follows).lower()}", 1)
    path = tmp_path_factory.mktemp("facts") / "shop.toml"
    path.write_text(text)
    try:
        job = make_job(str(PART), str(path), dialect=dialect)
    except ProblemError as refused:
        problems = [p for p in refused.problems if not (p.fix or p.allowed)]
    else:
        problems = [*job.problems]
    assert problems == []
