"""The lines of a page in either of its forms: plain text, or the print form."""

from __future__ import annotations

from cam.sheet.lines import TITLE, PageLine, ends_page, join
from cam.sheet.print_lines import lines_of_print


def is_sheet(text: str) -> bool:
    """Tell whether a text is a page of ours, or holds one: by the title line of a setting."""
    return any(TITLE.match(line.text.strip()) for line in all_lines(text))


def all_lines(text: str) -> list[PageLine]:
    """Return every line, of plain text or of the print form; a line that continues is joined to the one before."""
    if text.lstrip("\ufeff \r\n\t")[:1] == "<":
        return lines_of_print(text)
    return list(join(text.splitlines()))


def lines_of_setting(text: str, number: int) -> list[PageLine]:
    """Return the lines of one setting's page, from its title to the next page not its own; empty where it has none."""
    lines = all_lines(text)
    found: list[PageLine] = []
    inside = False
    for at, line in enumerate(lines):
        title = TITLE.match(line.text.strip())
        if title is not None:
            inside = int(title["number"]) == number
        elif ends_page(lines, at):
            inside = False
        if inside:
            found.append(line)
    return found
