"""Verbs that start a part, or tell what there is: new, dialects."""

from __future__ import annotations

from typing import Annotated

import typer

from cam.cli.answers import reporting, say, say_json
from cam.cli.command import AsJson, app, example


@app.command(epilog=example("new"))
def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The part file to write; - prints it.")],
) -> None:
    """Write a commented part file to start from."""
    with reporting():
        from pathlib import Path

        from cam.files import write_file
        from cam.part.starter import starter_text

        text = starter_text("my arbor" if file == "-" else Path(file).stem)
        if file != "-":
            write_file(file, text.encode())
    say(text if file == "-" else f"{file}: written; next: endshake check {file}\n")


@app.command(epilog=example("dialects"))
def dialects(as_json: AsJson = False) -> None:
    """List the dialects of program text."""
    from posts.dialect import describe_dialects

    rows = describe_dialects()
    if as_json:
        say_json([{"name": name, "about": about, "says": list(says)} for name, about, says in rows])
        return
    say("".join(f"{name}\n  {about}\n" + "".join(f"    {line}\n" for line in says) for name, about, says in rows))
