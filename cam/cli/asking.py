"""Questions to a person at the terminal; elsewhere an open question is a problem that names its flag."""

from __future__ import annotations

import sys
from dataclasses import replace as with_changes
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import typer

from cam.cli.answers import Progress, complain, printable

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Sequence

    from cam.begin import PartBegun, SaidOfPart
    from cam.begin.form import FormQuestion
    from cam.ground.problem import Problem
    from cam.job import Job
    from cam.shop.model import Shop

HOW = "One answer to each question; back goes one back, show shows all so far, Ctrl-C leaves everything as it was."
T = TypeVar("T")


def begin_part(file: str, said: SaidOfPart) -> tuple[PartBegun, Job | None]:
    """Make a new part file from what was said, with every question answered; what a drawing leaves open stays open.

    Returns:
        The file as it is to be written, and its job where that has been made already.

    Raises:
        ProblemError: an answer is not valid, or there is nobody to ask.
    """
    from cam.begin import KEYS, ask_part, check_said, find_shop, missing, open_questions, read_shop_of
    from cam.ground.problem import ProblemError

    said = with_changes(said, shop=said.shop or find_shop(file))
    asks = sys.stdin.isatty()
    shop = read_shop_of(said)
    problems = check_said(said, KEYS, shop)
    questions = [] if said.drawing or asks else open_questions(said, shop)
    if problems or questions:
        raise ProblemError([*problems, *missing(questions)])
    made: dict[str, Job] = {}
    begun = converse(lambda: ask_part(file, said, shop, partial(_refusals, file, made) if asks else None))
    return begun, made.get(begun.text)


def _refusals(file: str, made: dict[str, Job], text: str, shop: Shop) -> Sequence[Problem]:
    """Return the problems of a part file that is not written yet; its job is kept in made, beside its text."""
    from cam.ground.problem import ProblemError
    from cam.ground.source import parse_source
    from cam.job import make_said

    try:
        with Progress() as progress:
            made[text] = make_said(parse_source(text.encode(), file), shop, tell=progress.tell)
    except ProblemError as found:
        return found.problems
    return made[text].problems


def _prompt(text: str, *, may_skip: bool = False) -> str:
    while True:
        answer = str(typer.prompt(printable(text), default="", show_default=False, err=True)).strip()
        if answer or may_skip:
            return answer
        typer.echo("nothing is taken for granted here: it must be said", err=True)


def converse(begin: Callable[[], Generator[FormQuestion, str, T]]) -> T:
    """Ask the questions one after another. "back" returns to the question before; "show" shows what is said so far.

    The questions are asked anew from the answers kept, so that going back needs no memory of its own.

    Args:
        begin: starts the questions from the first.
    """
    kept: list[str] = []
    asking, sent, told = begin(), 0, False
    ask: FormQuestion | None = None
    while True:
        try:
            while ask is None or sent < len(kept):
                ask, sent = (next(asking), 0) if ask is None else (asking.send(kept[sent]), sent + 1)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]
        complain(ask.told)
        if ask.problems:
            complain(ask.problems)
            kept, sent = kept[:-1], sent - 1
        if not told:
            typer.echo(HOW, err=True)
            told = True
        answer = _answer(ask)
        if answer == "back":
            kept, asking, ask = kept[:-1], begin(), None
        else:
            kept.append(answer)


def _answer(ask: FormQuestion) -> str:
    """Return what is typed, once it is more than "show"."""
    while True:
        answer = _prompt(f"{ask.words}{f' ({ask.hint})' if ask.hint else ''}", may_skip=ask.may_skip)
        if answer != "show":
            return answer
        typer.echo(printable(ask.so_far), err=True)
