"""Texts that are kept whole and compared to the letter: what each is made of.

Renew them with `python -m tests.golden`, look at the difference, and say in the commit what moved and why.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path

from cam.job import make_job, print_job_summary, write_job_summary
from cam.judge.report import told
from posts.dialect import dialect_names
from tests.specimens import SAMPLES
from tests.told import (
    MARK,
    bench,
    bored,
    by_mill,
    by_thread,
    forms,
    lathe,
    lengths,
    metal,
    mill,
    moves,
    pages,
    programs,
    rows,
    short,
    solids,
    steps,
)

ROOMS = {
    "rs274": programs.TOLD,
    "judge": lathe.TOLD | metal.TOLD | steps.TOLD | short.TOLD,
    "moves": moves.TOLD,
    "mill": mill.TOLD | bored.TOLD | solids.TOLD,
    "sheet": pages.TOLD | rows.TOLD | by_mill.TOLD | by_thread.TOLD | forms.TOLD,
    "lengths": lengths.TOLD | bench.TOLD,
}
"""What is told of many small cases, by the room of cam that it is told of."""


def _in_mm(tell: Callable[[], Iterable[str]]) -> Iterator[str]:
    """Yield what is told, the lengths that a judge's sentence still holds said in mm."""
    return (told(line, "mm") for line in tell())


TOLD = {name: partial(_in_mm, tell) for cases in ROOMS.values() for name, tell in cases.items()}
FOLDER = Path(__file__).parent


def drum_arbor_setting_1() -> str:
    """Return the first setting of the drum arbor, 80 columns, without page numbers and marks of files and version."""
    text = write_job_summary(make_job(str(SAMPLES / "orrery-drum-arbor.toml")), 80)
    pages = [page for page in text.split("\f") if "SETTING 1 of 2" in page.partition("\n")[0]]
    return _without_marks(pages)


def drum_square() -> str:
    """Return the page of the drum arbor's square on the mill, in the same form."""
    text = write_job_summary(make_job(str(SAMPLES / "orrery-drum-arbor.toml")), 80)
    pages = [page for page in text.split("\f") if "THE SQUARE, ON THE MILL" in page.partition("\n")[0]]
    return _without_marks(pages)


def _without_marks(pages: list[str]) -> str:
    lines = [re.sub(r" +page \d+ of \d+$", "", line) for page in pages for line in page.splitlines()]
    return "".join(f"{line}\n" for line in lines if "endshake" not in line and "date ____" not in line)


def pin_program(dialect: str) -> str:
    """Return the program of the crank pin in one dialect, without the marks of files and version."""
    text = make_job(str(SAMPLES / "crank-pin.toml"), dialect=dialect).works[0].text
    lines = [line for line in text.splitlines() if not OURS.search(line)]
    return "".join(f"{line}\n" for line in lines)


def pin_sheet() -> str:
    """Return the printed page of the crank pin's setting, without its style and the marks of files and version."""
    return _article("crank-pin", "setting")


def drum_hole_sheet() -> str:
    """Return the printed page of the drum arbor's cross hole on the mill, in the same form."""
    return _article("orrery-drum-arbor", "cross-hole")


def _article(sample: str, kind: str) -> str:
    html = print_job_summary(make_job(str(SAMPLES / f"{sample}.toml")), "A4")
    page = next(page for page in html.split("<article ") if page.startswith(f'class="{kind}"'))
    return "".join(f"{line}\n" for line in page.splitlines() if "<footer>" not in line)


def told_name(name: str) -> str:
    """Return the file name of what is told under a name."""
    return f"{MARK}{name.replace(' ', '-')}.txt"


def _told(tell: Callable[[], Iterator[str]]) -> str:
    """Return what judges say of many small cases; see tests/told."""
    return "".join(f"{line}\n" for line in tell())


OURS = re.compile(r"(?i)endshake \d|sha256")
GOLDEN: dict[str, Callable[[], str]] = {
    "drum-arbor-setting-1.txt": drum_arbor_setting_1,
    **{f"crank-pin-{name}.ngc": partial(pin_program, name) for name in dialect_names()},
    "crank-pin-sheet.html": pin_sheet,
    "drum-arbor-square.txt": drum_square,
    "drum-arbor-hook-hole.html": drum_hole_sheet,
    **{told_name(name): partial(_told, tell) for name, tell in TOLD.items()},
}
"""Each file in this folder by name, with what it must hold."""
