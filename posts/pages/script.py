"""The sentences of a page, from its template in templates/: one line a block, by the sign before it.

`# ` begins a head; `= LABEL | words` a fact; `| ` a paragraph; `- ` an item; `+ ` a step, numbered from its head on;
`! ` a caution at its own place, `!! ` a general one; `^ ` what must not be overlooked; `@ name` stands where blocks go
that are no sentences. A line without a sign goes on with the line before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from posts.environment import find_template
from posts.pages.blocks import Banner, Block, Caution, Fact, Head, Words
from posts.pages.lists import listed

_SIGN = re.compile(r"(?:[#=|+@^-]|!!?) ")


def blocks_of(name: str, own: Mapping[str, Iterable[Block]] | None = None, **context: Any) -> Iterator[Block]:
    """Yield the blocks of a template.

    Args:
        name: of the template, without its endings. own: the blocks that are no sentences, by name. context: what the
            template uses.
    """
    number = 0
    for line in _lines(find_template(f"{name}.page.j2").render(listed=listed, **context)):
        sign, _, words = line.partition(" ")
        if sign == "@":
            yield from (own or {})[words]
        elif sign == "=":
            label, _, words = words.partition(" | ")
            yield Fact(label=label, words=words)
        elif sign.startswith("!"):
            yield Caution(words=words, general=sign == "!!")
        elif sign == "^":
            yield Banner(words=words)
        elif sign == "#":
            number = 0
            yield Head(words=words)
        else:
            number += sign == "+"
            yield Words(words=words, mark={"|": "", "+": f"{number}."}.get(sign, sign))


def _lines(text: str) -> Iterator[str]:
    """Yield each line that begins with a sign, with those that go on with it."""
    line = ""
    for given in text.splitlines():
        if _SIGN.match(given):
            if line:
                yield line
            line = given
        elif given.strip():
            line = f"{line} {given}"
    if line:
        yield line
