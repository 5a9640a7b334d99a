"""Tool shapes: published angles, and laws that hold for every tool."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cam.geometry.convex import is_convex
from cam.geometry.path import Point, bounds
from cam.shop.model import INCLUDED
from cam.shop.tool_shape import edge_left, half_width, tool_bodies
from tests.specimens import grooving_tool, outline, turning_tool

# ISO 1832, symbols for insert shape: included angle, degrees.
PUBLISHED_SHAPES = {"C": 80, "D": 55, "E": 75, "S": 90, "T": 60, "V": 35, "W": 80}

# 180 - approach - included, degrees; approach of a holder style by ISO 5608 (J 93, L 95; letters from memory).
PUBLISHED_TRAILING = [(93, "D", 32), (93, "V", 52), (95, "C", 5)]

tools = st.one_of(
    st.builds(
        lambda shape, approach, r, hand: turning_tool(
            shape=shape, approach=min(approach, 178 - INCLUDED[shape]), nose_radius=r, hand=hand
        ),
        st.sampled_from("CDESTVW"), st.floats(45.0, 140.0), st.floats(0.02, 0.8), st.sampled_from(["right", "left"]),
    ),
    st.builds(
        lambda included, approach, r: turning_tool(
            shape="", included=included, approach=min(approach, 178 - included), nose_radius=r
        ),
        st.floats(20.0, 120.0), st.floats(45.0, 140.0), st.floats(0.02, 0.8),
    ),
    st.builds(lambda r: turning_tool(shape="R", approach=90.0, nose_radius=r), st.floats(0.1, 6.0)),
    st.builds(
        lambda r, extra, hand: grooving_tool(width=2 * r + extra, nose_radius=r, hand=hand),
        st.floats(0.0, 1.0), st.floats(0.1, 2.0), st.sampled_from(["right", "left"]),
    ),
)  # fmt: skip


def test_insert_shapes_have_their_published_angles():
    assert {k: v for k, v in INCLUDED.items() if k != "R"} == PUBLISHED_SHAPES


@pytest.mark.parametrize(("approach", "shape", "trailing"), PUBLISHED_TRAILING)
def test_trailing_edge_has_its_published_clearance(approach, shape, trailing):
    tool = turning_tool(approach=float(approach), shape=shape)
    nose = tool_bodies(tool)[0].polygon
    rise = math.degrees(math.atan2(nose[1].x - nose[0].x, nose[1].z - nose[0].z))
    assert tool.trailing == pytest.approx(trailing)
    assert rise == pytest.approx(trailing)


def test_core_begins_at_the_nose_centre_and_leads_back_three_degrees_at_93():
    core = tool_bodies(turning_tool(nose_radius=0.2))[0]
    assert core.polygon[0] == Point(0.2, 0.2)
    last = core.polygon[-1]
    assert math.degrees(math.atan2(last.z - 0.2, last.x - 0.2)) == pytest.approx(3.0)
    assert core.round == 0.2
    assert core.cuts


@pytest.mark.parametrize("shape", "CDESTVW")
def test_edges_of_an_insert_are_equal(shape):
    corners = tool_bodies(turning_tool(shape=shape, approach=91.0))[0].polygon
    assert len(corners) == {"T": 3, "W": 6}.get(shape, 4)
    sides = [math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)]
    assert sides == pytest.approx([sides[0]] * len(sides))


@pytest.mark.parametrize("shape", "CDESTVW")
def test_trailing_edge_ends_at_its_length_from_the_sharp_corner(shape):
    tool = turning_tool(shape=shape, approach=91.0, edge=6.0, nose_radius=0.4)
    body = tool_bodies(tool)[0]
    half = math.radians(INCLUDED[shape]) / 2
    along = math.radians(tool.trailing)
    bisector = along + half
    corner = (0.4 - 0.4 / math.sin(half) * math.cos(bisector), 0.4 - 0.4 / math.sin(half) * math.sin(bisector))
    far = body.polygon[1]
    reach = (far.z - corner[0]) * math.cos(along) + (far.x - corner[1]) * math.sin(along) + body.round
    assert reach == pytest.approx(6.0)


@given(tools)
def test_cores_are_convex_counter_clockwise_and_touch_the_tip_lines(tool):
    nose = tool_bodies(tool)[0]
    if len(nose.polygon) > 2:
        assert is_convex(nose.polygon)
        assert shapely.LinearRing(nose.polygon).is_ccw
    side = 1 if tool.hand == "right" else -1
    assert Point(side * tool.nose_radius, float(tool.nose_radius)) in nose.polygon
    assert min(p.x for p in nose.polygon) == pytest.approx(tool.nose_radius)
    if tool.approach >= 90 and tool.trailing <= 90:
        assert min(side * p.z for p in nose.polygon) == pytest.approx(tool.nose_radius)


def test_left_hand_is_the_mirror_image_and_outlines_stay_as_given():
    holder = outline("shank", (1, 5), (8, 5), (8, 20))
    right = tool_bodies(turning_tool(outlines=(holder,)))
    left = tool_bodies(turning_tool(outlines=(holder,), hand="left"))
    assert {(-p.z, p.x) for p in right[0].polygon} == set(left[0].polygon)
    assert is_convex(left[0].polygon)
    assert left[1] == right[1]


def test_outlines_follow_the_nose_sharp_and_do_not_cut():
    bodies = tool_bodies(turning_tool(outlines=(outline("shank", (1, 5), (8, 5), (8, 20)),)))
    assert [(b.name, b.round, b.cuts) for b in bodies] == [("nose", 0.2, True), ("shank", 0.0, False)]


def test_round_insert_is_a_disk():
    nose = tool_bodies(turning_tool(shape="R", approach=90.0, nose_radius=3.0))[0]
    assert nose.polygon == (Point(3.0, 3.0),)
    assert nose.round == 3.0


def test_grooving_tool_is_a_slot_from_its_headstock_side_corner():
    nose = tool_bodies(grooving_tool())[0]
    box = bounds(nose.polygon)
    assert box == pytest.approx((0.1, 0.1, 0.9, 2.9))


def test_grooving_tool_with_one_radius_end_is_a_capsule():
    nose = tool_bodies(grooving_tool(width=1.0, nose_radius=0.5))[0]
    assert nose.polygon == (Point(0.5, 0.5), Point(0.5, 2.5))


def test_edge_shorter_than_its_nose_leaves_nothing():
    assert edge_left(turning_tool(edge=0.5, nose_radius=0.4)) < 0


@given(st.floats(0.02, 0.12), st.sampled_from([47.5, 55.0, 60.0]), st.floats(0.05, 2.5))
def test_the_side_of_a_threading_tool_stands_where_its_shape_has_it(nose: float, included: float, height: float):
    tool = grooving_tool(kind="threading", nose_radius=nose, included=included)
    body = tool_bodies(tool)[0]
    shape = shapely.Polygon(body.polygon).buffer(nose, quad_segs=64)
    below = shape.intersection(shapely.box(-9.0, -9.0, 9.0, height))
    tip = nose * (1 - math.sin(math.radians(included / 2)))
    if height > tip:
        assert half_width(tool, height) == pytest.approx(-below.bounds[0], abs=2e-3)
