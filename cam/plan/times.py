"""How long a setting takes beside what the simulation counts: changes of belt and tool, and roughing over its bound."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cam.ground.frozen import frozen
from cam.plan.model import Pass, SettingPlan
from cam.plan.speeds import BELT_CHANGE
from cam.setting.words import say_time
from cam.shop.model import Lathe

TOOL_CHANGE = 90.0
"""What changing a tool costs, seconds: park, stop, change, touch off. Common practice, no source."""


@frozen
class Times:
    """The times of one setting.

    Attributes:
        rough: seconds for all roughing, coming in and going back counted. bound: seconds that no roughing to these
            allowances and at this depth could come below; 0 where nothing is roughed.
        freely: seconds for all roughing with the best belt position for every layer. saved: how many belt changes
            within roughing are saved by not doing that.
        belts, tools: how often each is changed, the first setting up not counted.
        changes: seconds for those changes.
    """

    rough: float
    bound: float
    freely: float
    saved: int
    belts: int
    tools: int
    changes: float


def time_of(planned: SettingPlan, lathe: Lathe) -> Times:
    """Work out the times of a setting's plan."""
    passes = planned.passes
    rough = [p for p in passes if p.kind == "rough"]
    belts = count_belts(passes)
    tools = sum(a.tool.number != b.tool.number for a, b in pairwise(passes))
    return Times(
        rough=sum(pass_seconds(p, lathe) for p in rough),
        bound=planned.rough_bound,
        freely=planned.rough_freely,
        saved=planned.belts_freely - count_belts(rough),
        belts=belts,
        tools=tools,
        changes=belts * BELT_CHANGE + tools * TOOL_CHANGE,
    )


def count_belts(passes: Sequence[Pass]) -> int:
    """Return how often the belt is moved between passes."""
    return sum(a.speed_name != b.speed_name for a, b in pairwise(passes))


def pass_seconds(cut: Pass, lathe: Lathe) -> float:
    """Return the seconds from a pass's first approach to its last retreat, at its own speed; arcs by their chord."""
    rapid = float(lathe.control.rapid) / 60
    turn = cut.rpm / 60
    seconds = 0.0
    for k, (a, b) in enumerate(pairwise(cut.approach), start=1):
        seconds += math.dist(a, b) / (rapid if k < cut.feed_from else float(lathe.most_feed) * turn)
    for piece in cut.path:
        out = cut.out_feed and piece.end.z == piece.start.z and piece.end.x > piece.start.x
        seconds += math.dist(piece.start, piece.end) / ((cut.out_feed if out else cut.feed) * turn)
    return seconds + sum(math.dist(a, b) / rapid for a, b in pairwise((cut.path[-1].end, *cut.leave)))


def say_times(times: Times) -> str:
    """Say for the page how roughing stands against its bound, and what changes cost."""
    words = []
    if times.bound:
        said = (
            f"roughing takes about {say_time(times.rough)}; no way of cutting it at this depth could take less than "
            f"{say_time(times.bound)}"
        )
        if times.saved > 0:
            said += (
                f"; with {times.saved} more belt change{'s' if times.saved > 1 else ''} of {BELT_CHANGE:.0f} s it "
                f"would take {say_time(times.freely)} and those"
            )
        words.append(said)
    if times.belts or times.tools:
        counts = [
            f"{n} {what}{'s' if n > 1 else ''}" for n, what in ((times.belts, "belt"), (times.tools, "tool")) if n
        ]
        words.append(f"changes of {' and '.join(counts)} count {say_time(times.changes)}")
    return "; ".join(words)
