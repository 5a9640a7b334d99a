"""The page for a cross hole on the mill: place, middle of the round, one row a tool, tap, what is tried afterwards."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import cast

from cam.ground.frozen import Row
from cam.ground.units import show_number
from cam.mill.cross_hole import Engagement, engagement
from cam.mill.plan_hole import CrossHolePlan, HoleTask
from cam.mill.settle import HoleJob
from cam.moves.model import ChangeTool, Cycle, Feed, TurnSpindle
from cam.part.milled import LEADS
from cam.part.threads import Thread
from cam.shop.mill import Cutter
from posts.pages.blocks import Ask, Band, Block, MillCut, Points
from posts.pages.mill_dials import Counter
from posts.pages.mill_sheet import COME, MillPage, MillSheet
from posts.wording import number, plain

DOES = {"end mill": "small flat, across", "spot drill": "spot", "drill": "drill", "tap": "tap, in step with Z"}
"""What each kind of tool does, in the words of its row."""


class Use(Row):
    """What one tool does in the program.

    Attributes:
        cutter: the tool. rpm: rev/min. feed: mm/min. bottoms: how deep its end goes below the top of the round, mm;
            with pecks, every depth at which it is drawn out.
    """

    cutter: Cutter
    rpm: float
    feed: float
    bottoms: tuple[float, ...]


def uses_of(plan: CrossHolePlan, radius: float) -> list[Use]:
    """Return every tool of the program with its depths, from the plan's own moves.

    Args:
        radius: radius of the round, mm; depths count from its top.
    """
    found: list[Use] = []
    cutter, rpm = None, 0.0
    for move in plan.moves:
        if isinstance(move, ChangeTool):
            cutter = cast(Cutter, move.tool)
        elif isinstance(move, TurnSpindle):
            rpm = move.rpm
        elif cutter is not None and isinstance(move, Feed | Cycle):
            found.append(Use(cutter, rpm, move.feed, _bottoms(move, radius)))
    return found


def _bottoms(move: Feed | Cycle, radius: float) -> tuple[float, ...]:
    """Return how deep a cut goes below the top of the round, mm; each depth where it pecks."""
    if isinstance(move, Feed):
        return (radius - move.z,)
    pecks: list[float] = []
    if move.kind == "peck":
        z = move.retract - move.step
        while z > move.bottom:
            pecks.append(radius - z)
            z -= move.step
    return (*pecks, radius - move.bottom)


class HolePage(MillPage):
    """Makes the blocks of the page.

    Attributes:
        asked, task, plan, hole: as planned. shoulder: what X counts from, in words. radius: radius of the section, mm.
        uses: the tools in order. x, y, z: the slides, from the shoulder, the axis and the top of the round.
    """

    template = "mill_hole"

    def __init__(self, sheet: MillSheet) -> None:
        super().__init__(sheet)
        job = cast(HoleJob, sheet.work.asked)
        self.asked, self.shoulder = job.asked, plain(job.shoulder)
        self.task, self.plan = cast(HoleTask, sheet.work.task), cast(CrossHolePlan, sheet.work.plan)
        self.hole = self.plan.hole
        body = self.plan.work.section_at(self.hole.x)
        assert body is not None  # plan_cross_hole refuses a hole off the work
        self.radius = body.top
        self.uses = uses_of(self.plan, self.radius)
        aside = [s * self.aside(u) for u in self.uses if u.cutter.kind == "end mill" for s in (-1, 1)]
        touch = [] if math.isnan(self.plan.touch_x) else [self.plan.touch_x]
        self.x = Counter("X", self.mill.x, [self.hole.x, *touch], self.figures)
        self.y = Counter("Y", self.mill.y, aside, self.figures)
        self.z = Counter("Z", self.mill.z, [b for u in self.uses for b in u.bottoms], self.figures)

    def own_blocks(self) -> dict[str, Iterable[Block]]:
        """Return slides, rows, and what is tried afterwards."""
        return {"dials": self.dials(), "rows": self.rows(), "tried": self.tried()}

    def rows(self) -> Iterator[Block]:
        """Yield the place, one row a tool, and the tapping by hand."""
        yield Band(words=(f"place: {self.x.at(self.hole.x)}, {self.y.at(0.0)}", "lock X for every cut",
                          "lock Y but for the cut across" if self.flat else "lock Y"))  # fmt: skip
        for count, use in enumerate(self.uses, start=1):
            yield from self.row(count, use)
        yield from self.tap()

    # What it is

    @property
    def thread(self) -> Thread | None:
        """Return the thread; None for a plain hole."""
        return self.task.thread

    @property
    def flat(self) -> bool:
        """Tell whether a small flat is milled for the drill to start on."""
        return any(u.cutter.kind == "end mill" for u in self.uses)

    @property
    def width(self) -> float:
        """Return the width of the finished hole, mm; a thread counts with its major diameter."""
        return self.thread.diameter if self.thread else self.task.drill.diameter

    def angle(self) -> str:
        """Say how the hole lies to flat 1 and to holes that are there."""
        if math.isnan(self.asked.angle):
            return "any"
        own = show_number(self.asked.angle % 360.0, 2, trim=True)
        words = f"{own} deg clockwise from the middle of flat 1, seen from the tip"
        if any(w.name == "square" for w in self.sheet.job.works):
            words += ", which is not there yet: the square's page turns flat 1 to this hole"
        return "; ".join([words, *(f"{turn} deg clockwise from {plain(other)}" for other, turn in self.others())])

    def others(self) -> Iterator[tuple[str, str]]:
        """Yield the cross holes that are there already, and how far this one is turned from each."""
        for work in self.sheet.job.works:
            if work.name == self.sheet.work.name:
                return
            if isinstance(work.asked, HoleJob) and not math.isnan(turn := self.asked.angle - work.asked.asked.angle):
                yield work.asked.asked.name, show_number(turn % 360.0, 2, trim=True)

    # Setting up

    def out_below(self) -> float:
        """Return how far the drill's point comes out, mm, against which the reader of pages holds the drill's depth."""
        deep = next(u.bottoms[-1] for u in self.uses if u.cutter.kind == "drill")
        return self.z.landed(deep) - 2 * self.radius

    def dials(self) -> Iterator[Block]:
        """Yield the slides and their zeros."""
        yield self.x.dial(0.0, f"over {self.shoulder}: edge finder on it, lift, on by half its diameter. {COME}")
        strip = "A strip of steel held under the drill's point lies level over the middle."
        yield self.y.dial(0.0, f"over the middle: touch both sides, half-way between{self.y.half_lost}. {strip}")
        each = "for each tool anew, its end on the top of the round as TOUCH says" if self.touch else (
            "with the tool's end on the round")  # fmt: skip
        yield self.z.dial(self.radius, f"{each}.")

    @property
    def touch(self) -> str:
        """Say where each tool is touched, beside all that the tools before it cut; "" for one tool alone."""
        if len(self.uses) == 1:
            return ""
        if math.isnan(self.plan.touch_x):
            return "on a slip laid along the round, over what is cut, its thickness off: beside it is no room"
        back = "beside all that is cut; then X back to its place, and locked"
        return f"at {self.x.at(self.plan.touch_x)}, {self.y.at(0.0)}, {back}"

    # Rows

    def aside(self, use: Use) -> float:
        """Return the Y at which a cutter stands clear beside the round, mm."""
        return self.radius + use.cutter.radius + self.task.rapid_clearance

    def row(self, count: int, use: Use) -> Iterator[Block]:
        """Yield the row of one tool, and what belongs to it."""
        kind = use.cutter.kind
        feed = f"feed {self.figures.about(use.feed)} a minute" if kind == "end mill" else (
            f"feed {self.figures.feed(use.feed / use.rpm)}")  # fmt: skip
        tool = (f"T{use.cutter.number}, {plain(use.cutter.name)}", f"about {use.rpm:.0f} rpm", feed)
        yield Band(words=(*tool, *self.care(kind)))
        out = self.aside(use)
        across = f"{self.y.text(-out)} to {self.y.text(out)}" if kind == "end mill" else ""
        deep = use.bottoms[-1]
        below, reading = self.fine(self.z.landed(deep)), self.z.text(deep) if self.z.read else ""
        yield MillCut(number=count, what=DOES[kind], below=below, y=across, z=reading)
        if len(use.bottoms) > 1:
            places = tuple((self.z.text(b), "") for b in use.bottoms[:-1])
            yield Points(way="drawn out", z_head=f"Z {self.z.kind}".strip(), x_head="", places=places)
        if kind == "end mill":
            yield Band(words=(f"back to {self.y.at(0.0)}, and locked",))

    def care(self, kind: str) -> Iterator[str]:
        """Yield what can hurt at this row."""
        if kind == "end mill":
            yield "lightly: a wide cutter chatters on a thin round"
        if kind == "drill":
            yield "oil; never let chips pack: a small drill breaks without warning"
            if self.asked.through:
                yield "ease the feed as the point comes out: there a drill grabs and swings what is not clamped"

    def tap(self) -> Iterator[Block]:
        """Yield the tapping by hand."""
        if self.thread is None or self.task.tap:
            return
        order = "second tap, then bottoming" if self.task.lead == "bottoming" else f"{self.task.lead} tap"
        turns = number((self.tap_depth - self.hole.flat_depth) / self.thread.pitch, 1, 1)
        way = [f"about {turns} turns from the first bite, its end then {self.fine(self.tap_depth)} below the top"]
        if self.plan.depths:
            way.append(f"the hole ends {self.fine(self.plan.depths.drill - self.tap_depth)} below")
        upright = f"tap by hand: {order}, kept upright by a point in the spindle"
        care = ("oil; half a turn in, half back until the chip breaks", "stiff: right out, and the chips out",
                "never force it: a broken tap is a scrapped arbor")  # fmt: skip
        yield Band(words=("spindle off", upright, *way, *care))
        yield MillCut(number=len(self.uses) + 1, what=f"tap {self.thread.name}", z="by hand")

    @cached_property
    def tap_depth(self) -> float:
        """Return the depth of the tap's end below the top of the round, mm."""
        assert self.thread is not None
        through = 2 * self.radius + LEADS[self.task.lead] * self.thread.pitch
        return self.plan.depths.tap if self.plan.depths else through

    @property
    def full_thread(self) -> float:
        """Return how deep full thread goes, mm."""
        assert self.thread is not None
        return self.tap_depth - LEADS[self.task.lead] * self.thread.pitch

    @cached_property
    def engaged(self) -> Engagement:
        """Return the thread that is whole all round: from below the flat, or from where the round is met all round."""
        assert self.thread is not None
        sag = self.radius - math.sqrt(max(self.radius**2 - self.width**2 / 4, 0.0))
        flat = self.hole.flat_depth
        ends = max(flat, sag) + (sag if self.asked.through else 0.0)
        return engagement(self.thread, self.full_thread - ends)

    # Afterwards

    def tried(self) -> Iterator[Ask]:
        """Yield what is tried and measured once the hole is made."""
        if self.thread:
            turns = number(self.engaged.threads, 1, 1)
            yield Ask(what="turns that its screw goes in by hand", wanted=turns)
        distance = self.fine(self.asked.distance)
        yield Ask(what=f"from {self.shoulder} to the middle of the hole", wanted=distance)
