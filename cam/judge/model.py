"""What a program, read from its text, does to the work and how near it comes to everything."""

from __future__ import annotations

from cam.geometry.path import Chain, Point
from cam.ground.frozen import Row, frozen


@frozen
class Finding:
    """A fault that a program of lathe or mill must not have, or for warnings what may be so on purpose.

    Attributes:
        line: line of the program text; 0 where the fault is of the result as a whole.
        kind: of nearness "contact", "rapid in metal", "rubbing"; of the result "gouge", "uncut", "unfaced shoulder",
            "backlash"; of the motion "diagonal rapid", "outside limits", "beyond travel", "too deep", "Y motion",
            "wrong plane", "unknown place", "machine coordinates"; of the state "spindle off", "no feed", "feed",
            "speed", "too fast", "unknown tool", "tool offset"; of the program "no proof", "belt", "speed said", "tool
            change", "spindle on", "never said", "datum moved", "called again", "may be left out", "after the end",
            "touch", "unreadable"; of warnings "stop left out", "not measured", "not tried", in a text of ours "no room
            to try", "steps", "coarse feed", "message". Of the mill alone "too near", "plunge", "turned in the cutter",
            "turned", "dragged drill", "hole", "tap", "not checked".
        what: a sentence with numbers.
        amount: size of the fault, mm: depth of overlap, of a gouge ...; 0 where it has no size.
        at: the place in the half-section, setting axes; None where it has no place. On the mill, seen from the side,
            that of the programmed point: z is its X and x its Z.
        tip: the place of the tool's programmed point at that moment; None where it has none. y: its Y on the mill.
        obstacle: name of what is hit; "" otherwise.
        tool: number of the tool in use; 0 for none.
    """

    line: int
    kind: str
    what: str
    amount: float
    at: Point | None
    tip: Point | None
    obstacle: str
    tool: int
    y: float = 0.0


class Approach(Row):
    """How near one motion came to the nearest solid thing (a tuple, as a program has thousands).

    Attributes:
        line: line of the program text.
        distance: mm; negative is overlap.
        obstacle: the nearest thing: an obstacle's name, or "work".
        body: which part of the tool: "nose", or an outline's name.
        tip: the place of the tool's programmed point there.
        on_tool, on_obstacle: the nearest pair of points.
        tool: number of the tool in use.
    """

    line: int
    distance: float
    obstacle: str
    body: str
    tip: Point
    on_tool: Point
    on_obstacle: Point
    tool: int


class Moment(Row):
    """The work after one motion of a program, for pages and pictures that show it.

    Attributes:
        number: of the motion, counted from 0. -1 is the work before the program; the count of motions is the work as
            it is judged in the end, without what falls off by itself.
        metal: outline of the work, pieces in rising z (cam.judge.envelope).
        approach: how near this motion came; None where it came near nothing, or does not move.
        seconds: time that the motion takes; 0 for a stop.
        cuts: whether the motion cut at feed.
    """

    number: int
    metal: tuple[tuple[float, float, int, float, float, float, int], ...]
    approach: Approach | None
    seconds: float
    cuts: bool


@frozen
class Judged:
    """The judgement on one program, of lathe or mill.

    Attributes:
        findings: sorted by line; empty means that the program may be cut. warnings: what may be so on purpose, by line.
        gouge, uncut: greatest depth below least and height above most, mm; 0 if none.
        cutting_time, air_time: seconds; air includes rapids; stops are not counted.
    """

    findings: tuple[Finding, ...]
    gouge: float
    uncut: float
    cutting_time: float
    air_time: float
    warnings: tuple[Finding, ...] = ()

    @property
    def ok(self) -> bool:
        """Tell whether nothing was found."""
        return not self.findings


@frozen
class Simulation(Judged):
    """The judgement on one program of the lathe.

    Attributes:
        setting: its number.
        approaches: one per motion that moves, in order, against obstacles (centre, carrier, headstock,
            tailstock ...) and, for rapids and holders, against the work where it is within twice the rapid
            clearance. A rapid that only leaves the work is not near it.
        closest: the least of approaches; None for a program that does not move.
        result: outline of the metal after the program, starting and ending on x = 0, setting axes, from
            the tailstock end toward the headstock.
        lowest, highest: least and greatest Z and X that the programmed point reaches.
        closest_fixed: the least distance kept from anything but the work (centre, carrier, headstock, tailstock
            ...), of all motions; None where there is no such thing.
        tip_only: sorted numbers of the tools that the program moves and whose bodies nobody described: the least
            distances are those of their edges alone.
    """

    setting: int
    approaches: tuple[Approach, ...]
    closest: Approach | None
    result: Chain
    lowest: Point
    highest: Point
    closest_fixed: Approach | None = None
    tip_only: tuple[int, ...] = ()
