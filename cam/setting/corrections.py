"""Last cuts corrected by what was read at the gauging stops before them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from cam.geometry.path import Chain, Line, Segment, shift
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.ground.units import is_inch, show_fine
from cam.lengths.journal import how_to_withdraw
from cam.lengths.records import READ, Actual
from cam.lengths.solved import Solved
from cam.setting.assemble import find_limit, nose_radii
from cam.setting.cone import lean
from cam.setting.held import redraw
from cam.setting.model import NOT_CORRECTED, Correction, Setting, Turned
from cam.setting.outline import Pen, behind, surface_behind, turn_round
from cam.setting.profiles import draw_least, draw_most, with_rounds
from cam.setting.words import quoted
from cam.shop.model import Shop

LEAST_ROOM = 0.01
"""The least length, radius and step that a corrected section keeps, mm."""


def correct(part: Solved, shop: Shop, setting: Setting, stops: Sequence[Actual], problems: list[Problem]) -> Setting:
    """Return the setting with its last cuts corrected by what was read at the stops before them.

    The outlines by which the program is checked are moved with them: they are what it must say so that the work
    comes out as wanted.
    """
    corrections = _corrections(part, setting.turned, stops, problems)
    if not corrections:
        return setting
    said = tuple(correct_turned(setting.turned, corrections))
    if wrong := list(_check_room(part, setting, said, stops)):
        problems += wrong
        return setting
    off = max((abs(c.radius) for c in corrections if c.section == said[-1].section.name), default=0.0)
    limit = min(setting.limit_z, find_limit(said[-1], nose_radii(shop)[1]))
    faces = setting.turned[-1].far, said[-1].far
    stock, fullest = (_carry_on(chain, *faces) for chain in (setting.stock, setting.fullest))
    setting = replace(
        setting,
        stock=stock,
        fullest=fullest,
        corrections=corrections,
        limit_z=limit,
        least=draw_least(lean(_beyond(said, off), setting.cone), stock, limit),
        most=draw_most(
            with_rounds(lean(_beyond(said, -off), setting.cone), setting.turned), fullest, limit, setting.hollow
        ),
    )
    return redraw(part, shop, setting, said)[0]


def _beyond(said: tuple[Turned, ...], by: float) -> tuple[Turned, ...]:
    """Return sections of which the edge beyond the last shoulder is larger by so much, mm; smaller where negative.

    That edge is of metal that no stop has read: it comes out as far off in X as the tool is.
    """
    last = said[-1]
    if last.far_edge is None or last.far_edge.kind == "sharp" or not by:
        return said
    size = min(last.far_edge.size + by, last.far_radius - last.radius_far)
    return (*said[:-1], replace(last, far_edge=replace(last.far_edge, size=size) if size > 0.0 else None))


def _corrections(
    part: Solved, turned: Sequence[Turned], stops: Sequence[Actual], problems: list[Problem]
) -> tuple[Correction, ...]:
    """Return the corrections in the order of the sections; those that meet at one size are corrected as one."""
    found: dict[int, Correction] = {}
    for at, one in enumerate(turned):
        own = [s for s in stops if s.target.of == one.section.name]
        if own:
            problems += _check_stops(part, one, [turned[i] for i in _run(turned, at, tapers=False)], own)
            found[at] = _correction(one, own)
    everywhere = [found.get(at) or _from_others(turned, at, found) for at in range(len(turned))]
    return tuple(c for c in everywhere if c is not None)


def _from_others(turned: Sequence[Turned], at: int, found: Mapping[int, Correction]) -> Correction | None:
    """Return the correction of a section by what was read of another that meets it at one size; None without one."""
    own = [i for i in _run(turned, at, tapers=False) if i in found]
    source = next((found[i] for i in (*own, *_run(turned, at)) if i in found), None)
    if source is None:
        return None
    face = 0.0 if _goes_on(turned, at) else source.face
    return replace(source, section=turned[at].section.name, face=face, along="" if own else source.section)


def _carry_on(stock: Chain, wanted: float, said: float) -> Chain:
    """Return stock with the surface behind the last face carried on to where the program must say that face.

    What the other setting's tool left before that face, past which it ran, lies as far before it as it really does; no
    edge is cut by that.

    Args:
        wanted, said: Z of the face as wanted, and as the program must say it, mm.
    """
    by = said - wanted
    if by <= 0:
        return stock
    surface, rest = surface_behind(stock, wanted), behind(stock, wanted)
    before = turn_round(behind(turn_round(stock, 0.0), -wanted), 0.0)
    bar = max((n for n, p in enumerate(before) if _is_bar(p, by, surface.radius)), default=None)
    pen = Pen(*before[0].start)
    if bar is None:
        pen.run(turn_round(behind(turn_round(stock, 0.0), -said), 0.0))
    else:
        pen.run(before[:bar])
        pen.line(before[bar].end.z + by, before[bar].end.x)
        pen.run(shift(before[bar + 1 :], by, 0.0))
    pen.line(said, surface.radius - surface.growth * by)
    pen.line(wanted, surface.radius)
    pen.follow(rest)
    return tuple(pen.pieces)


def _is_bar(piece: Segment, by: float, radius: float) -> bool:
    """Tell whether a piece of an outline is a cylinder of another radius than one, mm, and longer than `by`."""
    begin, end = piece.start, piece.end
    level = isinstance(piece, Line) and begin.x == end.x and abs(end.x - radius) > ROUNDING
    return level and begin.z - end.z > by + ROUNDING


def _run(turned: Sequence[Turned], at: int, *, tapers: bool = True) -> range:
    """Return the places of the sections that go on at one size from this one; without tapers, measured as one."""

    def goes_on(i: int) -> bool:
        return _goes_on(turned, i) and (tapers or not (turned[i].is_taper or turned[i + 1].is_taper))

    low = high = at
    while low > 0 and goes_on(low - 1):
        low -= 1
    while high + 1 < len(turned) and goes_on(high):
        high += 1
    return range(low, high + 1)


def _goes_on(turned: Sequence[Turned], at: int) -> bool:
    """Tell whether the next section begins at the size at which one ends, a groove between them or not.

    The last cut of the one behind then goes over both.
    """
    one, beyond = turned[at], turned[at + 1] if at + 1 < len(turned) else None
    same = beyond is not None and abs(beyond.radius_near - one.radius_far) <= ROUNDING
    return one.far_kind == "level" or (same and abs(one.far_radius - one.radius_far) <= ROUNDING)


def along_with(turned: Sequence[Turned], name: str) -> list[str]:
    """Return the names of the sections that go along with a diameter read at another's stop, and have their own."""
    at = next(i for i, t in enumerate(turned) if t.section.name == name)
    own = _run(turned, at, tapers=False)
    return [turned[i].section.name for i in _run(turned, at) if i not in own]


def correct_turned(turned: Sequence[Turned], corrections: Iterable[Correction]) -> Iterator[Turned]:
    """Yield sections as the program must say them; a taper goes on along its own line to a face that is moved."""
    by_name = {c.section: c for c in corrections}
    before = 0.0
    for t, beyond in zip(turned, (*turned[1:], None), strict=True):
        own = by_name.get(t.section.name, NOT_CORRECTED)
        radius_far = t.radius_far - own.radius + _growth(t) * own.face
        far_radius = radius_far
        if t.far_kind == "shoulder" and beyond is None:
            far_radius = t.far_radius
        elif t.far_kind == "shoulder" and beyond is not None:
            after = by_name.get(beyond.section.name, NOT_CORRECTED)
            far_radius = t.far_radius - after.radius + _growth(beyond) * own.face
        yield replace(
            t,
            near=t.near - before,
            far=t.far - own.face,
            radius_near=t.radius_near - own.radius + _growth(t) * before,
            radius_far=radius_far,
            far_radius=far_radius,
        )
        before = own.face


def _growth(turned: Turned) -> float:
    """Return by how much a section's radius grows for each mm toward the headstock."""
    return (turned.radius_far - turned.radius_near) / (turned.near - turned.far)


def _correction(turned: Turned, stops: Iterable[Actual]) -> Correction:
    """Return the correction of a section; what is within its limits already is gone over once more, and not cut."""
    radius = face = 0.0
    words = []
    for stop in stops:
        more = stop.value + max(-_left(turned, stop), 0.0) * _way(turned, stop) - stop.expected
        words.append(f"{_as_read(stop, stop.value)} for {_as_read(stop, stop.expected)}")
        if stop.target.what == "stop diameter":
            radius = more / 2
        else:
            face = math.copysign(more, more * turned.far)
    return Correction(section=turned.section.name, radius=radius, face=face, text=" and ".join(words))


def _wanted(turned: Turned, stop: Actual) -> float:
    """Return what a stop would read once the last cut is made, mm."""
    return 2 * turned.radius_far if stop.target.what == "stop diameter" else abs(turned.far)


def _way(turned: Turned, stop: Actual) -> int:
    """Return 1 where the last cut makes what a stop reads less, otherwise -1."""
    return -1 if stop.target.what == "stop shoulder" and turned.far < 0 else 1


def _left(turned: Turned, stop: Actual) -> float:
    """Return what a reading leaves for the last cut, mm, both sides of a diameter; negative if it is past its aim."""
    return (stop.value - _wanted(turned, stop)) * _way(turned, stop)


def _check_stops(
    part: Solved, turned: Turned, run: Sequence[Turned], stops: Iterable[Actual]
) -> Iterator[Problem]:  # fmt: skip
    """Check that something is left for the last cut, or that it is within its limits already; run: turned as one."""
    for stop in stops:
        aim = _wanted(turned, stop)
        limits = [t.size_limits for t in run] if stop.target.what == "stop diameter" else [turned.far_limits]
        known = [both for both in limits if both is not None] or [(aim - READ, aim + READ)]
        least, most = max(low for low, _ in known), min(high for _, high in known)
        within = least - ROUNDING <= stop.value <= most + ROUNDING
        if _left(turned, stop) <= 0 and not within:
            yield Problem(
                where=stop.where,
                what=f'nothing is left for the last cut on "{turned.section.name}"',
                given=f"{stop.name} {stop.text}",
                allowed=f"{'more' if _way(turned, stop) > 0 else 'less'} than {_as_read(stop, aim)}",
                fix="measure again and record that; if it is so, record it with --zero, and check its limits; "
                + how_to_withdraw(part.path, [stop.where]),
            )


def _as_read(stop: Actual, mm: float) -> str:
    """Show a length in the unit in which the stop was read."""
    unit: Literal["mm", "in"] = "in" if is_inch(stop.text) else "mm"
    return show_fine(mm, unit, trim=True)


def _check_room(part: Solved, setting: Setting, said: Sequence[Turned], stops: Iterable[Actual]) -> Iterator[Problem]:
    """Check that a corrected section keeps some of its length, of its diameter, and of the step in which it ends."""
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
    what = f"the last cut would be corrected so far that nothing is left of {quoted(sorted(broken))}"
    given = f"{stop.name} {stop.text}, {_as_read(stop, stop.expected)} expected"
    fix = f"check its unit and point, and record it again; {how_to_withdraw(part.path, [stop.where])}"
    yield problem(stop.where, what, given, "what a zero can be off by", fix)
