"""What the control holds while a program runs, and the list of what it was made to do."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable

from cam.ground.units import MM_PER_INCH
from cam.rs274.expressions import Parameters
from cam.rs274.fault import Kind as Missing
from cam.rs274.fault import Unsaid
from cam.rs274.model import Kind, Motion, Position, Rules
from cam.rs274.notes import CALL, Note, needed_groups
from cam.rs274.tables import DISTANCE, FEED_MODE, PLANE, RETRACT, SPEED_MODE, UNITS, Standard

NAN = math.nan
NOWHERE = Position(NAN, NAN, NAN)
UNMOVED = (0.0, 0.0, 0.0)
INCHES = frozenset((200, 700))
AT_START = {DISTANCE: 900, PLANE: 170, FEED_MODE: 940}
"""The words whose state a control has when it begins, where its standard says that it has one."""
make = tuple.__new__
"""This makes a named tuple of a plain one in half the time that calling its class takes; it must hold every field."""
Modal = tuple[int, float | None, int, float, float | None, int, int, int, int, float]


def place(values: Iterable[float]) -> Position:
    """Make a position; whatever is unknown holds the one NaN, so that equal positions compare equal."""
    x, y, z = (NAN if math.isnan(v) else v for v in values)
    return Position(x, y, z)


class Machine:
    """The state that modal words set.

    NISTIR 6556: at the start the state is that which M2 leaves (3.6.1: G17, G90, G94, G54, no G92 offset); units,
    return level of cycles and motion are not reset there in a way that a text may rest on, so the text must say
    them. EIA-274-D: neither standard names a first state, so the text must say units, G90 or G91, feed mode, speed
    mode, plane of arcs and motion before it rests on them.

    Attributes:
        at: where the programmed point is, mm, X a radius; see Motion for what is NaN.
        motions: the motions so far.
        line: the line that is being read.
        unit: mm in a length unit of the program; 0 while not said.
        x_unit: mm of radius in an X word; 0 while not said.
        incremental: whether G91 is in force; None while not said.
        feed, feed_mode, plane, rpm, spindle, tool, offset, system: as in Motion.
        speed: m/min last set under G96, else None.
        limit: rev/min set by G92 S (EIA-274-D).
        surface: whether G96 is in force; None while not said.
        selected: the tool chosen by T, waiting for M6 (NISTIR 6556); None if none was.
        motion: modal motion in force, in tenths; None while not said.
        return_old: whether G98 is in force; None while not said.
        shift: shift of G92, mm: position as reported less position as programmed.
        preset: axes whose G92 shift has a size that the text does not tell.
        known: axes that have ever been known.
        origins: origins of work systems 1 to 9, machine coordinates in mm, NaN where not set by G10.
        looked: how many motions have been looked at for known and used.
        used: systems in which the program has moved.
        length: length of the tool length offset in force, mm; NaN for one from the control's table.
        sticky: words of the cycle in force that need not be repeated, as R and the depth.
        parameters: the parameters set by the program.
        excused: what is missing but has been reported, or may stand on a line that could not be read.
        one_zero, once: as in Rules.
        needed: modal groups that must still be said before the first axis word. notes: the notes so far.
    """

    __slots__ = (
        "at", "excused", "feed", "feed_mode", "incremental", "known", "length", "limit", "line", "looked",
        "modal", "motion", "motions", "needed", "notes", "offset", "once", "one_zero", "origins", "parameters", "plane",
        "preset", "return_old", "rpm", "selected", "shift", "speed", "spindle", "standard", "sticky", "surface",
        "system", "tool", "unit", "used", "x_half", "x_unit",
    )  # fmt: skip

    def __init__(self, rules: Rules, standard: Standard) -> None:
        self.standard = standard
        self.x_half = 0.5 if rules.x_words == "diameter" else 1.0
        self.at = NOWHERE
        self.motions: list[Motion] = []
        self.line = self.looked = 0
        self.unit = self.x_unit = 0.0
        self.incremental: bool | None = None
        self.feed: float | None = None
        self.feed_mode = self.plane = 0
        self.rpm = self.limit = 0.0
        self.speed: float | None = None
        self.surface: bool | None = None if standard.speed_modes else False
        self.spindle = self.tool = self.offset = 0
        self.selected: int | None = None
        self.system = 1
        self.motion: int | None = None
        self.return_old: bool | None = None
        self.shift = UNMOVED
        self.preset = (False, False, False)
        self.known = [False, False, False]
        self.origins = [NOWHERE] * 10
        self.used: set[int] = set()
        self.length = 0.0
        self.sticky: dict[str, float] = {}
        self.parameters: Parameters = {}
        self.excused: set[Missing] = set()
        self.one_zero, self.once = rules.one_zero, rules.once
        self.needed = needed_groups(standard)
        self.notes: list[Note] = []
        for group in AT_START.keys() & standard.at_start:
            self.set_mode(group, AT_START[group])
        if rules.in_use:
            self.tool = rules.in_use
            called = standard.offset_digits and not rules.by_stop
            self.offset = (1 if rules.one_zero else rules.in_use) if called else 0
            self.needed.discard(CALL)
        if not standard.metric:
            self.set_units(MM_PER_INCH if rules.units == "in" else 1.0)
        self.modal: Modal = self.snapshot()

    def snapshot(self) -> Modal:
        """Return what every motion carries with it, in Motion's order from plane on."""
        return (
            self.plane, self.feed, self.feed_mode, self.rpm, self.speed, self.spindle,
            self.tool, self.offset, self.system, 0.0,
        )  # fmt: skip

    def remember(self) -> None:
        """Take the state into what motions carry from now on."""
        self.modal = self.snapshot()

    def move(self, kind: Kind, end: Position, centre: Position | None = None, turn: int = 0) -> None:
        """Go to a place, as reported."""
        self.motions.append(make(Motion, (kind, self.line, self.at, end, centre, turn, *self.modal, False)))
        self.at = end

    def mark(self, kind: Kind, seconds: float = 0.0) -> None:
        """Do something in place."""
        here = self.at
        self.motions.append(Motion(kind, self.line, here, here, None, 0, *self.modal[:-1], seconds))

    def set_units(self, unit: float) -> None:
        """Set the unit of length by G20, G21, G70 or G71: mm in a unit."""
        self.unit = unit
        self.x_unit = unit * self.x_half

    def set_mode(self, group: int, code: int) -> None:
        """Set what a G word of a modal group says, and nothing that follows from it; other groups are left alone."""
        if group == UNITS:
            self.set_units(MM_PER_INCH if code in INCHES else 1.0)
        elif group == DISTANCE:
            self.incremental = code == 910
        elif group == PLANE:
            self.plane = code // 10
        elif group == FEED_MODE:
            self.feed_mode = code // 10
        elif group == SPEED_MODE:
            self.surface = code == 960
        elif group == RETRACT:
            self.return_old = code == 980

    def forget(self, axes: Container[str]) -> None:
        """Leave axes unknown until they are programmed again."""
        self.at = Position(*(NAN if axis in axes else v for axis, v in zip("XYZ", self.at, strict=True)))

    def factor(self, axis: int) -> float:
        """Return the mm in a length unit of an axis' words, X a radius; 0 while the text has not said it."""
        return self.x_unit if axis == 0 else self.unit

    def need_unit(self, at: int) -> float:
        """Return the unit of length, once the text has said it."""
        if not self.unit:
            inch, metric = self.standard.inch, self.standard.metric
            what, allowed = "a length stands before the units are said", f"{metric} (mm) or {inch} (inch) before"
            raise Unsaid("units", at, what, allowed=allowed, fix=f"put {metric} or {inch} alone on a line at the start")
        return self.unit
