"""Jobs of the search with a thread: a screw on its bar, by die or cut with a single point.

The thread in the program is checked by a small reader of its own, by what a vee with a round nose leaves in closed
form, and by formulas of the standard; the pages by their reader.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import NamedTuple

from cam.job import make_job
from cam.job.model import Job
from tests.search.laws import BrokenLawError
from tests.search.pages import hold_pages
from tests.specimens import SAMPLES

INCH = 25.4
TOL = 0.003
"""How far a size may be off its limits, mm: rounding of the text."""

THREADS = {  # name: pitch, mm; angle, degrees. ISO 261 and 724, BS 93 (47.5 degrees), ASME B1.1 (threads an inch)
    "M2": (0.4, 60.0), "M2.5": (0.45, 60.0), "M3": (0.5, 60.0), "M4": (0.7, 60.0), "M5": (0.8, 60.0),
    "4 BA": (0.66, 47.5), "5 BA": (0.59, 47.5), "4-40": (INCH / 40, 60.0), "6-32": (INCH / 32, 60.0),
}  # fmt: skip
METRIC = {"M2": 2.0, "M2.5": 2.5, "M3": 3.0, "M4": 4.0, "M5": 5.0}
"""Nominal diameter, mm, of the threads whose limits are checked by formula."""

HEAD = """name = "searched screw"
shop = "shop.toml"
edges = "chamfer 0.2 mm"
[stock]
material = "{material}"
diameter = "6 mm"
length = "45 mm"
[holding]
method = "collet"
chuck = "6 mm collet"
free_end = "{end}"
stick_out = "{out} mm"
facing = "0.5 mm"
part_off = "saw"
"""
SHANK = """[[section]]
name = "shank"
role = "plain"
thread = "{thread}"
thread_by = "{by}"
length = "{length} mm"
{corner}
finish = "turn"
"""
BEHIND = """[[section]]
name = "head"
role = "plain"
diameter = "{size} mm"
length = "{length} mm"
finish = "turn"
"""
TOOL = """
[[tool]]
number = 4
name = "threading tool"
kind = "threading"
material = "HSS"
hand = "right"
included = "{angle} deg"
nose_radius = "{nose} mm"
width = "1 mm"
edge = "3 mm"
minimum_cut = "0.01 mm"
deepest_cut = "{deepest} mm"
outline = "tip only"
"""
BLADE = """
[[tool]]
number = 5
name = "parting blade"
kind = "grooving"
material = "HSS"
hand = "right"
nose_radius = "{nose} mm"
width = "{width} mm"
edge = "{edge} mm"
minimum_cut = "0.02 mm"
deepest_cut = "1 mm"
rough_feed = "0.02 mm/rev"
finish_feed = "0.02 mm/rev"

[[tool.outline]]
name = "blade"
points = [["0.1 mm", "{body} mm"], ["{thick} mm", "{body} mm"], ["{thick} mm", "25 mm"], ["0.1 mm", "25 mm"]]
"""
"""A blade that parts off."""
ENCODER = '[lathe.threading]\nby = "encoder"\nfastest = "{fastest} rpm"\nacceleration = "100 mm/s2"\n'
WHEELS = """[lathe.threading]
by = "change wheels"
fastest = "320 rpm"
leadscrew = "3 mm"
wheels = [20, 25, 30, 35, 40, 40, 45, 50, 55, 60, 63, 80]
"""


class Screw(NamedTuple):
    """What was drawn: the thread's name, how it is cut, the tool's nose, mm, whether X is a diameter, and the files."""

    thread: str
    by: str
    nose: float
    encoder: bool
    diameters: bool
    files: dict[str, str]


def draw(rng: Random) -> Screw:
    """Draw a screw and its shop."""
    thread = rng.choice(sorted(THREADS))
    pitch, angle = THREADS[thread]
    by, encoder = rng.choice(["die", "single point", "single point"]), rng.random() < 0.8
    nose = round(pitch * rng.choice([0.06, 0.09, 0.12]), 3)
    width, depth = max(round(pitch * rng.choice([2.0, 3.0]), 2), 1.0), round(pitch * rng.choice([0.68, 0.72, 0.8]), 2)
    undercut = rng.random() < 0.95
    end, length = rng.choice("AB"), rng.choice([4, 5, 6, 8])
    side = "b" if end == "A" else "a"
    corner = f"undercut {width} mm wide {depth} mm deep" if undercut else "fillet up to 0.1 mm"
    shank = SHANK.format(thread=thread, by=by, length=length, corner=f'corner_{side} = "{corner}"')
    head = BEHIND.format(size=rng.choice([5.5, 5.9]) if thread != "M5" else 5.9, length=rng.choice([2, 2.5, 4]))
    material = rng.choice(["silver steel", "brass", "free-cutting steel"])
    text = HEAD.format(material=material, end=end, out=rng.choice([14, 18, 20]))
    part = text + (shank + head if end == "A" else head + shank)
    spoken = by == "single point" and encoder  # in step with the spindle: one dialect alone can say that
    dialect = rng.choice(["rs274ngc", "eia274d", "isongc"]) if not spoken or rng.random() < 0.05 else "eia274d"
    threading = ENCODER.format(fastest=rng.choice([320, 600])) if encoder else WHEELS
    shop = (SAMPLES / "shop.toml").read_text(encoding="utf-8").partition("[mill]")[0]
    shop = shop.replace("[lathe.x]", f"{threading}\n[lathe.x]", 1)
    shop = shop.replace('dialect = "rs274ngc"', f'dialect = "{dialect}"', 1)
    diameters = dialect == "eia274d" and rng.random() < 0.5
    if diameters:
        shop = shop.replace('x_words = "radius"', 'x_words = "diameter"', 1)
    shop = shop.replace('units = "mm"', f'units = "{rng.choice(["mm", "in"])}"', 1)
    shop += TOOL.format(angle=angle, nose=nose, deepest=rng.choice([0.1, 0.15]))
    if rng.random() < 0.4:
        part, shop = parted(rng, part, shop)
    return Screw(thread, by, nose, encoder, diameters, {"part.toml": part, "shop.toml": shop})


def parted(rng: Random, part: str, shop: str) -> tuple[str, str]:
    """Return the texts of a screw that its program parts off, on a lathe with a Z dial of another division."""
    part = part.replace('part_off = "saw"', 'part_off = "blade"', 1)
    edge, width = rng.choice([3.5, 3.6, 4.0, 6.0]), rng.choice([1.0, 1.5, 1.55])
    thick, body = (width - 0.1, edge) if rng.random() < 0.8 else (2.5, 3.0)  # thicker than the slot that it is to enter
    blade = BLADE.format(nose=rng.choice([0.05, 0.1]), width=width, edge=edge, thick=thick, body=body)
    head, along, rest = shop.partition("[lathe.z]")
    division = rng.choice(["0.01", "0.02", "0.025", "0.04", "0.05", "0.1"])
    return part, head + along + re.sub(r'division = "[^"]*"', f'division = "{division} mm"', rest, count=1) + blade


def with_part(screw: Screw, text: str) -> Screw:
    """Return the screw with another part file."""
    by = "die" if 'thread_by = "die"' in text else screw.by
    return screw._replace(by=by, files=screw.files | {"part.toml": text})


def make(screw: Screw, folder: Path) -> Job:
    """Make the whole job."""
    for name, text in screw.files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return make_job(str(folder / "part.toml"))


def hold(screw: Screw, job: Job) -> None:
    """Check the thread that the program cuts, and the pages.

    Raises:
        BrokenLawError: with the first law that is broken.
    """
    passes = passes_of(job.works[0].text, diameters=screw.diameters)
    if screw.by == "die" or not screw.encoder:
        _hold(not passes, "the program cuts a thread that is to be cut otherwise")
    else:
        _hold(len(passes) > 1, "the program cuts no thread")
        hold_thread(screw, passes)
    hold_pages(job)


class Pass(NamedTuple):
    """One cut of a thread: radius and Z where it starts and where it ends, and its lead, mm."""

    x: float
    start: float
    end: float
    lead: float


def passes_of(text: str, *, diameters: bool) -> list[Pass]:
    """Return the threading passes of a program, from its words alone."""
    scale, factor, found = 1.0, 0.5 if diameters else 1.0, []
    at = {"X": math.nan, "Z": math.nan}
    for line in text.splitlines():
        bare = re.sub(r"\(.*?\)", "", line)
        words = {w: float(v) for w, v in re.findall(r"([XZK])([-+]?[\d.]+)", bare)}
        codes = {float(v) for v in re.findall(r"G([\d.]+)", bare)}
        scale = INCH if codes & {20.0, 70.0} else 1.0 if codes & {21.0, 71.0} else scale
        before = dict(at)
        at |= {w: v * scale for w, v in words.items() if w in at}
        if 33.0 in codes:
            found.append(Pass(at["X"] * factor, before["Z"], at["Z"], words["K"] * scale))
    return found


def hold_thread(screw: Screw, passes: list[Pass]) -> None:
    """Check for one lead, one start, ever deeper passes, and a pitch diameter within its limits."""
    pitch, angle = THREADS[screw.thread]
    half = math.radians(angle / 2)
    _hold(all(abs(p.lead - pitch) < 1e-4 for p in passes), f"leads {[p.lead for p in passes]}, {pitch} wanted")
    _hold(len({(p.start, p.end) for p in passes}) == 1, "cuts of a thread do not begin and end alike")
    depths = [p.x for p in passes]
    _hold(all(b <= a + 1e-9 for a, b in pairwise(depths)), "a cut is less deep than one before it")
    _hold(abs(depths[-1] - depths[-2]) < 1e-9, "the last cut is no spring cut")
    if screw.thread in METRIC:
        high = pitch / 4 / math.tan(half) - screw.nose * (1 / math.sin(half) - 1)
        size = abs(2 * (depths[-1] + high) - _middle(screw.thread))
        _hold(size <= _tolerance(screw.thread) / 2 + TOL, f"the pitch diameter is {size:.4f} off its limits' middle")


def _deviation(pitch: float) -> float:
    """Fundamental deviation g, mm: (15 + 11 P) micrometres (ISO 965-1)."""
    return (15 + 11 * pitch) / 1000


def _tolerance(thread: str) -> float:
    """Tolerance on pitch diameter, grade 6, mm: 90 P**0.4 d**0.1 micrometres (ISO 965-1), d the mean of its range."""
    nominal = METRIC[thread]
    low, high = next(r for r in ((1.4, 2.8), (2.8, 5.6), (5.6, 11.2)) if r[0] < nominal <= r[1])
    return 90 * THREADS[thread][0] ** 0.4 * math.sqrt(low * high) ** 0.1 / 1000


def _middle(thread: str) -> float:
    """Middle of the limits of the pitch diameter, 6g, mm."""
    pitch = THREADS[thread][0]
    return METRIC[thread] - 3 * math.sqrt(3) / 8 * pitch - _deviation(pitch) - _tolerance(thread) / 2


def _hold(right: bool, words: str) -> None:
    if not right:
        raise BrokenLawError(words)
