"""Pages with one thing wrong, and what share of them is found.

Counted are damages after which a hand would do something else that matters: metal off by more than 0.01 mm, something
touched, or a stop, speed, feed or dial that is needed gone or other. Which those are is reckoned here from the figures
that were changed, not by asking the judge.
"""

from __future__ import annotations

import random
import re
import time
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import pairwise

from hypothesis import HealthCheck, Phase, given, seed, settings

from cam.frozen import Row
from cam.sheet import judge_sheet
from cam.shop.model import Slide
from tests.sheets.jobs import Written, jobs, write_job
from tests.sheets.law import judge_pages

BY_EYE = 0.25
ROW = re.compile(r"^(?:\[ \])? *\d+  ")
READING = re.compile(r"\b\d+\+\d+(?:\.5)?\b")


class Damage(Row):
    """A page with one thing wrong: what was done to which line."""

    kind: str
    words: str
    text: str


Maker = Callable[[random.Random, list[str]], Damage | None]


def _pick(rng: random.Random, lines: list[str], wanted: Callable[[str], object]) -> int | None:
    found = [at for at, line in enumerate(lines) if wanted(line)]
    return rng.choice(found) if found else None


def _cut_row(line: str) -> bool:
    return bool(ROW.match(line)) and len(re.split(r" {2,}", line.strip())) >= 6


def _joined(kind: str, words: str, lines: list[str]) -> Damage:
    return Damage(kind, words, "\n".join(lines))


def _change(kind: str, lines: list[str], at: int, span: tuple[int, int], new: str) -> Damage:
    line = lines[at]
    changed = [*lines]
    changed[at] = line[: span[0]] + new + line[span[1] :]
    return _joined(kind, f"{line.strip()}  ->  {changed[at].strip()}", changed)


def _digit(rng: random.Random, figure: str) -> str:
    """The figure with one digit changed."""
    places = [k for k, c in enumerate(figure) if c.isdigit()]
    k = rng.choice(places)
    return figure[:k] + rng.choice([d for d in "0123456789" if d != figure[k]]) + figure[k + 1 :]


def _column(lines: list[str], at: int, name: str) -> tuple[int, int] | None:
    """Where a column's figure stands in a row, by the heads above it."""
    heads = next((line for line in reversed(lines[:at]) if re.match(r"^(?:\[ \])? *pass  ", line)), "")
    names = re.split(r" {2,}", heads.strip())
    cells = list(re.finditer(r"\S+(?: \S+)*", re.sub(r"^\[ \]", "   ", lines[at])))
    if name not in names or len(cells) != len(names):
        return None
    return cells[names.index(name)].span()


def _in_column(kind: str, *names: str) -> Maker:
    def make(rng: random.Random, lines: list[str]) -> Damage | None:
        at = _pick(rng, lines, _cut_row)
        if at is None:
            return None
        spans = [s for n in names if (s := _column(lines, at, n)) is not None]
        if not spans:
            return None
        span = rng.choice(spans)
        old = lines[at][slice(*span)]
        new = _digit(rng, old)
        if kind == "to Z" and abs(float(old) - float(new)) < HARMLESS:
            return None
        return _change(kind, lines, at, span, new)

    return make


HARMLESS = 0.01
"""A stop that is changed by less, in the page's unit, changes no metal by more than 0.01 mm where it has no dial."""


def _from(rng: random.Random, lines: list[str]) -> Damage | None:
    """A start nearer to the headstock by so much that it matters: more than a hand's eye."""
    at = _pick(rng, lines, _cut_row)
    span = _column(lines, at, "from Z") if at is not None else None
    if at is None or span is None:
        return None
    old = lines[at][slice(*span)]
    new = _digit(rng, old)
    unit = 25.4 if len(old.partition(".")[2]) == 4 else 1.0
    return None if (float(old) - float(new)) * unit <= 2 * BY_EYE + 0.01 else _change("from", lines, at, span, new)


def _turn_off(rng: random.Random, lines: list[str]) -> Damage | None:
    """A dial that is read a whole turn off."""
    at = _pick(rng, lines, lambda line: _cut_row(line) and READING.search(line))
    if at is None:
        return None
    found = rng.choice(list(READING.finditer(lines[at])))
    turns, _, rest = found[0].partition("+")
    new = int(turns) + rng.choice([-1, 1])
    return None if new < 0 else _change("a turn off", lines, at, found.span(), f"{new}+{rest}")


def _row_lost(rng: random.Random, lines: list[str]) -> Damage | None:
    at = _pick(rng, lines, _cut_row)
    return None if at is None else _joined("row lost", lines[at].strip(), [*lines[:at], *lines[at + 1 :]])


def _rows_swapped(rng: random.Random, lines: list[str]) -> Damage | None:
    """Two rows change places, the numbers staying as they are down the page."""
    rows = [at for at, line in enumerate(lines) if _cut_row(line)]
    pairs = [(a, b) for a, b in pairwise(rows) if b == a + 1]
    if not pairs:
        return None
    a, b = rng.choice(pairs)
    number = re.compile(r"^((?:\[ \])? *)(\d+)")
    n_word = re.compile(r"N\d+$")
    first, second = lines[a], lines[b]
    numbers = [number.match(line) for line in (first, second)]
    words = [n_word.search(line) for line in (first, second)]
    if first[numbers[0].end() :] == second[numbers[1].end() :] or None in numbers:  # type: ignore[union-attr]
        return None
    swapped = [number.sub(numbers[0][0], second, count=1), number.sub(numbers[1][0], first, count=1)]  # type: ignore[index]
    if None not in words:
        swapped = [n_word.sub(w[0], line) for w, line in zip(words, swapped, strict=True)]  # type: ignore[index]
    changed = [*lines]
    changed[a], changed[b] = swapped
    return _joined("rows swapped", f"{first.strip()}  <->  {second.strip()}", changed)


def _rows_swapped_with_numbers(rng: random.Random, lines: list[str]) -> Damage | None:
    rows = [at for at, line in enumerate(lines) if _cut_row(line)]
    if len(rows) < 2:
        return None
    a, b = sorted(rng.sample(rows, 2))
    changed = [*lines]
    changed[a], changed[b] = changed[b], changed[a]
    return _joined("rows and numbers swapped", lines[a].strip(), changed)


def _row_twice(rng: random.Random, lines: list[str]) -> Damage | None:
    at = _pick(rng, lines, _cut_row)
    return None if at is None else _joined("row twice", lines[at].strip(), [*lines[: at + 1], *lines[at:]])


def _in_line(kind: str, pattern: str) -> Maker:
    form = re.compile(pattern)

    def make(rng: random.Random, lines: list[str]) -> Damage | None:
        at = _pick(rng, lines, form.search)
        found = form.search(lines[at]) if at is not None else None
        if at is None or found is None:
            return None
        return _change(kind, lines, at, found.span(1), _digit(rng, found[1]))

    return make


def _points(rng: random.Random, lines: list[str]) -> Damage | None:
    """A place of a row of points off by ten divisions or more, or a turn."""
    at = _pick(rng, lines, lambda line: "points, " in line and READING.search(line.partition(": ")[2]))
    if at is None:
        return None
    start = lines[at].index(": ")
    found = rng.choice([m for m in READING.finditer(lines[at]) if m.start() > start])
    new = _digit(rng, found[0])
    off = abs(_count(new) - _count(found[0]))
    return None if off < 10 else _change("points", lines, at, found.span(), new)


def _count(reading: str) -> float:
    turns, _, rest = reading.partition("+")
    return int(turns) * 100 + float(rest)


def _measure_lost(rng: random.Random, lines: list[str]) -> Damage | None:
    """A MEASURE line lost; whether it was needed is asked of the part, see is_harmless."""
    at = _pick(rng, lines, lambda line: line.startswith("MEASURE  "))
    return None if at is None else _joined("MEASURE lost", lines[at].strip(), [*lines[:at], *lines[at + 1 :]])


def _other_way(rng: random.Random, lines: list[str]) -> Damage | None:
    at = _pick(rng, lines, lambda line: re.match(r"[XZ] (DIAL|READS)", line) and re.search("rises|falls", line))
    if at is None:
        return None
    found = re.search("rises|falls", lines[at])
    assert found is not None
    return _change("dial's sense", lines, at, found.span(), {"rises": "falls", "falls": "rises"}[found[0]])


def _tool_lost(rng: random.Random, lines: list[str]) -> Damage | None:
    at = _pick(rng, lines, lambda line: re.match(r"-- tool \d", line))
    if at is None:
        return None
    found = re.search(r"tool \d+: [^;]*(; )?", lines[at])
    assert found is not None
    return _change("tool change lost", lines, at, found.span(), "")


MAKERS: dict[str, Maker] = {
    "X reading": _in_column("X reading", "X dial", "X reads", "X in"),
    "Z reading": _in_column("Z reading", "Z dial", "Z reads", "slips"),
    "leaves": _in_column("leaves", "leaves"),
    "to Z": _in_column("to Z", "to Z"),
    "was": _in_column("was", "was"),
    "number": _in_column("number", "pass"),
    "from": _from,
    "a turn off": _turn_off,
    "row lost": _row_lost,
    "rows swapped": _rows_swapped,
    "rows and numbers swapped": _rows_swapped_with_numbers,
    "row twice": _row_twice,
    "MEASURE figure": _in_line("MEASURE figure", r"^MEASURE .*: (-?[\d.]+) ____"),
    "MEASURE limit": _in_line("MEASURE limit", r"^MEASURE .*\((?:then )?(-?[\d.]+) to"),
    "MEASURE lost": _measure_lost,
    "division": _in_line("division", r"DIAL  a division is ([\d.]+)"),
    "turn": _in_line("turn", r"DIAL .* (\d+) a turn"),
    "zero": _in_line("zero", r"^(?:X|Z) (?:DIAL|READS|IN|SLIPS)  .* (?:is|from) (?:diameter|Z) (-?[\d.]*[1-9][\d.]*)"),
    "dial's sense": _other_way,
    "speed": _in_line("speed", r"^-- .*?belt .*?(\d+) rpm"),
    "tool change lost": _tool_lost,
    "points": _points,
}
"""Every kind of damage. A last figure that changes by less than anyone could see is not among them but in `from`."""


def damages_of(job: Written, rng: random.Random, each: int = 1) -> Iterator[Damage]:
    """Damaged forms of a job's pages, so many of each kind where there is anything to damage."""
    lines = _unwrapped(job.text)
    for make in MAKERS.values():
        for _ in range(each):
            found = make(rng, lines)
            if found is not None and found.text != "\n".join(lines):
                yield found


def _unwrapped(text: str) -> list[str]:
    """Lines with those joined that go on the line before."""
    lines: list[str] = []
    for line in text.splitlines():
        if lines and re.match(r" {10,}\S", line) and not lines[-1].strip().startswith(("carrier", "|", "+")):
            lines[-1] = f"{lines[-1]} {line.strip()}"
        else:
            lines.append(line)
    return lines


def is_found(job: Written, text: str) -> bool:
    """Whether the judge of pages finds anything in any setting's page."""
    return any(
        judge_sheet(text, p.setting, job.shop, unit=job.part.unit,
                    material=job.shop.materials.get(job.part.stock.material)).problems
        for p in job.plan.settings
    )  # fmt: skip


def dial_of(slide: Slide) -> str:
    """A slide's reading in a word."""
    return slide.reading


class Shares(Row):
    """How many damages were tried and found, by kind; and those that were not, in words."""

    tried: Counter[str]
    found: Counter[str]
    missed: list[str]

    def table(self) -> str:
        """The share by kind."""
        lines = [f"{'damage':28} {'tried':>6} {'found':>6} {'share':>8}"]
        for kind in MAKERS:
            if self.tried[kind]:
                share = self.found[kind] / self.tried[kind]
                lines.append(f"{kind:28} {self.tried[kind]:6d} {self.found[kind]:6d} {share:8.2%}")
        tried, found = sum(self.tried.values()), sum(self.found.values())
        lines.append(f"{'all':28} {tried:6d} {found:6d} {found / max(tried, 1):8.2%}")
        return "\n".join(lines)


def damage_pages(count: int, number: int, minutes: float) -> Shares:
    """Damage the pages of random jobs that pass, until so many were tried."""
    shares = Shares(Counter(), Counter(), [])
    rng = random.Random(number)
    until = time.monotonic() + 60 * minutes

    @seed(number)
    @settings(max_examples=20 * count, database=None, deadline=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(jobs())
    def damage(texts: tuple[str, str]) -> None:
        if sum(shares.tried.values()) >= count or time.monotonic() > until:
            return
        job = write_job(*texts)
        if job is None or any(v.problems for v in judge_pages(job).verdicts):
            return
        for bad in damages_of(job, rng):
            shares.tried[bad.kind] += 1
            if is_found(job, bad.text):
                shares.found[bad.kind] += 1
            else:
                shares.missed.append(f"{bad.kind}: {bad.words}")

    damage()
    return shares


def damage_shares(count: int, number: int, minutes: float) -> str:
    """The table, and the damages that were not found."""
    shares = damage_pages(count, number, minutes)
    return "\n".join([shares.table(), *(f"  missed {words}" for words in shares.missed[:40])])
