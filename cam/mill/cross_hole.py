"""The cross hole by itself: what is left of the body, room to the shoulders, how deep to drill and tap."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.ground.frozen import Row
from cam.ground.problem import Problem, RangeError, Where, problem
from cam.part.milled import LEADS
from cam.part.threads import Thread
from cam.setting.milled import CrossHole
from cam.setting.words import InUnit, at_least, say

LEAST_WALL = 1.0
"""The pitches of metal that should stand beside a tapped hole and below it. Common practice, no source."""
LEAST_AREA = 0.5
"""The share of the body's section below which a warning is given. Common practice, no source."""
PANELS = 200


class NetSection(Row):
    """What a hole leaves of a round: the shares of its area and of its weaker second moment, and the least wall, mm."""

    area: float
    stiffness: float
    wall: float


class Depths(Row):
    """How deep to go from the top of the round, mm: the wanted thread, the tap's end, the full diameter, the point."""

    thread: float
    tap: float
    drill: float
    point: float


class Engagement(Row):
    """How much of a screw is held: length, mm, the same in diameters of the screw, and the number of full threads."""

    length: float
    diameters: float
    threads: float


def net_section(body: float, size: float, depth: float | None = None) -> NetSection:
    """Return what a hole of size (a thread counts with its major diameter) leaves of a round body, mm.

    Args:
        depth: depth of a blind hole from the top of the round, mm; None for a through hole.
    Raises:
        RangeError: the hole is as wide as the body, or there is none.
    """
    radius, half, deep = body / 2, size / 2, body if depth is None else depth
    if not (0 < size < body and 0 < deep <= body):
        raise RangeError(f"a hole of {size} mm does not go into a body of {body} mm")
    area, first, upright, level = math.pi * radius**2, 0.0, math.pi * radius**4 / 4, math.pi * radius**4 / 4
    step = size / PANELS
    for k in range(PANELS + 1):  # Simpson, over strips of the hole
        y = -half + k * step
        weight = step / 3 * (1 if k in (0, PANELS) else 4 if k % 2 else 2)
        top = math.sqrt(radius * radius - y * y)
        low = max(radius - deep, -top)
        if low < top:
            area -= weight * (top - low)
            first -= weight * (top * top - low * low) / 2
            upright -= weight * (top**3 - low**3) / 3
            level -= weight * (top - low) * y * y
    upright -= first * first / area if area > 0 else 0.0
    share = min(upright, level) / (math.pi * radius**4 / 4)
    below = body - depth if depth is not None else math.inf
    return NetSection(area / (math.pi * radius**2), share, min(radius - half, below))


def edge_distances(hole: CrossHole, size: float, start: float, end: float) -> tuple[float, float]:
    """Return the distances from the hole's edge to both ends of its section, mm; below 0 where it runs over."""
    return hole.x - size / 2 - start, end - hole.x - size / 2


def engagement(thread: Thread, length: float) -> Engagement:
    """Return how much of a screw a length of full thread holds; in steel one diameter is ample (from memory)."""
    return Engagement(length, length / thread.diameter, length / thread.pitch)


def depths_of_blind(thread: Thread, drill: float, point_angle: float, wanted: float, lead: str, chips: float) -> Depths:
    """Return how deep a blind hole must be for a length of full thread.

    Args:
        drill: diameter, mm. point_angle: degrees. wanted: full thread, mm from the top of the round.
        lead: lead of the last tap, one of LEADS. chips: room below the tap's end, mm.
    Raises:
        RangeError: the tap is unknown, or no thread is wanted.
    """
    if lead not in LEADS or wanted <= 0 or chips < 0:
        raise RangeError(f"a tap is one of {', '.join(sorted(LEADS))}, and a thread has a length")
    tap = wanted + LEADS[lead] * thread.pitch
    point = drill / 2 / math.tan(math.radians(point_angle) / 2)
    return Depths(wanted, tap, tap + chips, tap + chips + point)


def check_cross_hole(
    hole: CrossHole, thread: Thread | None, body: float, start: float, end: float, where: Where, part: InUnit
) -> tuple[list[Problem], list[Problem]]:
    """Return what is wrong with a cross hole, and what is worth knowing.

    Args:
        body: diameter of its section, mm. start, end: x of the section's ends. part: in whose unit lengths are said.
    """
    size = thread.diameter if thread else hole.diameter
    if not 0 < size < body:
        given, allowed = say(size, part), f"less than {say(body, part)}"
        return [problem(where, f'"{hole.name}" is as wide as the body', given, allowed)], []
    if not hole.through and not 0 < hole.depth < body:
        what, fix = f'"{hole.name}" is blind and does not end inside the body', "say through, or drill less deep"
        wrong = problem(where, what, say(hole.depth, part), f"more than 0 and less than {say(body, part)}", fix)
        return [wrong], []
    near = edge_distances(hole, size, start, end)
    if min(near) < 0:
        what, given = f'"{hole.name}" runs over the end of its section', f"by {say(-min(near), part)}"
        wrong = problem(where, what, given, f"x from {say(start + size / 2, part)} to {say(end - size / 2, part)}")
        return [wrong], []
    return [], sorted(_warn_about(hole, thread, size, body, min(near), where, part))


def _warn_about(
    hole: CrossHole, thread: Thread | None, size: float, body: float, near: float, where: Where, part: InUnit
) -> Iterator[Problem]:
    """Warn of thin walls and weak sections."""
    pitch = thread.pitch if thread else hole.diameter / 4
    if near < LEAST_WALL * pitch:
        what, fix = f'"{hole.name}" leaves little metal beside the shoulder', "move it from the shoulder"
        yield problem(
            where,
            what,
            say(near, part),
            f"at least {at_least(LEAST_WALL * pitch, part)} (common practice, no source)",
            fix,
        )
    net = net_section(body, size, None if hole.through else hole.depth)
    if net.area < LEAST_AREA:
        what = f'"{hole.name}" takes much of the body'
        allowed = f"at least {100 * LEAST_AREA:.0f} % (common practice, no source)"
        yield problem(where, what, f"{100 * net.area:.0f} % of the section left", allowed, "take a smaller hole")
    if net.wall < LEAST_WALL * pitch:
        what = f'"{hole.name}" leaves a thin wall'
        allowed = f"at least {at_least(LEAST_WALL * pitch, part)} (common practice, no source)"
        yield problem(where, what, say(net.wall, part), allowed, "go through, or drill less deep")
