"""A job made, and every text that comes of it; for one that is refused, the words of the refusal."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import NamedTuple

from cam.ground.problem import ProblemError
from cam.job import job_files, make_job
from cam.job import sheets as printed
from cam.job.outputs import pages_of
from cam.job.record import job_record
from cam.job.report import show_check
from posts.notebook import write_notebook
from tests.frozen_jobs.jobs import Job, fixed

REFUSED, FAULT = "refused.txt", "fault.txt"


class Made(NamedTuple):
    """A job and its texts by the names of their files; refused: each problem in words."""

    job: Job
    texts: dict[str, str]
    refused: tuple[str, ...] = ()


def make(job: Job) -> Made:
    """Make one job in a folder of its own, so that no text names a path of this machine."""
    home = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="endshake-frozen-") as folder:
        os.chdir(folder)
        try:
            Path(job.file).write_text(job.part, "utf-8")
            Path("shop.toml").write_text(job.shop, "utf-8")
            return Made(job, _texts(job))
        except ProblemError as refused:
            words = tuple(map(str, refused.problems))
            return Made(job, {REFUSED: "".join(f"{problem}\n" for problem in words)}, words)
        except Exception as fault:  # a fault of ours is a text like any other: it is there in both trees, or is not
            return Made(job, {FAULT: f"{type(fault).__name__}: {fault}\n"})
        finally:
            os.chdir(home)


def make_all(job: Job) -> list[Made]:
    """Make one job and, where it is refused, what its refusals make of it."""
    made = [make(job)]
    while again := fixed(made[-1].job, made[-1].refused):
        made.append(make(again))
    return made


def _texts(job: Job) -> dict[str, str]:
    """Return every program and page; text, print and notebook come from the same pages, so the text alone is judged."""
    made = make_job(job.file, "shop.toml", dialect=job.dialect or None, mill_dialect=job.dialect or None)
    texts = {name: data.decode() for name, data in job_files(made).items()}
    pages = pages_of(made)
    texts["summary.html"] = printed._print(made, "cutting summary", pages, "A4")
    texts["notebook.txt"] = write_notebook(made.plan, pages)
    texts["check.txt"] = show_check(made)
    texts["plan.json"] = json.dumps(job_record(made), indent=1, sort_keys=True, default=str)
    return texts
