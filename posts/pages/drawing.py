"""The work as it is held in one setting, drawn for the sheet: sections with their sizes, shoulders with their places.

Below it, on the printed sheet alone, the same shoulders at full size, to be laid against the work, and a bar by which
the printer's scale is checked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from cam.geometry.path import Chain, flatten
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PRINTED, ROUNDING
from cam.part.model import Part, Section
from cam.setting.model import Setting, Turned
from cam.setting.profiles import own_end_radius
from posts.pages.svg import ClosedOutline, Mark, Rule, Text, box, spread, text_width, to_svg
from posts.wording import plain

Show = Callable[[float], str]
"""A function that shows a length in mm as the page does."""
SIDE = 22.0
"""The space left and right of the work for what holds it, mm of paper."""
HIGH = 17.0
"""The greatest height to which the bar is drawn, mm of paper."""
ELSEWHERE = 0.25
"""How far from its plan a face may be recorded to stand that is looked for there, mm."""
NAMES, SIZES, SMALL, PLACES = 3.2, 4.0, 3.3, 3.5
"""Heights of type, mm: of names over the work, of diameters in it, also in short sections, of places under it."""


class DrawnSection(Row):
    """A section as the sheet draws it.

    Attributes:
        name: as printed. near, far: Z of its ends, near > far, mm. radius_near, radius_far: its radii there as this
            setting leaves them, mm. now: whether it is turned in this setting.
    """

    name: str
    near: float
    far: float
    radius_near: float
    radius_far: float
    now: bool

    def lies_in(self, other: DrawnSection) -> bool:
        """Tell whether its middle is within another section's ends: a groove in what is turned with it."""
        return other.far < (self.near + self.far) / 2 < other.near


def pieces_of(setting: Setting, part: Part, finished: Sequence[Setting]) -> list[DrawnSection]:
    """Return the sections that are turned here or stand finished, from the tailstock to the headstock.

    Args:
        finished: the earlier settings, with the diameters that they left.
    """
    made = _made(setting, finished)
    rest = [_standing(setting, s) for s in part.sections if setting.number > 1 and not math.isnan(s.start + s.end)]
    return _joined(made, [p for p in rest if not any(p.lies_in(other) for other in made)])


def _made(setting: Setting, finished: Sequence[Setting]) -> list[DrawnSection]:
    """Return what this setting turns, and what earlier ones did and it does not."""
    here = [_turned_here(setting, t) for t in setting.turned]
    before = [_turned_before(setting, earlier, t) for earlier in finished for t in earlier.turned]
    return [*here, *(p for p in before if p.name not in {h.name for h in here})]


def _joined(made: Sequence[DrawnSection], rest: Iterable[DrawnSection]) -> list[DrawnSection]:
    """Return sections in order, each to the face between it and the next; made: those that a setting has turned."""
    found = sorted([*made, *rest], key=lambda p: -p.near)
    names = {p.name for p in made}
    for n in range(len(found) - 1):
        a, b = found[n : n + 2]
        if a.now:
            found[n + 1] = b._replace(near=a.far)
        elif a.name not in names:  # its faces are those that the settings make beside it
            found[n] = a._replace(far=b.near)
    return found


def _turned_here(setting: Setting, t: Turned) -> DrawnSection:
    """Return a section as a setting turns it, as far as its tool may go."""
    far = t.far if t.far_kind != "open" else max(t.far, setting.limit_z)
    return DrawnSection(plain(t.section.name), t.near, far, t.radius_near, own_end_radius(t), True)


def _turned_before(setting: Setting, earlier: Setting, t: Turned) -> DrawnSection:
    """Return a section as an earlier setting left it: what is stoned later is not stoned yet.

    Its ends are the faces that stand there, which may be recorded to have come out elsewhere.
    """
    faces = [p.start.z for p in setting.stock if abs(p.start.z - p.end.z) < ROUNDING]

    def place(z: float) -> float:
        wanted = setting.to_setting(earlier.to_part(z))
        return min((f for f in faces if abs(f - wanted) < ELSEWHERE), key=lambda f: abs(f - wanted), default=wanted)

    return DrawnSection(plain(t.section.name), place(t.far), place(t.near), own_end_radius(t), t.radius_near, False)


def _standing(setting: Setting, section: Section) -> DrawnSection:
    """Return a section that is turned in no setting yet as it stands."""
    ends = ((section.start, section.diameter_a), (section.end, section.diameter_b))
    (far, radius_far), (near, radius_near) = sorted((setting.to_setting(z), d / 2) for z, d in ends)
    if radius_near == radius_far:
        radius_near = radius_far = radius_at(setting.stock, (near + far) / 2)
    return DrawnSection(plain(section.name), near, far, radius_near, radius_far, False)


def draw_setting(
    setting: Setting, part: Part, size: Show, place: Show, width: float, finished: Sequence[Setting]
) -> str:  # fmt: skip
    """Draw a setting as SVG, as wide as the page.

    Args:
        size, place: how diameters and places from Z 0 are printed. width: mm of paper. finished: as for pieces_of.
    """
    view = _View(setting, part, width, finished)
    marks = [*view.work(), *view.holds(), *view.names(size), *view.places(place), *view.ends()]
    return to_svg(marks, width, view.height, f"setting {setting.number}: the work as it is held, with its sizes")


def _name_width(name: str) -> float:
    """Return the width of a name over the work, with its gap, mm of paper."""
    return text_width(name, NAMES) + 2.0


def drawing_height(setting: Setting, width: float) -> float:
    """Return the height of a setting's drawing, mm of paper."""
    return NAMES + 2 * _extent(setting)[2] * _scale(setting, width) + 6.0 + PLACES


def _extent(setting: Setting) -> tuple[float, float, float]:
    """Return the least and greatest Z that are drawn, and the bar's radius, mm."""
    held = setting.chuck is not None
    left = min(setting.grip_near - 4.0, setting.limit_z) if held else setting.head_z
    return left, max(setting.stock_end_z, setting.end_z), max(x for _, x in _points(setting.stock))


def _scale(setting: Setting, width: float) -> float:
    """Return how many mm of paper stand for one mm of the work."""
    left, right, bar = _extent(setting)
    return min((width - 2 * SIDE) / (right - left), HIGH / (2 * bar))


class _View:
    """Draws one setting; x of paper grows with Z, the axis is horizontal."""

    def __init__(self, setting: Setting, part: Part, width: float, finished: Sequence[Setting]) -> None:
        self.setting, self.part, self.width = setting, part, width
        self.pieces = pieces_of(setting, part, finished)
        self.stock = _points(setting.stock)
        self.left, self.right, self.bar = _extent(setting)
        self.scale = _scale(setting, width)
        self.start = (width - self.scale * (self.right - self.left)) / 2
        self.half = self.bar * self.scale
        self.axis = NAMES + 3.0 + self.half
        self.height = drawing_height(setting, width)

    def at(self, z: float) -> float:
        """Return the x on the paper of a Z, mm."""
        return self.start + (max(z, self.left) - self.left) * self.scale

    def work(self) -> Iterator[Mark]:
        """Draw the bar as it was before, dashed, and what this setting leaves of it."""
        yield self.outline(self.stock, "none", 0.25, "1.6 1")
        yield self.outline(self.after(), "white", 0.55)
        for piece in self.pieces:
            if not piece.now:
                yield from self.hatch(piece)
            for z, radius in ((piece.near, piece.radius_near), (piece.far, piece.radius_far)):
                yield Rule(
                    self.at(z), self.axis - radius * self.scale, self.at(z), self.axis + radius * self.scale, 0.3
                )
        yield Rule(self.at(self.left) - 5, self.axis, self.at(self.right) + 5, self.axis, 0.12, "6 1 1 1")

    def after(self) -> list[tuple[float, float]]:
        """Return Z and radius along the work after this setting, from its right end."""
        turned = self.setting.turned
        found = [(self.setting.end_z, 0.0)]
        for t in turned:
            found += [(t.near, t.radius_near), (max(t.far, self.setting.limit_z), t.radius_far)]
        last = found[-1][0] if turned else self.right
        found.append((last, radius_at(self.setting.stock, last - AS_PRINTED)))
        return [*found, *((z, x) for z, x in self.stock if z < last - AS_PRINTED)]

    def outline(self, points: Sequence[tuple[float, float]], fill: str, line: float, dash: str = "") -> ClosedOutline:
        """Draw the upper and lower half as one outline."""
        upper = [(self.at(z), self.axis - x * self.scale) for z, x in points]
        lower = [(self.at(z), self.axis + x * self.scale) for z, x in reversed(points)]
        return ClosedOutline(tuple(upper + lower), fill, line, dash)

    def hatch(self, piece: DrawnSection) -> Iterator[Rule]:
        """Draw lines over what an earlier setting finished."""
        half = min(piece.radius_near, piece.radius_far) * self.scale
        left, right = self.at(piece.far), self.at(piece.near)
        x = left - 2 * half
        while x < right:
            low, high = max(left, x), min(right, x + 2 * half)
            if high - low > 0.05:
                yield Rule(low, self.axis + half - (low - x), high, self.axis + half - (high - x), 0.15)
            x += 2.0

    def holds(self) -> Iterator[Mark]:
        """Draw centres, carrier, collet or chuck."""
        setting = self.setting
        if setting.chuck is not None:
            x = self.at(setting.grip_near)
            for top in (self.axis - self.half - 3.0, self.axis + self.half + 0.4):
                yield box(x - 12.0, top, 12.0, 2.6, "black", 0.0)
            yield Text(x - 13.0, self.axis + 1.2, setting.chuck.kind, NAMES, anchor="end")
            return
        left, right = self.at(self.left), self.at(self.right)
        half = setting.tail_centre is not None and setting.tail_centre.kind == "half"
        yield ClosedOutline(((left, self.axis), (left - 9, self.axis - 5), (left - 9, self.axis + 5)), "#bbb")
        yield ClosedOutline(
            ((right, self.axis), (right + 9, self.axis if half else self.axis - 5), (right + 9, self.axis + 5)), "#bbb"
        )
        if setting.carrier is not None:
            yield from self.carrier()

    def carrier(self) -> Iterator[Mark]:
        """Draw the carrier where it grips."""
        setting = self.setting
        near, far = self.at(setting.grip_near), self.at(setting.grip_far)
        grip = setting.grip_diameter / 2 * self.scale
        wide = max(near - far, 1.5)
        yield box(near - wide, self.axis - self.half - 2.0, wide, self.half + 2.0 - grip, "#444", 0.0)
        yield box(near - wide, self.axis + grip, wide, self.half + 2.0 - grip, "#444", 0.0)

    def names(self, size: Show) -> Iterator[Mark]:
        """Write the name over each section and the carrier, each diameter in its section; those turned now in bold."""
        middles = [(self.at(p.near) + self.at(p.far)) / 2 for p in self.pieces]
        over = [(p.name, x, max(p.radius_near, p.radius_far) * self.scale)
                for p, x in zip(self.pieces, middles, strict=True)]  # fmt: skip
        if self.setting.carrier is not None:
            gripped = (self.at(self.setting.grip_near) + self.at(self.setting.grip_far)) / 2
            over.append(("carrier", gripped, self.half + 2.0))
        names, at, tops = zip(*over, strict=True)
        if sum(map(_name_width, names)) > self.width:  # more than there is room for: by their numbers on the first page
            numbers = {plain(s.name): str(n) for n, s in enumerate(self.part.sections, start=1)}
            names = tuple(numbers.get(name, name) for name in names)
        places = spread(at, [*map(_name_width, names)], 0.0, self.width)
        for name, middle, top, x in zip(names, at, tops, places, strict=True):
            yield Text(x, NAMES, name, NAMES)
            yield Rule(x, NAMES + 0.7, middle, self.axis - top, 0.12)
        yield from self.sizes(size, middles)

    def sizes(self, size: Show, middles: Sequence[float]) -> Iterator[Mark]:
        """Write the diameters, spread along the axis where there is no room in the section itself."""
        words = ["/".join(dict.fromkeys(size(2 * r) for r in (p.radius_far, p.radius_near))) for p in self.pieces]
        for type_ in (SIZES, SMALL):
            wide = [text_width(w, type_) + 1.2 for w in words]
            places = spread(middles, wide, 0.0, self.width)
            if all(abs(x - m) < 1.0 for x, m in zip(places, middles, strict=True)):
                break
        for piece, text, x in zip(self.pieces, words, places, strict=True):
            half = text_width(text, type_) / 2
            yield box(x - half, self.axis - type_ / 2, 2 * half, type_, "white", 0.0)
            yield Text(x, self.axis + 0.36 * type_, text, type_, bold=piece.now)

    def places(self, place: Show) -> Iterator[Mark]:
        """Write each shoulder's distance from Z 0 under the work."""
        zs = places_of(self.setting)
        words = ["Z 0" if abs(z) < AS_PRINTED else place(z) for z in zs]
        wide = [text_width(w, PLACES) + 1.6 for w in words]
        low = self.axis + self.half
        xs = [self.at(z) for z in zs]
        for z, x, text, at in zip(zs, xs, words, spread(xs, wide, 0.0, self.width), strict=True):
            yield Rule(x, low + 0.5, x, low + 2.2, 0.25)
            if abs(x - at) > 0.3:
                yield Rule(x, low + 2.2, at, low + 3.0, 0.15)
            yield Text(at, low + 2.6 + PLACES, text, PLACES, bold=abs(z) < AS_PRINTED)

    def ends(self) -> Iterator[Mark]:
        """Write the letter of each end, black where it is turned now."""
        here, there = self.setting.end, "A" if self.setting.end == "B" else "B"
        for x, letter, now in ((4.0, there, False), (self.width - 4.0, here, True)):
            if self.setting.chuck is not None and not now:
                continue
            yield box(x - 3.2, self.axis - 3.2, 6.4, 6.4, "black" if now else "white", 0.4)
            yield Text(x, self.axis + 1.8, letter, 5.0, bold=True, white=now)


def places_of(setting: Setting) -> list[float]:
    """Return the Z of every shoulder and end that this setting makes, and Z 0, from the headstock to the tailstock."""
    now = {round(z, 6) for t in setting.turned for z in (t.near, t.far) if z != t.far or t.far_kind != "open"}
    return sorted(now | {0.0, round(setting.end_z, 6)})


def radius_at(chain: Chain, z: float) -> float:
    """Return the radius of an outline at a Z, mm; the larger where a face stands there."""
    best = 0.0
    for a, b in pairwise(_points(chain)):
        (z0, x0), (z1, x1) = sorted((a, b))
        if z0 <= z <= z1:
            share = (z - z0) / (z1 - z0) if z1 > z0 else 1.0
            best = max(best, x0 + share * (x1 - x0))
    return best


def _points(chain: Chain) -> list[tuple[float, float]]:
    found = [(p.z, p.x) for piece in chain for p in flatten(piece, 0.01)]
    return list(dict.fromkeys(found))


# Full size

SHOULDER = 7.0
"""The height of the strip's lines, mm."""
STRIP_TYPE = 3.2
"""The height of the strip's figures, mm."""


def draw_strip(setting: Setting, place: Show, width: float) -> str:
    """Draw every shoulder at full size, in as many pieces as the paper's width asks for.

    Args:
        place: how places from Z 0 are printed. width: mm of paper.
    """
    pieces = _strip_pieces(places_of(setting), width)
    wide, tall = strip_size(setting, width, place)
    marks = [m for n, zs in enumerate(pieces) for m in _strip_piece(zs, place, wide, n * tall / len(pieces))]
    return to_svg(marks, wide, tall, "the shoulders at full size")


def strip_size(setting: Setting, width: float, place: Show = "{:.4f}".format) -> tuple[float, float]:
    """Return the width and height of the strip, mm of paper."""
    pieces = _strip_pieces(places_of(setting), width)
    labels = math.fsum(text_width(place(z), STRIP_TYPE) + 1.4 for z in pieces[0])
    wide = min(max(labels, *(zs[-1] - zs[0] + 6.0 for zs in pieces)), width)
    return wide, (SHOULDER + STRIP_TYPE + 3.0) * len(pieces)


def _strip_pieces(zs: Sequence[float], width: float) -> list[list[float]]:
    pieces: list[list[float]] = [[]]
    for z in zs:
        if pieces[-1] and z - pieces[-1][0] > width - 6.0:
            pieces.append([pieces[-1][-1]])
        pieces[-1].append(z)
    return pieces


def _strip_piece(zs: Sequence[float], place: Show, width: float, top: float) -> Iterator[Mark]:
    """Draw one piece of the strip: a heavy line to fold along, and a line across for each shoulder."""
    start = 3.0 - zs[0]
    yield Rule(0.0, top + 0.5, zs[-1] + start + 3.0, top + 0.5, 0.7)
    words = ["Z 0" if abs(z) < AS_PRINTED else place(z) for z in zs]
    wide = [text_width(w, STRIP_TYPE) + 1.4 for w in words]
    low = top + 0.5 + SHOULDER
    for z, text, at in zip(zs, words, spread([z + start for z in zs], wide, 0.0, width), strict=True):
        yield Rule(z + start, top + 0.5, z + start, low, 0.25, role=f"shoulder {z:.4f}")
        yield Rule(z + start, low, at, low + 1.5, 0.12)
        yield Text(at, low + 1.7 + 0.8 * STRIP_TYPE, text, STRIP_TYPE, bold=abs(z) < AS_PRINTED)


def draw_bar() -> str:
    """Draw a bar of 100 mm over one of 4 in, with their ticks."""
    marks: list[Mark] = []
    for long, count, words, y in ((100.0, 10, "100 mm", 0.6), (101.6, 4, "4 in", 5.0)):
        marks.append(box(0.3, y + 1.2, long, 0.8, "black", 0.0, role=f"bar {words}"))
        marks += [Rule(0.3 + long * k / count, y, 0.3 + long * k / count, y + 2.0, 0.25) for k in range(count + 1)]
        marks.append(Text(102.8, y + 2.2, words, 2.8, anchor="start"))
    return to_svg(marks, 114.0, 7.6, "a bar of 100 mm and one of 4 in")
