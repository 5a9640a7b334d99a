"""A cabinet of specimen tools, shops and parts for every test module.

`drum_arbor()` and its like read the samples, from a copy in which what the drum arbor rests on is recorded.
`parts_and_shops()` draws random valid part and shop files and reads them, so that the readers are exercised
too; `part_texts` and `shop_texts` give the TOML itself.
"""

from __future__ import annotations

import atexit
import re
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st

from cam.geometry.path import Point
from cam.ground.problem import Problem, Where
from cam.ground.quantity import Quantity
from cam.ground.source import parse_source
from cam.lengths import part_of, read_part
from cam.lengths.journal import append_record
from cam.lengths.records import read_records
from cam.part.model import Part
from cam.shop import read_shop, shop_of
from cam.shop.model import INCLUDED, Outline, Shop, Tool
from posts.dialect import load_dialect

HERE = Where(path="test.toml", line=1)


# Samples ----------------------------------------------------------------------------------------------

BETWEEN_PLATES = "46.22 mm"
"""What is to be measured for the drum arbor; with it, its back seat becomes 6.5 mm long."""


def record_samples(folder: Path) -> None:
    """Record in a folder of samples what is to be measured, so that every setting can be planned."""
    path = str(folder / "orrery-drum-arbor.log")
    append_record(path, kind="measurement", name="between plates", value=BETWEEN_PLATES, who="test", clock=0)


def _copy_samples() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="endshake-samples-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for path in (Path(__file__).parent.parent / "samples").glob("*.toml"):
        shutil.copy(path, folder)
    record_samples(folder)
    return folder


SAMPLES = _copy_samples()
"""A copy of the samples in which everything is measured; each process has its own."""


def arbor_text() -> str:
    """Return the drum arbor's file as if the frame had been measured before setting 1, so that all is measured."""
    text = (SAMPLES / "orrery-drum-arbor.toml").read_text(encoding="utf-8")
    return text.replace('to_be_measured = "after setting 1"', f'value = "{BETWEEN_PLATES}"')


def sample(name: str) -> tuple[Part, Shop]:
    """Return a sample part by its file's stem, with the samples' shop."""
    path = str(SAMPLES / f"{name}.toml")
    return read_part(path, read_records(path)), read_shop(str(SAMPLES / "shop.toml"))


def drum_arbor() -> tuple[Part, Shop]:
    """Return a metric part of two settings: pivots, seats, body, square blank, an undercut."""
    return sample("orrery-drum-arbor")


def moon_carriage_spindle() -> tuple[Part, Shop]:
    """Return a slender part in inches, with extra length at both ends."""
    return sample("moon-carriage-spindle")


def crank_pin() -> tuple[Part, Shop]:
    """Return a part of one end, in a collet."""
    return sample("crank-pin")


def too_near_the_centre() -> tuple[Part, Shop]:
    """Return a part that can be held, but whose pivots cannot be reached beside the centre."""
    return sample("too-near-the-centre")


def part_from(text: str) -> Part:
    """Return a part from TOML text."""
    return part_of(parse_source(text.encode(), "part.toml"))


def shop_from(text: str) -> Shop:
    """Return a shop from TOML text."""
    return shop_of(parse_source(text.encode(), "shop.toml"))


# Tools by hand ----------------------------------------------------------------------------------------


def quantity(value: float, unit: str = "mm") -> Quantity:
    """Return a value as if written in a file with this unit."""
    return Quantity(value, f"{value:g} {unit}", HERE)


def turning_tool(**changes: Any) -> Tool:
    """Return a right-hand knife; by default ISO 1832 D, 0.2 mm nose, 93 degrees, 7 mm edge, no holder."""
    given: dict[str, Any] = {
        "number": 1, "name": "knife", "kind": "turning", "material": "HSS", "hand": "right", "nose_radius": 0.2,
        "approach": 93.0, "shape": "D", "edge": 7.0, "width": 0.0, "minimum_cut": 0.02, "deepest_cut": 0.75,
        "rough_feed": 0.06, "finish_feed": 0.03, "outlines": (), "text": "", "where": HERE,
    } | changes  # fmt: skip
    given.setdefault("included", INCLUDED.get(given["shape"], 0.0))
    plain = {"number", "included"}
    return Tool(**{k: quantity(v) if isinstance(v, float | int) and k not in plain else v for k, v in given.items()})


def grooving_tool(**changes: Any) -> Tool:
    """Return an undercut tool; by default 1 mm wide, 3 mm deep, 0.1 mm corners, no holder."""
    given = {"number": 2, "name": "undercut tool", "kind": "grooving",
             "nose_radius": 0.1, "approach": 90.0, "shape": "",
             "edge": 3.0, "width": 1.0}  # fmt: skip
    return turning_tool(**(given | changes))


def outline(name: str, *points: tuple[float, float]) -> Outline:
    """Return a convex outline from its corners."""
    return Outline(name=name, polygon=tuple(Point(z, x) for z, x in points))


# Random shops -----------------------------------------------------------------------------------------

LATHE = """
[lathe]
name = "random lathe"
swing = "160 mm"
swing_over_slide = "90 mm"
between_centres = "300 mm"
tool_post = "{post}"
rapid_clearance = "{rapid_clearance:.2f} mm"
contact_clearance = "{contact:.2f} mm"

[lathe.x]
{x_slide}

[lathe.z]
{z_slide}

[lathe.control]
kind = "{control}"
dialect = "{dialect}"
x_words = "{x_words}"
units = "{units}"
rapid = "600 mm/min"

[lathe.spindle]
power = "250 W"
feeds_per_revolution = {encoder}
constant_surface_speed = {css}
{speeds}

[lathe.feed]
least = "0.005 mm/rev"
most = "0.2 mm/rev"

[lathe.tailstock]
barrel_diameter = "22 mm"
barrel_extension = "25 mm"
body_radius = "45 mm"

[lathe.headstock]
plate_diameter = "70 mm"
centre_projection = "30 mm"

[[centre]]
name = "plain centre"
kind = "plain"
cone_angle = "60 deg"
point_diameter = "12 mm"
body_diameter = "12 mm"
reach = "32 mm"
fastest_surface = "{rubs} m/min"
lubricant = "grease"

[[centre]]
name = "half centre"
kind = "half"
cone_angle = "60 deg"
point_diameter = "12 mm"
body_diameter = "12 mm"
reach = "32 mm"
fastest_surface = "{rubs} m/min"
lubricant = "grease"
flat = "0.5 mm"
flat_length = "25 mm"

[[carrier]]
name = "small carrier"
swing = "30 mm"
width = "5 mm"
grip = ["1.5 mm", "9 mm"]
fastest = "{drives} rpm"

[[carrier]]
name = "large carrier"
swing = "44 mm"
width = "6 mm"
grip = ["8 mm", "30 mm"]
fastest = "{drives} rpm"

[[chuck]]
name = "small chuck"
kind = "chuck"
nose_diameter = "50 mm"
nose_length = "45 mm"
grip = ["2 mm", "30 mm"]
grip_length = "10 mm"
fastest = "{chucks} rpm"

[[tool]]
number = 1
name = "knife"
kind = "turning"
shape = "{shape}"
material = "{tool_material}"
hand = "right"
nose_radius = "{nose:.2f} mm"
approach = "93 deg"
edge = "7 mm"
minimum_cut = "0.02 mm"
deepest_cut = "{deepest:.2f} mm"
rough_feed = "0.05 mm/rev"
finish_feed = "0.03 mm/rev"

[[tool.outline]]
name = "shank"
points = [["1.5 mm", "7 mm"], ["7 mm", "6 mm"], ["10 mm", "9 mm"], ["10 mm", "25 mm"], ["1.5 mm", "25 mm"]]

[[tool.outline]]
name = "tool post"
points = [["-10 mm", "25 mm"], ["30 mm", "25 mm"], ["30 mm", "70 mm"], ["-10 mm", "70 mm"]]

[[tool]]
number = 2
name = "undercut tool"
kind = "grooving"
material = "HSS"
hand = "right"
nose_radius = "0.05 mm"
width = "0.8 mm"
edge = "3 mm"
minimum_cut = "0.02 mm"
deepest_cut = "1 mm"
rough_feed = "0.02 mm/rev"
finish_feed = "0.02 mm/rev"

[[tool.outline]]
name = "blade"
points = [["0.1 mm", "3 mm"], ["2.5 mm", "3 mm"], ["4 mm", "25 mm"], ["0.1 mm", "25 mm"]]
"""

BELTS = (
    'positions = [{ name = "1", speed = "300 rpm" }, { name = "2", speed = "800 rpm" }, '
    '{ name = "3", speed = "1900 rpm" }]'
)
RANGE = 'slowest = "100 rpm"\nfastest = "2500 rpm"'


def _slide(draw: st.DrawFn, *, across: bool) -> str:
    reading = draw(st.sampled_from(["dial", "readout", "none"]))
    division = draw(st.sampled_from([0.005, 0.01, 0.02] if across else [0.01, 0.02, 0.05]))
    rows = [f'reading = "{reading}"', f'division = "{division} mm"']
    rows.append(f'backlash = "{draw(st.sampled_from([0.0, 0.02, 0.05]))} mm"')
    if across:
        rows.append(f'habit = "{draw(st.sampled_from(["diameter", "depth on diameter", "radius"]))}"')
    if reading != "none":
        rows.append(f'counts = "{draw(st.sampled_from(["up", "down"]))}"')
    if reading == "dial":
        rows.append('turn = "2 mm"')
    return "\n".join(rows)


def but_waits(warnings: Iterable[Problem], dialect: str) -> list[Problem]:
    """Return the warnings except those that a spindle is not waited for, where the dialect has no word to wait by."""
    can = load_dialect(dialect).text("DWELL")
    return [w for w in warnings if can or "after the spindle starts" not in w.what]


def by_hand(text: str) -> str:
    """Return a shop file with its lathe worked by hand: without all that only a control needs."""
    head, control, rest = text.partition("[lathe.control]\n")
    assert control
    _, spindle, rest = rest.partition("[lathe.spindle]\n")
    rest = re.sub(r"(?m)^(feeds_per_revolution|constant_surface_speed) = .*\n", "", rest)
    return f'{head}{control}kind = "hand"\n\n{spindle}{rest}'


@st.composite
def shop_texts(draw: st.DrawFn) -> str:
    """Draw valid shop files: dials and readouts of every kind, belts or a range, both dialects, several tools."""
    encoder = draw(st.booleans())
    speeds = draw(st.sampled_from([BELTS, RANGE]))
    held = encoder and speeds == RANGE and draw(st.booleans())  # constant surface speed, which rs274ngc cannot say
    hand = draw(st.sampled_from([False, True]))
    held = held and not hand
    text = LATHE.format(
        post=draw(st.sampled_from(["front", "rear"])),
        rapid_clearance=draw(st.sampled_from([0.3, 0.5, 1.0])),
        contact=draw(st.sampled_from([0.05, 0.1])),
        x_slide=_slide(draw, across=True),
        z_slide=_slide(draw, across=False),
        control="stepper",
        dialect="eia274d" if held else draw(st.sampled_from(["rs274ngc", "eia274d"])),
        x_words=draw(st.sampled_from(["radius", "diameter"])),
        units=draw(st.sampled_from(["mm", "in"])),
        encoder=str(encoder).lower(),
        css=str(held).lower(),
        speeds=speeds,
        shape=draw(st.sampled_from(["D", "V"])),
        tool_material=draw(st.sampled_from(["HSS", "carbide"])),
        nose=draw(st.sampled_from([0.05, 0.1, 0.15])),
        deepest=draw(st.sampled_from([0.4, 0.75, 1.2])),
        rubs=draw(st.sampled_from([6, 9.5, 40])),
        drives=draw(st.sampled_from([600, 850, 3000])),
        chucks=draw(st.sampled_from([750, 2000, 4000])),
    )
    return by_hand(text) if hand else text


# Random parts -----------------------------------------------------------------------------------------

MATERIALS = ("silver steel", "mild steel", "free-cutting steel", "EN8", "brass", "2011 aluminium")


def _length(draw: st.DrawFn, value: float) -> str:
    """Return a length in one of the units people mix; inches are rounded to 0.0254 um."""
    unit = draw(st.sampled_from(["mm", "mm", "in", "thou"]))
    if unit == "mm":
        return f"{value:.4f} mm"
    return f"{value / 25.4:.6f} in" if unit == "in" else f"{value / 0.0254:.3f} thou"


def _steps(draw: st.DrawFn, least: int, most: int, start: float) -> list[float]:
    """Draw diameters that rise from an end inward, mm; steps of at least 1.1 mm per side, 0.7 mm beside a taper."""
    found = []
    for _ in range(draw(st.integers(least, most))):
        found.append(start)
        start = round(start + draw(st.integers(22, 46)) / 10, 2)
    return found


def _corner(draw: st.DrawFn, diameter: float) -> str:
    kind = draw(st.sampled_from(["nose", "nose", "fillet", "undercut"]))
    if kind == "nose":
        return f"fillet up to {draw(st.sampled_from([0.15, 0.2, 0.3]))} mm"
    if kind == "fillet":
        return f"fillet {draw(st.sampled_from([0.15, 0.25, 0.4]))} mm"
    depth = draw(st.sampled_from([0.1, 0.2, 0.25]))
    return f"undercut {draw(st.sampled_from([0.8, 1.0, 1.3]))} mm wide {min(depth, 0.1 * diameter):.2f} mm deep"


def _edge(draw: st.DrawFn) -> str:
    kind = draw(st.sampled_from(["sharp", "chamfer", "radius"]))
    return kind if kind == "sharp" else f"{kind} {draw(st.sampled_from([0.1, 0.2, 0.3]))} mm"


def _finish(draw: st.DrawFn) -> list[str]:
    route = draw(st.sampled_from(["turn", "turn", "turn, stone, burnish"]))
    rows = [f'finish = "{route}"']
    if route != "turn":
        rows.append(f'on_diameter = "{draw(st.sampled_from([0.0, 0.02, 0.03]))} mm"')
        rows.append(f'on_face = "{draw(st.sampled_from([0.0, 0.01, 0.03]))} mm"')
    return rows


TOLERANCES = ("+0 / -0.03 mm", "-0.01 / -0.03 mm", "±0.05 mm", "+0 / -1 thou")


def _table(*rows: str) -> str:
    return "\n".join(["", "[[section]]", *rows])


def _length_row(draw: st.DrawFn, least: int = 30, most: int = 120) -> str:
    return f'length = "{_length(draw, draw(st.integers(least, most)) / 10)}"'


def _section(draw: st.DrawFn, name: str, diameter: float, side: str, *, outermost: bool) -> list[str]:
    """Draw one section outward of the thickest, from its end inward; side is the end it is turned from, "a" or "b".

    Inward of the first, one in a few is a taper, has a groove at its shoulder, or goes on as another section.
    """
    other = "b" if side == "a" else "a"
    head = [f'name = "{name}"', _length_row(draw)]
    plain = f'diameter = "{_length(draw, diameter)}"'
    edge, corner = f'edge_{side} = "{_edge(draw)}"', f'corner_{other} = "{_corner(draw, diameter)}"'
    limits = [f'tolerance = "{draw(st.sampled_from(TOLERANCES))}"'] if draw(st.booleans()) else []
    kind = "pivot" if outermost else draw(st.sampled_from(["", "", "taper", "groove", "twin"]))
    if kind == "taper":
        thin = round(diameter - draw(st.integers(1, 8)) / 10, 2)
        if "undercut" in corner:  # on a steep taper it might not be as deep as the taper falls over its width
            corner = f'corner_{other} = "fillet up to 0.2 mm"'
        cone = [f'diameter_{side} = "{thin} mm"', f'diameter_{other} = "{diameter} mm"']
        return [_table(*head, 'role = "plain"', *cone, *limits, edge, corner, *_finish(draw))]
    if kind == "groove":
        neck = [
            f'name = "{name} neck"',
            'role = "undercut"',
            f'diameter = "{diameter - 0.3:.2f} mm"',
            'finish = "turn"',
        ]
        corners = [f'corner_{end} = "fillet up to 0.1 mm"' for end in "ab"]
        outer = _table(*head, 'role = "seat"', plain, *limits, edge, f'edge_{other} = "sharp"', *_finish(draw))
        return [outer, _table(*neck, _length_row(draw, 10, 15), *corners)]
    if kind == "twin":
        second = [f'name = "{name} goes on"', 'role = "journal"', plain, 'finish = "turn"', 'tolerance = "±0.05 mm"']
        outer = _table(*head, 'role = "seat"', plain, *limits, edge, 'finish = "turn"')
        return [outer, _table(*second, _length_row(draw), corner)]
    role = draw(st.sampled_from(["pivot", "seat"] if outermost else ["journal", "seat", "plain"]))
    return [_table(*head, f'role = "{role}"', plain, *limits, edge, corner, *_finish(draw))]


def _side(draw: st.DrawFn, diameters: list[float], side: str) -> list[str]:
    """Draw the sections of one end, from that end inward."""
    found = []
    for i, diameter in enumerate(diameters):
        found += _section(draw, f"{side} {i + 1}", diameter, side, outermost=i == 0)
    return found


@st.composite
def centre_part_texts(draw: st.DrawFn, *, extra_length: bool | None = None, centre: str | None = None) -> str:
    """Draw valid part files turned between centres: 2 to 9 sections, with room for every carrier.

    Args:
        extra_length: True for extra length at both ends, False for none but what carriers need, None for either.
        centre: name of the tailstock centre; None for either of them.
    """
    start = st.integers(22, 60).map(lambda n: n / 10)  # thinner ends may have no centre hole
    a = _steps(draw, 1, 3, draw(start))
    b = _steps(draw, 0, 2, draw(start))
    body = round(max(a[-1], b[-1] if b else 0.0) + draw(st.integers(22, 50)) / 10, 2)
    bought = draw(st.booleans()) and draw(st.booleans())
    stock = body if bought else round(body + draw(st.sampled_from([0.5, 1.0, 2.0])), 2)
    body_rows = ['name = "body"', 'role = "body"', f'diameter = "{body} mm"']
    body_rows += [f'length = "{_length(draw, draw(st.integers(120, 300)) / 10)}"', f'edge_a = "{_edge(draw)}"']
    body_rows += [f'edge_b = "{_edge(draw)}"', 'finish = "as stock"' if bought else 'finish = "turn"']
    sections = [*_side(draw, a, "a"), "\n".join(["", "[[section]]", *body_rows]), *reversed(_side(draw, b, "b"))]
    extra = {"a": 0.0, "b": 12.0 if not b or extra_length is not False else 9.0}
    if extra_length is True or (extra_length is None and draw(st.booleans())):
        extra["a"] = draw(st.sampled_from([4.0, 7.5]))
    first = draw(st.sampled_from(["", 'first = "A"\n']))
    holding = f'[holding]\nmethod = "between centres"\n{first}'
    for end in ("a", "b"):
        name = centre or draw(st.sampled_from(["plain centre", "half centre"]))
        holding += f'\n[holding.end_{end}]\ntail_centre = "{name}"\nextra_length = "{extra[end]} mm"\n'
    bar = f'[stock]\nmaterial = "{draw(st.sampled_from(MATERIALS))}"\ndiameter = "{stock} mm"\nlength = "200 mm"\n'
    return "\n".join(['name = "random arbor"', bar, holding, *sections, ""])


@st.composite
def held_part_texts(draw: st.DrawFn) -> str:
    """Draw valid part files turned in the chuck: sections that rise from the free end to a head left as stock."""
    free = draw(st.sampled_from(["a", "b"]))
    steps = _steps(draw, 1, 3, draw(st.integers(20, 60)) / 10)
    stock = round(steps[-1] + draw(st.integers(22, 46)) / 10, 2)
    edge = f'edge_{free} = "{_edge(draw)}"'
    rows = ['name = "head"', 'role = "plain"', f'diameter = "{stock} mm"', 'length = "30 mm"', edge]
    head = "\n".join(["", "[[section]]", *rows, 'finish = "as stock"'])
    sections = [*_side(draw, steps, free), head]
    holding = (
        f'[holding]\nmethod = "chuck"\nchuck = "small chuck"\nfree_end = "{free.upper()}"\nstick_out = "66 mm"\n'
        f'facing = "{draw(st.sampled_from([0.3, 0.5, 1.0]))} mm"\n'
    )
    bar = f'[stock]\nmaterial = "brass"\ndiameter = "{stock} mm"\nlength = "100 mm"\n'
    return "\n".join(['name = "random pin"', bar, holding, *(sections if free == "a" else reversed(sections)), ""])


def part_texts(*, extra_length: bool | None = None, centre: str | None = None) -> st.SearchStrategy[str]:
    """Draw valid part files of both ways of holding; arguments as for centre_part_texts."""
    return st.one_of(centre_part_texts(extra_length=extra_length, centre=centre), held_part_texts())


def parts_and_shops(
    *, extra_length: bool | None = None, centre: str | None = None
) -> st.SearchStrategy[tuple[Part, Shop]]:
    """Draw random valid parts with random valid shops that can hold them.

    Whether a tool finds room beside the centre is for the planner to say; a half centre and extra length
    (centre="half centre", extra_length=True) leave the most.
    """
    return st.tuples(part_texts(extra_length=extra_length, centre=centre).map(part_from), shop_texts().map(shop_from))


def some(every: Iterable[Any], *soon: Any) -> list[Any]:
    """Return all cases of a law, with those that are not tried by default among the slow ones.

    Args:
        every: the cases. soon: those of the default run.
    """
    return [case if case in soon else pytest.param(case, marks=pytest.mark.slow) for case in every]


def one_in(step: int, every: Iterable[Any]) -> list[Any]:
    """Return all cases of a law, one in so many for the default run; .ci/run and tests.mutants try the others too."""
    rows = [case if isinstance(case, tuple) else (case,) for case in every]
    later = pytest.mark.slow, pytest.mark.told
    return [pytest.param(*row, marks=later if n % step else ()) for n, row in enumerate(rows)]
