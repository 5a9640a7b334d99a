"""What the log beside a part file may hold, by name, and what its records come to.

A name is that of a measurement, or of a section or span with what was measured of it:

    between plates                 a measurement of the part file
    front pivot diameter           of the finished section
    front seat length              between its two faces
    front seat shoulder            from the finished end of the part to the shoulder that the section ends in
    frame span                     between the two shoulders of a span, over all
    front pivot stop diameter      read at the stop between its last two cuts
    front seat stop shoulder       the same, from Z zero to its shoulder

A length is that of the finished part: whoever reads it before stone or burnisher took off what turning leaves on a face
of it records it as it will be then.

What a stop's reading is used for is kept with it: either the next program corrects the last cut on its section by it,
or a zero that is off was set at the control, or it is for the notebook alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal
from cam.ground.quantity import Quantity
from cam.ground.source.table import closest, did_you_mean
from cam.ground.units import LENGTH, QuantityError, is_inch, parse
from cam.lengths.figures import LengthFigures
from cam.lengths.journal import Entry, Journal, RecordKind, journal_path, read_journal, split_readings
from cam.lengths.sums import EXAMPLE, check_distance, read_sum, split_sum
from cam.part.checks import is_groove_of
from cam.part.model import Section
from cam.part.read_spans import parse_value
from cam.part.spans import Along, Measurement, Span, added, mean_of

What = Literal["measurement", "length", "diameter", "shoulder", "span", "stop diameter", "stop shoulder"]

Use = Literal["last cut", "zero", "notebook"]
USES: dict[Use, str] = {"last cut": "", "zero": "the control set", "notebook": "for the notebook"}
"""The uses of a stop's reading, and the words that stand for each in the log."""

USE_OF: dict[str, Use] = {words: use for use, words in USES.items()}

EXPECTED = ", expected "
"""The words that separate a gauging stop's reading from what the program should have left there, recorded with it."""

SURE = ", sure"
"""The end of a value that was kept though it is far from what is likely: somebody said that it is so."""

READ = 0.02
"""The uncertainty of a size of the part that has no limits of its own, mm: a vernier's. Common practice, no source."""

FAR_OFF = 0.1
"""The share of a size by which its record may differ before it is another part's. Common practice, no source."""


class Target(Row):
    """A thing that can be recorded.

    Attributes:
        kind: the kind of record.
        what: which size of it.
        of: name of the measurement, section or span.
        start, end: the faces between which a length lies, from the A end; -1 for what is no length.
        about: its size as wanted, mm; nan where that says nothing.
        where: the line of the part file that has it.
        along: what the part file adds to it or takes off.
    """

    kind: RecordKind
    what: What
    of: str
    start: int
    end: int
    about: float
    where: Where
    along: tuple[Along, ...] = ()


class Actual(Row):
    """A record as read.

    Attributes:
        target: what was recorded.
        value: mean of its readings, plus and less what goes with them, mm.
        half: plus-minus limit as typed, mm; nan if none.
        readings: mm.
        text: as typed.
        name: as typed.
        where: its line in the log.
        expected: what the program should have left there, mm, for a gauging stop's reading; otherwise nan.
        use: what a gauging stop's reading is used for.
        along: what is plus or less the readings.
    """

    target: Target
    value: float
    half: float
    readings: tuple[Quantity, ...]
    text: str
    name: str
    where: Where
    expected: float = math.nan
    use: Use = "last cut"
    along: tuple[Along, ...] = ()

    @property
    def whole_half(self) -> float:
        """Return its worst error, with all that is plus or less it, plus-minus mm; nan where none is typed."""
        return math.fsum([self.half, *(a.uncertainty.half for a in self.along)])

    @property
    def strange(self) -> Problem | None:
        """Return the problem with a size of the part that is so far off that it is another part's, or None.

        At a stop there is more than the section's own size: what its program leaves there.
        """
        about = self.target.about if math.isnan(self.expected) else self.expected
        room = max(FAR_OFF * about, 0.5 if "diameter" in self.target.what else 1.0)
        if not abs(self.value - about) > room:  # nan too
            return None
        said = LengthFigures("in" if is_inch(self.text) else "mm")
        allowed = said.between(max(about - room, 0.0), about + room)
        fix = "check the unit and the name; a section that truly came out so is scrap, or another part"
        return problem(self.where, f'"{self.name}" is far from what it should be', f'"{self.text}"', allowed, fix)


@frozen
class Records:
    """The log of a part, or of one of several pieces; the readings of the assembly are then common to all.

    Attributes:
        path: that of the log.
        digest: SHA-256 of its bytes, after those of the common log where there is one.
        journals: all logs that it is made of, the common one first.
        standing: the records that are neither withdrawn nor superseded, in the order of the log.
    """

    path: str
    digest: str
    journals: tuple[Journal, ...]
    standing: tuple[Entry, ...]

    def latest(self, name: str) -> Entry | None:
        """Return the record of that name that stands, or None if there is none."""
        return next((e for e in reversed(self.standing) if e.name == name), None)

    @property
    def files(self) -> str:
        """Return the names of the logs that hold anything."""
        return " and ".join(Path(j.path.replace("\\", "/")).name for j in self.journals if j.entries or j.torn)

    def warnings(self) -> tuple[Problem, ...]:
        """Warn of lines that are no records."""
        return tuple(w for journal in self.journals for w in journal.warnings())


def read_records(part_path: str, piece: str = "") -> Records | None:
    """Read the log beside a part file; None if there is none.

    Args:
        piece: name of one of several workpieces; its own log is read, and what the common log has of the assembly.

    Raises:
        ProblemError: it is no plain file, or the system refuses.
    """
    paths = [journal_path(part_path, name) for name in dict.fromkeys(("", piece))]
    *common, own = journals = tuple(read_journal(path) for path in paths)
    if not any(j.entries or j.torn for j in journals):
        return None
    shared = (e for journal in common for e in journal.standing if e.kind == "measurement")
    digest = sha256(b"".join(_content(path) for path in paths)).hexdigest()
    return Records(path=paths[-1], digest=digest, journals=journals, standing=(*shared, *own.standing))


def _content(path: str) -> bytes:
    """Return the bytes of a log, which was asked and read as one just now; none where there is none."""
    try:
        return Path(path).read_bytes()
    except FileNotFoundError:
        return b""
    except OSError as fault:
        raise refusal(path, "this log cannot be read") from fault


def targets(
    sections: tuple[Section, ...], measurements: Iterable[Measurement], spans: Iterable[Span]
) -> dict[str, Target]:
    """Return everything that can be recorded of a part, by name; a measurement goes before others of its name."""
    found: dict[str, Target] = {}

    def add(
        name: str, kind: RecordKind, what: What, of: Measurement | Span | Section, ends: tuple[int, int] = (-1, -1)
    ) -> None:
        about = math.nan
        if ends[0] >= 0:
            about = sections[ends[1] - 1].end - sections[ends[0]].start
        elif isinstance(of, Section) and "diameter" in what:
            about = float(of.diameter_a)
        along = of.along if isinstance(of, Measurement) else ()
        found.setdefault(name, Target(kind, what, of.name, *ends, about, of.where, along))

    for m in measurements:
        add(m.name, "measurement", "measurement", m)
    names = [s.name for s in sections]
    for span in spans:
        if span.first in names and span.last in names:
            add(f"{span.name} span", "actual", "span", span, span.faces(names))
    for at, s in enumerate(sections):
        add(f"{s.name} length", "actual", "length", s, (at, at + 1))
        if s.as_stock:
            continue
        if not s.is_taper:  # that has another diameter at every place, and no reading of a stop corrects it
            add(f"{s.name} diameter", "actual", "diameter", s)
            add(f"{s.name} stop diameter", "stop reading", "stop diameter", s)
        if shoulder := _shoulder_at(sections, at):
            add(f"{s.name} shoulder", "actual", "shoulder", s, shoulder)
        if shoulder and not s.is_taper:
            add(f"{s.name} stop shoulder", "stop reading", "stop shoulder", s)
    return found


def with_limits(actual: Actual, sections: Iterable[Section]) -> tuple[Section, float, float] | None:
    """Return the section of a recorded diameter with its least and most, mm; None where it has no limits."""
    if actual.target.what != "diameter":
        return None
    own = (s for s in sections if s.name == actual.target.of and not s.is_taper)
    limited = ((s, s.tolerance) for s in own if s.tolerance is not None)
    return next(((s, s.diameter_a + t.lower, s.diameter_a + t.upper) for s, t in limited), None)


def _shoulder_at(sections: tuple[Section, ...], at: int) -> tuple[int, int] | None:
    """Return the faces from a finished end to the shoulder in which a section ends; None where it ends in none.

    Past a groove that is its undercut, the shoulder is the groove's far wall.
    """
    sizes = [s.thickest for s in sections]
    top = sizes.index(max(sizes))
    if at == top:
        return None
    toward = 1 if at < top else -1
    beyond = at + toward
    if is_groove_of(sections, beyond) and sizes[beyond + toward] >= sizes[at]:
        beyond += toward
    elif not _side(sections[beyond], -toward) > _side(sections[at], toward):
        return None
    return (0, beyond) if toward > 0 else (beyond + 1, len(sections))


def _side(section: Section, toward: int) -> float:
    """Return the diameter of a section at its B side (toward 1) or its A side (-1), mm."""
    return float(section.diameter_b if toward > 0 else section.diameter_a)


def left_on_faces(sections: Sequence[Section], target: Target) -> float:
    """Return how much longer a length becomes once what turning leaves on its faces is off, mm; below zero if shorter.

    A record of a finished length counts as read after that.
    """
    if target.start < 0:
        return 0.0
    return _moves(sections, target.end) - _moves(sections, target.start)


def _moves(sections: Sequence[Section], face: int) -> float:
    """Return how far a face still moves toward the B end by what turning leaves on it, mm; below zero to the A end."""
    if not 0 < face < len(sections):
        return 0.0
    before, after = sections[face - 1], sections[face]
    rise = after.diameter_a - before.diameter_b
    return float(before.finish.on_face) if rise > 0 else -float(after.finish.on_face) if rise < 0 else 0.0


def find_target(name: str, known: dict[str, Target], where: Where, sections: Iterable[Section] = ()) -> Target:
    """Find the thing of that name; sections: of the part, where it is asked for now.

    Raises:
        ProblemError: there is none; the message says which there are.
    """
    if name in known:
        return known[name]
    tapers = [s.name for s in sections if s.is_taper]
    if any(name in (f"{taper} diameter", f"{taper} stop diameter") for taper in tapers):
        what = "no diameter of a taper can be recorded: it has another at every place"
        raise refusal(where, what, given=f'"{name}"', fix="set X by what it reads, as its stop or MEASURE says")
    if any(name == f"{taper} stop shoulder" for taper in tapers):
        what = "no stop's reading of a taper can be recorded"
        raise refusal(where, what, given=f'"{name}"', fix="set Z by what it reads, as its stop or MEASURE says")
    near = closest(name, known)
    fix = did_you_mean(near) or "use one of these names, in quotes"
    allowed = "" if near else ", ".join(f'"{n}"' for n in known)
    what = "nothing of this name can be recorded for this part"
    raise refusal(where, what, given=f'"{name}"', allowed=allowed, fix=fix)


def read_actual(name: str, value: str, target: Target, where: Where) -> Actual:
    """Read a record's value as numbers.

    Raises:
        ProblemError: it is unreadable, or so far off that it is another part's and nobody said that it is so.
    """
    sure, value = value.endswith(SURE), value.removesuffix(SURE)
    value, _, told = value.partition(EXPECTED)
    expected, _, used = told.partition(", ")
    try:
        plain, typed = split_sum(value)
        readings, half = parse_value(plain, split_readings)
        along = read_sum(typed, target.along, split_readings, where)
        planned = parse(expected, LENGTH, least=0.0, over=True) if target.kind == "stop reading" else math.nan
    except QuantityError as error:
        sum_tried = f"for a sum write {EXAMPLE}" if re.search(r"[0-9a-z] [-+] [0-9]", value) else ""
        words = {"given": f'"{value}"', "allowed": error.allowed, "fix": error.fix or sum_tried}
        raise refusal(where, f'"{name}": {error.what}', **words) from None
    use = USE_OF.get(used)
    if use is None:
        what, allowed = f'"{name}": readings alone are given here', "readings with their unit, as 8.04; 8.05 mm"
        raise refusal(where, what, given=f'"{value}{EXPECTED}{told}"', allowed=allowed)
    kept = tuple(Quantity(v, text, where) for v, text in readings)
    size = mean_of(kept) + added(along)
    actual = Actual(target, size, half, kept, value.strip(), name, where, planned, use, along)
    problems = list(check_distance(name, size, value.strip(), where))
    if not sure and actual.strange is not None:
        problems.append(actual.strange)
    if problems:
        raise ProblemError(problems)
    return actual


def show_history(part_name: str, journal: Journal) -> str:
    """Show the log as a page for the notebook, in plain text, line by line; what no longer stands is marked."""
    lines = [f"{part_name}: what was measured, cut and read off", f"log {journal.path}", ""]
    rows = [("line", "when, UTC", "who", "what", "value", "")]
    gone, standing = journal.withdrawn, {(e.kind, e.name): e for e in journal.standing}
    for e in journal.entries:
        when = e.time.replace("T", " ").removesuffix("Z")
        value = "withdrawn" if e.kind == "withdrawal" else e.value
        rows.append((str(e.line), when, e.who, e.name, value, _mark(e, gone, standing)))
    widths = [max(len(row[i]) for row in rows) for i in range(6)]
    lines += ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]
    if not journal.entries:
        lines[2:] = ["", "nothing is recorded yet"]
    lines += [f"line {t.line} is no whole record: {t.text}" for t in journal.torn]
    return "\n".join(lines) + "\n"


def _mark(entry: Entry, gone: dict[int, Entry], standing: dict[tuple[RecordKind, str], Entry]) -> str:
    """Say what became of a record, or what a withdrawal withdraws."""
    if entry.line in gone:
        return f"withdrawn by line {gone[entry.line].line}"
    if entry.kind == "withdrawal":
        of = ", ".join(str(line) for line, by in sorted(gone.items()) if by is entry)
        return f"withdraws line {of}" if of else "withdraws nothing that stood"
    by = standing[entry.kind, entry.name]
    return "" if by is entry else f"superseded by line {by.line}"
