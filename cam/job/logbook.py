"""Records what was measured, cut or read off a part, and shows what was. Prints nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import PurePath

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import is_inch, show_length
from cam.job import named, read_log
from cam.job.given import shop_beside, solve_for
from cam.job.stop_record import PlannedStop, check_cut, find_stop, tell_reading
from cam.lengths import read_part
from cam.lengths.journal import (
    Entry,
    Journal,
    append_record,
    how_to_withdraw,
    journal_path,
    piece_of,
    pieces_beside,
    pieces_of,
    read_journal,
    said_of,
)
from cam.lengths.likely import check_likely, check_readings, find_meant, length_words, likely_sizes
from cam.lengths.records import (
    EXPECTED,
    READ,
    SURE,
    USES,
    Actual,
    Records,
    Target,
    Use,
    find_target,
    left_on_faces,
    read_actual,
    show_history,
    targets,
    with_limits,
)
from cam.lengths.solve import CUT
from cam.lengths.solved import Solved
from cam.lengths.span_report import report_spans
from cam.lengths.sums import with_reading
from cam.part import Asked, read_asked
from cam.part.model import Part
from cam.part.spans import Measurement, added, mean_of
from cam.shop import read_shop
from cam.shop.model import Shop

IF_SURE = "; if it is so, add --sure"
"""The end of what is said of a value that is kept where somebody is sure of it."""


def record_value(
    part_path: str, name: str, value: str, shop_path: str | None = None, use: Use = "last cut", *, sure: bool = False,
    piece: str = "",
) -> tuple[Entry, Actual, str]:  # fmt: skip
    """Add a record to the log beside a part file; returns once it is safe on the disk.

    Args:
        name: of a measurement, or of a section or span with what was measured of it; see cam.lengths.records.
        value: one reading or several, "45.02; 45.03; 45.04 mm", with "± 0.01 mm" after them if that is known.
        shop_path: path of the shop file; None takes the one that the part file names.
        use: what a stop's reading is for; for anything else it must be left as it is.
        piece: name of one of several workpieces; what is read off the assembly is common to all of them.
        sure: keep a value that is unlikely too, or with which the part cannot be made.

    Returns:
        The record, what it comes to, and what to do next.

    Raises:
        ProblemError: there is no such thing to record, the value is unreadable, or unlikely while nobody is sure of it,
            the part file is wrong, the named shop file cannot be read, or the system will not write it.
    """
    if shop_path is not None:
        read_shop(shop_path)  # a command line that is wrong is no state of the job in which a value is kept unchecked
    name, where = name.strip(), Where(path=part_path)
    log = read_log(part_path, piece)
    old = log.latest(name) if log is not None else None
    stop = None
    try:
        before = _read_without(part_path, shop_path, log, name)
        target = find_target(name, names_of(before.part), where, before.part.sections)
        if target.kind == "stop reading":
            stop = find_stop(part_path, shop_path, target, name, where, piece)
    except ProblemError as found:
        if old is None:
            raise
        return _replace(part_path, old, value, use, found)
    if old is None:
        _check_piece(part_path, target, name, piece)
    value = _as_told(value, stop, name, use, where)
    actual = read_actual(name, value + SURE, target, target.where)
    value += _check_typed(before, actual, stop, sure=sure)
    told = list(_new_piece(part_path, target, piece))
    log_path = journal_path(part_path, "" if target.kind == "measurement" else piece)
    entry = append_record(log_path, kind=target.kind, name=name, value=value)
    then = tell_reading(actual, stop) if stop is not None else _next_steps(actual, before, _try(before, entry))
    return entry, actual, "\n".join([*told, *then])


def _check_typed(before: Before, actual: Actual, stop: PlannedStop | None, *, sure: bool) -> str:
    """Return what marks a value that is kept in spite of doubts, "" without any.

    Raises:
        ProblemError: there are doubts and nobody is sure, or the pass before a stop hardly cut, of which nobody can be.
    """
    doubts = _check_record(before, actual)
    if stop is not None and (hardly := list(check_cut(actual, stop))):
        raise ProblemError([replace(p, fix=p.fix.removesuffix(IF_SURE)) for p in doubts] or hardly)
    return _mark_doubts(doubts, sure=sure)


def _new_piece(part_path: str, target: Target, piece: str) -> Iterator[str]:
    """Say that a record is the first of a piece, where there are records of others: its name may be mistyped."""
    known = pieces_beside(part_path, piece)
    if known and target.kind != "measurement":
        yield f"the first record of piece {piece}; there are records of {', '.join(known)}"


@frozen
class Before:
    """A part without what is recorded under one name.

    Attributes:
        part: as it is read without. log: its other records; none where those spoil it too.
        old: the record that stands under that name; None for none. now: the part with it; None if it cannot be made.
        asked: what the part file asks for. shop: None where none can be read.
    """

    part: Solved
    log: Records
    old: Entry | None
    now: Solved | None
    asked: Asked
    shop: Shop | None


def _read_without(part_path: str, shop_path: str | None, log: Records | None, name: str) -> Before:
    """Read the part without what is recorded under a name; without any record where the others spoil it too.

    Raises:
        ProblemError: the part file itself is wrong.
    """
    asked = read_asked(part_path)
    shop = shop_beside(part_path, shop_path, asked)
    if log is None:
        log = Records(path=journal_path(part_path), digest="", journals=(), standing=())
    old = log.latest(name)
    others = replace(log, standing=tuple(e for e in log.standing if e.name != name))
    try:
        part = solve_for(asked, shop, others)
    except ProblemError:
        others = replace(log, standing=())
        part = solve_for(asked, shop, others)
    before = Before(part=part, log=others, old=old, now=part, asked=asked, shop=shop)
    if old is None:
        return before
    tried = _try(before, old)
    return replace(before, now=tried if isinstance(tried, Solved) else None)


def _try(before: Before, entry: Entry) -> Solved | tuple[Problem, ...]:
    """Return the part with one more record, or what makes it impossible."""
    try:
        log = replace(before.log, standing=(*before.log.standing, entry))
        return solve_for(before.asked, before.shop, log)
    except ProblemError as found:
        return found.problems


def _try_record(before: Before, actual: Actual, value: str) -> Solved | tuple[Problem, ...]:
    """Return the part with a record that is not kept yet, or what makes it impossible."""
    return _try(before, Entry(0, "", "", actual.target.kind, actual.name, value, 0, "", ""))


def _check_record(before: Before, actual: Actual) -> list[Problem]:
    """Find what is against a readable value: it is unlikely, or the part cannot be made with it."""
    taken, was = _measurement_of(before.part, actual.target), _read_old(before, actual.target)
    how = "" if was is None else how_to_withdraw(before.part.path, [was.where])
    half = max(taken.uncertainty.half if taken is not None else READ, actual.half if actual.half > 0 else 0.0)
    problems = [
        *check_readings(actual.name, actual.readings, actual.text, half, actual.target.where),
        *check_likely(actual, likely_sizes(actual, before.part, taken, was), how),
    ]
    if not problems and actual.strange is not None:
        problems.append(actual.strange)
    if actual.target.kind != "stop reading":
        problems = _check_part(before, actual, problems)
    more = f"measure again{IF_SURE}"
    return [replace(p, fix=f"{p.fix}; {more}" if p.fix else more) for p in problems]


def _measurement_of(part: Solved, target: Target) -> Measurement | None:
    """Return the measurement that a target is, as the part file has it; None for any other."""
    known = () if part.measured is None or target.what != "measurement" else part.measured.measurements
    return next((m for m in known if m.name == target.of), None)


def _check_part(before: Before, actual: Actual, problems: list[Problem]) -> list[Problem]:
    """Return the problems, with what the value would do to the part; if it spoils the part, that is a problem too."""
    after = _try_record(before, actual, actual.text + SURE)
    found = list(after if isinstance(after, tuple) else _without_shake(before.part, after, actual))
    if not found and isinstance(after, Part):
        would = _changes(before, after, actual.text)
        return [replace(p, given=f"{p.given}; it would make {would}") if would else p for p in problems]
    first = found[0]
    if problems:
        return [replace(p, given=f"{p.given}; with it: {first.what}") for p in problems]

    what = f'with this "{actual.name}" the part cannot be made: {first.what}'
    fix = find_meant(actual, lambda value: _is_better(before, actual, value), before.part.unit)
    return [problem(actual.target.where, what, f'"{actual.text}": {first.given}', first.allowed, fix)]


def _is_better(before: Before, actual: Actual, value: float) -> bool:
    """Whether the part, which a record spoils, can be made as wanted with another value, mm, in its place."""
    text = with_reading(actual.text, value - added(actual.along))
    try:
        meant = read_actual(actual.name, text, actual.target, actual.target.where)
    except ProblemError:  # nothing is left of it, or it is another part's
        return False
    limited, about = with_limits(meant, before.part.sections), actual.target.about
    if limited is not None and not limited[1] - AS_GIVEN <= value <= limited[2] + AS_GIVEN:
        return False
    if abs(value - about) >= abs(actual.value - about):
        return False
    after = _try_record(before, meant, text)
    return isinstance(after, Solved) and not _without_shake(before.part, after, meant)


def _without_shake(before: Solved, after: Solved, actual: Actual) -> list[Problem]:
    """Find spans that a record would leave without end shake; what is left on them for the fitting counts."""

    def shakes(part: Solved) -> dict[str, float]:
        found = {r.span.name: r for r in report_spans(part, "B")}
        return {n: r.limits.shake + r.span.fitting_allowance for n, r in found.items() if r.limits is not None}

    measured = after.measured
    wanted = {} if measured is None else {s.name: s.shake for s in measured.spans}
    say, was = length_words(actual.text), shakes(before)
    return [
        Problem(
            where=actual.target.where,
            what=f'span "{name}" would bind: its end shake is negative',
            given=f"{say(shake)} end shake",
            allowed=f"{say(wanted[name].least)} to {say(wanted[name].most)} is wanted",
        )
        for name, shake in shakes(after).items()
        if shake < 0 <= was.get(name, 0.0)
    ]


def _read_old(before: Before, target: Target) -> Actual | None:
    """Return the record that another would replace; None where it cannot be read, or the part not made with it."""
    old = before.old
    if old is None or old.kind != target.kind or before.now is None:
        return None
    try:
        return read_actual(old.name, old.value, target, old.where)
    except ProblemError:
        return None


def _changes(before: Before, after: Solved, text: str) -> str:
    """Return in words what a record changes; "" for nothing."""
    return ", ".join(_changed(before.now or before.part, after, text))


def _changed(before: Solved, after: Solved, text: str) -> Iterator[str]:
    """Return the sections whose length another record changes or gives, in the unit of a text."""
    say = length_words(text)
    for old, new in zip(before.sections, after.sections, strict=True):
        if not math.isnan(new.length) and not abs(new.length - old.length) < AS_GIVEN:
            was = "" if math.isnan(old.length) else f" for {say(old.length)}"
            yield f'"{new.name}" {say(new.length)} long{was}'


def _replace(part_path: str, old: Entry, value: str, use: Use, found: ProblemError) -> tuple[Entry, Actual, str]:
    """Replace a record though the part file cannot be read: the value is kept as it is typed, and that is said.

    Raises:
        ProblemError: the value cannot be read.
    """
    where = Where(path=part_path)
    expected = old.value.partition(EXPECTED)[2].partition(", ")[0] if old.kind == "stop reading" else ""
    told = _told(expected, old.name, use, where)
    unknown = Target(kind=old.kind, what="measurement", of=old.name, start=-1, end=-1, about=math.nan, where=where)
    actual = read_actual(old.name, value + told, unknown, where)
    entry = append_record(old.path, kind=old.kind, name=old.name, value=value.strip() + told)
    first = found.problems[0]
    return entry, actual, f"kept as it is, not checked against the part:\n{first.where}: {first.what}"


def _mark_doubts(doubts: Sequence[Problem], *, sure: bool) -> str:
    """Return what marks a value that is kept in spite of doubts, "" without any; raise them if nobody is sure."""
    if doubts and not sure:
        raise ProblemError(doubts)
    return SURE if doubts else ""


def _as_told(value: str, stop: PlannedStop | None, name: str, use: Use, where: Where) -> str:
    """Return a value as it is kept, with what is told of a stop's reading; see _told."""
    if stop is None:
        return value.strip() + _told("", name, use, where)
    expected = _in_unit_of(value, stop.wanted.expected)
    return value.strip() + _told(expected, name, "notebook" if stop.shop.lathe.by_hand else use, where)


def _told(expected: str, name: str, use: Use, where: Where) -> str:
    """Return what is kept with a stop's reading: what was expected there, "" for no stop, and what it is used for.

    Raises:
        ProblemError: a use is said of what no stop read.
    """
    if expected:
        return f"{EXPECTED}{expected}" + (f", {USES[use]}" if USES[use] else "")
    if use != "last cut":
        what = f'"{name}" is not what a stop reads, so it is not said what it is used for'
        given, allowed = "--zero" if use == "zero" else "--notebook", '"front seat stop diameter" and the like'
        raise refusal(where, what, given=given, allowed=allowed, fix="leave that option out, or name the stop")
    return ""


def _in_unit_of(readings: str, mm: float, *, trim: bool = False) -> str:
    """Show a length in mm or inches, as the readings were typed."""
    inch = is_inch(readings)
    return show_length(mm, "in" if inch else "mm", 5 if inch else 4, trim=trim)


def _next_steps(actual: Actual, before: Before, after: Solved | tuple[Problem, ...]) -> list[str]:
    """Return what a record changes, and what to do next."""
    if isinstance(after, tuple):
        return [f"kept, and the part cannot be made with it: {after[0].what}"]
    changed = _changes(before, after, actual.text)
    lines = [f"by it {changed}"] if changed else []
    lines += _as_finished(actual, before.part)
    lines += _past_limits(actual, before.part)
    lines += _as_wanted(before, after)
    spoilt = list(_spoilt(before, after))
    if spoilt:
        return [*lines, *spoilt]
    if before.part.holding.method != "between centres":
        made = "page" if before.shop is not None and before.shop.lathe.by_hand else "program"
        return [*lines, f"kept; there is one setting, and its {made} stays as it is"]
    waits = before.now is not None and actual.target.of in before.now.to_be_measured
    return [*lines, f"make again to plan {'setting 2' if waits else 'what is left'} from it"]


def _spoilt(before: Before, after: Solved) -> Iterator[str]:
    """Say which spans will not be as wanted by a record, and what to do."""
    known = () if before.now is None else before.now.warnings
    for warning in after.warnings:
        if warning.kind == CUT and warning not in known:
            yield warning.what
            yield warning.fix


def _as_wanted(before: Before, after: Solved) -> Iterator[str]:
    """Say of spans that a record finishes how they came out; of those that are too short a warning does."""
    known = () if before.now is None else {r.verdict for r in report_spans(before.now, "B")}
    for report in report_spans(after, "B"):
        if report.verdict is not None and report.verdict.state != "short" and report.verdict not in known:
            yield report.verdict.text


def _as_finished(actual: Actual, part: Part) -> Iterator[str]:
    """Say that a recorded length counts as finished, and what it is if something is still to come off its faces."""
    left = left_on_faces(part.sections, actual.target)
    if abs(left) > AS_GIVEN:
        say = length_words(actual.text)
        then = f"record {say(actual.value + left)} instead"
        yield f"it counts as finished: with the {say(abs(left))} left on its faces still to come off, {then}"


def _past_limits(actual: Actual, part: Solved) -> Iterator[str]:
    """Say of which section, if of any, a recorded diameter is past its limits."""
    say = length_words(actual.text)
    if (limited := with_limits(actual, part.sections)) is None:
        return
    s, least, most = limited
    if actual.value < least - AS_GIVEN:
        yield f'"{s.name}" is under its least, {say(least)}: scrap, unless its page says otherwise'
    elif actual.value > most + AS_GIVEN:
        yield f'"{s.name}" is over its most, {say(most)}: {say(actual.value - most)} at least is to come off'


def names_of(part: Solved) -> dict[str, Target]:
    """Return everything that can be recorded of a part, by name."""
    measured = part.measured
    if measured is None:
        return targets(part.sections, (), ())
    return targets(part.sections, measured.measurements, measured.spans)


def show_recorded(entry: Entry, actual: Actual, then: str) -> str:
    """Return what `record` answers: the record, what it comes to, and what to do next."""
    count = len(actual.readings)
    say = length_words(actual.text)
    mean = f", mean of {count} readings {say(mean_of(actual.readings))}" if count > 1 else ""
    mean += f"; in all {say(actual.value)}" if actual.along else ""
    return f'{PurePath(entry.path).name}:{entry.line}: recorded "{entry.name}" {entry.value}{mean}\n{then}\n'


def withdraw_record(part_path: str, line: int, piece: str = "") -> str:
    """Withdraw the record on a line of a part's log, by a new line in it; return once that is safe on the disk.

    It needs the log alone: neither part nor shop file is read, whatever state they are in.

    Returns:
        What was withdrawn, what stands now, and what to do next.

    Raises:
        ProblemError: there is no such record, it is withdrawn already, or the system will not write.
    """
    path = journal_path(part_path, piece)
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
    """Return what counts for a name once its record or its withdrawal is withdrawn."""
    stood, stands = ([e for e in j.standing if e.name == entry.name] for j in (before, now))
    fresh = [e for e in stands if e not in stood]
    yield from (f"line {e.line} stands again: {e.value}; withdraw that too if it is wrong" for e in fresh)
    if stood == stands:
        yield "nothing else changes: it did not stand"
        return
    if not stands:
        yield f'nothing stands for "{entry.name}" now: record it anew'
    yield "make again: what was printed or written from it is not to be cut"
    if entry.value.removesuffix(SURE).endswith(USES["zero"]):
        yield "the number that was set at the control by it stands there still: find zero anew"


def _not_withdrawn(part_path: str, journal: Journal, line: int) -> Problem:
    """Report that there is no record on that line, or that it is withdrawn."""
    gone = journal.withdrawn.get(line)
    if gone is not None:
        what = f"the record on line {line} is withdrawn already, by this line"
        fix = f"to have it stand again, withdraw this: endshake record {part_path} --withdraw {gone.line}"
        fix += said_of(piece_of(journal.path))
        return problem(gone.where, what, f"--withdraw {line}", fix=fix)
    gone_by = journal.withdrawn
    known = ", ".join(str(e.line) for e in journal.entries if e.line not in gone_by)
    what = "there is no record on this line of the log"
    whose = "of this piece" if piece_of(journal.path) else "beside this part file"
    allowed = f"line {known}" if known else f"nothing is recorded {whose}"
    fix = (
        f"endshake history {part_path}{said_of(piece_of(journal.path))} shows every record by its line"
        if known
        else f"check the name; {_pieces_words(part_path)}"
    )
    return problem(Where(path=journal.path), what, f"--withdraw {line}", allowed, fix)


def _check_piece(part_path: str, target: Target, name: str, piece: str) -> None:
    """Check that a size of one of several pieces names its piece.

    Raises:
        ProblemError: it names none.
    """
    if piece or target.kind == "measurement" or not pieces_of(part_path):
        return
    what = f'"{name}" is a size of one workpiece, and of this part there are several'
    allowed, fix = _pieces_words(part_path), "say which, --piece and its name"
    raise refusal(target.where, what, given="no --piece", allowed=allowed, fix=fix)


def _pieces_words(part_path: str) -> str:
    names = pieces_of(part_path)
    return f"pieces that have a log: {', '.join(names)}" if names else "no piece has a log"


def show_log(part_path: str, piece: str = "") -> str:
    """Return the log of a part, or of one of several pieces, as a page for the notebook.

    Raises:
        ProblemError: the log cannot be read, or there is neither part nor log.
    """
    journal = read_journal(journal_path(part_path, piece))
    common = read_journal(journal_path(part_path))
    try:
        name = named(read_part(part_path), piece).name
    except ProblemError:
        if not journal.entries and not common.entries:
            raise
        name = PurePath(part_path).name
    text = show_history(name, journal)
    if piece and common.entries:
        return f"{text}\n{show_history('common to all pieces', only_measurements(common))}"
    if not piece and pieces_of(part_path):
        return f"{text}\n{_pieces_words(part_path)}; endshake history {part_path} --piece NAME shows one\n"
    return text


def only_measurements(journal: Journal) -> Journal:
    """Return what a log has of the assembly, without the sizes of any workpiece."""
    names = {e.name for e in journal.entries if e.kind == "measurement"}
    found = (e for e in journal.entries if e.kind in ("measurement", "withdrawal") and e.name in names)
    return replace(journal, entries=tuple(found))
