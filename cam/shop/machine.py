"""What lathe and mill have in common: slides with their dials, and what their controls were seen to be and to do."""

from __future__ import annotations

from typing import Any, Literal

from cam.ground import keys
from cam.ground.keys import Only, declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity

READINGS: tuple[Literal["dial", "readout", "none"], ...] = ("dial", "readout", "none")
DialHabit = Literal["diameter", "depth on diameter", "radius"]


@declared
class Slide:
    """The screw, dial or readout of one slide.

    The habit is always "radius" (plain distance) for Z. Division and turn are in the habit's own measure, mm (a
    diameter for "diameter"); the turn is zero for a readout or none; the backlash is a plain distance.
    """

    reading: Literal["dial", "readout", "none"] = keys.choice(
        "How the slide is read: a dial, a readout, or neither (stops, slips and gauges).", READINGS
    )
    counts: Literal["up", "down"] = keys.choice(
        "up: the number rises as the tool goes in. Needed for a dial or readout.",
        ("up", "down"),
        only=Only("reading", ("dial", "readout"), ""),
    )
    habit: DialHabit = keys.choice(
        "What the X dial or readout tells: the diameter, how much comes off the diameter, or how far the slide goes "
        "(radius).", DialHabit,
    )  # fmt: skip
    division: Quantity = keys.length(
        "Least step that can be set, in the dial's own measure; with reading none, the step of your gauges.",
        "0.02 mm", "0.5 thou", over=True, most=5.0, how="As engraved beside the dial.",
    )  # fmt: skip
    turn: Quantity = keys.length(
        "One turn of the dial, same measure. For a dial only.", "2 mm", "100 thou", over=True,
        only=Only("reading", ("dial",), 'only a dial has a turn, and {choice} is "{value}"'),
    )  # fmt: skip
    backlash: Quantity = keys.length(
        "How far the slide stands still as its screw is wound back; 0 mm for none. Where a control takes it up by "
        "itself, what is left of it.", "0.04 mm", "2 thou", most=5.0,
        how="Set an indicator against the slide, wind one way, zero the dial, wind back until the indicator moves: "
        "what the dial has moved, half of that on a dial in diameters, is the backlash. Take the largest of several "
        "places.",
    )  # fmt: skip
    where: Where


GAUGED = 0.02
"""What a depth gauge or callipers tell apart, mm: no shoulder is held closer for want of limits. Common practice, no
source."""


def bare_length(slide: Slide) -> float:
    """Return how far off a length may be that has no limits, mm: a division, or what can be measured, if more."""
    return max(float(slide.division), GAUGED)


STANDING = {
    "G17": "the XY plane", "G18": "the ZX plane", "G20": "inches (NISTIR 6556)", "G21": "millimetres (NISTIR 6556)",
    "G40": "radius compensation off", "G49": "no tool length offset in force", "G54": "work system 1",
    "G70": "inches (EIA-274-D)", "G71": "millimetres (EIA-274-D)", "G80": "no cycle in force",
    "G90": "absolute places", "G94": "feed per minute", "G95": "feed per revolution", "G97": "speed in rev/min",
}  # fmt: skip
"""The words whose state a control may be known to begin in, each with that state; otherwise the program must say them
itself."""
OTHERWISE = ("G20", "G21", "G70", "G71", "G90", "G94")
"""The words that are cycles or the like to some lathe controls (common practice, no source)."""
WIDTH, LEAST_WIDTH, MOST_WIDTH = 40, 24, 72
"""The width of a display in characters: where the shop file gives none (common practice, no source), least and most."""
LEAST_COMMENT, MOST_COMMENT = 32, 200
"""The least and the most characters in a comment that a control takes."""
LEAST_HEIGHT, MOST_HEIGHT = 0.001, 0.02
"""The least and the most, mm, that lines in place of an arc may leave uncut; less makes long programs, more is felt."""


def dated(about: str, seen: dict[str, str], example: str) -> Any:
    """Declare a table of what a control was seen to do, each with the date; seen is key -> what the date is of."""
    date = {"$ref": "#/$defs/date"}
    dates = {word: {"description": f"The date on which {what}.", **date} for word, what in seen.items()}
    node = {"type": "object", "additionalProperties": False, "properties": dates}
    return keys.own(about, node, {example: "2026-05-02"}, needed=False, default=())


def senses(seen: dict[str, str]) -> Any:
    """Declare the senses that a machine's programs prove in air; seen is sense -> what the date is of."""
    return dated("Senses that were seen to be as they are meant, each with the date: no program proves them in air "
                 "again, and its head repeats the date.", seen, next(iter(seen)))  # fmt: skip


@declared
class Facts:
    """What the control of a lathe or a mill was seen to be and to do, as far as no standard says it.

    Attributes:
        stands: (word, date) of what the control is known to stand in when a program begins: "G90", "2026-05-02".
        proved: (sense, date) of what was seen to go the way that is meant: "arcs" (lathe), "rotary axis" (mill).
        comment_width: zero where not given, and then the dialect's width counts.
        tool_word: "" where not given, as the dialect has it.
        arc_height: mm; zero for arcs.
    """

    stands: tuple[tuple[str, str], ...] = dated(
        "What the control was seen to stand in when a program begins: a G word, and the date on which that was tried. "
        "A program that leaves the word out is accepted where its head repeats both.",
        {word: f"it was seen to stand in {state}" for word, state in STANDING.items()}, "G90",
    )  # fmt: skip
    proved: tuple[tuple[str, str], ...] = ()
    leave_out: tuple[str, ...] = keys.own(
        "Words that mean something else to this control, where they are cycles: no program says them, and what they "
        "would say must be dated in stands.",
        {"type": "array", "items": {"enum": list(OTHERWISE)}}, ["G71", "G90", "G94"], needed=False, default=(),
    )  # fmt: skip
    message_width: int = keys.integer(
        "Characters of the line that the display shows at a stop, 24 to 72. Left out: 40.",
        least=LEAST_WIDTH, most=MOST_WIDTH, default=WIDTH,
    )  # fmt: skip
    comment_width: int = keys.integer(
        "Characters of a comment between its brackets that it takes, 32 to 200. Left out: as the dialect has it.",
        least=LEAST_COMMENT, most=MOST_COMMENT, absent=0, default=0,
    )  # fmt: skip
    line_ends: Literal["LF", "CRLF"] = keys.choice("Of program files. Left out: LF.", ("LF", "CRLF"), default="LF")
    tool_change: Literal["word", "stop"] = keys.choice(
        "word: a tool is called by its word (T, M6); stop: by a stop whose words name it, and no tool word is said. "
        "Left out: word.", ("word", "stop"), default="word",
    )  # fmt: skip
    tool_word: Literal["pass", "tool", ""] = keys.choice(
        "pass: every pass calls its tool, so that it can be begun there; tool: it is called once. Left out: as the "
        "dialect has it, called once (rs274ngc) or at every pass (eia274d).", ("pass", "tool"), absent="", default="",
        only=Only("tool_change", ("word",), "a tool is changed by a stop alone, so no word calls it"),
    )  # fmt: skip
    tool_zeros: Literal["each", "one"] = keys.choice(
        "each: every tool has a work system or offset of its own; one: all share one, and the zero is set anew at each "
        "tool's stop. Left out: each.", ("each", "one"), default="each",
    )  # fmt: skip
    arcs: Literal["arcs", "lines"] = keys.choice(
        "arcs: G2 and G3, proved in air first; lines: short straight lines, for a control that has no arcs or is not "
        "trusted with them. Left out: arcs.", ("arcs", "lines"), default="arcs",
    )  # fmt: skip
    arc_height: float = keys.length(
        "The most that lines in place of an arc may leave standing, 0.001 to 0.02 mm. They never cut deeper than the "
        "arc.", "0.002 mm", least=LEAST_HEIGHT, most=MOST_HEIGHT, plain=True, default=0.0,
        only=Only("arcs", ("lines",), "arc_height is what lines leave standing, and arcs are said as arcs"),
    )  # fmt: skip

    def proves(self, sense: str) -> bool:
        """Whether a sense was seen to be as it is meant."""
        return any(sense == own for own, _ in self.proved)


NO_FACTS = Facts()
"""The facts of a control of which the shop file says nothing more."""
