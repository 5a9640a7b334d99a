"""What there is to see in one setting, as chains in the setting's axes: work, obstacles, paths, tool."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

import shapely

from cam.geometry.path import Arc, Box, Chain, Line, Point, Polygon, Segment, bounds, flatten, shift
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PROGRAMMED
from cam.judge.model import Approach, Finding, Simulation
from cam.judge.play import path_of as path_known
from cam.judge.report import pass_at
from cam.picture.sheet import straight
from cam.plan.model import Pass, SettingPlan
from cam.rs274.model import MOVING, Motion, Program
from cam.setting.model import CentreHole, Setting
from cam.setting.obstacles import CENTRE
from cam.shop.model import Centre, Shop, Tool
from cam.shop.tool_shape import tool_bodies

HEAVY = frozenset({"face", "finish", "taper", "groove", "fillet", "edge"})
"""Kinds of pass whose surface stays."""
SHOWS = 5e-3
"""Gouges and uncut metal from this size up, mm, get the wanted outline drawn beside what is left."""


class Shape(Row):
    """Something to be drawn.

    Attributes:
        style: a class of the template's style sheet.
        chain: outline in the setting's axes.
        low, high: corners of a box around it.
        solid: closed, filled and, in the styles that have it, hatched.
        name: name of an obstacle or a part of the tool; "" for others.
    """

    style: str
    chain: Chain
    low: Point
    high: Point
    solid: bool
    name: str


def shape(style: str, chain: Chain, *, solid: bool = False, name: str = "") -> Shape:
    """Return a shape with its box."""
    z0, x0, z1, x1 = bounds(chain)
    return Shape(style, chain, Point(z0, x0), Point(z1, x1), solid, name)


def box_of(shapes: Iterable[Shape]) -> Box:
    """Return the least box around shapes."""
    return bounds(tuple(corner for s in shapes for corner in (s.low, s.high)))


def circle(style: str, diameter: float) -> Shape:
    """Return a circle about the axis."""
    at = Point(diameter / 2, 0.0)
    return shape(style, (Arc(at, at, Point(0.0, 0.0), 1),))


class Scene(Row):
    """One setting's contents.

    Attributes:
        setting: how the part is held.
        below: drawn first: the work, its holes, obstacles, stock; then paths.
        tool: the tool at its closest approach, or where it hits; empty where nothing was simulated.
        overlap: shapes where the tool is inside something.
        shown: the approach that the tool is drawn at: the closest to what holds the work, or else to the work.
        other: the closest approach of all, where that is another one.
        findings: those with a place, the tool's pose first.
        places: line of the text -> its pass in words, where no one gets the text; empty otherwise.
    """

    setting: Setting
    below: tuple[Shape, ...]
    tool: tuple[Shape, ...]
    overlap: tuple[Shape, ...]
    shown: Approach | None
    other: Approach | None
    findings: tuple[Finding, ...]
    places: Mapping[int, str] = {}

    @property
    def marked(self) -> list[Point]:
        """Return the places that the picture points at: both ends of the closest approaches, and the findings'."""
        near = [p for a in (self.shown, self.other) if a is not None for p in (a.on_tool, a.on_obstacle)]
        return [*near, *map(place_of, self.findings)]


def place_of(finding: Finding) -> Point:
    """Return where a finding of a scene is shown: where it is, or else where the tool stands."""
    at = finding.at if finding.at is not None else finding.tip
    assert at is not None  # findings of a scene have a place
    return at


def set_scene(plan: SettingPlan, shop: Shop, simulation: Simulation | None, program: Program | None) -> Scene:
    """Collect what is to be seen in a setting.

    Args:
        plan: of the setting.
        shop: gives the tools.
        simulation: None where the program has not been judged.
        program: the text that was judged; its motions are drawn. None draws the planned passes.
    """
    setting, tools = plan.setting, {t.number: t for t in shop.tools}
    below = (*_work(setting, simulation), *_solids(setting), *_paths(plan, tools, program))
    scene = Scene(setting, below, (), (), None, None, ())
    if simulation is None:
        return scene
    scene = _judged(scene, simulation, tools)
    if not shop.lathe.by_hand or program is None:
        return scene
    named = [near.line for near in (scene.shown, scene.other, *simulation.findings) if near is not None]
    return scene._replace(places=_passes(program, named))


def _judged(scene: Scene, simulation: Simulation, tools: Mapping[int, Tool]) -> Scene:
    """Return the scene with what was found, and the tool at the worst place or at its closest approach."""
    hits = sorted((f for f in simulation.findings if f.tip is not None), key=danger)
    placed = (*hits, *(f for f in simulation.findings if f.tip is None and f.at is not None))
    closest = simulation.closest
    shown = simulation.closest_fixed or closest
    scene = scene._replace(shown=shown, other=closest if closest != shown else None, findings=placed)
    number, tip = _pose(hits, shown)
    if number not in tools:
        return scene
    tool = tools[number]
    overlap = tuple(_overlaps(scene.setting, simulation.result, tool, tip, hits[0])) if hits else ()
    return scene._replace(tool=tuple(_tool_at(tool, tip)), overlap=overlap)


def _passes(program: Program, lines: Iterable[int]) -> dict[int, str]:
    """Return in words the pass that each line belongs to."""
    found = {line: pass_at(program, line) for line in lines if line}
    return {line: f"pass {number}" if number else "before the first pass" for line, number in found.items()}


def danger(finding: Finding) -> tuple[bool, float, int]:
    """Return a key that sorts the worst first: what is hit before what is cut wrong, then by size, then by line."""
    return finding.kind != "contact", -finding.amount, finding.line


def _pose(hits: list[Finding], shown: Approach | None) -> tuple[int, Point]:
    """Return number and programmed point of the drawn tool, at the worst finding or the approach shown; 0 for none."""
    if hits and hits[0].tip is not None:
        return hits[0].tool, hits[0].tip
    return (shown.tool, shown.tip) if shown is not None else (0, Point(0.0, 0.0))


# ---- work ------------------------------------------------------------------------------------------


def _work(setting: Setting, simulation: Simulation | None) -> Iterator[Shape]:
    work = simulation.result if simulation else setting.most
    yield shape("mirror", mirror_x(work), solid=True)
    yield shape("work", work, solid=True)
    for hole, z, way in ((setting.hole, setting.end_z, -1), (setting.head_hole, setting.head_z, 1)):
        if hole is not None:
            drilled = _hole(hole, z, way)
            yield shape("hole", drilled, solid=True)
            yield shape("hole", mirror_x(drilled), solid=True)
    yield shape("stock", setting.stock)
    yield shape("stock", mirror_x(setting.stock))
    if simulation and max(simulation.gouge, simulation.uncut) >= SHOWS:
        yield shape("wanted", setting.most)


def mirror_x(chain: Chain) -> Chain:
    """Return the chain below the axis: every x is negated, and arcs turn the other way."""

    def flip(p: Point) -> Point:
        return Point(p.z, -p.x)

    return tuple(
        Line(flip(s.start), flip(s.end))
        if isinstance(s, Line)
        else Arc(flip(s.start), flip(s.end), flip(s.centre), -s.turn)
        for s in chain
    )


def _hole(hole: CentreHole, z: float, way: int) -> Chain:
    """Return the upper half of a form A centre hole drilled from z in direction way: 60 degree mouth, pilot, point."""
    mouth, pilot = hole.mouth / 2, hole.pilot / 2
    seat = (mouth - pilot) / math.tan(math.radians(30))
    end = max(hole.depth, seat)
    shoulder = max(end - pilot / math.tan(math.radians(60)), seat)
    corners = ((0.0, 0.0), (0.0, mouth), (seat, pilot), (shoulder, pilot), (end, 0.0))
    return straight(*((z + way * depth, x) for depth, x in corners))


# ---- what must not be touched ----------------------------------------------------------------------


def _solids(setting: Setting) -> Iterator[Shape]:
    """Return obstacles as the simulation takes them, over the whole shape of the centres, partly in the work."""
    if setting.tail_centre is not None:
        above, below = _whole_centre(setting, setting.tail_centre)
        yield shape("solid-mirror", above, solid=True)
        yield shape("solid-mirror", below, solid=True)
    if setting.head_hole is not None:
        yield from _head_centre(setting, setting.head_hole)
    for obstacle in setting.obstacles:
        chain = ring(obstacle.polygon)
        if obstacle.name not in CENTRE:
            yield shape("solid-mirror", mirror_x(chain), solid=True)
        yield shape("solid", chain, solid=True, name=obstacle.name)


def _whole_centre(setting: Setting, centre: Centre) -> tuple[Chain, Chain]:
    """Return the tailstock centre above the axis, where a half centre has its flat, and below, where it is whole."""
    slope = math.tan(math.radians(centre.cone_angle / 2))
    point = setting.end_z - (setting.hole.mouth / 2 / slope if setting.hole else 0.0)
    r, body, reach = centre.point_diameter / 2, centre.body_diameter / 2, float(centre.reach)
    cone, flat, flat_end = r / slope, float(centre.flat), float(centre.flat_length)
    whole = [(0.0, 0.0), (cone, r), (cone, body), (reach, body)]
    above = whole
    if centre.kind == "half" and flat < r:
        rise = slope * flat_end if flat_end < cone else body
        flattened = [(0.0, 0.0), (flat / slope, flat), (flat_end, flat), (flat_end, rise)]
        above = [*flattened, *(c for c in whole if c[0] > flat_end)]
    chains = [straight(*((point + z, x) for z, x in (*corners, (reach, 0.0)))) for corners in (above, whole)]
    return chains[0], mirror_x(chains[1])


def _head_centre(setting: Setting, hole: CentreHole) -> Iterator[Shape]:
    """Return the headstock centre as far as it is known: a point in its hole. The shop file does not give its size."""
    plate = max((p.z for o in setting.obstacles if o.name == "catch plate" for p in o.polygon), default=None)
    if plate is None:
        return
    slope, r = math.tan(math.radians(30)), hole.mouth
    point = setting.head_z + hole.mouth / 2 / slope
    above = straight((point, 0.0), (point - r / slope, r), (plate, r), (plate, 0.0))
    yield shape("guess", above, solid=True)
    yield shape("guess", mirror_x(above), solid=True)


def ring(polygon: Polygon) -> Chain:
    """Return the polygon's edges as a closed chain."""
    return tuple(Line(a, b) for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True))


# ---- paths -----------------------------------------------------------------------------------------


def _paths(plan: SettingPlan, tools: dict[int, Tool], program: Program | None) -> list[Shape]:
    """Return where the nose centre goes: rapids, careful approaches, roughing and finishing cuts."""
    return trodden(_programmed(plan, tools, program) if program is not None else _planned(plan))


def trodden(paths: Iterable[tuple[str, Segment]]) -> list[Shape]:
    """Return what goes on paths, each place but once, style by style."""
    found: dict[str, dict[tuple[Point, ...], Segment]] = {s: {} for s in ("rapid", "approach", "cut", "finish")}
    for style, segment in paths:
        key = tuple(Point(round(p.z, 3), round(p.x, 3)) for p in (segment.start, segment.end))
        if key[0] != key[1] or isinstance(segment, Arc):
            found[style].setdefault(key, segment)
    return [shape(style, tuple(pieces.values())) for style, pieces in found.items() if pieces]


def _nose(tool: Tool | None) -> tuple[float, float]:
    """Return the offset from the programmed point to the nose centre (z, x)."""
    if tool is None:
        return 0.0, 0.0
    if tool.kind == "threading":
        return 0.0, float(tool.nose_radius)
    return (tool.nose_radius if tool.hand == "right" else -tool.nose_radius), float(tool.nose_radius)


def _planned(plan: SettingPlan) -> Iterator[tuple[str, Segment]]:
    for cut in plan.passes:
        dz, dx = _nose(cut.tool)
        for style, segment in _pass_pieces(cut):
            yield style, shift((segment,), dz, dx)[0]


def _pass_pieces(cut: Pass) -> Iterator[tuple[str, Segment]]:
    for k, (a, b) in enumerate(pairwise(cut.approach), start=1):
        yield ("rapid" if k < cut.feed_from else "approach"), Line(a, b)
    yield from (("finish" if cut.kind in HEAVY else "cut", piece) for piece in cut.path)
    last = cut.path[-1].end if cut.path else cut.approach[-1]
    yield from (("rapid", Line(a, b)) for a, b in pairwise((last, *cut.leave)))


def _programmed(plan: SettingPlan, tools: dict[int, Tool], program: Program) -> Iterator[tuple[str, Segment]]:
    """Return the motions of a program text; fed ones take their style from the planned motion that they follow."""
    planned = [(s, p.end) for cut in plan.passes for s, p in _pass_pieces(cut) if s != "rapid"]
    at = 0
    for motion in program.motions:
        segment = path_of(motion)
        if segment is None:
            continue
        style = "rapid"
        if motion.kind != "rapid":
            style = "approach" if at == 0 else "cut"  # what is fed before the first pass proves a sense in air
            ahead = enumerate(planned[at : at + 4], start=at + 1)
            same = ((own, k) for k, (own, end) in ahead if math.dist(end, segment.end) <= AS_PROGRAMMED)
            style, at = next(same, (style, at))
        yield style, shift((segment,), *_nose(tools.get(motion.tool)))[0]


def path_of(motion: Motion) -> Segment | None:
    """Return the motion in the half-section; None for one that stays or whose start is not known."""
    if motion.kind not in MOVING:
        return None
    path = path_known(motion)
    if not all(map(math.isfinite, (*path.start, *path.end))):
        return None
    return None if isinstance(path, Line) and path.start == path.end else path


# ---- tool ------------------------------------------------------------------------------------------


def _tool_at(tool: Tool, tip: Point) -> Iterator[Shape]:
    """Return the tool with its programmed point at tip: outlines first, the cutting body on top."""
    for body in reversed(tool_bodies(tool)):
        chain = shift(rounded(body.polygon, body.round), tip.z, tip.x)
        yield shape("tool" if body.cuts else "holder", chain, solid=True, name=body.name)


def rounded(polygon: Polygon, radius: float) -> Chain:
    """Return the outline of all points within radius of a convex polygon, counter-clockwise."""
    if radius <= 0.0:
        return ring(polygon)
    if len(polygon) == 1:
        (z, x), r = polygon[0], radius
        return (Arc(Point(z + r, x), Point(z + r, x), polygon[0], 1),)
    edges: list[Line] = []
    for a, b in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        size = math.hypot(b.z - a.z, b.x - a.x)
        dz, dx = radius * (b.x - a.x) / size, radius * (a.z - b.z) / size
        edges.append(Line(Point(a.z + dz, a.x + dx), Point(b.z + dz, b.x + dx)))
    pieces: list[Segment] = []
    for corner, last, edge in zip(polygon, edges[-1:] + edges[:-1], edges, strict=True):
        pieces += [Arc(last.end, edge.start, corner, 1), edge]
    return tuple(pieces)


def _overlaps(setting: Setting, work: Chain, tool: Tool, tip: Point, hit: Finding) -> Iterator[Shape]:
    """Return where the tool at its worst place is inside something that it must not be in."""
    targets = _not_to_be_in(setting, work, hit)
    for body in tool_bodies(tool):
        if hit.kind in BY_EDGES and not body.cuts:
            continue
        window = shapely.Polygon(_corners(shift(rounded(body.polygon, body.round), tip.z, tip.x), 0.001))
        for target in targets:
            yield from (shape("overlap", ring(inside), solid=True) for inside in common(target, window))


BY_EDGES = ("gouge", "rapid in metal")
"""The kinds of finding that only what cuts can bring about."""


def _not_to_be_in(setting: Setting, work: Chain, hit: Finding) -> list[Polygon]:
    """Return what the tool must not be in at a finding: an obstacle, or metal."""
    targets = [o.polygon for o in setting.obstacles if o.name == hit.obstacle]
    metal = {"gouge": setting.least, "rapid in metal": setting.stock}.get(hit.kind)
    if metal is None and not targets and hit.kind == "contact":
        metal = work
    return targets if metal is None else [*targets, _corners(metal, 0.005)]


def _corners(chain: Chain, sagitta: float) -> Polygon:
    """Return the corners of a closed chain, its arcs as chords that stray no more than a sagitta, mm."""
    return tuple(p for piece in chain for p in flatten(piece, sagitta)[1:])


def common(target: Polygon, window: shapely.Polygon) -> Iterator[Polygon]:
    """Return what of a polygon lies in a window, piece by piece, counter-clockwise."""
    for piece in shapely.get_parts(shapely.make_valid(shapely.Polygon(target)).intersection(window)):
        if piece.area:
            yield tuple(Point(*corner) for corner in shapely.get_coordinates(shapely.normalize(piece))[:0:-1].tolist())
