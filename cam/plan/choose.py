"""Which tool does what in a setting, and what would help where none can."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, pairwise
from typing import Any

from cam.geometry.path import Point
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.quantity import Quantity
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.part.features import Corner, End
from cam.part.model import Part
from cam.plan.contour import Run, find_runs, goes_on_as, nose_dip, nose_shift
from cam.plan.details import edge_path, find_edges, groove_runs
from cam.plan.room import Room, find_room
from cam.plan.way_in import LEAST_GAP, WayIn, find_way_in
from cam.setting import settle
from cam.setting.aims import aims_about, step_on_diameter
from cam.setting.apart import face_below
from cam.setting.centre_holes import TABLE, designate
from cam.setting.model import LEAST_FACE, Setting
from cam.setting.profiles import hollow_room, is_hollow
from cam.setting.words import at_least, at_most, say
from cam.shop.model import Shop, Tool

EXTRAS = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)
"""The extra lengths that are tried when there is no room, mm."""

BETWEEN = "; or "
"""The text between the ways out in a problem's fix."""


class WayOut(Row):
    """One change that would give a tool room.

    Attributes:
        words: what the change is, and the room that it leaves.
        part: the part with the change made; None where it is not the part that changes.
        end: the end that the change is about.
    """

    words: str
    part: Solved | None
    end: End


class NoRoomError(ProblemError):
    """No tool has room beside the centre; ways lists the changes that would give room."""

    def __init__(self, problem: Problem, ways: Sequence[WayOut]) -> None:
        super().__init__([problem])
        self.ways = tuple(ways)


def turning_tools(shop: Shop) -> list[Tool]:
    """Return the right-hand turning tools, the finest first."""
    fit = [t for t in shop.tools if t.kind == "turning" and t.hand == "right"]
    return sorted(fit, key=lambda t: (float(t.minimum_cut), -float(t.nose_radius), t.number))


def nose_limit(runs: tuple[Run, ...]) -> tuple[float, str]:
    """Return the largest nose radius that every inner corner allows, mm, and the section that sets it."""
    limits = [
        (r.corner.radius, r.names[-1])
        for r in runs
        if r.corner is not None and r.corner.kind != "undercut" and r.shoulder > r.far_radius
    ]
    return min(limits, default=(float("inf"), ""))


@frozen
class TurningTools:
    """The tools for turning in a setting.

    Attributes:
        rough, finish: the two tools, which may be the same. rooms: the room of every turning tool, by its number.
        ways: its way in at the end, by its number.
    """

    rough: Tool
    finish: Tool
    rooms: dict[int, Room]
    ways: dict[int, WayIn]


def choose_turning(shop: Shop, part: Solved, setting: Setting, runs: tuple[Run, ...]) -> TurningTools:
    """Choose the roughing and the finishing tool, and find the room and the way in of each.

    Raises:
        ProblemError: no tool fits the corners, or none has room beside the centre; what would help is in it.
    """
    tools, clearance = turning_tools(shop), float(shop.lathe.contact_clearance)
    if not tools:
        raise ProblemError([_no_turning_tool(shop)])
    most_nose, corner = nose_limit(runs)
    fine = [t for t in tools if t.nose_radius <= most_nose + ROUNDING]
    if not fine:
        raise ProblemError([_no_nose(shop, part, most_nose, corner)])
    rooms = {t.number: find_room(setting, t, clearance) for t in tools}
    ways = {t.number: _way_in(shop, part, setting, runs, t, rooms[t.number]) for t in tools}
    free = [t for t in tools if ways[t.number].short <= 0]
    finish = next(filter(free.__contains__, fine), None)
    if finish is None:
        best = min(fine, key=lambda t: ways[t.number].short)
        helps = tuple(what_would_help(shop, part, setting, best))
        raise NoRoomError(_no_room(shop, part, setting, runs, best, ways, helps), helps)
    rough = max(free, key=lambda t: (float(t.deepest_cut) >= 1.5 * float(finish.deepest_cut), t is finish, -t.number))
    return TurningTools(rough=rough, finish=finish, rooms=rooms, ways=ways)


def _way_in(shop: Shop, part: Solved, setting: Setting, runs: tuple[Run, ...], tool: Tool, room: Room) -> WayIn:
    """Find the way in of one tool."""
    extra = part.holding.extra_at(setting.end)
    told = told_furthest(setting, runs[0], tool, extra, float(shop.lathe.z.backlash))
    return find_way_in(setting, runs, tool, room, extra, told, off=_off_face(shop))


def _off_face(shop: Shop) -> float:
    """Return how far off an end's face a tool must be able to come in, mm."""
    return LEAST_GAP + float(shop.lathe.z.backlash)


def told_furthest(setting: Setting, run: Run, tool: Tool, extra: float, z_play: float) -> list[Point]:
    """Return where a program must put the point so that a taper and an edge at the end come out complete."""
    nose, found = float(tool.nose_radius), []
    if run.slope > 0:
        off = nose_shift(math.sin(run.slope), math.cos(run.slope), nose)
        z = run.near - extra + off.z
        found.append(Point(z + z_play, run.tip_radius(z, nose)))
    for outer in find_edges(setting, (run,)):
        if outer.floor == 0.0 and outer.z == run.near:
            path = edge_path(outer, nose, outer.edge.size, -math.inf)
            found += [Point(piece.end.z + z_play, piece.end.x) for piece in path]
    return found


def choose_grooving(shop: Shop, part: Solved, setting: Setting, runs: tuple[Run, ...]) -> tuple[Tool, ...]:
    """Choose a grooving tool for each undercut, in the order of groove_runs.

    Raises:
        ProblemError: no tool can make one of the undercuts.
    """
    found: list[Tool] = []
    problems: list[Problem] = []
    tools = sorted((t for t in shop.tools if t.kind == "grooving"), key=lambda t: (-float(t.width), t.number))
    for run in groove_runs(runs):
        assert run.corner is not None
        reach = run.shoulder - run.far_radius + run.corner.depth
        blade = next((t for t in tools if _blade_fits(t, run.corner, reach)), None)
        if blade is not None:
            found.append(blade)
            continue
        what = f'no tool can cut the undercut of section "{run.names[-1]}"'
        allowed = "; ".join(map(_tell_blade, tools)) or "the shop file has no grooving tool"
        fix = _fit_undercut(shop, part, run, tools)
        problems.append(problem(run.corner.where, what, run.corner.text, allowed, fix))
    if problems:
        raise ProblemError(problems)
    return tuple(found)


def _no_turning_tool(shop: Shop) -> Problem:
    have = "; ".join(f'tool {t.number} "{t.name}": {t.kind}, {t.hand}-hand' for t in shop.tools)
    what, allowed = "the shop has no turning tool", 'at least one right-hand tool of kind "turning"'
    fix = "add a [[tool]] for it to the shop file"
    return problem(Where(path=shop.path, line=shop.tools[0].where.line if shop.tools else 0), what, have, allowed, fix)


def _blade_fits(tool: Tool, corner: Corner, reach: float) -> bool:
    """Tell whether a blade goes into an undercut and down to its floor, or as far as it must reach, mm.

    Its rounded corners must stay below the surface, so that nothing is left on the shoulder's face.
    """
    if tool.width > corner.width + ROUNDING or tool.edge < min(reach, corner.depth) + ROUNDING:
        return False
    return tool.nose_radius <= min(corner.depth, corner.width / 2, corner.radius or corner.depth) + ROUNDING


def _tell_blade(tool: Tool) -> str:
    corners = f", corners {tool.nose_radius.text} round"
    return f'tool {tool.number} "{tool.name}": {tool.width.text} wide, {tool.edge.text} deep{corners}'


def _fit_undercut(shop: Shop, part: Solved, run: Run, tools: Sequence[Tool]) -> str:
    """Say what change would let one of the shop's blades cut the undercut of a run."""
    corner = run.corner
    assert corner is not None
    reaching = [t for t in tools if t.edge >= corner.depth + ROUNDING]
    if not reaching:
        return "add a grooving tool that reaches so deep to the shop file"
    slim = min(reaching, key=lambda t: (float(t.width), float(t.nose_radius)))
    words = []
    if slim.width > corner.width + ROUNDING:
        words.append(f"make it {at_least(slim.width, part)} wide or more")
    if slim.nose_radius > corner.depth + ROUNDING:
        words.append(_as_deep(shop, part, run, float(slim.nose_radius)))
    if 0 < corner.radius < slim.nose_radius - ROUNDING:
        words.append(f"let its corners be {at_least(slim.nose_radius, part)} round or more")
    return " and ".join(words or ["make it wider"]) + ", or add a smaller grooving tool to the shop file"


def _as_deep(shop: Shop, part: Solved, run: Run, depth: float) -> str:
    """Say what makes a run's undercut this deep, mm; of a groove, where neighbours' aims have part, how much deeper.

    A groove deep enough moves neither its own aim nor its neighbours', so that each is well within its limits, or no
    lower than now where other shoulders move it.
    """
    corner = run.corner
    assert corner is not None
    at = next((i for i, s in enumerate(part.sections) if s.where == corner.where), None)
    if at is None:
        return f"make it {at_least(depth, part)} deep or more"
    step = step_on_diameter(shop.lathe.x)
    before, groove, after = part.sections[at - 1 : at + 2]
    sides = (
        before.diameter_b + min(aims_about(part, at - 1, "b", step)[0], 0.0),  # its corners are held to it as drawn
        after.diameter_a + min(aims_about(part, at + 1, "a", step)[0], 0.0),
        2 * run.far_radius,
    )
    deeper = (groove.diameter_a + max(aims_about(part, at, "a", step)[1], 0.0) - min(sides)) / 2 + depth
    return f"make it {at_least(max(deeper, depth - corner.depth), part)} deeper a side"


def _no_nose(shop: Shop, part: Solved, most: float, corner: str) -> Problem:
    tools = ", ".join(f'tool {t.number} "{t.name}" {t.nose_radius.text}' for t in turning_tools(shop))
    what = f'no tool has a nose small enough for the corner of section "{corner}"'
    fix = "allow a larger fillet, cut an undercut there, or add a tool with a smaller nose to the shop file"
    return problem(section_where(part, corner), what, f"nose radii: {tools}", f"up to {say(most, part)}", fix)


def _no_room(
    shop: Shop, part: Solved, setting: Setting, runs: tuple[Run, ...], best: Tool, ways: dict[int, WayIn],
    helps: Sequence[WayOut],
) -> Problem:  # fmt: skip
    way = ways[best.number]
    name = runs[0].names[0]
    held = setting.tail_centre.name if setting.tail_centre else "nothing"
    words = BETWEEN.join(h.words for h in helps)
    return Problem(
        where=section_where(part, name),
        what=(
            f'no room to start on "{name}" beside the {held}: {say(way.short, part)} too little '
            f"at diameter {say(2 * way.x, part)} ({way.against})"
        ),
        given=f'setting {setting.number}, the {setting.end} end, tool {best.number} "{best.name}", centre hole '
        + (setting.hole.designation if setting.hole else "none"),
        allowed=f"{say(_off_face(shop), part)} off the end face, {shop.lathe.contact_clearance.text} from everything",
        fix=words or "no centre, hole, extra length or tool in the shop file would do it",
    )


def what_would_help(shop: Shop, part: Solved, setting: Setting, tool: Tool) -> Iterator[WayOut]:
    """Try out single changes, and yield each that would give room, with the room that it leaves."""

    def fits(changes: Iterator[tuple[str, dict[str, Any]]]) -> Iterator[WayOut]:
        for words, change in changes:
            changed = _with_holding(part, setting, **change)
            left = _try(shop, changed, setting, tool)
            if left >= 0:
                yield WayOut(f"{words} ({say(left, part)} to spare)", changed, setting.end)

    yield from fits(_other_centres(shop, setting))
    yield from islice(fits(_smaller_holes(setting)), 1)
    yield from islice(fits(_longer_ends(part, setting)), 1)
    for other in turning_tools(shop):
        if other.number != tool.number and (left := _try(shop, part, setting, other)) >= 0:
            words = f'tool {other.number} "{other.name}", nose {other.nose_radius.text} ({say(left, part)} to spare)'
            yield WayOut(words, None, setting.end)


def _other_centres(shop: Shop, setting: Setting) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield another centre at the tailstock, in words and as a change of the holding."""
    for centre in shop.centres:
        if setting.tail_centre is not None and centre.name != setting.tail_centre.name:
            turned = ", its flat turned to the tool" if centre.kind == "half" else ""
            yield f'the "{centre.name}"{turned}', {"tail_centre": centre.name}


def _smaller_holes(setting: Setting) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield each smaller centre hole of the table, the largest first, in words and as a change of the holding."""
    for row in reversed(TABLE):
        if setting.hole is not None and row.mouth < setting.hole.mouth:
            yield f"a smaller centre hole, {designate(row)}", {"centre_hole": designate(row)}


def _longer_ends(part: Solved, setting: Setting) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield each longer extra length at the end that is turned, in words and as a change of the holding."""
    own = part.holding.at(setting.end)
    for extra in EXTRAS:
        if own is not None and extra > own.extra_length:
            longer = Quantity(extra, f"{extra:g} mm", own.where)
            yield f"{say(longer, part)} of extra length at that end, cut off after turning", {"extra_length": longer}


def _with_holding(part: Solved, setting: Setting, **change: Any) -> Solved:
    key = "end_a" if setting.end == "A" else "end_b"
    own = getattr(part.holding, key)
    longer = part.stock
    if "extra_length" in change:
        more = part.stock.length + change["extra_length"] - own.extra_length
        longer = replace(longer, length=Quantity(more, f"{more:g} mm", longer.length.where))
    return replace(part, stock=longer, holding=replace(part.holding, **{key: replace(own, **change)}))


def _try(shop: Shop, part: Solved, setting: Setting, tool: Tool) -> float:
    """Return the room left with a changed part, mm; minus infinity where the change breaks something else."""
    try:
        found = [s for s in settle(part, shop) if s.end == setting.end]
    except ProblemError:
        return -math.inf
    if not found:  # that end would not be turned any more
        return -math.inf
    changed = found[0]
    room = find_room(changed, tool, float(shop.lathe.contact_clearance))
    return -_way_in(shop, part, changed, find_runs(part, changed), tool, room).short


def section_where(part: Part, section: str) -> Where:
    """Return the line of the part file where a section begins; the file as a whole for any other name."""
    return next((s.where for s in part.sections if s.name == section), Where(path=part.path))


def check_hollows_clear(part: Solved, setting: Setting, tool: Tool) -> Iterator[Problem]:
    """Check that the nose touches both surfaces, between edges and corners, where a taper follows a less steep one."""
    for index, turned in enumerate(setting.turned):
        if not is_hollow(setting.turned, index):
            continue
        most = hollow_room(setting.turned, index)
        if tool.nose_radius > most + ROUNDING:
            own, beyond = turned.section, setting.turned[index + 1].section
            what = f'the nose has no room in the hollow between "{own.name}" and "{beyond.name}"'
            given = f"nose {tool.nose_radius.text}, and what their edge and corner leave of their lengths"
            fix = (
                "make the edge or the corner beside it smaller, the sections longer, the taper less steep, or use "
                "a tool with a smaller nose"
            )
            yield problem(own.where, what, given, f"a nose up to {at_most(most, part)}" if most > 0 else "", fix)


def check_grooves_take_nose(
    shop: Shop, part: Solved, runs: tuple[Run, ...], tool: Tool, play: float
) -> Iterator[Problem]:
    """Check that a groove before a taper of the same size takes the nose that cuts the taper to its end.

    Args:
        play: how much further the program may say Z, mm.
    """
    nose = float(tool.nose_radius)
    for run, beyond in pairwise(runs):
        corner = run.corner
        if corner is None or corner.kind != "undercut" or not goes_on_as(run, beyond) or beyond.slope <= run.slope:
            continue
        deep, wide = nose_dip(run, beyond, nose)
        words = [_as_deep(shop, part, run, deep)] if deep > corner.depth + ROUNDING else []
        if wide + play > corner.width + ROUNDING:
            words.append(f"make it {at_least(wide + play, part)} wide or more")
        if words:
            yield Problem(
                where=corner.where,
                what=f'the nose that cuts the taper "{beyond.names[0]}" to its end has no room in the {corner.text}',
                given=f"as turned {say(corner.depth, part)} deep and {say(corner.width, part)} wide; "
                f"nose {tool.nose_radius.text}",
                allowed=f"at least {at_least(deep, part)} deep and {at_least(wide + play, part)} wide as turned",
                fix=" and ".join(words) + ", or the taper less steep, or use a tool with a smaller nose",
            )


def check_edges_clear(part: Solved, setting: Setting, runs: tuple[Run, ...], tool: Tool) -> Iterator[Problem]:
    """Check that each chamfer and radius ends before the nose meets what stands beside its face, or before the axis."""
    nose = float(tool.nose_radius)
    for outer in find_edges(setting, runs):
        step, word = outer.radius - outer.floor, "radius" if outer.edge.kind == "radius" else "chamfer"
        if outer.floor:
            least, what = face_below(outer.edge, nose), "the nose no room on its face"
            given = f"step {say(step, part)}, nose {tool.nose_radius.text}"
        else:
            least, what = LEAST_FACE, "too little of its end face as turned"
            given = f"diameter {say(2 * outer.radius, part)}"
        most = step - least
        if most < outer.edge.size - ROUNDING:
            yield Problem(
                where=outer.edge.where,
                what=f'the {word} on "{outer.name}" leaves {what}',
                given=f"{outer.edge.text}, {given}",
                allowed=f"a {word} up to {at_most(most, part)}" if most > 0 else "a sharp edge",
                fix=f"make the {word} smaller, or leave the edge sharp and break it with a stone",
            )
