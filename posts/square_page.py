"""The page for a square on the mill: first test, block and shim, zeros, depths by dial, flats in order, by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import cast

from cam.frozen import Row
from cam.mill.done import MillWorkDone
from cam.mill.model import Index, Stop
from cam.mill.plan_hole import HolePlan, HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.mill.ramp import Tip, flats_in_pairs
from cam.mill.setting_up import set_x
from cam.mill.settle import HoleJob, SquareJob
from cam.mill.square import (
    KeyFit,
    across_at,
    corner_diameter_at,
    fit_key,
    readings_at,
    whole_limit,
)
from cam.units import show_number
from posts.layout import BREAK, box, item, table
from posts.mill_dials import Counter
from posts.mill_sheet import BLANK, Page, Sheet
from posts.pages import listed
from posts.pages.mill_passes import FlatPass, flat_passes
from posts.wording import number

SHOWN = 0.0005
"""A dial that misses by less than this, mm, lands."""

THICKER = 0.01
"""By how much more shim the page shows what comes of it, mm."""


class HoleSeen(Row):
    """A cross hole as the square is lined up with it.

    Attributes:
        angle: degrees from flat 1 on top, clockwise; "" for 0. shows: whether it stands out of the collet.
    """

    name: str
    angle: str
    shows: bool


def square_page(sheet: Sheet) -> str:
    """The text of the page, to be paged."""
    return SquareFigures(sheet).text()


def depths_of(plan: SquarePlan) -> tuple[tuple[float, float], ...]:
    """(left on the flat, depth below the touch) of each layer and the finish, mm; none where it changes along it."""
    if plan.tip is not None:
        return plan.depths_by_hand()
    t = plan.track
    if abs(t.enter_z - t.out_z) > 1e-9:
        return ()
    return tuple((left, plan.touch_off[1] - t.enter_z - left * t.steep) for left in (*plan.layers, 0.0))


def place_on(task: SquareTask, hole: HolePlan) -> float | None:
    """X of a cross hole in the square's axes, mm; None where its section is inside the collet."""
    own = hole.work.section_at(hole.hole.x)
    same = next((s for s in task.sections if own is not None and s.name == own.name), None)
    return None if own is None or same is None else hole.hole.x - own.end + same.end


class SquareFigures(Page):
    """All that the template of a square's page says.

    Attributes:
        square, task, plan, track: finished, as planned. groove: width of an undercut groove at the shoulder, mm.
        touch_x: X of the program where the cutter's side touches the end face, mm. way_in, way_out: from there to the
            stop at the shoulder (negative), and off the tip. depths: as depths_of. x, y, z: the slides.
    """

    template = "summary_square.j2"

    def __init__(self, sheet: Sheet) -> None:
        super().__init__(sheet)
        self.asked = cast(SquareJob, sheet.work.asked).asked
        self.task, self.plan = cast(SquareTask, sheet.work.task), cast(SquarePlan, sheet.work.plan)
        self.square, self.track, self.groove = self.task.square, self.plan.track, self.task.groove
        self.touch_x = set_x(self.task, self.plan)
        self.way_in, self.way_out = self.track.enter_x - self.touch_x, self.track.out_x - self.touch_x
        self.depths = depths_of(self.plan)
        t = self.track
        self.x = Counter("x", self.mill.x, [self.way_in, self.way_out], self.ruler)
        self.y = Counter("y", self.mill.y, [t.side, t.half, *t.across, *t.rough], self.ruler)
        self.z = Counter("z", self.mill.z, [depth for _, depth in self.depths], self.ruler)

    @property
    def counters(self) -> tuple[Counter, ...]:
        """The slides."""
        return self.x, self.y, self.z

    # First test

    def at(self, x: float) -> str:
        """A station as its distance from the shoulder: x counts from the edge of an undercut groove."""
        return self.size(x + self.groove)

    def finished(self, x: float) -> float:
        """Finished size across flats, mm."""
        return across_at(self.square, x)

    def degrees(self, angle: float) -> str:
        """An angle to a thousandth."""
        return number(angle, 3)

    @property
    def slope(self) -> str:
        """What a side falls in a length of 1."""
        return show_number(self.square.slope, 5, trim=True)

    @property
    def per_side(self) -> float:
        """Between a face and the axis, degrees."""
        return self.asked.taper.per_side

    @property
    def round_limits(self) -> str:
        """Of the round, "5.15 to 5.20"; "" where it has none."""
        section = next(s for s in self.part.sections if s.name == self.asked.section)
        if section.tolerance is None:
            return ""
        return self.ruler.limits(*(section.thickest + e for e in (section.tolerance.lower, section.tolerance.upper)))

    @property
    def share(self) -> str:
        """Of the round up to which corners are whole, 0.707 for a square."""
        return f"{math.cos(math.pi / self.square.flats):.3f}"

    @property
    def whole_limit(self) -> float:
        """The same across flats, mm."""
        return whole_limit(self.square.blank, self.square.flats)

    @property
    def corner_outcome(self) -> str:
        """What the mill leaves of the corners."""
        m, limit = self.plan.milled, self.whole_limit
        if across_at(m, 0.0) <= limit:
            return "whole over the length"
        if across_at(m, m.length) >= limit:
            return "round over the length"
        change = self.at(m.station + (m.across - limit) / (2 * m.slope))
        return f"round to {change} from the shoulder, whole from there to the tip"

    @property
    def over_corners(self) -> float:
        """Greatest diameter over the finished corners, mm."""
        return max(corner_diameter_at(self.square, x) for x in (0.0, self.square.length))

    @cached_property
    def key(self) -> KeyFit | None:
        """How the key goes on; None where none is named."""
        return None if math.isnan(self.asked.key) else fit_key(self.square, self.asked.key)

    # Setting up

    @property
    def tip(self) -> Tip | None:
        """Of the block."""
        return self.plan.tip

    @property
    def rotary(self) -> bool:
        """Whether a rotary axis turns the work."""
        return self.task.way == "rotary"

    @property
    def by_sides(self) -> bool:
        """Whether the block has a side for each flat, so that sides can be numbered."""
        return not self.rotary and self.mill.block.sides == self.square.flats

    @property
    def holes(self) -> Iterator[HoleSeen]:
        """Cross holes whose angle to the square counts."""
        for work in self.job.works:
            if isinstance(work.asked, HoleJob) and not math.isnan(work.asked.asked.angle):
                angle = work.asked.asked.angle % 360.0
                words = show_number(angle, 2, trim=True) if angle else ""
                yield HoleSeen(work.asked.asked.name, words, self.shows(work))

    def shows(self, work: MillWorkDone) -> bool:
        """Whether a cross hole stands out of the collet."""
        task, x = cast(HoleTask, work.task), place_on(self.task, cast(HolePlan, work.plan))
        size = task.thread.diameter if task.thread else task.drill.diameter
        return x is not None and x - size / 2 > self.task.sections[0].start

    # Cutting

    @property
    def rpm(self) -> str:
        """Of the cutter."""
        return f"{self.task.rpm:.0f}"

    @property
    def per_tooth(self) -> float:
        """Feed, mm."""
        return self.task.feed / self.task.rpm / self.task.cutter.teeth

    @property
    def by_handle(self) -> str:
        """The feed as it is turned by hand."""
        slide = self.x.slide
        if self.x.kind == "dial" and slide is not None:
            return f"a turn of the X handle in {number(60 * slide.turn / self.task.feed, 1, 1)} s"
        way = 10.0 if self.ruler.unit == "mm" else 25.4
        return f"{self.ruler.about(way)} in {number(60 * way / self.task.feed, 0, 0)} s"

    def paths(self, across: Sequence[float]) -> str:
        """Y of paths side by side, signed."""
        return listed(f"{self.y.figure(y)}{self.y.shown(y)}" for y in across)

    @property
    def depth_table(self) -> list[str]:
        """Depths below the touch, by dial."""
        fine, rows = self.ruler.fine, []
        for k, (left, depth) in enumerate(self.depths, start=1):
            name = f"layer {k} of {len(self.depths) - 1}" if k < len(self.depths) else "finish"
            rows.append((name, self.size(left, fine), self.size(depth, fine), self.z.text(depth), self.miss(depth)))
        heads = ("Z", "left on a flat", "below the touch", f"Z {self.z.kind}", "as it lands")
        return table(rows, heads, take=0, right="lrrrl", width=self.sheet.width)

    def miss(self, depth: float) -> str:
        """What the dial goes deeper or less deep than wanted."""
        off = self.z.landed(depth) - depth
        return "" if abs(off) < SHOWN else f"{self.size(abs(off))} too {'deep' if off > 0 else 'high'}"

    # Flats in order

    @cached_property
    def steps(self) -> list[FlatPass]:
        """Every pass, in order."""
        return flat_passes(self.plan.moves)

    @property
    def flats(self) -> Iterator[str]:
        """Every pass and every stop, as the program has them."""
        for step in self.steps:
            yield item(self.flat_words(step), f"{step.number}. ")
            for k, stop in enumerate(step.stops, start=1):
                title, lines = self.stop_box(stop, last=step is self.steps[-1] and k == len(step.stops))
                yield from box(title, lines, width=self.sheet.width)
                yield BREAK

    def flat_words(self, step: FlatPass) -> str:
        """One pass: its flat, layer and path, how that flat comes to the top, and Z."""
        depth = self.plan.touch_off[1] - step.enter_z
        dial = f", Z {self.z.kind} {self.z.text(depth)}" if self.depths and self.z.read else ""
        return f"{step.name}: {self.turn_words(step.turn)}{dial}{', as corrected' if step.finishing else ''}"

    def turn_words(self, turn: Index) -> str:
        """How a flat comes to the top."""
        angle = show_number(turn.angle, 2, trim=True)
        if self.rotary:
            return f"the rotary axis at {angle} deg"
        if self.by_sides:
            return f"side {turn.what.rpartition(' ')[2]} of the block up"
        return f"the block {angle} deg from flat 1, counter-clockwise as seen from the tip" if turn.angle else "on top"

    def stop_box(self, stop: Stop, *, last: bool) -> tuple[str, list[str]]:
        """A hold point: what to do, what should be read, and blanks."""
        if stop.reason == "correct":
            return "CORRECT Z BEFORE THE FINISH", self.correction()
        lines = [*stop.lines]
        if last:
            lines += self.station_lines
        for r in () if last else stop.readings:
            place = "" if r.station is None else f" at {self.at(r.station)}"
            lines.append(f"{r.name}{place}: {self.size(r.expected)} expected, is {BLANK}")
            if abs(more := self.landed_more(r.name)) >= SHOWN:
                lines.append(f"  where Z lands by the {self.z.kind} it is {self.size(r.expected + more)}")
        return "STOP: spindle off; do not go on until this is measured", lines

    def landed_more(self, name: str) -> float:
        """How much more a reading shows by hand, since the dial lands between, mm; 0 where it lands or is not read."""
        if not self.depths:
            return 0.0
        depth = self.depths[-2][1]
        return (depth - self.z.landed(depth)) * (1 if "round" in name else 2)

    def correction(self) -> list[str]:
        """How the finishing depth comes from what was measured."""
        pairs = flats_in_pairs(self.square.flats)
        lines = [f"mean of the pairs: ({' + '.join(BLANK for _ in pairs)}) / {len(pairs)} = {BLANK}"]
        if self.depths:
            stands = f" from {self.z.text(self.depths[-2][1])}: to {BLANK}" if self.z.read else ""
            aim = self.size(self.milled_across)
            lines.append(f"by hand: (mean - {aim}) / 2 = {BLANK} is what Z goes down{stands}")
        return [
            *lines,
            f"by program: (mean - {self.size(self.expected)}) / 2 = {BLANK}: lower the tool's Z zero by it, raise it "
            "if it is below 0",
            "Leave Z alone for less than the dial or readout can set.",
            "Pairs that differ: chips under the block, or a seat out of square. Fix that before the finish.",
        ]

    @property
    def expected(self) -> float:
        """What a pair reads before the finish, by the program, mm."""
        readings = (r for step in self.steps for stop in step.stops for r in stop.readings)
        return next(r.expected for r in readings if "across" in r.name)

    @property
    def milled_across(self) -> float:
        """What the mill leaves across flats at the station, mm."""
        return across_at(self.plan.milled, self.plan.milled.station)

    @cached_property
    def stations(self) -> tuple[float, ...]:
        """Three places where a micrometer has room: near the shoulder, about the station, near the tip; x, mm."""
        start, end = max(self.task.wall, 0.0), self.square.length
        step = 0.5 if self.ruler.unit == "mm" else 25.4 / 50
        near = math.ceil((start + 0.1 * (end - start) + self.groove) / step - 1e-9) * step - self.groove
        far = math.floor((start + 0.8 * (end - start) + self.groove) / step + 1e-9) * step - self.groove
        middle = self.square.station
        return near, (middle if near + step <= middle <= far - step else (near + far) / 2), far

    @property
    def station_lines(self) -> list[str]:
        """The square as milled at three stations, with blanks, in columns."""
        fine, pairs = self.ruler.fine, flats_in_pairs(self.square.flats)
        crown = 2 * self.plan.crown if self.plan.tip is None else 0.0
        blank = BLANK if len(pairs) <= 3 else BLANK[:6]
        cells = [("at", "across", "limits", *(f"{a}-{b} is" for a, b in pairs), "corners")]
        for x in self.stations:
            read = readings_at(self.plan.milled, x)
            limits = self.ruler.limits(*(read.over_flats + e for e in self.task.limits))
            cells.append((self.at(x), self.size(read.over_flats + crown, fine), limits, *(blank for _ in pairs),
                          self.size(read.over_corners)))  # fmt: skip
        widths = [max(len(row[k]) for row in cells) for k in range(len(cells[0]))]
        rows = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in cells]
        return ["At a station stands the anvil's edge nearer the shoulder; distances from the shoulder:", *rows]

    # After the mill

    @property
    def finished_rows(self) -> list[str]:
        """Finished sizes at the three stations, with blanks."""
        return [f"{self.at(x)}: {self.size(self.finished(x))}, is {BLANK}" for x in self.stations]

    thicker = THICKER

    @property
    def shim_error(self) -> float:
        """What so much more shim makes of the difference between the square's ends, mm across flats."""
        return 2 * THICKER / self.plan.tip.spacing * self.square.length if self.plan.tip else 0.0
