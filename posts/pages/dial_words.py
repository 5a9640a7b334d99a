"""How the slides of a lathe are read and set, one line for the reader of sheets and a sentence or two for the eye."""

from __future__ import annotations

import math

from cam.ground.figures import Figures
from cam.ground.tolerances import AS_PRINTED
from cam.ground.units import MM_PER_INCH
from cam.plan.model import Pass
from cam.shop.machine import Slide
from cam.shop.model import Lathe
from posts.dials import counts_size, divisions_of, is_inch
from posts.pages.blocks import Dial
from posts.pages.measures import division_words
from posts.pages.readings import Scales, SlideScale

BY_INDICATOR = (
    "by an indicator on the cross slide; every row is set by it, in air too; or by slips at its stop: a pile thinner "
    "by as much as X goes in"
)
"""How a cross slide without a dial is set; common practice, no source."""

SET_Z = {"dial": "Z {}", "readout": "Z {}", "none": "pile {}, the stop locked anew"}
"""How Z is set where a tool touches a face, by how it is read: slips are laid between carriage and stop again."""

FEEDS = {"mm": 1.0, "thou": MM_PER_INCH / 1000}
"""What a feed's unit is, mm."""
FASTER = 1.1
"""How much faster than meant a hand may feed, by the seconds that it is told."""


def z_turn(slide: Slide, cut: Pass, feed: str) -> str:
    """Say in how many seconds a hand turns Z once for a cut along it, to a half; "" where it does not, or has no dial.

    The nearest half is said that is not too fast, and never less than one: no hand turns faster.

    Args:
        feed: of a turn of the work, as the page says it.
    """
    if slide.reading != "dial" or cut.shape != "straight":
        return ""
    figure, unit = feed.split()[:2]
    seconds = 60 * float(slide.turn) / (float(figure) * FEEDS[unit] * cut.rpm)
    return f"Z turn in {max(round(2 * seconds), math.ceil(2 * seconds / FASTER), 2) / 2:g} s"


def x_dial(lathe: Lathe, scales: Scales, figures: Figures, how: str = "") -> Dial:
    """Say how the cross slide is read and set.

    Args:
        how: how it is set; left out, by skimming the bar.
    """
    slide, scale = lathe.x, scales.x
    how = how or f"skim the bar, stop, measure: {_shown(scale, scales.bar, figures)}"
    if slide.reading == "none":
        words = f"X IN  a side from diameter {figures.size(scales.bar)}{_unit(slide, figures)}"
        return Dial(axis="X", reading="none", words=f"{words}; {how}, {BY_INDICATOR}")
    if slide.reading == "readout":
        return Dial(axis="X", reading="readout", words=f"{_x_reads(slide, scale, scales.bar, figures)}; {how}")
    side = "a side" if slide.habit == "radius" else "on the diameter"
    rises = "rises" if slide.counts == "up" else "falls"
    words = (
        f"X DIAL  a division is {division_words(slide, figures.unit)} {side}, {divisions_of(slide)} a turn, {rises} "
        f"going in; {scale.text(0)} is diameter {figures.size(scale.zero)}"
    )
    return Dial(axis="X", reading="dial", words=f"{words}; {how}")


def _x_reads(slide: Slide, scale: SlideScale, bar: float, figures: Figures) -> str:
    """Say what a readout of the cross slide shows."""
    unit = _unit(slide, figures)
    if counts_size(slide):
        return f"X READS  the {slide.habit}{unit}"
    side = "a side" if slide.habit == "radius" else "on the diameter"
    rises = "rises" if slide.counts == "up" else "falls"
    return f"X READS  depth {side}, {rises} going in{unit}; {scale.text(0)} is diameter {figures.size(bar)}"


def _shown(scale: SlideScale, bar: float, figures: Figures) -> str:
    """Return an example of a setting: a few divisions under the bar."""
    tried = scale.mark(bar - 5 * scale.step, "near")
    return f"{figures.size(tried.at)} is {tried.text}"


def _unit(slide: Slide, figures: Figures) -> str:
    """Return the unit of a readout or of slips, where it is not the page's."""
    if is_inch(slide) == (figures.unit == "in"):
        return ""
    return ", in inches" if is_inch(slide) else ", in mm"


def z_dial(lathe: Lathe, scales: Scales, figures: Figures, *, anew: bool = False) -> Dial:
    """Say how the carriage is read and set; anew: whether some row asks for a tool to be touched again."""
    slide, scale, touch = lathe.z, scales.z, scales.touch
    if slide.reading == "none":
        pile = scale.mark(touch, "near").text
        words = f"Z SLIPS  {pile} is Z {figures.place(touch)}{_unit(slide, figures)}"
        bare = (
            "touching the end face, put that pile between carriage and the stop on the bed, lock the stop "
            f"{'until a tool is touched anew' if anew else 'for this whole setting'}; then each row its own pile, "
            "carriage up to it by hand, never under power feed"
        )
        further = "; the face further out: add the difference to the pile" if abs(touch) > AS_PRINTED else ""
        return Dial(axis="Z", reading="none", words=f"{words}; {bare}{further}")
    rises = "rises" if slide.counts == "up" else "falls"
    at = scale.finest(touch, "near")
    set_it = ""
    if abs(touch) > AS_PRINTED:
        further = f"{'subtract' if slide.counts == 'up' else 'add'} the difference"
        set_it = f"on the end face, if at Z {figures.place(at.at)}, set it to {at.text}; further out, {further}"
    how = f"; {set_it}" if set_it else ""
    if slide.reading == "readout":
        words = f"Z READS  Z from Z 0, {rises} toward the headstock{_unit(slide, figures)}; {scale.text(0)} is Z "
        return Dial(axis="Z", reading="readout", words=f"{words}{figures.place(0.0)}{how}")
    words = (
        f"Z DIAL  a division is {division_words(slide, figures.unit)}, {divisions_of(slide)} a turn, {rises} toward "
        f"the headstock; {scale.text(0)} is Z {figures.place(0.0)}"
    )
    return Dial(axis="Z", reading="dial", words=f"{words}{how}")
