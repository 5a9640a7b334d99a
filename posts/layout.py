"""Pages of plain text: tables, boxes, and where a page may break.

Text to be paged breaks between paragraphs, and at lines that hold a mark, which are not printed: BREAK; HEAD,
after which the lines up to the next mark are the head of a table, said again at the top of each further page;
and END, where that table ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from posts.wording import plain, wrap

WIDTH = 80
CONTINUED = ", continued"
HEIGHT = 66
"""Lines of an A4 page at six to the inch."""
BREAK, HEAD, END = "\x02", "\x02head", "\x02end"


def table(
    rows: Sequence[Sequence[str]], heads: Sequence[str], *, take: int = 1, right: str = "", gap: int = 2
) -> list[str]:
    """Rows under heads, columns that are empty throughout left out.

    Args:
        rows: as many cells in each as there are heads.
        take: the column that takes what width is left, and is broken between words where it is too long.
        right: one letter for each column, "r" to set it to the right.
        gap: spaces between columns.
    Returns:
        The head line first, then each row; a broken cell's further lines belong to its row, after a line feed.
    """
    used = [i for i in range(len(heads)) if any(r[i] for r in rows)]
    widths = {i: max(len(heads[i]), *(len(r[i]) for r in rows)) for i in used}
    others = sum(w for i, w in widths.items() if i != take) + gap * (len(used) - 1) + 1
    widths[take] = max(min(widths.get(take, 0), WIDTH - others), len(heads[take]))

    def line(cells: Sequence[str]) -> str:
        ends = (
            c.rjust(widths[i]) if right[i : i + 1] == "r" else c.ljust(widths[i])
            for i, c in zip(used, cells, strict=True)
        )
        return (" " + (" " * gap).join(ends)).rstrip()

    out = [line([heads[i] for i in used])]
    for row in rows:
        pieces = wrap(row[take], widths[take]) or [""]
        lines = [line([pieces[0] if i == take else row[i] for i in used])]
        lines += [line([piece if i == take else "" for i in used]) for piece in pieces[1:]]
        out.append("\n".join(lines))
    return out


def box(title: str, lines: Iterable[str], indent: int = 3) -> list[str]:
    """Lines in a frame of characters, the title in its upper edge."""
    inner = WIDTH - indent - 4
    out = [f"+-- {title} ".ljust(inner + 3, "-") + "+"]
    for given in lines:
        out += [f"| {piece.ljust(inner)} |" for piece in wrap(plain(given), inner, "  ")]
    out.append("+" + "-" * (inner + 2) + "+")
    return [" " * indent + line for line in out]


def item(text: str, mark: str = "- ", indent: int = 1) -> str:
    """Text as one item of a list."""
    margin = " " * (indent + len(mark))
    pieces = wrap(plain(text), WIDTH - len(margin))
    return "\n".join((" " * indent + mark if not n else margin) + piece for n, piece in enumerate(pieces))


def paginate(sections: Sequence[tuple[str, str]]) -> str:
    """Pages of at most HEIGHT lines, each under its section's title, separated by form feeds.

    Args:
        sections: title and text; each begins on a new page.
    """
    pages = [page for title, text in sections for page in _break(title, text)]
    out = []
    for n, (title, body) in enumerate(pages, start=1):
        foot = f"page {n} of {len(pages)}"
        head = plain(title)[: WIDTH - len(foot) - 2]
        lines = [head + foot.rjust(WIDTH - len(head)), "=" * WIDTH, *body]
        out.append("".join(f"{line.rstrip()}\n" for line in lines))
    return "\f".join(out)


class _Chunk(NamedTuple):
    """Lines that stay together, and the table head that stands over them."""

    lines: list[str]
    head: list[str]


def _break(title: str, text: str) -> Iterator[tuple[str, list[str]]]:
    """One section's pages: title, and lines without the page's own head."""
    room = HEIGHT - 2
    page: list[str] = []
    for chunk in _chunks(text.split("\n")):
        lines = chunk.lines
        if page and len(page) + len(_trim(lines)) > room:
            yield title, _trim(page)
            title = title.removesuffix(CONTINUED) + CONTINUED
            page = list(chunk.head)
        page += lines if page else _trim(lines, end=False)
        while len(page) > room:
            yield title, _trim(page[:room])
            title = title.removesuffix(CONTINUED) + CONTINUED
            page = [*chunk.head, *page[room:]]
    if _trim(page):
        yield title, _trim(page)


def _trim(lines: list[str], *, end: bool = True) -> list[str]:
    """Lines without blank ones at the start, and at the end."""
    first, last = 0, len(lines)
    while first < last and not lines[first].strip():
        first += 1
    while end and last > first and not lines[last - 1].strip():
        last -= 1
    return lines[first:last]


def _chunks(lines: Sequence[str]) -> Iterator[_Chunk]:
    """The chunks of a text; a table's head stays with the first chunk under it."""
    now: list[str] = []
    head: list[str] = []
    in_head = False
    for line in lines:
        if in_head and line.startswith(BREAK):
            head, in_head = list(now), False
        elif line.startswith(BREAK) or not line.strip():
            yield _Chunk([*now, line] if not line.strip() else now, [] if now[: len(head)] == head else head)
            now = []
            in_head = line == HEAD
            if line == END:
                head = []
        else:
            now.append(line)
    yield _Chunk(now, [] if now[: len(head)] == head else head)
