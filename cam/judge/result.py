"""What the program leaves, compared with what was wanted: gouges and metal left uncut."""

from __future__ import annotations

import math
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from functools import partial

from cam.ground.frozen import Row
from cam.ground.tolerances import ONE_HEIGHT
from cam.judge.clearance import Gap, outline_distance
from cam.judge.envelope import STOCK, Metal, Piece, Removed, above_axis, height, lower
from cam.judge.model import Finding
from cam.judge.report import TOLERANCE, find, micrometres, place, section_at, shoulder_at
from cam.setting.model import Turned

SPOTS = 16
"""Number of places tried along a piece before the search closes in on the worst."""
GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


class MetalFault(Row):
    """Metal that is missing, or that stands where none is wanted.

    Attributes:
        amount: mm, square to the outline wanted.
        at: place on the surface as it is; wanted: the nearest place of the outline; both (z, x).
        source: the motion that cut there, or STOCK.
    """

    amount: float
    at: tuple[float, float]
    wanted: tuple[float, float]
    source: int


def cover(pieces: list[Piece], z0: float, z1: float) -> list[Piece]:
    """Return the outline over z0 to z1, with x = 0 where it did not reach."""
    out = [p for p in pieces if p[1] > z0 and p[0] < z1]
    if not out:
        return [(z0, z1, 0, z0, 0.0, 0.0, STOCK)]
    if out[0][0] > z0 + ONE_HEIGHT:
        out.insert(0, (z0, out[0][0], 0, z0, 0.0, 0.0, STOCK))
    if out[-1][1] < z1 - ONE_HEIGHT:
        out.append((out[-1][1], z1, 0, z1, 0.0, 0.0, STOCK))
    return out


def find_gouges(result: Sequence[Piece], least: Metal, turned: Sequence[Turned]) -> list[MetalFault]:
    """Find where the metal lies below least: one fault for each stretch that one motion left.

    Stock that was too small before the program counts where this setting turns; what lies elsewhere was
    judged in the setting that made it.
    """
    removed = lower(least.pieces, above_axis(result))[1]
    cut = [one for one in removed if one[3][6] != STOCK]
    bought = [part for one in removed if one[3][6] == STOCK for part in _where_turned(one, turned)]
    return [f for some in (bought, cut) for run in _runs(some) for f in _faults(run, least, new=True)]


def _where_turned(one: Removed, turned: Sequence[Turned]) -> Iterator[Removed]:
    """Yield what of a stretch lies on each section."""
    for t in turned:
        low, high = max(one[0], t.far), min(one[1], t.near)
        if high - low > ONE_HEIGHT:
            yield low, high, one[2], one[3]


def find_uncut(result: Sequence[Piece], most: Metal) -> list[MetalFault]:
    """Find where the metal stands above most."""
    return [f for run in _runs(lower(above_axis(result), most.pieces)[1]) for f in _faults(run, most, new=False)]


def beyond_lines(faults: Sequence[MetalFault], wanted: Metal, height_: float) -> Sequence[MetalFault]:
    """Return the faults except those on arcs of the outline no higher than lines in place of arcs may leave, mm."""
    if not height_:
        return faults
    arcs = [(p[0] - TOLERANCE, p[1] + TOLERANCE) for p in wanted.pieces if p[2]]
    return [f for f in faults if f.amount > height_ + TOLERANCE or not any(a <= f.wanted[0] <= b for a, b in arcs)]


def _runs(removed: Iterable[Removed]) -> list[list[Removed]]:
    """Put stretches together that follow each other without a gap."""
    runs: list[list[Removed]] = []
    for one in sorted(removed):
        if runs and one[0] - runs[-1][-1][1] < ONE_HEIGHT:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _faults(run: list[Removed], wanted: Metal, *, new: bool) -> list[MetalFault]:
    """Return the worst of every stretch of a run. new: whether the metal is the lower of the two outlines.

    A run no wider than the tolerance counts as wide as the metal that is missing beside a face, or standing there.
    """
    width = run[-1][1] - run[0][0]
    faults = []
    for z0, z1, old, low in run:
        metal = low if new else old
        most = max(abs(height(old, z) - height(low, z)) for z in (z0, 0.5 * (z0 + z1), z1))
        worst = Gap(most, (z1, height(metal, z1)), (z1, height(metal, z1)))
        if width <= TOLERANCE:
            worst = Gap(min(most, width), *worst[1:])
        elif most > TOLERANCE:
            worst = _worst(metal, z0, z1, wanted, most)
        faults.append(MetalFault(worst.distance, worst.on_core, worst.on_work, metal[6]))
    return faults


def _worst(metal: Piece, z0: float, z1: float, wanted: Metal, most: float) -> Gap:
    """Find the place between z0 and z1, on the metal's piece or a face at its ends, that is farthest from wanted."""

    def along(z: float) -> Gap:
        return _distance(wanted, z, height(metal, z), most)

    worst = _climb(along, z0, z1)
    for z in (z0, z1):
        here, there = height(metal, z), wanted.at(z, before=z == z1)
        if abs(there - here) > TOLERANCE:
            face = _climb(partial(_distance, wanted, z, most=most), here, there)
            worst = max(worst, face, key=_amount)
    return worst


def _amount(gap: Gap) -> float:
    return gap.distance


def _climb(measure: Callable[[float], Gap], start: float, end: float) -> Gap:
    """Find the greatest of a function of one number: the best of some places, then golden sections beside it."""
    marks = [start + (end - start) * k / SPOTS for k in range(SPOTS + 1)]
    gaps = [measure(m) for m in marks]
    k = gaps.index(max(gaps, key=_amount))
    best, low, high = gaps[k], marks[max(k - 1, 0)], marks[min(k + 1, SPOTS)]
    if max(gaps).distance - min(gaps).distance < ONE_HEIGHT:  # alike all along
        return best
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    left, right = measure(a), measure(b)
    for _ in range(24):
        best = max(best, left, right, key=_amount)
        if left.distance > right.distance:
            high, b, right = b, a, left
            a = high - GOLDEN * (high - low)
            left = measure(a)
        else:
            low, a, left = a, b, right
            b = low + GOLDEN * (high - low)
            right = measure(b)
    return best


def _distance(wanted: Metal, z: float, x: float, most: float) -> Gap:
    """Return the gap from a place to the outline wanted; it is known to be no more than most."""
    return outline_distance(wanted, z, x, 1.001 * most + ONE_HEIGHT) or Gap(most, (z, x), (z, x))


def report_gouges(
    faults: Iterable[MetalFault],
    lines: Sequence[int],
    turned: Sequence[Turned],
    *,
    but: Iterable[MetalFault] | None = None,
    told: Container[int] = (),
) -> list[Finding]:
    """Report the worst gouge of every line in every section; faults within TOLERANCE are none.

    Args:
        lines: lines of the text, by number of the motion.
        but: faults of the text by itself, where these faults are of slides with backlash: lines and sections that
            have them are left out here. told: lines whose backlash is reported otherwise.
    """
    known = _worst_of(but or (), lines, turned)
    findings = []
    for (line, words), fault in _worst_of(faults, lines, turned).items():
        if (line, words) in known or line in told:
            continue
        how = f"cuts {micrometres(fault.amount)} into {words}"
        if fault.source == STOCK:
            how = f"the stock already lies {micrometres(fault.amount)} below {words}"
        elif but is not None:
            how = f"{how}, as the slides' backlash carries it out"
        findings.append(find(line, "gouge", f"{how}, at {place(*fault.at)}", amount=fault.amount, at=fault.at))
    return findings


def _worst_of(
    faults: Iterable[MetalFault], lines: Sequence[int], turned: Sequence[Turned]
) -> dict[tuple[int, str], MetalFault]:
    """Return the worst fault of every line in every section, where it is over TOLERANCE."""
    worst: dict[tuple[int, str], MetalFault] = {}
    for fault in faults:
        key = (lines[fault.source] if fault.source != STOCK else 0, _words(fault, turned))
        if fault.amount > TOLERANCE and (key not in worst or fault.amount > worst[key].amount):
            worst[key] = fault
    return worst


def report_uncut(faults: Iterable[MetalFault], turned: Sequence[Turned]) -> list[Finding]:
    """Report the worst of what is left on every section and shoulder; faults within TOLERANCE are none."""
    worst: dict[str, MetalFault] = {}
    for fault in faults:
        words = _words(fault, turned)
        if fault.amount > TOLERANCE and (words not in worst or fault.amount > worst[words].amount):
            worst[words] = fault
    return [
        find(0, "uncut", f"{micrometres(f.amount)} is uncut on {words}, at {place(*f.at)}",
             amount=f.amount, at=f.at)
        for words, f in worst.items()
    ]  # fmt: skip


def _words(fault: MetalFault, turned: Sequence[Turned]) -> str:
    """Name the section, or its shoulder where the fault lies along Z from what was wanted."""
    (z, x), (wanted_z, wanted_x) = fault.at, fault.wanted
    if abs(z - wanted_z) > abs(x - wanted_x):
        return shoulder_at(turned, wanted_z)
    return section_at(turned, wanted_z)
