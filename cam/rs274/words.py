"""The form of one line: which words, settings and comments stand on it.

NISTIR 6556, 3.3 and appendix E: an optional `/`, an optional line number, then words, parameter settings and
comments in any order. Spaces and tabs count for nothing outside comments, nor does case (published). EIA-274-D: the
same form without settings and expressions, capitals only (from memory of the ISO 6983-1 character set), spaces and
tabs ignored (from memory), a decimal point on every length and feed but zero (common practice, no source).

Each line is read by one route, whatever stands on it.
"""

from __future__ import annotations

import re

from cam.rs274.expressions import Parameters, read_parameter_index, read_value, whole
from cam.rs274.fault import ROTARY, Fault
from cam.rs274.tables import GROUP_NAMES, M_GROUP_NAMES, MOTION, Standard, name_of

LINE_NUMBER = re.compile(r"N[0-9]{1,5}(?![-+.0-9])")
TOKENS = re.compile(r"([A-Z])([-+.0-9]*)|.", re.DOTALL)
"""A letter with the number after it; ("", "") for any other character; no number where a value is not plain."""
find_tokens = TOKENS.findall
MOST_M_WORDS = 4
GREATEST = 1e9
SHORT = 9  # characters; no longer number can be greater
"""The greatest number of a word: a limit of this reader's, so that sums stay finite."""
FIRST_SYSTEM_PARAMETER = 5161
"""First number of the parameters in which the control keeps homes and origins (NISTIR 6556, Table 2)."""
WORD_START = re.compile(r"[A-Z(#]")
NUMBER_FORM = "a number such as 5, 5. or -0.25"
NO_CODES: dict[int, int] = {}
"""The empty set of M words of a line without any. It is shared, so callers must not change it."""


class Block:
    """What one line holds.

    Attributes:
        text: the line, spaces left out, capitals where case does not count.
        words: letter -> value, for all but G, M and N.
        g, m: modal group -> code; G codes in tenths.
        at: letter -> index of the word in text.
        codes_at: modal group -> index of its G word; its complement ~group -> index of its M word.
        settings: parameters to set once the line is read, in order.
    """

    __slots__ = ("at", "codes_at", "g", "m", "settings", "text", "words")

    def __init__(self, text: str) -> None:
        self.text = text
        self.words: dict[str, float] = {}
        self.at: dict[str, int] = {}
        self.g: dict[int, int] = {}
        self.m = NO_CODES
        self.codes_at: dict[int, int] = {}
        self.settings: tuple[tuple[int, float], ...] = ()

    def word(self, letter: str) -> str:
        """Return the word as it is written; "" where it is not on the line."""
        return word_at(self.text, self.at[letter]) if letter in self.at else ""

    def motion_at(self) -> int:
        """Return the index of the motion word, or of the first axis word where the motion is a former line's."""
        first = min((self.at[axis] for axis in "XYZ" if axis in self.at), default=-1)
        return self.codes_at.get(MOTION, first)

    def g_at(self, group: int) -> int:
        """Return the index of the G word of a group; -1 where there is none."""
        return self.codes_at.get(group, -1)

    def m_at(self, group: int) -> int:
        """Return the index of the M word of a group; -1 where there is none."""
        return self.codes_at.get(~group, -1)


def word_at(text: str, at: int) -> str:
    """Return the word that begins at an index, as written; of a long one only the beginning."""
    match = TOKENS.match(text, at)
    return text[at : at + 12] if match is None or not match.group(2) else match.group()


def read_block(text: str, standard: Standard, parameters: Parameters, faults: list[Fault]) -> Block:
    """Read the words of a line that is not empty.

    Args:
        text: the line without spaces, in capitals where case does not count. parameters: as they were when it began.
        faults: every broken rule is added here; what could be read is in the block all the same.
    """
    block = Block(text)
    words, places = block.words, block.at
    letters, pointed = standard.letters, standard.pointed
    end = len(text)
    at = read_line_number(text, int(text[0] == "/"), faults)
    while at < end:
        for letter, number in find_tokens(text, at):
            try:
                digits = len(number)
                if digits:
                    value, after = float(number), at + 1 + digits
                else:
                    value, after = read_odd(block, at, standard, parameters)
                if letter in letters:
                    if letter in words or digits > SHORT or "." not in number:
                        check_word(block, at, letter, value, letter in pointed)
                    words[letter] = value
                    places[letter] = at
                elif letter == "G":
                    store_g(block, at, value, standard)
                else:
                    store_m(block, at, letter, value, standard)
                at = after
            except (ValueError, Fault) as wrong:
                at = resume(text, at, letter + number, wrong, faults)
                break
            if not number:
                break  # what followed was read by other means: go on from there
    return block


def resume(text: str, at: int, word: str, wrong: Exception, faults: list[Fault]) -> int:
    """Note what is wrong with a word; return where reading may go on.

    That is past one strange word or character, but not in an expression.
    """
    fault = wrong if isinstance(wrong, Fault) else Fault(at, "this is not a number", word, NUMBER_FORM)
    faults.append(fault)
    if fault.at > at or text[at] == ";" or "[" in text[at:]:
        return len(text)
    match = WORD_START.search(text, at + max(len(word), 1))
    return match.start() if match else len(text)


def read_line_number(text: str, at: int, faults: list[Fault]) -> int:
    """Pass over N, if it is there, and its digits, 0 to 99999, five at most (NISTIR 6556, 3.3.1)."""
    if text[at : at + 1] != "N":
        return at
    match = LINE_NUMBER.match(text, at)
    if match:
        return match.end()
    given = word_at(text, at)
    allowed = "N and one to five digits, without sign or point"
    return resume(text, at, "N", Fault(at, "this is not a line number", given, allowed), faults)


def read_odd(block: Block, at: int, standard: Standard, parameters: Parameters) -> tuple[float, int]:
    """Read what is not a letter with a plain number; the value counts only after a letter."""
    text = block.text
    first = text[at]
    if first == "(":
        return 0.0, read_comment(text, at)
    if "A" <= first <= "Z":
        if not standard.expressions:
            raise Fault(at, "a number is missing after a letter", word_at(text, at), NUMBER_FORM)
        if first not in standard.letters and first not in "GM":
            raise unknown_letter(text, at, first, standard)
        value, end = read_value(text, at + 1, parameters)
        check_size(text, at, value)
        return value, end
    if first == "#" and standard.expressions:
        return 0.0, read_setting(block, at, parameters)
    raise unreadable(text, at, standard)


def read_comment(text: str, at: int) -> int:
    """Pass over a comment: it must close on its line and hold no other (NISTIR 6556, 3.3.4)."""
    close = text.find(")", at)
    if close < 0:
        raise Fault(len(text), "a comment is not closed on its line", text[at : at + 20], "( ... )", "close it with )")
    if (inner := text.find("(", at + 1, close)) > 0:
        given = text[at : close + 1]
        raise Fault(max(close, inner), "a comment stands inside another", given, fix="take the inner ( out")
    return close + 1


def read_setting(block: Block, at: int, parameters: Parameters) -> int:
    """Read `#5 = value`; it takes effect when the whole line has been read (NISTIR 6556, 3.3.3)."""
    text = block.text
    index, end = read_parameter_index(text, at, parameters)
    if not text.startswith("=", end):
        raise Fault(end, "a parameter stands alone", text[at : end + 1], "#5 = 1.5", "give it a value with =")
    value, end = read_value(text, end + 1, parameters)
    if index >= FIRST_SYSTEM_PARAMETER:
        what = "this reader does not follow a program that writes the control's own parameters"
        raise Fault(at, what, f"#{index}", f"#1 to #{FIRST_SYSTEM_PARAMETER - 1}", "set origins with G10 L2 or G92")
    block.settings = (*block.settings, (index, value))
    return end


def store_g(block: Block, at: int, value: float, standard: Standard) -> None:
    """Keep a G word; one of each modal group may stand on a line (NISTIR 6556, 3.3.5)."""
    known = standard.g.get(value)
    if known is None:
        tenths = whole(value * 10)
        known = None if tenths is None else standard.g.get(tenths / 10)
        if known is None:
            instead = "" if tenths is None else standard.instead.get(tenths, "")
            raise Fault(at, f"there is no such G word in {standard.name}", word_at(block.text, at), fix=instead)
    code, group = known
    if group in block.g:
        what, allowed = f"two G words of one modal group on a line ({GROUP_NAMES[group]})", "one of each group"
        raise Fault(at, what, f"{name_of(block.g[group])} and {name_of(code)}", allowed, "write them on two lines")
    block.g[group] = code
    block.codes_at[group] = at


def store_m(block: Block, at: int, letter: str, value: float, standard: Standard) -> None:
    """Keep an M word: up to four on a line, one of each modal group (NISTIR 6556, 3.3.5).

    No other letter is left; a comment, which has none, is passed over.
    """
    if not letter:
        return
    if letter != "M":
        raise unknown_letter(block.text, at, letter, standard)
    known = standard.m.get(value)
    if known is None:
        number = whole(value)
        known = None if number is None else standard.m.get(float(number))
        if known is None:
            raise Fault(at, f"there is no such M word in {standard.name}", word_at(block.text, at))
    code, group = known
    if group in block.m:
        what = f"two M words of one modal group on a line ({M_GROUP_NAMES[group]})"
        raise Fault(at, what, f"M{block.m[group]} and M{code}", "one of each group", "write them on two lines")
    if len(block.m) == MOST_M_WORDS:
        raise Fault(at, "more than four M words on a line", f"M{code}", "four at most", "write them on two lines")
    block.m = {**block.m, group: code}
    block.codes_at[~group] = at


def check_size(text: str, at: int, value: float) -> None:
    """Refuse a number beyond all machines."""
    if not -GREATEST <= value <= GREATEST:
        allowed = f"-{GREATEST:.0f} to {GREATEST:.0f}"
        raise Fault(at, "the number is greater than any machine's", word_at(text, at), allowed)


def check_word(block: Block, at: int, letter: str, value: float, pointed: bool) -> None:
    """Refuse a repeated letter, a number beyond all machines, and a length without its point."""
    text = block.text
    if letter in block.words:
        raise Fault(at, "a letter is given twice on one line", f"{block.word(letter)} and {word_at(text, at)}", "once")
    check_size(text, at, value)
    given = word_at(text, at)
    if pointed and value and "." not in given:
        what = "a length or feed has no decimal point"
        raise Fault(at, what, given, f"{given}.", "write the point: without it some controls count in thousandths")


def unknown_letter(text: str, at: int, letter: str, standard: Standard) -> Fault:
    """Return the refusal of a letter that the language does not have."""
    match = TOKENS.match(text, at)
    given = match.group() if match else letter
    if letter == "N":
        return Fault(at, "a line number stands behind other words", given, "N first on its line")
    if letter in "ABC":
        what = "a rotary axis is moved, and this machine has none"
        return Fault(at, what, given, fix="take the word out", label=ROTARY)
    allowed = " ".join(sorted(standard.letters | set("GMN")))
    return Fault(at, f"there is no such letter in {standard.name}", given, allowed)


def unreadable(text: str, at: int, standard: Standard) -> Fault:
    """Return the refusal of a character that can begin nothing."""
    sign = text[at]
    shown = sign if sign.isprintable() else ascii(sign)
    if sign == ";":
        return Fault(at, f"{standard.name} has no comments after a semicolon", ";", "( ... )", "put it in parentheses")
    if sign == "%":
        return Fault(at, "the sign % stands where it may not", "%", "alone on the first line, and again on the last")
    if sign == ")":
        return Fault(at, "a comment is closed that was not opened", ")", "( ... )")
    if sign == "/":
        return Fault(at, "block delete stands behind other words", "/", "/ first on its line")
    if sign.islower():
        return Fault(at, f"{standard.name} has capitals only", shown, sign.upper(), "write a capital")
    return Fault(at, "nothing can begin with this", shown, "a word: a letter and its number")
