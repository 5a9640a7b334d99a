"""A problem is data: where, what, given, allowed, how to fix."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from cam.ground.frozen import frozen

T = TypeVar("T")

OUR_FAULT = (
    "this is our fault, not the part's: please send us the part file, the shop file, the log beside the part file "
    "if there is one, and this message, with what endshake --version says"
)
"""What is said where a program that we wrote does not pass our own check, and where our own code fails."""


def printable(text: str) -> str:
    """Return the text fit for print, with "?" for all that a terminal obeys or that turns the direction of writing.

    That is everything that Unicode calls other than printable: control and format characters, lone surrogates, white
    space that is neither a space nor the end of a line or page.
    """
    if text.replace("\n", "").replace("\f", "").isprintable():
        return text
    return "".join(c if c.isprintable() or c in "\n\f" else "?" for c in text)


def in_short(text: str, most: int) -> str:
    """Return a text on one line, cut off with three points after so many characters; "?" for what is not printed."""
    return "".join(c if c.isprintable() else "?" for c in text[:most]) + ("..." if len(text) > most else "")


@frozen
class Where:
    """A place in a text file.

    Attributes:
        path: as the user named the file.
        line: counted from 1; 0 means the file as a whole.
        column: counted from 1; 0 means the line as a whole.
    """

    path: str
    line: int = 0
    column: int = 0

    def __lt__(self, other: Where) -> bool:
        return (self.path, self.line, self.column) < (other.path, other.line, other.column)

    def __str__(self) -> str:
        return ":".join([self.path, *(str(n) for n in (self.line, self.column) if n)])


@frozen
class Problem:
    """One thing that is wrong, or (in a list of warnings) worth knowing.

    Attributes:
        where: the line that gave it; a part or program as a whole has line 0.
        what: one sentence, no full stop.
        given: what was found, in the user's own words where there are any; may be "".
        allowed: what would be right, with numbers; may be "".
        fix: what to do; may be "".
        kind: a word by which code tells it from others, "rotary word"; it is never printed and mostly "".
        lacks: where a key or table is missing, its path in the file ("lathe.x.turn", "centre.0.reach"), or the key
            alone, in the table at that line; otherwise "".
    """

    where: Where
    what: str
    given: str = ""
    allowed: str = ""
    fix: str = ""
    kind: str = ""
    lacks: str = ""

    def __lt__(self, other: Problem) -> bool:
        mine, theirs = ((p.where, p.what, p.given, p.allowed, p.fix) for p in (self, other))
        return mine < theirs

    def __str__(self) -> str:
        rows = (("given", self.given), ("allowed", self.allowed), ("fix", self.fix))
        lines = [f"{self.where}: {self.what}", *(f"  {k:<8} {v}" for k, v in rows if v)]
        return "\n".join(" ".join(line.splitlines()) for line in lines)  # a name may hold anything


def problem(where: Where, what: str, given: str = "", allowed: str = "", fix: str = "", kind: str = "") -> Problem:
    """Return a problem, its fields in the order in which they are told."""
    return Problem(where=where, what=what, given=given, allowed=allowed, fix=fix, kind=kind)


def problem_at(
    path: str, line: int, what: str, given: str = "", allowed: str = "", fix: str = "", kind: str = ""
) -> Problem:  # fmt: skip
    """Return a problem of a line of a file; line 0 is the file as a whole."""
    return problem(Where(path=path, line=line), what, given, allowed, fix, kind)


def repeats(rows: Iterable[T], key: Callable[[T], object]) -> Iterator[tuple[T, T]]:
    """Yield each row that has the key of an earlier one, with the first that has it; an empty key is none."""
    first: dict[object, T] = {}
    for row in rows:
        if (own := key(row)) and first.setdefault(own, row) is not row:
            yield row, first[own]


def blame_us(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the same problems as those of a program that we wrote: the user cannot fix them in the part file."""
    return tuple(replace(p, fix=OUR_FAULT) for p in problems)


class ProblemError(Exception):
    """Work cannot go on; the error carries every problem that was found, sorted, without repeats.

    Attributes:
        problems: at least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(p) for p in self.problems))


def refusal(where: Where | str, what: str, **words: str) -> ProblemError:
    """Return the error of a single problem.

    Args:
        where: its place, or the path of a file as a whole.
        what, words: as in `Problem`.
    """
    place = Where(path=where) if isinstance(where, str) else where
    return ProblemError([Problem(where=place, what=what, **words)])


class RangeError(ValueError):
    """A number given to a function lies outside the bounds that its docstring states."""
