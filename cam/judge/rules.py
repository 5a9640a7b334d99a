"""What the state of the program must be at each motion: tool, plane, spindle, speed, feed, limits."""

from __future__ import annotations

import math

from cam.judge.model import Finding
from cam.judge.report import figure, find, mm, noted, uncalled
from cam.rs274.model import Motion, Program
from cam.rs274.tables import find_standard
from cam.setting.fastest import SpeedLimit
from cam.shop.control import zero_of
from cam.shop.model import Lathe, Material, Shop, Tool

SPEED_SHARE = 0.01
"""A programmed speed within this share of one that the lathe has is taken for that speed."""
ROUNDING = 0.5
"""A speed may exceed what the work's holding allows by this, rev/min: texts say whole numbers."""
FEED_SHARE = 0.01
"""A feed may pass the slide's limits by this share, and by half a mm/min, which is rounding in the text."""
PAST_AXIS = 0.05
"""How far the nose's own edge may pass the axis, mm: enough to face an end without leaving a pip."""
OVER_DEPTH = 1.2
"""A cut may be deeper than the tool's greatest depth by this factor: stock is never quite round or quite to size."""


def fastest_at(motion: Motion, x: float) -> float:
    """Return the speed of a turning spindle at radius x, mm, rev/min; infinite where nothing limits it."""
    if motion.surface_speed is None:
        return motion.rpm
    wanted = 1000.0 * motion.surface_speed / (2.0 * math.pi * abs(x)) if x else math.inf
    return min(wanted, motion.rpm or math.inf)


def spindle_speed(motion: Motion, x: float) -> float:
    """Spindle speed while cutting at radius x, mm, in rev/min; 0 with the spindle stopped."""
    rpm = fastest_at(motion, x) if motion.spindle else 0.0
    return 0.0 if math.isinf(rpm) else rpm


def feed_per_turn(motion: Motion, rpm: float, length: float) -> float | None:
    """Feed, in mm/rev, of a motion of some length, mm; None where the program does not say it."""
    if not motion.feed or not motion.feed_mode:
        return None
    if motion.feed_mode == 95:
        return motion.feed
    if not rpm:
        return None
    return motion.feed / rpm if motion.feed_mode == 94 else motion.feed * length / rpm


def feed_seconds(motion: Motion, rpm: float, length: float) -> float:
    """Return the time that a feed motion of some length, mm, takes, s; 0 where the program does not say it."""
    if motion.feed_mode == 93:
        return 60.0 / motion.feed if motion.feed else 0.0
    feed = feed_per_turn(motion, rpm, length)
    rate = motion.feed if motion.feed_mode == 94 else (feed or 0.0) * rpm
    return 60.0 * length / rate if rate else 0.0


OVER_SPEED = 1.25
"""A cut may be faster than the range of the tables by this factor, as tables differ by more (common practice)."""


class ShopChecks:
    """The checks of one program against one shop; a fault that comes again in the same way is reported once."""

    def __init__(
        self, shop: Shop, program: Program, limits: tuple[SpeedLimit, ...] = (), material: Material | None = None
    ) -> None:
        """Begin with nothing seen but what the reader noted. limits: of what holds the work, the slowest first."""
        self.slowest = next(iter(limits), None)
        self.offset_digits = find_standard(program.standard).offset_digits
        self.uncalled = uncalled(program)
        self.lathe: Lathe = shop.lathe
        self.feeds = float(shop.lathe.least_feed), float(shop.lathe.most_feed)
        self.tip_only: set[int] = set()  # tools that came into use and have no body
        self.tools: dict[int, Tool] = {t.number: t for t in shop.tools}
        self.findings: list[Finding] = noted(program)
        self.warnings: list[Finding] = noted(program, ("steps",))
        self.material = material
        self.speed: tuple[float, float | None] | None = None  # that was looked at last
        self._seen: set[tuple[object, ...]] = set()

    def _first(self, *key: object) -> bool:
        """Tell whether this has not been seen before."""
        if key in self._seen:
            return False
        self._seen.add(key)
        return True

    def tool_of(self, motion: Motion) -> Tool | None:
        """Return the tool in use; None, and a finding, where the shop has none such or it is not in its own system."""
        number = motion.tool
        tool = self.tools.get(number)
        if tool is None:
            if self._first("unknown tool", number):
                have = ", ".join(f"T{n}" for n in sorted(self.tools)) or "none"
                what = f"uses tool {number}, which the shop does not have; it has {have}" if number else self.uncalled
                self.add(motion, "unknown tool", what)
            return None
        if tool.tip_only:
            self.tip_only.add(number)
        self._check_zero(motion)
        return tool

    def _check_zero(self, motion: Motion) -> None:
        """Check that a tool moves with the zero that was set for it."""
        own, what = (motion.offset, "offset") if self.offset_digits else (motion.system, "work system")
        facts = self.lathe.control.facts
        wanted = 0 if self.offset_digits and facts.tool_change == "stop" else zero_of(facts, motion.tool)
        if motion.system and own != wanted and self._first("tool offset", motion.tool, own):
            why = f"each tool is touched off with the {what} of its own number"
            if not self.offset_digits:
                why += ", and a T word only chooses a tool: M6 brings it into use"
            why = f"all tools share {what} {wanted}" if facts.tool_zeros == "one" else why
            self.add(motion, "tool offset", f"runs tool {motion.tool} with {what} {own}: {why}")

    def check_feeding(self, motion: Motion, rpm: float, feed: float | None) -> None:
        """Check feed and speed of a feed motion, whether or not it cuts."""
        if feed is None:
            if not motion.feed or not motion.feed_mode:
                self.add(motion, "no feed", "feeds without a feed that the program has set")
        elif rpm:
            (least, most), spare = self.feeds, 0.5 / rpm
            if not least * (1 - FEED_SHARE) - spare <= feed <= most * (1 + FEED_SHARE) + spare:
                what = f"feeds {mm(feed, 4)}/rev; this lathe feeds from {figure(least)} to {mm(most)}/rev"
                self.add(motion, "feed", what, amount=feed)
        speed = (motion.rpm, motion.surface_speed)
        if motion.spindle and speed != self.speed:
            self.speed = speed
            if self._first("speed", *speed):
                self._check_speed(motion)

    def check_fastest(self, motion: Motion) -> None:
        """Check that the spindle turns no faster than what holds the work allows, whatever moves or stands still.

        Under constant surface speed it turns fastest where the motion comes nearest the axis; before the program has
        said where X is, as fast as its limit lets it.
        """
        limit = self.slowest
        if limit is None or not motion.spindle:
            return
        start, end = motion.start.x, motion.end.x
        rpm = fastest_at(motion, min(abs(start), abs(end)) if start * end >= 0 else 0.0)
        if rpm > limit.rpm + ROUNDING and self._first("too fast", motion.rpm, motion.surface_speed):
            fast = "without a limit" if math.isinf(rpm) else f"at {rpm:.0f} rev/min"
            self.add(motion, "too fast", f"turns {fast}; {limit.words}", amount=0.0 if math.isinf(rpm) else rpm)

    def _check_speed(self, motion: Motion) -> None:
        spindle = self.lathe.spindle
        if motion.surface_speed is not None:
            if not spindle.constant_surface_speed:
                self.add(motion, "speed", "asks for constant surface speed, which this lathe cannot hold")
            return
        exact = [float(p.rpm) for p in spindle.positions]
        if exact:
            exists = any(abs(motion.rpm - rpm) <= SPEED_SHARE * rpm for rpm in exact)
            there_are = ", ".join(f"{p.name} {float(p.rpm):.0f}" for p in spindle.positions) + " rev/min"
        else:
            low, high = spindle.slowest, spindle.fastest
            exists = low * (1 - SPEED_SHARE) <= motion.rpm <= high * (1 + SPEED_SHARE)
            there_are = f"{low:.0f} to {high:.0f} rev/min"
        if motion.rpm and not exists:
            what = f"turns at {motion.rpm:.0f} rev/min, a speed that does not exist on this lathe: it has {there_are}"
            self.add(motion, "speed", what)

    def check_cutting(self, motion: Motion) -> None:
        """Check the spindle while metal comes off."""
        if motion.spindle < 0:
            self.add(motion, "spindle off", "cuts with the spindle turning backward")
        elif not motion.spindle:
            self.add(motion, "spindle off", "cuts with the spindle stopped")
        elif not motion.rpm and motion.surface_speed is None:
            self.add(motion, "spindle off", "cuts before the program has set a spindle speed")

    def check_along(self, motion: Motion, tool: Tool, depth: float, feed: float | None) -> None:
        """Check a straight cut along Z that takes metal off: its depth per side, its chip, and the material's speed."""
        self.check_chip(motion, tool, feed)
        self._check_fast(motion, tool)
        self._check_depth(motion, tool, depth)

    def check_chip(self, motion: Motion, tool: Tool, feed: float | None) -> None:
        """Check that a cut along Z or inward is no coarser than the tool allows."""
        most = float(tool.rough_feed) * (1 + FEED_SHARE) + (0.5 / motion.rpm if motion.rpm else math.inf)
        if feed is not None and feed > most:
            what = f"cuts at {mm(feed)}/rev; {tool.name} is for {mm(float(tool.rough_feed))}/rev at most"
            self.warnings.append(find(motion.line, "coarse feed", what, amount=feed, tool=tool.number))

    def _check_fast(self, motion: Motion, tool: Tool) -> None:
        if self.material is not None and motion.rpm > self.lathe.spindle.slowest * (1 + SPEED_SHARE):
            fast = 2e-3 * math.pi * motion.start.x * motion.rpm
            most = OVER_SPEED * self.material.speed[tool.material][1]
            if fast > most and motion.surface_speed is None and self._first("fast", motion.rpm, motion.start.x):
                what = f"cuts {self.material.name} at {fast:.0f} m/min; {tool.material} takes {most:.0f} m/min at most"
                self.add(motion, "speed", what, amount=fast)

    def _check_depth(self, motion: Motion, tool: Tool, depth: float) -> None:
        if depth > OVER_DEPTH * float(tool.deepest_cut):
            what = f"cuts {mm(depth)} deep per side; {tool.name} takes {mm(float(tool.deepest_cut))}"
            self.add(motion, "too deep", what, amount=depth)

    def check_shape(self, motion: Motion) -> None:
        """Check the motion's axes and plane."""
        start, end = motion.start, motion.end
        if not math.isnan(end.y) and end.y != (0.0 if math.isnan(start.y) else start.y):
            self.add(motion, "Y motion", f"moves Y to {mm(end.y)}; a lathe has no Y slide")
        if motion.kind == "arc" and motion.plane != 18:
            plane = f"G{motion.plane}" if motion.plane else "no plane said"
            self.add(motion, "wrong plane", f"runs an arc in the wrong plane ({plane}); the lathe's is G18")

    def check_limits(self, motion: Motion, tool: Tool, lowest: float, least_z: float, limit_z: float) -> None:
        """Check how far the tip goes.

        Args:
            lowest: least x on the motion. least_z: least z of the tip on it; limit_z: where cutting must end. All mm.
        """
        past = -lowest - PAST_AXIS - float(tool.nose_radius)
        if past > 1e-9:
            self.add(motion, "outside limits", f"takes the tip to X {mm(lowest)}, beyond the axis", amount=past)
        if motion.kind != "rapid" and motion.spindle and least_z < limit_z - 1e-6:  # standing it cuts nothing
            what = f"feeds to Z {mm(least_z)}; the tool may cut no further than Z {mm(limit_z)} in this setting"
            self.add(motion, "outside limits", what, amount=limit_z - least_z)

    def add(
        self, motion: Motion, kind: str, what: str, amount: float = 0.0, at: tuple[float, float] | None = None
    ) -> None:
        """Keep a finding at a motion; at: its place (z, x)."""
        end = motion.end
        tip = None if math.isnan(end.z) or math.isnan(end.x) else (end.z, end.x)
        self.findings.append(find(motion.line, kind, what, amount=amount, at=at, tip=tip, tool=motion.tool))
