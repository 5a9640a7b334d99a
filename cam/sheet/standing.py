"""What stands at each row, compared with what the page says of it: was, cuts of air, and figures to measure."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from cam.ground.frozen import Row
from cam.ground.letters import known_by
from cam.ground.problem import Problem, problem_at
from cam.ground.tolerances import ROUNDING
from cam.judge.envelope import Metal, Piece, Removed, crest, height, lower, trough
from cam.part.features import fillet_of, reach_along, size_of, undercut_at
from cam.setting.model import Setting, Turned, limits_of
from cam.setting.profiles import growth
from cam.sheet.anvils import check_reached, wider_at
from cam.sheet.limits import ANGLE, cone_spare, said_turned, show, within_inward
from cam.sheet.model import BandRead, CutRead, MeasureLine, Other, PointsRow, RowRead, Sheet
from cam.sheet.thread import FIX, WIRES, hold_over_wires

THIN = 1e-3
"""Metal thinner than this, mm, counts as none."""
INWARD = 1e-4
"""Margin for arithmetic when printed limits are held against the part's, mm."""
MEASURED = 2e-4
"""How far a figure may be off what stands, mm, besides its last digit."""
FACE = 0.25
"""How much of a shoulder's face a cut along Z takes back before its stop, mm, or two divisions of a coarse dial."""
IN_ROUND = 0.004
"""A round that a nose left before a face may be so thick, mm, where that is measured; common practice, no source."""
SHORT = 0.75
"""A cut along Z that takes off no more than this before its stop, mm, meets what the nose has left in a corner."""
AT_FACE = 0.05
"""A row whose last place is this near to where a shoulder is to stand, mm, goes to its face."""
STEEP = 0.25
"""A slope belongs to a taper that it is as steep as, but for this share."""
ASIDE = 1.0
"""How far beside its place a shoulder is looked for, mm."""
Pieces = Sequence[Piece]


class Around(Row):
    """The metal before a step of the page and after it."""

    before: Pieces
    after: Pieces


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
    for row in (r for r in sheet.rows if r.line in around):
        before, after = around[row.line]
        removed = _taken_off(before, after)
        if isinstance(row, CutRead) and removed:
            yield from _check_was(sheet, row, before, removed, spare, depth)
        elif not removed and not _takes_off_nothing(before, row):
            fix = "take it out, or put its figures right"
            yield sheet.problem(row, "cuts only air: nothing stands there", fix=fix, kind=AIR)


def _taken_off(before: Pieces, after: Pieces) -> list[Removed]:
    """Return what a row takes off, films of the rounding of sums and what nobody feels left out."""
    return [r for r in lower(before, after)[1] if r[1] - r[0] > ROUNDING and _depth(r) > THIN]


def _check_was(
    sheet: Sheet, row: CutRead, before: Pieces, removed: Sequence[Removed], spare: float, depth: float
) -> Iterator[Problem]:  # fmt: skip
    """Check that what a row says was there has stood there: exactly, or for some cuts anywhere between what stood."""
    levels = [2.0 * level for level in _levels(before, removed, row, depth)]
    # a cut square to the axis may begin on a slope, and where is known to what is THIN alone
    square = [(min(levels) - 2.0 * THIN, max(levels) + 2.0 * THIN)]
    between = [*_slopes(removed), *_in_rounds(removed, row, levels)] if row.along else square
    near = any(row.was.between(low, high, spare) for low, high in between)
    if not near and not any(row.was.says(level, spare) for level in levels):
        does, was = show(levels[0], row.was, sheet.unit), row.was.text
        yield sheet.problem(row, f"says that {was} stands there, but {does} does", does, kind=WAS, more=f"  {was}")


def _depth(removed: Removed) -> float:
    z0, z1, old, new = removed
    return max(height(old, z) - max(height(new, z), 0.0) for z in (z0, 0.5 * (z0 + z1), z1))


def _takes_off_nothing(before: Pieces, row: RowRead) -> bool:
    """Tell whether a row says itself that nothing comes off, or runs along a face that stands there already."""
    if not isinstance(row, CutRead):
        return isinstance(row, Other)
    faces = (b[0] for a, b in pairwise(before) if height(a, b[0]) > row.x / 2.0 + THIN)
    return row.was.text == row.leaves.text or (not row.along and any(abs(z - row.z) <= MEASURED for z in faces))


def _levels(before: Pieces, removed: Sequence[Removed], row: CutRead, depth: float) -> list[float]:
    """Return the radii that `was` may mean: what stood over most of the cut's length, and the greatest that it met.

    The face of a shoulder, which the end of a cut along Z takes back, is no diameter that it meets, nor is the round
    that a nose has left in a corner: the foot of each is. Where nothing else is cut, was is what stands along its way.
    Of a cut square to the axis it is the greatest that comes off, the face that it is for with it: of a round in the
    corner of that, what its foot and its top are.

    Args:
        depth: how much of a shoulder's face the cut may take back, mm.
    """
    if not row.along:
        return [max(at(old, z0, z1) for z0, z1, old, _ in removed) for at in (crest, _foot)]
    near = max(r[1] for r in removed)
    face = row.z + min(depth, 0.5 * (near - row.z))
    met = [(piece, max(z0, face), z1) for z0, z1, piece, _ in removed if max(z0, face) < z1]
    feet = [old[4] - old[5] for _, _, old, _ in removed if old[2] < 0]
    return [*_met_along(met), *feet, *(_stood_along(before, row) if near - row.z <= SHORT else ())]


def _met_along(met: Sequence[tuple[Piece, float, float]]) -> list[float]:
    """Return the radius that stood over most of what a cut met, and the greatest, of rounds and of their feet."""
    if not met:
        return []
    levels = [(height(piece, 0.5 * (low + high)), high - low) for piece, low, high in met]
    most = max(levels, key=lambda one: sum(n for at, n in levels if abs(at - one[0]) < THIN) + 1e-6 * one[1])[0]
    return [most, max(crest(*one) for one in met), max(_foot(*one) for one in met)]


def _stood_along(before: Pieces, row: CutRead) -> list[float]:
    """Return the radii that stood along the way of a cut, of rounds that a nose has left their feet too."""
    along = [(p, max(p[0], row.z), min(p[1], row.begin)) for p in before]
    along = [one for one in along if one[1] < one[2]]
    levels = [height(p, 0.5 * (low + high)) for p, low, high in along]
    return levels + [p[4] - p[5] for p, _, _ in along if p[2] < 0]


def _slopes(removed: Sequence[Removed]) -> list[tuple[float, float]]:
    """Return the least and greatest diameters of slopes that come off, as a taper's last cut leaves at its thin end."""
    sloping = [(old, z0, z1) for z0, z1, old, _ in removed if not old[2] and old[5]]
    return [(2.0 * trough(*one), 2.0 * crest(*one)) for one in sloping]


def _in_rounds(removed: Sequence[Removed], row: CutRead, levels: Sequence[float]) -> list[tuple[float, float]]:
    """Return the least and the greatest diameter of what a stair goes along and meets, where it meets rounds.

    Of rounds that have cut into one another no foot need stand: nothing is set by what a stair among them was.
    """
    met = [(old, z0, z1) for z0, z1, old, _ in removed]
    if row.begin - row.z > SHORT or not any(old[2] < 0 for old, _, _ in met):
        return []
    return [(min(*levels, *(2.0 * _foot(*one) for one in met)), 2.0 * max(crest(*one) for one in met))]


def _foot(piece: Piece, low: float, high: float) -> float:
    """The greatest radius of a piece between two z, mm; of the round that a nose has left, its foot."""
    return piece[4] - piece[5] if piece[2] < 0 else crest(piece, low, high)


def check_measures(sheet: Sheet, setting: Setting, around: Mapping[int, Around]) -> Iterator[Problem]:
    """Check figures and limits of the lines at which the work is measured."""
    plain, turned = {t.section.name: t for t in setting.turned}, said_turned(setting)
    said = {t.section.name: (t, edge) for t, edge in zip(turned, edges_past(turned), strict=True)}
    for line in sheet.measures:
        members = names_of(line.name, plain)
        if not members:
            yield from _check_unturned(sheet, setting, line, plain)
        elif line.line in around:
            metal = Metal(around[line.line].before)
            yield from _check_measure(sheet, setting, line, members, [said[m] for m in members], metal)
            yield from _check_limits(sheet, setting, line, [plain[m] for m in members])
            yield from _check_place(sheet, line, [plain[m] for m in members])
            yield from _check_rows(sheet, line, [said[m][0] for m in members], around)


def _check_measure(
    sheet: Sheet, setting: Setting, line: MeasureLine, members: Sequence[str], said: Sequence[tuple[Turned, float]],
    metal: Metal,
) -> Iterator[Problem]:  # fmt: skip
    """Check that a measure expects what the rows above it leave; said: its members and the edges past them."""
    last, edge = said[-1]
    if line.of == "shoulder":
        sizes = [*shoulder_sizes(metal, last, edge), *(_at_rim(metal, last) if line.then else [])]
    else:
        sizes = [size + wider_at(line, said[0][0]) for size in diameters_at(metal, said[0][0])]
    slope = ANGLE * (last.near - last.far) if last.is_taper else 0.0
    moved = _moved_then(setting, line, members, last)
    sizes = [size + moved for size in sizes]
    if not any(line.expected.says(s, MEASURED + cone_spare(setting) + slope) for s in sizes):
        stands = show(sizes[0], line.expected, sheet.unit) if sizes else "no such shoulder"
        what = f"expects {line.expected.text} there, but the rows above leave {stands}"
        yield problem_at(sheet.path, line.line, what, f"{line.of} of {line.name}", stands, kind=MEASURE)
    spare = MEASURED + abs(moved) + cone_spare(setting)
    yield from check_reached(sheet, setting, line, [t for t, _ in said], metal, spare)


def _moved_then(setting: Setting, line: MeasureLine, members: Sequence[str], last: Turned) -> float:
    """By how much a size comes out different from the rows where a line has it measured, mm; see Correction.along."""
    along = line.of == "diameter" and setting.correction_of(members).along
    return 0.0 if line.then and not along else _moved(setting, members, line.of, last)


def _check_place(sheet: Sheet, line: MeasureLine, members: Sequence[Turned]) -> Iterator[Problem]:
    """Check that the line of a taper's diameter says at which Z of the taper it is measured."""
    for t in (t for t in members if t.is_taper and line.of == "diameter"):
        if line.at is None or not line.at.between(t.far, t.thin_end, THIN):
            said = line.at.text if line.at is not None else "nothing"
            what, thin = f"says {said} of the Z at which it is measured", show(t.thin_end, line.expected, sheet.unit)
            allowed = f"at Z {thin}, or nearer to its large end"
            yield problem_at(sheet.path, line.line, what, f"{line.of} of {line.name}", allowed, kind=MEASURE)


def _check_rows(
    sheet: Sheet, line: MeasureLine, members: Sequence[Turned], around: Mapping[int, Around]
) -> Iterator[Problem]:
    """Check that a measure before a last cut names rows below it, and all that its tool cuts to that size or face."""
    below = {r.number: r for r in sheet.rows if r.line > line.line and r.line in around}
    wrong = [str(n) for n in line.rows if n not in below]
    if wrong:
        what = f"is to correct row {', '.join(wrong)}, not cut below it"
        yield problem_at(sheet.path, line.line, what, f"{line.of} of {line.name}", f"rows {', '.join(map(str, below))}")
    elif lost := _lost(sheet, line, members, around, below):
        what, rows = f"does not correct row {', '.join(map(str, lost))} with it", sorted({*lost, *line.rows})
        yield problem_at(sheet.path, line.line, what, f"{line.of} of {line.name}", f"rows {', '.join(map(str, rows))}")


def _named(row: RowRead) -> str | None:
    """Return the section whose fillet or edge a row cuts, as known_by has it; None for any other row."""
    name, colon, _ = row.what.partition(":")
    return known_by(name.removeprefix("fillet ")) if colon else None


def _lost(
    sheet: Sheet, line: MeasureLine, members: Sequence[Turned], around: Mapping[int, Around],
    below: Mapping[int, RowRead],
) -> list[int]:  # fmt: skip
    """Return the numbers of the rows that a measure before a last cut is to correct, and does not name.

    One that cuts away metal beside the section is another's, as is a fillet or an edge that has another's name.
    """
    if not line.then:
        return []
    names, far = {None, *(known_by(t.section.name) for t in members)}, members[-1].far
    low, high = min(t.far for t in members), max(t.near for t in members)

    def is_for(row: RowRead) -> bool:
        to_face = abs(least_z(row) - far) <= AT_FACE
        return _named(row) in names and (to_face if line.of == "shoulder" else _is_within(around[row.line], low, high))

    return [n for n, row in _with_its_tool(sheet, line, below).items() if n not in line.rows and is_for(row)]


def least_z(row: RowRead) -> float:
    """Return the place of a row nearest to the headstock, mm; nan of one that no handle cuts."""
    if isinstance(row, CutRead):
        return row.z
    return min((z for z, _ in row.places), default=math.nan) if isinstance(row, PointsRow) else math.nan


def _with_its_tool(sheet: Sheet, line: MeasureLine, below: Mapping[int, RowRead]) -> dict[int, RowRead]:
    """Return the rows below a measure that its tool cuts, but for roughing."""
    later = [s for s in sheet.steps if isinstance(s, BandRead) and s.line > line.line]
    change = next((s.line for s in later if s.tool), math.inf)
    return {n: r for n, r in below.items() if r.line < change and not r.what.startswith("rough")}


def _is_within(here: Around, low: float, high: float) -> bool:
    """Tell whether what a row takes off is mostly between two Z."""
    removed = [r for r in lower(here.before, here.after)[1] if _depth(r) > THIN]
    inside = sum(max(min(z1, high) - max(z0, low), 0.0) for z0, z1, _, _ in removed)
    return 2.0 * inside > sum(z1 - z0 for z0, z1, _, _ in removed)


def _check_unturned(sheet: Sheet, setting: Setting, line: MeasureLine, turned: Collection[str]) -> Iterator[Problem]:
    """Check that what is measured and is no section turned here is a thread that the program has cut.

    Its wire, figure and limits are those of its standard.
    """
    if OVER_WIRES not in line.name:
        known = ", ".join(sorted(turned))
        yield problem_at(sheet.path, line.line, "measures what is not turned here", line.name, known)
        return
    thread = next((t for t in setting.threads if known_by(t.section) in known_by(line.name)), None)
    wires = WIRES.fullmatch(line.name)
    if thread is None or wires is None or line.least is None or line.most is None:
        known = ", ".join(sorted(t.section for t in setting.threads))
        yield problem_at(sheet.path, line.line, "measures no thread that is cut here", line.name, known)
        return
    figures = (line.least, line.expected, line.most)
    for what, allowed in hold_over_wires(figures, wires, thread.thread, sheet.unit, then=line.then):
        yield problem_at(sheet.path, line.line, what, line.name, allowed, FIX)


def _moved(setting: Setting, members: Sequence[str], of: str, last: Turned) -> float:
    """By how much a size comes out different from the rows, as a stop before the last cut read it, mm."""
    found = setting.correction_of(members)
    return 2 * found.radius if of == "diameter" else found.face * (1 if last.far > 0 else -1)


def names_of(name: str, known: Mapping[str, object]) -> list[str]:
    """Return the sections that a measure names: one, or several turned as one, "seat and neck"; empty for none."""
    spelt = {known_by(k): k for k in known}
    if known_by(name) in spelt:
        return [spelt[known_by(name)]]
    parts = [known_by(part) for part in name.split(" and ")]
    return [spelt[p] for p in parts] if all(p in spelt for p in parts) else []


def diameters_at(metal: Metal, turned: Turned) -> list[float]:
    """Return the diameter in a section's middle, its least, and what anvils over it read; of a taper its thin end."""
    if not turned.is_taper:
        low, high = plain_between(turned)
        read = _under_anvils(metal, low, _stands_to(metal, turned, high))
        least = least_radius(metal, turned.far, turned.near)
        return [2.0 * metal.at(0.5 * (low + high)), 2.0 * least, 2.0 * read]
    thin, slope = turned.thin_end, _slope(metal, turned)
    if slope is not None:
        return [2.0 * height(slope, thin)]
    middle = 0.5 * (turned.near + turned.far)
    return [2.0 * (2.0 * metal.at(0.5 * (middle + thin)) - metal.at(middle))]


def _under_anvils(metal: Metal, low: float, high: float) -> float:
    """Return the greatest radius of the cylinders between two z, mm; of all that stands there where there are none.

    Anvils are held off the round or slope in a corner, which reaches further than the corner until the last cut.
    """
    return max(levels_between(metal, low, high), default=metal.highest(low, high))


def levels_between(metal: Metal, low: float, high: float) -> Iterator[float]:
    """Yield the radius of every cylinder that stands between two z, mm."""
    return (p[4] for p in metal.pieces if not p[2] and not p[5] and min(p[1], high) - max(p[0], low) > THIN)


def _stands_to(metal: Metal, turned: Turned, end: float) -> float:
    """Return Z up to which metal stands as thick as a section is to be, past its end, whose face is full yet."""
    if end < turned.near - turned.extra_length:
        return end
    for piece in metal.pieces:
        if piece[1] > end and piece[0] <= end + THIN:
            if min(height(piece, max(piece[0], end)), height(piece, piece[1])) < turned.radius_near - THIN:
                return end
            end = piece[1]
    return end


def plain_between(turned: Turned) -> tuple[float, float]:
    """Return Z between which edge and corner leave a cylinder plain, mm, without the extra length past its end."""
    end = turned.near - turned.extra_length
    near, far = end - size_of(turned.edge), turned.far + reach_along(turned.corner)
    return (far, near) if near > far else (turned.far, end)


def _slope(metal: Metal, turned: Turned) -> Piece | None:
    """Return the longest piece of a taper that stands as steep as it is to be; a stair's foot may lie below it.

    Where none stands on it, as the nose has left its round all along a short one, what the same row left on its way in.
    """
    rise = growth(turned)
    steep = [p for p in metal.pieces if not p[2] and abs(p[5] + rise) < STEEP * abs(rise)]
    longest = max(((min(p[1], turned.near) - max(p[0], turned.far), p) for p in steep), default=None)
    return longest[1] if longest and longest[0] > THIN else _way_in(metal, turned, steep)


def _way_in(metal: Metal, turned: Turned, steep: Sequence[Piece]) -> Piece | None:
    """Return the one of some steep pieces that the row left which left its nose's round at a taper's thin end."""
    inside = turned.thin_end - math.copysign(THIN, growth(turned))
    rounds = {p[6] for p in metal.pieces if p[2] < 0 and p[0] <= inside <= p[1]}
    return next((p for p in steep if p[6] in rounds), None)


def least_radius(metal: Metal, far: float, near: float) -> float:
    """The least radius between two places along Z, mm."""
    low, high = sorted((far, near))
    return min((trough(p, max(p[0], low), min(p[1], high)) for p in metal.pieces
                if min(p[1], high) > max(p[0], low)), default=0.0)  # fmt: skip


def shoulder_sizes(metal: Metal, turned: Turned, edge: float) -> list[float]:
    """Return the distance from Z 0 of the face at a section's headstock end, mm; empty where none stands.

    Args:
        edge: size of the edge that its outer end has or is to have, mm; see edges_past.

    The face is where the outline rises through the height at which a square one stands, below the next section's edge
    and below what stands right behind it, which a coarse dial may leave low. Where it rises there by the round of a
    tool's nose, its place is where that round would have met it.
    """
    return _faces_at(metal, turned, *where_measured(metal, turned, edge))


def _faces_at(metal: Metal, turned: Turned, level: float, start: float) -> list[float]:
    """Return the distance from Z 0 of the first face past a Z to rise through a height, mm; empty where none does."""
    for a, b in reversed(list(pairwise(metal.pieces))):
        for z, low, high in ((b[1], height(b, b[1]), height(b, b[0])), (b[0], height(b, b[0]), height(a, b[0]))):
            if turned.far - ASIDE <= b[0] <= start and low <= level < high:
                return [abs(_rise(b, level) if z == b[1] else z)]
    return []


def where_measured(metal: Metal, turned: Turned, edge: float) -> tuple[float, float]:
    """Return the height at which a section's headstock face is looked for, and Z at which that begins, mm."""
    level = min(_face_level(turned, edge), metal.highest(turned.far - FACE, turned.far) - 2.0 * THIN)
    return level, _where_begun(turned)


def _where_begun(turned: Turned) -> float:
    """Return Z at which the search for a section's headstock face begins, mm."""
    return min(turned.far + ASIDE, 0.5 * (turned.near + turned.far))


def _at_rim(metal: Metal, turned: Turned) -> list[float]:
    """Return the distance from Z 0 of a face, measured at its rim, mm.

    No edge is cut there yet; further in a tooth may stand before the face.
    """
    level = min(turned.far_radius, metal.highest(turned.far - FACE, turned.far)) - EDGE
    sizes = [_faces_at(metal, turned, at, _where_begun(turned)) for at in (level, level + EDGE / 2)]
    return sizes[0] if sizes[0] == sizes[1] else []


def stands_before(metal: Metal, turned: Turned, edge: float) -> bool:
    """Tell whether metal before a section's headstock face stands as high as where that is measured."""
    level, start = where_measured(metal, turned, edge)
    return metal.at(start) > level - THIN


def _rise(piece: Piece, level: float) -> float:
    """Return Z where a piece rising toward the headstock would reach a face: a line at a height, a round by itself."""
    _, _, bend, p, q, r, _ = piece
    return p - r if bend < 0 else p + (level - q) / r if not bend else p - math.sqrt(max(r * r - (level - q) ** 2, 0.0))


EDGE = 0.05
"""How far below an edge a face is looked for, mm, as the edge may be off."""


def _face_level(turned: Turned, edge: float) -> float:
    """Radius at which a section's headstock face is square, mm: above its corner and below the next one's edge.

    Where the next one is no larger, its face is the wall of the groove between the two: the middle of that.
    """
    low, high = turned.radius_far + fillet_of(turned.corner), turned.far_radius - edge
    if not turned.is_faced and (groove := undercut_at(turned.corner)) is not None:
        return 0.5 * (turned.radius_far - groove.depth + high)
    return high - max(min(EDGE, 0.25 * (high - low)), 2.0 * THIN)


def edges_past(turned: Sequence[Turned]) -> list[float]:
    """Size of the edge at the outer end of each section's headstock face, mm; 0 where it is sharp."""
    beyond = [t.edge for t in turned[1:]] + [None]
    found = [t.far_edge or edge for t, edge in zip(turned, beyond, strict=True)]
    return [size_of(edge) for edge in found]


def _limits_there(line: MeasureLine, members: Sequence[Turned]) -> tuple[float, float] | None:
    """Return the part's limits of what a line has measured, mm; of a taper where that is measured."""
    if line.of != "diameter":
        return members[-1].far_limits
    limits, wider = limits_of(members), wider_at(line, members[0])
    return None if limits is None else (limits[0] + wider, limits[1] + wider)


def _check_limits(sheet: Sheet, setting: Setting, line: MeasureLine, members: Sequence[Turned]) -> Iterator[Problem]:
    """Check that printed limits are the part's, rounded inward; after the last cut the figure lies within them."""
    if line.least is None or line.most is None:
        return
    limits = _limits_there(line, members)
    given = f"{line.least.text} to {line.most.text}"
    if limits is None:
        yield from _check_own_limits(sheet, setting, line, members[-1])
    elif not within_inward(line.least, line.most, limits, INWARD):
        allowed = f"{show(limits[0], line.least, sheet.unit)} to {show(limits[1], line.most, sheet.unit)}"
        what = f"has other limits than the part for {line.of} of {line.name}"
        yield problem_at(sheet.path, line.line, what, given, allowed)
    inside = line.expected.between(line.least.value, line.most.value, 0.0)
    if not line.then and not inside and not _told_coarse(sheet, line, members):
        what = f"expects {line.expected.text} after the last cut, outside its limits"
        allowed = f"{given}, or a line DIAL COARSER THAN LIMITS that names it"
        yield problem_at(sheet.path, line.line, what, line.expected.text, allowed)


def _told_coarse(sheet: Sheet, line: MeasureLine, members: Sequence[Turned]) -> bool:
    """Tell whether a page says that the dial is too coarse for what is measured."""
    coarse = {known_by(name) for name in sheet.coarse}
    if line.of == "shoulder":
        return known_by(f"shoulder past {line.name}") in coarse
    return known_by(line.name) in coarse or coarse.issuperset(known_by(t.section.name) for t in members)


def _check_own_limits(sheet: Sheet, setting: Setting, line: MeasureLine, last: Turned) -> Iterator[Problem]:
    """Check that limits that the part does not give lie alike on both sides of the aim, whatever was corrected."""
    assert line.least is not None
    assert line.most is not None
    thin = 2.0 * min(last.end_radius, last.radius_far)
    aim = abs(last.far) if line.of == "shoulder" else thin + wider_at(line, last)
    under, over = aim - line.least.value, line.most.value - aim
    spare = 2.0 * line.least.half + MEASURED + cone_spare(setting)
    if min(under, over) < -spare or abs(under - over) > spare:
        what = f"has limits for {line.of} of {line.name} that do not lie about its aim"
        given, allowed = f"{line.least.text} to {line.most.text}", show(aim, line.least, sheet.unit)
        yield problem_at(sheet.path, line.line, what, given, f"alike on both sides of {allowed}")
