"""Runs that are killed at a chosen step of what they do to the disk, however quick or busy the machine is.

Python tells an audit hook of every file that is opened for writing, locked, renamed, linked or removed. The run is
killed at one of these by count: at once, or by a process that it leaves behind, so that the kill comes a little later,
at random.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent

HOOK = """
import os, signal, sys
at, soon, seen = int(sys.argv.pop(1)), sys.argv.pop(1) == "soon", 0
CHANGES = {"os.mkdir", "os.rename", "os.link", "os.remove", "os.rmdir", "fcntl.flock", "ctypes.dlsym"}

def count(event, arguments):
    global seen
    if event in CHANGES or (event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR)):
        seen += 1
        if seen == at and not soon:
            os.kill(os.getpid(), signal.SIGKILL)
        elif seen == at and os.fork() == 0:
            os.kill(os.getppid(), signal.SIGKILL)
            os._exit(0)

sys.addaudithook(count)
"""


def run_killed(script: str, *words: str, at: int, soon: bool) -> bool:
    """Run a script that is killed at a step; whether it came to its end before that.

    Args:
        script: Python, after the hook.
        words: its arguments.
        at: the step, counted from 1; 0 is none.
        soon: whether the kill comes somewhat later than the step.
    """
    process = subprocess.Popen(
        [sys.executable, "-c", HOOK + script, str(at), "soon" if soon else "now", *words],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    return process.wait() == 0


def steps_of(script: str, *words: str) -> int:
    """How many steps a script takes when nobody kills it."""
    told = "import atexit\natexit.register(lambda: print(seen))\n" + script
    done = subprocess.run(
        [sys.executable, "-c", HOOK + told, "0", "now", *words],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return int(done.stdout.split()[-1])
