"""Working by hand: how each dial reads and is set, and the points of what both slides must do at once."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cam.frozen import Row
from cam.geometry.path import Arc, Line, Point, Segment, length, point_at
from cam.plan.model import Pass, Plan, SettingPlan
from cam.setting.model import Setting, Turned
from cam.shop.model import Lathe, Slide
from posts.dialect import load_dialect
from posts.dials import FACTORS, counts_size, dial_setting, is_inch, pile_setting, set_diameter
from posts.pages import SAME, Counts, Ruler, division_words, touch_z, turns_words, x_reading, z_reading
from posts.program import LineNumbers

# Dials


def x_dial_words(lathe: Lathe, counts: Counts, ruler: Ruler) -> list[str]:
    """How the X dial reads and how its zero is set."""
    slide, zero = lathe.x, counts.zero
    lost = ruler.size(float(slide.backlash))
    come = f"Come in from outside; if you pass it, back a whole turn and in again (backlash {lost})."
    if slide.reading == "none":
        unit = "in" if is_inch(slide) else "mm"
        return [
            f"no dial: X in is how far the cross slide goes in, {unit} a side, from the skim at diameter "
            f"{ruler.on_x(zero)}, by an indicator on it or slips at its stop; or cut by the diameters, measured.",
            come.replace("a whole turn", "well clear"),
        ]
    what = {"diameter": "on the diameter", "depth on diameter": "on the diameter", "radius": "a side"}[slide.habit]
    rises = "rises" if slide.counts == "up" else "falls"
    lines = [f"{division_words(slide, what)}; {rises} as the tool goes in."]
    tried = zero - 5 * float(slide.division) * 2 / FACTORS[slide.habit]
    at = set_diameter(slide, tried, zero, counts.x_turns)
    example = f"{ruler.on_x(tried)}: {at.text}"
    if counts_size(slide):
        size = "that" if slide.habit == "diameter" else "half of that"
        shown = "" if at.text == ruler.on_x(tried) else f" ({example})"
        lines.append(f"Zero: skim the bar, stop, measure, set the {slide.reading} to {size}{shown}.")
    else:
        called = f", called {turns_words(counts.x_turns)}," if counts.x_turns else ""
        lines.append(
            f"Zero{called} is diameter {ruler.on_x(zero)}: skim the bar, stop, measure, set the {slide.reading} by "
            f"what you read ({example})."
        )
    return [*lines, come if slide.reading == "dial" else come.replace("a whole turn", "well clear")]


def z_dial_words(lathe: Lathe, setting: Setting, counts: Counts, ruler: Ruler) -> list[str]:
    """How the Z dial reads and how its zero is set: at Z zero itself, or at the end face some way from it."""
    slide = lathe.z
    touch = touch_z(setting)
    come = "Come to every shoulder from the tailstock side."
    if slide.reading == "none":
        return [*_pile_words(slide, touch, counts, ruler), come]
    rises = "rises" if slide.counts == "up" else "falls"
    head = f"{division_words(slide, '')}; {rises} toward the headstock."
    if abs(touch) < SAME:
        called = f" and call that {turns_words(counts.z_turns)}" if counts.z_turns else ""
        return [f"{head} Set it to 0 at Z zero{called}. {come}"]
    at = dial_setting(slide, -touch, counts.z_turns)
    further = "less" if slide.counts == "up" else "more"
    return [
        head,
        f"Touching the end face, {ruler.size(touch)} from Z zero, set it to {at.text}; where the face measures "
        f"further from Z zero, to so much {further}. {come}",
    ]


def _pile_words(slide: Slide, touch: float, counts: Counts, ruler: Ruler) -> list[str]:
    """How the carriage stop is set with slips, and how each place is set from there."""
    unit = "in" if is_inch(slide) else "mm"
    pile = pile_setting(slide, touch, counts.pile)
    where = "at Z zero" if abs(touch) < SAME else f"{ruler.size(touch)} from Z zero"
    further = "" if abs(touch) < SAME else " Where the face measures further from Z zero, a pile so much thicker."
    return [
        f"no dial: a stop on the bed, on the carriage's headstock side, and slips (gauge blocks) between them, {unit}. "
        f"Touching the end face, {where}, put {pile.text} between, push the stop up and lock it for this whole "
        f"setting.{further}",
        "Then for every pass its own pile, all from that one place. Carriage up to it by hand, never under power feed.",
    ]


def ends_words(lathe: Lathe, counts: Counts, ruler: Ruler, ends: tuple[float, float]) -> tuple[str, str]:
    """Both ends of the carriage's travel, from Z zero, with the dial where it reads there."""
    found = []
    for z in ends:
        text, landed = z_reading(lathe, counts, z)
        known = bool(text) and (lathe.z.reading == "readout" or "-" not in text)
        head = {"dial": "dial", "readout": "reading", "none": "slips"}[lathe.z.reading]
        found.append(f"Z {ruler.on_z(landed)} ({head} {text})" if known else f"Z {ruler.on_z(z)}")
    return found[0], found[1]


# Starting again at a pass


def restart_words(plan: Plan, planned: SettingPlan) -> str:
    """Where a program is begun again, in words: "start at the pass's own N line, pass 12 at N1200"."""
    dialect = load_dialect(plan.shop.lathe.control.dialect)
    last = planned.passes[-1].number if planned.passes else 1
    first = LineNumbers(dialect, last).first(last)
    return f"start at the pass's own N line, pass {last} at N{first}" if first else "start where its head says"


# Points


RIDGE = 0.01
"""Ridges that are left between two points set one after the other, mm; a slip stone takes them off. No source."""
MOST_POINTS = 10
"""Points that are still worth setting for one edge; the ridges are higher where more would be wanted."""


REAR_POST = (
    "rear: every tool in it upside down, its cutting edge below; the spindle forward, the top of the work coming "
    "toward you"
)
"""How a tool stands in a rear post, the spindle running as ever; common practice, no source."""
SET_OVER = "top slide set over"
"""How it begins to be said; once for each taper."""
MOST_SET_OVER = 0.02
"""Share of the distance between centres by which the tailstock may be set over: more, and the centres bear on the edges
of their holes alone. Common practice, no source."""


class HandPoint(Row):
    """One place to set both slides to.

    Attributes:
        z, x: as the dials, readouts or slips have them. z_landed, diameter: what that gives, mm.
    """

    z: str
    x: str
    z_landed: float
    diameter: float


class HandPoints(Row):
    """Places of the tool that make an edge, a corner or a taper, one after the other.

    Attributes:
        ridge: height of what stands between two of them by the nose's own roundness, mm; 0 for none.
    """

    points: tuple[HandPoint, ...]
    ridge: float


def hand_points(cut: Pass, lathe: Lathe, counts: Counts) -> HandPoints | None:
    """Points of a pass in which X and Z go together; None where they do not.

    The steps are so short that the ridges between two cuts of the tool's nose stay below RIDGE: s * s / (8 r), the
    law of the feed's own ridges (see cam.plan), while the points are no more than MOST_POINTS. On a taper, which
    is better cut with the top slide or the tailstock set over, they are there to check it by.
    """
    pieces = [piece for piece in cut.path if _slants(piece)]
    if not pieces:
        return None
    taper = cut.kind not in ("edge", "fillet")
    nose = float(cut.tool.nose_radius)
    whole = math.fsum(length(p) for p in pieces)
    steps = max(math.ceil(whole / math.sqrt(8 * nose * RIDGE)) if nose > 0 else MOST_POINTS, 1)
    steps = 4 if taper else min(steps, MOST_POINTS - len(pieces) + 1)
    places: list[Point] = []
    for piece in pieces:
        count = max(round(steps * length(piece) / whole), 1)
        ends = (
            0 if isinstance(piece, Arc) or taper else 1,
            count + (0 if isinstance(piece, Line) and not taper else 1),
        )
        places += [point_at(piece, k / count) for k in range(*ends)] or [point_at(piece, 0.5)]
    step = whole / steps
    found = []
    if not taper and places[-1].z > places[0].z:
        places.reverse()  # in and out at each, toward the headstock: so Z is held against its backlash
    for place in dict.fromkeys(places):
        (z, z_landed) = z_reading(lathe, counts, place.z - cut.z_told)
        (x, diameter) = x_reading(lathe, counts, 2 * place.x)
        found.append(HandPoint(z, x, z_landed, diameter))
    return HandPoints(tuple(dict.fromkeys(found)), 0.0 if taper or nose <= 0 else step * step / (8 * nose))


def _slants(piece: Segment) -> bool:
    return isinstance(piece, Arc) or (
        abs(piece.end.x - piece.start.x) > SAME and abs(piece.end.z - piece.start.z) > SAME
    )


def _at_45(cut: Pass) -> bool:
    return any(
        isinstance(p, Line) and abs(abs(p.end.x - p.start.x) - abs(p.end.z - p.start.z)) < SAME
        for p in cut.path
        if _slants(p)
    )


def point_words(cut: Pass, lathe: Lathe, counts: Counts, ruler: Ruler) -> Iterator[str]:
    """The points of a pass in words: each pair of settings, and how they are come to."""
    found = hand_points(cut, lathe, counts)
    if found is None:
        return
    z, x = _head(lathe.z, "Z", "slips"), _head(lathe.x, "X", "X in")
    pairs = ", ".join(f"{p.z} / {p.x}" for p in found.points)
    if cut.kind in ("edge", "fillet"):
        ridge = f"ridges of {ruler.size(found.ridge)}, to be stoned off" if found.ridge >= 0.0005 else ""
        over = "; or the top slide set over 45 degrees" if _at_45(cut) else ""
        yield f"by hand, {z} / {x}, in and out at each: {pairs}{'; ' + ridge if ridge else ''}{over}"
    else:
        yield f"by hand the tool passes through {z} / {x}: {pairs}"


def _head(slide: Slide, axis: str, bare: str) -> str:
    return {"dial": f"{axis} dial", "readout": f"{axis} reading", "none": bare}[slide.reading]


def taper_words(turned: Turned, setting: Setting, ruler: Ruler, post: str) -> str:
    """How the slides or the tailstock are set over for a taper; "" for a cylinder.

    Args:
        post: where the tool post stands, "front" or "rear".

    Source: exact. Angle of the top slide: half the difference in diameter over the length is its tangent. Offset of the
    tailstock: half the difference in diameter, as the distance between centres is to the length of the taper
    (F. D. Jones, Turning and Boring, 1914, on taper turning by offsetting the centre; recalled).
    """
    rise = turned.radius_far - turned.radius_near
    if abs(rise) < SAME:
        return ""
    angle = math.degrees(math.atan(abs(rise) / (turned.near - turned.far)))
    words = f"{SET_OVER} {angle:.2f} degrees, its feed away from the axis toward the {_larger(rise)}"
    if setting.tail_centre is None or not setting.turned:
        return words
    offset = tailstock_offset(2 * turned.radius_near, 2 * turned.radius_far, turned.near - turned.far, setting)
    if abs(offset) > MOST_SET_OVER * (setting.end_z - setting.head_z):
        return words
    away = "toward" if rise > 0 else "away from"
    return (
        f"{words}; or, with nothing else left to turn there, the tailstock moved {ruler.size(abs(offset))} {away} the "
        f"tool (at the {post}) and afterwards back until a test bar is parallel"
    )


def tailstock_offset(near: float, far: float, along: float, setting: Setting) -> float:
    """How far the tailstock is set over for a taper, mm; + makes the headstock end the larger.

    Args:
        near, far: diameters at its two ends, mm. along: its length, mm.
    """
    return (far - near) / 2 * (setting.end_z - setting.head_z) / along


def _larger(rise: float) -> str:
    return "headstock" if rise > 0 else "tailstock"
