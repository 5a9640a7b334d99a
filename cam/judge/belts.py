"""What stops say of the belt and of the speed, held against how fast the program then turns.

The line that a control shows decides, as a person acts on that; where it shows none, the other comments do.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from cam.ground.frozen import Row
from cam.judge.model import Finding
from cam.judge.report import find
from cam.judge.rules import ROUNDING, SPEED_SHARE
from cam.rs274.halts import SHOWN, Halt, plain
from cam.rs274.model import Motion
from cam.shop.model import Speed

ASKED = r"\b(?:BELT|GEARS?) (?:TO|ON) (.*)"
"""Words that set the belt, whatever the position is called, and what follows them."""
ABOUT = r"\b(?:BELT|GEARS?|SPEED) (.*)"
"""Words that may be about the belt. A stop with none of them is about something else: a position may be called "1", and
what a pass says of its own rpm moves no belt; nor need a "gear seat"."""
SAID = re.compile(r"\b([0-9]+(?:\.[0-9]+)?) (?:REV MIN|RPM)\b")
STARTED = re.compile(r"\bSTART THE SPINDLE\b|\bSPINDLE ON\b")
TOOL = r"\bTOOL [0-9]+"


class Orders(Row):
    """What a stop says of the belt and of the speed.

    Attributes:
        texts: of the belt, as plain words. sure: whether they are beyond doubt about the belt.
        started: comments, as plain words, that have the spindle started. words: all that is said, as plain words.
    """

    texts: tuple[str, ...]
    sure: bool
    started: tuple[str, ...]
    words: str


def orders_of(halt: Halt, positions: Sequence[Speed], sections: Iterable[str]) -> Orders:
    """Return what a stop says of the belt; the line that is shown goes before all others.

    The head of a program, which stands before its first stop, says none; nor does a section, whatever it is called.
    """
    plainly: Told = [(bool(SHOWN.match(text)), plain(text)) for text in halt.said]
    things = sorted(map(plain, sections), key=len, reverse=True)
    other = re.compile("|".join([TOOL, *(rf"\b{re.escape(thing)}\b" for thing in things)]))
    texts, sure = _texts(plainly, [(shown, other.sub("", text)) for shown, text in plainly], positions)
    said = [text for _, text in plainly]
    return Orders(texts, sure, tuple(text for text in said if STARTED.search(text)), " ".join(said))


Told = list[tuple[bool, str]]
"""Comments as plain words, each with whether a control shows it."""


def _texts(plainly: Told, about: Told, positions: Sequence[Speed]) -> tuple[tuple[str, ...], bool]:
    """Return what comments say of the belt, those that are shown before all others, and whether it is beyond doubt.

    Args:
        about: the same comments without the names of tools and sections.
    """
    called = "|".join(re.escape(name) for p in positions for name in (plain(p.name), f"{p.rpm:.0f}") if name)
    begins = ABOUT.replace("(.*)", f"((?:{called})(?![^ ]).*)")
    for told, way in ((plainly, ASKED), (about, begins), (about, ABOUT)):
        orders = [(shown, found[1]) for shown, text in told if (found := re.search(way, text))]
        if orders:
            return tuple([text for shown, text in orders if shown] or [text for _, text in orders]), way is not ABOUT
    return (), False


def check_belts(
    motions: Sequence[Motion], stops: Mapping[int, Orders], positions: Sequence[Speed], begun: str
) -> Iterator[Finding]:
    """Check that the belt stands where the last stop that names a position has put it, or begun says it stands."""
    on = [p for p in positions if f" BELT ON {plain(p.name)} " in begun]
    for number, motion in enumerate(motions):
        if number in stops:
            named = _put_on(stops[number], positions)
            yield from _check_named(motion, named) if stops[number].sure else ()
            on = named or on
        elif (wanted := _wanted(motion, positions)) and not any(p in on for p in wanted):
            was = f"the last one named puts it on {_or(on)}" if on else "none has been named before"
            what = f"starts the spindle at {motion.rpm:.0f} rev/min, and no stop says to set the belt to"
            yield find(motion.line, "belt", f"{what} {wanted[0].name}: {was}", tool=motion.tool)
            on = wanted[:1]


def _check_named(motion: Motion, named: Sequence[Speed]) -> Iterator[Finding]:
    """Check that a stop for the belt names one position, or others only of the same speed, and one that there is."""
    if len({round(p.rpm) for p in named}) > 1:
        yield find(motion.line, "belt", f"stops for the belt, and names more than one position: {_or(named)}")
    if not named:
        yield find(motion.line, "belt", "stops for the belt, and names no position that this lathe has")


def _or(positions: Iterable[Speed]) -> str:
    return " or ".join(sorted(p.name for p in positions))


def _put_on(orders: Orders, positions: Sequence[Speed]) -> list[Speed]:
    """Return the positions that a stop for the belt names, by name or speed; none for a stop about something else.

    A name that its display cuts is known by its beginning, and by the other words.
    """
    named = _named_in(orders.texts, positions)
    if named or not orders.texts:
        return named
    cut = [p for p in positions if not orders.sure or any(plain(p.name).startswith(text) for text in orders.texts)]
    return [p for p in _named_in([orders.words], positions) if p in cut] or (cut if orders.sure else [])


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


def check_speeds_said(motions: Sequence[Motion], stops: Mapping[int, Orders]) -> Iterator[Finding]:
    """Check that the spindle starts at the speed that the last stop for the belt, or for the switch, says."""
    said: float | None = None
    for number, motion in enumerate(motions):
        if number in stops:
            texts = (*(stops[number].texts if stops[number].sure else ()), *stops[number].started)
            said = next((float(at[1]) for text in texts if (at := SAID.search(text))), said)
        elif motion.kind == "spindle" and motion.spindle and said is not None:
            if motion.surface_speed is None and abs(motion.rpm - said) > max(SPEED_SHARE * said, ROUNDING):
                what = f"starts the spindle at {motion.rpm:.0f} rev/min, and the stop before says {said:.0f}"
                yield find(motion.line, "speed said", what, tool=motion.tool)
            said = None
