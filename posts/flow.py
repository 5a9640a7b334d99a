"""Text set down a column of a printed page, a block after the other, in one size of type."""

from __future__ import annotations

from collections.abc import Sequence

from cam.frozen import Row
from posts.ink import MONO, POINT, Box, Mark, Rule, Text, break_text, move, text_width
from posts.layout import BREAK, END, HEAD, read_item
from posts.wording import plain

LEADING = 1.1
"""From line to line, in sizes."""


class Flow:
    """A column that grows downward.

    Attributes:
        width: mm. size: of its type, pt.
        marks: what is in it, from its own left upper corner. height: so far, mm.
    """

    def __init__(self, width: float, size: float) -> None:
        self.width, self.size = width, size
        self.marks: list[Mark] = []
        self.height = 0.0

    @property
    def line(self) -> float:
        """From line to line, mm."""
        return self.size * POINT * LEADING

    def space(self, share: float = 0.4) -> None:
        """Leave room, in lines; none at the top."""
        if self.height:
            self.height += share * self.line

    def text(self, words: str, *, bold: bool = False, indent: float = 0.0) -> None:
        """A paragraph; indent: of every line, mm."""
        for piece in break_text(words, self.size, self.width - indent, bold=bold):
            self.put(piece, indent, bold=bold)
            self.height += self.line

    def put(self, words: str, x: float, *, bold: bool = False, mono: bool = False, white: bool = False) -> None:
        """Words on the line that comes next, without going on to the one after it."""
        y = self.height + self.size * POINT * (LEADING - 0.27)
        self.marks.append(Text(x, y, words, self.size, bold=bold, mono=mono, white=white))

    def head(self, words: str) -> None:
        """The head of a block: bold, ruled over."""
        self.space(0.2)
        self.marks.append(Rule(0.0, self.height, self.width, self.height, 0.35))
        self.height += 0.12 * self.line
        self.text(words, bold=True)

    def item(self, words: str, mark: str = "") -> None:
        """A paragraph behind its mark, which is bold; its further lines hang under the mark's first letters."""
        inner = text_width(f"{mark} ", self.size, bold=True) + 0.4 if mark else 0.0
        hang = min(inner, 3.0)
        self.put(mark, 0.0, bold=True)
        pieces = break_text(words, self.size, self.width - hang, first=self.width - inner)
        for n, piece in enumerate(pieces or [""]):
            self.put(piece, hang if n else inner)
            self.height += self.line

    def stack(self, other: Flow) -> None:
        """Another column's marks below."""
        self.marks += move(other.marks, 0.0, self.height)
        self.height += other.height


class Cell(Row):
    """One column of a printed table.

    Attributes:
        head: over it. right: whether it is set to the right. width: mm. bold: its figures.
    """

    head: str
    right: bool
    width: float
    bold: bool = False


def columns_for(rows: Sequence[Sequence[str]], heads: Sequence[str], right: str, size: float) -> list[Cell]:
    """Columns wide enough for their figures, and for each word of their heads; nothing for one without figures.

    Args:
        right: one letter for each column, "r" to set it to the right; "R" to the right and bold.
    """
    found = []
    for n, head in enumerate(heads):
        texts = [r[n] for r in rows if r[n]]
        bold = right[n] == "R"
        wide = max([text_width(t, size, bold=bold) for t in texts], default=0.0)
        words = [text_width(w, size) for w in head.split()]
        found.append(Cell(head, right[n] in "rR", max([wide, *words]) if texts else 0.0, bold))
    return found


def mono_size(width: float, columns: int, most: float) -> float:
    """The greatest size, pt, at which so many typewriter letters fit into a width, mm; none above most."""
    return min(width / (columns * MONO * POINT), most)


class Sheet(Row):
    """One printed page.

    Attributes:
        title: for a screen reader. marks: in mm of paper. size: of its text, pt.
    """

    title: str
    marks: tuple[Mark, ...]
    size: float


def set_section(title: str, text: str, width: float, height: float, size: float) -> list[list[Mark]]:
    """The pages of one section of the summary, items in running type, tables as they stand in typewriter type.

    Args:
        title: over each page. text: marked as posts.layout has it, its tables no wider than fits.
        width, height: of the room for it, mm.
    """
    pages: list[list[Mark]] = []
    page = _open_page(title, width, size)
    head: list[str] = []
    in_head = False
    for chunk in _chunks(text):
        if chunk == [HEAD]:
            head, in_head = [], True
            continue
        if chunk == [END]:
            head = []
            continue
        if chunk == [BREAK]:
            in_head = False
            continue
        block = Flow(width, size)
        _set_lines(block, chunk)
        if in_head:
            head = chunk
        if page.height + block.height > height:
            pages.append(page.marks)
            page = _open_page(f"{title}, continued", width, size)
            if head and chunk != head:
                _set_lines(page, head)
        page.stack(block)
    return [*pages, page.marks]


def _open_page(title: str, width: float, size: float) -> Flow:
    page = Flow(width, size)
    for piece in break_text(title, size * 1.25, width, bold=True):
        page.height += size * 1.25 * POINT * LEADING
        page.marks.append(Text(0.0, page.height - 0.25 * size * POINT, piece, size * 1.25, bold=True))
    page.height += 0.8
    page.marks.append(Rule(0.0, page.height, width, page.height, 0.6))
    page.height += 1.2
    return page


def _chunks(text: str) -> list[list[str]]:
    """Lines that stay together: up to each mark, and up to each blank line with that."""
    found: list[list[str]] = [[]]
    for line in text.strip("\n").split("\n"):
        if line.startswith(BREAK):
            found += [[line], []]
        elif not line.strip():
            found[-1].append("")
            found.append([])
        else:
            found[-1].append(line)
    return [chunk for chunk in found if chunk]


def _set_lines(block: Flow, lines: Sequence[str]) -> None:
    """Lines of a section; those of a box as a frame about running type."""
    boxed: list[str] = []
    for line in lines:
        bare = line.strip()
        if boxed or bare.startswith("+== "):
            boxed.append(bare)
            if len(boxed) > 1 and bare.startswith("+=="):
                _set_box(block, boxed)
                boxed = []
        else:
            _set_line(block, line)
    for line in boxed:
        _set_line(block, line)


def _set_box(block: Flow, lines: Sequence[str]) -> None:
    """A stop to measure, from a box of characters: its title white on black, its lines whole again."""
    said: list[str] = []
    for line in lines[1:-1]:
        words = line.strip("|").rstrip()
        if said and words.startswith("   "):
            said[-1] += f" {words.strip()}"
        else:
            said.append(words.strip())
    inner = Flow(block.width - 9.0, block.size)
    for words in said:
        inner.text(words)
    block.height += 0.8
    top = block.height
    block.put(lines[0].strip("+= "), 7.5, bold=True, white=True)
    block.height += block.line + 0.6
    block.marks.insert(0, Box(5.0, top, block.width - 5.0, block.line + 0.6, fill="black", line=0.0))
    block.marks.append(Box(5.0, top, block.width - 5.0, block.line + inner.height + 2.0, line=0.6))
    block.marks += move(inner.marks, 7.5, block.height + 0.4)
    block.height += inner.height + 2.2


def _set_line(block: Flow, line: str) -> None:
    """One line of a section: an item, a head, a line of a table, or nothing."""
    found = read_item(line)
    cell = MONO * block.size * POINT
    if found is not None:
        indent, mark, words = found
        figures = any(c.isdigit() for c in mark) and len(mark) > 4
        inner = (indent + len(mark)) * cell * (1.0 if figures else 0.85)
        if mark.strip():
            block.put(mark.rstrip(), indent * cell * 0.85, mono=figures, bold=mark.strip().isupper())
        block.text(words or " ", indent=inner)
    elif not line.strip():
        block.space(0.5)
    elif line[0] != " " and line.split(maxsplit=1)[0].strip(",:").isupper() and len(line.split(maxsplit=1)[0]) > 1:
        block.text(" ".join(line.split()), bold=True)
    else:
        block.put(plain(line), 0.0, mono=True)
        block.height += block.line
