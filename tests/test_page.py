"""The page that steps through a job, as text: whole in itself, the same every time, and true to the simulation.

What it does in a browser is in test_view_browser.py.
"""

from __future__ import annotations

import base64
import hashlib
import html
import os
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from cam.geometry.path import Arc, Line, Point, point_at
from cam.ground.problem import Problem, Where
from cam.job import Job, make_job
from cam.job.view import _watch, view_given, view_job
from cam.judge.envelope import above_axis, height
from cam.judge.model import Moment
from cam.picture.page import draw_page, embed
from cam.picture.page_turning import path_data, share_on
from tests.page_case import data_of, heights
from tests.specimens import SAMPLES as FOLDER

ROOT = Path(__file__).parent.parent
SAMPLES = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin")
REFUSED = str(FOLDER / "too-near-the-centre.toml")


@pytest.fixture(scope="module")
def jobs() -> dict[str, Job]:
    return {name: make_job(str(FOLDER / f"{name}.toml")) for name in SAMPLES}


@pytest.fixture(scope="module")
def pages(jobs) -> dict[str, str]:
    return {**{name: view_job(job) for name, job in jobs.items()}, "refused": view_given(REFUSED)[0]}


class Elements(HTMLParser):
    """Every element with its attributes, and the text of each script and style."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        self.inside = tag
        if tag in ("script", "style"):
            self.texts.append((tag, ""))

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside in ("script", "style"):
            self.texts[-1] = (self.inside, self.texts[-1][1] + data)


# ---- the file ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*SAMPLES, "refused"])
def test_is_whole_in_itself_and_small(pages, name):
    page = pages[name]
    assert len(page.encode()) < 1_000_000
    assert page.startswith("<!doctype html>")
    for tag, given in Elements(page).found:
        assert tag not in ("link", "iframe", "img", "object", "embed", "base", "form")
        assert not {"src", "href", "style", "action"} & set(given), (tag, given)
        assert not any(key.startswith("on") for key in given), (tag, given)
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", page)


def test_the_policy_lets_in_these_two_texts_and_nothing_else(pages):
    """Published: W3C, Content Security Policy Level 3: a hash-source is base64 of the SHA-256 of an element's text."""
    elements = Elements(pages["crank-pin"])
    policy = next(a["content"] for t, a in elements.found if a.get("http-equiv") == "Content-Security-Policy")
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert set(rules) == {"default-src", "script-src", "style-src", "base-uri", "form-action"}
    style = next(text for tag, text in elements.texts if tag == "style")
    script = elements.texts[-1][1]
    for rule, text in (("style-src", style), ("script-src", script)):
        assert rules[rule] == f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@pytest.mark.slow
def test_same_input_gives_the_same_bytes_in_another_process(pages):
    code = "import sys; from cam.job.view import view_given; sys.stdout.write(view_given(sys.argv[1])[0])"
    given = [sys.executable, "-c", code, os.path.relpath(REFUSED, ROOT)]  # and from another path
    env = {**os.environ, "PYTHONHASHSEED": "7"}
    other = subprocess.run(given, cwd=ROOT, env=env, capture_output=True, text=True, check=True)
    assert other.stdout == pages["refused"]


HOSTILE = "</script><script>alert(1)</script><!-- & \"x' \x1b[31m \u202e \u2028 \x00 ${1} {{ 2 }} <img src=x onerror=y>"


def test_hostile_names_stay_text(jobs):
    part = replace(jobs["crank-pin"].part, name=HOSTILE)
    problem = Problem(where=Where(path=HOSTILE), what=HOSTILE, given=HOSTILE, fix=f"{HOSTILE}; or {HOSTILE}")
    page = draw_page(part, [], [problem])
    elements = Elements(page)
    assert [tag for tag, _ in elements.found].count("script") == 2
    assert not any(tag == "img" for tag, _ in elements.found)
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\u202e\u2028]", page)
    assert html.unescape(re.search(r"<h1[^>]*>(.*?)</h1>", page)[1]).startswith("</script><script>alert(1)</script>")
    data = data_of(page)
    assert data["name"].startswith("</script><script>")
    assert len(data["problems"][0]["fix"]) == 2


def test_data_cannot_end_its_element():
    assert not set(embed({"<!--": ["</script>", "]]>", "&amp;", "\u2028"]})) & set("<>&\u2028")


# ---- true to the simulation --------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_the_metal_after_every_motion_is_the_simulations(jobs, pages, name):
    """The page keeps only what each motion changes; put together again it is what was simulated, to 0.02 um."""
    job, data = jobs[name], data_of(pages[name])
    for number, (work, view) in enumerate(zip(job.works, data["views"], strict=False)):
        moments = _watch(job, work, job.works[number - 1] if number else None)
        changes = {c[0]: c for c in view["changes"]}
        pieces, end = view["metal"]["pieces"], view["metal"]["end"]
        for moment in moments:
            if moment.number in changes:
                _, start, count, new = changes[moment.number]
                pieces = [*pieces[:start], *new, *pieces[start + count :]]
            true = above_axis(moment.metal)
            assert len(pieces) == len(true)
            for piece in true:
                for share in (0.02, 0.5, 0.98):
                    z = piece[0] + share * (piece[1] - piece[0])
                    if piece[1] - piece[0] > 0.01:
                        assert heights(pieces, end, z) == pytest.approx(height(piece, z), abs=2e-5)
        assert isinstance(moments[-1], Moment)
        assert moments[-1].number == len(work.program.motions)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_nearest_of_the_page_is_the_nearest_of_the_simulation(jobs, pages, name):
    for work, view in zip(jobs[name].works, data_of(pages[name])["views"], strict=False):
        near = [row for row in view["near"] if row]
        fixed, closest = work.simulation.closest_fixed, work.simulation.closest
        assert min(row[0] for row in near if row[0] is not None) == pytest.approx(fixed.distance, abs=1e-5)
        everything = [v for row in near for v in (row[0], row[4] if len(row) > 4 else None) if v is not None]
        assert min(everything) == pytest.approx(closest.distance, abs=1e-5)
        assert view["fixed"]["distance"] == pytest.approx(fixed.distance, abs=1e-5)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_text_is_the_programs_own_line_for_line(jobs, pages, name):
    for work, view in zip(jobs[name].works, data_of(pages[name])["views"], strict=False):
        assert view["lines"] == work.text.splitlines()
        assert [m[0] for m in view["motions"]] == [m.line for m in work.program.motions]


def test_a_refused_plan_has_its_hit_and_a_judged_setting_for_each_way_out(pages):
    data = data_of(pages["refused"])
    problem = data["problems"][0]
    first = data["views"][0]
    assert first["findings"][0]["kind"] == "contact"
    assert first["findings"][0]["amount"] > 0.1
    assert re.search(r"no room to start .* 0\.371 mm too little", problem["what"])
    after = {v["fixes"]: v for v in data["views"] if v["fixes"]}
    assert list(after) == problem["fix"]
    assert len(after) == 4
    for view in after.values():
        assert not view["findings"]
        assert view["fixed"]["distance"] >= view["clearance"] - 1e-9
        assert view["number"] == 1


def test_shares_and_paths_of_arcs():
    arc = Arc(Point(0, 1), Point(1, 2), Point(0, 2), 1)
    for share in (0.0, 0.25, 0.5, 1.0):
        assert share_on(arc, point_at(arc, share)) == pytest.approx(share)
    line = Line(Point(0, 1), Point(4, 1))
    assert share_on(line, Point(1, 5)) == pytest.approx(0.25)
    # SVG's sweep flag 0 turns counter-clockwise on the screen, as the half-section does
    assert path_data((arc,)) == "M0 -1A1 1 0 0 0 1 -2"
    assert path_data((line, Line(Point(4, 1), Point(4, 0))), close=True) == "M0 -1L4 -1L4 0Z"
