"""The diameters to aim at: the middle of the limits plus what turning leaves, as the X slide can set it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.frozen import frozen
from cam.part.model import Part, Section
from cam.problem import Problem
from cam.setting.words import quoted, say
from cam.shop.model import Lathe, Slide

FINE = 1e-9
TAKE_UP = 0.1
"""Share of a slide's backlash to which taking it up repeats. Common practice, no source."""

WELL_WITHIN = 0.25
"""How far from the middle of the limits a settable size may lie to be aimed at, as a share of their width."""


@frozen
class Aims:
    """What each section is turned to.

    Attributes:
        diameters: for each section of the part its A and B diameter as turned, mm; as bought where it stays
            as stock.
        reasons: a sentence for every aim that is not simply the middle of the limits plus the allowance.
    """

    diameters: tuple[tuple[float, float], ...]
    reasons: tuple[str, ...]


def step_on_diameter(slide: Slide) -> float:
    """Least change of diameter that the X slide can be set to, mm.

    A dial that reads diameters, or depth on diameter, has it as its division; one that reads plain slide
    movement has twice its division.
    """
    return float(slide.division) * (2 if slide.habit == "radius" else 1)


def finest_diameter(lathe: Lathe) -> float:
    """Narrowest limits of a diameter that this lathe can be held to, mm.

    The last cut is set from a diameter that was measured, and X always comes inward by more than its lost
    motion, so the backlash itself cancels. What stays is half a division on the dial, which a careful
    turner still splits, and the share TAKE_UP of the backlash by which taking it up differs from one time
    to the next (twice that on the diameter). Narrower limits are a matter of luck.
    """
    return max(step_on_diameter(lathe.x) / 2, 2 * TAKE_UP * lathe.x.backlash)


def finest_length(lathe: Lathe) -> float:
    """Narrowest limits of a length that this lathe can be held to, mm; as finest_diameter, along Z."""
    return max(lathe.z.division / 2, TAKE_UP * lathe.z.backlash)


def aim_diameters(part: Part, lathe: Lathe) -> tuple[Aims, list[Problem]]:
    """Aims for every section, and what stands against them.

    Neighbouring cylinders of one nominal diameter are turned as one, so they get one aim within the limits of
    all; where there is none that is a problem.
    """
    step = step_on_diameter(lathe.x)
    found: dict[int, tuple[float, float]] = {}
    reasons: list[str] = []
    problems: list[Problem] = []
    for run in runs_of_one_size(part):
        members = [part.sections[i] for i in run]
        low, high = _shared_limits(members)
        if low > high + FINE:
            problems.append(_no_shared_size(part, members))
            low = high = (low + high) / 2
        offset, reason = _choose(part, members, low, high, step)
        reasons.extend(reason)
        for i in run:
            s = part.sections[i]
            found[i] = (s.diameter_a + offset, s.diameter_b + offset)
    diameters = tuple(found.get(i, (float(s.diameter_a), float(s.diameter_b))) for i, s in enumerate(part.sections))
    return Aims(diameters=diameters, reasons=tuple(reasons)), problems


def runs_of_one_size(part: Part) -> Iterator[list[int]]:
    """Indices of sections that are turned, neighbouring cylinders of one diameter together."""
    run: list[int] = []
    for i, s in enumerate(part.sections):
        before = part.sections[run[-1]] if run else None
        joins = before is not None and before.diameter_b == s.diameter_a and _plain(before) and _plain(s)
        if run and (s.as_stock or not joins):
            yield run
            run = []
        if not s.as_stock:
            run.append(i)
    if run:
        yield run


def _plain(section: Section) -> bool:
    return section.diameter_a == section.diameter_b


def _shared_limits(members: Sequence[Section]) -> tuple[float, float]:
    """Least and greatest offset from nominal that suit all, mm; infinite where no section has limits."""
    low, high = -math.inf, math.inf
    for s in members:
        if s.tolerance is not None:
            low = max(low, s.tolerance.lower + s.finish.on_diameter)
            high = min(high, s.tolerance.upper + s.finish.on_diameter)
    return low, high


def _choose(part: Part, members: Sequence[Section], low: float, high: float, step: float) -> tuple[float, list[str]]:
    """Offset from nominal, mm, and the reasons for it."""
    nominal = members[0].thickest
    names = quoted(s.name for s in members)
    free = math.isinf(low)
    wanted = max(s.finish.on_diameter for s in members) if free else (low + high) / 2
    settable = math.floor((nominal + wanted) / step + 0.5 + FINE) * step  # of two as near, the one that leaves more
    if free or abs(settable - nominal - wanted) <= (high - low) * WELL_WITHIN + FINE:
        offset = settable - nominal
    else:
        offset = min(max(round(nominal + wanted, 3) - nominal, low), high)
    size = say(nominal + offset, part)
    reasons = []
    if free and abs(offset - wanted) > FINE:
        reasons.append(f"{names} is aimed at {size}, the nearest that the X slide can be set to: it has no limits.")
    if not free and len(members) > 1:
        reasons.append(f"{names} are turned as one to {size}, which is within the limits of each.")
    if not free and abs(nominal + offset - settable) > FINE:
        reasons.append(
            f"{names} is aimed at {size}, between two settings of the X slide ({say(step, part)} apart on diameter) "
            "so as to stay well within the limits: judge the last cut between the marks."
        )
    return offset, reasons


def _no_shared_size(part: Part, members: Sequence[Section]) -> Problem:
    given = ", ".join(
        f'"{s.name}" {s.tolerance.text}'
        + (f" and {say(s.finish.on_diameter, part)} left" if s.finish.on_diameter else "")
        for s in members
        if s.tolerance is not None
    )
    return Problem(
        where=members[-1].where,
        what=f"{quoted(s.name for s in members)} have one diameter, but no size is within the limits of all",
        given=given,
        fix="give them limits that overlap, or different diameters with a shoulder between",
    )


def check_limits_can_be_held(part: Part, lathe: Lathe) -> list[Problem]:
    """Limits finer than backlash and dial allow are refused; without a dial they are a matter of gauging."""
    found = []
    for s in part.sections:
        if s.tolerance is not None and not s.as_stock and lathe.x.reading != "none":
            width, finest = s.tolerance.upper - s.tolerance.lower, finest_diameter(lathe)
            if width < finest - FINE:
                found.append(_too_fine(part, s, "diameter", s.tolerance.text, width, finest, lathe.x))
        if s.length_tolerance is not None and lathe.z.reading != "none":
            width, finest = s.length_tolerance.upper - s.length_tolerance.lower, finest_length(lathe)
            if width < finest - FINE:
                found.append(_too_fine(part, s, "length", s.length_tolerance.text, width, finest, lathe.z))
    return found


def _too_fine(part: Part, section: Section, what: str, text: str, width: float, finest: float, slide: Slide) -> Problem:
    tolerance = section.tolerance if what == "diameter" else section.length_tolerance
    assert tolerance is not None
    return Problem(
        where=tolerance.where,
        what=f'the limits of the {what} of "{section.name}" are finer than backlash and dial allow',
        given=f"{text}: {say(width, part)} between them",
        allowed=f"at least {say(finest, part)}, for a division of {slide.division.text} "
        f"and a backlash of {slide.backlash.text}",
        fix="widen the limits, leave the rest to stoning and burnishing, or name a finer division if you can set it",
    )
