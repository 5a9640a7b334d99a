"""Print every ratio as a table: what is measured, its baseline beside it, and the quotient of the medians.

The two sides of a row run by turns in one process or as whole processes, so that a machine that slows down
slows down both. Milliseconds mean little elsewhere; the ratios are what to compare.
"""

from __future__ import annotations

import argparse
import json
import os
import re
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

import ezdxf

from cam.dxf.order import put_in_order
from cam.dxf.read import read_sketch
from cam.dxf.sections import find_sections
from cam.dxf.write import draw_dxf
from cam.job import make_job, rules_of
from cam.job.milling import cutters_of
from cam.judge import simulate
from cam.judge.mill import simulate_mill
from cam.rs274 import read_program
from tests.bench.growth import measure_growth, show_growth
from tests.bench.metal import cut_exactly, cut_with_shapely
from tests.bench.roughing import measure_all, show_ratios
from tests.test_mill_solid import milled_solid

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from pygcode import Line

ROOT = Path(__file__).parent.parent.parent
SAMPLES = ("orrery-drum-arbor", "moon-carriage-spindle", "crank-pin")
HEAVY = ("numpy", "scipy", "shapely", "pint", "matplotlib")

AS_INSTALLED = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""An environment that keeps compiled modules and templates, as in an installed copy; first runs do not count."""

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

MAKE = """
import runpy, sys
import cam.job.outputs
{change}
sys.argv = ["endshake", "make", {part!r}, "--out", {out!r}]
runpy.run_module("cam", run_name="__main__")
"""
"""Makes a job, after a change to our own code."""
UNJUDGED = "cam.job.outputs.require_pages = lambda job, text, path: text"
"""Lets every page pass unread."""

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
    """Return the medians of both sides, run by turns after one run of each that is thrown away."""
    ours(), theirs()
    pairs = [(ours(), theirs()) for _ in range(runs)]
    return middle([a for a, _ in pairs]), middle([b for _, b in pairs])


def middle(all_took: Sequence[Took]) -> Took:
    """Return the medians of clock and processor."""
    return Took(median(t.clock for t in all_took), median(t.processor for t in all_took))


def whole(command: Sequence[str]) -> Timed:
    """Return a function that times a command as a whole process."""

    def run() -> Took:
        begin, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, cwd=ROOT, check=False, text=True, env=AS_INSTALLED)
        clock, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
        if done.returncode:
            raise SystemExit(f"{' '.join(command)}\n{done.stderr}")
        return Took(clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)

    return run


def inside(work: Callable[[], object]) -> Timed:
    """Return a function that times a call in this process."""

    def run() -> Took:
        begin, before = time.perf_counter(), time.process_time()
        work()
        return Took(time.perf_counter() - begin, time.process_time() - before)

    return run


def modules_of(argv: Sequence[str], scratch: Path) -> list[str]:
    """Return every module that this command line ends up with."""
    out = scratch / "modules.json"
    whole([sys.executable, "-c", MODULES.format(argv=["endshake", *argv], out=str(out))])()
    names: list[str] = json.loads(out.read_text())
    return names


def command_row(what: str, argv: Sequence[str], runs: int, scratch: Path, target: str = "-") -> tuple[Row, set[str]]:
    """Time a command as a whole process against its import floor; return which heavy libraries it loads too.

    Args:
        argv: its last word says where to write, and gets a number for each run.
    """
    count = iter(range(10**6))

    def fresh() -> list[str]:
        *rest, out = argv
        return [*rest, str(Path(out).with_stem(f"{Path(out).stem}-{next(count)}"))]

    def ours_once() -> Took:
        return whole([sys.executable, "-m", "cam", *fresh()])()

    names = modules_of(fresh(), scratch)
    foreign = [n for n in names if n.split(".")[0] not in ("cam", "posts", "templates", "__main__")]
    ours, theirs = by_turns(ours_once, whole([sys.executable, "-c", FLOOR.format(names=foreign)]), runs)
    return Row(what, "import floor of its libraries", ours, theirs, target), {n for n in names if n in HEAVY}


def make_rows(runs: int, scratch: Path) -> tuple[list[Row], list[str]]:
    """Time `make` of each sample against its import floor; return which heavy libraries it loads too."""
    found = [
        command_row(f"make {s}", ["make", f"samples/{s}.toml", "--out", str(scratch / s)], runs, scratch, "<= 1.5")
        for s in SAMPLES
    ]
    return [row for row, _ in found], sorted(set().union(*(heavy for _, heavy in found)))


def share_row(runs: int, scratch: Path) -> Row:
    """Time what square and cross hole add to `make`, against the same part without them."""
    text = (ROOT / "samples" / f"{SAMPLES[0]}.toml").read_text(encoding="utf-8")
    tables = re.split(r"(?m)^(?=\[)", text)
    bare = scratch / "without.toml"
    bare.write_text("".join(t for t in tables if not t.startswith(("[section.square]", "[[cross_hole]]"))))
    count = iter(range(10**6))

    def make(part: str) -> Took:
        out = str(scratch / f"share-{next(count)}")
        return whole([sys.executable, "-m", "cam", "make", part, "--shop", "samples/shop.toml", "--out", out])()

    ours, theirs = by_turns(lambda: make(f"samples/{SAMPLES[0]}.toml"), lambda: make(str(bare)), runs)
    return Row(f"make {SAMPLES[0]}", "without square and cross hole", ours, theirs, "-")


def page_rows(runs: int, scratch: Path) -> list[Row]:
    """Time what reading every page back and cutting with it adds to `make`, against the same without it."""
    count = iter(range(10**6))

    def make(name: str, change: str) -> Timed:
        def once() -> Took:
            out = str(scratch / f"judged-{next(count)}")
            text = MAKE.format(change=change, part=f"samples/{name}.toml", out=out)
            return whole([sys.executable, "-c", text])()

        return once

    return [
        Row(f"make {s}", "its pages not judged", *by_turns(make(s, ""), make(s, UNJUDGED), runs), "<= 1.15")
        for s in SAMPLES
    ]


def other_rows(runs: int, scratch: Path) -> list[Row]:
    """Time the verbs that write pages, and `compare`, each against its own import floor."""
    part, made = f"samples/{SAMPLES[0]}.toml", str(scratch / "made")
    whole([sys.executable, "-m", "cam", "make", part, "--out", made])()
    commands = {
        "view": ["view", part, "--out", str(scratch / "view.html")],
        "summary --print": ["summary", part, "--paper", "A4", "--print", str(scratch / "pages.html")],
        "compare, folder with part, picture": ["compare", made, part, "--out", str(scratch / "changes.svg")],
    }
    return [command_row(what, argv, runs, scratch)[0] for what, argv in commands.items()]


def help_row(runs: int) -> Row:
    """Time `--help` against bare Python."""
    ours, theirs = by_turns(whole([sys.executable, "-m", "cam", "--help"]), whole([sys.executable, "-c", ""]), runs)
    return Row("--help", "bare Python", ours, theirs, "<= 18")


def reader_row(runs: int) -> Row:
    """Time our strict reader against pygcode's line parser: the lines of code of a program, over and over."""
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
    """Time metal alone, and all judged, against a shapely difference for each cut, nose of 48 points (0.1 um)."""
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


def mill_row(runs: int) -> Row:
    """Time the judgement on the square's program against the solid alone that a geometry library makes of it."""
    job = make_job(str(ROOT / "samples" / f"{SAMPLES[0]}.toml"))
    assert job.mill is not None
    work = next(w for w in job.mill.works if w.name == "square")
    cutters = cutters_of(job.shop)
    radius = next(c.radius for c in cutters if c.kind == "end mill")
    ours, theirs = by_turns(
        inside(lambda: simulate_mill(work.program, work.plan.work, cutters)),
        inside(lambda: milled_solid(work.program, work.plan.work, radius)),
        runs,
    )
    count = sum(1 for m in work.program.motions if m.kind == "line")
    return Row(f"square judged, {count} cutting moves", "manifold3d, its solid alone", ours, theirs, "<= 0.25")


def drawing_row(runs: int, scratch: Path) -> Row:
    """Time a half-profile read, put in order and made into sections, against reading the file's entities alone."""
    path = scratch / "profile.dxf"
    path.write_bytes(draw_dxf(make_job(str(ROOT / "samples" / f"{SAMPLES[1]}.toml")).part))

    def read() -> None:
        sketch = read_sketch(str(path))
        find_sections(sketch, put_in_order(sketch)[0])

    ours, theirs = by_turns(inside(read), inside(lambda: ezdxf.readfile(path)), runs)  # type: ignore[attr-defined]
    return Row("DXF half-profile to sections", "ezdxf reading the file", ours, theirs, "-")


def show(rows: Sequence[Row]) -> str:
    """Return the table."""
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
    parser.add_argument("--pages", action="store_true", help="only make with its pages judged against not judged")
    asked = parser.parse_args()
    runs = asked.runs
    with tempfile.TemporaryDirectory() as scratch:
        if asked.pages:
            print(show(page_rows(runs, Path(scratch))))
            return
        rows, heavy = make_rows(runs, Path(scratch))
        rows += page_rows(runs, Path(scratch))
        rows += [share_row(runs, Path(scratch)), *other_rows(runs, Path(scratch)), drawing_row(runs, Path(scratch))]
    rows += [help_row(runs), reader_row(runs), *simulation_rows(runs), mill_row(runs)]
    print(show(rows))
    print(f"\n{show_ratios(measure_all())}")
    print(f"\n{show_growth(measure_growth())}")
    print(f"\nheavy libraries loaded by make: {', '.join(heavy) or 'none'} (of {', '.join(HEAVY)})")


main()
