"""What the simulation found, written where it is: the closest approach, hits, and the names of things."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import compress

import numpy as np
import shapely

from cam.geometry.path import Point, Polygon
from cam.ground.units import show_fine
from cam.judge.model import Approach, Finding
from cam.picture.breaks import Window, pieces_of, widest_frame
from cam.picture.draft import ABOVE, BELOW, SIZES, Draft, clean, wrap
from cam.picture.labels import label, label_beside, label_size, room_in
from cam.picture.scene import Scene, Shape, common, place_of
from cam.picture.sheet import Rect, View

MOST_LISTED, MOST_MARKED = 5, 9
DIAGONALS = ((-1, -1), (1, -1), (-1, 1), (1, 1), (-1.3, 0), (1.3, 0), (0, -1.3), (0, 1.3))
"""Ways from a ring in which its number may stand."""


def pair_words(near: Approach, places: Mapping[int, str]) -> str:
    """Say what is near what, and where in the program. places: line -> words, "pass 3"; otherwise the line itself."""
    return f"{near.body} of T{near.tool} to {near.obstacle}, {places.get(near.line, f'line {near.line}')}"


def name_solids(draft: Draft, view: Window, shapes: Iterable[Shape]) -> None:
    """Write names of obstacles and holders into what is seen of them, as near its middle as there is room."""
    for item in shapes:
        if not item.name or item.name == "nose" or not view.sees(item.low, item.high):
            continue
        seen = [(piece, _seen(piece, item)) for piece in pieces_of(view)]
        for piece, polygon in sorted(seen, key=lambda pair: -_extent(pair[1])):
            if len(polygon) > 2 and _name_within(draft, piece, polygon, item.name):
                break


def _seen(view: View, item: Shape) -> Polygon:
    """Return what a window shows of a convex shape."""
    window = shapely.box(view.left_z, view.bottom_x, view.right_z, view.top_x)
    return next(common(tuple(piece.start for piece in item.chain), window), ())


def _extent(polygon: Polygon) -> float:
    return max((p.z for p in polygon), default=0.0) - min((p.z for p in polygon), default=0.0)


def _name_within(draft: Draft, view: View, polygon: Polygon, name: str) -> bool:
    """Write a name into a polygon, level or upright, nearest to its middle; return False where there is no room."""
    wide, high = label_size([("small", name)])
    (left, right), (top, bottom) = ((min(v), max(v)) for v in zip(*map(view.place, polygon), strict=True))
    around = Rect(left, top, right - left, bottom - top)
    room = room_in(draft, around)
    at = view.place(Point(*(sum(v) / len(polygon) for v in zip(*polygon, strict=True))))
    spots = _nearest_first(at, around)
    for upright, w, h in ((False, wide, high), (True, high, wide)):
        if w >= around.width or h >= around.height:
            continue
        boxes = [Rect(x - w / 2, y - h / 2, w, h) for x, y in spots]
        for (x, y), box in compress(zip(spots, boxes, strict=True), _lie_in(view, boxes, polygon)):
            if room.is_free(box):
                left, base = (x + (ABOVE - BELOW) * high / 2, y) if upright else (x, box.top + ABOVE * SIZES["small"])
                draft.write("small", left, base, name, "middle", plate=True, upright=upright)
                return True
    return False


def _nearest_first(at: tuple[float, float], box: Rect) -> list[tuple[float, float]]:
    """Return a place on the paper and a grid of others in a box about it, the nearest to it first."""
    grid = [(box.left + box.width * a / 10, box.top + box.height * b / 10) for a in range(1, 10) for b in range(1, 10)]
    return sorted([at, *grid], key=lambda p: (round(math.dist(p, at), 6), p))


def _lie_in(view: View, boxes: Sequence[Rect], polygon: Polygon) -> list[bool]:
    """Tell which boxes on the paper lie in a polygon, with room round them."""
    edges = [(box.left, box.bottom, box.right, box.top) for box in (b.grown(0.8) for b in boxes)]
    left, bottom, right, top = np.array(edges).T
    left, right = (view.left_z + (x - view.frame.left) / view.scale for x in (left, right))
    bottom, top = ((view.axis_y - y) / view.scale for y in (bottom, top))
    inside: list[bool] = shapely.covers(shapely.Polygon(polygon), shapely.box(left, bottom, right, top)).tolist()
    return inside


def seen_boxes(view: Window, shapes: Iterable[Shape]) -> list[Rect]:
    """Return boxes on the paper round what is drawn, which labels should preferably not hide."""
    found = []
    for item in shapes:
        if item.style not in ("stock", "wanted", "rapid", "approach") and view.sees(item.low, item.high):
            (left, bottom), (right, top) = view.place(item.low), view.place(item.high)
            found.append(Rect(left, top, right - left, bottom - top))
    return found


def lead_to(draft: Draft, view: Window, scene: Scene, unit: str) -> None:
    """Write the least distance of all in large letters, and that of the drawn tool, if another, in small ones."""
    assert scene.shown is not None
    covers = seen_boxes(view, (*scene.below, *scene.tool))
    nearest = scene.other or scene.shown
    said = [(nearest, "distance"), *([(scene.shown, "part")] if nearest is not scene.shown else [])]
    places = [join(draft, view, (near.on_tool, near.on_obstacle)) for near, _ in said]
    for (near, style), at in zip(said, places, strict=True):
        if at is not None:
            lines = [(style, show_fine(near.distance, unit)), ("small", pair_words(near, scene.places))]
            label(draft, view.frame, lines, at, covers, nearest=6.0)


Spot = tuple[int, Finding, float, float]
"""A mark: its number, its finding, its place on the paper."""


def find_spots(view: Window, findings: Iterable[Finding]) -> list[Spot]:
    """Return the findings that are marked, worst first, with places in the main window; near ones share a mark."""
    spots: list[Spot] = []
    for f in findings:
        at = place_of(f)
        x, y = view.place(at)
        if view.sees(at, at) and all(math.hypot(x - a, y - b) > 6.0 for _, _, a, b in spots):
            spots.append((len(spots) + 1, f, x, y))
    return spots[:MOST_MARKED]


def mark_findings(draft: Draft, view: Window, spots: list[Spot], size: float) -> None:
    """Draw a ring with four strokes about each wrong place, and its number; none over letters.

    Args:
        size: radius of the ring, mm of paper.
    """
    taken = tuple(draft.taken)
    places = []
    for number, x, y in _places_in(view, spots):
        around = Rect(x - size, y - size, 2 * size, 2 * size)
        if any(map(around.meets, taken)):
            continue
        places.append((number, x, y))
        draft.ring("hit-halo", x, y, size)
        draft.ring("hit", x, y, size)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = size - 1.0, size + 1.8
            draft.line("hit", (x + dx * near, y + dy * near), (x + dx * far, y + dy * far))
        draft.taken.append(around)
    for number, x, y in places:
        off = size + 3.2
        beside = [(x + dx * off, y + dy * off) for dx, dy in DIAGONALS]
        label_beside(draft, view.frame, [("distance", str(number))], beside)


def _places_in(view: Window, spots: Iterable[Spot]) -> Iterator[tuple[int, float, float]]:
    """Yield the number and place of each mark that a window shows."""
    for number, finding, *_ in spots:
        at = place_of(finding)
        if view.sees(at, at):
            yield number, *view.place(at)


def list_findings(
    draft: Draft, view: Window, findings: Sequence[Finding], spots: list[Spot], places: Mapping[int, str] = {}
) -> None:
    """Write the sentences, the marked ones with their numbers, in the half of the window without the worst.

    Of those for which there is no room the findings that say them are counted, as the head counts them.
    """
    size, room, frame = SIZES["small"], 112.0, widest_frame(view, 120.0)
    first = spots[0][2] if spots else frame.right
    left = frame.left + 3 if first > frame.left + frame.width / 2 else frame.right - room - 3
    groups = _by_sentence(findings, spots)
    lines: list[tuple[str, str]] = []
    for sign, found in groups[:MOST_LISTED]:
        sentence = wrap(clean(_in_lines(found, places) + found[0].what), size, room - 6)[:3]
        lines += zip((sign, "", ""), sentence, strict=False)
    if rest := sum(len(found) for _, found in groups[MOST_LISTED:]):
        lines.append(("", f"and {rest} more"))
    box = Rect(left - 1, frame.top + 2, room + 2, 3.5 * len(lines) + 2)
    draft.plate(box)
    draft.box("hit-box", box)
    for k, (sign, line) in enumerate(lines):
        base = box.top + 4 + 3.5 * k
        if sign:
            draft.write("part", left + 3.5, base, sign, "end")
        draft.write("small", left + 5, base, line)
    draft.taken.append(box)


def _by_sentence(findings: Sequence[Finding], spots: list[Spot]) -> list[tuple[str, list[Finding]]]:
    """Group findings that say the same, with their mark's number; the marked ones first, in its order."""
    numbers = {f.what: str(number) for number, f, *_ in reversed(spots)}
    groups: dict[str, list[Finding]] = {f.what: [] for _, f, *_ in spots}
    for f in findings:
        groups.setdefault(f.what, []).append(f)
    return [(numbers.get(what, "*"), found) for what, found in groups.items()]


def _in_lines(found: list[Finding], places: Mapping[int, str]) -> str:
    """Name the program lines of some findings, "lines 53, 55, 56 and 9 more: "; nothing for one about the whole.

    places: as for pair_words; where it has the lines, only the first place is said.
    """
    lines = sorted({f.line for f in found if f.line})
    if not lines:
        return ""
    if lines[0] in places:
        return f"{places[lines[0]]}: "
    named, more = ", ".join(map(str, lines[:4])), len(lines) - 4
    return f"line{'s' if len(lines) > 1 else ''} {named}{f' and {more} more' if more > 0 else ''}: "


def dimension(
    draft: Draft, view: Window, near: tuple[Point, Point], lines: Sequence[tuple[str, str]], covers: Sequence[Rect]
) -> None:
    """Join the two nearest points and write the distance, with a line to there.

    Args:
        lines: of the label, as style and text. covers: what it should preferably not hide.
    """
    at = join(draft, view, near)
    if at is not None:
        label(draft, view.frame, lines, at, covers, nearest=6.0)


def join(draft: Draft, view: Window, near: tuple[Point, Point]) -> tuple[float, float] | None:
    """Join two points, drawn as dots, with a line; return its middle, the one that is in sight, or None."""
    seen = [view.place(p) for p in near if view.sees(p, p)]
    if not seen:
        return None
    a, b = seen[0], seen[-1]
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    for style in ("leader-halo", "leader-bold"):
        draft.line(style, a, b)
    draft.leaders += [(a, middle), (b, middle)]
    for end in (a, b):
        draft.ring("spot", *end, 0.7)
    return middle
