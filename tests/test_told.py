"""What judges say of many small cases (tests/told) is what tests/golden keeps, word for word and figure for figure."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest

import pytest

from tests.golden import FOLDER, GOLDEN, ROOMS, TOLD, told_name
from tests.told import MARK

TELL = {told_name(name): tell for name, tell in TOLD.items()}


LONG = (
    "lathe", "lathe-spoilt", "lathe-spoilt-arcs", "lathe-screws", "short-cuts", "setting-1", "setting-2", "square",
    "square-by-hand", "hole-by-hand", "words", "file", "records", "spoilt-drilled", "hole",
    "others-by-hand", "slips", "program-rules", "steps-faults", "other-words", "holes", "begun",
)  # fmt: skip
"""Told in more than a third of a second each, and most of the time of all: .ci/run, and tests.mutants, tell them."""


def kept(told: Iterable[str]) -> pytest.MarkDecorator:
    long = {f"{MARK}{name}.txt" for name in LONG}
    marks = (pytest.mark.slow, pytest.mark.told)
    return pytest.mark.parametrize(
        "name", [pytest.param(name, marks=marks if name in long else ()) for name in map(told_name, told)]
    )


def same(name: str) -> None:
    """Hold each line against the kept one as it is told, so that the first that moved ends it."""
    was = (FOLDER / name).read_text(encoding="utf-8").split("\n")[:-1]
    now = (line for told in TELL[name]() for line in told.split("\n"))
    for number, (line, old) in enumerate(zip_longest(now, was), 1):
        assert line == old, f"line {number} of {name} moved; meant so? python -m tests.golden shows every line"


@kept(ROOMS["rs274"])
def test_programs_are_read_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS["judge"])
def test_the_lathe_is_judged_as_it_was(name: str) -> None:
    same(name)


@kept(ROOMS["moves"])
def test_passes_are_made_moves_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS["mill"])
def test_the_mill_is_judged_as_it_was(name: str) -> None:
    same(name)


@kept(ROOMS["sheet"])
def test_pages_are_read_as_they_were(name: str) -> None:
    same(name)


@kept(ROOMS["lengths"])
def test_lengths_are_worked_out_as_they_were(name: str) -> None:
    same(name)


def test_every_case_is_told_here() -> None:
    told = {told_name(name) for cases in ROOMS.values() for name in cases}
    assert told == {name for name in GOLDEN if name.startswith(MARK)}
