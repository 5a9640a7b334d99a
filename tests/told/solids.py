"""How near tools come, what a section across looks like and how deep metal stands, each set out by hand."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from cam.judge.mill import section_outline
from cam.judge.mill_metal import Sweep, floor_at, standing_over
from cam.judge.mill_result import Face
from cam.setting.milled import LEVEL, MillWork, Solid, bar, tipped
from cam.setting.solids import gap, milling_force, nearest, reach_of, spring_of_overhang
from tests.told.mill import MILL, TIPPED, number

GAPS = (
    bar("bar", 0.0, 10.0, 10.0),
    Solid("box", 0.0, 10.0, -4.0, 4.0, 5.0),
    Solid("jaw", 0.0, 10.0, -4.0, 4.0, 5.0, tilts=False),
)
FRAMES = {"level": LEVEL, "tipped": tipped(0.1, 0.0), "tipped down": tipped(-0.1, 10.0)}
STEEP = FRAMES["tipped"]
PLACES = (
    (5.0, 0.0, 8.0),
    (13.0, 0.0, 2.0),
    (-6.0, 0.0, 9.0),
    (5.0, 8.0, 0.0),
    (5.0, 9.0, 9.0),
    (14.0, 9.0, 9.0),
    (5.0, 3.0, 3.0),
    (10.5, 0.0, 4.0),
    (-0.5, 5.5, -8.0),
    (10.0, -10.0, -3.0),
    (5.0, 4.5, 4.5),
    (11.0, -4.0, 5.0),
)
"""Places of the middle of a cylinder's end; its radius is 2."""


def gaps() -> Iterator[str]:
    """Yield how far a cylinder of radius 2 is from solids, and what comes nearest on ways past them."""
    for solid in GAPS:
        for name, frame in FRAMES.items():
            yield f"# {solid.name}, {name}: its reach {' '.join(map(number, reach_of(solid, frame)))}"
            yield from (f"  {' '.join(map(number, p))}: {number(gap(*p, 2.0, solid, frame))}" for p in PLACES)
    slim = replace(MILL, diameter=2.0, flutes=5.0, shank_diameter=4.0, stick_out=12.0, holder_diameter=10.0)
    post = Solid("post", 4.0, 6.0, -1.0, 1.0, 5.0)
    for start in PLACES[::2]:
        for end in PLACES[1::2]:
            for sections in ((), (GAPS[0],)):
                near = nearest(slim, start, end, (post,), sections, LEVEL)
                way = f"{' '.join(map(number, start))} to {' '.join(map(number, end))}"
                at = " ".join(f"{v:.3f}" for v in near.at)
                yield f"{way}: {number(near.distance)}, {near.body}, {near.obstacle}, at {at}"
    for x in (0.0, 1.0, 1.5, 2.0):
        near = nearest(slim, (9.0, 0.0, 2.0), (9.0 - x, 0.0, 2.0), (post,), (), LEVEL)
        yield f"along by {x:g}: {number(near.distance)}, {near.body}, at {number(near.at[0])}"
    near = nearest(slim, PLACES[0], PLACES[1], (), (), LEVEL)
    yield f"nothing there: {near}"


def outlines() -> Iterator[str]:
    """Yield sections across a bar of 8 mm with flats, and how deep metal stands in a cutter's way."""
    work = MillWork(sections=(bar("blank", 0.0, 12.0, 8.0), bar("thin", 12.0, 20.0, 4.0)), fixtures=())
    flat = Face(0.0, (Sweep(-9.0, 0.0, 3.0, 20.0, 0.0, 3.0, 5.0, 7),))
    side = Face(100.0, (Sweep(-9.0, 1.0, 2.5, 8.0, 1.0, 2.0, 1.5, 8), Sweep(-9.0, -2.0, 3.0, 8.0, -2.0, 3.0, 0.5, 9)))
    for faces in ((), (flat,), (side,), (flat, side)):
        for frame in (LEVEL, TIPPED, STEEP):
            for x, up in ((6.0, 0.0), (6.0, 30.0), (16.0, 0.0), (30.0, 0.0)):
                corners = section_outline(faces, replace(work, frame=frame), x, up)
                bent = [c for c in corners if abs(math.hypot(*c) - 4.0) > 1e-6][::5]
                told = " ".join(f"{number(round(y, 4))}/{number(round(z, 4))}" for y, z in bent)
                yield f"{len(faces)} cut, {number(frame.sin)}, at {x:g}, {up:g} up: {len(corners)} corners, {told}"
    sweeps = [*flat.sweeps, *side.sweeps]
    for way in (
        (6, 0, 3, 6, 0, 3),
        (6, 0, 2, 6, 0, 1),
        (-3, 0, 2, 30, 0, 2),
        (2, 6, 1, 2, -6, 2),
        (11, 1, 1, 13, 1, 0),
        (30, 0, 0, 30, 0, 0),
        (6, 5.9, 0, 6, 5.9, 0),
        (6, 0, 4, 6, 0, 4),
        (-1.4, 2, 1, -1.4, 2, 1),
        (15, 0, 2.1, 19, 0, 1.9),
    ):
        for own in ([], sweeps):
            for frame in (LEVEL, TIPPED, STEEP):
                found = standing_over(Sweep(*map(float, way), 1.5, 1), own, replace(work, frame=frame))
                yield f"{way} over {len(own)} cuts, {number(frame.sin)}: {' '.join(map(number, found))}"
    for y in (-4.9, -2.4, 0.0, 2.6, 5.1):
        told = (
            floor_at(own, replace(work, frame=f), 6.0, y, 2.0)
            for own in ([], sweeps[:1], sweeps)
            for f in (LEVEL, TIPPED, STEEP)
        )
        yield f"floor at {y:g}: {' '.join(map(number, told))}"
    stub = (bar("thick", 0.0, 10.0, 10.0), bar("thin", 10.0, 30.0, 5.0))
    for at, across in ((5.0, None), (20.0, None), (20.0, 4.0), (5.0, 4.0)):
        bends = spring_of_overhang(stub, at, 20.0, 210e3, across=across)
        yield f"pushed at {at:g}, {across} across: bends {1e6 * bends:.3f} nm"
    force = [milling_force(2200.0, 0.25, 0.5, 0.0625, teeth) for teeth in (1, 6)]
    yield f"force: {number(force[0])}, of 6 teeth {number(force[1])}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"gaps": gaps, "outlines": outlines}
