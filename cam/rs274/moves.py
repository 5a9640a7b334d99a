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
        raise Unsaid(
            "distance", first_axis(block), "an axis word stands before G90 or G91", allowed="G90 or G91 before",
            fix="write G90 at the start",
        )  # fmt: skip
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
            raise Unsaid(
                "place", block.at[axis], f"a step of {axis} under G91 begins where the text has not said",
                given=block.word(axis), allowed=f"a place of {axis} given before under G90",
                fix=f"write a move to a place of {axis} first",
            )  # fmt: skip


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
        raise Fault(
            at, "a thread stands under G96: its passes fall in step at one spindle speed only", "G33 under G96",
            "G97 S... before", "write G97 and S in rev/min",
        )  # fmt: skip
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
            raise Fault(
                at, "a feed move under G93 has no F on its line", allowed="F on every line with G1, G2 or G3",
                fix="write F, or G94",
            )  # fmt: skip
    elif not machine.feed_mode:
        raise Unsaid(
            "feed mode", at, "a feed move stands before the feed mode is said", allowed="G94 or G95 before",
            fix="write G95 (per revolution) or G94 (per minute), then F",
        )  # fmt: skip
    elif machine.feed is None:
        raise Unsaid(
            "feed", at, "a feed move stands before any feed is given", allowed="F on the line or before it",
            fix=f"write F after G{machine.feed_mode}",
        )  # fmt: skip
    if machine.feed == 0:
        raise Fault(block.at.get("F", at), "a feed move at a feed of zero", "F0", "F above 0")


def machine_move(machine: Machine, block: Block, motion: int | None) -> None:
    """Run G53 with G0 or G1: one move in machine coordinates, absolute (NISTIR 6556, 3.5.12).

    Under G91 it is refused, as the reference interpreter of NISTIR 6556 refuses it (from memory of its errors): the
    report does not say whether its numbers would be places or steps then.
    """
    if motion not in (0, 10):
        raise Fault(
            block.g_at(0), "G53 stands without G0 or G1 and an axis word", "G53", "G53 G0 X... or G53 G1 X...",
            "add G0 to the line",
        )  # fmt: skip
    if machine.incremental:
        raise Fault(
            block.g_at(0), "G53 stands under G91: whether its numbers are places or steps is not said", "G53 under G91",
            "G90 before", "write G90 on the line before, and G91 again after it",
        )  # fmt: skip
    if motion == 10 and not machine.feed:
        need_feed(machine, block)
    unit = machine.need_unit(first_axis(block))
    factors = (machine.x_unit, unit, unit)
    offsets = total_offsets(machine)
    named = [axis in block.words for axis in AXES]
    start = place(p + o for p, o in zip(machine.at, offsets, strict=True))
    end = place(
        block.words[a] * f + 0.0 if a in block.words else s for a, f, s in zip(AXES, factors, start, strict=True)
    )
    here = place(e - o if n else p for n, e, o, p in zip(named, end, offsets, machine.at, strict=True))
    system, machine.system = machine.system, 0
    machine.remember()
    machine.at = start
    machine.move("rapid" if motion == 0 else "line", end)
    machine.at, machine.system = here, system
    machine.remember()


def total_offsets(machine: Machine) -> tuple[float, float, float]:
    """Return machine coordinates less reported ones, mm; NaN where the text does not tell."""
    x, y, z = machine.origins[machine.system]
    base = [NAN if preset else 0.0 for preset in machine.preset]
    return x + base[0], y + base[1], z + base[2] + machine.length
