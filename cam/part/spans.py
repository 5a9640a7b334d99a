"""What was measured on the real assembly, and what the part is to hold."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Literal

from cam.ground import keys
from cam.ground.frozen import Row, frozen
from cam.ground.keys import Only, declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.features import Edge, End, Tolerance

Stated = Literal["limit", "standard"]
UNCERTAIN, WARMTH = {"$ref": "#/$defs/uncertainty"}, {"$ref": "#/$defs/temperature"}
MOST_READINGS = 100
MOST_SHAKE = 3.0
"""The end shake, mm, beyond which the unit must be wrong."""
MOST_UNCERTAINTY = 5.0
MOST_LENGTH = 3000.0
"""The longest length that is read, mm."""
THREE = 3.0
"""The number of standard deviations taken as the worst of a normal error: 99.73 % lie within."""

SPREAD_FACTORS = (1.84, 1.32, 1.20, 1.14, 1.11, 1.09, 1.08, 1.07, 1.06, 1.05)
"""The factors that widen the standard uncertainty of a mean of 2, 3, ... readings, because few readings know their own
spread badly. Source: JCGM 100:2008 (Guide to the expression of uncertainty in measurement), table G.2, 68.27 %, 1 to
10 degrees of freedom; beyond them the last is kept, which is on the safe side.
"""


class Uncertainty(Row):
    """How far a value may be out.

    Attributes:
        amount: mm; >= 0.
        stated: "limit" - the value lies within plus-minus amount; "standard" - amount is one standard deviation.
        text: as written, "±0.02 mm".
        where: the line that gave it.
    """

    amount: float
    stated: Stated
    text: str
    where: Where

    @property
    def half(self) -> float:
        """Return half the width of the doubt, mm: the limit, or three standard deviations."""
        return self.amount if self.stated == "limit" else THREE * self.amount

    @property
    def standard(self) -> float:
        """Return one standard deviation, mm.

        Source: JCGM 100:2008, 4.3.7: a limit of which no more is known is amount / sqrt(3).
        """
        return self.amount / math.sqrt(3) if self.stated == "limit" else self.amount


class Temperature(Row):
    """A temperature and its limits, "24 ± 1 degC".

    Attributes:
        value: degrees Celsius.
        within: the value is known to plus-minus this many kelvin; >= 0.
        text, where: as written.
    """

    value: float
    within: float
    text: str
    where: Where


def mean_of(readings: Sequence[float]) -> float:
    """Return the mean of some readings, at least one."""
    return math.fsum(readings) / len(readings)


def standard_of_mean(readings: Sequence[float]) -> float:
    """Return the standard uncertainty of a mean from the spread of its readings; zero for fewer than two.

    Source: JCGM 100:2008, 4.2.3 (s / sqrt(n)), widened for few readings by table G.2, see SPREAD_FACTORS.
    """
    count = len(readings)
    if count < 2:
        return 0.0
    mean = mean_of(readings)
    deviation = math.sqrt(math.fsum((r - mean) ** 2 for r in readings) / (count - 1))
    return deviation / math.sqrt(count) * SPREAD_FACTORS[min(count - 2, len(SPREAD_FACTORS) - 1)]


def _name(about: str, example: str) -> Any:
    return keys.text(about, example, most=60)


def _readings(about: str, *examples: str) -> Any:
    node = {"type": "array", "minItems": 1, "maxItems": MOST_READINGS, "items": {"$ref": "#/$defs/quantity"}}
    return keys.own(about, node, examples, needed=False)


@declared
class Doubt:
    """How far a value may be out, as a file says it."""

    uncertainty = keys.own("How far it may be out, by the gauge and the hand that held it.", UNCERTAIN, needed=False)
    standard_uncertainty = keys.length("The same as one standard deviation.", most=MOST_UNCERTAINTY, needed=False)
    __rules__ = ({"anyOf": [keys.needs("uncertainty"), keys.needs("standard_uncertainty")]},)


ONCE = ({"not": keys.needs("value", "readings")},)
"""The rule that something is measured once or several times."""


@declared
class Along:
    """What was measured along with a distance, and is plus or less it: a cap, a spigot, a slip, the rod of a gauge.

    Attributes:
        sign: 1 for plus, -1 for less.
        readings: mm; none while it is to be measured.
        uncertainty: of one reading.
    """

    name: str = _name("What it is; endshake record takes it.", "spigot of the cap")
    value = keys.length("As measured once; left out, endshake record gives it.", "4.00 mm", over=True, most=MOST_LENGTH,
                        needed=False)  # fmt: skip
    readings: tuple[Quantity, ...] = _readings("As measured several times.", "4.00 mm", "4.01 mm")
    uncertainty: Uncertainty = keys.within(Doubt, said={"uncertainty": "Of one reading of it."})
    sign: int
    where: Where
    __rules__ = ONCE

    @property
    def mean(self) -> float:
        """Return the mean of its readings, mm."""
        return mean_of(self.readings)


def added(along: Iterable[Along]) -> float:
    """Return the sum of what is plus, less the sum of what is less, mm."""
    return math.fsum(a.sign * a.mean for a in along)


@declared
class Measurement:
    """A distance taken off the real assembly, or still to be taken.

    Attributes:
        readings: mm, in order; one for a value given once, none before it is taken.
        along: what was measured along with it and is plus or less it.
        after: the setting after which it can be taken; zero for one that needs no setting first.
        uncertainty: the spread of the readings is added to it.
        temperature: None if not given.
        material: a row of the table of expansion; "" if not given.
    """

    name: str = _name("Unique among the measurements; endshake record takes it.", "between plates")
    value = keys.length("As measured once.", over=True, most=MOST_LENGTH, needed=False)
    readings: tuple[Quantity, ...] = _readings("As measured several times: their mean and spread are used.",
                                               "45.02 mm", "45.04 mm", "45.03 mm")  # fmt: skip
    after: int = keys.own("It can be taken only then; endshake record gives its value.", {"enum": ["after setting 1"]},
                          needed=False, key="to_be_measured")  # fmt: skip
    uncertainty: Uncertainty = keys.within(Doubt)
    taken_with: str = keys.text("How and with what.", "inside micrometer, all pillars home")
    temperature: Temperature | None = keys.own("Of what was measured, when it was.", WARMTH, needed=False)
    material: str = keys.text("Of what was measured; needed with a temperature.", "brass", default="")
    plus = keys.tables_of(Along, "Measured along with it, and added: a slip under the gauge, its rod.")
    less = keys.tables_of(Along, "Measured along with it, and taken off: a cap, a spigot, a slip.")
    where: Where
    along: tuple[Along, ...] = ()
    __rules__ = ONCE

    @property
    def taken(self) -> bool:
        """Whether it has been taken, with everything that is plus or less it."""
        return bool(self.readings) and all(a.readings for a in self.along)

    @property
    def mean(self) -> float:
        """Return the mean of the readings, mm, without what is plus or less them.

        Raises:
            ValueError: it has not been taken.
        """
        if not self.readings:
            raise ValueError(f"{self.name} is to be measured")
        return mean_of(self.readings)

    @property
    def distance(self) -> float:
        """Return the mean of the readings, plus and less what was measured along with them, mm.

        Raises:
            ValueError: it has not been taken.
        """
        return self.mean + added(self.along) if self.along else self.mean

    @property
    def half(self) -> float:
        """Return the worst error of one reading and of all that is plus or less it, plus-minus mm."""
        return math.fsum([self.uncertainty.half, *(a.uncertainty.half for a in self.along)])

    @property
    def spread(self) -> float:
        """Return the largest reading less the smallest, mm; zero for fewer than two."""
        return max(self.readings) - min(self.readings) if self.readings else 0.0

    @property
    def standard_of_mean(self) -> float:
        """Return the standard uncertainty of the mean from the spread of the readings, mm; see `standard_of_mean`."""
        return standard_of_mean(self.readings)


@declared
class Limits:
    """What may be and what is aimed at, mm; least <= aim <= most."""

    least: Quantity = keys.length("What may be at the least.", "0.1 mm", most=MOST_SHAKE)
    aim: Quantity = keys.length("What is aimed at.", "0.2 mm", most=MOST_SHAKE)
    most: Quantity = keys.length("What may be at the most.", "0.3 mm", most=MOST_SHAKE)

    @property
    def three(self) -> tuple[float, float, float]:
        """Return all three, the least first."""
        return float(self.least), float(self.aim), float(self.most)


class StandOff(Row):
    """How far a corner keeps its shoulder off the plate.

    Attributes:
        least, likely, most: mm; 0 <= least <= likely <= most.
        reason: why, in words and numbers.
    """

    least: float
    likely: float
    most: float
    reason: str


@declared
class LoosePart:
    """A washer, a wheel's boss, a proud bush: whatever takes up length between shoulder and plate; mm."""

    name: str = _name("What it is.", "brass washer")
    thickness: Quantity = keys.length("As measured.", "0.50 mm", over=True, most=500.0)
    uncertainty: Uncertainty = keys.within(Doubt, said={"uncertainty": "Of the thickness."})
    where: Where


def _hole(side: str) -> Any:
    return keys.text(f"The hole that the corner at its {side} side stands against.", default="")


def _stand_off(side: str) -> Any:
    about = f"How far the corner at its {side} side keeps the shoulder off."
    return keys.length(about, most=5.0, needed=False)


def _doubt(side: str) -> Any:
    return keys.own(f"Of stand_off_{side}; needed unless that is zero.", UNCERTAIN, needed=False)


@declared
class Span:
    """A run of sections whose total length is to give an end shake between two faces of the assembly; mm.

    Attributes:
        first, last: names of the sections whose outward faces are the shoulders; first is nearer the A end
            and may be the last as well.
        tolerance: None where each section of the run has its own.
        hole_a, hole_b: "" where none is named.
        stand_off_a, stand_off_b: as given; None where it comes from the hole.
        late: None for the end turned second.
        in_use: the coldest and the warmest temperature, degrees Celsius; None if not given.
    """

    name: str = _name("Unique among the spans.", "frame")
    first: str = keys.text("The span begins at the face of this section toward the A end.", "front seat", key="from")
    last: str = keys.text("It ends at the face of this section toward the B end.", "back seat", key="to")
    measurement: str = keys.text("Name of the distance between the two faces that it runs between.", "between plates")
    shake: Limits = keys.table_of(Limits, "Freedom endways: least, aim, most. There is no default.", key="end_shake")
    tolerance: Tolerance | None = keys.own(
        "Limits of the distance between the two shoulders as turned.",
        {"$ref": "#/$defs/limits"},
        needed=False,
    )
    hole_a: str = _hole("A")
    hole_b: str = _hole("B")
    stand_off_a: StandOff | None = _stand_off("A")
    stand_off_b: StandOff | None = _stand_off("B")
    stand_off_a_uncertainty = _doubt("a")
    stand_off_b_uncertainty = _doubt("b")
    fitting_allowance: Quantity = keys.length("Left on the late shoulder, to be faced back at the fitting.", most=5.0,
                                              default=0.0)  # fmt: skip
    late: End | None = keys.choice("Which end's shoulder that is; left out, that of the end turned second.", End,
                                   absent=None)  # fmt: skip
    part_temperature: Temperature | None = keys.own(
        "Of the part when its shoulders are measured.", WARMTH, needed=False
    )
    in_use: tuple[float, float] | None = keys.own(
        "Coldest and warmest that it will run at.", {"type": "array", "minItems": 2, "maxItems": 2, "items": WARMTH},
        ("5 degC", "30 degC"), needed=False,
    )  # fmt: skip
    loose: tuple[LoosePart, ...] = keys.tables_of(
        LoosePart,
        "What lies between a shoulder and the face that it runs against: washers, a wheel's boss, a proud bush.",
    )
    where: Where

    def faces(self, names: Sequence[str]) -> tuple[int, int]:
        """Return the numbers of its two faces, counted from the A end, by the names of the part's sections."""
        return names.index(self.first), names.index(self.last) + 1


def _broken(about: str, how: str) -> Any:
    return keys.own(about, {"$ref": "#/$defs/edge"}, how=how)


OPENED = Only("use", ("open",), "")


@declared
class Hole:
    """The hole in a plate in which a pivot or journal runs; mm.

    Attributes:
        now: None if there is no hole yet.
        side_shake: None where a fit gives it, or for a hole used as it is.
        fit: "" if none.
        taper: on the diameter per length (0.01 for 1:100); zero for a reamer.
        side: inside of the frame is where the shoulder is.
        carrying_gap: a judgement of the user's.
    """

    name: str = _name("Unique among the holes.", "front plate")
    section: str = keys.text("The pivot or journal that runs in it.", "front pivot")
    plate: Quantity = keys.length("Thickness of the plate.", "2.5 mm", over=True, most=100.0)
    now: Quantity | None = keys.drill("Diameter as it is; left out, there is no hole yet.", "3.5 mm", "No. 30",
                                      absent=None)  # fmt: skip
    use: Literal["open", "as it is"] = keys.choice(
        "Opened to fit the finished pivot, or as it is.", ("open", "as it is")
    )
    side_shake: Limits | None = keys.table_of(Limits, "Side shake on the diameter.", needed=False)
    fit: str = keys.text("In its place: limits of ISO 286 for hole and pivot.", "H7/f7", most=20, default="")
    opened_by: Literal["broach", "reamer"] = keys.choice(
        "A tapered broach, or a parallel reamer.", ("broach", "reamer"), only=OPENED, off="reamer"
    )
    taper: float = keys.own("Of the broach, on the diameter.", {"type": "string", "minLength": 3, "maxLength": 60},
                            "1:100", needed=False, how="1:100 is common practice, no source.")  # fmt: skip
    side: Literal["inside", "outside", "both"] = keys.choice(
        "That the broach enters from.", ("inside", "outside", "both"), needed=False
    )
    drill_under: Quantity = keys.length("Left on the diameter by the drill.", "0.1 mm", most=5.0, only=OPENED)
    smoothing: Quantity = keys.length("Opened on the diameter by the smoothing pass; 0 mm for none.", "0.005 mm",
                                      most=0.5, only=OPENED)  # fmt: skip
    carrying_gap: Quantity = keys.length(
        "Of a broached hole: the widest gap on the loaded side that still carries.", "0.002 mm", most=0.5, needed=False
    )
    edge_inside: Edge = _broken("Edge of the hole against the shoulder.",
                                "It is to clear the corner at the shoulder: chamfer 0.3 mm.")  # fmt: skip
    edge_outside: Edge = _broken("Edge of the hole on the other side.", "For example chamfer 0.2 mm.")
    where: Where
    __rules__ = (keys.when("use", ("as it is",), keys.needs("now")),)


@frozen
class Measuring:
    """Everything that a part file measures, as written, in the order of the file.

    Attributes:
        lengths: those of the sections from the A end, as given; None where a span is to give it.
        total: the length of the whole part, where there are spans and it is given; otherwise None.
    """

    measurements: tuple[Measurement, ...]
    spans: tuple[Span, ...]
    holes: tuple[Hole, ...]
    lengths: tuple[Quantity | None, ...]
    total: Quantity | None

    @property
    def nothing(self) -> bool:
        """Whether the file measures nothing."""
        return not (self.measurements or self.spans or self.holes)
