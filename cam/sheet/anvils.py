"""Whether the anvils that a page names find what it says is measured, past the metal that stands beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cam.ground.problem import Problem, problem_at
from cam.judge.envelope import Metal
from cam.part.features import reach_along
from cam.setting.model import Setting, Turned
from cam.setting.profiles import growth
from cam.sheet.limits import show
from cam.sheet.model import MeasureLine, Sheet

ANVIL, BLADE = 6.35, 0.75
"""How wide common anvils and blade anvils are, mm. Common practice, no source."""
TOUCHED = 2e-3
"""How much higher than what is measured the metal beside it may stand, mm, and hold no anvil off that is felt."""
ENDS = 1e-6
ROOM = 2.0
"""A taper that is plain for this much, mm, has a place for blade anvils, whatever stands before it."""


def check_reached(
    sheet: Sheet, setting: Setting, line: MeasureLine, members: Sequence[Turned], metal: Metal, spare: float
) -> Iterator[Problem]:
    """Check that anvils of the width that the page says find a diameter, one edge on it and nothing higher beside it.

    The centre at the end counts with the metal.

    Args:
        members: the sections measured, from the tailstock, as the page says them. metal: as it is then.
        spare: how far the figure may be off, mm.
    """
    if line.of != "diameter":
        return
    radius, wide = line.expected.value / 2, BLADE if line.blades else ANVIL
    spare += line.expected.half / 2 + TOUCHED
    places = _places(line, members, metal, radius, spare)
    beside = [max(metal.highest(at + ENDS, at + wide), _centre_at(setting, at + wide)) for at in places]
    if beside and min(beside) > radius + spare:
        what, stands = f"measures where no {'blade ' * line.blades}anvil reaches", 2 * min(beside)
        given = f"{line.of} of {line.name}, {line.expected.text}"
        allowed = f"a place past the {show(stands, line.expected, sheet.unit)} that stands beside it"
        yield problem_at(sheet.path, line.line, what, given, allowed, kind=REACH)


def _centre_at(setting: Setting, z: float) -> float:
    """Return the radius of the tailstock centre at a Z past the end of the work, mm; 0 where none stands there."""
    centre, hole = setting.tail_centre, setting.hole
    if centre is None or hole is None or z <= setting.end_z:
        return 0.0
    steep = math.tan(math.radians(float(centre.cone_angle) / 2))
    return min(hole.mouth / 2 + (z - setting.end_z) * steep, float(centre.point_diameter) / 2)


REACH = "reach"
"""Kind of the finding that no anvil finds what is to be measured."""


def _places(
    line: MeasureLine, members: Sequence[Turned], metal: Metal, radius: float, spare: float
) -> list[float]:  # fmt: skip
    """Return Z at which an anvil's edge may lie: where a taper's line says, or at the end of a level stretch."""
    if members[0].is_taper:
        return [station(line, members[0])]
    low, high = members[-1].far, members[0].near
    level = (p for p in metal.pieces if not p[2] and not p[5] and abs(p[4] - radius) <= spare)
    return [max(p[0], low) for p in level if min(p[1], high) > max(p[0], low)]


def has_place(turned: Turned) -> bool:
    """Tell whether a taper surely has a place that anvils reach."""
    return turned.near - turned.extra_length - turned.far - reach_along(turned.corner) >= ROOM


def station(line: MeasureLine, turned: Turned) -> float:
    """Return Z at which a line has a taper measured, mm: its thin end where the line's figure is that, or none."""
    if line.at is None or line.at.says(turned.thin_end, ENDS):
        return turned.thin_end
    return line.at.value


def wider_at(line: MeasureLine, turned: Turned) -> float:
    """Return how much thicker a section is where a line has it measured than at its thin end, mm of diameter."""
    return 2.0 * growth(turned) * (turned.thin_end - station(line, turned)) if turned.is_taper else 0.0
