"""Where coordinates count from: work systems, G92, tool offsets, and the way home.

What the control keeps (origins, tool tables, homes) is no part of the text. So an axis is unknown (NaN) after a change
of work system or tool offset until it is programmed again, unless the program itself set the origins by G10 L2.
A shift by G92 is followed where its size is known. A text whose datum moves by an amount that it does not tell, after
motions have rested on that datum, is refused: its motions could not be laid upon one piece of work.

In EIA-274-D texts there are no work systems; tool offsets are the last two digits of a four-digit T word (common
practice, no source; three digits are refused, as controls differ), and G92 with axis words says where the tool stands
("preload of registers", from memory of that standard), read as in NISTIR 6556.
"""

from __future__ import annotations

import math

from cam.rs274.expressions import whole
from cam.rs274.fault import Fault, Unsaid
from cam.rs274.model import MOVING, Position
from cam.rs274.moves import AXES, axis_value, end_point, first_axis
from cam.rs274.notes import datum_moved
from cam.rs274.state import NAN, NOWHERE, UNMOVED, Machine, place
from cam.rs274.words import Block

G92_PARAMETERS = (5211, 5212, 5213)
ORIGIN_PARAMETERS = 5221  # of system 1; 20 further for each next (NISTIR 6556, Table 2)
ACTIVE_SYSTEM = 5220


def word_of(machine: Machine, axis: int, length: float) -> float:
    """Return a length as the word that would give it, for a parameter."""
    factor = machine.factor(axis)
    return length / factor if factor else NAN


def choose_system(machine: Machine, code: int) -> None:
    """Do G54 to G59.3 (NISTIR 6556, 3.5.13)."""
    system = (code - 530) // 10 if code <= 590 else code - 590 + 6
    if system != machine.system:
        machine.at = seen_from(machine.at, machine.origins[machine.system], machine.origins[system])
        machine.system = system
    machine.parameters[ACTIVE_SYSTEM] = float(system)


def seen_from(at: Position, old: Position, new: Position) -> Position:
    """Return a place counted from an old origin as it is counted from a new one."""
    return place(p + (a - b) for p, a, b in zip(at, old, new, strict=True))


def set_origin(machine: Machine, block: Block) -> None:
    """Do G10 L2 Pn: set an origin in machine coordinates, whatever G91 says (NISTIR 6556, 3.5.5)."""
    words, number = block.words, read_system(block)
    look_back(machine)
    said = {name: axis_value(machine, block, axis) for axis, name in enumerate(AXES) if name in words}
    old = machine.origins[number]
    new = place(said.get(name, here) for name, here in zip(AXES, old, strict=True))
    if number in machine.used and new != old:
        what = "G10 moves the origin of a work system that the program has already moved in"
        fix = "this reader does not follow it: set the origin at the start"
        raise Fault(block.g_at(0), what, f"P{number}", "origins set before the first move in their system", fix)
    machine.origins[number] = new
    if said:
        machine.notes.append(datum_moved(machine.line, said, f"G10 (work system {number})", ""))
    if number == machine.system:
        machine.at = seen_from(machine.at, old, new)
    for name in said:
        machine.parameters[ORIGIN_PARAMETERS + 20 * (number - 1) + AXES.index(name)] = words[name]


def read_system(block: Block) -> int:
    """Read L2 and P of G10, the work system whose origin is set."""
    if whole(block.words.get("L", 0.0)) != 2:
        raise Fault(block.g_at(0), "G10 stands without L2", "", "G10 L2 P1 X... Z...", "write L2")
    number = whole(block.words.get("P", 0.0))
    if number is None or not 1 <= number <= 9:
        at = block.at.get("P", block.g_at(0))
        raise Fault(at, "G10 names no work system", block.word("P"), "P1 to P9", "write P1 for G54")
    return number


def preset_position(machine: Machine, block: Block) -> None:
    """Do G92 with axis words: from now on the tool's place is read as stated (NISTIR 6556, 3.5.18)."""
    if first_axis(block) < 0:
        raise Fault(block.g_at(0), "G92 names no axis", "G92", "G92 X... Z...", "name an axis")
    look_back(machine)
    shift, preset, here = list(machine.shift), list(machine.preset), list(machine.at)
    for axis, name in enumerate(AXES):
        if name not in block.words:
            continue
        stated = axis_value(machine, block, axis)
        if not math.isnan(here[axis]):
            shift[axis] = here[axis] - stated
        elif machine.known[axis]:
            raise Unsaid(
                "place", block.at[name], f"G92 moves the datum of {name} by an amount that the text does not tell",
                given=block.word(name), allowed="G92 where the place of the axis is known, or before its first move",
                fix=f"write a move to a place of {name} first",
            )  # fmt: skip
        else:
            here[axis], shift[axis], preset[axis] = stated + 0.0, 0.0, True
            machine.known[axis] = True
    machine.at = Position(*here)
    note_shift(machine, block, shift, preset)
    machine.shift = (shift[0], shift[1], shift[2])
    machine.preset = (preset[0], preset[1], preset[2])
    keep_shift(machine)


def note_shift(machine: Machine, block: Block, shift: list[float], preset: list[bool]) -> None:
    """Note by how much G92 has moved the zero of each axis that it names."""
    for axis, name in enumerate(AXES):
        if name in block.words and preset[axis] and not machine.preset[axis]:
            machine.notes.append(datum_moved(machine.line, name, "G92", " before any move: nobody knows by how much"))
        elif name in block.words and shift[axis] != machine.shift[axis]:
            by = (shift[axis] - machine.shift[axis]) / (machine.x_half if axis == 0 else 1.0)
            said = f": what is said after it lies {by:+.3f} mm off"
            machine.notes.append(datum_moved(machine.line, name, "G92", said))


def keep_shift(machine: Machine) -> None:
    """Write the shift into #5211 and on; it is unknown where the text does not tell its size."""
    for axis, number in enumerate(G92_PARAMETERS):
        value = NAN if machine.preset[axis] else word_of(machine, axis, machine.shift[axis])
        machine.parameters[number] = value


def cancel_preset(machine: Machine, block: Block) -> None:
    """Do G92.1 (which also forgets the shift) and G92.2 (NISTIR 6556, 3.5.18)."""
    if any(machine.preset):
        what = "a datum shift is taken off whose size the text does not tell"
        raise Fault(block.g_at(0), what, fix="set the origin with G10")
    machine.shift = UNMOVED
    if block.g[0] == 921:
        keep_shift(machine)


def restore_preset(machine: Machine, block: Block) -> None:
    """Do G92.3: take the shift that #5211 and on hold (NISTIR 6556, 3.5.18)."""
    values = [machine.parameters.get(number, NAN) for number in G92_PARAMETERS]
    if any(math.isnan(v) for v in values):
        what = "G92.3 takes back a datum shift that the text does not tell"
        raise Fault(block.g_at(0), what, "G92.3", "a G92 before it in this program", "write G92")
    x, y, z = (value * machine.factor(axis) for axis, value in enumerate(values))
    machine.shift = (x, y, z)


def go_home(machine: Machine, block: Block) -> None:
    """Do G28 and G30: go by way of the programmed point to a home that only the control knows (NISTIR 6556, 3.5.8)."""
    if first_axis(block) >= 0:
        machine.move("rapid", end_point(machine, block))
    machine.move("rapid", NOWHERE)


def length_offset(machine: Machine, block: Block) -> None:
    """Do G43 H and G49: the offset acts along Z; its length is in the control's table (NISTIR 6556, 3.5.11)."""
    index, length = 0, 0.0
    if block.g[8] == 430:
        if "H" not in block.words:
            raise Fault(block.g_at(8), "G43 stands without H", "G43", "G43 H1", "name the offset with H")
        found = whole(block.words["H"])
        if found is None or found < 0:
            raise Fault(block.at["H"], "there is no such tool length offset", block.word("H"), "H0, H1, H2 ...")
        index, length = found, NAN if found else 0.0
    if index == machine.offset and machine.offset:
        return
    x, y, z = machine.at
    machine.at = place((x, y, z + machine.length - length))
    machine.length, machine.offset = length, index


def tool_offset(machine: Machine, tool: int, offset: int) -> None:
    """Do T0101 of EIA-274-D: tool and offset come into use; a new offset leaves axes unknown until programmed."""
    if (tool, offset) != (machine.tool, machine.offset):
        machine.at = NOWHERE
    machine.tool, machine.offset = tool, offset


def look_back(machine: Machine) -> None:
    """Note which systems the program has moved in and which axes it has known, up to now."""
    for motion in machine.motions[machine.looked :]:
        if motion.kind in MOVING:
            machine.used.add(motion.system)
            for axis, value in enumerate(motion.end):
                if not math.isnan(value):
                    machine.known[axis] = True
    machine.looked = len(machine.motions)
