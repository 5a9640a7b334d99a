"""The cutting summary as plain text: every page of a job, for someone who stands there with oily hands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from cam.plan.model import Plan
from posts.layout import WIDTH
from posts.pages.job import figures_of, job_pages
from posts.pages.text import write_pages

if TYPE_CHECKING:
    from cam.mill.done import MillDone


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
    return write_pages(job_pages(plan, closest=closest, mill=mill, when=when), plan.part, figures_of(plan), width)
