"""The line that a control shows while it stands: what is to be done, and how much, within the display's width."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from functools import partial
from itertools import pairwise

from cam.geometry.path import Point
from cam.ground.frozen import Row
from cam.moves.model import Stop
from cam.plan.model import Measure
from cam.setting.model import Setting, Turned
from cam.setting.profiles import growth
from posts.wording import plain

STEEP = 0.02
"""The slope of a taper from which on a Z that is off by 0.1 mm has part in its diameter that can be read."""
PROOFS = {
    "prove": ("prove X: tip at {at}", "prove X: {at}"),
    "prove Z": ("prove Z: tip {lines}", "prove Z: {lines}", "prove Z: {short}", "prove Z {short}"),
    "tool set": ("prove the tool: tip at {at}", "prove the tool: {at}", "prove it: {at}"),
    "arc next": ("arc next: must swing to headstock", "arc next: to headstock"),
    "arc seen": ("swung to headstock? else end here", "swung to headstock?"),
    "thread next": ("thread in air next: hand on the stop", "thread in air next"),
    "thread seen": ("went in step? else end here", "went in step?"),
}
"""The words that a proof shows, the longer ones first."""
LEAST_NAME = 6
"""The number of characters of a section's name that are always shown."""


def shown_at(
    pause: Stop, length: Callable[[float], str], proof: float, width: int, names: Sequence[str] = ()
) -> str:  # fmt: skip
    """Return the one line that is shown at a stop, in capitals.

    Args:
        length: how the program prints lengths, from mm. proof: radius at which X is proved, mm.
        width: how many characters the control's display shows. names: of all sections, which a cut one is told from.
    """
    if pause.measure and pause.reason not in PROOFS:
        sizes = _tried(pause, length) if pause.reason == "try" else _measure(pause.measure, length)
        return _named(width, sizes, _name(pause.measure[0]), [*map(plain, names)]).upper()
    at = f"diameter {length(2 * proof)}"
    lines = pause.lines[0] if pause.reason == "prove Z" else ", ".join(map(plain, pause.lines))
    ways = PROOFS.get(pause.reason) or _by_hand(pause.reason, lines)
    short = lines.removesuffix(" the end")
    return fit(width, *(way.replace("{at}", at).replace("{short}", short).replace("{lines}", lines) for way in ways))


def _by_hand(reason: str, lines: str) -> tuple[str, ...]:
    """Return ways to say what a hand sets, the longer first: "set the belt to A2, about 600 rev/min", "belt A2"."""
    if reason == "spindle on":
        return lines, lines.replace("start the spindle", "spindle on")
    if reason == "belt":
        position = lines.rsplit(", about ", 1)[0].removeprefix("set the belt to ")
        return lines, f"set the belt to {position}", f"belt to {position}", f"belt {position}"
    return (lines,)


def fit(width: int, *ways: str) -> str:
    """Return the first of the ways that a display shows in full; else the last, cut where it may be; in capitals."""
    whole = next((words for words in ways if len(words) <= width), "")
    if whole:
        return whole.upper()
    words = ways[-1]
    comma, space = words.rfind(", ", 0, width + 2), words.rfind(" ", 0, width + 1)
    at = comma if comma >= width // 2 else space if space >= width // 2 else width
    return words[:at].rstrip(" ,:").upper()


def correct_at(wanted: Measure, park: Point, length: Callable[[float], str], x_factor: int, *, step: float) -> str:
    """Say what X or Z reads while the tool is parked, and what it is set to for a reading, with an example.

    After a last cut the example lies a step beyond the limits, on the side where metal is left.

    Args:
        park, x_factor: see Measure.set_to. step: step of the example, mm.
    """
    fewer = wanted.kind == "length" and wanted.scrap == "over" and not wanted.cut_left
    off = 3 * step
    if not wanted.cut_left:
        off = wanted.least - wanted.expected - step if fewer else wanted.most - wanted.expected + step
    here, to = wanted.set_to(park, off, x_factor)
    letter, share = ("X", "half of " if x_factor == 1 else "") if wanted.kind == "diameter" else ("Z", "")
    way, other = ("up", "down") if to > here else ("down", "up")
    under = f", {other} by {share}what it is under" if wanted.cut_left else ""
    return (
        f"{letter} reads {length(here)} here, set it {way} by {share}what it is {'under' if fewer else 'over'}, "
        f"as {length(to)} for {length(wanted.expected + off)}{under}"
    )


def bare_at(wanted: Measure, length: Callable[[float], str]) -> str:
    """Say which reading shows that the cut before the last hardly cut; see `Measure.bare`."""
    less = wanted.kind == "length" and wanted.scrap == "over"
    return f"{length(wanted.bare)} or {'less' if less else 'more'} is read"


def uncut_at(wanted: Measure, length: Callable[[float], str]) -> str:
    """Say which reading after a last cut shows that metal is left which the same pass can take off."""
    if wanted.scrap == "over":
        return f"less than {length(wanted.least)} is read"
    return f"more than {length(wanted.most)} is read"


def tapers_in(setting: Setting, measures: Sequence[Measure], length: Callable[[float], str]) -> list[str]:
    """Say at which Z the tapers are measured whose diameters a stop asks for: at their thin ends, where those are free.

    On a steep one what the shoulder is over has part in what the diameter is over: that is said too.
    """
    wanted = {n: m for m in measures if m.kind == "diameter" for n in m.sections}
    shoulder, said = shoulder_of(measures), list[str]()
    for t in setting.turned:
        if t.section.name in wanted and t.is_taper:
            measure, name = wanted[t.section.name], plain(t.section.name)
            at, end = length(t.thin_end - measure.further), "" if measure.further else "its thin end, "
            said.append(f"{name} is a taper: measured at {end}Z {at}.")
            if measure.further:
                said.append("what is before its thin end stands higher yet.")
            said += _steep(t, shoulder)
    return said


class LimitedLength(Row):
    """A section's length between two turned shoulders, with its limits, mm."""

    name: str
    limits: tuple[float, float]


def lengths_beyond(setting: Setting, sections: Collection[str]) -> Iterator[LimitedLength]:
    """Yield the limited lengths from the shoulder past some sections to one that is cut before it.

    Both shoulders may be off by limits of their own, counted from Z 0. None where a stone takes more off a face, or
    where a measured span has limits in their place.
    """
    for pair in pairwise(setting.turned):
        own, within = [t.section for t in pair], pair[1].section.length_tolerance
        spanned = any(s.name in setting.spanned or s.finish.on_face for s in own)
        between = all(t.far_kind == "shoulder" for t in pair)
        if own[0].name in sections and within is not None and between and not spanned:
            drawn = float(own[1].length)
            yield LimitedLength(own[1].name, (drawn + within.lower, drawn + within.upper))


def lengths_in(setting: Setting, measures: Sequence[Measure], limits: Callable[[float, float], str]) -> list[str]:
    """Say which lengths a stop's shoulder, before its last cut, is the second end of, with their limits."""
    names = {n for m in measures if m.kind == "length" and m.cut_left for n in m.sections}
    return [f"{plain(found.name)} must be {limits(*found.limits)} long, its other shoulder as it is."
            for found in lengths_beyond(setting, names)]  # fmt: skip


def shoulder_of(measures: Sequence[Measure]) -> Measure | None:
    """Return the shoulder that is measured before its last cut, if one is."""
    return next((m for m in measures if m.kind == "length" and m.cut_left), None)


def blades_in(measures: Sequence[Measure]) -> list[str]:
    """Say which sections whose diameters a stop asks for only blade anvils reach."""
    return [f"{plain(name)} takes blade anvils." for m in measures if m.blades for name in m.sections]


def _steep(t: Turned, shoulder: Measure | None) -> Iterator[str]:
    """Say what part of an error of a shoulder, measured with it, a steep taper's diameter has in it."""
    if share := share_of_shoulder(t, shoulder):
        way, do = ("to", "add") if share > 0 else ("from", "take")
        part = f"{abs(share):.2f} of what the shoulder is over"
        yield f"X: {way} what {plain(t.section.name)} is over {do} {part}, then correct by that. under is minus."


def share_of_shoulder(t: Turned, shoulder: Measure | None) -> float:
    """Return the share of what a shoulder, measured with it, is over that is added to what a taper's diameter is.

    Below zero it is taken off. Zero where none can be read: on no taper, a slight one, or without that measure.
    """
    slope = growth(t)
    if shoulder is None or t.section.name not in shoulder.sections or slope < STEEP:
        return 0.0
    return 2 * slope if shoulder.scrap == "over" else -2 * slope


def _measure(wanted: tuple[Measure, ...], length: Callable[[float], str]) -> list[str]:
    """Return ways to say section, size and shoulder, the longer first: "{name} 8.08 now, shoulder 33.46"."""
    over = " over wires" if wanted[0].over else ""
    sizes = [f"{SHOULDER} {length(m.expected)}" if m.kind == "length" else length(m.expected) for m in wanted]
    first, *others = sizes
    both = [f"{{name}} {', '.join([first + now, *others])}{over}" for now in (" now", "")]
    return [both[0], *_with_shoulder(both[1])] if len(wanted) > 1 or wanted[0].kind == "length" else both


def _tried(pause: Stop, length: Callable[[float], str]) -> list[str]:
    """Return ways to say what a slip is tried on, the longer first: "slip 0.2 on {name}, shoulder"."""
    wanted = pause.measure
    slips = tuple(dict.fromkeys(map(length, pause.gaps)))
    begins = f"slip{'s' if len(slips) > 1 else ''} {', '.join(slips)}"
    ends = f", {SHOULDER}" if len(wanted) > 1 else f" {SHOULDER}" if wanted[0].kind == "length" else ""
    last = f"slip {'/'.join(slips)} {{name}}{ends}".replace(SHOULDER, SHOULDERS[-1])
    return [f"{begins} on {{name}}{ends}", *_with_shoulder(f"{begins}: {{name}}{ends}"), last]


SHOULDER = "shoulder"
SHOULDERS = (SHOULDER, "shldr", "Z")
"""The words for a shoulder on a display, the longer first."""


def _with_shoulder(way: str) -> list[str]:
    return list(dict.fromkeys(way.replace(SHOULDER, word) for word in SHOULDERS))


def _named(width: int, ways: Sequence[str], name: str, names: Sequence[str]) -> str:
    """Return the first of some ways that fits with the whole name, else with the name cut the least."""
    for short in (name, *_briefs(name, [other for other in names if other != name])):
        for way in ways:
            if len(way.format(name=short)) <= width:
                return way.format(name=short)
    return fit(width, _numbered(width, ways[-1], name, names))


def _briefs(name: str, others: Sequence[str]) -> Iterator[str]:
    """Yield a name cut in several ways, the least first, each time as none of the others is."""
    letters = max(map(len, name.split()), default=0)
    words: list[Callable[[str], str]] = [partial(_cut_to, most=most) for most in range(letters, 1, -1)]
    heads: list[Callable[[str], str]] = [partial(_head, most=most) for most in range(len(name), LEAST_NAME - 1, -1)]
    for way in (_initials_and_last, *words, *heads, _initials):
        if way(name) not in map(way, others):
            yield way(name)


def _initials_and_last(name: str) -> str:
    *first, last = name.split() or [""]
    return " ".join([*(word[0] for word in first), last])


def _cut_to(name: str, most: int) -> str:
    return " ".join(word[:most] for word in name.split())


def _head(name: str, most: int) -> str:
    return name[:most].rstrip()


def _initials(name: str) -> str:
    return "".join(word[0] for word in name.split())


def _numbered(width: int, way: str, name: str, names: Sequence[str]) -> str:
    """Return the beginning of a name, and its number among the sections that begin so."""
    room = max(width - len(way.format(name="")), LEAST_NAME)
    alike = [other for other in names if other[: room - 2] == name[: room - 2]]
    cut = f"{name[: room - 2].rstrip()} {alike.index(name) + 1}" if len(alike) > 1 else name[:room].rstrip()
    return way.format(name=cut)


def _name(wanted: Measure) -> str:
    return plain(wanted.sections[0] if wanted.sections else wanted.what)


def gap_at(
    wanted: Measure, length: Callable[[float], str], slip: float, *, as_made: bool, step: float, slope: float = 0.0
) -> str:  # fmt: skip
    """Say what a slip must just pass to, and how thick it is where the stop before read otherwise than expected.

    Args:
        slip: the gap where what was expected was read, mm. as_made: whether the pass allows for what was read, so that
            the gap is the same for every reading. step: step of the example, mm. slope: of a taper, square to
            which a gap is.
    """
    name = f"the {wanted.what.removeprefix('Z zero to ')}" if wanted.kind == "length" else _name(wanted)
    if as_made:
        return f"{name} is {length(slip)}"
    off = 4 * step
    half = 0.5 / math.hypot(1.0, slope)
    share, wide = "", off if wanted.scrap == "over" else -off
    if wanted.kind == "diameter":
        share, wide = ("half of " if half > 0.49 else f"{half:.2f} of "), -off * half
    sense = "plus" if wide > 0 else "less"
    over = f"{sense} {share}what it read over {length(wanted.expected)}"
    return f"{name} is {length(slip)}, {over}, as {length(slip + wide)} for {length(wanted.expected + off)}"
