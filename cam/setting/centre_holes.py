"""Centre holes by ISO 866, form A: the table, the designation, and the choice by the smallest section."""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from cam.ground.tolerances import ROUNDING
from cam.ground.units import is_inch
from cam.setting.model import CentreHole

Standing = Literal["published", "memory"]

SOURCE = "ISO 866, form A"


class HoleSize(NamedTuple):
    """One size of 60 degree centre hole without a protecting chamfer.

    Attributes:
        pilot: d1, mm.
        mouth: d2, greatest diameter of the cone, mm.
        depth: least depth t, mm.
        standing: "published" - read in a printed table (ISO 866 sizes with the depths of DIN 332-1);
            "memory" - sizes of ISO 866 recalled, depth summed from cone and pilot.
    """

    pilot: float
    mouth: float
    depth: float
    standing: Standing


TABLE = (
    HoleSize(0.5, 1.06, 1.0, "memory"),
    HoleSize(0.63, 1.32, 1.2, "memory"),
    HoleSize(0.8, 1.70, 1.5, "memory"),
    HoleSize(1.0, 2.12, 1.9, "published"),
    HoleSize(1.25, 2.65, 2.3, "memory"),
    HoleSize(1.6, 3.35, 2.9, "published"),
    HoleSize(2.0, 4.25, 3.7, "published"),
    HoleSize(2.5, 5.30, 4.6, "published"),
    HoleSize(3.15, 6.70, 5.9, "published"),
    HoleSize(4.0, 8.50, 7.4, "published"),
    HoleSize(5.0, 10.60, 9.2, "memory"),
    HoleSize(6.3, 13.20, 11.5, "published"),
    HoleSize(8.0, 17.00, 14.8, "memory"),
    HoleSize(10.0, 21.20, 18.4, "memory"),
)

GUIDE = ((4.0, 1.5), (6.0, 2.0), (10.0, 2.5), (25.0, 5.0), (63.0, 8.0))
"""The top of each range of finished diameters, mm, and the greatest mouth for it, mm.

Source: "Techniques for machining of material", a trainees' handbook, table of centre holes (diameters to 4,
4-6, 6-10, 10-25, 25-63 with d2 1.5, 2, 2.5, 5, 8). It is older than ISO 866, whose nearest smaller hole is taken.
"""

WIDEST_SHARE = 0.6
"""The greatest mouth as a share of the diameter in which it stands. Common practice (leave a rim), no source."""


LEAST_RIM = 0.15
"""The thinnest metal left round the mouth, mm. Common practice, no source."""

DESIGNATION = r"\s*(?:ISO\s*6411\s*[-\N{EN DASH}]?\s*)?A\s*([0-9]+(?:\.[0-9]+)?)\s*[/x]\s*([0-9]+(?:\.[0-9]+)?)\s*"


def parse_designation(text: str) -> HoleSize | None:
    """Return the row that an ISO 6411 designation names, "A 1/2.12" or "ISO 6411 - A 2.5/5.3".

    It is None for any other text, and for sizes that are not in the table or do not belong together.
    """
    found = re.fullmatch(DESIGNATION, text, re.IGNORECASE) if text else None  # to compile it takes a millisecond
    if not found:
        return None
    pilot, mouth = float(found[1]), float(found[2])
    return next((row for row in TABLE if row.pilot == pilot and row.mouth == mouth), None)


def widest_mouth(diameter: float) -> float:
    """Return the greatest mouth that an end of this diameter may have, mm: the rim LEAST_RIM is left all round."""
    return diameter - 2 * LEAST_RIM


def hole_from(row: HoleSize, reason: str) -> CentreHole:
    """Return the hole of a row, with the reason for it."""
    return CentreHole(designation=designate(row), pilot=row.pilot, mouth=row.mouth, depth=row.depth, reason=reason)


def designate(row: HoleSize) -> str:
    """Return the ISO 6411 designation without the standard's number: "A 1/2.12"."""
    return f"A {row.pilot:g}/{row.mouth:g}"


def choose_hole(diameter: float, section: str, face: float | None = None, written: str = "") -> CentreHole | None:
    """Choose the centre hole for an end whose smallest finished diameter is this, mm.

    It is the largest hole of the table whose mouth is within the trainees' guide and within WIDEST_SHARE of the
    diameter; where even the smallest is not, that one, as long as LEAST_RIM is left. It is None if nothing fits.

    Args:
        diameter: the smallest finished diameter at that end, mm.
        section: name of the section that has it, for the reason.
        face: diameter of the end face inside its chamfer or radius, mm, if that is smaller.
        written: that diameter as the part file has it; it is shown too if that is in inches.
    """
    guide = next((mouth for size, mouth in GUIDE if diameter <= size), GUIDE[-1][1])
    widest = widest_mouth(diameter if face is None else min(face, diameter))
    allowed = min(guide, WIDEST_SHARE * diameter, widest)
    fitting = [row for row in TABLE if row.mouth <= allowed + ROUNDING]
    if fitting:
        row = fitting[-1]
        why = f"the largest of {SOURCE} with a mouth of at most {allowed:.3g} mm"
    elif TABLE[0].mouth <= widest + ROUNDING:
        row = TABLE[0]
        why = f"the smallest of {SOURCE}; its rim is only {(widest - row.mouth) / 2 + LEAST_RIM:.2f} mm"
    else:
        return None
    own = f"{written} ({diameter:g} mm)" if is_inch(written) else f"{diameter:g} mm"
    return hole_from(row, f'{designate(row)}, by the smallest finished diameter there, "{section}" {own}: {why}')
