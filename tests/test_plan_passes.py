"""A pass is one dial and one stop, for the control and for the hand alike."""

from __future__ import annotations

import pytest

from cam.geometry.path import Arc, Line, Point
from cam.plan.bench import through
from cam.plan.model import shape_of

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
