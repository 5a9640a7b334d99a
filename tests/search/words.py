"""The law of words in the search: an operator does what a program's stops say, with nothing wrong, and sets nothing."""

from __future__ import annotations

from cam.job import Job
from tests.control.mill_plays import milled, once_through
from tests.control.mill_plays import outcome as end_of
from tests.control.operator import Operator
from tests.control.plays import NOT_SET, Case, Outcome, cases, judge, play
from tests.search.laws import BrokenLawError

ROUNDED = 0.0055
"""A face is measured where the round that a nose left before it is up to 0.005 mm thick; and a figure is rounded."""
SET = 0.002
"""How far a tool's zero is out, on the diameter, that is set by two rounded figures of a stop in inches, mm."""


def hold_words(job: Job) -> None:
    """Check every program of a job by what a person finds at its stops, later tools set before the start, and there.

    Raises:
        BrokenLawError: with the first stop that finds something wrong, or has something set, where all is right.
    """
    for case in cases(job, "program"):
        for what, outcome in (("", play(case, sees=ROUNDED)), (", tools set at their stops", _tools_set_late(case))):
            if outcome.end != "within limits" or outcome.why:
                raise BrokenLawError(f"by its words{what}: {outcome.end}: {outcome.why}")


def hold_mill_words(job: Job) -> None:
    """Check every program of the mill by what a person finds at its stops, all right and with one thing wrong each.

    Raises:
        BrokenLawError: with the first play that is told too late or spoils the work, or that has something set where
            all is right.
    """
    for case in milled(job, "program"):
        for name, miller in once_through(case):
            found = end_of(case, miller, miller.work())
            right = name == "nothing is wrong"
            ends = ("within limits",) if right else ("within limits", "told in time")
            if found.end not in ends or (right and miller.sets):
                words = f"{found.end}: {found.why or ', '.join(miller.sets)}"
                raise BrokenLawError(f"by the words of {case.name}, {name}: {words}")


def _tools_set_late(case: Case) -> Outcome:
    """Play a program whose tools but the first are set at their stops."""
    lathe = case.lathe()
    first, *more = dict.fromkeys(p.tool.number for p in case.work.planned.passes)
    lathe.zeros |= {number: [NOT_SET, NOT_SET] for number in more if number != first}
    operator = Operator(lathe, sees=ROUNDED + SET, late=frozenset(more))
    return judge(case, operator, operator.work())
