"""Pages of plain text: tables, boxes, and where a page may break.

Text to be paged breaks between paragraphs, and at lines that hold a mark, which are not printed: BREAK; HEAD,
after which the lines up to the next mark are the head of a table, said again at the top of each further page;
END, where that table ends; and KEEP, an empty line at which no page breaks. An item (see `item`) is broken between
words when the pages are made, so that one text serves every width; any other line that is too long is broken too,
so that nothing runs off the paper.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import dropwhile

from posts.wording import plain, wrap

WIDTH = 80
"""The columns of a page, where no other number is asked for."""
LEAST_WIDTH, MOST_WIDTH = 40, 240
CONTINUED = ", continued"
HEIGHT = 84
"""The lines of a page at eight to the inch; so many fit Letter, and A4 with room to spare."""
BREAK, HEAD, END, KEEP = "\x02", "\x02head", "\x02end", "\x02keep"
_ITEM = "\x01"
_BETWEEN = "  "
"""The gap between columns."""
_NARROWEST = 10
"""A name in a table is never broken to fewer columns than this; the row is then set as an item."""


def item(text: str, mark: str = "- ", indent: int = 1) -> str:
    """Mark text as one item of a list, still to be broken into lines; further lines hang under its first word."""
    return f"{_ITEM}{indent}{_ITEM}{mark}{_ITEM}{plain(text)}"


def read_item(line: str) -> tuple[int, str, str] | None:
    """Return the indent, mark and text of an item; None for any other line."""
    if not line.startswith(_ITEM):
        return None
    _, indent, mark, text = line.split(_ITEM, 3)
    return int(indent), mark, text


def set_lines(text: str, width: int = WIDTH) -> list[str]:
    """Set a text at a width: its items, and any other line that is too long, are broken between words."""
    return [line for given in text.split("\n") for line in _set_line(given, width)]


def _set_line(given: str, width: int) -> list[str]:
    found = read_item(given)
    if found is not None:
        indent, mark, text = found
        margin = " " * (indent + len(mark))
        pieces = wrap(text, width - len(margin))
        return [(" " * indent + mark if not n else margin) + piece for n, piece in enumerate(pieces)]
    if len(given) <= width or given.startswith(BREAK):
        return [given]
    lead = len(given) - len(given.lstrip(" "))
    return wrap(given, width, " " * min(lead + 2, width // 2))


def table(
    rows: Sequence[Sequence[str]], heads: Sequence[str], *, take: int = 1, right: str = "", width: int = WIDTH
) -> list[str]:
    """Set rows under heads, leaving out columns that are empty throughout.

    Args:
        rows: each has as many cells as there are heads.
        take: the column that takes the width that is left, and is broken between words where it is too long.
        right: one letter for each column, "r" to set it to the right.
        width: columns of the page; where the table does not fit, each row is set as an item, each figure behind its
            head.
    Returns:
        The head line first, then each row; a broken cell's further lines belong to its row, after a line feed.
    """
    columns = list(zip(*rows, strict=True))
    used = [i for i, column in enumerate(columns) if any(column)]
    right = right.ljust(len(heads))
    widths = {i: max(map(len, (heads[i], *columns[i]))) for i in used}
    long = widths.get(take, 0)
    room = width - sum(widths.values()) + long - len(_BETWEEN) * (len(used) - 1) - 1
    if room < max(min(long, _NARROWEST), len(heads[take])):
        name = next((i for i in used if right[i] != "r" and i < take), take)
        return ["", *(_stacked(row, heads, used, name, width) for row in rows)]
    widths[take] = max(min(long, room), len(heads[take]))

    def line(cells: Sequence[str]) -> str:
        ends = (cells[i].rjust(widths[i]) if right[i] == "r" else cells[i].ljust(widths[i]) for i in used)
        return f" {_BETWEEN.join(ends)}".rstrip()

    return [line(heads), *("\n".join(map(line, _pieces(row, take, widths[take]))) for row in rows)]


def _pieces(row: Sequence[str], take: int, width: int) -> Iterator[list[str]]:
    """Yield a row's cells line by line, one of them broken between words at a width."""
    before, after = row[:take], row[take + 1 :]
    for piece in wrap(row[take], width) or [""]:
        yield [*before, piece, *after]
        before, after = [""] * len(before), [""] * len(after)


def _stacked(row: Sequence[str], heads: Sequence[str], used: Sequence[int], name: int, width: int) -> str:
    """Set one row of a table as an item: its cells up to its name, then each other cell with its head before it."""
    first = " ".join(row[i] for i in used if i <= name and row[i])
    others = "; ".join(f"{heads[i]} {row[i]}".strip() for i in used if i > name and row[i])
    lines = _set_line(item(f"{first}: {others}" if others else first, "", 1), width)
    return "\n".join([lines[0], *(f"   {piece}" for piece in wrap(" ".join(lines[1:]).strip(), width - 3))])


def paginate(sections: Sequence[tuple[str, str]], width: int = WIDTH, height: int = HEIGHT) -> str:
    """Make pages of at most height lines, each under its section's title, separated by form feeds.

    Args:
        sections: title and text; each begins on a new page.
    """
    pages = [page for title, text in sections for page in break_pages(title, text, width, height)]
    out = []
    for n, (title, body) in enumerate(pages, start=1):
        lines = [*_page_head(title, f"page {n} of {len(pages)}", width), "=" * width, *body]
        out.append("".join(f"{line.rstrip()}\n" for line in lines))
    return "\f".join(out)


def _page_head(title: str, foot: str, width: int) -> list[str]:
    """Set the title with the page's number at the right; a long title goes on below."""
    first, *more = wrap(plain(title), width - len(foot) - 2) or [""]
    return [first + foot.rjust(width - len(first)), *more]


def break_pages(title: str, text: str, width: int = WIDTH, height: int = HEIGHT) -> Iterator[tuple[str, list[str]]]:
    """Yield one section's pages: title, and lines without the page's own head, for which room is left."""
    room = height - 1 - len(_page_head(title + CONTINUED, "page 99 of 99", width))
    page: list[str] = []
    further = title.removesuffix(CONTINUED) + CONTINUED
    for lines, head in _chunks(set_lines(text, width)):
        if page and len(page) + len(_trim(lines)) > room:
            yield title, _trim(page)
            title, page = further, list(head)
        page += lines if page else _trim(lines, end=False)
        while len(page) > room:
            yield title, _trim(page[:room])
            title, page = further, [*head, *page[room:]]
    if _trim(page):
        yield title, _trim(page)


def _trim(lines: list[str], *, end: bool = True) -> list[str]:
    """Drop blank lines at the start and, where end is set, at the end."""
    kept = list(dropwhile(lambda line: not line.strip(), lines))
    while end and kept and not kept[-1].strip():
        kept.pop()
    return kept


def _chunks(lines: Sequence[str]) -> Iterator[tuple[list[str], list[str]]]:
    """Yield lines that stay together, and the table head over them, which stays with the first of them under it."""
    now: list[str] = []
    head: list[str] = []
    in_head = False
    for line in lines:
        blank = not line.strip()
        if line == KEEP:
            now.append("")
        elif in_head and line.startswith(BREAK):
            head, in_head = list(now), False
        elif blank or line.startswith(BREAK):
            yield [*now, line] if blank else now, _over(now, head)
            now, in_head = [], line == HEAD
            head = [] if line == END else head
        else:
            now.append(line)
    yield now, _over(now, head)


def _over(lines: list[str], head: list[str]) -> list[str]:
    """Return the head that is set over lines; none over lines that begin with it."""
    return [] if lines[: len(head)] == head else head
