"""What was found, told as a colleague would: the first cause first, and repeats told once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from cam.ground.problem import Problem, Where
from cam.shop.machine import Facts

HEAD = re.compile(r"\bendshake\b.*\bdialect ([\w-]+)\s*[:-]+\s*([A-Z]+[ -][\w-]+(?: with [\w -]+)?)", re.IGNORECASE)
NUMBERS = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
MANY = 4
"""The number of like problems from which they are told as one."""

FIRST = (
    "no tool is called", "moves before any tool", "the zero of ", "an axis word stands", "cuts with the spindle",
    "cuts before the program has set", "the cutter is in metal", "starts the spindle before", "proves X",
    "moves on before the stop", "the first motion must", "no stop follows", "starts the spindle at", "goes on with",
)  # fmt: skip
"""The beginnings of problems that cause others, the likeliest first."""


def other_dialect(text: str, path: str, standard: str) -> Problem | None:
    """Warn that a text says it is written for another standard than it is read by; None if it does not.

    Args:
        standard: the one that it is read by, "NISTIR 6556".
    """
    for number, line in enumerate(text.splitlines()[:20], 1):
        if (match := HEAD.search(line)) and match[2].upper() != standard.upper():
            return Problem(
                where=Where(path=path, line=number),
                what=f"this program is written for {match[2].upper()}, and is read by the rules of {standard}",
                given=f"dialect {match[1].lower()}", allowed=f"a dialect of {standard}",
                fix=f"say --dialect {match[1].lower()}, or have it written anew for this control",
            )  # fmt: skip
    return None


def warn_of_ends(text: str, path: str, facts: Facts) -> tuple[Problem, ...]:
    """Warn that a text has not the line ends that its control wants, which an editor may have changed."""
    if facts.line_ends != "CRLF" or text.count("\n") == text.count("\r\n"):
        return ()
    what = "lines end by LF alone, and this control wants CR and LF (line_ends in the shop file)"
    return (Problem(where=Where(path=path), what=what, fix="save it with CRLF line ends"),)


def explain(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems with causes before what follows from them; of many alike the first, how many and how far."""
    groups: dict[str, list[Problem]] = {}
    for problem in problems:
        groups.setdefault(NUMBERS.sub("#", problem.what), []).append(problem)
    told = [one for group in groups.values() for one in _told(sorted(group))]
    return tuple(sorted(told, key=lambda p: (_rank(p.what), p)))


def _told(group: Sequence[Problem]) -> Sequence[Problem]:
    """Return a group as it is told: each by itself, or the first for all."""
    lines = sorted({p.where.line for p in group})
    if len(lines) < MANY:
        return group
    shown = ", ".join(str(line) for line in lines[1:4])
    more = f"{shown} and {len(lines) - 4} more, to line {lines[-1]}" if len(lines) > 4 else shown
    return [replace(group[0], what=f"{group[0].what}; likewise on line{'s' if len(lines) > 2 else ''} {more}")]


def _rank(what: str) -> int:
    return next((n for n, begins in enumerate(FIRST) if what.startswith(begins)), len(FIRST))
