"""Sheets of paper that can be asked for."""

from __future__ import annotations

from cam.ground.frozen import Row

MARGIN = 7.0
"""The white margin all round, mm; office printers leave 4 to 6 themselves. Common practice, no source."""


class Paper(Row):
    """A sheet of paper, upright.

    Attributes:
        width, height: mm.
    """

    name: str
    width: float
    height: float


PAPERS = {"A4": Paper("A4", 210.0, 297.0), "Letter": Paper("Letter", 215.9, 279.4)}
"""The sheets that can be asked for, mm: ISO 216, and 8.5 by 11 in."""
