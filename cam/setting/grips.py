"""Where the carrier sits: on what, how, and whether it may."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.part.features import BEARING_ROLES, End, Role
from cam.part.model import EndHolding, Part
from cam.setting.model import Turned
from cam.setting.words import at_least, quoted, say
from cam.shop.model import Carrier, Shop, Tool

PREFERENCE: tuple[Role, ...] = ("square blank", "body", "plain", "seat", "journal")
"""What a finished end is best gripped by, where the part file does not say: the square blank is still to be milled,
a body is the stiffest, a journal is the last choice. Common practice, no source.
"""


@frozen
class GripZone:
    """A cylinder of work on which a carrier could sit, in the setting's axes.

    Attributes:
        name: the section, "stock", or "extra_length".
        words: for the page, 'the stock'.
        role: that of the section; None for stock and extra length.
        far, near: Z of its headstock and tailstock ends, mm.
        diameter: mm.
        grows: whether extra length at the end that is held makes it longer; never so of a section.
    """

    name: str
    words: str
    role: Role | None
    far: float
    near: float
    diameter: float
    grows: bool = False

    @property
    def length(self) -> float:
        """Return its length along the axis, mm."""
        return self.near - self.far


@frozen
class Grip:
    """A carrier on a zone.

    Attributes:
        far, near: Z of the carrier's sides, mm.
        protection: thickness of the soft metal under the screw, mm.
        reasons: why this carrier, and why there, where the part file does not say.
    """

    carrier: Carrier
    zone: GripZone
    far: float
    near: float
    protection: float
    reasons: tuple[str, ...]


def choose_grip(
    part: Part, shop: Shop, holding: EndHolding, zones: Sequence[GripZone], carriers: Sequence[Carrier]
) -> tuple[Grip | None, list[Problem]]:
    """Put a carrier on one of the zones.

    It sits at the zone's headstock end. Where the part file names neither zone nor carrier, it is the first zone by
    PREFERENCE that any carrier fits and, of those carriers, the one with the smallest swing.

    Args:
        zones: those that exist in this setting, stock and extra length first.
        carriers: those the part file allows: one, or all.
    """
    named, problems = _named_zones(part, holding, zones)
    if problems:
        return None, problems
    protection = float(holding.protection)
    refused: list[Problem] = []
    for zone in named:
        against = _check_zone(holding, zone, protection)
        fitting = [c for c in carriers if not _check_fit(part, holding, c, zone, protection)]
        if not against and fitting:
            carrier = min(fitting, key=lambda c: (c.swing, c.name))
            reasons = _reasons(holding, carrier, zone)
            near = zone.far + carrier.width
            return Grip(carrier=carrier, zone=zone, far=zone.far, near=near, protection=protection, reasons=reasons), []
        refused += against or _why_none_fits(part, holding, carriers, zone, protection)
    return None, refused or [_nothing_to_grip(part, holding, zones)]


def _named_zones(part: Part, holding: EndHolding, zones: Sequence[GripZone]) -> tuple[list[GripZone], list[Problem]]:
    """Return the zone that the part file names, or all that the rule may choose, in order of preference."""
    if not holding.grip:
        return _by_preference(zones, float(holding.protection)), []
    found = [zone for zone in zones if zone.name == holding.grip]
    if found:
        return found, []
    there = quoted(zone.name for zone in zones) if zones else "nothing"
    if holding.grip == "stock":
        what, fix = "nothing of the stock is left to grip in this setting", "name a section, or turn this end first"
    elif any(s.name == holding.grip for s in part.sections):
        what = f'"{holding.grip}" cannot be gripped in this setting: it is being turned, or is no finished cylinder'
        fix = "name another section, or turn the other end first"
    else:
        what, fix = f'there is no section called "{holding.grip}" to grip', "name a section of the part, or stock"
    given = f'grip = "{holding.grip}"'
    return [], [Problem(where=holding.where, what=what, given=given, allowed=f"here there is {there}", fix=fix)]


def _by_preference(zones: Sequence[GripZone], protection: float) -> list[GripZone]:
    """Return the zones that the rule may choose, the best first."""
    return sorted((zone for zone in zones if _may_choose(zone, protection)), key=_rank)


def _rank(zone: GripZone) -> int:
    return -1 if zone.role is None else PREFERENCE.index(zone.role) if zone.role in PREFERENCE else len(PREFERENCE)


def _may_choose(zone: GripZone, protection: float) -> bool:
    """Whether the rule may choose a zone: never a pivot or undercut, a journal only with protection."""
    if zone.role is None:
        return True
    return zone.role in PREFERENCE and (zone.role not in BEARING_ROLES or protection > 0)


def _check_zone(holding: EndHolding, zone: GripZone, protection: float) -> list[Problem]:
    """Check that a carrier's screw never goes on a pivot, nor bare on a journal."""
    given = f'grip = "{zone.name}"'
    if zone.role == "pivot":
        what = f'a carrier must not grip the finished pivot "{zone.name}"'
        fix = "grip another section, leave extra length beyond it, or turn the other end first"
        return [Problem(where=holding.where, what=what, given=given, fix=fix)]
    if zone.role == "undercut":
        what = f'"{zone.name}" is an undercut, which is no place for a carrier'
        return [Problem(where=holding.where, what=what, given=given, fix="grip another section")]
    if zone.role == "journal" and protection <= 0:
        what = f'the carrier\'s screw would mark the finished journal "{zone.name}"'
        fix = 'put soft copper or aluminium under it: protection = "0.5 mm"; or grip another section'
        return [Problem(where=holding.where, what=what, given=given, fix=fix)]
    return []


def _grips(carrier: Carrier, size: float) -> bool:
    """Tell whether a carrier takes a diameter, mm."""
    return carrier.grip_least - ROUNDING <= size <= carrier.grip_most + ROUNDING


def _check_fit(part: Part, holding: EndHolding, carrier: Carrier, zone: GripZone, protection: float) -> list[Problem]:
    """Check that the carrier takes the diameter with what is under its screw, and that all its width is on the zone."""
    found = []
    size = zone.diameter + 2 * protection
    if not _grips(carrier, size):
        padding = f" with {say(protection, part)} of soft metal round it" if protection else ""
        what = f'"{carrier.name}" does not grip {say(size, part)}'
        given = f"{zone.words}, {say(zone.diameter, part)}{padding}"
        allowed = f"{carrier.grip_least.text} to {carrier.grip_most.text}"
        fix = "name another carrier, or leave it out for one that fits"
        found.append(Problem(where=holding.where, what=what, given=given, allowed=allowed, fix=fix))
    if zone.length < carrier.width - ROUNDING:
        what = f'"{carrier.name}" is wider than the length that it would sit on'
        given = f"{carrier.width.text} wide; {zone.words} has {say(max(zone.length, 0.0), part)} of plain cylinder"
        fix = f"grip a longer section or use a narrower carrier{_or_longer(part, holding, zone, [carrier])}"
        found.append(Problem(where=holding.where, what=what, given=given, fix=fix))
    return found


def _or_longer(part: Part, holding: EndHolding, zone: GripZone, carriers: Iterable[Carrier]) -> str:
    """Offer extra length for the narrowest of the carriers where it lengthens what is gripped."""
    width = min((float(c.width) for c in carriers), default=0.0)
    if not zone.grows or width <= zone.length:
        return ""
    return (
        f", or leave {at_least(width - zone.length, part)} more extra length at the {_gripped_end(part, holding)} end"
    )


def _gripped_end(part: Part, holding: EndHolding) -> End:
    """Return the end at the headstock while an end is turned that is held so."""
    return "B" if holding is part.holding.end_a else "A"


def _why_none_fits(
    part: Part, holding: EndHolding, carriers: Sequence[Carrier], zone: GripZone, protection: float
) -> list[Problem]:
    if len(carriers) == 1:
        return _check_fit(part, holding, carriers[0], zone, protection)
    sizes = "; ".join(f'"{c.name}" {c.grip_least.text} to {c.grip_most.text}, {c.width.text} wide' for c in carriers)
    given = f"{say(zone.diameter + 2 * protection, part)}, {say(max(zone.length, 0.0), part)} long"
    what = f"no carrier fits {zone.words} at the {_gripped_end(part, holding)} end"
    size = zone.diameter + 2 * protection
    taking = [c for c in carriers if _grips(c, size)]
    another = "name another section or " if holding.grip else ""  # else all that there are were tried
    fix = f"{another}add a carrier to the shop file{_or_longer(part, holding, zone, taking)}"
    return [Problem(where=holding.where, what=what, given=given, allowed=sizes, fix=fix)]


def _nothing_to_grip(part: Part, holding: EndHolding, zones: Iterable[GripZone]) -> Problem:
    there = ", ".join(f"{zone.words} ({zone.role})" for zone in zones) or "nothing"
    end = _gripped_end(part, holding)
    last = part.sections[0 if end == "A" else -1]
    what = "there is nothing that a carrier may grip in this setting"
    allowed = "extra length, a square blank, a body, a seat; a journal with protection; never a pivot"
    # a taper goes on over extra length
    fix = f"end the part at the {end} end in a cylinder" if last.is_taper else f"leave extra length at the {end} end"
    return problem(holding.where, what, f"at the {end} end there is {there}", allowed, fix)


def _reasons(holding: EndHolding, carrier: Carrier, zone: GripZone) -> tuple[str, ...]:
    reasons = []
    if not holding.grip and zone.role is not None:
        reasons.append(f"The carrier grips {zone.words}: of what is finished there it is the best to take hold of.")
    elif not holding.grip:
        reasons.append(f"The carrier grips {zone.words}.")
    if not holding.carrier:
        reasons.append(f'"{carrier.name}" is the carrier of smallest swing ({carrier.swing.text}) that fits there.')
    if zone.role is not None and zone.role != "square blank" and holding.protection <= 0:
        reasons.append(f"{zone.words} is finished: if it must not be marked, put soft metal under the carrier's screw.")
    return tuple(reasons)


def room_at_carrier(
    tools: Iterable[Tool], last: Turned, limit: float, swing: float, clearance: float
) -> tuple[float, str]:
    """Return the length that some right-hand turning tool needs between tip and carrier, mm, and that tool's name.

    Whatever stands to the left of the tip and reaches within the carrier's swing must stay clear of it; along a taper
    it may come within the swing only toward the thin end, that much further off. The length is the least over the
    tools, as the plan may choose that tool.

    Args:
        last: the section nearest to the carrier. limit: the least Z to which a tip goes, past its end, mm.
        swing: diameter swept by the carrier, mm. clearance: the distance to be kept, mm.
    """
    best, name = float("inf"), ""
    for tool in tools:
        if tool.kind != "turning" or tool.hand != "right":
            continue
        left = 0.0
        for outline in tool.outlines:
            off = _comes_within(last, limit, swing / 2 + clearance - min(p.x for p in outline.polygon))
            left = max(left, -min(p.z for p in outline.polygon) - off)
        if left < best:
            best, name = left, tool.name
    return (best, name) if name else (0.0, "")


def _comes_within(last: Turned, limit: float, radius: float) -> float:
    """Return how far from the least Z of a tip its radius on a section falls below this, mm; infinite where never."""
    if last.radius_far < radius:
        return 0.0
    if last.radius_near >= radius:
        return math.inf
    share = (last.radius_far - radius) / (last.radius_far - last.radius_near)
    return last.far - limit + share * (last.near - last.far)
