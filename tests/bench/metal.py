"""Metal removal alone, ours and by a general-purpose geometry library, which is the baseline of the timing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from shapely import MultiPoint, Polygon
from shapely.affinity import translate

from cam.geometry.path import Arc, Chain, Point
from cam.judge.envelope import Metal, from_chain
from cam.judge.sweep import along_arc, along_line, find_underside
from cam.rs274.model import Motion, Program
from cam.setting.model import Setting
from cam.shop.model import Shop
from cam.shop.tool_shape import tool_bodies

CHORDS = 12
"""Number of pieces that a quarter turn is cut into: 48 points on a nose, 0.1 um on a radius of 0.05 mm."""


def cut_with_shapely(program: Program, setting: Setting, shop: Shop) -> Polygon:
    """Return the half-section after the program, by a difference for each cutting motion."""
    solids = {}
    for tool in shop.tools:
        nose = tool_bodies(tool)[0]
        solids[tool.number] = MultiPoint(nose.polygon).convex_hull.buffer(nose.round, quad_segs=CHORDS)
    metal = Polygon(list(_corners(setting.stock)))
    for motion in program.motions:
        if motion.kind not in ("line", "arc") or not motion.tool:
            continue
        solid = solids[motion.tool]
        for (z1, x1), (z2, x2) in pairwise(_places(motion)):
            ends = translate(solid, z1, x1).union(translate(solid, z2, x2))
            metal = metal.difference(ends.convex_hull)
    return metal


def cut_exactly(program: Program, setting: Setting, shop: Shop) -> Metal:
    """Return the same by the pieces that the simulation is made of."""
    unders = {t.number: find_underside(tool_bodies(t)[0].polygon, float(t.nose_radius)) for t in shop.tools}
    metal = Metal(from_chain(setting.stock))
    for number, motion in enumerate(program.motions):
        if motion.kind not in ("line", "arc") or not motion.tool:
            continue
        under, start, end = (
            unders[motion.tool],
            Point(motion.start.z, motion.start.x),
            Point(motion.end.z, motion.end.x),
        )
        if motion.centre is None:
            metal.cut(along_line(under, start, end, number))
            continue
        centre = Point(motion.centre.z, motion.centre.x)
        for swept in along_arc(under, start, end, centre, motion.turn, number):
            metal.cut(swept)
    return metal


def _corners(chain: Chain) -> Iterator[tuple[float, float]]:
    for piece in chain:
        yield piece.start.z, piece.start.x
        if isinstance(piece, Arc):
            yield from _on_arc(piece.start, piece.end, piece.centre, piece.turn)
    yield chain[-1].end.z, chain[-1].end.x


def _places(motion: Motion) -> Iterator[tuple[float, float]]:
    """Return the programmed points along a motion, ends included."""
    start, end = (motion.start.z, motion.start.x), (motion.end.z, motion.end.x)
    yield start
    if motion.centre is not None:
        yield from _on_arc(start, end, (motion.centre.z, motion.centre.x), motion.turn)
    yield end


def _on_arc(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], turn: int
) -> Iterator[tuple[float, float]]:
    """Return points between the ends of an arc; all places are (z, x)."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    sweep = (turn * (math.atan2(end[1] - centre[1], end[0] - centre[0]) - first)) % (2 * math.pi)
    radius = math.dist(start, centre)
    steps = max(1, math.ceil(sweep / (math.pi / 2) * CHORDS))
    for step in range(1, steps):
        angle = first + turn * sweep * step / steps
        yield centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)
