"""What a tool that is set late can touch: a finished diameter, and a finished face. Sheet and program ask here."""

from __future__ import annotations

from collections.abc import Iterable

from cam.ground.frozen import Row
from cam.plan.measures import IN_ROUND, round_at
from cam.plan.model import Pass, SettingPlan
from cam.plan.stations import is_narrow
from cam.setting.model import Turned
from cam.shop.model import Tool
from cam.shop.tool_shape import half_width

END_FACE = "end face, side on and its tip at X 0"
"""What a threading tool is set on along Z."""

SPARED = {"journal": 1, "pivot": 2}
"""What X is set on only where nothing else is finished, the greater number last, as a tip marks what it touches; common
practice, no source."""

FELT = 0.05
"""So much of a face, mm of radius, a tool's point must meet to be set on it. Common practice, no source."""


class Touched(Row):
    """The last cuts on whose metal a tool can be set.

    Attributes:
        size: the one that left the diameter for X; None where nothing is finished.
        face: the one that left the face, of the shoulder past its last section, for Z; None where none is, and for a
            threading tool: see side_on_end.
    """

    size: Pass | None
    face: Pass | None


def touched(plan: SettingPlan, cut: Pass) -> Touched:
    """Return what is finished before a pass for its tool to be set on.

    X is best set on no pivot or journal, see SPARED; Z on the shoulder of the pass's own section.
    """
    done = [p for p in reversed(plan.passes) if p.number < cut.number and p.kind == "finish" and p.shape != "points"]
    sizes = [p for p in done if p.shape == "straight" and not section_of(plan, p).is_taper]
    faces = [] if cut.tool.kind == "threading" else _faced(plan, done)
    return Touched(
        min(sizes, key=lambda p: _spared(section_of(plan, p)), default=None),
        min(faces, key=lambda p: p.sections[-1] != cut.sections[-1], default=None),
    )


def _spared(turned: Turned) -> tuple[int, bool]:
    """Return the order in which sections are taken for X: SPARED, and one that is plain for very short last."""
    return SPARED.get(turned.section.role, 0), is_narrow(turned)


def _faced(plan: SettingPlan, done: Iterable[Pass]) -> list[Pass]:
    """Return those of some passes that leave a face which a tool can be set on: below its edge, outside its round."""
    return [p for p in done if p.x_out > p.x and _stands(plan, p)]


def _stands(plan: SettingPlan, cut: Pass) -> bool:
    """Tell whether a cut has left the face where it is to stand, and more of it than the round in its corner.

    A cut that keeps a fillet full leaves the face to the fillet's own.
    """
    past = section_of(plan, cut)
    further = plan.setting.correction_of((past.section.name,)).face
    height = past.far_radius - max(cut.x, past.radius_far) - plan.setting.edge_past(past) - FELT
    round_ = round_at(float(cut.tool.nose_radius), height)
    return past.is_faced and height > 0.0 and round_ <= IN_ROUND and abs(cut.z_to + further - past.far) <= IN_ROUND


def end_is_faced(plan: SettingPlan, cut: Pass) -> bool:
    """Tell whether the end was faced before a pass, so that it lies at the setting's end and not at the stock's."""
    faces = [p.number for p in plan.passes if p.kind == "face"]
    return bool(faces) and max(faces) < cut.number


def side_on_end(plan: SettingPlan, tool: Tool) -> float | None:
    """Return Z of a threading tool's point, its middle, when its side touches the end face, mm.

    None for any other tool, whose point is set on a shoulder, and where the end is not faced.
    """
    setting = plan.setting
    if tool.kind != "threading" or not setting.face_end:
        return None
    return setting.end_z + half_width(tool, setting.turned[0].rim)


def section_of(plan: SettingPlan, cut: Pass) -> Turned:
    """Return the last section of a pass as the setting is to leave it."""
    return next(t for t in plan.setting.turned if t.section.name == cut.sections[-1])
