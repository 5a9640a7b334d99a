"""Pages with one thing wrong: a digit, a row lost or twice, two that change places, a dial off by a turn, and others.

A page is damaged in one of its blocks and then printed, so that text, print form, the mill's pages and the notebook are
damaged alike. Whether it matters is asked in `tests.sheets.harm`, what share is found in `tests.sheets.shares`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from random import Random

from cam.ground.frozen import Row
from posts.pages.blocks import Band, Block, Cut, Dial, Fact, FigureTable, MeasureBlock, MillCut, Points, Words

Blocks = Sequence[Block]
Made = tuple[str, list[Block]]
Maker = Callable[[Random, Blocks], Made | None]


class Damage(Row):
    """A page with one thing wrong: its kind, what was done to what, and its blocks."""

    kind: str
    words: str
    blocks: list[Block]


def _digit(rng: Random, figure: str) -> str:
    """Return the figure with one digit changed."""
    k = rng.choice([k for k, c in enumerate(figure) if c.isdigit()])
    return figure[:k] + rng.choice([d for d in "0123456789" if d != figure[k]]) + figure[k + 1 :]


def _changed(blocks: Blocks, at: int, new: Block) -> Made:
    return f"{blocks[at]}  ->  {new}", [*blocks[:at], new, *blocks[at + 1 :]]


def _field(kind: type[Block], *names: str) -> Maker:
    """Change a digit in one of these fields of a block."""

    def make(rng: Random, blocks: Blocks) -> Made | None:
        places = [(n, name) for n, b in enumerate(blocks) if isinstance(b, kind) for name in names
                  if re.search(r"\d", str(getattr(b, name)))]  # fmt: skip
        if not places:
            return None
        at, name = rng.choice(places)
        old = getattr(blocks[at], name)
        new = _digit(rng, str(old))
        return _changed(blocks, at, replace(blocks[at], **{name: int(new) if isinstance(old, int) else new}))

    return make


def _words(kind: type[Dial | Fact | Words], pattern: str) -> Maker:
    """Change a digit of what a pattern's group finds in the words of a block, with its label before them."""
    form = re.compile(pattern)

    def make(rng: Random, blocks: Blocks) -> Made | None:
        found = [(n, m) for n, b in enumerate(blocks) if isinstance(b, kind) and (m := form.search(b.words))]
        if not found:
            return None
        at, match = rng.choice(found)
        old = blocks[at]
        assert isinstance(old, Dial | Fact | Words)
        start, end = match.span(1)
        words = old.words[:start] + _digit(rng, match[1]) + old.words[end:]
        return _changed(blocks, at, replace(old, words=words))

    return make


def _band(pattern: str) -> Maker:
    """Change a digit in one of the words of a band."""
    form = re.compile(pattern)

    def make(rng: Random, blocks: Blocks) -> Made | None:
        found = [(n, k, m) for n, b in enumerate(blocks) if isinstance(b, Band)
                 for k, words in enumerate(b.words) for m in form.finditer(words)]  # fmt: skip
        if not found:
            return None
        at, k, match = rng.choice(found)
        band = blocks[at]
        assert isinstance(band, Band)
        start, end = match.span(1)
        words = band.words[k][:start] + _digit(rng, match[1]) + band.words[k][end:]
        return _changed(blocks, at, replace(band, words=(*band.words[:k], words, *band.words[k + 1 :])))

    return make


def _rows(blocks: Blocks) -> list[int]:
    """Return where the rows stand that are set by figures."""
    return [n for n, b in enumerate(blocks)
            if (isinstance(b, Cut) and b.leaves) or (isinstance(b, MillCut) and b.below)]  # fmt: skip


def _end(blocks: Blocks, at: int) -> int:
    """Return the place behind a row and its points."""
    return at + 2 if at + 1 < len(blocks) and isinstance(blocks[at + 1], Points) else at + 1


def _turn_off(rng: Random, blocks: Blocks) -> Made | None:
    """Read a dial a whole turn off."""
    places = [(n, name) for n in _rows(blocks) for name in ("x", "z", "y")
              if re.match(r"\d+\+", getattr(blocks[n], name, ""))]  # fmt: skip
    if not places:
        return None
    at, name = rng.choice(places)
    turns, plus, rest = getattr(blocks[at], name).partition("+")
    new = int(turns) + rng.choice([-1, 1])
    return None if new < 0 else _changed(blocks, at, replace(blocks[at], **{name: f"{new}{plus}{rest}"}))


def _row_lost(rng: Random, blocks: Blocks) -> Made | None:
    rows = [n for n, b in enumerate(blocks) if isinstance(b, Cut | MillCut)]
    if not rows:
        return None
    at = rng.choice(rows)
    return str(blocks[at]), [*blocks[:at], *blocks[_end(blocks, at) :]]


def _row_twice(rng: Random, blocks: Blocks) -> Made | None:
    rows = _rows(blocks)
    if not rows:
        return None
    at = rng.choice(rows)
    return str(blocks[at]), [*blocks[: at + 1], *blocks[at:]]


def _rows_swapped(rng: Random, blocks: Blocks) -> Made | None:
    """Change the places of two rows; the numbers stay as they are down the page."""
    pairs = [(a, b) for a, b in pairwise(_rows(blocks)) if b == a + 1 == _end(blocks, a)]
    if not pairs:
        return None
    a, b = rng.choice(pairs)
    first, second = blocks[a], blocks[b]
    up, down = (_numbered(second, first), _numbered(first, second))
    if up == first:
        return None
    return f"{first}  <->  {second}", [*blocks[:a], up, down, *blocks[b + 1 :]]


def _numbered(row: Block, like: Block) -> Block:
    """Return a row with the number of another."""
    if isinstance(row, Cut) and isinstance(like, Cut):
        return replace(row, number=like.number, line=like.line)
    assert isinstance(row, MillCut)
    assert isinstance(like, MillCut)
    return replace(row, number=like.number)


def _rows_swapped_with_numbers(rng: Random, blocks: Blocks) -> Made | None:
    rows = _rows(blocks)
    if len(rows) < 2:
        return None
    a, b = sorted(rng.sample(rows, 2))
    return str(blocks[a]), [*blocks[:a], blocks[b], *blocks[a + 1 : b], blocks[a], *blocks[b + 1 :]]


def _place_of(rng: Random, blocks: Blocks, *, least: int = 1) -> tuple[int, Points, int] | None:
    """Pick a row of at least so many points and one of its places: its index, the row, which place."""
    found = [(n, b) for n, b in enumerate(blocks) if isinstance(b, Points) and len(b.places) >= least
             and (least == 1 or b.way != "set over")]  # fmt: skip
    if not found:
        return None
    at, points = rng.choice(found)
    return at, points, rng.randrange(len(points.places))


def _points(rng: Random, blocks: Blocks) -> Made | None:
    """Change a digit of one place of a row of points."""
    if (drawn := _place_of(rng, blocks)) is None:
        return None
    at, points, k = drawn
    side = rng.choice([s for s in (0, 1) if points.places[k][s]])
    place = tuple(_digit(rng, text) if n == side else text for n, text in enumerate(points.places[k]))
    places = (*points.places[:k], (place[0], place[1]), *points.places[k + 1 :])
    return _changed(blocks, at, replace(points, places=places))


def _place_lost(rng: Random, blocks: Blocks) -> Made | None:
    """Lose one place of a row of points."""
    if (drawn := _place_of(rng, blocks, least=2)) is None:
        return None
    at, points, k = drawn
    return _changed(blocks, at, replace(points, places=(*points.places[:k], *points.places[k + 1 :])))


def _lost(kind: type[Block]) -> Maker:
    """Lose a block."""

    def make(rng: Random, blocks: Blocks) -> Made | None:
        found = [n for n, b in enumerate(blocks) if isinstance(b, kind)]
        if not found:
            return None
        at = rng.choice(found)
        return str(blocks[at]), [*blocks[:at], *blocks[at + 1 :]]

    return make


def _other_way(rng: Random, blocks: Blocks) -> Made | None:
    found = [n for n, b in enumerate(blocks) if isinstance(b, Dial) and re.search("rises|falls", b.words)]
    if not found:
        return None
    at = rng.choice(found)
    dial = blocks[at]
    assert isinstance(dial, Dial)
    turned = re.sub("rises|falls", lambda m: {"rises": "falls", "falls": "rises"}[m[0]], dial.words, count=1)
    return _changed(blocks, at, replace(dial, words=turned))


def _tool_lost(rng: Random, blocks: Blocks) -> Made | None:
    """Lose a tool change."""
    found = [n for n, b in enumerate(blocks) if isinstance(b, Band) and any(w.startswith("tool ") for w in b.words)]
    if not found:
        return None
    at = rng.choice(found)
    band = blocks[at]
    assert isinstance(band, Band)
    kept = tuple(w for w in band.words if not w.startswith("tool "))
    return f"{band}", [*blocks[:at], *([replace(band, words=kept)] if kept else []), *blocks[at + 1 :]]


def _tool_in_post(rng: Random, blocks: Blocks) -> Made | None:
    """Change the number of a tool in the list above the rows."""
    found = [n for n, b in enumerate(blocks) if isinstance(b, Fact) and b.label.startswith("TOOL ")]
    if not found:
        return None
    at = rng.choice(found)
    fact = blocks[at]
    assert isinstance(fact, Fact)
    return _changed(blocks, at, replace(fact, label=_digit(rng, fact.label)))


def _cell(column: int, *, passes: bool) -> Maker:
    """Change a digit in one column of a table, of passes or of sizes."""

    def make(rng: Random, blocks: Blocks) -> Made | None:
        tables = [(n, b) for n, b in enumerate(blocks) if isinstance(b, FigureTable)]
        found = [(n, b, k) for n, b in tables if (b.heads[0] == "pass") == passes
                 for k, row in enumerate(b.rows) if re.search(r"\d", row[column])]  # fmt: skip
        if not found:
            return None
        at, table, k = rng.choice(found)
        cells = tuple(_digit(rng, cell) if n == column else cell for n, cell in enumerate(table.rows[k]))
        return _changed(blocks, at, replace(table, rows=(*table.rows[:k], cells, *table.rows[k + 1 :])))

    return make


def _passes(change: Callable[[Random, list[tuple[str, ...]]], list[tuple[str, ...]]]) -> Maker:
    """Lose or swap rows of a table of passes."""

    def make(rng: Random, blocks: Blocks) -> Made | None:
        found = [(n, b) for n, b in enumerate(blocks) if isinstance(b, FigureTable) and b.heads[0] == "pass"]
        if not found:
            return None
        at, table = rng.choice(found)
        return _changed(blocks, at, replace(table, rows=tuple(change(rng, list(table.rows)))))

    return make


def _one_lost(rng: Random, rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    del rows[rng.randrange(len(rows))]
    return rows


def _last_lost(_: Random, rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    return rows[:-2]


def _two_swapped(rng: Random, rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Change the places of two passes; the numbers stay as they are down the page."""
    k = rng.randrange(len(rows) - 1)
    a, b = rows[k], rows[k + 1]
    rows[k : k + 2] = [(a[0], *b[1:]), (b[0], *a[1:])]
    return rows


def _x_turn_off(rng: Random, rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    k = rng.randrange(len(rows))
    turns, plus, rest = rows[k][3].partition("+")
    if plus:
        rows[k] = (*rows[k][:3], f"{int(turns) + 1}+{rest}", *rows[k][4:])
    return rows


FIGURE = r"-?[\d.]*\d"
LATHE: dict[str, Maker] = {
    "X reading": _field(Cut, "x"),
    "Z reading": _field(Cut, "z"),
    "leaves": _field(Cut, "leaves"),
    "to Z": _field(Cut, "stop"),
    "was": _field(Cut, "was"),
    "number": _field(Cut, "number"),
    "from": _field(Cut, "start"),
    "from by dial": _words(Fact, rf"^{FIGURE}: (\d+[+-][\d.]+|{FIGURE})"),
    "a turn off": _turn_off,
    "row lost": _row_lost,
    "rows swapped": _rows_swapped,
    "rows and numbers swapped": _rows_swapped_with_numbers,
    "row twice": _row_twice,
    "MEASURE figure": _field(MeasureBlock, "expected"),
    "MEASURE limit": _field(MeasureBlock, "least", "most"),
    "MEASURE lost": _lost(MeasureBlock),
    "division": _words(Dial, r"DIAL  a division is ([\d.]+)"),
    "turn": _words(Dial, r"DIAL .* (\d+) a turn"),
    "zero": _words(Dial, rf"^(?:X|Z) (?:DIAL|READS|IN|SLIPS)  .* (?:is|from) (?:diameter|Z) ({FIGURE})"),
    "dial's sense": _other_way,
    "speed": _band(r"(?:belt|spindle) .*?(\d+) rpm"),
    "feed": _band(r"^feed ([\d.]+)"),
    "band lost": _lost(Band),
    "tool change lost": _tool_lost,
    "tool in the post": _tool_in_post,
    "points": _points,
    "place lost": _place_lost,
    "angle": _field(Points, "angle"),
}
"""Every kind of damage to a page of the lathe."""
MILL: dict[str, Maker] = {
    "Z reading": _field(MillCut, "z"),
    "Y reading": _field(MillCut, "y"),
    "left": _field(MillCut, "left"),
    "below": _field(MillCut, "below"),
    "side up": _field(MillCut, "turn"),
    "number": _field(MillCut, "number"),
    "flat, layer, path": _field(MillCut, "what"),
    "a turn off": _turn_off,
    "row lost": _row_lost,
    "rows swapped": _rows_swapped,
    "rows and numbers swapped": _rows_swapped_with_numbers,
    "row twice": _row_twice,
    "MEASURE figure": _field(MeasureBlock, "expected"),
    "MEASURE lost": _lost(MeasureBlock),
    "path, place": _band(r"(?:in to|Y|to|X|past) (?:Y |X )?(?:dial |reads )?(\d+\+[\d.]+|-?\d+\.\d+)"),
    "tool": _band(r"^T(\d+)"),
    "speed": _band(r"about (\d+) rpm"),
    "feed": _band(r"^feed ([\d.]+)"),
    "division": _words(Dial, r"a (?:division|step) is ([\d.]+)"),
    "turn": _words(Dial, r"DIAL .* (\d+) a turn"),
    "zero": _words(Dial, rf"; (\d+[+-][\d.]+|{FIGURE}) is [XYZ] "),
    "zero's place": _words(Dial, rf" is [XYZ] ({FIGURE})"),
    "dial's sense": _other_way,
    "drawn out": _points,
    "one time out lost": _place_lost,
    "angle": _words(Fact, r"^([\d.]+) deg clockwise from the middle of flat 1"),
    "how far below": _words(Fact, rf"^({FIGURE}), the drill's point"),
}
"""Every kind of damage to a page of the mill."""
THREAD: dict[str, Maker] = {
    "size": _cell(1, passes=False),
    "X reading": _cell(3, passes=True),
    "tip at": _cell(1, passes=True),
    "cut": _cell(2, passes=True),
    "number": _cell(0, passes=True),
    "a turn off": _passes(_x_turn_off),
    "pass lost": _passes(_one_lost),
    "last passes lost": _passes(_last_lost),
    "passes swapped": _passes(_two_swapped),
    "MEASURE figure": _field(MeasureBlock, "expected"),
    "MEASURE limit": _field(MeasureBlock, "least", "most"),
    "wire": _field(MeasureBlock, "name"),
    "MEASURE lost": _lost(MeasureBlock),
    "other wires": _words(Words, rf"Over other wires .* ({FIGURE})"),
    "wheels": _words(Words, r"Wheels: .*?(\d+) (?:on the spindle|on the leadscrew|drives)"),
    "pitch that they cut": _words(Words, rf"They cut ({FIGURE})"),
    "tool": _words(Words, r"^Tool (\d+)"),
    "shank": _words(Words, rf"about ({FIGURE})\)"),
    "start": _words(Words, rf"^Start at least ({FIGURE})"),
    "rpm": _words(Words, r"Under power, at (\d+) rpm"),
    "turns of the die": _words(Words, r"^About (\d+) turns"),
    "length by die": _words(Words, rf"turns make ({FIGURE})"),
    "die": _words(Words, r"^Die \D*([\d.]+)"),
    "words lost": _lost(Words),
    "dial lost": _lost(Dial),
    "division": _words(Dial, r"DIAL  a division is ([\d.]+)"),
    "turn": _words(Dial, r"DIAL .* (\d+) a turn"),
    "zero": _words(Dial, rf"^X (?:DIAL|READS|IN)  .* (?:is|from) diameter ({FIGURE})"),
    "dial's sense": _other_way,
    "line to saw at": _words(Words, rf"Scribe a line ({FIGURE})"),
    "length over all": _words(Words, rf"until it is ({FIGURE})"),
}
"""Every kind of damage to the pages of a screw."""


def damages_of(blocks: Blocks, makers: dict[str, Maker], rng: Random) -> Iterator[Damage]:
    """Return damaged forms of a page, one of each kind that it can have."""
    for kind, make in makers.items():
        made = make(rng, blocks)
        if made is not None and made[1] != list(blocks):
            yield Damage(kind, *made)
