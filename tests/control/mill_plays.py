"""The plays at the mill: one thing wrong each time on the square and on the holes of a part."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from typing import Any

from cam.job import Job, write_job_summary
from tests.control.machine import join
from tests.control.mill import Mill, Miller
from tests.control.plays import AMOUNTS, Outcome
from tests.control.silent import StopsPage, read_page

NAMES = "XYZ"
OFF = (*AMOUNTS, 0.04)
"""How far a zero is off, mm: 0.04 is the most that no slip finds, nearly all that is left for the finish."""
HOLE = 0.15
"""How far a hole may be from its place and depth, mm: ISO 2768-1, table 1, class m for 6 to 30 mm is 0.2."""


@dataclass(frozen=True)
class Milled:
    """A program of the mill. wanted: for a hole its place X and, by tool, the depth Z; None for a square of sides."""

    name: str
    text: str
    round_: float
    station: float
    radii: dict[int, float]
    wanted: dict[int, tuple[float, float, float]] | None
    page: StopsPage | None = None
    sides: int = 4
    lean: float = 0.0

    @property
    def labels(self) -> list[str]:
        """Return the N words that its passes begin at."""
        return [re.search(r"^(N\d+)", text, re.M)[1] for text in re.split(r"^\(---- ", self.text, flags=re.M)[1:]]  # type: ignore[index]

    @property
    def own_zeros(self) -> bool:
        """Tell whether each of several tools has a zero of its own."""
        return "INTO EACH OF" in join(re.findall(r"\(([^)]*)\)", self.text))

    def mill(self, **more: Any) -> Mill:
        """Return a mill with the program in its control."""
        square = self.wanted is None
        given = self.text, self.round_, self.station, self.radii
        return Mill(*given, shoulder=square, lean=self.lean, sides=self.sides, page=self.page, **more)


def milled(job: Job, name: str) -> Iterator[Milled]:
    """Return the square and the holes of a job."""
    works = job.mill.works if job.mill is not None else ()
    summary = write_job_summary(job) if works else ""
    for work in works:
        told = read_page(summary, work.file)
        page = told if told.stops else None  # only a control that shows no words has one
        tools = (getattr(work.task, name, None) for name in ("cutter", "spot", "drill", "tap"))
        flat = getattr(work.task, "flat", None)
        cutters = {c.number: c.diameter / 2 for c in (*tools, flat[0] if flat else None) if c is not None}
        square = getattr(work.task, "square", None)
        if square is not None:
            given = work.text, square.blank / 2, square.station, cutters
            lean = square.slope if work.task.way == "tipped block" else 0.0
            yield Milled(f"{name} {work.name}", *given, None, page, square.flats, lean)
            continue
        top = next(s.top for s in work.task.sections if s.start - 1e-9 <= work.task.x <= s.end + 1e-9)
        plain = Milled(f"{name} {work.name}", work.text, top, work.task.x, cutters, {}, page)
        right = plain.mill()
        assert Miller(right).work() == ""
        yield Milled(plain.name, plain.text, top, work.task.x, cutters, dict(right.holes), page)


def outcome(case: Milled, miller: Miller, told: str) -> Outcome:
    """Say how a play ended."""
    mill = miller.mill
    if mill.spoilt:
        return Outcome("SPOILT", mill.spoilt[0])
    if told:
        return Outcome("told in time", told)
    if miller.read:
        return Outcome("told too late", miller.read[0])
    if case.wanted is None:
        return Outcome("within limits")
    for tool, place in case.wanted.items():
        if any(abs(a - b) > HOLE for a, b in zip(place, mill.holes[tool], strict=True)):
            return Outcome("SPOILT", f"tool {tool} stood at {mill.holes[tool]}, {place} wanted")
    return Outcome("within limits")


def play_mill(case: Milled) -> Iterator[tuple[str, Outcome]]:
    """Make every play on one program: return its name and how it ended."""
    kind = "the square" if case.wanted is None else "a hole"
    for name, miller in once_through(case):
        yield f"{kind}: {name}", outcome(case, miller, miller.work())
    yield from ((f"{kind}: begun again at each N line, all before it done", o) for o in _again(case))
    yield from ((f"{kind}: the current fails in a pass, begun again there", o) for o in _drop_outs(case))


def once_through(case: Milled) -> Iterator[tuple[str, Miller]]:
    """Return an operator for each play in which a program is gone through once, from its start, and the play's name."""
    yield "nothing is wrong", Miller(case.mill())
    yield "Z counts the other way", Miller(case.mill(up=-1))
    yield "the work is turned the other way", Miller(case.mill(turns=-1))
    for by in (a * sign for a in OFF for sign in (1, -1)):
        for axis in range(3):
            mill = case.mill()
            for zero in mill.zeros.values():
                zero[axis] = by
            yield f"{NAMES[axis]} zero {by:+.2f}", Miller(mill, residual=0.01 if by > 0 else -0.01)
    for residual in (0.01, -0.01):
        mill = case.mill()
        for zero in mill.zeros.values():
            zero[:] = [7.0, 7.0, 7.0]
        yield "tools set at their stops", Miller(mill, residual=residual, late=True)
    if case.own_zeros:
        mill = case.mill()
        for zero in mill.zeros.values():
            zero[:2] = [7.0, 7.0]
        yield "X and Y not entered for a tool", Miller(mill, late=True, forgets=max(case.radii))


def _again(case: Milled) -> Iterator[Outcome]:
    """Stop before each pass, end the control, and begin again there: what comes out is as without."""
    whole = case.mill()
    Miller(whole).work()
    for label in case.labels:
        mill, miller = until(case, label)
        told = miller.work(label)
        same = (mill.flats, mill.holes) == (whole.flats, whole.holes)
        yield outcome(case, miller, told) if same else Outcome("SPOILT", f"{label}: came out otherwise")


def _drop_outs(case: Milled) -> Iterator[Outcome]:
    """Fail at some line of each pass; tools are set anew, to a hundredth, and the pass is begun again."""
    rng = Random(5)
    for k, label in enumerate(case.labels):
        miller = until(case, label, rng.randrange(5, 13))[1]
        miller.anew = 0.01 if k % 2 else -0.01
        yield outcome(case, miller, miller.work(label))


def until(case: Milled, label: str, further: int = 0, **more: Any) -> tuple[Mill, Miller]:
    """Return the mill with all done before an N line and some lines further, as a control just switched on."""
    mill = case.mill(**more)
    whole, at = mill.lines, next(k for k, row in enumerate(mill.lines) if re.match(rf"{label}\b", row))
    mill.lines = whole[: at + further]
    miller = Miller(mill)
    miller.work()
    mill.lines, mill.spinning, mill.tool = whole, False, 0
    return mill, miller
