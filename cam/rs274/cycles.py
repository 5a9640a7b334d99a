"""Cycles G81 to G89 as the motions that they stand for, NISTIR 6556, 3.5.16.

In EIA-274-D texts G81, G83 and G85 are followed, always back to R, with Q for the step of G83: words of ISO 6983-1 and
NISTIR 6556 (from memory; controls differ); the others are refused. They drill along the axis that stands square to
the plane: Z in G17, Y in G18, X in G19.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from cam.ground.frozen import Row
from cam.rs274.arcs import PLANES, plane_axes
from cam.rs274.expressions import whole
from cam.rs274.fault import Fault, Unsaid
from cam.rs274.model import Position
from cam.rs274.moves import AXES, end_point, need_feed, unsaid_place
from cam.rs274.state import Machine
from cam.rs274.tables import RETRACT
from cam.rs274.words import Block

DWELLING = frozenset((820, 860, 880, 890))
BACK_OFF = 0.254  # mm, above the last bottom in G83 (from memory of the report's own code: 0.010 inch)
MOST_MOTIONS = 10_000
"""The most motions from one line: a limit of this reader's, against a slip that would ask for millions."""


class DrillCycle(Row):
    """One cycle's levels along the drilling axis, mm, and its own words.

    Attributes:
        axis: 0, 1 or 2.
        retract, bottom, clear: R, the depth, and where the cycle ends.
        dwell: seconds. step: step of G83, mm. back: for G87, the way from the hole to where the tool may pass.
        top: for G87, the depth of the counterbore.
    """

    axis: int
    retract: float
    bottom: float
    clear: float
    dwell: float
    step: float
    back: tuple[float, float]
    top: float


Leave = Callable[[Machine, DrillCycle], None]


def run_cycle(machine: Machine, block: Block, code: int) -> None:
    """Expand the cycle of a line, as often as L says."""
    check_cycle(machine, block, code)
    first, second = plane_axes(machine, block)
    axis = 3 - first - second
    end = end_point(machine, block)
    hole = read_hole(machine, block, code, axis)
    repeats = read_repeats(block)
    pecks = (hole.retract - hole.bottom) / hole.step if code == 830 else 1
    if (3 + 3 * pecks) * repeats > MOST_MOTIONS:
        what = "one line asks for more motions than this reader follows"
        raise Fault(block.motion_at(), what, "", f"{MOST_MOTIONS} at most", "write a greater Q or a smaller L")
    if machine.at[axis] < hole.retract:
        traverse(machine, along(machine, axis, hole.retract))
    step = [e - s for e, s in zip(end, machine.at, strict=True)]
    for count in range(repeats):
        across = list(machine.at)
        for index in (first, second):
            if AXES[index] in block.words:
                across[index] = across[index] + step[index] if machine.incremental and count else end[index]
        traverse(machine, Position(*across))
        traverse(machine, along(machine, axis, hole.retract))
        DRILL[code](machine, hole)


def check_cycle(machine: Machine, block: Block, code: int) -> None:
    """Refuse the errors of 3.5.16 that do not rest on numbers."""
    at, name = block.motion_at(), f"G{code // 10}"
    if code in machine.standard.not_followed:
        what = f"this cycle is not followed in {machine.standard.name} texts"
        raise Fault(at, what, name, ", ".join(machine.standard.cycles), "write its moves with G0 and G1")
    if machine.feed_mode == 93:
        raise Fault(at, "a cycle under G93", name, "cycles under G94", "write G94 and F before")
    if not machine.feed:
        need_feed(machine, block)
    if code == 840 and machine.spindle != 1:
        raise Fault(at, "G84 with the spindle not turning clockwise", "G84", "M3 before", "start the spindle with M3")
    if code in (860, 870, 880) and not machine.spindle:
        raise Fault(at, f"{name} with the spindle stopped", name, "M3 or M4 before", "start the spindle")


def read_hole(machine: Machine, block: Block, code: int, axis: int) -> DrillCycle:
    """Read the levels and words of a cycle; R and the depth hold on from line to line of the same cycle (3.5.16)."""
    factor, old = machine.factor(axis), machine.at[axis]
    if math.isnan(old):
        raise unsaid_place(block, "a cycle", axis)
    base = old if machine.incremental else machine.shift[axis]
    retract = base + keep(machine, block, "R", code) * factor
    bottom = (retract if machine.incremental else base) + keep(machine, block, AXES[axis], code) * factor
    if retract < bottom:
        what = "R of a cycle lies below its depth"
        raise Fault(block.at.get("R", -1), what, block.text, f"R above {AXES[axis]}", f"write R above {AXES[axis]}")
    dwell = keep(machine, block, "P", code) if code in DWELLING else 0.0
    if dwell < 0:
        raise Fault(block.at.get("P", -1), "a dwell is negative", block.word("P"), "P0 and above")
    step = read_step(machine, block) * factor if code == 830 else 0.0
    back, top = read_back_bore(machine, block, axis, bottom) if code == 870 else ((0.0, 0.0), bottom)
    clear = old if returns_to_old(machine, block, old, retract) else retract
    return DrillCycle(axis, retract, bottom, clear, dwell, step, back, top)


def read_step(machine: Machine, block: Block) -> float:
    """Read Q, the step of G83 (3.5.16.4)."""
    step = keep(machine, block, "Q", 830)
    if step <= 0:
        raise Fault(block.at.get("Q", -1), "the step of G83 is not above zero", block.word("Q"), "Q above 0")
    return step


def returns_to_old(machine: Machine, block: Block, old: float, retract: float) -> bool:
    """Tell whether the cycle ends at the level where it began: G98, and that level above R (3.5.20)."""
    if RETRACT not in machine.standard.groups or old <= retract:
        return False
    if machine.return_old is None:
        what = "a cycle begins above R and neither G98 nor G99 has been said"
        fix = "write G98 (back to where it began) or G99 (back to R)"
        raise Unsaid("retract", block.motion_at(), what, allowed="G98 or G99 before", fix=fix)
    return machine.return_old


def keep(machine: Machine, block: Block, letter: str, code: int) -> float:
    """Return a word of a cycle, which must be given the first time and holds on."""
    if letter in block.words:
        machine.sticky[letter] = block.words[letter]
    elif letter not in machine.sticky:
        what, given = f"G{code // 10} has no {letter}", f"G{code // 10}"
        raise Fault(block.motion_at(), what, given, f"{letter} on the first line of a cycle", f"write {letter}")
    return machine.sticky[letter]


def read_repeats(block: Block) -> int:
    """Read L, how often the cycle is run: once if it is not there. It does not hold on."""
    if "L" not in block.words:
        return 1
    repeats = whole(block.words["L"])
    if repeats is None or repeats < 1:
        raise Fault(block.at["L"], "a cycle cannot be repeated so often", block.word("L"), "L1, L2, L3 ...")
    return repeats


def read_back_bore(machine: Machine, block: Block, axis: int, bottom: float) -> tuple[tuple[float, float], float]:
    """Read I, J (or the plane's own pair) and K of G87 (3.5.16.7; the words' meaning from memory)."""
    names = ["IJK"[a] for a in PLANES[machine.plane]]
    unit = machine.unit
    back = (keep(machine, block, names[0], 870) * unit, keep(machine, block, names[1], 870) * unit)
    given = keep(machine, block, "IJK"[axis], 870) * unit
    top = bottom + given if machine.incremental else given + machine.shift[axis]
    if top < bottom:
        what = "the counterbore of G87 lies below its depth"
        raise Fault(block.at.get("IJK"[axis], -1), what, block.text, f"{'IJK'[axis]} above {AXES[axis]}")
    return back, top


def along(machine: Machine, axis: int, level: float) -> Position:
    """Return where the tool stands, with one axis moved to a level."""
    place = list(machine.at)
    place[axis] = level
    return Position(*place)


def traverse(machine: Machine, end: Position) -> None:
    """Go to a place at rapid, unless the tool is there."""
    if end != machine.at:
        machine.move("rapid", end)


def feed_to(machine: Machine, hole: DrillCycle, level: float) -> None:
    """Feed along the drilling axis."""
    machine.move("line", along(machine, hole.axis, level))


def clear(machine: Machine, hole: DrillCycle) -> None:
    """Rapid out of the hole."""
    traverse(machine, along(machine, hole.axis, hole.clear))


def turn_spindle(machine: Machine, direction: int) -> None:
    """Stop or start the spindle within a cycle."""
    machine.spindle = direction
    machine.remember()
    machine.mark("spindle")


def sink(machine: Machine, hole: DrillCycle, leave: Leave, *, spindle: int | None = None) -> None:
    """Feed in, dwell, turn the spindle otherwise if it is said, leave the hole, and turn the spindle as before."""
    direction = machine.spindle
    feed_to(machine, hole, hole.bottom)
    if hole.dwell:
        machine.mark("dwell", hole.dwell)
    if spindle is not None:
        turn_spindle(machine, spindle)
    leave(machine, hole)
    if spindle is not None:
        turn_spindle(machine, direction)


def peck(machine: Machine, hole: DrillCycle) -> None:
    """Run G83: in by steps, each time out to the clear level and back down to just above the last bottom."""
    depth = hole.retract - hole.step
    while depth > hole.bottom:
        feed_to(machine, hole, depth)
        clear(machine, hole)
        traverse(machine, along(machine, hole.axis, min(depth + BACK_OFF, hole.clear)))
        depth -= hole.step
    feed_to(machine, hole, hole.bottom)
    clear(machine, hole)


def feed_out(machine: Machine, hole: DrillCycle) -> None:
    """Feed out of the hole."""
    feed_to(machine, hole, hole.clear)


def drawn_out(machine: Machine, hole: DrillCycle) -> None:
    """Stop: the operator draws the tool out to the clear level."""
    machine.mark("stop")
    machine.at = along(machine, hole.axis, hole.clear)


def bore_back(machine: Machine, hole: DrillCycle) -> None:
    """Run G87: aside and through with the spindle stopped, counterbore upward, aside and out (3.5.16.7)."""
    direction = machine.spindle
    centre = list(machine.at)
    aside = list(machine.at)
    for index, axis in enumerate(PLANES[machine.plane]):
        aside[axis] += hole.back[index]

    def over(place: list[float]) -> None:
        level = machine.at[hole.axis]
        traverse(machine, Position(*(level if i == hole.axis else v for i, v in enumerate(place))))

    over(aside)
    turn_spindle(machine, 0)
    traverse(machine, along(machine, hole.axis, hole.bottom))
    over(centre)
    turn_spindle(machine, direction)
    feed_to(machine, hole, hole.top)
    feed_to(machine, hole, hole.bottom)
    turn_spindle(machine, 0)
    over(aside)
    clear(machine, hole)
    over(centre)
    turn_spindle(machine, direction)


DRILL: dict[int, Leave] = {
    810: partial(sink, leave=clear),
    820: partial(sink, leave=clear),
    830: peck,
    840: partial(sink, leave=feed_out, spindle=-1),  # right-hand taps only
    850: partial(sink, leave=feed_out),
    860: partial(sink, leave=clear, spindle=0),
    870: bore_back,
    880: partial(sink, leave=drawn_out, spindle=0),
    890: partial(sink, leave=feed_out),
}
