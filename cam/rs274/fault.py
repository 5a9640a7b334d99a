"""A rule that one line breaks, before the line's number is put to it."""

from __future__ import annotations

from typing import Literal, get_args

Kind = Literal["units", "distance", "plane", "feed mode", "speed mode", "motion", "feed", "place", "retract", "tool"]
KINDS: tuple[Kind, ...] = get_args(Kind)
ROTARY = "rotary word"
"""The kind of the refusal of an A, B or C word, which a mill with a rotary axis may yet take."""


class Fault(Exception):  # noqa: N818 - a fault of the text, not of ours
    """One broken rule, of which the reader of the program makes a Problem, with the label as its kind.

    Attributes:
        at: index into the line as read, spaces left out; -1 for the line as a whole.
    """

    def __init__(
        self, at: int, what: str, given: str = "", allowed: str = "", fix: str = "", *, label: str = ""
    ) -> None:
        super().__init__(what)
        self.at = at
        self.what = what
        self.given = given
        self.allowed = allowed
        self.fix = fix
        self.label = label


class Unsaid(Fault):
    """The line rests on something that the text has not said.

    Attributes:
        kind: what is missing; each kind is reported once, and not at all where an unreadable line may have said it.
    """

    def __init__(self, kind: Kind, at: int, what: str, *, given: str = "", allowed: str = "", fix: str = "") -> None:
        super().__init__(at, what, given, allowed, fix)
        self.kind = kind
