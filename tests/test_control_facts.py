"""Facts of a control in the shop file: what each does to the program; no combination ends in a traceback."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.problem import ProblemError
from cam.job import judge_mill_program, judge_program, make_job
from cam.job.outputs import find_text, job_files
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


PARTS = {"crank": PART, "arbor": SAMPLES / "orrery-drum-arbor.toml"}
STOP_ONE = 'tool_change = "stop"\ntool_zeros = "one"'


@cache
def arbor(facts: str, dialect: str, folder: Path, change: tuple[str, str] = ("", "")):
    """The drum arbor, lathe and mill by a control of these facts, with its shop file in a folder."""
    text = (SAMPLES / "shop.toml").read_text()
    text = text.replace("x_words = ", f"{facts}\nx_words = ", 1)
    text = text.replace('rapid = "600 mm/min"', f'rapid = "600 mm/min"\n{facts}', 1)
    assert change[0] in text
    (folder / "shop.toml").write_text(text.replace(*change, 1) if change[0] else text)
    return make_job(str(PARTS["arbor"]), str(folder / "shop.toml"), dialect=dialect, mill_dialect=dialect)


def texts_of(job) -> dict[str, str]:
    return {str(w.setting.number): w.text for w in job.works} | {w.name: w.text for w in job.mill.works}


def said_of(name: str, text: str, dialect: str, folder: Path) -> tuple[str, str]:
    """Problems and warnings of a text by the shop of a folder, in words."""
    path = folder / "x.ngc"
    path.write_text(text)
    given = (str(path), str(PARTS["arbor"]))
    if name.isdigit():
        found = judge_program(*given, int(name), str(folder / "shop.toml"), dialect=dialect)
    else:
        found = judge_mill_program(*given, name, str(folder / "shop.toml"), dialect=dialect)
    return " / ".join(p.what for p in found.problems), " / ".join(p.what for p in found.warnings)


NAMES = ("2", "cross-hole")  # each has several tools
DIRECTIONS = {  # fact -> what refuses its text without it, and a text without it where it stands
    STOP_ONE: ("before any tool is called", "says a tool word"),
    'tool_zeros = "one"': ("own", "one zero|share"),
    "comment_width = 32": ("", "longer than the 32"),
    'tool_word = "tool"': ("", "calls tool 1 again"),
}


BOTH = [(fact, dialect) for fact in DIRECTIONS for dialect in ("rs274ngc", "eia274d")]
QUICK = {(STOP_ONE, "eia274d"), ('tool_zeros = "one"', "rs274ngc"), ("comment_width = 32", "eia274d"), BOTH[-2]}

CASES = [pytest.param(*both, marks=[pytest.mark.slow] * (both not in QUICK)) for both in BOTH]


@pytest.mark.parametrize(("fact", "dialect"), CASES)
def test_a_fact_changes_the_text_and_is_held_in_both_directions(fact: str, dialect: str, tmp_path: Path) -> None:
    folders = [tmp_path / "with", tmp_path / "without"]
    for folder in folders:
        folder.mkdir()
    other = 'tool_word = "pass"' if "tool_word" in fact else ""
    one, bare = texts_of(arbor(fact, dialect, folders[0])), texts_of(arbor(other, dialect, folders[1]))
    for name in NAMES:
        assert one[name] != bare[name]
        assert said_of(name, one[name], dialect, folders[0]) == ("", "")
        without, with_it = DIRECTIONS[fact]
        assert re.search(with_it, said_of(name, bare[name], dialect, folders[0])[0]), name
        if without:
            assert re.search(without, said_of(name, one[name], dialect, folders[1])[0]), name


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
def test_tools_are_changed_by_stops_and_words_alone(dialect: str, tmp_path: Path) -> None:
    for text in texts_of(arbor(STOP_ONE, dialect, tmp_path)).values():
        assert not re.search(r"T[0-9]|M6\b|G55", code_of(text))
        assert "MOUNT TOOL 1" in text.upper().split("G0 ")[0]
        assert re.search(r"ONE ZERO", text.upper())
        for stop in re.findall(r"STOP TO MOUNT A TOOL(?s:.*?)\n(?:N\d+ )?M0", text.upper())[1:]:
            assert re.search("SET X AND Z FOR THIS ONE|SET NOW", stop.replace(")\n(.. ", " "))
    hole = texts_of(arbor(STOP_ONE, dialect, tmp_path))["cross-hole"]
    silent = re.sub(r"set now, as all tools share one zero", "", hole, flags=re.IGNORECASE)
    assert "no stop says what to set Z to" in said_of("cross-hole", silent, dialect, tmp_path)[0]


def test_an_own_zero_without_a_tool_word_is_refused_where_there_are_no_work_systems(tmp_path: Path) -> None:
    with pytest.raises(ProblemError, match="has no word but the tool's"):
        arbor('tool_change = "stop"', "eia274d", tmp_path)
    text = texts_of(arbor('tool_change = "stop"', "rs274ngc", tmp_path))["2"]
    assert {"G54", "G55"} <= set(re.findall(r"G5[4-9]", code_of(text)))


@pytest.mark.parametrize("facts", ['tool_change = "stop"\ntool_word = "tool"', 'arcs = "lines"', "comment_width = 20"])
def test_facts_that_cannot_be_are_refused_in_words(facts: str, tmp_path: Path) -> None:
    text = (SAMPLES / "shop.toml").read_text()
    (tmp_path / "shop.toml").write_text(text.replace('rapid = "600 mm/min"', f'rapid = "600 mm/min"\n{facts}', 1))
    with pytest.raises(ProblemError, match=r"no word calls it|straight moves alone|whole number"):
        make_job(str(PARTS["arbor"]), str(tmp_path / "shop.toml"))


def test_messages_wider_than_the_display_and_other_line_ends_are_warned_of(tmp_path: Path) -> None:
    text = texts_of(arbor('message_width = 24\nline_ends = "CRLF"', "rs274ngc", tmp_path))
    for name in NAMES:
        wide = text[name].replace("M0\n", "(MSG, SOMETHING THAT IS MUCH LONGER THAN ALL OF THAT)\nM0\n", 1)
        problems, warnings = said_of(name, wide, "rs274ngc", tmp_path)
        assert problems == ""
        assert "the display shows 24" in warnings
        assert "this control wants CR and LF" in warnings


ROTARY = ('square_by = "tipped block"          # a shim', 'square_by = "rotary axis" # a shim')


def test_the_rotary_axis_is_proved_in_air_or_by_a_date(tmp_path: Path) -> None:
    part = PARTS["arbor"].read_text().replace('angle = "0 deg"', 'angle = "30 deg"', 1)
    (tmp_path / "part.toml").write_text(part.replace('shop = "shop.toml"', 'shop = "shop.toml"'))
    shop = (SAMPLES / "shop.toml").read_text().replace(*ROTARY, 1)
    shop = re.sub(r"\[mill\.vice\][^\[]*", "", re.sub(r"shim_distance = .*\n", "", shop))
    known = shop.replace('rapid = "600 mm/min"', f'rapid = "600 mm/min"\nproved = {{ "rotary axis" = "{DATE}" }}', 1)
    found = {}
    for name, text in (("air", shop), ("date", known)):
        (tmp_path / "shop.toml").write_text(text)
        job = make_job(str(tmp_path / "part.toml"))
        assert job.problems == ()
        found[name] = texts_of(job)
    for name in ("square", "cross-hole"):
        air, date = found["air"][name], found["date"][name]
        assert "G0 A30.0\n(STOP" in air
        assert "PROVE A: DID IT TURN THE RIGHT WAY?" in air
        assert "PROVE A" not in date
        assert f"(control: rotary axis proved, {DATE})" in date
        (tmp_path / "shop.toml").write_text(known)
        assert _mill(name, date, tmp_path) == ""
        assert "which way the rotary axis turns" in _mill(name, date.replace(f"proved, {DATE}", "proved"), tmp_path)
        (tmp_path / "shop.toml").write_text(shop)
        assert "which way the rotary axis turns" in _mill(name, date, tmp_path)
        quiet = air.replace("PROVE A: DID IT TURN THE RIGHT WAY?", "LOOK").replace("rotary axis", "table")
        assert "which way the rotary axis turns" in _mill(name, quiet, tmp_path)


def _mill(name: str, text: str, folder: Path) -> str:
    (folder / "x.ngc").write_text(text)
    found = judge_mill_program(str(folder / "x.ngc"), str(folder / "part.toml"), name)
    return " / ".join(p.what for p in found.problems)


@pytest.mark.parametrize("dialect", ["rs274ngc", "eia274d"])
def test_nothing_moves_on_the_mill_before_its_height_is_proved(dialect: str, tmp_path: Path) -> None:
    text = texts_of(arbor("", dialect, tmp_path))["cross-hole"]
    assert len(re.findall("PROVE Z BY A RULE", text)) == 3
    again = re.sub("PROVE Z BY A RULE, BEFORE IT MOVES", "LOOK", text, count=1)
    assert "before a stop has had its Z proved" in said_of("cross-hole", again, dialect, tmp_path)[0]


CHOICES = st.tuples(
    st.sampled_from(["", 'arcs = "lines"\narc_height = "0.004 mm"', f'proved = {{ "arcs" = "{DATE}" }}']),
    st.sets(st.sampled_from(["G20", "G21", "G70", "G71", "G90", "G94"])),
    st.sets(st.sampled_from(["G21", "G71", "G90", "G94", "G18", "G97"])),
    st.sampled_from(["", "message_width = 24", "message_width = 72"]),
    st.sampled_from(["", 'line_ends = "CRLF"']),
    st.sampled_from(["", 'tool_word = "pass"', 'tool_word = "tool"', 'tool_change = "stop"']),
    st.sampled_from(["", 'tool_zeros = "one"']),
    st.sampled_from(["", "comment_width = 32", "comment_width = 200"]),
)


def outcome(folder: Path, chosen, part: str, dialect: str, dated: bool, spindle: str, x: str) -> list[str]:
    """What is wrong with a job by a control of these facts: problems, or refusals that say no way out."""
    arcs, out, stands, *rest = chosen
    if dated:  # what is left out is known to stand, in this dialect's words
        stands = (stands | {"G90", "G94", "G21" if dialect == "rs274ngc" else "G71"}) - {"G71", "G21"} | {
            "G21" if dialect == "rs274ngc" else "G71"
        }
        out &= stands
    facts = [arcs, "leave_out = [" + ", ".join(f'"{w}"' for w in sorted(out)) + "]", *rest]
    facts.append("stands = { " + ", ".join(f'"{w}" = "{DATE}"' for w in sorted(stands)) + " }")
    text = (SAMPLES / "shop.toml").read_text().replace('x_words = "radius"', f'x_words = "{x}"')
    text = text.replace("x_words = ", "\n".join([*(f for f in facts if f), "x_words = "]), 1)
    own = [fact for fact in facts if fact and not fact.startswith(("arcs", "proved"))]
    text = text.replace('rapid = "600 mm/min"', "\n".join(['rapid = "600 mm/min"', *own]), 1)
    path = folder / "shop.toml"
    path.write_text(text.replace("feeds_per_revolution = false", spindle, 1))
    try:
        job = make_job(str(PARTS[part]), str(path), dialect=dialect, mill_dialect=dialect)
    except ProblemError as refused:
        return [str(p) for p in refused.problems if not (p.fix or p.allowed)]
    return [str(p) for p in (*job.problems, *(p for w in (job.mill.works if job.mill else ()) for p in w.problems))]


SPINDLE = st.sampled_from(
    [f"{on}feeds_per_revolution = {yes}" for on in ("", 'started = "switch"\n') for yes in ("true", "false")]
)
DRAWN = {
    "chosen": CHOICES, "part": st.sampled_from(["crank", "arbor"]), "dialect": st.sampled_from(["rs274ngc", "eia274d"]),
    "dated": st.sampled_from([True, True, True, False]), "spindle": SPINDLE,
    "x": st.sampled_from(["radius", "diameter"]),
}  # fmt: skip


@given(**DRAWN)
@settings(deadline=None, max_examples=20, suppress_health_check=list(HealthCheck))
def test_no_combination_ends_in_a_traceback(tmp_path_factory: pytest.TempPathFactory, **drawn) -> None:
    """Each gives programs that pass, or is refused in words that are the user's to mend."""
    assert outcome(tmp_path_factory.mktemp("facts"), **drawn) == []


@pytest.mark.slow
@given(**DRAWN)
@settings(deadline=None, max_examples=75, suppress_health_check=list(HealthCheck))
def test_no_combination_of_many_ends_in_a_traceback(tmp_path_factory: pytest.TempPathFactory, **drawn) -> None:
    assert outcome(tmp_path_factory.mktemp("facts"), **drawn) == []
