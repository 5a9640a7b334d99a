"""A program begun at a pass: the control then knows only what the lines from that pass's N line on tell it.

The passes before are done, so their motions come first; nothing that they said of tool, belt, spindle or modes
counts. A tool counts as called, or as in its post, where words below the N line say so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import takewhile

from cam.ground.frozen import Row
from cam.ground.problem import ProblemError, problem_at
from cam.rs274.halts import plain
from cam.rs274.model import MOVING, Motion, Position, Program, Rules
from cam.rs274.notes import COMMENT, lines_in
from cam.rs274.read import read_program

NUMBERED = re.compile(r"\s*[Nn][0-9]")
PASS = re.compile(r"(?i)\W*PASS (\d+) OF\b")
IN_PLACE = re.compile(r"\bTOOL ([0-9]{1,2}) IN THE (?:POST|SPINDLE)( AND CALLED)?\b")
RUN_ON = re.compile(r"\A(?:\.\. | {2})")
"""The beginning of a comment that goes on from the one before."""


class Begun(Row):
    """A program as it is when it is begun at a pass.

    Attributes:
        program: the motions of the passes before, then those from the N line on.
        first: number of the first of these. line: line of the N word.
        said: comments from the N line to the first move, each complete even if it runs on over lines.
        reground: whether its tool was ground, so that its zero is set anew there.
    """

    program: Program
    first: int
    line: int
    said: tuple[str, ...]
    reground: bool = False

    @property
    def words(self) -> str:
        """Return what is said there, as plain words."""
        return f" {plain(' '.join(self.said))} "

    @property
    def rest(self) -> Program:
        """Return what is run, by itself."""
        comments = tuple(c for c in self.program.comments if c[0] >= self.line)
        return replace(self.program, motions=self.program.motions[self.first :], comments=comments)


def begin_at(text: str, rules: Rules, path: str, number: int) -> Begun:
    """Read a program as it is begun at a pass.

    Args:
        rules: where they are a lathe's the tool stands, by hand, where it does at every stop; the work of a mill
            stands as the words below the N line say.
        number: number of the pass, by which the text names it ("pass 12 of 23") before its N line.
    Raises:
        ProblemError: the text names no such pass, or the pass begins on a line without an N word.
    """
    lines = lines_in(text)
    line = _line_of(lines, number, path)
    said = tuple(_said(lines[line - 1 :]))
    whole = read_program(text, rules, path)
    begun = read_program(_from_line(lines, line), replace(rules, in_use=_in_use(said, rules)), path)
    before = [m for m in whole.motions if m.line < line]
    after = begun.motions if rules.turns else _from_stop(before, begun.motions)
    turns = (*(t for t in whole.turns if t.line < line), *begun.turns)
    problems = (*(p for p in whole.problems if p.where.line < line), *begun.problems)
    program = replace(begun, motions=(*before, *after), problems=tuple(sorted(set(problems))), turns=turns)
    return Begun(program, len(before), line, said)


def _in_use(said: tuple[str, ...], rules: Rules) -> int:
    """Return the number of the tool that words below an N line say is in use; 0 for none."""
    tool = IN_PLACE.search(plain(" ".join(said)))
    return int(tool[1]) if tool and (tool[2] or rules.by_stop) else 0


def _from_line(lines: list[str], line: int) -> str:
    """Return a text of which the passes before a line are empty: its head stays."""
    head = next((k for k, row in enumerate(lines) if COMMENT.sub("", row).strip(" \t%")), 0)
    return "\n".join(["" if head <= k < line - 1 else row for k, row in enumerate(lines)])


def _line_of(lines: list[str], number: int, path: str) -> int:
    """Find the N line of a pass, counted from 1."""
    named = [(m[1], k) for k, row in enumerate(lines) for c in COMMENT.findall(row) if (m := PASS.match(c))]
    at = dict(reversed(named)).get(str(number))
    if at is None:
        allowed = f"{named[0][0]} to {named[-1][0]}" if named else 'a text whose comments say "pass 1 of 23"'
        given = f"--from-pass {number}"
        raise ProblemError([problem_at(path, 0, "the program names no such pass", given, allowed)])
    line = next((k for k in range(at, len(lines)) if COMMENT.sub("", lines[k]).strip()), at)
    if not NUMBERED.match(lines[line]):
        what = f"pass {number} begins on a line without an N word: no control can be told to begin there"
        raise ProblemError([problem_at(path, line + 1, what, lines[line], fix="number that line")])
    return line + 1


def _said(lines: list[str]) -> Iterator[str]:
    """Yield the comments up to the first axis word; those that run on are put together."""
    whole = ""
    for row in lines:
        if re.search(r"[XYZA][-+.0-9]", COMMENT.sub("", row).replace(" ", ""), re.IGNORECASE):
            break
        for comment in COMMENT.findall(row):
            if more := RUN_ON.match(comment):
                whole += f" {comment[more.end() :]}"
            else:
                yield from [whole] * bool(whole)
                whole = comment
    yield from [whole] * bool(whole)


def _from_stop(before: list[Motion], after: tuple[Motion, ...]) -> Iterator[Motion]:
    """Yield the motions with their starting place known: by hand the tool is where it stands at every stop."""
    stops = [m.end for m in before if m.kind == "stop" and not math.isnan(m.end.x)]
    same = list(takewhile(lambda m: m.kind != "tool" or m.tool == before[-1].tool, after)) if stops else []
    known = [False, False, False]
    for motion in same:
        stand = max(reversed(stops), key=lambda place: place.x)  # not where a slip was tried
        start = _filled(motion.start, stand, known)
        if motion.kind in MOVING:
            known = [old or not math.isnan(v) for old, v in zip(known, motion.end, strict=True)]
        yield motion._replace(start=start, end=_filled(motion.end, stand, known))
    yield from after[len(same) :]


def _filled(place: Position, stand: Position, known: list[bool]) -> Position:
    """Return a place; whatever was not said of it is taken from where the tool stands."""
    return Position(*(s if math.isnan(v) and not k else v for v, s, k in zip(place, stand, known, strict=True)))
