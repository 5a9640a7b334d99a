"""The cutting summary as plain text: every page of a job, for someone who stands there with oily hands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from cam.plan.model import Plan
from posts.layout import WIDTH, paginate
from posts.pages.job import figures_of, job_pages
from posts.pages.text import section_of

if TYPE_CHECKING:
    from cam.mill.done import MillDone
    from posts.pages.stops import Said


def write_summary(
    plan: Plan, *, closest: Mapping[int, str] | None = None, width: int = WIDTH, mill: MillDone | None = None,
    when: Mapping[str, str] | None = None,
) -> str:  # fmt: skip
    """Write the cutting summary as plain text, ASCII, pages separated by form feeds.

    Args:
        closest: for each setting's number, the closest that its program comes to anything, in words.
        width: columns, LEAST_WIDTH to MOST_WIDTH; nothing is left out at any.
        mill: what the mill does to the part; None for nothing. when: by the name of each of its works, where in the
            job it belongs.
    """
    return paginate(summary_sections(plan, closest=closest, width=width, mill=mill, when=when), width)


def summary_sections(
    plan: Plan, *, closest: Mapping[int, str] | None = None, width: int = WIDTH, mill: MillDone | None = None,
    when: Mapping[str, str] | None = None, stops: Said | None = None,
) -> list[tuple[str, str]]:  # fmt: skip
    """Return the title and text of each page of the summary, ready to be broken into pages; see posts.layout."""
    pages = job_pages(plan, closest=closest, mill=mill, when=when, stops=stops)
    return [section_of(page, plan.part, figures_of(plan), width) for page in pages]
