"""Speed, feed and stops of a mill's program, judged from the shop: spindle, chip, material, tools mounted by hand."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

from cam.ground.frozen import Row
from cam.judge.model import Finding
from cam.judge.mounted import ON_MILL, check_tools
from cam.judge.report import find, mm, unsaid_stops
from cam.judge.rules import FEED_SHARE, OVER_SPEED, SPEED_SHARE
from cam.rs274.begin import Begun
from cam.rs274.halts import Halt, halts_of, plain, proved_in_head
from cam.rs274.model import MOVING, Motion, Program, Turn
from cam.setting.milled import MillWork, points, solids_at
from cam.shop.machine import Facts
from cam.shop.mill import Cutter

SAME_ANGLE_DEGREES = 0.01
FINEST = 0.2
"""The share of its chip below which a cutter rubs more than it cuts (common practice, no source)."""


class Drive(Row):
    """What turns and feeds the cutters: the spindle's speeds, rev/min, and the rapids, mm/min.

    Attributes:
        speeds: number of a cutter -> greatest cutting speed for it in the work's material, m/min.
    """

    slowest: float
    fastest: float
    rapid: float
    speeds: Mapping[int, float]


def feed_of(motion: Motion) -> float:
    """Return the feed of a motion, mm for each turn of the spindle; nan where it is not said."""
    if motion.feed is None or motion.feed_mode == 93:
        return math.nan
    return motion.feed if motion.feed_mode == 95 else motion.feed / motion.rpm if motion.rpm else math.nan


def check_drive(motion: Motion, drive: Drive) -> Iterator[tuple[str, str]]:
    """Yield kind and words of what is wrong with speed and feed of a feed motion, whatever it cuts."""
    if motion.spindle and not motion.rpm:
        yield "speed", "the spindle turns before any speed is said (S)"
    elif motion.spindle and not drive.slowest * (1 - SPEED_SHARE) <= motion.rpm <= drive.fastest * (1 + SPEED_SHARE):
        there = f"this mill turns at {drive.slowest:.0f} to {drive.fastest:.0f} rev/min"
        yield "speed", f"turns at {motion.rpm:.0f} rev/min; {there}"
    minute = (motion.feed or 0.0) * (motion.rpm if motion.feed_mode == 95 else 1.0)
    if motion.feed_mode != 93 and minute > drive.rapid * (1 + FEED_SHARE):
        yield "feed", f"feeds {mm(minute, 1)}/min; the slides of this mill go {mm(drive.rapid, 0)}/min at most"


def check_chip(motion: Motion, cutter: Cutter, drive: Drive, work: MillWork) -> Iterator[tuple[str, str]]:
    """Yield kind and words of what is wrong where metal comes off: the chip, and the speed at the cutter's edge."""
    feed = feed_of(motion)
    spare = 0.5 / motion.rpm if motion.rpm else 0.0
    if motion.feed_mode == 93:
        yield "feed", "cuts in inverse time (G93), so that its chip changes with the way"
    elif cutter.feed and not math.isnan(feed):
        most = cutter.feed * (1 + FEED_SHARE) + spare
        if not FINEST * cutter.feed - spare <= feed <= most:
            for_ = f"{cutter.name} is for {mm(cutter.feed)}, {_per_tooth(cutter)}"
            yield "feed", f"feeds {mm(feed, 4)} for each turn; {for_} and rubs below {mm(FINEST * cutter.feed, 4)}"
    across = min([cutter.diameter, *(h.diameter for h in work.holes if cutter.kind != "end mill")])
    fast, most = math.pi * across * motion.rpm / 1000, OVER_SPEED * drive.speeds.get(cutter.number, math.inf)
    if fast > most and motion.rpm > drive.slowest * (1 + SPEED_SHARE):
        yield "speed", f"{cutter.name} cuts at {fast:.0f} m/min; this material takes {most:.0f} m/min at most"


def _per_tooth(cutter: Cutter) -> str:
    return f"{mm(cutter.feed / cutter.teeth)} a tooth," if cutter.teeth else "at most,"


def check_stops(
    program: Program, cutters: Mapping[int, Cutter], work: MillWork, cuts: Mapping[int, int], facts: Facts,
    begun: Begun | None = None,
) -> tuple[list[Finding], list[Finding]]:  # fmt: skip
    """Return the findings and the warnings of stops that are missing.

    Between the motions of two tools the program must stop for the second to be mounted, by name or number; and before
    a tool first cuts, it must stand over the work in air with the spindle still, for its zero was set by hand. Before
    it first moves, its height must be proved by display and rule, and before the first cut the sense of a rotary axis.

    Args:
        cuts: number of each motion that takes metal off -> its line. begun: the program as begun at a pass; what was
            proved before that counts as proved.
    """
    used, words = set[int](), None
    if begun is not None:
        used, words = {m.tool for m in program.motions[: begun.first]}, begun.words
        program, cuts = begun.rest, {n - begun.first: line for n, line in cuts.items() if n >= begun.first}
    halts = {halt.number: halt for halt in halts_of(program)}
    names = {number: cutter.name for number, cutter in cutters.items()}
    found = [
        *_check_heights(program, halts, used),
        *(_check_axis(program, halts, cuts, facts) if begun is None else ()),
        *(_check_lined_up(program, halts, work, cuts) if begun is None else ()),
        *check_tools(program.motions, halts, names, facts, ON_MILL, words),
        *_check_proved(program, halts, work, cuts, used, proved=begun is not None),
    ]
    missing = _missing(program, cuts if work.square is not None else {})
    return found, [*unsaid_stops(program, facts.message_width), *missing]


def _check_lined_up(
    program: Program, halts: Mapping[int, Halt], work: MillWork, cuts: Mapping[int, int]
) -> Iterator[Finding]:
    """Check that before the first cut of a square a stop says how flat 1 stands to the cross holes that are there."""
    first = min(cuts, default=-1)
    said = " ".join(plain(" ".join(halt.said)) for number, halt in halts.items() if number < first)
    for name, angle in work.lined_up if first >= 0 else ():
        if f" {plain(points(name, angle))} " not in f" {said} ":
            what = f"cuts a flat, and no stop before it says how {name} stands: {points(name, angle)}, flat 1 on top"
            yield find(program.motions[first].line, "not lined up", what)


def _check_proved(
    program: Program, halts: Mapping[int, Halt], work: MillWork, cuts: Mapping[int, int], used: Collection[int],
    *, proved: bool,
) -> Iterator[Finding]:  # fmt: skip
    """Check that before a tool, if not used before, cuts, a stop over the work in air has shown its Z to be right."""
    last = 0
    for number, motion in enumerate(program.motions):
        if number in halts and _over(motion, work) and not motion.spindle:
            proved = True
        if motion.kind == "tool" and motion.tool != last:
            proved = motion.tool in used
        if motion.kind in MOVING:
            last = motion.tool
        if number in cuts and not proved:
            proved = True
            what = f"tool {motion.tool} goes into metal, and no stop in air has shown that its Z is right"
            yield find(motion.line, "no proof", what, tool=motion.tool)


def _check_heights(program: Program, halts: Mapping[int, Halt], used: Collection[int]) -> Iterator[Finding]:
    """Check that before a tool first moves, a stop has Z proved by display and rule; used: tools proved before."""
    proved = set(used)
    for number, motion in enumerate(program.motions):
        if number in halts and halts[number].names("prove Z", "check Z"):
            proved.add(motion.tool)
        elif motion.kind in MOVING and motion.tool and motion.tool not in proved:
            proved.add(motion.tool)
            what = f"moves tool {motion.tool} before a stop has had its Z proved (prove Z, by the display and a rule)"
            yield find(motion.line, "no proof", what, tool=motion.tool)


def _check_axis(
    program: Program, halts: Mapping[int, Halt], cuts: Mapping[int, int], facts: Facts
) -> Iterator[Finding]:
    """Check that a rotary axis that turns the work is turned in air before the first cut, and a stop asks which way."""
    turns = [t for t in program.turns if not t.by_hand]
    lines = [t.line for t in turns if _shows_sense(t.angle)]
    if not lines or not cuts or proved_in_head(program, "rotary axis", facts.proved):
        return
    if not _was_seen(turns, halts, min(cuts.values())):
        what = "turns the work by A, and no stop after a turn in air has had it seen which way the rotary axis turns"
        yield find(lines[0], "no proof", what)


def _was_seen(turns: Sequence[Turn], halts: Mapping[int, Halt], first: int) -> bool:
    """Tell whether a stop asks which way the work has turned in air; first: the line of the first cut."""
    asked = [h.line for h in halts.values() if h.names("prove A", "rotary axis")]
    air = [t for t in turns if t.line < first]
    return any(
        _shows_sense(other.angle - one.angle) and any(other.line < line < end for line in asked)
        for one, other, end in zip(air, air[1:], [*(t.line for t in air[2:]), first], strict=False)
    )


def _shows_sense(angle: float) -> bool:
    """Tell whether a turn by an angle, degrees, comes to another place than one the other way."""
    return abs((2 * angle + 180.0) % 360.0 - 180.0) >= SAME_ANGLE_DEGREES


def _over(motion: Motion, work: MillWork) -> bool:
    """Tell whether the tool stands over the work at a known height."""
    x, y, z = motion.end
    return not math.isnan(z) and any(abs(y) <= s.top for s in solids_at(work.sections, x))


def _missing(program: Program, cuts: Mapping[int, int]) -> Iterator[Finding]:
    """Yield the stops to measure that are missing, which may be meant so."""
    stops = [n for n, m in enumerate(program.motions) if m.kind == "stop" and not m.spindle]
    if cuts and not any(n > max(cuts) for n in stops):
        line = cuts[max(cuts)]
        yield find(line, "not measured", "no stop to measure or to try the work stands after the last cut")
