"""Where two slides are set: readings of this lathe's own dials, readouts or slips, and what each of them leaves.

A reading is a mark of the dial, or half a division where the limits ask for it, set by eye and never finer. All are
counted from the one zero, so that the errors of rounding never add up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from cam.geometry.path import ends_of
from cam.ground.figures import LEAST, Figures
from cam.ground.frozen import Row
from cam.ground.units import MM_PER_INCH, show_number
from cam.plan.model import SettingPlan
from cam.shop.machine import Slide
from cam.shop.model import Lathe
from posts.dials import FACTORS, LEAST_PILE, counts_size, divisions_of, exact_decimals, is_inch

Side = Literal["leave", "near"]
"""leave: the nearest reading on the side that leaves metal. near: the nearest on either side, of two the same one."""
RUNG = 0.05
"""What a mark may leave at the foot of a taper's face, mm of diameter, before half a division is looked at. Common
practice, no source."""
SNUG = 0.25
"""A mark within this share of the limits' width from the aim is good enough; else half a division is looked at."""


class SlideReading(Row):
    """One setting of a slide.

    Attributes:
        text: as printed. at: the diameter or Z that it gives, mm. half: whether it stands between two marks.
        within: whether that size lies within the limits that were asked for.
    """

    text: str
    at: float
    half: bool = False
    within: bool = True


class SlideScale:
    """The readings of one slide in one setting.

    Attributes:
        slide: X or Z. zero: the diameter (X) or Z at which the slide's travel is zero, mm.
        step: what one division changes, mm of diameter (X) or along Z. turns: the turns that are counted at the zero.
        fraction: the least share of a division that is set. sense: 1 where a reading rises as the travel does, or -1.
        by_control: whether only a control moves it, so that figures stand for readings.
    """

    def __init__(
        self, slide: Slide, zero: float, aims: Iterable[float], *, across: bool, digit: float | None = None
    ) -> None:
        """Choose the turns that are counted at the zero, so that no reading is below zero.

        Args:
            zero: diameter of the skimmed bar, or Z of the place where the tool is touched off, mm.
            aims: every diameter or Z that is to be set, mm. across: whether this is the cross slide.
            digit: for a slide that only a control moves, the last digit of the figures that stand for a reading, mm.
        """
        self.slide, self.across = slide, across
        plain = float(slide.division) / FACTORS[slide.habit]
        self.step = 2 * plain if across else float(slide.division)
        bare = slide.reading == "none"
        self.sense = 1 if (across if bare else slide.counts == "up") else -1
        self.per_turn = divisions_of(slide)
        self.zero, self.turns, self.fraction = 0.0, 0, 0.5 if slide.reading == "dial" else 1.0
        self.by_control = digit is not None
        if digit is not None:
            self.step = digit
        else:
            self.zero = self._zero(zero, aims)
            if slide.reading == "dial":
                least = min(map(self._count, aims), default=0.0)
                self.turns = max(-math.floor(round(least, 6) / self.per_turn), 0)

    def _zero(self, zero: float, aims: Iterable[float]) -> float:
        """Return where the travel is zero: the axis, where the tool was set, or the stop that slips are laid on, mm."""
        bare = self.slide.reading == "none"
        if bare and not self.across:
            deepest = min([zero, *aims])
            return zero - math.ceil((zero - deepest + LEAST_PILE) / self.step - 1e-9) * self.step
        return zero if bare or (self.across and not counts_size(self.slide)) else 0.0

    def _count(self, aim: float) -> float:
        """Return the divisions from the zero for a diameter or a Z, without the turns counted at the zero."""
        return self.sense * (self.zero - aim) / self.step

    def _at(self, count: float) -> float:
        """Return the diameter or Z of a count of divisions, mm."""
        return self.zero - self.sense * count * self.step

    def text(self, count: float) -> str:
        """Return a count of divisions as it is read: "4+99", "4+99.5", a readout's number, a pile of slips."""
        if self.slide.reading != "dial":
            per = MM_PER_INCH if is_inch(self.slide) else 1.0
            step = self.step / 2 if self.across and self.slide.reading == "none" else float(self.slide.division)
            return show_number(count * step / per, exact_decimals(step / per))
        halves = round(2 * count) + 2 * self.turns * self.per_turn
        whole, rest = divmod(abs(halves), 2 * self.per_turn)
        marks = f"{rest // 2:0{len(str(self.per_turn - 1))}d}{'.5' if rest % 2 else ''}"
        return f"{whole}{'-' if halves < 0 else '+'}{marks}"

    def mark(self, aim: float, side: Side = "leave") -> SlideReading:
        """Return the mark at an aim, or the nearest on the side that leaves metal: a larger diameter, a greater Z."""
        return self._reading(self._snap(aim, 1.0, side))

    def _snap(self, aim: float, fraction: float, side: Side = "near") -> float:
        """Return the count of divisions for an aim, in steps of a fraction of a division."""
        outward = 1 if self._at(1.0) > self._at(0.0) else -1
        count = outward * self._count(aim) / fraction
        return outward * (math.floor(count + 0.5 + 1e-6) if side == "near" else math.ceil(count - 1e-6)) * fraction

    def _reading(self, count: float, *, within: bool = True) -> SlideReading:
        half = abs(count - round(count)) > 0.25
        return SlideReading(self.text(count), self._at(count), half, within)

    def finest(self, aim: float, side: Side) -> SlideReading:
        """Return the mark or half mark at an aim, or the nearest on the side that leaves metal."""
        return self._reading(self._snap(aim, self.fraction, side))

    def foot(self, aim: float) -> SlideReading:
        """Return the reading for the face beside a taper: a mark, or half a division where it leaves more than RUNG."""
        mark = self.mark(aim)
        return self.finest(aim, "leave") if mark.at - aim > RUNG else mark

    def last(self, aim: float, least: float, most: float) -> SlideReading:
        """Return the reading for a last cut that lies within the limits: a mark near the aim, else half a division.

        Of two as near it is the one that leaves metal, and never one on the lower limit, past which the work is scrap,
        as no hand holds that. Where none lies within them, it is the nearest that leaves metal, and within says so.
        Without limits (0 to infinity) it is the nearest mark.
        """
        sure = least + LEAST

        def fits(count: float) -> bool:
            return sure - 1e-6 <= self._at(count) <= most + 1e-6

        mark, nearest = self._snap(aim, 1.0), self._snap(aim, self.fraction)
        snug = (most - least) * SNUG if math.isfinite(most - least) else math.inf
        if abs(self._at(mark) - aim) <= snug + 1e-9 and fits(mark):
            return self._reading(mark)
        both = (nearest + k * self.fraction for k in (-1, 1))
        tried = [nearest, *sorted(both, key=lambda c: abs(self._at(c) - aim))]
        good = next(filter(fits, tried), self._snap(sure, self.fraction, "leave"))
        return self._reading(good, within=fits(good))


class Scales(Row):
    """The scales of both slides of a setting.

    Attributes:
        x, z: see SlideScale. bar: the diameter that is skimmed to set X, mm. touch: Z where the tool is touched off,
            mm.
    """

    x: SlideScale
    z: SlideScale
    bar: float
    touch: float


def scales_of(lathe: Lathe, bar: float, planned: SettingPlan, figures: Figures | None = None) -> Scales:
    """Make both slides' scales for one setting, with turns counted at their zeros so that no reading is below zero.

    Args:
        figures: their last digit stands for a mark where only a control moves a slide; not needed for dials.
    """
    touch = planned.setting.stock_end_z
    cuts = [c for c in planned.passes if c.kind != "thread"]
    xs = [bar, *(2 * c.x for c in cuts), *(2 * thread.lowest for thread in planned.setting.hand_threads)]
    zs = [touch, *(c.z_to for c in cuts), *(p.z - c.z_told for c in cuts for p in ends_of(c.path))]
    return Scales(
        SlideScale(lathe.x, bar, xs, across=True, digit=_digit(lathe, lathe.x, figures)),
        SlideScale(lathe.z, touch, [min(z, touch) for z in zs], across=False, digit=_digit(lathe, lathe.z, figures)),
        bar, touch,
    )  # fmt: skip


def _digit(lathe: Lathe, slide: Slide, figures: Figures | None) -> float | None:
    """Return the last digit of the figures, mm, for a slide that only a control moves; None for one with a reading."""
    return None if has_reading(lathe, slide) or figures is None else figures.digit(along=slide is lathe.z)


def has_reading(lathe: Lathe, slide: Slide) -> bool:
    """Tell whether a slide is set by its own reading; all are, but one without a dial that a control moves."""
    return not (lathe.control.kind == "stepper" and slide.reading == "none")
