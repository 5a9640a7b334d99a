"""Reads an outline as sections: cylinders and tapers, with faces, chamfers, edge radii, fillets, undercuts between."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from cam.dxf.order import Strokes
from cam.dxf.read import Sketch, Stroke
from cam.geometry.path import Arc, Line, Point, Segment
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, refusal
from cam.ground.tolerances import AS_DRAWN

TANGENT = 2e-3
"""The angle, radians, below which an arc is taken to run into a face or surface without a kink."""
DEEPEST_UNDERCUT = 0.15
"""The deepest groove beside a shoulder that is taken for its undercut, as a share of the diameter; cam.part.checks."""


@frozen
class Found:
    """One section as drawn.

    Attributes:
        name: "section 1", or as it stands on the layer of section names.
        diameter_a, diameter_b, length: mm.
        corner_a, corner_b: "fillet 0.2 mm", "fillet up to 0.2 mm", "undercut 1 mm wide 0.2 mm deep"; "sharp" where
            it is drawn so, which cannot be turned; "" where there is no corner.
        edge_a, edge_b: "sharp", "chamfer 0.2 mm", "radius 0.4 mm"; "" where there is no edge. Numbers are mm.
        words: the entity from which it comes.
    """

    name: str
    diameter_a: float
    diameter_b: float
    length: float
    corner_a: tuple[str, float, float]
    corner_b: tuple[str, float, float]
    edge_a: tuple[str, float, float]
    edge_b: tuple[str, float, float]
    words: str


Detail = tuple[str, float, float]
"""Kind ("fillet", "fillet up to", "undercut", "sharp", "chamfer", "radius", "" for none), size or width, and depth."""
NONE: Detail = ("", 0.0, 0.0)
SHARP: Detail = ("sharp", 0.0, 0.0)


class _Surface(Row):
    """A cylinder or taper, extended to its faces."""

    line: Line
    words: str

    def radius(self, z: float) -> float:
        (z0, x0), (z1, x1) = self.line
        return x0 if x0 == x1 else x0 + (x1 - x0) * (z - z0) / (z1 - z0)


class _Joint(Row):
    """What lies between two surfaces, or between the axis and the first or last.

    Attributes:
        z: that of the face.
        low: at the smaller side.
        high: at the larger side.
    """

    z: float
    low: Detail
    high: Detail


def find_sections(sketch: Sketch, chain: Strokes) -> tuple[Found, ...]:
    """Recognise the sections of an outline that is in order.

    Args:
        sketch: gives the names and the path.
        chain: the strokes from cam.dxf.order; z from the A face.

    Raises:
        ProblemError: every stroke that is no part of a turned section, by handle and place.
    """
    problems: list[Problem] = []
    items = _merge(chain, [z - _offset(sketch) for z, _ in sketch.names])
    problems += _backward(items, sketch.path)
    if problems:
        raise ProblemError(problems)
    at = [k for k in range(len(items)) if _kind(items, k) == "surface"]
    if not at:
        what = "the outline has no cylinder and no taper, so there is nothing to be a section"
        raise refusal(sketch.path, what)
    surfaces = [_Surface(Line(items[k].piece.start, items[k].piece.end), items[k].words) for k in at]
    bounds = [-1, *at, len(items)]
    joints = [
        _joint(items[a + 1 : b], _beside(surfaces, k, items), sketch.path, problems)
        for k, (a, b) in enumerate(pairwise(bounds))
    ]
    if problems:
        raise ProblemError(problems)
    surfaces, joints, undercuts = _take_undercuts(surfaces, joints)
    return _name(sketch, chain, [_section(surfaces, joints, undercuts, k) for k in range(len(surfaces))])


def _offset(sketch: Sketch) -> float:
    """Return z of the A face in the sketch."""
    return min(min(s.piece.start.z, s.piece.end.z) for s in sketch.strokes)


# Strokes ----------------------------------------------------------------------------------------------


def _merge(chain: Strokes, names: Sequence[float]) -> list[Stroke]:
    """Join lines that go on in one direction, except where each half has a name of its own."""
    items: list[Stroke] = []
    for stroke in chain:
        last = items[-1] if items else None
        if last is not None and isinstance(last.piece, Line) and isinstance(stroke.piece, Line):
            whole = Line(last.piece.start, stroke.piece.end)
            joined = last._replace(piece=whole)
            if _off_line(whole, stroke.piece.start) < AS_DRAWN and not _both_named(last, stroke, names):
                items[-1] = joined
                continue
        items.append(stroke)
    return items


def _both_named(one: Stroke, other: Stroke, names: Sequence[float]) -> bool:
    return all(any(s.piece.start.z < z < s.piece.end.z for z in names) for s in (one, other))


def _off_line(line: Line, p: Point) -> float:
    """Return the distance of a point from a line; infinite for one behind its start."""
    (z0, x0), (z1, x1) = line
    size = math.dist(line.start, line.end)
    if size < AS_DRAWN or (p.z - z0) * (z1 - z0) + (p.x - x0) * (x1 - x0) <= 0:
        return math.inf
    return abs((p.z - z0) * (x1 - x0) - (p.x - x0) * (z1 - z0)) / size


def _backward(items: Sequence[Stroke], path: str) -> list[Problem]:
    return [
        Problem(
            where=Where(path=path),
            what=f"{s.words} runs back toward the A end: an undercut that no section can have",
            fix="draw the outline so that it never goes back along the axis",
        )
        for s in items
        if s.piece.end.z < s.piece.start.z - AS_DRAWN
    ]


def _heading(piece: Segment, *, at_end: bool) -> float:
    """Return the direction of travel, radians from +z."""
    if isinstance(piece, Line):
        return math.atan2(piece.end.x - piece.start.x, piece.end.z - piece.start.z)
    p = piece.end if at_end else piece.start
    return math.atan2(p.x - piece.centre.x, p.z - piece.centre.z) + piece.turn * math.pi / 2


def _upright(angle: float) -> bool:
    return abs(math.cos(angle)) < TANGENT


def _kind(items: Sequence[Stroke], k: int) -> str:
    """Return "face", "surface", "chamfer" or "arc".

    A line at 45 degrees is a chamfer where its low end is on a face and its high end on a surface; otherwise a taper.
    """
    piece = items[k].piece
    if isinstance(piece, Arc):
        return "arc"
    dz, dx = piece.end.z - piece.start.z, piece.end.x - piece.start.x
    if abs(dz) < AS_DRAWN:
        return "face"
    if abs(abs(dx) - dz) >= AS_DRAWN:
        return "surface"
    low, high = (k - 1, k + 1) if dx > 0 else (k + 1, k - 1)
    on_face = not 0 <= low < len(items) or _upright(_heading(items[low].piece, at_end=dx > 0))
    on_surface = 0 <= high < len(items) and _is_sloping(items[high].piece)
    return "chamfer" if on_face and on_surface else "surface"


def _is_sloping(piece: Segment) -> bool:
    """Whether a piece is a line that is neither a face nor at 45 degrees, so that it can be nothing but a surface."""
    dz, dx = piece.end.z - piece.start.z, piece.end.x - piece.start.x
    return not isinstance(piece, Arc) and dz >= AS_DRAWN and abs(abs(dx) - dz) >= AS_DRAWN


# Joints -----------------------------------------------------------------------------------------------


def _beside(
    surfaces: Sequence[_Surface], k: int, items: Sequence[Stroke]
) -> tuple[_Surface | None, _Surface | None, float]:
    """Return the surfaces before and after a joint, and z of the outline's end where one is missing."""
    before = surfaces[k - 1] if k else None
    after = surfaces[k] if k < len(surfaces) else None
    return before, after, items[0].piece.start.z if before is None else items[-1].piece.end.z


def _joint(
    items: Sequence[Stroke], beside: tuple[_Surface | None, _Surface | None, float], path: str, problems: list[Problem]
) -> _Joint:
    if not items:
        return _bare_joint(beside, path, problems)
    before, after, _ = beside
    rises = items[-1].piece.end.x > items[0].piece.start.x
    sides = ((items[0], before), (items[-1], after))
    low, high = sides if rises else sides[::-1]
    corner, edge = SHARP if low[1] is not None else NONE, SHARP
    feet = [(s, _foot(s.piece, rises=rises)) for s in items]
    zs = [foot.z for _, foot in sorted(feet, key=lambda pair: not _is_face(pair[0].piece))]
    for s, foot in feet:
        found = _detail(s, foot, low, high)
        kind = found[0]
        if not kind:
            what = "is neither a fillet nor a rounded edge between a face and a surface"
            problems.append(_useless(s.words, what, path))
        elif kind.startswith("fillet"):
            corner = found
        elif kind != "sharp":
            edge = found
    problems += _check_one_face(zs, items[0].words, path)
    return _Joint(zs[0], corner, edge)


def _check_one_face(zs: Sequence[float], words: str, path: str) -> Iterator[Problem]:
    """Check that what is drawn between two surfaces stands on one face."""
    if max(zs) - min(zs) > AS_DRAWN:
        yield _useless(words, "and what follows it are faces at two places with no surface between", path)


def _bare_joint(beside: tuple[_Surface | None, _Surface | None, float], path: str, problems: list[Problem]) -> _Joint:
    """Return a joint at which nothing is drawn; at the outline's end, a surface comes to a point there: a problem."""
    before, after, end = beside
    if before is None or after is None:
        words = next((s.words for s in (after, before) if s is not None), "")
        problems.append(_useless(words, "comes to a point on the centre line", path))
    return _Joint(after.line.start.z if after is not None else end, NONE, NONE)


def _detail(
    stroke: Stroke, foot: Point, low: tuple[Stroke, _Surface | None], high: tuple[Stroke, _Surface | None]
) -> Detail:
    """Return what a stroke between two surfaces is: a face is sharp, what cannot be read is nothing.

    Args:
        foot: its end on the face.
        low, high: the stroke at the smaller and at the larger side, and the surface there.
    """
    piece, upper = stroke.piece, high[1]
    if _is_face(piece):
        return SHARP
    if not isinstance(piece, Arc):
        assert upper is not None
        return "chamfer", upper.radius(foot.z) - foot.x, 0.0
    if stroke is low[0] and _runs_into(piece, 1, low[1]):
        return "fillet up to" if stroke.loose else "fillet", piece.radius, 0.0
    return ("radius", piece.radius, 0.0) if stroke is high[0] and _runs_into(piece, -1, upper) else NONE


def _foot(piece: Segment, *, rises: bool) -> Point:
    """Return the end of a piece of a joint that lies on its face, or would."""
    face_first = _is_face(piece) or _upright(_heading(piece, at_end=False))
    return piece.start if face_first or (rises and not isinstance(piece, Arc)) else piece.end


def _is_face(piece: Segment) -> bool:
    return not isinstance(piece, Arc) and abs(piece.end.z - piece.start.z) < AS_DRAWN


def _runs_into(arc: Arc, turn: int, surface: _Surface | None) -> bool:
    """Whether an arc of that turn goes from an upright face to a surface without a kink, the short way."""
    if arc.turn * turn <= 0 or surface is None:
        return False
    face_first = _upright(_heading(arc, at_end=False))
    face, other = (_heading(arc, at_end=not face_first), _heading(arc, at_end=face_first))
    along = _heading(surface.line, at_end=True)
    return (
        _upright(face)
        and math.cos(other - along) > 1 - TANGENT**2 / 2
        and abs(arc.end.x - arc.start.x) <= arc.radius * 2
    )


def _useless(words: str, why: str, path: str) -> Problem:
    fix = "draw cylinders, tapers, square faces, 45 degree chamfers, rounded edges and fillets"
    return Problem(where=Where(path=path), what=f"{words} {why}", fix=fix)


# Undercuts ----------------------------------------------------------------------------------------------


def _take_undercuts(
    surfaces: list[_Surface], joints: list[_Joint]
) -> tuple[list[_Surface], list[_Joint], dict[tuple[int, str], Detail]]:
    """Take shallow square grooves beside a shoulder as that corner's undercut, by section and side."""
    kept: list[_Surface] = []
    between = [joints[0]]
    undercuts: dict[tuple[int, str], Detail] = {}
    waiting: Detail = NONE
    for k, surface in enumerate(surfaces):
        side = _undercut_side(surfaces, joints, k)
        left, right = joints[k], joints[k + 1]
        if side == "b":  # belongs to the surface before it; the shoulder is after it
            depth = kept[-1].radius(right.z) - surface.line.start.x
            undercuts[len(kept) - 1, "b"] = ("undercut", right.z - left.z, depth)
            between[-1] = right
        elif side == "a":  # belongs to the surface after it; the shoulder is before it
            waiting = ("undercut", right.z - left.z, surfaces[k + 1].radius(left.z) - surface.line.start.x)
        else:
            if waiting != NONE:
                undercuts[len(kept), "a"] = waiting
                waiting = NONE
            kept.append(surface)
            between.append(right)
    return kept, between, undercuts


def _undercut_side(surfaces: Sequence[_Surface], joints: Sequence[_Joint], k: int) -> str:
    """Return the end of its neighbour that a groove undercuts: "b" before it, "a" after it, "" for none."""
    along = surfaces[k].line
    if not 0 < k < len(surfaces) - 1 or abs(along.end.x - along.start.x) >= AS_DRAWN:
        return ""
    floor, left, right = surfaces[k].line.start.x, joints[k], joints[k + 1]
    before, after = surfaces[k - 1].radius(left.z), surfaces[k + 1].radius(right.z)
    if not {left.low, right.low} <= {SHARP, NONE} or min(before, after) <= floor + AS_DRAWN:
        return ""
    own, shoulder, near = (before, after, left) if before < after else (after, before, right)
    if shoulder < own + AS_DRAWN or near.high != SHARP or own - floor > DEEPEST_UNDERCUT * 2 * own:
        return ""
    return "b" if before < after else "a"


# Sections ---------------------------------------------------------------------------------------------


def _section(
    surfaces: Sequence[_Surface], joints: Sequence[_Joint], undercuts: dict[tuple[int, str], Detail], k: int
) -> Found:
    surface, start, end = surfaces[k], joints[k].z, joints[k + 1].z
    size_a, size_b = (2 * surface.radius(z) for z in (start, end))
    before = 2 * surfaces[k - 1].radius(start) if k else 0.0
    after = 2 * surfaces[k + 1].radius(end) if k + 1 < len(surfaces) else 0.0
    corner_a, edge_a = _side(joints[k], size_a, before)
    corner_b, edge_b = _side(joints[k + 1], size_b, after)
    return Found(
        name=f"section {k + 1}", diameter_a=size_a, diameter_b=size_b, length=end - start,
        corner_a=undercuts.get((k, "a"), corner_a), corner_b=undercuts.get((k, "b"), corner_b), edge_a=edge_a,
        edge_b=edge_b, words=surface.words,
    )  # fmt: skip


def _side(joint: _Joint, own: float, other: float) -> tuple[Detail, Detail]:
    """Return the corner and the edge of one end."""
    if other > own + AS_DRAWN:
        return joint.low, NONE
    return NONE, joint.high if other < own - AS_DRAWN else NONE


def _name(sketch: Sketch, chain: Strokes, found: list[Found]) -> tuple[Found, ...]:
    """Give sections the names that stand over them on the layer of section names."""
    offset, start = _offset(sketch), 0.0
    named: list[Found] = []
    for section in found:
        over = [name for z, name in sketch.names if start < z - offset < start + section.length]
        start += section.length
        taken = {s.name for s in named} | {s.name for s in found}
        name = over[0].strip()[:60] if len(over) == 1 else ""
        named.append(replace(section, name=name) if name and name not in {*taken, "stock"} else section)
    return tuple(named)
