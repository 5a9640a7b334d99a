"""Pages of the cutting summary for the mill: each cross hole, then the square, in the order in which they are made."""

from __future__ import annotations

from collections.abc import Mapping

from cam.mill.done import MillDone
from cam.mill.settle import HoleJob
from cam.part.model import Part
from posts.cross_hole_page import cross_hole_page
from posts.layout import WIDTH
from posts.mill_sheet import Sheet, name_of
from posts.pages import Ruler
from posts.square_page import square_page
from posts.wording import plain


def mill_pages(
    part: Part, job: MillDone, ruler: Ruler, when: Mapping[str, str], width: int = WIDTH
) -> list[tuple[str, str]]:
    """Title and text of each page, in the order in which the work is done.

    Args:
        job: all of the mill's work, planned and judged; cam.milling.MillJob is one.
        when: by the name of each work, where in the job it belongs. width: columns.
    """
    name = plain(part.name).upper()
    pages = []
    for work in job.works:
        make = cross_hole_page if isinstance(work.asked, HoleJob) else square_page
        title = f"{name}: {plain(name_of(work)).upper()}, ON THE MILL"
        pages.append((title, make(Sheet(part, ruler, job, work, when.get(work.name, ""), width))))
    return pages
