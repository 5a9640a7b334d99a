"""Work that is killed at a chosen step of what it does to the disk, however quick or busy the machine is.

Python tells an audit hook of every file that is opened for writing, locked, renamed, linked or removed. The work is
done in a child of this process, which has read all that it needs already, and killed at one of these by count: at
once, or by a process that it leaves behind, so that the kill comes a little later, at random.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from typing import Any

CHANGES = {"os.mkdir", "os.rename", "os.link", "os.remove", "os.rmdir", "fcntl.flock", "ctypes.dlsym"}


class Steps:
    """Counts the steps of this process, and kills it at one of them.

    Attributes:
        at: the step, counted from 1; 0 is none.
        soon: whether the kill comes somewhat later than the step.
    """

    def __init__(self, at: int = 0, *, soon: bool = False) -> None:
        self.at, self.soon, self.seen = at, soon, 0

    def watch(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event in CHANGES or (event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR)):
            self.seen += 1
            if self.seen == self.at:
                self.kill()

    def kill(self) -> None:
        own = os.getpid()
        if not self.soon or os.fork() == 0:
            os.kill(own, signal.SIGKILL)
            os._exit(0)


def in_child(work: Callable[[], object], steps: Steps, told: int = -1) -> bool:
    """Do the work in a child under watch; return whether it came to its end. A pipe, if told, gets the step count."""
    if (child := os.fork()) == 0:
        status = 1
        try:
            nothing = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(nothing, stream)
            sys.addaudithook(steps.watch)
            work()
            if told >= 0:
                os.write(told, str(steps.seen).encode())
            status = 0
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def run_killed(work: Callable[[], object], *, at: int, soon: bool) -> bool:
    """Do work that is killed at a step, or somewhat later; return whether it came to its end before that."""
    return in_child(work, Steps(at, soon=soon))


def steps_of(work: Callable[[], object]) -> int:
    """Return how many steps some work takes when nobody kills it."""
    ear, mouth = os.pipe()
    try:
        assert in_child(work, Steps(), mouth)
        return int(os.read(ear, 20))
    finally:
        os.close(ear)
        os.close(mouth)
