"""What a stop's reading means: what was expected there, what it changes, and what is to be done now."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from cam.ground.frozen import frozen
from cam.ground.problem import Problem, ProblemError, Where, refusal
from cam.ground.tolerances import ROUNDING
from cam.ground.units import is_inch, show_length
from cam.job import read_given, read_log
from cam.lengths import Solved, solve
from cam.lengths.records import READ, Actual, Target
from cam.part import read_asked
from cam.plan import Measure, Pass, SettingPlan, plan_job
from cam.setting import settle
from cam.setting.corrections import along_with
from cam.shop.model import Shop


@frozen
class PlannedStop:
    """A gauging stop as planned, whatever stops have read by now.

    Attributes:
        setting: the one whose stop it is. wanted: what is measured there, by hand with the figures of its page.
        before: the pass that it follows. last: the first of the passes that make the last cut on that section: a
            separate pass may face its shoulder.
        shop: shop file as read. others: names of other readings in this setting that correct last cuts.
        more: how much more than planned is expected by now, mm, as it goes along with what another stop read.
    """

    setting: SettingPlan
    wanted: Measure
    before: Pass
    last: Pass
    shop: Shop
    others: tuple[str, ...]
    more: float = 0.0


def find_stop(
    part_path: str, shop_path: str | None, target: Target, name: str, where: Where, piece: str = ""
) -> PlannedStop:  # fmt: skip
    """Return the stop that a reading belongs to. piece: name of one of several workpieces.

    Raises:
        ProblemError: there is no such stop in what is planned by now, or a file is wrong.
    """
    part, shop = read_given(part_path, shop_path, piece)
    plan = plan_job(_before_stops(part, part_path, shop, piece), shop)
    for planned in plan.settings:
        cuts = [cut for cut in planned.passes if target.of in cut.sections]
        found = _measured_at(cuts, "diameter" if target.what == "stop diameter" else "length")
        if found is None:
            continue
        before, wanted = found
        if shop.lathe.by_hand:
            from posts.pages.by_page import by_page

            wanted = by_page(plan, planned, before, wanted)
        last = next(cut for cut in cuts if cut.kind == "finish")
        others = tuple(_others_read(part, planned, target))
        return PlannedStop(setting=planned, wanted=wanted, before=before, last=last, shop=shop, others=others,
                           more=_along(part, shop, target, name))  # fmt: skip
    what = f'there is no gauging stop for "{name}" in what is planned by now'
    raise refusal(where, what, fix="see the stops in the summary")


def _others_read(part: Solved, planned: SettingPlan, target: Target) -> Iterator[str]:
    """Yield the names of what was read of the same kind at other sections of a setting."""
    here = {name for cut in planned.passes for name in cut.sections} - {target.of}
    for stop in part.measured.stops if part.measured is not None else ():
        if stop.target.of in here and stop.target.what == target.what:
            yield f'"{stop.name}"'


def _along(part: Solved, shop: Shop, target: Target, name: str) -> float:
    """Return how much larger a diameter is expected, mm, as its section goes along with another whose stop read so.

    It is zero where what other stops read cannot be corrected by: that is told where the part is made.
    """
    measured = part.measured
    if target.what != "stop diameter" or measured is None or not measured.stops:
        return 0.0
    others = replace(measured, records=tuple(r for r in measured.records if r.name != name))
    try:
        settings = settle(replace(part, measured=others), shop)
    except ProblemError:
        return 0.0
    return next((2 * c.radius for s in settings if (c := s.correction_of((target.of,))).along), 0.0)


def _before_stops(part: Solved, part_path: str, shop: Shop, piece: str) -> Solved:
    """Return a part as it is without what was read at stops."""
    log = read_log(part_path, piece)
    if log is None:
        return part
    unread = replace(log, standing=tuple(e for e in log.standing if e.kind != "stop reading"))
    return solve(read_asked(part_path), shop.noses, unread)


def _measured_at(cuts: Sequence[Pass], kind: str) -> tuple[Pass, Measure] | None:
    """Return the semi-finish after which something of this kind is measured, and what is."""
    return next(((c, m) for c in cuts if c.kind == "semi-finish" for m in c.measure if m.kind == kind), None)


def check_cut(actual: Actual, stop: PlannedStop) -> Iterator[Problem]:
    """Check that a reading by which a last cut is to be corrected does not show that the pass before hardly cut."""
    wanted = stop.wanted
    if actual.use != "last cut" or not _hardly_cut(actual, stop):
        return
    say, less = _lengths_in("in" if is_inch(actual.text) else "mm"), not _cut_lowers(wanted)
    yield Problem(
        where=actual.where,
        what=f'by "{actual.name}" pass {stop.before.number} hardly cut, and how far the tool is out is not known yet',
        given=f'"{actual.text}", {say(wanted.expected + stop.more)} expected',
        allowed=f"{'more' if less else 'less'} than {say(wanted.bare + stop.more)}",
        fix=f"record it with --zero, set the control as that says, cut pass {stop.before.number} again, measure anew",
    )


def _hardly_cut(actual: Actual, stop: PlannedStop) -> bool:
    """Tell whether a reading shows what stood before the pass that the stop follows.

    By hand that is what is nearer to what stood than to what it leaves, as the page has it.
    """
    wanted, sign = stop.wanted, 1 if _cut_lowers(stop.wanted) else -1
    if stop.shop.lathe.by_hand:
        return sign * (actual.value - wanted.halfway - stop.more) > ROUNDING
    return sign * (actual.value - wanted.bare - stop.more) >= -ROUNDING


def tell_reading(actual: Actual, stop: PlannedStop) -> list[str]:
    """Say what was expected, what it changes and what to do, a sentence or two a line."""
    say = _lengths_in("in" if is_inch(actual.text) else "mm")
    wanted = stop.wanted
    off = round(actual.value - actual.expected - stop.more, 9)
    verdict = f"{say(abs(off))} {'over' if off > 0 else 'under'}" if off else "just as expected"
    finished = f"expected {say(actual.expected + stop.more)}: {verdict}; "
    finished += f"when finished {say(wanted.least)} to {say(wanted.most)}"
    if stop.shop.lathe.by_hand:
        return [finished, *_by_hand(actual, stop, say)]
    if actual.use == "notebook":
        return [finished, *_by_the_program(actual, stop, say)]
    if actual.use == "zero" and off:
        return [finished, *_set_control(stop, off, again=_hardly_cut(actual, stop))]
    return [finished, *_left(actual, stop, say), *_what_now(actual, stop, off)]


def _by_hand(actual: Actual, stop: PlannedStop, say: Callable[[float], str]) -> list[str]:
    """Say what to do on a lathe worked by hand, where every reading is for the notebook."""
    if _hardly_cut(actual, stop):
        again = "correct as the page says at this MEASURE, cut it again, measure anew"
        return ["kept for the notebook", f"pass {stop.before.number} hardly cut: {again}"]
    if _cut_of(actual, stop) <= 0 and not _is_within(actual, stop):
        return [*_left(actual, stop, say), "kept for the notebook"]
    kept = "kept for the notebook; on the dial correct as the page says at this MEASURE, and go on"
    return [*_left(actual, stop, say), kept]


def _by_the_program(actual: Actual, stop: PlannedStop, say: Callable[[float], str]) -> list[str]:
    """Say what the program as it is will leave where a reading is for the notebook alone."""
    wanted = stop.wanted
    leaves = actual.value - (wanted.expected + stop.more - wanted.target)
    past = wanted.given and not wanted.least - ROUNDING <= leaves <= wanted.most + ROUNDING
    warned = ", past its limits: correct it at the control before going on" if past else ""
    leaves_it = f"it will leave {say(leaves)} in pass {stop.last.number}{warned}"
    return [f"kept for the notebook alone: no program is changed by it, and {leaves_it}"]


def _what_now(actual: Actual, stop: PlannedStop, off: float) -> list[str]:
    """Say what a reading changes that is so far off, mm, and what to do."""
    if not off:
        return [f"nothing is to be corrected: go on with pass {stop.last.number}"]
    letter, size = ("X", "diameter") if stop.wanted.kind == "diameter" else ("Z", "shoulder")
    if _cut_of(actual, stop) <= 0 and not _is_within(actual, stop):
        return [
            "if it reads so again, withdraw this record and record it with --zero: the last cut,",
            f"with {letter} set as that says, goes clear of what is past its size",
        ]
    lines = [
        f"make again and begin at pass {stop.last.number}, its N line; leave {letter} at the control set as it was,",
        "or the cut is corrected twice",
    ]
    if _cut_of(actual, stop) <= 0:
        return lines
    return [
        *lines,
        f"this puts right the {size} of {_put_right(stop)} alone: where other stops read as far off the same",
        f"way, the {letter} zero is off; record this with --zero instead: that puts right all that is still to be cut",
    ]


def _put_right(stop: PlannedStop) -> str:
    """Name the section of a stop, for a diameter with those that go on from it and go along."""
    name = stop.wanted.sections[-1]
    others = along_with(stop.setting.setting.turned, name) if stop.wanted.kind == "diameter" else []
    return " and ".join(filter(None, [", ".join([name, *others[:-1]]), *others[-1:]]))


def _left(actual: Actual, stop: PlannedStop, say: Callable[[float], str]) -> list[str]:
    """Say what this reading leaves for the last cut, and warn if that is thinner than the tool cuts for certain."""
    wanted, tool = stop.wanted, stop.last.tool
    cut, a_side, least = _cut_of(actual, stop), " a side" if wanted.kind == "diameter" else "", float(tool.minimum_cut)
    if cut <= 0 and _is_within(actual, stop):
        return [f"it is within its limits already: the last cut, pass {stop.last.number}, is to take nothing off it"]
    if cut <= 0:
        past = wanted.least - actual.value if _cut_lowers(wanted) else actual.value - wanted.most
        limit = f"under {say(wanted.least)}" if wanted.kind == "diameter" else "a shoulder that was cut too far"
        # a shoulder may be saved by one that is cut after it, a diameter by less of the stone, as its page says
        out = f"; if it is so, what the page says of {limit}" if wanted.given and past > ROUNDING else ""
        return [f"nothing is left for the last cut: measure again before anything is cut{out}"]
    lines = [f"the last cut, pass {stop.last.number}, is to take {say(cut)}{a_side}"]
    if cut < least - ROUNDING:
        lines.append(f"that is thinner than tool {tool.number}'s least cut, {say(least)}: it may rub and leave more")
    return lines


def _is_within(actual: Actual, stop: PlannedStop) -> bool:
    """Tell whether a reading lies within limits that somebody set, or else as near its aim as it is read."""
    wanted = stop.wanted
    least, most = (wanted.least, wanted.most) if wanted.given else (wanted.target - READ, wanted.target + READ)
    return least - ROUNDING <= actual.value <= most + ROUNDING


def _cut_lowers(wanted: Measure) -> bool:
    """Tell whether the next cut makes what is measured less: a diameter, or a shoulder that is faced toward Z 0."""
    return wanted.kind == "diameter" or wanted.scrap != "over"


def _cut_of(actual: Actual, stop: PlannedStop) -> float:
    """Return how deep a reading leaves the last cut, mm: a side of a diameter, along Z at a shoulder."""
    more = round(actual.value - stop.wanted.target, 9)
    if stop.wanted.kind == "diameter":
        return more / 2
    return -more if stop.wanted.scrap == "over" else more


def _set_control(stop: PlannedStop, off: float, *, again: bool) -> list[str]:
    """Say the number to set X or Z to at the control, as the control shows it, with the tool where it stands."""
    control = stop.shop.lathe.control
    say = _lengths_in(control.units)
    letter = "X" if stop.wanted.kind == "diameter" else "Z"
    go_on = f"go on with pass {stop.last.number}"
    if again:
        go_on = f"begin again at pass {stop.before.number}, its N line:\nit hardly cut, so measure there anew"
    here, to = stop.wanted.set_to(stop.setting.park, off, control.x_factor)
    lines = [
        f"kept as a zero that was off: no program is changed. At the stop {letter} reads {say(here)}:",
        f"set it to {say(to)}, the tool where it stands, and {go_on}",
        "all that is still to be cut is put right by it",
        "a control that takes no number while it stands: end the program, set it, begin again at that N line",
    ]
    if stop.others:
        lines.append(
            f"the program still corrects what {', '.join(stop.others)} read:\n"
            "where that is not cut yet, record it again with --notebook, or it is corrected twice"
        )
    return lines


def _lengths_in(unit: str) -> Callable[[float], str]:
    """Return how lengths are said, from mm."""
    return lambda mm: show_length(mm, unit, 5 if unit == "in" else 4, trim=True)
