"""The type that a page is set in: the largest that fits one sheet of paper, and how far its rows then stand apart.

The browser lays the page out by its style sheet; this module works out beforehand how much room the page takes, from
the widths of the letters in the face that it asks for. `tests/test_print_form.py` compares the two.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Literal

from posts.pages.blocks import (
    BLANK,
    Ask,
    Band,
    Banner,
    Block,
    Caution,
    Cut,
    Dial,
    Drawing,
    Fact,
    FigureTable,
    Head,
    MeasureBlock,
    MillCut,
    Page,
    Points,
    Words,
    of_kind,
)
from posts.pages.drawing import drawing_height, strip_size
from posts.pages.letters import lines_in, width_of
from posts.pages.paper import MARGIN, Paper
from posts.pages.rows import cells_of, heads_of, line_of

POINT = 25.4 / 72
"""A point in mm; exact, as PDF and CSS count it."""
TYPE = (13.0, 12.5, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0)
"""Sizes of type for a setting's page, pt: the first that fits is taken."""
OTHER_TYPE = (11.5, 11.0, 10.5, 10.0)
"""Sizes of type for all other pages, pt."""
OVER = 10.5
"""The type of a setting's page that takes more than one sheet of paper, pt; any other such page has the middle size."""
LINE = 1.15
"""The distance from line to line of running text, in sizes; the style sheet has the same, as with all that follow."""
TIGHT, LOOSE = 0.95, 1.3
"""The distance from line to line of rows, in sizes: the least, and the most where the page has room to spare."""
RULED = 0.27
"""The height that the line under a row adds to it, mm: a browser's thinnest."""
GUTTER, PAD = 6.0, 2.4
"""The space between two columns of text, and about the words of a cell, mm."""
BAR_WIDE = 114.0
"""The width of the bar and its words at the foot of a page, mm."""
SPARE = 1.5
"""The height left free at the foot of the sheet, mm: another face may take a millimetre more, seen with DejaVu Sans."""
HOW_TO_STRIP = "Bar not true by a rule: print at 100 %. Fold at the heavy line, lay it to the work."

Group = Literal["rows", "full", "care", "words", "two", "one"]


def group_of(block: Block) -> Group:
    """Tell which blocks are set together: rows of one table, tables and strip at the foot, columns, or one by one."""
    if isinstance(block, Cut | MillCut | Points | MeasureBlock | Band):
        return "rows"
    if isinstance(block, FigureTable) or (isinstance(block, Drawing) and block.kind in ("strip", "bar")):
        return "full"
    if isinstance(block, Caution | Words):
        return "care" if isinstance(block, Caution) else "words"
    told = isinstance(block, Fact | Dial) or (isinstance(block, Drawing) and block.kind == "characters")
    return "two" if told else "one"


def choose_size(page: Page, paper: Paper) -> tuple[float, float]:
    """Choose the type of a page, pt, and the distance from line to line of its rows, in sizes."""
    room = paper.height - 2 * MARGIN - SPARE
    setting = page.kind == "setting"
    sizes = TYPE if setting else OTHER_TYPE
    for size in sizes:
        tall, rows = height_of(page, paper, size)
        if tall <= room:
            return size, min(TIGHT + (room - tall) / (rows * size * POINT), LOOSE) if rows else TIGHT
    return (OVER if setting else sizes[1]), 1.1


def sheets_for(page: Page, paper: Paper) -> int:
    """Return how many sheets of paper a page takes."""
    size, _ = choose_size(page, paper)
    return math.ceil(height_of(page, paper, size)[0] / (paper.height - 2 * MARGIN))


def height_of(page: Page, paper: Paper, size: float) -> tuple[float, int]:
    """Return the height of a page in a size of type with its rows at their tightest, mm, and the lines of its rows."""
    room = _Room(page, paper, size * POINT)
    return room.height(), room.rows


class _Room:
    """Adds up the height that the blocks of a page take."""

    def __init__(self, page: Page, paper: Paper, em: float) -> None:
        self.page, self.em, self.width = page, em, paper.width - 2 * MARGIN
        self.rows = 0

    def height(self) -> float:
        """Return the height of the complete page, mm."""
        tall = 1.4 * LINE * self.em + 1.5
        tall += math.fsum(self.group(kind, list(blocks)) for kind, blocks in groupby(self.page.blocks, key=group_of))
        return tall + self.foot(self.width)

    def group(self, kind: Group, blocks: list[Block]) -> float:
        """Return the height of a run of blocks that are set together, mm."""
        if kind == "rows":
            return self.table_of_rows(blocks)
        if kind == "full":
            return self.full(blocks)
        if kind == "care":
            return self.said(_paragraph(blocks), self.width - 3.4) + 0.3
        if kind == "words" and self.page.kind == "setting":
            head = of_kind(self.page.blocks, Head)[-1].words
            return self.said(f"{head} {head} {_paragraph(blocks)}", self.width)
        if kind == "one" or len(blocks) == 1:
            return math.fsum(self.one(block, self.width) for block in blocks)
        return _balanced([self.one(block, (self.width - GUTTER) / 2) for block in blocks]) + 0.7

    def said(self, text: str, width: float, hang: float = 0.0) -> float:
        """Return the height of a paragraph, mm; all its lines but the first are set in by hang, mm."""
        lines = lines_in(text, width, self.em, hang=hang)
        return lines * LINE * self.em + (0.3 if lines else 0.0)

    def one(self, block: Block, width: float) -> float:
        """Return the height of a block by itself, mm."""
        if isinstance(block, Drawing):
            return self.drawing(block)
        if isinstance(block, Head):
            return 0.0 if self.page.kind == "setting" else LINE * self.em + 1.5
        if isinstance(block, FigureTable):
            return self.table(block, width, self.em)
        hang = 3.4 if isinstance(block, Words) and block.mark else 0.0
        tall = math.fsum(self.said(text, width, hang) for text in _texts(block))
        return tall + (1.8 if isinstance(block, Banner) else 0.0)

    def drawing(self, block: Drawing) -> float:
        """Return the height of a drawing, in characters or in mm, as mm."""
        if block.kind == "characters" or block.setting is None:
            return 0.85 * 1.05 * self.em * len(block.lines) + 1.2
        return drawing_height(block.setting, self.width) + 0.2

    def table(self, table: FigureTable, width: float, em: float) -> float:
        """Return the height of a table of figures, mm; its widest words are broken where they must be."""
        cells = [row for row in (table.heads, *table.rows) if any(row)]  # an empty head is none
        wide = [max(width_of(row[n], em) for row in cells) + PAD + 0.1 for n in range(len(table.align))]
        short = max(math.fsum(wide) - width, 0.0)
        first = widest(table)
        lines = [lines_in(row[first], wide[first] - short - PAD, em) or 1 for row in cells]
        return math.fsum(n * LINE * em + RULED for n in lines) + 1.2

    def full(self, blocks: Sequence[Block]) -> float:
        """Return the height of tables, and of strip and bar with their words, mm."""
        drawn, tables = of_kind(blocks, Drawing), of_kind(blocks, FigureTable)
        if not drawn:
            return math.fsum(self.table(b, self.width, self.em) for b in tables)
        setting = {b.kind: b.setting for b in drawn}.get("strip")
        wide, strip = strip_size(setting, self.width) if setting is not None else (0.0, 0.0)
        small = 0.75 * self.em
        bar = 8.0 + lines_in(HOW_TO_STRIP, BAR_WIDE, small) * LINE * small + 0.6
        over = math.fsum(self.table(two_abreast(b), self.width, 0.9 * self.em) for b in tables)
        beside = wide + 4.0 + BAR_WIDE <= self.width
        return over + (max(strip, bar) if beside else strip + bar)

    def foot(self, width: float) -> float:
        """Return the height of the page's last lines, mm."""
        small = 0.85 * self.em
        return lines_in(self.page.foot, width, small) * LINE * small + 1.0

    def table_of_rows(self, blocks: Sequence[Block]) -> float:
        """Return the height of the table of cuts with its rows at their tightest, mm."""
        heads = heads_of(self.page.blocks)
        cells = [cells_of(b, heads) for b in blocks if isinstance(b, Cut | MillCut)]
        figures = [row for row in cells if sum(map(bool, row)) > 2]
        names = list(heads)
        wide = [max([width_of(heads[n], self.em), *(width_of(row[k], self.em, bold=n in "XYZ") for row in figures)])
                for k, n in enumerate(names)]  # fmt: skip
        what = self.width - math.fsum(wide) + wide[1] - PAD * len(names) - self.em
        tall = LINE * self.em + 0.6 if cells else 0.0
        for block, after in zip(blocks, [*blocks[1:], None], strict=True):
            lines = self.lines_of(block, after, what)
            self.rows += lines
            tall += lines * TIGHT * self.em + (RULED if lines else 0.0)
        return tall + 0.9

    def lines_of(self, block: Block, after: Block | None, what: float) -> int:
        """Return how many lines one row has; points stand in the row before them."""
        whole = self.width - 2.6
        if isinstance(block, Points) and block.way != "drawn out":
            return 0
        if isinstance(block, Cut) and isinstance(after, Points):
            beside = width_of(f"pass{block.line} {block.what} ", self.em) + 1.5 * self.em + 3 * PAD
            return lines_in(line_of(after), self.width - beside, 0.95 * self.em, space=0.2)
        if isinstance(block, Cut | MillCut):
            bare = isinstance(block, Cut) and not block.leaves
            return 1 if bare else max(lines_in(block.what, what, self.em), 1)
        return lines_in(line_of(block), whole, self.em, bold=isinstance(block, Band))


def _paragraph(blocks: Sequence[Block]) -> str:
    """Return the words of cautions, or of a setting's other sentences, that are set as one paragraph."""
    return " ".join(b.words for b in blocks if isinstance(b, Caution | Words))


def widest(table: FigureTable) -> int:
    """Return the column of a table that is broken between words where there is no room for all."""
    wide = [max(width_of(row[n], 1.0) for row in (table.heads, *table.rows)) for n in range(len(table.align))]
    return wide.index(max(wide))


def two_abreast(table: FigureTable) -> FigureTable:
    """Return a narrow table of several rows as one half as long, its second half beside its first."""
    half = -(-len(table.rows) // 2)
    if half < 2:
        return table
    right = [*table.rows[half:], *[("",) * len(table.heads)] * (2 * half - len(table.rows))]
    rows = tuple((*a, *b) for a, b in zip(table.rows[:half], right, strict=True))
    return FigureTable(heads=table.heads * 2, align=table.align * 2, rows=rows)


def _balanced(heights: Sequence[float]) -> float:
    """Return the height of two columns of paragraphs, none of which is torn apart, mm."""
    splits = range(len(heights) + 1)
    return min(max(math.fsum(heights[:n]), math.fsum(heights[n:])) for n in splits)


def _texts(block: Block) -> Iterator[str]:
    if isinstance(block, Banner | Caution):
        yield block.words
    elif isinstance(block, Words):
        yield f"{block.mark} {block.words}"
    elif isinstance(block, Fact):
        yield f"{block.label}  {block.words}"
    elif isinstance(block, Dial):
        yield from (block.words, " ".join(block.how))
    elif isinstance(block, Ask):
        yield f"{block.what} {block.wanted} {block.limits} is {BLANK}"
