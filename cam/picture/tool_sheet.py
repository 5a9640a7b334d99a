"""One tool of the shop file beside a tailstock centre, with the sizes that were given, so that a wrong sign is seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cam.geometry.path import Point
from cam.ground.frozen import Row
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.units import show_length
from cam.picture.draft import clean, text_width
from cam.setting.model import CentreHole
from cam.setting.obstacles import tailstock_obstacles
from cam.shop.model import Shop, Tool
from cam.shop.tool_shape import tool_bodies
from posts.environment import find_markup

LETTERS = 3.2
"""Height of the letters, in a picture of width 180."""
PAPER = 180.0
"""Width of the picture, mm."""
WORK = 15.0
"""Length of bar that is drawn, mm."""
MOST_HIGH = 50.0
"""A post is drawn this far from the axis, mm; what lies behind it meets nothing."""
EDGE = 3.0
"""Room left free round what is drawn, mm."""
FILLS = {"bar": "#efe6d2", "centre": "#d7e0e6", "edge": "#f2b632", "body": "#fbeecb"}
"""Each class of a solid, with its colour."""


class Letters(Row):
    """Something written, from x on the line y, mm on the drawing."""

    x: float
    y: float
    text: str


class DrawnSolid(Row):
    """A solid in the picture.

    Attributes:
        style: its class. path: data of its outline. name: written in its middle.
        left, right, top, bottom: its ends on the paper, mm. round: how far past its outline it reaches all round, mm.
    """

    style: str
    path: str
    name: str
    left: float
    right: float
    top: float
    bottom: float
    round: float


def draw_tool(shop: Shop, number: int) -> str:
    """Draw a tool as it stands at the end of a bar that a centre holds, Z to the right, the operator's side up.

    Args:
        number: number of the tool, its T word.

    Raises:
        ProblemError: there is no such tool.
    """
    tool = shop.tool(number)
    if tool is None:
        what, allowed = "the shop file has no such tool", ", ".join(str(t.number) for t in shop.tools)
        raise ProblemError([Problem(where=Where(path=shop.path), what=what, given=f"tool {number}", allowed=allowed)])
    shapes = list(_shapes(shop, tool))
    return _render(shapes, list(_lines(shop, tool)), title=f"tool {tool.number}, {tool.name}")


def _shapes(shop: Shop, tool: Tool) -> Iterator[DrawnSolid]:
    """Return the bar's end, the centre in it, and the tool with its tip at the end face."""
    mouth = min((float(c.point_diameter) for c in shop.centres), default=8.0) / 3
    bar = 1.25 * mouth
    yield _shape("bar", "", ((-WORK, -bar), (0.0, -bar), (0.0, bar), (-WORK, bar)))
    if shop.centres:
        centre = shop.centres[0]
        hole = CentreHole(designation="", pilot=mouth / 2, mouth=mouth, depth=mouth, reason="")
        for solid in tailstock_obstacles(shop.lathe, centre, hole, 0.0):
            if solid.name != "tailstock":
                yield _shape("centre", solid.name, solid.polygon)
                yield _shape("centre", "", tuple(Point(p.z, -p.x) for p in reversed(solid.polygon)))
    at = Point(float(shop.lathe.rapid_clearance), bar)
    for body in tool_bodies(tool):
        moved = tuple(Point(p.z + at.z, p.x + at.x) for p in body.polygon)
        style, name = ("edge", "") if body.cuts else ("body", body.name)
        yield _shape(style, name, moved, body.round)


def _shape(style: str, name: str, corners: Iterable[tuple[float, float]], round_: float = 0.0) -> DrawnSolid:
    polygon = [(z, -x) for z, x in corners]
    path = "M" + "L".join(f"{z:.3f} {y:.3f}" for z, y in polygon) + "Z"
    ends = [(min(v), max(v)) for v in zip(*polygon, strict=True)]
    return DrawnSolid(style, path, name, *ends[0], *ends[1], round_)


def _lines(shop: Shop, tool: Tool) -> Iterator[str]:
    """Say the sizes that were given."""
    unit: str = "in" if "in" in shop.lathe.swing.text else "mm"
    yield f"tool {tool.number}, {tool.name}: {tool.hand} hand, {tool.text}, nose radius {tool.nose_radius.text}"
    if tool.approach.text:
        lean = tool.approach - 90
        side = "leans back, so that it can face outward" if lean > 0 else "does not lean back"
        yield f"leading edge {tool.approach.text} to the direction of feed: it {side if lean else 'stands square'}"
    for outline in tool.outlines:
        z, x = zip(*outline.polygon, strict=True)
        near, far = (show_length(v, unit, 3, trim=True) for v in (min(x), max(x)))
        yield f"{outline.name}: {_reach(min(z), max(z), unit)},"
        yield f"    begins {near} behind the tip, ends {far} behind it"
    if not tool.outlines:
        yield "tip only: nothing checks holder and post"
    if shop.centres:
        yield f"beside {shop.centres[0].name}, the tip {shop.lathe.rapid_clearance.text} off the end of a bar"


def _reach(least: float, most: float, unit: str) -> str:
    """Say how far something reaches to both sides of the tip, Z least to most, mm."""
    if least < 0 < most:
        left, right = (show_length(v, unit, 3, trim=True) for v in (-least, most))
        return f"{left} past the tip toward the headstock, {right} toward the tailstock"
    near, far, side = (least, most, "tailstock") if least >= 0 else (-most, -least, "headstock")
    return f"from {show_length(near, unit, 3, trim=True)} to {show_length(far, unit, 3, trim=True)} toward the {side}"


def _render(shapes: list[DrawnSolid], lines: list[str], *, title: str) -> str:
    """Draw the picture, SVG, PAPER mm wide."""
    lefts, rights, tops = zip(*((s.left, s.right, s.top) for s in shapes if s.style != "centre"), strict=True)
    left, right, top = min(lefts) - EDGE, max(*rights, WORK) + EDGE, max(min(tops) - EDGE, -MOST_HIGH)
    bottom = max(s.bottom for s in shapes if s.left < right) + EDGE
    wide = right - left
    size = LETTERS * wide / PAPER
    rows = [
        Letters(left + size, bottom + 1.5 * size * (n + 1), clean(line))
        for n, line in enumerate([*lines, "left: headstock; right: tailstock; up: away from the axis"])
    ]
    names = [
        Letters((s.left + min(s.right, right)) / 2, (max(s.top, top) + s.bottom) / 2, clean(s.name))
        for s in shapes
        if s.name not in ("", "centre cone", "centre flat") and text_width(s.name, size) < min(s.right, right) - s.left
    ]
    high = bottom - top + 1.5 * size * (len(rows) + 1)
    return find_markup("tool.svg.j2").render(
        title=clean(title), shapes=shapes, names=names, rows=rows, fills=FILLS, width=PAPER,
        height=f"{PAPER * high / wide:.2f}", box=f"{left:.3f} {top:.3f} {wide:.3f} {high:.3f}",
        left=left, top=top, wide=wide, high=high, letters=size, thin=size / 12,
    )  # fmt: skip
