"""Lists of things as a sentence says them, and clauses as sentences."""

from __future__ import annotations

from collections.abc import Iterable


def listed(things: Iterable[object]) -> str:
    """List things as a sentence does, with "and" before the last."""
    *before, last = [str(t) for t in things] or [""]
    return f"{', '.join(before)} and {last}" if before else last


def sentence(words: str) -> str:
    """Make a clause a sentence of its own: with a capital, and a full stop where it has no end."""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', ':')) else '.'}"
