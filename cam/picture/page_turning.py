"""One setting on the lathe as the page's script steps through it: text, motions, metal after each, what is solid.

Lengths are mm in the setting's axes, X a radius, to a hundredth of a micrometre; the script makes of them what is seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from cam.geometry.path import Arc, Chain, Point, Segment, bounds, flatten, share_on
from cam.ground.frozen import Row
from cam.judge.contact import Near, find_nearest
from cam.judge.envelope import Piece, above_axis, height
from cam.judge.report import say_tip_only
from cam.picture.draft import clean
from cam.picture.scene import Scene, Shape, danger, path_of, rounded, set_scene
from cam.picture.sheet import arc_data
from cam.rs274.notes import lines_in
from cam.shop.tool_shape import Body, tool_bodies

if TYPE_CHECKING:
    from cam.judge.model import Approach, Finding, Moment, Simulation
    from cam.part.model import Part
    from cam.plan.model import SettingPlan
    from cam.rs274.model import Motion, Program
    from cam.setting.model import Setting
    from cam.shop.model import Shop, Tool

DIGITS = 5
"""Decimals of every mm on the page."""

CHORD = 0.002
"""A nose is cut off another thing along chords within this, mm, where an overlap is shaded."""

STILL = ("hole", "stock", "solid", "solid-mirror", "guess")
"""Styles of the scene that stay the same throughout a program."""

Data = dict[str, Any]
"""What becomes an object of the page's script."""


class Shown(Row):
    """A setting and all that there is to see of it.

    Attributes:
        planned: the setting's plan. key: short, for the address of a place on the page. title: title of its tab.
        file, text: of the program; "" where there is none. program, simulation: None where there is none.
        moments: the work before the program and after every motion. note: a sentence on what is shown, or "".
        fixes: the way out, in the words of the problem, that this setting shows; "" for the job's own.
    """

    planned: SettingPlan
    key: str
    title: str
    file: str = ""
    text: str = ""
    program: Program | None = None
    simulation: Simulation | None = None
    moments: Sequence[Moment] = ()
    note: str = ""
    fixes: str = ""


def turning_data(shown: Shown, part: Part, shop: Shop) -> Data:
    """Return all that the script needs of one setting."""
    setting, program = shown.planned.setting, shown.program
    motions = program.motions if program else ()
    used = {m.tool for m in motions}
    tools = {t.number: t for t in shop.tools if t.number in used}
    scene = set_scene(shown.planned, shop, None, None)
    return {
        "kind": "turning",
        "key": shown.key,
        "title": clean(shown.title),
        "note": clean(shown.note),
        "fixes": clean(shown.fixes),
        "number": setting.number,
        "end": setting.end,
        "right": "tailstock" if setting.tail_centre is not None else "free end",
        "datum": clean(setting.datum_words),
        "file": clean(shown.file),
        "lines": plain_lines(shown.text),
        "unread": first_unread(program) if program else 0,
        "tools": {str(n): _tool(t) for n, t in sorted(tools.items())},
        **_still(setting, scene),
        "wanted": path_data(setting.most),
        "sections": list(_sections(setting, part)),
        "clearance": short(float(shop.lathe.contact_clearance)),
        "motions": list(map(_motion, motions)),
        "near": list(_nearness(shown, tools)),
        "moments": [[short(m.seconds), int(m.cuts)] for m in shown.moments[1:]],
        **_metal(shown),
        **_judged(shown.simulation),
        **_room(shown),
    }


def _still(setting: Setting, scene: Scene) -> Data:
    """Return what stands still: outlines that must not be touched, and the shapes that are drawn."""
    return {
        "obstacles": [[o.name, list(map(point_data, o.polygon))] for o in setting.obstacles],
        "still": shape_data(s for s in scene.below if s.style in STILL),
    }


def _sections(setting: Setting, part: Part) -> Iterator[list[Any]]:
    """Return each section's name, its ends in this setting, whether it is turned here; none still to be measured."""
    mine = {t.section.name for t in setting.turned}
    for section in part.sections:
        ends = sorted(setting.to_setting(z) for z in (section.start, section.end))
        if all(map(math.isfinite, ends)):
            yield [clean(section.name), short(ends[0]), short(ends[1]), int(section.name in mine)]


def first_unread(program: Program) -> int:
    """Return the first line of a program that cannot be read; 0 for none."""
    return min((p.where.line for p in program.problems), default=0)


def plain_lines(text: str) -> list[str]:
    """Return the lines of a program, cleaned where they hold more than plain ASCII."""
    return [line if line.isascii() and line.isprintable() else clean(line) for line in lines_in(text.rstrip("\r\n"))]


def short(value: float) -> float | None:
    """Return a number as it stands on the page; None for one that is not known."""
    if not math.isfinite(value):
        return None
    number = round(value, DIGITS) + 0.0
    return int(number) if number == int(number) else number


def point_data(point: Point) -> list[float | None]:
    """Return the two coordinates of a point."""
    return [short(point[0]), short(point[1])]


def shape_data(shapes: Iterable[Shape]) -> list[list[str]]:
    """Return style and path data of each shape."""
    return [[s.style, path_data(s.chain, close=s.solid)] for s in shapes]


# ---- shapes ----------------------------------------------------------------------------------------


def path_data(chain: Chain, *, close: bool = False) -> str:
    """Return path data in mm, Z to the right, X up (so x is negated); the pen lifts where a piece does not go on."""
    parts: list[str] = []
    at = None
    for piece in chain:
        if piece.start != at:
            parts.append(f"M{_place(piece.start)}")
        if isinstance(piece, Arc):
            parts.append(arc_data(piece, f"{short(piece.radius)}", _place))
        else:
            parts.append(f"L{_place(piece.end)}")
        at = piece.end
    return "".join(parts) + ("Z" if close and parts else "")


def _place(point: Point) -> str:
    return f"{short(point[0])} {short(-point[1])}"


def _tool(tool: Tool) -> Data:
    """Return a tool's bodies about its programmed point, and the way from there to the centre of its nose."""
    nose = float(tool.nose_radius)
    return {
        "name": clean(tool.name),
        "nose": [short(nose if tool.hand == "right" else -nose), short(nose)],
        "bodies": [_body(b) for b in tool_bodies(tool)],
    }


def _body(body: Body) -> Data:
    outline = rounded(body.polygon, body.round)
    corners = [p for piece in outline for p in flatten(piece, CHORD)[1:]] if body.round else body.polygon
    return {
        "name": clean(body.name),
        "cuts": int(body.cuts),
        "round": short(body.round),
        "core": [point_data(p) for p in body.polygon],
        "corners": [point_data(p) for p in corners],
        "path": path_data(outline, close=True),
    }


# ---- motions ---------------------------------------------------------------------------------------


def motion_row(motion: Motion, places: Sequence[float], surface_speed: float | None = None) -> list[Any]:
    """Return line, kind, tool, places of start and end, mm; then what it says of feed and spindle."""
    row: list[Any] = [motion.line, motion.kind, motion.tool, *(short(v) if motion.system else None for v in places)]
    feed, speed = (None if v is None else short(v) for v in (motion.feed, surface_speed))
    return [*row, feed, motion.feed_mode, short(motion.rpm), motion.spindle, speed]


def _motion(motion: Motion) -> list[Any]:
    """Return a motion's row, start and end as z and x; of an arc centre and turn too."""
    places = (motion.start.z, motion.start.x, motion.end.z, motion.end.x)
    row = motion_row(motion, places, motion.surface_speed)
    if motion.kind == "arc" and motion.centre is not None and motion.plane == 18:
        row += [short(motion.centre.z), short(motion.centre.x), motion.turn]
    return row


def _nearness(shown: Shown, tools: dict[int, Tool]) -> Iterator[list[Any] | None]:
    """Return for every motion how near it is to anything that stands still, of what to what, and where on the way.

    A motion that came nearer to the work than to those has the same of the work too, and the two nearest points.
    """
    motions = shown.program.motions if shown.program is not None else ()
    said = {number: m for number, m in enumerate(motions) if m.system and m.kind != "thread"}
    paths = {number: (m.tool, path) for number, m in said.items() if (path := path_of(m))}
    nears = find_nearest(tools.values(), shown.planned.setting.obstacles, paths)
    approaches = {m.number: m.approach for m in shown.moments}
    for number in range(len(motions)):
        _, path = paths.get(number, (0, None))
        yield _near_row(path, nears.get(number), approaches.get(number)) if path else None


def _near_row(path: Segment, near: Near | None, approach: Approach | None) -> list[Any] | None:
    work = approach if approach is not None and approach.obstacle == "work" else None
    if near is None and work is None:
        return None
    row: list[Any] = [None] * 4
    if near:
        body, obstacle = near.pair.body.name, near.pair.obstacle.name
        row = [short(near.distance), body, obstacle, short(share_on(path, near.tip))]
    if work:
        row += [short(work.distance), work.body, short(share_on(path, work.tip))]
        row += [*point_data(work.on_tool), *point_data(work.on_obstacle)]
    return row


# ---- metal -----------------------------------------------------------------------------------------


def _metal(shown: Shown) -> Data:
    """Return the outline before the program, and what each motion replaces: [motion, from, how many, pieces].

    The outline is the one that the simulation cut with; without a program it is the setting's own stock.
    """
    if not shown.moments:
        return {"metal": None, "changes": []}
    last = before = [_piece(p) for p in above_axis(shown.moments[0].metal)]
    changes: list[list[Any]] = []
    for moment in shown.moments[1:]:
        now = [_piece(p) for p in above_axis(moment.metal)]
        if now != last:
            changes.append([moment.number, *_difference(last, now)])
        last = now
    pieces = shown.moments[0].metal
    return {"metal": {"end": short(pieces[-1][1]), "pieces": before}, "changes": changes}


def _piece(piece: Piece) -> list[float | None]:
    """Return a stretch of outline up to the next one's z: z, x there and at its end; an arc's radius, hollow minus."""
    z0, z1, bend, _, _, r, _ = piece
    row = [short(z0), short(height(piece, z0)), short(height(piece, z1))]
    return [*row, short(bend * r)] if bend else row


def _difference(old: list[Any], new: list[Any]) -> tuple[int, int, list[Any]]:
    """Return where pieces begin to change, how many change, and what stands in their place."""
    least = min(len(old), len(new))
    start = next((k for k in range(least) if old[k] != new[k]), least)
    end = next((k for k in range(least - start) if old[-1 - k] != new[-1 - k]), least - start)
    return start, len(old) - end - start, new[start : len(new) - end]


# ---- judgement -------------------------------------------------------------------------------------


def _judged(simulation: Simulation | None) -> Data:
    if simulation is None:
        return {"findings": [], "closest": None, "fixed": None, "unchecked": ""}
    found = sorted(simulation.findings, key=danger)
    return {
        "findings": [finding_data(f) for f in found],
        "closest": _nearest(simulation.closest),
        "fixed": _nearest(simulation.closest_fixed),
        "unchecked": say_tip_only(simulation.tip_only),
        "gouge": short(simulation.gouge),
        "uncut": short(simulation.uncut),
    }


def finding_data(finding: Finding) -> Data:
    """Return a finding as the page has it."""
    return {
        "line": finding.line,
        "kind": finding.kind,
        "what": clean(finding.what),
        "amount": short(finding.amount),
        "at": None if finding.at is None else point_data(finding.at),
        "tip": None if finding.tip is None else point_data(finding.tip),
        "obstacle": clean(finding.obstacle),
    }


def _nearest(near: Approach | None) -> Data | None:
    return None if near is None else approach_data(near.line, near.distance, near.body, near.obstacle, near.tip)


def approach_data(line: int, distance: float, body: str, obstacle: str, tip: Point) -> Data:
    """Return a closest approach as the page has it."""
    return {"line": line, "distance": short(distance), "body": body, "obstacle": obstacle, "tip": point_data(tip)}


def _room(shown: Shown) -> Data:
    """Return what the first look takes in, and the end by the centre: [least z, least x, greatest z, greatest x]."""
    setting = shown.planned.setting
    faces, noses = ([most(p.z for p in o.polygon) for o in setting.obstacles] for most in (max, min))
    low, _, high, radius = bounds(setting.stock)
    beside = 0.8 * (high - low)  # so that the work fills over half of the width; more at the end that is turned
    left = max(min([setting.head_z, *faces]) - 4.0, low - 0.35 * beside)
    right = min(max([setting.stock_end_z + 8.0, *noses]) + 5.0, high + 0.65 * beside)
    small = setting.turned[0].radius_near if setting.turned else radius
    look = max(3.0 * small, 4.0)
    return {
        "whole": [short(v) for v in (left, -1.4 * radius - 2.0, right, 2.4 * radius + 4.0)],
        "beside": [short(v) for v in (setting.end_z - 1.2 * look, -0.4 * look, setting.end_z + 1.2 * look, look)],
    }
