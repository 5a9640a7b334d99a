"""What a sheet says, once read: rows to cut, bands, measures, each with its line. Lengths are mm, X is a diameter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from cam.geometry.path import Chain
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, problem_at
from cam.judge.model import Simulation
from cam.rs274.model import Program
from cam.shop.model import Tool


class Figure(Row):
    """A figure as printed: its value, mm, half of its last digit, mm, and the text that stands there."""

    value: float
    half: float
    text: str

    def says(self, value: float, more: float = 1e-6) -> bool:
        """Tell whether a value, mm, is rounded to this figure; more: margin for arithmetic and measuring, mm."""
        return abs(self.value - value) <= self.half + more

    def less(self, by: float) -> Figure:
        """Return the figure with so much taken off, mm, and its text as it is."""
        return Figure(self.value - by, self.half, self.text)

    def between(self, low: float, high: float, more: float = 1e-6) -> bool:
        """Tell whether some value between two, mm, is rounded to this figure; more: as for says."""
        return low - self.half - more <= self.value <= high + self.half + more


@frozen
class CutRead:
    """A row of one dial and one stop.

    Attributes:
        line: line of the page. number, what: as printed.
        was, leaves, start, stop: as printed; start and stop are Z, equal for a cut square to the axis.
        x: diameter that the X dial, readout or indicator gives, mm; taken from `leaves` where there is none.
        z: place that the Z dial, readout or slips give, mm; taken from `stop` where there is none.
        begin: where the carriage starts, mm; by_eye: whether that is by eye, and not by a dial.
    """

    line: int
    number: int
    what: str
    was: Figure
    leaves: Figure
    start: Figure
    stop: Figure
    x: float
    z: float
    begin: float
    by_eye: bool

    @property
    def along(self) -> bool:
        """Tell whether the cut goes along Z."""
        return self.start.value != self.stop.value


@frozen
class PointsRow:
    """A row whose places are set one after the other.

    Attributes:
        way: "in and out" at each place; "set over": the top slide goes from the first place to the last.
        places: (z, diameter), mm, as the dials give them.
        angle: degrees; 0 for "in and out". ridge: height of what may be left between two places, mm.
    """

    line: int
    number: int
    what: str
    way: Literal["in and out", "set over"]
    places: tuple[tuple[float, float], ...]
    angle: float = 0.0
    ridge: float = 0.0


@frozen
class Other:
    """A row that handles do not cut: it is done by hand (die, change wheels) or by program."""

    line: int
    number: int
    what: str
    by: str


@frozen
class BandRead:
    """What is changed before the rows that follow: rev/min, mm a turn, tool; None for what stays as it was.

    Attributes:
        slowly: whether X goes in to the next row as slowly as it cuts. turn: seconds of one turn of the Z handle.
    """

    line: int
    rpm: float | None
    feed: float | None
    tool: int | None
    slowly: bool = False
    turn: float | None = None


@frozen
class MeasureLine:
    """A line at which the work is measured.

    Attributes:
        of: what is measured; name: of the section. expected: figure. then: whether a last cut follows.
        least, most: limits after the last cut; None where none are printed. rows: numbers of the rows to correct.
        at: the Z at which a taper is measured; None where none is said. blades: whether blade anvils are named.
    """

    line: int
    of: Literal["diameter", "shoulder"]
    name: str
    expected: Figure
    then: bool
    least: Figure | None
    most: Figure | None
    rows: tuple[int, ...] = ()
    at: Figure | None = None
    blades: bool = False


RowRead = CutRead | PointsRow | Other
Step = RowRead | BandRead | MeasureLine
STONED = ("by stone", "skip by hand")
"""The words of a row that no marks cut."""


@frozen
class Sheet:
    """A setting's page as read.

    Attributes:
        path: path of the text. number: number of the setting. unit: unit of its figures.
        tool: number of the tool in the post at the first row; 0 where the page does not say.
        steps: in order, down the page.
        coarse: sections, and "shoulder past" sections, for which the page says a division is coarser than the limits.
        problems: what the page should say and does not, or says in a way that cannot be acted on.
        lines: number of lines of the text.
        unmeasured: sections that the page says cannot be measured before the end.
    """

    path: str
    number: int
    unit: Literal["mm", "in"]
    tool: int
    steps: tuple[Step, ...]
    coarse: tuple[str, ...]
    problems: tuple[Problem, ...]
    lines: int
    unmeasured: tuple[str, ...] = ()

    @property
    def rows(self) -> tuple[RowRead, ...]:
        """The rows that are ticked, in order."""
        return tuple(s for s in self.steps if isinstance(s, RowRead))

    @property
    def measures(self) -> tuple[MeasureLine, ...]:
        """The lines at which the work is measured, in order."""
        return tuple(s for s in self.steps if isinstance(s, MeasureLine))

    @property
    def stoned(self) -> bool:
        """Tell whether an edge is left to a stone."""
        return any(isinstance(r, Other) and r.by in STONED for r in self.rows)

    def cuts_with(self, tools: Iterable[Tool]) -> Iterator[tuple[CutRead | PointsRow, Tool, float, float]]:
        """Yield every row that handles cut, with its tool of the shop, speed, rev/min, and feed, mm a turn."""
        by_number = {t.number: t for t in tools}
        tool, rpm, feed = by_number.get(self.tool), 0.0, 0.0
        for step in self.steps:
            if isinstance(step, BandRead):
                tool = by_number.get(step.tool or 0, tool)
                rpm, feed = step.rpm or rpm, step.feed or feed
            elif isinstance(step, CutRead | PointsRow) and tool is not None:
                yield step, tool, rpm, feed

    def turned(self) -> Iterator[tuple[CutRead, float, float]]:
        """Yield every row along Z with its feed, mm/min, and the seconds said last of a turn of Z; 0 for none."""
        rpm = feed = turn = 0.0
        for step in self.steps:
            if isinstance(step, BandRead):
                rpm, feed, turn = step.rpm or rpm, step.feed or feed, step.turn or turn
            elif isinstance(step, CutRead) and step.along:
                yield step, rpm * feed, turn

    def problem(
        self, row: RowRead, what: str, allowed: str = "", fix: str = "", kind: str = "", more: str = ""
    ) -> Problem:  # fmt: skip
        """Return what is wrong with a row; more: what is shown of it besides its number and what it does."""
        return problem_at(self.path, row.line, what, f"{row.number}  {row.what}{more}", allowed, fix, kind)


@frozen
class Reached:
    """A size that the rows leave.

    Attributes:
        name: of a section. of: "diameter" or "shoulder" (distance from Z 0).
        size, wanted: mm. least, most: limits, mm; half a division either way where no limits are given.
        division: of the dial, on the diameter or along Z, mm; 0 where it has none.
        given: whether the limits are the part file's.
    """

    name: str
    of: Literal["diameter", "shoulder"]
    size: float
    wanted: float
    least: float
    most: float
    division: float
    given: bool

    @property
    def divisions(self) -> float:
        """How far the size lies from what is wanted, in divisions of the dial."""
        return abs(self.size - self.wanted) / self.division if self.division else 0.0


@frozen
class SheetVerdict:
    """The judgement on one setting's page.

    Attributes:
        sheet: as read. program: what a hand does by it. simulation: of that program; None where nothing could be cut.
        reached: the sizes left. problems: why the page may not be cut by; empty where it may.
        left: outline of the metal afterwards, setting axes.
    """

    sheet: Sheet
    program: Program
    simulation: Simulation | None
    reached: tuple[Reached, ...]
    problems: tuple[Problem, ...]
    left: Chain
