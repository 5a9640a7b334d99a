"""One program of the mill as the page's script steps through it: from the side, and end-on from the tip.

Lengths are mm in the machine's axes, to a hundredth of a micrometre. The script finds the floor that the cutter leaves
by the same closed form as cam.judge.mill_metal, from the motions themselves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from cam.geometry.path import Point
from cam.judge.mill_metal import Sweep, add_sweep, standing_over
from cam.judge.milled import SAME_ANGLE
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import CrossHolePlan
from cam.picture.draft import clean
from cam.picture.mill_scene import cutter_shapes, cutters_in, silhouette, up_of
from cam.picture.page_turning import (
    Data,
    approach_data,
    finding_data,
    first_unread,
    motion_row,
    path_data,
    plain_lines,
    point_data,
    short,
)
from cam.picture.scene import danger
from cam.setting.milled import MillWork
from cam.setting.solids import nearest
from cam.setting.square import across_at
from cam.shop.mill import Cutter

if TYPE_CHECKING:
    from cam.judge.mill_result import MillSimulation
    from cam.rs274.model import Motion
    from cam.shop.mill import Mill

LAST_DIGITS = 1e-3
"""Metal above a cutter's end by less than this, mm, is the last digits of the text."""


def mill_data(work: MillWorkDone, text: str, mill: Mill, note: str) -> Data:
    """Return all that the script needs of one program of the mill.

    Args:
        text: text of the program. note: a sentence on where in the job it belongs.
    """
    wanted, tools, motions, angles = work.plan.work, cutters_in(work), work.program.motions, list(_angles(work))
    behind = sorted(wanted.fixtures, key=lambda s: s.tilts)  # a vice's jaws stand behind the block that they hold
    return {
        "kind": "mill",
        "key": clean(work.name),
        "title": clean(work.name.replace("-", " ")),
        "note": clean(f"{work.title}; {note}."),
        "fixes": "",
        "number": 0,
        "right": "tip",
        "file": clean(work.file),
        "lines": plain_lines(text),
        "unread": first_unread(work.program),
        "tools": {str(n): _tool(c) for n, c in sorted(tools.items())},
        "obstacles": [[s.name, list(map(point_data, silhouette(s, wanted)))] for s in behind],
        "sections": [],
        "clearance": short(float(mill.contact_clearance)),
        "motions": list(map(_motion, motions)),
        "across": [[short(m.start.y), short(m.end.y)] for m in motions],
        "angles": list(map(short, angles)),
        "near": [_near(m, tools, wanted) for m in motions],
        "moments": [[short(s), int(c)] for s, c in _timed(work, tools, angles, float(mill.rapid))],
        "work": _work(work, wanted),
        "findings": [finding_data(f) for f in sorted(work.simulation.findings, key=danger)],
        "closest": None,
        "fixed": _closest(work.simulation),
        **_room(wanted),
    }


# ---- tools and work ----------------------------------------------------------------------------------


def _tool(cutter: Cutter) -> Data:
    """Return a cutter about its programmed point from the side, with what the floor that it leaves depends on."""
    shapes = list(cutter_shapes(cutter, Point(0.0, 0.0)))
    return {
        "name": clean(cutter.name),
        "nose": [0, 0],
        "kind": cutter.kind,
        "radius": short(cutter.radius),
        "point": short(cutter.point_length),
        "steps": [[short(h), short(r)] for h, r in cutter.steps],
        "bodies": [{"cuts": int(s.style == "tool"), "path": path_data(s.chain, close=True)} for s in shapes],
    }


def _work(work: MillWorkDone, wanted: MillWork) -> Data:
    """Return round lengths outside the collet, how they lie, where the section is looked at, and what is wanted."""
    square = wanted.square
    hole = work.plan.hole if isinstance(work.plan, CrossHolePlan) else None
    station = hole.x if hole else (max(wanted.wall, 0.0) + square.length) / 2 if square else 0.0
    half = across_at(square, station) / 2 if square else 0.0
    return {
        "sections": [[clean(s.name), short(s.start), short(s.end), short(s.top)] for s in wanted.sections],
        "frame": [wanted.frame.cos, wanted.frame.sin, short(wanted.frame.about)],
        "up": short(up_of(work)),
        "station": short(station),
        "flats": [square.flats, short(half)] if square else None,
        "holes": [[clean(h.name), short(h.x), short(h.angle), short(h.diameter)] for h in wanted.holes],
        "fixtures": [[int(s.round), short(s.top)] for s in wanted.fixtures if s.tilts],
    }


# ---- motions -----------------------------------------------------------------------------------------


def _motion(motion: Motion) -> list[Any]:
    """Return the motion as in a setting: line, kind, tool, X and Z of start and end, then feed and spindle."""
    return motion_row(motion, (motion.start.x, motion.start.z, motion.end.x, motion.end.z))


def _known(motion: Motion) -> bool:
    return motion.kind in ("rapid", "line") and all(map(math.isfinite, (*motion.start, *motion.end)))


def _angles(work: MillWorkDone) -> Iterator[float]:
    """Return the angle that is on top while each motion is done, degrees."""
    turns, angle = list(work.program.turns), 0.0
    for motion in work.program.motions:
        while turns and turns[0].line <= motion.line:
            angle = turns.pop(0).angle % 360.0
        yield angle


def _near(motion: Motion, tools: dict[int, Cutter], wanted: MillWork) -> list[Any] | None:
    """Return how near a motion comes, of what to what, and where on the way; None where it comes near nothing."""
    if not _known(motion) or motion.tool not in tools:
        return None
    gap = nearest(tools[motion.tool], motion.start, motion.end, wanted.fixtures, wanted.sections, wanted.frame)
    if not math.isfinite(gap.distance):
        return None
    far = math.dist(motion.start, motion.end)
    share = math.dist(motion.start, gap.at) / far if far else 1.0
    return [short(gap.distance), gap.body, clean(gap.obstacle), short(share)]


def _timed(
    work: MillWorkDone, tools: dict[int, Cutter], angles: list[float], rapid: float
) -> Iterator[tuple[float, bool]]:
    """Return the seconds that each motion takes, and whether it cuts."""
    wanted = work.plan.work
    faces: dict[float, list[Sweep]] = {}
    for motion, angle in zip(work.program.motions, angles, strict=True):
        if motion.kind == "dwell":
            yield motion.seconds, False
        elif not _known(motion) or motion.tool not in tools:
            yield 0.0, False
        else:
            sweep = Sweep(*motion.start, *motion.end, tools[motion.tool].radius, motion.line)
            key = next((a for a in faces if abs(a - angle) < SAME_ANGLE), angle)
            standing = standing_over(sweep, faces.setdefault(key, []), wanted)
            if motion.kind == "line":
                add_sweep(faces[key], sweep)
            yield _seconds(motion, rapid), motion.kind == "line" and standing.depth > LAST_DIGITS


def _seconds(motion: Motion, rapid: float) -> float:
    length = math.dist(motion.start, motion.end)
    if motion.kind == "rapid":
        return 60.0 * length / rapid
    rate = (motion.feed or 0.0) * (motion.rpm if motion.feed_mode == 95 else 1.0)
    return 60.0 * length / rate if rate and motion.feed_mode != 93 else 0.0


# ---- judgement ---------------------------------------------------------------------------------------


def _closest(simulation: MillSimulation) -> Data | None:
    gap = simulation.closest
    if gap is None:
        return None
    tip = Point(gap.at[0], gap.at[2])
    return approach_data(simulation.closest_line, gap.distance, gap.body, clean(gap.obstacle), tip)


def _room(wanted: MillWork) -> Data:
    """Return what the first look takes in, with the end-on section, the work alone, and where that section stands."""
    first, last = wanted.sections[0].start, wanted.sections[-1].end
    top = wanted.top
    middle = last + 3.0 * top + 8.0
    return {
        "whole": [short(v) for v in (first - 10.0, -3.0 * top, middle + 2.2 * top, 3.6 * top)],
        "beside": [short(v) for v in (first, -1.6 * top, middle + 1.4 * top, 2.4 * top)],
        "end_on": short(middle),
    }
