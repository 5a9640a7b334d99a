"""The work as it is held, drawn for the page: headstock left, tailstock right, what was finished before hatched.

And beside it the strip: every shoulder of this setting at full size, to be laid along the work; and the bar that shows
whether the printer kept to that size.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from cam.frozen import Row
from cam.geometry.path import Chain, flatten
from cam.part.model import Part
from cam.setting.model import Setting
from posts.flow import Flow
from posts.ink import LEAST_TYPE, POINT, Box, Mark, Outline, Rule, Text, move, text_width
from posts.pages import SAME, Ruler
from posts.wording import plain

BESIDE = 44.0
"""Room at each side for how the work is held there, mm of paper."""
SIDE = BESIDE + 18.0
"""Room at each side, that for a centre and an end's letter with it."""
HIGH = 14.0
"""Room for the work's diameter, mm of paper."""
HATCH = 2.0
"""From one line of hatching to the next, across, mm."""
SHOULDER = 9.0
"""Length of the strip's lines, mm; the lines and the bar's ends are known by it to whoever measures a print."""


class Place(Row):
    """A shoulder on the strip.

    Attributes:
        z: from Z zero, mm. before: whether it was finished in an earlier setting.
    """

    z: float
    before: bool


def view_of(
    setting: Setting, part: Part, ruler: Ruler, held: Sequence[tuple[str, str]], width: float, size: float
) -> Flow:
    """The drawing, as wide as the page; its height follows.

    Args:
        held: who holds what, the headstock first; see posts.summary.held_words.
    """
    view = Flow(width, size)
    _View(setting, part, ruler, held, view).draw()
    return view


class _View:
    """Draws one setting; x of paper grows with Z, the axis is horizontal."""

    def __init__(
        self, setting: Setting, part: Part, ruler: Ruler, words: Sequence[tuple[str, str]], view: Flow
    ) -> None:
        self.words, self.beside = words, 0.0
        self.setting, self.part, self.ruler, self.view = setting, part, ruler, view
        self.held: list[tuple[float, str]] = []
        """Middle of what holds the work, and its name."""
        self.left = setting.head_z if setting.chuck is None else min(setting.grip_near - 4.0, setting.limit_z)
        self.right = max(setting.stock_end_z, setting.end_z)
        self.stock = _points(setting.stock)
        self.bar = max(x for _, x in self.stock)
        chuck = setting.chuck is not None
        room = view.width - (SIDE + 2.0 if chuck else 2 * SIDE)
        self.scale = min(room / (self.right - self.left), HIGH / (2 * self.bar))
        spare = room - self.scale * (self.right - self.left)
        self.start = (2.0 if chuck else SIDE) + spare / 2
        self.axis = view.line + 3.0 + self.bar * self.scale + 2.5

    def across(self, z: float) -> float:
        """The paper's x of a Z."""
        return self.start + (z - self.left) * self.scale

    def add(self, *marks: Mark) -> None:
        """Put marks on the page."""
        self.view.marks += marks

    def draw(self) -> None:
        """Everything, from the back to the front."""
        after = self.after()
        self.outline(self.stock, fill="none", line=0.2, dash="1.2 0.8")
        self.outline(after, fill="white", line=0.5)
        if self.setting.number > 1:
            self.hatch()
        self.hold()
        self.numbers()
        self.ends()
        tall = self.axis + self.bar * self.scale + 3.0
        self.add(Rule(self.across(self.left) - 4, self.axis, self.across(self.right) + 4, self.axis, 0.15, "6 1 1 1"))
        zero = self.across(0.0)
        self.add(Rule(zero, self.axis - self.bar * self.scale - 2.0, zero, tall, 0.35, "2 0.8"))
        self.view.height = max(tall + self.view.line, self.beside)
        under = [*self.held, (zero, "Z 0")]
        wide = [text_width(words, self.view.size, bold=True) + 2.0 for _, words in under]
        for x, (_, words) in zip(spread([x for x, _ in under], wide, 0.0, self.view.width), under, strict=True):
            self.add(Text(x, tall + 0.8 * self.view.line, words, self.view.size, bold=True, anchor="middle"))
        self.view.height += 0.3
        self.view.text("; ".join(f"{n} {plain(s.name)}" for n, s in enumerate(self.part.sections, start=1)))

    def after(self) -> list[tuple[float, float]]:
        """Z and radius along the work after this setting, from its right end."""
        turned = self.setting.turned
        found = [(self.setting.end_z, 0.0)]
        for t in turned:
            found += [(t.near, t.radius_near), (t.far, t.radius_far)]
        last = turned[-1].far if turned else self.right
        beyond = [(z, x) for z, x in self.stock if z < last - SAME]
        found.append((last, radius_at(self.setting.stock, last - SAME)))
        return [*found, *beyond]

    def outline(self, points: Sequence[tuple[float, float]], **look: object) -> None:
        """Upper and lower half as one outline."""
        kept = [(max(z, self.left), x) for z, x in points]
        upper = [(self.across(z), self.axis - x * self.scale) for z, x in kept]
        lower = [(self.across(z), self.axis + x * self.scale) for z, x in reversed(kept)]
        self.add(Outline(tuple(upper + lower), **look))  # type: ignore[arg-type]

    def hatch(self) -> None:
        """What an earlier setting finished."""
        last = self.setting.turned[-1].far if self.setting.turned else self.right
        beyond = [
            (last, radius_at(self.setting.stock, last - SAME)),
            *((z, x) for z, x in self.stock if z < last - SAME),
        ]
        for (z1, x1), (z2, x2) in pairwise(beyond):
            if z1 - z2 > SAME:
                half = min(x1, x2) * self.scale
                self.add(
                    *_hatching(self.across(max(z2, self.left)), self.across(z1), self.axis - half, self.axis + half)
                )

    def hold(self) -> None:
        """Centres, carrier, collet or chuck."""
        setting, far = self.setting, self.bar * self.scale
        if setting.chuck is not None:
            x = self.across(setting.grip_near)
            for top in (self.axis - far - 2.5, self.axis + 0.4 + far):
                self.add(Box(0.0, top, x, 2.1, fill="black", line=0.0))
            self.held.append((x / 2, setting.chuck.kind))
            return
        left, right = self.across(self.left), self.across(self.right)
        self.add(Outline(((left, self.axis), (left - 8, self.axis - 4.6), (left - 8, self.axis + 4.6))))
        half = setting.tail_centre is not None and setting.tail_centre.kind == "half"
        top = self.axis if half else self.axis - 4.6
        self.add(Outline(((right, self.axis), (right + 8, top), (right + 8, self.axis + 4.6))))
        if setting.carrier is not None:
            near, there = self.across(setting.grip_near), self.across(max(setting.grip_far, self.left))
            grip = setting.grip_diameter / 2 * self.scale
            for start, end in ((self.axis - far - 2.5, self.axis - grip), (self.axis + grip, self.axis + far + 2.5)):
                self.add(Box(there, start, max(near - there, 1.2), end - start, fill="black", line=0.0))
            self.held.append(((there + near) / 2, "carrier"))

    def numbers(self) -> None:
        """Number and diameter of each section over it; of those turned now in bold."""
        setting, size = self.setting, self.view.size
        turned = {t.section.name: t for t in setting.turned}
        labels = []
        for n, s in enumerate(self.part.sections, start=1):
            if math.isnan(s.start + s.end):
                continue
            t = turned.get(s.name)
            middle = setting.to_setting((s.start + s.end) / 2) if t is None else (t.near + t.far) / 2
            if not self.left <= middle <= self.right:
                continue
            sizes = (t.radius_near, t.radius_far) if t else (s.diameter_a / 2, s.diameter_b / 2)
            words = " / ".join(dict.fromkeys(self.ruler.size(2 * r) for r in sizes)) if t or setting.number > 1 else ""
            radius = max(sizes) if t or setting.number > 1 else self.bar
            labels.append((self.across(middle), str(n), words, t is not None, radius * self.scale))
        wide = [text_width(f"{n}: {w}" if w else n, size, bold=b) + 1.8 for _, n, w, b, _ in labels]
        places = spread([x for x, *_ in labels], wide, 0.0, self.view.width)
        base = 0.8 * self.view.line
        for at, (x, label, words, bold, radius) in zip(places, labels, strict=True):
            text = f"{label}: {words}" if words else label
            self.add(Text(at, base, text, size, bold=bold, anchor="middle"))
            self.add(Rule(at, base + 0.8, x, self.axis - radius, 0.15))

    def ends(self) -> None:
        """The letter of each end, black where it is turned now, and beside it how that end is held."""
        here, there = self.setting.end, "A" if self.setting.end == "B" else "B"
        held = list(self.words)
        between = self.setting.chuck is None
        for left, letter, now in ((True, there, False), (False, here, True)):
            if left and not between:
                continue
            x = BESIDE if left else self.view.width - BESIDE - 7.0
            self.add(Box(x, self.axis - 3.5, 7.0, 7.0, fill="black" if now else "white", line=0.4))
            self.add(Text(x + 3.5, self.axis + 2.1, letter, 17.0, bold=True, anchor="middle", white=now))
            text = Flow(BESIDE - 2.0, self.view.size)
            for mark, words in held[:1] if left or not between else held[1:]:
                text.item(words, mark)
            top = 1.2 * self.view.line
            self.view.marks += move(text.marks, 0.0 if left else self.view.width - BESIDE + 2.0, top)
            self.beside = max(self.beside, top + text.height)


def radius_at(chain: Chain, z: float) -> float:
    """Radius of an outline at a Z, mm; the larger where a face stands there."""
    best = 0.0
    for piece in chain:
        points = flatten(piece, 0.01)
        for a, b in pairwise(points):
            low, high = sorted((a, b))
            if low.z <= z <= high.z:
                share = (z - low.z) / (high.z - low.z) if high.z > low.z else 1.0
                best = max(best, low.x + share * (high.x - low.x))
    return best


def _points(chain: Chain) -> list[tuple[float, float]]:
    found = [(p.z, p.x) for piece in chain for p in flatten(piece, 0.01)]
    return list(dict.fromkeys(found))


def _hatching(left: float, right: float, top: float, bottom: float) -> Iterator[Rule]:
    """Lines rising to the right, within a rectangle."""
    tall = bottom - top
    k = math.floor((left - tall) / HATCH)
    while (x := k * HATCH) < right:
        low, high = max(left, x), min(right, x + tall)
        if high - low > 0.05:
            yield Rule(low, bottom - (low - x), high, bottom - (high - x), 0.18)
        k += 1


def spread(wanted: Sequence[float], widths: Sequence[float], least: float, most: float) -> list[float]:
    """Middles of labels near where they are wanted, in the same order, none over another.

    Args:
        widths: of each, with the gap that it keeps. least, most: where the first may begin and the last may end.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    found = [0.0] * len(wanted)
    edge = least
    for i in order:
        found[i] = max(wanted[i], edge + widths[i] / 2)
        edge = found[i] + widths[i] / 2
    edge = most
    for i in reversed(order):
        found[i] = min(found[i], edge - widths[i] / 2)
        edge = found[i] - widths[i] / 2
    return found


# Strip and bar


def strip_places(setting: Setting, part: Part) -> list[Place]:
    """Every shoulder and end on the strip, from the headstock; those of sections that wait are left out."""
    now = {round(z, 6) for t in setting.turned for z in (t.near, t.far) if z != t.far or t.far_kind != "open"}
    now |= {0.0, round(setting.end_z, 6)}
    before = set[float]()
    if setting.number > 1:
        faces = [z for s in part.sections for z in (s.start, s.end) if not math.isnan(z)]
        before = {round(setting.to_setting(z), 6) for z in faces}
        last = min((t.far for t in setting.turned), default=setting.end_z)
        before = {z for z in before if z < last - SAME and all(abs(z - n) > SAME for n in now)}
    return sorted([*(Place(z, False) for z in now), *(Place(z, True) for z in before)])


def strip_of(setting: Setting, part: Part, ruler: Ruler, width: float, size: float) -> Flow:
    """The strip, full size, in as many pieces as the paper's width asks for."""
    places = strip_places(setting, part)
    labels = sum(text_width(ruler.size(p.z), size, bold=True) + 1.4 for p in places)
    strip = Flow(min(width, max(places[-1].z - places[0].z + 8.0, labels)), size)
    pieces: list[list[Place]] = [[]]
    for place in places:
        if pieces[-1] and place.z - pieces[-1][0].z > width - 4.0:
            pieces.append([pieces[-1][-1]])
        pieces[-1].append(place)
    strip.height = 0.5
    for piece in pieces:
        _draw_piece(strip, setting, ruler, part, piece)
    return strip


def _draw_piece(strip: Flow, setting: Setting, ruler: Ruler, part: Part, places: Sequence[Place]) -> None:
    """One piece of the strip below what is there."""
    size, top = strip.size, strip.height + 0.8
    start = 2.0 - places[0].z
    strip.marks.append(Rule(0.0, top, places[-1].z + start + 2.0, top, 0.7))
    for place in places:
        x = place.z + start
        role = f"shoulder {place.z:.4f}"
        strip.marks.append(Rule(x, top, x, top + SHOULDER, 0.25, "1.2 0.8" if place.before else "", role))
    labels = [ruler.size(p.z) for p in places]
    wide = [text_width(w, size) + 1.4 for w in labels]
    under = top + SHOULDER + 2.0
    for at, words, place in zip(
        spread([p.z + start for p in places], wide, 0.0, strip.width), labels, places, strict=True
    ):
        strip.marks.append(Rule(place.z + start, top + SHOULDER, at, under, 0.12))
        strip.marks.append(Text(at, under + size * POINT * 0.85, words, size, bold=place.z == 0.0, anchor="middle"))
    _diameters(strip, setting, ruler, part, places, top)
    strip.height = under + size * POINT * LOW


LOW = 1.15
"""Room under a label, in sizes."""


def _diameters(strip: Flow, setting: Setting, ruler: Ruler, part: Part, places: Sequence[Place], top: float) -> None:
    """Number and diameter between the lines of each section that this setting turns."""
    numbers = {s.name: n for n, s in enumerate(part.sections, start=1)}
    start, size = 2.0 - places[0].z, strip.size
    shown = []
    for t in setting.turned:
        if t.far_kind == "open" or t.far < places[0].z - SAME or t.near > places[-1].z + SAME:
            continue
        sizes = dict.fromkeys(ruler.size(2 * r) for r in (t.radius_near, t.radius_far))
        shown.append(((t.near + t.far) / 2 + start, t.near - t.far, f"{numbers[t.section.name]}: {' / '.join(sizes)}"))
    for x, room, words in shown:
        small = size
        while small > LEAST_TYPE and text_width(words, small) > room - 0.8:
            small -= 0.5
        fits = text_width(words, small) <= room - 0.8
        text = words if fits else words.partition(":")[0]
        strip.marks.append(Text(x, top + SHOULDER / 2 + 1.2, text, small, anchor="middle"))


def bar_of(size: float) -> Flow:
    """A bar of 100 mm over one of 4 in, with their ticks."""
    bar = Flow(102.0, size)
    top = size * POINT
    for long, count, words, low in ((100.0, 10, "100 mm", False), (101.6, 4, "4 in", True)):
        y = top + (2.9 if low else 2.1)
        bar.marks.append(Box(0.0, y, long, 0.8, fill="black", line=0.0, role=f"bar {words}"))
        for k in range(count + 1):
            x = long * k / count
            bar.marks.append(Rule(x, top + (3.3 if low else 0.5), x, top + (5.3 if low else 2.5), 0.25, role="tick"))
        where = top + 6.0 + size * POINT if low else top - 0.4
        bar.marks.append(Text(long, where, words, size, bold=True, anchor="end"))
    bar.height = top + 6.5 + size * POINT
    return bar
