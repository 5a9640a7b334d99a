"""The job on paper: its cutting summary and its bench notebook, and the summary of several pieces of one part.

Of several pieces one page sets the shop up, and all others are there for each piece, by its name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from cam.ground.problem import printable
from cam.job.outputs import pages_of, write_job_summary
from cam.job.pages import require_notebook, require_pages

if TYPE_CHECKING:
    from cam.job.model import Job
    from cam.part.model import Part
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


def _print(
    job: Job, what: str, pages: Sequence[Page], paper: str, name: str = "", parts: Sequence[Part] = ()
) -> str:  # fmt: skip
    """Print pages of a job; name, parts: of several jobs together, a part for each page."""
    from posts.pages.job import figures_of
    from posts.pages.paper import PAPERS
    from posts.pages.print import print_pages
    from posts.wording import plain

    title, figures = f"{plain(name or job.part.name)}: {what}", figures_of(job.plan)
    return printable(print_pages(title, pages, parts or job.part, PAPERS[paper], figures.size, figures.place))


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


def write_batch_summary(jobs: Sequence[Job], width: int = 80) -> str:
    """Return the cutting summaries of several pieces of one part as one plain text.

    Args:
        jobs: at least one; each made with its piece. width: columns.
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: a hand could not work by a page; our own fault.
    """
    from posts.layout import paginate
    from posts.pages.job import figures_of
    from posts.pages.text import section_of

    texts = [write_job_summary(job, width) for job in jobs]  # so that each is known to be one that a hand can work by
    if len(texts) == 1:
        return texts[0]
    sections = [section_of(page, job.part, figures_of(job.plan), width) for job, page in batch_pages(jobs)]
    return printable(paginate(sections, width))


def print_batch_summary(jobs: Sequence[Job], paper: str) -> str:
    """Return the same as one HTML file to print.

    Args:
        paper: "A4" or "Letter".
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: a hand could not work by a page; our own fault.
    """
    texts = [print_job_summary(job, paper) for job in jobs]  # likewise
    if len(texts) == 1:
        return texts[0]
    batch = batch_pages(jobs)
    parts, pages = [job.part for job, _ in batch], [page for _, page in batch]
    return _print(jobs[0], "cutting summary", pages, paper, _together(jobs), parts)


def batch_pages(jobs: Sequence[Job]) -> list[tuple[Job, Page]]:
    """Return every page of several jobs with its job; the first page once, where what it makes ready is the same."""
    each = [(job, pages_of(job)) for job in jobs]
    head = _one_first_page(jobs, [pages[0] for _, pages in each])
    if head is None:
        return [(job, page) for job, pages in each for page in pages]
    return [(jobs[0], head), *((job, page) for job, pages in each for page in pages[1:])]


def _one_first_page(jobs: Sequence[Job], firsts: Sequence[Page]) -> Page | None:
    """Return one first page for several jobs, with the log of each; None where they make different things ready."""
    from posts.pages.blocks import Words, of_kind

    first, ready = firsts[0], firsts[0].blocks[1:]
    leads = of_kind((page.blocks[0] for page in firsts if page.blocks[1:] == ready), Words)
    if len(leads) < len(firsts):
        return None
    said = [lead.words.partition(LOG) for lead in leads]
    words = said[0][0] + "".join(dict.fromkeys(f"{mark}{used}" for _, mark, used in said))
    return replace(first, part=_together(jobs), blocks=(replace(leads[0], words=words), *ready))


LOG = " Of the log "
"""The beginning of what a first page says of the log that was used."""


def _together(jobs: Sequence[Job]) -> str:
    """Return the part's name with those of all pieces."""
    name = jobs[0].part.name.partition(", ")[2]
    return f"pieces {', '.join(job.part.piece for job in jobs)}, {name}"
