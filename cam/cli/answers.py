"""What is said to a person: answers, problems, warnings, progress. Nothing else in the package prints."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TextIO

import typer

if TYPE_CHECKING:
    from cam.ground.problem import Problem, ProblemError
    from cam.job import Job


WIDTH = 100
"""The longest line of an answer, in characters."""
MOST_SHOWN = 100
"""The most problems that are shown at once, to a person or a program."""


def judged_job(
    part: str, shop: str | None, dialect: str | None, mill_dialect: str | None = None, piece: str = ""
) -> Job:  # fmt: skip
    """Make a job and return it; its steps are shown as they begin."""
    from cam.job import make_job

    with Progress() as progress:
        return make_job(part, shop, dialect=dialect, mill_dialect=mill_dialect, piece=piece, tell=progress.tell)


class Progress:
    """Shows the step in hand on a terminal, from one second after the start."""

    WAIT = 1.0

    def __init__(self) -> None:
        self.step = ""
        self.shown = False
        self.timer: Any = None

    def tell(self, step: str) -> None:
        """Note the step that begins."""
        self.step = step
        if self.shown:
            self.show()
        elif self.timer is None and sys.stderr.isatty():
            from threading import Timer

            self.timer = Timer(self.WAIT, self.show)
            self.timer.daemon = True
            self.timer.start()

    def show(self) -> None:
        """Write the step over the one before it."""
        self.shown = True
        sys.stderr.write(f"\r\x1b[K{self.step} ...")
        sys.stderr.flush()

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the line."""
        if self.timer is not None:
            self.timer.cancel()
            self.timer.join()
        if self.shown:
            sys.stderr.write("\r\x1b[K")


@contextmanager
def reporting(
    part: str = "", shop: str | None = None, piece: str = "", *, as_json: bool = False
) -> Iterator[None]:  # fmt: skip
    """Report the problems that the block raises, and exit 1. part, shop: what could be drawn to show them."""
    from cam.ground.problem import ProblemError

    try:
        yield
    except ProblemError as found:
        if as_json:
            from cam.job.record import problem_data

            shown, count = found.problems[:MOST_SHOWN], len(found.problems)
            more = {"problems_not_shown": count - MOST_SHOWN} if count > MOST_SHOWN else {}
            say_json({"ok": False, "problems": problem_data(shown), **more})
        else:
            complain(found.problems)
            show_how_to_see(found, part, shop, piece)
        raise typer.Exit(1) from None


COMMAND = ": endshake "
"""What a command at the end of a line begins with: it is typed, or copied, as it stands."""
BESIDE = " " * 11
"""What goes before the lines of a problem that goes on."""


def show_how_to_see(found: ProblemError, part: str, shop: str | None, piece: str = "") -> None:
    """Say how to see a plan that is refused, and what each way out would make of it."""
    from cam.job import RefusedError

    if isinstance(found, RefusedError) and part:
        import shlex

        out = "refused.svg" if found.shown_by == "plot" else "refused.html"
        given = [*(("--shop", shop) if shop else ()), *(("--piece", piece) if piece else ())]
        words = ["endshake", found.shown_by, part, *given, "--out", out]
        typer.echo(printable(f"to see it: {shlex.join(words)}"), err=True)


def complain(problems: Sequence[Problem]) -> None:
    """Print problems on the error output, in order, with their count; of very many the first MOST_SHOWN."""
    for problem in problems[:MOST_SHOWN]:
        head, *rows = rows_of(problem)
        typer.echo("\n".join([paint(head, "red", sys.stderr), *rows]), err=True)
    if problems:
        count = f"{len(problems)} problem" + ("s" if len(problems) > 1 else "")
        count += f", the first {MOST_SHOWN} of them shown: begin with those" if len(problems) > MOST_SHOWN else ""
        typer.echo(paint(count, "red", sys.stderr), err=True)


def warn(warnings: Sequence[Problem]) -> None:
    """Print warnings on the error output."""
    for warning in warnings:
        head, *rows = rows_of(warning, "warning ")
        head = paint("warning", "yellow", sys.stderr) + head.removeprefix("warning")
        typer.echo("\n".join([head, *rows]), err=True)


def rows_of(problem: Problem, lead: str = "") -> list[str]:
    """Return a problem's lines; none is longer than WIDTH, unless a name or a command at its end must not be broken."""
    rows = printable(f"{lead}{problem}").split("\n")
    if all(len(row) <= WIDTH for row in rows):
        return rows
    import textwrap

    found = []
    for row in rows:
        told, colon, command = row.partition(COMMAND) if len(row) > WIDTH else (row, "", "")
        found += textwrap.wrap(
            told + colon[:1], WIDTH, subsequent_indent=BESIDE, break_long_words=False, break_on_hyphens=False
        )
        found += [f"{BESIDE}{colon[2:]}{command}"] if colon else []
    return found


def is_terminal(stream: TextIO) -> bool:
    """Tell whether a person reads along."""
    return stream.isatty()


def paint(text: str, colour: str, stream: TextIO) -> str:
    """Colour the text on a terminal only, and not where NO_COLOR is set (no-color.org)."""
    if is_terminal(stream) and not os.environ.get("NO_COLOR"):
        return typer.style(text, fg=colour)
    return text


def printable(text: str) -> str:
    """Return the user's text as it may go to a terminal."""
    from cam.ground.problem import printable as filtered

    return filtered(text)


def say(text: str) -> None:
    """Print an answer to a person on the output."""
    typer.echo(printable(text), nl=False)


def hand_over(text: str) -> None:
    """Print a text that was asked for to the output, as it is."""
    typer.echo(printable(text), nl=False)


def say_json(data: Any) -> None:
    """Print an answer to a program on the output, as JSON."""
    import json

    hand_over(json.dumps(data, indent=2, ensure_ascii=True, allow_nan=False) + "\n")
