"""Pages judged by their printed text, as programs are: what `make` and `summary` print, and what someone edited."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cam.ground.frozen import frozen
from cam.ground.problem import Problem
from cam.job.given import read_given, read_text, settings_of
from cam.job.mill import judge_mill_pages, measured_on_mill

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cam.job.model import Job
    from cam.lengths.solved import Solved
    from cam.setting.model import Setting
    from cam.sheet.model import SheetVerdict
    from cam.shop.model import Shop


class PageFaultError(RuntimeError):
    """A page that we wrote cannot be worked by: this is our own fault, never the user's."""


@frozen
class PageVerdict:
    """The judgement on one setting's page of a text.

    Attributes:
        setting: setting that the page was judged in. path: path of the text. sheet: what was found.
        threads: what stands against the pages of threads in the text, where it has any.
    """

    part: Solved
    shop: Shop
    setting: Setting
    path: str
    sheet: SheetVerdict
    threads: tuple[Problem, ...] = ()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All that was found."""
        return tuple(sorted({*self.sheet.problems, *self.threads}))


def is_page(path: str) -> bool:
    """Tell whether a file holds a setting's page, and no program.

    Raises:
        ProblemError: the file cannot be read.
    """
    from cam.sheet import is_sheet

    return is_sheet(read_text(path))


def judge_page(
    path: str, part_path: str, number: int, shop_path: str | None = None, piece: str = ""
) -> PageVerdict:  # fmt: skip
    """Judge a page that someone may have edited, against one setting of a part.

    Args:
        path: path of the text, plain or of the print form. part_path, shop_path, number, piece: as for judge_program.
    Returns:
        What was found. Problems in the page are part of it and are not raised.
    Raises:
        ProblemError: a file cannot be read, part or shop is wrong, or there is no such setting.
    """
    from cam.sheet import judge_sheet
    from cam.sheet.thread import has_thread_pages, judge_thread_pages

    text = read_text(path)
    part, shop = read_given(part_path, shop_path, piece)
    settings = settings_of(part, shop, number)
    setting = settings[number]
    material = shop.materials.get(part.stock.material)
    found = judge_sheet(text, setting, shop, path=path, unit=part.unit, material=material)
    threads: tuple[Problem, ...] = ()
    if has_thread_pages(text):
        threads = judge_thread_pages(text, part, list(settings.values()), shop, path=path, unit=part.unit)
    return PageVerdict(part=part, shop=shop, setting=setting, path=path, sheet=found, threads=threads)


def judge_pages(job: Job, text: str, path: str) -> tuple[SheetVerdict, ...]:
    """Judge every setting's page of a text that was written for a job, each on its setting's own stock.

    What a page leaves may be off its aim by half a division; that is judged with that page, and not with the next.

    Args:
        text: plain, or of the print form. path: path of the file that it is to become, for reports.
    """
    from cam.sheet import judge_sheet

    material = job.shop.materials.get(job.part.stock.material)
    return tuple(
        judge_sheet(text, work.setting, job.shop, path=path, unit=job.part.unit, material=material)
        for work in job.works
    )


def require_pages(job: Job, text: str, path: str) -> str:
    """Return a text of pages, once it is known that a hand can work by it.

    Raises:
        PageFaultError: a hand could not; our own fault, with everything that was found.
    """
    problems = [p for verdict in judge_pages(job, text, path) for p in verdict.problems]
    _refuse([*problems, *judge_mill_pages(job, text, path), *judge_threads(job, text, path)])
    return text


def judge_threads(job: Job, text: str, path: str) -> tuple[Problem, ...]:
    """Find what stands against the page of every thread in a text that was written for a job."""
    from cam.sheet.thread import judge_thread_pages

    settings = [work.setting for work in job.works]
    return judge_thread_pages(text, job.part, settings, job.shop, path=path, unit=job.part.unit)


def require_notebook(job: Job, text: str, path: str, summary: str) -> str:
    """Return a notebook, once it is known that it measures what the pages of its job do, which were cut by.

    Args:
        text, path: the notebook. summary: the pages of the job as text.

    Raises:
        PageFaultError: it does not, or a page is at fault; our own fault, with everything that was found.
    """
    from cam.sheet.notebook import judge_notebook, said_by

    pages = {f"SETTING {v.sheet.number}": said_by(v.sheet) for v in judge_pages(job, summary, "summary.txt")}
    pages |= measured_on_mill(job, summary, "summary.txt")
    _refuse(judge_notebook(text, job.part, pages, path=path))
    return text


def _refuse(problems: Sequence[Problem]) -> None:
    if problems:
        told = "\n".join(str(p) for p in sorted(set(problems)))
        raise PageFaultError(f"a page that we wrote cannot be worked by, so none is given out; our own fault:\n{told}")
