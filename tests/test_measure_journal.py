"""The log: what was acknowledged is there, whatever is killed, cut short, or written at the same time."""

from __future__ import annotations

import json
import os
import random
import re
import resource
import signal
import sys
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import cam.lengths.journal as log
from cam.ground.problem import ProblemError
from cam.lengths.journal import Journal, append_record, journal_path, read_journal, split_readings

FRESH = count(1)
"""Numbers for files of their own (hypothesis seeds random anew for every example)."""

NOON = 1_792_324_800.0  # 2026-10-18, 12:00 UTC


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "arbor.log")


def record(place: str, value: str = "45.03 mm", name: str = "between plates", kind="measurement", **more):
    return append_record(place, kind=kind, name=name, value=value, **({"who": "anna", "clock": NOON} | more))


# What is kept -------------------------------------------------------------------------------------------------


def test_a_record_is_one_line_that_a_person_can_read(place):
    entry = record(place, "45.03 mm \N{PLUS-MINUS SIGN} 0.01")
    text = Path(place).read_text(encoding="utf-8")
    assert text.startswith(
        '{"n": 1, "time": "2026-10-18T12:00:00Z", "who": "anna", "kind": "measurement", "name": "between plates", '
        '"value": "45.03 mm \N{PLUS-MINUS SIGN} 0.01", "check": "'
    )
    assert text.count("\n") == 1
    assert json.loads(text)["n"] == 1
    assert read_journal(place).entries == (entry,)
    assert entry.line == 1


def test_a_later_record_stands_and_the_earlier_stays(place):
    first, second = record(place, "45.03 mm"), record(place, "45.05 mm")
    other = record(place, "7.56 mm", name="front seat", kind="actual")
    journal = read_journal(place)
    assert journal.entries == (first, second, other)
    assert [e.number for e in journal.entries] == [1, 2, 3]
    assert journal.standing == (second, other)
    assert str(second.where).endswith("arbor.log:2")


def test_a_log_that_is_not_there_has_no_entries(place):
    assert read_journal(place).entries == ()
    assert not Path(place).exists()


def test_who_and_when_are_taken_from_the_system_unless_said(place):
    before = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
    entry = append_record(place, kind="actual", name="x", value="1 mm")
    assert before <= entry.time <= time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
    assert entry.who


def test_no_name_of_the_user_is_no_hindrance(place, monkeypatch):
    for wrong in (lambda: "two\nlines", lambda: {}["nobody"]):
        monkeypatch.setattr("getpass.getuser", wrong)
        assert append_record(place, kind="actual", name="x", value="1 mm").who == "unknown"


@pytest.mark.parametrize(
    ("part", "name"), [("arbor.toml", "arbor.log"), ("a/b.c.toml", "a/b.c.log"), ("a.log", "a.log.log")]
)
def test_the_log_lies_beside_its_part(part, name):
    assert journal_path(part) == name


SIGNS = st.characters(exclude_categories=["C", "Z"]) | st.just(" ")
TEXTS = st.text(SIGNS, min_size=1, max_size=60).map(lambda t: t if t.strip() else "x")

DISK = settings(suppress_health_check=list(HealthCheck), max_examples=60, deadline=None)
"""The disk takes its time, and each example makes a file of its own in the one folder."""


@DISK
@given(st.lists(st.tuples(TEXTS, TEXTS, st.sampled_from(log.KINDS)), min_size=1, max_size=4))
def test_whatever_is_typed_is_read_back(tmp_path, rows):
    path = str(tmp_path / f"{next(FRESH)}.log")
    for name, value, kind in rows:
        append_record(path, kind=kind, name=name, value=value, who=name)
    journal = read_journal(path)
    assert [(e.name, e.value, e.kind) for e in journal.entries] == rows
    assert not journal.torn


def withdraw(place: str, entry, **more):
    return record(place, f"{entry.line}, check {entry.check}", entry.name, "withdrawal", **more)


def test_a_withdrawn_record_no_longer_stands_and_the_one_before_does_again(place):
    first, second, other = record(place, "45.03 mm"), record(place, "450.3 mm"), record(place, "7 mm", "seat", "actual")
    gone = withdraw(place, second)
    journal = read_journal(place)
    assert journal.entries == (first, second, other, gone)
    assert journal.standing == (first, other)
    assert journal.withdrawn == {2: gone}
    third = record(place, "45.05 mm")
    assert read_journal(place).standing == (other, third)


def test_a_withdrawal_is_withdrawn_like_any_record(place):
    first = record(place)
    gone = withdraw(place, first)
    assert read_journal(place).standing == ()
    again = withdraw(place, gone)
    assert read_journal(place).standing == (first,)
    assert read_journal(place).withdrawn == {2: again}
    withdraw(place, again)
    assert read_journal(place).standing == ()


def test_a_withdrawal_cut_at_any_byte_withdraws_or_does_not_and_hides_nothing(place):
    first, other = record(place), record(place, "46 mm", "other")
    withdraw(place, first)
    whole = Path(place).read_bytes()
    start = whole.rindex(b"{")
    for cut in range(start, len(whole) + 1):
        Path(place).write_bytes(whole[:cut])
        journal = read_journal(place)
        assert journal.standing == ((other,) if cut >= len(whole) - 1 else (first, other))
        assert [t.last for t in journal.torn] == [True] * (start < cut < len(whole) - 1)


def test_a_withdrawal_finds_its_record_by_its_check_wherever_it_stands_since(place):
    """An editor took a torn line away: lines have moved, and the right record is still the one withdrawn."""
    first, second = record(place, "45.03 mm"), record(place, "46 mm", "other")
    withdraw(place, second)
    lines = Path(place).read_bytes().splitlines(keepends=True)
    Path(place).write_bytes(lines[1] + lines[0] + lines[2])
    assert [e.value for e in read_journal(place).standing] == [first.value]
    record(place, "1, check 0123456789abcdef", kind="withdrawal")
    assert [e.value for e in read_journal(place).standing] == [first.value]


# What is refused ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", "  ", "two\nlines", "a\tb", "\x00", "\udcff", "x" * 201, "\N{LINE SEPARATOR}"])
def test_texts_that_make_no_line_are_refused(place, text):
    with pytest.raises(ProblemError) as caught:
        record(place, text, text)
    assert len(caught.value.problems) == 2
    assert not Path(place).exists()


def test_an_unknown_kind_is_refused(place):
    with pytest.raises(ProblemError, match="no such kind of record"):
        record(place, kind="guess")


def test_paths_that_are_no_file_are_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    for name in ("pipe", "folder", "missing/arbor.log", "nul\x00"):
        with pytest.raises(ProblemError):
            record(str(tmp_path / name))
    for name in ("pipe", "folder", "nul\x00"):
        with pytest.raises(ProblemError):
            read_journal(str(tmp_path / name))


def test_a_disk_that_is_full_loses_nothing_and_acknowledges_nothing(place):
    """With room for a third of the next line: the record is refused, the log reads, and goes on once there is room."""
    record(place)
    size = Path(place).stat().st_size

    def child() -> None:
        sys.dont_write_bytecode = True  # there is no room for what is compiled
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + size // 3, resource.RLIM_INFINITY))
        try:
            record(place, "46 mm")
        except ProblemError as error:
            os._exit(0 if "not safely kept" in str(error) else 2)
        os._exit(1)

    assert run(child).wait() == 0
    assert Path(place).stat().st_size == size + size // 3
    journal = read_journal(place)
    assert [e.value for e in journal.entries] == ["45.03 mm"]
    assert [t.last for t in journal.torn] == [True]
    record(place, "47 mm")
    assert [e.value for e in read_journal(place).entries] == ["45.03 mm", "47 mm"]


# Cut short, changed -------------------------------------------------------------------------------------------


def test_a_log_cut_at_any_byte_reads_and_goes_on(place):
    for value in ("45.03 mm", "7 \N{MICRO SIGN}m", "46 mm"):
        record(place, value)
    whole = Path(place).read_bytes()
    entries = read_journal(place).entries
    ends = [i for i in range(len(whole)) if whole[i : i + 1] == b"\n"]
    for cut in range(len(whole) + 1):
        Path(place).write_bytes(whole[:cut])
        journal = read_journal(place)
        kept = sum(end <= cut for end in ends)  # a line that lacks only its end is whole
        assert journal.entries == entries[:kept]
        unfinished = cut not in (0, *ends, *(end + 1 for end in ends))
        assert [t.last for t in journal.torn] == [True] * unfinished
        assert bool(journal.warnings()) == unfinished
        added = record(place, "new")
        again = read_journal(place)
        assert again.entries == (*entries[:kept], added)
        assert added.number == added.line == kept + unfinished + 1
        assert [t.last for t in again.torn] == [False] * unfinished


def test_a_block_of_noughts_after_a_crash_hides_nothing(place):
    first = record(place)
    with Path(place).open("ab") as file:
        file.write(b"\0" * 4096)
    second = record(place, "46 mm")
    journal = read_journal(place)
    assert journal.entries == (first, second)
    assert [(t.line, t.last) for t in journal.torn] == [(2, False)]


@DISK
@given(st.data())
def test_a_line_that_was_changed_is_told_and_hides_no_other(tmp_path, data):
    path = tmp_path / f"{next(FRESH)}.log"
    entries = [record(str(path), value) for value in ("45.03 mm", "46 mm", "47 mm")]
    content = bytearray(path.read_bytes())
    at = data.draw(st.integers(0, len(content) - 1).filter(lambda i: content[i] != 10))
    content[at] ^= data.draw(st.integers(1, 255).filter(lambda x: content[at] ^ x not in (10, 13)))
    path.write_bytes(content)
    line = content[:at].count(b"\n")
    journal = read_journal(str(path))
    assert journal.entries == tuple(e for i, e in enumerate(entries) if i != line)
    assert [t.line for t in journal.torn] == [line + 1]


@given(st.binary(max_size=400))
@DISK
def test_any_bytes_at_all_read_and_go_on(tmp_path, content):
    path = tmp_path / f"{next(FRESH)}.log"
    path.write_bytes(content)
    assert not read_journal(str(path)).entries
    added = record(str(path))
    assert read_journal(str(path)).entries == (added,)


def test_a_line_with_a_true_check_that_is_no_record_is_told(place):
    rows = [{"n": 1}, {"n": True, "time": "", "who": "", "kind": "actual", "name": "", "value": ""}, {}]
    Path(place).write_bytes(b"".join(log._line(dict(row)) for row in rows if row))
    assert len(read_journal(place).torn) == 2


def test_line_ends_of_another_system_are_taken(place):
    entries = (record(place), record(place, "46 mm"))
    Path(place).write_bytes(Path(place).read_bytes().replace(b"\n", b"\r\n"))
    added = record(place, "47 mm")
    assert read_journal(place).entries == (*entries, added)
    assert not read_journal(place).torn


# Killed, and written by several at once --------------------------------------------------------------------------


class Child:
    """A process of ours, and what it says: its acknowledgements, one line each."""

    def __init__(self, pid: int, ear: int) -> None:
        self.pid = pid
        self.ear = os.fdopen(ear)
        self.said: list[str] = []

    def hear(self, lines: int = 1) -> None:
        """Wait until it has said so much more, however long that takes."""
        for _ in range(lines):
            line = self.ear.readline()
            assert line, "it ended before it was killed"
            self.said.append(line.removesuffix("\n"))

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)

    def wait(self) -> int:
        self.ear.close()
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])

    def heard(self) -> list[str]:
        """All that it said up to its end."""
        return [*self.said, *self.ear.read().splitlines()]


def run(work: Callable[..., None], *arguments) -> Child:
    ear, mouth = os.pipe()
    pid = os.fork()
    if pid:
        os.close(mouth)
        return Child(pid, ear)
    try:
        os.close(ear)
        work(*(mouth, *arguments) if arguments else ())
    finally:
        os._exit(99)


def keep_recording(mouth: int, place: str, who: str) -> None:
    for number in count(1):
        record(place, f"{number} mm", f"name {who}", who=who)
        os.write(mouth, f"{number} mm\n".encode())


CRUMB = 9
"""Bytes that a system takes at a time which takes few."""


def keep_recording_in_crumbs(mouth: int, place: str, who: str) -> None:
    """As if the system took a few bytes at a time: a kill then leaves half a line behind, as a rule."""
    write = os.write
    os.write = lambda handle, data: write(handle, data if handle == mouth else bytes(data[:CRUMB]))
    keep_recording(mouth, place, who)


def record_until_killed(mouth: int, place: str, who: str, crumbs: int) -> None:
    """One record acknowledged; of the next so many crumbs written, and then it is killed."""
    record(place, "1 mm", f"name {who}", who=who)
    os.write(mouth, b"1 mm\n")
    write, left = os.write, count(crumbs, -1)

    def one(handle: int, data: bytes) -> int:
        if next(left) == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return write(handle, bytes(data[:CRUMB]))

    os.write = one
    record(place, "2 mm", f"name {who}", who=who)


def check_killed(place: str, rounds: int, writers: int, seed: int, work=keep_recording) -> None:
    """Kill all writers at random instants, again and again over one log.

    Each is killed after so many of its acknowledgements, so that a busy machine sees as many records as an idle one;
    what it is doing just then is left to chance.
    """
    chance = random.Random(seed)
    for turn in range(rounds):
        names = [f"{turn}.{n}" for n in range(writers)]
        children = [run(work, place, name) for name in names]
        for child in chance.sample(children, len(children)):
            child.hear(chance.randrange(1, 3))
            time.sleep(chance.uniform(0.0, 0.003))
            child.kill()
        said = dict(zip(names, (child.heard() for child in children), strict=True))
        assert all(child.wait() == -signal.SIGKILL for child in children)
        journal = read_journal(place)
        for name, acknowledged in said.items():
            kept = [e.value for e in journal.entries if e.name == f"name {name}"]
            assert kept[: len(acknowledged)] == acknowledged
            assert len(kept) <= len(acknowledged) + 1  # at most the one that was under way
        assert all(e.number == e.line for e in journal.entries)
        check_torn(journal, writers * (turn + 1))


def check_torn(journal: Journal, kills: int) -> None:
    """Half lines are told, no more than there were kills, and each is the beginning of a record, with nothing else."""
    assert len(journal.torn) <= kills
    assert len(journal.warnings()) == len(journal.torn)
    whole = b'{"n": 1, "time": "2026-10-18T12:00:00Z", "who": "'
    lines = Path(journal.path).read_bytes().split(b"\n")
    for torn in journal.torn:
        raw = lines[torn.line - 1]
        alike = re.sub(rb'^{"n": \d+', b'{"n": 1', raw)
        assert raw.count(b'{"n"') <= 1
        assert alike[: len(whole)] == whole[: len(alike)]
        assert b'"check": "' not in raw or len(raw.rpartition(b'"check": "')[2]) < len('0123456789abcdef"}')


def test_thirty_kills_lose_nothing_that_was_acknowledged(place):
    check_killed(place, rounds=10, writers=3, seed=4, work=keep_recording_in_crumbs)
    assert len(read_journal(place).entries) >= 30


@pytest.mark.slow
@pytest.mark.parametrize("work", [keep_recording_in_crumbs, keep_recording])
def test_a_hundred_kills_lose_nothing_that_was_acknowledged(place, work):
    """A kill can cut a line that is one write, where two pages of the system's memory meet; in crumbs it often does."""
    check_killed(place, rounds=35, writers=3, seed=3, work=work)
    assert len(read_journal(place).entries) >= 105


def test_a_line_cut_by_a_kill_after_any_crumb_is_told_and_never_mixed(place):
    """Every place at which a system that takes few bytes at a time can be cut short."""
    kept: list[tuple[str, str]] = []
    for crumbs in count():
        child = run(record_until_killed, place, f"{crumbs:02}", crumbs)
        child.hear()
        killed = child.wait() == -signal.SIGKILL
        kept.append((f"name {crumbs:02}", "1 mm"))
        last = Path(place).read_bytes().rstrip(b"\n").rpartition(b"\n")[2]
        if b'"value": "2 mm"' in last and last.endswith(b'"}'):  # whole, but for the end of its line at the most
            kept.append((f"name {crumbs:02}", "2 mm"))
        journal = read_journal(place)
        assert [(e.name, e.value) for e in journal.entries] == kept
        if not killed:
            break
    assert crumbs > 14
    assert len(journal.torn) == crumbs - 1 - (kept[-3][1] == "2 mm")  # nothing was cut by the first, all by the others
    check_torn(journal, crumbs)


def some_records(mouth: int, place: str, who: str) -> None:
    for number in range(25):
        record(place, f"{number} mm", f"name {who}", who=who)
    os.write(mouth, b"done\n")
    os._exit(0)


def test_writers_at_once_take_turns(place):
    children = [run(some_records, place, str(n)) for n in range(4)]
    assert all(child.heard() == ["done"] for child in children)
    assert all(child.wait() == 0 for child in children)
    journal = read_journal(place)
    assert [e.number for e in journal.entries] == list(range(1, 101))
    assert not journal.torn
    for n in range(4):
        assert [e.value for e in journal.entries if e.name == f"name {n}"] == [f"{number} mm" for number in range(25)]


def test_a_reader_waits_for_a_line_that_is_being_written(place):
    """Lines that come in crumbs are never seen half by a reader that can lock."""
    child = run(keep_recording_in_crumbs, place, "slow")
    try:
        for _ in range(50):
            child.hear()
            assert not read_journal(place).torn
    finally:
        child.kill()
        child.wait()


def test_a_log_exchanged_by_an_editor_meanwhile_is_opened_anew(place, monkeypatch):
    """The file is replaced between opening and locking: the record goes to the one that is there now."""
    record(place)
    lock, done = log.take_lock, []

    def exchange(handle: int, *, shared: bool = False) -> None:
        lock(handle, shared=shared)
        if not done:
            done.append(True)
            copy = Path(place).with_suffix(".new")
            copy.write_bytes(Path(place).read_bytes())
            copy.replace(place)

    monkeypatch.setattr(log, "take_lock", exchange)
    record(place, "46 mm")
    assert [e.value for e in read_journal(place).entries] == ["45.03 mm", "46 mm"]


@pytest.mark.parametrize("answer", ["another file", "no file"])
def test_a_disk_that_never_gives_the_same_file_twice_is_told_and_not_asked_for_ever(place, monkeypatch, answer):
    real = os.stat

    def stat(path, *more, **named):
        if str(path) != place:
            return real(path, *more, **named)
        if answer == "no file":
            raise FileNotFoundError(2, "gone", place)
        return os.stat_result((*real(path)[:1], 999_999, *real(path)[2:]))

    before = len(list(Path("/proc/self/fd").iterdir()))
    monkeypatch.setattr(os, "stat", stat)
    with pytest.raises(ProblemError, match="never gives the same file twice") as caught:
        record(place)
    assert "copy part file and log to a disk of this computer" in caught.value.problems[0].fix
    assert len(list(Path("/proc/self/fd").iterdir())) == before
    monkeypatch.undo()
    assert not read_journal(place).entries


def test_a_log_that_is_far_too_long_is_neither_read_nor_added_to(place):
    record(place)
    os.truncate(place, log.MOST_BYTES + 1)
    for act in (lambda: record(place, "46 mm"), lambda: read_journal(place)):
        with pytest.raises(ProblemError, match="this log is too large to be right"):
            act()
    assert Path(place).stat().st_size == log.MOST_BYTES + 1


def test_without_locks_a_record_is_still_kept(place, monkeypatch):
    monkeypatch.setattr("cam.ground.files.flock", None)
    record(place)
    record(place, "46 mm")
    assert [e.number for e in read_journal(place).entries] == [1, 2]


def test_file_and_folder_are_synced_before_a_record_is_acknowledged(place, monkeypatch):
    synced = []
    sync = os.fsync

    def watch(handle: int) -> None:
        synced.append("folder" if Path(f"/proc/self/fd/{handle}").is_dir() else "file")
        sync(handle)

    monkeypatch.setattr(os, "fsync", watch)
    record(place)
    assert synced == ["file", "folder"]


def test_a_line_is_one_write_at_the_end_of_the_file(place, monkeypatch):
    record(place)
    written = []
    write = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: written.append(bytes(data)) or write(handle, data))
    before = Path(place).read_bytes()
    record(place, "46 mm")
    assert len(written) == 1
    assert Path(place).read_bytes() == before + written[0]


# Several readings -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("value", "readings"), [
    ("45.03 mm", ("45.03 mm",)), ("45.02; 45.03; 45.04 mm", ("45.02 mm", "45.03 mm", "45.04 mm")),
    ("45.02 mm, 45.03 mm", ("45.02 mm", "45.03 mm")), ("1 1/8 in; 1.126 in", ("1 1/8 in", "1.126 in")),
    ("45,03 mm", ("45,03 mm",)), ("1 1/8; 1 9/64 in", ("1 1/8 in", "1 9/64 in")), ("45; 46", ("45", "46")), (";", ()),
])  # fmt: skip
def test_readings_are_parted(value, readings):
    assert split_readings(value) == readings
