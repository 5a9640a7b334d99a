"""How hypothesis runs here: never against the clock, and the same examples every time.

A quarter of the examples that each law asks for are drawn, of laws among the slow tests half: the same ones every time,
so what looks far is the search. For who changes a law or what it holds: HYPOTHESIS_PROFILE=steady
draws all, HYPOTHESIS_PROFILE=wander twice as many, and new ones on every run; keep what it finds as a test of its own.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from typer.main import get_command

from cam.job import read_given
from cam.part.model import Part
from cam.shop.model import Shop
from tests.kept import keep_samples, keep_steps

BRIEF = "brief"
SHARE, SLOW_SHARE = 4, 2
"""One in so many of a law's examples is drawn, and of one among the slow tests."""
PROFILE = os.environ.get("HYPOTHESIS_PROFILE", BRIEF)
settings.register_profile(
    "steady", max_examples=50, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
settings.register_profile(BRIEF, settings.get_profile("steady"))
settings.register_profile("wander", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile(  # for tests.mutants: what fails fails at once, no example is made smaller
    "mutants", settings.get_profile("steady"), max_examples=30, phases=(Phase.explicit, Phase.generate)
)
settings.load_profile(PROFILE)

# what is compiled is kept: a program that a test starts would else compile every module anew, half of its time
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


@pytest.fixture(scope="session", autouse=True)
def steps_kept() -> Iterator[None]:
    """Keep what one test has had made for the next, in the default run and the slow one; see tests/kept.py.

    And declare the verbs once: to do it for every command line takes longer than most of them.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("typer.testing._get_command", cache(get_command))
        if PROFILE == BRIEF:
            keep_steps(patch)
        yield


@cache
def read_once(part: str, shop: str | None, _folder: Path, piece: str) -> tuple[Part, Shop]:
    """Read a part and a shop file that no test of the module changes."""
    return read_given(part, shop, piece)


@pytest.fixture
def files_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read files once, for modules that judge hundreds of texts against files that stay as they are."""
    for module in ("cam.job.judge", "cam.job.mill"):
        once = lambda part, shop=None, piece="": read_once(part, shop, Path.cwd(), piece)  # noqa: E731
        monkeypatch.setattr(f"{module}.read_given", once)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Draw a share of the examples of every law in the default run and the slow one."""
    seen = set()
    for item in items:
        law = getattr(item, "obj", None)
        law = getattr(law, "__func__", law)
        own = getattr(law, "_hypothesis_internal_use_settings", None)
        if PROFILE == BRIEF and own is not None and law not in seen:
            seen.add(law)
            most = max(own.max_examples // (SLOW_SHARE if item.get_closest_marker("slow") else SHARE), 1)
            law._hypothesis_internal_use_settings = settings(own, max_examples=most)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Keep four thousand tests from being collected as rubbish: looking through them takes seconds of every run."""
    if PROFILE == BRIEF:
        keep_samples()  # many are read as the tests are
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(50_000)  # tests leave few cycles, as runs do
        gc.enable()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Return Chromium without a window, one for all tests of a worker."""
    from tests.page_case import open_browser  # noqa: PLC0415 - only where a page is tried

    with open_browser() as opened:
        yield opened
