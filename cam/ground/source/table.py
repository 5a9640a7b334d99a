"""One table of a file, read key by key; what is wrong is collected, not raised."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable, Sequence
from difflib import get_close_matches
from typing import Any, TypeVar

from cam.ground.problem import Problem, Where, in_short
from cam.ground.quantity import Quantity
from cam.ground.source.lines import Path
from cam.ground.source.reading import Source
from cam.ground.trade_words import british
from cam.ground.units import LENGTH, Kind, QuantityError, in_unit, parse, parse_drill, parse_limits

Choice = TypeVar("Choice", bound=str)
T = TypeVar("T")
NAN = math.nan
MOST_UNKNOWN = 50
"""How many unknown keys are reported one by one; more would make no file clearer."""
OPEN = "?"
"""The mark that stands in a file for what is still to be said; it can be a value only where a name is wanted."""


class Table:
    """A table of a TOML file, the problems found in it, and the keys asked for so far.

    Every reading method notes a problem and returns a stand-in where the file is wrong: a Quantity that is
    nan (so that every later comparison is false and checks stay quiet), an empty text, the last choice.
    A key without a default is needed: its absence is a problem that says where to write it and how.
    For a key that may be left out and has no default, ask has() first.

    Attributes:
        where: the table's line.
        title: as messages call it, "[stock]".
        problems: shared by all tables of the file.
        absent: True for the stand-in of a table that the file lacks; its keys are not reported missing.
    """

    def __init__(
        self, source: Source, problems: list[Problem], *, path: Path = (), title: str = "", values: Any = None
    ) -> None:
        self.source = source
        self.problems = problems
        self.path = path
        self.title = title or "the file"
        self.absent = values is None and bool(path)
        self.values: dict[str, Any] = dict(source.values if not path else (values or {}))
        self.where = source.where(path)
        self._asked: dict[str, None] = {}
        self._origin: dict[str, Table] = {}
        self._children: list[Table] = []

    # What is there ------------------------------------------------------------------------------------

    def has(self, key: str) -> bool:
        """Whether the key is written; it counts as asked for from then on."""
        self._asked[key] = None
        return key in self.values

    def raw(self, key: str) -> Any:
        """Return the value as tomllib read it, or None if it is not written."""
        self._asked[key] = None
        return self.values.get(key)

    def written(self, key: str) -> bool:
        """Whether the key is written in this very table, not inherited from another."""
        return key in self.values and key not in self._origin

    @property
    def asked(self) -> tuple[str, ...]:
        """Return the keys asked for so far, sorted."""
        return tuple(sorted(self._asked))

    def inherit(self, other: Table, *, leave: Iterable[str] = ()) -> None:
        """Take every key of another table that is not written here; its line stays the one where it is written."""
        left = {*self.values, *leave}
        for key, value in other.values.items():
            if key not in left:
                self.values[key] = value
                self._origin[key] = other

    def where_of(self, key: str, *inner: str | int) -> Where:
        """Return the line of a key's value, or of the table if the key is not written."""
        if key in self._origin:
            return self._origin[key].where_of(key, *inner)
        return self.source.where((*self.path, key, *inner))

    def given(self, key: str) -> str:
        """Return the key as written, for messages: diameter = "6 mm"."""
        value = self.values.get(key)
        return f"[{self._dotted(key)}]" if isinstance(value, dict) else f"{key} = {_toml(value)}"

    def note(self, key: str, what: str, *, given: str | None = None, allowed: str = "", fix: str = "") -> None:
        """Note a problem at a key's line; given is the key as written unless said otherwise."""
        still = self._open(key)
        shown = (self.given(key) if key in self.values else "") if given is None else given
        lacks = self._path_of(key) if still else ""
        problem = Problem(
            where=self.where_of(key), what=still or what, given=shown, allowed=allowed, fix=fix, lacks=lacks
        )
        self.problems.append(problem)

    def _path_of(self, key: str) -> str:
        return ".".join(map(str, (*self.path, key)))

    def _value(self, key: str, *inner: str | int) -> Any:
        value = self.values[key]
        for at in inner:
            value = value[at]
        return value

    def _open(self, key: str, *inner: str | int) -> str:
        """Return the problem with a key that holds only the mark for what is still to be said, or "" for any other."""
        return f"{key} is still to be said" if not inner and self.values.get(key) == OPEN else ""

    def example(self, text: str) -> str:
        """Return an example, which is in mm, in the unit of most of the file."""
        return in_unit(text, self.source.unit)

    def missing(self, key: str, example: str, *, why: str = "") -> None:
        """Note that a needed key is missing, and where and how to write it."""
        if self.absent:
            return
        what = f"{self.title} has no {key}" + (f"; {why}" if why else "")
        fix = f"{self._place()} as {key} = {self.example(example)}"
        self.problems.append(Problem(where=self.where, what=what, fix=fix, lacks=self._path_of(key)))

    def needs(self, key: str, example: str, *, why: str = "", default: object = None) -> bool:
        """Whether a key is written; that it is not is noted as `missing` does, unless there is a default."""
        if not self.has(key) and default is None:
            self.missing(key, example, why=why)
        return key in self.values

    def parsed(self, key: str, parse: Callable[[Any], T], failed: T, *inner: str | int) -> T:
        """Return what a function makes of a key's value, or of an item inside it.

        Args:
            parse: raises QuantityError for a value that it cannot take, which is noted.
            failed: what stands in for such a value.
        """
        try:
            return parse(self._value(key, *inner))
        except QuantityError as error:
            self.note_error(error, key, *inner)
            return failed

    def unknown(self, key: str, word: str, names: Iterable[str]) -> None:
        """Note that a key names something, a section, that is not there; the nearest name is offered."""
        name, known = self.values[key], list(names)
        fix = did_you_mean(closest(name, known))
        self.note(key, f'there is no {word} called "{name}"', allowed=", ".join(known), fix=fix)

    def check_name(self, name: str, word: str, lines: dict[str, int]) -> None:
        """Note a name that another table of its kind has already; lines, the line of each so far, grows by this one."""
        if name in lines:
            given = f"lines {lines[name]} and {self.where_of('name').line}"
            self.note("name", f'two {word}s are called "{name}"', given=given, fix="give each its own name")
        elif name:
            lines[name] = self.where_of("name").line

    def refuse(self, key: str, what: str, *, fix: str = "") -> None:
        """Note a problem if the key is written at all; it counts as asked for."""
        if self.has(key):
            self.note(key, what, fix=fix)

    def known(self, *keys: str) -> None:
        """Count keys as asked for without reading them."""
        self._asked.update(dict.fromkeys(keys))

    def note_error(self, error: QuantityError, key: str, *inner: str | int) -> None:
        """Note that a key's value, or an item inside it, cannot be read as a quantity."""
        value = self._value(key, *inner)
        allowed, fix = error.said_in("mm" if "mm" in str(value) else self.source.unit)
        name = key + "".join(f"[{n}]" for n in inner)
        self.problems.append(
            Problem(
                where=self.where_of(key, *inner),
                what=self._open(key, *inner) or f"{name}: {error.what}",
                given=f"{name} = {_toml(value)}",
                allowed=allowed,
                fix=fix,
                lacks=self._path_of(key) if self._open(key, *inner) else "",
            )
        )

    # Quantities ---------------------------------------------------------------------------------------

    def quantity(
        self,
        key: str,
        kind: Kind,
        *,
        least: float | None = 0.0,
        over: bool = False,
        most: float | None = None,
        default: float | None = None,
        example: str = "",
    ) -> Quantity:
        """Read a quantity in the inside unit of its kind.

        Args:
            key: in this table.
            kind: one of the kinds of cam.ground.units.
            least, over, most: bounds as cam.ground.units.parse takes them; least is 0 unless said otherwise.
            default: the value where the key is not written; None if the key is needed.
            example: what the message shows if the key is missing.
        """
        if not self.needs(key, f'"{example or "6 " + kind.examples[0]}"', default=default):
            return Quantity(NAN if default is None else default, "", self.where)
        return self.quantity_in(key, kind, least=least, over=over, most=most)

    def quantity_in(self, key: str, kind: Kind, *inner: int, **bounds: Any) -> Quantity:
        """Read the value of a key that is written, or an item inside it; the bounds are those of `parse`."""
        where = self.where_of(key, *inner)
        failed = Quantity(NAN, "", where)
        return self.parsed(key, lambda text: Quantity(parse(text, kind, **bounds), str(text), where), failed, *inner)

    def drill(self, key: str, *, default: float | None = None) -> Quantity:
        """Read a drill's diameter in mm: a length, or a number or letter size."""
        if not self.needs(key, '"3 mm" or "No. 30"'):
            return Quantity(NAN, "", self.where)
        where = self.where_of(key)
        return self.parsed(key, lambda text: Quantity(parse_drill(text), str(text), where), Quantity(NAN, "", where))

    def limits(self, key: str) -> tuple[float, float]:
        """Read limits of size as offsets, mm, (lower, upper); they are nan where they cannot be read."""
        if not self.needs(key, '"+0 / -0.02 mm"'):
            return NAN, NAN
        return self.parsed(key, parse_limits, (NAN, NAN))

    def pair(self, key: str) -> tuple[Quantity, Quantity]:
        """Read two lengths in mm, over zero, the first not larger than the second: grip = ["3 mm", "9 mm"]."""
        stand_in = Quantity(NAN, "", self.where_of(key))
        if not self.needs(key, '["3 mm", "9 mm"]'):
            return stand_in, stand_in
        value = self.values[key]
        if not isinstance(value, list) or len(value) != 2:
            self.note(
                key,
                f"{key} is two lengths, the least and the most",
                allowed=self.example('for example ["3 mm", "9 mm"]'),
            )
            return stand_in, stand_in
        low, high = (self.quantity_in(key, LENGTH, at, least=0.0, over=True) for at in (0, 1))
        if low > high:
            self.note(key, f"the least of {key} is larger than the most", fix="write the smaller one first")
        return low, high

    def points(self, key: str, *, fewest: int = 3, most: int = 100) -> tuple[tuple[Quantity, Quantity], ...]:
        """Read points of two lengths each, mm, which may be negative; () where they cannot be read."""
        example = '[["0 mm", "3 mm"], ["4 mm", "3 mm"], ["4 mm", "25 mm"]]'
        if not self.needs(key, example):
            return ()
        value = self.values[key]
        if not isinstance(value, list) or not fewest <= len(value) <= most:
            self.note(
                key, f"{key} is a list of {fewest} to {most} points", allowed=self.example(f"for example {example}")
            )
            return ()
        found = []
        for at, item in enumerate(value):
            if not isinstance(item, list) or len(item) != 2:
                where, allowed = self.where_of(key, at), self.example('two lengths, for example ["4 mm", "25 mm"]')
                what = f"point {at + 1} of {key} is not two lengths"
                self.problems.append(Problem(where=where, what=what, given=_toml(item), allowed=allowed))
                continue
            found.append((self.quantity_in(key, LENGTH, at, 0), self.quantity_in(key, LENGTH, at, 1)))
        return tuple(found) if not any(math.isnan(n) for point in found for n in point) else ()

    # Texts, choices, plain numbers --------------------------------------------------------------------

    def text(self, key: str, *, default: str | None = None, most: int = 200, example: str = "...") -> str:
        """Read a text of 1 to most characters, on one line."""
        if not self.needs(key, f'"{example}"', default=default):
            return default or ""
        value, shown = self.values[key], f'for example {key} = "{example}"'
        if not isinstance(value, str):
            self.note(key, f"{key} is a text", allowed=self.example(f"in quotes, {shown}"))
        elif not value.strip():
            self.note(key, f"{key} is empty", allowed=self.example(shown))
        elif value == OPEN and key != "name":
            self.note(key, f"{key} cannot be read", allowed=self.example(shown))
        elif len(value.splitlines()) > 1:
            self.note(key, f"{key} is more than one line", allowed=self.example(f"one line, {shown}"))
        elif len(value) > most:
            self.note(key, f"{key} is too long", given=f"{len(value)} characters", allowed=f"at most {most} characters")
        else:
            return value
        return default or ""

    def choice(self, key: str, options: Sequence[Choice], *, default: Choice | None = None) -> Choice:
        """Read one of several words, or the American one for it; the last of them stands in where the file is wrong."""
        words = ", ".join(options)
        failed = options[-1] if default is None else default
        if not self.needs(key, f'"{options[0]}"', why=f"it is one of {words}", default=default):
            return failed
        value = self.values[key]
        if isinstance(value, str) and value not in options and british(value) in options:
            value = self.values[key] = british(value)
        for option in options:
            if value == option:
                return option
        meant = closest(value, options) if isinstance(value, str) else ""
        self.note(key, f"{key} is one of a few words", allowed=words, fix=did_you_mean(meant))
        return failed

    def flag(self, key: str, *, default: bool | None = None) -> bool:
        """Read a value that is true or false."""
        if not self.needs(key, "true or false", default=default):
            return bool(default)
        value = self.values[key]
        if not isinstance(value, bool):
            self.note(key, f"{key} is yes or no", allowed="true or false, without quotes")
        return value is True

    def integer(self, key: str, *, least: int = 0, most: int, default: int | None = None) -> int:
        """Read a whole number; least stands in where the file is wrong."""
        if not self.needs(key, str(max(least, 1)), default=default):
            return least if default is None else default
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.note(key, f"{key} is a whole number", allowed=f"{least} to {most}, without quotes")
            return least
        return value

    def number(self, key: str, *, least: float, most: float, default: float | None = None) -> float:
        """Read a plain number, one that has no unit; it is nan where the file is wrong."""
        if not self.needs(key, str(least or 1), default=default):
            return NAN if default is None else default
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= most:
            self.note(key, f"{key} is a number without a unit", allowed=f"{least:g} to {most:g}, without quotes")
            return NAN
        return float(value)

    # Tables inside ------------------------------------------------------------------------------------

    def table(self, key: str, *, why: str = "") -> Table:
        """Return the table of that name, or a stand-in that reports no more where the file lacks it."""
        if self.has(key) and isinstance(self.values[key], dict):
            return self._child((key,), f"[{self._dotted(key)}]", self.values[key])
        if key in self.values:
            self.note(key, f"{key} is a table", allowed=f"a line [{self._dotted(key)}] and its keys below it")
        elif not self.absent:
            what = f"{self.title} has no [{self._dotted(key)}]" + (f"; {why}" if why else "")
            fix = f"write a line [{self._dotted(key)}] and its keys below it"
            self.problems.append(Problem(where=self.where, what=what, fix=fix, lacks=self._path_of(key)))
        return self._child((key,), f"[{self._dotted(key)}]", None)

    def tables(self, key: str, *, fewest: int = 1, most: int = 200) -> list[Table]:
        """Return the tables of an array, each begun by [[key]], in the file's order."""
        header = f"[[{self._dotted(key)}]]"
        value = self.values.get(key, [])
        if not self.has(key):
            if fewest and not self.absent:
                what, fix = (
                    f"{self.title} has no {header}",
                    f"write a line {header} and its keys below it, one for each",
                )
                self.problems.append(Problem(where=self.where, what=what, fix=fix, lacks=self._path_of(key)))
        elif not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.note(key, f"{key} is a list of tables", allowed=f"each begun by a line {header}")
        elif not fewest <= len(value) <= most:
            self.note(key, f"there are {len(value)} {header}", given="", allowed=f"{fewest} to {most}")
        else:
            return [self._child((key, at), _member_title(header, at, item), item) for at, item in enumerate(value)]
        return []

    # The end ------------------------------------------------------------------------------------------

    def close(self) -> None:
        """Note every key, here and in the tables inside, that nobody asked for, or of very many how many there are."""
        tables = list(self._family())
        unknown = [(t, key) for t in tables for key in t.values if key not in t._asked and key not in t._origin]
        for table, key in unknown[:MOST_UNKNOWN]:
            table._note_unknown(key, tables)
        if len(unknown) > MOST_UNKNOWN:
            table, key = unknown[MOST_UNKNOWN]
            more = f"{len(unknown) - MOST_UNKNOWN} more keys, from here on, are not known"
            self.problems.append(Problem(where=table.where_of(key), what=more, fix="check that this is the right file"))

    def _family(self) -> Iterable[Table]:
        yield self
        for child in self._children:
            yield from child._family()

    def _note_unknown(self, key: str, tables: Iterable[Table]) -> None:
        known = sorted(self._asked)
        meant = closest(key, known)
        homes = sorted({table.title for table in tables if key in table._asked and table.title != self.title})
        if meant:
            fix = did_you_mean(meant)
        elif homes:
            home = f"in {homes[0]}" if homes[0].startswith("[") else "at the top of the file"
            fix = f"it belongs {home}; a key belongs to the [table] line above it"
        else:
            fix = "leave it out"
        what = f"{self.title} has no key {_toml(key)}"
        allowed = ", ".join(known)
        self.problems.append(
            Problem(where=self.where_of(key), what=what, given=self.given(key), allowed=allowed, fix=fix)
        )

    def _child(self, path: Path, title: str, values: Any) -> Table:
        child = Table(self.source, self.problems, path=(*self.path, *path), title=title, values=values)
        self._children.append(child)
        return child

    def _dotted(self, key: str) -> str:
        return ".".join([*(str(k) for k in self.path if isinstance(k, str)), key])

    def _place(self) -> str:
        if not self.path:
            return "write it at the top of the file, before the first [table],"
        return f"write it in {self.title} (line {self.where.line})"


def closest(word: str, words: Iterable[str]) -> str:
    """Return the nearest of some words to one that is not among them, or "" if none is near.

    A word with other numbers in it is not near, however alike the rest: "6 mm collet" is no slip for "2 mm collet".
    """
    numbers = re.findall(r"[0-9]+", word)
    near = [known for known in words if not numbers or re.findall(r"[0-9]+", known) in ([], numbers)]
    found = get_close_matches(word[:60].lower(), near, n=1, cutoff=0.6)
    return found[0] if found else ""


def did_you_mean(word: str) -> str:
    """Return the question whether this word was meant, or "" for no word."""
    return f'did you mean "{word}"?' if word else ""


def _member_title(header: str, at: int, item: dict[str, Any]) -> str:
    name = item.get("name")
    return f"{header} {_toml(name)}" if isinstance(name, str) and name else f"{header} number {at + 1}"


def _toml(value: object, depth: int = 0) -> str:
    """Return a value much as it is written, on one line and not too long."""
    if isinstance(value, str):
        return f'"{in_short(value, 80)}"'
    if isinstance(value, int):  # true and false are too
        return json.dumps(value) if abs(value) < 10**40 else "a very large number"
    if isinstance(value, list):
        shown = [_toml(item, depth + 1) if depth < 2 else "..." for item in value[:4]]
        return f"[{', '.join(shown)}{', ...' * (len(value) > 4)}]"
    return "a table" if isinstance(value, dict) else str(value)
