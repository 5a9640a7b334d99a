"""No tool is without a body in silence; and a shop without a turning tool is refused in words."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cam.ground.problem import ProblemError
from cam.job import make_job
from cam.judge.report import say_tip_only
from tests.specimens import SAMPLES, shop_from
from tests.test_cli import run
from tests.test_shop_bad import problems_of

SHOP = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
WORDS = "tool 1 tip only: holder and post not checked"
KNIFE = SHOP[SHOP.index("[[tool]]\nnumber = 1") : SHOP.index("[[tool]]\nnumber = 2")]
KEYS, BODY = KNIFE.split("[[tool.outline]]", 1)
BARE = SHOP.replace(KNIFE, KEYS + 'outline = "tip only"\n\n')


@pytest.fixture
def here(tmp_path: Path) -> Path:
    """A folder with the crank pin beside a shop whose knife has no body."""
    (tmp_path / "shop.toml").write_text(BARE, encoding="utf-8")
    text = (SAMPLES / "crank-pin.toml").read_text(encoding="utf-8")
    (tmp_path / "pin.toml").write_text(text, encoding="utf-8")
    long = (SAMPLES / "moon-carriage-spindle.toml").read_text(encoding="utf-8")
    (tmp_path / "spindle.toml").write_text(long, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("instead", "given"),
    [
        ("", ""),
        ("outline = []\n", "outline = []"),
        ('outline = "tip"\n', 'outline = "tip"'),
        ("outline = true\n", "outline = true"),
    ],
)
def test_a_tool_needs_a_body_or_the_word_that_it_has_none(instead: str, given: str) -> None:
    (problem,) = problems_of(SHOP.replace(KNIFE, f"{KEYS}{instead}\n"))
    assert problem.what == '[[tool]] "right-hand knife" has no outline, so its holder and post cannot be checked'
    assert problem.given == given
    assert 'outline = "tip only"' in problem.fix
    assert SHOP.splitlines()[problem.where.line - 1].strip() or given


def test_a_tool_with_a_body_is_not_tip_only_and_one_without_is() -> None:
    assert [t.tip_only for t in shop_from(SHOP).tools] == [False, False]
    assert [t.tip_only for t in shop_from(BARE).tools] == [True, False]


def test_both_at_once_is_no_toml() -> None:
    with pytest.raises(ProblemError, match="not TOML"):
        shop_from(SHOP.replace(KNIFE, f'{KEYS}outline = "tip only"\n[[tool.outline]]{BODY}'))


@pytest.mark.parametrize(
    ("tools", "words"),
    [
        ((), ""),
        ([3], "tool 3 tip only: holder and post not checked"),
        ([3, 1], "tools 1 and 3 tip only: holder and post not checked"),
        ((1, 2, 4, 2), "tools 1, 2 and 4 tip only: holder and post not checked"),
    ],
)
def test_what_was_not_checked_in_words(tools, words: str) -> None:
    assert say_tip_only(tools) == words


def test_the_judge_knows_which_tools_had_no_body(here: Path) -> None:
    job = make_job(str(here / "pin.toml"))
    assert job.tip_only == job.works[0].simulation.tip_only == (1,)
    assert make_job(str(SAMPLES / "crank-pin.toml")).tip_only == ()


VERBS = {
    "make": ("make", "pin.toml", "--out", "made"),
    "check": ("check", "pin.toml"),
    "summary": ("summary", "pin.toml"),
    "print": ("summary", "pin.toml", "--print", "page.html", "--paper", "A4"),
    "plot": ("plot", "pin.toml"),
    "plot of two settings": ("plot", "spindle.toml"),
    "view": ("view", "pin.toml"),
    "make --json": ("make", "pin.toml", "--out", "made", "--json"),
    "check --json": ("check", "pin.toml", "--json"),
}


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("bare", [True, False])
def test_every_answer_says_so_beside_the_closest(
    verb: str, bare: bool, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not bare:
        (here / "shop.toml").write_text(SHOP, encoding="utf-8")
    monkeypatch.chdir(here)
    answer = run(*VERBS[verb])
    assert answer.status == 0, answer.err
    text = (here / "page.html").read_text(encoding="utf-8") if verb == "print" else answer.out
    plain = " ".join(re.sub(r"<[^>]*>", " ", text).split())
    assert (WORDS in " ".join(plain.replace("- ", "").split())) == bare, plain[:3000]
    if bare and verb == "make":
        record = json.loads((here / "made" / "plan.json").read_text(encoding="utf-8"))
        for near in (record["closest"], record["settings"][0]["checked"]["closest"]):
            assert near["not_checked"] == WORDS
        for name in ("summary.txt", "plot.svg"):
            assert "tip only" in (here / "made" / name).read_text(encoding="utf-8")


def test_simulate_and_compare_say_so_too(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(here)
    assert run("make", "pin.toml", "--out", "made").status == 0
    judged = run("simulate", "made/setting-1.ngc", "--part", "pin.toml", "--setting", "1")
    assert judged.status == 0
    assert WORDS in judged.out
    data = json.loads(run("simulate", "made/setting-1.ngc", "--part", "pin.toml", "--setting", "1", "--json").out)
    assert data["closest"]["not_checked"] == WORDS
    page = run("simulate", "made/summary.txt", "--part", "pin.toml", "--setting", "1").out
    assert re.search(r"closest +\S+ mm, tool 1 \S.* to the work, made/summary.txt:\d+\n", page)
    assert WORDS in page
    (here / "shop.toml").write_text(SHOP, encoding="utf-8")
    compared = run("compare", "made", "pin.toml")
    assert compared.status == 0
    assert WORDS in compared.out


def test_a_shop_without_a_turning_tool_is_refused_in_words(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(here)
    (here / "shop.toml").write_text(SHOP.replace(KNIFE, ""), encoding="utf-8")
    for name in ("drum-hook", "crank-pin", "moon-carriage-spindle"):
        answer = run("check", str(SAMPLES / f"{name}.toml"), "--shop", "shop.toml")
        assert answer.status == 1
        assert answer.err.count("the shop has no turning tool") == 1
        assert 'tool 2 "undercut tool": grooving, right-hand' in answer.err
        assert 'tool of kind "turning"' in answer.err
        assert "1 problem\n" in answer.err
    assert run("view", str(SAMPLES / "drum-hook.toml"), "--shop", "shop.toml", "--out", "refused.html").status == 1
    assert (here / "refused.html").is_file()
    left = SHOP.replace(KNIFE, KNIFE.replace('hand = "right"', 'hand = "left"'))
    (here / "shop.toml").write_text(left, encoding="utf-8")
    answer = run("check", str(SAMPLES / "crank-pin.toml"), "--shop", "shop.toml")
    assert 'tool 1 "right-hand knife": turning, left-hand' in answer.err
