"""What the shop file says of a control: the one place where a program's text looks up such a fact."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from cam.ground.problem import Problem, ProblemError, Where
from cam.shop.control import zero_of
from cam.shop.machine import Facts
from posts.dialect import Dialect
from posts.pages.lists import listed
from posts.wording import plain


class ControlWords:
    """The words that follow from the control's facts and the dialect, for every template.

    Attributes:
        by_stop: whether tools are changed by stops that name them, and no tool word is said.
        one_zero: whether all tools share one zero, which is set anew at each tool's stop.
        comment_width: characters of a comment between its brackets. width: characters of what is shown at a stop.
    """

    def __init__(self, facts: Facts, dialect: Dialect) -> None:
        self.facts, self.dialect = facts, dialect
        self.by_stop = facts.tool_change == "stop"
        self.one_zero = facts.tool_zeros == "one"
        self.comment_width = facts.comment_width or dialect.count("COMMENT_MOST")
        self.width = min(facts.message_width, self.comment_width - len(dialect.text("MESSAGE")))

    def say(self, *words: str) -> str:
        """Return those of the words, as a line, that this control takes as they are meant."""
        return " ".join(w for w in words if w and w not in self.facts.leave_out)

    def zero(self, number: int) -> str:
        """Return the work system of a tool; "" where the dialect has none."""
        systems = self.dialect.texts("WORK_SYSTEMS")
        return systems[zero_of(self.facts, number) - 1] if systems else ""

    def call(self, number: int) -> str:
        """Return the words that bring a tool into use; "" where a stop alone does."""
        word, change = self._word(number), self.dialect.text("TOOL_CHANGE")
        return f"{word} {change}".strip() if word else ""

    def again(self, number: int) -> str:
        """Return the words for the tool at the start of a pass that does not change it."""
        if self.facts.tool_word == "tool":
            return ""
        return self.call(number) if self.facts.tool_word == "pass" else self._word(number)

    def in_place(self, number: int, place: str) -> str:
        """Say that a tool must be in its place, to someone who starts there: "tool 2 in the post and called"."""
        called = self.by_stop or self.again(number) == self.call(number)
        zero = ", its zero set" if self.one_zero else ""
        return f"tool {number} in the {place}{'' if called else ' and called'}{zero}"

    def mount(self, number: int, name: str) -> str:
        """Return what is shown where a tool is mounted."""
        return f"mount tool {number}: {plain(name)}"[: self.width].upper()

    def meaning(self, word: str) -> str:
        """Return what a word that is left out would say, for a person to check on the control: ": millimetres"."""
        facts = self.dialect
        says = {
            facts.text("UNITS_MM"): "millimetres", facts.text("UNITS_INCH"): "inches",
            facts.text("ABSOLUTE"): "places, not steps", facts.text("FEED_PER_MINUTE"): "feed per minute",
            facts.text("FEED_PER_REVOLUTION"): "feed per revolution",
        }  # fmt: skip
        return f": {says[word]}" if word in self.facts.leave_out and word in says else ""

    def zeros(self, number: int) -> str:
        """Return where a tool's zero is, as the head of the program says it."""
        system, word = self.zero(number), self._word(number)
        if system:
            return f"work system {system}"
        if not word:
            return "mounted at a stop"
        return f"called as {word}, {self._offset(number)}"

    def own(self, number: int) -> str:
        """Return what holds a tool's zero: "G54", "offset 01"; "" where all share one, or no word says it."""
        return "" if self.one_zero else self.zero(number) or (self._offset(number) if self._word(number) else "")

    def entered(self, tools: Iterable[int]) -> str:
        """Say where X, Y and Z of a mill's tools go, as a sentence for head and page."""
        own = [self.own(number) for number in dict.fromkeys(tools)]
        if self.one_zero:
            return "X, Y and Z are one zero for all tools: Z is set anew at each tool's stop."
        if len(own) == 1:
            return f"X, Y and Z go{f' into {own[0]}' if own[0] else ' in'} before the start, or at the tool's stop."
        return f"X and Y go into each of {listed(own)}, the same in all, Z of each tool into its own alone."

    def _offset(self, number: int) -> str:
        return f"offset {zero_of(self.facts, number):02d}"

    def _word(self, number: int) -> str:
        if self.by_stop:
            return ""
        return self.dialect.text("TOOL_WORD").format(tool=number, offset=zero_of(self.facts, number))


def words_of(facts: Facts, dialect: Dialect, where: Where, tools: Iterable[int]) -> ControlWords:
    """Find the words of a control for a program with these tools.

    Raises:
        ProblemError: this dialect cannot say what the facts ask for.
    """
    words = ControlWords(facts, dialect)
    problems = []
    if words.by_stop and not words.one_zero and not dialect.texts("WORK_SYSTEMS") and len(set(tools)) > 1:
        what = f"{dialect.name} has no word but the tool's for a zero of each tool's own"
        given = 'tool_change = "stop", and tool_zeros is not "one"'
        fix = 'write tool_zeros = "one": X and Z are set anew at each tool\'s stop'
        problems.append(Problem(where=where, what=what, given=given, fix=fix))
    most = dialect.count("LINE_MOST") - len(dialect.text("COMMENT_OPEN") + dialect.text("COMMENT_CLOSE"))
    if words.comment_width > most:
        what = f"a comment of {words.comment_width} characters does not go on a line of {dialect.name}"
        problems.append(Problem(where=where, what=what, allowed=f"comment_width up to {most}", fix="lower it"))
    if problems:
        raise ProblemError(problems)
    return words


def context_of(words: ControlWords) -> dict[str, Any]:
    """Return what the templates of lathe and mill share."""
    return {"control": words, "say_only": words.say, "comment_width": words.comment_width}
