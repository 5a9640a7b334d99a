"""The metal's outline: closed forms, laws, and shapely's polygon difference as a slow oracle."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiPoint, Polygon, box
from shapely.ops import unary_union

from cam.geometry.path import Arc, Line, Point, flatten, point_at, sweep_angle
from cam.ground.problem import RangeError
from cam.judge.envelope import STOCK, Metal, crest, from_chain, height, lower, to_chain, trough
from cam.judge.sweep import Underside, along_arc, along_line, find_underside

BAR = (Line(Point(0, 0), Point(0, 8)), Line(Point(0, 8), Point(-40, 8)), Line(Point(-40, 8), Point(-40, 0)))


def knife(nose: float, trailing: float, size: float = 60.0) -> Underside:
    """A right-hand tool whose leading edge is square to the axis."""
    angle = math.radians(trailing)
    end = Point(nose + size * math.cos(angle), nose + size * math.sin(angle))
    return find_underside((Point(nose, nose), end, Point(nose, nose + size)), nose)


def blade(width: float, nose: float) -> Underside:
    return find_underside(
        (Point(nose, nose), Point(width - nose, nose), Point(width - nose, 50), Point(nose, 50)), nose
    )


# --- closed forms -------------------------------------------------------------------------------------------------


def test_a_bar_comes_back_as_it_went_in():
    assert to_chain(from_chain(BAR)) == BAR


def test_a_shoulder_turned_with_a_round_nose_has_the_nose_for_a_fillet():
    metal = Metal(from_chain(BAR))
    metal.cut(along_line(knife(0.4, 30), Point(2, 5), Point(-10, 5), 7))
    assert to_chain(metal.pieces) == (
        Line(Point(0, 0), Point(0, 5)),
        Line(Point(0, 5), Point(-9.6, 5)),
        Arc(Point(-9.6, 5), Point(-10, 5.4), Point(-9.6, 5.4), -1),
        Line(Point(-10, 5.4), Point(-10, 8)),
        Line(Point(-10, 8), Point(-40, 8)),
        Line(Point(-40, 8), Point(-40, 0)),
    )
    assert [p[6] for p in metal.pieces] == [STOCK, 7, 7]


def test_the_same_cut_again_takes_nothing_and_keeps_the_first_number():
    metal = Metal(from_chain(BAR))
    sweep = along_line(knife(0.4, 30), Point(2, 5), Point(-10, 5), 1)
    assert metal.cut(sweep)
    before = list(metal.pieces)
    assert metal.cut(along_line(knife(0.4, 30), Point(2, 5), Point(-10, 5), 2)) == []
    assert metal.pieces == before


def test_a_cone_cut_by_the_offset_path_is_the_cone():
    """Taper of angle a: the tip is shifted by r (1 - sin a) along Z and r (1 - cos a) inward (exact)."""
    r, a = 0.4, math.radians(5)
    shift_z, shift_x = r * (math.sin(a) - 1), r * (math.cos(a) - 1)
    metal = Metal(from_chain(BAR))
    ends = [Point(z + shift_z, 6 - z * math.tan(a) + shift_x) for z in (1, -20)]
    metal.cut(along_line(knife(r, 30), *ends, 1))
    for z in (-0.5, -5, -19.5):
        assert metal.at(z) == pytest.approx(6 - z * math.tan(a), abs=1e-12)


def test_a_round_edge_turned_along_an_arc_is_that_round():
    """Outer round of radius e about (-e, 5 - e): the nose centre runs concentric with radius e + r."""
    r, e = 0.2, 0.5
    metal = Metal(from_chain(BAR))
    tool = knife(r, 30)
    metal.cut(along_line(tool, Point(2, 5), Point(-30, 5), 1))
    start, end = Point(-e - r, 5), Point(0, 5 - e - r)
    for sweep in along_arc(tool, start, end, Point(-e - r, 5 - e - r), -1, 2):
        metal.cut(sweep)
    for z in (-0.01, -0.1, -0.3, -0.49):
        assert metal.at(z) == pytest.approx(5 - e + math.sqrt(e * e - (z + e) ** 2), abs=1e-12)
    assert metal.at(-0.6) == 5.0


def test_a_fillet_larger_than_the_nose_is_one_arc():
    r, f = 0.2, 1.0
    metal = Metal(from_chain(BAR))
    tool = knife(r, 30)
    metal.cut(along_line(tool, Point(2, 5), Point(-9 - r, 5), 1))
    centre = Point(-9 - r, 5 + f - r)
    for sweep in along_arc(tool, Point(-9 - r, 5), Point(-10, 5 + f - r), centre, -1, 2):
        metal.cut(sweep)
    for z in (-9.1, -9.5, -9.9):
        assert metal.at(z) == pytest.approx(5 + f - math.sqrt(f * f - (z + 9) ** 2), abs=1e-12)


def test_a_grooving_tool_leaves_its_own_shape():
    metal = Metal(from_chain(BAR))
    metal.cut(along_line(blade(1.0, 0.1), Point(-10, 9), Point(-10, 7), 3))
    assert metal.at(-9.5) == 7.0
    assert metal.at(-10 + 0.05) == pytest.approx(7.1 - math.sqrt(0.01 - 0.0025), abs=1e-12)
    assert metal.at(-10, before=True) == 8.0
    assert metal.at(-9) == 8.0
    assert metal.at(-9.05) == pytest.approx(7.1 - math.sqrt(0.01 - 0.0025), abs=1e-12)


def test_facing_past_the_axis_takes_the_end_away():
    metal = Metal(from_chain(BAR))
    metal.cut(along_line(knife(0.2, 30), Point(-0.5, 9), Point(-0.5, -0.2), 1))
    chain = to_chain(metal.pieces)
    assert chain[0] == Line(Point(-0.5, 0), Point(-0.5, 8))
    assert all(s.start.x >= 0 for s in chain)


def test_facing_short_of_the_axis_leaves_a_pip():
    metal = Metal(from_chain(BAR))
    metal.cut(along_line(knife(0.2, 0.5), Point(-0.5, 9), Point(-0.5, 0.3), 1))
    chain = to_chain(metal.pieces)
    assert chain[0].start == Point(0, 0)
    assert metal.at(-0.3) == pytest.approx(0.3, abs=1e-12)
    assert 0.3 < metal.at(-0.01) < 0.31


def test_outlines_that_turn_back_are_refused():
    with pytest.raises(RangeError, match="turns back"):
        from_chain((Line(Point(0, 0), Point(-5, 1)), Line(Point(-5, 1), Point(-2, 3))))
    with pytest.raises(RangeError, match="no length"):
        from_chain((Line(Point(0, 0), Point(0, 3)),))


def test_at_a_jump_either_height_can_be_had():
    metal = Metal(from_chain((Line(Point(0, 3), Point(-1, 3)), Line(Point(-1, 5), Point(-2, 5)))))
    assert (metal.at(-1), metal.at(-1, before=True)) == (3, 5)
    assert (metal.at(0), metal.at(0, before=True)) == (0, 3)
    assert metal.at(-2.5) == 0
    assert metal.highest(-1.5, 0) == 5
    assert metal.highest(-1, 0) == 3
    assert metal.top(1, 2) == metal.highest(1, 2) == -math.inf


# --- laws ---------------------------------------------------------------------------------------------------------

coordinate = st.integers(-3500, 500).map(lambda n: n / 100)
radius = st.integers(0, 1000).map(lambda n: n / 100)
spot = st.builds(Point, coordinate, radius)
tools = st.sampled_from([knife(0.1, 32), knife(0.4, 30), knife(0.8, 5), blade(1.0, 0.1), blade(3.0, 0.0),
                         find_underside((Point(1.5, 1.5),), 1.5)])  # fmt: skip


@st.composite
def arcs(draw):
    centre, r = draw(spot), draw(st.floats(0.05, 4))
    a = draw(st.floats(-math.pi, math.pi))
    b = a + draw(st.floats(0.01, 2 * math.pi - 0.01))
    return Arc(
        Point(centre.z + r * math.cos(a), centre.x + r * math.sin(a)),
        Point(centre.z + r * math.cos(b), centre.x + r * math.sin(b)),
        centre,
        draw(st.sampled_from([1, -1])),
    )


lines = st.builds(Line, spot, spot)
segments = st.one_of(lines, arcs())


def sweeps(tool, segment, source=0):
    if isinstance(segment, Line):
        return [along_line(tool, segment.start, segment.end, source)]
    return along_arc(tool, segment.start, segment.end, segment.centre, segment.turn, source)


@given(st.lists(st.tuples(tools, segments), min_size=1, max_size=6))
@settings(max_examples=30, deadline=None)
def test_pieces_stay_in_order_without_gaps_and_never_rise(cuts):
    metal = Metal(from_chain(BAR))
    for n, (tool, segment) in enumerate(cuts):
        before = Metal(metal.pieces)
        for sweep in sweeps(tool, segment, n):
            assert all(a[1] == b[0] for a, b in pairwise(sweep))
            metal.cut(sweep)
        assert metal.pieces[0][0] == -40
        assert metal.pieces[-1][1] == 0
        assert all(a[1] == b[0] and a[0] < a[1] for a, b in pairwise(metal.pieces))
        assert metal.starts == [p[0] for p in metal.pieces]
        assert metal.tops == [crest(p, p[0], p[1]) for p in metal.pieces]
        for k in range(-399, 0, 7):
            assert metal.at(k / 10) <= before.at(k / 10) + 1e-9


@given(st.lists(st.tuples(tools, segments), min_size=2, max_size=5), st.randoms())
@settings(max_examples=30, deadline=None)
def test_the_order_of_cuts_does_not_matter(cuts, random):
    shuffled = list(cuts)
    random.shuffle(shuffled)
    first, second = Metal(from_chain(BAR)), Metal(from_chain(BAR))
    for metal, order in ((first, cuts), (second, shuffled)):
        for tool, segment in order:
            for sweep in sweeps(tool, segment):
                metal.cut(sweep)
    for k in range(-3999, 0, 13):
        z = k / 100 + 0.00123
        assert first.at(z) == pytest.approx(second.at(z), abs=2e-7)


@given(tools, segments)
@settings(max_examples=40, deadline=None)
def test_cutting_again_finds_nothing_left(tool, segment):
    metal = Metal(from_chain(BAR))
    for sweep in sweeps(tool, segment):
        metal.cut(sweep)
    for sweep in sweeps(tool, segment):
        for z0, z1, old, new in metal.overlap(sweep):
            middle = (z0 + z1) / 2
            assert z1 - z0 < 1e-6 or height(old, middle) - height(new, middle) < 1e-7


@given(tools, segments, st.floats(0, 1), st.floats(-1.2, 1.2))
@settings(max_examples=30, deadline=None)
def test_no_place_of_the_body_on_its_way_lies_below_the_underside(tool, segment, fraction, across):
    """The body at rest anywhere on the path stays inside what the sweep claims, and reaches it somewhere."""
    place = point_at(segment, fraction)
    still = along_line(tool, place, place, 0)
    swept = sweeps(tool, segment)
    middle = (still[0][0] + still[-1][1]) / 2
    z = middle + across * (still[-1][1] - middle) * 0.999
    mine = [height(p, z) for p in still if p[0] <= z <= p[1]]
    theirs = [height(p, z) for s in swept for p in s if p[0] <= z <= p[1]]
    if mine:
        assert min(theirs) <= min(mine) + 1e-7


@given(st.lists(st.tuples(tools, segments), min_size=1, max_size=4))
@settings(max_examples=30, deadline=None)
def test_crest_and_trough_bound_every_piece(cuts):
    metal = Metal(from_chain(BAR))
    for tool, segment in cuts:
        for sweep in sweeps(tool, segment):
            metal.cut(sweep)
    for piece in metal.pieces:
        top, low = crest(piece, piece[0], piece[1]), trough(piece, piece[0], piece[1])
        for k in range(11):
            assert low - 2e-7 <= height(piece, piece[0] + k / 10 * (piece[1] - piece[0])) <= top + 2e-7
    assert lower(metal.pieces, metal.pieces)[1] == []


# --- shapely as the oracle ----------------------------------------------------------------------------------------


def disk(r: float, points: int) -> Polygon:
    return Polygon(
        [(r * math.cos(2 * math.pi * k / points), r * math.sin(2 * math.pi * k / points)) for k in range(points)]
    )


def body(tool: Underside, points: int) -> Polygon:
    """The tool's lower corners with an inscribed polygon for the nose, carried up out of sight."""
    up = [(z, x) for z, x in tool.corners] + [(tool.corners[0][0], 99.0), (tool.corners[-1][0], 99.0)]
    if not tool.round:
        return MultiPoint(up).convex_hull
    nose = disk(tool.round, points).exterior.coords
    return MultiPoint([(z + dz, x + dx) for z, x in up for dz, dx in nose]).convex_hull


def path_points(segment, chord=1e-3):
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    count = max(8, math.ceil(sweep_angle(segment) / (2 * math.acos(1 - min(chord / segment.radius, 1)))))
    return [point_at(segment, k / count) for k in range(count + 1)]


def swept(tool: Underside, segment, points: int, chord=1e-3) -> Polygon:
    shape, places = body(tool, points), path_points(segment, chord)
    parts = []
    for a, b in pairwise(places):
        both = [affinity.translate(shape, *p) for p in (a, b)]
        parts.append(unary_union(both).convex_hull)
    return unary_union(parts)


def outline_polygon(metal: Metal, chord: float = 1e-7) -> Polygon:
    points = [p for s in to_chain(metal.pieces) for p in flatten(s, chord)]
    return Polygon([(p.z, p.x) for p in points])


def stray(a: Polygon, b: Polygon) -> float:
    """Thickness of the difference of two shapes: the widest disk, bounded by area over length of each piece."""
    worst = 0.0
    for part in shapely.get_parts(a.symmetric_difference(b)):
        if part.area > 0:
            worst = max(worst, 2 * part.area / part.exterior.length)
    return worst


def farthest(a: Polygon, b: Polygon) -> float:
    """Greatest distance from a's corners, and places between them, to b's boundary."""
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(a.exterior, 0.2)))
    return float(shapely.distance(places, LineString(b.exterior)).max())


def nose_cuts():
    """A stepped arbor's cuts: levels, shoulders, taper, chamfer, round and fillet."""
    t = knife(0.4, 30)
    r, f = 0.7, 2.1
    on = [Point(-20.1 + r * math.cos(a), 5.75 + r * math.sin(a)) for a in (2.0, 0.2)]
    hollow = [Point(-4.3 + f * math.cos(a), 6.5 + f * math.sin(a)) for a in (-1.4, -2.3)]
    return [
        (t, Line(Point(1, 7), Point(-30, 7))),
        (t, Line(Point(1, 6), Point(-20, 6))),
        (t, Line(Point(-20, 6), Point(-20, 7.5))),
        (t, Line(Point(1, 4.5), Point(-11, 5.2))),
        (t, Line(Point(-11, 5.2), Point(-11, 6.3))),
        (t, Arc(*on, Point(-20.1, 5.75), -1)),
        (t, Arc(*hollow, Point(-4.3, 6.5), -1)),
        (blade(1.0, 0.1), Line(Point(-15, 8), Point(-15, 5.5))),
        (t, Line(Point(-5, 5), Point(1, 3.5))),
    ]


@pytest.mark.parametrize(("points", "allowed"), [
    (200, 0.06e-3), pytest.param(800, 0.01e-3, marks=pytest.mark.slow),
])  # fmt: skip
def test_the_outline_agrees_with_polygon_differences(points, allowed):
    """allowed is a little above the sagitta 0.4 mm * (1 - cos(pi / points)): 0.049 and 0.0031 um."""
    metal = Metal(from_chain(BAR))
    slow = box(-40, 0, 0, 8)
    for tool, segment in nose_cuts():
        for sweep in sweeps(tool, segment):
            metal.cut(sweep)
        slow = slow.difference(swept(tool, segment, points, chord=2e-6))
        ours = outline_polygon(metal, 4e-7)
        assert farthest(ours, slow) < allowed
        assert farthest(slow, ours) < allowed


@given(st.lists(st.tuples(tools, segments), min_size=1, max_size=4))
@settings(max_examples=40, deadline=None)
def test_random_cuts_agree_with_polygon_differences(cuts):
    metal = Metal(from_chain(BAR))
    slow = box(-40, 0, 0, 8)
    for tool, segment in cuts:
        for sweep in sweeps(tool, segment):
            metal.cut(sweep)
        slow = slow.difference(swept(tool, segment, 200, chord=1e-4))
    if not to_chain(metal.pieces):
        assert slow.area < 1e-3
        return
    ours = outline_polygon(metal, 1e-6)
    assert stray(ours, slow) < 1.5e-3
    assert ours.area == pytest.approx(slow.area, abs=2e-2)
