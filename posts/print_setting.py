"""The printed page of a setting: what stands at the lathe, one page, as large as it will go."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cam.frozen import Row
from cam.plan.model import Plan
from cam.version import VERSION
from posts.flow import Cell, Flow, Sheet, columns_for
from posts.ink import LEAST_TYPE, POINT, Box, Rule, Text, break_text, move, text_width
from posts.print_words import ALIGN, BLANK, Item, SettingWords
from posts.wording import plain
from posts.work_view import bar_of, strip_of, view_of


class Paper(Row):
    """A sheet of paper, upright.

    Attributes:
        width, height: mm.
    """

    name: str
    width: float
    height: float


PAPERS = {"A4": Paper("A4", 210.0, 297.0), "Letter": Paper("Letter", 215.9, 279.4)}
"""Sheets that can be asked for: ISO 216, and 8.5 by 11 in."""
MARGIN = 7.0
"""White all round, mm; office printers leave 4 to 6 themselves. Common practice, no source."""
TYPE = (13.0, 12.5, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, LEAST_TYPE)
"""Sizes of type, pt: the first at which a setting fits one page is taken."""
GAP = 5.0
"""Between the two columns, mm."""
NARROW = 44.0
"""The left column is never narrower, mm."""


WIDER = 4.0
"""By this the right column is tried wider, mm."""
HOW_TO_STRIP = (
    "Bar not right by a rule? The printer has scaled: print at 100 %. The strip is FULL SIZE: fold along its heavy "
    "line, lay it to the work."
)


class SettingSheets(Row):
    """What came of a setting: its pages (one, unless nothing fits), and their type, pt."""

    sheets: tuple[Sheet, ...]
    size: float


def print_setting(plan: Plan, index: int, paper: Paper, closest: str, milled: Sequence[str]) -> SettingSheets:
    """A setting's page in the largest type in which it fits; over several pages where even the least does not fit.

    Args:
        closest: the closest that its program comes to what holds the work, in words.
        milled: what the mill still does when the turning is done.
    """
    words = SettingWords(plan, index, closest, milled)
    for size in TYPE:
        page = _Page(words, paper, size)
        body = page.body()
        if body is not None:
            return SettingSheets((page.sheet(body),), size)
    return SettingSheets(tuple(_Page(words, paper, TYPE[-1]).many()), TYPE[-1])


class _Page:
    """One try at a page, in one size of type."""

    def __init__(self, words: SettingWords, paper: Paper, size: float) -> None:
        self.words, self.paper, self.size = words, paper, size
        self.plan, self.setting, self.ruler = words.plan, words.setting, words.ruler
        self.width = paper.width - 2 * MARGIN
        self.head = self.make_head()
        self.view = view_of(self.setting, words.plan.part, self.ruler, words.held, self.width, size)
        self.foot = self.make_foot()
        self.room = paper.height - 2 * MARGIN - self.head.height - self.view.height - self.foot.height - 2.0

    def make_head(self) -> Flow:
        """Part, setting, which end; and unmistakably, where the work has been turned round."""
        head = Flow(self.width, self.size)
        setting, large = self.setting, 17.0
        words = f"SETTING {setting.number} of {self.plan.count}: {setting.end} END"
        wide = text_width(words, large, bold=True) + 4.0
        head.marks.append(Box(self.width - wide, 0.0, wide, 8.6, fill="black", line=0.0))
        head.marks.append(Text(self.width - wide + 2.0, 6.5, words, large, bold=True, white=True))
        name = break_text(plain(self.plan.part.name).upper(), large, self.width - wide - 3.0, bold=True)
        for n, piece in enumerate(name or [""]):
            head.marks.append(Text(0.0, 6.5 + 7.0 * n, piece, large, bold=True))
        head.height = 9.4 + 7.0 * max(len(name) - 1, 0)
        if setting.number > 1:
            other = "A" if setting.end == "B" else "B"
            said = f"TURNED END FOR END: the {other} end, finished and hatched, is at the HEADSTOCK now"
            said += f"; cut the {setting.end} end."
            lines = break_text(said, self.size, self.width - 4.0, bold=True)
            tall = len(lines) * head.line + 1.4
            head.marks.append(Box(0.0, head.height, self.width, tall, fill="black", line=0.0))
            for n, piece in enumerate(lines):
                y = head.height + 0.7 + (n + 0.78) * head.line
                head.marks.append(Text(2.0, y, piece, self.size, bold=True, white=True))
            head.height += tall + 1.2
        return head

    def make_foot(self) -> Flow:
        """Bar, strip, and what the page was made from; the strip last, at the paper's edge but for one line."""
        foot = Flow(self.width, self.size)
        part, shop = self.plan.part, self.plan.shop
        size = LEAST_TYPE
        names = [f"{f.path.replace(chr(92), '/').split('/')[-1]} {f.digest[:8]}" for f in (part, shop)]
        unit = "inches" if self.ruler.unit == "in" else "mm"
        said = (
            f"{names[0]}, {names[1]}; endshake {VERSION}; {self.paper.name}, {self.size:g} pt type; {unit}"
            f". By {BLANK} {BLANK}"
        )
        foot.height = 1.0
        for piece in [*break_text(plain(said), size, self.width), *break_text(HOW_TO_STRIP, size, self.width)]:
            foot.marks.append(Text(0.0, foot.height + size * POINT, piece, size))
            foot.height += size * POINT * 1.17
        size = max(min(self.size, 11.0), LEAST_TYPE)
        strip, bar = strip_of(self.setting, part, self.ruler, self.width, size), bar_of(size)
        if strip.width + bar.width + 4.0 > self.width:
            foot.stack(bar)
            foot.height += 1.5
        else:
            foot.marks += move(bar.marks, self.width - bar.width, foot.height)
        foot.stack(strip)
        return foot

    def body(self) -> tuple[Flow, Flow] | None:
        """Left and right column, if they fit this page in this size; what comes last may stand under the passes."""
        wide = self.pass_width()
        while self.width - GAP - wide >= NARROW:
            found = self.columns_at(wide)
            if found is not None:
                return found
            wide += WIDER
        return None

    def columns_at(self, wide: float) -> tuple[Flow, Flow] | None:
        """The same with a given width of the right column."""
        passes = self.pass_column(wide)
        if passes.height > self.room:
            return None
        items = [(title, item) for title, found in self.words.blocks for item in found]
        left_width = self.width - GAP - wide
        low, high = 1, len(items)
        while low <= high:  # the left column takes as many items as it holds
            count = (low + high) // 2
            if self.set_items(items[:count], left_width).height <= self.room:
                low = count + 1
            else:
                high = count - 1
        left, rest = self.set_items(items[:high], left_width), self.set_items(items[high:], wide)
        if not high or passes.height + rest.height + 0.3 * passes.line > self.room:
            return None
        passes.space(0.3)
        passes.stack(rest)
        return left, passes

    def set_items(self, items: Sequence[tuple[str, Item]], width: float) -> Flow:
        """Items of text, each behind its mark, the title of its block over the first; a column of their own."""
        flow, last = Flow(width, self.size), ""
        for title, (mark, words) in items:
            if title != last:
                flow.head(title)
                last = title
            flow.item(words, mark)
        return flow

    def sheet(self, body: tuple[Flow, Flow]) -> Sheet:
        """The page put together."""
        left, right = body
        y = MARGIN
        marks = move(self.head.marks, MARGIN, y)
        y += self.head.height
        marks += move(self.view.marks, MARGIN, y)
        y += self.view.height + 1.0
        marks += move(left.marks, MARGIN, y)
        marks += move(right.marks, MARGIN + left.width + GAP, y)
        marks += move(self.foot.marks, MARGIN, self.paper.height - MARGIN - self.foot.height)
        return Sheet(self.title(), tuple(marks), self.size)

    def title(self) -> str:
        """For a screen reader."""
        return f"{plain(self.plan.part.name)}: setting {self.setting.number} of {self.plan.count}"

    # Passes

    def pass_width(self) -> float:
        """Width that the table of passes wants, mm."""
        columns = self.columns().values()
        return sum(c.width for c in columns) + self.gap * (len(columns) - 1)

    @property
    def gap(self) -> float:
        """Between the columns of the table, mm."""
        return 0.15 * self.size

    def columns(self) -> dict[int, Cell]:
        """Columns of the table that hold anything; names of passes may be broken."""
        rows = [r.cells for r in self.words.rows]
        found = columns_for(rows, self.words.heads, ALIGN, self.size)
        found[0] = found[0]._replace(width=0.62 * self.size * POINT)
        names = [r[2] for r in rows if any(r[3:])]
        wide = max([text_width(n, self.size) for n in names], default=0.0)
        found[2] = found[2]._replace(width=min(wide, 14 * 0.5 * self.size * POINT))
        return {n: cell for n, cell in enumerate(found) if cell.width}

    def pass_column(self, wide: float) -> Flow:
        """The table of passes with its stops."""
        column = Flow(wide, self.size)
        self.table_head(column)
        for group in self.groups(wide):
            column.stack(group)
        return column

    def table_head(self, column: Flow) -> None:
        """Heads of the columns, set over their figures, each word on its own line."""
        columns = self.columns()
        cells, heads = list(columns.values()), [self.words.heads[n].split() for n in columns]
        lines = max(len(h) for h in heads)
        x = 0.0
        for cell, words in zip(cells, heads, strict=True):
            for n, word in enumerate(words):
                y = column.height + (lines - len(words) + n + 0.8) * column.line
                at, anchor = (x + cell.width, "end") if cell.right else (x, "start")
                column.marks.append(Text(at, y, word, self.size, anchor=anchor))  # type: ignore[arg-type]
            x += cell.width + self.gap
        column.height += lines * column.line + 0.3
        column.marks.append(Rule(0.0, column.height, column.width, column.height, 0.5))
        column.height += 0.4

    def groups(self, wide: float) -> Iterator[Flow]:
        """Each pass with what goes before and after it, which stay together."""
        columns = self.columns()
        for row in self.words.rows:
            group = Flow(wide, self.size)
            if row.before:
                group.height += 0.15 * group.line
                group.text(row.before, bold=True)
            self.pass_row(group, list(columns.values()), [row.cells[n] for n in columns])
            for words in row.notes:
                group.text(words, indent=6.0)
            if row.stops:
                self.stop(group, row.stops)
            yield group

    def pass_row(self, group: Flow, cells: Sequence[Cell], texts: Sequence[str]) -> None:
        """One line of the table, with a box to tick."""
        tall = 0.62 * self.size * POINT
        group.marks.append(Box(0.0, group.height + 0.2 * group.line, tall, tall, line=0.25))
        y = group.height + 0.8 * group.line
        x, lines = 0.0, 1
        alone = not any(texts[3:])
        for n, (cell, text) in enumerate(zip(cells, texts, strict=True)):
            if n == 2:
                pieces = break_text(text, self.size, group.width - x if alone else cell.width)
                for k, piece in enumerate(pieces):
                    group.marks.append(Text(x, y + k * group.line, piece, self.size))
                lines = max(len(pieces), 1)
            elif text:
                at, anchor = (x + cell.width, "end") if cell.right else (x, "start")
                group.marks.append(Text(at, y, text, self.size, bold=cell.bold, anchor=anchor))  # type: ignore[arg-type]
            x += cell.width + self.gap
        group.height += lines * group.line

    def stop(self, group: Flow, stops: Sequence[str]) -> None:
        """What is measured before anything goes on, in a frame that no one overlooks."""
        size = self.size
        wide = text_width("STOP", size, bold=True) + 2.4
        inner = Flow(group.width - wide - 2.0, size)
        inner.height = 0.25
        for words in stops:
            inner.text(words)
        inner.height += 0.35
        top = group.height + 0.15
        group.marks.append(Box(0.0, top, group.width, inner.height, line=0.6))
        group.marks.append(Box(0.0, top, wide, inner.height, fill="black", line=0.0))
        group.marks.append(Text(1.2, top + inner.height / 2 + 0.36 * size * POINT, "STOP", size, bold=True, white=True))
        group.marks += move(inner.marks, wide + 1.0, top)
        group.height = top + inner.height + 0.4

    # Where nothing fits

    def many(self) -> Iterator[Sheet]:
        """The set-up on a page, then the passes on as many as they need, each saying that there are more."""
        room = self.paper.height - 2 * MARGIN - self.head.height - 6.0
        setup = Flow(self.width, self.size)
        setup.stack(self.view)
        pages: list[Flow] = [setup]
        for block in self.words.blocks:
            piece = self.set_items([(block[0], item) for item in block[1]], self.width)
            if pages[-1].height + piece.height > room:
                pages.append(Flow(self.width, self.size))
            pages[-1].stack(piece)
        pages.append(self.open_passes())
        for group in self.groups(self.width):
            if pages[-1].height + group.height > room:
                pages.append(self.open_passes())
            pages[-1].stack(group)
        if pages[-1].height + self.foot.height > room:
            pages.append(Flow(self.width, self.size))
        foot_at = self.paper.height - MARGIN - self.foot.height
        for n, page in enumerate(pages, start=1):
            marks = [*move(self.head.marks, MARGIN, MARGIN), *move(page.marks, MARGIN, MARGIN + self.head.height)]
            if n == len(pages):
                marks += move(self.foot.marks, MARGIN, foot_at)
            else:
                words = f"page {n} of {len(pages)} of this setting: GO ON WITH PAGE {n + 1}"
                marks.append(Text(MARGIN, self.paper.height - MARGIN, words, 12.0, bold=True))
            yield Sheet(f"{self.title()}, page {n} of {len(pages)}", tuple(marks), self.size)

    def open_passes(self) -> Flow:
        """A page of passes with its heads."""
        page = Flow(self.width, self.size)
        self.table_head(page)
        return page
