"""How findings are made, and the words that they share."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace

from cam.geometry.path import Point
from cam.ground.units import show_length, show_number
from cam.judge.model import Finding
from cam.rs274.halts import lost_halts, wide_messages
from cam.rs274.model import Program
from cam.setting.model import Turned

TOLERANCE = 1e-3
"""Metal too low or too high by less than this, mm, is no finding: a micrometre is a tenth of what a good
micrometer shows and ten times what the last printed digit of a program can move a surface."""
Place = tuple[float, float] | None


def find(
    line: int, kind: str, what: str, *, amount: float = 0.0, at: Place = None, tip: Place = None, obstacle: str = "",
    tool: int = 0,
) -> Finding:  # fmt: skip
    """Make a finding; its places are (z, x), or of the mill (X, Z)."""
    places = [None if p is None else Point(*p) for p in (at, tip)]
    return Finding(
        line=line, kind=kind, what=what, amount=amount, at=places[0], tip=places[1], obstacle=obstacle, tool=tool
    )


def by_line(finding: Finding) -> tuple[int, str, str]:
    """Return the key by which findings are sorted."""
    return finding.line, finding.kind, finding.what


NOTED = ("never said", "datum moved", "called again", "may be left out", "after the end")
"""Kinds of the reader's notes that are findings as they stand."""


def noted(program: Program, kinds: Collection[str] = NOTED) -> list[Finding]:
    """Return what the reader noted, of some kinds, as findings."""
    return [find(n.line, n.kind, n.what) for n in program.notes if n.kind in kinds]


def uncalled(program: Program) -> str:
    """Say what is wrong where no tool is in use."""
    return next((n.what for n in program.notes if n.kind == "not called"), "moves before any tool is called")


def unreadable(program: Program) -> Iterator[Finding]:
    """Yield the finding of a text that breaks a rule of its standard."""
    if program.problems:
        line = min(p.where.line for p in program.problems)
        yield find(line, "unreadable", "breaks a rule of its standard: nothing after it is checked")


def unsaid_stops(program: Program, width: int) -> Iterator[Finding]:
    """Yield the warnings of messages that a display of so many characters cuts, 0 for any, and of words without M0."""
    yield from (find(line, "message", what) for line, what in (wide_messages(program, width) if width else ()))
    read = min((p.where.line for p in program.problems), default=math.inf)
    for line in (line for line in lost_halts(program) if line < read):
        yield find(line, "stop left out", "words tell a person to stop here, and the program moves on without M0")


def mm(value: float, digits: int = 3) -> str:
    """Hold a length, mm, in a sentence until `told` says it, with so many digits in mm, in the program's unit."""
    return f"\x02{value!r} {digits} mm\x03"


def figure(value: float) -> str:
    """Hold a length in the same way, to be said without its unit, as after the letter of an axis."""
    return f"\x02{value!r} 3 \x03"


def micrometres(amount: float) -> str:
    """Say a small length, mm, without its sign, in whole micrometres, 1 at least, up to a tenth of a millimetre."""
    return f"{show_number(max(1000 * abs(amount), 1), 0)} um" if abs(amount) < 0.1 else mm(amount)


def told(what: str, unit: str) -> str:
    """Return a sentence with every length that it holds said in a unit: in inches with a digit more."""

    def say(held: re.Match[str]) -> str:
        text = show_length(float(held[1]), unit, int(held[2]) + (unit == "in"))
        return text if held[3] else text.removesuffix(f" {unit}")

    return _HELD.sub(say, what)


def told_in(unit: str, findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield findings, their sentences told in a unit."""
    return (replace(found, what=told(found.what, unit)) for found in findings)


_HELD = re.compile("\x02(\\S+) (\\d) (mm)?\x03")


def place(z: float, x: float) -> str:
    """Say in words where a place of the half-section is."""
    return f"Z {mm(z)}, diameter {mm(2 * x)}"


def section_at(turned: Sequence[Turned], z: float) -> str:
    """Return the name of the section turned at z, or words for where z lies."""
    for t in turned:
        if t.far <= z <= t.near:
            return f'"{t.section.name}"'
    if turned and z > turned[0].near:
        return "the end"
    if turned and z < turned[-1].far:
        return f'what lies beyond "{turned[-1].section.name}"'
    return "the work"


def shoulder_at(turned: Sequence[Turned], z: float) -> str:
    """Return words for the face nearest to z: the headstock end of a turned section, or the faced end."""
    if not turned:
        return "the face"
    t = min(turned, key=lambda t: abs(t.far - z))
    if abs(turned[0].near - z) < abs(t.far - z):
        return "the end face"
    return f'the shoulder at the headstock end of "{t.section.name}"'


def pass_at(program: Program, line: int) -> int:
    """Return the number of the pass that a line of a text belongs to, by its own headings; 0 before the first."""
    begun = [int(found[1]) for at, words in program.comments if at <= line and (found := _PASS.match(words))]
    return begun[-1] if begun else 0


_PASS = re.compile(r"-+ pass (\d+) of ")


def say_tip_only(tools: Iterable[int]) -> str:
    """Say what was not checked where the bodies of tools are unknown, "tool 3 tip only: ..."; "" for none.

    It goes with every least distance that is said or shown.
    """
    numbers = sorted(set(tools))
    if not numbers:
        return ""
    one = len(numbers) == 1
    names = str(numbers[0]) if one else f"{', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
    return f"tool{'' if one else 's'} {names} tip only: holder and post not checked"
