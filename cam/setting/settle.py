"""Works out the settings from part and shop: how work is held, where Z is zero, what is there and what is wanted.

The order of ends is what the part file forces, what its grips imply, or the weaker end last.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, problem, refusal
from cam.lengths.behind import tell_records
from cam.lengths.solve import solve_cut
from cam.lengths.solved import Solved, first_view, place
from cam.part.features import End
from cam.part.model import Section
from cam.setting.aims import Aims, aim_diameters, check_limits_can_be_held
from cam.setting.between import settle_between
from cam.setting.corrections import correct
from cam.setting.held import settle_held
from cam.setting.measured import faces_left, second_setting, spanned
from cam.setting.model import Setting
from cam.setting.names import check_names
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


def settle(part: Solved, shop: Shop) -> tuple[Setting, ...]:
    """Return all settings of a part in the order of work, from part and shop alone.

    Between centres, the end turned first comes first, with the thickest sections, then the reversed work; there is one
    setting only where nothing is left to turn at the other end. In a collet or chuck, there is the free end.

    Args:
        part: as `read_part` returns it (its own checks are not repeated).
        shop: as `read_shop` returns it.

    Raises:
        ProblemError: everything that stands against holding and turning the part so, at once.
    """
    problems = check_names(part, shop) + check_limits_can_be_held(part, shop.lathe)
    aims, more = aim_diameters(part, shop)
    problems += more
    if problems:
        raise ProblemError(problems)
    try:
        return _settle_all(part, shop, aims)
    except ProblemError as found:
        raise ProblemError(tell_records(part, found.problems)) from None


def as_cut(part: Solved, shop: Shop) -> Solved:
    """Return a part as it comes out by all that is recorded; what setting 1 cut stays, whatever setting 2 came to.

    Raises:
        ProblemError: no length is left for a section.
    """
    measured = part.measured
    if measured is None or not measured.cut_faces:
        return part
    uncut = replace(measured, records=tuple(r for r in measured.records if r.target.kind == "measurement"))
    early = place(replace(part, measured=uncut), uncut, chain := uncut.solve(early=True))
    try:
        first, *_ = settle(replace(early, measured=replace(uncut, chain=chain)), shop)
    except ProblemError:
        return part  # nothing can have been cut of it
    return solve_cut(part, faces_left(part, first))


def _settle_all(part: Solved, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    """Return all settings in the order of work; only the first while a length of the second is to be measured."""
    if part.holding.method != "between centres":
        settings = _settle_held(part, shop, aims)
    else:
        settings = _settle_ends(part, shop, aims)
    measured = part.measured
    if measured is None:
        return settings
    settings = tuple(replace(s, spanned=tuple(spanned(part, measured, s))) for s in settings)
    if shop.lathe.control.kind != "stepper":
        return settings
    problems: list[Problem] = []
    settings = tuple(correct(part, shop, s, measured.stops, problems) for s in settings)
    if problems:
        raise ProblemError(problems)
    return settings


def _settle_ends(part: Solved, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    """Settle a part between centres; if a length was recorded or is to be measured, setting 2 goes by what is left."""
    tried = choose_order(part, shop, aims)
    if tried.problems:
        raise ProblemError(tried.problems)
    first, *rest = tried.settings
    first = replace(first, reasons=(*tried.reasons, *first.reasons, *aims.reasons))
    if part.measured is not None and part.measured.changes and tried.share[1]:
        rest = [*second_setting(part, part.measured, shop, aims, first, tried.share)]
    return (first, *rest)


def _settle_held(part: Solved, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    """Settle a part in a collet or chuck: there is one setting, so nothing can be measured after it."""
    view = first_view(part, part.holding.first or "A")
    if missing := view.to_be_measured:
        raise refusal(
            part.holding.where,
            f"in a {part.holding.method} there is one setting, and {quoted(missing)} is to be measured",
            fix="take the measurement first and give its value, or turn the part between centres",
        )
    settings, problems = settle_held(view, shop, aims)
    if problems:
        raise ProblemError(problems)
    return tuple(replace(s, reasons=(*s.reasons, *aims.reasons)) for s in settings)


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
