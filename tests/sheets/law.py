"""The law of pages: every size that a hand reaches by them lies within its limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from cam.ground.figures import LEAST
from cam.ground.frozen import Row
from cam.setting.model import Turned
from cam.sheet import judge_sheet
from cam.sheet.model import Reached, SheetVerdict
from tests.sheets.jobs import Written


class Found(Row):
    """What a job's pages came to: verdicts by setting, and sizes that lie outside their limits, in words."""

    verdicts: list[SheetVerdict]
    outside: list[str]


def judge_pages(job: Written) -> Found:
    """Judge every setting's page, each on its setting's own stock."""
    verdicts: list[SheetVerdict] = []
    outside: list[str] = []
    for planned in job.plan.settings:
        verdict = judge_sheet(
            job.text, planned.setting, job.shop, unit=job.part.unit,
            material=job.shop.materials.get(job.part.stock.material),
        )  # fmt: skip
        verdicts.append(verdict)
        turned = {t.section.name: t for t in planned.setting.turned}
        outside += [words for r in verdict.reached for words in past_limits(r, turned[r.name], verdict, job)]
    return Found(verdicts, outside)


def past_limits(size: Reached, turned: Turned, verdict: SheetVerdict, job: Written) -> Iterator[str]:
    """Say if a size lies outside the part's limits, by the part file alone; by half a division where there are none.

    Where the page says that the dial is too coarse for them, as much metal may stand as lies between two readings: half
    divisions of a dial, whole ones of anything else, counted from what a hand is sure of.
    """
    section = turned.section
    named = size.name if size.of == "diameter" else f"shoulder past {size.name}"
    slide = job.shop.lathe.x if size.of == "diameter" else job.shop.lathe.z
    half = max(size.division / 2, 0.005 if slide.reading == "none" else 0.0)  # set by figures of two decimals
    if size.of == "diameter" and section.tolerance is not None:
        nominal = float(section.diameter_a) + section.finish.on_diameter
        low, high = nominal + section.tolerance.lower, nominal + section.tolerance.upper
    elif size.of == "shoulder" and turned.far_limits is not None:  # held by tests/test_lengths.py
        low, high = turned.far_limits
    else:
        low, high = size.wanted - half, size.wanted + half
    if named in verdict.sheet.coarse:
        over = LEAST + (half if slide.reading == "dial" else 2 * half)
        if size.of == "diameter" or turned.far > 0:
            high = max(high, size.wanted + over)
        else:
            low = min(low, size.wanted - over)
    if not low - 2e-5 <= size.size <= high + 2e-5:
        yield f"{size.of} of {size.name}: {size.size:.4f}, wanted {size.wanted:.4f} ({low:.4f} to {high:.4f})"


def count_rows(found: Found) -> Counter[str]:
    """Count rows, bands and measures read, by kind."""
    return Counter(type(step).__name__ for v in found.verdicts for step in v.sheet.steps)


def worst_residue(found: Found) -> float:
    """Return the most that any size lies from its aim, in divisions of its dial."""
    return max((r.divisions for v in found.verdicts for r in v.reached), default=0.0)
