"""Endshake: stepped arbors planned, proved and printed from the lengths measured off the real assembly.

The same steps that the command takes, for use from Python. Nothing is imported until it is used.

    from cam import make_job, plan_job, read_part, read_shop

    part = read_part("samples/crank-pin.toml")  # what the file says, solved: sections, stock, holding
    shop = read_shop("samples/shop.toml")       # lathe, centres, tools, materials
    plan = plan_job(part, shop)                 # settings -> operations -> passes
    plan.settings[0].passes[0].depth            # per side, mm

    job = make_job("samples/crank-pin.toml")    # the whole way: planned, written, read back, judged
    job.problems                                # why it may not be cut; empty where it may
    job.works[0].text                           # the program of setting 1
    job.works[0].simulation.closest             # how near it comes to anything, and on which line

Part, plan and job draw themselves as the result of a notebook's cell. `read_given` reads a part with the shop that it
names and with what was recorded of it; `draw_dxf` gives its half-profile as a drawing. Each step by itself:

    settings = settle(part, shop)               # who is held how; follows from part and shop alone
    moves = make_moves(plan.settings[0], shop)
    text = emit_program(moves, plan=plan, setting_plan=plan.settings[0],
                        dialect=load_dialect("rs274ngc"), units="mm", x_words="radius")
    program = read_program(text, Rules(standard="NISTIR 6556", x_words="radius"), "setting-1.ngc")
    judged = simulate_program(program, settings[0], shop)

Lengths are mm, radii inside and diameters in part files; every docstring says which. What is wrong with what
was given comes as ProblemError, with every problem at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cam.dxf.write import draw_dxf
    from cam.ground.problem import Problem, ProblemError, Where
    from cam.ground.version import VERSION
    from cam.job import Job, Verdict, job_files, judge_program, make_job, read_given, write_job_summary
    from cam.judge import simulate as simulate_program
    from cam.lengths import read_part
    from cam.moves import make_moves
    from cam.picture import draw_plot
    from cam.picture.convert import convert_plot
    from cam.picture.part_sheet import draw_part
    from cam.plan import plan_job
    from cam.rs274 import Rules, read_program
    from cam.setting import settle
    from cam.shop import read_shop
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
    "draw_dxf",
    "draw_part",
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
    "cam.ground.version": ("VERSION",),
    "cam.ground.problem": ("Problem", "ProblemError", "Where"),
    "cam.lengths": ("read_part",),
    "cam.shop": ("read_shop",),
    "cam.setting": ("settle",),
    "cam.plan": ("plan_job",),
    "cam.moves": ("make_moves",),
    "cam.rs274": ("Rules", "read_program"),
    "cam.dxf.write": ("draw_dxf",),
    "cam.picture": ("draw_plot",),
    "cam.picture.convert": ("convert_plot",),
    "cam.picture.part_sheet": ("draw_part",),
    "cam.job": ("Job", "Verdict", "job_files", "judge_program", "make_job", "read_given", "write_job_summary"),
    "posts.dialect": ("dialect_names", "load_dialect"),
    "posts.program": ("emit_program",),
    "posts.summary": ("write_summary",),
}
"""Module -> the names that it lends to this one."""

_GIVE_DRAWN = frozenset({"Job", "judge_program", "make_job", "plan_job", "read_given", "read_part"})
"""Names that lead to a part, a plan or a job, which are to draw themselves in a notebook."""


def __getattr__(name: str) -> Any:
    """Import what is asked for, once."""
    if name == "simulate_program":  # `cam.judge` is the package
        found = import_module("cam.judge").simulate
    else:
        home = next((module for module, names in _HOMES.items() if name in names), None)
        if home is None:
            raise AttributeError(f"module 'cam' has no attribute {name!r}")
        found = getattr(import_module(home), name)
    if name in _GIVE_DRAWN:
        import_module("cam.job.show").teach_drawing()
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
