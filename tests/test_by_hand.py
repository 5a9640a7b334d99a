"""A lathe without a control: asked for nothing that only a control needs, given no program, refused in words."""

from __future__ import annotations

import json
import re
from pathlib import Path
from random import Random

import pytest

from cam.ground.problem import ProblemError
from cam.job import judge_program, make_job
from cam.judge.report import pass_at
from tests.page_case import data_of
from tests.search.draw import draw_part, draw_shop
from tests.specimens import SAMPLES, by_hand, record_samples, shop_from, some
from tests.test_cli import run
from tests.test_shop import errors_of
from tests.test_shop_bad import problems_of

SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
HAND = by_hand(SHOP)
NO_CONTROL = "this lathe is worked by hand: it runs no program, of any dialect"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The samples beside a shop whose lathe is worked by hand; what they wait for is recorded."""
    for name in ("crank-pin", "moon-carriage-spindle", "orrery-drum-arbor", "too-near-the-centre"):
        text = (SAMPLES / f"{name}.toml").read_text(encoding="utf-8")
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(HAND, encoding="utf-8")
    record_samples(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


# What is asked ----------------------------------------------------------------------------------------


def test_nothing_is_asked_that_only_a_control_needs() -> None:
    control = HAND[HAND.index("[lathe.control]") : HAND.index("[lathe.spindle]")]
    assert control.split() == ["[lathe.control]", "kind", "=", '"hand"']
    lathe = shop_from(HAND).lathe
    assert lathe.by_hand
    assert not lathe.spindle.feeds_per_revolution
    assert not lathe.spindle.constant_surface_speed
    assert not shop_from(SHOP).lathe.by_hand
    assert errors_of(HAND) == []


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("control", 'dialect = "eia274d"'),
        ("control", 'x_words = "radius"'),
        ("control", 'rapid = "500 mm/min"'),
        ("control", 'units = "mm"'),
        ("control", 'stands = { "G90" = "2026-05-02" }'),
        ("spindle", "feeds_per_revolution = true"),
        ("spindle", "feeds_per_revolution = false"),
        ("spindle", "constant_surface_speed = false"),
    ],
)
def test_what_only_a_control_has_is_refused_without_one(table: str, row: str) -> None:
    text = HAND.replace('kind = "hand"\n', f'kind = "hand"\n{row}\n', 1)
    if table == "spindle":
        text = HAND.replace("[lathe.spindle]\n", f"[lathe.spindle]\n{row}\n", 1)
    (problem,) = problems_of(text)
    key = row.partition(" ")[0]
    assert problem.what == f"a lathe worked by hand has no control, so no {key}"
    assert problem.fix == "leave it out"
    assert text.splitlines()[problem.where.line - 1] == row
    assert errors_of(text)


@pytest.mark.parametrize("key", ["dialect", "x_words", "rapid", "units", "feeds_per_revolution"])
def test_a_control_is_still_asked_for_all_of_it(key: str) -> None:
    start = SHOP.index(f"\n{key} = ", SHOP.index("[lathe.control]"))
    text = SHOP[:start] + SHOP[SHOP.index("\n", start + 1) :]
    (problem,) = problems_of(text)
    assert f"has no {key}" in problem.what
    assert errors_of(text)


# What is given ----------------------------------------------------------------------------------------


def test_make_writes_no_program_for_the_lathe_and_the_record_names_none(here: Path) -> None:
    answer = run("make", "crank-pin.toml", "--out", "made")
    assert answer.status == 0, answer.err
    assert sorted(p.name for p in (here / "made").iterdir()) == ["plan.json", "plot.svg", "summary.txt"]
    for path in (here / "made").iterdir():
        text = path.read_text(encoding="utf-8")
        assert ".ngc" not in text
        assert "rs274" not in text.lower()
    assert ".ngc" not in answer.out
    record = json.loads((here / "made" / "plan.json").read_text(encoding="utf-8"))
    assert record["programs"] is None
    (setting,) = record["settings"]
    assert setting["program"] is None
    for near in (record["closest"], setting["checked"]["closest"]):
        assert near["line"] is None
        assert near["pass"] in range(1, 1 + sum(len(o["passes"]) for o in setting["operations"]))
    assert record["closest"]["file"] is None
    assert re.search(r"closest +\S+ mm, tool 1 nose to the work, setting 1, pass \d+\n", answer.out)
    assert re.search(r"to work, pass \d+", (here / "made" / "plot.svg").read_text(encoding="utf-8"))


def test_a_mill_with_a_control_has_its_programs_still(here: Path) -> None:
    assert run("make", "orrery-drum-arbor.toml", "--out", "made").status == 0
    names = {p.name for p in (here / "made").iterdir()}
    assert {n for n in names if n.endswith(".ngc")} == {"cross-hole.ngc", "square.ngc"}
    assert run("program", "orrery-drum-arbor.toml", "--mill", "square").status == 0


@pytest.mark.parametrize(
    "words",
    [
        ("program", "crank-pin.toml", "--setting", "1"),
        ("program", "crank-pin.toml", "--setting", "1", "--dialect", "eia274d"),
        ("simulate", "text.ngc", "--part", "crank-pin.toml", "--setting", "1"),
        ("simulate", "text.ngc", "--part", "crank-pin.toml", "--setting", "1", "--dialect", "rs274ngc"),
        ("compare", "text.ngc", "text.ngc", "--part", "crank-pin.toml", "--setting", "1"),
    ],
)
def test_programs_and_dialects_are_refused_in_words(words: tuple[str, ...], here: Path) -> None:
    text = run("program", "crank-pin.toml", "--setting", "1", "--shop", str(SAMPLES / "shop.toml")).out
    (here / "text.ngc").write_text(text, encoding="utf-8")
    answer = run(*words)
    assert answer.status == 1
    assert answer.out == ""
    assert NO_CONTROL in answer.err
    assert ("--dialect" in answer.err) == (words[0] == "program" and "--dialect" in words)
    with pytest.raises(ProblemError, match="worked by hand"):
        judge_program("text.ngc", "crank-pin.toml", 1)
    with pytest.raises(ProblemError, match="worked by hand"):
        make_job("crank-pin.toml", dialect="eia274d")


def test_a_page_is_in_no_dialect(here: Path) -> None:
    (here / "summary.txt").write_text(run("summary", "crank-pin.toml").out, encoding="utf-8")
    answer = run("simulate", "summary.txt", "--part", "crank-pin.toml", "--setting", "1", "--dialect", "eia274d")
    assert answer.status == 2
    assert "--dialect is of programs" in " ".join(answer.err.split())


@pytest.mark.parametrize("name", some(["crank-pin", "moon-carriage-spindle", "orrery-drum-arbor"], "crank-pin"))
def test_every_other_verb_answers(name: str, here: Path) -> None:
    part = f"{name}.toml"
    for words in (("check", part), ("summary", part), ("notebook", part), ("plot", part), ("why", part, "--pass", "3")):
        answer = run(*words)
        assert answer.status == 0, answer.err
        assert "setting-1.ngc" not in answer.out
    assert run("make", part, "--out", "made").status == 0
    assert run("compare", "made", part).out.startswith("alike")
    changed = (here / part).read_text(encoding="utf-8").replace('"silver steel"', '"mild steel"')
    (here / "other.toml").write_text(changed, encoding="utf-8")
    assert run("compare", "made", "other.toml").status == 0


@pytest.mark.slow
def test_the_page_of_the_steps_names_no_file(here: Path) -> None:
    answer = run("view", "crank-pin.toml")
    assert answer.status == 0
    view = data_of(answer.out)["views"][0]
    assert view["file"] == "setting 1: no program, only what was checked"
    assert run("view", "too-near-the-centre.toml", "--out", "refused.html").status == 1
    assert run("plot", "too-near-the-centre.toml", "--out", "refused.svg").status == 1
    drawn = (here / "refused.svg").read_text(encoding="utf-8")
    assert "REFUSED" in drawn
    assert not re.search(r"\blines? \d", drawn)
    assert re.search(r"(pass \d+|before the first pass): ", drawn)


def test_the_pass_of_a_line_is_by_the_headings_of_the_text() -> None:
    work = make_job(str(SAMPLES / "crank-pin.toml")).works[0]
    heads = {k: int(m[1]) for k, t in enumerate(work.text.splitlines(), 1) if (m := re.match(r"\(-+ pass (\d+) ", t))}
    assert list(heads.values()) == list(range(1, 1 + len(work.planned.passes)))
    assert pass_at(work.program, 1) == 0
    for line, number in heads.items():
        assert (work.pass_at(line - 1), work.pass_at(line), work.pass_at(line + 3)) == (number - 1, number, number)


@pytest.mark.slow
def test_what_no_text_is_there_for_is_not_said_of_one(tmp_path: Path) -> None:
    """Of a program of ours a slip that has no room is not called forgotten; by hand nobody reads a program."""
    rng = Random("777-31")
    shop = draw_shop(rng)
    part = tmp_path / "part.toml"
    part.write_text(draw_part(rng, shop.shop).text(), encoding="utf-8")
    (tmp_path / "shop.toml").write_text(shop.text, encoding="utf-8")
    (tmp_path / "hand.toml").write_text(by_hand(shop.text), encoding="utf-8")
    fixes = [w.fix for w in make_job(str(part), str(tmp_path / "shop.toml")).warnings if "to try a slip" in w.what]
    assert fixes == ["there is no room for a slip: see that nothing has moved since it was measured"]
    assert not make_job(str(part), str(tmp_path / "hand.toml")).warnings
