"""A job and what was found against it, as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError

if TYPE_CHECKING:
    from cam.geometry.path import Chain
    from cam.job.milling import MillJob
    from cam.judge.mill_result import MillSimulation
    from cam.judge.model import Approach, Simulation
    from cam.judge.sizes import Size
    from cam.lengths.solved import Solved
    from cam.mill.done import MillWorkDone
    from cam.moves.model import Move
    from cam.plan.model import Plan, SettingPlan
    from cam.rs274.begin import Begun
    from cam.rs274.model import Program
    from cam.setting.model import Setting
    from cam.shop.model import Shop
    from posts.dialect import Dialect


class RefusedError(ProblemError):
    """The files are right and the part can be held, but it may not be cut like this.

    Attributes:
        shown_by: the verb that shows why: view, or plot where the mill cannot do it.
    """

    shown_by = "view"


class MillRefusedError(RefusedError):
    """The files are right, but the mill may not do its share like this; the refusal is drawn end-on."""

    shown_by = "plot"


@frozen
class Work:
    """One setting, from the plan to the judgement on its program.

    Attributes:
        planned: the setting's plan. moves: what the program was to say.
        file: name of the program's file, "setting-1.ngc". text: text of the program.
        program: as read back from the text. simulation: of the program that was read back.
        problems: why this program may not be cut; empty where it may. warnings: what its judge found worth knowing.
    """

    planned: SettingPlan
    moves: tuple[Move, ...]
    file: str
    text: str
    program: Program
    simulation: Simulation
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...] = ()

    @property
    def setting(self) -> Setting:
        """The setting: how the part is held, and what is turned in it."""
        return self.planned.setting

    def pass_at(self, line: int) -> int:
        """The number of the pass that a line of the text belongs to; 0 before the first."""
        from cam.judge.report import pass_at

        return pass_at(self.program, line)


@frozen
class Job:
    """A whole job, judged.

    Attributes:
        dialect: of the lathe's programs. works: one for each setting, in order.
        mill: the mill's share; None for a part that has none.
    """

    part: Solved
    shop: Shop
    plan: Plan
    dialect: Dialect
    works: tuple[Work, ...]
    mill: MillJob | None = None

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Why nothing may be cut; empty where all may."""
        own = tuple(p for work in self.works for p in work.problems)
        return own if self.mill is None else (*own, *self.mill.problems)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """What is worth knowing before it is cut."""
        own = (*self.plan.warnings, *(w for work in self.works for w in work.warnings))
        return own if self.mill is None else (*own, *self.mill.warnings)

    @property
    def milled(self) -> tuple[MillWorkDone, ...]:
        """The milling operations, in order; none for a part that has none."""
        return () if self.mill is None else self.mill.works

    @property
    def closest(self) -> tuple[Work, Approach] | None:
        """The closest approach of the whole job to anything, with the setting; None if nothing moves."""
        return _nearest([(w, w.simulation.closest) for w in self.works])

    @property
    def closest_fixed(self) -> tuple[Work, Approach] | None:
        """The closest approach to anything but the work: centre, carrier, chuck, headstock; None if there is none."""
        return _nearest([(w, w.simulation.closest_fixed) for w in self.works])

    def say_place(self, work: Work, line: int) -> str:
        """Say where a line of a setting's text is: "setting-1.ngc:57"; without a control, which pass."""
        if not self.shop.lathe.by_hand:
            return f"{work.file}:{line}"
        number = work.pass_at(line)
        return f"setting {work.setting.number}, " + (f"pass {number}" if number else "before the first pass")

    @property
    def tip_only(self) -> tuple[int, ...]:
        """Numbers of the tools in use whose bodies nobody described, so that the bodies were not checked."""
        return tuple(sorted({n for w in self.works for n in w.simulation.tip_only}))

    def require_pass(self) -> None:
        """Raise what stands against cutting.

        Raises:
            RefusedError: every program's problems at once.
        """
        if self.problems:
            raise RefusedError(self.problems)


@frozen
class TextVerdict:
    """The judgement on one program text, of lathe or mill.

    Attributes:
        path: path of the text. problems: why it may not be cut; empty where it may. warnings: worth knowing.
        begun: where it was begun at a pass; None for the whole.
    """

    part: Solved
    shop: Shop
    path: str
    program: Program
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...] = ()
    begun: Begun | None = None


@frozen
class Verdict(TextVerdict):
    """The judgement on one program text of the lathe.

    Attributes:
        setting: the one that it was judged in. stock: metal before; None takes the setting's own.
        changes: sizes within their limits that come out away from their aim.
    """

    setting: Setting
    stock: Chain | None
    simulation: Simulation
    changes: tuple[Size, ...] = ()


@frozen
class MillVerdict(TextVerdict):
    """The judgement on one text for the mill; name: of the work that it was judged for, "square"."""

    name: str
    simulation: MillSimulation


def _nearest(pairs: list[tuple[Work, Approach | None]]) -> tuple[Work, Approach] | None:
    found = [(work, approach) for work, approach in pairs if approach is not None]
    return min(found, key=lambda pair: pair[1].distance, default=None)
