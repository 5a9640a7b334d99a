"""What was measured on the real assembly, and what the part is to hold.

The form in a part file; every quantity is a text with its unit:

    length = "78 mm"                      # of the whole part; leave it out where the sections give it

    [[measurement]]
    name = "between plates"
    value = "45.03 mm"                    # or readings = ["45.02 mm", "45.04 mm", "45.03 mm"]
                                          # or to_be_measured = "after setting 1"
    uncertainty = "±0.02 mm"              # a plus-minus limit; or standard_uncertainty = "0.01 mm"
    taken_with = "inside micrometer, beside this hole, all pillars home"
    temperature = "24 ± 1 degC"           # of what was measured; may be left out
    material = "brass"                    # of what was measured; needed with a temperature

    [[measurement.less]]                  # what was measured along with it and is taken off; or [[measurement.plus]]
    name = "spigot of the cap"
    value = "4.00 mm"                     # or readings; may be left out where the measurement is to be measured
    uncertainty = "±0.01 mm"

    [[span]]
    name = "frame"
    from = "front seat"                   # the face of this section toward the A end ...
    to = "back seat"                      # ... to the face of this one toward the B end
    measurement = "between plates"
    end_shake = { least = "0.1 mm", aim = "0.2 mm", most = "0.3 mm" }
    tolerance = "±0.02 mm"                # between the two shoulders as turned; or each section has its own
    hole_a = "front plate"                # the [[hole]] that the corner at this end stands against,
    stand_off_b = "0 mm"                  # or how far that corner keeps the shoulder off its plate
    stand_off_b_uncertainty = "±0.01 mm"  # with a stand_off that is not zero
    fitting_allowance = "0.05 mm"         # left on the shoulder cut late, to be faced back at the fitting
    late = "B"                            # which end's shoulder that is; leave out: the end turned second
    part_temperature = "35 ± 5 degC"      # of the part when its shoulders are measured; may be left out
    in_use = ["5 degC", "30 degC"]        # coldest and warmest; may be left out

    [[span.loose]]                        # between a shoulder and what it runs against
    name = "brass washer"
    thickness = "0.50 mm"
    uncertainty = "±0.01 mm"

    [[hole]]
    name = "front plate"
    section = "front pivot"               # that runs in it
    plate = "2.5 mm"                      # thickness
    now = "5.5 mm"                        # the hole as it is; leave out if there is none yet
    use = "open"                          # open: opened to fit the finished pivot; as it is
    side_shake = { least = "0.03 mm", aim = "0.05 mm", most = "0.08 mm" }   # side shake on the diameter, to open to;
                                          # or fit = "H7/f7", limits of ISO 286
    opened_by = "broach"                  # broach, or reamer (parallel)
    taper = "1:100"                       # of the broach, on the diameter
    side = "inside"                       # the broach enters from: inside (of the frame), outside, both
    drill_under = "0.1 mm"                # left on the diameter by the drill for the opening
    smoothing = "0.005 mm"                # opened by the smoothing pass, on the diameter
    carrying_gap = "0.002 mm"             # widest gap on the loaded side that still carries
    edge_inside = "chamfer 0.2 mm"        # against the shoulder: sharp, chamfer, or radius
    edge_outside = "chamfer 0.2 mm"
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.features import Edge, End, Tolerance

Stated = Literal["limit", "standard"]
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


class Along(Row):
    """What was measured along with a distance, and is plus or less it: a cap, a spigot, a slip, the rod of a gauge.

    Attributes:
        sign: 1 for plus, -1 for less.
        name: as written.
        readings: mm; none while it is to be measured.
        uncertainty: of one reading.
        where: the line that gave it.
    """

    sign: int
    name: str
    readings: tuple[Quantity, ...]
    uncertainty: Uncertainty
    where: Where

    @property
    def mean(self) -> float:
        """Return the mean of its readings, mm."""
        return mean_of(self.readings)


def added(along: Iterable[Along]) -> float:
    """Return the sum of what is plus, less the sum of what is less, mm."""
    return math.fsum(a.sign * a.mean for a in along)


@frozen
class Measurement:
    """A distance taken off the real assembly, or still to be taken.

    Attributes:
        name: as in the part file; unique among the measurements.
        readings: mm, in order; one for a value given once, none before it is taken.
        along: what was measured along with it and is plus or less it.
        after: the setting after which it can be taken; zero for one that needs no setting first.
        uncertainty: of the instrument and the way it was held; the spread of the readings is added to it.
        taken_with: how and with what, in the user's words.
        temperature: of what was measured; None if not given.
        material: of what was measured, a row of the table of expansion; "" if not given.
        where: the table's line.
    """

    name: str
    readings: tuple[Quantity, ...]
    after: int
    uncertainty: Uncertainty
    taken_with: str
    temperature: Temperature | None
    material: str
    where: Where
    along: tuple[Along, ...] = ()

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


class Limits(Row):
    """What may be and what is aimed at, mm; least <= aim <= most."""

    least: Quantity
    aim: Quantity
    most: Quantity


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


class LoosePart(Row):
    """A washer, a wheel's boss, a proud bush: whatever takes up length between shoulder and plate.

    Attributes:
        name: as written.
        thickness: mm; > 0.
        uncertainty: of the thickness.
        where: the table's line.
    """

    name: str
    thickness: Quantity
    uncertainty: Uncertainty
    where: Where


@frozen
class Span:
    """A run of sections whose total length is to give an end shake between two faces of the assembly.

    Attributes:
        name: as in the part file; unique among the spans.
        first, last: names of the sections whose outward faces are the shoulders; first is nearer the A end
            and may be the last as well.
        measurement: name of the distance between the two faces.
        shake: the end shake wanted, mm; no default.
        tolerance: of the distance between the shoulders as turned; None where each section of the run has its own.
        loose: parts that lie between shoulder and face, at either end.
        hole_a, hole_b: names of the holes against which the corners at the two ends stand; "" where none is named.
        stand_off_a, stand_off_b: as given; None where it comes from the hole.
        fitting_allowance: what is left on the shoulder that is cut late, mm; >= 0.
        late: the end whose shoulder is cut late; None for the end turned second.
        part_temperature: of the part when its shoulders are measured; None if not given.
        in_use: the coldest and the warmest temperature, degrees Celsius; None if not given.
        where: the table's line.
    """

    name: str
    first: str
    last: str
    measurement: str
    shake: Limits
    tolerance: Tolerance | None
    loose: tuple[LoosePart, ...]
    hole_a: str
    hole_b: str
    stand_off_a: StandOff | None
    stand_off_b: StandOff | None
    fitting_allowance: Quantity
    late: End | None
    part_temperature: Temperature | None
    in_use: tuple[float, float] | None
    where: Where


@frozen
class Hole:
    """The hole in a plate in which a pivot or journal runs.

    Attributes:
        name: as in the part file; unique among the holes.
        section: the pivot or journal that runs in it.
        plate: thickness, mm.
        now: its diameter as it is, mm; None if there is no hole yet.
        use: "open" - it is opened to fit the finished pivot; "as it is".
        side_shake: the side shake wanted on the diameter, mm; None where a fit gives it, or for a hole used as it is.
        fit: symbols of ISO 286, "H7/f7"; "" if none.
        opened_by: "broach" (tapered) or "reamer" (parallel).
        taper: of the broach, on the diameter per length (0.01 for 1:100); zero for a reamer.
        side: where the broach enters: from inside the frame (where the shoulder is), from outside, or from both.
        drill_under: what the drill leaves on the diameter, mm.
        smoothing: what the smoothing pass takes off, on the diameter, mm.
        carrying_gap: widest gap on the loaded side that still carries, mm; a judgement of the user's.
        edge_inside, edge_outside: the edges of the hole.
        where: the table's line.
    """

    name: str
    section: str
    plate: Quantity
    now: Quantity | None
    use: Literal["open", "as it is"]
    side_shake: Limits | None
    fit: str
    opened_by: Literal["broach", "reamer"]
    taper: float
    side: Literal["inside", "outside", "both"]
    drill_under: Quantity
    smoothing: Quantity
    carrying_gap: Quantity
    edge_inside: Edge
    edge_outside: Edge
    where: Where


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
