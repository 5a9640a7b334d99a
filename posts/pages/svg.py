"""Marks on paper, placed in mm, and how each is said in SVG: black on white, as for a printer."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Literal

from cam.ground.frozen import Row
from posts.wording import number

LETTER = 0.56
"""The width of a figure over its size, in the faces that a sheet is set in; most letters are no wider. From the
published metrics of Helvetica (Adobe AFM: every figure 556 of 1000); from memory."""

Anchor = Literal["start", "middle", "end"]


class Text(Row):
    """One line of text.

    Attributes:
        x, y: place of its start (or middle, or end, by anchor) and of its baseline, mm. size: height of its type, mm.
        white: whether it is white, on something black below it.
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: Anchor = "middle"
    white: bool = False


class Rule(Row):
    """A straight line.

    Attributes:
        x1, y1, x2, y2, width: mm. dash: SVG's dash, mm, "" for none. role: what it stands for, so that it can be
            measured.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.2
    dash: str = ""
    role: str = ""


class ClosedOutline(Row):
    """A closed outline of straight pieces.

    Attributes:
        points: x, y in mm. fill: a colour. line: width of its edge, mm, 0 for none. dash, role: as in Rule.
    """

    points: tuple[tuple[float, float], ...]
    fill: str = "none"
    line: float = 0.3
    dash: str = ""
    role: str = ""


Mark = Text | Rule | ClosedOutline


def box(
    x: float, y: float, width: float, height: float, fill: str = "none", line: float = 0.3, role: str = ""
) -> ClosedOutline:
    """Return an upright rectangle, mm."""
    return ClosedOutline(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), fill, line, role=role)


def text_width(text: str, size: float) -> float:
    """Return the greatest width that a line of text can have, mm; size: height of its type, mm."""
    return LETTER * size * len(text)


def to_svg(marks: Sequence[Mark], width: float, height: float, label: str) -> str:
    """Write the marks as one SVG element, drawn at the size that it says.

    Args:
        width, height: mm of paper. label: what it shows, for a screen reader.
    """
    size = f'width="{_mm(width)}mm" height="{_mm(height)}mm" viewBox="0 0 {_mm(width)} {_mm(height)}"'
    body = "\n".join(_element(mark) for mark in marks)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-label="{escape(label)}">\n{body}\n</svg>'


def _element(mark: Mark) -> str:
    if isinstance(mark, Text):
        return _text(mark)
    if isinstance(mark, Rule):
        ends = f'x1="{_mm(mark.x1)}" y1="{_mm(mark.y1)}" x2="{_mm(mark.x2)}" y2="{_mm(mark.y2)}"'
        return f'<line {ends} stroke-width="{_mm(mark.width)}"{_more(mark.dash, mark.role)}/>'
    points = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in mark.points)
    edge = f'stroke-width="{_mm(mark.line)}"' if mark.line else 'stroke="none"'
    return f'<polygon points="{points}" fill="{mark.fill}" {edge}{_more(mark.dash, mark.role)}/>'


def _text(mark: Text) -> str:
    words = escape("".join(c if c.isprintable() else " " for c in mark.text))
    look = (' font-weight="bold"' if mark.bold else "") + (' class="white"' if mark.white else "")
    place = f'x="{_mm(mark.x)}" y="{_mm(mark.y)}" font-size="{_mm(mark.size)}" text-anchor="{mark.anchor}"'
    return f"<text {place}{look}>{words}</text>"


def _more(dash: str, role: str) -> str:
    said = f' stroke-dasharray="{dash}"' if dash else ""
    return said + (f' data-role="{escape(role)}"' if role else "")


def _mm(value: float) -> str:
    return number(value, 4, 0)


def spread(wanted: Sequence[float], widths: Sequence[float], least: float, most: float) -> list[float]:
    """Return middles of labels near where they are wanted, in the same order, none over another.

    Args:
        wanted: mm. widths: width of each, with its gap, mm. least, most: where the first may begin and the last end,
            mm.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    found = [0.0] * len(wanted)
    edge = least
    for i in order:
        found[i] = max(wanted[i], edge + widths[i] / 2)
        edge = found[i] + widths[i] / 2
    edge = most
    for i in reversed(order):
        found[i] = min(found[i], edge - widths[i] / 2)
        edge = found[i] - widths[i] / 2
    return found
