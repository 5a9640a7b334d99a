"""Levels of roughing: full depths, no thin layers, every size reached, near the least time; ways in and back."""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from statistics import median

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.plan.levels import Cylinder, choose_levels, choose_stretches, radius_left
from cam.plan.model import Plan
from cam.plan.room import find_room
from tests.bench.roughing import measure_all
from tests.plan_specimens import SAMPLE_NAMES, random_plans, sample_plan

DEEPEST, THINNEST, GRID = 0.75, 0.02, 0.01


@st.composite
def profiles(draw: st.DrawFn) -> tuple[float, list[Cylinder]]:
    """Radii in hundredths, often nearer to one another than the least cut or just under a full depth."""
    top = draw(st.integers(300, 1200))
    depths = st.one_of(st.integers(1, top - 50), st.integers(1, 15).flatmap(lambda k: st.integers(75 * k, 75 * k + 4)))
    found = sorted(draw(st.sets(depths.filter(lambda d: d < top - 50), min_size=1, max_size=7)), reverse=True)
    ends = [0.0]
    for _ in found:
        ends.append(ends[-1] - draw(st.integers(1, 200)) / 10)
    steps = [Cylinder((str(k),), (top - d) / 100, *ends[k : k + 2]) for k, d in enumerate(found)]
    return top / 100, steps


@settings(max_examples=100, deadline=None)
@given(profiles())
def test_layers_cut_every_size_to_its_shoulder_none_thin_none_too_deep(drawn: tuple[float, list[Cylinder]]) -> None:
    top, steps = drawn
    levels = choose_levels(top, [s.radius for s in steps], DEEPEST, THINNEST, GRID)
    standing = dict.fromkeys((s.names[0] for s in steps), top)
    for cut in choose_stretches(top, steps, DEEPEST, THINNEST, GRID):
        under = [s for s in steps if s.far >= cut.z_to and s.near <= cut.z_from]
        assert tuple(s.names[0] for s in under) == cut.names
        assert cut.beside == (under[0] is not steps[0])
        for step in under:
            assert THINNEST - 1e-9 <= standing[step.names[0]] - cut.level <= DEEPEST + 1e-9
            assert cut.level >= step.radius - 1e-9
            standing[step.names[0]] = cut.level
    for step in steps:
        assert standing[step.names[0]] == pytest.approx(radius_left(top, step.radius, levels, THINNEST))
        assert -1e-9 <= standing[step.names[0]] - step.radius < THINNEST


@settings(max_examples=120, deadline=None)
@given(profiles())
def test_sizes_that_stand_apart_are_left_to_size(drawn: tuple[float, list[Cylinder]]) -> None:
    top, steps = drawn
    radii = [s.radius for s in steps]
    apart = all(b - a > DEEPEST / 4 for a, b in pairwise([*radii, top]))
    levels = choose_levels(top, radii, DEEPEST, THINNEST, GRID)
    if apart:
        assert [radius_left(top, r, levels, THINNEST) for r in radii] == pytest.approx(radii)
    assert all(0 < a - b <= DEEPEST + 1e-9 for a, b in pairwise((top, *levels)))


def test_nothing_to_cut_has_no_levels() -> None:
    assert choose_levels(5.0, [5.0], 0.5, 0.02, 0.01) == ()
    assert choose_levels(5.0, [4.99], 0.5, 0.02, 0.01) == ()
    assert choose_levels(5.0, [], 0.5, 0.02, 0.01) == ()


def test_a_size_just_under_a_full_depth_moves_the_level_and_no_more() -> None:
    # Full depths from 5.0: 4.5, 4.0, ...; the size at 3.99 would be left a film of 0.01 under 4.0.
    assert choose_levels(5.0, [3.1, 3.99], 0.5, 0.02, 0.01) == pytest.approx((4.5, 4.01, 3.51, 3.1))


def test_two_sizes_nearer_than_the_least_cut_are_cut_from_the_level_above_the_smaller_first() -> None:
    steps = [Cylinder(("a",), 4.40, 0.0, -5.0), Cylinder(("b",), 4.41, -5.0, -9.0)]
    cuts = list(choose_stretches(5.0, steps, 0.75, 0.02, 0.01))
    assert [(c.level, c.above, c.z_from, c.z_to) for c in cuts] == [(4.40, 5.0, 0.0, -5.0), (4.41, 5.0, -5.0, -9.0)]


@pytest.mark.slow
def test_random_profiles_are_roughed_near_the_lower_bound() -> None:
    ratios = measure_all()
    times = sorted(r.time for r in ratios)
    assert len(times) == 100
    assert times[0] >= 1.0
    assert median(times) <= 1.06
    assert times[ceil(0.9 * len(times)) - 1] <= 1.10
    assert times[-1] <= 1.20
    assert min(r.thinnest for r in ratios) >= 1 - 1e-6


def check_ways(plan: Plan) -> None:
    """Layers come in beside the end or the shoulder before, clear of backlash, and go back over what they cut."""
    lathe = plan.shop.lathe
    gap, play = float(lathe.rapid_clearance), float(lathe.x.backlash)
    for planned in plan.settings:
        rough = [p for p in planned.passes if p.kind == "rough"]
        begins = {round(p.z_from, 6) for p in rough if p.z_from > planned.setting.end_z}
        assert len(begins) <= 1
        for cut in rough:
            first, out = cut.approach[0], cut.leave[0]
            assert first.x >= cut.diameter / 2 + cut.depth + gap + play - 1e-9
            assert first.z <= planned.park.z + 1e-9
            assert find_room(planned.setting, cut.tool, 0.049).furthest(first.x).z >= planned.park.z - 1e-9
            assert cut.x_out >= cut.diameter / 2 + cut.depth
            assert all(p.x >= cut.x + gap + play - 1e-9 for p in cut.leave[1:])
            assert out.z == cut.z_to or out.x >= cut.x + gap + play - 1e-9


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_layers_of_a_sample_come_in_and_go_back_no_higher_than_they_must(name: str) -> None:
    plan = sample_plan(name)
    check_ways(plan)
    for planned in plan.settings:
        rough = [p for p in planned.passes if p.kind == "rough"]
        assert all(p.x <= planned.safe_x for cut in rough[:-1] for p in cut.leave)


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_layers_come_in_and_go_back_clear_of_backlash(plan: Plan) -> None:
    if not any(planned.ramp for planned in plan.settings):
        check_ways(plan)
