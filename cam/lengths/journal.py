"""The log beside a part file: what was measured, cut and read off, as it came, kept for good.

One line for each record, in JSON, so that a program and a person can read it:

    {"n": 3, "time": "2026-10-17T09:30:12Z", "who": "anna", "kind": "measurement", "name": "between plates",
     "value": "45.03 mm", "check": "0f3a..."}

(on one line). Lines are only ever added, and a record's number is that of its line. A later record of the same name
replaces the earlier one, which stays in the log. A record that is wrong is withdrawn by a line of its own, of kind
"withdrawal", whose value names line and check of what it withdraws; a withdrawal can be withdrawn likewise.
The check is the beginning of the SHA-256 of all that comes before it in the line. A line that was only half written
when the machine stopped, or changed since, is thus known for what it is and never hides the others.

A record is acknowledged (`append_record` returns) only once the system says that line and folder are on the
disk. A kill may cut a line that was being written, though it is one write: the system takes a write page by page and
looks for a kill between them. Such a line was never acknowledged; it is reported, and the next record begins a line of
its own. Writers take turns by a lock on the log itself, which ends with its process. Where the system has no such
lock (not POSIX, some network disks), a line is still added by one write at the end of the file, but two at once may
take the same number; their order in the file counts.
"""

from __future__ import annotations

import getpass
import hashlib
import json
import os
import re
import stat
import time
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Literal, get_args

from cam.ground.files import sync_folder, take_lock
from cam.ground.frozen import Row, frozen
from cam.ground.inputs import fault_words, open_flag
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal

RecordKind = Literal["measurement", "actual", "stop reading", "withdrawal"]
KINDS: tuple[RecordKind, ...] = get_args(RecordKind)
"""measurement: taken on the assembly. actual: size of a finished length or diameter. stop reading: at a gauging stop.
withdrawal: of an earlier record, which no longer counts.
"""

MOST_TEXT = 200
"""The most characters in a name or a value."""
MOST_BYTES = 20_000_000
"""The size in bytes of the largest log that is read; a record has some two hundred."""
MOST_TRIES = 100
"""How often the log is opened again because another file has taken its name. An editor does so once."""

_CHECK = re.compile(rb'(.*), "check": "([0-9a-f]{16})"\}', re.DOTALL)
_PIECE = ".piece-"
_WITHDRAWN = re.compile(r"[0-9]+, check ([0-9a-f]{16})")
_KEYS = ("n", "time", "who", "kind", "name", "value")


class Entry(Row):
    """One record of the log.

    Attributes:
        number: that of its line, unless the log was edited since.
        time: UTC, "2026-10-17T09:30:12Z".
        who: user name.
        kind: one of KINDS.
        name: of what was measured.
        value: text as typed.
        line: its line in the log, from 1.
        check: that of the line, 16 hexadecimal digits.
        path: that of the log.
    """

    number: int
    time: str
    who: str
    kind: RecordKind
    name: str
    value: str
    line: int
    check: str
    path: str

    @property
    def where(self) -> Where:
        """Return its line, for messages."""
        return Where(path=self.path, line=self.line)


class Torn(Row):
    """A line that is no record: it was only half written, or changed since.

    Attributes:
        line: its line in the log, from 1.
        text: what can be shown of it.
        last: whether it ends the log, unfinished.
    """

    line: int
    text: str
    last: bool


@frozen
class Journal:
    """A log as read.

    Attributes:
        path: as named.
        entries: in the order in which they came.
        torn: lines that are no records.
    """

    path: str
    entries: tuple[Entry, ...]
    torn: tuple[Torn, ...]

    @property
    def withdrawn(self) -> dict[int, Entry]:
        """Return line of each withdrawn record -> the withdrawal, which is not withdrawn itself."""
        found: dict[int, Entry] = {}
        lines: dict[str, list[int]] = {}
        for entry in self.entries:
            lines.setdefault(entry.check, []).append(entry.line)
        for entry in reversed(self.entries):
            named = _WITHDRAWN.fullmatch(entry.value) if entry.kind == "withdrawal" else None
            if named and entry.line not in found:
                found |= {line: entry for line in lines.get(named[1], ()) if line < entry.line}
        return found

    @property
    def standing(self) -> tuple[Entry, ...]:
        """Return the records that are neither withdrawn nor superseded, in order."""
        gone = self.withdrawn
        live = [e for e in self.entries if e.kind != "withdrawal" and e.line not in gone]
        latest = {(e.kind, e.name): e for e in live}
        return tuple(e for e in live if latest[e.kind, e.name] is e)

    def warnings(self) -> tuple[Problem, ...]:
        """Warn of lines that are no records."""
        return tuple(
            Problem(
                where=Where(path=self.path, line=t.line),
                what="this line was only half written when its run was stopped"
                if t.last
                else "this line is no record: half written, or changed since",
                given=t.text,
                fix="it was not taken; record the value again if it is missing",
            )
            for t in self.torn
        )


def journal_path(part: str, piece: str = "") -> str:
    """Return the log beside a part file: "arbor.toml" -> "arbor.log", or for one of several pieces "arbor.piece-2.log".

    Args:
        piece: name of the workpiece; "" for the log that has the readings of the assembly.

    Raises:
        ProblemError: part is no name of a file, or piece is none that a file could have on every system.
    """
    path = Path(part)
    if not path.name:
        what, allowed = "is no name of a file", "a part file, for example arbor.toml"
        raise refusal(part or '""', what, allowed=allowed)
    if piece:
        other = path.with_name(f"{path.stem}{_PIECE}{name_of_piece(piece)}.toml")
        if os.path.lexists(other):
            what, fix = "the log of this piece would be another part file's", "call the piece, or that file, otherwise"
            raise refusal("--piece", what, given=str(other), fix=fix)
        return str(other.with_suffix(".log"))
    return str(path.with_name(path.name + ".log") if path.suffix == ".log" else path.with_suffix(".log"))


def name_of_piece(text: str) -> str:
    """Return the name of a workpiece in small letters, as some systems do not tell capitals apart.

    Raises:
        ProblemError: it could not be part of a file's name on every system.
    """
    name = text.strip().lower()
    if not re.fullmatch(r"[a-z0-9](?:[a-z0-9_-]{0,18}[a-z0-9])?", name):
        what, allowed = "this is no name for a piece", "1 to 20 letters and digits, - or _ between them: 2, left-hand"
        given = _show(text.encode(errors="replace"))
        raise refusal("--piece", what, given=f'"{given}"', allowed=allowed)
    return name


def pieces_of(part: str) -> tuple[str, ...]:
    """Return the names of a part's workpieces that have a log, sorted."""
    path = Path(part)
    lead = path.stem + _PIECE
    found = [p.name[len(lead) : -len(".log")] for p in path.parent.glob("*.log") if p.name.startswith(lead)]
    return tuple(sorted(found))


def pieces_beside(part: str, piece: str) -> tuple[str, ...]:
    """Return the workpieces that have a log where this one, which is named, has none; () otherwise."""
    known = pieces_of(part) if piece else ()
    return known if known and name_of_piece(piece) not in known else ()


def piece_of(log: str) -> str:
    """Return the workpiece to which a log belongs, or "" for none."""
    return Path(log).name.rpartition(_PIECE)[2].removesuffix(".log") if _PIECE in Path(log).name else ""


def said_of(piece: str) -> str:
    """Return the option that names a piece, for the end of a command."""
    return f" --piece {piece}" if piece else ""


def how_to_withdraw(part: str, lines: Iterable[Where]) -> str:
    """Say what to do about wrong records, for the end of a message; lines are those of the log."""
    commands = [
        f"endshake record {part} --withdraw {w.line}{said_of('' if w.path == journal_path(part) else piece_of(w.path))}"
        for w in lines
    ]
    return f"a wrong record is withdrawn: {' or '.join(commands)}"


def split_readings(value: str) -> tuple[str, ...]:
    """Split several readings typed as one value, "45.02; 45.03; 45.04 mm", each with its unit.

    They are separated by semicolons, or by commas with a space after them; readings without a unit take that of the
    last. A text without such signs is one reading. Nothing else is checked here.
    """
    parts = [part.strip() for part in re.split(r";|,\s", value) if part.strip()]
    unit = re.sub(r"^[-+]?[0-9./ \t]+", "", parts[-1]) if parts else ""
    return tuple(f"{part} {unit}" if re.fullmatch(r"[-+]?[0-9./ \t]+", part) and unit else part for part in parts)


def append_record(
    path: str, *, kind: RecordKind, name: str, value: str, who: str = "", clock: float | None = None
) -> Entry:
    """Add a record to a log, which is made if there is none yet; return once the record is safe on the disk.

    Args:
        path: that of the log, see `journal_path`; its folder must be there.
        name, value: one line of at most MOST_TEXT characters each; the value is as typed and is not read here.
        who: user name; "" for the one that the system knows.
        clock: seconds since 1970, UTC; None for now.

    Raises:
        ProblemError: a text cannot be kept, the path is no plain file, or the system refuses. The record must then
            not be taken as kept.
    """
    who = who or _user()
    problems = list(_check_texts(path, kind=kind, name=name, value=value, who=who))
    if problems:
        raise ProblemError(problems)
    try:
        handle = _open_locked(path)
        try:
            _ask(handle, path)
            before = _read_all(handle)
            journal = _parse(before, path)
            start = b"" if not before or before.endswith(b"\n") else b"\n"
            at = before.count(b"\n") + len(start) + 1
            number = max(at, max((e.number for e in journal.entries), default=0) + 1)
            when = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(clock))
            row = (number, when, who, kind, name, value)
            line = _line(dict(zip(_KEYS, row, strict=True)))
            entry = _entry(line[:-1], at, path)
            assert entry is not None, "what is written can be read"
            _write_all(handle, start + line)
            os.fsync(handle)
        finally:
            os.close(handle)
        sync_folder(Path(path).resolve().parent)
    except (OSError, ValueError) as fault:
        raise ProblemError([_not_kept(path, fault)]) from fault
    return entry


def read_journal(path: str) -> Journal:
    """Read a log; one that does not exist yet has no entries.

    It never fails for what the log holds: a line that is no record is reported in `torn`.

    Raises:
        ProblemError: it is no plain file, or the system refuses.
    """
    try:
        handle = os.open(path, os.O_RDONLY | open_flag("O_NONBLOCK") | open_flag("O_BINARY"))
    except FileNotFoundError:
        return Journal(path=path, entries=(), torn=())
    except (OSError, ValueError) as fault:
        raise ProblemError([_not_read(path, fault)]) from fault
    try:
        _ask(handle, path)
        take_lock(handle, shared=True)
        return _parse(_read_all(handle), path)
    except OSError as fault:
        raise ProblemError([_not_read(path, fault)]) from fault
    finally:
        os.close(handle)


def _parse(content: bytes, path: str) -> Journal:
    entries: list[Entry] = []
    torn: list[Torn] = []
    lines = content.split(b"\n")
    for number, raw in enumerate(lines, 1):
        if not raw.strip():
            continue
        entry = _entry(raw.removesuffix(b"\r"), number, path)
        if entry is not None:
            entries.append(entry)
        else:
            torn.append(Torn(number, _show(raw), number == len(lines)))
    return Journal(path=path, entries=tuple(entries), torn=tuple(torn))


def _entry(raw: bytes, line: int, path: str) -> Entry | None:
    """Read the record of a line; None if it is not a record that is complete and unchanged."""
    found = _CHECK.fullmatch(raw)
    if not found or _checksum(found[1]) != found[2]:
        return None
    try:
        row = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    number, when, who, kind, name, value = (row.get(key) for key in _KEYS)
    texts = (when, who, name, value)
    if type(number) is not int or not all(isinstance(t, str) for t in texts) or kind not in KINDS:
        return None
    return Entry(number, when, who, kind, name, value, line, found[2].decode(), path)


def _line(row: dict[str, object]) -> bytes:
    body = json.dumps(row, ensure_ascii=False)[:-1].encode()
    return body + b', "check": "' + _checksum(body) + b'"}\n'


def _checksum(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest()[:16].encode()


def _open_locked(path: str) -> int:
    """Open the log for adding and wait for its lock; open it again if it was replaced meanwhile, as editors do."""
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | open_flag("O_NONBLOCK") | open_flag("O_BINARY")
    for _ in range(MOST_TRIES):
        handle = os.open(path, flags, 0o666)
        try:
            take_lock(handle)
            ours = os.fstat(handle)
            with suppress(FileNotFoundError):
                there = os.stat(path)  # noqa: PTH116 - beside fstat
                if (ours.st_dev, ours.st_ino) == (there.st_dev, there.st_ino):
                    return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)
    raise refusal(
        _place(path),
        "the record is not kept: the system never gives the same file twice under this name",
        given=f"another file each time that it was opened, {MOST_TRIES} times",
        fix="copy part file and log to a disk of this computer and record there; some network disks answer so",
    )


def _read_all(handle: int) -> bytes:
    os.lseek(handle, 0, os.SEEK_SET)
    pieces = []
    while piece := os.read(handle, 1 << 20):
        pieces.append(piece)
    return b"".join(pieces)


def _write_all(handle: int, data: bytes) -> None:
    """Write all data, as a rule in one write; more are made only where the system takes less (a disk nearly full)."""
    while data:
        data = data[os.write(handle, data) :]


def _user() -> str:
    with suppress(KeyError, OSError, ImportError):
        name = getpass.getuser()
        if name.strip() and name.isprintable() and len(name) <= MOST_TEXT:
            return name
    return "unknown"


def _check_texts(path: str, *, kind: str, **texts: str) -> list[Problem]:
    where = _place(path)
    found = []
    if kind not in KINDS:
        found.append(Problem(where=where, what="there is no such kind of record", given=kind, allowed=", ".join(KINDS)))
    for key, text in texts.items():
        if not text.strip() or not text.isprintable() or len(text) > MOST_TEXT:
            allowed = f"one line of 1 to {MOST_TEXT} characters that can be printed"
            shown = _show(text.encode(errors="replace"))
            found.append(Problem(where=where, what=f"this {key} cannot be recorded", given=shown, allowed=allowed))
    return found


def _ask(handle: int, path: str) -> None:
    """Refuse what is no plain file, or too long to be a log."""
    found, where = os.fstat(handle), _place(path)
    if not stat.S_ISREG(found.st_mode):
        fix = "move away what has its name"
        raise refusal(where, "a log must be a plain file", fix=fix)
    if found.st_size > MOST_BYTES:
        what, given = "this log is too large to be right", f"{found.st_size} bytes"
        fix = "move it away, and begin one for each workpiece"
        raise refusal(where, what, given=given, allowed=f"at most {MOST_BYTES}", fix=fix)


def _not_kept(path: str, fault: Exception) -> Problem:
    fix = "put right what the system says, then look at the log and record it again if it is missing"
    return problem(_place(path), "the record is not safely kept", fault_words(fault), fix=fix)


def _not_read(path: str, fault: Exception) -> Problem:
    given = fault_words(fault)
    return Problem(where=_place(path), what="this log cannot be read", given=given)


def _place(path: str) -> Where:
    """Return the log as a whole, as a message can name it."""
    return Where(path=_show(os.fsencode(path)))


def _show(raw: bytes) -> str:
    text = raw[:120].decode(errors="replace").strip()
    return "".join(sign if sign.isprintable() else "?" for sign in text) + ("..." if len(raw) > 120 else "")
