"""What one control understands, fact by fact, read from a data file that can be held against the standard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Any

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where, problem
from cam.ground.source import read_source

HERE = Path(__file__).parent
STANDINGS = ("published", "practice", "memory", "own")
"""How well a fact is founded: printed in the standard named; common practice, no source; recalled; our own choice."""

KINDS: dict[str, type] = {
    **dict.fromkeys(
        ("ABOUT", "STANDARD", "TEMPLATE", "UNITS_MM", "UNITS_INCH", "PLANE_XZ", "ABSOLUTE", "COMPENSATION_OFF",
         "CYCLES_OFF", "LENGTH_OFFSET_OFF", "FEED_PER_MINUTE", "FEED_PER_REVOLUTION", "SPEED_FIXED",
         "SPEED_SURFACE", "SPEED_LIMIT",
         "SPEED_LETTER", "SPINDLE_FORWARD", "SPINDLE_STOP", "RAPID", "LINE", "ARC_CLOCKWISE", "ARC_COUNTER_CLOCKWISE",
         "TOOL_WORD", "TOOL_CHANGE", "STOP", "END", "TAPE_MARK", "LINE_NUMBERS", "COMMENT_OPEN", "COMMENT_CLOSE",
         "COMMENT_CHARACTERS", "COMMENT_CASE", "MESSAGE", "MILL_TEMPLATE", "PLANE_XY", "CYCLE_DRILL", "CYCLE_PECK",
         "CYCLE_TAP", "CYCLE_RETURN", "ROTARY_LETTER", "THREAD", "THREAD_LEAD", "DWELL"), str),
    **dict.fromkeys(("ARC_TOLERANCE_MM", "ARC_TOLERANCE_INCH"), float),
    **dict.fromkeys(
        ("TOOL_MOST", "DECIMALS_MM", "DECIMALS_INCH", "FEED_DECIMALS_MM", "FEED_DECIMALS_INCH", "LINE_MOST",
         "REVOLUTION_DECIMALS_MM", "REVOLUTION_DECIMALS_INCH", "LINE_NUMBER_MOST", "COMMENT_MOST"), int),
    **dict.fromkeys(("X_WORDS", "ARC_OFFSETS", "WORK_SYSTEMS"), list),
    **dict.fromkeys(("UNITS_ALONE", "COMMENTS_SHOWN"), bool),
}  # fmt: skip
"""Every fact that a dialect states, and the type of its value."""

CHOICES: dict[str, tuple[str, ...]] = {
    "LINE_NUMBERS": ("passes", "every line"),
    "COMMENT_CASE": ("as written", "upper"),
}
"""Facts that must be one of a few words."""

BOUNDS: dict[str, tuple[float, float]] = {
    **{name: (0, 8) for name in KINDS if "DECIMALS" in name},
    "COMMENT_MOST": (20, 1000),
    "LINE_MOST": (40, 1000),
    "TOOL_MOST": (1, 99),
}
"""Least and greatest sensible value of a number; 0 to MOST for the others."""

MOST = 1_000_000


class DialectFact(Row):
    """One fact of a dialect.

    Attributes:
        value: what it is. standing: one of STANDINGS. source: where to look it up; may be "". line: its line in the
            data file.
    """

    value: Any
    standing: str
    source: str
    line: int = 0


@frozen
class Dialect:
    """One dialect: facts in upper case, and which template writes it.

    Attributes:
        name: "rs274ngc", or the path of a user's own file.
        path: the path of the data file.
        built_in: False for a user's own, whose template runs in a sandbox.
        facts: every fact of KINDS, by its name.
    """

    name: str
    path: Path
    built_in: bool
    facts: Mapping[str, DialectFact]

    def text(self, name: str) -> str:
        """Return a fact that is a word or sentence; "" where the dialect has no such word."""
        value: str = self.facts[name].value
        return value

    def number(self, name: str) -> float:
        """Return a fact that is a number."""
        value: float = self.facts[name].value
        return value

    def count(self, name: str) -> int:
        """Return a fact that is a whole number."""
        value: int = self.facts[name].value
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a fact that is a list of words."""
        return tuple(self.facts[name].value)

    def flag(self, name: str) -> bool:
        """Return a fact that is true or false."""
        value: bool = self.facts[name].value
        return value

    def where(self, name: str) -> Where:
        """Return the line that states a fact."""
        return Where(path=str(self.path), line=self.facts[name].line)


def dialect_names() -> tuple[str, ...]:
    """Return the names of the dialects that come with the tool, sorted."""
    return tuple(sorted(p.stem for p in HERE.glob("*.toml")))


def load_dialect(name: str, *, where: Where | None = None) -> Dialect:
    """Load a dialect by its name, or from a user's own file.

    Args:
        name: one of dialect_names(), or the path of a TOML file of the same form; a relative path counts
            from the working directory, then from the folder of the file in where.
        where: the line that asked for it, for the report.
    Raises:
        ProblemError: no such dialect, or a file that leaves a fact out, has one too many, or one of the wrong type.
    """
    if name in dialect_names():
        return _read_built_in(name)
    own = Path(name)
    if own.suffix == ".toml":
        asked_from = Path(where.path).parent if where else Path()
        for path in (own, asked_from / own):
            if path.is_file():
                return _read(name, path, built_in=False)
    raise ProblemError([_unknown(name, where or Where(path=name))])


@lru_cache(maxsize=8)
def _read_built_in(name: str) -> Dialect:
    """Read a dialect that comes with the tool; lathe, mill and a page may all ask for it."""
    return _read(name, HERE / f"{name}.toml", built_in=True)


def _unknown(name: str, where: Where) -> Problem:
    near = get_close_matches(name, dialect_names(), n=1, cutoff=0.4)
    fix = f"did you mean {near[0]!r}?" if near else "`endshake dialects` lists them"
    allowed = ", ".join(dialect_names()) + ", or the path of a dialect file of your own ending in .toml"
    return problem(where, "there is no such dialect", f"dialect = {name!r}", allowed, fix)


def _read(name: str, path: Path, *, built_in: bool) -> Dialect:
    source = read_source(str(path))
    table = source.values
    lines = {str(place[0]): line for place, line in source.lines.items() if len(place) == 1}
    problems = list(_check(table, str(path), lines))
    if problems:
        raise ProblemError(problems)
    facts = {
        k: DialectFact(row["is"], row["standing"], row.get("source", ""), lines.get(k, 0)) for k, row in table.items()
    }
    return Dialect(name=name, path=path, built_in=built_in, facts=facts)


def _check(table: Mapping[str, Any], path: str, lines: Mapping[str, int]) -> Iterator[Problem]:
    """Report every fact that is missing, unknown, or of the wrong form."""
    for key in sorted(KINDS.keys() - table.keys()):
        fix = f"see {key} in a dialect that comes with the tool"
        yield Problem(where=Where(path=path), what=f"the dialect does not state {key}", fix=fix)
    for key, row in table.items():
        where = Where(path=path, line=lines.get(key, 0))
        if key not in KINDS:
            yield _unknown_fact(key, where)
        elif not isinstance(row, dict) or "is" not in row:
            allowed = '{ is = ..., standing = "...", source = "..." }'
            yield Problem(where=where, what=f"{key} is not written as a fact", given=str(row), allowed=allowed)
        else:
            yield from (
                Problem(where=where, what=f"{key} {what}", given=given, allowed=allowed)
                for what, given, allowed in _check_fact(key, row)
            )


def _check_fact(key: str, row: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield what is wrong with one fact, each as what, given, allowed."""
    value, standing = row["is"], row.get("standing")
    if fault := _fault_in(key, value):
        yield fault[0], repr(value), fault[1]
    if standing not in STANDINGS:
        yield "does not say how well it is founded", f"standing = {standing!r}", ", ".join(STANDINGS)
    if not isinstance(row.get("source", ""), str):
        yield "has a source that is not text", repr(row["source"]), "a text"


def _fault_in(key: str, value: Any) -> tuple[str, str] | None:
    """Return what is wrong with a value and what is allowed; None for nothing."""
    kind, (least, most) = KINDS[key], BOUNDS.get(key, (0, MOST))
    if type(value) not in ((int, float) if kind is float else (kind,)):  # True is no number here
        return "is of the wrong type", f"a value of type {kind.__name__}"
    if kind is list and {*map(type, value)} - {str}:
        return "holds something that is not text", "a list of texts"
    if value not in CHOICES.get(key, (value,)):
        return "is not one of the words it can be", ", ".join(CHOICES[key])
    if kind in (int, float) and not least <= value <= most:
        return "is not a sensible number", f"{least} to {most}"
    if key == "COMMENT_OPEN" and not value:
        return "is empty, so that a comment would be code", "what begins a comment"
    return None


def _unknown_fact(key: str, where: Where) -> Problem:
    near = get_close_matches(key, KINDS, n=1)
    fix = f"did you mean {near[0]}?" if near else "leave it out"
    return Problem(where=where, what=f"{key} is not a fact of a dialect", fix=fix)


def describe_dialects() -> list[tuple[str, str, tuple[str, ...]]]:
    """Return each dialect that comes with the tool: its name, its standard with a line about it, what it can say."""
    out = []
    for name in dialect_names():
        dialect = load_dialect(name)
        out.append((name, f"{dialect.text('STANDARD')}: {dialect.text('ABOUT')}", tuple(_capabilities(dialect))))
    return out


def _capabilities(dialect: Dialect) -> Iterator[str]:
    say = dialect.text
    units = _named(("mm", say("UNITS_MM")), ("inch", say("UNITS_INCH"))) if say("UNITS_MM") else "as the control is set"
    speeds = ("rev/min", say("SPEED_FIXED") or say("SPEED_LETTER")), ("surface speed", say("SPEED_SURFACE"))
    systems = dialect.texts("WORK_SYSTEMS")
    zeros = "offset digits in the T word" if say("TOOL_WORD") else "mounted at stops, one zero set anew at each"
    works = (("drill", "CYCLE_DRILL"), ("peck", "CYCLE_PECK"), ("tap", "CYCLE_TAP"), ("rotary axis", "ROTARY_LETTER"))
    yield "X words: " + " or ".join(dialect.texts("X_WORDS"))
    yield f"units: {units}"
    yield "feed: " + _named(("per minute", say("FEED_PER_MINUTE")), ("per revolution", say("FEED_PER_REVOLUTION")))
    yield f"speed: {_named(*speeds)}"
    yield "arcs: centre form, " + " ".join(dialect.texts("ARC_OFFSETS"))
    yield f"tools: {f'one work system each, {systems[0]} to {systems[-1]}' if systems else zeros}"
    yield "threads: " + (f"{say('THREAD')}, {say('THREAD_LEAD')} the lead" if say("THREAD") else "none")
    yield f"on the mill: {_named(*((what, say(fact)) for what, fact in works)) or 'straight moves only'}"
    yield f"N words: {say('LINE_NUMBERS')}"
    if not dialect.flag("COMMENTS_SHOWN"):
        yield "comments: kept and not shown; the summary has the words of every stop by its N word"


def _named(*words: tuple[str, str]) -> str:
    """Say what a dialect has words for, each with its word in brackets."""
    return ", ".join(f"{what} ({word})" for what, word in words if word)
