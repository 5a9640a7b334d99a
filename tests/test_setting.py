"""Settings: sample parts against numbers worked by hand, and laws for random parts and shops."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cam.geometry.convex import is_convex
from cam.geometry.path import Arc, Line, Point, bounds
from cam.part.features import BEARING_ROLES
from cam.setting import settle
from cam.setting.aims import aim_diameters, step_on_diameter
from cam.setting.obstacles import tailstock_obstacles
from cam.setting.order import find_halves, weakness
from cam.setting.outline import outline_radius
from tests.specimens import (
    arbor_text,
    crank_pin,
    drum_arbor,
    moon_carriage_spindle,
    part_from,
    part_texts,
    parts_and_shops,
    shop_from,
    shop_texts,
)

TINY = 1e-7

PROFILES = ("stock", "least", "most")

few = settings(max_examples=40)
"""Ten laws of the same parts and shops, each drawn anew: four hundred in all."""


# The drum arbor, worked by hand -----------------------------------------------------------------------


@pytest.fixture(scope="module")
def arbor():
    return settle(*drum_arbor())


def test_drum_arbor_is_turned_from_a_then_reversed(arbor):
    assert [(s.number, s.end, s.sign) for s in arbor] == [(1, "A", -1), (2, "B", 1)]
    assert [[t.section.name for t in s.turned] for s in arbor] == [
        ["winding square", "front pivot", "front seat", "drum body"],
        ["back pivot", "back seat"],
    ]


def test_drum_arbor_is_aimed_at_the_middle_of_its_limits_as_the_dial_sets_it(arbor):
    """Dial of 0.02 mm on diameter. Middle of limits plus allowance: 5.175, 6.01, 7.985, 13.975, 4.01, 7.985.

    The pivots' limits are 0.02 mm wide: 6.00 and 6.02 would both lie on a limit, so 6.01 itself is aimed at.
    """
    sizes = [2 * t.radius_near for s in arbor for t in s.turned]
    assert sizes == pytest.approx([5.18, 6.01, 7.98, 13.98, 4.01, 7.98])


@pytest.mark.parametrize(
    ("reading", "words"),
    [("dial", "by hand, its row gives the nearest mark or half division within them, the half set by eye."),
     ("readout", "by hand, its row gives the nearest reading within them."),
     ("none", "by hand, its row gives the nearest setting within them.")],
)  # fmt: skip
def test_an_aim_between_two_settings_says_what_its_row_does_and_no_more(reading: str, words: str) -> None:
    """A sheet may land on a mark, or on half a division: nothing that is said with the aim may contradict it."""
    part, shop = drum_arbor()
    lathe = replace(shop.lathe, x=replace(shop.lathe.x, reading=reading))
    told = " ".join(aim_diameters(part, replace(shop, lathe=lathe))[0].reasons)
    assert '"front pivot" is aimed at 6.01 mm, between two settings of the X slide (0.02 mm apart on diameter)' in told
    assert f"so as to stay well within the limits; {words}" in told
    assert "set the last cut" not in told


def test_drum_arbor_shoulders_are_where_the_lengths_add_up_to(arbor):
    """From the A face 20, 26, 33.5, 65.5; in setting 2 from the shoulder at 33.5, so 78 - 33.5 = 44.5 and on."""
    assert [t.far for t in arbor[0].turned] == pytest.approx([-20.0, -26.0, -33.5, -65.5])
    assert [t.near for t in arbor[1].turned] == pytest.approx([44.5, 38.5])
    assert [t.far for t in arbor[1].turned] == pytest.approx([38.5, 32.0])
    assert [t.far_kind for s in arbor for t in s.turned] == ["shoulder"] * 3 + ["open"] + ["shoulder"] * 2


def test_second_setting_measures_from_a_finished_shoulder_of_the_first(arbor):
    first, second = arbor
    assert second.to_part(0.0) == pytest.approx(33.5)
    assert first.to_setting(33.5) in [pytest.approx(t.far) for t in first.turned if t.far_kind == "shoulder"]
    assert 'the shoulder of "drum body" toward the A end' in second.datum_words
    assert "44.5 mm" in second.datum_words
    assert "beside the centre" in second.datum_words


def test_carriers_sit_on_the_bare_stock_and_then_on_the_square(arbor):
    first, second = arbor
    assert (first.carrier.name, first.grip, first.grip_diameter) == ("middle carrier", "the stock", 16.0)
    assert (first.grip_far, first.grip_near) == pytest.approx((-78.0, -69.0))
    assert (second.carrier.name, second.grip) == ("small carrier", '"winding square"')
    assert (second.grip_far, second.grip_near) == pytest.approx((-33.0, -26.0))  # clear of the 0.5 mm chamfer


def test_limit_takes_nose_and_overrun_past_an_open_end_and_past_an_edge_to_be_cut(arbor):
    """Widest nose 0.1 mm, overrun 0.5 mm; the body's far edge is a chamfer of 0.2 mm. A hundredth for rounding."""
    assert arbor[0].limit_z == pytest.approx(-65.5 - 0.1 - 0.5 - 0.01)
    assert arbor[1].limit_z == pytest.approx(32.0 - 0.2 - 0.1 - 0.5 - 0.01)


def test_undercut_is_in_the_outline_beside_its_shoulder(arbor):
    least = arbor[1].least
    floor = 3.99 - 0.2
    assert outline_radius(least, 32.5) == pytest.approx(floor)
    assert outline_radius(least, 33.0 + 1e-6) == pytest.approx(3.99)
    assert outline_radius(arbor[1].most, 32.5) == pytest.approx(floor)


def test_nose_fillet_may_be_left_but_is_not_asked_for(arbor):
    """At the front pivot's shoulder (Z -26, radius 3.005) a fillet up to 0.2 mm: at 45 degrees r (1 - 1/sqrt 2)."""
    share = 0.2 * (1 - math.sqrt(0.5))
    z, x = -26.0 + share, 3.005 + share
    assert outline_radius(arbor[0].most, z) == pytest.approx(x)
    assert outline_radius(arbor[0].least, z) == pytest.approx(3.005)


def test_every_choice_that_the_files_did_not_make_has_its_reason():
    _, shop = drum_arbor()
    reasons = " ".join(settle(part_from(arbor_text()), shop)[0].reasons)
    assert 'The A end is turned first: while the B end is turned, the carrier is to grip "winding square".' in reasons
    assert "0.0338 at the A end, down to 5.2 mm; 0.025 at the B end, down to 4 mm" in reasons
    assert 'hole in the B end is A 0.63/1.32, by the smallest finished diameter there, "back pivot" 4 mm' in reasons
    assert "82 mm as sawn, is faced at both ends to 78 mm" in reasons


def test_weakness_is_length_by_fourth_power():
    """20 / 5.2^4 + 6 / 6^4 + 7.5 / 8^4 at A; 6 / 4^4 + 6.5 / 8^4 at B, by hand."""
    part, _ = drum_arbor()
    halves = find_halves(part)
    assert weakness(part, halves, "A") == pytest.approx(0.0273538 + 0.0046296 + 0.0018311, rel=1e-5)
    assert weakness(part, halves, "B") == pytest.approx(0.0234375 + 0.0015869, rel=1e-5)


# Others -----------------------------------------------------------------------------------------------


def test_extra_length_is_turned_with_the_end_and_its_edge_left_for_the_hand():
    first, second = settle(*moon_carriage_spindle())
    stub = 25.4 / 8
    assert first.end_z == 0.0
    assert first.to_setting(0.0) == pytest.approx(-stub)
    assert first.turned[0].near == pytest.approx(0.0)
    assert first.turned[0].edge is None
    assert second.to_part(second.end_z) == pytest.approx((2 + 13 / 16) * 25.4 + stub)
    assert any("0.125 in of extra length" in r and "radius 10 thou" in r for r in first.reasons)


def test_free_end_is_faced_first_and_is_zero():
    (setting,) = settle(*crank_pin())
    assert (setting.face_end, setting.end_z, setting.stock_end_z, setting.head_z) == (True, 0.0, 0.5, -35.5)
    assert setting.tail_centre is setting.hole is setting.carrier is None
    assert (setting.grip_near, setting.grip_far) == (-17.0, -32.0)
    assert "stand out 17.5 mm" in setting.datum_words
    assert {o.name for o in setting.obstacles} == {"collet", "spindle nose"}
    assert setting.turned[-1].far_edge.text == "chamfer 0.2 mm"


# Room beside a 60 degree centre, tip only: start = (pivot radius - hole / 2) / tan 30. By trigonometry.
ROOM = [(1.5, 1.0, 0.866), (1.0, 0.75, 0.433), (2.0, 0.66, 2.321)]


@pytest.mark.parametrize(("pivot_radius", "hole_radius", "start"), ROOM)
def test_cone_leaves_the_room_beside_it_that_trigonometry_says(pivot_radius, hole_radius, start):
    part, shop = drum_arbor()
    setting = settle(part, shop)[1]
    hole = type(setting.hole)(
        designation="", pilot=0.5, mouth=2 * hole_radius, depth=2.0, reason=""
    )  # what matters here is its mouth
    cone = tailstock_obstacles(shop.lathe, shop.centres[0], hole, 10.0)[0]
    assert cone.name == "centre cone"
    at = [shapely.Point(10.0 + start + by, pivot_radius) for by in (0.001, -0.001)]
    assert shapely.covers(shapely.Polygon(cone.polygon), at).tolist() == [True, False]


def test_half_centre_stands_no_higher_than_its_flat_along_the_flat():
    part, shop = drum_arbor()
    setting = settle(part, shop)[1]
    half = next(c for c in shop.centres if c.kind == "half")
    found = tailstock_obstacles(shop.lathe, half, setting.hole, 0.0)
    point = -setting.hole.mouth / 2 / math.tan(math.radians(30))
    flat_end = point + half.flat_length
    for o in found:
        for p in o.polygon:
            assert p.z >= flat_end - TINY or p.x <= half.flat + TINY
    assert max(p.x for o in found for p in o.polygon if o.name == "centre body") == half.body_diameter / 2
    assert bounds(next(o for o in found if o.name == "barrel").polygon)[0] == pytest.approx(point + half.reach)


GROOVED = """
name = "grooved"
corners = "fillet up to 0.2 mm"
edges = "sharp"
finish = "turn"
[stock]
material = "brass"
diameter = "12 mm"
length = "70 mm"
[holding]
method = "between centres"
first = "A"
[holding.end_a]
tail_centre = "dead centre"
extra_length = "0 mm"
[holding.end_b]
tail_centre = "dead centre"
extra_length = "15 mm"
[[section]]
name = "pivot"
role = "pivot"
diameter = "5 mm"
length = "6 mm"
[[section]]
name = "neck"
role = "undercut"
diameter = "4.6 mm"
length = "1.2 mm"
[[section]]
name = "body"
role = "body"
diameter = "10 mm"
length = "30 mm"
"""


def test_undercut_section_is_cut_as_a_groove_with_its_neighbour():
    _, shop = drum_arbor()
    setting = settle(part_from(GROOVED), shop)[0]
    pivot = setting.turned[0]
    assert pivot.section.name == "pivot"
    assert pivot.far == pytest.approx(-7.2)
    assert (pivot.corner.kind, pivot.corner.width) == ("undercut", pytest.approx(1.2))
    assert pivot.corner.depth == pytest.approx(0.2)
    assert outline_radius(setting.least, -6.6) == pytest.approx(2.3)


# Laws -------------------------------------------------------------------------------------------------


def stations(setting):
    """Z along the work: a regular row, and just beside every joint of every outline."""
    low, high = setting.head_z, setting.stock_end_z
    row = [low + (high - low) * (i + 0.37) / 97 for i in range(97)]
    joints = {round(p.z, 9) for name in PROFILES for piece in getattr(setting, name) for p in (piece.start, piece.end)}
    return [z for z in row + [j + d for j in joints for d in (-1e-5, 1e-5)] if low < z < high]


@few
@given(parts_and_shops())
def test_outlines_are_connected_fall_toward_the_headstock_and_end_on_the_axis(pair):
    for setting in settle(*pair):
        for name in PROFILES:
            chain = getattr(setting, name)
            assert chain[0].start == Point(chain[0].start.z, 0.0)
            assert chain[-1].end == Point(setting.head_z, 0.0)
            for before, after in pairwise(chain):
                assert before.end == after.start
            for piece in chain:
                low, _, high, _ = bounds(piece)
                assert piece.start.z >= piece.end.z - TINY
                assert high - low <= piece.start.z - piece.end.z + TINY  # an arc does not bulge past its ends
                assert min(piece.start.x, piece.end.x) >= 0
        assert setting.stock[0].start.z == setting.stock_end_z
        assert setting.least[0].start.z == setting.most[0].start.z == setting.end_z


@few
@given(parts_and_shops())
def test_least_never_exceeds_most_nor_most_the_stock(pair):
    for setting in settle(*pair):
        open_end = setting.turned[-1].far if setting.turned[-1].far_kind == "open" else -math.inf
        for z in stations(setting):
            least, most, stock = (outline_radius(c, z) for c in (setting.least, setting.most, setting.stock))
            fullest = outline_radius(setting.fullest, z)  # extra length of setting 1 may stand thicker than its section
            assert least <= most + TINY <= fullest + 2 * TINY
            assert stock <= fullest + TINY
            if z < setting.limit_z:
                assert least == pytest.approx(stock, abs=TINY)
            if z < open_end:
                assert most == pytest.approx(fullest, abs=TINY)


@few
@given(parts_and_shops())
def test_sections_are_chained_and_keep_their_lengths_but_for_face_allowances(pair):
    part, shop = pair
    for setting in settle(part, shop):
        assert setting.turned[0].near == setting.end_z
        for t, beyond in pairwise(setting.turned):
            assert t.far == beyond.near
        for t in setting.turned:
            at = part.sections.index(t.section) + (1 if setting.end == "A" else -1)
            grooved = t.corner is not None and t.corner.text.startswith("groove")  # and the groove is turned with it
            outer = part.sections[at] if grooved else t.section
            nominal = setting.to_setting(outer.end if setting.end == "A" else outer.start)
            left = outer.finish.on_face if t.far_kind == "shoulder" else 0.0
            if t.far_kind != "open":
                assert t.far == pytest.approx(nominal + left)
            assert t.far_radius >= t.radius_far - TINY
        assert setting.stock_end_z - setting.head_z == pytest.approx(
            part.length + sum(e.extra_length for e in (part.holding.end_a, part.holding.end_b) if e is not None)
            if setting.method == "between centres"
            else part.stock.length
        )


@few
@given(parts_and_shops(), st.floats(-100, 100))
def test_axes_there_and_back(pair, z):
    for setting in settle(*pair):
        assert setting.to_part(setting.to_setting(z)) == pytest.approx(z, abs=1e-9)
        toward_tail = setting.to_setting(0.0 if setting.end == "A" else pair[0].length)
        assert toward_tail > setting.to_setting(pair[0].length if setting.end == "A" else 0.0)


@few
@given(parts_and_shops())
def test_second_setting_starts_from_what_the_first_left(pair):
    settings = settle(*pair)
    if len(settings) < 2:
        return
    first, second = settings
    last, nose = first.turned[-1], min(t.nose_radius for t in pair[1].tools if t.kind == "turning")
    for z in stations(first):
        there = second.to_setting(first.to_part(z))
        left = outline_radius(first.most, z)
        if last.far_kind == "open" and last.far - nose < z < last.far:
            left = min(left, last.radius_far + last.far - z)  # the nose went past the end, and cut its own width
        assert outline_radius(second.fullest, there) == pytest.approx(left, abs=TINY)
        if z < first.end_z - first.turned[0].extra_length:
            assert outline_radius(second.stock, there) == pytest.approx(left, abs=TINY)
    assert not {t.section.name for t in first.turned} & {t.section.name for t in second.turned}


@few
@given(parts_and_shops())
def test_after_all_settings_every_section_has_its_size_within_its_limits(pair):
    part, shop = pair
    settings = settle(part, shop)
    done = [t.section.name for s in settings for t in s.turned]
    assert sorted(done) == sorted(s.name for s in part.sections if not s.as_stock and s.role != "undercut")
    last = settings[-1]
    step = step_on_diameter(shop.lathe.x)
    for section in part.sections:
        z = (section.start + section.end) / 2
        size = 2 * outline_radius(last.least, last.to_setting(z))
        nominal = (section.diameter_a + section.diameter_b) / 2
        if section.as_stock:
            assert size == pytest.approx(nominal)
        elif section.tolerance is not None:
            low, high = (
                nominal + section.finish.on_diameter + t for t in (section.tolerance.lower, section.tolerance.upper)
            )
            assert low - TINY <= size <= high + TINY
        else:
            assert abs(size - nominal - section.finish.on_diameter) <= step / 2 + TINY


@few
@given(parts_and_shops())
def test_obstacles_are_convex_and_do_not_stand_in_the_work(pair):
    for setting in settle(*pair):
        for obstacle in setting.obstacles:
            assert is_convex(obstacle.polygon)
            assert shapely.LinearRing(obstacle.polygon).is_ccw
            low, _, high, _ = bounds(obstacle.polygon)
            for z in stations(setting):
                if low < z < high:
                    inner = min(p.x for p in obstacle.polygon)
                    assert inner >= outline_radius(setting.stock, z) - TINY


@few
@given(parts_and_shops())
def test_carrier_sits_with_its_whole_width_on_one_cylinder_and_never_on_a_pivot(pair):
    part, shop = pair
    for setting in settle(part, shop):
        assert setting.grip_near <= setting.limit_z
        low = setting.grip_far if setting.carrier is not None else setting.grip_near - TINY
        for i in range(21):
            z = low + (setting.grip_near - low) * (i + 0.5) / 21
            assert 2 * outline_radius(setting.stock, z) == pytest.approx(setting.grip_diameter)
        if setting.number == 2:
            assert setting.grip_near - setting.grip_far == pytest.approx(setting.carrier.width)
            at = setting.to_part((setting.grip_near + setting.grip_far) / 2)
            held = [s for s in part.sections if s.start < at < s.end]
            assert all(s.role not in BEARING_ROLES for s in held)
            grips = setting.carrier.grip_least, setting.carrier.grip_most
            assert grips[0] - TINY <= setting.grip_diameter + 2 * setting.protection <= grips[1] + TINY


@few
@given(parts_and_shops())
def test_exact_fillets_are_arcs_of_their_radius_in_both_outlines(pair):
    for setting in settle(*pair):
        for t in setting.turned:
            if t.corner is None or t.corner.kind != "fillet":
                continue
            for chain in (setting.least, setting.most):
                arcs = [p for p in chain if isinstance(p, Arc) and math.dist(p.end, (t.far, p.end.x)) < TINY]
                assert any(p.radius == pytest.approx(t.corner.radius) and p.turn == -1 for p in arcs)


@few
@given(parts_and_shops())
def test_outlines_have_no_sharp_inner_corner_that_the_nose_cannot_leave(pair):
    """In the fullest outline the foot of every nose fillet touches cylinder and face without a step."""
    for setting in settle(*pair):
        for t in setting.turned:
            if t.corner is None or t.corner.kind != "nose":
                continue
            arc = next(p for p in setting.most if isinstance(p, Arc) and abs(p.end.z - t.far) < TINY and p.turn == -1)
            slope = (t.radius_far - t.radius_near) / (t.near - t.far)
            normal = Point(arc.centre.z - arc.start.z, arc.centre.x - arc.start.x)
            assert normal.z / arc.radius == pytest.approx(slope / math.hypot(1, slope), abs=1e-9)
            assert arc.centre.x == pytest.approx(arc.end.x)


@few
@given(shop_texts(), part_texts())
def test_same_files_give_the_same_settings(shop, part):
    assert settle(part_from(part), shop_from(shop)) == settle(part_from(part), shop_from(shop))


def test_all_units_of_length_give_one_geometry():
    _, shop = drum_arbor()
    text = GROOVED
    inches = text
    for millimetres in ("12 mm", "5 mm", "6 mm", "4.6 mm", "1.2 mm", "10 mm", "30 mm", "15 mm"):
        value = float(millimetres.split()[0])
        inches = inches.replace(f'"{millimetres}"', f'"{value / 25.4 * 1000!r} thou"')
    assert inches != text
    for one, two in zip(settle(part_from(text), shop), settle(part_from(inches), shop), strict=True):
        for name in PROFILES:
            for a, b in zip(getattr(one, name), getattr(two, name), strict=True):
                assert type(a) is type(b)
                assert isinstance(a, Line | Arc)
                assert math.dist(a.start, b.start) < 1e-9
                assert math.dist(a.end, b.end) < 1e-9
