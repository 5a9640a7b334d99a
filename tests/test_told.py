"""What judges say of many small cases (tests/told) is what tests/golden keeps, word for word and figure for figure."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest

import pytest

from tests.golden import FOLDER, GOLDEN, TOLD, told_name
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
    solids,
)

MILL, BENCH = mill.TOLD | bored.TOLD | solids.TOLD, lengths.TOLD | bench.TOLD
ROOMS = (
    programs.TOLD,
    lathe.TOLD | metal.TOLD,
    moves.TOLD,
    MILL,
    pages.TOLD | rows.TOLD | by_mill.TOLD | by_thread.TOLD | forms.TOLD,
    BENCH,
)


TELL = {told_name(name): tell for name, tell in TOLD.items()}


def kept(told: Iterable[str]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("name", [told_name(name) for name in told])


def same(name: str) -> None:
    """Hold each line against the kept one as it is told, so that the first that moved ends it."""
    was = (FOLDER / name).read_text(encoding="utf-8").split("\n")[:-1]
    now = (line for told in TELL[name]() for line in told.split("\n"))
    for number, (line, old) in enumerate(zip_longest(now, was), 1):
        assert line == old, f"line {number} of {name} moved; meant so? python -m tests.golden shows every line"


@kept(ROOMS[0])
def test_programs_are_read_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS[1])
def test_the_lathe_is_judged_as_it_was(name: str) -> None:
    same(name)


@kept(ROOMS[2])
def test_passes_are_made_moves_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS[3])
def test_the_mill_is_judged_as_it_was(name: str) -> None:
    same(name)


@kept(ROOMS[4])
def test_pages_are_read_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS[5])
def test_lengths_are_worked_out_as_they_were(name: str) -> None:
    same(name)


def test_every_case_is_told_here() -> None:
    assert {told_name(name) for told in ROOMS for name in told} == {name for name in GOLDEN if name.startswith(MARK)}
