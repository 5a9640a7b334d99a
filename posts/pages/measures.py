"""The lines at which the work is measured: figure expected, limits, and the correction worked out for this dial."""

from __future__ import annotations

from cam.ground.figures import Figures
from cam.ground.units import MM_PER_INCH, show_number
from cam.plan.model import Measure as Wanted
from cam.plan.model import Pass
from cam.setting.model import Correction, Setting
from cam.shop.machine import Slide
from posts.dials import is_inch
from posts.pages.blocks import MeasureBlock
from posts.pages.readings import Scales, SlideReading, SlideScale
from posts.wording import plain

UNDER = {
    "pivot": "open its hole to fit",
    "journal": "open its hole to fit",
    "seat": "scrap, or refit",
    "square blank": "rounder corners",
}
"""What it means, by role, that a section is turned too small; common practice, no source. For any other: SCRAP."""
SCRAP = "scrap"
STONES = ("file", "stone", "burnish")


class MeasureWords:
    """Puts the measures of one setting into words."""

    def __init__(self, setting: Setting, scales: Scales, figures: Figures, *, recorded: bool) -> None:
        """Remember whose measures these are; recorded: whether a program can be made anew from what is read."""
        self.setting, self.scales, self.figures, self.recorded = setting, scales, figures, recorded

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
        role = next((t.section.role for t in self.setting.turned if t.section.name in wanted.sections), "")
        over = self._again(cut) if last else correct_x(self.scales.x, self.figures)
        leaves += 2 * self.moved(cut).radius if last else 0.0
        under = UNDER.get(role, SCRAP) if last else SCRAP
        return MeasureBlock(
            of="diameter",
            name=plain(wanted.what if wanted.over else " and ".join(wanted.sections)),
            expected=self.figures.size(leaves),
            least=least,
            most=most,
            last=last,
            over=over,
            under=f"under {least}: {under}" if wanted.given else "",
            record=self._record(wanted, "diameter"),
        )

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
