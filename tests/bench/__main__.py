"""Print every ratio as a table: what is measured, its baseline beside it, and the quotient of the medians.

The two sides of a row run by turns in one process or as whole processes, so that a machine that slows down
slows down both. Milliseconds mean little elsewhere; the ratios are what to compare.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from typing import NamedTuple

from cam.job import make_job, rules_of
from cam.rs274 import read_program
from cam.simulate import simulate
from tests.bench.metal import cut_exactly, cut_with_shapely
from tests.bench.roughing import measure_all, show_ratios

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from pygcode import Line

ROOT = Path(__file__).parent.parent.parent
SAMPLES = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin")
HEAVY = ("numpy", "scipy", "shapely", "pint", "matplotlib")

AS_INSTALLED = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""Compiled modules and templates are kept, as in an installed copy; the first run of each row is thrown away."""

MODULES = """
import json, runpy, sys
sys.argv = {argv!r}
try:
    runpy.run_module("cam", run_name="__main__")
except SystemExit as left:
    assert not left.code, left.code
open({out!r}, "w").write(json.dumps(list(sys.modules)))
"""
"""Runs the command line and notes every module that is loaded at its end."""

FLOOR = """
import importlib, sys
for name in {names!r}:
    try:
        importlib.import_module(name)
    except ImportError:
        pass
import jinja2, typer
jinja2.Environment(undefined=jinja2.StrictUndefined).from_string("{{{{ n }}}}").render(n=1)
app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
@app.command()
def run(part: str, out: str = "", json: bool = False) -> None:
    typer.echo(part)
@app.command()
def other(part: str) -> None:
    pass
sys.argv = ["floor", "run", "part.toml", "--out", "build"]
app()
"""
"""Imports the libraries that the command ends up with, and runs a command line and a template of no content."""


class Took(NamedTuple):
    """Seconds by the clock, and of the processor (which other load on the machine disturbs less)."""

    clock: float
    processor: float


Timed = Callable[[], Took]


class Row(NamedTuple):
    """One line of the table."""

    what: str
    baseline: str
    ours: Took
    theirs: Took
    target: str


def by_turns(ours: Timed, theirs: Timed, runs: int) -> tuple[Took, Took]:
    """Medians of both sides, run by turns after one of each that is thrown away."""
    ours(), theirs()
    pairs = [(ours(), theirs()) for _ in range(runs)]
    return middle([a for a, _ in pairs]), middle([b for _, b in pairs])


def middle(all_took: Sequence[Took]) -> Took:
    """Medians of clock and processor."""
    return Took(median(t.clock for t in all_took), median(t.processor for t in all_took))


def whole(command: Sequence[str]) -> Timed:
    """Times a command as a whole process."""

    def run() -> Took:
        begin, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, cwd=ROOT, check=False, text=True, env=AS_INSTALLED)
        clock, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
        if done.returncode:
            raise SystemExit(f"{' '.join(command)}\n{done.stderr}")
        return Took(clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)

    return run


def inside(work: Callable[[], object]) -> Timed:
    """Times a call in this process."""

    def run() -> Took:
        begin, before = time.perf_counter(), time.process_time()
        work()
        return Took(time.perf_counter() - begin, time.process_time() - before)

    return run


def modules_of(argv: Sequence[str], scratch: Path) -> list[str]:
    """Every module that this command line ends up with."""
    out = scratch / "modules.json"
    whole([sys.executable, "-c", MODULES.format(argv=["endshake", *argv], out=str(out))])()
    names: list[str] = json.loads(out.read_text())
    return names


def make_rows(runs: int, scratch: Path) -> tuple[list[Row], list[str]]:
    """`make` of each sample against its import floor; and which heavy libraries it loads."""
    rows, heavy = [], set[str]()
    for sample in SAMPLES:
        argv = ["make", f"samples/{sample}.toml", "--out"]
        names = modules_of([*argv, str(scratch / f"{sample}-seen")], scratch)
        heavy |= {name for name in names if name in HEAVY}
        foreign = [n for n in names if n.split(".")[0] not in ("cam", "posts", "templates", "__main__")]
        count = iter(range(10**6))

        def make(argv: Sequence[str] = argv, sample: str = sample, count: object = count) -> Took:
            folder = str(scratch / f"{sample}-{next(count)}")  # type: ignore[call-overload]
            return whole([sys.executable, "-m", "cam", *argv, folder])()

        floor = whole([sys.executable, "-c", FLOOR.format(names=foreign)])
        ours, theirs = by_turns(make, floor, runs)
        rows.append(Row(f"make {sample}", "import floor of its libraries", ours, theirs, "<= 1.5"))
    return rows, sorted(heavy)


def help_row(runs: int) -> Row:
    """`--help` against bare Python."""
    ours, theirs = by_turns(whole([sys.executable, "-m", "cam", "--help"]), whole([sys.executable, "-c", ""]), runs)
    return Row("--help", "bare Python", ours, theirs, "<= 18")


def reader_row(runs: int) -> Row:
    """Our strict reader against pygcode's line parser: the lines of code of a program, over and over."""
    job = make_job(str(ROOT / "samples" / "orrery-drum-arbor.toml"))
    rules = rules_of(job.dialect, job.shop)
    *code, end = [line for line in job.works[0].text.splitlines() if not line.startswith("(")]
    lines = [*(code * 10), end]
    text = "\n".join(lines) + "\n"
    ours, theirs = by_turns(
        inside(lambda: read_program(text, rules, "x.ngc")), inside(lambda: [Line(line) for line in lines]), runs
    )
    return Row(f"read {len(lines)} lines of code", "pygcode Line on each line", ours, theirs, "<= 0.2")


def simulation_rows(runs: int) -> list[Row]:
    """Against a shapely difference for each cutting move, nose of 48 points (0.1 um): metal alone, and all judged."""
    job = make_job(str(ROOT / "samples" / "orrery-drum-arbor.toml"))
    work = job.works[0]
    moves = sum(1 for m in work.program.motions if m.kind in ("line", "arc"))
    shapely = inside(lambda: cut_with_shapely(work.program, work.setting, job.shop))
    metal = inside(lambda: cut_exactly(work.program, work.setting, job.shop))
    judged = inside(lambda: simulate(work.program, work.setting, job.shop))
    return [
        Row(
            f"metal removed, {moves} cutting moves",
            "shapely difference per move",
            *by_turns(metal, shapely, runs),
            "<= 0.25",
        ),
        Row("whole judgement of the same", "shapely, metal alone", *by_turns(judged, shapely, runs), "-"),
    ]


def show(rows: Sequence[Row]) -> str:
    """The table."""
    lines = [f"{'what':44} {'baseline':30} {'ours ms':>9} {'base ms':>9} {'ratio':>7} {'cpu ratio':>10}  target"]
    for row in rows:
        ours, theirs = row.ours, row.theirs
        lines.append(
            f"{row.what:44} {row.baseline:30} {1000 * ours.clock:9.2f} {1000 * theirs.clock:9.2f} "
            f"{ours.clock / theirs.clock:7.2f} {ours.processor / theirs.processor:10.2f}  {row.target}"
        )
    return "\n".join(lines)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--runs", type=int, default=9, help="of each side of each row (default 9)")
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as scratch:
        rows, heavy = make_rows(runs, Path(scratch))
    rows += [help_row(runs), reader_row(runs), *simulation_rows(runs)]
    print(show(rows))
    print(f"\n{show_ratios(measure_all())}")
    print(f"\nheavy libraries loaded by make: {', '.join(heavy) or 'none'} (of {', '.join(HEAVY)})")


main()
