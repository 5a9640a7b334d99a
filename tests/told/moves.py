"""Passes set out by hand, and every move that comes of them on lathes and controls of several kinds.

The work is that of tests/told/lathe.py. The passes rough and finish its pivot and its seat, cut a groove with a second
tool, and end with a thread.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from typing import Any

from cam.geometry.path import Arc, Chain, Line, Point
from cam.ground.problem import RangeError
from cam.moves import make_moves
from cam.moves.make import lines_for
from cam.moves.model import Cycle, Move, expand
from cam.plan.model import Measure, Operation, Pass, SettingPlan
from cam.setting.model import Setting
from cam.shop.control import Facts
from cam.shop.model import Shop
from tests.simulate_case import box, chain, turned
from tests.specimens import drum_arbor, grooving_tool, turning_tool
from tests.told.lathe import FINE, PLAIN, SHOP, TAPER, VEE, piece, spot
from tests.told.programs import figure

TIP, BLADE = turning_tool(number=1), grooving_tool(number=2)
ROUND = Point(-6.0, 4.2)


def passed(number: int, kind: Any, name: str, path: Chain, **more: Any) -> Pass:
    """Return a pass over one section; its approach ends where the path begins, its leave is straight out."""
    start, end = path[0].start, path[-1].end
    given: dict[str, Any] = {
        "tool": TIP,
        "diameter": 2 * end.x,
        "depth": 0.5,
        "rpm": 600.0,
        "speed_name": "A2",
        "surface_speed": 30.0,
        "css": False,
        "feed": 0.05,
        "approach": (Point(start.z, 12.0), Point(start.z, start.x + 0.5), start),
        "feed_from": 2,
        "leave": (Point(end.z, end.x + 0.5), Point(1.0, 12.0)),
        "deflection": 0.0,
        "force": 0.0,
        "measure": (),
        "cautions": (),
    }
    return Pass(number=number, kind=kind, sections=(name,), path=path, **(given | more))


def gauge(what: str, kind: Any, left: float, *, name: str = "pivot") -> Measure:
    """Return a measure."""
    return Measure(what=what, kind=kind, target=8.0, least=7.9, most=8.1, expected=8.4, cut_left=left, sections=(name,))


ROUNDED: Chain = (
    *chain((0.5, 4.0), (-5.8, 4.0)),
    Arc(Point(-5.8, 4.0), ROUND, Point(-5.8, 4.2), -1),
    *chain(ROUND, (-6.0, 5.2)),
)
PASSES = (
    passed(1, "rough", "seat", chain((0.5, 5.2), (-15.9, 5.2), (-15.9, 8.2))),
    passed(
        2,
        "rough",
        "pivot",
        chain((0.5, 4.2), (-5.9, 4.2), (-5.9, 5.4)),
        out_feed=0.1,
        measure=(gauge("diameter of pivot", "diameter", 0.2), gauge("length of pivot", "length", 0.1)),
    ),
    passed(
        3,
        "finish",
        "pivot",
        chain((0.5, 4.0), (-6.0, 4.0), (-6.0, 5.2)),
        rpm=1000.0,
        speed_name="B1",
        out_feed=0.02,
        measure=(gauge("diameter of pivot", "diameter", 0.0),),
    ),
    passed(
        4, "semi-finish", "seat", chain((-5.3, 5.1), (-15.9, 5.1)), approach=(Point(-5.3, 5.1),), feed_from=1, leave=()
    ),
    passed(5, "finish", "seat", chain((-5.3, 5.0), (-16.0, 5.0), (-16.0, 8.2)), speed_name="B1", feed_from=1),
    passed(6, "finish", "pivot", ROUNDED, speed_name="B1", out_feed=0.03, before=("file the edge",)),
    passed(
        7,
        "finish",
        "seat",
        chain((-15.9, 6.0), (-15.9, 4.8), (-15.9, 6.0)),
        tool=BLADE,
        rpm=320.0,
        speed_name="A1",
        approach=(Point(-15.9, 6.0),),
    ),
    passed(
        8,
        "rough",
        "seat",
        chain((-10.0, 6.0), (-14.0, 6.0)),
        tool=BLADE,
        speed_name="",
        rpm=500.0,
        css=True,
        out_feed=0.1,
    ),
    passed(9, "finish", "seat", chain((-15.0, 6.0), (-15.0, 4.9)), tool=TIP, speed_name="A1", rpm=320.0),
    passed(10, "thread", "pivot", chain((2.0, 3.8), (-5.0, 3.8)), tool=VEE, rpm=320.0, speed_name="A1", feed=0.7),
)
CENTRED = replace(PLAIN, tail_centre=drum_arbor()[1].centres[0])


def said(value: object) -> str:
    """Return a value of a move."""
    if isinstance(value, Point):
        return spot(value)
    if isinstance(value, tuple):
        return f"({', '.join(map(said, value))})"
    if isinstance(value, Pass | Measure):
        return str(getattr(value, "number", None) or getattr(value, "what", ""))
    if hasattr(value, "number") and hasattr(value, "nose_radius"):
        return f"T{value.number}"
    if hasattr(value, "centre_x"):
        return move(value)  # type: ignore[arg-type]
    return figure(value) if isinstance(value, float) else str(value)


def move(one: Move) -> str:
    """Return a move on one line; what is empty is left out."""
    rows = ((f.name, getattr(one, f.name)) for f in fields(one))
    return f"{type(one).__name__} " + ", ".join(f"{k} {said(v)}" for k, v in rows if v not in ("", (), None))


def planned(*passes: Pass, setting: Setting = PLAIN) -> SettingPlan:
    """Return a plan of passes."""
    work = (Operation(name="all", passes=passes),)
    return SettingPlan(
        setting=setting, operations=work, safe_x=12.0, park=Point(3.0, 15.0), proof_diameter=36.0, proof_z=3.0
    )


def control(**changes: Any) -> Shop:
    """Return a shop with another control."""
    facts = {k: changes.pop(k) for k in tuple(changes) if k in {f.name for f in fields(Facts)}}
    there = SHOP.lathe.control
    return replace(
        SHOP, lathe=replace(SHOP.lathe, control=replace(there, facts=replace(there.facts, **facts), **changes))
    )


def lathes() -> Iterator[tuple[str, Shop]]:
    """Yield shops, one thing changed in each."""
    yield "as it is", SHOP
    yield "by diameters", control(x_words="diameter")
    yield "in inches", control(units="in", x_words="diameter")
    yield "by hand", control(kind="hand")
    yield "arcs as lines", control(arcs="lines", arc_height=0.01)
    yield "arcs proved", control(proved=(("arcs", "2026-05-02"),))
    yield "by switch", replace(SHOP, lathe=replace(SHOP.lathe, spindle=replace(SHOP.lathe.spindle, started="switch")))


def plans() -> Iterator[tuple[str, SettingPlan]]:
    """Yield plans, one thing changed in each."""
    first, *_, thread = PASSES
    yield "all", planned(*PASSES)
    yield "fine", planned(*PASSES, setting=FINE)
    yield "no passes", planned()
    yield "with a centre", planned(*PASSES, setting=CENTRED)
    yield "of a taper", planned(*PASSES[:6], replace(PASSES[6], sections=("pivot",)), PASSES[8], setting=TAPER)
    odd = (turned("pivot", 0, -6.00026, 4.00026, 5), turned("seat", -6.00026, -16, 5.00026, 8))
    yield "of odd sizes", planned(*PASSES[:7], setting=replace(PLAIN, turned=odd))
    yield "thread alone", planned(thread)
    jaw = replace(PLAIN, obstacles=(box("jaw", -60, -1, 8, 30),))
    yield "parked where X is proved", replace(planned(), proof_diameter=30.0)
    yield (
        "a blade first, beside a jaw",
        planned(replace(PASSES[6], number=1), replace(PASSES[5], number=2), setting=jaw),
    )
    unfaced = passed(1, "finish", "seat", chain((-5.3, 5.0), (-15.0, 5.0)))
    yield "a tool after a finish that faces no shoulder", planned(unfaced, replace(PASSES[6], number=2))
    yield "with a longer stock", planned(first, setting=replace(PLAIN, stock_end_z=3.5))
    yield "with a face at the park", planned(first, setting=replace(PLAIN, stock_end_z=3.0))


def moves() -> Iterator[str]:
    """Yield every move of each plan; of a second shop only those that it does otherwise."""
    for words, plan in plans():
        known: tuple[str, ...] = ()
        for shop_words, shop in lathes():
            rows = tuple(f"  {move(one)}" for one in make_moves(plan, shop))
            yield f"# {words}, {shop_words}: {len(rows)} moves"
            yield from (f"{n}{row}" for n, row in enumerate(rows) if row not in known)
            known = known or rows


def lines() -> Iterator[str]:
    """Yield lines in place of arcs, of both senses, both ways along, long and short."""
    for radius in (0.3, 2.0):
        for turn in (1, -1):
            for start, end in (
                ((0, 1), (-1, 0)),
                ((-1, 0), (0, 1)),
                ((1, 0), (0, 1)),
                ((0, 1), (1, 0)),
                ((1, 0), (-1, 0)),
                ((0.6, 0.8), (0, 1)),
                ((0, 1), (0, -1)),
            ):
                for height in (1e-6, 0.0005, 0.01, 0.5):
                    a, b = (Point(5 + radius * z, 7 + radius * x) for z, x in (start, end))
                    path = (Line(Point(9.0, 9.0), a), Arc(a, b, Point(5.0, 7.0), turn))
                    found = lines_for(path, height)
                    shown = found if len(found) < 6 else (found[0], found[1], found[-1])
                    yield f"{turn} {radius} {start} {end} {height}: {len(found)}; {'; '.join(map(piece, shown))}"


def cycles() -> Iterator[str]:
    """Yield cycles of the mill written out, and those that cannot be."""
    for kind, bottom, retract, step in (
        ("drill", -3.0, 1.0, 0.0),
        ("drill", 1.0, 1.0, 0.0),
        ("drill", 1.1, 1.0, 0.0),
        ("tap", -3.0, 1.0, 0.0),
        ("peck", -3.0, 1.0, 1.5),
        ("peck", -3.0, 1.0, 2.0),
        ("peck", 0.9, 1.0, 0.05),
        ("peck", -3.0, 1.0, 0.0),
        ("peck", -3.0, 1.0, -1.0),
    ):
        cycle = Cycle(kind=kind, x=4.0, y=5.0, bottom=bottom, retract=retract, feed=90.0, step=step)  # type: ignore[arg-type]
        yield f"# {kind} to {bottom} from {retract} by {step}"
        try:
            yield from (f"  {move(one)}" for one in expand(cycle))
        except RangeError as error:
            yield f"  {error}"


TOLD: dict[str, Callable[[], Iterator[str]]] = {"moves": moves, "moves lines": lines, "moves cycles": cycles}
