"""Numbers and words as they may stand in program text and on the page: plain ASCII, short lines, no exponents."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from cam.ground.letters import in_ascii
from cam.ground.units import show_number
from posts.dialect import Dialect

_STAND_INS = {
    "(": "<", ")": ">", "[": "<", "]": ">", "{": "<", "}": ">", ":": " -", ";": ",", "_": "-", '"': "'", "`": "'",
    "\\": "/", "|": "/", "~": "-", "!": ".", "^": "*", "@": "*",
}  # fmt: skip
"""Characters that a dialect's comments may not hold, and what is written instead; "?" for the rest."""

TEMPLATES = Path(__file__).parent.parent / "templates"

LONGEST = 2000
"""The most characters of one text that are printed: no sentence of ours is longer; the rest is cut off with three
points."""


def number(value: float, decimals: int, least: int = 1) -> str:
    """Write a number in plain figures: no exponent, no minus zero, trailing zeros cut.

    Args:
        decimals: the places that it is rounded to; 0 gives a whole number without a point.
        least: the places that always stand, so that "4.0" never becomes "4" (a control that meets no point
            may count in steps of its own); not more than decimals.
    Raises:
        RangeError: value is infinite or no number.
    """
    text = show_number(value, decimals)
    if decimals <= least:
        return text
    whole, _, places = text.partition(".")
    kept = places.rstrip("0").ljust(least, "0")
    return f"{whole}.{kept}" if kept else whole


def plain(text: str, longest: int = LONGEST) -> str:
    """Return the text in printable ASCII on one line.

    Accents are taken off, control characters become spaces, and "?" stands for a sign without a likeness. Text beyond
    longest characters is cut off.
    """
    if len(text) > longest:
        text = text[: longest - 3] + "..."
    return in_ascii(text)


def wrap(text: str, width: int, hang: str = "") -> list[str]:
    """Break text between words into lines of at most width characters; lines after the first begin with hang.

    A word longer than a line is cut. Leading spaces of the text stay on the first line.
    """
    if len(text) <= width:
        return [text.rstrip()] if text.strip() else []
    width = max(width, len(hang) + 1)
    lead = text[: len(text) - len(text.lstrip(" "))]
    lines, line, empty = [], lead, True
    for word in text.split():
        if not empty and len(line) + 1 + len(word) > width:
            lines.append(line)
            line, empty = hang, True
        line = line + word if empty else f"{line} {word}"
        empty = False
        while len(line) > width:
            lines.append(line[:width])
            line = hang + line[width:]
    return [*lines, line] if line.strip() else lines


def comment_lines(text: str, dialect: Dialect, *, message: bool = False, width: int | None = None) -> Iterator[str]:
    """Write every line of text as comments of the dialect: whatever the text holds, no comment can become code.

    Some controls take a comment for a command by the word at its head (show, print, write to a file). So only words of
    our own stand there, those with which the templates begin a line; any other comment begins with a sign, and so does
    the continuation of a line.

    Args:
        message: whether each is also shown to the operator, where the dialect can say so.
        width: the characters between the brackets; None takes the dialect's.
    """
    first, last = dialect.text("COMMENT_OPEN"), dialect.text("COMMENT_CLOSE")
    allowed = frozenset(dialect.text("COMMENT_CHARACTERS")).difference(first, last)
    sign = dialect.text("MESSAGE") if message else ""
    mark, more = ("", "  ") if sign else (_sign_at_the_head(allowed, "- "), _sign_at_the_head(allowed, ".. "))
    most = (width or dialect.count("COMMENT_MOST")) - len(sign)
    for given in text.splitlines():
        line = plain(given).strip()
        if line[:1].isalpha() and not line.lower().startswith(own_beginnings()):
            line = mark + line
        line = _within(allowed, line.upper() if dialect.text("COMMENT_CASE") == "upper" else line)
        for piece in wrap(line, most, more):
            yield f"{first}{sign}{piece.strip() if sign else piece}{last}"


def _sign_at_the_head(allowed: frozenset[str], wanted: str) -> str:
    """Return what begins a comment without a word of ours at its head; a figure where no sign is allowed."""
    return next((s for s in (wanted, "- ", "+ ", ". ", "/ ") if allowed.issuperset(s)), "0 ")


@lru_cache(maxsize=1)
def own_beginnings() -> tuple[str, ...]:
    """Return the words with which the tool's own templates begin the comments of a program, in small letters."""
    found = set()
    for path in TEMPLATES.glob("*words.ngc.j2"):
        for line in path.read_text(encoding="utf-8").splitlines():
            begun = re.split("[{]", line)[0].strip().lower()
            found |= {begun} if begun[:1].isalpha() else set()
    return tuple(sorted(found))


def _within(allowed: frozenset[str], text: str) -> str:
    """Return a text with a stand-in for each character that a comment may not hold."""
    others = {c: _STAND_INS.get(c, "?") for c in set(text) - allowed}
    return text.translate({ord(c): other if allowed.issuperset(other) else "?" for c, other in others.items()})


INDEX_WORDS = "TURN THE WORK TO"


def index_comment(angle: float) -> str:
    """Return the words by which a stop turns the work, as the reader looks for them: "TURN THE WORK TO 180 DEG"."""
    return f"{INDEX_WORDS} {show_number(angle, 4, trim=True)} DEG"
