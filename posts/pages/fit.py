"""In what type a page is set: the largest in which a setting is expected to fit one sheet of paper.

The browser lays the page out; this only estimates how much room it will take, a little over rather than under.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from posts.pages.blocks import (
    Ask,
    Band,
    Banner,
    Block,
    Caution,
    Cut,
    Dial,
    Drawing,
    Fact,
    Head,
    Measure,
    MillCut,
    Page,
    Points,
    Table,
    Words,
)
from posts.pages.drawing import HIGH
from posts.pages.paper import MARGIN, Paper
from posts.pages.rows import band_line, measure_line, points_line

POINT = 25.4 / 72
"""A point in mm; exact, as PDF and CSS count it."""
TYPE = (13.0, 12.5, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0)
"""Sizes of type of a setting's page, pt: the first that fits is taken."""
BENCH_TYPE = 11.0
"""Type of all other pages, pt."""
OVER = 10.5
"""Type of a page that goes on over more than one sheet of paper, pt."""
LINE = 1.16
ROW = 1.1
"""From line to line, in sizes, of running text and of rows; as the style sheet has it."""
LETTER = 0.475
"""Width of a letter of running text in its size, on the large side; common practice, no source."""


def choose_size(page: Page, paper: Paper) -> float:
    """The type of a page, pt."""
    if page.kind != "setting":
        return BENCH_TYPE
    room = paper.height - 2 * MARGIN
    return next((size for size in TYPE if height_of(page, paper, size) <= room), OVER)


def height_of(page: Page, paper: Paper, size: float) -> float:
    """Height that a page is expected to take in a size of type, mm."""
    em = size * POINT
    width = paper.width - 2 * MARGIN
    half = (width - 6.0) / 2
    two = [_height(b, half, em) for b in page.blocks if isinstance(b, Fact | Dial | Words)]
    care = " ".join(b.words for b in page.blocks if isinstance(b, Caution))
    beside = [_height(b, half, em) for b in page.blocks if _at_the_foot(b)]
    rest = [_height(b, width, em) for b in page.blocks if not isinstance(b, Fact | Dial | Words | Caution)]
    foot = 0.85 * LINE * em * _lines(page.foot, width, 0.85 * em) + 1.0
    head = 1.5 * LINE * em + 3.0
    return (
        head + math.fsum(rest) - math.fsum(beside) / 2 + math.fsum(two) / 2 + _lines(care, width, em) * LINE * em + foot
    )


def _at_the_foot(block: Block) -> bool:
    """Whether a block stands beside others at the foot of the page."""
    return isinstance(block, Table) or (isinstance(block, Drawing) and block.kind in ("strip", "bar"))


def _height(block: Block, width: float, em: float) -> float:
    line = LINE * em
    if isinstance(block, Drawing):
        return _drawing(block, em)
    if isinstance(block, Cut | MillCut):
        return ROW * em + 0.1
    if isinstance(block, Table):
        return (line + 0.4) * (len(block.rows) + any(block.heads)) + 1.2
    line = ROW * em if isinstance(block, Band | Measure | Points) else line
    return math.fsum(_lines(text, width, em) * line + 0.6 for text in _texts(block))


def _drawing(block: Drawing, em: float) -> float:
    if block.kind == "characters" or block.setting is None:
        return 0.85 * 1.05 * em * len(block.lines) + (1.2 if block.lines else 11.0)
    return 14.0 if block.kind == "strip" else HIGH + 12.0


def _texts(block: Block) -> Iterator[str]:
    if isinstance(block, Banner | Head | Caution | Words):
        yield block.words
    elif isinstance(block, Fact):
        yield f"{block.label}  {block.words}"
    elif isinstance(block, Dial):
        yield from (block.words, " ".join(block.how))
    elif isinstance(block, Band):
        yield band_line(block)
    elif isinstance(block, Points):
        yield points_line(block)
    elif isinstance(block, Measure):
        yield measure_line(block)
    elif isinstance(block, Ask):
        yield f"{block.what} {block.wanted} {block.limits} is ________"


def _lines(text: str, width: float, em: float) -> int:
    return max(math.ceil(len(text) * LETTER * em / width), 1)
