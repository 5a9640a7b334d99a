"""The fix of a refused screw carried out in its part file, where it says a size or a word: the refusal must be gone."""

from __future__ import annotations

import re
from collections.abc import Callable

Fix = Callable[[str, "re.Match[str]"], str]
"""A function that changes the text of a part file as a fix says."""
UNDERCUT = r'(corner_[ab] = "undercut [0-9.]+ mm wide )[0-9.]+( mm deep")'


def _depth(text: str, found: re.Match[str]) -> str:
    return re.sub(UNDERCUT, rf"\g<1>{found['size']}\g<2>", text)


def _by_die(text: str, _: re.Match[str]) -> str:
    return text.replace('thread_by = "single point"', 'thread_by = "die"')


def _no_corner(text: str, _: re.Match[str]) -> str:
    return re.sub(r'corner_[ab] = "[^"]*"\n', "", text)


def _undercut(text: str, found: re.Match[str]) -> str:
    return re.sub(r'(corner_[ab]) = "[^"]*"', rf'\g<1> = "undercut {found["said"]}"', text)


FIXES: tuple[tuple[str, str, Fix], ...] = (
    ("a deeper undercut", r"is not as deep as tool.*allowed +at least (?P<size>[0-9.]+) mm deep", _depth),
    ("a shallower undercut", r"the undercut at the .* is too deep.*allowed +at most (?P<size>[0-9.]+) mm", _depth),
    ("by die", r'fix +.*thread_by = "die"', _by_die),
    ("the corner left out", r"fix +leave the corner out", _no_corner),
    ("an undercut as said", r"allowed +an undercut at least (?P<said>[0-9.]+ mm wide [0-9.]+ mm deep)", _undercut),
)
"""Each fix: its name, the pattern by which a problem says it, and how it is carried out."""


def ways(text: str, problem: str) -> list[tuple[str, str]]:
    """Return every change that a problem names and that can be made by rote: what it is, and the changed part file."""
    found = [(name, apply(text, said)) for name, pattern, apply in FIXES if (said := re.search(pattern, problem, re.S))]
    return [(name, changed) for name, changed in found if changed != text]
