"""The print form as lines: a table's row is one line, its cells set two spaces apart; any other block is one line."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from cam.sheet.lines import MOST_WIDTH, OTHER_PAGE, TITLE, PageLine

BLOCKS = frozenset(
    (
        "address", "article", "aside", "blockquote", "body", "caption", "dd", "details", "div", "dl", "dt", "figure",
        "footer", "h1", "h2", "h3", "h4", "h5", "h6", "header", "html", "li", "main", "nav", "ol", "p", "pre",
        "section", "table", "tbody", "tfoot", "thead", "tr", "ul",
    )
)  # fmt: skip
"""Elements that begin and end a line (HTML Living Standard, 15.3: those displayed as block, list item or table row)."""
UNSEEN = frozenset(("head", "script", "style", "svg", "template", "title"))
BLANK = "________"


def lines_of_print(text: str) -> list[PageLine]:
    """Return the lines of the print form. A header, part and title, is one line, marked where it is no setting's."""
    reader = _PrintReader()
    reader.feed(text)
    reader.close()
    reader.end_line()
    return reader.lines


class _PrintReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.lines: list[PageLine] = []
        self.cells: list[str] = [""]
        self.begun = 1
        self.unseen = 0
        self.head = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in UNSEEN:
            self.unseen += 1
        elif tag == "header":
            self.end_line()
            self.head = True
        elif tag in ("td", "th"):
            self.cells.append("")
        elif tag in BLOCKS and not self.head:
            self.end_line()
        elif tag == "br":
            self.handle_data(" ")
        if ("class", "blank") in attrs:
            self.handle_data(f" {BLANK} ")

    def handle_endtag(self, tag: str) -> None:
        if tag in UNSEEN:
            self.unseen = max(self.unseen - 1, 0)
        elif self.head and tag == "h1":
            self.handle_data(": ")
        elif tag == "header" or (tag in BLOCKS and not self.head):
            self.end_line()

    def handle_data(self, data: str) -> None:
        if self.unseen or len(self.cells[-1]) > MOST_WIDTH:
            return
        if data.strip() and not "".join(self.cells).strip():
            self.begun = self.getpos()[0]
        self.cells[-1] += data

    def end_line(self) -> None:
        """Put down the text that has come together; nothing where it is empty."""
        cells = [re.sub(r"\s+", " ", c).strip() for c in self.cells]
        text = "  ".join(c for c in cells if c).replace("½", ".5")
        if self.head:
            text = re.sub(r" ?: ?$", "", text)
        if text:
            other = self.head and not TITLE.match(text)
            self.lines.append(PageLine(self.begun, f"{OTHER_PAGE}{text}" if other else text))
        self.cells = [""]
        self.head = False
