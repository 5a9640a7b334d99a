"""Dialects as files of facts: each fact founded, each word held against the report, a user's own read in a sandbox."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from cam.ground.problem import ProblemError, Where
from cam.job import make_job
from cam.job.dialects import check_dialect
from posts import dialect as module
from posts.dialect import KINDS, STANDINGS, describe_dialects, dialect_names, load_dialect
from posts.environment import TEMPLATES
from posts.program import emit_program
from tests.plan_specimens import moves_of, program_of, sample_plan
from tests.specimens import SAMPLES

PUBLISHED = [
    # T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, NISTIR 6556 (2000):
    # Table 5 (G codes), Table 7 (M codes), 3.3 (lines), 3.5.3.2 (arcs)
    ("RAPID", "G0"), ("LINE", "G1"), ("ARC_CLOCKWISE", "G2"), ("ARC_COUNTER_CLOCKWISE", "G3"), ("PLANE_XZ", "G18"),
    ("UNITS_INCH", "G20"), ("UNITS_MM", "G21"), ("COMPENSATION_OFF", "G40"), ("CYCLES_OFF", "G80"), ("ABSOLUTE", "G90"),
    ("FEED_PER_MINUTE", "G94"), ("STOP", "M0"), ("END", "M2"), ("SPINDLE_FORWARD", "M3"), ("SPINDLE_STOP", "M5"),
    ("TOOL_CHANGE", "M6"), ("LINE_MOST", 256), ("LINE_NUMBER_MOST", 99999), ("ARC_TOLERANCE_MM", 0.002),
    ("ARC_TOLERANCE_INCH", 0.0002), ("FEED_PER_REVOLUTION", ""), ("SPEED_SURFACE", ""), ("X_WORDS", ["radius"]),
    ("WORK_SYSTEMS", ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), PUBLISHED)
def test_rs274ngc_says_what_the_report_prints(name: str, value: object) -> None:
    fact = load_dialect("rs274ngc").facts[name]
    assert fact.value == value
    assert fact.standing == "published"
    assert "NIST" in fact.source


@pytest.mark.parametrize("name", dialect_names())
def test_every_fact_is_there_and_says_how_well_it_is_founded(name: str) -> None:
    facts = load_dialect(name).facts
    assert facts.keys() == KINDS.keys()
    for key, fact in facts.items():
        assert key == key.upper()
        assert fact.standing in STANDINGS
        assert fact.source or fact.standing == "own", key


@pytest.mark.parametrize("name", dialect_names())
def test_every_dialect_that_comes_with_the_tool_is_read_by_its_standard_as_it_is_meant(name: str) -> None:
    check_dialect(replace(load_dialect(name), built_in=False))


def test_units_in_eia_274_d_are_g70_and_g71() -> None:
    assert load_dialect("eia274d").text("UNITS_MM") == "G71"  # from memory, as the file says


def test_dialects_describe_themselves() -> None:
    described = {name: (line, " ".join(can)) for name, line, can in describe_dialects()}
    assert "NISTIR 6556" in described["rs274ngc"][0]
    assert "X words: radius units" in described["rs274ngc"][1]
    assert "per revolution" not in described["rs274ngc"][1]
    assert "radius or diameter" in described["eia274d"][1]
    assert "per revolution (G95)" in described["eia274d"][1]
    assert "surface speed (G96)" in described["eia274d"][1]


def test_an_unknown_dialect_is_named_with_its_likeness() -> None:
    with pytest.raises(ProblemError) as caught:
        load_dialect("rs274", where=Where(path="shop.toml", line=31))
    (problem,) = caught.value.problems
    assert str(problem.where) == "shop.toml:31"
    assert "rs274ngc" in problem.fix
    assert "rs274" in problem.given
    with pytest.raises(ProblemError):
        load_dialect("../posts/rs274ngc")
    with pytest.raises(ProblemError):
        load_dialect("")


# A user's own


def own_dialect(folder: Path, *changes: tuple[str, str], template: str = "") -> Path:
    """A user's dialect file: eia274d with changes, and a template beside it."""
    text = (Path(module.__file__).parent / "eia274d.toml").read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "mine.toml"
    path.write_text(text)
    if template:
        (folder / "mine.j2").write_text(template)
    return path


def test_a_users_own_dialect_is_a_file_and_may_use_a_template_of_ours(tmp_path: Path) -> None:
    path = own_dialect(tmp_path, ('END = { is = "M30"', 'END = { is = "M2"'))
    plan = sample_plan("crank-pin")
    ours = program_of(plan, "eia274d")
    theirs = program_of(plan, str(path))
    assert theirs.splitlines()[-2].endswith(" M2")
    code = [[line for line in t.splitlines()[:-2] if not line.startswith("(")] for t in (ours, theirs)]
    assert code[0] == code[1]


def test_a_users_own_dialect_is_found_beside_the_file_that_names_it(tmp_path: Path) -> None:
    own_dialect(tmp_path)
    where = Where(path=str(tmp_path / "shop.toml"), line=3)
    assert load_dialect("mine.toml", where=where).text("END") == "M30"


def test_a_users_own_template_runs(tmp_path: Path) -> None:
    template = '{% import "words.ngc.j2" as say with context %}\n{% for s in steps if s.x %}\nG0\n{% endfor %}\n'
    path = own_dialect(tmp_path, ('"eia274d.ngc.j2"', '"mine.j2"'), template=template)
    assert set(program_of(sample_plan("crank-pin"), str(path)).splitlines()) == {"G0"}


NOT_READ_BACK = [
    ('UNITS_MM = { is = "G71"', 'UNITS_MM = { is = "G21"', "UNITS_MM", "allowed  G71"),
    ('RAPID = { is = "G0"', 'RAPID = { is = "G1"', "RAPID", "allowed  G0"),
    ('END = { is = "M30"', 'END = { is = ""', "END", "allowed  M2 or M30"),
    ('LENGTH_OFFSET_OFF = { is = ""', 'LENGTH_OFFSET_OFF = { is = "G49"', "LENGTH_OFFSET_OFF", "has no word for it"),
    ('DWELL = { is = "G4 F"', 'DWELL = { is = "G4 P"', "DWELL", "allowed  G4 F"),
    ('["I", "K"]', '["K", "I"]', "ARC_OFFSETS", "allowed  I, K"),
    ("WORK_SYSTEMS = { is = []", 'WORK_SYSTEMS = { is = ["G54"]', "WORK_SYSTEMS", "has no word for it"),
    ('STANDARD = { is = "EIA-274-D"', 'STANDARD = { is = "DIN 66025"', "STANDARD", "NISTIR 6556"),
]


@pytest.mark.parametrize(("old", "new", "fact", "words"), NOT_READ_BACK, ids=[b[2] for b in NOT_READ_BACK])
def test_a_fact_that_its_standard_does_not_read_so_is_reported_at_its_line(
    tmp_path: Path, old: str, new: str, fact: str, words: str
) -> None:
    path = own_dialect(tmp_path, (old, new))
    with pytest.raises(ProblemError) as caught:
        make_job(str(SAMPLES / "crank-pin.toml"), dialect=str(path))
    (problem,) = caught.value.problems
    assert words in str(problem)
    assert path.read_text().splitlines()[problem.where.line - 1].startswith(f"{fact} = ")


@pytest.mark.parametrize(("old", "new", "fact"), [
    ("{{ d.RAPID }} {{ s.words }}", "{{ d.LINE }} {{ s.words }}", "LINE"),  # another motion than was planned
    ("d.ARC_COUNTER_CLOCKWISE if s.turn > 0", "d.ARC_COUNTER_CLOCKWISE if s.turn < 0", "ARC"),
    ("{{ line(stop=true) }}{{ d.STOP }}", "", "RAPID"),  # no stop at all, before the first motion
])  # fmt: skip
def test_a_template_by_which_a_program_says_something_else_is_reported_and_no_fault_of_ours(
    tmp_path: Path, old: str, new: str, fact: str
) -> None:
    template = (TEMPLATES / "eia274d.ngc.j2").read_text()
    assert old in template
    path = own_dialect(tmp_path, ('"eia274d.ngc.j2"', '"mine.j2"'), template=template.replace(old, new))
    with pytest.raises(ProblemError, match="is not read back by EIA-274-D as it was planned") as caught:
        make_job(str(SAMPLES / "crank-pin.toml"), dialect=str(path))
    assert path.read_text().splitlines()[caught.value.problems[0].where.line - 1].startswith(fact)


BAD_TEMPLATES = [
    ("a name that is not there", "{{ speed_of_light }}", "speed_of_light"),
    ("broken", "{% for %}", "TemplateSyntaxError"),
    ("reaching out of the sandbox", "{{ part.__class__.__mro__[1].__subclasses__() }}", "SecurityError"),
    ("dividing by nothing", "{{ 1 // 0 }}", "ZeroDivisionError"),
    ("a word out of a fact's reach", "{{ d.TOOL_WORD.format(spool=1) }}", "KeyError"),
    ("a line that is too long", "{{ 'G0 X1.0 ' * 30 }}", "does not allow"),
    ("a sign that is not ASCII", "(\u00d8)", "does not allow"),
]


@pytest.mark.parametrize(("template", "words"), [b[1:] for b in BAD_TEMPLATES], ids=[b[0] for b in BAD_TEMPLATES])
def test_a_users_bad_template_is_a_problem_and_no_text(tmp_path: Path, template: str, words: str) -> None:
    path = own_dialect(tmp_path, ('"eia274d.ngc.j2"', '"mine.j2"'), template=template)
    with pytest.raises(ProblemError) as caught:
        program_of(sample_plan("crank-pin"), str(path))
    assert words in str(caught.value)


def test_a_template_that_is_not_there_is_a_problem(tmp_path: Path) -> None:
    path = own_dialect(tmp_path, ('"eia274d.ngc.j2"', '"none.j2"'))
    with pytest.raises(ProblemError, match=r"none\.j2"):
        program_of(sample_plan("crank-pin"), str(path))


BAD_FILES = [
    ("left out", 'STOP = { is = "M0"', '# STOP = { is = "M0"', "does not state STOP"),
    ("one too many", 'STOP = { is = "M0"', 'STOPP = { is = "M0"', "did you mean STOP?"),
    ("wrong type", "LINE_MOST = { is = 80", 'LINE_MOST = { is = "80"', "of the wrong type"),
    ("true is no number", "LINE_MOST = { is = 80", "LINE_MOST = { is = true", "of the wrong type"),
    ("a negative number", "LINE_MOST = { is = 80", "LINE_MOST = { is = -80", "not a sensible number"),
    ("no standing", 'STOP = { is = "M0", standing = "memory"', 'STOP = { is = "M0", standing = "sure"', "how well"),
    ("not a fact", 'STOP = { is = "M0", standing = "memory", source = "EIA and ISO table of M words" }', 'STOP = "M0"',
     "not written as a fact"),
    ("a word out of choice", 'COMMENT_CASE = { is = "upper"', 'COMMENT_CASE = { is = "lower"', "as written, upper"),
    ("a list of numbers", 'X_WORDS = { is = ["radius", "diameter"]', "X_WORDS = { is = [1]", "not text"),
    ("a comment without a beginning", 'COMMENT_OPEN = { is = "("', 'COMMENT_OPEN = { is = ""', "would be code"),
    ("comments of no width", "COMMENT_MOST = { is = 72", "COMMENT_MOST = { is = 2", "20 to 1000"),
    ("no TOML", "STOP = ", "STOP == ", "this is not TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "words"), [b[1:] for b in BAD_FILES], ids=[b[0] for b in BAD_FILES])
def test_a_bad_dialect_file_is_reported(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = own_dialect(tmp_path, (old, new))
    with pytest.raises(ProblemError) as caught:
        load_dialect(str(path))
    assert words in str(caught.value)
    assert str(path) in str(caught.value)


def test_all_that_is_wrong_with_a_dialect_file_is_said_at_once(tmp_path: Path) -> None:
    changes = (('STOP = { is = "M0"', 'STOPP = { is = "M0"'), ("LINE_MOST = { is = 80", 'LINE_MOST = { is = "80"'))
    with pytest.raises(ProblemError) as caught:
        load_dialect(str(own_dialect(tmp_path, *changes)))
    assert len(caught.value.problems) == 3
    assert all(p.where.line for p in caught.value.problems if "state" not in p.what)


def test_compiled_templates_are_kept_and_a_changed_template_is_compiled_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from posts import environment  # noqa: PLC0415 - its folder is changed for this test only

    folder = tmp_path / "templates"
    shutil.copytree(TEMPLATES, folder, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(environment, "TEMPLATES", folder)
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    environment._environment.cache_clear()
    try:
        plan = sample_plan("crank-pin")
        first = program_of(plan)
        assert list((folder / "__pycache__").iterdir())
        environment._environment.cache_clear()
        assert program_of(plan) == first
        template = folder / "rs274ngc.ngc.j2"
        template.write_text(template.read_text() + "(added)\n")
        environment._environment.cache_clear()
        assert program_of(plan) == first + "(added)\n"
    finally:
        environment._environment.cache_clear()


def test_a_dialect_with_few_line_numbers_still_marks_every_pass(tmp_path: Path) -> None:
    plan = sample_plan("orrery-drum-arbor")
    for most, step in ((9999, 100), (999, 10), (99, 1), (9, 0)):
        path = own_dialect(tmp_path, ("LINE_NUMBER_MOST = { is = 9999", f"LINE_NUMBER_MOST = {{ is = {most}"))
        text = emit_program(
            moves_of(plan), plan=plan, setting_plan=plan.settings[0], dialect=load_dialect(str(path)), units="mm",
            x_words="radius",
        )  # fmt: skip
        firsts = [line.split()[0] for line in text.splitlines() if not line.startswith("(")]
        numbers = [int(word[1:]) for word in firsts if word.startswith("N")]
        assert len(numbers) == len(set(numbers))
        assert max(numbers, default=0) <= most
        assert {step * c.number for c in plan.settings[0].passes} - {0} <= set(numbers)
