"""Where a tool that is set late cuts, in the places by which a text says corrected work.

A text says a last cut that a stop's reading corrects further in, or further out, than it comes out: its tool is off by
so much. A grooving tool is not: it is set on what that cut has left. Against metal that stands where the text says it,
such a tool cuts so much further out, or in.
"""

from __future__ import annotations

from cam.rs274.model import Motion, Position
from cam.setting.model import NOT_CORRECTED, Setting
from cam.shop.model import Tool


def moved_with_work(motion: Motion, tool: Tool | None, setting: Setting) -> Motion:
    """Return a motion as it lies beside the metal of a text with corrected cuts; any but a grooving tool's as it is."""
    if not setting.corrections or tool is None or tool.kind != "grooving":
        return motion
    middle = float(tool.width) / 2
    return motion._replace(start=_moved(motion.start, middle, setting), end=_moved(motion.end, middle, setting))


def _moved(place: Position, middle: float, setting: Setting) -> Position:
    """Return a place, moved with the section that the tool's middle is over; beyond them all it stays."""
    section = next((t.section.name for t in setting.turned if t.far <= place.z + middle), "")
    own = next((c for c in setting.corrections if c.section == section), NOT_CORRECTED)
    return place._replace(x=place.x - own.radius, z=place.z - own.face)
