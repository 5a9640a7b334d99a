"""What a program asks for before it starts and, by N word, at each stop, for controls that show no comments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from posts.pages.blocks import Block, Fact, Head, Page, Words
from posts.wording import plain

Told = Sequence[str]
Said = Mapping[str, tuple[Told, Sequence[tuple[str, str, Told]], Sequence[tuple[str, Told]]]]
"""By the file of each program: what its head says; what must stand where it is begun at a pass, with the first and last
N word of which that is so; and the N word of each stop with its words."""

HOW = "This control shows no words. It stands still at these lines: do what is said, then start it again."


def stops_pages(said: Said, part: str, foot: str) -> list[Page]:
    """Make a page for each program.

    Args:
        part: the part's name. foot: the foot of every page.
    """
    return [
        Page(kind="stops", title=f"STOPS OF {file.upper()}", part=plain(part), blocks=_blocks(*told), foot=foot)
        for file, told in said.items()
    ]


def _blocks(
    head: Told, begun: Sequence[tuple[str, str, Told]], stops: Sequence[tuple[str, Told]]
) -> tuple[Block, ...]:  # fmt: skip
    blocks: list[Block] = [Head(words="BEFORE IT STARTS"), *(Words(words=plain(words)) for words in head)]
    blocks += [Head(words="TO BEGIN AGAIN AT A PASS, BY ITS N LINE")] if begun else []
    for first, last, said in begun:
        to = f"TO {last} - " if last != first else ""
        blocks += [Fact(label=first, words=plain(f"{to}{words}")) for words in said[:1]]
        blocks += [Words(words=plain(words)) for words in said[1:]]
    blocks += [Head(words="AT THE STOPS"), Words(words=HOW, mark="")]
    for word, said in stops:
        blocks += [Fact(label=word, words=plain(words)) for words in said[:1]]
        blocks += [Words(words=plain(words)) for words in said[1:]]
    return tuple(blocks)
