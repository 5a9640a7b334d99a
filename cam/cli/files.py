"""Verbs that tell what there is: dialects."""

from __future__ import annotations

from cam.cli.answers import say, say_json
from cam.cli.command import AsJson, app, example


@app.command(epilog=example("dialects"))
def dialects(as_json: AsJson = False) -> None:
    """List the dialects of programs."""
    from posts.dialect import describe_dialects

    rows = describe_dialects()
    if as_json:
        say_json([{"name": name, "about": about, "says": list(says)} for name, about, says in rows])
        return
    say("".join(f"{name}\n  {about}\n" + "".join(f"    {line}\n" for line in says) for name, about, says in rows))
