"""Room beside work and centre: what carries the edge runs into neither metal that still stands nor the centre."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from cam.geometry.path import Chain, Point, Polygon, bounds
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.plan.bench import Bench
from cam.plan.choose import section_where
from cam.plan.model import Pass
from cam.setting.outline import outline_radius
from cam.setting.words import at_least, say
from cam.shop.tool_shape import tool_bodies

THIN = 1e-3
"""Less than this in the work is none, mm."""


def check_out_of_work(part: Solved, bench: Bench, cut: Pass) -> list[Problem]:
    """Check that nothing but the edge of a pass is in the work.

    What stands toward the headstock counts, where the pass has not been: all the bar while an end is faced, at every
    other pass what is to be left.
    """
    facing = cut.kind == "face"
    metal = bench.setting.stock if facing else bench.setting.most
    deep, name, point, at = max(_in_metal(cut, metal), default=(0.0, "", Point(0.0, 0.0), 0.0))
    if deep <= THIN:
        return []
    what = f"{_named(bench, cut)} brings the {name} {say(deep, part)} into the work"
    given = (
        f"tool {cut.tool.number} at Z {say(point.z, part)}, diameter {say(2 * point.x, part)}; the work is "
        f"{say(2 * outline_radius(metal, at), part)} thick at Z {say(at, part)}"
    )
    allowed = "nothing but the tool's edge in the work"
    fix = "a tool that stands further out of its post, and its outline so in the shop file; or thinner stock"
    return [problem(part.stock.where if facing else section_where(part, cut.sections[-1]), what, given, allowed, fix)]


def check_grooves_clear(part: Solved, bench: Bench, cut: Pass) -> Iterator[Problem]:
    """Check that a grooving tool can come in beside the tailstock's centre."""
    if cut.kind != "groove":
        return
    room = bench.rooms[cut.tool.number]
    low = cut.approach[-1]
    limit = room.furthest(low.x)
    short = low.z + bench.z_play - limit.z
    if short > ROUNDING:
        name, end = cut.sections[-1], bench.setting.end
        what = f'tool {cut.tool.number} cannot come in for the undercut of "{name}" at the {end} end'
        given = f"the {limit.body} {say(short, part)} too near the {limit.obstacle}"
        fix = f"{at_least(short, part)} more extra length at that end, or a narrower grooving tool"
        yield problem(section_where(part, name), what, given, fix=fix)


def _in_metal(cut: Pass, metal: Chain) -> Iterator[tuple[float, str, Point, float]]:
    """Yield how deep each body but the edge is in metal on a pass's way, mm; with its name, the point and the Z."""
    top = max(max(s.start.x, s.end.x) for s in metal)
    points = {Point(p.z - cut.z_told, p.x) for s in cut.path for p in (s.start, s.end)}
    for body in (b for b in tool_bodies(cut.tool) if not b.cuts):
        lowest = bounds(body.polygon)[1]
        for point in points:
            if lowest + point.x < top:
                yield from ((deep, body.name, point, at) for deep, at in _depths(body.polygon, point, metal))


def _named(bench: Bench, cut: Pass) -> str:
    """Say which pass it is."""
    if cut.kind == "face":
        return f"facing the free end in setting {bench.setting.number}"
    return f'pass {cut.number} of setting {bench.setting.number} on "{cut.sections[-1]}"'


def _depths(body: Polygon, point: Point, metal: Chain) -> Iterator[tuple[float, float]]:
    """Yield how deep a body at the programmed point is in the metal toward the headstock, and at which Z, mm."""
    near = tuple(Point(p.z + point.z, p.x + point.x) for p in body)
    left, _, right, _ = bounds(near)
    low, high = left + ROUNDING, min(right, point.z) - ROUNDING
    ends = [p.z for s in metal for p in (s.start, s.end)]
    for z in (low, high, *(z for z in (*ends, *(p.z for p in near)) if low < z < high)):
        if low < high:
            yield outline_radius(metal, z) - _lowest(near, z), z


def _lowest(polygon: Polygon, z: float) -> float:
    """Return the least radius of a convex polygon at a Z that it spans, mm."""
    closed = pairwise([*polygon, polygon[0]])
    sides = [(a, b) for a, b in closed if a.z != b.z and min(a.z, b.z) <= z <= max(a.z, b.z)]
    return min(a.x + (b.x - a.x) * (z - a.z) / (b.z - a.z) for a, b in sides)
