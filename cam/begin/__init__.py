"""Makes a part file from a few answers or from a drawing; what was not said is asked for or marked."""

from cam.begin.answers import KEYS, SaidOfPart, check_counts, check_said, missing, open_questions, refuse_all_but
from cam.begin.ask_part import PartBegun, ask_part
from cam.begin.draft import FileDraft, open_keys
from cam.begin.places import find_shop, name_shop, read_shop_of, refuse_existing

__all__ = [
    "KEYS",
    "FileDraft",
    "PartBegun",
    "SaidOfPart",
    "ask_part",
    "check_counts",
    "check_said",
    "find_shop",
    "missing",
    "name_shop",
    "open_keys",
    "open_questions",
    "read_shop_of",
    "refuse_all_but",
    "refuse_existing",
]
