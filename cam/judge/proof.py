"""What a program must prove in air before metal, as a person sees it: X, then Z, then the sense of arcs.

No word of any standard says whether X words are radii, which face Z zero is on, or how a control takes an arc. So the
text shows each by a motion that touches nothing, right or wrong, and a stop that names it. The sense of arcs alone may
be known: the shop file says so with a date, and the head of the text repeats both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from cam.geometry.path import Arc, Point, sweep_angle
from cam.judge.model import Finding
from cam.judge.report import find
from cam.rs274.halts import MOVING, Halt, proved_in_head
from cam.rs274.model import Motion, Program
from cam.setting.model import Setting
from cam.shop.model import Control

SEEN = 1.0
"""An arc in air swings at least this far either way, mm, so that a person sees which way it went."""
TINY = 1e-6


def check_proofs(program: Program, halts: Mapping[int, Halt], setting: Setting, control: Control) -> list[Finding]:
    """Return the first thing that is not proved in air before the spindle first starts.

    Args:
        halts: the stops, by number of the motion.
    """
    stock = max(max(s.start.x, s.end.x) for s in setting.stock)
    motions = program.motions
    found = _check_x(motions, stock if control.x_words == "radius" else 0.0)
    return found or _check_z(motions, halts) or _check_arcs(program, halts, stock, control)


def _check_z(motions: tuple[Motion, ...], halts: Mapping[int, Halt]) -> list[Finding]:
    """Require Z alone, in air, after the stop for X, and a stop that names it, before anything else moves or turns."""
    moved: Motion | None = None
    after_x = False
    for number, motion in enumerate(motions):
        if motion.kind == "stop" and moved is not None and after_x:
            if not halts[number].names("prove Z", "check Z"):
                return [_no_proof(motion, "says nothing of proving Z at the stop after the first motion of Z")]
            return []
        if motion.kind == "stop":
            after_x = moved is not None or after_x
            moved = None
        elif motion.kind in MOVING:
            if after_x and (moved is not None or motion.kind != "rapid" or motion.end.x != motion.start.x):
                what = "moves on before Z alone has been moved in air to a place that a rule can check, and a stop"
                return [_no_proof(motion, what)]
            moved = motion
        if motion.spindle and motion.kind != "end":
            return [_no_proof(motion, "starts the spindle before Z has been checked with a rule")]
    return [_no_proof(moved, "no stop follows the first motion of Z")] if after_x and moved is not None else []


def _check_arcs(program: Program, halts: Mapping[int, Halt], stock: float, control: Control) -> list[Finding]:
    """Require, where arcs are cut, that one is run in air first and that a stop asks which way it went."""
    motions = program.motions
    cut = next((m for m in motions if m.kind == "arc" and m.spindle), None)
    if cut is None or control.kind == "hand":
        return []
    if control.facts.arcs == "lines":
        what = "runs an arc; the shop file says of this control that arcs are said as lines"
        return [_no_proof(cut, what)]
    if proved_in_head(program, "arcs", control.facts.proved):
        return []
    first = next((n for n, m in enumerate(motions) if m.spindle), len(motions))
    tried = [m for m in motions[:first] if m.kind == "arc"]
    if not tried:
        return [_no_proof(cut, "runs an arc, and the sense of arcs was not proved in air before the spindle started")]
    (arc,) = tried[:1]
    wrong = _not_shown(arc, motions, stock)
    if wrong:
        return [_no_proof(arc, wrong)]
    named = [h.line > arc.line for n, h in halts.items() if n < first and h.names("arc", "arcs")]
    if set(named) != {False, True}:
        return [_no_proof(arc, "runs an arc in air without stops before and after it that say what must be seen")]
    return []


def _not_shown(arc: Motion, motions: tuple[Motion, ...], stock: float) -> str:
    """Say what is wrong with an arc in air, which must be safe whichever way a control takes it; "" if nothing is."""
    if arc.plane != 18 or arc.centre is None or any(map(math.isnan, (arc.start.x, arc.start.z))):
        return "proves the sense of arcs by an arc whose place or plane is not known"
    start, end = (Point(p.z, p.x) for p in (arc.start, arc.end))
    path = Arc(start, end, Point(arc.centre.z, arc.centre.x), arc.turn)
    least = path.centre.x - path.radius
    if least <= stock:
        return f"proves the sense of arcs by one that comes to radius {least:.3f} mm if it is taken the other way"
    far = max(m.end.z for m in motions if m.line < arc.line and m.kind in MOVING and not math.isnan(m.end.z))
    if path.centre.z + path.radius > far + TINY:
        return f"proves the sense of arcs by one that swings beyond Z {far:.3f} mm if it is taken the other way"
    if path.radius < SEEN or not math.pi / 2 <= sweep_angle(path) <= 3 * math.pi / 2 + TINY:
        return "proves the sense of arcs by one too small for a person to see which way it goes"
    return ""


def _check_x(motions: tuple[Motion, ...], bar: float) -> list[Finding]:
    """Require that the first motion is X alone, in air, then a stop, before the spindle starts or anything else moves.

    Args:
        bar: greatest radius of the work, mm. Where X words are radii, half of the first X must pass it too: a control
            that takes them for diameters comes so near. 0 where they are diameters, as such a control then stays out.
    """
    first: Motion | None = None
    for motion in motions:
        if motion.kind == "stop" and first is not None:
            if first.end.x / 2 <= bar:
                what = (
                    f"proves X at radius {first.end.x:.3f} mm: a control that takes it for a diameter stands at "
                    f"{first.end.x / 2:.3f} mm then, inside the work of {bar:.3f} mm"
                )
                return [_no_proof(first, what)]
            return []
        if motion.kind in ("rapid", "line", "arc", "thread"):
            if first is not None:
                what = "moves on before the stop at which the first motion is checked with callipers"
                return [_no_proof(motion, what)]
            first = motion
            if motion.kind != "rapid" or not math.isnan(motion.end.z):
                what = "the first motion must be a rapid of X alone, in air, to a diameter that callipers can check"
                return [_no_proof(motion, what)]
        if motion.spindle and motion.kind != "end":
            return [_no_proof(motion, "starts the spindle before the first motion has been checked with callipers")]
    return [] if first is None else [_no_proof(first, "no stop follows the first motion")]


def _no_proof(motion: Motion, what: str) -> Finding:
    return find(motion.line, "no proof", what, tool=motion.tool)
