"""Motions in air: round places, and none that leads nowhere."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.job.reread import Grid, say
from cam.mill.prove import STEP, settable, without_idle
from cam.moves.model import Feed, Move, Rapid, StartPass
from posts.dialect import load_dialect
from posts.steps import choose_form

GRID = Grid(choose_form(load_dialect("rs274ngc"), "mm", across=True))
PLACES = st.sampled_from([0.0, 1.0, 2.5])
MOVES = st.one_of(
    st.builds(Rapid, axis=st.sampled_from("xyz"), to=PLACES),
    st.builds(Feed, x=PLACES, y=PLACES, z=PLACES, feed=st.just(50.0)),
    st.just(StartPass(name="flat 1")),
)


@given(st.lists(MOVES, max_size=30))
def test_what_is_left_goes_the_same_way(moves: list[Move]) -> None:
    kept = list(without_idle(moves))
    assert repr(list(say(kept, GRID))) == repr(list(say(moves, GRID)))  # a place unknown is nan
    assert list(without_idle(kept)) == kept


def test_a_pass_begins_from_anywhere() -> None:
    up = Rapid(axis="z", to=7.5)
    assert list(without_idle([up, up, StartPass(name="flat 1"), up])) == [up, StartPass(name="flat 1"), up]


@given(st.floats(-50.0, 500.0), st.sampled_from(["mm", "in"]))
def test_a_round_place_is_the_next_beyond(value: float, unit: str) -> None:
    found = settable(value, unit)
    assert -1e-4 <= found - value < STEP[unit] + 1e-4
    assert found / STEP[unit] == pytest.approx(round(found / STEP[unit]), abs=1e-2)
