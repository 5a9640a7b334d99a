"""Surfaces that must have been left in a certain way: diameters by X, shoulders by Z and faced over their height."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from cam.geometry.path import Arc, Line
from cam.ground.frozen import Row
from cam.judge.envelope import STOCK, Metal, Piece, height
from cam.judge.model import Finding
from cam.judge.report import find, mm, place, section_at, shoulder_at
from cam.judge.travel import TakeUp, goes_outward
from cam.part.features import reach_along
from cam.setting.cone import cone_radius
from cam.setting.model import Setting, Turned
from cam.shop.model import Lathe, Tool

ON_SIZE = 2e-3
"""A surface within this of what was wanted, mm, is a finished one, and a motion within it of a face runs on it."""
FOOT = 0.3
"""How far from a face the surface that it stands on is looked for, mm: beyond the nose of its fillet."""
SLIVER = 1e-3
"""Narrower surfaces are no surfaces, mm."""


class Feeding(Row):
    """A feed motion, what the slides had taken up before it, and whether they stand while the top slide moves."""

    line: int
    path: Line | Arc
    tool: Tool
    take_up: TakeUp
    top_slide: bool = False


class SquareFace(Row):
    """A square face to be made: its place along Z, and its least and greatest x as a text says them, mm."""

    z: float
    low: float
    high: float


def sized_by_x(turned: Sequence[Turned]) -> list[tuple[float, float]]:
    """Return the Z ranges whose radius X decides: sections without their inner corners, and far shoulders' edges."""
    ranges = []
    for t in turned:
        corner = reach_along(t.corner)
        ranges.append((t.far + corner, t.near))
        if t.far_edge is not None:
            ranges.append((t.far - t.far_edge.size, t.far))
    return ranges


def check_backlash(
    result: Iterable[Piece], feeding: Mapping[int, Feeding], setting: Setting, wanted: tuple[Metal, Metal], lathe: Lathe
) -> list[Finding]:
    """Find what leaves a finished diameter or taper with X not held against its play; wanted: least and most."""
    ranges = sized_by_x(setting.turned)
    play = float(lathe.x.backlash)
    found: dict[int, Finding] = {}
    for piece in result:
        source = piece[6]
        if source in feeding and source not in found:
            spot = _finished_spot(piece, ranges, wanted)
            wrong = spot is not None and _wrong_way(feeding[source], spot[1] - cone_radius(setting, spot[0]), play)
            if spot is not None and wrong:
                f = feeding[source]
                what = f"leaves {section_at(setting.turned, spot[0])}, at {place(*spot)}, {wrong}"
                found[source] = find(f.line, "backlash", what, amount=play, at=spot, tip=f.path.end, tool=f.tool.number)
    return list(found.values())


def _finished_spot(
    piece: Piece, ranges: Iterable[tuple[float, float]], wanted: tuple[Metal, Metal]
) -> tuple[float, float] | None:
    for low, high in ranges:
        z0, z1 = max(piece[0], low), min(piece[1], high)
        if z1 - z0 > SLIVER:
            for share in (0.5, 0.05, 0.95):
                z = z0 + share * (z1 - z0)
                x = height(piece, z)
                if wanted[0].at(z) - ON_SIZE <= x <= wanted[1].at(z) + ON_SIZE:
                    return z, x
    return None


def _wrong_way(feeding: Feeding, x: float, play: float) -> str:
    """Say what is wrong with a motion that leaves a surface at radius x; "" if nothing is. Its own way counts."""
    path = feeding.path
    if feeding.top_slide:
        path = Line(path.start, path.start)
    if goes_outward(path):
        return f"while X moves outward: the slide's backlash of {mm(play)} goes into the size"
    inward = feeding.take_up.inward + max(path.start[1] - max(x, path.end[1]), 0.0)
    if inward < play - 1e-6:
        return (
            f"when X has moved inward only {mm(inward)} since it last moved outward; the slide's backlash is {mm(play)}"
        )
    return ""


def find_faces(setting: Setting, least: Metal, stock: Metal) -> list[SquareFace]:
    """Find the faces that rise toward the headstock and are to be made here; beyond an open end nothing is wanted."""
    wanted = [t.far for t in setting.turned if t.far_kind == "shoulder"] + [setting.end_z] * setting.face_end
    faces = []
    for left, right in pairwise([*least.pieces, None]):
        assert left is not None
        z = left[1]
        low, high = height(right, z) if right is not None else 0.0, height(left, z)
        standing = min(high, stock.at(z))
        if standing - low > ON_SIZE and any(abs(z - w) <= ON_SIZE for w in wanted):
            off = cone_radius(setting, z)
            faces.append(SquareFace(z, low - off, standing - off))
    return faces


def facing_span(feeding: Feeding) -> tuple[float, float] | None:
    """Return the heights, from x to x, mm, that a move straight in or out faces; None for any other move."""
    (z0, x0), (z1, x1) = feeding.path.start, feeding.path.end
    return _heights(feeding) if z0 == z1 and x0 != x1 else None


def _heights(feeding: Feeding) -> tuple[float, float] | None:
    """Return the heights that a tool faces on a straight way in or out, mm; None for an arc or a left-hand tool."""
    (_, x0), (_, x1) = feeding.path.start, feeding.path.end
    if feeding.tool.hand != "right" or isinstance(feeding.path, Arc):
        return None
    r = float(feeding.tool.nose_radius)
    top = max(x0, x1) + r if feeding.tool.kind == "turning" else min(x0, x1) + float(feeding.tool.edge)
    return min(x0, x1) + r, top


class Faced:
    """The heights faced at one place along Z, mm: rising stretches that do not touch, as thousands of cuts make few."""

    def __init__(self) -> None:
        self.lows: list[float] = []
        self.highs: list[float] = []

    def add(self, low: float, high: float) -> None:
        """Join one more stretch to those that it touches."""
        first, last = bisect_left(self.highs, low), bisect_right(self.lows, high)
        if first < last:
            low, high = min(low, self.lows[first]), max(high, self.highs[last - 1])
        if low < high:
            self.lows[first:last], self.highs[first:last] = [low], [high]

    def standing(self, face: SquareFace, nose: float) -> float:
        """Return standing_height for these stretches."""
        first, last = bisect_right(self.highs, face.low + ON_SIZE), bisect_left(self.lows, face.high - ON_SIZE)
        return standing_height(face, zip(self.lows[first:last], self.highs[first:last], strict=True), nose)


def covered(face: SquareFace, feeding: Iterable[Feeding]) -> list[tuple[float, float, Feeding]]:
    """Return the heights of a face that radial feed motions cut: from x, to x, and the motion."""
    spans_ = []
    for f in feeding:
        (z0, x0), (z1, x1) = f.path.start, f.path.end
        span = _heights(f) if abs(z0 - face.z) <= ON_SIZE >= abs(z1 - face.z) and x0 != x1 else None
        if span is not None and span[1] > face.low + ON_SIZE and span[0] < face.high - ON_SIZE:
            spans_.append((*span, f))
    return sorted(spans_, key=lambda s: s[:2])


def standing_height(face: SquareFace, spans_: Iterable[tuple[float, float]], nose: float) -> float:
    """Greatest height of the face that no radial feed motion cut, mm; the nose's own corner does not count."""
    reached, worst = face.low + nose + ON_SIZE, 0.0
    for low, high in spans_:
        worst = max(worst, min(low, face.high) - reached)
        reached = max(reached, high)
    worst = max(worst, face.high - ON_SIZE - reached)
    return worst if worst > 1e-6 else 0.0


def check_faces(
    result: Metal, feeding: Mapping[int, Feeding], setting: Setting, wanted: tuple[Metal, Metal], lathe: Lathe
) -> list[Finding]:
    """Find shoulders not faced over their height, and faces cut with Z not held against its play.

    Args:
        feeding: feed motions, by number of the motion. wanted: outlines of the least metal and of the stock.
    """
    findings: list[Finding] = []
    for drawn in find_faces(setting, *wanted):
        face = drawn._replace(z=_stands_at(result, drawn))
        source = _cutter(result, face)
        if source not in feeding:
            continue
        name = shoulder_at(setting.turned, face.z)
        spans_ = covered(face, feeding.values())
        findings += _loose_z(face, name, spans_, float(lathe.z.backlash))
        tool = feeding[source].tool
        lean = math.tan(math.radians(tool.approach - 90.0)) if tool.kind == "turning" else 0.0
        footed = face._replace(low=max(face.low, _foot(result, face)))
        height_ = standing_height(footed, (s[:2] for s in spans_), float(tool.nose_radius))
        if lean > 0.0 and height_ > 0.0:
            what = (
                f"{name} is not faced over {mm(height_)} of its height: the leading edge leans back "
                f"{tool.approach - 90.0:.0f} degrees and leaves up to {mm(height_ * lean)} standing"
            )
            line = feeding[source].line
            findings.append(find(line, "unfaced shoulder", what, amount=height_ * lean,
                                 at=(face.z, face.high), tool=tool.number))  # fmt: skip
    return findings


def _stands_at(result: Metal, face: SquareFace) -> float:
    """Z at which a face was left, at half its height: a hand sets it to a mark of its dial, not to its drawn place."""
    middle = (face.low + face.high) / 2
    i, j = result.window(face.z - FOOT, face.z + FOOT)
    found = [b[0] for a, b in pairwise(result.pieces[i:j]) if height(b, b[0]) <= middle <= height(a, b[0])]
    return min(found, key=lambda z: abs(z - face.z), default=face.z)


def _foot(result: Metal, face: SquareFace) -> float:
    """Radius of the surface that a face stands on, as it was cut, mm: a hand may have set it out within its limits."""
    start, end = face.z + ON_SIZE, face.z + ON_SIZE + FOOT
    i, j = result.window(start, end)
    return min((height(p, z) for p in result.pieces[i:j] for z in (max(p[0], start), min(p[1], end))), default=face.low)


def _cutter(result: Metal, face: SquareFace) -> int:
    """Return the number of the motion that cut beside the face's foot, STOCK if none did."""
    i, j = result.window(face.z + ON_SIZE, face.z + 2 * ON_SIZE)
    return result.pieces[i][6] if j > i else STOCK


def _loose_z(face: SquareFace, name: str, spans_: Iterable[tuple[float, float, Feeding]], play: float) -> list[Finding]:
    for _, _, f in spans_:
        if f.take_up.headward < play - 1e-6:
            what = (
                f"cuts {name} when Z has moved toward the headstock only {mm(f.take_up.headward)} since it last "
                f"moved away; the slide's backlash is {mm(play)}"
            )
            at = (face.z, face.low)
            return [find(f.line, "backlash", what, amount=play, at=at, tip=f.path.end, tool=f.tool.number)]
    return []
