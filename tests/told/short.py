"""Short programs on the bar, a cut or two each, and single passes and stops: what the lathe's judge says at its limits.

The work is the bar of tests/simulate_case.py, 16 mm thick, with its pivot of 8 mm and its seat of 10 mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import product
from typing import Any

from cam.geometry.path import Line, Point
from cam.judge import simulate
from cam.judge.envelope import Metal, Piece
from cam.judge.mounted import ON_LATHE, ON_MILL, check_tools
from cam.judge.near import Surroundings
from cam.judge.report import pass_at, say_tip_only, section_at, shoulder_at
from cam.judge.stops import check_stops, warn_of_stops
from cam.judge.surfaces import Feeding
from cam.judge.threading import Threads
from cam.judge.touch import check_begun
from cam.judge.travel import FRESH
from cam.part.features import Finish
from cam.rs274.begin import begin_at
from cam.rs274.halts import halts_of
from cam.rs274.model import Motion, Position
from cam.setting.model import Turned
from tests.simulate_case import Writer, make_setting
from tests.specimens import HERE, grooving_tool, quantity, turning_tool
from tests.told.lathe import (
    ARCS,
    EIA,
    LEFT,
    NGC,
    OUTLINES,
    PLAIN,
    SCREW,
    SHOP,
    STEEL,
    THREADED,
    VEE,
    control,
    finding,
    judged,
    lathe,
    read,
    tools,
)
from tests.told.programs import figure
from tests.told.rows import PAIRS
from tests.told.steps import slab

TOP = "G21 G18 G40 G49 G80 G90 G94\nT1 M6\nG54\nS600 M3\nG0 X20\nZ1\n"
STEP = "X7.5\nG1 Z-6 F20\nG0 X20\nZ1\nX6.9\nG1 Z-6\n"

CUTS: dict[str, tuple[str, ...]] = {
    "depths": (
        *(f"X{x}\nG1 Z{z} F30\nX9\n" for x in (7.25, 7.101, 7.099, 8.0, 8.1) for z in (-6, -0.9)),
        "X7.5\nG1 Z-0.4 F30\nX9\n",
        "X9\nZ-10\nG1 X7.5 F9\nZ-4\nX9\n",
        "X9\nZ-10\nG1 X7.2 F9\nZ-9.5\nX9\n",
        "X7\nG1 Z-3 F20\nG0 Z1\n",
    ),
    "plunges": tuple(f"X8.01\nZ-3\nG1 X{x} F{f}\nX9\n" for x in (7.982, 7.978, 7.5, 8.0) for f in (36, 38)),
    "faces": tuple(
        f"{STEP}{way}\nG0 X20\nZ1\n"
        for way in ("G0 X9", "G1 X9", "G1 X7.2\nG0 X9", "G1 X7.5\nG0 X9", "G1 X6.9\nG0 X6.95\nX9", "Z-5.99\nG0 X9",
                    "G1 X7.3\nX7\nG0 X9", "G0 Z-5\nX9", "G0 Z-5 X9", "G1 X7.1\nG0 X7.4\nX7.6\nX9")
    ),
    "into the work": tuple(
        f"{way}\nG0 X20\n"
        for way in ("X7.9\nZ-1", "X8\nZ-5", "X8.001\nZ-5", "Z-3\nX7.999", "Z-3\nX8", "X5\nZ-3\nX9", "Z-3 X7", "X-0.3",
                    "Z-3\nX8.4\nZ-3.5\nX8.6\nZ-30", "G1 X7.5 F20\nZ-3\nG0 Z-5\nX9", "G1 X7.5 F20\nZ-3\nG0 Z1")
    ),
    "limits": tuple(
        f"{way}\nG0 X20\n"
        for way in ("G1 X-0.25 F20", "G1 X-0.26 F20", "X8.2\nG1 Z-49 F20", "X8.2\nG1 Z-49.01 F20", "X8.2\nZ-49.01",
                    "Z1.0004 X19.9996", "Z1.0006 X19.9994", "Z1.01 X19.9996", "G1 X9 Z-1 F20\nX8.9 Z-2",
                    "G95 G1 X9 F0.1\nG94 X8 F20", "G93 G1 X9 F3\nX8 F2", "G4 P3\nG1 X9 F0", "X20\nX20\nZ1")
    ),
}  # fmt: skip
STEADY = (
    "%\nG71 G18 G40 G80 G90 G95\nT0101\nG92 S1000\nG96 S20 M3\nG0 X20.\nZ-3.\nX8.1\nG1 X5.5 F0.05\nG0 X20.\nM30\n%\n"
)
"""A cut inward at one surface speed."""
STARTS = (
    "G0 X20 Z1\nX9\n",
    "G0 Z1\nX20\nX9\n",
    "G0 X20\nZ1\nX9\n",
    "G0 X8\nZ1\nX9\n",
    "G0 X7.99\nZ1\nX9\n",
    "G53 G0 X20\nG53 G0 Z9\nX9\n",
    "G28 X20\nG0 X20\nZ1\n",
    "G0 X20\nZ1\nG55\nX9\nZ2\nG54 X8 Z3\n",
    "G1 X20 F9\nZ1\n",
)
KNIVES = {
    "knife": (SHOP.tools, ("depths", "plunges", "faces", "into the work", "limits")),
    "leaning": ((turning_tool(number=1, approach=107.0, outlines=OUTLINES),), ("depths", "faces", "into the work")),
    "upright": ((turning_tool(number=1, approach=90.0),), ("faces",)),
    "left": ((LEFT,), ("depths", "faces")),
    "blade": ((grooving_tool(number=1),), ("plunges",)),
}
"""Tools, and the cuts that are tried with each."""
BARE = replace(PLAIN, obstacles=())


def cuts() -> Iterator[str]:
    """Yield what is said of each short program, with tools of other shapes where they matter."""
    for kind, (knives, names) in KNIVES.items():
        for name, (n, text) in ((one, row) for one in names for row in enumerate(CUTS[one])):
            told = simulate(read(f"{TOP}{text}M2\n"), BARE, tools(*knives)["shop"], material=STEEL)
            yield from (f"# {name} {n} {kind}", *_briefly(judged(told)))
    steady = replace(SHOP.lathe.spindle, constant_surface_speed=True)
    told = simulate(read(STEADY, EIA), BARE, lathe(spindle=steady)["shop"], material=STEEL)
    yield from ("# at one surface speed", *_briefly(judged(told)))
    for text in STARTS:
        told = simulate(read(f"{TOP.partition('G0')[0]}{text}M2\n"), PLAIN, SHOP)
        yield from (repr(text), *_briefly(judged(told)))


def _briefly(rows: Iterator[str]) -> Iterator[str]:
    """Yield what is said of a program, less the sizes that every unfinished one leaves."""
    return (row for row in rows if " uncut: " not in row)


# Threads ----------------------------------------------------------------------------------------------------------


LOWERED = ((-5.0, -2.0), (-5.05, -3.7), (-3.8, -2.45), (-3.8, -2.55), (-2.55, -1.2), (-1.3, -0.001), (-6.3, -5.0))
"""From Z to Z, where crests may be lower."""


def passes() -> Iterator[str]:
    """Yield what is said of single threading passes and of two, each figure at its limit."""
    base: dict[str, Any] = {"x": 7.7, "z": 3.8, "end": -5.0, "lead": 1.25, "rpm": 300.0, "tool": VEE}
    changes: list[dict[str, Any]] = [
        {}, *({"lead": v} for v in (1.2512, 1.2513, 1.2488, 1.2487)), *({"rpm": v} for v in (0.0, 320.5, 320.6, 640.0)),
        *({"rpm": r, "lead": 2.0} for r in (400.4, 400.5)), {"tool": grooving_tool(number=3)},
        *({"tool": replace(VEE, included=v)} for v in (60.1, 60.11, 59.9, 59.89)), {"end": 8.0}, {"end": 0.0, "z": 0.0},
        *({"z": v} for v in (1.0, 1.2, 1.3, 1.4, 1.5, 1.6, 1.8, 2.0, 2.5)), {"z": -5.0, "end": -9.0}, {"z": -4.99},
        *({"x": v} for v in (8.1, 7.52, 7.51, 7.5, 7.0)), {"end": -4.999}, {"end": -4.9989}, {"z": -6.0, "end": 0.5},
        {"lead": 0.8, "z": 0.5},
    ]  # fmt: skip
    second: list[dict[str, Any]] = [
        {"x": 7.3}, {"x": 7.2}, {"x": 6.9}, {"x": 7.7}, {"z": 2.55}, {"z": 5.05}, {"z": 3.8124}, {"z": 3.8126},
        {"z": 3.1}, {"rpm": 300.5}, {"rpm": 300.6}, {"rpm": 299.4}, {"x": 7.245, "end": -6.0},
    ]  # fmt: skip
    for size in (7.2, 7.23, 7.231, 7.24, 7.245, 7.3, 7.305, 7.31):
        lowered = LOWERED if size == 7.31 else ()
        yield from _threaded([base | {"x": 7.6}, base | {"x": 7.4}, base | {"x": size}], lowered=lowered)
    for one in changes:
        yield from _threaded([base | one])
    yield from _threaded([base | {"x": 7.1}, base | {"x": 6.5}])
    for z in (-0.8, 0.4, 0.6, 1.8):
        yield from _threaded([base | {"x": 7.4, "z": z, "end": -9.0}, base | {"x": 7.3, "z": z + 1.25}], -2.0)
    for two in second:
        yield from _threaded([base, base | two])
        yield from _threaded([base | {"x": 8.3}, base | two])


def _threaded(
    rows: list[dict[str, Any]], near: float = 0.0, lowered: Iterable[tuple[float, float]] = ()
) -> Iterator[str]:
    wanted = replace(THREADED.threads[0], near=near, far=near - 5.0)
    setting, work = replace(THREADED, threads=(wanted,)), [slab(-60.0, 0.0, 7.99)]
    threads, around = Threads(setting, SHOP.lathe), Surroundings(setting, SHOP)
    yield "; ".join(f"{r['x']} {r['z']} {r['end']} {r['lead']} {r['rpm']} {r['tool'].kind}" for r in rows)
    for n, row in enumerate(rows):
        path = Line(Point(row["z"], row["x"]), Point(row["end"], row["x"]))
        start, end = (Position(p.x, 0.0, p.z) for p in (path.start, path.end))
        motion = Motion("thread", n + 1, start, end, feed=row["lead"])
        threads.take(n, motion, path, row["tool"], row["rpm"])
    yield from (f"  {finding(f)}" for f in threads.judge(Metal(work), Metal(work)))
    for (low, high), by in product(lowered, (0.0019, 0.0021)):
        less: list[Piece] = [slab(-60.0, low, 7.99), slab(low, high, 7.99 - by), slab(high, 0.0, 7.99)]
        found = [f for f in threads.judge(Metal(less), Metal(work)) if "crest" in f.what]
        yield f"  {low} to {high} lower by {by}: {'; '.join(map(finding, found)) or '-'}"
    yield f"  swept {' '.join(figure(p[4]) for p in threads.swept(Metal(work), around).pieces)}"


# Stops ------------------------------------------------------------------------------------------------------------

WORDS = {"": None, "measure": "measure the pivot", "try": "try a slip on the pivot"}
ROLES = {
    "pivot": "pivot", "plain": "plain", "seat": "seat", "blank": "square blank", "undercut": "undercut",
}  # fmt: skip


def rolled(one: Turned, role: Any, *route: str) -> Turned:
    """Return a section with a role and a way to its last surface."""
    finish = Finish(route=("turn", *route), on_diameter=0.0, on_face=0.0, text="turn", where=HERE)
    return replace(one, section=replace(one.section, role=role, finish=finish))


def stops() -> Iterator[str]:
    """Yield which stops are missed about a section's cuts, wherever stops to measure and to try a slip stand."""
    pivot = PAIRS["plain"][0]
    sections = {name: rolled(pivot, role) for name, role in ROLES.items()}
    sections["filed"] = rolled(pivot, "pivot", "file")
    sections["steep"] = replace(sections["pivot"], radius_near=0.4)
    sections["as steep"] = replace(sections["pivot"], radius_near=0.41)
    for (name, one), heights in product(
        sections.items(), ((4.0, 4.0), (4.002, 4.0), (4.0021, 4.0), (3.9, 4.0), (4.5, None))
    ):
        rows = []
        for told in product(WORDS, repeat=3):
            w, feeding = Writer(), {}
            w.rapid(x=20, z=1)
            for words, x in zip(told, (*heights, None), strict=True):
                if words:
                    w.stop(WORDS[words] or "")
                if x is not None:
                    number = len(w.motions)
                    w.cut(x=x, z=-6)
                    path = Line(Point(1.0, x), Point(-6.0, x))
                    feeding[number] = Feeding(number + 1, path, turning_tool(), FRESH)
            last = max(feeding)
            setting = make_setting(turned=(one,))
            found = warn_of_stops(w.program(), setting, [slab(-6.0, 0.0, 4.0, last)], feeding, SHOP.lathe, 0)
            kinds = [f"{f.line} {f.kind}" for f in found if f.kind.startswith("not ")]
            rows.append(f"{'/'.join(t[:1] or '-' for t in told)} {', '.join(kinds)}")
        yield f"{name} {heights}: {'; '.join(rows)}"
    for a, b, first in product((1, 2, 9), (1, 2, 9), (0, 2)):
        ways = {n: Line(Point(1.0, 4.0), Point(-6.0, 4.0)) for n in (1, 2)}
        yield f"{a} {b} from {first}: {_missed(sections['pivot'], ways, (a, b, 1), first)}"
    for z0, z1, x0, x1 in product((1.0, -2.0, -4.0), (-6.0, -3.0, -2.9, -2.0), (4.1, 3.99), (4.1, 3.99)):
        ways = {1: Line(Point(z0, x0), Point(z1, x1)), 2: Line(Point(1.0, 4.0), Point(-6.0, 4.0))}
        yield f"{z0} {x0} to {z1} {x1}: {_missed(sections['pivot'], ways, (2, 2, 2), 0)}"


def _missed(one: Turned, ways: dict[int, Line], left: tuple[int, int, int], first: int) -> list[tuple[int, str]]:
    """Return what is missed of a section cut on some ways, of three stretches that some of them left."""
    feeding = {n: Feeding(n, way, turning_tool(), FRESH) for n, way in ways.items()}
    pieces = [slab(a, b, 4.0, n) for a, b, n in zip((-6.0, -3.0, -1.0), (-3.0, -1.0, 0.0), left, strict=True)]
    w = Writer()
    w.rapid(x=20)
    w.cut(x=4)
    found = warn_of_stops(w.program(), make_setting(turned=(one,)), pieces, feeding, SHOP.lathe, first)
    return [(f.line, f.kind) for f in found]


def waits() -> Iterator[str]:
    """Yield what is said of starts of the spindle, of its belt, its switch, and of tools at stops."""
    spindle = replace(SHOP.lathe.spindle, spin_up=2.0)
    by_switch, slow = (lathe(spindle=replace(spindle, started=by))["shop"] for by in ("switch", "program"))
    texts = [
        f"G21 G18 G40 G49 G80 G90 G94\nT1 M6\nG0 X20\n{rest}M2\n"
        for rest in (
            *(f"(BELT A2)\nM0\nS600 M3\nG4 P{s}\nX19\nX18\n" for s in (0, 1.79, 1.8, 1.81)),
            "S600 M3\nG4 P1\nG4 P1\nX19\nM5\nM3\nX18\nM4\nX17\n",
            "S600 M3\nM0\nX19\nM1\nM5\nM0\nT2 M6\n",
            "S600 M3\nT2 M6\nX19\nT2 M6\n",
            *(f"({words})\nM0\nS{s} M3\nX19\n" for words, s in product(
                ("BELT A1", "BELT ON 600", "A2", "GEAR B1", "SPEED A2 OR A1"), (320, 600, 606, 607, 1000))),
            "(BELT A2)\nM0\nS600 M3\nX19\nM5\n(MEASURE)\nM0\nS600 M3\nX18\nM5\n(BELT A1)\nM0\nS600 M3\nS320\n",
            "(START THE SPINDLE)\nM0\nM3 S600\nX19\n(SPINDLE OFF)\nM0\nX18\n(SPINDLE ON)\nM0\nM3\nX17\nM0\nX16\n",
            "(SPINDLE ON)\nM0\nX19\nM0\nM3 S600\nX18\nM5\nM3\nX17\n",
            "(TOOL 2)\nM0\nT2 M6\nX19\nT1 M6\nX18\n(T02)\nM0\n(T1)\nM0\nT2 M6\nX17\n",
            "S600\nX19\nM3\nX18\n",
            "(TOOL 12)\nM0\nT2 M6\nX19\n(MOUNT THE SQUARE KNIFE. SET X AND Z)\nM0\nT4 M6\nX18\n",
        )
    ]  # fmt: skip
    texts += ["G21 G18 G40 G49 G80 G90 G94\nS600 M3\nT1 M6\nG0 X20\nT2 M6\nX19\nM2\n"]
    turning = "%\nG71 G18 G40 G80 G90 G95\nG97 S600 M3\nT0101\nG0 X20.\nT0202\nX19.\nT0202\nX18.\nM30\n%\n"
    programs = [*map(read, texts), read(turning, EIA)]
    running = next(n for n, m in enumerate(programs[1].motions) if m.spindle)
    begun = warn_of_stops(programs[1], PLAIN, [], {}, slow.lathe, running)
    yield f"begun with the spindle on: {[f.what for f in begun]}"
    for n, program in enumerate(programs):
        for name, shop in (
            ("", SHOP),
            ("switch", by_switch),
            ("slow", slow),
            ("one", control(tool_zeros="one")["shop"]),
        ):
            for words in (None, " BELT ON A2 ", " SPINDLE SWITCHED ON TOOL 2 IN THE POST "):
                found = [f for f in check_stops(program, PLAIN, shop, words) if f.kind != "no proof"]
                if not words:
                    found += [f for f in warn_of_stops(program, PLAIN, [], {}, shop.lathe, 0) if "wait" in f.kind]
                if found:
                    yield f"{n} {name} {words}: {'; '.join(f'{f.line} {f.kind} {f.what}' for f in found)}"
        halts = {h.number: h for h in halts_of(program)}
        for asked in (ON_LATHE, ON_MILL):
            facts = control(tool_zeros="one")["shop"].lathe.control.facts
            found = list(check_tools(program.motions, halts, {2: "square knife"}, facts, asked))
            yield f"{n} {asked.first}: {'; '.join(f'{f.line} {f.what}' for f in found) or '-'}"


AIR = "X9.\nZ3.\nG33 Z-5. K1.25\nG0 X20.\n"


def proofs() -> Iterator[str]:
    """Yield what is said of a thread's pass in air and its stop, and of X and Z proved or not."""
    for air in (AIR, AIR.replace("X9.", "X8."), AIR.replace("X9.", "X8.01"), ""):
        for words in ("(IN STEP)\nM0\n", "(THE THREAD)\nM0\n", "M0\n", ""):
            for text in (
                SCREW.replace("M3\nX7.7", f"M3\n{air}{words}X7.7"),
                SCREW.replace("M3\nX7.7", f"M3\n{words}{air}X7.7"),
            ):
                found = check_stops(read(text, EIA), THREADED, SHOP)
                yield f"{air[:5]!r} {words!r}: {'; '.join(f'{f.line} {f.kind} {f.what}' for f in found) or '-'}"
    head = "G21 G18 G40 G49 G80 G90 G94\nT1 M6\n"
    for rest in (
        "G0 X16.01\nM0\nZ1\n(PROVE Z)\nM0\n",
        "G0 X16\nM0\nZ1\n(PROVE Z)\nM0\n",
        "G0 X17\nM0\nZ1\n(CHECK Z)\nM0\n",
        "G0 X17\nM0\nZ1\nM0\n",
        "G0 X17\nZ1\n",
        "G1 X17 F9\nM0\n",
        "G0 X17 Z1\nM0\n",
        "M3 S600\nG0 X17\n",
        "G0 X17\nM3 S600\nM0\n",
        "G0 X17\n",
        "G0 X17\nM0\nX18\nM0\n",
        "G0 X17\nM0\nM3 S600\nZ1\n",
        "M0\nG0 X17\nM0\nZ1\n",
        "G0 X17\nM0\nZ1\n(PROVE Z)\nM0\nG0 X3\n",
        "G0 X17\nM0\nG1 Z1 F9\n(PROVE Z)\nM0\n",
        "G0 X17\nM1\nM0\nZ1\n",
    ):
        for by in ("radius", "diameter"):
            shop = lathe(control=replace(SHOP.lathe.control, x_words=by))["shop"]
            found = [f for f in check_stops(read(f"{head}{rest}M2\n"), PLAIN, shop) if f.kind == "no proof"]
            yield f"{rest!r} {by}: {'; '.join(f'{f.line} {f.what}' for f in found) or '-'}"


SIDE = "ON THE END FACE, SIDE ON AND ITS TIP AT X 0"
TOUCHED = (
    "(NOTHING)",
    *(f"(X {x} ON PIVOT, DIAMETER 9.2)" for x in (4.6, 4.596, 4.604, 4.605)),
    *(f"(X 4.6 ON PIVOT, DIAMETER 9.2, Z {z} ON THE SHOULDER PAST PIVOT)" for z in (-5.9, -5.904, -5.906)),
    *(f"(X 4.6 ON PIVOT, DIAMETER 9.2, Z {z} {SIDE})" for z in (0.5, 1.4961, 1.4959, 1.5039, 1.5041)),
    "(X 8 ON BODY, DIAMETER 16)",
    "(X 9.2 ON PIVOT, DIAMETER 9.2)",
    "(X 0.3622 ON PIVOT, DIAMETER 0.3622, Z -0.2323 ON THE SHOULDER PAST PIVOT)",
)
"""What a program begun at a pass says that its tool can touch."""


def said() -> Iterator[str]:
    """Yield what is said of a tool that touches what stands, and words for places, tools and passes."""
    before, line, rest = ARCS.partition("N2 G21 G18 G40 G49 G80 G90 G94\n")
    begun = {w: begin_at(f"{before}{line}{w}\nT1 M6\n{rest}", NGC, "program", 2) for w in TOUCHED}
    shops = (
        SHOP,
        lathe(control=replace(SHOP.lathe.control, x_words="diameter"))["shop"],
        tools(replace(VEE, number=1, width=quantity(3.0)))["shop"],
        lathe(control=replace(SHOP.lathe.control, units="in", x_words="diameter"))["shop"],
    )
    metal = {"rough": 4.6, "off": 4.602, "too far off": 4.6021, "finished": 4.0, "nearly": 4.0019, "thicker": 4.0021}
    for (name, x), step, (words, one) in product(metal.items(), (0.03, 0.019), begun.items()):
        if x < 4.5 and words != TOUCHED[0]:
            continue
        work = [slab(-60.0, -5.9, x + step), slab(-5.9, 0.0, x)]
        for which, shop in enumerate(shops):
            if found := [f.what for f in check_begun(one, PLAIN, shop, work)]:
                yield f"{name} {step} {words} {which}: {'; '.join(found)}"
    for name in ("plain", "three"):
        turned = PAIRS[name]
        for z in (1.0, 0.5, 0.0, -2.9, -3.0, -3.1, -5.2, -6.0, -11.0, -16.0, -16.1):
            yield f"{name} {z}: {section_at(turned, z)}; {shoulder_at(turned, z)}"
    yield f"{section_at((), 0.0)}; {shoulder_at((), 0.0)}"
    yield "; ".join(map(say_tip_only, ((), (3,), (3, 1), (5, 5, 2, 9))))
    program = read(ARCS.replace("(PASS", "(---- pass").replace(" OF 3", " of 3"))
    yield f"{[pass_at(program, n) for n in range(0, 80, 5)]}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {
    "short cuts": cuts, "short passes": passes, "short stops": stops, "short waits": waits, "short proofs": proofs,
    "short words": said,
}  # fmt: skip
