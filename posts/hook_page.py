"""The bench page of a screwed-in hook: its shape from the spring, and how it is filed, fitted and hardened."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.ground.material_names import find_material
from cam.part.model import Part
from cam.part.read_screwed import EYE_PLAY
from cam.part.screwed import HookAsked, Screwed
from posts.pages.blocks import Block, Drawing, FigureTable
from posts.pages.figures import between
from posts.pages.script import blocks_of

TOO_LOW = 0.05
"""How far the nose may come out too low, mm; common practice, no source."""
LEAST_ENGAGED = 0.8
"""The length of thread in its hole, in diameters, below which the page warns; common practice, no source."""
MACHINE_FIRST = "The machine's manual, local rules and qualified people go before this sheet."


class HookShape(Row):
    """The finished hook, in mm and degrees, seen along the arbor with the screw's axis upright.

    Attributes:
        height: height of the nose over the round of the body, square to it. crown: height of the level top over the
            body's highest place, on the screw's axis. over_flat: height of the top over the flat that the head seats
            on.
        width: least and greatest width, across the strip. nose: distance of the nose's edge from the screw's axis.
        top: distance of the level top from the arbor's axis. foot: distance of the holding face's foot from the
            screw's axis.
        lean: angle of the holding face to the screw's axis.
        back: angle of the slope behind the axis.
        eye: least length of the spring's eye along the strip.
    """

    height: float
    crown: float
    over_flat: float
    width: tuple[float, float]
    nose: float
    top: float
    foot: float
    lean: float
    back: float
    eye: float


def shape_of(part: Part, hook: HookAsked) -> HookShape:
    """Work out the hook's sizes from spring and head; exact, but how they are chosen is common practice.

    The nose stands no further from the body than the spring's thickness and its clearance, or it would bruise the next
    coil; as the body is round, the level top behind it is lower over the crown. The holding face is filed flat across
    the whole width, so its edge lies where the head's round is that wide. It leans over the strip by the angle asked
    for, counted from square to the strip where it stands; from the screw's axis the angle is larger by how far round
    the body that place is. The top is level from the nose to the screw's axis and slopes down behind.
    """
    head = next(s for s in part.sections if s.name == hook.section)
    radius, body, height = head.thickest / 2, hook.body / 2, float(hook.spring_thickness + hook.clearance)
    width = (float(hook.eye) - EYE_PLAY[1], float(hook.eye) - EYE_PLAY[0])
    nose = math.sqrt(max(radius * radius - min(width[1], 2 * radius) ** 2 / 4, 0.0))
    out, lean = body + height, math.radians(hook.lean)
    top = math.sqrt(out * out - nose * nose)
    # arbor's axis, foot and nose make a triangle: by the law of sines the angle between the two
    between = lean - math.asin(body / out * math.sin(lean))
    round_to = math.asin(nose / out) - between
    beside = math.sqrt(body * body - radius * radius)
    return HookShape(
        height=height, crown=top - body, over_flat=float(hook.flat) + top - body, width=width, nose=nose, top=top,
        foot=body * math.sin(round_to), lean=math.degrees(round_to + lean),
        back=math.degrees(math.atan2(top - beside, radius)),
        eye=body * (round_to + math.asin(radius / body)) + EYE_PLAY[0],
    )  # fmt: skip


def engaged(hook: HookAsked, screwed: Screwed, shank: float) -> float:
    """Return the length of full thread in the hole when the head is home, mm."""
    plain_under_head = shank - float(screwed.threaded)
    return max(min(hook.deep, shank) - plain_under_head, 0.0)


def hook_blocks(part: Part, screwed: Screwed, hook: HookAsked, figures: Figures) -> Iterator[Block]:
    """Return the blocks of the hook's page."""
    shape = shape_of(part, hook)
    shank = next(float(s.length) for s in part.sections if s.name == screwed.section)
    own: dict[str, list[Block]] = {
        "picture": [Drawing(kind="characters", lines=tuple(draw_hook(clockwise=hook.pull == "clockwise")))],
        "sizes": [FigureTable(heads=("", "what", "size", "from"), align="llll", rows=_rows(hook, shape, figures))],
    }
    return blocks_of(
        "hook", own, hook=hook, thread=screwed.thread, size=figures.size, place=figures.place, shank=shank,
        inside=engaged(hook, screwed, shank), flats=between(figures, *shape.width), least_engaged=LEAST_ENGAGED,
        material=part.stock.material, silver_steel=find_material(part.stock.material, ("silver steel",)) is not None,
        machine_first=MACHINE_FIRST,
    )  # fmt: skip


PICTURE = (
    "                       |<-- c -->|           ",
    "                 ._______________.    ---    ",
    "              .-'     top       /      a     ",
    "   slope d .-'                 /  lean b     ",
    "  _______.'___________________/______ ---____ body",
    "         |       head         |       flat   ",
    "         '------+------+------'------        ",
    "                |thread|                     ",
)
"""The hook on top, seen along the arbor from its A end, for an arbor that winds clockwise: its face is to the right."""
ANTICLOCKWISE = (
    "                 |<-- c -->|                 ",
    "          ---    ._______________.           ",
    "           a      \\       top     '-.        ",
    "           b lean  \\                 '-. slope d",
    " body ____--- ______\\___________________'._______",
    "         flat       |       head         |   ",
    "              ------'------+------+------'   ",
    "                           |thread|          ",
)
"""The same view for an arbor that winds the other way."""


def draw_hook(*, clockwise: bool) -> list[str]:
    """Draw the hook in letters and strokes, seen along the arbor from its A end."""
    way, picture = ("--->", PICTURE) if clockwise else ("<---", ANTICLOCKWISE)
    head = f"  seen from the A end, the hook on top; the arbor winds this way {way}"
    return [head, *(line.rstrip() for line in picture)]


def _rows(hook: HookAsked, shape: HookShape, figures: Figures) -> tuple[tuple[str, str, str, str], ...]:
    spring, clearance = hook.spring_thickness.text, hook.clearance.text
    return (
        ("a", "nose over the round of the body", between(figures, shape.height - TOO_LOW, shape.height),
         f"spring {spring} + clearance {clearance}; no higher, or the next coil rides on it"),
        ("", "level top over the crown", between(figures, shape.crown - TOO_LOW, shape.crown),
         "lower than a, as the body falls away under the nose"),
        ("", "level top over the flat", figures.size(shape.over_flat), f"that + flat {hook.flat.text}"),
        ("b", "face, from the screw's axis", f"{shape.lean:.1f} deg",
         f"{hook.lean:g} deg over the strip; its foot {figures.size(shape.nose - shape.foot)} behind the nose"),
        ("c", "nose to the screw's axis", figures.size(shape.nose), "where the round head is as wide as the hook"),
        ("d", "slope behind the axis", f"{shape.back:.0f} deg", "down to the body at the head's back"),
        ("e", "width, across the strip", between(figures, *shape.width),
         f"eye {hook.eye.text} less {figures.size(EYE_PLAY[0])} to {figures.size(EYE_PLAY[1])}"),
        ("f", "eye along the strip, at least", figures.size(shape.eye), "so that it passes over the whole foot"),
    )  # fmt: skip
