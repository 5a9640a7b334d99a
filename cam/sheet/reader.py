"""What the readers of all pages do alike: take lines one after another, and keep what is wrong with them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cam.ground.problem import Problem, problem_at
from cam.judge.model import Finding
from cam.sheet.dials import ReadingError, Unit
from cam.sheet.lines import PageLine


class Reader:
    """Takes the lines of a page; fix: what is to be done about a line that is wrong."""

    def __init__(self, path: str, unit: Unit, fix: str) -> None:
        self.path, self.unit, self.fix = path, unit, fix
        self.problems: list[Problem] = []

    def problem(self, line: PageLine, what: str, allowed: str = "", given: str | None = None) -> None:
        """Note what is wrong with a line."""
        shown = line.text.strip()[:200] if given is None else given
        self.problems.append(problem_at(self.path, line.number, what, shown, allowed, self.fix))

    def attempt(self, line: PageLine, act: Callable[[], None]) -> None:
        """Act on a line; what cannot be read is noted."""
        try:
            act()
        except ReadingError as error:
            self.problem(line, error.what, error.allowed)


def said_of(finding: Finding, path: str, lines: Sequence[str], fix: str, more: str = "") -> Problem:
    """Return a finding as a problem of a page, with its line as given; more: words behind the finding's own."""
    at = finding.line
    given = lines[at - 1].strip()[:200] if 0 < at <= len(lines) else ""
    return problem_at(path, at, finding.what + more, given, fix=fix)
