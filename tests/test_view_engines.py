"""The page in Gecko and WebKit too: what was simulated is drawn, keys work, nothing lies over anything."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cam.ground.units import show_length
from cam.job import Job, make_job
from cam.job.view import view_given, view_job
from cam.judge.envelope import Metal, from_chain
from tests.engines import ENGINES, Engine
from tests.page_case import pieces_of
from tests.specimens import SAMPLES as FOLDER
from tests.test_page import REFUSED, SAMPLES
from tests.test_view_browser import BOXES, SQUARE, clash, same_outline

pytestmark = pytest.mark.slow

SIZES = {"desk": (1400, 1000), "phone": (480, 940)}
"""Of the window; the least that a window may be is wider than a phone, and the page is that of a phone all the same."""


@pytest.fixture(scope="module", params=ENGINES)
def engine(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    with ENGINES[request.param](tmp_path_factory.mktemp(request.param)) as opened:
        yield opened


@pytest.fixture(scope="module")
def jobs() -> dict[str, Job]:
    return {name: make_job(str(FOLDER / f"{name}.toml")) for name in SAMPLES}


@pytest.fixture(scope="module")
def pages(jobs: dict[str, Job], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    texts = {name: view_job(job) for name, job in jobs.items()}
    texts |= {"refused": view_given(REFUSED)[0], "square": view_given(SQUARE)[0]}
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in texts}


def step_of(engine: Engine) -> int:
    return int(engine.run("return document.getElementById('slider').value;"))


def text_of(engine: Engine, selector: str) -> str:
    text: str = engine.run("return document.querySelector(arguments[0]).textContent;", selector)
    return text


def boxes(engine: Engine, selector: str) -> list[list[Any]]:
    found: list[list[Any]] = engine.run(f"return ({BOXES})(arguments[0]);", selector)
    return found


@pytest.mark.parametrize("name", SAMPLES)
def test_the_end_is_what_the_simulation_left_and_the_nearest_is_the_jobs(
    engine: Engine, jobs: dict[str, Job], pages: dict[str, Path], name: str
) -> None:
    engine.open(pages[name], *SIZES["desk"])
    job = jobs[name]
    for number, work in enumerate(job.works, start=1):
        engine.press(str(number), "End")
        drawn = engine.run("return document.getElementById('metal').getAttribute('d');")
        assert same_outline(pieces_of(drawn), Metal(from_chain(work.simulation.result)))
        engine.press("n")
        near = work.simulation.closest
        assert near is not None
        shown = show_length(near.distance, job.part.unit, 4 if job.part.unit == "in" else 3)
        assert shown in text_of(engine, "#verdict")
        assert shown in text_of(engine, "#figure .letters")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [*SAMPLES, "refused", "square"])
def test_nothing_lies_over_anything(engine: Engine, pages: dict[str, Path], name: str, size: str) -> None:
    engine.open(pages[name], *SIZES[size])
    for key in ("Home", "n", "c", "w"):
        engine.press(key)
        letters, buttons = boxes(engine, ".letters text"), boxes(engine, "#looks button")
        assert letters
        for k, one in enumerate(letters):
            assert not any(clash(one, other) for other in (*letters[k + 1 :], *buttons)), (key, one)
    rooms = boxes(engine, "#head, #figure, #transport, #side, footer")
    assert len(rooms) >= 4
    for k, one in enumerate(rooms):
        assert not any(clash(one, other) for other in rooms[k + 1 :]), one
    if size == "phone":
        height = engine.run("return window.innerHeight;")
        assert next(room for room in rooms if room[0] == "figure")[4] <= height / 2 + 1
    assert engine.run("return document.documentElement.scrollWidth <= window.innerWidth;")


def test_no_stroke_has_ends_that_an_engine_draws_out_of_scale(engine: Engine, pages: dict[str, Path]) -> None:
    """WebKit draws the round end of a path without length as wide as the stroke would be in millimetres."""
    engine.open(pages["orrery-drum-arbor"], *SIZES["desk"])
    caps = "return [...document.querySelectorAll('svg *')].map((e) => getComputedStyle(e).strokeLinecap);"
    assert set(engine.run(caps)) == {"butt"}


def test_keys_and_buttons_work(engine: Engine, pages: dict[str, Path]) -> None:
    engine.open(pages["orrery-drum-arbor"], *SIZES["desk"])
    for selector in ("#go-on", "#speed", "#go-to", "#text", "#unit-mm", "#slider"):
        engine.run("document.querySelector(arguments[0]).focus();", selector)
        engine.press("Home", "PageDown")
        first = step_of(engine)
        assert first > 0, selector
        engine.press("ArrowRight")
        assert step_of(engine) == first + 1, selector
        engine.press("Home")
        assert step_of(engine) == 0, selector
    engine.click("#go-pass-on")
    assert step_of(engine) > 0
    engine.press(" ")
    assert engine.run("return document.getElementById('play').getAttribute('aria-pressed');") == "true"
    engine.press(" ")
    engine.click("#trace")
    assert step_of(engine) > 0
    engine.click("#look-beside")
    engine.press("2")
    assert "setting-2" in text_of(engine, "#program-name")


def test_a_refused_job_opens_at_what_stands_against_it(engine: Engine, pages: dict[str, Path]) -> None:
    engine.open(pages["refused"], *SIZES["phone"])
    assert "INTO the" in text_of(engine, ".letters")
    assert len(engine.run("return document.getElementById('overlap').getAttribute('d');")) > 10
    engine.open(pages["square"], *SIZES["phone"])
    assert "over corners 6.833 mm" in text_of(engine, ".letters")
