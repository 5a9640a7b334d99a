"""Parting off by the program: which blades reach, where they cut, and the outlines with the slot in them."""

from __future__ import annotations

import math
from dataclasses import replace

from cam.geometry.path import Chain, Line, Point
from cam.ground.problem import Problem, problem
from cam.ground.quantity import misfit
from cam.part.model import Part
from cam.setting.assemble import SLACK
from cam.setting.model import Setting, Slot
from cam.setting.outline import Pen, behind
from cam.setting.words import at_least, say
from cam.shop.model import Chuck, Shop, Tool

PAST_AXIS = 0.02
"""How far past the axis a blade's corners go, mm, so that no pip holds the part."""
ABOVE = 0.2
"""The distance, mm, of the bar from what is behind the blade's edge when it is right in; common practice, no source."""


def parting_reach(part: Part, tool: Tool) -> float:
    """Return how deep a blade must reach to part the bar, mm."""
    return float(part.stock.diameter) / 2 + PAST_AXIS + float(tool.nose_radius) + ABOVE


def parting_blades(part: Part, shop: Shop) -> list[Tool]:
    """Return the shop's blades that reach past the axis, the narrowest first."""
    fit = [t for t in shop.tools if t.kind == "grooving" and t.hand == "right"]
    fit = [t for t in fit if reach_of(t) >= parting_reach(part, t) - 1e-9]
    return sorted(fit, key=lambda t: (float(t.width), t.number))


def reach_of(tool: Tool) -> float:
    """Return how deep a blade goes into a bar, mm: by its edge, unless it is thicker than its slot lower down."""
    wide, lowest = float(tool.width), float(tool.edge)
    for outline in tool.outlines:
        points = outline.polygon
        for (z0, x0), (z1, x1) in zip(points, (*points[1:], points[0]), strict=True):
            for z in (0.0, wide):  # where a side of the body comes out of the slot's
                if min(z0, z1) < z < max(z0, z1):
                    lowest = min(lowest, x0 + (x1 - x0) * (z - z0) / (z1 - z0))
            if z0 < -SLACK or z0 > wide + SLACK:
                lowest = min(lowest, x0)
    return lowest


def find_slot(part: Part, shop: Shop, chuck: Chuck) -> tuple[Slot | None, list[Problem]]:
    """Return the slot in the axes of the setting in a collet or chuck; None where the program does not part off."""
    if part.holding.part_off != "blade":
        return None, []
    blades = parting_blades(part, shop)
    if not blades:
        return None, [_no_blade(part, shop)]
    slot = Slot(-part.length, float(blades[0].width), float(blades[-1].width))
    room = float(part.holding.stick_out) - part.length - slot.narrow - float(shop.lathe.contact_clearance)
    if room >= -1e-9:
        return slot, []
    what = f"there is no room to part off before the {chuck.kind}"
    allowed = f"at least {at_least(part.holding.stick_out - room, part)}: the part, the blade and its clearance"
    fix = "let it stick out further, by no more than it must"
    return slot, [misfit(what, allowed, fix, stick_out=part.holding.stick_out)]


def _no_blade(part: Part, shop: Shop) -> Problem:
    have = [t for t in shop.tools if t.kind == "grooving"]
    tools = "; ".join(f'tool {t.number} "{t.name}": reaches {_said(t, part)}' for t in have)
    need = part.stock.diameter / 2 + PAST_AXIS + ABOVE
    what = "no blade of the shop reaches through the bar"
    allowed = f"a right-hand grooving tool that reaches {say(need, part)} and its own nose radius"
    fix = 'write part_off = "saw", or add such a blade to the shop file'
    return problem(part.holding.where, what, tools or "the shop file has no grooving tool", allowed, fix)


def _said(tool: Tool, part: Part) -> str:
    """Say how deep a blade reaches, and what stands in the way where its edge is longer."""
    reach = reach_of(tool)
    if reach >= tool.edge:
        return tool.edge.text
    return f"{say(reach, part)}, where its body is wider than its edge"


def with_slot(setting: Setting, slot: Slot) -> Setting:
    """Return the setting with the slot: it may be as wide as the widest blade, and must be as wide as the narrowest."""
    limit = math.floor((slot.z - slot.wide - SLACK) * 100 + 1e-6) / 100
    slotted = replace(setting, limit_z=min(setting.limit_z, limit), slot=slot)
    least, most = cut_slot(slotted, setting.least, setting.most)
    return replace(slotted, least=least, most=most)


def cut_slot(setting: Setting, least: Chain, most: Chain, deep: float = 0.0, short: float = 0.0) -> tuple[Chain, Chain]:
    """Return both outlines with the slot of a setting in them; as they are where it has none.

    Args:
        deep, short: how far toward the headstock and the tailstock the blade may be off, mm.
    """
    slot = setting.slot
    if slot is None:
        return least, most
    far = min(setting.limit_z, slot.z - slot.wide - deep)
    return cut_out(least, slot.z + short, far), cut_out(most, slot.z - deep, slot.z - slot.narrow + short)


def cut_out(chain: Chain, near: float, far: float) -> Chain:
    """Return an outline with everything between two Z taken out down to the axis."""
    pen = Pen(*chain[0].start)
    for piece in chain:
        if piece.end.z >= near - 1e-9:
            pen.run((piece,))
            continue
        if piece.start.z > near + 1e-9 and isinstance(piece, Line):
            share = (piece.start.z - near) / (piece.start.z - piece.end.z)
            pen.line(near, piece.start.x + share * (piece.end.x - piece.start.x))
        break
    pen.line(near, 0.0)
    pen.line(far, 0.0)
    rest = behind(chain, far)
    pen.line(*Point(far, rest[0].start.x))
    pen.run(rest)
    return tuple(pen.pieces)
