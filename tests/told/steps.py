"""What each step of the lathe's judge makes of figures by itself, without a program round it.

Small bodies swept past small outlines, slides with backlash on single motions, sizes taken from outlines as drawn,
feeds and speeds just at their limits: each case has one figure, and a person can work it out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import product
from typing import Any

from cam.geometry.path import Arc, Line, Point, bounds
from cam.ground.problem import RangeError
from cam.judge.clearance import find_tip, outline_distance, sides_of
from cam.judge.contact import find_nearest, find_pairs, nearest_points, nearest_to
from cam.judge.envelope import Metal, Piece, above_axis, from_chain
from cam.judge.limits import within_limits
from cam.judge.near import KnownMove, SolidBody, Surroundings, find_beside, rubbed_length, worst_hit
from cam.judge.play import Play, Slides
from cam.judge.result import MetalFault, beyond_lines, cover, find_gouges, find_uncut
from cam.judge.rules import ShopChecks, fastest_at, feed_per_turn, feed_seconds, spindle_speed
from cam.judge.sizes import _sizes, cut_sizes
from cam.judge.surfaces import (
    Faced,
    Feeding,
    SquareFace,
    check_backlash,
    check_faces,
    covered,
    facing_span,
    find_faces,
    standing_height,
)
from cam.judge.sweep import along, along_arc, along_line, find_underside
from cam.judge.threading import height_over, vees
from cam.judge.travel import FRESH, TakeUp, after, goes_outward
from cam.rs274.model import Motion, Position, Program
from cam.setting.fastest import SpeedLimit
from cam.setting.model import Correction, Turned
from cam.setting.profiles import draw_least, draw_most
from cam.shop.tool_shape import Body
from tests.simulate_case import OBSTACLES, box, make_setting
from tests.specimens import HERE, grooving_tool, turning_tool
from tests.told.lathe import (
    ARCS,
    FINE,
    HOLDER,
    OUTLINES,
    SHOP,
    STEEL,
    approach,
    finding,
    held,
    limited,
    piece,
    read,
    spot,
)
from tests.told.metal import HILL, HOLLOW, LEVEL, RISING, moved
from tests.told.programs import figure, places
from tests.told.rows import PAIRS

NAN = math.nan


def slab(z0: float, z1: float, x: float, source: int = 0) -> Piece:
    """Return metal of one radius."""
    return (z0, z1, 0, z0, x, 0.0, source)


# Bodies on their way past the metal -----------------------------------------------------------------------------

WEDGE = (Point(0.5, 0.25), Point(2.5, 1.25), Point(1.0, 3.25))
BLOCK = (Point(0.0, 0.0), Point(1.0, 0.0), Point(1.0, 2.0), Point(0.0, 2.0))
SLANTED = (Point(0.0, 0.0), Point(3.0, -0.5), Point(3.0, 3.0), Point(1.0, 3.0))
POLYGONS: dict[str, tuple[Point, ...]] = {
    "point": (Point(0.5, 0.25),),
    "edge": (Point(0.0, 0.0), Point(1.0, 2.0)),
    "lying edge": (Point(0.0, 0.5), Point(2.0, 0.5)),
    **{f"wedge {n}": WEDGE[n:] + WEDGE[:n] for n in range(3)},
    **{f"block {n}": BLOCK[n:] + BLOCK[:n] for n in range(4)},
    "slanted": SLANTED,
    "keel": (
        Point(0.0, 1.0),
        Point(1.0, 0.25),
        Point(2.0, 0.0),
        Point(3.5, 0.5),
        Point(4.0, 1.0),
        Point(3.0, 2.0),
        Point(1.5, 2.5),
    ),
    "ramp": (Point(0.0, 0.0), Point(3.0, 2.0), Point(0.0, 2.0)),
}
WORKS: dict[str, list[Piece]] = {
    "tooth": [slab(-6.0, -0.5, 0.75), slab(-0.5, 0.5, 4.0), slab(0.5, 5.0, 0.5)],
    "tall": [slab(-4.0, 0.0, 1.0), slab(0.0, 4.0, 1.25), slab(4.0, 5.0, 6.0), slab(5.0, 9.0, 2.0)],
    "roof": [RISING, (0.0, 5.0, 0, 0.0, 3.0, -0.5, 3)],
    "bell": [(-4.0, 0.0, 0, -4.0, 5.0, -0.25, 5), (0.0, 4.0, 1, 2.0, 2.0, 3.0, 6)],
    "round": [slab(-6.0, -4.0, 0.5), HILL, moved(HOLLOW, 4.0, -1.0), slab(4.0, 6.0, 0.8)],
}
LINES = tuple(
    Line(Point(*a), Point(*b))
    for a, b in (
        ((-9.0, 6.5), (8.0, 6.5)),
        ((9.0, 7.0), (-9.0, 5.0)),
        ((-9.5, 0.5), (-9.5, 7.0)),
        ((10.0, 6.0), (10.0, 0.25)),
        ((-9.0, 1.0), (-8.0, 1.0)),
        ((3.0, 8.0), (3.0, 7.0)),
        ((2.0, 1.5), (2.0, 2.5)),
        ((-10.0, 0.75), (-2.0, 7.5)),
        ((11.0, 1.0), (1.0, 7.0)),
        ((2.0, 3.25), (2.0, 3.25)),
        ((9.6, 2.75), (12.0, 2.75)),
        ((13.0, 8.0), (8.0, 3.0)),
        ((-8.0, 7.5), (1.0, 6.25)),
        ((-3.0, 5.5), (-1.0, 8.0)),
        ((3.0, 3.0), (3.0, 0.25)),
    )
)


def arc(z: float, x: float, r: float, begin: float, end: float, turn: int) -> Arc:
    """Return an arc about (z, x) between two angles, in eighths of a turn."""
    ends = [Point(z + r * math.cos(a * math.pi / 4), x + r * math.sin(a * math.pi / 4)) for a in (begin, end)]
    return Arc(ends[0], ends[1], Point(z, x), turn)


ROUNDS = tuple(
    arc(z, x, r, begin, end, turn)
    for z, x, r in ((1.0, 9.0, 2.0), (0.0, 5.0, 0.2))
    for begin, end in ((0.5, 3.25), (4.5, 7.0), (5.0, 1.0), (2.0, 2.0), (6.0, 6.5))
    for turn in (1, -1)
)


def beside(solid: SolidBody, path: Line | Arc, metal: Metal, best: float) -> str:
    """Return how near a body comes, or how far it runs in."""
    hit = worst_hit(along(Metal.overlap, metal, solid.under, path, bounds(path), 0))
    if hit.amount:
        return f"in {places((hit.amount, hit.z, hit.x, hit.depth, hit.width))} {figure(hit.along(path))}"
    found = find_beside(solid, path, metal, best)
    if found is None:
        return "none"
    tip = find_tip(solid.sides, found.start, found.end, found.gap)
    return f"{figure(found.distance)} at {spot(found.gap.on_core)} to {spot(found.gap.on_work)} tip {spot(tip)}"


def ways() -> Iterator[str]:
    """Yield how near bodies come to metal on straight ways, round arcs, or how far they run in."""
    for (work, pieces), (name, polygon), round_ in product(WORKS.items(), POLYGONS.items(), (0.0, 0.25)):
        if len(polygon) == 1 and not round_:
            continue  # no tool is a bare point
        body = Body(name="nose", polygon=polygon, round=round_, cuts=True)
        solid = SolidBody(body, find_underside(polygon, round_), sides_of(polygon))
        metal, bests = Metal(pieces), ((50.0,) if round_ else (1.0, 0.6))
        for best in bests:
            paths = (*LINES, *ROUNDS[::3]) if best == 50.0 and name in ("point", "wedge 0") else LINES
            yield f"{work}, {name}, {round_}: {'; '.join(beside(solid, p, metal, best) for p in paths)}"
        if name in ("edge", "lying edge", "keel"):
            yield f"  rubs {places(tuple(rubbed_length(solid, p, metal) for p in LINES))}"


def outward() -> Iterator[str]:
    """Yield how far places on either side of each outline are from it, and where it is nearest."""
    for (work, pieces), x in product(WORKS.items(), (0.25, 0.75, 1.5, 2.75, 4.5)):
        metal = Metal(pieces)
        for best in (9.0, 0.6):
            gaps = [outline_distance(metal, -6.75 + 1.25 * k, x, best) for k in range(14)]
            told = [f"{figure(g.distance)} at {spot(g.on_work)}" if g else "none" for g in gaps]
            yield f"{work}, {x}, within {best}: {'; '.join(told)}"


def shown(pieces: Iterable[Piece]) -> str:
    """Return pieces in their figures."""
    return "; ".join(f"{p[2]} {places((*p[:2], *p[3:6]))}" for p in pieces) or "-"


def undersides() -> Iterator[str]:
    """Yield what bodies sweep underneath on straight ways and round arcs."""
    for (name, polygon), round_ in product(POLYGONS.items(), (0.0, 0.25, 3.0)):
        under = find_underside(polygon, round_)
        yield f"# {name}, {round_}: {places(tuple(v for c in under.corners for v in c))}; {places(under.box)}"
        if round_ < 1.0 or name == "slanted":
            yield from (f"  {shown(along_line(under, p.start, p.end, 1))}" for p in LINES[:8])
        if name in ("point", "lying edge", "slanted"):
            for p in ROUNDS[:10]:
                yield f"  {' | '.join(map(shown, along_arc(under, p.start, p.end, p.centre, p.turn, 1)))}"


TOOLS = {
    "knife": turning_tool(number=1, outlines=OUTLINES),
    "low holder": turning_tool(number=1, outlines=HOLDER),
    "left": turning_tool(number=1, hand="left"),
    "blade": grooving_tool(number=1),
}
STEPPED = [slab(-60.0, -16.0, 8.0), slab(-16.0, -6.0, 5.0, 1), slab(-6.0, 0.0, 4.0, 2)]
MOVES = tuple(
    Line(Point(*a), Point(*b))
    for a, b in (
        ((0.3, 4.2), (6.0, 4.2)),
        ((0.3, 4.2), (0.3, 9.0)),
        ((-3.0, 4.3), (-3.0, 9.0)),
        ((-3.0, 9.0), (-3.0, 4.3)),
        ((-3.0, 4.3), (5.0, 4.3)),
        ((5.0, 4.3), (-3.0, 4.3)),
        ((-5.5, 4.3), (0.5, 6.0)),
        ((6.0, 6.0), (-5.0, 4.5)),
        ((-3.0, 4.0), (-5.0, 4.0)),
        ((-3.0, 4.0), (-6.0, 4.0)),
        ((-3.0, 3.9), (-5.0, 3.9)),
        ((-3.0, 9.0), (-3.0, 3.9)),
        ((4.0, 3.0), (4.0, 0.5)),
        ((-20.0, 9.0), (-45.0, 9.0)),
        ((-45.0, 20.0), (-45.0, 8.5)),
        ((-18.0, 8.9), (-18.0, 8.9)),
        ((5.0, 9.0), (5.0, 4.1)),
        ((-30.0, 9.0), (-30.0, 4.0)),
        ((-69.0, 4.0), (-69.0, 3.9)),
        ((-61.5, 4.0), (-61.5, 3.0)),
        ((4.0, 4.5), (0.5, 4.4)),
    )
)


def nearness() -> Iterator[str]:
    """Yield the nearest approach of single motions of tools with holders, and what is too near."""
    metal = Metal(STEPPED)
    for (name, tool), kind, obstacles in product(TOOLS.items(), ("rapid", "line"), (OBSTACLES, ())):
        around, paths = Surroundings(make_setting(obstacles=obstacles), SHOP), (*MOVES, ROUNDS[0], ROUNDS[1])
        nears = find_nearest((tool,), obstacles, {n: (1, p) for n, p in enumerate(paths)})
        shape, told = around.shape(tool), []
        for n, p in enumerate(paths):
            motion = Motion(kind=kind, line=n, start=_at(p.start), end=_at(p.end), tool=1)
            move = KnownMove(n, motion, shape, p, bounds(p), nears.get(n))
            hit = None
            if kind == "rapid":
                hit = worst_hit(along(Metal.overlap, metal, shape.nose.under, p, move.box, n))
            told.append(f"{around.beside_work(move, metal)} {approach(around.approach(move, metal, hit))}")
        yield f"# {name}, {kind}, {len(obstacles)} about it, nearest {approach(around.fixed)}"
        yield from (f"  {one}" for one in told)
        yield from (f"  {finding(f)}" for f in around.findings)


def _at(p: Point) -> Position:
    return Position(p.x, NAN, p.z)


def contacts() -> Iterator[str]:
    """Yield the two nearest points of bodies and boxes, beside each other, touching and overlapping."""
    blocks = (box("block", 0, 4, 0, 2), replace(box("roof", 0, 4, 0, 2), polygon=RIDGE))
    for (name, polygon), round_, block in product(POLYGONS.items(), (0.0, 0.25), blocks):
        if name[-1] in "12":
            continue
        pairs = find_pairs((Body(name=name, polygon=polygon, round=round_, cuts=True),), (block,))
        for p in (
            *LINES,
            Line(Point(1.0, 1.5), Point(1.5, 1.5)),
            Line(Point(-1.0, 0.25), Point(-1.0, 0.25)),
            ROUNDS[2],
        ):
            near = nearest_to(pairs, [p])[0]
            on = " to ".join(map(spot, nearest_points(near)))
            yield f"{name}, {round_}, {block.name}: {figure(near.distance)} at {spot(near.tip)}: {on}"


RIDGE = (Point(0.0, 0.0), Point(4.0, 0.0), Point(3.0, 2.0))

# Slides with backlash ---------------------------------------------------------------------------------------------

PLACES = (
    (5.0, 0.0),
    (5.0, -4.0),
    (4.0, -4.0),
    (6.0, -2.0),
    (6.3, -2.6),
    (3.0, 1.0),
    (3.0, 4.0),
    (3.0, 2.0),
    (2.0, 2.0),
    (3.0, 4.0),
    (5.0, 3.0),
    (4.0, 5.0),
    (2.0, 6.0),
    (2.5, 6.1),
)
"""Places (x, z) one after another."""


def motions() -> Iterator[Motion]:
    """Yield motions of every kind: straight, along both axes, round arcs, of places that are not all known."""
    start = Position(NAN, NAN, NAN)
    for n, (x, z) in enumerate(PLACES):
        end = Position(x, 0.0, z)
        yield Motion(kind="line" if n % 2 else "rapid", line=n, start=start, end=end)
        start = end
    for n, p in enumerate(ROUNDS):
        yield Motion(kind="arc", line=20 + n, start=_at(p.start), end=_at(p.end), centre=_at(p.centre), turn=p.turn,
                     plane=18)  # fmt: skip
    for n, p in enumerate(ROUNDS[:2]):
        yield Motion(kind="arc", line=50 + n, start=_at(p.start), end=_at(p.end), centre=_at(p.centre), turn=p.turn)
    yield Motion(kind="stop", line=60, start=start, end=start)
    yield Motion(kind="line", line=61, start=start, end=start._replace(x=2.0, z=0.5), top_slide=True)
    yield Motion(kind="rapid", line=62, start=start, end=start._replace(z=NAN))
    yield Motion(kind="rapid", line=64, start=start._replace(x=NAN), end=start._replace(z=9.0))
    yield Motion(kind="rapid", line=65, start=start._replace(z=NAN), end=start._replace(x=9.0))
    yield Motion(kind="line", line=66, start=start, end=start._replace(x=2.0, z=8.0), top_slide=True)
    yield Motion(kind="thread", line=63, start=start, end=start._replace(z=-3.0), feed=0.8)


def carried() -> Iterator[str]:
    """Yield where slides with backlash go while their screws make single motions, and what they have taken up."""
    for x, z, loose in product((0.0, 0.2), (0.0, 0.3, 2.5), (False, True)):
        one, other = Slides(Play(x, z, loose=loose)), Slides(Play(x, z, loose=loose))
        yield f"# {x} {z} {loose}"
        for motion in motions():
            done = [f"{m.kind} {places(m.start)} to {places(m.end)} {places(m.centre or ())}" for m in
                    one.carry_out(motion)]  # fmt: skip
            yield f"  {motion.line}: {'; '.join(done)} | {'; '.join(map(piece, other.paths(motion)))}"
    for p in (*LINES, *ROUNDS):
        taken = " ".join(places(after(t, p)) for t in (FRESH, TakeUp(0.5, 0.25)))
        yield f"{piece(p)}: {taken} {goes_outward(p)}"
    for change in (-0.0005, 0.0005, 0.0006, -1.0, 0.0):
        p = Line(Point(0.0, 1.0), Point(change, 1.0 + change))
        yield f"{change}: {places(after(TakeUp(0.5, 0.25), p))} {goes_outward(p)}"
    for (start, end), lead in product(((0.0, -2.0), (0.0, 2.0), (1.0, -2.5), (-1.0, -1.0), (0.0, -0.3)), (0.5, 0.8)):
        found = vees(Line(Point(start, 3.0), Point(end, 3.0)), lead)
        yield f"{start} to {end} by {lead}: {'; '.join(map(places, found))}"
    metal = Metal(WORKS["tall"])
    yield f"crests {places(tuple(height_over(metal, z, p) for z in (-1.0, 3.5, 4.5, 6.0) for p in (0.0, 1.0)))}"


# Sizes, limits, what is left ----------------------------------------------------------------------------------------


def outlines_of(pair: tuple[Turned, ...], **more: Any) -> Iterator[tuple[str, list[Piece]]]:
    """Yield outlines of sections as they may be left, and a little smaller, larger and farther along."""
    for name, draw in (("least", draw_least), ("most", lambda *a: draw_most(*a, 0.25))):
        try:
            pieces = from_chain(draw(pair, make_setting().stock, -49.0))
        except (RangeError, ZeroDivisionError):
            continue
        yield name, pieces
        if name == "least":
            yield "smaller", [moved(p, 0.0, -0.03) for p in pieces]
            yield "farther", [moved(p, 0.04, 0.02) for p in pieces]


SLOPED = {
    "limited level": (
        replace(PAIRS["level"][0], section=limited(PAIRS["level"][0], 0.02, -0.04).section),
        limited(PAIRS["level"][1], 0.02, -0.01),
    ),
    "limited open": (PAIRS["plain"][0], limited(PAIRS["thin end"][1], 0.02, -0.01)),
    "taper with corners": (
        replace(PAIRS["edged"][0], radius_near=3.6, radius_far=4.2),
        replace(PAIRS["edged"][1], radius_near=5.4, radius_far=5.0),
    ),
}
"""Sections that slope, and what lies level or open beyond others, with limits."""


def taken() -> Iterator[str]:
    """Yield the sizes taken from outlines of sections of every kind, with and without a thread."""
    for name, pair in (PAIRS | SLOPED).items():
        edges = (*(t.edge for t in pair[1:]), None)
        for kind, pieces in outlines_of(pair):
            for t, past in zip(pair, edges, strict=True):
                for play in (0.0, 0.1, 2.0) if kind == "farther" else (0.0,):
                    rows = _sizes(t, t.far_edge or past, make_setting(turned=pair), [Metal(pieces)], play)
                    told = "; ".join(f"{s.section} {s.what} {figure(s.wanted)} {figure(s.most)}" for s in rows)
                    yield f"{name}, {kind}, {play}: {told}"
    shift = Correction(section="pivot", radius=0.02, face=0.03, text="0.02 deeper")
    both = (shift, replace(shift, section="seat", radius=-0.01, face=0.05))
    for corrections in ((), both):
        setting = replace(FINE, corrections=corrections)
        for s in cut_sizes(read(ARCS), setting, SHOP, 0.04, 0.05):
            yield f"{len(corrections)} corrected: {s.section} {s.what} {places(s[2:])}"


def limits() -> Iterator[str]:
    """Yield the outlines within the limits of sections of every kind."""
    for name, pair in (PAIRS | SLOPED).items():
        for division, cone in ((0.0, 0.0), (0.02, 0.0), (0.02, 0.001)):
            try:
                setting = held(*pair)
            except (RangeError, ZeroDivisionError):
                continue
            setting = replace(setting, hollow=0.25, cone=cone, cone_z=-8.0)
            least, most = ("; ".join(map(piece, c)) for c in within_limits(setting, division))
            yield f"{name} {division} {cone}: {least} | {most}"


def faults() -> Iterator[str]:
    """Yield what is gouged or uncut of outlines beside those wanted."""
    for name in ("plain", "edged", "thin end", "three"):
        pair = PAIRS[name]
        wanted = dict(outlines_of(pair))
        for (kind, pieces), (other, result) in product(wanted.items(), repeat=2):
            left = [(*p[:6], n - 1) for n, p in enumerate(result)]
            gouged = find_gouges(left, Metal(pieces), pair)
            stands = find_uncut(left, Metal(pieces))
            rest = beyond_lines(stands, Metal(pieces), 0.02)
            yield f"{name}, {other} for {kind}: {_shown(gouged)} | {_shown(stands)} | {len(rest)}"
    for z in (-7.0, 7.0):  # stretches narrower than the tolerance, side by side or apart
        for gap in (0.0, 0.5):
            sides = ((z, 0.0006, 1.3), (z + 0.0006 + gap, 0.0006, 1.2))
            teeth = [slab(at, at + wide, x, 1) for at, wide, x in sides]
            filled = [slab(z - 1.0, z, 1.0), teeth[0], slab(z + 0.0006, teeth[1][0], 1.0), teeth[1]]
            left = [p for p in (*filled, slab(teeth[1][1], z + 2.0, 1.0)) if p[0] < p[1]]
            yield f"teeth at {z}, {gap} apart: {_shown(find_uncut(left, Metal([slab(z - 1.0, z + 2.0, 1.0)])))}"
    for z0, z1 in product((-5.0, -4.0, -3.0), (-1.0, 0.0, 2.0)):
        yield f"over {z0} to {z1}: {shown(cover([LEVEL], z0, z1))}; {shown(cover([moved(LEVEL, 9.0)], z0, z1))}"
    for low in (0.5, 0.0, -0.5, -2.5, -4.0):
        for one in (HILL, HOLLOW, RISING):
            yield f"above the axis {low}: {shown(above_axis([moved(one, 0.0, low - 1.5)]))}"


def _shown(rows: Iterable[MetalFault]) -> str:
    return "; ".join(f"{f.source} {places((f.amount, *f.at, *f.wanted))}" for f in rows) or "-"


# Faces ------------------------------------------------------------------------------------------------------------


def faces() -> Iterator[str]:
    """Yield the faces that are to be made, which heights of them cuts have faced, and what loose slides leave."""
    lathe = SHOP.lathe
    for name, face_end in product(("plain", "edged", "thin end", "three", "level"), (False, True)):
        pair = PAIRS[name]
        try:
            setting = replace(held(*pair), face_end=face_end, cone=0.002 * face_end, cone_z=-8.0)
        except (RangeError, ZeroDivisionError):
            continue
        least, most = Metal(from_chain(setting.least)), Metal(from_chain(setting.most))
        stock = Metal(from_chain(setting.stock))
        found = find_faces(setting, least, stock)
        yield f"# {name} {face_end}: {'; '.join(map(places, found))}"
        left = [(*p[:6], n % 3) for n, p in enumerate(least.pieces)]
        for (inward, headward), (a, b), lean in product(
            ((0.039, 0.05), (0.04, 0.049), (0.0, 1.0)), ((9.0, 3.0), (4.0, 9.0), (4.6, 4.2)), (90.0, 93.0)
        ):
            tool, taken_up = turning_tool(approach=lean), TakeUp(inward, headward)
            feeding = {
                n: Feeding(n, Line(Point(z, x), Point(end, b)), tool, taken_up, n == 1 and a == 9.0)
                for n, (z, end, x) in enumerate(((-6.0, -6.0, a), (-6.0, -6.001, a), (-16.0, -16.0, a + 1.0)))
            }
            faced = [places(facing_span(f) or ()) for f in feeding.values()]
            yield f"  {inward} {headward} {a} {b} {lean}: {'; '.join(faced)}"
            yield from (f"    {finding(f)}" for f in check_backlash(left, feeding, setting, (least, most), lathe))
            yield from (f"    {finding(f)}" for f in check_faces(Metal(left), feeding, setting, (least, stock), lathe))


SPANS = ((4.0, 5.0), (5.0, 6.0), (6.5, 8.0), (3.0, 3.5), (4.5, 4.75), (8.0, 8.0), (7.0, 6.9), (3.5, 4.0), (1.0, 9.0))


def stretches() -> Iterator[str]:
    """Yield the heights faced at one place as cut after cut is added, and what stands of faces."""
    for n in range(len(SPANS)):
        faced = Faced()
        for low, high in SPANS[n:]:
            faced.add(low, high)
            joined = list(zip(faced.lows, faced.highs, strict=True))
            rows = [SquareFace(-6.0, a, b) for a, b in ((3.0, 9.0), (4.0, 5.0), (5.0, 6.498), (6.0, 8.002), (0.0, 3.0))]
            left = [faced.standing(f, 0.1) for f in rows] + [standing_height(f, joined, 0.0) for f in rows]
            yield f"{low} {high}: {'; '.join(map(places, joined))} leaves {places(tuple(left))}"
    for tool in TOOLS.values():
        for z, x0, x1 in (
            (-6.0, 5.0, 8.0),
            (-6.0019, 8.0, 5.0),
            (-5.998, 3.0, 4.0),
            (-6.0021, 5.0, 8.0),
            (-6.0, 8.0, 9.0),
            (-6.0, 5.0, 5.0),
        ):
            feeding = Feeding(1, Line(Point(z, x0), Point(-6.0, x1)), tool, FRESH)
            cut = [places(row[:2]) for row in covered(SquareFace(-6.0, 4.0, 8.0), [feeding])]
            yield f"{tool.kind} {tool.hand} at {z}: {cut} {facing_span(feeding)}"


# Feeds and speeds -------------------------------------------------------------------------------------------------


def _tool_of(checks: ShopChecks, motion: Motion) -> None:
    checks.tool_of(motion)


STILL = Position(6.0, 0.0, -3.0)
MODES: dict[str, Any] = {"feed": 30.0, "rpm": 600.0, "spindle": 1, "tool": 1, "system": 1, "plane": 18}
BASE = Motion(kind="line", line=3, start=STILL, end=STILL, **MODES)


def rules() -> Iterator[str]:
    """Yield feeds, speeds and times of motions that say more or less of them."""
    speeds: tuple[dict[str, Any], ...] = (
        {}, {"spindle": 0}, {"rpm": 0.0}, {"surface_speed": 20.0}, {"surface_speed": 20.0, "rpm": 0.0},
        {"surface_speed": 20.0, "rpm": 400.0}, {"spindle": -1},
    )  # fmt: skip
    for more, mode, feed in product(speeds, (93, 94, 95, 0), (None, 0.0, 0.05, 30.0)):
        m = BASE._replace(feed_mode=mode, feed=feed, **more)
        told = [fastest_at(m, x) for x in (0.0, 2.0, -8.0)] + [spindle_speed(m, x) for x in (0.0, 2.0, 8.0)]
        times = [feed_seconds(m, rpm, 5.0) for rpm in (0.0, 500.0)]
        yield f"{more} {mode} {feed}: {places((*told, *times))} {[feed_per_turn(m, r, 5.0) for r in (0.0, 500.0)]}"


CHECKS: list[tuple[str, Callable[[ShopChecks, Motion], None], list[Motion]]] = [
    ("feeding", lambda c, m: c.check_feeding(m, m.rpm, feed_per_turn(m, m.rpm, 5.0)),
     [BASE._replace(feed=f, rpm=r) for r in (600.0, 320.0, 0.0) for f in
      (0.01 * 0.99 * r - 0.5 - 1e-6, 0.01 * 0.99 * r - 0.5 + 1e-6, 0.15 * 1.01 * r + 0.5 - 1e-6,
       0.15 * 1.01 * r + 0.5 + 1e-6, 0.01 * r, 0.15 * r)]),
    ("speed", lambda c, m: c.check_feeding(m, m.rpm, 0.05),
     [BASE._replace(rpm=r, surface_speed=s) for s in (None, 9.0) for r in
      (606.0, 606.1, 594.0, 593.9, 316.8, 316.7, 1010.0, 1010.1, 0.0, 593.9)]),
    ("fastest", lambda c, m: c.check_fastest(m),
     [BASE._replace(rpm=r, surface_speed=s, start=STILL._replace(x=a), end=STILL._replace(x=b), spindle=w)
      for r, s, a, b, w in ((600.0, None, 6.0, 6.0, 1), (600.1, None, 6.0, 6.0, 0), (600.1, None, 6.0, 6.0, -1),
                            (0.0, 20.0, 6.0, 4.0, 1), (0.0, 20.0, 8.0, -5.0, 1), (0.0, 30.0, 3.0, 9.0, 1),
                            (0.0, 20.0, -6.0, -5.0, 1), (800.0, 25.0, 0.0, 5.0, 1), (0.0, 40.0, NAN, 5.0, 1))]),
    ("chip", lambda c, m: c.check_chip(m, TOOLS["knife"], (m.feed or 0.0) / 600),
     [BASE._replace(feed=600 * f, rpm=r) for r in (600.0, 0.0) for f in
      (0.06 * 1.01 + 0.5 / 600 - 1e-7, 0.06 * 1.01 + 0.5 / 600 + 1e-7, 0.06)]),
    ("along", lambda c, m: c.check_along(m, TOOLS["knife"], m.start.x - 5.0, 0.03),
     [BASE._replace(start=STILL._replace(x=x), rpm=r) for x, r in
      ((5.9, 600.0), (5.9001, 600.0), (5.8999, 600.0), (9.28, 600.0), (9.29, 600.0), (9.29, 320.0), (9.29, 323.2),
       (20.0, 323.3), (9.29, 600.0))]),
    ("limits", lambda c, m: c.check_limits(m, TOOLS["knife"], m.end.x, m.end.z, -16.0),
     [BASE._replace(kind=k, spindle=s, end=Position(x, 0.0, z)) for k, s, x, z in
      (("line", 1, -0.25, -16.0), ("line", 1, -0.2501, -16.0), ("rapid", 1, 0.0, -16.1), ("line", 0, 0.0, -16.1),
       ("line", 1, 0.0, -16.1), ("line", -1, 0.0, -16.00001), ("arc", 1, -0.26, -15.0))]),
    ("shape", lambda c, m: c.check_shape(m),
     [BASE._replace(kind=k, plane=p, start=STILL._replace(y=a), end=STILL._replace(y=b)) for k, p, a, b in
      (("line", 17, 0.0, NAN), ("line", 18, NAN, 0.0), ("line", 18, NAN, 1.0), ("line", 18, 2.0, 2.0),
       ("line", 18, 2.0, 0.0), ("arc", 17, 0.0, 0.0), ("arc", 18, 0.0, 0.0), ("arc", 0, 0.0, 0.0))]),
    ("tool", _tool_of,
     [BASE._replace(tool=t, system=s, offset=o) for t, s, o in
      ((1, 1, 0), (1, 2, 0), (1, 0, 0), (2, 2, 0), (2, 1, 0), (9, 1, 0), (9, 1, 0), (0, 1, 0), (1, 2, 5))]),
    ("cutting", lambda c, m: c.check_cutting(m),
     [BASE._replace(spindle=s, rpm=r, surface_speed=v) for s, r, v in
      ((1, 600.0, None), (0, 600.0, None), (-1, 600.0, None), (1, 0.0, None), (1, 0.0, 9.0))]),
]  # fmt: skip
"""What is checked, and motions on either side of each limit."""


def checked() -> Iterator[str]:
    """Yield what is said of feeds, speeds, depths and tools just within their limits and just beyond."""
    program = Program(motions=(BASE,), problems=(), lines=9, comments=(), standard="NISTIR 6556")
    limit = SpeedLimit(kind="carrier", name="dog", rpm=599.5, surface=0.0, mouth=0.0, lubricant="", where=HERE)
    free = replace(SHOP, lathe=replace(SHOP.lathe, spindle=replace(SHOP.lathe.spindle, positions=())))
    for (name, check, given), shop in product(CHECKS, (SHOP, free)):
        checking = ShopChecks(shop, program, (limit,), STEEL)
        for m in given:
            before = len(checking.findings), len(checking.warnings)
            check(checking, m)
            news = (*checking.findings[before[0] :], *checking.warnings[before[1] :])
            yield f"{name} {places((m.feed or 0.0, m.rpm, m.start.x))}: {'; '.join(map(finding, news)) or '-'}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "steps beside": ways, "steps outward": outward, "steps underneath": undersides, "steps near": nearness,
    "steps contacts": contacts, "steps carried": carried, "steps sizes": taken, "steps limits": limits,
    "steps faults": faults, "steps faces": faces, "steps stretches": stretches, "steps rules": rules,
    "steps checks": checked,
}  # fmt: skip
