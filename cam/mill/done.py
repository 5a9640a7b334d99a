"""The milling once it is judged, for pages and pictures, which need no job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cam.ground.frozen import frozen

if TYPE_CHECKING:
    from cam.ground.problem import Problem
    from cam.judge.mill_result import MillSimulation
    from cam.mill.plan_hole import CrossHolePlan, HoleTask
    from cam.mill.plan_square import SquarePlan, SquareTask
    from cam.mill.settle import HoleJob, SquareJob
    from cam.rs274.model import Program
    from cam.shop.mill import Mill


@frozen
class PlannedMilling:
    """One milling operation, planned and not yet written.

    Attributes:
        name: "square", "cross-hole", "cross-hole-2" ...
        asked: the square or the hole as asked. task: as it was planned. plan: what came of the task.
    """

    name: str
    asked: SquareJob | HoleJob
    task: SquareTask | HoleTask
    plan: SquarePlan | CrossHolePlan


@frozen
class MillWorkDone(PlannedMilling):
    """One program of the mill, from the plan to the judgement.

    Attributes:
        file: "square.ngc". title: what the program makes, in words. notes: how the work is set up.
        entered: where X, Y and Z of the tools are entered at the control, a sentence.
        text, program, simulation: the program as written, read back, judged. problems: why it may not be cut.
    """

    file: str
    title: str
    notes: tuple[str, ...]
    entered: str
    text: str
    program: Program
    simulation: MillSimulation
    problems: tuple[Problem, ...]


@frozen
class MillDone:
    """All milling operations, cross holes first: a small tap breaks before most work has gone into the part.

    Attributes:
        unplanned: names of what cannot be planned before a measurement is recorded.
    """

    mill: Mill
    works: tuple[MillWorkDone, ...]
    unplanned: tuple[str, ...]
