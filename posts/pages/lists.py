"""Things in a row, as a sentence has them."""

from __future__ import annotations

from collections.abc import Iterable


def listed(things: Iterable[object]) -> str:
    """Things in a row, "and" before the last."""
    *before, last = [str(t) for t in things] or [""]
    return f"{', '.join(before)} and {last}" if before else last
