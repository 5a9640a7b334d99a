"""What there is to see of one program of the mill: from the side, its flat or hole on top, and end-on from the tip.

The side view is in the machine's own axes, X to the right and Z up, as a Point(z=X, x=Z) of the sheet's half-section.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.geometry.convex import EQUAL, hull, separations
from cam.geometry.path import Chain, Line, Point, Polygon
from cam.ground.frozen import Row
from cam.judge.mill import radius_at, section_outline
from cam.judge.mill_result import Bore, MillSimulation
from cam.judge.model import Finding
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import CrossHolePlan, HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.picture.scene import Shape, box_of, danger, ring, shape, trodden
from cam.picture.sheet import straight
from cam.setting.milled import MillWork, Solid
from cam.shop.mill import Cutter

BESIDE = 1e-6
"""How far to each side of a step its outline is looked up, mm."""
STEP = 0.5
"""Distance along the work between places where its outline is looked up, mm."""
TALL = 18.0
"""How much of a holder is drawn, mm."""
DEEP = 60.0
"""How much of a vice's jaws is drawn, mm."""
MOUTH = 0.3
"""How far beyond the far side a through hole is laid open, mm, so that no edge closes it."""
EDGE = 0.01
"""How far to each side of where a cut begins its outline is looked up, mm: a tipped block's wall leans by less."""


class MillScene(Row):
    """The side view's contents.

    Attributes:
        below: from the back to the front: what holds the work, the work, its holes, paths. tool: shapes of the cutter.
        pose: place of the cutter's programmed point, and its number; None where nothing is to be shown.
        near: the nearest points of cutter and obstacle as seen from the side; None where there are none.
        findings: those with a place, the worst first. low, high: corners of a box round all that must be seen.
    """

    below: tuple[Shape, ...]
    tool: tuple[Shape, ...]
    pose: tuple[Point, int] | None
    near: tuple[Point, Point] | None
    findings: tuple[Finding, ...]
    low: Point
    high: Point


def up_of(work: MillWorkDone) -> float:
    """The angle that is on top in the picture, degrees from flat 1: that of the hole, or of flat 1."""
    return work.plan.hole.angle if isinstance(work.plan, CrossHolePlan) else 0.0


def cutters_in(work: MillWorkDone) -> dict[int, Cutter]:
    """Return the tools of a program by their numbers."""
    task = work.task
    if isinstance(task, SquareTask):
        return {task.cutter.number: task.cutter}
    found = (task.flat[0] if task.flat else None, task.spot, task.drill, task.tap)
    return {c.number: c for c in found if c is not None}


def set_mill_scene(work: MillWorkDone) -> MillScene:
    """Collect what is to be seen from the side."""
    simulation, wanted = work.simulation, work.plan.work
    hits = tuple(sorted((f for f in simulation.findings if f.at is not None), key=danger))
    tools = cutters_in(work)
    pose = _pose(work, hits)
    tool = tuple(cutter_shapes(tools[pose[1]], pose[0])) if pose and pose[1] in tools else ()
    below = (*_shim(work), *_fixtures(wanted), *_work(work), *_paths(work))
    near = _nearest(tools[pose[1]], pose[0], wanted, simulation) if tool and pose and not hits else None
    return MillScene(below, tool, pose, near, hits, *_corners((*below, *tool), near))


def _corners(shapes: Sequence[Shape], near: tuple[Point, Point] | None) -> tuple[Point, Point]:
    """Return the corners of the box round all that must be seen: of rapids, jaws and a holder's top nothing must be."""
    seen = [s for s in shapes if s.style not in ("rapid", "jaws")]
    left, low, right, _ = box_of(seen)
    high = max(s.high.x for s in seen if s.style != "holder")
    return Point(left, low), Point(right, max(high, near[0].x + 4.0) if near else high)


def _pose(work: MillWorkDone, hits: Sequence[Finding]) -> tuple[Point, int] | None:
    """Return where the cutter is drawn: at the worst finding, else at the closest approach."""
    if hits and hits[0].at is not None:
        return hits[0].at, hits[0].tool
    near = work.simulation.closest
    if near is None:
        return None
    line = work.simulation.closest_line
    tool = next((m.tool for m in work.program.motions if m.line == line and m.tool), 0)
    return Point(near.at[0], near.at[2]), tool


# ---- what holds the work ---------------------------------------------------------------------------


def silhouette(solid: Solid, work: MillWork) -> Polygon:
    """Return a solid from the side: a bar or block about the axis, tipped with the work; a vice's jaws from the top."""
    low = -solid.top if solid.tilts else solid.top - DEEP
    corners = [(solid.start, low), (solid.end, low), (solid.end, solid.top), (solid.start, solid.top)]
    if solid.tilts:
        corners = [work.frame.to_machine(x, z) for x, z in corners]
    return tuple(Point(x, z) for x, z in corners)


def _fixtures(work: MillWork) -> Iterator[Shape]:
    for solid in sorted(work.fixtures, key=lambda s: not s.tilts):  # jaws stand before the block and behind it
        style = "solid" if solid.tilts else "jaws"
        yield shape(style, ring(silhouette(solid, work)), solid=True, name=solid.name)


def _shim(work: MillWorkDone) -> Iterator[Shape]:
    """Return the shim of a tipped block, on the level that the block's edge stands on."""
    tip = work.plan.tip if isinstance(work.plan, SquarePlan) else None
    own = next((s for s in work.plan.work.fixtures if s.tilts and not s.round), None)
    if tip is None or not tip.shim or own is None:
        return
    frame = work.plan.work.frame
    x, z = frame.to_machine(own.start, -own.top)
    start, end = x + tip.spacing, max(frame.to_machine(own.end, -own.top)[0], x + tip.spacing + 4.0)
    corners = ((start, z), (end, z), (end, z + tip.shim), (start, z + tip.shim))
    yield shape("shim", straight(*corners, corners[0]), solid=True)


# ---- the work --------------------------------------------------------------------------------------


def stations_of(work: MillWork) -> list[float]:
    """Return where along the work its outline is looked up, x, mm: both sides of every step."""
    found: set[float] = set()
    for s in work.sections:
        count = max(2, math.ceil((s.end - s.start) / STEP))
        found |= {s.start + (s.end - s.start) * k / count for k in range(1, count)} | {s.start + BESIDE, s.end - BESIDE}
    places = [work.wall, *(h.x + side * h.flat_size / 2 for h in work.holes for side in (-1, 1))]
    first, last = work.sections[0].start, work.sections[-1].end
    found |= {x + side * EDGE for x in places for side in (-1, 1) if first < x + side * EDGE < last}
    return sorted(found)


def side_outline(work: MillWork, simulation: MillSimulation, up: float) -> Polygon:
    """Return the work in its middle plane as the program's text left it, machine axes."""
    xs = stations_of(work)
    tops = [work.frame.to_machine(x, radius_at(simulation.faces, work, x, up)) for x in xs]
    feet = [work.frame.to_machine(x, -radius_at(simulation.faces, work, x, up + 180.0)) for x in xs]
    return tuple(Point(*p) for p in (*tops, *reversed(feet)))


def _work(work: MillWorkDone) -> Iterator[Shape]:
    wanted, simulation = work.plan.work, work.simulation
    yield shape("work", ring(side_outline(wanted, simulation, up_of(work))), solid=True)
    for section in wanted.sections:
        if wanted.square is not None and section is wanted.sections[-1]:
            yield shape("stock", ring(silhouette(section, wanted)))
    for bore in bores_of(work):
        body = wanted.section_at(bore.x)
        if body is not None:
            yield from bore_shapes(work, bore, body.top, bore.x)


def bores_of(work: MillWorkDone) -> list[Bore]:
    """Return the holes that the text's drills have made, on top in the picture."""
    kinds = {n: c.kind for n, c in cutters_in(work).items()}
    return [b for b in work.simulation.bores if kinds.get(b.tool) == "drill"]


def bore_shapes(work: MillWorkDone, bore: Bore, radius: float, middle: float) -> Iterator[Shape]:
    """Return a drilled hole about a place on the sheet: its walls and point, and the thread that goes in it.

    Args:
        radius: radius of the body, mm: the hole opens on its top. middle: the sheet's coordinate of the hole's axis.
    """
    drill, task = cutters_in(work)[bore.tool], work.task
    assert isinstance(task, HoleTask)
    assert isinstance(work.plan, CrossHolePlan)
    r, top = drill.radius, radius + BESIDE
    full = max(bore.tip + drill.point_length, -radius)
    left, right = [(middle - r, top), (middle - r, full)], [(middle + r, full), (middle + r, top)]
    if bore.tip + drill.point_length > -radius:
        yield shape("hole", straight(*left, (middle, max(bore.tip, -radius)), *right))
    else:  # right through: nothing closes it below
        mouth = [(middle - r, full - MOUTH), (middle + r, full - MOUTH)]
        yield shape("plate", straight(left[0], *mouth, right[1]), solid=True)
        yield from (shape("hole", straight(*wall)) for wall in (left, right))
    if task.thread is None:
        return
    depth = work.plan.depths.thread if work.plan.depths is not None else 2 * radius
    for side in (-1, 1):
        at = middle + side * task.thread.diameter / 2
        yield shape("thread", straight((at, radius - work.plan.hole.flat_depth), (at, max(radius - depth, -radius))))


# ---- cutter and paths ------------------------------------------------------------------------------


def cutter_shapes(cutter: Cutter, point: Point) -> Iterator[Shape]:
    """Return holder, shank and cutting part from the side, the last one in front."""
    x, z = point
    (_, r), (flutes, shank), (stick_out, holder) = cutter.steps
    end = cutter.point_length
    tops = ((holder, stick_out, stick_out + TALL, "holder"), (shank, flutes, stick_out, "holder"))
    for half, low, high, style in tops:
        if high > low:
            corners = ((x - half, z + low), (x + half, z + low), (x + half, z + high), (x - half, z + high))
            name = "holder" if half == holder else "shank"
            yield shape(style, ring(tuple(Point(*c) for c in corners)), solid=True, name=name)
    cone = [(x, z), (x + r, z + end)] if end else [(x - r, z), (x + r, z)]
    outline = [*cone, (x + r, z + flutes), (x - r, z + flutes), *([(x - r, z + end)] if end else [])]
    yield shape("tool", ring(tuple(Point(*c) for c in outline)), solid=True)


def _paths(work: MillWorkDone) -> list[Shape]:
    """Return where the programmed point goes by the text: rapids, cuts, and those that leave a finished face."""
    moved = [m for m in work.program.motions if m.kind in ("rapid", "line")]
    lines = [(m.kind, Line(Point(m.start.x, m.start.z), Point(m.end.x, m.end.z))) for m in moved]
    lines = [(kind, line) for kind, line in lines if all(map(math.isfinite, (*line.start, *line.end)))]
    lowest = min((min(line.start.x, line.end.x) for kind, line in lines if kind == "line"), default=0.0)

    def style(kind: str, line: Line) -> str:
        last = isinstance(work.plan, SquarePlan) and min(line.start.x, line.end.x) <= lowest + BESIDE
        return kind if kind == "rapid" else "finish" if last else "cut"

    return trodden((style(kind, line), line) for kind, line in lines)


def _nearest(cutter: Cutter, point: Point, work: MillWork, simulation: MillSimulation) -> tuple[Point, Point] | None:
    """Return the nearest points of the closest approach as they look from the side."""
    gap = simulation.closest
    solid = next((s for s in (*work.fixtures, *work.sections) if gap is not None and s.name == gap.obstacle), None)
    if gap is None or solid is None:
        return None
    heights = [h for h, _ in cutter.steps] + [cutter.stick_out + TALL]
    index = ("cutter", "shank", "holder").index(gap.body)
    r, low, high = cutter.steps[index][1], heights[index], heights[index + 1]
    body = hull(Point(point.z + a * r, point.x + h) for a in (-1, 1) for h in (low, high))
    other = hull(silhouette(solid, work))
    nearest = min(separations([other], [0.0], ring(body)), key=lambda s: round(s.distance, EQUAL))
    return nearest.on_path, nearest.on_polygon


def outline_across(work: MillWorkDone, x: float) -> Chain:
    """Return the section across the axis as the text left it, seen from the tip, with what is on top up."""
    outline = section_outline(work.simulation.faces, work.plan.work, x, up_of(work))
    return ring(tuple(Point(y, z) for y, z in outline))
