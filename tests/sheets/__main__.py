"""Judge the pages of many random jobs by their printed text, and count: rows read, sizes reached, worst residue.

python -m tests.sheets --count 10000 --seed 1
python -m tests.sheets --damages --count 1000 --seed 1
"""

from __future__ import annotations

import argparse
import time
from collections import Counter

from hypothesis import HealthCheck, Phase, given, seed, settings

from cam.sheet.standing import AIR
from tests.sheets.damages import damage_shares
from tests.sheets.jobs import jobs, write_job
from tests.sheets.law import count_rows, judge_pages, worst_residue


def run(count: int, number: int, minutes: float) -> int:
    """Judge so many jobs that could be planned; how many faults there were."""
    rows: Counter[str] = Counter()
    dials: Counter[str] = Counter()
    done = refused = faults = sizes = 0
    worst, worst_job = 0.0, ""
    until = time.monotonic() + 60 * minutes

    @seed(number)
    @settings(max_examples=20 * count, database=None, deadline=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(jobs())
    def judge(texts: tuple[str, str]) -> None:
        nonlocal done, refused, faults, sizes, worst, worst_job, rows
        if done >= count or time.monotonic() > until:
            return
        job = write_job(*texts)
        if job is None:
            refused += 1
            return
        found = judge_pages(job)
        done += 1
        rows += count_rows(found)
        sizes += sum(len(v.reached) for v in found.verdicts)
        lathe = job.shop.lathe
        dials[f"{lathe.control.kind}, X {lathe.x.reading} {lathe.x.habit}, {lathe.x.counts}"] += 1
        if (residue := worst_residue(found)) > worst:
            worst, worst_job = residue, f"division {lathe.x.division.text} and {lathe.z.division.text}"
        problems = [p for v in found.verdicts for p in v.problems if p.kind != AIR]
        if problems or found.outside:
            faults += 1
            print(f"--- fault {faults}, job {done}")
            print("\n".join([*(str(p) for p in problems[:4]), *found.outside[:4]]))

    judge()
    print(f"{done} jobs judged ({refused} refused by part and shop), {faults} with a fault")
    print(f"rows read: {', '.join(f'{n} {kind}' for kind, n in sorted(rows.items()))}")
    print(f"sizes reached: {sizes}; worst residue {worst:.3f} divisions ({worst_job})")
    for words, n in sorted(dials.items()):
        print(f"  {n:6d}  {words}")
    return faults


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.sheets", description=__doc__)
    parser.add_argument("--count", type=int, default=300, help="jobs to judge, or pages to damage (default 300)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=10_000.0, help="stop after so long")
    parser.add_argument(
        "--damages", action="store_true", help="damage pages instead, and print the share found by kind"
    )
    given_ = parser.parse_args()
    if given_.damages:
        print(damage_shares(given_.count, given_.seed, given_.minutes))
    elif run(given_.count, given_.seed, given_.minutes):
        raise SystemExit(1)


main()
