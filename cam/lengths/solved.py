"""A part whose lengths are solved: what is still to be measured, and the part as each setting is to cut it.

One part has three faces here. The *finished* part, with every record taken in, is what the sheets show. What the
*first setting* cuts follows from what was known before it: a measurement taken after it counts as not taken even once
it is recorded, so that its program never changes after it was run. What the *second setting* cuts follows
from everything, the real faces that the first one left included.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem
from cam.ground.quantity import Quantity
from cam.ground.tolerances import ROUNDING
from cam.lengths.chain import Chain, Equation, Member, SolvedLength, gather_equations, solve_chain
from cam.lengths.holes import HolePlan, Pivot
from cam.lengths.records import Actual, Records
from cam.part.details import say
from cam.part.features import End, Tolerance
from cam.part.model import Part, Section
from cam.part.spans import Hole, Measurement, Span, StandOff

NAN = math.nan


@frozen
class Measured:
    """What the chain of lengths knows of a part.

    Attributes:
        measurements: as they stand: with the log's reading where it has one, otherwise the part file's.
        spans, holes: as in the part file.
        members: sections with their given lengths.
        total: length of the whole part, mm, if given.
        stand_offs: those of the corners at the A and the B side of each span.
        pivots: the pivot of each hole.
        plans: those of the holes, in the file's order.
        records: the records of the log that stand and can be used, in its order.
        log: as read; None if there is none.
        chain: solved with everything that is known.
        unit: the one that the part file mostly uses.
        limits: of the length of each section, as the part file has them.
    """

    measurements: tuple[Measurement, ...]
    spans: tuple[Span, ...]
    holes: tuple[Hole, ...]
    members: tuple[Member, ...]
    total: Quantity | None
    stand_offs: dict[str, tuple[StandOff, StandOff]]
    pivots: dict[str, Pivot]
    plans: tuple[HolePlan, ...]
    records: tuple[Actual, ...]
    log: Records | None
    chain: Chain
    unit: str
    limits: tuple[Tolerance | None, ...]

    @property
    def actuals(self) -> tuple[Actual, ...]:
        """Return the records of finished sizes."""
        return tuple(r for r in self.records if r.target.kind == "actual")

    @property
    def stops(self) -> tuple[Actual, ...]:
        """Return the records of gauging stops by which last cuts are to be corrected."""
        return tuple(r for r in self.records if r.target.kind == "stop reading" and r.use == "last cut")

    @property
    def diameters(self) -> dict[str, float]:
        """Return the actual diameters, mm, by section."""
        return {a.target.of: a.value for a in self.actuals if a.target.what == "diameter"}

    @property
    def drawn(self) -> tuple[float, ...]:
        """Return the length of each section as wanted, whatever was cut, mm; nan where a later measurement gives it."""
        early = self.solve(early=True).lengths
        values = (s.value if m.length is None else m.length for m, s in zip(self.members, early, strict=True))
        return tuple(NAN if value is None else float(value) for value in values)

    @property
    def cut_faces(self) -> frozenset[int]:
        """Return the numbers of the faces, from the A end, whose places are recorded as really cut."""
        return frozenset(n for a in self.actuals for n in (a.target.start, a.target.end) if n >= 0)

    @property
    def changes(self) -> bool:
        """Whether the second setting is planned from something that was not known for the first."""
        return bool(self.actuals) or any(m.after for m in self.measurements)

    def measurement(self, span: Span) -> Measurement:
        """Return the measurement on which a span rests."""
        return next(m for m in self.measurements if m.name == span.measurement)

    def solve(
        self, *, early: bool = False, faces: Collection[int] | None = None, stay: Sequence[int] = ()
    ) -> Chain:  # fmt: skip
        """Solve the chain anew.

        Args:
            early: as before the first setting: what is measured after it is still to be measured, and nothing is cut.
            faces: the faces between which actual lengths count; None for all.
            stay: the faces that the first setting cuts, in the order in which they come from its end: where nothing is
                recorded of them, they stay where it was to cut them, whatever is recorded of others.
        """
        taken = {m.name: replace(m, readings=()) if early and m.after else m for m in self.measurements}
        lengths = [a for a in self.actuals if a.target.start >= 0 and not early]
        real = [_equation(a) for a in lengths if faces is None or {a.target.start, a.target.end} <= {*faces}]
        found = gather_equations(self.members, self.spans, taken, self.stand_offs, total=self.total)
        planned = self._planned(stay) if real else ()
        return solve_chain(self.members, (*real, *planned, *found), self.unit)

    def _planned(self, stay: Sequence[int]) -> Iterator[Equation]:
        """Yield where the first setting was to cut faces, each from the end that it cut."""
        chain = self.solve(early=True)
        for face in stay[1:]:
            start, end = sorted((stay[0], face))
            place = chain.total(self.members[start].name, self.members[end - 1].name)
            if place is not None:
                member = self.members[face - 1 if face else 0]
                whole = start == 0 and end == len(self.members)  # the bar is faced to its length, given or not
                kind: Literal["total", "planned"] = "total" if whole else "planned"
                yield Equation(kind, "" if whole else member.name, start, end, place, "", 0.0, member.where)


def _equation(actual: Actual) -> Equation:
    target, half = actual.target, 0.0 if math.isnan(actual.half) else actual.whole_half
    return Equation("actual", actual.name, target.start, target.end, actual.value, "", half, actual.where, actual.where)


@frozen
class Solved(Part):
    """A part with its lengths solved; every later room, from the settings on, is given one.

    Attributes:
        to_be_measured: measurements to be taken on which a length rests; the length, and what follows from it, is nan.
        warnings: what is worth knowing of what was measured.
        measured: what the chain of lengths knows; None for a part without spans, holes and log.
    """

    to_be_measured: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()
    measured: Measured | None = None

    @property
    def waiting(self) -> tuple[Measurement, ...]:
        """Return the measurements to be taken, in the order of the part file."""
        known = () if self.measured is None else self.measured.measurements
        return tuple(m for m in known if m.name in self.to_be_measured)


def own_limits(part: Solved) -> dict[str, Tolerance]:
    """Return the limits of lengths as the part file has them, by section; those of spans are on none of them."""
    placed = [s.length_tolerance for s in part.sections]
    limits = placed if part.measured is None else part.measured.limits
    return {s.name: t for s, t in zip(part.sections, limits, strict=True) if t is not None}


class Limited(Row):
    """The length of a section as drawn, with its least and its greatest by limits of its own, mm."""

    drawn: float
    least: float
    most: float


def length_limits(part: Solved) -> dict[str, Limited]:
    """Return the lengths that have limits of their own, by section: about what is drawn, whatever is recorded."""
    sections, own = part.sections, own_limits(part)
    drawn = [float(s.length) for s in sections] if part.measured is None else part.measured.drawn
    sizes = ((s.name, own[s.name], size) for s, size in zip(sections, drawn, strict=True) if s.name in own)
    return {name: Limited(size, size + t.lower, size + t.upper) for name, t, size in sizes if not math.isnan(size)}


# The part in each setting ---------------------------------------------------------------------------------


def place(
    part: Solved, measured: Measured, chain: Chain, second: End = "B", shifts: Mapping[int, float] | None = None
) -> Solved:  # fmt: skip
    """Return the part with the lengths of a chain, nan where they are to be measured.

    Args:
        second: the end that is turned second, whose shoulder of a span is the late one unless the span names another.
        shifts: face -> how much further from the A end it is left, mm.
    """
    names = [s.name for s in chain.lengths]
    faces: list[float] = [0.0]
    for name in names:
        total = chain.total(names[0], name)
        faces.append(NAN if total is None else total)
    for face, shift in (shifts or {}).items():
        faces[face] += shift
    sections = tuple(
        replace(s, start=start, end=end, length=_length(part, member, solved, end - start))
        for s, start, end, member, solved in zip(
            part.sections, faces, faces[1:], measured.members, chain.lengths, strict=False
        )
    )
    return replace(part, sections=_with_limits(sections, measured, second), to_be_measured=chain.to_be_measured)


def _with_limits(sections: tuple[Section, ...], measured: Measured, second: End) -> tuple[Section, ...]:
    """Return the sections; the one beyond a span's late shoulder, which ends in it, takes the span's tolerance."""
    names = [s.name for s in sections]
    limits = dict(zip(names, measured.limits, strict=False))
    for span in measured.spans:
        first, last = span.faces(names)
        at = first - 1 if (span.late or second) == "A" else last
        if span.tolerance is not None and 0 <= at < len(names) and measured.limits[at] is None:
            limits[names[at]] = span.tolerance
    return tuple(replace(s, length_tolerance=limits[s.name]) for s in sections)


def _length(part: Part, member: Member, solved: SolvedLength, as_placed: float) -> Quantity:
    if member.length is not None and solved.value is not None and abs(solved.value - member.length) < ROUNDING:
        known = member.length
        same = math.isnan(as_placed) or abs(as_placed - known) < ROUNDING
        return known if same else _quantity(part, as_placed, member)
    if solved.value is None:
        return Quantity(NAN, f"to be measured: {', '.join(solved.to_be_measured)}", member.where)
    value = solved.value if math.isnan(as_placed) else as_placed
    cut = len(solved.terms) == 1 and solved.terms[0].equation.kind == "actual"
    return _quantity(part, value, member, "as cut" if cut else "solved")


def _quantity(part: Part, value: float, member: Member, how: str = "with its allowance") -> Quantity:
    return Quantity(value, f"{say(value, part)} ({how})", member.where)


def _allowances(part: Solved, measured: Measured, second: End) -> dict[int, float]:
    """Return face -> the fitting allowance left on it, mm, toward the end that it faces."""
    names = [s.name for s in part.sections]
    found: dict[int, float] = {}
    for span in measured.spans:
        late = span.late or second
        face = span.faces(names)[late == "B"]
        if span.fitting_allowance > 0 and 0 < face < len(names):
            sign = 1 if late == "B" else -1
            size = max(float(span.fitting_allowance), abs(found.get(face, 0.0)))
            found[face] = sign * size
    return found


def first_view(part: Solved, second: End) -> Solved:
    """Return the part as the first setting is to cut it: by what was known before, with fitting allowances left on.

    Args:
        second: the end that is turned second.
    """
    measured = part.measured
    if measured is None:
        return part
    chain = measured.solve(early=True) if measured.changes else measured.chain
    return place(part, measured, chain, second, _allowances(part, measured, second))


def second_view(part: Solved, second: End, faces: Sequence[int]) -> Solved:
    """Return the part as the second setting is to cut it, from the faces that the first one really left.

    Args:
        faces: numbers of the faces that exist after the first setting, in the order in which they come from its end;
            face 0 is the A end.

    Raises:
        ProblemError: no length is left for a section.
    """
    measured = part.measured
    if measured is None:
        return part
    chain = measured.solve(faces=faces, stay=faces)
    placed = place(part, measured, chain, second, _allowances(part, measured, second))
    return replace(placed, sections=tuple(_as_drawn(placed, measured, chain, faces)))


def _as_drawn(part: Solved, measured: Measured, chain: Chain, faces: Collection[int]) -> Iterator[Section]:
    """Yield the sections; limits of a length that is still to be cut stay about what is drawn, where records move it.

    Args:
        faces: numbers of those that are cut.
    """
    rows = zip(part.sections, measured.limits, measured.drawn, chain.lengths, strict=True)
    for at, (section, own, drawn, solved) in enumerate(rows):
        moved = 0.0 if solved.value is None or math.isnan(drawn) else solved.value - drawn
        if own is None or abs(moved) <= ROUNDING or {at, at + 1} <= {*faces}:
            yield section
        else:
            kept = replace(own, lower=own.lower - moved, upper=own.upper - moved)
            yield replace(section, length_tolerance=kept)
