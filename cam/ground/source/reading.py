"""A TOML file from the disk, or the problems that keep it from being read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from hashlib import sha256
from os import PathLike, fspath
from typing import Any, Literal

from cam.ground.frozen import frozen
from cam.ground.inputs import read_input
from cam.ground.problem import Problem, ProblemError, Where, in_short, refusal
from cam.ground.source.lines import Path, line_index
from cam.ground.units import is_inch

MOST_BYTES = 250_000
"""The size in bytes of the largest file that is read. A part file has some two thousand, a shop file ten thousand."""
MOST_DEPTH = 16
"""The most keys with points between them, or brackets in brackets, in a file that is read. Ours have three."""

_TEXT = re.compile(r'#[^\n]*|"""(?s:\\.|[^\\])*?"""(?!")|\'\'\'(?s:.)*?\'\'\'(?!\')|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_DEEP_KEY = re.compile(rf"(?<![\w\"-])(?:[\w\"-]+[ \t]*\.[ \t]*){{{MOST_DEPTH}}}")


@frozen
class Source:
    """A TOML text that could be read.

    Attributes:
        path: as the user named it.
        values: as tomllib gives them.
        lines: path of keys -> line, counted from 1.
        digest: SHA-256 of the bytes, hexadecimal.
    """

    path: str
    values: dict[str, Any]
    lines: dict[Path, int]
    digest: str

    @property
    def unit(self) -> Literal["mm", "in"]:
        """The unit of most lengths in it, in which its examples are said."""
        texts = list(_texts(self.values))
        metric = sum(re.search("[0-9] ?mm", text) is not None for text in texts)
        return "in" if sum(map(is_inch, texts)) > metric else "mm"

    def where(self, path: Path) -> Where:
        """Return the line of a value, or of the nearest table around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return Where(path=self.path, line=self.lines[path] if path else 0)


def _texts(value: Any) -> Iterator[str]:
    """Yield every text with a figure in it, at any depth."""
    if isinstance(value, str):
        yield from (value,) if re.search("[0-9]", value) else ()
    elif isinstance(value, (dict, list)):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _texts(inner)


def read_source(path: str | PathLike[str]) -> Source:
    """Read a TOML file.

    Raises:
        ProblemError: it is missing, unreadable, no plain file, too large, too deep, no text, not UTF-8, or not TOML.
    """
    name = fspath(path)
    return parse_source(read_input(name, MOST_BYTES), name)


def parse_source(content: bytes, path: str) -> Source:
    """Read TOML from the bytes of a file.

    Args:
        content: the whole file.
        path: for messages.

    Raises:
        ProblemError: as for `read_source`.
    """
    if len(content) > MOST_BYTES:
        allowed = f"at most {MOST_BYTES} bytes"
        raise refusal(path, "this file is too large to be right", allowed=allowed, fix="check the name")
    if b"\0" in content:
        where = Where(path=path, line=content.count(b"\n", 0, content.index(b"\0")) + 1)
        raise refusal(where, "this is no text file: it holds a byte that is zero", fix="check the name")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = Where(path=path, line=content.count(b"\n", 0, error.start) + 1)
        given = f"byte 0x{content[error.start]:02x}"
        raise refusal(where, "this is not UTF-8 text", given=given, fix="save the file as UTF-8") from None
    return Source(path=path, digest=sha256(content).hexdigest(), **_read_toml(text, path))


def _read_toml(text: str, path: str) -> dict[str, Any]:
    deep, allowed = _too_deep(text), "a table in a table in a table"
    if deep:
        raise refusal(Where(path=path, line=deep), "this file is nested too deeply", allowed=allowed)
    try:
        return {"values": tomllib.loads(text), "lines": line_index(text)}
    except RecursionError:
        raise refusal(path, "this file is nested too deeply", allowed=allowed) from None
    except tomllib.TOMLDecodeError as error:
        raise _toml_problem(text, path, str(error)) from None
    except ValueError as error:  # a whole number of thousands of digits; Python has its own limit
        raise refusal(path, f"a value in this file cannot be read: {in_short(str(error), 100)}") from error


def _too_deep(text: str) -> int:
    """Return the line on which keys or brackets go deeper than any that can be meant, or 0 where none do.

    This is asked before the text is read, because the time and room that reading takes grow with the square of the
    depth.
    """
    bare = _TEXT.sub(lambda found: '"' + "\n" * found[0].count("\n"), text)
    key = _DEEP_KEY.search(bare)
    if key:
        return bare.count("\n", 0, key.start()) + 1
    depth = 0
    for found in re.finditer(r"[\[\]{}]", bare):
        depth = depth + 1 if found[0] in "[{" else max(depth - 1, 0)
        if depth > MOST_DEPTH:
            return bare.count("\n", 0, found.start()) + 1
    return 0


def _toml_problem(text: str, path: str, message: str) -> ProblemError:
    """Return tomllib's message with its line and column taken out, the line shown, and the usual slips explained."""
    place = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", message, re.DOTALL)
    rows = text.replace("\r\n", "\n").split("\n")
    what, line, column = (place[1], int(place[2]), int(place[3])) if place else (message, len(rows), 0)
    what = what.removesuffix(" (at end of document)")
    row = rows[line - 1].strip() if line <= len(rows) else ""
    where = Where(path=path, line=line, column=column)
    fix = ""
    if re.match(r"[^=]+=\s*[-+0-9./]+\s*[A-Za-zµ°\"']", row):
        fix = 'put the quantity in quotes: diameter = "6 mm"'
    elif re.search(r'=\s*"[^"]*[0-9]\s*""', row):
        fix = "write in for inches, or put the text in single quotes: diameter = '1/4\"'"
    elif "overwrite" in what or "twice" in what or "already" in what:
        fix = "a key or table may be written only once in a file; the other is further up"
    elif re.match(r"[^=]+=\s*[A-Za-z]", row):
        fix = 'put the text in quotes: material = "silver steel"'
    what = f"this is not TOML: {what[:1].lower()}{what[1:]}"
    return ProblemError([Problem(where=where, what=what, given=in_short(row, 100), fix=fix)])
