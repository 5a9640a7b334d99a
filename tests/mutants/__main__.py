"""Change the judges, the moves and the measuring chain a little, and see whether the tests of their room notice it.

Works in a copy of the tree. Changes are drawn by chance until the time is up; the share that was noticed is printed,
and every change that was not. Those judged to change nothing stand in EQUIVALENT and are left out.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import NamedTuple

from tests.mutants.changes import Mutant, mutants_of

ROOT = Path(__file__).parent.parent.parent
WHOLE = ("test_safety.py", "test_stops.py", "test_never_said.py", "test_damaged.py")
ROOMS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rs274": (("cam/rs274",), ("test_rs274.py", "test_rs274_eia.py", "test_rs274_errors.py", "test_rs274_laws.py",
                               "test_safety.py", "test_never_said.py", "test_stops.py")),
    "simulate": (("cam/simulate",), ("test_simulate.py", "test_simulate_near.py", "test_simulate_state.py",
                                     "test_envelope.py", "test_play.py", "test_faced.py", "test_explain.py", *WHOLE)),
    "mill": (("cam/mill/judge.py", "cam/mill/read.py", "cam/mill/simulate.py", "cam/mill/driven.py",
              "cam/mill/surface.py", "cam/mill/solids.py"),
             ("test_mill_simulate.py", "test_mill_solid.py", "test_mill_damaged.py", "test_never_said.py",
              "test_stops.py")),
    "moves": (("cam/moves",), ("test_job.py", "test_posts.py", "test_damaged.py", "test_stops.py")),
    "measure": (("cam/measure",), ("test_measure_chain.py", "test_measure_fits.py", "test_measure_flow.py",
                                   "test_measure_holes.py", "test_measure_limits.py", "test_measure_stand_off.py",
                                   "test_measure_whole.py", "test_safety.py")),
    "sheet": (("cam/sheet",), ("test_sheet.py", "test_hand.py")),
}  # fmt: skip
"""Name of a room -> its modules, and the tests that must notice."""

EQUIVALENT: dict[tuple[str, str], str] = {
    ("cam/simulate/surfaces.py", "low < high  ->  low <= high"): "a stretch of no height covers nothing",
}
"""(module, change) -> why it changes nothing that anybody could notice."""


class Result(NamedTuple):
    """A change to a module, and whether it was noticed."""

    path: str
    mutant: Mutant
    killed: bool


def draw(rooms: list[str], pick: Random) -> list[tuple[str, str, Mutant]]:
    """Every change in the rooms, in an order by chance: room, path, change."""
    found = []
    for room in rooms:
        files = [p for part in ROOMS[room][0] for p in _modules(ROOT / part)]
        for path in files:
            name = str(path.relative_to(ROOT))
            made = mutants_of(path.read_text(encoding="utf-8"))
            found += [(room, name, m) for m in made if (name, m.words) not in EQUIVALENT]
    pick.shuffle(found)
    return found


def _modules(path: Path) -> list[Path]:
    return sorted(path.glob("*.py")) if path.is_dir() else [path] if path.exists() else []


def notice(copy: Path, room: str, path: str, mutant: Mutant, most: float) -> bool:
    """Whether a test of the room fails, or none ends in time, with the change in place."""
    file = copy / path
    good = file.read_text(encoding="utf-8")
    file.write_text(mutant.text, encoding="utf-8")
    tests = [f"tests/{name}" for name in ROOMS[room][1] if (copy / "tests" / name).exists()]
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", *tests]
    try:
        ran = subprocess.run(
            command, cwd=copy, env={**os.environ, "PYTHONPATH": str(copy)}, timeout=most, check=False,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        return ran.returncode != 0
    except subprocess.TimeoutExpired:
        return True
    finally:
        file.write_text(good, encoding="utf-8")


def main() -> None:
    """Draw, change, test, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0, help="how long (default 10)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most", type=float, default=240.0, help="seconds for the tests of one change (default 240)")
    parser.add_argument("rooms", nargs="*", choices=[*ROOMS, []], help=f"of {', '.join(ROOMS)}; all if none is named")
    given = parser.parse_args()
    rooms = list(given.rooms) or list(ROOMS)
    end, results = time.monotonic() + 60 * given.minutes, []
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        ignored = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache", "build")
        shutil.copytree(ROOT, copy, ignore=ignored)
        for room, path, mutant in draw(rooms, Random(given.seed)):
            if time.monotonic() > end:
                break
            results.append(Result(path, mutant, notice(copy, room, path, mutant, given.most)))
            if not results[-1].killed:
                print(f"not noticed: {path}:{mutant.line}: {mutant.words}", flush=True)
    killed = sum(r.killed for r in results)
    share = f"{100 * killed / len(results):.1f} %" if results else "-"
    print(f"{len(results)} changes, {killed} noticed, {share}; {len(EQUIVALENT)} known to change nothing left out")


if __name__ == "__main__":
    main()
