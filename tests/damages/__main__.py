"""Damage programs of lathe and mill, and print how many are found of those that do harm, by kind.

Harm: metal lies otherwise by more than 0.01 mm, something is touched, or a needed stop, speed, feed or mode is gone. It
is told by means that the judge does not share: a second reader, a sweep and heights of their own. The page, which has a
reader of its own, is to join as another case with lines, found and harm.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Protocol

from cam.job import make_job
from tests.damages.kinds import KINDS
from tests.damages.lathe import LatheCase
from tests.damages.mill import MillCase

SAMPLES = Path(__file__).parent.parent.parent / "samples"
DIALECTS = ("rs274ngc", "eia274d", "isongc")
WANTED = 0.995


class Case(Protocol):
    """A text that can be damaged, judged, and looked at by other means."""

    name: str

    @property
    def lines(self) -> list[str]: ...

    def found(self, lines: list[str]) -> bool: ...

    def harm(self, lines: list[str]) -> bool: ...


def make_cases(folder: Path) -> list[Case]:
    """Make programs of every kind: lathe and mill, every dialect, the work turned by hand and by a rotary axis."""
    cases: list[Case] = []
    shop = (SAMPLES / "shop.toml").read_text(encoding="utf-8")
    rotary = folder / "rotary.toml"
    rotary.write_text(shop.replace('square_by = "tipped block"', 'square_by = "rotary axis"'), encoding="utf-8")
    for dialect in DIALECTS:
        for name in ("orrery-drum-arbor", "moon-carriage-spindle"):
            job = make_job(str(SAMPLES / f"{name}.toml"), dialect=dialect, mill_dialect=dialect)
            cases += [LatheCase(f"{name} {w.file} {dialect}", job, k) for k, w in enumerate(job.works)]
            cases += [MillCase(f"{name} {w.file} {dialect}", job, w) for w in (job.mill.works if job.mill else ())]
        job = make_job(str(SAMPLES / "orrery-drum-arbor.toml"), str(rotary), dialect=dialect, mill_dialect=dialect)
        assert job.mill is not None
        cases += [MillCase(f"rotary {w.file} {dialect}", job, w) for w in job.mill.works]
    return cases


def run(cases: list[Case], each: int, seed: int, show: int = 0) -> dict[str, Counter[str]]:
    """Damage each case so often in every kind; return how many did harm, were found, or were found without harm."""
    table: dict[str, Counter[str]] = {}
    shown = 0
    for kind, damage in KINDS.items():
        count = table.setdefault(kind, Counter())
        for case in cases:
            pick = Random(f"{seed} {kind} {case.name}")
            for _ in range(each):
                lines = damage(case.lines, pick)
                if lines is None:
                    continue
                harm, found = case.harm(lines), case.found(lines)
                count["harm"] += harm
                count["found"] += harm and found
                count["told"] += found and not harm
                count["all"] += 1
                if harm and not found and shown < show:
                    shown += 1
                    differ = [(k + 1, a, b) for k, (a, b) in enumerate(zip(case.lines, lines, strict=True)) if a != b]
                    print(f"not found: {kind}; {case.name}: {differ[:2]}", file=sys.stderr)
    return table


def show_table(table: dict[str, Counter[str]]) -> str:
    """Show the share found of each kind, and of all."""
    rows = [f"{'damage':32} {'made':>6} {'harm':>6} {'found':>6} {'share':>8}  {'told without harm':>17}"]
    whole = Counter[str]()
    for count in table.values():
        whole += count
    for kind, n in [*table.items(), ("all", whole)]:
        share = f"{100 * n['found'] / n['harm']:.2f} %" if n["harm"] else "-"
        rows.append(f"{kind:32} {n['all']:6} {n['harm']:6} {n['found']:6} {share:>8}  {n['told']:17}")
    return "\n".join(rows)


def main() -> None:
    """Damage, count, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.damages", description=__doc__)
    parser.add_argument("--each", type=int, default=8, help="damages of each kind to each program (default 8)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", type=int, default=20, help="so many that were not found (default 20)")
    given = parser.parse_args()
    with TemporaryDirectory() as folder:
        table = run(make_cases(Path(folder)), given.each, given.seed, given.show)
    print(show_table(table))
    whole = sum(table.values(), Counter[str]())
    sys.exit(whole["found"] < WANTED * whole["harm"])


if __name__ == "__main__":
    main()
