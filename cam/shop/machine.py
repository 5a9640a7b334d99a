"""What lathe and mill have in common: slides with their dials, and what their controls were seen to be and to do."""

from __future__ import annotations

from typing import Literal

from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity

DialHabit = Literal["diameter", "depth on diameter", "radius"]


@frozen
class Slide:
    """The screw, dial or readout of one slide.

    Attributes:
        reading: "dial", "readout", or "none" (carriage stop and slips).
        habit: what one unit on the X dial or readout means; always "radius" (plain distance) for Z.
        counts: "up" if the number rises as the tool goes in (X) or toward the headstock (Z), else "down".
        division: the least step that can be set, in the habit's own measure, mm (a diameter for "diameter").
        turn: one turn of the dial in the same measure, mm; zero for a readout or none.
        backlash: of the slide, as a plain distance, mm.
        where: the table's line.
    """

    reading: Literal["dial", "readout", "none"]
    habit: DialHabit
    counts: Literal["up", "down"]
    division: Quantity
    turn: Quantity
    backlash: Quantity
    where: Where


@frozen
class Facts:
    """What the control of a lathe or a mill was seen to be and to do, as far as no standard says it.

    Attributes:
        stands: (word, date) of what the control is known to stand in when a program begins: "G90", "2026-05-02".
        proved: (sense, date) of what was seen to go the way that is meant: "arcs" (lathe), "rotary axis" (mill).
        leave_out: the words that mean something else to it, "G71"; each stands at the start.
        message_width: how many characters its display shows.
        comment_width: the most characters that it takes in a comment between its brackets; zero where not given, and
            then the dialect's width counts.
        line_ends: of program files.
        tool_change: by its "word" (T, M6), or by a "stop" whose words name the tool, without a tool word.
        tool_word: whether a tool is called at every "pass", or once a "tool"; "" where not given, as the dialect has
            it.
        tool_zeros: "each" tool has a work system or offset of its own, or "one" serves all, set anew at each tool's
            stop.
        arcs: how arcs are written: as "arcs", or as short "lines".
        arc_height: the most that lines leave uncut, mm.
    """

    stands: tuple[tuple[str, str], ...] = ()
    proved: tuple[tuple[str, str], ...] = ()
    leave_out: tuple[str, ...] = ()
    message_width: int = 40
    comment_width: int = 0
    line_ends: Literal["LF", "CRLF"] = "LF"
    tool_change: Literal["word", "stop"] = "word"
    tool_word: Literal["pass", "tool", ""] = ""
    tool_zeros: Literal["each", "one"] = "each"
    arcs: Literal["arcs", "lines"] = "arcs"
    arc_height: float = 0.0

    def proves(self, sense: str) -> bool:
        """Whether a sense was seen to be as it is meant."""
        return any(sense == own for own, _ in self.proved)


NO_FACTS = Facts()
"""The facts of a control of which the shop file says nothing more."""
