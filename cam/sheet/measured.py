"""Whether a page measures all that is to be measured: what each section asks for, and what cannot be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from cam.ground.letters import known_by
from cam.ground.problem import Problem, problem_at
from cam.judge.envelope import Metal
from cam.part.features import BEARING_ROLES, fillet_of
from cam.setting.model import Setting, Turned
from cam.sheet.anvils import has_place
from cam.sheet.model import CutRead, Other, PointsRow, RowRead, Sheet
from cam.sheet.standing import (
    AT_FACE,
    EDGE,
    FACE,
    IN_ROUND,
    OVER_WIRES,
    Around,
    edges_past,
    least_z,
    levels_between,
    names_of,
    plain_between,
    shoulder_sizes,
    stands_before,
    where_measured,
)

TWICE = (*BEARING_ROLES, "seat")
"""Roles whose diameter is measured before the last cut and after it; any other is measured once."""
NEVER = ("square blank", "undercut")
"""Roles whose diameter nobody measures: what the mill takes away, and what nothing touches."""
LEAST_RING, BESIDE = 0.15, 0.05
"""A face is asked to be measured where so much of it, mm, stands above what is so far before it: half as much again as
a gauge finds. Common practice, no source."""
BEFORE = ("diameter", (True,))
WHEN = {(True, False): "among the rows", (True,): "before its last cut", (False,): "after its last cut"}


def check_measured(sheet: Sheet, setting: Setting, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Check that every diameter left as turned, and every shoulder with limits, is measured among the rows."""
    known = {t.section.name: t for t in setting.turned}
    seen = {(name, line.of, line.then) for line in sheet.measures for name in names_of(line.name, known)}
    first = sheet.rows[0].line if sheet.rows else 0
    for name, of, when in _to_measure(sheet, setting, around):
        if seen.isdisjoint((name, of, then) for then in when):
            named = name if of == "diameter" else f"shoulder past {name}"
            yield problem_at(sheet.path, first, f"does not measure {named} {WHEN[when]}", "", "a line MEASURE")


def _to_measure(
    sheet: Sheet, setting: Setting, around: Mapping[int, Around]
) -> Iterator[tuple[str, str, tuple[bool, ...]]]:
    """Yield section, size and time of all that is to be measured, but for threads over wires; see _needed."""
    over_wires = " ".join(line.name for line in sheet.measures if OVER_WIRES in line.name)
    slants = [t.is_taper for t in setting.turned]
    for t, edge, before_slant in zip(setting.turned, edges_past(setting.turned), [*slants[1:], False], strict=True):
        name = t.section.name
        if known_by(name) not in over_wires:
            late = before_slant or _is_hidden(t, edge, sheet, around)
            yield from ((name, of, when) for of, when in _asked(t, edge, sheet, around, late=late))


def _asked(
    turned: Turned, edge: float, sheet: Sheet, around: Mapping[int, Around], *, late: bool
) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Yield sizes and times that a section asks for, but for what is made already or lies in the nose's round."""
    for of, when in (*_needed(turned, edge, late=late), *_tapered(turned, sheet)):
        made = (of, when) == BEFORE and (_is_made(sheet, turned.section.name) or _is_sloped(turned, sheet, around))
        if not made and (of == "diameter" or not _is_rounded(turned, edge, sheet, around)):
            yield of, when


def _is_made(sheet: Sheet, name: str) -> bool:
    """Tell whether all rows of a section but the last take nothing off: the row of one as thick has made it.

    The last may take off what a dial leaves between the two.
    """
    rows = _rows_named(sheet, known_by(name))
    return bool(rows) and all(isinstance(r, Other) for r in rows)


def _is_sloped(turned: Turned, sheet: Sheet, around: Mapping[int, Around]) -> bool:
    """Tell whether nothing of a cylinder stands level before its last row: a taper's cut came in over it."""
    rows = [r for r in _rows_named(sheet, known_by(turned.section.name)) if r.line in around]
    if turned.is_taper or not rows:
        return False
    return next(levels_between(Metal(around[rows[-1].line].after), *plain_between(turned)), None) is None


def _is_hidden(turned: Turned, edge: float, sheet: Sheet, around: Mapping[int, Around]) -> bool:
    """Tell whether no row before a shoulder's last one leaves its face to be measured.

    It is lower than what such a row leaves of its section, or metal that only a fillet's cuts take off stands before,
    or it lies in the round of the nose. A row fed straight in leaves it right at its stop.
    """
    stood = _stood_before(known_by(turned.section.name), sheet, around)
    found = [(r, at) for r, metal in stood for at in _open_sizes(metal, turned, edge)]
    return bool(stood) and all(
        abs(at - abs(least_z(r))) > (AT_FACE if isinstance(r, CutRead) and not r.along else FACE) for r, at in found
    )


def _open_sizes(metal: Metal, turned: Turned, edge: float) -> list[float]:
    """Return where faces stand open at their rim and outside the nose's round, as distances from Z 0, mm."""
    if stands_before(metal, turned, edge):
        return []
    start = where_measured(metal, turned, edge)[1]
    before = [(at, math.copysign(at, turned.far) + BESIDE) for at in _square_sizes(metal, turned, edge)]
    return [at for at, z in before if z >= start or metal.highest(z, start) <= turned.far_radius - LEAST_RING]


def _square_sizes(metal: Metal, turned: Turned, edge: float) -> list[float]:
    """Return the distances from Z 0 of faces that are outside the nose's round where measured, mm."""
    level = where_measured(metal, turned, edge)[0]
    sizes = shoulder_sizes(metal, turned, edge)
    return [at for at in sizes if metal.at(math.copysign(at, turned.far) + IN_ROUND / 2) <= level]


def _is_rounded(turned: Turned, edge: float, sheet: Sheet, around: Mapping[int, Around]) -> bool:
    """Tell whether all that stands of a shoulder's face after its last row lies in the nose's round.

    What its undercut takes off that, later and by another tool, is measured with the finished part.
    """
    later = [r for r in _rows_named(sheet, f"undercut{known_by(turned.section.name)}") if r.line in around]
    done = [Metal(around[r.line].before) for r in later[:1]]
    done = done or ([Metal(around[max(around)].after)] if around else [])
    return any(shoulder_sizes(metal, turned, edge) and not _square_sizes(metal, turned, edge) for metal in done)


def _stood_before(name: str, sheet: Sheet, around: Mapping[int, Around]) -> list[tuple[RowRead, Metal]]:
    """Return the cuts on a shoulder's face but for the last row of it, with what stands after each.

    Where there are none, those on its section; where a hand skips these, as nothing would come off, its last one with
    what stands before it.
    """
    faced, along, last = (_rows_named(sheet, what) for what in (f"facepast{name}", name, f"{name}last"))
    for rows in (faced[:-1], along):
        if stood := [(r, Metal(around[r.line].after)) for r in rows if r.line in around]:
            return stood
    return [(r, Metal(around[r.line].before)) for r in last if r.line in around]


def _rows_named(sheet: Sheet, what: str) -> list[RowRead]:
    """Return the rows that are called so, as known_by has it, or one of whose sections, turned as one, is."""
    return [r for r in sheet.rows if what in map(known_by, (r.what, *r.what.split(" and ")))]


def _needed(turned: Turned, edge: float, *, late: bool) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Return what of a section is to be measured, and when: before the last cut (True), after it, or either.

    Args:
        edge: see edges_past. late: whether its shoulder's face comes with the last cut, as before a taper.
    """
    section = turned.section
    made = section.role not in NEVER and not {"file", "as stock"} & set(section.finish.route)
    if made and not turned.is_taper:
        times = ((True,), (False,)) if section.role in TWICE else ((True, False),)
        yield from (("diameter", when) for when in times)
    height = turned.far_radius - turned.radius_far - edge
    if turned.spare is not None and height > fillet_of(turned.corner) + 2 * EDGE:
        yield from (("shoulder", (then,)) for then in ((False,) if late else (True, False)))


def _tapered(turned: Turned, sheet: Sheet) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Return that a taper is measured before its last cut: where its first is set over, unless it cannot be."""
    name, made = turned.section.name, turned.section.role not in NEVER and "file" not in turned.section.finish.route
    first = [r for r in sheet.rows if isinstance(r, PointsRow) and r.way == "set over"]
    if made and any(names_of(r.what, {name: turned}) for r in first) and not _is_unmeasured(turned, sheet):
        yield "diameter", (True,)


def _is_unmeasured(turned: Turned, sheet: Sheet) -> bool:
    """Tell whether a page may say, and says, that no anvil reaches a taper."""
    said = any(turned.section.name in names_of(name, {turned.section.name: turned}) for name in sheet.unmeasured)
    return said and not has_place(turned)
