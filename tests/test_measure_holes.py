"""The holes that pivots run in: sums by hand, a pressed pivot measured point by point, refusals and the bench page."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.drills import Drill, drills_by_size
from cam.ground.problem import ProblemError
from cam.ground.units import QuantityError
from cam.lengths.figures import LengthFigures
from cam.lengths.hole_page import hole_steps
from cam.lengths.holes import Pivot, choose_drill, contact_length, plan_hole, wall_length
from cam.lengths.stand_off import Range, exactly
from cam.part.features import Edge
from cam.part.read_spans import parse_taper
from tests.measured import hole, limits
from tests.specimens import HERE, quantity

PIVOT = Pivot("front pivot", 6.0, Range(5.97, 5.98, 5.99), 6.0, 0.4, 0.0, 8.0, None)


def edge(size: float, kind: str = "chamfer") -> Edge:
    return Edge(kind=kind, size=size, text=f"{kind} {size} mm", where=HERE)


def says(bad, pivot: Pivot = PIVOT, **more) -> str:
    with pytest.raises(ProblemError) as caught:
        plan_hole(bad, pivot, **more)
    return str(caught.value)


# Sizes --------------------------------------------------------------------------------------------------------


def test_a_broached_hole_by_hand():
    """Pivot 5.98, 0.05 side shake: 6.03 at the narrow end. 2 mm of plate less two chamfers of 0.2: 1.6 mm of wall, so
    1:100 makes the other end 6.046. A gap of 0.002 is reached 2 x 0.002 / 0.01 = 0.4 mm from the narrow end.
    """
    plan = plan_hole(hole(edge_inside=edge(0.2), edge_outside=edge(0.2)), PIVOT)
    assert plan.wall == pytest.approx(1.6)
    assert (plan.entry, plan.exit, plan.narrow) == pytest.approx((6.046, 6.03, 6.03))
    assert (plan.inside, plan.outside) == (plan.entry, plan.exit)
    assert plan.opened == pytest.approx(6.025)
    assert plan.contact == pytest.approx(0.4)
    assert plan.side_shake == (0.03, 0.05, 0.08)
    assert plan.travel == pytest.approx(1.0)
    assert plan.drill == Drill("mm", "5.9 mm", 5.9)  # the largest that leaves 0.1 below 6.025; letter A is 5.944
    assert plan.ring == pytest.approx((8 - 6.046) / 2 - 0.2)


def test_from_the_outside_the_narrow_end_is_at_the_shoulder_and_from_both_in_the_middle():
    outside = plan_hole(hole(side="outside"), PIVOT)
    assert (outside.inside, outside.outside, outside.entry, outside.exit) == pytest.approx((6.03, 6.05, 6.05, 6.03))
    both = plan_hole(hole(side="both"), PIVOT)
    assert (both.inside, both.outside, both.narrow) == pytest.approx((6.04, 6.04, 6.03))
    assert both.contact == pytest.approx(2 * plan_hole(hole(), PIVOT).contact)


def test_a_reamed_hole_is_parallel_and_bears_all_along():
    plan = plan_hole(hole(opened_by="reamer", taper=0.0), PIVOT)
    assert plan.inside == plan.outside == plan.narrow
    assert plan.contact == plan.wall == 2.0
    assert plan.travel == 0.0


def test_a_measured_pivot_carries_its_hole_with_it():
    thin = PIVOT._replace(diameter=exactly(5.90))
    assert plan_hole(hole(), thin).narrow == pytest.approx(5.95)


def test_a_fit_by_its_symbol():
    """ISO 286-2 at 6 mm (from memory): H7 +0.012 / 0, f7 -0.010 / -0.022; side shake 0.010 to 0.034."""
    pivot = PIVOT._replace(diameter=Range(5.978, 5.984, 5.990))
    plan = plan_hole(hole(side_shake=None, fit="H7/f7", opened_by="reamer", taper=0.0), pivot)
    assert plan.narrow == pytest.approx(6.006)
    assert plan.side_shake == pytest.approx((0.010, 0.022, 0.034))


def test_a_hole_used_as_it_is_decides_the_pivot():
    plan = plan_hole(hole(use="as it is", now=quantity(6.03)), PIVOT)
    assert plan.drill is None
    assert plan.side_shake == pytest.approx((0.04, 0.05, 0.06))
    assert plan.narrow == plan.inside == plan.outside == 6.03


def test_a_hole_that_is_there_is_drilled_only_if_the_drill_is_larger():
    assert plan_hole(hole(now=quantity(5.5)), PIVOT).drill == Drill("mm", "5.9 mm", 5.9)
    assert plan_hole(hole(now=quantity(5.95)), PIVOT).drill is None
    assert plan_hole(hole(now=quantity(5.95)), PIVOT, drills=()).drill is None


# Drills -------------------------------------------------------------------------------------------------------


def test_drills_that_everybody_knows():
    """ASME B94.11M and ISO 235, from memory."""
    sizes = {d.name: d.diameter for d in drills_by_size()}
    known = {"No. 1": 5.791, "No. 30": 3.264, "No. 80": 0.343, "letter A": 5.944, "letter Z": 10.490, "1/4 in": 6.35,
             "1/64 in": 0.397, "0.35 mm": 0.35, "6.1 mm": 6.1, "14 mm": 14.0}  # fmt: skip
    assert {n: sizes[n] for n in known} == pytest.approx(known, abs=5e-4)
    assert all(a.diameter <= b.diameter for a, b in pairwise(drills_by_size()))
    assert len(sizes) == len(drills_by_size())


@given(st.floats(0.35, 14.0))
def test_the_drill_chosen_is_the_largest_that_is_not_too_large(most):
    drill = choose_drill(most, drills_by_size())
    assert drill is not None
    assert drill.diameter <= most + 1e-9
    assert not any(drill.diameter < d.diameter <= most for d in drills_by_size())


def test_the_users_own_drills_are_kept_to():
    small, large = Drill("mm", "5.5 mm", 5.5), Drill("mm", "6 mm", 6.0)
    assert plan_hole(hole(), PIVOT, drills=(small, large)).drill == small
    assert "no drill is small enough" in says(hole(), drills=(large,))


# Bearing ------------------------------------------------------------------------------------------------------


@given(
    st.floats(0.5, 6.0), st.floats(0.002, 0.05), st.sampled_from(["inside", "outside", "both"]),
    st.floats(0.0005, 0.02), st.floats(0, 0.2), st.floats(0, 0.2), st.floats(0.2, 8.0), st.floats(0, 0.5),
)  # fmt: skip
def test_contact_is_what_a_pivot_pressed_to_the_wall_measures(plate, taper, side, gap, inner, outer, length, corner):
    """Radius of the wall at 4,000 places, the pivot moved until it touches: where is the gap small enough?"""
    made = hole(
        plate=quantity(plate), taper=taper, side=side, carrying_gap=quantity(gap),
        edge_inside=edge(inner), edge_outside=edge(outer),
    )  # fmt: skip
    pivot = PIVOT._replace(length=length, end=0.1, corner=corner)
    count, low, high = 4000, inner, plate - outer
    places = [low + (high - low) * (i + 0.5) / count for i in range(count)]
    narrow_at = {"inside": high, "outside": low, "both": (low + high) / 2}[side]
    radius = [3.0 + taper / 2 * abs(x - narrow_at) for x in places]
    carrying = sum(r - 3.0 <= gap and corner <= x <= length - 0.1 for r, x in zip(radius, places, strict=True))
    assert contact_length(made, pivot) == pytest.approx(carrying * (high - low) / count, abs=3 * (high - low) / count)
    assert 0 <= contact_length(made, pivot) <= wall_length(made) + 1e-9


# Warnings -----------------------------------------------------------------------------------------------------


def warned(made, pivot: Pivot = PIVOT) -> str:
    return "\n".join(str(p) for p in plan_hole(made, pivot).warnings)


def test_a_fillet_asks_for_a_chamfer_that_lets_the_shoulder_seat():
    """Fillet 0.2, side shake 0.05 with the pivot at its largest 0.04: 0.18 needed, by radius less clearance."""
    pivot = PIVOT._replace(corner=0.2)
    reamed = hole(opened_by="reamer", taper=0.0)
    plan = plan_hole(reamed, pivot)
    assert plan.edge_needed == pytest.approx(0.2 - 0.02)
    assert "will not seat" in warned(reamed, pivot)
    assert "at least 0.18 mm" in warned(reamed, pivot)
    assert not warned(replace(reamed, edge_inside=edge(0.2)), pivot)
    assert not warned(reamed)


@pytest.mark.parametrize(("unit", "one"), [("mm", 1.0), ("in", 25.4)])
@given(radius=st.floats(0.13, 0.4))
def test_a_chamfer_of_what_is_asked_for_lets_the_shoulder_seat(unit: Literal["mm", "in"], one: float, radius: float):
    """In inches it was rounded up to 0.01 mm, then to the nearest thou: 0.105 mm, or 0.00413 in, was 0.004 in."""
    pivot, reamed = PIVOT._replace(corner=radius), hole(opened_by="reamer", taper=0.0)
    said = LengthFigures(unit)
    (warning,) = (w for w in plan_hole(reamed, pivot, said=said).warnings if "will not seat" in w.what)
    asked = float(warning.allowed.removeprefix("at least ").removesuffix(f" {unit}"))
    obeyed = replace(reamed, edge_inside=edge(asked * one))
    assert "will not seat" not in "\n".join(w.what for w in plan_hole(obeyed, pivot, said=said).warnings)


def test_little_contact_a_short_pivot_and_a_narrow_ring_are_warned_of():
    assert "will bear on little" in warned(hole())
    assert "0.400 mm of 2.000 mm" in warned(hole())
    assert not warned(hole(carrying_gap=quantity(0.006)))
    assert "ends inside hole" in warned(hole(), PIVOT._replace(length=2.3))
    assert "on a narrow ring" in warned(hole(edge_inside=edge(0.2)), PIVOT._replace(shoulder=6.6))


# Refused ------------------------------------------------------------------------------------------------------


def test_what_is_not_said_is_asked_for():
    assert "to which size is not clear" in says(hole(side_shake=None))
    assert "to which size is not clear" in says(hole(fit="H7/f7"))
    assert "its size is not given" in says(hole(use="as it is"))
    assert "a tool whose taper is not clear" in says(hole(taper=0.0))
    assert "a tool whose taper is not clear" in says(hole(opened_by="reamer"))
    assert "no wall left" in says(hole(edge_inside=edge(1.0), edge_outside=edge(1.0)))


def test_all_faults_of_a_hole_come_at_once():
    assert says(hole(side_shake=None, taper=0.0, edge_inside=edge(3.0))).count("test.toml") == 3


def test_a_hole_that_is_too_large_already():
    text = says(hole(now=quantity(6.02)))
    assert "is too large already to be opened" in text
    assert "the pivot may be as thin as 5.970 mm" in text
    assert "at most 6.015 mm before the smoothing pass" in text
    plan_hole(hole(now=quantity(6.015)), PIVOT)


def test_a_pivot_that_does_not_suit_a_hole_as_it_is():
    assert "side shake -0.010 to 0.010 mm" in says(hole(use="as it is", now=quantity(5.98), side_shake=None))
    assert "does not suit" in says(hole(use="as it is", now=quantity(6.06), side_shake=limits(0.03, 0.05, 0.08)))


def test_a_fit_that_the_pivot_or_the_broach_cannot_hold():
    reamed = {"side_shake": None, "fit": "H7/f7", "opened_by": "reamer", "taper": 0.0}
    assert "is not within f7" in says(hole(**reamed))
    pivot = PIVOT._replace(diameter=exactly(5.985))
    assert "a broach cannot hold H7" in says(hole(side_shake=None, fit="H7/f7"), pivot)
    assert "not in the table" in says(hole(**(reamed | {"fit": "H7/z7"})), pivot)


def test_a_shoulder_that_goes_through_the_hole():
    assert "finds no plate to run against" in says(hole(), PIVOT._replace(shoulder=6.0))


@pytest.mark.parametrize(
    ("text", "taper"), [("1:100", 0.01), ("1 in 200", 0.005), ("1 : 50", 0.02), ("1:142.5", 1 / 142.5)]
)
def test_tapers_are_read(text, taper):
    assert parse_taper(text) == pytest.approx(taper)


@pytest.mark.parametrize("text", ["", "100", "1/100", "1:5", "1:5000", "2:100", 0.01, None])
def test_other_texts_are_no_taper(text):
    with pytest.raises(QuantityError):
        parse_taper(text)


# The bench page -----------------------------------------------------------------------------------------------


def page(made, pivot: Pivot = PIVOT) -> list[str]:
    return [step.text for step in hole_steps(plan_hole(made, pivot), pivot)]


def test_the_page_of_a_broached_hole():
    pivot = PIVOT._replace(corner=0.15)
    assert page(hole(edge_inside=edge(0.2)), pivot) == [
        'finish "front pivot" before its hole is opened: 5.970 to 5.990 mm will do, as the '
        "hole is opened to fit it, but it must be round and parallel: measured at root and tip it must read the same",
        "drill 5.9 mm, square to the plate: 0.125 mm on the diameter stays for opening",
        "break the edges of the hole: inside chamfer 0.200 mm; the shoulder seats once the inside edge is broken by "
        "0.13 mm",
        "open with the broach from the inside only, until the outside is 6.025 mm (the inside then 6.043 mm); square "
        "to the plate, with little pressure, trying the pivot often: 1.0 mm farther in opens the hole by 0.01 mm",
        "smooth with an oiled round smoothing broach from the inside: it opens the hole by about 0.005 mm, to "
        "6.030 mm; wipe hole and pivot clean",
        "try the pivot dry in its plate, then between both plates: side shake 0.030 to 0.080 mm on the diameter, "
        "0.050 mm aimed at; the pivot bears on 0.400 mm of the 1.800 mm wall",
    ]


def test_other_pages_say_what_is_different():
    reamed = page(hole(opened_by="reamer", taper=0.0, smoothing=quantity(0.0)))
    assert "ream parallel to 6.030 mm with an adjustable reamer" in reamed[3]
    assert len(reamed) == 5
    both = " ".join(page(hole(side="both")))
    assert "from both sides by turns, equally deep, until the waist in the middle is 6.025 mm" in both
    assert "(both ends then 6.035 mm)" in both
    assert "smoothing broach from both sides" in both
    as_it_is = page(hole(use="as it is", now=quantity(6.03), side_shake=None))
    assert as_it_is[0].startswith('the hole stays as it is, 6.030 mm: "front pivot" must come out at 5.970')
    assert len(as_it_is) == 3
    known = page(hole(), PIVOT._replace(diameter=exactly(5.981)))
    assert '"front pivot" measures 5.981 mm, and its hole is opened to fit that' in known[0]
    inch = plan_hole(hole(), PIVOT, drills=(Drill("number", "No. 1", 5.7912),))
    assert "drill No. 1 (5.791 mm)" in hole_steps(inch, PIVOT)[1].text


def test_cautions_stand_at_the_step_that_needs_them():
    steps = hole_steps(plan_hole(hole(edge_inside=edge(0.2)), PIVOT), PIVOT)
    drilling = next(s for s in steps if s.text.startswith("drill"))
    assert any("never hold it by hand" in c for c in drilling.cautions)
    assert any("machine's manual" in c for c in drilling.cautions)
    opening = next(s for s in steps if s.text.startswith("open with"))
    assert any("turn it by hand only" in c for c in opening.cautions)
    assert any("let it down under control" in c for c in steps[-1].cautions)
