"""What every setting has, whatever holds it: turned sections, outlines, and how far the tool may go."""

from __future__ import annotations

import math

from cam.ground.problem import Problem, problem
from cam.ground.quantity import misfit
from cam.ground.tolerances import AS_GIVEN, AS_PROGRAMMED
from cam.part.model import Part
from cam.setting.grips import room_at_carrier
from cam.setting.model import Turned
from cam.setting.words import at_least, say
from cam.shop.model import Lathe, Shop

OVERRUN = 0.5
"""How far past the last section's open end the tool goes, beyond the nose's width, mm. A turner's habit, no source."""

TAKE_UP = 1.2
"""How many times its backlash a slide is moved to take it up; more than once, to be sure."""

SLACK = 0.005
"""The length left beyond the last cut for the rounding of programs, mm: more than half of 0.0001 in."""


def nose_radii(shop: Shop) -> tuple[float, float]:
    """Return the least and the greatest nose radius among the right-hand turning tools, mm; zero if there is none."""
    found = shop.noses or (0.0,)
    return min(found), max(found)


def find_limit(last: Turned, nose: float) -> float:
    """Return the least Z to which the tool may cut, mm, in whole hundredths.

    A shoulder is the limit. An open end, or an edge to be cut on the shoulder, takes the widest nose and OVERRUN
    beyond. SLACK is added to each, and the limit is rounded down, so that a program's own rounding does not pass it.
    """
    limit = last.far
    if last.far_kind == "open":
        limit -= nose + OVERRUN
    elif last.far_edge is not None:
        limit -= last.far_edge.size + nose + OVERRUN
    return math.floor((limit - SLACK) * 100 + 1e-6) / 100


def check_stock_swings(part: Part, lathe: Lathe) -> list[Problem]:
    """Check that the stock swings over the cross slide."""
    if not part.stock.diameter > lathe.swing_over_slide:
        return []
    what, allowed = "the stock does not swing over the cross slide", f"at most {lathe.swing_over_slide.text}"
    return [misfit(what, allowed, diameter=part.stock.diameter)]


def check_room_at_head(
    part: Part, shop: Shop, last: Turned, limit_z: float, holder: tuple[str, float, float], *, longer: str = ""
) -> list[Problem]:
    """Check that the last cut stays clear of the carrier, collet or chuck, with all of the tool.

    Args:
        holder: its name, Z of its tailstock side, mm, and its swing, mm.
        longer: the end at which extra length makes longer what is gripped; "" for none.
    """
    name, near, swing = holder
    clearance = float(shop.lathe.contact_clearance)
    back = take_up_behind(last, float(shop.lathe.z.backlash))
    left, tool = room_at_carrier(shop.tools, last, limit_z - back, swing, clearance)
    short = near + clearance + left + AS_PROGRAMMED - (limit_z - back)  # clear by just enough, in the text too
    if short <= AS_GIVEN:
        return []
    takes = f', and "{tool}" stands {say(left, part)} further over at that height' if left > 0 else ""
    goes = f", the tool goes {say(back, part)} past it to take up Z's backlash" if back > 0 else ""
    at = f" at the {longer} end" if longer else ""
    what = f'{name}{at} is in the way of the last cut on "{last.section.name}"'
    given = f"the cut ends at Z {say(limit_z, part)}{goes}, {name} begins at Z {say(near, part)}{takes}"
    allowed = f"at least {at_least(clearance + left, part)} between them"
    less = 0.01 + float(shop.lathe.z.division) if longer else 0.0  # that a cut may move less, as it ends at a mark
    fix = f"{_further_off(part, short + less, longer)}, or something narrower to hold it"
    return [problem(part.stock.length.where, what, given, allowed, fix)]


def take_up_behind(last: Turned, play: float) -> float:
    """Return how far past its end the tool goes before a taper is cut toward the tailstock, for Z's backlash, mm."""
    return (TAKE_UP - 1) * play if last.radius_far > last.radius_near else 0.0


def _further_off(part: Part, short: float, longer: str) -> str:
    """Say what moves a chuck, or a carrier, away from the last cut by this much, mm."""
    if longer:
        return f"leave {at_least(short, part)} more extra length at the {longer} end"
    if part.holding.method == "between centres":
        return f"{at_least(short, part)} more length at the headstock end"
    return stand_out(part, short)


def stand_out(part: Part, further: float) -> str:
    """Say how far stock in a collet or chuck must stand out to come so much further off it, mm."""
    return f"make stick_out {at_least(part.holding.stick_out + further, part)} or more"
