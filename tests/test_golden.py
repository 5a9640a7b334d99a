"""Texts that are kept whole: a change of one is seen in the commit that makes it, and said there."""

from __future__ import annotations

from difflib import unified_diff

import pytest

from tests.golden import FOLDER, GOLDEN
from tests.told import MARK


@pytest.mark.parametrize("name", sorted(name for name in GOLDEN if not name.startswith(MARK)))
def test_a_kept_text_is_the_same_to_the_letter(name: str) -> None:
    kept, made = (FOLDER / name).read_text(encoding="utf-8"), GOLDEN[name]()
    moved = "".join(unified_diff(kept.splitlines(keepends=True), made.splitlines(keepends=True), "kept", "made", n=1))
    assert not moved, f"{moved}\nmeant so? python -m tests.golden, and say in the commit what moved and why"
