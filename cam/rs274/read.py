"""Read a program by its standard's own rules, strictly: what is not allowed is refused.

Form of a text, NISTIR 6556 (3.1): a line of % alone before all others must have a fellow, after which nothing is read;
without it the program must hold M2 or M30. Lines behind M2 or M30 are not read. EIA-274-D and ISO 6983-1 (from memory):
the text begins with a line of %, and holds M2 or M30. A line holds up to 256 characters (NISTIR 6556, 3.3; taken for
EIA-274-D too). Lines end by CR, LF or both.

Followed of NISTIR 6556: its whole language but for rotary axes, which no machine here has. Refused as not followed:
probing (G38.2), radius compensation (G41, G42; outside the XY plane an error of the text itself), writing the
control's own parameters, and shifts of a datum by an amount that the text does not tell. Followed of EIA-274-D: N G X
Y Z I J K F S T M, with R and Q in cycles; G0-G4, G17-G19, G33 along Z, G40, G70, G71, G80, G81, G83, G85, G90-G92,
G94-G97; M0-M9, M30. Refused as not followed: tapered threads, other cycles, radius compensation. What neither text
holds is not judged here: tool tables, the number of tools, travel limits, what stands in the way.

A text must say for itself what a control keeps from the program before: see Machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from cam.ground.problem import Problem, Where, problem, problem_at
from cam.ground.units import MM_PER_INCH
from cam.rs274.execute import run_block
from cam.rs274.fault import KINDS, Fault, Unsaid
from cam.rs274.fault import Kind as Missing
from cam.rs274.model import MOVING, Program, Rules
from cam.rs274.moves import AXES
from cam.rs274.notes import CALL, COMMENT, after_the_end, lines_in, may_be_left_out, standing_words
from cam.rs274.state import NOWHERE, Machine
from cam.rs274.tables import (
    DISTANCE,
    FEED_MODE,
    MOTION,
    PLANE,
    RETRACT,
    SPEED_MODE,
    SPINDLE,
    STOPPING,
    SYSTEM,
    UNITS,
    find_standard,
)
from cam.rs274.turns import take_turns, with_turns
from cam.rs274.words import Block, read_block

LONGEST = 256
MOST_PROBLEMS = 200
ANY = 1.0
"""A speed or feed where the text should have said one: no motion that has it is kept."""
MOUNTS = re.compile(r"\bMOUNT TOOL ([0-9]{1,2})\b", re.IGNORECASE)
"""The words of a stop that changes the tool by its words alone."""
OTHERWISE = (
    "which means something else to this control (leave_out in the shop file)",
    "leave it out: the head says what stands",
)
BY_STOP = "and this control has none (tool_change in the shop file)", 'take it out, and say "mount tool 2" at a stop'
CAPITALS = {small: small - 32 for small in range(ord("a"), ord("z") + 1)}


def read_program(text: str, rules: Rules, path: str = "program", *, block_delete: bool = False) -> Program:
    """Read a program text; every rule that it breaks is among the problems, and nothing is raised.

    Args:
        text: the complete text. rules: the standard that it is written by, and what its X words are.
        path: as the user named the file, for the problems.
        block_delete: whether the control's switch that passes over lines beginning with / is on.

    Motions end before the first line with a problem. After 200 problems the rest is not read.
    """
    if rules.turns:
        text, bare, found = take_turns(text, rules)
        program = read_program(text, replace(rules, turns=False), path, block_delete=block_delete)
        return with_turns(program, bare, found, path)
    reader = _ProgramReader(text, rules, path, block_delete)
    program = reader.read()
    strange = (*reader.other(), *reader.wide())
    return replace(program, problems=(*program.problems, *strange)) if strange else program


class _ProgramReader:
    """One reading of one text."""

    def __init__(self, text: str, rules: Rules, path: str, block_delete: bool) -> None:
        self.standard = find_standard(rules.standard)
        self.machine = Machine(rules, self.standard)
        self.path = path
        self.passed_over = "/" if block_delete else ""
        self.raw = lines_in(text)
        if self.raw[-1] == "":
            self.raw.pop()
        bare = "\n".join(self.raw).replace(" ", "").replace("\t", "")
        if self.standard.small_letters:
            bare = bare.upper() if bare.isascii() else bare.translate(CAPITALS)
        self.lines = bare.split("\n")[: len(self.raw)]
        self.long = max(map(len, self.raw), default=0) > LONGEST
        """Whether any line is too long."""
        for word in standing_words(self.raw, rules.stands):
            take_standing(self.machine, word)
        self.problems: list[Problem] = []
        self.rules = rules
        self.good: int | None = None
        """How many motions stand before the first line with a problem; None while there is none."""

    def other(self) -> Iterator[Problem]:
        """Report each word that this control does not take as it is meant, at the first line that says it."""
        strange = [(word, rf"{word[0]}0*{word[1:]}(?![0-9.])", OTHERWISE) for word in self.rules.other]
        strange += [("a tool word", r"T[0-9]|M0*6(?![0-9.])", BY_STOP)] if self.rules.by_stop else []
        for word, pattern, (why, fix) in strange:
            said = re.compile(pattern, re.IGNORECASE)
            for number, line in enumerate(self.lines, 1):
                if said.search(COMMENT.sub("", line)):
                    yield problem_at(self.path, number, f"says {word}, {why}", line[:60], fix=fix)
                    break

    def wide(self) -> Iterator[Problem]:
        """Report the first comment that is longer than this control takes."""
        most = self.rules.comment_width
        for number, raw in enumerate(self.raw if most else (), 1):
            if any(len(text) > most for text in COMMENT.findall(raw)):
                what = f"a comment is longer than the {most} characters that this control takes (comment_width)"
                yield problem_at(self.path, number, what, raw[:60], fix="break it")
                break

    def read(self) -> Program:
        """Read the complete text."""
        first, marked = self.begin()
        last, ended = self.read_lines(first, marked)
        if len(self.problems) >= MOST_PROBLEMS:
            what = "there are too many problems: the lines after this one are not read"
            self.report(last, 0, Fault(-1, what, f"{len(self.problems)}", "", "fix these first"))
        else:
            self.check_end(last, ended, marked)
            self.note_unsure(first, last)
        return Program(
            motions=tuple(self.machine.motions[: self.good]), problems=tuple(sorted(set(self.problems))),
            lines=len(self.raw), comments=tuple(self.comments(first, last)), standard=self.standard.name,
            notes=tuple(sorted(self.machine.notes)), unit="in" if self.machine.unit == MM_PER_INCH else "mm",
        )  # fmt: skip

    def read_lines(self, first: int, marked: bool) -> tuple[int, bool]:
        """Read the lines from an index on; return the number of the last that was read, and whether it is the end."""
        last, ended = first, False
        for number, line in enumerate(self.lines[first:], first + 1):
            if line == "%" and (marked or not self.standard.mark_ends):
                break
            if not line or line[0] == self.passed_over:
                continue
            last, ended = number, not self.read_line(number, line)
            if ended or len(self.problems) >= MOST_PROBLEMS:
                break
        return last, ended

    def begin(self) -> tuple[int, bool]:
        """Return the index of the line after the opening %, and whether there is one."""
        first = next((i for i, line in enumerate(self.lines) if line), len(self.lines))
        if first < len(self.lines) and self.lines[first] == "%":
            return first + 1, True
        if self.standard.mark_first:
            fault = Fault(-1, "the program does not begin with %", "", "a line of % alone", "write it")
            self.report(min(first + 1, len(self.raw)), 0, fault)
        return first, False

    def read_line(self, number: int, line: str) -> bool:
        """Read and do one line; tell whether the program goes on."""
        machine = self.machine
        machine.line = number
        faults: list[Fault] = []
        if self.long and len(self.raw[number - 1]) > LONGEST:
            given = f"{len(self.raw[number - 1])} characters"
            faults.append(Fault(-1, "a line is too long", given, f"{LONGEST} at most", "write it on two lines"))
            block = Block(line)
        else:
            block = read_block(line, self.standard, machine.parameters, faults)
        if faults:
            goes_on = self.go_on_after(faults, block, unread=True)
        else:
            try:
                goes_on = run_block(machine, block)
            except Fault as fault:
                goes_on = self.go_on_after([fault], block, unread=False)
        if block.settings:
            machine.parameters.update(block.settings)
        if self.rules.by_stop and STOPPING in block.m:
            self.heed_stop(number)
        return goes_on

    def heed_stop(self, number: int) -> None:
        """Take the tool that the words of a stop name as the one in the post from there on."""
        machine = self.machine
        since = next((m.line for m in reversed(machine.motions) if m.kind in MOVING), 0)
        words = " ".join(text for raw in self.raw[since:number] for text in COMMENT.findall(raw))
        if named := MOUNTS.search(words):
            machine.tool = int(named[1])
            machine.at = NOWHERE if self.rules.one_zero else machine.at
            machine.needed.discard(CALL)
            machine.remember()
            machine.mark("tool")

    def go_on_after(self, faults: list[Fault], block: Block, *, unread: bool) -> bool:
        """Report a line's faults, drop its motions, and set the state as far as the line tells it."""
        machine = self.machine
        while machine.motions and machine.motions[-1].line == machine.line:
            machine.motions.pop()
        if self.good is None:
            self.good = len(machine.motions)
        for fault in faults:
            if isinstance(fault, Unsaid):
                assume(machine, fault.kind)
                if fault.kind in machine.excused:
                    continue
                machine.excused.add(fault.kind)
            self.report(machine.line, self.column(fault.at), fault)
        machine.excused.update(KINDS if unread else ("place",))
        if unread:
            machine.needed = set()
        recover(machine, block, unread=unread)
        return block.m.get(STOPPING) not in (2, 30)

    def column(self, at: int) -> int:
        """Return the column of an index into the line without spaces, counted from 1; 0 for the line as a whole."""
        if at < 0:
            return 0
        raw = self.raw[self.machine.line - 1]
        places = [i for i, sign in enumerate(raw) if sign not in " \t"]
        return places[at] + 1 if at < len(places) else len(raw.rstrip()) + 1

    def report(self, line: int, column: int, fault: Fault) -> None:
        """Make a problem of a fault."""
        where = Where(path=self.path, line=line, column=column)
        self.problems.append(problem(where, fault.what, fault.given, fault.allowed, fault.fix, fault.label))

    def note_unsure(self, first: int, last: int) -> None:
        """Note the lines that may or will not be run; last: number of the last that was read."""
        slashed = [n for n, line in enumerate(self.lines[first:last], first + 1) if line.startswith("/")]
        below = [n for n, line in enumerate(self.lines[last:], last + 1) if COMMENT.sub("", line).strip("%")]
        if slashed and not self.passed_over:
            self.machine.notes.append(may_be_left_out(slashed))
        if below:
            self.machine.notes.append(after_the_end(last, below))

    def check_end(self, read: int, ended: bool, marked: bool) -> None:
        """Check that the program ends as its standard says; read: number of the last line that was read."""
        last = len(self.raw)
        if not any(self.lines):
            fault = Fault(-1, "the program is empty", "", "a program", "see that this is the right file")
            self.report(min(1, last), 0, fault)
        elif not ended and not (marked and self.standard.mark_ends):
            allowed = "M2 or M30" + (", or % on the first and last lines" if self.standard.mark_ends else "")
            self.report(last, 0, Fault(-1, "the program has no end", "", allowed, "write M2 as the last line"))
        if marked and "%" not in self.lines[read:] and self.standard.mark_last:
            what = "the sign % opens the program and does not close it"
            fault = Fault(-1, what, "", "% on the last line", "write it")
            self.report(last, 0, fault)

    def comments(self, first: int, last: int) -> list[tuple[int, str]]:
        """Return every comment of the lines that were read."""
        lines = enumerate(self.raw[first:last], first + 1)
        return [(number, text) for number, raw in lines if "(" in raw for text in COMMENT.findall(raw)]


USUAL = {
    "units": (UNITS, 210), "distance": (DISTANCE, 900), "plane": (PLANE, 180), "feed mode": (FEED_MODE, 950),
    "speed mode": (SPEED_MODE, 970), "retract": (RETRACT, 980),
}  # fmt: skip
"""The modal group and the G word that is usual for what a text has not said."""


def assume(machine: Machine, kind: Missing) -> None:
    """Assume the usual for what the text has not said, so that further faults are found; no more motions are kept."""
    if kind in USUAL:
        machine.set_mode(*USUAL[kind])
    if kind == "speed mode":
        machine.rpm = ANY
    elif kind == "feed":
        machine.feed = ANY
    elif kind == "tool":
        machine.selected = machine.tool = 1


def take_standing(machine: Machine, word: str) -> None:
    """Take as said the modes the control is known to be in; a word that the standard does not have says nothing."""
    known = machine.standard.g.get(float(word[1:]))
    if known is not None:
        code, group = known
        machine.needed.discard(group)
        machine.set_mode(group, code)
        machine.remember()


def recover(machine: Machine, block: Block, *, unread: bool) -> None:
    """Go on after a line with a fault: take what its words say of the state, and forget any place that is in doubt."""
    words, g = block.words, block.g
    for group, code in g.items():
        machine.set_mode(group, code)
    if MOTION in g:
        machine.motion, machine.sticky = g[MOTION], {}
    machine.feed = abs(words.get("F", 0.0)) or machine.feed
    if "S" in words:
        machine.rpm = machine.speed = abs(words["S"]) or machine.rpm
    if "T" in words:
        machine.selected = machine.tool = 1
    machine.spindle = {3: 1, 4: -1}.get(block.m.get(SPINDLE, 0), machine.spindle)
    machine.forget(AXES if unread or SYSTEM in g or "T" in words else words)
    machine.remember()
