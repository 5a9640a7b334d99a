"""Faced heights kept as stretches say the same as the list of all cuts; a page that is too long is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.geometry.path import Line, Point
from cam.ground.problem import ProblemError
from cam.job import view
from cam.judge.surfaces import Faced, Feeding, SquareFace, covered, facing_span, standing_height
from cam.judge.travel import FRESH
from tests.specimens import SAMPLES, grooving_tool, turning_tool

TOOLS = (turning_tool(number=1), grooving_tool(number=2), turning_tool(number=3, hand="left"))
heights = st.integers(0, 40).map(lambda n: n / 4)
cuts = st.lists(st.tuples(heights, heights, st.sampled_from(TOOLS)), max_size=12)


@given(cuts, heights, heights)
def test_stretches_say_the_same_as_all_cuts(made, low, high) -> None:
    low, high = min(low, high), max(low, high) + 0.25
    face, faced, feeding = SquareFace(-3.0, low, high), Faced(), []
    for x0, x1, tool in made:
        feeding.append(Feeding(1, Line(Point(-3.0, x0), Point(-3.0, x1)), tool, FRESH))
        if span := facing_span(feeding[-1]):
            faced.add(*span)
    slow = standing_height(face, (s[:2] for s in covered(face, feeding)), 0.1)
    assert faced.standing(face, 0.1) == pytest.approx(slow, abs=1e-9)
    assert faced.lows == sorted(faced.lows)
    assert all(a < b for a, b in zip(faced.lows, faced.highs, strict=True))
    assert all(b < a for b, a in zip(faced.highs, faced.lows[1:], strict=False))


def test_a_thousand_cuts_at_one_shoulder_are_one_stretch() -> None:
    faced = Faced()
    for k in range(1000):
        faced.add(5 - 0.003 * k, 5.1 - 0.003 * k)
    assert len(faced.lows) == 1


def test_a_page_that_no_phone_would_open_is_refused(monkeypatch) -> None:
    monkeypatch.setattr(view, "MOST_PAGE", 10_000)
    with pytest.raises(ProblemError) as refused:
        view.view_given(str(SAMPLES / "crank-pin.toml"))
    (problem,) = refused.value.problems
    assert problem.what == "the programs are too long to be stepped through block by block"
    assert problem.given.endswith("MB")
