"""How near tools come, what a section across looks like and how deep metal stands, each set out by hand."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import permutations, product

from cam.judge.driven import feed_of
from cam.judge.mill import radius_at, section_outline
from cam.judge.mill_metal import Sweep, add_sweep, floor_at, floor_of, floor_under, lowest_at, standing_over
from cam.judge.mill_result import Face, FlatResult
from cam.judge.milled import extremes, judge_across, same_angle, stations, turned_from, wanted_top
from cam.plan.stiffness import spring_of_overhang
from cam.rs274.model import Motion
from cam.setting.milled import LEVEL, MillWork, Solid, bar, tipped
from cam.setting.solids import FAR, gap, milling_force, nearest, reach_of
from tests.told.bored import HOLE
from tests.told.mill import MILL, SLOPED, SQUARE, TIPPED, WORK, number

GAPS = (
    bar("bar", 0.0, 10.0, 10.0),
    Solid("box", 0.0, 10.0, -4.0, 4.0, 5.0),
    Solid("jaw", 0.0, 10.0, -4.0, 4.0, 5.0, tilts=False),
    Solid("step", 0.0, 10.0, -4.0, 4.0, -2.0),
    bar("pin", 0.0, 10.0, 1.0),
)
FRAMES = {
    "level": LEVEL,
    "tipped": tipped(0.1, 0.0),
    "tipped down": tipped(-0.1, 10.0),
    "tipped at 4": tipped(0.1, 4.0),
}
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
    known = FAR._replace(distance=1.0)
    for one, other, where in (
        ((9.0, 0.0, 2.0), (-20.0, 0.0, 2.0), post),
        ((-20.0, 30.0, 2.0), (9.0, 0.0, 2.0), post._replace(left=3.0, right=5.0)),
        ((5.0, 0.0, 9.0), (5.0, 0.0, 2.0), post),
    ):
        for start, end in ((one, other), (other, one)):
            near = nearest(slim, start, end, (where,), (), LEVEL, known)
            yield f"past {where.left:g} from {number(start[0])}, 1 known: {number(near.distance)} {near.body}"
    near = nearest(slim, (3.0, 5.0, 2.0), (7.0, 5.0, 2.0), (post,), (), LEVEL)
    yield f"past it, 3 aside: {number(near.distance)}, {near.body}, at {near.at[0]:.2f}"
    near = nearest(slim, (5.0, -0.3, 2.0), (5.0, 0.3, 2.0), (post._replace(left=-0.05, right=0.05),), (), LEVEL)
    yield f"across a thin one: {number(near.distance)}, {near.body}, at {near.at[1]:.2f}"
    near = nearest(slim, PLACES[0], PLACES[1], (), (), LEVEL)
    yield f"nothing there: {near}"


STAIR = ((330.0, 1.15, 2.5), (340.0, 0.8, 3.0), (350.0, 1.0, 3.5))
"""Three narrow cuts (angle, y, height), each of which meets a ray only below what the next one has left."""


def outlines() -> Iterator[str]:
    """Yield sections across a bar of 8 mm with flats, and how deep metal stands in a cutter's way."""
    work = MillWork(sections=(bar("blank", 0.0, 12.0, 8.0), bar("thin", 12.0, 20.0, 4.0)), fixtures=())
    flat = Face(0.0, (Sweep(-9.0, 0.0, 3.0, 20.0, 0.0, 3.0, 5.0, 7),))
    side = Face(100.0, (Sweep(-9.0, 1.0, 2.5, 8.0, 1.0, 2.0, 1.5, 8), Sweep(-9.0, -2.0, 3.0, 8.0, -2.0, 3.0, 0.5, 9)))
    deep = Face(350.0, (Sweep(-9.0, -3.6, -1.0, 20.0, -3.6, -1.0, 0.8, 10),))
    nest = [Face(a, (Sweep(-9.0, y, z, 20.0, y, z, 0.5, 11),)) for a, y, z in STAIR]
    for faces in ((), (flat,), (side,), (flat, side)):
        for frame in (LEVEL, TIPPED, STEEP):
            for x, up in ((6.0, 0.0), (6.0, 30.0), (16.0, 0.0), (30.0, 0.0)):
                corners = section_outline(faces, replace(work, frame=frame), x, up)
                bent = [c for c in corners if abs(math.hypot(*c) - 4.0) > 1e-6][::5]
                told = " ".join(f"{number(round(y, 4))}/{number(round(z, 4))}" for y, z in bent)
                yield f"{len(faces)} cut, {number(frame.sin)}, at {x:g}, {up:g} up: {len(corners)} corners, {told}"
    for order in permutations(nest):
        yield f"cut {[number(f.angle) for f in order]}: {number(radius_at(order, work, 6.0, 0.0))} left"
    for faces in ((deep,), nest, (flat, deep, *nest)):
        corners = section_outline(faces, work, 6.0)
        bent = " ".join(f"{number(round(y, 4))}/{number(round(z, 4))}" for y, z in corners if math.hypot(y, z) < 3.9)
        around = number(round(math.fsum(abs(y) for y, _ in corners), 4))
        yield f"{len(faces)} cut, nothing turned up: {len(corners)} corners, {around} aside in all, {bent}"
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
        (-1.5, 0, 2, -1.5, 0, 2),
        (21.5, 0, 1, 21.5, 0, 1),
        (6, 5.5, -1, 6, 5.5, -1),
        (6, 5.45, -1, 6, 5.45, -1),
        (6, -5.45, -1, 6, -5.45, -1),
        (6, 0.7, 2, 6, 0.7, 2),
        (6, -0.7, 2, 6, -0.7, 2),
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
    yield from forces()


def forces() -> Iterator[str]:
    """Yield how far a part that stands out is pushed aside, the feed a turn, and the force of a cut."""
    for at, across in ((5.0, None), (20.0, None), (20.0, 4.0), (5.0, 4.0)):
        bends = spring_of_overhang([(0.0, 10.0, 10.0), (10.0, 30.0, across or 5.0)], at, 20.0, 210e3)
        yield f"pushed at {at:g}, {across} across: bends {1e6 * bends:.3f} nm"
    force = [milling_force(2200.0, 0.25, 0.5, 0.0625, teeth) for teeth in (1, 6)]
    for mode, feed, rpm in product((93, 94, 95), (None, 100.0), (0.0, 1000.0)):
        motion = Motion("line", 1, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), feed=feed, feed_mode=mode, rpm=rpm)
        yield f"feed {feed} under G{mode} at {rpm:g}: {number(feed_of(motion))} a turn"
    yield f"force: {number(force[0])}, of 6 teeth {number(force[1])}"


HEIGHTS: dict[str, Callable[[float], float]] = {
    "a valley at 0.3": lambda y: (y - 0.3) ** 2 - 0.5,
    "a hill at 0.3": lambda y: 0.25 - (y - 0.3) ** 2,
    "a valley at 0.6": lambda y: (y - 0.6) ** 2,
    "a valley at -0.6": lambda y: (y + 0.6) ** 2,
    "a valley beyond the end": lambda y: (y - 3.0) ** 2 - 9.0,
    "level, then down": lambda y: min(0.0, 0.5 - y),
    "level, then up": lambda y: max(0.0, y - 0.5),
    "level": lambda y: -0.25,
    "a slope": lambda y: y / 4,
    "a ridge between two paths": lambda y: 0.5 - abs(y),
}
SWEEPS = {
    "level": (0.0, 0.0, 2.0, 10.0, 0.0, 2.0),
    "falling": (0.0, 0.0, 2.0, 10.0, 0.0, 1.0),
    "rising": (0.0, 0.0, 1.0, 10.0, 0.0, 2.0),
    "aslant": (0.0, 0.0, 2.0, 6.0, 8.0, 1.0),
    "down": (5.0, 0.0, 2.0, 5.0, 0.0, -1.0),
}
PATH = Sweep(0.0, 0.0, 2.0, 10.0, 0.0, 2.0, 3.0, 1)


def floors() -> Iterator[str]:
    """Yield the extremes of heights, and what single cuts leave, at their edges most of all."""
    for name, height in HEIGHTS.items():
        for paths in ((), (0.5,), (-0.4, 0.9), (0.3, -1.0, 1.0, 2.0)):
            low, high = extremes(height, 1.0, paths)
            yield f"{name}, paths {paths}: {low:.9f} to {high:.9f}"
    for name, way in SWEEPS.items():
        own = Sweep(*way, 3.0, 1)
        for x, y in ((5, 0), (-3, 0), (-3.001, 0), (13, 0), (13.001, 0), (5, 3), (5, -3), (5, 3.001), (9, 8), (2, 3)):
            yield f"{name} at {x} {y}: {number(floor_under(own, float(x), float(y)))}"
    own = [Sweep(*way, 3.0, 1)._replace(y0=5.0, y1=5.0) for way in SWEEPS.values()]
    for some in permutations([own[0]._replace(z0=1.5, z1=1.5), own[1], own[2]]):
        floor = " ".join(number(floor_of(some, float(x), 5.0)) for x in (-2, 0, 3, 5, 7, 10, 12))
        yield f"floor of {[(s.z0, s.z1) for s in some]}: {floor}"
    for changes in (
        {},
        {"z0": 1.0},
        {"z0": 3.0},
        {"z1": 1.0},
        {"z1": 3.0},
        {"z0": 1.0, "z1": 3.0},
        {"r": 2.0},
        {"r": 4.0},
        {"y0": 1.0},
        {"x0": 10.0, "x1": 0.0},
    ):
        kept = [PATH]
        add_sweep(kept, PATH._replace(line=2, **changes))
        yield f"cut again with {changes}: {[s.line for s in kept]}"
    steps = ([], [PATH], [PATH, PATH._replace(z1=-1.0)], [PATH._replace(z0=-1.0)])
    for frame in (LEVEL, TIPPED, STEEP):
        work = replace(WORK, frame=frame)
        yield f"lowest, {number(frame.sin)}: {' '.join(number(lowest_at(own, work, 6.0)) for own in steps)}"


def places() -> Iterator[str]:
    """Yield what is wanted at single places, where a flat is looked at, and what lies across it."""
    work = WORK.__class__(sections=WORK.sections, fixtures=(), square=SQUARE, wall=0.1, holes=(HOLE,))
    for wanted in (work, replace(work, square=replace(SLOPED, flats=6))):
        for angle in (0.0, 10.0, 45.0, 90.0, 270.0):
            spots = ((6, 0), (6, 2), (6, 2.001), (6, -2.5), (6, 3), (0.1, 0), (0.099, 0), (-11, 2), (-11.001, 2))
            spots += ((-5, 0), (-4.999, 0), (-20, 7), (-20.001, 0), (12.001, 0), (-8, 7.001))
            tops = " ".join(number(wanted_top(wanted, angle, float(x), float(y))) for x, y in spots)
            yield f"wanted, turned to {angle:g}: {tops}"
    for wall in (-0.1, 0.0, 0.1, 9.0):
        for own in ([], [PATH], [PATH, PATH._replace(r=5.0)]):
            places_of = " ".join(number(x) for x in stations(SQUARE, wall, own))
            yield f"looked at with the wall at {wall:g}, {len(own)} cuts: {places_of}"
    for one, other in ((0, 0), (180, 0), (-180, 0), (0, 180), (270, 0), (90, 450), (359.9999999, 0), (0.00001, 0)):
        yield f"from {other} to {one}: {number(turned_from(one, other))} {same_angle(one, other)}"
    rows = [FlatResult(flat, x, -0.01 * flat, 0.01 * flat) for flat in (1, 2, 3, 4) for x in (1.0, 2.0)]
    for left in (rows, rows[:-1], rows[:4], [*rows[2:4], *rows[6:]]):
        over = judge_across(left, SLOPED)
        across = (f"{a.flat} {number(a.x)} {number(a.reading)} of {number(a.wanted)}" for a in over)
        yield f"across {len(left)} places: {', '.join(across)}"
    yield f"no square: {judge_across(rows, None)}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"gaps": gaps, "outlines": outlines, "floors": floors, "places": places}
