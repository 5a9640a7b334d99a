"""What judges say of many small cases (tests/told) is what tests/golden keeps, word for word and figure for figure."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from tests.golden import GOLDEN, told_name
from tests.test_golden import test_a_kept_text_is_the_same_to_the_letter as same
from tests.told import (
    MARK,
    bench,
    bored,
    by_mill,
    by_thread,
    forms,
    lathe,
    lengths,
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
    lathe.TOLD,
    moves.TOLD,
    MILL,
    pages.TOLD | rows.TOLD | by_mill.TOLD | by_thread.TOLD | forms.TOLD,
    BENCH,
)


def kept(told: Iterable[str]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("name", [told_name(name) for name in told])


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
