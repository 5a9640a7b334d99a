"""Lengths that are not given are solved from the spans, the given lengths and the total, all together.

Every equation says how far one face of the part is from another. So the linear system is a graph: faces are
its points, equations its edges. Lengths are fixed where the graph is connected, the sum round a loop says
whether its members agree, and a solution is a walk of additions and subtractions: exact, and every solved
length can name what it rests on. A measurement that is still to be taken has its place in the graph, so that
what is missing and what is only to be measured are told apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.quantity import Quantity
from cam.ground.units import show_slight
from cam.lengths.journal import how_to_withdraw
from cam.lengths.records import READ
from cam.lengths.thermal import at_reference
from cam.part.spans import Measurement, Span, StandOff

AGREE = 1e-6
"""The members of a loop agree within this, mm: far above rounding, far below anything that can be measured."""

LEAST_LENGTH = 0.01
"""The shortest length, mm, that is taken for that of a section."""


class Member(Row):
    """A section before its length is known.

    Attributes:
        name: unique.
        length: as given, mm; None if it is to be solved.
        where: the line of its table.
    """

    name: str
    length: Quantity | None
    where: Where


class Equation(Row):
    """The distance from one face to a later one. Face 0 is the A end, face k the B side of section k - 1.

    Attributes:
        kind: what gives it; "actual" is as really cut and measured, and stands even against what was wanted. "planned"
            is where the first setting was to cut a face, and stands where no record says otherwise.
        name: name of the section, span or measurement that gives it.
        start, end: faces; start < end.
        value: mm; None while it is to be measured.
        to_be_measured: name of the measurement that is to be taken; "" if none.
        doubt: worst error of the value, mm; zero for a length that is simply wanted.
        where: the line that gave it.
        recorded: the line of the log from which its value comes; None for none.
        room: how much shorter and how much longer a span may be and still have the end shake wanted, mm.
    """

    kind: Literal["actual", "planned", "length", "span", "total"]
    name: str
    start: int
    end: int
    value: float | None
    to_be_measured: str
    doubt: float
    where: Where
    recorded: Where | None = None
    room: tuple[float, float] = (0.0, 0.0)

    @property
    def title(self) -> str:
        """Return what the equation is of, as messages name it."""
        if self.kind == "total":
            return "the length of the whole part"
        words = {"actual": "the actual length of", "length": "the length of", "span": "span"}
        words["planned"] = "as setting 1 was to cut it, the B side of"
        return f'{words[self.kind]} "{self.name}"'


class Term(Row):
    """An equation as a term of a sum; sign is 1 or -1."""

    sign: int
    equation: Equation


Walk = tuple[Term, ...]
"""The equations that lead from one face to another."""
Forest = list[list[tuple[int, Term]]]
"""Of each face, by number, the faces to which an equation leads from it."""


@frozen
class SolvedLength:
    """The length of a section, and what it rests on.

    Attributes:
        name: name of the section.
        value: mm; None while it is to be measured.
        terms: the terms whose signed sum is the length.
        to_be_measured: the measurements to be taken on which it rests, in order; () if it has a value.
    """

    name: str
    value: float | None
    terms: tuple[Term, ...]
    to_be_measured: tuple[str, ...]


class Closed(Row):
    """What comes of the equations that others give too; lists of what a chain holds under these names."""

    expected: dict[str, float]
    finished: list[tuple[Equation, float]]
    apart: list[Problem]
    missed: list[tuple[Equation, float]]


@frozen
class Chain:
    """A part whose lengths are all fixed, or are to be measured.

    Attributes:
        lengths: those of the sections, in order from the A end.
        expected: measurement to be taken -> total length that its span must come to, because everything else
            already fixes it; the measurement will only be a check.
        finished: the spans over sections that are all cut, with how much longer than wanted they are, mm.
        apart: what is said of records that differ by more than reading them explains.
        missed: the spans that yield to what is cut, while not all of it is, likewise.
    """

    lengths: tuple[SolvedLength, ...]
    expected: dict[str, float]
    finished: tuple[tuple[Equation, float], ...]
    apart: tuple[Problem, ...] = ()
    missed: tuple[tuple[Equation, float], ...] = ()

    @property
    def to_be_measured(self) -> tuple[str, ...]:
        """Return every measurement to be taken on which a length rests, in order."""
        return tuple(dict.fromkeys(name for solved in self.lengths for name in solved.to_be_measured))

    def run(self, first: str, last: str) -> tuple[SolvedLength, ...]:
        """Return the lengths from section first to section last."""
        names = [s.name for s in self.lengths]
        return self.lengths[names.index(first) : names.index(last) + 1]

    def terms(self, first: str, last: str) -> Walk:
        """Return the terms whose signed sum is the length from section first to section last."""
        return net(self.run(first, last))

    def total(self, first: str, last: str) -> float | None:
        """Return the length from section first to section last, mm; None if a measurement on the way is to be taken."""
        return _total(self.terms(first, last))


def net(run: Iterable[SolvedLength]) -> Walk:
    """Return the terms whose signed sum is some lengths together; what one adds and another takes off is left out."""
    balance: dict[Equation, int] = {}
    for term in (t for s in run for t in s.terms):
        balance[term.equation] = balance.get(term.equation, 0) + term.sign
    return tuple(Term(sign, equation) for equation, sign in balance.items() if sign)


CUT_KINDS = frozenset({"actual", "planned", "total"})
"""The kinds of equation between faces that are cut."""


def is_cut(terms: Walk) -> bool:
    """Tell whether a length lies between faces that are cut, by its terms, one of them recorded at least."""
    kinds = {t.equation.kind for t in terms}
    return "actual" in kinds and kinds <= CUT_KINDS


def span_total(span: Span, measured: Measurement, stand_offs: tuple[StandOff, StandOff]) -> float | None:
    """Return the length that a span's run must have, mm; None while the measurement is to be taken.

    That is the measured distance (brought to 20 degrees Celsius where its temperature is given) - aimed end shake -
    stand-off at both corners - loose parts. The fitting allowance is not in it, since it comes off again.
    """
    if not measured.taken:
        return None
    taken = [-part.thickness for part in span.loose]
    return math.fsum([at_reference(measured), -span.shake.aim, *(-s.likely for s in stand_offs), *taken])


def gather_equations(
    members: Sequence[Member],
    spans: Iterable[Span],
    measurements: Mapping[str, Measurement],
    stand_offs: Mapping[str, tuple[StandOff, StandOff]],
    *,
    total: Quantity | None = None,
) -> tuple[Equation, ...]:
    """Return the equations of a part as it is wanted: given lengths, spans and total.

    Args:
        members: the sections from the A end.
        spans: they name sections and measurements that there are.
        measurements: by name.
        stand_offs: those of the corners at the A and the B side of each span, by the span's name.
        total: length of the whole part, mm; None if not given.
    """
    names = [m.name for m in members]
    found = [
        Equation("length", m.name, at, at + 1, float(m.length), "", 0.0, m.length.where)
        for at, m in enumerate(members)
        if m.length is not None
    ]
    for span in spans:
        measured = measurements[span.measurement]
        value = span_total(span, measured, stand_offs[span.name])
        open_name = "" if measured.taken else measured.name
        logged = next((r.where for r in measured.readings if r.where.path != measured.where.path), None)
        faces, shake = span.faces(names), span.shake
        room = (float(shake.most - shake.aim), float(shake.aim - shake.least))
        found.append(Equation("span", span.name, *faces, value, open_name, measured.half, span.where, logged, room))
    if total is not None:
        found.append(Equation("total", "", 0, len(names), float(total), "", 0.0, total.where))
    return tuple(found)


def solve_chain(members: Sequence[Member], equations: Iterable[Equation], unit: str = "mm") -> Chain:
    """Solve every section's length.

    Args:
        members: the sections from the A end, at least one.
        equations: in any order; of several that say the same, the first counts. Where something has been cut,
            a wanted length that contradicts it yields to it.
        unit: the one in which problems are said, "mm" or "in".

    Raises:
        ProblemError: nothing fixes a length, equations contradict each other, or a length is below
            LEAST_LENGTH; all at once, each naming the members.
    """
    forest: Forest = [[] for _ in range(len(members) + 1)]
    used, loops = _grow(forest, tuple(equations))
    closed, problems = _close(loops, unit, members[0].where.path)
    walks = [(m, _walk(forest, at, at + 1)) for at, m in enumerate(members)]
    loose = [m for m, walk in walks if walk is None]
    if loose:
        problems.append(_not_fixed(members, loose, used, _pieces(forest) - 1))
    lengths = tuple(_solved(m, walk) for m, walk in walks if walk is not None)
    problems = problems or list(_check_lengths(members, lengths, unit))
    if problems:
        raise ProblemError(problems)
    finished, apart, missed = tuple(closed.finished), tuple(closed.apart), tuple(closed.missed)
    return Chain(lengths=lengths, expected=closed.expected, finished=finished, apart=apart, missed=missed)


def _grow(forest: Forest, equations: Sequence[Equation]) -> tuple[list[Equation], list[tuple[Equation, Walk]]]:
    """Grow the forest by each equation that says something new; return these, and the others, each with its walk."""
    used: list[Equation] = []
    loops: list[tuple[Equation, Walk]] = []
    for equation in sorted(equations, key=_order(equations)):
        walk = _walk(forest, equation.start, equation.end)
        if walk is not None:
            loops.append((equation, walk))
            continue
        forest[equation.start].append((equation.end, Term(1, equation)))
        forest[equation.end].append((equation.start, Term(-1, equation)))
        used.append(equation)
    return used, loops


def _close(
    loops: Iterable[tuple[Equation, Walk]], unit: str, part_path: str
) -> tuple[Closed, list[Problem]]:  # fmt: skip
    """Compare each equation with the others that say the same; return what comes of it, and contradictions."""
    closed, problems = Closed({}, [], [], []), list[Problem]()
    for equation, walk in loops:
        other, kinds = _total(walk), {t.equation.kind for t in walk}
        if other is None:
            continue
        more = other - (equation.value or 0.0)
        if equation.value is None:
            closed.expected[equation.to_be_measured] = other
        elif "actual" in {equation.kind, *kinds} and (equation.kind != "span" or _may_miss(equation, kinds, more)):
            if said := _close_cut(closed, equation, walk, more):
                closed.apart.append(_contradiction(equation, walk, said, unit, part_path))
        elif abs(more) > AGREE:
            problems.append(_contradiction(equation, walk, other, unit, part_path))
    return closed, problems


def _may_miss(equation: Equation, kinds: Collection[str], more: float) -> bool:
    """Tell whether a span that is cut so much longer than it says, mm, yields: no other is at odds with it for good.

    kinds: of the equations that give it too.
    """
    shorter, longer = equation.room
    return "span" not in kinds or "planned" in kinds or -shorter - AGREE <= more <= longer + AGREE


def _close_cut(closed: Closed, equation: Equation, walk: Walk, more: float) -> float:
    """Take in an equation of what is cut, by records, to be so much longer than it says, mm.

    Returns:
        What the others say, mm, where that differs by more than reading them explains; otherwise zero.
    """
    kinds = {t.equation.kind for t in walk}
    if equation.kind == "actual":
        doubts = [e.doubt or READ for e in (equation, *(t.equation for t in walk))]
        return more + (equation.value or 0.0) if abs(more) > math.fsum(doubts) else 0.0
    if equation.kind == "span":
        (closed.finished if kinds <= {"actual", "total"} else closed.missed).append((equation, more))
    return 0.0  # any other length that was wanted yields to what is


def _order(equations: Sequence[Equation]) -> Callable[[Equation], tuple[bool, int, float]]:
    """Return the order: what is cut before what is wanted, then what the assembly asks before what the drawing says.

    The bar was faced to its length before any shoulder was cut. Of records, the latest counts.
    """
    ranks = ("total", "actual", "planned", "span", "length") if any(e.kind == "actual" for e in equations) else ()

    def key(equation: Equation) -> tuple[bool, int, float]:
        late = 0.0
        if equation.kind == "actual" and equation.recorded is not None:
            late = -equation.recorded.line or -math.inf  # one that is only tried has no line yet
        return equation.value is None, ranks.index(equation.kind) if ranks else 0, late

    return key


def _solved(member: Member, walk: Walk) -> SolvedLength:
    names = tuple(dict.fromkeys(t.equation.to_be_measured for t in walk if t.equation.to_be_measured))
    return SolvedLength(name=member.name, value=_total(walk), terms=walk, to_be_measured=names)


def _total(terms: Iterable[Term]) -> float | None:
    values = [None if t.equation.value is None else t.sign * t.equation.value for t in terms]
    known = [v for v in values if v is not None]
    return math.fsum(known) if len(known) == len(values) else None


def _walk(forest: Forest, start: int, end: int) -> Walk | None:
    """Return the terms that lead from one face to another, by the only way; None where nothing joins them."""
    came: dict[int, tuple[int, Term] | None] = {start: None}
    todo = [start]
    while todo and end not in came:
        face = todo.pop()
        for other, term in forest[face]:
            if other not in came:
                came[other] = (face, term)
                todo.append(other)
    if end not in came:
        return None
    terms: list[Term] = []
    step = came[end]
    while step is not None:
        terms.append(step[1])
        step = came[step[0]]
    return tuple(reversed(terms))


def _pieces(forest: Forest) -> int:
    """Return the number of groups of faces that are connected."""
    seen: set[int] = set()
    count = 0
    for face in range(len(forest)):
        if face not in seen:
            count += 1
            seen.update(other for other in range(len(forest)) if _walk(forest, face, other) is not None)
    return count


def _contradiction(equation: Equation, walk: Walk, other: float, unit: str, part_path: str) -> Problem:
    assert equation.value is not None
    gap = abs(other - equation.value)
    doubt = math.fsum([equation.doubt, *(t.equation.doubt for t in walk)])
    fix = "give each loop one length fewer, or measure again"
    if equation.kind == "actual":
        fix = "measure again, and record that"
    if gap <= doubt:
        errors = f"±{show_slight(doubt, unit)}"
        fix = f"their errors of measuring, {errors} together, could explain it: keep the one you trust"
    loop = [equation, *(t.equation for t in walk)]
    what = f"{_list([e.title for e in loop])} contradict each other by {show_slight(gap, unit)}"
    given = (
        f"{equation.title} says {show_slight(equation.value, unit)}{_recorded(equation)}; "
        f"{_sum(walk, unit)} = {show_slight(other, unit)}"
    )
    allowed = "both ways round the loop come to the same"
    return problem(equation.where, what, given, allowed, fix + _withdraw(part_path, loop))


def _not_fixed(members: Sequence[Member], loose: Sequence[Member], used: Sequence[Equation], missing: int) -> Problem:
    at = {m.name: i for i, m in enumerate(members)}
    facts = []
    for e in used:
        inside = [f'"{m.name}"' for m in loose if e.start <= at[m.name] < e.end]
        if inside:
            facts.append(f"{e.title} fixes only the sum of {_list(inside)}")
    names = [f'"{m.name}"' for m in loose]
    more = "one more length or span is needed" if missing == 1 else f"{missing} more lengths or spans are needed"
    what = f"nothing fixes the length{'s' if len(names) > 1 else ''} of {_list(names)}"
    fix = f"give {_list(names, 'or')} a length, or a span that begins or ends there"
    return problem(loose[0].where, what, "; ".join(facts), more, fix)


def _check_lengths(members: Iterable[Member], lengths: Iterable[SolvedLength], unit: str) -> Iterator[Problem]:
    """Check that something is left for each section."""
    for member, solved in zip(members, lengths, strict=True):
        if solved.value is not None and solved.value < LEAST_LENGTH:
            what = f'no length is left for "{solved.name}"'
            given = f"{_sum(solved.terms, unit)} = {show_slight(solved.value, unit)}"
            fix = "check these lengths and measurements, and which sections the spans run over"
            fix += _withdraw(member.where.path, [t.equation for t in solved.terms])
            yield problem(member.where, what, given, f"at least {show_slight(LEAST_LENGTH, unit)}", fix)


def _recorded(equation: Equation) -> str:
    """Return the line of the log from which an equation's value comes, in brackets; "" for none."""
    return f" ({equation.recorded})" if equation.recorded is not None and equation.recorded.line else ""


def _withdraw(part_path: str, equations: Iterable[Equation]) -> str:
    """Say how a wrong record among these is withdrawn; "" where there is none."""
    lines = sorted({e.recorded for e in equations if e.recorded is not None and e.recorded.line})
    return f"; {how_to_withdraw(part_path, lines)}" if lines else ""


def _sum(terms: Sequence[Term], unit: str) -> str:
    words: list[str] = []
    for sign, equation in sorted(terms, key=lambda t: -t.sign):
        value = "to be measured" if equation.value is None else show_slight(equation.value, unit)
        lead = (" + " if sign > 0 else " - ") if words else ("" if sign > 0 else "- ")
        words.append(f"{lead}{equation.title} {value}{_recorded(equation)}")
    return "".join(words)


def _list(words: Sequence[str], last: str = "and") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"
