"""Pages of blocks as plain text, ASCII, at any width: the same order and the same rows as the print form."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from cam.ground.figures import Figures
from cam.part.model import Part
from cam.setting.model import Setting
from posts.layout import BREAK, CONTINUED, END, HEAD, KEEP, WIDTH, item, paginate, table
from posts.pages.blocks import (
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
)
from posts.pages.drawing import pieces_of
from posts.pages.rows import GAP, NUMBERS, RIGHT, cells_of, heads_of, line_of
from posts.sketch import draw_sketch
from posts.wording import plain, wrap

HANG = 10
"""The spaces before a line that continues the line before, by the sheet's grammar."""
LABEL = 8
"""The columns of a label before its words."""
LEAST_WHAT = 8
"""The least columns for what a row does; with fewer, rows are no longer set as a table."""
ROWS = (Cut, MillCut, Points, MeasureBlock, Band)
_KEPT = "\x03\x03"
"""The mark that stands for two spaces while a line is broken between words."""


def write_pages(pages: Sequence[Page], part: Part, figures: Figures, width: int = WIDTH) -> str:
    """Write pages as text, each under its title, separated by form feeds.

    Args:
        part: the part whose sections are drawn. figures: how its sizes are printed. width: columns, LEAST_WIDTH to
            MOST_WIDTH; nothing is left out at any width.
    """
    return paginate([section_of(page, part, figures, width) for page in pages], width)


def section_of(page: Page, part: Part, figures: Figures, width: int) -> tuple[str, str]:
    """Return the title and marked text of one page, ready to be broken into pages of paper; see posts.layout."""
    name = " ".join(plain(page.part).upper().split())
    room = width - len(f": {page.title}{CONTINUED}") - len("  page 99 of 99")
    if page.number and width >= WIDTH:
        name = name[:room].rstrip()  # a setting's title keeps to one line, by which its pages are found again
    return f"{name}: {page.title}", "\n".join(_TextWriter(part, figures, width).page(page))


class _TextWriter:
    """Sets blocks as lines."""

    def __init__(self, part: Part, figures: Figures, width: int) -> None:
        self.part, self.figures, self.width = part, figures, width

    def page(self, page: Page) -> list[str]:
        """Set all blocks of a page, with its foot last and never alone on a page of paper."""
        lines = [*self.body(page)]
        if not page.foot:
            return lines
        end = len(lines)
        while end and lines[end - 1].startswith(BREAK):
            end -= 1
        return [*lines[:end], KEEP, item(page.foot, "", 0), *lines[end:]]

    def body(self, page: Page) -> Iterator[str]:
        """Set all blocks of a page but its foot."""
        for rows, blocks in groupby(page.blocks, key=lambda b: isinstance(b, ROWS)):
            if rows:
                together = list(blocks)
                cut = any(isinstance(b, Cut | MillCut) for b in together)
                lines = _RowTable(page.blocks, self.width).lines(together) if cut else map(self.line, together)
                yield from ("", *lines)
            else:
                yield from self.others(list(blocks))

    def others(self, blocks: Sequence[Block]) -> Iterator[str]:
        """Set blocks that are no rows; what stands right over a table stays with it where the paper ends."""
        for block, before, after in zip(blocks, [None, *blocks], [*blocks[1:], None], strict=False):
            if isinstance(block, FigureTable):
                yield from self.table(block, before if _stands_over(before) else None)
            elif not (_stands_over(block) and isinstance(after, FigureTable)):
                yield from self.one(block)

    def line(self, block: Block) -> str:
        """Set a row of a page that has no table of cuts."""
        return "\n".join(hung(line_of(block), self.width))

    def one(self, block: Block) -> Iterator[str]:
        """Set one block that is no row."""
        if isinstance(block, Banner):
            yield from (item(block.words, ">> ", 0), "")
        elif isinstance(block, Head):
            yield from ("", plain(block.words))
        elif isinstance(block, Dial):
            yield from (HEAD, BREAK, *hung(block.words, self.width), BREAK, END)  # not torn apart where paper ends
            if block.how:
                yield item(" ".join(block.how), "", LABEL)
        elif isinstance(block, Drawing):
            yield from self.drawing(block)
        else:
            yield _item(block)

    def table(self, block: FigureTable, before: Block | None) -> Iterator[str]:
        """Set figures in columns, broken between rows; before: what stands over them on every page."""
        rows = [[*map(plain, row)] for row in block.rows]
        wide = [max(len(row[n]) for row in rows) if a == "l" else 0 for n, a in enumerate(block.align)]
        take = wide.index(max(wide))
        head, *lines = table(rows, block.heads, take=take, right=block.align, width=self.width)
        over = filter(None, self.one(before)) if before is not None else ()
        yield from ("", HEAD, *over, *([head] if any(block.heads) else []), BREAK)
        for line in lines:
            yield from (line, BREAK)
        yield END

    def drawing(self, block: Drawing) -> Iterator[str]:
        """Set a drawing in characters; strip and bar are for paper alone."""
        if block.kind == "characters":
            yield from block.lines
        elif block.kind == "setting" and block.setting is not None:
            sections = self.part.sections
            yield from draw_sketch(block.setting, sections, range(1, len(sections) + 1), self.width - 2)
            yield item(self.sizes(block.setting, block.finished), "", 0)
            yield ""

    def sizes(self, setting: Setting, finished: Sequence[Setting]) -> str:
        """Say what the numbers in the sketch stand for: each section with its diameter and its places from Z 0."""
        numbers = {plain(s.name): n for n, s in enumerate(self.part.sections, start=1)}
        said = []
        for piece in pieces_of(setting, self.part, finished):
            near, far = self.figures.size(2 * piece.radius_near), self.figures.size(2 * piece.radius_far)
            size = near if near == far else f"{near} / {far}"
            along = f"Z {self.figures.place(piece.near)} to {self.figures.place(piece.far)}"
            said.append(f"{numbers[piece.name]} {piece.name} {size}, {along}")
        return f"{'; '.join(said)}.  # {'carrier' if setting.carrier else 'held'}, . comes off"


def _item(block: Block) -> str:
    """Mark a block that is one sentence as an item."""
    if isinstance(block, Fact):
        return item(block.words, f"{block.label:<{LABEL - 2}}  ", 0)
    if isinstance(block, Caution):
        return item(block.words, "! ", 1)
    if isinstance(block, Words):
        return item(block.words, f"{block.mark} " if block.mark else "", 1 if block.mark else 0)
    return item(line_of(block))


def _stands_over(block: Block | None) -> bool:
    """Tell whether a block says nothing without the table that follows it."""
    return isinstance(block, Head) or (isinstance(block, Words) and block.words.endswith(":"))


def hung(words: str, width: int) -> list[str]:
    """Break a line of the sheet's grammar, its further lines hanging as its continuation; two spaces stay two."""
    kept = plain(words).replace(GAP, _KEPT)
    return [line.replace(_KEPT, GAP) for line in wrap(kept, width, " " * min(HANG, width // 2))]


class _RowTable:
    """The rows of a page: in columns where they fit, else each row as a run of cells."""

    def __init__(self, blocks: Iterable[Block], width: int) -> None:
        blocks = list(blocks)
        self.width = width
        self.heads = heads_of(blocks)
        cells = [cells_of(b, self.heads) for b in blocks if isinstance(b, Cut | MillCut)]
        self.right = [RIGHT[NUMBERS.index(name)] == "r" for name in self.heads]
        heads = list(self.heads.values())
        bare = [row for row in cells if len(row) - sum(map(bool, row)) < 2] or [[""] * len(heads)]
        self.widths = [max(len(heads[n]), *(len(row[n]) for row in bare)) for n in range(len(heads))]
        self.widths[0] = max([self.widths[0] - 2, 2, *(len(row[0]) for row in cells)])
        others = sum(self.widths) - self.widths[1] + len(GAP) * (len(heads) - 1)
        self.columns = width - others >= LEAST_WHAT
        self.widths[1] = min(self.widths[1], max(width - others, LEAST_WHAT))
        self.left = self.widths[0] + self.widths[1] + 2 * len(GAP)

    def lines(self, blocks: Iterable[Block]) -> Iterator[str]:
        """Yield the head, then every row with what belongs to it; none of these is torn apart where the paper ends."""
        yield HEAD
        yield from self.head()
        yield BREAK
        bound = True
        for block in blocks:
            starts = isinstance(block, Band | Cut | MillCut) and not bound
            if starts:
                yield BREAK
            bound = isinstance(block, Band)
            if isinstance(block, Cut | MillCut):
                yield from self.row(cells_of(block, self.heads))
            else:
                yield from hung(line_of(block), self.width)
        yield from (BREAK, END)

    def head(self) -> list[str]:
        """Return the heads; that of the numbers is wider than they are, so the column beside it gives way."""
        cells = list(self.heads.values())
        if not self.columns:
            return self.run(cells)
        over = max(len(cells[0]) - self.widths[0], 0)
        cells[1] = cells[1].ljust(self.widths[1] - over)
        return [GAP.join([cells[0].rjust(self.widths[0]), cells[1], self.aligned(["", "", *cells[2:]])[self.left :]])]

    def row(self, cells: Sequence[str]) -> list[str]:
        """Set one row: aligned where the columns fit, with what it does on a line of its own where that is too long."""
        used = [cell for cell in cells if cell]
        if len(used) < len(cells) - 1 or not self.columns:
            return self.run(used)
        if len(cells[1]) <= self.widths[1]:
            return [self.aligned(cells)]
        first = f"{cells[0]:>{self.widths[0]}}{GAP}{cells[1]}"
        return [first[: self.width], self.aligned(["", "", *cells[2:]])]

    def aligned(self, cells: Sequence[str]) -> str:
        """Set cells in their columns."""
        ends = (c.rjust(w) if right else c.ljust(w) for c, w, right in zip(cells, self.widths, self.right, strict=True))
        return GAP.join(ends).rstrip()

    def run(self, cells: Sequence[str]) -> list[str]:
        """Set cells one after the other, broken between two where they must be."""
        lines = [f"{cells[0]:>{self.widths[0]}}"]
        for cell in cells[1:]:
            room = self.width - len(lines[-1]) - len(GAP)
            if len(cell) <= room:
                lines[-1] += GAP + cell
                continue
            hang = " " * min(HANG, self.width // 2)
            lines += [hang + piece for piece in wrap(cell, self.width - len(hang))]
        return lines
