"""The cross hole's program: find the middle of the round, a small flat, spot, drill, tap.

The drill wanders off a round, so its place is found on the work's true middle, a small flat is milled and spotted,
and chips are cleared at every peck. It is done after the body is true and before the pivots are finished: small taps
break, and a broken tap in a finished arbor is a scrapped arbor (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Literal

from cam.ground.drills import Drill
from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.units import MM_PER_INCH, show_fine
from cam.mill.cross_hole import Depths, NetSection, check_cross_hole, depths_of_blind, net_section
from cam.mill.prove import prove_axis, prove_zero, settable, without_idle
from cam.moves.model import (
    ChangeTool,
    Cycle,
    EndProgram,
    Feed,
    Index,
    Move,
    Rapid,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
)
from cam.part.milled import LEADS
from cam.part.threads import TapDrill, Thread, chart_percent, percent_of_thread
from cam.setting.milled import LEVEL, CrossHole, MillWork, Solid, solids_at
from cam.setting.solids import nearest
from cam.setting.words import at_least, say
from cam.shop.mill import Cutter

BREAK_THROUGH = 0.5
"""How far beyond the far side the full diameter goes, mm, so that no skin is left. Common practice, no source."""
PROOF_GAP = 5.0
"""How far above the round a tool stands to prove its Z, mm: a slip or a drill's shank shows it."""
ROOM = 40.0
"""How far above the work and what holds it a tool is changed, mm."""
BESIDE = 0.5
"""How far beside all that is cut a tool is touched, mm, at least. Common practice, no source."""
BESIDE_STEP = {"mm": 0.1, "in": MM_PER_INCH / 200}
"""In what whole steps that place is said, mm, by the mill's unit, so that it is easily set."""
SPOT_SHARE = 0.8
"""The width of the spot as a share of the drill's diameter. Common practice, no source."""


@frozen
class HoleTask:
    """A cross hole to be made.

    Attributes:
        name, x, angle, through: as in CrossHole. wanted: full depth from the top of the round, mm; of the thread where
            there is one, else of the drill; not used for a through hole.
        counts: from what the angle counts where a hand turns the work to it, a sentence; "" where any angle will do.
        full: x between which its section is as thick as its round, mm.
        thread: None for a plain hole. lead: lead of the last tap, one of LEADS. chips: room below the tap, mm.
        flat: (end mill, depth) of a small flat to start on; None for none.
        spot: a spot drill, or None. drill: a drill. tap: for a tap cycle; None where it is tapped by hand.
        hand_tap: the shop's tap where it is tapped by hand; None where the shop describes none, or by a tap cycle.
        rpm, feed: speed and feed of each tool, by its number, rev/min and mm/min (a tap's feed follows from its pitch).
        step: step of a peck, mm; 0 drills in one go.
        by_hand: whether the work is turned by hand. sections, fixtures, under: as in MillWork.
        rapid_clearance, contact_clearance: mm. unit, shown_unit, axis_proved: see SquareTask.
        where: the line that asks for it.
    """

    name: str
    x: float
    angle: float
    through: bool
    wanted: float
    thread: Thread | None
    lead: str
    chips: float
    flat: tuple[Cutter, float] | None
    spot: Cutter | None
    drill: Cutter
    tap: Cutter | None
    rpm: dict[int, float]
    feed: dict[int, float]
    step: float
    by_hand: bool
    sections: tuple[Solid, ...]
    fixtures: tuple[Solid, ...]
    under: float
    rapid_clearance: float
    contact_clearance: float
    unit: Literal["mm", "in"]
    where: Where
    axis_proved: bool = False
    shown_unit: Literal["mm", "in"] = "mm"
    hand_tap: Cutter | None = None
    counts: str = ""
    full: tuple[float, float] = (-math.inf, math.inf)


@frozen
class CrossHolePlan:
    """A cross hole as it will be made.

    Attributes:
        moves: in order. work: what the program is to be judged against. hole: as the mill leaves it.
        touch_x: X at which each tool is touched on the top of the round, where nothing is cut, mm; nan for no room.
        depths: depths of a blind tapped hole; None otherwise. percent: thread that the drill leaves, None without one.
        net: what is left of the body. warnings: sorted.
    """

    moves: tuple[Move, ...]
    work: MillWork
    hole: CrossHole
    touch_x: float
    depths: Depths | None
    percent: TapDrill | None
    net: NetSection
    warnings: tuple[Problem, ...]


def plan_cross_hole(task: HoleTask) -> CrossHolePlan:
    """Plan a cross hole; ProblemError carries every reason at once why it cannot be made so."""
    if not (found := solids_at(task.sections, task.x)):
        raise ProblemError([problem(task.where, f'"{task.name}" lies off the work', say(task.x, task))])
    section = found[0]
    if wrong := [*_check_tools(task), *_check_flat(task, section.top)]:
        raise ProblemError(wrong)
    body, depths = 2 * section.top, _depths(task)
    work = hole_work(task)
    hole = work.holes[0]
    wrong, warnings = check_cross_hole(hole, task.thread, body, section.start, section.end, task.where, task)
    moves = _HoleMoves(task, work, section.top, depths)
    wrong += [*_check_point(task, hole, body), *_check_below(task, work, moves), *_check_room(task, work, moves)]
    if wrong:
        raise ProblemError(wrong)
    size = task.thread.diameter if task.thread else task.drill.diameter
    return CrossHolePlan(
        moves=tuple(moves.all()), work=work, hole=hole, touch_x=moves.touch_x, depths=depths, percent=_percent(task),
        net=net_section(body, size, None if task.through else hole.depth), warnings=tuple(warnings),
    )  # fmt: skip


def hole_work(task: HoleTask) -> MillWork:
    """Return the work that a program for a cross hole is judged against: it is the same whatever the moves."""
    section, depths = solids_at(task.sections, task.x)[0], _depths(task)
    hole = CrossHole(
        name=task.name, x=task.x, angle=task.angle % 360.0, diameter=task.drill.diameter,
        depth=2 * section.top if task.through else depths.drill if depths else task.wanted,
        through=task.through, flat_depth=task.flat[1] if task.flat else 0.0,
        flat_size=task.flat[0].diameter if task.flat else 0.0, where=task.where, spotted=task.spot is not None,
    )  # fmt: skip
    return MillWork(sections=task.sections, fixtures=task.fixtures, holes=(hole,), under=task.under)


def _depths(task: HoleTask) -> Depths | None:
    """Return the depths of a blind tapped hole."""
    if task.thread is None or task.through:
        return None
    angle = task.drill.point_angle
    return depths_of_blind(task.thread, task.drill.diameter, angle, task.wanted, task.lead, task.chips)


def _percent(task: HoleTask) -> TapDrill | None:
    """Return the thread that the drill leaves."""
    if not task.thread:
        return None
    size = task.drill.diameter
    drill = Drill("mm", task.drill.name, size)
    return TapDrill(drill, percent_of_thread(task.thread, size), chart_percent(task.thread, size))


# Checks -------------------------------------------------------------------------------------------------------


def _check_tools(task: HoleTask) -> Iterator[Problem]:
    wanted = [("drill", task.drill), ("spot drill", task.spot), ("tap", task.tap)]
    wanted.append(("end mill", task.flat[0] if task.flat else None))
    for kind, cutter in ((kind, cutter) for kind, cutter in wanted if cutter is not None):
        if cutter.kind != kind:
            yield problem(task.where, f"{cutter.name} is no {kind}", cutter.kind, kind)
        if not min(task.rpm.get(cutter.number, 0.0), task.feed.get(cutter.number, 0.0)) > 0:
            yield problem(task.where, f"{cutter.name} has no speed or no feed", fix="give it both")
    if task.thread is not None:
        yield from _check_thread(task, task.thread)
    elif task.tap is not None:
        yield problem(task.where, "there is a tap and no thread", task.tap.name)


def _check_thread(task: HoleTask, thread: Thread) -> Iterator[Problem]:
    """Check that a thread has a depth, and the tap and the drill that cut it."""
    where = task.where
    if task.lead not in LEADS:
        yield problem(where, "there is no such tap", task.lead, ", ".join(sorted(LEADS)))
    if not task.through and task.wanted <= 0:
        yield problem(where, "a blind thread has no depth", say(task.wanted, task), f"above 0 {task.unit}")
    if not thread.minor * 0.98 <= task.drill.diameter < thread.diameter:
        yield problem(
            where,
            f"{task.drill.name} is not the tapping drill of {thread.name}",
            f"{percent_of_thread(thread, task.drill.diameter):.0f} % {thread.basis}",
            f"{say(thread.minor, task)} to {say(thread.diameter, task)}",
            "take the drill that leaves 60 to 75 % of thread",
        )
    tap = task.tap or task.hand_tap
    if tap and (tap.pitch, tap.diameter) != (thread.pitch, thread.diameter):
        what = f"{tap.name} does not cut {thread.name}"
        yield problem(where, what, f"pitch {say(tap.pitch, task)}")


def _check_flat(task: HoleTask, radius: float) -> Iterator[Problem]:
    """Check that the small flat stays small, and that the hole goes on below it."""
    deep = task.flat[1] if task.flat else 0.0
    if deep >= radius / 2:
        what, fix = f'the flat for "{task.name}" takes too much of the body', "make it shallower"
        yield problem(task.where, what, say(deep, task), f"less than {say(radius / 2, task)}, half of its radius", fix)
    if not task.through and task.wanted <= deep:
        what = f'"{task.name}" ends no deeper than the flat that it starts on'
        yield problem(
            task.where, what, say(task.wanted, task), f"more than {say(deep, task)} from the top of the round"
        )


def _check_point(task: HoleTask, hole: CrossHole, body: float) -> Iterator[Problem]:
    """Check that a blind hole ends inside the body, the drill's point included."""
    deep = hole.depth + task.drill.point_length
    if not hole.through and hole.depth < body <= deep:
        what = f'the drill\'s point comes out on the far side of "{task.name}"'
        given = f"{say(deep, task)} from the top of the round"
        yield problem(
            task.where, what, given, f"less than {say(body, task)}", "say through = true, or ask for less depth"
        )


def _check_below(task: HoleTask, work: MillWork, moves: _HoleMoves) -> Iterator[Problem]:
    """Check the end of every tool at its lowest, of a hand's tap too, against what lies below the work."""
    ends = [(cutter.name, lowest) for cutter, lowest in moves.lowest()]
    if task.thread and not (task.tap or task.hand_tap):
        ends.append((f"the {task.thread.name} tap", moves.tap_bottom()))
    for name, lowest in ends:
        if lowest < work.under:
            what, fix = f"{name} comes out into what lies below the work", "leave a gap under the hole"
            yield problem(task.where, what, f"{say(work.under - lowest, task)} into it", fix=fix)


def _check_room(task: HoleTask, work: MillWork, moves: _HoleMoves) -> Iterator[Problem]:
    """Check every tool at its lowest, a hand's tap too: its reach, and against what holds the work."""
    for cutter, lowest in moves.lowest():
        if wrong := [*_check_reach(task, cutter, moves.depth_in(cutter, lowest))]:
            yield from wrong
            continue
        place = (task.x, 0.0, lowest)
        near = nearest(cutter, place, place, work.fixtures, work.sections, work.frame)
        if near.distance < task.contact_clearance:
            given = f"{say(near.distance, task)} away" if near.distance >= 0 else f"{say(-near.distance, task)} into it"
            what = f'the {near.body} of {cutter.name} does not clear "{near.obstacle}"'
            allowed = f"at least {say(task.contact_clearance, task)}"
            yield problem(task.where, what, given, allowed, "take a longer tool, or hold the work by another section")


def _check_reach(task: HoleTask, cutter: Cutter, deep: float) -> Iterator[Problem]:
    """Check that a tool's edges, or a tap's thinner shank behind them, go as deep into the metal as they must."""
    bore, reach = task.drill.diameter, cutter.reach(task.drill.diameter)
    if deep <= reach + 1e-9:
        return
    end = "far side" if task.through and cutter.kind in ("drill", "tap") else "bottom"
    given, allowed = f"{say(reach, task)} of edges (flutes)", f"flutes of at least {at_least(deep, task)}"
    if cutter.kind == "tap":
        given += f", and its shank of {say(cutter.shank_diameter, task)} does not go into the hole of {say(bore, task)}"
        allowed += f", or a shank_diameter below {say(bore, task)}"
    less = "a depth, not through = true" if task.through else "less depth"
    fix = f"write a longer one as a [[cutter]] of the shop file, or ask for {less}"
    yield problem(task.where, f'{cutter.name} does not reach the {end} of "{task.name}"', given, allowed, fix)


# Moves --------------------------------------------------------------------------------------------------------


class _HoleMoves:
    """The moves of a cross hole, in order."""

    def __init__(self, task: HoleTask, work: MillWork, radius: float, depths: Depths | None) -> None:
        self.task, self.hole, self.radius, self.depths = task, work.holes[0], radius, depths
        self.clear = round(max(s.top for s in task.sections) + task.rapid_clearance, 4)
        self.retract = round(radius + task.rapid_clearance, 4)
        self.high = max(self.clear, settable(work.highest + task.rapid_clearance, task.shown_unit))
        self.surface = radius - self.hole.flat_depth
        self.size = partial(show_fine, unit=task.shown_unit, trim=True)
        self.touch_x = self.find_touch()

    def find_touch(self) -> float:
        """Return the nearest X at which every tool finds the round whole, mm, toward the tip rather; nan for none.

        A spot or a flat that a tool before has cut would let the next one down into it, and the hole come as much
        deeper. A point needs the top line of the round alone, a tap its own width of it.
        """
        task, x, step = self.task, self.hole.x, BESIDE_STEP[self.task.shown_unit]
        if len(self.tools) == 1:
            return x
        spot = SPOT_SHARE * task.drill.diameter / 2
        cut = max(self.hole.flat_size / 2, task.drill.diameter / 2 if task.tap else spot)
        off = cut + (task.tap.radius if task.tap else 0.0) + BESIDE
        places = (math.ceil((x + off) / step - 1e-9) * step, math.floor((x - off) / step + 1e-9) * step)
        return next((place for place in places if self.can_touch(place)), math.nan)

    def can_touch(self, x: float) -> bool:
        """Tell whether the round is whole there, and every tool clears what is higher beside it."""
        task, own = self.task, solids_at(self.task.sections, self.hole.x)[0]
        low, high = max(task.full[0], own.start), min(task.full[1], own.end)
        half = task.tap.radius if task.tap else 0.0
        if not low + half + BESIDE <= x <= high - half - BESIDE:
            return False
        place, higher = (x, 0.0, self.radius), [s for s in task.sections if s.top > self.radius + 1e-9]
        gaps = (nearest(c, place, place, (*task.fixtures, *higher), (), LEVEL) for c in self.tools)
        return all(gap.distance >= task.contact_clearance for gap in gaps)

    def lowest(self) -> Iterator[tuple[Cutter, float]]:
        """Return each tool with the least z of its end."""
        bottoms = {"end mill": lambda: self.surface, "spot drill": self.spot_bottom, "drill": self.drill_bottom}
        for cutter in (*self.tools, *((self.task.hand_tap,) if self.task.hand_tap else ())):
            yield cutter, bottoms.get(cutter.kind, self.tap_bottom)()

    def depth_in(self, cutter: Cutter, lowest: float) -> float:
        """Return how deep a tool stands in metal at its lowest, mm; all but the end mill start on the flat."""
        return (self.radius if cutter.kind == "end mill" else self.surface) - lowest

    def spot_bottom(self) -> float:
        """Return the Z of the spot's bottom, mm: narrower than the drill, whose corners then find metal all round."""
        spot = self.task.spot
        assert spot is not None
        return round(self.surface - spot.point_length * SPOT_SHARE * self.task.drill.diameter / spot.diameter, 4)

    def drill_bottom(self) -> float:
        """Return the Z of the drill's point at the bottom, mm."""
        full = -self.radius - BREAK_THROUGH if self.hole.through else self.radius - self.hole.depth
        return round(full - self.task.drill.point_length, 4)

    def tap_bottom(self) -> float:
        """Return the Z of the tap's end, mm: its chamfer goes right out on the far side, or stays above the bottom."""
        if self.depths:
            return round(self.radius - self.depths.tap, 4)
        assert self.task.thread is not None
        return round(-self.radius - LEADS[self.task.lead] * self.task.thread.pitch, 4)

    def all(self) -> Iterator[Move]:
        """Return every move, from finding the middle to the end, without motions that lead nowhere."""
        return without_idle(self.everything())

    def everything(self) -> Iterator[Move]:
        """Return every move, motions that lead nowhere included."""
        task = self.task
        if not (task.by_hand or task.axis_proved):
            yield from prove_axis("flat 1")
        if task.counts or not task.by_hand:
            yield self.index()
        yield self.find_middle()
        for cutter in self.tools:
            yield from self.with_tool(cutter)
        if task.thread and not task.tap:
            yield self.tap_by_hand(task.thread)
        yield EndProgram()

    def with_tool(self, cutter: Cutter) -> Iterator[Move]:
        """Return the moves of one tool, from its change on."""
        yield ChangeTool(tool=cutter, touch=self.touch())
        yield prove_zero(
            self.high, self.radius, "the round", ("the face that X counts from", 0.0), self.task.shown_unit
        )
        yield from self.prove(cutter)
        yield TurnSpindle(rpm=self.task.rpm[cutter.number])
        yield StartPass(name=f"{self.hole.name}, {cutter.name}")
        yield Rapid(axis="z", to=self.high)
        if not self.task.by_hand:  # the program may be begun here, the work turned anyhow
            yield self.index()
        yield from self.use(cutter)
        yield Rapid(axis="z", to=self.clear)
        yield StopSpindle()
        yield Rapid(axis="z", to=round(self.high + ROOM, 4))

    @property
    def tools(self) -> list[Cutter]:
        """Return the tools in the order of their use."""
        task = self.task
        return [c for c in (task.flat[0] if task.flat else None, task.spot, task.drill, task.tap) if c is not None]

    def index(self) -> Index:
        """Bring the hole's place to the top: nothing of it is there before it is spotted."""
        task = self.task
        return Index(angle=self.hole.angle, by_hand=task.by_hand, what=f"place of {task.name}", counts=task.counts)

    def touch(self) -> str:
        """Say what a tool's Z is, and where on the round it is touched for that."""
        if math.isnan(self.touch_x):
            thick = "and the thickness of a slip on that slip, laid along the round over what is cut"
            return f"{self.size(self.radius)} {thick}"
        beside = f" at X {self.size(self.touch_x)} and Y 0, beside what is cut" if len(self.tools) > 1 else ""
        return f"{self.size(self.radius)} on the round{beside}"

    def prove(self, cutter: Cutter) -> Iterator[Move]:
        """Stand at a known height over the hole's place before the tool cuts, for its zero was set by hand."""
        stand = round(max(self.radius + PROOF_GAP, self.clear), 4)
        first = cutter is self.tools[0]
        there = f"{self.size(abs(self.hole.x))} from the face that X counts from, on the middle of the round"
        seen = there if first else "where the tool before it has cut"
        over = "" if first else ", laid along the round over what is cut"
        yield from (Rapid(axis="z", to=self.high), Rapid(axis="x", to=self.hole.x), Rapid(axis="y", to=0.0))
        yield Rapid(axis="z", to=stand)
        yield Stop(
            reason="prove",
            lines=(
                f"{cutter.name} stands {self.size(stand - self.radius)} above the top of the round as it was turned,"
                " over the hole's place.",
                f"See that it stands {seen}, and try the gap with a slip or a drill's shank{over}.",
                "If either is wrong, set X, Y or Z of this tool again and begin anew.",
                "Keep hands and sleeves away while the spindle turns.",
            ),
        )

    def use(self, cutter: Cutter) -> Iterator[Move]:
        """Put down what one tool does."""
        task, x = self.task, self.hole.x
        feed = task.feed[cutter.number]
        if cutter.kind == "end mill":
            side = -(self.radius + cutter.radius + task.rapid_clearance)
            layers = max(1, math.ceil(self.hole.flat_depth / cutter.deepest_cut - 1e-9))
            for k in range(1, layers + 1):
                z = self.radius - self.hole.flat_depth * k / layers
                yield from (Rapid(axis="x", to=x), Rapid(axis="y", to=side), Rapid(axis="z", to=z))
                yield Feed(x=x, y=-side, z=z, feed=feed, minute=True)
                yield from (Rapid(axis="z", to=self.clear),) if k < layers else ()
            return
        yield from (Rapid(axis="x", to=x), Rapid(axis="y", to=0.0), Rapid(axis="z", to=self.retract))
        kind, bottom, step = "drill", self.spot_bottom() if cutter.kind == "spot drill" else self.drill_bottom(), 0.0
        if cutter.kind == "drill" and task.step:
            kind, step = "peck", task.step
        if cutter.kind == "tap":
            kind, bottom, feed = "tap", self.tap_bottom(), cutter.pitch * task.rpm[cutter.number]
        yield Cycle(kind=kind, x=x, y=0.0, retract=self.retract, bottom=bottom, step=step, feed=feed)  # type: ignore[arg-type]

    def find_middle(self) -> Stop:
        """Stop to set zero: Y on the work's middle, X on the named shoulder."""
        return Stop(
            reason="centre",
            lines=(
                "Find the middle of the round: touch both sides with an edge finder, set Y to zero half-way between.",
                "By eye: a strip of steel held on the round by the tool's point lies level when the tool is on top.",
                "Touch the face that X counts from: X is 0 half the finder's diameter on. Z is each tool's own:"
                f" {self.touch()}.",
                "Wear eye protection. Stop the spindle before brushing chips away.",
            ),
        )

    def tap_by_hand(self, thread: Thread) -> Stop:
        """Stop for tapping with a wrench, the tap kept upright by the spindle."""
        deep = " right through"
        if self.depths:
            flat = self.hole.flat_depth
            there = f", {self.size(self.depths.tap - flat)} from the flat" if flat else ""
            deep = f" to {self.size(self.depths.tap)} from the top of the round{there}"
        return Stop(
            reason="tap",
            lines=(
                f"Tap {thread.name} by hand{deep}, the tap held upright by a point in the spindle; spindle off.",
                "Use cutting oil. Half a turn in, then back until the chip breaks; in a blind hole take the tap "
                "out to clear the chips.",
                "Do not force it: a small tap breaks without warning.",
                "Take off the burr, and break the edge of the hole.",
            ),
        )
