"""The drawing of a plan and of the judgement on its programs; what turns it into PNG and PDF is in `convert`."""

from __future__ import annotations

from cam.picture.plot import draw_plot

__all__ = ["draw_plot"]
