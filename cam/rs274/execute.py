"""One line done in the order of NISTIR 6556, Table 8.

EIA-274-D: neither that standard nor ISO 6983-1 is known to us to print an order (from memory), so Table 8 is taken, but
for G words that say how numbers are meant (units, feed mode, speed mode): they act before F and S of their line, as
the G words stand first in the block (common practice, no source). T brings tool and offset into use at once on its
line (common practice of turning machines, no source); M6 adds no tool to that. EIA-274-D leaves it to the machine
whether M6 stops the spindle (from memory): it is taken to, so that a cut after it must start it again.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cam.ground.units import MM_PER_FOOT, MM_PER_INCH
from cam.rs274 import offsets
from cam.rs274.arcs import arc
from cam.rs274.cycles import DWELLING, run_cycle
from cam.rs274.expressions import whole
from cam.rs274.fault import Fault, Unsaid
from cam.rs274.moves import AXES, first_axis, line, machine_move, rapid, thread
from cam.rs274.notes import CALL, called_again, never_said, not_called, steps_begin
from cam.rs274.state import NOWHERE, Machine
from cam.rs274.tables import (
    ARCS,
    AXIS_TAKERS,
    COMPENSATION,
    CYCLES,
    DISTANCE,
    FEED_MODE,
    LENGTH_OFFSET,
    MOTION,
    PLANE,
    RETRACT,
    SPEED_MODE,
    SPINDLE,
    STOPPING,
    SYSTEM,
    THREAD,
    TOOL_CHANGE,
    UNITS,
    name_of,
)
from cam.rs274.words import Block, word_at

PLAIN = frozenset("FSTXYZ")
"""The letters that need no G word on their own line to take them."""
SPEAKING = frozenset("ST")
"""The letters that speak of tool and spindle."""
CENTRE_TAKERS = ARCS | {870}
R_TAKERS = ARCS | CYCLES
UNFOLLOWED = {382: "probing"}


def run_block(machine: Machine, block: Block) -> bool:
    """Do one line, and tell whether the program goes on: not after M2 or M30.

    Raises:
        Fault: the line breaks a rule; what comes before in the order has been done.
    """
    words, g, m = block.words, block.g, block.m
    motion = choose_motion(machine, block)
    if not PLAIN.issuperset(words):
        check_letters(block, motion)
    if machine.needed:
        note_unsaid(machine, block)
    more = len(g) > (MOTION in g)  # G words besides the motion
    if more:
        say_modes(machine, block)
    if "F" in words or machine.feed_mode == 93:
        set_feed(machine, block)
    if m or SPEED_MODE in g or not SPEAKING.isdisjoint(words):
        run_tool_and_spindle(machine, block)
    if more:
        set_modes(machine, block)
    move(machine, block, motion)
    return not stop(machine, block)


def note_unsaid(machine: Machine, block: Block) -> None:
    """Take what the line says off what must be said, and note at the first axis word whatever is still unsaid."""
    said = set(block.g) - {MOTION}
    machine.needed -= said | ({MOTION} if block.g.get(MOTION) == 800 else set())
    if TOOL_CHANGE in block.m:
        machine.needed.discard(CALL)
    if machine.needed and first_axis(block) >= 0:
        if groups := machine.needed - {CALL}:
            machine.notes.append(never_said(machine.line, sorted(groups)))
        if CALL in machine.needed and machine.selected is not None:
            machine.notes.append(not_called(machine.line, machine.selected))
        machine.needed = set()


def choose_motion(machine: Machine, block: Block) -> int | None:
    """Choose the motion that the line asks for, or None (NISTIR 6556, 3.3.5, 3.5.15)."""
    g, axes = block.g, not block.words.keys().isdisjoint(AXES)
    if axes and g.get(0) == 40 and machine.standard.dwell == "F":
        at = first_axis(block)
        given = word_at(block.text, at)
        raise Fault(at, "a dwell has an axis word", given, "G4 F1.5 (seconds)", "write the time with F")
    if MOTION in g:
        check_motion(block, axes=axes)
        return g[MOTION]
    if not axes or g.get(0) in AXIS_TAKERS:
        return None
    if machine.motion is None:
        what = "axis words stand before any motion word"
        fix = "write the motion word: what a control does without one depends on what ran before"
        raise Unsaid("motion", first_axis(block), what, allowed="G0, G1, G2 or G3 before", fix=fix)
    if machine.motion == 800:
        raise no_motion(block)
    return machine.motion


def check_motion(block: Block, *, axes: bool) -> None:
    """Check that the motion word of a line has the axis words of the line, and G80 has none (NISTIR 6556, 3.3.5)."""
    code, once = block.g[MOTION], block.g.get(0, -1)
    if code == 800:
        if axes and once not in AXIS_TAKERS:
            raise no_motion(block)
    elif once in AXIS_TAKERS:
        what, given = "two G words on a line that both take its axis words", f"{name_of(code)} and {name_of(once)}"
        raise Fault(block.g_at(0), what, given, "one of them", "write them on two lines")
    elif not axes:
        what = f"{name_of(code)} names no axis"
        raise Fault(block.g_at(MOTION), what, name_of(code), "X, Y or Z on the line", "name an axis")


def no_motion(block: Block) -> Fault:
    """Return the refusal of axis words while motion is cancelled."""
    what, given = "axis words stand where G80 has cancelled motion", word_at(block.text, first_axis(block))
    return Fault(first_axis(block), what, given, "G0, G1, G2, G3 or a cycle", "write the motion word")


TAKERS: dict[str, tuple[str, Callable[[int | None, Block], bool]]] = {
    "D": ("G41 and G42", lambda motion, block: block.g.get(COMPENSATION) in (410, 420)),
    "H": ("G43", lambda motion, block: block.g.get(LENGTH_OFFSET) == 430),
    "I": ("G2, G3 and G87", lambda motion, block: motion in CENTRE_TAKERS),
    "J": ("G2, G3 and G87", lambda motion, block: motion in CENTRE_TAKERS),
    "K": ("G2, G3, G33 and G87", lambda motion, block: motion in CENTRE_TAKERS or motion == THREAD),
    "L": ("G10 and cycles", lambda motion, block: motion in CYCLES or block.g.get(0) == 100),
    "P": ("G4, G10, G82, G86, G88 and G89", lambda motion, block: motion in DWELLING or block.g.get(0) in (40, 100)),
    "Q": ("G83", lambda motion, block: motion == 830),
    "R": ("G2, G3 and cycles", lambda motion, block: motion in R_TAKERS),
}


def check_letters(block: Block, motion: int | None) -> None:
    """Refuse a word that nothing on its line takes, such as I on a straight move (NISTIR 6556, 3.3.5)."""
    if motion in UNFOLLOWED:
        raise not_followed(block, motion)
    for letter in sorted(block.words.keys() - PLAIN, key=block.at.__getitem__):
        taken_by, takes = TAKERS[letter]
        if not takes(motion, block):
            what = f"{letter} stands on a line where nothing takes it"
            raise Fault(block.at[letter], what, block.word(letter), f"{letter} with {taken_by}", "take the word out")


def say_modes(machine: Machine, block: Block) -> None:
    """Set what acts before F and S: the feed mode, and in some standards units and speed mode too."""
    g, standard = block.g, machine.standard
    if FEED_MODE in g and g[FEED_MODE] != machine.feed_mode * 10:
        machine.feed_mode, machine.feed = g[FEED_MODE] // 10, None
        machine.remember()
    if UNITS in g and standard.modes_first:
        machine.set_mode(UNITS, g[UNITS])
    if SPEED_MODE in g and standard.modes_first and (g[SPEED_MODE] == 960) is not machine.surface:
        machine.surface, machine.speed = g[SPEED_MODE] == 960, None
        machine.rpm = machine.limit if machine.surface else 0.0
        machine.remember()


def set_feed(machine: Machine, block: Block) -> None:
    """Set F, in the units already in force, as it acts before G20 and G21 of its line (NISTIR 6556, Table 8)."""
    if block.g.get(0) == 40 and machine.standard.dwell == "F":
        return  # F is the time of a dwell there
    if "F" not in block.words:
        machine.feed = None  # under G93 it holds for its own line only
    else:
        at, value = block.at["F"], block.words["F"]
        if value < 0:
            raise Fault(at, "a feed is negative", block.word("F"), "F above 0")
        if not machine.feed_mode:
            raise Unsaid("feed mode", at, "F stands before G94 or G95", given=block.word("F"), fix="write G95 or G94")
        machine.feed = value if machine.feed_mode == 93 else value * machine.need_unit(at)
    machine.remember()


def run_tool_and_spindle(machine: Machine, block: Block) -> None:
    """Do S, T, M6 and M3, M4, M5, in that order."""
    words, m = block.words, block.m
    speaks = False
    if "S" in words:
        speaks = set_speed(machine, block)
    if "T" in words or TOOL_CHANGE in m:
        change_tool(machine, block)
    if SPINDLE in m:
        machine.spindle = {3: 1, 4: -1, 5: 0}[m[SPINDLE]]
        speaks = True
    machine.remember()
    if speaks or SPEED_MODE in block.g:
        check_speed(machine, block)
    if speaks:
        machine.mark("spindle")


def set_speed(machine: Machine, block: Block) -> bool:
    """Set S, and tell whether it commands the spindle (not where it is the limit set by G92 S)."""
    at, value = block.at["S"], block.words["S"]
    if value < 0:
        raise Fault(at, "a spindle speed is negative", block.word("S"), "S0 and above")
    if not machine.standard.speed_modes:
        machine.rpm = value
        return True
    if block.g.get(0) == 920:
        if first_axis(block) >= 0:
            allowed = "a speed limit or a position"
            raise Fault(at, "G92 has S and axis words", block.word("S"), allowed, "write them on two lines")
        machine.limit = value
        machine.rpm = value if machine.surface else machine.rpm
        return machine.surface is True
    if machine.surface is None:
        raise Unsaid("speed mode", at, "S stands before G96 or G97", given=block.word("S"), fix="write G97 (rev/min)")
    if machine.surface:
        unit = machine.need_unit(at)
        machine.speed = value * (MM_PER_FOOT / 1000 if unit == MM_PER_INCH else 1.0)
    else:
        machine.rpm = value
    return True


def check_speed(machine: Machine, block: Block) -> None:
    """Check that a spindle which turns has been given a speed in the mode in force."""
    if not machine.standard.speed_modes or not machine.spindle:
        return
    if machine.surface is None or (machine.speed is None if machine.surface else not machine.rpm):
        what, allowed = "the spindle turns and no speed is given for the mode in force", "G97 S... or G96 S..."
        raise Unsaid("speed mode", block.m_at(SPINDLE), what, allowed=allowed, fix="write G97 and S before M3")


def change_tool(machine: Machine, block: Block) -> None:
    """Do T and M6: by NISTIR 6556, 3.6.3 and 3.7.3, or in the turret's way of EIA-274-D texts."""
    if machine.standard.offset_digits:
        call_tool(machine, block)
        return
    if "T" in block.words:
        tool = whole(block.words["T"])
        if tool is None or tool < 0:
            raise Fault(block.at["T"], "there is no such tool", block.word("T"), "T0, T1, T2 ...")
        machine.selected = tool
    if TOOL_CHANGE in block.m:
        if machine.selected is None:
            what, allowed = "M6 stands before any T", "T before M6 or on its line"
            raise Unsaid("tool", block.m_at(TOOL_CHANGE), what, allowed=allowed, fix="write T and the tool's number")
        note_again(machine, machine.selected)
        if machine.one_zero and machine.selected != machine.tool:
            machine.at = NOWHERE
        machine.tool, machine.spindle = machine.selected, 0
        machine.remember()
        machine.mark("tool")


def note_again(machine: Machine, tool: int) -> None:
    """Note that a tool in use is called again, where the control wants that once a tool."""
    if machine.once and tool == machine.tool:
        machine.notes.append(called_again(machine.line, tool))


def call_tool(machine: Machine, block: Block) -> None:
    """Call a tool by T1 or T01 (tool only) or T0101 (tool and offset); T0100 takes the offset off."""
    if "T" in block.words:
        digits = block.word("T")[1:]
        if not digits.isdigit() or len(digits) not in (1, 2, 4):
            what, fix = "there is no such tool word", "write two digits for the tool and two for its offset"
            raise Fault(block.at["T"], what, block.word("T"), "T1, T01 or T0101", fix)
        tool, offset = (int(digits[:2]), int(digits[2:])) if len(digits) == 4 else (int(digits), 0)
        note_again(machine, tool)
        machine.at = NOWHERE if machine.one_zero and tool != machine.tool else machine.at
        offsets.tool_offset(machine, tool, offset)
    elif not machine.tool:
        raise Unsaid("tool", block.m_at(TOOL_CHANGE), "M6 stands before any T", fix="write T and the tool's number")
    if TOOL_CHANGE in block.m:
        machine.spindle = 0
    machine.remember()
    machine.mark("tool")


def set_modes(machine: Machine, block: Block) -> None:
    """Do steps 10 to 19: dwell, plane, units, offsets, work system, distance mode, return level, what acts once."""
    g = block.g
    if g.get(0) == 40:
        dwell(machine, block)
    steps = g.get(DISTANCE) == 910 and machine.incremental is False and machine.motions
    for group in g.keys() & {PLANE, UNITS, DISTANCE, RETRACT}:
        machine.set_mode(group, g[group])
    if g.get(COMPENSATION, 400) != 400:
        refuse_compensation(machine, block)
    if LENGTH_OFFSET in g:
        offsets.length_offset(machine, block)
    if SYSTEM in g:
        offsets.choose_system(machine, g[SYSTEM])
    if steps:
        machine.notes.append(steps_begin(machine.line))
    machine.remember()
    if g.get(0) in ONCE:
        ONCE[g[0]](machine, block)


def dwell(machine: Machine, block: Block) -> None:
    """Do G4: seconds by P (NISTIR 6556, 3.5.4), or by F in EIA-274-D texts (DIN 66025 practice, from memory)."""
    letter = machine.standard.dwell
    if letter not in block.words:
        raise Fault(block.g_at(0), "a dwell has no time", "G4", f"G4 {letter}1.5 (seconds)", f"write {letter}")
    if block.words[letter] < 0:
        raise Fault(block.at[letter], "a dwell is negative", block.word(letter), f"{letter}0 and above")
    machine.mark("dwell", block.words[letter])


def refuse_compensation(machine: Machine, block: Block) -> None:
    """Refuse G41 and G42: only in the XY plane by NISTIR 6556 (3.5.10, B.5), and not followed by this reader there."""
    given = name_of(block.g[COMPENSATION])
    if machine.standard.compensation_plane not in (0, machine.plane):
        what, fix = "radius compensation outside the XY plane", "offset the path for the nose radius itself"
    else:
        what, fix = "radius compensation is not followed by this reader", "write the path of the programmed point"
    raise Fault(block.g_at(COMPENSATION), what, given, "G40", fix)


def run_g92(machine: Machine, block: Block) -> None:
    """Do G92 with axis words; the speed limit of EIA-274-D texts has been set by S already."""
    if not machine.standard.speed_modes or "S" not in block.words:
        offsets.preset_position(machine, block)


ONCE: dict[int, Callable[[Machine, Block], None]] = {
    100: offsets.set_origin,
    280: offsets.go_home,
    300: offsets.go_home,
    920: run_g92,
    921: offsets.cancel_preset,
    922: offsets.cancel_preset,
    923: offsets.restore_preset,
}
MOVES: dict[int | None, Callable[[Machine, Block], None]] = {
    0: rapid, 10: line, 20: partial(arc, turn=-1), 30: partial(arc, turn=1), THREAD: thread
}  # fmt: skip


def move(machine: Machine, block: Block, motion: int | None) -> None:
    """Do step 20: the motion, with G53 if it is there; nothing where the line has neither."""
    if motion is not None and motion != machine.motion:
        machine.sticky = {}
        machine.motion = motion
    if 0 in block.g and block.g[0] == 530:
        machine_move(machine, block, motion)
    elif act := MOVES.get(motion):
        act(machine, block)
    elif motion in CYCLES:
        run_cycle(machine, block, motion)
    elif motion in UNFOLLOWED:
        raise not_followed(block, motion)


def not_followed(block: Block, motion: int) -> Fault:
    """Return the refusal of a motion that cuts, or touches, in a way that cannot be judged from the text."""
    what, given, allowed = f"{UNFOLLOWED[motion]} is not followed by this reader", name_of(motion), "G0, G1, G2, G3"
    return Fault(block.motion_at(), what, given, allowed, "take it out of the program, and do it at the machine")


def stop(machine: Machine, block: Block) -> bool:
    """Do step 21: M0, M1, M60 (NISTIR 6556, 3.6.1), M2 and M30; tell whether the program ends.

    A line without any of them goes on. M2 and M30 stop the spindle. In EIA-274-D texts so does M0, and M1 where the
    operator has it on (from memory of that standard's definitions), so that a cut after either must start the spindle
    again.
    """
    code = block.m.get(STOPPING)
    if code is None:
        return False
    if code in (2, 30):
        machine.spindle = 0
        machine.remember()
        machine.mark("end")
        return True
    machine.mark("optional stop" if code == 1 else "stop")
    if machine.standard.stop_stops_spindle:
        machine.spindle = 0
        machine.remember()
    return False
