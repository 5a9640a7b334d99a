"""The figures of one job: how many decimals its pages need, by what the part asks for and the dials can show."""

from __future__ import annotations

from collections.abc import Iterator

from cam.ground.figures import Figures, decimals_for
from cam.ground.quantity import Quantity
from cam.ground.units import decimals_of, depth_instrument, gauge_decimals
from cam.part.model import Part, Section
from cam.shop.machine import Slide
from cam.shop.model import Lathe

SOLVED = "(solved)"
"""The end of the text of a length that nobody wrote."""


def figures_for(part: Part, lathe: Lathe) -> Figures:
    """Choose how all pages of a job print lengths."""
    sizes = [float(part.stock.diameter), *_steps(lathe.x, 1 if lathe.x.habit != "radius" else 2)]
    ends = (part.holding.end_a, part.holding.end_b)
    places = [*_steps(lathe.z, 1), *(float(end.extra_length) for end in ends if end is not None)]
    for section in part.sections:
        sizes += _diameters(section)
        places += [float(section.length)] * (SOLVED not in section.length.text and section.length == section.length)
    widths = [s.tolerance.upper - s.tolerance.lower for s in part.sections if s.tolerance]
    lengths = [s.length_tolerance.upper - s.length_tolerance.lower for s in part.sections if s.length_tolerance]
    return Figures(part.unit, decimals_for(part.unit, sizes, widths), decimals_for(part.unit, places, lengths))


def _steps(slide: Slide, factor: int) -> Iterator[float]:
    """Yield the steps of a slide in the page's measure, mm: a division, and half of one where that is set by eye."""
    division = factor * float(slide.division)
    if slide.reading != "none":
        yield division
    if slide.reading == "dial":
        yield division / 2


def _diameters(section: Section) -> Iterator[float]:
    """Yield the diameters of a section that are given, and their limits, mm."""
    for diameter in (section.diameter_a, section.diameter_b):
        yield float(diameter)
        if section.tolerance is not None:
            yield diameter + section.tolerance.lower
            yield diameter + section.tolerance.upper


def written(value: Quantity, figure: str, unit: str) -> str:
    """Return the user's own text in brackets after a space, where it is not simply the figure that the page shows."""
    own = value.text.removesuffix(unit).strip()
    try:
        same = float(own) == float(figure)
    except ValueError:
        same = False
    return "" if same or SOLVED in value.text else f" ({value.text})"


def finest(figures: Figures) -> Figures:
    """Return the figures with diameters as fine as a micrometer reads at best, for threads and what is filed to fit."""
    return Figures(figures.unit, decimals_of(figures.unit), figures.z)


def instruments(figures: Figures) -> dict[str, str]:
    """Name what measures as finely as the pages say diameters and shoulders: "depth", and what a micrometer "shows".

    Any micrometer shows what callipers do; that it shows more is said where it is wanted.
    """
    shows = "" if figures.x <= gauge_decimals(figures.unit) else f" that shows {figures.size(figures.digit())}"
    return {"shows": shows, "depth": depth_instrument(figures.z, figures.unit)}


def between(figures: Figures, least: float, most: float) -> str:
    """Say the limits of a diameter, mm, in words: "2.874 to 2.980"."""
    return " to ".join(figures.limits(least, most))


def limits_of(section: Section, figures: Figures) -> str:
    """Say the limits of a section's finished diameter in words; "" where there are none or it tapers."""
    if section.tolerance is None or section.is_taper:
        return ""
    size, limits = section.diameter_a, section.tolerance
    return between(figures, size + limits.lower, size + limits.upper)
