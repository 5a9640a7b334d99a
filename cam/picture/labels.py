"""The one step that finds room for labels: none over another, over a leader, or over a line that says something.

Fixed letters come first (title, axes, windows' titles), then what must be said, the most needed first, then names.
Each takes the nearest free place and is never moved again; so the same sheet is laid out the same every time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.ground.frozen import Row
from cam.picture.draft import ABOVE, BELOW, BOLD, SIZES, Draft, Stroke, clean, text_width
from cam.picture.sheet import Rect

Lines = Sequence[tuple[str, str]]
"""The lines of a label: each its style and text."""

Place = tuple[float, float]
"""A place on the paper, mm."""

WAYS = tuple((round(math.cos(k * math.pi / 12), 9), round(math.sin(k * math.pi / 12), 9)) for k in range(24))
"""Ways from a place in which its label is looked for."""
APART = 0.8
"""Least paper between two labels, mm."""
HIDES = 60.0
"""How much farther off a label may go rather than cover something drawn, mm of leader."""


def label_size(lines: Lines) -> tuple[float, float]:
    """Return the width and height that a label takes, mm."""
    wide = max(text_width(clean(text), SIZES[style], bold=style in BOLD) for style, text in lines)
    return wide, sum((ABOVE + BELOW) * SIZES[style] + 0.4 for style, _ in lines) - 0.4


def write_label(draft: Draft, box: Rect, lines: Lines) -> None:
    """Write the lines of a label into its box, one below the other, on a white plate."""
    top = box.top
    for style, text in lines:
        size = SIZES[style]
        draft.write(style, box.left + box.width / 2, top + ABOVE * size, text, "middle", plate=True)
        top += (ABOVE + BELOW) * size + 0.4


def label(
    draft: Draft, within: Rect, lines: Lines, at: Place, covers: Sequence[Rect] = (), nearest: float = 8.0
) -> bool:
    """Write a label where there is room for it, with a leader to the place that it names.

    Args:
        within: where it must lie. at: the place; the leader ends there.
        covers: what it should rather not hide. nearest: how far off it begins to look, mm.

    Returns:
        Whether there was room; nothing is written where there was none.
    """
    wide, high = label_size(lines)
    room = room_in(draft, within)
    best: tuple[float, Rect, Stroke] | None = None
    for away, box in _boxes(at, wide, high, nearest, within):
        if best is not None and away >= best[0]:
            break
        if not room.is_free(box):
            continue
        line = (_foot(box, at), at)
        if not room.is_clear(line):
            continue
        cost = away + HIDES * sum(_share(box, other) for other in covers)
        if best is None or cost < best[0]:
            best = (cost, box, line)
    if best is None:
        return False
    _, box, line = best
    write_label(draft, box, lines)
    lead(draft, line)
    return True


def lead(draft: Draft, line: Stroke) -> None:
    """A line from a label to what it names."""
    draft.line("leader-halo", *line)
    draft.line("leader-bold", *line)
    draft.leaders.append(line)


def label_beside(draft: Draft, within: Rect, lines: Lines, spots: Sequence[Place], covers: Sequence[Rect] = ()) -> bool:
    """Write a label, without a leader, about the free one of some spots where it hides least; False where none is.

    Args:
        spots: of the label's middle, the best first. covers: what it should rather not hide.
    """
    wide, high = label_size(lines)
    boxes = [Rect(x - wide / 2, y - high / 2, wide, high) for x, y in spots]
    room = room_in(draft, within)
    free = [box for box in boxes if _inside(box, within) and room.is_free(box)]
    if free:
        write_label(draft, min(free, key=lambda box: sum(_share(box, other) for other in covers)), lines)
    return bool(free)


def _boxes(at: Place, wide: float, high: float, nearest: float, within: Rect) -> Iterator[tuple[float, Rect]]:
    """Yield boxes about a place that lie within another, the nearest first, with how far off they are, mm."""
    low, far = within.left + 1, within.right - 1
    for k in range(32):
        away = nearest + 3.0 * k
        for right, down in WAYS:
            left = at[0] + right * (away + wide / 2) - wide / 2
            if left >= low and left + wide <= far:
                box = Rect(left, at[1] - down * (away + high / 2) - high / 2, wide, high)
                if _inside(box, within):
                    yield away, box


def _foot(box: Rect, at: Place) -> Place:
    """Where a leader begins: on the label's upper or lower side, as near to the place as may be, or else beside it."""
    inset, low, high = 0.2 * box.width, box.top + 0.25 * box.height, box.bottom - 0.25 * box.height
    over = min(max(at[0], box.left + inset), box.right - inset)
    if at[1] < box.top:
        return over, box.top
    if at[1] > box.bottom:
        return over, box.bottom
    return (box.left if at[0] < box.left else box.right), min(max(at[1], low), high)


class LabelRoom(Row):
    """The parts of a sheet that lie in one region of it, as `Draft` has them."""

    taken: list[Rect]
    leaders: list[Stroke]
    rules: list[Stroke]

    def is_free(self, box: Rect) -> bool:
        """Tell whether a label may lie there."""
        wide = box.grown(APART)
        left, top, right, bottom = wide.left, wide.top, wide.right, wide.bottom
        return not (
            any(x < right and y < bottom and left < x + w and top < y + h for x, y, w, h in self.taken)
            or any(crosses(line, wide) for line in self.leaders)
            or any(crosses(line, box) for line in self.rules)
        )

    def is_clear(self, line: Stroke) -> bool:
        """Tell whether a leader may run there: over no letters, and across no other leader."""
        if any(crosses(line, box.grown(0.3)) for box in self.taken if not holds(box, line[1])):
            return False
        return not any(meet(line, other) for other in self.leaders)


def room_in(draft: Draft, within: Rect) -> LabelRoom:
    """Return what a label that lies within a rectangle must keep clear of."""
    return LabelRoom(
        [box for box in draft.taken if box.meets(within)],
        [line for line in draft.leaders if crosses(line, within)],
        [line for line in draft.rules if crosses(line, within)],
    )


def holds(box: Rect, at: Place) -> bool:
    """Tell whether a place lies in a rectangle or on its edge."""
    return box.left <= at[0] <= box.right and box.top <= at[1] <= box.bottom


def _inside(box: Rect, within: Rect) -> bool:
    return (
        box.left >= within.left + 1
        and box.right <= within.right - 1
        and box.top >= within.top + 1
        and box.bottom <= within.bottom - 1
    )


def _share(box: Rect, other: Rect) -> float:
    """How much of a box lies in another, 0 to 1."""
    wide = min(box.right, other.right) - max(box.left, other.left)
    if wide <= 0.0:
        return 0.0
    high = min(box.bottom, other.bottom) - max(box.top, other.top)
    return wide * max(high, 0.0) / (box.width * box.height)


def crosses(line: Stroke, box: Rect) -> bool:
    """Tell whether a straight line has anything in common with a rectangle (Liang, Barsky, ACM TOG 3, 1984)."""
    (x0, y0), (x1, y1) = line
    left, top, wide, tall = box
    right, bottom = left + wide, top + tall
    if x0 <= left >= x1 or x0 >= right <= x1 or y0 <= top >= y1 or y0 >= bottom <= y1:  # most lines are nowhere near
        return False
    low, high = 0.0, 1.0
    for step, start, least, most in ((x1 - x0, x0, left, right), (y1 - y0, y0, top, bottom)):
        if abs(step) < 1e-12:
            if not least < start < most:
                return False
            continue
        a, b = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, a), min(high, b)
        if low >= high:
            return False
    return True


def meet(one: Stroke, other: Stroke) -> bool:
    """Tell whether two straight lines cross, or one ends on the other; lines that lead to one place do not count."""
    if one[1] == other[1]:
        return False
    (a, b), (c, d) = one, other
    return _side(a, b, c) * _side(a, b, d) <= 0 and _side(c, d, a) * _side(c, d, b) <= 0


def _side(a: Place, b: Place, p: Place) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


# ---- rows of labels --------------------------------------------------------------------------------


def spread(wanted: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float] | None:
    """Move labels in a row apart, each as little as possible, and keep their order.

    Args:
        wanted: middles, from the left, mm. widths: room that each takes. low, high: ends of the row.

    Returns:
        Their middles; None where the row is too short for them.
    """
    if sum(widths) > high - low:
        return None
    groups: list[tuple[float, float, list[int]]] = []  # left end, width, members: those that touch move as one
    for k, (middle, width) in enumerate(zip(wanted, widths, strict=True)):
        groups.append((middle - width / 2, width, [k]))
        while True:
            left, wide, members = groups.pop()
            left = min(max(left, low), high - wide)
            if not groups or groups[-1][0] + groups[-1][1] <= left:
                groups.append((left, wide, members))
                break
            _, _, before = groups.pop()
            groups.append((*_joined([*before, *members], wanted, widths), [*before, *members]))
    places = [0.0] * len(wanted)
    for start, _, members in groups:
        at = start
        for k in members:
            places[k] = at + widths[k] / 2
            at += widths[k]
    return places


def _joined(members: Sequence[int], wanted: Sequence[float], widths: Sequence[float]) -> tuple[float, float]:
    """Left end and width of labels that touch, so that on average each stands where it was wanted."""
    at, lefts = 0.0, []
    for k in members:
        lefts.append(wanted[k] - widths[k] / 2 - at)
        at += widths[k]
    return sum(lefts) / len(lefts), at
