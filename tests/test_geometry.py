"""Lines, arcs and convex polygons: closed forms, shapely as the oracle, laws for all inputs."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cam.geometry import convex, path
from cam.geometry.meet import clearance, meetings
from cam.geometry.path import Arc, Line, Point
from cam.ground.problem import RangeError

QUARTER = Arc(Point(0, 4), Point(-1, 5), Point(-1, 4), 1)  # outside corner R1 turned toward the headstock
places = st.floats(-20, 20).map(lambda v: round(v, 3))
points = st.builds(Point, places, places)
angles = st.floats(0, 6.283)


@st.composite
def arcs(draw):
    centre, r, a, b = draw(points), draw(st.floats(0.05, 15)), draw(angles), draw(angles)
    assume(abs(a - b) > 1e-3)
    start = Point(centre.z + r * math.cos(a), centre.x + r * math.sin(a))
    end = Point(centre.z + r * math.cos(b), centre.x + r * math.sin(b))
    return Arc(start, end, centre, draw(st.sampled_from((1, -1))))


@st.composite
def lines(draw):
    a, b = draw(points), draw(points)
    assume(math.dist(a, b) > 1e-3)
    return Line(a, b)


segments = st.one_of(lines(), arcs())


@st.composite
def polygons(draw):
    polygon = convex.hull(draw(st.lists(points, min_size=3, max_size=12)))
    assume(len(polygon) > 2 and shapely.Polygon(polygon).area > 1e-2)
    return polygon


def same(one, two, within=1e-9):
    assert math.dist(one, two) <= within


# ---- segments -------------------------------------------------------------------------------------


def test_quarter_arc_by_closed_form():
    assert path.sweep_angle(QUARTER) == pytest.approx(math.pi / 2, abs=1e-15)
    assert path.length(QUARTER) == pytest.approx(math.pi / 2, abs=1e-15)
    same(path.point_at(QUARTER, 0.5), Point(-1 + math.sqrt(0.5), 4 + math.sqrt(0.5)), 1e-15)
    assert path.bounds(QUARTER) == (-1, 4, 0, 5)


@pytest.mark.parametrize(
    ("turn", "sweep", "box"),
    [(1, math.pi / 2, (0, 0, 2, 2)), (-1, 1.5 * math.pi, (-2, -2, 2, 2))],
)
def test_the_sense_of_turn_chooses_the_way_round(turn, sweep, box):
    arc = Arc(Point(2, 0), Point(0, 2), Point(0, 0), turn)
    assert path.sweep_angle(arc) == pytest.approx(sweep, abs=1e-15)
    assert path.bounds(arc) == box


def test_a_full_circle_has_equal_ends():
    circle = Arc(Point(3, 1), Point(3, 1), Point(1, 1), -1)
    assert path.sweep_angle(circle) == 2 * math.pi
    assert path.bounds(circle) == (-1, -1, 3, 3)
    same(path.point_at(circle, 0.25), Point(1, -1), 1e-15)
    assert path.spans(circle, Point(1, 9))


def test_published_arcs_of_a_contour():
    """T. Kramer, F. Proctor, E. Messina, NISTIR 6556 (2000), appendix B table 12 and C.1.

    In table 12 the arc of N0080 (G2 X-2.6 Y-0.2 J1 from (-2, -2)) has radius 1 and centre (-2, -1); in C.1
    `g3 x13.5 y0 i-2.5` from (16, 2.5) turns 270 degrees.
    """
    arc = Arc(Point(-2, -2), Point(-2.6, -0.2), Point(-2, -1), -1)
    assert arc.radius == 1
    assert math.dist(arc.end, arc.centre) == pytest.approx(1, abs=1e-12)
    assert path.sweep_angle(arc) == pytest.approx(math.pi / 2 + math.atan2(0.8, 0.6), abs=1e-12)
    three_quarters = Arc(Point(16, 2.5), Point(13.5, 0), Point(13.5, 2.5), 1)
    assert math.degrees(path.sweep_angle(three_quarters)) == pytest.approx(270, abs=1e-12)


@given(segments)
def test_a_reversed_piece_has_the_same_points_backwards(segment):
    back = path.reverse(segment)
    assert path.length(back) == pytest.approx(path.length(segment), abs=1e-9)
    for share in (0, 0.3, 1):
        same(path.point_at(back, share), path.point_at(segment, 1 - share))
    assert path.reverse(back) == segment


@given(segments)
def test_mirroring_twice_and_shifting_back_change_nothing(segment):
    assert path.mirror_z(path.mirror_z((segment,))) == (segment,)
    (moved,) = path.shift(path.shift((segment,), 3.5, -1.25), -3.5, 1.25)
    same(path.point_at(moved, 0.7), path.point_at(segment, 0.7))
    (mirrored,) = path.mirror_z((segment,))
    z, x = path.point_at(segment, 0.7)
    same(path.point_at(mirrored, 0.7), Point(-z, x))


@given(segments, st.floats(1e-4, 0.5))
def test_chords_stray_no_more_than_asked(segment, sagitta):
    chords = path.flatten(segment, sagitta)
    assert chords[0] == segment.start
    assert chords[-1] == segment.end
    fine = shapely.LineString([path.point_at(segment, i / 400) for i in range(401)])
    assert fine.hausdorff_distance(shapely.LineString(chords)) <= sagitta + 1e-9 or len(chords) > 400


@given(segments)
def test_bounds_hold_every_point_and_are_reached(segment):
    box = path.bounds(segment)
    around = shapely.LineString([path.point_at(segment, i / 2000) for i in range(2001)]).bounds
    assert all(abs(a - b) < 1e-4 for a, b in zip(box, around, strict=True))
    assert box[0] <= around[0] + 1e-12
    assert box[3] >= around[3] - 1e-12


def test_bounds_of_chains_and_polygons():
    assert path.bounds((QUARTER, Line(Point(-1, 5), Point(-7, 3)))) == (-7, 3, 0, 5)
    assert path.bounds((Point(1, 2), Point(4, 0), Point(3, 6))) == (1, 0, 4, 6)
    with pytest.raises(RangeError):
        path.bounds(())


@given(segments, points)
def test_nearest_point_is_nearest(segment, point):
    near = path.nearest_on(segment, point)
    fine = [path.point_at(segment, i / 500) for i in range(501)]
    assert math.dist(near, point) <= min(math.dist(p, point) for p in fine) + 1e-9
    assert min(math.dist(p, near) for p in fine) <= path.length(segment) / 1000 + 1e-9


@settings(max_examples=80)
@given(segments, segments)
def test_meetings_and_clearance_agree_with_shapely(a, b):
    one, two = (shapely.LineString(path.flatten(s, 1e-6)) for s in (a, b))
    assert clearance(a, b) == pytest.approx(one.distance(two), abs=3e-6)
    for p in meetings(a, b):
        assert max(math.dist(p, path.nearest_on(s, p)) for s in (a, b)) <= 1e-9


def test_meetings_by_closed_form():
    circle = Arc(Point(5, 0), Point(5, 0), Point(0, 0), 1)
    assert sorted(meetings(circle, Line(Point(-9, 3), Point(9, 3)))) == [Point(-4, 3), Point(4, 3)]
    assert meetings(circle, Line(Point(-9, 5), Point(9, 5))) == [Point(0, 5)]
    other = Arc(Point(11, 0), Point(11, 0), Point(6, 0), 1)
    assert sorted(meetings(circle, other)) == [Point(3, -4), Point(3, 4)]
    assert clearance(circle, Arc(Point(3, 1), Point(3, 1), Point(2, 1), 1)) == pytest.approx(4 - math.sqrt(5))


@given(segments, st.floats(0, 1))
def test_the_share_of_a_place_on_a_path_gives_it_back(segment, share):
    for place in (path.point_at(segment, share), segment.start, segment.end):
        found = path.share_on(segment, place)
        assert 0 <= found <= 1 + 1e-9
        same(path.point_at(segment, found), place, 1e-6)


@given(segments, segments)
def test_box_gap_is_a_lower_bound(a, b):
    assert path.box_gap(path.bounds(a), path.bounds(b)) <= clearance(a, b) + 1e-9


# ---- polygons -------------------------------------------------------------------------------------

SQUARE = (Point(0, 0), Point(2, 0), Point(2, 2), Point(0, 2))


def test_hull_drops_what_is_not_a_corner():
    inner = [Point(1, 1), Point(1, 0), Point(2, 1), Point(0.5, 2), Point(0, 1.999)]
    assert convex.hull([*reversed(SQUARE), *inner]) == SQUARE
    assert convex.hull([Point(1, 1), Point(3, 3), Point(2, 2)]) == (Point(1, 1), Point(3, 3))
    assert convex.hull([Point(1, 1)] * 3) == (Point(1, 1),)
    with pytest.raises(RangeError):
        convex.hull([])


@given(st.lists(points, min_size=3, max_size=30))
def test_a_hull_is_convex_and_leaves_no_point_outside(cloud):
    found = convex.hull(cloud)
    if len(found) > 2:
        assert convex.is_convex(found)
        assert found[0] == min(found)
        sides = list(zip(found, found[1:] + found[:1], strict=True))
        assert all(area(a, b, p) >= -1e-9 for a, b in sides for p in cloud)


def area(a, b, c):
    """Twice the area of a triangle, positive where it runs counter-clockwise."""
    return (b.z - a.z) * (c.x - a.x) - (b.x - a.x) * (c.z - a.z)


@pytest.mark.parametrize(
    ("corners", "answer"),
    [
        (SQUARE, True),
        (SQUARE[::-1], True),  # either way round
        ((*SQUARE, Point(0, 1)), True),  # a corner within an edge
        ((Point(0, 0), Point(2, 0), Point(0.5, 0.5), Point(0, 2)), False),
        ((Point(0, 0), Point(2, 2), Point(2, 0), Point(0, 2)), False),  # crosses itself
        (SQUARE[:2], False),
        ((Point(0, 0), Point(1, 0), Point(2, 0)), False),
        ((Point(0, 0), Point(1, 0), Point(0, 0)), False),
        (tuple(Point(math.cos(0.8 * k * math.pi), math.sin(0.8 * k * math.pi)) for k in range(5)), False),  # a star
    ],
)
def test_is_convex(corners, answer):
    assert convex.is_convex(corners) is answer


def test_minkowski_by_hand():
    assert set(convex.minkowski(SQUARE, SQUARE)) == {(0, 0), (4, 0), (4, 4), (0, 4)}
    assert set(convex.minkowski(SQUARE, (Point(5, 5),))) == {(5, 5), (7, 5), (7, 7), (5, 7)}
    swept = convex.minkowski(SQUARE, (Point(0, 0), Point(3, 3)))
    assert set(swept) == {(0, 0), (2, 0), (5, 3), (5, 5), (3, 5), (0, 2)}
    assert convex.reflect(SQUARE) == (Point(0, 0), Point(-2, 0), Point(-2, -2), Point(0, -2))


# ---- separation -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("segment", "distance"),
    [
        (Line(Point(-1, 3), Point(5, 3)), 1.0),  # beside an edge
        (Line(Point(3, 3), Point(5, 3)), math.sqrt(2)),  # corner to end
        (Line(Point(-1, 4), Point(4, -1)), -0.5),  # through a corner: deepest at (1.5, 1.5)
        (Line(Point(-5, 1), Point(5, 1)), -1.0),  # through the middle
        (Line(Point(0.5, 0.5), Point(0.5, 0.5)), -0.5),  # a point inside
        (Line(Point(-5, 2), Point(5, 2)), 0.0),  # along an edge
        (Line(Point(2, 2), Point(5, 5)), 0.0),  # touches a corner
        (Arc(Point(4, 1), Point(4, 1), Point(1, 1), 1), 3 - math.sqrt(2)),  # a circle around it: from a corner
        (Arc(Point(1, 1.5), Point(1, 1.5), Point(1, 1), 1), -0.5),  # a circle inside it; its whole rim 0.5 to 0.65
        (Arc(Point(5, 1), Point(5, 1), Point(4, 1), -1), 1.0),  # a circle beside it
        (Arc(Point(1, -2), Point(3, 0), Point(1, 0), -1), 0.0),  # long way round, through the square's corner region
    ],
)
def test_separation_by_closed_form(segment, distance):
    ((found, on_path, on_polygon, _),) = convex.separations([SQUARE], [0.0], [segment])
    if isinstance(segment, Arc) and distance in (-0.5, 0.0):
        fine = [path.point_at(segment, i / 4000) for i in range(4001)]
        distance = -max(depth(SQUARE, p) for p in fine)
        assert found == pytest.approx(distance, abs=1e-3)
    else:
        assert found == pytest.approx(distance, abs=1e-9)
    assert math.dist(on_path, on_polygon) == pytest.approx(abs(found), abs=1e-9)


def depth(polygon, p):
    """How deep a place lies inside a convex polygon, mm; negative outside."""
    return min(area(a, b, p) / math.dist(a, b) for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True))


def away(polygon, p):
    """How far a place outside a polygon lies from it, mm."""
    sides = (Line(a, b) for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True))
    return min(math.dist(path.nearest_on(side, p), p) for side in sides)


@settings(max_examples=60, deadline=None)
@given(st.lists(polygons(), min_size=1, max_size=3), st.floats(0, 0.5), segments)
def test_no_place_of_a_path_is_nearer_than_its_separation_and_one_is_as_near(shapes, rounding, segment):
    """By plain sums along the path, place by place."""
    (near,) = convex.separations(shapes, [rounding] * len(shapes), [segment])
    assert math.dist(near.on_path, near.on_polygon) == pytest.approx(abs(near.distance + rounding), abs=1e-6)
    assert math.dist(path.nearest_on(segment, near.on_path), near.on_path) < 2e-4
    step = path.length(segment) / 300
    for which, shape in enumerate(shapes):
        fine = [path.point_at(segment, i / 300) for i in range(301)]
        least = min(-depth(shape, p) if depth(shape, p) > 0 else away(shape, p) for p in fine) - rounding
        assert near.distance <= least + 2e-4
        if which == near.which:
            assert near.distance >= least - step


@given(polygons(), polygons(), segments)
def test_configuration_space_is_the_tool_against_the_obstacle(obstacle, tool, segment):
    """Separation from the grown obstacle is the distance between obstacle and tool, at the pose it names."""
    grown = convex.minkowski(obstacle, convex.reflect(tool))
    ((distance, at, _, _),) = convex.separations([grown], [0.0], [segment])
    posed = shapely.Polygon([(p.z + at.z, p.x + at.x) for p in tool])
    if distance > 1e-6:
        assert posed.distance(shapely.Polygon(obstacle)) == pytest.approx(distance, abs=1e-7)
    elif distance < -1e-3:
        assert posed.intersection(shapely.Polygon(obstacle)).area > 0
