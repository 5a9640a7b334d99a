"""The print form: one page for each setting, nothing lost or over another, the strip true to size in print."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from cam.job import make_job, print_job_summary
from cam.plan.model import Plan
from posts.ink import LEAST_TYPE, NARROW, break_text, text_width
from posts.pages import Ruler, pass_rows
from posts.print_form import COLUMNS, PAPERS, Printed, print_summary
from posts.print_setting import TYPE
from posts.print_words import BLANK
from posts.summary import summary_sections
from posts.work_view import spread, strip_places
from tests.plan_specimens import SAMPLE_NAMES, random_plans, sample_plan
from tests.print_case import Line, Page, Sheet, pages_of, print_pdf, sheets_of
from tests.specimens import SAMPLES
from tests.test_cli import run

NEAR = dict.fromkeys((1, 2), "0.709 mm, tool 1 nose to the centre cone")
NAMES = (*SAMPLE_NAMES, "drum-hook")
CASES = [(name, paper) for name in NAMES for paper in PAPERS]
SLOW = settings(
    deadline=None, max_examples=8, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def whole(plan: Plan, paper: str) -> Printed:
    return print_summary(plan, summary_sections(plan, closest=NEAR, width=COLUMNS), PAPERS[paper], closest=NEAR)


@lru_cache
def printed(name: str, paper: str, **changes: str) -> Printed:
    return whole(sample_plan(name, **changes), paper)


def setting_pages(html: str) -> list[Page]:
    return [page for page in pages_of(html) if re.search(r": setting \d of \d", page.title)]


# The page as it is laid out


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_every_setting_is_one_page_in_type_that_can_be_read(name: str, paper: str) -> None:
    found = printed(name, paper)
    plan = sample_plan(name)
    assert set(found.pages.values()) == {1}
    assert len(setting_pages(found.html)) == len(plan.settings)
    assert min(found.sizes.values()) >= LEAST_TYPE
    assert set(found.sizes.values()) <= set(TYPE)
    for page in setting_pages(found.html):
        number = int(page.title[-6])
        assert f"{paper}, {found.sizes[number]:g} pt type" in page.words


def clash(one: Line, other: Line) -> bool:
    """Whether two lines of text stand over one another: the middles of their letters are less than that high apart."""
    apart = max(one.left, other.left) - min(one.right, other.right)
    return apart < -0.15 and abs(one.baseline - other.baseline) < 0.30 * min(one.size, other.size)


def check_page(page: Page) -> None:
    lines = [line for line in page.lines if line.text.strip()]
    for line in lines:
        assert line.size >= LEAST_TYPE - 0.01, line
        if line.right > line.left:
            assert line.left > 4.0, line
            assert line.right < page.width - 4.0, line
        assert 4.0 < line.baseline < page.height - 4.0, line
    over = [(a.text, b.text) for a, b in combinations(lines, 2) if clash(a, b)]
    assert not over


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_nothing_is_off_the_paper_or_over_another_or_too_small(name: str, paper: str) -> None:
    for page in pages_of(printed(name, paper).html):
        assert (page.width, page.height) == (PAPERS[paper].width, PAPERS[paper].height)
        check_page(page)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("control", ["stepper", "hand"])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_that_is_wanted_at_the_lathe_is_missing(name: str, control: str) -> None:
    plan = sample_plan(name, control_kind=control)
    pages = setting_pages(whole(plan, "A4").html)
    for planned in plan.settings:
        text = squeezed(" ".join(p.words for p in pages if f": setting {planned.setting.number} of" in p.title))
        datum = planned.setting.datum_words.removeprefix("Z zero is ")
        wanted = [datum, planned.setting.grip, "ONE FULL TURN BY HAND", "Glasses on", NEAR[1]]
        wanted += [c for cut in planned.passes for c in cut.cautions if "one full revolution" not in c]
        for cut in planned.passes:
            assert str(cut.number) in text
            for m in cut.measure:
                wanted += [a.removesuffix(".") for a in (m.if_over[1:], m.if_under[1:])]
        for words in wanted:
            assert squeezed(words) in text, words
        assert text.count(f"is{BLANK}") == sum(len(c.measure) for c in planned.passes)
        for row in pass_rows(plan, planned, Ruler(plan.part, plan.shop.lathe)):
            kept = [cell for n, cell in enumerate(row.cells) if n not in (1, 2, 9)]  # not name, was, belt
            assert all(squeezed(cell) in text for cell in kept), row.cells
            assert all(squeezed(words) in text for words in row.before if words.startswith(">>"))


@pytest.mark.parametrize("name", ["orrery-drum-arbor", "moon-carriage-spindle"])
def test_a_part_turned_round_is_said_and_hatched(name: str) -> None:
    first, second = setting_pages(printed(name, "A4").html)
    assert "TURNED END FOR END" not in first.words
    assert (
        "TURNED END FOR END: the A end, finished and hatched, is at the HEADSTOCK now; cut the B end." in second.words
    )
    thin = [sum(e.get("stroke-width") == "0.18" for e in p.svg.iter()) for p in (first, second)]
    assert thin[0] == 0
    assert thin[1] > 10
    ends = [[line.text for line in p.lines if line.text in ("A", "B") and line.size == pytest.approx(17, abs=0.1)]
            for p in (first, second)]  # fmt: skip
    assert ends == [["B", "A"], ["A", "B"]]  # headstock first: the work is the other way round
    white = [next(line.text for line in p.lines if line.white and line.text in ("A", "B")) for p in (first, second)]
    assert white == ["A", "B"]


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_the_strip_has_every_shoulder_of_its_setting_at_full_size(name: str, paper: str) -> None:
    plan = sample_plan(name)
    for planned, page in zip(plan.settings, setting_pages(printed(name, paper).html), strict=True):
        lines = page.roles("shoulder")
        zs = [float(e.get("data-role", "").split()[1]) for e in lines]
        assert zs == [p.z for p in strip_places(planned.setting, plan.part)]
        for t in planned.setting.turned:
            assert any(abs(z - t.near) < 1e-4 for z in zs)
            assert t.far_kind == "open" or any(abs(z - t.far) < 1e-4 for z in zs)
        xs = [float(e.get("x1", "")) for e in lines]
        for (xa, za), (xb, zb) in combinations(zip(xs, zs, strict=True), 2):
            assert xb - xa == pytest.approx(zb - za, abs=1e-3)
        assert [float(e.get("width", "")) for e in page.roles("bar")] == [100.0, 101.6]


def test_a_long_parts_strip_is_cut_in_pieces_that_share_a_line() -> None:
    plan = sample_plan("moon-carriage-spindle")
    first = plan.settings[0]
    far = [replace(t, near=4 * t.near, far=4 * t.far) for t in first.setting.turned]
    setting = replace(first.setting, turned=(*far[:2], replace(far[2], far=-330.0, far_kind="shoulder")))
    changed = replace(plan, settings=(replace(first, setting=setting), *plan.settings[1:]))
    html = whole(changed, "A4").html
    pages = [p for p in setting_pages(html) if ": setting 1 of" in p.title]
    zs = [float(e.get("data-role", "").split()[1]) for p in pages for e in p.roles("shoulder")]
    assert len(zs) > len(set(zs)) == len(strip_places(setting, plan.part))
    for page in pages:
        check_page(page)


@given(random_plans())
@SLOW
def test_random_settings_stay_on_the_paper(plan: Plan) -> None:
    found = whole(plan, "Letter")
    pages = setting_pages(found.html)
    assert len(pages) == sum(found.pages.values())
    for page in pages:
        check_page(page)
    for number, count in found.pages.items():
        own = [p for p in pages if f": setting {number} of" in p.title]
        told = [f"GO ON WITH PAGE {n + 2}" in p.words for n, p in enumerate(own)]
        assert told == [True] * (count - 1) + [False]


def test_what_does_not_fit_one_page_goes_on_and_says_so(tmp_path: Path) -> None:
    plan = sample_plan("orrery-drum-arbor")
    first = plan.settings[0]
    more = tuple(replace(o, passes=o.passes * 6) for o in first.operations)
    changed = replace(plan, settings=(replace(first, operations=more),))
    found = whole(changed, "A4")
    assert found.sizes == {1: LEAST_TYPE}
    assert found.pages[1] > 1
    pages = setting_pages(found.html)
    assert all("GO ON WITH PAGE" in p.words for p in pages[:-1])
    for page in pages:
        check_page(page)
    ticks = sum(
        len([e for e in p.svg.iter() if e.get("stroke-width") == "0.25" and e.tag.endswith("rect")]) for p in pages
    )
    assert ticks == 6 * len(first.passes)


def test_a_name_is_text_whatever_it_holds() -> None:
    plan = sample_plan("crank-pin")
    name = '</text></svg><script>alert("x")</script>&amp;\x07 \u2028ø'
    html = whole(replace(plan, part=replace(plan.part, name=name)), "A4").html
    assert "<script" not in html.lower()
    assert not re.search(r"(?i)\b(src|href)\s*=|https?://(?!www\.w3\.org/2000/svg)|url\(", html)
    assert len(setting_pages(html)) == 1


def test_pages_of_the_mill_keep_on_their_paper_too() -> None:
    html, long = print_job_summary(make_job(str(SAMPLES / "orrery-drum-arbor.toml")), "Letter")
    assert long == ()
    titles = [page.title for page in pages_of(html)]
    assert any("ON THE MILL" in title for title in titles)
    for page in pages_of(html):
        check_page(page)
    assert "WHY SO" in titles[-1] or "MEASURE NEXT" in titles[-1]


# Type


def test_widths_are_those_of_the_published_metrics() -> None:
    # Adobe Font Metrics of Helvetica (AFM, N 3.0), widths in thousandths of the size; from memory: every figure 556,
    # space 278, capital A 667, small i 222. Set NARROW of that.
    for text, units in (("0", 556), ("9", 556), (" ", 278), ("A", 667), ("i", 222)):
        assert text_width(text, 1000.0) == pytest.approx(units * NARROW * 25.4 / 72)


@pytest.mark.parametrize("width", [12.0, 30.0, 80.0])
def test_broken_lines_keep_every_letter_and_stay_within(width: float) -> None:
    text = "Touch the tool on its rim, beside the centre, and set Z to 0 there; supercalifragilisticexpialidocious " * 2
    lines = break_text(text, 10.0, width)
    assert squeezed("".join(lines)) == squeezed(text)
    assert all(text_width(line, 10.0) <= width for line in lines)


def test_labels_are_spread_in_order_and_never_overlap() -> None:
    found = spread([10.0, 10.5, 11.0, 50.0], [6.0, 6.0, 6.0, 6.0], 0.0, 60.0)
    assert found == sorted(found)
    assert all(b - a >= 6.0 - 1e-9 for a, b in pairwise(found))
    assert found[0] >= 3.0
    assert found[-1] <= 57.0


# Printed and measured


@pytest.fixture(scope="module")
def prints(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], list[Sheet]]:
    """Every sample's pages on each paper, printed in one go, since a browser takes long to start."""
    folder = tmp_path_factory.mktemp("prints")
    found = {}
    for paper in PAPERS:
        htmls = {name: printed(name, paper).html for name in NAMES}
        parts = {name: re.findall(r"<section.*?</section>", html, re.S) for name, html in htmls.items()}
        head, _, _ = htmls[NAMES[0]].partition("<section")
        path = folder / f"{paper}.html"
        body = "".join(section for own in parts.values() for section in own)
        path.write_text(f"{head}{body}</body></html>", encoding="utf-8")
        sheets = sheets_of(print_pdf(path))
        assert len(sheets) == sum(map(len, parts.values()))
        for name, own in parts.items():
            found[name, paper], sheets = sheets[: len(own)], sheets[len(own) :]
    return found


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_each_page_comes_out_of_the_printer_as_one(name: str, paper: str, prints) -> None:
    pages, sheets = pages_of(printed(name, paper).html), prints[name, paper]
    for page, sheet in zip(pages, sheets, strict=True):
        assert sheet.width == pytest.approx(page.width, abs=0.2)  # browsers cut paper to whole dots
        assert sheet.height == pytest.approx(page.height, abs=0.2)
        assert min(sheet.sizes) >= LEAST_TYPE - 0.02
        assert squeezed(page.lines[0].text) in squeezed(sheet.text)


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_the_printed_strip_and_bar_are_true_within_0_05_mm(name: str, paper: str, prints) -> None:
    pages = pages_of(printed(name, paper).html)
    measured = 0
    for page, sheet in zip(pages, prints[name, paper], strict=True):
        for line in page.roles("shoulder"):
            x = float(line.get("x1", ""))
            upright = [b for b in sheet.boxes if b.bottom - b.top > 8.5 and b.right - b.left < 0.8]
            found = min(upright, key=lambda b: abs(b.middle - x))
            assert found.middle == pytest.approx(x, abs=0.05)
            assert found.bottom - found.top == pytest.approx(9.0, abs=0.6)
            measured += 1
        for bar in page.roles("bar"):
            x, width = float(bar.get("x", "")), float(bar.get("width", ""))
            found = min(sheet.boxes, key=lambda b: abs(b.left - x) + abs(b.right - x - width))
            assert found.right - found.left == pytest.approx(width, abs=0.05)
            assert found.left == pytest.approx(x, abs=0.05)
            measured += 1
    assert measured >= 4


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
    assert "is there already" in refused.err
    assert run("summary", part, "--print", str(out), "--paper", "A4", "--replace").status == 0
