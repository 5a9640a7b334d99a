"""`endshake watch`: judged again at every save, the page kept up to date in a real browser, ended by Ctrl-C."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.engines import ENGINES
from tests.specimens import SAMPLES
from tests.test_begin import PATIENCE, ROOT
from tests.test_cli import run

HEARING = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)
from cam.cli import main
main()
"""
"""Ctrl-C ends it: what a shell without job control starts in the background is deaf to it, and so are its children."""


class Watch:
    """A running watch: what it says, line by line, and its address."""

    def __init__(self, folder: Path) -> None:
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", HEARING, "watch", "crank-pin.toml"], cwd=folder, env=env, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        self.address = self.line(r"http://127\.0\.0\.1:\d+/\S+/$")

    def line(self, pattern: str) -> str:
        """The next line of what it says that matches."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if re.search(pattern, line):
                return line.strip()
        raise AssertionError(f"it ended without {pattern}")


@pytest.fixture
def watched(tmp_path: Path) -> Iterator[tuple[Path, Watch]]:
    for name in ("crank-pin.toml", "shop.toml"):
        shutil.copy(SAMPLES / name, tmp_path)
    watch = Watch(tmp_path)
    yield tmp_path, watch
    watch.process.kill()
    watch.process.wait()
    if watch.process.stdout is not None:
        watch.process.stdout.close()


def fetched(address: str, host: str = "") -> tuple[int, str]:
    request = urllib.request.Request(address, headers={"Host": host} if host else {})
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, ""


def policy_at(address: str) -> str:
    with urllib.request.urlopen(address, timeout=PATIENCE) as answer:
        return str(answer.headers["Content-Security-Policy"])


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)


@pytest.mark.slow
def test_every_save_is_judged_and_nothing_else_is_served(watched: tuple[Path, Watch]) -> None:
    folder, watch = watched
    watch.line("may be cut")
    part = folder / "crank-pin.toml"
    text = part.read_text()
    part.write_text(text.replace('diameter = "3 mm"', 'diameter = "9 mm"', 1))
    watch.line("may NOT be cut")
    part.unlink()
    watch.line("may NOT be cut")
    watch.line("there is no such file")
    part.write_text(text)
    watch.line("may be cut")
    shop = folder / "shop.toml"
    shop.write_text("not TOML at all")
    watch.line("may NOT be cut")
    home = watch.address.split("/")[2]
    assert fetched(watch.address)[0] == 200
    assert "unsafe" not in policy_at(watch.address)
    assert "script-src 'sha256-" in policy_at(watch.address)
    assert fetched(watch.address + "page")[1].startswith("<!doctype html>")
    assert fetched(f"http://{home}/")[0] == 404
    assert fetched(watch.address + "../../etc/passwd")[0] == 404
    assert fetched(watch.address, host="elsewhere.example")[0] == 403
    watch.process.send_signal(signal.SIGINT)
    assert watch.line("watched no more")
    assert watch.process.wait(timeout=PATIENCE) == 0


def test_a_part_that_is_not_there_is_a_problem_at_once(tmp_path: Path) -> None:
    answer = run("watch", str(tmp_path / "nowhere.toml"))
    assert answer.status == 1
    assert answer.err.endswith("1 problem\n")


@pytest.mark.slow
def test_an_open_browser_shows_what_was_saved(browser: Any, watched: tuple[Path, Watch]) -> None:
    folder, watch = watched
    part = folder / "crank-pin.toml"
    text = part.read_text()
    page = browser.new_page()
    page.goto(watch.address)
    until(lambda: page.frames[-1].locator("#verdict").count() == 1)
    assert page.frames[-1].locator("#name").inner_text() == "crank pin"
    part.write_text(text.replace('name = "crank pin"', 'name = "another pin"', 1))
    until(lambda: "another pin" in page.frames[-1].locator("body").inner_text())
    part.write_text(text.replace('name = "crank pin"', "name = ", 1))
    until(lambda: page.locator("#problems").is_visible())
    assert "crank-pin.toml:" in page.locator("#problems").inner_text()
    assert "another pin" in page.frames[-1].locator("body").inner_text()  # the last page stays, and is told apart
    assert page.locator("#problems").inner_text().startswith("below is an earlier save, not this one\n")
    assert float(page.locator("#page").evaluate("frame => getComputedStyle(frame).opacity")) < 0.5
    part.write_text(text)
    until(lambda: not page.locator("#problems").is_visible())
    assert page.locator("#page").evaluate("frame => getComputedStyle(frame).opacity") == "1"
    watch.process.send_signal(signal.SIGINT)
    until(lambda: "has ended" in page.locator("#problems").inner_text())


WITHIN = "const inner = document.getElementById('page').contentDocument; return inner && inner.body ? "
"""What the body of a script in the frame begins with."""


@pytest.mark.slow
@pytest.mark.parametrize("name", ENGINES)
def test_another_engine_shows_what_was_saved(name: str, tmp_path: Path, watched: tuple[Path, Watch]) -> None:
    """And runs nothing that the page's policy does not name by its hash."""
    folder, watch = watched
    part = folder / "crank-pin.toml"
    text = part.read_text()
    with ENGINES[name](tmp_path) as engine:
        engine.go_to(watch.address, 1200, 900)
        until(lambda: "crank pin" in engine.run(WITHIN + "inner.body.textContent : '';"))
        part.write_text(text.replace('name = "crank pin"', 'name = "another pin"', 1))
        until(lambda: "another pin" in engine.run(WITHIN + "inner.getElementById('name').textContent : '';"))
        part.write_text(text.replace('name = "crank pin"', "name = ", 1))
        problems = "return document.getElementById('problems').textContent;"
        until(lambda: "crank-pin.toml:" in engine.run(problems))
        part.write_text(text)
        until(lambda: engine.run(problems) == "")
        strange = "const s = document.createElement('script'); s.textContent = 'window.ran = true;';"
        assert engine.run(f"{strange} document.body.append(s); return window.ran === undefined;")
