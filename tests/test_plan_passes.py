"""A pass is one dial and one stop, for the control and for the hand alike."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings

from cam.geometry.path import Arc, Line, Point
from cam.plan.bench import through
from cam.plan.model import Plan, shape_of
from tests.plan_specimens import SAMPLE_NAMES, random_plans, sample_plan

STRAIGHT = [
    [(1, 5), (-10, 5)],
    [(1, 5), (-10, 5), (-10, 8)],  # and the shoulder faced outward
    [(4, 8), (1, 5), (-10, 5), (-10, 8)],  # a ramp leads in
]
PLUNGE = [
    [(0, 8), (0, -0.2)],  # an end faced
    [(0, 8), (0, -0.2), (0.1, -0.2)],
    [(-10, 8), (-10, 5), (-10, 8)],  # a shoulder's ring
    [(-10, 8), (-10, 6), (-10, 6.2), (-10, 4), (-10, 8)],  # in bites
]
POINTS = [
    [(1, 5), (-10, 5), (-10, 6), (-20, 6)],  # X steps outward within the cut
    [(1, 5), (-10, 6)],
    [(-10, 6), (1, 6)],  # toward the tailstock
    [(-10, 5), (-10, 8), (-12, 8), (-12, 5)],
    [(0, 8), (0, 5), (-1, 5)],
    [(-10, 8), (-10, 5), (-10, 8), (-11, 8), (-11, 5), (-11, 8)],  # two plunges
]


@pytest.mark.parametrize(
    ("shape", "points"),
    [(shape, points) for shape, cases in (("straight", STRAIGHT), ("plunge", PLUNGE), ("points", POINTS))
     for points in cases],
)  # fmt: skip
def test_what_two_handles_do_for_a_path(shape: str, points: list[tuple[float, float]]) -> None:
    assert shape_of(through(*(Point(z, x) for z, x in points))) == shape


def test_an_arc_is_done_by_points() -> None:
    path = (Line(Point(1, 5), Point(-9, 5)), Arc(Point(-9, 5), Point(-10, 6), Point(-9, 6), -1))
    assert shape_of(path) == "points"


# The law on plans -----------------------------------------------------------------------------------------------

POINTWISE = ("edge", "fillet", "groove", "thread")
"""What a hand does by a table of points; tapers as well."""


def assert_one_dial_and_one_stop(plan: Plan) -> None:
    """Every pass is straight or a plunge, but for what slants, curves or is cut by a form."""
    for planned in plan.settings:
        tapers = {t.section.name for t in planned.setting.turned if t.radius_near != t.radius_far}
        for cut in planned.passes:
            slants = cut.kind in ("semi-finish", "finish") and tapers & {*cut.sections}
            if cut.kind in POINTWISE or (slants and cut.shape == "points"):
                assert cut.shape == "points", cut
                continue
            assert cut.shape in ("straight", "plunge"), cut
            assert (cut.shape == "plunge") == (cut.z_from == cut.z_to)
            along = [s for s in cut.path if s.start.z > s.end.z and s.end.x == s.start.x]
            assert len(along) == (cut.shape == "straight")
            assert all(s.start.x == cut.x for s in along)


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_every_pass_of_a_sample_is_one_dial_and_one_stop(name: str) -> None:
    assert_one_dial_and_one_stop(sample_plan(name))


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_every_pass_is_one_dial_and_one_stop(plan: Plan) -> None:
    assert_one_dial_and_one_stop(plan)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(random_plans())
def test_no_roughing_layer_is_thin_or_deeper_than_the_tool_takes(plan: Plan) -> None:
    for planned in plan.settings:
        for cut in planned.passes:
            if cut.kind == "rough":
                assert float(cut.tool.minimum_cut) - 1e-6 <= cut.depth <= float(cut.tool.deepest_cut) + 1e-6
