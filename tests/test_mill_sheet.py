"""The mill's pages, read back from their printed text and cut with: every variant passes, damage is found."""

from __future__ import annotations

import random
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings

from cam.job import judge_mill_program, make_job, write_job_summary
from cam.job.mill import judge_mill_page, judge_mill_pages
from cam.sheet.mill import MillSheetVerdict, is_mill_sheet
from posts.pages.figures import figures_for
from posts.pages.job import pages_of_mill
from posts.pages.paper import PAPERS
from posts.pages.print import print_pages
from posts.pages.text import write_pages
from tests.mill_parts import MillCase
from tests.mill_variants import VARIANTS, WHEN, variant
from tests.sheets.mills import MILL_JOBS, Slides, plan_milled
from tests.specimens import one_in

BY_PROGRAM = ("ramped", "rotary")
NARROW = ((r'name = "6 mm end mill"([^\[]*?)diameter = "6 mm"', r'name = "6 mm end mill"\1diameter = "3 mm"'),)
CASE = Path(__file__).parent / "cases" / "flats_page_phantom_rows.toml"


def written(name: str, *, as_print: bool = False, width: int = 80) -> str:
    """All pages of a variant's mill."""
    part, shop, job = variant(name)
    figures = figures_for(part, shop.lathe)
    pages = pages_of_mill(part, job, figures, {work.name: WHEN for work in job.works})
    if as_print:
        return print_pages("pages", pages, part, PAPERS["A4"], figures.size, figures.place)
    return write_pages(pages, part, figures, width)


def judged(name: str, text: str) -> dict[str, MillSheetVerdict]:
    """What a text of a variant's pages comes to, by the name of the work."""
    part, shop, job = variant(name)
    return {work.name: judge_mill_page(text, "pages", part, shop, work.task) for work in job.works}


@pytest.mark.parametrize("as_print", [False, True])
@pytest.mark.parametrize("name", one_in(3, VARIANTS))
def test_every_page_can_be_worked_by(name: str, as_print: bool) -> None:
    text = written(name, as_print=as_print)
    assert is_mill_sheet(text)
    for work, found in judged(name, text).items():
        assert found.problems == ()
        assert found.by_program is (name in BY_PROGRAM and work == "square")
        assert found.by_program or found.rows


@pytest.mark.parametrize("as_print", [False, True])
def test_a_flat_milled_in_layers_is_no_new_touch_of_its_cutter(as_print: bool) -> None:
    text = written("layers", as_print=as_print)
    assert text.count("small flat, across") == 3  # 0.7 by a cutter that takes 0.3 at once
    assert judged("layers", text)["cross-hole"].problems == ()


@pytest.mark.parametrize("width", [40, 60, 132])
def test_pages_of_any_width_are_read(width: int) -> None:
    for name in ("tipped", "hexagon", "through", "inch page"):
        assert all(found.problems == () for found in judged(name, written(name, width=width)).values())


@pytest.mark.parametrize("name", ["tipped", "hexagon", "inch page", "broken"])
def test_flats_come_out_within_half_a_division(name: str) -> None:
    found = judged(name, written(name))["square"]
    assert found.simulation.flats
    for flat in found.simulation.flats:
        if flat.x > 0.2:  # beside the wall a rounded X may leave a hundredth
            assert -0.006 <= flat.low <= flat.high <= 0.006


DAMAGES = {
    "a digit of a row": lambda rows, rng: (k := rng.choice(rows), _digit(k, rng)),
    "a row lost": lambda rows, rng: (rng.choice(rows), ""),
    "a dial off by a turn": lambda rows, rng: (
        k := rng.choice([r for r in rows if "+" in r]), re.sub(r"\d+(?=\+[\d.]+$)", lambda m: str(int(m[0]) + 1), k)
    ),
    "the path": lambda rows, rng: ("-- path: in to X dial 0", "-- path: in to X dial 1"),
    "the side that is up": lambda rows, rng: (k := rng.choice(rows), re.sub(r"side \d", "side 9", k)),
}  # fmt: skip
"""Kind -> (piece of the page, what stands for it)."""


def _digit(row: str, rng: random.Random) -> str:
    at = rng.choice([m.start() for m in re.finditer(r"\d", row.rstrip())])
    return row[:at] + str((int(row[at]) + rng.randint(1, 9)) % 10) + row[at + 1 :]


@pytest.mark.parametrize("kind", DAMAGES)
def test_damage_is_found(kind: str) -> None:
    text = written("tipped")
    part, shop, job = variant("tipped")
    task = job.works[-1].task
    rows = re.findall(r"(?m)^ *\d+  flat .*$", text)
    rng = random.Random(7)
    counts: Counter[bool] = Counter()
    for _ in range(12):
        old, new = DAMAGES[kind](rows, rng)
        damaged = text.replace(old, new, 1)
        if damaged != text:
            counts[bool(judge_mill_page(damaged, "pages", part, shop, task).problems)] += 1
    assert counts[True] >= 10
    assert counts[False] <= (2 if kind == "a digit of a row" else 0)


def test_two_rows_that_change_places_are_out_of_order() -> None:
    text = written("tipped")
    first, second = re.findall(r"(?m)^ *\d+  flat .*$", text)[:2]
    swapped = text.replace(first, "\x00").replace(second, first).replace("\x00", second)
    assert any("out of order" in p.what for p in judged("tipped", swapped)["square"].problems)


def test_a_measure_that_is_not_what_stands_is_found() -> None:
    text = written("tipped").replace("across flats 1 and 3 at 10.00: 4.33", "across flats 1 and 3 at 10.00: 4.35")
    assert any("is not what the rows above leave" in p.what for p in judged("tipped", text)["square"].problems)


@pytest.mark.parametrize("as_print", [False, True])
def test_the_last_digit_of_a_measure_counts(as_print: bool) -> None:
    text = written("tipped", as_print=as_print)
    for told, other in (("4.755", "4.756"), ("4.755", "4.745"), ("4.33", "4.331"), ("4.33", "4.32")):
        assert told in text
        assert judged("tipped", text.replace(told, other))["square"].problems, other


@pytest.mark.parametrize("as_print", [False, True])
def test_a_drill_that_goes_through_comes_out_as_far_as_is_said(as_print: bool) -> None:
    """Without a dial its depth stands in its row alone: how far its point comes out is held against it."""
    text = written("through", as_print=as_print)
    assert "1.28, the drill" in text
    found = judged("through", text.replace("1.28, the drill", "1.18, the drill"))["cross-hole"]
    assert any("not as BELOW says" in p.what for p in found.problems)


@pytest.mark.parametrize(
    ("name", "said", "damaged", "words"),
    [
        ("through", "-- T2, 4 mm spot drill", "-- T3, 4 mm spot drill", "no tool 3 of the shop has that name"),
        ("through", "4+00 is X 0.00", "4+00 is X 0.01", "counts X from where no zero is"),
        ("tipped", "is X 23.00", "is X 32.00", "counts X from where no zero is"),
    ],
)  # fmt: skip
def test_a_tool_and_a_zero_are_what_shop_and_work_say(name: str, said: str, damaged: str, words: str) -> None:
    text = written(name)
    assert said in text
    found = judged(name, text.replace(said, damaged))
    assert any(words in p.what for verdict in found.values() for p in verdict.problems)


@pytest.mark.parametrize("as_print", one_in(2, [False, True]))
@pytest.mark.parametrize("name", ["tipped", "through", "rotary", "inch page", "no dials", "readouts"])
def test_every_slide_is_set_to_the_reading_that_its_place_has(name: str, as_print: bool) -> None:
    """Turns are counted at a zero: "zero there" would leave a hole 4 turns out, where 4+00 is X 0.00."""
    text = written(name, as_print=as_print)
    plain = re.sub(r"<[^>]*>", " ", text) if as_print else text
    known = re.findall(r"([\d.+-]+)\s+is\s+[XYZ]\s+[\d.-]+\s+Set\s+it\s+to\s+([\d.+-]+)\s", plain)
    assert len(known) == 3 * len(variant(name)[2].works)
    assert all(reads == said for reads, said in known), known
    assert "zero there" not in plain
    for said in dict.fromkeys(re.findall(r"Set it to [\d.+-]+", text)):
        reads = said.split()[-1]
        other = re.sub(r"^\d+", lambda m: str(int(m[0]) + 1), reads)
        for damaged, words in ((f"Set it to {other}", "sets "), (f"It is {reads}", "does not say to what")):
            found = judged(name, text.replace(said, damaged))
            assert any(words in p.what for verdict in found.values() for p in verdict.problems), damaged


def test_a_path_has_one_y_in_every_layer_and_flat(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rough rows may leave a little more in the corner before the shoulder than the finish takes."""
    monkeypatch.setitem(VARIANTS, "narrow", ((), NARROW))
    text = written("narrow")
    row = re.search(r"(?m)^ *\d+  flat 2, layer 1 of \d+, path 2 of 2 .* (\d\+\d\d) +\d\+\d\d$", text)
    assert row is not None
    turns, _, rest = row[1].partition("+")
    damaged = row[0].replace(row[1], f"{turns}+{(int(rest) + 1) % 50:02d}")
    assert not judged("narrow", text)["square"].problems
    found = judged("narrow", text.replace(row[0], damaged))["square"]
    assert any("another Y than the rows of this path" in p.what for p in found.problems)


@pytest.mark.parametrize(
    ("said", "damaged"),
    [
        ("0.13, 49", "0.18, 49"), ("49.66 from", "46.69 from"), ("SHIM  ", "SHIM, "),
        ("49.66 from the edge", "49.66 off"),
    ],
)  # fmt: skip
def test_a_shim_that_tips_the_block_otherwise_or_is_not_said_is_found(said: str, damaged: str) -> None:
    text = written("tipped")
    assert said in text
    assert any("shim" in p.what for p in judged("tipped", text.replace(said, damaged, 1))["square"].problems)


@pytest.mark.parametrize(("name", "says"), [("tipped", "0.13, 49.66 from"), ("inch page", "0.13 mm, 49.66 mm from")])
def test_a_shim_is_said_in_the_unit_of_the_mill_that_it_is_set_up_on(name: str, says: str) -> None:
    """A page in inches named a shim of 0.0050, which is stock of another unit than the mill's feelers."""
    text = written(name)
    assert f"SHIM    {says} the edge" in text
    assert all(found.problems == () for found in judged(name, text).values())
    shim = says.partition(",")[0]
    wrong = text.replace(f"SHIM    {shim}", f"SHIM    {shim.replace('0.13', '0.18')}")
    assert any("shim" in p.what for p in judged(name, wrong)["square"].problems)


def test_a_square_without_its_sizes_is_found() -> None:
    text = written("tipped")
    first, last = text.index("    at  milled"), text.index("FILE AND STONE")
    found = judged("tipped", text[:first] + text[last:])["square"].problems
    assert [p.what for p in found if "sizes" in p.what] == ["has no sizes as milled"]


def test_a_reading_that_no_dial_shows_is_found() -> None:
    text = written("tipped").replace("0+45", "0+450", 1)
    assert judged("tipped", text)["square"].problems


def test_simulate_judges_an_edited_page(tmp_path: Path) -> None:
    job = make_job(str(CASE))
    text = write_job_summary(job)
    assert judge_mill_pages(job, text, "summary.txt") == ()
    page = tmp_path / "summary.txt"
    page.write_text(text, "utf-8")
    assert judge_mill_program(str(page), str(CASE), "cross-hole").problems == ()
    wrong = re.sub(r"(?m)^( *\d+  drill +[\d.]+ +)(\d+)\+", lambda m: f"{m[1]}{int(m[2]) - 3}+", text)
    assert wrong != text
    page.write_text(wrong, "utf-8")
    assert judge_mill_program(str(page), str(CASE), "cross-hole").problems


@pytest.mark.parametrize("as_print", one_in(2, [False, True]))
@pytest.mark.parametrize(
    "name", ["tipped", "through", "machine tap", "plain", "inch page", "no dials", "readouts", "layers"]
)
def test_a_tool_touched_where_one_before_it_has_cut_is_found(name: str, as_print: bool) -> None:
    """Its zero would lie as much lower, and the hole come so much deeper."""
    text = written(name, as_print=as_print)
    found = re.search(r"TOUCH.{1,40}?at X (?:dial |reads )?([\d.+½-]+), ", text)
    place = re.search(r"place: X (?:dial |reads )?([\d.+½-]+), ", text)
    assert found is not None
    assert place is not None
    assert judged(name, text)["cross-hole"].problems == ()
    there = text.replace(found[0], found[0].replace(found[1], place[1]))
    assert any("touches its tool on what is cut" in p.what for p in judged(name, there)["cross-hole"].problems)
    unsaid = text.replace(found[0], found[0].replace("TOUCH", "TOUGH"))
    assert any("no line TOUCH" in p.what for p in judged(name, unsaid)["cross-hole"].problems)


def check_law(case: MillCase, way: str, slides: Slides, units: str) -> None:
    """Every page of a random part, in text and in print, is read and passes."""
    milled = plan_milled(case, way, slides, units)
    if milled is None:
        return
    part, shop, job = milled
    figures = figures_for(part, shop.lathe)
    pages = pages_of_mill(part, job, figures, {})
    text = write_pages(pages, part, figures)
    printed = print_pages("pages", pages, part, PAPERS["A4"], figures.size, figures.place)
    for work in job.works:
        for said in (text, printed):
            assert judge_mill_page(said, "pages", part, shop, work.task).problems == (), said


@settings(max_examples=10, deadline=None, phases=(Phase.reuse, Phase.generate))
@given(MILL_JOBS)
def test_pages_of_random_works_pass(drawn: tuple[MillCase, str, Slides, str]) -> None:
    check_law(*drawn)


@pytest.mark.slow
@settings(max_examples=40, deadline=None, phases=(Phase.reuse, Phase.generate))
@given(MILL_JOBS)
def test_pages_of_many_random_works_pass(drawn: tuple[MillCase, str, Slides, str]) -> None:
    check_law(*drawn)


@pytest.mark.parametrize("as_print", [False, True])
@pytest.mark.parametrize("name", ["tipped", "ramped", "undercut", "inch page"])
def test_limits_of_a_flat_past_those_that_are_asked_are_found(name: str, as_print: bool) -> None:
    """One in the last digit that a micrometer reads: at either end, and of the size that is aimed at."""
    text = written(name, as_print=as_print)
    digit, digits = (0.0001, 4) if name == "inch page" else (0.001, 3)
    gap = r"(?: +|</td><td[^>]*>)"
    row = re.search(rf"([\d.]+){gap}([\d.]+) to ([\d.]+)(?=[ <])", text[text.index("BEFORE IT IS TAKEN OUT") :])
    assert row is not None
    milled, low, high = row.groups()
    assert judged(name, text)["square"].problems == ()
    for old, new in ((low, float(low) - digit), (high, float(high) + digit), (milled, float(milled) - 3 * digit)):
        wrong = text.replace(row[0], row[0].replace(old, f"{new:.{digits}f}"))
        assert any("limits" in p.what or "milled" in p.what for p in judged(name, wrong)["square"].problems), (old, new)
