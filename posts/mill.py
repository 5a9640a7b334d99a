"""Writes the program of a mill: what its words need beside what every program has."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cam.moves.model import Move, Stop
from cam.part.model import Part
from cam.shop.mill import Mill
from cam.shop.model import Shop
from posts.control import words_of
from posts.dialect import Dialect
from posts.pages.lists import listed
from posts.program import length_in, limits_in, tools_of, write
from posts.shown import fit
from posts.steps import Speech, choose_form, steps_of
from posts.wording import plain

SHOWN = {
    "prove height": ("prove Z by a rule, before it moves", "prove Z by a rule"),
    "prove rotary axis": ("prove A: did it turn the right way?", "prove A: the right way?"),
    "prove": ("prove Z in air: try the gap", "prove Z: try the gap"),
    "measure": ("measure",),
    "centre": ("set X and Y, Z at each tool's stop", "set X and Y now, Z later"),
    "correct": ("correct Z by the mean of pairs", "correct Z by the pairs"),
    "tap": ("tap by hand, the spindle off", "tap by hand"),
}
"""The words that a stop shows, the longer ones first, by what it is for."""


def emit_mill(
    moves: Sequence[Move], *, title: str, notes: Sequence[str], part: Part, shop: Shop, mill: Mill, dialect: Dialect,
    cycles: bool = True,
) -> str:  # fmt: skip
    """Write the program of one job of the mill: plain ASCII, every line ended by a line feed.

    Args:
        title: what it makes. notes: how it is set up, one sentence each, for the head of the program.
        cycles: False writes every drilling cycle long-hand.
    Raises:
        ProblemError: the dialect cannot say something; nothing is written then.
    """
    form = choose_form(dialect, mill.units, across=True)
    words, size = words_of(mill.facts, dialect, mill.where, tools_of(moves)), length_in(form)
    zeros = [own for number in tools_of(moves) if (own := words.own(number))]
    speech = Speech(
        dialect=dialect, form=form, control=words, where=mill.where, lines={}, cycles=cycles,
        shown=lambda stop: fit(words.width, *map(plain, _shown(stop, size))),
        said=lambda stop: _said(stop, size, limits_in(form), zeros),
    )  # fmt: skip
    about = {"title": title, "notes": notes, "part": part, "shop": shop, "mill": mill, "units": mill.units}
    return write(speech, steps_of(moves, speech), "MILL_TEMPLATE", words="mill_words.ngc.j2", **about)


def _shown(stop: Stop, size: Callable[[float], str]) -> tuple[str, ...]:
    """Say what a stop is for, or what is measured there and how much it should be: "flat 1 to round 4.748 now"."""
    if not stop.readings:
        return SHOWN.get(stop.reason, (stop.reason,))
    name = stop.readings[0].name if len(stop.readings) == 1 else "across all pairs"
    says = f"{name} {size(stop.readings[0].expected)}"
    return f"{says} now", says, says.replace("across ", "", 1)


def _said(
    stop: Stop, size: Callable[[float], str], within: Callable[[float, float], str], zeros: Sequence[str]
) -> tuple[str, ...]:
    """Return the comments of a stop: what to do and what to read; zeros: what holds the zeros, one for each tool."""
    lines = list(stop.lines)
    if stop.reason == "centre" and zeros:
        each = "each of " if len(zeros) > 1 else ""
        lines.append(f"Enter X and Y in {each}{listed(zeros)}.")
        lines += ["Call each in turn, nothing moved: it must show the same X and Y."] if each else []
    for r in stop.readings:
        limits = "" if r.least == r.most else f", {within(r.least, r.most)} allowed"
        lines.append(f"{r.name}: {size(r.expected)} expected{limits}")
    return tuple(lines)
