"""Keep every text of the frozen jobs in a file, or name the texts that differ from those that a file keeps.

    python -m tests.frozen_jobs --write build/before.zip        in the tree before a change
    python -m tests.frozen_jobs --against build/before.zip      in the tree after it: 1 where anything differs
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import zip_longest
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZipFile

from tests.frozen_jobs.jobs import Job, all_jobs
from tests.frozen_jobs.made import FAULT, REFUSED, Made, make, make_all

GIVEN = "given.json"
"""The name in each job's folder of what it is made from."""


def main() -> int:
    """Write or compare; return 1 where a text differs."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.frozen_jobs", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--write", metavar="FILE", help="keep the texts of this tree in a file")
    what.add_argument("--against", metavar="FILE", help="make the jobs of a file again and compare")
    parser.add_argument("--count", type=int, default=300, help="random jobs beside the samples; 300 unless said")
    parser.add_argument("--seed", type=int, default=1, help="which random jobs; 1 unless said")
    parser.add_argument("--only", metavar="WORD", default="", help="of a file, the jobs with this in their name")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once; 2 unless said")
    asked = parser.parse_args()
    began = time.monotonic()
    with ProcessPoolExecutor(asked.jobs) as pool:
        if asked.write:
            groups = pool.map(make_all, all_jobs(asked.count, asked.seed), chunksize=1)
            made = sorted((one for group in groups for one in group), key=lambda one: one.job.name)
            write(Path(asked.write), made)
            found: list[str] = []
        else:
            kept = [one for one in read(Path(asked.against)) if asked.only in one.job.name]
            if not kept:
                parser.error(f"{asked.against} has no job with {asked.only!r} in its name")
            made = list(pool.map(make, [one.job for one in kept], chunksize=1))
            found = [words for pair in zip(kept, made, strict=True) for words in differing(*pair)]
    sys.stdout.write("".join(f"{words}\n" for words in found) + tell(made, time.monotonic() - began))
    if asked.against:
        jobs = len({words.partition("/")[0] for words in found})
        sys.stdout.write(f"{len(found)} texts of {jobs} jobs differ\n" if found else "nothing differs\n")
    return 1 if found else 0


def write(path: Path, made: list[Made]) -> None:
    """Keep jobs and their texts."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        for one in made:
            given = {name: getattr(one.job, name) for name in ("part", "shop", "file", "dialect")}
            archive.writestr(f"{one.job.name}/{GIVEN}", json.dumps(given))
            for name, text in one.texts.items():
                archive.writestr(f"{one.job.name}/{name}", text)


def read(path: Path) -> list[Made]:
    """Return jobs and texts as they were kept."""
    folders: dict[str, dict[str, str]] = {}
    with ZipFile(path) as archive:
        for name in archive.namelist():
            inside = PurePosixPath(name)
            folders.setdefault(str(inside.parent), {})[inside.name] = archive.read(name).decode()
    return [Made(Job(name, **json.loads(texts.pop(GIVEN))), texts) for name, texts in folders.items()]


def differing(kept: Made, made: Made) -> Iterator[str]:
    """Name each text that differs, with the first line that does."""
    for name in sorted({*kept.texts, *made.texts}):
        was, now = kept.texts.get(name), made.texts.get(name)
        if was == now:
            continue
        yield f"{kept.job.name}/{name}" + (
            ": is new" if was is None else ": is gone" if now is None else first_difference(was, now)
        )


def first_difference(was: str, now: str) -> str:
    """Return number and both readings of the first line in which two texts differ, shown from a little before it."""
    pairs = zip_longest(was.splitlines(keepends=True), now.splitlines(keepends=True), fillvalue="")
    number, (old, new) = next((n, pair) for n, pair in enumerate(pairs, 1) if pair[0] != pair[1])
    place = next((at for at, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new)))
    begin = max(place - 40, 0)
    return f":{number}\n  was  {old[begin : begin + 120]!r}\n  now  {new[begin : begin + 120]!r}"


def tell(made: list[Made], seconds: float) -> str:
    """Say how many jobs there are, by what became of them, and one number for all their texts."""
    kinds = Counter("refused" if REFUSED in m.texts else "at fault" if FAULT in m.texts else "made" for m in made)
    total = hashlib.sha256()
    for one in sorted(made, key=lambda one: one.job.name):
        for name, text in sorted(one.texts.items()):
            total.update(f"{one.job.name}/{name}\n{text}".encode())
    return (
        f"{len(made)} jobs, {', '.join(f'{n} {kind}' for kind, n in kinds.most_common())}; "
        f"{sum(len(m.texts) for m in made)} texts, {total.hexdigest()[:16]}; {seconds:.0f} s\n"
    )


if __name__ == "__main__":
    sys.exit(main())
