"""The drawing of a plan and of the judgement on its programs."""

from cam.picture.convert import convert_plot
from cam.picture.plot import draw_plot

__all__ = ["convert_plot", "draw_plot"]
