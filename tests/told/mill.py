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
from cam.judge.mill_result import MillSimulation
from cam.judge.model import Finding
from cam.rs274.begin import begin_at
from cam.rs274.model import Rules
from cam.rs274.read import read_program
from cam.setting.milled import MillWork, Solid, bar, tipped
from cam.setting.square import Square
from cam.shop.machine import NO_FACTS
from tests.mill_case import END_MILL, HERE, NGC

MILL = replace(END_MILL, deepest_cut=1.1, feed=0.1)
SPOT = replace(MILL, number=2, name="spot drill", kind="spot drill", point_angle=90.0, feed=0.05)
DRILL = replace(
    MILL, number=3, name="3 mm drill", kind="drill", diameter=3.0, shank_diameter=3.0, point_angle=90.0, flutes=20.0
)
TAP = replace(MILL, number=4, name="tap", kind="tap", diameter=4.0, shank_diameter=3.0, pitch=0.5, feed=0.0)
TOOLS = (MILL, SPOT, DRILL, TAP)

SQUARE = Square(
    flats=4, across=4.0, station=6.0, slope=0.0, length=12.0, blank=6.0, corners="whole", broken=0.0, where=HERE
)
SECTIONS = (bar("body", -20.0, 0.0, 14.0), bar("blank", 0.0, 12.0, 6.0))
FIXTURES = (bar("nut", -40.0, -20.0, 32.0), Solid("jaw", -60.0, -30.0, -25.0, 25.0, -4.0, tilts=False))
WORK = MillWork(sections=SECTIONS, fixtures=FIXTURES, square=SQUARE, wall=0.1)
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
    beside = flat(270, 2.5)[:-1].partition("G0 Y")[0] + "G0 Y0\nG1 Z2.0 F100\nG1 Z20\n"
    yield "flat 4 is only plunged beside the work", with_flats(*FLATS[:3], beside), {}
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
    own = (replace(MILL, deepest_cut=0.5), *TOOLS[1:])
    yield "layers just as deep as the cutter takes", GOOD, {"tools": own}
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


def edges() -> Iterator[Case]:
    """Yield programs whose faults lie just at a limit, at one edge of a flat or between stations."""
    yield "a good square, nothing else", GOOD, {}
    for z in ("1.875", "1.874", "2.125", "2.126"):
        yield f"flat 1 at {z}, at a tolerance of 0.125", with_flats(flat(0, 2.5, float(z))), {"tolerance": 0.125}
    bare = {"work": replace(WORK, square=None), "tolerance": 0.125}
    for z in ("2.875", "2.874"):
        yield f"a bare bar is cut to {z}", HEAD + TURNED + flat(0, float(z)) + END, bare
    yield "a strip at one edge is low", with_flats(flat(0, 2.5, 2.0) + flat(0, 1.99, aside=-5.1)), {}
    yield "a strip at the other edge is low", with_flats(flat(0, 2.5, 2.0) + flat(0, 1.99, aside=5.1)), {}
    yield "flat 1 is cut twice, too low", with_flats(flat(0, 2.5, 1.99, 1.99)), {}
    yield "flat 1 is cut too low by a narrower cutter first", with_flats(flat(0, 2.5, 1.99, 2.0)), {}
    body = "G0 Z20\nG0 X-4\nG0 A30\nG0 Y-12\nG0 Z6.5\nG1 Y0 Z6 F100\nG1 Y12 Z6.5\nG0 Z20\n"
    yield "a hollow across the body", HEAD + TURNED + body + "".join(FLATS) + END, {}
    six = "".join(flat(60 * k, 2.3) for k in range(6))
    hexagon = {"work": replace(WORK, square=replace(SQUARE, flats=6, across=4.6))}
    for z in (2.6, 2.4):
        yield f"a hexagon, and its edge at 30 to {z}", HEAD + TURNED + six + flat(30, z) + END, hexagon
    short = replace(WORK, sections=(SECTIONS[0], bar("collar", 0.0, 0.4, 6.0), bar("blank", 0.4, 12.0, 6.0)))
    yield "a short collar before the square", GOOD, {"work": short}
    yield "the collar is cut", with_flats(flat(45, 2.5, to=3.05)), {"work": replace(short, wall=0.4)}
    yield "one flat, A never said", SHORT.replace(TURNED, "").replace("G0 A0\n", ""), {}
    groove = (bar("body", -20.0, -1.0, 14.0), bar("groove", -1.0, 0.0, 3.0), SECTIONS[1])
    low = with_flats(flat(0, 2.5, 1.99, to=2.6))
    yield "flat 1 is low, and past the wall in a groove", low, {"work": replace(WORK, sections=groove, wall=-0.1)}
    bare_end = {"work": replace(WORK, sections=SECTIONS[:1])}
    yield "no blank where the square is wanted", HEAD + TURNED + "".join(FLATS[:3]) + END, bare_end
    for name, way in (
        ("a dip in the middle of the body", "X-14\nG0 A30\nG0 Y0\nG0 Z7.2\nG1 X-10 Z6.4 F100\nG1 X-6 Z7.2"),
        ("the body's side is cut below its axis", "X-18\nG0 A30\nG0 Y9.8\nG0 Z-1\nG1 X-4 F100"),
        ("the body's other side", "X-18\nG0 A30\nG0 Y-9.8\nG0 Z-1\nG1 X-4 F100"),
        ("a way aslant, all too low", "X20\nG0 A90\nG0 Y-6\nG0 Z1.99\nG1 X3.1 Y5 Z1.95 F100"),
    ):
        yield name, HEAD + TURNED + f"G0 Z20\nG0 {way}\nG0 Z20\n" + "".join(FLATS) + END, {}


def ways() -> Iterator[Case]:
    """Yield programs of the square that go where they should not, or as they should not."""
    yield "a good square, 0.5 clear", GOOD, {"clearance": 0.5}
    yield "a rapid through metal", changed(("Z2.0\nG1 X3.1 F100", "Z2.0\nG0 X3.1")), {}
    yield "down and across at once", changed(("G0 X20\nG0 Y0.0\nG0 Z2.0", "G0 X20\nG0 X21 Z2.0")), {}
    yield "down and along Y at once", changed(("G0 Y0.0\nG0 Z2.0", "G0 Y0.0 Z2.0")), {}
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
    yield "an arc", changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG2 X5.1 Y-2.3 I1 J0 F100\nM5\nM0\nM2")), {}
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
    yield "just on the nut", changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 X-30\nG0 Z16\nM5\nM0\nM2")), {"clearance": 0.5}
    for z in (7.5, 7.499):
        turned_low = f"G0 X-4\nG0 Z{z}\nG0 A90\nG0 Z20\nG0 X20\nM5"
        yield f"turned at {z} over the body", changed(("G0 A0\nG0 A90\nM5", turned_low)), {"clearance": 0.5}
        over = f"G0 Z20\nG0 X-30\nG0 Z{z + 9}\nM5\nM0\nM2"
        yield f"at {z + 9} over the nut", changed(("G0 Z20\nM5\nM0\nM2", over)), {"clearance": 0.5}
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
        "0.3 over the nut, and no distance is asked",
        changed(("G0 Z20\nM5\nM0\nM2", "G0 Z20\nG0 X-30\nG0 Z16.3\nM2")),
        {},
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
    for feed in ("F1", "F19", "F20", "F101", "F101.6", "F102", "F604", "F606", "F607"):
        yield f"at {feed}", SHORT.replace("F100", feed), known
    for speed in ("S199", "S201", "S202", "S203"):
        yield f"at {speed}, in hard metal", SHORT.replace("S1000", speed), {"drive": DRIVE._replace(speeds={1: 2.0})}
    yield "no feed at all", SHORT.replace(" F100", ""), known
    yield "no speed at all", SHORT.replace("S1000 ", ""), known
    for feed in ("F0.1", "F0.7"):
        yield f"by the turn, {feed}", EIA.replace("G94", "G95").replace("F100.", feed), {**known, "rules": BY_TURN}
    yield "by the minute, in the other standard", EIA, {**known, "rules": BY_TURN}
    yield "offset digits of another tool", EIA.replace("T0101", "T0102"), {**known, "rules": BY_TURN}
    by_stop = {**known, "rules": BY_TURN, "facts": replace(NO_FACTS, tool_change="stop")}
    for word in ("T0100", "T0101"):
        yield f"tools changed at a stop, {word}", EIA.replace("T0101", word), by_stop
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
    half = cut_short(("G0 A90\nM5", "G0 A180\nM5"), ("(SEE THE ROTARY AXIS TURN)\n", ""))
    slight = cut_short(("(SEE THE ROTARY AXIS TURN)\n", "")).replace("A90", "A0.007")
    yield "A turned by 0.007 alone, and not seen", slight, known
    yield "A turned by half a turn alone, and not seen", half, known
    yield "A seen only after half a turn more", cut_short(("G0 A90\nM5", "G0 A90\nG0 A270\nM5")), known
    yield "A seen over half a turn from 45", cut_short(("A0\nG0 A90\nM5", "A45\nG0 A225\nM5")), known
    yield "A seen from 45 to 90", cut_short(("A0\nG0 A90\nM5", "A45\nG0 A90\nM5")), known
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
    called = HEAD + TURNED.replace("M0\n", "M0\nG0 X6\nT2 M6\n(PROVE Z)\nM0\n") + FLATS[0] + END
    yield "one zero, another tool called over the work", called, one_zero
    yield "the tool is called again", SHORT.replace("G0 Y0.0\n", "G0 Y0.0\nT1 M6\nS1000 M3\n"), known
    seen = replace(NO_FACTS, proved=(("rotary axis", "2026-05-02"),))
    bare = cut_short(("(SEE THE ROTARY AXIS TURN)\n", ""))
    yield "A was seen on a day", "(ROTARY AXIS PROVED 2026-05-02)\n" + bare, {"drive": DRIVE, "facts": seen}
    yield "A was seen on another day", "(ROTARY AXIS PROVED 2026-05-03)\n" + bare, {"drive": DRIVE, "facts": seen}
    wide = SHORT.replace("(PROVE Z)", "(MSG, PROVE Z BY THE DISPLAY AND A RULE BEFORE ANYTHING MOVES)")
    yield "a message too wide", wide, known


HERE_AT = "(BEGUN HERE: WORK STANDS AT 0 DEG AND TOOL 1 IN THE SPINDLE AND CALLED)\n"
MODES = "G21 G17 G90 G40 G80 G94 G49 G54 S1000 M3\n"
AT_90 = "G0 Z20\nG0 X20\nG0 A90\nG0 X20\n"
ON = f"S1000 M3\n{AT_90}"
BEGUN = "".join(
    (
        HEAD,
        TURNED.replace("G0 A0\nS1000 M3\n", f"G0 A0\n(PASS 1 OF 3)\nN100 {MODES}{HERE_AT}"),
        FLATS[0],
        f"(PASS 2 OF 3)\nN200 {MODES}{HERE_AT}",
        FLATS[1],
        f"M5\n(TURN THE WORK TO 180 DEG)\nM0\n(PASS 3 OF 3)\nN300 {MODES}",
        "(BEGUN HERE: TOOL 1 IN THE SPINDLE AND CALLED)\nG0 Z20\nG0 X20\n",
        FLATS[2].replace("G0 A180\n", ""),
        END,
    )
)


def begun() -> Iterator[str]:
    """Yield what is said of a program of three flats, begun at each of its passes, and of the same with less said."""
    for name, text in (
        ("as it is", BEGUN),
        ("no words on how the work stands", BEGUN.replace("WORK STANDS AT 0 DEG AND ", "")),
        ("it stands at 90", BEGUN.replace("STANDS AT 0", "STANDS AT 90")),
        (
            "told at the last that it stands at 180",
            BEGUN.replace("HERE: TOOL", "HERE: WORK STANDS AT 180 DEG AND TOOL"),
        ),
        (
            "told at the last that it stands at 450",
            BEGUN.replace("HERE: TOOL", "HERE: WORK STANDS AT 450 DEG AND TOOL"),
        ),
        (
            "told at the last that it stands at 450, and a rapid through what was cut at 90",
            "G0 X3.1".join(BEGUN.rsplit("G1 X3.1 F100", 1)).replace(
                "HERE: TOOL", "HERE: WORK STANDS AT 450 DEG AND TOOL"
            ),
        ),
        ("no tool said", BEGUN.replace(" AND TOOL 1 IN THE SPINDLE AND CALLED", "")),
        (
            "another tool is called and at once the first again",
            BEGUN.replace("(PASS 2", "M5\n(PASS 2").replace(AT_90, f"T2 M6\nT1 M6\n{ON}"),
        ),
        ("the tool is called again", BEGUN.replace(AT_90, f"T1 M6\n{ON}")),
        (
            "another tool comes first",
            BEGUN.replace("T1", "T2").replace("TOOL 1", "TOOL 2").replace(AT_90, f"T1 M6\n{ON}"),
        ),
        (
            "the first motion of the last cuts, and no stop follows",
            BEGUN[: BEGUN.rindex("G0 Z20\nM5\n(TURN")]
            + BEGUN[BEGUN.index("(PASS 3") : BEGUN.index("(BEGUN HERE: TOOL")]
            + "(BEGUN HERE: WORK STANDS AT 90 DEG AND TOOL 1 IN THE SPINDLE AND CALLED)\nG1 X-2 F100\nG0 Z20\nM5\nM2\n",
        ),
        ("feeds too fast", BEGUN.replace("F100", "F700")),
        ("no stop at the end", BEGUN.replace("M5\nM0\nM2", "M5\nM2")),
    ):
        for number_of in (1, 2, 3):
            yield f"# {name}, from pass {number_of}"
            at = begin_at(text, NGC, "p.ngc", number_of)
            turns = at.program.turns
            yield f"  {len(turns)} turns, the last in line {turns[-1].line}, begun in line {at.line}"
            found = simulate_mill(at.program, WORK, TOOLS, drive=DRIVE, begun=at, clearance=0.5)
            yield from (f"  {_told(f)}" for f in found.findings if f.kind != "uncut")
            yield from (f"  warning {_told(f)}" for f in found.warnings)
            yield from (f"  {line}" for line in _result(found) if line[0] != "a")


READ: tuple[str, ...] = (
    "G0 A90\nG0 X1\n",
    "G0A90\nX1\n",
    "G0 X1\nG0 A90\nX2\n",
    "G0 X1\nG0 A90\nG0 X2\nX3\n",
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


def _told(found: Finding) -> str:
    place = "" if found.at is None else f"; at {' '.join(map(number, (found.at.z, found.y, found.at.x)))}"
    rest = f"; T{found.tool}" * bool(found.tool) + f"; {found.obstacle}" * bool(found.obstacle)
    return f"{found.line}: {found.kind}: {found.what} ({number(found.amount)}){place}{rest}"


def _result(found: MillSimulation) -> Iterator[str]:
    near = (
        f"nothing near, {found.closest_line}"
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
    for end in ("G0 X1\nG0 A90", "G0 A90\nG0 X1", "G0 X1\nM2\nG0 A90"):
        turns = read_program(f"G21 G17 G90 G94\n{end}", NGC, "p.ngc").turns
        yield f"# {end!r} and no more: {[(t.line, t.angle) for t in turns]}"
    for body in READ:
        yield f"# {body!r}"
        yield from turned(body, NGC)
    for body in ("g0 a90.\n", "G0 A90.\n", "G0 a90.\n"):
        yield f"# {body!r}, in capitals alone"
        yield from turned(body, BY_TURN)


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "turns": told_of_turns,
    "stops": partial(told, driven),
    "squares": partial(told, squares),
    "ways": partial(told, ways),
    "edges": partial(told, edges),
    "begun": begun,
    "tapers": partial(told, tapers),
}
