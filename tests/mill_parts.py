"""Random part and shop files of parts that the mill works on, and what is to come of them by plain arithmetic."""

from __future__ import annotations

import math
from typing import NamedTuple

from hypothesis import strategies as st

from tests.specimens import SAMPLES

WAYS = {
    "tipped block": 'square_by = "tipped block"\nshim_distance = "{spacing} mm"',
    "ramped": 'square_by = "ramped"',
    "rotary axis": 'square_by = "rotary axis"',
}

PART = """
name = "random arbor"
corners = "fillet up to 0.1 mm"
edges = "chamfer 0.2 mm"

[stock]
material = "{material}"
diameter = "18 mm"
length = "200 mm"

[holding]
method = "between centres"

[holding.end_a]
tail_centre = "half centre"
extra_length = "12 mm"

[holding.end_b]
tail_centre = "half centre"
extra_length = "12 mm"
"""

BLANK = """
[[section]]
name = "winding square"
role = "square blank"
diameter = "{blank:.3f} mm"
length = "{length:.3f} mm"
bearing = "{bearing:.3f} mm"
finish = "turn"

[section.square]
flats = {flats}
{sizes}
corners = "{corners}"
tolerance = "±0.01 mm"
allowance = "{allowance} mm"
flats_end = "{flats_end} mm"
grip = "body"
grip_length = "26 mm"
"""

ROUND = """
[[section]]
name = "{name}"
role = "{role}"
diameter = "{diameter} mm"
length = "{length} mm"
finish = "turn"
"""

HOLE = """
[[cross_hole]]
name = "pin hole"
section = "body"
face = "{face}"
distance = "{distance} mm"
angle = "{angle}"
{thread}
{deep}
flat_depth = "{flat} mm"
grip = "body"
grip_length = "12 mm"
"""

MILL = """
[mill]
name = "random mill"
dialect = "rs274ngc"
units = "{units}"
rapid = "600 mm/min"
slowest = "200 rpm"
fastest = "3000 rpm"
{way}
crown = "{crown} mm"
tap_cycle = false
rapid_clearance = "0.5 mm"
contact_clearance = "0.3 mm"

[mill.block]
name = "block"
length = "60 mm"
across = "38 mm"
sides = {flats}
nose_diameter = "32 mm"
nose_length = "16 mm"
grip = ["3 mm", "16 mm"]
grip_length = "24 mm"

[[cutter]]
number = 1
name = "end mill"
kind = "end mill"
material = "HSS"
diameter = "{cutter} mm"
flutes = "12 mm"
stick_out = "34 mm"
shank_diameter = "{cutter} mm"
holder_diameter = "24 mm"
teeth = 3
minimum_cut = "0.02 mm"
deepest_cut = "{deepest} mm"
feed_per_tooth = "0.012 mm"

[[cutter]]
number = 2
name = "spot drill"
kind = "spot drill"
material = "HSS"
diameter = "4 mm"
point_angle = "90 deg"
flutes = "12 mm"
stick_out = "35 mm"
shank_diameter = "4 mm"
holder_diameter = "24 mm"
feed = "0.03 mm/rev"

[[cutter]]
number = 3
name = "drill"
kind = "drill"
material = "HSS"
diameter = "2.6 mm"
point_angle = "118 deg"
flutes = "30 mm"
stick_out = "40 mm"
shank_diameter = "2.6 mm"
holder_diameter = "24 mm"
feed = "0.03 mm/rev"
"""


def lathe_text() -> str:
    """Return the sample shop without its mill."""
    text = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
    return text[: text.index("[mill]")]


class MillCase(NamedTuple):
    """A random part, the shops that can mill it each in its own way, and what is to come of it.

    Attributes:
        part: TOML. shops: TOML by way, to be given its units.
        across, station, slope: of the square as milled, mm. length, wall, flats: likewise of the square.
        crown: mm. hole_x: of the hole's middle, from its face toward the tip, mm. through: whether it goes through.
    """

    part: str
    shops: dict[str, str]
    across: float
    station: float
    slope: float
    length: float
    wall: float
    flats: int
    crown: float
    hole_x: float
    through: bool

    def across_at(self, x: float) -> float:
        """Return the size across flats as milled at x from the shoulder, mm, by proportion."""
        return self.across + 2 * self.slope * (self.station - x)


def _sizes(draw: st.DrawFn, across: float, length: float) -> tuple[str, float, float, float]:
    """Return keys of size and taper in one of the ways to say them, and (across, station, slope) by hand."""
    station = round(draw(st.floats(0.3, 1.0)) * length, 2)
    number = draw(st.integers(0, 8))
    head = f'across = "{across} mm"\nat = "{station} mm"\ntaper = '
    thousandths = number / 1000
    ways = (
        (f'{head}"{thousandths} in/in per side"', across, station, thousandths),
        (f'{head}"{number / 10} deg included"', across, station, math.tan(math.radians(number / 20))),
        (f'{head}"{number}:500 included"', across, station, number / 1000),
    )
    if not draw(st.booleans()):
        return draw(st.sampled_from(ways))
    tip = round(across - 2 * thousandths * length, 3)
    keys = f'across_at_shoulder = "{across} mm"\nacross_at_tip = "{tip} mm"'
    return keys, (across + tip) / 2, length / 2, (across - tip) / (2 * length)


def _hole(draw: st.DrawFn, angle: str, *, body: float, tip: str) -> tuple[str, float, bool]:
    """Return a cross hole, plain or tapped, blind or through, from either face, with its x by hand."""
    face = draw(st.sampled_from("AB"))
    distance = draw(st.integers(50, 90)) / 10
    if face != tip:  # the far face lies inside the collet
        distance = body - distance
    through, tapped = draw(st.booleans()), draw(st.booleans())
    deep = "through = true" if through else f'depth = "{draw(st.integers(20, 45)) / 10} mm"'
    if tapped and not through:
        deep += '\nchips = "0.5 mm"'
    text = HOLE.format(
        face=face, distance=distance, angle=angle, deep=deep, flat=draw(st.sampled_from((0.0, 0.2, 0.7))),
        thread='thread = "M3"\nlead = "bottoming"' if tapped else 'diameter = "2.6 mm"',
    )  # fmt: skip
    return text, -distance if face == tip else distance, through


@st.composite
def mill_cases(draw: st.DrawFn) -> MillCase:
    """Draw squares of 4, 6 and 8 flats, straight or tapered by every way to say it, at either end, and a cross hole."""
    flats = draw(st.sampled_from((4, 4, 4, 6, 8)))
    blank = draw(st.integers(30, 75)) / 10
    length = draw(st.integers(60, 160)) / 10
    across = round(blank * math.cos(math.pi / flats) * draw(st.floats(0.9, 1.05)), 2)
    across = min(across, round(blank - 0.4, 2))
    sizes, across, station, slope = _sizes(draw, across, length)
    allowance = draw(st.sampled_from((0.0, 0.02)))
    flats_end = draw(st.sampled_from((0.1, 0.5)))
    tip = draw(st.sampled_from("AB"))
    over = (across + 2 * slope * station) / math.cos(math.pi / flats)
    corners = st.sampled_from(("whole", 'broken"\nbroken = "0.1 mm') if over <= blank else ("round",))
    square = BLANK.format(
        blank=blank, length=length, bearing=blank + 0.02, flats=flats, sizes=sizes, corners=draw(corners),
        allowance=allowance, flats_end=flats_end,
    )  # fmt: skip
    seat = ROUND.format(name="seat", role="seat", diameter=round(blank + 1.5, 2), length=12)
    body = ROUND.format(name="body", role="body", diameter=14, length=40)
    back = ROUND.format(name="back seat", role="seat", diameter=8, length=10)
    order = (square, seat, body, back)
    step = 360 // flats
    hole, hole_x, through = _hole(draw, draw(st.sampled_from(("any", f"{step} deg"))), body=40, tip=tip)
    material = draw(st.sampled_from(("silver steel", "brass", "free-cutting steel")))
    part = PART.format(material=material) + "".join(order if tip == "A" else order[::-1]) + hole
    crown = draw(st.sampled_from((0.0003, 0.0005)))
    given = {
        "units": "{units}", "crown": crown, "flats": flats, "cutter": draw(st.sampled_from((3.0, 6.0, 10.0))),
        "deepest": draw(st.sampled_from((0.2, 0.5, 1.0))),
    }  # fmt: skip
    spacing = draw(st.integers(20, 55))
    shops = {way: lathe_text() + MILL.format(way=text.format(spacing=spacing), **given) for way, text in WAYS.items()}
    return MillCase(
        part=part, shops=shops, across=across + allowance, station=station, slope=slope, length=length, wall=flats_end,
        flats=flats, crown=crown, hole_x=hole_x, through=through,
    )  # fmt: skip
