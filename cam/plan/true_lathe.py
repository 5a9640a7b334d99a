"""Whether the lathe turns true between centres, from test cuts: which way and how far the tailstock has to go.

A plain bar, one light cut along it without touching the cross slide, is measured at two places or three. A straight
cone comes from the tailstock centre standing beside the spindle's axis; a bar that is fat (or thin) at the place
between comes from springing, and moving the tailstock does not fix that.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, RangeError, Where, refusal
from cam.ground.units import LENGTH, MM_PER_INCH, QuantityError, parse, show_fine


@frozen
class BarReading:
    """A diameter of the test bar, as measured.

    Attributes:
        at: distance from the headstock centre's end of the bar, mm. diameter: the diameter there, mm.
    """

    at: float
    diameter: float


@frozen
class Truth:
    """What the readings of a test bar say.

    Attributes:
        cone: growth of the diameter toward the tailstock, mm for each mm.
        move: how far the tailstock centre has to go, mm, 0 or more.
        toward_tool: True where it must go toward the tool, False away from it.
        way: the same as the operator sees it, "toward you" or "away from you"; "" where move is 0.
        bulge: how much fatter the bar is between (thinner: negative) than a straight cone, mm of diameter; None
            from two readings, which cannot tell.
        looks_like: "true", "offset", "deflection" or "both".
    """

    cone: float
    move: float
    toward_tool: bool
    way: str
    bulge: float | None
    looks_like: Literal["true", "offset", "deflection", "both"]


LOOKS: dict[tuple[bool, bool], Literal["true", "offset", "deflection", "both"]] = {
    (False, False): "true", (True, False): "offset", (False, True): "deflection", (True, True): "both",
}  # fmt: skip
"""Whether the bar's ends differ, and whether its middle is off their line -> what it looks like."""

WAYS = {True: "toward you", False: "away from you"}


MOST_CONE = 0.05
"""The most that a test bar's diameter grows or falls, mm for each mm: a centre a fortieth of its length off the axis is
no fault of setting, but of a unit or a point. Common practice, no source."""


def set_over(larger: float, smaller: float, tapered: float, length: float) -> float:
    """Return how far the tailstock must be off the axis to turn a taper between centres, mm.

    Args:
        larger, smaller: diameters at the ends of the taper; tapered: its length; length: distance between centres; mm.

    Source: half the difference of the diameters, times length over tapered length; any turner's handbook.
    """
    if tapered <= 0 or length <= 0:
        raise RangeError(f"no taper of {tapered} mm on {length} mm")
    return (larger - smaller) / 2 * length / tapered


def find_truth(
    readings: Sequence[BarReading], length: float, post: Literal["front", "rear"], resolution: float = 0.005
) -> Truth:
    """Find what two or three readings say.

    Args:
        readings: taken at different places. length: distance between centres, mm.
        post: where the tool stands; a rear post's tool cuts from beyond the work.
        resolution: how far a reading may be off, mm of diameter; smaller differences count as none.
    Raises:
        RangeError: there are fewer than two places or more than three, one is not between centres, or the diameters
            are not those of one bar.

    Geometry: with the tailstock centre moved d toward the tool, a place at distance z from the headstock centre
    comes d z / length nearer, so its diameter falls by twice that.
    """
    places = sorted(readings, key=lambda r: r.at)
    if len({r.at for r in places}) != len(places) or len(places) not in (2, 3):
        raise RangeError("two or three readings at different places are needed")
    if places[0].at < 0 or places[-1].at > length:
        raise RangeError(f"readings must lie between centres {length:g} mm apart")
    first, last = places[0], places[-1]
    difference = last.diameter - first.diameter
    cone = difference / (last.at - first.at)
    if abs(cone) > MOST_CONE:
        sizes = f"{first.diameter:g} mm and {last.diameter:g} mm, {last.at - first.at:g} mm apart"
        raise RangeError(f"{sizes}, are not diameters of one plain bar: look at the units and points of the readings")
    bulge = None
    if len(places) == 3:
        bulge = places[1].diameter - (first.diameter + cone * (places[1].at - first.at))
    leans, bends = abs(difference) > resolution, bulge is not None and abs(bulge) > resolution
    move = abs(set_over(last.diameter, first.diameter, last.at - first.at, length)) if leans else 0.0
    toward_tool = cone > 0
    way = WAYS[toward_tool == (post == "front")] if move else ""
    return Truth(cone=cone, move=move, toward_tool=toward_tool, way=way, bulge=bulge, looks_like=LOOKS[leans, bends])


def read_reading(text: str) -> BarReading:
    """Read a reading as it is written: "12.03 mm at 15 mm".

    Raises:
        ProblemError: it cannot be read.
    """
    diameter, found, at = text.partition(" at ")
    try:
        if not found:
            raise QuantityError("a reading is a diameter and where it was taken", '"12.03 mm at 15 mm"')
        return BarReading(at=parse(at, LENGTH, least=0.0), diameter=parse(diameter, LENGTH, least=0.0, over=True))
    except QuantityError as error:
        example = '"12.03 mm at 15 mm": the diameter, and how far from the headstock end of the bar'
        raise refusal("reading", str(error), given=text, allowed=example) from error


def say_truth(truth: Truth, readings: Sequence[BarReading], length: float, unit: str) -> str:
    """Say in a few sentences what the readings tell and what to do; unit: "mm" or "in"."""

    def say(value: float) -> str:
        return show_fine(abs(value), unit, trim=True)

    over, name = (MM_PER_INCH, "1 in") if unit == "in" else (100.0, "100 mm")
    short = 12.7 if unit == "in" else 10.0
    larger = "tailstock" if truth.cone > 0 else "headstock"
    lines = ["cone       none that the readings can tell"]
    if truth.move:
        side = "toward the tool" if truth.toward_tool else "away from the tool"
        lines = [
            f"cone       {say(truth.cone * over)} of diameter in {name}, larger at the {larger}",
            f"tailstock  move it {say(truth.move)} {truth.way} ({side}), for {say(length)} between centres",
            "           put an indicator on the barrel, from the side, and watch it while the screws are turned;",
            "           lock it, take another light cut, and measure again before anything is cut to size",
            f"if not     every section comes out a cone: {say(truth.cone * short)} on one {say(short)} long",
        ]
    if truth.bulge is None:
        lines.append("bending    two readings cannot tell a bar that springs: take a third, in the middle")
    elif truth.looks_like in ("deflection", "both"):
        shape = "fat" if truth.bulge > 0 else "thin"
        lines.append(
            f"bending    {say(truth.bulge)} {shape} between: the bar springs, or the bed is worn there; moving the "
            "tailstock does not fix that"
        )
        lines.append("           take a lighter cut with a keen tool and see whether it goes; a steady helps")
    else:
        lines.append("bending    none: the places lie on one straight cone")
    if truth.move:
        a, b = min(readings, key=lambda r: r.at), max(readings, key=lambda r: r.at)
        lines.append(
            f'shop file  to leave it: cone = {{ difference = "{say(b.diameter - a.diameter)}", '
            f'over = "{say(b.at - a.at)}", larger_at = "{larger}", plan = "warn" }}'
        )
        lines.append(
            '           plan = "warn" tells what it does to each section; "correct" also sets X for each at its middle'
        )
    return "\n".join(lines) + "\n"


def answer_tailstock(texts: Sequence[str], length: str, post: str, resolution: str) -> str:
    """Return what `endshake tailstock` answers.

    Raises:
        ProblemError: readings that cannot be read, a wrong length or side, places that cannot be; all at once.
    """
    problems: list[Problem] = []
    readings: list[BarReading] = []
    for text in texts:
        try:
            readings.append(read_reading(text))
        except ProblemError as error:
            problems += error.problems
    sizes: dict[str, float] = {}
    for option, text in (("--length", length), ("--resolution", resolution)):
        try:
            sizes[option] = parse(text, LENGTH, least=0.0, over=True)
        except QuantityError as error:
            problems.append(Problem(where=Where(path=option), what=str(error), given=text, allowed='"150 mm"'))
    if post not in ("front", "rear"):
        problems.append(Problem(where=Where(path="--post"), what="no such side", given=post, allowed="front or rear"))
    if problems:
        raise ProblemError(problems)
    whole = sizes["--length"]
    try:
        truth = find_truth(readings, whole, "rear" if post == "rear" else "front", sizes["--resolution"])
    except RangeError as error:
        raise refusal("reading", str(error), given=", ".join(texts), allowed="2 or 3 places") from error
    return say_truth(truth, readings, whole, "in" if "mm" not in texts[0] else "mm")
