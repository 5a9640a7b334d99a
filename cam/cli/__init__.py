"""The command line: the only package that reads arguments, prints, or exits.

Only typer is imported with it; each verb imports what it needs, so that help and completion are quick. And a run with
a verb imports that verb's module alone: to declare them all takes longer than the quickest of them.
Exit 0: done. Exit 1: problems in what was given, on the error output (as JSON on the output under --json).
Exit 2: a wrong command line. A fault of our own keeps its traceback, and says that it is ours.
"""

from __future__ import annotations

import gc
import sys
from importlib import import_module
from typing import TYPE_CHECKING

from cam.cli.command import EXAMPLES

if TYPE_CHECKING:
    import typer

    app: typer.Typer

__all__ = ["EXAMPLES", "app", "main"]

HOMES = {
    "bench": ("record", "history", "tailstock"),
    "comparing": ("compare",),
    "files": ("dialects",),
    "judging": ("simulate", "plot", "view"),
    "making": ("make", "check", "program", "why"),
    "sheets": ("summary", "notebook", "guide"),
    "watching": ("watch",),
    "starting": ("new-shop", "new", "dxf"),
}
"""Each module of this package, with its verbs."""

_ORDER = list(EXAMPLES)


def load(verb: str = "") -> typer.Typer:
    """Return the command with one verb, or with all of them where no such verb is known."""
    from cam.cli import command

    for module in [home for home, verbs in HOMES.items() if verb in verbs] or HOMES:
        import_module(f"cam.cli.{module}")
    command.app.registered_commands.sort(
        key=lambda c: _ORDER.index(c.name or (c.callback.__name__ if c.callback else ""))
    )
    for known in command.app.registered_commands:
        known.cls = command.Verb
    return command.app


def __getattr__(name: str) -> object:
    """Return `app`, which has every verb, when it is asked for."""
    if name == "app":
        return load()
    raise AttributeError(f"module 'cam.cli' has no attribute {name!r}")


def main() -> None:
    """Run the command line."""
    gc.set_threshold(200_000)  # a run is short and leaves few cycles
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a sign that the terminal cannot show is no reason to fail
            stream.reconfigure(errors="replace")
    try:
        load(sys.argv[1] if len(sys.argv) > 1 else "")(prog_name="endshake")
    except Exception:
        from cam.ground.problem import OUR_FAULT

        sys.excepthook(*sys.exc_info())
        sys.stderr.write(f"{OUR_FAULT}\n")
        sys.exit(1)
    finally:
        gc.freeze()  # on its way out Python would look through everything once more, a tenth of a whole run
