"""Screw threads of small work: sizes by name, percent of full thread with its basis, and the drill to use.

Charts print a percent of thread without saying what it is a percent of: M3 from 2.5 mm is 92 % of the basic height
(5/8 H a side) and 77 % of 3/4 H. Here the basis is always named, and the other figure is given beside it.
"""

from __future__ import annotations

import math
import re
import tomllib
from bisect import bisect_right
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Literal

from cam.ground.drills import Drill, drills
from cam.ground.frozen import Row
from cam.ground.problem import RangeError
from cam.ground.units import MM_PER_INCH, QuantityError, parse_drill

Series = Literal["ISO metric", "BA", "UNC", "UNF"]

COS30 = math.sqrt(3) / 2

# Of the pitch, on the diameter. Source: ISO 68-1 and ISO 724 (H = 0.866025 P); the Unified profile is the same.
BASIC_60 = 1.25 * COS30  # 5/8 H a side: major less basic minor diameter, 1.0825 P
PITCH_60 = 0.75 * COS30  # 3/8 H a side: 0.6495 P
ROOT_60 = 17 / 12 * COS30  # root of the screw, rounded: 1.2269 P (ISO 724's d3, from memory)
CHART_60 = 1.5 * COS30  # 3/4 H a side: 1.299 P, the basis of common charts

BASIC_BA = 1.2  # depth 0.6 P a side. Source: BS 93 (from memory)
PITCH_BA = 0.6


class Thread(Row):
    """A thread of the tables.

    Attributes:
        name: for example "M3 x 0.5", "4 BA", "4-40 UNC".
        diameter: major, mm.
        pitch: mm.
        angle: included angle of the flanks, degrees.
        usual_drill: as printed in tables; "" if none was read.
        standing: the standing of the row.
    """

    name: str
    series: Series
    diameter: float
    pitch: float
    angle: float
    usual_drill: str
    standing: str

    @property
    def full(self) -> float:
        """Return the major less the basic minor diameter, mm, which is what 100 % of thread means here."""
        return (BASIC_BA if self.series == "BA" else BASIC_60) * self.pitch

    @property
    def basis(self) -> str:
        """Say what the percent of thread is a percent of."""
        if self.series == "BA":
            return "of the full depth, 0.6 P a side (BS 93)"
        return "of the basic height, 5/8 H a side (" + ("ISO 68-1)" if self.series == "ISO metric" else "ASME B1.1)")

    @property
    def minor(self) -> float:
        """Return the basic minor diameter of the tapped hole (D1), mm."""
        return self.diameter - self.full

    @property
    def pitch_diameter(self) -> float:
        """Return the basic pitch diameter (d2; BA: effective diameter), mm."""
        return self.diameter - (PITCH_BA if self.series == "BA" else PITCH_60) * self.pitch

    @property
    def root(self) -> float:
        """Return the root diameter of the screw (d3), mm."""
        return self.diameter - (BASIC_BA if self.series == "BA" else ROOT_60) * self.pitch


class TapDrill(Row):
    """A drill and the thread that it leaves.

    Attributes:
        percent: on the thread's own basis.
        chart: percent of 3/4 H, as in common charts; None for BA, where there is one basis only.
    """

    drill: Drill
    percent: float
    chart: float | None


# Tables -------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def all_threads() -> tuple[Thread, ...]:
    """Return every thread of the tables, ISO metric first, each series from its first row on."""
    tables = tomllib.loads(Path(__file__).with_name("threads.toml").read_text(encoding="utf-8"))
    iso, ba = tables["iso"], tables["ba"]
    found = [Thread(f"M{d:g} x {p:g}", "ISO metric", d, p, 60.0, drill, iso["standing"]) for d, p, drill in iso["rows"]]
    found += [Thread(f"{n} BA", "BA", d, p, 47.5, drill, ba["standing"]) for n, d, p, drill in ba["rows"]]
    for key, series in (("unc", "UNC"), ("unf", "UNF")):
        for size, inches, count, drill in tables[key]["rows"]:
            name = f"{size}-{count} {series}"
            found.append(
                Thread(name, series, inches * MM_PER_INCH, MM_PER_INCH / count, 60.0, drill, tables[key]["standing"])  # type: ignore[arg-type]
            )
    return tuple(found)


def find_thread(text: object) -> Thread:
    """Find a thread by its name: "M3", "M3 x 0.35", "4 BA", "BA 4", "4-40", "No. 4-40 UNC", "1/4-20".

    A metric size without a pitch is the coarse one.

    Raises:
        QuantityError: there is no such thread in the tables; the nearest names are offered.
    """
    if not isinstance(text, str) or not text.strip():
        raise QuantityError("the name of a thread in quotes is wanted here", '"M3", "4 BA" or "4-40 UNC"')
    wanted = _spelt(text)
    for thread in all_threads():
        if wanted in (thread.name, thread.name.rpartition(" ")[0], thread.name.partition(" x ")[0]):
            return thread
    names = [t.name for t in all_threads()]
    close = get_close_matches(wanted, names, n=3, cutoff=0.5)
    fix = "did you mean " + ", ".join(f'"{name}"' for name in close) + "?" if close else ""
    allowed = "M1 to M10, 0 to 16 BA, 0-80 to 1/4-28"
    raise QuantityError(f"there is no thread {text.strip()[:40]!r} in the tables", allowed, fix)


def _spelt(text: str) -> str:
    """Return a thread's name as the tables spell it, as far as its meaning can be seen."""
    plain = re.sub(r"\s+", " ", text.strip())
    number = r"([0-9]+\.?[0-9]*|\.[0-9]+)"
    if metric := re.fullmatch(rf"[Mm] ?{number}(?: ?[xX×*] ?{number})?(?: ?mm)?", plain):
        return "M" + " x ".join(f"{float(n):g}" for n in metric.groups() if n)
    if ba := re.fullmatch(r"(?:no\.? ?)?([0-9]+) ?BA|BA ?(?:no\.? ?)?([0-9]+)", plain, re.IGNORECASE):
        return f"{int(ba[1] or ba[2])} BA"
    if inch := re.fullmatch(r"(?:no\.? ?|#)?([0-9/]+) ?- ?([0-9]+)(?: ?(unc|unf))?", plain, re.IGNORECASE):
        return f"{inch[1]}-{inch[2]}" + (f" {inch[3].upper()}" if inch[3] else "")
    return plain


# Percent and drills -------------------------------------------------------------------------------------------


def percent_of_thread(thread: Thread, hole: float) -> float:
    """Return the percent of full thread that a hole leaves, on the thread's own basis (Thread.basis); zero if none."""
    return max(100 * (thread.diameter - hole) / thread.full, 0.0)


def chart_percent(thread: Thread, hole: float) -> float | None:
    """Return the percent of 3/4 H, 1.299 P, that a hole leaves, the figure of common charts; None for BA."""
    if thread.series == "BA":
        return None
    return max(100 * (thread.diameter - hole) / (CHART_60 * thread.pitch), 0.0)


def hole_for(thread: Thread, percent: float) -> float:
    """Return the diameter of the hole that leaves a percent of full thread, mm.

    Raises:
        RangeError: percent is not above 0, or is above 100.
    """
    if not 0 < percent <= 100:
        raise RangeError(f"{percent} % of thread cannot be tapped")
    return thread.diameter - thread.full * percent / 100


def tap_drill(thread: Thread, drill: Drill) -> TapDrill:
    """Return the thread that a drill leaves."""
    return TapDrill(drill, percent_of_thread(thread, drill.diameter), chart_percent(thread, drill.diameter))


def nearest_drills(thread: Thread, percent: float) -> tuple[TapDrill, ...]:
    """Return the drills just below and just above the wanted hole in each series, with the thread that each leaves.

    Drills as large as the thread are left out.
    """
    wanted = hole_for(thread, percent)
    found = []
    for series in ("mm", "number", "letter", "fraction"):
        sizes = [d for d in drills() if d.series == series and d.diameter < thread.diameter]
        at = bisect_right(sizes, wanted, key=lambda d: d.diameter)
        found += [tap_drill(thread, d) for d in sizes[max(at - 1, 0) : at + 1]]
    return tuple(found)


def usual_drill(thread: Thread) -> TapDrill | None:
    """Return the drill that tables print, with the thread that it leaves; None where no table was read."""
    if not thread.usual_drill:
        return None
    size = parse_drill(thread.usual_drill)
    text = thread.usual_drill
    series = "number" if text.startswith("No") else "fraction" if "/" in text else "mm"
    return tap_drill(thread, Drill(series, text, size))
