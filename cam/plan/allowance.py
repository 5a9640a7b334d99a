"""How much metal roughing leaves, and how the last two cuts share it."""

from __future__ import annotations

import math

from cam.ground.frozen import frozen
from cam.ground.tolerances import ROUNDING
from cam.part.model import Part
from cam.setting.aims import step_on_diameter
from cam.setting.words import say
from cam.shop.model import Lathe, Tool

ZERO_OUT = 0.1
"""How far a Z zero that was set by touch, or moved at a stop, may be out unseen, mm; common practice, no source. The
first of the two cuts on a face leaves more than this, so that the stop after it shows the error while metal is left."""
ROUGHING_SPRING = 0.05
"""Roughing is made lighter until the work springs by less than this, mm per side; common practice, no source."""


@frozen
class Allowance:
    """The metal that roughing leaves for the last two cuts.

    Attributes:
        cut: depth per side of each of the last two cuts on a diameter, mm.
        face_cut: the same on a shoulder face, mm.
        reason: why it is so much, in words and numbers.
    """

    cut: float
    face_cut: float
    reason: str

    @property
    def side(self) -> float:
        """Return the metal that roughing leaves per side, mm."""
        return 2 * self.cut

    @property
    def face(self) -> float:
        """Return the metal that roughing leaves on a face, mm."""
        return 2 * self.face_cut


def radius_step(lathe: Lathe) -> float:
    """Return the least change of radius that the X dial or readout can set, mm."""
    return step_on_diameter(lathe.x) / 2


def round_up(value: float, step: float) -> float:
    """Round value up to a whole number of steps."""
    return math.ceil(value / step - ROUNDING) * step if step > 0 else value


def settle_allowance(part: Part, lathe: Lathe, tool: Tool, spring: float) -> Allowance:
    """Settle the allowance: both last cuts equal, each above the tool's least, together above the errors of roughing.

    Args:
        tool: the finishing tool.
        spring: by how much the work springs under the last roughing cut, mm per side.

    Roughing comes to every size from outside and never steps outward in the cut, so its radii are free of backlash.
    So are its shoulders, where Z is held toward the headstock. The error that remains is the work's spring, which
    the two cuts exceed by a fifth.
    """
    least = 1.5 * float(tool.minimum_cut)
    cut = round_up(max(least, 0.6 * spring), radius_step(lathe))
    face_cut = round_up(max(least, ZERO_OUT + float(tool.minimum_cut)), float(lathe.z.division))
    which = "three fifths of the work's spring" if 0.6 * spring > least else "one and a half times the tool's least cut"
    reason = (
        f"roughing leaves {say(2 * cut, part)} per side, room for two equal last cuts of {say(cut, part)} ({which}: "
        f"spring {say(spring, part)}, least cut {say(tool.minimum_cut, part)}), and {say(2 * face_cut, part)} on a "
        f"shoulder for two of {say(face_cut, part)}, as a Z zero may be {say(ZERO_OUT, part)} out until that is "
        "measured"
    )
    return Allowance(cut=cut, face_cut=face_cut, reason=reason)
