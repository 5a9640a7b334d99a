"""The drawing of a plan and of the judgement on its programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cam.picture.convert import convert_plot
from cam.picture.plot import draw_plot

if TYPE_CHECKING:
    from cam.picture.convert import convert_plot

__all__ = ["convert_plot", "draw_plot"]


def __getattr__(name: str) -> Any:
    """Load the converter only when it is asked for: start-up counts."""
    if name == "convert_plot":
        return convert_plot
    raise AttributeError(name)
