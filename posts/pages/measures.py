"""The lines at which the work is measured: figure expected, limits, and the correction worked out for this dial."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from cam.geometry.path import ends_of
from cam.ground.figures import Figures
from cam.ground.tolerances import AS_PRINTED
from cam.ground.units import MM_PER_INCH, show_number
from cam.lengths.solved import Solved, length_limits
from cam.part.fits import read_fit
from cam.part.model import Section
from cam.part.spans import Hole
from cam.plan.model import Measure as Wanted
from cam.plan.model import Pass
from cam.setting.measured import spans_at
from cam.setting.model import Correction, Setting, Turned
from cam.setting.profiles import growth
from cam.shop.machine import Slide
from posts.dials import is_inch
from posts.pages.blocks import MeasureBlock
from posts.pages.readings import Scales, SlideReading, SlideScale
from posts.shown import lengths_beyond, share_of_shoulder, shoulder_of
from posts.wording import plain

UNDER = {
    "pivot": "scrap, or a hole made to it",
    "journal": "scrap, or a hole made to it",
    "seat": "scrap, or refit",
    "square blank": "rounder corners",
}
"""What it means, by role, that a section is turned too small; common practice, no source. For any other: SCRAP. Where
the part file gives its hole, see MeasureWords."""
SCRAP, OPEN = "scrap", "open its hole to fit"
BLADES = "blade anvils"
STONES = ("file", "stone", "burnish")


class MeasureWords:
    """Puts the measures of one setting into words."""

    def __init__(
        self, part: Solved, setting: Setting, scales: Scales, figures: Figures, *, recorded: bool
    ) -> None:  # fmt: skip
        """Remember whose measures these are. recorded: whether a program can be made anew from what is read."""
        self.setting, self.scales, self.figures, self.recorded = setting, scales, figures, recorded
        measured = part.measured
        self.holes = {hole.section: hole for hole in (() if measured is None else measured.holes)}
        self.spans = () if measured is None else tuple(spans_at(part, measured, setting))
        limited = length_limits(part)
        self.spans = tuple((n, s) for n, s in self.spans if (s.first if setting.end == "A" else s.last) not in limited)
        """The sections whose far shoulder ends a span with the limits of that span alone, each with it."""

    def block(
        self, cut: Pass, wanted: Wanted, leaves: float, stop: SlideReading, after: Sequence[Pass]
    ) -> MeasureBlock:  # fmt: skip
        """Make one measure after a cut.

        Args:
            leaves: the diameter that the cut leaves as the dial lands, mm. stop: where Z stopped.
            after: the passes of the setting that follow the cut.
        """
        x, read = wanted.kind == "diameter", self._read(cut, wanted)
        block = self._diameter(cut, wanted, leaves) if x else self._shoulder(cut, wanted, abs(stop.at), after)
        if not block.last:  # what is scrap is said once, where it is measured last
            again = any((m.kind, m.sections) == (wanted.kind, wanted.sections) for c in after for m in c.measure)
            rows = tuple(corrected_with(self.setting, after, cut, wanted))
            block = replace(block, rows=rows, under="" if again else block.under)
        if math.isnan(read):
            return block
        return replace(block, value=(self.figures.size if x else self.figures.place)(read), over="corrected")

    def _diameter(self, cut: Pass, wanted: Wanted, leaves: float) -> MeasureBlock:
        last = wanted.when == "after last cut"
        least, most = self.figures.limits(*self._limits(wanted))
        over = self._again(cut) if last else correct_x(self.scales.x, self.figures)
        if not last:
            over = f"{self._of_shoulder(cut, wanted)}{over}"
        leaves += sum(2 * growth(t) * wanted.further for t in self._tapers(wanted))
        leaves += 2 * self.moved(cut).radius if last or self.moved(cut).along else 0.0
        return MeasureBlock(
            of="diameter",
            name=plain(wanted.what if wanted.over else " and ".join(wanted.sections)),
            expected=self.figures.size(leaves),
            least=least,
            most=most,
            last=last,
            over=over,
            under=f"under {least}: {self._under(wanted, least)}" if wanted.given else "",
            record=self._record(wanted, "diameter"),
            place="; ".join((*self._where(wanted), *[BLADES] * wanted.blades)),
        )

    def _where(self, wanted: Wanted) -> Iterator[str]:
        """Say at which Z a taper is measured: an anvil's edge is there, and the rest of it over what is thinner."""
        return (f"at Z {self.figures.place(t.thin_end - wanted.further)}" for t in self._tapers(wanted))

    def _tapers(self, wanted: Wanted) -> Iterator[Turned]:
        """Yield the tapers among what is measured."""
        return (t for t in self.setting.turned if t.is_taper and t.section.name in wanted.sections)

    def _of_shoulder(self, cut: Pass, wanted: Wanted) -> str:
        """Say what of a shoulder's error a steep taper's diameter has in it, which Z, corrected, takes out of it."""
        shoulder, turned = shoulder_of(cut.measure), self.setting.turned
        shares = (share_of_shoulder(t, shoulder) for t in turned if t.section.name in wanted.sections)
        share = next(filter(None, shares), 0.0)
        do = "add" if share > 0 else "take"
        return f"first {do} {abs(share):.2f} of what its shoulder is over; " if share else ""

    def _under(self, wanted: Wanted, least: str) -> str:
        """Say what is done with a diameter that is under its limits: by section, where several turned as one differ.

        Where some of it is left for file, stone or burnisher, less of it comes off, down to the limits when finished.

        Args:
            least: the least as turned, as it is printed.
        """
        turned = (t for t in self.setting.turned if t.section.name in wanted.sections)
        means = {t.section.name: self._below(t, wanted, least) for t in turned}
        if len(set(means.values())) > 1:
            return "; ".join(f"{plain(name)} {words}" for name, words in means.items())
        return next(iter(means.values()), SCRAP)

    def _below(self, t: Turned, wanted: Wanted, least: str) -> str:
        """Say what is done with one section that is under its limits as turned, then under those when finished."""
        left, thin, limits = t.section.finish.on_diameter, self._thin(t.section), t.size_limits
        if not left or limits is None or wanted.over:
            return thin
        wider = 2 * growth(t) * wanted.further - left
        down_to = self.figures.limits(limits[0] + wider, limits[1] + wider)[0]
        if down_to == least:
            return thin
        if t.section.name not in self.holes:
            thin = thin.partition(", or ")[0]  # a line has no room for both ways out
        return f"{t.section.finish.route[1]} less, {down_to}: {thin}"

    def _thin(self, section: Section) -> str:
        """Say what is done with a section that is too small when finished: what runs in a hole goes by that."""
        hole, limits = self.holes.get(section.name), section.tolerance
        if hole is None or limits is None:
            return UNDER.get(section.role, SCRAP)
        if hole.now is None:
            return OPEN
        size, shake = min(section.diameter_a, section.diameter_b), most_shake(hole, section)
        least = size + limits.lower
        runs = f"side shake over {self.figures.fine(hole.now - least)} in its hole of {self.figures.fine(hole.now)}"
        if math.isinf(shake):  # of a hole that stays as it is
            return f"scrap, or {runs}"
        thinnest = hole.now + hole.smoothing - shake
        down_to = self.figures.limits(thinnest, size + limits.upper)[0]
        if hole.use == "open":
            return f"{OPEN}, down to {down_to}"
        return f"{runs}, under {down_to} scrap" if thinnest < least - AS_PRINTED else SCRAP

    def _limits(self, wanted: Wanted) -> tuple[float, float]:
        """Return the limits of a diameter, mm; if the part file has none, at least what the nearest mark may be off."""
        if wanted.given or wanted.over:
            return wanted.least, wanted.most
        aim, width = (wanted.least + wanted.most) / 2, (wanted.most - wanted.least) / 2
        width = max(width, self.scales.x.step / 2 + self.figures.digit())
        return aim - width, aim + width

    def moved(self, cut: Pass) -> Correction:
        """Return the correction that the last cut was given, from what the stop before it read."""
        return self.setting.correction_of(cut.sections)

    def off_words(self, off: Correction) -> Iterator[str]:
        """Say by how much what a corrected row leaves differs from what the slides read, as its stop has shown."""
        fine = self.figures.fine
        if off.radius:
            yield f"X leaves {fine(2 * abs(off.radius))} {'more' if off.radius > 0 else 'less'} than it reads"
        if off.face:
            way = "tailstock" if off.face > 0 else "headstock"
            yield f"Z stops {fine(abs(off.face))} nearer the {way} than it reads"

    def _read(self, cut: Pass, wanted: Wanted) -> float:
        """Return what a stop before a last cut read, mm; nan where nothing was read, or just what was expected."""
        off, before = self.moved(cut), wanted.when == "before last cut"
        if off.along and wanted.kind == "diameter":
            return math.nan
        more = 2 * off.radius if wanted.kind == "diameter" else -off.face if wanted.scrap == "over" else off.face
        return wanted.expected + more if before and more else math.nan

    def _again(self, cut: Pass) -> str:
        """Say what is done with a diameter that is over its limits after the last cut."""
        route = {s for t in self.setting.turned if t.section.name in cut.sections for s in t.section.finish.route}
        steps = tuple(step for step in STONES if step in route)
        return f"over: {STONES_WORDS[steps]}" if steps else "over: again, further in"

    def _shoulder(self, cut: Pass, wanted: Wanted, expected: float, after: Sequence[Pass]) -> MeasureBlock:
        last = wanted.when == "after last cut"
        if last:
            face = self.moved(cut).face
            expected += -face if wanted.scrap == "over" else face
        least, most = self.figures.limits_along(wanted.least, wanted.most)
        more = "under" if wanted.scrap == "over" else "over"
        rim = cut.shape == "plunge" and not last  # further in an uncut tooth stands before its last cut
        return MeasureBlock(
            of="shoulder",
            name=plain(wanted.sections[-1] if wanted.sections else cut.sections[-1]),
            expected=self.figures.place(expected),
            least=least,
            most=most,
            last=last,
            over=f"{more}: face it again"
            if last
            else f"{self._length(wanted)}{correct_z(self.scales.z, wanted.scrap == 'over', self.figures)}",
            under=self._too_far(wanted, after) if wanted.given else "",
            record=self._record(wanted, "shoulder"),
            place="at its rim" if rim else "",
        )

    def _too_far(self, wanted: Wanted, after: Sequence[Pass]) -> str:
        """Say past which figure a shoulder was cut too far, and what is done then.

        A span that has room for more end shake, or something left for the fitting, lets it go further than its limits.
        """
        turned = [t for t in self.setting.turned if t.section.role != "undercut"]
        at = [t.section.name in wanted.sections for t in turned].index(True)
        name, here, longer = turned[at].section.name, turned[at], wanted.scrap == "over"
        further, words = 0.0, ""
        if spans := [s for n, s in self.spans if n == name and s.tolerance == here.section.length_tolerance]:
            room = min(s.shake.most - s.shake.aim for s in spans) + max(s.fitting_allowance for s in spans)
            further, words = max(room - abs(_past(wanted) - abs(here.far)), 0.0), SCRAP
        least, most = self.figures.limits_along(wanted.least - further, wanted.most + further)
        return f"{f'over {most}' if longer else f'under {least}'}: {words or self._goes_along(turned[: at + 1], after)}"

    def _goes_along(self, run: Sequence[Turned], after: Sequence[Pass]) -> str:
        """Say what is done with the last shoulder of a run, cut too far: it is scrap if its length has its other end.

        A length that ends at this shoulder may begin at one that is cut after it, or at an end that is still sawn off.
        A length beyond it, whose other shoulder was cut before, may be long enough yet.
        """
        name = run[-1].section.name
        if (self.setting.number > 1 and run[-1] is self.setting.turned[-1]) or name in self.setting.spanned:
            return SCRAP
        outward = self._outward(run, after)
        beyond = next(lengths_beyond(self.setting, (name,)), None)
        if beyond is None or outward == SCRAP:
            return outward
        least = self.figures.limits_along(*beyond.limits)[0]
        return f"{SCRAP} if {plain(beyond.name)} is under {least} long, else {outward}"

    def _outward(self, run: Sequence[Turned], after: Sequence[Pass]) -> str:
        """Say which face goes along with the last shoulder of a run: the one before it, if it is still to be cut."""
        if len(run) == 1:
            return "its end as much further" if run[0].extra_length > 0 else SCRAP
        before = run[-2]
        free = before.far_kind == "shoulder" and _is_finished_in(after, before.section.name)
        return f"the shoulder past {plain(before.section.name)} as much further" if free else SCRAP

    def _length(self, wanted: Wanted) -> str:
        """Say the limits of the length whose other shoulder is cut already."""
        found = next(lengths_beyond(self.setting, wanted.sections), None)
        return f"{plain(found.name)} {' to '.join(self.figures.limits_along(*found.limits))} long; " if found else ""

    def _record(self, wanted: Wanted, kind: str) -> str:
        if not self.recorded or wanted.when == "after last cut" or not wanted.sections:
            return ""
        turned = next((t for t in self.setting.turned if t.section.name in wanted.sections), None)
        if turned is None or turned.is_taper:
            return ""
        return f"{turned.section.name} stop {kind}"


def _past(wanted: Wanted) -> float:
    """Return the limit past which a shoulder was cut too far, mm."""
    return wanted.most if wanted.scrap == "over" else wanted.least


def _is_finished_in(passes: Iterable[Pass], name: str) -> bool:
    """Tell whether some passes make the last cut on a section."""
    return any(c.kind == "finish" and name in c.sections for c in passes)


def most_shake(hole: Hole, section: Section) -> float:
    """Return the most side shake that a hole may have, on the diameter, mm; infinity where none is asked for."""
    if hole.side_shake is not None:
        return float(hole.side_shake.most)
    if not hole.fit:
        return math.inf
    fit = read_fit(hole.fit, float(section.diameter_a))
    return fit.hole.upper - fit.shaft.lower


STONES_WORDS = {
    ("file",): "file", ("stone",): "stone", ("burnish",): "burnisher", ("file", "stone"): "file and stone",
    ("file", "burnish"): "file", ("stone", "burnish"): "stone", ("file", "stone", "burnish"): "file and stone",
}  # fmt: skip
"""What takes off the excess, by the steps of a section's route."""


UNCORRECTED = ("rough", "face", "thread", "part off")
"""The kinds of pass that no measure of a section corrects."""


def corrected_with(setting: Setting, after: Iterable[Pass], cut: Pass, wanted: Wanted) -> Iterator[int]:
    """Yield the numbers of the passes to which a measure's correction applies, all with the tool that it was made for.

    X: whatever is cut to that diameter, its corners and its own edge with it. Z: whatever goes to that face, and the
    edge beyond it.
    """
    later = [c for c in after if c.kind not in UNCORRECTED and c.tool.number == cut.tool.number]
    if wanted.kind == "diameter":
        names = {*cut.sections, *wanted.sections}
        yield from (c.number for c in later if _goes_to_size(setting, c, names))
    else:
        past = wanted.sections[-1] if wanted.sections else cut.sections[-1]
        yield from (c.number for c in later if _goes_to_face(setting, c, past))


def _goes_to_size(setting: Setting, cut: Pass, names: AbstractSet[str]) -> bool:
    """Tell whether a pass is cut to the diameter of one of these sections; of edges, only their own."""
    own = [t for t in setting.turned if t.section.name in names and t.section.name in cut.sections]
    if cut.kind != "edge":
        return bool(own)
    return any(abs(t.near - _face_of_edge(setting, cut)) < AS_PRINTED for t in own)


def _goes_to_face(setting: Setting, cut: Pass, past: str) -> bool:
    """Tell whether a pass goes to the face past a section: its corner, its face, and the edge beyond them.

    A taper's own row with them, which faces its shoulder as the tool comes out.
    """
    if cut.kind == "edge":
        far = next((t.far for t in setting.turned if t.section.name == past), math.nan)
        return abs(far - _face_of_edge(setting, cut)) < AS_PRINTED
    return cut.sections[-1] == past


def _face_of_edge(setting: Setting, cut: Pass) -> float:
    """Return Z of the face at which an edge is, mm: of those that have one, the nearest to where the slide comes."""
    middle = sum(f(p.z for p in ends_of(cut.path)) for f in (min, max)) / 2 - cut.z_told
    faces = [t.near for t in setting.turned if t.edge is not None]
    faces += [t.far for t in setting.turned if t.far_edge is not None]
    return min(faces, key=lambda z: abs(z - middle))


def correct_x(scale: SlideScale, figures: Figures) -> str:
    """Say how X is changed before the next cut for a diameter that reads over."""
    slide = scale.slide
    if slide.reading == "dial":
        return f"each {figures.size(scale.step)} over: X {'+1' if slide.counts == 'up' else '-1'}"
    half = slide.habit == "radius" or slide.reading == "none"
    each, share = _share(scale, figures, 0.5 if half else 1.0)
    if slide.reading == "none":
        return f"{each}: in further by {share}"
    return f"{each}: X {'up' if slide.counts == 'up' else 'down'} by {share}"


def correct_z(scale: SlideScale, longer: bool, figures: Figures) -> str:
    """Say how Z is changed before the next cut for a shoulder's distance that reads over.

    Args:
        longer: whether the distance grows as the shoulder is faced.
    """
    slide = scale.slide
    up = (slide.counts == "up") is not longer
    if slide.reading == "dial":
        return f"each {figures.place(scale.step)} over: Z {'+1' if up else '-1'}"
    each, share = _share(scale, figures, 1.0)
    if slide.reading == "none":
        added = "added to" if longer else "subtracted from"
        return f"{each}: {share if share != AS_MUCH else 'that'} {added} the pile"
    return f"{each}: Z {'up' if up else 'down'} by {share}"


AS_MUCH = "as much"


def _share(scale: SlideScale, figures: Figures, part: float) -> tuple[str, str]:
    """Return the excess and the change of a readout or slips for it, in words; in figures where the units differ."""
    inch = is_inch(scale.slide)
    if scale.by_control or inch == (figures.unit == "in"):
        return "over", "half of it" if part < 1 else AS_MUCH
    over = 0.01 if inch else 0.0254
    share = show_number(over * part / (MM_PER_INCH if inch else 1.0), 5 if inch else 3)
    return f"each {figures.size(over)} over", f"{share} {'in' if inch else 'mm'}"


def division_words(slide: Slide, unit: str) -> str:
    """Say a division of a dial in the unit of its marks, naming that where the page has another: "0.001 in"."""
    inch = is_inch(slide)
    size = show_number(float(slide.division) / (MM_PER_INCH if inch else 1.0), 5, trim=True)
    return size if inch == (unit == "in") else f"{size} {'in' if inch else 'mm'}"
