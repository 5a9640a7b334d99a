"""What stops say of the belt and of the speed, held against how fast the program then turns.

The line that a control shows decides, as a person acts on that; where it shows none, the other comments do.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from cam.judge.model import Finding
from cam.judge.report import find
from cam.judge.rules import ROUNDING, SPEED_SHARE
from cam.rs274.halts import SHOWN, Halt, plain
from cam.rs274.model import Motion
from cam.shop.model import Speed

OF_SPEEDS = ("belt", "gear", "gears", "speed")
"""The words of a stop for the belt. One with none of them is about something else: a position may be called "1", and
what a pass says of its own rpm moves no belt."""
ORDER = re.compile(r"\b(?:BELT|GEARS?|SPEED)\b(?: TO\b| ON\b)? ?(.*)")
ASKED = re.compile(r"\b(?:BELT|GEARS?) (?:TO|ON)\b")
"""Words that name a position, whatever it is called."""
SAID = re.compile(r"\b([0-9]+(?:\.[0-9]+)?) (?:REV MIN|RPM)\b")
STARTED = re.compile(r"\bSTART THE SPINDLE\b|\bSPINDLE ON\b")
TOOL = re.compile(r"\bTOOL [0-9]+")


def check_belts(
    motions: Sequence[Motion], stops: Mapping[int, Halt], positions: Sequence[Speed], begun: str
) -> Iterator[Finding]:
    """Check that the belt stands where the last stop that names a position has put it, or begun says it stands."""
    on = [p for p in positions if f" BELT ON {plain(p.name)} " in begun]
    for number, motion in enumerate(motions):
        if number in stops:
            named = _put_on(stops[number], positions)
            yield from _check_named(motion, stops[number], named, positions)
            on = named or on
        elif (wanted := _wanted(motion, positions)) and not any(p in on for p in wanted):
            was = f"the last one named puts it on {_or(on)}" if on else "none has been named before"
            what = f"starts the spindle at {motion.rpm:.0f} rev/min, and no stop says to set the belt to"
            yield find(motion.line, "belt", f"{what} {wanted[0].name}: {was}", tool=motion.tool)
            on = wanted[:1]


def _check_named(
    motion: Motion, halt: Halt, named: Sequence[Speed], positions: Sequence[Speed]
) -> Iterator[Finding]:  # fmt: skip
    """Check that a stop names one position, or others only of the same speed, and one that there is."""
    if len({round(p.rpm) for p in named}) > 1:
        yield find(motion.line, "belt", f"stops for the belt, and names more than one position: {_or(named)}")
    if not named and any(ASKED.search(text) for text in _lines(halt, positions)):
        yield find(motion.line, "belt", "stops for the belt, and names no position that this lathe has")


def _or(positions: Iterable[Speed]) -> str:
    return " or ".join(sorted(p.name for p in positions))


def _lines(halt: Halt, positions: Sequence[Speed] = ()) -> list[str]:
    """Return what a stop says of the belt, each comment as plain words: the lines shown, else all others.

    Args:
        positions: of these others only those that set the belt to one; none for all. The head of a program, which
            stands before its first stop, speaks of belts and sets none.
    """
    names = [f"{plain(p.name)} " for p in positions]

    def sets(order: re.Match[str] | None) -> bool:
        if order is None or not names:
            return order is not None
        return bool(ASKED.search(order.string)) or any(f"{order[1]} ".startswith(name) for name in names)

    told = [(SHOWN.match(text), TOOL.sub("", plain(text))) for text in halt.said]
    shown = [text for seen, text in told if seen and ORDER.search(text)]
    return shown or [text for _, text in told if sets(ORDER.search(text))]


def _put_on(halt: Halt, positions: Sequence[Speed]) -> list[Speed]:
    """Return the positions that a stop for the belt names, by name or speed; none for a stop about something else.

    A name that its display cuts is known by its beginning, and by the other words.
    """
    if not halt.names(*OF_SPEEDS):
        return []
    orders = [found[1] for text in _lines(halt, positions) if (found := ORDER.search(text))]
    if not orders:
        return []
    if named := _named_in(orders, positions):
        return named
    cut = [p for p in positions if any(plain(p.name).startswith(order) for order in orders)]
    told = _named_in([halt.words], positions)
    return [p for p in told if p in cut] or cut


def _named_in(texts: Sequence[str], positions: Sequence[Speed]) -> list[Speed]:
    """Return the positions that plain words name, by the longest of their names that fit; by speed if none is named."""
    names = sorted(filter(None, (plain(p.name) for p in positions)), key=len, reverse=True)
    whole = re.compile(rf"(?<![^ ])(?:{'|'.join(map(re.escape, names))})(?![^ ])") if names else None
    named = {name for text in texts for name in (whole.findall(SAID.sub("", text)) if whole else ())}
    by_speed = [p for p in positions if any(f" {p.rpm:.0f} " in f" {text} " for text in texts)]
    return [p for p in positions if plain(p.name) in named] or by_speed


def _wanted(motion: Motion, positions: Sequence[Speed]) -> list[Speed]:
    """Return the positions at which the spindle turns as fast as a motion commands it to; none where it does not."""
    if motion.kind != "spindle" or not motion.spindle or motion.surface_speed is not None:
        return []
    return [p for p in positions if abs(motion.rpm - p.rpm) <= SPEED_SHARE * p.rpm]


def check_speeds_said(motions: Sequence[Motion], stops: Mapping[int, Halt]) -> Iterator[Finding]:
    """Check that the spindle starts at the speed that the last stop for the belt, or for the switch, says."""
    said: float | None = None
    for number, motion in enumerate(motions):
        if number in stops:
            said = next((float(at[1]) for text in _of_speed(stops[number]) if (at := SAID.search(text))), said)
        elif motion.kind == "spindle" and motion.spindle and said is not None:
            if motion.surface_speed is None and abs(motion.rpm - said) > max(SPEED_SHARE * said, ROUNDING):
                what = f"starts the spindle at {motion.rpm:.0f} rev/min, and the stop before says {said:.0f}"
                yield find(motion.line, "speed said", what, tool=motion.tool)
            said = None


def _of_speed(halt: Halt) -> list[str]:
    """Return what a stop says of the speed, as plain words."""
    return [*_lines(halt), *(text for text in map(plain, halt.said) if STARTED.search(text))]
