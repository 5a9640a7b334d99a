"""A mill, work in it, and the plainest writer of program text: enough to check programs from text.

The writer stands in for a dialect's template: words with four decimals, one work system for each tool.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from cam.ground.problem import Where
from cam.job.milling import MillJob, plan_mill, write_mill
from cam.judge.mill import simulate_mill
from cam.judge.mill_result import MillSimulation
from cam.lengths.solved import Solved
from cam.mill.plan_square import SquarePlan, SquareTask
from cam.moves.model import (
    ChangeTool,
    Cycle,
    EndProgram,
    Feed,
    Index,
    Move,
    Rapid,
    StartPass,
    Stop,
    StopSpindle,
    TurnSpindle,
    expand,
)
from cam.rs274.model import Program, Rules
from cam.rs274.read import read_program
from cam.setting.milled import bar, block
from cam.setting.square import Square
from cam.shop.mill import Cutter
from cam.shop.model import Shop
from posts.wording import index_comment

HERE = Where(path="arbor.toml", line=40)
NGC = Rules(standard="NISTIR 6556", x_words="radius", turns=True)

END_MILL = Cutter(
    number=1, name="6 mm end mill", kind="end mill", diameter=6.0, flutes=12.0, stick_out=30.0, shank_diameter=6.0,
    holder_diameter=24.0, teeth=4, minimum_cut=0.02, deepest_cut=0.5, point_angle=0.0, material="HSS",
    feed_per_tooth=0.0, feed=0.0, thread="", where=HERE,
)  # fmt: skip

SQUARE = Square(
    flats=4, across=3.6, station=6.0, slope=0.005, length=12.0, blank=5.2, corners="whole", broken=0.0, where=HERE
)

ARBOR = (bar("body", -24.0, -14.0, 14.0), bar("front seat", -14.0, -6.0, 8.0), bar("front pivot", -6.0, 0.0, 6.0),
         bar("square blank", 0.0, 12.0, 5.2))  # fmt: skip
FIXTURES = (bar("collet nut", -40.0, -24.0, 32.0), block("collet block", -100.0, -40.0, 38.0))

TASK = SquareTask(
    square=SQUARE, allowance=0.02, limits=(-0.01, 0.01), bearing=6.02, way="level block", spacing=0.0, wall=0.1,
    groove=0.0, sections=ARBOR, fixtures=FIXTURES, gripped=24.0, gripped_diameter=14.0, cutter=END_MILL, rpm=2500.0,
    feed=120.0, left=0.1, crown=0.0005, rapid_clearance=0.5, contact_clearance=0.5, kc11=2200.0, mc=0.2,
    modulus=210_000.0, unit="mm", where=HERE,
)  # fmt: skip


def task_for(square: Square, **change) -> SquareTask:
    """Return a task with a square of its own, held as the arbor is."""
    last = bar("square blank", 0.0, square.length, square.blank)
    behind = max(6.0, square.blank + 1.0)
    pivot = bar("front pivot", -6.0, 0.0, behind)
    defaults = {"square": square, "sections": (*ARBOR[:2], pivot, last), "bearing": None}
    return replace(TASK, **{**defaults, **change})


class Writer:
    """Program text, with a line for each move."""

    def __init__(self, cycles: bool = True) -> None:
        self.cycles = cycles
        self.lines = ["G21", "G17 G90 G94 G40 G80 G49 G99"]
        self.at: dict[str, float] = {}
        self.system = 54

    def word(self, letter: str, value: float) -> str:
        return f"{letter}{value + 0.0:.4f}".replace("-0.0000", "0.0000")

    def write(self, moves: Iterable[Move]) -> str:
        for move in moves:
            self.lines += self.move(move)
        return "\n".join(self.lines) + "\n"

    def move(self, move: Move) -> list[str]:  # noqa: PLR0911 - one return a kind of move
        if isinstance(move, ChangeTool):
            self.system = 53 + move.tool.number
            return ["M5", f"T{move.tool.number} M6", f"G{self.system}"]
        if isinstance(move, TurnSpindle):
            return [f"S{move.rpm:.0f} M3"]
        if isinstance(move, StopSpindle):
            return ["M5"]
        if isinstance(move, StartPass):
            return [f"({move.name})"]
        if isinstance(move, Rapid):
            return [f"G0 {self.word(move.axis.upper(), move.to)}"]
        if isinstance(move, Feed):
            words = " ".join(self.word(a, v) for a, v in (("X", move.x), ("Y", move.y), ("Z", move.z)))
            return [f"G1 {words} F{move.feed:.2f}"]
        if isinstance(move, Index):
            return [f"({index_comment(move.angle)})", "M0"] if move.by_hand else [f"G0 {self.word('A', move.angle)}"]
        if isinstance(move, Stop):
            return [*(f"({line})" for line in move.lines), "M0"]
        if isinstance(move, Cycle):
            return self.cycle(move)
        assert isinstance(move, EndProgram)
        return ["M2"]

    def cycle(self, cycle: Cycle) -> list[str]:
        if not self.cycles and cycle.kind != "tap":
            return [line for move in expand(cycle) for line in self.move(move)]
        code = {"drill": "G81", "peck": "G83", "tap": "G84"}[cycle.kind]
        step = f" {self.word('Q', cycle.step)}" if cycle.kind == "peck" else ""
        place = " ".join(
            self.word(a, v) for a, v in (("X", cycle.x), ("Y", cycle.y), ("Z", cycle.bottom), ("R", cycle.retract))
        )
        return [f"G99 {code} {place}{step} F{cycle.feed:.2f}", "G80"]


def text_of(moves: Iterable[Move], cycles: bool = True) -> str:
    return Writer(cycles).write(moves)


def read(text: str) -> Program:
    return read_program(text, NGC, "square.ngc")


def judge(plan: SquarePlan, text: str | None = None, **more) -> MillSimulation:
    """Judge the plan's program from its text."""
    program = read(text_of(plan.moves) if text is None else text)
    assert program.problems == ()
    tolerance = more.pop("tolerance", plan.crown + 0.0005)
    return simulate_mill(program, plan.work, [END_MILL, *more.pop("cutters", ())], tolerance=tolerance, **more)


def make_mill_job(part: Solved, shop: Shop, dialect: str | None = None) -> MillJob | None:
    """Return the mill's share of a job, its turning left out; None for a part that the mill does not work on."""
    planned = plan_mill(part, shop)
    return planned and write_mill(planned, part, shop, dialect=dialect, tell=lambda _: None)
