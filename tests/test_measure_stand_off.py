"""Stand-off of a corner: the worked example, and shapely pushing a real plate onto a real fillet as oracle."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import translate

from cam.ground.problem import RangeError
from cam.lengths.stand_off import (
    Range,
    check_stand_off,
    derive_stand_off,
    edge_needed,
    exactly,
    seat_ring,
    sharp_stand_off,
    stand_off,
)
from cam.part.features import Corner, Edge
from cam.part.spans import StandOff
from tests.measured import NO_STAND_OFF, SHARP, limits, span
from tests.specimens import HERE, one_in


def edge(kind: str, size: float) -> Edge:
    return Edge(kind=kind, size=size, text=f"{kind} {size} mm", where=HERE)


def corner(kind: str, radius: float) -> Corner:
    return Corner(kind=kind, radius=radius, width=0.0, depth=0.0, text=kind, where=HERE)


# radius, clearance on the radius, stand-off; mm. Worked by hand from Pythagoras:
# 0.2 - sqrt(0.04 - 0.0324) = 0.2 - 0.08718; a 3-4-5 triangle 0.5 - sqrt(0.25 - 0.16); no clearance: the radius.
WORKED = [(0.2, 0.02, 0.113, 5e-4), (0.5, 0.1, 0.2, 1e-12), (0.2, 0.0, 0.2, 1e-12), (0.2, 0.2, 0.0, 0), (0, 0, 0, 0)]


@pytest.mark.parametrize(("radius", "clearance", "expected", "printed_to"), WORKED)
def test_worked_examples(radius, clearance, expected, printed_to):
    assert sharp_stand_off(radius, clearance) == pytest.approx(expected, abs=printed_to)


@pytest.mark.parametrize(("radius", "clearance"), [(-0.1, 0.0), (0.1, -0.01)])
def test_negative_sizes_are_refused(radius, clearance):
    with pytest.raises(RangeError):
        sharp_stand_off(radius, clearance)


# x from the shoulder, y from the pivot's surface. Metal: x <= 0, y <= 0, and the fillet's corner.
FINE_ARC = 4000


def metal(radius: float):
    square = shapely.box(0, 0, radius, radius)
    fillet = square.difference(shapely.Point(radius, radius).buffer(radius, quad_segs=FINE_ARC))
    return shapely.union_all([shapely.box(-1, -1, 0, 3), shapely.box(-1, -1, 3, 0), fillet])


def plate(clearance: float, kind: str, size: float):
    corner_at = (0.0, clearance)
    block = shapely.box(0, clearance, 2, 2)
    if kind == "chamfer":
        cut = shapely.Polygon([corner_at, (size, clearance), (0, clearance + size)])
        return block.difference(cut)
    if kind == "radius":
        round_off = shapely.box(0, clearance, size, clearance + size).difference(
            shapely.Point(size, clearance + size).buffer(size, quad_segs=FINE_ARC)
        )
        return block.difference(round_off)
    return block


def pushed(radius: float, clearance: float, kind: str, size: float) -> float:
    """How far the plate must be drawn back until it no longer cuts into the metal, by bisection."""
    body, disc = metal(radius), plate(clearance, kind, size)
    low, high = 0.0, radius
    for _ in range(24):
        middle = (low + high) / 2
        if shapely.intersection(translate(disc, middle, 0), body).area > 1e-11:
            low = middle
        else:
            high = middle
    return high


@pytest.mark.parametrize("radius", [0.1, 0.2, 0.4])
@pytest.mark.parametrize("clearance", one_in(2, [0.01, 0.05, 0.15]))
@pytest.mark.parametrize(("kind", "size"), [
    ("sharp", 0.0), ("chamfer", 0.03), ("chamfer", 0.1), ("chamfer", 0.2), ("chamfer", 0.4),
    ("radius", 0.05), ("radius", 0.3),
])  # fmt: skip
def test_a_plate_pushed_on_by_shapely_stops_where_it_is_said(radius, clearance, kind, size):
    said = stand_off(radius, clearance, edge(kind, size))
    assert pushed(radius, clearance, kind, size) == pytest.approx(said, abs=2e-4)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_a_broken_edge_never_stands_off_more_and_the_edge_needed_is_just_enough(radius, clearance, size):
    sharp = stand_off(radius, clearance, SHARP)
    needed = edge_needed(radius, clearance)
    for kind in ("chamfer", "radius"):
        assert 0 <= stand_off(radius, clearance, edge(kind, size)) <= sharp <= radius
        assert stand_off(radius, clearance, edge(kind, needed)) == pytest.approx(0, abs=1e-9)
    if needed > 0.01:  # a hundredth smaller does not seat
        assert stand_off(radius, clearance, edge("chamfer", needed - 0.01)) > 0


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 0.5))
def test_more_clearance_or_a_smaller_nose_never_stands_off_more(radius, clearance, more):
    assert sharp_stand_off(radius, clearance + more) <= sharp_stand_off(radius, clearance)
    assert sharp_stand_off(radius, clearance) <= sharp_stand_off(radius + more, clearance) + 1e-12


# From the part file ----------------------------------------------------------------------------------------


def test_a_undercut_and_no_corner_stand_off_nothing():
    assert derive_stand_off(corner("undercut", 0), exactly(0.02), SHARP).most == 0
    assert derive_stand_off(None, exactly(0.02), SHARP).most == 0


def test_limits_of_clearance_and_nose_bound_the_stand_off():
    found = derive_stand_off(corner("nose", 0.2), Range(0.01, 0.02, 0.03), SHARP, nose=Range(0.1, 0.15, 0.2))
    assert found[:3] == pytest.approx(
        (sharp_stand_off(0.1, 0.03), sharp_stand_off(0.15, 0.02), sharp_stand_off(0.2, 0.01))
    )
    assert "fillet 0.150 mm, clearance 0.020 mm" in found.reason
    assert "a chamfer of 0.19 mm on the hole would let the shoulder seat" in found.reason


def test_a_nose_that_is_not_known_yet_may_be_anything_up_to_the_corner():
    found = derive_stand_off(corner("nose", 0.2), exactly(0.02), SHARP)
    assert found[:3] == pytest.approx((0.0, 0.11282, 0.11282), abs=1e-5)
    assert derive_stand_off(corner("fillet", 0.2), exactly(0.02), SHARP).least == found.most


def test_a_pivot_that_does_not_go_in_is_refused():
    with pytest.raises(RangeError):
        derive_stand_off(corner("fillet", 0.2), exactly(-0.01), SHARP)


def test_the_ring_that_a_shoulder_seats_on():
    assert seat_ring(6.02, edge("chamfer", 0.2), 8.0, edge("chamfer", 0.2)) == pytest.approx(0.59)
    assert seat_ring(6.02, SHARP, 6.0, None) < 0


def test_a_warning_from_a_third_of_the_end_shake_on():
    frame = span("a", "b")  # 0.2 aimed at
    little, much = StandOff(0.03, 0.033, 0.033, "little"), StandOff(0.03, 0.034, 0.034, "much")
    assert not list(check_stand_off(frame, little, little))
    (problem,) = check_stand_off(frame, much, much)
    assert "up to 0.068 mm of 0.200 mm; at the A side much" in problem.given
    assert "up to 0.067 mm together" in problem.allowed


def test_no_end_shake_leaves_no_room_for_a_corner():
    tight = span("a", "b", shake=limits(0, 0, 0.1))
    assert list(check_stand_off(tight, StandOff(0, 0.01, 0.01, ""), NO_STAND_OFF))
    assert not list(check_stand_off(tight, NO_STAND_OFF, NO_STAND_OFF))
