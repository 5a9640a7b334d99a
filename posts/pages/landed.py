"""What a setting leaves as its slides truly land, so that drawing and table say what the rows say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from cam.ground.tolerances import AS_SKETCHED
from cam.setting.model import Setting, Turned


def as_landed(setting: Setting, left: Mapping[str, float], stops: Mapping[float, float]) -> Setting:
    """Return the setting with its turned sections as the last cuts leave them; for drawing and tables alone.

    Args:
        left: by a section's name, the diameter that the last cut along it leaves, mm; tapers are not in it.
        stops: by where the plan has the stop, mm, where Z lands, mm.
    """

    def place(z: float) -> float:
        return next((at for wanted, at in stops.items() if abs(wanted - z) < AS_SKETCHED), z)

    def landed(t: Turned) -> Turned:
        near, far = place(t.near), place(t.far)
        if t.section.name not in left or t.is_taper:
            return replace(t, near=near, far=far)
        radius = left[t.section.name] / 2
        return replace(t, near=near, far=far, radius_near=radius, radius_far=radius)

    return replace(setting, turned=tuple(landed(t) for t in setting.turned))
