"""Small programs of the mill, each with one thing changed, and all that their judge says of each.

The work is a bar of 6 mm with flats 4 mm across up to 0.1 mm from a shoulder, or a bar of 14 mm with a hole; the cutter
is of 6 mm, so that its path ends 3 mm before the wall.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Any

from cam.judge.driven import Drive
from cam.judge.mill import simulate_mill
from cam.judge.mill_result import MillFinding, MillSimulation
from cam.rs274.model import Rules
from cam.rs274.read import read_program
from cam.setting.milled import CrossHole, MillWork, Solid, bar, tipped
from cam.setting.square import Square
from cam.shop.machine import NO_FACTS
from tests.mill_case import END_MILL, HERE, NGC

MILL = replace(END_MILL, deepest_cut=1.1, feed=0.1)
SPOT = replace(MILL, number=2, name="spot drill", kind="spot drill", point_angle=90.0, feed=0.05)
DRILL = replace(MILL, number=3, name="3 mm drill", kind="drill", diameter=3.0, shank_diameter=3.0, point_angle=90.0)
TAP = replace(MILL, number=4, name="tap", kind="tap", diameter=4.0, shank_diameter=3.0, pitch=0.5, feed=0.0)
TOOLS = (MILL, SPOT, DRILL, TAP)

SQUARE = Square(
    flats=4, across=4.0, station=6.0, slope=0.0, length=12.0, blank=6.0, corners="round", broken=0.0, where=HERE
)
SECTIONS = (bar("body", -20.0, 0.0, 14.0), bar("blank", 0.0, 12.0, 6.0))
FIXTURES = (bar("nut", -40.0, -20.0, 32.0), Solid("jaw", -60.0, -30.0, -25.0, 25.0, -4.0, tilts=False))
HOLE = CrossHole(
    name="hole",
    x=-8.0,
    angle=45.0,
    diameter=3.0,
    depth=5.0,
    through=False,
    flat_depth=0.5,
    flat_size=6.0,
    where=HERE,
    spotted=True,
)
WORK = MillWork(sections=SECTIONS, fixtures=FIXTURES, square=SQUARE, wall=0.1)
DRILLED = MillWork(sections=SECTIONS, fixtures=(bar("nut", -50.0, -30.0, 32.0),), holes=(HOLE,), under=-20.0)
"""Over its flat (6 mm long) the round of 7 mm is 6.5 high; the hole ends at 2.0, and so its point at 0.5."""
DRIVE = Drive(slowest=200.0, fastest=3000.0, rapid=600.0, speeds={1: 30.0, 3: 20.0})

HEAD = "G21 G17 G90 G40 G80 G94 G49\nT1 M6\nG54\n(PROVE Z)\nM0\nG0 Z20\nG0 X20\nG0 Y0\nG0 Z12\nG0 X6\nM0\nS1000 M3\n"
END = "G0 Z20\nM5\nM0\nM2\n"


def flat(angle: float, *depths: float, to: float = 3.1, aside: float = 0.0) -> str:
    """Return the text of one flat, cut from the tip in to its wall at each of some heights."""
    path = "".join(f"G0 X20\nG0 Y{aside}\nG0 Z{z}\nG1 X{to} F100\nG1 Y2.3\nG1 Y-2.3\nG0 Z20\n" for z in depths)
    return f"G0 Z20\nG0 X20\nG0 A{angle:g}\n{path}"


FLATS = [flat(angle, 2.5, 2.0) for angle in (0, 90, 180, 270)]
TURNED = "G0 Z20\nG0 X20\nG0 A0\nG0 A90\nM5\n(SEE THE ROTARY AXIS TURN)\nM0\nG0 A0\nS1000 M3\n"
GOOD = HEAD + TURNED + "".join(FLATS) + END
SHORT = HEAD + TURNED + FLATS[0] + END
BY_TURN = Rules(standard="EIA-274-D", x_words="radius", turns=True)
EIA = "%\n" + re.sub(
    r"([XYZAF]-?\d+)(?![\d.])",
    r"\1.",
    SHORT.replace("G54\n", "")
    .replace("T1 M6", "T0101")
    .replace("G21 ", "G71 ")
    .replace("S1000", "G97 S1000")
    .replace(" G49", ""),
)
SEAT = "G0 X-8\nG0 Y-8\nG0 Z6.5\nG1 Y8 F100\nG0 Z20\n"
BORED = (
    HEAD
    + TURNED
    + "G0 A45\n"
    + SEAT
    + "M5\nG0 X20\n(PUT IN THE SPOT DRILL. PROVE Z)\nT2 M6\nM0\nG55\nG0 Z12\nG0 X-8\nG0 Y0\nM0\n"
    "S1000 M3\nG99 G81 X-8 Y0 Z5.3 R7.5 F50\nG80\nG0 Z20\nM5\nG0 X20\n"
    "(PUT IN THE 3 MM DRILL. PROVE Z)\nT3 M6\nM0\nG56\n"
    "G0 Z12\nG0 X-8\nG0 Y0\nM0\nS1000 M3\nG99 G83 X-8 Y0 Z0.5 R7.5 Q2 F100\nG80\nG0 Z20\nM5\nG0 X20\n"
    "(PUT IN THE TAP. PROVE Z)\nT4 M6\nM0\nG57\nG0 Z12\nG0 X-8\nG0 Y0\nM0\nS300 M3\n"
    "G99 G84 X-8 Y0 Z2.5 R7.5 F150\nG80\n" + END
)


def with_flats(*flats: str) -> str:
    """Return the program with some flats in place of its first ones."""
    return HEAD + TURNED + "".join([*flats, *FLATS[len(flats) :]]) + END


def changed(*pairs: tuple[str, str], text: str = GOOD) -> str:
    """Return a text with the first of each of some words changed."""
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


Case = tuple[str, str, dict[str, Any]]
TIPPED = tipped(0.005, -24.0)
SLOPED = replace(SQUARE, slope=0.005)


def _tipped_work(**more: Any) -> MillWork:
    return replace(WORK, frame=TIPPED, square=SLOPED, **more)


def squares() -> Iterator[Case]:
    """Yield programs of the square, one thing changed in each."""
    yield "a good square", GOOD, {"drive": DRIVE, "clearance": 0.5}
    yield "the same, no drive known", GOOD, {}
    yield "flat 1 is 0.002 low, flat 2 0.003 high", with_flats(flat(0, 2.5, 1.998), flat(90, 2.5, 2.003)), {}
    yield "flat 2 is 0.02 low, at a tolerance of 0.03", with_flats(FLATS[0], flat(90, 2.5, 1.98)), {"tolerance": 0.03}
    yield "flat 1 falls to the tip by 0.124", changed(("Z2.0\nG1 X3.1 F100", "Z1.95\nG1 X3.1 Z2.074 F100")), {}
    yield "flat 3 is left out", HEAD + TURNED + FLATS[0] + FLATS[1] + FLATS[3] + END, {}
    yield "flat 4 ends 0.5 before the wall", with_flats(*FLATS[:3], flat(270, 2.5, 2.0, to=3.6)), {}
    yield "flat 4 goes 0.5 past the wall", with_flats(*FLATS[:3], flat(270, 2.5, 2.0, to=2.6)), {}
    yield "flat 2 goes 4 into the body", with_flats(FLATS[0], flat(90, 2.5, 2.0, to=-1.0)), {}
    yield "flat 1 is cut 1.5 aside", with_flats(flat(0, 2.5, 2.0, aside=1.5)), {}
    yield "flat 1 is cut in two paths", with_flats(flat(0, 2.5, 2.0, aside=1.5) + flat(0, 2.5, 2.0, aside=-1.5)), {}
    yield "a wider path leaves a rib 0.002 high", with_flats(flat(0, 2.5, aside=3.2) + flat(0, 2.002)), {}
    yield "flat 2 is turned to 85", with_flats(FLATS[0], flat(85, 2.5, 2.0)), {}
    yield "flat 2 is turned to 450", with_flats(FLATS[0], flat(450, 2.5, 2.0)), {}
    yield "flat 2 is turned to -270", with_flats(FLATS[0], flat(-270, 2.5, 2.0)), {}
    yield "one layer is too deep for the cutter", with_flats(flat(0, 1.8)), {}
    yield "the cutter's edges are shorter", GOOD, {"tools": (replace(MILL, flutes=0.4), *TOOLS[1:])}


def tapers() -> Iterator[Case]:
    """Yield programs of the square where another one is wanted."""
    yield "a good square, 0.5 clear", GOOD, {"clearance": 0.5}
    yield "a tapered square, cut level", GOOD, {"work": replace(WORK, square=SLOPED)}
    yield "a tapered square, tipped", GOOD, {"work": _tipped_work(), "clearance": 0.5}
    yield "tipped, and 0.15 lower", changed(*(("Z2.0\n", "Z2.18\n"),) * 4), {"work": _tipped_work()}
    yield "tipped about the tip", GOOD, {"work": replace(_tipped_work(), frame=tipped(0.005, 12.0))}
    yield "tipped the other way", GOOD, {"work": replace(_tipped_work(), frame=tipped(-0.005, 12.0)), "clearance": 0.5}
    hexagon = replace(SQUARE, flats=6, across=4.6)
    six = [flat(60 * k, 2.3) for k in range(6)]
    yield "a hexagon", HEAD + TURNED + "".join(six) + END, {"work": replace(WORK, square=hexagon)}
    yield (
        "a hexagon, one flat 0.01 low",
        HEAD + TURNED + "".join(six[:5]) + flat(300, 2.29) + END,
        {"work": replace(WORK, square=hexagon)},
    )
    yield "no square is wanted", GOOD, {"work": replace(WORK, square=None)}
    yield "a wall in a groove", with_flats(flat(0, 2.5, 2.0, to=2.9)), {"work": replace(WORK, wall=-0.1)}


def ways() -> Iterator[Case]:
    """Yield programs of the square that go where they should not, or as they should not."""
    yield "a good square, 0.5 clear", GOOD, {"clearance": 0.5}
    yield "a rapid through metal", changed(("Z2.0\nG1 X3.1 F100", "Z2.0\nG0 X3.1")), {}
    yield "a plunge", changed(("G0 Y0.0\nG0 Z2.0\n", "G0 Y0\nG0 X6\nG1 Z2.0 F50\n")), {}
    yield (
        "up and across at once, in air",
        changed(("G0 Z20\nG0 X20\nG0 A90\nG0 X20\n", "G0 X20 Z20\nG0 A90\nG0 X20\n")),
        {},
    )
    yield (
        "the spindle turns backward",
        changed(("A0\nS1000 M3\nG0 Z20\nG0 X20\nG0 A0", "A0\nS1000 M4\nG0 Z20\nG0 X20\nG0 A0")),
        {},
    )
    yield "the spindle stands", GOOD.replace("S1000 M3\n", ""), {"drive": DRIVE}
    yield "a stop with the spindle on", changed(("M5\nM0\nM2", "M0\nM5\nM2")), {}
    yield "an optional stop with the spindle on", changed(("M5\nM0\nM2", "M1\nM5\nM0\nM2")), {}
    yield "a wait of three seconds", changed(("M5\nM0\nM2", "G4 P3\nM5\nM0\nM2")), {}
    yield "an arc", changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG2 X21 Y1 I1 J0 F100\nM5\nM0\nM2")), {}
    yield "a tool that the shop has not", changed(("T1 M6", "T9 M6")), {}
    yield "no tool", changed(("T1 M6\n", "")), {}
    yield "the zero of another tool", changed(("G54", "G55")), {}
    yield "its own offset", changed(("G54", "G55 G43 H1")), {}
    yield "Z never said", changed(("G0 Z20\nG0 X20\nG0 Y0\nG0 Z12\nG0 X6\nM0\n", "G0 X20\nG0 Y0\n")), {}
    yield "a cut from an unknown place", "G21 G17 G90 G94\nT1 M6\nG54\nG1 X3 F50\nM2\n", {}
    yield "turned over the work", changed(("G0 A0\nG0 A90\nM5", "G0 X6\nG0 Z6\nG0 A90\nM5")), {"clearance": 0.5}
    yield (
        "turned 0.4 over the body",
        changed(("G0 A0\nG0 A90\nM5", "G0 X-4\nG0 Z7.4\nG0 A90\nG0 Z20\nG0 X20\nM5")),
        {"clearance": 0.5},
    )
    by_hand = GOOD.replace("G0 A90\nG0", "(TURN THE WORK TO 90 DEG)\nM0\nG0")
    yield "turned by hand, the spindle running", by_hand, {}
    yield "begins with a word of its own", "G21 G90\nG0 Z5\nM2\n", {}
    yield "a line breaks a rule", changed(("G1 X3.1 F100", "G1 QX3.1 F100")), {}
    yield "down beside the nut", changed(("G0 Z20\nM5\nM0\nM2", "G0 X-23\nG0 Z14\nM5\nM0\nM2")), {"clearance": 0.5}
    yield (
        "0.3 over the nut",
        changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 X-30\nG0 Z16.3\nM5\nM0\nM2")),
        {"clearance": 0.5},
    )
    yield (
        "past the nut's face by 0.3",
        changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 X-16.7\nG0 Z10\nM5\nM0\nM2")),
        {"clearance": 0.5},
    )
    yield (
        "into the jaw, aside of the nut",
        changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 Y22\nG0 X-45\nG0 Z-5\nM5\nM0\nM2")),
        {"clearance": 0.5},
    )
    yield (
        "beside the jaw by 0.2",
        changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 Y28.2\nG0 X-45\nG0 Z-5\nM5\nM0\nM2")),
        {"clearance": 0.5},
    )
    stub = replace(MILL, flutes=3.0, stick_out=6.0, shank_diameter=8.0)
    yield "a shank and a holder too low", GOOD, {"tools": (stub, *TOOLS[1:]), "clearance": 0.5}
    yield "a holder 0.4 over the body", GOOD, {"tools": (replace(MILL, stick_out=5.4), *TOOLS[1:]), "clearance": 0.5}


def cut_short(*pairs: tuple[str, str]) -> str:
    """Return the program of one flat with the first of each of some words changed."""
    return changed(*pairs, text=SHORT)


def driven() -> Iterator[Case]:
    """Yield programs of one flat, judged by their speeds, feeds and stops."""
    known = {"drive": DRIVE}
    yield "one flat, all said", SHORT, known
    for speed in ("S190", "S197", "S199", "S2999", "S3029", "S3031", "S5", "S1990", "S2010"):
        yield f"at {speed}", SHORT.replace("S1000", speed), known
    for feed in ("F1", "F19", "F20", "F100.5", "F101.6", "F102", "F604", "F607"):
        yield f"at {feed}", SHORT.replace("F100", feed), known
    yield "no speed at all", SHORT.replace("S1000 ", ""), known
    for feed in ("F0.1", "F0.7"):
        yield f"by the turn, {feed}", EIA.replace("G94", "G95").replace("F100.", feed), {**known, "rules": BY_TURN}
    yield "by the minute, in the other standard", EIA, {**known, "rules": BY_TURN}
    yield "offset digits of another tool", EIA.replace("T0101", "T0102"), {**known, "rules": BY_TURN}
    each = (
        SHORT.replace("G94", "G93")
        .replace("F100", "F6")
        .replace("G1 Y2.3", "G1 Y2.3 F6")
        .replace("G1 Y-2.3", "G1 Y-2.3 F9999")
    )
    yield "inverse time, said on each line", each, known
    yield "inverse time", SHORT.replace("G94", "G93").replace("F100", "F6"), known
    yield "no sense of A seen", cut_short(("(SEE THE ROTARY AXIS TURN)\n", "")), known
    yield (
        "A seen before it turned",
        cut_short(
            ("G0 A90\nM5\n(SEE THE ROTARY AXIS TURN)\nM0\n", "M5\n(SEE THE ROTARY AXIS TURN)\nM0\nG0 A90\nS1000 M3\n")
        ),
        known,
    )
    yield "A seen at half a turn", cut_short(("G0 A90\nM5", "G0 A180\nM5")), known
    yield "A seen only after the first cut", HEAD + FLATS[0] + TURNED + FLATS[1] + END, known
    yield "Z not proved", cut_short(("(PROVE Z)\n", "")), known
    yield "Z proved after it moved across", cut_short(("(PROVE Z)\nM0\nG0 Z20\n", "G0 Z20\n(PROVE Z)\nM0\n")), known
    yield "no stop in air", cut_short(("G0 X6\nM0\n", "G0 X6\n"), ("M5\n(SEE", "G0 Y1\nM5\n(SEE")), known
    yield "the stop in air is beside the work", cut_short(("G0 X6\nM0\n", "G0 X16\nM0\n")), known
    yield "nothing is measured at the end", cut_short(("M5\nM0\nM2", "M5\nM2")), known
    yield (
        "words of a stop that never comes",
        cut_short(("M5\nM0\nM2", "(STOP. MEASURE THE FLATS)\nG0 Z25\nM5\nM0\nM2")),
        known,
    )
    one_zero = {"drive": DRIVE, "facts": replace(NO_FACTS, tool_zeros="one", message_width=20)}
    yield "one zero for all tools", SHORT, one_zero
    yield "one zero for all tools, said at each", SHORT.replace("(PROVE Z)", "(SET ITS Z. PROVE Z)"), one_zero
    yield "one zero, and moved in another", SHORT.replace("G54", "G55"), one_zero
    yield "one zero, and moved by an offset", SHORT.replace("G54", "G54 G43 H1"), one_zero
    seen = replace(NO_FACTS, proved=(("rotary axis", "2026-05-02"),))
    bare = cut_short(("(SEE THE ROTARY AXIS TURN)\n", ""))
    yield "A was seen on a day", "(ROTARY AXIS PROVED 2026-05-02)\n" + bare, {"drive": DRIVE, "facts": seen}
    yield "A was seen on another day", "(ROTARY AXIS PROVED 2026-05-03)\n" + bare, {"drive": DRIVE, "facts": seen}
    wide = SHORT.replace("(PROVE Z)", "(MSG, PROVE Z BY THE DISPLAY AND A RULE BEFORE ANYTHING MOVES)")
    yield "a message too wide", wide, known


def holes() -> Iterator[Case]:
    """Yield programs of the hole, one thing changed in each."""
    known: dict[str, Any] = {"drive": DRIVE, "clearance": 0.5, "work": DRILLED}

    def bored(*pairs: tuple[str, str], **more: Any) -> tuple[str, dict[str, Any]]:
        return changed(*pairs, text=BORED), {**known, **more}

    def wanted(**more: Any) -> dict[str, Any]:
        return {"work": replace(DRILLED, holes=(replace(HOLE, **more),))}

    yield "a good hole", *bored()
    for z in ("0.4985", "0.4995", "0.5005", "0.5015"):
        yield f"drilled to {z}", *bored(("Z0.5 R7.5 Q2", f"Z{z} R7.5 Q2"))
    for depth in ("Z-6.9", "Z-8.499", "Z-8.502", "Z-20.1"):
        yield f"right through, drilled to {depth}", *bored(("Z0.5 R7.5 Q2", f"{depth} R7.5 Q2"), **wanted(through=True))
    through = wanted(through=True)
    yield "through from the other side", *bored(("A45", "A225"), ("Z0.5 R7.5 Q2", "Z-8.6 R7.5 Q2"), **through)
    yield "blind from the other side", *bored(("A45", "A225"))
    yield "turned to 405", *bored(("A45", "A405"))
    yield "drilled 0.0008 aside", *bored(("G83 X-8 Y0", "G83 X-8 Y0.0008"))
    yield "drilled 0.0012 aside", *bored(("G83 X-8 Y0", "G83 X-8 Y0.0012"))
    yield "drilled 0.0012 along", *bored(("G83 X-8 Y0", "G83 X-8.0012 Y0"))
    yield (
        "drilled twice",
        *bored(
            (
                "G83 X-8 Y0 Z0.5 R7.5 Q2 F100\nG80",
                "G83 X-8 Y0 Z0.5 R7.5 Q2 F100\nG80\nG0 Z20\nG0 X-4\nG99 G81 X-4 Y0 Z5 R7.5 F100\nG80\nG0 Z20\nG0 X-8",
            )
        ),
    )
    for z in ("Z4.999", "Z4.9985", "Z4.9", "Z4.2", "Z3.0"):
        yield f"spotted to {z}", *bored(("Z5.3 R7.5", f"{z} R7.5"))
    yield "a tap to the hole's full depth", *bored(("Z2.5 R7.5", "Z2.0 R7.5"))
    yield "a tap 0.3 deeper", *bored(("Z2.5 R7.5", "Z1.7 R7.5"))
    yield (
        "a tap 0.3 deeper, right through",
        *bored(("Z0.5 R7.5 Q2", "Z-8.6 R7.5 Q2"), ("Z2.5 R7.5", "Z1.7 R7.5"), **through),
    )
    for feed in ("F149.8", "F149.9", "F150.1", "F150.2"):
        yield f"tapped at {feed}", *bored(("F150", feed))
    yield "tapped by the turn", *bored(("G99 G84", "G95 G99 G84"), ("F150", "F0.5"))
    no_drill = BORED[: BORED.index("(PUT IN THE 3 MM DRILL")] + BORED[BORED.index("(PUT IN THE TAP") :]
    yield "not drilled", no_drill, known
    yield "no spot and a flat", *bored(("G99 G81 X-8 Y0 Z5.3 R7.5 F50\nG80\n", ""))
    bare = {**known, **wanted(flat_depth=0.0)}
    yield "spotted on the bare round", BORED.replace(SEAT, ""), bare
    yield (
        "neither spot nor flat",
        changed(("G99 G81 X-8 Y0 Z5.3 R7.5 F50\nG80\n", ""), text=BORED.replace(SEAT, "")),
        bare,
    )
    yield (
        "the same, and the shop has no spot drill",
        changed(("G99 G81 X-8 Y0 Z5.3 R7.5 F50\nG80\n", ""), text=BORED.replace(SEAT, "")),
        {**known, **wanted(flat_depth=0.0, spotted=False)},
    )
    yield "the flat is left out", BORED.replace(SEAT, ""), known
    for z in ("6.5008", "6.5015", "6.4992", "6.4985"):
        yield f"the flat lies at {z}", *bored(("Z6.5", f"Z{z}"))
    yield "the flat is milled half across", *bored(("Y8 F100", "Y0 F100"))
    yield "the flat is milled 0.6 further on", *bored(("G0 X-8\nG0 Y-8", "G0 X-7.4\nG0 Y-8"))
    yield "a longer flat is wanted", *bored(**wanted(flat_size=7.0))
    yield "a hole of 3.002 is wanted", *bored(**wanted(diameter=3.002))
    yield "a hole of 2.9 is wanted", *bored(**wanted(diameter=2.9))
    yield "a hole of 4 is wanted", *bored(**wanted(diameter=4.0))
    yield "a hole off the work is wanted", *bored(**wanted(x=40.0))
    yield (
        "two holes are wanted",
        *bored(work=replace(DRILLED, holes=(HOLE, replace(HOLE, name="other", x=-4.0, flat_depth=0.0)))),
    )
    yield "no hole is wanted", *bored(work=replace(DRILLED, holes=()))
    yield "the hole is drilled with the work tipped", *bored(work=replace(DRILLED, frame=TIPPED))
    yield (
        "a drill is moved aside in the work",
        *bored(
            ("G80\nG0 Z20\nM5\nG0 X20\n(PUT IN THE TAP", "G80\nG0 Z5\nG1 X-7 F50\nG0 Z20\nM5\nG0 X20\n(PUT IN THE TAP")
        ),
    )
    yield "nothing says to put in the drill", *bored(("(PUT IN THE 3 MM DRILL. PROVE Z)\n", ""))
    yield "the drill by its number", *bored(("THE 3 MM DRILL", "T03"))
    yield "its Z is not proved", *bored(("DRILL. PROVE Z)", "DRILL)"))
    yield "no stop in air for the drill", *bored(("G56\nG0 Z12\nG0 X-8\nG0 Y0\nM0\n", "G56\nG0 Z12\nG0 X-8\nG0 Y0\n"))
    yield (
        "the drill's edge is too fast",
        *bored(("S1000 M3\nG99 G83", "S3000 M3\nG99 G83"), drive=DRIVE._replace(speeds={3: 20.0})),
    )
    drill, tap = BORED.index("(PUT IN THE 3 MM DRILL"), BORED.index("(PUT IN THE TAP")
    yield (
        "the tap comes first",
        BORED[:drill] + BORED[tap : -len(END)] + "G0 Z20\nM5\nG0 X20\n" + BORED[drill:tap] + END,
        known,
    )
    yield "what lies below", *bored(("Z0.5 R7.5 Q2", "Z-20.0 R7.5 Q2"), **through)


READ: tuple[str, ...] = (
    "G0 A90\nG0 X1\n",
    "G0A90\nX1\n",
    "A90 G0\nG1 X1 F9\n",
    "N10 G00 A+90.5 (flat 2)\nN20 G00 X1\n",
    "G0 A-.5\nG81 X1 Z-1 R2 F9\n",
    "G0 A36000\n",
    "G0 A-36000\n",
    "G0 A36000.1\n",
    "G0 A-36001\n",
    "G0 A90\nG04 P1\nG0 X1\n",
    "G0 A90\nM5\nG3 X1 Y1 I1 J0 F9\n",
    "G0 A90\nG40 X1\n",
    "G0 A90\nX1 G91.1\n",
    "G91\nG0 A90\nG0 X1\n",
    "G0 A90\nG91\nG0 X1\n",
    "G0 X1 A90\n",
    "A90\n",
    "G0 A90 B1\n",
    "(TURN THE WORK TO 90 DEG)\nM0\n",
    "(turn the work to 90.5 deg)\nM0\n",
    "(MSG, TURN THE WORK TO -90 DEG)\nM0\n",
    "(- TURN THE WORK TO 90 DEG)\nM0\n",
    "M0 (TURN THE WORK TO 90 DEG)\n",
    "(TURN THE WORK TO 90 DEG)\nG0 X1\nM0\n",
    "(TURN THE WORK TO 90 DEG)\nG0 X1 (TURN THE WORK TO 80 DEG)\nM0\n",
    "G0 X1 (TURN THE WORK TO 80 DEG)\nM0\n",
    "(TURN THE WORK TO 90 DEG)\n(TURN THE WORK TO 90 DEG)\nM0\n",
    "(TURN THE WORK TO 90 DEG)\n(TURN THE WORK TO 80 DEG)\nM0\n",
    "(TURN THE WORK TO 90 DEG)\nM0\nM0\n",
    "(TURN THE WORK TO 90 DEG)\nM0\n(TURN THE WORK TO 80 DEG)\nM0\nG0 X1\n",
    "(TURN THE WORK TO 90 DEG)\nM1\nG0 X1\n",
    "M2\nG0 A90\n",
    "G0 A90\nM2 (end)\n",
    "(AND TURN THE WORK TO 90 DEG)\nM0\n",
    "G0 A1\r\nG0 X1\r\nG0 A2\rG0 X2\n",
)
"""What stands below a head of one line, above M2."""


def number(value: float) -> str:
    return f"{round(value, 6) + 0.0:g}"


def _told(found: MillFinding) -> str:
    place = "" if found.at is None else f"; at {' '.join(map(number, found.at))}"
    rest = f"; T{found.tool}" * bool(found.tool) + f"; {found.obstacle}" * bool(found.obstacle)
    return f"{found.line}: {found.kind}: {found.what} ({number(found.amount)}){place}{rest}"


def _result(found: MillSimulation) -> Iterator[str]:
    near = (
        "nothing near"
        if found.closest is None
        else (
            f"{number(found.closest.distance)} from {found.closest.body} to {found.closest.obstacle} in line "
            f"{found.closest_line} at {' '.join(map(number, found.closest.at))}"
        )
    )
    yield f"{near}; cuts {number(found.cutting_time)} s, air {number(found.air_time)} s"
    reach = f"from {' '.join(map(number, found.lowest))} to {' '.join(map(number, found.highest))}"
    yield f"{reach}; gouge {number(found.gouge)}, uncut {number(found.uncut)}"
    flats = [f for f in found.flats if not math.isinf(f.high)]
    for flat in sorted({f.flat for f in flats}):
        own = [f for f in flats if f.flat == flat]
        yield f"flat {flat}: {len(own)} places, " + ", ".join(
            f"{number(f.x)} {number(f.low)} {number(f.high)}" for f in (own[0], own[1], own[-1])
        )
    yield from (
        f"across {a.flat}: {number(a.reading)} of {number(a.wanted)} at {number(a.x)}"
        for a in found.across[:: max(len(found.across) // 3, 1)]
    )
    yield from (
        f"bore: turned {number(b.angle)}, {number(b.x)} {number(b.y)} to {number(b.tip)}, T{b.tool}, line {b.line}"
        for b in found.bores
    )


def judged(
    text: str, *, rules: Rules = NGC, work: MillWork = WORK, tools: tuple[Any, ...] = TOOLS, **more: Any
) -> list[str]:
    """Return all that is said of a program."""
    program = read_program(text, rules, "p.ngc")
    found = simulate_mill(program, work, tools, **more)
    said = [f"problem {p.where.line}: {p.what} | {p.given} | {p.allowed} | {p.fix}" for p in program.problems]
    said += [_told(f) for f in found.findings] or ["nothing is found"]
    return [*said, *(f"warning {_told(f)}" for f in found.warnings), *_result(found)]


def turned(body: str, rules: Rules) -> Iterator[str]:
    """Yield the turns and the problems of a few lines."""
    start = "G21 G17 G90 G94" if rules is NGC else "%\nG71 G17 G90 G94"
    program = read_program(f"{start}\n{body}M2\n", rules, "p.ngc")
    yield from (f"  turned in line {t.line} to {number(t.angle)}{', by hand' * t.by_hand}" for t in program.turns)
    yield from (f"  problem {p.where.line}: {p.what} | {p.given} | {p.allowed} | {p.fix}" for p in program.problems)


def told(cases: Callable[[], Iterator[Case]]) -> Iterator[str]:
    """Yield every case with what is said of it, less what is said of the first, good one too."""
    good: list[str] = []
    for name, text, more in cases():
        said = judged(text, **more)
        yield f"# {name}"
        yield from (f"  {line}" for line in said if line not in good)
        good = good or said


def told_of_turns() -> Iterator[str]:
    """Yield what is read of lines that turn the work."""
    for body in READ:
        yield f"# {body!r}"
        yield from turned(body, NGC)
    for body in ("g0 a90.\n", "G0 A90.\n", "G0 a90.\n"):
        yield f"# {body!r}, in capitals alone"
        yield from turned(body, BY_TURN)


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "turns": told_of_turns,
    "stops": partial(told, driven),
    "holes": partial(told, holes),
    "squares": partial(told, squares),
    "ways": partial(told, ways),
    "tapers": partial(told, tapers),
}
