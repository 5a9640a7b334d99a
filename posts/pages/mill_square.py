"""The page for a square on the mill: how it is held and set, one row a pass, measures between them, file and stone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import cast

from cam.ground.figures import per
from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_number
from cam.mill.done import MillWorkDone
from cam.mill.plan_hole import CrossHolePlan, HoleTask
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.mill.ramp import flats_in_pairs
from cam.mill.setting_up import set_x
from cam.mill.settle import HoleJob, SquareJob
from cam.moves.model import Reading, Stop
from cam.setting.square import KeyFit, across_at, corner_diameter_at, fit_key, readings_at, round_to
from posts.pages.blocks import BLANK, Band, Block, Drawing, FigureTable, MeasureBlock, MillCut
from posts.pages.mill_dials import Counter
from posts.pages.mill_passes import FlatPass, flat_passes
from posts.pages.mill_sheet import COME, MillPage, MillSheet, blanks
from posts.wording import number, plain

NOTHING = 0.005
"""What is left on a flat counts as nothing on the page below this, mm."""
SHIM = (
    "   +------------------------+-----+",
    "   |   block, from its side | nut |=== tip",
    "   +------------------------+-----+",
    "   ^ stands <- {spacing:^6} ->[###] shim",
)
"""The one drawing that is made of characters: a block tipped by a shim."""
BY_PROGRAM = (
    "on a level block the depth changes all along a flat: a hand cannot cut it so. Run {file}; or say "
    'square_by = "tipped block" in the shop file'
)


class HoleSeen(Row):
    """A cross hole that the square is lined up with.

    Attributes:
        angle: degrees from flat 1 on top, clockwise; "" for 0. shows: whether the hole stands out of the collet.
    """

    name: str
    angle: str
    shows: bool


def place_on(task: SquareTask, hole: CrossHolePlan) -> float | None:
    """Return the X of a cross hole in the square's axes, mm; None where its section is inside the collet."""
    own = hole.work.section_at(hole.hole.x)
    same = next((s for s in task.sections if own is not None and s.name == own.name), None)
    return None if own is None or same is None else hole.hole.x - own.end + same.end


class SquarePage(MillPage):
    """Makes the blocks of the page.

    Attributes:
        square: the finished square. task, plan, track: as planned. groove: width of an undercut groove at the shoulder,
            mm.
        way_in, way_out: X from where the cutter's side touches the end face to its stop at the shoulder, and to its
            place off the tip, mm.
        depths: what each layer leaves and how deep it goes, as the plan says. x, y, z: the slides. passes: those of the
            program.
    """

    template = "mill_square"

    def __init__(self, sheet: MillSheet) -> None:
        super().__init__(sheet)
        self.task, self.plan = cast(SquareTask, sheet.work.task), cast(SquarePlan, sheet.work.plan)
        self.square, self.track, self.groove = self.task.square, self.plan.track, self.task.groove
        self.touch_x = set_x(self.task, self.plan)
        self.way_in, self.way_out = self.track.enter_x - self.touch_x, self.track.out_x - self.touch_x
        self.depths, self.passes = self.plan.depths_by_hand(), flat_passes(self.plan.moves)
        t, figures = self.track, self.figures
        self.x = Counter("X", self.mill.x, [self.way_in, self.way_out], figures)
        self.y = Counter("Y", self.mill.y, [t.side, t.half, *t.across, *t.rough], figures)
        self.z = Counter("Z", self.mill.z, [depth for _, depth in self.depths], figures)

    def own_blocks(self) -> dict[str, Iterable[Block]]:
        """Return the shim as drawn, slides, rows, and the table of sizes."""
        return {"shim": self.shim(), "dials": self.dials(), "rows": self.rows(), "stations": [self.table()]}

    # What it is

    def at(self, x: float) -> str:
        """Return a station as its distance from the shoulder; x counts from the edge of an undercut groove."""
        return self.figures.place(x + self.groove)

    def left(self, mm: float) -> str:
        """Return what is left on a flat as shown; less than half a hundredth shows as zero."""
        return self.fine(mm) if abs(mm) > NOTHING else "0.00"

    @property
    def slope(self) -> str:
        """Return how much a side falls."""
        return show_number(self.square.slope, 5, trim=True)

    def across(self, x: float) -> float:
        """Return the size across flats at a place, mm."""
        return across_at(self.square, x)

    @property
    def over_corners(self) -> float:
        """Return the greatest size over the finished corners, mm."""
        return max(corner_diameter_at(self.square, x) for x in (0.0, self.square.length))

    @cached_property
    def round_to(self) -> float:
        """Return how far from the shoulder the finished corners stay round, as the blank left them, mm."""
        return round_to(self.square)

    @property
    def corners(self) -> str:
        """Say what the corners are once they are finished; what was asked, and where it ends on a taper."""
        if self.square.corners != "round" or self.round_to >= self.square.length:
            return self.square.corners
        return f"round to {self.at(self.round_to)} from the shoulder, sharp from there to the tip"

    @property
    def corners_milled(self) -> str:
        """Say the size over the corners at the station as the mill leaves it, where it is measured."""
        return self.fine(readings_at(self.plan.milled, self.square.station).over_corners)

    @property
    def corners_broken(self) -> str:
        """Say the size over the corners at the station once they are broken."""
        return self.fine(corner_diameter_at(self.square, self.square.station))

    @cached_property
    def fit(self) -> KeyFit | None:
        """Return how the key goes on; None where none is named."""
        key = cast(SquareJob, self.given).asked.key
        return None if math.isnan(key) else fit_key(self.square, key)

    # Setting up

    @property
    def rotary(self) -> bool:
        """Tell whether a rotary axis turns the work."""
        return self.task.way == "rotary"

    @property
    def by_sides(self) -> bool:
        """Tell whether the block has a side for each flat, so that sides can be numbered."""
        return not self.rotary and self.mill.block.sides == self.square.flats

    def shim(self) -> Iterator[Block]:
        """Yield the drawing of a block tipped by a shim."""
        if self.plan.tip is not None:
            spacing = self.set_up(self.plan.tip.spacing, along=True)
            yield Drawing(kind="characters", lines=tuple(line.format(spacing=spacing) for line in SHIM))

    def holes(self) -> Iterator[HoleSeen]:
        """Yield the cross holes whose angle to the square counts."""
        for work in self.sheet.job.works:
            if isinstance(work.asked, HoleJob) and not math.isnan(work.asked.asked.angle):
                angle = work.asked.asked.angle % 360.0
                words = show_number(angle, 2, trim=True) if angle else ""
                yield HoleSeen(work.asked.asked.name, words, self.shows(work))

    def shows(self, work: MillWorkDone) -> bool:
        """Tell whether a cross hole stands out of the collet."""
        task, x = cast(HoleTask, work.task), place_on(self.task, cast(CrossHolePlan, work.plan))
        size = task.thread.diameter if task.thread else task.drill.diameter
        return x is not None and x - size / 2 > self.task.sections[0].start

    def dials(self) -> Iterator[Block]:
        """Yield the slides and their zeros."""
        what, z = self.plan.touch_off
        side = f"with the cutter's side on the end face, its end near the axis. {COME}"
        yield self.x.dial(self.touch_x, side)
        yield self.y.dial(0.0, f"half-way between both sides, touched{self.y.half_lost}.")
        yield self.z.dial(z, f"with its end on {what}, less thin paper between.")

    # Cutting

    @property
    def by_hand(self) -> bool:
        """Tell whether Z stands still along a flat, so that a hand can mill it."""
        return bool(self.depths)

    @property
    def paths(self) -> bool:
        """Tell whether a layer takes more than one path, so that each row says its own."""
        return len(self.track.across) > 1 or self.track.rough != self.track.across

    def path(self) -> Iterator[Block]:
        """Say what the cutter does in every row; the reader of sheets reads it."""
        if not self.by_hand:
            yield Band(words=(BY_PROGRAM.format(file=self.sheet.work.file),))
            return
        t = self.track
        row = "the row's Y" if self.paths else self.y.at(t.across[0])
        alone = " on a layer's last path alone" if self.paths else ""
        across = f"across to {self.y.at(t.half)}{alone}"
        steps = (f"path: in to {self.x.at(self.way_in)}, {self.y.at(t.side)}", "Z to the row's", across,
                 f"back past {row} and up to it", "lock Y", f"out to {self.x.at(self.way_out)}", "Z up")  # fmt: skip
        yield Band(words=steps)

    def rows(self) -> Iterator[Block]:
        """Yield every pass, every measure, and the correction."""
        yield Band(words=tuple(self.fed()))
        yield from self.path()
        for row in self.passes:
            yield self.row(row)
            for stop in row.stops:
                yield from self.measured(stop, last=row is self.passes[-1])

    def fed(self) -> Iterator[str]:
        """Say speed and feed, and how the handle is turned for it."""
        task, slide = self.task, self.x.slide
        yield f"T{task.cutter.number}, {plain(task.cutter.name)}"
        yield f"about {task.rpm:.0f} rpm"
        yield f"feed {self.figures.about(task.feed)} a minute"
        if self.by_hand and self.x.kind == "dial" and slide is not None:
            yield f"a turn of the X handle in {number(60 * slide.turn / task.feed, 1, 1)} s"
        yield "a brush of cutting oil"

    def row(self, row: FlatPass) -> MillCut:
        """Make the row of one pass."""
        left = (row.enter_z - self.track.enter_z) / self.track.steep
        if not self.by_hand:
            return MillCut(number=row.number, what=row.name, turn=self.turned(row), left=self.left(left))
        depth = self.plan.touch_off[1] - row.enter_z
        landed = self.z.landed(depth, last=row.finishing)
        return MillCut(
            number=row.number, what=row.name, turn=self.turned(row),
            left=self.left(left + (depth - landed) / self.track.steep), below=self.fine(landed),
            y=self.y.text(row.y) if self.paths else "", z=self.z.text(depth, last=row.finishing) if self.z.read else "",
        )  # fmt: skip

    def turned(self, row: FlatPass) -> str:
        """Say how a row's flat is brought to the top."""
        if self.by_sides:
            return f"side {row.turn.what.rpartition(' ')[2]} up"
        return f"turned {show_number(row.turn.angle, 2, trim=True)}"

    def measured(self, stop: Stop, *, last: bool) -> Iterator[Block]:
        """Yield a stop: what is read and what follows from it."""
        if stop.reason == "correct":
            yield self.correction()
            return
        for reading in () if last else stop.readings:
            over = "smaller: raise Z by what is missing before its opposite is cut" if "round" in reading.name else ""
            name = f"{reading.name} at {self.at(reading.station or 0.0)}"
            yield MeasureBlock(of="size", name=name, expected=self.fine(self.now(reading)), over=over)

    def now(self, reading: Reading) -> float:
        """Return what should be read where Z lands, mm."""
        if not self.by_hand:
            return reading.expected
        return reading.expected + self.higher(self.depths[-2][1]) * (1 if "round" in reading.name else 2)

    def higher(self, depth: float) -> float:
        """Return how much is left on a flat beyond what is planned, by what dial and zero of the page come to, mm."""
        touch = self.plan.touch_off[1]
        zero = float(self.z.zero(touch)) * per(self.figures.unit)
        return (zero - touch + depth - self.z.landed(depth)) / self.track.steep

    def correction(self) -> MeasureBlock:
        """Make the measure from which the finishing depth comes, worked out for this dial."""
        across = next(r for row in self.passes for stop in row.stops for r in stop.readings if "across" in r.name)
        pairs = flats_in_pairs(self.square.flats)
        mean = f"({blanks(len(pairs), '+')}) / {len(pairs)}"
        alike = "leave out a pair in which Z was raised; others differ: chips under the block, clean before the finish"
        if not self.by_hand:
            over = f"{mean}; half of what it is over: tool's Z zero down by that, under: up; {alike}"
        elif not self.z.read or self.z.slide is None:
            over = f"{mean}; half of what it is over: Z down by that more, under: less; {alike}"
        else:
            each = self.fine(2 * float(self.z.slide.division) / self.track.steep)
            unit = "division" if self.z.kind == "dial" else "step"
            over = f"{mean}; each {each} over: 1 {unit} further down for the finish, under: less; {alike}"
        return MeasureBlock(of="size", name="mean of the pairs", expected=self.fine(self.now(across)), over=over)

    # After the mill

    @property
    def goes_back(self) -> bool:
        """Tell whether anything is still filed, stoned or burnished between the centres."""
        part = self.sheet.part
        return part.goes_back and any(s.finish.route[1:] for s in part.sections)

    @cached_property
    def stations(self) -> tuple[float, ...]:
        """Return three x, mm, where a micrometer has room: near the shoulder, about the station, near the tip."""
        start, end = max(self.task.wall, 0.0), self.square.length
        step = 0.5 if self.figures.unit == "mm" else MM_PER_INCH / 50
        near = math.ceil((start + 0.1 * (end - start) + self.groove) / step - 1e-9) * step - self.groove
        far = math.floor((start + 0.8 * (end - start) + self.groove) / step + 1e-9) * step - self.groove
        middle = self.square.station
        return near, (middle if near + step <= middle <= far - step else (near + far) / 2), far

    def table(self) -> FigureTable:
        """Make the table of the square as milled and as finished, at three stations, with blanks."""
        pairs = flats_in_pairs(self.square.flats)
        crown = 2 * self.plan.crown if self.plan.tip is None else 0.0
        rows = []
        for x in self.stations:
            read = readings_at(self.plan.milled, x)
            limits = self.limits(*(read.over_flats + e for e in self.task.limits))
            rows.append((self.at(x), self.fine(read.over_flats + crown), limits,
                         *[BLANK] * len(pairs), self.fine(across_at(self.square, x)), BLANK))  # fmt: skip
        heads = ("at", "milled", "limits", *(f"{a}-{b} is" for a, b in pairs), "finished", "is")
        return FigureTable(heads=heads, align="rrl" + "l" * len(pairs) + "rl", rows=tuple(rows))
