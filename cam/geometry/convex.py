"""Convex polygons, by shapely: hulls, Minkowski sums, and how far paths stay from polygons.

A tool's solid part and an obstacle touch exactly when the tool's programmed point lies in the obstacle
grown by the reflected part. So one polygon for each pair, and a line or arc of the path, answer for a whole
move (configuration space: T. Lozano-Perez, "Spatial planning: a configuration space approach", IEEE
Transactions on Computers C-32, 1983).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from cam.geometry.path import Arc, Point, Polygon, Segment, flatten, point_at, share_on
from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.tolerances import EXACT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CHORD = 1e-4
"""How far chords may stray from an arc, mm, to find the polygon nearest to it and where it runs inside one."""
EQUAL = 9
"""Decimals of a distance, mm: of polygons that are equally near the first is meant, and of motions likewise."""


class Separation(Row):
    """How far a path stays from the nearest of some polygons, or how deep it goes into one.

    Attributes:
        distance: mm; a negative one is the greatest depth that the path reaches inside.
        on_path, on_polygon: the nearest points, or the deepest place and the edge nearest to it.
        which: the polygon's number, counted from 0.
    """

    distance: float
    on_path: Point
    on_polygon: Point
    which: int


def hull(points: Iterable[Point]) -> Polygon:
    """Return the least convex polygon around points: counter-clockwise from the least, no corner in a straight edge.

    Points on one line give their two ends, and equal points a single one.

    Raises:
        RangeError: no points.
    """
    given = list(points)
    if not given:
        raise RangeError("no points, so no hull")
    return _hull(np.array(given))


def _hull(places: Array) -> Polygon:
    shape = shapely.normalize(shapely.convex_hull(shapely.multipoints(places)))
    corners = shapely.get_coordinates(shapely.simplify(shape, EXACT)).tolist()
    return tuple(Point(*p) for p in (corners[:0:-1] if len(corners) > 3 else sorted(corners)))


def is_convex(polygon: Polygon) -> bool:
    """Whether the corners in their order, either way round, bound a convex area.

    Corners within a straight edge are allowed; polygons without area or that run round twice are not
    convex. `hull` gives the tidy counter-clockwise form.
    """
    if len(set(polygon)) < 3:
        return False
    shape = shapely.Polygon(polygon)
    return bool(shape.is_valid and shape.convex_hull.area - shape.area <= EXACT * shape.length < shape.area)


def reflect(polygon: Polygon) -> Polygon:
    """Negate every corner (a half turn about the origin); the polygon stays counter-clockwise."""
    return tuple(Point(-z, -x) for z, x in polygon)


@lru_cache(maxsize=1024)
def minkowski(a: Polygon, b: Polygon) -> Polygon:
    """Return all sums of a point of a and a point of b, both convex; a single point or two points will do."""
    return _hull((np.array(a)[:, None] + np.array(b)).reshape(-1, 2))


@lru_cache(maxsize=1024)
def _solid(polygon: Polygon) -> shapely.Polygon:
    """Return a polygon as shapely has it."""
    return shapely.Polygon(polygon)


def separations(polygons: Sequence[Polygon], rounds: Sequence[float], paths: Sequence[Segment]) -> list[Separation]:
    """Return how far each path stays from the nearest of the polygons, each with a rounding about it.

    Args:
        polygons: at least one; convex, counter-clockwise, with an area.
        rounds: the rounding about each, mm; distances are to the rounding, points lie on the polygon itself.
        paths: lines and arcs; a line of no length is a point. Of places that are equally near, a path's start is meant.
    """
    shapes = np.array([_solid(p) for p in polygons])
    ways = [flatten(path, CHORD) for path in paths]
    owners = np.repeat(np.arange(len(ways)), [len(way) for way in ways])
    lines = shapely.linestrings([place for way in ways for place in way], indices=owners)
    apart = shapely.distance(lines[:, None], shapes)
    for i, k in np.argwhere(apart == 0.0):
        apart[i, k] = _deepest(polygons[k], paths[i])[0]
    which = np.argmin(np.round(apart - np.array(rounds), EQUAL), axis=1)
    least = apart[np.arange(len(lines)), which]
    starts = shapely.get_point(lines, 0)
    from_start = shapely.distance(starts, shapes[which]) < least + 10.0**-EQUAL
    links = shapely.shortest_line(np.where(from_start, starts, lines), shapes[which])
    feet = shapely.get_coordinates(links).reshape(-1, 2, 2).tolist()
    found = []
    for i, (path, (tip, foot)) in enumerate(zip(paths, feet, strict=True)):
        k = int(which[i])
        near = float(least[i]), Point(*tip), Point(*foot)
        if near[0] <= 0.0:
            near = _deepest(polygons[k], path)
        elif isinstance(path, Arc):
            near = _on_arc(path, shapes[k], share_on(path, near[1]))
        found.append(Separation(round(near[0] - rounds[k], EQUAL), near[1], near[2], k))
    return found


def _on_arc(arc: Arc, shape: shapely.Polygon, share: float) -> tuple[float, Point, Point]:
    """Return the nearest points of an arc and a shape from their place along its chords, as a share of its length."""
    width = 0.5
    for _ in range(12):
        shares = [min(max(share + width * k / 4, 0.0), 1.0) for k in range(-4, 5)]
        share = shares[int(np.argmin(shapely.distance(shapely.points([point_at(arc, s) for s in shares]), shape)))]
        width /= 4
    tip = shapely.Point(point_at(arc, share))
    line = shapely.shortest_line(tip, shape)
    return line.length, Point(*line.coords[0]), Point(*line.coords[1])


def _deepest(polygon: Polygon, path: Segment) -> tuple[float, Point, Point]:
    """Return how deep a path reaches inside, as a negative distance, with the place and the nearest point of the edge.

    The depth below each edge is linear along a chord, so the least of them is greatest at an end or where two meet.
    """
    corners, places = np.array(polygon), np.array(flatten(path, CHORD))
    sides = np.roll(corners, -1, axis=0) - corners
    normals = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(*sides.T)[:, None]
    depths = (corners * normals).sum(axis=1) - places @ normals.T
    starts, ways = depths[:-1], np.diff(depths, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        meets = (starts[:, :, None] - starts[:, None, :]) / (ways[:, None, :] - ways[:, :, None])
    shares = np.nan_to_num(meets.reshape(len(starts), -1), posinf=0.0, neginf=0.0).clip(0.0, 1.0)
    shares[:, 0] = 1.0  # an edge meets itself nowhere: the other places on the diagonal stand for the start
    least = (starts[:, :, None] + ways[:, :, None] * shares[:, None, :]).min(axis=1)
    chord, at = np.unravel_index(np.argmax(least), least.shape)
    place = places[chord] + shares[chord, at] * (places[chord + 1] - places[chord])
    edge = np.argmin((corners * normals).sum(axis=1) - normals @ place)
    depth = max(float(least[chord, at]), 0.0)
    return -depth, Point(*place.tolist()), Point(*(place + depth * normals[edge]).tolist())
