"""Before a file is read, its kind and its length are checked, so that no pipe or giant file makes a run hang."""

from __future__ import annotations

import os
import stat
from contextlib import suppress

from cam.ground.problem import Problem, ProblemError, Where, printable, refusal

PIPE = "this is a pipe or a device, not a file"
"""What a problem says of a thing that is neither a file nor a folder."""


def read_input(path: str, most: int, *, fix: str = "") -> bytes:
    """Read a file that the user named.

    Args:
        path: as the user named it.
        most: the most bytes that such a file can have.
        fix: what to do where the file is missing or is no file; without it, a sentence that fits the case.

    Raises:
        ProblemError: missing, unreadable, a folder, a pipe or a device, or too large.
    """
    try:
        _ask(path, os.stat(path), most, fix)  # noqa: PTH116 - a name that Path cannot take must be refused here too
        handle = os.open(path, os.O_RDONLY | open_flag("O_NONBLOCK") | open_flag("O_CLOEXEC") | open_flag("O_BINARY"))
        try:
            _ask(path, os.fstat(handle), most, fix)  # it may have been exchanged since
            content = _read(handle, most + 1)
        finally:
            os.close(handle)
    except (OSError, ValueError) as fault:
        raise ProblemError([_why(path, fault, fix)]) from None
    if len(content) > most:  # it grew, or the system does not know how long it is
        raise ProblemError([_too_large(path, "", most)])
    return content


def _ask(path: str, found: os.stat_result, most: int, fix: str) -> None:
    kind, where = found.st_mode, Where(path=show_path(path))
    if stat.S_ISDIR(kind):
        what = "this is a folder, not a file"
        raise refusal(where, what, fix=fix or "name the file in it")
    if not stat.S_ISREG(kind):
        save = "save what comes from it to a file, and name that"
        raise refusal(where, PIPE, fix=fix or save)
    if found.st_size > most:
        raise ProblemError([_too_large(path, f"{found.st_size} bytes", most)])


def _read(handle: int, most: int) -> bytes:
    pieces, size = [], 0
    while size < most and (piece := os.read(handle, min(1 << 20, most - size))):
        pieces.append(piece)
        size += len(piece)
    return b"".join(pieces)


def _why(path: str, fault: Exception, fix: str) -> Problem:
    where = Where(path=show_path(path))
    if isinstance(fault, FileNotFoundError):
        what = "there is no such file"
        return Problem(where=where, what=what, fix=fix or "check the name, and the folder you are in")
    if isinstance(fault, PermissionError):
        return Problem(where=where, what="this file may not be read", fix="give yourself leave to read it")
    if isinstance(fault, NotADirectoryError):
        return Problem(where=where, what="there is a file where a folder is wanted on the way to it", fix=fix)
    return Problem(where=where, what="this file cannot be read", given=fault_words(fault))


def _too_large(path: str, given: str, most: int) -> Problem:
    what, allowed = "this file is too large to be right", f"at most {most} bytes"
    return Problem(where=Where(path=show_path(path)), what=what, given=given, allowed=allowed, fix="check the name")


def show_path(path: str) -> str:
    """Return a name as it may stand in a message, whatever characters the system allows in it."""
    with suppress(ValueError):
        path = os.fsencode(path).decode(errors="replace")
    return printable(path[:200]).replace("\n", "?") + ("..." if len(path) > 200 else "")


def open_flag(name: str) -> int:
    """Return an open flag that not every system has, or zero."""
    return int(getattr(os, name, 0))


def fault_words(fault: Exception) -> str:
    """Return what the system says of a fault, or what Python does where the system says nothing."""
    return getattr(fault, "strerror", None) or str(fault)
