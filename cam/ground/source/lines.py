"""The line of every value in a TOML text."""

from __future__ import annotations

import re
import tomllib

Path = tuple[str | int, ...]
"""The keys from the top of the file to a value; a number is the place in an array, counted from 0."""

_SKIP = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r'[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_SCALAR = re.compile(
    r'"""(?s:\\.|[^\\])*?"""(?!")|\'\'\'(?s:.)*?\'\'\'(?!\')|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|[^,\[\]{}#\n]+'
)


def line_index(text: str) -> dict[Path, int]:
    """Find the line of every table and value.

    Args:
        text: TOML that tomllib has read without an error; any other text gives nonsense, or ValueError.

    Returns:
        Path -> line, counted from 1. A value has the line on which it starts, a table the line of its header, an array
        of tables the line of its first header, and a table that is only implied the line of what implies it.

    Raises:
        ValueError: the text turns out not to be TOML.
    """
    return _Scan(text).run()


class _Scan:
    """One walk over the text: at is the place, line the line of the last place that was marked."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.marked = 0
        self.lines: dict[Path, int] = {(): 1}
        self.lengths: dict[Path, int] = {}  # of arrays of tables so far

    def run(self) -> dict[Path, int]:
        table: Path = ()
        while self.peek():
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
        return self.lines

    def peek(self) -> str:
        """Return the next character that is neither white space nor comment, or "" at the end."""
        self.at = self.match(_SKIP)
        return self.text[self.at : self.at + 1]

    def match(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self.text, self.at)
        if not found:
            raise ValueError(f"no TOML at character {self.at}")
        return found.end()

    def take(self, sign: str) -> None:
        if self.peek() != sign:
            raise ValueError(f"no {sign!r} at character {self.at}")
        self.at += 1

    def here(self) -> int:
        """Return the line of the place."""
        self.line += self.text.count("\n", self.marked, self.at)
        self.marked = self.at
        return self.line

    def keys(self) -> list[str]:
        """Read one key, or several with dots between."""
        found = []
        while True:
            self.peek()
            start, self.at = self.at, self.match(_KEY)
            found.append(_unquoted(self.text[start : self.at]))
            if self.peek() != ".":
                return found
            self.at += 1

    def header(self) -> Path:
        line = self.here()
        array = self.text.startswith("[[", self.at)
        self.at += 2 if array else 1
        *above, last = self.keys()
        self.take("]")
        if array:
            self.take("]")
        path: Path = ()
        for key in above:
            path = self.latest((*path, key))
            self.lines.setdefault(path, line)
        path = (*path, last)
        if not array:
            path = self.latest(path)
            self.lines[path] = line
            return path
        count = self.lengths.get(path, 0)
        self.lengths[path] = count + 1
        self.lines.setdefault(path, line)
        self.lines[*path, count] = line
        return (*path, count)

    def latest(self, path: Path) -> Path:
        """Return the path to the last table of an array of tables, and any other path as it is."""
        return (*path, self.lengths[path] - 1) if path in self.lengths else path

    def pair(self, table: Path) -> None:
        line = self.here()
        path = table
        for key in self.keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.take("=")
        self.value(path)

    def value(self, path: Path) -> None:
        sign = self.peek()
        self.lines[path] = self.here()
        if sign == "[":
            self.at += 1
            count = 0
            while self.peek() != "]":
                self.value((*path, count))
                count += 1
                if self.peek() == ",":
                    self.at += 1
            self.at += 1
        elif sign == "{":
            self.at += 1
            while self.peek() != "}":
                self.pair(path)
                if self.peek() == ",":
                    self.at += 1
            self.at += 1
        else:
            self.at = self.match(_SCALAR)


def _unquoted(key: str) -> str:
    if key[0] == "'" or (key[0] == '"' and "\\" not in key):
        return key[1:-1]
    if key[0] == '"':
        return str(tomllib.loads(f"key = {key}")["key"])
    return key
