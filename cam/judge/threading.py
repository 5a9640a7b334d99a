"""Threads in a program text: whether each pass is in step, where it may be, and what pitch diameter they leave.

A thread is no body of revolution. The metal is its half-section at one angle of turning: each pass takes out a vee at
every pitch along its way. What is never to be cut is held against all the pass sweeps, at whatever angle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.geometry.path import Arc, Line, Point
from cam.ground.frozen import Row
from cam.judge.envelope import Metal
from cam.judge.model import Finding
from cam.judge.near import Surroundings
from cam.judge.report import figure, find, micrometres, mm, told
from cam.judge.sweep import along_line
from cam.part.screw import pitch_diameter_at, start_room
from cam.rs274.model import Motion
from cam.setting.model import Setting, ThreadWanted
from cam.shop.model import Lathe, Tool

SAME_LEAD = 1e-3
"""A lead within this share of the pitch counts as the pitch: over ten turns it is off by less than a hundredth."""
IN_STEP = 0.01
"""Passes that start within this share of a pitch fall in one groove."""
SAME_ANGLE = 0.1
SAME_SPEED = 0.5
ON_SIZE = 1e-3
CREST = 2e-3
"""How much lower than the shank a crest may stand, mm."""
OVER_DEPTH = 1.2
"""A first pass may be deeper than the tool's greatest cut by this factor, as in cam.judge.rules."""


class ThreadPass(Row):
    """One threading pass: number of its motion, its line, path and tool."""

    number: int
    line: int
    path: Line
    tool: Tool
    rpm: float


def vees(path: Line, lead: float) -> Iterator[Point]:
    """Return the places of the programmed point along a pass at one angle of turning: one for every turn."""
    (start, x), end = path.start, path.end[0]
    way = -1.0 if end < start else 1.0
    for k in range(math.floor(abs(end - start) / lead + 1e-9) + 1):
        yield Point(start + way * k * lead, x)


def height_over(metal: Metal, z: float, pitch: float) -> float:
    """Height at z, mm; for a thread that of a crest nearby, as the one beside the start may stand in its chamfer."""
    return metal.highest(z - pitch, z + pitch) if pitch else metal.at(z)


class Threads:
    """The threading passes of a program so far."""

    def __init__(self, setting: Setting, lathe: Lathe) -> None:
        """Begin with nothing cut."""
        self.setting, self.lathe = setting, lathe
        self.cuts: list[ThreadPass] = []
        self.findings: list[Finding] = []
        self._seen: set[str] = set()

    def take(self, number: int, motion: Motion, path: Line | Arc, tool: Tool, rpm: float) -> None:
        """Judge one pass, and keep it."""
        assert isinstance(path, Line)
        cut = ThreadPass(number, motion.line, path, tool, rpm)
        wanted = self.wanted_at(path)
        for what in self._wrong(cut, float(motion.feed or 0.0), wanted):
            if (as_told := told(what, "mm")) not in self._seen:
                self._seen.add(as_told)
                self.findings.append(find(motion.line, "thread", what, tip=path.end, tool=tool.number))
        self.cuts.append(cut)

    def wanted_at(self, path: Line) -> ThreadWanted | None:
        """Return the thread that a pass runs over; None where none is wanted."""
        low, high = sorted((path.start[0], path.end[0]))
        return next((t for t in self.setting.threads if low < t.near and high > t.far), None)

    def _wrong(self, cut: ThreadPass, lead: float, wanted: ThreadWanted | None) -> Iterator[str]:
        threading = self.lathe.threading
        if threading is None or threading.by != "encoder":
            yield "moves in step with the spindle, which this lathe cannot: the shop file names no spindle encoder"
            return
        if cut.tool.kind != "threading":
            yield f"cuts a thread with tool {cut.tool.number}, which is no threading tool"
        if cut.rpm * lead > float(self.lathe.control.rapid) * (1 + SAME_LEAD):
            fast = f"{mm(cut.rpm * lead, 0)}/min, faster than its rapid of {mm(float(self.lathe.control.rapid), 0)}/min"
            yield f"asks the slide for {fast}"
        if cut.rpm > threading.fastest + SAME_SPEED:
            yield f"cuts a thread at {cut.rpm:.0f} rev/min; this lathe threads at {threading.fastest:.0f} at the most"
        if wanted is None:
            yield "cuts a thread where none is wanted"
            return
        yield from self._off_thread(cut, lead, wanted)
        yield from self._out_of_step(cut, wanted)

    def _off_thread(self, cut: ThreadPass, lead: float, wanted: ThreadWanted) -> Iterator[str]:
        """Say what is wrong with a pass by itself."""
        thread, name = wanted.thread, wanted.thread.name
        if abs(lead - thread.pitch) > SAME_LEAD * thread.pitch:
            yield f"cuts a lead of {mm(lead, 4)}; {name} has {mm(thread.pitch, 4)}"
        if cut.tool.kind == "threading" and abs(cut.tool.included - thread.angle) > SAME_ANGLE:
            yield f"cuts {name} with a tool of {cut.tool.included:g} degrees; its flanks stand at {thread.angle:g}"
        if cut.path.end[0] > cut.path.start[0]:
            yield f"cuts away from the headstock: with the spindle forward that is a left-hand thread; {name} is not"
            return
        threading = self.lathe.threading
        assert threading is not None
        room = cut.path.start[0] - wanted.near
        lost = float(self.lathe.z.backlash)
        if cut.rpm > 0 and lead > 0:
            need = start_room(lead, cut.rpm, threading.acceleration, lost)
            if room < need - ON_SIZE:
                yield f"starts {mm(room)} before the thread; the slide needs {mm(need)} to be in step"

    def _out_of_step(self, cut: ThreadPass, wanted: ThreadWanted) -> Iterator[str]:
        """Say what is wrong with a pass beside those before it on the same thread."""
        before = self._over(wanted)
        depth = wanted.shank - cut.path.start[1]
        last = max((0.0, *(wanted.shank - c.path.start[1] for c in before)))  # a pass in air cuts nothing
        most = float(cut.tool.deepest_cut)
        if depth * depth - last * last > (OVER_DEPTH * most) ** 2 and depth - last > OVER_DEPTH * most:
            takes = f"tool {cut.tool.number} takes {mm(most)}"
            yield f"goes {mm(depth - last)} deeper at once, from {mm(last)}; {takes}"
        if not before:
            return
        pitch, first = wanted.thread.pitch, before[0]
        turns = (cut.path.start[0] - first.path.start[0]) / pitch
        if abs(turns - round(turns)) > IN_STEP:
            off = abs(cut.path.start[0] - first.path.start[0])
            yield (
                f"starts {mm(off)} from where line {first.line} did, no whole number of pitches: the passes do not "
                "fall in one groove"
            )
        if abs(cut.rpm - first.rpm) > SAME_SPEED:
            yield f"turns at {cut.rpm:.0f} rev/min, line {first.line} at {first.rpm:.0f}: the passes fall out of step"

    def swept(self, metal: Metal, surroundings: Surroundings) -> Metal:
        """Return the metal less all that the passes swept, at whatever angle of turning."""
        whole = Metal(metal.pieces)
        for cut in self.cuts:
            under = surroundings.shape(cut.tool).nose.under
            whole.cut(along_line(under, cut.path.start, cut.path.end, cut.number))
        return whole

    def judge(self, metal: Metal, most: Metal) -> list[Finding]:
        """Return what is wrong with the passes, and in the end with each thread; most: the fullest metal allowed."""
        found = [f for t in self.setting.threads for f in (*self._judge_one(t), *self._crests(t, metal, most))]
        return [*self.findings, *found]

    def _crests(self, wanted: ThreadWanted, metal: Metal, most: Metal) -> Iterator[Finding]:
        """Check that between two grooves, clear of the start's chamfer, the shank still stands."""
        pitch = wanted.thread.pitch
        low, high = wanted.far, wanted.near - (wanted.shank - wanted.lowest) - pitch
        for k in range(max(math.floor((high - low) / pitch), 0)):
            z = low + k * pitch
            crest = metal.highest(z, z + pitch)
            off = most.highest(z, z + pitch) - crest
            if off > CREST:
                what = f'{wanted.thread.name} on "{wanted.section}" has lost its crest: {micrometres(off)} all round'
                yield find(0, "thread", what, amount=off, at=(z, crest))
                return

    def _judge_one(self, wanted: ThreadWanted) -> Iterator[Finding]:
        cuts = [c for c in self._over(wanted) if c.tool.kind == "threading"]
        name = f'{wanted.thread.name} on "{wanted.section}"'
        whole = [c for c in cuts if min(c.path.start[0], c.path.end[0]) <= wanted.far + ON_SIZE]
        if not whole:
            line = cuts[-1].line if cuts else 0
            what = f"{name} is not cut" + (" over its whole length" if cuts else "")
            yield find(line, "thread", what, at=(wanted.far, wanted.shank))
            return
        thick, _, deepest = min(self._sizes(whole, wanted))
        thin, _, thinnest = min(self._sizes(cuts, wanted))
        at, tip, tool = (wanted.far, deepest.path.end[1]), deepest.path.end, deepest.tool.number
        limits = f"{figure(wanted.least)} to {mm(wanted.most)}"
        if (off := thick - wanted.most) > ON_SIZE:
            what = f"{name} is left {micrometres(off)} too thick: pitch diameter {figure(thick)}, for {limits}"
            yield find(deepest.line, "thread", what, amount=off, at=at, tip=tip, tool=tool)
        if (off := wanted.least - thin) > ON_SIZE:
            what = f"{name} is cut {micrometres(off)} too thin: pitch diameter {figure(thin)}, for {limits}"
            yield find(thinnest.line, "thread", what, amount=off, at=at, tip=tip, tool=tool)

    def _over(self, wanted: ThreadWanted) -> list[ThreadPass]:
        """Return the passes over a thread so far."""
        return [c for c in self.cuts if self.wanted_at(c.path) is wanted]

    def _sizes(self, cuts: list[ThreadPass], wanted: ThreadWanted) -> Iterator[tuple[float, int, ThreadPass]]:
        """Yield each pass with its number behind the pitch diameter that it leaves, mm."""
        for cut in cuts:
            depth = min(cut.path.start[1], cut.path.end[1])
            yield pitch_diameter_at(wanted.thread, depth, float(cut.tool.nose_radius)), cut.number, cut
