"""Everything solid that the tool must not touch, as convex polygons on the tool's side of the axis."""

from __future__ import annotations

import math

from cam.geometry.path import Point, Polygon
from cam.ground.tolerances import ROUNDING
from cam.setting.model import CentreHole, Obstacle
from cam.shop.checks import cone_length
from cam.shop.model import Carrier, Centre, Chuck, Lathe


def point_depth(hole: CentreHole, cone_angle: float) -> float:
    """Return how far the (unblunted) point of a centre of this angle, degrees, stands inside the hole's mouth, mm."""
    return hole.mouth / 2 / math.tan(math.radians(cone_angle) / 2)


def tailstock_obstacles(lathe: Lathe, centre: Centre, hole: CentreHole, end_z: float) -> list[Obstacle]:
    """Return the tailstock centre from the hole's mouth on, its barrel, and the tailstock.

    A half centre's flat is turned to the tool: over its length nothing stands higher than the flat.

    Args:
        end_z: Z of the end face that has the hole, mm.
    """
    point = end_z - point_depth(hole, centre.cone_angle)
    cone_end = point + cone_length(centre)
    face = point + centre.reach
    slope = math.tan(math.radians(centre.cone_angle) / 2)
    flat_end = point + centre.flat_length if centre.kind == "half" else point
    flat = float(centre.flat) if centre.kind == "half" else math.inf
    body = centre.body_diameter / 2
    found = [
        *_cone("centre flat", (end_z, min(flat_end, cone_end)), point, slope, flat),
        *_cone("centre cone", (max(flat_end, end_z), cone_end), point, slope, math.inf),
        *_box("centre flat", max(cone_end, end_z), min(flat_end, face), 0.0, min(flat, body)),
        *_box("centre body", max(cone_end, end_z, flat_end), face, 0.0, body),
    ]
    barrel_end = face + lathe.barrel_extension
    found += _box("barrel", face, barrel_end, 0.0, lathe.barrel_diameter / 2)
    found += _box("tailstock", barrel_end, barrel_end + lathe.between_centres, 0.0, float(lathe.tailstock_radius))
    return found


def carrier_obstacles(
    lathe: Lathe, carrier: Carrier, grip: tuple[float, float], grip_diameter: float, head_point: float
) -> list[Obstacle]:
    """Return the carrier as it sweeps round, and the catch plate.

    Args:
        grip: its far and near Z, mm.
        grip_diameter: diameter of the work under it, mm.
        head_point: Z of the headstock centre's point, mm.
    """
    plate = head_point - lathe.centre_projection
    return [
        *_box("carrier", *grip, grip_diameter / 2, carrier.swing / 2),
        *_box("catch plate", plate - lathe.between_centres, plate, 0.0, lathe.plate_diameter / 2),
    ]


def chuck_obstacles(lathe: Lathe, chuck: Chuck, front: float, grip_diameter: float) -> list[Obstacle]:
    """Return the collet or chuck up to its front at Z front, and the spindle nose behind it."""
    back = front - chuck.nose_length
    return [
        *_box(chuck.kind, back, front, grip_diameter / 2, chuck.nose_diameter / 2),
        *_box("spindle nose", back - lathe.between_centres, back, grip_diameter / 2, lathe.plate_diameter / 2),
    ]


CENTRE = ("centre cone", "centre flat", "centre body")
"""The names of the obstacles that make up the tailstock centre."""


def _cone(name: str, span: tuple[float, float], point: float, slope: float, flat: float) -> list[Obstacle]:
    """Return the part of a cone from its point that lies within span, cut off at a height."""
    near, far = span
    if far <= near + ROUNDING or flat <= 0:
        return []
    low, high = slope * (near - point), slope * (far - point)
    corners = [Point(near, 0.0), Point(far, 0.0), Point(far, min(high, flat))]
    if high > flat > low:
        corners.append(Point(point + flat / slope, flat))
    if low > 0:
        corners.append(Point(near, min(low, flat)))
    return [Obstacle(name=name, polygon=tuple(corners))]


def _box(name: str, near: float, far: float, inner: float, outer: float) -> list[Obstacle]:
    """Return a ring or disk between two Z and two radii; none where it has no size."""
    if far <= near + ROUNDING or outer <= inner:
        return []
    polygon: Polygon = (Point(near, inner), Point(far, inner), Point(far, outer), Point(near, outer))
    return [Obstacle(name=name, polygon=polygon)]
