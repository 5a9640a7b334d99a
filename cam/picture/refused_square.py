"""A square that is refused before it is planned: end-on at its shoulder, with what it does not pass, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from cam.geometry.path import Point
from cam.ground.frozen import Row
from cam.ground.problem import Problem
from cam.ground.units import show_fine
from cam.mill.plan_square import SquareTask
from cam.picture.draft import SIZES, Draft, Panel, clean, fit, wrap
from cam.picture.margins import draw_corner_bar, draw_rows, draw_title, draw_verdict
from cam.picture.panel import crossed, drawn
from cam.picture.scene import Shape, circle, ring, shape
from cam.picture.sheet import Rect, scale_at_most, view_about
from cam.setting.square import Square, across_at, largest_that_passes

FRAME = Rect(84, 31.5, 120, 130)
REASONS = Rect(210, 31.5, 79, 165)
RAYS = 1440


class RefusedSquare(Row):
    """What was asked, and what stands against it."""

    task: SquareTask
    problems: tuple[Problem, ...]


def reach(square: Square, ray: float) -> float:
    """How far the finished square would reach at its shoulder along a ray if the round had the metal for it, mm.

    Args:
        ray: degrees from the middle of flat 1.
    """
    sector = 2 * math.pi / square.flats
    off = (math.radians(ray) + sector / 2) % sector - sector / 2  # from the middle of the nearest flat
    half = across_at(square, 0.0) / 2
    distance = half / math.cos(off)
    if square.corners == "broken":
        corner = half / math.cos(sector / 2) - square.broken * math.sin(sector / 2)
        distance = min(distance, corner / math.cos(sector / 2 - abs(off)))
    return distance


def outline_at_shoulder(square: Square, within: float = math.inf) -> list[Point]:
    """Return the section at the shoulder, seen from the tip, flat 1 on top, no farther out than within, mm."""
    rays = [360.0 * k / RAYS for k in range(RAYS)]
    return [place_on_ray(ray, min(reach(square, ray), within)) for ray in rays]


def place_on_ray(ray: float, radius: float) -> Point:
    """Return the place at a radius on a ray, degrees from the middle of flat 1."""
    return Point(radius * math.sin(math.radians(ray)), radius * math.cos(math.radians(ray)))


def beyond(square: Square, radius: float) -> list[list[Point]]:
    """Return what of the section at the shoulder lies beyond a circle: a piece for each corner that does."""
    most = square.blank / 2
    rays = (360.0 * k / RAYS for k in range(RAYS + 1))  # from the middle of flat 1, which can lie beyond nothing
    ends = [(ray, min(reach(square, ray), most)) for ray in rays]
    pieces = [list(group) for far, group in groupby(ends, key=lambda end: end[1] > radius + 1e-9) if far]
    at = place_on_ray
    return [[*(at(r, out) for r, out in piece), *(at(r, radius) for r, _ in reversed(piece))] for piece in pieces]


def lay_out_refused(part: str, unit: str, refused: RefusedSquare, above: float) -> Panel:
    """Place the square on its sheet.

    Args:
        part: its name. unit: "mm" or "in". above: height in the picture at which the sheet begins, mm.
    """
    draft, square = Draft("square"), refused.task.square
    title = f"{fit(clean(part), SIZES['title'], 120.0, bold=True)} - the {square.name}, refused"
    draft.write("title", 8, 13, title)
    across = show_fine(across_at(square, 0.0), unit, trim=True)
    said = f"end-on at the shoulder, where it is largest, {across} across flats; nothing is planned"
    draft.write("text", 8, 18.5, said)
    draw_verdict(draft, ("REFUSED", "no program is written for the mill"), refused=True)
    shapes = list(section_shapes(refused.task))
    widest = 2.2 * max(s.high.z for s in shapes)
    scale = scale_at_most(min(FRAME.width, FRAME.height) / widest)
    view = view_about(FRAME, scale, Point(0.0, 0.0))
    draft.window(view, (*drawn(shapes, view), *crossed(view, widest)))
    draw_corner_bar(draft, view, unit)
    draw_title(draft, view, "from the tip")
    _reasons(draft, refused.problems)
    rows = (("work", "finished section at the shoulder"), ("stock", "the round it is cut from"),
            ("wanted", "corners that the round has no metal for"), ("bearing", "the bearing that it must pass"),
            ("overlap", "what does not pass"), ("finish", "the largest that would pass"))  # fmt: skip
    draw_rows(draft, rows, {s.style for s in shapes})
    return draft.panel("square", above, " ".join([f"{title}.", *(p.what for p in refused.problems)]))


def section_shapes(task: SquareTask) -> Iterator[Shape]:
    """Return the section at the shoulder, the round, the bearing, what does not pass it, and the largest that would."""
    square = task.square
    yield shape("work", ring(tuple(outline_at_shoulder(square, square.blank / 2))), solid=True)
    whole = outline_at_shoulder(square)
    if square.corners != "round" and max(math.hypot(*p) for p in whole) > square.blank / 2 + 1e-6:
        yield shape("wanted", ring(tuple(whole)))
    yield circle("stock", square.blank)
    if task.bearing is not None:
        pieces = beyond(square, task.bearing / 2)
        for piece in pieces:
            yield shape("overlap", ring(tuple(piece)), solid=True)
        yield circle("bearing", task.bearing)
        most = largest_that_passes(square, task.bearing)
        if pieces and most > 0:
            least = replace(square, across=most)
            yield shape("finish", ring(tuple(outline_at_shoulder(least, square.blank / 2))))


def _reasons(draft: Draft, problems: Sequence[Problem]) -> None:
    """Write every problem with what was given, what is allowed and what would fix it."""
    lines: list[tuple[str, str]] = []
    for p in problems:
        lines += [("part", piece) for piece in wrap(clean(p.what), SIZES["part"] * 1.1, REASONS.width - 6)]
        for head, words in (("given", p.given), ("right would be", p.allowed), ("fix", p.fix)):
            if words:
                text = clean(f"{head}: {words}")
                lines += [("small", piece) for piece in wrap(text, SIZES["small"], REASONS.width - 6)]
        lines.append(("small", ""))
    lines = lines[: int((REASONS.height - 6) / 3.8)]
    draft.box("hit-box", Rect(REASONS.left, REASONS.top, REASONS.width, 3.8 * len(lines) + 4))
    for k, (style, line) in enumerate(lines):
        if line:
            draft.write(style, REASONS.left + 3, REASONS.top + 5.5 + 3.8 * k, line)
