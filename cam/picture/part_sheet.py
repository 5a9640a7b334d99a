"""The finished part by itself on one sheet: half in section, its sections numbered, and a table of their sizes."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from cam.geometry.path import Line, Point
from cam.ground.units import show_fine
from cam.lengths.solved import Solved
from cam.part.features import Corner, Edge
from cam.part.model import Section
from cam.picture.draft import BOLD, SIZES, Draft, Layer, clean, fit
from cam.picture.margins import draw_axes, draw_ends, number_row
from cam.picture.plot import render_sheets
from cam.picture.scene import mirror_x, ring
from cam.picture.sheet import HATCHES, Rect, View, hatch, scale_at_most
from cam.setting.finished import trace

MAIN = Rect(20, 31.5, 255, 91.5)
TABLE = Rect(8, 134, 281, 70)
ROW = 4.6
COLUMNS = (0.0, 8.0, 62.0, 92.0, 132.0, 172.0, 200.0)
"""Places of the table's columns from its left, mm: number, name, role, diameter, limits, length, corners and edges."""


def draw_part(part: Solved) -> str:
    """Draw the finished part, one lying A4 sheet, as SVG.

    Sizes are those of the drawing. A section whose length is to be measured is drawn dashed, as long as what
    is known of the whole leaves for it, or else as long as it is thick, and the table says what is to be measured.

    Returns:
        SVG text; the same part gives the same bytes.
    """
    sections = _lay_out(part)
    draft = Draft("part")
    view = _view(sections)
    draft.window(view, _look(sections, part, view))
    title = fit(clean(part.name), SIZES["title"], 270.0, bold=True)
    draft.write("title", 8, 13, title)
    stock, method = part.stock, part.holding.method
    held = method if method == "between centres" else f"in a {method}"
    about = f"{stock.material}, \u00f8 {stock.diameter.text} x {stock.length.text}; held {held}; the finished part"
    draft.write("text", 8, 18.5, fit(clean(about), SIZES["text"], 270.0))
    draw_axes(draft, view, part.unit)
    draw_ends(draft, view, "A end", "B end", part.unit)
    _number(draft, view, sections)
    _draw_table(draft, part)
    rows = (". ".join(_row(s, k, part)) for k, s in enumerate(part.sections, 1))
    return render_sheets(part.name, [draft.panel("part", 0.0, " ".join([f"{title}. {about}.", *rows]))])


def _lay_out(part: Solved) -> tuple[Section, ...]:
    """Return the sections with a length for each, so that they can be drawn."""
    known = math.fsum(s.length for s in part.sections if not math.isnan(s.length))
    unmeasured = sum(math.isnan(s.length) for s in part.sections)
    left = (part.length - known) / unmeasured if unmeasured and not math.isnan(part.length) else 0.0
    placed, at = [], 0.0
    for section in part.sections:
        own = float(section.length)
        length = own if not math.isnan(own) else left if left > 0 else section.thickest
        placed.append(replace(section, start=at, end=at + length))
        at += length
    return tuple(placed)


def _view(sections: tuple[Section, ...]) -> View:
    length, radius = sections[-1].end, max(s.thickest for s in sections) / 2
    scale = scale_at_most(min((MAIN.width - 30) / length, (MAIN.height - 20) / (2 * radius)))
    return View(MAIN, scale, -(MAIN.width / scale - length) / 2, MAIN.bottom - 4 - radius * scale)


def _look(sections: tuple[Section, ...], part: Solved, view: View) -> tuple[Layer, ...]:
    """Return the part through the window: the lower half as it is seen, the upper in section."""
    chain = trace(sections)
    spacing, rise = HATCHES["work"]
    outline = view.draw(chain, close=True)
    layers = [
        ("mirror", view.draw(mirror_x(chain), close=True)),
        ("work", outline),
        ("work-hatch", hatch(view.outline(chain), spacing, rise, view.frame)),
        ("work-edge", outline),
    ]
    for before, section in pairwise(sections):
        size = min(before.diameter_b, section.diameter_a) / 2
        layers.append(("mirror", view.draw((Line(Point(section.start, -size), Point(section.start, 0.0)),))))
    for section, given in zip(sections, part.sections, strict=True):
        if math.isnan(given.length):
            a, b, r = section.start, section.end, section.thickest / 2
            corners = (Point(a, 0.0), Point(a, r), Point(b, r), Point(b, 0.0))
            layers.append(("guess", view.draw(ring(corners), close=True)))
    layers.append(("axis", view.axis()))
    return tuple(layers)


def _number(draft: Draft, view: View, sections: tuple[Section, ...]) -> None:
    """Draw a ring with its number over each section, with a line down to it."""
    feet = [(s.start + s.end, s.diameter_a + s.diameter_b) for s in sections]
    places = [(view.across(z / 2), view.down(d / 4)) for z, d in feet]
    number_row(draft, view.frame, view.frame.top + 4.0, places)


def _draw_table(draft: Draft, part: Solved) -> None:
    heads = ("", "section", "role", "diameter", "limits", "length", "corners and edges")
    for place, head in zip(COLUMNS, heads, strict=True):
        draft.write("part", TABLE.left + place, TABLE.top, head)
    fitting = int(TABLE.height / ROW) - 2
    shown = part.sections if len(part.sections) <= fitting else part.sections[: fitting - 1]
    for k, section in enumerate(shown, 1):
        base = TABLE.top + ROW * k
        draft.line("leader", (TABLE.left, base - 3.4), (TABLE.right, base - 3.4))
        for n, (place, text) in enumerate(zip(COLUMNS, _row(section, k, part), strict=True)):
            room = (COLUMNS[n + 1] if n + 1 < len(COLUMNS) else TABLE.width) - place - 1.5
            style = "part" if n < 2 else "small"
            draft.write(style, TABLE.left + place, base, fit(clean(text), SIZES[style], room, bold=style in BOLD))
    if part.to_be_measured:
        named = " and ".join(f'"{name}"' for name in part.to_be_measured)
        text = f"* to be measured: {named}; drawn dashed, by a stand-in for its length"
        draft.write("small", TABLE.left, TABLE.bottom - 1.0, fit(clean(text), SIZES["small"], TABLE.width))
    if len(shown) < len(part.sections):
        more = f"and {len(part.sections) - len(shown)} more, numbered in the drawing"
        draft.write("small", TABLE.left, TABLE.top + ROW * fitting, more)


def _row(section: Section, number: int, part: Solved) -> tuple[str, ...]:
    sizes = [show_fine(size, part.unit, trim=True) for size in (section.diameter_a, section.diameter_b)]
    length = "*" if math.isnan(section.length) else show_fine(section.length, part.unit, trim=True)
    details = [("A", section.corner_a or section.edge_a), ("B", section.corner_b or section.edge_b)]
    return (
        f"{number}",
        section.name,
        section.role,
        sizes[0] if sizes[0] == sizes[1] else " to ".join(sizes),
        section.tolerance.text if section.tolerance is not None else "",
        length,
        "; ".join(f"{side} {detail.text}" for side, detail in details if isinstance(detail, Corner | Edge)),
    )
