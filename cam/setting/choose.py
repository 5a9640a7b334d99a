"""Chooses the order of ends: what the part file forces, what its grips imply, or the weaker end last."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, problem
from cam.lengths.solved import Solved, first_view
from cam.part.features import End
from cam.part.model import Section
from cam.setting.aims import Aims
from cam.setting.between import settle_between
from cam.setting.model import Setting
from cam.setting.order import (
    Halves,
    Share,
    check_halves_meet,
    find_halves,
    implied_first,
    other,
    share_sections,
    tell_weakness,
    weakness,
)
from cam.setting.words import quoted
from cam.shop.model import Shop

ENDS: tuple[End, End] = ("A", "B")


@frozen
class OrderTried:
    """One order of ends, worked out; share is the sections of each setting."""

    first: End
    settings: tuple[Setting, ...]
    problems: tuple[Problem, ...]
    reasons: tuple[str, ...] = ()
    share: Share = ((), ())

    def because(self, reason: str) -> OrderTried:
        """Return the same order with one more reason for it."""
        return replace(self, reasons=(reason, *self.reasons))


def choose_order(part: Solved, shop: Shop, aims: Aims) -> OrderTried:
    """Return the order that the part file forces or its grips imply; otherwise the weaker end comes last, if it can.

    An end with a length that is still to be measured comes last, before any other reason.
    """
    part = first_view(part, "B")
    halves = find_halves(part)
    if part.holding.first is not None:
        return _offer_other(try_order(part, shop, aims, halves, part.holding.first), part, shop, aims, halves)
    strong, numbers = _prefer(part, halves)
    implied = implied_first(part, halves)
    if implied is not None:
        first, why = implied
        note = "" if first == strong else f" The weaker end would better come last ({numbers})."
        return try_order(part, shop, aims, halves, first).because(f"The {first} end is turned first: {why}.{note}")
    preferred = try_order(part, shop, aims, halves, strong)
    if not preferred.problems:
        if part.to_be_measured:
            return preferred.because(f"The {strong} end is turned first: {numbers}.")
        return preferred.because(f"The {strong} end is turned first, so that the weaker end comes last ({numbers}).")
    second = try_order(part, shop, aims, halves, other(strong))
    if second.problems:
        return min((preferred, second), key=lambda t: len(t.problems))
    why = min(preferred.problems).what
    return second.because(
        f"The {second.first} end is turned first, though the weaker end would better come last ({numbers}): "
        f"the other way round, {why}."
    )


def _offer_other(tried: OrderTried, part: Solved, shop: Shop, aims: Aims, halves: Halves) -> OrderTried:
    """Return what was tried; where nothing stands against the other order, its problems offer that."""
    way = f"turn the {other(tried.first)} end first"
    if not tried.problems or try_order(part, shop, aims, halves, other(tried.first)).problems:
        return tried
    better = (p if way in p.fix else replace(p, fix=f"{p.fix}, or {way}" if p.fix else way) for p in tried.problems)
    return replace(tried, problems=tuple(better))


def _prefer(part: Solved, halves: Halves) -> tuple[End, str]:
    """Return the end that is better turned first, and why."""
    if not part.to_be_measured:
        first: End = "A" if weakness(part, halves, "A") <= weakness(part, halves, "B") else "B"
        return first, tell_weakness(part, halves)
    known = [end for end in ENDS if not any(find_unmeasured(part, halves.of(end)))]
    first = known[0] if known else "A"
    return first, f"the {other(first)} end comes last: {quoted(part.to_be_measured)} is to be measured first"


def try_order(part: Solved, shop: Shop, aims: Aims, halves: Halves, first: End) -> OrderTried:
    """Work out the settings for one order, with the thickest sections in the better of the two if that can be done."""
    shares = share_sections(halves, first)
    part = first_view(part, other(first))
    better = _try_share(part, shop, aims, first, shares[0])
    if not better.problems:
        return better
    why = min(better.problems).what
    for share in shares[1:]:
        tried = _try_share(part, shop, aims, first, share)
        if not tried.problems:
            return tried.because(f"The thickest sections do not go with the end that usually takes them: {why}.")
    return better


def _try_share(part: Solved, shop: Shop, aims: Aims, first: End, share: Share) -> OrderTried:
    problems = check_halves_meet(part, *share)
    if part.to_be_measured and (unknown := list(_check_known(part, first, share[0]))):
        return OrderTried(first=first, settings=(), problems=(*problems, *unknown), share=share)
    settings, more = settle_between(part, shop, aims, first, share)
    return OrderTried(first=first, settings=settings, problems=(*problems, *more), share=share)


def find_unmeasured(part: Solved, indices: Iterable[int]) -> Iterator[Section]:
    """Find the sections whose faces are to be measured."""
    for i in indices:
        if math.isnan(part.sections[i].start + part.sections[i].end):
            yield part.sections[i]


def _check_known(part: Solved, first: End, indices: Iterable[int]) -> Iterator[Problem]:
    """Check that the first setting can be planned: it turns nothing yet to be measured, and the bar has its length."""
    missing = quoted(part.to_be_measured)
    for section in find_unmeasured(part, indices):
        what = f'"{section.name}" would be turned in setting 1, but {missing} is to be measured first'
        allowed = "setting 1 turns only what is known before it"
        fix = f"turn the {other(first)} end first, give a length there, or measure before setting 1"
        yield problem(section.where, what, f"the {first} end is turned first", allowed, fix)
    if math.isnan(part.length):
        what = f"the bar must be faced to length before setting 1, but {missing} is to be measured first"
        fix = 'give it at the top of the file as length = "...", and leave out the length of an end section'
        yield problem(part.stock.length.where, what, "the length of the whole part is not known", fix=fix)
