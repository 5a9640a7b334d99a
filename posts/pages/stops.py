"""What each stop of a program asks for, by its N word: a page for controls that keep comments and do not show them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from posts.pages.blocks import Block, Fact, Page, Words
from posts.wording import plain

Said = Mapping[str, Sequence[tuple[str, Sequence[str]]]]
"""By a program's file, the N word of each stop and its words."""

HOW = "This control shows no words. It stands still at these lines: do what is said, then start it again."


def stops_pages(said: Said, part: str, foot: str) -> list[Page]:
    """A page for each program.

    Args:
        part: the part's name. foot: of every page.
    """
    return [
        Page(kind="stops", title=f"STOPS OF {file.upper()}", part=plain(part), blocks=_blocks(stops), foot=foot)
        for file, stops in said.items()
    ]


def _blocks(stops: Sequence[tuple[str, Sequence[str]]]) -> tuple[Block, ...]:
    blocks: list[Block] = [Words(words=HOW, mark="")]
    for word, said in stops:
        blocks += [Fact(label=word, words=plain(words)) for words in said[:1]]
        blocks += [Words(words=plain(words)) for words in said[1:]]
    return tuple(blocks)
