"""The sizes that a program would really cut on slides with backlash, compared with those wanted."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from cam.geometry.path import Arc, Chain, Segment, point_at
from cam.ground.frozen import Row
from cam.judge.envelope import Metal
from cam.judge.play import Play
from cam.judge.really import cut_with_play
from cam.judge.threading import height_over
from cam.part.features import Edge, reach_along, size_of
from cam.rs274.model import Program
from cam.setting.corrections import correct_turned
from cam.setting.model import Correction, Setting, Turned
from cam.setting.outline import Surface, corner_arc, edge_pieces, surface_behind
from cam.setting.profiles import growth
from cam.shop.model import Shop

SPOTS = 5
"""Number of places along a section at which its size is taken."""
BESIDE = 0.02
"""How far from corners and edges sizes are taken, mm."""
ASIDE = 1.0
"""How far on either side of its due place a face is looked for, mm."""


class Size(Row):
    """One size that comes out, and by how much it is off.

    Attributes:
        section: its name; a shoulder or a corner goes by the section that ends at it, an edge by the one that it is on.
        what: "diameter", "taper", "undercut" (on diameter), "shoulder", "undercut wall" (along Z), "edge" or "fillet"
            (square to the surface).
        wanted: mm; for a shoulder or wall its Z in the setting; for an edge its size, for a fillet its radius.
        least, most: least and greatest error over both states of the slides at the start, mm: metal that is cut
            less metal that is wanted.
    """

    section: str
    what: str
    wanted: float
    least: float
    most: float


def cut_sizes(
    program: Program, setting: Setting, shop: Shop, play_x: float, play_z: float, *, stock: Chain | None = None
) -> tuple[Size, ...]:
    """Return every size that a program leaves on slides with backlash, from the tailstock end.

    Args:
        program, setting, shop, stock: as for simulate. play_x, play_z: backlash of the slides, mm.

    Both the slides' extreme states before the program are tried. Where a gauging stop's reading corrects a last cut,
    the program is to say so: sizes are as they then come out on the work.
    """
    states = [cut_with_play(program, setting, shop, Play(play_x, play_z, loose=b), stock) for b in (False, True)]
    beyond = [*(t.edge for t in setting.turned[1:]), None]
    found: list[Size] = []
    for turned, edge in zip(correct_turned(setting.turned, setting.corrections), beyond, strict=True):
        found += _sizes(turned, turned.far_edge or edge, setting, states, max(play_x, play_z))
    by_name = {c.section: c for c in setting.corrections}
    return tuple(_on_the_work(size, by_name.get(size.section)) for size in found)


def _sizes(turned: Turned, past: Edge | None, setting: Setting, states: list[Metal], play: float) -> Iterator[Size]:
    """Yield the sizes of a section; past: the edge of the shoulder that it ends at.

    The vees of a thread run over the start's chamfer and the undercut.
    """
    pitch = setting.pitch_on(turned.section.name)
    yield from _diameter_and_shoulder(turned, past.size if past is not None else 0.0, states, play, pitch)
    if not pitch:
        yield from _corners(turned, states)
        if turned.edge is not None and turned.extra_length == 0:
            own = Surface(turned.radius_near, growth(turned))
            yield from _edge(turned.section.name, turned.near, own, turned.edge, states)
    if turned.far_edge is not None:
        behind = surface_behind(setting.stock, turned.far)
        yield from _edge(f"{turned.section.name}, beyond it", turned.far, behind, turned.far_edge, states)


def _on_the_work(size: Size, correction: Correction | None) -> Size:
    """Return a size with what is wanted on the work in place of what the program must say for it."""
    if correction is None or size.what in ("edge", "fillet"):
        return size
    more = correction.face if size.what in ("shoulder", "undercut wall") else 2 * correction.radius
    return size._replace(wanted=size.wanted + more)


def _diameter_and_shoulder(
    turned: Turned, edge: float, states: list[Metal], play: float, pitch: float
) -> Iterator[Size]:  # fmt: skip
    """Yield a section's diameter, over a thread's crests, and its shoulder, whose outer edge is `edge` mm."""
    name, spots = turned.section.name, _spots(turned, play)
    if spots:
        what = "taper" if turned.is_taper else "diameter"
        errors = [2 * (height_over(m, z, pitch) - _wanted(turned, z)) for m in states for z in spots]
        yield _size(name, what, 2 * turned.radius_near, errors)
    height = _face_height(turned, edge + play)
    if height is not None:
        yield _size(name, "shoulder", turned.far, [_place_of_face(m, turned.far, height) - turned.far for m in states])


def _size(name: str, what: str, wanted: float, errors: list[float]) -> Size:
    return Size(name, what, wanted, min(errors), max(errors))


def _corners(turned: Turned, states: list[Metal]) -> Iterator[Size]:
    """Return the size of an exact fillet, or of the floor and the wall of an undercut."""
    corner, name = turned.corner, turned.section.name
    if corner is None or turned.far_kind != "shoulder":
        return
    if corner.kind == "fillet":
        arc = corner_arc(turned.far, Surface(turned.radius_far, growth(turned)), corner.radius)
        yield _square_to(name, "fillet", corner.radius, arc, states)
    elif corner.kind == "undercut":
        floor, wall = turned.radius_far - corner.depth, turned.far + corner.width
        middle, height = turned.far + corner.width / 2, floor + 0.75 * (_wanted(turned, wall) - floor)
        yield _size(name, "undercut", 2 * floor, [2 * (m.at(middle) - floor) for m in states])
        yield _size(name, "undercut wall", wall, [wall - _place_of_wall(m, wall, height) for m in states])


def _edge(name: str, z: float, surface: Surface, edge: Edge, states: list[Metal]) -> Iterator[Size]:
    """Return the size of an outer edge whose face is at z."""
    if edge.kind != "sharp":
        yield _square_to(name, "edge", edge.size, edge_pieces(z, surface, edge)[0], states)


def _square_to(name: str, what: str, wanted: float, piece: Segment, states: list[Metal]) -> Size:
    """Measure how far the metal stands from a piece of its outline, square to it, at places between its ends."""
    shares = [k / (SPOTS + 1) for k in range(1, SPOTS + 1)]
    return _size(name, what, wanted, [_distance(m, piece, share) for m in states for share in shares])


def _distance(metal: Metal, piece: Segment, share: float) -> float:
    """Distance from a share of a piece to the metal, square to the piece, by halving; metal outside counts positive."""
    if isinstance(piece, Arc):
        first = math.atan2(piece.start.x - piece.centre.x, piece.start.z - piece.centre.z)
        last = math.atan2(piece.end.x - piece.centre.x, piece.end.z - piece.centre.z)
        turn = math.remainder(last - first, 2 * math.pi)
        angle = first + share * turn
        normal_z, normal_x = math.cos(angle), math.sin(angle)
        z, x = piece.centre.z + piece.radius * normal_z, piece.centre.x + piece.radius * normal_x
    else:
        z, x = point_at(piece, share)
        size = math.dist(piece.start, piece.end)
        normal_z, normal_x = (piece.end.x - piece.start.x) / size, (piece.start.z - piece.end.z) / size
    if normal_x < 0:
        normal_z, normal_x = -normal_z, -normal_x
    return _halve(lambda off: metal.at(z + off * normal_z) > x + off * normal_x, 0.0, ASIDE)


def _halve(holds: Callable[[float], bool], about: float, aside: float) -> float:
    """Return the number no further aside from another up to which a condition holds, by halving."""
    low, high = about - aside, about + aside
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _spots(turned: Turned, play: float) -> list[float]:
    """Return places along a section clear of its corner, its edge, how far those may be off, and its extra length."""
    low = turned.far + reach_along(turned.corner) + play + BESIDE
    high = turned.near - size_of(turned.edge) - play - turned.extra_length - BESIDE
    return [low + (high - low) * k / (SPOTS - 1) for k in range(SPOTS)] if high > low else []


def _wanted(turned: Turned, z: float) -> float:
    """Radius wanted at z, mm."""
    share = (turned.near - z) / (turned.near - turned.far)
    return turned.radius_near + share * (turned.radius_far - turned.radius_near)


def _face_height(turned: Turned, edge: float) -> float | None:
    """Radius half way up a shoulder's face, clear of corner and edge; None where there is no such face."""
    if turned.far_kind != "shoulder":
        return None
    corner = turned.corner.radius if turned.corner is not None else 0.0
    low, high = turned.radius_far + corner + BESIDE, turned.far_radius - edge - BESIDE
    return (low + high) / 2 if high > low else None


def _place_of_face(metal: Metal, z: float, height: float) -> float:
    """Return where along Z, near z, the metal rises through a height toward the headstock, mm."""
    return _halve(lambda at: metal.at(at) >= height, z, ASIDE)


def _place_of_wall(metal: Metal, z: float, height: float) -> float:
    """Return where along Z, near z, the metal rises through a height toward the tailstock, mm."""
    return _halve(lambda at: metal.at(at) < height, z, ASIDE / 4)
