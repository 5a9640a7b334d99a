"""Record what was measured, cut or read off a part, and show what was. Prints nothing."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from cam.job import read_log
from cam.measure.journal import Entry, append_record, journal_path, read_journal
from cam.measure.records import EXPECTED, USES, Actual, Target, Use, find_target, read_actual, show_history, targets
from cam.measure.whole import measured_of
from cam.part import read_part
from cam.problem import Problem, ProblemError, Where
from cam.stop_record import find_stop, tell_reading
from cam.units import is_inch, show_length

if TYPE_CHECKING:
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
    part = read_part(part_path, read_log(part_path))
    where = Where(path=part_path)
    target = find_target(name.strip(), names_of(part), where)
    stop, told = None, ""
    if target.kind == "stop reading":
        stop = find_stop(part_path, shop_path, target, name.strip(), where)
        if stop.shop.lathe.by_hand:
            use = "notebook"
        told = f"{EXPECTED}{_in_unit_of(value, stop.wanted.expected)}" + (f", {USES[use]}" if USES[use] else "")
    elif use != "last cut":
        raise ProblemError([_no_stop(name, use, where)])
    actual = read_actual(name.strip(), value + told, target, where)
    if stop is not None and abs(actual.value - actual.expected) > FAR:
        what = f'"{name}" cannot be meant: it is far from what the program should have left there'
        allowed = f"about {_in_unit_of(value, actual.expected)}"
        raise ProblemError([Problem(where=where, what=what, given=f'"{value}"', allowed=allowed)])
    entry = append_record(journal_path(part_path), kind=target.kind, name=name.strip(), value=value.strip() + told)
    then = "\n".join(tell_reading(actual, stop)) if stop is not None else _next_step(actual, part)
    return entry, actual, then


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
