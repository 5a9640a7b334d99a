"""Work out from part and shop what the mill is to do: how the work is held, where X is zero, which cutter, how fast."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.units import MM_PER_INCH, QuantityError
from cam.lengths.solved import Solved
from cam.mill.plan_hole import HoleTask, plan_cross_hole
from cam.mill.plan_square import SquareTask, check_by_itself
from cam.part.features import BEARING_ROLES, End, size_of, undercut_at
from cam.part.milled import Hold, HoleAsked, Milled, SquareAsked
from cam.part.model import Section
from cam.part.threads import Thread, find_thread, nearest_drills, percent_of_thread
from cam.setting.aims import aim_diameters
from cam.setting.milled import Solid, Way, bar, block, solids_at
from cam.setting.square import Square, check_key, depth_at
from cam.setting.words import at_most, say
from cam.shop.materials import built_in_materials
from cam.shop.mill import Cutter, Mill
from cam.shop.model import Shop

WAY: dict[str, Way] = {"tipped block": "tipped block", "ramped": "level block", "rotary axis": "rotary"}
"""The word of the shop file -> the planner's word for it."""
LEFT = 0.05
"""What is left on each flat before its pair is measured, mm, if the cutter can take it. Common practice, no source."""
BEST_PERCENT, LEAST_PERCENT, MOST_PERCENT = 70.0, 50.0, 85.0
"""Percent of thread that a tapping drill should leave, and the bounds that are taken. Common practice, no source."""
DEEP = 1.5
"""A drill deeper than this, in diameters, is drawn out at every diameter to clear chips. Common practice, no source."""


@frozen
class SquareJob:
    """What is asked of a square, and the tasks that could do it, one for each end mill, the largest first.

    Attributes:
        needs: names of the sections that must be turned before: its own, all that the collet meets or leaves outside.
        tip: the end of the part that points along +X. held: diameter of what the collet grips, as turned, mm.
    """

    asked: SquareAsked
    tasks: tuple[SquareTask, ...]
    needs: tuple[str, ...]
    tip: End
    held: float


@frozen
class HoleJob:
    """A cross hole as asked and as it is to be made.

    Attributes:
        number: its place among the cross holes of the part file, from 1. shoulder: what X counts from, in words.
        needs, tip, held: as in SquareJob.
    """

    asked: HoleAsked
    task: HoleTask
    number: int
    shoulder: str
    needs: tuple[str, ...]
    tip: End
    held: float


@frozen
class MillJobs:
    """All that the mill is to do. unplanned: what cannot be planned yet for want of lengths, in words."""

    square: SquareJob | None
    holes: tuple[HoleJob, ...]
    unplanned: tuple[str, ...]


class Held(Row):
    """The work in its collet, x from an origin toward the tip, mm: what stands out, what holds it, and where.

    Attributes:
        gripped: length in the collet. diameter: there. front: x where the collet's nut ends.
    """

    sections: tuple[Solid, ...]
    fixtures: tuple[Solid, ...]
    gripped: float
    diameter: float
    front: float


ALONE = 1000.0
"""How far a bar goes on to either side of a hole that may lie anywhere in it, mm."""
NOWHERE = Held((), (), math.inf, 0.0, 0.0)
"""Work of which it is not known yet where it stands in its collet."""


def _first_of(tasks: Sequence[SquareTask]) -> list[Problem]:
    """Return what stands against a square by itself, by the first of its end mills; nothing if another could cut it."""
    found = [check_by_itself(task) for task in tasks]
    return found[0] if found and all(found) else []


def settle_mill(part: Solved, shop: Shop) -> MillJobs | None:
    """Settle what the mill is to do; None for a part without square and cross hole.

    Raises:
        ProblemError: something stands against it; everything that does is reported at once.
    """
    milled = part.milled
    if milled is None:
        return None
    mill = shop.milling.mill
    if mill is None:
        where = milled.square.where if milled.square else milled.holes[0].where
        what, fix = "the shop file has no mill to cut this with", "write [mill] and [[cutter]] there"
        raise ProblemError([problem(where, what, shop.path, fix=f"{fix}, or leave this out here")])
    return _Settler(part, shop, mill, milled).settle()


class _Settler:
    """Settles the milling of one part in one shop."""

    def __init__(self, part: Solved, shop: Shop, mill: Mill, milled: Milled) -> None:
        self.part, self.shop, self.mill, self.milled = part, shop, mill, milled
        self.sections = {s.name: s for s in part.sections}
        self.material = shop.materials.get(part.stock.material) or next(iter(built_in_materials().values()))
        self.cutters = sorted(shop.milling.cutters, key=lambda c: c.number)
        measured = part.measured
        aims, _ = aim_diameters(part, shop)  # what stands against them is said with the settings
        self.sizes = {s.name: max(pair) for s, pair in zip(part.sections, aims.diameters, strict=True)}
        self.sizes |= {} if measured is None else measured.diameters
        self.wrong: list[Problem] = []
        self.unplanned: list[str] = []

    def settle(self) -> MillJobs:
        """Settle everything, or raise all that is wrong with it."""
        square = self.settle_square(self.milled.square) if self.milled.square else None
        holes: list[HoleJob] = []
        for asked in self.milled.holes:
            if (job := self.settle_hole(asked, holes)) is not None:
                holes.append(job)
        if self.wrong:
            raise ProblemError(sorted(set(self.wrong)))
        angles = ((job.asked.name, job.asked.angle % 360.0) for job in holes)
        lined_up = tuple((name, angle) for name, angle in angles if not math.isnan(angle))
        if square is not None:
            square = replace(square, tasks=tuple(replace(task, lined_up=lined_up) for task in square.tasks))
        return MillJobs(square=square, holes=tuple(holes), unplanned=tuple(self.unplanned))

    def note(self, where: Where, what: str, given: str = "", allowed: str = "", fix: str = "") -> None:
        """Keep a problem."""
        self.wrong.append(problem(where, what, given, allowed, fix))

    # Holding

    @property
    def sign(self) -> int:
        """Return +1 where the tip of the square is the B end, -1 where it is the A end; 0 without a square."""
        if self.milled.square is None:
            return 0
        return -1 if self.milled.square.section == self.part.sections[0].name else 1

    def outside(self, section: Section, sign: int) -> tuple[Section, ...]:
        """Return the sections from the gripped one to the tip."""
        at = self.part.sections.index(section)
        return self.part.sections[: at + 1] if sign < 0 else self.part.sections[at:]

    def hold(self, hold: Hold, origin: float, sign: int, groove: Solid | None = None) -> Held | None:
        """Hold the work in its collet; None where a length is still to be measured."""
        section = self.sections[hold.section]
        self.wrong += self.check_hold(hold, section, sign)
        far = section.end if sign < 0 else section.start
        front = (far - origin) * sign + hold.length
        outside = self.outside(section, sign)
        if math.isnan(origin + sum(s.start + s.end for s in outside)):
            return None
        places = [(s, sorted(((s.start - origin) * sign, (s.end - origin) * sign))) for s in outside]
        solids = [bar(s.name, max(x0, front), x1, self.sizes[s.name]) for s, (x0, x1) in places if x1 > front + 1e-9]
        if groove is not None:
            solids = [s._replace(start=0.0) if abs(s.start - groove.start) < 1e-9 else s for s in solids]
            solids.append(groove)
        solids.sort(key=lambda s: s.start)
        gripped = min(float(hold.length), float(self.mill.block.grip_length))
        return Held(tuple(solids), self.fixtures(front), gripped, self.sizes[section.name], front)

    def fixtures(self, front: float) -> tuple[Solid, ...]:
        """Return what holds the work: nut, block or rotary axis, jaws; front is x where the nut ends."""
        block_ = self.mill.block
        nut = front - block_.nose_length
        end = nut - block_.length
        body = bar if self.mill.square_by == "rotary axis" else block
        name = "rotary axis" if self.mill.square_by == "rotary axis" else "collet block"
        found = [bar("collet nut", nut, front, block_.nose_diameter), body(name, end, nut, block_.across)]
        if not math.isnan(self.mill.jaws_below):
            half, reach = self.mill.jaws_width / 2, nut + self.mill.jaws_beyond
            found.append(Solid("vice jaws", end, reach, -half, half, -self.mill.jaws_below, tilts=False))
        return tuple(found)

    def check_hold(self, hold: Hold, section: Section, sign: int) -> Iterator[Problem]:
        """Check that a collet can grip that section there."""
        low, high = self.mill.block.grip
        size, where = self.sizes[section.name], hold.length.where
        if section.role in BEARING_ROLES:
            what = f'"{section.name}" runs in a hole, and a collet would mark it'
            yield problem(where, what, f"role {section.role}", fix="grip a seat or the body")
        if section.is_taper:
            what, fix = f'"{section.name}" is a taper, and a collet grips a cylinder', "grip another section"
            yield problem(where, what, f"{section.diameter_a.text} to {section.diameter_b.text}", fix=fix)
        if not low - 1e-9 <= size <= high + 1e-9:
            what = f'no collet of the {self.mill.block.name} takes "{section.name}"'
            yield problem(
                where, what, f"{say(size, self.part)} as turned", f"{low.text} to {high.text}", "grip another section"
            )
        if hold.length > section.end - section.start:
            what = f'"{section.name}" is not so long'
            yield problem(where, what, hold.length.text, f"at most {at_most(section.end - section.start, self.part)}")
        for thick in (s for s in self.behind(section, sign) if self.sizes[s.name] > size + 1e-9):
            what = f'"{thick.name}" does not go through the collet that grips "{section.name}"'
            yield problem(
                where,
                what,
                f"{say(self.sizes[thick.name], self.part)} diameter",
                f"at most {at_most(size, self.part)}",
                "grip a thicker section",
            )

    def behind(self, section: Section, sign: int) -> tuple[Section, ...]:
        """Return the sections that lie in and behind the collet, without the gripped one."""
        at = self.part.sections.index(section)
        return self.part.sections[at + 1 :] if sign < 0 else self.part.sections[:at]

    def needs(self, hold: Hold, sign: int) -> tuple[str, ...]:
        """Name what must be turned before: all that stands out; what goes through the collet, if the stock does not."""
        section = self.sections[hold.section]
        through = () if self.part.stock.diameter <= self.sizes[section.name] + 1e-9 else self.behind(section, sign)
        return tuple(s.name for s in (*self.outside(section, sign), *through))

    # The square

    def settle_square(self, asked: SquareAsked) -> SquareJob | None:
        """Settle the square's tasks."""
        section, sign = self.sections[asked.section], self.sign
        if section not in (self.part.sections[0], self.part.sections[-1]):
            what = "the square is not at an end of the part, so its flats cannot run out"
            self.note(asked.where, what, f'section "{section.name}"', fix="put it first or last")
            return None
        shoulder, corner = (section.end, section.corner_b) if sign < 0 else (section.start, section.corner_a)
        blank, width, groove = self.sizes[section.name], 0.0, None
        if undercut := undercut_at(corner):
            width = undercut.width
            groove = bar("undercut groove", -width, 0.0, blank - 2 * undercut.depth)
        held = self.hold(asked.hold, shoulder + width * sign, sign, groove)
        self.check_sides(asked)
        mills = sorted(self.of_kind("end mill"), key=lambda c: -c.diameter)
        if not mills:
            self.note(asked.where, "the shop file has no end mill for the square",
                      fix='write one: [[cutter]] with kind = "end mill"')  # fmt: skip
        waits = math.isnan(section.end - section.start)
        square = self.square_of(asked, float(section.length) if waits else section.end - section.start, width)
        if not math.isnan(asked.key + square.length):
            self.wrong += check_key(square, asked.key, None, asked.where)
        tasks = [self.square_task(asked, square, held or NOWHERE, width, c) for c in mills]
        if held is None or waits:
            self.unplanned.append("the square")
            self.wrong += [] if math.isnan(square.length) else _first_of(tasks)
            return None
        return SquareJob(
            asked=asked, tasks=tuple(tasks), needs=self.needs(asked.hold, sign), tip="A" if sign < 0 else "B",
            held=self.sizes[asked.hold.section],
        )  # fmt: skip

    def square_of(self, asked: SquareAsked, length: float, groove: float) -> Square:
        """Return the square on a section of this length, mm, past the undercut groove that the flats run out into."""
        return Square(
            flats=asked.flats, across=asked.across, station=asked.station - groove, slope=asked.taper.slope,
            length=length - groove, blank=self.sizes[asked.section], corners=asked.corners, broken=asked.broken,
            where=asked.where, unit=self.part.unit,
        )  # fmt: skip

    def check_sides(self, asked: SquareAsked) -> None:
        """Check that a block turned by hand need only lie on its sides."""
        sides = self.mill.block.sides
        if self.mill.square_by != "rotary axis" and sides and sides % asked.flats:
            what = f"the {self.mill.block.name} cannot be turned from flat to flat"
            given, allowed = f"{asked.flats} flats, {sides} sides to lie on", f"flats that go evenly into {sides}"
            self.note(asked.where, what, given, allowed, "take a block with as many sides, or a rotary axis")

    def square_task(self, asked: SquareAsked, square: Square, held: Held, groove: float, own: Cutter) -> SquareTask:
        """Make the task with one cutter; groove: width of the undercut groove that the flats run out into, mm."""
        cutter, rpm = as_cutter(own), self.rpm_of(own)
        section = self.sections[asked.section]
        edge = section.edge_a if self.sign < 0 else section.edge_b
        depth = depth_at(square, square.station) - asked.allowance / 2
        return SquareTask(
            square=square, allowance=asked.allowance, limits=asked.limits,
            bearing=None if section.bearing is None else float(section.bearing),
            way=WAY[self.mill.square_by], spacing=self.mill.shim_distance,
            wall=-groove / 2 if groove else asked.flats_end, groove=groove, edge=size_of(edge),
            sections=held.sections, fixtures=held.fixtures, gripped=held.gripped, gripped_diameter=held.diameter,
            cutter=cutter, rpm=rpm, feed=round(own.feed_per_tooth * own.teeth * rpm, 1),
            left=min(max(2 * own.minimum_cut, min(LEFT, depth / 4)), own.deepest_cut), crown=float(self.mill.crown),
            rapid_clearance=float(self.mill.rapid_clearance), contact_clearance=float(self.mill.contact_clearance),
            kc11=self.material.kc11, mc=self.material.mc, modulus=self.material.modulus, unit=self.part.unit,
            where=asked.where, axis_proved=self.mill.facts.proves("rotary axis"), shown_unit=self.mill.units,
            key=asked.key,
        )  # fmt: skip

    def rpm_of(self, cutter: Cutter, diameter: float = 0.0) -> float:
        """Return the speed, rev/min: middle of the material's range, within the spindle's; a tap's is the slowest."""
        if cutter.kind == "tap":
            return float(self.mill.slowest)
        speed = sum(self.material.speed[cutter.material]) / 2
        wanted = 1000 * speed / (math.pi * (diameter or cutter.diameter))
        return float(min(max(round(wanted, -1), float(self.mill.slowest)), float(self.mill.fastest)))

    # Cross holes

    def settle_hole(self, asked: HoleAsked, before: Sequence[HoleJob]) -> HoleJob | None:
        """Settle the task of a cross hole; before: the holes that are made before it."""
        section, shoulder = self.sections[asked.section], self.sections[asked.shoulder]
        self.check_drilled(asked, section)
        self.check_angle(asked)
        chosen = self.choose_tools(asked)
        face = shoulder.start if asked.face == "A" else shoulder.end
        place = self.place_of(asked, section, face)
        if math.isnan(place):
            if math.isnan(face + section.start + section.end):
                self.check_waiting(asked, chosen)
            return None
        gripped = self.sections[asked.hold.section]
        sign = self.sign or (-1 if 2 * place < gripped.start + gripped.end else 1)
        held, x = self.hold(asked.hold, face, sign), round((place - face) * sign, 6)
        if held is None:
            self.unplanned.append(f'"{asked.name}"')
            self.check_waiting(asked, chosen)
            return None
        if x <= held.front:
            what, given = f'"{asked.name}" lies inside the collet', f"{say(held.front - x, self.part)} inside"
            self.note(asked.where, what, given, "outside, with room for the cutters", "grip less, or another section")
        elif chosen is not None:
            task = self.hole_task(asked, x, held, chosen)
            return HoleJob(
                asked=asked, number=self.milled.holes.index(asked) + 1,
                task=replace(task, counts=self.counts(asked, before), full=_full_of(section, face, sign)),
                shoulder=f"the {asked.face} face of {shoulder.name}", needs=self.needs(asked.hold, sign),
                tip="A" if sign < 0 else "B", held=self.sizes[asked.hold.section],
            )  # fmt: skip
        return None

    def check_waiting(self, asked: HoleAsked, chosen: dict[str, Cutter] | None) -> None:
        """Check tools, flat and depth of a hole, wherever it lies in its section and however that is held."""
        if chosen is None:
            return
        alone = bar(asked.section, -ALONE, ALONE, self.sizes[asked.section])
        try:
            plan_cross_hole(self.hole_task(asked, 0.0, NOWHERE._replace(sections=(alone,)), chosen))
        except ProblemError as found:
            self.wrong += found.problems

    def check_drilled(self, asked: HoleAsked, section: Section) -> None:
        """Check that a cross hole lies in a plain round."""
        if self.milled.square is not None and self.milled.square.section == section.name:
            what = f'"{asked.name}" goes into the square, and it is planned in a round only'
            self.note(asked.where, what, f'section = "{section.name}"', fix="drill it by hand, from a flat")
        if section.is_taper:
            what = f'"{asked.name}" goes into a taper, and it is planned in a cylinder only'
            self.note(asked.where, what, f'section = "{section.name}"', fix="name another section")

    def place_of(self, asked: HoleAsked, section: Section, face: float) -> float:
        """Return the part z of a hole's middle; nan where it is to be measured, or does not lie in its section."""
        if math.isnan(face + section.start + section.end):
            self.unplanned.append(f'"{asked.name}"')
            return math.nan
        places = [z for z in (face + asked.distance, face - asked.distance) if section.start < z < section.end]
        if not places:
            near, far = (say(d, self.part) for d in sorted((abs(face - section.start), abs(face - section.end))))
            allowed = f'{near} to {far} from the {asked.face} face of "{asked.shoulder}"'
            what = f'"{asked.name}" does not lie in "{section.name}"'
            self.note(asked.where, what, asked.distance.text, allowed)
        return places[0] if places else math.nan

    def check_angle(self, asked: HoleAsked) -> None:
        """Check that the block, which by hand lies on its sides only, can be turned to the angle."""
        sides = self.mill.block.sides
        if math.isnan(asked.angle) or self.mill.square_by == "rotary axis" or not sides:
            return
        if abs(asked.angle * sides / 360 - round(asked.angle * sides / 360)) > 1e-9:
            what, fix = f"the {self.mill.block.name} does not lie at this angle", 'choose one, or say angle = "any"'
            self.note(asked.where, what, f"{asked.angle:g} deg", f"a multiple of {360 / sides:g} deg", fix)

    def choose_tools(self, asked: HoleAsked) -> dict[str, Cutter] | None:
        """Choose the drill, and what goes before and after it, by their part in the work; None where one is missing."""
        thread = asked.thread
        drill = self.tapping_drill(asked, thread) if thread is not None else self.plain_drill(asked)
        if drill is None:
            return None
        spots = self.of_kind("spot drill")
        found = {"drill": drill, "spot": spots[0]} if spots else {"drill": drill}
        if asked.flat_depth > 0:
            mill = self.flat_mill(asked, drill)
            if mill is None:
                return None
            found["flat"] = mill
        taps = self.find_tap(asked, thread, drill) if thread is not None else {}
        return None if taps is None else found | taps

    def flat_mill(self, asked: HoleAsked, drill: Cutter) -> Cutter | None:
        """Choose the end mill of the small flat: the smallest that is as wide as the drill."""
        wide = [c for c in self.of_kind("end mill") if c.diameter >= drill.diameter]
        if not wide:
            what = "no end mill is wide enough for the small flat"
            self.note(asked.where, what, drill.name, fix=f'write one, or flat_depth = "0 {self.part.unit}"')
        return min(wide, key=lambda c: c.diameter, default=None)

    def find_tap(self, asked: HoleAsked, thread: Thread, drill: Cutter) -> dict[str, Cutter] | None:
        """Find the tap of a thread that goes deepest into a hole of that drill; by hand the shop may have none.

        Returns:
            it by its part in the work, "tap" or "hand tap"; None where a cycle's is missing.
        """
        taps = [c for c in self.of_kind("tap") if _thread_of(c) == thread]
        if not taps and self.mill.tap_cycle:
            self.note(asked.where, f"the shop file has no tap for {thread.name}",
                      fix='write it as a [[cutter]], kind = "tap"; or tap_cycle = false: by hand')  # fmt: skip
            return None
        by_reach = sorted(taps, key=lambda c: -as_cutter(c).reach(drill.diameter))
        return {"tap" if self.mill.tap_cycle else "hand tap": tap for tap in by_reach[:1]}

    def of_kind(self, kind: str) -> list[Cutter]:
        """Return the cutters of a kind, as the shop file has them."""
        return [c for c in self.cutters if c.kind == kind]

    def plain_drill(self, asked: HoleAsked) -> Cutter | None:
        """Find the drill of the hole's own diameter; of several that with the longest edges."""
        drills = sorted(self.of_kind("drill"), key=lambda c: -c.flutes)
        drill = min(drills, key=lambda c: abs(c.diameter - asked.diameter), default=None)
        if drill is None or abs(drill.diameter - asked.diameter) > 0.005:
            what = f'the shop file has no drill for "{asked.name}"'
            allowed = ", ".join(c.name for c in drills) or "none is there"
            self.note(asked.where, what, say(asked.diameter, self.part), allowed, "write a [[cutter]] of that diameter")
            return None
        return drill

    def tapping_drill(self, asked: HoleAsked, thread: Thread) -> Cutter | None:
        """Choose the drill that comes nearest to a good percent of thread; of several that with the longest edges."""
        drills = sorted(self.of_kind("drill"), key=lambda c: -c.flutes)
        usable = [c for c in drills if LEAST_PERCENT <= percent_of_thread(thread, c.diameter) <= MOST_PERCENT]
        if usable:
            return min(usable, key=lambda c: abs(percent_of_thread(thread, c.diameter) - BEST_PERCENT))
        near = [d for d in nearest_drills(thread, BEST_PERCENT) if LEAST_PERCENT <= d.percent <= MOST_PERCENT]
        what = f"the shop file has no tapping drill for {thread.name}"
        given, fix = ", ".join(c.name for c in drills) or "no drill", "write one of these as a [[cutter]]"
        self.note(asked.where, what, given, "; ".join(f"{d.drill.name} ({d.percent:.0f} %)" for d in near), fix)
        return None

    def counts(self, asked: HoleAsked, before: Sequence[HoleJob]) -> str:
        """Say from what a hole's angle counts that is there when it is made; "" where any angle will do."""
        if math.isnan(asked.angle):
            return ""
        angles = {j.asked.name: j.asked.angle for j in before if not math.isnan(j.asked.angle)}
        if not angles:
            later = " Flat 1 is lined up with it later." if self.milled.square else ""
            return f"Any way up will do for this hole: nothing that its angle counts from is there yet.{later}"
        turns = (f"{(asked.angle - a) % 360.0:g} deg from {name} on top" for name, a in angles.items())
        return f"Counter-clockwise as seen from the tip, it is turned {', '.join(turns)}."

    def hole_task(self, asked: HoleAsked, x: float, held: Held, chosen: dict[str, Cutter]) -> HoleTask:
        """Make the task of a cross hole, every tool with its speed and feed."""
        drill, tools = chosen["drill"], {part: as_cutter(cutter) for part, cutter in chosen.items()}
        rpm = {c.number: self.rpm_of(c, drill.diameter if c.kind == "spot drill" else 0.0) for c in chosen.values()}
        jaws = next((s.top for s in solids_at(held.fixtures, x) if s.name == "vice jaws"), -math.inf)
        deep = 2 * solids_at(held.sections, x)[0].top if asked.through else asked.depth
        return HoleTask(
            name=asked.name, x=x, angle=0.0 if math.isnan(asked.angle) else asked.angle, through=asked.through,
            wanted=asked.depth, thread=asked.thread, lead=asked.lead, chips=asked.chips,
            flat=(tools["flat"], asked.flat_depth) if "flat" in tools else None,
            spot=tools.get("spot"), drill=tools["drill"], tap=tools.get("tap"), hand_tap=tools.get("hand tap"),
            rpm=rpm,
            feed={c.number: self.feed_of(c, rpm[c.number]) for c in chosen.values()},
            step=self.peck(drill.diameter, deep),
            by_hand=self.mill.square_by != "rotary axis", sections=held.sections, fixtures=held.fixtures, under=jaws,
            rapid_clearance=float(self.mill.rapid_clearance), contact_clearance=float(self.mill.contact_clearance),
            unit=self.part.unit, shown_unit=self.mill.units, where=asked.where,
            axis_proved=self.mill.facts.proves("rotary axis"),
        )  # fmt: skip

    def peck(self, step: float, deep: float) -> float:
        """Return a peck's step, a drill's diameter in whole digits of the program, mm; zero for a hole not so deep.

        So rounded, many pecks do not drift from the plan.
        """
        if not deep > DEEP * step:
            return 0.0
        return round(step, 3) if self.mill.units == "mm" else round(step / MM_PER_INCH, 4) * MM_PER_INCH

    def feed_of(self, cutter: Cutter, rpm: float) -> float:
        """Return the feed, mm/min: an end mill's by its teeth, a tap's by its pitch."""
        if cutter.kind == "tap":
            return _thread_of(cutter).pitch * rpm
        return round((cutter.feed_per_tooth * cutter.teeth if cutter.kind == "end mill" else cutter.feed) * rpm, 1)


def as_cutter(own: Cutter) -> Cutter:
    """Return a cutter of the shop file as the planner takes it; ProblemError for a tap of no known thread."""
    if own.kind == "tap":
        thread = _thread_of(own)
        return replace(own, diameter=thread.diameter, pitch=thread.pitch)
    return replace(own, feed=own.feed_per_tooth * own.teeth) if own.kind == "end mill" else own


def _full_of(section: Section, face: float, sign: int) -> tuple[float, float]:
    """Return the x, from a face toward the tip, between which a section is as thick as its round, edges left out."""
    ends = ((section.edge_a, section.corner_a), (section.edge_b, section.corner_b))
    a, b = (max(size_of(edge), 0.0 if c is None else c.radius + c.width) for edge, c in ends)
    low, high = sorted(((section.start + a - face) * sign, (section.end - b - face) * sign))
    return low, high


def _thread_of(tap: Cutter) -> Thread:
    try:
        return find_thread(tap.thread)
    except QuantityError as error:
        wrong = problem(tap.where, error.what, allowed=error.allowed, fix=error.fix)
        raise ProblemError([wrong]) from error
