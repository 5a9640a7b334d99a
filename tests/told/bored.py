"""Small programs of a hole on the mill, each with one thing changed, and all that their judge says of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Any

from cam.setting.milled import CrossHole, MillWork, bar
from tests.mill_case import HERE
from tests.told.mill import DRILL, DRIVE, END, HEAD, MILL, SECTIONS, SPOT, TAP, TIPPED, TURNED, Case, changed, told

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
DRILLED = MillWork(sections=SECTIONS, fixtures=(bar("nut", -50.0, -30.0, 32.0),), holes=(HOLE,), under=-20.0)
"""Over its flat (6 mm long) the round of 7 mm is 6.5 high; the hole ends at 2.0, and so its point at 0.5."""
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

BORING: dict[str, Any] = {"drive": DRIVE, "clearance": 0.5, "work": DRILLED}


def bored(*pairs: tuple[str, str], **more: Any) -> tuple[str, dict[str, Any]]:
    """Return the program of the hole with some words changed, and how it is judged."""
    return changed(*pairs, text=BORED), {**BORING, **more}


def wanted(**more: Any) -> dict[str, Any]:
    """Return that another hole is wanted."""
    return {"work": replace(DRILLED, holes=(replace(HOLE, **more),))}


def reaches() -> Iterator[Case]:
    """Yield programs of the hole with tools whose edges are just long enough, and just too short."""
    for edges in (6.0, 5.9):
        yield f"a drill with {edges} of edges", *bored(tools=(MILL, SPOT, replace(DRILL, flutes=edges), TAP))
    for edges, shank in ((4.0, 3.0), (3.9, 3.0), (3.9, 2.9)):
        tap = replace(TAP, flutes=edges, shank_diameter=shank)
        yield f"a tap with {edges} of edges, its shank {shank}", *bored(tools=(MILL, SPOT, DRILL, tap))


def holes() -> Iterator[Case]:
    """Yield programs of the hole, one thing changed in each."""
    yield "a good hole", *bored()
    for angle, size in ((150.0, 6.0), (0.0, 6.0), (90.0, 3.0)):
        own = replace(SPOT, point_angle=angle, diameter=size)
        yield f"spotted by a point of {angle:g}, {size:g} wide", *bored(tools=(MILL, own, DRILL, TAP))
    for angle in (90.0, 118.0):
        own = replace(DRILL, point_angle=angle, diameter=3.0009)
        yield f"a drill of 3.0009, its point {angle:g}", *bored(tools=(MILL, SPOT, own, TAP))
    for diameter in (3.125, 3.126):
        own = replace(DRILL, diameter=diameter)
        yield f"a drill of {diameter}, at a tolerance of 0.125", *bored(tools=(MILL, SPOT, own, TAP), tolerance=0.125)
    for z in ("0.4985", "0.4995", "0.5005", "0.5015"):
        yield f"drilled to {z}", *bored(("Z0.5 R7.5 Q2", f"Z{z} R7.5 Q2"))
    for depth in ("Z-6.9", "Z-8.499", "Z-8.502", "Z-20.1"):
        yield f"right through, drilled to {depth}", *bored(("Z0.5 R7.5 Q2", f"{depth} R7.5 Q2"), **wanted(through=True))
    yield (
        "through from the other side",
        *bored(("A45", "A225"), ("Z0.5 R7.5 Q2", "Z-8.6 R7.5 Q2"), **wanted(through=True)),
    )
    yield "blind from the other side", *bored(("A45", "A225"))
    yield "turned to 405", *bored(("A45", "A405"))
    for way in ("X-8 Y0.125", "X-8 Y0.126", "X-8.125 Y0", "X-7.874 Y0"):
        yield f"drilled at {way}, at a tolerance of 0.125", *bored(("G83 X-8 Y0", f"G83 {way}"), tolerance=0.125)
    yield "spotted to Z5.0, at a tolerance of 0.125", *bored(("Z5.3 R7.5", "Z5.0 R7.5"), tolerance=0.125)
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
    yield "a flat milled at 2500 turns", *bored(("A0\nS1000 M3", "A0\nS2500 M3"))
    yield "a tap to the hole's full depth", *bored(("Z2.5 R7.5", "Z2.0 R7.5"))
    yield "a tap 0.3 deeper", *bored(("Z2.5 R7.5", "Z1.7 R7.5"))
    yield (
        "a tap 0.3 deeper, right through",
        *bored(("Z0.5 R7.5 Q2", "Z-8.6 R7.5 Q2"), ("Z2.5 R7.5", "Z1.7 R7.5"), **wanted(through=True)),
    )
    yield from reaches()
    for feed in ("F149.8", "F149.9", "F150.1", "F150.2"):
        yield f"tapped at {feed}", *bored(("F150", feed))
    for way in ("G0 X-7\nG0 X-8", "G0 Z11\nG0 Z12", "G0 Z13"):
        backward = ("S300 M3\n", f"S300 M4\n{way}\nM3\n")
        yield f"the tap moved by {way!r}, turning backward", *bored(backward)
    for feed in ("F499.5", "F500.5", "F500.6"):
        fast = ("S300 M3\n", "S1000 M3\n")
        yield f"tapped at 1000 turns, {feed}", *bored(fast, ("F150", feed))
    yield "tapped by the turn", *bored(("G99 G84", "G95 G99 G84"), ("F150", "F0.5"))
    yield from orders()


def orders() -> Iterator[Case]:
    """Yield programs of the hole whose steps are left out or come in another order."""
    no_drill = BORED[: BORED.index("(PUT IN THE 3 MM DRILL")] + BORED[BORED.index("(PUT IN THE TAP") :]
    yield "not drilled", no_drill, BORING
    no_spot = ("G99 G81 X-8 Y0 Z5.3 R7.5 F50\nG80\n", "")
    yield "no spot and a flat", *bored(no_spot)
    bare_text, bare = BORED.replace(SEAT, ""), {**BORING, **wanted(flat_depth=0.0)}
    yield "spotted on the bare round", bare_text, bare
    yield "neither spot nor flat", changed(no_spot, text=bare_text), bare
    spot, drill, tap = (bare_text.index(f"(PUT IN THE {word}") for word in ("SPOT", "3 MM", "TAP"))
    late = bare_text[:spot] + bare_text[drill:tap] + bare_text[spot:drill] + bare_text[tap:]
    yield "spotted after it is drilled", late, bare
    first = bare_text[:spot] + bare_text[tap : -len(END)] + "G0 Z20\nM5\nG0 X20\n" + bare_text[drill:tap] + END
    yield "tapped before it is drilled, and not spotted", first, bare
    yield (
        "the same, and the shop has no spot drill",
        changed(no_spot, text=bare_text),
        {**BORING, **wanted(flat_depth=0.0, spotted=False)},
    )


def seats() -> Iterator[Case]:
    """Yield programs of the hole with another flat, another hole wanted, or less said."""
    yield "a good hole", *bored()
    yield "the flat is left out", BORED.replace(SEAT, ""), BORING
    for z in ("6.5008", "6.5015", "6.4992", "6.4985"):
        yield f"the flat lies at {z}", *bored(("Z6.5", f"Z{z}"))
    for z in ("6.625", "6.626", "6.375", "6.374"):
        yield f"the flat lies at {z}, at a tolerance of 0.125", *bored(("Z6.5", f"Z{z}"), tolerance=0.125)
    for x in ("-9.5", "-6.5"):
        gap = "".join(f"G0 Z20\nG0 X{float(x) + side}\nG0 Y-8\nG0 Z6.5\nG1 Y8 F100\n" for side in (-3.1, 3.1))
        yield f"the flat is milled but for a rib at {x}", BORED.replace(SEAT, f"{gap}G0 Z20\n"), BORING
    for y in (-1.3, 1.3):
        gap = "".join(f"G0 Z20\nG0 X-14\nG0 Y{y + side}\nG0 Z6.5\nG1 X-2 F100\n" for side in (-3.1, 3.1))
        yield f"the flat is milled but for a rib along, {y} aside", BORED.replace(SEAT, f"{gap}G0 Z20\n"), BORING
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
        BORING,
    )
    yield "what lies below", *bored(("Z0.5 R7.5 Q2", "Z-20.0 R7.5 Q2"), **wanted(through=True))


TOLD: dict[str, Callable[[], Iterator[str]]] = {"holes": partial(told, holes), "seats": partial(told, seats)}
