"""Nearness to obstacles and to the work, against shapely and against closed forms."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import Point as Spot

from cam.geometry.path import Arc, Line, Point, bounds, flatten
from cam.judge.clearance import find_gap, find_tip, outline_distance, sides_of
from cam.judge.contact import find_pairs, nearest_points, nearest_to
from cam.judge.envelope import Metal, from_chain, to_chain
from cam.judge.near import worst_hit
from cam.judge.sweep import along_arc, along_line, find_underside
from cam.shop.tool_shape import Body, tool_bodies
from tests.simulate_case import OBSTACLES, box, make_shop
from tests.test_envelope import BAR, nose_cuts, sweeps

TOOLS = make_shop().tools
KNIFE = tool_bodies(TOOLS[0])
BLADE = tool_bodies(TOOLS[1])
ROUND = (Body(name="nose", polygon=(Point(1.5, 1.5),), round=1.5, cuts=True),)

along = st.integers(-70_000, 40_000).map(lambda n: n / 1000)
across = st.integers(0, 40_000).map(lambda n: n / 1000)
place = st.builds(Point, along, across)
axial = st.builds(lambda p, z: Line(p, Point(z, p.x)), place, along)
radial = st.builds(lambda p, x: Line(p, Point(p.z, x)), place, across)
slanted = st.builds(Line, place, place)


@st.composite
def arcs(draw):
    centre, r, a = draw(place), draw(st.floats(0.1, 10)), draw(st.floats(-math.pi, math.pi))
    b = a + draw(st.floats(0.1, 6))
    ends = [Point(centre.z + r * math.cos(t), centre.x + r * math.sin(t)) for t in (a, b)]
    return Arc(*ends, centre, draw(st.sampled_from([1, -1])))


paths = st.one_of(axial, radial, slanted, arcs())


def solid(body: Body, path: Line | Arc) -> Polygon:
    """The body's core swept along a path."""
    parts = []
    core = MultiPoint(body.polygon)
    for a, b in pairwise(flatten(path, 1e-3)):
        parts.append(affinity.translate(core, *a).union(affinity.translate(core, *b)).convex_hull)
    return parts[0] if len(parts) == 1 else shapely.union_all(parts)


def swept(body: Body, path: Line | Arc) -> Polygon:
    """The body's core swept along a path, chord by chord, an arc within 0.01 um."""
    ways = np.array(list(pairwise(flatten(path, 1e-5))))
    corners = ways[:, :, None, :] + np.array(body.polygon)
    return shapely.convex_hull(shapely.multipoints(corners.reshape(len(ways), -1, 2)))


@given(st.sampled_from([KNIFE, BLADE, ROUND]), st.lists(paths, min_size=1, max_size=5))
@settings(max_examples=40, deadline=None)
def test_the_nearest_obstacle_is_that_of_the_swept_bodies(bodies, moves):
    """Within 0.1 um: every body swept along its path, and not the obstacle grown by it."""
    for path, near in zip(moves, nearest_to(find_pairs(bodies, OBSTACLES), moves), strict=True):
        apart = {
            (b.name, o.name): shapely.distance(swept(b, path), Polygon(o.polygon)).min() - b.round
            for b in bodies for o in OBSTACLES
        }  # fmt: skip
        least = min(apart.values())
        if least <= -max(b.round for b in bodies):
            assert near.distance <= least + 1e-4
        else:
            assert near.distance == pytest.approx(least, abs=1e-4)
            assert apart[near.pair.body.name, near.pair.obstacle.name] == pytest.approx(least, abs=1e-4)


@given(st.sampled_from([KNIFE, BLADE, ROUND]), paths)
@settings(max_examples=60, deadline=None)
def test_the_two_points_lie_on_tool_and_obstacle_and_are_that_far_apart(bodies, path):
    near = nearest_to(find_pairs(bodies, OBSTACLES), [path])[0]
    on_tool, on_obstacle = nearest_points(near)
    assert math.dist(on_tool, on_obstacle) == pytest.approx(abs(near.distance), abs=1e-6)
    obstacle = Polygon(near.pair.obstacle.polygon)
    assert obstacle.exterior.distance(Spot(on_obstacle)) < 1e-6 or near.distance < 0
    assert obstacle.distance(Spot(on_obstacle)) < 1e-6
    tool = solid(near.pair.body, Line(near.tip, near.tip))
    assert tool.distance(Spot(on_tool)) <= near.pair.body.round + 1e-6
    assert LineString(flatten(path, 1e-6)).distance(Spot(near.tip)) < (2e-6 if near.distance > 0 else 1.1e-4)


def test_the_room_beside_a_sixty_degree_centre():
    """Tip alone: the start off the end is (pivot radius - hole diameter / 2) / tan 30 when it touches.

    Plain geometry: the cone's radius a distance s off the end is h / 2 + s tan 30.
    """
    point = (Body(name="nose", polygon=(Point(0, 0),), round=0.0, cuts=True),)
    s = (1.5 - 1.0) / math.tan(math.radians(30))
    path = Line(Point(s, 10), Point(s, 1.5))
    near = nearest_to(find_pairs(point, OBSTACLES), [path])[0]
    assert near.pair.obstacle.name == "centre cone"
    assert near.distance == pytest.approx(0.0, abs=1e-12)
    deeper = Line(Point(s + 0.1, 10), Point(s + 0.1, 1.5))
    near = nearest_to(find_pairs(point, OBSTACLES), [deeper])[0]
    assert near.distance == pytest.approx(-0.1 * math.sin(math.radians(30)), abs=1e-12)


def test_of_two_faces_alongside_the_points_face_each_other():
    block = box("block", 0, 10, 0, 5)
    bodies = (Body(name="post", polygon=(Point(0, 0), Point(4, 0), Point(4, 9), Point(0, 9)), round=0.0, cuts=False),)
    path = Line(Point(3, 8), Point(3, 7))
    near = nearest_to(find_pairs(bodies, (block,)), [path])[0]
    on_tool, on_obstacle = nearest_points(near)
    assert near.distance == 2
    assert (on_tool.x, on_obstacle.x) == (7, 5)
    assert on_tool.z == on_obstacle.z == 5


# --- beside the work ----------------------------------------------------------------------------------------------


def worked() -> Metal:
    metal = Metal(from_chain(BAR))
    for tool, segment in nose_cuts():
        for sweep in sweeps(tool, segment):
            metal.cut(sweep)
    return metal


WORK = worked()
WORK_SHAPE = Polygon([(p.z, p.x) for s in to_chain(WORK.pieces) for p in flatten(s, 2e-6)])
BODIES = [*KNIFE, *BLADE, *ROUND]


@given(st.sampled_from(BODIES), st.one_of(axial, radial, slanted))
@settings(max_examples=100, deadline=None)
def test_the_gap_to_the_work_is_shapelys(body, path):
    apart = solid(body, path).distance(WORK_SHAPE) - body.round
    assume(apart > 1e-3)
    gap = find_gap(WORK, sides_of(body.polygon), body.round, path.start, path.end, 100.0)
    assert gap.distance == pytest.approx(apart, abs=3e-6)
    assert math.dist(gap.on_core, gap.on_work) == pytest.approx(gap.distance + body.round, abs=1e-9)
    assert WORK_SHAPE.exterior.distance(Spot(gap.on_work)) < 3e-6
    tip = find_tip(sides_of(body.polygon), path.start, path.end, gap)
    assert LineString([path.start, path.end]).distance(Spot(tip)) < 1e-6
    assert solid(body, Line(tip, tip)).distance(Spot(gap.on_core)) < 1e-5
    assert find_gap(WORK, sides_of(body.polygon), body.round, path.start, path.end, gap.distance) is None


@given(st.sampled_from(BODIES), paths)
@settings(max_examples=80, deadline=None)
def test_overlap_with_the_work_is_shapelys(body, path):
    assume(bounds(path)[1] >= 0)  # beyond the axis a short body may pass under the upper half
    under = find_underside(body.polygon, body.round)
    shape = solid(body, path)
    if body.round:
        shape = shape.buffer(body.round, quad_segs=64)
    meets = shape.intersection(WORK_SHAPE)
    if isinstance(path, Line):
        removed = WORK.overlap(along_line(under, path.start, path.end, 0))
    else:
        parts = along_arc(under, path.start, path.end, path.centre, path.turn, 0)
        removed = [r for sweep in parts for r in WORK.overlap(sweep)]
    hit = worst_hit(removed)
    if meets.area > 1e-2:
        assert hit.amount > 0
    if shape.distance(WORK_SHAPE) > 1e-3:
        assert hit.amount == 0


@given(st.floats(-39.9, -0.1), st.floats(0.01, 9))
@settings(max_examples=200, deadline=None)
def test_distance_to_an_outline_from_either_side_is_shapelys(z, x):
    ours = outline_distance(WORK, z, x, 50.0)
    surface = WORK_SHAPE.exterior.difference(shapely.box(-50, -1, 50, 0).buffer(1e-9))
    assert ours.distance == pytest.approx(Spot(z, x).distance(surface), abs=4e-6)
