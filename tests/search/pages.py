"""The law of pages in the search: the page of every setting of an accepted job, read and cut by as a hand would."""

from __future__ import annotations

import re

from cam.job import Job
from tests.search.laws import BrokenLawError
from tests.sheets.jobs import Written, pages_of
from tests.sheets.law import judge_pages


def hold_pages(job: Job, *, corrected: bool = False) -> None:
    """Check a job's pages by what their own judge finds, and by the sizes that a hand reaches.

    Args:
        corrected: whether stops' readings have moved the rows, so that by their figures no size is as drawn.

    Raises:
        BrokenLawError: with the first law that is broken.
    """
    text = pages_of(job.plan)
    if broken := re.search(r".{0,60}\w\.\.\.", text):  # a sentence too long for its place was cut off
        raise BrokenLawError(f"by its page: breaks off: {broken[0]}")
    found = judge_pages(Written(job.part, job.shop, job.plan, text))
    wrong = [p.what for v in found.verdicts for p in v.problems]
    for what in (*wrong, *(() if corrected else found.outside)):
        raise BrokenLawError(f"by its page: {what}")
