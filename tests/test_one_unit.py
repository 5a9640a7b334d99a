"""A person reads one unit: what is said of a file in inches holds no figure in mm, and the other way round.

The files in tests/bad and the samples are written anew in inches, and their refusals, and the findings of damaged inch
programs, are searched for figures in the other unit. Only what the person typed, names in the shop file, the other
reading that a question offers and the example of a fraction may have one; so may micrometres, in which small errors are
said everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from random import Random

import pytest

from cam.begin.phrases import read_section
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.units import MM_PER_INCH
from cam.job import make_job
from cam.job.judge import judge_program
from cam.job.mill import judge_mill_program
from cam.lengths import read_part
from tests.damages.kinds import KINDS
from tests.specimens import one_in

HERE = Path(__file__).parent
SAMPLES = HERE.parent / "samples"
BAD = [*sorted((HERE / "bad" / "part").glob("*.toml")), *sorted((HERE / "bad" / "job").glob("*.toml"))]
FIGURE = {
    "mm": re.compile(r"[0-9.]+ mm\b"),
    "in": re.compile(r"[0-9.]+ (?:in|thou)\b(?!/in| (?:air|metal|the|a|one|[0-9]+)\b)"),
}
"""Unit -> a figure in it; "1 in 50" and "0.003 in/in" are none."""
NAMES = re.compile(r"collet|end mill|drill|tap\b|tool|carrier")
OTHER_READING = re.compile(r'did you mean "[^"]*"(?: or "[^"]*")?\?|most others are in \w+| or "1 1/8 in"')


def in_inches(text: str) -> str:
    """Write a file's lengths in inches, but not what is named after its size, nor rates."""

    def size(number: re.Match[str]) -> str:
        return f"{float(number[0]) / MM_PER_INCH:.6f}".rstrip("0").rstrip(".")

    def quoted(found: re.Match[str]) -> str:
        if NAMES.search(found[0]) or not re.search(r"[0-9.] mm\b(?!/)", found[0]):
            return found[0]
        several = re.sub(r"[0-9]*\.?[0-9]+(?=(?: / [-+]?[0-9.]+)? mm\b)", size, found[0])
        return several.replace(" mm", " in")

    rows = [row for row in text.splitlines() if not row.lstrip().startswith("#")]
    return "\n".join(re.sub(r'"[^"]*"', quoted, row) for row in rows) + "\n"


def strays(problems: Iterable[Problem], other: str, *typed: str) -> list[str]:
    """Return the problems that hold a figure in the other unit which nobody typed."""
    said = []
    for problem in problems:
        words = OTHER_READING.sub("", " ".join((problem.what, problem.given, problem.allowed, problem.fix)))
        if "\x02" in words or any(not any(f in text for text in typed) for f in FIGURE[other].findall(words)):
            said.append(str(problem))
    return said


def refusals(path: Path) -> tuple[Problem, ...]:
    try:
        if "part" in path.parent.name:
            read_part(path)
        else:
            make_job(str(path))
    except ProblemError as error:
        return error.problems
    return ()


def test_the_search_sees_a_stray_figure():
    wrong = Problem(where=Where(path="part.toml"), what="too long", given="0.5 in", allowed="at most 7.62 mm")
    assert strays([wrong], "mm", "0.5 in")
    assert strays([wrong], "in", "7.62 mm")
    assert not strays([wrong], "mm", "7.62 mm")


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_refused_file_is_told_in_its_own_unit(path: Path, tmp_path: Path):
    text = path.read_text(encoding="utf-8")
    assert not strays(refusals(path), "in", text, (SAMPLES / "shop.toml").read_text(encoding="utf-8"))
    inch = tmp_path / path.parent.name / path.name
    inch.parent.mkdir()
    written = in_inches(text).replace("../../../samples/shop.toml", str(SAMPLES / "shop.toml"))
    inch.write_text(written, encoding="utf-8")
    assert not strays(refusals(inch), "mm", written, (SAMPLES / "shop.toml").read_text(encoding="utf-8"))


HALF_SAID = ["a, pivot, 0.2", "a, pivot, x, 0.3", "a, pivot, 0.2 to 0.3 to 0.4, 1", "a, pivot, 0.2, y"]


@pytest.mark.parametrize("text", HALF_SAID)
def test_a_section_refused_by_new_is_told_in_the_unit_of_the_session(text: str):
    for unit, other in (("in", "mm"), ("mm", "in")):
        _, problems = read_section(text, unit, drawn=False)
        assert problems
        assert not strays(problems, other)


@pytest.mark.slow
@pytest.mark.parametrize("unit", one_in(2, ["in", "mm"]))
def test_a_damaged_program_is_told_of_in_its_own_unit(unit: str, tmp_path: Path):
    shop, part = ((SAMPLES / name).read_text(encoding="utf-8") for name in ("shop.toml", "orrery-drum-arbor.toml"))
    if unit == "in":
        shop, part = re.sub(r'(?m)^units = "mm"', 'units = "in"', shop), in_inches(part)
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    (tmp_path / "part.toml").write_text(part, encoding="utf-8")
    path, bad = str(tmp_path / "part.toml"), tmp_path / "bad.ngc"
    job, pick, found = make_job(path), Random(5), []
    assert job.mill is not None
    works = [(work.setting.number, work.text) for work in job.works]
    works += [(work.name, work.text) for work in job.mill.works]  # type: ignore[misc]
    for name, text in works:
        for damage in KINDS.values():
            lines = damage(text.splitlines(), pick)
            if lines is None:
                continue
            bad.write_text("\n".join(lines) + "\n", encoding="utf-8")
            verdict = judge_mill_program(str(bad), path, name=name) if isinstance(name, str) else judge_program(
                str(bad), path, number=name)  # fmt: skip
            found += [*verdict.problems, *verdict.warnings]
    assert len(found) > 50
    assert not strays(found, "in" if unit == "mm" else "mm", shop, part)
