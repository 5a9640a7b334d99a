"""The questions for a part file: what is asked of the part itself, of the mill, and of what was measured for it."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import replace

from cam.begin.answers import Question, SaidOfPart, check_said, measured_sections, open_questions, square_blank
from cam.begin.compose import breaks_part, compose
from cam.begin.draft import THIS, FileDraft, draft_text, open_keys
from cam.begin.form import FormQuestion, Tree
from cam.begin.part_questions import ask_hook, ask_measured, measured_form
from cam.begin.places import name_shop, read_shop_of
from cam.ground.frozen import Row
from cam.ground.problem import Problem, ProblemError
from cam.ground.trade_words import british
from cam.ground.units import in_unit
from cam.part.features import ROLES
from cam.part.schema import KEPT
from cam.shop.model import Shop

Tries = Callable[[str, Shop], Sequence[Problem]]
"""Gives what stands against making a part file that is not written yet, from its text and its shop."""
BY_THEMSELVES = ("shop", "material", "holding")
"""The questions whose answers do not depend on the sections."""


class PartBegun(Row):
    """A part file as it is to be written.

    Attributes:
        said: everything that was said.
        draft: what stands in the file.
        text: the file, TOML.
        notes: what was derived or left out, one sentence each.
    """

    said: SaidOfPart
    draft: FileDraft
    text: str
    notes: tuple[str, ...]


def ask_part(
    file: str, said: SaidOfPart, shop: Shop | None, tries: Tries | None = None
) -> Generator[FormQuestion, str, PartBegun]:
    """Ask for a whole part file; nothing is asked where everything is said.

    Args:
        file: the file that it is for.
        said: what is known before, each thing checked.
        shop: as read from said.shop.
        tries: gives what stands against making it; None where there is nobody to answer.

    Raises:
        ProblemError: the drawing cannot be used, or does not agree with what was said.
    """
    if not said.drawing:
        said, shop = yield from _complete(said, shop)
    draft, notes = compose(said, shop, name_shop(file, said.shop))
    text = draft_text(draft, KEPT.as_uri())
    if tries:
        text = yield from _hook_and_spans(file, said, draft, text)
    while tries and shop is not None and not open_keys(draft) and (found := tuple(tries(text, shop))):
        words = "so it does not make; back to change an answer, or Enter to write it as it stands"
        if not (yield FormQuestion(words=words, so_far=text, told=found, may_skip=True)):
            break
    return PartBegun(said, draft, text, notes)


def _hook_and_spans(file: str, said: SaidOfPart, draft: FileDraft, text: str) -> Generator[FormQuestion, str, str]:
    """Ask for the hook of a screw, and for what was measured where a section is to fit it; return the file's text."""
    threaded, measured = any("thread" in keys for keys in draft.sections), measured_sections(said)
    if not threaded and not measured:
        return text
    form = measured_form(file, text, said.unit or "mm")
    tree: Tree = {}
    if threaded:
        tree = yield from ask_hook(form, tree)
    if measured:
        tree = yield from ask_measured(form, tuple(str(keys["name"]) for keys in draft.sections), tree)
    return form.text(tree, explained=True)


def _complete(said: SaidOfPart, shop: Shop | None) -> Generator[FormQuestion, str, tuple[SaidOfPart, Shop | None]]:
    """Ask every question that is open, until each is answered."""
    questions = open_questions(said, shop)
    if questions and not said.unit:
        said = yield from _unit(said)
    while questions:
        first, named = questions[0], said.shop
        if first.key == "sections" and not first.adds:
            said = yield from _sections(first, said, shop)
            said = yield from _milled(said, shop)
        else:
            said = yield from _one(first, said, shop)
        if said.shop != named:
            shop = read_shop_of(said)
        questions = open_questions(said, shop)
    return said, shop


def _ask(
    said: SaidOfPart, words: str, hint: str = "", problems: tuple[Problem, ...] = (), *, may_skip: bool = False
) -> FormQuestion:
    return FormQuestion(words=words, hint=hint, problems=problems, may_skip=may_skip, so_far=_listed(said))


def _listed(said: SaidOfPart) -> str:
    """List what was said so far, one thing a line."""
    rows = []
    for key in SaidOfPart.__annotations__:
        value = getattr(said, key)
        rows += [
            f"  {key.replace('_', ' ')}: {text}" for text in (value if isinstance(value, tuple) else [value]) if text
        ]
    return "\n".join(rows)


def _unit(said: SaidOfPart) -> Generator[FormQuestion, str, SaidOfPart]:
    """Ask for the unit of bare numbers; an empty answer is allowed."""
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield _ask(said, "unit of numbers that are written without one", "mm, in, or Enter for none", problems,
                            may_skip=True)  # fmt: skip
        unit = british(answer.lower())
        if unit in ("", "mm", "in"):
            return replace(said, unit=unit)
        problems = (_refused("this is not one of the answers", answer, "mm, in, or nothing"),)


def _one(question: Question, said: SaidOfPart, shop: Shop | None) -> Generator[FormQuestion, str, SaidOfPart]:
    """Ask one question until the answer can be used."""
    hint = ", ".join(question.options) or in_unit(question.hint, said.unit)
    problems: tuple[Problem, ...] = ()
    while True:
        tried = question.answer(said, (yield _ask(said, question.words, hint, problems)))
        problems = _wrong(question.key, said, tried, shop)
        if not problems:
            return tried


def _wrong(key: str, said: SaidOfPart, tried: SaidOfPart, shop: Shop | None) -> tuple[Problem, ...]:
    """Return what an answer makes wrong: by itself, in the shop file that it names, or with the part as said so far."""
    problems = _here(check_said(tried, [key], shop))
    if not problems and key == "shop":
        try:
            read_shop_of(tried)
        except ProblemError as found:
            return found.problems
    if not problems and key not in BY_THEMSELVES:
        problems = breaks_part(said, tried, shop)
    return tuple(problems)


def _sections(question: Question, said: SaidOfPart, shop: Shop | None) -> Generator[FormQuestion, str, SaidOfPart]:
    """Ask for one section after another, until an empty line."""
    roles = f"{', '.join(ROLES[:-1])} or {ROLES[-1]}"
    intro = in_unit(
        f"{question.words}; an empty line ends them\n  {question.hint}\n"
        f"  ROLE is {roles}; limits may follow: -0.01 / -0.03 mm, or h7\n"
        "  DIAMETER of a screw is thread M3, of a taper 6 mm to 5 mm\n", said.unit,
    )  # fmt: skip
    problems: tuple[Problem, ...] = ()
    while True:
        count = len(said.sections)
        words = f"{intro if not count and not problems else ''}section {count + 1}"
        answer = yield _ask(said, words, "", problems, may_skip=bool(count))
        if not answer:
            problems = _wrong("sections", replace(said, sections=()), said, shop)
            if not problems:
                return said
            continue
        longer = replace(said, sections=(*said.sections, answer))
        by_itself = check_said(replace(said, sections=(answer,)), ["sections"], shop)
        problems = (*_here(by_itself), *_called_twice(said, answer)) or _whatever_follows(said, longer, shop)
        if not problems:
            said = longer


def _here(problems: Sequence[Problem]) -> list[Problem]:
    """Return problems of flags as those of the answer that was typed."""
    return [replace(p, where=THIS) for p in problems]


FOLLOWERS = ((), ("what follows, plain, 500 mm, 1 mm",), ("what follows, plain, 0.1 mm, 1 mm",))
"""What may come after a section: nothing, or one that is thicker, or thinner."""


def _whatever_follows(before: SaidOfPart, after: SaidOfPart, shop: Shop | None) -> tuple[Problem, ...]:
    """Return what the last section makes wrong, whatever comes after it."""
    longer = [replace(after, sections=(*after.sections, *more)) for more in FOLLOWERS]
    return tuple(sorted(frozenset.intersection(*(frozenset(breaks_part(before, one, shop)) for one in longer))))


def _called_twice(said: SaidOfPart, answer: str) -> tuple[Problem, ...]:
    """Report a section whose name is taken."""
    name = answer.partition(",")[0].strip()
    if name not in (text.partition(",")[0].strip() for text in said.sections):
        return ()
    return (_refused(f'there is a section called "{name}" already', answer, "another name"),)


def _milled(said: SaidOfPart, shop: Shop | None) -> Generator[FormQuestion, str, SaidOfPart]:
    """Ask whether anything is milled, where the shop has a mill; what is missing from it is asked after that."""
    if shop is None or shop.milling.mill is None:
        return said
    blank = square_blank(said)
    if blank and not said.square:
        words = f'size across flats of the square on "{blank}"'
        said = yield from _if_any(said, shop, words, "Enter to leave it round", "square", "across")
    if not said.cross_holes:
        said = yield from _if_any(said, shop, "name of a cross hole", "Enter for none", "cross_holes", "name")
    return said


def _if_any(
    said: SaidOfPart, shop: Shop, words: str, hint: str, key: str, adds: str
) -> Generator[FormQuestion, str, SaidOfPart]:
    """Ask for the first words about something that there may be; what is said stays the same where there is none."""
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield _ask(said, words, hint, problems, may_skip=True)
        if not answer:
            return said
        text = f"{adds} {answer}"
        tried = replace(said, square=text) if key == "square" else replace(said, cross_holes=(text,))
        problems = _wrong(key, said, tried, shop)
        if not problems:
            return tried


def _refused(what: str, given: str, allowed: str) -> Problem:
    return Problem(where=THIS, what=what, given=given, allowed=allowed)
