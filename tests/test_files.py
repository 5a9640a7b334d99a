"""Files are whole or not there, and what the user made or changed stays."""

from __future__ import annotations

import hashlib
import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest

import cam.ground.files
from cam.ground.files import RECORD, seal_record, write_file, write_folder
from cam.ground.problem import ProblemError
from tests.killed import run_killed, steps_of

OLD = {"setting-1.ngc": b"old 1\n" * 2000, "setting-2.ngc": b"old 2\n" * 2000}
NEW = {"setting-1.ngc": b"new 1\n" * 2000, "summary.txt": b"new\n" * 2000}
ABOUT = {"format": "test", "name": "Gr\u00f6\u00dfe \u2205"}


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def says(problem_error: pytest.ExceptionInfo[ProblemError]) -> str:
    return str(problem_error.value)


@pytest.fixture(params=["one step", "two renames"])
def either_way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both ways to swap, whatever this system can do."""
    if request.param == "two renames":
        monkeypatch.setattr(cam.ground.files, "_exchange", lambda one, other: False)
    return str(request.param)


def test_a_first_set_is_all_there_with_its_hashes(tmp_path: Path) -> None:
    folder = tmp_path / "build" / "arbor"
    assert write_folder(str(folder), OLD, ABOUT)
    assert names(folder) == [RECORD, "setting-1.ngc", "setting-2.ngc"]
    assert names(folder.parent) == ["arbor"]
    record = json.loads((folder / RECORD).read_text(encoding="utf-8"))
    assert record["name"] == ABOUT["name"]
    for name, data in OLD.items():
        assert (folder / name).read_bytes() == data
        assert record["files"][name] == hashlib.sha256(data).hexdigest()
    assert oct(folder.stat().st_mode) == oct(folder.parent.stat().st_mode)


def test_the_record_knows_its_own_hash() -> None:
    text = seal_record(ABOUT, OLD).decode()
    own = json.loads(text)["files"][RECORD]
    assert hashlib.sha256(text.replace(own, "0" * 64).encode()).hexdigest() == own


def test_the_same_set_again_touches_nothing(tmp_path: Path) -> None:
    write_folder(str(tmp_path / "a"), OLD, ABOUT)
    both = tmp_path / "a", tmp_path / "a" / RECORD
    # the time of reading is not the tool's to keep: a folder that is looked into may be given a new one
    before = [(about.st_ino, about.st_mtime_ns, about.st_size) for about in (path.stat() for path in both)]
    assert not write_folder(str(tmp_path / "a"), OLD, ABOUT)
    assert before == [(about.st_ino, about.st_mtime_ns, about.st_size) for about in (path.stat() for path in both)]


@pytest.mark.usefixtures("either_way")
def test_a_new_set_takes_the_old_ones_place_and_keeps_what_is_not_ours(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_folder(str(folder), OLD, ABOUT)
    (folder / "measured.txt").write_text("5.98\n")
    (folder / "photos").mkdir()
    (folder / "photos" / "x.jpg").write_bytes(b"x")
    (folder / "photos" / "link").symlink_to("x.jpg")
    folder.chmod(0o750)
    assert write_folder(str(folder), NEW, ABOUT)
    assert names(folder) == ["measured.txt", "photos", RECORD, "setting-1.ngc", "summary.txt"]
    assert (folder / "setting-1.ngc").read_bytes() == NEW["setting-1.ngc"]
    assert (folder / "measured.txt").read_text() == "5.98\n"
    assert (folder / "photos" / "link").is_symlink()
    assert (folder / "photos" / "link").read_bytes() == b"x"
    assert folder.stat().st_mode & 0o777 == 0o750
    assert names(tmp_path) == ["a"]


def test_files_are_copied_where_the_disk_has_no_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(1, "no hard links here")

    write_folder(str(tmp_path / "a"), OLD, ABOUT)
    (tmp_path / "a" / "measured.txt").write_text("5.98\n")
    monkeypatch.setattr(os, "link", refuse)
    write_folder(str(tmp_path / "a"), NEW, ABOUT)
    assert (tmp_path / "a" / "measured.txt").read_text() == "5.98\n"
    assert write_file(str(tmp_path / "one.svg"), b"<svg/>")
    assert (tmp_path / "one.svg").read_bytes() == b"<svg/>"


def test_every_file_changed_by_hand_is_named_and_kept(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write_folder(str(folder), OLD, ABOUT)
    for name in ("setting-2.ngc", RECORD):
        with (folder / name).open("ab") as file:
            file.write(b" ")
    (folder / "summary.txt").write_text("my own notes")
    with pytest.raises(ProblemError) as refused:
        write_folder(str(folder), NEW, ABOUT)
    assert [Path(p.where.path).name for p in refused.value.problems] == [RECORD, "setting-2.ngc", "summary.txt"]
    assert "--replace" in says(refused)
    assert (folder / "setting-1.ngc").read_bytes() == OLD["setting-1.ngc"]
    assert (folder / "summary.txt").read_text() == "my own notes"
    assert names(tmp_path) == ["a"]
    assert write_folder(str(folder), NEW, ABOUT, replace=True)
    assert names(folder) == [RECORD, "setting-1.ngc", "summary.txt"]
    assert (folder / "summary.txt").read_bytes() == NEW["summary.txt"]


def test_a_file_that_was_deleted_comes_back(tmp_path: Path) -> None:
    write_folder(str(tmp_path / "a"), OLD, ABOUT)
    (tmp_path / "a" / "setting-2.ngc").unlink()
    assert write_folder(str(tmp_path / "a"), OLD, ABOUT)
    assert (tmp_path / "a" / "setting-2.ngc").read_bytes() == OLD["setting-2.ngc"]


@pytest.mark.parametrize("replace", [False, True])
@pytest.mark.parametrize("record", [None, b"", b"[]", b"{}", b'{"files": 3}', b"\xff\x00", b"[" * 100_000])
def test_a_folder_of_someone_elses_is_left_alone(tmp_path: Path, record: bytes | None, replace: bool) -> None:
    folder = tmp_path / "thesis"
    folder.mkdir()
    (folder / "chapter.txt").write_text("all my work")
    if record is not None:
        (folder / RECORD).write_bytes(record)
    before = names(folder)
    with pytest.raises(ProblemError) as refused:
        write_folder(str(folder), NEW, ABOUT, replace=replace)
    assert "chapter.txt" in says(refused)
    assert names(folder) == before
    assert (folder / "chapter.txt").read_text() == "all my work"


def test_a_hostile_record_reaches_nothing_outside_its_folder(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("all my work")
    write_folder(str(tmp_path / "a"), OLD, {})
    record = {"files": {RECORD: "", "../thesis.txt": "", "..": "", "": ""}}
    (tmp_path / "a" / RECORD).write_text(json.dumps(record))
    write_folder(str(tmp_path / "a"), NEW, {}, replace=True)
    assert (tmp_path / "thesis.txt").read_text() == "all my work"
    assert (tmp_path / "a" / "setting-2.ngc").read_bytes() == OLD["setting-2.ngc"]  # not in that record: kept


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    assert write_folder(str(tmp_path / "a"), NEW, ABOUT)
    assert names(tmp_path / "a") == [RECORD, "setting-1.ngc", "summary.txt"]


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to("real")
    write_folder(str(tmp_path / "link"), OLD, ABOUT)
    write_folder(str(tmp_path / "link"), NEW, ABOUT)
    assert (tmp_path / "link").is_symlink()
    assert names(tmp_path / "real") == [RECORD, "setting-1.ngc", "summary.txt"]


@pytest.mark.parametrize("place", ["file", "file/below", "/proc/self/arbor", "/", "x" * 300])
def test_a_place_that_cannot_be_written_is_a_problem(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(ProblemError) as refused:
        write_folder(str(tmp_path / place), NEW, ABOUT)
    assert len(refused.value.problems) == 1
    assert names(tmp_path) == ["file"]


def run(script: str, folder: Path, **more: object) -> subprocess.Popen[bytes]:
    head = f"import json, sys\nimport cam.ground.files\nOLD = {OLD!r}; NEW = {NEW!r}; ABOUT = {ABOUT!r}\n"
    head += f"folder = {str(folder)!r}\n"
    return subprocess.Popen(
        [sys.executable, "-B", "-c", head + script],  # nothing compiled is kept that there was no room for
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **more,
    )


def test_no_room_on_the_disk_leaves_the_old_set(tmp_path: Path) -> None:
    """A file size limit stands for a full disk: the write fails half way, as there."""
    write_folder(str(tmp_path / "a"), OLD, ABOUT)

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))

    script = (
        "try:\n cam.ground.files.write_folder(folder, NEW, ABOUT)\n"
        "except cam.ground.files.ProblemError as e:\n print(e); sys.exit(1)\n"
    )
    done = run(script, tmp_path / "a", preexec_fn=limit)
    out, err = done.communicate()
    assert (done.returncode, err) == (1, b"")
    assert b"cannot be written" in out
    assert whole_set(tmp_path / "a") == "old"
    assert names(tmp_path) == ["a"]


def whole_set(folder: Path) -> str:
    """Which set the folder holds; fails on a mix and on a part of one."""
    if not folder.exists():
        return "none"
    held = {n: (folder / n).read_bytes() for n in names(folder) if n != "note.txt"}
    for word, files in (("old", OLD), ("new", NEW)):
        if held == {**files, RECORD: seal_record(ABOUT, files)}:
            return word
    raise AssertionError(f"a mix: {sorted(held)}")


def kill_at_random(tmp_path: Path, way: str, times: int, seed: int) -> dict[str, int]:
    """Re-make a folder in a loop and kill that at a random instant, over and over; count what was left."""
    folder = tmp_path / "a"
    write_folder(str(folder), OLD, ABOUT)
    (folder / "note.txt").write_text("mine")
    way_line = "" if way == "one step" else "cam.ground.files._exchange = lambda a, b: False\n"
    script = way_line + (
        "while True:\n"
        "    cam.ground.files.write_folder(folder, NEW, ABOUT)\n    print('new', flush=True)\n"
        "    cam.ground.files.write_folder(folder, OLD, ABOUT)\n    print('old', flush=True)\n"
    )
    chance = random.Random(seed)
    seen: dict[str, int] = {}
    for _ in range(times):
        process = run(script, folder)
        assert process.stdout is not None
        for _ in range(chance.randrange(1, 5)):  # so many sets, however long they take
            assert process.stdout.readline() in (b"new\n", b"old\n"), process.communicate()
        time.sleep(chance.uniform(0, 0.01))
        process.kill()
        process.communicate()
        left = whole_set(folder)
        seen[left] = seen.get(left, 0) + 1
        assert left != "none" or way == "two renames"
        assert left == "none" or (folder / "note.txt").read_text() == "mine"
        write_folder(str(folder), OLD, ABOUT)  # the next run clears up
        assert whole_set(folder) == "old"
        assert names(tmp_path) == ["a"]
        assert (folder / "note.txt").read_text() == "mine"
    return seen


@pytest.mark.parametrize("way", ["one step", "two renames"])
def test_killed_at_any_instant_the_folder_is_one_whole_set(tmp_path: Path, way: str) -> None:
    kill_at_random(tmp_path, way, 6, seed=1)


@pytest.mark.slow
@pytest.mark.parametrize("way", ["one step", "two renames"])
def test_killed_at_forty_instants_the_folder_is_one_whole_set(tmp_path: Path, way: str) -> None:
    seen = kill_at_random(tmp_path, way, 40, seed=2)
    assert {"old", "new"} <= set(seen), seen


def stop_before(tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the folder as a run killed just before that call of two renames would."""

    class Killed(BaseException):
        pass

    real = Path.rename
    left = {"count": int(call)}

    def rename(self: Path, target: Path) -> Path:
        if left["count"] == 0:
            raise Killed
        left["count"] -= 1
        return real(self, target)

    with monkeypatch.context() as patched:
        patched.setattr(cam.ground.files, "_exchange", lambda one, other: False)
        patched.setattr(Path, "rename", rename)
        patched.setattr(cam.ground.files, "_recover", lambda place: None)
        with pytest.raises(Killed):
            write_folder(str(tmp_path / "a"), NEW, ABOUT)


def test_killed_between_two_renames_the_next_run_puts_the_old_set_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_folder(str(tmp_path / "a"), OLD, ABOUT)
    (tmp_path / "a" / "note.txt").write_text("mine")
    stop_before(tmp_path, "1", monkeypatch)
    assert names(tmp_path) == [".a.endshake-new", ".a.endshake-old"]
    assert not write_folder(str(tmp_path / "a"), OLD, ABOUT)
    assert (tmp_path / "a" / "note.txt").read_text() == "mine"
    assert names(tmp_path) == ["a"]


def test_a_folder_made_anew_after_such_a_kill_is_not_mistaken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_folder(str(tmp_path / "a"), OLD, ABOUT)
    stop_before(tmp_path, "1", monkeypatch)
    (tmp_path / "a").mkdir()
    with pytest.raises(ProblemError) as refused:
        write_folder(str(tmp_path / "a"), OLD, ABOUT)
    assert ".a.endshake-old" in says(refused)
    assert (tmp_path / ".a.endshake-old" / "setting-1.ngc").read_bytes() == OLD["setting-1.ngc"]


def test_runs_at_the_same_time_take_turns(tmp_path: Path) -> None:
    script = "for i in range(20):\n"
    script += "    cam.ground.files.write_folder(folder, NEW if (i + int({0})) % 2 else OLD, ABOUT)\n"
    both = [run(script.format(n), tmp_path / "a") for n in (0, 1)]
    assert [(p.communicate()[1], p.returncode) for p in both] == [(b"", 0)] * 2
    assert whole_set(tmp_path / "a") in ("old", "new")
    assert names(tmp_path) == ["a"]


def test_a_single_file_is_not_overwritten_unasked(tmp_path: Path) -> None:
    place = tmp_path / "plot.svg"
    assert write_file(str(place), b"1")
    assert not write_file(str(place), b"1")
    with pytest.raises(ProblemError) as refused:
        write_file(str(place), b"2")
    assert "--replace" in says(refused)
    assert place.read_bytes() == b"1"
    assert write_file(str(place), b"2", replace=True)
    assert place.read_bytes() == b"2"
    assert names(tmp_path) == ["plot.svg"]


def test_a_file_that_came_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "plot.svg"
    real = cam.ground.files._write_synced

    def write_late(files: dict[Path, bytes]) -> None:
        real(files)
        place.write_bytes(b"theirs")

    monkeypatch.setattr(cam.ground.files, "_write_synced", write_late)
    with pytest.raises(ProblemError):
        write_file(str(place), b"ours")
    assert place.read_bytes() == b"theirs"
    assert names(tmp_path) == ["plot.svg"]


@pytest.mark.parametrize("place", ["", "missing/plot.svg", "/proc/self/plot.svg"])
@pytest.mark.parametrize("replace", [False, True])
def test_a_single_file_that_cannot_be_written_is_a_problem(tmp_path: Path, place: str, replace: bool) -> None:
    with pytest.raises(ProblemError):
        write_file(str(tmp_path / place), b"1", replace=replace)
    assert names(tmp_path) == []


def test_what_a_killed_run_leaves_beside_a_file_is_cleared_once_it_is_old(tmp_path: Path) -> None:
    place = tmp_path / "plot.svg"
    place.write_bytes(b"old")

    def write(place: Path = place) -> None:
        write_file(str(place), b"new" * 100, replace=True)

    for at in range(1, steps_of(partial(write, tmp_path / "other")) + 2):
        run_killed(write, at=at, soon=False)
        assert place.read_bytes() in (b"old", b"new" * 100)
        place.write_bytes(b"old")
    left = [name for name in names(tmp_path) if name.endswith(".endshake-new")]
    assert left
    write_file(str(place), b"1", replace=True)
    assert [name for name in names(tmp_path) if name.endswith(".endshake-new")] == left  # too fresh to be sure
    past = time.time() - 601
    for name in left:
        os.utime(tmp_path / name, (past, past))
    write_file(str(place), b"2", replace=True)
    assert names(tmp_path) == ["other", "plot.svg"]


def test_a_file_that_a_living_run_is_writing_stays_and_so_does_what_is_not_ours(tmp_path: Path) -> None:
    old, ancient = time.time() - 3600, time.time() - 90_000
    ours = tmp_path / f".plot.svg.{os.getppid()}.endshake-new"
    for name, age in ((ours.name, old), (".a.endshake-new", ancient), (".note.1x.endshake-new", ancient)):
        (tmp_path / name).write_text("x")
        os.utime(tmp_path / name, (age, age))
    (tmp_path / ".folder.999999999.endshake-new").mkdir()
    write_file(str(tmp_path / "plot.svg"), b"1")
    assert len(names(tmp_path)) == 5
    os.utime(ours, (ancient, ancient))  # no run takes a day: another process has the number now
    write_file(str(tmp_path / "plot.svg"), b"2", replace=True)
    assert not ours.exists()
    assert len(names(tmp_path)) == 4
