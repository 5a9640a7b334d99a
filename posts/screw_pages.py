"""Pages of the cutting summary for a screw: its thread, how it comes off the bar, and the hook filed from its head."""

from __future__ import annotations

import math
from collections.abc import Iterator

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
from posts.pages.blocks import Block, FigureTable, Head, MeasureBlock, Page, PageKind, Words
from posts.pages.cuts import scales_of
from posts.pages.dial_words import x_dial
from posts.pages.figures import between, finest
from posts.pages.foot import foot_of, in_both
from posts.pages.lists import told
from posts.pages.readings import SlideReading, SlideScale
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


def next_words(plan: Plan) -> str:
    """Say in a sentence what follows the last pass of a screw."""
    screwing = plan.part.screwed
    assert screwing is not None
    hand = [s for s in screwing.threads if s.by == "die"] or plan.settings[-1].setting.hand_threads
    if plan.part.holding.part_off == "blade":
        thread = "The thread is cut before that last pass, in this same hold: see THE THREAD. " if hand else ""
        return f"{thread}It is off its bar now: see OFF THE BAR."
    first = "Cut the thread now, in this same hold: see THE THREAD. Then" if hand else "In this same hold,"
    return f"{first} take it off its bar: see OFF THE BAR."


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


def things_wanted(plan: Plan, figures: Figures) -> list[str]:
    """Return the dies, wires and other things to have ready, a line each."""
    screwing = plan.part.screwed
    assert screwing is not None
    found = []
    for screwed in screwing.threads:
        thread = screwed.thread
        if screwed.by == "die":
            found.append(f"die {thread.name}, its holder on the tailstock")
        elif plan.settings[-1].setting.hand_threads:
            found.append(
                "change wheels as the page of the thread says, a thread gauge, a handle for the spindle's bore"
            )
        wire = figures.fine(best_wire(thread))
        drill = usual_drill(thread)
        tapping = f", drill {drill.drill.name} and tap {thread.name}" if drill else f", tap {thread.name}"
        found.append(f"three wires of {wire}; a stub of brass for a tapped seat{tapping}")
    return [*found, *(["saw, scriber"] if plan.part.holding.part_off == "saw" else [])]


# The thread -----------------------------------------------------------------------------------------------


def _thread(plan: Plan, screwed: Screwed, figures: Figures) -> Iterator[Block]:
    thread = screwed.thread
    yield Words(words=f"{thread.name}, right-hand, on {plain(screwed.section)}.", mark="")
    yield FigureTable(heads=("", ""), align="ll", rows=tuple(_sizes(screwed, figures)))
    wanted = next((t for t in plan.settings[-1].setting.hand_threads if t.section == screwed.section), None)
    if screwed.by == "die":
        yield from _by_die(plan, screwed, figures)
    elif wanted is not None:
        yield from _by_wheels(plan, wanted, figures)
    else:
        yield Head(words="BY THE PROGRAM")
        yield told(
            "The passes are rows of setting 1, by program; the stop to measure is after the last of them."
        )
        yield told("A pass that was broken off may be run again from its N line: every one starts at the same place.")
    yield from _measuring(screwed, figures)


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


def turns_of(screwed: Screwed) -> float:
    """Return the turns of the die from its start until full thread is cut."""
    return float(screwed.threaded) / screwed.thread.pitch


def _by_die(plan: Plan, screwed: Screwed, figures: Figures) -> Iterator[Block]:
    """Say how the thread is cut by a die held square by the tailstock and turned by hand."""
    thread, dies = screwed.thread, plan.shop.dies
    yield Head(words="BY DIE, IN THE SAME HOLD, BEFORE IT COMES OFF ITS BAR")
    if dies is not None and thread.name not in dies:
        yield told(f"The shop file lists no die for {thread.name}: it has {', '.join(dies) or 'none'}.", "!")
    yield told("Motor off and unplugged, belt slack: this thread is turned by hand, never under power.", "1.")
    yield told(
        f"Die {thread.name} in a holder that slides on the tailstock, lettered side to the work, so that it stands "
        "square. A split die: open it by its middle screw for the first time over.",
        "2.",
    )
    yield told(
        "Oil on the shank. Push the tailstock up lightly until the die has bitten on the chamfer, then let it draw "
        "itself on. Turn the spindle by its handle, or the holder, never by the jaws.",
        "3.",
    )
    yield told(
        "Half a turn on, then back until the chip breaks; oil again every two turns. If it binds, back: a screw that "
        "is twisted off stays in the die.",
        "4.",
    )
    yield told(
        f"About {math.ceil(turns_of(screwed))} turns make {figures.place(float(screwed.threaded))} of thread; stop "
        "before the die's face meets the shoulder. What its lead leaves unformed there, the die turned round takes.",
        "5.",
    )
    yield told(
        "Wind it off, brush the chips away, measure. Close the die a little and run it over again to size.", "6."
    )
    yield told("A die's edges and the thread's burr cut: brush, no fingers, no rag round the work.", "!")
    yield told(MACHINE_FIRST, "!")


def _by_wheels(plan: Plan, wanted: ThreadWanted, figures: Figures) -> Iterator[Block]:
    """Say how the thread is cut by a single-point tool, with the leadscrew geared to the spindle."""
    shop, thread = plan.shop, wanted.thread
    threading = shop.lathe.threading
    assert threading is not None
    tool, depths = by_hand(shop, wanted)
    train = train_for(thread, threading)
    assert train is not None
    yield Head(words="BY HAND WITH CHANGE WHEELS, IN THE SAME HOLD, BEFORE IT COMES OFF ITS BAR")
    yield told(_train_words(train, thread, float(wanted.near - wanted.far)))
    yield told("Motor unplugged while wheels are changed; their cover shut before it runs again.", "!")
    shank = figures.size(2 * wanted.shank)
    seconds = 60 * (wanted.near - wanted.far) / (thread.pitch * threading.fastest)
    yield told(
        f"Tool {tool.number}, {tool.name}: on centre height, its vee square to the work by a thread gauge. Touch it "
        f"on the shank and set X to what that measures there (about {shank}).",
    )
    yield told(
        "Turn the spindle by a handle in its bore: motor unplugged as long as it is in, and out before any power. "
        f"Under power, at {threading.fastest:.0f} rpm, the tool would be over the undercut {seconds:.1f} s after it "
        "bites.",
    )
    yield told(
        f"Start at least {figures.place(max(2 * thread.pitch, 1.0))} off the end, so that the play of all wheels is "
        "taken up; stop over the undercut, wind X out, and turn the spindle BACK to the start with the half-nut left "
        "shut: so every pass falls in one groove. Then X in to the next line.",
    )
    yield from _depths(plan, wanted, tool, depths, figures)
    yield told(f"Tick each pass off. {MACHINE_FIRST}", "!")


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


def _measuring(screwed: Screwed, figures: Figures) -> Iterator[Block]:
    thread = screwed.thread
    wire, limits = best_wire(thread), pitch_limits(thread)
    least, aim, most = (over_wires(thread, d, wire) for d in (limits.least, limits.aim, limits.most))
    low, high = figures.limits(least, most)
    yield Head(words="MEASURE IT, SPINDLE OFF, BEFORE ANYTHING ELSE IS DONE")
    yield MeasureBlock(
        of="size", name=f"over three wires of {figures.fine(wire)}", expected=figures.size(aim), least=low, most=high,
        last=True, over="over: again", under=f"under {low}: scrap",
    )  # fmt: skip
    each, less = over_wires(thread, 0.0, 1.0) - over_wires(thread, 0.0, 0.0), -over_wires(thread, 0.0, 0.0)
    yield told(f"Over other wires W it is the pitch diameter + {number(each, 4, 2)} W - {figures.fine(less)}.")
    yield told("Or try it in its own tapped hole: it must run in by finger and thumb, without shake.")


# Off the bar ----------------------------------------------------------------------------------------------


def _off_the_bar(plan: Plan, screwing: Screwing, figures: Figures) -> Iterator[Block]:
    part, head = plan.part, plan.settings[-1].setting.turned[-1].section
    length, blade = figures.place(part.length), part.holding.part_off == "blade"
    yield from _by_blade(length) if blade else _by_saw(figures.place(part.length + LEFT), figures)
    thread = screwing.threads[0].thread.name if screwing.threads else ""
    yield Head(words="THE HEAD, FACED")
    yield told(
        f"Face and tap a stub of brass {thread} in the collet or chuck, recess its mouth by one pitch, and screw the "
        "part in by hand until its shoulder seats: so the head runs true and the thread is not marked."
    )
    yield told(
        f"Light cuts, the spindle forward, so that they screw it home and not out, "
        f"{'no more than takes the pip and the marks away; it was' if blade else 'until it is'} {length} long over all "
        f"({plain(head.name)} {head.length.text}), is ________. Break the edge."
    )
    yield told(MACHINE_FIRST, "!")


def _by_saw(line: str, figures: Figures) -> Iterator[Block]:
    yield Head(words="BY SAW")
    yield told("Motor off and unplugged; never saw into turning work.", "1.")
    yield told(
        f"Scribe a line {line} from the finished free end, and saw beyond it: the saw takes about "
        f"{figures.about(KERF)}. Support the part from below with a bit of wood, and let it drop on that.",
        "2.",
    )


def _by_blade(length: str) -> Iterator[Block]:
    yield Head(words="BY THE BLADE, THE LAST PASS OF SETTING 1")
    yield told("Before it, in the same hold: the thread cut and measured, burrs off, a tray under the part.", "1.")
    yield told(
        f"The blade goes in at the slow speed of that pass, {length} from the finished free end, in bites, past the "
        "axis. A hand on the stop, none near the part.",
        "2.",
    )
    yield told("Take the part out of the tray when the spindle stands.", "3.")
