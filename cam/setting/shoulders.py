"""The places to aim shoulders at: the middle of the limits of each length, from the metal already aimed.

Every face is counted from the end that is turned first. Faces made in the first setting are measured from that end,
those of the second from the deepest shoulder of the first, where Z is then zero. A length without limits between the
two takes up what they move by, or else the length of the whole part does.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from itertools import pairwise

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.part.checks import is_groove
from cam.part.features import End
from cam.part.model import Part, Section
from cam.part.spans import Span
from cam.setting.aims import LEAST_ROOM, WELL_WITHIN
from cam.setting.apart import GENERAL
from cam.setting.order import Share
from cam.setting.words import at_least, between_marks, quoted, say
from cam.shop.model import Lathe

LEAST_SHARE = 0.1
"""The share that a short length without limits may give to its neighbours, or take from them. Common practice."""


def most_off(length: float) -> float:
    """Return how much a length (mm) without limits may be aimed off the drawing, mm: ISO 2768-1 fine, less if short."""
    most = next(within for most, within in GENERAL if length <= most + ROUNDING)
    return min(most, length * LEAST_SHARE)


def _has_room(lower: float, upper: float) -> bool:
    """Tell whether a length as drawn lies well inside its limits, which are relative to that, mm."""
    return min(-lower, upper) >= LEAST_ROOM


def above_least(section: Section) -> float:
    """Return by how much a section is aimed longer than the least that it may be aimed at, mm.

    One that is drawn longer may be aimed there, where the Z slide can be set to it.
    """
    tolerance = section.length_tolerance
    lower = tolerance.lower if tolerance is not None else -most_off(section.length)
    return max(section.end - section.start - section.length - lower, 0.0)


def long_enough(section: Section, lacking: float) -> float:
    """Return how long a section must be drawn to be aimed longer by what it lacks, wherever it is then aimed, mm."""
    drawn = section.length + lacking + above_least(section)
    if section.length_tolerance is not None:
        return drawn
    aimed = drawn - most_off(section.length)
    for _ in range(10):  # what it may be aimed off grows with it, by a tenth
        drawn = aimed + most_off(drawn)
    return drawn


@frozen
class Lengths:
    """Where every face is aimed.

    Attributes:
        part: the part with its faces there; the `length` of its sections stays as drawn.
        spare: for each face that limits ask for, by its number from the A end: how far it may stand from its aim
            toward the A end, and toward the B end, mm.
        longer: how much longer than drawn the whole part is made, mm.
        reasons: a sentence for every aim that is not simply the middle of the limits.
    """

    part: Solved
    spare: Mapping[int, tuple[float, float]]
    longer: float
    reasons: tuple[str, ...]


class _Stretch(Row):
    """A section, with the groove cut together with it, between two faces counted from the end turned first.

    Attributes:
        near, far: numbers of its faces.
        limits: those of its length, relative to what is drawn, mm; None where there are none.
        groove: number of the face where its groove begins, and of the shoulder beside it; None without a groove.
        tapered: whether it is a taper, which keeps its angle and so its length.
        name: of the section.
    """

    near: int
    far: int
    limits: tuple[float, float] | None
    groove: tuple[int, int] | None
    tapered: bool
    name: str


class _Made(Row):
    """A shoulder that a setting makes.

    Attributes:
        early: whether the first setting makes it.
        left: what is left on it for later, mm.
        section: the section that ends in it.
    """

    early: bool
    left: float
    section: Section


def aim_lengths(part: Solved, lathe: Lathe, first: End, share: Share, recorded: Collection[int] = ()) -> Lengths:
    """Aim every shoulder at the middle of the limits of its length, as far as the Z slide can be set to it.

    The faces from and to which a span counts are solved already and stay; so do those that are recorded.

    Args:
        first: the end turned first.
        share: places of the sections turned in each setting, from its end inward.
        recorded: numbers of the faces, from the A end, whose places are recorded as really cut.

    Raises:
        ProblemError: limits of lengths that cannot all be kept between faces that stay.
    """
    return _Aiming(part, lathe, first, share, recorded).aim()


class _Aiming:
    """The faces of one part, counted from the end that is turned first."""

    def __init__(self, part: Solved, lathe: Lathe, first: End, share: Share, recorded: Collection[int]) -> None:
        self.part, self.step, self.first, self.share = part, float(lathe.z.division), first, share
        self.slide = lathe.z
        self.count = len(part.sections)
        faces = [0.0, *(s.end for s in part.sections)]
        self.drawn = self.turned_round(faces)
        self.new = list(self.drawn)
        self.recorded = bool(recorded)
        self.pinned = {self.face(n) for n in recorded} | {self.face(n) for n in _spanned(part)}
        self.spans = [span.tolerance for span in _spans(part) if span.tolerance is not None]
        self.made = dict(self._shoulders())
        self.met = {self.face(n) for n in _meetings(part)}
        self.stretches = list(self._cut_up())
        self.datum = max((n for n, made in self.made.items() if made.early), default=0)
        self.between: dict[int, str] = {}
        self.shared: list[str] = []
        self.short = False

    def face(self, number: int) -> int:
        """Return a face's number, counted from the other end if the B end is turned first."""
        return number if self.first == "A" else self.count - number

    def turned_round(self, places: list[float]) -> list[float]:
        """Return places of faces counted from the other end, if the B end is turned first, mm."""
        return places if self.first == "A" else [places[-1] - z for z in reversed(places)]

    def at(self, place: int) -> int:
        """Return the section between the face of this number and the next, by its place in the part."""
        return place if self.first == "A" else self.count - 1 - place

    def aim(self) -> Lengths:
        """Aim all faces."""
        extra = self.part.holding.extra_at(self.first)
        parts = list(self.parts(early=True))
        self.move_spans(parts[:1], -extra)
        for part in parts:
            self.close(part, -extra, last=True)
        zero = self.new[self.datum] - self.made[self.datum].left if self.datum in self.made else -extra
        if not math.isnan(math.fsum(self.drawn)):
            for part in self.parts(early=False):
                self.close(part, zero)
        if self.new[-1] > self.drawn[-1] + self.room() + ROUNDING:
            self._refuse_at_limits()
            self.new, self.between, self.shared, self.short = list(self.drawn), {}, [], True
        for s in self.stretches:
            if s.groove is not None:
                self.new[s.groove[0]] = self.drawn[s.groove[0]] + self._shift(s.groove[1])
        return Lengths(
            part=self._moved(),
            spare=dict(self._spares()),
            longer=0.0 if math.isnan(self.drawn[-1]) else self._shift(self.count),
            reasons=tuple(self._reasons()),
        )

    def room(self) -> float:
        """Return how much longer than drawn the bar lets the part be, mm."""
        holding = self.part.holding
        ends = holding.extra_at("A") + holding.extra_at("B")
        return float(self.part.stock.length) - self.drawn[-1] - ends - float(holding.facing)

    def _refuse_at_limits(self) -> None:
        """Refuse a bar so short that lengths as drawn, which lie at the very limit, would have to be aimed at.

        A division more is asked for, as turned from the other end first the part may be aimed that much longer.
        """
        tight = [s.name for s in self.stretches if s.limits and self.real(s.far) and not _has_room(*s.limits)]
        if not tight:
            return
        stock = self.part.stock.length
        need = at_least(stock + self.new[-1] - self.drawn[-1] - self.room() + self.step, self.part)
        found = Problem(
            where=stock.where,
            what=f"the stock is too short for the limits of the length of {quoted(tight)}",
            given=f'length = "{stock.text}"; as drawn, nothing is left between what is aimed at and a limit',
            allowed=f"at least {need}: the part is made {say(self.new[-1], self.part)} long, to come within all limits",
            fix="saw a longer piece, take less extra length, or draw that length within its limits",
        )
        raise ProblemError([found])

    # --- what there is

    def _shoulders(self) -> Iterator[tuple[int, _Made]]:
        """Yield the faces that rise at the far end of a section, by number, with the setting that makes them."""
        for early, toward, i in self._cut():
            groove = self._groove(i, toward)
            last = i if groove is None else groove
            beyond = last + toward
            if not 0 <= beyond < self.count or (self._rise(i, beyond, toward) <= ROUNDING and groove is None):
                continue
            left = self.part.sections[last].finish.on_face
            yield self.face(last + (1 if toward > 0 else 0)), _Made(early, left, self.part.sections[i])

    def _cut(self) -> Iterator[tuple[bool, int, int]]:
        """Yield each section turned: whether the first setting turns it, which way its headstock is, its place."""
        for early, indices in ((True, self.share[0]), (False, self.share[1])):
            toward = 1 if early == (self.first == "A") else -1
            yield from ((early, toward, i) for i in indices)

    def _rise(self, i: int, beyond: int, toward: int) -> float:
        one, two = self.part.sections[i], self.part.sections[beyond]
        return two.diameter_a - one.diameter_b if toward > 0 else two.diameter_b - one.diameter_a

    def _groove(self, i: int, toward: int) -> int | None:
        """Return the groove cut together with a section, at its side toward the headstock; None if there is none."""
        found, beyond = i + toward, i + 2 * toward
        if not (0 <= beyond < self.count and is_groove(self.part, found)):
            return None
        return found if self.part.sections[beyond].thickest >= self.part.sections[i].thickest else None

    def _cut_up(self) -> Iterator[_Stretch]:
        """Yield the whole part as stretches."""
        owners: dict[int, int] = {}
        for _, toward, i in self._cut():
            groove = self._groove(i, toward)
            if groove is not None:
                owners.setdefault(groove, i)
        place = 0
        while place < self.count:
            here = self.at(place)
            after = self.at(place + 1) if place + 1 < self.count else -1
            if owners.get(here) == after:
                yield self._stretch(place, place + 2, after, (place + 1, place))
                place += 2
            elif owners.get(after) == here:
                yield self._stretch(place, place + 2, here, (place + 1, place + 2))
                place += 2
            else:
                yield self._stretch(place, place + 1, here, None)
                place += 1

    def _stretch(self, near: int, far: int, index: int, groove: tuple[int, int] | None) -> _Stretch:
        section = self.part.sections[index]
        return _Stretch(near, far, self._limits(index), groove, section.is_taper, section.name)

    def _limits(self, index: int) -> tuple[float, float] | None:
        """Return the limits of a section's own length, mm; a span's are beyond its shoulder, and a groove has none."""
        tolerance = self.part.sections[index].length_tolerance
        if tolerance is None or is_groove(self.part, index) or any(tolerance is t for t in self.spans):
            return None
        return tolerance.lower, tolerance.upper

    # --- where they go

    def parts(self, *, early: bool) -> Iterator[list[_Stretch]]:
        """Yield the stretches of a setting up to each face that stays where it is, then those after the last of them.

        Args:
            early: whether of the first setting.
        """
        part: list[_Stretch] = []
        for stretch in self.stretches:
            if (stretch.far <= self.datum) is not early:
                continue
            part.append(stretch)
            if stretch.far in self.pinned:
                yield part
                part = []
        if part:
            yield part

    def move_spans(self, parts: list[list[_Stretch]], zero: float) -> None:
        """Move all faces from the first that a span counts from on, where every length before it has limits.

        What a span asks for is between its faces: they go together, by what brings those lengths to their middles.

        Args:
            parts: the stretches up to that face, if there are any. zero: where Z is zero in the setting, mm.
        """
        for part in parts:
            face = part[-1].far
            if self.recorded or face not in self.pinned or self._gap(part, last=True) is not None:
                return
            limits = [self.bounds(s) for s in part]
            low, high = (self.drawn[face] + math.fsum(v) for v in zip(*limits, strict=True))
            by = self.settle(face, (low + high) / 2, (low, high), zero) - self.drawn[face]
            self.new[face:] = [place + by for place in self.new[face:]]

    def close(self, part: list[_Stretch], zero: float, *, last: bool = False) -> None:
        """Aim the faces between two that stay, or up to the deepest shoulder of the first setting or the far end.

        Lengths with limits follow one another from the first face; from one without limits on, which takes up the
        rest, they are counted back from the last one.

        Args:
            zero: where Z is zero in the setting, mm.
            last: whether the last length without limits takes up the rest, not the first; without a last face, none
                then does.
        """
        gap = self._gap(part, last=last)
        for stretch in part[:gap]:
            self.go(stretch, 1, zero)
        if gap is None:
            self.share_out(part, zero)
            return
        for stretch in reversed(part[gap + 1 :]):
            self.go(stretch, -1, zero)
        self._pass_on(part, gap, zero)

    def _pass_on(self, part: list[_Stretch], gap: int, zero: float) -> None:
        """Let the others take what is more than the length that takes up the rest can give."""
        taken = self.length(part[gap]) - self.drawn_length(part[gap])
        over = abs(taken) - self.give(part[gap])
        if over <= ROUNDING or part[gap].far in self.pinned:
            return
        if part[-1].far in self.pinned and any(s.limits for s in part):  # none can go on: all share it
            self.share_out(part, zero)
        else:  # what is too much for it goes on to those that follow
            if part[gap].far in self.made:
                over = math.ceil(over / self.step - ROUNDING) * self.step  # it stays where the slide can be set
            self.new[part[gap].far] -= math.copysign(over, taken)
            for stretch in part[gap + 1 :]:
                self.go(stretch, 1, zero)

    def _gap(self, part: list[_Stretch], *, last: bool) -> int | None:
        """Return the place of the length that takes up the rest, a taper only where there is no other; None for none.

        Args:
            last: as for `close`.
        """
        if last and part[-1].far not in self.pinned:
            return None
        free = [k for k, s in enumerate(part) if s.limits is None or not self.real(s.far)]
        straight = [k for k in free if not part[k].tapered]
        return next(iter((straight or free)[:: -1 if last else 1]), None)

    def share_out(self, part: list[_Stretch], zero: float) -> None:
        """Aim lengths between two faces that stay off the middles of their bounds, by one share of each width.

        Args:
            zero: where Z is zero in the setting, mm.

        Raises:
            ProblemError: their limits do not allow what they are together as drawn.
        """
        if part[-1].far not in self.pinned:
            return
        limits = [self.bounds(s) for s in part]
        between = self._shift(part[-1].far) - self._shift(part[0].near)
        over = between - math.fsum(low + high for low, high in limits) / 2
        if not abs(over) > ROUNDING:
            return
        width = math.fsum(high - low for low, high in limits)
        if abs(over) > width / 2 - LEAST_ROOM + ROUNDING and self._limited(part):
            raise ProblemError([self._too_much(part, limits, between)])
        if len(part) > 1 and width:
            self._place(part, limits, over / width, zero)

    def _limited(self, part: list[_Stretch]) -> bool:
        """Tell whether any of the lengths has limits that still count: nothing is recorded as really cut."""
        return any(s.limits for s in part) and not self.recorded

    def _place(self, part: list[_Stretch], limits: list[tuple[float, float]], share: float, zero: float) -> None:
        """Put each face but the last off the middle of the limits of its length by a share of their width."""
        self.shared += [s.name for s in part]
        room = max(0.5 - abs(share), 0.0) * min(high - low for low, high in limits if high > low)
        place = self.new[part[0].near]
        for stretch, (low, high) in zip(part[:-1], limits, strict=False):
            place += self.drawn_length(stretch) + (low + high) / 2 + share * (high - low)
            if high > low:
                self.new[stretch.far] = self.settle(stretch.far, place, (place - room, place + room), zero)
            else:  # a taper gives nothing, and keeps its length from where it really begins
                self.new[stretch.far] = self.new[stretch.near] + self.drawn_length(stretch)

    def _too_much(self, part: list[_Stretch], limits: list[tuple[float, float]], between: float) -> Problem:
        """Return the problem of lengths whose limits cannot all be kept between two faces that stay."""
        drawn = math.fsum(self.drawn_length(s) for s in part)
        least, most = (math.fsum(v) for v in zip(*limits, strict=True))
        least, most = least + LEAST_ROOM, most - LEAST_ROOM
        low, high = (say(drawn + v, self.part) for v in (least, most))
        limited = [s.name for s in part if s.limits is not None]
        off = at_least(max(least - between, between - most), self.part)
        helps = f"limits that let {quoted(limited)} be {off} {'shorter' if least > between else 'longer'}"
        return Problem(
            where=self.part.sections[self.at(part[-1].near)].where,
            what=f"the limits of the lengths of {quoted(s.name for s in part)} cannot all be kept",
            given=f"{say(drawn + between, self.part)} between the faces at both ends of them, which stay",
            allowed=f"{low} to {high}, well within their limits together",
            fix=f"{helps}{' together' if len(limited) > 1 else ''}"
            + (", or one of these lengths without any" if len(limited) == len(part) else ""),
        )

    def go(self, stretch: _Stretch, way: int, zero: float) -> None:
        """Aim one end of a stretch from the other: the far one from the near one (way 1), or the other way round.

        Args:
            zero: where Z is zero in the setting that makes the shoulder, mm.
        """
        start, end = (stretch.near, stretch.far) if way > 0 else (stretch.far, stretch.near)
        if end in self.pinned:
            return
        plain = self.new[start] + way * self.drawn_length(stretch)
        if stretch.limits is None or not self.real(end):
            most = self.give(stretch)
            self.new[end] = min(max(self.drawn[end], plain - most), plain + most)
            return
        low, high = sorted(plain + way * v for v in stretch.limits)
        self.new[end] = self.settle(end, (low + high) / 2, (low, high), zero)

    def bounds(self, stretch: _Stretch) -> tuple[float, float]:
        """Return the limits of a stretch, or what it may give, relative to what is drawn, mm."""
        give = self.give(stretch)
        return stretch.limits if stretch.limits is not None and self.real(stretch.far) else (-give, give)

    def give(self, stretch: _Stretch) -> float:
        """Return how much a length without limits may differ from the drawing, mm; a taper keeps its own.

        A groove beside it keeps its width, so all of that goes to the section's own.
        """
        if stretch.tapered:
            return 0.0
        wide = 0.0 if stretch.groove is None else abs(self.drawn[stretch.groove[1]] - self.drawn[stretch.groove[0]])
        return most_off(self.drawn_length(stretch) - wide)

    def real(self, face: int) -> bool:
        """Whether a face is a turned shoulder, an end, or where a taper begins; cylinders of one size meet at none."""
        return face in self.made or face in (0, self.count) or face in self.met

    def settle(self, face: int, wanted: float, limits: tuple[float, float], zero: float) -> float:
        """Return the place to which the Z slide can be set, if it is well within the limits; else the place wanted."""
        made, (low, high) = self.made.get(face), limits
        if made is None:
            return wanted
        left = -made.left if made.early else made.left
        steps = (wanted + left - zero) / self.step
        # of two settings as near, the one that leaves more
        whole = math.ceil(steps - 0.5 - ROUNDING) if made.early else math.floor(steps + 0.5 + ROUNDING)
        settable = whole * self.step + zero - left
        self.between.pop(face, None)
        if abs(settable - wanted) <= (high - low) * WELL_WITHIN + ROUNDING:
            return settable
        self.between[face] = made.section.name
        return min(max(round(wanted + left - zero, 3) + zero - left, low), high)

    def length(self, stretch: _Stretch) -> float:
        """Return its length as aimed, mm."""
        return self.new[stretch.far] - self.new[stretch.near]

    def drawn_length(self, stretch: _Stretch) -> float:
        """Return its length as drawn, mm."""
        return self.drawn[stretch.far] - self.drawn[stretch.near]

    def _shift(self, face: int) -> float:
        return self.new[face] - self.drawn[face]

    # --- what comes of it

    def _moved(self) -> Solved:
        """Return the part with its faces where they are aimed."""
        if all(n == d or math.isnan(d) for n, d in zip(self.new, self.drawn, strict=True)):
            return self.part
        places = self.turned_round(self.new)
        sections = tuple(
            replace(s, start=a, end=b) for s, a, b in zip(self.part.sections, places, places[1:], strict=False)
        )
        return replace(self.part, sections=sections)

    def _spares(self) -> Iterator[tuple[int, tuple[float, float]]]:
        """Yield how far each limited shoulder may stand from its aim, by its number from the A end."""
        for face, made in self.made.items():
            found = [v for v in (self._own(face, made), self._beyond(face, made)) if v is not None]
            if not found:
                continue
            low, high = max(v[0] for v in found), min(v[1] for v in found)
            if low > high:
                low, high = found[0]
            before, after = self.new[face] - low, high - self.new[face]
            yield self.face(face), (before, after) if self.first == "A" else (after, before)

    def _own(self, face: int, made: _Made) -> tuple[float, float] | None:
        """Return the least and greatest place, mm, by limits of the section that ends here or the span beyond it."""
        tolerance = made.section.length_tolerance
        if tolerance is not None and any(tolerance is t for t in self.spans):
            way = -1 if made.early else 1
            low, high = sorted(self.new[face] + way * v for v in (tolerance.lower, tolerance.upper))
            return low, high
        return self._by(face, 1 if made.early else -1)

    def _beyond(self, face: int, made: _Made) -> tuple[float, float] | None:
        """Return the least and greatest place of a shoulder of setting 2, mm, by the length to what setting 1 left."""
        before = next((s.near for s in self.stretches if s.far == face), self.count)
        return None if made.early or before > self.datum else self._by(face, 1)

    def _by(self, face: int, way: int) -> tuple[float, float] | None:
        """Return the least and greatest place of a face, mm, by the stretch before it (way 1) or after it (way -1)."""
        found = next((s for s in self.stretches if (s.far if way > 0 else s.near) == face), None)
        if found is None or found.limits is None or not all(map(self.real, (found.near, found.far))):
            return None
        plain = self.new[found.near if way > 0 else found.far] + way * self.drawn_length(found)
        low, high = sorted(plain + way * v for v in found.limits)
        return None if math.isnan(low) else (low, high)

    def _reasons(self) -> Iterator[str]:
        """Yield the reasons for aims that are not simply the middle of their limits."""
        if self.between:
            words = between_marks(self.slide, "Z", f"{say(self.step, self.part)} apart")
            yield f"The shoulder past {quoted(self.between.values())} is aimed {words}."
        if self.shared:
            yield (
                f"{quoted(self.shared)} are aimed off the middle of the limits of their lengths, by the same share of "
                "each: the faces at both ends of them stay where they are."
            )
        if self.short:
            yield "Lengths are aimed at as drawn: the bar is too short for the middle of the limits of each."
        if abs(self._shift(self.count)) > ROUNDING:
            yield (
                f"The part is made {say(self.new[-1], self.part)} long, {say(self.drawn[-1], self.part)} drawn, so "
                "that each length comes to the middle of its limits."
            )


def _spans(part: Solved) -> tuple[Span, ...]:
    measured = part.measured
    return measured.spans if measured is not None else ()


def _meetings(part: Part) -> Iterator[int]:
    """Yield the numbers of the faces where a taper meets a neighbour of its size."""
    for n, (a, b) in enumerate(pairwise(part.sections), start=1):
        if a.diameter_b == b.diameter_a and (a.is_taper or b.is_taper):
            yield n


def _spanned(part: Solved) -> Iterator[int]:
    """Yield the numbers of the faces from and to which spans count."""
    names = [s.name for s in part.sections]
    for span in _spans(part):
        yield from span.faces(names)
