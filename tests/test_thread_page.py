"""The page of a thread is read back: its sizes, die or wheels, passes on the dial, what is measured over wires."""

from __future__ import annotations

import re
from functools import cache

import pytest

from cam.ground.problem import Problem
from cam.sheet import judge_sheet
from cam.sheet.thread import judge_thread_pages
from posts.pages.figures import figures_for
from posts.pages.paper import PAPERS
from posts.pages.print import print_pages
from posts.pages.text import write_pages
from posts.screw_pages import screw_pages
from posts.summary import write_summary
from tests.sheets.threads import Screw, plan_screw, screw_texts

RANDOM = range(12)


def judge(screw: Screw, text: str) -> tuple[Problem, ...]:
    settings = [planned.setting for planned in screw.plan.settings]
    return judge_thread_pages(text, screw.part, settings, screw.shop, path="S.txt", unit=screw.part.unit)


def screw(number: int) -> Screw:
    found = plan_screw(*screw_texts(number))
    assert found is not None
    return found


def text_of(made: Screw, width: int = 80) -> str:
    figures = figures_for(made.part, made.shop.lathe)
    return write_pages(screw_pages(made.plan, figures), made.part, figures, width)


@cache
def screw_of(number: int) -> tuple[Screw, str] | None:
    """A random screw with its pages; None where it is refused."""
    made = plan_screw(*screw_texts(number))
    return None if made is None else (made, text_of(made))


def first_with(*words: str) -> tuple[Screw, str]:
    """The first random screw whose pages have some words."""
    made = (screw_of(number) for number in range(200))
    return next(one for one in made if one is not None and all(word in one[1] for word in words))


def test_pages_of_random_screws_pass_at_any_width_and_in_print() -> None:
    seen = set()
    for number in RANDOM:
        made = plan_screw(*screw_texts(number))
        if made is None:
            continue
        figures = figures_for(made.part, made.shop.lathe)
        pages = screw_pages(made.plan, figures)
        printed = print_pages("page", pages, made.part, PAPERS["A4"], figures.size, figures.place)
        for text in (text_of(made, (40, 80, 240)[number % 3]), *([printed] if number % 3 == 0 else [])):
            assert judge(made, text) == ()
            seen |= {head for head in ("BY DIE", "CHANGE WHEELS", "BY THE PROGRAM") if head in text}
    assert seen == {"BY DIE", "CHANGE WHEELS", "BY THE PROGRAM"}


M3 = "M3 x 0.5, right-hand"
FAULTS = [  # words of the page that is taken, what stands there, what is put there, what is said
    ("CHANGE WHEELS", "Wheels: ", "Wheels: 9", "takes wheels that the shop does not have"),
    ("CHANGE WHEELS", "Tool 4, ", "Tool 1, ", "which is no threading tool of the shop"),
    ("CHANGE WHEELS", "\n    2  ", "\n    3  ", "is out of order, or one is missing before it"),
    ("CHANGE WHEELS", "Start at least ", "Start at most ", "does not say where it is begun"),
    ("CHANGE WHEELS", "X DIAL", "X DAIL", "does not say how X is set"),
    ("BY DIE", "\n 2. Die ", "\n 2. Dye ", "does not say which die cuts it"),
    ("BY DIE", " turns make ", "9 turns make ", "turns of the die"),
    (M3, "over three wires of 0.289", "over three wires of 0.389", "takes wires of 0.389"),
    (M3, "3.051 ____", "3.061 ____", "expects 3.061 over its wires"),
    (M3, "(3.014", "(3.004", "has other limits than the thread's over its wires"),
    (M3, "2.580 to 2.655", "2.580 to 2.755", "has other limits than the thread for its pitch diameter"),
    (M3, "2.874 to 2.980", "2.874 to 2.990", "has other limits than the thread for its shank as turned"),
    (M3, "M3 x 0.5, right", "M4 x 0.7, right", "is another thread's page"),
    ("OFF THE BAR", "OFF THE BAR", "ON THE BAR", "does not say where the screw comes off its bar"),
    ("OFF THE BAR", "long over all", "all over", "does not say where the screw comes off its bar"),
]


@pytest.mark.parametrize(("page", "old", "new", "said"), FAULTS, ids=[f"{a} to {b}" for _, a, b, _ in FAULTS])
def test_what_is_wrong_with_a_page_of_a_thread_is_said(page: str, old: str, new: str, said: str) -> None:
    made, text = first_with(page, old)
    found = judge(made, text.replace(old, new, 1))
    assert any(said in p.what and p.where.path == "S.txt" for p in found), [str(p) for p in found]


def test_a_thread_whose_last_passes_are_lost_is_left_too_thick() -> None:
    made, text = first_with("CHANGE WHEELS")
    lines = text.splitlines()
    rows = [n for n, line in enumerate(lines) if line.rstrip().endswith("[ ]")]
    once = [line for n, line in enumerate(lines) if n != rows[-1]]
    assert any("does not run its last pass a second time" in p.what for p in judge(made, "\n".join(once)))
    half = len(rows) // 2
    again = re.sub(r"\d+", str(half + 1), lines[rows[half - 1]], count=1)
    early = [*lines[: rows[half - 1] + 1], again, *lines[rows[-1] + 1 :]]
    assert any("leaves a pitch diameter of" in p.what for p in judge(made, "\n".join(early)))


def test_a_thread_by_program_is_measured_over_its_wires_on_the_settings_page() -> None:
    """What stood there was the shank's diameter."""
    made, _ = first_with("BY THE PROGRAM")
    text, setting = write_summary(made.plan), made.plan.settings[-1].setting

    def what(page: str) -> list[str]:
        found = judge_sheet(page, setting, made.shop, unit=made.part.unit)
        return [p.what for p in found.problems]

    assert what(text) == []
    at = text.index("MEASURE  M")
    low = text.index("(then", at)
    least = re.search(r"\d*\.\d+(?= to)", text[low:])
    assert least is not None
    other = f"{float(least[0]) - 0.01:.{len(least[0].partition('.')[2])}f}"
    lower = text[:low] + text[low:].replace(least[0], other, 1)
    assert "has other limits than the thread's over its wires" in what(lower)
    shank = text[:at] + re.sub(r": \d*\.\d+ _", ": 0.500 _", text[at:], count=1)
    assert any("over its wires" in w for w in what(shank))
