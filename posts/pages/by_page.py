"""The figures of a measure as its page has them: what the marks of the dials leave, which the plan does not know."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cam.ground.figures import per
from cam.plan.model import Measure, Pass, Plan, SettingPlan
from posts.pages.blocks import Block, Cut, MeasureBlock
from posts.pages.cuts import RowMaker
from posts.pages.job import figures_of
from posts.wording import plain


def by_page(plan: Plan, planned: SettingPlan, before: Pass, wanted: Measure) -> Measure:
    """Return a measure before a last cut with the figures that its page prints for it, as a hand goes by them.

    Args:
        planned: the setting. before: the pass that the measure follows.
    """
    figures = figures_of(plan)
    blocks, mm = tuple(RowMaker(plan, planned, figures).blocks()), per(figures.unit)
    expected, target = (
        next((float(b.expected) * mm for b in _measures(blocks, wanted) if b.last is last), size)
        for last, size in ((False, wanted.expected), (True, wanted.target))
    )
    stood = next((float(figure) * mm for figure in _stood(blocks, planned, before, wanted) if figure), None)
    side = 2 if wanted.kind == "diameter" else 1
    left = wanted.cut_left if stood is None else abs(stood - expected) / side
    return replace(wanted, expected=expected, target=target, cut_left=left)


def _measures(blocks: Sequence[Block], wanted: Measure) -> Iterator[MeasureBlock]:
    """Yield the measures of the same surface."""
    of, name = "diameter" if wanted.kind == "diameter" else "shoulder", plain(wanted.sections[-1])
    found = (b for b in blocks if isinstance(b, MeasureBlock))
    yield from (b for b in found if b.of == of and name in b.name.split(" and "))


def _stood(blocks: Sequence[Block], planned: SettingPlan, before: Pass, wanted: Measure) -> Iterator[str]:
    """Yield what the page says that stood before a pass: its "was"; of a shoulder, where the row before it stopped."""
    rows = {b.number: b for b in blocks if isinstance(b, Cut)}
    if wanted.kind == "diameter":
        yield from (rows[n].was for n in (before.number,) if n in rows)
        return
    earlier = [c for c in planned.passes if c.number < before.number and c.sections[-1:] == wanted.sections[-1:]]
    yield from (rows[c.number].stop.removeprefix("-") for c in reversed(earlier) if c.number in rows)
