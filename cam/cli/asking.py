"""Questions to a person at the terminal; elsewhere an open question is a problem that names its flag."""

from __future__ import annotations

import shutil
import sys
import textwrap
from dataclasses import replace as with_changes
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from cam.cli.answers import WIDTH, Progress, complain, printable

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Sequence

    from cam.begin import PartBegun, SaidOfPart
    from cam.begin.form import FormQuestion
    from cam.ground.problem import Problem
    from cam.job import Job
    from cam.shop.model import Shop

HOW = (
    "One answer to each question. back goes one back, again gives once more all that was said after it, ? says the "
    "question in full, show shows all so far, Ctrl-C leaves everything as it was."
)
EARLIER = "if it is an earlier answer that is wrong, back goes to it"
T = TypeVar("T")


def begin_part(file: str, said: SaidOfPart) -> tuple[PartBegun, Job | None]:
    """Make a new part file from what was said, with every question answered; what a drawing leaves open stays open.

    Returns:
        The file as it is to be written, and its job where that has been made already.

    Raises:
        ProblemError: an answer is not valid, or there is nobody to ask.
    """
    from cam.begin import KEYS, ask_part, check_counts, check_said, find_shop, missing, open_questions, read_shop_of
    from cam.ground.problem import ProblemError

    said = with_changes(said, shop=said.shop or find_shop(file))
    asks = sys.stdin.isatty()
    shop = read_shop_of(said)
    problems = [*check_said(said, KEYS, shop), *check_counts(said)]
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


def converse(begin: Callable[[], Generator[FormQuestion, str, T]]) -> T:
    """Ask the questions one after another.

    "back" returns to the question before; "again" gives the answers once more that "back" took back, as long as their
    questions come and they are not refused; "show" shows what is said so far.

    Args:
        begin: starts the questions from the first.
    """
    talk = _Talk(begin)
    try:
        talk.start()
        typer.echo(_fitted(HOW), err=True)
        while True:
            answer = _answer(talk.ask, refused=talk.refused > 0, earlier=talk.earlier)
            if answer == "back":
                talk.go_back()
            elif answer == "again":
                talk.give_again()
            else:
                talk.give(answer)
    except StopIteration as done:
        return done.value  # type: ignore[no-any-return]


class _Talk:
    """Questions and the answers to them; they are asked anew from the answers kept to go back.

    Attributes:
        ask: the question that is open.
        kept: (question, answer) of what was taken.
        back: the same of what was taken back, the first last.
        refused: how often in a row this question's answer was refused.
        earlier: whether it may be an earlier answer that is wrong.
    """

    ask: FormQuestion

    def __init__(self, begin: Callable[[], Generator[FormQuestion, str, Any]]) -> None:
        self.begin = begin
        self.kept: list[tuple[str, str]] = []
        self.back: list[tuple[str, str]] = []
        self.refused, self.earlier = 0, False

    def start(self) -> None:
        """Ask from the first question to the one after the answers kept."""
        self.asking = self.begin()
        self.ask, self.refused, self.earlier = next(self.asking), 0, False
        for _, answer in self.kept:
            self.ask = self.asking.send(answer)

    def go_back(self) -> None:
        """Take the last answer back."""
        self.back += self.kept[-1:]
        del self.kept[-1:]
        self.start()

    def give(self, answer: str) -> None:
        """Answer the question; what was taken back of it is no more."""
        asked = self._asked()
        if self.back and self.back[-1][0] == asked and not self.refused:
            self.back.pop()
        self.ask = self.asking.send(answer)
        self.refused = self.refused + 1 if self.ask.problems else 0
        self.earlier = self.refused > 1 or bool(self.refused and all(answer not in p.given for p in self.ask.problems))
        if not self.refused:
            self.kept.append((asked, answer))

    def give_again(self) -> None:
        """Give the answers that were taken back, as long as it is their questions that are asked."""
        if not self._was_answered():
            typer.echo("this question was not answered before", err=True)
        while self._was_answered():
            self.give(self.back[-1][1])

    def _was_answered(self) -> bool:
        return bool(self.back) and not self.refused and self.back[-1][0] == self._asked()

    def _asked(self) -> str:
        return self.ask.words.rpartition("\n")[2]  # what explains the first section is not said twice


def _answer(ask: FormQuestion, *, refused: bool, earlier: bool) -> str:
    """Say what is wrong, put the question, and return what is typed, once it is more than "show" or "?"."""
    _tell(ask, earlier=earlier)
    words = ask.brief if refused and ask.brief else ask.words.removesuffix(".")
    text = _fitted(f"{words} ({ask.hint})" if ask.hint else words)
    while True:
        answer = str(typer.prompt(text, default="", show_default=False, err=True)).strip()
        if answer == "show":
            typer.echo(printable(ask.so_far), err=True)
        elif answer == "?":
            typer.echo(_fitted(ask.words), err=True)
        elif answer or ask.may_skip:
            return answer
        else:
            typer.echo("nothing is taken for granted here: it must be said", err=True)


def _tell(ask: FormQuestion, *, earlier: bool) -> None:
    """Say what is wrong with an answer, or with all of them."""
    from cam.ground.problem import Where

    complain([with_changes(p, where=Where(path=p.where.path)) for p in ask.told])  # no file has these lines yet
    complain(ask.problems)
    if earlier:
        typer.echo(EARLIER, err=True)


def _fitted(text: str) -> str:
    """Return a text in lines that the terminal need not break."""
    wide = min(WIDTH, shutil.get_terminal_size().columns) - 2
    lines = printable(text).split("\n")
    return "\n".join(
        textwrap.fill(line, wide, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for line in lines
    )
