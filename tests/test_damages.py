"""Damaged programs that do harm are found; `python -m tests.damages` looks at many more and prints the shares."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from tests.damages.__main__ import WANTED, make_cases, run, show_table
from tests.damages.kinds import KINDS, code_lines


@pytest.fixture(scope="module")
def cases(tmp_path_factory):
    return make_cases(tmp_path_factory.mktemp("shop"))


@pytest.mark.parametrize("every", [7, pytest.param(1, marks=pytest.mark.slow)])
def test_good_programs_do_no_harm_and_nothing_is_found(cases, every: int) -> None:
    for case in cases[::every]:
        assert not case.harm(case.lines), case.name
        assert not case.found(case.lines), case.name


@pytest.mark.told
@pytest.mark.slow
def test_damages_that_do_harm_are_found(cases) -> None:
    """One of each kind on the lathe and on the mill."""
    some = [
        next(c for c in cases if word in c.name) for word in ("orrery-drum-arbor setting", "orrery-drum-arbor square")
    ]
    table = run(some, 1, 11)
    whole = sum(table.values(), Counter())
    assert whole["harm"] > 10
    assert whole["found"] == whole["harm"], show_table(table)


@pytest.mark.slow
def test_nearly_all_damages_that_do_harm_are_found(cases) -> None:
    table = run(cases, 2, 5)
    whole = sum(table.values(), Counter())
    assert whole["harm"] > 200
    assert whole["found"] >= WANTED * whole["harm"], show_table(table)


def test_every_kind_damages_one_thing(cases) -> None:
    lines = cases[0].lines
    for kind, damage in KINDS.items():
        made = [m for m in (damage(lines, Random(k)) for k in range(5)) if m is not None]
        assert made, kind
        for damaged in made:
            assert len(damaged) == len(lines)
            changed = [k for k, (a, b) in enumerate(zip(lines, damaged, strict=True)) if a != b]
            assert changed, kind
            assert set(changed) <= set(code_lines(lines))
            if not kind.startswith(("every", "a code lost everywhere")):
                assert len(changed) <= 2
