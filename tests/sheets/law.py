"""The law of pages: every size that a hand reaches by them lies within its limits."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from cam.ground.figures import LEAST
from cam.ground.frozen import Row
from cam.ground.tolerances import ROUNDING
from cam.ground.units import MM_PER_INCH
from cam.judge.envelope import Metal, from_chain
from cam.part.features import fillet_of, size_of
from cam.part.model import Part
from cam.setting.model import Setting, Turned
from cam.sheet import judge_sheet
from cam.sheet.limits import PRINTED, step_on_diameter
from cam.sheet.model import PointsRow, Reached, SheetVerdict
from posts.wording import plain
from tests.sheets.jobs import Written


class Found(Row):
    """What a job's pages came to: verdicts by setting, and in words what is not so.

    Attributes:
        outside: sizes that lie outside their limits. drawn: what the drawing says of metal that stands otherwise.
    """

    verdicts: list[SheetVerdict]
    outside: list[str]
    drawn: list[str]


def judge_pages(job: Written) -> Found:
    """Judge every setting's page, each on its setting's own stock."""
    verdicts: list[SheetVerdict] = []
    outside: list[str] = []
    drawn: list[str] = []
    for planned in job.plan.settings:
        verdict = judge_sheet(
            job.text, planned.setting, job.shop, unit=job.part.unit,
            material=job.shop.materials.get(job.part.stock.material),
        )  # fmt: skip
        verdicts.append(verdict)
        turned = {t.section.name: t for t in planned.setting.turned}
        outside += [words for r in verdict.reached for words in past_limits(r, turned[r.name], verdict, job)]
        drawn += drawn_otherwise(planned.setting, job)
    return Found(verdicts, outside, drawn)


DRAWN = re.compile(
    r"\d+ (?P<name>.+?) (?P<near>[\d.]+)(?: / (?P<far>[\d.]+))?, Z (?P<from>-?[\d.]+) to (?P<to>-?[\d.]+)"
)
"""A section in the words under a setting's drawing."""
ROUNDED = 1.0
"""A step no higher than this may be all round, mm."""
FACE = 0.05
"""A face lower than this, mm, cannot be felt."""


def drawn_otherwise(setting: Setting, job: Written) -> Iterator[str]:
    """Say where the sections under a setting's drawing do not meet, or stand otherwise than the metal before it."""
    page = job.text.partition(f": SETTING {setting.number} of ")[2]
    lines = re.search(r"(?ms)^(\d+ .*?)\.\s+#\s+(?:carrier|held)", page)
    assert lines is not None
    items = [DRAWN.fullmatch(item) for item in re.sub(r"\s+", " ", lines[1]).split("; ")]
    pieces = [piece for piece in items if piece is not None]
    assert len(pieces) == len(items)
    yield from (f"{a[0]}; {b[0]}" for a, b in pairwise(pieces) if a["to"] != b["from"])
    if setting.number == 1:
        return
    mm = MM_PER_INCH if job.part.unit == "in" else 1.0
    metal, turned = Metal(from_chain(setting.stock)), {plain(t.section.name) for t in setting.turned}
    faces = [piece.start.z for piece in setting.stock if abs(piece.start.z - piece.end.z) < ROUNDING]
    spare = step_on_diameter(job.shop.lathe.x) / 2 + PRINTED + LEAST
    for piece in (p for p in pieces if p["name"] not in turned):
        middle = (float(piece["from"]) + float(piece["to"])) / 2 * mm
        size = (float(piece["near"]) + float(piece["far"] or piece["near"])) / 2 * mm
        stoned = sum(s.finish.on_diameter for s in job.part.sections if plain(s.name) == piece["name"])  # by then
        if all(abs(size - 2 * metal.at(middle) + off) > spare for off in (0.0, stoned)):
            yield f"{piece[0]}: {2 * metal.at(middle) / mm:.4f} stands there"
    for a, b in pairwise(pieces):
        z, step = float(b["from"]) * mm, abs(float(a["far"] or a["near"]) - float(b["near"])) / 2 * mm
        if not {a["name"], b["name"]} & turned and step > ROUNDED and min(abs(z - face) for face in faces) > PRINTED:
            yield f"{a[0]}; {b[0]}: no face stands between them"


def past_limits(size: Reached, turned: Turned, verdict: SheetVerdict, job: Written) -> Iterator[str]:
    """Say if a size lies outside the part's limits, by the part file alone; by half a division where there are none.

    Where the page says that the dial is too coarse for them, as much metal may stand as lies between two readings: half
    divisions of a dial, whole ones of anything else, counted from what a hand is sure of. A fillet that fills its step
    leaves no face: before its rim may stand what its row says.
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
        low, high = size.wanted - half - LEAST, size.wanted + half + LEAST
    step = turned.far_radius - turned.radius_far
    edge = edge_over(turned, job.part)
    if size.of == "shoulder" and edge and step - fillet_of(turned.corner) - edge < FACE:
        return  # nothing square is left of it between fillet and edge
    if size.of == "shoulder" and fillet_of(turned.corner) > step - FACE:
        ridge = max((row.ridge for row in verdict.sheet.rows if isinstance(row, PointsRow)), default=0.0)
        low, high = (low - ridge, high) if turned.far < 0 else (low, high + ridge)
    if named in verdict.sheet.coarse:
        over = LEAST + (half if slide.reading == "dial" else 2 * half)
        if size.of == "diameter" or turned.far > 0:
            high = max(high, size.wanted + over)
        else:
            low = min(low, size.wanted - over)
    if not low - 2e-5 <= size.size <= high + 2e-5:
        yield f"{size.of} of {size.name}: {size.size:.4f}, wanted {size.wanted:.4f} ({low:.4f} to {high:.4f})"


def edge_over(turned: Turned, part: Part) -> float:
    """Return the size of the largest edge that faces a section from a thicker neighbour, mm; zero where none does."""
    i = next(i for i, s in enumerate(part.sections) if s.name == turned.section.name)
    before, after = part.sections[:i][-1:], part.sections[i + 1 :][:1]
    edges = [s.edge_b for s in before] + [s.edge_a for s in after]
    thicker = [s.thickest > turned.section.thickest for s in (*before, *after)]
    return max((size_of(e) for e, over in zip(edges, thicker, strict=True) if over), default=0.0)


def count_rows(found: Found) -> Counter[str]:
    """Count rows, bands and measures read, by kind."""
    return Counter(type(step).__name__ for v in found.verdicts for step in v.sheet.steps)


def worst_residue(found: Found) -> float:
    """Return the most that any size lies from its aim, in divisions of its dial."""
    return max((r.divisions for v in found.verdicts for r in v.reached), default=0.0)
