"""Where tools really go by what the stops of a text have read.

A text says a last cut that a stop's reading corrects further in, or further out, than it comes out: its tool is off by
so much, and goes where the cut was wanted. A grooving tool is not off: it is set on what that cut has left. Against
metal that stands where the text says it, such a tool cuts so much further out, or in.
"""

from __future__ import annotations

from cam.rs274.model import Motion, Position
from cam.setting.model import NOT_CORRECTED, Correction, Setting
from cam.shop.model import Tool

ROUNDED = 0.01
"""A motion so little beyond a section, mm, ends on its face: a text rounds, and grooves are wider."""


def moved_with_work(motion: Motion, tool: Tool | None, setting: Setting) -> Motion:
    """Return a motion as it lies beside the metal of a text with corrected cuts; any but a grooving tool's as it is."""
    if not setting.corrections or tool is None or tool.kind != "grooving":
        return motion
    middle = float(tool.width) / 2

    def moved(place: Position) -> Position:
        off = _over(place.z + middle, setting)
        return place._replace(x=place.x - off.radius, z=place.z - off.face)

    return motion._replace(start=moved(motion.start), end=moved(motion.end))


def moved_with_tool(motion: Motion, tool: Tool | None, setting: Setting) -> Motion:
    """Return a motion as it really goes beside what stands still, by a tool that stops have shown to be off."""
    if not setting.corrections or tool is None or tool.kind != "turning":
        return motion

    off = _over(motion.end.z + ROUNDED, setting, said=True)

    def moved(place: Position) -> Position:
        return place._replace(x=place.x + off.radius, z=place.z + off.face)

    centre = moved(motion.centre) if motion.centre is not None else None
    return motion._replace(start=moved(motion.start), end=moved(motion.end), centre=centre)


def _over(z: float, setting: Setting, *, said: bool = False) -> Correction:
    """Return the correction of the section at a Z; said: where the text says it. Beyond them all there is none."""
    by_name = {c.section: c for c in setting.corrections}
    found = ((t.far, by_name.get(t.section.name, NOT_CORRECTED)) for t in setting.turned)
    return next((own for far, own in found if far - own.face * said <= z), NOT_CORRECTED)
