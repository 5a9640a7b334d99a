"""What pages and pictures need of the milling once it is judged, as protocols, so that they need no job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cam.judge.mill_result import MillSimulation
    from cam.mill.plan_hole import CrossHolePlan, HoleTask
    from cam.mill.plan_square import SquarePlan, SquareTask
    from cam.mill.settle import HoleJob, SquareJob
    from cam.rs274.model import Program
    from cam.shop.mill import Mill


class MillWorkDone(Protocol):
    """One program of the mill with all that it came from; cam.job.milling.MillProgramJob is one."""

    @property
    def name(self) -> str:
        """Return the name of the operation: "square", "cross-hole", "cross-hole-2" ..."""

    @property
    def file(self) -> str:
        """Return the name of its program's file."""

    @property
    def title(self) -> str:
        """Return what it makes, in words."""

    @property
    def asked(self) -> SquareJob | HoleJob:
        """Return the operation as the part file asks for it."""

    @property
    def task(self) -> SquareTask | HoleTask:
        """Return the task that the plan was made for."""

    @property
    def plan(self) -> SquarePlan | CrossHolePlan:
        """Return the plan that was made for the task."""

    @property
    def program(self) -> Program:
        """Return the program as it was read back."""

    @property
    def simulation(self) -> MillSimulation:
        """Return the judgement on its program."""


class MillDone(Protocol):
    """All milling operations, in the order in which they are done; cam.job.milling.MillJob is one."""

    @property
    def mill(self) -> Mill:
        """Return the mill."""

    @property
    def works(self) -> Sequence[MillWorkDone]:
        """Return each program, in order."""

    @property
    def unplanned(self) -> Sequence[str]:
        """Return the names of what cannot be planned yet."""
