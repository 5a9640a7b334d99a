"""How much roughing leaves, and how the last two cuts share it."""

from __future__ import annotations

import math

from cam.ground.frozen import frozen
from cam.ground.tolerances import ROUNDING
from cam.part.model import Part
from cam.setting.aims import step_on_diameter
from cam.setting.words import say
from cam.shop.model import Lathe, Tool

ZERO_OUT = 0.1
"""By how much a Z zero set by touch, or moved at a stop, may be out and nobody has seen it yet, mm; common practice, no
source. The first of the two cuts on a face leaves more, so that the stop behind it says so while metal is there."""
ROUGHING_SPRING = 0.05
"""Roughing is made lighter until the work springs less than this, mm per side; common practice, no source."""


@frozen
class Allowance:
    """What roughing leaves.

    Attributes:
        cut: depth per side of each of the last two cuts on a diameter, mm.
        face_cut: the same on a shoulder face, mm.
        reason: in words and numbers.
    """

    cut: float
    face_cut: float
    reason: str

    @property
    def side(self) -> float:
        """What roughing leaves per side, mm."""
        return 2 * self.cut

    @property
    def face(self) -> float:
        """What roughing leaves on a face, mm."""
        return 2 * self.face_cut


def radius_step(lathe: Lathe) -> float:
    """Least change of radius that the X dial or readout can set, mm."""
    return step_on_diameter(lathe.x) / 2


def round_up(value: float, step: float) -> float:
    """The least whole number of steps that is not below value."""
    return math.ceil(value / step - ROUNDING) * step if step > 0 else value


def settle_allowance(part: Part, lathe: Lathe, tool: Tool, spring: float) -> Allowance:
    """Allowance so that both last cuts are equal, above the tool's least, and together above the errors of roughing.

    Args:
        tool: the finishing tool.
        spring: of the work under the last roughing cut, mm per side.

    Roughing comes to every size from outside and never steps outward in the cut, so backlash is in none of its radii;
    nor in its shoulders, where Z is held toward the headstock. What is left is the work's spring, which
    two cuts exceed by a fifth.
    """
    least = 1.5 * float(tool.minimum_cut)
    cut = round_up(max(least, 0.6 * spring), radius_step(lathe))
    step, nose = float(lathe.z.division), float(tool.nose_radius)
    square = math.floor(2 * nose / step + ROUNDING) * step  # as much as a nose takes, plunging
    wanted = min(ZERO_OUT + float(tool.minimum_cut), square)
    face_cut = round_up(max(least, wanted), step)
    which = "three fifths of the work's spring" if 0.6 * spring > least else "one and a half times the tool's least cut"
    reason = (
        f"two equal last cuts of {say(cut, part)} per side ({which}: "
        f"spring {say(spring, part)}, least cut {say(tool.minimum_cut, part)}), of {say(face_cut, part)} on a "
        f"shoulder, as a Z zero may be {say(ZERO_OUT, part)} out until that is measured"
    )
    return Allowance(cut=cut, face_cut=face_cut, reason=reason)
