"""What `endshake why` answers: how passes came to be as they are, and where the figures of threads come from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cam.ground.units import show_fine
from cam.job.given import read_given
from cam.mill.settle import BEST_PERCENT, LEAST_PERCENT, MOST_PERCENT
from cam.part.screw import pitch_limits, shank_of
from cam.part.screwed import Screwed
from cam.part.threads import TapDrill, Thread, nearest_drills, usual_drill
from cam.plan import plan_job
from cam.plan.why import WIDTH, answer_why
from cam.setting.square import whole_limit

if TYPE_CHECKING:
    from cam.part.model import Part


def answer(
    part_path: str, shop_path: str | None, setting: int | None, number: int | None, *, piece: str = "",
    every: bool = False,
) -> str:  # fmt: skip
    """Say which passes there are, or all of one; where all are asked for, threads and the square too.

    Args:
        piece: name of one of several workpieces. every: show all of every pass.

    Raises:
        ProblemError: a file is wrong, nothing can be planned, or there is no such setting or pass.
    """
    plan = plan_job(*read_given(part_path, shop_path, piece))
    text = answer_why(plan, setting, number, whole=every)
    more = [*explain_threads(plan.part), *explain_square(plan.part)] if setting is None and number is None else []
    return "\n".join([text, *more])


def explain_threads(part: Part) -> list[str]:
    """Explain each thread of a part: the limits of a screw with their sources, and the drills for its tap."""
    milled, screwing = part.milled, part.screwed
    screws = {s.thread.name: s for s in screwing.threads} if screwing is not None else {}
    tapped = {h.thread.name: h.thread for h in milled.holes if h.thread is not None} if milled is not None else {}
    both = tapped | {name: s.thread for name, s in screws.items()}
    return ["\n".join([f"thread {t.name}:", *_thread(t, screws.get(name), part.unit), ""]) for name, t in both.items()]


def explain_square(part: Part) -> list[str]:
    """Explain how large a square may be before its corners are cut into."""
    milled = part.milled
    if milled is None or milled.square is None:
        return []
    asked = milled.square
    blank = float(next(s for s in part.sections if s.name == asked.section).diameter_a)
    most = whole_limit(blank, asked.flats)
    words = (
        f"A round of {show_fine(blank, part.unit)} has {asked.flats} flats with sharp corners up to "
        f"{show_fine(most, part.unit)} across: d cos(180 deg / {asked.flats}) (exact). Above that the corners stay "
        "round, as the blank left them."
    )
    return ["\n".join([f"square on {asked.section}:", *_item(words), ""])]


def _thread(thread: Thread, screwed: Screwed | None, unit: str) -> Iterator[str]:
    sizes = f"Major diameter {show_fine(thread.diameter, unit)}, pitch {show_fine(thread.pitch, unit)}"
    yield from _item(f"{sizes}: {thread.standing}.")
    if screwed is not None:
        yield from (line for words in screwed.derived for line in _item(f"{words[0].upper()}{words[1:]}."))
        for what, limits in (("Before the thread", shank_of(thread)), ("Pitch diameter", pitch_limits(thread))):
            between = f"{show_fine(limits.least, unit)} to {show_fine(limits.most, unit)}"
            yield from _item(f"{what} {between}: {limits.standing}.")
    yield from _item(
        f"Tapping drills, and the thread that each leaves, in % {thread.basis}. Of those in the shop the nearest to "
        f"{BEST_PERCENT:g} % is taken, from {LEAST_PERCENT:g} to {MOST_PERCENT:g} %: a small tap breaks in the hole "
        "that charts print (common practice, no source)."
    )
    yield f"    {'drill':<10}{'diameter':>12}{'% of thread':>14}{'% of 3/4 H, as charts':>24}"
    yield from (f"    {row}" for row in _drills(thread, unit))


def _drills(thread: Thread, unit: str) -> Iterator[str]:
    """Return a line for each drill, the fullest thread first; drills that leave all or almost none are left out."""
    usual = usual_drill(thread)
    found = {d.drill.diameter: d for d in (*nearest_drills(thread, BEST_PERCENT), *([usual] if usual else []))}
    for size, drill in sorted(found.items()):
        if 40 <= drill.percent < 100:
            printed = "  as tables print" if usual is not None and size == usual.drill.diameter else ""
            yield _drill(drill, unit) + printed


def _drill(found: TapDrill, unit: str) -> str:
    chart = f"{found.chart:.0f}" if found.chart is not None else "the same"
    return f"{found.drill.name:<10}{show_fine(found.drill.diameter, unit):>12}{found.percent:>14.0f}{chart:>24}"


def _item(words: str) -> list[str]:
    from textwrap import wrap

    return wrap(words, WIDTH, initial_indent="  - ", subsequent_indent="    ")
