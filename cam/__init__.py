"""Endshake: stepped arbors planned, proved and printed from the lengths measured off the real assembly.

The same steps that the command takes, for use from Python. Nothing is imported until it is used.

    import cam
    job = cam.make_job("samples/orrery-drum-arbor.toml")
    job.problems                    # why it may not be cut; empty where it may
    job.works[0].text               # the program of setting 1
    job.works[0].simulation.closest # how near it comes to anything, and on which line

or one by one:

    part = cam.read_part("samples/orrery-drum-arbor.toml")
    shop = cam.read_shop("samples/shop.toml")
    settings = cam.settle(part, shop)           # who is held how; follows from part and shop alone
    plan = cam.plan_job(part, shop)             # operations and passes
    moves = cam.make_moves(plan.settings[0], shop)
    text = cam.emit_program(moves, plan=plan, setting_plan=plan.settings[0],
                            dialect=cam.load_dialect("rs274ngc"), units="mm", x_words="radius")
    program = cam.read_program(text, cam.Rules(standard="NISTIR 6556", x_words="radius"), "setting-1.ngc")
    judged = cam.simulate_program(program, settings[0], shop)

Lengths are mm, radii inside and diameters in part files; every docstring says which. What is wrong with what
was given comes as ProblemError, with every problem at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cam.job import Job, Verdict, job_files, judge_program, make_job, read_given, write_job_summary
    from cam.moves import make_moves
    from cam.part import read_part
    from cam.picture import convert_plot, draw_plot
    from cam.plan import plan_job
    from cam.problem import Problem, ProblemError, Where
    from cam.rs274 import Rules, read_program
    from cam.setting import settle
    from cam.shop import read_shop
    from cam.simulate import simulate as simulate_program
    from cam.version import VERSION
    from posts.dialect import dialect_names, load_dialect
    from posts.program import emit_program
    from posts.summary import write_summary

__all__ = [
    "VERSION",
    "Job",
    "Problem",
    "ProblemError",
    "Rules",
    "Verdict",
    "Where",
    "convert_plot",
    "dialect_names",
    "draw_plot",
    "emit_program",
    "job_files",
    "judge_program",
    "load_dialect",
    "make_job",
    "make_moves",
    "plan_job",
    "read_given",
    "read_part",
    "read_program",
    "read_shop",
    "settle",
    "simulate_program",
    "write_job_summary",
    "write_summary",
]

_HOMES = {
    "cam.version": ("VERSION",),
    "cam.problem": ("Problem", "ProblemError", "Where"),
    "cam.part": ("read_part",),
    "cam.shop": ("read_shop",),
    "cam.setting": ("settle",),
    "cam.plan": ("plan_job",),
    "cam.moves": ("make_moves",),
    "cam.rs274": ("Rules", "read_program"),
    "cam.picture": ("convert_plot", "draw_plot"),
    "cam.job": ("Job", "Verdict", "job_files", "judge_program", "make_job", "read_given", "write_job_summary"),
    "posts.dialect": ("dialect_names", "load_dialect"),
    "posts.program": ("emit_program",),
    "posts.summary": ("write_summary",),
}
"""Module -> the names that it lends to this one."""


def __getattr__(name: str) -> Any:
    """Import what is asked for, once."""
    from importlib import import_module  # noqa: PLC0415

    if name == "simulate_program":  # `cam.simulate` is the package
        found = import_module("cam.simulate").simulate
    else:
        home = next((module for module, names in _HOMES.items() if name in names), None)
        if home is None:
            raise AttributeError(f"module 'cam' has no attribute {name!r}")
        found = getattr(import_module(home), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
