"""What differs between two plans or two programs, in the trade's words; nothing is said of what is alike."""

from cam.compare.changes import Change, compare_records
from cam.compare.drawn import draw_comparison
from cam.compare.sides import Side, program_side, read_side
from cam.compare.words import comparison_data, show_comparison

__all__ = [
    "Change",
    "Side",
    "compare_records",
    "comparison_data",
    "draw_comparison",
    "program_side",
    "read_side",
    "show_comparison",
]
