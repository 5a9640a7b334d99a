"""What a program edited by hand may leave: each diameter anywhere within its limits, not only at its aim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from cam.geometry.path import Chain
from cam.ground.problem import RangeError
from cam.setting.cone import lean
from cam.setting.model import Setting, Turned
from cam.setting.profiles import draw_least, draw_most


def within_limits(setting: Setting) -> tuple[Chain, Chain]:
    """Return a setting's outlines, the least and the most, with its diameters at their lower and upper limits.

    They are the setting's own where it has threads, parting or corrections, which ask for more than a diameter, and
    where sections at their limits could not stand beside each other.
    """
    strict = setting.least, setting.most
    leaned = lean(setting.turned, setting.cone)
    if draw_least(leaned, setting.stock, setting.limit_z) != setting.least:
        return strict
    if draw_most(leaned, setting.fullest, setting.limit_z, setting.hollow) != setting.most:
        return strict
    try:
        thin, thick = (lean(_at(setting.turned, upper), setting.cone) for upper in (False, True))
        least = draw_least(thin, setting.stock, setting.limit_z)
        return least, draw_most(thick, setting.fullest, setting.limit_z, setting.hollow)
    except (RangeError, ZeroDivisionError):
        return strict


def _at(turned: Sequence[Turned], upper: bool) -> tuple[Turned, ...]:
    """Return every section at one of its limits; a section without limits stays at its aim."""
    moved = [_moved(t, _room(t, upper)) for t in turned]
    for at, (t, beyond) in enumerate(pairwise(moved)):
        if t.far_kind == "shoulder":
            moved[at] = replace(t, far_radius=beyond.radius_near)
        elif t.far_kind == "level":
            moved[at] = replace(t, far_radius=t.radius_far)
    return tuple(moved)


def _moved(t: Turned, by: float) -> Turned:
    return replace(t, radius_near=t.radius_near + by, radius_far=t.radius_far + by) if by else t


def _room(t: Turned, upper: bool) -> float:
    """How far it is from the radius aimed at to its limit, mm; 0 where the file gives none, or it is passed already."""
    section = t.section
    if section.tolerance is None or section.finish.on_face:
        return 0.0
    nominal = min(section.diameter_a, section.diameter_b) + section.finish.on_diameter
    limit = (nominal + (section.tolerance.upper if upper else section.tolerance.lower)) / 2
    room = limit - min(t.radius_near, t.radius_far)
    return max(room, 0.0) if upper else min(room, 0.0)
