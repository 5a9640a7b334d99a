"""The lines at which the work is measured: figure expected, limits, and the correction worked out for this dial."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cam.ground.figures import Figures
from cam.ground.tolerances import AS_PRINTED
from cam.ground.units import MM_PER_INCH, show_number
from cam.part.fits import read_fit
from cam.part.model import Section
from cam.part.spans import Hole
from cam.plan.measures import measured_narrow
from cam.plan.model import Measure as Wanted
from cam.plan.model import Pass
from cam.setting.model import Correction, Setting
from cam.shop.machine import Slide
from posts.dials import is_inch
from posts.pages.blocks import MeasureBlock
from posts.pages.readings import Scales, SlideReading, SlideScale
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
        self, setting: Setting, scales: Scales, figures: Figures, holes: Sequence[Hole], *, recorded: bool
    ) -> None:
        """Remember whose measures these are.

        Args:
            holes: those that the part file gives. recorded: whether a program can be made anew from what is read.
        """
        self.setting, self.scales, self.figures, self.recorded = setting, scales, figures, recorded
        self.holes = {hole.section: hole for hole in holes}

    def block(self, cut: Pass, wanted: Wanted, leaves: float, stop: SlideReading) -> MeasureBlock:
        """Make one measure after a cut.

        Args:
            leaves: the diameter that the cut leaves as the dial lands, mm. stop: where Z stopped.
        """
        if wanted.kind == "diameter":
            return self._diameter(cut, wanted, leaves)
        return self._shoulder(cut, wanted, abs(stop.at))

    def _diameter(self, cut: Pass, wanted: Wanted, leaves: float) -> MeasureBlock:
        last = wanted.when == "after last cut"
        least, most = self.figures.limits(*self._limits(wanted))
        over = self._again(cut) if last else correct_x(self.scales.x, self.figures)
        if measured_narrow(self.setting, [wanted]):
            over = f"{BLADES}; {over}"
        leaves += 2 * self.moved(cut).radius if last else 0.0
        return MeasureBlock(
            of="diameter",
            name=plain(wanted.what if wanted.over else " and ".join(wanted.sections)),
            expected=self.figures.size(leaves),
            least=least,
            most=most,
            last=last,
            over=over,
            under=f"under {least}: {self._under(wanted)}" if wanted.given else "",
            record=self._record(wanted, "diameter"),
        )

    def _under(self, wanted: Wanted) -> str:
        """Say what is done with a diameter that is under its limits: by section, where several turned as one differ."""
        turned = (t for t in self.setting.turned if t.section.name in wanted.sections)
        means = {t.section.name: self._thin(t.section) for t in turned}
        if len(set(means.values())) > 1:
            return ", ".join(f"{plain(name)} {words}" for name, words in means.items())
        return next(iter(means.values()), SCRAP)

    def _thin(self, section: Section) -> str:
        """Say what is done with a section that is turned too small: what runs in a hole goes by that."""
        hole, limits = self.holes.get(section.name), section.turned_limits
        if hole is None or limits is None:
            return UNDER.get(section.role, SCRAP)
        if hole.now is None:
            return OPEN
        now, shake = hole.now + section.finish.on_diameter, most_shake(hole, section)
        runs = f"side shake over {self.figures.fine(now - limits[0])} in its hole of {self.figures.fine(hole.now)}"
        if math.isinf(shake):  # of a hole that stays as it is
            return f"scrap, or {runs}"
        thinnest = now + hole.smoothing - shake
        down_to = self.figures.limits(thinnest, limits[1])[0]
        if hole.use == "open":
            return f"{OPEN}, down to {down_to}"
        return f"{runs}, under {down_to} scrap" if thinnest < limits[0] - AS_PRINTED else SCRAP

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

    def _again(self, cut: Pass) -> str:
        """Say what is done with a diameter that is over its limits after the last cut."""
        route = {s for t in self.setting.turned if t.section.name in cut.sections for s in t.section.finish.route}
        steps = tuple(step for step in STONES if step in route)
        return f"over: {STONES_WORDS[steps]}" if steps else "over: again, further in"

    def _shoulder(self, cut: Pass, wanted: Wanted, expected: float) -> MeasureBlock:
        last = wanted.when == "after last cut"
        if last:
            face = self.moved(cut).face
            expected += -face if wanted.scrap == "over" else face
        least, most = self.figures.limits_along(wanted.least, wanted.most)
        past = f"{'over' if wanted.scrap == 'over' else 'under'} {most if wanted.scrap == 'over' else least}: scrap"
        more = "under" if wanted.scrap == "over" else "over"
        return MeasureBlock(
            of="shoulder",
            name=plain(wanted.sections[-1] if wanted.sections else cut.sections[-1]),
            expected=self.figures.place(expected),
            least=least,
            most=most,
            last=last,
            over=f"{more}: face it again" if last else correct_z(self.scales.z, wanted.scrap == "over", self.figures),
            under=past if wanted.given else "",
            record=self._record(wanted, "shoulder"),
        )

    def _record(self, wanted: Wanted, kind: str) -> str:
        if not self.recorded or wanted.when == "after last cut" or not wanted.sections:
            return ""
        turned = next((t for t in self.setting.turned if t.section.name in wanted.sections), None)
        if turned is None or turned.is_taper:
            return ""
        return f"{turned.section.name} stop {kind}"


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
        return f"{each}: a pile {share} {'thicker' if longer else 'thinner'}"
    return f"{each}: Z {'up' if up else 'down'} by {share}"


def _share(scale: SlideScale, figures: Figures, part: float) -> tuple[str, str]:
    """Return the excess and the change of a readout or slips for it, in words; in figures where the units differ."""
    slide, inch = scale.slide, is_inch(scale.slide)
    if scale.by_control or inch == (figures.unit == "in"):
        as_much = "so much" if slide.reading == "none" and part == 1 else "as much"
        return "over", "half of it" if part < 1 else as_much
    over = 0.01 if inch else 0.0254
    share = show_number(over * part / (MM_PER_INCH if inch else 1.0), 5 if inch else 3)
    return f"each {figures.size(over)} over", f"{share} {'in' if inch else 'mm'}"


def division_words(slide: Slide, unit: str) -> str:
    """Say a division of a dial in the unit of its marks, naming that where the page has another: "0.001 in"."""
    inch = is_inch(slide)
    size = show_number(float(slide.division) / (MM_PER_INCH if inch else 1.0), 5, trim=True)
    return size if inch == (unit == "in") else f"{size} {'in' if inch else 'mm'}"
