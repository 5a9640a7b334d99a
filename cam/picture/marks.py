"""What the simulation found, written where it is: the closest approach, hits, and the names of things."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from cam.geometry.convex import contains
from cam.geometry.path import Point, Polygon
from cam.picture.draft import SIZES, Draft, clean, text_width, wrap
from cam.picture.scene import Scene, Shape, clip
from cam.picture.sheet import Rect, View
from cam.simulate.model import Approach, Finding, Simulation
from cam.units import show_length

MOST_LISTED, MOST_MARKED = 5, 9


def pair_words(near: Approach, places: Mapping[int, str]) -> str:
    """What is near what, and where in the program. places: line -> in words, "pass 3"; otherwise the line itself."""
    return f"{near.body} of T{near.tool} to {near.obstacle}, {places.get(near.line, f'line {near.line}')}"


def length_words(value: float, unit: str) -> str:
    """A distance in the user's unit, to a micrometre or a tenth of a thou."""
    return show_length(value, unit, 4 if unit == "in" else 3)


def size_words(mm: float, unit: str) -> str:
    """A size in the user's unit, as fine, without idle zeros."""
    return show_length(mm, unit, 4 if unit == "in" else 3, trim=True)


def name_solids(draft: Draft, view: View, shapes: Iterable[Shape]) -> None:
    """Names of obstacles and holders, in the middle of what is seen of them, where they have room."""
    size = SIZES["small"]
    low, high = Point(view.left_z, view.bottom_x), Point(view.right_z, view.top_x)
    window = (low, Point(high.z, low.x), high, Point(low.z, high.x))
    for item in shapes:
        if not item.name or item.name == "nose" or not view.sees(item.low, item.high):
            continue
        seen = clip(tuple(piece.start for piece in item.chain), window)
        if len(seen) < 3:
            continue
        middle = Point(sum(p.z for p in seen) / len(seen), sum(p.x for p in seen) / len(seen))
        room = text_width(item.name, size) + 2
        spot = _room_for(seen, middle, room / view.scale, 4.4 / view.scale)
        if spot is None:
            continue
        across, down = view.place(middle)
        upright = spot == "upright"
        box = Rect(across - 2, down - room / 2, 4, room) if upright else Rect(across - room / 2, down - 2, room, 4)
        if any(_meet(box, other) for other in draft.taken):
            continue
        draft.taken.append(box)
        base = (across + 0.9, down) if upright else (across, down + 0.9)
        draft.write("small", *base, item.name, "middle", plate=True, upright=upright)


def _room_for(polygon: Polygon, middle: Point, long: float, high: float) -> Literal["level", "upright"] | None:
    """How a label of these sizes, mm of work, lies within a convex polygon about its middle; None if it does not."""
    for kind, size_z, size_x in (("level", long, high), ("upright", high, long)):
        corners = [Point(middle.z + a * size_z / 2, middle.x + b * size_x / 2) for a in (-1, 1) for b in (-1, 1)]
        if all(contains(polygon, corner) for corner in corners):
            return kind  # type: ignore[return-value]
    return None


def _meet(a: Rect, b: Rect) -> bool:
    return a.left < b.right and b.left < a.right and a.top < b.bottom and b.top < a.bottom


def lead_to(draft: Draft, view: View, scene: Scene, unit: str) -> None:
    """The distance of the tool that is drawn in large letters; of the closest approach to the work in small ones."""
    assert scene.shown is not None
    _label_approach(draft, view, scene, scene.shown, unit, "distance", 4.0)
    if scene.other is not None:
        _label_approach(draft, view, scene, scene.other, unit, "part", 15.5)


def _label_approach(draft: Draft, view: View, scene: Scene, near: Approach, unit: str, style: str, drop: float) -> None:
    """A distance and what it is between, left of the place or else right of it, with a line to the place."""
    tool, solid = view.place(near.on_tool), view.place(near.on_obstacle)
    x, y = (tool[0] + solid[0]) / 2, (tool[1] + solid[1]) / 2
    frame, text, below = view.frame, length_words(near.distance, unit), pair_words(near, scene.places)
    room = max(text_width(text, SIZES[style], bold=True), text_width(below, SIZES["small"])) + 2
    left = x - 26.0 - room
    if left < frame.left + 2:
        left = x + 40.0
    left = min(max(left, frame.left + 2), frame.right - room - 2)
    box = Rect(left, frame.top + drop, room, 9.0)
    leader(draft, box, x, y)
    draft.ring("spot", x, y, 1.0)
    draft.write(style, left + room / 2, box.top + 4.0, text, "middle", plate=True)
    draft.write("small", left + room / 2, box.top + 7.8, below, "middle", plate=True)
    draft.taken.append(box)


def leader(draft: Draft, box: Rect, x: float, y: float) -> None:
    """A line from the middle of the label's nearest side to a place."""
    across, down = box.left + box.width / 2, box.top + box.height / 2
    sides = ((across, box.bottom), (across, box.top), (box.left, down), (box.right, down))
    start = min(sides, key=lambda p: math.hypot(p[0] - x, p[1] - y))
    draft.line("leader-halo", start, (x, y))
    draft.line("leader-bold", start, (x, y))
    steps = max(round(math.hypot(start[0] - x, start[1] - y) / 3.0), 1)
    for k in range(steps + 1):
        a, b = start[0] + (x - start[0]) * k / steps, start[1] + (y - start[1]) * k / steps
        draft.taken.append(Rect(a - 0.7, b - 0.7, 1.4, 1.4))


Spot = tuple[int, Finding, float, float]
"""Number, finding, place on the paper."""


def find_spots(view: View, scene: Scene) -> list[Spot]:
    """The findings that are marked, worst first, with their places in the main window; near ones share a mark."""
    spots: list[Spot] = []
    for f in scene.findings:
        at = f.at if f.at is not None else f.tip
        if at is None or not view.sees(at, at):
            continue
        x, y = view.place(at)
        if all(math.hypot(x - a, y - b) > 6.0 for _, _, a, b in spots):
            spots.append((len(spots) + 1, f, x, y))
    return spots[:MOST_MARKED]


def mark_findings(draft: Draft, view: View, spots: list[Spot], size: float) -> list[Spot]:
    """A ring with four strokes about each place that must not be, and its number; gives the spots again."""
    for number, f, *_ in spots:
        at = f.at if f.at is not None else f.tip
        assert at is not None  # spots have a place
        if not view.sees(at, at):
            continue
        x, y = view.place(at)
        draft.ring("hit-halo", x, y, size)
        draft.ring("hit", x, y, size)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = size - 1.0, size + 1.8
            draft.line("hit", (x + dx * near, y + dy * near), (x + dx * far, y + dy * far))
        draft.write("distance", x - 0.7 * size - 2.2, y - 0.7 * size - 1.2, str(number), "end", plate=True)
        draft.taken.append(Rect(x - size - 5, y - size - 5, 2 * size + 7, 2 * size + 7))
    return spots


def list_findings(
    draft: Draft, view: View, simulation: Simulation, spots: list[Spot], places: Mapping[int, str]
) -> None:
    """The sentences, the marked ones with their numbers, in the half of the window that the worst is not in."""
    size, room, frame = SIZES["small"], 112.0, view.frame
    first = spots[0][2] if spots else frame.right
    left = frame.left + 3 if first > frame.left + frame.width / 2 else frame.right - room - 3
    groups = _by_sentence(simulation.findings, spots)
    lines: list[tuple[str, str]] = []
    for sign, found in groups[:MOST_LISTED]:
        sentence = wrap(clean(_in_lines(found, places) + found[0].what), size, room - 6)[:3]
        lines += [(sign if n == 0 else "", line) for n, line in enumerate(sentence)]
    rest = sum(len(found) for _, found in groups[MOST_LISTED:])
    if rest:
        lines.append(("", f"and {rest} more"))
    box_lines(draft, left, frame.top, room, lines)


def box_lines(draft: Draft, left: float, top: float, room: float, lines: Sequence[tuple[str, str]]) -> None:
    """Sentences in a box, each line with the number of a mark before it or nothing; left, top, room: mm of paper."""
    box = Rect(left - 1, top + 2, room + 2, 3.5 * len(lines) + 2)
    draft.plate(box)
    draft.taken.append(box)
    draft.box("hit-box", box)
    for k, (sign, line) in enumerate(lines):
        base = box.top + 4 + 3.5 * k
        if sign:
            draft.write("part", left + 3.5, base, sign, "end")
        draft.write("small", left + 5, base, line)


def _by_sentence(findings: Sequence[Finding], spots: list[Spot]) -> list[tuple[str, list[Finding]]]:
    """Findings that say the same together, with their mark's number; the marked ones first, in its order."""
    numbers = {f.what: str(number) for number, f, *_ in reversed(spots)}
    groups: dict[str, list[Finding]] = {what: [] for _, f, *_ in spots for what in (f.what,)}
    for f in findings:
        groups.setdefault(f.what, []).append(f)
    return [(numbers.get(what, "*"), found) for what, found in groups.items()]


def _in_lines(found: list[Finding], places: Mapping[int, str]) -> str:
    """The program lines of some findings, "lines 53, 55, 56 and 9 more: "; nothing for one about the whole.

    places: as of pair_words; where it has the lines, only the first place is said.
    """
    lines = sorted({f.line for f in found if f.line})
    if not lines:
        return ""
    if lines[0] in places:
        return f"{places[lines[0]]}: "
    named, more = ", ".join(map(str, lines[:4])), len(lines) - 4
    return f"line{'s' if len(lines) > 1 else ''} {named}{f' and {more} more' if more > 0 else ''}: "


def dimension(draft: Draft, view: View, near: Approach, unit: str) -> None:
    """The two nearest points, joined, and the distance beside them."""
    low = Point(min(near.on_tool.z, near.on_obstacle.z), min(near.on_tool.x, near.on_obstacle.x))
    if not view.sees(low, low):
        return
    a, b = view.place(near.on_tool), view.place(near.on_obstacle)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    draft.line("leader-halo", a, b)
    draft.line("leader-bold", a, b)
    for end in (a, b):
        draft.ring("spot", *end, 0.7)
    text = length_words(near.distance, unit)
    room = text_width(text, SIZES["distance"], bold=True) + 2
    left = x - 10 - room if x - 12 - room > view.frame.left else x + 10
    top = y + 6 if y + 13 < view.frame.bottom - 8 else y - 12
    box = Rect(left, top, room, 5.0)
    leader(draft, box, x, y)
    draft.write("distance", left + room / 2, top + 3.8, text, "middle", plate=True)
    draft.taken += [box, Rect(min(a[0], b[0]) - 1, min(a[1], b[1]) - 1, abs(a[0] - b[0]) + 2, abs(a[1] - b[1]) + 2)]
