"""The tapered square, or any even number of flats: sizes, corners, the bearing it passes, the key that fits it.

x counts from the shoulder (the root) toward the tip, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, RangeError, Where
from cam.ground.tolerances import ROUNDING
from cam.part.taper import STEEPEST, Corners
from cam.setting.words import at_least, at_most, say

LEAST_COVER = 2 / 3
"""The share of the square's length that its key should cover. Common practice, no source."""
LEAST_HOLD = 0.5
"""The share of its corners' height over the flats that should stand in its key's way. Common practice, no source."""


@frozen
class Square:
    """A finished square; the word stands for any even number of flats.

    Attributes:
        flats: 4, 6, 8 ...
        across: finished size across flats at the station, mm.
        station: where that size is, mm from the shoulder; 0 to length.
        slope: per side, as in Taper; 0 for a parallel square.
        length: from shoulder to tip, mm.
        blank: diameter of the round that it is cut from, mm.
        corners: "whole" (two faces meet), "broken" (whole, then taken off by hand), or "round" (what is left of
            the blank).
        broken: legs of the broken corner along each face, mm; 0 unless corners are broken.
        where: the line that gave it. unit: of the part file, in which problems say lengths.
    """

    flats: int
    across: float
    station: float
    slope: float
    length: float
    blank: float
    corners: Corners
    broken: float
    where: Where
    unit: Literal["mm", "in"] = "mm"

    @property
    def name(self) -> str:
        """Return what people call it."""
        return {4: "square", 6: "hexagon", 8: "octagon"}.get(self.flats, f"{self.flats} flats")


class Readings(Row):
    """What a micrometer should show, mm.

    Attributes:
        flat_and_round: over one flat and the round opposite, before the opposite flat is cut.
        over_flats: over two opposite flats. over_corners: over two opposite corners.
    """

    flat_and_round: float
    over_flats: float
    over_corners: float


class KeyFit(Row):
    """How a parallel key sits on a tapered square.

    Attributes:
        covered: length of the square inside the key when it stops, mm, from the tip; 0 if it does not enter.
        share: that length as a share of the square's. tip_play: key less square at the tip, mm.
        seat_play: key less square where the key's mouth comes to rest, mm; 0 where it wedges.
        stopped_by: "flats", "corners", or "shoulder".
        corners: diameter over the corners of the square there, mm.
        hold: the share of those corners' height over the flats that stands in the key's way when it turns the square: 1
            where it fits the flats, 0 or less where it slips round.
    """

    covered: float
    share: float
    tip_play: float
    seat_play: float
    stopped_by: str
    corners: float
    hold: float


# Sizes --------------------------------------------------------------------------------------------------------


def across_at(square: Square, x: float) -> float:
    """Return the size across flats at x, mm."""
    return square.across + 2 * square.slope * (square.station - x)


def corner_whole_at(square: Square, x: float) -> float:
    """Return the diameter over the corners where the faces meet, mm: across flats / cos(180 / flats)."""
    return across_at(square, x) / math.cos(math.pi / square.flats)


def whole_limit(diameter: float, flats: int) -> float:
    """Return the largest size across flats with whole corners from a round, mm: 0.707 of it for a square."""
    return diameter * math.cos(math.pi / flats)


def flat_width_at(square: Square, x: float) -> float:
    """Return the width of each flat as milled at x, mm, before any corner is broken."""
    across = across_at(square, x)
    if across >= square.blank:
        return 0.0
    return min(across * math.tan(math.pi / square.flats), math.sqrt(square.blank**2 - across**2))


def widest_cut(square: Square) -> float:
    """Return the greatest width of a flat while its neighbours are still round, mm: the chord at the tip."""
    return math.sqrt(max(square.blank**2 - across_at(square, square.length) ** 2, 0.0))


def corner_diameter_at(square: Square, x: float) -> float:
    """Return the diameter over the finished corners at x, mm."""
    return min(_corner_wanted(square, x), square.blank)


def _corner_wanted(square: Square, x: float) -> float:
    """Return the diameter over the corners at x if the round allows it, mm: where faces meet, or a broken one ends."""
    if square.corners != "broken":
        return corner_whole_at(square, x)
    half = across_at(square, x) / 2
    return 2 * math.hypot(half, max(half * math.tan(math.pi / square.flats) - square.broken, 0.0))


def _across_for(diameter: float, square: Square) -> float:
    """Return the size across flats whose corners, as they are meant, reach a diameter, mm.

    Broken corners: (a/2)^2 + (a/2 tan - b)^2 = (d/2)^2, solved for a.
    """
    if square.corners != "broken":
        return whole_limit(diameter, square.flats)
    t, b, radius = math.tan(math.pi / square.flats), square.broken, diameter / 2
    within = (b * t) ** 2 + (1 + t * t) * (radius * radius - b * b)
    return 2 * (b * t + math.sqrt(max(within, 0.0))) / (1 + t * t)


def round_to(square: Square) -> float:
    """Return how far from the shoulder the flats leave something of the round at the corners, mm: 0 for nowhere."""
    over = across_at(square, 0.0) - whole_limit(square.blank, square.flats)
    if over <= ROUNDING or over >= 2 * square.slope * square.length:
        return 0.0 if over <= ROUNDING else square.length
    return over / (2 * square.slope)


def depth_at(square: Square, x: float) -> float:
    """Return how deep each flat lies below the round at x, mm."""
    return (square.blank - across_at(square, x)) / 2


def readings_at(square: Square, x: float, left: float = 0.0) -> Readings:
    """Return what a micrometer should read at x with left, mm, still on each flat.

    On a taper an anvil touches first with its edge nearer the shoulder: put that edge at x.
    """
    across = across_at(square, x) + 2 * left
    over = min(across / math.cos(math.pi / square.flats), square.blank)
    return Readings((square.blank + across) / 2, across, over)


def as_milled(square: Square, allowance: float) -> Square:
    """Return the square as the mill leaves it: larger by what file and stone take off, mm on the size across flats."""
    if allowance < 0:
        raise RangeError(f"an allowance is not negative: {allowance} mm")
    return replace(square, across=square.across + allowance)


# Tests --------------------------------------------------------------------------------------------------------


def check_square(square: Square, bearing: float | None = None) -> list[Problem]:
    """Return everything that is wrong with a square before anybody cuts it.

    Args:
        bearing: diameter of the hole that the square must pass to be put together, mm; None for none.
    """
    wrong = list(_check_form(square))
    if wrong:
        return wrong
    return sorted([*_check_corners(square), *(() if bearing is None else _check_bearing(square, bearing))])


def _check_form(square: Square) -> Iterator[Problem]:
    where = square.where
    if square.flats < 4 or square.flats % 2:
        yield Problem(
            where=where, what="opposite flats are measured against each other, so their number is even",
            given=str(square.flats), allowed="4, 6, 8 ...",
        )  # fmt: skip
        return
    if not all(size > 0 for size in (square.length, square.blank, square.across)):
        yield Problem(where=where, what=f"the {square.name} has no length, no size, or no round to be cut from")
        return
    if not -ROUNDING <= square.station <= square.length + ROUNDING:
        allowed = f"0 {square.unit} (the shoulder) to {say(square.length, square)} (the tip)"
        given = say(square.station, square)
        yield Problem(where=where, what="the station lies off the square", given=given, allowed=allowed)
    if not 0 <= square.slope <= STEEPEST:
        yield Problem(where=where, what="the tip must come out the smaller end",
                      given=f"{square.slope:g} of its length",
                      allowed=f"0 to {STEEPEST:g} of its length on each side")  # fmt: skip
    elif (at_tip := across_at(square, square.length)) <= 0:
        what, given = f"the taper leaves nothing of the {square.name} at its tip", say(at_tip, square)
        yield Problem(where=where, what=what, given=given, fix="give less taper or less length")
    if square.corners == "broken" and square.broken <= 0:
        given = say(square.broken, square)
        yield Problem(where=where, what="broken corners have no size", given=given, allowed=f"above 0 {square.unit}")


def _check_corners(square: Square) -> Iterator[Problem]:
    largest, wanted = across_at(square, 0.0), _corner_wanted(square, 0.0)
    if largest >= square.blank - ROUNDING:
        yield Problem(
            where=square.where, what=f"the {square.name} is no smaller than the round that it is cut from",
            given=f"{say(largest, square)} across flats at the shoulder",
            allowed=f"less than {say(square.blank, square)}",
            fix="make it smaller across flats, or the round larger",
        )  # fmt: skip
    elif square.corners != "round" and wanted > square.blank + ROUNDING:
        limit = _across_for(square.blank, square)
        yield Problem(
            where=square.where,
            what=f"the corners of the {square.name} cannot be {square.corners}: the round is too small for them",
            given=f"{say(largest, square)} across flats at the shoulder, from {say(square.blank, square)} round",
            allowed=f"at most {limit / square.blank:.3f} of the round: {at_most(limit, square)} there",
            fix=f'turn the round to at least {at_least(wanted, square)}, or say corners = "round"',
        )  # fmt: skip
    elif square.corners == "round" and (whole := corner_whole_at(square, 0.0)) <= square.blank + ROUNDING:
        limit = whole_limit(square.blank, square.flats)
        yield Problem(
            where=square.where,
            what=f"the corners of the {square.name} cannot be round: the flats leave nothing of the round there",
            given=f"{say(largest, square)} across flats at the shoulder, from {say(square.blank, square)} round",
            allowed=f"more than {limit / square.blank:.3f} of the round: {at_least(limit, square)} there",
            fix=f'say corners = "whole" or "broken", or turn the round to less than {at_most(whole, square)}',
        )  # fmt: skip
    if square.corners == "broken":
        half = across_at(square, square.length) * math.tan(math.pi / square.flats) / 2
        if square.broken >= half:
            yield Problem(where=square.where, what="the broken corners leave nothing of the flats",
                          given=say(square.broken, square), allowed=f"less than {say(half, square)}")  # fmt: skip


def largest_that_passes(square: Square, bearing: float) -> float:
    """Return the largest size across flats at the station with which the square passes a hole, mm, corners as they are.

    Where the blank itself passes, any flats do: it is then the blank's diameter less the taper to the shoulder.
    """
    below = 2 * square.slope * square.station
    if square.blank <= bearing and square.corners == "round":
        return square.blank - below
    return _across_for(min(bearing, square.blank), square) - below


def _check_bearing(square: Square, bearing: float) -> Iterator[Problem]:
    over = corner_diameter_at(square, 0.0)
    if over < bearing - ROUNDING:
        return
    most = largest_that_passes(square, bearing)
    smaller = f"make it at most {at_most(most, square)} across flats at {say(square.station, square)} from the shoulder"
    ways = [smaller] if most > 0 else []
    ways.append(f'or turn the round to less than {say(bearing, square)} and say corners = "round"')
    yield Problem(
        where=square.where, what=f"the {square.name} does not pass its own bearing: it could not be put together",
        given=f"{say(over, square)} over the corners at the shoulder",
        allowed=f"less than {say(bearing, square)}, the bearing's hole",
        fix=", ".join(ways),
    )  # fmt: skip


def fit_key(square: Square, across: float, corners: float | None = None) -> KeyFit:
    """Slide a key on from the tip.

    Args:
        across: size of the key's hole across its flats, mm; parallel.
        corners: diameter over the corners of the key's hole, mm; None where they are known to be free.
    """
    tip = across_at(square, square.length)
    tip_play = across - tip
    if tip_play < -ROUNDING:
        return KeyFit(0.0, 0.0, tip_play, 0.0, "flats", corner_diameter_at(square, square.length), 1.0)
    stop, stopped_by = 0.0, "shoulder"
    if square.slope > 0 and across_at(square, 0.0) > across + ROUNDING:
        stop, stopped_by = square.length - tip_play / (2 * square.slope), "flats"
    if corners is not None:
        jam = _corner_jam(square, corners)
        if jam > stop:
            stop, stopped_by = jam, "corners"
    covered = max(square.length - stop, 0.0)
    own, over = (size(square, min(stop, square.length)) for size in (across_at, corner_diameter_at))
    play = 0.0 if stopped_by == "flats" else across - own
    hold = (over - max(across, own)) / (over - own) if over > own + ROUNDING else 1.0
    return KeyFit(covered, covered / square.length, tip_play, play, stopped_by, over, hold)


def _corner_jam(square: Square, corners: float) -> float:
    """Return the x nearest the tip where the corners no longer go into a key, mm; below 0 where they all go."""
    if corner_diameter_at(square, square.length) > corners:
        return square.length
    if corner_diameter_at(square, 0.0) <= corners:
        return -1.0
    low, high = 0.0, square.length  # corners too large at low, free at high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if corner_diameter_at(square, middle) > corners else (low, middle)
    return high


def check_key(square: Square, across: float, corners: float | None, where: Where) -> list[Problem]:
    """Return what is wrong between a square and its key."""
    fit = fit_key(square, across, corners)
    if fit.share >= LEAST_COVER:
        what = f"the key slips round on the {square.name} and does not turn it"
        return [_key_too_large(square, across, fit, what, where)] if fit.hold <= ROUNDING else []
    what = f"the key does not go onto the {square.name}" if fit.covered <= 0 else "the key stops too soon"
    needed = across - 2 * square.slope * (square.station - (1 - LEAST_COVER) * square.length)
    fix = f"make it at most {at_most(needed, square)} across flats at {say(square.station, square)} from the shoulder"
    if fit.stopped_by == "corners":
        fix = "leave the corners rounder, or break them more"
    return [
        Problem(
            where=where, what=f"{what}: its {fit.stopped_by} meet first",
            given=f"it covers {say(fit.covered, square)} of {say(square.length, square)}",
            allowed=f"at least {at_least(LEAST_COVER * square.length, square)} (common practice, no source)", fix=fix,
        )
    ]  # fmt: skip


def warn_of_loose_key(square: Square, across: float, where: Where) -> list[Problem]:
    """Warn of a key that bears on little of the corners, whose edges it will round."""
    fit = fit_key(square, across)
    if not ROUNDING < fit.hold < LEAST_HOLD:
        return []
    what = f"the key bears on little of the {square.name}'s corners and will round them"
    return [_key_too_large(square, across, fit, what, where)]


def _key_too_large(square: Square, across: float, fit: KeyFit, what: str, where: Where) -> Problem:
    own = across - fit.seat_play
    most = fit.corners - LEAST_HOLD * (fit.corners - own)
    given = f"{say(across, square)}, on {say(own, square)} across flats and {say(fit.corners, square)} over corners"
    allowed = f"at most {at_most(most, square)}, half-way to the corners (common practice, no source)"
    return Problem(where=where, what=what, given=given, allowed=allowed, fix="take a key that fits the flats")
