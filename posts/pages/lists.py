"""Things in a row, as a sentence has them, and sentences in a row."""

from __future__ import annotations

from collections.abc import Iterable

from posts.pages.blocks import Caution, Words


def listed(things: Iterable[object]) -> str:
    """Things in a row, "and" before the last."""
    *before, last = [str(t) for t in things] or [""]
    return f"{', '.join(before)} and {last}" if before else last


def sentence(words: str) -> str:
    """A clause as a sentence of its own: a capital, and a full stop where it has no end."""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', ':')) else '.'}"


def told(words: str, mark: str = "-") -> Words | Caution:
    """A sentence of a page behind its mark: "-", "1." or, for a caution, "!"."""
    return Caution(words=words) if mark == "!" else Words(words=words, mark=mark)
