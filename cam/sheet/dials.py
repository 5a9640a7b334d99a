"""Dials, readouts, indicator and slips: how what stands on the page becomes places of the slides.

What the page says of a dial is compared with the shop file; a reading that such a dial cannot show is a fault.
"""

from __future__ import annotations

import re
from typing import Literal

from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_length
from cam.sheet.model import Figure
from cam.shop.machine import Slide

FIGURE = r"-?\d{1,5}(?:\.\d{1,6})?"
READING = r"\d{1,4}[+-]\d{1,4}(?:\.5)?"
EITHER = rf"(?:{READING}|{FIGURE})"
UNITS = {"mm": 1.0, "in": MM_PER_INCH, "thou": MM_PER_INCH / 1000.0}
FACTORS = {"diameter": 1.0, "depth on diameter": 1.0, "radius": 2.0}
"""Change of diameter for one unit of an X dial, by the way in which it counts."""
Unit = Literal["mm", "in"]
Axis = Literal["X", "Z"]


class ReadingError(ValueError):
    """A reading that cannot be set, or what a page wrongly says of a dial: what it is, and what would be right."""

    def __init__(self, what: str, allowed: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.allowed = allowed


def say(mm: float, unit: Unit, digits: int = 3) -> str:
    """Show a length in the unit of a page, with so many decimals in mm, one more in inches."""
    return show_length(mm, unit, digits + (unit == "in"))


def say_between(low: float, high: float, unit: Unit, digits: int = 3) -> str:
    """Show two lengths in the same way, the unit once."""
    return f"{say(low, unit, digits).removesuffix(f' {unit}')} to {say(high, unit, digits)}"


def figure_of(text: str, unit: Unit) -> Figure:
    """Read a printed figure; ReadingError where the text is none."""
    if re.fullmatch(FIGURE, text) is None:
        raise ReadingError("is no figure", "digits, with a point where there are decimals")
    decimals = len(text.partition(".")[2])
    return Figure(float(text) * UNITS[unit], 0.5 * 10.0**-decimals * UNITS[unit], text)


class Scale(Row):
    """How one slide is set by a page.

    Attributes:
        axis: X gives diameters, Z places. kind: "dial", "readout", "in" (indicator or slips at the cross slide),
            "slips", or "figures" where rows are read by their own figures.
        step: change of diameter or Z for one division, mm, with its sign: X of a dial that rises going in is negative.
        per_turn: divisions in a turn of a dial, otherwise 1.
        zero: diameter or Z, mm, at which it reads `reads` divisions.
        unit: mm of the division's own measure in one unit of the figures. factor: see FACTORS; 1 along Z.
    """

    axis: Axis
    kind: Literal["dial", "readout", "in", "slips", "figures"]
    step: float
    per_turn: int
    zero: float
    reads: float
    unit: float

    def place(self, text: str) -> float:
        """Diameter or Z, mm, that a reading gives; ReadingError where this dial cannot show it."""
        count = _divisions(text, self.per_turn) if self.kind == "dial" else self._steps(text)
        return self.zero + (count - self.reads) * self.step

    def _steps(self, text: str) -> float:
        """Return a figure as whole divisions."""
        figure = figure_of(text, "mm")
        step = abs(self.step) / self.unit
        count = round(figure.value / step)
        if abs(figure.value - count * step) > max(figure.half, 1e-9) * 1.0001 or figure.half > step:
            raise ReadingError(f"is no multiple of the division, {step:.6g}", f"whole divisions of {step:.6g}")
        return count


def _divisions(text: str, per_turn: int) -> float:
    """Return a dial's reading, "4+35", as divisions from where it reads zero; "0-05" is short of it."""
    found = re.fullmatch(r"(\d{1,4})([+-])(\d{1,4})(\.5)?", text)
    width = len(str(per_turn - 1))
    if found is None:
        form = f'turns, "+" and divisions, "2+{0:0{width}d}"; a half division ".5", nothing finer'
        raise ReadingError("is no reading of a dial", form)
    turns, sign, rest, half = found.groups()
    if len(rest) != width or int(rest) >= per_turn:
        raise ReadingError(
            f"cannot be read on a dial of {per_turn} divisions a turn",
            f"{0:0{width}d} to {per_turn - 1} after the {sign}",
        )
    count = int(turns) * per_turn + int(rest) + (0.5 if half else 0.0)
    return count if sign == "+" else -count


X_DIAL = re.compile(
    rf"X DIAL +a division is (?P<division>{FIGURE})(?: (?P<unit>mm|in|thou))? (?P<habit>on the diameter|a side), "
    rf"(?P<turn>\d{{1,4}}) a turn, (?P<way>rises|falls) going in; (?P<reads>{READING}) is diameter (?P<zero>{FIGURE})"
    r"(?P<rest>[;,.(].*)?"
)
Z_DIAL = re.compile(
    rf"Z DIAL +a division is (?P<division>{FIGURE})(?: (?P<unit>mm|in|thou))?, (?P<turn>\d{{1,4}}) a turn, "
    rf"(?P<way>rises|falls) toward the headstock; (?P<reads>{READING}) is Z (?P<zero>{FIGURE})(?P<rest>[;,.(].*)?"
)
X_READS = re.compile(
    r"X READS +(?P<habit>the diameter|the radius|depth on the diameter|depth a side)"
    r"(?:, (?P<way>rises|falls) going in)?(?:, in (?:mm|inches))?"
    rf"(?:; (?P<reads>{FIGURE}) is diameter (?P<zero>{FIGURE}))?(?P<rest>[;,.(].*)?"
)
Z_READS = re.compile(
    r"Z READS +Z from Z 0, (?P<way>rises|falls) toward the headstock(?:, in (?:mm|inches))?"
    rf"; (?P<reads>{FIGURE}) is Z (?P<zero>{FIGURE})"
    r"(?P<rest>[;,.(].*)?"
)
X_IN = re.compile(rf"X IN +a side from diameter (?P<zero>{FIGURE})(?P<rest>[;,.(].*)?")
Z_SLIPS = re.compile(rf"Z SLIPS +(?P<reads>{FIGURE}) is Z (?P<zero>{FIGURE})(?P<rest>[;,.(].*)?")
FORMS = {"X DIAL": X_DIAL, "Z DIAL": Z_DIAL, "X READS": X_READS, "Z READS": Z_READS, "X IN": X_IN, "Z SLIPS": Z_SLIPS}
SHOWN = {
    "X DIAL": "X DIAL  a division is 0.02 on the diameter, 100 a turn, rises going in; 0+00 is diameter 16.00",
    "Z DIAL": "Z DIAL  a division is 0.02, 100 a turn, rises toward the headstock; 0+00 is Z 0.00",
    "X READS": "X READS  depth on the diameter, rises going in; 0.00 is diameter 16.00",
    "Z READS": "Z READS  Z from Z 0, rises toward the headstock; 0.00 is Z 0.00",
    "X IN": "X IN  a side from diameter 16.00",
    "Z SLIPS": "Z SLIPS  25.00 is Z 0.00",
}
KINDS = {"dial": ("X DIAL", "Z DIAL"), "readout": ("X READS", "Z READS"), "none": ("X IN", "Z SLIPS")}
"""Each kind of reading in the shop file, with the heads of what the page says of it."""


def inch_divided(slide: Slide) -> bool:
    """Tell whether the slide's divisions are inches."""
    return slide.division.text.lower().lstrip("0123456789 ./-+") in ("in", "inch", "inches", '"', "thou", "mil", "ft")


def read_scale(text: str, slide: Slide, unit: Unit, known: tuple[float, ...]) -> Scale:
    """Read what a page says of one dial, and compare it with the shop's.

    Args:
        text: the line, "X DIAL  a division is ...". slide: the shop's own. unit: unit of the page's figures.
        known: diameters or places, mm, that the printed zero may stand for where it is rounded from one of them.
    Raises:
        ReadingError: the line says nothing that can be acted on, or something that is not so.
    """
    head = next(h for h in FORMS if text.startswith(h))
    axis: Axis = "X" if head[0] == "X" else "Z"
    found = FORMS[head].fullmatch(text.rstrip())
    if found is None:
        raise ReadingError(f"does not say how {axis} is set", SHOWN[head])
    if head not in KINDS[slide.reading]:
        raise ReadingError(f"the shop file has another {axis} slide", f'reading = "{slide.reading}"')
    said = dict.fromkeys(("way", "habit", "division", "unit", "turn", "reads", "zero")) | found.groupdict()
    zero = _zero(said["zero"], unit, known)
    if head == "X IN":
        own = MM_PER_INCH if inch_divided(slide) else 1.0
        return Scale("X", "in", -FACTORS[slide.habit] * float(slide.division), 1, zero, 0.0, 2.0 * own)
    return _dial(axis, said, slide, zero) if slide.reading == "dial" else _figures(head, said, slide, zero)


def _zero(text: str | None, unit: Unit, known: tuple[float, ...]) -> float:
    """Return the value that a printed zero stands for: the one that it is rounded from, where that is known."""
    figure = figure_of(text or "0", unit)
    return next((k for k in known if figure.says(k, 1e-9)), figure.value) if text else 0.0


def _figures(head: str, said: dict[str, str | None], slide: Slide, zero: float) -> Scale:
    """Return the scale of a readout or of slips, whose readings are figures."""
    factor = FACTORS[slide.habit] if head[0] == "X" else 1.0
    if head == "X READS":
        _check_x_readout(said, slide)
    elif head == "Z READS":
        check_way(said["way"], slide, "Z")
    own, step = factor * (MM_PER_INCH if inch_divided(slide) else 1.0), factor * float(slide.division)
    kind: Literal["readout", "slips"] = "slips" if head == "Z SLIPS" else "readout"
    reads = float(said["reads"] or 0.0) * own / step
    return Scale("X" if head[0] == "X" else "Z", kind, _signed(step, said["way"]), 1, zero, reads, own)


def _check_x_readout(said: dict[str, str | None], slide: Slide) -> None:
    habit, way = said["habit"] or "", said["way"] or "falls"
    _check_habit(habit in ("the radius", "depth a side"), slide, "readout")
    check_way(way, slide, "X")
    if said["zero"] is None and (way == "rises" or habit.startswith("depth")):
        raise ReadingError("does not say at what diameter it reads 0", SHOWN["X READS"])


def _signed(step: float, way: str | None) -> float:
    return -step if way == "rises" else step


def _dial(axis: Axis, said: dict[str, str | None], slide: Slide, zero: float) -> Scale:
    if axis == "X":
        _check_habit(said["habit"] == "a side", slide, "dial")
    check_way(said["way"], slide, axis)
    division = figure_of(said["division"] or "", "mm")
    scale = UNITS[said["unit"] or ("in" if inch_divided(slide) else "mm")]
    if abs(division.value * scale - slide.division) > division.half * scale + 1e-9:
        raise ReadingError(f"the {axis} dial has another division in the shop file", slide.division.text)
    per_turn = check_turn(said["turn"], slide, axis)
    step = _signed(float(slide.division) * (FACTORS[slide.habit] if axis == "X" else 1.0), said["way"])
    return Scale(axis, "dial", step, per_turn, zero, _divisions(said["reads"] or "", per_turn), 1.0)


def _check_habit(radius: bool, slide: Slide, what: str) -> None:
    if radius != (slide.habit == "radius"):
        raise ReadingError(f"the X {what} counts otherwise in the shop file", f'habit = "{slide.habit}"')


def check_way(way: str | None, slide: Slide, axis: str) -> None:
    """Check which way a page says that a dial counts."""
    if (way == "rises") != (slide.counts == "up"):
        raise ReadingError(f"the {axis} dial counts the other way in the shop file", f'counts = "{slide.counts}"')


def check_turn(said: str | None, slide: Slide, axis: str) -> int:
    """Check how many divisions a page says that a turn of a dial has; return them."""
    per_turn = max(round(slide.turn / slide.division), 1)
    if int(said or 0) != per_turn:
        raise ReadingError(f"the {axis} dial has {per_turn} divisions a turn in the shop file", slide.turn.text)
    return per_turn
