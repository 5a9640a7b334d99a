"""The page for a cross hole on the mill: place, middle of the round, flat, spot, drill in pecks, tap, what is left."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from typing import cast

from cam.frozen import Row
from cam.mill.cross_hole import LEADS, Engagement, edge_distances, engagement
from cam.mill.model import Cutter, Cycle, Feed, TurnSpindle, UseTool
from cam.mill.plan_hole import HolePlan, HoleTask
from cam.mill.settle import BEST_PERCENT, LEAST_PERCENT, MOST_PERCENT, HoleJob
from cam.mill.threads import TapDrill, Thread, nearest_drills, usual_drill
from cam.units import show_number
from posts.layout import table
from posts.mill_dials import Counter
from posts.mill_sheet import Page, Sheet
from posts.pages import listed
from posts.wording import number


class Use(Row):
    """What one tool does in the program.

    Attributes:
        cutter: which. rpm: rev/min. feed: mm/min. bottoms: how deep its end goes below the top of the round, mm; of a
            peck every depth at which it is drawn out.
    """

    cutter: Cutter
    rpm: float
    feed: float
    bottoms: tuple[float, ...]


def cross_hole_page(sheet: Sheet) -> str:
    """The text of the page, to be paged."""
    return HoleFigures(sheet).text()


def uses_of(plan: HolePlan, radius: float) -> list[Use]:
    """Every tool of the program with its depths, from the plan's own moves.

    Args:
        radius: of the round, mm: depths count from its top.
    """
    found: list[Use] = []
    cutter, rpm = None, 0.0
    for move in plan.moves:
        if isinstance(move, UseTool):
            cutter = move.cutter
        elif isinstance(move, TurnSpindle):
            rpm = move.rpm
        elif cutter is not None and isinstance(move, Feed | Cycle):
            found.append(Use(cutter, rpm, move.feed, _bottoms(move, radius)))
    return found


def _bottoms(move: Feed | Cycle, radius: float) -> tuple[float, ...]:
    """How deep a cut goes below the top of the round, mm; of a peck each peck."""
    if isinstance(move, Feed):
        return (radius - move.z,)
    pecks: list[float] = []
    if move.kind == "peck":
        z = move.retract - move.step
        while z > move.bottom:
            pecks.append(radius - z)
            z -= move.step
    return (*pecks, radius - move.bottom)


class HoleFigures(Page):
    """All that the template of a cross hole's page says.

    Attributes:
        task, plan, hole: as planned. shoulder: what X counts from, in words. body: its section, radius: of that, mm.
        uses: the tools in order. x, y, z: the slides, from the shoulder, the axis and the top of the round.
    """

    template = "summary_cross_hole.j2"

    def __init__(self, sheet: Sheet) -> None:
        super().__init__(sheet)
        job = cast(HoleJob, sheet.work.asked)
        self.asked, self.shoulder = job.asked, job.shoulder
        self.task, self.plan = cast(HoleTask, sheet.work.task), cast(HolePlan, sheet.work.plan)
        self.hole = self.plan.hole
        body = self.plan.work.section_at(self.hole.x)
        assert body is not None  # plan_cross_hole refuses a hole off the work
        self.body, self.radius = body, body.top
        self.uses = uses_of(self.plan, self.radius)
        aside = [s * self.aside(u) for u in self.uses if u.cutter.kind == "end mill" for s in (-1, 1)]
        self.x = Counter("x", self.mill.x, [self.hole.x], self.ruler)
        self.y = Counter("y", self.mill.y, aside, self.ruler)
        self.z = Counter("z", self.mill.z, [b for u in self.uses for b in u.bottoms], self.ruler)

    @property
    def counters(self) -> tuple[Counter, ...]:
        """The slides."""
        return self.x, self.y, self.z

    @property
    def thread(self) -> Thread | None:
        """The thread; None for a plain hole."""
        return self.task.thread

    # Where

    @property
    def width(self) -> float:
        """Of the hole as it will be, mm: a thread counts with its major diameter."""
        return self.thread.diameter if self.thread else self.task.drill.diameter

    @property
    def toward(self) -> str:
        """Where the hole lies from the shoulder."""
        return "tip" if self.hole.x > 0 else "collet"

    @property
    def edges(self) -> tuple[float, float]:
        """From its edge to the end of its section toward the tip, and to the other, which the collet may hide, mm."""
        section = next(s for s in self.part.sections if s.name == self.asked.section)
        _, far = edge_distances(self.hole, self.width, self.body.start, self.body.end)
        return far, section.end - section.start - self.width - far

    @property
    def to_nut(self) -> float:
        """From its edge to the nut, mm."""
        return self.hole.x - self.width / 2 - self.task.sections[0].start

    @property
    def angle(self) -> str | None:
        """From flat 1, degrees; None where it is free."""
        return None if math.isnan(self.asked.angle) else show_number(self.asked.angle % 360.0, 2, trim=True)

    @property
    def square(self) -> bool:
        """Whether the part has a square that is lined up with it."""
        return any(w.name == "square" for w in self.job.works)

    @property
    def others(self) -> Iterator[tuple[str, str]]:
        """Cross holes that are there already, and how far this one is turned from each."""
        for work in self.job.works:
            if work.name == self.sheet.work.name:
                return
            if isinstance(work.asked, HoleJob) and not math.isnan(turn := self.asked.angle - work.asked.asked.angle):
                yield work.asked.asked.name, show_number(turn % 360.0, 2, trim=True)

    # Tools

    @property
    def tools(self) -> str:
        """Every tool by its number and name."""
        return "; ".join(f"T{use.cutter.number} {use.cutter.name}" for use in self.uses)

    @property
    def taps(self) -> str:
        """Which taps are wanted."""
        return "taps, second and bottoming" if self.task.lead == "bottoming" else f"tap, {self.task.lead}"

    @property
    def tap_order(self) -> str:
        """In which order."""
        return "second tap first, then the bottoming one" if self.task.lead == "bottoming" else f"{self.task.lead} tap"

    @property
    def chart(self) -> bool:
        """Whether charts reckon this thread's percent in another way."""
        return self.plan.percent is not None and self.plan.percent.chart is not None

    @property
    def best(self) -> str:
        """The percent of thread that drills are looked for by."""
        return f"{BEST_PERCENT:.0f}"

    @property
    def drill_table(self) -> list[str]:
        """Drills of every series beside the wanted hole, and the one that tables print: the thread that each leaves."""
        assert self.thread is not None  # the template asks only then
        found = list(nearest_drills(self.thread, BEST_PERCENT))
        if (usual := usual_drill(self.thread)) is not None and all(d.drill.name != usual.drill.name for d in found):
            found.append(usual)
        rows = [self._drill_row(d, usual) for d in sorted(found, key=lambda d: d.drill.diameter)]
        return table(rows, ("drill", "mm", "in", "% of thread", ""), take=4, right="lrrr", width=self.sheet.width)

    def _drill_row(self, found: TapDrill, usual: TapDrill | None) -> tuple[str, ...]:
        chart = f" ({found.chart:.0f})" if found.chart is not None else ""
        notes = []
        if found.drill.diameter == self.task.drill.diameter:
            notes.append("this page's")
        if usual is not None and found.drill.name == usual.drill.name:
            notes.append("as tables print it")
        if found.percent > MOST_PERCENT:
            notes.append("hard on a small tap" if found.percent <= 100 else "smaller than the thread's core")
        if found.percent < LEAST_PERCENT:
            notes.append("a weak thread")
        sizes = number(found.drill.diameter, 3, 3), number(found.drill.diameter / 25.4, 4, 4)
        return found.drill.name, *sizes, f"{found.percent:.0f}{chart}", "; ".join(notes)

    # In order

    def aside(self, use: Use) -> float:
        """Y at which a cutter stands clear beside the round, mm."""
        return self.radius + use.cutter.radius + self.task.rapid_clearance

    def speed(self, use: Use) -> str:
        """A tool and its speed."""
        return f"T{use.cutter.number}, {use.cutter.name}, about {use.rpm:.0f} rpm"

    def per_turn(self, use: Use) -> str:
        """Feed of a drill."""
        return self.size(use.feed / use.rpm, 1)

    def depth(self, below: float) -> str:
        """A depth with its reading: "6.50 (dial 6+50)"."""
        return f"{self.size(below)}{self.z.shown(below)}"

    def full(self, use: Use) -> float:
        """How deep the full diameter of a drill goes, mm."""
        return use.bottoms[-1] - use.cutter.point_length

    def pecks(self, use: Use) -> str:
        """Depths at which a drill is drawn out."""
        return listed(self.depth(b) for b in use.bottoms[:-1])

    # The tap

    @property
    def lead(self) -> str:
        """Threads that the tap's chamfer takes."""
        return f"{LEADS[self.task.lead]:g}"

    @cached_property
    def tap_depth(self) -> float:
        """Of the tap's end below the top of the round, mm."""
        assert self.thread is not None
        through = 2 * self.radius + LEADS[self.task.lead] * self.thread.pitch
        return self.plan.depths.tap if self.plan.depths else through

    @property
    def full_thread(self) -> float:
        """How deep full thread goes, mm."""
        assert self.thread is not None
        return self.tap_depth - LEADS[self.task.lead] * self.thread.pitch

    @property
    def tap_turns(self) -> str:
        """From where the tap first bites."""
        assert self.thread is not None
        return number((self.tap_depth - self.hole.flat_depth) / self.thread.pitch, 1, 1)

    @cached_property
    def engaged(self) -> Engagement:
        """Thread that is whole all round: from below the flat, or from where the round is met all round."""
        assert self.thread is not None
        sag = self.radius - math.sqrt(max(self.radius**2 - self.width**2 / 4, 0.0))
        flat = self.hole.flat_depth
        ends = max(flat, sag) + (sag if self.asked.through else 0.0)
        return engagement(self.thread, self.full_thread - ends)

    @property
    def screw_turns(self) -> str:
        """Turns that a screw goes in."""
        return number(self.engaged.threads, 1, 1)

    @property
    def below_point(self) -> float:
        """Metal below a blind hole's point, mm."""
        return -self.out_below

    @property
    def out_below(self) -> float:
        """How far the drill's point comes out below the round, mm; negative where it stays inside."""
        return next(u.bottoms[-1] for u in self.uses if u.cutter.kind == "drill") - 2 * self.radius
