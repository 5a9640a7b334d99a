"""What is put on a printed page: text, rules, boxes and outlines, placed in mm, and how each is said in SVG.

Every line of text is given the width that its letters have in the metrics below, so that a browser which lacks the
face squeezes or stretches a little and the page keeps its form. Black on white: a printer's toner is all there is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from html import escape
from typing import Literal

from cam.frozen import Row
from posts.wording import number

POINT = 25.4 / 72
"""A point in mm; exact, as PDF and CSS count it."""
LEAST_TYPE = 9.0
"""Nothing on a printed page is smaller, pt."""
MONO = 0.6
"""Width of every letter of a typewriter face, in its size: Courier and what is made to its metrics."""
NARROW = 0.9
"""Running type is set so much narrower than its face, which reads better than the same words in smaller type."""

Anchor = Literal["start", "middle", "end"]


class Text(Row):
    """One line of text.

    Attributes:
        x, y: of its start (or middle, or end, by anchor) and its baseline, mm. size: pt.
        white: white on what is black below it.
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    mono: bool = False
    anchor: Anchor = "start"
    white: bool = False


class Rule(Row):
    """A straight line.

    Attributes:
        x1, y1, x2, y2, width: mm. dash: of SVG, mm, "" for none. role: what it stands for, for whoever measures it.
    """

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.2
    dash: str = ""
    role: str = ""


class Box(Row):
    """An upright rectangle, mm; line: width of its edge, 0 for none. role: as of a Rule."""

    x: float
    y: float
    width: float
    height: float
    fill: Literal["none", "black", "white"] = "none"
    line: float = 0.2
    role: str = ""


class Outline(Row):
    """A closed outline of straight pieces.

    Attributes:
        points: x, y in mm. line: width of its edge. dash: as of a Rule.
    """

    points: tuple[tuple[float, float], ...]
    fill: Literal["none", "black", "white"] = "none"
    line: float = 0.3
    dash: str = ""


Mark = Text | Rule | Box | Outline


def text_width(text: str, size: float, *, bold: bool = False, mono: bool = False) -> float:
    """Width of a line of text, mm; size in pt. A letter that the face lacks counts as wide as it is high."""
    if mono:
        return len(text) * MONO * size * POINT
    return _units(text, bold) * NARROW * size * POINT / 1000


@lru_cache(maxsize=4096)
def _units(text: str, bold: bool) -> float:
    widths = _widths(bold)
    return sum(widths.get(ord(c), 1000) for c in text)


@lru_cache(maxsize=2)
def _widths(bold: bool) -> dict[int, int]:
    """Code point -> width in thousandths of the size, as the Adobe font metrics of Helvetica have it."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and wanted for print alone

    font = pdfmetrics.getFont("Helvetica-Bold" if bold else "Helvetica")
    found = {}
    for code in (*range(0x20, 0x7F), *range(0xA0, 0x100)):
        found[code] = round(font.stringWidth(chr(code), 1000))
    return found


def break_text(text: str, size: float, width: float, *, bold: bool = False, first: float | None = None) -> list[str]:
    """Lines of a text no wider than width, mm, broken between words; a word that is wider is cut.

    Args:
        first: room on the first line, where that is not the same.
    """
    lines: list[str] = []
    line, room = "", width if first is None else first
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if text_width(joined, size, bold=bold) <= room:
            line = joined
            continue
        if line or (not lines and room < width):
            lines.append(line)
        line, room = word, width
        while text_width(line, size, bold=bold) > width and len(line) > 1:
            most = (n for n in range(len(line) - 1, 0, -1) if text_width(line[:n], size, bold=bold) <= width)
            fits = next(most, 1)
            lines.append(line[:fits])
            line = line[fits:]
    return [*lines, line] if line else lines


def move(marks: Iterable[Mark], dx: float, dy: float) -> list[Mark]:
    """The same marks elsewhere."""
    return [_moved(mark, dx, dy) for mark in marks]


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Text):
        return mark._replace(x=mark.x + dx, y=mark.y + dy)
    if isinstance(mark, Rule):
        return mark._replace(x1=mark.x1 + dx, y1=mark.y1 + dy, x2=mark.x2 + dx, y2=mark.y2 + dy)
    if isinstance(mark, Box):
        return mark._replace(x=mark.x + dx, y=mark.y + dy)
    return mark._replace(points=tuple((x + dx, y + dy) for x, y in mark.points))


def to_svg(marks: Sequence[Mark]) -> str:
    """The marks as SVG elements, a line each; whatever a text holds, it stays text."""
    return "\n".join(_element(mark) for mark in marks)


def _element(mark: Mark) -> str:
    if isinstance(mark, Text):
        return _text_element(mark)
    if isinstance(mark, Rule):
        ends = f'x1="{_mm(mark.x1)}" y1="{_mm(mark.y1)}" x2="{_mm(mark.x2)}" y2="{_mm(mark.y2)}"'
        return f'<line {ends} stroke-width="{_mm(mark.width)}"{_dash(mark.dash)}{_role(mark.role)}/>'
    look = f'fill="{mark.fill}" stroke-width="{_mm(mark.line)}"' + ("" if mark.line else ' stroke="none"')
    if isinstance(mark, Box):
        size = f'x="{_mm(mark.x)}" y="{_mm(mark.y)}" width="{_mm(mark.width)}" height="{_mm(mark.height)}"'
        return f"<rect {size} {look}{_role(mark.role)}/>"
    points = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in mark.points)
    return f'<polygon points="{points}" {look}{_dash(mark.dash)}/>'


def _text_element(mark: Text) -> str:
    words = "".join(c if c.isprintable() else " " for c in mark.text)
    width = text_width(words, mark.size, bold=mark.bold, mono=mark.mono)
    kinds = [k for k, wanted in (("m", mark.mono), ("b", mark.bold), ("w", mark.white)) if wanted]
    name = f' class="{" ".join(kinds)}"' if kinds else ""
    anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
    fit = f' textLength="{_mm(width)}" lengthAdjust="spacingAndGlyphs"' if len(words.strip()) > 1 else ""
    place = f'x="{_mm(mark.x)}" y="{_mm(mark.y)}" font-size="{_mm(mark.size * POINT)}"'
    return f"<text {place}{anchor}{name}{fit}>{escape(words)}</text>"


def _mm(value: float) -> str:
    return number(value, 4, 0)


def _dash(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""


def _role(role: str) -> str:
    return f' data-role="{escape(role)}"' if role else ""
