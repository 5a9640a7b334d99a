"""The diameters to aim at: the middle of the limits plus what turning leaves, as the X slide can be set to it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved, own_limits
from cam.part.checks import is_groove
from cam.part.features import Tolerance
from cam.part.model import Part, Section
from cam.setting.apart import (
    GENERAL,
    Joint,
    Level,
    find_joints,
    find_lacking,
    lacks,
    move_apart,
    room_left,
    stand,
    tell_lacking,
)
from cam.setting.assemble import nose_radii
from cam.setting.words import at_least, between_marks, quoted, say
from cam.shop.machine import Slide
from cam.shop.model import Lathe, Shop

TAKE_UP = 0.1
"""The share of a slide's backlash within which taking it up repeats. Common practice, no source."""

LEAST_ROOM = 2e-3
"""Limits leave at least this, mm, on either side of what is aimed at: a figure is printed to a micrometre."""
WELL_WITHIN = 0.25
"""How far from the middle of the limits a settable size may lie and be aimed at, as a share of their width."""

TOLD = 0.01
"""The last digit of diameters where X has no reading, mm."""


GENERAL_NAME = "ISO 2768-1 fine"


@frozen
class Aims:
    """The diameters to which each section is turned.

    Attributes:
        diameters: for each section of the part, its A and its B diameter as turned, mm; as bought where it stays
            as stock.
        reasons: a sentence for every aim that is not simply the middle of the limits plus the allowance.
    """

    diameters: tuple[tuple[float, float], ...]
    reasons: tuple[str, ...]


def step_on_diameter(slide: Slide) -> float:
    """Return the least change of diameter to which the X slide can be set, mm.

    A dial that reads diameters, or depth on diameter, has its division as that change; one that reads plain slide
    movement has twice its division.
    """
    return float(slide.division) * (2 if slide.habit == "radius" else 1)


def finest_diameter(lathe: Lathe) -> float:
    """Return the narrowest limits of a diameter to which this lathe can be held, mm.

    The last cut is set from a diameter that was measured, and X always comes inward by more than its backlash, so the
    backlash itself cancels. What stays is half a division on the dial, which a careful turner still splits, and the
    share TAKE_UP of the backlash by which taking it up differs from one time to the next (twice that on the diameter).
    Narrower limits are a matter of luck.
    """
    return max(step_on_diameter(lathe.x) / 2, 2 * TAKE_UP * lathe.x.backlash)


def finest_length(lathe: Lathe) -> float:
    """Return the narrowest limits of a length to which this lathe can be held, mm; as finest_diameter, along Z."""
    return max(lathe.z.division / 2, TAKE_UP * lathe.z.backlash)


def aim_diameters(part: Part, shop: Shop, real: Mapping[int, float] | None = None) -> tuple[Aims, list[Problem]]:
    """Return the aims for every section, and what stands against them.

    Neighbours that meet at one nominal diameter are turned to one size there, so they get one aim within the limits
    of both; where there is none, that is a problem. Where a drawn shoulder would be lost between two aims, they are
    moved apart within their limits; where that does not keep it, that is a problem too.

    Args:
        real: diameters recorded as really cut, mm, by the place of their section in the part.
    """
    real = real or {}
    level_of, members = find_levels(part)
    problems: list[Problem] = []
    levels: list[Level] = []
    for group in members:
        level, more = _level(part, shop.lathe, group, real)
        levels.append(level)
        problems += more
    joints = tuple(find_joints(part, level_of, nose_radii(shop)[0], _slack(shop.lathe)))
    offsets = [level.offset for level in levels]
    if not problems and not stand(levels, joints):
        moved = move_apart(levels, joints)
        if moved is None:
            problems += [tell_lacking(part, levels, found, frozenset(real)) for found in find_lacking(levels, joints)]
        else:
            offsets = _settable(part, shop.lathe, levels, joints, moved)
    diameters = tuple(
        (s.diameter_a + offsets[level_of[i, "a"]], s.diameter_b + offsets[level_of[i, "b"]])
        for i, s in enumerate(part.sections)
    )
    reasons = tuple(_reasons(part, shop.lathe, levels, joints, offsets, real))
    return Aims(diameters=diameters, reasons=reasons), problems


def _reasons(
    part: Part, lathe: Lathe, levels: Sequence[Level], joints: Sequence[Joint], offsets: Sequence[float],
    real: Mapping[int, float],
) -> Iterator[str]:  # fmt: skip
    """Yield the reasons for all aims but those of what stays as stock or is cut already."""
    for at, level in enumerate(levels):
        if not part.sections[level.members[0]].as_stock and not real.keys() & {*level.members}:
            yield from _explain(part, lathe, level, offsets[at], _parted(part, joints, levels, offsets, at))


def find_levels(part: Part) -> tuple[dict[tuple[int, str], int], tuple[tuple[int, ...], ...]]:
    """Return the level of each section's place and side, and the sections of each level: those turned to one offset.

    A level has one offset from nominal. A cylinder is one level, and so is a taper, unless both of its ends meet
    cylinders or tapers of their sizes: then each end goes with its neighbour. Two that are drawn equal on both sides
    of a groove are cut in one go and so are one level too. What stays as stock is a level of its own.
    """
    level_of: dict[tuple[int, str], int] = {}
    members: list[list[int]] = []
    last = len(part.sections) - 1
    for i, s in enumerate(part.sections):
        joined = _joined(part, i)
        if joined is None:
            members.append([])
        at = len(members) - 1 if joined is None else level_of[joined, "b"]
        members[at].append(i)
        level_of[i, "a"] = at
        if joined is not None and s.is_taper and i < last and _joined(part, i + 1) == i:
            members.append([i])
            at = len(members) - 1
        level_of[i, "b"] = at
    return level_of, tuple(tuple(group) for group in members)


def _joined(part: Part, i: int) -> int | None:
    """Return the section before one, past a groove between the two, if they have one size where they meet."""
    before = i - 2 if i > 1 and is_groove(part, i - 1) else i - 1
    return before if before >= 0 and _meet(part.sections[before], part.sections[i]) else None


def _meet(before: Section, after: Section) -> bool:
    """Whether two neighbours, both turned, have one size where they meet."""
    return before.diameter_b == after.diameter_a and not before.as_stock and not after.as_stock


def offsets_of(section: Section) -> tuple[float, float]:
    """Return the least and the greatest offset from nominal as turned, mm; without limits, the general ones."""
    left = section.finish.on_diameter
    if section.tolerance is None:
        general = next(within for most, within in GENERAL if section.thickest <= most + ROUNDING)
        return left - general, left + general
    return section.tolerance.lower + left, section.tolerance.upper + left


def _shared_limits(members: Sequence[Section]) -> tuple[float, float]:
    """Return the least and the greatest offset from nominal that suit all, mm; the first is above if none does."""
    each = [offsets_of(s) for s in members]
    return max(low for low, _ in each), min(high for _, high in each)


def _is_free(members: Sequence[Section]) -> bool:
    return all(s.tolerance is None for s in members)


def _level(part: Part, lathe: Lathe, group: tuple[int, ...], real: Mapping[int, float]) -> tuple[Level, list[Problem]]:
    """Return a level aimed by itself, and how far it may move: as far within its limits as the lathe can be held."""
    members = [part.sections[i] for i in group]
    known = next((real[i] - part.sections[i].thickest for i in group if i in real), None)
    if members[0].as_stock or known is not None:
        offset = known or 0.0
        return Level(members=group, low=offset, high=offset, offset=offset), []
    low, high = _shared_limits(members)
    problems = []
    if high - low < _least_shared(lathe, members) - ROUNDING:
        problems.append(_no_shared_size(part, lathe, members))
        low, high = min(low, (low + high) / 2), max(high, (low + high) / 2)
    offset = _choose(members, low, high, step_on_diameter(lathe.x))
    inside = min(max(_slack(lathe) / 2, LEAST_ROOM), (high - low) / 2)
    return Level(members=group, low=low + inside, high=high - inside, offset=offset), problems


def _is_mixed(members: Sequence[Section]) -> bool:
    """Tell whether some of the sections turned as one have limits and others none."""
    return len({s.tolerance is None for s in members}) > 1


def _least_shared(lathe: Lathe, members: Sequence[Section]) -> float:
    """Return how wide the limits that sections turned as one share must be at least, mm.

    One without limits comes out at the division nearest to its aim, which must lie within the limits of the others: X
    stands at half a division of a dial at the nearest, and at a whole one of anything else; without a reading limits
    are told in hundredths, rounded inward.
    """
    if not _is_mixed(members):
        return 0.0  # where that is too fine, the page says so
    set_to = 0.0 if lathe.x.reading == "dial" else step_on_diameter(lathe.x)
    set_to += 2 * TOLD if lathe.x.reading == "none" else 0.0
    return min(max(finest_diameter(lathe), set_to), *(high - low for low, high in map(offsets_of, members)))


def _slack(lathe: Lathe) -> float:
    """Return by how much two diameters together may come out nearer to one another than aimed, mm."""
    return finest_diameter(lathe) if lathe.x.reading != "none" else 0.0


def _wanted(members: Sequence[Section], low: float, high: float) -> float:
    """Return the offset from nominal that is best by itself, mm: what turning leaves, where there are no limits."""
    left = max(s.finish.on_diameter for s in members)
    return min(max(left, low), high) if _is_free(members) else (low + high) / 2


def _nearest(size: float, step: float) -> float:
    """Return the nearest size to which the slide can be set, mm; of two equally near, the one that leaves more."""
    return math.floor(size / step + 0.5 + ROUNDING) * step


def aims_about(part: Part, at: int, side: str, step: float) -> tuple[float, float]:
    """Return the least and the greatest offset from nominal at which a section's side, "a" or "b", may be aimed, mm.

    It is aimed with all that is turned to its offset, and not moved apart from anything.
    """
    level_of, groups = find_levels(part)
    members = [part.sections[i] for i in groups[level_of[at, side]]]
    low, high = _shared_limits(members)
    wanted, near = _wanted(members, low, high), _near(members, low, high, step)
    return wanted - near, wanted + near


def _near(members: Sequence[Section], low: float, high: float, step: float) -> float:
    """Return how far from the offset wanted a size that X can be set to may lie and be aimed at, mm."""
    return step if _is_free(members) else (high - low) * WELL_WITHIN


def _choose(members: Sequence[Section], low: float, high: float, step: float) -> float:
    """Return the offset from nominal to aim at, mm."""
    nominal, wanted = members[0].thickest, _wanted(members, low, high)
    settable, near = _nearest(nominal + wanted, step), _near(members, low, high, step)
    if _is_mixed(members):
        near = min(near, max((high - low - step) / 2 - TOLD, 0.0))
    if abs(settable - nominal - wanted) <= near + ROUNDING and low - ROUNDING <= settable - nominal <= high + ROUNDING:
        return settable - nominal
    return min(max(round(nominal + wanted, 3) - nominal, low), high)


def thicken(section: Section, aimed: float, lacking: float, lathe: Lathe) -> float:
    """Return how much thicker a section must be drawn to be aimed at so much more, mm: at what X can be set to.

    Args:
        aimed: the diameter to which its thickest end is turned as it is drawn, mm. lacking: what that lacks, mm.
            Where that is kept thin, what keeps it so is to be as much thicker.
    """
    step = step_on_diameter(lathe.x)
    if is_kept_thin(section, aimed, lathe):
        return math.ceil(lacking / step - ROUNDING) * step
    enough = math.ceil((aimed + lacking) / step - ROUNDING) * step
    return enough - section.thickest - _wanted([section], *offsets_of(section))


def is_kept_thin(section: Section, aimed: float, lathe: Lathe) -> bool:
    """Tell whether a section is turned thinner, mm, than by itself: to keep a shoulder, or with one of its size."""
    return aimed < section.thickest + _choose([section], *offsets_of(section), step_on_diameter(lathe.x)) - ROUNDING


def _settable(
    part: Part, lathe: Lathe, levels: Sequence[Level], joints: Sequence[Joint], moved: Sequence[float]
) -> list[float]:
    """Return the offsets nearest to those wanted to which the slide can be set, where that keeps every shoulder."""
    fixed = {at: v.offset for at, v in enumerate(levels) if abs(moved[at] - v.offset) <= ROUNDING}
    for at, level in enumerate(levels):
        if at in fixed:
            continue
        least, most = room_left(levels, joints, fixed, at)
        nominal = part.sections[level.members[0]].thickest
        choices = [_nearest(nominal + moved[at], step_on_diameter(lathe.x)), round(nominal + moved[at], 3)]
        inside = [c - nominal for c in choices if least - ROUNDING <= c - nominal <= most + ROUNDING]
        fixed[at] = min(max(next(iter(inside), moved[at]), least), most)
    return [fixed[at] for at in range(len(levels))]


def _parted(
    part: Part, joints: Sequence[Joint], levels: Sequence[Level], offsets: Sequence[float], at: int
) -> tuple[str, ...]:
    """Return the names of the neighbours from which a level is moved away; none where it is not moved."""
    if abs(levels[at].offset - offsets[at]) <= ROUNDING:
        return ()
    beside = [(j.thin if j.large == at else j.thick, j) for j in joints if at in (j.small, j.large)]
    lost = [i for i, j in beside if lacks(levels, j)]
    return tuple(part.sections[i].name for i in dict.fromkeys(lost or [i for i, _ in beside]))


WITHIN = {
    True: f"within {GENERAL_NAME}, as no limits are given", False: "off the middle of the limits but within them"
}  # fmt: skip


def _explain(part: Part, lathe: Lathe, level: Level, offset: float, parted: Sequence[str]) -> Iterator[str]:
    """Yield the reasons for an aim that is not simply the middle of its limits plus the allowance."""
    members = [part.sections[i] for i in level.members]
    nominal, names = members[0].thickest, quoted(s.name for s in members)
    low, high = _shared_limits(members)
    free, step = _is_free(members), step_on_diameter(lathe.x)
    size, verb = say(nominal + offset, part), "is" if len(members) == 1 else "are"
    if parted:
        yield f"{names} {verb} aimed at {size}, {WITHIN[free]}, to keep {_kept(members, parted)}."
    elif free and abs(offset - _wanted(members, low, high)) > ROUNDING:
        yield f"{names} is aimed at {size}, the nearest that the X slide can be set to: it has no limits."
    if free:
        return
    if len(members) > 1:
        yield f"{names} are turned as one to {size}, which is within the limits of each."
    if abs(nominal + offset - _nearest(nominal + offset, step)) > ROUNDING:
        yield f"{names} {verb} aimed at {size}, {between_marks(lathe.x, 'X', f'{say(step, part)} apart on diameter')}."


def _kept(members: Sequence[Section], parted: Sequence[str]) -> str:
    """Say what is kept by moving a level away from neighbours: a shoulder, or the fall of a taper that is one of it."""
    beside = [n for n in parted if n not in {s.name for s in members}]
    return f"its shoulder beside {quoted(beside)}" if beside else f"the fall of the taper {quoted(parted)}"


def _no_shared_size(part: Part, lathe: Lathe, members: Sequence[Section]) -> Problem:
    """Say that limits do not overlap, or by less than X can be held to."""
    given = ", ".join(
        f'"{s.name}" {_limits_text(part, s)}'
        + (f" and {say(s.finish.on_diameter, part)} left" if s.finish.on_diameter else "")
        for s in members
    )
    low, high = _shared_limits(members)
    least = _least_shared(lathe, members)
    lacks = "no size is within the limits of all" if low > high + ROUNDING else "their limits hardly overlap"
    what = f"{quoted(s.name for s in members)} have one diameter, but {lacks}"
    allowed = f"limits that overlap by {at_least(least, part)}, as X can be set to" if least else ""
    fix = "give them limits that overlap, or different diameters with a shoulder between"
    return problem(members[-1].where, what, given, allowed, fix)


def _limits_text(part: Part, section: Section) -> str:
    if section.tolerance is not None:
        return section.tolerance.text
    low, high = offsets_of(section)
    return f"without limits ({GENERAL_NAME}, ±{say((high - low) / 2, part)})"


def check_limits_can_be_held(part: Solved, lathe: Lathe) -> list[Problem]:
    """Refuse limits finer than backlash and dial allow; without a dial they are a matter of gauging."""
    found = list[Problem]()
    if lathe.x.reading != "none":
        limits = [(s.name, s.tolerance) for s in part.sections if s.tolerance is not None and not s.as_stock]
        for name, tolerance in limits:
            of, step = f'the diameter of "{name}"', step_on_diameter(lathe.x)
            found += _check_width(part, of, tolerance, finest_diameter(lathe), step, 2 * lathe.x.backlash, lathe.x)
    if lathe.z.reading != "none":
        for of, tolerance in _limits_along(part):
            step = float(lathe.z.division)
            found += _check_width(part, of, tolerance, finest_length(lathe), step, lathe.z.backlash, lathe.z)
    return found


def _limits_along(part: Solved) -> Iterator[tuple[str, Tolerance]]:
    """Yield the limits of lengths, each with what it is of: those of sections, then those of spans."""
    yield from ((f'the length of "{name}"', tolerance) for name, tolerance in own_limits(part).items())
    spans = () if part.measured is None else part.measured.spans
    yield from ((f'span "{span.name}"', span.tolerance) for span in spans if span.tolerance is not None)


def _check_width(
    part: Part, of: str, tolerance: Tolerance, finest: float, step: float, play: float, slide: Slide
) -> Iterator[Problem]:  # fmt: skip
    """Check that limits are not finer than a slide can be held to.

    Args:
        of: what they are of. finest: see `finest_diameter`, mm.
        step, play: the slide's division and backlash in what is limited, mm.
    """
    width = tolerance.upper - tolerance.lower
    if width >= finest - ROUNDING:
        return
    helps = ["name a finer division if you can set it"] if step / 2 > width + ROUNDING else []
    if TAKE_UP * play > width + ROUNDING:
        helps.append("adjust the slide's nut and say what backlash is left")
    yield Problem(
        where=tolerance.where,
        what=f"the limits of {of} are finer than backlash and dial allow",
        given=f"{tolerance.text}: {say(width, part)} between them",
        allowed=f"at least {at_least(finest, part)}, for a division of {slide.division.text} "
        f"and a backlash of {slide.backlash.text}",
        fix=f"widen the limits, leave the rest to stoning and burnishing, or {' and '.join(helps)}",
    )
