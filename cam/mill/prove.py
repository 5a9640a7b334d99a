"""What a mill's program proves in air before anything goes down: each tool's Z, and the sense of a rotary axis."""

from __future__ import annotations

from collections.abc import Iterator

from cam.ground.units import show_fine
from cam.mill.travel import Unit
from cam.moves.model import Index, Move, Stop

SEEN = 30.0
"""The degrees that a rotary axis is turned in air: a person sees which way, and no flat looks like another after it."""


def prove_height(high: float, top: float, over: str, unit: Unit) -> Stop:
    """Make a stop before a tool's first move, at which display and rule must agree on its height.

    Args:
        high: Z of that move, mm. top: Z of what lies under the tool, mm. over: what that is, in words.
    """
    shown, height = (show_fine(z, unit, trim=True) for z in (high, top))
    return Stop(
        reason="prove height",
        lines=(
            f"By hand: the tool above everything, over {over}. The display must show Z {shown} or more.",
            f"A rule from the tool's end down to {over} must show what the display shows, less {height}.",
            "If not, Z is zero on another face or counts the other way: set it before anything moves.",
        ),
    )


def prove_axis(on_top: str) -> Iterator[Move]:
    """Turn the rotary axis a little and back in air, a stop between; on_top: what is on top before that, in words."""
    yield Index(angle=0.0, by_hand=False, what=on_top)
    yield Index(angle=SEEN, by_hand=False, what="the sense of the rotary axis")
    yield Stop(
        reason="prove rotary axis",
        lines=(
            f"The rotary axis has been turned {SEEN:g} degrees: counter-clockwise, as seen from the tip of the work.",
            "If it turned the other way, this control takes A otherwise: end the program here, nothing is cut yet.",
        ),
    )
