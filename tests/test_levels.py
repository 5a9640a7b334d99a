"""Levels of roughing: least time, no thin layers, and the allowance reached everywhere."""

from __future__ import annotations

from itertools import pairwise, product
from math import ceil
from statistics import median

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.plan.levels import Pace, Step, choose_levels, least_seconds
from cam.plan.room import find_room
from tests.bench.roughing import measure_all
from tests.plan_specimens import SAMPLE_NAMES, sample_plan

FLAT = Pace(speeds=((100.0, 1.0),), held=0.0, around=2.0)
HELD = Pace(speeds=((100.0, 10.0),), held=0.1, around=2.0)


def seconds(top: float, levels: tuple[float, ...], steps: list[Step], pace: Pace) -> float:
    total = 0.0
    for above, level in pairwise((top, *levels)):
        lengths = [(s.length, max(s.radius, level)) for s in steps if s.radius < above - 1e-9]
        total += pace.around + sum(n * (pace.held * x if pace.held else pace.seconds(above)) for n, x in lengths)
    return total


def thin(top: float, levels: tuple[float, ...], steps: list[Step]) -> float:
    """The thinnest layer on any step."""
    layers = pairwise((top, *levels))
    return min((a - max(b, s.radius) for a, b in layers for s in steps if a - s.radius > 1e-9), default=9.0)


@st.composite
def profiles(draw: st.DrawFn, *, most: int = 40) -> tuple[float, list[Step]]:
    """Whole tenths, so that a search through every setting of the dial is short."""
    top = draw(st.integers(most // 2, most))
    tenths = draw(st.lists(st.integers(5, top - 1), min_size=1, max_size=4, unique=True))
    return top / 10, [Step(t / 10, float(draw(st.integers(1, 9)))) for t in sorted(tenths)]


@settings(max_examples=150, deadline=None)
@given(profiles(most=16), st.sampled_from([FLAT, HELD]), st.sampled_from([0.1, 0.2, 0.3]))
def test_no_other_levels_take_less_time(drawn: tuple[float, list[Step]], pace: Pace, least: float) -> None:
    top, steps = drawn
    levels = choose_levels(top, steps, 0.5, least, 0.1, pace)
    bottom = min(s.radius for s in steps)
    between = [round(bottom + k / 10, 6) for k in range(1, round((top - bottom) * 10))]
    best = float("inf")
    for kept in product((False, True), repeat=len(between)):
        tried = (*(x for x, keep in zip(reversed(between), reversed(kept), strict=True) if keep), bottom)
        good = all(a - b <= 0.5 + 1e-9 for a, b in pairwise((top, *tried))) and thin(top, tried, steps) > least - 1e-9
        best = min(best, seconds(top, tried, steps, pace)) if good else best
    if best < float("inf"):
        assert thin(top, levels, steps) > least - 1e-9
        assert seconds(top, levels, steps, pace) == pytest.approx(best)


@settings(deadline=None)
@given(profiles(most=120), st.sampled_from([FLAT, HELD]))
def test_levels_fall_to_the_least_step_by_no_more_than_the_deepest(drawn: tuple[float, list[Step]], pace: Pace) -> None:
    top, steps = drawn
    levels = choose_levels(top, steps, 0.75, 0.02, 0.01, pace)
    assert levels[-1] == min(s.radius for s in steps)
    assert all(0 < a - b <= 0.75 + 1e-9 for a, b in pairwise((top, *levels)))
    assert thin(top, levels, steps) >= 0.02 - 1e-9
    assert seconds(top, levels, steps, pace) >= least_seconds(top, steps, 0.75, pace, 1e9) - 1e-6


def test_nothing_to_cut_has_no_levels() -> None:
    assert choose_levels(5.0, [Step(5.0, 10.0)], 0.5, 0.02, 0.01, FLAT) == ()
    assert choose_levels(5.0, [], 0.5, 0.02, 0.01, FLAT) == ()


def test_a_step_just_under_a_full_depth_moves_the_level_and_no_more() -> None:
    # Full depths from 5.0: 4.5, 4.0, ...; the step at 3.99 would be left a film of 0.01 under 4.0.
    levels = choose_levels(5.0, [Step(3.1, 10.0), Step(3.99, 10.0)], 0.5, 0.02, 0.01, FLAT)
    assert len(levels) == 4
    assert not any(3.99 + 1e-9 < x < 4.01 - 1e-9 for x in levels)


def test_random_profiles_are_roughed_near_the_lower_bound() -> None:
    ratios = measure_all()
    times = sorted(r.time for r in ratios)
    assert len(times) == 100
    assert times[0] >= 1.0
    assert median(times) <= 1.03
    assert times[ceil(0.9 * len(times)) - 1] <= 1.05
    assert times[-1] <= 1.10
    assert min(r.thinnest for r in ratios) >= 1 - 1e-6


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_layers_of_a_sample_go_back_no_higher_than_they_must_and_each_begins_by_itself(name: str) -> None:
    for planned in sample_plan(name).settings:
        rough = [p for p in planned.passes if p.kind == "rough"]
        for cut in rough[:-1]:
            out, *back = cut.leave
            assert out.x <= planned.safe_x
            assert all(p.z == planned.park.z or p.x >= out.x for p in back)
        for cut in rough:
            first = cut.approach[0]
            room = find_room(planned.setting, cut.tool, 0.09)
            assert room.furthest(first.x).z >= planned.park.z >= first.z > planned.setting.end_z
            assert first.x >= cut.diameter / 2 + cut.depth
