"""Room for the tool beside the centre and the carrier, by configuration space.

Every obstacle, grown by the reflected tool and by the clearance, is a convex set of places where the
programmed point may not be. A pass may start at any place that is left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cam.geometry.convex import minkowski, reflect
from cam.geometry.path import Point, Polygon
from cam.ground.frozen import frozen
from cam.setting.model import Setting
from cam.shop.model import Tool
from cam.shop.tool_shape import tool_bodies

SIDES = 32
"""The corners of the polygon drawn about the clearance circle: it is too large by at most 0.5 %, on the safe side."""


@frozen
class Wall:
    """Places where the programmed point may not be, because one body would be too near one obstacle.

    Attributes:
        obstacle, body: their names.
        solid: the obstacle. grown: the body reflected and grown by the clearance.
        least, most: Z of the ends of the two together, mm.
    """

    obstacle: str
    body: str
    solid: Polygon
    grown: Polygon
    least: float
    most: float

    @property
    def polygon(self) -> Polygon:
        """Return the places, a convex polygon."""
        return minkowski(self.solid, self.grown)


@frozen
class Limit:
    """How far along Z the programmed point may stand at some radius, and what stops it there."""

    z: float
    obstacle: str
    body: str


@frozen
class Room:
    """Free room for one tool in one setting.

    Attributes:
        tail, head: walls toward the tailstock and toward the headstock, those that reach in furthest first.
    """

    tail: tuple[Wall, ...]
    head: tuple[Wall, ...]

    def furthest(self, x: float) -> Limit:
        """Return the greatest Z at which the point may come in from outside to radius x, mm; infinite if free."""
        found = Limit(z=math.inf, obstacle="", body="")
        for wall in self.tail:
            if wall.least >= found.z:
                break
            z = least_z(wall.polygon, x)
            if z < found.z:
                found = Limit(z=z, obstacle=wall.obstacle, body=wall.body)
        return found

    def nearest(self, x: float) -> Limit:
        """Return the least Z at which the point may come in from outside to radius x, mm; minus infinity if free."""
        found = Limit(z=-math.inf, obstacle="", body="")
        for wall in self.head:
            if wall.most <= found.z:
                break
            z = most_z(wall.polygon, x)
            if z > found.z:
                found = Limit(z=z, obstacle=wall.obstacle, body=wall.body)
        return found


def least_z(polygon: Polygon, x: float) -> float:
    """Return the least z of the part of a polygon that lies at radius x or further out, mm; infinite if none."""
    return min(_zs_from(polygon, x), default=math.inf)


def most_z(polygon: Polygon, x: float) -> float:
    """Return the greatest z of the part of a polygon at radius x or further out, mm; minus infinity if none."""
    return max(_zs_from(polygon, x), default=-math.inf)


def _zs_from(polygon: Polygon, x: float) -> list[float]:
    """Return the z of the corners at radius x or further out, and of the places where the sides cross x."""
    found = []
    z0, x0 = polygon[-1]
    for z1, x1 in polygon:
        if x1 >= x:
            found.append(z1)
        if (x0 - x) * (x1 - x) < 0:
            found.append(z0 + (z1 - z0) * (x - x0) / (x1 - x0))
        z0, x0 = z1, x1
    return found


def disk(radius: float) -> Polygon:
    """Draw a polygon about the circle of this radius, mm."""
    out = radius / math.cos(math.pi / SIDES)
    turns = (2 * math.pi * k / SIDES for k in range(SIDES))
    return tuple(Point(out * math.cos(t), out * math.sin(t)) for t in turns)


def find_room(setting: Setting, tool: Tool, clearance: float) -> Room:
    """Find the room for a tool in a setting, with clearance mm kept from every obstacle."""
    middle = (setting.end_z + setting.limit_z) / 2
    tail: list[Wall] = []
    head: list[Wall] = []
    for body in tool_bodies(tool):
        mirror = minkowski(reflect(body.polygon), disk(body.round + clearance))
        least, most = min(z for z, _ in mirror), max(z for z, _ in mirror)
        for obstacle in setting.obstacles:
            zs = [z for z, _ in obstacle.polygon]
            wall = Wall(
                obstacle=obstacle.name,
                body=body.name,
                solid=obstacle.polygon,
                grown=mirror,
                least=min(zs) + least,
                most=max(zs) + most,
            )
            (tail if _mean_z(obstacle.polygon) > middle else head).append(wall)
    tail.sort(key=lambda w: w.least)
    head.sort(key=lambda w: -w.most)
    return Room(tail=tuple(tail), head=tuple(head))


def _mean_z(polygon: Iterable[Point]) -> float:
    zs = [p.z for p in polygon]
    return sum(zs) / len(zs)
