"""Pages of the cutting summary for a screw: its thread, how it comes off the bar, and the hook filed from its head."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from cam.ground.figures import Figures
from cam.part.screw import Wheels, best_wire, over_wires, pitch_limits, shank_of, tip_radius
from cam.part.screwed import Screwed, Screwing
from cam.part.threads import Thread, usual_drill
from cam.plan.model import Plan
from cam.plan.threads import by_hand
from cam.setting.model import ThreadWanted
from cam.setting.threaded import train_for
from cam.shop.model import Lathe, Tool
from posts.dials import FACTORS
from posts.hook_page import MACHINE_FIRST, hook_blocks
from posts.pages.blocks import Block, FigureTable, MeasureBlock, Page, PageKind
from posts.pages.dial_words import x_dial
from posts.pages.figures import between, finest
from posts.pages.foot import foot_of, in_both
from posts.pages.readings import SlideReading, SlideScale, scales_of
from posts.pages.script import blocks_of
from posts.wording import number, plain

LEFT = 0.5
"""How much the saw leaves beyond the finished head, mm; common practice, no source."""
KERF = 1.0
"""The length that a saw takes off and leaves ragged, mm; common practice, no source."""


def screw_pages(plan: Plan, figures: Figures) -> list[Page]:
    """Make the pages of a screw that follow the settings."""
    screwing = plan.part.screwed
    if screwing is None:
        return []
    fine = finest(figures)
    found: list[tuple[PageKind, str, Iterator[Block]]] = [
        ("thread", "THE THREAD", _thread(plan, s, fine)) for s in screwing.threads
    ]
    found.append(("thread", "OFF THE BAR", _off_the_bar(plan, screwing, fine)))
    if screwing.hook is not None:
        hook = hook_blocks(plan.part, screwing.threads[0], screwing.hook, fine)
        found.append(("hook", "THE HOOK, ON THE BENCH", hook))
    name, foot = plain(plan.part.name), foot_of(plan)
    return [Page(kind=kind, title=title, part=name, blocks=in_both(blocks), foot=foot) for kind, title, blocks in found]


def work_after(plan: Plan) -> list[tuple[str, str]]:
    """Return what is done after turning, and the title of its page."""
    screwing = plan.part.screwed
    assert screwing is not None
    found = [(f"{s.thread.name} on {plain(s.section)}, by {s.by}", "THE THREAD") for s in screwing.threads]
    found.append(("off its bar, and its head faced", "OFF THE BAR"))
    return [*found, ("the head filed to a hook and fitted", "THE HOOK")] if screwing.hook is not None else found


def then_words(plan: Plan) -> list[str]:
    """Say what is done after turning, a line each, for the first page."""
    return [f"{what}: {title}" for what, title in work_after(plan)]


def _cut_by_hand(plan: Plan, screwed: Screwed) -> ThreadWanted | None:
    """Return a thread as change wheels are to cut it; None where a die or the program does."""
    return next((t for t in plan.settings[-1].setting.hand_threads if t.section == screwed.section), None)


def things_wanted(plan: Plan, figures: Figures) -> list[str]:
    """Return the dies, wires and other things to have ready, a line each."""
    screwing = plan.part.screwed
    assert screwing is not None
    found = []
    for screwed in screwing.threads:
        thread = screwed.thread
        if screwed.by == "die":
            found.append(f"die {thread.name}, its holder on the tailstock")
        elif wanted := _cut_by_hand(plan, screwed):
            tool, _ = by_hand(plan.shop, wanted)
            found.append(
                f"tool {tool.number}: {plain(tool.name)}; change wheels as the page of the thread says, a thread gauge,"
                " a handle for the spindle's bore"
            )
        wire = figures.fine(best_wire(thread))
        drill = usual_drill(thread)
        tapping = f", drill {drill.drill.name} and tap {thread.name}" if drill else f", tap {thread.name}"
        found.append(f"three wires of {wire}; a stub of brass for a tapped seat{tapping}")
    return [*found, *(["saw, scriber"] if plan.part.holding.part_off == "saw" else [])]


# The thread -----------------------------------------------------------------------------------------------


def _thread(plan: Plan, screwed: Screwed, figures: Figures) -> Iterator[Block]:
    """Return the page of one thread: how it is cut, by die, by hand with change wheels or by the program; its size."""
    thread, zero = screwed.thread, over_wires(screwed.thread, 0.0, 0.0)
    wanted = _cut_by_hand(plan, screwed)
    own: dict[str, Iterable[Block]] = {
        "sizes": [FigureTable(heads=("", ""), align="ll", rows=tuple(_sizes(screwed, figures)))],
        "over wires": [_over_wires(thread, figures)],
    }
    wheels = None
    if wanted is not None and screwed.by != "die":
        tool, depths = by_hand(plan.shop, wanted)
        wheels = _wheels(plan, wanted, figures) | {"tool": tool}
        own["depths"] = _depths(plan, wanted, tool, depths, figures)
    return blocks_of(
        "screw", own, off=False, thread=thread, screwed=screwed, dies=plan.shop.dies, figures=figures, wheels=wheels,
        turns=math.ceil(screwed.threaded / screwed.thread.pitch), machine_first=MACHINE_FIRST, less=figures.fine(-zero),
        each=number(over_wires(thread, 0.0, 1.0) - zero, 4, 2),
    )  # fmt: skip


def _sizes(screwed: Screwed, figures: Figures) -> list[tuple[str, str]]:
    """Return the sizes of the thread; `endshake why` says where they come from."""
    thread = screwed.thread
    shank, limits = shank_of(thread), pitch_limits(thread)
    return [
        ("shank as turned", between(figures, shank.least, shank.most)),
        ("pitch", figures.size(thread.pitch)),
        ("pitch diameter", between(figures, limits.least, limits.most)),
        ("full thread", f"{figures.place(float(screwed.threaded))} from the free end"),
    ]


def _wheels(plan: Plan, wanted: ThreadWanted, figures: Figures) -> dict[str, Any]:
    """Return what the page says of a thread that is cut by hand with the leadscrew geared to the spindle."""
    thread, threading, length = wanted.thread, plan.shop.lathe.threading, float(wanted.near - wanted.far)
    assert threading is not None
    train = train_for(thread, threading)
    assert train is not None
    return {
        "train": _train_words(train, thread, length), "shank": figures.size(2 * wanted.shank),
        "fastest": threading.fastest, "seconds": 60 * length / (thread.pitch * threading.fastest),
        "off": figures.place(max(2 * thread.pitch, 1.0)),
    }  # fmt: skip


def _train_words(train: Wheels, thread: Thread, length: float) -> str:
    """Say the train from the spindle on, and how near it comes to the pitch."""
    first, last = train.drivers[0], train.driven[-1]
    words = f"{first} on the spindle drives {last} on the leadscrew, with what idlers reach"
    if len(train.drivers) > 1:
        middle, again = train.driven[0], train.drivers[1]
        words = f"{first} on the spindle drives {middle}; on its stud {again} drives {last} on the leadscrew"
    off = 1000 * train.error * length
    exact = "exactly" if abs(train.error) < 1e-9 else f"{off:+.1f} um over the thread, {100 * train.error:+.3f} %"
    return f"Wheels: {words}. They cut {train.pitch:.4f} mm for {thread.pitch:.4f} mm: {exact}."


def _depths(
    plan: Plan, wanted: ThreadWanted, tool: Tool, depths: tuple[float, ...], figures: Figures
) -> Iterator[Block]:
    """Yield the passes with their dial readings, of equal areas."""
    lathe: Lathe = plan.shop.lathe
    scales = scales_of(lathe, float(plan.part.stock.diameter), plan.settings[-1])
    scale = scales.x
    touched = scale.mark(2 * wanted.shank, "near")
    yield x_dial(lathe, scales, figures, f"touched on the shank: {figures.size(touched.at)} is {touched.text}")
    factor = FACTORS[lathe.x.habit] if lathe.x.reading != "none" else 2
    rows = []
    before = 2 * wanted.shank
    for n, reading in enumerate(_readings(scale, wanted, tool, depths), start=1):
        cut = figures.size(factor * (before - reading.at) / 2)
        rows.append((str(n), figures.size(reading.at), cut, reading.text, "[ ]"))
        before = reading.at
    side = "dia." if factor == 2 else "a side"
    yield FigureTable(heads=("pass", "tip at", f"cut, {side}", "X", ""), align="rrrrl", rows=tuple(rows))


def _readings(scale: SlideScale, wanted: ThreadWanted, tool: Tool, depths: tuple[float, ...]) -> list[SlideReading]:
    """Return where X stands at each pass: each mark once, and the last, as near as the limits ask for, twice."""
    tips = [2 * tip_radius(wanted.thread, size, float(tool.nose_radius)) for size in (wanted.least, wanted.most)]
    last = scale.last(2 * (wanted.shank - depths[-1]), *tips)
    marks = {m.text: m for m in (scale.mark(2 * (wanted.shank - depth), "near") for depth in depths)}
    return [*(m for m in marks.values() if last.at < m.at < 2 * wanted.shank), last, last]


def _over_wires(thread: Thread, figures: Figures) -> MeasureBlock:
    wire, limits = best_wire(thread), pitch_limits(thread)
    least, aim, most = (over_wires(thread, d, wire) for d in (limits.least, limits.aim, limits.most))
    low, high = figures.limits(least, most)
    return MeasureBlock(
        of="size", name=f"over three wires of {figures.fine(wire)}", expected=figures.size(aim), least=low, most=high,
        last=True, over="over: again", under=f"under {low}: scrap",
    )  # fmt: skip


# Off the bar ----------------------------------------------------------------------------------------------


def _off_the_bar(plan: Plan, screwing: Screwing, figures: Figures) -> Iterator[Block]:
    """Return the page on how the part comes off its bar and how its head is faced."""
    part, length = plan.part, float(plan.part.length)
    at_b = part.holding.first != "B"
    head = part.sections[-1 if at_b else 0]  # it may be as bought, and so not turned
    edge = head.edge_b if at_b else head.edge_a
    drawn = edge.text if edge is not None and edge.kind != "sharp" else ""
    return blocks_of(
        "screw", off=True, head=head, edge=drawn, blade=part.holding.part_off == "blade",
        thread=screwing.threads[0].thread.name if screwing.threads else "", length=figures.place(length),
        line=figures.place(length + LEFT), kerf=figures.about(KERF), machine_first=MACHINE_FIRST,
    )  # fmt: skip
