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
from cam.part.threads import Thread
from posts.pages.blocks import Block, Caution, Drawing, FigureTable, Head, Words
from posts.pages.figures import between
from posts.pages.lists import told
from posts.wording import plain

TOO_LOW = 0.05
"""How far the nose may come out too low, mm; common practice, no source."""
LEAST_ENGAGED = 0.8
"""The length of thread in its hole, in diameters, below which the page warns; common practice, no source."""
MACHINE_FIRST = "The machine's manual, local rules and qualified people go before this sheet."
POWER_OFF = (
    "A wound mainspring throws its hook: let it down under control before anything is opened, keep out of its way, "
    "glasses on."
)


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
        height=height,
        crown=top - body,
        over_flat=float(hook.flat) + top - body,
        width=width,
        nose=nose,
        top=top,
        foot=body * math.sin(round_to),
        lean=math.degrees(round_to + lean),
        back=math.degrees(math.atan2(top - beside, radius)),
        eye=body * (round_to + math.asin(radius / body)) + EYE_PLAY[0],
    )


def engaged(hook: HookAsked, screwed: Screwed, shank: float) -> float:
    """Return the length of full thread in the hole when the head is home, mm."""
    plain_under_head = shank - float(screwed.threaded)
    return max(min(hook.deep, shank) - plain_under_head, 0.0)


def hook_blocks(part: Part, screwed: Screwed, hook: HookAsked, figures: Figures) -> Iterator[Block]:
    """Yield the blocks of the hook's page."""
    shape = shape_of(part, hook)
    spring = f"{hook.spring_thickness.text} thick, {hook.spring_width.text} wide, its eye {hook.eye.text} wide"
    yield Words(words=f"For a spring {spring}.", mark="")
    yield Drawing(kind="characters", lines=tuple(draw_hook(clockwise=hook.pull == "clockwise")))
    yield FigureTable(heads=("", "what", "size", "from"), align="llll", rows=tuple(_rows(hook, shape, figures)))
    yield told("All of it is common practice, no source: what counts is how the eye hangs on the face.")
    yield Head(words="HOW DEEP IT SCREWS IN")
    yield from _engagement(part, screwed, hook, figures)
    yield Head(words="FILE AND FIT IT")
    yield Caution(words="Eye protection; a file with a tight handle; the part in soft jaws, never in the hand.")
    yield Caution(words=POWER_OFF)
    yield from _steps(part, screwed.thread, hook, shape, figures)
    yield Head(words="HARDEN IT")
    yield from _harden(part)
    yield Caution(words=MACHINE_FIRST)


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


def _rows(hook: HookAsked, shape: HookShape, figures: Figures) -> list[tuple[str, str, str, str]]:
    spring, clearance = hook.spring_thickness.text, hook.clearance.text
    return [
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
    ]  # fmt: skip


def _engagement(part: Part, screwed: Screwed, hook: HookAsked, figures: Figures) -> Iterator[Block]:
    thread = screwed.thread
    shank = next(float(s.length) for s in part.sections if s.name == screwed.section)
    inside = engaged(hook, screwed, shank)
    share = inside / thread.diameter
    hole = "right through" if hook.through else f"{hook.hole_depth.text} of full thread from the round"
    yield told(
        f"The hole in the arbor is {thread.name}, {hole}: the same thread as here. The arbor's page names its drill."
    )
    yield told(
        f"{figures.place(inside)} of full thread is engaged, {share:.1f} diameters; about one is ample in steel (from "
        "memory)."
    )
    if share < LEAST_ENGAGED:
        yield told(f"That is under {LEAST_ENGAGED:g} diameters: lengthen the shank or deepen the hole.", "!")
    if hook.locked_by == "bottom":
        gap = shank - hook.deep
        yield told(f"It bottoms in its hole, and the head then stands {figures.place(gap)} off its flat: measure a.")


def _steps(part: Part, thread: Thread, hook: HookAsked, shape: HookShape, figures: Figures) -> Iterator[Block]:
    eighth = figures.size(thread.pitch / 8)
    lock = {
        "shoulder": "It is locked by its shoulder: tight on a clean, square seat, a trace of retaining compound.",
        "bottom": "It is locked by bottoming: the end faced square, screwed in hard, a trace of retaining compound.",
        "peening": "It is locked by peening: the end that stands out on the other side is riveted over a small "
        "countersink, then dressed flush, so that it rubs on nothing.",
    }[hook.locked_by]
    yield told(
        f"File two flats on the head to e, {between(figures, *shape.width)} across, parallel, the screw held by its "
        "thread in the tapped stub of OFF THE BAR; they serve the spanner too.",
        "1.",
    )
    yield told(
        "Screw it home with the spanner. The flats must lie along the strip, square to the arbor's axis. If they do "
        f"not: {eighth} off the seat under the head turns it an eighth of a turn further in.",
        "2.",
    )
    yield told(
        f"Mark the side that the arbor turns toward ({hook.pull}, seen from its A end): the holding face looks that "
        "way.",
        "3.",
    )
    yield told(
        "Unscrew it. File the holding face flat, leaning as b says, its corner at the foot as sharp as a safe-edged "
        "file leaves it; then the top level to size over the crown, then the slope. Break the other edges, never the "
        "nose.",
        "4.",
    )
    yield told(
        "Screw it home and try the spring's own end: the eye must drop to the body by itself, bear on the whole "
        "width of the face, and not climb when it is pulled by hand.",
        "5.",
    )
    yield told(lock, "6.")


def _harden(part: Part) -> Iterator[Block]:
    """Say how silver steel is hardened and tempered; for another steel refer to its maker."""
    material = part.stock.material
    if find_material(material, ("silver steel",)) is None:
        yield told(f"Whether {plain(material)} can be hardened its maker's sheet says; left soft, look at the nose now "
                   "and then.")  # fmt: skip
        return
    yield told(
        "Silver steel, if it is to be hard: after filing, hung on iron wire, heated through to a dull cherry red "
        "(about 780 deg C, the maker's sheet goes before), quenched at once upright in oil or brine. Polish a side "
        "and let it down to blue (about 300 deg C). From memory; try it on a scrap first."
    )
    yield told("Hot oil flares: a metal pot with a lid, outdoors or under an extractor, face shield, gloves kept dry, "
               "extinguisher at hand. What is black may still burn.", "!")  # fmt: skip
    yield told("Never with the hook in the arbor: the heat would draw it, and the pivots with it.", "!")
