"""Pictures of a part, a plan and a job, as a notebook asks for them (IPython's display protocol).

The package `cam` teaches the classes to draw themselves with these functions, as soon as it hands out what makes
them. Their own modules know nothing of pictures: what judges a program text is made of them.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cam.job import Job
    from cam.lengths.solved import Solved
    from cam.plan.model import Plan


def show_part(part: Solved) -> str:
    """Return the finished part with a table of its sections, as SVG."""
    from cam.picture.part_sheet import draw_part

    return draw_part(part)


def show_plan(plan: Plan) -> str:
    """Return every setting with its planned passes, not yet checked, as SVG."""
    from cam.picture import draw_plot

    return draw_plot(plan, (), ())


def show_job(job: Job) -> str:
    """Return every setting as its program was checked, as SVG; of a refused job too, with what was hit marked."""
    from cam.job import draw_job

    return draw_job(job)


_DRAWN: tuple[tuple[str, str, Callable[[Any], str]], ...] = (
    ("cam.lengths.solved", "Solved", show_part),
    ("cam.plan.model", "Plan", show_plan),
    ("cam.job.model", "Job", show_job),
)
"""Each module, class and the function that draws it."""


def teach_drawing() -> None:
    """Give each of these classes its `_repr_svg_`."""
    for module, name, show in _DRAWN:
        getattr(import_module(module), name)._repr_svg_ = show
