"""Passes -> moves: approach, cut, retreat, stops. No RS-274 word here."""

from __future__ import annotations

import math
from collections.abc import Iterator
from math import floor
from typing import Literal

from cam.geometry.path import Arc, Chain, Line, Point, Segment, sweep_angle
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH, decimals_of, show_length, show_number
from cam.moves.model import (
    ChangeTool,
    EndProgram,
    Feed,
    FeedArc,
    FeedThread,
    Move,
    Rapid,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
)
from cam.plan.arc_proof import arc_radius, must_prove_arcs
from cam.plan.model import Pass, SettingPlan
from cam.plan.touch import END_FACE, end_is_faced, section_of, side_on_end, touched
from cam.plan.tried import slip_of, tried_before
from cam.plan.warm import warm_before
from cam.setting.fastest import speed_limits
from cam.setting.model import NOT_CORRECTED, Correction, Turned
from cam.shop.model import Shop

CLEAR_OF_PLAY = 0.1
"""How much further than its backlash X goes in, mm, to come out to where callipers find it as at every other stop."""
ARC_FEED = 60.0
"""The feed of the arc in air, mm/min: it takes some ten seconds, time for a hand at the stop."""
SET_AGAIN = "set the tailstock again, work is warm"
PROOF = ("the tip must stand where callipers say, otherwise radius and diameter are confused: stop",)


def make_moves(plan: SettingPlan, shop: Shop) -> tuple[Move, ...]:
    """Make every move of one setting, in order.

    The first is X alone, outward in air, to the proof diameter, and a stop. Rapids move one axis at a
    time; X goes out before Z goes back; the spindle and its speed are set before a pass begins.
    """
    hand = _Hand(plan, shop)
    return tuple(hand.moves())


class _Hand:
    """Makes the moves, remembering where the tool is, which one it is, and the speed."""

    def __init__(self, plan: SettingPlan, shop: Shop) -> None:
        self.plan = plan
        self.shop = shop
        self.fastest = min([shop.lathe.spindle.fastest, *(floor(w.rpm) for w in speed_limits(plan.setting))])
        self.at: Point | None = None
        self.tool = 0
        self.speed: tuple[float, str, float | None] | None = None
        self.by_switch = shop.lathe.spindle.by_switch
        self.turning = False
        self.warm = warm_before(plan)
        self.first_thread = next((p for p in plan.passes if p.kind == "thread"), None)

    def moves(self) -> Iterator[Move]:
        """Yield all moves of the setting."""
        plan = self.plan
        passes = plan.passes
        if passes:
            yield ChangeTool(tool=passes[0].tool)
            self.tool = passes[0].tool.number
        yield Rapid(axis="x", to=plan.proof_diameter / 2)
        yield Stop(reason="prove", lines=PROOF)
        yield Rapid(axis="z", to=plan.park.z)
        yield Stop(reason="prove Z", lines=(self.beside_the_end(),))
        self.at = Point(plan.park.z, plan.proof_diameter / 2)
        if must_prove_arcs(passes, self.shop.lathe.control):
            yield from self._prove_arcs()
        for cut in passes:
            yield from self._one_pass(cut)
        yield from self._park()
        yield from self._stop_spindle()
        yield EndProgram()

    def _prove_arcs(self) -> Iterator[Move]:
        """Move half a circle outward in air, swinging toward the headstock; taken the other way it swings off the work.

        Either way it keeps outside the X, and on the headstock side of the Z, at which the tool was proved.
        """
        z, x = self.plan.park
        radius = arc_radius(self.plan.setting, self.shop, self.plan.passes[0], self.plan.park)
        middle = Point(z - radius, x + radius)
        arc = FeedArc(
            x=x + 2 * radius, z=middle.z, centre_x=middle.x, centre_z=middle.z, turn=-1, feed=ARC_FEED, minute=True
        )
        yield Stop(reason="arc next", lines=(), arc=arc)
        yield Rapid(axis="z", to=middle.z)
        yield arc
        self.at = Point(arc.z, arc.x)
        yield from self._park()
        if play := float(self.shop.lathe.x.backlash):
            yield from (Rapid(axis="x", to=x - play - CLEAR_OF_PLAY), Rapid(axis="x", to=x))
        yield Stop(reason="arc seen", lines=(), arc=arc)

    def beside_the_end(self, cut: Pass | None = None) -> str:
        """Say where the parked tip stands along the axis from the end face, before a pass: "0.5 mm outside the end"."""
        setting = self.plan.setting
        end = setting.end_z if cut is not None and end_is_faced(self.plan, cut) else setting.stock_end_z
        off = self.plan.park.z - end
        distance = show_length(abs(off), self.shop.lathe.control.units, 3, trim=True)
        return f"{distance} {'outside' if off >= 0 else 'inside'} the end"

    def _one_pass(self, cut: Pass) -> Iterator[Move]:
        """Make all that an N line starts: tool, belt, tailstock and spindle are said, and stopped for, within it."""
        wanted = (cut.rpm, cut.speed_name, cut.held_speed)
        changes_tool = cut.tool.number != self.tool
        stops = tuple(self._stops_before(cut, new_belt=self.speed is None or self.speed[1] != wanted[1]))
        if changes_tool or (stops and self.speed is not None):
            yield from self._park()
            yield from self._stop_spindle()
        name = f"{cut.kind}, {', '.join(cut.sections)}"
        yield StartPass(name=name, cut=cut, changes=changes_tool, touch=self.touch_on(cut))
        if changes_tool:
            yield from self._change_tool(cut)
        yield from stops
        yield from self._try(cut)
        self.speed = wanted
        if cut is self.first_thread:
            yield from self._prove_thread(cut)
        yield from self._turn(cut)
        yield from self._approach(cut)
        yield from self._path(cut)
        for point in cut.leave:
            yield from self._rapid(point)
        if cut.measure:
            yield from self._measure(cut)

    def _change_tool(self, cut: Pass) -> Iterator[Move]:
        """Call the tool of a pass and stop for it to be set, the tip to stand at the parked place."""
        yield ChangeTool(tool=cut.tool, touch=self.touch_on(cut))
        self.tool = cut.tool.number
        yield Rapid(axis="x", to=self.plan.park.x)
        yield Rapid(axis="z", to=self.plan.park.z)
        yield Stop(reason="tool set", lines=(self.beside_the_end(cut), *self.face_on(cut)))

    def _measure(self, cut: Pass) -> Iterator[Move]:
        """Park, stop the spindle, and stop for what is to be measured after a pass."""
        yield from self._park()
        yield from self._stop_spindle()
        face = self.face_on(cut) if any(m.over and m.cut_left for m in cut.measure) else ()
        yield Stop(reason="measure", lines=tuple(m.what for m in cut.measure), measure=cut.measure, face=face)

    def _turn(self, cut: Pass) -> Iterator[Move]:
        """Start the spindle; where a person switches it, ask for that."""
        if self.by_switch and not self.turning:
            yield Stop(reason="spindle on", lines=(f"start the spindle, {cut.rpm:.0f} rev/min",))
        self.turning = True
        rpm = self.fastest if cut.css else cut.rpm
        yield TurnSpindle(rpm=rpm, surface_speed=cut.held_speed, speed_name=cut.speed_name)

    def _prove_thread(self, cut: Pass) -> Iterator[Move]:
        """Run the first pass of a thread in air, in step with the spindle: a person sees how its lead is taken."""
        (piece,), clear = cut.path, cut.leave[0].x
        long = abs(piece.end.z - piece.start.z)
        way = f"from Z {self._say(piece.start.z)} to Z {self._say(piece.end.z)}"
        seconds = f"in some {show_number(60 * long / cut.feed / cut.rpm, 1)} s"
        yield Stop(reason="thread next", lines=(way, seconds))
        yield from self._turn(cut)
        yield from self._rapid(Point(piece.start.z, clear))
        yield FeedThread(z=piece.end.z, lead=cut.feed)
        self.at = Point(piece.end.z, clear)
        yield from self._park()
        yield from self._stop_spindle()
        yield Stop(reason="thread seen", lines=(way, seconds), face=self.face_on(cut))

    def _try(self, cut: Pass) -> Iterator[Move]:
        """Move the tip to a slip's thickness off what was just measured, before a last cut, the spindle standing."""
        for tried in tried_before(self.plan, cut, slip_of(self.shop.lathe)):
            place = self.at = tried.place
            yield Rapid(axis="x", to=max(cut.approach[0].x, place.x))
            yield Rapid(axis="z", to=place.z)
            yield Rapid(axis="x", to=place.x)
            lines = ("Z is not told here",) if tried.alone else ()
            yield Stop(
                reason="try", lines=lines, measure=tried.measured, place=place, gaps=tried.gaps, slope=tried.slope
            )
            yield from self._park()

    def _stops_before(self, cut: Pass, *, new_belt: bool) -> Iterator[Stop]:
        """Yield the stops for what a person does before a pass, in order."""
        if cut.number in self.warm:
            yield Stop(reason="warm", lines=(SET_AGAIN,))
        if cut.speed_name and new_belt:
            yield Stop(reason="belt", lines=(f"set the belt to {cut.speed_name}, about {cut.rpm:.0f} rev/min",))
        if cut.before:
            yield Stop(reason="hand", lines=cut.before)

    def _stop_spindle(self) -> Iterator[Move]:
        """Stop the spindle; where a person switches it, ask for that."""
        yield StopSpindle()
        if self.by_switch and self.turning:
            yield Stop(reason="spindle off", lines=("switch spindle off",))
        self.turning = False

    def touch_on(self, cut: Pass) -> str:
        """Say what is finished before a pass and still stands, for a tool whose zero is set late; "" for nothing.

        In figures of this control: "X 2.005 on back pivot, diameter 4.01, Z 38.5 on the shoulder past back pivot".
        """
        size, face = touched(self.plan, cut).size, self.face_on(cut)
        on_face = f", Z {face[1]} on the {face[0]}" if face else ""
        if size is None:
            return f"X as said above{on_face}" if face else ""
        last = section_of(self.plan, size)
        x = last.radius_far - self._off(cut, last).radius
        shown = self._say(x * self.shop.lathe.control.x_factor)
        return f"X {shown} on {last.section.name}, diameter {self._say(2 * last.radius_far)}{on_face}"

    def face_on(self, cut: Pass) -> tuple[str, ...]:
        """Return any shoulder faced before a pass, best its own, and its Z: "shoulder past front seat", "-33.5".

        Without one it is the end face, once that is faced: it then lies where the head of the program does not say.
        For a threading tool it is that too, which its side touches while its point, the middle, stands off.
        """
        side = side_on_end(self.plan, cut.tool)
        if side is not None:
            return END_FACE, self._say(side)
        face = touched(self.plan, cut).face
        if face is None:
            return ("end face", self._say(self.plan.setting.end_z)) if end_is_faced(self.plan, cut) else ()
        past = section_of(self.plan, face)
        return f"shoulder past {past.section.name}", self._say(past.far - self._off(cut, past).face)

    def _off(self, cut: Pass, turned: Turned) -> Correction:
        """Return how far off a finished section the tool of a pass stands by what it reads there.

        One that turns is set as the tool stood that cut the section, whose corrected passes it goes on with. Any other
        is set on the section as it is.
        """
        return self.plan.setting.correction_of((turned.section.name,)) if cut.tool.kind == "turning" else NOT_CORRECTED

    def _say(self, value: float) -> str:
        units = self.shop.lathe.control.units
        return show_number(value / MM_PER_INCH if units == "in" else value, decimals_of(units), trim=True)

    def _approach(self, cut: Pass) -> Iterator[Move]:
        assert self.at is not None
        first = cut.approach[0]
        yield Rapid(axis="x", to=first.x)
        yield Rapid(axis="z", to=first.z)
        self.at = first
        for index, point in enumerate(cut.approach[1:], start=1):
            if index >= cut.feed_from:
                yield Feed(x=point.x, z=point.z, feed=float(self.shop.lathe.most_feed))
                self.at = point
            else:
                yield from self._rapid(point)

    def _path(self, cut: Pass) -> Iterator[Move]:
        facts = self.shop.lathe.control.facts
        path = lines_for(cut.path, facts.arc_height) if facts.arcs == "lines" else cut.path
        for piece in path:
            end = piece.end
            if cut.kind == "thread":
                yield FeedThread(z=end.z, lead=cut.feed)
            elif isinstance(piece, Arc):
                centre = piece.centre
                yield FeedArc(x=end.x, z=end.z, centre_x=centre.x, centre_z=centre.z, turn=piece.turn, feed=cut.feed)
            else:
                straight_out = cut.out_feed and end.z == piece.start.z and end.x > piece.start.x
                yield Feed(x=end.x, z=end.z, feed=cut.out_feed if straight_out else cut.feed)
            self.at = end

    def _rapid(self, to: Point) -> Iterator[Move]:
        """Move one axis at a time: outward X first, inward X last."""
        assert self.at is not None
        x_first = to.x >= self.at.x
        order: tuple[Literal["x", "z"], ...] = ("x", "z") if x_first else ("z", "x")
        for axis in order:
            if abs(getattr(to, axis) - getattr(self.at, axis)) > ROUNDING:
                self.at = Point(z=to.z, x=self.at.x) if axis == "z" else Point(z=self.at.z, x=to.x)
                yield Rapid(axis=axis, to=self.at.x if axis == "x" else self.at.z)

    def _park(self) -> Iterator[Move]:
        yield from self._rapid(Point(z=self.plan.park.z, x=self.plan.park.x))


FINEST = math.radians(1.0)
"""The least angle by which a line turns, whatever the height: below it the program only grows."""


def lines_for(path: Chain, height: float) -> Chain:
    """Return the path with each arc as lines, never on its finished side and nowhere further off than height, mm."""
    return tuple(piece for one in path for piece in _lines_of(one, height))


def _lines_of(piece: Segment, height: float) -> Iterator[Segment]:
    if isinstance(piece, Line):
        yield piece
        return
    here = piece.start
    for point in (*_corners(piece, height), piece.end):
        yield Line(here, point)
        here = point


def _corners(arc: Arc, height: float) -> Iterator[Point]:
    """Yield where the lines meet: outside an arc whose centre lies in the metal, and on it where that lies in air.

    A path that goes toward the headstock has the metal on its left, drawn with z to the right and x up; one that
    comes back has it on its right.
    """
    radius, sweep = arc.radius, sweep_angle(arc)
    round_metal = (arc.turn > 0) == (arc.end.z < arc.start.z)
    share = radius / (radius + height) if round_metal else max(1.0 - height / radius, 0.0)
    count = max(math.ceil(sweep / max(2 * math.acos(share), FINEST) - 1e-9), 1)
    step = arc.turn * sweep / count
    begin = math.atan2(arc.start.x - arc.centre.x, arc.start.z - arc.centre.z)
    out, first, points = (1 / math.cos(step / 2), 0.5, count) if round_metal else (1.0, 1.0, count - 1)
    for k in range(points):
        angle = begin + (first + k) * step
        yield Point(arc.centre.z + radius * out * math.cos(angle), arc.centre.x + radius * out * math.sin(angle))
