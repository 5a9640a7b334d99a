"""The judgement on a mill's program, by its text alone.

What the plan meant is not known here; what is known is the work and what is wanted of it, the cutters, what holds
it, and the text as read. Flat end mills on straight moves are followed exactly (cam.judge.mill_metal); sections across
the axis are exact at any station. With the block tipped, the end wall at the shoulder is taken as upright to the
work's axis, from which it departs by the taper's angle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from cam.judge.driven import Drive, check_chip, check_drive, check_stops
from cam.judge.mill_metal import MetalInWay, Sweep, add_sweep, floor_at, lowest_at, standing_over
from cam.judge.mill_result import Bore, Face, MillSimulation
from cam.judge.milled import SAME_ANGLE, judge_across, judge_flats, judge_gouges, judge_holes, judge_seats, turned_from
from cam.judge.model import Finding
from cam.judge.reach import check_mill_reach
from cam.judge.report import TOLERANCE, figure, find, micrometres, mm, noted, told_in, uncalled, unreadable
from cam.judge.rules import feed_seconds
from cam.rs274.begin import Begun
from cam.rs274.model import Motion, Program, Turn
from cam.rs274.tables import find_standard
from cam.rs274.turns import STANDS
from cam.setting.milled import MillWork
from cam.setting.solids import FAR, nearest
from cam.shop.control import zero_of
from cam.shop.machine import NO_FACTS, Facts
from cam.shop.mill import Cutter

RAPID = 1000.0
"""Rate of rapids where nothing is known of the slides, mm/min."""
STEP_ERROR = 1e-3
"""The relative error of a tap's feed that a sprung tap holder takes up. Common practice, no source."""
COARSE, FINEST = 5.0, 0.02
"""The greatest and the least angle between the rays along which a section's outline is found, degrees."""
STRAIGHT = 1e-3
"""An outline whose middle lies nearer to its chord than this, mm, is straight."""
Corner = tuple[float, float]
"""A place (y, z) of a section across the axis, mm."""


def simulate_mill(
    program: Program,
    work: MillWork,
    cutters: Sequence[Cutter],
    *,
    clearance: float = 0.0,
    tolerance: float = TOLERANCE,
    drive: Drive | None = None,
    facts: Facts = NO_FACTS,
    begun: Begun | None = None,
) -> MillSimulation:
    """Judge a program: what it removes, what it comes near, what it leaves.

    Args:
        program: as read; a text with problems is judged up to the first, and is never ok.
        clearance: least distance that anything of the tool may come to what holds the work, mm.
        tolerance: by which a face may lie above or below the wanted one, mm.
        facts: of the mill's control. begun: where the program, which is then its own, is begun at a pass.
        drive: spindle, feeds and the material's speeds; None judges neither these nor the stops that a shop needs,
            and takes rapids to be of 1000 mm/min.

    Each tool has its own work system (T1 with G54, T2 with G55 ...) or its own length offset (T1 with H1); a program
    that says neither is found. Where the T word carries offset digits, these alone count.
    """
    run = _MillRun(work, cutters, clearance, offset_digits=find_standard(program.standard).offset_digits)
    run.findings += noted(program)
    run.uncalled, run.unit = uncalled(program), program.unit
    run.drive, run.facts = drive, facts
    turns = list(program.turns)
    for number, motion in enumerate(program.motions):
        if begun is not None and number == begun.first:
            run.begin(begun)
        while turns and turns[0].line <= motion.line:
            run.turn(turns.pop(0), motion)
        run.number = number
        run.take(motion)
    if drive is not None:
        found, run.warnings = check_stops(program, run.cutters, work, run.cuts, facts, begun)
        run.findings += found
        run.warnings += noted(program, ("steps",))
    run.findings += check_mill_reach(program.motions[begun.first if begun else 0 :], work)
    run.findings += unreadable(program)
    return run.conclude(tolerance)


class _MillRun:
    """The work and the findings as the program goes along."""

    def __init__(self, work: MillWork, cutters: Sequence[Cutter], clearance: float, *, offset_digits: bool) -> None:
        self.work = work
        self.offset_digits = offset_digits
        self.cutters = {c.number: c for c in cutters}
        self.clearance = clearance
        self.findings: list[Finding] = []
        self.angle = 0.0
        self.faces: dict[float, list[Sweep]] = {}
        self.bores: list[Bore] = []
        self.drilled: dict[tuple[float, int], list[Sweep]] = {}
        self.closest, self.closest_line = FAR, 0
        self.times = [0.0, 0.0]
        self.reached: list[tuple[float, float, float]] = []
        self.told: set[tuple[str, int]] = set()
        self.uncalled, self.unit = "", "mm"
        self.drive: Drive | None = None
        self.facts = NO_FACTS
        self.turned = False
        """Whether a hand has turned the work."""
        self.number = 0
        self.cuts: dict[int, int] = {}
        self.warnings: list[Finding] = []

    def begin(self, begun: Begun) -> None:
        """Judge the program from here on: the metal is as it has been left, and nothing else is known."""
        self.findings = noted(begun.program)
        self.closest, self.closest_line, self.times, self.reached = FAR, 0, [0.0, 0.0], []
        self.told = set()
        stands = STANDS.search(begun.words)
        self.angle = float(stands[1]) % 360.0 if stands else self.angle
        if self.turned and not stands:
            what = "begins here, and no words below the N line say how the work must stand"
            self.findings.append(find(begun.line, "turned", what))

    def add(self, kind: str, what: str, motion: Motion, amount: float = 0.0, obstacle: str = "") -> None:
        """Keep a finding at a motion."""
        x, y, z = motion.end
        at = None if math.isnan(x + y + z) else (x, z)
        found = find(motion.line, kind, what, amount=amount, at=at, tip=at, obstacle=obstacle, tool=motion.tool)
        self.findings.append(replace(found, y=y))

    def once(self, kind: str, what: str, motion: Motion) -> None:
        """Keep a finding of which one report for each tool is enough."""
        if (kind, motion.tool) not in self.told:
            self.told.add((kind, motion.tool))
            self.add(kind, what, motion)

    def turn(self, turn: Turn, motion: Motion) -> None:
        """Turn the work; the tool must be clear of all that turns."""
        if turn.by_hand and motion.spindle:
            what = "the work is turned by hand with the spindle running"
            self.add("spindle on", what, motion._replace(line=turn.line))
        cutter, here = self.cutters.get(motion.tool), motion.start
        if cutter is not None and not any(map(math.isnan, here)):
            near = nearest(cutter, here, here, (*self.work.sections, *self.work.fixtures), (), self.work.frame)
            if near.distance < self.clearance:
                what = f'the work is turned with the {near.body} {micrometres(near.distance)} from "{near.obstacle}"'
                self.add("turned in the cutter", what, motion._replace(line=turn.line), -near.distance, near.obstacle)
        self.angle = turn.angle % 360.0
        self.turned = self.turned or turn.by_hand

    def take(self, motion: Motion) -> None:
        """Judge one motion and carry out what it does to the metal."""
        if motion.kind == "dwell":
            self.times[1] += motion.seconds
        elif motion.kind == "arc":
            self.add("not checked", "an arc is not followed: a square is cut by straight moves", motion)
        elif motion.kind in ("stop", "optional stop") and motion.spindle:
            self.add("spindle on", "the program stops with the spindle running", motion)
        elif motion.kind in ("rapid", "line") and motion.start != motion.end:
            self.move(motion)

    def move(self, motion: Motion) -> None:
        """Judge one straight move."""
        cutter = self.cutters.get(motion.tool)
        self.check_state(motion, cutter)
        if cutter is None:
            return
        self.count(motion)
        if any(map(math.isnan, (*motion.start, *motion.end))):
            if motion.kind == "line":
                self.add("unknown place", "a cut begins where the text has not said", motion)
            return
        self.check_near(motion, cutter)
        if motion.kind == "line" and self.drive is not None:
            self.say(motion, check_drive(motion, self.drive))
        self.cut(motion, cutter)

    def check_state(self, motion: Motion, cutter: Cutter | None) -> None:
        """Check the sense of the spindle, the tool and its zero."""
        drawn = cutter is not None and cutter.kind == "tap" and motion.end[2] > motion.start[2]  # a tap comes out so
        if motion.spindle < 0 and not drawn:
            self.once("spindle off", "the spindle turns backward (M4)", motion)
        if cutter is None:
            what = f"tool {motion.tool} is not in the shop file" if motion.tool else self.uncalled
            self.once("unknown tool", what, motion)
        elif not self.has_zero(motion):
            what = f"tool {motion.tool} moves in neither its own work system nor its own offset"
            what = f"tool {motion.tool} does not move in the one zero of all tools" if self.one_zero else what
            self.once("tool offset", what, motion)

    @property
    def one_zero(self) -> bool:
        """Tell whether all tools share one zero."""
        return self.facts.tool_zeros == "one"

    def has_zero(self, motion: Motion) -> bool:
        """Tell whether a tool moves with the zero that was set for it."""
        if self.offset_digits:
            return motion.offset == (0 if self.facts.tool_change == "stop" else zero_of(self.facts, motion.tool))
        if self.one_zero:
            return (motion.system, motion.offset) == (1, 0)
        return motion.tool in (motion.system, motion.offset)

    def say(self, motion: Motion, wrong: Iterable[tuple[str, str]]) -> None:
        """Keep findings of speed and feed, each once in the same words."""
        for kind, what in wrong:
            if (what, motion.tool) not in self.told:
                self.told.add((what, motion.tool))
                self.add(kind, what, motion)

    def count(self, motion: Motion) -> None:
        """Add up time and travel, and find rapids that go down and across at once."""
        (x0, y0, z0), (x1, y1, z1) = motion.start, motion.end
        if not any(map(math.isnan, motion.end)):
            self.reached.append(motion.end)
        length = math.dist((x0, y0, z0), (x1, y1, z1))
        if motion.kind == "rapid":
            if z0 != z1 and not math.isnan(z0) and (x0, y0) != (x1, y1):
                self.add("diagonal rapid", "a rapid moves up or down and sideways at once", motion)
            seconds = 60 * length / (self.drive.rapid if self.drive is not None else RAPID)
        else:
            seconds = feed_seconds(motion, motion.rpm, length)
        if not math.isnan(seconds):
            self.times[motion.kind == "rapid"] += seconds

    def check_near(self, motion: Motion, cutter: Cutter) -> None:
        """Look for contact with what holds the work, and of shank and holder with the work."""
        work = self.work
        known = self.closest if self.closest.distance > self.clearance else FAR._replace(distance=self.clearance)
        near = nearest(cutter, motion.start, motion.end, work.fixtures, work.sections, work.frame, known)
        if near is known:
            return
        if near.distance < self.closest.distance:
            self.closest, self.closest_line = near, motion.line
        if near.distance < 0:
            what = f'the {near.body} strikes "{near.obstacle}", {micrometres(-near.distance)} deep'
            self.add("contact", what, motion, -near.distance, near.obstacle)
        elif near.distance < self.clearance:
            what = f'the {near.body} comes within {micrometres(near.distance)} of "{near.obstacle}"'
            self.add("too near", what, motion, self.clearance - near.distance, near.obstacle)

    def cut(self, motion: Motion, cutter: Cutter) -> None:
        """Carry out what the motion does to the metal."""
        sweep = Sweep(*motion.start, *motion.end, cutter.radius, motion.line)
        face, own = self.faces.get(self.angle, []), self.drilled.get((self.angle, motion.tool), [])
        standing = standing_over(sweep, [*face, *own], self.work)
        upright = (sweep.x0, sweep.y0) == (sweep.x1, sweep.y1)
        if standing.depth > TOLERANCE:
            self.check_cut(motion, cutter, standing, upright)
        if cutter.kind == "end mill":
            if standing.depth > 0 or (motion.kind == "line" and not (upright and sweep.z1 >= sweep.z0)):
                add_sweep(self.faces.setdefault(self.angle, face), sweep)
        elif upright and sweep.z1 < sweep.z0 and standing.depth > 0:
            self.bore(motion, cutter, sweep)

    def check_cut(self, motion: Motion, cutter: Cutter, standing: MetalInWay, upright: bool) -> None:
        """Check the metal that stands in the way: at rapid none may, at feed what the cutter can take."""
        place = f"{micrometres(standing.depth)} deep at X {figure(standing.x)} Y {figure(standing.y)}"
        if motion.kind == "rapid":
            self.add("rapid in metal", f"a rapid goes through metal, {place}", motion, standing.depth)
            return
        self.cuts[self.number] = motion.line
        if self.drive is not None and cutter.kind != "tap":
            self.say(motion, check_chip(motion, cutter, self.drive, self.work))
        if motion.spindle != 1:
            self.add("spindle off", "the cutter is in metal and the spindle does not turn forward", motion)
        if cutter.kind != "end mill":
            if not upright:
                self.add("dragged drill", f"{cutter.name} is moved sideways in metal", motion, standing.depth)
        elif upright:
            what = f"an end mill is plunged straight into metal, {place}"
            self.add("plunge", what, motion, standing.depth)
        elif standing.depth > min(cutter.deepest_cut, cutter.flutes) + TOLERANCE:
            what = f"{place}, and the cutter takes {mm(min(cutter.deepest_cut, cutter.flutes))}"
            self.add("too deep", what, motion, standing.depth)

    def bore(self, motion: Motion, cutter: Cutter, sweep: Sweep) -> None:
        """Sink a drill or tap."""
        self.drilled.setdefault((self.angle, motion.tool), []).append(sweep)
        self.bores = [
            b for b in self.bores
            if (b.tool, b.x, b.y) != (motion.tool, sweep.x1, sweep.y1) or b.angle != self.angle
        ] + [Bore(self.angle, sweep.x1, sweep.y1, self.deepest(motion, sweep), motion.tool, motion.line)]  # fmt: skip
        if cutter.kind == "tap":
            step = cutter.pitch * motion.rpm
            if motion.feed_mode != 94 or abs((motion.feed or 0.0) - step) > STEP_ERROR * step:
                self.once("tap", f"the tap's feed is not its pitch for every turn: {mm(step)}/min", motion)

    def deepest(self, motion: Motion, sweep: Sweep) -> float:
        """Return the least height that this tool has reached at this place, this motion included."""
        own = self.drilled[(self.angle, motion.tool)]
        return min(s.z1 for s in own if (s.x1, s.y1) == (sweep.x1, sweep.y1))

    def conclude(self, tolerance: float) -> MillSimulation:
        """Judge what is left, and put it all together."""
        faces = tuple(Face(a, tuple(s)) for a, s in sorted(self.faces.items()))
        flats, found = judge_flats(faces, self.work, tolerance)
        found += judge_gouges(faces, self.work, tolerance)
        found += judge_seats(faces, self.work, tolerance)
        found += judge_holes(self.bores, self.work, self.cutters, tolerance)
        xs, ys, zs = zip(*(self.reached or [(0.0, 0.0, 0.0)]), strict=True)
        told = told_in(self.unit, self.findings + found)
        return MillSimulation(
            findings=tuple(sorted(told, key=lambda f: (f.line or math.inf, f.kind, f.what))), faces=faces,
            bores=tuple(self.bores), flats=tuple(flats), across=tuple(judge_across(flats, self.work.square)),
            gouge=max((f.amount for f in found if f.kind == "gouge"), default=0.0),
            uncut=max((f.amount for f in found if f.kind == "uncut"), default=0.0),
            closest=None if self.closest is FAR else self.closest, closest_line=self.closest_line,
            cutting_time=self.times[0], air_time=self.times[1], lowest=(min(xs), min(ys), min(zs)),
            highest=(max(xs), max(ys), max(zs)),
            warnings=tuple(sorted(told_in(self.unit, self.warnings), key=lambda f: (f.line, f.kind))),
        )  # fmt: skip


def radius_at(faces: Sequence[Face], work: MillWork, x: float, ray: float) -> float:
    """Return how far the work reaches along a ray, mm, degrees clockwise from flat 1, as cut; 0 off the work."""
    section = work.section_at(x)
    if section is None:
        return 0.0
    radius = section.top
    for _ in faces:  # again: what one face left uncut beside its cut another may have taken
        before = radius
        for face in faces:
            turn = math.radians(turned_from(ray, face.angle))
            if math.cos(turn) > SAME_ANGLE and lowest_at(face.sweeps, work, x) < radius * math.cos(turn):
                radius = min(radius, _along_ray(face.sweeps, work, x, turn, radius))
        if radius == before:
            break
    return radius


def section_outline(faces: Sequence[Face], work: MillWork, x: float, up: float = 0.0) -> tuple[Corner, ...]:
    """Return the section across the axis at a station as cut: (y, z) seen from the tip, clockwise.

    It is found along rays COARSE apart and through every edge of a cutter's path, and again wherever the outline is not
    straight between two of them.

    Args:
        up: angle that is on top, degrees from flat 1.
    """

    def corner_at(ray: float) -> Corner:
        radius, turn = radius_at(faces, work, x, ray + up), math.radians(ray)
        return radius * math.sin(turn), radius * math.cos(turn)

    section = work.section_at(x)
    edges = [] if section is None else [(ray - up) % 360.0 for f in faces for ray in _edges_of(f, section.top)]
    rays = sorted({*edges, *(COARSE * k for k in range(math.ceil(360.0 / COARSE)))})
    known = [(ray, corner_at(ray)) for ray in rays]
    outline: list[Corner] = []
    for one, other in pairwise([*known, (360.0, known[0][1])]):
        outline += [one[1], *_bends(corner_at, one, other)]
    return tuple(outline)


def _edges_of(face: Face, top: float) -> Iterator[float]:
    """Yield rays to both sides of every edge of a cutter's path on a round of radius top, degrees from flat 1."""
    for y in {p + side * s.r for s in face.sweeps for p in (s.y0, s.y1) for side in (-1, 1)}:
        if abs(y) < top:
            for z in {math.sqrt(top * top - y * y), *(max(h, 0.0) for s in face.sweeps for h in (s.z0, s.z1))}:
                ray = face.angle + math.degrees(math.atan2(y, z))
                yield from (ray - FINEST, ray + FINEST)


def _bends(
    corner_at: Callable[[float], Corner], one: tuple[float, Corner], other: tuple[float, Corner]
) -> Iterator[Corner]:
    """Yield the corners of an outline between two rays; none where it is straight from one to the other."""
    (ray, (y0, z0)), (last, (y1, z1)) = one, other
    length = math.dist(one[1], other[1])
    if last - ray < FINEST or length == 0.0:
        return
    y, z = middle = corner_at((ray + last) / 2)
    if abs((y - y0) * (z1 - z0) - (z - z0) * (y1 - y0)) < STRAIGHT * length:
        return
    between = ((ray + last) / 2, middle)
    yield from _bends(corner_at, one, between)
    yield middle
    yield from _bends(corner_at, between, other)


def _along_ray(sweeps: Sequence[Sweep], work: MillWork, x: float, turn: float, radius: float) -> float:
    """Return how far from the axis a ray meets a face's floor, mm; radius where it does not."""
    upright, aside = math.cos(turn), math.sin(turn)
    reach = radius
    for _ in range(8):  # a floor is nearly level, so each step shrinks the error a hundredfold
        floor = floor_at(sweeps, work, x, reach * aside, reach * upright)
        new = min(radius, floor / upright)
        if abs(new - reach) < 1e-12:
            break
        reach = new
    return reach
