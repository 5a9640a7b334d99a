"""Measurements, spans and holes for the tests of the measuring chain."""

from __future__ import annotations

from typing import Any

from cam.lengths.chain import Member
from cam.part.features import Edge, Tolerance
from cam.part.spans import Hole, Limits, LoosePart, Measurement, Span, StandOff, Stated, Uncertainty
from tests.specimens import HERE, quantity

NO_STAND_OFF = StandOff(0.0, 0.0, 0.0, "none")
SHARP = Edge(kind="sharp", size=0.0, text="sharp", where=HERE)


def uncertainty(amount: float, stated: Stated = "limit") -> Uncertainty:
    return Uncertainty(amount, stated, f"±{amount:g} mm", HERE)


def measurement(*readings: float, **changes: Any) -> Measurement:
    """Return a measurement, "between plates" to plus-minus 0.02 mm; without readings it is still to be taken."""
    given: dict[str, Any] = {
        "name": "between plates", "readings": tuple(quantity(r) for r in readings), "after": 0,
        "uncertainty": uncertainty(0.02), "taken_with": "inside micrometer", "temperature": None, "material": "",
        "where": HERE,
    } | changes  # fmt: skip
    return Measurement(**given)


def limits(least: float, aim: float, most: float) -> Limits:
    return Limits(least=quantity(least), aim=quantity(aim), most=quantity(most))


def tolerance(lower: float, upper: float) -> Tolerance:
    return Tolerance(lower=lower, upper=upper, text=f"{lower:+g} / {upper:+g} mm", where=HERE)


def loose(thickness: float, half: float, name: str = "washer") -> LoosePart:
    return LoosePart(name=name, thickness=quantity(thickness), uncertainty=uncertainty(half), where=HERE)


def span(first: str, last: str, **changes: Any) -> Span:
    """Return a span "frame" over "between plates", end shake 0.1 to 0.3 mm, aimed at 0.2."""
    given: dict[str, Any] = {
        "name": "frame", "first": first, "last": last, "measurement": "between plates", "shake": limits(0.1, 0.2, 0.3),
        "tolerance": tolerance(-0.02, 0.02), "loose": (), "hole_a": "", "hole_b": "", "stand_off_a": NO_STAND_OFF,
        "stand_off_b": NO_STAND_OFF, "fitting_allowance": quantity(0.0), "late": None, "part_temperature": None,
        "in_use": None, "where": HERE,
    } | changes  # fmt: skip
    return Span(**given)


def hole(**changes: Any) -> Hole:
    """Return a hole in a 2 mm plate, to be opened by a 1:100 broach from inside to a 6 mm pivot."""
    given: dict[str, Any] = {
        "name": "front plate", "section": "front pivot", "plate": quantity(2.0), "now": None, "use": "open",
        "side_shake": limits(0.03, 0.05, 0.08), "fit": "", "opened_by": "broach", "taper": 0.01, "side": "inside",
        "drill_under": quantity(0.1), "smoothing": quantity(0.005), "carrying_gap": quantity(0.002),
        "edge_inside": SHARP, "edge_outside": SHARP, "where": HERE,
    } | changes  # fmt: skip
    return Hole(**given)


def members(**lengths: float | None) -> tuple[Member, ...]:
    return tuple(Member(name, None if length is None else quantity(length), HERE) for name, length in lengths.items())
