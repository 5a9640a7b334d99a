"""Small pages of the mill, set out by hand, each with one thing changed, and all that their reader says of each.

The work is that of tests/told/mill.py and tests/told/bored.py: a square of 4 mm on a bar of 6 mm, a hole of 3 mm in one
of 14 mm. Readings are worked out here: X and Y by 0.02 mm a division and 2 mm a turn, Z by 0.01 mm and 1 mm.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import Any

from cam.ground.quantity import Quantity
from cam.judge.driven import Drive
from cam.setting.milled import MillWork, bar
from cam.sheet.dials import Unit
from cam.sheet.mill import MillSheetVerdict, is_mill_sheet, judge_mill_sheet
from cam.shop.machine import Slide
from cam.shop.mill import Cutter, Mill
from tests.specimens import HERE, drum_arbor, quantity
from tests.told.bored import DRILLED, HOLE
from tests.told.by_thread import said as with_given
from tests.told.mill import DRILL, DRIVE, MILL, SLOPED, SPOT, TAP, TIPPED, WORK
from tests.told.mill import SQUARE as SQUARE_WANTED
from tests.told.pages import lost, moved
from tests.told.pages import told as said
from tests.told.programs import places

TOOLS = (replace(MILL, deepest_cut=1.2), SPOT, DRILL, TAP)


def slide(division: float, reading: Any = "dial", counts: Any = "up", backlash: float = 0.05) -> Slide:
    """Return a slide of a mill, a hundred divisions a turn."""
    return Slide(
        reading=reading,
        habit="diameter",
        counts=counts,
        division=quantity(division),
        turn=quantity(100 * division),
        backlash=quantity(backlash),
        where=HERE,
    )


def mill_of(x: Slide | None, y: Slide | None, z: Slide | None, **more: Any) -> Mill:
    """Return the samples' mill with other slides, a square's taper by a ramp."""
    milling = drum_arbor()[1].milling
    assert milling is not None
    assert milling.mill is not None
    return replace(milling.mill, **({"x": x, "y": y, "z": z, "square_by": "ramped"} | more))


DIALS = mill_of(slide(0.02), slide(0.02), slide(0.01))
FALLING = mill_of(slide(0.02, counts="down"), slide(0.02, counts="down"), slide(0.01, counts="down"))
READOUTS = mill_of(slide(0.01, "readout"), slide(0.01, "readout"), slide(0.005, "readout"))
BARE = mill_of(None, None, None)

SQUARE_HEAD = """ARBOR: THE SQUARE, ON THE MILL
==============================
X DIAL  a division is 0.02, 100 a turn, rises toward the tip; 6+00 is X 15.00
        Set it to 6+00 as it says.
Y DIAL  a division is 0.02, 100 a turn, rises away from you; 4+00 is Y 0.00
        Set it to 4+00 as it says.
Z DIAL  a division is 0.01, 100 a turn, rises going down; 0+00 is Z 3.00
        Set it to 0+00 as it says.

pass  cut  turn  left  below  Z dial
-- T1, 6 mm end mill; about 1000 rpm; feed 100 a minute
-- path: in to X dial 0+05, Y dial 1+00; Z to the row's; across to Y dial 5+15; back past Y dial 4+00 and up to it; \
lock Y; out to X dial 6+25; Z up
"""
SIZES = (
    (1, "flat 1 to round at 6.00: 5.00"),
    (3, "across flats 1 and 3 at 6.00: 4.00"),
    (2, "flat 2 to round: 5.00"),
    (4, "across flats 2 and 4: 4.00"),
)
FLATS = "".join(
    f"[ ] {2 * at + 1}  flat {n}, layer 1 of 2  side {n} up  0.50  0.50  0+50\n"
    f"[ ] {2 * at + 2}  flat {n}, layer 2 of 2  side {n} up  0.00  1.00  1+00\n"
    f"MEASURE  {size} ________\n"
    for at, (n, size) in enumerate(SIZES)
)
AFTER = "MEASURE  mean of the pairs: 4.00 ________\nBEFORE IT IS TAKEN OUT\n6.00  4.00  4.00 to 4.00\n"
SQUARE = f"{SQUARE_HEAD}{FLATS}{AFTER}"
HOLE_PAGE = """ARBOR: HOLE, ON THE MILL
==============================
ANGLE  45 deg clockwise from the middle of flat 1
X DIAL  a division is 0.02, 100 a turn, rises toward the tip; 4+00 is X 0.00
        Set it to 4+00 as it says.
Y DIAL  a division is 0.02, 100 a turn, rises away from you; 6+00 is Y 0.00
        Set it to 6+00 as it says.
Z DIAL  a division is 0.01, 100 a turn, rises going down; 0+00 is Z 7.00
        Set it to 0+00 as it says.
TOUCH  at X dial 1+80, Y dial 6+00, beside all that is cut

pass  cut  below  Y dial  Z dial
-- place: X dial 0+00, Y dial 6+00
-- T1, 6 mm end mill; about 1000 rpm; feed 100 a minute
1  small flat, across  0.50  2+00 to 10+00  0+50
-- T2, spot drill; about 1000 rpm; feed 50 a minute
2  spot  1.70  1+70
-- T3, 3 mm drill; about 1000 rpm; feed 0.1 mm a turn
3  drill  6.50  6+50
   drawn out to clear the chips at Z dial 2+50, 4+50
-- T4, tap; about 300 rpm; feed 0.5 mm a turn
4  tap  by hand
"""
THROUGH = (
    HOLE_PAGE.replace("pass  cut", "BELOW  1.60, the drill's point comes out\n\npass  cut", 1)
    .replace("drill  6.50  6+50", "drill  15.60  15+60")
    .replace("2+50, 4+50", "2+50, 6+00, 9+50, 13+00")
)


FLATLESS = re.sub(r"-- T1.*\n1 .*\n", "", HOLE_PAGE)
FLATLESS = FLATLESS.replace("2  spot", "1  spot").replace("3  drill", "2  drill").replace("4  tap", "3  tap")


def as_readouts(text: str) -> str:
    """Return a page for readouts in place of dials, with what they show."""
    text = re.sub(r"([XYZ]) DIAL  a division is 0\.0(\d), 100 a turn", _step, text)
    text = re.sub(r"(?<= Z dial) (\d+)\+(\d\d)", lambda m: f" {m[1]}.{m[2]}", text)
    text = re.sub(r"(?<=  )(\d+)\+(\d\d)(?=\n)|(?<=\n)(\d+)\+(\d\d)", lambda m: f"{m[1]}.{m[2]}", text)
    text = re.sub(r"; 0\+00 is Z", "; 0.00 is Z", text)
    text = re.sub(r"(?<=, )(\d+)\+(\d\d)(?=[,\n])", lambda m: f"{m[1]}.{m[2]}", text)
    text = re.sub(r"(\d+)\+(\d\d)", lambda m: f"{2 * (int(m[1]) + int(m[2]) / 100):.2f}", text)
    return text.replace(" dial", " reads")


def _step(found: re.Match[str]) -> str:
    return f"{found[1]} READS  a step is {'0.005' if found[1] == 'Z' else '0.01'}"


def as_falling(text: str) -> str:
    """Return a page for dials that count the other way from the same zeros, each ten turns further."""
    at = {line[0]: line for line in text.splitlines() if " DIAL " in line}
    zeros = {axis: int(re.findall(r"; (\d+)\+", line)[0]) for axis, line in at.items()}

    def turned(axis: str, reading: str) -> str:
        turns, rest = (int(v) for v in reading.split("+"))
        count = 100 * (zeros[axis] + 20) - (100 * turns + rest - 100 * zeros[axis])
        return f"{count // 100}+{count % 100:02d}"

    text = text.replace("rises", "falls")
    text = re.sub(r"(?<=; )(\d+\+\d\d)(?= is ([XYZ]))", lambda m: turned(m[2], m[1]), text)
    text = re.sub(r"([XYZ]) dial (\d+\+\d\d)", lambda m: f"{m[1]} dial {turned(m[1], m[2])}", text)
    text = re.sub(r"(\d+\+\d\d) to (\d+\+\d\d)", lambda m: f"{turned('Y', m[1])} to {turned('Y', m[2])}", text)
    text = re.sub(r"(?<=  )(\d+\+\d\d)(?=\n)", lambda m: turned("Z", m[1]), text)
    return re.sub(r"(?<=, )(\d+\+\d\d)(?=[,\n])", lambda m: turned("Z", m[1]), text)


BARE_SQUARE = """ARBOR: THE SQUARE, ON THE MILL
==============================
X FIGURES  rises toward the tip; 0.00 is X 15.00
        Set it to 0.00 as it says.
Y FIGURES  rises away from you; 0.00 is Y 0.00
        Set it to 0.00 as it says.
Z FIGURES  rises going down; 0.00 is Z 3.00
        Set it to 0.00 as it says.

pass  cut  turn  left  below
-- T1, 6 mm end mill; about 1000 rpm; feed 100 a minute
-- path: in to X -11.90, Y -6.00; Z to the row's; across to Y 2.30; back past Y 0.00 and up to it; lock Y; \
out to X 0.50; Z up
""" + re.sub(r"  \d\+\d\d\n", "\n", FLATS + AFTER)


def verdict(
    text: str, work: MillWork, mill: Mill, name: str, *, unit: Unit = "mm", drive: Drive | None = DRIVE,
    tools: Sequence[Cutter] = TOOLS,
) -> MillSheetVerdict:  # fmt: skip
    """Judge a page."""
    return judge_mill_sheet(text, work, mill, tools, name=name, path="page", unit=unit, drive=drive)


def hand(found: MillSheetVerdict) -> Iterator[str]:
    """Yield what a hand does by a page, and the rows that it cuts by."""
    for m in found.program.motions:
        yield f"  {m.line} {m.kind} {places(m.end)} F{m.feed:g} S{m.rpm:g} T{m.tool} {m.offset} {m.system} {m.spindle}"
    yield f"  turned {[tuple(t) for t in found.program.turns]}"
    yield f"  rows {[tuple(r) for r in found.rows]} {found.by_program} {found.measured} {found.program.lines}"


SQUARE_EDITS = (
    ("layer 1 of 2", "path 1 of 2"),
    ("back past Y dial 4+00", "back past the row's Y"),
    ("T1, 6 mm end mill", "T1, 6-mm END mill"),
    ("T1, 6 mm end mill", "T7, saw"),
    ("T1, 6 mm end mill", "T1, saw"),
    ("feed 100 a minute", "feed 0.1 mm a turn"),
    ("feed 100 a minute", "feed 4 thou a turn"),
    ("feed 100 a minute", "feed 4 miles a turn"),
    ("15.00", "15.002"),
    ("15.00", "15.003"),
    ("15.00", "14.997"),
    ("is Z 3.00", "is Z 3.01"),
    ("0.50  0.50  0+50", "0.50  0.51  0+50"),
    ("0.50  0.50  0+50", "0.50  0.505  0+50"),
    ("0.50  0.50  0+50", "0.50  0.5  0+50"),
    ("0.50  0.50  0+50", "0.51  0.50  0+50"),
    ("0.50  0.50  0+50", "0.502  0.50  0+50"),
    ("0.50  0.50  0+50", "0.5015  0.50  0+50"),
    ("0.50  0.50  0+50", "0.50  0+50"),
    ("0.50  0.50  0+50", "0.50 0.50  0+50"),
    ("0.50  0.50  0+50", "by hand"),
    ("side 1 up", "turned 0.01"),
    ("side 1 up", "turned 0.011"),
    ("side 1 up", "turned 90"),
    ("flat 1, layer 1", "flat 5, layer 1"),
    ("flat 1, layer 1", "flat 0, layer 1"),
    ("flat 1, layer 1", "flat 4, layer 1"),
    ("flat 1, layer 1 of 2", "face 1"),
    ("[ ] 2  ", "[ ] 3  "),
    ("[ ] 2  ", "2  "),
    ("[ ] 2  ", "[x] 2000  "),
    ("[ ] 2  flat 1, layer 2 of 2  side 1 up", "[ ] 2  flat 1, layer 2 of 2\nside 1 up"),
    ("across flats 1 and 3 at 6.00: 4.00", "across flats 1 and 3: 4.001"),
    ("across flats 1 and 3 at 6.00: 4.00", "across flats 1 and 3: 4.0004"),
    ("across flats 1 and 3 at 6.00: 4.00", "across flats 1 and 2: 4.00"),
    ("across flats 1 and 3 at 6.00: 4.00", "across flats 1 and 9: 4.00"),
    ("flat 2 to round: 5.00", "flat 2 to round: 4.00"),
    ("mean of the pairs: 4.00", "mean of the pairs: 4.0006"),
    ("mean of the pairs: 4.00", "mean: 4.00"),
    ("mean of the pairs: 4.00 ________", "mean of the pairs"),
    ("pass  cut", "cut  pass"),
    ("-- path:", "-- way:"),
    ("in to X dial", "to X dial"),
    ("ARBOR: THE", "X DIAL  so\nARBOR: THE"),
    ("4.00 ________\n", f"4.00 ________\nNOTES\n{'=' * 30}\nX DIAL  so\n"),
    ("mean of the pairs: 4.00 ________", f"mean of the pairs: 4.00 ________\nNOTES\n{'=' * 30}\nX DIAL  so\n"),
    ("X DIAL", "X READS"),
    ("X DIAL", "X DAIL"),
    ("Set it to 6+00", "Set it to 0+00"),
    ("Set it to 0+00", "It is 0+00"),
    ("0.02, 100 a turn, rises toward", "0.025, 100 a turn, rises toward"),
    ("0.02, 100 a turn, rises toward", "0.02, 50 a turn, rises toward"),
    ("rises away", "falls away"),
    ("THE SQUARE", "THE HEXAGON"),
    ("ON THE MILL\n", "ON THE MILL, continued\n"),
    ("Z DIAL", "SHIM  0.25, 50.00 from the edge\nZ DIAL"),
    ("Z DIAL", "ANOTHER: THE SQUARE, ON THE MILL\n==============================\nZ DIAL"),
    ("Z DIAL", "NOTES\n==============================\nZ DIAL"),
    ("side 2 up  0.50  0.50  0+50", "side 2 up"),
)
HOLE_EDITS = (
    ("place: X dial 0+00", "place: X dial 0+01"),
    ("place: X dial 0+00", "place: X 0+00"),
    ("place: X dial 0+00", "place: at X dial 0+00"),
    ("0+00, Y dial 6+00", "0+00, Y dial 6+01"),
    ("1+80, Y dial 6+00", "1+80, Y dial 6+01"),
    ("1+80, Y dial 6+00", "1+80, Y dial 6+02"),
    ("0+00 is Z 7.00", "0+00 is Z 7.002"),
    ("0+00 is Z 7.00", "0+00 is Z 7.003"),
    ("is Y 0.00", "is Y 0.003"),
    ("is X 0.00", "is X 0.003"),
    ("X dial 1+80", "X dial 1+48"),
    ("X dial 1+80", "X dial 0+10"),
    ("X dial 1+80", "X dial 12+00"),
    ("at X dial 1+80, Y dial 6+00, beside", "on a slip laid along the round, beside"),
    ("TOUCH", "TOUGH"),
    ("45 deg", "44 deg"),
    ("45 deg", "225 deg"),
    ("ANGLE", "ANGEL"),
    ("1.70  1+70", "0.90  0+90"),
    ("1.70  1+70", "1.10  1+10"),
    ("1.70  1+70", "1.09  1+09"),
    ("1.70  1+70", "1.71  1+71"),
    ("6.50  6+50", "6.49  6+49"),
    ("6.50  6+50", "6.51  6+51"),
    ("2+50, 4+50", "2+50"),
    ("2+50, 4+50", "2+50, 2+50"),
    ("2+50, 4+50", "2+74, 4+50"),
    ("2+50, 4+50", "2+76, 4+50"),
    ("2+50, 4+50", "2+50, 4+50, 6+40"),
    ("   drawn out to clear the chips at Z dial 2+50, 4+50\n", ""),
    ("drawn out to", "taken out to"),
    ("0.50  2+00 to 10+00  0+50", "0.51  2+00 to 10+00  0+51"),
    ("0.50  2+00 to 10+00  0+50", "0.50  0+50"),
    ("0.50  2+00 to 10+00  0+50", "0.50  2+00 to 6+00  0+50"),
    ("tap  by hand", "tap  4.50  4+50"),
    ("-- place", "-- spot"),
    ("T3, 3 mm drill", "T2, spot drill"),
    ("pass  cut", "BELOW  1.60, the point comes out\n\npass  cut"),
    ("pass  cut  below", "pass  cut  above"),
    ("Z DIAL  a division is 0.01", "Z DIAL  a division is 0.02"),
    ("Z DIAL", "SHIM  0.25, 50.00 from the edge\nZ DIAL"),
    ("Z DIAL", "MEASURE  hole: 3.00 ________\nZ DIAL"),
    ("4  tap  by hand\n", "4  tap  by hand\nMEASURE  hole: 3.00 ________\n"),
)
TIP = replace(WORK, frame=TIPPED, square=SLOPED)


def pages() -> Iterator[tuple[str, str, MillWork, Mill, str, Sequence[tuple[str, str]]]]:
    """Yield pages by name: text, work, mill, name of the work, and what is changed on it."""
    yield "square", SQUARE, WORK, DIALS, "the square", SQUARE_EDITS
    yield "square, falling", as_falling(SQUARE), WORK, FALLING, "the square", ()
    yield "square, readouts", as_readouts(SQUARE), WORK, READOUTS, "the square", ()
    yield "square, no dials", BARE_SQUARE, WORK, BARE, "the square", ()
    figures = mill_of(slide(0.02, "none"), slide(0.02, "none"), slide(0.01, "none"))
    yield "square, figures", BARE_SQUARE, WORK, figures, "the square", ()
    yield "hole", HOLE_PAGE, DRILLED, DIALS, "hole", HOLE_EDITS
    yield "hole, falling", as_falling(HOLE_PAGE), DRILLED, FALLING, "hole", ()
    yield "hole, readouts", as_readouts(HOLE_PAGE), DRILLED, READOUTS, "hole", ()
    through = replace(DRILLED, holes=(replace(HOLE, through=True, depth=14.0),))
    bare = replace(DRILLED, holes=(replace(HOLE, flat_depth=0.0, flat_size=0.0),))
    yield "hole without a flat", FLATLESS, bare, DIALS, "hole", ()
    yield "hole right through", THROUGH, through, DIALS, "hole", (("BELOW  1.60", "BELOW  1.61"), ("BELOW", "BELLOW"))


def of_pages(only: str) -> Iterator[str]:
    """Yield what a hand does by pages of one kind, and what is said of each with one thing wrong."""
    for name, text, work, mill, title, edits in pages():
        if not name.startswith(only):
            continue
        found = verdict(text, work, mill, title)
        yield f"{name}: {is_mill_sheet(text)} {said(found.problems)}"
        yield from hand(found)
        lines = range(2, 12 if edits and only == "square" else text.count("\n") if edits else 8)
        for old, new in edits:
            if old in text:
                other = verdict(text.replace(old, new, 1), work, mill, title)
                yield f"{old!r} -> {new!r}: {with_given(other.problems[:3])}"
        for label, damaged in (*moved(text, lines), *lost(text, lines)):
            if edits or " lost" not in label:
                yield f"{label}: {said(verdict(damaged, work, mill, title).problems)}"


def of_others() -> Iterator[str]:
    """Yield what is said of a page by another work, another unit, other clearances and other tools."""
    tip = mill_of(slide(0.02), slide(0.02), slide(0.01), square_by="tipped block")
    for name, work, mill in (
        ("another square", replace(WORK, square=replace(SQUARE_WANTED, across=3.97)), DIALS),
        ("a longer square", replace(WORK, wall=0.09), DIALS),
        ("a square a little longer", replace(WORK, wall=0.085), DIALS),
        ("a shorter square", replace(WORK, wall=0.115), DIALS),
        ("tipped, no shim", TIP, tip),
        ("tipped, ramped", TIP, DIALS),
        ("level, on a block that can be tipped", WORK, tip),
    ):
        yield f"{name}: {said(verdict(SQUARE, work, mill, 'the square').problems)}"
    inches = product(("0.0098 in", "0.0099 in"), ("1.969 in",))
    for shim, far in (*product(("0.25", "0.251", "0.2515", "0.2485"), ("50.00",)), *inches):
        text = SQUARE.replace("Z DIAL", f"SHIM  {shim}, {far} from the edge, under it\nZ DIAL")
        yield f"shim of {shim} {far} away: {said(verdict(text, TIP, tip, 'the square').problems[:2])}"
    for clearance in (18.99, 19.01, 19.03, 20.0):
        mill = replace(DIALS, contact_clearance=quantity(clearance))
        yield f"to be clear by {clearance}: {said(verdict(HOLE_PAGE, DRILLED, mill, 'hole').problems)}"
    for flat, depth in (
        (6.0, 5.0),
        (6.01, 5.0),
        (6.02, 5.0),
        (6.04, 5.0),
        (5.96, 5.0),
        (6.0, 5.004),
        (6.0, 5.006),
        (6.0, 5.0065),
        (6.0, 5.007),
        (6.0, 4.993),
    ):
        work = replace(DRILLED, holes=(replace(HOLE, flat_size=flat, depth=depth),))
        yield f"a flat of {flat}, {depth} deep: {said(verdict(HOLE_PAGE, work, DIALS, 'hole').problems)}"
    for deepest in (0.485, 0.4875, 0.4885, 0.495):
        own = (replace(MILL, deepest_cut=deepest), *TOOLS[1:])
        yield f"layers of {deepest}: {said(verdict(SQUARE, WORK, DIALS, 'the square', tools=own).problems)}"
    for clearance, end in product((0.01, 0.4, 0.6), (-11.5, -11.01)):
        work = replace(DRILLED, fixtures=(bar("nut", -50.0, end, 20.0),))
        mill = replace(DIALS, contact_clearance=quantity(clearance))
        yield f"a nut to {end}, clear by {clearance}: {said(verdict(HOLE_PAGE, work, mill, 'hole').problems[:1])}"
    thou = Quantity(0.0254, "0.001 in", HERE)
    inch = replace(slide(0.02), division=thou, turn=quantity(2.54))
    for said_of in ("0.001", "0.0254", "0.02"):
        text = SQUARE.replace("X DIAL  a division is 0.02", f"X DIAL  a division is {said_of}")
        found = verdict(text, WORK, mill_of(inch, slide(0.02), slide(0.01)), "the square")
        yield f"X by a thou, said to be {said_of}: {with_given(found.problems[:2])}"
    yield f"in inches: {said(verdict(SQUARE, WORK, DIALS, 'the square', unit='in').problems)}"
    yield f"no drive: {said(verdict(SQUARE, WORK, DIALS, 'the square', drive=None).problems)}"
    by_hand = re.sub(r"(?m)^(\[ \] \d  flat \d, layer \d of \d  side \d up).*", r"\1  by hand", SQUARE)
    for text in (by_hand, by_hand.replace("by hand", "0.50  0.50  0+50", 1)):
        found = verdict(text, WORK, DIALS, "the square")
        yield f"by the program: {found.by_program} {said(found.problems)}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "square by hand": lambda: of_pages("square"),
    "hole by hand": lambda: of_pages("hole"),
    "others by hand": of_others,
}
