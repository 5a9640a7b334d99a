"""The plays: one thing is wrong each time, the operator does as he is told, and the metal is looked at afterwards."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from random import Random
from typing import Any, Literal, Protocol

import numpy as np

from cam.job import Job, write_job_summary
from cam.job.model import Work
from cam.judge.limits import within_limits
from cam.plan.model import Pass
from cam.shop.model import Shop
from tests.control.machine import DEEP, AlarmError, Lathe, Metal, Senses
from tests.control.operator import Operator, out_of
from tests.control.silent import StopsPage, read_page

End = Literal["within limits", "told in time", "told too late", "SPOILT"]
ENDS: tuple[End, ...] = ("within limits", "told in time", "told too late", "SPOILT")
"""How a play can end. Too late: a cut took metal that is wanted, and the stop right behind it says so."""
AMOUNTS = (0.01, 0.02, 0.05, 0.1)
AMOUNT = re.compile(r" [+-]\d\.\d+")
"""The amount in the name of a play."""
SAME = 1e-6
NOT_SET = 7.0
"""How far out the zero of a tool is that was never set, mm; any amount that would crash does."""


@dataclass(frozen=True)
class Outcome:
    """What came of one play: how it ended, and what was said or is wrong."""

    end: End
    why: str = ""


class Named(Protocol):
    """A program to be played, of lathe or mill."""

    @property
    def name(self) -> str:
        """The program's name as the table says it."""


@dataclass(frozen=True)
class Case:
    """A program to be played. page: of its stops, where its control shows no words."""

    name: str
    work: Work
    shop: Shop
    page: StopsPage | None = None

    def lathe(self, senses: Senses | None = None, z: float = 0.0) -> Lathe:
        """Return a lathe with the program in its control, right but for its senses; z: error of its Z zero, mm."""
        setting, least = self.work.setting, within_limits(self.work.setting, float(self.shop.lathe.z.division))[0]
        right = Senses(diameters=self.diameters)
        metal = Metal.of(setting, least, z if setting.face_end else 0.0)
        return Lathe(self.work.text, self.shop, setting, senses or right, metal, self.page)

    @property
    def diameters(self) -> bool:
        """Tell whether the program's X words are diameters."""
        return self.shop.lathe.control.x_words == "diameter"

    @property
    def limits(self) -> dict[str, tuple[float, float]]:
        """Return the limits of everything that is measured, by the name that a stop gives it."""
        measures = [m for p in self.work.planned.passes for m in p.measure]
        return {m.what: (m.least, m.most) for m in measures}


def cases(job: Job, name: str) -> Iterator[Case]:
    """Return every program of a job.

    A lathe without a control is given no program: the text that its moves are judged by proves no senses.
    """
    if job.shop.lathe.by_hand:
        return
    silent = write_job_summary(job) if not job.dialect.flag("COMMENTS_SHOWN") else ""
    for work in job.works:
        yield Case(f"{name} {work.setting.number}", work, job.shop, read_page(silent, work.file) if silent else None)


def judge(case: Case, operator: Operator, told: str) -> Outcome:
    """Say how a play ended."""
    lathe = operator.lathe
    crashed = [said for said in lathe.spoilt if DEEP not in said]
    gone = [f"{name.lower()} {size:.3f} is past its limits" for name, size, out in operator.read if out]
    if crashed or (lathe.spoilt and not gone):
        return Outcome("SPOILT", [*crashed, *lathe.spoilt][0])
    if gone:
        return Outcome("told too late", told or gone[0])
    if told:
        return Outcome("told in time", told)
    sizes = {}
    for name in case.limits:
        what = "Z ZERO TO SHOULDER PAST" if name.startswith("Z zero to shoulder past ") else "DIAMETER OF"
        rest = name.removeprefix("diameter of ").removeprefix("Z zero to shoulder past ")
        rest = rest.partition(" of ")[2].upper() if " over three wires of " in rest else rest
        size = operator.size_of(what, rest.split(" and ")[0 if what == "DIAMETER OF" else -1])
        if size is not None:
            sizes[name] = size
    wrong = out_of(lathe.setting, sizes, case.limits)
    return Outcome("SPOILT", wrong[0]) if wrong else Outcome("within limits", "; ".join(operator.set_by[:2]))


def play(
    case: Case, *, senses: Senses | None = None, zeros: tuple[float, float] = (0.0, 0.0), faced: float = 0.0,
    **more: Any,
) -> Outcome:  # fmt: skip
    """Play one program from its beginning.

    Args:
        zeros: how far off the first tool's zero is, Z and X, mm. faced: how far off Z is when the end is faced, mm, by
            what happens before.
    """
    lathe = case.lathe(senses, zeros[0] + faced)
    lathe.zeros[case.work.planned.passes[0].tool.number] = list(zeros)
    operator = Operator(lathe, **more)
    return judge(case, operator, operator.work())


# ---- the plays ---------------------------------------------------------------------------------------


@dataclass
class Table:
    """How often each play ended in each way, with the first reason of each."""

    rows: dict[str, dict[End, list[str]]] = field(default_factory=dict)

    def add(self, name: str, case: Named, outcome: Outcome) -> None:
        """Count one play."""
        ends = self.rows.setdefault(name, {end: [] for end in ENDS})
        ends[outcome.end].append(f"{case.name}: {outcome.why}")

    @property
    def spoilt(self) -> list[str]:
        """Return every play that ended with spoilt metal."""
        return [f"{name}: {why}" for name, ends in self.rows.items() for why in ends["SPOILT"]]

    def text(self, *, every: bool = False) -> str:
        """Return the table for a note: a row for each play, its amounts together, and below what was late or unsaid.

        Args:
            every: whether all of that is told, and not one example of each.
        """
        groups: dict[str, dict[End, list[str]]] = {}
        for name, ends in self.rows.items():
            group = groups.setdefault(AMOUNT.sub("", name), {end: [] for end in ENDS})
            for end, said in ends.items():
                group[end] += [f"{name}: {why}" for why in said]
        rows = ["| play | within limits | told in time | too late | unsaid |", "|---|---|---|---|---|"]
        for name, ends in groups.items():
            rows.append(f"| {name} | " + " | ".join(str(len(ends[k]) or "") for k in ENDS) + " |")
        late = [ends[k] for ends in groups.values() for k in ENDS[2:]]
        told = [f"- {said}" for group in late for said in (group if every else group[:1])]
        amounts = ", ".join(f"{a:g}" for a in AMOUNTS)
        return "\n".join([*rows, "", f"Off by {amounts} mm, either way. For example:" if told else "", *told, ""])


def senses_of(case: Case) -> dict[str, Senses]:
    """Return each sense wrong once."""
    right = case.diameters
    thread = {"leads are taken for inches": Senses(right, leads=25.4)} if case.work.setting.threads else {}
    return thread | {
        "X is a " + ("radius" if right else "diameter") + " here": Senses(not right),
        "Z counts the other way": Senses(right, z=-1),
        "arcs go the other way": Senses(right, arcs=-1),
    }


def play_senses(table: Table, case: Case) -> None:
    """Play with each sense wrong, and with all right."""
    table.add("nothing is wrong", case, play(case))
    for name, senses in senses_of(case).items():
        table.add(name, case, play(case, senses=senses))


def play_zeros(table: Table, case: Case, amounts: tuple[float, ...] = AMOUNTS) -> None:
    """Play with X and Z zeros off from the beginning, each way, corrected in each way."""
    for by in amounts:
        for paused in (True, False):
            way = "set while it stands" if paused else "ended, set and begun again"
            for axis, zeros in (("X", (0.0, by)), ("Z", (by, 0.0)), ("X and Z", (by, by))):
                for sign in (1, -1):
                    outcome = play(case, zeros=(sign * zeros[0], sign * zeros[1]), paused=paused, residual=0.01 * sign)
                    table.add(f"{axis} zero {sign * by:+.2f} from the beginning, {way}", case, outcome)


def play_bumps(table: Table, case: Case, amounts: tuple[float, ...] = AMOUNTS) -> None:
    """Play with a zero that moves at each stop after the proofs, before callipers are laid on there."""
    for at, where, uncut in _stops(case):
        for by in amounts:
            for axis in (0, 1):
                for sign in (1, -1):
                    keyed = bool((at + axis + (sign > 0)) % 2) and "last cut" in where
                    bump = bump_at(at, axis, sign * by, keyed=keyed)
                    faced = sign * by if uncut and axis == 0 else 0.0
                    outcome = play(case, bump=bump, paused=bool(at % 2), faced=faced)
                    kind = "is keyed amiss" if keyed else "moves"
                    table.add(f"{'ZX'[axis]} {kind} {sign * by:+.2f} at {where}", case, outcome)


def play_later_tools(table: Table, case: Case, amounts: tuple[float, ...] = AMOUNTS) -> None:
    """Play each tool but the first with its zero off from the start, either way, or set only at its stop."""
    passes = case.work.planned.passes
    for number in {p.tool.number for p in passes} - {passes[0].tool.number}:
        for by in amounts:
            for axis in (0, 1):
                for sign in (1, -1):
                    lathe = case.lathe()
                    lathe.zeros[number][axis] = sign * by
                    operator = Operator(lathe, paused=sign > 0)
                    name = f"a later tool's {'ZX'[axis]} zero {sign * by:+.2f}"
                    table.add(name, case, judge(case, operator, operator.work()))
        for residual in (0.01, -0.01):
            lathe = case.lathe()
            lathe.zeros[number] = [NOT_SET, NOT_SET]
            operator = Operator(lathe, residual=residual, late=frozenset({number}))
            table.add("a later tool is set at its stop", case, judge(case, operator, operator.work()))


def _stops(case: Case) -> Iterator[tuple[int, str, bool]]:
    """Return the stops after the proofs of X and Z: number, what comes behind, whether nothing is cut yet."""
    texts = re.split(r"^(?:N\d+ )?M0\b", case.work.text.upper(), flags=re.M)
    uncut = True
    for k, text in list(enumerate(texts[:-1]))[2:]:
        uncut = uncut and not re.search(r"^(?:N\d+ )?G1\b", text, re.M)
        known = {"TRY A SLIP": "the try before a last cut", "THE LAST CUT AIMS AT": "the stop before a last cut"}
        yield k, next((where for words, where in known.items() if words in text), "any other stop"), uncut


def bump_at(at: int, axis: int, by: float, *, keyed: bool = False) -> Callable[[int, Lathe], None]:
    """Return a function that moves something at a stop, by its number from 0; axis: 0 for Z, 1 for X.

    A tool is knocked or a slide pushed: it stands elsewhere, and the display as before. Or a number is keyed amiss: the
    display shows otherwise, and the tool stands as before.
    """

    def bump(count: int, lathe: Lathe) -> None:
        if count != at:
            return
        moved = by
        if axis == 1 and not keyed:  # it is pushed no further than the work
            moved = max(by, float(lathe.metal.exactly(np.array([lathe.z + 0.2]), lathe.tools)[0]) - lathe.x)
        lathe.zeros[lathe.tool][axis] += moved
        if not keyed:
            lathe.z, lathe.x = lathe.z + moved * (axis == 0), lathe.x + moved * (axis == 1)

    return bump


@dataclass(frozen=True)
class Mark:
    """A lathe as it stands before an N line, all before it done."""

    label: str
    metal: Metal
    zeros: dict[int, list[float]]
    state: tuple[object, ...]


def restarts(case: Case, *, whole_way: bool = False) -> tuple[int, list[str]]:
    """Begin again at every N line, all before it done; return how many, and what came out different.

    A program that is begun again is run until it stands before an N line as the unbroken one stood there: same state
    of the control, same slides and zeros, same metal. What follows is the same then.

    Args:
        whole_way: run each to its end all the same.
    """
    whole, marks, at = case.lathe(), list[Mark](), 0
    operator = Operator(whole)
    operator.take_off()
    for label in [f"N{m}" for m in _labels(case)]:
        line = whole.line_of(label)
        for stop in whole.run(at, line):
            operator.answer(stop)
        zeros = {k: list(v) for k, v in whole.zeros.items()}
        marks.append(Mark(label, whole.metal.copy(), zeros, whole.state))
        at = line
    for stop in whole.run(at):
        operator.answer(stop)
    if whole.spoilt:
        return len(marks), [f"unbroken: {whole.spoilt[0]}"]
    return len(marks), [s for k in range(len(marks)) for s in _again(case, marks[k:], whole, whole_way=whole_way)]


def _again(case: Case, marks: Sequence[Mark], whole: Lathe, *, whole_way: bool) -> list[str]:
    """Begin again at the first of some marks; return what came out different."""
    lathe, label = case.lathe(), marks[0].label
    lathe.metal, lathe.zeros = marks[0].metal.copy(), {k: list(v) for k, v in marks[0].zeros.items()}
    operator = Operator(lathe)
    try:
        at = operator.begin_at(label)
        for last, mark in pairwise(marks):
            before, end = len(lathe.metal.pieces), lathe.line_of(mark.label)
            for stop in lathe.run(at, end):
                operator.answer(stop)
            at = end
            if lathe.spoilt or (not whole_way and _stands_so(lathe, before, last, mark)):
                return [f"{case.name} {label}: {said}" for said in lathe.spoilt[:1]]
        for stop in lathe.run(at):
            operator.answer(stop)
    except AlarmError as alarm:
        return [f"{case.name} {label}: {alarm}"]
    if lathe.spoilt:
        return [f"{case.name} {label}: {lathe.spoilt[0]}"]
    if set(lathe.metal.grooves) != set(whole.metal.grooves):
        return [f"{case.name} {label}: left other grooves"]
    off = float(np.max(np.abs(lathe.metal.radii - whole.metal.radii)))
    return [f"{case.name} {label}: left {off:.4f} mm otherwise"] if off > SAME else []


def _stands_so(lathe: Lathe, before: int, last: Mark, mark: Mark) -> bool:
    """Tell whether a lathe stands as one that was not broken off stood at a mark, and cut as it did since the last.

    Args:
        before: how many ways its tools had gone at the last mark.
    """
    cuts, wanted = ([p for p in pieces if not p.rapid] for pieces in (
        lathe.metal.pieces[before:], mark.metal.pieces[len(last.metal.pieces) :]))  # fmt: skip
    same = lathe.state == mark.state and cuts == wanted and lathe.metal.grooves == mark.metal.grooves
    return same and bool(np.array_equal(lathe.metal.radii, mark.metal.radii))


def _labels(case: Case) -> list[int]:
    found = [int(m[1]) for row in case.work.text.splitlines() if (m := re.match(r"N(\d+)", row))]
    times = found[-1] // len(case.work.planned.passes) if found else 100
    times = next(t for t in (100, 10, 1) if times >= t)
    return [p.number * times for p in case.work.planned.passes]


def drop_outs(case: Case, rng: Random, count: int = 3) -> Iterator[Outcome]:
    """Let the current fail in the middle of a pass; zeros are set anew, and the pass is begun again."""
    labels = _labels(case)
    for pass_at in sorted(rng.sample(range(len(labels)), min(count, len(labels)))):
        lathe = case.lathe()
        operator = Operator(lathe)
        operator.take_off()
        line = lathe.line_of(f"N{labels[pass_at]}")
        end = lathe.line_of(f"N{labels[pass_at + 1]}") if pass_at + 1 < len(labels) else len(lathe.lines) - 6
        for stop in lathe.run(0, rng.randrange(line, end)):
            operator.answer(stop)
        yield _finish(case, operator, f"N{labels[pass_at]}")


def reground(case: Case, rng: Random, count: int = 3) -> Iterator[Outcome]:
    """Grind the tool and set it anew to a hundredth before a pass whose cut is measured and corrected later."""
    passes = case.work.planned.passes
    labels = [f"N{n}" for n in _labels(case)]
    good = [k for k, p in enumerate(passes) if any(m.cut_left for m in p.measure)]
    for measured in rng.sample(good, min(count, len(good))):
        k = _begun(passes, measured)
        lathe = case.lathe()
        operator = Operator(lathe)
        operator.take_off()
        for stop in lathe.run(0, lathe.line_of(labels[k])):
            operator.answer(stop)
        zero = lathe.zeros[passes[k].tool.number]
        zero[0] += rng.choice((-0.01, 0.01))
        zero[1] += rng.choice((-0.01, 0.01))
        yield _finish(case, operator, labels[k])


def _begun(passes: Sequence[Pass], at: int) -> int:
    """Return the index of the pass where a cut begins that is made in two and measured as one."""
    same = (passes[at].kind, passes[at].sections)
    while at and (passes[at - 1].kind, passes[at - 1].sections) == same:
        at -= 1
    return at


def _finish(case: Case, operator: Operator, label: str) -> Outcome:
    return judge(case, operator, operator.work(label))
