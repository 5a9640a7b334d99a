"""What a program edited by hand may leave: each size anywhere within its limits, not only at its aim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from cam.geometry.path import Chain
from cam.ground.problem import RangeError
from cam.part.features import undercut_at
from cam.setting.cone import lean
from cam.setting.model import Setting, Turned
from cam.setting.profiles import draw_least, draw_most, radius_at


def within_limits(setting: Setting, division: float) -> tuple[Chain, Chain]:
    """Return a setting's outlines, the least and the most, with its diameters and shoulders at their limits.

    A shoulder without limits may stand as far off as the stops take it, mm: see cam.shop.machine.bare_length.
    They are the setting's own where it has threads, parting or corrections, which ask for more than a size, and
    where sections at their limits could not stand beside each other.
    """
    strict = setting.least, setting.most
    leaned = lean(setting.turned, setting.cone)
    if draw_least(leaned, setting.stock, setting.limit_z) != setting.least:
        return strict
    if draw_most(leaned, setting.fullest, setting.limit_z, setting.hollow) != setting.most:
        return strict
    try:
        thin, thick = (lean(_at(setting.turned, division, upper=upper), setting.cone) for upper in (False, True))
        least = draw_least(thin, setting.stock, setting.limit_z)
        return least, draw_most(thick, setting.fullest, setting.limit_z, setting.hollow)
    except (RangeError, ZeroDivisionError):
        return strict


def _at(turned: Sequence[Turned], division: float, *, upper: bool) -> tuple[Turned, ...]:
    """Return every section at one of its limits; a diameter without limits stays at its aim."""
    moved = [_moved(t, _room(t, upper)) for t in turned]
    for at, (t, by) in enumerate([(t, _spare(t, division, upper)) for t in turned]):
        moved[at] = _faced(moved[at], by)
        if by and at + 1 < len(moved):
            moved[at + 1] = replace(moved[at + 1], near=t.far + by, radius_near=radius_at(moved[at + 1], t.far + by))
    for at, (t, beyond) in enumerate(pairwise(moved)):
        if t.far_kind == "shoulder":
            moved[at] = replace(t, far_radius=beyond.radius_near)
        elif t.far_kind == "level":
            moved[at] = replace(t, far_radius=t.radius_far)
    return tuple(moved)


def _moved(t: Turned, by: float) -> Turned:
    return replace(t, radius_near=t.radius_near + by, radius_far=t.radius_far + by) if by else t


def _spare(t: Turned, division: float, upper: bool) -> float:
    """How far its shoulder may stand from its aim, mm: toward the tailstock where more metal is left."""
    if t.far_kind != "shoulder":
        return 0.0
    deep, short = t.spare or (division, division)
    return max(short, 0.0) if upper else -max(deep, 0.0)


def _faced(t: Turned, by: float) -> Turned:
    """Return a section whose shoulder stands elsewhere; its surface goes on, and an undercut's wall stays."""
    if not by:
        return t
    groove = undercut_at(t.corner)
    corner = t.corner if groove is None else replace(groove, width=groove.width - by)
    return replace(t, far=t.far + by, radius_far=radius_at(t, t.far + by), corner=corner)


def _room(t: Turned, upper: bool) -> float:
    """How far it is from the radius aimed at to its limit, mm; 0 where the file gives none, or it is passed already."""
    limits = t.size_limits
    if limits is None or t.section.finish.on_face:
        return 0.0
    room = limits[upper] / 2 - min(t.radius_near, t.radius_far)
    return max(room, 0.0) if upper else min(room, 0.0)
