"""Stiffness, force, speed and finish, against published and derived figures, and laws for all inputs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cam.ground.problem import RangeError
from cam.plan.cutting import cutting_force, ridge_height, spindle_speed, surface_speed
from cam.plan.stiffness import second_moment, spring_between_centres, spring_of_overhang
from cam.shop.model import Material


def material(kc11: float, mc: float) -> Material:
    return Material(name="test", speed={"HSS": (10, 20)}, kc11=kc11, mc=mc, modulus=210000, source="test")


def test_bar_between_centres_by_the_handbook_formula() -> None:
    # F a^2 b^2 / (3 E I L): the standard simply supported beam, any strength-of-materials table.
    # d 25, L 500, 3 kN in the middle, E 200 GPa: printed problem, answer derived: I 19174.76 mm4, 2.0372 mm.
    assert second_moment(25) == pytest.approx(19174.76, abs=0.005)
    assert spring_between_centres([(0, 500, 25)], 250, 3000, 200e3) == pytest.approx(2.0372, abs=5e-5)


@pytest.mark.parametrize(
    ("pieces", "at", "force", "printed", "within"),
    [  # derived from the same formula, printed to these figures
        ([(0, 80, 5)], 40, 50, 0.08278, 5e-6),
        ([(0, 80, 5)], 20, 50, 0.04656, 5e-6),
        ([(0, 100, 6)], 50, 20, 0.03119, 5e-6),
        ([(0, 20, 4), (20, 60, 6), (60, 80, 4)], 40, 50, 0.060194, 5e-7),
    ],
)
def test_springs_of_small_arbors(
    pieces: list[tuple[float, float, float]], at: float, force: float, printed: float, within: float
) -> None:
    assert spring_between_centres(pieces, at, force, 210e3) == pytest.approx(printed, abs=within)


def test_stepped_bar_with_a_stiff_middle_half() -> None:
    # Gere, Mechanics of Materials, nonprismatic beams (citation from memory, answer derived):
    # the middle half has 2 I, load P in the middle: 3 P L^3 / (256 E I).
    d = 10.0
    thick = d * 2**0.25
    got = spring_between_centres([(0, 25, d), (25, 75, thick), (75, 100, d)], 50, 100, 200e3)
    assert got == pytest.approx(3 * 100 * 100**3 / (256 * 200e3 * second_moment(d)), rel=1e-12)


def test_stepped_shaft_of_three_moments() -> None:
    # I 1.25e5, 1.25e5, 4e5 mm4 over 150, 75, 125 mm, 3000 N, E 200 GPa (a printed problem; derived answers).
    def diameter(moment: float) -> float:
        return (64 * moment / math.pi) ** 0.25

    pieces = [(0, 150, diameter(1.25e5)), (150, 225, diameter(1.25e5)), (225, 350, diameter(4e5))]
    assert spring_between_centres(pieces, 150, 3000, 200e3) == pytest.approx(0.092992, abs=5e-7)
    assert spring_between_centres(pieces, 225, 3000, 200e3) == pytest.approx(0.068205, abs=5e-7)


def test_overhang_by_the_handbook_formula() -> None:
    # F a^3 / (3 E I), the standard cantilever.
    assert spring_of_overhang([(0, 40, 6)], 30, 20, 210e3) == pytest.approx(
        20 * 30**3 / (3 * 210e3 * second_moment(6)), rel=1e-12
    )


@given(
    st.lists(st.tuples(st.floats(1, 50), st.floats(1, 30)), min_size=1, max_size=6),
    st.floats(0, 1),
    st.floats(1.01, 3),
)
def test_a_thicker_bar_springs_less_and_both_ends_are_alike(
    steps: list[tuple[float, float]], share: float, times: float
) -> None:
    z, pieces = 0.0, []
    for length, d in steps:
        pieces.append((z, z + length, d))
        z += length
    at = share * z
    plain = spring_between_centres(pieces, at, 10, 210e3)
    thick = spring_between_centres([(a, b, d * times) for a, b, d in pieces], at, 10, 210e3)
    turned = spring_between_centres([(z - b, z - a, d) for a, b, d in reversed(pieces)], z - at, 10, 210e3)
    assert thick <= plain / times**3 or plain < 1e-12
    assert turned == pytest.approx(plain, rel=1e-6, abs=1e-12)


def test_a_load_off_the_bar_is_refused() -> None:
    with pytest.raises(RangeError):
        spring_between_centres([(0, 10, 5)], 11, 1, 1)
    with pytest.raises(RangeError):
        spring_of_overhang([(0, 10, 5)], -1, 1, 1)


KIENZLE = [  # AWF 158 line of tables, specific force in kN/mm2 at 45 degrees, printed to 0.05, within the share given
    ("E295", 1990, 0.26, (3.50, 3.10, 2.75, 2.45, 2.15, 1.95), 0.013),
    ("E335", 2110, 0.17, (3.05, 2.80, 2.60, 2.40, 2.20, 2.05), 0.0174),
    ("42CrMo4", 2500, 0.26, (4.35, 3.90, 3.45, 3.10, 2.75, 2.45), 0.013),
    ("16MnCr5", 2100, 0.26, (3.75, 3.30, 2.95, 2.60, 2.30, 2.05), 0.0134),
]
FEEDS = (0.16, 0.25, 0.4, 0.63, 1.0, 1.6)


@pytest.mark.parametrize(("name", "kc11", "mc", "printed", "within"), KIENZLE)
def test_forces_give_the_printed_table(
    name: str, kc11: float, mc: float, printed: tuple[float, ...], within: float
) -> None:
    for feed, row in zip(FEEDS, printed, strict=True):
        chip = feed * math.sin(math.radians(45))
        # b h kc with b = 1: force over the chip's section h is kc
        assert cutting_force(material(kc11, mc), 1.0, chip) / chip / 1000 == pytest.approx(row, rel=within)


def test_worked_forces() -> None:
    # derived by Kienzle's law; C45 with kc1.1 2220, mc 0.14 and 16MnCr5 with 2100, 0.26 (from memory).
    assert cutting_force(material(2220, 0.14), 0.5, 0.1) == pytest.approx(153.2, abs=0.05)
    assert cutting_force(material(2100, 0.26), 2.0, 0.2) == pytest.approx(1276.5, abs=0.05)
    assert cutting_force(material(1234, 0.2), 1.0, 1.0) == pytest.approx(1234)


def test_spindle_speeds_from_printed_examples() -> None:
    # n = 12 V / (pi D): 225 ft/min on 1.5 in gives 572.96 rpm; d 50 at 30 m/min 190.99 (workshop sheet);
    # 1000 ft/min on 6.5, 6.0, 5.5, 5.0 in: 587.6, 636.6, 694.5, 763.9; d 10 at 1000 rpm: 31.4 m/min.
    assert spindle_speed(50, 30) == pytest.approx(190.99, abs=0.005)
    assert spindle_speed(1.5 * 25.4, 225 * 0.3048) == pytest.approx(572.96, abs=0.005)
    for inches, rpm in ((6.5, 587.6), (6.0, 636.6), (5.5, 694.5), (5.0, 763.9)):
        assert spindle_speed(inches * 25.4, 1000 * 0.3048) == pytest.approx(rpm, abs=0.06)
    assert surface_speed(10, 1000) == pytest.approx(31.4, abs=0.05)
    with pytest.raises(RangeError):
        spindle_speed(0, 30)


@pytest.mark.parametrize(
    ("feed", "nose", "parabola", "exact"),
    [  # Rt in um; first row printed by two public calculators (6.25), the rest derived
        (0.20, 0.8, 6.25, 6.275),
        (0.10, 0.4, 3.125, 3.137),
        (0.05, 0.2, 1.5625, 1.569),
        (0.02, 0.2, 0.250, 0.250),
        (0.03, 0.1, 1.125, 1.131),
    ],
)
def test_ridges(feed: float, nose: float, parabola: float, exact: float) -> None:
    assert 1000 * ridge_height(feed, nose) == pytest.approx(exact, abs=6e-4)
    assert 1000 * feed**2 / (8 * nose) == pytest.approx(parabola, abs=1e-3)


@given(st.floats(0.01, 1.0), st.floats(0.001, 2.0))
def test_ridges_are_never_taller_than_the_nose(nose: float, share: float) -> None:
    assert 0 <= ridge_height(share * nose, nose) <= nose


def test_ridges_that_would_not_meet_are_refused() -> None:
    with pytest.raises(RangeError):
        ridge_height(0.5, 0.1)
