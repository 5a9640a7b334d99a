"""The law of lengths: every length with limits comes out well within them, and none without takes up more than it may.

Where shoulders stand is read off the metal that the programs leave, setting by setting, as each counts from what the
one before made; only how long the bar is faced is taken from the words that the turner reads.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from tests.search.spec import INCH, Part

SHARE = 0.25
"""How far from the middle of its limits a length may be aimed, as a share of their width."""
FINE = 0.002
GENERAL = ((6.0, 0.05), (30.0, 0.1), (120.0, 0.15), (400.0, 0.2))
"""Length up to, and how far it may be off where no limits are drawn, mm: ISO 2768-1, class f."""

SHOULDER = r"Z zero is the shoulder of [\"']?(\w+)[\"']? toward the ([AB]) end"
Find = Callable[[Part, int], dict[int, float]]
"""A function that finds where the shoulders of one setting stand, by number, mm from the A end of the part so far."""


def stood(part: Part, comments: list[str], find: Find) -> Part:
    """Return the part with its faces where the programs leave them."""
    part = replace(part, stands={}, vague={})
    comments = [comment.replace(" .. ", " ") for comment in comments]  # a line goes on in the next
    from_a = re.search("the A end is turned", comments[0], re.I) is not None
    datum = 0 if from_a else len(part.sections)
    for at, _ in enumerate(comments):
        found = find(part, at)
        stands = dict(part.stands)
        for face, place in found.items():
            stands[face] = place - part.face(face) + stands.get(face, 0.0)
            for groove, own in ((face - 1, face - 1), (face, face + 1)):
                if part.is_groove(groove):
                    stands[own] = stands[face]
        part = replace(part, stands=stands, vague={f: v for f, v in part.vague.items() if f not in found})
        if at == 0 and len(comments) > 1:
            shoulder = re.search(SHOULDER, comments[1], re.I)
            if shoulder is not None:
                datum = part.index(shoulder[1]) + (shoulder[2].upper() == "B")
            part = _faced(part, comments[1], datum, from_a=from_a)
    return part


def _faced(part: Part, comment: str, datum: int, *, from_a: bool) -> Part:
    """Return the part as long as it is faced, as measured from a shoulder to the other end before the second setting.

    Where the B end is turned first its shoulders were found as if it stood where it is drawn.
    """
    said = re.search(r"nominal ([\d.]+) (mm|in)", comment, re.I)
    assert said is not None
    beyond = float(said[1]) * (INCH if said[2].lower() == "in" else 1.0)
    place, end = part.face(datum), len(part.sections)
    if datum in (0, end):
        place += part.extra["b"] if datum else -part.extra["a"]
    drawn = part.length + part.extra["b"] - place if from_a else place + part.extra["a"]
    longer = beyond - drawn
    if abs(longer) < FINE:
        return part
    stands, vague = dict(part.stands), dict(part.vague)
    for face in range(datum + 1 if from_a else datum, end + 1):
        stands[face] = stands.get(face, 0.0) + longer
        if 0 < face < end and part.size_at(face - 1, "b") == part.size_at(face, "a"):
            vague[face] = abs(longer)  # where sections of one size meet, nothing may show it
    return replace(part, stands=stands, vague=vague)


def broken(part: Part, known: set[int], *, room: float) -> str:
    """Say what breaks the law, in words; empty for nothing.

    Args:
        known: numbers of the faces whose places are known. room: how much longer the bar is than need be, mm.
    """
    for at, s in enumerate(part.sections):
        if not {at, at + 1} <= known or at == part.span or s.role == "undercut":
            continue
        off = part.stands.get(at + 1, 0.0) - part.stands.get(at, 0.0)
        most = next(within for up_to, within in GENERAL if s.length <= up_to)
        if s.length_limits is None and part.span >= 0:
            continue  # beside a span it takes up what is left, whatever that is
        low, high = s.length_limits or (-most, most)
        if not low - FINE <= off <= high + FINE:
            return f'"{s.name}" is {s.length + off:.4f} long, {s.length + low:.4f} to {s.length + high:.4f} is wanted'
        aside = abs(off - (low + high) / 2) - SHARE * (high - low)
        if s.length_limits is not None and aside > FINE and part.span < 0 and room > 0.3:
            return f'"{s.name}" is aimed {s.length + off:.4f} long, by {aside:.4f} not well within its limits'
    return ""
