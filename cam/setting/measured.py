"""Settings of a part whose lengths were measured: the first by what was known before it, the second by what it left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import PurePath
from typing import Literal

from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.units import is_inch, show_length
from cam.lengths.behind import tell_records
from cam.lengths.journal import how_to_withdraw
from cam.lengths.records import Actual
from cam.lengths.whole import Measured, first_view, measured_of, second_view
from cam.part.features import End
from cam.part.model import Part
from cam.setting.aims import Aims, aim_diameters
from cam.setting.assemble import find_limit, nose_radii
from cam.setting.between import settle_between
from cam.setting.cone import lean
from cam.setting.held import redraw, settle_held
from cam.setting.model import Correction, Setting, Turned
from cam.setting.order import Share, other
from cam.setting.profiles import draw_least, draw_most
from cam.setting.settle import choose_order
from cam.setting.words import quoted, say
from cam.shop.model import Shop

LEAST_ROOM = 0.01
"""Least length, radius and step that a corrected section keeps, mm."""


def settle_measured(part: Part, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    """All settings in the order of work; only the first while a length of the second is to be measured.

    Raises:
        ProblemError: everything that stands against holding and turning the part so, at once.
    """
    measured = measured_of(part)
    assert measured is not None
    try:
        return _settle_all(part, measured, shop, aims)
    except ProblemError as found:
        raise ProblemError(tell_records(part, measured, found.problems)) from None


def _settle_all(part: Part, measured: Measured, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    if part.holding.method != "between centres":
        settings = _settle_held(part, shop, aims)
    else:
        early = {"A": first_view(part, "A"), "B": first_view(part, "B")}
        tried = choose_order(early["B"], shop, aims, early.__getitem__)
        if tried.problems:
            raise ProblemError(tried.problems)
        first, *rest = tried.settings
        first = replace(first, reasons=(*tried.reasons, *first.reasons, *aims.reasons))
        settings = (first, *rest)
        if measured.changes and tried.share[1]:
            settings = (first, *_second(part, measured, shop, aims, first, tried.share))
    settings = tuple(replace(s, spanned=tuple(_spanned(part, measured, s))) for s in settings)
    if shop.lathe.control.kind != "stepper":
        return settings
    problems: list[Problem] = []
    settings = tuple(_correct(part, shop, s, measured.stops, problems) for s in settings)
    if problems:
        raise ProblemError(problems)
    return settings


def _spanned(part: Part, measured: Measured, setting: Setting) -> Iterator[str]:
    """The sections turned in a setting whose far shoulder a span counts from or to."""
    names = [s.name for s in part.sections]
    toward = 1 if setting.end == "A" else -1
    faces = {span.first if setting.end == "A" else span.last for span in measured.spans}
    for turned in setting.turned:
        at = names.index(turned.section.name) + toward
        if 0 <= at < len(names) and part.sections[at].role == "undercut":
            at += toward
        if turned.far_kind == "shoulder" and 0 <= at < len(names) and names[at] in faces:
            yield turned.section.name


def _settle_held(part: Part, shop: Shop, aims: Aims) -> tuple[Setting, ...]:
    """Settle a part in a collet or chuck: there is one setting, so nothing can be measured after it."""
    view = first_view(part, part.holding.first or "A")
    if missing := view.to_be_measured:
        raise ProblemError(
            [
                Problem(
                    where=part.holding.where,
                    what=f"in a {part.holding.method} there is one setting, and {quoted(missing)} is to be measured",
                    fix="take the measurement first and give its value, or turn the part between centres",
                )
            ]
        )
    settings, problems = settle_held(view, shop, aims)
    if problems:
        raise ProblemError(problems)
    return tuple(replace(s, reasons=(*s.reasons, *aims.reasons)) for s in settings)


def _second(
    part: Part, measured: Measured, shop: Shop, aims: Aims, first: Setting, share: Share
) -> tuple[Setting, ...]:
    """The second setting, from what the first really left; nothing while a length of it is to be measured."""
    late = second_view(part, other(first.end), faces_left(part, first))
    if late.to_be_measured:
        return ()
    real = measured.diameters
    here = {part.sections[i].name for i in share[0]}
    known = {i: real[s.name] for i, s in enumerate(late.sections) if s.name in real and s.name in here}
    apart, problems = aim_diameters(late, shop, known)
    cut = {n for a in measured.actuals for n in (a.target.start, a.target.end) if n >= 0}
    settings, more = settle_between(late, shop, apart, first.end, share, cut)
    if problems or more:
        raise ProblemError((*problems, *more))
    again = [r for r in apart.reasons if r not in aims.reasons]
    return tuple(replace(s, reasons=(*_tell_real(measured, part, here), *again, *s.reasons)) for s in settings[1:])


def faces_left(part: Part, first: Setting) -> frozenset[int]:
    """Faces that exist after the first setting, counted from the A end: both ends, and every shoulder it turned."""
    names = [s.name for s in part.sections]
    found = {0, len(names)}
    toward = 1 if first.end == "A" else -1
    for turned in first.turned:
        if turned.far_kind != "shoulder":
            continue
        at = names.index(turned.section.name) + (1 if toward > 0 else 0)
        beside = at if toward > 0 else at - 1
        found.add(at)
        if 0 <= beside < len(names) and part.sections[beside].role == "undercut":
            found.add(at + toward)
    return frozenset(found)


def _tell_real(measured: Measured, part: Part, here: Iterable[str]) -> Iterator[str]:
    """What of setting 1 was recorded, as a reason for this setting."""
    used = [a for a in measured.actuals if a.target.of in here]
    if used:
        sizes = "; ".join(f"{a.name} {a.text} ({_line(a.where)})" for a in used)
        yield f"Planned from what setting 1 really left, as recorded: {sizes}."
    taken = [m for m in measured.measurements if m.after and m.taken]
    for m in taken:
        count = f"mean of {len(m.readings)} readings" if len(m.readings) > 1 else "one reading"
        line = _line(m.readings[0].where)
        yield f'"{m.name}" was recorded after setting 1: {say(m.distance, part)}, {count} ({line}).'


# Gauging stops --------------------------------------------------------------------------------------------


def _line(where: Where) -> str:
    """A line of the log by the file's name alone, so that the plan says the same wherever its folder stands."""
    return str(replace(where, path=PurePath(where.path).name))


def _correct(part: Part, shop: Shop, setting: Setting, stops: Sequence[Actual], problems: list[Problem]) -> Setting:
    """The setting with its last cuts corrected by what was read at the stops before them.

    The outlines that the program is judged by are moved with them: they are what it must say so that the work
    comes out as wanted.
    """
    found: dict[int, Correction] = {}
    for at, turned in enumerate(setting.turned):
        own = [s for s in stops if s.target.of == turned.section.name]
        if own:
            problems += _check_stops(part, turned, own)
            found[at] = _correction(part, turned, own)
    if not found:
        return setting
    for at in range(len(setting.turned)):  # sections turned as one are corrected as one
        run = _run(setting.turned, at)
        if at not in found and any(i in found for i in run):
            source = next(found[i] for i in run if i in found)
            last = setting.turned[at].far_kind != "level"
            found[at] = replace(source, section=setting.turned[at].section.name, face=source.face if last else 0.0)
    corrections = tuple(found[at] for at in sorted(found))
    said = tuple(correct_turned(setting.turned, corrections))
    if wrong := list(_check_room(part, setting, said, stops)):
        problems += wrong
        return setting
    limit = min(setting.limit_z, find_limit(said[-1], nose_radii(shop)[1]))
    setting = replace(
        setting,
        corrections=corrections,
        limit_z=limit,
        least=draw_least(lean(said, setting.cone), setting.stock, limit),
        most=draw_most(lean(said, setting.cone), setting.fullest, limit, setting.hollow),
    )
    return redraw(part, shop, setting, said)[0]


def _run(turned: Sequence[Turned], at: int) -> range:
    """Places of the sections that are turned in one go with this one."""
    low = high = at
    while low > 0 and turned[low - 1].far_kind == "level":
        low -= 1
    while high + 1 < len(turned) and turned[high].far_kind == "level":
        high += 1
    return range(low, high + 1)


def correct_turned(turned: Sequence[Turned], corrections: Iterable[Correction]) -> Iterator[Turned]:
    """Sections as the program must say them."""
    by_name = {c.section: c for c in corrections}
    none = Correction(section="", radius=0.0, face=0.0, text="")
    before = none
    for at, t in enumerate(turned):
        own = by_name.get(t.section.name, none)
        after = by_name.get(turned[at + 1].section.name, none) if at + 1 < len(turned) else none
        far_radius = t.far_radius - (after.radius if t.far_kind == "shoulder" else own.radius)
        yield replace(
            t,
            near=t.near - before.face,
            far=t.far - own.face,
            radius_near=t.radius_near - own.radius,
            radius_far=t.radius_far - own.radius,
            far_radius=far_radius,
        )
        before = own


def _correction(part: Part, turned: Turned, stops: Iterable[Actual]) -> Correction:
    radius = face = 0.0
    words = []
    for stop in stops:
        more = stop.value - stop.expected
        words.append(f"{say(stop.value, part)} for {say(stop.expected, part)}")
        if stop.target.what == "stop diameter":
            radius = more / 2
        else:
            face = math.copysign(more, more * turned.far)
    return Correction(section=turned.section.name, radius=radius, face=face, text=" and ".join(words))


def _check_stops(part: Part, turned: Turned, stops: Iterable[Actual]) -> Iterator[Problem]:
    """Something must be left for the last cut."""
    for stop in stops:
        wanted = 2 * turned.radius_far if stop.target.what == "stop diameter" else abs(turned.far)
        left = stop.value - wanted
        if stop.target.what == "stop shoulder" and turned.far < 0:
            left = -left
        if left <= 0:
            more = "more" if turned.far > 0 or "diameter" in stop.name else "less"
            yield Problem(
                where=stop.where,
                what=f'nothing is left for the last cut on "{turned.section.name}"',
                given=f"{stop.name} {stop.text}",
                allowed=f"{more} than {_as_read(stop, wanted)}",
                fix="measure again and record that; if it is so, it is past its size: note it, and check its limits; "
                + how_to_withdraw(part.path, [stop.where]),
            )


def _as_read(stop: Actual, mm: float) -> str:
    """A length in the unit in which the stop was read."""
    unit: Literal["mm", "in"] = "in" if is_inch(stop.text) else "mm"
    return show_length(mm, unit, 4 if unit == "in" else 3, trim=True)


def _check_room(part: Part, setting: Setting, said: Sequence[Turned], stops: Iterable[Actual]) -> Iterator[Problem]:
    """A corrected section keeps some of its length, of its diameter, and of the step that it ends in."""
    broken = {
        t.section.name
        for t, was in zip(said, setting.turned, strict=True)
        if min(t.near - t.far, t.radius_near, t.radius_far) < LEAST_ROOM
        or (t.far_kind == "shoulder" and t.far_radius - t.radius_far < min(LEAST_ROOM, was.far_radius - was.radius_far))
    }
    here = {t.section.name for t in said}
    own = [s for s in stops if s.target.of in here]
    if not broken or not own:
        return
    stop = max(own, key=lambda s: abs(s.value - s.expected))
    yield Problem(
        where=stop.where,
        what=f"the last cut would be corrected so far that nothing is left of {quoted(sorted(broken))}",
        given=f"{stop.name} {stop.text}, {_as_read(stop, stop.expected)} expected",
        allowed="what a zero can be off by",
        fix=f"check its unit and point, and record it again; {how_to_withdraw(part.path, [stop.where])}",
    )


def second_end(settings: Sequence[Setting]) -> End:
    """The end that is turned second, or in a collet or chuck the free one."""
    first = settings[0]
    return first.end if first.chuck is not None else other(first.end)
