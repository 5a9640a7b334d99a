"""Sizes that keep every drawn shoulder as turned: aims moved apart within their limits, or refused by name."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.part.checks import is_groove
from cam.part.details import LEAST_FALL
from cam.part.features import Corner, Edge, size_of
from cam.part.model import Part, Section
from cam.setting.words import at_least, at_most, say

LEAST_STEP = 0.05
"""The least height of a shoulder on each side as turned, mm, and so the least that it bears on: twice the burr and the
round of a sharp edge that nobody broke, about as much as a fingernail feels. Common practice, no source. Where a nose
or a fillet makes the corner, the shoulder is at least as high as that too.
"""

CLEAR_OF_EDGE = 0.02
"""The distance kept between the nose and the face below a chamfer while that is cut, mm. Common practice, no source."""

HALF = math.sqrt(0.5)
"""Where on its quarter circle a nose touches a line at 45 degrees, as a share of its radius; each component of a unit
normal there."""

GENERAL = ((6.0, 0.05), (30.0, 0.1), (120.0, 0.15), (math.inf, 0.2))
"""The top of each range of sizes, mm, and its general limit, plus and minus, mm, where the part file gives none.

Source: ISO 2768-1, linear sizes, class f (fine), as printed tables give it; below 0.5 mm it gives none.
"""

HALVINGS = 40


class Joint(Row):
    """Two ends of sections that meet at a drawn shoulder, or both ends of a taper that are aimed apart.

    Attributes:
        thin, thick: places of their sections in the part; the same of a taper.
        small, large: the places of their levels.
        thin_size, thick_size: drawn diameters where they meet, mm.
        need: least height on each side as turned and as finished, below the edge, mm; over a groove with what the taper
            before it rises there.
        edge: size of the edge at its top, mm.
        edge_text: the edge as written; "" where there is none.
        more: by how much more is left on the thick one than on the thin one for stoning and the like, and how much
            thinner a taper is at a face that is left further out, on diameter, mm; zero or more.
    """

    thin: int
    thick: int
    small: int
    large: int
    thin_size: float
    thick_size: float
    need: float
    edge: float
    edge_text: str
    more: float

    @property
    def taper(self) -> bool:
        """Whether both are the ends of one taper."""
        return self.thin == self.thick

    @property
    def apart(self) -> float:
        """Return the least difference of the two offsets from nominal that keeps the shoulder, mm; mostly negative."""
        return 2 * (self.need + self.edge) + self.more - (self.thick_size - self.thin_size)


@frozen
class Level:
    """Ends of sections that are turned to one offset from nominal.

    Attributes:
        members: places of the sections in the part.
        low, high: the offsets within which it may be aimed, mm.
        offset: the offset that is aimed at, mm.
    """

    members: tuple[int, ...]
    low: float
    high: float
    offset: float


class Lacking(Row):
    """A shoulder that no sizes within the limits keep.

    Attributes:
        by: how much thicker the thick one would have to be on diameter, mm.
        thinner: how much thinner the thin one would have to be; zero where that would only lose the shoulder below it.
        pushed: whether the shoulders below it leave the thin one less than its limits do.
    """

    joint: Joint
    by: float
    thinner: float
    pushed: bool


def least_height(corner: Corner | None, nose: float, slack: float) -> float:
    """Return the least height of the shoulder over a corner, on each side as turned, mm.

    Args:
        nose: the least nose radius of the shop's turning tools, mm.
        slack: how much smaller than aimed the step on diameter may come out, mm.
    """
    foot = 0.0
    if corner is not None and corner.kind != "undercut":
        foot = corner.radius if corner.kind == "fillet" else nose
    return max(foot, LEAST_STEP + slack / 2)


def find_joints(part: Part, level_of: dict[tuple[int, str], int], nose: float, slack: float) -> Iterator[Joint]:
    """Yield every drawn shoulder between neighbours, also across a groove that they share, and every taper aimed apart.

    Args:
        level_of: the level to which each section's place and side, "a" or "b", belong.
        nose, slack: as for `least_height`.
    """
    for i in range(len(part.sections) - 1):
        yield from _joint(part, level_of, (i, i + 1), nose, slack)
        if i > 0 and is_groove(part, i):
            yield from _joint(part, level_of, (i - 1, i + 1), nose, None)
    for i, s in enumerate(part.sections):
        if level_of[i, "a"] != level_of[i, "b"]:
            yield _taper(i, s, level_of)


def _taper(i: int, section: Section, level_of: dict[tuple[int, str], int]) -> Joint:
    """Return both ends of a taper, which keeps its direction."""
    thin, thick = ("a", "b") if section.diameter_a < section.diameter_b else ("b", "a")
    sizes = {"a": float(section.diameter_a), "b": float(section.diameter_b)}
    return Joint(
        thin=i, thick=i, small=level_of[i, thin], large=level_of[i, thick], thin_size=sizes[thin],
        thick_size=sizes[thick], need=LEAST_FALL / 2, edge=0.0, edge_text="", more=0.0,
    )  # fmt: skip


def _joint(
    part: Part, level_of: dict[tuple[int, str], int], pair: tuple[int, int], nose: float, slack: float | None
) -> Iterator[Joint]:
    """Yield the shoulder between two sections; none where they are drawn equal. The slack is None across a groove."""
    i, j = pair
    ends = ((i, "b"), (j, "a"))
    sizes = {i: float(part.sections[i].diameter_b), j: float(part.sections[j].diameter_a)}
    if abs(sizes[i] - sizes[j]) <= ROUNDING:
        return
    (thin, thin_side), (thick, thick_side) = ends if sizes[i] < sizes[j] else ends[::-1]
    edge = _edge(part.sections[thick], thick_side)
    need = _need(part, (thin, thin_side), edge, nose, slack)
    yield Joint(
        thin=thin,
        thick=thick,
        small=level_of[thin, thin_side],
        large=level_of[thick, thick_side],
        thin_size=sizes[thin],
        thick_size=sizes[thick],
        need=need if slack is not None else need + _rise_over(part, thin, thin_side, i + 1),
        edge=size_of(edge),
        edge_text=edge.text if edge is not None else "",
        more=max(part.sections[thick].finish.on_diameter - part.sections[thin].finish.on_diameter, 0.0)
        + _fall(part.sections[thick], thick_side, part.sections[thin].finish.on_face),
    )


def _rise_over(part: Part, i: int, side: str, groove: int) -> float:
    """Return how much higher a taper that goes on over a groove stands at its far end, mm; zero for others."""
    taper = part.sections[i]
    grows = max((taper.diameter_b - taper.diameter_a) * (1 if side == "b" else -1) / 2, 0.0)
    wide = part.sections[groove].end - part.sections[groove].start
    return grows / (taper.end - taper.start) * wide if taper.end > taper.start else 0.0


def _fall(section: Section, side: str, left: float) -> float:
    """Return how much thinner on diameter a taper is where its face stands so much further out than drawn, mm.

    It is steepest where it is made as short as it may be.
    """
    grows = (section.diameter_b - section.diameter_a) * (1 if side == "a" else -1)
    shorter = section.length_tolerance.lower if section.length_tolerance is not None else 0.0
    least = section.end - section.start + min(shorter, 0.0)
    return max(grows, 0.0) / least * left if least > 0 else 0.0


def _edge(section: Section, side: str) -> Edge | None:
    edge = section.edge_a if side == "a" else section.edge_b
    return None if edge is None or edge.kind == "sharp" else edge


def _need(part: Part, foot: tuple[int, str], edge: Edge | None, nose: float, slack: float | None) -> float:
    """Return the least height of the step below its edge, mm.

    Across a groove, which is cut when all edges are, it takes the nose that cuts the edge, and has no corner.
    """
    section, least = part.sections[foot[0]], 0.0
    if slack is not None:
        corner = section.corner_a if foot[1] == "a" else section.corner_b
        least = least_height(None if is_groove(part, foot[0]) else corner, nose, slack)
    return least if edge is None else max(least, face_below(edge, nose))


def face_below(edge: Edge, nose: float) -> float:
    """Return the least height of the face below an edge, mm, at which the nose that cuts that keeps off its foot."""
    return nose if edge.kind == "radius" else CLEAR_OF_EDGE + nose * (1 - HALF)


# Moving apart -----------------------------------------------------------------------------------------


def stand(levels: Sequence[Level], joints: Sequence[Joint]) -> bool:
    """Whether every shoulder is there as aimed."""
    return not any(lacks(levels, joint) for joint in joints)


def lacks(levels: Sequence[Level], joint: Joint) -> bool:
    """Whether a shoulder is lost between its two levels as aimed."""
    return levels[joint.large].offset - levels[joint.small].offset < joint.apart - ROUNDING


def move_apart(levels: Sequence[Level], joints: Sequence[Joint]) -> list[float] | None:
    """Return offsets that keep every shoulder, none nearer its limit than it must be; None where there are none.

    Each is moved toward its limit by at most the same share of the way, the least that will do.
    """
    if _narrow(_rooms(levels, 1.0), joints) is None:
        return None
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _narrow(_rooms(levels, middle), joints) is None:
            low = middle
        else:
            high = middle
    rooms = _rooms(levels, high)
    for at, level in enumerate(levels):
        rooms = _narrow(rooms, joints) or rooms
        least, most = rooms[at]
        wanted = min(max(level.offset, least), most)
        rooms[at] = (wanted, wanted)
    return [least for least, _ in rooms]


def room_left(
    levels: Sequence[Level], joints: Sequence[Joint], fixed: dict[int, float], at: int
) -> tuple[float, float]:
    """Return the least and the greatest offset of one level that keep every shoulder, with some others settled, mm."""
    rooms = _rooms(levels, 1.0)
    for place, offset in fixed.items():
        rooms[place] = (offset, offset)
    return (_narrow(rooms, joints) or rooms)[at]


def _rooms(levels: Sequence[Level], share: float) -> list[tuple[float, float]]:
    starts = [(min(max(v.offset, v.low), v.high), v) for v in levels]
    return [(at - share * (at - v.low), at + share * (v.high - at)) for at, v in starts]


def _narrow(rooms: Sequence[tuple[float, float]], joints: Sequence[Joint]) -> list[tuple[float, float]] | None:
    """Return the ranges without what cannot be kept; None where nothing is left of one.

    Only differences are bound, so where every room has something left, all its lower ends are one solution.
    """
    found = list(rooms)
    for _ in range(len(rooms) + 1):
        before = list(found)
        for joint in joints:
            (low, high), (least, most) = found[joint.large], found[joint.small]
            found[joint.large] = (max(low, least + joint.apart), high)
            found[joint.small] = (least, min(most, high - joint.apart))
        if any(low > high + ROUNDING for low, high in found):
            return None
        if found == before:
            break
    return found


def find_lacking(levels: Sequence[Level], joints: Sequence[Joint]) -> list[Lacking]:
    """Return every shoulder that is lost when those below it on the thin side are kept."""
    lows, pushed = _push(levels, joints)
    highs = [v.high for v in levels]
    for _ in levels:
        for j in joints:
            room = max(highs[j.large], levels[j.large].low) - j.apart
            highs[j.small] = max(min(highs[j.small], room), levels[j.small].low)
    found = []
    for j in joints:
        by = lows[j.small] + j.apart - levels[j.large].high
        thinner = levels[j.small].low + j.apart - highs[j.large]
        if by > ROUNDING:
            helps = thinner > ROUNDING and pushed[j.small] + thinner <= levels[j.small].low + ROUNDING
            found.append(Lacking(j, by, thinner if helps else 0.0, pushed[j.small] > levels[j.small].low + ROUNDING))
    return found


def _push(levels: Sequence[Level], joints: Sequence[Joint]) -> tuple[list[float], list[float]]:
    """Return each level's least offset with all shoulders below it kept, and what those alone ask for, mm.

    A level from which they ask more than its limits allow counts with its upper limit: that shoulder is lost already.
    """
    lows, pushed = [v.low for v in levels], [-math.inf for _ in levels]
    for _ in levels:
        for j in joints:
            pushed[j.large] = max(pushed[j.large], lows[j.small] + j.apart)
            lows[j.large] = min(max(lows[j.large], pushed[j.large]), levels[j.large].high)
    return lows, pushed


# Words ------------------------------------------------------------------------------------------------


def tell_lacking(part: Part, levels: Sequence[Level], lacking: Lacking, recorded: frozenset[int]) -> Problem:
    """Report both sections, their limits, what would be there at most, and what would part them.

    Args:
        recorded: places of the sections whose sizes are recorded as really cut.
    """
    joint, by = lacking.joint, lacking.by
    thin, thick = part.sections[joint.thin], part.sections[joint.thick]
    most = (joint.apart - by + joint.thick_size - joint.thin_size - joint.more) / 2
    below = f", {say(most - joint.edge, part)} of it below the {joint.edge_text}" if joint.edge else ""
    given = f"{_limits(part, thin, joint.thin_size, joint.thin in recorded)}; "
    given += f"{_limits(part, thick, joint.thick_size, joint.thick in recorded)}: "
    kept = f", if {_quote(thin)} keeps its other shoulder" if lacking.pushed else ""
    given += f"at most {say(most, part)} between them on each side{below}{kept}"
    if joint.more:
        given += f", with {say(joint.more, part)} more left on {_quote(thick)} for later"
    what = f"the shoulder between {_quote(thin)} and {_quote(thick)} is too low for what is to be made on it"
    if joint.taper:
        what = f"the taper {_quote(thick)} would not grow as it is drawn"
    what = f"{what}, whatever sizes within their limits they are turned to"
    allowed = f"at least {at_least(joint.need, part)} on each side" + (" below it" if joint.edge else "")
    return problem(thick.where, what, given, allowed, _tell_fix(part, levels, lacking, recorded))


def closer_limits(section: Section, size: float) -> float:
    """Return how much less a smaller size may differ where no limits are drawn, mm: the general ones go by size."""
    if section.tolerance is not None or section.as_stock:
        return 0.0
    own, other = (next(within for most, within in GENERAL if d <= most + ROUNDING) for d in (section.thickest, size))
    return max(own - other, 0.0)


def _quote(section: Section) -> str:
    return f'"{section.name}"'


def _ends(part: Part, level: Level, size: float) -> str:
    """Name all that is turned to one size with an end of a section: cylinders, and ends of tapers."""
    found = []
    for s in (part.sections[i] for i in level.members):
        if s.diameter_a == s.diameter_b == size:
            found.append(_quote(s))
        else:
            found += [f"the {n} end of {_quote(s)}" for n, d in (("A", s.diameter_a), ("B", s.diameter_b)) if d == size]
    return " and ".join(found)


def _limits(part: Part, section: Section, size: float, recorded: bool) -> str:
    if recorded:
        return f"{_quote(section)}, as recorded"
    text = "as bought" if section.as_stock else section.tolerance.text if section.tolerance else "without limits"
    left = section.finish.on_diameter
    return f"{_quote(section)} {say(size, part)} {text}" + (f" and {say(left, part)} left" if left else "")


def _tell_fix(part: Part, levels: Sequence[Level], lacking: Lacking, recorded: frozenset[int]) -> str:
    joint, ways = lacking.joint, []
    thick = part.sections[joint.thick]
    if not thick.as_stock and joint.thick not in recorded:
        ends = _ends(part, levels[joint.large], joint.thick_size)
        ways.append(f"{ends} {at_least(joint.thick_size + lacking.by, part)} or more")
    if joint.thin not in recorded and 0 < lacking.thinner < joint.thin_size:
        ends = _ends(part, levels[joint.small], joint.thin_size)
        size = joint.thin_size - lacking.thinner
        size -= max((closer_limits(part.sections[i], size) for i in levels[joint.small].members), default=0.0)
        ways.append(f"{ends} {at_most(size, part)} or less")
    more = "; or a smaller edge" if joint.edge else ""
    return f"make {', or '.join(ways)}; or give them limits further apart{more}" if ways else ""
