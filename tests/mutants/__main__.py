"""Change the judges, the moves and the measuring chain a little, and see whether the tests of their room notice it.

Of each room so many changes are drawn by chance and tried (tests/mutants/forked.py); those not noticed are printed, and
a table by room; of the slips in tests/mutants/named.py all are tried. Those judged to change nothing stand in
tests/mutants/equivalent.py and are left out.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import sys
from collections import Counter
from random import Random

from tests.mutants.changes import Mutant, changes_of, mutants_of
from tests.mutants.equivalent import EQUIVALENT, changes_nothing
from tests.mutants.forked import ROOT, Room
from tests.mutants.named import NAMED, TESTS, named_mutants

TOLD = "test_told.py::test_"
ROOMS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rs274": (("cam/rs274",), (f"{TOLD}programs_are_read_as_they_were", "test_rs274.py", "test_rs274_eia.py",
                               "test_rs274_errors.py", "test_rs274_laws.py")),
    "simulate": (("cam/judge",), (f"{TOLD}the_lathe_is_judged_as_it_was", "test_simulate.py", "test_simulate_near.py",
                                  "test_simulate_state.py", "test_envelope.py", "test_play.py", "test_faced.py")),
    "mill": (("cam/judge/milled.py", "cam/rs274/turns.py", "cam/judge/mill.py", "cam/judge/driven.py",
              "cam/judge/mill_metal.py", "cam/setting/solids.py"),
             ("test_mill_simulate.py", "test_mill_solid.py", "test_mill_damaged.py", "test_mill_travel.py",
              "test_mill_ramp.py", "test_mill_threads.py", "test_mill_hole.py", "test_mill_plan.py",
              "test_mill_picture.py", "test_safety.py", "test_never_said.py", "test_stops.py",
              f"{TOLD}the_mill_is_judged_as_it_was")),
    "moves": (("cam/moves",), (f"{TOLD}passes_are_made_moves_as_they_were", "test_posts.py", "test_proofs.py")),
    "measure": (("cam/lengths",), ("test_measure_chain.py", "test_measure_fits.py", "test_measure_flow.py",
                                   "test_measure_holes.py", "test_measure_limits.py", "test_measure_stand_off.py",
                                   "test_measure_whole.py", "test_measure_journal.py", "test_sums.py", "test_log.py",
                                   "test_safety.py", f"{TOLD}lengths_are_worked_out_as_they_were")),
    "sheet": (("cam/sheet",), ("test_sheet.py", "test_hand.py", "test_sheet_law.py", "test_page_rows.py",
                               "test_mill_sheet.py", "test_thread_page.py", "test_notebook.py", "test_print_form.py",
                               f"{TOLD}pages_are_read_as_they_were")),
}  # fmt: skip
"""Each room by name, with its modules and the tests that must notice."""
SLIPS = "named"
ROOMS[SLIPS] = tuple(sorted({row[1] for row in NAMED})), TESTS


def files_of(room: str) -> list[str]:
    """Return the modules of a room; those that another room names by themselves are that room's."""
    paths = [ROOT / part for part in ROOMS[room][0]]
    others = {ROOT / part for name, row in ROOMS.items() if name not in (room, SLIPS) for part in row[0]}
    found = [p for path in paths for p in (sorted({*path.rglob("*.py")} - others) if path.is_dir() else [path])]
    assert all(path.exists() for path in found), f"{room}: a module is not there"
    return [p.relative_to(ROOT).as_posix() for p in found]


def draw(room: str, number: int, pick: Random) -> list[tuple[str, Mutant]]:
    """Draw so many changes in a room by chance: path, change."""
    if room == SLIPS:
        return named_mutants(ROOT)
    texts = {path: (ROOT / path).read_text(encoding="utf-8") for path in files_of(room)}
    found = [
        (path, number)
        for path, text in texts.items()
        for number, (_, within, words) in enumerate(changes_of(ast.parse(text)))
        if not changes_nothing(path, within, words)
    ]
    picked = pick.sample(found, min(number, len(found)))
    own = {path: {n for p, n in picked if p == path} for path in texts}
    return [(path, m) for path, text in texts.items() for m in mutants_of(text, str(ROOT / path), own[path])]


def try_room(name: str, todo: list[tuple[str, Mutant]], most: float) -> Counter[str]:
    """Try the changes of one room, and print those that were not noticed."""
    said: Counter[str] = Counter()

    def tell(path: str, mutant: Mutant, what: str) -> None:
        said[what] += 1
        if what != "noticed":
            print(f"{what}: {path}:{mutant.line}: {mutant.within}: {mutant.words}", file=sys.stderr, flush=True)

    tests = [f"tests/{test}" for test in ROOMS[name][1]]
    assert all((ROOT / test.partition("::")[0]).exists() for test in tests)
    room = Room(files_of(name), tests, most)
    room.todo, room.tell = todo, tell
    room.watch()
    room.run()
    return said


def in_child(name: str, todo: list[tuple[str, Mutant]], most: float) -> Counter[str]:
    """Return the counts of one room, tried in a process of its own that has read nothing yet."""
    ear, mouth = os.pipe()
    if (own := os.fork()) == 0:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        try:
            os.write(mouth, json.dumps(try_room(name, todo, most)).encode())
        finally:
            os._exit(0)
    os.close(mouth)
    with os.fdopen(ear, "rb") as pipe:
        said = pipe.read()
    os.waitpid(own, 0)
    return Counter(json.loads(said)) if said else Counter()


def main() -> None:
    """Draw, change, test, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--number", type=int, default=12, help="changes of each room (default 12)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most", type=float, default=30.0, help="seconds of tests for one change (default 30)")
    parser.add_argument("rooms", nargs="*", help=f"of {', '.join(ROOMS)}; all if none is named")
    given = parser.parse_args()
    if unknown := set(given.rooms) - set(ROOMS):
        parser.error(f"no such room: {', '.join(sorted(unknown))}")
    os.environ["HYPOTHESIS_PROFILE"] = "mutants"  # no example is made smaller
    os.chdir(ROOT)
    total: Counter[str] = Counter()
    for name in given.rooms or ROOMS:
        said = in_child(name, draw(name, given.number, Random(given.seed)), given.most)
        total += said
        print(_row(name, said), flush=True)
    print(f"{_row('all', total)}; those known to change nothing, {len(EQUIVALENT)} and by rule, left out")


def _row(name: str, said: Counter[str]) -> str:
    tried = sum(said.values())
    share = f"{100 * said['noticed'] / tried:.1f} %" if tried else "-"
    return f"{name:9} {tried:4} changes, {said['noticed']:4} noticed, {share}; {said['not reached']} not reached"


if __name__ == "__main__":
    main()
