"""Stiffness of stepped shafts against a general frame solver, anaStruct."""

from __future__ import annotations

import random
import warnings

import pytest

from cam.plan.stiffness import Piece, second_moment, spring_between_centres, spring_of_overhang

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from anastruct import SystemElements

MODULUS = 210e3
SHAFTS = 60


def random_shaft(draw: random.Random) -> list[Piece]:
    """Two to five cylinders, 10 to 30 mm long and 5 to 12 mm in diameter.

    A stiffness matrix with much shorter or thicker elements loses the digits that are compared.
    """
    z, pieces = 0.0, []
    for _ in range(draw.randint(2, 5)):
        length = draw.randint(10, 30)
        pieces.append((z, z + length, draw.uniform(5, 12)))
        z += length
    return pieces


def solved(pieces: list[Piece], at: float, force: float, *, clamped: bool) -> float:
    """Deflection under the load by anaStruct: one element for each cylinder, cut at the load."""
    system = SystemElements(mesh=2)
    node = 1
    loaded = 0
    for start, end, diameter in pieces:
        for low, high in ((start, min(end, at)), (max(start, at), end)):
            if high - low > 1e-9:
                stiff = MODULUS * second_moment(diameter)
                system.add_element(location=[[low, 0], [high, 0]], EI=stiff)
                node += 1
                loaded = node if abs(high - at) < 1e-9 else loaded
    if clamped:
        system.add_support_fixed(node_id=1)
    else:
        system.add_support_hinged(node_id=1)
        system.add_support_roll(node_id=node, direction="x")
    system.point_load(node_id=loaded, Fy=-force)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        system.solve()
    return abs(float(system.get_node_displacements(node_id=loaded)["uy"]))


@pytest.mark.parametrize("clamped", [False, True])
def test_random_stepped_shafts_agree_with_a_frame_solver(clamped: bool) -> None:
    draw = random.Random(6 + clamped)
    ours = spring_of_overhang if clamped else spring_between_centres
    for _ in range(SHAFTS):
        pieces = random_shaft(draw)
        low, high, _ = draw.choice(pieces)
        at = (low + high) / 2
        got, theirs = ours(pieces, at, 25.0, MODULUS), solved(pieces, at, 25.0, clamped=clamped)
        assert got == pytest.approx(theirs, rel=1e-9)
