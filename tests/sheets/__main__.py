"""Judge the pages of many random jobs by their printed text, and count: rows read, sizes reached, worst residue.

python -m tests.sheets --count 10000 --seed 1
python -m tests.sheets --damages --count 1000 --seed 1        (--form print: as HTML; --what mill, thread)
"""

from __future__ import annotations

import argparse
import time
import traceback
from collections import Counter
from pathlib import Path

from tests.sheets.jobs import draw_until, jobs, write_job
from tests.sheets.law import count_rows, judge_pages, worst_residue
from tests.sheets.shares import damage_pages


def run(count: int, number: int, minutes: float, kept: Path | None = None) -> int:
    """Judge so many jobs that could be planned; return how many faults there were."""
    rows: Counter[str] = Counter()
    dials: Counter[str] = Counter()
    done = refused = faults = sizes = 0
    worst, worst_job = 0.0, ""
    until = time.monotonic() + 60 * minutes

    def take(texts: tuple[str, str]) -> bool:
        judge_one(texts)
        return done < count and time.monotonic() < until

    def judge_one(texts: tuple[str, str]) -> None:
        nonlocal done, refused, faults, sizes, worst, worst_job, rows
        try:
            job = write_job(*texts)
            if job is None:
                refused += 1
                return
            found = judge_pages(job)
        except Exception as error:  # whatever it stumbles over: it is counted, and the count goes on
            faults += 1
            print(f"--- fault {faults}, job {done}\nstumbles: {type(error).__name__}: {error}")
            if kept is not None:
                keep(kept, faults, texts, traceback.format_exc())
            return
        done += 1
        rows += count_rows(found)
        sizes += sum(len(v.reached) for v in found.verdicts)
        lathe = job.shop.lathe
        dials[f"{lathe.control.kind}, X {lathe.x.reading} {lathe.x.habit}, {lathe.x.counts}"] += 1
        if (residue := worst_residue(found)) > worst:
            worst, worst_job = residue, f"division {lathe.x.division.text} and {lathe.z.division.text}"
        problems = [p for v in found.verdicts for p in v.problems]
        if problems or found.outside:
            faults += 1
            print(f"--- fault {faults}, job {done}")
            print("\n".join([*(str(p) for p in problems[:4]), *found.outside[:4]]))
            if kept is not None:
                keep(kept, faults, texts, job.text)

    draw_until(jobs(), number, take)
    print(f"{done} jobs judged ({refused} refused by part and shop), {faults} with a fault")
    print(f"rows read: {', '.join(f'{n} {kind}' for kind, n in sorted(rows.items()))}")
    print(f"sizes reached: {sizes}; worst residue {worst:.3f} divisions ({worst_job})")
    for words, n in sorted(dials.items()):
        print(f"  {n:6d}  {words}")
    return faults


def keep(folder: Path, fault: int, texts: tuple[str, str], pages: str) -> None:
    """Keep a job that has a fault: its part, its shop and its pages."""
    home = folder / f"fault-{fault}"
    home.mkdir(parents=True, exist_ok=True)
    for name, text in zip(("part.toml", "shop.toml", "summary.txt"), (*texts, pages), strict=True):
        (home / name).write_text(text, encoding="utf-8")


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.sheets", description=__doc__)
    parser.add_argument("--count", type=int, default=300, help="jobs to judge, or pages to damage (default 300)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=10_000.0, help="stop after so long")
    parser.add_argument(
        "--damages", action="store_true", help="damage pages instead, and print the share found by kind"
    )
    parser.add_argument("--keep", type=Path, help="a folder in which jobs with a fault are kept")
    parser.add_argument("--form", choices=["text", "print"], default="text", help="of damaged pages")
    parser.add_argument("--what", choices=["lathe", "mill", "thread"], default="lathe", help="whose pages are damaged")
    given_ = parser.parse_args()
    if given_.damages:
        asked = {"form": given_.form, "what": given_.what, "minutes": given_.minutes}
        print(damage_pages(given_.count, given_.seed, **asked).table())
    elif run(given_.count, given_.seed, given_.minutes, given_.keep):
        raise SystemExit(1)


main()
