"""Settings between centres: two, or one where nothing is left to turn at the other end."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from types import MappingProxyType

from cam.ground.frozen import frozen
from cam.ground.problem import Problem
from cam.ground.quantity import misfit
from cam.ground.units import depth_instrument
from cam.lengths.solved import Solved
from cam.part.checks import is_groove
from cam.part.features import End
from cam.part.model import EndHolding
from cam.setting.aims import Aims
from cam.setting.assemble import check_room_at_head, check_stock_swings, find_limit, nose_radii
from cam.setting.by_hand import tell_by_hand
from cam.setting.cone import lean
from cam.setting.end_holes import check_hole, find_hole, holding_of
from cam.setting.grips import Grip, GripZone, choose_grip
from cam.setting.model import CentreHole, Placed, Setting, Turned
from cam.setting.names import find_named
from cam.setting.obstacles import carrier_obstacles, point_depth, tailstock_obstacles
from cam.setting.order import other
from cam.setting.outline import cylinder, turn_round
from cam.setting.profiles import (
    check_edges_and_corners_fit,
    corner_length,
    draw_left,
    near_length,
    with_outlines,
)
from cam.setting.shoulders import Lengths, aim_lengths
from cam.setting.turned import TurnedWork, make_turned
from cam.setting.words import say
from cam.shop.model import Centre, Lathe, Shop

HEAD_CONE = 60.0
"""The included angle of the headstock centre, degrees: that of ISO 866 holes."""

Indices = tuple[int, ...]

Zones = tuple[GripZone, ...]

EXTRA = "extra_length"
"""The name of the zone beyond a finished end that is cut off after turning."""


@frozen
class Blank:
    """The bar as it goes between centres.

    Attributes:
        length: over the faced ends, that is the part and its extra lengths, mm.
        holes: the centre hole in each end.
    """

    part: Solved
    length: float
    holes: dict[End, CentreHole]


NO_HOLES: Mapping[End, CentreHole | None] = MappingProxyType({})

SKIM = " For X skim the bar beside the tailstock and measure it there: the lathe turns a cone, and X is true there."


def settle_between(
    part: Solved, shop: Shop, aims: Aims, first: End, shares: tuple[Indices, Indices], recorded: Collection[int] = (),
    drilled: Mapping[End, CentreHole | None] = NO_HOLES,
) -> tuple[tuple[Setting, ...], list[Problem]]:  # fmt: skip
    """Return the settings for one order of ends (only the first while a length is unmeasured), and what is against it.

    Args:
        first: the end turned first.
        shares: indices turned in the first and in the last setting, from their ends inward.
        recorded: numbers of the faces, from the A end, whose places are recorded as really cut.
        drilled: the centre holes that the bar has already; any other is found.
    """
    if not shares[0]:
        first, shares = other(first), (shares[1], shares[0])
    lengths = aim_lengths(part, shop.lathe, first, shares, recorded)
    part = lengths.part
    blank, problems = _make_blank(part, shop.lathe, aims, drilled)
    if problems:
        return (), problems
    early, late = shares
    last = other(first)
    found: list[Setting] = []

    def make(placed: Placed, zones: Zones, own: Indices, others: Indices) -> None:
        setting, more = _make_setting(blank, shop, (aims, lengths), (placed, zones), own, others)
        problems.extend(more)
        found.extend([setting] if setting else [])

    if early:
        placed = _place_first(blank, first)
        make(placed, _bought_zones(part, placed), early, late)
    if late and found:
        if part.to_be_measured:
            problems += _check_grip_later(part, shop, found[0], last)
        else:
            placed = _place_second(blank, shop, found[0], last)
            turned = _turned_zones(part, found[0], placed.end_z + found[0].head_z)
            make(placed, (*turned, *_bought_zones(part, placed)), late, early)
    problems += _check_lathe(blank, shop)
    if found:
        found[0] = replace(found[0], reasons=(*found[0].reasons, *lengths.reasons))
        found = [replace(s, longer=lengths.longer) for s in found]
    return tuple(found), problems


def _check_grip_later(part: Solved, shop: Shop, before: Setting, end: End) -> list[Problem]:
    """Check that some carrier fits what is gripped in the setting that is not planned yet; that is known already."""
    holding = holding_of(part, end)
    carriers = [c for c in shop.carriers if not holding.carrier or c.name == holding.carrier]
    zones = _turned_zones(part, before, 0.0)
    if any(s.as_stock for s in part.sections):
        return []  # where what stays as bought lies may wait as well
    return choose_grip(part, shop, holding, zones, carriers)[1]


# The bar ----------------------------------------------------------------------------------------------


def _make_blank(
    part: Solved, lathe: Lathe, aims: Aims, drilled: Mapping[End, CentreHole | None]
) -> tuple[Blank, list[Problem]]:
    problems: list[Problem] = []
    holes: dict[End, CentreHole] = {}
    for end in ("A", "B"):
        hole = drilled.get(end)
        if hole is None:
            hole, more = find_hole(part, lathe, aims, end)
            problems += more
        if hole is not None:
            holes[end] = hole
    length = part.length + holding_of(part, "A").extra_length + holding_of(part, "B").extra_length
    return Blank(part=part, length=length, holes=holes), problems


def _check_lathe(blank: Blank, shop: Shop) -> list[Problem]:
    """Check that bar and centres fit the lathe."""
    part, lathe = blank.part, shop.lathe
    found = check_stock_swings(part, lathe)
    for end in ("A", "B"):
        centre = find_named(holding_of(part, end).tail_centre, shop.centres)
        if centre is None:
            continue
        longer = centre.reach - min(c.reach for c in shop.centres)
        points = blank.length - sum(point_depth(hole, HEAD_CONE) for hole in blank.holes.values())
        if points + longer > lathe.between_centres:
            what = "the work is too long for the lathe"
            given = f"{say(points, part)} between the centres' points"
            more = f', less {say(longer, part)} by which "{centre.name}" stands out further' if longer > 0 else ""
            allowed = f"at most {lathe.between_centres.text}{more}"
            found.append(Problem(where=part.stock.length.where, what=what, given=given, allowed=allowed))
    return list(dict.fromkeys(found))


# Axes and datums --------------------------------------------------------------------------------------


def _place_first(blank: Blank, end: End) -> Placed:
    """Return where the bare bar lies: Z is zero at the faced end at the tailstock."""
    part = blank.part
    extra = float(holding_of(part, end).extra_length)
    sign, datum = (-1, 0.0 - extra) if end == "A" else (1, part.length + extra)
    words = f"Z zero is the faced {end} end, at the tailstock. Touch the tool on its rim by the centre, set Z to 0."
    stock = cylinder(0.0, -blank.length, part.stock.diameter / 2)
    return Placed(number=1, end=end, sign=sign, datum=datum, datum_words=words, end_z=0.0, head_z=-blank.length,
                  stock=stock, fullest=stock)  # fmt: skip


def _place_second(blank: Blank, shop: Shop, before: Setting, end: End) -> Placed:
    """Return where the reversed work lies: Z is zero at a finished shoulder of the setting before, or the far end."""
    part = blank.part
    shoulder = next((t for t in reversed(before.turned) if t.far_kind == "shoulder"), None)
    datum = before.to_part(shoulder.far if shoulder is not None else before.end_z)
    sign = 1 if end == "B" else -1
    (nose, hollow), shift = nose_radii(shop), sign * (before.to_part(0.0) - datum)
    left = lean(before.turned, before.cone)
    stock = turn_round(draw_left(left, before.stock, nose, hollow), shift)
    fullest = turn_round(draw_left(left, before.stock, nose, hollow, extra_length=True), shift)
    end_z = stock[0].start.z
    words = _tell_datum(part, before, end, shoulder, end_z)
    return Placed(number=before.number + 1, end=end, sign=sign, datum=datum, datum_words=words, end_z=end_z,
                  head_z=stock[-1].end.z, stock=stock, fullest=fullest)  # fmt: skip


def _tell_datum(part: Solved, before: Setting, end: End, shoulder: Turned | None, end_z: float) -> str:
    touch = f"Then touch the tool on the rim of the {end} end, beside the centre, and set Z there to what you measured."
    nominal = say(end_z, part)
    decimals = len(nominal.partition(" ")[0].partition(".")[2])
    if shoulder is None:
        return (
            f"Z zero is the faced {before.end} end, at the headstock: setting 1 left no shoulder to measure from. With "
            f"the work out of the lathe measure its whole length with a micrometer (nominal {nominal}). {touch}"
        )
    at = part.sections.index(shoulder.section) + (1 if before.end == "A" else -1)
    while is_groove(part, at):
        at += 1 if before.end == "A" else -1
    return (
        f'Z zero is the shoulder of "{part.sections[at].name}" toward the {before.end} end, finished in setting 1. '
        f"With the work out of the lathe measure from that shoulder to the faced {end} end with a micrometer or "
        f"{depth_instrument(decimals, part.unit)} (nominal {nominal}). {touch}"
    )


# Zones for the carrier --------------------------------------------------------------------------------


def _bought_zones(part: Solved, placed: Placed) -> Zones:
    """Return the sections that stay as bought, in a setting's axes."""
    found = []
    for s in part.sections:
        if s.as_stock:
            edges = [e.size if e is not None else 0.0 for e in (s.edge_a, s.edge_b)]
            sides = sorted((placed.to_setting(s.start + edges[0]), placed.to_setting(s.end - edges[1])))
            words, size = f'"{s.name}", which stays as stock', float(s.diameter_a)
            found.append(GripZone(name=s.name, words=words, role=None, far=sides[0], near=sides[1], diameter=size))
            found.append(GripZone(name="stock", words=words, role=None, far=sides[0], near=sides[1], diameter=size))
    return tuple(found)


def _turned_zones(part: Solved, before: Setting, offset: float) -> Zones:
    """Return the cylinders that the setting before left, in the reversed axes: Z here is offset - Z there."""
    found = []
    for i, t in enumerate(before.turned):
        if t.is_taper:
            continue
        size, name, role = 2 * t.radius_near, t.section.name, t.section.role
        start = offset - (t.near - near_length(t))
        extra = float(holding_of(part, before.end).extra_length) if i == 0 else 0.0
        if extra > 0:
            stub, words = start + extra, f'the extra length beyond "{name}"'
            found.append(GripZone(name=EXTRA, words=words, role=None, far=start, near=stub, diameter=size, grows=True))
            start = stub if role in ("pivot", "journal") else start
        near = offset - (t.far + corner_length(t))
        found.append(GripZone(name=name, words=f'"{name}"', role=role, far=start, near=near, diameter=size))
    return tuple(found)


def _zones_up_to(placed: Placed, zones: Zones, part: Solved, limit_z: float) -> list[GripZone]:
    """Return the zones that end before the last cut; first the bare stock, where it still is."""
    if placed.number == 1:
        size = float(part.stock.diameter)
        words, far = "the stock", placed.head_z
        bar = GripZone(name="stock", words=words, role=None, far=far, near=limit_z, diameter=size, grows=True)
        zones = (bar, *(z for z in zones if z.name != "stock"))
    return [replace(z, near=min(z.near, limit_z)) for z in zones if z.far < limit_z]


# The setting ------------------------------------------------------------------------------------------


def _make_setting(
    blank: Blank,
    shop: Shop,
    aimed: tuple[Aims, Lengths],
    lies: tuple[Placed, Zones],
    indices: Indices,
    others: Indices,
) -> tuple[Setting | None, list[Problem]]:
    """Make one setting; None where its carrier cannot be settled."""
    part, (placed, zones) = blank.part, lies
    end = placed.end
    holding = holding_of(part, end)
    work = TurnedWork(
        part=part, aims=aimed[0], end=end, axes=placed, indices=indices, end_z=placed.end_z,
        extra_length=float(holding.extra_length), later=others if placed.number == 1 else (), problems=[], reasons=[],
        spares=aimed[1].spare,
    )  # fmt: skip
    turned = make_turned(work)
    least_nose, widest_nose = nose_radii(shop)
    problems = work.problems + check_edges_and_corners_fit(part, turned, least_nose)
    problems += check_hole(part, end, blank.holes[end], turned[0], shop.lathe)
    limit_z = find_limit(turned[-1], widest_nose)
    carriers = [c for c in shop.carriers if not holding.carrier or c.name == holding.carrier]
    grip, more = choose_grip(part, shop, holding, _zones_up_to(placed, zones, part, limit_z), carriers)
    problems += more
    centre = find_named(holding.tail_centre, shop.centres)
    if grip is None or centre is None:
        return None, problems
    head_point = placed.head_z + point_depth(blank.holes[other(end)], HEAD_CONE)
    problems += check_room_at_head(
        part, shop, turned[-1], limit_z, (f'the carrier "{grip.carrier.name}"', grip.near, float(grip.carrier.swing)),
        longer=other(end) if grip.zone.grows else "",
    )  # fmt: skip
    problems += _check_carrier(part, shop, holding, grip, head_point) + _check_cone(holding, centre)
    cone = shop.lathe.cone if shop.lathe.corrects_cone else 0.0
    setting = with_outlines(
        replace(placed, datum_words=placed.datum_words + (SKIM if cone else "")), shop, turned, limit_z, cone,
        method="between centres", tail_centre=centre, hole=blank.holes[end], head_hole=blank.holes[other(end)],
        carrier=grip.carrier, chuck=None, grip=grip.zone.words, grips_extra=grip.zone.name == EXTRA,
        grip_near=grip.near, grip_far=grip.far, grip_diameter=grip.zone.diameter, protection=grip.protection,
        face_end=False, stock_end_z=placed.end_z, cone_z=turned[0].near,
        obstacles=(
            *tailstock_obstacles(shop.lathe, centre, blank.holes[end], placed.end_z),
            *carrier_obstacles(shop.lathe, grip.carrier, (grip.far, grip.near), grip.zone.diameter, head_point),
        ),
        reasons=(*_tell_blank(blank, placed.number), *grip.reasons, *work.reasons),
    )  # fmt: skip
    return setting, problems


def _check_carrier(part: Solved, shop: Shop, holding: EndHolding, grip: Grip, head_point: float) -> list[Problem]:
    """Check that the carrier swings over the slide and clears the catch plate."""
    carrier, lathe = grip.carrier, shop.lathe
    found = []
    if carrier.swing > lathe.swing_over_slide:
        what, allowed = f'"{carrier.name}" does not swing over the cross slide', lathe.swing_over_slide.text
        found.append(misfit(what, f"at most {allowed}", "use a smaller carrier", swing=carrier.swing))
    plate = head_point - lathe.centre_projection
    if grip.far < plate:
        what = f'"{carrier.name}" would stand in the catch plate'
        given = f"it begins {say(plate - grip.far, part)} behind the plate's face"
        fix = "grip further from the end, or let the headstock centre stand out further"
        found.append(Problem(where=holding.where, what=what, given=given, fix=fix))
    return found


def _check_cone(holding: EndHolding, centre: Centre) -> list[Problem]:
    """Check that the centre is a 60 degree one, as holes of ISO 866 are for these."""
    if abs(centre.cone_angle - HEAD_CONE) < 1e-6:
        return []
    what = f'"{centre.name}" does not fit the centre hole'
    given, allowed = f'cone_angle = "{centre.cone_angle.text}"', "60 deg, as ISO 866 has it"
    return [Problem(where=holding.where, what=what, given=given, allowed=allowed, fix="name another centre")]


def _tell_blank(blank: Blank, number: int) -> list[str]:
    """Say, with the first setting, how long the bar is faced and which holes were chosen."""
    part = blank.part
    if number > 1:
        return []
    reasons = tell_by_hand(part)
    if part.stock.length - blank.length > 1e-6:
        reasons.append(
            f"The bar, {part.stock.length.text} as sawn, is faced at both ends to {say(blank.length, part)} before "
            "it is centre-drilled: the part and its extra lengths."
        )
    for end in ("A", "B"):
        if not holding_of(part, end).centre_hole:
            reasons.append(f"The centre hole in the {end} end is {blank.holes[end].reason}.")
    return reasons
