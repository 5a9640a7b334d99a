"""Reads a printed sheet as a person at the handwheels does, and cuts by it; knows neither the plan nor the writer."""

from cam.sheet.either_form import is_sheet
from cam.sheet.hand import hand_motions
from cam.sheet.judge import judge_sheet
from cam.sheet.read import read_sheet

__all__ = ["hand_motions", "is_sheet", "judge_sheet", "read_sheet"]
