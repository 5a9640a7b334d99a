"""One setting on the lathe as the page's script steps through it: text, motions, metal after each, what is solid.

Lengths are mm in the setting's axes, X a radius, to a hundredth of a micrometre; the script makes of them what is seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from cam.geometry.path import Arc, Chain, Line, Point, flatten, share_on, sweep_angle
from cam.ground.frozen import Row
from cam.judge.contact import find_nearest
from cam.judge.envelope import Piece, above_axis, height
from cam.judge.report import say_tip_only
from cam.picture.draft import clean
from cam.picture.scene import danger, rounded, set_scene
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
    setting = shown.planned.setting
    motions = shown.program.motions if shown.program else ()
    tools = {t.number: t for t in shop.tools if any(m.tool == t.number for m in motions)}
    scene = set_scene(shown.planned, shop, None, None)
    still = [[s.style, path_data(s.chain, close=s.solid)] for s in scene.below if s.style in STILL]
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
        "unread": min((p.where.line for p in shown.program.problems), default=0) if shown.program else 0,
        "tools": {str(n): _tool(t) for n, t in sorted(tools.items())},
        "obstacles": [[o.name, [_point(p) for p in o.polygon]] for o in setting.obstacles],
        "still": still,
        "wanted": path_data(setting.most),
        "sections": list(_sections(setting, part)),
        "clearance": short(float(shop.lathe.contact_clearance)),
        "motions": [_motion(m) for m in motions],
        "near": list(_nearness(shown, tools)),
        "moments": [[short(m.seconds), int(m.cuts)] for m in shown.moments[1:]],
        **_metal(shown),
        **_judged(shown.simulation),
        **_room(shown),
    }


def _sections(setting: Setting, part: Part) -> Iterator[list[Any]]:
    """Return each section's name, its ends in this setting, whether it is turned here; none still to be measured."""
    mine = {t.section.name for t in setting.turned}
    for section in part.sections:
        ends = sorted(setting.to_setting(z) for z in (section.start, section.end))
        if all(map(math.isfinite, ends)):
            yield [clean(section.name), short(ends[0]), short(ends[1]), int(section.name in mine)]


def plain_lines(text: str) -> list[str]:
    """Return the lines of a program, cleaned where they hold more than plain ASCII."""
    return [line if line.isascii() and line.isprintable() else clean(line) for line in text.splitlines()]


def short(value: float) -> float | None:
    """Return a number as it stands on the page; None for one that is not known."""
    if not math.isfinite(value):
        return None
    number = round(value, DIGITS) + 0.0
    return int(number) if number == int(number) else number


def _point(point: Point) -> list[float | None]:
    return [short(point[0]), short(point[1])]


# ---- shapes ----------------------------------------------------------------------------------------


def path_data(chain: Chain, *, close: bool = False) -> str:
    """Return path data in mm, Z to the right, X up (so x is negated); the pen lifts where a piece does not go on."""
    parts: list[str] = []
    at = None
    for piece in chain:
        if piece.start != at:
            parts.append(f"M{_place(piece.start)}")
        parts.append(_arc(piece) if isinstance(piece, Arc) else f"L{_place(piece.end)}")
        at = piece.end
    return "".join(parts) + ("Z" if close and parts else "")


def _place(point: Point) -> str:
    return f"{short(point[0])} {short(-point[1])}"


def _arc(arc: Arc) -> str:
    """Return an arc, which turns alike on the page and in the half-section; SVG's sweep flag 0 is counter-clockwise."""
    sweep, r = sweep_angle(arc), short(arc.radius)
    if sweep > 2.0 * math.pi - 1e-6:
        far = Point(2 * arc.centre.z - arc.start.z, 2 * arc.centre.x - arc.start.x)
        return _arc(Arc(arc.start, far, arc.centre, arc.turn)) + _arc(Arc(far, arc.end, arc.centre, arc.turn))
    return f"A{r} {r} 0 {int(sweep > math.pi)} {0 if arc.turn > 0 else 1} {_place(arc.end)}"


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
        "core": [_point(p) for p in body.polygon],
        "corners": [_point(p) for p in corners],
        "path": path_data(outline, close=True),
    }


# ---- motions ---------------------------------------------------------------------------------------


def _motion(motion: Motion) -> list[Any]:
    """Return line, kind, tool, start and end (z, x); then what it says of feed and spindle; centre, turn of an arc."""
    row: list[Any] = [motion.line, motion.kind, motion.tool]
    places = (motion.start.z, motion.start.x, motion.end.z, motion.end.x)
    row += [short(v) if motion.system else None for v in places]
    row += [short(motion.feed) if motion.feed is not None else None, motion.feed_mode, short(motion.rpm)]
    row += [motion.spindle, short(motion.surface_speed) if motion.surface_speed is not None else None]
    if motion.kind == "arc" and motion.centre is not None and motion.plane == 18:
        row += [short(motion.centre.z), short(motion.centre.x), motion.turn]
    return row


def path_of(motion: Motion) -> Line | Arc | None:
    """Return the motion in the half-section; None for one that stays, or that the text has not said whole."""
    start, end = Point(motion.start.z, motion.start.x), Point(motion.end.z, motion.end.x)
    if motion.kind not in ("rapid", "line", "arc") or not motion.system:
        return None
    if not all(map(math.isfinite, (*start, *end))):
        return None
    if motion.kind == "arc" and motion.centre is not None and motion.plane == 18:
        return Arc(start, end, Point(motion.centre.z, motion.centre.x), motion.turn)
    return None if start == end else Line(start, end)


def _nearness(shown: Shown, tools: dict[int, Tool]) -> Iterator[list[Any] | None]:
    """Return for every motion how near it is to anything that stands still, of what to what, and where on the way.

    A motion that came nearer to the work than to those has the same of the work too, and the two nearest points.
    """
    if shown.program is None:
        return
    ways = ((number, motion.tool, path_of(motion)) for number, motion in enumerate(shown.program.motions))
    paths = {number: (tool, path) for number, tool, path in ways if path}
    nears = find_nearest(tools.values(), shown.planned.setting.obstacles, paths)
    approaches = {m.number: m.approach for m in shown.moments}
    for number, motion in enumerate(shown.program.motions):
        path, near = path_of(motion), nears.get(number)
        row: list[Any] = [None] * 4
        if path and near is not None:
            body, obstacle = near.pair.body.name, near.pair.obstacle.name
            row = [short(near.distance), body, obstacle, short(share_on(path, near.tip))]
        work = approaches.get(number)
        if path and work is not None and work.obstacle == "work":
            row += [short(work.distance), work.body, short(share_on(path, work.tip))]
            row += [*_point(work.on_tool), *_point(work.on_obstacle)]
        yield row if any(v is not None for v in row) else None


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
        "closest": _approach(simulation.closest),
        "fixed": _approach(simulation.closest_fixed),
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
        "at": None if finding.at is None else _point(finding.at),
        "tip": None if finding.tip is None else _point(finding.tip),
        "obstacle": clean(finding.obstacle),
    }


def _approach(near: Approach | None) -> Data | None:
    if near is None:
        return None
    return {
        "line": near.line,
        "distance": short(near.distance),
        "body": near.body,
        "obstacle": near.obstacle,
        "tip": _point(near.tip),
    }


def _room(shown: Shown) -> Data:
    """Return what the first look takes in, and the end by the centre: [least z, least x, greatest z, greatest x]."""
    setting = shown.planned.setting
    faces = [max(p.z for p in o.polygon) for o in setting.obstacles]
    noses = [min(p.z for p in o.polygon) for o in setting.obstacles]
    places = [p.z for piece in setting.stock for p in (piece.start, piece.end)]
    low, high = min(places), max(places)
    beside = 0.8 * (high - low)  # so that the work fills over half of the width; more at the end that is turned
    left = max(min([setting.head_z, *faces]) - 4.0, low - 0.35 * beside)
    right = min(max([setting.stock_end_z + 8.0, *noses]) + 5.0, high + 0.65 * beside)
    radius = max(max(p.start.x, p.end.x) for p in setting.stock)
    small = setting.turned[0].radius_near if setting.turned else radius
    look = max(3.0 * small, 4.0)
    return {
        "whole": [short(v) for v in (left, -1.4 * radius - 2.0, right, 2.4 * radius + 4.0)],
        "beside": [short(v) for v in (setting.end_z - 1.2 * look, -0.4 * look, setting.end_z + 1.2 * look, look)],
    }
