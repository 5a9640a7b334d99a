"""Which tool does what in a setting, and what would help where none can."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cam.part.model import Part
from cam.plan.allowance import FINE
from cam.plan.contour import Run, nose_shift
from cam.plan.details import HALF, find_edges, groove_runs
from cam.plan.room import Room, find_room
from cam.problem import Problem, ProblemError, Where
from cam.setting import settle
from cam.setting.centre_holes import TABLE, designate
from cam.setting.model import Setting
from cam.shop.model import Shop, Tool

LEAST_GAP = 0.05
"""The tool comes in at least this far off the end's face, mm; common practice, no source."""


def turning_tools(shop: Shop) -> list[Tool]:
    """Right-hand turning tools, the finest first."""
    fit = [t for t in shop.tools if t.kind == "turning" and t.hand == "right"]
    return sorted(fit, key=lambda t: (float(t.minimum_cut), -float(t.nose_radius), t.number))


def nose_limit(runs: tuple[Run, ...]) -> tuple[float, str]:
    """Largest nose radius that every inner corner allows, mm, and the section that sets it."""
    limits = [
        (r.corner.radius, r.names[-1])
        for r in runs
        if r.corner is not None and r.corner.kind != "relief" and r.shoulder > r.far_radius
    ]
    return min(limits, default=(float("inf"), ""))


def smallest_tip(runs: tuple[Run, ...], tool: Tool, *, edges: bool) -> float:
    """Least radius to which the tip must come at the tailstock end, mm; with edges, the end's edge too."""
    first = runs[0]
    least = min(first.radius, first.radius + nose_shift(0.0, 1.0, float(tool.nose_radius)).x)
    nose = float(tool.nose_radius)
    if edges and first.edge is not None and first.edge.kind != "sharp":
        size = first.edge.size
        least -= size + nose if first.edge.kind == "round" else size + 0.3 * nose + nose * (1 - HALF) + 0.05
    return least


def shortage(setting: Setting, runs: tuple[Run, ...], tool: Tool, room: Room) -> tuple[float, float, str]:
    """How much too little room there is off the end, mm (0 or less: enough), at which radius, and against what."""
    worst = (-float("inf"), 0.0, "")
    for edges in (False, True):
        x = smallest_tip(runs, tool, edges=edges)
        limit = room.furthest(x)
        short = setting.stock_end_z + LEAST_GAP - limit.z
        worst = max(worst, (short, x, f"the {limit.body} against the {limit.obstacle}"))
    return worst


def choose_turning(
    shop: Shop, part: Part, setting: Setting, runs: tuple[Run, ...]
) -> tuple[Tool, Tool, dict[int, Room]]:
    """The roughing tool, the finishing tool and the room of each.

    Raises:
        ProblemError: no tool fits the corners, or none has room beside the centre; what would help is in it.
    """
    clearance = float(shop.lathe.contact_clearance)
    most_nose, corner = nose_limit(runs)
    fine = [t for t in turning_tools(shop) if t.nose_radius <= most_nose + FINE]
    if not fine:
        raise ProblemError([_no_nose(shop, part, most_nose, corner)])
    rooms = {t.number: find_room(setting, t, clearance) for t in turning_tools(shop)}
    free = [t for t in turning_tools(shop) if shortage(setting, runs, t, rooms[t.number])[0] <= 0]
    finish = next((t for t in fine if t in free), None)
    if finish is None:
        raise ProblemError([_no_room(shop, part, setting, runs, fine, rooms)])
    rough = max(free, key=lambda t: (float(t.deepest_cut) >= 1.5 * float(finish.deepest_cut), t is finish, -t.number))
    return rough, finish, rooms


def choose_grooving(shop: Shop, part: Part, setting: Setting, runs: tuple[Run, ...]) -> tuple[Tool, ...]:
    """A grooving tool for each relief, in the order of groove_runs.

    Raises:
        ProblemError: a relief that no tool can make.
    """
    found: list[Tool] = []
    problems: list[Problem] = []
    tools = sorted((t for t in shop.tools if t.kind == "grooving"), key=lambda t: (-float(t.width), t.number))
    for run in groove_runs(runs):
        assert run.corner is not None
        reach = run.shoulder - run.far_radius + run.corner.depth
        fit = [t for t in tools if t.width <= run.corner.width + FINE and t.edge >= min(reach, run.corner.depth) + FINE]
        if fit:
            found.append(fit[0])
            continue
        problems.append(
            Problem(
                where=run.corner.where,
                what=f'no tool can cut the relief of section "{run.names[-1]}"',
                given=run.corner.text,
                allowed="; ".join(f'tool {t.number} "{t.name}": {t.width.text} wide, {t.edge.text} deep' for t in tools)
                or "the shop file has no grooving tool",
                mend="widen the relief, or add a narrower grooving tool to the shop file",
            )
        )
    if problems:
        raise ProblemError(problems)
    return tuple(found)


def _no_nose(shop: Shop, part: Part, most: float, corner: str) -> Problem:
    tools = ", ".join(f'tool {t.number} "{t.name}" {t.nose_radius.text}' for t in turning_tools(shop))
    return Problem(
        where=_where(part, corner),
        what=f'no tool has a nose small enough for the corner of section "{corner}"',
        given=f"nose radii: {tools or 'no right-hand turning tool'}",
        allowed=f"up to {most:.3f} mm",
        mend="allow a larger fillet, cut a relief there, or add a tool with a smaller nose to the shop file",
    )


def _no_room(
    shop: Shop, part: Part, setting: Setting, runs: tuple[Run, ...], fine: list[Tool], rooms: dict[int, Room]
) -> Problem:
    best = min(fine, key=lambda t: shortage(setting, runs, t, rooms[t.number])[0])
    short, x, against = shortage(setting, runs, best, rooms[best.number])
    name = runs[0].names[0]
    held = setting.tail_centre.name if setting.tail_centre else "nothing"
    helps = list(what_would_help(shop, part, setting, runs, best))
    return Problem(
        where=_where(part, name),
        what=(
            f'no room to start on "{name}" beside the {held}: {short:.2f} mm too little '
            f"at diameter {2 * x:.2f} mm ({against})"
        ),
        given=f'setting {setting.number}, tool {best.number} "{best.name}", centre hole '
        + (setting.hole.designation if setting.hole else "none"),
        allowed=f"{LEAST_GAP:.2f} mm off the end face and {shop.lathe.contact_clearance.text} from everything",
        mend="; or ".join(helps) if helps else "no centre, hole or tool in the shop file would do it",
    )


def what_would_help(shop: Shop, part: Part, setting: Setting, runs: tuple[Run, ...], tool: Tool) -> Iterator[str]:
    """Each single change that would give room, tried out, with the room that it leaves, mm."""
    clearance = float(shop.lathe.contact_clearance)
    for centre in shop.centres:
        if setting.tail_centre is not None and centre.name != setting.tail_centre.name:
            left = _try(shop, _with_holding(part, setting, tail_centre=centre.name), setting, runs, tool)
            if left is not None and left >= 0:
                turned = ", its flat turned to the tool," if centre.kind == "half" else ""
                yield f"the {centre.name}{turned} ({left:.2f} mm to spare)"
    if setting.hole is not None:
        for row in reversed([r for r in TABLE if r.mouth < setting.hole.mouth]):
            left = _try(shop, _with_holding(part, setting, centre_hole=designate(row)), setting, runs, tool)
            if left is not None and left >= 0:
                yield f"a smaller centre hole, {designate(row)} ({left:.2f} mm to spare)"
                break
    for other in turning_tools(shop):
        left = -shortage(setting, runs, other, find_room(setting, other, clearance))[0]
        if other.number != tool.number and left >= 0:
            yield f'tool {other.number} "{other.name}", nose {other.nose_radius.text} ({left:.2f} mm to spare)'


def _with_holding(part: Part, setting: Setting, **change: str) -> Part:
    key = "end_a" if setting.end == "A" else "end_b"
    own = getattr(part.holding, key)
    return replace(part, holding=replace(part.holding, **{key: replace(own, **change)}))


def _try(shop: Shop, part: Part, setting: Setting, runs: tuple[Run, ...], tool: Tool) -> float | None:
    """Room left with a changed part, mm; None where the change breaks something else."""
    try:
        changed = next(s for s in settle(part, shop) if s.end == setting.end)
    except ProblemError:
        return None
    return -shortage(changed, runs, tool, find_room(changed, tool, float(shop.lathe.contact_clearance)))[0]


def _where(part: Part, section: str) -> Where:
    return next((s.where for s in part.sections if s.name == section), Where(path=part.path))


def check_edges_clear(runs: tuple[Run, ...], part: Part, tool: Tool) -> Iterator[Problem]:
    """Every chamfer must end before the tool's nose meets what stands beside its face."""
    nose = float(tool.nose_radius)
    for outer in find_edges(runs, 0.0):
        need = outer.floor + 0.02 + nose * (1 - HALF) + outer.edge.size
        if outer.floor and outer.edge.kind == "chamfer" and outer.radius < need - FINE:
            yield Problem(
                where=outer.edge.where,
                what=f'the chamfer on "{outer.name}" leaves the nose no room on its face',
                given=f"{outer.edge.text}, step {outer.radius - outer.floor:.3f} mm, nose {nose:.3f} mm",
                allowed=f"a chamfer up to {outer.radius - outer.floor - 0.02 - nose * (1 - HALF):.3f} mm",
                mend="make the chamfer smaller, or leave the edge sharp and break it with a stone",
            )
