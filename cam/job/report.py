"""What a verb answers to a person, as plain text. It prints nothing itself."""

from __future__ import annotations

import math
import re
import shlex
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

from cam.ground.figures import say_metal
from cam.ground.problem import printable
from cam.ground.units import show_fine, show_length
from cam.job import say_approach
from cam.job.mill import say_when
from cam.judge.report import say_tip_only
from cam.setting.words import quoted, say_time

if TYPE_CHECKING:
    from cam.job import Job, MillVerdict, Verdict, Work
    from cam.job.model import TextVerdict
    from cam.job.pages import PageVerdict
    from cam.judge.mill_result import MillSimulation
    from cam.judge.model import Approach, Simulation
    from cam.judge.sizes import Size
    from cam.lengths.solved import Solved
    from cam.lengths.span_report import SpanReport
    from cam.part.model import Section
    from cam.plan.model import SettingPlan
    from cam.plan.times import Times
    from cam.rs274.begin import Begun
    from cam.setting.model import Setting, Turned

WIDTH = 100
"""The longest line of prose, in characters."""
LEAD = 11
"""Width, in characters, of the column that says what a line is about."""

IN_AIR = {
    "stepper": "run it in air first, a hand on the stop,",
    "hand": "go through it in air first, by its page,",
}
CAUTION = "eye protection on; manual and shop rules go first"


def show_made(job: Job, folder: str, *, changed: bool) -> list[tuple[str, str]]:
    """Return what `make` answers: done or not, closest approach, time, next step, each with its first word."""
    from cam.lengths.sums import how_to_record

    open_ = job.part.to_be_measured
    waiting = (
        f"setting 1 may be cut; {quoted(open_)} is to be measured before the rest" if open_ else "all of it may be cut"
    )
    near = _with_place(job, job.closest)
    closest = f"{say_approach(near[1], job.part.unit, ())}, {near[0]}" if near else "nothing was cut"
    found = [
        ("in part" if open_ else "done", f"{folder}: {waiting}{'' if changed else '; as it was, nothing was written'}"),
        ("closest", "; ".join(filter(None, (closest, say_tip_only(job.tip_only))))),
        ("time", f"{_all_times(job, _times(job))}; handling not counted"),
        ("next", f"{IN_AIR[job.shop.lathe.control.kind]} {CAUTION}"),
    ]
    if open_:
        found.append(("then", f"turn setting 1, measure {quoted(open_)}, record it, make again:"))
        found += [("", how_to_record(shlex.quote(job.part.path), job.part, m)) for m in job.part.waiting]
    return found


def fold_made(said: Iterable[tuple[str, str]]) -> list[str]:
    """Return the answer's lines, the first words in a column of their own; a command to type is never broken."""
    return [row for lead, text in said for row in (_wrap(f"{lead:<9}", text) if lead else [f"{'':<9}{text}"])]


def show_more(job: Job, names: Iterable[str]) -> str:
    """Return what `make --more` adds: the files, each program by itself, spans, what was read from the log."""
    said = ["", *_wrap("files      ", "  ".join(names)), *_folded(_judged_lines(job)), *_measured_lines(job)]
    return "\n".join(said) + "\n"


def show_check(job: Job) -> str:
    """Return what `check` answers: the solved part, each setting, what the programs would do."""
    part = job.part
    stock = part.stock
    lines = [
        f"{part.name}",
        f"  {show_fine(part.length, part.unit)} long, from {stock.material} "
        f"{stock.diameter.text} diameter, {stock.length.text} long",
        "",
        *_table(
            ("section", "role", "from A", "to", "length", "diameter", "limits", "finish"),
            [_section_row(part, s) for s in part.sections],
        ),
    ]
    for work in job.works:
        lines += ["", *_setting_lines(part, work.planned)]
    lines += [*_mill_lines(job), "", *_folded(_judged_lines(job)), *_measured_lines(job)]
    return "\n".join(lines) + "\n"


def _measured_lines(job: Job) -> list[str]:
    """Return spans with what is to be expected of them, the log that was read, and what to measure next."""
    measured = job.part.measured
    if measured is None:
        return []
    from cam.lengths.figures import LengthFigures
    from cam.lengths.span_report import report_spans
    from cam.setting.measured import second_end
    from posts.pages.measured import next_steps

    lines = []
    for report in report_spans(job.part, second_end([p.setting for p in job.plan.settings])):
        lines += _wrap("span       ", _span_words(report, LengthFigures(job.part.unit).show))
    if measured.log is not None:
        used = [f"{r.name} {r.text} ({PurePath(r.where.path).name}:{r.where.line})" for r in measured.records]
        lines += _wrap("log        ", "; ".join(used) or f"nothing in {measured.log.files} can be used")
    for n, step in enumerate(next_steps(job.part)):
        lines += _wrap("           " if n else "next       ", step)
    return lines


def _span_words(report: SpanReport, say: Callable[[float], str]) -> str:
    """Say what is to be expected of a span, or what to do with one that is cut."""
    from cam.lengths.span_report import show_chance

    name, limits = report.span.name, report.limits
    if limits is None:
        return f'"{name}" is to be measured'
    low, high = (say(v) for v in limits.worst)
    words = (
        f'"{name}" {say(limits.length)}, end shake {say(limits.shake)}, worst case '
        f"{low} to {high}, within what is wanted: {show_chance(limits.chance.inside)}"
    )
    return words if report.verdict is None else f"{words}; {report.verdict.text}"


def show_verdict(verdict: Verdict) -> str:
    """Return what `simulate` answers of a program that may be cut, or what was measured of one that may not."""
    simulation, low, high = verdict.simulation, verdict.simulation.lowest, verdict.simulation.highest
    unit = verdict.part.unit
    ends = ((low.x, high.x), (low.z, high.z))
    x, z = (f"{show_fine(a, unit)} to {show_fine(b, unit)}" for a, b in ends)
    lines = _verdict_lines(
        verdict, simulation, _closest_of(simulation, verdict.path, verdict.part), f"X {x} radius, Z {z}"
    )
    for size in verdict.changes:
        name = f"{size.what} {'past' if size.what == 'shoulder' else 'of'} {size.section}"
        off = size.least if abs(size.least) > abs(size.most) else size.most
        came, aimed = size.wanted + off, size.wanted
        if size.what == "shoulder":  # its distance from Z zero
            came, aimed = abs(came), abs(aimed)
        lines += _wrap(
            "  changed    ",
            f"{name} comes out {show_fine(came, unit)}, {abs(1000 * off):.0f} um "
            f"{'over' if came > aimed else 'under'} the {show_fine(aimed, unit)} aimed at, within limits",
        )
    return "\n".join(lines) + "\n"


def _begun_lines(begun: Begun | None) -> list[str]:
    """Return where a program is begun, and what must stand there then, as its text says."""
    if begun is None:
        return []
    said = [printable(text) for text in begun.said]
    told = next((text for text in said if text.lower().startswith("begun here")), "")
    anew = next((text for text in said if re.search(r"\bset anew\b|\bdiameter\b", text, re.IGNORECASE)), "")
    told = told[len("begun here") :].lstrip(" :-") or "tool and belt as its stops say"
    lines = _wrap("  begun      ", f"on line {begun.line}, all before it done: {told}")
    if begun.reground:
        lines += _wrap("  tool       ", anew or "nothing is finished yet: set it anew as before the first start")
    return lines


def show_page_verdict(verdict: PageVerdict) -> str:
    """Return what `simulate` answers of a setting's page: rows read, sizes a hand reaches, the closest approach."""
    sheet, part = verdict.sheet, verdict.part
    unit = part.unit
    counts = Counter(type(step).__name__ for step in sheet.sheet.steps)
    read = ", ".join(f"{counts[kind]} {words}" for kind, words in _ROWS.items())
    lines = [f"{verdict.path}: {'may be worked by' if not verdict.problems else 'may NOT be worked by'}"]
    lines.append(f"  read       setting {sheet.sheet.number}: {read}")
    if sheet.simulation is not None:
        found = sheet.simulation
        lines += _closest_of(found, verdict.path, part)
        rows = []
        for size in sheet.reached:
            name = f"diameter of {size.name}" if size.of == "diameter" else f"shoulder past {size.name}"
            figures = (show_fine(mm, unit) for mm in (size.size, size.wanted, size.least, size.most))
            rows.append((name, *figures, f"{size.divisions:.2f}" if size.division else ""))
        lines += _table(("comes out", "at", "aim", "least", "most", "divisions off"), rows)
    return "\n".join(lines) + "\n"


_ROWS = {
    "CutRead": "rows of one dial and one stop", "PointsRow": "rows of points", "Other": "rows not cut by handle",
    "BandRead": "bands", "MeasureLine": "measures",
}  # fmt: skip
"""Each thing that a page has, in words."""


def show_mill_verdict(verdict: MillVerdict) -> str:
    """Return what `simulate --mill` answers of a program that may be cut, or what was measured of one that may not."""
    simulation, unit = verdict.simulation, verdict.part.unit
    ends = zip("XYZ", simulation.lowest, simulation.highest, strict=True)
    travel = ", ".join(f"{a} {show_fine(x, unit)} to {show_fine(y, unit)}" for a, x, y in ends)
    near = [f"  {line}" for line in _mill_near("closest", verdict.path, simulation, verdict.part)]
    return "\n".join(_verdict_lines(verdict, simulation, near, travel)) + "\n"


def _verdict_lines(
    verdict: TextVerdict, simulation: Simulation | MillSimulation, near: Sequence[str], travel: str
) -> list[str]:
    """Return what is said of a program of either machine; near: its closest approach."""
    return [
        f"{verdict.path}: {'may be cut' if not verdict.problems else 'may NOT be cut'}",
        *_begun_lines(verdict.begun),
        *near,
        f"  metal      {say_metal(simulation.gouge, simulation.uncut)}",
        f"  travel     {travel}",
        f"  time       {say_time(simulation.cutting_time)} cutting, {say_time(simulation.air_time)} in air; "
        "stops not counted",
    ]


def show_sizes(sizes: Iterable[Size], part: Solved) -> str:
    """Return what `simulate --backlash` answers: every size, and how far off the slides would leave it."""
    rows = []
    for size in sizes:
        past = size.what in ("shoulder", "undercut wall", "fillet")
        name = f"{size.what} {'past' if past else 'of'} {size.section}"
        errors = (_off(e) for e in (size.least, size.most))
        rows.append((name, show_fine(size.wanted, part.unit), *errors))
    note = "metal cut less metal wanted; the slides held against their backlash before the program, or not"
    return "\n".join([*_table(("would be cut", "wanted", "off from", "to"), rows), f"  {note}"]) + "\n"


def _off(error: float) -> str:
    """Show how far off a size is, signed, in whole micrometres."""
    micrometres = round(1000 * error)
    return f"{micrometres:+d} um" if micrometres else "within 1 um"


def _judged_lines(job: Job) -> list[str]:
    """Return closest approach, metal and times of every program."""
    times = _times(job)
    near, fixed = (_with_place(job, found) for found in (job.closest, job.closest_fixed))
    lines = _closest_lines(near, fixed, job.part, job.tip_only)
    for work, spent in zip(job.works, times, strict=True):
        simulation = work.simulation
        lines.append(
            f"setting {work.setting.number}  {say_time(simulation.cutting_time)} cutting, "
            f"{say_time(simulation.air_time)} in air, {say_time(spent.changes)} for "
            f"changes, stops not counted; {len(work.planned.passes)} passes, "
            f"{say_metal(simulation.gouge, simulation.uncut)}"
        )
    return [*lines, *_judged_mill(job), f"in all     {_all_times(job, times)}", *_roughing(times)]


def _judged_mill(job: Job) -> list[str]:
    """Return the same for each mill program, where it belongs in the job, and what is not planned yet."""
    if job.mill is None:
        return []
    lines = []
    for work in job.mill.works:
        s = work.simulation
        lines += _wrap(
            f"{work.name:<10} ",
            f"{say_time(s.cutting_time)} cutting, {say_time(s.air_time)} in air, stops not counted; "
            f"{say_metal(s.gouge, s.uncut)}; {say_when(job, work)}",
        )
        lines += _mill_near("", work.file, s, job.part)
    if job.mill.unplanned:
        lines += _wrap("mill       ", f"{' and '.join(job.mill.unplanned)} cannot be planned yet")
    return lines


def _mill_near(lead: str, file: str, simulation: MillSimulation, part: Solved) -> list[str]:
    """Return the closest approach of a program of the mill, with its line."""
    near = simulation.closest
    if near is None:
        return []
    distance = show_fine(near.distance, part.unit)
    return [f"{lead:<10} {distance}, {near.body} to the {near.obstacle}, {file}:{simulation.closest_line}"]


def _mill_lines(job: Job) -> list[str]:
    """Return what the mill makes, and how it is set up, for `check`."""
    lines: list[str] = []
    for work in job.milled:
        lines += ["", f"{work.file}: {work.title}", *_wrap("  when      ", say_when(job, work))]
        lines += [row for note in work.notes for row in _wrap("  - ", note)]
    return lines


def _times(job: Job) -> list[Times]:
    """Return the times of every setting."""
    from cam.plan.times import time_of

    return [time_of(work.planned, job.shop.lathe) for work in job.works]


def _all_times(job: Job, times: Sequence[Times]) -> str:
    """Say the times of all: cutting, air, changes."""
    from cam.plan.times import TOOL_CHANGE

    mill_tools = 0 if job.mill is None else job.mill.tool_changes
    judged = [*(w.simulation for w in job.works), *(w.simulation for w in job.milled)]
    cutting, air = (sum(getattr(s, what) for s in judged) for what in ("cutting_time", "air_time"))
    changes = sum(t.changes for t in times) + mill_tools * TOOL_CHANGE
    belts, tools = sum(t.belts for t in times), sum(t.tools for t in times) + mill_tools
    named = " and ".join(filter(None, (_counted(belts, "belt change"), _counted(tools, "tool change"))))
    more = f", {say_time(changes)} for {named}" if named else ""
    return f"{say_time(cutting)} cutting, {say_time(air)} in air{more}"


def _counted(number: int, what: str) -> str:
    """Say how many there are of a thing; "" for none."""
    return f"{number} {what}{'s' if number > 1 else ''}" if number else ""


def _roughing(times: Sequence[Times]) -> list[str]:
    """Say how roughing compares with the least time that it could take."""
    rough, bound = sum(t.rough for t in times), sum(t.bound for t in times)
    if not bound:
        return []
    saved = sum(max(t.saved, 0) for t in times)
    free = sum(t.freely if t.saved > 0 else t.rough for t in times)
    often = f"{saved} times more" if saved > 1 else "once more"
    more = f"; {free / bound:.2f} if the belt were moved {often}, that not counted" if saved else ""
    return [f"roughing   {rough / bound:.2f} times the least time possible{more}"]


def _closest_of(simulation: Simulation, path: str, part: Solved) -> list[str]:
    """Return the closest approach in one program or page, with its line, indented."""
    both = (simulation.closest, simulation.closest_fixed)
    near, fixed = ((f"{path}:{a.line}", a) if a is not None else None for a in both)
    return [f"  {line}" for line in _closest_lines(near, fixed, part, simulation.tip_only)]


def _with_place(job: Job, found: tuple[Work, Approach] | None) -> tuple[str, Approach] | None:
    return None if found is None else (job.say_place(found[0], found[1].line), found[1])


def _closest_lines(
    closest: tuple[str, Approach] | None, fixed: tuple[str, Approach] | None, part: Solved, tip_only: Sequence[int]
) -> list[str]:
    """Return the closest approach to anything and, where that is the work, to what holds it; each with its line.

    What was not checked follows on a line of its own.
    """
    found = [("closest", closest)]
    if fixed is not None and fixed != closest:
        found.append(("", fixed))
    lines = [f"{name:<10} {say_approach(near[1], part.unit, ())}, {near[0]}" for name, near in found if near]
    return [*lines, *(f"{'':<10} {words}" for words in [say_tip_only(tip_only)] if words)]


def _setting_lines(part: Solved, planned: SettingPlan) -> list[str]:
    setting, unit = planned.setting, part.unit
    rows = [_turned_row(part, t) for t in setting.turned]
    return [
        f"setting {setting.number}: the {setting.end} end is turned, {setting.method}",
        *_wrap("  datum     ", setting.datum_words),
        f"  held      {_held(setting, unit)}",
        f"  room      Z {show_fine(setting.limit_z, unit)} is the furthest the tool may cut",
        *_table(("section", "Z from", "to", "diameter aimed at", "beyond it"), rows),
        *(line for reason in (*setting.reasons, *planned.reasons) for line in _wrap("  - ", reason)),
    ]


def _held(setting: Setting, unit: str) -> str:
    driven = setting.carrier or setting.chuck
    words = [f"{driven.name} on {setting.grip}" if setting.carrier and driven else setting.grip]
    if setting.tail_centre is not None:
        hole = f" in a centre hole {setting.hole.designation}" if setting.hole else ""
        words.append(f"{setting.tail_centre.name}{hole} at the tailstock")
    if setting.protection:
        words.append(f"{show_length(setting.protection, unit, 3, trim=True)} of soft metal under the screw")
    return ", ".join(words)


def _section_row(part: Solved, section: Section) -> tuple[str, ...]:
    unit = part.unit
    both = [section.diameter_a, section.diameter_b]
    text = both[0].text if both[0] == both[1] else f"{both[0].text} to {both[1].text}"
    return (
        section.name,
        section.role,
        *("to be measured" if math.isnan(z) else show_fine(z, unit) for z in (section.start, section.end)),
        section.length.text,
        text,
        section.tolerance.text if section.tolerance else "-",
        section.finish.text,
    )


def _turned_row(part: Solved, turned: Turned) -> tuple[str, ...]:
    unit = part.unit
    near, far = (show_fine(2 * r, unit) for r in (turned.radius_near, turned.radius_far))
    beyond = {
        "shoulder": f"shoulder to {show_fine(2 * turned.far_radius, unit)}",
        "level": "next section, level",
        "open": "open",
    }
    return (
        turned.section.name,
        show_fine(turned.near, unit),
        show_fine(turned.far, unit),
        near if near == far else f"{near} to {far}",
        beyond[turned.far_kind],
    )


def _folded(lines: Iterable[str]) -> list[str]:
    """Fold lines that begin with a word or two in a column of their own; long ones are broken beside it."""
    return [row for line in lines for row in (_wrap(line[:LEAD], line[LEAD:]) if len(line) > WIDTH else [line])]


def _wrap(lead: str, text: str) -> list[str]:
    """Break text into lines of at most WIDTH characters, the first after lead, the others indented as far."""
    import textwrap

    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Set columns under their heads, two spaces apart."""
    widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    return [
        "  " + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in (head, *rows)
    ]
