"""Record what was measured, cut or read off a part, and show what was. Prints nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING

from cam.job import read_log
from cam.measure.journal import Entry, Journal, append_record, journal_path, read_journal
from cam.measure.records import EXPECTED, USES, Actual, Target, Use, find_target, read_actual, show_history, targets
from cam.measure.whole import measured_of
from cam.part import read_part
from cam.problem import Problem, ProblemError, Where
from cam.stop_record import find_stop, tell_reading
from cam.units import is_inch, show_length

if TYPE_CHECKING:
    from cam.measure.records import Records
    from cam.part.model import Part

FAR = 0.5
"""How far a stop's reading may differ from what is expected there, mm; beyond it another stop or unit is meant."""


def record_value(
    part_path: str, name: str, value: str, shop_path: str | None = None, use: Use = "last cut"
) -> tuple[Entry, Actual, str]:
    """Add a record to the log beside a part file; returns once it is safe on the disk.

    Args:
        name: of a measurement, or of a section or span with what was measured of it; see cam.measure.records.
        value: one reading or several, "45.02; 45.03; 45.04 mm", with "± 0.01 mm" after them if that is known.
        shop_path: of the shop file; None takes the part file's own word. Only a stop's reading needs it.
        use: what a stop's reading is for; of anything else it must be left as it is.

    Returns:
        The record, what it comes to, and what to do next.

    Raises:
        ProblemError: no such thing to record, a value that cannot be meant, a wrong part file, or the system will not.
    """
    name, where = name.strip(), Where(path=part_path)
    log = read_log(part_path)
    old = log.journal.latest(name) if log is not None else None
    stop, told = None, ""
    try:
        part = _read_without(part_path, log, name)
        target = find_target(name, names_of(part), where)
        if target.kind == "stop reading":
            stop = find_stop(part_path, shop_path, target, name, where)
    except ProblemError as found:
        if old is None:
            raise
        return _replace(part_path, old, value, use, found)
    if stop is not None:
        if stop.shop.lathe.by_hand:
            use = "notebook"
        told = f"{EXPECTED}{_in_unit_of(value, stop.wanted.expected)}" + (f", {USES[use]}" if USES[use] else "")
    elif use != "last cut":
        raise ProblemError([_no_stop(name, use, where)])
    actual = read_actual(name, value + told, target, where)
    if stop is not None and abs(actual.value - actual.expected) > FAR:
        what = f'"{name}" cannot be meant: it is far from what the program should have left there'
        allowed = f"about {_in_unit_of(value, actual.expected)}"
        raise ProblemError([Problem(where=where, what=what, given=f'"{value}"', allowed=allowed)])
    entry = append_record(journal_path(part_path), kind=target.kind, name=name, value=value.strip() + told)
    then = "\n".join(tell_reading(actual, stop)) if stop is not None else _next_step(actual, part)
    return entry, actual, then


def _read_without(part_path: str, log: Records | None, name: str) -> Part:
    """The part as it is without what is recorded under a name; without any record where the others spoil it too.

    Raises:
        ProblemError: the part file itself is wrong.
    """
    if log is None:
        return read_part(part_path)
    others = tuple(e for e in log.standing if e.name != name)
    try:
        return read_part(part_path, replace(log, standing=others))
    except ProblemError:
        return read_part(part_path, replace(log, standing=()))


def _replace(part_path: str, old: Entry, value: str, use: Use, found: ProblemError) -> tuple[Entry, Actual, str]:
    """Record anew what is recorded, though the part file cannot be read: kept as it is typed, and that is said.

    Raises:
        ProblemError: the value cannot be read.
    """
    where = Where(path=part_path)
    told = ""
    if old.kind == "stop reading":
        expected = old.value.partition(EXPECTED)[2].partition(", ")[0]
        told = f"{EXPECTED}{expected}" + (f", {USES[use]}" if USES[use] else "")
    elif use != "last cut":
        raise ProblemError([_no_stop(old.name, use, where)])
    unknown = Target(kind=old.kind, what="measurement", of=old.name, start=-1, end=-1, about=math.nan)
    actual = read_actual(old.name, value + told, unknown, where)
    entry = append_record(journal_path(part_path), kind=old.kind, name=old.name, value=value.strip() + told)
    first = found.problems[0]
    return entry, actual, f"kept as it is, not checked against the part:\n{first.where}: {first.what}"


def _no_stop(name: str, use: Use, where: Where) -> Problem:
    return Problem(
        where=where,
        what=f'"{name}" is not what a stop reads, so it is not said what it is used for',
        given="--zero" if use == "zero" else "--notebook",
        allowed='"front seat stop diameter" and the like',
        fix="leave that option out, or name the stop",
    )


def _in_unit_of(readings: str, mm: float, *, trim: bool = False) -> str:
    """A length in mm or inches, as the readings were typed."""
    inch = is_inch(readings)
    return show_length(mm, "in" if inch else "mm", 5 if inch else 4, trim=trim)


def _next_step(actual: Actual, part: Part) -> str:
    if actual.target.what == "measurement" and part.to_be_measured:
        return "make again to plan setting 2 from it"
    return "make again to plan what is left from it"


def names_of(part: Part) -> dict[str, Target]:
    """Everything that can be recorded of a part, by name."""
    measured = measured_of(part)
    if measured is None:
        return targets(part.sections, (), ())
    return targets(part.sections, measured.measurements, measured.spans)


def show_recorded(log_path: str, entry: Entry, actual: Actual, then: str) -> str:
    """What `record` answers: the record, what it comes to, and what to do next."""
    count = len(actual.readings)
    mean = f", mean of {count} readings {_in_unit_of(actual.text, actual.value, trim=True)}" if count > 1 else ""
    return f'{PurePath(log_path).name}:{entry.line}: recorded "{entry.name}" {entry.value}{mean}\n{then}\n'


def withdraw_record(part_path: str, line: int) -> str:
    """Withdraw the record on a line of a part's log, by a line of its own; returns once that is safe on the disk.

    It needs the log alone: neither part nor shop file is read, whatever state they are in.

    Returns:
        What was withdrawn, what stands now, and what to do next.

    Raises:
        ProblemError: no such record, one that is withdrawn already, or the system will not.
    """
    path = journal_path(part_path)
    journal = read_journal(path)
    entry = next((e for e in journal.entries if e.line == line), None)
    if entry is None or line in journal.withdrawn:
        raise ProblemError([_not_withdrawn(part_path, journal, line)])
    added = append_record(path, kind="withdrawal", name=entry.name, value=f"{line}, check {entry.check}")
    of = f'the withdrawal of "{entry.name}"' if entry.kind == "withdrawal" else f'"{entry.name}" {entry.value}'
    lines = [f"{PurePath(path).name}:{added.line}: withdrew line {line}, {of}"]
    lines += _now_standing(journal, read_journal(path), entry)
    return "".join(f"{words}\n" for words in lines)


def _now_standing(before: Journal, now: Journal, entry: Entry) -> Iterator[str]:
    """What counts for a name once its record or its withdrawal is withdrawn."""
    stood, stands = ([e for e in j.standing if e.name == entry.name] for j in (before, now))
    fresh = [e for e in stands if e not in stood]
    yield from (f"line {e.line} stands again: {e.value}; withdraw that too if it is wrong" for e in fresh)
    if stood == stands:
        yield "nothing else changes: it did not stand"
        return
    if not stands:
        yield f'nothing stands for "{entry.name}" now: record it anew'
    yield "make again: what was printed or written from it is not to be cut"
    if entry.value.endswith(USES["zero"]):
        yield "the number that was set at the control by it stands there still: find zero anew"


def _not_withdrawn(part_path: str, journal: Journal, line: int) -> Problem:
    """There is no record on that line, or it is withdrawn."""
    gone = journal.withdrawn.get(line)
    if gone is not None:
        return Problem(
            where=journal.where(gone),
            what=f"the record on line {line} is withdrawn already, by this line",
            given=f"--withdraw {line}",
            fix=f"to have it stand again, withdraw this: endshake record {part_path} --withdraw {gone.line}",
        )
    gone_by = journal.withdrawn
    known = ", ".join(str(e.line) for e in journal.entries if e.line not in gone_by)
    return Problem(
        where=Where(path=journal.path),
        what="there is no record on this line of the log",
        given=f"--withdraw {line}",
        allowed=f"line {known}" if known else "nothing is recorded beside this part file",
        fix=f"endshake history {part_path} shows every record by its line" if known else "check the part's name",
    )


def show_log(part_path: str) -> str:
    """The log of a part as a page for the notebook.

    Raises:
        ProblemError: the log cannot be read, or there is neither part nor log.
    """
    journal = read_journal(journal_path(part_path))
    try:
        name = read_part(part_path).name
    except ProblemError:
        if not journal.entries:
            raise
        name = PurePath(part_path).name
    return show_history(name, journal)
