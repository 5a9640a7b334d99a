"""The page in a real browser: it draws what was simulated, every way to a block works, and it asks for nothing.

Chromium as Debian has it, without a window, one for all tests. Skipped where there is none; .ci/run installs it.
"""

from __future__ import annotations

import math
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from cam.ground.units import show_length
from cam.job import Job, draw_job, make_job, rules_of, say_approach
from cam.job.make import stock_after
from cam.job.view import view_given, view_job
from cam.judge import simulate
from cam.judge.envelope import Metal, from_chain
from cam.judge.fixes import describe_findings
from cam.judge.mill import radius_at, simulate_mill
from cam.picture.mill_scene import cutters_in
from cam.rs274 import read_program
from tests.page_case import data_of, heights, pieces_of
from tests.specimens import SAMPLES as FOLDER
from tests.specimens import some
from tests.test_page import HOSTILE, REFUSED, SAMPLES

PATIENCE = 120
"""Seconds after which what was waited for will not come; only a fault comes to that, on a busy machine too."""

DESK = {"width": 1400, "height": 900}
PHONE = {"width": 390, "height": 844}
SMALL = {"width": 320, "height": 568}


@pytest.fixture(scope="module")
def jobs() -> dict[str, Job]:
    return {name: make_job(str(FOLDER / f"{name}.toml")) for name in SAMPLES}


@pytest.fixture(scope="module")
def pages(jobs, tmp_path_factory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    texts = {**{name: view_job(job) for name, job in jobs.items()}, "refused": view_given(REFUSED)[0]}
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in texts}


@pytest.fixture
def opened(browser) -> Iterator[Callable[..., Any]]:
    """Opens a file; whatever goes wrong in it, and anything that it asks for, fails the test in the end."""
    faults: list[str] = []
    contexts = []

    def open_file(path: Path, place: str = "", size: dict[str, int] = DESK, **more: Any) -> Any:
        context = browser.new_context(viewport=size, reduced_motion=more.pop("reduced_motion", "reduce"), **more)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(1000 * PATIENCE)
        page.on("console", lambda said: faults.append(said.text))
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("dialog", lambda dialog: faults.append(dialog.message))
        page.on("request", lambda asked: faults.append(asked.url) if asked.url.split("#")[0] != path.as_uri() else None)
        page.goto(f"{path.as_uri()}{place}")
        return page

    yield open_file
    for context in contexts:
        context.close()
    assert not faults


def line_of(page: Any) -> int:
    """The line of the text that is marked as the block in hand; 0 where none is."""
    return int(page.evaluate("(document.querySelector('#text [aria-selected=true]')?.id ?? 'line-0').slice(5)"))


def step_of(page: Any) -> int:
    return int(page.input_value("#slider"))


def metal_of(page: Any) -> tuple[list[list[float]], float]:
    return pieces_of(page.get_attribute("#metal", "d"))


def tip_of(page: Any) -> tuple[float, float]:
    place = page.evaluate("document.querySelector('.tool[visibility=visible]').getAttribute('transform')")
    z, y = re.fullmatch(r"translate\((\S+) (\S+)\)", place).groups()
    return float(z), -float(y)


def same_outline(drawn: tuple[list[list[float]], float], metal: Metal) -> bool:
    """Whether heights agree to 0.1 um in the middle and beside the ends of every piece of both."""
    pieces, end = drawn
    starts = sorted({*(p[0] for p in pieces), *metal.starts, end})
    wide = [(a, b) for a, b in pairwise(starts) if b - a > 2e-3]
    places = [a + share * (b - a) for a, b in wide for share in (0.1, 0.5, 0.9)]
    assert len(places) > 6
    return all(abs(heights(pieces, end, z) - metal.at(z)) < 1e-4 for z in places if metal.starts[0] < z < metal.end)


def wait_for(there: Callable[[], bool]) -> None:
    """Wait until something is so; the page lets no one evaluate texts in it, so it is asked from here."""
    end = time.monotonic() + PATIENCE
    while not there():
        assert time.monotonic() < end, "it never came to that"
        time.sleep(0.03)


# ---- what is drawn is what was simulated -------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("name", some(SAMPLES, "orrery-drum-arbor"))
def test_steps_to_the_end_and_draws_what_the_simulation_left(jobs, pages, opened, name):
    page = opened(pages[name])
    for number, work in enumerate(jobs[name].works, start=1):
        page.keyboard.press(str(number))
        page.keyboard.press("End")
        assert step_of(page) == int(page.get_attribute("#slider", "max"))
        assert same_outline(metal_of(page), Metal(from_chain(work.simulation.result)))
        page.keyboard.press("Home")
        assert step_of(page) == 0
        assert page.inner_text("#now-does").startswith("Before the program")


@pytest.mark.slow
@pytest.mark.parametrize("name", some(SAMPLES, "orrery-drum-arbor"))
def test_after_any_block_the_metal_is_what_the_text_up_to_there_leaves(jobs, pages, opened, name):
    """The text cut short after a block and simulated anew leaves what the page draws after that block."""
    job = jobs[name]
    page = opened(pages[name])
    for number, work in enumerate(job.works, start=1):
        page.keyboard.press(str(number))
        cuts = [k for k, m in enumerate(work.program.motions) if m.kind in ("line", "arc")]
        stock = stock_after(job.works[number - 2] if number > 1 else None, work.setting, job.part)
        for k in cuts[len(cuts) // 7 :: len(cuts) // 4]:
            motion = work.program.motions[k]
            page.click(f"#line-{motion.line}")
            assert line_of(page) == motion.line
            assert tip_of(page) == pytest.approx((motion.end.z, motion.end.x), abs=1e-5)
            short = replace(work.program, motions=work.program.motions[: k + 1])
            seen: list[Any] = []
            simulate(short, work.setting, job.shop, stock=stock, watch=seen.append)
            assert same_outline(metal_of(page), Metal(seen[-2].metal))


def outlines_of(page: Any) -> list[list[tuple[float, float]]]:
    """The polygons of the mill's drawing: the work from the side, and end-on."""
    parts = page.get_attribute("#metal", "d").split("M")[1:]
    places = [[corner.split(" ") for corner in part.rstrip("Z").split("L")] for part in parts]
    return [[(float(x), -float(y)) for x, y in corners] for corners in places]


@pytest.mark.slow
@pytest.mark.parametrize("way", ["tipped block", "ramped", "rotary axis"])
def test_square_and_cross_hole_are_drawn_as_the_judge_of_the_mill_has_them(tmp_path, opened, way):
    """From the side and end-on, in the end and after blocks on the way, against cam.mill's own floor: to 0.1 um."""
    shop = (FOLDER / "shop.toml").read_text(encoding="utf-8").replace('"tipped block"', f'"{way}"')
    if way == "rotary axis":
        shop = re.sub(r"\[mill\.vice\].*?(?=\n\[)", "", shop, flags=re.S)
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    job = make_job(str(FOLDER / "orrery-drum-arbor.toml"), str(tmp_path / "shop.toml"))
    path = tmp_path / "page.html"
    path.write_text(view_job(job), encoding="utf-8")
    views = {v["key"]: v for v in data_of(path.read_text(encoding="utf-8"))["views"]}
    page = opened(path)
    for number, work in enumerate(job.mill.works, start=len(job.works) + 1):
        page.keyboard.press(str(number))
        view, wanted, motions = views[work.name], work.plan.work, work.program.motions
        assert view["lines"] == work.text.splitlines()
        cuts = [k for k, m in enumerate(motions) if m.kind == "line"]
        for k in (cuts[len(cuts) // 3], cuts[2 * len(cuts) // 3], cuts[-1]):
            blocks = [m.line for m in motions]
            last = max(n for n, line in enumerate(blocks) if line == motions[k].line)
            page.click(f"#line-{motions[k].line}")
            short = replace(work.program, motions=motions[: last + 1])
            faces = simulate_mill(short, wanted, tuple(cutters_in(work).values())).faces
            angle, (side, end_on) = view["angles"][last], outlines_of(page)
            for n, place in enumerate(end_on):
                radius = radius_at(faces, wanted, view["work"]["station"], n / 2)
                assert math.dist(place, (view["end_on"], 0)) == pytest.approx(radius, abs=1e-4)
            assert len(end_on) == 720
            for place in side[: len(side) // 2 : 7]:
                frame, along = wanted.frame, place[0] - wanted.frame.about
                x = frame.about + along * frame.cos + place[1] * frame.sin
                z = place[1] * frame.cos - along * frame.sin
                near = [radius_at(faces, wanted, x + step, angle) for step in (-2e-5, 0, 2e-5)]
                assert min(near) - 1e-4 <= z <= max(near) + 1e-4
        assert "clears" in page.inner_text("#verdict")


@pytest.mark.slow
def test_where_it_comes_nearest_the_script_measures_what_the_simulation_did(jobs, pages, opened):
    """The script's own distance of convex bodies, at the place that the simulation found, against the simulation's."""
    for name in SAMPLES:
        work = jobs[name].works[0]
        page = opened(pages[name])
        page.click("#unit-mm")
        for near in (work.simulation.closest, work.simulation.closest_fixed):
            page.keyboard.press("n")
            assert line_of(page) == near.line
            assert tip_of(page) == pytest.approx((near.tip.z, near.tip.x), abs=2e-4)
            drawn = re.fullmatch(r"M(\S+) (\S+)L(\S+) (\S+)", page.get_attribute(".near-line", "d"))
            a, b, c, d = map(float, drawn.groups())
            assert math.hypot(c - a, d - b) == pytest.approx(near.distance, abs=2e-4)
            assert page.inner_html(".letters .near-text >> nth=-1") == f"{near.distance:.3f} mm"
            assert f"{near.distance:.3f} mm from the {near.obstacle}" in page.inner_text("#now-facts")


# ---- every way to a block ----------------------------------------------------------------------------


@pytest.mark.slow
def test_a_click_in_the_text_goes_there_and_a_remark_to_the_block_after_it(jobs, pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    lines = jobs["orrery-drum-arbor"].works[0].text.splitlines()
    stop = lines.index("M0") + 1
    page.click(f"#line-{stop - 1}")
    assert line_of(page) == stop
    assert "STOPS" in page.inner_text("#now-does")
    assert "PROVE X" in page.inner_text("#now-remarks")


@pytest.mark.slow
def test_a_click_on_a_path_goes_to_its_block_and_the_text_follows(jobs, pages, opened):
    work = jobs["orrery-drum-arbor"].works[0]
    page = opened(pages["orrery-drum-arbor"])
    long = max((m for m in work.program.motions if m.kind == "line"), key=lambda m: abs(m.end.z - m.start.z))
    nose = float(next(t for t in jobs["orrery-drum-arbor"].shop.tools if t.number == long.tool).nose_radius)
    z, x = 0.7 * long.start.z + 0.3 * long.end.z + nose, long.end.x + nose
    place = page.evaluate(
        """([z, x]) => { const ways = document.getElementById('figure').getScreenCTM();
        const p = new DOMPoint(z, -x).matrixTransform(ways); return [p.x, p.y]; }""",
        [z, x],
    )
    found = set()
    for _ in range(12):  # passes lie over one another: each click takes the next
        page.mouse.click(*place)
        found.add(line_of(page))
        assert abs(tip_of(page)[1] - long.end.x) < 1.5
    assert long.line in found
    row = page.evaluate(f"document.getElementById('line-{line_of(page)}').getBoundingClientRect().toJSON()")
    box = page.evaluate("document.getElementById('text').getBoundingClientRect().toJSON()")
    assert box["top"] <= row["top"] <= row["bottom"] <= box["bottom"] + 1


@pytest.mark.slow
def test_a_click_on_the_trace_goes_to_the_nearest_place_of_that_block(pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    view = data_of(pages["orrery-drum-arbor"].read_text(encoding="utf-8"))["views"][0]
    box = page.evaluate("document.getElementById('trace').getBoundingClientRect().toJSON()")
    for share in (0.31, 0.62, 0.9):
        page.mouse.click(box["left"] + share * box["width"], box["top"] + 20)
        line, step = line_of(page), step_of(page)
        blocks = int(page.get_attribute("#slider", "max"))
        assert abs(step / blocks - (share * box["width"] - 52) / (box["width"] - 60)) < 1 / blocks
        near = [row for m, row in zip(view["motions"], view["near"], strict=True) if m[0] == line and row]
        fixed = [row[0] for row in near if row[0] is not None]
        if fixed:
            assert f"{min(fixed):.3f} mm" in page.inner_text("#now-facts")


@pytest.mark.slow
def test_by_keys_alone(pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    press = page.keyboard.press
    for key, step in (("ArrowRight", 1), ("ArrowRight", 2), ("ArrowLeft", 1), ("Home", 0)):
        press(key)
        assert step_of(page) == step
    press("PageDown")
    assert "pass 1 of" in page.inner_text("#now-where")
    press("PageDown")
    assert "pass 2 of" in page.inner_text("#now-where")
    press("PageUp")
    assert "pass 1 of" in page.inner_text("#now-where")
    window = page.get_attribute("#figure", "viewBox")
    for key in ("+", "Shift+ArrowLeft", "-", "c", "t", "w"):
        press(key)
        assert page.get_attribute("#figure", "viewBox") != window
        window = page.get_attribute("#figure", "viewBox")
    press("u")
    assert " in" in page.inner_text("#now-facts")
    press("u")
    press("d")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(18, 25, 30)"
    press("?")
    assert page.is_visible("#keys")
    page.uncheck("#keys")
    step = step_of(page)
    press("n")
    assert step_of(page) == step


@pytest.mark.slow
def test_everything_is_reached_by_tab_and_works_from_there(pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.id || document.activeElement.textContent")
        if name in reached:
            break
        reached.append(name)
        if name == "go-on":
            page.keyboard.press("Enter")
            assert step_of(page) == 1
        if name == "text":
            page.keyboard.press("ArrowDown")
            assert step_of(page) == 2
            assert page.get_attribute("#text", "aria-activedescendant") == f"line-{line_of(page)}"
    wanted = {"setting 1", "unit-mm", "theme", "look-whole", "slider", "play", "go-on", "go-nearest", "speed", "text"}
    assert wanted <= set(reached)


@pytest.mark.slow
def test_playing_goes_by_whole_blocks_where_less_motion_is_wished_and_moves_where_it_is_not(pages, opened):
    page = opened(pages["crank-pin"], "#1/20")
    page.keyboard.press(" ")
    assert page.inner_text("#play") == "stop"
    wait_for(lambda: step_of(page) >= 21)
    page.keyboard.press(" ")
    assert page.inner_text("#play") == "play"
    page = opened(pages["crank-pin"], "#1/20", reduced_motion="no-preference")
    page.keyboard.press("End")
    page.keyboard.press(" ")  # from the end it begins anew, and at this speed takes minutes to come there again
    wait_for(lambda: 0 < step_of(page) < 140)
    page.keyboard.press(" ")


# ---- who cannot see it, or not well ------------------------------------------------------------------


@pytest.mark.slow
def test_a_screen_reader_is_told_the_block_what_it_does_and_what_is_near(jobs, pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    near = jobs["orrery-drum-arbor"].works[0].simulation.closest
    page.keyboard.press("n")
    spoken = page.inner_text("#spoken")
    assert f"Line {near.line}." in spoken
    assert f"{near.body} {near.distance:.3f} mm from the {near.obstacle}" in spoken
    assert page.get_attribute("#spoken", "aria-live") == "polite"
    assert f"line {near.line}" in page.get_attribute("#slider", "aria-valuetext")
    assert page.evaluate(
        """() => { const names = [...document.querySelectorAll('[id]')].map((e) => e.id);
        const kinds = ['aria-labelledby', 'aria-controls', 'aria-activedescendant'];
        const asked = kinds.flatMap((kind) => [...document.querySelectorAll(`[${kind}]`)]
          .flatMap((e) => e.getAttribute(kind).split(' ')));
        return asked.length > 4 && new Set(names).size === names.length && asked.every((id) => names.includes(id)); }"""
    )
    unnamed = page.evaluate(
        """[...document.querySelectorAll('button, select, input, [role=listbox], svg[role=img]')].filter((e) =>
        !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels?.length)).map((e) => e.outerHTML)"""
    )
    assert unnamed == []


PAIRS = [("--ink", "--sheet"), ("--ink", "--panel"), ("--soft", "--sheet"), ("--soft", "--panel"), ("--hit", "--panel"),
         ("--hit", "--hit-soft"), ("--near", "--panel"), ("--on-mark", "--mark"), ("--ink", "--mark-soft"),
         ("--soft", "--mark-soft"), ("--soft", "--hit-soft"), ("--ink", "--hit-soft")]  # fmt: skip


SIGNS = ("--cut", "--rapid", "--work-edge", "--solid-edge", "--nose-edge", "--near")


def luminance(colour: str) -> float:
    """Published: W3C, Web Content Accessibility Guidelines 2.2, definition of relative luminance."""
    shares = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_letters_stand_out_from_what_is_behind_them(pages, opened, theme):
    """Published: WCAG 2.2, success criterion 1.4.3: 4.5 to 1; and 1.4.11: 3 to 1 for what carries meaning."""
    page = opened(pages["crank-pin"], color_scheme=theme)
    value = {
        name: page.evaluate(f"getComputedStyle(document.documentElement).getPropertyValue('{name}').trim()")
        for name in {*SIGNS, *(n for pair in PAIRS for n in pair)}
    }

    def contrast(a: str, b: str) -> float:
        low, high = sorted((luminance(value[a]), luminance(value[b])))
        return (high + 0.05) / (low + 0.05)

    for pair in PAIRS:
        assert contrast(*pair) >= 4.5, pair
    for name in SIGNS:
        assert contrast(name, "--panel") >= 3.0, name


@pytest.mark.slow
@pytest.mark.parametrize("size", [PHONE, SMALL], ids=["phone", "small"])
@pytest.mark.parametrize("name", ["orrery-drum-arbor", "moon-carriage-spindle", "refused"])
def test_a_phone_shows_all_of_its_width_and_fingers_fit(pages, opened, size, name):
    page = opened(pages[name], size=size, has_touch=True, is_mobile=True)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    small = page.evaluate(
        """[...document.querySelectorAll('button, select')].filter((e) => e.offsetHeight < 44 || e.offsetWidth < 40)
        .map((e) => [e.id, e.offsetWidth, e.offsetHeight])"""
    )
    assert small == []
    cut = "[...document.querySelectorAll('button')].filter((e) => e.scrollWidth > e.clientWidth).map((e) => e.id)"
    assert page.evaluate(cut) == []
    page.tap("#go-on")
    page.tap("#go-pass-on")
    assert line_of(page) > 0
    page.tap("#trace")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.slow
def test_inches_are_the_same_lengths(pages, opened):
    page = opened(pages["crank-pin"], "#1/100")
    wanted = [float(v) for v in re.findall(r"(-?\d+\.\d+) mm", page.inner_text("#now-facts"))]
    page.click("#unit-in")
    shown = [float(v) for v in re.findall(r"(-?\d+\.\d+) in\b", page.inner_text("#now-facts"))]
    assert len(wanted) >= 3
    assert shown == pytest.approx([v / 25.4 for v in wanted], abs=8e-5)
    page.reload()
    assert " in" in page.inner_text("#now-facts")


@pytest.mark.slow
def test_what_is_chosen_for_one_part_is_not_chosen_for_another(pages, opened):
    page = opened(pages["crank-pin"], "#1/100")
    page.click("#unit-in")
    page.select_option("#theme", "dark")
    text = pages["refused"].read_text(encoding="utf-8")
    other = pages["crank-pin"].with_name("other")
    other.mkdir()
    (other / "page.html").write_text(text, encoding="utf-8")
    second = page.context.new_page()
    second.goto((other / "page.html").as_uri())
    assert second.get_attribute("#unit-mm", "aria-pressed") == "true"
    assert second.input_value("#theme") == "dark"  # but eyes are the same


# ---- what is refused, and what is hostile ------------------------------------------------------------


@pytest.mark.slow
def test_a_refused_plan_opens_at_the_contact_and_shows_each_way_out(pages, opened):
    page = opened(pages["refused"])
    data = data_of(pages["refused"].read_text(encoding="utf-8"))
    worst = data["views"][0]["findings"][0]
    assert "may NOT be cut" in page.inner_text("#verdict")
    assert line_of(page) == worst["line"]
    assert tip_of(page) == pytest.approx(tuple(worst["tip"]), abs=1e-4)
    left, top, width, height = map(float, page.get_attribute("#figure", "viewBox").split())
    assert left < worst["at"][0] < left + width
    assert top < -worst["at"][1] < top + height
    assert width < 40
    zs = [float(z) for z in re.findall(r"[ML](\S+) ", page.get_attribute("#overlap", "d"))]
    assert max(zs) - min(zs) == pytest.approx(worst["amount"], abs=1e-4)
    assert f"{worst['amount']:.3f} mm into the {worst['obstacle']}" in page.inner_text("#now-facts")
    for way in data["problems"][0]["fix"]:
        page.click(f'#why button:has-text("{way.split(chr(34))[-1].strip()}")')
        assert page.get_attribute("#overlap", "d") == ""
        assert "found clear" in page.inner_text("#why .note")
        assert "INTO" not in page.inner_text("#now-facts")
    page.click("#tabs button >> nth=0")
    assert line_of(page) == worst["line"]


@pytest.fixture(scope="module")
def damaged(jobs, tmp_path_factory) -> tuple[Path, Any]:
    """A program that was changed by hand: fed on into the carrier, and further on a line that breaks the standard."""
    job = jobs["orrery-drum-arbor"]
    work = job.works[0]
    lines = work.text.splitlines()
    first = next(k for k, line in enumerate(lines) if re.match(r"G1 Z-\d", line))
    lines[first] = "G1 Z-75.0 F36.0"
    lines[lines.index("M5", first)] = "M5 M3"
    text = "\n".join(lines) + "\n"
    program = read_program(text, rules_of(job.dialect, job.shop), work.file)
    simulation = simulate(program, work.setting, job.shop, stops=True)
    problems = (*program.problems, *describe_findings(simulation.findings, text, work.file))
    changed = replace(work, text=text, program=program, simulation=simulation, problems=problems)
    path = tmp_path_factory.mktemp("damaged") / "damaged.html"
    path.write_text(view_job(replace(job, works=(changed,), mill=None)), encoding="utf-8")
    return path, changed


@pytest.mark.slow
def test_a_program_changed_by_hand_opens_at_its_worst_and_leads_to_each_line(damaged, opened):
    path, work = damaged
    page = opened(path)
    worst = max((f for f in work.simulation.findings if f.kind == "contact"), key=lambda f: f.amount)
    assert line_of(page) == worst.line
    assert page.get_attribute("#overlap", "d") != ""
    assert "into the carrier" in page.inner_text("#now-facts")
    broken = work.program.problems[0].where.line
    page.click(f"#why dd button:has-text('setting-1.ngc:{broken}:') >> nth=0")
    assert line_of(page) == broken
    assert page.inner_text("#now-does").startswith("Not checked")
    assert "unread" in page.get_attribute(f"#line-{broken}", "class")
    step = step_of(page)
    page.keyboard.press("ArrowRight")  # what follows can be read, and nothing in it moves
    assert step_of(page) == step + 1
    page.keyboard.press("n")
    assert line_of(page) in {f.line for f in work.simulation.findings}


def test_nothing_hostile_in_a_name_is_run(jobs, tmp_path, opened):
    job = jobs["crank-pin"]
    name = HOSTILE.replace("\x00", "")
    sections = tuple(replace(s, name=f"{name} {s.name}") for s in job.part.sections)
    plan = replace(job.plan, part=replace(job.part, name=name, sections=sections))
    path = tmp_path / "hostile.html"
    path.write_text(view_job(replace(job, plan=plan)), encoding="utf-8")
    page = opened(path)
    page.keyboard.press("End")
    assert page.inner_text("#name").startswith("</script><script>alert(1)</script>")
    assert page.evaluate("document.images.length + document.scripts.length") == 2


def test_the_page_may_ask_for_nothing(browser, pages):
    context = browser.new_context()
    page = context.new_page()
    page.goto(pages["crank-pin"].as_uri())
    refused = page.evaluate(
        """() => new Promise((tell) => {
          const found = [];
          document.addEventListener('securitypolicyviolation', (e) => {
            found.push(e.effectiveDirective);
            if (found.length === 3) tell(found.sort());
          });
          new Image().src = 'data:image/gif;base64,R0lGODlhAQABAAAAACw=';
          fetch('data:text/plain,x').catch(() => 0);
          const script = document.createElement('script');
          script.textContent = 'window.ran = 1';
          document.head.append(script);
        })"""
    )
    assert refused == ["connect-src", "img-src", "script-src-elem"]
    assert page.evaluate("window.ran === undefined")
    context.close()


@pytest.mark.slow
def test_the_address_keeps_the_place(pages, opened):
    page = opened(pages["moon-carriage-spindle"], "#2/40")
    assert step_of(page) == 40
    assert page.get_attribute("#tabs button >> nth=1", "aria-selected") == "true"
    page.keyboard.press("ArrowRight")
    wait_for(lambda: page.evaluate("location.hash") == "#2/41")


@pytest.mark.slow
def test_the_page_says_which_tools_had_no_body(opened, tmp_path):
    shop = (FOLDER / "shop.toml").read_text(encoding="utf-8")
    knife = shop[shop.index("[[tool]]\nnumber = 1") : shop.index("[[tool]]\nnumber = 2")]
    bare = knife.split("[[tool.outline]]")[0] + 'outline = "tip only"\n\n'
    (tmp_path / "shop.toml").write_text(shop.replace(knife, bare), encoding="utf-8")
    text, problems = view_given(str(FOLDER / "crank-pin.toml"), str(tmp_path / "shop.toml"))
    assert not problems
    (tmp_path / "pin.html").write_text(text, encoding="utf-8")
    page = opened(tmp_path / "pin.html")
    words = "tool 1 tip only: holder and post not checked"
    assert page.inner_text("#verdict").startswith("clears what was checked: ")
    assert page.inner_text("#verdict").endswith(f"; {words}")
    assert words in page.inner_text("#now-facts")


# ---- at the machine -----------------------------------------------------------------------------------


@pytest.mark.slow
def test_at_a_phone_the_words_of_a_stop_stand_in_sight_above_the_buttons(pages, jobs, opened):
    page = opened(pages["crank-pin"], size={"width": 375, "height": 667}, has_touch=True, is_mobile=True)
    rows = jobs["crank-pin"].works[0].text.splitlines()
    stops = [k for k, row in enumerate(rows, start=1) if row == "M0"]
    for line in stops:
        page.tap("#go-stop")
        assert line_of(page) == line
        shown = re.sub(r"^\(MSG, |\)$", "", rows[line - 2])
        assert page.inner_text("#stop-words") == f"STOP: {shown}"
        words, buttons = (page.locator(s).bounding_box() for s in ("#stop-words", "#play"))
        assert 0 < words["y"] < words["y"] + words["height"] <= buttons["y"] + 1
        assert buttons["y"] + buttons["height"] <= 667
        left = page.locator("#time-left").bounding_box()
        assert page.inner_text("#time-left").startswith("time left ")
        assert words["y"] < left["y"] < left["y"] + left["height"] <= buttons["y"] + 1
    page.keyboard.press("Home")
    assert page.inner_text("#stop-words").startswith(f"next stop in 0.0 s, line {stops[0]}: PROVE X")
    page.keyboard.press("End")
    assert page.inner_text("#stop-words") == "no stop before the end"


@pytest.mark.slow
def test_a_line_or_an_n_number_is_gone_to_and_nothing_else(pages, jobs, opened):
    page = opened(pages["crank-pin"])
    rows = jobs["crank-pin"].works[0].text.splitlines()
    for said, line in (("N700", next(k for k, r in enumerate(rows, 1) if r.startswith("N700 "))), ("n0100", None)):
        page.fill("#go-to", said)
        page.press("#go-to", "Enter")
        assert line_of(page) == (line or next(k for k, r in enumerate(rows, 1) if r.startswith("N100 ")))
    line = next(k for k, row in enumerate(rows, start=1) if row.startswith("G2 "))
    page.fill("#go-to", str(line))
    page.press("#go-to", "Enter")
    assert line_of(page) == line
    for wrong in ("N70", "99999", "0", "x(", ""):
        page.fill("#go-to", wrong)
        page.press("#go-to", "Enter")
        assert (line_of(page), page.get_attribute("#go-to", "aria-invalid")) == (line, "true")


@pytest.mark.slow
def test_an_address_that_is_edited_is_gone_to(pages, opened):
    page = opened(pages["moon-carriage-spindle"], "#1/150")
    assert step_of(page) == 150
    page.evaluate("location.hash = '#2/40'")
    wait_for(lambda: step_of(page) == 40)
    assert page.get_attribute("#tabs button >> nth=1", "aria-selected") == "true"
    page.evaluate("location.hash = '#2/41'")
    wait_for(lambda: step_of(page) == 41)
    assert page.inner_text("#no-such") == ""
    page.evaluate("location.hash = '#7/3'")
    wait_for(lambda: page.inner_text("#no-such") == "This page has no #7/3: setting 1, block 3, is shown.")
    page.keyboard.press("ArrowRight")
    assert page.inner_text("#no-such") == ""
    page.evaluate("location.hash = '#2/99999'")
    wait_for(lambda: page.inner_text("#no-such").startswith("This page has no #2/99999: setting 2, block "))


@pytest.mark.slow
def test_the_nearest_is_that_of_the_setting_shown_and_the_jobs_is_called_so(pages, jobs, opened):
    page = opened(pages["orrery-drum-arbor"])
    views = data_of(pages["orrery-drum-arbor"].read_text(encoding="utf-8"))["views"]
    near = {v["title"]: v["closest"] or v["fixed"] for v in views}
    least = min(near, key=lambda title: near[title]["distance"])
    for k, view in enumerate(views):
        page.click(f"#tabs button >> nth={k}")
        said = page.inner_text("#verdict")
        assert f"{near[view['title']]['distance']:.3f} mm" in said.split(";")[0]
        assert f"in {view['title']}" in said.split(";")[0]
        assert ("in the whole job" in said) == (view["title"] != least)
    left = re.search(r"(\S.*) gone, (.*) left of (.*), stops", page.inner_text("#now-facts"))
    assert left is not None


# ---- letters, one screen, keys -----------------------------------------------------------------------

SQUARE = str(FOLDER / "square-too-large.toml")
BOXES = """(selector) => [...document.querySelectorAll(selector)].filter((e) => e.getClientRects().length).map((e) => {
  const b = e.getBoundingClientRect();
  return [e.id || e.textContent, b.left, b.top, b.right, b.bottom];
})"""


def clash(one: list[Any], other: list[Any]) -> bool:
    """Whether two boxes have more than a pixel in common both ways: hairlines and what hangs below letters may."""
    across = min(one[3], other[3]) - max(one[1], other[1])
    down = min(one[4], other[4]) - max(one[2], other[2])
    return across > 1 and down > 4


@pytest.mark.slow
@pytest.mark.parametrize("size", [pytest.param(DESK, id="desk"), pytest.param(PHONE, id="phone")])
def test_no_label_of_the_drawing_lies_on_another_or_under_a_button(pages, opened, size):
    """And at first the work fills half of the drawing's width."""
    for name in (*SAMPLES, "refused") if size is DESK else ("moon-carriage-spindle", "refused"):
        page = opened(pages[name], size=size)
        if name != "refused":  # that one opens at what it hits
            drawing = page.locator("#figure").bounding_box()["width"]
            assert page.locator("#metal").bounding_box()["width"] >= 0.5 * drawing, name
        for key in ("Home", "n", "t", "w", "c", "+", "End", "2", "n", "3", "w", "n"):
            page.keyboard.press(key)
            letters = page.evaluate(BOXES, ".letters text")
            buttons = page.evaluate(BOXES, "#looks button")
            for k, one in enumerate(letters):
                assert not any(clash(one, other) for other in (*letters[k + 1 :], *buttons)), (name, key, one)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["orrery-drum-arbor", "refused"])
def test_a_phone_has_the_drawing_in_its_upper_half_and_nothing_over_anything(pages, opened, name):
    page = opened(pages[name], size=PHONE, has_touch=True, is_mobile=True)
    for scrolled in (0, 200, 5000):
        page.evaluate("(y) => { document.getElementById('side').scrollTop = y; window.scrollTo(0, y); }", scrolled)
        figure = page.locator("#figure").bounding_box()
        assert figure["y"] >= 0
        assert figure["height"] >= 200
        assert figure["y"] + figure["height"] <= PHONE["height"] / 2
        rooms = page.evaluate(BOXES, "#head, #figure, #looks, #transport, #slider, #side, #trace, footer")
        rooms = [room for room in rooms if room[0] != "trace"] + [r for r in rooms if r[0] == "trace"]
        inside = {("side", "trace"), ("trace", "side")}
        for k, one in enumerate(rooms):
            for other in rooms[k + 1 :]:
                assert (one[0], other[0]) in inside or not clash(one, other), (one, other)
        words = page.evaluate(BOXES, "#stop-words")[0]
        buttons = page.evaluate(BOXES, "#transport button, #transport select, #transport input")
        assert not any(clash(words, button) for button in buttons)
        assert all(button[4] <= PHONE["height"] for button in buttons)


@pytest.mark.slow
def test_the_nearest_is_one_number_in_make_plot_and_view(jobs, pages, opened):
    for name in SAMPLES[:2]:  # in mm and in inches
        job = jobs[name]
        work, near = job.closest
        shown = show_length(near.distance, job.part.unit, 4 if job.part.unit == "in" else 3)
        assert shown in say_approach(near, job.part.unit, ())  # what make says
        assert f">clears by {shown}<" in draw_job(job)
        page = opened(pages[name])
        page.keyboard.press(str(work.setting.number))
        assert f"{shown} from the {near.obstacle} at the nearest" in page.inner_text("#verdict")


@pytest.mark.slow
def test_keys_work_whatever_has_the_focus(pages, opened):
    page = opened(pages["orrery-drum-arbor"])
    page.click("summary")
    kinds = ("#tabs button", "#play", "#look-in", "#speed", "#theme", "#go-to", "#slider", "#keys", "summary", "#text")
    for selector in kinds:
        page.focus(selector)
        page.keyboard.press("PageDown")
        first = step_of(page)
        assert first > 0, selector
        if selector != "#tabs button":
            page.keyboard.press("ArrowRight")
            assert step_of(page) == first + 1, selector
        page.keyboard.press("s")
        assert step_of(page) > first, selector
        page.keyboard.press("Home")
        assert step_of(page) == 0, selector
    page.select_option("#speed", "60")
    page.fill("#go-to", "N700")
    page.press("#go-to", "Enter")
    page.keyboard.press("Home")  # the field has let go of the keys
    assert step_of(page) == 0
    page.click("#go-on")
    page.keyboard.press(" ")  # a button that was clicked does not keep Space to itself
    assert page.get_attribute("#play", "aria-pressed") == "true"


@pytest.mark.slow
def test_a_refused_square_is_shown_as_it_was_asked_for(tmp_path, opened):
    text, problems = view_given(SQUARE)
    (tmp_path / "square.html").write_text(text, encoding="utf-8")
    assert problems
    (view,) = [v for v in data_of(text)["views"] if v["kind"] == "end-on"]
    named = {words: mm for words, mm, *_ in view["named"]}
    assert named["over corners"] == pytest.approx(6.833, abs=5e-4)
    assert named["the bearing \u00f8"] == 6.52
    assert named["would pass: across flats"] < named["across flats"]
    page = opened(tmp_path / "square.html")
    assert page.get_attribute("#tabs [aria-selected=true]", "data-key") == "square-refused"
    assert "does not pass its own bearing" in page.inner_text("#why")
    assert page.locator("#figure path.overlap:not(#overlap)").count() == 4
    assert "over corners 6.833 mm" in page.locator("#figure .letters").text_content()
    boxes = page.evaluate(BOXES, ".letters text, #looks button")
    assert not any(clash(one, other) for k, one in enumerate(boxes) for other in boxes[k + 1 :])
    page.keyboard.press("1")
    assert page.inner_text("#program-name").startswith("setting-1")
