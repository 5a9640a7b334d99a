"""The whole picture as SVG text, by template."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cam.picture.draft import Panel, clean, edge
from cam.picture.hook_panel import lay_out_hook
from cam.picture.mill_panel import lay_out_mill
from cam.picture.panel import lay_out
from cam.picture.refused_square import lay_out_refused
from cam.picture.scene import set_scene
from cam.picture.sheet import HEIGHT, WIDTH, Rect, paper
from posts.environment import find_markup

if TYPE_CHECKING:
    from cam.judge.model import Simulation
    from cam.mill.done import MillDone
    from cam.picture.refused_square import RefusedSquare
    from cam.plan.model import Plan
    from cam.rs274.model import Program


def draw_plot(
    plan: Plan, simulations: Sequence[Simulation], programs: Sequence[Program], mill: MillDone | None = None,
    refused: RefusedSquare | None = None, why: str = "",
) -> str:  # fmt: skip
    """Draw every setting of a plan, then what the mill does, one lying A4 sheet each, below one another, as SVG.

    Args:
        plan: what is drawn.
        simulations: one for each setting, in order; a setting without one shows its planned passes.
        programs: the programs that were simulated, in the same order; may be empty, or shorter.
        mill: the milling, as checked; None for none.
        refused: a square that could not be planned, drawn end-on in its place.
        why: why the job may not be cut, for every setting that does not say it itself; "" where it may.

    Returns:
        SVG text; the same input gives the same bytes.
    """
    judged = {s.setting: (s, programs[k] if k < len(programs) else None) for k, s in enumerate(simulations)}
    panels = []
    for planned in plan.settings:
        simulation, program = judged.get(planned.setting.number, (None, None))
        scene = set_scene(planned, plan.shop, simulation, program)
        panels.append(lay_out(plan, planned, scene, simulation, why))
    if mill is not None:
        for work in mill.works:
            panels.append(lay_out_mill(plan.part.name, plan.part.unit, mill, work, HEIGHT * len(panels)))
    if refused is not None:
        panels.append(lay_out_refused(plan.part.name, plan.part.unit, refused, HEIGHT * len(panels)))
    if plan.part.screwed is not None and plan.part.screwed.hook is not None:
        panels.append(lay_out_hook(plan.part, plan.part.screwed, HEIGHT * len(panels)))
    return render_sheets(plan.part.name, panels)


def render_sheets(title: str, panels: Sequence[Panel]) -> str:
    """Render sheets that lie below one another as SVG text."""
    height = HEIGHT * max(len(panels), 1)
    return find_markup("plot.svg.j2").render(
        title=clean(title), description=" ".join(label for _, _, label, *_ in panels), width=WIDTH, height=height,
        box=f"0 0 {paper(WIDTH)} {paper(height)}", sheet=edge(Rect(0, 0, WIDTH, HEIGHT)), panels=panels,
    )  # fmt: skip
