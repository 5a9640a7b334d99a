"""The tables of a part file that ask for threads: [[section]] with thread, and [hook]."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.ground.frozen import frozen
from cam.ground.keys import read_as, read_key
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.tolerances import AS_GIVEN
from cam.ground.units import MM_PER_INCH, gauge_decimals, in_unit, round_down, round_up, show_fine, show_length
from cam.part.features import Corner, undercut_at
from cam.part.model import Holding, Part, Section
from cam.part.screw import pitch_limits, shank_of, tip_radius, widest_nose
from cam.part.screwed import HookAsked, Screwed, Screwing, ThreadBy
from cam.part.threads import Thread, find_thread

WITH_THREAD = ("threaded_length", "thread_by")
THREADING = ("thread", *WITH_THREAD)
"""The keys of a section that only the reader of threads reads."""

NAN = math.nan
STEPS = {"mm": 0.05, "in": 0.002 * MM_PER_INCH}
"""Derived chamfers and undercuts are rounded up to a multiple of this, mm, by the unit of the part."""
RUN_OUT = 2.0
"""The pitches that a die leaves unformed before a shoulder; common practice, no source (its lead is two to three)."""
UNDERCUT_WIDTH = 1.5
"""The least width, in pitches, of the undercut into which a die runs out; common practice, no source."""
TOOL_WIDTH, LEAST_WIDTH = 2.0, 1.0
"""The width of an undercut that is derived for a single-point tool, in pitches, and its least width in mm; common
practice, no source.
"""
UNDER_ROOT = 0.02
"""How far such an undercut goes below the root, mm; common practice, no source."""
EYE_PLAY = (0.1, 0.2)
"""How much narrower than the spring's eye the hook is, mm; common practice, no source."""
EYE_SHARE = 0.6
"""The widest eye as a share of the spring's width, so that metal is left beside it; common practice, no source."""


# Before the sections are read -----------------------------------------------------------------------------


@frozen
class Settled:
    """A thread as far as it is known before lengths are solved; at is the index of its section."""

    at: int
    thread: Thread
    by: ThreadBy
    depth: float
    derived: tuple[str, ...]


def settle_threads(root: Table, tables: Sequence[Table], holding: Holding, unit: str) -> tuple[Settled, ...] | None:
    """Read each section's thread, and write into its table what follows from it: diameter, chamfer and undercut.

    Only what the section leaves out is written; problems are noted in the tables. The result is None where the part has
    neither thread nor hook.
    """
    if not any([root.has("hook"), *(table.has(key) for table in tables for key in THREADING)]):
        return None
    return tuple(found for at in range(len(tables)) if (found := _settle_one(tables, at, holding, unit)) is not None)


def _settle_one(tables: Sequence[Table], at: int, holding: Holding, unit: str) -> Settled | None:
    table = tables[at]
    if not table.has("thread"):
        for key in WITH_THREAD:
            what = f"{key} goes with a thread, and this section has none"
            table.refuse(key, what, fix='write thread = "M3" as well')
        return None
    table.known("threaded_length")
    by = read_key(table, Section, "thread_by")
    in_place = _check_place(tables, at, holding)
    thread = table.parsed("thread", find_thread, None)
    if thread is None:
        return None
    shank, derived = _settle_shank(table, thread, unit)
    if math.isnan(shank):
        return None
    depth = shank / 2 - tip_radius(thread, pitch_limits(thread).aim, widest_nose(thread))
    if not in_place:
        return Settled(at=at, thread=thread, by="die", depth=depth, derived=tuple(derived))
    first = at == 0 and holding.first != "B"
    derived += _derive_edge(table, "edge_a" if first else "edge_b", depth, unit)
    if by == "single point":
        derived += _derive_undercut(table, "corner_b" if first else "corner_a", thread, shank, unit)
    return Settled(at=at, thread=thread, by=by, depth=depth, derived=tuple(derived))


def _check_place(tables: Sequence[Table], at: int, holding: Holding) -> bool:
    """Whether the section stands at a free end, from which alone a thread is cut; it is noted where it does not."""
    before = len(tables[at].problems)
    table = tables[at]
    if holding.method == "between centres":
        table.note(
            "thread",
            "a thread is cut on a free end, and between centres there is none",
            fix='hold the part by its head: method = "collet" or "chuck"',
        )
    elif holding.first is not None and at != (0 if holding.first == "A" else len(tables) - 1):
        table.note(
            "thread",
            "a thread is cut from the free end on, and this section does not stand there",
            allowed=f'the {"first" if holding.first == "A" else "last"} section, with free_end = "{holding.first}"',
            fix="move the section, or turn the part round in its holding",
        )
    return len(table.problems) == before


def _settle_shank(table: Table, thread: Thread, unit: str) -> tuple[float, list[str]]:
    """Return the diameter at which the shank is aimed, mm, and what was derived; nan where it cannot be threaded."""
    shank = shank_of(thread)
    for key in ("diameter_a", "diameter_b"):
        if table.has(key):
            table.note(key, "a thread stands on a cylinder, and this section is a taper", fix="give it one diameter")
            return NAN, []
    if not table.has("diameter"):
        return _derive_shank(table, thread, unit)
    before = len(table.problems)
    size = float(read_key(table, Section, "diameter"))
    del table.problems[before:]  # the section's own reading notes them
    if not math.isnan(size) and not shank.least - AS_GIVEN <= size <= thread.diameter + AS_GIVEN:
        table.note(
            "diameter",
            f"this is no shank for {thread.name}",
            allowed=f"{_between(shank.least, shank.most, unit)} ({shank.standing})",
            fix="leave diameter and tolerance out, and they are taken from the thread",
        )
        return NAN, []
    return size, []


def _derive_shank(table: Table, thread: Thread, unit: str) -> tuple[float, list[str]]:
    """Write the thread's own shank, and its limits too unless the section gives some."""
    shank = shank_of(thread)
    most, least = round_down(shank.most, unit), round_up(shank.least, unit)
    table.values["diameter"] = show_fine(most, unit, trim=True)
    words = [f"shank {_between(least, most, unit)}: {thread.name}, {shank.standing}"]
    if table.has("tolerance"):
        table.note(
            "tolerance", "these limits have no diameter that they count from",
            fix="leave them out, and they come from the thread; or give the diameter too",
        )  # fmt: skip
    else:
        table.values["tolerance"] = f"+0 / -{show_fine(most - least, unit)}"
    return (most + least) / 2, words


def _derive_edge(table: Table, key: str, depth: float, unit: str) -> list[str]:
    """Write a chamfer down to the root, on which a die or tool starts."""
    if table.has(key):
        return []
    size = _up(depth, unit)
    table.values[key] = f"chamfer {size}"
    return [f"start chamfer {size}: the thread's depth, rounded up"]


def _derive_undercut(table: Table, key: str, thread: Thread, shank: float, unit: str) -> list[str]:
    """Write an undercut, into which a single-point tool runs out."""
    if table.has(key):
        return []
    tip = tip_radius(thread, pitch_limits(thread).least, widest_nose(thread))
    wide, deep = _up(max(TOOL_WIDTH * thread.pitch, LEAST_WIDTH), unit), _up(shank / 2 - tip + UNDER_ROOT, unit)
    text = f"undercut {wide} wide {deep} deep"
    table.values[key] = text
    why = f"two pitches wide and at least {in_unit('1 mm', unit)}, as deep as the root; common practice, no source"
    return [f"{text} for the tool to run off into: {why}"]


def _up(size: float, unit: str) -> str:
    """Show a derived size, mm, rounded up."""
    step = STEPS[unit]
    return show_length(math.ceil(size / step - AS_GIVEN) * step, unit, 3 if unit == "in" else 2)


def _between(least: float, most: float, unit: str) -> str:
    """Show two sizes, mm, with their unit once."""
    return f"{show_fine(least, unit).removesuffix(f' {unit}')} to {show_fine(most, unit)}"


def _most(size: float, unit: str) -> str:
    """Show the greatest size that is allowed, mm, so that what is shown is allowed."""
    return show_fine(round_down(size, unit), unit, trim=True)


# Once they are read ---------------------------------------------------------------------------------------


def read_screwing(
    root: Table, tables: Sequence[Table], settled: tuple[Settled, ...], part: Part, held: Table
) -> Screwing:
    """Check the threads against their sections and read the hook; problems are noted in the tables.

    Args:
        settled: from `settle_threads`, before the sections were read.
        held: the table [holding].
    """
    threads = tuple(_read_one(s, part.sections[s.at], tables[s.at], part.unit) for s in settled)
    asked = [t for t in tables if t.has("thread")]
    if asked and part.holding.method in ("collet", "chuck"):
        held.needs("part_off", '"saw"', why="a screw comes off its bar last: by saw, or by the shop's blade")
    hook = None
    if root.has("hook"):
        table = root.table("hook")
        hook = _read_hook(table, part, threads, asked)
        for owner, section in zip(tables, part.sections, strict=True):
            if section.name == hook.section:
                _check_written(owner, section)
        if not root.problems:
            _check_hook(table, hook, part, threads)
    return Screwing(threads=threads, hook=hook)


def _read_one(settled: Settled, section: Section, table: Table, unit: str) -> Screwed:
    """Return the thread with its length, as asked or derived."""
    thread, derived = settled.thread, list(settled.derived)
    corner = section.corner_a if section.corner_b is None else section.corner_b
    undercut = undercut_at(corner)
    room = float(section.length)
    if undercut is not None:
        room -= undercut.width
    elif corner is not None:
        room -= RUN_OUT * thread.pitch
    _check_written(table, section)
    if table.has("threaded_length"):
        threaded = read_key(table, Section, "threaded_length")
    elif math.isnan(room):
        threaded = Quantity(NAN, "", table.where)
    else:
        threaded = Quantity(room, f"{show_fine(room, unit, trim=True)} (derived)", table.where_of("thread"))
        less = "its undercut" if undercut else "two pitches that the die leaves unformed"
        why = f"the section less {less}" if corner else "the whole section"
        derived.append(f"thread {show_length(room, unit, gauge_decimals(unit), trim=True)} long: {why}")
    screwed = Screwed(
        section=section.name, thread=thread, threaded=threaded, by=settled.by, depth=settled.depth,
        derived=tuple(derived), where=table.where_of("thread"),
    )  # fmt: skip
    _check_run_out(screwed, section, corner, room, table, unit)
    return screwed


def _check_written(table: Table, section: Section) -> None:
    """Check that a screw's lengths are written: all must be known before it is turned, and none comes from a span."""
    if math.isnan(section.length) and not table.problems:
        what = "the length of a screw's thread and head is written, and does not come from a span"
        table.note("length", what, fix="write it")


def _check_run_out(
    screwed: Screwed, section: Section, corner: Corner | None, room: float, table: Table, unit: str
) -> None:
    """Check that the section has room for the thread's length, and somewhere for it to run out."""
    threaded = float(screwed.threaded)
    if threaded <= 0 or threaded > room + AS_GIVEN:
        short = "has no room to run out before the shoulder" if corner else "is longer than its section"
        table.note(
            "threaded_length" if table.has("threaded_length") else "thread",
            f"the thread {short}",
            allowed=f"at most {_most(max(room, 0.0), unit)} of the section's {section.length.text}",
            fix="shorten it, lengthen the section, or let it run into an undercut (corner_a or corner_b)",
        )
    _check_undercut(screwed, corner, table, unit)


def _check_undercut(screwed: Screwed, corner: Corner | None, table: Table, unit: str) -> None:
    """Check that an undercut has room for the tool that runs off into it, and that a single-point tool has one."""
    wide, undercut = UNDERCUT_WIDTH * screwed.thread.pitch, undercut_at(corner)
    narrow, shallow = _up(wide, unit), _up(screwed.depth, unit)
    if screwed.by == "single point" and undercut is None:
        table.note(
            "thread_by",
            "a single-point thread needs an undercut to run off into",
            given="no shoulder" if corner is None else f"{corner.text} at the shoulder",
            allowed=f"an undercut at least {narrow} wide {shallow} deep",
            fix='leave the corner out, and the undercut is derived; or thread_by = "die"',
        )
    elif undercut is not None and (undercut.width < wide - AS_GIVEN or undercut.depth < screwed.depth):
        table.note(
            "corner_a" if table.has("corner_a") else "corner_b",
            "the undercut is too small for the thread to run off into",
            allowed=f"at least {narrow} wide {shallow} deep: {UNDERCUT_WIDTH:g} pitches, and the thread's depth",
            fix="make it wider or deeper, or leave it out with a single-point thread to have it derived",
        )


def _read_hook(table: Table, part: Part, threads: tuple[Screwed, ...], asked: Sequence[Table]) -> HookAsked:
    if not asked:
        table.note("section", "a hook is the head of a screw, and no section of this part has a thread", given="",
                   fix='give its shank a thread, for example thread = "M3"')  # fmt: skip
    names = [s.name for s in part.sections]
    section = read_key(table, HookAsked, "section")
    if section and section not in names:
        table.unknown("section", "section", names)
    elif section in {t.section for t in threads}:
        table.note("section", "the hook is filed from the head, not from the thread", fix="name the head's section")
    through = read_key(table, HookAsked, "through_body")
    if through:
        table.refuse("hole_depth", "a hole that goes through has no depth", fix="leave it out")
        return read_as(table, HookAsked, section=section, hole_depth=Quantity(NAN, "", table.where))
    return read_as(table, HookAsked, section=section)


def _check_hook(table: Table, hook: HookAsked, part: Part, threads: tuple[Screwed, ...]) -> None:
    head = next(s for s in part.sections if s.name == hook.section)
    shank = next(s for s in part.sections if s.name == threads[0].section)
    for check in (_check_seat, _check_height, _check_eye):
        check(table, hook, head, part.unit)
    _check_lock(table, hook, shank, part.unit)
    if not table.problems:
        _check_home(table, hook, threads[0], shank, part.unit)


def _check_seat(table: Table, hook: HookAsked, head: Section, unit: str) -> None:
    """Check that the flat holds the whole head, since otherwise its rim would stand over the round of the body."""
    radius, reach = hook.body / 2, head.thickest / 2
    if reach >= radius:
        what = "the head is as thick as the body that it is screwed into"
        table.note("body", what, allowed=f"more than {show_fine(2 * reach, unit)}", fix="make the head thinner")
        return
    needed = radius - math.sqrt(radius * radius - reach * reach)
    if hook.flat < needed - AS_GIVEN:
        table.note(
            "flat",
            "the flat does not reach under the whole head: its rim would bear on nothing",
            allowed=f"at least {show_fine(round_up(needed, unit), unit)}, for a head "
            f"{head.diameter_a.text} thick on a body {hook.body.text} thick",
            fix="make the flat deeper, or the head thinner",
        )


def standing(hook: HookAsked) -> float:
    """Return the height of the finished hook over the flat on which its head seats, mm: flat, spring, clearance."""
    return float(hook.flat + hook.spring_thickness + hook.clearance)


def _check_height(table: Table, hook: HookAsked, head: Section, unit: str) -> None:
    if head.length < standing(hook) - AS_GIVEN:
        table.note(
            "spring_thickness",
            "the head is too short for a hook that stands as high as the spring is thick",
            given=f"head {head.length.text} long; flat {hook.flat.text}, spring {hook.spring_thickness.text}, "
            f"clearance {hook.clearance.text}",
            allowed=f"a head of {show_fine(standing(hook), unit)} or more",
            fix="make the head longer",
        )


def _check_eye(table: Table, hook: HookAsked, head: Section, unit: str) -> None:
    wide, most = float(hook.eye) - EYE_PLAY[1], EYE_SHARE * float(hook.spring_width)
    if hook.eye > most + AS_GIVEN:
        table.note(
            "eye",
            "the eye leaves too little of the spring beside it",
            given=f"eye {hook.eye.text} in a spring {hook.spring_width.text} wide",
            allowed=f"at most {_most(most, unit)}, {EYE_SHARE:g} of the width (common practice, no source)",
            fix="make the eye narrower",
        )
    if wide <= 0 or wide > head.thickest + AS_GIVEN:
        table.note(
            "eye",
            "the head does not give a hook that fills the spring's eye",
            allowed=f"more than {show_fine(EYE_PLAY[1], unit)}, up to {show_fine(head.thickest + EYE_PLAY[1], unit)}, "
            f"for a head {head.diameter_a.text} thick",
            fix="make the head thicker, or the eye narrower",
        )


def _check_lock(table: Table, hook: HookAsked, shank: Section, unit: str) -> None:
    """Check that what locks the screw is also what stops it."""
    longer, bottom = shank.length > hook.deep + AS_GIVEN, math.inf if hook.through else hook.deep
    deep = f"shank {shank.length.text}, full thread {show_fine(hook.deep, unit, trim=True)} deep from the flat on"
    given = "the hole goes through" if hook.through else deep
    if hook.locked_by == "peening" and not (hook.through and longer):
        table.note("locked_by", "a screw is peened over where its end comes out on the other side",
                   allowed=f"through = true, and a shank longer than {show_fine(hook.body - hook.flat, unit)}",
                   fix='say shoulder or bottom, or make the shank longer')  # fmt: skip
    if hook.locked_by == "bottom" and not shank.length > bottom + AS_GIVEN:
        table.note("locked_by", "the shank does not reach the bottom of its hole", given=given,
                   allowed="a blind hole less deep than the shank is long",
                   fix="make the shank longer, or say shoulder")  # fmt: skip
    if hook.locked_by == "shoulder" and shank.length > bottom - AS_GIVEN:
        table.note("locked_by", "the shank bottoms in its hole before the head seats", given=given,
                   allowed=f"full thread deeper than {shank.length.text} from the flat on",
                   fix="deepen the hole, shorten the shank, or say bottom")  # fmt: skip


def _check_home(table: Table, hook: HookAsked, screwed: Screwed, shank: Section, unit: str) -> None:
    """Check that nothing between thread and head that is too thick for the hole has to go into it."""
    undercut = undercut_at(shank.corner_a if shank.corner_b is None else shank.corner_b)
    wide = 0.0 if undercut is None else float(undercut.width)
    outside = shank.length - hook.deep if hook.locked_by == "bottom" else 0.0
    plain = shank.length - screwed.threaded - max(wide, outside)
    if shank.length - screwed.threaded - wide <= AS_GIVEN or plain <= AS_GIVEN:
        return
    until = "its undercut" if undercut else "the head"
    size = show_fine(plain, unit, trim=True)
    fix = "leave threaded_length out, so that the thread runs to the undercut; or make the undercut wider"
    if undercut is None:
        wide = max(TOOL_WIDTH * screwed.thread.pitch, LEAST_WIDTH)
        asked = f"undercut {_up(wide, unit)} wide {_up(screwed.depth, unit)} deep"
        fix = f'let it run into an undercut at the head: "{asked}" or more'
    table.note(
        "locked_by",
        "the screw does not go home: what is plain behind its thread does not enter the hole",
        given=f"{size} between thread and {until}, {shank.diameter_a.text} thick",
        allowed=f"thread up to {until}, or less than {_most(screwed.thread.minor, unit)} thick there, the hole's bore",
        fix=fix,
    )
