"""The bench notebook: nothing that the job asks for is missing, in the order of the work, with what was recorded."""

from __future__ import annotations

import re
import shutil
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from cam.job import Job, PageFaultError, make_job, print_job_notebook, write_job_notebook
from cam.job.logbook import record_value
from cam.job.outputs import pages_of, write_job_summary
from cam.job.pages import require_notebook
from cam.plan.model import Plan
from posts.layout import HEIGHT
from posts.notebook import blanks_of, measures_of, notebook_pages, under
from posts.pages.blocks import BLANK, Ask, FigureTable, Head, Page, Words
from posts.pages.job import figures_of, job_pages
from posts.pages.setting import tools_of
from posts.pages.text import write_pages
from tests.plan_specimens import SAMPLE_NAMES, random_plans
from tests.specimens import SAMPLES, some
from tests.test_cli import run

NAMES = (*SAMPLE_NAMES, "drum-hook")


@cache
def job_of(name: str) -> Job:
    return make_job(str(SAMPLES / f"{name}.toml"))


@cache
def book_of(name: str, width: int = 80) -> str:
    return write_job_notebook(job_of(name), width)


def flat(text: str) -> str:
    """A text without its pages' heads, white space made one."""
    pages = (page.splitlines() for page in text.split("\f"))
    return " ".join(" ".join(line for page in pages for line in page[2:]).split())


@pytest.mark.parametrize("name", NAMES)
def test_every_tool_gauge_and_packing_is_listed(name: str) -> None:
    job, book = job_of(name), flat(book_of(name))
    wanted = [t.name for t in tools_of(job.plan.settings)]
    for planned in job.plan.settings:
        setting = planned.setting
        wanted += [thing.name for thing in (setting.tail_centre, setting.carrier, setting.chuck) if thing is not None]
        wanted += [hole.designation for hole in (setting.hole, setting.head_hole) if hole is not None]
    wanted += [step for s in job.part.sections for step in ("burnisher", "slip") if len(s.finish.route) > 2]
    for work in job.mill.works if job.mill is not None else ():
        wanted += [move.cutter.name for move in work.plan.moves if hasattr(move, "cutter")]
    for page in pages_of(job):
        wanted += under(page, "HAVE READY")
    assert len(wanted) > 5
    for words in wanted:
        assert " ".join(words.split()) in book, words
    assert re.search(r"depth (gauge|micrometer), to", book)


@pytest.mark.parametrize("name", NAMES)
def test_everything_that_the_summary_leaves_a_blank_for_is_in_the_notebook(name: str) -> None:
    job = job_of(name)
    pages = pages_of(job)
    measured = next(p for p in notebook_pages(job.plan, pages) if p.title.endswith("MEASURED"))
    inside = {(m.of, m.name, m.expected, m.least, m.most, m.last) for m in measures_of(measured)}
    said = [row[0].partition(". ")[2] for b in measured.blocks if isinstance(b, FigureTable) for row in b.rows]
    said += [b.words for b in measured.blocks if isinstance(b, Words) and b.mark[:1].isdigit()]
    asked = set(said)
    for page in pages:
        assert {(m.of, m.name, m.expected, m.least, m.most, m.last) for m in measures_of(page)} <= inside
        if page.kind in ("square", "cross hole", "thread"):
            blanks = blanks_of(page)
            assert blanks or measures_of(page)
            assert asked >= set(blanks)
    assert asked >= {f"length of {s.name}" for s in job.part.sections}
    for number in range(1, len(said) + 1):
        assert re.search(rf"^ *{number}\. ", book_of(name), re.M), number


def test_the_order_runs_from_the_saw_to_the_plates_with_cautions_at_their_step() -> None:
    book = flat(book_of("orrery-drum-arbor"))
    steps = [
        "Saw 82 off the bar",
        "mark it A",
        "mark it B",
        "Setting 1, the A end",
        "Turn end for end",
        'measure "between plates"',
        "On the mill: hook hole",
        "On the mill: the square",
        'Finish "front pivot": stone',
        'Hole "back plate": drill 3.8 mm',
        "Wash off grit",
        'Try "front pivot" dry',
        'end shake of "frame"',
        "what you would do otherwise",
    ]
    places = [book.index(words) for words in steps]
    assert places[:4] == sorted(places[:4])
    assert places[6:] == sorted(places[6:])
    assert places[4] < places[6]
    at = {words: book[place : place + 700] for words, place in zip(steps, places, strict=True)}
    assert "chuck key" in at["Saw 82 off the bar"]
    assert "one full turn by hand" in at["Setting 1, the A end"]
    assert "no gloves" in at["On the mill: hook hole"]
    assert "Never a strip held or wrapped by hand" in at['Finish "front pivot": stone']
    assert "never hold it by hand" in at['Hole "back plate": drill 3.8 mm']
    assert "let it down under control" in at['Try "front pivot" dry']


def test_a_screw_is_threaded_taken_off_and_filed_in_that_order() -> None:
    book = flat(book_of("drum-hook"))
    steps = ["Setting 1, the A end", "M3 x 0.5 on shank, by die: by its page, THE THREAD", "by its page, OFF THE BAR",
             "by its page, THE HOOK", "Wash off grit and oil. Measure"]  # fmt: skip
    assert [book.index(words) for words in steps] == sorted(book.index(words) for words in steps)
    for words in ("die M3 x 0.5 and its sliding holder", "three wires of 0.289", "a stub of brass tapped M3 x 0.5",
                  "unplugged", "ever saw into turning work", "file with a safe edge"):  # fmt: skip
        assert words in book


def test_pivots_are_finished_in_their_setting_where_nothing_is_milled() -> None:
    book = flat(book_of("moon-carriage-spindle"))
    assert book.index('Finish "upper pivot"') < book.index("Turn end for end")
    assert "Last of all, saw or part off the extra length" in book
    assert "Saw or part it off, 33.00 from the finished end" in flat(book_of("crank-pin"))


def test_what_was_recorded_stands_in_its_place(tmp_path: Path) -> None:
    for path in SAMPLES.glob("*.toml"):
        shutil.copy(path, tmp_path)
    part = str(tmp_path / "orrery-drum-arbor.toml")
    for name, value in (
        ("between plates", "46.22; 46.23; 46.21 mm"),
        ("front pivot stop diameter", "6.11 mm"),
        ("front seat shoulder", "33.51 mm"),
        ("front pivot diameter", "5.984 mm"),
    ):
        record_value(part, name, value)
    book = write_job_notebook(make_job(str(tmp_path / "orrery-drum-arbor.toml")))
    assert re.search(r"between plates +\+/-0.02 mm +46\.22, mean of 3", book)
    assert "MEASURE  front pivot: 6.08 is 6.11 mm (then 6.00 to 6.02)" in book
    assert "MEASURE  front pivot: 5.98 is 5.984 mm (5.97 to 5.99); at root and tip" in book
    assert re.search(r"shoulder of front seat, from the finished +33\.51 mm", book)
    assert "front pivot stop diameter: 6.11 mm" in flat(book)
    assert "between plates: 46.22; 46.23; 46.21 mm; mean of 3: 46.22" in flat(book)
    assert "NOTEBOOK, RECORDED" in book
    assert "NOTEBOOK, RECORDED" not in book_of("crank-pin")


def test_the_shoulders_that_setting_2_counts_from_are_recorded_before_it(tmp_path: Path) -> None:
    """As the page of spans requires; each has a blank until it is recorded."""
    for path in SAMPLES.glob("*.toml"):
        shutil.copy(path, tmp_path)
    part = str(tmp_path / "orrery-drum-arbor.toml")
    record_value(part, "between plates", "46.22 mm")
    job = make_job(part)
    said = "After setting 1 measure, from the faced A end, and endshake record "
    said += '"front pivot shoulder" and "front seat shoulder"; make again before setting 2'
    assert said in flat(write_job_summary(job))
    book = flat(write_job_notebook(job))
    assert book.index("Setting 1, the A end") < book.index(said) < book.index("Turn end for end")
    assert re.search(r"shoulder of front seat, from the finished _+ end", book)


def test_the_gauges_reach_whatever_the_notebook_asks_for(tmp_path: Path) -> None:
    for path in SAMPLES.glob("*.toml"):
        shutil.copy(path, tmp_path)
    part = str(tmp_path / "orrery-drum-arbor.toml")
    record_value(part, "between plates", "46.22 mm")
    book = flat(write_job_notebook(make_job(part)))
    assert "micrometers, 0 to 25 and 25 to 50; try" in book
    assert re.search(r"between the shoulders of frame 46\.00 ", book)
    reach = float(re.search(r"depth gauge, to ([\d.]+)", book)[1])
    table = re.findall(r"(?:from Z zero to the faced . end|length of [a-z ]+) ([\d.]+) ", book)
    assert max(map(float, table)) == reach


def test_what_waits_is_said_and_nothing_of_it_is_assumed(tmp_path: Path) -> None:
    for path in SAMPLES.glob("*.toml"):
        shutil.copy(path, tmp_path)
    book = flat(write_job_notebook(make_job(str(tmp_path / "orrery-drum-arbor.toml"))))
    assert "three times, seated anew: ________ ________ ________" in book
    assert "Record between plates, make again, and print this anew" in book
    assert "length of back seat to be measured" in book
    assert "nan" not in book.split()


@pytest.mark.parametrize("width", some([40, 80, 132], 40))
@pytest.mark.parametrize("name", NAMES)
def test_every_page_fits_the_paper_at_any_width(name: str, width: int) -> None:
    text = book_of(name, width)
    assert text.isascii()
    for page in text.split("\f"):
        lines = page.splitlines()
        assert len(lines) <= HEIGHT
        assert max(map(len, lines)) <= width
    # as many blanks, but where one is broken with its words
    assert abs(text.count("________") - book_of(name).count("________")) <= 2


@pytest.mark.parametrize("paper", some(["A4", "Letter"], "A4"))
@pytest.mark.parametrize("name", NAMES)
def test_the_printed_notebook_has_all_that_is_wanted(name: str, paper: str) -> None:
    html = print_job_notebook(job_of(name), paper)
    assert html.count("<article") >= 3
    printed = re.sub(r"\s+", "", unescape(re.sub(r"<[^>]*>", "", html)))
    for page in pages_of(job_of(name)):
        for words in under(page, "HAVE READY"):
            assert re.sub(r"\s+", "", words) in printed


def test_items_and_rows_with_blanks_are_taken_whole() -> None:
    blocks = (
        Head(words="AT LAST"), Words(words="round is ________, more"), Words(words="nothing here"),
        FigureTable(heads=("at", "is", "too"), align="rlr", rows=(("2.50", BLANK, "5.18"),)),
        Ask(what="turns", wanted="9"),
    )  # fmt: skip
    page = Page(kind="square", title="THE SQUARE, ON THE MILL", part="arbor", blocks=blocks)
    assert blanks_of(page) == ["round is ________, more", "at 2.50; is ________; too 5.18", "turns 9, is ________"]
    assert under(page, "AT LAST") == ["round is ________, more", "nothing here"]
    assert under(page, "ELSEWHERE") == []


def test_the_verb_prints_and_writes(tmp_path: Path) -> None:
    shown = run("notebook", "samples/crank-pin.toml", "--width", "100")
    assert (shown.status, shown.err) == (0, "")
    assert "NOTEBOOK, ORDER OF WORK" in shown.out
    out = tmp_path / "book.html"
    assert run("notebook", "samples/crank-pin.toml", "--print", str(out), "--paper", "Letter").status == 0
    assert out.read_text(encoding="utf-8").count("<article") >= 3
    assert run("notebook", "samples/crank-pin.toml", "--print", str(out)).status == 2


@given(random_plans())
@settings(deadline=None, max_examples=8, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_any_job_has_its_notebook(plan: Plan) -> None:
    pages = job_pages(plan)
    text = write_pages(notebook_pages(plan, pages), plan.part, figures_of(plan))
    wanted = [m for page in pages for m in measures_of(page)]
    assert all(m in [b for p in notebook_pages(plan, pages) for b in p.blocks] for m in wanted)
    assert "nan" not in text.split()
    assert text.count("Setting") >= len(plan.settings)
    for page in text.split("\f"):
        assert max(map(len, page.splitlines())) <= 80


DAMAGED = [  # what stands in the notebook, what is put there
    ("front seat: 8.04 ________ (then", "front seat: 8.14 ________ (then"),
    ("(then 7.97 to 8.00)", "(then 7.97 to 8.10)"),
    ("MEASURE  front seat: 8.04 ________ (then 7.97 to 8.00)\n", ""),
    ("across flats 1 and 3 at 10.00: 4.33", "across flats 1 and 3 at 10.00: 4.43"),
    ("MEASURE  mean of the pairs", "mean of the pairs"),
    ("front pivot: 5.98 ________ (5.97 to 5.99)", "front pivot: 5.98 ________ (5.97 to 6.99)"),
    ("front pivot: 5.98 ________ (5.97 to 5.99)", "front pivot: 6.00 ________ (5.97 to 5.99)"),
    ("MEASURE  back seat: 7.98", "MEASURE  front seat: 8.00"),
    ("NOTEBOOK, MEASURED", "NOTEBOOK, MEASURES"),
]


@pytest.mark.parametrize(
    ("old", "new"),
    [pytest.param(*pair, marks=pytest.mark.slow if n % 3 else ()) for n, pair in enumerate(DAMAGED)],
    ids=[old for old, _ in DAMAGED],
)
def test_a_notebook_that_does_not_measure_what_its_pages_do_is_refused(old: str, new: str) -> None:
    job, book = job_of("orrery-drum-arbor"), book_of("orrery-drum-arbor")
    assert old in book
    with pytest.raises(PageFaultError):
        require_notebook(job, book.replace(old, new, 1), "notebook.txt", write_job_summary(job))


@pytest.mark.parametrize("name", NAMES)
def test_the_printed_notebook_is_read_as_the_text_is(name: str) -> None:
    html = print_job_notebook(job_of(name), "A4")
    found = re.search(r"<b>MEASURE</b>  [^:<]+: [\d.]*(\d) ", html)
    assert found is not None
    digit = str((int(found[1]) + 5) % 10)
    damaged, summary = html[: found.start(1)] + digit + html[found.end(1) :], write_job_summary(job_of(name))
    with pytest.raises(PageFaultError):
        require_notebook(job_of(name), damaged, "notebook.html", summary)
