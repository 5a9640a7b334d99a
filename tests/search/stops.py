"""The law of stops in the search: a tool that stands off by as much everywhere is put right by what its stops read.

The last cuts of a job are made again from those readings. The tool that they are of stands as far off as before, a
grooving tool is set on what it has left: the work must come out as it would have by the first program with nothing
wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np

from cam.ground.problem import ProblemError
from cam.job import Job, make_job
from cam.job.logbook import record_value
from cam.plan.model import Measure, SettingPlan
from tests.search.laws import BrokenLawError, Shop
from tests.search.pages import hold_pages
from tests.search.reader import Motion, read
from tests.search.sweep import Array, left_by, pieces_of

SHARE = 0.4
"""A tool is off by no more than this share of what is left for the last cut of any section."""
APART, HIGH = 0.004, 0.003
"""How far along Z, and in radius, the work may be from what was wanted, mm: readings and words are rounded."""
EDGE = 0.5
"""So much beside a face that no stop has read is not looked at, mm."""
STEP = 0.01


def hold_stops(rng: Random, part: str, shop: str, job: Job, tools: Shop, folder: Path) -> None:
    """Record what every stop of a job reads by a tool that is off, make it again, and compare what comes out.

    Args:
        part, shop: texts of both files. tools: the shop as the search knows it. folder: an empty one.

    Raises:
        BrokenLawError: a reading is refused, or the work comes out otherwise.
    """
    (folder / "part.toml").write_text(part, encoding="utf-8")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    paths = str(folder / "part.toml"), str(folder / "shop.toml")
    off = _off(rng, [m for work in job.works for m in _stops(work.planned)])
    try:
        for work in job.works:
            for stop in _stops(work.planned):
                what = "diameter" if stop.kind == "diameter" else "shoulder"
                name = f"{stop.sections[-1]} stop {what}"
                record_value(paths[0], name, f"{_read(stop, *off):.4f} mm", paths[1])
        again = make_job(*paths)
    except ProblemError as refused:
        raise BrokenLawError(f"by its stops, off by {off}: {refused}") from refused
    if again.problems:
        raise BrokenLawError(f"by its stops, off by {off}: our own check refuses: {again.problems[0].what}")
    hold_pages(again, corrected=True)
    for first, second in zip(job.works, again.works, strict=True):
        zones = list(_zones(first.planned))
        wanted, found = (_left(text, tools, by, zones) for text, by in ((first.text, (0.0, 0.0)), (second.text, off)))
        for (name, zs), before, after in zip(zones, wanted, found, strict=True):
            if (worst := _apart(before, after)) > HIGH:
                where = f"{first.file}, {name}, Z {zs[0]:.3f} to {zs[-1]:.3f}"
                raise BrokenLawError(f"by its stops, off by {off}: {where}: {worst:.4f} mm from what was wanted")


def _stops(planned: SettingPlan) -> Iterator[Measure]:
    """Yield what is read before the last cuts; nothing beside a taper, at whose stop X is set and not recorded."""
    if any(t.is_taper for t in planned.setting.turned):
        return
    for cut in planned.passes:
        if cut.kind == "semi-finish":
            yield from (m for m in cut.measure if m.cut_left and not m.over)


def _off(rng: Random, stops: list[Measure]) -> tuple[float, float]:
    """Return how far out along X, and toward the tailstock, a tool stands, mm."""
    left = [[m.cut_left for m in stops if (m.kind == "diameter") == across] for across in (True, False)]
    x, z = (round(rng.uniform(-SHARE, SHARE) * min(some, default=0.0), 4) for some in left)
    return x, z


def _read(stop: Measure, x: float, z: float) -> float:
    """Return what a stop reads that is measured behind such a tool, mm."""
    if stop.kind == "diameter":
        return stop.expected + 2 * x
    return stop.expected - z if stop.scrap == "over" else stop.expected + z


def _zones(planned: SettingPlan) -> Iterator[tuple[str, Array]]:
    """Yield each section whose stop was read, and the places along it at which it is looked at."""
    stops = list(_stops(planned))
    sized = {name for m in stops if m.kind == "diameter" for name in m.sections}
    faced = {m.sections[-1] for m in stops if m.kind != "diameter"}
    for t in planned.setting.turned:
        if t.section.name in sized:
            corner = t.corner.radius if t.corner is not None else 0.0
            edge = t.edge.size if t.edge is not None else 0.0
            low = t.far + (2 * APART if t.section.name in faced else EDGE + corner)  # past it lies another's edge
            high = t.near - t.extra_length - EDGE - edge
            if high > low:
                yield t.section.name, np.arange(low, high, STEP)


def _left(text: str, tools: Shop, off: tuple[float, float], zones: list[tuple[str, Array]]) -> list[tuple[Array, ...]]:
    """Return, for each zone, the radii that a program leaves at its places, and a little to either side."""
    motions = [_moved(m, *off) if not tools.tools[m.tool].flat else m for m in read(text).motions]
    pieces = pieces_of(motions, tools.x, tools.z, loose=False)
    return [tuple(left_by(pieces, tools.tools, zs + by) for by in (-APART, 0.0, APART)) for _, zs in zones]


def _moved(motion: Motion, x: float, z: float) -> Motion:
    start, end, centre = ((at[0] + z, at[1] + x) for at in (motion.start, motion.end, motion.centre))
    return replace(motion, start=start, end=end, centre=centre)


def _apart(before: tuple[Array, ...], after: tuple[Array, ...]) -> float:
    """Return how far the work is from what was wanted at most, mm of radius; a face may be a little aside."""
    low, high = np.min(before, axis=0), np.max(before, axis=0)
    return float(np.max(np.maximum(after[1] - high, low - after[1]), initial=0.0, where=np.isfinite(high + after[1])))
