"""From part and shop to settings: who is held how, where Z is zero, what is there and what is wanted."""

from __future__ import annotations

from dataclasses import replace

from cam.frozen import frozen
from cam.part.model import End, Part
from cam.problem import Problem, ProblemError
from cam.setting.aims import Aims, aim_diameters, check_limits_can_be_held
from cam.setting.between import settle_between
from cam.setting.held import settle_held
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
from cam.shop.model import Shop


def settle(part: Part, shop: Shop) -> tuple[Setting, ...]:
    """All settings of a part in the order of work, from part and shop alone.

    Between centres: the end turned first, with the thickest sections, then the reversed work; one setting only
    where nothing is left to turn at the other end. In a collet or chuck: the free end.

    Args:
        part: as read_part gives it (its own checks are not repeated).
        shop: as read_shop gives it.

    Raises:
        ProblemError: everything that stands against holding and turning the part so, at once.
    """
    problems = check_names(part, shop) + check_limits_can_be_held(part, shop.lathe)
    aims, more = aim_diameters(part, shop.lathe)
    problems += more
    if problems:
        raise ProblemError(problems)
    if part.holding.method != "between centres":
        tried = _Try(first=part.holding.first or "A", settings=(), problems=())
        settings, problems = settle_held(part, shop, aims)
        tried = replace(tried, settings=settings, problems=tuple(problems))
    else:
        tried = _choose_order(part, shop, aims)
    if tried.problems:
        raise ProblemError(tried.problems)
    first, *rest = tried.settings
    return (replace(first, reasons=(*tried.reasons, *first.reasons, *aims.reasons)), *rest)


@frozen
class _Try:
    """One order of ends, worked out."""

    first: End
    settings: tuple[Setting, ...]
    problems: tuple[Problem, ...]
    reasons: tuple[str, ...] = ()

    def because(self, reason: str) -> _Try:
        """The same with a reason for it."""
        return replace(self, reasons=(reason, *self.reasons))


def _choose_order(part: Part, shop: Shop, aims: Aims) -> _Try:
    """The order that the part file forces, or that its grips imply; otherwise the weaker end comes last, if it can."""
    halves = find_halves(part)
    if part.holding.first is not None:
        return _try_order(part, shop, aims, halves, part.holding.first)
    weak = {end: weakness(part, halves, end) for end in ("A", "B")}
    strong: End = "A" if weak["A"] <= weak["B"] else "B"
    numbers = tell_weakness(part, halves)
    implied = implied_first(part, halves)
    if implied is not None:
        first, why = implied
        note = "" if first == strong else f" The weaker end would better come last ({numbers})."
        return _try_order(part, shop, aims, halves, first).because(f"The {first} end is turned first: {why}.{note}")
    preferred = _try_order(part, shop, aims, halves, strong)
    if not preferred.problems:
        return preferred.because(f"The {strong} end is turned first, so that the weaker end comes last ({numbers}).")
    second = _try_order(part, shop, aims, halves, other(strong))
    if second.problems:
        return min((preferred, second), key=lambda t: len(t.problems))
    why = min(preferred.problems).what
    return second.because(
        f"The {second.first} end is turned first, though the weaker end would better come last ({numbers}): "
        f"the other way round, {why}."
    )


def _try_order(part: Part, shop: Shop, aims: Aims, halves: Halves, first: End) -> _Try:
    """The settings for one order, with the thickest sections in the better of the two, if that can be done."""
    shares = share_sections(halves, first)
    better = _try_share(part, shop, aims, first, shares[0])
    if not better.problems:
        return better
    why = min(better.problems).what
    for share in shares[1:]:
        tried = _try_share(part, shop, aims, first, share)
        if not tried.problems:
            return tried.because(f"The thickest sections do not go with the end that usually takes them: {why}.")
    return better


def _try_share(part: Part, shop: Shop, aims: Aims, first: End, share: Share) -> _Try:
    problems = check_halves_meet(part, *share)
    settings, more = settle_between(part, shop, aims, first, share)
    return _Try(first=first, settings=settings, problems=(*problems, *more))
