"""The job on paper: its cutting summary and its bench notebook as pages to print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cam.ground.problem import printable
from cam.job.outputs import pages_of, write_job_summary
from cam.job.pages import require_notebook, require_pages

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cam.job.model import Job
    from posts.pages.blocks import Page


def print_job_summary(job: Job, paper: str) -> str:
    """Return the cutting summary as one HTML file to print, a page for each setting.

    Args:
        paper: "A4" or "Letter".
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: a hand could not work by it; our own fault.
    """
    return require_pages(job, _print(job, "cutting summary", pages_of(job), paper), "summary.html")


def _print(job: Job, what: str, pages: Sequence[Page], paper: str) -> str:
    from posts.pages.figures import figures_for
    from posts.pages.paper import PAPERS
    from posts.pages.print import print_pages
    from posts.wording import plain

    figures = figures_for(job.part, job.plan.shop.lathe)
    title = f"{plain(job.part.name)}: {what}"
    return printable(print_pages(title, pages, job.part, PAPERS[paper], figures.size, figures.place))


def write_job_notebook(job: Job, width: int = 80) -> str:
    """Return the bench notebook as plain text.

    Args:
        width: columns.
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: it does not measure what its pages do; our own fault.
    """
    from posts.layout import WIDTH
    from posts.notebook import write_notebook

    pages = pages_of(job)
    text = printable(write_notebook(job.plan, pages, width=width))
    wide = text if width >= WIDTH else printable(write_notebook(job.plan, pages))
    require_notebook(job, wide, "notebook.txt", write_job_summary(job))
    return text


def print_job_notebook(job: Job, paper: str) -> str:
    """Return the bench notebook as one HTML file to print.

    Args:
        paper: "A4" or "Letter".
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: it does not measure what its pages do; our own fault.
    """
    from posts.notebook import notebook_pages

    text = _print(job, "bench notebook", notebook_pages(job.plan, pages_of(job)), paper)
    return require_notebook(job, text, "notebook.html", write_job_summary(job))
