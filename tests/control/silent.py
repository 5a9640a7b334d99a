"""The page of a program's stops, as a person reads it whose control shows no words: by the N word it stands at."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import takewhile

HEADS = ("BEFORE IT STARTS", "TO BEGIN AGAIN AT A PASS, BY ITS N LINE", "AT THE STOPS")
LABEL = re.compile(r"(N\d+) {2,}(?:TO (N\d+) - )?(.+)")


@dataclass
class StopsPage:
    """What a page tells.

    Attributes:
        head: what holds before the program starts. begun: what must stand at the N word of a pass, with the first and
            the last N number. stops: what is told at each N word.
    """

    head: list[str] = field(default_factory=list)
    begun: list[tuple[int, int, list[str]]] = field(default_factory=list)
    stops: dict[str, list[str]] = field(default_factory=dict)

    def begun_at(self, label: str) -> str:
        """Return what must stand where the program is begun at an N word."""
        number = int(label[1:])
        return " ".join(next((rows for low, high, rows in self.begun if low <= number <= high), []))


def read_page(summary: str, file: str) -> StopsPage:
    """Return the page of a program's stops; empty where the summary has none.

    A line that is indented and has no dash goes on the one before, over the end of a sheet too.
    """
    page, own, rows = StopsPage(), "", page_rows(summary, file)
    told: list[str] = []
    for row in rows:
        if row in HEADS:
            own, told = row, page.head
        elif found := LABEL.match(row):
            told = [found[3]]
            if own == HEADS[1]:
                page.begun.append((int(found[1][1:]), int((found[2] or found[1])[1:]), told))
            else:
                page.stops[found[1]] = told
        elif row.startswith(" - "):
            told.append(row[3:])
        elif row.startswith("  ") and told:
            told[-1] += f" {row.strip()}"
    return page


def page_rows(summary: str, file: str) -> list[str]:
    """Return the lines of a program's page, without titles and feet."""
    rows: list[str] = []
    for page in summary.split("\f"):
        title, _, *own = page.split("\n")
        if f"STOPS OF {file.upper()}" in title:
            rows += [row for row in takewhile(lambda row: ", endshake " not in row, own) if row.strip()]
    return rows
