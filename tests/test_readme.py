"""README.md and the guide say what is so: commands, help, answers, files."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from cam.cli.sheets import GUIDE as TOPICS
from tests.fill_readme import DRAWN, GUIDE, PICTURES, block, pictures, shown
from tests.test_cli import run

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
ALL = "\n".join([README, *(file.read_text(encoding="utf-8") for file in GUIDE)])


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_it_opens_with_the_job_and_then_two_commands() -> None:
    first, second = README.index("<!-- command 1 -->"), README.index("<!-- command 2 -->")
    assert README.startswith("# Endshake\n\nEndshake ")
    assert README[:first].count("\n## ") == 0
    assert first < second < README.index("\n## ")


@pytest.mark.parametrize("number", [1, 2])
def test_each_command_stands_alone_on_one_line(number: int) -> None:
    text = block(README, f"command {number}")
    assert text.count("\n") == 1
    assert text.startswith("python3 -m venv .venv && .venv/bin/python -m pip install ")


@pytest.mark.parametrize("number", [1, 2])
def test_each_command_has_its_form_for_powershell(number: int) -> None:
    """PowerShell 5.1 has no &&: each step runs only if the one before it succeeded ($?)."""
    first, *more = block(README, f"command {number}").strip().split(" && ")
    steps = [first.replace("python3", "py"), *(f"if ($?) {{ {step} }}" for step in more)]
    wanted = "; ".join(steps).replace(".venv/bin/", ".venv\\Scripts\\") + "\n"
    assert block(README, f"command {number}, PowerShell") == wanted
    for own in (1, 2):
        assert not re.findall(r"&&|`$", block(README, f"command {own}, PowerShell"))
    assert README.count(" && ") == 4


def test_the_answers_shown_are_the_answers() -> None:
    """`python -m tests.fill_readme` writes them anew."""
    for marker, answer in shown(README).items():
        assert block(ALL, marker) == answer, marker


def test_the_pictures_shown_are_what_the_tool_draws() -> None:
    """`python -m tests.fill_readme` draws them anew."""
    assert sorted(re.findall(r"\]\((?:\.\./)*samples/pictures/([\w-]+\.svg)\)", ALL)) == sorted(DRAWN)
    for name, svg in pictures().items():
        assert (PICTURES / name).read_text(encoding="utf-8") == svg, name


def test_command_1_makes_the_files_that_are_listed(here: Path) -> None:
    words = shlex.split(block(README, "command 1").rpartition("&&")[2])
    assert words[0] == ".venv/bin/endshake"
    assert run(*words[1:]).status == 0
    assert not Path("build/drum-arbor/setting-2.ngc").exists()
    run_shown(r"endshake record ", r"endshake make ")
    table = README.partition("## What comes out")[2].partition("\n## ")[0]
    listed = re.findall(r"^\| `([\w.-]+)` \|", table, re.M)
    assert sorted(listed) == sorted(p.name for p in Path("build/drum-arbor").iterdir())


def run_shown(*patterns: str) -> None:
    """Run the commands of README.md that begin so, each of which must succeed."""
    for pattern in patterns:
        for text in re.findall(rf"^```sh\n({pattern}.*)\n```$", README, re.M):
            assert run(*shlex.split(text)[1:]).status == 0


def test_ci_runs_command_2_as_printed() -> None:
    script = (ROOT / ".ci" / "run").read_text()
    assert "<!-- command 2 -->" in script
    assert "README.md" in script
    assert ".venv/bin/python -m pytest" in block(README, "command 2")


@pytest.mark.slow
def test_every_other_command_works(here: Path) -> None:
    run(*shlex.split(block(README, "command 1").rpartition("&&")[2])[1:])
    for text in dict.fromkeys(re.findall(r"^```sh\n(endshake .*)\n```$", ALL, re.M)):
        answer = run(*shlex.split(text)[1:])
        assert answer.status == (1 if "too-near" in text else 0), answer.err


def test_every_sample_is_listed_and_every_file_named_is_there() -> None:
    listed = re.findall(r"^\| `([\w-]+\.toml)` \|", ALL, re.M)
    assert sorted([*listed, "shop.toml"]) == sorted(p.name for p in (ROOT / "samples").glob("*.toml"))
    for name in re.findall(r"`((?:cam|samples|posts)/[\w./-]+)`", ALL):
        assert (ROOT / name).is_file(), name


def test_the_part_file_shown_is_of_the_sample() -> None:
    sample = " ".join((ROOT / "samples" / "orrery-drum-arbor.toml").read_text().split())
    shown = re.search(r"^```toml\n(.*?)^```$", ALL, re.M | re.S)
    assert shown
    for line in shown[1].splitlines():
        words = " ".join(line.partition("#")[0].split())
        assert words in sample, line


def test_it_is_short_and_every_topic_is_listed_with_its_file() -> None:
    assert README.count("\n") <= 160
    listed = re.findall(r"^\| `([a-z]+)` \| `([\w/]+)/README.md` \|", README, re.M)
    assert dict(listed) == TOPICS
    assert sorted(ROOT / home / "README.md" for home in [*TOPICS.values(), "samples"]) == GUIDE


def test_a_topic_is_printed_and_a_wrong_one_answered_with_all() -> None:
    for topic, home in TOPICS.items():
        assert run("guide", topic).out == (ROOT / home / "README.md").read_text(encoding="utf-8")
    for words in ((), ("lathe",)):
        answer = run("guide", *words)
        assert answer.status == 2
        assert all(topic in answer.err for topic in TOPICS)
