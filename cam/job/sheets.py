"""The job on paper: its cutting summary and its bench notebook as pages to print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cam.job.outputs import closest_words, summary_of
from cam.problem import Problem, Where, printable

if TYPE_CHECKING:
    from cam.job.model import Job


def print_job_summary(job: Job, paper: str) -> tuple[str, tuple[Problem, ...]]:
    """The cutting summary as one HTML file to print, a page for each setting.

    Args:
        paper: "A4" or "Letter".
    Returns:
        The file's text, and which settings take more than one page even in the least type.
    Raises:
        RefusedError: a program may not be cut.
    """
    from posts.print_form import COLUMNS, PAPERS, print_summary
    from posts.print_setting import TYPE

    sections = summary_of(job, COLUMNS)
    printed = print_summary(job.plan, sections, PAPERS[paper], closest=closest_words(job), mill=job.mill)
    long = [
        Problem(
            where=Where(path=job.part.path),
            what=f"setting {number} takes {count} pages of {paper} even in type of {TYPE[-1]:g} pt; each says so",
            given=f"{len(job.plan.settings[number - 1].passes)} passes",
            fix="pin its pages up side by side",
        )
        for number, count in printed.pages.items()
        if count > 1
    ]
    return printable(printed.html), tuple(long)


def write_job_notebook(job: Job, width: int = 80) -> str:
    """The bench notebook, plain text.

    Args:
        width: columns.
    Raises:
        RefusedError: a program may not be cut.
    """
    from posts.layout import MOST_WIDTH
    from posts.notebook import write_notebook

    return printable(write_notebook(job.plan, summary_of(job, MOST_WIDTH), width=width))


def print_job_notebook(job: Job, paper: str) -> str:
    """The bench notebook as one HTML file to print.

    Args:
        paper: "A4" or "Letter".
    Raises:
        RefusedError: a program may not be cut.
    """
    from posts.layout import MOST_WIDTH
    from posts.notebook import notebook_sections
    from posts.print_form import COLUMNS, PAPERS, print_notebook

    sections = notebook_sections(job.plan, summary_of(job, MOST_WIDTH), width=COLUMNS)
    return printable(print_notebook(job.plan, sections, PAPERS[paper]))
