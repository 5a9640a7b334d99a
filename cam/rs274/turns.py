"""Read the lines of a mill's program that turn the work.

The reader follows X, Y and Z. A rotary axis about X is followed here, in the one form that needs no
judgement of what happens on the way: A alone on its line, with G0, a plain number of degrees, under G90. Such lines
are taken out before the reader sees the text; everything else, an A anywhere else included, is left to it.

An indexing stop by hand is a stop (M0) before which a comment says "TURN THE WORK TO 180 DEG".
"""

from __future__ import annotations

import re
from dataclasses import replace

from cam.ground.problem import Problem, Where
from cam.rs274.fault import ROTARY
from cam.rs274.model import Motion, Program, Rules, Turn
from cam.rs274.tables import find_standard

MOVING = ("rapid", "line", "arc")
MOST_DEGREES = 36_000.0

_NUMBER = r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))"
_TURN = re.compile(rf"(?:N[0-9]{{1,5}})?(?:G0?0A{_NUMBER}|A{_NUMBER}G0?0)")
_COMMENT = re.compile(r"\([^()]*\)")
_MOTION_WORD = re.compile(r"G0*(?:[0-3]|8[0-9])(?![0-9.])")
_BY_HAND = re.compile(rf"(?:\s*MSG\s*,|-)?\s*TURN THE WORK TO {_NUMBER} DEG", re.IGNORECASE)
"""The words of a turn, as shown or as listed, at the head of a comment alone: further on they may be somebody's name
for a thing."""
STANDS = re.compile(r" WORK STANDS AT ([0-9.]+) DEG ")
"""The words that tell, below an N line, how the work stands, for a person who starts there."""


def take_turns(text: str, rules: Rules) -> tuple[str, list[str], dict[int, float]]:
    """Return the text without the lines that turn the work, every line bare of comments, and line -> angle."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    bare = [_bare(line, rules) for line in lines]
    found: dict[int, float] = {}
    for number, plain in enumerate(bare, 1):
        if match := _TURN.fullmatch(plain):
            found[number] = float(match[1] or match[2])
            lines[number - 1] = ""
    return "\n".join(lines), bare, found


def with_turns(program: Program, bare: list[str], found: dict[int, float], path: str) -> Program:
    """Return a program with its turns and what is wrong with them.

    Args:
        program: read from the text without them. bare, found: as take_turns returns them.
    """
    last = next((m.line for m in program.motions if m.kind == "end"), len(bare))
    words = {line: angle for line, angle in found.items() if line < last}
    problems = [_reworded(p) for p in program.problems]
    problems += _check_turns(program, words, bare, path)
    turns = [Turn(line, angle, False) for line, angle in words.items()]
    turns += _turns_by_hand(program, path, problems)
    return replace(program, problems=tuple(sorted(set(problems))), turns=tuple(sorted(turns)))


def _bare(line: str, rules: Rules) -> str:
    """Return the line without comments and spaces, in capitals where the standard does not mind."""
    plain = _COMMENT.sub("", line).replace(" ", "").replace("\t", "")
    return plain.upper() if find_standard(rules.standard).small_letters and plain.isascii() else plain


def _reworded(problem: Problem) -> Problem:
    """Reword the reader's refusal of a rotary word for a machine that may have that axis."""
    if problem.kind != ROTARY:
        return problem
    return Problem(
        where=problem.where, what="a rotary axis is moved together with something else", given=problem.given,
        allowed='A alone on its line: "G0 A90."', fix="turn the work on a line of its own, the cutter clear of it",
    )  # fmt: skip


def _check_turns(program: Program, turns: dict[int, float], bare: list[str], path: str) -> list[Problem]:
    """Check what a turn by A must keep to: G90, a sane angle, and a motion word on the next line that moves."""
    wrong = []
    steps = next((n for n, plain in enumerate(bare, 1) if re.search(r"G91(?![0-9.])", plain)), None)
    for line, angle in turns.items():
        where = Where(path=path, line=line)
        if steps is not None:
            wrong.append(Problem(where=where, what="A is followed in a program without G91 only", given="G91",
                                 allowed="G90", fix=f"write places, not steps (line {steps})"))  # fmt: skip
        if abs(angle) > MOST_DEGREES:
            wrong.append(Problem(where=where, what="this angle cannot be meant", given=f"A{angle:g}",
                                 allowed="0 to 360 degrees"))  # fmt: skip
        after = next((m.line for m in program.motions if m.line > line and m.kind in MOVING), None)
        if after is not None and not _MOTION_WORD.search(bare[after - 1]):
            wrong.append(
                Problem(
                    where=Where(path=path, line=after),
                    what="the first move after the work was turned has no motion word",
                    given=bare[after - 1], allowed="G0 or G1 on that line",
                    fix="write it: the G0 of the turn would hold on",
                )
            )  # fmt: skip
    return wrong


def _turns_by_hand(program: Program, path: str, problems: list[Problem]) -> list[Turn]:
    """Find each stop's turn: its words stand in a comment since the move before, up to the stop's own line."""
    said = [(line, float(m[1])) for line, text in program.comments if (m := _BY_HAND.match(text))]
    turns, since = [], 0
    for motion in program.motions:
        if motion.kind == "stop":
            told = [angle for line, angle in said if since <= line <= motion.line]
            if told:
                turns.append(Turn(motion.line, told[-1], True))
                said = [(line, angle) for line, angle in said if line > motion.line]
            if len(set(told)) > 1:
                problems.append(_told_twice(motion, path))
        elif motion.kind in MOVING:
            since = motion.line + 1
            lost = [line for line, _ in said if line < motion.line]
            problems += [
                Problem(where=Where(path=path, line=line), what="the work is to be turned, and no stop follows",
                        allowed="M0 after the words", fix="write M0 before the next move")
                for line in lost
            ]  # fmt: skip
            said = [(line, angle) for line, angle in said if line >= motion.line]
    return turns


def _told_twice(motion: Motion, path: str) -> Problem:
    return Problem(
        where=Where(path=path, line=motion.line), what="two angles are told for one stop", allowed="one angle to a stop"
    )
