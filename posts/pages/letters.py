"""How wide printed words are, and in how many lines they are set: the published widths of Helvetica's letters.

Liberation Sans, Arial and Nimbus Sans are made to the same widths, so what fits here fits in any of them.
Source: Adobe font metrics of Helvetica and Helvetica-Bold, thousandths of the size; by the metrics of its free copy.
"""

from __future__ import annotations

PLAIN = (
    278, 278, 355, 556, 556, 889, 667, 222, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 222, 556, 556, 500, 556,
    556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334,
    260, 334, 584,
)  # fmt: skip
"""The widths of the letters from the space to the tilde, in the order of ASCII."""
BOLD = (
    278, 333, 474, 556, 556, 889, 722, 278, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667, 611, 778, 722, 278, 556, 722, 611, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 333, 278, 333, 584, 556, 278, 556, 611, 556, 611,
    556, 333, 611, 611, 278, 278, 556, 278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389,
    280, 389, 584,
)  # fmt: skip
WIDEST = 1015
"""The width of a letter that the tables lack."""


def width_of(text: str, em: float, *, bold: bool = False) -> float:
    """Return the width of words in one line, mm; em: size of type, mm."""
    table = BOLD if bold else PLAIN
    return em * sum(table[ord(c) - 32] if 32 <= ord(c) < 127 else WIDEST for c in text) / 1000


def lines_in(text: str, width: float, em: float, *, bold: bool = False, space: float = 0.278, hang: float = 0.0) -> int:
    """Return how many lines words take in a width, broken between them as a browser does; 0 for none.

    Args:
        width, em: mm; em is the size of type. space: the gap between words, in sizes. hang: by how
            much all lines but the first are narrower, mm.
    """
    space, used, lines = space * em, 0.0, 0
    for word in text.split():
        wide = width_of(word, em, bold=bold)
        if lines and used + space + wide <= width - (hang if lines > 1 else 0.0):
            used += space + wide
        else:
            lines, used = lines + 1, wide
    return lines
