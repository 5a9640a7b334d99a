"""Spindle speed, cutting force and depth for one cut."""

from __future__ import annotations

import math

from cam.ground.frozen import frozen
from cam.ground.problem import RangeError
from cam.shop.model import Lathe, Material, Shop, Tool

RADIAL_SHARE = 0.5
"""Radial force over cutting force: 0.3 to 0.5 is usual, less at a 90 degree approach; the larger is taken, to be safe.
From memory, common practice; no source."""


FORCE_BAND = 0.5
"""Share by which a cutting force may be off, either way; common practice for Kienzle's law at thin chips, no source."""
FEED_SHARE = 0.5
"""Force along the feed over cutting force, 0.3 to 0.5; the larger, to be safe. From memory, common practice."""
LEAST_SHARE = 0.5
"""Share of a tool's feed that is tried where the lathe cannot drive it. Thinner chips only rub; common practice."""
SPINDLE_SHARE = 0.7
"""Share of the motor's power that reaches the cut through belts and bearings; common practice, no source."""


def surface_speed(diameter: float, rpm: float) -> float:
    """Return the cutting speed, m/min, of a diameter in mm at rev/min: pi d n / 1000."""
    return math.pi * diameter * rpm / 1000


def spindle_speed(diameter: float, speed: float) -> float:
    """Return the rev/min that give a cutting speed in m/min on a diameter in mm (> 0): 1000 v / (pi d)."""
    if diameter <= 0:
        raise RangeError(f"a diameter of {diameter} mm has no cutting speed")
    return 1000 * speed / (math.pi * diameter)


def cutting_force(material: Material, depth: float, feed: float) -> float:
    """Estimate the cutting force, N, at an approach near 90 degrees.

    Args:
        material: gives kc1.1 and mc.
        depth: per side, mm; feed: mm/rev; both > 0.
    Source: Kienzle, Fc = kc1.1 b h^(1 - mc). The constants are fitted for chips thicker than about
        0.05 mm; at clock-size chips the law is extrapolated and good to 50 % at best.
    """
    if depth <= 0 or feed <= 0:
        raise RangeError(f"a cut {depth} mm deep at {feed} mm/rev has no cutting force")
    return material.kc11 * depth * float(feed ** (1 - material.mc))


def chip_of(depth: float, feed: float, nose: float, approach: float) -> tuple[float, float]:
    """Return the chip's width and mean thickness, mm: the length of edge in the cut, and the chip's section over it.

    Args:
        depth: per side, mm; feed: mm/rev; nose: radius, mm, 0 for a sharp point.
        approach: angle between the leading edge and the direction of feed, degrees.

    Exact for the edge in the cut (a nose's arc, then the straight edge) and for the section depth * feed; without a
    nose it is Kienzle's b = depth / sin k and h = feed sin k. That a curved edge may be taken at its mean
    thickness is common practice, no source.
    """
    lean = math.radians(min(approach, 180 - approach))
    straight = nose * (1 - math.cos(lean))
    if depth <= straight:
        width = nose * math.acos(1 - depth / nose)
    else:
        width = nose * lean + (depth - straight) / math.sin(lean)
    return width, depth * feed / width


def tool_force(material: Material, tool: Tool, depth: float, feed: float) -> float:
    """Estimate the cutting force of a tool in a material, N, good to FORCE_BAND either way.

    Args:
        depth: per side, mm, or for a grooving tool the width cut; feed: mm/rev; both > 0.
    Source: cutting_force, with the chip that chip_of gives: a round nose in a shallow cut makes the chip thin and
        wide, which takes more force.
    """
    if tool.kind != "turning":
        return cutting_force(material, depth, feed)
    if depth <= 0 or feed <= 0:
        raise RangeError(f"a cut {depth} mm deep at {feed} mm/rev has no cutting force")
    width, thickness = chip_of(depth, feed, float(tool.nose_radius), float(tool.approach))
    return cutting_force(material, width, thickness)


def cutting_power(force: float, speed: float) -> float:
    """Return the power at the cut, W, of a force in N at a cutting speed in m/min: F v / 60."""
    return force * speed / 60


def power_limit(lathe: Lathe) -> float:
    """Return the power at the cut, W: that of the motor, less what belts and bearings take.

    With belts the torque at the spindle rises as its speed falls, so that the power is the same at every position; for
    a range of speeds the same is assumed. A motor that loses power at low speed has a torque in the shop file.
    """
    return SPINDLE_SHARE * float(lathe.spindle.power)


def torque(force: float, diameter: float) -> float:
    """Return the torque about the spindle, N m, of a cutting force in N on a diameter in mm: F d / 2000."""
    return force * diameter / 2000


def ridge_height(feed: float, nose_radius: float) -> float:
    """Return the height of the ridges that a round-nosed tool leaves, mm.

    Args:
        feed: mm/rev; 0 < feed <= 2 * nose_radius.
        nose_radius: mm.

    Raises:
        RangeError: feed outside those bounds; the arcs would not meet.

    Source: exact, by Pythagoras; the shop rule feed**2 / (8 r) is its first term. Below a feed of about
    0.05 mm/rev real surfaces are rougher (least chip, side flow); from memory.
    """
    if not 0 < feed <= 2 * nose_radius:
        raise RangeError(f"ridges need a feed of up to twice the nose radius, not {feed} mm at {nose_radius} mm")
    return nose_radius - math.sqrt(nose_radius**2 - feed**2 / 4)


@frozen
class Turning:
    """A spindle speed that the lathe has, for a diameter.

    Attributes:
        rpm: rev/min. name: belt position, "" for a range.
        surface: m/min at the diameter. constant: whether the control holds it.
        over: whether even the slowest speed is above the material's range.
    """

    rpm: float
    name: str
    surface: float
    constant: bool
    over: bool


def choose_speed(shop: Shop, material: Material, tool: Tool, diameter: float, force: float = 0.0) -> Turning:
    """Choose the lathe's fastest speed within the material's range for the tool, at a diameter in mm.

    With a cutting force, N, it is no faster than the motor drives that at the upper end of the force's band.
    """
    spindle = shop.lathe.spindle
    most = material.speed[tool.material][1]
    wanted = spindle_speed(diameter, most)
    driven = spindle_speed(diameter, driven_speed(shop.lathe, force)) if force > 0 else math.inf
    if spindle.positions:
        fit = [s for s in spindle.positions if s.rpm <= min(wanted * 1.02, driven)]
        chosen = max(fit or spindle.positions[:1], key=lambda s: s.rpm)
        rpm, name = float(chosen.rpm), chosen.name
    else:
        rpm, name = float(round(min(max(wanted, spindle.slowest), spindle.fastest), -1)), ""
        rpm = min(max(min(rpm, driven), spindle.slowest), spindle.fastest)
    return Turning(
        rpm=rpm,
        name=name,
        surface=surface_speed(diameter, rpm),
        constant=spindle.constant_surface_speed and not spindle.positions,
        over=rpm > wanted * 1.05,
    )


def driven_speed(lathe: Lathe, force: float) -> float:
    """Return the greatest cutting speed, m/min, at which the motor drives a force, N (> 0), at the top of its band."""
    return 60 * power_limit(lathe) / ((1 + FORCE_BAND) * force)


def can_drive(shop: Shop, force: float, diameter: float) -> bool:
    """Tell whether slowest spindle and slide can drive a cutting force, N, on a diameter in mm, its band counted in."""
    lathe = shop.lathe
    spindle = lathe.spindle
    slowest = min((float(s.rpm) for s in spindle.positions), default=spindle.slowest)
    worst = (1 + FORCE_BAND) * force
    pushes = not lathe.slide_force or FEED_SHARE * worst <= lathe.slide_force
    turns = not spindle.torque or torque(worst, diameter) <= spindle.torque
    return pushes and turns and surface_speed(diameter, slowest) <= driven_speed(lathe, force)


def ease_feed(shop: Shop, material: Material, tool: Tool, depth: float, feed: float, diameter: float) -> float:
    """Lower the feed of a cut, mm/rev, until spindle and slide drive it; not below half, as thinner chips rub."""
    least = max(LEAST_SHARE * feed, float(shop.lathe.least_feed))
    while feed > least and not can_drive(shop, tool_force(material, tool, depth, feed), diameter):
        feed = max(0.9 * feed, least)
    return feed


def clip_feed(shop: Shop, feed: float) -> float:
    """Bring a feed, mm/rev, within what the lathe can give."""
    return min(max(feed, float(shop.lathe.least_feed)), float(shop.lathe.most_feed))
