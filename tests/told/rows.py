"""Rows of a page and the metal about them, set out by hand, and what a page's reader says of each.

The work is the bar of tests/simulate_case.py, with edges, corners, tapers and limits of every kind. What a page may
leave is drawn, what stands is measured, and each row is held against what stood before it and what stands after it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import Any, Literal

from cam.geometry.path import Arc, Chain, Line, Point, Segment
from cam.ground.problem import Problem
from cam.judge.envelope import Metal, Piece, from_chain
from cam.part.features import Finish
from cam.rs274.model import Motion
from cam.setting.model import Correction, Setting, Slot, Turned, limits_of
from cam.sheet.dials import figure_of
from cam.sheet.edges import check_edges, rounded
from cam.sheet.hand import Start, clear_radius, hand_motions
from cam.sheet.judge import check_feeds, check_speeds, check_tools
from cam.sheet.limits import cone_spare, loosen, said_turned, spare_of
from cam.sheet.measured import check_measured
from cam.sheet.model import BandRead, CutRead, Figure, MeasureLine, Other, PointsRow, Sheet, Step
from cam.sheet.standing import (
    Around,
    check_measures,
    check_rows,
    diameters_at,
    edges_past,
    shoulder_sizes,
)
from cam.shop.machine import Slide
from cam.shop.model import Lathe, Material, Shop
from tests.simulate_case import chain as straight
from tests.simulate_case import make_setting, make_shop, turned
from tests.specimens import HERE, quantity, turning_tool
from tests.told.lathe import STEEL, THREADED, corner, edge, limited, piece
from tests.told.programs import figure, places

BAR = straight((0, 0), (0, 8), (-60, 8), (-60, 0))


def route(one: Turned, *steps: str, left: float = 0.0, role: Any = "pivot") -> Turned:
    """Return a section with a role and a way to its last surface, so much left on its diameter."""
    finish = Finish(route=("turn", *steps), on_diameter=left, on_face=0.0, text=", ".join(steps), where=HERE)
    return replace(one, section=replace(one.section, finish=finish, role=role))


def taper(one: Turned, near: float, far: float, **more: Any) -> Turned:
    """Return a section from one radius to another."""
    return replace(one, radius_near=near, radius_far=far, **more)


def drawn_taper(name: str, near: float, far: float, a: float, b: float) -> Turned:
    """Return a section that is drawn as a taper."""
    one = turned(name, near, far, a, 8)
    return replace(one, section=replace(one.section, diameter_a=quantity(2 * a), diameter_b=quantity(2 * b)))


PIVOT, SEAT = turned("pivot", 0, -6, 4, 5), turned("seat", -6, -16, 5, 8)
EDGED = replace(PIVOT, edge=edge(0.3), corner=corner("fillet", 0.3), spare=(0.02, 0.05))
GROOVED = replace(SEAT, edge=edge(0.2, "radius"), corner=corner("undercut", 0.0, 1.0, 0.2), far_edge=edge(0.4))
PAIRS: dict[str, tuple[Turned, ...]] = {
    "plain": (PIVOT, SEAT),
    "edged": (EDGED, GROOVED),
    "limited": (limited(EDGED, 0.0, -0.04), limited(replace(GROOVED, spare=(0.001, 0.002)), 0.02, -0.01)),
    "stoned": (route(limited(PIVOT, -0.01, -0.03), "stone", left=0.03), limited(SEAT, 0.004, 0.002)),
    "small corners": (
        replace(PIVOT, edge=edge(0.005), corner=corner("fillet", 0.02)),
        replace(SEAT, edge=edge(0.95), corner=corner("undercut", 0.0, 0.012, 0.004), far_edge=edge(0.011, "radius")),
    ),
    "large corners": (
        replace(PIVOT, edge=edge(3.5, "radius"), corner=corner("fillet", 2.4)),
        replace(SEAT, edge=edge(0.9), corner=corner("undercut", 0.0, 9.5, 0.3), far_edge=edge(0.0, "sharp")),
    ),
    "sharp": (replace(PIVOT, edge=edge(0.0, "sharp")), replace(SEAT, edge=edge(0.0, "sharp"), far_edge=edge(2.9))),
    "long": (replace(EDGED, extra_length=4.0), replace(GROOVED, edge=edge(0.3), corner=corner("fillet", 0.99))),
    "thin end": (taper(PIVOT, 3.7, 4.0), replace(SEAT, far_kind="open", far_radius=5.0, corner=None)),
    "thick end": (taper(replace(PIVOT, corner=None), 4.6, 4.2), taper(GROOVED, 5.0, 5.5, edge=None)),
    "level": (
        replace(PIVOT, radius_near=5.0, radius_far=5.0, far_kind="level", corner=None),
        taper(SEAT, 5.0, 7.0, corner=corner("nose", 0.25)),
    ),
    "longer taper": (taper(limited(PIVOT, 0.0, -0.04), 3.4, 4.0, extra_length=2.5, edge=edge(0.2)), SEAT),
    "drawn taper": (
        taper(limited(drawn_taper("pivot", 0, -6, 3.4, 4.0), 0.0, -0.04), 3.42, 4.0),
        taper(limited(drawn_taper("seat", -6, -16, 7.0, 5.0), 0.02, -0.01), 5.0, 7.0),
    ),
    "a face before an edge": (
        replace(PIVOT, far=-4.0, far_radius=4.4),
        replace(turned("neck", -4, -6, 4.4, 5), edge=edge(0.15, "radius"), corner=corner("fillet", 0.1)),
        replace(SEAT, edge=edge(0.3), far_edge=edge(0.4)),
    ),
    "low steps": (
        limited(replace(PIVOT, far_radius=4.2), 0.0, -0.04),
        limited(replace(turned("seat", -6, -16, 4.2, 4.4), edge=edge(0.05)), 0.02, -0.01),
    ),
    "low fillets": (
        limited(replace(PIVOT, far_radius=4.2, corner=corner("fillet", 0.15)), 0.0, -0.04, spare=(0.02, 0.0)),
        limited(
            replace(turned("seat", -6, -16, 4.2, 4.4), edge=edge(0.185), corner=corner("fillet", 0.19)),
            0.02,
            -0.01,
            spare=(0.02, 0.0),
        ),
    ),
    "low edges": (
        limited(turned("seat", 0, -16, 7.8, 8.0, corner=corner("fillet", 0.0), far_edge=edge(0.185)), 0.02, -0.01),
    ),
    "three": (
        replace(PIVOT, far=-5.2, far_radius=4.4),
        turned("neck", -5.2, -6, 4.4, 5, corner=None),
        replace(SEAT, edge=edge(0.3, "radius")),
    ),
    "long, a large edge": (replace(PIVOT, extra_length=4.0, edge=edge(2.5, "radius")), SEAT),
    "filed": (route(PIVOT, "file"), route(SEAT, "turn", role="undercut")),
    "roles": (route(replace(PIVOT, spare=(0.1, 0.1)), role="square blank"), route(SEAT, role="seat")),
}
"""Two sections by what they have, the first 6 mm long and 8 mm thick, the second 10 mm long and 10 mm thick."""


def held(pair: Sequence[Turned], **more: Any) -> Setting:
    """Return a setting of sections; its outlines are not drawn."""
    return make_setting(turned=tuple(pair), **more)


# What a page may leave ------------------------------------------------------------------------------------------


def x_slide(division: float, reading: Any = "dial", habit: Any = "diameter", backlash: float = 0.04) -> Slide:
    """Return a cross slide."""
    return Slide(
        reading=reading,
        habit=habit,
        counts="up",
        division=quantity(division),
        turn=quantity(2.0),
        backlash=quantity(backlash),
        where=HERE,
    )


LATHES: dict[str, Lathe] = {
    "dials of 0.02": make_shop().lathe,
    "radius, coarse": make_shop(x=x_slide(0.025, habit="radius"), z=x_slide(0.1)).lathe,
    "figures alone": make_shop(x=x_slide(0.004, "none"), z=x_slide(0.005, "none")).lathe,
}
COARSE: dict[str, tuple[str, ...]] = {"": (), "coarse": ("pivot", "shoulder past pivot", "seat", "shoulder past seat")}
STOCKS: dict[str, Chain] = {
    "bar": straight((0.5, 0), (0.5, 8), (-60, 8), (-60, 0)),
    "turned": straight((0.5, 0), (0.5, 8), (-15.97, 8), (-16, 8.2), (-30, 7.5), (-60, 7.5), (-60, 0)),
}


LEANING: dict[str, Any] = {"cone": 0.001, "cone_z": -8.0, "face_end": True, "end": "A"}


def drawn(outline: Chain) -> str:
    """Return an outline on one line; each piece begins where the one before ends."""
    begun = [f"from {places(outline[0].start)}"]
    return ", ".join([*begun, *(piece(s).partition(" to ")[2] for s in outline)])


def off(setting: Setting, one: Turned, lathe: Lathe, coarse: tuple[str, ...]) -> str:
    """Return how far a section may be off."""
    spare = spare_of(setting, one, lathe, coarse)
    return (
        f"{' '.join(map(figure, spare[:4]))} {'limits' if spare.given else '-'} {'lengths' if spare.given_z else '-'}"
    )


def of_limits() -> Iterator[str]:
    """Yield what may be off, and the outlines within which the work must stay, for sections of every kind."""
    for name, pair in PAIRS.items():
        setting = held(pair)
        yield f"{name}: {[figure(v) for v in edges_past(pair)]} {[[places(z) for z in rounded(t)] for t in pair]}"
        yield f"  limits {[limits_of([t]) for t in pair]} {limits_of(pair)} {[t.far_limits for t in pair]}"
        for (lathe, own), (words, coarse) in product(LATHES.items(), COARSE.items()):
            yield f"  {lathe} {words}: {'; '.join(off(setting, t, own, coarse) for t in pair)}"
    for (name, pair), (lathe, own) in product(PAIRS.items(), LATHES.items()):
        for at, (stock, more) in enumerate(
            product(STOCKS, ({}, {"cone": 0.001, "cone_z": -8.0, "face_end": True, "end": "A"}))
        ):
            if at == 0 or lathe == "dials of 0.02":
                setting = held(pair, stock=STOCKS[stock], **more)
                loose = loosen(setting, own, (), 0.01 * at)
                yield f"{name}, {lathe}, {stock}{', leaning' * bool(more)}: {figure(cone_spare(setting))}"
                yield f"  {figure(loose.limit_z)} least {drawn(loose.least)}"
                yield f"  most {drawn(loose.most)}"
    moved = held(
        PAIRS["limited"],
        corrections=(Correction(section="pivot", radius=0.011, face=0.023, text="so much"),),
        end="A",
    )
    yield f"corrected: {[f'{figure(t.radius_near)} {figure(t.far)}' for t in said_turned(moved)]}"
    yield f"  {'; '.join(off(moved, t, LATHES['figures alone'], ()) for t in moved.turned)}"


# What stands ----------------------------------------------------------------------------------------------------


def hollow(z0: float, z1: float, x: float, radius: float) -> tuple[Segment, ...]:
    """Return the round of a nose at the foot of a face at z1, from along x at z0."""
    corner_, end = Point(z1 + radius, x + radius), Point(z1, x + radius)
    return Line(Point(z0, x), Point(z1 + radius, x)), Arc(Point(z1 + radius, x), end, corner_, -1)


def stepped(x0: float, z0: float, x1: float, z1: float) -> Chain:
    """Return a bar turned in two steps."""
    return straight((0, 0), (0, x0), (z0, x0), (z0, x1), (z1, x1), (z1, 8), (-60, 8), (-60, 0))


METALS: dict[str, Chain] = {
    "bar": BAR,
    "to size": stepped(4, -6, 5, -16),
    "early": stepped(4, -5.4, 5, -15.4),
    "to come": stepped(4.3, -5.9, 5.3, -15.8),
    "far off": stepped(4, -4.9, 5, -17.1),
    "short": stepped(4, -3.1, 5, -11.2),
    "rounds": (
        *straight((0, 0), (0, 4)),
        *hollow(0, -6, 4, 0.4),
        *straight((-6, 4.4), (-6, 5)),
        *hollow(-6, -16, 5, 2.9),
        *straight((-16, 7.9), (-16, 8), (-60, 8), (-60, 0)),
    ),
    "slants": straight((0, 0), (0, 3.7), (-6, 4), (-6.5, 5), (-15.5, 5.2), (-16.4, 8), (-60, 8), (-60, 0)),
    "steeper": straight((0, 0), (0, 3.5), (-5.8, 4.1), (-5.8, 5), (-16, 7), (-16, 8), (-60, 8), (-60, 0)),
    "a stair": straight((0, 0), (0, 3.72), (-1, 3.77), (-1, 3.9), (-5, 4.1), (-5, 5.1), (-16, 5.1), (-16, 8), (-60, 8)),
    "stairs": straight(
        (0, 0),
        (0, 3.5),
        (-2, 3.5),
        (-2, 3.6),
        (-5, 3.9),
        (-5, 4.1),
        (-6.1, 4.1),
        (-6.1, 5.05),
        (-9, 5.1),
        (-9, 5.6),
        (-14, 6.6),
        (-14, 6.9),
        (-15, 7.15),
        (-15, 7.4),
        (-16, 7.4),
        (-16, 8),
        (-60, 8),
        (-60, 0),
    ),
    "a third steeper": straight(
        (0, 0), (0, 3.6), (-1, 3.668), (-1, 3.8), (-5, 4.07), (-5, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0)
    ),
    "bulges": (
        *straight((0, 0), (0, 4), (-5.8, 4), (-5.8, 4.3)),
        Arc(Point(-5.8, 4.3), Point(-6.5, 5), Point(-6.5, 4.3), 1),
        *straight((-6.5, 5), (-15.7, 5), (-15.7, 7.1)),
        Arc(Point(-15.7, 7.1), Point(-16.6, 8.0), Point(-16.6, 7.1), 1),
        *straight((-16.6, 8), (-60, 8), (-60, 0)),
    ),
    "a neck": straight((0, 0), (0, 4.2), (-2.9, 4.2), (-2.9, 3.9), (-3.1, 3.9), (-3.1, 4.1), (-6.3, 4.1), (-6.3, 8)),
}


def measured(metal: Metal, pair: Sequence[Turned]) -> Iterator[str]:
    """Yield the diameters and shoulders that stand."""
    for one, past in zip(pair, edges_past(pair), strict=True):
        for more in (0.0, 0.3):
            faces = shoulder_sizes(metal, one, past + more)
            yield f"{' '.join(map(figure, diameters_at(metal, one)))} at {' '.join(map(figure, faces)) or '-'}"


def of_standing() -> Iterator[str]:
    """Yield what is measured of sections of every kind on metal of every kind."""
    for (name, pair), (metal, outline) in product(PAIRS.items(), METALS.items()):
        yield f"{name}, {metal}: {'; '.join(measured(Metal(from_chain(outline)), pair))}"


# Rows and what stands about them --------------------------------------------------------------------------------


def cut(
    line: int, was: str, leaves: str, start: str, stop: str, what: str = "pivot", *, begin: float | None = None,
    by_eye: bool = True,
) -> CutRead:  # fmt: skip
    """Return a row of one dial and one stop, set just as it says."""
    said: dict[str, Figure] = {
        k: figure_of(v, "mm") for k, v in (("was", was), ("leaves", leaves), ("start", start), ("stop", stop))
    }
    return CutRead(
        line=line,
        number=line,
        what=what,
        x=said["leaves"].value,
        z=said["stop"].value,
        begin=said["start"].value if begin is None else begin,
        by_eye=by_eye,
        **said,
    )


def points(line: int, *at: tuple[float, float], what: str = "edge of pivot", **more: Any) -> PointsRow:
    """Return a row of points."""
    given: dict[str, Any] = {"way": "in and out"} | more
    return PointsRow(line=line, number=line, what=what, places=at, **given)


def measure(
    line: int, name: str, expected: str, limits: tuple[str, str] | None = None, *, then: bool = False,
    of: Literal["diameter", "shoulder"] = "diameter",
) -> MeasureLine:  # fmt: skip
    """Return a line at which the work is measured."""
    least, most = (figure_of(v, "mm") for v in limits) if limits else (None, None)
    return MeasureLine(
        line=line, of=of, name=name, expected=figure_of(expected, "mm"), then=then, least=least, most=most
    )


def page(*steps: Step, coarse: tuple[str, ...] = (), tool: int = 1) -> Sheet:
    """Return a page of steps."""
    return Sheet(path="p", number=1, unit="mm", tool=tool, steps=steps, coarse=coarse, problems=(), lines=99)


def metal(outline: Chain) -> Sequence[Piece]:
    """Return an outline as the metal's pieces."""
    return from_chain(outline)


def said(found: Iterable[Problem]) -> str:
    """Return problems on one line."""
    return "; ".join(f"{p.where.line} {p.what} ({p.given}) {p.allowed} {p.kind}".strip() for p in found) or "nothing"


SLOPED = straight((0, 0), (0, 3.7), (-6, 4), (-6, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0))
ROUGHED = stepped(4.5, -5.9, 5.5, -15.9)
RAMP = straight((0, 0), (0, 4), (-5.9, 4.5), (-5.9, 5.5), (-15.9, 5.5), (-15.9, 8), (-60, 8), (-60, 0))
BUMP: Chain = (
    *straight((0, 0), (0, 4), (-2, 4)),
    Arc(Point(-2, 4), Point(-4, 4), Point(-3, 3), 1),
    *straight((-4, 4), (-10, 4), (-10, 8), (-60, 8), (-60, 0)),
)
BACK = straight((0, 0), (0, 4), (-6, 4), (-6, 5), (-16, 4.2), (-16, 8), (-60, 8), (-60, 0))
WAVES = straight((0, 0), (0, 5.5), (-3, 5.5), (-3, 4.8), (-7, 4.8), (-7, 5.5), (-10, 5.5), (-10, 8), (-60, 8), (-60, 0))
WIRE = straight((0, 0), (0, 0.9), (-6, 0.9), (-6, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0))
SQUARED = (
    *straight((0, 0), (0, 4), (-6, 4), (-6, 5)),
    *hollow(-6, -16, 5, 2.9),
    *straight((-16, 7.9), (-16, 8), (-60, 8), (-60, 0)),
)
LOWER = (*straight((0, 0), (0, 4), (-5.5, 4), (-5.5, 3.99), (-6, 3.99), (-6, 5)), *SQUARED[3:])
FACED = (*straight((0, 0), (0, 4), (-6.1, 4), (-6.1, 5)), *hollow(-6.1, -16, 5, 2.9), *SQUARED[-3:])
ROWS: tuple[tuple[str, Chain, Chain, CutRead | PointsRow], ...] = (
    ("all along", BAR, stepped(7, -15, 7, -15), cut(1, "16.00", "14.00", "0.50", "-15.00")),
    ("just a film", BAR, stepped(7.999, -15, 7.999, -15), cut(1, "16.00", "14.00", "0.50", "-15.00")),
    ("hardly more", BAR, stepped(7.9989, -15, 7.9989, -15), cut(1, "16.00", "14.00", "0.50", "-15.00")),
    ("air", BAR, BAR, cut(1, "16.00", "14.00", "0.50", "-15.00")),
    ("nothing to take", BAR, BAR, cut(1, "16.00", "16.00", "0.50", "-15.00")),
    ("along a face", ROUGHED, ROUGHED, cut(1, "11.00", "9.00", "-5.90", "-5.90")),
    ("along a face 0.1 um off", ROUGHED, ROUGHED, cut(1, "11.00", "9.00", "-5.9001", "-5.9001")),
    ("along a face 0.3 um off", ROUGHED, ROUGHED, cut(1, "11.00", "9.00", "-5.9003", "-5.9003")),
    ("out of a face", ROUGHED, ROUGHED, cut(1, "11.00", "11.01", "-5.90", "-5.90")),
    ("of points in air", BAR, BAR, points(1, (-1.0, 15.0))),
    ("over two steps", ROUGHED, stepped(4, -6, 4.2, -15), cut(1, "9.00", "8.00", "0.50", "-15.00")),
    ("over two steps, the other", ROUGHED, stepped(4, -6, 4.2, -15), cut(1, "11.00", "8.00", "0.50", "-15.00")),
    ("over two steps, neither", ROUGHED, stepped(4, -6, 4.2, -15), cut(1, "10.00", "8.00", "0.50", "-15.00")),
    ("a face taken back", ROUGHED, stepped(4, -6, 5.5, -15.9), cut(1, "9.00", "8.00", "0.50", "-6.00")),
    ("a face taken far", ROUGHED, stepped(4, -6.5, 5.5, -15.9), cut(1, "9.00", "8.00", "0.50", "-6.50")),
    ("a face taken far, as it", ROUGHED, stepped(4, -6.5, 5.5, -15.9), cut(1, "11.00", "8.00", "0.50", "-6.50")),
    ("a face alone", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "9.00", "9.00", "-5.50", "-6.20")),
    ("a face alone, as it", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "11.00", "9.01", "-5.50", "-6.20")),
    ("a face alone, between", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "10.00", "9.01", "-5.50", "-6.20")),
    ("a face alone, below", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "8.90", "9.01", "-5.50", "-6.20")),
    ("a face alone, above", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "11.10", "9.01", "-5.50", "-6.20")),
    ("square to it", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "11.00", "9.00", "-6.20", "-6.20")),
    ("square to it, a stair", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "11.04", "9.00", "-6.20", "-6.20")),
    ("square to it, more", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "11.07", "9.00", "-6.20", "-6.20")),
    ("square to it, below", ROUGHED, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "8.94", "9.00", "-6.20", "-6.20")),
    ("a slope", SLOPED, stepped(3.6, -6, 5, -16), cut(1, "7.70", "7.20", "0.50", "-6.00")),
    ("a slope, its least", SLOPED, stepped(3.6, -6, 5, -16), cut(1, "7.40", "7.20", "0.50", "-6.00")),
    ("a slope, its most", SLOPED, stepped(3.6, -6, 5, -16), cut(1, "8.00", "7.20", "0.50", "-6.00")),
    ("a slope, less", SLOPED, stepped(3.6, -6, 5, -16), cut(1, "7.38", "7.20", "0.50", "-6.00")),
    ("a slope, more", SLOPED, stepped(3.6, -6, 5, -16), cut(1, "8.02", "7.20", "0.50", "-6.00")),
    ("a round", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "10.00", "10.00", "-12.00", "-16.00")),
    ("a round as high", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "12.40", "10.01", "-12.00", "-16.00")),
    ("a little round", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "8.00", "8.01", "-4.00", "-6.00")),
    ("a little round as high", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "8.80", "8.01", "-4.00", "-6.00")),
    ("a little round, less", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "7.98", "8.01", "-4.00", "-6.00")),
    ("in a round, its foot", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "8.00", "8.01", "-5.70", "-6.00")),
    ("in a round, below it", METALS["rounds"], stepped(4, -6, 5, -16), cut(1, "7.98", "8.01", "-5.70", "-6.00")),
    ("in a round, some of it", METALS["rounds"], SQUARED, cut(1, "8.40", "8.01", "-5.70", "-6.00")),
    ("in a round, above it", METALS["rounds"], SQUARED, cut(1, "8.90", "8.01", "-5.70", "-6.00")),
    ("in a round and before it", METALS["rounds"], LOWER, cut(1, "8.40", "7.98", "-5.50", "-6.00")),
    ("in a round and on its face", METALS["rounds"], FACED, cut(1, "9.50", "8.01", "-5.50", "-6.10")),
    ("after a ramp, its middle", RAMP, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "8.75", "9.01", "-3.00", "-6.20")),
    ("after a ramp, below it", RAMP, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "8.73", "9.01", "-3.00", "-6.20")),
    ("after a ramp, its end", RAMP, stepped(4.5, -6.2, 5.5, -15.9), cut(1, "9.00", "9.01", "-3.00", "-6.20")),
    ("a bump", BUMP, stepped(4, -6, 4, -10), cut(1, "8.83", "8.00", "0.50", "-6.00")),
    ("a bump, all", BUMP, stepped(4, -6, 4, -10), cut(1, "8.00", "8.01", "0.50", "-6.00")),
    ("a bump, higher", BUMP, stepped(4, -6, 4, -10), cut(1, "8.90", "8.01", "0.50", "-6.00")),
    ("before a hollow back", BACK, BACK, cut(1, "10.60", "10.50", "-6.00", "-6.00")),
    ("before a hollow back, lower", BACK, BACK, cut(1, "10.60", "9.50", "-6.00", "-6.00")),
    ("just at the top of a face", ROUGHED, ROUGHED, cut(1, "11.01", "10.999", "-5.90", "-5.90")),
    ("waves", WAVES, stepped(4.5, -10, 4.5, -10), cut(1, "11.00", "9.00", "0.50", "-10.00")),
    ("waves, their troughs", WAVES, stepped(4.5, -10, 4.5, -10), cut(1, "9.60", "9.00", "0.50", "-10.00")),
    (
        "a wire",
        WIRE,
        straight((0, 0), (0, 0.5), (-6, 0.5), (-6, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0)),
        cut(1, "1.80", "1.00", "0.50", "-6.00"),
    ),
    (
        "a wire, wrong",
        WIRE,
        straight((0, 0), (0, 0.5), (-6, 0.5), (-6, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0)),
        cut(1, "2.80", "1.00", "0.50", "-6.00"),
    ),
    *(
        (
            f"a face {far} back, was {was}",
            ROUGHED,
            stepped(4.5, -5.9 - far, 5.5, -15.9),
            cut(1, was, "9.00", "-5.50", f"{-5.9 - far:.2f}"),
        )
        for far in (0.74, 0.76, 1.0, 1.6)
        for was in ("11.00", "10.00", "9.01")
    ),
    ("a last digit", BAR, stepped(7, -15, 7, -15), cut(1, "15.99", "14.00", "0.50", "-15.00")),
    ("half a digit", BAR, stepped(7, -15, 7, -15), cut(1, "16.005", "14.00", "0.50", "-15.00")),
    ("less than it", BAR, stepped(7, -15, 7, -15), cut(1, "16.0006", "14.00", "0.50", "-15.00")),
    ("within measuring", BAR, stepped(7, -15, 7, -15), cut(1, "16.0002", "14.00", "0.50", "-15.00")),
)
"""A row, and the metal before it and after it."""


def of_rows() -> Iterator[str]:
    """Yield what is said of each row, on dials along Z of several kinds."""
    settings = {"": held(PAIRS["plain"]), "leaning ": held(PAIRS["plain"], cone=0.0002, cone_z=-10.0)}
    for (name, before, after, row), (lean, setting), division in product(ROWS, settings.items(), (0.02, 0.25)):
        around = {1: Around(metal(before), metal(after))}
        found = check_rows(page(row), setting, around, division)
        yield f"{lean}{name}, by {division}: {said(found)}"
    yield f"no metal known: {said(check_rows(page(ROWS[0][3]), settings[''], {}, 0.02))}"


# Measures -------------------------------------------------------------------------------------------------------

SIZES = (
    ("pivot", "8.00", ("7.96", "8.00"), False),
    ("pivot", "8.01", ("7.97", "8.00"), False),
    ("pivot", "8.00", ("7.95", "8.00"), True),
    ("pivot", "8.00", ("7.96", "8.01"), False),
    ("pivot", "7.9998", ("7.9600", "8.0000"), False),
    ("pivot", "8.0004", ("7.9602", "7.9998"), False),
    ("Pivot and seat", "8.00", None, False),
    ("pivot and neck", "8.00", None, False),
    ("seat", "10.00", ("9.99", "10.01"), False),
    ("seat", "10.00", ("9.98", "10.02"), False),
    ("seat", "10.00", ("9.99", "10.04"), True),
    ("seat", "10.04", ("9.98", "10.03"), False),
    ("seat", "10.0", ("10.0", "9.9"), False),
)
FACES = (
    ("pivot", "6.00", ("5.98", "6.02"), False),
    ("pivot", "6.00", ("5.95", "6.02"), False),
    ("pivot", "5.90", ("5.95", "6.02"), True),
    ("pivot", "5.90", ("5.95", "6.02"), False),
    ("pivot", "5.94", ("5.95", "6.02"), False),
    ("seat", "16.00", None, False),
    ("seat", "15.80", ("15.95", "16.05"), True),
    ("seat", "16.00", ("15.95", "16.10"), False),
    ("drum", "16.00", None, False),
)
CORRECTED = (
    Correction(section="pivot", radius=0.01, face=0.02, text=""),
    Correction(section="seat", radius=0.0, face=-0.03, text=""),
)
WAYS: dict[str, dict[str, Any]] = {
    "": {},
    "corrected ": {"corrections": CORRECTED},
    "leaning ": {"cone": 0.002, "cone_z": -3.0},
}


def of_measures() -> Iterator[str]:
    """Yield what is said of lines at which the work is measured, on sections and metal of several kinds."""
    both: tuple[tuple[Literal["diameter", "shoulder"], Any], ...] = (("diameter", SIZES), ("shoulder", FACES))
    lines = [measure(1, *row[:3], then=row[3], of=of) for of, rows in both for row in rows]
    for pair, words in product(("plain", "limited", "stoned", "thin end", "longer taper"), WAYS):
        setting = held(PAIRS[pair], **WAYS[words])
        if words and pair not in ("limited", "longer taper"):
            continue
        for (name, outline), line in product(METALS.items(), lines):
            if name in ("to size", "to come") or (line.least is None and pair == "thin end"):
                around = {1: Around(metal(outline), metal(outline))}
                found = said(check_measures(page(line), setting, around))
                if found == "nothing":
                    continue
                limits = f" ({line.least.text} to {line.most.text})" if line.least and line.most else ""
                label = f"{line.of} of {line.name}: {line.expected.text}{limits}{' then' * line.then}"
                yield f"{words}{pair}, {name}, {label}: {found}"
    beyond = tuple(replace(t, near=t.near + 20, far=t.far + 20) for t in PAIRS["plain"])
    shifted = {1: Around(metal(straight((20, 0), (20, 4), (14, 4), (14, 5), (4, 5), (4, 8), (-40, 8), (-40, 0))), ())}
    for name, expected in (
        ("pivot", "13.98"),
        ("pivot", "14.00"),
        ("pivot", "14.02"),
        ("seat", "3.97"),
        ("seat", "4.03"),
    ):
        line = measure(1, name, expected, of="shoulder")
        found = said(check_measures(page(line), held(beyond, corrections=CORRECTED), shifted))
        yield f"beyond zero, past {name} {expected}: {found}"
    screwed = replace(held(PAIRS["plain"]), threads=SCREWED)
    for name, expected, limits, then in WIRES:
        line = measure(1, name, expected, limits, then=then)
        yield f"{name}: {expected} {limits}{' then' * then}: {said(check_measures(page(line), screwed, {}))}"
    last = measure(1, "seat", "10.04", ("9.99", "10.02"))
    around = {1: Around(metal(METALS["to size"]), ())}
    for coarse in ((), ("seat",), ("Seat ",), ("shoulder past seat",), ("pivot",)):
        yield f"coarse {coarse}: {said(check_measures(page(last, coarse=coarse), held(PAIRS['limited']), around))}"
    past = measure(1, "seat", "16.00", ("15.90", "15.95"), of="shoulder")
    both = measure(1, "pivot and seat", "10.04", ("9.99", "10.00"))
    for coarse in ((), ("seat",), ("pivot", "seat"), ("shoulder past seat",), ("pivot and seat",)):
        for line in (past, both):
            found = said(check_measures(page(line, coarse=coarse), held(PAIRS["limited"]), around))
            yield f"coarse {coarse}, {line.of}: {found}"
    yield f"no metal known: {said(check_measures(page(last), held(PAIRS['limited']), {}))}"


SCREWED = (replace(THREADED.threads[0], section="pivot"),)
LIMITED: tuple[str, str] = ("16.125", "16.242")
WIRES: tuple[tuple[str, str, tuple[str, str] | None, bool], ...] = (
    ("Pivot over three wires of 0.722", "16.183", LIMITED, False),
    ("pivot over three wires of 0.722 mm", "16.183", LIMITED, False),
    ("pivot over three wires of 0.722 mm", "16.184", LIMITED, True),
    ("pivot over three wires of 0.722 mm", "16.183", LIMITED, True),
    ("pivot over three wires of 0.722 mm", "17.433", LIMITED, True),
    ("pivot over three wires of 0.722 mm", "17.434", LIMITED, True),
    ("pivot over three wires of 0.722", "16.183", None, False),
    ("pivot over three wires of 0.73", "16.184", ("16.124", "16.243"), False),
    ("pivot over two wires of 0.722", "16.183", LIMITED, False),
    ("seat over three wires of 0.722", "16.183", LIMITED, False),
)
ALL = (
    measure(2, "pivot", "8.30", ("7.96", "8.00"), then=True),
    measure(4, "pivot", "8.00", ("7.96", "8.00")),
    measure(2, "pivot", "5.90", None, then=True, of="shoulder"),
    measure(4, "pivot", "6.00", None, of="shoulder"),
    measure(6, "seat", "10.60", None, then=True),
    measure(8, "seat", "10.00", None),
    measure(6, "seat", "15.80", None, then=True, of="shoulder"),
    measure(8, "seat", "16.00", None, of="shoulder"),
)


def of_measured() -> Iterator[str]:
    """Yield what is said where one measure of all is not there, of sections of every kind."""
    rows = (
        cut(1, "16.00", "8.60", "0.50", "-5.90"),
        cut(3, "8.60", "8.00", "0.50", "-6.00"),
        cut(5, "16.00", "10.60", "-5.50", "-15.80", "Seat"),
        cut(7, "10.60", "10.00", "-5.50", "-16.00", "pivot and seat"),
    )
    steps = (METALS["bar"], METALS["to come"], METALS["to size"])
    around = {1: Around(metal(steps[0]), metal(steps[1])), 3: Around(metal(steps[1]), metal(steps[2]))}
    around |= {5: around[1], 7: around[3]}
    limited_lengths = {name: tuple(replace(t, spare=(0.1, 0.2)) for t in pair) for name, pair in PAIRS.items()}
    for name, pair in (*PAIRS.items(), *((f"{n}, lengths limited", p) for n, p in limited_lengths.items())):
        for at in range(-1, len(ALL)):
            lines = [line for k, line in enumerate(ALL) if k != at]
            found = said(check_measured(page(*rows, *lines), held(pair), around))
            if found == "nothing":
                continue
            yield f"{name}, without {ALL[at].of} of {ALL[at].name}{' then' * ALL[at].then if at >= 0 else ''}: {found}"
    pair = limited_lengths["plain"]
    yield f"no rows: {said(check_measured(page(), held(pair), {}))}"
    for name, outline in METALS.items():
        for what in ("pivot", "Face past pivot", "seat"):
            one: tuple[Step, ...] = (
                cut(1, "16.00", "8.60", "0.50", "-5.90", what),
                points(2, (-5.9, 8.6), what=what),
                cut(3, "9.00", "8.00", "0.50", "-6.00", what),
            )
            one += (cut(4, "8.00", "8.00", "0.50", "-6.00", what),) if outline is METALS["bar"] else ()
            known = {1: Around((), metal(outline)), 3: Around((), metal(METALS["to size"]))}
            known |= {2: known[1], 4: known[3]}
            yield f"{what} left {name}: {said(check_measured(page(*one), held(pair), known))}"
    over = points(1, (0.0, 7.4), (-6.0, 8.0), what="pivot", way="set over", angle=2.862)
    for name in ("thin end", "filed", "roles"):
        for lines in ((), (measure(2, "pivot", "7.40", None, then=True),), (measure(2, "pivot", "7.40", None),)):
            yield f"{name} set over, {len(lines)}: {said(check_measured(page(over, *lines), held(PAIRS[name]), {}))}"


# Edges ----------------------------------------------------------------------------------------------------------


def steps_of(low: float, high: float, count: int, top: float, leg: float) -> list[tuple[float, float]]:
    """Return places of the nose's point along a chamfer of a leg below a radius, ending at Z high."""
    shares = [k / count for k in range(count + 1)]
    return [(low + (high - low) * s, 2 * (top - leg * s)) for s in shares]


NOSED = turning_tool(number=1, nose_radius=0.2)
LEFT_HAND = turning_tool(number=3, nose_radius=0.1, hand="left")
EDGE_SHOP = make_shop(tools=(NOSED, *make_shop().tools[1:], LEFT_HAND))
CHAMFERED = held((replace(PIVOT, edge=edge(0.5), corner=corner("nose", 0.25)), SEAT), hollow=0.25)


SEATED = (-16, 5), (-16, 8), (-60, 8), (-60, 0)


def chamfered(leg: float, low: float = -0.5, up: float = 0.0) -> Chain:
    """Return the pivot with a chamfer of a leg from Z 0, its slant raised by so much, and the bar's own seat."""
    slant = straight((0, 0), (0, 4 - leg + up), (low, 4 - leg - low + up), (low, 4), (-6, 4), (-6, 5))
    return (*slant, *straight((-6, 5), *SEATED))


def place(z: float, out: float = 0.0) -> tuple[float, float]:
    """Return where the nose's point is set so that its round stands off a chamfer of 0.5 by so much at z."""
    half = 2**-0.5
    return z + half * (0.2 + out) - 0.2, 2 * (3.5 - z + half * (0.2 + out) - 0.2)


GOOD = tuple(place(-0.5 * k / 8) for k in range(9))
EDGE_ROWS: dict[str, tuple[PointsRow, Chain]] = {
    "as it is": (points(1, *GOOD), chamfered(0.5)),
    "a third of it": (points(1, *GOOD), chamfered(0.5, up=0.02)),
    "little stands": (points(1, *GOOD), chamfered(0.5, up=0.011)),
    "less stands": (points(1, *GOOD), chamfered(0.5, up=0.013)),
    "ridges": (points(1, *GOOD, ridge=0.01), chamfered(0.5, up=0.02)),
    "larger ridges": (points(1, *GOOD, ridge=0.01), chamfered(0.5, up=0.03)),
    "middle uncut": (points(1, *GOOD), chamfered(0.5, low=-0.2)),
    "none": (points(1, *GOOD), METALS["to size"]),
    "set over": (points(1, GOOD[0], GOOD[-1], way="set over", angle=45.0), chamfered(0.5, up=0.03)),
    **{
        f"place {k} off {out}": (points(1, *GOOD[:k], place(-0.5 * k / 8, out), *GOOD[k + 1 :]), chamfered(0.5))
        for k in (0, 4, 8)
        for out in (0.05, 0.01, 0.012, 0.017, -0.003, -0.005, -0.05)
    },
    "beyond both ends": (points(1, place(0.3), *GOOD, place(-0.8)), chamfered(0.5)),
    "far beyond": (points(1, place(0.65), *GOOD, place(-1.15)), chamfered(0.5)),
    "too far beyond": (points(1, place(0.8), *GOOD, place(-1.3)), chamfered(0.5)),
}


def round_place(degrees: float, out: float = 0.0, *, inner: bool = False, on: str = "pivot") -> tuple[float, float]:
    """Return where the nose's point is set so that its round stands off an edge or a corner of radius 0.5 by so much.

    The pivot's edge is at its end, its corner beside the seat; the seat's are one step on.
    """
    turn = math.radians(degrees)
    reach = 0.5 - 0.2 - out if inner else 0.5 + 0.2 + out
    z, x = (-5.5, 4.5) if inner else (-0.5, 3.5)
    z, x = (z - (10 if inner else 6), x + 1) if on == "seat" else (z, x)
    way = -1.0 if inner else 1.0
    return z + way * reach * math.cos(turn) - 0.2, 2 * (x + way * reach * math.sin(turn) - 0.2)


ROUND_SEAT = replace(SEAT, edge=edge(0.5, "radius"), corner=corner("fillet", 0.5))
ROUNDED = held((replace(PIVOT, edge=edge(0.5, "radius"), corner=corner("fillet", 0.5)), SEAT), hollow=0.25)
ROUNDED_TOO = held((replace(PIVOT, corner=None), ROUND_SEAT), hollow=0.25)


def rounds(edge_: float, fillet: float, on: str = "pivot") -> Chain:
    """Return the work with a round edge and a fillet of these radii on the pivot, or on the seat."""
    z0, z1, x, top = (0.0, -6.0, 4.0, 5.0) if on == "pivot" else (-6.0, -16.0, 5.0, 8.0)
    outer = Arc(Point(z0, x - edge_), Point(z0 - edge_, x), Point(z0 - edge_, x - edge_), 1)
    inner = Arc(Point(z1 + fillet, x), Point(z1, x + fillet), Point(z1 + fillet, x + fillet), -1)
    before = ((0, 0), (0, x - edge_)) if on == "pivot" else ((0, 0), (0, 4), (-6, 4), (-6, x - edge_))
    after = ((-6, 5), (-16, 5), (-16, 8), (-60, 8), (-60, 0)) if on == "pivot" else ((-16, 8), (-60, 8), (-60, 0))
    return (
        *straight(*before),
        outer,
        Line(Point(z0 - edge_, x), inner.start),
        inner,
        *straight((z1, x + fillet), *((z1, top), *after[1:])),
    )


TURNS = tuple(range(0, 91, 15))


def row_of(on: str, what: str, *at: float, degrees: float = -1.0, out: float = 0.0) -> PointsRow:
    """Return a row of points round an edge or a corner, one of them off by so much."""
    inner = what == "corner"
    return points(1, *(round_place(t, out * (t == degrees), inner=inner, on=on) for t in at), what=what)


ROUND_ROWS: dict[str, tuple[PointsRow, Chain]] = {}
for ON, WHAT in product(("pivot", "seat"), ("edge", "corner")):
    ROUND_ROWS |= {
        f"{WHAT} of {ON} at {degrees} off {out}": (
            row_of(ON, WHAT, *TURNS, degrees=degrees, out=out),
            rounds(0.5, 0.5, ON),
        )
        for degrees in (0, 45, 75, 90)
        for out in (0.05, -0.05, 0.013, 0.02, -0.002, -0.006)
    }
    ROUND_ROWS |= {
        f"{WHAT} of {ON} a quarter": (row_of(ON, WHAT, *(t / 4 for t in TURNS)), rounds(0.5, 0.5, ON)),
        f"{WHAT} of {ON} beyond": (row_of(ON, WHAT, *(1.5 * t - 20 for t in TURNS)), rounds(0.5, 0.5, ON)),
    }
    ROUND_ROWS |= {
        f"{WHAT} of {ON} left {e} {f}": (row_of(ON, WHAT, *TURNS), rounds(e, f, ON))
        for e, f in (
            (0.45, 0.5),
            (0.5, 0.55),
            (0.48, 0.52),
            (0.47, 0.53),
            (0.44, 0.56),
            (0.2, 0.5),
            (0.5, 1.0),
            (0.6, 0.4),
        )
    }


HALF_LEFT = straight((0, 0), (0, 3.5), (-0.1, 3.6), (-0.1, 3.75), (-0.35, 4), (-6, 4), (-6, 5), *SEATED)


def of_two_rows() -> Iterator[str]:
    """Yield what is said of an edge of which a second row passes between what the first has left of the middle."""
    first = Around(metal(METALS["to size"]), metal(chamfered(0.5, up=0.15)))
    around = {1: first, 2: Around(first.after, metal(HALF_LEFT))}
    for name, ridge in (("edge of pivot", 0.11), ("edge of pivot", 0.05), ("edge of seat", 0.11)):
        rows = points(1, *GOOD, ridge=0.01), points(2, *GOOD, ridge=ridge, what=name)
        yield f"{name}, ridges {ridge}: {said(check_edges(page(*rows), CHAMFERED, EDGE_SHOP, around))}"


def of_edges() -> Iterator[str]:
    """Yield what is said of rows of points, by what stands after them."""
    yield from of_two_rows()
    before = METALS["to size"]
    for name, (row, after) in EDGE_ROWS.items():
        around = {1: Around(metal(before), metal(after))}
        for more, steps in (
            ("", (row,)),
            ("by stone ", (row, Other(line=2, number=2, what="edge", by="by stone"))),
            ("left-hand ", (BandRead(line=1, rpm=None, feed=None, tool=3), row)),
            ("undercut tool ", (BandRead(line=1, rpm=None, feed=None, tool=2), row)),
        ):
            if not more or name in ("as it is", "none", "little stands", "middle uncut"):
                yield f"{more}{name}: {said(check_edges(page(*steps), CHAMFERED, EDGE_SHOP, around))}"
    by_figures = replace(EDGE_SHOP, lathe=LATHES["figures alone"])
    for name in ("as it is", "little stands", "place 4 off 0.01", "place 4 off 0.012", "place 4 off 0.017"):
        row, after = EDGE_ROWS[name]
        around = {1: Around(metal(before), metal(after))}
        yield f"by figures, {name}: {said(check_edges(page(row), CHAMFERED, by_figures, around))}"
    for name, (row, after) in ROUND_ROWS.items():
        around = {1: Around(metal(stepped(4.1, -5.8, 5.1, -15.8)), metal(after))}
        setting = ROUNDED if "pivot" in name else ROUNDED_TOO
        yield f"{name}: {said(check_edges(page(row), setting, EDGE_SHOP, around))}"
    for size, kind in product((0.02, 0.05, 0.06, 0.1, 0.5), ("chamfer", "radius")):
        setting = held((replace(PIVOT, edge=edge(size, kind)), SEAT))
        row, around = cut(1, "8.20", "8.00", "0.50", "-6.00"), {1: Around(metal(before), metal(before))}
        yield f"{kind} {size} uncut: {said(check_edges(page(row), setting, EDGE_SHOP, around))}"
    parted = replace(CHAMFERED, slot=Slot(-20.0, 1.0, 1.0))
    yield f"parted: {said(check_edges(page(row), parted, EDGE_SHOP, around))}"
    yield f"no metal known: {said(check_edges(page(row), CHAMFERED, EDGE_SHOP, {}))}"


# Hands ----------------------------------------------------------------------------------------------------------


def motion(m: Motion) -> str:
    """Return a motion on one line."""
    state = f"{m.plane} {m.feed} {m.feed_mode} {m.rpm} {m.spindle} T{m.tool} {m.offset} {m.system}"
    return f"{m.line} {m.kind} {places(m.start)} to {places(m.end)} {state}{' top' * m.top_slide}"


HAND = page(
    BandRead(line=1, rpm=600.0, feed=0.06, tool=None),
    cut(2, "16.00", "14.00", "0.50", "-15.00"),
    cut(3, "14.00", "12.00", "0.20", "-15.00", by_eye=False),
    measure(4, "pivot", "12.00"),
    BandRead(line=5, rpm=None, feed=0.03, tool=None, slowly=True),
    cut(6, "12.00", "11.00", "-3.00", "-15.00", begin=-2.9),
    cut(7, "12.00", "11.00", "-14.90", "-15.00"),
    cut(8, "12.00", "9.00", "-16.00", "-16.00"),
    BandRead(line=9, rpm=320.0, feed=None, tool=2),
    points(10, (-1.0, 7.0), (-2.0, 9.0)),
    points(11, (0.0, 7.4), (-6.0, 8.0), way="set over", angle=2.862),
    points(12, (-6.0, 8.0), (-1.0, 7.4), way="set over", angle=3.434),
    BandRead(line=13, rpm=None, feed=None, tool=2),
    Other(line=14, number=14, what="edge", by="by stone"),
)


def of_hands() -> Iterator[str]:
    """Yield the motions of a hand that does a page, however it begins by eye, and by no tool at all."""
    starts: tuple[Start, ...] = ("as printed", "nearer", "further")
    for start, (lathe, own) in product(starts, LATHES.items()):
        shop, setting = replace(make_shop(), lathe=own), held(PAIRS["plain"], stock=STOCKS["turned"])
        yield f"{start}, {lathe}: {figure(clear_radius(setting, own))}"
        yield from (f"  {motion(m)}" for m in hand_motions(HAND, shop, setting, start=start).motions)
    bare = page(measure(1, "pivot", "8.00"), *HAND.steps[1:3], *HAND.steps[5:7], *HAND.steps[10:12], tool=0)
    yield from (motion(m) for m in hand_motions(bare, make_shop(), held(PAIRS["plain"])).motions)


def with_band(at: int, **more: Any) -> Sheet:
    """Return a page of three rows before one of which something is changed."""
    rows: list[Step] = [
        cut(1, "16.00", "14.00", "0.50", "-15.00"),
        cut(2, "14.00", "12.00", "-3.00", "-3.00"),
        points(3, (-1.0, 7.0)),
    ]
    first = BandRead(line=9, rpm=600.0, feed=0.06, tool=None)
    given: dict[str, Any] = {"rpm": None, "feed": None, "tool": None} | more
    return page(first, *rows[:at], BandRead(line=8, **given), *rows[at:])


BANDS: tuple[dict[str, Any], ...] = (
    {},
    {"tool": 2},
    {"tool": 3},
    {"tool": 9},
    {"feed": 0.0629},
    {"feed": 0.0631},
    {"feed": 0.05},
    *({"rpm": rpm} for rpm in (320.0, 321.0, 400.0, 659.0, 669.0, 672.0, 770.0, 1000.0)),
)
STEELS: dict[str, Material | None] = {"no material": None, "steel": STEEL}


def of_bands() -> Iterator[str]:
    """Yield what is said of tools, feeds and speeds that do not belong to their rows."""
    wheels = EDGE_SHOP
    endless = replace(wheels.lathe, spindle=replace(wheels.lathe.spindle, positions=()))
    shops: dict[str, Shop] = {"belts": wheels, "no belts": replace(wheels, lathe=endless)}
    for at, more in product((0, 1, 2), BANDS):
        sheet = with_band(at, **more)
        found = [*check_tools(sheet, wheels), *check_feeds(sheet, wheels)]
        yield f"{more} before row {at + 1}: {said(found)}"
        for (name, shop), (material, own) in product(shops.items(), STEELS.items()):
            if "rpm" in more or not more:
                yield f"  {name}, {material}: {said(check_speeds(sheet, shop, own))}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "limits of rows": of_limits,
    "standing": of_standing,
    "rows": of_rows,
    "measures": of_measures,
    "measured": of_measured,
    "edges of rows": of_edges,
    "hands": of_hands,
    "bands": of_bands,
}
