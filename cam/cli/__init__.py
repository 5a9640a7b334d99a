"""The command line: the only package that reads arguments, prints, or exits.

Only typer is imported with it; each verb imports what it needs, so that help and completion are quick.
Exit 0: done. Exit 1: problems in what was given, on the error output (as JSON on the output under --json).
Exit 2: a wrong command line. A fault of our own keeps its traceback.
"""

from __future__ import annotations

import gc
import sys

from cam.cli import bench, comparing, files, judging, making, sheets, starting  # noqa: F401 - each adds verbs
from cam.cli.command import EXAMPLES, app

__all__ = ["EXAMPLES", "app", "main"]

_ORDER = list(EXAMPLES)
app.registered_commands.sort(key=lambda verb: _ORDER.index(verb.callback.__name__ if verb.callback else ""))


def main() -> None:
    """Run the command line."""
    gc.set_threshold(200_000)  # a run is short and leaves few cycles
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a sign that the terminal cannot show is no reason to fail
            stream.reconfigure(errors="replace")
    try:
        app(prog_name="endshake")
    finally:
        gc.freeze()  # on its way out Python would look through everything once more, a tenth of a whole run
