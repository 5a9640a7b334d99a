"""The print form: a page for each setting, rows as the text has them, the strip true to size as a browser prints it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as Tree

import pytest

from cam.job import Job, make_job, print_job_summary, write_job_summary
from cam.job.outputs import pages_of
from cam.sheet.either_form import lines_of_setting
from posts.pages.drawing import draw_setting, places_of
from posts.pages.fit import LOOSE, OTHER_TYPE, TIGHT, TYPE
from posts.pages.job import figures_of
from posts.pages.paper import MARGIN, PAPERS, Paper
from posts.pages.print import print_pages
from posts.pages.svg import spread
from tests.print_case import print_pdf, sheets_of
from tests.specimens import SAMPLES
from tests.test_cli import run

NAMES = ("crank-pin", "drum-hook", "moon-carriage-spindle", "orrery-drum-arbor")
CASES = [(name, paper) for name in NAMES for paper in PAPERS]
FULLEST = ("orrery-drum-arbor", "A4"), ("moon-carriage-spindle", "Letter")
IN_BROWSER = [pytest.param(*case, marks=() if case in FULLEST else pytest.mark.slow) for case in CASES]
"""The longest on each paper every time."""
SVG = "{http://www.w3.org/2000/svg}"
LEAST_TYPE, LEAST_OF_LONGEST = 11.0, 10.5
"""Type of every setting of the samples at the least, pt, and of the longest of them."""


@lru_cache
def job_of(name: str) -> Job:
    return make_job(str(SAMPLES / f"{name}.toml"))


@lru_cache
def printed(name: str, paper: str) -> str:
    return print_job_summary(job_of(name), paper)


def articles(html: str) -> list[tuple[str, float, str]]:
    """Label, size of type in pt and text of every page."""
    found = re.findall(
        r'<article class="[^"]*" style="font-size: ([\d.]+)pt; --row: [\d.]+" aria-label="([^"]*)">(.*?)</article>',
        html,
        re.S,
    )
    return [(label, float(size), body) for size, label, body in found]


def setting_pages(html: str) -> list[tuple[str, float, str]]:
    return [page for page in articles(html) if re.search(r": SETTING \d of \d", page[0])]


def drawings(body: str) -> list[Tree.Element]:
    return [Tree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", body, re.S)]


def roles(element: Tree.Element, head: str) -> list[Tree.Element]:
    return [e for e in element.iter() if e.get("data-role", "").startswith(head)]


# What it says


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_every_setting_has_one_page_in_type_that_can_be_read(name: str, paper: str) -> None:
    pages = setting_pages(printed(name, paper))
    assert len(pages) == len(job_of(name).plan.settings)
    longest = name == "orrery-drum-arbor"
    assert all(size in TYPE and size >= (LEAST_OF_LONGEST if longest else LEAST_TYPE) for _, size, _ in pages)
    others = [size for label, size, _ in articles(printed(name, paper)) if ": SETTING" not in label]
    assert all(size in OTHER_TYPE and size >= LEAST_OF_LONGEST for size in others)
    assert all(TIGHT <= float(row) <= LOOSE for row in re.findall(r"--row: ([\d.]+)", printed(name, paper)))


@pytest.mark.parametrize("name", NAMES)
def test_rows_dials_and_measures_are_those_of_the_text_to_the_letter(name: str) -> None:
    acted_on = re.compile(r"^ *(\d+  |-- |MEASURE |\d+ points?, |set over |[XZ] (DIAL|READS|IN|SLIPS) |pass  )")

    def wanted(lines: list[str]) -> list[str]:
        found = [re.sub(r"\s+", " ", line).strip() for line in lines if acted_on.match(line)]
        beside = [bool(re.match(r"\d+ points?, |set over ", after)) for after in [*found[1:], ""]]
        return [re.sub(r" N\d+$", "", line) if b else line for line, b in zip(found, beside, strict=True)]

    text, form = write_job_summary(job_of(name), 240), printed(name, "A4")
    for planned in job_of(name).plan.settings:
        number = planned.setting.number
        said = wanted([line.text for line in lines_of_setting(text, number)])
        assert len(said) > 10
        assert wanted([line.text for line in lines_of_setting(form, number)]) == said


def test_a_page_on_several_sheets_is_headed_by_its_title_and_read_as_one() -> None:
    job = job_of("moon-carriage-spindle")
    figures = figures_of(job.plan)
    low = Paper("A5, as it were", 210.0, 150.0)
    html = print_pages("t", pages_of(job), job.part, low, figures.size, figures.place)
    assert html.count("SETTING 1 of 2, A END, on 2 sheets</th>") == 1  # of a head, which a browser repeats
    assert int(re.search(r"(\d+) sheets of", html)[1]) > 3  # type: ignore[index]
    for number in (1, 2):
        rows = [[line.text for line in lines_of_setting(form, number) if re.match(r"\d+  ", line.text)]
                for form in (html, printed("moon-carriage-spindle", "A4"))]  # fmt: skip
        assert rows[0] == rows[1]
        assert len(rows[0]) == len(job.plan.settings[number - 1].passes)


def test_sections_without_room_for_their_names_have_numbers() -> None:
    job = job_of("orrery-drum-arbor")
    setting, figures = job.plan.settings[0].setting, figures_of(job.plan)
    wide, narrow = (Tree.fromstring(draw_setting(setting, job.part, figures.size, figures.place, mm, {}))
                    for mm in (196.0, 60.0))  # fmt: skip
    said = [[e.text for e in svg.iter(f"{SVG}text")] for svg in (wide, narrow)]
    assert {"winding square", "front pivot", "front seat", "drum body", "carrier"} <= set(said[0])
    assert {"1", "2", "3", "4", "carrier"} <= set(said[1])


def test_a_part_turned_round_is_said_and_hatched() -> None:
    first, second = setting_pages(printed("moon-carriage-spindle", "A4"))
    assert "TURNED END FOR END" not in first[2]
    assert "TURNED END FOR END: the A end, finished, is at the HEADSTOCK now; cut the B end." in second[2]
    thin = [
        sum(e.get("stroke-width") == "0.15" for d in drawings(body) for e in d.iter()) for _, _, body in (first, second)
    ]
    assert thin[1] > thin[0] + 10
    letters = [
        [e.text for e in drawings(body)[0].iter(f"{SVG}text") if e.text in ("A", "B")] for _, _, body in (first, second)
    ]
    assert letters == [["B", "A"], ["A", "B"]]  # headstock first: the work is the other way round


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_the_strip_has_every_shoulder_of_its_setting_at_full_size(name: str, paper: str) -> None:
    for planned, (_, _, body) in zip(job_of(name).plan.settings, setting_pages(printed(name, paper)), strict=True):
        setting = planned.setting
        strip = next(d for d in drawings(body) if roles(d, "shoulder"))
        box = [float(v) for v in strip.get("viewBox", "").split()]
        assert strip.get("width") == f"{box[2]:g}mm"
        lines = roles(strip, "shoulder")
        zs = [float(e.get("data-role", "").split()[1]) for e in lines]
        landed = float(job_of(name).shop.lathe.z.division) / 2 + 1e-6  # where the rows' own stops are
        assert zs == pytest.approx(places_of(setting), abs=landed)
        for t in setting.turned:
            assert any(abs(z - t.near) < landed for z in zs)
            assert t.far_kind == "open" or any(abs(z - t.far) < landed for z in zs)
        xs = [float(e.get("x1", "")) for e in lines]
        assert [x - xs[0] for x in xs] == pytest.approx([z - zs[0] for z in zs], abs=1e-3)


def test_labels_stand_in_order_none_over_another() -> None:
    found = spread([10.0, 10.5, 11.0, 90.0], [4.0, 4.0, 4.0, 30.0], 0.0, 100.0)
    assert found == sorted(found)
    assert all(b - a >= 4.0 - 1e-9 for a, b in pairwise(found[:-1]))
    assert found[-1] <= 85.0


def test_a_name_is_text_whatever_it_holds() -> None:
    job = job_of("crank-pin")
    name = '</p></article><script>alert("x")</script>&amp;\x07 \u2028ø'
    plan = replace(job.plan, part=replace(job.plan.part, name=name))
    html = print_job_summary(replace(job, part=plan.part, plan=plan), "A4")
    assert "<script" not in html.lower()
    assert not re.search(r"(?i)\b(src|href)\s*=|https?://(?!www\.w3\.org/2000/svg)|url\(", html)
    assert len(setting_pages(html)) == 1


# What a browser prints


@pytest.mark.parametrize(("name", "paper"), IN_BROWSER)
def test_what_a_browser_prints_is_true_to_size_and_one_sheet_a_setting(name: str, paper: str, tmp_path: Path) -> None:
    file = tmp_path / "form.html"
    file.write_text(printed(name, paper), encoding="utf-8")
    sheets = sheets_of(print_pdf(file))
    for sheet in sheets:
        assert (sheet.width, sheet.height) == pytest.approx((PAPERS[paper].width, PAPERS[paper].height), abs=0.3)
    assert len(sheets) == len(articles(printed(name, paper)))  # the square and the first page too
    for label, _, _ in setting_pages(printed(name, paper)):
        title = label.partition(": ")[2]
        assert [s for s in sheets if title in s.text and "by ________ date" in s.text]  # its foot is on its sheet
    for bar, long in ((100.0, "100 mm"), (101.6, "4 in")):
        widths = [
            b.right - b.left for s in sheets for b in s.boxes if 0.5 < b.bottom - b.top < 1.2 and b.right - b.left > 90
        ]
        assert any(abs(width - bar) < 0.05 for width in widths), long
    for planned in job_of(name).plan.settings:
        zs = places_of(planned.setting)
        if zs[-1] - zs[0] < PAPERS[paper].width - 2 * MARGIN - 6.0:
            assert any(has_strip(sheet.boxes, [z - zs[0] for z in zs]) for sheet in sheets)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_wide_face_takes_no_more_sheets(name: str, tmp_path: Path) -> None:
    """The width of figures is held, so that a browser with another face alone prints the same sheets."""
    html = printed(name, "Letter")
    wide = html.replace('family: Helvetica, "Liberation Sans", Arial, "Nimbus Sans",', 'family: "DejaVu Sans",')
    assert wide != html
    file = tmp_path / "wide.html"
    file.write_text(wide, encoding="utf-8")
    assert len(sheets_of(print_pdf(file))) == len(articles(html))
    assert f'<p class="screen">{len(articles(html))} sheets of Letter' in html


def has_strip(boxes: list, steps: list[float]) -> bool:
    """Whether upright lines of the strip's height stand so far apart, within 0.05 mm."""
    middles = [b.middle for b in boxes if 6.5 < b.bottom - b.top < 7.6 and b.right - b.left < 0.8]
    return any(all(any(abs(m - first - s) < 0.05 for m in middles) for s in steps) for first in middles)


# The verb


def test_paper_is_asked_for_and_files_of_others_are_left_alone(tmp_path: Path) -> None:
    part, out = "samples/crank-pin.toml", tmp_path / "pin.html"
    assert run("summary", part, "--print", str(out)).status == 2
    assert run("summary", part, "--paper", "A4").status == 2
    assert run("summary", part, "--print", str(out), "--paper", "A5").status == 2
    assert not out.exists()
    done = run("summary", part, "--print", str(out), "--paper", "letter")
    assert (done.status, done.err) == (0, "")
    assert "for Letter" in done.out
    assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    refused = run("summary", part, "--print", str(out), "--paper", "A4")
    assert refused.status == 1
    assert "is there already" in refused.told
    assert run("summary", part, "--print", str(out), "--paper", "A4", "--replace").status == 0
