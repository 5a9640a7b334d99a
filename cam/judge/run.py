"""The judgement on a program, one motion after another."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from cam.geometry.path import Arc, Box, Chain, Line, Point, bounds, length
from cam.ground.figures import micrometres
from cam.judge.contact import find_nearest
from cam.judge.envelope import (
    Metal,
    Piece,
    Removed,
    from_chain,
    split_at,
    to_chain,
    without_loose_end,
    without_slivers,
)
from cam.judge.limits import within_limits
from cam.judge.model import Approach, Moment, Simulation
from cam.judge.near import INTO, NO_HIT, Surroundings, rubbed_length, worst_hit
from cam.judge.really import really_of
from cam.judge.report import TOLERANCE, by_line, find, place, unreadable
from cam.judge.result import beyond_lines, cover, find_gouges, find_uncut, report_gouges, report_uncut
from cam.judge.rules import ShopChecks, feed_per_turn, spindle_speed
from cam.judge.stops import check_stops, warn_of_stops
from cam.judge.surfaces import Faced, Feeding, SquareFace, check_backlash, check_faces, facing_span
from cam.judge.sweep import Underside, along_arc, along_line
from cam.judge.threading import Threads, vees
from cam.judge.touch import check_touch
from cam.judge.travel import FRESH, MOVED, TakeUp, after
from cam.rs274.begin import Begun
from cam.rs274.model import Motion, Program
from cam.setting.fastest import speed_limits
from cam.setting.model import Setting
from cam.shop.machine import bare_length
from cam.shop.model import Material, Shop, Tool

if TYPE_CHECKING:
    from cam.judge.threading import Threads


def simulate(
    program: Program | Begun,
    setting: Setting,
    shop: Shop,
    *,
    stock: Chain | None = None,
    material: Material | None = None,
    stops: bool = False,
    limits: bool = False,
    watch: Callable[[Moment], None] | None = None,
) -> Simulation:
    """Judge a program by its text alone: what it removes, what it comes near, what it leaves.

    Args:
        program: as read, or as begun at a pass: what comes before that is done and is not judged. Motions before
            the first error of a text with problems are judged too, but such a program is never ok.
        setting: how the work is held, what is wanted, what is solid.
        shop: its lathe and tools.
        stock: outline of the metal before the program, in setting axes, from the tailstock end toward the
            headstock; None takes the setting's.
        material: material of the work, for its cutting speed; None checks no cutting speed.
        limits: whether a diameter or a shoulder may lie anywhere within its limits, and not only at its aim.
        stops: whether to look for the stops that the shop needs: the proof, belt, tools, measuring.
        watch: called with the work before the program, after every motion, and once more as it is judged.

    What is left in the end is held against what is wanted as slides with the backlash of the shop file leave it
    (cam.judge.really), and the text by itself may cut nothing too deep either. Where the shop's known cone is to be
    taken into account, both are as a lathe with that cone cuts them.

    The metal after every motion is exact (cam.judge.envelope). A leading edge that leans past vertical is
    taken as upright for removal; where that would matter, a shoulder not faced over its height, is a finding.

    Approaches: for each motion the nearest of: any body to any obstacle; and, within twice the rapid clearance,
    a holder's outline to the work and on a rapid the nose to the work, unless the rapid only leaves the place
    where it started (a retreat from a cut starts touching). So the closest approach of a program that only ever
    cuts at feed is above 0, and says how much air there is where nothing may touch. Motions from a place that
    the program has not yet said have none.

    A first motion of Z must pass over the work. What stands higher (carrier, catch plate, tailstock) lies at
    the work's ends, and the tool is put between them by hand; the place it comes to is judged like any other.
    """
    begun = program if isinstance(program, Begun) else None
    program = program.program if isinstance(program, Begun) else program
    run = _Run(setting, shop, from_chain(setting.stock if stock is None else stock), program, material)
    if watch is not None:
        watch(run.look(-1))
    for number, motion in enumerate(program.motions):
        if begun is not None and number == begun.first:
            run.begin(begun, material)
        run.rules.check_fastest(motion)
        if motion.kind in MOVES:
            run.move(number, motion)
        elif motion.kind == "dwell":
            run.air_time += motion.seconds
        if watch is not None:
            watch(run.look(number))
    allowed = within_limits(setting, bare_length(shop.lathe.z)) if limits else (setting.least, setting.most)
    gouge, uncut = run.judge([m.line for m in program.motions], allowed)
    if watch is not None:
        watch(run.look(len(program.motions)))
    if stops:
        rest, words = (program, None) if begun is None else (begun.rest, begun.words)
        run.findings += check_stops(rest, setting, shop, words)
        spin_up, first = shop.lathe.spindle.spin_up, 0 if begun is None else begun.first
        run.rules.warnings += warn_of_stops(
            program, setting, run.metal.pieces, run.feeding, spin_up=spin_up, first=first,
            width=shop.lathe.control.facts.message_width,
        )  # fmt: skip
    run.findings += unreadable(program)
    return run.conclude(gouge, uncut)


MOVES = ("rapid", "line", "arc", "thread")
"""The kinds of motion that move the tool."""

PLUNGED = 0.02
"""A move inward that takes off more than this, mm, is a cut, and not the last of the way to one."""

NOT_FACED = Faced()
"""A place along Z where no cut has faced anything."""


def _line_box(line: Line) -> Box:
    """Return the box of a line, as bounds does for any shape, in less time."""
    (z0, x0), (z1, x1) = line.start, line.end
    if z0 > z1:
        z0, z1 = z1, z0
    return (z0, x0, z1, x1) if x0 <= x1 else (z0, x1, z1, x0)


class _Run:
    """The work and the findings while the program goes along."""

    def __init__(
        self, setting: Setting, shop: Shop, pieces: list[Piece], program: Program, material: Material | None
    ) -> None:
        self.setting = setting
        self.shop = shop
        self.metal = Metal(cover(pieces, setting.head_z, setting.stock_end_z))
        self.stock = Metal(self.metal.pieces)
        self.really = really_of(self.metal.pieces, setting, shop.lathe, play=True)
        self.tight = really_of(self.metal.pieces, setting, shop.lathe, play=False)
        self.rules = ShopChecks(shop, program, speed_limits(setting), material)
        self.findings = self.rules.findings
        self.approaches: list[Approach] = []
        self.feeding: dict[int, Feeding] = {}
        self.facing: dict[float, Faced] = {}
        self.surroundings = Surroundings(setting, shop)
        self.outermost = max((p.x for o in setting.obstacles for p in o.polygon), default=0.0)
        ways = ((number, m.tool, self._path(m)) for number, m in enumerate(program.motions) if m.kind in MOVES)
        paths = {number: (tool, path) for number, tool, path in ways if path}
        self.nears = find_nearest(shop.tools, setting.obstacles, paths)
        self.tooling = (0, 0, -1)  # of the last motion; unchanged it needs no second look
        self.tool: Tool | None = None
        self.take_up: TakeUp = FRESH
        self.limit_z = setting.limit_z
        self.rapid_rate = float(shop.lathe.control.rapid)
        self.cutting_time = self.air_time = 0.0
        self.reached: list[tuple[float, float, float, float]] = []
        self.seen = (0, 0.0, 0.0)
        self.threads: Threads | None = None
        if setting.threads:
            self._start_threads()

    def begin(self, begun: Begun, material: Material | None) -> None:
        """Judge the program from here on: the metal is as it has been left, and nothing else is known."""
        self.rules = ShopChecks(self.shop, begun.program, speed_limits(self.setting), material)
        self.findings, self.approaches, self.reached = self.rules.findings, [], []
        self.surroundings = Surroundings(self.setting, self.shop)
        self.tooling, self.tool, self.take_up = (0, 0, -1), None, FRESH
        self.cutting_time = self.air_time = 0.0
        if begun.reground:
            self.findings += check_touch(begun, self.setting, self.shop, self.metal.pieces)

    def look(self, number: int) -> Moment:
        """Return the work as it is now, and what is new since the last look."""
        count, cutting, air = self.seen
        self.seen = (len(self.approaches), self.cutting_time, self.air_time)
        return Moment(
            number=number,
            metal=tuple(self.metal.pieces),
            approach=next(iter(self.approaches[count:]), None),
            seconds=self.cutting_time - cutting + self.air_time - air,
            cuts=self.cutting_time > cutting,
        )

    def move(self, number: int, motion: Motion) -> None:
        """Judge one motion and carry out what it does to the metal."""
        if motion.start == motion.end and motion.kind != "arc":
            return
        if motion.kind == "arc" or not math.isnan(motion.end.y):
            self.rules.check_shape(motion)
        tooling = (motion.tool, motion.offset, motion.system)
        if tooling != self.tooling:
            self.tooling, self.tool = tooling, self.rules.tool_of(motion)
        tool = self.tool
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        before = self.take_up
        known = motion.system and not math.isnan(sx + sz + ex + ez)
        (self._check_known if known else self._check_unknown)(motion)
        self.take_up = FRESH
        path = self._path(motion)
        if path is None:
            return
        if known:
            self.take_up = before if motion.top_slide else after(before, path)
        box = _line_box(path) if isinstance(path, Line) else bounds(path)
        self.reached.append(box)
        if self.really is not None:
            under = self.surroundings.shape(tool).nose.under if tool is not None else None
            self.really.move(number, motion, under)
            if self.tight is not None:
                self.tight.move(number, motion, under)
        if tool is not None:
            if box[1] < 0.0 or box[0] < self.limit_z:
                self.rules.check_limits(motion, tool, box[1], box[0], self.limit_z)
            if motion.kind in ("rapid", "thread"):
                act = self._rapid if motion.kind == "rapid" else self._thread
                act(number, motion, tool, path, box)
            else:
                feeding = self.feeding[number] = Feeding(motion.line, path, tool, before, motion.top_slide)
                if path.start[0] == path.end[0] and (span := facing_span(feeding)):
                    self.facing.setdefault(path.end[0], Faced()).add(*span)
                self._feed(number, motion, tool, path, box)

    def _path(self, motion: Motion) -> Line | Arc | None:
        """Return what of a motion's path can be judged: all if the program has said it, else its end, and along X."""
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        start, end = Point(sz, sx), Point(ez, ex)
        if math.isnan(ex + ez) or not motion.system:
            return None  # X alone, Z unknown: nothing can be said of it, and the proof in air is just that
        if math.isnan(sz):
            return Line(end, end)
        if math.isnan(sx):
            return Line(Point(sz, max(self.outermost, ex)), end)
        if motion.kind == "arc" and motion.plane == 18 and motion.centre is not None:
            return Arc(start, end, Point(motion.centre.z, motion.centre.x), motion.turn)
        return Line(start, end)

    def _check_unknown(self, motion: Motion) -> None:
        """Note a finding where the program moves before it has said where."""
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        no_x, no_z = math.isnan(sx), math.isnan(sz)
        if motion.system == 0:
            self._add(motion, "machine coordinates", "moves in machine coordinates, whose place at the work is unknown")
        elif math.isnan(ex):
            what = "moves to an unknown place" if math.isnan(ez) else "moves Z before the program has said where X is"
            self._add(motion, "unknown place", what)
        elif not math.isnan(ez) and no_z:
            if no_x:
                self._add(motion, "unknown place", "moves X and Z together from an unknown place")
            elif sx < (top := max(self.metal.tops)):
                what = f"moves Z from an unknown place at radius {sx:.3f} mm, below the work's {top:.3f} mm"
                self._add(motion, "unknown place", what)

    def _check_known(self, motion: Motion) -> None:
        dz, dx = abs(motion.end[2] - motion.start[2]), abs(motion.end[0] - motion.start[0])
        if motion.kind == "rapid" and dz > MOVED and dx > MOVED:
            what = f"rapids X and Z together ({dx:.3f} and {dz:.3f} mm); rapids go one axis at a time"
            self._add(motion, "diagonal rapid", what)

    def _rapid(self, number: int, motion: Motion, tool: Tool, path: Line | Arc, box: Box) -> None:
        far = max(box[2] - box[0], box[3] - box[1])
        self.air_time += 60.0 * far / self.rapid_rate
        shape, near = self.surroundings.shape(tool), self.nears.get(number)
        if not self.surroundings.beside_work(shape, box, self.metal):
            self._note(self.surroundings.approach(motion, near, shape, path, box, None))
            return
        removed = self._cut(shape.nose.under, path, box, number)
        hit = worst_hit(removed) if removed else NO_HIT
        if hit.amount > INTO:
            amount = hit.along(path)
            what = f"rapids {micrometres(amount)} into the metal at {place(hit.z, hit.x)}"
            self._add(motion, "rapid in metal", what, amount, (hit.z, hit.x))
        elif path.end[1] > path.start[1] and tool.approach > 90.0 and tool.hand == "right":
            self._drags(motion, tool, path)
        elif (length_ := rubbed_length(shape.nose, path, self.metal)) > TOLERANCE:
            what = f"rapids along {length_:.3f} mm of the metal's surface, touching it"
            self._add(motion, "rubbing", what, 0.0, (path.end[0], path.end[1]))
        self._note(self.surroundings.approach(motion, near, shape, path, box, self.metal, nose_hit=hit))

    def _feed(self, number: int, motion: Motion, tool: Tool, path: Line | Arc, box: Box) -> None:
        shape, near = self.surroundings.shape(tool), self.nears.get(number)
        depth = self._depth(tool, path)
        removed = self._cut(shape.nose.under, path, box, number)
        cuts = self._faces(tool, path) or (bool(removed) and worst_hit(removed).amount > INTO)
        size = length(path) if isinstance(path, Arc) else math.hypot(box[2] - box[0], box[3] - box[1])
        rpm = spindle_speed(motion, 0.5 * (path.start[1] + path.end[1]))
        feed = feed_per_turn(motion, rpm, size)
        self.rules.check_feeding(motion, rpm, feed)
        if cuts:
            self.rules.check_cutting(motion)
            if depth > 0.0:
                self.rules.check_along(motion, tool, depth, feed)
            elif path.end[1] < path.start[1] and removed and worst_hit(removed).amount > PLUNGED:
                self.rules.check_chip(motion, tool, feed)
        self._note(self.surroundings.approach(motion, near, shape, path, box, self.metal))
        seconds = 60.0 * size / (feed * rpm) if feed and rpm else 0.0
        if motion.feed_mode == 94 and motion.feed:
            seconds = 60.0 * size / motion.feed
        if cuts:
            self.cutting_time += seconds
        else:
            self.air_time += seconds

    def _start_threads(self) -> Threads:
        self.threads = self.threads or Threads(self.setting, self.shop.lathe)
        return self.threads

    def _thread(self, number: int, motion: Motion, tool: Tool, path: Line | Arc, box: Box) -> None:
        """Take out a vee at every turn of a pass in step with the spindle."""
        shape, near = self.surroundings.shape(tool), self.nears.get(number)
        rpm = spindle_speed(motion, path.start[1])
        assert isinstance(path, Line)
        lead = float(motion.feed or 0.0)
        cuts = False
        for place_ in vees(path, lead):
            cuts = bool(self.metal.cut(along_line(shape.nose.under, place_, place_, number))) or cuts
        if cuts:
            self.rules.check_cutting(motion)
        self._start_threads().take(number, motion, path, tool, rpm)
        self._note(self.surroundings.approach(motion, near, shape, path, box, self.metal))
        seconds = 60.0 * (box[2] - box[0]) / (lead * rpm) if rpm else 0.0
        if cuts:
            self.cutting_time += seconds
        else:
            self.air_time += seconds

    def _cut(self, under: Underside, path: Line | Arc, box: Box, number: int) -> list[Removed]:
        own = under.box
        low = box[1] + own[1]
        if not self.metal.reaches(box[0] + own[0], box[2] + own[2], low):
            return []
        if isinstance(path, Line):
            return self.metal.cut(along_line(under, path.start, path.end, number), low)
        removed: list[Removed] = []
        for sweep in along_arc(under, path.start, path.end, path.centre, path.turn, number):
            removed += self.metal.cut(sweep)
        return removed

    def _depth(self, tool: Tool, path: Line | Arc) -> float:
        """Return the depth per side of a straight cut along Z, mm; 0 for any other motion.

        It is measured under the nose's lowest point, without the last deepest_cut before the end: there the leading
        edge meets a shoulder's allowance, and the metal's height says nothing of the depth.
        """
        if isinstance(path, Arc) or path.start[1] != path.end[1] or tool.kind != "turning":
            return 0.0
        nose = float(tool.nose_radius) * (1.0 if tool.hand == "right" else -1.0)
        z0, z1 = path.start[0] + nose, path.end[0] + nose
        z1 += float(tool.deepest_cut) * (1.0 if z0 > z1 else -1.0)
        low, high = (z1, z0) if z1 < z0 else (z0, z1)
        if (z1 < z0) != (path.end[0] < path.start[0]) or self.metal.top(low, high) <= path.end[1]:
            return 0.0
        return self.metal.highest(low, high) - path.end[1]

    def _faces(self, tool: Tool, path: Line | Arc) -> bool:
        """Tell whether a move straight in or out runs along a shoulder where a leaning leading edge left metal."""
        (z, x0), (end, x1) = path.start, path.end
        if z != end or isinstance(path, Arc) or tool.hand != "right" or tool.approach <= 90.0:
            return False
        return self.metal.at(z - INTO) > min(x0, x1) + float(tool.nose_radius)

    def _drags(self, motion: Motion, tool: Tool, path: Line | Arc) -> None:
        """Note a rapid straight out beside a shoulder that takes off what a leaning leading edge left there."""
        (z, x0), (end, x1) = path.start, path.end
        if z != end:
            return
        nose = float(tool.nose_radius)
        top = min(self.metal.at(z - INTO), x1 + nose)
        if top <= x0 + nose:
            return
        face = SquareFace(z, x0, top)
        standing = self.facing.get(z, NOT_FACED).standing(face, nose)
        amount = standing * math.tan(math.radians(tool.approach - 90.0))
        if amount > TOLERANCE:
            what = (
                f"rapids out beside a shoulder that was not faced: the leading edge leans back "
                f"{tool.approach - 90.0:.0f} degrees and has left up to {micrometres(amount)} in the way"
            )
            self._add(motion, "rapid in metal", what, amount, (z, top))

    def _note(self, approach: Approach | None) -> None:
        if approach is not None:
            self.approaches.append(approach)

    def _add(
        self, motion: Motion, kind: str, what: str, amount: float = 0.0, at: tuple[float, float] | None = None
    ) -> None:
        end = motion.end
        tip = None if math.isnan(end.z) or math.isnan(end.x) else (end.z, end.x)
        self.findings.append(find(motion.line, kind, what, amount=amount, at=at, tip=tip, tool=motion.tool))

    # --- the result -----------------------------------------------------------------------------------------------

    def judge(self, lines: list[int], allowed: tuple[Chain, Chain]) -> tuple[float, float]:
        """Compare what is left with what was wanted; return the greatest gouge depth and uncut height, mm.

        Args:
            lines: of the text, by number of the motion. allowed: outlines, the least and the most that may be left.
        """
        setting, lathe = self.setting, self.shop.lathe
        said = self._left(self.metal if self.tight is None else self.tight.metal)
        self.metal = self._left(self.really.metal) if self.really is not None else said
        low, high = self.metal.starts[0], self.metal.end
        aimed, least, most = (Metal(cover(from_chain(c), low, high)) for c in (setting.least, *allowed))
        deepest = self.metal
        if self.threads is not None:
            deepest = self.threads.swept(self.metal, self.surroundings)
            self.findings += self.threads.judge(self.metal, most)
        gouges = find_gouges(deepest.pieces, least, setting.turned)
        uncut_faults = find_uncut(self.metal.pieces, most)
        loose = check_backlash(said.pieces, self.feeding, setting, (least, most), lathe)
        by_text = gouges if said is self.metal else find_gouges(said.pieces, least, setting.turned)
        told = {f.line for f in loose}
        self.findings += report_gouges(by_text, lines, setting.turned)
        self.findings += report_gouges(gouges, lines, setting.turned, but=by_text, told=told) if gouges else ()
        height = lathe.control.facts.arc_height  # of lines in place of arcs; 0 for arcs
        self.findings += report_uncut(beyond_lines(uncut_faults, most, height), setting.turned)
        self.findings += loose
        self.findings += check_faces(said, self.feeding, setting, (aimed, self.stock), lathe)
        return (
            max((f.amount for f in (*gouges, *by_text)), default=0.0),
            max((f.amount for f in uncut_faults), default=0.0),
        )

    def _left(self, metal: Metal) -> Metal:
        """Return the metal as it is in the end: without slivers and what falls off."""
        left = without_slivers(metal.pieces)
        if self.setting.tail_centre is not None:
            return Metal(left)
        if math.isnan(self.setting.parted_z):
            return Metal(without_loose_end(left))
        bar, part = split_at(left, self.setting.parted_z)  # the part has fallen; it is what is judged
        return Metal([*bar, *without_loose_end(part)])

    def conclude(self, gouge: float, uncut: float) -> Simulation:
        """Return everything found, sorted."""
        findings = [*self.findings, *self.surroundings.findings]
        boxes = list(zip(*self.reached, strict=True)) or [(0.0,)] * 4
        return Simulation(
            setting=self.setting.number,
            findings=tuple(sorted(findings, key=by_line)),
            warnings=tuple(sorted(self.rules.warnings, key=by_line)),
            approaches=tuple(self.approaches),
            closest=min(self.approaches, key=lambda a: a.distance, default=None),
            closest_fixed=self.surroundings.fixed,
            tip_only=tuple(sorted(self.rules.tip_only)),
            result=to_chain(self.metal.pieces),
            gouge=gouge,
            uncut=uncut,
            cutting_time=self.cutting_time,
            air_time=self.air_time,
            lowest=Point(min(boxes[0]), min(boxes[1])),
            highest=Point(max(boxes[2]), max(boxes[3])),
        )
