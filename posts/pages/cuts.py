"""The rows of one setting: every pass as one dial and one stop, true of the metal that stands there at that time."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from dataclasses import replace
from itertools import chain, takewhile

from cam.geometry.path import Line, Point, length
from cam.ground.figures import Figures
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_PRINTED
from cam.part.features import fillet_of
from cam.plan.measures import FACE_EDGE, round_at
from cam.plan.model import Operation, Pass, Plan, SettingPlan
from cam.plan.rough import TURNING_CAUTION
from cam.plan.touch import END_FACE, side_on_end, touched
from cam.plan.warm import warm_before
from cam.setting.model import NOT_CORRECTED, Correction, Turned
from cam.shop.machine import Slide
from posts.dialect import load_dialect
from posts.pages.blocks import Band, Block, Cut, MeasureBlock, Points
from posts.pages.dial_words import SET_Z, z_turn
from posts.pages.measures import MeasureWords
from posts.pages.near import drawn_in, eye_may_touch, is_clear, start_by_eye
from posts.pages.nose import COARSELY, cut_trailing, left_by, plunged, rounded_by, trailing_edge, under_row, x_at
from posts.pages.points import BEHIND, FINEST, WORTH, Places, in_and_out, slants_in, slants_of, taper_places
from posts.pages.readings import SlideReading, has_reading, scales_of
from posts.pages.standing import Standing
from posts.program import LineNumbers
from posts.wording import number, plain

FACE = 0.25
"""How far before the stop a shoulder's face may stand, mm, or two divisions of a coarse dial; there it is no diameter
that a cut meets."""
ASIDE = 1.0
"""How far before its place a shoulder may stand, mm."""
SKIP, BY_STONE = "skip by hand", "by stone"
"""The words for a row whose marks would take nothing off, and for an edge that is finer than the marks of the dials."""
SIZED = ("semi-finish", "finish")
"""The kinds of pass that follow a section's outline."""
WHAT = {"finish": "{names}, last", "edge": "{names}: {detail}", "groove": "undercut {names}",
        "fillet": "fillet {names}: {detail}", "thread": "thread {names}", "part off": "part off"}  # fmt: skip
"""What a pass does, by its kind; the names alone where the kind is not here."""
SLOWLY = "X in as slowly as a cut: this row starts in the metal"
WARM = "the work is warm: slacken and reset the tailstock centre"

Stop = SlideReading | None
"""The reading at which Z stops; None where nothing is cut."""


class Landing(Row):
    """Where the slides land in a row of one dial and one stop.

    Attributes:
        x, z: readings. start: Z where the carriage starts. low, high: Z between which metal comes off, mm.
        leaves, was: diameter left there and standing there before, mm; of a plunge the greatest that comes off, or what
            it leaves. under: the surface under the tool.
    """

    x: SlideReading
    z: SlideReading
    start: float
    low: float
    high: float
    leaves: float
    was: float
    under: list[Point]


class RowMaker:
    """Deals out the rows of one setting, remembering tool, belt and feed, so that a change is said once.

    Attributes:
        scales: the scales of both slides.
        face: how far before its stop a shoulder's face may stand, mm.
        starts: where the carriage starts beside a centre, in figures, and what Z reads there.
        sized: by names of sections, the diameter that the last cut along them left, mm; of a taper, at its thin end.
        standing, rounded: the metal as rows have left it, faces square; and with the rounds that the noses leave.
        stops: where shoulders land, by where the plan has them; see posts.pages.landed.
        landed: by number of a last cut, the diameter that it left, at which diameter X stands there, and Z of the
            face, mm, None for none: on these a later tool's zeros are set.
        warned: the cautions of single passes that were given: each stands once on a page.
        coarse: the sizes that the X or Z dial is too coarse for, "diameter of front pivot".
    """

    def __init__(self, plan: Plan, planned: SettingPlan, figures: Figures) -> None:
        """Begin with the metal as it is before the setting."""
        self.lathe, self.planned, self.setting, self.figures = plan.shop.lathe, planned, planned.setting, figures
        self.scales = scales_of(self.lathe, float(plan.part.stock.diameter), planned, figures)
        self.face = max(FACE, 2 * self.scales.z.step + AS_PRINTED)
        self.standing, self.rounded = Standing(planned.setting), Standing(planned.setting)
        stepper = self.lathe.control.kind == "stepper"
        self.measuring = MeasureWords(plan.part, planned.setting, self.scales, figures, recorded=stepper)
        self.lines: LineNumbers | None = None
        if stepper and planned.passes:
            last = planned.passes[-1].number
            self.lines = LineNumbers(load_dialect(self.lathe.control.dialect), last)
        self.tool = planned.passes[0].tool.number if planned.passes else 0
        self.speed = ("", 0.0)
        self.feed, self.turn = "", ""
        self.warm = warm_before(planned)
        self.coarse: list[str] = []
        self.warned: set[str] = set()
        self.starts: dict[str, str] = {}
        self.sized: dict[tuple[str, ...], float] = {}
        self.landed: dict[int, tuple[float, float, float | None]] = {}
        self.stops: dict[float, float] = {}
        self.stop_of = {c.number: c.z_to for c in planned.passes}

    def lands(self) -> dict[str, float]:
        """Return, by section, the least diameter that a last cut along it leaves, mm; tapers are not in it."""
        last = [c for c in self.planned.passes if c.kind == "finish" and c.shape == "straight"]
        true = [(c, self.x_mark(c).at + 2 * c.cone_off + 2 * self.measuring.moved(c).radius) for c in last]
        named = set(chain.from_iterable(c.sections for c in last))
        return {
            t.section.name: min(left for c, left in true if makes(c, t))
            for t in self.setting.turned
            if t.section.name in named
        }

    def blocks(self) -> Iterator[Block]:
        """Yield bands, rows, points and measures, in order; a measure corrects no row that no handle cuts."""
        made = list(self.in_order())
        by_hand = {b.number for b in made if isinstance(b, Cut) and not b.how}
        for b in made:
            if isinstance(b, MeasureBlock) and not b.last:
                rows = tuple(n for n in b.rows if n in by_hand)
                yield replace(b, rows=rows, over=b.over if rows else "")
            else:
                yield b

    def in_order(self) -> Iterator[Block]:
        """Yield bands, rows, points and measures; see blocks."""
        for operation in self.planned.operations:
            for cut in operation.passes:
                band = tuple(self.changes(cut))
                if band:
                    yield Band(words=band)
                care = tuple(w for w in cut.cautions if w != TURNING_CAUTION and w not in self.warned)
                self.warned.update(care)
                for words in (tuple(map(plain, cut.before)), (" ".join(map(plain, care)),) * bool(care)):
                    yield from (Band(words=words),) * bool(words)
                yield from self.rows(operation, cut)

    # What is changed before a pass

    def changes(self, cut: Pass) -> Iterator[str]:
        """Yield what to change before a pass, each in its own words."""
        if cut.tool.number != self.tool:
            self.tool = cut.tool.number
            yield from self.change_to(cut)
        if cut.number in self.warm:
            yield WARM
        if (cut.speed_name, cut.rpm) != self.speed:
            self.speed = (cut.speed_name, cut.rpm)
            name, rpm = plain(cut.speed_name), f"{cut.rpm:.0f} rpm"
            yield f"belt {name}, about {rpm}" if name else f"spindle {rpm}"
            yield from (f"no faster: {plain(words)}" for words in self.rulers(cut))
        if cut.kind == "thread":
            return
        feed = self.figures.feed(cut.feed)
        if feed != self.feed:
            self.feed, self.turn = feed, ""
            yield f"feed {feed}"
        if (turn := z_turn(self.lathe.z, cut, feed)) not in ("", self.turn):
            self.turn = turn
            yield turn

    def change_to(self, cut: Pass) -> Iterator[str]:
        """Say which tool is mounted for a pass, and where its zeros can be set on finished metal."""
        yield f"tool {cut.tool.number}: {plain(cut.tool.name)}"
        if touch := list(self.touch_on(cut)):
            yield f"touch it on {', '.join(touch)}"

    def touch_on(self, cut: Pass) -> Iterator[str]:
        """Yield what X and Z read on the finished surfaces that a tool is set on before a pass."""
        size, face = touched(self.planned, cut)
        side = side_on_end(self.planned, cut.tool)
        if size is not None and self.has(self.lathe.x) and size.number in self.landed:
            diameter, at, _ = self.landed[size.number]
            at -= 2 * self.off_at(cut, size).radius
            reads = self.scales.x.finest(at, "near").text
            yield f"{plain(size.sections[-1])}, {self.figures.size(diameter)}: X {reads}"
        if side is None and face is not None:
            side = self.landed[face.number][2] if face.number in self.landed else None
            side = side - self.off_at(cut, face).face if side is not None else None
        if side is not None and self.has(self.lathe.z):
            words = f"shoulder past {plain(face.sections[-1])}" if face is not None else END_FACE
            yield f"the {words}: {SET_Z[self.lathe.z.reading].format(self.scales.z.finest(side, 'near').text)}"

    def off_at(self, cut: Pass, finished: Pass) -> Correction:
        """Return how far off finished metal the tool of a pass reads there: one that turns goes on as that was cut."""
        return self.measuring.moved(finished) if cut.tool.kind == "turning" else NOT_CORRECTED

    # Rows

    def rows(self, operation: Operation, cut: Pass) -> Iterator[Block]:
        """Yield the row of a pass, its points and its measures."""
        row = Cut(number=cut.number, what=self.what(operation, cut), line=self.line(cut))
        leaves: float | None = None
        stop: Stop = None
        if cut.kind == "thread":
            yield replace(row, how="by program")
        elif cut.shape == "points":
            leaves, stop = yield from self.points(row, cut)
            if stop is None:
                return  # nothing comes off, so there is nothing to measure
        else:
            leaves, stop = yield from self.straight(row, cut)
            if cut.shape == "straight":
                self.sized[cut.sections] = leaves
            if cut.kind == "finish":
                further = self.measuring.moved(cut).face
                self.stops[cut.z_to + further] = stop.at + further
        yield from self.measures(cut, leaves, stop)

    def measures(self, cut: Pass, leaves: float | None, stop: Stop) -> Iterator[Block]:
        """Yield the measures after a pass that leaves a diameter, mm, and stops there; none of both after a thread."""
        if leaves is not None:
            leaves = self.sized.get(cut.sections, leaves)
        after = [c for c in self.planned.passes if c.number > cut.number]
        for wanted in cut.measure:
            at: Stop = SlideReading("", wanted.expected)
            if stop is not None and wanted.kind != "diameter":
                at = self.face_at(cut, stop, leaves)
            if at is not None:
                left = leaves if leaves is not None else wanted.expected
                yield self.measuring.block(cut, wanted, left, at, after)

    def face_at(self, cut: Pass, stop: SlideReading, leaves: float | None) -> Stop:
        """Return where a shoulder's face stands; None where none does yet: it comes with a fillet or a deeper cut."""
        at = self.stands(cut, stop) if self.has_shoulder(cut, leaves) else None
        return at if at is not None and abs(at.at - stop.at) <= self.face else None

    def has_shoulder(self, cut: Pass, leaves: float | None) -> bool:
        """Tell whether the metal beyond a section is larger than a pass leaves the section."""
        return leaves is None or any(t.is_faced and 2 * t.far_radius > leaves + AS_PRINTED for t in self.turned(cut))

    def stands(self, cut: Pass, stop: SlideReading) -> Stop:
        """Return where the shoulder stands after a pass: at its stop, or further on where an earlier pass stopped.

        None where the metal before it stands as high as the place on its face at which it is measured, or where a slope
        beyond has left the nose's round before it lower than that.
        """
        last = self.last_of(cut)
        if last is None or last.far_kind != "shoulder":
            return stop
        top = last.far_radius - self.setting.edge_past(last)
        low = last.radius_far + fillet_of(last.corner)
        below = max(min(FACE_EDGE, 0.25 * (top - low)), 2 * FINEST)
        begin = min(last.far + ASIDE, 0.5 * (last.near + last.far))
        level = min(2 * (top - below), self.standing.greatest(last.far - FACE, last.far) - 4 * FINEST)
        if self.standing.greatest(begin - FINEST, begin) > level:
            return None
        face = self.standing.rise(begin, level)
        if not last.is_taper and self.round_ends_below(cut, face, level):
            return None
        return SlideReading(stop.text, face, stop.half, stop.within) if abs(face - stop.at) > AS_PRINTED else stop

    def round_ends_below(self, cut: Pass, face: float, level: float) -> bool:
        """Tell whether the round that a nose leaves before a face is lower than a diameter, mm, where it met that."""
        foot = self.standing.greatest(face, face + FINEST)
        met = face + round_at(float(cut.tool.nose_radius), (level - foot) / 2)
        return self.rounded.greatest(met - FINEST, met) < level - 4 * FINEST

    def line(self, cut: Pass) -> str:
        """Return the N word at which the program begins a pass; "" without a control."""
        first = self.lines.first(cut.number) if self.lines is not None else 0
        return f"N{first}" if first else ""

    def straight(self, row: Cut, cut: Pass) -> Generator[Block, None, tuple[float, SlideReading]]:
        """Yield a row of one dial and one stop; return the diameter that it leaves, mm, and where Z stops."""
        at = self.landing(cut)
        if self.takes_nothing(cut, at):
            yield replace(row, how=SKIP)
            stood = self.stands_on(cut, at)
            self.keep_landed(cut, stood, at.z)
            return stood, at.z
        if cut.shape != "plunge" and at.start < self.setting.end_z and self.in_metal(cut, at.start, at.leaves):
            yield Band(words=(SLOWLY,))
        if cut.shape == "plunge" and cut.kind == "face" and at.leaves <= 0:
            self.standing.face(at.low)
            self.rounded.face(at.low)
        else:
            high = at.high if cut.shape == "plunge" else at.under[-1].z  # the nose has come in behind its point
            self.standing.cut(at.low, high, at.leaves)
            self.rounded.cut_under(at.under)
            self.cut_behind(cut, at.low, at.leaves)
        x = at.x.text if self.has(self.lathe.x) else ""
        z = at.z.text if self.has(self.lathe.z) else ""
        self.keep_landed(cut, at.leaves, at.z)
        yield from self.true_of(cut, replace(row, x=x, z=z), at)
        return at.leaves, at.z

    def true_of(self, cut: Pass, row: Cut, at: Landing) -> Iterator[Block]:
        """Yield a row with its figures, true of the metal; before it, what a record has shown the slides to be out."""
        off = self.measuring.moved(cut) if cut.kind == "finish" else NOT_CORRECTED
        if words := tuple(self.measuring.off_words(off)):
            yield Band(words=words)
        along, place = cut.shape != "plunge", self.figures.place
        was, leaves = map(self.figures.size, (at.was + 2 * off.radius * along, at.leaves + 2 * off.radius))
        start, stop = place(at.start + off.face * (not along)), place(at.low + off.face)
        yield replace(row, was=was, leaves=leaves, start=start, stop=stop)

    def landing(self, cut: Pass) -> Landing:
        """Return where the slides land in a row of one dial and one stop, and what stands there."""
        x, z = self.x_reading(cut), self.z_reading(cut)
        start = z.at if cut.shape == "plunge" else self.start(cut, x.at / 2)
        high = self.tool_end(cut, z.at) if cut.shape == "plunge" else max(start, z.at)
        leaves = x.at + 2 * cut.cone_off
        was = self.stood(cut, z.at, high, leaves)
        if cut.kind == "rough" and was <= leaves + AS_PRINTED:  # the mark that leaves metal would take off nothing
            x = self.scales.x.mark(2 * cut.x, "near")
            leaves = x.at
        under = under_row(Point(z.at, leaves / 2), high, cut)
        if cut.shape == "plunge":
            edges = (under, trailing_edge(cut.tool, z.at, leaves))
            was = max(self.rounded.above(edge, FINEST) for edge in edges) or leaves
        return Landing(x, z, start, z.at, high, leaves, was, under)

    def takes_nothing(self, cut: Pass, at: Landing) -> bool:
        """Tell whether a row would take nothing off that its mark can tell."""
        if cut.kind not in ("rough", *SIZED):
            return False
        plunge, was = cut.shape == "plunge", max(at.was, self.stood(cut, at.low, at.high, at.leaves))
        if was <= at.leaves + AS_PRINTED:
            return True
        if cut.kind == "finish":
            return plunge and not (self.rounded.above(at.under, FINEST) or self.faced(at))
        if plunge and was - at.leaves >= 2 * float(cut.tool.nose_radius):
            return False  # else the nose before may have taken such a face
        return not self.rounded.above(at.under, FINEST if plunge else WORTH)

    def faced(self, at: Landing) -> bool:
        """Tell whether a face stands right at the stop of a row, and not a slope that rises behind it."""
        wall, most = self.standing.greatest(at.low - FINEST, at.low), self.standing.greatest(at.low - BEHIND, at.high)
        return wall > most - AS_PRINTED

    def stood(self, cut: Pass, low: float, high: float, leaves: float) -> float:
        """Return the greatest diameter that a row meets, mm, the face left out that the end of a cut takes back."""
        if cut.shape == "plunge":
            return self.standing.greatest(low, high)
        was = self.standing.greatest(low + min(self.face, (high - low) / 2), high)
        # a stair before a shoulder meets only what stands at its stop
        return was if was > leaves + AS_PRINTED else self.standing.greatest(low, high)

    def stands_on(self, cut: Pass, at: Landing) -> float:
        """Return the diameter that stands on the sections of a skipped row, mm: not on the extra length beside them."""
        near = max((t.near - t.extra_length for t in self.turned(cut)), default=at.high)
        return self.stood(cut, at.low, min(at.high, near), at.leaves) if near > at.low else at.was

    def keep_landed(self, cut: Pass, leaves: float, stop: SlideReading) -> None:
        """Note where a last cut has left a diameter, mm, and a shoulder's face, what was recorded of it counted in."""
        if cut.kind == "finish":
            moved = self.measuring.moved(cut)
            stands = self.stands(cut, stop) if self.has_shoulder(cut, leaves) else None
            diameter, face = leaves + 2 * moved.radius, stands.at + moved.face if stands is not None else None
            self.landed[cut.number] = diameter, diameter - 2 * cut.cone_off, face

    def in_metal(self, cut: Pass, start: float, leaves: float) -> bool:
        """Tell whether X, set to leave a diameter, mm, would go in through metal where a cut starts."""
        return self.standing.greatest(start, start + 2 * float(cut.tool.nose_radius)) > leaves + AS_PRINTED

    def start(self, cut: Pass, x: float) -> float:
        """Return where the carriage starts, Z in mm; beside a centre it is set by dial, as an eye may miss by too much.

        Args:
            x: the radius to which X is set, mm.
        """
        if not self.comes_in_beside(cut) or not self.has(self.lathe.z):
            return cut.z_from
        scale = self.scales.z
        if not eye_may_touch(self.setting, self.lathe, cut.tool, cut.z_from, x):
            return start_by_eye(self.setting, self.lathe, cut.tool, cut.z_from, x)
        first = scale.mark(cut.z_from)
        marks = [scale.mark(first.at - by, "near") for by in drawn_in(self.lathe, scale.step)]
        tried = (m for m in marks if is_clear(self.setting, self.lathe, cut.tool, Point(m.at, x)))
        reading = next(tried, marks[-1])
        self.starts[self.figures.place(reading.at)] = reading.text
        return reading.at

    def comes_in_beside(self, cut: Pass) -> bool:
        """Tell whether a cut along Z comes in beside a tailstock centre: from off the end, or down extra length."""
        beside = cut.z_from >= self.setting.end_z or slants_in(cut)
        return beside and self.setting.tail_centre is not None

    def has(self, slide: Slide) -> bool:
        """Tell whether a slide is set by its own reading."""
        return has_reading(self.lathe, slide)

    def tool_end(self, cut: Pass, z: float) -> float:
        """Return the Z up to which a plunge takes metal off, mm."""
        if cut.kind == "face":
            return max(self.setting.stock_end_z, z + float(cut.tool.nose_radius))
        wide = float(cut.tool.width) if cut.tool.kind == "grooving" else 2 * float(cut.tool.nose_radius)
        return z + wide

    def cut_behind(self, cut: Pass, z: float, leaves: float) -> None:
        """Take off the metal that the trailing edge of a knife, fed straight in, cuts beside its nose."""
        if cut.shape == "plunge":
            for metal in (self.standing, self.rounded):
                cut_trailing(metal, cut.tool, z, leaves)

    def x_reading(self, cut: Pass) -> SlideReading:
        """Return the reading to which X is set for a pass, keeping note of a diameter that it misses."""
        return self.noted(self.x_mark(cut), *(f"diameter of {t.section.name}" for t in self.sized_by(cut)))

    def x_mark(self, cut: Pass) -> SlideReading:
        """Return the reading to which X is set for a pass."""
        aim = 2 * cut.x
        if cut.kind in ("face", "part off"):
            return self.scales.x.mark(aim, "near")
        if cut.kind != "finish":
            return self.scales.x.mark(aim)
        if self.tapered(cut):
            return self.scales.x.foot(aim)
        return self.scales.x.last(aim, *self.diameter_limits(cut))

    def z_reading(self, cut: Pass) -> SlideReading:
        """Return the reading at which Z stops in a pass."""
        if cut.kind not in ("finish", "part off"):
            last_face = cut.kind == "face" and abs(cut.z_to - self.setting.end_z) < AS_PRINTED
            return self.noted(self.scales.z.mark(cut.z_to, "near" if last_face else "leave"))
        least, most = self.shoulder_limits(cut)
        return self.noted(self.scales.z.last(cut.z_to, least, most), f"shoulder past {cut.sections[-1]}")

    def noted(self, reading: SlideReading, *what: str) -> SlideReading:
        """Return the same reading, keeping note of any size that it misses."""
        if not reading.within:
            self.coarse += what
        return reading

    def turned(self, cut: Pass) -> list[Turned]:
        """Return the sections of a pass as this setting is to leave them."""
        return [t for t in self.setting.turned if t.section.name in cut.sections]

    def last_of(self, cut: Pass) -> Turned | None:
        """Return the last section of a pass; None where this setting does not turn it."""
        return next((t for t in self.turned(cut) if t.section.name == cut.sections[-1]), None)

    def sized_by(self, cut: Pass) -> list[Turned]:
        """Return the sections that a pass brings to size: its own, and those that it goes over or reaches into."""
        own = self.turned(cut)
        if cut.kind != "finish" or cut.shape != "straight":
            return own
        over = [*own, *self.alike(cut, own)]
        ends = {t.far for t in over if t.far_kind == "level"}  # where the nose stops, it has reached into a taper
        return [*over, *(t for t in self.setting.turned if t.is_taper and t.near in ends)]

    def alike(self, cut: Pass, own: list[Turned]) -> Iterator[Turned]:
        """Yield the other sections, of the same size as a pass's own, that it goes over."""
        sizes = {t.radius_near for t in own if not t.is_taper}
        others = (t for t in self.setting.turned if t not in own and not t.is_taper)
        return (t for t in others if t.radius_near in sizes and makes(cut, t))

    def tapered(self, cut: Pass) -> bool:
        """Tell whether a pass belongs to a taper."""
        return any(t.is_taper for t in self.turned(cut))

    def diameter_limits(self, cut: Pass) -> tuple[float, float]:
        """Return the limits of X, mm of diameter, moved with an aim that was corrected; 0 to infinity if none."""
        least, most = 0.0, math.inf
        for t in self.sized_by(cut):
            limits = t.size_limits
            if limits is None or (t.is_taper and t.section.name in cut.sections):
                continue
            moved = 2 * (cut.x - t.radius_near)
            low, high = self.figures.inside(*limits)
            high = math.inf if t.is_taper else high  # above it the nose only leaves the taper to its own row
            least, most = max(least, low + moved), min(most, high + moved)
        return least, most

    def shoulder_limits(self, cut: Pass) -> tuple[float, float]:
        """Return the limits of the Z stop, mm, about where the plan has it; minus to plus infinity if none."""
        last = self.last_of(cut)
        if last is None or last.far_limits is None:
            return -math.inf, math.inf
        lower, upper = (limit - abs(last.far) for limit in self.figures.inside(*last.far_limits, along=True))
        low, high = (lower, upper) if last.far > 0 else (-upper, -lower)
        return cut.z_to + low, cut.z_to + high

    # Points

    def rulers(self, cut: Pass) -> list[str]:
        """Return what limits the speed of a pass, and of those that follow it at the same speed."""
        passes = self.planned.passes
        after = takewhile(lambda c: (c.speed_name, c.rpm) == self.speed, passes[passes.index(cut) :])
        return list(dict.fromkeys(c.ruled_by for c in after if c.ruled_by))

    def points(self, row: Cut, cut: Pass) -> Generator[Block, None, tuple[float, Stop]]:
        """Yield the places that both slides make in a pass; return what it leaves and where Z stops, if it cuts."""
        tapered = next((t for t in self.turned(cut) if t.is_taper), None)
        if tapered is not None and cut.kind in ("taper", "semi-finish", "finish") and slants_of(cut):
            found = yield from self.taper(row, cut, tapered)
            if found is None:
                return 0.0, None
        else:
            found = in_and_out(cut, self.scales, self.rounded, self.stops)
            if not found.places:
                yield replace(row, how=BY_STONE if cut.kind == "edge" else SKIP)
                stop = SlideReading("", cut.z_to)  # of a fillet that the nose has left already, its face stands
                return 2 * cut.x, self.stands(cut, stop) if cut.kind == "fillet" else stop
            yield from (row, self.point_block(found, then=found.ridges(self.figures)))
        self.cut_at(cut, found)
        low, x = map(min, zip(*found.at, strict=True))
        return self.sized.get(cut.sections, 2 * x), SlideReading("", low)

    def taper(self, row: Cut, cut: Pass, tapered: Turned) -> Generator[Block, None, Places | None]:
        """Yield the row of a taper by the top slide, set over; return its places, None where nothing comes off."""
        found, angle = taper_places(cut, self.scales, tapered, self.setting, self.lathe)
        thin = self.thin_end(cut, tapered, found)
        self.note_taper(cut, tapered, thin)
        if not self.rounded.above(rounded_by(found.at[1], found.at[0], cut.tool), FINEST):
            yield replace(row, how=SKIP)
            return None
        yield row
        self.sized[cut.sections] = thin
        said = f"larger at the {'headstock' if tapered.radius_far > tapered.radius_near else 'tailstock'} end"
        yield self.point_block(found, angle=number(angle, 2, 2), travel=found.slid(self.figures), then=said)
        return found

    def note_taper(self, cut: Pass, tapered: Turned, leaves: float) -> None:
        """Keep note of a taper that the marks bring to no size within its limits."""
        limits = tapered.size_limits
        if cut.kind != "finish" or limits is None:
            return
        if not limits[0] - AS_PRINTED <= leaves <= limits[1] + AS_PRINTED:
            self.coarse.append(f"diameter of {tapered.section.name}")

    def thin_end(self, cut: Pass, tapered: Turned, found: Places) -> float:
        """Return the diameter that a cut along a taper leaves at its thin end, mm, as the dials have set it."""
        slant = max((s for s in slants_of(cut) if isinstance(s, Line)), key=length)
        aim, landed = (x_at(a, b, tapered.thin_end) for a, b in ((slant.start, slant.end), found.at))
        thin = cut.diameter + 2 * (min(tapered.end_radius, tapered.radius_far) - tapered.radius_near)
        return thin + 2 * (landed - aim)

    def point_block(self, found: Places, *, angle: str = "", travel: str = "", then: str = "") -> Points:
        """Put places in words."""
        x, z, places = "X", "Z", found.places
        if not self.has(self.lathe.x):
            x = "diameter"
            places = tuple((own, self.figures.size(2 * p.x)) for (own, _), p in zip(places, found.at, strict=True))
        if not self.has(self.lathe.z):
            places = tuple((self.figures.place(p.z), own) for (_, own), p in zip(places, found.at, strict=True))
        return Points(
            way="set over" if angle else "in and out", z_head=z, x_head=x, places=places, angle=angle, travel=travel,
            then=then, count=0 if angle else len(places),
        )  # fmt: skip

    def cut_at(self, cut: Pass, found: Places) -> None:
        """Take off the metal of a pass at its places: a cone between two of them, or the tool's own width at each."""
        if len(found.at) == 2 and cut.kind in ("taper", "semi-finish", "finish"):
            high, low = found.at
            self.standing.cut_under(left_by(low, high, cut.tool))
            self.rounded.cut_under(rounded_by(low, high, cut.tool))
            return
        for place in found.at:
            if cut.tool.kind == "grooving":
                for metal in (self.standing, self.rounded):
                    metal.cut(place.z, self.tool_end(cut, place.z), 2 * place.x)
            elif cut.kind == "fillet":
                for metal in (self.standing, self.rounded):
                    metal.cut_under(plunged(place, float(cut.tool.nose_radius), COARSELY))
                    cut_trailing(metal, cut.tool, place.z, 2 * place.x)

    # Words

    def what(self, operation: Operation, cut: Pass) -> str:
        """Say what a pass does, in the fewest words."""
        names = plain(" and ".join(cut.sections) if cut.kind in SIZED else cut.sections[-1])
        if cut.kind == "rough":
            here = self.stop_of[cut.number]
            stops = (c.number for c in reversed(operation.passes) if abs(self.stop_of[c.number] - here) < AS_PRINTED)
            return f"rough {names}" if cut.number == next(stops) else "rough"
        if cut.kind == "face":
            return "face the end, last" if cut is operation.passes[-1] else "face the end"
        if self.faces(cut):
            return f"face past {names}"
        return WHAT.get(cut.kind, "{names}").format(names=names, detail=plain(self.detail(cut)))

    def faces(self, cut: Pass) -> bool:
        """Tell whether a pass faces a shoulder; that of a taper is faced by a straight pass."""
        return cut.kind in SIZED and (cut.shape == "plunge" or (cut.shape == "straight" and self.tapered(cut)))

    def detail(self, cut: Pass) -> str:
        """Say a fillet or an edge as the part file has it."""
        if cut.kind == "fillet":
            return next(t.corner.text for t in self.turned(cut) if t.corner is not None)
        own = (t.edge.text for t in self.turned(cut) if t.edge is not None)
        beyond = (t.far_edge.text for t in self.setting.turned if t.far_edge is not None)
        return next(chain(own, beyond), "")


def makes(cut: Pass, turned: Turned) -> bool:
    """Tell whether a cut along Z is for a section, or takes in the whole of it."""
    over = cut.z_to <= turned.far + AS_PRINTED and cut.z_from >= turned.near - AS_PRINTED
    return over or turned.section.name in cut.sections
