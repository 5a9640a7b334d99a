"""The stops of a program, each with the words that a person reads there, and the words of stops that never come.

A stop is a line with M0. What it is for stands in the comments between it and the motion or the stop before it.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import takewhile

from cam.ground.frozen import Row
from cam.ground.letters import in_ascii
from cam.rs274.model import MOVING, Program
from cam.rs274.notes import lines_in

STOPPED_OR_MOVING = MOVING | {"stop", "end"}
ANNOUNCES = re.compile(r"STOP\b|\s*MSG\s*,|.*\bTHEN GO ON\W*$", re.IGNORECASE)
"""Comments that promise a stop: shown to the operator, or bidding a person to stop or go on. A line that goes on from
the one before begins with spaces, and its first word may be any."""
SHOWN = re.compile(r"\s*MSG\s*,\s*(.*?)\s*\Z", re.IGNORECASE)
ENDS = re.compile(r".*\bTHEN GO ON\W*$", re.IGNORECASE)
BEGINS = re.compile(r"STOP\b", re.IGNORECASE)
BEGUN = re.compile(r"BEGUN HERE\b", re.IGNORECASE)
"""The words on what stands already, for a person who begins a program at a pass; they belong to no stop."""
NUMBERED = re.compile(r"N[0-9]+")
NEITHER = re.compile(r"[^A-Z0-9.]+|\.(?![0-9])")


class Halt(Row):
    """A stop of a program.

    Attributes:
        number: number of the motion. line: line of the text. spindle: as in Motion, while the program stands.
        words: words of the comments before it, as plain makes them. said: the comments as they stand, those that run
            on put together.
    """

    number: int
    line: int
    spindle: int
    words: str
    said: tuple[str, ...] = ()

    def names(self, *names: str) -> bool:
        """Tell whether its words name any of these, as whole words."""
        return any(bare and f" {bare} " in self.words for bare in map(plain, names))


def plain(text: str) -> str:
    """Return words and numbers alone, in capitals, one space between, as comments of every dialect can say them."""
    return " ".join(NEITHER.sub(" ", in_ascii(text).upper()).split())


def proved_in_head(program: Program, sense: str, proved: Iterable[tuple[str, str]]) -> bool:
    """Tell whether the head of the text repeats a date of the shop file for a sense; proved: its (sense, date)."""
    dates = {date for own, date in proved if own == sense}
    first = next((m.line for m in program.motions if m.kind in MOVING), 0)
    said = re.compile(rf"\b{sense} PROVED\b.{{0,40}}?\b([0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})\b", re.IGNORECASE)
    comments = (text.removeprefix(".. ") for line, text in program.comments if line < first)
    head = " ".join(" ".join(comments).split())
    return any(m[1] in dates for m in said.finditer(head))


def _own_words(comments: Sequence[str]) -> Sequence[str]:
    """Return what is said at a stop, less words of an earlier stop that never came, and words for starting here."""
    begun = [k for k, text in enumerate(comments) if BEGINS.match(text)]
    said = comments[begun[-1] :] if len(begun) > 1 else comments
    return [text for text in said if not BEGUN.match(text)]


def halts_of(program: Program) -> Iterator[Halt]:
    """Yield every stop, in order."""
    comments, at, since = program.comments, 0, 0
    for number, motion in enumerate(program.motions):
        if motion.kind in MOVING:
            since = motion.line
        elif motion.kind == "stop":
            while at < len(comments) and comments[at][0] <= since:
                at += 1
            own = []
            while at < len(comments) and comments[at][0] <= motion.line:
                own.append(comments[at][1])
                at += 1
            words = _own_words(own)
            yield Halt(number, motion.line, motion.spindle, f" {plain(' '.join(words))} ", _run_on(words))


def said_before(program: Program) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Yield for every motion before which something is said its number, the line of the first comment and all of them.

    Those that run on are joined.
    """
    comments, at = program.comments, 0
    for number, motion in enumerate(program.motions):
        since = at
        while at < len(comments) and comments[at][0] <= motion.line:
            at += 1
        if at > since:
            yield number, comments[since][0], _joined(text for _, text in comments[since:at])


def _run_on(comments: Sequence[str]) -> tuple[str, ...]:
    """Return the words of a stop from where they begin; a line that goes on is joined to the one before."""
    return _joined(comments[next((k for k, text in enumerate(comments) if BEGINS.match(text)), 0) :])


def _joined(comments: Iterable[str]) -> tuple[str, ...]:
    """Return comments of which those that go on are joined to the one before."""
    said: list[str] = []
    for text in comments:
        if text.startswith(".. ") and said:
            said[-1] += f" {text.removeprefix('.. ')}"
        else:
            said.append(text.removeprefix("- "))
    return tuple(said)


MARKS = re.compile(r"ENDSHAKE|PART\b|SHOP FILE|SHA256", re.IGNORECASE)
"""The beginnings of words in a head that say which text it is, and are nothing to do."""


def head_told(text: str, program: Program) -> tuple[str, ...]:
    """Return what the head of a program says, without the marks of its files; a line that goes on is joined."""
    code = next((n for n, line in enumerate(lines_in(text), 1) if line.strip("% ") and line[0] != "("), 0)
    return tuple(said for said in _run_on([t for n, t in program.comments if n < code]) if not MARKS.match(said))


def stops_told(text: str, program: Program) -> list[tuple[str, tuple[str, ...]]]:
    """Return each stop's words with the N word of its line, or the N word after which it stands if it has none."""
    lines, since = lines_in(text), 0
    told: list[tuple[str, tuple[str, ...]]] = []
    for halt in halts_of(program):
        numbered = [found[0] for line in lines[since : halt.line] if (found := NUMBERED.match(line))]
        own = NUMBERED.match(lines[halt.line - 1])
        told.append((own[0] if own else f"behind {numbered[-1]}" if numbered else "", halt.said))
        since = halt.line if own else since
    return told


def begun_told(text: str, program: Program) -> list[tuple[str, str, tuple[str, ...]]]:
    """Return what must stand where a program is begun at a pass, with the first and last N word of which it is said."""
    lines, comments = lines_in(text), program.comments
    told: list[tuple[str, str, tuple[str, ...]]] = []
    for at, (line, said) in enumerate(comments):
        if not BEGUN.match(said):
            continue
        behind = enumerate(comments[at:], line)
        words = _run_on([t for _, (_, t) in takewhile(lambda c: c[0] == c[1][0] and not BEGINS.match(c[1][1]), behind)])
        word = [found[0] for row in lines[:line] if (found := NUMBERED.match(row))][-1]
        alike = bool(told) and told[-1][2] == words
        told[-1:] = [(told[-1][0], word, words)] if alike else [*told[-1:], (word, word, words)]
    return told


def wide_messages(program: Program, width: int) -> Iterator[tuple[int, str]]:
    """Yield line and words of each message of which a display of so many characters shows only the beginning."""
    for line, text in program.comments:
        if (shown := SHOWN.match(text)) and len(shown[1]) > width:
            yield line, f"a message of {len(shown[1])} characters; the display shows {width} (message_width)"


def lost_halts(program: Program) -> list[int]:
    """Return the lines that first promise a stop where the program moves on without one, or comes to one of two."""
    events = [(m.line, m.kind == "stop") for m in program.motions if m.kind in STOPPED_OR_MOVING]
    moves_on = {at for at, (_, stops) in enumerate(events) if not stops}
    first: dict[int, int] = {}
    promised: dict[int, list[str]] = {}
    for line, text in program.comments:
        if ANNOUNCES.match(text):
            at = bisect_left(events, (line, False))
            first.setdefault(at, line)
            promised.setdefault(at, []).append(text)
    return [first[at] for at, said in promised.items() if at in moves_on or _names_two(said)]


def _names_two(promises: list[str]) -> bool:
    """Tell whether words speak of two stops: they begin one after others, or go on after the end of one."""
    return any(map(ENDS.match, promises[:-1])) or any(map(BEGINS.match, promises[1:]))
