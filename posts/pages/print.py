"""The print form: pages of blocks as one self-contained HTML file, laid out by its style sheet, black on white.

Lengths of the drawing and the strip are in mm and come out at full size when printed at 100 %, which the bar shows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import groupby

from cam.ground.frozen import Row
from cam.part.model import Part
from posts.environment import find_template
from posts.layout import BREAK, set_lines
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
    FigureTable,
    Head,
    MillCut,
    Page,
    Points,
    Words,
    of_kind,
)
from posts.pages.drawing import Show, draw_bar, draw_setting, draw_strip
from posts.pages.fit import HOW_TO_STRIP, Group, choose_size, group_of, sheets_for, two_abreast, widest
from posts.pages.paper import MARGIN, Paper
from posts.pages.rows import GAP, NUMBERS, RIGHT, cells_of, heads_of, line_of
from posts.wording import plain


class Printed(Row):
    """A page ready for the template.

    Attributes:
        kind, part, title, foot: as in Page. label: for a screen reader. size: size of its type, pt.
        row: distance from line to line of its rows, in sizes. body: HTML.
    """

    kind: str
    part: str
    title: str
    foot: str
    label: str
    size: float
    row: float
    body: str


def print_pages(
    title: str, pages: Sequence[Page], part: Part | Sequence[Part], paper: Paper, size: Show, place: Show
) -> str:  # fmt: skip
    """Print pages as one HTML file that needs nothing from anywhere else.

    Args:
        title: title of the file. part: the part whose sections are drawn; or one for each page.
        size, place: how drawings print diameters and places.
    """
    width = paper.width - 2 * MARGIN
    writers = [_PrintWriter(p, width, size, place) for p in ([part] * len(pages) if isinstance(part, Part) else part)]
    sheets = [sheets_for(page, paper) for page in pages]
    printed = [_printed(page, writer.body(page, n), *choose_size(page, paper))
               for page, n, writer in zip(pages, sheets, writers, strict=True)]  # fmt: skip
    return find_template("sheet.html.j2").render(
        title=title, pages=printed, paper=paper, margin=MARGIN, width=width, sheets=sum(sheets)
    )


def _printed(page: Page, body: str, size: float, row: float) -> Printed:
    name, kind = plain(page.part), page.kind.replace(" ", "-")
    return Printed(kind, name, page.title, page.foot, f"{name}: {page.title}", size, round(row, 3), body)


class _PrintWriter:
    """Sets blocks as HTML, a run of blocks of one kind together."""

    def __init__(self, part: Part, width: float, size: Show, place: Show) -> None:
        self.part, self.width, self.size, self.place = part, width, size, place

    def body(self, page: Page, sheets: int) -> str:
        """Set all blocks of a page; sheets: of paper, on each of which the page's title heads its rows."""
        over = sheets > 1 and page.kind == "setting"
        title = f"{plain(page.part)}: {page.title}, on {sheets} sheets" if over else ""
        groups = ((group, list(blocks)) for group, blocks in groupby(page.blocks, key=group_of))
        return "\n".join(line for group, blocks in groups for line in self.group(group, blocks, page, title))

    def group(self, group: Group, blocks: list[Block], page: Page, title: str) -> list[str]:
        """Set a run of blocks that belong together; title: stands over the heads of rows."""
        if group == "rows":
            return self.rows(blocks, page.blocks, title)
        if group == "full":
            return self.full(blocks, page)
        if group == "care":
            return [_paragraph(" ".join(b.words for b in of_kind(blocks, Caution)), "caution")]
        said = [self.one(b) for b in blocks]
        if group == "one":
            return said
        two = ' class="two"' if len(blocks) > 1 else ""
        return [f"<div{two}>", *said, "</div>"]

    def full(self, blocks: Sequence[Block], page: Page) -> list[str]:
        """Set tables, and strip and bar with what they are for, beside each other where there is room."""
        found = [_table(two_abreast(b) if page.number else b) for b in of_kind(blocks, FigureTable)]
        drawn = {b.kind: self.drawing(b) for b in of_kind(blocks, Drawing)}
        strip = [drawn["strip"]] if "strip" in drawn else []
        if "bar" not in drawn:
            return [*found, *strip]
        return [*found, '<div class="full"><div>', *strip, "</div><div>", drawn["bar"],
                _paragraph(HOW_TO_STRIP, "small"), "</div></div>"]  # fmt: skip

    def one(self, block: Block) -> str:
        """Set one block that is no row."""
        if isinstance(block, Drawing):
            return self.drawing(block)
        return _table(block) if isinstance(block, FigureTable) else _said(block)

    def drawing(self, block: Drawing) -> str:
        """Set a drawing as SVG, or its lines of characters as they stand."""
        if block.kind == "bar":
            return draw_bar()
        if block.setting is None or block.kind == "characters":
            lines = [line for line in set_lines("\n".join(block.lines)) if not line.startswith(BREAK)]
            return f"<pre>{escape(chr(10).join(lines))}</pre>"
        if block.kind == "strip":
            return draw_strip(block.setting, self.place, self.width)
        return draw_setting(block.setting, self.part, self.size, self.place, self.width, block.finished)

    def rows(self, blocks: Sequence[Block], page: Iterable[Block], title: str) -> list[str]:
        """Set the table of cuts; each row stays with what goes before and after it. title: stands over its heads."""
        heads = heads_of(page)
        span = len(heads) + 1
        cells = "".join(f"<th{_right(name)}>{escape(head)}</th>" for name, head in heads.items())
        cut = any(isinstance(b, Cut | MillCut) for b in blocks)
        again = f'<tr><th colspan="{span}">{escape(title)}</th></tr>' if title else ""
        found = ['<table class="rows">', *[f"<thead>{again}<tr><th></th>{cells}</tr></thead>"] * cut]
        opened = False
        bound = False
        for block, after in zip(blocks, [*blocks[1:], None], strict=True):
            if isinstance(block, Points) and block.way != "drawn out":
                continue  # in the row before
            starts = isinstance(block, Band | Cut | MillCut) and not bound
            if starts:
                found += ["</tbody>"] * opened + ['<tbody class="group">']
                opened = True
            bound = isinstance(block, Band)
            found.append(_row(block, after, heads, span))
        return [*found, "</tbody></table>" if opened else "</table>"]


def _said(block: Block) -> str:
    """Return the words of a block alone."""
    if isinstance(block, Banner | Caution):
        return _paragraph(block.words, "turned" if isinstance(block, Banner) else "caution")
    if isinstance(block, Head):
        return f"<h2>{escape(block.words)}</h2>"
    if isinstance(block, Fact):
        return f"<p>{_labelled(f'{block.label}  {block.words}')}</p>"
    if isinstance(block, Dial):
        how = [_paragraph(" ".join(block.how))] if block.how else []
        return "\n".join([f"<p>{_labelled(block.words)}</p>", *how])
    if isinstance(block, Ask):
        return _paragraph(line_of(block))
    assert isinstance(block, Words)
    if block.mark == "-":
        return f'<p class="item"><i>- </i>{escape(block.words)}</p>'
    return _paragraph(f"{block.mark} {block.words}".strip(), "item" if block.mark else "")


def _right(name: str) -> str:
    right = RIGHT[NUMBERS.index(name)] == "r"
    names = (["r"] if right else []) + (["set"] if name in ("X", "Y", "Z") else [])
    return f' class="{" ".join(names)}"' if names else ""


def _row(block: Block, after: Block | None, heads: dict[str, str], span: int) -> str:
    if isinstance(block, Cut) and isinstance(after, Points):
        return _row_of_points(block, after, span - 2 - bool(block.line))
    if isinstance(block, Cut | MillCut):
        return _row_of_cells(block, heads, span)
    if isinstance(block, Band):
        return f'<tr class="band"><td colspan="{span}">{escape(line_of(block))}</td></tr>'
    if isinstance(block, Points):
        return f'<tr class="points"><td></td><td colspan="{span - 1}">{escape(line_of(block))}</td></tr>'
    return f'<tr class="measure"><td colspan="{span}">{_labelled(line_of(block))}</td></tr>'


def _row_of_cells(cut: Cut | MillCut, heads: dict[str, str], span: int) -> str:
    """Set a row in its columns; one that leaves nothing has its name across all of them."""
    bare = isinstance(cut, Cut) and not cut.leaves
    cells = [(name, text) for name, text in zip(heads, cells_of(cut, heads), strict=True) if text or not bare]
    wide = f' colspan="{span - len(cells) - (isinstance(cut, Cut) and bool(cut.how))}"' if bare else ""
    told = "".join(
        f"<td{_right(name)}{wide if name == 'cut' else ''}>{escape(text).replace(GAP, '</td><td>')}</td>"
        for name, text in cells
    )
    return f'<tr class="cut"><td class="box"></td>{told}</tr>'


def _labelled(words: str) -> str:
    """Set words whose label is in bold; two spaces part it from them."""
    label, _, rest = words.partition("  ")
    return f"<b>{escape(label)}</b>  {escape(rest)}"


def _row_of_points(cut: Cut, points: Points, span: int) -> str:
    """Set a row whose places follow its name; its reader takes it as two lines, see DEVELOPERS.md."""
    line = f'<td class="r">{escape(cut.line)}</td>' if cut.line else ""
    said = f"{escape(cut.what)}{GAP}<div>{escape(line_of(points))}</div>"
    return (
        f'<tr class="cut"><td class="box"></td><td class="r">{cut.number}</td><td class="points" colspan="{span}">'
        f"{said}</td>{line}</tr>"
    )


def _paragraph(words: str, kind: str = "") -> str:
    return f'<p class="{kind}">{escape(words)}</p>' if kind else f"<p>{escape(words)}</p>"


def _table(table: FigureTable) -> str:
    """Set a table of figures; only its widest column is broken."""
    first = widest(table)
    kinds = [" ".join(["r"] * (a == "r") + ["w"] * (n == first)) for n, a in enumerate(table.align)]
    heads = [f"<thead>{_table_row('th', kinds, table.heads)}</thead>"] if any(table.heads) else []
    rows = [_table_row("td", kinds, cells) for cells in table.rows]
    return "\n".join(["<table>", *heads, "<tbody>", *rows, "</tbody></table>"])


def _table_row(tag: str, kinds: Sequence[str], cells: Sequence[str]) -> str:
    said = (
        f'<{tag} class="{kind}">{escape(c)}</{tag}>' if kind else f"<{tag}>{escape(c)}</{tag}>"
        for kind, c in zip(kinds, cells, strict=True)
    )
    return f"<tr>{''.join(said)}</tr>"
