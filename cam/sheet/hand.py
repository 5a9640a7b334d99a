"""What a careful hand does by a sheet, as motions of the tool's programmed point, each with its line of the page.

X is approached from outside and Z from the tailstock side, always by more than the backlash, so that it is taken up;
at the end of a cut the tool goes straight out as slowly as it cut, which faces a shoulder, until it is clear of all
that stands; then Z goes back. What a hand moves quickly it moves as a program's rapids do: never through metal. Only
where its eye has begun a cut too near, X meets the metal's end, at no more than a feed.
"""

from __future__ import annotations

import math
from typing import Literal

from cam.rs274.model import Kind, Motion, Position, Program
from cam.setting.model import Setting
from cam.sheet.model import BandRead, CutRead, MeasureLine, PointsRow, Sheet
from cam.shop.control import zero_of
from cam.shop.model import Lathe, Shop

BY_EYE = 0.25
"""How far from its due place a carriage set by eye may start, mm; no source, common practice."""
BESIDE = 0.02
"""By how much more than the backlash a hand takes it up, mm."""
Start = Literal["as printed", "nearer", "further"]


def clear_radius(setting: Setting, lathe: Lathe) -> float:
    """Radius at which the tool is clear of all the metal, mm: that of the bar, the rapid clearance and the backlash."""
    return setting.stock_radius + float(lathe.rapid_clearance) + float(lathe.x.backlash) + BESIDE


def hand_motions(sheet: Sheet, shop: Shop, setting: Setting, *, start: Start = "as printed") -> Program:
    """Return the motions of a hand that does what a sheet says; start: where cuts begin that are begun by eye."""
    hand = _Handles(shop, setting, sheet.tool, {"as printed": 0.0, "nearer": -BY_EYE, "further": BY_EYE}[start])
    for step in sheet.steps:
        if isinstance(step, BandRead):
            hand.change(step)
        elif isinstance(step, MeasureLine):
            hand.measure(step.line)
        elif isinstance(step, CutRead):
            hand.cut(step)
        elif isinstance(step, PointsRow):
            hand.points(step)
        else:
            hand.spend_slowly()
    hand.finish(sheet.lines)
    return Program(motions=tuple(hand.motions), problems=(), lines=sheet.lines, comments=(), unit=sheet.unit)


class _Handles:
    """A hand at both handles, the belt and the tool post."""

    def __init__(self, shop: Shop, setting: Setting, tool: int, off: float) -> None:
        lathe = shop.lathe
        self.tool, self.off = tool, off
        self.rpm, self.feed = 0.0, 0.0
        self.clear = clear_radius(setting, lathe)
        self.facts = lathe.control.facts
        self.take_up = float(lathe.z.backlash) + BESIDE
        self.at: Position | None = None
        self.spinning = self.slowly = False
        self.motions: list[Motion] = []

    def change(self, band: BandRead) -> None:
        """Change belt, feed and tool; X goes into the next row's start as slowly as a cut where that is said."""
        self.slowly = band.slowly
        self.rpm = self.rpm if band.rpm is None else band.rpm
        self.feed = self.feed if band.feed is None else band.feed
        if band.tool is not None and band.tool != self.tool:
            self.tool = band.tool
            self._say("tool", band.line)

    def spend_slowly(self) -> bool:
        """Return whether X goes into this row as slowly as a cut; that is said of one row alone."""
        slowly, self.slowly = self.slowly, False
        return slowly

    def measure(self, line: int) -> None:
        """Stop the spindle while the work is measured."""
        self.spinning = False
        self._say("stop", line)

    def finish(self, line: int) -> None:
        """End the page."""
        self.spinning = False
        self._say("end", line)

    def cut(self, row: CutRead) -> None:
        """Cut a row of one dial and one stop."""
        radius, slowly = row.x / 2.0, self.spend_slowly()
        if not row.along:
            self._z(row.z, row.line)
            self._plunge(radius, row.line)
            return
        begin = row.begin + (self.off if row.by_eye else 0.0)
        self._z(max(begin, row.z), row.line)
        slowly = slowly or (row.by_eye and self.off < 0.0)
        self._go("line" if slowly else "rapid", row.line, x=radius)
        self._go("line", row.line, z=row.z)
        self._go("line", row.line, x=self.clear)

    def points(self, row: PointsRow) -> None:
        """Cut in and out at each place; or from the first to the last by the top slide. X goes in at a feed always."""
        self.spend_slowly()
        if row.way == "in and out":
            for z, diameter in row.places:
                self._z(z, row.line)
                self._plunge(diameter / 2.0, row.line)
            return
        (z0, d0), (z1, d1) = row.places
        rise = math.copysign(abs(z1 - z0) * math.tan(math.radians(row.angle)), d1 - d0)
        self._z(z0, row.line)
        self._go("line", row.line, x=d0 / 2.0)
        self._go("line", row.line, z=z1, x=d0 / 2.0 + rise, top_slide=True)
        self._go("line", row.line, x=self.clear)

    def _plunge(self, radius: float, line: int) -> None:
        """Move X in to its reading at feed, and out."""
        self._go("line", line, x=radius)
        self._go("rapid", line, x=self.clear)

    def _z(self, z: float, line: int) -> None:
        """Go to a place along Z, clear of the work, from the tailstock side."""
        self.spinning = True
        if self.at is None:
            self.at = Position(self.clear, 0.0, z + self.take_up)
        self._go("rapid", line, x=self.clear)
        self._go("rapid", line, z=z + self.take_up)
        self._go("rapid", line, z=z)

    def _go(
        self, kind: Kind, line: int, *, x: float | None = None, z: float | None = None, top_slide: bool = False
    ) -> None:
        assert self.at is not None
        start = self.at
        end = Position(start.x if x is None else x, 0.0, start.z if z is None else z)
        if end != start:
            self.at = end
            self.motions.append(self._motion(kind, line, start, end, top_slide=top_slide))

    def _say(self, kind: Kind, line: int) -> None:
        here = self.at or Position(math.nan, 0.0, math.nan)
        self.motions.append(self._motion(kind, line, here, here))

    def _motion(self, kind: Kind, line: int, start: Position, end: Position, *, top_slide: bool = False) -> Motion:
        return Motion(
            kind=kind, line=line, start=start, end=end, plane=18, feed=self.feed or None, feed_mode=95, rpm=self.rpm,
            spindle=1 if self.spinning and self.rpm else 0, tool=self.tool, offset=self.tool,
            system=zero_of(self.facts, self.tool) if self.tool else 1, top_slide=top_slide,
        )  # fmt: skip
