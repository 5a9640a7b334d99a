"""What stands at each row, compared with what the page says of it: was, cuts of air, and figures to measure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from cam.ground.frozen import Row
from cam.ground.problem import Problem, Where
from cam.judge.envelope import Metal, Piece, Removed, crest, height, lower, trough
from cam.part.features import BEARING_ROLES
from cam.setting.model import Setting, Turned
from cam.sheet.limits import ANGLE, cone_spare, said_turned, show, within_inward
from cam.sheet.model import CutRead, MeasureLine, PointsRow, Sheet
from cam.sheet.read import plain_name
from cam.sheet.thread import WIRES, hold_over_wires

THIN = 1e-3
"""Metal thinner than this, mm, counts as none."""
INWARD = 1e-4
"""Margin for arithmetic when printed limits are held against the part's, mm."""
MEASURED = 2e-4
"""How far a figure may be off what stands, mm, besides its last digit."""
FACE = 0.25
"""How much of a shoulder's face a cut along Z takes back before its stop, mm, or two divisions of a coarse dial."""
SHORT = 0.75
"""A cut along Z that takes off no more than this before its stop, mm, meets what the nose has left in a corner."""
STEEP = 0.25
"""A slope belongs to a taper that it is as steep as, but for this share."""
ASIDE = 1.0
"""How far beside its place a shoulder is looked for, mm."""

Pieces = Sequence[Piece]


class Around(Row):
    """The metal before a step of the page and after it."""

    before: Pieces
    after: Pieces


STAIR = 0.05
"""A shoulder that is faced square may meet metal of other diameters by this, mm: nothing is set by what it was."""
OVER_WIRES = " over "
"""A sign in the name of what is measured over wires or in a gauge."""
WAS, MEASURE = "was", "measure"
"""Kinds of the findings that a row's `was`, or a measure's figure, is not what stands there."""
AIR = "air"
"""Kind of the finding that a row takes nothing off; harmless, and told of a page that somebody edited."""


def check_rows(sheet: Sheet, setting: Setting, around: Mapping[int, Around], division: float) -> Iterator[Problem]:
    """Find rows that cut only air, and a `was` that does not stand there.

    Args:
        around: the metal, by the row's line.
        division: of the dial along Z, mm; a last cut may take two of them off a shoulder's face.
    """
    spare, depth = MEASURED + cone_spare(setting), max(FACE, 2.0 * division + THIN)
    for row in sheet.rows:
        here = around.get(row.line)
        if here is None or not isinstance(row, CutRead | PointsRow):
            continue
        removed = [r for r in lower(here.before, here.after)[1] if _depth(r) > THIN]
        where = Where(path=sheet.path, line=row.line)
        given = f"{row.number}  {row.what}"
        if not removed and not (isinstance(row, CutRead) and _takes_off_nothing(here.before, row)):
            fix = "take it out, or put its figures right"
            yield Problem(where=where, what="cuts only air: nothing stands there", given=given, fix=fix, kind=AIR)
        elif removed and isinstance(row, CutRead):
            levels = [2.0 * level for level in _levels(here.before, removed, row, depth)]
            only_face = not row.along or max(r[1] for r in removed) - row.z <= SHORT
            near = only_face and row.was.between(min(levels), max(levels), spare + (STAIR if not row.along else 0.0))
            near = near or any(row.was.between(2.0 * a, 2.0 * b, spare) for a, b in _slopes(removed) if row.along)
            if not near and not any(row.was.says(level, spare) for level in levels):
                does = show(levels[0], row.was, sheet.unit)
                what = f"says that {row.was.text} stands there, but {does} does"
                yield Problem(where=where, what=what, given=f"{given}  {row.was.text}", allowed=does, kind=WAS)


def _depth(removed: Removed) -> float:
    z0, z1, old, new = removed
    return max(height(old, z) - max(height(new, z), 0.0) for z in (z0, 0.5 * (z0 + z1), z1))


def _takes_off_nothing(before: Pieces, row: CutRead) -> bool:
    """Tell whether a row says itself that nothing comes off, or runs along a face that stands there already."""
    return row.was.text == row.leaves.text or (
        not row.along
        and any(abs(b[0] - row.z) <= MEASURED and height(a, b[0]) > row.x / 2.0 + THIN for a, b in pairwise(before))
    )


def _levels(before: Pieces, removed: Sequence[Removed], row: CutRead, depth: float) -> list[float]:
    """Return the radii that `was` may mean: what stood over most of the cut's length, and the greatest that it met.

    The face of a shoulder, which the end of a cut along Z takes back, is no diameter that it meets, nor is the round
    that a nose has left in a corner: its foot is. Where nothing else is cut, was is what stands along its way. A cut
    square to the axis meets all that stands at it, and behind it.

    Args:
        depth: how much of a shoulder's face the cut may take back, mm.
    """
    near = max(r[1] for r in removed)
    if not row.along:
        places = [row.z - THIN, *(z for r in removed for z in r[:2])]
        metal = Metal(before)
        return [metal.at(z, before=b) for z in places for b in (False, True)]
    face = row.z + min(depth, 0.5 * (near - row.z))
    stretches = [(max(z0, face), z1, old) for z0, z1, old, _ in removed if max(z0, face) < z1]
    levels = [(height(piece, 0.5 * (low + high)), high - low) for low, high, piece in stretches]
    found = [max(levels, key=lambda one: sum(n for at, n in levels if abs(at - one[0]) < THIN) + 1e-6 * one[1])[0],
             max(crest(piece, low, high) for low, high, piece in stretches),
             max(_foot(piece, low, high) for low, high, piece in stretches)] if levels else []  # fmt: skip
    if near - row.z <= SHORT:
        along = [p for p in before if min(p[1], row.begin) > max(p[0], row.z)]
        found += [height(p, 0.5 * (max(p[0], row.z) + min(p[1], row.begin))) for p in along]
        found += [p[4] - p[5] for p in along if p[2] < 0]
    return found


def _slopes(removed: Sequence[Removed]) -> Iterator[tuple[float, float]]:
    """Radii, least and greatest, of slopes that a cut takes off, as a taper's last cut leaves before its thin end."""
    for z0, z1, old, _ in removed:
        if not old[2] and old[5]:
            yield trough(old, z0, z1), crest(old, z0, z1)


def _foot(piece: Piece, low: float, high: float) -> float:
    """The greatest radius of a piece between two z, mm; of the round that a nose has left, its foot."""
    return piece[4] - piece[5] if piece[2] < 0 else crest(piece, low, high)


# Measures ---------------------------------------------------------------------------------------------------------


def check_measures(sheet: Sheet, setting: Setting, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Check figures and limits of the lines at which the work is measured."""
    said = {t.section.name: t for t in said_turned(setting)}
    edges = dict(zip(said, edges_past(tuple(said.values())), strict=True))
    plain = {t.section.name: t for t in setting.turned}
    spare = MEASURED + cone_spare(setting)
    for line in sheet.steps:
        if not isinstance(line, MeasureLine):
            continue
        where = Where(path=sheet.path, line=line.line)
        members = names_of(line.name, plain)
        here = around.get(line.line)
        if not members and OVER_WIRES in line.name:
            yield from _over_wires(sheet, setting, line)
            continue
        if not members:
            known = ", ".join(sorted(plain))
            yield Problem(where=where, what="measures what is not turned here", given=line.name, allowed=known)
            continue
        if here is None:
            continue
        metal = Metal(here.before)
        last = said[members[-1]]
        if line.of == "shoulder":
            sizes = shoulder_sizes(metal, last, edges[last.section.name])
        else:
            sizes = diameters_at(metal, said[members[0]])
        slope = ANGLE * (last.near - last.far) if last.radius_near != last.radius_far else 0.0
        if not line.then:
            sizes = [size + _moved(setting, members, line.of, last) for size in sizes]
        if not any(line.expected.says(s, spare + slope) for s in sizes):
            stands = show(sizes[0], line.expected, sheet.unit) if sizes else "no such shoulder"
            what = f"expects {line.expected.text} there, but the rows above leave {stands}"
            yield Problem(where=where, what=what, given=f"{line.of} of {line.name}", allowed=stands, kind=MEASURE)
        yield from _check_limits(sheet, setting, line, [plain[m] for m in members])


def _over_wires(sheet: Sheet, setting: Setting, line: MeasureLine) -> Iterator[Problem]:
    """Check that wire, figure and limits of a thread that the program has cut are those of its standard."""
    thread = next((t for t in setting.threads if plain_name(t.section) in plain_name(line.name)), None)
    where, wires = Where(path=sheet.path, line=line.line), WIRES.fullmatch(line.name)
    if thread is None or wires is None or line.least is None or line.most is None:
        known = ", ".join(sorted(t.section for t in setting.threads))
        yield Problem(where=where, what="measures no thread that is cut here", given=line.name, allowed=known)
        return
    figures = {"expected": line.expected, "least": line.least, "most": line.most}
    yield from hold_over_wires(figures, wires, thread.thread, where, line.name, sheet.unit, then=line.then)


TWICE = (*BEARING_ROLES, "seat")
"""Roles whose diameter is measured before the last cut and after it; any other is measured once."""
NEVER = ("square blank", "undercut")
"""Roles whose diameter nobody measures: what the mill takes away, and what nothing touches."""


def check_measured(sheet: Sheet, setting: Setting, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Check that every diameter left as turned, and every shoulder with limits, is measured among the rows.

    Args:
        around: the metal, by the row's line.
    """
    turned = {t.section.name: t for t in setting.turned}
    edges = dict(zip(turned, edges_past(tuple(turned.values())), strict=True))
    lines = [s for s in sheet.steps if isinstance(s, MeasureLine)]
    seen = {(name, line.of, line.then) for line in lines for name in names_of(line.name, turned)}
    over_wires = " ".join(line.name for line in lines if OVER_WIRES in line.name)
    first = sheet.rows[0].line if sheet.rows else 0
    pairs = pairwise(setting.turned)
    before_slants = {a.section.name for a, b in pairs if b.radius_near != b.radius_far}
    for name, t in turned.items():
        if plain_name(name) in over_wires:
            continue
        late = name in before_slants or _is_hidden(t, edges[name], sheet, around)
        for of, when in (*_needed(t, edges[name], late=late), *_tapered(t, sheet)):
            if not any((name, of, then) in seen for then in when):
                what = "among the rows" if len(when) > 1 else f"{'before' if when[0] else 'after'} its last cut"
                where = Where(path=sheet.path, line=first)
                named = name if of == "diameter" else f"shoulder past {name}"
                yield Problem(where=where, what=f"does not measure {named} {what}", given="", allowed="a line MEASURE")


def _is_hidden(turned: Turned, edge: float, sheet: Sheet, around: Mapping[int, Around]) -> bool:
    """Tell whether no row before a shoulder's last one leaves its face to be measured.

    It is lower than what such a row leaves of its section, or metal that only a fillet's cuts take off stands before.
    """
    name = turned.section.name
    cuts = [r for r in sheet.rows if isinstance(r, CutRead) and r.line in around]
    past = [r for r in cuts if plain_name(r.what) == plain_name(f"face past {name}")][:-1]
    rows = past or [r for r in cuts if plain_name(name) in map(plain_name, r.what.split(" and "))]
    stood = [(r.z, around[r.line].after) for r in rows]
    if not rows:  # skipped by hand, as nothing would come off: what stands before the last cut
        stood = [(r.z, around[r.line].before) for r in cuts if plain_name(r.what) == plain_name(f"{name}, last")]
    places = [(z, shoulder_sizes(Metal(pieces), turned, edge)) for z, pieces in stood]
    return bool(places) and not any(abs(at - abs(z)) <= FACE for z, found in places for at in found)


def _needed(turned: Turned, edge: float, *, late: bool) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Return what of a section is to be measured, and when: before the last cut (True), after it, or either.

    Args:
        edge: see edges_past. late: whether its shoulder's face comes with the last cut, as before a taper.
    """
    section = turned.section
    cylinder = turned.radius_near == turned.radius_far
    made = section.role not in NEVER and not {"file", "as stock"} & set(section.finish.route)
    if made and cylinder and section.role in TWICE:
        yield from (("diameter", (then,)) for then in (True, False))
    elif made and cylinder:
        yield "diameter", (True, False)
    height = turned.far_radius - turned.radius_far - edge
    round_ = turned.corner.radius if turned.corner is not None and turned.corner.kind == "fillet" else 0.0
    if turned.spare is not None and height > round_ + 2 * EDGE:
        yield from (("shoulder", (then,)) for then in ((False,) if late else (True, False)))


def _tapered(turned: Turned, sheet: Sheet) -> Iterator[tuple[str, tuple[bool, ...]]]:
    """Return that a taper is measured before its last cut, where its first cut is set over; see _needed."""
    made = turned.section.role not in NEVER and "file" not in turned.section.finish.route
    first = (r for r in sheet.rows if isinstance(r, PointsRow) and r.way == "set over")
    if made and any(turned.section.name in names_of(r.what, {turned.section.name: turned}) for r in first):
        yield "diameter", (True,)


def _moved(setting: Setting, members: Sequence[str], of: str, last: Turned) -> float:
    """By how much a size comes out different from the rows, as a stop before the last cut read it, mm."""
    found = setting.correction_of(members)
    return 2 * found.radius if of == "diameter" else found.face * (1 if last.far > 0 else -1)


def names_of(name: str, known: Mapping[str, object]) -> list[str]:
    """Return the sections that a measure names: one, or several turned as one, "seat and neck"; empty for none."""
    spelt = {plain_name(k): k for k in known}
    if plain_name(name) in spelt:
        return [spelt[plain_name(name)]]
    parts = [plain_name(part) for part in name.split(" and ")]
    return [spelt[p] for p in parts] if all(p in spelt for p in parts) else []


def diameters_at(metal: Metal, turned: Turned) -> list[float]:
    """Return the diameter at a section's middle, and its least, mm; of a taper, its slope carried on to its thin end.

    The middle is that of what its edge and corner leave. In a short section the round of a nose may reach it.
    """
    near, far = turned.near, turned.far
    if turned.corner is not None and turned.radius_near == turned.radius_far:
        far += turned.corner.width if turned.corner.kind == "undercut" else turned.corner.radius
    if turned.edge is not None and turned.edge.kind != "sharp" and turned.radius_near == turned.radius_far:
        near -= turned.edge.size
    middle = 0.5 * (near + far) if near > far else 0.5 * (turned.near + turned.far)
    if turned.radius_near == turned.radius_far:
        return [2.0 * metal.at(middle), 2.0 * least_radius(metal, turned.far, turned.near)]
    thin = turned.near - turned.extra_length if turned.radius_near < turned.radius_far else turned.far
    slope = _slope(metal, turned)
    if slope is not None:
        return [2.0 * height(slope, thin)]
    at = 0.5 * (middle + thin)
    return [2.0 * (2.0 * metal.at(at) - metal.at(middle))]


def _slope(metal: Metal, turned: Turned) -> Piece | None:
    """Return the longest piece of a taper that stands as steep as it is to be; a stair's foot may lie below it."""
    growth = (turned.radius_near - turned.radius_far) / (turned.near - turned.far)
    steep = [p for p in metal.pieces if not p[2] and abs(p[5] - growth) < STEEP * abs(growth)]
    lengths = [(min(p[1], turned.near) - max(p[0], turned.far), p) for p in steep]
    return max((one for one in lengths if one[0] > THIN), default=(0.0, None))[1]


def least_radius(metal: Metal, far: float, near: float) -> float:
    """The least radius between two places along Z, mm."""
    low, high = sorted((far, near))
    return min((trough(p, max(p[0], low), min(p[1], high)) for p in metal.pieces
                if min(p[1], high) > max(p[0], low)), default=0.0)  # fmt: skip


def shoulder_sizes(metal: Metal, turned: Turned, edge: float) -> list[float]:
    """Return the distance from Z 0 of the face at a section's headstock end, mm; empty where none stands.

    Args:
        edge: size of the edge that its outer end has or is to have, mm; see edges_past.

    The face is where the outline rises through the height at which a square one stands, below the next section's edge.
    Where it rises there by the round of a tool's nose, its place is where that round would have met it.
    """
    level = min(_face_level(turned, edge), _crest_behind(metal, turned) - 2.0 * THIN)
    start = min(turned.far + ASIDE, 0.5 * (turned.near + turned.far))
    for a, b in reversed(list(pairwise(metal.pieces))):
        for z, low, high in ((b[1], height(b, b[1]), height(b, b[0])), (b[0], height(b, b[0]), height(a, b[0]))):
            if turned.far - ASIDE <= b[0] <= start and low <= level < high:
                return [abs(_rise(b, level) if z == b[1] else z)]
    return []


def _rise(piece: Piece, level: float) -> float:
    """Return Z where a piece rising toward the headstock would reach a face: a line at a height, a round by itself."""
    _, _, bend, p, q, r, _ = piece
    return p - r if bend < 0 else p + (level - q) / r if not bend else p - math.sqrt(max(r * r - (level - q) ** 2, 0.0))


EDGE = 0.05
"""How far below an edge a face is looked for, mm, as the edge may be off."""


def _face_level(turned: Turned, edge: float) -> float:
    """Radius at which a section's headstock face is square, mm: above its corner and below the next one's edge."""
    corner = turned.corner.radius if turned.corner is not None and turned.corner.kind == "fillet" else 0.0
    low, high = turned.radius_far + corner, turned.far_radius - edge
    return high - max(min(EDGE, 0.25 * (high - low)), 2.0 * THIN)


def _crest_behind(metal: Metal, turned: Turned) -> float:
    """Greatest radius that stands right behind a section's headstock face, mm: a coarse dial may leave it low."""
    low, high = turned.far - FACE, turned.far
    return max((crest(p, max(p[0], low), min(p[1], high)) for p in metal.pieces if p[0] < high and p[1] > low),
               default=0.0)  # fmt: skip


def edges_past(turned: Sequence[Turned]) -> list[float]:
    """Size of the edge at the outer end of each section's headstock face, mm; 0 where it is sharp."""
    beyond = [t.edge for t in turned[1:]] + [None]
    found = [t.far_edge or edge for t, edge in zip(turned, beyond, strict=True)]
    return [float(edge.size) if edge is not None and edge.kind != "sharp" else 0.0 for edge in found]


def _check_limits(sheet: Sheet, setting: Setting, line: MeasureLine, members: Sequence[Turned]) -> Iterator[Problem]:
    """Check that printed limits are the part's, rounded inward; after the last cut the figure lies within them."""
    if line.least is None or line.most is None:
        return
    where = Where(path=sheet.path, line=line.line)
    limits = part_limits(members) if line.of == "diameter" else members[-1].far_limits
    given = f"{line.least.text} to {line.most.text}"
    if limits is None:
        yield from _check_own_limits(sheet, setting, line, members)
    if limits is not None and not within_inward(line.least, line.most, limits, INWARD):
        allowed = f"{show(limits[0], line.least, sheet.unit)} to {show(limits[1], line.most, sheet.unit)}"
        what = f"has other limits than the part for {line.of} of {line.name}"
        yield Problem(where=where, what=what, given=given, allowed=allowed)
    named = line.name if line.of == "diameter" else f"shoulder past {line.name}"
    outside = not line.least.value - line.expected.half <= line.expected.value <= line.most.value + line.expected.half
    coarse = {plain_name(name) for name in sheet.coarse}
    told = plain_name(named) in coarse or (
        line.of == "diameter" and all(plain_name(t.section.name) in coarse for t in members)
    )
    if not line.then and outside and not told:
        what = f"expects {line.expected.text} after the last cut, outside its limits"
        allowed = f"{given}, or a line DIAL COARSER THAN LIMITS that names it"
        yield Problem(where=where, what=what, given=line.expected.text, allowed=allowed)


def _check_own_limits(
    sheet: Sheet, setting: Setting, line: MeasureLine, members: Sequence[Turned]
) -> Iterator[Problem]:
    """Check that limits that the part does not give lie alike on both sides of the aim."""
    assert line.least is not None
    assert line.most is not None
    last = members[-1]  # as it is, whatever was corrected
    aim = abs(last.far) if line.of == "shoulder" else 2.0 * min(last.end_radius, last.radius_far)
    under, over = aim - line.least.value, line.most.value - aim
    spare = 2.0 * line.least.half + MEASURED + cone_spare(setting)
    if min(under, over) < -spare or abs(under - over) > spare:
        what = f"has limits for {line.of} of {line.name} that do not lie about its aim"
        where, allowed = (
            Where(path=sheet.path, line=line.line),
            f"alike on both sides of {show(aim, line.least, sheet.unit)}",
        )
        yield Problem(where=where, what=what, given=f"{line.least.text} to {line.most.text}", allowed=allowed)


def part_limits(members: Iterable[Turned]) -> tuple[float, float] | None:
    """Return the limits of a diameter as turned, mm: the strictest of sections turned as one; None for none."""
    least, most = 0.0, math.inf
    for t in members:
        if t.section.tolerance is not None:
            nominal = min(t.section.diameter_a, t.section.diameter_b) + t.section.finish.on_diameter
            least = max(least, nominal + t.section.tolerance.lower)
            most = min(most, nominal + t.section.tolerance.upper)
    return None if math.isinf(most) else (least, most)
