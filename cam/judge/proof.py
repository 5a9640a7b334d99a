"""What a program must prove in air before metal, as a person sees it: X, then Z, the sense of arcs, a thread's lead.

No word of any standard says whether X words are radii, which face Z zero is on, or how a control takes an arc. So the
text shows each by a motion that touches nothing, right or wrong, and a stop that names it. The sense of arcs alone may
be known: the shop file says so with a date, and the head of the text repeats both.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from itertools import takewhile

from cam.geometry.path import Arc, sweep_angle
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_GIVEN
from cam.judge.model import Finding
from cam.judge.play import path_of
from cam.judge.report import find, mm
from cam.judge.travel import turning_points
from cam.rs274.halts import Halt, proved_in_head
from cam.rs274.model import MOVING, Motion, Program
from cam.setting.model import Setting
from cam.shop.model import Control

SEEN = 1.0
"""An arc in air swings at least this far either way, mm, so that a person sees which way it went."""
SWINGS = re.compile(r"\b(?:MUST SWING|SWUNG|ARC NEXT) TO(?:WARD)?(?: THE)? (HEADSTOCK|TAILSTOCK|FREE)\b")
REACHES = re.compile(r"\b(?:Z GOING FROM \S+ TO|DOWN TO Z) (-?[0-9]+(?:\.[0-9]+)?)", re.IGNORECASE)
PRINTED = 0.01
"""The Z that an arc in air is said to reach may be off by this, mm: nobody sees as much."""


def check_proofs(program: Program, halts: Mapping[int, Halt], setting: Setting, control: Control) -> list[Finding]:
    """Return the first thing that is not proved in air before the spindle first starts.

    Args:
        halts: the stops, by number of the motion.

    Where X words are radii, half of the first X must pass the work too: a control that takes them for diameters comes
    so near. Where they are diameters, such a control stays out.
    """
    motions, stock = program.motions, setting.stock_radius
    bar = stock if control.x_words == "radius" else 0.0
    moved, stop, wrong = _prove(motions, 0, FIRST)
    if moved is not None and moved.end.x / 2 <= bar:
        what = (
            f"proves X at radius {mm(moved.end.x)}: a control that takes it for a diameter stands at "
            f"{mm(moved.end.x / 2)} then, inside the work of {mm(bar)}"
        )
        return [_no_proof(moved, what)]
    if moved is not None:
        moved, stop, wrong = _prove(motions, stop + 1, THEN)
        if moved is not None and not halts[stop].names("prove Z", "check Z"):
            what = "says nothing of proving Z at the stop after the first motion of Z"
            return [_no_proof(motions[stop], what)]
    return wrong or _check_arcs(program, halts, stock, control) or _check_threads(motions, halts, stock)


def _check_threads(motions: tuple[Motion, ...], halts: Mapping[int, Halt], stock: float) -> list[Finding]:
    """Require, where a thread is cut, a pass in step with the spindle in air, and a stop that asks how it went."""
    threads = [n for n, m in enumerate(motions) if m.kind == "thread"]
    cut = next((n for n in threads if not min(motions[n].start.x, motions[n].end.x) > stock), None)
    if cut is None:
        return []
    if cut == threads[0]:
        return [_no_proof(motions[cut], "cuts a thread, and no pass in step with the spindle was run in air before")]
    if not any(threads[0] < n < cut and h.names("in step", "thread") for n, h in halts.items()):
        return [_no_proof(motions[cut], "cuts a thread, and no stop after the pass in air asks how it went")]
    return []


class Alone(Row):
    """How one axis is proved by itself: whether a motion may do it, and what is wrong where it is not so."""

    proves: Callable[[Motion], bool]
    not_so: str
    goes_on: str
    turns: str
    no_stop: str

    def wrong(self, motion: Motion, moved: Motion | None) -> str:
        """Say what is wrong with a motion; "" if nothing is. moved: the one that has proved the axis."""
        if motion.kind in MOVING and moved is not None:
            return self.goes_on
        if motion.kind in MOVING and not self.proves(motion):
            return self.not_so
        return self.turns if motion.spindle and motion.kind != "end" else ""


FIRST = Alone(
    lambda m: m.kind == "rapid" and math.isnan(m.end.z),
    "the first motion must be a rapid of X alone, in air, to a diameter that callipers can check",
    "moves on before the stop at which the first motion is checked with callipers",
    "starts the spindle before the first motion has been checked with callipers",
    "no stop follows the first motion",
)
THEN = Alone(
    lambda m: m.kind == "rapid" and m.end.x == m.start.x,
    "moves on before Z alone has been moved in air to a place that a rule can check, and a stop",
    "moves on before Z alone has been moved in air to a place that a rule can check, and a stop",
    "starts the spindle before Z has been checked with a rule",
    "no stop follows the first motion of Z",
)


def _prove(motions: tuple[Motion, ...], start: int, axis: Alone) -> tuple[Motion | None, int, list[Finding]]:
    """Return the motion that proves an axis and the number of the stop behind it, or else what is wrong.

    It must be the first motion from start on, in air, before the spindle starts; nothing else may move before the stop.
    """
    moved: Motion | None = None
    for number, motion in enumerate(motions[start:], start):
        if motion.kind == "stop" and moved is not None:
            return moved, number, []
        if what := axis.wrong(motion, moved):
            return None, 0, [_no_proof(motion, what)]
        moved = motion if motion.kind in MOVING else moved
    return None, 0, [] if moved is None else [_no_proof(moved, axis.no_stop)]


def _check_arcs(program: Program, halts: Mapping[int, Halt], stock: float, control: Control) -> list[Finding]:
    """Require, where arcs are cut, that one is run in air first and that a stop asks which way it went."""
    cut = next((m for m in program.motions if m.kind == "arc" and m.spindle), None)
    if cut is None or control.kind == "hand":
        return []
    if control.facts.arcs == "lines":
        what = "runs an arc; the shop file says of this control that arcs are said as lines"
        return [_no_proof(cut, what)]
    if proved_in_head(program, "arcs", control.facts.proved):
        return []
    arc, wrong = _proof_of_arcs(program, halts, stock, control)
    return [_no_proof(arc or cut, wrong)] if wrong else []


def _proof_of_arcs(
    program: Program, halts: Mapping[int, Halt], stock: float, control: Control
) -> tuple[Motion | None, str]:  # fmt: skip
    """Return the arc that proves arcs in air, None without one, and what is wrong with it or its words."""
    air = list(takewhile(lambda m: not m.spindle, program.motions))
    about = [h for n, h in halts.items() if n < len(air) and h.names("arc", "arcs")]
    arc, wrong = _prove_arc(air, about, stock)
    if arc is not None and not wrong:
        wrong = _told_otherwise(arc, about, control.unit)
    return arc, wrong


def _prove_arc(air: list[Motion], about: list[Halt], stock: float) -> tuple[Motion | None, str]:
    """Return the first arc that is run in air, and what is wrong with it as a proof; "" if nothing is.

    Args:
        about: the stops before the spindle starts that speak of arcs.
    """
    at = next((number for number, m in enumerate(air) if m.kind == "arc"), None)
    if at is None:
        return None, "runs an arc, and the sense of arcs was not proved in air before the spindle started"
    arc, wrong = air[at], _not_shown(air[at], air[:at], stock)
    if not wrong and {h.line > arc.line for h in about} != {False, True}:
        wrong = "runs an arc in air without stops before and after it that say what must be seen"
    return arc, wrong


def _told_otherwise(arc: Motion, about: list[Halt], unit: float) -> str:
    """Say what is wrong with the words of its stops on the way that an arc in air goes; "" if nothing is.

    A control that swings it as the words say takes arcs as this text means them only if the text, read by its standard,
    swings it so.

    Args:
        unit: mm in a length of the words.
    """
    path = path_of(arc)
    low, *_, high = sorted(point.z for point in turning_points(path))
    inward = path.start.z - low > high - path.start.z
    way, reach = ("headstock", low) if inward else ("tailstock", high)
    if any((to == "HEADSTOCK") is not inward for halt in about for to in SWINGS.findall(halt.words)):
        return f"swings toward the {way} in air, and the words at its stops say that it must not"
    said = [float(z) for halt in about for text in halt.said for z in REACHES.findall(text)]
    other = next((z for z in said if abs(z * unit - reach) > PRINTED), None)
    return "" if other is None else f"swings to Z {mm(reach)} in air, and the words at its stops say Z {other:g}"


def _not_shown(arc: Motion, before: list[Motion], stock: float) -> str:
    """Say what is wrong with an arc in air, which must be safe whichever way a control takes it; "" if nothing is."""
    path = path_of(arc)
    if not isinstance(path, Arc) or math.isnan(path.start.x + path.start.z):
        return "proves the sense of arcs by an arc whose place or plane is not known"
    least = path.centre.x - path.radius
    if least <= stock:
        return f"proves the sense of arcs by one that comes to radius {mm(least)} if it is taken the other way"
    far = max(m.end.z for m in before if m.kind in MOVING and not math.isnan(m.end.z))
    if path.centre.z + path.radius > far + AS_GIVEN:
        return f"proves the sense of arcs by one that swings beyond Z {mm(far)} if it is taken the other way"
    if path.radius < SEEN or not math.pi / 2 <= sweep_angle(path) <= 3 * math.pi / 2 + AS_GIVEN:
        return "proves the sense of arcs by one too small for a person to see which way it goes"
    return ""


def _no_proof(motion: Motion, what: str) -> Finding:
    return find(motion.line, "no proof", what, tool=motion.tool)
