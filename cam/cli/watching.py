"""The verb that stays: watch."""

from __future__ import annotations

from typing import Annotated

import typer

from cam.cli.answers import complain, paint, reporting, say
from cam.cli.command import PartFile, PieceName, ShopFile, app, example


@app.command(epilog=example("watch"))
def watch(
    part: PartFile,
    shop: ShopFile = None,
    piece: PieceName = "",
    open_: Annotated[bool, typer.Option("--open", help="Open the page in this machine's browser.")] = False,
) -> None:
    """Check again whenever part or shop file is saved.

    The page of view is kept up to date in the browser, on this machine alone; what is wrong stands above it, and
    here. Ctrl-C ends it.
    """
    import sys
    import threading
    import time
    from pathlib import Path

    from cam.job.given import files_of
    from cam.job.view import view_given
    from cam.job.watching import Watched, saved, serve

    with reporting(part, shop, piece):
        files_of(part, shop, piece)
    watched = Watched(lambda: view_given(part, shop, piece=piece))
    server, address = serve(watched, Path(part).name)
    say(f"{address}\nopen this address in a browser; Ctrl-C ends it\n")
    stop = threading.Event()

    def tell() -> None:
        problems = watched.judge()
        verdict = "may NOT be cut" if problems else "may be cut"
        say(f"{time.strftime('%H:%M:%S')} {paint(verdict, 'red' if problems else 'green', sys.stdout)}\n")
        complain(problems)

    try:
        if open_:
            typer.launch(address)
        for _ in saved(lambda: files_of(part, shop, piece), stop):
            tell()
    except KeyboardInterrupt:
        pass  # that is how it is ended
    finally:
        server.shutdown()
        server.server_close()
    say("watched no more\n")
