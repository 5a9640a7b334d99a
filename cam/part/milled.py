"""What is milled on a part: its square and its cross holes, as written."""

from __future__ import annotations

import math

from cam.ground import keys
from cam.ground.frozen import frozen
from cam.ground.keys import declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.part.features import End
from cam.part.taper import Corners, Taper
from cam.part.threads import Thread

NAN = math.nan
LEADS = {"taper": 8.0, "second": 4.0, "bottoming": 2.0}
"""The number of threads that a tap's chamfer takes up. Source: ISO 8830 has such classes; these lengths from memory."""


THREAD = {"type": "string", "minLength": 1, "maxLength": 60}
"""The form of the name of a thread in the schema."""


@declared
class Hold:
    """What the collet grips: a section, and how much of its length, mm, from its end away from the tip."""

    section: str = keys.text("The section that the mill's collet grips.", "drum body", key="grip")
    length: Quantity = keys.length("How much of it, from its end away from the square or tip.", "20 mm", over=True,
                                   most=500.0, key="grip_length")  # fmt: skip


@declared
class SquareAsked:
    """What a [section.square] table asks for; mm.

    Attributes:
        section: the name of its section.
        station: where across is measured, from the shoulder.
        limits: the least and the greatest size across flats as milled, less the size aimed at.
        key: nan where none is given.
    """

    flats: int = keys.integer("How many, an even number; left out, 4.", least=4, most=12, step=2, default=4)
    across: float = keys.length("Finished, over two opposite flats, at the station.", "3.6 mm", over=True, most=200.0,
                                plain=True, needed=False)  # fmt: skip
    station: float = keys.length(
        "The station, from the shoulder.", "10 mm", most=500.0, plain=True, key="at", needed=False
    )
    taper: Taper = keys.own(
        "Of one face to the axis (per side), or of two opposite faces (included): an angle, a length per length, or a "
        "ratio.", {"type": "string", "minLength": 8, "maxLength": 60, "pattern": r"(per side|included)\s*$"},
        "0.3 deg included", "1:200 included", "0.003 in/in per side", "0 deg per side", needed=False,
    )  # fmt: skip
    across_at_shoulder = keys.length(
        "In place of across, at and taper: finished, at the shoulder.",
        "3.6 mm",
        over=True,
        most=200.0,
        plain=True,
        needed=False,
    )
    across_at_tip = keys.length("In place of across, at and taper: finished, at the tip.", "3.6 mm", over=True,
                                most=200.0, plain=True, needed=False)  # fmt: skip
    corners: Corners = keys.choice(
        "Whole: where the faces meet; broken by file; round: what the flats leave of the blank, where they leave some.",
        Corners,
    )
    broken: float = keys.length("Width on each face that a broken corner takes.", "0.2 mm", over=True, most=10.0,
                                plain=True, needed=False)  # fmt: skip
    limits: tuple[float, float] = keys.own("Limits of the size across flats as milled.", {"$ref": "#/$defs/limits"},
                                           key="tolerance")  # fmt: skip
    allowance: float = keys.length("Left on the size across flats for file and stone; 0 mm for nothing.", "0.02 mm",
                                   most=1.0, plain=True)  # fmt: skip
    flats_end: float = keys.length(
        "From the shoulder: where the flats end in a straight wall. Of no account where an undercut groove lies there.",
        "0.1 mm", most=50.0, plain=True,
    )  # fmt: skip
    key: float = keys.length("Size across flats of the hole in the key that it must fit.", over=True, most=200.0,
                             plain=True, absent=NAN)  # fmt: skip
    hold: Hold = keys.within(Hold)
    section: str
    where: Where
    __rules__ = (
        keys.one_of(("across", "at", "taper"), ("across_at_shoulder", "across_at_tip")),
        keys.when("corners", ("broken",), keys.needs("broken"), keys.lacks("broken")),
    )


@declared
class HoleAsked:
    """What a [[cross_hole]] table asks for; mm, degrees.

    Attributes:
        shoulder, face: the section, and which of its faces, from which distance is measured.
        angle: nan where any will do.
        thread: None for a plain hole.
        diameter: nan for a threaded hole.
        depth: nan for a hole that goes through.
    """

    name: str = keys.text("Unique among the cross holes.", "hook hole", most=60)
    section: str = keys.text("That it goes into.", "drum body")
    shoulder: str = keys.text("The section whose face the distance is counted from; left out, its own.", "drum body",
                              needed=False)  # fmt: skip
    face: End = keys.choice("Which of that section's faces.", End)
    distance: Quantity = keys.length("From that face to the middle of the hole.", "8 mm", most=3000.0)
    angle: float = keys.own("From the middle of flat 1, clockwise as seen from the tip of the square; or any.",
                            {"type": "string", "minLength": 3, "maxLength": 60}, "0 deg", "any")  # fmt: skip
    thread: Thread | None = keys.own("ISO metric, BA, UNC or UNF; the drill is chosen from the shop file.", THREAD,
                                     "M3", "M3x0.5", "4 BA", "No. 4-40 UNC", needed=False)  # fmt: skip
    diameter: float = keys.drill("Of a plain hole: a length, a drill's number or letter.", plain=True, needed=False)
    through: bool = keys.flag("Whether it goes right through; left out, it does not.", default=False)
    depth: float = keys.length(
        "From the top of the round: of full thread, or of full diameter in a plain hole.",
        "6 mm",
        over=True,
        most=200.0,
        plain=True,
        needed=False,
    )
    lead: str = keys.choice("Of the last tap; left out, second, which is the plug tap of America.", tuple(LEADS),
                            default="second")  # fmt: skip
    chips: float = keys.length("Room left for chips below the tap in a blind hole.", "0.5 mm", most=20.0, plain=True,
                               needed=False)  # fmt: skip
    flat_depth: float = keys.length("Of a small flat milled for the drill to start on; 0 mm for none.", "0.2 mm",
                                    most=5.0, plain=True)  # fmt: skip
    hold: Hold = keys.within(Hold)
    where: Where
    __rules__ = (
        {"oneOf": [keys.needs("thread") | keys.lacks("diameter"),
                   keys.needs("diameter") | keys.lacks("thread", "lead", "chips")]},
        {"if": {"required": ["through"], "properties": {"through": {"const": True}}},
         "then": keys.lacks("depth", "chips"), "else": keys.needs("depth")},
    )  # fmt: skip


@frozen
class Milled:
    """Everything that is milled on a part."""

    square: SquareAsked | None
    holes: tuple[HoleAsked, ...]
