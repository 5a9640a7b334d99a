"""The metal's upper outline, exactly: lines and arcs over Z, lowered by one swept tool after another.

The metal is everything between the axis and a height h(z). h is made of pieces side by side, each a line
or half of a circle, with jumps (square faces) between them. A cut replaces h by the lesser of h and the
underside of what the tool swept; arcs stay arcs, so nothing is lost however many cuts there are.

Pieces are plain tuples, for speed: (z0, z1, bend, p, q, r, source).
bend 0 is the line x = q + r * (z - p); bend +1 (upper half) and -1 (lower half) the circle of radius r about
(z = p, x = q). source numbers the motion that cut the piece; STOCK is what was there before.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

from cam.geometry.path import Arc, Chain, Line, Point, Segment
from cam.ground.problem import RangeError
from cam.ground.tolerances import ONE_HEIGHT

Piece = tuple[float, float, int, float, float, float, int]
Removed = tuple[float, float, Piece, Piece]
"""A stretch where metal came off: from z, to z, the piece that stood there, the lower one that took its place."""
STOCK = -1
SLIVER = 5e-4
"""A film of metal thinner than this, mm, between two cuts that end at one place is rounding of a program's last
digits (0.25 um in a program in inches); it does not stand."""


def height(piece: Piece, z: float) -> float:
    """The piece's x at z, mm; beyond an arc's end its centre's x."""
    _, _, bend, p, q, r, _ = piece
    if not bend:
        return q + r * (z - p)
    square = r * r - (z - p) * (z - p)
    return q + bend * math.sqrt(square) if square > 0.0 else q


def crest(piece: Piece, z0: float, z1: float) -> float:
    """Greatest x of the piece between z0 and z1, mm."""
    if not piece[2]:
        q, r = piece[4], piece[5]
        return q + r * ((z1 if r > 0.0 else z0) - piece[3]) if r else q
    if piece[2] > 0 and z0 < piece[3] < z1:
        return piece[4] + piece[5]
    return max(height(piece, z0), height(piece, z1))


def trough(piece: Piece, z0: float, z1: float) -> float:
    """Least x of the piece between z0 and z1, mm."""
    if piece[2] < 0 and z0 < piece[3] < z1:
        return piece[4] - piece[5]
    return min(height(piece, z0), height(piece, z1))


def crossings(a: Piece, b: Piece) -> tuple[float, ...]:
    """Every z at which the lines or whole circles of two pieces meet; places where they only touch may be left out."""
    if not a[2]:
        return _line_circle(a, b) if b[2] else _line_line(a, b)
    return _circle_circle(a, b) if b[2] else _line_circle(b, a)


def _marks(a: Piece, b: Piece, z0: float, z1: float) -> list[float]:
    """Return two z and every place between them where two pieces may cross, in order."""
    return [z0, *sorted(z for z in crossings(a, b) if z0 < z < z1), z1]


def _line_line(a: Piece, b: Piece) -> tuple[float, ...]:
    steeper = a[5] - b[5]
    return (a[3] + (height(b, a[3]) - a[4]) / steeper,) if steeper else ()


def _line_circle(line: Piece, arc: Piece) -> tuple[float, ...]:
    m, p, r = line[5], arc[3], arc[5]
    above = height(line, p) - arc[4]
    a = 1.0 + m * m
    square = a * r * r - above * above
    if square <= 0.0:
        return ()
    root = math.sqrt(square)
    return (p + (-m * above - root) / a, p + (-m * above + root) / a)


def _circle_circle(a: Piece, b: Piece) -> tuple[float, ...]:
    dz, dx = b[3] - a[3], b[4] - a[4]
    square = dz * dz + dx * dx
    if square < ONE_HEIGHT * ONE_HEIGHT:
        return ()
    along = 0.5 + (a[5] * a[5] - b[5] * b[5]) / (2.0 * square)
    across = a[5] * a[5] / square - along * along
    if across <= 0.0:
        return ()
    root = math.sqrt(across)
    return (a[3] + along * dz - root * dx, a[3] + along * dz + root * dx)


def _keep(out: list[Piece], piece: Piece, z0: float, z1: float) -> None:
    """Add the piece's stretch from z0 to z1 at the end of out; join it to the piece before if it continues that one."""
    if out:
        last = out[-1]
        if last[2:] == piece[2:]:
            out[-1] = (last[0], z1, *piece[2:])
            return
    out.append(piece if z0 == piece[0] and z1 == piece[1] else (z0, z1, *piece[2:]))


def _lesser(old: Piece, new: Piece, z0: float, z1: float, out: list[Piece], removed: list[Removed]) -> None:
    """Add the lower of two pieces between z0 and z1 at the end of out; note in removed what new takes off."""
    if old[2] or new[2]:
        marks = _marks(old, new, z0, z1)
    else:
        _, _, _, p, q, r, _ = new
        _, _, _, s, t, u, _ = old
        first, last = q - t + r * (z0 - p) - u * (z0 - s), q - t + r * (z1 - p) - u * (z1 - s)
        if first >= -ONE_HEIGHT and last >= -ONE_HEIGHT:
            _keep(out, old, z0, z1)
            return
        if first <= ONE_HEIGHT and last <= ONE_HEIGHT:
            _keep(out, new, z0, z1)
            removed.append((z0, z1, old, new))
            return
        marks = [z0, z0 + (z1 - z0) * first / (first - last), z1]
    for i in range(1, len(marks)):
        a, b = marks[i - 1], marks[i]
        if _lies_below(new, old, a, b):
            _keep(out, new, a, b)
            removed.append((a, b, old, new))
        else:
            _keep(out, old, a, b)


def _lies_below(new: Piece, old: Piece, z0: float, z1: float) -> bool:
    """Tell whether new is the lower between two z where the pieces may touch but do not cross."""
    middle = 0.5 * (z0 + z1)
    below = height(old, middle) - height(new, middle)
    if abs(below) <= ONE_HEIGHT:  # they touch there, or are one
        quarter = 0.5 * (z0 + middle)
        below = height(old, quarter) - height(new, quarter)
    return below > ONE_HEIGHT


def lower(old: Sequence[Piece], new: Sequence[Piece]) -> tuple[list[Piece], list[Removed]]:
    """Return the lesser of two outlines, in rising z without gaps, over the range of old, and where new lies lower."""
    out: list[Piece] = []
    removed: list[Removed] = []
    k, count = 0, len(new)
    for piece in old:
        z, end = piece[0], piece[1]
        while z < end:
            while k < count and new[k][1] <= z:
                k += 1
            if k == count or new[k][0] >= end:
                _keep(out, piece, z, end)
                break
            other = new[k]
            if other[0] > z:
                _keep(out, piece, z, other[0])
                z = other[0]
            stop = min(end, other[1])
            _lesser(piece, other, z, stop, out, removed)
            z = stop
    return out, removed


class Metal:
    """The outline of the metal as it is now.

    Attributes:
        pieces: in rising z, without gaps. starts: each piece's z0. tops: each piece's greatest x.
    """

    __slots__ = ("pieces", "starts", "tops")

    def __init__(self, pieces: Sequence[Piece]) -> None:
        """Take over the pieces, which lie in rising z without gaps."""
        self.pieces = list(pieces)
        self.starts = [p[0] for p in pieces]
        self.tops = [crest(p, p[0], p[1]) for p in pieces]

    @property
    def end(self) -> float:
        """Greatest z, mm."""
        return self.pieces[-1][1]

    def window(self, z0: float, z1: float) -> tuple[int, int]:
        """Return the slice of pieces that have some length between z0 and z1."""
        if z1 <= self.starts[0] or z0 >= self.end:
            return 0, 0
        return max(bisect_right(self.starts, z0) - 1, 0), bisect_left(self.starts, z1)

    def top(self, z0: float, z1: float) -> float:
        """Return a height above which no metal stands between z0 and z1, mm; minus infinity where there is none."""
        i, j = self.window(z0, z1)
        return max(self.tops[i:j], default=-math.inf)

    def reaches(self, z0: float, z1: float, low: float) -> bool:
        """Tell whether any metal between z0 and z1 may stand above low."""
        starts = self.starts
        if z1 <= starts[0] or z0 >= self.pieces[-1][1]:
            return False
        i = bisect_right(starts, z0) - 1
        return max(self.tops[i if i > 0 else 0 : bisect_left(starts, z1)]) > low

    def highest(self, z0: float, z1: float) -> float:
        """Greatest height between z0 and z1, mm; minus infinity where there is no metal."""
        i, j = self.window(z0, z1)
        return max((crest(p, max(z0, p[0]), min(z1, p[1])) for p in self.pieces[i:j]), default=-math.inf)

    def at(self, z: float, *, before: bool = False) -> float:
        """Height at z, mm; on a jump that of the greater z, or of the lesser if before; 0 where there is no metal."""
        i = (bisect_left if before else bisect_right)(self.starts, z) - 1
        if i < 0 or z > self.end or (z == self.end and not before):
            return 0.0
        return max(height(self.pieces[i], z), 0.0)

    def overlap(self, new: Sequence[Piece], low: float = -math.inf) -> list[Removed]:
        """Return the stretches where new lies below the metal's surface. low: no part of new lies lower, mm."""
        i, j = self.window(new[0][0], new[-1][1])
        if i == j or max(self.tops[i:j]) <= low + ONE_HEIGHT:
            return []
        return lower(self.pieces[i:j], new)[1]

    def cut(self, new: Sequence[Piece], low: float = -math.inf) -> list[Removed]:
        """Take off everything above new; return the stretches where there was something. low: as for overlap."""
        i, j = self.window(new[0][0], new[-1][1])
        if i == j or max(self.tops[i:j]) <= low + ONE_HEIGHT:
            return []
        out, removed = lower(self.pieces[i:j], new)
        if removed:
            self.pieces[i:j] = out
            self.starts[i:j] = [p[0] for p in out]
            self.tops[i:j] = [crest(p, p[0], p[1]) for p in out]
        return removed


def without_slivers(pieces: Sequence[Piece]) -> list[Piece]:
    """Return the outline without films, shorter than SLIVER and above both neighbours: the higher one goes on."""
    out: list[Piece] = []
    k = 0
    while k < len(pieces):
        z0 = pieces[k][0]
        end = k
        while end < len(pieces) and pieces[end][1] - z0 < SLIVER:
            end += 1
        if end > k and out:
            left, right = height(out[-1], z0), height(pieces[end], pieces[end][0]) if end < len(pieces) else 0.0
            level, z1 = max(left, right, 0.0), pieces[end - 1][1]
            if max(crest(p, p[0], p[1]) for p in pieces[k:end]) > level + SLIVER:
                out.append((z0, z1, 0, z0, level, 0.0, pieces[k][6]))
                k = end
                continue
        out.append(pieces[k])
        k += 1
    return out


def without_loose_end(pieces: Sequence[Piece]) -> list[Piece]:
    """Return the outline without what a cut down to the axis has parted from the rest, on the tailstock side."""
    rest = above_axis(pieces)
    parted = next((i for i, p in enumerate(rest) if i and _on_axis(p)), len(rest))
    return rest[:parted] + [(p[0], p[1], 0, p[0], 0.0, 0.0, p[6]) for p in rest[parted:]]


def split_at(pieces: Sequence[Piece], z: float) -> tuple[list[Piece], list[Piece]]:
    """Return the pieces below a z and those above it; a piece that crosses it is cut in two."""
    below = [(p[0], min(p[1], z), *p[2:]) for p in pieces if p[0] < z - ONE_HEIGHT]
    above = [(max(p[0], z), p[1], *p[2:]) for p in pieces if p[1] > z + ONE_HEIGHT]
    return below, above


def from_chain(chain: Chain, source: int = STOCK) -> list[Piece]:
    """Return the pieces, in rising z, of an outline from the tailstock end on; RangeError where it turns back."""
    pieces: list[Piece] = []
    for segment in reversed(chain):
        (z1, x1), (z0, x0) = segment.start, segment.end
        if isinstance(segment, Line):
            if z1 - z0 > ONE_HEIGHT:
                pieces.append((z0, z1, 0, z0, x0, (x1 - x0) / (z1 - z0), source))
        elif z1 - z0 > ONE_HEIGHT:
            pieces.append((z0, z1, segment.turn, *segment.centre, segment.radius, source))
        if z0 - z1 > ONE_HEIGHT:
            raise RangeError(f"the outline turns back toward the tailstock at Z {z1:.4f}")
    if not pieces:
        raise RangeError("the outline has no length along Z")
    return pieces


def above_axis(pieces: Iterable[Piece]) -> list[Piece]:
    """Return the outline with x = 0 where it lies below the axis (metal faced away)."""
    out: list[Piece] = []
    for piece in pieces:
        z0, z1, *_, source = piece
        axis = (z0, z1, 0, z0, 0.0, 0.0, source)
        marks = _marks(piece, axis, z0, z1)
        for i in range(1, len(marks)):
            above = crest(piece, marks[i - 1], marks[i]) > ONE_HEIGHT
            _keep(out, piece if above else axis, marks[i - 1], marks[i])
    return out


def _on_axis(piece: Piece) -> bool:
    return piece[2] == 0 and piece[4] == 0.0 and piece[5] == 0.0


def _radius(piece: Piece, z: float) -> float:
    x = height(piece, z)
    return x if x > ONE_HEIGHT else 0.0


def to_chain(pieces: Sequence[Piece]) -> Chain:
    """Return the outline from the tailstock end on, from x = 0 to x = 0, less what is faced away at its ends."""
    rest = above_axis(pieces)
    standing = [k for k, piece in enumerate(rest) if not _on_axis(piece)]
    rest = rest[standing[0] : standing[-1] + 1] if standing else []
    chain: list[Segment] = []
    here = Point(rest[-1][1], 0.0) if rest else Point(0.0, 0.0)
    for piece in reversed(rest):
        z0, z1, bend, p, q, _, _ = piece
        start, end = Point(z1, _radius(piece, z1)), Point(z0, _radius(piece, z0))
        if abs(start.x - here.x) > ONE_HEIGHT:
            chain.append(Line(here, start))
        elif chain:
            start = here
        chain.append(Arc(start, end, Point(p, q), bend) if bend else Line(start, end))
        here = end
    if here.x > 0.0:
        chain.append(Line(here, Point(here.z, 0.0)))
    return tuple(chain)
