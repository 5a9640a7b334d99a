"""`python -m tests.search --minutes 60 --seed 1`: search for faults for as long as told, and say what was found.

By its seed and number every job is the same on every run; how many there is time for varies. Faults are kept in a
folder, each with its part, its shop and the programs; `--only N` does one job again and shows it.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import count, islice
from pathlib import Path

from tests.search.run import Outcome, run, run_other

BATCH = 8


def main() -> int:
    """Search; return 1 where a fault was found."""
    asked = _arguments()
    job = partial(_job, asked.seed, pages=asked.pages, stops=asked.stops, kind=asked.kind, dialect=asked.dialect)
    if asked.only is not None:
        return _show(job(asked.only), asked)
    tally = Tally(asked.seed, Path(asked.keep))
    until = time.monotonic() + 60 * asked.minutes
    numbers = islice(count(asked.begin), asked.count)
    if asked.jobs == 1:
        for number in numbers:
            if time.monotonic() > until:
                break
            tally.add(job(number))
    else:
        with ProcessPoolExecutor(asked.jobs) as pool:
            while time.monotonic() < until and (some := list(islice(numbers, BATCH * asked.jobs))):
                for outcome in pool.map(job, some, chunksize=2):
                    tally.add(outcome)
    sys.stdout.write(tally.report())
    return 1 if tally.faults else 0


def _job(seed: int, number: int, *, pages: int, stops: int, kind: str, dialect: str) -> Outcome:
    return run(seed, number, pages, dialect, stops) if kind == "turned" else run_other(seed, number, kind)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.search", description=__doc__)
    parser.add_argument("--minutes", type=float, default=5.0, help="how long")
    parser.add_argument("--seed", type=int, default=1, help="which jobs")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes at once; else one for a core")
    parser.add_argument("--begin", type=int, default=0, help="number of the first job")
    parser.add_argument("--count", type=int, default=None, help="no more jobs than this")
    parser.add_argument("--keep", default="build/search", help="folder that faults are kept in")
    parser.add_argument("--pages", type=int, default=1, help="judge pages and stops of one job in so many; 0 for none")
    parser.add_argument("--stops", type=int, default=0, help="make one job in so many again from its stops; 0 for none")
    parser.add_argument(
        "--kind", choices=("turned", "milled", "screw"), default="turned",
        help="turned arbors; those with a square and a cross hole; or screws",
    )  # fmt: skip
    parser.add_argument("--dialect", default="", help="of the lathe's programs; else drawn")
    parser.add_argument("--only", type=int, default=None, help="one job by its number, shown")
    return parser.parse_args()


class Tally:
    """What has been found so far."""

    def __init__(self, seed: int, keep: Path) -> None:
        self.seed, self.keep = seed, keep
        self.kinds: Counter[str] = Counter()
        self.refusals: Counter[str] = Counter()
        self.untried: Counter[str] = Counter()
        self.fixes: Counter[tuple[str, bool]] = Counter()
        self.faults: list[tuple[int, str]] = []
        self.fixed = 0

    def add(self, outcome: Outcome) -> None:
        """Count one outcome; a fault is kept at once."""
        self.kinds[outcome.kind] += 1
        self.fixes.update(outcome.fixes)
        self.refusals.update(set(outcome.refused))
        self.untried.update(outcome.untried)
        self.fixed += outcome.kind == "accepted" and bool(outcome.refused)
        if outcome.kind == "fault":
            self.faults.append((outcome.number, outcome.what[0]))
            keep_files(self.keep / f"{self.seed}-{outcome.number}", outcome)

    def report(self) -> str:
        """Say in words what was found."""
        tried = sum(self.kinds.values())
        rows = [f"seed {self.seed}: {tried} jobs tried, " + ", ".join(
            f"{self.kinds[kind]} {kind}" for kind in ("accepted", "refused", "fault"))]  # fmt: skip
        rows += [f"{self.fixed} of those accepted were first refused, and fixed as the refusal says", "", "refused for"]
        rows += [f"  {n:6} {what}" for what, n in self.refusals.most_common()]
        rows += ["", "fixes tried, and found to help"]
        names = sorted({name for name, _ in self.fixes})
        rows += [f"  {self.fixes[n, True] + self.fixes[n, False]:6} {self.fixes[n, True]:6} {n}" for n in names]
        helped = sum(n for (_, worked), n in self.fixes.items() if worked)
        rows += [f"  {sum(self.fixes.values()):6} {helped:6} all"]
        rows += ["", "refused, with a fix that cannot be made by rote"]
        rows += [f"  {n:6} {what}" for what, n in self.untried.most_common()]
        rows += ["", f"faults: {len(self.faults)}" + (f", kept in {self.keep}" if self.faults else "")]
        rows += [f"  {self.seed}-{number}: {what.splitlines()[0]}" for number, what in self.faults]
        return "\n".join([*rows, ""])


def keep_files(folder: Path, outcome: Outcome) -> None:
    """Write what is kept of a fault."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "what.txt").write_text("\n".join(outcome.what) + "\n", encoding="utf-8")
    for name, text in outcome.files.items():
        (folder / name).write_text(text, encoding="utf-8")


def _show(outcome: Outcome, asked: argparse.Namespace) -> int:
    sys.stdout.write(f"{asked.seed}-{outcome.number}: {outcome.kind}\n" + "\n".join(outcome.what) + "\n")
    if outcome.kind == "fault":
        keep_files(Path(asked.keep) / f"{asked.seed}-{outcome.number}", outcome)
    return 1 if outcome.kind == "fault" else 0


if __name__ == "__main__":
    sys.exit(main())
