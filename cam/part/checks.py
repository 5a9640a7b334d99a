"""What can be wrong with a part by itself, as one small check for each thing."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from cam.ground.problem import Problem, problem
from cam.ground.quantity import misfit
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import in_unit
from cam.part.details import (
    at_least,
    at_most,
    check_chamfers_meet_tapers,
    check_corners_fit,
    check_details_fit_length,
    check_edges_fit,
    check_undercut_reaches_through_taper,
    say,
)
from cam.part.features import BEARING_ROLES, End, size_of
from cam.part.model import EndHolding, Part, Section

CLEAN_UP = 0.1
"""The least by which bar stock must be thicker than what is turned from it, on diameter, mm: bar is neither round nor
straight, and centre holes are never quite in its middle. Common practice, no source.
"""

RIM = 0.1
"""The least metal round the mouth of a centre hole, per side, as a share of the mouth. Common practice, no source."""

WIDEST_LIMITS = 0.25
"""The greatest offset of a limit as a share of the size; beyond, the unit must be wrong. Common practice, no source."""

Check = Callable[[Part], Iterator[Problem]]


def _section(section: Section) -> str:
    return f'section "{section.name}", line {section.where.line}'


def _upper(section: Section) -> float:
    """Return the largest diameter that the limits allow, mm."""
    return section.thickest + (section.tolerance.upper if section.tolerance else 0.0)


def _least(section: Section) -> float:
    """Return the smallest diameter that the limits allow, mm."""
    return min(section.diameter_a, section.diameter_b) + section.lower


def _given(section: Section) -> str:
    if not section.is_taper:
        return f'diameter = "{section.diameter_a.text}"'
    return f'diameter_a = "{section.diameter_a.text}", diameter_b = "{section.diameter_b.text}"'


def _wrong(section: Section, what: str, allowed: str = "", fix: str = "") -> Problem:
    """Return a problem with the diameters of a section."""
    return Problem(where=section.where, what=what, given=_given(section), allowed=allowed, fix=fix)


Walk = list[tuple[Section, float, float]]
"""Sections on the way in from an end, each with its diameters outward and inward, mm."""


def _walks(part: Part) -> Iterator[tuple[End, Walk]]:
    """Yield the walks from each end that is turned to the thickest section.

    In a collet or chuck the only walk goes from the free end to the other.
    """
    from_a = [(s, float(s.diameter_a), float(s.diameter_b)) for s in part.sections]
    from_b = [(s, b, a) for s, a, b in reversed(from_a)]
    if part.holding.method == "between centres":
        peak = part.thickest
        yield "A", from_a[: peak + 1]
        yield "B", from_b[: len(from_b) - peak]
    elif part.holding.first is not None:
        yield part.holding.first, from_a if part.holding.first == "A" else from_b


def _solid(part: Part, walk: Walk) -> Walk:
    """Return a walk without the grooves on the way."""
    return [row for row in walk if not is_groove(part, part.sections.index(row[0]))]


def is_groove(part: Part, index: int) -> bool:
    """Whether an undercut section lies between two larger neighbours, so that a grooving tool cuts it."""
    return is_groove_of(part.sections, index)


def is_groove_of(sections: Sequence[Section], index: int) -> bool:
    """Whether one of some sections is a groove; see `is_groove`."""
    if sections[index].role != "undercut" or not 0 < index < len(sections) - 1:
        return False
    size = sections[index].thickest + AS_GIVEN
    return sections[index - 1].diameter_b > size < sections[index + 1].diameter_a


# Order and thickness ----------------------------------------------------------------------------------


def check_pivot_thinner_than_shoulder(part: Part) -> Iterator[Problem]:
    """Check that a pivot stands on a shoulder: what is inward of it is thicker."""
    for _, walk in _walks(part):
        for (pivot, _, size), (shoulder, outward, _) in pairwise(_solid(part, walk)):
            if pivot.role != "pivot" or outward > size + AS_GIVEN or math.isnan(outward + size):
                continue
            same = abs(outward - size) <= AS_GIVEN
            what = f'pivot "{pivot.name}" is {"as thick as" if same else "thicker than"} the shoulder it stands on'
            allowed = f"less than {say(outward, part)} ({_section(shoulder)})"
            fix = "make it thinner, or check that the sections run in order from the A end"
            yield _wrong(pivot, what, allowed, fix)


def check_pivot_has_shoulder(part: Part) -> Iterator[Problem]:
    """Check that no pivot is the thickest section, since it would stand on nothing."""
    thickest = part.sections[part.thickest]
    if thickest.role == "pivot" and not math.isnan(thickest.thickest):
        what = f'pivot "{thickest.name}" has no shoulder: no section is thicker'
        fix = "give it a thicker neighbour, or another role"
        yield _wrong(thickest, what, fix=fix)


def check_reachable(part: Part) -> Iterator[Problem]:
    """Check that diameters grow from each end to the thickest section, so that a turning tool reaches every one."""
    for end, walk in _walks(part):
        peak, solid = walk[-1][0], _solid(part, walk)
        for at, (section, outward, inward) in enumerate(solid):
            widest = max((s for s, _, _ in solid[:at]), key=lambda s: s.thickest, default=None)
            low = min(outward, inward) if section is not peak else outward
            if widest is not None and low < widest.thickest - AS_GIVEN and not _is_bad_pivot(part, widest, section):
                yield _hidden(part, end, section, widest, peak)
            elif outward > inward + AS_GIVEN and section is not peak:
                what = f'section "{section.name}" grows thinner away from the {end} end, where the tool comes from'
                fix = "turn the taper round, or check that the sections run in order from the A end"
                yield _wrong(section, what, fix=fix)


def _is_bad_pivot(part: Part, outer: Section, section: Section) -> bool:
    """Whether `check_pivot_thinner_than_shoulder` reports it already."""
    return outer.role == "pivot" and abs(part.sections.index(outer) - part.sections.index(section)) == 1


def _hidden(part: Part, end: End, section: Section, outer: Section, thickest: Section) -> Problem:
    free = part.holding.method != "between centres"
    behind = "" if free or section is thickest else f' and "{thickest.name}" (line {thickest.where.line})'
    what = f'no turning tool reaches section "{section.name}" from the {end} end: it is hidden behind "{outer.name}"'
    allowed = f"at least {at_least(outer.thickest, part)} ({_section(outer)}){behind}"
    fix = 'put the sections in order; a groove that a grooving tool is to cut has role = "undercut"'
    return Problem(where=section.where, what=what, given=_given(section), allowed=allowed, fix=fix)


def check_undercuts_are_grooves(part: Part) -> Iterator[Problem]:
    """Check that a section that is an undercut lies between two larger ones."""
    for at, section in enumerate(part.sections):
        if section.role != "undercut" or is_groove(part, at) or math.isnan(section.thickest):
            continue
        what = f'undercut "{section.name}" is not a groove between two larger sections'
        allowed = "smaller than both of its neighbours"
        fix = "give it another role, or check the order of the sections"
        yield _wrong(section, what, allowed, fix)


def check_something_is_turned(part: Part) -> Iterator[Problem]:
    """Check that something is turned: a part that is nothing but bar needs no lathe."""
    if all(section.as_stock for section in part.sections):
        what = "every section is left as stock, so there is nothing to turn"
        fix = 'write finish = "turn" where metal is to come off'
        yield problem(part.sections[0].finish.where, what, part.sections[0].finish.text, fix=fix)


# The square -------------------------------------------------------------------------------------------


def check_blank_passes_bearing(part: Part) -> Iterator[Problem]:
    """Check that a square blank passes the hole that its bearing is; with flats milled on it, its corners must."""
    for section in part.sections:
        if section.bearing is None or (part.milled is not None and _corners_fall_short(part, section)):
            continue
        if _upper(section) >= section.bearing:
            given = f'{_given(section)}, {say(_upper(section), part)} at most; bearing = "{section.bearing.text}"'
            allowed = f"less than {say(section.bearing, part)} at its upper limit"
            fix = "make the blank thinner, or check the size of the bearing's hole"
            yield problem(section.where, f'square blank "{section.name}" cannot pass its bearing', given, allowed, fix)


def _corners_fall_short(part: Part, section: Section) -> bool:
    """Whether flats leave nothing of a section's round at its shoulder; its own plan then checks the corners."""
    square = None if part.milled is None else part.milled.square
    if square is None or square.section != section.name:
        return False
    across = square.across + 2 * square.taper.slope * square.station + square.allowance
    return across / math.cos(math.pi / square.flats) < _upper(section)


def check_blank_smaller_than_its_pivot(part: Part) -> Iterator[Problem]:
    """Check that what lies outward of a pivot goes through the pivot's hole, and that the pivot can run in it."""
    for _, walk in _walks(part):
        for at, (blank, _, _) in enumerate(walk):
            inward = next((s for s, _, _ in walk[at + 1 :] if s.role in BEARING_ROLES), None)
            if blank.role != "square blank" or inward is None:
                continue
            if _upper(blank) >= _least(inward):
                yield Problem(
                    where=blank.where,
                    what=f'square blank "{blank.name}" is not smaller than the {inward.role} behind it',
                    given=f"{_given(blank)}, {say(_upper(blank), part)} at most",
                    allowed=f"less than {say(_least(inward), part)}, the least of {_section(inward)}",
                    fix="make the blank thinner: it goes through the hole first",
                )
            if blank.bearing is not None and _upper(inward) >= blank.bearing:
                what = f'{inward.role} "{inward.name}" cannot run in the bearing that "{blank.name}" passes'
                allowed = f"more than {say(_upper(inward), part)}, the most of {_section(inward)}"
                fix = "check the size of the bearing's hole and the limits of the " + inward.role
                yield misfit(what, allowed, fix, bearing=blank.bearing)


# Stock ------------------------------------------------------------------------------------------------


def check_stock_thick_enough(part: Part) -> Iterator[Problem]:
    """Check that the bar is thicker than all that is turned, and equal to what is left as stock."""
    stock = part.stock.diameter
    for section in part.sections:
        need = _upper(section) + section.finish.on_diameter
        if section.as_stock:
            if max(abs(section.diameter_a - stock), abs(section.diameter_b - stock)) > AS_GIVEN:
                what = f'section "{section.name}" is left as stock but is not as thick as the stock'
                allowed = f"{stock.text} ([stock], line {stock.where.line})"
                fix = f'write diameter = "{stock.text}", or finish = "turn"'
                yield _wrong(section, what, allowed, fix)
        elif need + CLEAN_UP > stock + AS_GIVEN:
            what = f'the stock is too thin for section "{section.name}"'
            allowed = f"at least {at_least(need + CLEAN_UP, part)}, {say(CLEAN_UP, part)} of that to clean up"
            fix = 'take thicker bar; or leave the section as bought with finish = "as stock"'
            yield misfit(what, allowed, fix, diameter=stock)


def check_as_stock_has_no_limits(part: Part) -> Iterator[Problem]:
    """Check that no section left as stock has limits of size, since nothing is turned on it that could hold them."""
    for section in part.sections:
        if section.as_stock and section.tolerance is not None:
            what = f'section "{section.name}" is left as stock, and nothing is done that could hold limits'
            given, fix = f'tolerance = "{section.tolerance.text}"', "leave the tolerance out, or turn the section"
            yield Problem(where=section.tolerance.where, what=what, given=given, fix=fix)


def check_stock_long_enough(part: Part) -> Iterator[Problem]:
    """Check that the bar is long enough for the part and the extra length at its ends."""
    extra = math.fsum(end.extra_length for _, end in _ends(part))
    need = part.length + extra + part.holding.facing
    if part.stock.length < need - AS_GIVEN:
        more = f", {say(extra, part)} of extra length" if extra else ""
        more += f", {say(part.holding.facing, part)} to face off" if part.holding.facing else ""
        allowed = f"at least {at_least(need, part)}: {say(part.length, part)} of part{more}"
        fix = "saw a longer piece, or take less extra length"
        yield misfit("the stock is too short", allowed, fix, length=part.stock.length)


def check_limits_sane(part: Part) -> Iterator[Problem]:
    """Check that limits are small beside the size that they belong to."""
    for section in part.sections:
        for key, limits, size in (
            ("tolerance", section.tolerance, min(section.diameter_a, section.diameter_b)),
            ("length_tolerance", section.length_tolerance, section.length),
        ):
            if limits is not None and max(abs(limits.lower), abs(limits.upper)) > WIDEST_LIMITS * size:
                what = f'{key} of section "{section.name}" is far too wide for its size'
                given = f'{key} = "{limits.text}", on {say(size, part)}'
                allowed = f"offsets of at most {at_most(WIDEST_LIMITS * size, part)}"
                yield problem(limits.where, what, given, allowed, "check the unit of the limits")


# Holding ----------------------------------------------------------------------------------------------


def _ends(part: Part) -> Iterator[tuple[End, EndHolding]]:
    """Return the ends that are held between centres."""
    if part.holding.method == "between centres":
        if part.holding.end_a is not None:
            yield "A", part.holding.end_a
        if part.holding.end_b is not None:
            yield "B", part.holding.end_b


def check_centre_hole_fits(part: Part) -> Iterator[Problem]:
    """Check that the mouth of a centre hole that the file names leaves a rim on its face."""
    for end, holding in _ends(part):
        mouth = _mouth(holding.centre_hole)
        section = part.sections[0 if end == "A" else -1]
        size, edge = (section.diameter_a, section.edge_a) if end == "A" else (section.diameter_b, section.edge_b)
        face = size - 2 * (size_of(edge) if not holding.extra_length > 0 else 0.0)
        if mouth and face < mouth * (1 + 2 * RIM) - AS_GIVEN:
            what = f'section "{section.name}" is too thin for the centre hole in the {end} end'
            given = f'centre_hole = "{holding.centre_hole}", on a face of {say(face, part)}'
            allowed = f"a mouth of at most {at_most(face / (1 + 2 * RIM), part)}, with a rim of {RIM:g} of it"
            fix = "name a smaller centre hole, or leave centre_hole out to have one chosen"
            yield problem(holding.where, what, given, allowed, fix)


def _mouth(centre_hole: str) -> float:
    """Return the diameter of the mouth of a centre hole, mm, by its designation; zero where that has none."""
    if not centre_hole:  # the pattern takes a millisecond to compile
        return 0.0
    found = re.fullmatch(r"(?:ISO 6411 *-? *)?[ABR] *([0-9.]+) */ *([0-9.]+)", centre_hole.strip(), re.I)
    return float(found[2].strip(".") or 0) if found and found[2].count(".") <= 1 else 0.0


def check_grips(part: Part) -> Iterator[Problem]:
    """Check that the carrier grips stock or a section that is already turned, and never a finished pivot."""
    by_name = {section.name: section for section in part.sections}
    for end, holding in _ends(part):
        if holding.grip in ("", "stock"):
            continue
        section = by_name.get(holding.grip)
        if section is None:
            what = f'there is no section called "{holding.grip}" to grip'
            yield _grip_problem(end, holding, what, ", ".join(["stock", *by_name]))
            continue
        yield from _check_grip_side(part, end, holding, section)
        if section.role == "pivot":
            yield _grip_problem(
                end,
                holding,
                f'the carrier would grip the finished pivot "{section.name}"',
                "stock, or a section that runs in no hole",
                "grip another section; if there is none, leave extra length and grip that as stock",
            )
        elif section.role == "journal" and not holding.protection > 0:
            soft = in_unit('"0.5 mm copper"', part.unit)
            yield _grip_problem(
                end,
                holding,
                f'the carrier would grip the finished journal "{section.name}" bare',
                "a journal only with soft metal under the screw",
                f"write protection = {soft} in [holding.end_{end.lower()}], or grip another section",
            )


def _check_grip_side(part: Part, end: End, holding: EndHolding, section: Section) -> Iterator[Problem]:
    """Check that the carrier is at the other end while one end is turned."""
    at = part.sections.index(section)
    if (end == "A" and at < part.thickest) or (end == "B" and at > part.thickest):
        yield _grip_problem(
            end,
            holding,
            f'while the {end} end is turned, the carrier cannot grip "{section.name}" at that end',
            "stock, or a section on the other side of the thickest",
        )
    elif part.holding.first == end and not section.as_stock:
        yield _grip_problem(
            end,
            holding,
            f'the {end} end is turned first, when "{section.name}" is still stock',
            "stock",
            f'write grip = "stock" in [holding.end_{end.lower()}], or leave first out',
        )


def check_one_end_is_gripped_as_stock(part: Part) -> Iterator[Problem]:
    """Check that not both ends are gripped on turned sections: when the first end is turned, the other is still bar."""
    by_name = {section.name: section for section in part.sections}
    turned = [end for _, end in _ends(part) if end.grip in by_name and not by_name[end.grip].as_stock]
    if len(turned) == 2 and part.holding.first is None:
        what = "both ends are gripped on turned sections, but one end is turned first, when nothing is turned yet"
        given = f'grip = "{turned[0].grip}" and grip = "{turned[1].grip}" (line {turned[1].where.line})'
        yield problem(turned[0].where, what, given, fix='write grip = "stock" for the end that is turned first')


def _grip_problem(end: End, holding: EndHolding, what: str, allowed: str, fix: str = "") -> Problem:
    given = f'grip = "{holding.grip}" in [holding.end_{end.lower()}]'
    return Problem(where=holding.where, what=what, given=given, allowed=allowed, fix=fix)


def check_stick_out(part: Part) -> Iterator[Problem]:
    """Check that all that is turned stands out of the collet or chuck, and that something is left inside to hold."""
    holding = part.holding
    if holding.method == "between centres" or holding.first is None:
        return
    for section in part.sections:
        reach = section.end if holding.first == "A" else part.length - section.start
        if not section.as_stock and reach > holding.stick_out + AS_GIVEN:
            what = f'section "{section.name}" is partly inside the {holding.method}'
            allowed = f"at least {at_least(reach, part)} from the finished {holding.first} end ({_section(section)})"
            fix = "let the part stick out further, or turn it between centres"
            yield misfit(what, allowed, fix, stick_out=holding.stick_out)
    if holding.stick_out >= part.stock.length:
        what = f"nothing is left inside the {holding.method}"
        allowed = f"less than the stock, {part.stock.length.text} long"
        yield misfit(what, allowed, "take longer stock, or less stick_out", stick_out=holding.stick_out)


def check_protection_is_used(part: Part) -> Iterator[Problem]:
    """Check that soft metal under the screw is asked for on a turned section only."""
    for end, holding in _ends(part):
        if holding.grip == "stock" and holding.protection > 0:
            what = f"the carrier grips bare stock in [holding.end_{end.lower()}], where protection protects nothing"
            fix = "leave it out, or name the section that is gripped"
            yield misfit(what, fix=fix, protection=holding.protection)


CHECKS: tuple[Check, ...] = (
    check_pivot_thinner_than_shoulder,
    check_pivot_has_shoulder,
    check_reachable,
    check_undercuts_are_grooves,
    check_something_is_turned,
    check_blank_passes_bearing,
    check_blank_smaller_than_its_pivot,
    check_stock_thick_enough,
    check_as_stock_has_no_limits,
    check_stock_long_enough,
    check_edges_fit,
    check_corners_fit,
    check_undercut_reaches_through_taper,
    check_details_fit_length,
    check_chamfers_meet_tapers,
    check_limits_sane,
    check_centre_hole_fits,
    check_grips,
    check_one_end_is_gripped_as_stock,
    check_stick_out,
    check_protection_is_used,
)
"""All checks; each yields what it finds. A size that could not be read is nan, and no check reports it."""
