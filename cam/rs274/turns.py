"""Read the lines of a mill's program that turn the work.

The reader follows X, Y and Z. A rotary axis about X is followed here, in the one form that needs no
judgement of what happens on the way: A alone on its line, with G0, a plain number of degrees, under G90. Such lines
are taken out before the reader sees the text; everything else, an A anywhere else included, is left to it.

An indexing stop by hand is a stop (M0) before which a comment says "TURN THE WORK TO 180 DEG".
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import replace

from cam.ground.problem import Problem, problem_at
from cam.rs274.fault import ROTARY
from cam.rs274.model import MOVING, Program, Rules, Turn
from cam.rs274.notes import COMMENT, lines_in
from cam.rs274.tables import find_standard

MOST_DEGREES = 36_000.0
_NUMBER = r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))"
_TURN = re.compile(rf"(?:N[0-9]{{1,5}})?(?:G0?0A{_NUMBER}|A{_NUMBER}G0?0)")
_MOTION_WORD = re.compile(r"G0*(?:[0-3]|8[0-9])(?![0-9.])")
_BY_HAND = re.compile(rf"(?:\s*MSG\s*,|-)?\s*TURN THE WORK TO {_NUMBER} DEG", re.IGNORECASE)
"""The words of a turn, as shown or as listed, at the head of a comment alone: further on they may be somebody's name
for a thing."""
STANDS = re.compile(r" WORK STANDS AT ([0-9.]+) DEG ")
"""The words that tell, below an N line, how the work stands, for a person who starts there."""


def take_turns(text: str, rules: Rules) -> tuple[str, list[str], dict[int, float]]:
    """Return the text without the lines that turn the work, every line bare of comments, and line -> angle."""
    lines = lines_in(text)
    bare = [_bare(line, rules) for line in lines]
    found: dict[int, float] = {}
    for number, plain in enumerate(bare, 1):
        if match := _TURN.fullmatch(plain):
            found[number] = float(match[1] or match[2])
            lines[number - 1] = ""
    return "\n".join(lines), bare, found


def with_turns(program: Program, bare: list[str], found: dict[int, float], path: str) -> Program:
    """Return a program, read from the text without its turns, with them and what is wrong with them; see take_turns."""
    last = next((m.line for m in program.motions if m.kind == "end"), len(bare))
    words = {line: angle for line, angle in found.items() if line < last}
    problems = [_reworded(p) for p in program.problems]
    problems += _check_turns(program, words, bare, path)
    turns = [Turn(line, angle, False) for line, angle in words.items()]
    turns += _turns_by_hand(program, path, problems)
    return replace(program, problems=tuple(sorted(set(problems))), turns=tuple(sorted(turns)))


def _bare(line: str, rules: Rules) -> str:
    """Return the line without comments and spaces, in capitals where the standard does not mind."""
    plain = COMMENT.sub("", line).replace(" ", "").replace("\t", "")
    return plain.upper() if find_standard(rules.standard).small_letters and plain.isascii() else plain


def _reworded(problem: Problem) -> Problem:
    """Reword the reader's refusal of a rotary word for a machine that may have that axis."""
    if problem.kind != ROTARY:
        return problem
    what, fix = "a rotary axis is moved together with something else", "turn the work on a line of its own"
    allowed = 'A alone on its line: "G0 A90."'
    return replace(problem, what=what, allowed=allowed, fix=f"{fix}, the cutter clear of it", kind="")


def _check_turns(program: Program, turns: dict[int, float], bare: list[str], path: str) -> Iterator[Problem]:
    """Check what a turn by A must keep to: G90, a sane angle, and a motion word on the next line that moves."""
    steps = next((n for n, plain in enumerate(bare, 1) if re.search(r"G91(?![0-9.])", plain)), None)
    moves = [m.line for m in program.motions if m.kind in MOVING]
    for line, angle in turns.items():
        if steps is not None:
            fix = f"write places, not steps (line {steps})"
            yield problem_at(path, line, "A is followed in a program without G91 only", "G91", "G90", fix)
        if abs(angle) > MOST_DEGREES:
            yield problem_at(path, line, "this angle cannot be meant", f"A{angle:g}", "0 to 360 degrees")
        for after in moves[bisect_right(moves, line) :][:1]:
            if not _MOTION_WORD.search(bare[after - 1]):
                what = "the first move after the work was turned has no motion word"
                fix = "write it: the G0 of the turn would hold on"
                yield problem_at(path, after, what, bare[after - 1], "G0 or G1 on that line", fix)


def _turns_by_hand(program: Program, path: str, problems: list[Problem]) -> list[Turn]:
    """Find each stop's turn: its words stand in a comment since the move before, up to the stop's own line."""
    said = [(line, float(m[1])) for line, text in program.comments if (m := _BY_HAND.match(text))]
    turns, since = [], 0
    for motion in program.motions:
        line = motion.line
        if motion.kind == "stop":
            first, end = bisect_left(said, (since,)), bisect_left(said, (line + 1,))
            told = {angle for _, angle in said[first:end]}
            if told:
                turns.append(Turn(line, said[end - 1][1], True))
                said = said[end:]
            if len(told) > 1:
                problems.append(problem_at(path, line, "two angles are told for one stop", "", "one angle to a stop"))
        elif motion.kind in MOVING:
            since, lost = line + 1, bisect_left(said, (line,))
            what, fix = "the work is to be turned, and no stop follows", "write M0 before the next move"
            problems += [problem_at(path, at, what, "", "M0 after the words", fix) for at, _ in said[:lost]]
            said = said[lost:]
    return turns
