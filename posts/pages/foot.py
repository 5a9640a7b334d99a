"""What every page has: its foot, and the American word where a term first stands on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import PurePath

from cam.ground.trade_words import say_both_once
from cam.ground.version import VERSION
from cam.plan.model import Plan
from posts.pages.blocks import Block, Caution, Fact, Words
from posts.wording import plain


def in_both(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Return the blocks of one page, with the American word in brackets where a term first stands on it."""
    said: set[str] = set()
    return tuple(
        replace(b, words=say_both_once(b.words, said)) if isinstance(b, Fact | Words | Caution) else b for b in blocks
    )


def foot_of(plan: Plan) -> str:
    """Return part file, shop file and version, with their short marks, and a place to sign."""
    files = ((plan.part.path, plan.part.digest), (plan.shop.path, plan.shop.digest))
    marks = ", ".join(f"{PurePath(path.replace(chr(92), '/')).name} {digest[:8]}" for path, digest in files)
    return plain(f"{marks}, endshake {VERSION}; by ________ date ________")
