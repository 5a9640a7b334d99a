"""Files are written whole or not at all, and a user's own file is never overwritten unasked.

A folder of files is one set: last week's setting 2 beside today's setting 1 is a scrapped part. So a set
is first written to a folder of its own beside its place (`.NAME.endshake-new`), synced, and then swapped in:

- nothing there yet: one rename;
- something there, on Linux: one `renameat2(..., RENAME_EXCHANGE)`, so that at every instant the folder is
  the old set or the new one;
- something there, elsewhere: the old folder is renamed to `.NAME.endshake-old`, the new one into its place.
  If a run is killed between the two, the folder is missing but nothing is lost: the next run puts the old one back.

The next run clears what a killed run leaves beside the folder. What it leaves beside a single file is cleared by the
next run that writes one there, once it is old and its process is no more. Runs at the same time take turns by a lock
on the parent folder, which needs no lock file and ends with its process (where the system has none, they
do not take turns). The record in each folder, a JSON file, lists the SHA-256 of every file of the set and of
itself, so that a file changed by hand since is known and kept. The user's own files in such a folder are taken
into the new one as hard links (as copies where the disk has none).
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from cam.ground.inputs import fault_words, read_input
from cam.ground.problem import Problem, ProblemError, Where, problem, refusal

try:
    from ctypes import CDLL
except ImportError:  # a Python made without it
    CDLL = None  # type: ignore[assignment, misc]
try:
    from fcntl import LOCK_EX, LOCK_SH, flock
except ImportError:  # not a POSIX system
    flock = None  # type: ignore[assignment]

RECORD = "plan.json"
"""The name of the file that lists what was written to a folder."""
MOST_BYTES = 20_000_000
"""The size in bytes of the largest such file that is read."""

LEFT, LONG_LEFT = 600.0, 86_400.0
"""The ages, s, from which a half-written file is taken for abandoned: the first if its process is no more, the second
whatever runs, since another process may have the same number.
"""

_BLANK = "0" * 64
"""This stands for the record's own hash while that is computed."""

_RENAME_EXCHANGE, _AT_FDCWD = 2, -100  # Linux, include/uapi/linux/fs.h and fcntl.h


def write_folder(
    folder: str,
    files: Mapping[str, bytes],
    record: Mapping[str, object],
    *,
    replace: bool = False,
    sources: Iterable[Path] = (),
) -> bool:
    """Make the folder hold these files and the record, all of them or none.

    Args:
        folder: as the user named it; parents are made.
        files: plain name -> content.
        record: goes into RECORD as JSON; "files" in it is set here.
        replace: take the place of files that have been changed by hand since.
        sources: the files that it was made from, which are never written over.
    Returns:
        False if everything was there already, byte for byte, and nothing was touched.
    Raises:
        ProblemError: the folder is not one of ours, files were changed by hand, or the system refuses.
    """
    whole = {**files, RECORD: seal_record(record, files)}
    place = _find_place(folder)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with _lock(place.parent):
            _recover(place)
            _refuse_sources([(place / name, str(Path(folder) / name)) for name in whole], sources)
            own = _check_folder(place, folder, whole, replace=replace)
            if own is not None and set(own) == set(whole) and _holds(place, whole):
                return False
            _write_and_swap(place, whole, own)
    except OSError as fault:
        raise ProblemError([_describe(folder, fault)]) from fault
    return True


def write_file(path: str, data: bytes, *, replace: bool = False, sources: Iterable[Path] = ()) -> bool:
    """Write one file, whole or not at all.

    Args:
        path: as the user named it; its folder must be there.
        data: its content.
        replace: overwrite a file that is there.
        sources: the files that it was made from, which are never written over.
    Returns:
        False if it was there already, byte for byte.
    Raises:
        ProblemError: it is there with other content, or the system refuses.
    """
    place = _find_place(path)
    try:
        _refuse_sources([(place, path)], sources)
        if place.is_file() and place.read_bytes() == data:
            return False
        if place.exists() and not (replace and place.is_file()):
            raise ProblemError([_is_there(path, folder=place.is_dir())])
        _clear_left(place.parent)
        new = place.with_name(f".{place.name}.{os.getpid()}.endshake-new")
        try:
            _write_synced({new: data})
            _put_file(new, place, path, replace=replace)
        finally:
            new.unlink(missing_ok=True)
        sync_folder(place.parent)
    except OSError as fault:
        raise ProblemError([_describe(path, fault)]) from fault
    return True


def require_ending(path: str, kind: str, *endings: str) -> None:
    """Require that a file's name says what it holds: kind in words, "a page", and the endings that say it.

    Raises:
        ProblemError: it ends otherwise.
    """
    ending = Path(path).suffix.lower()
    if ending not in endings:
        what, allowed = f"does not end as the name of {kind} does", " or ".join(endings)
        raise refusal(path, what, given=ending or "no ending", allowed=allowed, fix="name it so")


def _refuse_sources(places: Iterable[tuple[Path, str]], sources: Iterable[Path]) -> None:
    """Refuse to write where a source lies, or would lie once there is one; places: each with its name to a person."""
    files = tuple(sources)
    fix = "name another place; --replace is for what endshake wrote"
    found = [(name, source) for place, name in places for source in files if _same(place, source)]
    if found:
        what = "is one of the files that this is made from, and would be lost"
        raise ProblemError(problem(Where(path=name), what, str(source), fix=fix) for name, source in found)


def _same(place: Path, source: Path) -> bool:
    """Whether two names lead to one file, through links of either kind; or to one that is not there yet."""
    source = source.resolve()
    return place == source or (place.exists() and source.exists() and place.samefile(source))


def seal_record(record: Mapping[str, object], files: Mapping[str, bytes]) -> bytes:
    """Return the record as JSON text (UTF-8, keys in the order given) with the SHA-256 of each file and of itself.

    Its own hash is that of its text with 64 zeros in place of the hash.
    """
    hashes = {name: hashlib.sha256(files[name]).hexdigest() for name in sorted(files)}
    whole = {**record, "files": {**hashes, RECORD: _BLANK}}
    text = json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    text = re.sub(r"[^\n -~]", lambda sign: _seen(sign[0]), text)
    own = hashlib.sha256(text.encode()).hexdigest()
    return text.replace(f'"{RECORD}": "{_BLANK}"', f'"{RECORD}": "{own}"').encode()


def _seen(sign: str) -> str:
    """Return a sign of a JSON text as it is, or as JSON spells it where it cannot be seen."""
    return sign if sign.isprintable() else json.dumps(sign)[1:-1]


def is_whole_record(text: bytes) -> bool:
    """Whether a record is byte for byte as seal_record made it."""
    own = re.search(rf'"{re.escape(RECORD)}": "([0-9a-f]{{64}})"'.encode(), text)
    if own is None:
        return False
    blank = text[: own.start(1)] + _BLANK.encode() + text[own.end(1) :]
    return hashlib.sha256(blank).hexdigest().encode() == own[1]


def _find_place(path: str) -> Path:
    """Return where a path leads, links followed.

    Raises:
        ProblemError: links in a circle, or a name that the system cannot have.
    """
    try:
        return Path(path).resolve()
    except (OSError, RuntimeError, ValueError) as fault:
        given = "links that lead round in a circle" if isinstance(fault, RuntimeError) else str(fault)
        raise refusal(path, "is no place to write to", given=given, fix="name another") from fault


def _check_folder(place: Path, folder: str, whole: Mapping[str, bytes], *, replace: bool) -> dict[str, str] | None:
    """Return what the record there lists: None where there is no folder, {} for an empty one."""
    if not os.path.lexists(place):
        return None
    if not place.is_dir():
        raise refusal(folder, "is a file, where a folder is to be made", fix="name another folder")
    found = sorted(p.name for p in place.iterdir())
    if not found:
        return {}
    own = _read_record(place)
    if own is None:
        shown = ", ".join(found[:5]) + (f" and {len(found) - 5} more" if len(found) > 5 else "")
        allowed = f"a new folder, an empty one, or one whose {RECORD} lists what endshake wrote there"
        raise refusal(folder, "is a folder that was not made by endshake", given=f"it holds {shown}", allowed=allowed,
                      fix="name another folder")  # fmt: skip
    problems = [] if replace else [*_check_whose(place, folder, whole), *_check_kept(place, folder, own, whole)]
    if problems:
        raise ProblemError(problems)
    return own


def _check_whose(place: Path, folder: str, whole: Mapping[str, bytes]) -> Iterator[Problem]:
    """Check that what was made of another part, or of another piece, is not replaced unsaid."""
    was, now = (json.loads(data).get("part", {}) for data in ((place / RECORD).read_bytes(), whole[RECORD]))
    if isinstance(was, dict) and [was.get(k) for k in ("file", "piece")] != [now.get(k) for k in ("file", "piece")]:
        what, given = "holds what was made of another part or piece", f"{was.get('name')}, of {was.get('file')}"
        yield problem(Where(path=folder), what, given, fix="name another folder, or say --replace to lose it")


def _check_kept(place: Path, folder: str, own: Mapping[str, str], whole: Iterable[str]) -> Iterator[Problem]:
    """Check that nothing would be lost: what was changed by hand, and what is not ours and has a name of ours."""
    for name, digest in own.items():
        if not _unchanged(place / name, name, digest):
            fix = "name another folder, move the file away, or say --replace to lose the changes"
            yield problem(Where(path=str(Path(folder) / name)), "was changed since endshake wrote it", fix=fix)
    for name in whole:
        if name not in own and os.path.lexists(place / name):
            what = "was not written by endshake and would be overwritten"
            fix = "name another folder, move the file away, or say --replace to lose it"
            yield problem(Where(path=str(Path(folder) / name)), what, fix=fix)


def _read_record(place: Path) -> dict[str, str] | None:
    """Return name -> hash as the folder's record lists them, or None if it has no record of ours."""
    try:
        files = json.loads(read_input(str(place / RECORD), MOST_BYTES))["files"]
    except (OSError, ValueError, TypeError, KeyError, RecursionError, ProblemError):
        return None
    if not isinstance(files, dict) or RECORD not in files:
        return None
    return {str(name): str(digest) for name, digest in files.items()}


def _unchanged(path: Path, name: str, digest: str) -> bool:
    """Whether the file is still as recorded; one that is gone needs no keeping."""
    if not path.is_file():
        return not os.path.lexists(path)
    data = path.read_bytes()
    if name == RECORD:
        return is_whole_record(data)
    return hashlib.sha256(data).hexdigest() == digest


def _holds(place: Path, whole: Mapping[str, bytes]) -> bool:
    return all((place / name).is_file() and (place / name).read_bytes() == data for name, data in whole.items())


def _write_and_swap(place: Path, whole: Mapping[str, bytes], own: Mapping[str, str] | None) -> None:
    """Write the new set beside place and put it there; own is None where nothing is there yet."""
    new, old = _beside(place)
    try:
        new.mkdir()
        _write_synced({new / name: data for name, data in whole.items()})
        if own is not None:
            shutil.copymode(place, new)
            _carry_over(place, new, {*whole, *own})
        sync_folder(new)
        if own is None:
            new.rename(place)
        elif not _exchange(new, place):
            place.rename(old)
            new.rename(place)
        sync_folder(place.parent)
    finally:
        _recover(place)


def _clear_left(folder: Path) -> None:
    """Clear away the half-written files of killed runs: those that are old and whose process is no more."""
    for left in folder.glob(".*.endshake-new"):
        found = re.fullmatch(r"\..+\.([0-9]+)\.endshake-new", left.name)
        with suppress(OSError):  # another run clears up at the same time, or it is not ours to clear
            if found and left.is_file() and not left.is_symlink():
                age = time.time() - left.stat().st_mtime
                if age > LONG_LEFT or (age > LEFT and not _lives(int(found[1]))):
                    left.unlink()


def _lives(process: int) -> bool:
    """Whether a process of this number runs here; True where the system cannot be asked."""
    if os.name != "posix":  # elsewhere the same call would end it
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def _carry_over(source: Path, target: Path, leave: set[str]) -> None:
    """Link everything in source, except the names in leave, into target, folder by folder."""
    for entry in source.iterdir():
        if entry.name in leave:
            continue
        there = target / entry.name
        if entry.is_dir() and not entry.is_symlink():
            there.mkdir()
            shutil.copystat(entry, there)
            _carry_over(entry, there, set())
        else:
            try:
                os.link(entry, there, follow_symlinks=False)
            except OSError:  # FAT and some network disks have no hard links
                shutil.copy2(entry, there, follow_symlinks=False)


def _exchange(one: Path, other: Path) -> bool:
    """Swap two folders in one step, and return False where this system or disk cannot."""
    if sys.platform != "linux" or CDLL is None:
        return False
    try:
        renameat2 = CDLL(None).renameat2
    except (OSError, AttributeError):  # a C library from before 2018
        return False
    return bool(renameat2(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _RENAME_EXCHANGE) == 0)


def _recover(place: Path) -> None:
    """Put right what a failed or killed run left beside place."""
    new, old = _beside(place)
    if old.is_dir():
        if not place.exists():
            old.rename(place)
        elif new.is_dir():  # killed between the two renames, and someone made the folder anew since
            raise refusal(
                str(old),
                f"holds what was in {place.name} when an earlier run was killed",
                fix="take out what you want to keep, then delete it",
            )
        else:
            shutil.rmtree(old)
    if new.is_dir():
        shutil.rmtree(new)


def _beside(place: Path) -> tuple[Path, Path]:
    return place.parent / f".{place.name}.endshake-new", place.parent / f".{place.name}.endshake-old"


@contextmanager
def _lock(folder: Path) -> Iterator[None]:
    """Keep other runs out of this folder's children until the block ends."""
    if flock is None:  # nor can a folder be opened there
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        take_lock(handle)
        yield
    finally:
        os.close(handle)


def take_lock(handle: int, *, shared: bool = False) -> None:
    """Wait for the lock of an open file or folder and take it, where the system and the disk have locks."""
    if flock is not None:
        with suppress(OSError):  # some network disks cannot lock
            flock(handle, LOCK_SH if shared else LOCK_EX)


def _put_file(new: Path, place: Path, path: str, *, replace: bool) -> None:
    """Put new in its place; unless replace is set, a file that appeared there meanwhile is kept."""
    if not replace:
        try:
            os.link(new, place)
        except FileExistsError:
            raise ProblemError([_is_there(path, folder=False)]) from None
        except OSError:  # FAT and some network disks have no hard links
            pass
        else:
            return
    new.replace(place)


def _write_synced(files: Mapping[Path, bytes]) -> None:
    """Write new files, all of them before any is waited for, so that the disk takes them in one go."""
    with ExitStack() as open_files:
        written = []
        for path, data in files.items():
            file = open_files.enter_context(path.open("xb"))
            file.write(data)
            file.flush()
            written.append(file)
        for file in written:
            os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Make the disk hold what a folder lists, where the system can do that for a folder."""
    with suppress(OSError):  # not every system syncs a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _describe(path: str, fault: OSError) -> Problem:
    on_the_way = next((str(p) for p in Path(path).parents if p.exists() and not p.is_dir()), "")
    if on_the_way:
        what = "cannot be written: there is a file where a folder is wanted on the way to it"
        return Problem(where=Where(path=path), what=what, given=on_the_way, fix="name another place")
    fix = "name another place, or put right what the system says"
    return problem(Where(path=path), "cannot be written", fault_words(fault), fix=fix)


def _is_there(path: str, *, folder: bool) -> Problem:
    what = "is a folder, where a file is to be written" if folder else "is there already, with other content"
    fix = "name another file" if folder else "name another file, or say --replace"
    return Problem(where=Where(path=path), what=what, fix=fix)
