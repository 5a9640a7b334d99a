"""A part file from a few answers or from a drawing: what is said goes in, what is not is asked for or marked."""

from cam.begin.answers import KEYS, Question, Said, check_said, measured_sections, missing, open_questions, square_blank
from cam.begin.compose import breaks_part, compose
from cam.begin.draft import Draft, draft_text, open_keys
from cam.begin.places import find_shop, name_shop, read_shop_of, refuse_existing

__all__ = [
    "KEYS",
    "Draft",
    "Question",
    "Said",
    "breaks_part",
    "check_said",
    "compose",
    "draft_text",
    "find_shop",
    "measured_sections",
    "missing",
    "name_shop",
    "open_keys",
    "open_questions",
    "read_shop_of",
    "refuse_existing",
    "square_blank",
]
