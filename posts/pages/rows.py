"""The lines of a sheet that its reader acts on, made from their blocks: the same words in text and in print.

The grammar stands in DEVELOPERS.md, "The sheet's grammar". Columns are separated by two spaces.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from posts.pages.blocks import BLANK, Ask, Band, Block, Cut, Dial, MeasureBlock, MillCut, Points, of_kind

GAP = "  "
"""The gap between columns."""
NUMBERS = ("pass", "cut", "was", "leaves", "turn", "left", "below", "X", "from Z", "to Z", "Y", "Z", "N")
"""The columns in their order; X, Z and N stand only where the machine has them; turn, left, below and Y on the mill."""
ALWAYS = ("pass", "cut", "was", "leaves", "from Z", "to Z")
"""The columns that every page of a lathe has."""
RIGHT = "rlrrlrrrrrrrr"
"""How each column is set: l to the left, r to the right."""
HEADS = {("X", "dial"): "X dial", ("X", "readout"): "X reads", ("X", "none"): "X in",
         ("Z", "dial"): "Z dial", ("Z", "readout"): "Z reads", ("Z", "none"): "slips",
         ("Y", "dial"): "Y dial", ("Y", "readout"): "Y reads", ("Y", "none"): "Y"}  # fmt: skip
"""The head of a column, by axis and reading."""


def heads_of(blocks: Iterable[Block]) -> dict[str, str]:
    """Find the columns of a page's rows and their heads: dials that the page describes, N where a row has one."""
    blocks = list(blocks)
    milled = of_kind(blocks, MillCut)
    rows: Sequence[Cut | MillCut] = milled or of_kind(blocks, Cut)
    used = set().union(*map(_filled, rows))
    dials = {str(d.axis): HEADS[d.axis, d.reading] for d in of_kind(blocks, Dial) if d.reading != "none" or not milled}
    kept = used if milled else {*ALWAYS, *dials, *used & {"N"}}
    return {name: dials.get(name, name) for name in NUMBERS if name in kept}


def _cells(cut: Cut | MillCut) -> dict[str, str]:
    """Return a row's cells by the names of their columns."""
    if isinstance(cut, MillCut):
        return {
            "pass": str(cut.number), "cut": cut.what, "turn": cut.turn, "left": cut.left, "below": cut.below,
            "Y": cut.y, "Z": cut.z,
        }  # fmt: skip
    what = " ".join(cut.what.split())
    return {
        "pass": str(cut.number), "cut": f"{what}{GAP}{cut.how}" if cut.how else what, "was": cut.was,
        "leaves": cut.leaves, "X": cut.x, "from Z": cut.start, "to Z": cut.stop, "Z": cut.z, "N": cut.line,
    }  # fmt: skip


def _filled(cut: Cut | MillCut) -> set[str]:
    """Return the names of the columns in which a row has something."""
    return {name for name, text in _cells(cut).items() if text}


def cells_of(cut: Cut | MillCut, heads: Iterable[str]) -> list[str]:
    """Return a row's cells, one for each column named in heads; see heads_of."""
    cells = _cells(cut)
    return [cells[name] for name in heads]


def line_of(block: Block) -> str:
    """Write a block that has one line of its own: what is changed, places, a measure, what is to be noted."""
    if isinstance(block, Band):
        return band_line(block)
    if isinstance(block, Points):
        return points_line(block)
    if isinstance(block, MeasureBlock):
        return measure_line(block)
    assert isinstance(block, Ask)
    return ask_line(block)


def band_line(band: Band) -> str:
    """Write what is changed before the rows that follow."""
    return f"-- {'; '.join(' '.join(words.split()) for words in band.words)}"


def points_line(points: Points) -> str:
    """Write the places at which both slides are set."""
    if points.way == "drawn out":
        depths = ", ".join(z for z, _ in points.places)
        return f"drawn out to clear the chips at {points.z_head} {depths}{'; ' if points.then else ''}{points.then}"
    pairs = [f"{z} / {x}" for z, x in points.places]
    if points.way == "set over":
        said = f"set over {points.angle} degrees, from {points.z_head} / {points.x_head} {pairs[0]} to {pairs[-1]}; "
        said += f"top slide {points.travel}"
    else:
        count = f"{points.count} point{'s' if points.count != 1 else ''}"
        said = f"{count}, {points.z_head} / {points.x_head}: {', '.join(pairs)}"
    return f"{said}; {points.then}" if points.then else said


def measure_line(measure: MeasureBlock) -> str:
    """Write what is measured, its blank, its limits, and what is corrected."""
    what = "shoulder past " if measure.of == "shoulder" else ""
    return f"MEASURE{GAP}{what}{' '.join(measure.name.split())}: {'; '.join(_said(measure))}"


def _said(measure: MeasureBlock) -> Iterator[str]:
    limits = f" ({'' if measure.last else 'then '}{measure.least} to {measure.most})" if measure.least else ""
    yield f"{measure.expected} {f'is {measure.value}' if measure.value else BLANK}{limits}"
    where = f" in {', '.join(map(str, measure.rows))}" if measure.rows else ""
    over = f"{measure.over}{where}" if measure.over else ""
    yield from (words for words in (measure.place, over, measure.under) if words)


def ask_line(ask: Ask) -> str:
    """Write what is to be noted, with its blank."""
    wanted = f" {ask.wanted}" if ask.wanted else ""
    limits = f" ({ask.limits})" if ask.limits else ""
    return f"{ask.what}{wanted}{limits}, is {BLANK}"
