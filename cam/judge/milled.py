"""What a mill's program leaves, against what was wanted: flats at stations, cuts where none belong, holes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from cam.ground.tolerances import EXACT
from cam.judge.mill_metal import AIR, Sweep, floor_at
from cam.judge.mill_result import Across, Bore, Face, FlatResult
from cam.judge.model import Finding
from cam.judge.report import figure, find, micrometres, mm
from cam.setting.milled import CrossHole, MillWork, Solid
from cam.setting.square import Square, across_at, flat_width_at
from cam.shop.mill import Cutter

STATIONS = 9
NEAR_END = 5e-4
"""How far inside the stations next to wall and tip lie, mm: above the last digit of a program in inches."""
SEAT_SHARES = (-0.98, -0.5, 0.0, 0.5, 0.98)
"""The places where a small flat is looked at, as shares of half its length and half its width."""
SAME_ANGLE = 1e-6
DEEP_ENOUGH = 1e-3
GOLDEN = (math.sqrt(5) - 1) / 2
INWARD = 1e-4
"""The share of the way over which it is seen whether a height rises from an end."""


def turned_from(angle: float, other: float) -> float:
    """Return the angle from other to angle, degrees, above -180 to 180."""
    return 180.0 - (180.0 - angle + other) % 360.0


def same_angle(one: float, other: float) -> bool:
    """Tell whether two angles, degrees, are one place of a turn."""
    return abs(turned_from(one, other)) < SAME_ANGLE


def stations(square: Square, wall: float, sweeps: Sequence[Sweep]) -> list[float]:
    """Return the x at which flats are looked at: evenly, close to both ends, where the cutter's rim leaves the wall."""
    low, high = max(wall, 0.0) + NEAR_END, square.length - NEAR_END  # a wall below 0 stands in an undercut groove
    places = {low + (high - low) * k / (STATIONS - 1) for k in range(STATIONS)}
    radius = max((s.r for s in sweeps), default=0.0)
    places |= {wall + radius * share for share in (0.01, 0.05, 0.2, 1.0)}
    return sorted(x for x in places if low <= x <= high)


def judge_flats(faces: Sequence[Face], work: MillWork, tolerance: float) -> tuple[list[FlatResult], list[Finding]]:
    """Judge each wanted flat at every station: too low or too high by more than tolerance, mm, or not cut."""
    square = work.square
    if square is None:
        return [], []
    results, findings = [], []
    for flat in range(1, square.flats + 1):
        sweeps = _sweeps_at(faces, 360.0 * (flat - 1) / square.flats)
        found = [_flat_at(square, flat, x, sweeps, work) for x in stations(square, work.wall, sweeps)]
        results += found
        worst = min(found, key=lambda f: f.low)
        if worst.low < -tolerance:
            what = f"flat {flat} is {micrometres(-worst.low)} too low at X {figure(worst.x)}"
            findings.append(find(_line_at(worst, sweeps, work)[0], "gouge", what, amount=-worst.low))
        worst = max(found, key=lambda f: f.high)
        if worst.high > tolerance:
            what = f"flat {flat} has {micrometres(worst.high)} of metal left at X {figure(worst.x)}"
            findings.append(find(_line_at(worst, sweeps, work)[1], "uncut", what, amount=worst.high))
    return results, findings


def _sweeps_at(faces: Sequence[Face], angle: float) -> list[Sweep]:
    """Return what was cut with the work turned to an angle, degrees."""
    return [s for f in faces if same_angle(f.angle, angle) for s in f.sweeps]


def _lowest(sweeps: Sequence[Sweep], work: MillWork, x: float, y: float, near: float) -> tuple[float, int]:
    """Return the floor at a place, mm, and the line of the cut that left it; AIR and 0 where none did."""
    return min(((floor_at([s], work, x, y, near), s.line) for s in sweeps), default=(AIR, 0))


def _line_at(flat: FlatResult, sweeps: Sequence[Sweep], work: MillWork) -> tuple[int, int]:
    """Return the lines of the cuts that leave a flat's floor where it is lowest and where it is highest; 0 for none.

    Where nothing was cut, it is the line of the last cut on that flat, which should have.
    """
    assert work.square is not None
    wanted, half = across_at(work.square, flat.x) / 2, flat_width_at(work.square, flat.x) / 2 * (1 - 1e-9)
    places = _places((p for s in sweeps for p in (s.y0, s.y1)), half)
    floors = [_lowest(sweeps, work, flat.x, y, wanted) for y in places]
    low, high = min(floors), max(floors)
    return low[1], high[1] if high[0] < AIR else max((s.line for s in sweeps), default=0)


def _places(paths: Iterable[float], half: float) -> list[float]:
    """Return the places on -half to half where a floor may be extreme: both ends, the paths, half-way between them."""
    ends = sorted({-half, half, *(p for p in paths if -half < p < half)})
    return sorted({*ends, *((a + b) / 2 for a, b in pairwise(ends))})


def _flat_at(square: Square, flat: int, x: float, sweeps: Sequence[Sweep], work: MillWork) -> FlatResult:
    """Return the lowest and highest line of a flat; metal that was not cut stands up to the round."""
    wanted = across_at(square, x) / 2
    half = flat_width_at(square, x) / 2 * (1 - 1e-9)
    section = work.section_at(x)
    radius = section.top if section else square.blank / 2

    def error(y: float) -> float:
        floor = floor_at(sweeps, work, x, y, wanted)
        return min(floor, math.sqrt(max(radius * radius - y * y, 0.0))) - wanted

    low, high = extremes(error, half, [s.y0 for s in sweeps] + [s.y1 for s in sweeps])
    return FlatResult(flat, x, low, high)


def extremes(error: Callable[[float], float], half: float, paths: Iterable[float]) -> tuple[float, float]:
    """Find the extremes on -half to half of a function that is smooth between paths and half-way, to a nanometre."""
    places = _places(paths, half)
    values = [error(y) for y in places]
    if max(values) - min(values) < EXACT:  # as the flats of a tipped block are
        return min(values), max(values)
    result = []
    for sign in (1.0, -1.0):
        k = min(range(len(places)), key=lambda i: sign * values[i])
        beside = range(max(k - 1, 0), min(k + 2, len(places)))
        if sum(abs(values[i] - values[k]) < EXACT for i in beside) > 1:  # level from here to the next place
            result.append(values[k])
            continue
        closed = _close_in(lambda y: sign * error(y), places[k], places[beside[0]], places[beside[-1]])  # noqa: B023 - used at once
        result.append(sign * min(sign * values[k], closed))
    return result[0], result[1]


def _close_in(height: Callable[[float], float], least: float, low: float, high: float) -> float:
    """Find the least of a function with one valley between low and high, by golden section; least: about there."""
    if least in (low, high):
        inward = least + INWARD * (high - low) * (1 if least == low else -1)
        if height(inward) >= height(least):  # it rises from that end, so with one valley it is least there
            return height(least)
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_a, at_b = height(a), height(b)
    for _ in range(14):
        if at_a <= at_b:
            high, b, at_b = b, a, at_a
            a = high - GOLDEN * (high - low)
            at_a = height(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + GOLDEN * (high - low)
            at_b = height(b)
    return min(at_a, at_b)


def judge_across(flats: Sequence[FlatResult], square: Square | None) -> list[Across]:
    """Return what a micrometer reads over opposite flats at every station at which both were looked at."""
    if square is None:
        return []
    highest = {(f.flat, f.x): f.high for f in flats}
    half = square.flats // 2
    return [
        Across(f.flat, f.x, across_at(square, f.x) + f.high + highest[(f.flat + half, f.x)], across_at(square, f.x))
        for f in flats
        if f.flat <= half and (f.flat + half, f.x) in highest
    ]


def wanted_top(work: MillWork, angle: float, x: float, y: float) -> float:
    """Return the height of the wanted work over the axis at (x, y), turned to an angle, mm; minus infinity for none."""
    section = work.section_at(x)
    if section is None or abs(y) > section.top:
        return -AIR
    top = math.sqrt(section.top**2 - y * y)
    if work.square is not None and x >= work.wall:
        top = min(top, _top_of_square(work.square, angle, x, y))
    for hole in work.holes:
        if hole.flat_depth and same_angle(hole.angle, angle) and abs(x - hole.x) <= hole.flat_size / 2:
            top = min(top, section.top - hole.flat_depth)
    return top


def _top_of_square(square: Square, angle: float, x: float, y: float) -> float:
    """Return the height at which the flats of a square leave metal over the axis, mm; minus infinity for none."""
    top, half = AIR, across_at(square, x) / 2
    for flat in range(square.flats):
        turn = math.radians(turned_from(360.0 * flat / square.flats, angle))
        upright, aside = math.cos(turn), math.sin(turn)
        if upright > 1e-9:
            top = min(top, (half - y * aside) / upright)
        elif abs(upright) <= 1e-9 and y * aside > half:
            return -AIR
    return top


def judge_gouges(faces: Sequence[Face], work: MillWork, tolerance: float) -> Iterator[Finding]:
    """Find the deepest cut below the wanted work on every face, in slices a millimetre apart and in 21 places.

    Wanted flats are judged more closely by judge_flats; here it is wrong angles, and cuts beyond the square.
    """
    for face in faces:
        found = ((_too_deep(face, work, x, y), x, y) for x, y in _places_on(face, work))
        worst, x, y = max(found, key=lambda depth: depth[0], default=(-AIR, 0.0, 0.0))
        section = work.section_at(x)
        if worst > tolerance and section is not None:
            line = _lowest(face.sweeps, work, x, y, wanted_top(work, face.angle, x, y))[1]
            deep = f"{micrometres(worst)} too deep at X {figure(x)}, turned to {face.angle:g} degrees"
            yield find(line, "gouge", f'"{section.name}" is cut {deep}', amount=worst)


def _places_on(face: Face, work: MillWork) -> Iterator[tuple[float, float]]:
    """Yield the places (x, y) of a face that are looked at; of a wanted flat those before its wall."""
    square = work.square
    wanted = square is not None and abs(_off_flat(face.angle, square)) < SAME_ANGLE
    low = min(min(s.x0, s.x1) - s.r for s in face.sweeps)
    high = work.wall if wanted else max(max(s.x0, s.x1) + s.r for s in face.sweeps)
    for section, x in _slices(work, low, high):
        yield from ((x, section.top * (k / 10 - 1) * (1 - 1e-9)) for k in range(21))


def _too_deep(face: Face, work: MillWork, x: float, y: float) -> float:
    """Return how far a face is cut below the wanted work at a place, mm; minus infinity where nothing is wanted."""
    top = wanted_top(work, face.angle, x, y)
    return top - floor_at(face.sweeps, work, x, y, top) if top > -AIR else -AIR


def _off_flat(angle: float, square: Square) -> float:
    """Return how far an angle is from the nearest wanted flat, degrees."""
    step = 360.0 / square.flats
    return (angle + step / 2) % step - step / 2


def _slices(work: MillWork, low: float, high: float) -> Iterator[tuple[Solid, float]]:
    """Yield stations on the work, with their sections: low, high, each section's ends, and every millimetre between."""
    for section in work.sections:
        start, end = max(section.start, low), min(section.end, high)
        if end - start < 4 * NEAR_END:
            continue
        count = max(1, math.ceil(end - start))
        for k in range(count + 1):
            yield section, start + NEAR_END + (end - start - 2 * NEAR_END) * k / count


def judge_holes(
    bores: Sequence[Bore], work: MillWork, cutters: Mapping[int, Cutter], tolerance: float
) -> Iterator[Finding]:
    """Judge every wanted hole against what was drilled, and every bore against what is wanted."""
    for hole in work.holes:
        yield from _judge_hole(hole, [b for b in bores if _is_at(b, hole, tolerance)], work, cutters)
    for bore in bores:
        yield from _judge_bore(bore, [h for h in work.holes if _is_at(bore, h, tolerance)], work, cutters, tolerance)


def _judge_bore(
    bore: Bore, wanted: Sequence[CrossHole], work: MillWork, cutters: Mapping[int, Cutter], tolerance: float
) -> Iterator[Finding]:
    """Judge what went in at a place against the holes that are wanted there."""
    cutter, place = cutters[bore.tool], f"X {figure(bore.x)} Y {figure(bore.y)}, turned to {bore.angle:g} degrees"
    if not wanted:
        what = f"{cutter.name} goes in where no hole is wanted, {place}"
        yield find(bore.line, "hole", what, tool=bore.tool)
    elif cutter.kind == "drill" and cutter.diameter > max(hole.diameter for hole in wanted) + tolerance:
        what = f"{cutter.name} makes the hole at {place} too wide"
        yield find(bore.line, "hole", what, tool=bore.tool)
    elif cutter.kind == "spot drill":
        yield from _judge_spot(bore, cutter, wanted[0], work, tolerance)
    if wanted:
        yield from _judge_reach(bore, cutter, wanted[0], work, tolerance)
    if bore.tip < work.under:
        what = f"{cutter.name} comes out {micrometres(work.under - bore.tip)} into what lies below the work"
        below, deep = "what lies below the work", work.under - bore.tip
        yield find(bore.line, "contact", what, amount=deep, tool=bore.tool, obstacle=below)


def _judge_reach(bore: Bore, cutter: Cutter, hole: CrossHole, work: MillWork, tolerance: float) -> Iterator[Finding]:
    """Judge whether a tool's edges, or a tap's thinner shank, reach as far into the hole as it goes."""
    section = work.section_at(bore.x)
    if section is None:
        return
    flat = hole.flat_depth if same_angle(bore.angle, hole.angle) else 0.0
    deep, reach = section.top - flat - bore.tip, cutter.reach(hole.diameter)
    if deep > reach + tolerance:
        what = f"{cutter.name} goes {mm(deep)} into the hole, and reaches {mm(reach)}: no edges or too thick above"
        yield find(bore.line, "hole", what, amount=deep - reach, tool=bore.tool)


def _judge_hole(
    hole: CrossHole, here: Sequence[Bore], work: MillWork, cutters: Mapping[int, Cutter]
) -> Iterator[Finding]:
    """Judge a wanted hole against all that went in at its place."""
    drilled = [b for b in here if _drills(cutters[b.tool], hole)]
    if not drilled:
        yield find(0, "hole", f'"{hole.name}" is not drilled: {mm(hole.diameter)} at X {figure(hole.x)}')
        return
    yield from _judge_lead(min(drilled, key=lambda b: b.line), hole, here, cutters)
    yield from _judge_depth(min(drilled, key=lambda b: b.tip), hole, work, cutters)
    for tap in (b for b in here if cutters[b.tool].kind == "tap"):
        yield from _judge_tap(tap, hole, drilled, cutters)


def _judge_lead(first: Bore, hole: CrossHole, here: Sequence[Bore], cutters: Mapping[int, Cutter]) -> Iterator[Finding]:
    """Judge whether a flat or a spot leads the drill that goes in first."""
    led = hole.flat_depth or any(cutters[b.tool].kind == "spot drill" and b.line < first.line for b in here)
    if hole.spotted and not led:
        what = f'"{hole.name}" is drilled on the bare round, with neither flat nor spot to lead the drill'
        yield find(first.line, "hole", what, tool=first.tool)


def _is_at(bore: Bore, hole: CrossHole, tolerance: float) -> bool:
    """Tell whether a bore is where a hole is wanted; a through hole may be drilled from either side."""
    sides = (hole.angle, hole.angle + 180) if hole.through else (hole.angle,)
    near = math.hypot(bore.x - hole.x, bore.y) <= tolerance
    return near and any(same_angle(bore.angle, side) for side in sides)


def judge_seats(faces: Sequence[Face], work: MillWork, tolerance: float) -> Iterator[Finding]:
    """Find metal left on the small flat round a hole, where the drill starts and a head seats, in 25 places."""
    for hole in work.holes:
        section = work.section_at(hole.x)
        if not hole.flat_depth or section is None:
            continue
        sweeps, top = _sweeps_at(faces, hole.angle), section.top - hole.flat_depth
        found = [
            (min(floor_at(sweeps, work, x, y, top), math.sqrt(section.top**2 - y * y)) - top, x, y)
            for x, y in _seat(hole, section)
        ]
        worst, x, y = max(found, key=lambda stands: stands[0], default=(-AIR, hole.x, 0.0))
        if worst > tolerance:
            what = f'the flat round "{hole.name}" has {micrometres(worst)} of metal left at X {figure(x)} Y {figure(y)}'
            yield find(_lowest(sweeps, work, x, y, top)[1], "uncut", what, amount=worst)


def _seat(hole: CrossHole, section: Solid) -> Iterator[tuple[float, float]]:
    """Yield the places (x, y) of a hole's small flat that are looked at, those beyond its section left out."""
    half = math.sqrt(section.top**2 - (section.top - hole.flat_depth) ** 2)
    for x in (hole.x + share * hole.flat_size / 2 for share in SEAT_SHARES):
        if section.start < x < section.end:
            yield from ((x, half * side) for side in SEAT_SHARES)


def _judge_spot(bore: Bore, cutter: Cutter, hole: CrossHole, work: MillWork, tolerance: float) -> Iterator[Finding]:
    """Judge a spot: a narrower one than its hole is drilled away, a wider one stays as a countersink not asked for."""
    section = work.section_at(bore.x)
    if section is None or cutter.point_length <= 0:
        return
    depth = section.top - hole.flat_depth - bore.tip
    wide = cutter.diameter * min(depth / cutter.point_length, 1.0)
    if wide > hole.diameter + tolerance:
        what = f'{cutter.name} opens "{hole.name}" to {mm(wide)} at the top'
        yield find(bore.line, "hole", what, amount=(wide - hole.diameter) / 2, tool=bore.tool)


def _drills(cutter: Cutter, hole: CrossHole) -> bool:
    return cutter.kind == "drill" and abs(cutter.diameter - hole.diameter) <= DEEP_ENOUGH


def _judge_depth(bore: Bore, hole: CrossHole, work: MillWork, cutters: Mapping[int, Cutter]) -> Iterator[Finding]:
    """Check that a through hole is through at its full diameter, and that a blind one ends where it should."""
    section = work.section_at(hole.x)
    if section is None:
        yield find(bore.line, "hole", f'"{hole.name}" lies off the work')
        return
    if work.frame.sin:
        yield find(bore.line, "hole", f'"{hole.name}" is drilled with the work tipped, so it leans')
    end = bore.tip + cutters[bore.tool].point_length
    wanted = -section.top if hole.through else section.top - hole.depth
    if end > wanted + DEEP_ENOUGH:
        what = f'"{hole.name}" ends {micrometres(end - wanted)} too soon'
        yield find(bore.line, "hole", what, amount=end - wanted, tool=bore.tool)
    elif not hole.through and end < wanted - DEEP_ENOUGH:
        what = f'"{hole.name}" goes {micrometres(wanted - end)} too deep'
        yield find(bore.line, "hole", what, amount=wanted - end, tool=bore.tool)


def _judge_tap(tap: Bore, hole: CrossHole, drilled: Sequence[Bore], cutters: Mapping[int, Cutter]) -> Iterator[Finding]:
    """Check that a tap follows the drill, and ends above the bottom of a blind hole's full diameter."""
    before = [b for b in drilled if b.line < tap.line]
    if not before:
        yield find(tap.line, "tap", "the tap goes in before the drill", tool=tap.tool)
        return
    floor = min(b.tip + cutters[b.tool].point_length for b in before)
    if tap.tip < floor and not hole.through:
        what = f"the tap runs {micrometres(floor - tap.tip)} beyond the hole's full diameter"
        yield find(tap.line, "tap", what, amount=floor - tap.tip, tool=tap.tool)
