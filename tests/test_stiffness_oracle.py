"""Stiffness of stepped shafts against a general frame solver, anaStruct, and against the same method without rounding.

A frame solver inverts a stiffness matrix whose entries go as E I / l^3. In double precision that costs digits as
lengths and diameters differ more, so anaStruct is asked for 1e-9 on moderate shafts only. For any shaft the same beam
elements are put together and solved in fractions, which lose nothing.
"""

from __future__ import annotations

import random
import warnings
from fractions import Fraction
from itertools import pairwise

import pytest

from cam.plan.stiffness import Piece, second_moment, spring_between_centres, spring_of_overhang

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from anastruct import SystemElements

MODULUS = 210e3
SHAFTS = 60


def random_shaft(draw: random.Random) -> list[Piece]:
    """Two to five cylinders, 10 to 30 mm long and 5 to 12 mm in diameter."""
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


# Any shaft, in fractions ----------------------------------------------------------------------------------


def wild_shaft(draw: random.Random) -> list[Piece]:
    """Two to seven cylinders, 0.2 to 60 mm long and 1 to 40 mm in diameter."""
    z, pieces = 0.0, []
    for _ in range(draw.randint(2, 7)):
        end = z + draw.choice([0.2, 0.5, 2.0, 9.0, 33.0, 60.0]) * draw.uniform(0.9, 1.1)
        pieces.append((z, end, draw.choice([1.0, 3.0, 12.0, 40.0]) * draw.uniform(0.9, 1.1)))
        z = end
    return pieces


def solved_in_fractions(pieces: list[Piece], at: float, force: float, *, clamped: bool) -> float:
    """As solved: two-node beam elements (w, w' at each end), their standard stiffness matrix, Gauss elimination."""
    ends = sorted({Fraction(z) for low, high, _ in pieces for z in (low, high)} | {Fraction(at)})
    size = 2 * len(ends)
    rows = [[Fraction(0)] * (size + 1) for _ in range(size)]
    for k, (low, high) in enumerate(pairwise(ends)):
        thick = next(d for a, b, d in pieces if Fraction(a) <= low and high <= Fraction(b))
        stiff, long = Fraction(MODULUS * second_moment(thick)), high - low
        element = [[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]]
        for i in range(4):
            for j in range(4):
                rows[2 * k + i][2 * k + j] += stiff * element[i][j] / long ** (3 - i % 2 - j % 2)
    load = 2 * ends.index(Fraction(at))
    rows[load][size] = Fraction(force)
    held = {0, 1} if clamped else {0, size - 2}
    free = [i for i in range(size) if i not in held]
    rows = [[rows[i][j] for j in [*free, size]] for i in free]
    for i in range(len(free)):
        rows[i] = [x / rows[i][i] for x in rows[i]]
        for j in range(len(free)):
            if j != i and rows[j][i]:
                rows[j] = [x - rows[j][i] * y for x, y in zip(rows[j], rows[i], strict=True)]
    return float(rows[free.index(load)][-1])


@pytest.mark.parametrize("clamped", [False, True])
def test_wild_stepped_shafts_agree_with_beam_elements_in_fractions(clamped: bool) -> None:
    draw = random.Random(16 + clamped)
    ours = spring_of_overhang if clamped else spring_between_centres
    for _ in range(25):
        pieces = wild_shaft(draw)
        low, high, _ = draw.choice(pieces)
        at = low + draw.uniform(0.1, 0.9) * (high - low)
        theirs = solved_in_fractions(pieces, at, 25.0, clamped=clamped)
        assert ours(pieces, at, 25.0, MODULUS) == pytest.approx(theirs, rel=1e-9)
