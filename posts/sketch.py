"""The work as it is held, drawn in plain characters: headstock left, tailstock right, lengthwise to scale.

Diameters are drawn as steps of a few rows, not to scale: a thicker section is always drawn thicker.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cam.geometry.path import Chain
from cam.ground.tolerances import AS_SKETCHED
from cam.part.model import Section
from cam.setting.model import Setting

WIDTH = 78
MARGIN = 12
"""The columns kept at each side for headstock and tailstock."""
LEAST_ROWS, MOST_ROWS = 4, 6
"""The least and most rows from the axis to the outermost metal; between them, as many as there are diameters."""


class _Canvas:
    """A picture of characters, by row (from the axis, positive up) and column."""

    def __init__(self, rows: int, width: int) -> None:
        self.rows, self.width = rows, width
        self.cells = {row: [" "] * width for row in range(-rows, rows + 1)}

    def put(self, row: int, column: int, text: str) -> None:
        """Write text from a column on; what falls off the paper is left out."""
        for offset, character in enumerate(text):
            if 0 <= column + offset < self.width:
                self.cells[row][column + offset] = character

    def both(self, row: int, column: int, character: str) -> None:
        """Put a character above and below the axis."""
        self.put(row, column, character)
        self.put(-row, column, character)

    def lines(self) -> list[str]:
        """Return the lines of the picture from the top down."""
        return ["".join(self.cells[row]).rstrip() for row in range(self.rows, -self.rows - 1, -1)]


def draw_sketch(setting: Setting, sections: Sequence[Section], numbers: Sequence[int], width: int = WIDTH) -> list[str]:
    """Draw the work in one setting: what is held, what this setting turns, what comes off, what was finished before.

    Args:
        sections: the part's sections, from the A end. numbers: the number of each on the page, in the same order.
    Returns:
        Lines of at most width characters, plain ASCII: the picture, the ends, and the place of Z zero.
    """
    picture = _Picture(setting, width)
    picture.draw_work()
    picture.draw_hold()
    for section, number in zip(sections, numbers, strict=True):
        picture.number(section, number)
    return [*picture.canvas.lines(), *picture.feet()]


class _Picture:
    def __init__(self, setting: Setting, width: int) -> None:
        self.setting, self.width = setting, width
        self.left, self.right = setting.head_z, max(setting.stock_end_z, setting.end_z)
        held = setting.chuck is None
        self.room = width - 2 * MARGIN if held else width - MARGIN - 4
        self.columns = range(MARGIN, MARGIN + self.room + 1)
        before = [self.stock_at(z) for z in self.middles()]
        after = [self.turned_at(z, b) for z, b in zip(self.middles(), before, strict=True)]
        levels = _levels({*before, *after})
        self.canvas = _Canvas(max(levels.values()) + 1, width)
        self.before = [levels[_key(r)] for r in before]
        self.after = [levels[_key(r)] for r in after]

    def column(self, z: float) -> int:
        """Return the column of a Z."""
        return MARGIN + round((z - self.left) / (self.right - self.left) * self.room)

    def middles(self) -> list[float]:
        """Return the Z at the middle of each column; the last column has the end."""
        step = (self.right - self.left) / self.room
        return [self.left + (k + 0.5) * step for k in range(self.room)]

    def stock_at(self, z: float) -> float:
        """Return the radius of the metal before this setting, mm."""
        return _radius_at(self.setting.stock, z)

    def turned_at(self, z: float, before: float) -> float:
        """Return the radius of the metal after this setting, mm."""
        if z > self.setting.end_z:
            return 0.0
        for turned in self.setting.turned:
            if turned.far <= z <= turned.near:
                share = (turned.near - z) / (turned.near - turned.far)
                return min(before, turned.radius_near + share * (turned.radius_far - turned.radius_near))
        return before

    def draw_work(self) -> None:
        """Draw the outline after this setting, dots for what comes off, colons inside what was finished before."""
        first = self.columns[0]
        finished = self.finished()
        for k, (after, before) in enumerate(zip(self.after, self.before, strict=True)):
            for row in range(1, before + 1):
                self.canvas.both(row, first + k, "." if row > after else "-" if row == after else " ")
            if after and finished[k]:
                for row in range(1, after):
                    self.canvas.both(row, first + k, ":")
        for k, levels in enumerate(zip([*self.after, 0], [0, *self.after], strict=True)):
            self.draw_face(first + k, min(levels), max(levels))

    def draw_face(self, column: int, low: int, high: int) -> None:
        """Draw a shoulder or end face between two levels."""
        if low == high:
            return
        if low == 0:
            self.canvas.put(0, column, "|")
        for row in range(low + 1, high):
            self.canvas.both(row, column, "|")
        self.canvas.both(high, column, "+")
        if low:
            self.canvas.both(low, column, "+")

    def finished(self) -> list[bool]:
        """Tell for each column whether it was turned in an earlier setting."""
        tops = [_key(self.stock_at(z)) for z in self.middles()]
        bar = max(tops)
        spans = [(t.far, t.near) for t in self.setting.turned]
        return [
            self.setting.number > 1 and top < bar and not any(a <= z <= b for a, b in spans)
            for z, top in zip(self.middles(), tops, strict=True)
        ]

    def draw_hold(self) -> None:
        """Draw centres, carrier or collet, and their names."""
        setting, canvas = self.setting, self.canvas
        first, last = self.columns[0], self.columns[-1]
        top = canvas.rows
        if setting.chuck is not None:
            grip = range(0, max(self.column(setting.grip_near), first) + 1)
            for column in grip:
                for row in range(self.level(column) + 1 if column >= first else 0, top + 1):
                    canvas.both(row, column, "#")
            canvas.put(top, len(grip) + 1, setting.chuck.kind)
            canvas.put(top, last - 7, "free end")
            return
        canvas.put(0, first - 9, "=======>")
        canvas.put(0, last + 2, "<=======")
        canvas.put(2, 0, "headstock")
        canvas.put(1, 0, "centre")
        canvas.put(2, last + 2, "tailstock")
        canvas.put(1, last + 2, "centre")
        if setting.carrier is not None:
            near, far = self.column(setting.grip_near), self.column(setting.grip_far)
            for column in range(far, max(near, far + 1)):
                for row in range(self.level(column) + 1, top + 1):
                    canvas.both(row, column, "#")
            canvas.put(top, far - 8, "carrier")

    def level(self, column: int) -> int:
        """Return the rows of metal in a column before this setting; 0 off the work."""
        k = column - self.columns[0]
        return self.before[k] if 0 <= k < self.room else 0

    def number(self, section: Section, number: int) -> None:
        """Write a section's number on the axis at its middle; not while that is to be measured."""
        if math.isnan(section.start + section.end):
            return
        middle = self.column(self.setting.to_setting((section.start + section.end) / 2))
        text = str(number)
        self.canvas.put(0, middle - len(text) // 2, text)

    def feet(self) -> list[str]:
        """Return the lines under the picture: which end is which, and where Z is zero."""
        setting = self.setting
        here, there = setting.end, "A" if setting.end == "B" else "B"
        first, last = self.columns[0], self.columns[-1]
        line = [" "] * self.width
        zero = self.column(0.0)
        for start, text in (
            (first - 6, f"{there} END"),
            (min(last - 1, self.width - 5), f"{here} END"),
        ):
            line[start : start + len(text)] = text
        marks = [" "] * self.width
        if 0 <= zero < self.width:
            marks[zero] = "^"
            text = "Z 0"
            at = zero + 2 if zero + 6 < self.width else zero - 4
            marks[at : at + len(text)] = text
        return ["".join(line).rstrip(), "".join(marks).rstrip()]


def _key(radius: float) -> int:
    """Return a key that is the same for radii that are drawn alike."""
    return round(radius / AS_SKETCHED)


def _levels(radii: Iterable[float]) -> dict[int, int]:
    """Return the rows for each radius: in proportion, but a thicker one has at least a row more while rows last."""
    keys = sorted({_key(r) for r in radii} - {0})
    top = min(max(len(keys), LEAST_ROWS), MOST_ROWS)
    rows = [max(1, round(top * k / keys[-1])) for k in keys]
    if len(keys) <= top:
        for i in range(1, len(rows)):
            rows[i] = max(rows[i], rows[i - 1] + 1)
        for i in range(len(rows)):
            rows[i] = min(rows[i], top - (len(rows) - 1 - i))
    return dict(zip(keys, rows, strict=True)) | {0: 0}


def _radius_at(chain: Chain, z: float) -> float:
    """Return the radius of an outline at z, mm; an arc counts as its chord (the picture's rows are far coarser)."""
    best = 0.0
    for piece in chain:
        a, b = (piece.start, piece.end) if piece.start.z <= piece.end.z else (piece.end, piece.start)
        if a.z <= z <= b.z and b.z > a.z:
            best = max(best, a.x + (z - a.z) / (b.z - a.z) * (b.x - a.x))
    return best
