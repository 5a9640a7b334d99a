"""Passes for a square: pairs of opposite flats, measured as they come, then all of them to finish alike.

Each pass comes down beside the work at the shoulder end, feeds across, which makes the end wall straight, and then
out along the work, off the tip. So Z has always last moved down before a face is cut, and on a ramp goes on down:
backlash of Z cannot show on a face. The metal ahead lies to the left of the feed: conventional milling, which a slide
with backlash stands (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, RangeError, Where, problem
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH, show_fine
from cam.mill.prove import STEP, line_up, prove_axis, prove_zero, settable, stands_to, without_idle
from cam.mill.ramp import Ramp, Tip, flat_angle, flats_in_pairs, plan_ramp, tip_block
from cam.moves.model import (
    ChangeTool,
    EndProgram,
    Feed,
    Index,
    Move,
    Rapid,
    Reading,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
)
from cam.plan.stiffness import spring_of_overhang
from cam.setting.milled import LEVEL, MillWork, Solid, Way, tipped
from cam.setting.solids import milling_force, nearest
from cam.setting.square import (
    Square,
    across_at,
    as_milled,
    check_square,
    depth_at,
    readings_at,
    warn_of_loose_key,
    widest_cut,
)
from cam.setting.words import at_least, at_most, say
from cam.shop.mill import Cutter

LEAF = {"mm": 0.01, "in": MM_PER_INCH / 1000}
"""The step in which feeler leaves and shim stock come, mm, by the mill's unit. Common practice, no source."""
LEAST_GRIP = 1.5
"""The length of work that a collet should grip, in diameters, or the cut pulls it out. Common practice, no source."""
PROOF_GAP = 5.0
"""How far above the round the cutter stands to prove Z, mm: a slip or a drill's shank shows it."""
ROOM = 30.0
"""The distance between the tip and the parked cutter, mm: a micrometer and a hand fit in."""


@frozen
class SquareTask:
    """A square to be milled.

    Attributes:
        square: the finished square. allowance: what file and stone take off, on the size across flats, mm.
        limits: least and greatest size across flats as milled, less the size aimed at, mm.
        bearing: diameter of the hole that the square must pass; None for none.
        way: one of WAYS. spacing: of a tipped block's shim from the edge that it stands on, mm; 0 otherwise.
        wall: x where the flats end. 0 or more: a straight wall is cut there. Below 0: in an undercut groove.
        groove: width of the undercut groove between shoulder and square, mm; 0 for none.
        edge: length of the chamfer or radius at the tip, where the blank is no longer full, mm; 0 for a sharp one.
        sections, fixtures: as in MillWork. gripped: length of work in the collet, mm. gripped_diameter: mm.
        cutter: an end mill. rpm: rev/min. feed: mm/min. rapid_clearance, contact_clearance: mm.
        left: what is left on each flat before the pairs are measured, mm. crown: allowed plus and minus on a ramped
            flat, mm.
        kc11, mc, modulus: constants of the material, N/mm2, none, N/mm2. where: the line that asks for it.
        unit: of the part file, in which problems say lengths. axis_proved: whether the rotary axis' sense is known.
        shown_unit: that the control shows. lined_up: as in MillWork. key: size across its key's flats, mm, or nan.
    """

    square: Square
    allowance: float
    limits: tuple[float, float]
    bearing: float | None
    way: Way
    spacing: float
    wall: float
    groove: float
    sections: tuple[Solid, ...]
    fixtures: tuple[Solid, ...]
    gripped: float
    gripped_diameter: float
    cutter: Cutter
    rpm: float
    feed: float
    left: float
    crown: float
    rapid_clearance: float
    contact_clearance: float
    kc11: float
    mc: float
    modulus: float
    unit: Literal["mm", "in"]
    where: Where
    edge: float = 0.0
    axis_proved: bool = False
    shown_unit: Literal["mm", "in"] = "mm"
    lined_up: tuple[tuple[str, float], ...] = ()
    key: float = math.nan


class Track(Row):
    """Where the cutter's middle runs on a face, machine axes, mm.

    Attributes:
        enter_x, out_x: at the wall, and beyond the tip. enter_z, out_z: at the finish there.
        steep: rise of enter_z and out_z for each mm left on the flat. side: y where it comes down.
        across: y of each path at finish. rough: the same for roughing.
        half: half the widest cut: a flat is wider while its neighbours are round, and no ridge may stand at its edge
            when it is measured.
    """

    enter_x: float
    out_x: float
    enter_z: float
    out_z: float
    steep: float
    side: float
    across: tuple[float, ...]
    rough: tuple[float, ...]
    half: float


@frozen
class SquarePlan:
    """A square as it will be milled.

    Attributes:
        moves: in order. work: what the program is to be judged against.
        milled: the square as the mill leaves it. track: track of the cutter. ramp: None where the block is tipped.
        tip: how the block is tipped; None otherwise.
        layers: mm left on the flat after each roughing layer, the last one being task.left.
        touch_off: (what, Z) where to touch the cutter on the work and what Z is then.
        force, spring: estimates for the deepest layer, N and mm at the tip; finish_spring for the finishing cut.
        warnings: sorted.
    """

    moves: tuple[Move, ...]
    work: MillWork
    milled: Square
    track: Track
    ramp: Ramp | None
    tip: Tip | None
    layers: tuple[float, ...]
    touch_off: tuple[str, float]
    force: float
    spring: float
    finish_spring: float
    warnings: tuple[Problem, ...]

    @property
    def crown(self) -> float:
        """Return how far a flat may lie above and below the wanted face because of how it is cut, mm."""
        return self.ramp.crown if self.ramp else 0.0

    def depths_by_hand(self) -> tuple[tuple[float, float], ...]:
        """Return what each layer leaves, and its depth below the touch-off, mm; none on a ramp, where that varies."""
        t = self.track
        if abs(t.enter_z - t.out_z) > ROUNDING:
            return ()
        return tuple((left, self.touch_off[1] - t.enter_z - left * t.steep) for left in (*self.layers, 0.0))


def plan_square(task: SquareTask) -> SquarePlan:
    """Plan a square; ProblemError carries every reason at once why it cannot be cut so."""
    milled = as_milled(task.square, task.allowance)
    if wrong := check_by_itself(task):
        raise ProblemError(wrong)
    half = widest_cut(milled) / 2
    tip = tip_block(milled.slope, task.spacing, LEAF[task.shown_unit]) if task.way == "tipped block" else None
    try:
        ramp = plan_ramp(0.0 if tip else milled.slope, task.cutter.radius, half, task.crown)
    except RangeError as error:
        given = f"{task.cutter.name}, crown {1000 * task.crown:g} um"
        fix = "allow more crown in the shop file, or take another cutter"
        raise ProblemError([problem(task.where, str(error), given, fix=fix)]) from error
    work = square_work(task)
    track = _track(task, milled, work, ramp, half)
    if wrong := list(_check_room(task, work, track)):
        raise ProblemError(wrong)
    layers = _layers(task, milled)
    force, spring, finish = _springs(task, milled, layers)
    return SquarePlan(
        moves=tuple(_SquareMoves(task, milled, work, track, ramp, layers).all()),
        work=work, milled=milled, track=track, ramp=None if tip else ramp, tip=tip, layers=layers,
        touch_off=_touch_off(task, milled, work), force=force, spring=spring, finish_spring=finish,
        warnings=tuple(sorted(_warn(task, milled, ramp, finish))),
    )  # fmt: skip


def square_work(task: SquareTask) -> MillWork:
    """Return the work that a program for a square is judged against: it is the same whatever the cutter and moves."""
    milled = as_milled(task.square, task.allowance)
    frame = tipped(milled.slope, milled.station) if task.way == "tipped block" else LEVEL
    return MillWork(sections=task.sections, fixtures=task.fixtures, frame=frame, square=milled, wall=task.wall,
                    limits=task.limits, lined_up=task.lined_up)  # fmt: skip


# Sums ---------------------------------------------------------------------------------------------------------


def _track(task: SquareTask, milled: Square, work: MillWork, ramp: Ramp, half: float) -> Track:
    """Return the cutter's track on a finished face."""
    radius, length = task.cutter.radius, milled.length
    rough = plan_ramp(0.0, radius, half, task.crown).across
    side = -(milled.blank / 2 + radius + task.rapid_clearance)
    if work.frame.sin:
        enter = work.frame.to_machine(task.wall, across_at(milled, task.wall) / 2)[0] + radius
        out = work.frame.to_machine(length, across_at(milled, length) / 2)[0] + radius + task.rapid_clearance
        z = across_at(milled, milled.station) / 2 * work.frame.cos
        return Track(enter, out, z, z, work.frame.cos, side, ramp.across, rough, half)
    enter, out = task.wall + radius, length + radius + task.rapid_clearance
    heights = [across_at(milled, x) / 2 + ramp.lift for x in (enter, out)]
    return Track(enter, out, heights[0], heights[1], 1.0, side, ramp.across, rough, half)


def _layers(task: SquareTask, milled: Square) -> tuple[float, ...]:
    """Return what is left on a flat after each roughing layer, mm: even layers no deeper than the cutter takes.

    On a ramp one path leaves its sides higher than its middle, which the next one meets on top of its own depth.
    """
    deep, radius = depth_at(milled, milled.length) - task.left, task.cutter.radius
    uneven = milled.slope * (radius - math.sqrt(max(radius**2 - (widest_cut(milled) / 2) ** 2, 0.0)))
    most = task.cutter.deepest_cut - (0.0 if task.way == "tipped block" else uneven)
    count = max(1, math.ceil(deep / max(most, task.cutter.minimum_cut) - 1e-9))
    return tuple(task.left + deep * (count - k) / count for k in range(1, count + 1))


def _springs(task: SquareTask, milled: Square, layers: tuple[float, ...]) -> tuple[float, float, float]:
    """Estimate the force of the deepest layer, N, and how far the tip bends under it and the finishing cut, mm."""
    per_tooth = task.feed / (task.rpm * task.cutter.teeth)
    deep = (depth_at(milled, milled.length) - task.left) / len(layers)
    force = milling_force(task.kc11, task.mc, deep, per_tooth, task.cutter.teeth)
    fine = milling_force(task.kc11, task.mc, task.left, per_tooth, task.cutter.teeth)
    rounds = [(s.start, s.end, 2 * s.top) for s in task.sections]
    start, tip, _ = rounds[-1]
    squared = [*rounds[:-1], (start, tip, across_at(milled, tip))]  # as a round: a square is 1.7 times as stiff
    rough = spring_of_overhang(rounds, tip, force, task.modulus)
    return force, rough, spring_of_overhang(squared, tip, fine, task.modulus)


def _touch_off(task: SquareTask, milled: Square, work: MillWork) -> tuple[str, float]:
    """Return where the cutter's end first meets the round, and what Z is then."""
    if work.frame.sin:
        z = work.frame.to_machine(milled.length - task.edge, milled.blank / 2)[1]
        return "the top of the round at its tip, where it stands highest", z
    return "the top of the round", milled.blank / 2


# Checks -------------------------------------------------------------------------------------------------------


def check_by_itself(task: SquareTask) -> list[Problem]:
    """Return what stands against a square and its cutter wherever the work stands in its collet."""
    return check_square(task.square, task.bearing) or list(_check_task(task, as_milled(task.square, task.allowance)))


def _check_task(task: SquareTask, milled: Square) -> Iterator[Problem]:
    cutter, where = task.cutter, task.where
    if cutter.kind != "end mill":
        yield problem(where, "a square is milled with an end mill", cutter.name)
        return
    if min(task.rpm, task.feed, task.left, task.crown, task.rapid_clearance) <= 0:
        what = "speed, feed, what is left before measuring, crown and clearance are above zero"
        yield problem(where, what)
        return
    if across_at(milled, 0.0) >= milled.blank:
        given = (
            f"{say(across_at(milled, 0.0), task)} across flats at the shoulder, from {say(milled.blank, task)} round"
        )
        what = "with what is left for file and stone the flats do not reach into the round"
        yield problem(where, what, given, fix="leave less, or turn the round larger")
    elif depth_at(milled, milled.station) <= task.left:
        what = "nothing is cut at the station before the pairs are measured"
        allowed = f"less than {say(depth_at(milled, milled.station), task)}"
        yield problem(where, what, f"{say(task.left, task)} left on each flat", allowed, "leave less before measuring")
    if task.left < cutter.minimum_cut:
        what, allowed = (
            "the finishing cut is thinner than the cutter can take",
            f"at least {say(cutter.minimum_cut, task)}",
        )
        yield problem(where, what, say(task.left, task), allowed, "leave more before measuring")
    deep = depth_at(milled, milled.length)
    if deep > cutter.flutes:
        what = "the flats are deeper than the cutter's flutes are long"
        yield problem(where, what, say(deep, task), say(cutter.flutes, task), "take a longer cutter")
    if task.way == "tipped block" and task.spacing <= 0:
        yield problem(
            where, "a tipped block needs the distance from its edge to the shim", allowed=f"above 0 {task.unit}"
        )
    yield from _check_shoulder(task, milled)


def _check_shoulder(task: SquareTask, milled: Square) -> Iterator[Problem]:
    """Check that the flats end on the square, or in a groove wide and deep enough for the cutter to end in."""
    where = task.where
    if milled.station < task.wall:
        given = f"{say(milled.station, task)} from the shoulder"
        what = "the station lies where no flat is"
        yield problem(where, what, given, f"at least {at_least(task.wall, task)}", "name a station farther out")
    if task.wall >= 0:
        if task.wall >= milled.length / 2:
            what = "so little of the square is left that nothing can be measured on it"
            yield problem(where, what, f"flats end {say(task.wall, task)} from the shoulder")
        return
    if -task.wall >= task.groove:
        what, allowed = "the flats run out beyond the undercut groove", f"less than {say(task.groove, task)}"
        yield problem(where, what, say(-task.wall, task), allowed, "stop sooner, or turn a wider groove")
    middle = next((s for s in task.sections if s.start <= task.wall < s.end), None)
    if middle is not None and middle.top > across_at(milled, 0.0) / 2:
        what = "the undercut groove is shallower than the flats, so the cutter does not end in it"
        given = f"{say(2 * middle.top, task)} diameter"
        yield problem(where, what, given, f"at most {at_most(across_at(milled, 0.0), task)}", "turn it deeper")


def _check_room(task: SquareTask, work: MillWork, track: Track) -> Iterator[Problem]:
    """Check cutter, shank and holder against nut, block, jaws and the work, all along the lowest pass."""
    places = [
        ((track.enter_x, track.side, track.enter_z), (track.enter_x, track.half, track.enter_z)),
        ((track.enter_x, 0.0, track.enter_z), (track.out_x, 0.0, track.out_z)),
    ]
    worst: dict[str, tuple[float, str]] = {}
    for start, end in places:
        for solid in (*work.fixtures, *work.sections):
            own = [solid] if solid in work.fixtures else []
            near = nearest(task.cutter, start, end, own, [] if own else [solid], work.frame)
            if near.distance < min(task.contact_clearance, worst.get(solid.name, (math.inf, ""))[0]):
                worst[solid.name] = (near.distance, near.body)
    for name, (distance, body) in sorted(worst.items()):
        given = f"{say(distance, task)} away" if distance >= 0 else f"{say(-distance, task)} into it"
        what = f'the {body} does not clear "{name}"'
        fix = "let the work stick out farther, hold the cutter longer, or take a thinner one"
        yield problem(task.where, what, given, f"at least {say(task.contact_clearance, task)}", fix)


def _warn(task: SquareTask, milled: Square, ramp: Ramp, spring: float) -> Iterator[Problem]:
    where = task.where
    if not math.isnan(task.key):
        yield from warn_of_loose_key(task.square, task.key, where)
    if task.gripped < LEAST_GRIP * task.gripped_diameter:
        what = "the collet grips little: the cut may pull the work out"
        given = f"{say(task.gripped, task)} of {say(task.gripped_diameter, task)} diameter"
        least = at_least(LEAST_GRIP * task.gripped_diameter, task)
        allowed = f"at least {least}: 1.5 diameters (common practice, no source)"
        yield problem(where, what, given, allowed, "grip more, and take light cuts")
    if 2 * spring > max(task.limits[1] - task.limits[0], ramp.crown):
        what = "the tip bends under the finishing cut by more than the limits allow (an estimate)"
        given = f"about {say(2 * spring, task)} on the size across flats"
        fix = "finish with a lighter cut, set a small jack under the tip, or let less stick out"
        yield problem(where, what, given, say(task.limits[1] - task.limits[0], task), fix)
    behind = [s for s in task.sections if s.end <= 0 and s.top > milled.blank / 2]
    if 0 <= task.wall < 0.05 and behind and behind[-1].end > -1e-9:
        what = f'the cutter\'s side runs on the finished face of "{behind[-1].name}"'
        given = f"flats end {say(task.wall, task)} from it"
        yield problem(
            where, what, given, f"at least {at_least(0.05, task)}", "let the flats end a little before the shoulder"
        )


# Moves --------------------------------------------------------------------------------------------------------


class _SquareMoves:
    """The moves of a square, in order.

    Attributes:
        clear: Z over the work, from the square to the tip. high: over all that holds it too, for a tool that comes from
            anywhere: at the beginning, and where the program is begun again at a pass.
        turning: whether the spindle turns now. up: the flat that is on top; 0 while none is said to be.
    """

    def __init__(
        self, task: SquareTask, milled: Square, work: MillWork, track: Track, ramp: Ramp, layers: tuple[float, ...]
    ) -> None:
        self.task, self.milled, self.work = task, milled, work
        self.track, self.ramp, self.layers = track, ramp, layers
        lift = work.frame.to_machine(milled.length, work.top)[1] - work.top
        self.clear = settable(work.top + lift + task.rapid_clearance, task.unit)
        self.high = max(self.clear, settable(work.highest + task.rapid_clearance, task.unit))
        self.park_x = settable(track.out_x + ROOM, task.unit)
        self.turning = False
        self.up = 0

    def all(self) -> Iterator[Move]:
        """Return every move, from the proof to the end, without motions that lead nowhere."""
        return without_idle(self.everything())

    def everything(self) -> Iterator[Move]:
        """Return every move: a pass begins from anywhere, and a stop is parked for, whatever was before."""
        flats = self.milled.flats
        what, top = _touch_off(self.task, self.milled, self.work)
        unit = self.task.shown_unit
        yield ChangeTool(tool=self.task.cutter, touch=f"{show_fine(top, unit, trim=True)} on {what}")
        over = "the round at its tip" if self.work.frame.sin else "the round"
        end = self.work.frame.to_machine(self.milled.length, 0.0)[0]
        yield prove_zero(self.high, top, over, ("the end face", end), unit)
        yield from (Rapid(axis="z", to=self.high), Rapid(axis="x", to=self.park_x))
        if self.task.way == "rotary" and not self.task.axis_proved:
            yield from prove_axis("flat 1")
        yield from self.index(1)
        yield from self.prove()
        for first, second in flats_in_pairs(flats):
            yield from self.index(first)
            yield from self.rough(first)
            yield from self.halt(self.round_stop(first, second))
            yield from self.index(second)
            yield from self.rough(second)
            yield from self.halt(self.pair_stop(first, second))
        yield from self.halt(self.correct_stop())
        for flat in range(1, flats + 1):
            yield from self.index(flat)
            yield from self.layer(f"flat {flat}, finish", 0.0, self.track.across)
        yield from self.halt(self.last_stop())
        yield EndProgram()

    def stands(self, left: float, *, begun: bool) -> str:
        """Say what a tool that is set anew touches before a pass, as less and less of the round is left; or "".

        While there is roughing it is set as it stood last, right or not: the mean of the pairs shows by how much. A
        flat that slopes is touched where the cutter stood at the station, on the way that cut it. The last flat of all
        still stands as it was roughed while the first one is finished, however far that is.

        Args:
            left: what the layer leaves, mm; 0 for the finish. begun: whether the flat has paths of this layer.
        """
        t, at = self.track, self.milled.station
        slope = (t.out_z - t.enter_z) / (t.out_x - t.enter_x)
        where, z = ("", t.enter_z) if not slope else (f"at X {self.said(at)} ", t.enter_z + slope * (at - t.enter_x))
        rough = f"{where}Z {self.said(z + self.layers[-1] * t.steep)} on flat"
        back = f", turned up for that, then flat {self.up} again"
        if left:
            return f"{rough} 1 as it stands, less what was missing there{back}" if self.up > 1 else ""
        if self.up > 1 or begun:
            return f"{where}Z {self.said(z)} on flat 1, where it is finished{back if self.up > 1 else ''}"
        over = f"half of what its pair read over {self.said(self.size_now())}"
        return f"{rough} {self.milled.flats} as it stands, and {over}{back}"

    def said(self, value: float) -> str:
        """Return a figure as the control shows it."""
        return show_fine(value, self.task.shown_unit, trim=True).split()[0]

    def prove(self) -> Iterator[Move]:
        """Stand at a known height over the round before anything is cut."""
        x = self.milled.length / 2
        top = self.work.frame.to_machine(x, self.milled.blank / 2)[1]
        stand = round(max(top + PROOF_GAP, self.clear), 4)
        gap = show_fine(stand - top, self.task.shown_unit, trim=True)
        yield from (Rapid(axis="z", to=stand), Rapid(axis="x", to=round(x, 4)), Rapid(axis="y", to=0.0))
        yield Stop(
            reason="prove",
            lines=(
                *(stands_to(self.task.lined_up) if self.task.way == "rotary" else ()),
                f"The cutter stands {gap} above the top of the round, over the middle of its length.",
                "Try the gap with a slip or a drill's shank. If it is wrong, set Z again and begin anew.",
                "Wear eye protection. Keep hands and sleeves away while the spindle turns.",
            ),
        )

    def halt(self, stop: Stop) -> Iterator[Move]:
        """Go up, off the tip where there is room, turn the spindle off, and stop."""
        yield from self.park()
        yield from self.spin(False)
        yield stop

    def park(self) -> Iterator[Move]:
        """Go up, then off the tip, where there is room to measure and to turn the work."""
        yield from (Rapid(axis="z", to=self.clear), Rapid(axis="x", to=self.park_x))

    def spin(self, on: bool) -> Iterator[Move]:
        """Start or stop the spindle, unless it does so."""
        if on is not self.turning:
            self.turning = on
            yield TurnSpindle(rpm=self.task.rpm) if on else StopSpindle()

    def index(self, flat: int) -> Iterator[Move]:
        """Bring a flat to the top: a stop where it is done by hand, an A word where the machine does it."""
        if flat == self.up:
            return
        first, self.up = not self.up, flat
        by_hand = self.task.way != "rotary"
        yield from self.park()
        if by_hand:
            yield from self.spin(False)
        turn = Index(angle=flat_angle(flat, self.milled.flats), by_hand=by_hand, what=f"flat {flat}")
        yield line_up(turn, self.task.lined_up) if first else turn

    def rough(self, flat: int) -> Iterator[Move]:
        """Mill all layers of a flat; the last one in as many passes as the finish, so that it is measured alike."""
        for number, left in enumerate(self.layers, 1):
            last = number == len(self.layers)
            name = f"flat {flat}, layer {number} of {len(self.layers)}"
            across = self.track.across if last else self.track.rough
            yield from self.layer(name, left, across)

    def layer(self, name: str, left: float, across: tuple[float, ...]) -> Iterator[Move]:
        """Mill one layer: each path from beside the shoulder, across, and out off the tip."""
        yield from self.spin(True)
        t, feed = self.track, self.task.feed
        enter_z, out_z = t.enter_z + left * t.steep, t.out_z + left * t.steep
        for number, y in enumerate(across, 1):
            count = f", path {number} of {len(across)}" if len(across) > 1 else ""
            yield StartPass(name=name + count, touch=self.stands(left, begun=number > 1))
            yield Rapid(axis="z", to=self.high)
            if self.task.way == "rotary":  # the program may be begun here, the work turned anyhow
                yield Index(angle=flat_angle(self.up, self.milled.flats), by_hand=False, what=f"flat {self.up}")
            yield from (Rapid(axis="x", to=t.enter_x), Rapid(axis="y", to=t.side))
            yield Rapid(axis="z", to=enter_z)
            if number == len(across):
                # the wall, straight over its whole width
                yield Feed(x=t.enter_x, y=t.half, z=enter_z, feed=feed, minute=True)
            yield Feed(x=t.enter_x, y=y, z=enter_z, feed=feed, minute=True)
            yield Feed(x=t.out_x, y=y, z=out_z, feed=feed, minute=True)
            yield Rapid(axis="z", to=self.clear)

    def round_stop(self, first: int, second: int) -> Stop:
        """Measure over one flat and the round opposite: the check before the pair is committed."""
        expected = (self.milled.blank + self.size_now()) / 2
        return Stop(
            reason="measure",
            lines=(
                *_BEFORE_MEASURING,
                f"Measure over flat {first} and the round opposite, the anvil's edge at the station.",
                "It counts on the round's true size: half of what that is over or under shows here.",
                f"If it reads small, stop: {self.set_z('down', 'what is missing')} before flat {second} is cut. "
                f"{_NO_OFFSET}",
            ),
            readings=(Reading(f"flat {first} to round", expected, expected, expected, self.milled.station),),
        )

    def pair_stop(self, first: int, second: int) -> Stop:
        """Measure across two opposite flats."""
        across, name = self.size_now(), f"across flats {first} and {second}"
        return Stop(
            reason="measure",
            lines=(*_BEFORE_MEASURING, f"Measure {name} at the station, and write it down."),
            readings=(Reading(name, across, across, across, self.milled.station),),
        )

    def size_now(self) -> float:
        """Return what a micrometer shows at the station once the roughing is done, mm: it touches the crown."""
        return across_at(self.milled, self.milled.station) + 2 * (self.task.left + self.crown)

    @property
    def crown(self) -> float:
        """Return how far the highest lines of a flat stand above the wanted face, mm."""
        return self.ramp.crown if self.work.frame == LEVEL else 0.0

    def correct_stop(self) -> Stop:
        """Have Z set anew by what the pairs read, once all is roughed."""
        over = STEP[self.task.shown_unit]
        look = "see whether the work has moved" if self.task.way == "rotary" else "look for chips under the block"
        example = f"as {self.said(self.clear + over / 2)} for {self.said(self.size_now() + over)}"
        return Stop(
            reason="correct",
            lines=(
                "Count only pairs of which both flats were cut since Z was last set; with none, leave Z alone.",
                f"Take the mean of the pairs. {self.set_z('up', 'half of what the mean is over')}, {example}, down "
                f"by half of what it is under. {_NO_OFFSET}",
                "Leave Z alone for less than the dial or readout can set.",
                f"If the pairs that count differ from each other, {look} before going on.",
            ),
        )

    def set_z(self, way: str, much: str) -> str:
        """Say what Z reads at a stop that is parked for, and which way it is set: the cutter goes the other way."""
        return f"Z reads {self.said(self.clear)} here: set it {way} by {much}"

    def last_stop(self) -> Stop:
        """Measure all pairs, at the station, with limits."""
        aim = across_at(self.milled, self.milled.station)
        low, high = aim + self.task.limits[0], aim + self.task.limits[1]
        corners = readings_at(self.milled, self.milled.station).over_corners
        names = [f"across flats {a} and {b}" for a, b in flats_in_pairs(self.milled.flats)]
        return Stop(
            reason="measure",
            lines=(
                *_BEFORE_MEASURING,
                "Measure every pair at the station and at the tip, then over the corners at the station:"
                f" {self.said(corners)} expected. Try the key.",
                "Do not take the work out before this is done.",
            ),
            readings=tuple(Reading(n, aim + 2 * self.crown, low, high, self.milled.station) for n in names),
        )


_NO_OFFSET = "If this control takes no offset here: end the program, set it, and begin at the next pass."
_BEFORE_MEASURING = (
    "The spindle stands still. Brush the chips away, never with the fingers.",
    "Take the burrs off the flat's edges first: they spoil the reading.",
)
