"""What stands behind a message: the records of the log on which a length, a diameter or a span rests."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from cam.ground.problem import Problem, Where
from cam.lengths.journal import how_to_withdraw
from cam.lengths.records import Actual
from cam.lengths.solved import Measured, Solved
from cam.part.model import Part


def tell_records(part: Solved, problems: Iterable[Problem]) -> list[Problem]:
    """Return a part's problems or warnings, each with the lines of the log on which the thing it names rests.

    Args:
        part: as read, with its log.
        problems: those that were found with it; they name sections and spans in quotes.
    """
    measured = part.measured
    if measured is None:
        return list(problems)
    rests = dict(_rests(part, measured)) if measured.records else {}
    return [rest_on(p, part.path, _behind(p, part, measured, rests).values()) for p in problems]


def _behind(
    problem: Problem, part: Solved, measured: Measured, rests: Mapping[str, tuple[Actual, ...]]
) -> dict[Where, Actual]:
    """Return the records on which what a problem names rests, by their lines."""
    if problem.where == part.stock.length.where:  # the bar is as long as all sections want it
        return {r.where: r for records in rests.values() for r in records if r.target.what != "diameter"}
    words = str(problem)
    named = {name for name in rests if f'"{name}"' in words} or {_table_of(part, measured, problem)}
    return {r.where: r for name in named for r in rests.get(name, ())}


def _table_of(part: Part, measured: Measured, problem: Problem) -> str:
    """Return the section or span in whose table of the part file a problem stands, or "" for none."""
    lists = (part.sections, measured.spans, measured.measurements, measured.holes)
    begun = [(t.where.line, t.name) for tables in lists for t in tables if t.where.path == problem.where.path]
    return max(((line, name) for line, name in begun if line <= problem.where.line), default=(0, ""))[1]


def rest_on(problem: Problem, part_path: str, records: Iterable[Actual]) -> Problem:
    """Return a problem with the records on which it rests and how one is withdrawn; as it is if it names a line."""
    lines = {r.where: r for r in records if r.where.line}  # one that is only tried has none
    if not lines or any(str(where) in str(problem) for where in lines):
        return problem
    told = "; ".join(f'"{r.name}" {r.text} ({where})' for where, r in sorted(lines.items()))
    return replace(
        problem,
        given=f"{problem.given}; " * bool(problem.given) + f"this rests on what was recorded: {told}",
        fix=f"{problem.fix}; " * bool(problem.fix) + how_to_withdraw(part_path, sorted(lines)),
    )


def _rests(part: Part, measured: Measured) -> Iterator[tuple[str, tuple[Actual, ...]]]:
    """Yield each section and span with the records on which its length, or its diameter, rests."""
    for name, lines in (*_lines_of_sections(part, measured), *_lines_of_spans(part, measured)):
        yield name, tuple(r for r in measured.records if r.where in lines)


def _lines_of_sections(part: Part, measured: Measured) -> Iterator[tuple[str, set[Where | None]]]:
    diameters = {a.target.of: a.where for a in measured.actuals if a.target.what == "diameter"}
    for section, solved in zip(part.sections, measured.chain.lengths, strict=False):
        yield section.name, {diameters.get(section.name), *(term.equation.recorded for term in solved.terms)}


def _lines_of_spans(part: Part, measured: Measured) -> Iterator[tuple[str, set[Where | None]]]:
    names = [s.name for s in part.sections]
    for span in measured.spans:
        first, last = span.faces(names)
        cut = (a.where for a in measured.actuals if first <= a.target.start and a.target.end <= last)
        yield span.name, {*(r.where for r in measured.measurement(span).readings), *cut}
