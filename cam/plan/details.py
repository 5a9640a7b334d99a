"""Facing, edges and grooves."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from cam.geometry.path import Arc, Line, Point, Segment, reverse, shift
from cam.ground.tolerances import ROUNDING
from cam.part.features import Edge, undercut_at
from cam.plan.allowance import round_up
from cam.plan.bench import CLEAR, Bench, Bite, Way, through
from cam.plan.contour import Run, tip_of
from cam.plan.drive import lighten_facing
from cam.plan.model import Operation, Pass
from cam.plan.work import highest_between
from cam.setting.apart import CLEAR_OF_EDGE, HALF
from cam.setting.assemble import TAKE_UP
from cam.setting.model import Setting
from cam.setting.outline import Surface, edge_pieces, surface_behind
from cam.shop.model import Tool

SLOW_FACE = 0.5
"""The depth of a facing cut as a share of the tool's deepest cut: the nose works end on; common practice, no source."""


PAST_AXIS = 0.02
"""How far past the axis facing goes on, mm, so that no pip is left."""


@dataclass(frozen=True, slots=True)
class OuterEdge:
    """An outer edge to be made: where it is, how large, and how far in the tool may follow it.

    Attributes:
        name: name of the section it belongs to.
        z: Z of the face that it borders. radius: radius of its cylinder, mm.
        growth: how much that surface grows toward the headstock, mm for each mm; 0 on a cylinder.
        floor: radius of what stands on the tailstock side of the face; 0 at the end.
        after: index of the run that is finished last beside it: the one whose shoulder it tops, or the first.
        far: Z at which the section ends, or the fillet at its end begins; the tool must stay on this side of it.
    """

    name: str
    edge: Edge
    z: float
    radius: float
    growth: float
    floor: float
    after: int
    far: float = -math.inf


def face_end(bench: Bench) -> Operation | None:
    """Face the free end true, from outside to the axis, with a light last cut; None where that is done by hand."""
    setting, tool = bench.setting, bench.finish_tool
    surplus = setting.stock_end_z - setting.end_z
    if not setting.face_end or surplus <= ROUNDING:
        return None
    light = bench.allowance.face_cut
    outside = highest_between(setting.stock, setting.end_z - 1.0, setting.stock_end_z) + bench.gap
    deep = lighten_facing(bench, SLOW_FACE * float(tool.deepest_cut), 2 * (outside - bench.gap))
    heavy = max(surplus - light, 0.0)
    count = math.ceil(heavy / deep - ROUNDING)
    step = float(bench.shop.lathe.z.division)
    levels = [round_up(surplus - heavy * k / count, step) for k in range(1, count + 1)] if count else []
    heights = [h for h in (*levels, 0.0) if h < surplus - ROUNDING]
    passes = []
    above = surplus
    back = max(CLEAR, 1.2 * float(bench.shop.lathe.z.backlash))  # so that Z is held toward the headstock again
    for height in heights:
        depth, above, z = above - height, height, setting.end_z + height
        start, end = Point(z, outside), Point(z, -float(tool.nose_radius) - PAST_AXIS)
        passes.append(
            bench.make_pass(
                "face",
                tool,
                bench.runs[0].names,
                Way(
                    approach=(Point(z + back, bench.safe_x), Point(z, bench.safe_x), start),
                    path=through(start, end, Point(z + CLEAR, end.x)),
                ),
                Bite(diameter=0.0, depth=depth, feed=float(tool.finish_feed), speed_diameter=2 * (outside - bench.gap)),
            )
        )
    return Operation(name="face the free end", passes=tuple(passes))


def find_edges(setting: Setting, runs: tuple[Run, ...]) -> list[OuterEdge]:
    """Find every outer edge of a setting, from the headstock to the tailstock."""
    found: list[OuterEdge] = []
    floor = 0.0
    for index, run in enumerate(runs):
        if run.edge is not None and run.edge.kind != "sharp":
            growth = math.tan(run.slope)
            far = run.far + (run.corner.radius if run.corner is not None else 0.0)
            after = max(index - 1, 0)
            found.append(OuterEdge(run.names[0], run.edge, run.near, run.radius, growth, floor, after, far))
        if run.far_edge is not None and run.far_edge.kind != "sharp":
            growth = surface_behind(setting.stock, run.far).growth
            name = run.beyond or run.names[-1]
            found.append(OuterEdge(name, run.far_edge, run.far, run.shoulder, growth, run.far_radius, index))
        floor = run.far_radius
    return list(reversed(found))


def break_edges(bench: Bench) -> list[tuple[int, Pass]]:
    """Cut chamfers and radii, each inward from the larger diameter toward the tailstock.

    Each comes with the index of the run after whose finishing it can be cut.
    """
    return [(edge.after, p) for edge in find_edges(bench.setting, bench.runs) for p in _edge_passes(bench, edge)]


def _edge_passes(bench: Bench, outer: OuterEdge) -> list[Pass]:
    size, nose = outer.edge.size, float(bench.finish_tool.nose_radius)
    deepest = float(bench.finish_tool.deepest_cut)
    whole = size * HALF if outer.edge.kind == "chamfer" else size * (math.sqrt(2) - 1)
    count = max(1, math.ceil(whole / deepest - ROUNDING))
    passes = []
    for k in range(1, count + 1):
        most_z = bench.rooms[bench.finish_tool.number].furthest(outer.radius - size - nose - CLEAR).z - bench.z_play
        path = shift(edge_path(outer, nose, size * k / count, most_z), bench.z_play, 0.0)
        passes.append(
            replace(
                bench.make_pass(
                    "edge",
                    bench.finish_tool,
                    (outer.name,),
                    Way(approach=_edge_approach(bench, path[0].start, outer), path=path, feed_from=3),
                    Bite(
                        diameter=2 * min(s.end.x for s in path),
                        depth=whole / count,
                        feed=float(bench.finish_tool.finish_feed),
                        speed_diameter=2 * outer.radius,
                    ),
                ),
                z_told=bench.z_play,
            )
        )
    return passes


def _edge_approach(bench: Bench, start: Point, outer: OuterEdge) -> tuple[Point, ...]:
    rises = max(outer.growth, 0.0) * (outer.z - start.z + bench.z_play)  # a taper stands higher there
    clear = min(outer.radius + rises + bench.gap, bench.safe_x)
    return (*bench.take_up_z(start), Point(start.z, clear), start)


def edge_path(outer: OuterEdge, nose: float, size: float, most_z: float) -> tuple[Segment, ...]:
    """Return the path of the programmed tip that makes an edge of a size, from the surface to the face and clear of it.

    Geometry: a chamfer's tip line is the surface line moved along its normal by the nose (design rule
    5); a round's tip arc has the radius plus the nose about a centre moved by (-nose, -nose).

    Args:
        outer: the edge. nose: radius, mm. size: size of the edge at this cut, mm.
        most_z: how far toward the tailstock the tip may go, mm.
    """
    piece = edge_pieces(outer.z, Surface(outer.radius, outer.growth), replace(outer.edge, size=size))[0]
    tip = reverse(tip_of(piece, nose))
    begin, end = tip.start, tip.end
    if isinstance(tip, Arc):
        out = CLEAR / tip.radius
        back = min(out * (begin.z - tip.centre.z), 0.0)  # never from the tailstock side: that would free Z of its play
        above = Point(begin.z + back, begin.x + out * (begin.x - tip.centre.x))
        return (Line(above, begin), tip, *through(end, Point(max(end.z, min(end.z + CLEAR, most_z)), end.x)))
    floor = outer.floor + (CLEAR_OF_EDGE if outer.floor else -math.inf)
    before = max(min(0.3 * nose + CLEAR, begin.z - outer.far - 0.01), 0.0)
    after = min(0.3 * nose + CLEAR / 2, end.x - floor, max(most_z - end.z, 0.02))
    begin, end = Point(begin.z - before, begin.x + before), Point(end.z + after, end.x - after)
    return through(begin, end, Point(max(end.z, min(outer.z + CLEAR / 2, most_z)), end.x))


def cut_grooves(bench: Bench, runs: tuple[Run, ...], tools: tuple[Tool, ...]) -> Operation | None:
    """Cut undercut grooves beside shoulders; None if there are none.

    Args:
        runs: as they come out, not as a corrected program says them. tools: grooving tools, already found to fit.
    """
    pairs = zip(groove_runs(runs), tools, strict=True)
    passes = [_groove_pass(bench, run, tool) for run, tool in reversed(list(pairs))]
    return Operation(name="cut the undercuts", passes=tuple(passes)) if passes else None


def groove_runs(runs: tuple[Run, ...]) -> list[Run]:
    """Return the runs with an undercut at their headstock end."""
    return [r for r in runs if undercut_at(r.corner) is not None]


def groove_places(run: Run, tool: Tool) -> list[float]:
    """Return the Z of each plunge of the tool's headstock corner, toward the shoulder: Z is held against its play."""
    assert run.corner is not None
    spare = run.corner.width - float(tool.width)
    if spare <= ROUNDING:
        return [run.far]
    step = max(float(tool.width) - 2 * float(tool.nose_radius), 0.1)
    count = math.ceil(spare / step - ROUNDING)
    return [run.far + spare * k / count for k in range(count, -1, -1)]


def _groove_pass(bench: Bench, run: Run, tool: Tool) -> Pass:
    assert run.corner is not None
    bottom = run.far_radius - run.corner.depth
    # sideways only where the slide truly stands clear: moving out, X lags by its backlash
    level = run.far_radius + CLEAR + float(bench.shop.lathe.x.backlash)
    places = groove_places(run, tool)
    free, least = bench.rooms[tool.number].furthest(level).z - bench.z_play, places[0] + TAKE_UP * bench.z_play
    side = Point(max(run.far + bench.gap + bench.z_play, least), level)
    tight = side.z > free
    if tight:  # a centre stands there: nearer to the face, so it comes in at feed
        side = Point(max(free, least), level)
    above = Point(side.z, max(run.far_radius + bench.gap, level))
    points = [side]
    for z in places:
        points += [Point(z, level), Point(z, bottom), Point(z, level)]
    points.append(Point(side.z if tight else run.far + bench.gap + bench.z_play, level))
    return replace(
        bench.make_pass(
            "groove",
            tool,
            run.names[-1:],
            Way((Point(side.z, bench.safe_x), above, side), through(*points), feed_from=1 if tight else 2),
            Bite(
                diameter=2 * bottom,
                depth=float(tool.width),
                feed=float(tool.rough_feed),
                speed_diameter=2 * run.far_radius,
            ),
        ),
        cautions=("A grooving tool digs in if it is above centre or its overhang is long: slow, square, oiled.",),
    )
