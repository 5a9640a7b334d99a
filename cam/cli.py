"""The command line: the only module that reads arguments, prints, or exits.

Only typer is imported with this module; each verb imports what it needs, so that help and completion are quick.
Exit 0: done. Exit 1: problems in what was given, on the error output (as JSON on the output under --json).
Exit 2: a wrong command line. A fault of our own keeps its traceback.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Any, TextIO

import typer

if TYPE_CHECKING:
    from cam.job import Job
    from cam.problem import Problem, ProblemError

app = typer.Typer(
    name="endshake",
    help="Plan, prove and print the turning of stepped arbors between centres.",
    epilog="\b\nStart with\n  endshake new my-arbor.toml\n  endshake make my-arbor.toml --out build/my-arbor",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)

EXAMPLES = {
    "make": "endshake make samples/orrery-drum-arbor.toml --out build/drum-arbor",
    "check": "endshake check samples/moon-carriage-spindle.toml",
    "record": 'endshake record samples/orrery-drum-arbor.toml "between plates" "46.22; 46.23; 46.21 mm"',
    "history": "endshake history samples/orrery-drum-arbor.toml",
    "summary": "endshake summary samples/crank-pin.toml",
    "program": "endshake program samples/orrery-drum-arbor.toml --setting 2 --dialect eia274d",
    "simulate": ("endshake simulate build/drum-arbor/setting-1.ngc --part samples/orrery-drum-arbor.toml --setting 1"),
    "plot": "endshake plot samples/orrery-drum-arbor.toml --out drum-arbor.svg",
    "tailstock": 'endshake tailstock "12.03 mm at 15 mm" "12.00 mm at 135 mm" --length "150 mm" --post front',
    "why": "endshake why samples/moon-carriage-spindle.toml --setting 1 --pass 12",
    "dialects": "endshake dialects",
    "new": "endshake new my-arbor.toml",
}
"""A real example of each verb, shown in its help."""


def _example(verb: str) -> str:
    return f"\b\nExample\n  {EXAMPLES[verb]}"


def _complete_dialect(incomplete: str) -> list[str]:
    from posts.dialect import dialect_names

    return [name for name in dialect_names() if name.startswith(incomplete)]


PartFile = Annotated[str, typer.Argument(metavar="PART", help="The part file, TOML.", show_default=False)]
ShopFile = Annotated[
    str | None,
    typer.Option("--shop", metavar="FILE", help="The shop file; otherwise the one that the part file names."),
]
SettingNumber = Annotated[int, typer.Option("--setting", metavar="N", help="1, or 2 after turning end for end.")]
DialectName = Annotated[
    str | None,
    typer.Option(
        "--dialect",
        metavar="NAME",
        help="Of the program text; otherwise the shop file's.",
        autocompletion=_complete_dialect,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer as JSON, for a program to read.")]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files that were changed by hand since.")]


def _show_version(wanted: bool) -> None:
    if wanted:
        from cam.version import VERSION

        _say(f"endshake {VERSION}\n")
        raise typer.Exit


@app.callback()
def endshake(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", is_eager=True, callback=_show_version)
    ] = False,
) -> None:
    """Plan, prove and print the turning of stepped arbors between centres."""


@app.command(epilog=_example("make"))
def make(
    part: PartFile,
    out: Annotated[str, typer.Option("--out", metavar="DIR", help="Folder to make, whole or not at all.")],
    shop: ShopFile = None,
    replace: Replace = False,
    as_json: AsJson = False,
) -> None:
    """Write programs, summary, picture and plan into a folder.

    All or none: if any program is judged unsafe or wrong, nothing is written and the reasons are given.
    """
    with _reporting(part, shop, as_json=as_json):
        from cam.files import RECORD, write_folder
        from cam.job import job_files
        from cam.record import job_record

        job = _make_job(part, shop, None)
        files = job_files(job)
        record = job_record(job)
        changed = write_folder(out, files, record, replace=replace)
    names = [*files, RECORD]
    if as_json:
        _say_json(
            {
                "ok": True,
                "folder": out,
                "written": changed,
                "files": names,
                "closest": record["closest"],
                "settings": [s["judged"] for s in record["settings"]],
                "waits_for": list(job.part.waits),
                "warnings": record["warnings"],
            }
        )
        return
    from cam.report import show_made

    _say(show_made(job, out, names, changed=changed))
    _warn(job.plan.warnings)


@app.command(epilog=_example("check"))
def check(part: PartFile, shop: ShopFile = None, as_json: AsJson = False) -> None:
    """Solve, plan and judge a part; write nothing."""
    with _reporting(part, shop, as_json=as_json):
        from cam.record import job_record
        from cam.report import show_check

        job = _make_job(part, shop, None)
        job.require_pass()
        answer = {"ok": True, **job_record(job)} if as_json else show_check(job)
    if isinstance(answer, dict):
        _say_json(answer)
    else:
        _say(answer)
        _warn(job.plan.warnings)


@app.command(epilog=_example("record"))
def record(
    part: PartFile,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What was measured, in quotes.", show_default=False)],
    value: Annotated[
        str, typer.Argument(metavar="VALUE", help="One reading or several, with the unit.", show_default=False)
    ],
    shop: ShopFile = None,
) -> None:
    """Keep what was measured, cut or read off, beside the part.

    NAME is a measurement of the part file; or a section with what was measured of it: "front pivot diameter",
    "front seat length", "front seat shoulder" (from the finished end to it); a span: "frame span"; or what a
    gauging stop read: "front pivot stop diameter", "front seat stop shoulder". A wrong name lists all.
    Records are only ever added: a later one of the same name stands in place of the earlier. The part file is
    not touched; make, check and all others read the log by themselves. Before a second piece of the same
    part is begun, move the log away.
    """
    with _reporting():
        from cam.logbook import record_value, show_recorded
        from cam.measure.journal import journal_path

        text = show_recorded(journal_path(part), *record_value(part, name, value, shop))
    _say(text)


@app.command(epilog=_example("history"))
def history(part: PartFile) -> None:
    """Print all that was recorded of a part."""
    with _reporting():
        from cam.logbook import show_log

        text = show_log(part)
    _say(text)


@app.command(epilog=_example("summary"))
def summary(part: PartFile, shop: ShopFile = None) -> None:
    """Print the cutting summary, a page for each setting."""
    with _reporting(part, shop):
        from cam.job import write_job_summary

        text = write_job_summary(_make_job(part, shop, None))
    _hand_over(text)


@app.command(epilog=_example("program"))
def program(part: PartFile, setting: SettingNumber, shop: ShopFile = None, dialect: DialectName = None) -> None:
    """Print one setting's program, once the job is judged clear."""
    with _reporting(part, shop):
        from cam.job import no_such_setting
        from cam.problem import ProblemError

        job = _make_job(part, shop, dialect)
        works = {w.setting.number: w for w in job.works}
        if setting not in works:
            raise ProblemError([no_such_setting(job.part, setting, list(works))])
        job.require_pass()
    _hand_over(works[setting].text)


@app.command(epilog=_example("simulate"))
def simulate(
    program: Annotated[str, typer.Argument(metavar="PROGRAM", help="Any program text, also one edited by hand.")],
    part: Annotated[str, typer.Option("--part", metavar="PART", help="The part file, TOML.")],
    setting: SettingNumber,
    shop: ShopFile = None,
    dialect: DialectName = None,
    lost_motion: Annotated[
        str | None,
        typer.Option(
            "--lost-motion",
            metavar="LENGTH",
            help='Show the sizes really cut on slides with this lost motion, "0.05 mm"; or shop, for the shop file\'s.',
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge any program text against a part.

    Reads the text by its standard's own rules and cuts with it: contact with centre, carrier or work, rapids
    through metal, gouges and metal left, the closest approach, each with the line of the program.
    """
    with _reporting(as_json=as_json):
        from cam.job import judge_lost_motion, judge_program

        verdict = judge_program(program, part, setting, shop, dialect=dialect)
        sizes = judge_lost_motion(verdict, lost_motion) if lost_motion is not None else None
    if as_json:
        from cam.record import problem_data, simulation_data, size_data

        _say_json(
            {
                "ok": not verdict.problems,
                "program": program,
                **simulation_data(verdict.simulation),
                **({"sizes": size_data(sizes)} if sizes is not None else {}),
                "problems": problem_data(verdict.problems),
            }
        )
    else:
        from cam.report import show_sizes, show_verdict

        _say(show_verdict(verdict))
        if sizes is not None:
            _say(show_sizes(sizes, verdict.part))
        _complain(verdict.problems)
    if verdict.problems:
        raise typer.Exit(1)


@app.command(epilog=_example("plot"))
def plot(
    part: PartFile,
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="FILE", help="FILE.svg, .png or .pdf; otherwise SVG to the output."),
    ] = None,
    shop: ShopFile = None,
    replace: Annotated[bool, typer.Option("--replace", help="Overwrite the file if it is there.")] = False,
) -> None:
    """Draw every setting; a refused one too, with the hit marked."""
    with _reporting():
        from cam.files import write_file
        from cam.job import draw_given, picture_bytes

        with _Progress() as progress:
            svg, problems = draw_given(part, shop, tell=progress.tell)
        if out is not None:
            write_file(out, picture_bytes(svg, out), replace=replace)
    if out is None:
        _hand_over(svg)
    else:
        _say(f"{out}: written{', of a job that may NOT be cut' if problems else ''}\n")
    if problems:
        _complain(problems)
        raise typer.Exit(1)


@app.command(epilog=_example("tailstock"))
def tailstock(
    readings: Annotated[
        list[str],
        typer.Argument(metavar="READING...", help='Two or three: "12.03 mm at 15 mm".', show_default=False),
    ],
    length: Annotated[str, typer.Option("--length", metavar="LENGTH", help="Between centres.")],
    post: Annotated[
        str, typer.Option("--post", metavar="SIDE", help="Where the tool post stands: front (your side) or rear.")
    ],
    resolution: Annotated[
        str, typer.Option("--resolution", metavar="LENGTH", help="What a reading may be off by, on diameter.")
    ] = "0.005 mm",
) -> None:
    """Say which way and how far to move the tailstock, from test cuts.

    Take one light cut along a plain bar between centres without touching the cross slide, and measure it at two
    places, or three to tell a bar that springs. Places are distances from the headstock end.
    """
    with _reporting():
        from cam.plan.true_lathe import answer_tailstock

        text = answer_tailstock(readings, length, post, resolution)
    _say(text)


@app.command(epilog=_example("why"))
def why(
    part: PartFile,
    setting: Annotated[int | None, typer.Option("--setting", metavar="N", help="1, or 2; otherwise all.")] = None,
    number: Annotated[int | None, typer.Option("--pass", metavar="M", help="One pass; otherwise all.")] = None,
    shop: ShopFile = None,
) -> None:
    """Say of any pass how its depth, speed and feed were come by.

    From the numbers given to those on the page: formula, source and standing of each step.
    """
    with _reporting(part, shop):
        from cam.job import read_given
        from cam.plan import plan_job
        from cam.plan.why import answer_why

        text = answer_why(plan_job(*read_given(part, shop)), setting, number)
    _hand_over(text)


@app.command(epilog=_example("dialects"))
def dialects(as_json: AsJson = False) -> None:
    """List the dialects of program text."""
    from posts.dialect import describe_dialects

    rows = describe_dialects()
    if as_json:
        _say_json([{"name": name, "about": about, "says": list(says)} for name, about, says in rows])
        return
    _say("".join(f"{name}\n  {about}\n" + "".join(f"    {line}\n" for line in says) for name, about, says in rows))


@app.command(epilog=_example("new"))
def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The part file to write; - prints it.")],
) -> None:
    """Write a commented part file to start from."""
    with _reporting():
        from pathlib import Path

        from cam.files import write_file
        from cam.part.starter import starter_text

        text = starter_text("my arbor" if file == "-" else Path(file).stem)
        if file != "-":
            write_file(file, text.encode())
    _say(text if file == "-" else f"{file}: written; next: endshake check {file}\n")


def _make_job(part: str, shop: str | None, dialect: str | None) -> Job:
    from cam.job import make_job

    with _Progress() as progress:
        return make_job(part, shop, dialect=dialect, tell=progress.tell)


class _Progress:
    """Shows the step in hand on a terminal, from one second after the start."""

    WAIT = 1.0

    def __init__(self) -> None:
        self.step = ""
        self.shown = False
        self.timer: Any = None

    def tell(self, step: str) -> None:
        """Take note of the step that begins."""
        self.step = step
        if self.shown:
            self.show()
        elif self.timer is None and sys.stderr.isatty():
            from threading import Timer

            self.timer = Timer(self.WAIT, self.show)
            self.timer.daemon = True
            self.timer.start()

    def show(self) -> None:
        """Write the step over the one before."""
        self.shown = True
        sys.stderr.write(f"\r\x1b[K{self.step} ...")
        sys.stderr.flush()

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *_: object) -> None:
        """Clear the line."""
        if self.timer is not None:
            self.timer.cancel()
            self.timer.join()
        if self.shown:
            sys.stderr.write("\r\x1b[K")


@contextmanager
def _reporting(part: str = "", shop: str | None = None, *, as_json: bool = False) -> Iterator[None]:
    """Report the problems that the block raises, and exit 1. part, shop: what could be drawn to see them."""
    from cam.problem import ProblemError

    try:
        yield
    except ProblemError as found:
        if as_json:
            from cam.record import problem_data

            _say_json({"ok": False, "problems": problem_data(found.problems)})
        else:
            _complain(found.problems)
            _show_how_to_see(found, part, shop)
        raise typer.Exit(1) from None


def _show_how_to_see(found: ProblemError, part: str, shop: str | None) -> None:
    """Where it is the plan that is refused, how to draw it."""
    from cam.job import RefusedError

    if isinstance(found, RefusedError) and part:
        import shlex

        words = ["endshake", "plot", part, *(("--shop", shop) if shop else ()), "--out", "refused.svg"]
        typer.echo(_plain(f"to see it: {shlex.join(words)}"), err=True)


def _complain(problems: Sequence[Problem]) -> None:
    """Problems on the error output, in their order, and how many."""
    for problem in problems:
        head, *rows = _plain(str(problem)).split("\n")
        typer.echo("\n".join([_paint(head, "red", sys.stderr), *rows]), err=True)
    if problems:
        count = f"{len(problems)} problem" + ("s" if len(problems) > 1 else "")
        typer.echo(_paint(count, "red", sys.stderr), err=True)


def _warn(warnings: Sequence[Problem]) -> None:
    """Warnings on the error output."""
    for warning in warnings:
        head, *rows = _plain(str(warning)).split("\n")
        typer.echo("\n".join([_paint("warning", "yellow", sys.stderr) + f" {head}", *rows]), err=True)


def _paint(text: str, colour: str, stream: TextIO) -> str:
    """Colour on a terminal only, and not where NO_COLOR is set (no-color.org)."""
    if stream.isatty() and not os.environ.get("NO_COLOR"):
        return typer.style(text, fg=colour)
    return text


def _plain(text: str) -> str:
    """Text of the user's as it may go to a terminal: no control characters."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def _say(text: str) -> None:
    """An answer to a person, on the output."""
    typer.echo(_plain(text), nl=False)


def _hand_over(text: str) -> None:
    """A text that is what was asked for, as it stands, to the output."""
    typer.echo(text, nl=False)


def _say_json(data: Any) -> None:
    import json

    _hand_over(json.dumps(data, indent=2, ensure_ascii=True, allow_nan=False) + "\n")


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
