"""`python -m tests.control --count 200`: play programs through, and print how each play ended.

The samples and some random jobs, in both dialects and both senses of X, are played with each fault. Every program of as
many random jobs as asked is begun again at each of its N lines. Exits 1 where metal was spoilt and nobody was told.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator
from itertools import count, islice
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from cam.ground.problem import ProblemError
from cam.job import Job, make_job
from tests.control.mill_plays import milled, play_mill
from tests.control.operator import ToldError
from tests.control.plays import (
    Case,
    Table,
    cases,
    drop_outs,
    play_bumps,
    play_later_tools,
    play_senses,
    play_zeros,
    reground,
    restarts,
)
from tests.control.recorded import play_both_ways
from tests.search.draw import draw_part, draw_shop
from tests.search.screws import draw as draw_screw
from tests.search.screws import make as make_screw

SAMPLES = Path(__file__).parent.parent.parent / "samples"
CONTROLS = (("rs274ngc", "radius"), ("eia274d", "diameter"), ("isongc", "radius"))
NAMES = ("crank-pin", "moon-carriage-spindle", "orrery-drum-arbor")


def files_of(name: str, dialect: str, x_words: str) -> tuple[str, str]:
    """Return part and shop file of a sample, for a control of this dialect and these X words."""
    shop = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
    for key, value in (("dialect", dialect), ("x_words", x_words)):
        shop, changed = re.subn(rf'^{key} = "[^"]*"', f'{key} = "{value}"', shop, flags=re.M)
        assert changed
    return (SAMPLES / f"{name}.toml").read_text(encoding="utf-8"), shop


def sample(name: str, dialect: str, x_words: str, *, rotary: bool = False) -> Job:
    """Make a sample for a control of this dialect and these X words; rotary: its mill has a rotary axis."""
    shop = files_of(name, dialect, x_words)[1]
    if rotary:
        shop = re.sub(r"\[mill\.vice\](.|\n)*?\n(?=\[)", "", shop.replace('"tipped block"', '"rotary axis"'))
        shop = re.sub(r"^shim_distance.*\n", "", shop, flags=re.M)
    with TemporaryDirectory(prefix="endshake-control-") as folder:
        path = Path(folder) / "shop.toml"
        path.write_text(shop, encoding="utf-8")
        return make_job(str(SAMPLES / f"{name}.toml"), str(path))


def random_jobs(seed: int) -> Iterator[tuple[str, Job]]:
    """Return jobs of the search that are accepted, without end."""
    number = 0
    while True:
        rng = Random(f"{seed}-{number}")
        shop = draw_shop(rng)
        part = draw_part(rng, shop.shop)
        with TemporaryDirectory(prefix="endshake-control-") as folder:
            paths = [Path(folder) / name for name in ("part.toml", "shop.toml")]
            paths[0].write_text(part.text(), encoding="utf-8")
            paths[1].write_text(shop.text, encoding="utf-8")
            try:
                job = make_job(str(paths[0]), str(paths[1]))
            except ProblemError:
                job = None
        if job is not None and not job.problems:
            yield f"random {seed}-{number}", job
        number += 1


def screw_jobs(seed: int) -> Iterator[tuple[str, Job]]:
    """Return jobs whose program cuts a thread, without end."""
    for number in count(0):
        screw = draw_screw(Random(f"{seed}-{number}"))
        if screw.by == "die" or not screw.encoder:
            continue
        with TemporaryDirectory(prefix="endshake-control-") as folder:
            try:
                job = make_screw(screw, Path(folder))
            except ProblemError:
                continue
        if not job.problems and job.works[0].setting.threads:
            yield f"screw {seed}-{number}, {screw.thread}", job


def play_all(table: Table, case: Case, rng: Random) -> None:
    """Make every play on one program."""
    play_senses(table, case)
    play_zeros(table, case)
    play_bumps(table, case)
    play_later_tools(table, case)
    for outcome in drop_outs(case, rng):
        table.add("the current fails in a pass, begun again there", case, outcome)
    for outcome in reground(case, rng):
        table.add("the tool is reground before a cut that is measured", case, outcome)


def begin_again(job: Iterator[tuple[str, Job]], most: int) -> tuple[int, int, list[str]]:
    """Begin at every N line of so many random programs: return programs, N lines, and what came out otherwise."""
    programs, lines, wrong = 0, 0, []
    for name, one in job:
        for case in cases(one, name):
            if programs == most:
                return programs, lines, wrong
            try:
                number, said = restarts(case)
            except ToldError as told:  # though nothing is wrong
                number, said = 0, [f"{case.name}: {told}"]
            programs, lines, wrong = programs + 1, lines + number, wrong + said
    return programs, lines, wrong


def play_samples(table: Table, rng: Random) -> None:
    """Make every play on the samples, lathe and mill."""
    for name in NAMES:
        for dialect, x_words in CONTROLS:
            job = sample(name, dialect, x_words)
            for case in cases(job, f"{name}, {dialect}"):
                play_all(table, case, rng)
            for program in milled(job, f"{name}, {dialect}"):
                for play, outcome in play_mill(program):
                    table.add(play, program, outcome)
            play_both_ways(table, files_of(name, dialect, x_words), f"{name}, {dialect}", 2)


def play_random(table: Table, jobs: Iterator[tuple[str, Job]], most: int, rng: Random) -> None:
    """Make every play on so many programs."""
    every = (case for name, job in jobs for case in cases(job, name))
    for case in islice(every, most):
        play_all(table, case, rng)


def main() -> int:
    """Play, and print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.control", description=__doc__)
    parser.add_argument("--count", type=int, default=200, help="random programs to begin again at every N line")
    parser.add_argument("--played", type=int, default=8, help="random programs that every play is tried on")
    parser.add_argument("--screws", type=int, default=2, help="programs with a thread that every play is tried on")
    parser.add_argument("--seed", type=int, default=1, help="which")
    parser.add_argument("--no-samples", action="store_true", help="leave the samples out")
    parser.add_argument("--every", action="store_true", help="print every play that was told too late or not at all")
    asked = parser.parse_args()
    table, rng = Table(), Random(asked.seed)
    if not asked.no_samples:
        play_samples(table, rng)
    play_random(table, random_jobs(asked.seed), asked.played, rng)
    play_random(table, screw_jobs(asked.seed), asked.screws, rng)
    sys.stdout.write(table.text(every=asked.every))
    wrong = []
    for kind, jobs, most in (("random programs", random_jobs, asked.count), ("with threads", screw_jobs, asked.screws)):
        programs, lines, other = begin_again(jobs(asked.seed + 1), most)
        sys.stdout.write(f"begun again at {lines} N lines of {programs} {kind}: {len(other)} came out otherwise\n")
        sys.stdout.write("".join(f"    {w}\n" for w in other[:20]))
        wrong += other
    return 1 if table.spoilt or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
