"""Kinds of damage to a program's text: each takes the lines, and gives them back with one thing wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

Lines = list[str]
Damage = Callable[[Lines, Random], Lines | None]

WORD = re.compile(r"([A-Z])([-+]?[0-9]*\.?[0-9]+)")
LENGTHS, ALL = "XYZIKRQA", "XYZIKRQAFSGMT"


def is_code(row: str) -> bool:
    """Tell whether a line does anything: it is neither empty, nor a comment, nor a sign of the tape."""
    return bool(row.strip(" %")) and not row.startswith("(")


def code_lines(lines: Lines) -> list[int]:
    """Return the indices of the lines that do something."""
    return [k for k, row in enumerate(lines) if is_code(row)]


def words_of(lines: Lines, letters: str) -> list[tuple[int, re.Match[str]]]:
    """Return every word that begins with one of the letters, with the index of its line."""
    return [(k, m) for k in code_lines(lines) for m in WORD.finditer(lines[k]) if m[1] in letters]


def put(lines: Lines, k: int, match: re.Match[str], new: str) -> Lines | None:
    """Return the lines with one word put in another's place; None where nothing has changed."""
    row = lines[k][: match.start()] + new + lines[k][match.end() :]
    return None if row == lines[k] else [*lines[:k], row, *lines[k + 1 :]]


def change_word(letters: str, how: Callable[[str, Random], str | None]) -> Damage:
    """Change the number of one word."""

    def damage(lines: Lines, pick: Random) -> Lines | None:
        found = words_of(lines, letters)
        if not found:
            return None
        k, match = pick.choice(found)
        new = how(match[2], pick)
        return None if new is None else put(lines, k, match, match[1] + new)

    return damage


def other_digit(number: str, pick: Random) -> str | None:
    """Change one digit to another."""
    at = pick.choice([i for i, c in enumerate(number) if c.isdigit()])
    return number[:at] + pick.choice([c for c in "0123456789" if c != number[at]]) + number[at + 1 :]


def lost_digit(number: str, pick: Random) -> str | None:
    """Leave out one digit."""
    at = pick.choice([i for i, c in enumerate(number) if c.isdigit()])
    new = number[:at] + number[at + 1 :]
    return new if any(c.isdigit() for c in new) else None


def other_sign(number: str, pick: Random) -> str | None:
    """Change plus to minus, or minus to plus."""
    del pick
    return number.lstrip("-+") if number.startswith("-") else f"-{number}" if float(number) else None


def moved_point(number: str, pick: Random) -> str | None:
    """Move the point by one place."""
    if "." not in number:
        return None
    return f"{float(number) * pick.choice((0.1, 10.0)):.5f}"


def lost_point(number: str, pick: Random) -> str | None:
    """Leave out the point."""
    del pick
    return number.replace(".", "") if "." in number else None


def nudged(number: str, pick: Random) -> str | None:
    """Make a number a little greater or less."""
    return f"{float(number) + pick.choice((-1, 1)) * pick.uniform(0.005, 0.5):.4f}"


def scaled(*shares: float) -> Callable[[str, Random], str | None]:
    """Multiply a number by one of these."""
    return lambda number, pick: f"{float(number) * pick.choice(shares):.4f}".rstrip("0").rstrip(".")


def other_code(letter: str, codes: tuple[str, ...]) -> Damage:
    """Put one G, M or T word in another's place."""

    def damage(lines: Lines, pick: Random) -> Lines | None:
        if not (found := words_of(lines, letter)):
            return None
        k, match = pick.choice(found)
        return put(lines, k, match, letter + pick.choice(codes))

    return damage


def lost_word(letters: str) -> Damage:
    """Leave out one word."""

    def damage(lines: Lines, pick: Random) -> Lines | None:
        k, match = pick.choice(words_of(lines, letters))
        return put(lines, k, match, "")

    return damage


def lost_everywhere(lines: Lines, pick: Random) -> Lines | None:
    """Leave out one code in the whole program."""
    code = pick.choice(sorted({m[0] for _, m in words_of(lines, "GMT")}))
    word = re.compile(rf"\b{code}(?![0-9.])")
    return [word.sub("", row) if is_code(row) else row for row in lines]


def lost_line(lines: Lines, pick: Random) -> Lines | None:
    """Empty one line."""
    k = pick.choice(code_lines(lines))
    return [*lines[:k], "", *lines[k + 1 :]]


def swapped_lines(lines: Lines, pick: Random) -> Lines | None:
    """Change round two lines of code that follow each other."""
    codes = code_lines(lines)
    at = pick.randrange(len(codes) - 1)
    a, b = codes[at], codes[at + 1]
    new = list(lines)
    new[a], new[b] = lines[b], lines[a]
    return new if new != lines else None


def repeated_line(lines: Lines, pick: Random) -> Lines | None:
    """Write one line a second time further on, in place of an empty one."""
    codes = code_lines(lines)
    a, b = pick.choice(codes), pick.choice(codes)
    return [*lines[:b], lines[a], *lines[b + 1 :]] if lines[a] != lines[b] else None


def lost_code(code: str) -> Damage:
    """Leave out one such word."""

    def damage(lines: Lines, pick: Random) -> Lines | None:
        found = [(k, m) for k, m in words_of(lines, code[0]) if m[0] == code]
        k, match = pick.choice(found)
        return put(lines, k, match, "")

    return damage


def no_more(code: str) -> Damage:
    """Leave out all such words."""

    def damage(lines: Lines, pick: Random) -> Lines | None:
        del pick
        word = re.compile(rf"\b{code}(?![0-9.])")
        new = [word.sub("", row) if is_code(row) else row for row in lines]
        return new if new != lines else None

    return damage


G_WORDS = ("0", "1", "2", "3", "17", "18", "20", "21", "40", "54", "55", "70", "71", "80", "81", "90", "91", "94", "95")
KINDS: dict[str, Damage] = {
    "digit of a length changed": change_word(LENGTHS, other_digit),
    "digit of a length lost": change_word(LENGTHS, lost_digit),
    "length nudged by 0.005 to 0.5": change_word(LENGTHS, nudged),
    "sign of a length": change_word(LENGTHS, other_sign),
    "point moved": change_word(LENGTHS + "F", moved_point),
    "point lost": change_word(LENGTHS + "F", lost_point),
    "digit of F or S changed": change_word("FS", other_digit),
    "F scaled": change_word("F", scaled(0.01, 0.1, 2.0, 5.0, 10.0, 1000.0)),
    "S scaled": change_word("S", scaled(0.1, 0.5, 1.5, 2.0, 10.0, 100.0)),
    "length word lost": lost_word(LENGTHS),
    "F or S word lost": lost_word("FS"),
    "G, M or T word lost": lost_word("GMT"),
    "a code lost everywhere": lost_everywhere,
    "G word changed": other_code("G", G_WORDS),
    "M word changed": other_code("M", ("0", "1", "3", "4", "5", "6", "8", "9")),
    "T word changed": other_code("T", ("1", "2", "3", "0101", "0202", "0102")),
    "line lost": lost_line,
    "lines swapped": swapped_lines,
    "line in another's place": repeated_line,
    "one M0 lost": lost_code("M0"),
    "every M0 lost": no_more("M0"),
    "every M5 lost": no_more("M5"),
}
