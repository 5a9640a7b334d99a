"""Small programs of the lathe, each with one thing changed, and all that their judge says of each.

The work is the bar of tests/simulate_case.py: 16 mm thick, a pivot of 8 mm to Z -6 and a seat of 10 mm to Z -16. The
other setting has what the first lacks: a chamfer, a fillet, an undercut, a taper, lengths with limits.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator
from dataclasses import replace
from functools import partial
from itertools import chain as joined
from typing import Any
from zlib import crc32

from cam.geometry.path import Arc, Segment
from cam.judge import simulate
from cam.judge.envelope import to_chain, trough
from cam.judge.limits import within_limits
from cam.judge.model import Approach, Finding, Simulation
from cam.judge.sizes import cut_sizes
from cam.judge.surfaces import sized_by_x
from cam.part.features import Corner, Edge, Tolerance
from cam.part.threads import Thread
from cam.rs274 import Rules, read_program
from cam.rs274.begin import begin_at
from cam.rs274.model import Program
from cam.setting.model import Correction, Setting, Slot, ThreadWanted, Turned
from cam.setting.profiles import draw_least, draw_most
from cam.shop.machine import NO_FACTS
from cam.shop.model import Shop, Threading
from tests.simulate_case import OBSTACLES, box, chain, make_setting, make_shop, slide, turned
from tests.specimens import HERE, drum_arbor, grooving_tool, outline, turning_tool
from tests.told.programs import figure, places, slips

NGC = Rules(standard="NISTIR 6556", x_words="radius")
EIA = Rules(standard="EIA-274-D", x_words="radius")


def level(x: float, z: float, out: float, start: float = 0.5) -> str:
    """Return the text of one cut at radius x to z, faced out to radius out."""
    return f"G0 X20\nZ{start}\nX{x + 0.5:g}\nG1 X{x} F30\nZ{z}\nX{out:g}\n"


HEAD = (
    "G21 G18 G40 G49 G80 G90 G94\nT1 M6\nG54\nG0 X20\n(PROVE X)\nM0\nZ0.5\n(PROVE Z. SET THE BELT TO A2)\nM0\nS600 M3\n"
)
ROUGH = "".join(level(x, -15.9, x + 0.8 if x > 5.2 else 8.2) for x in (7.3, 6.6, 5.9, 5.2)) + level(4.6, -5.9, 5.3)
BOTH = level(5.0, -16, 8.2, -5.3) + level(4.0, -6, 5.2)
MEASURED = "G0 X20\nM5\n(MEASURE THE PIVOT)\nM0\n"
GOOD = (
    HEAD
    + ROUGH
    + level(4.2, -5.9, 5.3)
    + MEASURED
    + "G0 Z0.5\nX4.5\n(TRY A SLIP ON THE PIVOT)\nM0\nS600 M3\n"
    + BOTH
    + MEASURED
    + "M2\n"
)
ARCS = (
    HEAD + "(PASS 1 OF 3)\nN1 G21 G18 G40 G49 G80 G90 G94\n" + ROUGH + "M5\n(PASS 2 OF 3)\n"
    "(BELT ON B1. TOOL 1 IN THE POST AND CALLED)\n(X 4.6 ON PIVOT, DIAMETER 9.2, Z -5.9 ON THE SHOULDER PAST PIVOT)\n"
    "N2 G21 G18 G40 G49 G80 G90 G94\nG54\n(BELT B1)\nM0\nS1000 M3\nG0 X20\nZ0.3\nX3.5\nG1 X3.3 F40\n"
    "G1 X4 Z-0.4\nZ-5.5\nG2 X4.3 Z-5.8 I0.3 K0\nG1 X5.1 F20\nG0 X20\nM5\n"
    "(MSG, PUT IN T2, THE UNDERCUT TOOL. BELT A1)\nM0\n"
    "(PASS 3 OF 3)\nN3 G21 G18 G40 G49 G80 G90 G94\nT2 M6\nG55\nG0 X20\nZ-15.8\nS320 M3\nX6\n"
    "G1 X4.8 F9\nG0 X9\nX20\nG4 P2\n"
    "M5\nM2\n"
)
GROUND = ARCS[: ARCS.index("(PASS 3")].replace("G2 X4.3 Z-5.8 I0.3 K0", "G3 X4.3 Z-5.6 I0 K-0.3") + "M2\n"
VEE = turning_tool(
    number=3,
    name="vee",
    kind="threading",
    shape="",
    included=60.0,
    approach=90.0,
    nose_radius=0.1,
    edge=4.0,
    deepest_cut=0.4,
)
SQUARE = turning_tool(number=4, name="square knife", approach=90.0, shape="T", deepest_cut=1.5, hand="left")
SCREW = (
    "%\nG71 G18 G40 G80 G90 G95\nT0303\nG97 S300\nG0 X20.\n(PROVE X)\nM0\nZ3.\n(PROVE Z. SET THE BELT TO A1)\nM0\nM3\n"
    "X7.7\nG33 Z-5. K1.25\nG0 X20.\nZ3.\nX7.5\nG33 Z-5. K1.25\nG0 X20.\nZ1.75\nX7.3\n"
    "G33 Z-5. K1.25\nG0 X20.\nZ3.\nX7.245\n"
    "G33 Z-5. K1.25\nG0 X20.\nM5\nM30\n%\n"
)
OUTLINES = tuple(make_shop().tools[0].outlines)


def edge(size: float, kind: Any = "chamfer") -> Edge:
    """Return a broken edge."""
    return Edge(kind=kind, size=size, text=f"{kind} {size} mm", where=HERE)


def corner(kind: Any, radius: float = 0.0, width: float = 0.0, depth: float = 0.0) -> Corner:
    """Return an inner corner."""
    return Corner(kind=kind, radius=radius, width=width, depth=depth, text=kind, where=HERE)


def held(*rows: Turned, **more: Any) -> Setting:
    """Return a setting of sections with its outlines drawn."""
    setting = make_setting(turned=rows, **more)
    least = draw_least(rows, setting.stock, setting.limit_z)
    return replace(setting, least=least, most=draw_most(rows, setting.stock, setting.limit_z, 0.25))


def limited(one: Turned, upper: float, lower: float, **more: Any) -> Turned:
    """Return a section whose diameter has limits."""
    tolerance = Tolerance(upper=upper, lower=lower, text=f"{upper} / {lower} mm", where=HERE)
    return replace(one, section=replace(one.section, tolerance=tolerance, role="pivot"), **more)


PIVOT, SEAT = turned("pivot", 0, -6, 4, 5), turned("seat", -6, -16, 5, 8)
PLAIN = make_setting()
FINE = held(
    limited(replace(PIVOT, edge=edge(0.3), corner=corner("fillet", 0.3)), 0.0, -0.04, spare=(0.02, 0.05)),
    limited(
        replace(SEAT, edge=edge(0.2, "radius"), corner=corner("undercut", 0.0, 1.0, 0.2), far_edge=edge(0.4)),
        0.02,
        -0.01,
    ),
)
TAPER = held(
    replace(turned("pivot", 0, -6, 4, 5), radius_near=3.7, radius_far=4.0),
    replace(SEAT, far_kind="open", far_radius=5.0),
)
THREADED = replace(
    held(turned("shank", 0, -16, 8 - 0.01, 8, corner=None)),
    threads=(
        ThreadWanted(
            section="shank",
            thread=Thread("M16 x 1.25", "ISO metric", 16.0, 1.25, 60.0, "", "exact"),
            near=0.0,
            far=-5.0,
            shoulder=-16.0,
            shank=7.99,
            least=15.05,
            most=15.2,
            lowest=6.9,
            where=HERE,
        ),
    ),
)
SETTINGS = {"plain": PLAIN, "fine": FINE, "taper": TAPER, "threaded": THREADED}
BY_ENCODER = Threading(by="encoder", fastest=320.0, acceleration=100.0, leadscrew=0.0, wheels=(), where=HERE)
SHOP = make_shop(tools=(*make_shop().tools, VEE, SQUARE), threading=BY_ENCODER)
SHOP = replace(SHOP, lathe=replace(SHOP.lathe, spindle=replace(SHOP.lathe.spindle, started="program")))
STEEL = replace(
    next(iter(drum_arbor()[1].materials.values())), name="steel", speed={"HSS": (20.0, 28.0), "carbide": (60.0, 120.0)}
)


def spot(point: tuple[float, float] | None) -> str:
    """Return the figures of a place; "-" where there is none."""
    return "-" if point is None else places(point)


def finding(f: Finding) -> str:
    """Return a finding on one line."""
    more = "".join(f", {k} {v}" for k, v in (("obstacle", f.obstacle), ("tool", f.tool)) if v)
    return f"{f.line} {f.kind}: {f.what}; {figure(f.amount)} at {spot(f.at)} tip {spot(f.tip)}{more}"


def approach(a: Approach | None) -> str:
    """Return an approach on one line."""
    if a is None:
        return "none"
    ends = f"{spot(a.tip)}, {spot(a.on_tool)} to {spot(a.on_obstacle)}"
    return f"{a.line} {figure(a.distance)} {a.body} to {a.obstacle} at {ends} by {a.tool}"


def piece(s: Segment) -> str:
    """Return a piece of an outline."""
    round_ = f" round {spot(s.centre)} turn {s.turn}" if isinstance(s, Arc) else ""
    return f"{spot(s.start)} to {spot(s.end)}{round_}"


def judged(s: Simulation) -> Iterator[str]:
    """Yield all that is said of a program; check sums stand for the outline that is left and for the approaches."""
    yield from (f"  {finding(f)}" for f in s.findings)
    yield from (f"  warning {finding(f)}" for f in s.warnings)
    left, near = ([f(v) for v in rows] for f, rows in ((piece, s.result), (approach, s.approaches)))
    sums = " ".join(f"{len(rows)} {crc32(chr(10).join(rows).encode()):08x}" for rows in (left, near))
    sizes = " ".join(map(figure, (s.gouge, s.uncut, s.cutting_time, s.air_time)))
    yield f"  {sizes}; {spot(s.lowest)} to {spot(s.highest)}; {sums}; {s.tip_only}"
    yield f"  nearest {approach(s.closest)}; fixed {approach(s.closest_fixed)}"


def changed(rows: Iterator[str], known: tuple[str, ...]) -> Iterator[str]:
    """Yield the rows that are not known, and those of the known ones that are gone."""
    found = tuple(rows)
    yield from (row for row in found if row not in known)
    yield from (f"  not{row}" for row in known if row not in found and ": " in row)


def read(text: str, rules: Rules = NGC) -> Program:
    """Read a program text."""
    return read_program(text, rules)


def spoilt(text: str, setting: Setting, rules: Rules = NGC, lines: Container[int] = range(999)) -> Iterator[str]:
    """Yield what is said of a program with each figure of some of its lines moved by one in its last place."""
    known = tuple(judged(simulate(read(text, rules), setting, SHOP, material=STEEL, stops=True)))
    yield from ("# as it is", *known)
    for words, wrong in slips(text):
        if "->" in words and int(words.split()[0]) in lines:
            yield f"# {words}"
            yield from changed(judged(simulate(read(wrong, rules), setting, SHOP, material=STEEL, stops=True)), known)


def lathe(**changes: Any) -> dict[str, Any]:
    """Return a shop with some things changed on its lathe."""
    return {"shop": replace(SHOP, lathe=replace(SHOP.lathe, **changes))}


def control(**facts: Any) -> dict[str, Any]:
    """Return a shop whose control has some facts."""
    return lathe(control=replace(SHOP.lathe.control, facts=replace(NO_FACTS, **facts)))


def tools(*more: Any) -> dict[str, Any]:
    """Return a shop with other tools."""
    return {"shop": replace(SHOP, tools=more)}


LEFT = turning_tool(number=1, outlines=OUTLINES, hand="left")
HOLDER = (*OUTLINES, outline("low head", (-3, 0.5), (-1, 0.3), (-1, 3), (-3, 3)))
SPINDLE = SHOP.lathe.spindle
BACK = GOOD.replace("Z-6\nX5.2\n", "Z-6\nX5.2\nZ-5.9\n")
Case = tuple[str, str, dict[str, Any]]


def by_slides() -> Iterator[Case]:
    """Yield programs in other settings, on slides with other play, on lathes with a cone."""
    for name, setting in SETTINGS.items():
        for words, text in (("cuts", GOOD), ("arcs", ARCS), ("ground", GROUND)):
            yield f"{words}, {name}", text, {"setting": setting}
            yield f"{words}, {name}, within limits", text, {"setting": setting, "limits": True}
    for play in ((0.0, 0.0), (0.3, 0.0), (0.0, 0.3), (0.6, 0.7)):
        for text in (GOOD, ARCS, BACK):
            yield f"play {play}", text, lathe(x=slide(play[0]), z=slide(play[1]))
    for cone in (0.001, -0.002):
        for z in (0.0, -10.0):
            yield f"cone {cone} true at {z}", ARCS, {"setting": replace(FINE, cone=cone, cone_z=z)}
            more = lathe(x=slide(0.0), z=slide(0.0)) | {"setting": replace(FINE, cone=cone, cone_z=z)}
            yield f"cone {cone} true at {z}, no play", ARCS, more


def by_tools() -> Iterator[Case]:
    """Yield programs with other tools."""
    for kind, tool in (
        ("left", LEFT),
        ("low holder", turning_tool(number=1, outlines=HOLDER)),
        ("tip only", turning_tool(number=1, text="tip only")),
        ("square", turning_tool(number=1, approach=90.0, outlines=OUTLINES)),
        ("leaning", turning_tool(number=1, approach=107.0)),
        ("carbide", turning_tool(number=1, material="carbide", nose_radius=0.4)),
        ("round", turning_tool(number=1, shape="R", nose_radius=1.0)),
        ("wide nose", turning_tool(number=1, nose_radius=0.8)),
        ("short edge", turning_tool(number=1, edge=0.5)),
        ("slim", turning_tool(number=1, shape="V", approach=93.0, deepest_cut=0.4)),
        ("blade", grooving_tool(number=1, width=2.0)),
    ):
        yield f"{kind} tool", GOOD, tools(tool)
        yield f"{kind} tool, arcs", ARCS, tools(tool, grooving_tool(number=2))
    yield "other tools", GOOD, tools(grooving_tool(number=2))
    yield "no tools", GOOD, tools()


def by_settings() -> Iterator[Case]:
    """Yield programs with the work held otherwise."""
    for centre in (8.5, 10.0, 12.0):
        near = tuple(box(o.name, 0.1, o.polygon[1].z, 0, centre) if o.name == "centre body" else o for o in OBSTACLES)
        yield f"a centre of {centre}", ARCS, {"setting": replace(FINE, obstacles=near)}
    yield "a carrier in the way", GOOD, {"setting": replace(PLAIN, obstacles=(box("carrier", -20, -15, 8, 16),))}
    yield "nothing about it", GOOD, {"setting": replace(PLAIN, obstacles=())}
    yield (
        "a longer bar",
        GOOD,
        {"setting": replace(PLAIN, stock_end_z=2.0, stock=chain((2, 0), (2, 8), (-60, 8), (-60, 0)))},
    )
    yield "a thin bar", GOOD, {"stock": chain((0, 0), (0, 4.9), (-60, 4.9), (-60, 0))}
    yield "a limit", GOOD, {"setting": replace(PLAIN, limit_z=-15.9)}
    shift = Correction(section="pivot", radius=0.02, face=0.03, text="0.02 deeper")
    yield "a correction", GOOD, {"setting": replace(FINE, corrections=(shift,))}
    yield "an open end parted", GOOD, {"setting": replace(PLAIN, slot=Slot(-15.0, 1.0, 1.0))}


def by_spindles() -> Iterator[Case]:
    """Yield programs on other spindles and controls."""
    yield "by switch", GOOD, lathe(spindle=replace(SPINDLE, started="switch"))
    yield "asked for", GOOD.replace("A2)", "A2. SPINDLE ON)"), lathe(spindle=replace(SPINDLE, started="switch"))
    yield "any speed", GOOD, lathe(spindle=replace(SPINDLE, positions=()))
    for s in ("S314", "S310", "S606", "S607", "S1010", "S1012", "S30"):
        yield f"{s}, any speed", GOOD.replace("S600", s), lathe(spindle=replace(SPINDLE, positions=()))
        yield s, GOOD.replace("S600", s), {}
    yield "one zero", ARCS, control(tool_zeros="one")
    yield (
        "one zero, said",
        ARCS.replace("G55", "G54").replace("BELT A1", "SET X AND Z. BELT A1"),
        control(tool_zeros="one"),
    )
    yield "arcs as lines", ARCS, control(arcs="lines", arc_height=0.01)
    for height in (0.05, 0.2):
        yield (
            f"lines in place of arcs, {height}",
            ARCS.replace("G2 X4.3 Z-5.8 I0.3 K0", "G1 X4.3 Z-5.8"),
            (control(arcs="lines", arc_height=height) | {"setting": FINE}),
        )
    yield "messages", ARCS, control(message_width=20)


def by_proofs() -> Iterator[Case]:
    """Yield programs that prove the sense of arcs, otherwise or not at all."""
    proved = "(ARCS PROVED 2026-05-02)\n"
    for day in ("2026-05-02", "2026-05-03"):
        yield f"arcs proved {day}", proved + ARCS, control(proved=(("arcs", day),))
    for arc in (
        "X22 Z-1.5 I1 K0",
        "X23 Z-2 I1.5 K0",
        "X24 Z0.5 I2 K0",
        "X16 Z0.5 I-2 K0",
        "X22 Z-1 I1 K-0.5",
        "X26 Z-3 I3 K0",
    ):
        air = f"G0 Z0.5\n(ARC NEXT)\nM0\nG0 Z-3\nG2 {arc} F60\nG0 X20\n(ARC SEEN)\nM0\n"
        yield f"arc in air {arc}", ARCS.replace("S600 M3", f"{air}S600 M3", 1), {}
        yield f"arc in air {arc}, at the end", ARCS.replace("S600 M3", f"{air.replace('Z-3', 'Z0.5')}S600 M3", 1), {}


def by_texts() -> Iterator[Case]:
    """Yield programs with one thing said otherwise."""
    yield "faster than steel", GOOD.replace("S600", "S1000").replace("A2", "B1"), {}
    for feed in ("F6", "F5.9", "F36", "F37", "F90", "F91", "F4", "F0.1"):
        yield feed, GOOD.replace("F30", feed), {}
    for x in ("X-0.04", "X-0.24", "X-0.26", "X-0.3", "X0"):
        yield (
            f"faced to {x}",
            GOOD.replace("X4.5\n(TRY", f"G1 {x} F20\nG0 X4.5\n(TRY").replace("G0 Z0.5\nG1", "G0 Z-0.1\nG1"),
            {},
        )
    for by in ("X5.2", "X5.0", "X4.9", "X5.3"):
        yield f"out to {by}", GOOD.replace("Z-6\nX5.2", f"Z-6\n{by}"), {}
    for text in (
        "G0 Z-16",
        "G0 Z-10",
        "G0 Z-16.1\nX5.0",
        "G0 X7.99 Z-20",
        "G1 Z-20\nX7.99",
        "G0 X8\nZ-30",
        "G0 X8.1\nZ-30",
        "G0 X3",
    ):
        yield f"then {text.replace(chr(10), '; ')}", GOOD.replace("M2\n", f"S600 M3\n{text}\nM2\n"), {}
    yield "by the turn", GOOD.replace("G94", "G95").replace("F30", "F0.05"), {}
    yield "in inverse time", GOOD.replace("G94", "G93").replace("\nZ-", "\nG1 F9 Z-").replace("\nX", "\nF9 X"), {}
    yield "moves Y", GOOD.replace("Z-6\n", "Z-6 Y1\n"), {}
    yield "machine coordinates", GOOD.replace("M2\n", "G53 G0 X1\nG53 G0 Z1\nM2\n"), {}
    yield "goes home", GOOD.replace("M2\n", "G28 X30\nG0 X5\nZ3\nM2\n"), {}
    yield "another plane", ARCS.replace("G2 X4.3", "G17 G2 X4.3").replace("K0", ""), {}
    yield "backward", GOOD.replace("M3", "M4"), {}


def by_starts() -> Iterator[Case]:
    """Yield programs that begin otherwise, or at a pass."""
    yield "Z first", GOOD.replace("G0 X20\n(PROVE X)", "G0 Z1\n(PROVE X)"), {}
    yield "X and Z first", GOOD.replace("G0 X20\n(PROVE X)", "G0 X20 Z1\n(PROVE X)"), {}
    yield "low first", GOOD.replace("G0 X20\n(PROVE X)", "G0 X7\n(PROVE X)"), {}
    yield "X alone at half", GOOD.replace("G0 X20\n(PROVE X)", "G0 X16\n(PROVE X)"), {}
    yield "by diameters", GOOD, lathe(control=replace(SHOP.lathe.control, x_words="diameter"))
    yield "not begun", GOOD, {"begun": 0}
    for number in (1, 2, 3):
        for reground in (True, False):
            for name in ("plain", "fine"):
                yield (
                    f"pass {number}, {name}, {reground}",
                    ARCS,
                    {"begun": number, "reground": reground, "setting": SETTINGS[name]},
                )


CASES = (by_slides, by_tools, by_settings, by_spindles, by_proofs, by_texts, by_starts)


def many() -> Iterator[str]:
    """Yield what is said of each case; of a text that came before only what is said otherwise."""
    seen: dict[str, tuple[str, ...]] = {}
    for words, text, more in joined.from_iterable(make() for make in CASES):
        given = {"setting": PLAIN, "shop": SHOP, "material": STEEL, "stops": True} | more
        number, reground = given.pop("begun", 0), given.pop("reground", False)
        begun = begin_at(text, NGC, "program", number)._replace(reground=reground) if number else None
        rows = tuple(judged(simulate(begun or read(text), **given)))
        yield f"# {words}"
        yield from changed(iter(rows), seen.get(text, ()))
        seen.setdefault(text, rows)


def sizes() -> Iterator[str]:
    """Yield the sizes that come out on slides with backlash, and outlines at their limits."""
    for name, setting in SETTINGS.items():
        for text in (GOOD, ARCS, GROUND, SCREW):
            for play in ((0.0, 0.0), (0.04, 0.05), (0.4, 0.0), (0.0, 0.5)):
                program = read(text, EIA if text is SCREW else NGC)
                yield f"# {name} {text.count(chr(10))} {play}"
                for s in cut_sizes(program, setting, SHOP, *play):
                    yield f"  {s.section} {s.what} {figure(s.wanted)}: {figure(s.least)} to {figure(s.most)}"
        for division in (0.0, 0.02):
            for which, outline_ in zip(("least", "most"), within_limits(setting, division), strict=True):
                yield f"# {name}, {which}, {division}: {'; '.join(map(piece, outline_))}"


def outlines() -> Iterator[str]:
    """Yield the ranges that X decides, the lowest places of pieces of metal, and outlines faced away at either end."""
    for name, setting in SETTINGS.items():
        yield f"# {name}: {' '.join(map(spot, sized_by_x(setting.turned)))}"
    line, hill, hollow = ((-4.0, 0.0, bend, -2.0, 5.0, r, 1) for bend, r in ((0, 0.5), (1, 3.0), (-1, 3.0)))
    for one in (line, hill, hollow):
        for z0, z1 in ((-4.0, 0.0), (-4.0, -3.0), (-1.0, 0.0), (-4.0, -2.0)):
            yield f"{one[2]} from {z0} to {z1}: {figure(trough(one, z0, z1))}"
    away = [(z, z + 1.0, 0, z, 0.0, 0.0, 2) for z in (-6.0, -5.0, 0.0, 1.0)]
    for rest in ([], away, [*away[:2], hill, *away[2:]], [*away[:2], line], [hollow, *away[2:]]):
        yield f"{len(rest)} pieces: {'; '.join(map(piece, to_chain(rest)))}"


def screws() -> Iterator[str]:
    """Yield what is said of a screw thread with each slip, and on lathes that thread otherwise."""
    yield from spoilt(SCREW, THREADED, EIA, lines=(15, 16, 18, 19, 20))
    for threading in (
        None,
        Threading(by="change wheels", fastest=300.0, acceleration=0.0, leadscrew=2.0, wheels=(), where=HERE),
        *(
            Threading(by="encoder", fastest=f, acceleration=a, leadscrew=0.0, wheels=(), where=HERE)
            for f in (299.0, 320.0)
            for a in (20.0, 40.0, 100.0)
        ),
    ):
        yield f"# {threading}"
        shop: Shop = replace(SHOP, lathe=replace(SHOP.lathe, threading=threading))
        for text in (SCREW, SCREW.replace("G33 Z-5. K1.25\nG0 X20.\nM5", "G33 Z-1. K1.25\nG0 X20.\nM5")):
            yield from judged(simulate(read(text, EIA), THREADED, shop))
    for setting in (PLAIN, replace(THREADED, threads=(replace(THREADED.threads[0], least=15.1, most=15.15),))):
        yield "# other limits"
        yield from judged(simulate(read(SCREW, EIA), setting, SHOP))


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "lathe": many,
    "lathe sizes": sizes,
    "lathe screws": screws,
    "lathe outlines": outlines,
    "lathe spoilt": partial(spoilt, GOOD, FINE, lines=(*range(4, 12), *range(51, 70))),
    "lathe spoilt arcs": partial(spoilt, ARCS, FINE, lines=(*range(51, 57), *range(62, 75))),
}
