"""The other way of correcting: what a stop read is recorded, the program made again, and begun at the next pass."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from cam.ground.problem import ProblemError
from cam.job import make_job, write_job_summary
from cam.job.logbook import record_value
from tests.control.operator import Operator, ToldError
from tests.control.plays import Case, Outcome, Table, cases, judge
from tests.control.silent import read_page


@dataclass
class Recorder(Operator):
    """An operator who keeps what a stop before a last cut read in the log, and lets his control be.

    Attributes:
        paths: of the part and the shop file. number: of the setting. turns: whether every second such stop is corrected
            at the control instead.
    """

    paths: tuple[str, str] = ("", "")
    number: int = 1
    turns: bool = False
    noted: list[tuple[str, str]] = field(default_factory=list)
    stops: int = 0

    def _measure(self, stop: object) -> str:
        self.stops += 1
        return super()._measure(stop)  # type: ignore[arg-type]

    def _one(self, found: re.Match[str], after: list[str]) -> bool:
        count = len(self.set_by)
        before = [list(zero) for zero in self.lathe.zeros.values()]
        changed = super()._one(found, after)
        if changed and not self.again and not (self.turns and self.stops % 2):
            for zero, was in zip(self.lathe.zeros.values(), before, strict=True):
                zero[:] = was
            what, name = found[1], found[2].split(" AND ")[0 if found[1] == "DIAMETER OF" else -1]
            inch = self.lathe.scale > 1
            value = f"{self.read[-1][1] / self.lathe.scale:.{4 if inch else 3}f} {'in' if inch else 'mm'}"
            kind = "diameter" if what == "DIAMETER OF" else "shoulder"
            self.noted.append((f"{self._named(name).section.name} stop {kind}", value))
            self.set_by[count:] = [f"{self.noted[-1][0]} {value} recorded"]
        return changed

    def begin_at(self, label: str) -> int:
        """Record, make again, and begin the new program there."""
        part, shop = self.paths
        try:
            for name, value in self.noted:
                record_value(part, name, value, shop)
            if self.noted:
                job = make_job(part, shop)
                work = job.works[self.number - 1]
                self.lathe.lines = work.text.splitlines()
                if self.lathe.page:
                    self.lathe.page = read_page(write_job_summary(job), work.file)
        except ProblemError as error:
            raise ToldError(str(error)) from error
        self.noted = []
        return super().begin_at(label)


def play_recorded(case: Case, files: tuple[str, str], zeros: tuple[float, float], *, turns: bool) -> Outcome:
    """Play a program with the first tool's zero off, Z and X, mm; part and shop file lie where a log may be written."""
    with TemporaryDirectory(prefix="endshake-control-") as folder:
        paths = tuple(str(Path(folder) / name) for name in ("part.toml", "shop.toml"))
        for path, text in zip(paths, files, strict=True):
            Path(path).write_text(text, encoding="utf-8")
        lathe = case.lathe(z=zeros[0])
        lathe.zeros[case.work.planned.passes[0].tool.number] = list(zeros)
        number = case.work.setting.number
        operator = Recorder(lathe, paused=False, paths=(paths[0], paths[1]), number=number, turns=turns)
        return judge(case, operator, operator.work())


RECORDED = ((0.0, 0.02), (0.0, -0.02), (0.05, 0.0), (-0.05, 0.0), (0.05, 0.02), (-0.05, -0.02))
"""How far zeros are off, Z and X, mm: what callipers at the proof of X leave, and what a rule does not show."""


def play_both_ways(table: Table, files: tuple[str, str], name: str, each: int = len(RECORDED)) -> None:
    """Play the first setting of a part, corrected by records alone, and by record and control in turns."""
    with TemporaryDirectory(prefix="endshake-control-") as folder:
        paths = [Path(folder) / name for name in ("part.toml", "shop.toml")]
        for path, text in zip(paths, files, strict=True):
            path.write_text(text, encoding="utf-8")
        case: Iterator[Case] = cases(make_job(str(paths[0]), str(paths[1])), name)
        first = next(case)
    for zeros in RECORDED[:each]:
        for turns in (False, True):
            way = "recorded and set at the control in turns" if turns else "recorded, made again, begun again"
            table.add(f"zeros off, {way}", first, play_recorded(first, files, zeros, turns=turns))
