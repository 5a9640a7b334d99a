"""The second setting of a part, from what the first one really left, and the shoulders from which spans count."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import PurePath

from cam.ground.problem import ProblemError, Where
from cam.lengths.solved import Measured, Solved, second_view
from cam.part.features import End
from cam.part.spans import Span
from cam.setting.aims import Aims, aim_diameters
from cam.setting.between import settle_between
from cam.setting.model import Setting
from cam.setting.order import Share, other
from cam.setting.words import say
from cam.shop.model import Shop


def spanned(part: Solved, measured: Measured, setting: Setting) -> Iterator[str]:
    """Yield the sections turned in a setting whose far shoulder a span counts from or to."""
    yield from dict.fromkeys(name for name, _ in spans_at(part, measured, setting))


def spans_at(part: Solved, measured: Measured, setting: Setting) -> Iterator[tuple[str, Span]]:
    """Yield each section turned in a setting whose far shoulder a span counts from or to, with that span."""
    names = [s.name for s in part.sections]
    toward = 1 if setting.end == "A" else -1
    for turned in setting.turned:
        at = names.index(turned.section.name) + toward
        if _is_undercut(part, at):
            at += toward
        if turned.far_kind == "shoulder" and 0 <= at < len(names):
            ends = ((s, s.first if setting.end == "A" else s.last) for s in measured.spans)
            yield from ((turned.section.name, span) for span, end in ends if end == names[at])


def _is_undercut(part: Solved, at: int) -> bool:
    """Tell whether there is a section at a place, and it is an undercut."""
    return 0 <= at < len(part.sections) and part.sections[at].role == "undercut"


def second_setting(
    part: Solved, measured: Measured, shop: Shop, aims: Aims, first: Setting, share: Share
) -> tuple[Setting, ...]:
    """Return the second setting, from what the first really left; none while a length of it is to be measured."""
    late = second_view(part, other(first.end), faces_left(part, first))
    if late.to_be_measured:
        return ()
    real = measured.diameters
    here = {part.sections[i].name for i in share[0]}
    recorded = real.keys() & here
    known = {i: real[s.name] for i, s in enumerate(late.sections) if s.name in recorded}
    apart, problems = aim_diameters(late, shop, known)
    drilled = {first.end: first.hole, other(first.end): first.head_hole}
    settings, more = settle_between(late, shop, apart, first.end, share, measured.cut_faces, drilled)
    if problems or more:
        raise ProblemError((*problems, *more))
    again = [r for r in apart.reasons if r not in aims.reasons]
    return tuple(replace(s, reasons=(*_tell_real(measured, part, here), *again, *s.reasons)) for s in settings[1:])


def faces_left(part: Solved, first: Setting) -> tuple[int, ...]:
    """Return the faces that exist after the first setting: both ends, and every shoulder it turned, from its end on."""
    names = [s.name for s in part.sections]
    found = {0, len(names)}
    toward = 1 if first.end == "A" else -1
    for turned in first.turned:
        if turned.far_kind != "shoulder":
            continue
        at = names.index(turned.section.name) + (1 if toward > 0 else 0)
        beside = at if toward > 0 else at - 1
        found.add(at)
        if _is_undercut(part, beside):
            found.add(at + toward)
    return tuple(sorted(found, reverse=first.end == "B"))


def _tell_real(measured: Measured, part: Solved, here: Iterable[str]) -> Iterator[str]:
    """Yield what was recorded of setting 1, as a reason for this setting."""
    used = [a for a in measured.actuals if a.target.of in here]
    if used:
        sizes = "; ".join(f"{a.name} {a.text} ({_line(a.where)})" for a in used)
        yield f"Planned from what setting 1 really left, as recorded: {sizes}."
    taken = [m for m in measured.measurements if m.after and m.taken]
    for m in taken:
        count = f"mean of {len(m.readings)} readings" if len(m.readings) > 1 else "one reading"
        line = _line(m.readings[0].where)
        yield f'"{m.name}" was recorded after setting 1: {say(m.distance, part)}, {count} ({line}).'


def _line(where: Where) -> str:
    """Name a line of the log by the file's name alone, so that the plan says the same wherever its folder stands."""
    return str(replace(where, path=PurePath(where.path).name))


def second_end(settings: Sequence[Setting]) -> End:
    """Return the end that is turned second, or in a collet or chuck the free one."""
    first = settings[0]
    return first.end if first.chuck is not None else other(first.end)
