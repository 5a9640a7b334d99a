"""The lines of a setting's page: as plain text has them, or the print form's rows and blocks made into such lines."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cam.ground.frozen import Row

TITLE = re.compile(r"(?i)^(?P<part>.*): setting (?P<number>\d{1,2}) of \d{1,2}, (?P<end>[AB]) end\b(?P<rest>.*)$")
RULE = re.compile(r"^={20,}$")
PAGE = re.compile(r" +page \d+ of \d+$")
JOINED = re.compile(r"^ {10,}(?=\S)")
OPEN = re.compile(r"(?i)^[-!* ]*dial coarser than [^:]{,1900}$")
"""The beginning of a list of names that goes on in the line below it, up to a colon."""
ROW = re.compile(r"^\s*(?:\[[ xX]\]\s+)?\d{1,4} {2}")
LEAST_COLUMNS = 4
"""A line that continues a row has at least so many columns where the row's first two left no room for them."""
MOST_WIDTH = 2000
"""The longest line that is looked at, in characters; no page has one of 300."""
OTHER_PAGE = "\x00"
"""The beginning of a line that stands for the head of another page of the print form."""


class PageLine(Row):
    """A line of the page: its number from 1; its text, with columns set apart by two spaces or more."""

    number: int
    text: str

    @property
    def cells(self) -> list[str]:
        """The line's columns."""
        return re.split(r" {2,}", self.text.strip())


def join(lines: Iterable[str]) -> Iterator[PageLine]:
    """Return every line of plain text; a line that continues is joined to the one before."""
    held: PageLine | None = None
    for number, raw in enumerate(lines, 1):
        line = raw.replace("\f", "")[:MOST_WIDTH].rstrip()
        gap = "" if held is None else _gap(held.text, line)
        if held is not None and gap:
            held = PageLine(held.number, f"{held.text}{gap}{line.strip()}")
            continue
        yield from [held] if held is not None else []
        held = PageLine(number, line)
    yield from [held] if held is not None else []


def _gap(held: str, line: str) -> str:
    """Return the space between a line and one that continues it, two where a column begins; "" where it does not."""
    if OPEN.match(held) and line.strip():
        return " "
    if not JOINED.match(line) or len(held) >= MOST_WIDTH:
        return ""
    return "  " if ROW.match(held) and len(re.split(r" {2,}", line.strip())) >= LEAST_COLUMNS else " "


def ends_page(lines: Sequence[PageLine], at: int) -> bool:
    """Tell whether the page before a line ends there: at another page's head, or a title, underlined with a rule."""
    if lines[at].text.startswith(OTHER_PAGE):
        return True
    return at + 1 < len(lines) and RULE.match(lines[at + 1].text.strip()) is not None


def whole_titles(lines: Sequence[PageLine]) -> list[PageLine]:
    """Return the lines with a title that runs over several, down to the rule under it, as one."""
    found: list[PageLine] = []
    title: PageLine | None = None
    for line in lines:
        if title is not None and not RULE.match(line.text.strip()):
            title = PageLine(title.number, f"{title.text} {line.text.strip()}")
            continue
        if title is not None:
            found.append(title)
            title = None
        if PAGE.search(line.text):
            title = PageLine(line.number, PAGE.sub("", line.text))
        else:
            found.append(line)
    return found
