"""Straight moves, and where the axis words of a line lead."""

from __future__ import annotations

import math

from cam.ground.tolerances import ROUNDING
from cam.rs274.fault import Fault, Unsaid
from cam.rs274.model import Position
from cam.rs274.state import NAN, Machine, make, place
from cam.rs274.words import Block

AXES = "XYZ"


def end_point(machine: Machine, block: Block) -> Position:
    """Return where the axis words of a line lead, as reported; axes not named stay.

    Raises:
        Unsaid: the text has not said the units, or G90 or G91, or where a step of G91 begins.
    """
    words = block.words
    x, y, z = machine.at
    shift_x, shift_y, shift_z = machine.shift
    unit = machine.unit or machine.need_unit(first_axis(block))
    if machine.incremental:
        if "X" in words:
            x += words["X"] * machine.x_unit
        if "Y" in words:
            y += words["Y"] * unit
        if "Z" in words:
            z += words["Z"] * unit
        need_known(machine, block, (x, y, z))
    elif machine.incremental is None:
        what = "an axis word stands before G90 or G91"
        raise Unsaid("distance", first_axis(block), what, allowed="G90 or G91 before", fix="write G90 at the start")
    else:
        if "X" in words:
            x = words["X"] * machine.x_unit + shift_x
        if "Y" in words:
            y = words["Y"] * unit + shift_y
        if "Z" in words:
            z = words["Z"] * unit + shift_z
    return make(Position, (x, y, z))


def first_axis(block: Block) -> int:
    """Return the index of the first axis word of a line; -1 if there is none."""
    return min((block.at[a] for a in AXES if a in block.at), default=-1)


def need_known(machine: Machine, block: Block, end: tuple[float, float, float]) -> None:
    """Refuse a step from a place that the text has not said."""
    for axis, value in zip(AXES, end, strict=True):
        if axis in block.words and math.isnan(value):
            what = f"a step of {axis} under G91 begins where the text has not said"
            allowed, fix = f"a place of {axis} given before under G90", f"write a move to a place of {axis} first"
            raise Unsaid("place", block.at[axis], what, given=block.word(axis), allowed=allowed, fix=fix)


def unsaid_place(block: Block, what: str, axis: int, fix: str = "") -> Unsaid:
    """Return the refusal of a motion from a place that the text has not said."""
    name = AXES[axis]
    what = f"{what} begins where the text has not said ({name})"
    return Unsaid("place", block.motion_at(), what, fix=f"write a move to a place of {name} first{fix}")


def axis_value(machine: Machine, block: Block, axis: int) -> float:
    """Return the length that an axis word gives, mm, X a radius."""
    machine.need_unit(block.at[AXES[axis]])
    return block.words[AXES[axis]] * machine.factor(axis)


def rapid(machine: Machine, block: Block) -> None:
    """Run G0 (NISTIR 6556, 3.5.1)."""
    machine.move("rapid", end_point(machine, block))


def line(machine: Machine, block: Block) -> None:
    """Run G1 (NISTIR 6556, 3.5.2); a feed must have been given."""
    if not machine.feed:
        need_feed(machine, block)
    machine.move("line", end_point(machine, block))


def thread(machine: Machine, block: Block) -> None:
    """Run G33, a thread of constant lead along Z: K is the lead in the units of the text, said on every such line.

    EIA-274-D and ISO 6983-1, table of G words, from memory; K as the lead along Z by the same. That it needs a
    spindle that turns at one speed (G97) follows from what it is: each pass falls in step only then.
    """
    at = block.motion_at()
    if machine.incremental is None or not machine.unit:
        end_point(machine, block)  # refuses
    if "K" not in block.words:
        raise Fault(at, "a thread has no lead", "G33", "G33 Z... K... (K is the lead)", "write K")
    if not block.words["K"] > 0:
        raise Fault(block.at["K"], "the lead of a thread is not above zero", block.word("K"), "K above 0")
    if not machine.spindle:
        raise Fault(at, "a thread stands where the spindle is stopped", "G33", "M3 before", "start the spindle first")
    if machine.surface:
        what = "a thread stands under G96: its passes fall in step at one spindle speed only"
        raise Fault(at, what, "G33 under G96", "G97 S... before", "write G97 and S in rev/min")
    start, end = machine.at, end_point(machine, block)
    if "X" in block.words and abs(end.x - start.x) > ROUNDING:
        raise Fault(block.at["X"], "a tapered thread is not followed by this reader", block.word("X"), "Z and K alone")
    if "Z" not in block.words:
        raise Fault(at, "a thread names no Z", "G33", "G33 Z... K...", "write Z")
    lead = block.words["K"] * machine.unit
    before = machine.modal
    machine.modal = (before[0], lead, 95, *before[3:])
    machine.move("thread", end)
    machine.modal = before


def need_feed(machine: Machine, block: Block) -> None:
    """Refuse to cut without a feed, and at a feed of zero."""
    at = block.motion_at()
    if machine.feed_mode == 93:
        if "F" not in block.words:
            what = "a feed move under G93 has no F on its line"
            raise Fault(at, what, allowed="F on every line with G1, G2 or G3", fix="write F, or G94")
    elif not machine.feed_mode:
        what = "a feed move stands before the feed mode is said"
        fix = "write G95 (per revolution) or G94 (per minute), then F"
        raise Unsaid("feed mode", at, what, allowed="G94 or G95 before", fix=fix)
    elif machine.feed is None:
        what = "a feed move stands before any feed is given"
        raise Unsaid("feed", at, what, allowed="F on the line or before it", fix=f"write F after G{machine.feed_mode}")
    if machine.feed == 0:
        raise Fault(block.at.get("F", at), "a feed move at a feed of zero", "F0", "F above 0")


def machine_move(machine: Machine, block: Block, motion: int | None) -> None:
    """Run G53 with G0 or G1: one move in machine coordinates, absolute (NISTIR 6556, 3.5.12).

    Under G91 it is refused, as the reference interpreter of NISTIR 6556 refuses it (from memory of its errors): the
    report does not say whether its numbers would be places or steps then.
    """
    if motion not in (0, 10):
        what = "G53 stands without G0 or G1 and an axis word"
        raise Fault(block.g_at(0), what, "G53", "G53 G0 X... or G53 G1 X...", "add G0 to the line")
    if machine.incremental:
        what, given = "G53 stands under G91: whether its numbers are places or steps is not said", "G53 under G91"
        raise Fault(block.g_at(0), what, given, "G90 before", "write G90 on the line before, and G91 again after it")
    if motion == 10 and not machine.feed:
        need_feed(machine, block)
    machine.need_unit(first_axis(block))
    offsets = total_offsets(machine)
    start = place(p + o for p, o in zip(machine.at, offsets, strict=True))
    end, here = list(start), list(machine.at)
    for axis, name in enumerate(AXES):
        if name in block.words:
            end[axis] = axis_value(machine, block, axis) + 0.0
            here[axis] = end[axis] - offsets[axis]
    system, machine.system = machine.system, 0
    machine.remember()
    machine.at = start
    machine.move("rapid" if motion == 0 else "line", place(end))
    machine.at, machine.system = place(here), system
    machine.remember()


def total_offsets(machine: Machine) -> tuple[float, float, float]:
    """Return machine coordinates less reported ones, mm; NaN where the text does not tell."""
    x, y, z = machine.origins[machine.system]
    base = [NAN if preset else 0.0 for preset in machine.preset]
    return x + base[0], y + base[1], z + base[2] + machine.length
