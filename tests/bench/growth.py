"""How the judgement's time grows with a program's length: one shoulder faced by pass after pass, in one setting."""

from __future__ import annotations

import math
import time
from pathlib import Path

from cam.job import make_job, rules_of
from cam.judge import simulate
from cam.rs274 import read_program

SAMPLE = Path(__file__).parent.parent.parent / "samples" / "orrery-drum-arbor.toml"
LENGTHS = (6_400, 24_400, 60_400)
HEAD = "G21\nG18 G90 G40 G80 G49 G94\nT1 M6\nG54\nG0 X19.0\nM0\nG0 Z0.55\nS600 M3\n"
PASS = "G0 Z0.5\nG0 X{near:.4f}\nG1 X{x:.4f} F36.0\nG1 Z-33.42\nG1 X{out:.4f}\nG0 X9.0\n"
MOST = 1.1
"""The exponent that is wanted, from the shortest to the longest."""


def long_program(lines: int) -> str:
    """Return a program of so many lines: passes from a radius of 8 mm down to 5, each faced out at the same place."""
    count = (lines - HEAD.count("\n") - 2) // PASS.count("\n")
    radii = (8.0 - 3.0 * (k + 1) / count for k in range(count))
    return HEAD + "".join(PASS.format(near=r + 0.3, x=r, out=r + 0.1) for r in radii) + "M5\nM2\n"


def measure_growth() -> list[tuple[int, float]]:
    """Return the lines and processor seconds of each length, read and judged."""
    job = make_job(str(SAMPLE))
    rules, found = rules_of(job.dialect, job.shop), []
    for lines in LENGTHS:
        text = long_program(lines)
        start = time.process_time()
        simulate(read_program(text, rules), job.works[0].setting, job.shop, stops=True)
        found.append((lines, time.process_time() - start))
    return found


def show_growth(rows: list[tuple[int, float]]) -> str:
    """Return the table, and the exponent from the first row to the last."""
    (few, short), (many, long) = rows[0], rows[-1]
    exponent = math.log(long / short) / math.log(many / few)
    table = "\n".join(f"{lines:>12,} lines  {seconds:8.2f} s" for lines, seconds in rows)
    last = f"{'exponent':>18}  {exponent:8.2f}    (<= {MOST} wanted)"
    return f"a program read and judged, processor time\n{table}\n{last}"
