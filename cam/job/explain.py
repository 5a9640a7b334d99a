"""What was found, told as a colleague would: the first cause first, and repeats told once."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from cam.ground.problem import Problem, Where
from cam.rs274.notes import lines_in
from cam.shop.machine import Facts

HEAD = re.compile(r"\bendshake\b.*\bdialect ([\w-]+)\s*[:-]+\s*([A-Z]+[ -][\w-]+(?: with [\w -]+)?)", re.IGNORECASE)
NUMBERS = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
COMMENT = re.compile(r"\([^)]*\)|;.*")
UNIT_CODE = re.compile(r"\bG(20|21|70|71)\b", re.IGNORECASE)
MANY = 4
"""The number of like problems from which they are told as one."""

BLIND = (
    "the program ends here", "no tool is called", "moves before any tool", "the zero of ", "runs tool ",
    "an axis word stands",
)  # fmt: skip
"""The beginnings of problems after which no place and no size is what it seems: what is found there follows."""
TOO_FAR = "goes further than"
FIRST = (
    *BLIND, "cuts with the spindle", "cuts before the program has set", "the cutter is in metal",
    "starts the spindle before", "proves ", "moves on before the stop", "the first motion must", "no stop follows",
    "starts the spindle at", "goes on with", TOO_FAR,
)  # fmt: skip
"""The beginnings of problems that cause others, the likeliest first; the last may itself follow from blindness."""
CAUSE = "cause"
SAYS_UNITS = re.compile(r"\bunits\s*[:-]\s*(millimetres|inches)\b", re.IGNORECASE)
SAYS_X = re.compile(r"\bx words are (radius|diameter)\b", re.IGNORECASE)
UNIT_WORDS = {"20": "inches", "70": "inches", "21": "millimetres", "71": "millimetres"}
TOLD = 3
"""How many things that follow from a cause are told in words."""


def other_dialect(text: str, path: str, standard: str) -> Problem | None:
    """Warn that a text says it is written for another standard than it is read by; None if it does not.

    Args:
        standard: the one that it is read by, "NISTIR 6556".
    """
    for number, line in enumerate(lines_in(text)[:20], 1):
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


def contradictions(text: str, path: str, x_words: str = "") -> tuple[Problem, ...]:
    """Return what a text says otherwise than its own head does, or its head than the control: units, X words.

    Args:
        x_words: what the shop file says that X words are, "radius" or "diameter"; "" for a mill.
    """
    lines = tuple(enumerate(lines_in(text), 1))
    return tuple(
        Problem(where=Where(path=path, line=n), what=what, given=line.strip(), fix=fix, kind=CAUSE)
        for n, line, what, fix in (*_other_units(lines), *_other_x_words(lines, x_words))
    )


Lines = Sequence[tuple[int, str]]
"""The lines of a program with their numbers."""


def _other_units(lines: Lines) -> Iterator[tuple[int, str, str, str]]:
    """Yield line, text, what is wrong and a fix where a text says other units than its head."""
    units = next((m[1].lower() for _, line in lines if (m := SAYS_UNITS.search(line))), "")
    said = ((n, line, m[1]) for n, line in lines if (m := UNIT_CODE.search(COMMENT.sub("", line))))
    other = next((found for found in said if units and UNIT_WORDS[found[2]] != units), None)
    if other is not None:
        what = f"G{other[2]} says {UNIT_WORDS[other[2]]}, and the program's own head says that its units are {units}"
        off = "long" if units == "millimetres" else "short"
        yield *other[:2], what, f"write the word that the head means: lengths after it are 25.4 times too {off}"


def _other_x_words(lines: Lines, x_words: str) -> Iterator[tuple[int, str, str, str]]:
    """Yield line, text, what is wrong and a fix where the head says other X words than the shop file."""
    of_head = next(((n, line, m[1].lower()) for n, line in lines if (m := SAYS_X.search(line))), None)
    if of_head is not None and x_words and of_head[2] != x_words:
        what = f"X words are {of_head[2]} by the program's head, and {x_words} by the shop file"
        yield *of_head[:2], what, "make the program again for this control, or correct x_words"


def explain(
    problems: Iterable[Problem], causes: Iterable[Problem] = (), unread: Sequence[Problem] = ()
) -> tuple[Problem, ...]:
    """Return the problems, causes first, what follows from them as one; of many alike the first and how many.

    Args:
        causes: what the text says wrongly by itself; told only where anything else is wrong, too.
        unread: those of the problems that no reader can follow.
    """
    groups: dict[str, list[Problem]] = {}
    for problem in (replace(p, kind=CAUSE) if p in unread else p for p in problems):
        groups.setdefault(NUMBERS.sub("#", problem.what), []).append(problem)
    told = {one for group in groups.values() for one in _told(sorted(group))}
    causes = causes if told else ()
    return tuple(_behind_causes(sorted(told.union(causes), key=lambda p: (_rank(p), not p.where.line, p))))


def _may_follow(problem: Problem, after: float) -> bool:
    """Tell whether a problem may come of a reader that is blind from a line on."""
    return _rank(problem) >= FIRST.index(TOO_FAR) and not 0 < problem.where.line < after


def _behind_causes(told: Sequence[Problem]) -> Iterator[Problem]:
    """Yield problems, causes first, and as the last one what follows from those that leave the reader blind."""
    blind = [p for p in told if _rank(p) < len(BLIND)]
    after = min((p.where.line for p in blind), default=math.inf)
    follows = [p for p in told if _may_follow(p, after)] if blind else []
    yield from (p for p in told if p not in follows)
    if follows:
        yield _follow(follows, blind)


def _follow(follows: Sequence[Problem], causes: Sequence[Problem]) -> Problem:
    """Return all that follows from causes as one problem, in words."""
    shown = [f"{p.what} (line {p.where.line})" if p.where.line else p.what for p in follows[:TOLD]]
    more = f"; and {len(follows) - TOLD} more" if len(follows) > TOLD else ""
    line = min(p.where.line for p in causes)
    return Problem(
        where=Where(path=follows[0].where.path),
        what=f"and what follows from {'it' if len(causes) == 1 else 'them'}: {'; '.join(shown)}{more}",
        fix=f"correct {f'line {line}' if line else 'that'} first, and simulate again",
    )


def _told(group: Sequence[Problem]) -> Sequence[Problem]:
    """Return a group as it is told: each by itself, or the first for all."""
    lines = sorted({p.where.line for p in group})
    if len(lines) < MANY:
        return group
    shown = ", ".join(str(line) for line in lines[1:4])
    more = f"{shown} and {len(lines) - 4} more, to line {lines[-1]}" if len(lines) > 4 else shown
    return [replace(group[0], what=f"{group[0].what}; likewise on line{'s' if len(lines) > 2 else ''} {more}")]


def _rank(problem: Problem) -> int:
    """Return the place of a problem among causes, 0 for what no reader can follow and for contradictions."""
    if problem.kind == CAUSE:
        return 0
    return next((n for n, begins in enumerate(FIRST) if problem.what.startswith(begins)), len(FIRST))
