"""`simulate` tells what is wrong as a colleague would: the first cause first, repeats once, corrections accepted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cam.ground.problem import Problem, Where
from cam.job.explain import explain
from tests.specimens import SAMPLES
from tests.test_cli import run
from tests.test_stops import judge, programs

NGC, EIA = "rs274ngc", "eia274d"


def firsts(verdict) -> list[str]:
    return [p.what for p in verdict.problems]


def test_a_spindle_turning_backward_is_one_problem(tmp_path: Path) -> None:
    text = programs(NGC)["1"].replace(" M3", " M4")
    verdict = judge("1", text, tmp_path)
    backward = [f for f in verdict.simulation.findings if f.kind == "spindle off"]
    assert len(backward) > 30
    (said,) = [what for what in firsts(verdict) if "backward" in what]
    assert said.startswith("cuts with the spindle turning backward; likewise on lines ")
    assert said.endswith(f"and {len({f.line for f in backward}) - 4} more, to line {backward[-1].line}")
    assert firsts(verdict)[0] == said
    assert len(verdict.problems) < 5


@pytest.mark.parametrize("name", ["1", "square", "cross-hole"])
def test_the_other_dialect_is_one_problem(name: str, tmp_path: Path) -> None:
    for own, other, says in ((NGC, EIA, "NISTIR 6556"), (EIA, NGC, "EIA-274-D")):
        verdict = judge(name, programs(own)[name], tmp_path, other)
        (problem,) = verdict.problems
        assert problem.what.startswith(f"this program is written for {says}, and is read by the rules of ")
        assert problem.fix.startswith(f"say --dialect {own}")


@pytest.mark.parametrize("name", ["1", "square", "cross-hole"])
@pytest.mark.parametrize(
    ("old", "new", "first"),
    [
        ("T1 M6", "T1", "no tool is called: T1 only chooses it, M6 is missing"),
        (
            "T1 M6\nG54",
            "T1 M6\nG54\nG92 X3.0",
            "the zero of X is moved by G92 before any move: nobody knows by how much",
        ),
        ("T1 M6\nG54", "T1 M6\nG54\nG10 L2 P1 X3.0", "the zero of X is moved by G10 (work system 1)"),
        ("G90", "", "an axis word stands before the text has said absolute or incremental (G90)"),
    ],
)
def test_the_first_cause_comes_first(name: str, old: str, new: str, first: str, tmp_path: Path) -> None:
    text = programs(NGC)[name].replace(old, new, 1 if new else -1)
    assert firsts(judge(name, text, tmp_path))[0] == first


FOLLOWS = "and what follows from it: "


@pytest.mark.parametrize("name", ["1", "square", "cross-hole"])
@pytest.mark.parametrize(
    ("old", "new", "first"),
    [
        (r"T1 M6", "T1", "no tool is called: T1 only chooses it"),
        (r"(?m)^(\(---- )", r"G92 Z25.\n\1", "the zero of Z is moved by G92"),
        (r"(?m)^(\(---- )", r"G10 L2 P1 Z1.\n\1", "G10 moves the origin of a work system"),
        ("G21", "G20", "G20 says inches, and the program's own head says that its units are millimetres"),
        ("G21", "", "a length stands before the units are said"),
    ],
)  # fmt: skip
def test_what_follows_from_a_cause_is_one_problem_behind_it(
    name: str, old: str, new: str, first: str, tmp_path: Path
) -> None:
    said = firsts(judge(name, re.sub(old, new, programs(NGC)[name], count=1 if "----" in old else 0), tmp_path))
    assert [what.startswith(first) for what in said[:-1]] == [True] * (len(said) - 1)
    assert said[-1].startswith(FOLLOWS)
    assert "uncut" in said[-1] or "metal left" in said[-1] or "more" in said[-1]
    assert sum(what.startswith(FOLLOWS) for what in said) == 1


def test_a_spindle_that_never_starts_is_one_problem(tmp_path: Path) -> None:
    said = firsts(judge("1", programs(NGC)["1"].replace(" M3", ""), tmp_path))
    assert len([what for what in said if what.startswith("cuts with the spindle stopped")]) == 1
    assert len(said) < 3


def test_a_second_tool_that_is_not_called_is_told_before_what_it_leaves(tmp_path: Path) -> None:
    said = firsts(judge("2", programs(NGC)["2"].replace("T2 M6", "T2"), tmp_path))
    assert said[0].startswith("runs tool 1 with work system 2: ")
    assert said[0].endswith("a T word only chooses a tool: M6 brings it into use")
    assert said[1].startswith(FOLLOWS)
    assert len(said) == 2


def test_x_words_otherwise_than_the_control_takes_them_are_told_first(tmp_path: Path) -> None:
    text = programs(NGC)["1"]
    assert "X words are RADIUS" in text
    said = firsts(judge("1", re.sub(r" X(-?[\d.]+)", lambda m: f" X{2 * float(m[1]):.3f}", text), tmp_path))
    assert "by the program's head" not in said[0]
    doubled = re.sub(r" X(-?[\d.]+)", lambda m: f" X{2 * float(m[1]):.3f}", text)
    said = firsts(judge("1", doubled.replace("X words are RADIUS", "X words are DIAMETER"), tmp_path))
    assert said[0] == "X words are diameter by the program's head, and radius by the shop file"
    assert said[-1].startswith(FOLLOWS)
    assert firsts(judge("1", text.replace("X words are RADIUS", "X words are DIAMETER"), tmp_path)) == []


def test_a_form_feed_in_a_comment_ends_no_line(tmp_path: Path) -> None:
    """As the reader counts; the line that is shown of a finding is that of the program too."""
    text = programs(NGC)["1"]
    inches, deep = text.replace("G21", "G20"), re.sub(r"(?m)^G1 X7\.05 ", "G1 X2.5 ", text)
    for wrong in (inches, deep):
        problems = [judge("1", f"(made{sign}by hand)\n{wrong}", tmp_path).problems[0] for sign in (" ", "\f")]
        assert problems[0] == problems[1]
    assert problems[0].given.startswith("G1 X2.5 ")


def test_a_shift_in_the_middle_is_named_before_what_it_does(tmp_path: Path) -> None:
    text = programs(NGC)["1"]
    at = text.index("(---- pass 3 of")
    shifted = text[:at] + "G92 X18.5\n" + text[at:]
    said = firsts(judge("1", shifted, tmp_path))
    assert re.match(r"the zero of X is moved by G92: what is said after it lies [-+][0-9.]+ mm off$", said[0])
    assert len(said) > 1


def test_lost_belt_proof_and_tool_stops_are_named(tmp_path: Path) -> None:
    text = re.sub(r"(?m)^M0\n", "", programs(NGC)["2"])
    said = firsts(judge("2", text, tmp_path))
    assert (
        said[0].startswith("starts the spindle before the first motion has been checked")
        or "proof" in said[0]
        or ("callipers" in said[0])
    )
    assert any("no stop says to set the belt to" in what for what in said)
    assert any("says to mount it" in what for what in said)


def test_a_correction_by_hand_within_limits_is_accepted_with_what_it_does(tmp_path: Path) -> None:
    """The pivot's last cut is set a hundredth out."""
    text = programs(NGC)["1"]
    verdict = judge("1", text, tmp_path)
    assert verdict.changes == ()
    last = re.findall(r"(?m)^G1 X(3\.00\d*) F", text)[-1]
    damaged = re.sub(rf"(?m)^G1 X{re.escape(last)} F", f"G1 X{float(last) + 0.002:.4f} F", text)
    verdict = judge("1", damaged, tmp_path)
    assert verdict.problems == ()
    (change,) = [c for c in verdict.changes if c.what == "diameter"]
    assert change.section == "front pivot"
    assert change.least == pytest.approx(0.004, abs=1e-4)
    part = str(SAMPLES / "orrery-drum-arbor.toml")
    answer = run("simulate", str(tmp_path / "1.ngc"), "--part", part, "--setting", "1")
    assert answer.status == 0
    words = "diameter of front pivot comes out 6.014 mm, 4 um over the 6.010 mm aimed at, within limits"
    assert words in " ".join(answer.out.split())


def test_a_shoulder_corrected_by_hand_within_limits_is_accepted_with_what_it_does(tmp_path: Path) -> None:
    """The last cut goes to another Z; the pivot's length has limits, 0.02 mm either way."""
    text = programs(NGC)["1"]
    assert text.count("G1 Z-26.0 F18.0") == 1
    part = str(SAMPLES / "orrery-drum-arbor.toml")
    for z, words in (
        ("26.015", "26.015 mm, 15 um over the 26.000 mm"),
        ("25.985", "25.985 mm, 15 um under the 26.000 mm"),
    ):
        verdict = judge("1", text.replace("G1 Z-26.0 F18.0", f"G1 Z-{z} F18.0"), tmp_path)
        assert verdict.problems == ()
        answer = run("simulate", str(tmp_path / "1.ngc"), "--part", part, "--setting", "1")
        assert answer.status == 0
        assert f"shoulder past front pivot comes out {words} aimed at, within limits" in " ".join(answer.out.split())
    for z, kind in (("26.025", "gouge"), ("25.975", "uncut")):
        verdict = judge("1", text.replace("G1 Z-26.0 F18.0", f"G1 Z-{z} F18.0"), tmp_path)
        assert {f.kind for f in verdict.simulation.findings} == {kind}


def test_what_follows_from_a_shifted_zero_is_warned_of_behind_it(tmp_path: Path) -> None:
    text = programs(NGC)["1"].replace("F18.0", "F90.0")
    at = text.index("(---- pass 3 of")
    (tmp_path / "s.ngc").write_text(f"{text[:at]}G92 X18.5\n{text[at:]}", encoding="utf-8")
    answer = run(
        "simulate", str(tmp_path / "s.ngc"), "--part", str(SAMPLES / "orrery-drum-arbor.toml"), "--setting", "1"
    )
    assert answer.status == 1
    said = " ".join(answer.err.split())
    assert 0 < said.index("the zero of X is moved by G92") < said.index("warning ")


def test_a_text_of_another_dialect_is_told_that_alone(tmp_path: Path) -> None:
    verdict = judge("1", programs(NGC)["1"], tmp_path, EIA)
    assert len(verdict.problems) == 1
    assert verdict.warnings == ()


def test_a_feed_changed_throughout_is_told_with_its_lines(tmp_path: Path) -> None:
    verdict = judge("1", programs(NGC)["1"].replace("F36.0", "F90.0"), tmp_path)
    (warning,) = verdict.warnings
    assert re.search(
        r"is for 0.060 mm/rev at most; likewise on lines \d+, \d+, \d+ and \d+ more, to line \d+$", warning.what
    )


def test_a_correction_beyond_limits_is_refused(tmp_path: Path) -> None:
    text = programs(NGC)["1"]
    last = re.findall(r"(?m)^G1 X(3\.00\d*) F", text)[-1]
    for by, kind in ((0.012, "uncut"), (-0.012, "gouge")):
        damaged = re.sub(rf"(?m)^G1 X{re.escape(last)} F", f"G1 X{float(last) + by:.4f} F", text)
        assert {f.kind for f in judge("1", damaged, tmp_path).simulation.findings} == {kind}


def problem(line: int, what: str) -> Problem:
    return Problem(where=Where(path="x.ngc", line=line), what=what)


def test_few_alike_are_told_one_by_one_and_many_once() -> None:
    few = [problem(n, f"cuts {n}.5 um into a") for n in (3, 2, 1)]
    assert explain(few) == tuple(sorted(few))
    many = [problem(n, f"cuts {n}.5 um into a") for n in range(9, 0, -1)]
    (one,) = explain(many)
    assert one.where.line == 1
    assert one.what == "cuts 1.5 um into a; likewise on lines 2, 3, 4 and 5 more, to line 9"
    mixed = explain([*many, problem(30, "no tool is called: M6 is missing"), problem(2, "rubs")])
    assert [p.where.line for p in mixed] == [30, 1, 2]


@pytest.mark.parametrize("dialect", [NGC, EIA])
@pytest.mark.parametrize("name", ["1", "square", "cross-hole"])
def test_what_stands_below_the_end_is_the_first_cause(name: str, dialect: str, tmp_path: Path) -> None:
    whole = programs(dialect)[name]
    assert firsts(judge(name, whole, tmp_path, dialect)) == []
    (end,) = [n for n, row in enumerate(whole.split("\n"), 1) if re.fullmatch(r"(N\d+ )?M(2|30)", row)]
    twice = whole.split("\n")
    twice[end:end] = twice[1:end]
    (said,) = firsts(judge(name, "\n".join(twice), tmp_path, dialect))
    assert re.fullmatch(rf"the program ends here, and lines \d+ to {2 * end - 1} are never run", said)
    rows = whole.split("\n")
    rows.insert(end // 2, "M2" if dialect == NGC else "M30")
    first, *_, follows = firsts(judge(name, "\n".join(rows), tmp_path, dialect))
    assert first.startswith("the program ends here, and lines ")
    assert follows.startswith("and what follows from it: ")


@pytest.mark.parametrize("name", ["1", "square", "cross-hole"])
@pytest.mark.parametrize("word", ["M0", "M5"])
def test_a_line_that_a_switch_leaves_out_is_refused(name: str, word: str, tmp_path: Path) -> None:
    text = re.sub(rf"(?m)^{word}$", f"/{word}", programs(NGC)[name])
    (said,) = firsts(judge(name, text, tmp_path))
    more = len(re.findall(rf"(?m)^/{word}$", text)) - 1
    assert said.startswith(f"this line{f' and {more} more' if more else ''} may be left out: it begins with /")
