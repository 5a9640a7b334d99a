"""What a text rests on without saying it, and what it does to its own datum: noted while it is read, judged elsewhere.

NISTIR 6556 lets a control begin in a known state (3.6.1), so a text that says neither G90 nor G94 breaks none of its
rules. A control left in G91 by the program before takes every coordinate of such a text for a step all the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from cam.ground.frozen import Row
from cam.rs274.tables import COMPENSATION, DISTANCE, FEED_MODE, LENGTH_OFFSET, MOTION, PLANE, SYSTEM, Standard

UNSAID_WORDS = {
    DISTANCE: ("absolute or incremental", "G90"),
    FEED_MODE: ("the feed mode", "G94"),
    COMPENSATION: ("that radius compensation is off", "G40"),
    MOTION: ("that no cycle is in force", "G80"),
    LENGTH_OFFSET: ("that no tool length offset is in force", "G49"),
    SYSTEM: ("the work system", "G54"),
    PLANE: ("the plane", "G17 or G18"),
}
"""Modal group -> what was never said, and the word that says it; MOTION stands for G80 here."""
CALL = -1
"""Stands for the tool that must be called, among the modal groups that must be said."""
STANDS = re.compile(r"\b(G[0-9]{2})\s+STANDS\b.{0,40}?\b([0-9]{4}-[0-9]{2}-[0-9]{2})\b", re.IGNORECASE)
COMMENT = re.compile(r"\(([^()]*)\)")


def lines_in(text: str) -> list[str]:
    """Return the lines of a text; they end by CR, LF or both."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


class Note(Row):
    """Something that a text leaves to the control, or does to its datum.

    Attributes:
        line: of the text. what: a sentence.
        kind: "never said", "datum moved" (G92 or G10), "not called" (a T word that no M6 brings into use),
            "called again" (a tool in use, where the control wants that once), "steps" (G91 after G90),
            "may be left out" (a line that begins with /) or "after the end" (words that are never run).
    """

    line: int
    kind: str
    what: str


def never_said(line: int, groups: Iterable[int]) -> Note:
    """Make the note that an axis word rests on modal groups that the text has not said."""
    said = [f"{what} ({word})" for what, word in (UNSAID_WORDS[group] for group in groups)]
    words = " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)
    return Note(line, "never said", f"an axis word stands before the text has said {words}")


def not_called(line: int, tool: int) -> Note:
    """Make the note that a tool was chosen and never brought into use."""
    return Note(line, "not called", f"no tool is called: T{tool} only chooses it, M6 is missing")


def called_again(line: int, tool: int) -> Note:
    """Make the note that a tool in use is called once more, where that is done once a tool."""
    return Note(line, "called again", f"calls tool {tool} again, which is in use: here that is done once (tool_word)")


def steps_begin(line: int) -> Note:
    """Make the note that a text of places goes over to steps."""
    return Note(line, "steps", "goes over from places (G90) to steps (G91): each number counts from the one before it")


def may_be_left_out(lines: list[int]) -> Note:
    """Make the note that a switch of the control leaves out lines that begin with /."""
    more = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
    what = f"this line{more} may be left out: it begins with /, by which the control's switch passes over it"
    return Note(lines[0], "may be left out", what)


def after_the_end(line: int, below: list[int]) -> Note:
    """Make the note that a program ends before its text does."""
    some = f"lines {below[0]} to {below[-1]} are" if len(below) > 1 else f"line {below[0]} is"
    return Note(line, "after the end", f"the program ends here, and {some} never run")


def datum_moved(line: int, axes: Iterable[str], word: str, shift: str) -> Note:
    """Make the note that the text itself moves the zero that was set at the machine."""
    return Note(line, "datum moved", f"the zero of {' and '.join(axes)} is moved by {word}{shift}")


def needed_groups(standard: Standard) -> set[int]:
    """Return the modal groups that a text must say before its first axis word but the reader does not insist on."""
    called = set() if standard.offset_digits or "T" not in standard.letters else {CALL}
    return {COMPENSATION, MOTION, PLANE} | standard.at_start | called


def standing_words(lines: list[str], facts: tuple[tuple[str, str], ...]) -> list[str]:
    """Return the words that the shop file dates and the head of the text repeats, in the shop file's order.

    Args:
        lines: of the text; its head ends at the first that holds more than comments. facts: (word, date).
    """
    if not facts:
        return []
    head: list[str] = []
    for line in lines:
        if COMMENT.sub("", line).strip(" \t%"):
            break
        head += [text.removeprefix(".. ").strip() for text in COMMENT.findall(line)]
    said = {(word.upper(), date) for word, date in STANDS.findall(" ".join(head))}
    return [word for word, date in facts if (word, date) in said]
