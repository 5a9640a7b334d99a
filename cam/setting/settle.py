"""Works out the settings from part and shop: how work is held, where Z is zero, what is there and what is wanted."""

from __future__ import annotations

from dataclasses import replace

from cam.ground.problem import Problem, ProblemError, refusal
from cam.lengths.behind import tell_records
from cam.lengths.solved import Solved, first_view
from cam.setting.aims import Aims, aim_diameters, check_limits_can_be_held
from cam.setting.choose import choose_order
from cam.setting.corrections import correct
from cam.setting.held import settle_held
from cam.setting.measured import second_setting, spanned
from cam.setting.model import Setting
from cam.setting.names import check_names
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
