"""The floor that a flat end mill leaves, exactly: how deep at a place, for straight moves of any direction.

A flat end mill takes away everything above its end within its circle, so at (x, y) the floor is the least height that
its end has while its circle covers the place. On a straight move the circle covers a place during one span of the
way, and the height along the way is linear, so the least is at one end of the span: closed form, no grid.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cam.ground.frozen import Row
from cam.setting.milled import MillWork

AIR = math.inf


class Sweep(Row):
    """A straight move of an end mill of radius r from (x0, y0, z0) to (x1, y1, z1), machine axes, mm."""

    x0: float
    y0: float
    z0: float
    x1: float
    y1: float
    z1: float
    r: float
    line: int


def floor_under(sweep: Sweep, x: float, y: float) -> float:
    """Return the least height of the cutter's end over (x, y), mm; infinite where the cutter does not pass."""
    x0, y0, z0, x1, y1, z1, r, _ = sweep
    dx, dy = x1 - x0, y1 - y0
    square = dx * dx + dy * dy
    px, py = x - x0, y - y0
    if square == 0.0:
        return min(z0, z1) if px * px + py * py <= r * r else AIR
    along = (px * dx + py * dy) / square
    aside = px * dy - py * dx
    room = r * r - aside * aside / square
    if room < 0.0:
        return AIR
    half = math.sqrt(room / square)
    low, high = max(along - half, 0.0), min(along + half, 1.0)
    if low > high:
        return AIR
    return z0 + (z1 - z0) * (high if z1 < z0 else low)


def floor_of(sweeps: Iterable[Sweep], x: float, y: float) -> float:
    """Return the least height over (x, y) of all sweeps, mm."""
    least = AIR
    for sweep in sweeps:
        if sweep[2] < least or sweep[5] < least:  # z0, z1: what is nowhere lower need not be looked at
            least = min(least, floor_under(sweep, x, y))
    return least


def add_sweep(sweeps: list[Sweep], new: Sweep) -> None:
    """Take a cut into a face, dropping earlier ones that it covers completely: the same way, and nowhere higher."""
    path = (new.x0, new.y0, new.x1, new.y1)
    sweeps[:] = [
        s
        for s in sweeps
        if s.r > new.r or s.z0 < new.z0 or s.z1 < new.z1 or (s.x0, s.y0, s.x1, s.y1) != path
    ]  # fmt: skip
    sweeps.append(new)


def floor_at(sweeps: Sequence[Sweep], work: MillWork, x: float, y: float, near: float) -> float:
    """Return the floor over the work's axis at station x, in its own axes, mm; near: where the search begins."""
    if not work.frame.sin:
        return floor_of(sweeps, x, y)
    frame, z, before = work.frame, near, AIR
    for _ in range(3):  # each step shrinks the error by slope times slope
        place, _height = frame.to_machine(x, z)
        floor = floor_of(sweeps, place, y)
        if floor in (AIR, before):
            return z if floor == before < AIR else AIR
        z, before = (floor - (x - frame.about) * frame.sin) / frame.cos, floor
    return z


def lowest_at(sweeps: Sequence[Sweep], work: MillWork, x: float) -> float:
    """Return a height that no floor over the axis at a station lies below, mm, in the work's own axes; see floor_at."""
    lowest = min((min(s[2], s[5]) for s in sweeps), default=AIR)  # z0, z1
    return (lowest - (x - work.frame.about) * work.frame.sin) / work.frame.cos


class MetalInWay(Row):
    """The metal above a cutter's end: depth, mm (0 or less is none), and the machine place (x, y, z) of its top."""

    depth: float
    x: float
    y: float
    z: float


NOTHING = MetalInWay(0.0, math.nan, math.nan, math.nan)


def standing_over(sweep: Sweep, sweeps: Sequence[Sweep], work: MillWork) -> MetalInWay:
    """Find the most metal that stands above the cutter's end anywhere on a move, sampled across and along.

    It is looked for in slices no more than two millimetres apart and at every end of a section, in seven places each.
    What neighbouring flats took from the top of a slice is not counted off, so metal is never overlooked for that.
    """
    low = min(sweep.z0, sweep.z1)
    frame = work.frame
    first, last = min(sweep.x0, sweep.x1) - sweep.r, max(sweep.x0, sweep.x1) + sweep.r
    found = NOTHING
    for section in work.sections:
        sway = section.top * frame.sin
        start, end = max(section.start, first - sway), min(section.end, last + sway)
        highest = frame.to_machine(section.end, section.top)[1]
        if start >= end or low >= highest:
            continue
        count = max(2, math.ceil((end - start) / 2))
        for k in range(count + 1):
            x = start + (end - start) * min(max(k / count, 1e-6), 1 - 1e-6)
            found = _in_slice(sweep, sweeps, work, x, section.top, found)
    return found


def _in_slice(
    sweep: Sweep, sweeps: Sequence[Sweep], work: MillWork, x: float, radius: float, found: MetalInWay
) -> MetalInWay:
    """Find the most metal in the cutter's way at one station."""
    least, most = min(sweep.y0, sweep.y1) - sweep.r, max(sweep.y0, sweep.y1) + sweep.r
    low = min(sweep.z0, sweep.z1)
    if work.frame.to_machine(x, radius)[1] - low <= found.depth:
        return found
    left, right = max(least, -radius), min(most, radius)
    if left >= right:
        return found
    places = [left + (right - left) * k / 6 for k in range(7)]
    if left < 0.0 < right:
        places.append(0.0)
    for y in places:
        machine_x, top = work.frame.to_machine(x, math.sqrt(max(radius * radius - y * y, 0.0)))
        if top - low <= found.depth:  # the cutter's end is nowhere lower
            continue
        end = floor_under(sweep, machine_x, y)
        if top - end > found.depth:
            top = min(top, floor_of(sweeps, machine_x, y))
            if top - end > found.depth:
                found = MetalInWay(top - end, machine_x, y, top)
    return found
