"""The law of words in the search: an operator does what a program's stops say, with nothing wrong, and sets nothing."""

from __future__ import annotations

from cam.job import Job
from tests.control.operator import Operator
from tests.control.plays import NOT_SET, Case, Outcome, cases, judge, play
from tests.search.laws import BrokenLawError

ROUNDED = 0.0055
"""A face is measured where the round that a nose left before it is up to 0.005 mm thick; and a figure is rounded."""


def hold_words(job: Job) -> None:
    """Check every program of a job by what a person finds at its stops, later tools set before the start, and there.

    Raises:
        BrokenLawError: with the first stop that finds something wrong, or has something set, where all is right.
    """
    for case in cases(job, "program"):
        for what, outcome in (("", play(case, sees=ROUNDED)), (", tools set at their stops", _tools_set_late(case))):
            sets = outcome.why and not case.work.setting.threads  # wires in a groove tell a hundredth, right or wrong
            if outcome.end != "within limits" or sets:
                raise BrokenLawError(f"by its words{what}: {outcome.end}: {outcome.why}")


def _tools_set_late(case: Case) -> Outcome:
    """Play a program whose tools but the first are set at their stops."""
    lathe = case.lathe()
    first, *more = dict.fromkeys(p.tool.number for p in case.work.planned.passes)
    lathe.zeros |= {number: [NOT_SET, NOT_SET] for number in more if number != first}
    operator = Operator(lathe, sees=ROUNDED, late=frozenset(more))
    return judge(case, operator, operator.work())
