"""Questions to a person at the terminal; elsewhere an open question is a problem that names its flag."""

from __future__ import annotations

import sys
from dataclasses import replace as with_changes
from typing import TYPE_CHECKING

import typer

from cam.cli.answers import complain, printable

if TYPE_CHECKING:
    from collections.abc import Callable

    from cam.begin import Question, Said
    from cam.begin.form import Asking, Tree
    from cam.ground.problem import Problem
    from cam.shop.model import Shop

HOW = "One answer to each question; back goes one back, show shows all so far, Ctrl-C leaves everything as it was."
DEEP = ("corners", "edges", "leave", "leave_face", "square", "cross_holes")
"""Questions whose answers are tried on the part as it is said so far."""


def complete(file: str, said: Said) -> tuple[Said, Shop | None]:
    """Have every question answered; what a drawing leaves open stays open.

    Raises:
        ProblemError: an answer is none, or there is nobody to ask.
    """
    from cam.begin import KEYS, check_said, find_shop, missing, open_questions, read_shop_of
    from cam.ground.problem import ProblemError

    said = with_changes(said, shop=said.shop or find_shop(file))
    asks = sys.stdin.isatty() and not said.drawing
    shop = read_shop_of(said)
    problems = check_said(said, KEYS, shop)
    questions = [] if said.drawing else open_questions(said, shop)
    if problems or (questions and not asks):
        raise ProblemError([*problems, *missing(questions)])
    if questions and not said.unit:
        said = _ask_unit(said)
    before: list[Said] = []
    named = said.shop
    while questions:
        try:
            answered = _ask(questions[0], said, shop)
        except _BackError:
            said = before.pop() if before else said
        else:
            before.append(said)
            said = answered
        if said.shop != named:
            named, shop = said.shop, read_shop_of(said)
        questions = open_questions(said, shop)
    return said, shop


class _BackError(Exception):
    """A question back was asked for."""


def _show(said: Said) -> None:
    """Say what was said so far."""
    for key in type(said).__annotations__:
        value = getattr(said, key)
        for text in value if isinstance(value, tuple) else [value]:
            if text:
                typer.echo(printable(f"  {key.replace('_', ' ')}: {text}"), err=True)


def _ask_unit(said: Said) -> Said:
    typer.echo(HOW, err=True)
    while True:
        unit = _prompt("unit of numbers that are written without one: mm, in, or Enter for none", may_skip=True)
        if unit in ("", "mm", "in"):
            return with_changes(said, unit=unit)


def _ask(question: Question, said: Said, shop: Shop | None) -> Said:
    """Ask until the answer is one."""
    from cam.begin import breaks_part, check_said

    if question.key == "sections" and not question.adds:
        return _ask_mill(_ask_sections(question, said, shop), shop)
    hint = ", ".join(question.options) or question.hint
    while True:
        answer = _ask_said(f"{question.words}{f' ({hint})' if hint else ''}", said)
        tried = question.answer(said, answer)
        problems = check_said(tried, [question.key], shop) or _of_shop(question, tried)
        if not problems and question.key in DEEP:
            problems = breaks_part(said, tried, shop)
        if not problems:
            return tried
        complain(problems)


def _of_shop(question: Question, said: Said) -> list[Problem]:
    """What is wrong with the shop file, where that was the question."""
    from cam.begin import read_shop_of
    from cam.ground.problem import ProblemError

    try:
        if question.key == "shop":
            read_shop_of(said)
    except ProblemError as found:
        return list(found.problems)
    return []


def _ask_sections(question: Question, said: Said, shop: Shop | None) -> Said:
    """Ask for one section after another, until an empty line."""
    from cam.begin import check_said
    from cam.part.model import ROLES

    typer.echo(f"{question.words}; an empty line ends them\n  {question.hint}", err=True)
    roles = f"{', '.join(ROLES[:-1])} or {ROLES[-1]}"
    typer.echo(f"  ROLE is {roles}; limits may follow: -0.01 / -0.03 mm, or h7", err=True)
    while True:
        try:
            answer = _ask_said(f"section {len(said.sections) + 1}", said, may_skip=bool(said.sections))
        except _BackError:
            if not said.sections:
                raise
            said = with_changes(said, sections=said.sections[:-1])
            continue
        if not answer:
            return said
        problems = check_said(with_changes(said, sections=(answer,)), ["sections"], shop)
        complain(problems)
        if not problems:
            said = with_changes(said, sections=(*said.sections, answer))


def _ask_mill(said: Said, shop: Shop | None) -> Said:
    """Whether anything is milled, where the shop has a mill; what is lacking of it is asked after that."""
    from cam.begin import square_blank

    if shop is None or shop.milling is None:
        return said
    blank = square_blank(said)
    if blank and not said.square:
        across = _prompt(f'size across flats of the square on "{blank}", or Enter to leave it round', may_skip=True)
        said = with_changes(said, square=f"across {across}" if across else "")
    if not said.cross_holes:
        name = _prompt("name of a cross hole, or Enter for none", may_skip=True)
        said = with_changes(said, cross_holes=(f"name {name}",) if name else ())
    return said


def _ask_said(text: str, said: Said, *, may_skip: bool = False) -> str:
    """An answer that is neither show nor back."""
    while True:
        answer = _prompt(text, may_skip=may_skip)
        if answer == "back":
            raise _BackError
        if answer != "show":
            return answer
        _show(said)


def _prompt(text: str, *, may_skip: bool = False) -> str:
    while True:
        answer = str(typer.prompt(printable(text), default="", show_default=False, err=True)).strip()
        if answer or may_skip:
            return answer
        typer.echo("nothing is taken for granted here: it must be said", err=True)


def converse(begin: Callable[[], Asking]) -> Tree:
    """Have questions answered one after another; back goes a question back, show shows what is said so far.

    The questions are begun anew from the answers kept, so that going back needs no memory of its own.

    Args:
        begin: begins the questions.
    """
    typer.echo(HOW, err=True)
    kept: list[str] = []
    asking = begin()
    ask = next(asking)
    while True:
        if ask.problems:
            complain(ask.problems)
            kept.pop()
        answer = _prompt(f"{ask.words}{f' ({ask.hint})' if ask.hint else ''}", may_skip=ask.may_skip)
        if answer == "show":
            typer.echo(printable(ask.so_far), err=True)
            ask = with_changes(ask, problems=())
            continue
        if answer == "back":
            kept = kept[:-1]
            asking = begin()
            ask = next(asking)
            for each in kept:
                ask = asking.send(each)
            continue
        kept.append(answer)
        try:
            ask = asking.send(answer)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]
