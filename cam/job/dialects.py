"""What the choice of a dialect means for a job: what follows for the control, and what its standard reads back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from cam.ground.problem import Problem, ProblemError, problem
from cam.rs274.tables import Standard, find_standard, standard_names

if TYPE_CHECKING:
    from cam.shop.machine import Facts
    from cam.shop.mill import Mill
    from cam.shop.model import Shop
    from posts.dialect import Dialect

MEANS = {
    "PLANE_XZ": "G18", "PLANE_XY": "G17", "ABSOLUTE": "G90", "COMPENSATION_OFF": "G40", "CYCLES_OFF": "G80",
    "LENGTH_OFFSET_OFF": "G49", "FEED_PER_MINUTE": "G94", "FEED_PER_REVOLUTION": "G95", "SPEED_FIXED": "G97",
    "SPEED_SURFACE": "G96", "SPEED_LIMIT": "G92", "RAPID": "G0", "LINE": "G1", "ARC_CLOCKWISE": "G2",
    "ARC_COUNTER_CLOCKWISE": "G3", "THREAD": "G33", "CYCLE_DRILL": "G81", "CYCLE_PECK": "G83", "CYCLE_TAP": "G84",
    "CYCLE_RETURN": "G99", "SPINDLE_FORWARD": "M3", "SPINDLE_STOP": "M5", "STOP": "M0", "END": "M2 M30",
    "TOOL_CHANGE": "M6", "SPEED_LETTER": "S", "THREAD_LEAD": "K", "COMMENT_OPEN": "(", "COMMENT_CLOSE": ")",
}  # fmt: skip
"""Each fact of a dialect, with the words that mean it to the reader, in every standard that has them."""
NEEDED = (
    "PLANE_XZ", "PLANE_XY", "ABSOLUTE", "COMPENSATION_OFF", "CYCLES_OFF", "RAPID", "LINE", "ARC_CLOCKWISE",
    "ARC_COUNTER_CLOCKWISE", "SPINDLE_FORWARD", "SPINDLE_STOP", "STOP", "END", "SPEED_LETTER", "COMMENT_OPEN",
    "COMMENT_CLOSE",
)  # fmt: skip
"""Facts that no dialect can do without."""
WORD = re.compile(r"([A-Z])0*([0-9]+(?:\.[0-9])?)")


def check_dialect(dialect: Dialect) -> Dialect:
    """Return a user's own dialect, once it is known that its standard reads each of its words as it is meant.

    Raises:
        ProblemError: with every fact that is read otherwise, at its line. Tests check those that come with the tool.
    """
    if not dialect.built_in and (problems := list(_misread(dialect))):
        raise ProblemError(problems)
    return dialect


def _misread(dialect: Dialect) -> Iterator[Problem]:
    name = dialect.text("STANDARD")
    if name not in standard_names():
        allowed = ", ".join(standard_names())
        yield Problem(where=dialect.where("STANDARD"), what="no such standard is known to the reader of programs",
                      given=f'"{name}"', allowed=allowed)  # fmt: skip
        return
    standard = find_standard(name)
    units = {"UNITS_MM": standard.metric, "UNITS_INCH": standard.inch}
    for fact, means in {**MEANS, **units}.items():
        given, meant = _bare(dialect.text(fact)), [w for w in means.split() if _knows(standard, w)]
        needed = fact in NEEDED or (fact in units and means)
        if given not in meant and (given or needed):
            yield _unreadable(dialect, fact, means, meant, standard)
    yield from _of_letters(dialect, standard)


def _of_letters(dialect: Dialect, standard: Standard) -> Iterator[Problem]:
    """Find what is wrong with the facts that hold letters."""
    dwell = f"G4 {standard.dwell}" if standard.dwell else ""
    if dialect.text("DWELL") not in ("", dwell):
        yield _unreadable(dialect, "DWELL", dwell, [dwell] if dwell else [], standard)
    if dialect.texts("ARC_OFFSETS") != ("I", "K"):
        yield _unreadable(dialect, "ARC_OFFSETS", "I and K", ["I, K"], standard)
    if dialect.text("TOOL_WORD") and "T" not in standard.letters:
        yield _unreadable(dialect, "TOOL_WORD", "", [], standard)
    for word in (w for w in dialect.texts("WORK_SYSTEMS") if not _knows(standard, w)):
        yield _unreadable(dialect, "WORK_SYSTEMS", word, [], standard)


def _bare(word: str) -> str:
    """Return a word without the zeros that may stand before its number: "G00" gives "G0"."""
    found = WORD.fullmatch(word)
    return f"{found[1]}{found[2]}" if found else word


def _knows(standard: Standard, word: str) -> bool:
    found = WORD.fullmatch(word)
    if found is None:
        return word in "()" or word in standard.letters
    return float(found[2]) in {"G": standard.g, "M": standard.m}.get(found[1], {})


def _unreadable(dialect: Dialect, fact: str, means: str, meant: list[str], standard: Standard) -> Problem:
    """Report a fact that would be read as something else, or not at all."""
    value = dialect.facts[fact].value
    what = f"{fact} is a word that {standard.name} does not read so; what cannot be read back is not written"
    allowed = " or ".join(meant) or f'"", as {standard.name} has no word for it'
    fix = "write that, or name another STANDARD" if means else "leave the word empty"
    return problem(dialect.where(fact), what, f"{fact} = {value!r}", allowed, fix)


@contextmanager
def reading_back(dialect: Dialect, text: str, problems: Sequence[Problem], template: str) -> Iterator[None]:
    """While a program is compared with its plan, report what is wrong in a user's own dialect as no fault of ours.

    Args:
        problems: what the reader found in the text. template: the fact that names its template.
    Raises:
        ProblemError: the program cannot be read back as it was planned, at the fact whose word stands there.
    """
    from cam.job.reread import MisreadError

    if problems and not dialect.built_in:
        raise ProblemError([_not_read_back(dialect, text, str(p), p.what, template) for p in problems])
    try:
        yield
    except MisreadError as misread:
        if dialect.built_in:
            raise
        words = str(misread).splitlines()[0]
        raise ProblemError([_not_read_back(dialect, text, words, words, template)]) from misread


def _not_read_back(dialect: Dialect, text: str, fault: str, what: str, template: str) -> Problem:
    lines, found = text.splitlines(), re.match(r"[^:\n]*:(\d+)", fault)
    given = lines[int(found[1]) - 1] if found and 0 < int(found[1]) <= len(lines) else ""
    return Problem(
        where=dialect.where(_fact_in(dialect, given) or template),
        what=f"a program in this dialect is not read back by {dialect.text('STANDARD')} as it was planned: {what}",
        given=given[:60],
        fix=f"correct this fact, or the template that {template} names",
    )


def _fact_in(dialect: Dialect, line: str) -> str:
    """Return the fact whose word a line holds; "" for none. Rarer words first: RAPID and LINE stand on most lines."""
    words = {w.group() for w in re.finditer(r"[A-Z][0-9.]+", re.sub(r"\([^)]*\)", "", line))}
    facts = [f for f in MEANS if dialect.text(f) in words]
    return min(facts, key=lambda fact: fact in ("RAPID", "LINE"), default="")


def facts_in(dialect: Dialect, facts: Facts) -> Facts:
    """Return what is so of any control of a dialect: without a word for tools, stops whose words name them change them.

    Without a word for their zeros either, one zero serves all of them, set anew at each tool's stop.
    """
    if dialect.text("TOOL_WORD"):
        return facts
    zeros = facts.tool_zeros if dialect.texts("WORK_SYSTEMS") else "one"
    return replace(facts, tool_change="stop", tool_word="", tool_zeros=zeros)


def fit_lathe(shop: Shop, dialect: Dialect) -> Shop:
    """Return the shop with a lathe whose control speaks this dialect."""
    control = shop.lathe.control
    if shop.lathe.by_hand:
        return shop
    name = dialect.name if dialect.built_in else str(dialect.path)
    control = replace(control, dialect=name, facts=facts_in(dialect, control.facts))
    return replace(shop, lathe=replace(shop.lathe, control=control))


def fit_mill(mill: Mill, dialect: Dialect) -> Mill:
    """Return the mill with a control that speaks this dialect."""
    return replace(mill, facts=facts_in(dialect, mill.facts))
