"""Whatever kind of file stands where one is read: a problem in words, soon, and never a run that waits for ever."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from cam.cli.answers import MOST_SHOWN
from tests.test_cli import GOOD, Answer, here, run

__all__ = ["here"]

LONGEST = 600
"""Seconds after which a run is held to wait for ever."""


@pytest.fixture(autouse=True)
def an_end() -> Iterator[None]:
    """A run that would wait for ever fails."""

    def end(*_: object) -> None:
        raise AssertionError("it waits for ever")

    before = signal.signal(signal.SIGALRM, end)
    signal.alarm(LONGEST)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def refused(*words: str) -> Answer:
    answer = run(*words)
    assert answer.status == 1, answer.out + answer.err
    assert "1 problem" in answer.err
    return answer


READS = {  # what is no file -> the command that would read it
    "part": ("check", "{0}"),
    "shop": ("check", GOOD, "--shop", "{0}"),
    "part of view": ("view", "{0}", "--out", "x.html"),
    "part of make": ("make", "{0}", "--out", "x"),
    "part of record": ("record", "{0}", "between plates", "46 mm"),
    "part of history": ("history", "{0}"),
    "program": ("simulate", "{0}", "--part", GOOD, "--setting", "1"),
    "program of the mill": ("simulate", "{0}", "--part", "samples/orrery-drum-arbor.toml", "--mill", "square"),
    "program to compare": ("compare", "{0}", "{0}", "--part", GOOD, "--setting", "1"),
    "side to compare": ("compare", "{0}", GOOD),
    "drawing": ("new", "new.toml", "--from-dxf", "{0}"),
    "shop of new": ("new", "new.toml", "--shop", "{0}"),
    "dialect": ("program", GOOD, "--setting", "1", "--dialect", "{0}"),
    "file that is there": ("plot", GOOD, "--out", "{0}", "--replace"),
}


@pytest.mark.parametrize("words", READS.values(), ids=READS)
@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_a_pipe_or_a_device_is_told_at_once(here: Path, words: tuple[str, ...], kind: str) -> None:
    name = "pipe.svg" if "plot" in words else "pipe.toml"
    if kind == "pipe":
        os.mkfifo(name)
    else:
        Path(name).symlink_to("/dev/zero")
    before = sorted(p.name for p in here.iterdir())
    answer = run(*(word.format(name) for word in words))
    assert answer.status == 1, answer.out
    assert "\nTraceback" not in answer.err
    assert "problem" in answer.err
    assert name in answer.err
    assert sorted(p.name for p in here.iterdir()) == before


def test_a_shop_that_the_part_names_is_asked_too(here: Path) -> None:
    os.mkfifo("samples/pipe.toml")
    text = Path(GOOD).read_text().replace('shop = "shop.toml"', 'shop = "pipe.toml"')
    Path("samples/own.toml").write_text(text)
    assert "samples/pipe.toml: this is a pipe or a device" in refused("check", "samples/own.toml").err


def test_a_log_that_is_a_pipe_is_told_at_once(here: Path) -> None:
    log = Path("samples/crank-pin.log")
    log.unlink(missing_ok=True)
    os.mkfifo(log)
    assert "a log must be a plain file" in refused("check", GOOD).err
    assert "a log must be a plain file" in refused("history", GOOD).err
    assert "a log must be a plain file" in refused("record", GOOD, "handle diameter", "3 mm").err


def test_a_record_or_a_file_of_the_folder_that_became_a_pipe_is_no_record_of_ours(here: Path) -> None:
    assert run("make", GOOD, "--out", "x").status == 0
    for name, words in (("summary.txt", "was changed since"), ("plan.json", "was not made by endshake")):
        Path("x", name).unlink()
        os.mkfifo(Path("x", name))
        assert words in refused("make", GOOD, "--out", "x").err
    assert "x/plan.json: this is a pipe or a device" in refused("compare", "x", GOOD).err


def test_a_standard_input_that_is_a_file_is_read_as_one(here: Path) -> None:
    Path("link.toml").symlink_to(Path(GOOD).resolve())
    assert "samples" not in run("check", "link.toml", "--shop", "samples/shop.toml").err


@pytest.mark.parametrize("key", ["a" + ".a" * 20_000, '"' + '"."'.join("a" * 10_000) + '"'], ids=["bare", "quoted"])
def test_a_key_of_forty_thousand_points_is_told_and_not_read(here: Path, key: str) -> None:
    Path("deep.toml").write_text(f"{key} = 1\n")
    assert "deep.toml:1: this file is nested too deeply" in refused("check", "deep.toml").err


def test_very_many_problems_are_counted_and_the_first_are_shown(here: Path) -> None:
    Path("many.toml").write_text("".join(f"k{n} = 1\n" for n in range(20_000)))
    answer = run("check", "many.toml")
    assert answer.status == 1
    assert len(answer.err) < 40_000
    assert "more keys, from here on, are not known" in answer.err
    rows = "".join(f'[[section]]\nname = "{n}"\nx = 1\n' for n in range(150))
    Path("many.toml").write_text(Path(GOOD).read_text() + rows)
    answer = run("check", "many.toml")
    assert f"the first {MOST_SHOWN} of them shown" in answer.err
    data = run("check", "many.toml", "--json").data
    assert len(data["problems"]) == MOST_SHOWN
    assert data["problems_not_shown"] > 100
