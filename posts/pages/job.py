"""All pages of a job in the order in which they are needed, as blocks: rendered as text, print and notebook."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from cam.ground.figures import Figures
from cam.mill.settle import HoleJob
from cam.plan.model import Plan
from posts.pages.bench import bench_page
from posts.pages.blocks import Page, PageKind
from posts.pages.figures import figures_for
from posts.pages.foot import foot_of, in_both
from posts.pages.measured import hole_pages, next_pages, span_pages
from posts.pages.mill_hole import HolePage
from posts.pages.mill_sheet import MillSheet, name_of
from posts.pages.mill_square import SquarePage
from posts.pages.setting import SettingKnown, setting_page
from posts.pages.stops import stops_pages
from posts.screw_pages import screw_pages
from posts.wording import plain

if TYPE_CHECKING:
    from cam.lengths.solved import Solved
    from cam.mill.done import MillDone
    from posts.pages.stops import Said as AtStops


def job_pages(
    plan: Plan, *, closest: Mapping[int, str] | None = None, mill: MillDone | None = None,
    when: Mapping[str, str] | None = None, stops: AtStops | None = None,
) -> tuple[Page, ...]:  # fmt: skip
    """Make every page of a job.

    Args:
        closest: for each setting's number, the closest that its program comes to anything, in words.
        mill: what the mill does to the part; None for nothing. when: by the name of each of its works, where in the
            job it belongs.
        stops: what the head and the stops of each program say whose control does not show it.
    """
    figures = figures_of(plan)
    milled = milled_of(plan, mill)
    near = closest or {}
    pages = [bench_page(plan, figures, milled, mill.unplanned if mill is not None else None)]
    after: list[Page] = []
    if plan.part.measured is not None:
        pages += span_pages(plan, figures)
        after = [*hole_pages(plan, figures), *next_pages(plan)]
    for n, planned in enumerate(plan.settings):
        pages.append(setting_page(plan, n, figures, SettingKnown(near.get(planned.setting.number, ""), milled)))
    told = stops_pages(stops, plan.part.name, foot_of(plan)) if stops else []
    milling = pages_of_mill(plan.part, mill, figures, when or {}, foot_of(plan)) if mill is not None else []
    if plan.part.screwed is None:
        return (*pages, *milling, *told, *after)
    return (*pages, *told, *after, *_as_the_screw_goes(screw_pages(plan, figures), milling))


def _as_the_screw_goes(screw: Sequence[Page], milling: Sequence[Page]) -> Iterator[Page]:
    """Yield pages in the order of the work: threaded and off its bar a screw is milled, and its hook is filed last."""
    yield from (page for page in screw if page.kind != "hook")
    yield from milling
    yield from (page for page in screw if page.kind == "hook")


def milled_of(plan: Plan, mill: MillDone | None) -> list[str]:
    """Return the names of what is milled after the turning, in order; without a mill, of the blanks for squares."""
    if mill is None:
        return [s.name for s in plan.part.sections if s.role == "square blank"]
    return [*(name_of(work) for work in mill.works), *mill.unplanned]


def figures_of(plan: Plan) -> Figures:
    """Return how the pages of a job print lengths."""
    return figures_for(plan.part, plan.shop.lathe)


def pages_of_mill(
    part: Solved, mill: MillDone, figures: Figures, when: Mapping[str, str], foot: str = ""
) -> list[Page]:  # fmt: skip
    """Make the pages of the mill for a part whose turning is not at hand."""
    pages = []
    for work in mill.works:
        hole = isinstance(work.asked, HoleJob)
        sheet = MillSheet(part, figures, mill, work, when.get(work.name, ""))
        blocks = (HolePage if hole else SquarePage)(sheet).blocks()
        kind: PageKind = "cross hole" if hole else "square"
        title = f"{plain(name_of(work)).upper()}, ON THE MILL"
        pages.append(Page(kind=kind, title=title, part=plain(part.name), blocks=in_both(blocks), foot=foot))
    return pages
