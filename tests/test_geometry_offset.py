"""The nose offset against closed forms, against its own definition, and against shapely's buffer."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cam.geometry import path
from cam.geometry.offset import offset_chain, to_tip
from cam.geometry.path import Arc, Line, Point
from cam.ground.problem import RangeError

RIGHT, LEFT = -1, 1  # of travel toward the headstock with the metal below, the tool is on the right


def chain_of(*corners):
    return tuple(Line(Point(*a), Point(*b)) for a, b in pairwise(corners))


def close(one, two):
    assert math.dist(one, two) <= 1e-9


def test_a_line_moves_sideways():
    (moved,) = offset_chain((Line(Point(0, 3), Point(-8, 3)),), 0.4, RIGHT)
    assert moved == Line(Point(0, 3.4), Point(-8, 3.4))
    (moved,) = offset_chain((Line(Point(0, 3), Point(-8, 3)),), 0.4, LEFT)
    assert moved == Line(Point(0, 2.6), Point(-8, 2.6))


def test_outside_corner_gets_an_arc_about_it_and_inside_corner_is_trimmed():
    """A shoulder: out of the body's face to a smaller seat and up to the next face."""
    chain = chain_of((0, 3), (-8, 3), (-8, 5), (-20, 5))
    seat, face, corner, body = offset_chain(chain, 0.4, RIGHT)
    assert seat == Line(Point(0, 3.4), Point(-7.6, 3.4))
    close(face.end, (-7.6, 5))
    assert corner == Arc(Point(-7.6, 5), Point(-8, 5.4), Point(-8, 5), 1)
    assert body == Line(Point(-8, 5.4), Point(-20, 5.4))


def test_unrounded_corners_leave_a_gap():
    chain = chain_of((-8, 3), (-8, 5), (-20, 5))
    face, body = offset_chain(chain, 0.4, RIGHT, corners="none")
    close(face.end, (-7.6, 5))
    close(body.start, (-8, 5.4))


def test_rounds_and_fillets_keep_their_centres():
    """Outside corner R1 turned toward the headstock is G3, fillet R1 is G2, as ISO 841 axes give it.

    Derived from NISTIR 6556, 3.5.3 and 4.3.6.3: in the XZ plane G3 turns +Z toward +X.
    """
    corner = Arc(Point(0, 4), Point(-1, 5), Point(-1, 4), 1)
    seat = Line(Point(-1, 5), Point(-9, 5))
    fillet = Arc(Point(-9, 5), Point(-10, 6), Point(-9, 6), -1)
    one, two, three = offset_chain((corner, seat, fillet), 0.4, RIGHT)
    assert (one.centre, two, three.centre) == (corner.centre, Line(Point(-1, 5.4), Point(-9, 5.4)), fillet.centre)
    assert one.radius == pytest.approx(1.4, abs=1e-12)
    assert three.radius == pytest.approx(0.6, abs=1e-12)
    close(three.end, (-9.6, 6))


@pytest.mark.parametrize(("angle", "left_um"), [(5, 33), (45, 166)])
def test_leaving_the_nose_out_leaves_metal_on_a_taper(angle, left_um):
    """On a taper of angle a to the axis an uncompensated nose leaves r (cos a + sin a - 1).

    Derived by Pythagoras. The imaginary tip on the taper's line stands the nose that much off it, so
    the offset path of the tip is moved by exactly that along the taper's normal.
    """
    r, a = 0.4, math.radians(angle)
    taper = Line(Point(0, 2), Point(-10, 2 + 10 * math.tan(a)))
    (tip,) = to_tip(offset_chain((taper,), r, RIGHT), -r, -r)
    normal = (math.sin(a), math.cos(a))
    moved = (tip.start.z - taper.start.z) * normal[0] + (tip.start.x - taper.start.x) * normal[1]
    assert moved == pytest.approx(-r * (math.cos(a) + math.sin(a) - 1), abs=1e-12)
    assert round(-moved * 1000) == left_um


def test_line_into_arc_and_arc_into_arc_are_trimmed_where_they_meet():
    """Each trimmed point is at the offset distance from both neighbours: Pythagoras in each case."""
    neck = Line(Point(12, 4), Point(3, 4))
    ball = Arc(Point(3, 4), Point(-5, 0), Point(0, 0), 1)  # radius 5, standing on the neck
    one, two = offset_chain((neck, ball), 1.0, RIGHT)
    close(one.end, two.start)
    close(one.end, (math.sqrt(36 - 25), 5))
    hollow = Arc(Point(-6, 3), Point(-8, 3), Point(-7, 3), -1)  # half round groove of radius 1
    with pytest.raises(RangeError, match=r"piece 1 .arc of radius 1"):
        offset_chain((hollow,), 1.01, RIGHT)
    left, right = Arc(Point(8, 0), Point(0, 0), Point(4, 0), 1), Arc(Point(0, 0), Point(-8, 0), Point(-4, 0), 1)
    one, two = offset_chain((left, right), 1.0, RIGHT)  # two balls of radius 4 side by side
    close(one.end, (0, 3))
    close(two.start, (0, 3))


def test_a_fillet_as_tight_as_the_nose_shrinks_to_a_point():
    chain = (Line(Point(0, 3), Point(-7.8, 3)), Arc(Point(-7.8, 3), Point(-8, 3.2), Point(-7.8, 3.2), -1),
             Line(Point(-8, 3.2), Point(-8, 5)))  # fmt: skip
    seat, face = offset_chain(chain, 0.2, RIGHT)
    close(seat.end, (-7.8, 3.2))
    close(face.start, (-7.8, 3.2))
    with pytest.raises(RangeError, match=r"piece 2 .arc of radius 0.2000"):
        offset_chain(chain, 0.201, RIGHT)


@pytest.mark.parametrize(
    ("corners", "what"),
    [
        ([(0, 5), (-5, 5), (-5, 3), (-5.7, 3), (-5.7, 5), (-9, 5)], "piece 3"),  # groove 0.7 wide, nose 0.4
        ([(0, 3), (-5, 3), (-5.1, 3.1), (-5.1, 6)], "piece 2"),  # inner chamfer smaller than the nose leaves room for
        ([(0, 5), (-5, 4.9), (-5.001, 5), (-9, 5)], "piece"),  # a nick
        ([(0, 5), (-5, 5), (-5, 2), (-9, 2), (-9, 6), (-5.5, 6), (-5.5, 5.5)], "run into"),  # comes back at itself
    ],
)
def test_no_room_is_said_with_the_piece(corners, what):
    with pytest.raises(RangeError, match=what):
        offset_chain(chain_of(*corners), 0.4, RIGHT)


def test_bad_arguments_are_refused():
    with pytest.raises(RangeError, match="negative"):
        offset_chain(chain_of((0, 0), (1, 0)), -0.1, LEFT)
    with pytest.raises(RangeError, match="does not reach"):
        offset_chain((*chain_of((0, 0), (1, 0)), *chain_of((2, 0), (3, 0))), 0.1, LEFT)


def test_nothing_to_do_and_lines_of_no_length():
    chain = chain_of((0, 3), (-8, 3), (-8, 3), (-8, 5), (-8, 5), (-20, 5))
    assert offset_chain(chain, 0.0, RIGHT) == chain
    assert offset_chain(chain, 0.4, RIGHT) == offset_chain(chain_of((0, 3), (-8, 3), (-8, 5), (-20, 5)), 0.4, RIGHT)
    assert offset_chain((), 0.4, RIGHT) == ()


def test_a_hardly_bent_corner_is_joined_by_a_chord():
    chain = chain_of((0, 3), (-8, 3), (-16, 3 - 8e-6))
    one, chord, two = offset_chain(chain, 0.4, RIGHT)
    assert isinstance(chord, Line)
    assert (chord.start, chord.end) == (one.end, two.start)


# ---- laws -----------------------------------------------------------------------------------------


@st.composite
def profiles(draw):
    """A contour toward the headstock: steps, tapers, chamfers, rounds and fillets that the nose can follow."""
    nose = draw(st.sampled_from((0.05, 0.1, 0.2, 0.4)))
    z, x, chain = 0.0, draw(st.floats(1, 4)), []
    for _ in range(draw(st.integers(1, 5))):
        edge = draw(st.sampled_from(("sharp", "chamfer", "radius")))
        size = draw(st.floats(0.1, 0.6))
        if edge == "chamfer":
            chain.append(Line(Point(z, x), Point(z - size, x + size)))
        elif edge == "radius":
            chain.append(Arc(Point(z, x), Point(z - size, x + size), Point(z - size, x), 1))
        if edge != "sharp":
            z, x = z - size, x + size
        run, slope = draw(st.floats(2, 9)), draw(st.sampled_from((0.0, 0.01, 0.2, -0.02)))
        chain.append(Line(Point(z, x), Point(z - run, x + slope * run)))
        z, x = chain[-1].end
        fillet, rise = draw(st.floats(nose, 3 * nose)), draw(st.floats(1.5, 3))
        if slope == 0.0 and draw(st.booleans()):
            chain.append(Arc(Point(z, x), Point(z - fillet, x + fillet), Point(z, x + fillet), -1))
            z, x = chain[-1].end
        chain.append(Line(Point(z, x), Point(z, x + rise)))
        x += rise
    return nose, tuple(chain)


@given(profiles())
def test_every_point_of_the_offset_is_exactly_the_radius_away(case):
    nose, chain = case
    moved = offset_chain(chain, nose, RIGHT)
    for one, two in pairwise(moved):
        assert math.dist(one.end, two.start) <= 1e-9
    for piece in moved:
        for share in (0, 0.25, 0.5, 0.9, 1):
            p = path.point_at(piece, share)
            assert min(math.dist(p, path.nearest_on(s, p)) for s in chain) == pytest.approx(nose, abs=1e-9)
        if isinstance(piece, Arc):
            assert math.dist(piece.start, piece.centre) == pytest.approx(math.dist(piece.end, piece.centre), abs=1e-9)


@settings(max_examples=60)
@given(profiles())
def test_offset_lies_on_the_edge_of_shapelys_buffer(case):
    """Each chord is buffered alone: the buffer of a whole finely chorded line simplifies its inner corners."""
    nose, chain = case
    quads, sagitta = 64, 1e-5
    chords = [shapely.LineString(pair) for s in chain for pair in pairwise(path.flatten(s, sagitta))]
    edge = shapely.union_all(shapely.buffer(chords, nose, quad_segs=quads)).boundary
    polygon_error = nose * (1 - math.cos(math.pi / (4 * quads))) + sagitta
    for piece in offset_chain(chain, nose, RIGHT):
        for share in (0.01, 0.5, 0.99):
            assert edge.distance(shapely.Point(path.point_at(piece, share))) <= 2 * polygon_error


@given(profiles())
def test_mirrored_reversed_chain_offsets_to_the_other_side(case):
    nose, chain = case
    moved = offset_chain(chain, nose, RIGHT)
    back = offset_chain(tuple(path.reverse(s) for s in reversed(chain)), nose, LEFT)
    assume(len(back) == len(moved))
    for one, two in zip(moved, reversed(back), strict=True):
        for share in (0, 0.5, 1):
            assert math.dist(path.point_at(one, share), path.point_at(two, 1 - share)) <= 1e-8
    mirrored = offset_chain(path.mirror_z(chain), nose, LEFT)
    for one, two in zip(path.mirror_z(moved), mirrored, strict=True):
        assert math.dist(path.point_at(one, 0.5), path.point_at(two, 0.5)) <= 1e-9
