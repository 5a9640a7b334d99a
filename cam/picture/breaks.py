"""A long window cut short: stretches that show nothing are left out between break lines, so that the part is large.

All that stays is drawn to one scale, as it is; nothing is squeezed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from cam.geometry.path import Arc, Point
from cam.ground.frozen import Row
from cam.picture.scene import Shape
from cam.picture.sheet import Rect, View, paper, scale_at_most

HALF = 0.5
"""Share of the window's width that the part is to fill."""
BESIDE = 3.0
"""What is kept beside anything worth showing, mm of paper."""
BREAK = 4.0
"""Paper left white between two break lines, mm."""
TOOTH = 1.6
"""How far a break line goes to and fro, mm of paper."""

Stretch = tuple[float, float]
"""A stretch from a lesser to a greater Z, mm."""


class BrokenView(Row):
    """A window in pieces side by side, all to one scale; it is asked for places in the same way as a whole View.

    Attributes:
        frame: frame of all pieces together. pieces: from the left, at least one.
    """

    frame: Rect
    pieces: tuple[View, ...]

    @property
    def scale(self) -> float:
        """Mm of paper per mm of work."""
        return self.pieces[0].scale

    @property
    def left_z(self) -> float:
        """The Z at the frame's left edge."""
        return self.pieces[0].left_z

    @property
    def right_z(self) -> float:
        """The Z at the frame's right edge."""
        return self.pieces[-1].right_z

    @property
    def axis_y(self) -> float:
        """The paper's y of the spindle axis."""
        return self.pieces[0].axis_y

    @property
    def top_x(self) -> float:
        """The X at the frame's upper edge."""
        return self.pieces[0].top_x

    @property
    def bottom_x(self) -> float:
        """The X at the frame's lower edge."""
        return self.pieces[0].bottom_x

    def across(self, z: float) -> float:
        """The paper's x of a Z; for one that is left out, the middle of the break."""
        for piece, after in pairwise(self.pieces):
            if z <= piece.right_z:
                return piece.across(z)
            if z < after.left_z:
                return (piece.frame.right + after.frame.left) / 2
        return self.pieces[-1].across(z)

    def down(self, x: float) -> float:
        """The paper's y of an X."""
        return self.pieces[0].down(x)

    def place(self, point: Point) -> tuple[float, float]:
        """Return a point of the half-section as a place on the paper."""
        return self.across(point[0]), self.down(point[1])

    def sees(self, low: Point, high: Point) -> bool:
        """Tell whether any of a box of the half-section lies in one of the pieces."""
        return any(piece.sees(low, high) for piece in self.pieces)

    def edges(self) -> Iterator[tuple[View, str]]:
        """Return each piece with the path data of its edge, with a break line on the sides where it goes on."""
        last = len(self.pieces) - 1
        for k, piece in enumerate(self.pieces):
            yield piece, torn_edge(piece.frame, left=k > 0, right=k < last)


Window = View | BrokenView
"""A whole window or a broken one; both are asked for places alike."""


def pieces_of(view: Window) -> tuple[View, ...]:
    """Return the pieces of a broken window; a whole one is its only piece."""
    return view.pieces if isinstance(view, BrokenView) else (view,)


def widest_frame(view: Window, least: float) -> Rect:
    """Return the frame of the widest piece, to write in beside the breaks; of all if it is narrower than least."""
    frame = max((piece.frame for piece in pieces_of(view)), key=lambda frame: frame.width)
    return frame if frame.width >= least else view.frame


def torn_edge(rect: Rect, *, left: bool, right: bool) -> str:
    """Return a rectangle's path data, with a break line in place of its left or right side."""
    sides = [(rect.left, 1.0) if left else (rect.left, 0.0), (rect.right, 1.0) if right else (rect.right, 0.0)]
    (west, west_tooth), (east, east_tooth) = sides
    shares = (0.0, 0.42, 0.47, 0.53, 0.58, 1.0)
    teeth = (0.0, 0.0, TOOTH, -TOOTH, 0.0, 0.0)
    down = [(east + tooth * east_tooth, rect.top + s * rect.height) for s, tooth in zip(shares, teeth, strict=True)]
    up = [(west + tooth * west_tooth, rect.top + s * rect.height) for s, tooth in zip(shares, teeth, strict=True)]
    return "M" + "L".join(f"{paper(x)} {paper(y)}" for x, y in (*down, *reversed(up))) + "Z"


def break_view(
    frame: Rect, part: Stretch, most: float, ends: Stretch, shapes: Iterable[Shape], tool: Sequence[Shape],
    marked: Iterable[Point],
) -> tuple[float, tuple[Stretch, ...]]:  # fmt: skip
    """Choose the scale, and the stretches of Z that are shown: as few breaks as let the part fill half of the width.

    Args:
        frame: of the window. part: from where to where it reaches. most: the greatest scale that the height allows.
        ends: what is to be seen, from where to where.
        shapes: all that is drawn but the tool; their corners are worth showing, what is even between them is not.
        tool: broken off only where all else is not enough. marked: places that are pointed at.

    Returns:
        The scale, one that is in use, and the stretches from the left.
    """
    wish = min(HALF * frame.width / (part[1] - part[0]), most)
    beside, gap = BESIDE / wish, BREAK / wish
    whole = [(s.low.z, s.high.z) for s in tool]
    places = [(p.z - beside, p.z + beside) for p in marked]
    corners = [part, *places, *_corners((*shapes, *tool), beside)]
    shown: tuple[Stretch, ...] = (ends,)
    for kept in ([*corners, *whole], corners):
        for gaps in _more_and_more(_between(kept, ends), gap):
            shown = _without(ends, gaps)
            room = frame.width - BREAK * (len(shown) - 1)
            scale = scale_at_most(min(room / sum(b - a for a, b in shown), most))
            if scale * (part[1] - part[0]) >= HALF * frame.width or scale >= scale_at_most(most):
                return scale, shown
    return scale, shown


def _corners(shapes: Iterable[Shape], beside: float) -> Iterator[Stretch]:
    """Return the stretches along Z with a shape's corners and arcs, with room beside them."""
    for item in shapes:
        for piece in item.chain:
            for end in (piece.start, piece.end):
                yield end.z - beside, end.z + beside
            if isinstance(piece, Arc):
                yield piece.start.z, piece.end.z


def _between(kept: Iterable[Stretch], ends: Stretch) -> list[Stretch]:
    """Return the stretches between the ends that nothing kept reaches into, the longest first."""
    at, found = ends[0], []
    for low, high in sorted(sorted(pair) for pair in kept):
        if low > at:
            found.append((at, min(low, ends[1])))
        at = max(at, high)
    return sorted((pair for pair in found if pair[1] > pair[0]), key=lambda pair: (pair[0] - pair[1], pair[0]))


def _more_and_more(gaps: list[Stretch], least: float) -> Iterator[list[Stretch]]:
    """Leave out no stretch, then the longest, then the two longest ..., as long as a break saves room."""
    yield []
    worth = [pair for pair in gaps if pair[1] - pair[0] > 1.5 * least]
    for count in range(1, len(worth) + 1):
        yield worth[:count]


def _without(ends: Stretch, gaps: list[Stretch]) -> tuple[Stretch, ...]:
    """Return what is left of a stretch once others are cut out of it."""
    found, at = [], ends[0]
    for low, high in sorted(gaps):
        if low > at:
            found.append((at, low))
        at = high
    return (*found, (at, ends[1])) if at < ends[1] else tuple(found)


def place_pieces(frame: Rect, scale: float, shown: tuple[Stretch, ...], axis_y: float) -> BrokenView:
    """Put the stretches side by side into the window; spare room goes to the breaks, then to both ends."""
    spare = (frame.width - BREAK * (len(shown) - 1)) / scale - sum(b - a for a, b in shown)
    wide = [list(pair) for pair in shown]
    for one, other in sorted(pairwise(wide), key=lambda pair: pair[0][1] - pair[1][0]):
        given = max(min(spare, other[0] - one[1] - 1.5 * BREAK / scale), 0.0)
        one[1], other[0], spare = one[1] + given / 2, other[0] - given / 2, spare - given
    wide[0][0] -= spare / 2
    wide[-1][1] += spare / 2
    pieces, left = [], frame.left
    for low, high in wide:
        width = (high - low) * scale
        pieces.append(View(Rect(left, frame.top, width, frame.height), scale, low, axis_y))
        left += width + BREAK
    return BrokenView(frame, tuple(pieces))
