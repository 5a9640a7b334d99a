"""Questions to a person at the terminal; elsewhere an open question is a problem that names its flag."""

from __future__ import annotations

import sys
from dataclasses import replace as with_changes
from typing import TYPE_CHECKING, TypeVar

import typer

from cam.cli.answers import complain, printable

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from cam.begin import PartBegun, SaidOfPart
    from cam.begin.form import FormQuestion

HOW = "One answer to each question; back goes one back, show shows all so far, Ctrl-C leaves everything as it was."
T = TypeVar("T")


def begin_part(file: str, said: SaidOfPart) -> PartBegun:
    """A new part file from what was said, with every question answered; what a drawing leaves open stays open.

    Raises:
        ProblemError: an answer is none, or there is nobody to ask.
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
    return converse(lambda: ask_part(file, said, shop, asks=asks))


def _prompt(text: str, *, may_skip: bool = False) -> str:
    while True:
        answer = str(typer.prompt(printable(text), default="", show_default=False, err=True)).strip()
        if answer or may_skip:
            return answer
        typer.echo("nothing is taken for granted here: it must be said", err=True)


def converse(begin: Callable[[], Generator[FormQuestion, str, T]]) -> T:
    """Have questions answered one after another; back goes a question back, show shows what is said so far.

    The questions are begun anew from the answers kept, so that going back needs no memory of its own.

    Args:
        begin: begins the questions.
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
    """What is typed, once it is more than show."""
    while True:
        answer = _prompt(f"{ask.words}{f' ({ask.hint})' if ask.hint else ''}", may_skip=ask.may_skip)
        if answer != "show":
            return answer
        typer.echo(printable(ask.so_far), err=True)
