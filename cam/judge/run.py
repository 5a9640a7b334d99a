"""The judgement on a program, one motion after another."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from cam.geometry.path import Arc, Chain, Line, Point, bounds, length
from cam.judge.contact import Near, find_nearest
from cam.judge.envelope import Metal, Piece, from_chain, split_at, to_chain, without_loose_end, without_slivers
from cam.judge.late import moved_with_tool, moved_with_work
from cam.judge.limits import within_limits
from cam.judge.model import Approach, Finding, Moment, Simulation
from cam.judge.near import FILM, INTO, NO_HIT, Hit, KnownMove, Surroundings, ToolShape, rubbed_length, worst_hit
from cam.judge.play import path_of
from cam.judge.reach import check_lathe_reach
from cam.judge.really import really_of
from cam.judge.report import TOLERANCE, by_line, figure, micrometres, mm, place, told_in, unreadable
from cam.judge.result import beyond_lines, cover, find_gouges, find_uncut, report_gouges, report_uncut
from cam.judge.rules import ShopChecks, feed_per_turn, feed_seconds, spindle_speed
from cam.judge.stops import check_stops, warn_of_stops
from cam.judge.surfaces import Faced, Feeding, SquareFace, check_backlash, check_faces, facing_span
from cam.judge.sweep import along, along_line
from cam.judge.threading import Threads, vees
from cam.judge.touch import MAY_BE_OFF, check_begun, check_touch, touches_told
from cam.judge.travel import FRESH, MOVED, TakeUp, after
from cam.rs274.begin import Begun
from cam.rs274.model import MOVING, Motion, Program
from cam.setting.fastest import speed_limits
from cam.setting.model import Setting
from cam.shop.machine import bare_length
from cam.shop.model import Material, Shop, Tool


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
    whole, begun = (program.program, program) if isinstance(program, Begun) else (program, None)
    run = _Run(setting, shop, from_chain(setting.stock if stock is None else stock), whole, material)

    def look(number: int) -> None:
        if watch is not None:
            watch(run.look(number))

    look(-1)
    run.told = touches_told(whole) if stops and begun is None else {}
    for number, motion in enumerate(whole.motions):
        run.check_touch(number)
        if begun is not None and number == begun.first:
            run.begin(begun, material)
        run.take(number, motion)
        look(number)
    gouge, uncut = run.judge(limits=limits)
    look(len(whole.motions))
    if stops:
        run.check_stops(whole, begun)
    run.findings += check_lathe_reach(whole.motions[begun.first if begun else 0 :], setting, shop.lathe)
    run.findings += unreadable(whole)
    return run.conclude(gouge, uncut)


PLUNGED = 0.02
"""A move inward that takes off more than this, mm, is a cut, and not the last of the way to one."""
SCRAPED = 2 * TOLERANCE
"""What a rapid may take off while a slide lags, mm: what the work's spring and the last digit of a program leave."""
NOT_FACED = Faced()
"""A place along Z where no cut has faced anything."""


class _Run:
    """The work and the findings while the program goes along."""

    def __init__(
        self, setting: Setting, shop: Shop, pieces: list[Piece], program: Program, material: Material | None
    ) -> None:
        self.setting = setting
        self.shop, self.program = shop, program
        self.told: dict[int, tuple[int, str]] = {}
        self.metal = Metal(cover(pieces, setting.head_z, setting.stock_end_z))
        self.stock = Metal(self.metal.pieces)
        self.really = really_of(self.metal.pieces, setting, shop.lathe, play=True)
        self.tight = really_of(self.metal.pieces, setting, shop.lathe, play=False)
        self.slides = [metal for metal in (self.really, self.tight) if metal is not None]
        self.rules = ShopChecks(shop, program, speed_limits(setting), material)
        self.findings = self.rules.findings
        self.approaches: list[Approach] = []
        self.feeding: dict[int, Feeding] = {}
        self.facing: dict[float, Faced] = {}
        self.surroundings = Surroundings(setting, shop)
        self.outermost = max((p.x for o in setting.obstacles for p in o.polygon), default=0.0)
        self.nears = self._nears(program)
        self.tooling = (0, 0, -1)  # of the last motion
        self.shape: ToolShape | None = None
        self.take_up: TakeUp = FRESH
        self.limit_z = setting.limit_z
        self.lines = [m.line for m in program.motions]
        self.rapid_rate = float(shop.lathe.control.rapid)
        self.cutting_time = self.air_time = 0.0
        self.reached: list[tuple[float, float, float, float]] = []
        self.seen = (0, 0.0, 0.0)
        self.threads = Threads(setting, shop.lathe) if setting.threads else None

    def begin(self, begun: Begun, material: Material | None) -> None:
        """Judge the program from here on: the metal is as it has been left, and nothing else is known."""
        self.rules = ShopChecks(self.shop, begun.program, speed_limits(self.setting), material)
        self.findings, self.approaches, self.reached = self.rules.findings, [], []
        self.surroundings = Surroundings(self.setting, self.shop)
        self.tooling, self.shape, self.take_up = (0, 0, -1), None, FRESH
        self.cutting_time = self.air_time = 0.0
        if begun.reground:
            self.findings += check_begun(begun, self.setting, self.shop, self.metal.pieces)

    def check_touch(self, number: int) -> None:
        """Check what the text says before a motion that a tool set there can touch, if it says anything."""
        if number not in self.told:
            return
        line, said = self.told[number]
        motions = self.program.motions
        following = (motions[k] for k in range(number, len(motions)))
        tool = next((self.shop.tool(m.tool) for m in following if m.kind in MOVING), None)
        found: list[list[Finding]] = []
        for metal in (self.metal, *(slides.metal for slides in self.slides)):  # by the text, or as it really comes out
            found.append([*check_touch(line, said, tool, self.setting, self.shop, metal, MAY_BE_OFF)])
            if not found[-1]:
                return
        self.findings += found[0]

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

    def take(self, number: int, motion: Motion) -> None:
        """Go on by one motion, a wait or any other."""
        self.rules.check_fastest(motion)
        if motion.kind in MOVING:
            self.move(number, motion)
        elif motion.kind == "dwell":
            self.spend(motion.seconds)

    def move(self, number: int, motion: Motion) -> None:
        """Judge one motion and carry out what it does to the metal."""
        if motion.start == motion.end and motion.kind != "arc":
            return
        self.rules.check_shape(motion)
        self._mount(motion)
        known = self._check_place(motion)
        motion = moved_with_work(motion, None if self.shape is None else self.shape.tool, self.setting)
        before, self.take_up = self.take_up, FRESH
        path = self._path(motion)
        if path is None:
            return
        if known:
            self.take_up = before if motion.top_slide else after(before, path)
        box = bounds(path)
        self.reached.append(box)
        lagging = [m.move(number, motion, None if self.shape is None else self.shape.nose.under) for m in self.slides]
        if self.shape is not None:
            self._use(KnownMove(number, motion, self.shape, path, box, self.nears.get(number)), before)
        self._lags(motion, max(lagging, key=lambda hit: hit.amount, default=NO_HIT))

    def _lags(self, motion: Motion, hit: Hit) -> None:
        """Note a rapid that runs into metal because the slides lag behind what the program says, and only so."""
        if hit.amount > SCRAPED and not any(f.line == motion.line for f in self.findings):
            what = f"rapids {micrometres(hit.amount)} into the metal at {place(hit.z, hit.x)}, as a slide lags"
            self.rules.add(motion, "rapid in metal", what, hit.amount, (hit.z, hit.x))

    def _mount(self, motion: Motion) -> None:
        """Take up the tool of a motion; if nothing changes it needs no second look."""
        tooling = (motion.tool, motion.offset, motion.system)
        if tooling != self.tooling:
            tool = self.rules.tool_of(motion)
            self.tooling, self.shape = tooling, None if tool is None else self.surroundings.shape(tool)

    def _use(self, move: KnownMove, before: TakeUp) -> None:
        """Judge what the tool in use does on a known path. before: what the slides had taken up."""
        motion, tool, path, box = move.motion, move.shape.tool, move.path, move.box
        if box[1] < 0.0 or box[0] < self.limit_z:
            self.rules.check_limits(motion, tool, box[1], box[0], self.limit_z)
        if motion.kind == "rapid":
            self._rapid(move)
        elif motion.kind == "thread":
            self._thread(move)
        else:
            feeding = self.feeding[move.number] = Feeding(motion.line, path, tool, before, motion.top_slide)
            if path.start[0] == path.end[0] and (span := facing_span(feeding)):
                self.facing.setdefault(path.end[0], Faced()).add(*span)
            self._feed(move)

    def _paths(self, program: Program) -> dict[int, tuple[int, Line | Arc]]:
        """Return tool and path of every motion that can be judged, by its number."""
        moving = ((number, m) for number, m in enumerate(program.motions) if m.kind in MOVING)
        return {number: (m.tool, path) for number, m in moving if (path := self._path(m))}

    def _nears(self, program: Program) -> dict[int, Near]:
        """Return the nearest that each motion comes to what stands still, by its number.

        A tool that stops have shown to be off is held to where the text says it goes, or to where it really goes: what
        was clear enough before a correction is so after it.
        """
        said = find_nearest(self.shop.tools, self.setting.obstacles, self._paths(program))
        if not self.setting.corrections:
            return said
        motions = (moved_with_tool(m, self.shop.tool(m.tool), self.setting) for m in program.motions)
        really = replace(program, motions=tuple(motions))
        found = find_nearest(self.shop.tools, self.setting.obstacles, self._paths(really))
        return {n: max(near, found.get(n, near), key=lambda one: one.distance) for n, near in said.items()}

    def _path(self, motion: Motion) -> Line | Arc | None:
        """Return what of a motion's path can be judged: all if the program has said it, else its end, and along X."""
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        if math.isnan(ex + ez) or not motion.system:
            return None  # X alone, Z unknown: nothing can be said of it, and the proof in air is just that
        if math.isnan(sz):
            return Line(Point(ez, ex), Point(ez, ex))
        if math.isnan(sx):
            return Line(Point(sz, max(self.outermost, ex)), Point(ez, ex))
        return path_of(motion)

    def _check_place(self, motion: Motion) -> bool:
        """Check that a program moves from place to place as it may; tell whether it has said all of them."""
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        if motion.system and not math.isnan(sx + sz + ex + ez):
            dz, dx = abs(ez - sz), abs(ex - sx)
            if motion.kind == "rapid" and dz > MOVED and dx > MOVED:
                what = f"rapids X and Z together ({figure(dx)} and {mm(dz)}); rapids go one axis at a time"
                self.rules.add(motion, "diagonal rapid", what)
            return True
        if motion.system == 0:
            what = "moves in machine coordinates, whose place at the work is unknown"
            self.rules.add(motion, "machine coordinates", what)
        elif what := self._unknown(motion):
            self.rules.add(motion, "unknown place", what)
        return False

    def _unknown(self, motion: Motion) -> str:
        """Say what is wrong with a motion of which not every place is known; "" if nothing is."""
        (sx, _, sz), (ex, _, ez) = motion.start, motion.end
        if math.isnan(ex):
            return "moves to an unknown place" if math.isnan(ez) else "moves Z before the program has said where X is"
        if math.isnan(ez) or not math.isnan(sz):
            return ""
        if math.isnan(sx):
            return "moves X and Z together from an unknown place"
        top = max(self.metal.tops)
        low = f"moves Z from an unknown place at radius {mm(sx)}, below the work's {mm(top)}"
        return low if sx < top else ""

    def _rapid(self, move: KnownMove) -> None:
        motion, tool, path, box = move.motion, move.shape.tool, move.path, move.box
        self.spend(60.0 * max(box[2] - box[0], box[3] - box[1]) / self.rapid_rate)
        if not self.surroundings.beside_work(move, self.metal):
            self._approach(move, None)
            return
        removed = along(Metal.cut, self.metal, move.shape.nose.under, path, box, move.number)
        hit = worst_hit(removed) if removed else NO_HIT
        if hit.amount > FILM:
            amount = hit.along(path)
            what = f"rapids {micrometres(amount)} into the metal at {place(hit.z, hit.x)}"
            self.rules.add(motion, "rapid in metal", what, amount, (hit.z, hit.x))
        elif path.end[1] > path.start[1] and tool.approach > 90.0 and tool.hand == "right":
            self._drags(motion, tool, path)
        elif (length_ := rubbed_length(move.shape.nose, path, self.metal)) > TOLERANCE:
            what = f"rapids along {mm(length_)} of the metal's surface, touching it"
            self.rules.add(motion, "rubbing", what, 0.0, (path.end[0], path.end[1]))
        self._approach(move, self.metal, hit)

    def _feed(self, move: KnownMove) -> None:
        motion, tool, path = move.motion, move.shape.tool, move.path
        depth = self._depth(tool, path)
        removed = along(Metal.cut, self.metal, move.shape.nose.under, path, move.box, move.number)
        amount = worst_hit(removed).amount if removed else 0.0
        cuts = self._faces(tool, path) or amount > INTO
        size, rpm = length(path), spindle_speed(motion, 0.5 * (path.start[1] + path.end[1]))
        feed = feed_per_turn(motion, rpm, size)
        self.rules.check_feeding(motion, rpm, feed)
        if cuts:
            self.rules.check_cutting(motion)
            if depth > 0.0:
                self.rules.check_along(motion, tool, depth, feed)
            elif path.end[1] < path.start[1] and amount > PLUNGED:
                self.rules.check_chip(motion, tool, feed)
        self._approach(move, self.metal)
        self.spend(feed_seconds(motion, rpm, size), cuts=cuts)

    def spend(self, seconds: float, *, cuts: bool = False) -> None:
        """Count the time that a motion takes, s."""
        if cuts:
            self.cutting_time += seconds
        else:
            self.air_time += seconds

    def _thread(self, move: KnownMove) -> None:
        """Take out a vee at every turn of a pass in step with the spindle."""
        motion, path, under = move.motion, move.path, move.shape.nose.under
        rpm, lead = spindle_speed(motion, path.start[1]), float(motion.feed or 0.0)
        assert isinstance(path, Line)
        removed = [self.metal.cut(along_line(under, vee, vee, move.number)) for vee in vees(path, lead)]
        cuts = any(removed)
        if cuts:
            self.rules.check_cutting(motion)
        self.threads = self.threads or Threads(self.setting, self.shop.lathe)
        self.threads.take(move.number, motion, path, move.shape.tool, rpm)
        self._approach(move, self.metal)
        self.spend(60.0 * (move.box[2] - move.box[0]) / (lead * rpm) if rpm else 0.0, cuts=cuts)

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
        # beyond the end of the stock nothing ever stood, of which an edge could leave something
        top = min(self.metal.at(z - INTO), self.stock.at(z + TOLERANCE), x1 + nose)
        if top <= max(x0 + nose, 0.0):  # below the axis nothing stands
            return
        face = SquareFace(z, x0, top)
        standing = self.facing.get(z, NOT_FACED).standing(face, nose)
        amount = standing * math.tan(math.radians(tool.approach - 90.0))
        if amount > TOLERANCE:
            what = (
                f"rapids out beside a shoulder that was not faced: the leading edge leans back "
                f"{tool.approach - 90.0:.0f} degrees and has left up to {micrometres(amount)} in the way"
            )
            self.rules.add(motion, "rapid in metal", what, amount, (z, top))

    def _approach(self, move: KnownMove, metal: Metal | None, nose_hit: Hit | None = None) -> None:
        found = self.surroundings.approach(move, metal, nose_hit)
        if found is not None:
            self.approaches.append(found)

    def judge(self, *, limits: bool) -> tuple[float, float]:
        """Compare what is left with what was wanted; return the greatest gouge depth and uncut height, mm.

        Args:
            limits: as for simulate.
        """
        setting, lathe, lines = self.setting, self.shop.lathe, self.lines
        allowed = within_limits(setting, bare_length(lathe.z)) if limits else (setting.least, setting.most)
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
        self.findings += report_gouges(gouges, lines, setting.turned, but=by_text, told=told)
        height = lathe.control.facts.arc_height  # of lines in place of arcs; 0 for arcs
        self.findings += report_uncut(beyond_lines(uncut_faults, most, height), setting.turned)
        self.findings += loose
        self.findings += check_faces(said, self.feeding, setting, (aimed, self.stock), lathe)
        deep = max((f.amount for f in (*gouges, *by_text)), default=0.0)
        return deep, max((f.amount for f in uncut_faults), default=0.0)

    def check_stops(self, program: Program, begun: Begun | None) -> None:
        """Look for the stops that the shop needs: the proof, belt, tools, measuring."""
        rest, words, first = (program, None, 0) if begun is None else (begun.rest, begun.words, begun.first)
        self.findings += check_stops(rest, self.setting, self.shop, words)
        left, lathe = self.metal.pieces, self.shop.lathe
        self.rules.warnings += warn_of_stops(program, self.setting, left, self.feeding, lathe, first)

    def _left(self, metal: Metal) -> Metal:
        """Return the metal as it is in the end: without slivers and what falls off."""
        left = without_slivers(metal.pieces)
        if self.setting.tail_centre is not None:
            return Metal(left)
        if self.setting.slot is None:
            return Metal(without_loose_end(left))
        bar, part = split_at(left, self.setting.slot.z)  # the part has fallen; it is what is judged
        return Metal([*bar, *without_loose_end(part)])

    def conclude(self, gouge: float, uncut: float) -> Simulation:
        """Return everything found, sorted."""
        findings = told_in(self.program.unit, (*self.findings, *self.surroundings.findings))
        boxes = list(zip(*self.reached, strict=True)) or [(0.0,)] * 4
        return Simulation(
            setting=self.setting.number, findings=tuple(sorted(findings, key=by_line)),
            warnings=tuple(sorted(told_in(self.program.unit, self.rules.warnings), key=by_line)),
            approaches=tuple(self.approaches), closest=min(self.approaches, key=lambda a: a.distance, default=None),
            closest_fixed=self.surroundings.fixed, tip_only=tuple(sorted(self.rules.tip_only)),
            result=to_chain(self.metal.pieces), gouge=gouge, uncut=uncut, cutting_time=self.cutting_time,
            air_time=self.air_time, lowest=Point(min(boxes[0]), min(boxes[1])),
            highest=Point(max(boxes[2]), max(boxes[3])),
        )  # fmt: skip
